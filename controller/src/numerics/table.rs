//! Straight-line interpolation over a few points, flat outside.

use super::Scalar;

/// The value at `x` on the polyline through `points` (x ascending); the end values hold outside, and for NaN the first.
pub fn interpolate<S: Scalar, const N: usize>(points: &[(S, S); N], x: S) -> S {
    let mut points = points.iter();
    let Some(&first) = points.next() else {
        return S::ZERO;
    };
    let (mut from, mut to) = (first, first);
    let mut last = first;
    for &point in points {
        if !(x > last.0) {
            break;
        }
        (from, to) = (last, point);
        last = point;
    }
    let share = (x - from.0).per(to.0 - from.0).up_to(S::ONE);
    from.1 + (to.1 - from.1) * share
}

/// 1 up to `start`, falling in a straight line to 0 at `end`; 0 for NaN and for a slope that has no width.
pub fn fade_out<S: Scalar>(x: S, start: S, end: S) -> S {
    if x <= start {
        S::ONE
    } else if x < end {
        share_of(end - x, end - start)
    } else {
        S::ZERO
    }
}

/// 0 up to `start`, rising in a straight line to 1 at `end`; 0 for NaN.
pub fn fade_in<S: Scalar>(x: S, start: S, end: S) -> S {
    if x >= end {
        S::ONE
    } else if x > start {
        share_of(x - start, end - start)
    } else {
        S::ZERO
    }
}

/// Part of a whole that is larger; a whole beyond all numbers gives zero.
fn share_of<S: Scalar>(part: S, whole: S) -> S {
    let share = part.per(whole);
    if share <= S::ONE { share } else { S::ZERO }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polyline_is_flat_outside_and_straight_inside() {
        let points = [(0.0_f32, 1.0), (2.0, 3.0), (4.0, 0.0)];
        assert_eq!(interpolate(&points, -1.0), 1.0);
        assert_eq!(interpolate(&points, 1.0), 2.0);
        assert_eq!(interpolate(&points, 3.0), 1.5);
        assert_eq!(interpolate(&points, 9.0), 0.0);
        assert_eq!(interpolate(&points, f32::NAN), 1.0);
    }

    #[test]
    fn fades_end_at_zero_for_not_a_number() {
        assert_eq!(fade_out(f32::NAN, 1.0, 2.0), 0.0);
        assert_eq!(fade_in(f32::NAN, 1.0, 2.0), 0.0);
        assert_eq!(fade_out(1.5_f32, 1.0, 2.0), 0.5);
        assert_eq!(fade_in(1.75_f32, 1.0, 2.0), 0.75);
    }
}
