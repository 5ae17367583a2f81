//! A clutch jammed closed by its plates: its pressure is as commanded, and it carries torque all the same.
//!
//! In: [`JammedIn`], wheel speeds, yaw rate and what was commanded. Out: which clutch does not open. Pressure cannot show it; the
//! wheels do, twice. A wheel that is let go turns slower than the shaft by the overspeed and by the way it goes in the turn: it must
//! not keep the shaft's speed where its lock would ask for torque (`LOCK_NM`) and for slip (`SLIPS_RAD_S`). And its tyre slips beside the
//! other rear tyre as only a driven or dragged one does, by `SHOWN_NM` more than little command (`OPEN_NM`) can make. The first
//! witness is wrong where a radius is, the second where one side's grip is; both together for `CONFIRM_S` count, unless the other wheel
//! turns to the wrong side of the shaft's speed and so says that a radius is wrong. One small rear tyre deceives both: so until the radii are
//! learned a suspicion begins only in the 0.1 s after the clutch turned (`FREE_PART`). A clutch that
//! turns against its shaft is not jammed: so for `pressure_watch.heal_s` it is forgotten, unless it stood as long as any finding
//! that stays. Where neither is seen nothing is judged, and a finding keeps its state.
//!
//! A clutch that is closed and stands may carry its whole capacity either way, so beside one a jam is told only if the tyres show more.
//!
//! Limits: not judged below about 8 m/s, under brake or brake control, and above `CALM_M_S2`, where an inner wheel may be in the air and
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

/// For this part of that time before it must have turned where the radii are not learned yet, 0.1 s: a jam is there within less.
const FREE_PART: u16 = 6;

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
    /// Rear radii, right beyond left, as a share of their mean, as far as it is learned.
    pub rear_right_to_left: S,
    /// Whether the radii are learned.
    pub radii_known: bool,
    /// Sides whose findings stood so long that they stay.
    pub latched: PerSide<bool>,
}

/// Memory of one side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct JammedSide {
    /// Steps towards the finding, or towards forgetting it.
    pub count: u16,
    /// Whether the clutch counts as jammed.
    pub jammed: bool,
    /// Steps for which it counts that the clutch turned.
    pub free_steps: u8,
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
        let slips = apart.over(mean_rad_s, S::ZERO) + input.rear_right_to_left;
        let difference_nm = slips * self.nm_per_slip;
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

    /// Whether any clutch keeps the shaft's speed that should not, side by side.
    #[cold]
    #[inline(never)]
    fn judge(&self, state: &mut PerSide<JammedSide>, input: &JammedIn<S>) {
        let (shown_nm, mean_rad_s) = self.shown_nm(input);
        // A wheel that turns against its shaft the other way than its lock would pull says that a radius is not what it is taken for.
        let told = input
            .clutch_slip_rad_s
            .zip(input.lock_torque_nm, |slip, lock_nm| {
                let slip = slip.or(S::ZERO);
                is_held(slip) || slip * lock_nm > S::ZERO
            });
        let told = told.left && told.right;
        let held = |slip: Sensed<S>, capacity_nm: S, lock_nm: S, shown_nm: S| {
            let would_slip_rad_s = lock_nm.magnitude().over(self.nm_per_slip, S::ZERO) * mean_rad_s;
            told && slip.is_fresh()
                && is_held(slip.or(S::ONE))
                && capacity_nm < S::of(OPEN_NM)
                && lock_nm.magnitude() > capacity_nm + S::of(LOCK_NM)
                && would_slip_rad_s > S::of(SLIPS_RAD_S)
                && shown_nm.magnitude() > capacity_nm + S::of(SHOWN_NM)
                && shown_nm * lock_nm > S::ZERO
        };
        let (slip, capacity, lock) = (
            input.clutch_slip_rad_s,
            input.capacity_nm,
            input.lock_torque_nm,
        );
        let left = held(slip.left, capacity.left, lock.left, shown_nm.left);
        let right = held(slip.right, capacity.right, lock.right, shown_nm.right);
        let (known, latched) = (input.radii_known, input.latched);
        self.count(&mut state.left, slip.left, left, known, latched.left);
        self.count(&mut state.right, slip.right, right, known, latched.right);
    }

    /// One side; `held` by both witnesses.
    fn count(
        &self,
        state: &mut JammedSide,
        slip: Sensed<S>,
        held: bool,
        radii_known: bool,
        latched: bool,
    ) {
        // Where a radius is not learned yet the wheel must just have turned freely: a radius does not change from metre to metre.
        let begins = radii_known || state.free_steps > 0 || state.count > 0;
        let seen = held && (begins || state.jammed);
        self.note_free(state, slip);
        // A finding is kept while nothing speaks against it; a suspicion ends with the first step that shows nothing.
        if state.jammed && !seen && (latched || !turns(slip)) {
            return;
        }
        let mut debounce = Debounce {
            count: state.count,
            confirmed: state.jammed,
        };
        let (confirm, heal) = (u32::from(self.confirm_steps), u32::from(self.heal_steps));
        state.jammed = debounce.step(seen, confirm, heal);
        state.count = debounce.count;
    }

    fn note_free(&self, state: &mut JammedSide, slip: Sensed<S>) {
        state.free_steps = if turns(slip) {
            (self.confirm_steps / FREE_PART).min(255) as u8
        } else {
            state.free_steps.saturating_sub(1)
        };
    }
}

/// Whether a clutch surely turns.
fn turns<S: Scalar>(slip: Sensed<S>) -> bool {
    slip.is_fresh() && slip.or(S::ZERO).magnitude() > S::of(SLIPS_RAD_S)
}

/// Whether a wheel keeps the shaft's speed.
fn is_held<S: Scalar>(slip_rad_s: S) -> bool {
    slip_rad_s.magnitude() < S::of(HELD_RAD_S)
}

impl<S: Scalar> Stage<S> for JammedWatch<S> {
    type In = JammedIn<S>;
    type Out = PerSide<bool>;
    type State = PerSide<JammedSide>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, _period_s: S) -> Self::Out {
        // The ordinary case: nothing is suspected, and no clutch commanded open keeps the shaft's speed.
        let ordinary = |side: &JammedSide, slip: Sensed<S>, capacity_nm: S| {
            !side.jammed
                && side.count == 0
                && !(capacity_nm < S::of(OPEN_NM) && is_held(slip.or(S::ONE)))
        };
        let (slip, capacity) = (input.clutch_slip_rad_s, input.capacity_nm);
        if ordinary(&state.left, slip.left, capacity.left)
            && ordinary(&state.right, slip.right, capacity.right)
        {
            self.note_free(&mut state.left, slip.left);
            self.note_free(&mut state.right, slip.right);
            return PerSide::both(false);
        }
        // A copy of its own: what is lent must lie in memory.
        self.judge(state, &{ *input });
        PerSide {
            left: state.left.jammed,
            right: state.right.jammed,
        }
    }
}
