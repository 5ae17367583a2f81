//! The wiring of one control step, read top to bottom.
//!
//! Order: conditioning, monitor, vehicle state, driver intent, yaw reference, yaw control, traction, authority, arbiter,
//! projection, guardian, actuation, thermal. What a stage needs from a later one comes from the step before; every such
//! one-step delay is a field of [`Delayed`], and there is no other.

mod capacity;
pub mod key_off;
pub mod laws;
mod outputs;
mod stages;
mod state;
mod watch;

pub use state::{ControllerState, Delayed, LastKnown, Remembered};

use crate::calibration::{Calibration, PageRefusal, RawPage};
use crate::numerics::Real;
use crate::quantity::{PerSide, Period, Sensed};
use crate::signal::inputs::range;
use crate::signal::{Inputs, Limit, Outputs, Reading};
use crate::stage::Stage;
use crate::stage::actuation;
use crate::stage::arbiter::{Allocate, Demand, Exact, Question, project};
use crate::stage::authority::AuthorityIn;
use crate::stage::conditioning::{Conditioned, Kept};
use crate::stage::driver_intent::DriverIntentIn;
use crate::stage::thermal;
use crate::stage::traction::TractionIn;
use crate::stage::vehicle_state::VehicleStateIn;
use crate::stage::yaw_control::YawControlIn;
use crate::stage::yaw_reference::YawReferenceIn;
use crate::trace::Trace;
use capacity::{capacity_matched, capacity_wanted};
use core::mem::MaybeUninit;
use laws::{
    Interpret, OwnIntent, OwnReference, Refer, admitted_answer, admitted_intent, admitted_reference,
};
use stages::Stages;

/// Size of a demand above which a clutch near zero slip counts as stuck, Nm.
const CLOSED_NM: f32 = 20.0;

/// Speed below which front wheels may be silent while rear wheels are heard, m/s.
const CRAWL_M_S: f32 = 3.0;

/// The control law with its calibration and memory.
///
/// ```
/// use couplet_controller::{Controller, Inputs, Period, RawPage};
/// let mut controller: Controller<f32> = Controller::new(&RawPage::default(), Period::default()).unwrap();
/// let outputs = controller.step(&Inputs::default());
/// assert_eq!(outputs.capacity_nm.left, 0.0); // nothing is known, so nothing is closed
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Controller<
    S: Real,
    A: Allocate<S> = Exact,
    R: Refer<S> = OwnReference,
    I: Interpret<S> = OwnIntent,
> {
    period: Period,
    allocate: A,
    refer: R,
    interpret: I,
    stages: Stages<S>,
    state: ControllerState<S, R::State, I::State>,
    trace: Trace<S>,
}

impl<S: Real> Controller<S, Exact> {
    /// A controller at rest, the axle at the calibration's start temperature.
    ///
    /// # Errors
    /// The page's refusal, if it is not acceptable.
    pub fn new(page: &RawPage, period: Period) -> Result<Self, PageRefusal> {
        Self::with_law(page, period, Exact)
    }

    /// The same built where it shall live, such as in static memory: what [`Self::new`] gives passes over the stack.
    ///
    /// # Errors
    /// As there; then the place holds what it held.
    pub fn place<'a>(
        place: &'a mut MaybeUninit<Self>,
        page: &RawPage,
        period: Period,
    ) -> Result<&'a mut Self, PageRefusal> {
        Self::place_with_laws(place, page, period, Exact, OwnReference, OwnIntent)
    }
}

impl<S: Real, A: Allocate<S>, R: Refer<S>, I: Interpret<S>> Controller<S, A, R, I> {
    /// The calibration in force.
    pub fn calibration(&self) -> Calibration<S> {
        self.stages.calibration()
    }

    /// Everything remembered.
    pub fn state(&self) -> &ControllerState<S, R::State, I::State> {
        &self.state
    }

    /// Puts back a remembered state.
    pub fn restore(&mut self, state: ControllerState<S, R::State, I::State>) {
        self.state = state;
        self.stages
            .thermal
            .renew(&mut self.state.thermal, self.period.seconds());
    }

    /// Every stage's finding of the last step.
    pub fn trace(&self) -> &Trace<S> {
        &self.trace
    }

    /// Sets the whole axle to one temperature, degC.
    pub fn set_temperature(&mut self, degc: S) {
        let network = &self.stages.thermal.tunables.network;
        self.state.thermal.begin_at(network, degc);
        self.state.delayed.oil_degc = degc;
        self.state.delayed.core_degc = PerSide::both(degc);
    }

    /// Takes over a new page at this step border; on refusal the old calibration stays in force.
    ///
    /// # Errors
    /// What is wrong with the page.
    pub fn take_page(&mut self, page: &RawPage) -> Result<(), PageRefusal> {
        page.check()?;
        self.stages.take(&page.tunables, self.period);
        self.stages
            .thermal
            .renew(&mut self.state.thermal, self.period.seconds());
        Ok(())
    }

