//! Optimum of a quadratic with kinks on an octagon, in sum and difference.
//!
//! Inputs: the octagon and the quadratic [`Terms`]. Output: the torques and the bounds they rest on, or nothing if the
//! bounds contradict each other. Equations and proof: the page of the arbiter. Every expression treats left and right
//! alike, so a mirrored problem gives the mirrored bits.

use super::terms::{Terms, agrees, rounding};
use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{NamedSpan, Octagon};

/// Which end of a span the optimum rests on.
#[derive(Clone, Copy, PartialEq, Default)]
pub(super) enum End {
    /// Neither.
    #[default]
    Free,
    /// The lower.
    Low,
    /// The upper.
    High,
    /// No end: the kink of the price at zero.
    Kink,
}

impl End {
    pub fn mirrored(self) -> Self {
        match self {
            Self::Low => Self::High,
            Self::High => Self::Low,
            other => other,
        }
    }
}

/// What the optimum rests on; at most two are not free.
#[derive(Clone, Copy, PartialEq, Default)]
pub(super) struct Active {
    pub left: End,
    pub right: End,
    pub sum: End,
    pub difference: End,
}

/// An optimum.
#[derive(Clone, Copy)]
pub(super) struct Found<S> {
    pub torque: PerSide<S>,
    pub active: Active,
}

impl<S: Scalar> Found<S> {
    /// A point both wheels are held at.
    pub fn pinned(torque: PerSide<S>) -> Self {
        Self {
            torque,
            active: Active {
                left: End::Low,
                right: End::Low,
                ..Active::default()
            },
        }
    }

    /// Whether no bound holds the point: then no bound at all would give the same.
    pub fn rests_on_nothing(&self) -> bool {
        let Active {
            left,
            right,
            sum,
            difference,
        } = self.active;
        [left, right, sum, difference]
            .iter()
            .all(|end| matches!(end, End::Free | End::Kink))
    }

    /// Adding zero turns a negative zero into a positive one, so that mirroring is exact to the bit there too.
    fn new(torque: PerSide<S>, active: Active) -> Self {
        Self {
            torque: torque.map(|side| side + S::ZERO),
            active,
        }
    }

    /// A point on the line of the left wheel.
    fn on_left_line(left: (S, End), place: Place<S>) -> Self {
        let mut active = Active {
            left: left.1,
            ..Active::default()
        };
        match place.held {
            Held::Other => active.right = place.end,
            Held::Sum => active.sum = place.end,
            Held::Tilt => active.difference = place.end,
        }
        Self::new(
            PerSide {
                left: left.0,
                right: place.torque,
            },
            active,
        )
    }

    /// A point on the line of the right wheel; the tilt there is left minus right.
    fn on_right_line(right: (S, End), place: Place<S>) -> Self {
        Self::on_left_line(right, place).mirrored()
    }

    fn mirrored(self) -> Self {
        let active = self.active;
        Self {
            torque: self.torque.mirrored(),
            active: Active {
                left: active.right,
                right: active.left,
                sum: active.sum,
                difference: active.difference.mirrored(),
            },
        }
    }
}

/// The optimum on the octagon; nothing if the bounds were found to contradict each other.
pub(super) fn optimum<S: Scalar>(octagon: &Octagon<S>, terms: &Terms<S>) -> Option<Found<S>> {
    match (only_sign(octagon.left), only_sign(octagon.right)) {
        (Some(left), Some(right)) => signed(octagon, terms, PerSide { left, right }),
        (None, Some(right)) => left_straddles(octagon, terms, right),
        (Some(left), None) => {
            left_straddles(&octagon.mirrored(), &terms.mirrored(), left).map(Found::mirrored)
        }
        (None, None) => both_straddle(octagon, terms),
    }
}

/// The sign all torques of a span have, if they have the same.
fn only_sign<S: Scalar>(span: NamedSpan<S>) -> Option<S> {
    if span.low.value >= S::ZERO {
        Some(S::ONE)
    } else if span.high.value <= S::ZERO {
        Some(-S::ONE)
    } else {
        None
    }
}

