//! The two traits the whole law is generic over, and their three instances.
//!
//! [`Scalar`] is what a stage needs to add, compare and divide without surprises; [`Real`] adds the transcendental
//! functions. `f32` is the product, `f64` the reference it is compared with, [`Fast`] trades accuracy for instructions.
//! Every operation is total: there is no value for which one of them panics, and every comparison is written so that a
//! NaN ends in the branch that asks for less torque. Mirroring left and right is exact in `f32` and `f64` (all functions
//! used are odd or even to the last bit); it is not promised for [`Fast`].

use core::fmt::Debug;
use core::ops::{Add, Mul, Neg, Sub};

/// A number of the law: ordered, closed under addition, subtraction, multiplication and total division.
pub trait Scalar:
    Copy
    + Debug
    + Default
    + PartialEq
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
    + 'static
{
    /// Zero.
    const ZERO: Self;
    /// One half.
    const HALF: Self;
    /// One.
    const ONE: Self;

    /// Lets a finite number in; NaN and infinities stay outside.
    fn admit(value: f32) -> Option<Self>;

    /// A number already known to be finite (a catalogue value, a literal of mathematics such as 2).
    ///
    /// A value that is not finite becomes zero.
    fn of(value: f32) -> Self {
        Self::admit(value).unwrap_or(Self::ZERO)
    }

    /// A value the caller has shown to be a number, as it is.
    fn of_number(value: f32) -> Self;

    /// The number as it crosses the border outwards.
    fn to_f32(self) -> f32;

    /// Quotient, or `if_zero` when the divisor is zero or the quotient is not finite.
    fn over(self, divisor: Self, if_zero: Self) -> Self;

    /// Quotient of a believable number and a divisor away from zero, such as a length of the calibration: nothing to check.
    fn per(self, divisor: Self) -> Self;

    /// Whether the number is neither NaN nor infinite.
    fn is_finite(self) -> bool;

    /// Whole number as a scalar; large numbers are rounded.
    fn from_whole(whole: i64) -> Self;

    /// Nearest whole number, halves away from zero; zero for NaN, saturating at the ends of the range.
    fn to_whole(self) -> i64;

    /// The smaller of two; a NaN loses.
    fn least(self, other: Self) -> Self {
        // Not a number comes out only where the other is none.
        let smaller = if self < other { self } else { other };
        if smaller.is_nan() { self } else { smaller }
    }

    /// The larger of two; a NaN loses.
    fn most(self, other: Self) -> Self {
        let larger = if self > other { self } else { other };
        if larger.is_nan() { self } else { larger }
    }

    /// The smaller of this and a bound that is a number; not a number ends at the bound. Cheaper than [`Self::least`].
    fn at_most(self, bound: Self) -> Self {
        if self < bound { self } else { bound }
    }

    /// The larger of this and a bound that is a number; not a number ends at the bound. Cheaper than [`Self::most`].
    fn at_least(self, bound: Self) -> Self {
        if self > bound { self } else { bound }
    }

    /// Whether this is not a number.
    #[allow(clippy::eq_op)]
    fn is_nan(self) -> bool {
        self.partial_cmp(&self).is_none()
    }

    /// Whether this is a number above zero, infinity excluded.
    fn is_above_zero(self) -> bool;

    /// Clipped to `low..=high`; a NaN becomes zero clipped to the same range.
    fn within(self, low: Self, high: Self) -> Self {
        let value = if self.is_nan() { Self::ZERO } else { self };
        let value = if low > value { low } else { value };
        if high < value { high } else { value }
    }

    /// Clipped to `0..=high`, a bound that is a number; a NaN becomes zero.
    fn up_to(self, high: Self) -> Self {
        self.at_least(Self::ZERO).at_most(high)
    }

    /// Distance from zero.
    fn magnitude(self) -> Self {
        if self < Self::ZERO { -self } else { self }
    }

    /// This number's size with the sign of `other`; zero has no sign and gives zero.
    fn signed_like(self, other: Self) -> Self {
        if other > Self::ZERO {
            self.magnitude()
        } else if other < Self::ZERO {
            -self.magnitude()
        } else {
            Self::ZERO
        }
    }

    /// The square.
    fn squared(self) -> Self {
        self * self
    }
}

/// A scalar with the transcendental functions the law uses.
pub trait Real: Scalar {
    /// Square root; zero for negative numbers.
    fn square_root(self) -> Self;
    /// Angle of the point (`x`, `self`) from the x axis, rad.
    fn arctangent2(self, x: Self) -> Self;
    /// The exponential function.
    fn exponential(self) -> Self;
    /// Sine of an angle in rad.
    fn sine(self) -> Self;
    /// Cosine of an angle in rad.
    fn cosine(self) -> Self;
    /// Sine and cosine of an angle in rad, the same bits as one by one.
    fn sine_cosine(self) -> (Self, Self) {
        (self.sine(), self.cosine())
    }
}

