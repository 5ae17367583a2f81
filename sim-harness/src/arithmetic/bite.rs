//! Where a coarse arithmetic bites first: the signals of the trace that leave the exact ones, in order of time.
//!
//! A signal has left when it differs by more than a hundredth of its own largest size in the exact run. Signals that are
//! codes (phase, limit, direction, health, faults) are decisions and have no size. Ties in time: the larger share first.

use couplet_controller::{Real, Trace, TraceSignal};

/// Share of its largest size by which a signal must differ.
const SHARE: f64 = 0.01;

/// Names of signals that are codes.
const CODES: &[&str] = &[
    "phase",
    "limit_left",
    "limit_right",
    "direction_left",
    "direction_right",
    "health",
    "faults",
    "wheel_faults_left",
    "wheel_faults_right",
];

/// The first time a signal left the exact one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bite {
    /// Signal of the trace.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Time, s.
    pub at_s: f64,
    /// The exact value.
    pub exact: f64,
    /// The coarse one.
    pub coarse: f64,
    /// Difference as a share of the signal's largest size in the run.
    pub share: f64,
}

/// All signals of a run.
#[derive(Debug, Clone, Default)]
pub(super) struct Signals {
    times_s: Vec<f64>,
    pairs: Vec<(f32, f32)>,
}

impl Signals {
    /// One step of both.
    pub(super) fn step<S: Real>(&mut self, time_s: f64, exact: &Trace<f64>, coarse: &Trace<S>) {
        self.times_s.push(time_s);
        let both = TraceSignal::<f64>::ALL.iter().zip(TraceSignal::<S>::ALL);
        self.pairs
            .extend(both.map(|(one, other)| ((one.read)(exact), (other.read)(coarse))));
    }

    /// Every signal that left, earliest first.
    pub(super) fn bites(&self) -> Vec<Bite> {
        let signals = TraceSignal::<f64>::ALL;
        let mut found = Vec::new();
        for (index, signal) in signals.iter().enumerate() {
            if CODES.contains(&signal.name) {
                continue;
            }
            let column = || {
                let pairs = self.pairs.iter().skip(index).step_by(signals.len());
                pairs.map(|(one, other)| (f64::from(*one), f64::from(*other)))
            };
            let size = column().fold(0.0_f64, |size, (exact, _)| size.max(libm::fabs(exact)));
            if size <= 0.0 {
                continue;
            }
            let left = |&((exact, coarse), _): &((f64, f64), &f64)| {
                libm::fabs(exact - coarse) > SHARE * size
            };
            if let Some(((exact, coarse), at_s)) = column().zip(&self.times_s).find(left) {
                found.push(Bite {
                    name: signal.name,
                    unit: signal.unit,
                    at_s: *at_s,
                    exact,
                    coarse,
                    share: libm::fabs(exact - coarse) / size,
                });
            }
        }
        found.sort_by(|one, other| {
            let by_time = one.at_s.total_cmp(&other.at_s);
            by_time.then(other.share.total_cmp(&one.share))
        });
        found
    }
}
