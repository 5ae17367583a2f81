//! Values of a lane change between cones: speeds at the gates, cones, overshoot, sideslip, steering, heat.
//!
//! Input: a record with the channels `lane_stretch` (0 before the first gate, 1 to 5, 6 after the last section),
//! `lane_overshoot` and `lane_cones_struck`, which a drive with known places of car and cones has. The entry speed counts
//! as passed only when the car came through without a struck cone. (Values of ISO 3888-2 reports, from memory: entry and
//! exit speed, cones struck.)

use super::series::{at, largest_size, running_mean, window};
use super::{Metric, degrees};
use crate::record::Record;

/// Samples of the steering rate's running mean, s: as 49 CFR 571.126 smooths it, from memory.
const RATE_MEAN_S: f64 = 0.1;

/// Number of `lane_stretch` when the last section is behind the car.
const THROUGH: f32 = 6.0;

/// Whether the car came through and struck no cone.
pub fn passed(record: &Record) -> bool {
    let last = |name| record.column(name).and_then(|column| column.last());
    let through = record
        .column("lane_stretch")
        .is_some_and(|column| column.iter().any(|stretch| *stretch >= THROUGH));
    let clean =
        |name| largest_size(record, name, 0.0, f64::INFINITY).is_some_and(|most| most == 0.0);
    through && last("lane_cones_struck") == Some(&0.0) && clean("lane_overshoot")
}

/// All values.
pub(super) fn lane(record: &Record) -> Vec<Metric> {
    let entry_s = first_at_least(record, "lane_stretch", 1.0);
    let exit_s = first_at_least(record, "lane_stretch", THROUGH);
    let from = entry_s.unwrap_or(f64::INFINITY);
    let to = exit_s.unwrap_or(f64::INFINITY);
    let size = |name| largest_size(record, name, from, to);
    let entry = entry_s.and_then(|time| at(record, "speed", time));
    let struck = record
        .column("lane_cones_struck")
        .and_then(|column| column.last().copied())
        .map(f64::from);
    let rate = window(record, "steering_wheel_angle", from, to).map(|angles| {
        let rates: Vec<f32> = angles
            .windows(2)
            .map(|pair| ((f64::from(pair[1]) - f64::from(pair[0])) / record.period_s) as f32)
            .collect();
        let width = libm::round(RATE_MEAN_S / record.period_s) as usize;
        running_mean(&rates, width)
            .into_iter()
            .fold(0.0_f64, |most, rate| most.max(rate.abs()))
    });
    vec![
        Metric::new(
            "entry speed passed",
            "km/h",
            entry.filter(|_| passed(record)).map(|speed| 3.6 * speed),
        ),
        Metric::new("entry speed", "km/h", entry.map(|speed| 3.6 * speed)),
        Metric::new(
            "exit speed",
            "km/h",
            exit_s
                .and_then(|time| at(record, "speed", time))
                .map(|speed| 3.6 * speed),
        ),
        Metric::new("cones struck", "-", struck),
        Metric::new("lane overshoot, largest", "m", size("lane_overshoot")),
        Metric::new("sideslip, largest", "deg", degrees(size("sideslip"))),
        Metric::new("steering rate, largest", "deg/s", degrees(rate)),
        Metric::new(
            "lateral acceleration, largest",
            "m/s2",
            size("lateral_acceleration"),
        ),
    ]
}

/// Time of the first sample at or above a level of a channel that counts in whole numbers.
fn first_at_least(record: &Record, name: &str, level: f32) -> Option<f64> {
    let column = record.column(name)?;
    let index = column.iter().position(|value| *value >= level)?;
    Some(record.time_s(index))
}
