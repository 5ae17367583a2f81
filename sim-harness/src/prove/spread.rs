//! Requirements that hold for most cars, not for the nominal one alone: rows made of campaigns.
//!
//! Each row is the 95th percentile of a metric over the samples of [`crate::campaign`]. Only the layouts a row needs are
//! driven. A share of passing samples (sine with dwell) belongs here too: a line in [`DRIVEN`], a row made with
//! [`Spread::share`].

use super::programme::Group;
use super::{Question, Row, Target, stable, turn};
use crate::campaign::{Campaign, Judged, SEED, Spread};
use crate::plant::AxleLayout;
use crate::scenario::{Scenario, layout_name};

/// Percentile of all rows.
const PERCENT: f64 = 95.0;

/// Runs that are driven with many cars.
struct Driven {
    /// Name of the group of the programme.
    group: &'static str,
    layouts: &'static [AxleLayout],
    judged: &'static [Judged],
}

const ALL: &[AxleLayout] = &[
    AxleLayout::FrontDrive,
    AxleLayout::SingleCoupling,
    AxleLayout::PairedClutches,
];

const OPEN_AND_PAIRED: &[AxleLayout] = &[AxleLayout::FrontDrive, AxleLayout::PairedClutches];

const EXIT: &[Judged] = &[
    Judged {
        name: "yaw rate error, rms",
        unit: "deg/s",
    },
    Judged {
        name: "path error, largest",
        unit: "m",
    },
    Judged {
        name: "sideslip, largest",
        unit: "deg",
    },
];

const STEP: &[Judged] = &[
    Judged {
        name: "yaw rate overshoot",
        unit: "%",
    },
    Judged {
        name: "yaw rate settling time",
        unit: "s",
    },
];

const LEFT_OVER: &str = "yaw rate left over its limit, larger";
const DISPLACEMENT: &str = "lateral displacement after 1.07 s";

const DWELL: &[Judged] = &[
    Judged {
        name: LEFT_OVER,
        unit: "-",
    },
    Judged {
        name: DISPLACEMENT,
        unit: "m",
    },
];

const DRIVEN: &[Driven] = &[
    Driven {
        group: "power-on-exit-dry",
        layouts: ALL,
        judged: EXIT,
    },
    Driven {
        group: "step-steer-steady",
        layouts: OPEN_AND_PAIRED,
        judged: STEP,
    },
    Driven {
        group: "step-steer-agile",
        layouts: OPEN_AND_PAIRED,
        judged: STEP,
    },
    Driven {
        group: stable::DWELL_LEFT,
        layouts: OPEN_AND_PAIRED,
        judged: DWELL,
    },
];

/// Every campaign of the programme.
pub fn campaigns() -> Vec<Campaign> {
    let groups = || turn::GROUPS.iter().chain(stable::GROUPS);
    let mut all = Vec::new();
    for driven in DRIVEN {
        for group in groups().filter(|group| group.name == driven.group) {
            let of = |layout: &AxleLayout| campaign(group, *layout, driven.judged);
            all.extend(driven.layouts.iter().map(of));
        }
    }
    all
}

fn campaign(group: &Group, layout: AxleLayout, judged: &'static [Judged]) -> Campaign {
    let mut scenario = Scenario::of(group.manoeuvre);
    (group.adjust)(&mut scenario);
    scenario.layout = layout;
    scenario.name = format!("{}-{}", group.name, layout_name(layout));
    Campaign {
        scenario,
        setting: group.setting,
        judged,
        seed: SEED,
    }
}

