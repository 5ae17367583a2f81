//! The law inside a unit.

use super::variables::{OLDEST_MS, as_written};
use super::{Model, Refusal, Unit};
use crate::run::PERIOD_S;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS, Status};
use couplet_controller::{
    Controller, Inputs, Outputs, PageRefusal, Period, RawPage, Reading, TraceSignal,
};

/// First output: after value, age and validity of every signal.
const OUTPUTS: usize = 3 * INPUT_SIGNALS.len();
const TRACE: usize = OUTPUTS + OUTPUT_SIGNALS.len();
const AXLE_TEMPERATURE: usize = TRACE + TraceSignal::<f32>::ALL.len();
const CALIBRATION: usize = AXLE_TEMPERATURE + 1;

#[derive(Debug, Clone)]
pub(super) struct ControllerSide {
    controller: Controller<f32>,
    outputs: Outputs,
}

impl ControllerSide {
    pub(super) fn new(values: &[f64]) -> Result<Self, Refusal> {
        let mut controller =
            Controller::new(&page(values), Period::default()).map_err(|why| refused(&why))?;
        controller.set_temperature(values[AXLE_TEMPERATURE] as f32);
        Ok(Self {
            controller,
            outputs: Outputs::default(),
        })
    }

    /// Takes over the tunables as they are set now; on refusal they are set back to the ones in force.
    pub(super) fn retune(&mut self, values: &mut [f64]) -> Result<(), Refusal> {
        let taken = self.controller.take_page(&page(values));
        taken.map_err(|why| {
            let in_force = self.controller.calibration().raw();
            for (place, entry) in values[CALIBRATION..].iter_mut().zip(ENTRIES) {
                *place = as_written((entry.read)(&in_force));
            }
            refused(&why)
        })
    }

    /// So many periods with these inputs held: they grow older.
    pub(super) fn step(&mut self, values: &[f64], periods: u64) {
        let period_ms = PERIOD_S * 1000.0;
        for period in 0..periods {
            let mut inputs = Inputs::default();
            for (signal, place) in INPUT_SIGNALS.iter().zip(values.chunks_exact(3)) {
                let age_ms = place[1] + period as f64 * period_ms;
                let reading = Reading {
                    value: place[0] as f32,
                    age_ms: age_ms.min(OLDEST_MS) as u16,
                    status: if place[2] > 0.5 {
                        Status::VALID
                    } else {
                        Status::INVALID
                    },
                };
                (signal.write)(&mut inputs, reading);
            }
            self.outputs = self.controller.step(&inputs);
        }
    }

    pub(super) fn tell(&self, values: &mut [f64]) {
        for (place, signal) in values[OUTPUTS..].iter_mut().zip(OUTPUT_SIGNALS) {
            *place = f64::from((signal.read)(&self.outputs));
        }
        let trace = self.controller.trace();
        for (place, signal) in values[TRACE..].iter_mut().zip(TraceSignal::<f32>::ALL) {
            *place = f64::from((signal.read)(trace));
        }
    }
}

fn page(values: &[f64]) -> RawPage {
    let mut page = RawPage::default();
    for (value, entry) in values[CALIBRATION..].iter().zip(ENTRIES) {
        (entry.write)(&mut page.tunables, *value as f32);
    }
    page
}

fn refused(why: &PageRefusal) -> Refusal {
    let what = if let Some(rule) = why.rule() {
        format!("{}: {}", rule.entries.join(", "), rule.message)
    } else if let Some(entry) = why.entry() {
        format!(
            "{}.{} from {} to {}",
            entry.group, entry.name, entry.low, entry.high
        )
    } else {
        format!("{why:?}")
    };
    Refusal::Calibration { what }
}

/// The tunables of a page that are not the defaults: number and value.
pub(super) fn differing(page: &RawPage) -> Vec<(String, f64)> {
    ENTRIES
        .iter()
        .filter(|entry| (entry.read)(&page.tunables) != entry.default)
        .map(|entry| {
            let name = format!("calibration.{}.{}", entry.group, entry.name);
            debug_assert!(Unit::reference(Model::Controller, &name).is_ok());
            (name, as_written((entry.read)(&page.tunables)))
        })
        .collect()
}
