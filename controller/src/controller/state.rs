//! Everything the controller remembers, the one-step delays among it.

use super::laws::{Interpret, Refer};
use super::{Controller, watch};
use crate::numerics::{Real, Scalar};
use crate::quantity::{PerSide, Sensed, Tick};
use crate::signal::{Inputs, Limit, Outputs};
use crate::stage::Stage;
use crate::stage::actuation;
use crate::stage::actuation::learning::LearningState;
use crate::stage::arbiter::Allocate;
use crate::stage::authority::AuthorityState;
use crate::stage::conditioning::{Conditioned, Kept};
use crate::stage::driver_intent::DriverIntentState;
use crate::stage::guardian;
use crate::stage::monitor::MonitorState;
use crate::stage::monitor::jammed::JammedSide;
use crate::stage::monitor::pressure;
use crate::stage::thermal;
use crate::stage::traction::TractionState;
use crate::stage::vehicle_state::VehicleStateState;
use crate::stage::yaw_control::YawControlState;
use crate::stage::yaw_reference::YawReferenceState;

/// Values a stage takes from the step before: all one-step delays of the law.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Delayed<S> {
    /// Torque expected on each rear wheel, Nm: vehicle state and monitor.
    pub torque_nm: PerSide<S>,
    /// Capacity commanded, Nm: authority's rate bound.
    pub capacity_nm: PerSide<S>,
    /// Pressure commanded, bar: watch of the pressures.
    pub pressure_bar: PerSide<S>,
    /// Road-wheel angle, rad: watch of the pressures.
    pub road_wheel_rad: S,
    /// Speed, m/s: monitor.
    pub speed_m_s: S,
    /// Yaw moment wanted and not granted, Nm: yaw control's anti-windup.
    pub shortfall_nm: S,
    /// Whether a closed clutch stuck: yaw control's integrator.
    pub stuck: bool,
    /// Shares of capacity left by heat: authority.
    pub heat_ceiling: PerSide<S>,
    /// What set them: authority.
    pub heat_by: PerSide<Limit>,
    /// Oil temperature, degC: authority and actuation.
    pub oil_degc: S,
    /// Core temperatures, degC: actuation.
    pub core_degc: PerSide<S>,
    /// Slip heat, W: price of torque in the allocation.
    pub heat_w: PerSide<S>,
}

/// What the master or the driver last ordered: it stays in force when its channel is lost. Kept up while something is missing; as long as
/// nothing is, the readings themselves say it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LastKnown<S> {
    /// Master's cap on the rear torque, Nm.
    pub rear_torque_cap_nm: Sensed<S>,
    /// Master's cap on the yaw moment, Nm.
    pub yaw_moment_cap_nm: Sensed<S>,
    /// Anti-lock braking.
    pub anti_lock_active: Sensed<S>,
    /// Stability control.
    pub stability_active: Sensed<S>,
    /// Brake pressure, bar: a brake that was pressed when its signal went away counts as pressed.
    pub brake_bar: Sensed<S>,
}

impl<S: Scalar> LastKnown<S> {
    /// What these inputs say.
    #[inline(always)]
    pub(super) fn of(seen: &Conditioned<S>) -> Self {
        Self {
            rear_torque_cap_nm: seen.rear_torque_cap_nm,
            yaw_moment_cap_nm: seen.yaw_moment_cap_nm,
            anti_lock_active: seen.anti_lock_active,
            stability_active: seen.stability_active,
            brake_bar: seen.brake_bar,
        }
    }

    /// As it is remembered.
    fn kept(&self) -> Remembered<S> {
        let known = |sensed: Sensed<S>| match sensed {
            Sensed::Fresh(value) | Sensed::Held { value, .. } => Some(value),
            Sensed::Lost => None,
        };
        let all = [
            self.rear_torque_cap_nm,
            self.yaw_moment_cap_nm,
            self.anti_lock_active,
            self.stability_active,
            self.brake_bar,
        ];
        let mut kept = Remembered::default();
        let mut bit = 1_u8;
        for (place, sensed) in kept.values.iter_mut().zip(all) {
            if let Some(value) = known(sensed) {
                *place = value;
                kept.known |= bit;
            }
            bit = bit.wrapping_shl(1);
        }
        kept
    }

    /// What these inputs say, and where one is lost what was known before.
    pub(super) fn followed_by(self, seen: &Conditioned<S>) -> Self {
        let last = |now: Sensed<S>, before: Sensed<S>| if now.is_lost() { before } else { now };
        Self {
            rear_torque_cap_nm: last(seen.rear_torque_cap_nm, self.rear_torque_cap_nm),
            yaw_moment_cap_nm: last(seen.yaw_moment_cap_nm, self.yaw_moment_cap_nm),
            anti_lock_active: last(seen.anti_lock_active, self.anti_lock_active),
            stability_active: last(seen.stability_active, self.stability_active),
            brake_bar: last(seen.brake_bar, self.brake_bar),
        }
    }
}

/// [`LastKnown`] as it is remembered: how old an order is does not matter, only whether there ever was one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Remembered<S> {
    values: [S; 5],
    /// One bit for each that was ever known.
    known: u8,
}

impl<S: Scalar> Remembered<S> {
    fn told(&self) -> LastKnown<S> {
        let [cap, moment, anti_lock, stability, brake] = self.values;
        let one = |value: S, bit: u8| {
            if self.known & bit == 0 {
                Sensed::Lost
            } else {
                Sensed::Fresh(value)
            }
        };
        LastKnown {
            rear_torque_cap_nm: one(cap, 1),
            yaw_moment_cap_nm: one(moment, 2),
            anti_lock_active: one(anti_lock, 4),
            stability_active: one(stability, 8),
            brake_bar: one(brake, 16),
        }
    }
}

