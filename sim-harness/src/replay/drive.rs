//! A driven run as a recording: what the law was told and gave in every step, and what the car did.
//!
//! Three channels stand for each input: `input.NAME`, `input.NAME.age_ms`, `input.NAME.status`; `output.NAME` for each output; the
//! record of the run is a group of its own. Time 0 is the first step of the law, before the record begins. All in `f32`, so a
//! replay gives the same bits.

use super::mapping::{Commanded, Mapping, Row, Source};
use crate::manoeuvre;
use crate::plant::Vehicle;
use crate::record::Record;
use crate::record::recording::{Group, Recording, Signal};
use crate::run::axle_control::AxleControl;
use crate::run::closed_loop::drive_watched;
use crate::run::law::Rule;
use crate::run::{PERIOD_S, driven};
use crate::scenario::Scenario;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};
use couplet_controller::{Inputs, Outputs, RawPage};

/// Outputs a replay of the recording is held against.
const COMMANDS: [&str; 4] = [
    "torque_left",
    "torque_right",
    "current_left",
    "current_right",
];

/// What was heard of a run on the paired axle.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// What the law was told, step by step.
    pub told: Vec<Inputs>,
    /// What it gave.
    pub outputs: Vec<Outputs>,
    /// What the car did.
    pub record: Record,
    /// Time of the first sample of the record after the first step of the law, s.
    pub lead_s: f64,
    /// Temperature of the whole axle at the start, degC.
    pub start_degc: f32,
}

/// Drives a scenario and listens; nothing is heard on another axle than the paired one.
///
/// # Panics
/// If the page is not acceptable: pages are checked where they are read.
pub fn heard(scenario: &Scenario, vehicle: &Vehicle, page: &RawPage) -> Heard {
    let vehicle = driven(scenario, vehicle);
    let setup = manoeuvre::prepare(scenario, &vehicle, page);
    let (mut told, mut outputs) = (Vec::new(), Vec::new());
    let mut lead_s = 0.0;
    let mut watch = |time_s: f64, inputs: &Inputs, control: &AxleControl| {
        if let Some(given) = control.outputs() {
            if told.is_empty() {
                lead_s = -time_s;
            }
            told.push(*inputs);
            outputs.push(*given);
        }
    };
    let (record, _) = drive_watched(scenario, &vehicle, Rule::from(page), setup, &mut watch);
    Heard {
        told,
        outputs,
        record,
        lead_s,
        start_degc: scenario.numbers.road.axle_degc as f32,
    }
}

/// The group `law`: three channels for each input, and one for each output where they are given.
pub fn law_group(told: &[Inputs], outputs: &[Outputs], period_s: f64) -> Group {
    let mut signals = Vec::new();
    for signal in INPUT_SIGNALS {
        let all = |read: &dyn Fn(&Inputs) -> f64| told.iter().map(read).collect();
        let mut add = |name: String, unit: &str, comment: &str, values| {
            signals.push(Signal {
                name,
                unit: unit.to_owned(),
                comment: comment.to_owned(),
                values,
            });
        };
        let name = format!("input.{}", signal.name);
        let value = all(&|inputs| f64::from((signal.read)(inputs).value));
        let age = all(&|inputs| f64::from((signal.read)(inputs).age_ms));
        let status = all(&|inputs| f64::from((signal.read)(inputs).status.0));
        add(format!("{name}.age_ms"), "ms", "Age of the value.", age);
        add(format!("{name}.status"), "-", "1: vouched for.", status);
        add(name, signal.unit, signal.meaning, value);
    }
    if !outputs.is_empty() {
        for signal in OUTPUT_SIGNALS {
            signals.push(Signal {
                name: format!("output.{}", signal.name),
                unit: signal.unit.to_owned(),
                comment: signal.meaning.to_owned(),
                values: super::series(outputs, signal).collect(),
            });
        }
    }
    Group {
        name: "law".to_owned(),
        time_s: (0..told.len()).map(|step| step as f64 * period_s).collect(),
        signals,
    }
}

/// The mapping of a recording made of [`law_group`]: it replays to the bit. `commands` are outputs it is held against.
pub fn exact_mapping(start_degc: f32, commands: &[&str]) -> Mapping {
    let rows = INPUT_SIGNALS.iter().map(|signal| {
        let name = format!("input.{}", signal.name);
        Row {
            age: Some(format!("{name}.age_ms")),
            status: Some(format!("{name}.status")),
            ..Row::of(signal, Source::Channel(name))
        }
    });
    let commands = commands.iter().filter_map(|name| {
        Some(Commanded {
            output: super::output(name)?,
            channel: format!("output.{name}"),
            factor: 1.0,
            offset: 0.0,
        })
    });
    Mapping {
        start_degc,
        rows: rows.collect(),
        commands: commands.collect(),
    }
}

impl Heard {
    /// The recording.
    pub fn recording(&self, comment: &str) -> Recording {
        Recording {
            comment: comment.to_owned(),
            groups: vec![
                law_group(&self.told, &self.outputs, PERIOD_S),
                Group::of_record("car", &self.record, self.lead_s),
            ],
        }
    }

    /// The mapping with which the recording replays to the bit.
    pub fn mapping(&self) -> Mapping {
        exact_mapping(self.start_degc, &COMMANDS)
    }
}
