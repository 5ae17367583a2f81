//! In which order bounds enter when they contradict each other.
//!
//! Input: an octagon. Output: a group for each of its eight ends, 0 first. A rate bound that admits zero torque is in group
//! 0; then each [`Limit::rank`] has two groups, the odd one for bounds that admit zero, the even one for those that force
//! torque. Bounds that admit zero never contradict each other, so all before the first forcing group may enter at once.

use crate::numerics::Scalar;
use crate::signal::{Limit, NamedSpan, Octagon};

/// Last of the groups: rises, then two for each rank.
const LAST_GROUP: u8 = 12;

/// Place in the order of entering.
fn group_of(by: Limit, admits_zero: bool) -> u8 {
    if admits_zero && by == Limit::Rate {
        0
    } else {
        by.rank()
            .saturating_mul(2)
            .saturating_sub(u8::from(admits_zero))
    }
}

/// Groups of the two ends of a span.
#[derive(Clone, Copy)]
pub(super) struct Ends {
    pub low: u8,
    pub high: u8,
}

impl Ends {
    fn of<S: Scalar>(span: &NamedSpan<S>) -> Self {
        Self {
            low: group_of(span.low.by, span.low.value <= S::ZERO),
            high: group_of(span.high.by, span.high.value >= S::ZERO),
        }
    }

    pub fn enters(self, group: u8) -> bool {
        self.low == group || self.high == group
    }
}

/// Groups of all eight ends.
pub(super) struct Groups {
    pub left: Ends,
    pub right: Ends,
    pub sum: Ends,
    pub difference: Ends,
    /// One bit for each group that has an end.
    present: u16,
}

/// Which ends enter before the first that forces torque, low and high.
pub(super) struct Early {
    pub left: (bool, bool),
    pub right: (bool, bool),
    pub sum: (bool, bool),
    pub difference: (bool, bool),
}

impl Groups {
    pub fn of<S: Scalar>(octagon: &Octagon<S>) -> Self {
        let [left, right, sum, difference] = [
            &octagon.left,
            &octagon.right,
            &octagon.sum,
            &octagon.difference,
        ]
        .map(Ends::of);
        let present = [left, right, sum, difference]
            .iter()
            .fold(0_u16, |bits, ends: &Ends| {
                bits | bit(ends.low) | bit(ends.high)
            });
        Self {
            left,
            right,
            sum,
            difference,
            present,
        }
    }

    /// The first group whose bounds force torque: the even ones above zero do.
    pub fn first_forcing(&self) -> u8 {
        const FORCING: u16 = 0b1_0101_0101_0100;
        let forcing = self.present & FORCING;
        if forcing == 0 {
            LAST_GROUP.saturating_add(1)
        } else {
            forcing.trailing_zeros() as u8
        }
    }

    pub fn early(&self, first: u8) -> Early {
        let of = |ends: Ends| (ends.low < first, ends.high < first);
        Early {
            left: of(self.left),
            right: of(self.right),
            sum: of(self.sum),
            difference: of(self.difference),
        }
    }

    /// The groups that have an end, from one on, in order.
    pub fn from(&self, first: u8) -> impl Iterator<Item = u8> + use<> {
        let present = self.present;
        (first..=LAST_GROUP).filter(move |group| present & bit(*group) != 0)
    }
}

/// The bit of a group. Groups end below 16, which the compiler cannot know.
fn bit(group: u8) -> u16 {
    1_u16.wrapping_shl(u32::from(group))
}
