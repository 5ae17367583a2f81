//! Points at which curves are drawn: over time, or over the distance along a road.
//!
//! A record of up to [`MOST_POINTS`] samples is drawn whole over time. A longer one is cut into equal intervals, of which
//! the smallest and the largest sample are drawn in the order in which they occur, so that no peak is lost; their place
//! on the axis is then right to within one interval. Over a road the intervals are equal lengths of it: cars of different
//! speed are compared at the same place, and a car that is stuck stays in its last interval.

use couplet_sim::metrics::axle_work::reached;
use couplet_sim::record::Record;

/// Most points of one drawn curve.
pub const MOST_POINTS: usize = 340;

/// The axis shared by the curves of a group.
pub struct Axis {
    /// What it shows, with unit.
    pub label: &'static str,
    /// Place of every point.
    pub at: Vec<f32>,
    kind: Kind,
}

enum Kind {
    /// Samples in an interval; 1 draws every sample.
    Time(usize),
    /// Length of an interval, m.
    Road(f64),
}

impl Axis {
    /// Time, over the longest of the records.
    pub fn time(records: &[&Record]) -> Self {
        let samples = records.iter().map(|record| record.len()).max().unwrap_or(0);
        let period_s = records.first().map_or(0.0, |record| record.period_s);
        let interval = if samples <= MOST_POINTS {
            1
        } else {
            samples.div_ceil(MOST_POINTS / 2)
        };
        let at = spans_of(samples, interval)
            .flat_map(|span| points_of(span, interval))
            .map(|sample| (sample as f64 * period_s) as f32)
            .collect();
        Self {
            label: "time [s]",
            at,
            kind: Kind::Time(interval),
        }
    }

    /// Distance along the road, as far as any of the records comes.
    pub fn road(records: &[&Record]) -> Self {
        let farthest = |record: &&Record| {
            let distance = record.column("path_distance").unwrap_or_default();
            distance.iter().copied().fold(0.0_f32, f32::max)
        };
        let length_m = records.iter().map(farthest).fold(0.0_f32, f32::max);
        let step_m = (f64::from(length_m) / (MOST_POINTS / 2 - 1) as f64)
            .ceil()
            .max(1.0);
        let intervals = (f64::from(length_m) / step_m).floor() as usize + 1;
        let at = (0..2 * intervals)
            .map(|half| (0.5 * half as f64 * step_m) as f32)
            .collect();
        Self {
            label: "distance along the road [m]",
            at,
            kind: Kind::Road(step_m),
        }
    }

    /// Whether single samples are left out.
    pub fn thinned(&self) -> bool {
        !matches!(self.kind, Kind::Time(1))
    }

    /// The samples of every interval of a record.
    pub fn spans(&self, record: &Record) -> Vec<(usize, usize)> {
        match self.kind {
            Kind::Time(interval) => spans_of(record.len(), interval).collect(),
            Kind::Road(step_m) => {
                let reached = reached(record, step_m);
                let ends = reached.iter().copied().skip(1).chain([record.len()]);
                let whole = |(from, to): (usize, usize)| (from, to.max(from + 1));
                reached.iter().copied().zip(ends).map(whole).collect()
            }
        }
    }

    /// The points of a curve: every sample, or the extremes of every interval.
    pub fn thin(&self, samples: &[f32], spans: &[(usize, usize)]) -> Vec<f32> {
        if !self.thinned() {
            return samples.to_vec();
        }
        let mut points = Vec::with_capacity(2 * spans.len());
        for (from, to) in spans {
            let (mut low, mut high) = (*from, *from);
            for index in *from..*to {
                if samples[index] < samples[low] {
                    low = index;
                }
                if samples[index] > samples[high] {
                    high = index;
                }
            }
            points.extend([samples[low.min(high)], samples[low.max(high)]]);
        }
        points
    }

    /// One sample for every point, its beginning and its middle: for channels that must belong to the same instant.
    pub fn picks(&self, spans: &[(usize, usize)]) -> Vec<usize> {
        let interval = if self.thinned() { 2 } else { 1 };
        spans
            .iter()
            .flat_map(|span| points_of(*span, interval))
            .collect()
    }
}

fn spans_of(samples: usize, interval: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..samples)
        .step_by(interval)
        .map(move |from| (from, (from + interval).min(samples)))
}

/// The beginning of an interval, and its middle if it has more than one point.
fn points_of((from, to): (usize, usize), interval: usize) -> impl Iterator<Item = usize> {
    let middle = (interval > 1).then_some(from + (to - from) / 2);
    [Some(from), middle].into_iter().flatten()
}

#[cfg(test)]
mod tests {
    use couplet_sim::record::{Channel, Parity, Record};

    use super::{Axis, MOST_POINTS};

    fn record(samples: impl Iterator<Item = f32>, distance: impl Fn(usize) -> f32) -> Record {
        let channel = |name| Channel {
            name,
            unit: "-",
            parity: Parity::Even,
        };
        let mut record = Record::new(0.01, vec![channel("speed"), channel("path_distance")]);
        for (index, sample) in samples.enumerate() {
            record.push(&[sample, distance(index)]);
        }
        record
    }

    fn extremes(points: &[f32]) -> (f32, f32) {
        let fold = |pick: fn(f32, f32) -> f32| points.iter().copied().fold(0.0, pick);
        (fold(f32::min), fold(f32::max))
    }

    #[test]
    fn thinning_keeps_every_peak_and_the_points_agree_with_the_axis() {
        for length in [2, 599, 600, 601, 999, 12_345, 40_000] {
            let mut samples = vec![0.0_f32; length];
            samples[length / 3] = 7.0;
            samples[length - 1] = -5.0;
            let record = record(samples.into_iter(), |index| 0.3 * index as f32);
            for axis in [Axis::time(&[&record]), Axis::road(&[&record])] {
                let spans = axis.spans(&record);
                let points = axis.thin(record.column("speed").unwrap_or_default(), &spans);
                let name = format!("{} {length}", axis.label);
                assert_eq!(points.len(), axis.at.len(), "{name}");
                assert_eq!(axis.picks(&spans).len(), axis.at.len(), "{name}");
                assert!(points.len() <= MOST_POINTS, "{name}: {}", points.len());
                assert_eq!(extremes(&points), (-5.0, 7.0), "{name}");
            }
        }
    }

    #[test]
    fn over_a_road_cars_are_compared_at_the_same_place() {
        // One drives 1 m a sample, the other half of it and is stuck at 200 m: value is the distance.
        let fast = record((0..1000).map(|index| index as f32), |index| index as f32);
        let way = |index: usize| (0.5 * index as f32).min(200.0);
        let slow = record((0..1000).map(way), way);
        let axis = Axis::road(&[&fast, &slow]);
        for (record, ends_m) in [(&fast, 999.0), (&slow, 200.0)] {
            let spans = axis.spans(record);
            let points = axis.thin(record.column("speed").unwrap_or_default(), &spans);
            for (place, value) in axis.at.iter().zip(&points) {
                // Within an interval of 4 m.
                assert!((place - value).abs() <= 4.0, "{place}: {value}");
            }
            assert_eq!(points.last(), Some(&ends_m));
        }
    }
}
