//! The demo car with what it has off: shafts that twist with lash, roll and pitch, stepped gears. No targets.
//!
//! Each group drives the car with one part on; the row says which. They show what the plant can do and whether the axle
//! minds; the law's numbers are those of the car without.

use super::Row;
use super::programme::{Group, Results};
use crate::scenario::Manoeuvre;

pub(super) const TURN: &[Group] = &[Group {
    name: "power-on-exit-geared",
    setting: "response",
    manoeuvre: Manoeuvre::PowerOnExit,
    // Second gear at the start and third before the end of the 3 s, with every axle.
    adjust: |scenario| {
        scenario.numbers.car.stepped_gears = 1.0;
        scenario.numbers.course.radius_m = 70.0;
        scenario.numbers.course.speed_m_s = 19.0;
    },
}];

pub(super) const PULL: &[Group] = &[Group {
    name: "tip-in-lash",
    setting: "patrol",
    manoeuvre: Manoeuvre::TipIn,
    adjust: |scenario| scenario.numbers.car.twisting_shafts = 1.0,
}];

pub(super) const STABLE: &[Group] = &[Group {
    name: "step-steer-sprung",
    setting: "patrol",
    manoeuvre: Manoeuvre::StepSteer,
    adjust: |scenario| scenario.numbers.car.roll_and_pitch = 1.0,
}];

pub(super) fn turn_rows(table: &Results<'_>) -> Vec<Row> {
    let row = |id, words, metric| table.row(id, "power-on-exit-geared", words, metric, None);
    vec![
        row(
            "exit-geared-speed",
            "car with stepped gears, power-on exit R 70 m from 19 m/s with one change of gear: speed after 3 s",
            "speed after 3 s",
        ),
        row(
            "exit-geared-tracking",
            "same: yaw rate error, rms",
            "yaw rate error, rms",
        ),
        row(
            "exit-geared-path",
            "same: path error",
            "path error, largest",
        ),
    ]
}

pub(super) fn pull_rows(table: &Results<'_>) -> Vec<Row> {
    let row = |id, words, metric| table.row(id, "tip-in-lash", words, metric, None);
    vec![
        row(
            "tip-in-shuffle",
            "car with twisting shafts and lash, accelerator pressed out of overrun at 30 km/h: shuffle of the car",
            "shuffle amplitude",
        ),
        row(
            "tip-in-shuffle-frequency",
            "same: frequency of the shuffle",
            "shuffle frequency",
        ),
        row(
            "tip-in-clunk",
            "same: largest change of acceleration in 20 ms as the torque reverses",
            "acceleration change in 20 ms, largest",
        ),
    ]
}

pub(super) fn stable_rows(table: &Results<'_>) -> Vec<Row> {
    let row = |id, words, metric| table.row(id, "step-steer-sprung", words, metric, None);
    vec![
        row(
            "step-sprung-overshoot",
            "car with roll and pitch, step steer at 100 km/h to 4 m/s2 (ISO 7401): yaw rate overshoot",
            "yaw rate overshoot",
        ),
        row(
            "step-sprung-response",
            "same: response time of yaw rate",
            "yaw rate response time",
        ),
        row(
            "step-sprung-roll",
            "same: roll angle",
            "roll angle, largest",
        ),
    ]
}
