//! Does it turn, and stay cool, in a slide held on a circle?

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::Manoeuvre;

/// Name of the runs.
const GROUP: &str = "slide-hold";

pub(super) const GROUPS: &[Group] = &[Group {
    name: GROUP,
    setting: "skidpad",
    manoeuvre: Manoeuvre::SlideHold,
    adjust: |_| {},
}];

pub(super) fn turn_rows(table: &Results<'_>) -> Vec<Row> {
    vec![
        table.row(
            "slide-hold-time",
            GROUP,
            "slide of 20 deg on R 25 m, friction 0.95: time held within 3 deg",
            "slide held",
            Some(Target::AtLeast(30.0)),
        ),
        table.row(
            "slide-hold-exact",
            GROUP,
            "same: sideslip error while held, rms",
            "sideslip error, rms",
            None,
        ),
    ]
}

pub(super) fn cool_rows(table: &Results<'_>) -> Vec<Row> {
    vec![
        table.row(
            "slide-hold-heat",
            GROUP,
            "slide of 20 deg on R 25 m while held: mean heat of both clutches together",
            "clutch power in the slide, both",
            Some(Target::AtMost(0.5)),
        ),
        table.row(
            "slide-hold-surface",
            GROUP,
            "same, whole run: hottest clutch surface",
            "clutch surface, highest",
            None,
        ),
    ]
}