/// Everything the controller remembers: copy it to replay or to compare. `R` and `I` are what the laws of yaw reference and
/// driver intent remember.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControllerState<S, R = YawReferenceState<S>, I = DriverIntentState<S>> {
    /// Steps done.
    pub tick: Tick,
    /// One-step delays.
    pub delayed: Delayed<S>,
    /// Conditioning.
    pub conditioning: Kept<S>,
    /// Orders as last known.
    pub last_known: Remembered<S>,
    /// Pressures measured at the clutches, bar.
    pub clutch_pressure_bar: PerSide<Sensed<S>>,
    /// Monitor.
    pub monitor: MonitorState<S>,
    /// Watch of the pressures.
    pub pressure: PerSide<pressure::SideState<S>>,
    /// Watch for clutches jammed closed.
    pub jammed: PerSide<JammedSide>,
    /// Vehicle state.
    pub vehicle_state: VehicleStateState<S>,
    /// Driver intent.
    pub driver_intent: I,
    /// Yaw reference.
    pub yaw_reference: R,
    /// Yaw control.
    pub yaw_control: YawControlState<S>,
    /// Traction: what front spin called for.
    pub traction: TractionState<S>,
    /// Authority: sign memory.
    pub authority: AuthorityState<S>,
    /// Guardian.
    pub guardian: guardian::State,
    /// Actuation: touch points and valves.
    pub actuation: actuation::State<S>,
    /// Learning of them: events in progress.
    pub learning: LearningState<S>,
    /// Thermal: the energy ledger.
    pub thermal: thermal::State<S>,
}

impl<S: Real, R: Default, I: Default> ControllerState<S, R, I> {
    /// The state before the first step.
    #[inline(always)]
    pub fn at_rest() -> Self {
        Self {
            tick: Tick::default(),
            delayed: Delayed {
                heat_ceiling: PerSide::both(S::ONE),
                ..Delayed::default()
            },
            conditioning: Kept::default(),
            last_known: Remembered::default(),
            clutch_pressure_bar: PerSide::default(),
            monitor: MonitorState::default(),
            pressure: PerSide::default(),
            jammed: PerSide::default(),
            vehicle_state: VehicleStateState::default(),
            driver_intent: I::default(),
            yaw_reference: R::default(),
            yaw_control: YawControlState::default(),
            traction: TractionState::default(),
            authority: AuthorityState::default(),
            guardian: guardian::State::default(),
            actuation: actuation::State::default(),
            learning: LearningState::default(),
            thermal: thermal::State::default(),
        }
    }
}

impl<S: Real, A: Allocate<S>, R: Refer<S>, I: Interpret<S>> Controller<S, A, R, I> {
    /// What the inputs say, and the orders as last known.
    #[inline(always)]
    pub(super) fn seen(&mut self, inputs: &Inputs) -> (Conditioned<S>, LastKnown<S>) {
        let before = &self.state.conditioning;
        match self.stages.conditioning.all_fresh(before, inputs) {
            Some(seen) => {
                self.state.conditioning = Kept::AllFresh(*inputs);
                (seen, LastKnown::of(&seen))
            }
            None => self.seen_apart(inputs),
        }
    }

    #[cold]
    #[inline(never)]
    fn seen_apart(&mut self, inputs: &Inputs) -> (Conditioned<S>, LastKnown<S>) {
        self.seen_in_doubt(inputs)
    }

    /// The same where something is missing.
    #[inline(always)]
    pub(super) fn seen_in_doubt(&mut self, inputs: &Inputs) -> (Conditioned<S>, LastKnown<S>) {
        let period_s = self.period.seconds::<S>();
        let state = &mut self.state;
        if let Kept::AllFresh(_) = state.conditioning {
            state.last_known = LastKnown::of(&state.conditioning.seen()).kept();
        }
        let seen = self
            .stages
            .conditioning
            .step(&mut state.conditioning, inputs, period_s);
        let known = state.last_known.told().followed_by(&seen);
        state.last_known = known.kept();
        (seen, known)
    }

    /// Apart, so that a step in which nothing is missing is compiled without a question what to do if it were.
    #[cold]
    #[inline(never)]
    pub(super) fn find_in_doubt(
        &mut self,
        inputs: &Inputs,
        request: impl FnOnce(PerSide<S>) -> PerSide<S>,
    ) -> Outputs {
        let (mut seen, known) = self.seen_in_doubt(inputs);
        if !self.watch_over(&seen) {
            watch::doubt(&mut seen, self.trace.verdict.faults);
        }
        self.find_apart(inputs, &seen, &known, request)
    }

    /// What is seen is made of the readings anew: what the other way keeps in registers is lent to no function.
    #[cold]
    #[inline(never)]
    pub(super) fn find_in_disbelief(
        &mut self,
        inputs: &Inputs,
        request: impl FnOnce(PerSide<S>) -> PerSide<S>,
    ) -> Outputs {
        let mut seen = Conditioned::fresh(inputs);
        let known = LastKnown::of(&seen);
        watch::doubt(&mut seen, self.trace.verdict.faults);
        self.find_apart(inputs, &seen, &known, request)
    }

    #[cold]
    #[inline(never)]
    fn find_apart(
        &mut self,
        inputs: &Inputs,
        seen: &Conditioned<S>,
        known: &LastKnown<S>,
        request: impl FnOnce(PerSide<S>) -> PerSide<S>,
    ) -> Outputs {
        self.find(inputs, seen, known, request)
    }
}
