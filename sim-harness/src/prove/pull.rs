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
    Group {
        name: "skarn-pass",
        setting: "response",
        manoeuvre: Manoeuvre::SkarnPass,
        adjust: |_| {},
    },
    Group {
        name: "skarn-pass-slippery",
        setting: "response",
        manoeuvre: Manoeuvre::SkarnPass,
        adjust: |scenario| {
            scenario.numbers.road.friction_left = 0.4;
            scenario.numbers.road.friction_right = 0.4;
        },
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
    for (group, day) in [
        ("skarn-pass", "dry day"),
        (
            "skarn-pass-slippery",
            "slippery day, dry stretches at friction 0.4",
        ),
    ] {
        rows.push(table.row(
            &format!("{group}-time"),
            group,
            &format!("the Skarn Pass, 3.7 km, {day}: time over the pass"),
            "time for the pass",
            None,
        ));
        rows.push(table.row(
            &format!("{group}-way"),
            group,
            "same: distance driven before the end of the road or before getting stuck",
            "distance driven",
            None,
        ));
    }
    rows.push(table.row(
        "skarn-pass-spin",
        "skarn-pass",
        "the Skarn Pass, dry day: time with the front wheels spinning, above 1 m/s",
        "time with front spin above 1 m/s",
        None,
    ));
    rows
}
