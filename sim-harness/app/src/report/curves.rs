//! Runs grouped for comparing, and their curves ready to be drawn.
//!
//! Input: labelled runs. Output: groups of what differs in axle, setting or seed only; for each the plots that tell about
//! the question it belongs to, on one axis ([`Axis`]).

use couplet_sim::plant::AxleLayout;
use couplet_sim::prove::{Question, question_of};
use couplet_sim::record::Record;
use couplet_sim::scenario::{Manoeuvre, Scenario};

use super::plots::{Line, PATH, PLOTS, shown};
use super::spans::Axis;
use crate::output::Labelled;

/// Most runs compared in one set of plots; more would neither be readable nor fit.
pub const MOST_RUNS: usize = 6;

/// Runs of the same scenario that differ in axle, setting or seed.
pub struct Group<'a> {
    /// Heading: what the scenario names have in common.
    pub title: String,
    /// The runs, in programme order.
    pub runs: Vec<&'a Labelled<'a>>,
}

impl Group<'_> {
    /// The question the runs belong to, if they are part of the demo programme.
    pub fn question(&self) -> Option<Question> {
        self.runs.iter().find_map(|run| question_of(run.scenario))
    }

    /// Whether the runs drive over the Skarn Pass.
    pub fn over_pass(&self) -> bool {
        let pass = |run: &&Labelled<'_>| run.scenario.manoeuvre == Manoeuvre::SkarnPass;
        self.runs.first().is_some_and(pass)
    }
}

/// One curve ready to be drawn.
pub struct Drawn {
    /// Number of the run's colour, see [`colours`].
    pub colour: usize,
    /// Label with the side, where there is one.
    pub label: String,
    /// How it is drawn.
    pub line: Line,
    /// Values on the group's points, in the unit shown; fewer than those where the run ended early.
    pub values: Vec<f32>,
}

/// One plot ready to be drawn.
pub struct DrawnPlot {
    /// Heading.
    pub title: &'static str,
    /// Unit shown.
    pub unit: String,
    /// The curves.
    pub curves: Vec<Drawn>,
}

/// The way of one run, seen from above.
pub struct Path {
    /// Number of the run's colour.
    pub colour: usize,
    /// Label of the run.
    pub label: String,
    /// Points x and y on the group's points, m.
    pub points: Vec<(f32, f32)>,
}

/// Axis and plots of a group.
pub struct Drawing {
    /// The axis of all plots.
    pub axis: Axis,
    /// The plots.
    pub plots: Vec<DrawnPlot>,
    /// Path of every run that has one.
    pub paths: Vec<Path>,
}

/// Groups runs by what is driven, whatever axle and setting drive it. A run that repeats another of its group sample by
/// sample (a passive car under a second setting) is left out.
pub fn groups<'a>(runs: &'a [Labelled<'a>]) -> Vec<Group<'a>> {
    let same = |one: &Scenario, other: &Scenario| {
        one.manoeuvre == other.manoeuvre
            && one.numbers == other.numbers
            && one.mirrored == other.mirrored
    };
    let repeats = |one: &Labelled<'_>, other: &Labelled<'_>| {
        one.scenario.layout == other.scenario.layout && one.result == other.result
    };
    let mut groups: Vec<Group<'a>> = Vec::new();
    for run in runs {
        match groups
            .iter_mut()
            .find(|group| same(group.runs[0].scenario, run.scenario))
        {
            Some(group) if group.runs.iter().any(|other| repeats(other, run)) => {}
            Some(group) => group.runs.push(run),
            None => groups.push(Group {
                title: String::new(),
                runs: vec![run],
            }),
        }
    }
    for group in &mut groups {
        group.title = title(&group.runs);
    }
    groups
}

/// Axle in words, with setting or file label where the axle alone does not tell the run from the others of its group.
pub fn run_label(group: &Group<'_>, run: &Labelled<'_>) -> String {
    let by_axle = |run: &Labelled<'_>| match run.scenario.layout {
        AxleLayout::FrontDrive => "front drive".to_owned(),
        AxleLayout::FrontLimitedSlip => "front limited slip".to_owned(),
        AxleLayout::BrakeVectoring => "brake vectoring".to_owned(),
        AxleLayout::SingleCoupling => "single coupling".to_owned(),
        AxleLayout::PairedClutches => format!("paired {}", run.setting),
    };
    let by_setting = |run: &Labelled<'_>| match run.scenario.layout {
        AxleLayout::PairedClutches => by_axle(run),
        _ => format!("{}, {}", by_axle(run), run.setting),
    };
    let unique = |name: &dyn Fn(&Labelled<'_>) -> String| {
        group
            .runs
            .iter()
            .filter(|other| name(other) == name(run))
            .count()
            < 2
    };
    if unique(&by_axle) {
        by_axle(run)
    } else if unique(&by_setting) {
        by_setting(run)
    } else {
        run.label.clone()
    }
}

