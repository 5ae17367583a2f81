//! The demo programme: every manoeuvre with every layout, and the rows made of it.
//!
//! Targets are this project's own, set from an independent prototype of the same axle on another invented car; where a
//! standard gives the procedure its number is named. The single coupling and the passive car run the same manoeuvres with
//! the same driver.

use super::{Row, Target};
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

struct Group {
    name: &'static str,
    setting: &'static str,
    manoeuvre: Manoeuvre,
    adjust: fn(&mut Scenario),
}

const GROUPS: &[Group] = &[
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
        name: "power-on-exit-dry",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: |_| {},
    },
    Group {
        name: "power-on-exit-dry-paced",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: |scenario| scenario.numbers.driver.path_tolerance_m = 1.0,
    },
    Group {
        name: "power-on-exit-wet",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: wet_exit,
    },
    Group {
        name: "power-on-exit-wet-paced",
        setting: "response",
        manoeuvre: Manoeuvre::PowerOnExit,
        adjust: |scenario| {
            wet_exit(scenario);
            scenario.numbers.driver.path_tolerance_m = 1.0;
        },
    },
    Group {
        name: "step-steer-steady",
        setting: "patrol",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: |_| {},
    },
    Group {
        name: "step-steer-agile",
        setting: "response",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: |_| {},
    },
    Group {
        name: "step-steer-130",
        setting: "patrol",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: |scenario| scenario.numbers.course.speed_m_s = 130.0 / 3.6,
    },
    Group {
        name: "lift-off",
        setting: "patrol",
        manoeuvre: Manoeuvre::LiftOff,
        adjust: |_| {},
    },
    Group {
        name: "circle-dry",
        setting: "response",
        manoeuvre: Manoeuvre::ConstantRadius,
        adjust: |_| {},
    },
    Group {
        name: "circle-wet",
        setting: "response",
        manoeuvre: Manoeuvre::ConstantRadius,
        adjust: |scenario| {
            scenario.numbers.road.friction_left = 0.4;
            scenario.numbers.road.friction_right = 0.4;
            scenario.numbers.course.speed_rise_m_s2 = 0.1;
        },
    },
];

fn wet_exit(scenario: &mut Scenario) {
    scenario.numbers.road.friction_left = 0.6;
    scenario.numbers.road.friction_right = 0.6;
    scenario.numbers.course.speed_m_s = 12.5;
}

/// Every run of the demo programme, group by group, layout by layout.
pub fn programme() -> Vec<Case> {
    let mut cases = Vec::new();
    for group in GROUPS {
        for layout in [
            AxleLayout::FrontDrive,
            AxleLayout::SingleCoupling,
            AxleLayout::PairedClutches,
        ] {
            let mut scenario = Scenario::of(group.manoeuvre);
            (group.adjust)(&mut scenario);
            scenario.layout = layout;
            scenario.name = format!("{}-{}", group.name, layout_name(layout));
            cases.push(Case {
                scenario,
                setting: group.setting,
            });
        }
    }
    cases
}

