//! Grip that was shown to be missing: tyres that slip more than what they carry explains.
//!
//! What was used already says how much friction there is at least; a tyre that slides says how much there is at most. A tyre that
//! holds slips in proportion to what it carries. Where stiffness times slip asks for clearly more friction than is carried, it slides,
//! and a brush of bristles tells how near its limit it is: at 1.3 times it uses 0.58 of the friction, at 1.8 times 0.90, at 2.3
//! times 0.985 (brush model after "Tyre and Vehicle Dynamics", 2nd ed., ch. 3, from memory:
//! `F / (mu Fz) = x - x^2 / 3 + x^3 / 27` with `x = C slip / (mu Fz)`).
//!
//! Watched is the front axle across: its slip angle against the specific force felt at its place. What rear tyres do along tells less: one
//! per cent of error in a rolling radius feigns a fifth of the friction of a dry road (tried and left out).
//! In: slip angle rad, torques Nm, specific force m/s2, yaw rate rad/s. Out: friction that the front tyres have shown, the ceiling where they did not slide;
//! forgotten within some ten seconds, and never below the friction in use. Limits: blind while front tyres slip along, below 6 m/s, and
//! below some half a degree of slip angle, where an offset of the steering would be taken for ice; a car that is steered but held from turning looks
//! like one on ice.

use super::VehicleState;
use crate::numerics::filter::{Lag, lag_share};
use crate::numerics::table::{fade_in, fade_out};
use crate::numerics::{GRAVITY_M_S2, Real};

/// What the watch is told.
pub(super) struct GripIn<S> {
    /// Slip angle of the front axle, rad.
    pub front_angle_rad: S,
    /// Size of the front axle's slip along.
    pub front_slip: S,
    /// Right less left torque expected on the rear wheels, Nm.
    pub rear_difference_nm: S,
    /// Lateral specific force, m/s2.
    pub lateral_m_s2: S,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: S,
    /// Friction in use without its noise.
    pub now: S,
    /// Speed in driving direction, m/s.
    pub forward_m_s: S,
}

/// Memory of the watch.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GripState<S> {
    /// Yaw rate a little ago, rad/s.
    yaw_rate_rad_s: Lag<S>,
    /// Right less left torque of the rear wheels, as late as the oil, Nm.
    difference_nm: Lag<S>,
    /// Friction that the front slip angle asks for beyond what is carried.
    excess: Lag<S>,
    /// What is missing from the ceiling of friction.
    missing: S,
}

/// Times the friction carried that a holding tyre's slip may ask for. Dry drives at the limit of grip stay below on the way there.
const SHARE: f32 = 1.3;

/// Excess of friction asked for at which a tyre counts as sliding in full.
const FULL: f32 = 0.04;

/// Friction asked for below which slip says nothing, and from which it says all: sensors' offsets.
const SAYS: (f32, f32) = (0.06, 0.12);

/// Slip along from which the front tyres say less of what they hold across, and from which nothing.
const BLIND: (f32, f32) = (0.02, 0.05);

/// Speed from which the front tyres are watched, and from which in full, m/s: slower, no car spins, and a launch on half-ice is steered
/// against the pull of one side.
const FAST_M_S: (f32, f32) = (6.0, 12.0);

/// Ratio of asked to carried at which a tyre gives all there is.
const ALL: f32 = 2.3;

/// Lags of the excess and of everything else, s: some of the tyres' own, and a warm clutch's.
const LAG_S: (f32, f32) = (0.06, 0.05);

/// Share of the memory of friction used: a bound is forgotten more slowly than a use.
const MEMORY: f32 = 0.3;

/// Least friction that a sliding tyre lets the law believe in: wet ice, from memory 0.05 to 0.1.
const LEAST: f32 = 0.06;

/// Friction shown below which the road is not taken for a dry one, and from which it may be.
const DRY: (f32, f32) = (0.3, 0.7);

/// How far a road that has shown this friction may still be taken for a dry one, 0 to 1.
pub(super) fn dry<S: Real>(shown: S) -> S {
    fade_in(shown, S::of(DRY.0), S::of(DRY.1))
}

