//! Low-pass without lag: a Butterworth filter of second order, forth and back (bilinear transform, from memory).
//!
//! Both directions together have the amplitude of the filter squared and no phase, so signals filtered alike keep their times. The ends
//! are as if the first and the last sample had always been there.

/// Corner of the filter, Hz: above the yaw mode of a car, below most of the noise. Chosen.
pub const CORNER_HZ: f64 = 5.0;

/// A series without what is quicker than the corner.
pub fn smoothed(series: &[f64], period_s: f64) -> Vec<f64> {
    let forth = pass(series.iter(), period_s);
    let mut back = pass(forth.iter().rev(), period_s);
    back.reverse();
    back
}

fn pass<'a>(series: impl Iterator<Item = &'a f64>, period_s: f64) -> Vec<f64> {
    let k = (std::f64::consts::PI * CORNER_HZ * period_s).tan();
    let root = std::f64::consts::SQRT_2 * k;
    let scale = 1.0 / (1.0 + root + k * k);
    let (gain, first, second) = (
        k * k * scale,
        2.0 * (k * k - 1.0) * scale,
        (1.0 - root + k * k) * scale,
    );
    let mut before: Option<[f64; 4]> = None;
    series
        .map(|value| {
            let [x1, x2, y1, y2] = before.unwrap_or([*value; 4]);
            let now = gain * (value + 2.0 * x1 + x2) - first * y1 - second * y2;
            before = Some([*value, x1, now, y1]);
            now
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sine_at_the_corner_keeps_its_times_and_half_its_size() {
        // A Butterworth filter has 1/sqrt(2) at its corner, both ways together one half (handbook of filters, from memory).
        let period_s = 0.005;
        let sine: Vec<f64> = (0..2000)
            .map(|step| (2.0 * std::f64::consts::PI * CORNER_HZ * period_s * f64::from(step)).sin())
            .collect();
        let found = smoothed(&sine, period_s);
        for step in 500..1500 {
            assert!((found[step] - 0.5 * sine[step]).abs() < 1e-3, "{step}");
        }
    }
}
