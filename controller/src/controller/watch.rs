//! What is told to the monitor, its watch of the clutch pressures, the second channel and the learning, and what follows from the watch.
//!
//! In: conditioned signals, findings, the step before. Out: the stages' inputs; shares of capacity left with their reasons.

use super::laws::{Interpret, Refer};
use super::{Controller, Delayed};
use crate::numerics::Real;
use crate::quantity::{PerSide, Sensed};
use crate::signal::{Health, Inputs, Limit};
use crate::stage::Stage;
use crate::stage::actuation;
use crate::stage::actuation::learning;
use crate::stage::arbiter::Allocate;
use crate::stage::authority::{Possible, Sense};
use crate::stage::conditioning::Conditioned;
use crate::stage::guardian;
use crate::stage::monitor::jammed::JammedIn;
use crate::stage::monitor::pressure::{PressureIn, PressureOut, PressureWatch, SideState};
use crate::stage::monitor::{Fault, FaultSet, MonitorIn};
use crate::stage::vehicle_state::Motion;
use crate::stage::vehicle_state::radius::RadiusState;

/// One step of the watch; `lagged_nm` is the torque each clutch should pass by now, without sign.
#[inline(always)]
pub(super) fn pressures<S: Real>(
    stage: &PressureWatch<S>,
    state: &mut PerSide<SideState<S>>,
    seen: &Conditioned<S>,
    measured_bar: PerSide<Sensed<S>>,
    delayed: &Delayed<S>,
    lagged_nm: PerSide<S>,
    jammed: PerSide<bool>,
    period_s: S,
) -> PressureOut<S> {
    let input = PressureIn {
        measured_bar,
        commanded_bar: delayed.pressure_bar,
        oil_degc: delayed.oil_degc,
        rear_rad_s: seen.wheel_speed_rad_s.rear(),
        yaw_rate_rad_s: seen.yaw_rate_rad_s,
        expected_nm: lagged_nm.zip(delayed.torque_nm, S::signed_like),
        speed_m_s: delayed.speed_m_s,
        road_wheel_rad: delayed.road_wheel_rad,
        // Unknown counts as at work: then nothing is matched.
        anti_lock_active: !(seen.anti_lock_active.or(S::ONE) < S::HALF),
        jammed,
    };
    stage.step(state, &input, period_s)
}

/// What the monitor looks at.
#[inline(always)]
pub(super) fn signals<S: Real>(
    seen: &Conditioned<S>,
    delayed: &Delayed<S>,
    sideslip_rad: S,
    steering_ratio: S,
    clutch_faults: FaultSet,
    second_channel_open: bool,
) -> MonitorIn<S> {
    MonitorIn {
        wheel_speed_rad_s: seen.wheel_speed_rad_s,
        yaw_rate_rad_s: seen.yaw_rate_rad_s,
        steering_wheel_rad: seen.steering_wheel_rad,
        lateral_acceleration_m_s2: seen.lateral_acceleration_m_s2,
        longitudinal_acceleration_m_s2: seen.longitudinal_acceleration_m_s2,
        pedal: seen.pedal,
        carrier_torque_nm: seen.carrier_torque_nm,
        carrier_torque_wanted_nm: seen.carrier_torque_wanted_nm,
        brake_bar: seen.brake_bar,
        gear: seen.gear,
        open_now: seen.open_now,
        speed_m_s: delayed.speed_m_s,
        sideslip_rad,
        steering_ratio,
        second_channel_open,
        clutch_faults,
    }
}

/// The faults, with a touch point named that is learned to the end of what is believable.
#[inline(always)]
pub(super) fn touched<S: Real>(
    faults: FaultSet,
    learned: &actuation::State<S>,
    stage: &actuation::Actuation<S>,
) -> FaultSet {
    let end_bar = stage.tunables.touch_point_bar * S::of(0.99);
    let at_its_end = learned
        .touch_point_bar
        .map(|bar| bar.magnitude() > end_bar && end_bar > S::ZERO);
    faults
        .with(Fault::ClutchTouchPointLeft, at_its_end.left)
        .with(Fault::ClutchTouchPointRight, at_its_end.right)
}

/// Faults that say a value is not what it says to be, though it came in time and in its range.
const DOUBTS: u32 = 0b1111 << Fault::WheelSpeedFrontLeftImplausible as u32
    | 1 << Fault::AccelerationImplausible as u32
    | 1 << Fault::SteeringImplausible as u32
    | 1 << Fault::DriverTorqueImplausible as u32;

