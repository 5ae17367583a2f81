//! Steady turns: understeer and sideslip gradient by any method of ISO 4138.
//!
//! From a record of constant radius, constant speed or constant steering angle. The record is cut into seconds; a second in
//! which the lateral acceleration changes by less than 0.15 m/s2 from its first to its last third is steady and gives one
//! point of means. Road-wheel angle minus Ackermann angle L r / v is what the tyres need beyond geometry; its slope over
//! the lateral acceleration v r is the understeer gradient, the same for the three methods on a linear car. The sideslip
//! gradient is the plain slope of the sideslip angle, and holds for its method only: at constant radius the geometric part
//! of the angle is constant. (Definitions from memory of ISO 4138:2021.) All signed as if the car turned left. Limits: the
//! road-wheel angle is the steering-wheel angle over the ratio; compliance of the steering counts as understeer.

use super::series::slope;
use super::{Metric, degrees};
use crate::record::Record;

/// Standard gravity, m/s2 (ISO 80000-3).
const GRAVITY_M_S2: f64 = 9.806_65;

/// Change of lateral acceleration within a second up to which it is steady, m/s2.
const STEADY_M_S2: f64 = 0.15;

/// Range over which most cars are nearly linear, m/s2; chosen.
const LINEAR_M_S2: (f64, f64) = (0.5, 4.0);

/// Means of one steady second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Speed times yaw rate, m/s2.
    pub lateral_m_s2: f64,
    /// Yaw rate over speed, 1/m.
    pub curvature_1_m: f64,
    /// Road-wheel angle, rad.
    pub road_wheel_rad: f64,
    /// Sideslip angle, rad.
    pub sideslip_rad: f64,
}

/// The steady seconds of a record, as if the car turned left.
pub fn points(record: &Record) -> Vec<Point> {
    let column = |name| record.column(name);
    let (Some(speed), Some(yaw), Some(steer), Some(sideslip)) = (
        column("speed"),
        column("yaw_rate"),
        column("road_wheel_angle"),
        column("sideslip"),
    ) else {
        return Vec::new();
    };
    let width = (libm::round(1.0 / record.period_s) as usize).max(3);
    let mean = |samples: &[f32]| {
        samples.iter().map(|value| f64::from(*value)).sum::<f64>() / samples.len() as f64
    };
    let mut points = Vec::new();
    for first in (0..record.len()).step_by(width) {
        let second = first..first + width;
        if second.end > record.len() {
            break;
        }
        let (speed, yaw) = (&speed[second.clone()], &yaw[second.clone()]);
        let lateral = |part: core::ops::Range<usize>| mean(&speed[part.clone()]) * mean(&yaw[part]);
        let (start, end) = (lateral(0..width / 3), lateral(width - width / 3..width));
        // Not a number fails the comparison too.
        if !((end - start).abs() < STEADY_M_S2) {
            continue;
        }
        let (forward, turn) = (mean(speed), mean(yaw));
        let side = if turn < 0.0 { -1.0 } else { 1.0 };
        points.push(Point {
            lateral_m_s2: side * forward * turn,
            curvature_1_m: side * turn / forward,
            road_wheel_rad: side * mean(&steer[second.clone()]),
            sideslip_rad: side * mean(&sideslip[second]),
        });
    }
    points
}

/// Slopes over the lateral acceleration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gradients {
    /// Understeer gradient at the road wheel, rad s2/m; positive for understeer.
    pub understeer_rad_s2_m: f64,
    /// Sideslip gradient, rad s2/m; negative where the tail hangs out more with more lateral acceleration.
    pub sideslip_rad_s2_m: f64,
}

/// Gradients between two lateral accelerations, by least squares; none with fewer than three steady seconds there.
pub fn gradients(points: &[Point], wheelbase_m: f64, from: f64, to: f64) -> Option<Gradients> {
    let inside = || {
        points
            .iter()
            .filter(|point| (from..=to).contains(&point.lateral_m_s2))
    };
    let beyond: Vec<(f64, f64)> = inside()
        .map(|point| {
            let ackermann_rad = wheelbase_m * point.curvature_1_m;
            (point.lateral_m_s2, point.road_wheel_rad - ackermann_rad)
        })
        .collect();
    let sideslip: Vec<(f64, f64)> = inside()
        .map(|point| (point.lateral_m_s2, point.sideslip_rad))
        .collect();
    Some(Gradients {
        understeer_rad_s2_m: slope(&beyond)?,
        sideslip_rad_s2_m: slope(&sideslip)?,
    })
}

/// Values of a steady turn that need the record alone.
pub fn turn(record: &Record) -> Vec<Metric> {
    let mut reached: Vec<f64> = points(record)
        .iter()
        .map(|point| point.lateral_m_s2)
        .collect();
    reached.sort_by(f64::total_cmp);
    let largest = reached.last().copied();
    let gap = reached
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .reduce(f64::max);
    vec![
        Metric::new("lateral acceleration, largest steady", "m/s2", largest),
        Metric::new("lateral acceleration, largest step", "m/s2", gap),
    ]
}

/// Gradients of the range in which most cars are nearly linear.
pub(super) fn linear_range(record: &Record, wheelbase_m: f64) -> Vec<Metric> {
    let found = gradients(&points(record), wheelbase_m, LINEAR_M_S2.0, LINEAR_M_S2.1);
    let per_g = |value: Option<f64>| degrees(value.map(|value| value * GRAVITY_M_S2));
    vec![
        Metric::new(
            "understeer gradient up to 4 m/s2",
            "deg/g",
            per_g(found.map(|found| found.understeer_rad_s2_m)),
        ),
        Metric::new(
            "sideslip gradient up to 4 m/s2",
            "deg/g",
            per_g(found.map(|found| found.sideslip_rad_s2_m)),
        ),
    ]
}