fn left_straddles<S: Scalar>(octagon: &Octagon<S>, terms: &Terms<S>, right: S) -> Option<Found<S>> {
    let driving = signed(
        octagon,
        terms,
        PerSide {
            left: S::ONE,
            right,
        },
    )?;
    if driving.torque.left >= S::ZERO {
        return Some(driving);
    }
    let braking = signed(
        octagon,
        terms,
        PerSide {
            left: -S::ONE,
            right,
        },
    )?;
    if braking.torque.left <= S::ZERO {
        return Some(braking);
    }
    left_at_zero(octagon, terms)
}

/// Named by the signs assumed: left, then right.
fn both_straddle<S: Scalar>(octagon: &Octagon<S>, terms: &Terms<S>) -> Option<Found<S>> {
    let assume = |left: S, right: S| {
        let signs = PerSide { left, right };
        signed(octagon, terms, signs).map(|found| (found, agrees(found.torque, signs)))
    };
    let (plus_plus, both_drive) = assume(S::ONE, S::ONE)?;
    if both_drive {
        return Some(plus_plus);
    }
    let (minus_minus, both_brake) = assume(-S::ONE, -S::ONE)?;
    if both_brake {
        return Some(minus_minus);
    }
    let (plus_minus, left_drives) = assume(S::ONE, -S::ONE)?;
    let (minus_plus, right_drives) = assume(-S::ONE, S::ONE)?;
    // Opposite assumptions both true, or nothing true below, happens within rounding of no torque at all.
    let origin = Found::new(
        PerSide::both(S::ZERO),
        Active {
            left: End::Kink,
            right: End::Kink,
            ..Active::default()
        },
    );
    match (left_drives, right_drives) {
        (true, false) => return Some(plus_minus),
        (false, true) => return Some(minus_plus),
        (true, true) => return Some(origin),
        (false, false) => {}
    }
    let crosses = |if_driving: S, if_braking: S| if_driving <= S::ZERO && S::ZERO <= if_braking;
    let left_line = left_at_zero(octagon, terms).filter(|found| {
        let other = found.torque.right;
        (other > S::ZERO && crosses(plus_plus.torque.left, minus_plus.torque.left))
            || (other < S::ZERO && crosses(plus_minus.torque.left, minus_minus.torque.left))
    });
    let right_line = left_at_zero(&octagon.mirrored(), &terms.mirrored())
        .map(Found::mirrored)
        .filter(|found| {
            let other = found.torque.left;
            (other > S::ZERO && crosses(plus_plus.torque.right, plus_minus.torque.right))
                || (other < S::ZERO && crosses(minus_plus.torque.right, minus_minus.torque.right))
        });
    match (left_line, right_line) {
        (Some(found), None) | (None, Some(found)) => Some(found),
        _ => Some(origin),
    }
}

/// The optimum on the line where the left wheel has no torque.
fn left_at_zero<S: Scalar>(octagon: &Octagon<S>, terms: &Terms<S>) -> Option<Found<S>> {
    let goal = terms.right_beside_zero();
    let place = along(
        S::ZERO,
        goal,
        octagon.right,
        octagon.sum,
        octagon.difference,
    )?;
    let mut found = Found::on_left_line((S::ZERO, End::Kink), place);
    if found.active
        == (Active {
            left: End::Kink,
            ..Active::default()
        })
        && found.torque.right == S::ZERO
    {
        found.active.right = End::Kink;
    }
    Some(found)
}

