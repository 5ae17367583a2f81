//! Does it pull? Launches on split friction, both ways up, forward and in reverse; moving off at full lock.
//!
//! In reverse the limits are the same as forwards, though the hill then takes load off the driven rear wheels instead of
//! giving it.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::{Manoeuvre, Scenario};

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
    Group {
        name: "split-launch-10-other-side",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| {
            let road = &mut scenario.numbers.road;
            (road.friction_left, road.friction_right) = (road.friction_right, road.friction_left);
            road.grade_percent = 10.0;
        },
    },
    Group {
        name: "split-launch-0-reverse",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| backwards(scenario, 0.0),
    },
    Group {
        name: "split-launch-10-reverse",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| backwards(scenario, 10.0),
    },
    Group {
        name: "split-launch-20-reverse",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| backwards(scenario, 20.0),
    },
    Group {
        name: "park",
        setting: "patrol",
        manoeuvre: Manoeuvre::Park,
        adjust: |_| {},
    },
    Group {
        name: "park-ice",
        setting: "patrol",
        manoeuvre: Manoeuvre::Park,
        adjust: |scenario| {
            scenario.numbers.road.friction_left = 0.1;
            scenario.numbers.road.friction_right = 0.1;
            scenario.numbers.course.speed_m_s = 2.0;
        },
    },
];

fn backwards(scenario: &mut Scenario, grade_percent: f64) {
    scenario.numbers.driver.reverse = 1.0;
    scenario.numbers.road.grade_percent = grade_percent;
}

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    let mut rows = Vec::new();
    for (run, words, time) in [
        ("0", "0 % grade", 2.8),
        ("10", "10 % grade", 4.3),
        ("10-other-side", "10 % grade, slippery side right", 4.3),
        ("20", "20 % grade", 11.0),
        ("0-reverse", "0 % grade, in reverse", 2.8),
        ("10-reverse", "10 % grade, up it in reverse", 4.3),
        ("20-reverse", "20 % grade, up it in reverse", 11.0),
    ] {
        let group = format!("split-launch-{run}");
        rows.push(table.row(
            &group,
            &group,
            &format!("split friction 0.1/0.9, {words}: time to 20 km/h"),
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
    rows.push(table.row(
        "park",
        "park",
        "full lock at walking pace, friction 0.95: wind-up torque",
        "wind-up torque, largest",
        Some(Target::AtMost(80.0)),
    ));
    // Whether it gets away at all is asked; the limit is the end of the run.
    rows.push(table.row(
        "park-ice",
        "park-ice",
        "full lock on ice, friction 0.1: it moves off; time to 5 km/h",
        "time to 5 km/h",
        Some(Target::AtMost(19.8)),
    ));
    rows
}
