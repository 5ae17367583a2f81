//! The optimum where each wheel has one sign only, in as few operations as can be.
//!
//! Inputs: octagon and quadratic, as on the page of the arbiter. Output: the optimum, or nothing where a wheel may both
//! drive and brake, where bounds are broken or contradict each other, or where rounding leaves it open: the full method
//! answers those. Same equations as the full method; every line of it is written for both wheels alike, so mirrored
//! questions have mirrored answers to the bit.

use super::plane::{Active, End, Found};
use super::terms::Terms;
use super::{FINE_FROM, LARGEST};
use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{NamedSpan, Octagon};

/// An optimum, with what is needed to tell later what it rests on.
#[derive(Clone, Copy)]
pub(super) struct Spot<S> {
    pub torque: PerSide<S>,
    /// Sum and difference, clipped to their spans: of use inside the wheels' spans only.
    sum: S,
    difference: S,
    lines: Lines,
}

/// Lines of wheels the optimum lies on.
#[derive(Clone, Copy)]
enum Lines {
    Neither,
    Left,
    Right,
    Both,
}

/// The optimum, if it can be had directly. Inlined, so that a caller who wants the torque alone pays for nothing else.
#[inline(always)]
pub(super) fn optimum<S: Scalar>(octagon: &Octagon<S>, terms: &Terms<S>) -> Option<Spot<S>> {
    let Octagon {
        left: left_span,
        right: right_span,
        sum: sum_span,
        difference: difference_span,
    } = octagon;
    let (left_width, right_width) = (width(left_span), width(right_span));
    let (sum_width, difference_width) = (width(sum_span), width(difference_span));
    let narrowest = (left_width.at_most(right_width)).at_most(sum_width.at_most(difference_width));
    // The total finds what is not a number and what is infinite, the narrowest what is inside out.
    let total = (left_width + right_width) + (sum_width + difference_width);
    if !(narrowest >= S::ZERO && total <= S::of(8.0 * LARGEST)) {
        return None;
    }
    let price = PerSide {
        left: signed(terms.price.left, left_span)?,
        right: signed(terms.price.right, right_span)?,
    };
    let half = price.map(|price| S::HALF * price);
    let sum_wanted = (terms.sum_pull - S::HALF * half.sum()).per(terms.sum_weight);
    let difference_wanted =
        (terms.difference_pull - S::HALF * half.difference()).per(terms.difference_weight);
    let sum = clipped(sum_wanted, sum_span);
    let difference = clipped(difference_wanted, difference_span);
    let wanted = PerSide::from_sum_difference(sum, difference);
    let (left, right) = (
        clipped(wanted.left, left_span),
        clipped(wanted.right, right_span),
    );
    let (left_inside, right_inside) = (left == wanted.left, right == wanted.right);
    let spot = |left: S, right: S, lines: Lines| Spot {
        // Adding zero turns a negative zero into a positive one: mirroring is exact to the bit there too.
        torque: PerSide {
            left: left + S::ZERO,
            right: right + S::ZERO,
        },
        sum,
        difference,
        lines,
    };
    let corner = PerSide { left, right };
    let (corner_sum, corner_difference) = (corner.sum(), corner.difference());
    let found = if left_inside && right_inside {
        spot(left, right, Lines::Neither)
    } else if !left_inside
        && !right_inside
        && sum_span.low.value <= corner_sum
        && corner_sum <= sum_span.high.value
        && difference_span.low.value <= corner_difference
        && corner_difference <= difference_span.high.value
        // At the corner both wheels still want to go on past their ends: by the sign of the gradient, no quotient.
        && {
            let along_sum = terms.sum_weight * corner_sum - terms.sum_pull;
            let along_difference =
                terms.difference_weight * corner_difference - terms.difference_pull;
            let left_slope = (along_sum - along_difference) + half.left;
            let right_slope = (along_sum + along_difference) + half.right;
            left_slope * (wanted.left - left) <= S::ZERO
                && right_slope * (wanted.right - right) <= S::ZERO
        }
    {
        spot(left, right, Lines::Both)
    } else {
        let both_weights = terms.sum_weight + terms.difference_weight;
        let turned = terms.difference_weight - terms.sum_weight;
        // On the line of one wheel the other's best torque is `reach / both_weights`.
        let on_left = if left_inside {
            None
        } else {
            let reach = (terms.sum_pull + terms.difference_pull) - half.right + turned * left;
            place(
                reach.per(both_weights),
                right_span,
                (sum_span.low.value - left, sum_span.high.value - left),
                (
                    difference_span.low.value + left,
                    difference_span.high.value + left,
                ),
            )
        };
        let on_right = if right_inside {
            None
        } else {
            let reach = (terms.sum_pull - terms.difference_pull) - half.left + turned * right;
            place(
                reach.per(both_weights),
                left_span,
                (sum_span.low.value - right, sum_span.high.value - right),
                (
                    right - difference_span.high.value,
                    right - difference_span.low.value,
                ),
            )
        };
        match (on_left, on_right) {
            (Some(other), None) => spot(left, other, Lines::Left),
            (None, Some(other)) => spot(other, right, Lines::Right),
            (Some(right_there), Some(left_there)) => {
                match (right_there == right, left_there == left) {
                    (true, true) => spot(left, right, Lines::Both),
                    (false, true) => spot(left, right_there, Lines::Left),
                    (true, false) => spot(left_there, right, Lines::Right),
                    (false, false) => return None,
                }
            }
            (None, None) => return None,
        }
    };
    let size = found.torque.left.magnitude() + found.torque.right.magnitude();
    // Beyond, 32 bits do not resolve the promise: the full method answers in finer arithmetic.
    if size < S::of(FINE_FROM) {
        Some(found)
    } else {
        None
    }
}

