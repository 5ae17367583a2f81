//! The trace: what every stage found in the last step, and the table that names it.
//!
//! It lives beside the controller, not with the signals: it holds the stages' own findings, and signals may not look up.

use crate::numerics::{Real, Scalar};
use crate::quantity::PerSide;
use crate::signal::inputs::Parity;
use crate::signal::{Limit, NamedSpan};
use crate::stage::actuation;
use crate::stage::arbiter::Answer;
use crate::stage::authority::{Possible, Sense};
use crate::stage::driver_intent::Intent;
use crate::stage::guardian;
use crate::stage::monitor::pressure::PressureOut;
use crate::stage::monitor::{Fault, Verdict};
use crate::stage::thermal;
use crate::stage::traction::RearDemand;
use crate::stage::vehicle_state::Motion;
use crate::stage::yaw_control::YawDemand;
use crate::stage::yaw_reference::Reference;

/// Laws of a user's own whose words had to be brought into their range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Mended {
    /// Driver intent.
    pub intent: bool,
    /// Yaw reference.
    pub reference: bool,
}

/// Findings of all stages.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Trace<S> {
    /// Monitor.
    pub verdict: Verdict<S>,
    /// Watch of the clutch pressures.
    pub pressure: PressureOut<S>,
    /// Vehicle state.
    pub motion: Motion<S>,
    /// Driver intent.
    pub intent: Intent<S>,
    /// Yaw reference.
    pub reference: Reference<S>,
    /// Yaw control.
    pub yaw: YawDemand<S>,
    /// Traction.
    pub rear: RearDemand<S>,
    /// Authority.
    pub possible: Possible<S>,
    /// Arbiter, after projection.
    pub answer: Answer<S>,
    /// Whether the law's answer lay outside the octagon and had to be moved.
    pub projected: bool,
    /// Whether what the other laws said had to be brought into its range.
    pub mended: Mended,
    /// Guardian.
    pub guarded: guardian::Out,
    /// Capacity commanded, Nm.
    pub capacity_nm: PerSide<S>,
    /// Torque expected, Nm.
    pub torque_nm: PerSide<S>,
    /// Actuation.
    pub actuation: actuation::Out<S>,
    /// What is known of touch points and valves after the step.
    pub learned: actuation::State<S>,
    /// Thermal.
    pub heat: thermal::Out<S>,
}

impl<S: Scalar> Trace<S> {
    /// What keeps each side from the torque asked for; `Nothing` where nothing does.
    pub fn side_limit(&self) -> PerSide<Limit> {
        let octagon = &self.possible.octagon;
        let dearest = self
            .answer
            .binding
            .into_iter()
            .next()
            .map_or(Limit::Nothing, |binding| binding.by);
        let one = |span: NamedSpan<S>, asked: S, given: S, short: S| {
            if self.projected {
                Limit::Projection
            } else if short == S::ZERO {
                Limit::Nothing
            } else if asked > given && given >= span.high.value {
                span.high.by
            } else if asked < given && given <= span.low.value {
                span.low.by
            } else {
                // Its own span leaves room: sum, difference, or the other side holds it.
                dearest
            }
        };
        let (asked, given, short) = (
            self.answer.unconstrained_nm,
            self.answer.torque_nm,
            self.answer.shortfall_nm,
        );
        PerSide {
            left: one(octagon.left, asked.left, given.left, short.left),
            right: one(octagon.right, asked.right, given.right, short.right),
        }
    }
}

/// One named number of the trace.
#[derive(Debug, Clone, Copy)]
pub struct TraceSignal<S: 'static> {
    /// Name in whole words.
    pub name: &'static str,
    /// Unit in SI notation.
    pub unit: &'static str,
    /// Mirror behaviour.
    pub parity: Parity,
    /// Reads it.
    pub read: fn(&Trace<S>) -> f32,
}

macro_rules! trace_signals {
    ( $( $name:ident [$unit:literal] $parity:ident = $read:expr; )* ) => {
        impl<S: Real> TraceSignal<S> {
            /// Every named number of the trace.
            pub const ALL: &'static [Self] = &[
                $( TraceSignal { name: stringify!($name), unit: $unit, parity: Parity::$parity, read: $read }, )*
            ];
        }
    };
}

fn sense_number(sense: Sense) -> f32 {
    match sense {
        Sense::Unknown => 0.0,
        Sense::Forward => 1.0,
        Sense::Backward => -1.0,
    }
}

/// Faults that name a wheel or a clutch: they change places in the mirror, so they have channels of their own.
const SIDE_FAULTS: u32 = 0b1111
    | 0b11_1111_1111 << Fault::ClutchPressureHighLeft as u32
    | 0b1111 << Fault::WheelSpeedFrontLeftImplausible as u32
    | 0b11 << Fault::ClutchTouchPointLeft as u32;