    /// One control step.
    pub fn step(&mut self, inputs: &Inputs) -> Outputs {
        self.step_with_request(inputs, |wanted| wanted)
    }

    /// One control step in which the first channel's request to the second, Nm per side, goes through `request` first: for
    /// a bench that proves what the second channel does with a wrong one. A car calls [`Self::step`].
    pub fn step_with_request(
        &mut self,
        inputs: &Inputs,
        request: impl FnOnce(PerSide<S>) -> PerSide<S>,
    ) -> Outputs {
        let (place, period_s) = (&mut self.state.clutch_pressure_bar, self.period.seconds());
        self.stages.conditioning.pressures(place, inputs, period_s);
        if cfg!(feature = "compact") {
            let (mut seen, known) = self.seen(inputs);
            if !self.watch_over(&seen) {
                watch::doubt(&mut seen, self.trace.verdict.faults);
            }
            return self.find(inputs, &seen, &known, request);
        }
        let before = &self.state.conditioning;
        match self.stages.conditioning.all_fresh(before, inputs) {
            Some(seen) => {
                // Pressures are kept apart; here they might be no numbers, and a state must be like itself.
                self.state.conditioning = Kept::AllFresh(Inputs {
                    clutch_pressure_left: Reading::default(),
                    clutch_pressure_right: Reading::default(),
                    ..*inputs
                });
                if self.watch_over(&seen) {
                    self.find(inputs, &seen, &LastKnown::of(&seen), request)
                } else {
                    self.find_in_disbelief(inputs, request)
                }
            }
            None => self.find_in_doubt(inputs, request),
        }
    }

