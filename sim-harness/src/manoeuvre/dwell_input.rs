//! Steering of the sine with dwell, and the list of its amplitudes.
//!
//! One period of 0.7 Hz with 500 ms at rest on its second peak; amplitudes from 1.5 A by 0.5 A up to the larger of 6.5 A
//! and 270 deg, or to 300 deg if 6.5 A is more than that. Source: GB/T 30677-2014, 7.7 (read); UN R140 and
//! 49 CFR 571.126 agree (from memory). Pure functions.

use core::f64::consts::TAU;

/// Frequency of the sine, Hz.
pub const FREQUENCY_HZ: f64 = 0.7;
/// Time at rest on the second peak, s.
pub const DWELL_S: f64 = 0.5;
/// Start of the rest, s after the start: three quarters of a period.
pub const DWELL_STARTS_S: f64 = 0.75 / FREQUENCY_HZ;
/// End of the rest, s after the start.
pub const DWELL_ENDS_S: f64 = DWELL_STARTS_S + DWELL_S;
/// End of the steering, s after the start.
pub const STEERING_ENDS_S: f64 = 1.0 / FREQUENCY_HZ + DWELL_S;

/// Steering-wheel angle over its amplitude, -1 to 1, at a time after the start, s; the first half is positive.
pub fn shape(time_s: f64) -> f64 {
    let sine = |time_s: f64| libm::sin(TAU * FREQUENCY_HZ * time_s);
    if time_s > 0.0 && time_s < DWELL_STARTS_S {
        sine(time_s)
    } else if (DWELL_STARTS_S..=DWELL_ENDS_S).contains(&time_s) {
        -1.0
    } else if time_s > DWELL_ENDS_S && time_s < STEERING_ENDS_S {
        sine(time_s - DWELL_S)
    } else {
        0.0
    }
}

/// Amplitudes of a series, deg at the steering wheel, rising; empty for an A that is not above zero.
pub fn amplitudes_deg(reference_deg: f64) -> Vec<f64> {
    let mut amplitudes = Vec::new();
    if !(reference_deg > 0.0) {
        return amplitudes;
    }
    let full_deg = 6.5 * reference_deg;
    let last_deg = if full_deg <= 300.0 {
        full_deg.max(270.0)
    } else {
        300.0
    };
    // In halves of A, counted: a sum of steps would miss the last one by its rounding.
    let mut halves = 3.0;
    while 0.5 * halves * reference_deg < last_deg - 1e-9 {
        amplitudes.push(0.5 * halves * reference_deg);
        halves += 1.0;
    }
    amplitudes.push(last_deg);
    amplitudes
}