/// The drawing of a group.
pub fn drawing(group: &Group<'_>) -> Drawing {
    let runs: Vec<&Labelled<'_>> = group.runs.iter().copied().take(MOST_RUNS).collect();
    let records: Vec<&Record> = runs.iter().map(|run| &run.result.record).collect();
    let axis = if group.over_pass() {
        Axis::road(&records)
    } else {
        Axis::time(&records)
    };
    let spans: Vec<_> = records.iter().map(|record| axis.spans(record)).collect();
    let question = group.question();
    let colours = colours(&runs);
    let mut plots = Vec::new();
    for plot in PLOTS {
        let tells = if group.over_pass() {
            plot.over_pass
        } else {
            question.is_none_or(|question| plot.tells.contains(&question))
        };
        if !tells {
            continue;
        }
        let mut curves = Vec::new();
        let mut unit = "";
        for ((run, spans), colour) in runs.iter().zip(&spans).zip(&colours) {
            if plot.of_clutches && !run.scenario.layout.drives_rear() {
                continue;
            }
            let record = &run.result.record;
            for curve in plot.curves {
                let Some((samples, channel_unit)) = samples(record, curve.channel) else {
                    continue;
                };
                if plot.skip_zero && samples.iter().all(|sample| *sample == 0.0) {
                    continue;
                }
                let (shown_unit, factor) = shown(curve.channel, channel_unit);
                unit = shown_unit;
                let values = axis
                    .thin(samples, spans)
                    .into_iter()
                    .map(|v| (f64::from(v) * factor) as f32)
                    .collect();
                let name = run_label(group, run);
                let label = if curve.label.is_empty() {
                    name
                } else {
                    format!("{name}, {}", curve.label)
                };
                curves.push(Drawn {
                    colour: *colour,
                    label,
                    line: curve.line,
                    values,
                });
            }
        }
        if !curves.is_empty() {
            plots.push(DrawnPlot {
                title: plot.title,
                unit: unit.to_owned(),
                curves,
            });
        }
    }
    let mut paths = Vec::new();
    for ((run, spans), colour) in runs.iter().zip(&spans).zip(&colours) {
        let record = &run.result.record;
        if let (Some(x), Some(y)) = (record.column(PATH.0), record.column(PATH.1)) {
            // Picked, not thinned to extremes: x and y must belong to the same instant.
            let points = axis
                .picks(spans)
                .into_iter()
                .map(|sample| (x[sample], y[sample]))
                .collect();
            paths.push(Path {
                colour: *colour,
                label: run_label(group, run),
                points,
            });
        }
    }
    Drawing { axis, plots, paths }
}

fn samples<'r>(record: &'r Record, name: &str) -> Option<(&'r [f32], &'static str)> {
    let unit = record
        .channels()
        .iter()
        .find(|channel| channel.name == name)?
        .unit;
    Some((record.column(name)?, unit))
}

