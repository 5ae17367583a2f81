//! The variables of both models, made from the tables of signals, tunables, vehicle and scenario.

use super::Model;
use super::car::{CONTROLS, TRUTH};
use crate::plant::Vehicle;
use crate::scenario::Numbers;
use couplet_controller::TraceSignal;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};
use std::sync::OnceLock;

/// Which way a variable goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Causality {
    /// Into the unit, at any communication point.
    Input,
    /// Out of it.
    Output,
    /// Into it until the end of initialisation.
    Parameter,
    /// Into it at any communication point; taken over at the next step.
    Tunable,
}

/// One variable; its number is its place in the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Variable {
    /// Name.
    pub name: String,
    /// Unit in SI notation, `-` for a pure number.
    pub unit: &'static str,
    /// Meaning and sign.
    pub meaning: String,
    /// Which way it goes.
    pub causality: Causality,
    /// Lowest value admitted; of an output, lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// Value at the start.
    pub start: f64,
}

/// The variables of a model.
pub fn variables(model: Model) -> &'static [Variable] {
    static LISTS: [OnceLock<Vec<Variable>>; 2] = [OnceLock::new(), OnceLock::new()];
    match model {
        Model::Controller => LISTS[0].get_or_init(of_the_controller),
        Model::Car => LISTS[1].get_or_init(of_the_car),
    }
}

/// The decimal a single-precision number is written as, so that a range reads `0.02` and admits 0.02.
pub(super) fn as_written(value: f32) -> f64 {
    value
        .to_string()
        .parse()
        .unwrap_or_else(|_| f64::from(value))
}

/// Age of a reading that says that it is older than can be told, ms.
pub(super) const OLDEST_MS: f64 = 65_535.0;

/// Value, age and validity of every signal of the law, in this order.
fn readings(causality: Causality) -> impl Iterator<Item = Variable> {
    let unbounded = (f64::MIN, f64::MAX);
    INPUT_SIGNALS.iter().flat_map(move |signal| {
        let one = |name: String, unit, meaning: String, (low, high): (f64, f64)| Variable {
            name,
            unit,
            meaning,
            causality,
            low,
            high,
            start: 0.0,
        };
        [
            one(
                signal.name.to_owned(),
                signal.unit,
                format!(
                    "{} Believable from {} to {}.",
                    signal.meaning, signal.low, signal.high
                ),
                unbounded,
            ),
            one(
                format!("{}_age", signal.name),
                "ms",
                format!("Time since {} was measured.", signal.name),
                (0.0, OLDEST_MS),
            ),
            one(
                format!("{}_valid", signal.name),
                "-",
                format!(
                    "1: the sender vouches for {}; 0: it does not, or nothing came.",
                    signal.name
                ),
                (0.0, 1.0),
            ),
        ]
    })
}

fn of_the_controller() -> Vec<Variable> {
    let mut all: Vec<Variable> = readings(Causality::Input).collect();
    all.extend(OUTPUT_SIGNALS.iter().map(|signal| Variable {
        name: signal.name.to_owned(),
        unit: signal.unit,
        meaning: signal.meaning.to_owned(),
        causality: Causality::Output,
        low: as_written(signal.low),
        high: as_written(signal.high),
        start: 0.0,
    }));
    all.extend(TraceSignal::<f32>::ALL.iter().map(|signal| Variable {
        name: format!("trace.{}", signal.name),
        unit: signal.unit,
        meaning: "Finding of a stage in the last step.".to_owned(),
        causality: Causality::Output,
        low: f64::MIN,
        high: f64::MAX,
        start: 0.0,
    }));
    all.push(Variable {
        name: "axle_temperature".to_owned(),
        unit: "degC",
        meaning: "Temperature of the whole axle at the start.".to_owned(),
        causality: Causality::Parameter,
        low: -40.0,
        high: 140.0,
        start: 60.0,
    });
    all.extend(ENTRIES.iter().map(|entry| Variable {
        name: format!("calibration.{}.{}", entry.group, entry.name),
        unit: entry.unit,
        meaning: entry.reason.to_owned(),
        causality: Causality::Tunable,
        low: as_written(entry.low),
        high: as_written(entry.high),
        start: as_written(entry.default),
    }));
    all
}