/// The rows made of finished campaigns; one that is missing leaves its values missing.
pub fn spread_rows(spreads: &[Spread]) -> Vec<Row> {
    let row = |id, question, group, requirement, name, target| {
        row(spreads, id, question, group, requirement, name, target)
    };
    let mut rows = vec![
        row(
            "exit-dry-tracking-spread",
            Question::Turn,
            "power-on-exit-dry",
            "cars within the tolerances, dry exit with floored accelerator: yaw rate error, rms; 95th percentile",
            "yaw rate error, rms",
            Some(Target::AtMost(4.5)),
        ),
        row(
            "exit-dry-path-spread",
            Question::Turn,
            "power-on-exit-dry",
            "same: path error; 95th percentile",
            "path error, largest",
            Some(Target::AtMost(1.3)),
        ),
        row(
            "exit-dry-sideslip-spread",
            Question::Turn,
            "power-on-exit-dry",
            "same: sideslip; 95th percentile",
            "sideslip, largest",
            Some(Target::AtMost(7.5)),
        ),
        row(
            "step-stable-overshoot-spread",
            Question::Stable,
            "step-steer-steady",
            "cars within the tolerances, step steer at 100 km/h to 4 m/s2: yaw rate overshoot; 95th percentile",
            "yaw rate overshoot",
            Some(Target::AtMost(20.0)),
        ),
    ];
    let mut settling = row(
        "step-agile-settling-spread",
        Question::Stable,
        "step-steer-agile",
        "same with the agile setting: settling time of yaw rate; 95th percentile",
        "yaw rate settling time",
        None,
    );
    settling.target = settling.passive.map(Target::AtMost);
    settling.source = "project target: not above the same cars with clutches open";
    rows.push(settling);
    rows.push(dwell(spreads));
    rows
}

fn row(
    spreads: &[Spread],
    id: &str,
    question: Question,
    group: &str,
    requirement: &str,
    name: &str,
    target: Option<Target>,
) -> Row {
    let find = |layout| {
        let wanted = format!("{group}-{}", layout_name(layout));
        spreads
            .iter()
            .find(|spread| spread.campaign.scenario.name == wanted)
    };
    let of = |layout| find(layout)?.percentile(name, PERCENT);
    let driven = DRIVEN.iter().find(|driven| driven.group == group);
    let unit = driven.and_then(|driven| driven.judged.iter().find(|judged| judged.name == name));
    Row {
        id: id.to_owned(),
        question,
        requirement: requirement.to_owned(),
        setting: find(AxleLayout::PairedClutches).map_or("-", |spread| spread.campaign.setting),
        unit: unit.map_or("-", |judged| judged.unit),
        passive: of(AxleLayout::FrontDrive),
        coupling: of(AxleLayout::SingleCoupling),
        paired: of(AxleLayout::PairedClutches),
        target,
        source: "project target",
    }
}

/// Cars that pass a sine with dwell of 6.5 A, first to the left: stable and, all of them below 3500 kg, far enough aside.
fn dwell(spreads: &[Spread]) -> Row {
    let mut row = row(
        spreads,
        "dwell-dry-spread",
        Question::Stable,
        stable::DWELL_LEFT,
        "cars within the tolerances, sine with dwell at 6.5 A, friction 0.95: share that passes",
        LEFT_OVER,
        Some(Target::AtLeast(75.0)),
    );
    let share = |layout: AxleLayout| {
        let wanted = format!("{}-{}", stable::DWELL_LEFT, layout_name(layout));
        let spread = spreads
            .iter()
            .find(|spread| spread.campaign.scenario.name == wanted)?;
        let (left_over, aside) = (spread.values(LEFT_OVER), spread.values(DISPLACEMENT));
        let passes = |(left_over, aside): &(&Option<f64>, &Option<f64>)| {
            left_over.is_some_and(|value| value <= 1.0) && aside.is_some_and(|value| value >= 1.83)
        };
        let passed = left_over.iter().zip(&aside).filter(passes).count();
        (!left_over.is_empty()).then(|| 100.0 * passed as f64 / left_over.len() as f64)
    };
    row.unit = "%";
    row.passive = share(AxleLayout::FrontDrive);
    row.coupling = share(AxleLayout::SingleCoupling);
    row.paired = share(AxleLayout::PairedClutches);
    row
}
