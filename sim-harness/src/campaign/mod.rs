//! Campaigns: one manoeuvre driven with many cars that differ within known ranges.
//!
//! In: a [`Campaign`] and the absolute index of a sample. Out: the judged values of that one drive. A sample is a value
//! made of seed and index alone, so order, threads and the number of samples change nothing, and any single one can be
//! driven again. The same index gives the same car in every campaign of the same seed: layouts are compared car by car.
//! Records are dropped; what is kept of a drive are its judged values. Limits: the calibration is the same for all cars;
//! what varies is the plant and the sensor noise, never the controller.

pub mod sample;
pub mod spread;

pub use sample::{RANGES, Sample};
pub use spread::Spread;

use crate::metrics::Metric;
use crate::plant::Vehicle;
use crate::run::run;
use crate::scenario::Scenario;
use couplet_controller::RawPage;

/// Seed of the demo programme's campaigns; chosen, any other serves as well.
pub const SEED: u64 = 1;

/// Samples of each campaign in the demo programme: the 95th percentile is then the third largest value.
pub const SAMPLES: usize = 40;

/// A value that a campaign keeps of each drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Judged {
    /// Name of the metric.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
}

/// One manoeuvre on one axle with one setting, to be driven with many cars.
#[derive(Debug, Clone, PartialEq)]
pub struct Campaign {
    /// What is driven; friction and the seed of the sensor noise are overwritten by each sample.
    pub scenario: Scenario,
    /// Demo setting of the paired axle.
    pub setting: &'static str,
    /// What is kept of each drive.
    pub judged: &'static [Judged],
    /// Seed of the campaign.
    pub seed: u64,
}

impl Campaign {
    /// Drives the sample of an absolute index: one value per judged metric, missing where the drive did not get there.
    ///
    /// # Panics
    /// If `page` is not acceptable: pages are checked where they are read.
    pub fn drive(&self, index: u64, vehicle: &Vehicle, page: &RawPage) -> Vec<Option<f64>> {
        let sample = Sample::of(self.seed, index);
        let result = run(
            &sample.scenario(&self.scenario),
            &sample.vehicle(vehicle),
            page,
        );
        let of = |judged: &Judged| {
            let same = |metric: &&Metric| metric.name == judged.name && metric.unit == judged.unit;
            result.metrics.iter().find(same)?.value
        };
        self.judged.iter().map(of).collect()
    }
}
