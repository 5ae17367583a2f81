//! What the law is told each step: one table of signals, each with age and validity.

use crate::quantity::PerWheel;

/// Whether a sender vouches for its value, and what the bus found. Zeroed memory is not valid; nothing but [`Status::VALID`] is
/// believed, the other numbers say why not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(transparent)]
pub struct Status(pub u16);

impl Status {
    /// The sender does not vouch for the value.
    pub const INVALID: Self = Self(0);
    /// The sender vouches for the value.
    pub const VALID: Self = Self(1);
    /// The message's counter did not move on, or jumped: repeated, lost or exchanged messages.
    pub const WRONG_COUNTER: Self = Self(2);
    /// The message's check sum is wrong.
    pub const WRONG_CHECK_SUM: Self = Self(3);
    /// The message did not come in its time.
    pub const TIMED_OUT: Self = Self(4);
}

/// One input value as it arrives.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(C)]
pub struct Reading {
    /// The value in the signal's unit.
    pub value: f32,
    /// Time since it was measured, ms.
    pub age_ms: u16,
    /// Whether the sender vouches for it.
    pub status: Status,
}

impl Reading {
    /// A value measured just now.
    pub fn fresh(value: f32) -> Self {
        Self {
            value,
            age_ms: 0,
            status: Status::VALID,
        }
    }

    /// No value at all.
    pub fn missing() -> Self {
        Self {
            value: 0.0,
            age_ms: u16::MAX,
            status: Status::INVALID,
        }
    }
}

/// How a signal behaves when the car is seen in a mirror along its x axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// Unchanged.
    Even,
    /// Changes sign.
    Odd,
    /// Exchanges value with the signal of the other side.
    Swap,
}

/// Description of one input signal.
#[derive(Debug, Clone, Copy)]
pub struct InputSignal {
    /// Name in whole words.
    pub name: &'static str,
    /// Unit in SI notation.
    pub unit: &'static str,
    /// Lowest believable value.
    pub low: f32,
    /// Highest believable value.
    pub high: f32,
    /// Mirror behaviour.
    pub parity: Parity,
    /// Meaning and sign.
    pub meaning: &'static str,
    /// Reads the signal.
    pub read: fn(&Inputs) -> Reading,
    /// Writes the signal.
    pub write: fn(&mut Inputs, Reading),
}

macro_rules! input_signals {
    ( $( $name:ident [$unit:literal] $low:literal .. $high:literal, $parity:ident, $meaning:literal; )* ) => {
        /// All inputs of one step.
        #[derive(Debug, Clone, Copy, PartialEq, Default)]
        #[cfg_attr(feature = "defmt", derive(defmt::Format))]
        #[repr(C)]
        pub struct Inputs {
            $(
                #[doc = $meaning]
                #[doc = concat!(" Unit ", $unit, ", believable from ", stringify!($low), " to ", stringify!($high), ".")]
                pub $name: Reading,
            )*
        }

        /// The table of input signals, in memory order.
        pub const INPUT_SIGNALS: &[InputSignal] = &[
            $( InputSignal {
                name: stringify!($name),
                unit: $unit,
                low: $low,
                high: $high,
                parity: Parity::$parity,
                meaning: $meaning,
                read: |inputs| inputs.$name,
                write: |inputs, reading| inputs.$name = reading,
            }, )*
        ];
        /// Believable range of each input signal by its name.
        pub mod range {
            $(
                #[doc = $meaning]
                #[allow(non_upper_case_globals)]
                pub const $name: (f32, f32) = ($low, $high);
            )*
        }
    };
}

