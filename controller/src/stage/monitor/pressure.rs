//! Commanded against measured clutch pressure: a clutch that does not open, does not close, or leaks.
//!
//! In: measured pressures, commanded ones of the step before, rear wheel speeds. Out: named faults, which side must be
//! released, and the torque a clutch passes that should not. What pressure may be lies between two envelopes of the command: the
//! upper rises at once and falls with a lag, the lower the other way round; both are slower in cold oil. Outside them by more than a
//! tolerance for `high_confirm_s` or `low_confirm_s` counts; `heal_s` of agreement forgets; what stood `latch_s` altogether stays
//! until the next start. A car without the sensors is never judged. A clutch jammed by its plates ([`super::jammed`]) is told by the wheels,
//! with or without sensors: it counts as one that does not open.
//!
//! A sensor alone never closes the other clutch: the torque to match is the smaller of what the pressure gives and of what
//! the rear wheels show, `T = T_other + (difference of wheel speeds - yaw rate * track / r) * r * C_slip / w`, for a driven tyre
//! slips in proportion to its torque; of a jammed clutch the pressure gives nothing, and the wheels alone say it. It is faded out at low speed and with steering, and gone with anti-lock braking.
//! Source of the reaction: a car that drives on with one clutch stuck full and the other open drifts about a metre a second;
//! with both alike hardly. Limits: a valve that sticks where it was is found once the command moves away from it; the sign of
//! the torque is not judged, the caller matches only where both clutches pull the same way.

use super::{Fault, FaultSet};
use crate::calibration::{self, ActuationTunables};
use crate::numerics::Scalar;
use crate::numerics::filter::{Debounce, lag_share};
use crate::numerics::table::{fade_in, fade_out};
use crate::quantity::{PerSide, Period, Sensed};
use crate::stage::Stage;

/// More than a jammed clutch could pass, Nm: the wheels alone say how much it does.
const JAMMED_NM: f32 = 10_000.0;

/// What the checks look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureIn<S> {
    /// Measured pressures, bar.
    pub measured_bar: PerSide<Sensed<S>>,
    /// Pressures commanded one step ago, bar.
    pub commanded_bar: PerSide<S>,
    /// Oil temperature, degC.
    pub oil_degc: S,
    /// Rear wheel speeds, rad/s.
    pub rear_rad_s: PerSide<Sensed<S>>,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Torque each clutch should pass by now, Nm, positive driving.
    pub expected_nm: PerSide<S>,
    /// Speed, m/s.
    pub speed_m_s: S,
    /// Size of the road-wheel angle of the last step, rad.
    pub road_wheel_rad: S,
    /// Whether anti-lock braking asks the axle to let go.
    pub anti_lock_active: bool,
    /// Clutches that the wheels show to be jammed closed.
    pub jammed: PerSide<bool>,
}

/// What was found.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PressureOut<S> {
    /// Faults of both sides.
    pub faults: FaultSet,
    /// Sides to be released.
    pub release: PerSide<bool>,
    /// Torque a released clutch passes by its pressure, or a jammed one by the wheels, Nm; heat is made by it.
    pub passed_nm: PerSide<S>,
    /// Capacity each clutch should hold to match the other one, Nm.
    pub match_nm: PerSide<S>,
}

/// Memory of one side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SideState<S> {
    /// Most pressure that can still be there, bar.
    pub upper_bar: S,
    /// Least pressure that must be there already, bar.
    pub lower_bar: S,
    /// More than the upper envelope.
    pub high: Debounce,
    /// Less than the lower one.
    pub low: Debounce,
    /// Steps any finding stood, since the start.
    pub stood_steps: u32,
    /// Steps with too much pressure on end since it was found.
    pub stuck_steps: u16,
    /// Whether the pressure never came at all when the low one was found.
    pub stuck_open: bool,
    /// Whether the sensor was ever heard.
    pub heard: bool,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PressureWatch<S> {
    /// Its calibration.
    pub tunables: calibration::PressureWatch<S>,
    cold_oil_degc: S,
    warm_oil_degc: S,
    share_warm: S,
    share_cold: S,
    spring_bar: S,
    nm_per_bar: S,
    track_per_radius: S,
    nm_per_slip: S,
    latch_steps: u32,
    high_steps: u16,
    low_steps: u16,
    stuck_steps: u16,
    heal_steps: u16,
}

