//! Shuffle, judder and clunk after a tip-in, by the strongest oscillation of a channel and its sharpest rise.
//!
//! Input: a record, a window, a band. The straight line through the window is taken off, a Hann window applied, and the
//! Fourier sum evaluated over the band in steps of 0.05 Hz; the size is that of a steady sine of that height (any textbook on
//! signal processing). Clunk is the largest change of acceleration within 20 ms: what a torque that has
//! crossed the lash does to the car when it lands. Shuffle is the swing of powertrain against car after a tip-in, 2 to 12 Hz; judder the vibration of a
//! slipping clutch, 8 to 40 Hz (bands: common practice, no source). Limit: a decaying oscillation reads smaller than it began.

use super::{Metric, series};
use crate::record::Record;

/// Band of shuffle, Hz.
pub const SHUFFLE_HZ: (f64, f64) = (2.0, 12.0);

/// Band of judder, Hz.
pub const JUDDER_HZ: (f64, f64) = (8.0, 40.0);

/// Time after the tip-in that counts, s.
const WINDOW_S: f64 = 1.5;

/// Distance of the frequencies tried, Hz.
const GRID_HZ: f64 = 0.05;

/// Time of a clunk, s.
const CLUNK_S: f64 = 0.02;

/// The strongest oscillation of a channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oscillation {
    /// Its frequency, Hz.
    pub frequency_hz: f64,
    /// Half of its swing, in the unit of the channel.
    pub amplitude: f64,
}

/// Values after the accelerator moved at `action_s`.
pub fn tip_in(record: &Record, action_s: f64) -> Vec<Metric> {
    let within = |name, band| strongest(record, name, (action_s, action_s + WINDOW_S), band);
    let shuffle = within("longitudinal_acceleration", SHUFFLE_HZ);
    let wheels = within("wheel_speed_front_left", SHUFFLE_HZ);
    let judder = within("longitudinal_acceleration", JUDDER_HZ);
    vec![
        Metric::new("shuffle frequency", "Hz", shuffle.map(|o| o.frequency_hz)),
        Metric::new("shuffle amplitude", "m/s2", shuffle.map(|o| o.amplitude)),
        Metric::new(
            "shuffle of the front left wheel",
            "rad/s",
            wheels.map(|o| o.amplitude),
        ),
        Metric::new("judder frequency", "Hz", judder.map(|o| o.frequency_hz)),
        Metric::new("judder amplitude", "m/s2", judder.map(|o| o.amplitude)),
        Metric::new(
            "acceleration change in 20 ms, largest",
            "m/s2",
            sharpest(record, (action_s, action_s + WINDOW_S)),
        ),
        Metric::new(
            "pitch angle, largest",
            "deg",
            series::largest_size(record, "pitch", 0.0, f64::INFINITY)
                .filter(|angle| *angle > 0.0)
                .map(f64::to_degrees),
        ),
    ]
}

/// Largest change of longitudinal acceleration within the time of a clunk, m/s2.
fn sharpest(record: &Record, (from_s, to_s): (f64, f64)) -> Option<f64> {
    let samples = series::window(record, "longitudinal_acceleration", from_s, to_s)?;
    let apart = libm::round(CLUNK_S / record.period_s) as usize;
    if apart == 0 {
        return None;
    }
    samples
        .windows(apart + 1)
        .map(|part| f64::from((part[apart] - part[0]).abs()))
        .reduce(f64::max)
}

/// Strongest oscillation of a channel in a window and band; none in a window shorter than two periods of the lowest
/// frequency, or where sampling does not reach the highest.
pub fn strongest(
    record: &Record,
    name: &str,
    (from_s, to_s): (f64, f64),
    (low_hz, high_hz): (f64, f64),
) -> Option<Oscillation> {
    let samples = series::window(record, name, from_s, to_s)?;
    let count = samples.len();
    let length_s = count as f64 * record.period_s;
    if length_s * low_hz < 2.0 || high_hz * record.period_s > 0.5 {
        return None;
    }
    let values = windowed(samples);
    let weight = 0.5 * count as f64;
    let mut best: Option<Oscillation> = None;
    for step in 0..=libm::round((high_hz - low_hz) / GRID_HZ) as u32 {
        let frequency_hz = low_hz + GRID_HZ * f64::from(step);
        let turn = 2.0 * core::f64::consts::PI * frequency_hz * record.period_s;
        let (mut sine, mut cosine) = (0.0, 0.0);
        for (index, value) in values.iter().enumerate() {
            let angle = turn * index as f64;
            sine += value * libm::sin(angle);
            cosine += value * libm::cos(angle);
        }
        let amplitude = 2.0 * libm::sqrt(sine * sine + cosine * cosine) / weight;
        if best.is_none_or(|best| amplitude > best.amplitude) {
            best = Some(Oscillation {
                frequency_hz,
                amplitude,
            });
        }
    }
    best
}

/// Samples without their straight line, under a Hann window.
fn windowed(samples: &[f32]) -> Vec<f64> {
    let count = samples.len() as f64;
    let middle = 0.5 * (count - 1.0);
    let mean = samples.iter().map(|value| f64::from(*value)).sum::<f64>() / count;
    let (mut product, mut square) = (0.0, 0.0);
    for (index, value) in samples.iter().enumerate() {
        let place = index as f64 - middle;
        product += place * f64::from(*value);
        square += place * place;
    }
    let slope = product / square;
    samples
        .iter()
        .enumerate()
        .map(|(index, value)| {
            let place = index as f64 - middle;
            let share = (index as f64 + 0.5) / count;
            let hann = 0.5 - 0.5 * libm::cos(2.0 * core::f64::consts::PI * share);
            hann * (f64::from(*value) - mean - slope * place)
        })
        .collect()
}
