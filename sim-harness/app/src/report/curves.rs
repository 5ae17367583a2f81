//! Curves thinned for drawing, and runs grouped for comparing.
//!
//! A curve of up to [`MOST_POINTS`] samples is drawn whole. A longer one is cut into equal intervals, of which the
//! smallest and the largest sample are drawn in the order in which they occur, so that no peak is lost; their time is
//! then right to within one interval.

use couplet_sim::plant::AxleLayout;
use couplet_sim::record::Record;
use couplet_sim::scenario::Scenario;

use super::plots::{Line, PATH, PLOTS, shown};
use crate::output::Labelled;

/// Most points of one drawn curve.
pub const MOST_POINTS: usize = 600;

/// Most runs compared in one set of plots; more would neither be readable nor fit.
pub const MOST_RUNS: usize = 6;

/// Runs of the same scenario that differ in axle, setting or seed.
pub struct Group<'a> {
    /// Heading: what the scenario names have in common.
    pub title: String,
    /// The runs, in programme order.
    pub runs: Vec<&'a Labelled<'a>>,
}

/// One curve ready to be drawn.
pub struct Drawn {
    /// Number of the run's colour, see [`colours`].
    pub colour: usize,
    /// Label with the side, where there is one.
    pub label: String,
    /// How it is drawn.
    pub line: Line,
    /// Values on the group's time points, in the unit shown; shorter than the time where the run ended early.
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
    /// Points x and y on the group's time points, m.
    pub points: Vec<(f32, f32)>,
}

/// Time points and plots of a group.
pub struct Drawing {
    /// Time of every point, s.
    pub time_s: Vec<f32>,
    /// The plots.
    pub plots: Vec<DrawnPlot>,
    /// Path of every run that has one.
    pub paths: Vec<Path>,
    /// Whether any curve was thinned.
    pub thinned: bool,
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
    let longest = runs
        .iter()
        .map(|run| run.result.record.len())
        .max()
        .unwrap_or(0);
    let period_s = runs.first().map_or(0.0, |run| run.result.record.period_s);
    let grid = Grid::new(longest);
    let colours = colours(&runs);
    let mut plots = Vec::new();
    for plot in PLOTS {
        let mut curves = Vec::new();
        let mut unit = "";
        for (run, colour) in runs.iter().zip(&colours) {
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
                let values = grid
                    .thin(samples)
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
    for (run, colour) in runs.iter().zip(&colours) {
        let record = &run.result.record;
        if let (Some(x), Some(y)) = (record.column(PATH.0), record.column(PATH.1)) {
            // Picked, not thinned to extremes: x and y must belong to the same instant.
            let points = grid
                .starts(x.len())
                .map(|sample| (x[sample], y[sample]))
                .collect();
            paths.push(Path {
                colour: *colour,
                label: run_label(group, run),
                points,
            });
        }
    }
    let time_s = grid.times(period_s);
    Drawing {
        time_s,
        plots,
        paths,
        thinned: grid.interval > 1,
    }
}

/// Drawing points of a record of `samples` samples: single samples, or two points per interval.
struct Grid {
    samples: usize,
    /// Samples per drawn point pair; 1 means every sample is drawn.
    interval: usize,
}

impl Grid {
    fn new(samples: usize) -> Self {
        let interval = if samples <= MOST_POINTS {
            1
        } else {
            samples.div_ceil(MOST_POINTS / 2)
        };
        Self { samples, interval }
    }

    fn starts(&self, samples: usize) -> impl Iterator<Item = usize> + use<> {
        // Two points per interval: its beginning and its middle.
        let interval = self.interval;
        let every = (0..samples).step_by(interval);
        every.flat_map(move |start| {
            let middle = start + interval / 2;
            [
                Some(start),
                (interval > 1).then_some(middle.min(samples - 1)),
            ]
            .into_iter()
            .flatten()
        })
    }

    fn times(&self, period_s: f64) -> Vec<f32> {
        self.starts(self.samples)
            .map(|sample| (sample as f64 * period_s) as f32)
            .collect()
    }

    fn thin(&self, samples: &[f32]) -> Vec<f32> {
        if self.interval == 1 {
            return samples.to_vec();
        }
        let mut points = Vec::with_capacity(MOST_POINTS);
        for interval in samples.chunks(self.interval) {
            let (mut low, mut high) = (0, 0);
            for (index, sample) in interval.iter().enumerate() {
                if *sample < interval[low] {
                    low = index;
                }
                if *sample > interval[high] {
                    high = index;
                }
            }
            points.extend([interval[low.min(high)], interval[low.max(high)]]);
        }
        points
    }
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
    use couplet_sim::run::{Ending, RunOutcome, RunResult};
    use couplet_sim::scenario::{Manoeuvre, Scenario};

    use super::{Grid, MOST_POINTS, drawing, groups, run_label};
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

    #[test]
    fn thinning_keeps_every_peak_and_the_points_agree_with_the_times() {
        for length in [1, 999, 1000, 1001, 12_345, 40_000] {
            let mut samples = vec![0.0_f32; length];
            samples[length / 3] = 7.0;
            samples[length - 1] = -5.0;
            let grid = Grid::new(length);
            let points = grid.thin(&samples);
            assert_eq!(points.len(), grid.times(0.01).len(), "length {length}");
            assert!(
                points.len() <= MOST_POINTS,
                "length {length}: {} points",
                points.len()
            );
            assert_eq!(
                points.iter().copied().fold(0.0, f32::min),
                -5.0,
                "length {length}"
            );
            if length > 1 {
                assert_eq!(
                    points.iter().copied().fold(0.0, f32::max),
                    7.0,
                    "length {length}"
                );
            }
        }
    }
}
