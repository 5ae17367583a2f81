//! Cross checks between signals, named faults, graded health.
//!
//! A contradiction must last `confirm_time_s` to count and be gone `heal_time_s` to be forgotten. A lost signal takes
//! ability away in a defined way; it never adds torque:
//! - one wheel speed, the yaw rate, or both of yaw rate and steering lost: reduced capacity, both sides alike;
//! - two or more wheel speeds or the master's order channel lost, or the second channel latched: both clutches open, for the order
//!   channel until it was heard again for `order_heal_s`: one that comes and goes would open and close them without end;
//! - powertrain torque, pedal, steering or an acceleration lost: the stages that need it work without it;
//! - a clutch whose measured pressure is not the commanded one ([`pressure`]), or that the wheels show to be jammed ([`jammed`]):
//!   that side is released;
//! - a value that contradicts the others or never changes ([`plausible`]): named, and for every stage after this one lost;
//! - the car is towed on an axle, stands on rollers or a jack or is pushed through a wash ([`situation`]): both clutches open.

pub mod jammed;
pub mod named;
pub mod plausible;
pub mod pressure;
pub mod situation;

pub use named::{FAULTS, Fault, FaultSet};

use super::Stage;
use crate::calibration;
use crate::numerics::Scalar;
use crate::numerics::filter::Debounce;
use crate::numerics::table::fade_in;
use crate::quantity::{PerSide, PerWheel, Period, Sensed};
use crate::signal::{Health, Situation};
use plausible::{Plausibility, PlausibleState};
use situation::{SituationState, Situations};

/// Share of the car's speed by which a spinning front axle is faster. Chosen: twice the slip of a car that pulls at 1.5 m/s2.
const FRONT_SPIN: f32 = 0.025;

/// Lateral acceleration from which the yaw rate check is given more room, and from which in full, m/s2. In hard turns no witness is exact: tyres
/// slip along by their side force and by load moved off the inner wheel, an axle whose clutches are closed turns both wheels alike,
/// and while the sideslip changes lateral acceleration over speed is not the yaw rate. In the largest sine with dwell of the demo
/// all three were 0.25 rad/s off and more for 60 ms, and a sound yaw rate was doubted.
const HARD_M_S2: (f32, f32) = (5.0, 8.0);

/// Slip by which the two wheels of an axle may then differ more, as a share of the speed: over the track it is a yaw rate.
const HARD_SLIP: f32 = 0.01;

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
    /// Powertrain torque asked for, Nm.
    pub carrier_torque_wanted_nm: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Gear.
    pub gear: Sensed<S>,
    /// Order to open.
    pub open_now: Sensed<S>,
    /// Speed of the last step, m/s.
    pub speed_m_s: S,
    /// Sideslip of the last step, rad.
    pub sideslip_rad: S,
    /// Steering-wheel angle over road-wheel angle.
    pub steering_ratio: S,
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
    /// Where the car is, if not driving on a road.
    pub situation: Situation,
}

/// Memory of the checks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MonitorState<S> {
    /// Yaw rate against wheel speeds.
    pub yaw_rate: Debounce,
    /// Values against each other.
    pub plausible: PlausibleState<S>,
    /// Towing, bench, wash.
    pub situation: SituationState,
    /// Steps until the wheels count as witnesses again after an order to open.
    pub silent_steps: u16,
    /// Steps until an order channel that was lost counts as heard.
    pub unheard_steps: u16,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Monitor<S> {
    /// Track, m.
    pub track_m: S,
    /// Rolling radius, m.
    pub wheel_radius_m: S,
    /// Steps to confirm a contradiction.
    pub confirm_steps: u16,
    /// Steps to forget it.
    pub heal_steps: u16,
    /// Further tolerance of the yaw rate check where a slide is allowed, rad/s: sliding, turning on the spot is no fault.
    pub slide_tolerance_rad_s: S,
    /// Steps after an order to open in which the wheels are no witnesses.
    pub silent_steps: u16,
    /// Steps for which an order channel must be heard again.
    pub unheard_steps: u16,
    /// Values against each other; the whole stage's calibration is kept there, once.
    pub plausibility: Plausibility<S>,
    /// Towing, bench, wash.
    pub situations: Situations<S>,
}

