//! Two other laws of allocation: one factor for both wheels, and strict priority of one wish over the other.
//!
//! Both take the same question as the exact law and know nothing of weights, price of heat or the torques of the step
//! before: what they answer follows from demand and octagon alone. The wish is `TL = (F - M/c) / 2`, `TR = (F + M/c) / 2`.
//! Compared with the exact law by `couplet laws`. Mirroring is exact in `f32` and `f64`. A demand with a broken number gives
//! a torque with a broken number, which the projection moves to the possible torque nearest to zero.

use super::{Allocate, Question};
use crate::numerics::Scalar;
use crate::quantity::PerSide;

/// Proportional split: each wheel's wish goes to the edge of its own span, then one factor takes both to where the spans of
/// sum and difference allow them; left to right keeps its proportion where the sum is short.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ProportionalSplit;

impl<S: Scalar> Allocate<S> for ProportionalSplit {
    fn allocate(&self, question: &Question<S>) -> PerSide<S> {
        let octagon = &question.octagon;
        let (sum, difference) = wish(question);
        let free = PerSide {
            left: (sum - difference) * S::HALF,
            right: (sum + difference) * S::HALF,
        };
        let clipped = PerSide {
            left: octagon.left.span().nearest(free.left),
            right: octagon.right.span().nearest(free.right),
        };
        // Share of a value that a span leaves; a span beyond zero on the wrong side leaves nothing.
        let share = |value: S, low: S, high: S| {
            if value > high {
                high.over(value, S::ZERO).most(S::ZERO)
            } else if value < low {
                low.over(value, S::ZERO).most(S::ZERO)
            } else {
                S::ONE
            }
        };
        let (sum, difference) = (octagon.sum.span(), octagon.difference.span());
        let factor = share(clipped.sum(), sum.low, sum.high).least(share(
            clipped.difference(),
            difference.low,
            difference.high,
        ));
        clipped.map(|side| side * factor)
    }
}

/// Strict priority: the first wish gets what the whole octagon allows, the second what that leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StrictPriority {
    /// Rear torque first, then yaw moment: pulls before it turns.
    #[default]
    RearTorqueFirst,
    /// Yaw moment first, then rear torque: turns before it pulls.
    YawMomentFirst,
}

impl<S: Scalar> Allocate<S> for StrictPriority {
    fn allocate(&self, question: &Question<S>) -> PerSide<S> {
        let octagon = &question.octagon;
        let (left, right) = (octagon.left.span(), octagon.right.span());
        let (sum, difference) = (octagon.sum.span(), octagon.difference.span());
        let (s, d) = wish(question);
        let between = |value: S, low: S, high: S| {
            if low > high {
                // A single point is left, and rounding crossed its ends: neither end may win, or a mirror would show.
                (low + high) * S::HALF
            } else {
                value.within(low, high)
            }
        };
        let twice = |value: S| value + value;
        let (s, d) = match self {
            Self::RearTorqueFirst => {
                // Every sum for which some difference is possible: the octagon seen along its other axis.
                let high = (left.high + right.high).least(sum.high).least(
                    (twice(left.high) + difference.high).least(twice(right.high) - difference.low),
                );
                let low = (left.low + right.low).most(sum.low).most(
                    (twice(left.low) + difference.low).most(twice(right.low) - difference.high),
                );
                let s = between(s, low, high);
                let high = difference
                    .high
                    .least((s - twice(left.low)).least(twice(right.high) - s));
                let low = difference
                    .low
                    .most((s - twice(left.high)).most(twice(right.low) - s));
                (s, between(d, low, high))
            }
            Self::YawMomentFirst => {
                let high = (right.high - left.low)
                    .least(difference.high)
                    .least((twice(right.high) - sum.low).least(sum.high - twice(left.low)));
                let low = (right.low - left.high)
                    .most(difference.low)
                    .most((twice(right.low) - sum.high).most(sum.low - twice(left.high)));
                let d = between(d, low, high);
                let high = sum
                    .high
                    .least((twice(left.high) + d).least(twice(right.high) - d));
                let low = sum
                    .low
                    .most((twice(left.low) + d).most(twice(right.low) - d));
                (between(s, low, high), d)
            }
        };
        PerSide {
            left: (s - d) * S::HALF,
            right: (s + d) * S::HALF,
        }
    }
}

/// Sum and difference wanted, Nm.
fn wish<S: Scalar>(question: &Question<S>) -> (S, S) {
    let demand = &question.demand;
    (
        demand.rear_torque_nm,
        demand
            .yaw_moment_nm
            .over(demand.moment_per_difference, S::ZERO),
    )
}
