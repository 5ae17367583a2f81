//! Sine and cosine of one angle together, in `f32`, with the bits that `libm` gives one by one.
//!
//! In: an angle, rad. Out: sine and cosine. Up to a quarter of pi by the two polynomials in `f64` here, without a call: no road wheel is
//! turned further. Beyond, and for what is no number, by `libm`. Limits: none of its own.
//!
//! Polynomials and coefficients: FreeBSD msun, `k_sinf.c` and `k_cosf.c`, Copyright (C) 1993 by Sun Microsystems, Inc. All rights reserved.
//! Permission to use, copy, modify, and distribute this software is freely granted, provided that this notice is preserved.

/// Largest angle of the polynomials, as bits: a quarter of pi.
const QUARTER: u32 = 0x3f49_0fda;

/// Angles below this, as bits, are their own sine: 2^-12.
const TINY: u32 = 0x3980_0000;

const S1: f64 = -0.166_666_666_416_265_24;
const S2: f64 = 0.008_333_329_385_889_463;
const S3: f64 = -0.000_198_393_348_360_966_32;
const S4: f64 = 0.000_002_718_311_493_989_822;

const C0: f64 = -0.499_999_997_251_031;
const C1: f64 = 0.041_666_623_323_739_06;
const C2: f64 = -0.001_388_676_377_460_993;
const C3: f64 = 0.000_024_390_448_796_277_41;

/// Sine and cosine.
#[inline(always)]
pub(super) fn sine_cosine(angle_rad: f32) -> (f32, f32) {
    let size = angle_rad.to_bits() & 0x7fff_ffff;
    if size.wrapping_sub(TINY) > QUARTER.wrapping_sub(TINY) {
        return outside(angle_rad, size);
    }
    let x = f64::from(angle_rad);
    let z = x * x;
    let w = z * z;
    let r = S3 + z * S4;
    let s = z * x;
    let sine = (x + s * (S1 + z * S2)) + s * w * r;
    let r = C2 + z * C3;
    let cosine = ((1.0 + z * C0) + w * C1) + (w * z) * r;
    (sine as f32, cosine as f32)
}

#[inline(never)]
fn outside(angle_rad: f32, size: u32) -> (f32, f32) {
    if size < TINY {
        (angle_rad, 1.0)
    } else {
        libm::sincosf(angle_rad)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn together_they_have_the_bits_of_one_by_one() {
        // Every number would take minutes: every 997th of both signs, and those around the borders.
        let strided = (0..0x7f80_0000_u32).step_by(997);
        let borders = [0, TINY, QUARTER, 0x7f80_0000].into_iter();
        let near = borders.flat_map(|bits| bits.saturating_sub(3)..bits + 4);
        for bits in strided.chain(near) {
            for angle in [f32::from_bits(bits), -f32::from_bits(bits)] {
                let (sine, cosine) = sine_cosine(angle);
                let one_by_one = (libm::sinf(angle), libm::cosf(angle));
                let same =
                    |a: f32, b: f32| a.to_bits() == b.to_bits() || (a.is_nan() && b.is_nan());
                assert!(
                    same(sine, one_by_one.0) && same(cosine, one_by_one.1),
                    "{angle}"
                );
            }
        }
    }
}
