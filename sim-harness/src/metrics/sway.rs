//! Decay of a free oscillation: damping ratio and frequency by the logarithmic decrement of its half swings.
//!
//! Input: the record of a car with a trailer after a steering pulse. From one extreme of the articulation angle to the next
//! is a half swing; a steady angle under the oscillation drops out of it. With L = ln(first / last) / number of half swings
//! between them, the damping ratio is L / sqrt(pi^2 + L^2) (any textbook on vibrations). Half swings count from 0.3 s after
//! the wheel is straight again until they fall under a fiftieth of the first; with fewer than two there is no value.

use super::{Metric, degrees, series};
use crate::record::Record;

/// Time after the pulse in which the faster modes die, s.
const SETTLE_S: f64 = 0.3;

/// Half swings smaller than this share of the first do not count.
const LEAST_SHARE: f64 = 0.02;

/// Half swings smaller than this do not count: single precision and the slow drift of the course, rad.
const LEAST_RAD: f64 = 2e-4;

/// Damping ratio and angular frequency of a decaying oscillation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decay {
    /// Damping ratio, negative for a growing oscillation.
    pub damping_ratio: f64,
    /// Damped frequency, Hz.
    pub frequency_hz: f64,
}

/// Values of the trailer's sway.
pub fn sway(record: &Record) -> Vec<Metric> {
    let from_s = straight_again_s(record).map(|time| time + SETTLE_S);
    let decay =
        from_s.and_then(|from_s| decay(record, "articulation", from_s, f64::INFINITY, LEAST_RAD));
    vec![
        Metric::new(
            "sway damping ratio",
            "-",
            decay.map(|decay| decay.damping_ratio),
        ),
        Metric::new(
            "sway frequency",
            "Hz",
            decay.map(|decay| decay.frequency_hz),
        ),
        Metric::new(
            "articulation, largest",
            "deg",
            degrees(series::largest_size(
                record,
                "articulation",
                0.0,
                f64::INFINITY,
            )),
        ),
        Metric::new(
            "yaw rate, largest",
            "deg/s",
            degrees(series::largest_size(record, "yaw_rate", 0.0, f64::INFINITY)),
        ),
    ]
}

/// Decay of a channel's oscillation in a window; half swings below `least` (in the channel's unit) do not count.
pub fn decay(record: &Record, name: &str, from_s: f64, to_s: f64, least: f64) -> Option<Decay> {
    let samples = series::window(record, name, from_s, to_s)?;
    let extremes = extremes(samples);
    let mut swings = extremes
        .windows(2)
        .map(|pair| (pair[0].1 - pair[1].1).abs())
        .collect::<Vec<_>>();
    let floor = least.max(LEAST_SHARE * swings.first()?);
    let count = swings
        .iter()
        .position(|swing| *swing < floor)
        .unwrap_or(swings.len());
    swings.truncate(count);
    let between = count.checked_sub(1).filter(|between| *between > 0)?;
    let decrement = libm::log(swings.first()? / swings.last()?) / between as f64;
    let pi = core::f64::consts::PI;
    let half_period = (extremes[between].0 - extremes[0].0) * record.period_s / between as f64;
    Some(Decay {
        damping_ratio: decrement / libm::sqrt(pi * pi + decrement * decrement),
        frequency_hz: 0.5 / half_period,
    })
}

/// Place (in samples) and value of each extreme, by a parabola through three samples; equal neighbours count once.
fn extremes(samples: &[f32]) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    let mut last_slope = 0.0_f64;
    for index in 1..samples.len() {
        let slope = f64::from(samples[index]) - f64::from(samples[index - 1]);
        if slope * last_slope < 0.0 && index >= 2 {
            let at = |back: usize| f64::from(samples[index - back]);
            let (a, b, c) = (at(2), at(1), at(0));
            let curve = a - 2.0 * b + c;
            let offset = if curve == 0.0 {
                0.0
            } else {
                0.5 * (a - c) / curve
            };
            found.push((
                index as f64 - 1.0 + offset.clamp(-1.0, 1.0),
                b - 0.25 * (a - c) * offset.clamp(-1.0, 1.0),
            ));
        }
        if slope != 0.0 {
            last_slope = slope;
        }
    }
    found
}

/// Time at which the steering pulse is over: the last sample beyond a hundredth of its peak.
fn straight_again_s(record: &Record) -> Option<f64> {
    let steering = record.column("road_wheel_angle")?;
    let peak = steering
        .iter()
        .fold(0.0_f32, |most, angle| most.max(angle.abs()));
    let last = steering
        .iter()
        .rposition(|angle| angle.abs() > 0.01 * peak)?;
    Some(record.time_s(last))
}
