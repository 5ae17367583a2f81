//! Heat a clutch makes: modelled torque times measured slip, never less.
//!
//! In: granted capacity (Nm), slip (rad/s, as sensed), oil temperature (degC). Out: torque the clutch is thought to carry
//! now (Nm, without sign) and heat (W, never negative) per side.
//!
//! P = |T s|, T = granted capacity after dead time and first-order lag; zero below the stick threshold.
//!
//! What is not known counts hot: a lost slip is the largest believable one, a held slip grows with its age, a torque that
//! is no number is the full capacity. An open clutch makes no heat whatever its slip. Limits: dead time up to
//! [`DELAY_STEPS`] - 1 steps (31 ms at 1 ms), longer ones are cut there.

use crate::numerics::Scalar;
use crate::numerics::filter::{Lag, lag_share};
use crate::numerics::table::fade_out;
use crate::quantity::{PerSide, Sensed};

/// Calibration of the slip heat.
pub use crate::calibration::SlipPower as Parameters;

/// Steps the delay line can hold; a power of two.
pub const DELAY_STEPS: usize = 32;

/// Grants on their way to the clutches.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct State<S> {
    line_nm: [PerSide<S>; DELAY_STEPS],
    next: u8,
    /// Torque each clutch is thought to carry while slipping, Nm.
    pub(super) torque_nm: PerSide<Lag<S>>,
    /// Dead time at the oil's warmth, whole steps.
    dead_steps: u8,
    /// Share of the way the lag goes in a step at the oil's warmth.
    lag_share: S,
}

/// Torque and heat of one step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Found<S> {
    /// Torque each clutch is thought to carry while slipping, Nm, never negative.
    pub torque_nm: PerSide<S>,
    /// Heat, W, never negative, always finite.
    pub heat_w: PerSide<S>,
}

impl<S: Scalar> State<S> {
    /// Torque each clutch passes by now while it slips, Nm, without sign.
    pub fn torque_nm(&self) -> PerSide<S> {
        self.torque_nm.map(|torque| torque.value)
    }
}

/// Dead time and lag at this warmth of the oil: both change no faster than it does.
pub fn warmed<S: Scalar>(
    parameters: &Parameters<S>,
    state: &mut State<S>,
    oil_degc: S,
    period_s: S,
) {
    let cold = fade_out(oil_degc, parameters.cold_oil_degc, parameters.warm_oil_degc);
    let slower = S::ONE + cold * (parameters.cold_lag_factor - S::ONE).most(S::ZERO);
    let longest = DELAY_STEPS as i64 - 1;
    state.dead_steps = (parameters.dead_time_s * slower)
        .over(period_s, S::ZERO)
        .to_whole()
        .clamp(0, longest) as u8;
    state.lag_share = lag_share(parameters.lag_s * slower, period_s);
}

/// One step: the grant enters the delay line, the delayed one moves the lag, the lag's torque meets the slip. [`warmed`] must have
/// said how slow the oil makes it.
#[inline(always)]
pub fn step<S: Scalar>(
    parameters: &Parameters<S>,
    state: &mut State<S>,
    granted_nm: PerSide<S>,
    slip_rad_s: PerSide<Sensed<S>>,
) -> Found<S> {
    let most = parameters.capacity_nm.at_least(S::ZERO);
    // Not a number ends at the full capacity; a negative grant is an open clutch.
    let admitted = granted_nm.map(|granted| {
        if granted < most {
            granted.at_least(S::ZERO)
        } else {
            most
        }
    });
    let delayed = delay(state, admitted);
    let torque_nm = PerSide {
        left: state.torque_nm.left.follow(delayed.left, state.lag_share),
        right: state.torque_nm.right.follow(delayed.right, state.lag_share),
    };
    let heat_w = torque_nm.zip(slip_rad_s, |torque, slip| heat(parameters, torque, slip));
    Found { torque_nm, heat_w }
}

/// Heat of one clutch, W.
pub fn heat<S: Scalar>(parameters: &Parameters<S>, torque_nm: S, slip_rad_s: Sensed<S>) -> S {
    let most = parameters.slip_rad_s.at_least(S::ZERO);
    let slip = match slip_rad_s {
        // A measured slip counts whole, however large: cutting it would hide heat. Not a number is the largest believed.
        Sensed::Fresh(slip) if slip.is_finite() => slip.magnitude(),
        Sensed::Held { value, age_s } => {
            let grown = value.magnitude()
                + age_s.magnitude() * parameters.held_slip_growth_rad_s2.at_least(S::ZERO);
            if grown.is_finite() { grown } else { most }
        }
        Sensed::Fresh(_) | Sensed::Lost => most,
    };
    let capacity = parameters.capacity_nm.at_least(S::ZERO);
    let size = torque_nm.magnitude();
    let torque = if size < capacity { size } else { capacity };
    if slip < parameters.stick_slip_rad_s {
        S::ZERO
    } else {
        torque * slip
    }
}

fn delay<S: Scalar>(state: &mut State<S>, value: PerSide<S>) -> PerSide<S> {
    let now = usize::from(state.next) % DELAY_STEPS;
    if let Some(place) = state.line_nm.get_mut(now) {
        *place = value;
    }
    state.next = state.next.wrapping_add(1);
    // A power of two divides the range of the type, so wrapping around is right.
    let then = now.wrapping_sub(usize::from(state.dead_steps)) % DELAY_STEPS;
    state.line_nm.get(then).copied().unwrap_or(value)
}
