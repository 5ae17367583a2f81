//! Friction: what has been used already, plus an allowance.
//!
//! Over-estimating friction is the dangerous error, so nothing is assumed that was not shown: the allowance beyond the
//! friction used grows with the grip demonstrated and shrinks with slip.

use super::VehicleState;
use crate::numerics::Scalar;
use crate::numerics::filter::Lag;
use crate::numerics::table::fade_out;

/// Memory of the estimate.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FrictionState<S> {
    /// Friction used lately.
    pub used: S,
    /// Friction in use now, without its noise.
    pub now: Lag<S>,
    /// Share of the allowance left by slip, follows slip at once downwards, slowly upwards.
    pub trust: S,
}

#[inline(always)]
pub(super) fn step<S: Scalar>(
    stage: &VehicleState<S>,
    state: &mut FrictionState<S>,
    used_now: S,
    slip: S,
) -> S {
    let tunables = &stage.tunables;
    let now = state.now.follow_number(
        used_now.up_to(tunables.friction_ceiling),
        stage.ready.friction_share,
    );
    let forget = stage.ready.forget_share;
    // A sliding tyre shows what there is now: what was used before it slid is forgotten ten times faster.
    let sliding = S::ONE - state.trust;
    let faster = S::ONE + sliding * S::of(9.0);
    let remembered = state.used - state.used * (forget * faster).at_most(S::ONE);
    state.used = remembered.at_least(now);
    let trust_now = fade_out(
        slip,
        tunables.friction_slip_start,
        tunables.friction_slip_end,
    );
    let recovered = state.trust + (S::ONE - state.trust) * forget * (S::ONE + S::ONE);
    state.trust = recovered.at_least(trust_now * S::HALF).at_most(trust_now);
    let allowance =
        (tunables.friction_allowance + state.used * tunables.friction_growth) * state.trust;
    // A tenth beyond what is used stays allowed at any slip: a cap below the present use would steer against the driver.
    let least = now * S::of(1.1);
    (state.used + allowance)
        .at_least(least)
        .at_least(tunables.friction_floor)
        .at_most(tunables.friction_ceiling)
}
