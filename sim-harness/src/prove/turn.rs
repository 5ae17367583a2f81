//! Does it turn? Power-on exits and circles.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::Manoeuvre;
use crate::scenario::Scenario;

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "power-on-exit-dry",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: |_| {},
    },
    Group {
        name: "power-on-exit-dry-paced",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: |scenario| scenario.numbers.driver.path_tolerance_m = 1.0,
    },
    Group {
        name: "power-on-exit-wet",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: wet_exit,
    },
    Group {
        name: "power-on-exit-wet-paced",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: |scenario| {
            wet_exit(scenario);
            scenario.numbers.driver.path_tolerance_m = 1.0;
        },
    },
    Group {
        name: "circle-dry",
        setting: "response",
        manoeuvre: Manoeuvre::ConstantRadius,
        adjust: |_| {},
    },
    Group {
        name: "circle-wet",
        setting: "response",
        manoeuvre: Manoeuvre::ConstantRadius,
        adjust: |scenario| {
            scenario.numbers.road.friction_left = 0.4;
            scenario.numbers.road.friction_right = 0.4;
            scenario.numbers.course.speed_rise_m_s2 = 0.1;
        },
    },
];

fn wet_exit(scenario: &mut Scenario) {
    scenario.numbers.road.friction_left = 0.6;
    scenario.numbers.road.friction_right = 0.6;
    scenario.numbers.course.speed_m_s = 12.5;
}

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    vec![
    table.speed_on_path(
        "exit-dry-speed",
        "power-on-exit-dry-paced",
        "R 40 m, friction 0.95",
        Some(22.5),
    ),
    table.row(
        "exit-dry-tracking",
        "power-on-exit-dry",
        "same corner, accelerator floored and eased by path error: yaw rate error, rms",
        "yaw rate error, rms",
        Some(Target::AtMost(3.0)),
    ),
    table.row(
        "exit-dry-path",
        "power-on-exit-dry",
        "same floored run: path error",
        "path error, largest",
        Some(Target::AtMost(1.0)),
    ),
    table.row(
        "exit-dry-sideslip",
        "power-on-exit-dry",
        "same floored run: sideslip",
        "sideslip, largest",
        Some(Target::AtMost(6.0)),
    ),
    table.row(
        "exit-dry-steering",
        "power-on-exit-dry",
        "same floored run: steering-wheel angle the driver needed",
        "steering-wheel angle, largest",
        None,
    ),
    table.speed_on_path(
        "exit-wet-speed",
        "power-on-exit-wet-paced",
        "R 40 m, friction 0.6",
        None,
    ),
    table.row(
        "exit-wet-tracking",
        "power-on-exit-wet-paced",
        "same: yaw rate error against the path, rms",
        "yaw rate error, rms",
        Some(Target::AtMost(1.8)),
    ),
    table.row(
        "exit-wet-sideslip",
        "power-on-exit-wet-paced",
        "same: sideslip",
        "sideslip, largest",
        Some(Target::AtMost(4.5)),
    ),
    table.row(
        "exit-wet-floored",
        "power-on-exit-wet",
        "same corner, accelerator floored and eased by path error: path error",
        "path error, largest",
        None,
    ),
    table.row(
        "circle-dry",
        "circle-dry",
        "R 100 m, friction 0.95 (ISO 4138): road-wheel understeer gradient at 60 % of the limit",
        "understeer gradient at 60 % of the limit",
        Some(Target::AtMost(3.2)),
    ),
    table.row(
        "circle-dry-limit",
        "circle-dry",
        "same: highest lateral acceleration",
        "lateral acceleration, largest",
        None,
    ),
    table.row(
        "circle-wet",
        "circle-wet",
        "R 100 m, friction 0.4: understeer gradient from 1 to 3.2 m/s2",
        "understeer gradient from 1 to 3.2 m/s2",
        Some(Target::Between(0.8, 2.4)),
    ),
    table.row(
        "circle-wet-middle",
        "circle-wet",
        "same: at 60 % of the limit",
        "understeer gradient at 60 % of the limit",
        None,
    ),
    ]
}
