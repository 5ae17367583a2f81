//! Outputs of one step, from the trace.
//!
//! Nothing is decided here: every number was found by a stage. Expected torques carry the side's sign; in stick a clutch
//! may carry anything up to its capacity, either way. While a clutch does not open the car is asked for less torque.

use crate::numerics::Real;
use crate::quantity::{PerSide, Span};
use crate::signal::{Granted, Limit, Outputs};
use crate::stage::authority::Sense;
use crate::stage::monitor::Fault;
use crate::trace::Trace;

/// Faults of a clutch that passes more than it should.
const KEPT_CLOSED: u32 = 1 << Fault::ClutchPressureHighLeft as u32
    | 1 << Fault::ClutchPressureHighRight as u32
    | 1 << Fault::ClutchStuckClosedLeft as u32
    | 1 << Fault::ClutchStuckClosedRight as u32;

/// The outputs of a step from its trace.
#[inline(always)]
pub(super) fn outputs<S: Real>(trace: &Trace<S>, help_nm: S) -> Outputs {
    let granted = |asked: S, given: S, lowered: bool, by: Limit| Granted {
        asked: asked.to_f32(),
        given: given.to_f32(),
        by: if lowered { Limit::Guardian } else { by },
    };
    let lowered = trace.guarded.lowered;
    let span = |sense: Sense, low: S, high: S| match sense {
        Sense::Backward => Span::new(-high.to_f32(), -low.to_f32()),
        Sense::Forward | Sense::Unknown => Span::new(low.to_f32(), high.to_f32()),
    };
    // In stick a clutch may carry anything up to its capacity, either way.
    let low = trace.actuation.torque_low_nm;
    let high = trace.actuation.torque_high_nm;
    let expected = |sense: Sense, near_stick: bool, low: S, high: S| {
        if near_stick {
            Span::symmetric(high.to_f32())
        } else {
            span(sense, low, high)
        }
    };
    let (sense, stick) = (trace.possible.sense, trace.possible.near_stick);
    let out = |range: Span<S>| Span::new(range.low.to_f32(), range.high.to_f32());
    Outputs {
        capacity_nm: trace.capacity_nm.map(S::to_f32),
        torque_nm: trace.torque_nm.map(S::to_f32),
        torque_span_nm: PerSide {
            left: expected(sense.left, stick.left, low.left, high.left),
            right: expected(sense.right, stick.right, low.right, high.right),
        },
        pressure_bar: trace.actuation.pressure_bar.map(S::to_f32),
        current_a: trace.actuation.current_a.map(S::to_f32),
        granted: PerSide {
            left: granted(
                trace.answer.unconstrained_nm.left,
                trace.torque_nm.left,
                lowered.left,
                trace.side_limit().left,
            ),
            right: granted(
                trace.answer.unconstrained_nm.right,
                trace.torque_nm.right,
                lowered.right,
                trace.side_limit().right,
            ),
        },
        rear_torque_range_nm: out(trace.possible.rear_torque_range_nm),
        yaw_moment_range_nm: out(trace.possible.yaw_moment_range_nm),
        front_spin_request_m_s: trace.rear.front_spin_request_m_s.to_f32(),
        // A clutch that will not open is matched by the other one; less power leaves less to match.
        torque_limit_request_nm: if trace.verdict.faults.0 & KEPT_CLOSED == 0 {
            f32::MAX
        } else {
            help_nm.to_f32()
        },
        surface_degc: trace.heat.surface_degc.map(S::to_f32),
        core_degc: trace.heat.core_degc.map(S::to_f32),
        oil_degc: trace.heat.oil_degc.to_f32(),
        heat_ceiling: trace.heat.ceiling.map(S::to_f32),
        time_to_limit_s: trace.heat.time_to_limit_s.map(S::to_f32),
        heat_limit: trace.heat.ceiling_by,
        clutch_life_used: trace.heat.life.clutch_used.map(S::to_f32),
        oil_life_used: trace.heat.life.oil_used.to_f32(),
        advice: trace.heat.life.advice,
        health: trace.verdict.health,
        faults: trace.verdict.faults.0,
        health_share: trace.verdict.capacity_share.to_f32(),
        may_differ: trace.verdict.may_differ,
        situation: trace.verdict.situation,
        phase: trace.intent.phase,
    }
}
