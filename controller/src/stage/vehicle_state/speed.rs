//! Speed over ground from four wheels that may slip, and the accelerometer.
//!
//! Each wheel proposes a speed of the car. Driven, the slowest proposal is nearest the truth; braked, the fastest;
//! rolling, the mean. The proposal is followed no faster than the accelerometer allows plus a margin for the grade.

use super::{VehicleState, VehicleStateIn};
use crate::numerics::Real;
use crate::numerics::table::fade_in;
use crate::quantity::PerSide;

/// Memory of the estimator.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpeedState<S> {
    /// Speed of the last step, m/s.
    pub speed_m_s: S,
    /// Whether any proposal was ever followed.
    pub started: bool,
}

pub(super) fn step<S: Real>(
    stage: &VehicleState<S>,
    state: &mut SpeedState<S>,
    input: &VehicleStateIn<S>,
    direction: S,
    sideslip_rad: S,
    period_s: S,
) -> S {
    let car = &stage.vehicle;
    let before = state.speed_m_s;
    let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
    let road_wheel = input
        .steering_wheel_rad
        .or(S::ZERO)
        .over(car.steering_ratio, S::ZERO);
    let half_turn = yaw_rate * car.track_m * S::HALF;
    let across = PerSide {
        left: half_turn,
        right: -half_turn,
    };
    let (sine, cosine) = (road_wheel.sine(), road_wheel.cosine());
    let front_lateral = sideslip_rad * before + yaw_rate * car.front_axle_to_cg_m;

    // A lost wheel proposes the speed of the last step: it neither speeds the car up nor slows it down.
    let front = input.wheel_speed_rad_s.front().zip(across, |sensed, turn| {
        sensed
            .map(|wheel| {
                (wheel * car.wheel_radius_m - front_lateral * sine).over(cosine, before) + turn
            })
            .or(before)
    });
    let slip_per_torque = S::ONE.over(car.wheel_radius_m * car.rear_slip_stiffness_n, S::ZERO);
    let wheel_slip = input.rear_torque_nm.map(|torque| torque * slip_per_torque);
    let rear = PerSide {
        left: (
            input.wheel_speed_rad_s.rear_left,
            across.left,
            wheel_slip.left,
        ),
        right: (
            input.wheel_speed_rad_s.rear_right,
            across.right,
            wheel_slip.right,
        ),
    }
    .map(|(sensed, turn, slip)| {
        sensed
            .map(|wheel| wheel * car.wheel_radius_m * (S::ONE - slip) + turn)
            .or(before)
    });

    let along = |pair: PerSide<S>| pair.map(|value| value * direction);
    let (front, rear) = (along(front), along(rear));
    let slowest = front
        .left
        .least(front.right)
        .least(rear.left.least(rear.right));
    let fastest = front
        .left
        .most(front.right)
        .most(rear.left.most(rear.right));
    let mean = (front.sum() + rear.sum()) * S::HALF * S::HALF;
    let torque = input.carrier_torque_nm.or(S::ZERO) * direction;
    let driven = fade_in(torque, S::of(60.0), S::of(300.0));
    let braked = fade_in(input.brake_bar.or(S::ZERO), S::ONE, S::of(8.0));
    let proposal = mean + (slowest - mean) * driven * (S::ONE - braked) + (fastest - mean) * braked;

    if !state.started {
        state.started = input.wheel_speed_rad_s.front_left.is_fresh();
        state.speed_m_s = proposal * direction;
        return state.speed_m_s;
    }
    let margin = if input.longitudinal_acceleration_m_s2.is_lost() {
        S::of(12.0)
    } else {
        stage.tunables.speed_rise_margin_m_s2
    };
    let change = (input.longitudinal_acceleration_m_s2.or(S::ZERO)
        + yaw_rate * sideslip_rad * before)
        * direction;
    let forward = before * direction;
    let low = forward + (change - margin) * period_s;
    let high = forward + (change + margin) * period_s;
    state.speed_m_s = proposal.within(low, high).most(S::ZERO) * direction;
    state.speed_m_s
}
