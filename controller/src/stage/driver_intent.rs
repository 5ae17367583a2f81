//! What the driver wants: torque, curvature, urgency, and the phase of driving.
//!
//! Continuous measures from 0 to 1 come first; the phase is only their headline and lasts at least a dwell, unless a more urgent one
//! interrupts it. The wanted
//! torque is what the driver asks for, not what the powertrain delivers yet: torque can be set before any wheel slips.

use super::Stage;
use crate::calibration;
use crate::numerics::Real;
use crate::numerics::filter::{Lag, fading_share, lag_share};
use crate::numerics::table::{fade_in, fade_out};
use crate::quantity::Sensed;
use crate::signal::Phase;

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverIntentIn<S> {
    /// Accelerator position.
    pub pedal: Sensed<S>,
    /// Steering-wheel angle, rad.
    pub steering_wheel_rad: Sensed<S>,
    /// Powertrain torque delivered, Nm.
    pub carrier_torque_nm: Sensed<S>,
    /// Powertrain torque asked for, Nm.
    pub carrier_torque_wanted_nm: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Speed in driving direction, m/s.
    pub forward_m_s: S,
    /// Driving direction, 1 or -1.
    pub direction: S,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: S,
    /// Road-wheel angle, rad.
    pub road_wheel_rad: S,
    /// Its sine.
    pub road_wheel_sine: S,
    /// Its cosine.
    pub road_wheel_cosine: S,
}

/// What the driver wants.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Intent<S> {
    /// Drive torque wanted at the carrier in driving direction, Nm; negative is engine drag.
    pub torque_nm: S,
    /// Curvature the steering asks for at low speed, 1/m.
    pub curvature_1_m: S,
    /// Urgency of steering, 0 to 1.
    pub urgency: S,
    /// Moving off, 0 to 1.
    pub launch: S,
    /// Accelerator just released, 0 to 1.
    pub lift_off: S,
    /// Steering against the turn, 0 to 1.
    pub counter_steer: S,
    /// The headline.
    pub phase: Phase,
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DriverIntentState<S> {
    pedal: S,
    steering_rad: S,
    pedal_rate: Lag<S>,
    steering_rate: Lag<S>,
    urgency: S,
    lift_off: S,
    phase: Phase,
    phase_age_s: S,
    started: bool,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DriverIntent<S> {
    /// Its calibration.
    pub tunables: calibration::DriverIntent<S>,
    /// Wheelbase, m.
    pub wheelbase_m: S,
    ready: Ready<S>,
}

/// Numbers of calibration and period that would be the same in every step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Ready<S> {
    rate_share: S,
    urgency_fades: S,
    lift_off_fades: S,
    closed_fades: S,
}

impl<S: Real> DriverIntent<S> {
    /// The stage of a calibration, for steps of `period_s`.
    pub fn new(tunables: calibration::DriverIntent<S>, wheelbase_m: S, period_s: S) -> Self {
        Self {
            tunables,
            wheelbase_m,
            ready: Ready {
                rate_share: lag_share(tunables.rate_filter_s, period_s),
                urgency_fades: fading_share(tunables.urgency_memory_s, period_s),
                lift_off_fades: fading_share(tunables.lift_off_memory_s, period_s),
                closed_fades: fading_share(tunables.rate_filter_s, period_s),
            },
        }
    }
}

impl<S: Real> Stage<S> for DriverIntent<S> {
    type In = DriverIntentIn<S>;
    type Out = Intent<S>;
    type State = DriverIntentState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let tune = &self.tunables;
        let pedal = input.pedal.or(S::ZERO);
        let steering = input.steering_wheel_rad.or(state.steering_rad);
        if !state.started {
            state.pedal = pedal;
            state.steering_rad = steering;
            state.started = true;
        }
        let rate =
            |lag: &mut Lag<S>, change: S| lag.follow(change.per(period_s), self.ready.rate_share);
        let pedal_rate = rate(&mut state.pedal_rate, pedal - state.pedal);
        let steering_rate = rate(&mut state.steering_rate, steering - state.steering_rad);
        state.pedal = pedal;
        state.steering_rad = steering;

