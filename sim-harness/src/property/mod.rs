//! Properties: what must hold in every drive, as a signed measure over its records.
//!
//! In: [`Seen`], a finished drive with what the law was told and what it gave in every step. Out: a measure after the manner
//! of the robustness of signal temporal logic (Fainekos and Pappas 2009, Donze and Maler 2010, from memory): above zero the
//! property holds, by how much; below zero it is violated; nothing where the drive says nothing about it. Every measure is
//! divided by its own limit or a stated size, so that one search serves all. "Always" is the least over the samples,
//! "within" the best over a window, least over its causes. A property of a user's own is another [`Property`]; the law is
//! never asked about itself except where a property says that it goes by the trace.

mod bounds;
mod motion;
mod orders;
pub mod rows;

use crate::metrics::Metric;
use crate::plant::Vehicle;
use crate::record::{Channel, Parity, Record};
use crate::run::axle_control::AxleControl;
use crate::run::closed_loop::drive_watched;
use crate::run::law::Rule;
use crate::run::{PERIOD_S, RunOutcome, driven};
use crate::scenario::Scenario;
use crate::{manoeuvre, metrics};
use couplet_controller::signal::inputs::{INPUT_SIGNALS, Status};
use couplet_controller::{Inputs, Outputs, RawPage};

/// A finished drive.
#[derive(Debug)]
pub struct Seen<'a> {
    /// What was driven.
    pub scenario: &'a Scenario,
    /// The calibration page.
    pub page: &'a RawPage,
    /// The car and, where the law has one, its trace.
    pub record: Record,
    /// What the law was told (a missing value is no number) and gave, step by step from the start of the record.
    pub law: Record,
    /// How it ended.
    pub outcome: RunOutcome,
    /// Characteristic values.
    pub metrics: Vec<Metric>,
}

/// The second drive a property compares with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// None.
    Nothing,
    /// The same seen in a mirror.
    Twin,
    /// The same without faults.
    Sound,
    /// The same with the clutches ordered open.
    Open,
}

/// A property.
#[derive(Debug, Clone, Copy)]
pub struct Property {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it promises.
    pub meaning: &'static str,
    /// The second drive it needs.
    pub beside: Beside,
    /// Whether it must hold with faults too.
    pub with_faults: bool,
    /// Faults that must happen before it says anything, `place` or `place/kind`; the search tries these more often.
    pub about: &'static [&'static str],
    /// The signed measure of a drive and of the second one.
    pub measure: fn(&Seen<'_>, Option<&Seen<'_>>) -> Option<f64>,
}

/// Every shipped property.
pub const ALL: [Property; 24] = [
    bounds::NUMBERS,
    bounds::CAPACITY,
    bounds::CURRENT,
    bounds::RISE,
    bounds::CEILING,
    bounds::PROPSHAFT,
    bounds::CHATTER,
    bounds::COOL,
    orders::OPEN_NOW,
    orders::BRAKES,
    orders::SUM_CAP,
    orders::YAW_CAP,
    orders::HEALTH_OPEN,
    orders::LOST_ORDER,
    orders::EVEN_WHEN_UNKNOWN,
    motion::SIGN_REMEMBERED,
    motion::TORQUE_AS_SAID,
    motion::MOMENT_HELPS,
    motion::KEPT_IN_OVERSTEER,
    motion::STEADIER_THAN_OPEN,
    motion::NOTHING_LEFT_OVER,
    motion::WIND_UP,
    motion::FAULT_DRIFT,
    motion::MIRROR,
];

/// The property of that name.
pub fn named(name: &str) -> Option<&'static Property> {
    ALL.iter().find(|property| property.name == name)
}

/// Drives a scenario and sees everything.
///
/// # Panics
/// If the page is not acceptable: pages are checked where they are read.
pub fn see<'a>(scenario: &'a Scenario, vehicle: &Vehicle, rule: Rule<'a>) -> Seen<'a> {
    let car = driven(scenario, vehicle);
    let setup = manoeuvre::prepare(scenario, &car, rule);
    let mut law = Record::new(PERIOD_S, law_channels());
    let mut row = Vec::new();
    let mut watch = |time_s: f64, inputs: &Inputs, control: &AxleControl| {
        if time_s >= -0.5 * PERIOD_S {
            row.clear();
            law_row(inputs, control.outputs(), &mut row);
            law.push(&row);
        }
    };
    let (record, outcome) = drive_watched(scenario, &car, rule, setup, &mut watch);
    let metrics = metrics::evaluate(scenario.manoeuvre, &scenario.numbers, &record);
    Seen {
        scenario,
        page: rule.page,
        record,
        law,
        outcome,
        metrics,
    }
}

/// The measure of a scenario: drives it, and the second one where the property needs it.
///
/// # Panics
/// If the page is not acceptable: pages are checked where they are read.
pub fn measure(
    property: &Property,
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'_>,
) -> Option<f64> {
    let seen = see(scenario, vehicle, rule);
    let mut other = scenario.clone();
    match property.beside {
        Beside::Nothing => return (property.measure)(&seen, None),
        Beside::Twin => other.mirrored = !other.mirrored,
        Beside::Sound => other.faults.clear(),
        Beside::Open => other.numbers.assist.order_open = 1.0,
    }
    let beside = see(&other, vehicle, rule);
    (property.measure)(&seen, Some(&beside))
}

/// What the law gives, by name in [`Seen::law`].
const GIVEN: [&str; 10] = [
    "given_capacity_left",
    "given_capacity_right",
    "given_torque_left",
    "given_torque_right",
    "given_current_left",
    "given_current_right",
    "given_heat_ceiling_left",
    "given_heat_ceiling_right",
    "given_health",
    "given_faults",
];

fn law_channels() -> Vec<Channel> {
    let told = INPUT_SIGNALS
        .iter()
        .map(|signal| (signal.name, signal.unit));
    let given = GIVEN.iter().map(|name| (*name, "-"));
    let channel = |(name, unit)| Channel {
        name,
        unit,
        parity: Parity::Even,
    };
    told.chain(given).map(channel).collect()
}

fn law_row(inputs: &Inputs, outputs: Option<&Outputs>, row: &mut Vec<f32>) {
    row.extend(INPUT_SIGNALS.iter().map(|signal| {
        let reading = (signal.read)(inputs);
        if reading.status == Status::VALID {
            reading.value
        } else {
            f32::NAN
        }
    }));
    let given = outputs.copied().unwrap_or_default();
    row.extend([
        given.capacity_nm.left,
        given.capacity_nm.right,
        given.torque_nm.left,
        given.torque_nm.right,
        given.current_a.left,
        given.current_a.right,
        given.heat_ceiling.left,
        given.heat_ceiling.right,
        f32::from(given.health as u8),
        given.faults as f32,
    ]);
}
