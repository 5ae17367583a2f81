//! One value per side of the rear axle.

use crate::numerics::Scalar;

/// A value for the left and one for the right.
///
/// It does not protect against mixing wheel torque with shaft torque; the field name says which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(C)]
pub struct PerSide<T> {
    /// Left side, seen in driving direction.
    pub left: T,
    /// Right side.
    pub right: T,
}

impl<T: Copy> PerSide<T> {
    /// The same value on both sides.
    #[inline(always)]
    pub fn both(value: T) -> Self {
        Self {
            left: value,
            right: value,
        }
    }

    /// A value per side from each side's value.
    #[inline(always)]
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> PerSide<U> {
        PerSide {
            left: change(self.left),
            right: change(self.right),
        }
    }

    /// A value per side from two values per side.
    #[inline(always)]
    pub fn zip<U: Copy, V>(self, other: PerSide<U>, mut join: impl FnMut(T, U) -> V) -> PerSide<V> {
        PerSide {
            left: join(self.left, other.left),
            right: join(self.right, other.right),
        }
    }

    /// Left and right exchanged.
    pub fn mirrored(self) -> Self {
        Self {
            left: self.right,
            right: self.left,
        }
    }
}

impl<S: Scalar> PerSide<S> {
    /// Left plus right.
    #[inline(always)]
    pub fn sum(self) -> S {
        self.left + self.right
    }

    /// Right minus left: positive turns the car to the left when it is a driving torque.
    #[inline(always)]
    pub fn difference(self) -> S {
        self.right - self.left
    }

    /// Both sides from their sum and difference (right minus left).
    #[inline(always)]
    pub fn from_sum_difference(sum: S, difference: S) -> Self {
        Self {
            left: (sum - difference) * S::HALF,
            right: (sum + difference) * S::HALF,
        }
    }

    /// The larger of the two.
    #[inline(always)]
    pub fn larger(self) -> S {
        self.left.most(self.right)
    }
}
