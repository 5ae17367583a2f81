//! Step response values, in the manner of ISO 7401.
//!
//! Reference time is when the steering input passes half of its size; response time is from there to 90 % of the new
//! steady value, peak response time from there to the largest value; overshoot is peak over steady value minus one; the
//! TB factor is the yaw rate's peak response time times the steady sideslip, s deg. (ISO 7401:2011, from memory.) The
//! steady value is the mean from 2 to 2.5 s after the reference time: a plateau that every car has reached and slow
//! corrections have not yet moved. Settling counts from the reference time until the value stays within 5 %, as far as the
//! plateau's end. Times and peaks are read between samples. Steady sideslip is signed as if the car turned left: negative
//! where the car's nose points into the turn.

use super::Metric;
use super::curve::Curve;
use super::series::{largest_size, mean};
use crate::record::Record;

/// The plateau, s after the reference time.
const PLATEAU_S: (f64, f64) = (2.0, 2.5);

/// Band that counts as settled.
const SETTLED: f64 = 0.05;

/// Yaw rate and lateral acceleration response to a steering step.
pub fn step_steer(record: &Record) -> Vec<Metric> {
    let end = record.time_s(record.len().saturating_sub(1));
    let steering = Seen {
        record,
        plateau_s: (end - 0.5, end),
    }
    .response("steering_wheel_angle");
    let reference = steering
        .as_ref()
        .and_then(|response| response.normal.first_above(0.0, 0.5));
    let from = reference.unwrap_or(f64::NAN);
    let plateau_s = (from + PLATEAU_S.0, from + PLATEAU_S.1);
    let seen = Seen { record, plateau_s };
    let yaw = seen.response("yaw_rate");
    let lateral = seen.response("lateral_acceleration");
    let after = |time: Option<f64>| Some(time? - reference?);
    let overshoot = |response: &Option<Response>| Some(100.0 * (response.as_ref()?.peak.1 - 1.0));
    let rise = |response: &Option<Response>| {
        after(
            response
                .as_ref()
                .and_then(|y| y.normal.first_above(0.0, 0.9)),
        )
    };
    let peak = |response: &Option<Response>| after(response.as_ref().map(|y| y.peak.0));
    let side = yaw.as_ref().map_or(1.0, |y| y.steady.signum());
    let sideslip_deg =
        mean(record, "sideslip", plateau_s.0, plateau_s.1).map(|value| (side * value).to_degrees());
    let factor = match (peak(&yaw), sideslip_deg) {
        (Some(time_s), Some(angle_deg)) => Some(time_s * angle_deg.abs()),
        _ => None,
    };
    vec![
        Metric::new("yaw rate overshoot", "%", overshoot(&yaw)),
        Metric::new("yaw rate response time", "s", rise(&yaw)),
        Metric::new("yaw rate peak response time", "s", peak(&yaw)),
        Metric::new(
            "yaw rate settling time",
            "s",
            after(yaw.as_ref().map(|y| y.settled_s)),
        ),
        Metric::new("lateral acceleration response time", "s", rise(&lateral)),
        Metric::new(
            "lateral acceleration peak response time",
            "s",
            peak(&lateral),
        ),
        Metric::new("lateral acceleration overshoot", "%", overshoot(&lateral)),
        Metric::new(
            "steady lateral acceleration",
            "m/s2",
            lateral.as_ref().map(|y| y.steady.abs()),
        ),
        Metric::new(
            "steady yaw rate",
            "deg/s",
            yaw.as_ref().map(|y| y.steady.abs().to_degrees()),
        ),
        Metric::new("steady sideslip", "deg", sideslip_deg),
        Metric::new("TB factor", "s deg", factor),
        // A car without roll as a motion has none, not zero.
        Metric::new(
            "roll angle, largest",
            "deg",
            largest_size(record, "roll", 0.0, f64::INFINITY)
                .filter(|angle| *angle > 0.0)
                .map(f64::to_degrees),
        ),
        Metric::new(
            "steering-wheel angle",
            "deg",
            steering.as_ref().map(|y| y.steady.abs().to_degrees()),
        ),
    ]
}

struct Seen<'a> {
    record: &'a Record,
    plateau_s: (f64, f64),
}

struct Response {
    steady: f64,
    /// Time, s, and share of the steady value.
    peak: (f64, f64),
    settled_s: f64,
    normal: Curve,
}

impl Seen<'_> {
    /// The channel over its steady value.
    fn response(&self, name: &str) -> Option<Response> {
        let (from, to) = self.plateau_s;
        let steady = mean(self.record, name, from, to)?;
        // Not a number fails the comparison too.
        if !(steady.abs() > 1e-6) {
            return None;
        }
        let normal =
            Curve::new(self.record.period_s, self.record.column(name)?).scaled(1.0 / steady);
        let settled = normal
            .samples
            .iter()
            .enumerate()
            .take_while(|(index, _)| self.record.time_s(*index) <= to)
            .filter(|(_, share)| (**share - 1.0).abs() > SETTLED)
            .last();
        Some(Response {
            steady,
            peak: normal.peak(0.0, to)?,
            settled_s: settled.map_or(0.0, |(index, _)| self.record.time_s(index + 1)),
            normal,
        })
    }
}
