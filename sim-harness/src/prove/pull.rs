//! Does it pull? Launches on split friction.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::Manoeuvre;

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "split-launch-0",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |_| {},
    },
    Group {
        name: "split-launch-10",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| scenario.numbers.road.grade_percent = 10.0,
    },
    Group {
        name: "split-launch-10-deaf",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| {
            scenario.numbers.road.grade_percent = 10.0;
            scenario.numbers.driver.honour_front_spin_request = 0.0;
        },
    },
    Group {
        name: "split-launch-20",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| scenario.numbers.road.grade_percent = 20.0,
    },
];

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    let mut rows = Vec::new();
    for (grade, time) in [("0", 2.8), ("10", 4.3), ("20", 11.0)] {
        let group = format!("split-launch-{grade}");
        rows.push(table.row(
            &group,
            &group,
            &format!("split friction 0.1/0.9, {grade} % grade: time to 20 km/h"),
            "time to 20 km/h",
            Some(Target::AtMost(time)),
        ));
        rows.push(table.row(
            &format!("{group}-line"),
            &group,
            "same: lateral deviation",
            "lateral deviation",
            Some(Target::AtMost(0.3)),
        ));
    }
    rows
}