/// Whether every value is believed to be what it says.
#[inline(always)]
pub(super) fn all_believed(faults: FaultSet) -> bool {
    faults.0 & DOUBTS == 0
}

/// Takes what is not believed away: for every stage after the monitor it is lost.
#[cold]
#[inline(never)]
pub(super) fn doubt<S: Real>(seen: &mut Conditioned<S>, faults: FaultSet) {
    let lose = |fault: Fault, value: &mut Sensed<S>| {
        if faults.holds(fault) {
            *value = Sensed::Lost;
        }
    };
    let wheel = &mut seen.wheel_speed_rad_s;
    lose(Fault::WheelSpeedFrontLeftImplausible, &mut wheel.front_left);
    lose(
        Fault::WheelSpeedFrontRightImplausible,
        &mut wheel.front_right,
    );
    lose(Fault::WheelSpeedRearLeftImplausible, &mut wheel.rear_left);
    lose(Fault::WheelSpeedRearRightImplausible, &mut wheel.rear_right);
    lose(
        Fault::AccelerationImplausible,
        &mut seen.lateral_acceleration_m_s2,
    );
    lose(Fault::SteeringImplausible, &mut seen.steering_wheel_rad);
    lose(Fault::DriverTorqueImplausible, &mut seen.carrier_torque_nm);
    lose(
        Fault::DriverTorqueImplausible,
        &mut seen.carrier_torque_wanted_nm,
    );
    lose(Fault::DriverTorqueImplausible, &mut seen.pedal);
}

/// The raw facts for the second channel: its orders are the messages themselves.
#[inline(always)]
pub(super) fn facts<S: Real>(
    inputs: &Inputs,
    seen: &Conditioned<S>,
    wanted_nm: PerSide<S>,
    ceiling: PerSide<S>,
    health: Health,
    answered_nm: PerSide<S>,
    passed_nm: PerSide<S>,
) -> guardian::In {
    let together = answered_nm.left * answered_nm.right;
    guardian::In {
        request_nm: wanted_nm.map(S::to_f32),
        ceiling: ceiling.map(S::to_f32),
        // A lost order channel counts as an order.
        open: seen.open_now.or(S::ONE) > S::HALF,
        orders: guardian::Orders {
            rear_torque_cap: inputs.rear_torque_cap,
            yaw_moment_cap: inputs.yaw_moment_cap,
            open_now: inputs.open_now,
            anti_lock_active: inputs.anti_lock_active,
            stability_active: inputs.stability_active,
        },
        health_open: health == Health::Open,
        opposed: together < S::ZERO,
        alike: together > S::ZERO,
        passed_nm: passed_nm.map(S::to_f32),
    }
}

/// Torque to expect of each clutch: a stuck one carries what the wheels make it carry, at most its capacity; the command would
/// be a wrong guess. Any other carries what was answered, within its capacity.
#[inline(always)]
pub(super) fn carried<S: Real>(
    near_stick: PerSide<bool>,
    motion: &Motion<S>,
    answered_nm: PerSide<S>,
    capacity_nm: PerSide<S>,
) -> PerSide<S> {
    let bounded = |torque: PerSide<S>| {
        torque.zip(capacity_nm, |torque, capacity| {
            torque.within(-capacity, capacity)
        })
    };
    let (held, carried) = (bounded(motion.lock_torque_nm), bounded(answered_nm));
    PerSide {
        left: if near_stick.left {
            held.left
        } else {
            carried.left
        },
        right: if near_stick.right {
            held.right
        } else {
            carried.right
        },
    }
}

/// Slip that makes heat. Moving off, slip against the torque's own sign is a front wheel too slow for its sensor: none is made by it.
#[inline(always)]
pub(super) fn heating_slip<S: Real>(
    slip_rad_s: PerSide<Sensed<S>>,
    possible: &Possible<S>,
    moving_off: bool,
) -> PerSide<Sensed<S>> {
    slip_rad_s.zip(possible.sense, |slip, sense| {
        slip.map(|slip| match sense {
            Sense::Forward if moving_off => slip.most(S::ZERO),
            Sense::Backward if moving_off => slip.least(S::ZERO),
            _ => slip,
        })
    })
}

