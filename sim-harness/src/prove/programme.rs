//! The demo programme: every manoeuvre with every layout, and the rows made of it.
//!
//! Targets are this project's own, set from an independent prototype of the same axle on another invented car; where a
//! standard gives the procedure its number is named. The single coupling and the passive car run the same manoeuvres with
//! the same driver.

use super::{Question, Row, Target, avoid, brake, cool, pull, safe, slide, stable, turn, variant};
use crate::metrics::value;
use crate::plant::AxleLayout;
use crate::run::RunResult;
use crate::scenario::{Manoeuvre, Scenario, layout_name};

/// One run of the programme.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What is run.
    pub scenario: Scenario,
    /// Demo setting of the paired axle.
    pub setting: &'static str,
}

/// Runs that differ only in their axle.
pub(super) struct Group {
    /// Name of the runs, without the axle's.
    pub name: &'static str,
    /// Demo setting of the paired axle.
    pub setting: &'static str,
    /// What is driven.
    pub manoeuvre: Manoeuvre,
    /// What differs from the manoeuvre's own numbers.
    pub adjust: fn(&mut Scenario),
}

impl Group {
    fn case(&self, layout: AxleLayout) -> Case {
        let mut scenario = Scenario::of(self.manoeuvre);
        (self.adjust)(&mut scenario);
        scenario.layout = layout;
        scenario.name = format!("{}-{}", self.name, layout_name(layout));
        Case {
            scenario,
            setting: self.setting,
        }
    }
}

const QUESTIONS: [(Question, &[Group], RowsOf); 12] = [
    (Question::Turn, turn::GROUPS, turn::rows),
    (Question::Turn, slide::GROUPS, slide::turn_rows),
    (Question::Turn, variant::TURN, variant::turn_rows),
    (Question::Pull, pull::GROUPS, pull::rows),
    (Question::Pull, variant::PULL, variant::pull_rows),
    (Question::Stable, stable::GROUPS, stable::rows),
    (Question::Stable, safe::GROUPS, safe::rows),
    (Question::Stable, avoid::GROUPS, avoid::rows),
    (Question::Stable, brake::GROUPS, brake::rows),
    (Question::Stable, variant::STABLE, variant::stable_rows),
    (Question::Cool, cool::GROUPS, cool::rows),
    (Question::Cool, &[], slide::cool_rows),
];

type RowsOf = fn(&Results<'_>) -> Vec<Row>;

/// Every run of the demo programme, group by group, layout by layout.
pub fn programme() -> Vec<Case> {
    let groups = QUESTIONS.iter().flat_map(|(_, groups, _)| *groups);
    groups
        .flat_map(|group| layouts(group).iter().map(|layout| group.case(*layout)))
        .collect()
}

/// The group of that name driven with every axle.
pub(super) fn with_every_layout(name: &str) -> Vec<Case> {
    let groups = QUESTIONS.iter().flat_map(|(_, groups, _)| *groups);
    groups
        .filter(|group| group.name == name)
        .flat_map(|group| AxleLayout::ALL.iter().map(|layout| group.case(*layout)))
        .collect()
}

/// One run of the group of that name, if there is one.
pub(super) fn case_of(name: &str, layout: AxleLayout) -> Option<Case> {
    let mut groups = QUESTIONS.iter().flat_map(|(_, groups, _)| *groups);
    let group = groups.find(|group| group.name == name)?;
    Some(group.case(layout))
}

/// The pass tells most about every kind of axle; the other manoeuvres compare the three kinds of the rows.
fn layouts(group: &Group) -> &'static [AxleLayout] {
    match group.manoeuvre {
        Manoeuvre::SkarnPass => &AxleLayout::ALL,
        // No other axle has clutches to protect in this way.
        Manoeuvre::RepeatedLaunches => &[AxleLayout::PairedClutches],
        _ => &[
            AxleLayout::FrontDrive,
            AxleLayout::SingleCoupling,
            AxleLayout::PairedClutches,
        ],
    }
}

/// The question a run of the programme belongs to; `None` for a run of somebody's own.
pub fn question_of(scenario: &Scenario) -> Option<Question> {
    let (layout, name) = (layout_name(scenario.layout), &scenario.name);
    QUESTIONS
        .iter()
        .find(|(_, groups, _)| {
            groups
                .iter()
                .any(|group| *name == format!("{}-{layout}", group.name))
        })
        .map(|(question, _, _)| *question)
}

/// The rows made of the programme's results, question by question; a run that is missing leaves its values missing.
pub fn rows(results: &[(Case, RunResult)]) -> Vec<Row> {
    let mut all = Vec::new();
    for (question, _, rows_of) in QUESTIONS {
        let table = Results { results, question };
        all.extend(rows_of(&table));
    }
    all
}

/// Results of the programme, asked one question.
pub(super) struct Results<'a> {
    question: Question,
    results: &'a [(Case, RunResult)],
}

