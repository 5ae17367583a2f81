//! The law in open loop over a recording: what it would have done, and how that differs from something else.
//!
//! A recording and a [`mapping::Mapping`] give what the law is told, step by step ([`told`]); [`replayed`] steps the law over it. Nothing
//! comes back: the car of the recording does not feel this law. Limits: a difference that the car would have answered to
//! (more slip, another yaw rate) is not seen; read the first tenths of a second after two laws part, not the minute after.

pub mod axles;
pub mod drive;
pub mod evidence;
pub mod mapping;
pub mod physics;
pub mod suggest;
pub mod suspect;
pub mod told;
pub mod units;

use crate::run::law::Law;
use couplet_controller::signal::{OUTPUT_SIGNALS, OutputSignal};
use couplet_controller::{Controller, Inputs, Outputs, Period, RawPage};

/// The outputs of every step of a law over what it is told.
///
/// # Panics
/// If the page is not acceptable: pages are checked where they are read.
pub fn replayed(
    told: &[Inputs],
    page: &RawPage,
    law: Law,
    period: Period,
    start_degc: f32,
) -> Vec<Outputs> {
    let mut controller: Controller<f32, Law> = match Controller::with_law(page, period, law) {
        Ok(controller) => controller,
        Err(refusal) => panic!("calibration page refused: {refusal:?}"),
    };
    controller.set_temperature(start_degc);
    told.iter().map(|inputs| controller.step(inputs)).collect()
}

/// How far one series is from another.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Difference {
    /// Steps compared: both have a number there.
    pub steps: usize,
    /// Steps in which the bits differ.
    pub differ: usize,
    /// Root mean square.
    pub rms: f64,
    /// Mean, with its sign: the first minus the second.
    pub mean: f64,
    /// Largest, without sign.
    pub largest: f64,
    /// Step of the largest.
    pub at: usize,
}

impl Difference {
    /// The difference of two series of equal length; where one is no number nothing is compared.
    pub fn between(one: impl Iterator<Item = f64>, other: impl Iterator<Item = f64>) -> Self {
        let mut found = Self::default();
        let (mut square, mut sum) = (0.0, 0.0);
        for (step, (one, other)) in one.zip(other).enumerate() {
            let off = one - other;
            if off.is_nan() {
                continue;
            }
            found.steps += 1;
            found.differ += usize::from(one.to_bits() != other.to_bits());
            square += off * off;
            sum += off;
            if off.abs() > found.largest {
                (found.largest, found.at) = (off.abs(), step);
            }
        }
        let steps = found.steps.max(1) as f64;
        found.rms = libm::sqrt(square / steps);
        found.mean = sum / steps;
        found
    }
}

/// An output of the law by its name.
pub fn output(name: &str) -> Option<&'static OutputSignal> {
    OUTPUT_SIGNALS.iter().find(|signal| signal.name == name)
}

/// One output over all steps.
pub fn series<'a>(
    outputs: &'a [Outputs],
    signal: &'static OutputSignal,
) -> impl Iterator<Item = f64> + 'a {
    outputs.iter().map(|one| f64::from((signal.read)(one)))
}

/// The difference of every output of two replays.
pub fn differences(one: &[Outputs], other: &[Outputs]) -> Vec<(&'static OutputSignal, Difference)> {
    OUTPUT_SIGNALS
        .iter()
        .map(|signal| {
            let difference = Difference::between(series(one, signal), series(other, signal));
            (signal, difference)
        })
        .collect()
}