impl Scalar for f32 {
    const ZERO: Self = 0.0;
    const HALF: Self = 0.5;
    const ONE: Self = 1.0;

    fn admit(value: f32) -> Option<Self> {
        value.is_finite().then_some(value)
    }

    fn of_number(value: f32) -> Self {
        value
    }

    fn to_f32(self) -> f32 {
        self
    }

    fn over(self, divisor: Self, if_zero: Self) -> Self {
        // By zero nothing finite comes out: the quotient alone tells.
        let quotient = self / divisor;
        if quotient.is_finite() {
            quotient
        } else {
            if_zero
        }
    }

    fn per(self, divisor: Self) -> Self {
        self / divisor
    }

    fn is_finite(self) -> bool {
        f32::is_finite(self)
    }

    fn is_above_zero(self) -> bool {
        0.0 < self && self <= f32::MAX
    }

    fn is_nan(self) -> bool {
        f32::is_nan(self)
    }

    fn magnitude(self) -> Self {
        self.abs()
    }

    fn signed_like(self, other: Self) -> Self {
        if other.abs() > 0.0 {
            self.copysign(other)
        } else {
            0.0
        }
    }

    fn from_whole(whole: i64) -> Self {
        // A machine of 32 bits turns a small number with one instruction; a large one costs it thirty.
        match i32::try_from(whole) {
            Ok(small) if cfg!(target_pointer_width = "32") => small as f32,
            _ => whole as f32,
        }
    }

    fn to_whole(self) -> i64 {
        // Adding a whole half would round odd numbers above 2^23 up by one, and the number below a half to one.
        let nearly_half: f32 = 0.499_999_97;
        let whole = self + nearly_half.copysign(self);
        if cfg!(target_pointer_width = "32") && whole.abs() < 2_147_483_648.0 {
            return i64::from(whole as i32);
        }
        whole as i64
    }
}

impl Real for f32 {
    fn square_root(self) -> Self {
        if self > 0.0 { root(self) } else { 0.0 }
    }

    fn arctangent2(self, x: Self) -> Self {
        libm::atan2f(self, x)
    }

    fn exponential(self) -> Self {
        libm::expf(self)
    }

    fn sine(self) -> Self {
        self.sine_cosine().0
    }

    fn cosine(self) -> Self {
        self.sine_cosine().1
    }

    #[inline(always)]
    fn sine_cosine(self) -> (Self, Self) {
        super::angle::sine_cosine(self)
    }
}

#[cfg(all(target_arch = "arm", target_abi = "eabihf"))]
use couplet_machine::square_root as root;
#[cfg(not(all(target_arch = "arm", target_abi = "eabihf")))]
use libm::sqrtf as root;

impl Scalar for f64 {
    const ZERO: Self = 0.0;
    const HALF: Self = 0.5;
    const ONE: Self = 1.0;

    fn admit(value: f32) -> Option<Self> {
        value.is_finite().then_some(f64::from(value))
    }

    fn of_number(value: f32) -> Self {
        f64::from(value)
    }

    fn to_f32(self) -> f32 {
        self as f32
    }

    fn over(self, divisor: Self, if_zero: Self) -> Self {
        // By zero nothing finite comes out: the quotient alone tells.
        let quotient = self / divisor;
        if quotient.is_finite() {
            quotient
        } else {
            if_zero
        }
    }

    fn per(self, divisor: Self) -> Self {
        self / divisor
    }

    fn is_finite(self) -> bool {
        f64::is_finite(self)
    }

    fn is_above_zero(self) -> bool {
        0.0 < self && self <= f64::MAX
    }

    fn is_nan(self) -> bool {
        f64::is_nan(self)
    }

    fn magnitude(self) -> Self {
        self.abs()
    }

    fn signed_like(self, other: Self) -> Self {
        if other.abs() > 0.0 {
            self.copysign(other)
        } else {
            0.0
        }
    }

    fn from_whole(whole: i64) -> Self {
        whole as f64
    }

    fn to_whole(self) -> i64 {
        // Adding a whole half would round odd numbers above 2^52 up by one, and the number below a half to one.
        let nearly_half: f64 = 0.499_999_999_999_999_94;
        (self + nearly_half.copysign(self)) as i64
    }
}

impl Real for f64 {
    fn square_root(self) -> Self {
        if self > 0.0 { libm::sqrt(self) } else { 0.0 }
    }

    fn arctangent2(self, x: Self) -> Self {
        libm::atan2(self, x)
    }

    fn exponential(self) -> Self {
        libm::exp(self)
    }

