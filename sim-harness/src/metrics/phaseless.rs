//! Sampled signals without delay: low pass, derivative, integral, crossings.
//!
//! Input: evenly spaced samples and their period. The low pass is a Butterworth filter of sixth order run forwards and
//! backwards, twelve poles together, no phase; its gain at the stated cut-off is one half. It is made by the bilinear
//! transform with the cut-off pre-warped; both ends are continued by point reflection for a second, so that a signal that
//! begins or ends steadily does not ring there. Everything is odd: the negated signal gives the negated result exactly.

use core::f64::consts::PI;

/// Longest continuation beyond both ends, s: the slowest section has died out by then for cut-offs above 2 Hz.
const CONTINUED_S: f64 = 1.0;

/// Second-order sections of the sixth order.
const SECTIONS: usize = 3;

/// The samples without what is faster than `cut_off_hz`. A cut-off at or above half the sampling rate changes nothing.
pub fn low_pass(samples: &[f64], period_s: f64, cut_off_hz: f64) -> Vec<f64> {
    let filterable = cut_off_hz > 0.0 && 2.0 * cut_off_hz * period_s < 1.0;
    if samples.len() < 2 || !filterable {
        return samples.to_vec();
    }
    let count = (libm::round(CONTINUED_S / period_s) as usize).min(samples.len() - 1);
    let (first, last) = (samples[0], samples[samples.len() - 1]);
    let mut signal = Vec::with_capacity(samples.len() + 2 * count);
    signal.extend((1..=count).rev().map(|index| 2.0 * first - samples[index]));
    signal.extend_from_slice(samples);
    signal.extend((1..=count).map(|index| 2.0 * last - samples[samples.len() - 1 - index]));
    for _ in 0..2 {
        for section in 0..SECTIONS {
            Section::new(section, period_s, cut_off_hz).run(&mut signal);
        }
        signal.reverse();
    }
    signal[count..count + samples.len()].to_vec()
}

/// One pair of poles, direct form II transposed.
#[derive(Debug, Clone, Copy)]
struct Section {
    forward: f64,
    back: (f64, f64),
}

impl Section {
    fn new(index: usize, period_s: f64, cut_off_hz: f64) -> Self {
        let warped = libm::tan(PI * cut_off_hz * period_s);
        let order = 2.0 * SECTIONS as f64;
        let damping = 2.0 * libm::sin(PI * (2.0 * index as f64 + 1.0) / (2.0 * order));
        let square = warped * warped;
        let scale = 1.0 / (1.0 + damping * warped + square);
        Self {
            forward: square * scale,
            back: (
                2.0 * (square - 1.0) * scale,
                (1.0 - damping * warped + square) * scale,
            ),
        }
    }

    /// Filters in place, as if the first value had always been there.
    fn run(self, signal: &mut [f64]) {
        let rest = signal.first().copied().unwrap_or(0.0);
        let mut one = rest * (1.0 - self.forward);
        let mut two = rest * (self.forward - self.back.1);
        for value in signal {
            let input = *value;
            let output = self.forward * input + one;
            one = 2.0 * self.forward * input - self.back.0 * output + two;
            two = self.forward * input - self.back.1 * output;
            *value = output;
        }
    }
}

/// Rate of change by central differences, one-sided at the ends.
pub fn derivative(samples: &[f64], period_s: f64) -> Vec<f64> {
    let last = samples.len().saturating_sub(1);
    (0..samples.len())
        .map(|index| {
            let (from, to) = (index.saturating_sub(1), (index + 1).min(last));
            if to > from {
                (samples[to] - samples[from]) / ((to - from) as f64 * period_s)
            } else {
                0.0
            }
        })
        .collect()
}

/// Mean over `width_s` around every sample, shorter at the ends.
pub fn centred_mean(samples: &[f64], period_s: f64, width_s: f64) -> Vec<f64> {
    let half = libm::round(0.5 * width_s / period_s) as usize;
    (0..samples.len())
        .map(|index| {
            let window =
                &samples[index.saturating_sub(half)..(index + half + 1).min(samples.len())];
            window.iter().sum::<f64>() / window.len() as f64
        })
        .collect()
}

/// Value at a time after the first sample, linear between samples; `None` outside.
pub fn at(samples: &[f64], period_s: f64, time_s: f64) -> Option<f64> {
    let place = time_s / period_s;
    if !(place >= 0.0) {
        return None;
    }
    let index = libm::floor(place) as usize;
    let before = *samples.get(index)?;
    let share = place - index as f64;
    if share <= 0.0 {
        return Some(before);
    }
    let after = *samples.get(index + 1)?;
    Some(before + (after - before) * share)
}

/// Time of the first crossing of `level` upwards that ends after sample `from`, linear between samples.
pub fn rises_through(samples: &[f64], period_s: f64, level: f64, from: usize) -> Option<f64> {
    let first = from.max(1);
    let index = (first..samples.len())
        .find(|index| samples[index - 1] < level && samples[*index] >= level)?;
    let (before, after) = (samples[index - 1], samples[index]);
    Some((index as f64 - 1.0 + (level - before) / (after - before)) * period_s)
}

/// Integral from `from_s` to every later sample by trapezoids, the first of them a part of a step; pairs of time and
/// value, the first `(from_s, 0)`.
pub fn integral(samples: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut sum = 0.0;
    let mut before = samples.first().copied();
    samples
        .iter()
        .map(|(time_s, value)| {
            if let Some((earlier_s, earlier)) = before {
                sum += 0.5 * (earlier + value) * (time_s - earlier_s);
            }
            before = Some((*time_s, *value));
            (*time_s, sum)
        })
        .collect()
}