/// Friction of a road on which a tyre carries this and slips as if it were to carry `asks`: a parabola in place of the brush
/// model's root, within a seventh of it from a ratio of 1.3 and within 3 % from 1.5.
fn friction_of_sliding<S: Real>(asks: S, carried: S) -> S {
    let short = (S::of(ALL) - asks.over(carried, S::of(ALL))).at_least(S::ZERO);
    carried + carried * short.squared() * S::HALF
}

impl<S: Real> VehicleState<S> {
    /// What is missing after this step.
    #[inline(always)]
    fn missing(&self, before: S, asks: S, carried: S, excess: S, late: S) -> S {
        let ceiling = self.tunables.friction_ceiling;
        let kept = before - before * self.ready.forget_share * S::of(MEMORY);
        if !(excess > S::ZERO) {
            return kept;
        }
        let slides =
            fade_in(excess, S::ZERO, S::of(FULL)) * fade_in(asks, S::of(SAYS.0), S::of(SAYS.1));
        let wanting = ceiling - friction_of_sliding(asks, carried);
        if wanting > kept {
            kept + (wanting - kept) * slides * late
        } else {
            kept
        }
    }

    /// Friction that the front tyres have shown; see the head of the file.
    #[inline(always)]
    pub(super) fn watch_grip(&self, state: &mut GripState<S>, input: &GripIn<S>, period_s: S) -> S {
        let car = &self.vehicle;
        let gravity = S::of(GRAVITY_M_S2);
        let late = lag_share(S::of(LAG_S.1), period_s);
        let before = state.yaw_rate_rad_s.value;
        state.yaw_rate_rad_s.follow(input.yaw_rate_rad_s, late);
        let turning = (input.yaw_rate_rad_s - before) * S::of(1.0 / LAG_S.1);
        // Below the friction in use no bound may fall: a cap there would steer against the driver.
        let least = (self.tunables.friction_ceiling - input.now * S::of(1.1)).at_least(S::ZERO);

        // The axle's own yaw moment turns the car, not the front tyres.
        let difference_nm = state.difference_nm.follow(input.rear_difference_nm, late);
        let own = difference_nm
            * (car.track_m * S::HALF).over(
                car.wheel_radius_m * car.mass_kg * self.rear_arm_m(),
                S::ZERO,
            );
        let at_front = input.lateral_m_s2 + self.vehicle.front_axle_to_cg_m * turning - own;
        let carried = at_front.magnitude().per(gravity);
        let front_n = self.weight_n() * (S::ONE - self.ready.rear_share);
        let per_rad = car.front_cornering_stiffness_n_rad.over(front_n, S::ZERO);
        let asks = (per_rad * input.front_angle_rad.magnitude()).at_most(S::of(3.0));
        let sees = fade_out(input.front_slip, S::of(BLIND.0), S::of(BLIND.1))
            * fade_in(input.forward_m_s, S::of(FAST_M_S.0), S::of(FAST_M_S.1));
        let excess = state.excess.follow(
            (asks - carried * S::of(SHARE)) * sees,
            lag_share(S::of(LAG_S.0), period_s),
        );
        state.missing = self
            .missing(state.missing, asks, carried, excess, late)
            .at_most(least);

        (self.tunables.friction_ceiling - state.missing).at_least(S::of(LEAST))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn friction_of_a_sliding_tyre_is_that_of_the_brush_model() {
        // Brush model (head of the file): with u the share of friction in use and x = C slip / (mu Fz), asked over carried is x / u.
        for step in 0..=40 {
            let x = 0.75 + f64::from(step) * 0.05;
            let used = x - x * x / 3.0 + x * x * x / 27.0;
            let friction = 0.37;
            let found = friction_of_sliding(x * friction, used * friction);
            let tolerance = if x / used < 1.5 { 1.0 / 7.0 } else { 0.03 };
            assert!((found / friction - 1.0).abs() < tolerance, "{x}: {found}");
        }
        assert_eq!(friction_of_sliding(0.5_f64, 0.0), 0.0);
    }
}
