//! Cross checks between signals, named faults, graded health.
//!
//! A contradiction must last `confirm_time_s` to count and be gone `heal_time_s` to be forgotten. A lost signal takes
//! ability away in a defined way; it never adds torque:
//! - one wheel speed, the yaw rate, or both of yaw rate and steering lost: reduced capacity, both sides alike;
//! - two or more wheel speeds or the master's order channel lost, or the second channel latched: both clutches open;
//! - powertrain torque, pedal, steering or an acceleration lost: the stages that need it work without it;
//! - a clutch whose measured pressure is not the commanded one ([`pressure`]): that side is released.

pub mod pressure;

use super::Stage;
use crate::calibration;
use crate::numerics::Scalar;
use crate::numerics::filter::Debounce;
use crate::quantity::{PerSide, PerWheel, Sensed};
use crate::signal::Health;

/// A named fault; its number is its bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Fault {
    /// Front left wheel speed lost.
    WheelSpeedFrontLeft = 0,
    /// Front right wheel speed lost.
    WheelSpeedFrontRight = 1,
    /// Rear left wheel speed lost.
    WheelSpeedRearLeft = 2,
    /// Rear right wheel speed lost.
    WheelSpeedRearRight = 3,
    /// Yaw rate lost.
    YawRate = 4,
    /// Yaw rate contradicts wheel speeds.
    YawRateImplausible = 5,
    /// Steering angle lost.
    Steering = 6,
    /// An acceleration lost.
    Acceleration = 7,
    /// Pedal or powertrain torque lost.
    DriverTorque = 8,
    /// The master controller's order channel lost.
    Master = 9,
    /// The second channel opened and latched.
    SecondChannel = 10,
    /// Left clutch: more pressure than commanded.
    ClutchPressureHighLeft = 11,
    /// Right clutch: more pressure than commanded.
    ClutchPressureHighRight = 12,
    /// Left clutch does not open on command.
    ClutchStuckClosedLeft = 13,
    /// Right clutch does not open on command.
    ClutchStuckClosedRight = 14,
    /// Left clutch: less pressure than commanded, as with a leak.
    ClutchLeakLeft = 15,
    /// Right clutch: less pressure than commanded, as with a leak.
    ClutchLeakRight = 16,
    /// Left clutch: no pressure comes.
    ClutchStuckOpenLeft = 17,
    /// Right clutch: no pressure comes.
    ClutchStuckOpenRight = 18,
    /// Left pressure sensor lost after it was heard.
    ClutchSensorLeft = 19,
    /// Right pressure sensor lost after it was heard.
    ClutchSensorRight = 20,
}

/// Number of named faults.
pub const FAULTS: usize = 21;

impl Fault {
    /// Every fault.
    pub const ALL: [Self; FAULTS] = [
        Self::WheelSpeedFrontLeft,
        Self::WheelSpeedFrontRight,
        Self::WheelSpeedRearLeft,
        Self::WheelSpeedRearRight,
        Self::YawRate,
        Self::YawRateImplausible,
        Self::Steering,
        Self::Acceleration,
        Self::DriverTorque,
        Self::Master,
        Self::SecondChannel,
        Self::ClutchPressureHighLeft,
        Self::ClutchPressureHighRight,
        Self::ClutchStuckClosedLeft,
        Self::ClutchStuckClosedRight,
        Self::ClutchLeakLeft,
        Self::ClutchLeakRight,
        Self::ClutchStuckOpenLeft,
        Self::ClutchStuckOpenRight,
        Self::ClutchSensorLeft,
        Self::ClutchSensorRight,
    ];

    /// Faults of the left clutch: pressure high, stuck closed, leak, stuck open, sensor lost.
    pub const CLUTCH_LEFT: [Self; 5] = [
        Self::ClutchPressureHighLeft,
        Self::ClutchStuckClosedLeft,
        Self::ClutchLeakLeft,
        Self::ClutchStuckOpenLeft,
        Self::ClutchSensorLeft,
    ];