        let decay = |value: S, share: S| value - value * share;
        let urgent_now = fade_in(
            steering_rate.magnitude(),
            tune.urgency_start_rad_s,
            tune.urgency_end_rad_s,
        );
        state.urgency = decay(state.urgency, self.ready.urgency_fades).at_least(urgent_now);
        let closing = pedal_rate < -tune.lift_off_rate_per_s && pedal < tune.lift_off_pedal;
        state.lift_off = if closing {
            S::ONE
        } else if pedal < tune.lift_off_pedal {
            decay(state.lift_off, self.ready.lift_off_fades)
        } else {
            decay(state.lift_off, self.ready.closed_fades)
        };

        let delivered = input.carrier_torque_nm.or(S::ZERO) * input.direction;
        let asked = input
            .carrier_torque_wanted_nm
            .or(input.carrier_torque_nm.or(S::ZERO))
            * input.direction;
        let driving = fade_in(pedal, S::of(0.02), S::of(0.08));
        // Open pedal: what is delivered counts. Pressed pedal: what is asked counts too, ahead of the powertrain's lag.
        let torque = delivered + (asked.at_least(delivered) - delivered) * driving;
        // At rest a pressed brake with a pressed accelerator announces a start on a hill; moving, it cancels the demand.
        let braking = fade_in(input.brake_bar.or(S::ZERO), S::of(2.0), S::of(10.0))
            * fade_in(input.forward_m_s, S::HALF, S::of(2.0));
        let torque = torque * (S::ONE - braking);

        let launch = fade_out(
            input.forward_m_s,
            tune.launch_end_m_s * S::HALF,
            tune.launch_end_m_s,
        ) * fade_in(pedal, S::of(0.05), S::of(0.2))
            * (S::ONE - braking);
        let curvature = input
            .road_wheel_sine
            .over(input.road_wheel_cosine * self.wheelbase_m, S::ZERO);
        let opposed = -(input.road_wheel_rad * input.yaw_rate_rad_s * input.direction);
        let counter_steer = fade_in(opposed, S::of(0.002), S::of(0.02))
            * fade_in(input.forward_m_s, S::of(4.0), S::of(8.0));

        let turning = curvature.magnitude() > tune.turn_curvature_1_m;
        let candidate = if launch > S::HALF {
            Phase::Launch
        } else if counter_steer > S::HALF {
            Phase::CounterSteer
        } else if state.lift_off > S::HALF {
            Phase::LiftOff
        } else if state.urgency > S::of(0.7) {
            Phase::Evasive
        } else if turning
            && steering_rate.signed_like(steering_rate * steering)
                > tune.urgency_start_rad_s * S::HALF
        {
            Phase::TurnIn
        } else if turning && pedal > S::of(0.4) {
            Phase::Exit
        } else if turning {
            Phase::MidCorner
        } else {
            Phase::Cruise
        };
        state.phase_age_s = (state.phase_age_s + period_s).at_most(S::of(1000.0));
        // What is urgent does not wait for what it interrupts; it once came 85 ms late behind a turn-in.
        let waited = state.phase_age_s >= tune.phase_dwell_s;
        if candidate != state.phase && (waited || rank(candidate) > rank(state.phase)) {
            state.phase = candidate;
            state.phase_age_s = S::ZERO;
        }
        Intent {
            torque_nm: torque,
            curvature_1_m: curvature,
            urgency: state.urgency,
            launch,
            lift_off: state.lift_off,
            counter_steer,
            phase: state.phase,
        }
    }
}

/// Urgency of a phase.
fn rank(phase: Phase) -> u8 {
    match phase {
        Phase::CounterSteer => 3,
        Phase::LiftOff => 2,
        Phase::Evasive => 1,
        _ => 0,
    }
}
