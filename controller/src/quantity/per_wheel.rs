//! One value per wheel, with sums that mirror exactly.

use super::PerSide;
use crate::numerics::Scalar;

/// A value for each of the four wheels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(C)]
pub struct PerWheel<T> {
    /// Front left.
    pub front_left: T,
    /// Front right.
    pub front_right: T,
    /// Rear left.
    pub rear_left: T,
    /// Rear right.
    pub rear_right: T,
}

impl<T: Copy> PerWheel<T> {
    /// From one pair per axle.
    #[inline(always)]
    pub fn from_axles(front: PerSide<T>, rear: PerSide<T>) -> Self {
        Self {
            front_left: front.left,
            front_right: front.right,
            rear_left: rear.left,
            rear_right: rear.right,
        }
    }

    /// The front pair.
    #[inline(always)]
    pub fn front(self) -> PerSide<T> {
        PerSide {
            left: self.front_left,
            right: self.front_right,
        }
    }

    /// The rear pair.
    #[inline(always)]
    pub fn rear(self) -> PerSide<T> {
        PerSide {
            left: self.rear_left,
            right: self.rear_right,
        }
    }

    /// A value per wheel from each wheel's value.
    #[inline(always)]
    pub fn map<U: Copy>(self, mut change: impl FnMut(T) -> U) -> PerWheel<U> {
        PerWheel::from_axles(self.front().map(&mut change), self.rear().map(&mut change))
    }

    /// A value per wheel from two values per wheel.
    #[inline(always)]
    pub fn zip<U: Copy, V: Copy>(
        self,
        other: PerWheel<U>,
        mut join: impl FnMut(T, U) -> V,
    ) -> PerWheel<V> {
        PerWheel::from_axles(
            self.front().zip(other.front(), &mut join),
            self.rear().zip(other.rear(), &mut join),
        )
    }

    /// Left and right exchanged.
    pub fn mirrored(self) -> Self {
        Self::from_axles(self.front().mirrored(), self.rear().mirrored())
    }
}

impl<S: Scalar> PerWheel<S> {
    /// Sum over the wheels, axle by axle, so that exchanging left and right changes no bit.
    #[inline(always)]
    pub fn sum(self) -> S {
        self.front().sum() + self.rear().sum()
    }

    /// Mean over the wheels.
    #[inline(always)]
    pub fn mean(self) -> S {
        self.sum() * S::HALF * S::HALF
    }
}