/// Groups of a scenario's numbers that are the car's or the road's, not the driver's or the course's.
const GROUPS: [&str; 5] = ["road", "load", "car", "assist", "sensors"];

/// Single numbers of other groups, and one that a unit has as an input.
const OTHERS: [(&str, &str); 3] = [
    ("driver", "reverse"),
    ("driver", "honour_front_spin_request"),
    ("driver", "gear_drag_share"),
];

/// The scenario's numbers that are parameters of the car, by their place in the table.
pub(super) fn scenario_numbers() -> impl Iterator<Item = &'static crate::describe::Field<Numbers>> {
    Numbers::FIELDS.iter().filter(|field| {
        (GROUPS.contains(&field.group) || OTHERS.contains(&(field.group, field.key)))
            && field.key != "release_request_s"
    })
}

/// Where and how the car starts, and the seed of its sensors: name, unit, range, start value, meaning.
pub(super) const STARTS: [(&str, &str, f64, f64, f64, &str); 9] = [
    (
        "speed_m_s",
        "m/s",
        -70.0,
        70.0,
        0.0,
        "Speed along the body's x axis.",
    ),
    (
        "yaw_rate_rad_s",
        "rad/s",
        -5.0,
        5.0,
        0.0,
        "Yaw rate, positive to the left.",
    ),
    ("sideslip_rad", "rad", -1.5, 1.5, 0.0, "Sideslip angle."),
    (
        "x_m",
        "m",
        -1.0e6,
        1.0e6,
        0.0,
        "Place along the world's x axis.",
    ),
    (
        "y_m",
        "m",
        -1.0e6,
        1.0e6,
        0.0,
        "Place along the world's y axis.",
    ),
    ("heading_rad", "rad", -100.0, 100.0, 0.0, "Heading."),
    (
        "steering_wheel_rad",
        "rad",
        -20.0,
        20.0,
        0.0,
        "Steering-wheel angle, positive to the left.",
    ),
    (
        "carrier_torque_nm",
        "N m",
        -3000.0,
        12000.0,
        0.0,
        "Torque at the front differential's carrier.",
    ),
    (
        "seed",
        "-",
        0.0,
        9_007_199_254_740_991.0,
        0.0,
        "Seed of the sensors' noise, a whole number.",
    ),
];

fn of_the_car() -> Vec<Variable> {
    let mut all: Vec<Variable> = CONTROLS
        .iter()
        .map(|&(name, unit, low, high, meaning)| Variable {
            name: name.to_owned(),
            unit,
            meaning: meaning.to_owned(),
            causality: Causality::Input,
            low,
            high,
            start: 0.0,
        })
        .collect();
    all.extend(readings(Causality::Output));
    all.extend(TRUTH.iter().map(|&(name, unit, meaning, _)| Variable {
        name: format!("truth.{name}"),
        unit,
        meaning: meaning.to_owned(),
        causality: Causality::Output,
        low: f64::MIN,
        high: f64::MAX,
        start: 0.0,
    }));
    let parameter =
        |name: String, unit, meaning: String, (low, high): (f64, f64), start| Variable {
            name,
            unit,
            meaning,
            causality: Causality::Parameter,
            low,
            high,
            start,
        };
    all.extend(STARTS.map(|(key, unit, low, high, start, meaning)| {
        parameter(
            format!("start.{key}"),
            unit,
            meaning.to_owned(),
            (low, high),
            start,
        )
    }));
    all.extend(scenario_numbers().map(|field| {
        parameter(
            format!("{}.{}", field.group, field.key),
            field.unit,
            field.meaning.trim().to_owned(),
            (field.low, field.high),
            field.default,
        )
    }));
    all.extend(Vehicle::FIELDS.iter().map(|field| {
        parameter(
            format!("vehicle.{}.{}", field.group, field.key),
            field.unit,
            field.meaning.trim().to_owned(),
            (field.low, field.high),
            field.default,
        )
    }));
    all
}
