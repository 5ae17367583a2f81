//! Does it stay stable? Sudden steering, lift-off, a trailer.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::Manoeuvre;

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "step-steer-steady",
        setting: "patrol",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: |_| {},
    },
    Group {
        name: "step-steer-agile",
        setting: "response",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: |_| {},
    },
    Group {
        name: "step-steer-130",
        setting: "patrol",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: |scenario| scenario.numbers.course.speed_m_s = 130.0 / 3.6,
    },
    Group {
        name: "lift-off",
        setting: "patrol",
        manoeuvre: Manoeuvre::LiftOff,
        adjust: |_| {},
    },
    Group {
        name: "trailer-sway",
        setting: "patrol",
        manoeuvre: Manoeuvre::TrailerSway,
        adjust: |_| {},
    },
];

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    vec![
        table.row(
            "step-stable-overshoot",
            "step-steer-steady",
            "step steer at 100 km/h to 4 m/s2 (ISO 7401): yaw rate overshoot",
            "yaw rate overshoot",
            Some(Target::AtMost(12.0)),
        ),
        table.row(
            "step-stable-response",
            "step-steer-steady",
            "same: response time of yaw rate",
            "yaw rate response time",
            Some(Target::AtMost(0.21)),
        ),
        table.row(
            "step-agile-settling",
            "step-steer-agile",
            "same with the agile setting: settling time of yaw rate",
            "yaw rate settling time",
            Some(Target::AtMost(0.45)),
        ),
        table.row(
            "step-agile-response",
            "step-steer-agile",
            "same: response time of yaw rate",
            "yaw rate response time",
            Some(Target::AtMost(0.16)),
        ),
        table.row(
            "step-130",
            "step-steer-130",
            "step steer at 130 km/h: yaw rate overshoot",
            "yaw rate overshoot",
            Some(Target::AtMost(23.0)),
        ),
        table.row(
            "lift-off",
            "lift-off",
            "lift-off at 6.5 m/s2, R 100 m (ISO 9816): curvature after 1 s over initial",
            "curvature after 1 s over initial",
            Some(Target::Between(0.93, 1.05)),
        ),
        table.row(
            "lift-off-peak",
            "lift-off",
            "same: largest curvature over initial",
            "curvature, largest over initial",
            Some(Target::AtMost(1.12)),
        ),
        trailer(table),
    ]
}

/// The car with open clutches in the same programme is the target.
fn trailer(table: &Results<'_>) -> Row {
    let mut row = table.row(
        "trailer",
        "trailer-sway",
        "steering pulse at 100 km/h with a trailer of 1300 kg (ISO 9815): damping ratio of the sway",
        "sway damping ratio",
        None,
    );
    row.target = row.passive.map(Target::AtLeast);
    row.source = "project target: not lower than with open clutches";
    row
}
