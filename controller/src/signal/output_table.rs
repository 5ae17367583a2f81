//! The table of output signals: what leaves the law, number by number.
//!
//! Each entry has name, unit, range, mirror behaviour, meaning and a function that reads it as `f32`. Bus descriptions,
//! co-simulation units, logs and parity checks are made from it. Codes (limits, health, phase, faults) are whole numbers;
//! the fault bits come in two halves of 16, so that `f32` holds them exactly. Limits: ranges are those of the page's
//! widest admissible numbers, wider than any one car needs.

use super::Outputs;
use super::inputs::Parity;

/// Description of one output signal.
#[derive(Debug, Clone, Copy)]
pub struct OutputSignal {
    /// Name in whole words.
    pub name: &'static str,
    /// Unit in SI notation.
    pub unit: &'static str,
    /// Lowest value.
    pub low: f32,
    /// Highest value.
    pub high: f32,
    /// Mirror behaviour.
    pub parity: Parity,
    /// Whether it is a code or a bit set: a whole number.
    pub whole: bool,
    /// Meaning and sign.
    pub meaning: &'static str,
    /// Reads the signal.
    pub read: fn(&Outputs) -> f32,
}

macro_rules! output_signals {
    ( $( $name:ident [$unit:literal] $low:literal .. $high:literal, $parity:ident, $whole:literal, $meaning:literal, $read:expr; )* ) => {
        /// Every number of the outputs, in the order of [`Outputs`].
        pub const OUTPUT_SIGNALS: &[OutputSignal] = &[
            $( OutputSignal {
                name: stringify!($name),
                unit: $unit,
                low: $low,
                high: $high,
                parity: Parity::$parity,
                whole: $whole,
                meaning: $meaning,
                read: $read,
            }, )*
        ];
        /// The functions that read them, alone: a control unit that packs messages carries no names and meanings.
        pub static OUTPUT_READS: [fn(&Outputs) -> f32; OUTPUT_SIGNALS.len()] = [ $( $read, )* ];
    };
}

