//! Makes contradicting bounds consistent: the bound of better rank stays.
//!
//! Input: an octagon as the authority built it, possibly empty or broken. Output: a non-empty octagon and the name of
//! the best-ranked limit that had to give way (`Nothing` when none had).
//!
//! Rules, in this order:
//! 1. A span with an end that is not finite is broken: it becomes "no torque", set by `Fault`. A broken span of sum or
//!    difference takes the torque of both wheels, because alone it would still allow opposite torques.
//! 2. Bounds that admit zero torque never contradict each other. So every contradiction has a bound that forces torque.
//! 3. A rate bound that admits zero limits a rise, and rises are always bounded: it comes before everything.
//! 4. Then by [`Limit::rank`]; within a rank the bounds that admit zero come first, the forcing ones after them.
//! 5. A bound that contradicts what is already kept moves just far enough to touch it. When the wheels' bounds only
//!    contradict together, both move by the same amount, neither past zero while the other still can move.
//!
//! Bounds that do not contradict keep their values and names.

use super::LARGEST;
use super::order::{Ends, Groups};
use crate::numerics::Scalar;
use crate::quantity::Span;
use crate::signal::{Bound, Limit, NamedSpan, Octagon};

/// A consistent octagon, and the best-ranked limit that gave way.
pub fn resolve<S: Scalar>(octagon: &Octagon<S>) -> (Octagon<S>, Limit) {
    let sound = sound(octagon);
    if consistent(&sound) {
        (sound, Limit::Nothing)
    } else {
        by_rank(&sound)
    }
}

/// Whether the eight bounds have a point in common, but for rounding; a bound that is not a number says no.
///
/// Twelve comparisons are enough: with normals in eight directions of a plane, bounds without a common point contradict each
/// other in a pair of opposite ones, in a pair of wheels with sum or difference, or in a wheel with both (Helly's theorem:
/// three at most).
#[inline(always)]
pub fn consistent<S: Scalar>(octagon: &Octagon<S>) -> bool {
    let Octagon {
        left,
        right,
        sum,
        difference,
    } = octagon;
    let (l, r) = (
        (left.low.value, left.high.value),
        (right.low.value, right.high.value),
    );
    let (s, d) = (
        (sum.low.value, sum.high.value),
        (difference.low.value, difference.high.value),
    );
    // Without a short way out: one jump for all of them is cheaper.
    (l.0 <= l.1)
        & (r.0 <= r.1)
        & (s.0 <= s.1)
        & (d.0 <= d.1)
        & (l.0 + r.0 <= s.1)
        & (s.0 <= l.1 + r.1)
        & (r.0 - l.1 <= d.1)
        & (d.0 <= r.1 - l.0)
        & (s.0 - d.1 <= l.1 + l.1)
        & (l.0 + l.0 <= s.1 - d.0)
        & (s.0 + d.0 <= r.1 + r.1)
        & (r.0 + r.0 <= s.1 + d.1)
}

