//! What the clutches teach while they are used: touch point, and pressure per current of the valve.
//!
//! In: commanded and measured pressure, rear wheel speeds, yaw rate. Out: the learned values of the actuation, moved by
//! limited steps inside their bounds. Looked at every [`LOOK_EVERY_S`], both sides in the same step, so that a mirror changes nothing.
//!
//! Valve, only with a pressure sensor: the more the command stands still, the more `e = measured - commanded` at the pressure p
//! moves offset a and gain g along `(1, p / p0) / (1 + (p / p0)^2)`, the normalised gradient, a little at every look. Not an event
//! a stretch with a hard threshold: there one sample more or less, a last bit in the command, moved the next launch by 35 Nm.
//! Touch point: while one clutch closes gently and the other is open, the rear tyres slip in proportion to the torque:
//! `T = (difference of wheel speeds - yaw rate * track / r - its value with both open) / w * r * C_slip`. The torque the pressure gives,
//! less this, is the error of the touch point: `e / (Nm per bar)`. Twice the torque tells how stiff the tyres are, which the touch
//! point does not hang on. With a sensor the pressure is the measured one, else the commanded one with its lag: then touch point and
//! valve offset are learned as one, and a wrong gain stays.
//!
//! Frozen: in cold oil, in any fault, while the command moves, while signals are held or lost; touch point also while braking, turning
//! hard, slow, or near stick, where the torque is not the capacity. Source: the method is common practice, no source; the steps are
//! chosen. Limits: friction is believed, so what friction makes wrong at small torque goes into the touch point, inside its bound.

use super::{ActuationTunables, Believed, State as Learned};
use crate::calibration::{self, Vehicle};
use crate::numerics::Scalar;
use crate::numerics::filter::lag_share;
use crate::quantity::{PerSide, Period, Sensed};
use crate::stage::Stage;

/// Time between two looks, s; every step where the control period is longer.
pub const LOOK_EVERY_S: f32 = 0.02;

/// Pressure at which offset and gain of a valve weigh alike, bar.
const EVEN_BAR: f32 = 6.0;

/// Looks after which a command that stands still counts whole; the first half of them counts nothing, so that a command that
/// only turns around teaches nothing.
const STILL_LOOKS: f32 = 6.0;

/// Time constant with which the rear wheels' difference with both clutches open is remembered, s.
const OPEN_MEMORY_S: f32 = 1.0;

/// Share of the way to the stiffness seen that one event goes.
const STIFFNESS_SHARE: f32 = 0.2;

/// The stiffness of the tyres is never taken further from the calibration's than this share.
const STIFFNESS_BOUND: f32 = 0.4;

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct In<S> {
    /// Pressure commanded in this step, bar.
    pub commanded_bar: PerSide<S>,
    /// Pressure measured, bar.
    pub measured_bar: PerSide<Sensed<S>>,
    /// Rear wheel speeds, rad/s.
    pub rear_rad_s: PerSide<Sensed<S>>,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Lateral specific force, m/s2.
    pub lateral_m_s2: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Speed in driving direction, m/s.
    pub forward_m_s: S,
    /// Whether each clutch slips so that its torque is its capacity, driving.
    pub drives: PerSide<bool>,
    /// Oil temperature, degC.
    pub oil_degc: S,
    /// Whether nothing at all is wrong.
    pub healthy: bool,
    /// What is known so far.
    pub learned: Learned<S>,
}

