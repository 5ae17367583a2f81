//! Values of a straight run with the hands held still: drift and yaw rate.
//!
//! Drift is the largest distance from the tangent of the path at the action, within 1 s and within 6 s of it; yaw rate
//! change is the largest distance from its mean over the 0.2 s before the action. Channels of any well-equipped test car.

use super::series::{at, mean, window};
use super::{Metric, degrees};
use crate::record::Record;
use crate::scenario::Numbers;

/// Straight run: what happens after the action.
pub(super) fn straight(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let action = numbers.driver.action_s;
    // The windows end with the record: a run that did not last has no value.
    let lasted = |to_s: f64| record.time_s(record.len().saturating_sub(1)) >= to_s - 1e-9;
    let drift = |after_s: f64| {
        drift_m(record, action, action + after_s).filter(|_| lasted(action + after_s))
    };
    let before = mean(record, "yaw_rate", (action - 0.2).max(0.0), action);
    let yaw = window(record, "yaw_rate", action, action + 1.0).and_then(|samples| {
        let start = before?;
        samples
            .iter()
            .map(|value| (f64::from(*value) - start).abs())
            .reduce(f64::max)
    });
    vec![
        Metric::new("drift within 1 s", "m", drift(1.0)),
        Metric::new("drift within 6 s", "m", drift(6.0)),
        Metric::new("yaw rate change, largest", "deg/s", degrees(yaw)),
        Metric::new(
            "longitudinal acceleration at the action",
            "m/s2",
            at(record, "longitudinal_acceleration", action),
        ),
        Metric::new("speed at the action", "m/s", at(record, "speed", action)),
    ]
}

/// Largest distance from the tangent at `from_s`, m.
fn drift_m(record: &Record, from_s: f64, to_s: f64) -> Option<f64> {
    let origin = (
        at(record, "position_x", from_s)?,
        at(record, "position_y", from_s)?,
    );
    // The direction of travel, not of the nose.
    let travel = at(record, "heading", from_s)? + at(record, "sideslip", from_s)?;
    let (sine, cosine) = (libm::sin(travel), libm::cos(travel));
    let along = window(record, "position_x", from_s, to_s)?;
    let across = window(record, "position_y", from_s, to_s)?;
    along
        .iter()
        .zip(across)
        .map(|(x, y)| {
            let (x, y) = (f64::from(*x) - origin.0, f64::from(*y) - origin.1);
            (y * cosine - x * sine).abs()
        })
        .reduce(f64::max)
}
