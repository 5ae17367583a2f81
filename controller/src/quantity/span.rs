//! An interval of a quantity.

use crate::numerics::Scalar;

/// From `low` to `high`, both included; empty when `low > high`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(C)]
pub struct Span<S> {
    /// Lower end.
    pub low: S,
    /// Upper end.
    pub high: S,
}

impl<S: Scalar> Span<S> {
    /// From `low` to `high`.
    pub fn new(low: S, high: S) -> Self {
        Self { low, high }
    }

    /// From `-size` to `size`.
    pub fn symmetric(size: S) -> Self {
        Self {
            low: -size,
            high: size,
        }
    }

    /// Whether the interval holds no number at all.
    pub fn is_empty(self) -> bool {
        !(self.low <= self.high)
    }

    /// Whether `value` lies inside, ends included; NaN never does.
    pub fn holds(self, value: S) -> bool {
        self.low <= value && value <= self.high
    }

    /// The nearest value inside.
    pub fn nearest(self, value: S) -> S {
        value.within(self.low, self.high)
    }

    /// Mirror image: from `-high` to `-low`.
    pub fn negated(self) -> Self {
        Self {
            low: -self.high,
            high: -self.low,
        }
    }
}