/// Memory of one side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SideState<S> {
    /// Command with the actuator's lag, bar.
    pub lagged_bar: S,
    /// How still the command has stood, 0..=1: rises over six looks, falls at once.
    pub still: S,
    /// Sum of the touch point's error in an event, bar.
    pub touch_sum_bar: S,
    /// Samples of it.
    pub touch_samples: u32,
    /// Sums of torque by pressure and by the tyres in the middle band, Nm.
    pub stiffness_sum_nm: (S, S),
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LearningState<S> {
    /// Steps since the last look.
    pub waited: u32,
    /// Both sides.
    pub sides: PerSide<SideState<S>>,
    /// The rear wheels' difference over their speed with both clutches open.
    pub open_slip: S,
    /// Samples it was seen.
    pub open_samples: u32,
    /// Stiffness of the tyres beyond the calibration's, share.
    pub stiffness_share: S,
    /// Looks that moved a valve, and events that moved a touch point.
    pub events: (u32, u32),
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LearningStage<S> {
    /// Its calibration.
    pub tunables: calibration::Learning<S>,
    touch_point_bar: S,
    look_steps: u32,
    lag_share: S,
    open_share: S,
    /// Share of `valve_event_s` that a look lasts.
    valve_look_share: S,
    touch_samples: u32,
    spring_bar: S,
    nm_per_bar: S,
    track_per_radius: S,
    nm_per_slip: S,
}

impl<S: Scalar> LearningStage<S> {
    /// The stage of a calibration; `lag_s` is dead time plus lag of the warm actuator.
    pub fn new(
        tunables: calibration::Learning<S>,
        actuation: &ActuationTunables<S>,
        vehicle: &Vehicle<S>,
        lag_s: S,
        period: Period,
    ) -> Self {
        // Whole steps not above the time, at least one.
        let look_us = (LOOK_EVERY_S * 1.0e6) as u32;
        let look_steps = look_us
            .checked_div(period.microseconds())
            .unwrap_or(1)
            .max(1);
        let look_s = period.seconds::<S>() * S::from_whole(i64::from(look_steps));
        let samples = |time_s: S| {
            let whole = time_s.over(look_s, S::ONE).to_whole().clamp(1, 1_000);
            whole as u32
        };
        let newton_per_bar = actuation.piston_area_m2 * S::of(super::PASCAL_PER_BAR);
        Self {
            tunables,
            touch_point_bar: actuation.touch_point_bar,
            look_steps,
            lag_share: lag_share(lag_s, look_s),
            open_share: lag_share(S::of(OPEN_MEMORY_S), look_s),
            valve_look_share: look_s.over(tunables.valve_event_s, S::ONE).least(S::ONE),
            touch_samples: samples(tunables.touch_event_s),
            spring_bar: actuation.return_spring_n.over(newton_per_bar, S::ZERO),
            nm_per_bar: newton_per_bar
                * actuation.faces
                * actuation.friction
                * actuation.effective_radius_m,
            track_per_radius: vehicle.track_m.over(vehicle.wheel_radius_m, S::ONE),
            nm_per_slip: vehicle.rear_slip_stiffness_n * vehicle.wheel_radius_m,
        }
    }

    /// One look at a valve: offset and gain after it, where it taught anything.
    #[inline(always)]
    fn learn_valve(
        &self,
        side: &mut SideState<S>,
        commanded_bar: S,
        measured: Sensed<S>,
        free: bool,
        before: (S, S),
    ) -> Option<(S, S)> {
        let tune = &self.tunables;
        let (Sensed::Fresh(measured_bar), true) = (measured, free) else {
            side.still = S::ZERO;
            return None;
        };
        let moving_bar = (commanded_bar - side.lagged_bar).magnitude();
        let still = S::ONE - moving_bar.over(tune.valve_settled_bar, S::ONE);
        // Written so that what is no number teaches nothing.
        side.still = (side.still + S::of(1.0 / STILL_LOOKS)).at_most(still.up_to(S::ONE));
        let counts = side.still + side.still - S::ONE;
        let above = commanded_bar.over(tune.valve_least_bar, S::ZERO) - S::ONE;
        if !(counts > S::ZERO && above > S::ZERO) {
            return None;
        }
        let share = self.valve_look_share * counts * above.least(S::ONE);
        let level = commanded_bar.over(S::of(EVEN_BAR), S::ZERO);
        let error_bar = (measured_bar - side.lagged_bar) * tune.valve_share;
        let along = error_bar.over(S::ONE + level.squared(), S::ZERO);
        let offset = along.within(-tune.valve_offset_step_bar, tune.valve_offset_step_bar);
        let gain = (along * level)
            .over(S::of(EVEN_BAR), S::ZERO)
            .within(-tune.valve_gain_step, tune.valve_gain_step);
        Some((before.0 + offset * share, before.1 + gain * share))
    }

    /// One sample of a gentle closing: error of the touch point after an event, bar.
    fn learn_touch(
        &self,
        side: &mut SideState<S>,
        stiffness_share: &mut S,
        pressure_bar: S,
        touch_point_bar: S,
        shown_nm: S,
    ) -> Option<S> {
        let tune = &self.tunables;
        let given_nm = (pressure_bar - self.spring_bar - touch_point_bar) * self.nm_per_bar;
        let seen_nm = shown_nm * (S::ONE + *stiffness_share);
        let middle_nm = tune.touch_most_nm + tune.touch_most_nm;
        if given_nm > tune.touch_most_nm && given_nm < middle_nm {
            let (given, shown) = side.stiffness_sum_nm;
            side.stiffness_sum_nm = (given + given_nm, shown + shown_nm);
        } else if given_nm > tune.touch_least_nm && given_nm <= tune.touch_most_nm {
            side.touch_sum_bar =
                side.touch_sum_bar + (given_nm - seen_nm).over(self.nm_per_bar, S::ZERO);
            side.touch_samples = side.touch_samples.saturating_add(1);
        }
        if side.touch_samples < self.touch_samples {
            return None;
        }
        let (given, shown) = side.stiffness_sum_nm;
        let bound = S::of(STIFFNESS_BOUND);
        let ratio = given.over(shown, S::ONE) - S::ONE;
        // So much torque was seen that noise does not decide.
        if given > middle_nm * S::of(4.0) {
            let way = (ratio - *stiffness_share) * S::of(STIFFNESS_SHARE);
            *stiffness_share = (*stiffness_share + way).within(-bound, bound);
        }
        let count = S::from_whole(i64::from(side.touch_samples));
        let error_bar = side.touch_sum_bar.over(count, S::ZERO) * tune.touch_share;
        forget(side);
        Some(error_bar.within(-tune.touch_step_bar, tune.touch_step_bar))
    }
}

/// An event in progress counts for nothing.
fn forget<S: Scalar>(side: &mut SideState<S>) {
    side.touch_sum_bar = S::ZERO;
    side.touch_samples = 0;
    side.stiffness_sum_nm = (S::ZERO, S::ZERO);
}

impl<S: Scalar> LearningStage<S> {
    /// The rear wheels' difference (right minus left) over their speed beyond what the turn explains, where it can be read.
    fn slip(&self, input: &In<S>) -> Option<S> {
        let (
            Sensed::Fresh(left),
            Sensed::Fresh(right),
            Sensed::Fresh(yaw_rate),
            Sensed::Fresh(lateral),
            Sensed::Fresh(brake),
        ) = (
            input.rear_rad_s.left,
            input.rear_rad_s.right,
            input.yaw_rate_rad_s,
            input.lateral_m_s2,
            input.brake_bar,
        )
        else {
            return None;
        };
        let quiet = input.forward_m_s > self.tunables.touch_speed_m_s
            && lateral.magnitude() < self.tunables.touch_lateral_m_s2
            && brake < S::ONE;
        let turn = yaw_rate * self.track_per_radius;
        quiet.then(|| ((right - left) - turn).over((left + right) * S::HALF, S::ZERO))
    }

    /// One step; what is told is asked for only where a look is due, one step in four.
    #[inline(always)]
    pub fn step_when_due(
        &self,
        state: &mut LearningState<S>,
        learned: Learned<S>,
        input: impl FnOnce() -> In<S>,
    ) -> Learned<S> {
        state.waited = state.waited.saturating_add(1);
        if state.waited < self.look_steps {
            return learned;
        }
        state.waited = 0;
        self.look(state, &input())
    }

    /// The look itself. Apart: three steps of four go without it.
    #[inline(never)]
    fn look(&self, state: &mut LearningState<S>, input: &In<S>) -> Learned<S> {
        let tune = &self.tunables;
        let mut learned = input.learned;
        let commanded = input.commanded_bar;
        let LearningState {
            sides,
            open_slip,
            open_samples,
            stiffness_share,
            events,
            ..
        } = state;
        let follow = |side: &mut SideState<S>, commanded_bar: S| {
            side.lagged_bar = side.lagged_bar + (commanded_bar - side.lagged_bar) * self.lag_share;
        };
        follow(&mut sides.left, commanded.left);
        follow(&mut sides.right, commanded.right);
        // Written so that an unknown temperature freezes.
        let free = input.healthy && input.oil_degc > tune.warm_oil_degc;
        let known = (
            (learned.valve_offset_bar.left, learned.valve_gain_share.left),
            (
                learned.valve_offset_bar.right,
                learned.valve_gain_share.right,
            ),
        );
        let measured = input.measured_bar;
        let left = self.learn_valve(
            &mut sides.left,
            commanded.left,
            measured.left,
            free,
            known.0,
        );
        let right = self.learn_valve(
            &mut sides.right,
            commanded.right,
            measured.right,
            free,
            known.1,
        );
        if let Some((offset, gain)) = left {
            learned.valve_offset_bar.left = offset;
            learned.valve_gain_share.left = gain;
            events.0 = events.0.saturating_add(1);
        }
        if let Some((offset, gain)) = right {
            learned.valve_offset_bar.right = offset;
            learned.valve_gain_share.right = gain;
            events.0 = events.0.saturating_add(1);
        }

        let closed = |side: &SideState<S>, commanded_bar: S| {
            commanded_bar > S::ZERO || side.lagged_bar > self.spring_bar * S::HALF
        };
        let closed = (
            closed(&sides.left, commanded.left),
            closed(&sides.right, commanded.right),
        );
        match self.slip(input).filter(|_| free) {
            Some(slip) if !closed.0 && !closed.1 => {
                *open_slip = *open_slip + (slip - *open_slip) * self.open_share;
                *open_samples = open_samples.saturating_add(1);
                forget(&mut sides.left);
                forget(&mut sides.right);
            }
            Some(slip) if closed.0 != closed.1 && *open_samples >= self.touch_samples => {
                let shown_nm = (slip - *open_slip) * self.nm_per_slip;
                let (side, touch, drives, bar, sensed, shown_nm) = if closed.0 {
                    let touch = &mut learned.touch_point_bar.left;
                    (
                        &mut sides.left,
                        touch,
                        input.drives.left,
                        commanded.left,
                        measured.left,
                        -shown_nm,
                    )
                } else {
                    let touch = &mut learned.touch_point_bar.right;
                    (
                        &mut sides.right,
                        touch,
                        input.drives.right,
                        commanded.right,
                        measured.right,
                        shown_nm,
                    )
                };
                let gentle = (bar - side.lagged_bar).magnitude() < tune.valve_settled_bar;
                if drives && gentle {
                    let pressure_bar = match sensed {
                        Sensed::Fresh(measured_bar) => measured_bar,
                        _ => side.lagged_bar,
                    };
                    let step =
                        self.learn_touch(side, stiffness_share, pressure_bar, *touch, shown_nm);
                    if let Some(error_bar) = step {
                        *touch = *touch + error_bar;
                        events.1 = events.1.saturating_add(1);
                    }
                }
            }
            Some(_) => {}
            None => *open_samples = 0,
        }
        learned.bounded(&Believed {
            touch_point_bar: self.touch_point_bar,
            valve_offset_bar: self.tunables.valve_offset_bar,
            valve_gain_share: self.tunables.valve_gain_share,
        })
    }
}

impl<S: Scalar> Stage<S> for LearningStage<S> {
    type In = In<S>;
    type Out = Learned<S>;
    type State = LearningState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, _period_s: S) -> Self::Out {
        self.step_when_due(state, input.learned, || *input)
    }
}
