//! A measured value and what became of it: fresh, held, or lost.

use crate::numerics::Scalar;

/// What is known of a measured quantity. There are three truths, so there are three names.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Sensed<S> {
    /// Measured in time, finite and inside its range.
    Fresh(S),
    /// The last good value, still believable.
    Held {
        /// Last good value.
        value: S,
        /// Its age, s.
        age_s: S,
    },
    /// Nothing believable is left.
    #[default]
    Lost,
}

impl<S: Scalar> Sensed<S> {
    /// The value, or `otherwise` when it is lost: the caller names its worst believable value.
    #[inline(always)]
    pub fn or(self, otherwise: S) -> S {
        match self {
            Self::Fresh(value) | Self::Held { value, .. } => value,
            Self::Lost => otherwise,
        }
    }

    /// Whether the value was measured in time.
    #[inline(always)]
    pub fn is_fresh(self) -> bool {
        matches!(self, Self::Fresh(_))
    }

    /// Whether nothing believable is left.
    #[inline(always)]
    pub fn is_lost(self) -> bool {
        matches!(self, Self::Lost)
    }

    /// Two values joined; the result is as good as the worse of them.
    pub fn join(self, other: Self, join: impl FnOnce(S, S) -> S) -> Self {
        match (self, other) {
            (Self::Fresh(one), Self::Fresh(two)) => Self::Fresh(join(one, two)),
            (Self::Lost, _) | (_, Self::Lost) => Self::Lost,
            (one, two) => Self::Held {
                value: join(one.or(S::ZERO), two.or(S::ZERO)),
                age_s: one.age_s().most(two.age_s()),
            },
        }
    }

    /// Age of a held value, s; zero for a fresh one, and for a lost one, which has none.
    pub fn age_s(self) -> S {
        match self {
            Self::Held { age_s, .. } => age_s,
            Self::Fresh(_) | Self::Lost => S::ZERO,
        }
    }

    /// The value changed by a function, with its standing kept.
    #[inline(always)]
    pub fn map(self, change: impl FnOnce(S) -> S) -> Self {
        match self {
            Self::Fresh(value) => Self::Fresh(change(value)),
            Self::Held { value, age_s } => Self::Held {
                value: change(value),
                age_s,
            },
            Self::Lost => Self::Lost,
        }
    }
}
