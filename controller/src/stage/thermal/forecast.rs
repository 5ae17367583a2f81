//! How long the present use can go on: seconds to the first heat limit.
//!
//! In: temperatures now, heat per side (W), surroundings, limits. Out: time until surface, core or oil of a side reaches
//! its limit if the heat of the last seconds goes on, s, at most the horizon.
//!
//! A copy of the network runs ahead of time by [`relaxed`] steps, each 1.2 times the one before, ONE in every
//! [`STEPS_PER_STRIDE`] control steps, with the heat of that step: it only informs, no ceiling waits for it. On reaching a limit on both sides, or the
//! horizon, the result is published and a new look begins (at most 50 strides: 2 s at 5 ms). Bounded work in every step.
//! Backward Euler warms a little late, so the crossing is put at the proportional place inside the step that crosses;
//! measured against fine steps it is up to 5 % late (bound 10 %, test `thermal_derating`). A limit already reached gives 0
//! at once.

use super::derating;
use super::network::{Parameters, Surroundings, Temperatures, relaxed};
use crate::numerics::Scalar;
use crate::numerics::filter::{Lag, lag_share};
use crate::quantity::PerSide;

/// Calibration of the forecast.
pub use crate::calibration::Forecast as Tunables;

/// The look ahead in progress.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct State<S> {
    heat_w: PerSide<Lag<S>>,
    ahead: Temperatures<S>,
    ahead_s: S,
    stride_s: S,
    found_s: PerSide<Option<S>>,
    published_s: PerSide<Option<S>>,
    waits: u8,
    told_s: PerSide<S>,
}

/// Control steps from one stride to the next.
pub const STEPS_PER_STRIDE: u8 = 8;

/// First stride, s.
const FIRST_STRIDE_S: f32 = 0.1;

/// Growth of the strides.
const GROWTH: f32 = 1.2;

/// One stride of the look ahead; returns the latest finished result, s. A stride waits where heat has just `moved` through
/// the network, so that no step carries both.
#[inline(always)]
pub fn step<S: Scalar>(
    parameters: &Parameters<S>,
    limits: &derating::Parameters<S>,
    tunables: &Tunables<S>,
    state: &mut State<S>,
    now: &Temperatures<S>,
    heat_w: PerSide<S>,
    around: impl FnOnce() -> Surroundings<S>,
    (period_s, moved): (S, bool),
) -> PerSide<S> {
    if state.waits == 0 && !moved {
        state.waits = STEPS_PER_STRIDE;
        let between_s = period_s * S::of(f32::from(STEPS_PER_STRIDE));
        let share = lag_share(tunables.use_memory_s, between_s);
        let mean_w = PerSide {
            left: state.heat_w.left.follow(heat_w.left, share),
            right: state.heat_w.right.follow(heat_w.right, share),
        };
        stride(parameters, limits, tunables, state, now, mean_w, &around());
        state.told_s = told(limits, tunables, state, now);
    }
    state.waits = state.waits.saturating_sub(1);
    if moved {
        state.told_s = told(limits, tunables, state, now);
    }
    state.told_s
}

/// The latest finished result, 0 where a limit is already reached.
fn told<S: Scalar>(
    limits: &derating::Parameters<S>,
    tunables: &Tunables<S>,
    state: &State<S>,
    now: &Temperatures<S>,
) -> PerSide<S> {
    let oil_reached = !(now.oil_degc < limits.oil_limit_degc);
    let plates = now.surface_degc.zip(now.core_degc, |surface, core| {
        !(surface < limits.surface_limit_degc) || !(core < limits.core_limit_degc)
    });
    state.published_s.zip(plates, |published, reached| {
        if reached || oil_reached {
            S::ZERO
        } else {
            published
                .unwrap_or(tunables.horizon_s)
                .up_to(tunables.horizon_s)
        }
    })
}

/// One stride further ahead; at the end of a look its result is published.
#[inline(never)]
fn stride<S: Scalar>(
    parameters: &Parameters<S>,
    limits: &derating::Parameters<S>,
    tunables: &Tunables<S>,
    state: &mut State<S>,
    now: &Temperatures<S>,
    mean_w: PerSide<S>,
    around: &Surroundings<S>,
) {
    let under_way = state.stride_s > S::ZERO;
    if !under_way {
        state.ahead = *now;
        state.ahead_s = S::ZERO;
        state.stride_s = S::of(FIRST_STRIDE_S);
        state.found_s = PerSide::both(None);
    }
    let before = state.ahead;
    let after = relaxed(parameters, &before, mean_w, around, state.stride_s);
    let begin_s = state.ahead_s;
    let stride_s = state.stride_s;
    let crossed = crossing(limits, &before, &after);
    state.found_s = state.found_s.zip(crossed, |found, share| {
        found.or(share.map(|share| begin_s + stride_s * share))
    });
    state.ahead = after;
    state.ahead_s = begin_s + stride_s;
    state.stride_s = stride_s * S::of(GROWTH);
    let both_found = state.found_s.left.is_some() && state.found_s.right.is_some();
    let short_of_horizon = state.ahead_s < tunables.horizon_s;
    if both_found || !short_of_horizon {
        state.published_s = state
            .found_s
            .map(|found| Some(found.unwrap_or(tunables.horizon_s)));
        state.stride_s = S::ZERO;
    }
}

/// Per side, the share of the way from `before` to `after` where the first of its limits is reached, if any.
fn crossing<S: Scalar>(
    limits: &derating::Parameters<S>,
    before: &Temperatures<S>,
    after: &Temperatures<S>,
) -> PerSide<Option<S>> {
    let oil = reached(before.oil_degc, after.oil_degc, limits.oil_limit_degc);
    let surface = before.surface_degc.zip(after.surface_degc, |from, to| {
        reached(from, to, limits.surface_limit_degc)
    });
    let core = before.core_degc.zip(after.core_degc, |from, to| {
        reached(from, to, limits.core_limit_degc)
    });
    surface.zip(core, |surface, core| sooner(sooner(surface, core), oil))
}

fn reached<S: Scalar>(from: S, to: S, limit: S) -> Option<S> {
    if to < limit {
        None
    } else {
        Some((limit - from).over(to - from, S::ZERO).up_to(S::ONE))
    }
}

fn sooner<S: Scalar>(one: Option<S>, other: Option<S>) -> Option<S> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.least(other)),
        (one, other) => one.or(other),
    }
}
