//! Laws of allocation compared: the same manoeuvres with the same driver, a column per law.
//!
//! In: runs of the paired axle under each law. Out: the rows of the programme that tell most about sharing torque, with the
//! value of every law. The targets are those of the exact law. A manoeuvre that finds its input in runs of its own (step, sine
//! with dwell, paced exit) finds it under the law that is judged, as its procedure asks.

use super::programme::{Case, programme, rows};
use super::{Row, Target};
use crate::plant::AxleLayout;
use crate::run::RunResult;
use crate::run::law::Law;

/// Runs looked at, by their names without the axle's.
const GROUPS: &[&str] = &[
    "power-on-exit-dry",
    "power-on-exit-dry-paced",
    "power-on-exit-wet",
    "power-on-exit-wet-paced",
    "step-steer-steady",
    "step-steer-agile",
    "sine-with-dwell-dry",
    "sine-with-dwell-dry-left",
    "sine-with-dwell-dry-right",
    "sine-with-dwell-wet",
    "lift-off",
    "split-launch-0",
    "split-launch-10",
    "split-launch-20",
];

/// Beginnings of the ids of rows that are shown.
const ROWS: &[&str] = &[
    "exit-",
    "step-",
    "dwell-",
    "lift-off",
    "split-launch-",
    "split-heat",
];

/// One row: a value per law in the order of [`Law::ALL`].
#[derive(Debug, Clone, PartialEq)]
pub struct LawRow {
    /// Id of the programme's row.
    pub id: String,
    /// What is asked, in words.
    pub requirement: String,
    /// Setting.
    pub setting: &'static str,
    /// Unit of all values.
    pub unit: &'static str,
    /// Target of the exact law, if there is one that needs no other axle.
    pub target: Option<Target>,
    /// What each law reached; missing where it did not get there.
    pub values: Vec<Option<f64>>,
}

/// The runs of one law.
pub fn law_cases() -> Vec<Case> {
    let mut cases = programme();
    cases.retain(|case| {
        case.scenario.layout == AxleLayout::PairedClutches
            && GROUPS
                .iter()
                .any(|group| case.scenario.name == format!("{group}-paired"))
    });
    cases
}

/// The rows made of every law's results, in the order of [`Law::ALL`].
pub fn law_rows(results: &[Vec<(Case, RunResult)>]) -> Vec<LawRow> {
    let tables: Vec<Vec<Row>> = results.iter().map(|results| rows(results)).collect();
    let Some(first) = tables.first() else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for row in first {
        let wanted = ROWS.iter().any(|start| row.id.starts_with(start));
        let values: Vec<Option<f64>> = tables
            .iter()
            .map(|table| {
                table
                    .iter()
                    .find(|other| other.id == row.id)
                    .and_then(|other| other.paired)
            })
            .collect();
        if wanted && values.len() == Law::ALL.len() && values.iter().any(Option::is_some) {
            found.push(LawRow {
                id: row.id.clone(),
                requirement: row.requirement.clone(),
                setting: row.setting,
                unit: row.unit,
                target: row.target,
                values,
            });
        }
    }
    found
}
