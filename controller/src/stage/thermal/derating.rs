//! How much capacity the heat leaves: a slope, a bounded slew, a last resort.
//!
//! In: [`Temperatures`]. Out, per side: ceiling 0 to 1 on the capacity, what set it, whether the clutch is ordered open.
//!
//! slope(T) = 1 below start, straight to 0 at limit; ceiling follows the least slope of surface, core and oil, falling at
//! most `withdrawal_per_s`, rising at most `restoration_per_s` (slow return is the hysteresis of the slope).
//! A slope of oil or core below `least_share` is too little to move a car and enough to go on heating the axle: the ceiling falls to
//! 0 at its own rate, then the clutch is ordered open to cool. Above an absolute temperature the ceiling is 0 at once and the clutch is
//! ordered open; either order ends only below the re-entry temperatures and after a dwell. The ORDER changes at most once per dwell; the ceiling needs no such wait,
//! so protection is never late. With the clutch open its heat ends, every node falls towards the air, and as the re-entry
//! temperatures lie above any air the axle meets, re-entry is certain. A temperature that is no number counts as hot.

use super::network::Temperatures;
use crate::numerics::Scalar;
use crate::numerics::filter::slewed;
use crate::numerics::table::fade_out;
use crate::quantity::PerSide;
use crate::signal::Limit;

/// Calibration of the derating. Rule between fields: start < limit <= absolute, re-entry < absolute.
pub use crate::calibration::Derating as Parameters;

/// Memory of one side. All zero is a cool clutch with nothing withdrawn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SideState<S> {
    /// Share of the capacity withdrawn, 0 to 1.
    pub withdrawn: S,
    /// What withdrew it.
    pub by: Limit,
    /// Whether the clutch is ordered open.
    pub open: bool,
    /// Time that must still pass before the order may change, s.
    pub dwell_left_s: S,
}

/// What the heat leaves of one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ceiling<S> {
    /// Share of the capacity that may be used, 0 to 1.
    pub share: S,
    /// What set it.
    pub by: Limit,
    /// Whether the clutch is ordered open.
    pub open: bool,
}

impl<S: Scalar> Ceiling<S> {
    /// Nothing withdrawn.
    pub const WHOLE: Self = Self {
        share: S::ONE,
        by: Limit::Nothing,
        open: false,
    };
}

/// One step for both sides.
pub fn step<S: Scalar>(
    parameters: &Parameters<S>,
    state: &mut PerSide<SideState<S>>,
    at: &Temperatures<S>,
    period_s: S,
) -> PerSide<Ceiling<S>> {
    if !(is_cool(parameters, at) && is_at_rest(state)) {
        let oil_degc = at.oil_degc;
        let one = |side: &mut SideState<S>, surface_degc: S, core_degc: S| {
            step_side(
                parameters,
                side,
                surface_degc,
                core_degc,
                oil_degc,
                period_s,
            );
        };
        one(&mut state.left, at.surface_degc.left, at.core_degc.left);
        one(&mut state.right, at.surface_degc.right, at.core_degc.right);
    }
    state.map(|side| Ceiling {
        share: S::ONE - side.withdrawn,
        by: side.by,
        open: side.open,
    })
}

/// What the slopes alone leave of one side, and the name of the tightest; never rises with any temperature.
pub fn slope<S: Scalar>(
    parameters: &Parameters<S>,
    surface_degc: S,
    core_degc: S,
    oil_degc: S,
) -> (S, Limit) {
    let surface = fade_out(
        surface_degc,
        parameters.surface_start_degc,
        parameters.surface_limit_degc,
    );
    let core = fade_out(
        core_degc,
        parameters.core_start_degc,
        parameters.core_limit_degc,
    );
    let oil = fade_out(
        oil_degc,
        parameters.oil_start_degc,
        parameters.oil_limit_degc,
    );
    let mut tightest = (S::ONE, Limit::Nothing);
    for (share, by) in [
        (surface, Limit::SurfaceHeat),
        (core, Limit::CoreHeat),
        (oil, Limit::OilHeat),
    ] {
        if share < tightest.0 {
            tightest = (share, by);
        }
    }
    tightest
}