    /// Everything after the monitor.
    #[inline(always)]
    fn find(
        &mut self,
        inputs: &Inputs,
        seen: &Conditioned<S>,
        known: &LastKnown<S>,
        request: impl FnOnce(PerSide<S>) -> PerSide<S>,
    ) -> Outputs {
        let period_s = self.period.seconds::<S>();
        let stages = &self.stages;
        let state = &mut self.state;
        // Every finding goes to its place in the trace at once: building a trace and copying it would cost a tenth of the step.
        let trace = &mut self.trace;
        let delayed = &state.delayed;

        let ordered = |sensed: Sensed<S>, if_lost: S| sensed.or(if_lost) > S::HALF;
        let watched = &trace.pressure;
        let (ceiling, ceiling_by) = watch::ceilings(watched, delayed);
        let verdict = &trace.verdict;
        let jammed = state.jammed.map(|side| side.jammed);

        stages.vehicle_state.step_into(
            &mut state.vehicle_state,
            &VehicleStateIn {
                wheel_speed_rad_s: seen.wheel_speed_rad_s,
                yaw_rate_rad_s: seen.yaw_rate_rad_s,
                lateral_acceleration_m_s2: seen.lateral_acceleration_m_s2,
                longitudinal_acceleration_m_s2: seen.longitudinal_acceleration_m_s2,
                steering_wheel_rad: seen.steering_wheel_rad,
                brake_bar: seen.brake_bar,
                carrier_torque_nm: seen.carrier_torque_nm,
                gear: seen.gear,
                rear_torque_nm: delayed.torque_nm,
                anti_lock_active: seen.anti_lock_active.or(S::ZERO) > S::HALF,
                stuck: delayed.stuck || jammed.left || jammed.right,
            },
            period_s,
            &mut trace.motion,
        );
        let motion = &trace.motion;
        let clutch_slip_rad_s = motion.clutch_slip_rad_s;
        let forward = motion.speed_m_s * motion.direction;

        let asked = DriverIntentIn {
            pedal: seen.pedal,
            steering_wheel_rad: seen.steering_wheel_rad,
            carrier_torque_nm: seen.carrier_torque_nm,
            carrier_torque_wanted_nm: seen.carrier_torque_wanted_nm,
            brake_bar: known.brake_bar,
            forward_m_s: forward,
            direction: motion.direction,
            yaw_rate_rad_s: motion.yaw_rate_rad_s,
            road_wheel_rad: motion.road_wheel_rad,
            road_wheel_sine: motion.road_wheel_sine,
            road_wheel_cosine: motion.road_wheel_cosine,
        };
        let said = self.interpret.interpret(
            &stages.driver_intent,
            &mut state.driver_intent,
            &asked,
            period_s,
        );
        (trace.intent, trace.mended.intent) = admitted_intent(said, &asked);
        let intent = &trace.intent;

        let said = self.refer.refer(
            &stages.yaw_reference,
            &mut state.yaw_reference,
            &YawReferenceIn {
                speed_m_s: motion.speed_m_s,
                road_wheel_rad: motion.road_wheel_rad,
                friction: motion.friction,
                friction_trust: motion.friction_trust,
                yaw_rate_rad_s: motion.yaw_rate_rad_s,
                lift_off: intent.lift_off,
            },
            period_s,
        );
        (trace.reference, trace.mended.reference) =
            admitted_reference(said, motion.yaw_rate_rad_s, period_s);
        let reference = &trace.reference;

        let anti_lock = ordered(known.anti_lock_active, S::ZERO);
        let stability = ordered(known.stability_active, S::ZERO);
        stages.yaw_control.step_into(
            &mut state.yaw_control,
            &YawControlIn {
                reference_rad_s: reference.yaw_rate_rad_s,
                reference_acceleration_rad_s2: reference.yaw_acceleration_rad_s2,
                steady_rad_s: reference.steady_rad_s,
                natural_rad_s: reference.natural_rad_s,
                sideslip_limit_rad: reference.sideslip_limit_rad,
                // In reverse the car is slow and steered from behind: no yaw moment is asked for.
                presence: if motion.direction < S::ZERO {
                    S::ZERO
                } else {
                    reference.presence
                },
                yaw_rate_rad_s: motion.yaw_rate_rad_s,
                yaw_rate_known: verdict.may_differ,
                sideslip_rad: motion.sideslip_rad,
                forward_m_s: forward,
                friction: motion.friction,
                urgency: intent.urgency,
                lift_off: intent.lift_off,
                torque_nm: intent.torque_nm,
                counter_steer: intent.counter_steer,
                shortfall_nm: delayed.shortfall_nm,
                stuck: delayed.stuck,
                stability_active: stability,
            },
            period_s,
            &mut trace.yaw,
        );
        let yaw = &trace.yaw;

        trace.rear = stages.traction.step(
            &mut state.traction,
            &TractionIn {
                torque_nm: intent.torque_nm,
                launch: intent.launch,
                front_spin_m_s: motion.front_spin_m_s,
                forward_m_s: forward,
                direction: motion.direction,
                anti_lock_active: anti_lock,
                pedal_closed: seen.pedal.or(S::ONE) < S::of(0.02),
            },
            period_s,
        );
        let rear = &trace.rear;

        trace.possible = stages.authority.step(
            &mut state.authority,
            &AuthorityIn {
                clutch_slip_rad_s,
                forward_m_s: forward,
                direction: motion.direction,
                rear_load_n: motion.rear_load_n,
                friction: motion.friction,
                rear_slip: motion.wheel_slip.rear(),
                lock_torque_nm: motion.lock_torque_nm,
                unlike_tyres: motion.unlike_tyres,
                lateral_m_s2: seen
                    .lateral_acceleration_m_s2
                    .or(S::of(range::lateral_acceleration.1))
                    .magnitude(),
                friction_shown: motion.friction_shown,
                launch: intent.launch,
                // Lost: sideways grip counts as at stake and the wheels as steered, which allows least wind-up.
                road_wheel_rad: if seen.steering_wheel_rad.is_lost() {
                    S::ONE
                } else {
                    motion.road_wheel_rad
                },
                torque_nm: intent.torque_nm,
                previous_capacity_nm: delayed.capacity_nm,
                heat_ceiling: ceiling,
                heat_by: ceiling_by,
                oil_degc: delayed.oil_degc,
                health_share: verdict.capacity_share,
                health: verdict.health,
                may_differ: verdict.may_differ,
                rear_torque_cap_nm: known.rear_torque_cap_nm,
                yaw_moment_cap_nm: known.yaw_moment_cap_nm,
                // A lost order channel counts as an order.
                open_now: ordered(seen.open_now, S::ONE),
                brake_control: anti_lock || stability,
                // The kept share counts per step: without it a friction bound would take a twentieth every step.
                oversteer_held: yaw.keep.at_least(yaw.oversteer_held),
                slide: yaw.slide,
            },
            period_s,
        );
        let possible = &trace.possible;

        let weights = &stages.arbiter;
        // Split friction: the high side may pull alone while traction is at stake and the car is stable; the driver holds
        // the line. Elsewhere a yaw moment of zero is a wish like any other.
        let at_stake = rear.need * (S::ONE - yaw.oversteer);
        let weight_yaw_moment = weights.weight_yaw_moment
            + (weights.weight_yaw_launch - weights.weight_yaw_moment) * at_stake;
        // In a wanted slide the outer clutch shall lock and the inner one open: all of one clutch's capacity outside.
        let outer_nm = stages.authority.tunables.capacity_nm;
        let inward_nm =
            (outer_nm * stages.authority.moment_per_difference).signed_like(motion.yaw_rate_rad_s);
        let mut question = Question {
            demand: Demand {
                rear_torque_nm: rear.torque_nm + (outer_nm - rear.torque_nm) * yaw.slide,
                yaw_moment_nm: yaw.moment_nm + (inward_nm - yaw.moment_nm) * yaw.slide,
                weight_rear_torque: weights.weight_rear_torque,
                weight_yaw_moment,
                weight_change: weights.weight_change,
                heat_price: delayed
                    .heat_w
                    .map(|power| power * weights.heat_price_per_kw * S::of(0.001)),
                moment_per_difference: stages.authority.moment_per_difference,
            },
            previous_nm: possible.previous_nm,
            octagon: possible.octagon,
        };
        let said = self.allocate.answer_and_resolve(&mut question);
        // No law is trusted, ours included: what leaves the octagon is moved to its edge and named.
        let (inside, moved) = project(&question.octagon, said.torque_nm);
        trace.projected = moved;
        trace.answer = admitted_answer(said, inside);
        let answer = &trace.answer;

        let mut wanted = capacity_wanted(
            answer.torque_nm,
            yaw,
            possible,
            delayed.capacity_nm,
            motion.yaw_rate_rad_s,
        );
        if watched.match_nm.larger() > S::ZERO {
            wanted = capacity_matched(wanted, watched.match_nm, possible);
        }
        let wanted = request(wanted);
        trace.guarded = stages.guardian.step(
            &mut state.guardian,
            &watch::facts(
                inputs,
                seen,
                wanted,
                ceiling,
                verdict.health,
                answer.torque_nm,
                watched.passed_nm,
            ),
        );
        let capacity = wanted.zip(trace.guarded.granted_nm, |wanted, granted| {
            // What the second channel grants is a number; what is wanted may be none, or negative.
            wanted.up_to(S::of_number(granted))
        });
        let torque = watch::carried(possible.near_stick, motion, answer.torque_nm, capacity);

        trace.actuation = stages.actuation.step(
            &mut state.actuation,
            &actuation::In {
                granted_nm: capacity,
                slip_rad_s: clutch_slip_rad_s,
                core_degc: delayed.core_degc,
                oil_degc: delayed.oil_degc,
            },
            period_s,
        );

        let lesson = || {
            watch::lesson(
                seen,
                state.clutch_pressure_bar,
                motion,
                possible,
                trace.actuation.pressure_bar,
                delayed.oil_degc,
                verdict.health,
                state.actuation,
            )
        };
        trace.learned = stages
            .learning
            .step_when_due(&mut state.learning, state.actuation, lesson);
        state.actuation = trace.learned;

        let moving_off = intent.launch > S::HALF && forward.magnitude() < S::of(CRAWL_M_S);
        trace.heat = stages.thermal.step(
            &mut state.thermal,
            &thermal::In {
                // A clutch that does not open makes heat all the same.
                granted_nm: capacity.zip(watched.passed_nm, S::most),
                slip_rad_s: watch::heating_slip(clutch_slip_rad_s, possible, moving_off),
                speed_m_s: motion.speed_m_s,
                ambient_degc: seen.ambient_degc.or(stages
                    .thermal
                    .tunables
                    .forecast
                    .unknown_ambient_degc),
            },
            period_s,
        );
        let heat = &trace.heat;

        let facts = watch::wheels(
            seen,
            motion,
            torque,
            state.thermal.slip_power.torque_nm(),
            capacity,
            stages.monitor.plausibility.tunables.quiet_brake_bar,
            &state.vehicle_state.radius,
            stages.pressure.latched(&state.pressure),
        );
        stages.jammed.step(&mut state.jammed, &facts, period_s);

        let closed = capacity.map(|size| size > S::of(CLOSED_NM));
        state.delayed = Delayed {
            torque_nm: torque,
            capacity_nm: capacity,
            pressure_bar: trace.actuation.pressure_bar,
            road_wheel_rad: motion.road_wheel_rad,
            speed_m_s: motion.speed_m_s,
            shortfall_nm: answer.shortfall_nm.difference() * stages.authority.moment_per_difference,
            stuck: (possible.near_stick.left && closed.left)
                || (possible.near_stick.right && closed.right),
            heat_ceiling: heat
                .ceiling
                .zip(heat.open, |share, open| if open { S::ZERO } else { share }),
            heat_by: heat.ceiling_by.zip(
                heat.open,
                |by, open| if open { Limit::AbsoluteHeat } else { by },
            ),
            oil_degc: heat.oil_degc,
            core_degc: heat.core_degc,
            heat_w: heat.heat_w,
        };
        state.tick = state.tick.next();
        trace.capacity_nm = capacity;
        trace.torque_nm = torque;
        let help_nm = self.stages.monitor.plausibility.tunables.help_torque_nm;
        outputs::outputs(&self.trace, help_nm)
    }
}
