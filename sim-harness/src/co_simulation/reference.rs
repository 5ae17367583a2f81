//! A run as a co-simulation must repeat it: the parameters of both units, and per step what went in and what came out.
//!
//! In: scenario, vehicle, page. Out: a [`Reference`]. The run is the ordinary one; the driver is listened to. Limits: what a unit of
//! the car cannot be told is refused: another axle, faults, a mirrored scenario, a road along a path.

use super::controller::differing;
use super::variables::{STARTS, scenario_numbers};
use super::{Causality, Model, car::TRUTH, variables};
use crate::driver::{Action, Driver, View};
use crate::manoeuvre::prepare;
use crate::plant::{AxleLayout, Observation, Start, Surface, Vehicle};
use crate::run::closed_loop::drive_watched;
use crate::run::law::Rule;
use crate::scenario::Scenario;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};
use couplet_controller::{Inputs, Outputs, RawPage};
use std::cell::RefCell;
use std::rc::Rc;

/// One step of a run.
#[derive(Debug, Clone)]
pub struct Row {
    /// What the driver did.
    pub action: Action,
    /// Hand brake, 0 to 1.
    pub hand_brake: f64,
    /// The truth at the instant the driver acted on.
    pub truth: Observation,
    /// What the law was told then.
    pub told: Inputs,
    /// What it gave.
    pub outputs: Outputs,
}

/// A run to be repeated.
#[derive(Debug, Clone)]
pub struct Reference {
    /// Parameters that differ from their start values.
    pub parameters: Vec<(Model, String, f64)>,
    /// Step by step, the lead included.
    pub rows: Vec<Row>,
}

/// Why a scenario cannot be repeated by the units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// Another axle than the paired one.
    Axle,
    /// Faults.
    Faults,
    /// Seen in a mirror.
    Mirrored,
    /// A road along a path.
    Road,
    /// A release asked for at a time.
    Release,
}

impl std::fmt::Display for Unfit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Axle => "its axle is not the paired one",
            Self::Faults => "it has faults",
            Self::Mirrored => "it is seen in a mirror",
            Self::Road => "its road follows a path",
            Self::Release => "it has assist.release_request_s, which the units have as an input",
        })
    }
}

/// Drives the scenario and tells what the units need to repeat it.
///
/// # Errors
/// What the units cannot be told.
pub fn reference(
    scenario: &Scenario,
    vehicle: &Vehicle,
    page: &RawPage,
) -> Result<Reference, Unfit> {
    if scenario.layout != AxleLayout::PairedClutches {
        return Err(Unfit::Axle);
    }
    if !scenario.faults.is_empty() {
        return Err(Unfit::Faults);
    }
    if scenario.mirrored {
        return Err(Unfit::Mirrored);
    }
    if matches!(scenario.road().surface, Surface::Along { .. }) {
        return Err(Unfit::Road);
    }
    if scenario.numbers.assist.release_request_s > 0.0 {
        return Err(Unfit::Release);
    }
    let loaded = scenario.loaded(vehicle);
    let mut setup = prepare(scenario, &loaded, page);
    let parameters = parameters(scenario, vehicle, page, &setup.start);
    let heard = Rc::new(RefCell::new(Vec::new()));
    setup.driver = Box::new(Heard {
        driver: setup.driver,
        heard: Rc::clone(&heard),
    });
    let mut answers = Vec::new();
    let mut hear = |_: f64, told: &Inputs, control: &crate::run::axle_control::AxleControl| {
        answers.push((*told, control.outputs().copied().unwrap_or_default()));
    };
    drive_watched(scenario, &loaded, Rule::from(page), setup, &mut hear);
    let heard = heard.take();
    let rows = heard
        .into_iter()
        .zip(answers)
        .map(|(heard, (told, outputs))| {
            let (action, hand_brake, truth) = heard;
            Row {
                action,
                hand_brake,
                truth,
                told,
                outputs,
            }
        });
    Ok(Reference {
        parameters,
        rows: rows.collect(),
    })
}

