//! A clutch jammed closed by its plates: its pressure is as commanded, and it carries torque all the same.
//!
//! In: [`JammedIn`], wheel speeds, yaw rate and what was commanded. Out: which clutch does not open. Pressure cannot show it; the
//! wheels do, twice. A wheel that is let go turns slower than the shaft by the overspeed and by the way it goes in the turn: it must
//! not keep the shaft's speed where its lock would ask for torque ([`LOCK_NM`]) and for slip ([`SLIPS_RAD_S`]). And its tyre slips beside the
//! other rear tyre as only a driven or dragged one does, by [`SHOWN_NM`] more than little command ([`OPEN_NM`]) can make. The first
//! witness is wrong where a radius is, the second where one side's grip is; both together for [`CONFIRM_S`] count, unless the other wheel
//! turns to the wrong side of the shaft's speed and so says that a radius is wrong. A clutch that
//! turns against its shaft is not jammed: so for `pressure_watch.heal_s` it is forgotten, unless it stood as long as any finding
//! that stays. Where neither is seen nothing is judged, and a finding keeps its state.
//!
//! A clutch that is closed and stands may carry its whole capacity either way, so beside one a jam is told only if the tyres show more.
//!
//! Limits: not judged below about 8 m/s, under brake or brake control, and above [`CALM_M_S2`], where an inner wheel may be in the air and
//! an open clutch's drag alone turns it with the shaft. Straight ahead two jammed clutches are alike and show no difference. Rear
//! tyres that roll as the shaft turns hide a jam, for an open clutch would not slip either. Common practice, no source: the
//! numbers are chosen so that no sound drive of the demo holds the condition for longer than a tenth of its time.

use crate::calibration;
use crate::numerics::Scalar;
use crate::numerics::filter::Debounce;
use crate::quantity::{PerSide, Period, Sensed};
use crate::stage::Stage;

/// Capacity commanded below which a clutch counts as commanded open, Nm: what holds no driven wheel.
const OPEN_NM: f32 = 100.0;
/// Torque beyond the command that a lock must ask for, Nm.
const LOCK_NM: f32 = 150.0;
/// Torque beyond the command that the tyre must show, Nm.
const SHOWN_NM: f32 = 120.0;
/// Slip below which a wheel keeps the shaft's speed, rad/s: noise of the sensors and some.
const HELD_RAD_S: f32 = 0.3;
/// Slip that an open clutch would have, rad/s, and slip above which one surely turns.
const SLIPS_RAD_S: f32 = 0.6;
/// Slower than this nothing is judged, m/s.
const SLOW_M_S: f32 = 8.0;
/// Lateral acceleration above which nothing is judged, m/s2: the inner wheel still bears half of what it bears at rest.
const CALM_M_S2: f32 = 6.0;
/// So long it must last, s: longer than a clutch in the coldest oil takes to let go (0.43 s, a requirement) by more than a third.
const CONFIRM_S: f32 = 0.6;

/// What the watch looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JammedIn<S> {
    /// Rear wheel speeds, rad/s.
    pub rear_rad_s: PerSide<Sensed<S>>,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Lateral specific force, m/s2.
    pub lateral_m_s2: Sensed<S>,
    /// Shaft speed minus wheel speed, rad/s.
    pub clutch_slip_rad_s: PerSide<Sensed<S>>,
    /// Torque each clutch would carry if it were locked, Nm.
    pub lock_torque_nm: PerSide<S>,
    /// Torque each clutch should pass by now, Nm, positive driving.
    pub expected_nm: PerSide<S>,
    /// Capacity commanded, Nm.
    pub capacity_nm: PerSide<S>,
    /// Speed in driving direction, m/s.
    pub forward_m_s: S,
    /// Whether the brakes, or a controller of them, change wheel speeds.
    pub braked: bool,
    /// Sides whose findings stood so long that they stay.
    pub latched: PerSide<bool>,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct JammedWatch<S> {
    track_per_radius: S,
    nm_per_slip: S,
    confirm_steps: u16,
    heal_steps: u16,
}

impl<S: Scalar> JammedWatch<S> {
    /// The stage of a calibration.
    pub fn new(
        tunables: &calibration::PressureWatch<S>,
        vehicle: &calibration::Vehicle<S>,
        period: Period,
    ) -> Self {
        let steps = |time_s: S| period.steps(time_s).min(65_535) as u16;
        Self {
            track_per_radius: vehicle.track_m.over(vehicle.wheel_radius_m, S::ONE),
            nm_per_slip: vehicle.rear_slip_stiffness_n * vehicle.wheel_radius_m,
            confirm_steps: steps(S::of(CONFIRM_S)),
            heal_steps: steps(tunables.heal_s),
        }
    }

