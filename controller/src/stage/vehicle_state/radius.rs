//! Rolling-radius ratios, learned while the car rolls straight and lightly loaded.
//!
//! Wheel speeds give ratios, never scale: rear to front, and left to right per axle. Slip from drive torque is taken out
//! where it is known; unless everything is quiet the ratios stay as they are.

use super::VehicleState;
use crate::numerics::Real;
use crate::numerics::Scalar;
use crate::quantity::{PerSide, PerWheel, Sensed};

/// The three ratios, each as its distance from one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RadiusState<S> {
    /// Rear radius over front radius, minus one.
    pub rear_to_front: S,
    /// Front: right radius over left radius, minus one.
    pub front_right_to_left: S,
    /// Rear: right radius over left radius, minus one.
    pub rear_right_to_left: S,
}

/// What must be quiet for learning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quiet<S> {
    /// Speed in driving direction, m/s.
    pub speed_m_s: S,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: S,
    /// Lateral specific force, m/s2.
    pub lateral_m_s2: S,
    /// Longitudinal specific force, m/s2.
    pub longitudinal_m_s2: S,
    /// Powertrain torque, Nm.
    pub carrier_torque_nm: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Expected clutch torques, Nm.
    pub rear_torque_nm: PerSide<S>,
}

impl<S: Scalar> Quiet<S> {
    fn is_so(&self) -> bool {
        let (Sensed::Fresh(torque), Sensed::Fresh(brake)) =
            (self.carrier_torque_nm, self.brake_bar)
        else {
            return false;
        };
        self.speed_m_s > S::of(8.0)
            && self.yaw_rate_rad_s.magnitude() < S::of(0.02)
            && self.lateral_m_s2.magnitude() < S::of(0.5)
            && self.longitudinal_m_s2.magnitude() < S::of(0.6)
            && torque.magnitude() < S::of(400.0)
            && brake < S::of(0.5)
            && self.rear_torque_nm.left.magnitude() < S::of(30.0)
            && self.rear_torque_nm.right.magnitude() < S::of(30.0)
    }
}

#[inline(always)]
pub(super) fn step<S: Real>(
    stage: &VehicleState<S>,
    state: &mut RadiusState<S>,
    speed: PerWheel<S>,
    quiet: &Quiet<S>,
    period_s: S,
) {
    if !quiet.is_so() {
        return;
    }
    let car = &stage.vehicle;
    // The front wheels turn faster by their slip under drive torque; unless removed it would pass for a smaller radius.
    let drive_force = quiet
        .carrier_torque_nm
        .or(S::ZERO)
        .over(car.wheel_radius_m, S::ZERO)
        * S::HALF;
    let front_slip = drive_force.over(car.rear_slip_stiffness_n, S::ZERO);
    let share = period_s
        .over(stage.tunables.radius_learning_s, S::ZERO)
        .up_to(S::ONE);
    let bound = stage.tunables.radius_bound;
    let turn = (quiet.yaw_rate_rad_s * car.track_m).over(quiet.speed_m_s, S::ZERO);
    let front_rolling = speed.front().sum() * (S::ONE - front_slip);
    let learn = |old: S, seen: S| (old + (seen - old) * share).within(-bound, bound);
    state.rear_to_front = learn(
        state.rear_to_front,
        front_rolling.over(speed.rear().sum(), S::ONE) - S::ONE,
    );
    let side =
        |pair: PerSide<S>| (pair.left - pair.right).over(pair.sum() * S::HALF, S::ZERO) + turn;
    state.front_right_to_left = learn(state.front_right_to_left, side(speed.front()));
    state.rear_right_to_left = learn(state.rear_right_to_left, side(speed.rear()));
}
