//! Does it stay cool? Heat of the clutches.

use super::programme::{Group, Results};
use super::{Row, Target};

pub(super) const GROUPS: &[Group] = &[];

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    vec![
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
    ]
}
