//! Values of a drive through a bend that closes: path, sideslip, steering, from the first curvature to the end.

use super::series::largest_size;
use super::{Metric, degrees};
use crate::record::Record;

/// All values.
pub(super) fn closing_bend(record: &Record) -> Vec<Metric> {
    let size = |name| largest_size(record, name, 0.0, f64::INFINITY);
    let speed = |sample: Option<&f32>| sample.map(|speed| 3.6 * f64::from(*speed));
    let speeds = record.column("speed");
    vec![
        Metric::new("path error, largest", "m", size("path_error")),
        Metric::new("sideslip, largest", "deg", degrees(size("sideslip"))),
        Metric::new(
            "steering-wheel angle, largest",
            "deg",
            degrees(size("steering_wheel_angle")),
        ),
        Metric::new(
            "lateral acceleration, largest",
            "m/s2",
            size("lateral_acceleration"),
        ),
        Metric::new("exit speed", "km/h", speed(speeds.and_then(<[f32]>::last))),
    ]
}