fn by_rank<S: Scalar>(wanted: &Octagon<S>) -> (Octagon<S>, Limit) {
    let mut result = *wanted;
    // What a wheel cannot do never gives way to a floor of the other wheel: a clutch cannot push against its slip, and a
    // rise bound may hide behind a tighter friction bound. Such bounds admit zero, so they contradict nothing.
    let mut grouped = *wanted;
    for span in [&mut grouped.left, &mut grouped.right] {
        if span.low.value > span.high.value {
            // The wheel contradicts itself: rank decides.
            continue;
        }
        if span.low.value <= S::ZERO {
            span.low.by = Limit::Rate;
        }
        if span.high.value >= S::ZERO {
            span.high.by = Limit::Rate;
        }
    }
    let wanted = &grouped;
    let groups = Groups::of(wanted);
    let mut loser = Limit::Nothing;
    let mut kept = Plain::<S>::everything();
    // Bounds that force no torque never contradict each other: those before the first forcing one enter all at once.
    let first = groups.first_forcing();
    let early = groups.early(first);
    for span in [
        (&mut kept.left, wanted.left, early.left),
        (&mut kept.right, wanted.right, early.right),
        (&mut kept.sum, wanted.sum, early.sum),
        (&mut kept.difference, wanted.difference, early.difference),
    ] {
        let (kept, wanted, (low, high)) = span;
        if low {
            kept.low = kept.low.at_least(wanted.low.value);
        }
        if high {
            kept.high = kept.high.at_most(wanted.high.value);
        }
    }
    // Tightened before it is looked at, and only if something has changed since: after the last bound nobody looks.
    let mut changed = true;
    for group in groups.from(first) {
        let mut lost = Limit::Nothing;
        let (left_enters, right_enters) = (groups.left.enters(group), groups.right.enters(group));
        if left_enters || right_enters {
            kept = kept.renewed(&mut changed);
            let mut left = entering(wanted.left, kept.left, groups.left, group);
            let mut right = entering(wanted.right, kept.right, groups.right, group);
            share(&mut left, &mut right, &kept);
            // By number, not by side: the name must not depend on the mirror.
            lost = first_named(
                settle(&mut result.left, wanted.left, left, groups.left, group),
                settle(&mut result.right, wanted.right, right, groups.right, group),
            );
            changed = kept.left != left || kept.right != right;
            (kept.left, kept.right) = (left, right);
        }
        if groups.sum.enters(group) {
            kept = kept.renewed(&mut changed);
            let sum = entering(wanted.sum, kept.sum, groups.sum, group);
            lost = first_named(
                lost,
                settle(&mut result.sum, wanted.sum, sum, groups.sum, group),
            );
            changed = kept.sum != sum;
            kept.sum = sum;
        }
        if groups.difference.enters(group) {
            kept = kept.renewed(&mut changed);
            let difference = entering(wanted.difference, kept.difference, groups.difference, group);
            lost = first_named(
                lost,
                settle(
                    &mut result.difference,
                    wanted.difference,
                    difference,
                    groups.difference,
                    group,
                ),
            );
            changed = kept.difference != difference;
            kept.difference = difference;
        }
        if loser == Limit::Nothing {
            loser = lost;
        }
    }
    for span in [&mut result.left, &mut result.right] {
        // Rounding may leave the ends of one point crossed: the end nearer to zero stays.
        if span.low.value > span.high.value {
            if span.high.value >= S::ZERO {
                span.low.value = span.high.value;
            } else {
                span.high.value = span.low.value.least(S::ZERO);
            }
        }
    }
    (result, loser)
}

/// Four spans without names.
#[derive(Clone, Copy)]
struct Plain<S> {
    left: Span<S>,
    right: Span<S>,
    sum: Span<S>,
    difference: Span<S>,
}

impl<S: Scalar> Plain<S> {
    fn everything() -> Self {
        let wheel = Span::symmetric(S::of(LARGEST));
        let both = Span::symmetric(S::of(2.0 * LARGEST));
        Self {
            left: wheel,
            right: wheel,
            sum: both,
            difference: both,
        }
    }

    /// Every bound as tight as two others make it; one pass is complete, because in a plane two bounds imply a third.
    fn tightened(self) -> Self {
        let Self {
            left,
            right,
            sum,
            difference,
        } = self;
        let two = S::of(2.0);
        // The spans are numbers by now, so the cheap comparisons do.
        let high = |own: S, one: S, two: S, three: S| own.at_most(one).at_most(two).at_most(three);
        let low =
            |own: S, one: S, two: S, three: S| own.at_least(one).at_least(two).at_least(three);
        Self {
            left: Span::new(
                low(
                    left.low,
                    sum.low - right.high,
                    (sum.low - difference.high) * S::HALF,
                    right.low - difference.high,
                ),
                high(
                    left.high,
                    sum.high - right.low,
                    (sum.high - difference.low) * S::HALF,
                    right.high - difference.low,
                ),
            ),
            right: Span::new(
                low(
                    right.low,
                    sum.low - left.high,
                    (sum.low + difference.low) * S::HALF,
                    left.low + difference.low,
                ),
                high(
                    right.high,
                    sum.high - left.low,
                    (sum.high + difference.high) * S::HALF,
                    left.high + difference.high,
                ),
            ),
            sum: Span::new(
                low(
                    sum.low,
                    left.low + right.low,
                    two * left.low + difference.low,
                    two * right.low - difference.high,
                ),
                high(
                    sum.high,
                    left.high + right.high,
                    two * left.high + difference.high,
                    two * right.high - difference.low,
                ),
            ),
            difference: Span::new(
                low(
                    difference.low,
                    right.low - left.high,
                    sum.low - two * left.high,
                    two * right.low - sum.high,
                ),
                high(
                    difference.high,
                    right.high - left.low,
                    sum.high - two * left.low,
                    two * right.high - sum.low,
                ),
            ),
        }
    }

    /// Spans that rounding turned inside out become their middle: "the upper end wins" would not mirror.
    fn mended(self) -> Self {
        let mend = |span: Span<S>| {
            if span.is_empty() {
                let middle = (span.low + span.high) * S::HALF;
                Span::new(middle, middle)
            } else {
                span
            }
        };
        Self {
            left: mend(self.left),
            right: mend(self.right),
            sum: mend(self.sum),
            difference: mend(self.difference),
        }
    }

