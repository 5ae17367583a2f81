//! Values per side and per wheel, with sums that do not prefer a side.
//!
//! Inputs and outputs: any copyable value. A mirror along the x axis exchanges left and right; sums over four wheels go
//! (front left + front right) + (rear left + rear right), so a mirrored sum is equal to the last bit. The types do not
//! protect against mixing up wheel and shaft torque, nor left and right.

use core::ops::Add;
use wide::f64x4;

/// One value for each side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PerSide<T> {
    /// Value of the left side.
    pub left: T,
    /// Value of the right side.
    pub right: T,
}

impl<T: Copy> PerSide<T> {
    /// The same value on both sides.
    pub fn both(value: T) -> Self {
        Self {
            left: value,
            right: value,
        }
    }

    /// Applies a function to both sides.
    pub fn map<U>(self, mut function: impl FnMut(T) -> U) -> PerSide<U> {
        PerSide {
            left: function(self.left),
            right: function(self.right),
        }
    }

    /// Joins two sets side by side with a function.
    pub fn zip<U: Copy, V>(self, other: PerSide<U>, mut join: impl FnMut(T, U) -> V) -> PerSide<V> {
        PerSide {
            left: join(self.left, other.left),
            right: join(self.right, other.right),
        }
    }

    /// Pairs two sets side by side.
    pub fn pair<U: Copy>(self, other: PerSide<U>) -> PerSide<(T, U)> {
        PerSide {
            left: (self.left, other.left),
            right: (self.right, other.right),
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

impl<T: Copy + Add<Output = T>> PerSide<T> {
    /// Left plus right.
    pub fn sum(self) -> T {
        self.left + self.right
    }
}

/// One value for each wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PerWheel<T> {
    /// Value of the front left wheel.
    pub front_left: T,
    /// Value of the front right wheel.
    pub front_right: T,
    /// Value of the rear left wheel.
    pub rear_left: T,
    /// Value of the rear right wheel.
    pub rear_right: T,
}

impl<T: Copy> PerWheel<T> {
    /// The same value at every wheel.
    pub fn all(value: T) -> Self {
        Self {
            front_left: value,
            front_right: value,
            rear_left: value,
            rear_right: value,
        }
    }

    /// Joins the pairs of two axles.
    pub fn from_axles(front: PerSide<T>, rear: PerSide<T>) -> Self {
        Self {
            front_left: front.left,
            front_right: front.right,
            rear_left: rear.left,
            rear_right: rear.right,
        }
    }

    /// The front pair.
    pub fn front(self) -> PerSide<T> {
        PerSide {
            left: self.front_left,
            right: self.front_right,
        }
    }

    /// The rear pair.
    pub fn rear(self) -> PerSide<T> {
        PerSide {
            left: self.rear_left,
            right: self.rear_right,
        }
    }

    /// Applies a function to every wheel.
    pub fn map<U>(self, mut function: impl FnMut(T) -> U) -> PerWheel<U> {
        PerWheel {
            front_left: function(self.front_left),
            front_right: function(self.front_right),
            rear_left: function(self.rear_left),
            rear_right: function(self.rear_right),
        }
    }

    /// Joins two sets wheel by wheel with a function.
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

    /// Pairs two sets wheel by wheel.
    pub fn pair<U: Copy>(self, other: PerWheel<U>) -> PerWheel<(T, U)> {
        PerWheel {
            front_left: (self.front_left, other.front_left),
            front_right: (self.front_right, other.front_right),
            rear_left: (self.rear_left, other.rear_left),
            rear_right: (self.rear_right, other.rear_right),
        }
    }

    /// Left and right exchanged on both axles.
    pub fn mirrored(self) -> Self {
        Self::from_axles(self.front().mirrored(), self.rear().mirrored())
    }
}

impl<T: Copy + Add<Output = T>> PerWheel<T> {
    /// Sum over the wheels, pair by pair.
    pub fn sum(self) -> T {
        self.front().sum() + self.rear().sum()
    }
}

impl PerWheel<f64> {
    /// The four numbers side by side, in the order of the fields.
    #[inline(always)]
    pub fn lanes(self) -> f64x4 {
        f64x4::new([
            self.front_left,
            self.front_right,
            self.rear_left,
            self.rear_right,
        ])
    }

    /// From four numbers side by side.
    #[inline(always)]
    pub fn of_lanes(lanes: f64x4) -> Self {
        let [front_left, front_right, rear_left, rear_right] = lanes.to_array();
        Self {
            front_left,
            front_right,
            rear_left,
            rear_right,
        }
    }

    /// Each number plus `share` of another.
    #[inline(always)]
    pub fn plus(self, share: f64, other: Self) -> Self {
        Self::of_lanes(self.lanes() + f64x4::splat(share) * other.lanes())
    }
}

/// Comparisons of one instruction each in the plant's inner loops; the standard ones take five, for numbers that are none.
///
/// Where either number is none, the result is the argument.
pub trait Compared {
    /// The larger of both.
    fn larger(self, other: f64) -> f64;
    /// The smaller of both.
    fn smaller(self, other: f64) -> f64;
    /// Within low and high; low where they contradict each other.
    fn bounded(self, low: f64, high: f64) -> f64;
}

impl Compared for f64 {
    #[inline(always)]
    fn larger(self, other: f64) -> f64 {
        if self > other { self } else { other }
    }

    #[inline(always)]
    fn smaller(self, other: f64) -> f64 {
        if self < other { self } else { other }
    }

    #[inline(always)]
    fn bounded(self, low: f64, high: f64) -> f64 {
        self.smaller(high).larger(low)
    }
}