impl Results<'_> {
    /// A metric of one run.
    pub(super) fn metric(&self, group: &str, layout: AxleLayout, name: &str) -> Option<f64> {
        let wanted = format!("{group}-{}", layout_name(layout));
        let (_, result) = self
            .results
            .iter()
            .find(|(case, _)| case.scenario.name == wanted)?;
        value(&result.metrics, name)
    }

    /// A row of one metric over all layouts.
    pub(super) fn row(
        &self,
        id: &str,
        group: &str,
        requirement: &str,
        metric: &str,
        target: Option<Target>,
    ) -> Row {
        let of = |layout| self.metric(group, layout, metric);
        let any = self.results.iter().find(|(case, _)| {
            case.scenario
                .name
                .strip_prefix(group)
                .is_some_and(|rest| rest.matches('-').count() == 1)
        });
        let unit = any
            .and_then(|(_, result)| result.metrics.iter().find(|m| m.name == metric))
            .map_or("-", |m| m.unit);
        Row {
            id: id.to_owned(),
            question: self.question,
            requirement: requirement.to_owned(),
            setting: any.map_or("-", |(case, _)| case.setting),
            unit,
            passive: of(AxleLayout::FrontDrive),
            coupling: of(AxleLayout::SingleCoupling),
            paired: of(AxleLayout::PairedClutches),
            target,
            source: "project target",
        }
    }

    /// A row of one metric summed over every paired run of the programme, the first setting named standing for all.
    pub(super) fn summed(
        &self,
        id: &str,
        requirement: &str,
        metric: &str,
        target: Option<Target>,
    ) -> Row {
        // Where a slide is wanted the inner clutch is opened on purpose, and abuse ends in open clutches.
        let counts = |scenario: &Scenario| {
            !matches!(
                scenario.manoeuvre,
                Manoeuvre::SlideHold | Manoeuvre::RepeatedLaunches
            )
        };
        self.summed_where(id, requirement, metric, target, &counts)
    }

    /// The same over the paired runs of the scenarios that count.
    pub(super) fn summed_where(
        &self,
        id: &str,
        requirement: &str,
        metric: &str,
        target: Option<Target>,
        counts: &dyn Fn(&Scenario) -> bool,
    ) -> Row {
        let paired = |(case, _): &&(Case, RunResult)| {
            case.scenario.layout == AxleLayout::PairedClutches && counts(&case.scenario)
        };
        let runs = || self.results.iter().filter(paired);
        let unit = runs()
            .find_map(|(_, result)| result.metrics.iter().find(|m| m.name == metric))
            .map_or("-", |m| m.unit);
        Row {
            id: id.to_owned(),
            question: self.question,
            requirement: requirement.to_owned(),
            setting: "all",
            unit,
            passive: None,
            coupling: None,
            // A run without the value makes the sum meaningless; no runs make none.
            paired: runs()
                .map(|(_, result)| value(&result.metrics, metric))
                .reduce(|sum, one| Some(sum? + one?))
                .flatten(),
            target,
            source: "project target",
        }
    }

    /// What a metric is beyond the paired axle's in the base runs: in its own unit, or in percent of the base.
    pub(super) fn beyond(
        &self,
        id: &str,
        (group, base): (&str, &str),
        requirement: &str,
        metric: &str,
        in_percent: bool,
        target: Option<Target>,
    ) -> Row {
        let mut row = self.row(id, group, requirement, metric, target);
        let base = self.metric(base, AxleLayout::PairedClutches, metric);
        let beyond = |value: Option<f64>| {
            let (value, base) = (value?, base?);
            Some(if in_percent {
                100.0 * (value / base - 1.0)
            } else {
                value - base
            })
        };
        row.passive = beyond(row.passive);
        row.coupling = beyond(row.coupling);
        row.paired = beyond(row.paired);
        if in_percent {
            row.unit = "%";
        }
        row
    }

    /// A value that counts only for a car that climbed away.
    pub(super) fn climbed(
        &self,
        id: &str,
        group: &str,
        requirement: &str,
        metric: &str,
        target: Option<Target>,
    ) -> Row {
        let row = self.row(id, group, requirement, metric, target);
        self.reaching(row, group, "time to 20 km/h")
    }

    /// The row with the values of those layouts only that have another metric too: that reached a goal.
    pub(super) fn reaching(&self, mut row: Row, group: &str, needed: &str) -> Row {
        let counts = |layout, value: Option<f64>| self.metric(group, layout, needed).and(value);
        row.passive = counts(AxleLayout::FrontDrive, row.passive);
        row.coupling = counts(AxleLayout::SingleCoupling, row.coupling);
        row.paired = counts(AxleLayout::PairedClutches, row.paired);
        row
    }

    /// Speed after 3 s counts only while the car stayed within 1 m of its path; with no number given, the single
    /// coupling's speed in the same programme is the target.
    pub(super) fn speed_on_path(
        &self,
        id: &str,
        group: &str,
        where_to: &str,
        least: Option<f64>,
    ) -> Row {
        let requirement =
            format!("power-on exit {where_to}: speed after 3 s with path error at most 1 m");
        let mut row = self.row(id, group, &requirement, "speed after 3 s", None);
        let counts = |layout, speed: Option<f64>| {
            let error = self.metric(group, layout, "path error, largest")?;
            if error <= 1.0 + 1e-9 { speed } else { None }
        };
        row.passive = counts(AxleLayout::FrontDrive, row.passive);
        row.coupling = counts(AxleLayout::SingleCoupling, row.coupling);
        row.paired = counts(AxleLayout::PairedClutches, row.paired);
        row.target = least.or(row.coupling).map(Target::AtLeast);
        if least.is_none() {
            row.source = "project target: not slower than the single coupling";
        }
        row
    }
}