/// State of both sides on waking with these temperatures: the slope holds at once, an order to open from before the rest
/// stands until the re-entry temperatures allow its end.
pub fn woken<S: Scalar>(
    parameters: &Parameters<S>,
    at: &Temperatures<S>,
    was_open: PerSide<bool>,
) -> PerSide<SideState<S>> {
    let plates = at
        .surface_degc
        .zip(at.core_degc, |surface, core| (surface, core));
    plates.zip(was_open, |(surface, core), was_open| {
        let beyond = beyond(parameters, surface, at.oil_degc);
        if beyond || (was_open && !cool(parameters, surface, at.oil_degc)) {
            let dwell_left_s = parameters.dwell_s.most(S::ZERO);
            SideState {
                withdrawn: S::ONE,
                by: Limit::AbsoluteHeat,
                open: true,
                dwell_left_s,
            }
        } else {
            let (share, by) = slope(parameters, surface, core, at.oil_degc);
            SideState {
                withdrawn: S::ONE - share,
                by,
                open: false,
                dwell_left_s: S::ZERO,
            }
        }
    })
}

/// Nothing withdrawn, named or ordered on either side: where the axle is cool too, a step would change nothing.
pub(super) fn is_at_rest<S: Scalar>(state: &PerSide<SideState<S>>) -> bool {
    let sides = state.map(|side| {
        !side.open
            && side.by == Limit::Nothing
            && side.withdrawn == S::ZERO
            && side.dwell_left_s == S::ZERO
    });
    sides.left && sides.right
}

/// Every temperature below the start of its slope; what is no number is not.
pub(super) fn is_cool<S: Scalar>(parameters: &Parameters<S>, at: &Temperatures<S>) -> bool {
    let plates = at.surface_degc.zip(at.core_degc, |surface, core| {
        surface <= parameters.surface_start_degc
            && core <= parameters.core_start_degc
            && surface < parameters.surface_absolute_degc
    });
    plates.left
        && plates.right
        && at.oil_degc <= parameters.oil_start_degc
        && at.oil_degc < parameters.oil_absolute_degc
}

fn step_side<S: Scalar>(
    parameters: &Parameters<S>,
    side: &mut SideState<S>,
    surface_degc: S,
    core_degc: S,
    oil_degc: S,
    period_s: S,
) {
    let beyond = beyond(parameters, surface_degc, oil_degc);
    let (share, by) = slope(parameters, surface_degc, core_degc, oil_degc);
    // A surface cools within seconds by itself; oil and core do not while heat goes on.
    let slow = matches!(by, Limit::OilHeat | Limit::CoreHeat);
    let spent = slow && !(share >= parameters.least_share);
    side.dwell_left_s = (side.dwell_left_s - period_s).most(S::ZERO);
    let wanted = if side.open {
        beyond || spent || !cool(parameters, surface_degc, oil_degc)
    } else {
        beyond || (spent && side.withdrawn >= S::ONE)
    };
    if wanted != side.open && side.dwell_left_s <= S::ZERO {
        side.open = wanted;
        side.dwell_left_s = parameters.dwell_s.most(S::ZERO);
    }
    if beyond {
        side.by = Limit::AbsoluteHeat;
    }
    if side.open || beyond {
        side.withdrawn = S::ONE;
        return;
    }
    let target = if spent { S::ZERO } else { share };
    let fall = parameters.withdrawal_per_s.most(S::ZERO) * period_s;
    let rise = parameters.restoration_per_s.most(S::ZERO) * period_s;
    side.withdrawn = slewed(side.withdrawn, S::ONE - target, rise, fall).up_to(S::ONE);
    if by != Limit::Nothing {
        side.by = by;
    } else if side.withdrawn <= S::ZERO {
        side.by = Limit::Nothing;
    }
}

fn beyond<S: Scalar>(parameters: &Parameters<S>, surface_degc: S, oil_degc: S) -> bool {
    let below =
        surface_degc < parameters.surface_absolute_degc && oil_degc < parameters.oil_absolute_degc;
    !below
}

fn cool<S: Scalar>(parameters: &Parameters<S>, surface_degc: S, oil_degc: S) -> bool {
    surface_degc < parameters.surface_reentry_degc && oil_degc < parameters.oil_reentry_degc
}