/// A driver that is listened to.
struct Heard {
    driver: Box<dyn Driver>,
    heard: Rc<RefCell<Vec<(Action, f64, Observation)>>>,
}

impl Driver for Heard {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let action = self.driver.act(view, period_s);
        let hand_brake = self.driver.hand_brake();
        self.heard
            .borrow_mut()
            .push((action, hand_brake, *view.car));
        action
    }

    fn hand_brake(&self) -> f64 {
        self.driver.hand_brake()
    }
}

fn parameters(
    scenario: &Scenario,
    vehicle: &Vehicle,
    page: &RawPage,
    start: &Start,
) -> Vec<(Model, String, f64)> {
    let axle_degc = scenario.numbers.road.axle_degc;
    let mut all = vec![(Model::Controller, "axle_temperature".to_owned(), axle_degc)];
    all.extend(
        differing(page)
            .into_iter()
            .map(|(name, value)| (Model::Controller, name, value)),
    );
    let begun = [
        start.speed_m_s,
        start.yaw_rate_rad_s,
        start.sideslip_rad,
        start.x_m,
        start.y_m,
        start.heading_rad,
        start.steering_wheel_rad,
        start.carrier_torque_nm,
        scenario.seed as f64,
    ];
    let mut car = |name: String, value: f64| all.push((Model::Car, name, value));
    for ((key, ..), value) in STARTS.iter().zip(begun) {
        car(format!("start.{key}"), value);
    }
    for field in scenario_numbers() {
        car(
            format!("{}.{}", field.group, field.key),
            (field.read)(&scenario.numbers),
        );
    }
    for field in Vehicle::FIELDS {
        car(
            format!("vehicle.{}.{}", field.group, field.key),
            (field.read)(vehicle),
        );
    }
    all.retain(|(model, name, value)| {
        let known = variables(*model).iter().find(|one| one.name == *name);
        known.is_none_or(|one| one.start != *value)
    });
    all
}

/// Start values of a model other than its own, for a page and a vehicle: number of the variable and value.
pub fn started(model: Model, page: &RawPage, vehicle: &Vehicle) -> Vec<(usize, f64)> {
    let named = match model {
        Model::Controller => differing(page),
        Model::Car => Vehicle::FIELDS
            .iter()
            .map(|field| {
                let name = format!("vehicle.{}.{}", field.group, field.key);
                (name, (field.read)(vehicle))
            })
            .collect(),
    };
    let place = |name: &str| variables(model).iter().position(|one| one.name == name);
    let placed = named
        .into_iter()
        .filter_map(|(name, value)| Some((place(&name)?, value)));
    placed
        .filter(|(index, value)| variables(model)[*index].start != *value)
        .collect()
}

/// Names of the columns of [`columns`]: controls and truth of the car, outputs of the controller.
pub fn column_names() -> Vec<String> {
    let car = variables(Model::Car).iter();
    let mut names: Vec<String> = car
        .filter(|one| one.causality == Causality::Input)
        .take(4)
        .map(|one| one.name.clone())
        .collect();
    names.extend(TRUTH.iter().map(|(name, ..)| format!("truth.{name}")));
    names.extend(
        INPUT_SIGNALS
            .iter()
            .map(|signal| format!("told.{}", signal.name)),
    );
    names.extend(
        OUTPUT_SIGNALS
            .iter()
            .map(|signal| format!("given.{}", signal.name)),
    );
    names
}

/// The numbers of a row, in the order of [`column_names`].
pub fn columns(row: &Row) -> Vec<f64> {
    let mut numbers = vec![
        row.action.steering_wheel_rad,
        row.action.pedal,
        row.action.brake,
        row.hand_brake,
    ];
    numbers.extend(TRUTH.iter().map(|(_, _, _, read)| read(&row.truth)));
    numbers.extend(
        INPUT_SIGNALS
            .iter()
            .map(|signal| f64::from((signal.read)(&row.told).value)),
    );
    numbers.extend(
        OUTPUT_SIGNALS
            .iter()
            .map(|signal| f64::from((signal.read)(&row.outputs))),
    );
    numbers
}