input_signals! {
    wheel_speed_front_left ["rad/s"] -60.0 .. 400.0, Swap, "Speed of the front left wheel, positive forward.";
    wheel_speed_front_right ["rad/s"] -60.0 .. 400.0, Swap, "Speed of the front right wheel, positive forward.";
    wheel_speed_rear_left ["rad/s"] -60.0 .. 400.0, Swap, "Speed of the rear left wheel, positive forward.";
    wheel_speed_rear_right ["rad/s"] -60.0 .. 400.0, Swap, "Speed of the rear right wheel, positive forward.";
    yaw_rate ["rad/s"] -3.0 .. 3.0, Odd, "Yaw rate, positive to the left.";
    lateral_acceleration ["m/s2"] -25.0 .. 25.0, Odd, "Specific force along y at the centre of gravity, positive to the left.";
    longitudinal_acceleration ["m/s2"] -25.0 .. 25.0, Even, "Specific force along x at the centre of gravity, positive forward.";
    steering_wheel_angle ["rad"] -16.0 .. 16.0, Odd, "Steering-wheel angle, positive to the left.";
    accelerator_pedal ["-"] 0.0 .. 1.0, Even, "Accelerator position.";
    brake_pressure ["bar"] 0.0 .. 300.0, Even, "Pressure the driver's foot makes in the brake's master cylinder.";
    carrier_torque ["N m"] -3000.0 .. 12000.0, Even, "Powertrain torque at the front differential's carrier, before the rear axle takes its share.";
    carrier_torque_wanted ["N m"] -3000.0 .. 12000.0, Even, "What the driver asks of the powertrain, at the same place.";
    gear ["-"] -1.0 .. 12.0, Even, "Gear engaged: -1 reverse, 0 neutral.";
    ambient_temperature ["degC"] -60.0 .. 80.0, Even, "Air temperature.";
    rear_torque_cap ["N m"] 0.0 .. 20000.0, Even, "Master controller's cap on the sum of both wheel torques.";
    yaw_moment_cap ["N m"] 0.0 .. 40000.0, Even, "Master controller's cap on the axle's yaw moment.";
    open_now ["-"] 0.0 .. 1.0, Even, "Master controller's order to open both clutches, above 0.5.";
    anti_lock_active ["-"] 0.0 .. 1.0, Even, "Anti-lock braking at work, above 0.5.";
    stability_active ["-"] 0.0 .. 1.0, Even, "Brake-based stability control at work, above 0.5.";
    clutch_pressure_left ["bar"] -5.0 .. 120.0, Swap, "Pressure measured at the left clutch's piston; a car without the sensor never sends it.";
    clutch_pressure_right ["bar"] -5.0 .. 120.0, Swap, "Pressure measured at the right clutch's piston; a car without the sensor never sends it.";
}

impl Inputs {
    /// The four wheel speeds.
    pub fn wheel_speed(&self) -> PerWheel<Reading> {
        PerWheel {
            front_left: self.wheel_speed_front_left,
            front_right: self.wheel_speed_front_right,
            rear_left: self.wheel_speed_rear_left,
            rear_right: self.wheel_speed_rear_right,
        }
    }

    /// The inputs of the car seen in a mirror.
    pub fn mirrored(&self) -> Self {
        let mut seen = *self;
        for signal in INPUT_SIGNALS {
            if signal.parity == Parity::Odd {
                let mut reading = (signal.read)(self);
                reading.value = -reading.value;
                (signal.write)(&mut seen, reading);
            }
        }
        seen.wheel_speed_front_left = self.wheel_speed_front_right;
        seen.wheel_speed_front_right = self.wheel_speed_front_left;
        seen.wheel_speed_rear_left = self.wheel_speed_rear_right;
        seen.wheel_speed_rear_right = self.wheel_speed_rear_left;
        seen.clutch_pressure_left = self.clutch_pressure_right;
        seen.clutch_pressure_right = self.clutch_pressure_left;
        seen
    }
}

/// The bit of a number's sign.
const SIGN: u32 = 1 << 31;

/// Whether a value lies in a range that holds zero, ends included; what is no number does not.
///
/// By the bits: as signed numbers they order what is not negative, as unsigned ones what is, and numbers that are none lie
/// beyond both ends.
#[inline(always)]
pub fn lies_inside(value: f32, (low, high): (f32, f32)) -> bool {
    let bits = value.to_bits();
    bits.cast_signed() <= high.to_bits().cast_signed() && bits <= low.to_bits() | SIGN
}