/// 1 for too much pressure in a clutch, 2 stuck closed, 4 leak, 8 stuck open, 16 sensor lost, 32 touch point at its end.
fn clutch_faults<S: Scalar>(trace: &Trace<S>, names: [Fault; 5], touch: Fault) -> f32 {
    let faults = trace.verdict.faults;
    let mut number = 0.0;
    let mut weight = 1.0;
    for name in names.into_iter().chain([touch]) {
        number += if faults.holds(name) { weight } else { 0.0 };
        weight += weight;
    }
    number
}

/// 1 for the front wheel of a side lost, 2 for the rear one, 4 and 8 for those not believed.
fn wheel_faults<S: Scalar>(trace: &Trace<S>, names: [Fault; 4]) -> f32 {
    let mut number = 0.0;
    let mut weight = 1.0;
    for name in names {
        number += if trace.verdict.faults.holds(name) {
            weight
        } else {
            0.0
        };
        weight += weight;
    }
    number
}

trace_signals! {
    estimated_speed ["m/s"] Even = |t| t.motion.speed_m_s.to_f32();
    estimated_sideslip ["rad"] Odd = |t| t.motion.sideslip_rad.to_f32();
    estimated_slip_rear_left ["-"] Swap = |t| t.motion.wheel_slip.rear_left.to_f32();
    estimated_slip_rear_right ["-"] Swap = |t| t.motion.wheel_slip.rear_right.to_f32();
    friction_used ["-"] Even = |t| t.motion.friction_used.to_f32();
    friction_believed ["-"] Even = |t| t.motion.friction.to_f32();
    front_spin ["m/s"] Even = |t| t.motion.front_spin_m_s.to_f32();
    overspeed_effective ["-"] Even = |t| t.motion.overspeed_effective.to_f32();
    unlike_tyres ["-"] Even = |t| t.motion.unlike_tyres.to_f32();
    phase ["-"] Even = |t| f32::from(t.intent.phase as u8);
    urgency ["-"] Even = |t| t.intent.urgency.to_f32();
    launch ["-"] Even = |t| t.intent.launch.to_f32();
    lift_off ["-"] Even = |t| t.intent.lift_off.to_f32();
    counter_steer ["-"] Even = |t| t.intent.counter_steer.to_f32();
    yaw_rate_wanted ["rad/s"] Odd = |t| t.reference.yaw_rate_rad_s.to_f32();
    yaw_rate_cap ["rad/s"] Even = |t| t.reference.cap_rad_s.to_f32();
    yaw_moment_wanted ["N m"] Odd = |t| t.yaw.moment_nm.to_f32();
    yaw_moment_feed_forward ["N m"] Odd = |t| t.yaw.feed_forward_nm.to_f32();
    yaw_moment_proportional ["N m"] Odd = |t| t.yaw.proportional_nm.to_f32();
    yaw_moment_integral ["N m"] Odd = |t| t.yaw.integral_nm.to_f32();
    yaw_moment_damping ["N m"] Odd = |t| t.yaw.damping_nm.to_f32();
    yaw_moment_sideslip ["N m"] Odd = |t| t.yaw.sideslip_nm.to_f32();
    slide ["-"] Even = |t| t.yaw.slide.to_f32();
    oversteer ["-"] Even = |t| t.yaw.oversteer.to_f32();
    oversteer_held ["-"] Even = |t| t.yaw.oversteer_held.to_f32();
    pre_load ["N m"] Even = |t| t.yaw.pre_load_nm.to_f32();
    rear_torque_wanted ["N m"] Even = |t| t.rear.torque_nm.to_f32();
    traction_need ["-"] Even = |t| t.rear.need.to_f32();
    torque_asked_left ["N m"] Swap = |t| t.answer.unconstrained_nm.left.to_f32();
    torque_asked_right ["N m"] Swap = |t| t.answer.unconstrained_nm.right.to_f32();
    torque_given_left ["N m"] Swap = |t| t.torque_nm.left.to_f32();
    torque_given_right ["N m"] Swap = |t| t.torque_nm.right.to_f32();
    capacity_left ["N m"] Swap = |t| t.capacity_nm.left.to_f32();
    capacity_right ["N m"] Swap = |t| t.capacity_nm.right.to_f32();
    capacity_possible_left ["N m"] Swap = |t| t.possible.capacity_high_nm.left.to_f32();
    capacity_possible_right ["N m"] Swap = |t| t.possible.capacity_high_nm.right.to_f32();
    yaw_moment_reach_left ["N m"] Swap = |t| t.possible.yaw_moment_range_nm.high.to_f32();
    yaw_moment_reach_right ["N m"] Swap = |t| -t.possible.yaw_moment_range_nm.low.to_f32();
    limit_left ["-"] Swap = |t| f32::from(t.side_limit().left.number());
    limit_right ["-"] Swap = |t| f32::from(t.side_limit().right.number());
    direction_left ["-"] Swap = |t| sense_number(t.possible.sense.left);
    direction_right ["-"] Swap = |t| sense_number(t.possible.sense.right);
    estimated_heat_left ["W"] Swap = |t| t.heat.heat_w.left.to_f32();
    estimated_heat_right ["W"] Swap = |t| t.heat.heat_w.right.to_f32();
    estimated_surface_left ["degC"] Swap = |t| t.heat.surface_degc.left.to_f32();
    estimated_surface_right ["degC"] Swap = |t| t.heat.surface_degc.right.to_f32();
    estimated_core_left ["degC"] Swap = |t| t.heat.core_degc.left.to_f32();
    estimated_core_right ["degC"] Swap = |t| t.heat.core_degc.right.to_f32();
    estimated_oil ["degC"] Even = |t| t.heat.oil_degc.to_f32();
    bound_surface_left ["degC"] Swap = |t| t.heat.surface_bound_degc.left.to_f32();
    bound_surface_right ["degC"] Swap = |t| t.heat.surface_bound_degc.right.to_f32();
    bound_core_left ["degC"] Swap = |t| t.heat.core_bound_degc.left.to_f32();
    bound_core_right ["degC"] Swap = |t| t.heat.core_bound_degc.right.to_f32();
    bound_oil ["degC"] Even = |t| t.heat.oil_bound_degc.to_f32();
    heat_ceiling_left ["-"] Swap = |t| t.heat.ceiling.left.to_f32();
    heat_ceiling_right ["-"] Swap = |t| t.heat.ceiling.right.to_f32();
    heat_limit_left ["-"] Swap = |t| f32::from(t.heat.ceiling_by.left.number());
    heat_limit_right ["-"] Swap = |t| f32::from(t.heat.ceiling_by.right.number());
    heat_open_left ["-"] Swap = |t| f32::from(u8::from(t.heat.open.left));
    heat_open_right ["-"] Swap = |t| f32::from(u8::from(t.heat.open.right));
    time_to_heat_limit_left ["s"] Swap = |t| t.heat.time_to_limit_s.left.to_f32();
    time_to_heat_limit_right ["s"] Swap = |t| t.heat.time_to_limit_s.right.to_f32();
    clutch_life_used_left ["-"] Swap = |t| t.heat.life.clutch_used.left.to_f32();
    clutch_life_used_right ["-"] Swap = |t| t.heat.life.clutch_used.right.to_f32();
    oil_life_used ["-"] Even = |t| t.heat.life.oil_used.to_f32();
    service_advice ["-"] Even = |t| f32::from(t.heat.life.advice as u8);
    health ["-"] Even = |t| f32::from(t.verdict.health as u8);
    health_share ["-"] Even = |t| t.verdict.capacity_share.to_f32();
    situation ["-"] Even = |t| f32::from(t.verdict.situation as u8);
    faults ["-"] Even = |t| (t.verdict.faults.0 & !SIDE_FAULTS) as f32;
    wheel_faults_left ["-"] Swap = |t| wheel_faults(t, Fault::WHEEL_LEFT);
    wheel_faults_right ["-"] Swap = |t| wheel_faults(t, Fault::WHEEL_RIGHT);
    clutch_faults_left ["-"] Swap = |t| clutch_faults(t, Fault::CLUTCH_LEFT, Fault::ClutchTouchPointLeft);
    clutch_faults_right ["-"] Swap = |t| clutch_faults(t, Fault::CLUTCH_RIGHT, Fault::ClutchTouchPointRight);
    pressure_commanded_left ["bar"] Swap = |t| t.actuation.pressure_bar.left.to_f32();
    pressure_commanded_right ["bar"] Swap = |t| t.actuation.pressure_bar.right.to_f32();
    matched_left ["N m"] Swap = |t| t.pressure.match_nm.left.to_f32();
    matched_right ["N m"] Swap = |t| t.pressure.match_nm.right.to_f32();
    touch_point_left ["bar"] Swap = |t| t.learned.touch_point_bar.left.to_f32();
    touch_point_right ["bar"] Swap = |t| t.learned.touch_point_bar.right.to_f32();
    valve_offset_left ["bar"] Swap = |t| t.learned.valve_offset_bar.left.to_f32();
    valve_offset_right ["bar"] Swap = |t| t.learned.valve_offset_bar.right.to_f32();
    valve_gain_left ["-"] Swap = |t| t.learned.valve_gain_share.left.to_f32();
    valve_gain_right ["-"] Swap = |t| t.learned.valve_gain_share.right.to_f32();
}