    /// Torque the rear tyres show, Nm per side, and their mean speed, rad/s: what the other clutch should pass, and what the
    /// difference of the tyres' slips says beside it. Zero where it is not all there or not to be judged.
    fn shown_nm(&self, input: &JammedIn<S>) -> (PerSide<S>, S) {
        let nothing = (PerSide::both(S::ZERO), S::ZERO);
        let (
            Sensed::Fresh(left),
            Sensed::Fresh(right),
            Sensed::Fresh(yaw_rate),
            Sensed::Fresh(lateral),
        ) = (
            input.rear_rad_s.left,
            input.rear_rad_s.right,
            input.yaw_rate_rad_s,
            input.lateral_m_s2,
        )
        else {
            return nothing;
        };
        let calm = lateral.magnitude() < S::of(CALM_M_S2);
        if !(calm && input.forward_m_s > S::of(SLOW_M_S)) || input.braked {
            return nothing;
        }
        let mean_rad_s = (left + right) * S::HALF;
        let apart = (right - left) - yaw_rate * self.track_per_radius;
        let difference_nm = apart.over(mean_rad_s, S::ZERO) * self.nm_per_slip;
        // A clutch that stands carries what the wheels make it carry, either way: the case against the other one's jam counts.
        let slip = input.clutch_slip_rad_s.map(|slip| slip.or(S::ZERO));
        let least = |slip: S, expected_nm: S, capacity_nm: S, lock_nm: S| {
            if !is_held(slip) {
                expected_nm
            } else if lock_nm > S::ZERO {
                -capacity_nm
            } else {
                capacity_nm
            }
        };
        let (expected, capacity, lock) =
            (input.expected_nm, input.capacity_nm, input.lock_torque_nm);
        let shown_nm = PerSide {
            left: least(slip.right, expected.right, capacity.right, lock.left) - difference_nm,
            right: least(slip.left, expected.left, capacity.left, lock.right) + difference_nm,
        };
        (shown_nm, mean_rad_s)
    }

    #[cold]
    #[inline(never)]
    fn judge(&self, state: &mut PerSide<Debounce>, input: &JammedIn<S>) {
        let (shown_nm, mean_rad_s) = self.shown_nm(input);
        // A wheel that turns against its shaft the other way than its lock would pull says that a radius is not what it is taken for.
        let told = input
            .clutch_slip_rad_s
            .zip(input.lock_torque_nm, |slip, lock_nm| {
                let slip = slip.or(S::ZERO);
                is_held(slip) || slip * lock_nm > S::ZERO
            });
        let told = told.left && told.right;
        let side = |state: &mut Debounce,
                    slip: Sensed<S>,
                    capacity_nm: S,
                    lock_nm: S,
                    shown_nm: S,
                    latched: bool| {
            // Not heard says neither.
            let (is_held, turns) = match slip {
                Sensed::Fresh(slip) => (is_held(slip), slip.magnitude() > S::of(SLIPS_RAD_S)),
                Sensed::Held { .. } | Sensed::Lost => (false, false),
            };
            let would_slip_rad_s = lock_nm.magnitude().over(self.nm_per_slip, S::ZERO) * mean_rad_s;
            let seen = told
                && is_held
                && capacity_nm < S::of(OPEN_NM)
                && lock_nm.magnitude() > capacity_nm + S::of(LOCK_NM)
                && would_slip_rad_s > S::of(SLIPS_RAD_S)
                && shown_nm.magnitude() > capacity_nm + S::of(SHOWN_NM)
                && shown_nm * lock_nm > S::ZERO;
            // A finding is kept while nothing speaks against it; a suspicion ends with the first step that shows nothing.
            if !state.confirmed || seen || (turns && !latched) {
                let (confirm, heal) = (u32::from(self.confirm_steps), u32::from(self.heal_steps));
                state.step(seen, confirm, heal);
            }
        };
        side(
            &mut state.left,
            input.clutch_slip_rad_s.left,
            input.capacity_nm.left,
            input.lock_torque_nm.left,
            shown_nm.left,
            input.latched.left,
        );
        side(
            &mut state.right,
            input.clutch_slip_rad_s.right,
            input.capacity_nm.right,
            input.lock_torque_nm.right,
            shown_nm.right,
            input.latched.right,
        );
    }
}

/// Whether a wheel keeps the shaft's speed.
fn is_held<S: Scalar>(slip_rad_s: S) -> bool {
    slip_rad_s.magnitude() < S::of(HELD_RAD_S)
}

impl<S: Scalar> Stage<S> for JammedWatch<S> {
    type In = JammedIn<S>;
    type Out = PerSide<bool>;
    type State = PerSide<Debounce>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, _period_s: S) -> Self::Out {
        let held = |slip: Sensed<S>, capacity_nm: S| {
            is_held(slip.or(S::ONE)) && capacity_nm < S::of(OPEN_NM)
        };
        let (slip, capacity) = (input.clutch_slip_rad_s, input.capacity_nm);
        // The ordinary case: nothing is suspected, and no clutch commanded open keeps the shaft's speed.
        let quiet = *state == PerSide::default();
        if !quiet || held(slip.left, capacity.left) || held(slip.right, capacity.right) {
            // A copy of its own: what is lent must lie in memory.
            self.judge(state, &{ *input });
        }
        PerSide {
            left: state.left.confirmed,
            right: state.right.confirmed,
        }
    }
}