/// The optimum on the octagon with the price of torques that have these signs.
fn signed<S: Scalar>(
    octagon: &Octagon<S>,
    terms: &Terms<S>,
    signs: PerSide<S>,
) -> Option<Found<S>> {
    let (sum_wanted, difference_wanted) = terms.priced(signs);
    let (sum, sum_end) = clipped(sum_wanted, octagon.sum);
    let (difference, difference_end) = clipped(difference_wanted, octagon.difference);
    let torque = PerSide::from_sum_difference(sum, difference);
    let (left, left_end) = clipped(torque.left, octagon.left);
    let (right, right_end) = clipped(torque.right, octagon.right);
    let on_left = || {
        let goal = terms.right_beside(left, signs.right);
        along(left, goal, octagon.right, octagon.sum, octagon.difference)
    };
    let on_right = || {
        let goal = terms.left_beside(right, signs.left);
        along(
            right,
            goal,
            octagon.left,
            octagon.sum,
            octagon.difference.negated(),
        )
    };
    match (left_end != End::Free, right_end != End::Free) {
        (false, false) => {
            let active = Active {
                sum: sum_end,
                difference: difference_end,
                ..Active::default()
            };
            Some(Found::new(torque, active))
        }
        (true, false) => Some(Found::on_left_line((left, left_end), on_left()?)),
        (false, true) => Some(Found::on_right_line((right, right_end), on_right()?)),
        (true, true) => match (on_left(), on_right()) {
            // A line that misses the octagon cannot hold the optimum.
            (None, None) => None,
            (Some(place), None) => Some(Found::on_left_line((left, left_end), place)),
            (None, Some(place)) => Some(Found::on_right_line((right, right_end), place)),
            (Some(at_left), Some(at_right)) => {
                match (at_left.torque == right, at_right.torque == left) {
                    (false, true) => Some(Found::on_left_line((left, left_end), at_left)),
                    (true, false) => Some(Found::on_right_line((right, right_end), at_right)),
                    _ => Some(Found::new(
                        PerSide { left, right },
                        Active {
                            left: left_end,
                            right: right_end,
                            ..Active::default()
                        },
                    )),
                }
            }
        },
    }
}

/// What holds the other wheel on a line.
#[derive(Clone, Copy)]
enum Held {
    Other,
    Sum,
    Tilt,
}

/// A place on a line: the other wheel's torque and what holds it.
#[derive(Clone, Copy)]
struct Place<S> {
    torque: S,
    held: Held,
    end: End,
}

/// The place nearest to `goal` on the line where one wheel has the torque `fixed`, if the line meets the octagon.
fn along<S: Scalar>(
    fixed: S,
    goal: S,
    other: NamedSpan<S>,
    sum: NamedSpan<S>,
    tilt: NamedSpan<S>,
) -> Option<Place<S>> {
    let (mut low, mut low_held) = (other.low.value, Held::Other);
    let (mut high, mut high_held) = (other.high.value, Held::Other);
    let ends = [
        (sum.low.value - fixed, sum.high.value - fixed, Held::Sum),
        (tilt.low.value + fixed, tilt.high.value + fixed, Held::Tilt),
    ];
    for (lower, upper, held) in ends {
        if lower > low {
            (low, low_held) = (lower, held);
        }
        if upper < high {
            (high, high_held) = (upper, held);
        }
    }
    if low > high {
        if low - high > rounding(fixed.magnitude() + (low.magnitude() + high.magnitude())) {
            return None;
        }
        // A set without width: rounding must not push the other wheel out of its own span.
        low = low.within(other.low.value, other.high.value);
        high = low;
    }
    Some(if goal < low {
        Place {
            torque: low,
            held: low_held,
            end: End::Low,
        }
    } else if goal > high {
        Place {
            torque: high,
            held: high_held,
            end: End::High,
        }
    } else {
        Place {
            torque: goal,
            held: Held::Other,
            end: End::Free,
        }
    })
}

fn clipped<S: Scalar>(value: S, span: NamedSpan<S>) -> (S, End) {
    if value > span.high.value {
        // Only rounding leaves a span inside out here; its middle mirrors, "the upper end wins" would not.
        let inside_out = value < span.low.value;
        let end = if inside_out {
            (span.low.value + span.high.value) * S::HALF
        } else {
            span.high.value
        };
        (end, End::High)
    } else if value < span.low.value {
        (span.low.value, End::Low)
    } else {
        (value, End::Free)
    }
}
