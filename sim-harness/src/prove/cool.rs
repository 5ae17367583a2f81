//! Does it stay cool? Heat of the clutches, and what the axle costs at cruise.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::Manoeuvre;

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
];

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
    ];
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