/// A colour for every run: the same axle has the same colour in every group; further runs take what is free.
fn colours(runs: &[&Labelled<'_>]) -> Vec<usize> {
    let own = |run: &Labelled<'_>| match run.scenario.layout {
        AxleLayout::FrontDrive => 0,
        AxleLayout::SingleCoupling => 1,
        AxleLayout::PairedClutches => 2,
        AxleLayout::FrontLimitedSlip => 3,
        AxleLayout::BrakeVectoring => 4,
    };
    let mut taken: Vec<usize> = Vec::new();
    for run in runs {
        let wanted = own(run);
        let free = || {
            (3..MOST_RUNS)
                .chain(0..3)
                .find(|colour| !taken.contains(colour))
        };
        taken.push(if taken.contains(&wanted) {
            free().unwrap_or(wanted)
        } else {
            wanted
        });
    }
    taken
}

fn title(runs: &[&Labelled<'_>]) -> String {
    let first: Vec<&str> = runs
        .first()
        .map(|run| run.scenario.name.split('-').collect())
        .unwrap_or_default();
    let common = |length: &usize| {
        runs.iter().all(|run| {
            run.scenario
                .name
                .split('-')
                .take(*length)
                .eq(first.iter().take(*length).copied())
        })
    };
    match (1..=first.len()).rev().find(common) {
        Some(length) => first[..length].join("-"),
        None => runs
            .first()
            .map_or("runs", |run| run.scenario.manoeuvre.name())
            .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use couplet_sim::plant::AxleLayout;
    use couplet_sim::record::{Channel, Parity, Record};
    use couplet_sim::run::energy::EnergyAccount;
    use couplet_sim::run::{Ending, RunOutcome, RunResult};
    use couplet_sim::scenario::{Manoeuvre, Scenario};

    use super::{drawing, groups, run_label};
    use crate::output::Labelled;

    fn scenario(layout: AxleLayout) -> Scenario {
        Scenario {
            layout,
            name: format!("step-{}", couplet_sim::scenario::layout_name(layout)),
            ..Scenario::of(Manoeuvre::StepSteer)
        }
    }

    fn result(speed: f32) -> RunResult {
        let channel = Channel {
            name: "speed",
            unit: "m/s",
            parity: Parity::Even,
        };
        let mut record = Record::new(0.005, vec![channel]);
        record.push(&[speed]);
        record.push(&[speed]);
        RunResult {
            record,
            outcome: RunOutcome {
                ended: Ending::TimeOver,
                at_s: 0.01,
                by: "test",
                energy: EnergyAccount::default(),
            },
            metrics: Vec::new(),
        }
    }

    #[test]
    fn a_group_compares_the_axles_once_each_and_keeps_their_colours() {
        let (front, paired) = (
            scenario(AxleLayout::FrontDrive),
            scenario(AxleLayout::PairedClutches),
        );
        let (one, same, other, third) = (result(1.0), result(1.0), result(2.0), result(3.0));
        let runs = Labelled::all(
            [
                (&front, "patrol", &one),
                (&paired, "patrol", &other),
                (&front, "response", &same),
                (&paired, "response", &third),
            ]
            .into_iter(),
        );
        let groups = groups(&runs);
        assert_eq!(groups.len(), 1);
        assert_eq!(groups[0].title, "step");
        let labels: Vec<String> = groups[0]
            .runs
            .iter()
            .map(|run| run_label(&groups[0], run))
            .collect();
        assert_eq!(labels, ["front drive", "paired patrol", "paired response"]);
        let drawn = drawing(&groups[0]);
        assert_eq!(
            drawn.plots.len(),
            1,
            "channels that are missing must be left out"
        );
        let colours: Vec<usize> = drawn.plots[0]
            .curves
            .iter()
            .map(|curve| curve.colour)
            .collect();
        assert_eq!(colours, [0, 2, 3]);
    }
}
