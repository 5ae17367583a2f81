//! Speed over ground from four wheels that may slip, and the accelerometer.
//!
//! Each wheel proposes a speed of the car. Driven, the slowest proposal is nearest the truth; braked, the fastest;
//! rolling, the mean. The proposal is followed no faster than the accelerometer allows plus a margin. What a grade adds
//! to the accelerometer is learned while the wheels roll without much torque, so the margin can be narrow at speed, where
//! four wheels slipping together would otherwise carry the estimate away.

use super::{VehicleState, VehicleStateIn, Wheels};
use crate::numerics::Real;
use crate::numerics::filter::Lag;
use crate::numerics::table::{fade_in, fade_out};
use crate::quantity::PerSide;

/// Memory of the estimator.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpeedState<S> {
    /// Speed of the last step, m/s.
    pub speed_m_s: S,
    /// Part of the longitudinal specific force that is slope, m/s2, in body axes.
    pub slope_m_s2: Lag<S>,
    /// Whether any proposal was ever followed.
    pub started: bool,
}

#[inline(always)]
pub(super) fn step<S: Real>(
    stage: &VehicleState<S>,
    state: &mut SpeedState<S>,
    input: &VehicleStateIn<S>,
    wheels: &Wheels<S>,
    direction: S,
    road_wheel: (S, S),
    sideslip_rad: S,
    rear_to_front: S,
    period_s: S,
) -> S {
    let tune = &stage.tunables;
    let before = state.speed_m_s;
    let (front, rear) = proposals(
        stage,
        input,
        wheels,
        before,
        direction,
        road_wheel,
        sideslip_rad,
        rear_to_front,
    );
    let slowest = front
        .left
        .at_most(front.right)
        .at_most(rear.left.at_most(rear.right));
    let fastest = front
        .left
        .at_least(front.right)
        .at_least(rear.left.at_least(rear.right));
    let mean = (front.sum() + rear.sum()) * S::HALF * S::HALF;
    let torque = input.carrier_torque_nm.or(S::ZERO) * direction;
    let driven = fade_in(torque, S::of(60.0), S::of(300.0));
    let braked = fade_in(input.brake_bar.or(S::ZERO), S::ONE, S::of(8.0));
    let proposal = mean + (slowest - mean) * driven * (S::ONE - braked) + (fastest - mean) * braked;

    if !state.started {
        // A whole axle, not one wheel: which side speaks first must not matter.
        let fresh = input.wheel_speed_rad_s.map(|speed| speed.is_fresh());
        state.started =
            (fresh.front_left && fresh.front_right) || (fresh.rear_left && fresh.rear_right);
        state.speed_m_s = proposal * direction;
        return state.speed_m_s;
    }
    let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
    let forward = before * direction;
    let felt = input.longitudinal_acceleration_m_s2.or(S::ZERO) + yaw_rate * sideslip_rad * before;
    let change = (felt - state.slope_m_s2.value) * direction;
    let strong = fade_in(torque.magnitude(), S::of(500.0), S::of(900.0));
    let quiet = (S::ONE - strong) * (S::ONE - braked);
    let margin = if input.longitudinal_acceleration_m_s2.is_lost() {
        tune.speed_margin_blind_m_s2
    } else {
        let crawl = fade_out(forward, S::of(5.0), S::of(10.0));
        tune.speed_margin_fast_m_s2 + (tune.speed_margin_m_s2 - tune.speed_margin_fast_m_s2) * crawl
    };
    let low = forward + (change - margin) * period_s;
    let high = forward + (change + margin) * period_s;
    state.speed_m_s = proposal.within(low, high).most(S::ZERO) * direction;

    // Rolling wheels tell the true change of speed; the rest of what the accelerometer feels is slope. Light braking counts as
    // rolling in part: behind a summit the estimate once stayed 2 m/s too high for ten seconds of it.
    if braked < S::HALF && strong < S::ONE && !input.longitudinal_acceleration_m_s2.is_lost() {
        let seen = (state.speed_m_s - before).per(period_s);
        let bound = S::of(4.0);
        let memory = tune.slope_memory_s.over(quiet, tune.slope_memory_s);
        state
            .slope_m_s2
            .step((felt - seen).within(-bound, bound), memory, period_s);
    }
    state.speed_m_s
}

/// Speed of the car that each wheel proposes, in driving direction, m/s. A lost wheel proposes the speed of the last step:
/// it neither speeds the car up nor slows it down.
fn proposals<S: Real>(
    stage: &VehicleState<S>,
    input: &VehicleStateIn<S>,
    wheels: &Wheels<S>,
    before: S,
    direction: S,
    (sine, cosine): (S, S),
    sideslip_rad: S,
    rear_to_front: S,
) -> (PerSide<S>, PerSide<S>) {
    let car = &stage.vehicle;
    let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
    let half_turn = yaw_rate * car.track_m * S::HALF;
    let across = PerSide {
        left: half_turn,
        right: -half_turn,
    };
    let front_lateral = sideslip_rad * before + yaw_rate * car.front_axle_to_cg_m;
    let wheel = wheels
        .speed_rad_s
        .zip(wheels.known, |speed, known| (speed, known));
    let front = wheel.front().zip(across, |(wheel, known), turn| {
        if known {
            (wheel * car.wheel_radius_m - front_lateral * sine).over(cosine, before) + turn
        } else {
            before
        }
    });
    let slip = input
        .rear_torque_nm
        .map(|torque| torque * stage.ready.slip_per_torque);
    let rolling = slip.zip(across, |slip, turn| {
        ((S::ONE - slip) * (S::ONE + rear_to_front), turn)
    });
    let rear = wheel
        .rear()
        .zip(rolling, |(wheel, known), (rolling, turn)| {
            if known {
                wheel * car.wheel_radius_m * rolling + turn
            } else {
                before
            }
        });
    (
        front.map(|speed| speed * direction),
        rear.map(|speed| speed * direction),
    )
}
