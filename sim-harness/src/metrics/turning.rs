//! Values of manoeuvres in a turn: circle, power-on exit, lift-off.

use super::series::{self, at, largest_size, mean, running_mean, slope, window};
use super::{Metric, degrees, oversteer, turn_change};
use crate::record::Record;
use crate::scenario::Numbers;

/// Time after the action that counts in a power-on exit, s.
pub const EXIT_S: f64 = 3.0;

/// Standard gravity, m/s2 (ISO 80000-3).
const GRAVITY_M_S2: f64 = 9.806_65;

/// Power-on exit: everything within 3 s of the action; yaw rate against the path's curvature times speed.
pub(super) fn exit(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let from = numbers.driver.action_s;
    let to = from + EXIT_S;
    let size = |name| largest_size(record, name, from, to);
    let error = match (
        window(record, "yaw_rate", from, to),
        window(record, "path_yaw_rate", from, to),
    ) {
        (Some(is), Some(should)) if !is.is_empty() => {
            let squares: f64 = is
                .iter()
                .zip(should)
                .map(|(a, b)| f64::from(a - b) * f64::from(a - b))
                .sum();
            Some(libm::sqrt(squares / is.len() as f64))
        }
        _ => None,
    };
    vec![
        Metric::new("speed after 3 s", "m/s", at(record, "speed", to)),
        Metric::new("accelerator, largest", "-", size("pedal")),
        Metric::new("path error, largest", "m", size("path_error")),
        Metric::new("yaw rate error, rms", "deg/s", degrees(error)),
        Metric::new("sideslip, largest", "deg", degrees(size("sideslip"))),
        Metric::new(
            "steering-wheel angle, largest",
            "deg",
            degrees(size("steering_wheel_angle")),
        ),
    ]
}

/// Lift-off: curvature of the path over its value before, one second after and at most within two seconds.
///
/// (ISO 9816:2018 compares values at the start with those one and two seconds after; from memory.) Beside them stand yaw
/// rate, sideslip, path and deceleration of [`turn_change`].
pub(super) fn lift_off(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let action = numbers.driver.action_s;
    let curvature = |time_s: f64| {
        let lateral = at(record, "lateral_acceleration", time_s)?;
        let speed = at(record, "speed", time_s)?;
        Some((lateral / (speed * speed)).abs())
    };
    let before = match (
        mean(record, "lateral_acceleration", action - 0.5, action),
        mean(record, "speed", action - 0.5, action),
    ) {
        (Some(lateral), Some(speed)) => Some((lateral / (speed * speed)).abs()),
        _ => None,
    };
    let ratio = |value: Option<f64>| Some(value? / before?);
    let mut peak: Option<f64> = None;
    let mut time = action;
    while time <= action + 2.0 {
        if let Some(value) = curvature(time) {
            peak = Some(peak.map_or(value, |most: f64| most.max(value)));
        }
        time += record.period_s;
    }
    let sideslip_before = mean(record, "sideslip", action - 0.5, action);
    let rise = window(record, "sideslip", action, action + 2.0).and_then(|samples| {
        let start = sideslip_before?;
        samples
            .iter()
            .map(|value| (f64::from(*value) - start).abs())
            .reduce(f64::max)
    });
    // Outward: the nose turns into the turn. Lifting off in a fast turn lets the tail drift out, which is what may spin.
    let outward = sideslip_before.and_then(|start| {
        let start_size = start.abs();
        let sign = if start < 0.0 { -1.0 } else { 1.0 };
        window(record, "sideslip", action, action + 2.0)?
            .iter()
            .map(|value| sign * f64::from(*value) - start_size)
            .reduce(f64::max)
    });
    let mut metrics = vec![
        Metric::new(
            "curvature after 1 s over initial",
            "-",
            ratio(curvature(action + 1.0)),
        ),
        Metric::new("curvature, largest over initial", "-", ratio(peak)),
        Metric::new("sideslip change, largest", "deg", degrees(rise)),
        Metric::new("sideslip rise", "deg", degrees(outward)),
        Metric::new(
            "lateral acceleration before",
            "m/s2",
            mean(record, "lateral_acceleration", action - 0.5, action).map(f64::abs),
        ),
    ];
    metrics.extend(turn_change::after(numbers, record));
    metrics
}

/// Constant radius: highest lateral acceleration held near the path, and the road-wheel understeer gradient at 60 % and
/// 80 % of it. On a circle the Ackermann angle is constant, so the gradient is the slope of the road-wheel angle.
pub(super) fn circle(record: &Record) -> Vec<Metric> {
    let empty: &[f32] = &[];
    let column = |name| record.column(name).unwrap_or(empty);
    let width = libm::round(1.0 / record.period_s) as usize;
    let lateral: Vec<f64> = running_mean(column("lateral_acceleration"), width)
        .iter()
        .map(|v| v.abs())
        .collect();
    let angle = running_mean(column("road_wheel_angle"), width);
    let error = column("path_error");
    let near = |index: usize| error.get(index).is_some_and(|value| value.abs() <= 1.5);
    let limit = lateral
        .iter()
        .enumerate()
        .filter(|(index, _)| near(*index))
        .map(|(_, v)| *v)
        .reduce(f64::max);
    // Finite samples only: a damaged one must not decide to which side the car turned.
    let turned: f64 = angle.iter().filter(|angle| angle.is_finite()).sum();
    let side = if turned < 0.0 { -1.0 } else { 1.0 };
    let slope_between = |low: f64, high: f64| {
        let points: Vec<(f64, f64)> = lateral
            .iter()
            .zip(&angle)
            .enumerate()
            .filter(|(index, (value, _))| low <= **value && **value <= high && near(*index))
            .map(|(_, (value, steer))| (*value, side * steer))
            .collect();
        Some((slope(&points)? * GRAVITY_M_S2).to_degrees())
    };
    let gradient = |share: f64| {
        let aim = limit? * share;
        slope_between(aim - 0.4, aim + 0.4)
    };
    let inside = |low: f64, high: f64| {
        let lateral = &lateral;
        move |index: usize| {
            lateral
                .get(index)
                .is_some_and(|value| low <= *value && *value <= high)
        }
    };
    let counted = |count: Option<usize>| count.map(|count| count as f64);
    vec![
        Metric::new(
            "understeer gradient at 60 % of the limit",
            "deg/g",
            gradient(0.6),
        ),
        Metric::new(
            "understeer gradient at 80 % of the limit",
            "deg/g",
            gradient(0.8),
        ),
        Metric::new(
            "understeer gradient from 1 to 3.2 m/s2",
            "deg/g",
            slope_between(1.0, 3.2),
        ),
        Metric::new(
            "oversteer below 3.2 m/s2, samples",
            "-",
            counted(oversteer::samples(record, inside(0.0, 3.2))),
        ),
        Metric::new(
            "oversteer near 8.5 m/s2, samples",
            "-",
            counted(oversteer::samples(record, inside(8.3, 8.7))),
        ),
        Metric::new(
            "clutches locked near 8.5 m/s2, times",
            "-",
            counted(oversteer::locks(record, inside(8.3, 8.7))),
        ),
        Metric::new(
            "axle solid near 8.5 m/s2, times",
            "-",
            counted(oversteer::solid(record, inside(8.3, 8.7))),
        ),
        Metric::new("lateral acceleration, largest", "m/s2", limit),
        Metric::new(
            "sideslip, largest",
            "deg",
            degrees(series::largest_size(record, "sideslip", 0.0, f64::INFINITY)),
        ),
    ]
}