impl<S: Scalar> PressureWatch<S> {
    /// The stage of a calibration.
    pub fn new(
        tunables: calibration::PressureWatch<S>,
        actuation: &ActuationTunables<S>,
        vehicle: &calibration::Vehicle<S>,
        oil: &calibration::SlipPower<S>,
        period: Period,
    ) -> Self {
        let share = |slower: S| lag_share(tunables.follow_s * slower, period.seconds());
        let steps = |time_s: S| period.steps(time_s).min(65_535) as u16;
        let newton_per_bar = actuation.piston_area_m2 * S::of(1.0e5);
        Self {
            tunables,
            cold_oil_degc: oil.cold_oil_degc,
            warm_oil_degc: oil.warm_oil_degc,
            share_warm: share(S::ONE),
            share_cold: share(oil.cold_lag_factor),
            spring_bar: actuation.return_spring_n.over(newton_per_bar, S::ZERO),
            nm_per_bar: newton_per_bar
                * actuation.faces
                * actuation.friction
                * actuation.effective_radius_m,
            track_per_radius: vehicle.track_m.over(vehicle.wheel_radius_m, S::ONE),
            nm_per_slip: vehicle.rear_slip_stiffness_n * vehicle.wheel_radius_m,
            latch_steps: period.steps(tunables.latch_s),
            high_steps: steps(tunables.high_confirm_s),
            low_steps: steps(tunables.low_confirm_s),
            stuck_steps: steps(tunables.stuck_s),
            heal_steps: steps(tunables.heal_s),
        }
    }

    /// Sides whose findings stood so long that they never heal.
    pub fn latched(&self, state: &PerSide<SideState<S>>) -> PerSide<bool> {
        PerSide {
            left: self.is_latched(&state.left),
            right: self.is_latched(&state.right),
        }
    }

    fn is_latched(&self, side: &SideState<S>) -> bool {
        side.stood_steps >= self.latch_steps
    }

    /// One side; whether it must be released.
    #[inline(always)]
    fn side(
        &self,
        state: &mut SideState<S>,
        measured: Sensed<S>,
        commanded_bar: S,
        share: S,
        jammed: bool,
    ) -> bool {
        let tune = &self.tunables;
        // Not a number counts as full command below and as none above: then nothing is judged.
        let upper = state.upper_bar + (commanded_bar - state.upper_bar) * share;
        state.upper_bar = upper.most(commanded_bar).most(S::ZERO);
        let lower = state.lower_bar + (commanded_bar - state.lower_bar) * share;
        state.lower_bar = lower.least(commanded_bar).most(S::ZERO);
        let heal_steps = if self.is_latched(state) {
            u32::MAX
        } else {
            u32::from(self.heal_steps)
        };
        if let Sensed::Fresh(bar) = measured {
            state.heard = true;
            let wide = S::ONE + tune.tolerance_share;
            let narrow = S::ONE - tune.tolerance_share;
            let too_high = bar > state.upper_bar * wide + tune.tolerance_bar;
            let too_low = bar < state.lower_bar * narrow - tune.tolerance_bar;
            let was_low = state.low.confirmed;
            let high = state
                .high
                .step(too_high, u32::from(self.high_steps), heal_steps);
            let low = state
                .low
                .step(too_low, u32::from(self.low_steps), heal_steps);
            if low && !was_low {
                state.stuck_open = bar < state.lower_bar * tune.open_share;
            }
            state.stuck_steps = if !high {
                0
            } else if too_high {
                state.stuck_steps.saturating_add(1)
            } else {
                state.stuck_steps
            };
        }
        let found = state.high.confirmed || state.low.confirmed || jammed;
        if found {
            state.stood_steps = state.stood_steps.saturating_add(1);
        }
        found
    }

    /// Torque a released clutch passes by its pressure, Nm.
    fn passed_nm(&self, released: bool, measured: Sensed<S>) -> S {
        if released && !measured.is_lost() {
            ((measured.or(S::ZERO) - self.spring_bar) * self.nm_per_bar).most(S::ZERO)
        } else {
            S::ZERO
        }
    }

