//! Rational numbers whose denominator is a power of two: sums and products exact.
//!
//! Every `f32` and `f64` is such a number, and halving stays inside; so a check that adds, multiplies and halves has no
//! rounding at all. There is no division. Whole numbers without a limit come from `num-bigint`.

use num_bigint::{BigInt, Sign};
use std::cmp::Ordering;
use std::ops::{Add, Mul, Neg, Sub};

/// `whole * 2^exponent`.
#[derive(Clone, Debug)]
pub struct Dyadic {
    whole: BigInt,
    exponent: i64,
}

impl Dyadic {
    /// Zero.
    pub fn zero() -> Self {
        Self {
            whole: BigInt::ZERO,
            exponent: 0,
        }
    }

    /// A finite number, exactly.
    pub fn of(value: f64) -> Self {
        assert!(value.is_finite(), "{value}");
        let bits = value.to_bits();
        let biased = ((bits >> 52) & 0x7ff) as i64;
        let fraction = (bits & ((1 << 52) - 1)) as i64;
        let (mut whole, mut exponent) = if biased == 0 {
            (fraction, -1074)
        } else {
            (fraction | (1 << 52), biased - 1075)
        };
        if whole == 0 {
            return Self::zero();
        }
        // Short numbers keep products short.
        exponent += i64::from(whole.trailing_zeros());
        whole >>= whole.trailing_zeros();
        Self {
            whole: BigInt::from(if value < 0.0 { -whole } else { whole }),
            exponent,
        }
    }

    /// A finite number of the law, exactly.
    pub fn single(value: f32) -> Self {
        Self::of(f64::from(value))
    }

    /// Times a power of two.
    pub fn times_two_to(&self, power: i64) -> Self {
        Self {
            whole: self.whole.clone(),
            exponent: self.exponent + power,
        }
    }

    /// Half of it.
    pub fn half(&self) -> Self {
        self.times_two_to(-1)
    }

    /// Without its sign.
    pub fn size(&self) -> Self {
        if self.is_negative() {
            -self
        } else {
            self.clone()
        }
    }

    /// Below zero.
    pub fn is_negative(&self) -> bool {
        self.whole.sign() == Sign::Minus
    }

    /// The larger.
    pub fn most(self, other: Self) -> Self {
        if self < other { other } else { self }
    }

    /// The smaller.
    pub fn least(self, other: Self) -> Self {
        if other < self { other } else { self }
    }

    /// Quotient of two, as a number to print or to compare with a tolerance: 53 bits are right but for the last.
    pub fn ratio(&self, divisor: &Self) -> f64 {
        let shift = 64 + divisor.whole.bits() as i64 - self.whole.bits() as i64;
        let quotient = if shift > 0 {
            (&self.whole << shift) / &divisor.whole
        } else {
            &self.whole / (&divisor.whole << -shift)
        };
        let (sign, digits) = quotient.to_u64_digits().clone();
        let size = digits.iter().rev().fold(0.0, |sum, &digit| {
            sum * 18_446_744_073_709_551_616.0 + digit as f64
        });
        let size = libm::ldexp(size, (self.exponent - divisor.exponent - shift) as i32);
        if sign == Sign::Minus { -size } else { size }
    }

    /// Both with the same exponent.
    fn aligned(&self, other: &Self) -> (BigInt, BigInt, i64) {
        let exponent = self.exponent.min(other.exponent);
        (
            &self.whole << (self.exponent - exponent),
            &other.whole << (other.exponent - exponent),
            exponent,
        )
    }
}

impl Add for &Dyadic {
    type Output = Dyadic;
    fn add(self, other: Self) -> Dyadic {
        let (one, two, exponent) = self.aligned(other);
        Dyadic {
            whole: one + two,
            exponent,
        }
    }
}

impl Sub for &Dyadic {
    type Output = Dyadic;
    fn sub(self, other: Self) -> Dyadic {
        let (one, two, exponent) = self.aligned(other);
        Dyadic {
            whole: one - two,
            exponent,
        }
    }
}

impl Mul for &Dyadic {
    type Output = Dyadic;
    fn mul(self, other: Self) -> Dyadic {
        Dyadic {
            whole: &self.whole * &other.whole,
            exponent: self.exponent + other.exponent,
        }
    }
}

impl Neg for &Dyadic {
    type Output = Dyadic;
    fn neg(self) -> Dyadic {
        Dyadic {
            whole: -&self.whole,
            exponent: self.exponent,
        }
    }
}

impl PartialEq for Dyadic {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Dyadic {}

impl PartialOrd for Dyadic {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Dyadic {
    fn cmp(&self, other: &Self) -> Ordering {
        let by_sign = self.whole.sign().cmp(&other.whole.sign());
        if by_sign != Ordering::Equal {
            return by_sign;
        }
        let (one, two, _) = self.aligned(other);
        one.cmp(&two)
    }
}