output_signals! {
    capacity_left ["N m"] 0.0 .. 3000.0, Swap, false, "Capacity commanded to the left clutch, at the wheel.", |o| o.capacity_nm.left;
    capacity_right ["N m"] 0.0 .. 3000.0, Swap, false, "Capacity commanded to the right clutch, at the wheel.", |o| o.capacity_nm.right;
    torque_left ["N m"] -3000.0 .. 3000.0, Swap, false, "Torque expected on the left rear wheel, positive drives forward.", |o| o.torque_nm.left;
    torque_right ["N m"] -3000.0 .. 3000.0, Swap, false, "Torque expected on the right rear wheel, positive drives forward.", |o| o.torque_nm.right;
    torque_left_least ["N m"] -6000.0 .. 6000.0, Swap, false, "Lower end of the interval the left wheel's torque lies in.", |o| o.torque_span_nm.left.low;
    torque_left_most ["N m"] -6000.0 .. 6000.0, Swap, false, "Upper end of the interval the left wheel's torque lies in.", |o| o.torque_span_nm.left.high;
    torque_right_least ["N m"] -6000.0 .. 6000.0, Swap, false, "Lower end of the interval the right wheel's torque lies in.", |o| o.torque_span_nm.right.low;
    torque_right_most ["N m"] -6000.0 .. 6000.0, Swap, false, "Upper end of the interval the right wheel's torque lies in.", |o| o.torque_span_nm.right.high;
    pressure_left ["bar"] 0.0 .. 100.0, Swap, false, "Pressure wanted at the left piston.", |o| o.pressure_bar.left;
    pressure_right ["bar"] 0.0 .. 100.0, Swap, false, "Pressure wanted at the right piston.", |o| o.pressure_bar.right;
    current_left ["A"] 0.0 .. 10.0, Swap, false, "Current of the left valve.", |o| o.current_a.left;
    current_right ["A"] 0.0 .. 10.0, Swap, false, "Current of the right valve.", |o| o.current_a.right;
    asked_left ["N m"] -100000.0 .. 100000.0, Swap, false, "Torque the unbounded law would have given on the left.", |o| o.granted.left.asked;
    asked_right ["N m"] -100000.0 .. 100000.0, Swap, false, "Torque the unbounded law would have given on the right.", |o| o.granted.right.asked;
    given_left ["N m"] -3000.0 .. 3000.0, Swap, false, "Torque given on the left.", |o| o.granted.left.given;
    given_right ["N m"] -3000.0 .. 3000.0, Swap, false, "Torque given on the right.", |o| o.granted.right.given;
    limit_left ["-"] 0.0 .. 255.0, Swap, true, "What made the difference on the left; 0 is nothing.", |o| f32::from(o.granted.left.by.number());
    limit_right ["-"] 0.0 .. 255.0, Swap, true, "What made the difference on the right; 0 is nothing.", |o| f32::from(o.granted.right.by.number());
    rear_torque_least ["N m"] -6000.0 .. 6000.0, Even, false, "Least sum of wheel torques that can be had now.", |o| o.rear_torque_range_nm.low;
    rear_torque_most ["N m"] -6000.0 .. 6000.0, Even, false, "Largest sum of wheel torques that can be had now.", |o| o.rear_torque_range_nm.high;
    yaw_moment_least ["N m"] -40000.0 .. 40000.0, Odd, false, "Yaw moment to the right that can be had now, negative.", |o| o.yaw_moment_range_nm.low;
    yaw_moment_most ["N m"] -40000.0 .. 40000.0, Odd, false, "Yaw moment to the left that can be had now.", |o| o.yaw_moment_range_nm.high;
    front_spin_request ["m/s"] 0.0 .. 100.0, Even, false, "Request: mean front wheel speed beyond the car's at most; 0 asks for nothing.", |o| o.front_spin_request_m_s;
    torque_limit_request ["N m"] 0.0 .. 3.402_823_5e38, Even, false, "Request: powertrain torque at the carrier at most; the largest number of single precision asks for nothing.", |o| o.torque_limit_request_nm;
    surface_left ["degC"] -273.15 .. 2000.0, Swap, false, "Surface temperature of the left clutch, estimated.", |o| o.surface_degc.left;
    surface_right ["degC"] -273.15 .. 2000.0, Swap, false, "Surface temperature of the right clutch, estimated.", |o| o.surface_degc.right;
    core_left ["degC"] -273.15 .. 2000.0, Swap, false, "Core temperature of the left clutch, estimated.", |o| o.core_degc.left;
    core_right ["degC"] -273.15 .. 2000.0, Swap, false, "Core temperature of the right clutch, estimated.", |o| o.core_degc.right;
    oil ["degC"] -273.15 .. 2000.0, Even, false, "Oil temperature, estimated.", |o| o.oil_degc;
    heat_ceiling_left ["-"] 0.0 .. 1.0, Swap, false, "Share of the left capacity left by heat.", |o| o.heat_ceiling.left;
    heat_ceiling_right ["-"] 0.0 .. 1.0, Swap, false, "Share of the right capacity left by heat.", |o| o.heat_ceiling.right;
    time_to_limit_left ["s"] 0.0 .. 14400.0, Swap, false, "Time until heat takes capacity from the left at the present use.", |o| o.time_to_limit_s.left;
    time_to_limit_right ["s"] 0.0 .. 14400.0, Swap, false, "Time until heat takes capacity from the right at the present use.", |o| o.time_to_limit_s.right;
    heat_limit_left ["-"] 0.0 .. 255.0, Swap, true, "What heat binds on the left; 0 is nothing.", |o| f32::from(o.heat_limit.left.number());
    heat_limit_right ["-"] 0.0 .. 255.0, Swap, true, "What heat binds on the right; 0 is nothing.", |o| f32::from(o.heat_limit.right.number());
    clutch_life_used_left ["-"] 0.0 .. 1000.0, Swap, false, "Share of life the left clutch has used: 0 is new, 1 used up.", |o| o.clutch_life_used.left;
    clutch_life_used_right ["-"] 0.0 .. 1000.0, Swap, false, "Share of life the right clutch has used: 0 is new, 1 used up.", |o| o.clutch_life_used.right;
    oil_life_used ["-"] 0.0 .. 1000.0, Even, false, "Share of life the oil has used since it was new.", |o| o.oil_life_used;
    advice ["-"] 0.0 .. 3.0, Even, true, "What a workshop should do: 0 nothing, 1 change the oil soon, 2 now, 3 a clutch is used up.", |o| f32::from(o.advice as u8);
    health ["-"] 0.0 .. 2.0, Even, true, "What is left of the ability: 0 everything, 1 reduced, 2 open.", |o| f32::from(o.health as u8);
    faults_low ["-"] 0.0 .. 65535.0, Even, true, "Confirmed faults, bits 0 to 15.", |o| (o.faults & 0xffff) as f32;
    faults_high ["-"] 0.0 .. 65535.0, Even, true, "Confirmed faults, bits 16 to 31.", |o| (o.faults >> 16) as f32;
    health_share ["-"] 0.0 .. 1.0, Even, false, "Share of the capacity that health leaves.", |o| o.health_share;
    may_differ ["-"] 0.0 .. 1.0, Even, true, "Whether health lets left and right differ: 0 both alike, 1 may differ.", |o| f32::from(u8::from(o.may_differ));
    situation ["-"] 0.0 .. 3.0, Even, true, "Where the car is: 0 on a road, 1 towed with the front axle raised, 2 on a bench or jack or with the rear axle raised, 3 pushed or in a wash; but for 0 the clutches stay open.", |o| f32::from(o.situation as u8);
    phase ["-"] 0.0 .. 7.0, Even, true, "Phase of driving as the law reads it.", |o| f32::from(o.phase as u8);
}
