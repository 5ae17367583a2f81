//! One-period sine: how late and how strongly the car follows, in the manner of ISO 7401.
//!
//! Peaks of steering, yaw rate and lateral acceleration in both half-periods, read between samples. Lag: peak of the
//! response minus peak of the steering-wheel angle. Gain: first peak of the response over first peak of the
//! steering-wheel angle. (ISO 7401:2011 clause 11, formerly ISO/TR 8725; values from memory.) The ratio of the second to
//! the first peak, over that of the steering, tells whether the car answers the change of direction as strongly: 1 for
//! equal answers. Limits: more than two half-periods of steering are not understood.

use super::Metric;
use super::curve::Curve;
use crate::record::Record;

/// Values of a one-period sine.
pub fn one_period_sine(record: &Record) -> Vec<Metric> {
    let steering = Peaks::of(record, "steering_wheel_angle", None);
    let side = steering.map(|peaks| peaks.side);
    let yaw = Peaks::of(record, "yaw_rate", side);
    let lateral = Peaks::of(record, "lateral_acceleration", side);
    let both = |response: Option<Peaks>| Some((response?, steering?));
    let first_lag = |response| both(response).map(|(y, x)| y.first.0 - x.first.0);
    let second_lag = |response| both(response).map(|(y, x)| y.second.0 - x.second.0);
    let gain = |response| both(response).map(|(y, x)| y.first.1 / x.first.1);
    let evenness =
        |response| both(response).map(|(y, x)| y.second.1 / y.first.1 / (x.second.1 / x.first.1));
    vec![
        Metric::new("yaw rate lag, first peak", "s", first_lag(yaw)),
        Metric::new("yaw rate lag, second peak", "s", second_lag(yaw)),
        Metric::new(
            "lateral acceleration lag, first peak",
            "s",
            first_lag(lateral),
        ),
        Metric::new(
            "lateral acceleration lag, second peak",
            "s",
            second_lag(lateral),
        ),
        Metric::new("yaw rate gain, first peak", "1/s", gain(yaw)),
        Metric::new(
            "lateral acceleration gain, first peak",
            "m/s2/rad",
            gain(lateral),
        ),
        Metric::new("yaw rate gain, second over first peak", "-", evenness(yaw)),
        Metric::new(
            "lateral acceleration gain, second over first peak",
            "-",
            evenness(lateral),
        ),
        Metric::new(
            "lateral acceleration, first peak",
            "m/s2",
            lateral.map(|y| y.first.1),
        ),
    ]
}

/// Time, s, and size of both peaks; `side` is the sign of the first.
#[derive(Debug, Clone, Copy)]
struct Peaks {
    side: f64,
    first: (f64, f64),
    second: (f64, f64),
}

impl Peaks {
    /// Peaks of a channel; without a known side the larger excursion that comes first gives it.
    fn of(record: &Record, name: &str, side: Option<f64>) -> Option<Self> {
        let line = Curve::new(record.period_s, record.column(name)?);
        let side = match side {
            Some(side) => side,
            None => {
                let (left, _) = line.peak(0.0, line.end_s())?;
                let (right, _) = line.clone().scaled(-1.0).peak(0.0, line.end_s())?;
                if left < right { 1.0 } else { -1.0 }
            }
        };
        let towards = line.scaled(side);
        let end = towards.end_s();
        let second = towards.clone().scaled(-1.0).peak(0.0, end)?;
        // What swings back after the second peak is no answer to the first half-period.
        let first = towards.peak(0.0, second.0)?;
        (first.1 > 0.0 && second.1 > 0.0).then_some(Self {
            side,
            first,
            second,
        })
    }
}
