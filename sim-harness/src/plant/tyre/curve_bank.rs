//! Four curves sin(C atan x) / sin(atan x) or cos(C atan x) at once, without transcendental functions.
//!
//! Inputs: shape factors C, 0 to 2, at making; then k = cos(atan x) = 1 / sqrt(1 + x^2) of each curve. Outputs: the curves.
//! Both are smooth functions of k on 0..1 (they are singular at k = -1 only), so one polynomial in 2 k - 1 of degree 7
//! gives them within 3e-7 of the peak, 2 mN of a demo tyre's 6 kN: Chebyshev interpolation, made once per car with `libm`. The tyre's force is then
//! D x k S(k) with S the first of the two: exactly odd, so a mirrored tyre gives the exact mirror image. Four at once,
//! because that is what a wheel needs per moment, and lanes of equal work cost half of separate calls.

use wide::f64x4;

/// Number of coefficients of each polynomial; even.
pub(super) const TERMS: usize = 8;

/// What a lane of the bank gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lane {
    /// sin(C atan x) / sin(atan x), C at x = 0.
    Sine(f64),
    /// cos(C atan x).
    Cosine(f64),
}

/// Coefficients of four curves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveBank {
    /// Coefficient of each power, lane by lane.
    powers: [[f64; 4]; TERMS],
}

impl CurveBank {
    /// The bank of four curves.
    pub fn new(lanes: [Lane; 4]) -> Self {
        let mut powers = [[0.0; 4]; TERMS];
        for (index, lane) in lanes.into_iter().enumerate() {
            for (row, value) in powers.iter_mut().zip(power_coefficients(lane)) {
                row[index] = value;
            }
        }
        Self { powers }
    }

    /// Coefficient of one curve at one power.
    pub(super) fn coefficient(&self, curve: usize, power: usize) -> f64 {
        self.powers[power][curve]
    }

    /// One curve of four tyres at k of each, in the order of operations of [`at`](Self::at).
    #[inline(always)]
    pub(super) fn polynomial(powers: &[f64x4; TERMS], k: f64x4) -> f64x4 {
        let u = 2.0 * k - 1.0;
        let square = u * u;
        let [mut even, mut odd] = [powers[TERMS - 2], powers[TERMS - 1]];
        for pair in powers[..TERMS - 2].chunks_exact(2).rev() {
            even = even * square + pair[0];
            odd = odd * square + pair[1];
        }
        even + u * odd
    }

    /// The four curves at k of each lane, 0 to 1.
    pub fn at(&self, k: [f64; 4]) -> [f64; 4] {
        let u = k.map(|k| 2.0 * k - 1.0);
        let square = u.map(|u| u * u);
        let [mut even, mut odd] = [self.powers[TERMS - 2], self.powers[TERMS - 1]];
        for pair in self.powers[..TERMS - 2].chunks_exact(2).rev() {
            for lane in 0..4 {
                even[lane] = even[lane] * square[lane] + pair[0][lane];
                odd[lane] = odd[lane] * square[lane] + pair[1][lane];
            }
        }
        core::array::from_fn(|lane| even[lane] + u[lane] * odd[lane])
    }
}

/// Coefficients in powers of u = 2 k - 1.
fn power_coefficients(lane: Lane) -> [f64; TERMS] {
    let count = TERMS as f64;
    let angle = |index: usize| core::f64::consts::PI * (index as f64 + 0.5) / count;
    let samples: [f64; TERMS] =
        core::array::from_fn(|index| exact(lane, 0.5 * (libm::cos(angle(index)) + 1.0)));
    let chebyshev: [f64; TERMS] = core::array::from_fn(|order| {
        let sum: f64 = (0..TERMS)
            .map(|index| samples[index] * libm::cos(order as f64 * angle(index)))
            .sum();
        sum * if order == 0 { 1.0 } else { 2.0 } / count
    });
    // T(n+1) = 2 u T(n) - T(n-1), in powers of u.
    let mut before = [0.0; TERMS];
    let mut now = [0.0; TERMS];
    before[0] = 1.0;
    now[1] = 1.0;
    let mut sum = [0.0; TERMS];
    for (order, weight) in chebyshev.into_iter().enumerate() {
        let polynomial = match order {
            0 => before,
            1 => now,
            _ => {
                let mut next = before.map(|value| -value);
                for power in 1..TERMS {
                    next[power] += 2.0 * now[power - 1];
                }
                before = now;
                now = next;
                next
            }
        };
        for (total, value) in sum.iter_mut().zip(polynomial) {
            *total += weight * value;
        }
    }
    sum
}

fn exact(lane: Lane, k: f64) -> f64 {
    let angle = libm::acos(k);
    match lane {
        Lane::Cosine(shape) => libm::cos(shape * angle),
        Lane::Sine(shape) if angle < 1e-6 => shape,
        Lane::Sine(shape) => libm::sin(shape * angle) / libm::sin(angle),
    }
}

#[cfg(test)]
mod tests {
    use super::{CurveBank, Lane};

    #[test]
    fn the_curves_agree_with_the_library_functions_at_any_argument() {
        let mut worst = 0.0_f64;
        for shape in [0.8, 1.05, 1.092, 1.193, 1.45, 1.685, 1.95] {
            let bank = CurveBank::new([
                Lane::Sine(shape),
                Lane::Sine(shape),
                Lane::Cosine(shape),
                Lane::Cosine(shape),
            ]);
            for step in 0..=40_000 {
                let part = f64::from(step) / 40_000.0;
                let x = 200.0 * part * part * part;
                let k = 1.0 / libm::sqrt(1.0 + x * x);
                let [sine, again, cosine, _] = bank.at([k; 4]);
                let angle = shape * libm::atan(x);
                worst = worst.max((x * k * sine - libm::sin(angle)).abs());
                worst = worst.max((cosine - libm::cos(angle)).abs());
                assert_eq!(sine.to_bits(), again.to_bits());
            }
        }
        // The interpolation's remainder falls by 5.83 a term: 3e-10 with 12 terms, 3e-7 with the 8 that the plant can afford.
        assert!(worst < 3e-7, "worst difference {worst:e}");
    }
}