    /// Tightened and mended, if something has changed.
    fn renewed(self, changed: &mut bool) -> Self {
        if *changed {
            *changed = false;
            self.tightened().mended()
        } else {
            self
        }
    }
}

/// The kept span with this group's bounds added, each moved until it touches what is kept.
fn entering<S: Scalar>(wanted: NamedSpan<S>, kept: Span<S>, ends: Ends, group: u8) -> Span<S> {
    let low = if ends.low == group {
        kept.nearest(wanted.low.value)
    } else {
        kept.low
    };
    let high = if ends.high == group {
        kept.nearest(wanted.high.value)
    } else {
        kept.high
    };
    if low > high {
        // Two bounds of one group that force torque in opposite directions.
        let middle = kept.nearest(S::ZERO);
        Span::new(middle, middle)
    } else {
        Span::new(low, high)
    }
}

/// Moves the wheels' spans apart from a contradiction they only have together.
fn share<S: Scalar>(left: &mut Span<S>, right: &mut Span<S>, kept: &Plain<S>) {
    if left.low + right.low > kept.sum.high {
        (left.low, right.low) = lowered(
            left.low,
            right.low,
            kept.sum.high,
            kept.left.low,
            kept.right.low,
        );
    }
    if left.high + right.high < kept.sum.low {
        let (l, r) = lowered(
            -left.high,
            -right.high,
            -kept.sum.low,
            -kept.left.high,
            -kept.right.high,
        );
        (left.high, right.high) = (-l, -r);
    }
    if right.low - left.high > kept.difference.high {
        let (r, l) = lowered(
            right.low,
            -left.high,
            kept.difference.high,
            kept.right.low,
            -kept.left.high,
        );
        (right.low, left.high) = (r, -l);
    }
    if left.low - right.high > -kept.difference.low {
        let (l, r) = lowered(
            left.low,
            -right.high,
            -kept.difference.low,
            kept.left.low,
            -kept.right.high,
        );
        (left.low, right.high) = (l, -r);
    }
}

/// Two numbers lowered by the same amount until their sum is `most`; past zero, and then to their floors, only if the
/// other cannot give more.
fn lowered<S: Scalar>(one: S, other: S, most: S, one_floor: S, other_floor: S) -> (S, S) {
    let (mut one, mut other) = (one, other);
    let stops = [
        (
            one_floor.most(one.least(S::ZERO)),
            other_floor.most(other.least(S::ZERO)),
        ),
        (one_floor, other_floor),
    ];
    for (one_stop, other_stop) in stops {
        let half = ((one + other - most) * S::HALF).most(S::ZERO);
        let (first, second) = ((one - half).most(one_stop), (other - half).most(other_stop));
        let rest = (first + second - most).most(S::ZERO);
        (one, other) = (
            (first - rest).most(one_stop),
            (second - rest).most(other_stop),
        );
    }
    (one, other)
}

/// Writes the moved ends of this group into the result and names the best of those that gave way.
fn settle<S: Scalar>(
    result: &mut NamedSpan<S>,
    wanted: NamedSpan<S>,
    entered: Span<S>,
    ends: Ends,
    group: u8,
) -> Limit {
    let mut lost = Limit::Nothing;
    if ends.low == group && entered.low < wanted.low.value {
        result.low.value = entered.low;
        lost = first_named(lost, wanted.low.by);
    }
    if ends.high == group && entered.high > wanted.high.value {
        result.high.value = entered.high;
        lost = first_named(lost, wanted.high.by);
    }
    lost
}

fn first_named(one: Limit, other: Limit) -> Limit {
    match (one, other) {
        (Limit::Nothing, named) | (named, Limit::Nothing) => named,
        _ if other.number() < one.number() => other,
        _ => one,
    }
}

fn sound<S: Scalar>(octagon: &Octagon<S>) -> Octagon<S> {
    let none = NamedSpan::new(S::ZERO, S::ZERO, Limit::Fault);
    let broken = |span: NamedSpan<S>| !(span.low.value.is_finite() && span.high.value.is_finite());
    if broken(octagon.sum) || broken(octagon.difference) {
        return Octagon {
            left: none,
            right: none,
            sum: none,
            difference: none,
        };
    }
    let largest = S::of(LARGEST);
    let clipped = |span: NamedSpan<S>| NamedSpan {
        low: Bound::new(span.low.value.within(-largest, largest), span.low.by),
        high: Bound::new(span.high.value.within(-largest, largest), span.high.by),
    };
    let wheel = |span: NamedSpan<S>| if broken(span) { none } else { clipped(span) };
    Octagon {
        left: wheel(octagon.left),
        right: wheel(octagon.right),
        sum: clipped(octagon.sum),
        difference: clipped(octagon.difference),
    }
}