    /// What each clutch should hold to match the other one. Apart, so that a healthy axle does not carry its cost.
    #[cold]
    #[inline(never)]
    fn matched(&self, input: &PressureIn<S>, passed_nm: PerSide<S>) -> PerSide<S> {
        let tune = &self.tunables;
        let (Sensed::Fresh(left), Sensed::Fresh(right), Sensed::Fresh(yaw_rate)) = (
            input.rear_rad_s.left,
            input.rear_rad_s.right,
            input.yaw_rate_rad_s,
        ) else {
            return PerSide::both(S::ZERO);
        };
        if input.anti_lock_active {
            return PerSide::both(S::ZERO);
        }
        let rolling = fade_in(
            input.speed_m_s,
            tune.match_speed_m_s * S::HALF,
            tune.match_speed_m_s,
        );
        let straight = fade_out(
            input.road_wheel_rad.magnitude(),
            tune.match_steer_rad * S::HALF,
            tune.match_steer_rad,
        );
        // Right minus left, as the tyres slip beyond what the turn explains.
        let slip = ((right - left) - yaw_rate * self.track_per_radius)
            .over((left + right) * S::HALF, S::ZERO);
        let shown = slip * self.nm_per_slip;
        let seen = PerSide {
            left: input.expected_nm.right - shown,
            right: input.expected_nm.left + shown,
        };
        let believed = passed_nm.zip(seen, |passed, seen| {
            let seen = seen.magnitude() * tune.match_share;
            if seen > tune.match_least_nm {
                passed.least(seen) * (rolling * straight)
            } else {
                S::ZERO
            }
        });
        believed.mirrored()
    }

    #[cold]
    #[inline(never)]
    fn faults(&self, state: &PerSide<SideState<S>>, input: &PressureIn<S>) -> FaultSet {
        let stuck = |side: &SideState<S>| side.stuck_steps >= self.stuck_steps;
        let names = |set: FaultSet, side: &SideState<S>, lost, jammed, names: [Fault; 5]| {
            let [high, closed, leak, open, sensor] = names;
            set.with(high, side.high.confirmed)
                .with(closed, side.high.confirmed && stuck(side) || jammed)
                .with(leak, side.low.confirmed && !side.stuck_open)
                .with(open, side.low.confirmed && side.stuck_open)
                .with(sensor, side.heard && lost)
        };
        let (lost, jammed) = (input.measured_bar.map(Sensed::is_lost), input.jammed);
        let set = names(
            FaultSet::default(),
            &state.left,
            lost.left,
            jammed.left,
            Fault::CLUTCH_LEFT,
        );
        names(
            set,
            &state.right,
            lost.right,
            jammed.right,
            Fault::CLUTCH_RIGHT,
        )
    }
}

impl<S: Scalar> Stage<S> for PressureWatch<S> {
    type In = PressureIn<S>;
    type Out = PressureOut<S>;
    type State = PerSide<SideState<S>>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, _period_s: S) -> Self::Out {
        let measured = input.measured_bar;
        let jammed = input.jammed;
        let unheard = !(state.left.heard || state.right.heard || jammed.left || jammed.right);
        if unheard && measured.left.is_lost() && measured.right.is_lost() {
            return PressureOut::default();
        }
        let cold = fade_out(input.oil_degc, self.cold_oil_degc, self.warm_oil_degc);
        let share = self.share_warm + (self.share_cold - self.share_warm) * cold;
        let commanded = input.commanded_bar;
        let release = PerSide {
            left: self.side(
                &mut state.left,
                measured.left,
                commanded.left,
                share,
                jammed.left,
            ),
            right: self.side(
                &mut state.right,
                measured.right,
                commanded.right,
                share,
                jammed.right,
            ),
        };
        let lost = |side: &SideState<S>, measured: Sensed<S>| side.heard && measured.is_lost();
        let silent = lost(&state.left, measured.left) || lost(&state.right, measured.right);
        let mut passed_nm = release.zip(measured, |released, bar| self.passed_nm(released, bar));
        // Only a clutch that passes too much is matched; one that leaks passes less the longer it is released.
        let surplus_nm = PerSide {
            left: (passed_nm.left, state.left.high.confirmed),
            right: (passed_nm.right, state.right.high.confirmed),
        }
        .map(|(passed, high)| if high { passed } else { S::ZERO })
        .zip(
            jammed,
            |passed, jammed| {
                if jammed { S::of(JAMMED_NM) } else { passed }
            },
        );
        let any = surplus_nm.left > S::ZERO || surplus_nm.right > S::ZERO;
        let match_nm = if any {
            // A copy of its own: what is lent must lie in memory.
            self.matched(&{ *input }, surplus_nm)
        } else {
            PerSide::both(S::ZERO)
        };
        // The second channel lets the other clutch hold what is passed.
        if jammed.left {
            passed_nm.left = passed_nm.left.most(match_nm.right);
        }
        if jammed.right {
            passed_nm.right = passed_nm.right.most(match_nm.left);
        }
        PressureOut {
            faults: if release.left || release.right || silent {
                self.faults(state, &{ *input })
            } else {
                FaultSet::default()
            },
            release,
            passed_nm,
            match_nm,
        }
    }
}
