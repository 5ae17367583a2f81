//! Five kinds of axle on the same manoeuvres with the same driver: what each reached, and what it cost.
//!
//! The manoeuvres are groups of the demo programme under their own names. No target: a comparison, not a requirement. How
//! the other layouts were tuned is in `docs/src/layouts.md`.

use super::programme::{Case, with_every_layout};
use crate::metrics::effort::effort;
use crate::metrics::turning::EXIT_S;
use crate::metrics::{Metric, value};
use crate::plant::AxleLayout;
use crate::run::{Ending, RunResult};
use crate::scenario::{Manoeuvre, Scenario, layout_name};

/// One manoeuvre: name of its group, in words, and the values of its own that are shown.
struct Compared {
    group: &'static str,
    words: &'static str,
    own: &'static [&'static str],
}

const COMPARED: &[Compared] = &[
    Compared {
        group: "power-on-exit-dry",
        words: "Power-on exit R 40 m, dry, accelerator floored and eased by path error: 3 s",
        own: &["yaw rate error, rms", "steering-wheel angle, largest"],
    },
    Compared {
        group: "power-on-exit-dry-paced",
        words: "Same, with the largest accelerator that keeps the car within 1 m of its path",
        own: &["yaw rate error, rms", "accelerator, largest"],
    },
    Compared {
        group: "power-on-exit-wet",
        words: "Power-on exit R 40 m, friction 0.6, accelerator floored and eased by path error: 3 s",
        own: &["yaw rate error, rms", "steering-wheel angle, largest"],
    },
    Compared {
        group: "power-on-exit-wet-paced",
        words: "Same, with the largest accelerator that keeps the car within 1 m of its path",
        own: &["yaw rate error, rms", "accelerator, largest"],
    },
    Compared {
        group: "split-launch-10",
        words: "Launch on split friction 0.1/0.9, 10 % grade, to 20 km/h or 15 s",
        own: &["time to 20 km/h"],
    },
    Compared {
        group: "lift-off",
        words: "Lift-off at 6.5 m/s2, R 100 m, hands held still: 2 s",
        own: &[
            "curvature after 1 s over initial",
            "curvature, largest over initial",
            "sideslip change, largest",
        ],
    },
    Compared {
        group: "skarn-pass",
        words: "The Skarn Pass, dry day",
        own: &[
            "time for the pass",
            "mean speed",
            "time with front spin above 1 m/s",
        ],
    },
];

/// Values of every layout for one manoeuvre.
#[derive(Debug, Clone, PartialEq)]
pub struct LayoutTable {
    /// Name of the group of runs.
    pub name: &'static str,
    /// What was driven, in words.
    pub words: &'static str,
    /// How each run ended, in the order of [`AxleLayout::ALL`].
    pub ended: Vec<String>,
    /// Name, unit, and a value per layout in the order of [`AxleLayout::ALL`].
    pub rows: Vec<(&'static str, &'static str, Vec<Option<f64>>)>,
}

/// The runs, manoeuvre by manoeuvre, layout by layout.
pub fn layout_cases() -> Vec<Case> {
    COMPARED
        .iter()
        .flat_map(|compared| with_every_layout(compared.group))
        .collect()
}

/// The tables made of the runs; a missing run leaves its values missing.
pub fn layout_tables(results: &[(Case, RunResult)]) -> Vec<LayoutTable> {
    COMPARED
        .iter()
        .map(|compared| table(compared, results))
        .collect()
}

fn table(compared: &Compared, results: &[(Case, RunResult)]) -> LayoutTable {
    let mut ended = Vec::new();
    let mut columns: Vec<Vec<Metric>> = Vec::new();
    for layout in AxleLayout::ALL {
        let name = format!("{}-{}", compared.group, layout_name(layout));
        let found = results.iter().find(|(case, _)| case.scenario.name == name);
        ended.push(found.map_or("-".to_owned(), |(case, result)| ending(case, result)));
        columns.push(found.map_or_else(Vec::new, |(case, result)| {
            let (from_s, to_s) = counts(&case.scenario);
            let own = compared.own.iter().filter_map(|name| {
                let metric = result.metrics.iter().find(|metric| metric.name == *name);
                metric.copied()
            });
            own.chain(effort(&result.record, from_s, to_s)).collect()
        }));
    }
    let mut rows: Vec<(&'static str, &'static str, Vec<Option<f64>>)> = Vec::new();
    for metric in columns.iter().flatten() {
        if !rows.iter().any(|(name, _, _)| *name == metric.name) {
            let values = columns.iter().map(|column| value(column, metric.name));
            rows.push((metric.name, metric.unit, values.collect()));
        }
    }
    LayoutTable {
        name: compared.group,
        words: compared.words,
        ended,
        rows,
    }
}

/// A run that ended as planned says nothing.
fn ending(case: &Case, result: &RunResult) -> String {
    let has_goal = matches!(
        case.scenario.manoeuvre,
        Manoeuvre::SplitLaunch | Manoeuvre::SkarnPass
    );
    match result.outcome.ended {
        Ending::GoalReached => "as planned".to_owned(),
        Ending::TimeOver if !has_goal => "as planned".to_owned(),
        other => format!("{other} at {:.1} s", result.outcome.at_s),
    }
}

/// Times between which a manoeuvre counts, s.
fn counts(scenario: &Scenario) -> (f64, f64) {
    let action_s = scenario.numbers.driver.action_s;
    match scenario.manoeuvre {
        Manoeuvre::PowerOnExit => (action_s, action_s + EXIT_S),
        Manoeuvre::LiftOff => (action_s, action_s + 2.0),
        _ => (0.0, f64::INFINITY),
    }
}
