//! Sine and cosine of an angle in `f32`, in single precision throughout: a small processor has no unit for double precision.
//!
//! In: any angle, rad. Out: sine and cosine, each within 0.9 units in the last place of the true value, odd and even to the last bit (the sine of a
//! zero is a zero without sign); no number for what is no number and for infinity. Up to a quarter of pi the polynomials here at once: no road wheel is turned further.
//! Beyond, the angle less whole quarter turns first, in whole numbers, with as many bits of 2/pi as its size asks for, so that the largest
//! angle is as exact as the smallest.
//!
//! Reduction: Payne and Hanek, "Radian reduction for trigonometric functions", ACM SIGNUM Newsletter 18 (1983), from memory. The
//! polynomials are fitted here: least largest error over 400 Chebyshev nodes, 3.6e-9 for the sine (relative) and 9.6e-11 for the
//! cosine, each rounded to `f32`.

/// Largest angle of the polynomials, as bits: a quarter of pi.
const QUARTER: u32 = 0x3f49_0fda;

const S1: f32 = -0.166_666_55;
const S2: f32 = 0.008_332_178;
const S3: f32 = -0.000_195_172_67;

const C1: f32 = 0.041_666_646;
const C2: f32 = -0.001_388_736_8;
const C3: f32 = 0.000_024_438_415;

/// 2/pi in words of 32 bits after the point, with one word of zeros before it.
const TWO_OVER_PI: [u32; 8] = [
    0,
    0xa2f9_836e,
    0x4e44_1529,
    0xfc27_57d1,
    0xf534_ddc0,
    0xdb62_9599,
    0x3c43_9041,
    0xfe51_63ab,
];

/// pi/2 in units of 2^-30.
const HALF_PI: u64 = 0x6487_ed51;

/// Sine and cosine.
#[inline(always)]
pub(super) fn sine_cosine(angle_rad: f32) -> (f32, f32) {
    if angle_rad.to_bits() & 0x7fff_ffff > QUARTER {
        return beyond(angle_rad);
    }
    let z = angle_rad * angle_rad;
    let half = 0.5 * z;
    let near_one = 1.0 - half;
    let sine = angle_rad + angle_rad * z * (S1 + z * (S2 + z * S3));
    // What rounding took from `near_one` is given back.
    let lost = (1.0 - near_one) - half;
    let cosine = near_one + (lost + z * z * (C1 + z * (C2 + z * C3)));
    (sine, cosine)
}

/// The same of `angle + rest`, the angle at most a quarter of pi, the rest less than its last place.
#[inline(always)]
fn near_zero(angle: f32, rest: f32) -> (f32, f32) {
    let z = angle * angle;
    let half = 0.5 * z;
    let near_one = 1.0 - half;
    let sine = angle + (angle * z * (S1 + z * (S2 + z * S3)) + rest * near_one);
    let lost = (1.0 - near_one) - half;
    let cosine = near_one + (lost + (z * z * (C1 + z * (C2 + z * C3)) - angle * rest));
    (sine, cosine)
}

#[cold]
#[inline(never)]
fn beyond(angle_rad: f32) -> (f32, f32) {
    if !angle_rad.is_finite() {
        return (f32::NAN, f32::NAN);
    }
    let (quarters, angle, rest) = less_quarter_turns(angle_rad.abs());
    let (sine, cosine) = near_zero(angle, rest);
    let (sine, cosine) = match quarters & 3 {
        0 => (sine, cosine),
        1 => (cosine, -sine),
        2 => (-sine, -cosine),
        _ => (-cosine, sine),
    };
    let sine = if angle_rad < 0.0 { -sine } else { sine };
    (sine, cosine)
}

