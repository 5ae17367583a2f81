//! Speed over ground from four wheels that may slip, and the accelerometer.
//!
//! Each wheel proposes a speed of the car, freed of the slip that its torque needs at its load. Driven, no wheel is slower
//! than the car, so the slowest proposal is nearest the truth; braked, by pedal or engine, the fastest; rolling, the mean.
//! The proposal is followed freely the way it cannot be wrong, and no faster than the accelerometer allows plus a margin the
//! other way. What a grade adds to the accelerometer is learned while the wheels agree with the estimate.

use super::{VehicleState, VehicleStateIn, Wheels};
use crate::numerics::Real;
use crate::numerics::filter::Lag;
use crate::numerics::table::{fade_in, fade_out};
use crate::quantity::{PerSide, PerWheel};

/// Memory of the estimator.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpeedState<S> {
    /// Speed of the last step, m/s.
    pub speed_m_s: S,
    /// Part of the longitudinal specific force that is slope, m/s2, in body axes.
    pub slope_m_s2: Lag<S>,
    /// Change of speed that the wheels showed beyond what was felt, m/s2, in body axes.
    pub surprise_m_s2: S,
    /// How well the slope is known, 0 at a stand to 1.
    pub slope_known: S,
    /// Whether any proposal was ever followed.
    pub started: bool,
}

/// What the estimator is given beside its memory.
pub(super) struct SpeedIn<'a, S> {
    pub input: &'a VehicleStateIn<S>,
    pub wheels: &'a Wheels<S>,
    pub direction: S,
    /// Sine and cosine of the road-wheel angle.
    pub road_wheel: (S, S),
    /// Sideslip of the last step.
    pub sideslip_rad: S,
    /// Radius of each wheel over the nominal one, minus one.
    pub beyond_one: PerWheel<S>,
    pub load_n: PerWheel<S>,
}

#[inline(always)]
pub(super) fn step<S: Real>(
    stage: &VehicleState<S>,
    state: &mut SpeedState<S>,
    given: &SpeedIn<'_, S>,
    period_s: S,
) -> S {
    let tune = &stage.tunables;
    let (input, direction) = (given.input, given.direction);
    let before = state.speed_m_s;
    let torque = input.carrier_torque_nm.or(S::ZERO) * direction;
    let driving = fade_in(torque, S::of(60.0), S::of(300.0));
    let braked = fade_in(input.brake_bar.or(S::ZERO), S::ONE, S::of(8.0));
    let (front, rear) = proposals(stage, given, before, braked);
    let slowest = front
        .left
        .at_most(front.right)
        .at_most(rear.left.at_most(rear.right));
    // Under anti-lock control one front wheel stops and the differential makes the other one fast: little above their mean,
    // the carrier's, is believed.
    let anti_lock = input.anti_lock_active;
    let fastest_front = if anti_lock {
        let mean = front.sum() * S::HALF;
        front
            .left
            .at_least(front.right)
            .at_most(mean + mean * S::of(0.02))
    } else {
        front.left.at_least(front.right)
    };
    let fastest = fastest_front.at_least(rear.left.at_least(rear.right));
    let mean = (front.sum() + rear.sum()) * S::HALF * S::HALF;
    let driven = driving * (S::ONE - braked);
    let dragged = fade_in(-torque, S::of(60.0), S::of(300.0)).at_least(braked);
    let proposal = mean + (slowest - mean) * driven + (fastest - mean) * dragged;

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
    let felt =
        input.longitudinal_acceleration_m_s2.or(S::ZERO) + yaw_rate * given.sideslip_rad * before;
    let change = (felt - state.slope_m_s2.value) * direction;
    let blind = input.longitudinal_acceleration_m_s2.is_lost();
    let (rise, fall) = if blind {
        (tune.speed_margin_blind_m_s2, tune.speed_margin_blind_m_s2)
    } else {
        // Braked, the grade has been learned long ago.
        let full = S::of(5.0) - S::of(3.0) * braked;
        let crawl = fade_out(forward, full, full + full);
        let tight = tune.speed_margin_fast_m_s2
            + (tune.speed_margin_m_s2 - tune.speed_margin_fast_m_s2) * crawl;
        let free = (tune.speed_margin_free_m_s2 - tight).at_least(S::ZERO);
        let rise = tight + free * (S::ONE - driven);
        let fall = tight + free * (S::ONE - dragged);
        if anti_lock {
            // All wheels let go and catch again below the car's speed: what is felt tells more, once the slope is known.
            let least = tune.speed_margin_anti_lock_m_s2;
            let narrowed = |margin: S, least: S| margin + (least - margin) * state.slope_known;
            // No wheel that brakes is faster than the car: what lies above is believed sooner.
            (narrowed(rise, least + least + least), narrowed(fall, least))
        } else {
            (rise, fall)
        }
    };
    let low = forward + (change - fall) * period_s;
    let high = forward + (change + rise) * period_s;
    state.speed_m_s = proposal.within(low, high).at_least(S::ZERO) * direction;
    let seen = (state.speed_m_s - before).per(period_s);
    state.surprise_m_s2 = seen - change * direction;

    // Wheels near the estimate tell the true change of speed; the rest of what the accelerometer feels is slope. Wheels that
    // spin or lock leave it, and the slope stays: it once learned the spin of four wheels on ice.
    if !(blind || anti_lock) {
        let forward = state.speed_m_s * direction;
        let apart = (fastest - forward).at_least(forward - slowest);
        let reach = S::of(0.1) + forward * S::of(0.01);
        let trust = fade_out(apart, reach, reach + reach);
        let bound = S::of(4.0);
        let share = stage.ready.slope_share * trust;
        state
            .slope_m_s2
            .follow_number((felt - seen).within(-bound, bound), share);
        state.slope_known = if forward < S::ONE {
            S::ZERO
        } else {
            state.slope_known + (S::ONE - state.slope_known) * share
        };
    }
    state.speed_m_s
}

