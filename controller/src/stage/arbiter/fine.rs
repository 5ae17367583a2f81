//! Very large answers found again in 64 bits, so that 32 bits round them once only.
//!
//! Inputs: question, a consistent octagon, its optimum in the law's own arithmetic. Output: the same optimum, rounded once
//! to 32 bits if it is so large that products and quotients of 32 bits would each cost half a thousandth of a newton metre
//! ([`FINE_FROM`]). No car gets there; ordinary answers keep their bits and pay nothing. Limit: from 16,384 Nm on a step of
//! 32 bits is 2e-3 Nm, so no answer at all may lie within a thousandth.

use super::plane::{Found, optimum};
use super::terms::Terms;
use super::{Demand, FINE_FROM, LARGEST, Question};
use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{Bound, NamedSpan, Octagon};

/// The optimum; in finer arithmetic where it is large and the law's own is coarse.
pub(super) fn found<S: Scalar>(
    question: &Question<S>,
    octagon: &Octagon<S>,
    coarse: Found<S>,
) -> Found<S> {
    let size = coarse.torque.left.magnitude() + coarse.torque.right.magnitude();
    let beyond = size >= S::of(FINE_FROM) && size <= S::of(4.0 * LARGEST);
    // One plus a thousand millionth is one in 32 bits only.
    let is_coarse = S::ONE + S::of(1.0e-9) == S::ONE;
    if beyond && is_coarse {
        again(question, octagon, coarse)
    } else {
        coarse
    }
}

#[cold]
#[inline(never)]
fn again<S: Scalar>(question: &Question<S>, octagon: &Octagon<S>, coarse: Found<S>) -> Found<S> {
    let demand = &question.demand;
    let wide = Octagon {
        left: wide_span(&octagon.left),
        right: wide_span(&octagon.right),
        sum: wide_span(&octagon.sum),
        difference: wide_span(&octagon.difference),
    };
    let terms = Terms::of(&Question {
        demand: Demand {
            rear_torque_nm: wide_number(demand.rear_torque_nm),
            yaw_moment_nm: wide_number(demand.yaw_moment_nm),
            weight_rear_torque: wide_number(demand.weight_rear_torque),
            weight_yaw_moment: wide_number(demand.weight_yaw_moment),
            weight_change: wide_number(demand.weight_change),
            heat_price: demand.heat_price.map(wide_number),
            moment_per_difference: wide_number(demand.moment_per_difference),
        },
        previous_nm: question.previous_nm.map(wide_number),
        octagon: wide,
    });
    let Some(fine) = optimum(&wide, &terms) else {
        return coarse;
    };
    let rounded =
        |value: f64, span: &NamedSpan<S>| span.span().nearest(S::of(value as f32)) + S::ZERO;
    Found {
        torque: PerSide {
            left: rounded(fine.torque.left, &octagon.left),
            right: rounded(fine.torque.right, &octagon.right),
        },
        active: fine.active,
    }
}

fn wide_number<S: Scalar>(value: S) -> f64 {
    f64::from(value.to_f32())
}

fn wide_span<S: Scalar>(span: &NamedSpan<S>) -> NamedSpan<f64> {
    NamedSpan {
        low: Bound::new(wide_number(span.low.value), span.low.by),
        high: Bound::new(wide_number(span.high.value), span.high.by),
    }
}