    /// The same of the right one.
    pub const CLUTCH_RIGHT: [Self; 5] = [
        Self::ClutchPressureHighRight,
        Self::ClutchStuckClosedRight,
        Self::ClutchLeakRight,
        Self::ClutchStuckOpenRight,
        Self::ClutchSensorRight,
    ];
}

/// A set of faults as bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FaultSet(pub u32);

impl FaultSet {
    /// Adds `fault` if `present`.
    #[must_use]
    pub fn with(self, fault: Fault, present: bool) -> Self {
        if present {
            Self(self.0 | (1 << fault as u8))
        } else {
            self
        }
    }

    /// Whether `fault` is in the set.
    pub fn holds(self, fault: Fault) -> bool {
        self.0 & (1 << fault as u8) != 0
    }

    /// The faults by name, in order of their number.
    pub fn list(self) -> heapless::Vec<Fault, FAULTS> {
        Fault::ALL
            .into_iter()
            .filter(|fault| self.holds(*fault))
            .collect()
    }
}

/// What the checks look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonitorIn<S> {
    /// Wheel speeds, rad/s.
    pub wheel_speed_rad_s: PerWheel<Sensed<S>>,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Steering-wheel angle, rad.
    pub steering_wheel_rad: Sensed<S>,
    /// Lateral specific force, m/s2.
    pub lateral_acceleration_m_s2: Sensed<S>,
    /// Longitudinal specific force, m/s2.
    pub longitudinal_acceleration_m_s2: Sensed<S>,
    /// Accelerator position.
    pub pedal: Sensed<S>,
    /// Powertrain torque, Nm.
    pub carrier_torque_nm: Sensed<S>,
    /// Order to open.
    pub open_now: Sensed<S>,
    /// Speed of the last step, m/s.
    pub speed_m_s: S,
    /// Whether the second channel has opened and latched.
    pub second_channel_open: bool,
    /// What [`pressure`] found.
    pub clutch_faults: FaultSet,
}

/// What is left of the axle's ability.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Verdict<S> {
    /// Graded health.
    pub health: Health,
    /// Share of capacity left, 0 to 1.
    pub capacity_share: S,
    /// Whether left and right may differ.
    pub may_differ: bool,
    /// Confirmed faults.
    pub faults: FaultSet,
}

/// Memory of the checks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MonitorState {
    /// Yaw rate against wheel speeds.
    pub yaw_rate: Debounce,
    /// Steps until the wheels count as witnesses again after an order to open.
    pub silent_steps: u32,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Monitor<S> {
    /// Its calibration.
    pub tunables: calibration::Monitor<S>,
    /// Track, m.
    pub track_m: S,
    /// Rolling radius, m.
    pub wheel_radius_m: S,
    /// Steps to confirm a contradiction.
    pub confirm_steps: u32,
    /// Steps to forget it.
    pub heal_steps: u32,
    /// Further tolerance of the yaw rate check where a slide is allowed, rad/s: sliding, turning on the spot is no fault.
    pub slide_tolerance_rad_s: S,
    /// Steps after an order to open in which the wheels are no witnesses.
    pub silent_steps: u32,
}

impl<S: Scalar> Monitor<S> {
    /// Whether all three witnesses contradict the yaw rate: front and rear wheel speed differences, and lateral
    /// acceleration over speed. Each alone is wrong in some slide or with some driven wheel; a true yaw rate always has
    /// one on its side.
    fn yaw_rate_contradicted(&self, input: &MonitorIn<S>) -> bool {
        let Sensed::Fresh(yaw_rate) = input.yaw_rate_rad_s else {
            return false;
        };
        let Sensed::Fresh(lateral) = input.lateral_acceleration_m_s2 else {
            return false;
        };
        if !(input.speed_m_s > self.tunables.yaw_check_speed_m_s) {
            return false;
        }
        let tolerance = self.tunables.yaw_rate_tolerance_rad_s + self.slide_tolerance_rad_s;
        let contradicts = |witness: S| (yaw_rate - witness).magnitude() > tolerance;
        let axle = |pair: PerSide<Sensed<S>>| match (pair.left, pair.right) {
            (Sensed::Fresh(left), Sensed::Fresh(right)) => {
                contradicts(((right - left) * self.wheel_radius_m).per(self.track_m))
            }
            _ => true,
        };
        axle(input.wheel_speed_rad_s.front())
            && axle(input.wheel_speed_rad_s.rear())
            && contradicts(lateral.per(input.speed_m_s))
    }
}