/// Shares of capacity left, and by what: a side that must be released has none, by the name of a fault, in both channels.
#[inline(always)]
pub(super) fn ceilings<S: Real>(
    watched: &PressureOut<S>,
    delayed: &Delayed<S>,
) -> (PerSide<S>, PerSide<Limit>) {
    let share = watched.release.zip(
        delayed.heat_ceiling,
        |release, share| {
            if release { S::ZERO } else { share }
        },
    );
    let by = watched.release.zip(
        delayed.heat_by,
        |release, by| if release { Limit::Fault } else { by },
    );
    (share, by)
}

impl<S: Real, A: Allocate<S>, R: Refer<S>, I: Interpret<S>> Controller<S, A, R, I> {
    /// Pressures and signals held against each other; whether all that is seen is believed.
    #[inline(always)]
    pub(super) fn watch_over(&mut self, seen: &Conditioned<S>) -> bool {
        let period_s = self.period.seconds::<S>();
        let (stages, state, trace) = (&self.stages, &mut self.state, &mut self.trace);
        let delayed = &state.delayed;
        trace.pressure = pressures(
            &stages.pressure,
            &mut state.pressure,
            seen,
            state.clutch_pressure_bar,
            delayed,
            state.thermal.slip_power.torque_nm(),
            state.jammed.map(|side| side.jammed),
            period_s,
        );
        let clutch_faults = trace.pressure.faults;
        trace.verdict = stages.monitor.step(
            &mut state.monitor,
            &signals(
                seen,
                delayed,
                state.vehicle_state.sideslip_rad,
                stages.vehicle_state.vehicle.steering_ratio,
                clutch_faults,
                state.guardian.opened,
            ),
            period_s,
        );
        let faults = touched(trace.verdict.faults, &state.actuation, &stages.actuation);
        trace.verdict.faults = faults;
        all_believed(faults)
    }
}

/// What the watch for jammed clutches looks at; `lagged_nm` is the torque each clutch should pass by now, without sign.
#[inline(always)]
pub(super) fn wheels<S: Real>(
    seen: &Conditioned<S>,
    motion: &Motion<S>,
    torque_nm: PerSide<S>,
    lagged_nm: PerSide<S>,
    capacity_nm: PerSide<S>,
    quiet_brake_bar: S,
    radius: &RadiusState<S>,
    latched: PerSide<bool>,
) -> JammedIn<S> {
    // Unknown counts as at work.
    let off = |sensed: Sensed<S>| sensed.or(S::ONE) < S::HALF;
    let quiet = seen.brake_bar.or(quiet_brake_bar) < quiet_brake_bar;
    JammedIn {
        rear_rad_s: seen.wheel_speed_rad_s.rear(),
        yaw_rate_rad_s: seen.yaw_rate_rad_s,
        lateral_m_s2: seen.lateral_acceleration_m_s2,
        clutch_slip_rad_s: motion.clutch_slip_rad_s,
        lock_torque_nm: motion.lock_torque_nm,
        expected_nm: lagged_nm.zip(torque_nm, S::signed_like),
        capacity_nm,
        forward_m_s: motion.speed_m_s * motion.direction,
        braked: !(quiet && off(seen.anti_lock_active) && off(seen.stability_active)),
        rear_right_to_left: radius.rear_right_to_left,
        radii_known: radius.is_known(),
        latched,
    }
}

/// What the learning is told.
#[inline(always)]
pub(super) fn lesson<S: Real>(
    seen: &Conditioned<S>,
    measured_bar: PerSide<Sensed<S>>,
    motion: &Motion<S>,
    possible: &Possible<S>,
    commanded_bar: PerSide<S>,
    oil_degc: S,
    health: Health,
    learned: actuation::State<S>,
) -> learning::In<S> {
    learning::In {
        commanded_bar,
        measured_bar,
        rear_rad_s: seen.wheel_speed_rad_s.rear(),
        yaw_rate_rad_s: seen.yaw_rate_rad_s,
        lateral_m_s2: seen.lateral_acceleration_m_s2,
        brake_bar: seen.brake_bar,
        forward_m_s: motion.speed_m_s * motion.direction,
        drives: possible.sense.zip(possible.near_stick, |sense, near| {
            sense == Sense::Forward && !near
        }),
        oil_degc,
        healthy: health == Health::Full,
        learned,
    }
}
