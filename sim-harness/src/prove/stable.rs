//! Does it stay stable? Steering inputs, lift-off, braking in a turn, a trailer.

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
        name: "sine-with-dwell-dry",
        setting: "patrol",
        manoeuvre: Manoeuvre::SineWithDwell,
        adjust: |scenario| scenario.numbers.driver.amplitude_a = 0.0,
    },
    Group {
        name: DWELL_LEFT,
        setting: "patrol",
        manoeuvre: Manoeuvre::SineWithDwell,
        adjust: |_| {},
    },
    Group {
        name: DWELL_RIGHT,
        setting: "patrol",
        manoeuvre: Manoeuvre::SineWithDwell,
        adjust: |scenario| scenario.numbers.driver.first_side = -1.0,
    },
    Group {
        name: "sine-with-dwell-wet",
        setting: "patrol",
        manoeuvre: Manoeuvre::SineWithDwell,
        adjust: |scenario| {
            scenario.numbers.driver.amplitude_a = 0.0;
            scenario.numbers.road.friction_left = 0.6;
            scenario.numbers.road.friction_right = 0.6;
        },
    },
    Group {
        name: "trailer-sway",
        setting: "patrol",
        manoeuvre: Manoeuvre::TrailerSway,
        adjust: |_| {},
    },
    Group {
        name: "braking-in-turn",
        setting: "patrol",
        manoeuvre: Manoeuvre::BrakingInTurn,
        adjust: |_| {},
    },
    Group {
        name: "one-period-sine",
        setting: "patrol",
        manoeuvre: Manoeuvre::OnePeriodSine,
        adjust: |_| {},
    },
    Group {
        name: "frequency-100",
        setting: "patrol",
        manoeuvre: Manoeuvre::FrequencySweep,
        adjust: |_| {},
    },
];

pub(super) const DWELL_LEFT: &str = "sine-with-dwell-dry-left";
const DWELL_RIGHT: &str = "sine-with-dwell-dry-right";

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
        table.row(
            "dwell-dry",
            "sine-with-dwell-dry",
            "sine with dwell (UN R140), friction 0.95: largest amplitude up to which every run to both sides passed",
            "largest amplitude passed",
            Some(Target::AtLeast(6.5)),
        ),
        // Each axle has its own A, and a series that is passed ends at 270 deg: degrees compare the axles.
        table.row(
            "dwell-dry-angle",
            "sine-with-dwell-dry",
            "same: steering-wheel angle of that amplitude; the series ends at 270",
            "largest angle passed",
            None,
        ),
        worse_side(
            table,
            "dwell-dry-displacement",
            "same at 6.5 A, worse side: displacement 1.07 s after the beginning of steer",
            "lateral displacement after 1.07 s",
            Target::AtLeast(1.83),
        ),
        worse_side(
            table,
            "dwell-dry-sideslip",
            "same run: sideslip",
            "sideslip, largest",
            Target::AtMost(10.0),
        ),
        table.row(
            "dwell-wet",
            "sine-with-dwell-wet",
            "sine with dwell, friction 0.6: largest amplitude up to which every run to both sides passed",
            "largest amplitude passed",
            Some(Target::AtLeast(4.0)),
        ),
        table.row(
            "dwell-wet-angle",
            "sine-with-dwell-wet",
            "same: steering-wheel angle of that amplitude; the series ends at 270",
            "largest angle passed",
            None,
        ),
        trailer(table),
        table.row(
            "braking-in-turn",
            "braking-in-turn",
            "braking at 5 m/s2 in a turn of 5 m/s2, R 100 m (ISO 7975): yaw rate over reference after 1 s",
            "yaw rate over reference after 1 s",
            None,
        ),
        table.row(
            "one-period-sine",
            "one-period-sine",
            "one period of 0.5 Hz at 100 km/h (ISO 7401): lag of lateral acceleration, first peak",
            "lateral acceleration lag, first peak",
            None,
        ),
        table.row(
            "frequency-100",
            "frequency-100",
            "frequency response at 100 km/h (ISO 7401): equivalent time of yaw rate",
            "equivalent time of yaw rate",
            None,
        ),
    ]
}

/// A row of the worse of the two runs at 6.5 A; missing where one of them is.
fn worse_side(
    table: &Results<'_>,
    id: &str,
    requirement: &str,
    metric: &str,
    target: Target,
) -> Row {
    let mut row = table.row(id, DWELL_LEFT, requirement, metric, Some(target));
    let right = table.row(id, DWELL_RIGHT, requirement, metric, Some(target));
    let worse = |one: Option<f64>, other: Option<f64>| {
        let (one, other) = (one?, other?);
        let first = target.margin(one) <= target.margin(other);
        Some(if first { one } else { other })
    };
    row.passive = worse(row.passive, right.passive);
    row.coupling = worse(row.coupling, right.coupling);
    row.paired = worse(row.paired, right.paired);
    row
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