impl<S: Scalar> Spot<S> {
    /// The bounds the optimum rests on, or may: a bound that is only touched has no multiplier.
    #[inline(always)]
    pub fn found(&self, octagon: &Octagon<S>) -> Found<S> {
        let torque = self.torque;
        let mut active = Active::default();
        match self.lines {
            Lines::Neither => {
                active.sum = end(self.sum, &octagon.sum);
                active.difference = end(self.difference, &octagon.difference);
            }
            Lines::Both => {
                active.left = end(torque.left, &octagon.left);
                active.right = end(torque.right, &octagon.right);
            }
            Lines::Left => {
                active.left = end(torque.left, &octagon.left);
                active.right = end(torque.right, &octagon.right);
                if active.right == End::Free {
                    let (sum, difference) = (&octagon.sum, &octagon.difference);
                    active.sum = at(
                        torque.right,
                        sum.low.value - torque.left,
                        sum.high.value - torque.left,
                    );
                    if active.sum == End::Free {
                        active.difference = at(
                            torque.right,
                            difference.low.value + torque.left,
                            difference.high.value + torque.left,
                        );
                    }
                }
            }
            Lines::Right => {
                active.left = end(torque.left, &octagon.left);
                active.right = end(torque.right, &octagon.right);
                if active.left == End::Free {
                    let (sum, difference) = (&octagon.sum, &octagon.difference);
                    active.sum = at(
                        torque.left,
                        sum.low.value - torque.right,
                        sum.high.value - torque.right,
                    );
                    if active.sum == End::Free {
                        active.difference = at(
                            torque.left,
                            torque.right - difference.high.value,
                            torque.right - difference.low.value,
                        )
                        .mirrored();
                    }
                }
            }
        }
        Found { torque, active }
    }
}

#[inline(always)]
fn width<S: Scalar>(span: &NamedSpan<S>) -> S {
    span.high.value - span.low.value
}

/// The price with the sign all torques of the span have, if they have one.
#[inline(always)]
fn signed<S: Scalar>(price: S, span: &NamedSpan<S>) -> Option<S> {
    if span.low.value >= S::ZERO {
        Some(price)
    } else if span.high.value <= S::ZERO {
        Some(-price)
    } else {
        None
    }
}

#[inline(always)]
fn clipped<S: Scalar>(value: S, span: &NamedSpan<S>) -> S {
    value.at_most(span.high.value).at_least(span.low.value)
}

fn end<S: Scalar>(value: S, span: &NamedSpan<S>) -> End {
    at(value, span.low.value, span.high.value)
}

fn at<S: Scalar>(value: S, low: S, high: S) -> End {
    if value == low {
        End::Low
    } else if value == high {
        End::High
    } else {
        End::Free
    }
}

/// The torque nearest to `goal` within three spans, if they have one in common.
#[inline(always)]
fn place<S: Scalar>(goal: S, own: &NamedSpan<S>, sum: (S, S), tilt: (S, S)) -> Option<S> {
    let low = own.low.value.at_least(sum.0).at_least(tilt.0);
    let high = own.high.value.at_most(sum.1).at_most(tilt.1);
    if low > high {
        return None;
    }
    Some(goal.at_most(high).at_least(low))
}