/// Speed of the car that each wheel proposes, in driving direction, m/s. A lost wheel proposes the speed of the last step:
/// it neither speeds the car up nor slows it down.
#[inline(always)]
fn proposals<S: Real>(
    stage: &VehicleState<S>,
    given: &SpeedIn<'_, S>,
    before: S,
    braked: S,
) -> (PerSide<S>, PerSide<S>) {
    let car = &stage.vehicle;
    let input = given.input;
    let (sine, cosine) = given.road_wheel;
    let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
    let half_turn = yaw_rate * car.track_m * S::HALF;
    let across = PerSide {
        left: half_turn,
        right: -half_turn,
    };
    let front_lateral = given.sideslip_rad * before + yaw_rate * car.front_axle_to_cg_m;
    let wheel = given
        .wheels
        .speed_rad_s
        .zip(given.wheels.known, |speed, known| (speed, known));
    // Slip grows with torque over load. The brakes' part is taken to be shared as the loads are: then it is the same for all.
    let powertrain = input.carrier_torque_nm.or(S::ZERO);
    let taken = input.rear_torque_nm.sum() * stage.with_overspeed();
    let front_nm = (powertrain - taken) * S::HALF;
    let braking = (input.longitudinal_acceleration_m_s2.or(S::ZERO) * stage.ready.slip_per_m_s2
        - powertrain * stage.slip_of_all_per_nm())
        * given.direction;
    let most = S::of(0.05);
    // Under anti-lock control the fastest wheel is one that was just let go.
    let braking = if input.anti_lock_active {
        S::ZERO
    } else {
        braking.at_least(-most).at_most(S::ZERO) * braked
    };
    let rolling = |torque: S, load: S| {
        // A lifted wheel counts as bearing 1 N: its slip ends at the bound.
        let slip =
            (torque * stage.ready.slip_load_per_nm * given.direction).per(load.at_least(S::ONE));
        S::ONE - slip.at_least(-most).at_most(most) - braking
    };
    let radius = given
        .beyond_one
        .map(|beyond| car.wheel_radius_m + car.wheel_radius_m * beyond);
    let front_rolling = given.load_n.front().zip(radius.front(), |load, radius| {
        radius * rolling(front_nm, load)
    });
    let front = wheel.front().zip(front_rolling, |(wheel, known), radius| {
        (wheel * radius, known)
    });
    let front = front.zip(across, |(wheel, known), turn| {
        if known {
            (wheel - front_lateral * sine).over(cosine, before) + turn
        } else {
            before
        }
    });
    let rear_rolling = input
        .rear_torque_nm
        .zip(given.load_n.rear(), rolling)
        .zip(radius.rear(), |rolling, radius| radius * rolling);
    let rear = wheel
        .rear()
        .zip(rear_rolling, |(wheel, known), radius| {
            (wheel * radius, known)
        })
        .zip(
            across,
            |(wheel, known), turn| {
                if known { wheel + turn } else { before }
            },
        );
    (
        front.map(|speed| speed * given.direction),
        rear.map(|speed| speed * given.direction),
    )
}