/// The rows made of the programme's results; a run that is missing leaves its values missing.
pub fn rows(results: &[(Case, RunResult)]) -> Vec<Row> {
    let table = Results { results };
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
    rows.push(table.climbed(
        "split-heat",
        "split-launch-10",
        "10 % grade, front-spin request honoured: energy into the hotter clutch",
        "clutch energy, hotter side",
        Some(Target::AtMost(6.0)),
    ));
    rows.push(table.climbed(
        "split-heat-deaf",
        "split-launch-10-deaf",
        "10 % grade, front-spin request ignored: energy into the hotter clutch",
        "clutch energy, hotter side",
        Some(Target::AtMost(16.0)),
    ));
    rows.push(table.speed_on_path(
        "exit-dry-speed",
        "power-on-exit-dry-paced",
        "R 40 m, friction 0.95",
        Some(22.5),
    ));
    rows.push(table.row(
        "exit-dry-tracking",
        "power-on-exit-dry",
        "same corner, accelerator floored and eased by path error: yaw rate error, rms",
        "yaw rate error, rms",
        Some(Target::AtMost(3.0)),
    ));
    rows.push(table.row(
        "exit-dry-path",
        "power-on-exit-dry",
        "same floored run: path error",
        "path error, largest",
        Some(Target::AtMost(1.0)),
    ));
    rows.push(table.row(
        "exit-dry-sideslip",
        "power-on-exit-dry",
        "same floored run: sideslip",
        "sideslip, largest",
        Some(Target::AtMost(6.0)),
    ));
    rows.push(table.row(
        "exit-dry-steering",
        "power-on-exit-dry",
        "same floored run: steering-wheel angle the driver needed",
        "steering-wheel angle, largest",
        None,
    ));
    rows.push(table.speed_on_path(
        "exit-wet-speed",
        "power-on-exit-wet-paced",
        "R 40 m, friction 0.6",
        None,
    ));
    rows.push(table.row(
        "exit-wet-tracking",
        "power-on-exit-wet-paced",
        "same: yaw rate error against the path, rms",
        "yaw rate error, rms",
        Some(Target::AtMost(1.8)),
    ));
    rows.push(table.row(
        "exit-wet-sideslip",
        "power-on-exit-wet-paced",
        "same: sideslip",
        "sideslip, largest",
        Some(Target::AtMost(4.5)),
    ));
    rows.push(table.row(
        "exit-wet-floored",
        "power-on-exit-wet",
        "same corner, accelerator floored and eased by path error: path error",
        "path error, largest",
        None,
    ));
    rows.push(table.row(
        "circle-dry",
        "circle-dry",
        "R 100 m, friction 0.95 (ISO 4138): road-wheel understeer gradient at 60 % of the limit",
        "understeer gradient at 60 % of the limit",
        Some(Target::AtMost(3.2)),
    ));
    rows.push(table.row(
        "circle-dry-limit",
        "circle-dry",
        "same: highest lateral acceleration",
        "lateral acceleration, largest",
        None,
    ));
    rows.push(table.row(
        "circle-wet",
        "circle-wet",
        "R 100 m, friction 0.4: understeer gradient at 60 % of the limit",
        "understeer gradient at 60 % of the limit",
        Some(Target::Between(0.8, 2.4)),
    ));
    rows.push(table.row(
        "step-stable-overshoot",
        "step-steer-steady",
        "step steer at 100 km/h to 4 m/s2 (ISO 7401): yaw rate overshoot",
        "yaw rate overshoot",
        Some(Target::AtMost(12.0)),
    ));
    rows.push(table.row(
        "step-stable-response",
        "step-steer-steady",
        "same: response time of yaw rate",
        "yaw rate response time",
        Some(Target::AtMost(0.21)),
    ));
    rows.push(table.row(
        "step-agile-settling",
        "step-steer-agile",
        "same with the agile setting: settling time of yaw rate",
        "yaw rate settling time",
        Some(Target::AtMost(0.45)),
    ));
    rows.push(table.row(
        "step-agile-response",
        "step-steer-agile",
        "same: response time of yaw rate",
        "yaw rate response time",
        Some(Target::AtMost(0.16)),
    ));
    rows.push(table.row(
        "step-130",
        "step-steer-130",
        "step steer at 130 km/h: yaw rate overshoot",
        "yaw rate overshoot",
        Some(Target::AtMost(23.0)),
    ));
    rows.push(table.row(
        "lift-off",
        "lift-off",
        "lift-off at 6.5 m/s2, R 100 m (ISO 9816): curvature after 1 s over initial",
        "curvature after 1 s over initial",
        Some(Target::Between(0.93, 1.05)),
    ));
    rows.push(table.row(
        "lift-off-peak",
        "lift-off",
        "same: largest curvature over initial",
        "curvature, largest over initial",
        Some(Target::AtMost(1.12)),
    ));
    rows
}

struct Results<'a> {
    results: &'a [(Case, RunResult)],
}

impl Results<'_> {
    fn metric(&self, group: &str, layout: AxleLayout, name: &str) -> Option<f64> {
        let wanted = format!("{group}-{}", layout_name(layout));
        let (_, result) = self
            .results
            .iter()
            .find(|(case, _)| case.scenario.name == wanted)?;
        value(&result.metrics, name)
    }

    fn row(
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

    /// A value that counts only for a car that climbed away.
    fn climbed(
        &self,
        id: &str,
        group: &str,
        requirement: &str,
        metric: &str,
        target: Option<Target>,
    ) -> Row {
        let mut row = self.row(id, group, requirement, metric, target);
        let counts =
            |layout, value: Option<f64>| self.metric(group, layout, "time to 20 km/h").and(value);
        row.passive = counts(AxleLayout::FrontDrive, row.passive);
        row.coupling = counts(AxleLayout::SingleCoupling, row.coupling);
        row.paired = counts(AxleLayout::PairedClutches, row.paired);
        row
    }

    /// Speed after 3 s counts only while the car stayed within 1 m of its path; with no number given, the single
    /// coupling's speed in the same programme is the target.
    fn speed_on_path(&self, id: &str, group: &str, where_to: &str, least: Option<f64>) -> Row {
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
