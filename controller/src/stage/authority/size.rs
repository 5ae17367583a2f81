//! Size of torque one clutch may have, both ends with the name of what set them.

use super::Sense;
use crate::numerics::Scalar;
use crate::signal::{Bound, Limit, NamedSpan};

/// Least and largest size, each with its name.
pub(super) struct SizeBound<S> {
    /// Least size, Nm.
    pub low: Bound<S>,
    /// Largest size, Nm.
    pub high: Bound<S>,
}

impl<S: Scalar> SizeBound<S> {
    /// At most this size, Nm; what is negative or no number leaves nothing.
    pub(super) fn cap(&mut self, size: S, by: Limit) {
        let size = if size > S::ZERO { size } else { S::ZERO };
        if size < self.high.value {
            self.high = Bound::new(size, by);
        }
    }

    /// Like [`Self::cap`]; at no torque at all the better rank names the bound, so that nothing softer hides an order.
    pub(super) fn order(&mut self, size: S, by: Limit) {
        self.cap(size, by);
        if !(size > S::ZERO) && by.rank() < self.high.by.rank() {
            self.high.by = by;
        }
    }

    /// The span of torque that this size leaves in a direction.
    pub(super) fn signed(&self, sense: Sense) -> NamedSpan<S> {
        let name_low = if self.low.value > S::ZERO {
            self.low.by
        } else {
            Limit::SlipDirection
        };
        match sense {
            Sense::Backward => NamedSpan {
                low: Bound::new(-self.high.value, self.high.by),
                high: Bound::new(-self.low.value, name_low),
            },
            Sense::Forward | Sense::Unknown => NamedSpan {
                low: Bound::new(self.low.value, name_low),
                high: self.high,
            },
        }
    }
}
