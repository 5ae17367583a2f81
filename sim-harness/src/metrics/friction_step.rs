//! Values of a drive over a slippery stretch in a turn: path, yaw rate, sideslip, and whether the car spun.
//!
//! From 1 m before the stretch to 3 s after it; yaw rate against its mean in the second before. A car that left the road
//! or spun has no less of a path error for ending early: its values stand as far as it came, and "came through" is 0.

use super::series::{first_above, largest_size, mean, window};
use super::{Metric, degrees};
use crate::record::Record;
use crate::scenario::friction_step_road::{SLIPPERY_FROM_M, SLIPPERY_TO_M};

/// Sideslip from which a car has spun, rad.
const SPUN_RAD: f64 = 0.6;

/// Time after the stretch that still counts, s.
const AFTER_S: f64 = 3.0;

/// All values.
pub(super) fn friction_step(record: &Record) -> Vec<Metric> {
    let crossing = |place_m: f64| first_above(record, "path_distance", place_m as f32);
    let from = crossing(SLIPPERY_FROM_M - 1.0).unwrap_or(f64::INFINITY);
    let to = crossing(SLIPPERY_TO_M).map_or(f64::INFINITY, |time| time + AFTER_S);
    let size = |name| largest_size(record, name, from, to);
    let before = mean(record, "yaw_rate", from - 1.0, from);
    let change = window(record, "yaw_rate", from, to).and_then(|samples| {
        let start = before?;
        samples
            .iter()
            .map(|value| (f64::from(*value) - start).abs())
            .reduce(f64::max)
    });
    let sideslip = size("sideslip");
    let through = record.time_s(record.len().saturating_sub(1)) >= to;
    let came = sideslip.map(|most| f64::from(u8::from(through && most < SPUN_RAD)));
    vec![
        Metric::new("came through", "-", came),
        Metric::new("path error, largest", "m", size("path_error")),
        Metric::new("yaw rate change, largest", "deg/s", degrees(change)),
        Metric::new("sideslip, largest", "deg", degrees(sideslip)),
        Metric::new(
            "steering-wheel angle, largest",
            "deg",
            degrees(size("steering_wheel_angle")),
        ),
        Metric::new(
            "speed before",
            "m/s",
            mean(record, "speed", from - 1.0, from),
        ),
    ]
}