impl<S: Scalar> Monitor<S> {
    /// The stage of a calibration; sliding is allowed so far, deg, and from so far altogether.
    pub fn new(
        tunables: calibration::Monitor<S>,
        vehicle: &calibration::Vehicle<S>,
        slide_allowance_deg: S,
        slide_full_deg: S,
        period: Period,
    ) -> Self {
        Self {
            track_m: vehicle.track_m,
            wheel_radius_m: vehicle.wheel_radius_m,
            confirm_steps: period.steps(tunables.confirm_time_s).min(65_535) as u16,
            heal_steps: period.steps(tunables.heal_time_s).min(65_535) as u16,
            // Only where a slide is allowed: elsewhere the check never rests.
            silent_steps: if slide_allowance_deg > S::ZERO {
                period.steps(tunables.silent_time_s).min(65_535) as u16
            } else {
                0
            },
            unheard_steps: period.steps(tunables.order_heal_s).min(65_535) as u16,
            slide_tolerance_rad_s: tunables.slide_tolerance_rad_s
                * fade_in(slide_allowance_deg, S::ZERO, slide_full_deg),
            plausibility: Plausibility::new(&tunables, vehicle, period),
            situations: Situations::new(&tunables, vehicle, period),
        }
    }

    /// Whether the front axle turns faster than the car: its inner wheel spins and is no witness, and where both rear wheels are tied
    /// to the shaft and the car slides, none is left.
    fn front_spins(&self, input: &MonitorIn<S>) -> bool {
        let front = input.wheel_speed_rad_s.front();
        let mean_m_s =
            (front.left.or(S::ZERO) + front.right.or(S::ZERO)) * S::HALF * self.wheel_radius_m;
        mean_m_s > input.speed_m_s * (S::ONE + S::of(FRONT_SPIN))
    }

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
        if !(input.speed_m_s > self.plausibility.tunables.yaw_check_speed_m_s) {
            return false;
        }
        let (from, full) = HARD_M_S2;
        let hard = fade_in(lateral.magnitude(), S::of(from), S::of(full));
        let slip = (input.speed_m_s * S::of(HARD_SLIP)).per(self.track_m) * hard;
        let tune = &self.plausibility.tunables;
        let tolerance = tune.yaw_rate_tolerance_rad_s + self.slide_tolerance_rad_s + slip;
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
            && !self.front_spins(input)
    }
}

impl<S: Scalar> Stage<S> for Monitor<S> {
    type In = MonitorIn<S>;
    type Out = Verdict<S>;
    type State = MonitorState<S>;

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
            u32::from(self.confirm_steps),
            u32::from(self.heal_steps),
        );
        let doubted = self.plausibility.step(&mut state.plausible, input);
        let situation = self.situations.step(&mut state.situation, input);
        let wheels = &input.wheel_speed_rad_s;
        let nothing_wrong = !(implausible
            || doubted.0 != 0
            || situation != Situation::Road
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
            || input.open_now.is_lost()
            || state.unheard_steps != 0);
        if nothing_wrong {
            return Verdict {
                health: Health::Full,
                capacity_share: S::ONE,
                may_differ: true,
                faults: FaultSet::default(),
                situation,
            };
        }
        state.unheard_steps = if input.open_now.is_lost() {
            self.unheard_steps
        } else {
            state.unheard_steps.saturating_sub(1)
        };
        let unheard = input.open_now.is_lost() || state.unheard_steps != 0;
        let lost = wheels.map(|speed| speed.is_lost());
        let gone = |lost: bool, doubt: Fault| usize::from(lost || doubted.holds(doubt));
        let wheels_lost = gone(lost.front_left, Fault::WheelSpeedFrontLeftImplausible)
            + gone(lost.front_right, Fault::WheelSpeedFrontRightImplausible)
            + gone(lost.rear_left, Fault::WheelSpeedRearLeftImplausible)
            + gone(lost.rear_right, Fault::WheelSpeedRearRightImplausible);
        // A stuck yaw rate has the name of a contradicted one.
        let implausible = implausible || doubted.holds(Fault::YawRateImplausible);
        let faults = input
            .clutch_faults
            .and(doubted)
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
            .with(Fault::Master, unheard)
            .with(Fault::SecondChannel, input.second_channel_open);
        let open = wheels_lost >= 2
            || faults.holds(Fault::Master)
            || faults.holds(Fault::SecondChannel)
            || situation != Situation::Road;
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
                self.plausibility.tunables.reduced_capacity
            } else {
                S::ONE
            },
            may_differ: !(open
                || reduced
                || faults.holds(Fault::Steering)
                || faults.holds(Fault::SteeringImplausible)),
            faults,
            situation,
        }
    }
}
