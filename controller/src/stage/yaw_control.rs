//! The yaw moment demand: feed-forward, feedback, damping, sideslip.
//!
//! Feed-forward is the moment that turns the car's own steady yaw gain into the wanted one (linear single-track car,
//! yaw rate per yaw moment `(Cf + Cr) V / (Cf Cr (L + K V^2) L)`). Feedback is proportional and integral on the yaw-rate
//! error behind a dead band, damping acts on yaw acceleration, and sideslip beyond its limit calls for a counter-moment.
//! Where the setting allows a slide, more yaw rate than steered is no error up to that sideslip, and a slide under power is
//! held with the outer clutch locked and the inner one open: a slipping outer clutch would have to carry kilowatts.
//! The integrator is fed back by the allocation's shortfall only, and frozen while the clutches stick.

use super::Stage;
use crate::calibration;
use crate::numerics::Real;
use crate::numerics::filter::{Integrator, Lag, fading_share, lag_share};
use crate::numerics::table::fade_in;

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YawControlIn<S> {
    /// Yaw rate wanted, rad/s.
    pub reference_rad_s: S,
    /// Its rate, rad/s2.
    pub reference_acceleration_rad_s2: S,
    /// Steady yaw rate the steering asks for, rad/s.
    pub steady_rad_s: S,
    /// Steady yaw rate of the car by itself, rad/s.
    pub natural_rad_s: S,
    /// Sideslip limit, rad.
    pub sideslip_limit_rad: S,
    /// Whether yaw is wanted at this speed, 0 to 1.
    pub presence: S,
    /// Yaw rate, rad/s, and whether it is measured at all.
    pub yaw_rate_rad_s: S,
    /// Whether the yaw rate is believed.
    pub yaw_rate_known: bool,
    /// Sideslip, rad.
    pub sideslip_rad: S,
    /// Speed in driving direction, m/s.
    pub forward_m_s: S,
    /// Friction believed available.
    pub friction: S,
    /// Urgency of steering, 0 to 1.
    pub urgency: S,
    /// Accelerator just released, 0 to 1.
    pub lift_off: S,
    /// Torque the driver wants at the carrier in driving direction, Nm.
    pub torque_nm: S,
    /// Steering against the turn, 0 to 1.
    pub counter_steer: S,
    /// Yaw moment wanted but not granted one step ago, Nm; exactly zero when nothing bound.
    pub shortfall_nm: S,
    /// Whether a closed clutch stuck one step ago.
    pub stuck: bool,
    /// Whether brake-based stability control is at work.
    pub stability_active: bool,
}

/// The demand and its parts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct YawDemand<S> {
    /// Yaw moment wanted, Nm, positive to the left.
    pub moment_nm: S,
    /// Feed-forward part.
    pub feed_forward_nm: S,
    /// Proportional part.
    pub proportional_nm: S,
    /// Integral part.
    pub integral_nm: S,
    /// Damping part.
    pub damping_nm: S,
    /// Sideslip part.
    pub sideslip_nm: S,
    /// Capacity both clutches should hold as yaw dampers, Nm.
    pub pre_load_nm: S,
    /// How far a slide is wanted and held, 0 to 1: then the outer clutch is locked and the inner one open.
    pub slide: S,
    /// How far the car oversteers, 0 to 1.
    pub oversteer: S,
    /// The same, held: closed clutches are given up slowly while the car still oversteers.
    pub oversteer_held: S,
    /// Share of the capacity closed one step ago that a clutch able to counter keeps; zero unless the car oversteers or
    /// just did.
    pub keep: S,
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct YawControlState<S> {
    integral: Integrator<S>,
    acceleration: [Lag<S>; 2],
    yaw_rate_rad_s: S,
    oversteer_held: S,
    since_oversteer_s: S,
    started: bool,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct YawControl<S> {
    /// Its calibration.
    pub tunables: calibration::YawControl<S>,
    /// Wheelbase, m.
    pub wheelbase_m: S,
    /// The three axes.
    pub setting: calibration::Setting<S>,
    /// Natural understeer constant, rad s2/m.
    pub understeer_rad_s2_m: S,
    /// Torque capacity of one clutch, Nm.
    pub capacity_nm: S,
    ready: Ready<S>,
}

/// Numbers of calibration and period that would be the same in every step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Ready<S> {
    /// Both axles, N/rad.
    both_axles: S,
    /// Product of both axles and the wheelbase, N2 m/rad2.
    product: S,
    damping_share: S,
    crawl_share: S,
    kept_holding: S,
    kept_after: S,
    slide_wish: S,
}

