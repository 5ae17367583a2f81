//! Does it stay cool? Heat of the clutches, and what the axle costs at cruise.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::{Manoeuvre, Scenario};

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "cruise",
        setting: "patrol",
        manoeuvre: Manoeuvre::Cruise,
        adjust: |_| {},
    },
    Group {
        name: "cruise-held-open",
        setting: "patrol",
        manoeuvre: Manoeuvre::Cruise,
        adjust: |scenario| scenario.numbers.assist.order_open = 1.0,
    },
    Group {
        name: "repeated-launches",
        setting: "patrol",
        manoeuvre: Manoeuvre::RepeatedLaunches,
        adjust: |scenario| scenario.numbers.driver.honour_front_spin_request = 0.0,
    },
    Group {
        name: "repeated-launches-heard",
        setting: "patrol",
        manoeuvre: Manoeuvre::RepeatedLaunches,
        adjust: |scenario| {
            scenario.numbers.driver.work_s = 870.0;
            scenario.numbers.course.longest_s = 900.0;
        },
    },
    Group {
        name: "launch-ordered-open",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitLaunch,
        adjust: |scenario| {
            scenario.numbers.road.friction_left = 0.95;
            scenario.numbers.road.friction_right = 0.95;
            // The bound of the oil, 12 K more, is beyond its absolute temperature.
            scenario.numbers.road.axle_degc = 140.0;
        },
    },
];

/// Whether nothing in this drive is meant to bring protection.
fn is_use(scenario: &Scenario) -> bool {
    scenario.manoeuvre != Manoeuvre::RepeatedLaunches && scenario.numbers.road.axle_degc < 100.0
}

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    let mut rows = vec![
        table.climbed(
            "split-heat",
            "split-launch-10",
            "10 % grade, front-spin request honoured: energy into the hotter clutch",
            "clutch energy, hotter side",
            Some(Target::AtMost(6.0)),
        ),
        table.climbed(
            "split-heat-deaf",
            "split-launch-10-deaf",
            "10 % grade, front-spin request ignored: energy into the hotter clutch",
            "clutch energy, hotter side",
            Some(Target::AtMost(16.0)),
        ),
        table.beyond(
            "cruise",
            ("cruise", "cruise-held-open"),
            "straight at 120 km/h: loss in clutches, tyre slip and take-off beyond the paired axle's held open",
            "loss in clutches, tyre slip and take-off",
            false,
            Some(Target::AtMost(60.0)),
        ),
        table.summed_where(
            "heat-derated",
            "every paired run but the abuse: time in which heat left less than the whole capacity, summed",
            "time derated by heat",
            Some(Target::AtMost(0.0)),
            &is_use,
        ),
        table.summed_where(
            "heat-taken",
            "every paired run but the abuse: share of the torque asked that heat took (bound instead of estimate included), summed",
            "torque taken by heat",
            Some(Target::AtMost(1.0)),
            &is_use,
        ),
    ];
    let abuse = |id: &str, words: &str, metric: &str, target| {
        let group = "repeated-launches";
        let words = format!(
            "split launches on 20 % every 15 s for 20 min, front-spin request ignored: {words}"
        );
        table.row(id, group, &words, metric, target)
    };
    rows.extend([
        abuse("launches-until-derating", "launches before the first derating", "launches until derating", None),
        abuse("launches-open", "open to cool, longest time", "open to cool, longest", Some(Target::AtMost(300.0))),
        abuse("launches-surface", "hottest clutch surface", "clutch surface, highest", Some(Target::AtMost(270.0))),
        abuse("launches-oil", "hottest oil", "oil, highest", Some(Target::AtMost(150.0))),
        abuse("launches-first", "first launch, time to 19 km/h", "first launch, time to 19 km/h", None),
        abuse("launches-after-rest", "launch after 7 min of rest, time to 19 km/h", "launch after the rest, time to 19 km/h", Some(Target::AtMost(11.0))),
        table.row(
            "launches-heard",
            "repeated-launches-heard",
            "the same for 15 min, front-spin request honoured: time derated",
            "time derated by heat",
            Some(Target::AtMost(0.0)),
        ),
        table.row(
            "launch-ordered-open",
            "launch-ordered-open",
            "even road, axle at 140 degC, clutches ordered open by heat: the car still moves off; time to 20 km/h",
            "time to 20 km/h",
            Some(Target::AtMost(2.0)),
        ),
    ]);
    for (group, day) in [
        ("skarn-pass", "dry day"),
        ("skarn-pass-slippery", "slippery day"),
    ] {
        for (id, what, metric) in [
            (
                "clutches",
                "energy in the clutches",
                "energy in the clutches",
            ),
            (
                "surface",
                "hottest clutch surface",
                "clutch surface, highest",
            ),
            ("oil", "oil at the end", "oil at the end"),
        ] {
            let row = table.row(
                &format!("{group}-{id}"),
                group,
                &format!("the Skarn Pass, {day}, cars that came over: {what}"),
                metric,
                None,
            );
            rows.push(table.reaching(row, group, "time for the pass"));
        }
    }
    rows
}
