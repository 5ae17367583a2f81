//! Values of moving off and stopping: split launch, split brake, full-lock parking.
//!
//! Inputs: numbers of the scenario (which way is driven, when the driver acts) and the record. A goal never reached is
//! missing. Channels of clutch torque are truth that only a simulation knows; all others a test car has.

use super::series::{first_beyond, largest_size};
use super::{Metric, degrees};
use crate::record::Record;
use crate::scenario::{LAUNCH_GOAL_M_S, Numbers};

/// Speed that counts as moved off at full lock, m/s: 5 km/h.
const MOVED_OFF_M_S: f64 = 5.0 / 3.6;

/// Speed that counts as standing, m/s.
const STANDING_M_S: f32 = 0.1;

/// Split launch: time to 20 km/h in driving direction, distance from the line.
pub(super) fn launch(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let time = time_to(numbers, record, LAUNCH_GOAL_M_S);
    // A car that never got away kept its line, but that is no merit.
    let deviation = time.and(largest_size(record, "path_error", 0.0, f64::INFINITY));
    vec![
        Metric::new("time to 20 km/h", "s", time),
        Metric::new("lateral deviation", "m", deviation),
        Metric::new(
            "yaw rate, largest",
            "deg/s",
            degrees(largest_size(record, "yaw_rate", 0.0, f64::INFINITY)),
        ),
    ]
}

/// Split brake: distance to standstill, and what it took to stay straight.
pub(super) fn split_brake(_numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let stopped = stopping_distance_m(record);
    let size = |name| largest_size(record, name, 0.0, f64::INFINITY);
    vec![
        Metric::new("stopping distance", "m", stopped),
        Metric::new("lateral deviation", "m", size("path_error")),
        Metric::new("yaw rate, largest", "deg/s", degrees(size("yaw_rate"))),
        Metric::new(
            "steering-wheel angle, largest",
            "deg",
            degrees(size("steering_wheel_angle")),
        ),
    ]
}

/// Full-lock parking: torque that winds the driveline up instead of moving the car, and the time to move off.
///
/// Two kinds: a clutch that holds its wheel back, and rear torque beyond the powertrain's, which the front wheels brake.
pub(super) fn park(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let direction = numbers.driver.direction();
    let column = |name| record.column(name).unwrap_or_default();
    let (left, right) = (
        column("plant_clutch_torque_left"),
        column("plant_clutch_torque_right"),
    );
    let carrier = column("plant_carrier_torque");
    let largest = |of: &dyn Fn(usize) -> f64| (0..record.len()).map(of).reduce(f64::max);
    let along = |samples: &[f32], index: usize| {
        direction * samples.get(index).copied().map_or(f64::NAN, f64::from)
    };
    let held_back = largest(&|index| (-along(left, index)).max(-along(right, index)).max(0.0));
    let beyond = largest(&|index| {
        let rear = along(left, index) + along(right, index);
        (rear - along(carrier, index).max(0.0)).max(0.0)
    });
    let wind_up = match (held_back, beyond) {
        (Some(one), Some(other)) => Some(one.max(other)),
        _ => None,
    };
    vec![
        Metric::new("wind-up torque, largest", "N m", wind_up),
        Metric::new("clutch torque against travel, largest", "N m", held_back),
        Metric::new(
            "rear torque beyond the powertrain's, largest",
            "N m",
            beyond,
        ),
        Metric::new(
            "time to 5 km/h",
            "s",
            time_to(numbers, record, MOVED_OFF_M_S),
        ),
    ]
}

/// Distance driven from the first touch of the brake to standstill, m; missing for a car that did not stop.
pub(super) fn stopping_distance_m(record: &Record) -> Option<f64> {
    let from = record
        .column("brake")?
        .iter()
        .position(|brake| *brake > 0.0)?;
    let speed = record.column("speed")?.get(from..)?;
    let standing = speed.iter().position(|speed| speed.abs() < STANDING_M_S)?;
    let path = speed.get(..standing)?;
    Some(path.iter().map(|speed| f64::from(speed.abs())).sum::<f64>() * record.period_s)
}

/// Time from the driver's action to a speed in driving direction, s.
fn time_to(numbers: &Numbers, record: &Record, speed_m_s: f64) -> Option<f64> {
    let direction = numbers.driver.direction();
    first_beyond(record, "speed", speed_m_s as f32, direction as f32)
        .map(|time| time - numbers.driver.action_s)
}
