//! Frequency response and lags of a random steering input: cross spectra of segments, coherence, cross-correlation.
//!
//! In the manner of ISO 7401 (random input, from memory). The record is cut into segments of 20 s that overlap by half, each
//! without its mean and under a Hann window; the response is S_xy / S_xx and the coherence |S_xy|^2 / (S_xx S_yy), all three
//! averaged over the segments (Bendat and Piersol, "Random Data", from memory). The lag is the shift of the output at which
//! its correlation with the input is largest, between samples by a parabola through the three largest. Unlike the
//! rest-to-rest method this needs no rest at either end. Limits: a window of 20 s resolves 0.1 Hz, which flattens a sharp
//! resonance; a lag is short against the segment or the response reads low by about their ratio; the lag of a car that
//! is no pure delay depends on the spectrum of the input, so it compares runs of the same input.

use super::Metric;
use super::frequency::{Complex, GRID_HZ, HIGHEST_HZ, LOWEST_HZ, Point, Response, fourier};
use crate::record::Record;

/// Length of a segment, s.
pub const SEGMENT_S: f64 = 20.0;

/// Largest lag looked for, s.
const LONGEST_LAG_S: f64 = 1.0;

/// Response by cross spectra of segments; none for a record shorter than two of them or without input.
pub fn by_segments(record: &Record, input: &str, output: &str) -> Option<Response> {
    let (x, y) = (record.column(input)?, record.column(output)?);
    let length = libm::round(SEGMENT_S / record.period_s) as usize;
    if length < 16 || x.len() < 2 * length {
        return None;
    }
    let starts: Vec<usize> = (0..=x.len() - length).step_by(length / 2).collect();
    let ins: Vec<Vec<f64>> = starts
        .iter()
        .map(|start| windowed(&x[*start..start + length]))
        .collect();
    let outs: Vec<Vec<f64>> = starts
        .iter()
        .map(|start| windowed(&y[*start..start + length]))
        .collect();
    let count = libm::round((HIGHEST_HZ - LOWEST_HZ) / GRID_HZ) as usize;
    let mut points = Vec::with_capacity(count + 1);
    for index in 0..=count {
        let frequency_hz = LOWEST_HZ + GRID_HZ * index as f64;
        let (mut cross, mut in_power, mut out_power) = (Complex::default(), 0.0, 0.0);
        for (x, y) in ins.iter().zip(&outs) {
            let from = fourier(x, record.period_s, frequency_hz);
            let to = fourier(y, record.period_s, frequency_hz);
            cross = cross.plus(to.times(from.conjugate()));
            in_power += from.size() * from.size();
            out_power += to.size() * to.size();
        }
        points.push(Point::of_sums(frequency_hz, cross, in_power, out_power)?);
    }
    Some(Response { points })
}

/// Shift of the output at which it is most like the input, s; none if that lies at an end of 0 to 1 s.
pub fn lag_s(record: &Record, input: &str, output: &str) -> Option<f64> {
    let (x, y) = (
        centred(record.column(input)?),
        centred(record.column(output)?),
    );
    let longest = libm::round(LONGEST_LAG_S / record.period_s) as usize;
    if x.len() < 4 * longest {
        return None;
    }
    // The same number of products at every shift, so that none is favoured.
    let count = x.len() - longest - 1;
    let alike = |shift: usize| -> f64 {
        let later = y[shift..].iter();
        x[..count].iter().zip(later).map(|(x, y)| x * y).sum()
    };
    let curve: Vec<f64> = (0..=longest).map(alike).collect();
    let top = (0..curve.len()).reduce(|best, next| {
        if curve[next] > curve[best] {
            next
        } else {
            best
        }
    })?;
    if top == 0 || top == longest {
        return None;
    }
    let (before, at, after) = (curve[top - 1], curve[top], curve[top + 1]);
    let bend = before - 2.0 * at + after;
    let beyond = if bend < 0.0 {
        0.5 * (before - after) / bend
    } else {
        0.0
    };
    Some((top as f64 + beyond) * record.period_s)
}

/// Lags of yaw rate and lateral acceleration behind the steering wheel.
pub fn lags(record: &Record) -> Vec<Metric> {
    let of = |output| lag_s(record, "steering_wheel_angle", output);
    vec![
        Metric::new("yaw rate lag by correlation", "s", of("yaw_rate")),
        Metric::new(
            "lateral acceleration lag by correlation",
            "s",
            of("lateral_acceleration"),
        ),
    ]
}

fn centred(samples: &[f32]) -> Vec<f64> {
    let mean = samples.iter().map(|value| f64::from(*value)).sum::<f64>() / samples.len() as f64;
    samples
        .iter()
        .map(|value| f64::from(*value) - mean)
        .collect()
}

/// A segment without its mean under a Hann window.
fn windowed(samples: &[f32]) -> Vec<f64> {
    let circle = 2.0 * core::f64::consts::PI / samples.len() as f64;
    centred(samples)
        .into_iter()
        .enumerate()
        .map(|(index, value)| value * (0.5 - 0.5 * libm::cos(circle * index as f64)))
        .collect()
}