impl<S: Scalar> Stage<S> for Monitor<S> {
    type In = MonitorIn<S>;
    type Out = Verdict<S>;
    type State = MonitorState;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, _period_s: S) -> Self::Out {
        // A hand brake gives the order and stops two of the witnesses; they need a while to roll again.
        state.silent_steps = if input.open_now.or(S::ZERO) > S::HALF {
            self.silent_steps
        } else {
            state.silent_steps.saturating_sub(1)
        };
        let implausible = state.yaw_rate.step(
            state.silent_steps == 0 && self.yaw_rate_contradicted(input),
            self.confirm_steps,
            self.heal_steps,
        );
        let wheels = &input.wheel_speed_rad_s;
        let nothing_wrong = !(implausible
            || input.second_channel_open
            || input.clutch_faults.0 != 0
            || wheels.front_left.is_lost()
            || wheels.front_right.is_lost()
            || wheels.rear_left.is_lost()
            || wheels.rear_right.is_lost()
            || input.yaw_rate_rad_s.is_lost()
            || input.steering_wheel_rad.is_lost()
            || input.lateral_acceleration_m_s2.is_lost()
            || input.longitudinal_acceleration_m_s2.is_lost()
            || input.pedal.is_lost()
            || input.carrier_torque_nm.is_lost()
            || input.open_now.is_lost());
        if nothing_wrong {
            return Verdict {
                health: Health::Full,
                capacity_share: S::ONE,
                may_differ: true,
                faults: FaultSet::default(),
            };
        }
        let lost = wheels.map(|speed| speed.is_lost());
        let wheels_lost = [
            lost.front_left,
            lost.front_right,
            lost.rear_left,
            lost.rear_right,
        ]
        .into_iter()
        .filter(|wheel_lost| *wheel_lost)
        .count();
        let faults = input
            .clutch_faults
            .with(Fault::WheelSpeedFrontLeft, lost.front_left)
            .with(Fault::WheelSpeedFrontRight, lost.front_right)
            .with(Fault::WheelSpeedRearLeft, lost.rear_left)
            .with(Fault::WheelSpeedRearRight, lost.rear_right)
            .with(Fault::YawRate, input.yaw_rate_rad_s.is_lost())
            .with(Fault::YawRateImplausible, implausible)
            .with(Fault::Steering, input.steering_wheel_rad.is_lost())
            .with(
                Fault::Acceleration,
                input.lateral_acceleration_m_s2.is_lost()
                    || input.longitudinal_acceleration_m_s2.is_lost(),
            )
            .with(
                Fault::DriverTorque,
                input.pedal.is_lost() || input.carrier_torque_nm.is_lost(),
            )
            .with(Fault::Master, input.open_now.is_lost())
            .with(Fault::SecondChannel, input.second_channel_open);
        let open =
            wheels_lost >= 2 || faults.holds(Fault::Master) || faults.holds(Fault::SecondChannel);
        let yaw_unknown = faults.holds(Fault::YawRate) || implausible;
        let reduced = wheels_lost == 1 || yaw_unknown;
        Verdict {
            health: if open {
                Health::Open
            } else if faults.0 != 0 {
                Health::Reduced
            } else {
                Health::Full
            },
            capacity_share: if open {
                S::ZERO
            } else if reduced {
                self.tunables.reduced_capacity
            } else {
                S::ONE
            },
            may_differ: !(open || reduced || faults.holds(Fault::Steering)),
            faults,
        }
    }
}