impl<S: Real> YawControl<S> {
    /// The stage of a calibration, for steps of `period_s`; see the fields.
    pub fn new(
        tunables: calibration::YawControl<S>,
        vehicle: &calibration::Vehicle<S>,
        setting: calibration::Setting<S>,
        understeer_rad_s2_m: S,
        capacity_nm: S,
        period_s: S,
    ) -> Self {
        let (front, rear) = (
            vehicle.front_cornering_stiffness_n_rad,
            vehicle.rear_cornering_stiffness_n_rad,
        );
        let kept = |memory_s: S| S::ONE - period_s.over(memory_s + period_s, S::ONE);
        let ready = Ready {
            both_axles: front + rear,
            product: front * rear * vehicle.wheelbase_m,
            damping_share: lag_share(tunables.damping_filter_s, period_s),
            crawl_share: fading_share(tunables.crawl_memory_s, period_s),
            kept_holding: kept(tunables.oversteer_hold_s),
            kept_after: kept(tunables.oversteer_memory_s),
            slide_wish: fade_in(
                setting.slide_allowance_deg,
                S::ZERO,
                tunables.slide_full_deg,
            ),
        };
        Self {
            tunables,
            wheelbase_m: vehicle.wheelbase_m,
            setting,
            understeer_rad_s2_m,
            capacity_nm,
            ready,
        }
    }

    /// Steady yaw rate per yaw moment of the linear single-track car, rad/s per Nm.
    pub fn yaw_rate_per_moment(&self, speed_m_s: S) -> S {
        let length = self.wheelbase_m + self.understeer_rad_s2_m * speed_m_s.squared();
        (self.ready.both_axles * speed_m_s).over(self.ready.product * length, S::ZERO)
    }
}