    fn sine(self) -> Self {
        libm::sin(self)
    }

    fn cosine(self) -> Self {
        libm::cos(self)
    }
}

/// `f32` with coarse transcendental functions: fewer instructions, errors up to a few percent, mirroring not exact.
///
/// What the type does not protect: it makes no claim that a stage tuned in `f32` behaves alike here.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Fast(pub f32);

impl Add for Fast {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Fast {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Mul for Fast {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self(self.0 * other.0)
    }
}

impl Neg for Fast {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Scalar for Fast {
    const ZERO: Self = Self(0.0);
    const HALF: Self = Self(0.5);
    const ONE: Self = Self(1.0);

    fn admit(value: f32) -> Option<Self> {
        f32::admit(value).map(Self)
    }

    fn of_number(value: f32) -> Self {
        Self(value)
    }

    fn to_f32(self) -> f32 {
        self.0
    }

    fn over(self, divisor: Self, if_zero: Self) -> Self {
        Self(self.0.over(divisor.0, if_zero.0))
    }

    fn per(self, divisor: Self) -> Self {
        Self(self.0 / divisor.0)
    }

    fn is_finite(self) -> bool {
        self.0.is_finite()
    }

    fn is_above_zero(self) -> bool {
        self.0.is_above_zero()
    }

    fn from_whole(whole: i64) -> Self {
        Self(whole as f32)
    }

    fn to_whole(self) -> i64 {
        self.0.to_whole()
    }
}

impl Real for Fast {
    fn square_root(self) -> Self {
        // The coarse root of a negative zero is about 3e19: only positive numbers may reach it.
        if self.0 > 0.0 {
            Self(micromath::F32(self.0).sqrt().0)
        } else {
            Self(0.0)
        }
    }

    fn arctangent2(self, x: Self) -> Self {
        Self(micromath::F32(self.0).atan2(micromath::F32(x.0)).0)
    }

    fn exponential(self) -> Self {
        // The coarse exponential of NaN is infinite.
        if self.is_nan() {
            self
        } else {
            Self(micromath::F32(self.0).exp().0)
        }
    }

    fn sine(self) -> Self {
        Self(micromath::F32(self.0).sin().0)
    }

    fn cosine(self) -> Self {
        Self(micromath::F32(self.0).cos().0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn not_a_number_never_wins<S: Scalar>(nan: S) {
        assert_eq!(nan.least(S::ONE), S::ONE);
        assert_eq!(S::ONE.least(nan), S::ONE);
        assert_eq!(nan.most(S::ONE), S::ONE);
        assert_eq!(S::ONE.most(nan), S::ONE);
        assert_eq!(nan.within(-S::ONE, S::ONE), S::ZERO);
        assert_eq!(nan.within(S::HALF, S::ONE), S::HALF);
        assert_eq!(nan.up_to(S::ONE), S::ZERO);
        assert_eq!(nan.at_least(S::HALF), S::HALF);
        assert_eq!(nan.at_most(S::HALF), S::HALF);
        assert!(nan.most(nan).is_nan() && nan.least(nan).is_nan());
        assert_eq!(S::ONE.over(S::ZERO, S::HALF), S::HALF);
        assert_eq!(S::ONE.over(nan, S::HALF), S::HALF);
        assert_eq!(nan.to_whole(), 0);
        assert_eq!(S::admit(f32::NAN), None);
        assert_eq!(S::admit(f32::INFINITY), None);
    }

    #[test]
    fn not_a_number_never_wins_in_any_instance() {
        not_a_number_never_wins(f32::NAN);
        not_a_number_never_wins(f64::NAN);
        not_a_number_never_wins(Fast(f32::NAN));
    }

    #[test]
    fn whole_numbers_round_away_from_zero_alike_on_both_sides() {
        assert_eq!(2.5_f32.to_whole(), 3);
        assert_eq!((-2.5_f32).to_whole(), -3);
        assert_eq!((-2.4_f64).to_whole(), -2);
        assert_eq!(8_388_609.0_f32.to_whole(), 8_388_609);
        assert_eq!((-8_388_609.0_f32).to_whole(), -8_388_609);
    }

    #[test]
    fn roots_of_negative_numbers_are_zero() {
        assert_eq!((-1.0_f32).square_root(), 0.0);
        assert_eq!(Fast(-0.0).square_root(), Fast(0.0));
    }

    #[test]
    fn sine_and_cosine_together_have_the_bits_of_one_by_one() {
        for thousandth in -4000..4000_i16 {
            let angle = f32::from(thousandth) * 1.0e-3 + 1.0e-5;
            assert_eq!(angle.sine_cosine(), (angle.sine(), angle.cosine()));
        }
    }
}
