//! Step response values, in the manner of ISO 7401.
//!
//! Reference time is when the steering input passes half of its size; response time is from there to 90 % of the new
//! steady value; overshoot is peak over steady value minus one. (ISO 7401:2011, from memory.) The steady value is the
//! mean from 2 to 2.5 s after the reference time: a plateau that every car has reached and slow corrections have not yet
//! moved. Settling counts from the reference time until the value stays within 5 %, as far as the plateau's end.

use super::Metric;
use super::series::{first_above, mean};
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
        .and_then(|response| response.crossing(0.5));
    let from = reference.unwrap_or(f64::NAN);
    let seen = Seen {
        record,
        plateau_s: (from + PLATEAU_S.0, from + PLATEAU_S.1),
    };
    let yaw = seen.response("yaw_rate");
    let lateral = seen.response("lateral_acceleration");
    let after = |time: Option<f64>| Some(time? - reference?);
    vec![
        Metric::new(
            "yaw rate overshoot",
            "%",
            yaw.as_ref().map(|y| 100.0 * (y.peak - 1.0)),
        ),
        Metric::new(
            "yaw rate response time",
            "s",
            after(yaw.as_ref().and_then(|y| y.crossing(0.9))),
        ),
        Metric::new(
            "yaw rate settling time",
            "s",
            after(yaw.as_ref().map(|y| y.settled_s)),
        ),
        Metric::new(
            "lateral acceleration response time",
            "s",
            after(lateral.as_ref().and_then(|y| y.crossing(0.9))),
        ),
        Metric::new(
            "steady lateral acceleration",
            "m/s2",
            lateral.as_ref().map(|y| y.steady.abs()),
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
    peak: f64,
    settled_s: f64,
    normal: Record,
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
        let channel = self
            .record
            .channels()
            .iter()
            .find(|channel| channel.name == name)?;
        let mut normal = Record::new(self.record.period_s, vec![*channel]);
        let mut peak = 0.0_f64;
        let mut settled_s = 0.0;
        for (index, value) in self.record.column(name)?.iter().enumerate() {
            if self.record.time_s(index) > to {
                break;
            }
            let share = f64::from(*value) / steady;
            peak = peak.max(share);
            if (share - 1.0).abs() > SETTLED {
                settled_s = self.record.time_s(index + 1);
            }
            normal.push(&[share as f32]);
        }
        Some(Response {
            steady,
            peak,
            settled_s,
            normal,
        })
    }
}

impl Response {
    fn crossing(&self, share: f32) -> Option<f64> {
        first_above(&self.normal, self.normal.channels()[0].name, share)
    }
}