impl<S: Real> Stage<S> for YawControl<S> {
    type In = YawControlIn<S>;
    type Out = YawDemand<S>;
    type State = YawControlState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let mut out = YawDemand::default();
        self.step_into(state, input, period_s, &mut out);
        out
    }

    #[inline(always)]
    fn step_into(
        &self,
        state: &mut Self::State,
        input: &Self::In,
        period_s: S,
        out: &mut Self::Out,
    ) {
        let tune = &self.tunables;
        if !state.started {
            state.yaw_rate_rad_s = input.yaw_rate_rad_s;
            state.started = true;
        }
        let acceleration_now = (input.yaw_rate_rad_s - state.yaw_rate_rad_s).per(period_s);
        state.yaw_rate_rad_s = input.yaw_rate_rad_s;
        let [first, second] = &mut state.acceleration;
        let smoothed = first.follow(acceleration_now, self.ready.damping_share);
        let acceleration = second.follow(smoothed, self.ready.damping_share);
        if !input.yaw_rate_known {
            // Without a yaw rate there is nothing to close a loop on; steering alone must not push.
            state.integral.value = S::ZERO;
            state.oversteer_held = S::ZERO;
            *out = YawDemand {
                pre_load_nm: self.capacity_nm
                    * input.urgency
                    * self.setting.steadiness
                    * tune.pre_load_urgent,
                ..YawDemand::default()
            };
            return;
        }

        let error = input.reference_rad_s - input.yaw_rate_rad_s;
        let turning = fade_in(
            input
                .reference_rad_s
                .magnitude()
                .at_least(input.yaw_rate_rad_s.magnitude() - tune.dead_band_rad_s),
            S::of(0.01),
            S::of(0.08),
        );
        let band =
            tune.dead_band_rad_s + (tune.dead_band_turn_rad_s - tune.dead_band_rad_s) * turning;
        let error = (error.magnitude() - band)
            .at_least(S::ZERO)
            .signed_like(error);

        // Positive when the car turns more than asked, whichever way it turns.
        // The sign comes from the larger of wish and truth: a reading of exactly zero has none of its own.
        let reference_leads = input.reference_rad_s.magnitude() > input.yaw_rate_rad_s.magnitude();
        let turn = if reference_leads {
            input.reference_rad_s
        } else {
            input.yaw_rate_rad_s
        };
        let excess = if turn > S::ZERO {
            -error
        } else if turn < S::ZERO {
            error
        } else {
            S::ZERO
        };
        let slipping = input.sideslip_rad.magnitude() - input.sideslip_limit_rad;
        let outward = (input.sideslip_rad * input.yaw_rate_rad_s) < S::ZERO;
        let beyond = if outward {
            slipping.at_least(S::ZERO)
        } else {
            S::ZERO
        };
        // Where a slide is allowed, turning more than steered is the driver's wish up to the allowance: in a hard turn, or with
        // the wheel turned against the turn. Straight ahead the loop is the same as without an allowance.
        let mut allowed = S::ZERO;
        out.slide = S::ZERO;
        if self.ready.slide_wish > S::ZERO {
            let hard = fade_in(
                (input.yaw_rate_rad_s * input.forward_m_s).magnitude(),
                tune.slide_turn_m_s2 * S::of(0.75),
                tune.slide_turn_m_s2,
            );
            allowed = self.ready.slide_wish
                * (S::ONE - fade_in(beyond, S::ZERO, tune.slide_end_rad))
                * hard.at_least(input.counter_steer);
            // Torque says that the slide is to go on.
            let pulling = fade_in(
                input.torque_nm,
                tune.slide_torque_nm * S::HALF,
                tune.slide_torque_nm,
            );
            out.slide = allowed * pulling * input.presence;
        }
        let (error, excess) = if excess > S::ZERO {
            (error * (S::ONE - allowed), excess * (S::ONE - allowed))
        } else {
            (error, excess)
        };
        let oversteer = fade_in(excess, tune.oversteer_start_rad_s, tune.oversteer_end_rad_s)
            .at_least(fade_in(beyond, S::ZERO, S::of(0.03)));
        let fast_enough = fade_in(input.forward_m_s, S::of(8.0), S::of(16.0));
        // Yaw rate falls before sideslip does: a demand that follows the yaw rate opens the clutches in mid slide.
        state.since_oversteer_s = if oversteer > S::ZERO {
            S::ZERO
        } else {
            (state.since_oversteer_s + period_s).at_most(tune.oversteer_memory_s)
        };
        let holding = oversteer > S::ZERO
            || (state.oversteer_held > S::ZERO
                && state.since_oversteer_s < tune.oversteer_memory_s);
        let kept = if holding {
            self.ready.kept_holding
        } else {
            self.ready.kept_after
        };
        let faded = state.oversteer_held * kept;
        state.oversteer_held = faded.at_least(oversteer);
        out.oversteer = oversteer;
        // Slow, one side of a split road may turn the car; the driver holds the line there.
        out.oversteer_held = (state.oversteer_held * fast_enough).at_least(oversteer);
        out.keep = if holding && state.oversteer_held * fast_enough > tune.oversteer_kept {
            kept
        } else {
            S::ZERO
        };

        let per_moment = self.yaw_rate_per_moment(input.forward_m_s);
        let calm = (S::ONE - oversteer)
            * (S::ONE - input.counter_steer)
            * (S::ONE - input.lift_off)
            * (S::ONE - input.urgency * self.setting.steadiness);
        let feed_forward = ((input.steady_rad_s - input.natural_rad_s).over(per_moment, S::ZERO)
            * tune.feed_forward_share
            * self.setting.agility
            * calm
            * input.presence)
            .within(-tune.moment_limit_nm, tune.moment_limit_nm);
        out.feed_forward_nm = feed_forward;

        let fast = fade_in(input.forward_m_s, S::of(5.0), tune.fast_speed_m_s);
        let gain = tune.proportional_nm_s_rad
            + (tune.proportional_fast_nm_s_rad - tune.proportional_nm_s_rad) * fast;
        let proportional = gain * error * input.presence;
        out.proportional_nm = proportional;

        let excess_acceleration = input.reference_acceleration_rad_s2 - acceleration;
        let beyond_noise =
            (excess_acceleration.magnitude() - tune.damping_dead_band_rad_s2).at_least(S::ZERO);
        let damping = beyond_noise.signed_like(excess_acceleration)
            * tune.damping_nm_s2_rad
            * self.setting.steadiness
            * input.presence;
        out.damping_nm = damping;

        let sideslip =
            (beyond * tune.sideslip_nm_rad).signed_like(input.sideslip_rad) * input.presence;
        out.sideslip_nm = sideslip;

        // In stick the clutches pass what they like: the integral may then shrink, but not grow.
        let shrinking = error * state.integral.value < S::ZERO;
        // The shortfall empties an integral that asks for what is not there; it never fills an empty one the other way. An
        // empty one counts as asking where its error points: else it would fill in one step and be emptied in the next.
        let before = state.integral.value;
        let empty = !(before.magnitude() > S::ZERO);
        let asking = if empty { error } else { before };
        let relief = if input.shortfall_nm * asking > S::ZERO {
            tune.anti_windup_1_s * input.shortfall_nm
        } else {
            S::ZERO
        };
        let rate = if (input.stuck && !shrinking) || input.stability_active {
            S::ZERO
        } else {
            let wanted = tune.integral_nm_rad * error * input.presence;
            let eased = wanted - relief;
            if empty && !(eased * wanted > S::ZERO) {
                S::ZERO
            } else {
                eased
            }
        };
        // What the turn needed under power is not what it needs now; what holds the car back from turning in is.
        let inward = if state.integral.value * turn > S::ZERO {
            state.integral.value
        } else {
            S::ZERO
        };
        let rate = rate - inward * tune.integral_release_1_s * input.lift_off;
        // Nor may it carry the integral through zero within a step.
        let integral = state.integral.step(rate, period_s, tune.integral_limit_nm);
        let integral = if before * integral < S::ZERO && error * integral <= S::ZERO {
            state.integral.value = S::ZERO;
            S::ZERO
        } else {
            integral
        };
        if input.presence < S::ONE {
            state.integral.value =
                integral - integral * self.ready.crawl_share * (S::ONE - input.presence);
        }

        let moment = (feed_forward + proportional + state.integral.value + damping + sideslip)
            .within(-tune.moment_limit_nm, tune.moment_limit_nm);
        let dry = input.friction.up_to(S::ONE);
        let pre_load = self.capacity_nm
            * dry
            * fast_enough
            * (input.urgency * self.setting.steadiness * tune.pre_load_urgent)
                .at_least(state.oversteer_held * tune.pre_load_oversteer);
        out.moment_nm = moment;
        out.integral_nm = state.integral.value;
        out.pre_load_nm = pre_load;
    }
}
