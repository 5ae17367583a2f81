//! What a change of drive or brake torque does to a steady turn: lift-off and braking.
//!
//! In the manner of ISO 9816 and ISO 7975. Reference is the turn before the action: radius R0 = speed / yaw rate, means of
//! the last half second. Yaw ratio: yaw rate over v(t) / R0, which a car on its old circle would have; 1 keeps the radius,
//! above 1 turns in. Sideslip change: signed as if the car turned left, positive where the car's nose turns outwards (its
//! tail hangs less), in the ISO 8855 sense of the angle. Path deviation: how far inside the old circle the car is, m. Mean
//! deceleration: speed lost over time since the action. (Characteristic values and times from memory of ISO 9816:2018 and
//! ISO 7975:2019.) Instants beyond the record, or after the car has almost stopped, have no value.

use super::series::{at, mean, window};
use super::{Metric, degrees};
use crate::record::Record;
use crate::scenario::Numbers;

/// Time before the action whose means are the reference, s.
const BEFORE_S: f64 = 0.5;

/// Below this speed a yaw ratio says nothing, m/s.
const LEAST_SPEED_M_S: f64 = 3.0;

/// Time after the action in which the largest values are sought, s.
const WATCHED_S: f64 = 2.0;

/// Values one and two seconds after an accelerator is released.
pub fn after(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let turn = Turn::before(record, numbers.driver.action_s);
    let of = |value: &dyn Fn(&Turn<'_>) -> Option<f64>| turn.as_ref().and_then(value);
    vec![
        Metric::new(
            "yaw rate over reference after 1 s",
            "-",
            of(&|t| t.yaw_ratio(1.0)),
        ),
        Metric::new(
            "yaw rate over reference after 2 s",
            "-",
            of(&|t| t.yaw_ratio(2.0)),
        ),
        Metric::new(
            "yaw rate over reference, largest",
            "-",
            of(&|t| t.largest_yaw_ratio()),
        ),
        Metric::new(
            "sideslip change after 1 s",
            "deg",
            of(&|t| degrees(t.sideslip_change(1.0))),
        ),
        Metric::new(
            "sideslip change after 2 s",
            "deg",
            of(&|t| degrees(t.sideslip_change(2.0))),
        ),
        Metric::new(
            "path deviation after 1 s",
            "m",
            of(&|t| t.path_deviation_m(1.0)),
        ),
        Metric::new(
            "path deviation after 2 s",
            "m",
            of(&|t| t.path_deviation_m(2.0)),
        ),
        Metric::new(
            "mean deceleration in 1 s",
            "m/s2",
            of(&|t| t.deceleration_m_s2(0.0, 1.0)),
        ),
        Metric::new(
            "mean deceleration in 2 s",
            "m/s2",
            of(&|t| t.deceleration_m_s2(0.0, 2.0)),
        ),
    ]
}

/// Values of braking in a turn; the mean deceleration is that of the second around one second after the action, when the
/// brakes have built up.
pub fn braking(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let turn = Turn::before(record, numbers.driver.action_s);
    let of = |value: &dyn Fn(&Turn<'_>) -> Option<f64>| turn.as_ref().and_then(value);
    vec![
        Metric::new(
            "yaw rate over reference after 1 s",
            "-",
            of(&|t| t.yaw_ratio(1.0)),
        ),
        Metric::new(
            "yaw rate over reference, largest",
            "-",
            of(&|t| t.largest_yaw_ratio()),
        ),
        Metric::new(
            "yaw rate over reference, least",
            "-",
            of(&|t| t.least_yaw_ratio()),
        ),
        Metric::new(
            "sideslip change after 1 s",
            "deg",
            of(&|t| degrees(t.sideslip_change(1.0))),
        ),
        Metric::new(
            "sideslip change, largest",
            "deg",
            of(&|t| degrees(t.largest_sideslip_change())),
        ),
        Metric::new(
            "path deviation after 1 s",
            "m",
            of(&|t| t.path_deviation_m(1.0)),
        ),
        Metric::new(
            "mean deceleration",
            "m/s2",
            of(&|t| t.deceleration_m_s2(0.5, 1.5)),
        ),
        Metric::new(
            "lateral acceleration before",
            "m/s2",
            of(&|t| Some((t.speed_m_s * t.yaw_rate_rad_s).abs())),
        ),
    ]
}

/// The steady turn before the action, and the record after it.
#[derive(Debug, Clone, Copy)]
pub struct Turn<'a> {
    record: &'a Record,
    action_s: f64,
    /// Speed before, m/s.
    pub speed_m_s: f64,
    /// Yaw rate before, rad/s.
    pub yaw_rate_rad_s: f64,
    sideslip_rad: Option<f64>,
}

impl<'a> Turn<'a> {
    /// The turn of a record; none unless the car turned.
    pub fn before(record: &'a Record, action_s: f64) -> Option<Self> {
        let of = |name| mean(record, name, action_s - BEFORE_S, action_s);
        let (speed_m_s, yaw_rate_rad_s) = (of("speed")?, of("yaw_rate")?);
        (yaw_rate_rad_s.abs() > 1e-6 && speed_m_s > LEAST_SPEED_M_S).then_some(Self {
            record,
            action_s,
            speed_m_s,
            yaw_rate_rad_s,
            sideslip_rad: of("sideslip"),
        })
    }

    /// Yaw rate over speed / R0, `after_s` after the action.
    pub fn yaw_ratio(&self, after_s: f64) -> Option<f64> {
        let time_s = self.action_s + after_s;
        let speed = at(self.record, "speed", time_s)?;
        let yaw = at(self.record, "yaw_rate", time_s)?;
        (speed > LEAST_SPEED_M_S).then(|| yaw / speed * self.speed_m_s / self.yaw_rate_rad_s)
    }

    fn yaw_ratios(&self) -> impl Iterator<Item = f64> {
        let count = libm::round(WATCHED_S / self.record.period_s) as usize;
        (0..=count).filter_map(|index| self.yaw_ratio(index as f64 * self.record.period_s))
    }

    /// Largest yaw ratio within two seconds.
    pub fn largest_yaw_ratio(&self) -> Option<f64> {
        self.yaw_ratios().reduce(f64::max)
    }

    /// Least yaw ratio within two seconds.
    pub fn least_yaw_ratio(&self) -> Option<f64> {
        self.yaw_ratios().reduce(f64::min)
    }

    /// Sideslip minus sideslip before, rad.
    pub fn sideslip_change(&self, after_s: f64) -> Option<f64> {
        let now = at(self.record, "sideslip", self.action_s + after_s)?;
        Some(self.yaw_rate_rad_s.signum() * (now - self.sideslip_rad?))
    }

    /// Largest size of the change of sideslip within two seconds, rad.
    pub fn largest_sideslip_change(&self) -> Option<f64> {
        let start = self.sideslip_rad?;
        window(
            self.record,
            "sideslip",
            self.action_s,
            self.action_s + WATCHED_S,
        )?
        .iter()
        .map(|value| (f64::from(*value) - start).abs())
        .reduce(f64::max)
    }

    /// Distance of the car inside the circle it was on, m; negative outside.
    pub fn path_deviation_m(&self, after_s: f64) -> Option<f64> {
        let of = |name, time_s| at(self.record, name, time_s);
        let place = |time_s| Some((of("position_x", time_s)?, of("position_y", time_s)?));
        let start = place(self.action_s)?;
        let now = place(self.action_s + after_s)?;
        let course = of("heading", self.action_s)? + of("sideslip", self.action_s)?;
        // Positive to the left, as the yaw rate; the centre lies there.
        let radius = self.speed_m_s / self.yaw_rate_rad_s;
        let centre = (
            start.0 - radius * libm::sin(course),
            start.1 + radius * libm::cos(course),
        );
        Some(radius.abs() - libm::hypot(now.0 - centre.0, now.1 - centre.1))
    }

    /// Mean deceleration between two times after the action, m/s2.
    pub fn deceleration_m_s2(&self, from_s: f64, to_s: f64) -> Option<f64> {
        let speed = |after_s| at(self.record, "speed", self.action_s + after_s);
        Some((speed(from_s)? - speed(to_s)?) / (to_s - from_s))
    }
}