/// Whole quarter turns of a finite angle above a quarter of pi, and what is left, at most a quarter of pi, in two parts.
fn less_quarter_turns(angle_rad: f32) -> (u32, f32, f32) {
    let bits = angle_rad.to_bits();
    let mantissa = u64::from((bits & 0x007f_ffff) | 0x0080_0000);
    // The angle is mantissa * 2^(exponent - 150). Bits of 2/pi whose products are multiples of four quarter turns say nothing: the window of
    // 96 bits begins after them.
    let first = (bits >> 23).wrapping_sub(120);
    let (word, shift) = ((first >> 5) as usize, first & 31);
    let at = |place: usize| {
        let two = (u64::from(TWO_OVER_PI.get(place).copied().unwrap_or(0)) << 32)
            | u64::from(TWO_OVER_PI.get(place + 1).copied().unwrap_or(0));
        (two.wrapping_shl(shift)) >> 32
    };
    // Quarter turns, modulo four, in units of 2^-62.
    let turned = (mantissa.wrapping_mul(at(word)) << 32)
        .wrapping_add(mantissa.wrapping_mul(at(word + 1)))
        .wrapping_add(mantissa.wrapping_mul(at(word + 2)) >> 32);
    let quarters = turned.wrapping_add(1 << 61) >> 62;
    let left = turned.wrapping_sub(quarters << 62) as i64;
    let size = left.unsigned_abs();
    // As many leading bits as there are, so that a small rest is as exact as a large one.
    let zeros = size.leading_zeros();
    let whole = ((size.wrapping_shl(zeros) >> 32).wrapping_mul(HALF_PI) >> 32) as u32;
    let near = whole as f32;
    let rest = whole.wrapping_sub(near as u32).cast_signed() as f32;
    let unit = f32::from_bits(99_u32.saturating_sub(zeros) << 23);
    let unit = if left < 0 { -unit } else { unit };
    (quarters as u32, near * unit, rest * unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Distance from the true value in units of the last place.
    fn units_off(value: f32, truth: f64) -> f64 {
        let place = (truth as f32).abs().max(f32::MIN_POSITIVE);
        let unit = f64::from(place.next_up()) - f64::from(place);
        (f64::from(value) - truth).abs() / unit
    }

    /// Every number would take minutes: every 997th, of all sizes, and those around the borders and around whole quarter turns.
    fn angles() -> impl Iterator<Item = f32> {
        let strided = (0..0x7f80_0000_u32).step_by(997);
        let borders = [0, 0x0080_0000, 0x3980_0000, QUARTER, 0x7f7f_fff8].into_iter();
        let near = borders.flat_map(|bits| bits..bits + 8);
        let turns = (1..20_000_u32).flat_map(|quarters| {
            let bits = ((f64::from(quarters) * core::f64::consts::FRAC_PI_2) as f32).to_bits();
            bits - 1..bits + 2
        });
        strided.chain(near).chain(turns).map(f32::from_bits)
    }

    #[test]
    fn they_are_right_to_the_last_place_at_every_size() {
        // Reference: the double-precision functions of the library, right to 1e-16.
        let mut worst = (0.0_f64, 0.0_f64);
        for angle in angles() {
            let (sine, cosine) = sine_cosine(angle);
            let exact = f64::from(angle);
            let off = (
                units_off(sine, libm::sin(exact)),
                units_off(cosine, libm::cos(exact)),
            );
            worst = (worst.0.max(off.0), worst.1.max(off.1));
            assert!(off.0 < 0.9 && off.1 < 0.9, "{angle}: {off:?}");
        }
        assert!(
            worst.0 > 0.5 && worst.1 > 0.5,
            "a reference that is the value itself: {worst:?}"
        );
    }

    #[test]
    fn they_lie_beside_the_library_of_single_precision() {
        for angle in angles() {
            let (sine, cosine) = sine_cosine(angle);
            for (one, other) in [(sine, libm::sinf(angle)), (cosine, libm::cosf(angle))] {
                let apart = (one.to_bits() as i32).wrapping_sub(other.to_bits() as i32);
                assert!(apart.abs() <= 1, "{angle}: {one} {other}");
            }
        }
    }

    #[test]
    fn the_sine_is_odd_and_the_cosine_even_to_the_last_bit() {
        for angle in angles() {
            let (plus, minus) = (sine_cosine(angle), sine_cosine(-angle));
            // Equal, not of equal bits: a zero has no sign here.
            assert_eq!(-plus.0, minus.0, "{angle}");
            assert_eq!(plus.1.to_bits(), minus.1.to_bits(), "{angle}");
        }
    }

    #[test]
    fn what_is_no_number_or_has_no_end_gives_no_number() {
        for angle in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
            let (sine, cosine) = sine_cosine(angle);
            assert!(sine.is_nan() && cosine.is_nan());
        }
    }
}
