//! One run: scenario, vehicle and calibration in; record, outcome and metrics out.
//!
//! Order of exchange in every control step of 5 ms, for all layouts:
//! 1. the plant's truth at this instant is observed;
//! 2. the driver acts on it;
//! 3. the powertrain turns the pedal into a torque request, kept down by the front-spin governor;
//! 4. the sensors measure; faults spoil it; the axle control steps on what arrives and gives currents, which faults spoil too;
//! 5. one row is recorded;
//! 6. the plant makes five steps of 1 ms under these commands.
//!
//! Everything a run needs is a value; the record is never read back.

pub mod axle_control;
pub mod brake_control;
pub mod closed_loop;
pub mod energy;
pub mod injection;
pub mod law;
pub mod powertrain_control;

use crate::manoeuvre;
use crate::metrics::{self, Metric};
use crate::plant::Vehicle;
use crate::record::Record;
use crate::scenario::Scenario;
use energy::EnergyAccount;
use law::Rule;

/// Control period, s.
pub const PERIOD_S: f64 = 0.005;

/// Why a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// The longest time was over.
    TimeOver,
    /// The manoeuvre reached its goal.
    GoalReached,
    /// The car left its path.
    LeftPath,
    /// The car turned away from its direction of travel.
    Spun,
    /// The car rolled back.
    RolledBack,
    /// The car made no way.
    Stuck,
    /// The car could not reach the speed asked for any more.
    NoMoreSpeed,
    /// A number stopped being finite.
    NotFinite,
}

impl std::fmt::Display for Ending {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::TimeOver => "time over",
            Self::GoalReached => "goal reached",
            Self::LeftPath => "left the path",
            Self::Spun => "spun",
            Self::RolledBack => "rolled back",
            Self::Stuck => "stuck",
            Self::NoMoreSpeed => "no more speed",
            Self::NotFinite => "a number was not finite",
        })
    }
}

/// How a run ended, when, and who said so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunOutcome {
    /// Why it ended.
    pub ended: Ending,
    /// When, s after the record began.
    pub at_s: f64,
    /// Who ended it.
    pub by: &'static str,
    /// Whether the plant's energies added up.
    pub energy: EnergyAccount,
}

/// A finished run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunResult {
    /// What was recorded.
    pub record: Record,
    /// How it ended.
    pub outcome: RunOutcome,
    /// What the manoeuvre found out beforehand, then characteristic values from the record alone.
    pub metrics: Vec<Metric>,
}

/// The car as a scenario drives it: loaded, and seen in a mirror where the scenario is.
pub fn driven(scenario: &Scenario, vehicle: &Vehicle) -> Vehicle {
    let loaded = scenario.loaded(vehicle);
    if scenario.mirrored {
        loaded.mirrored()
    } else {
        loaded
    }
}

/// Runs a scenario.
///
/// # Panics
/// If the page is not acceptable: pages are checked where they are read.
pub fn run<'a>(scenario: &Scenario, vehicle: &Vehicle, rule: impl Into<Rule<'a>>) -> RunResult {
    run_by(scenario, vehicle, rule.into(), closed_loop::drive)
}

/// Runs a scenario with a relay between the car's messages and the axle control; the lead is relayed too. `make` makes the
/// relay when the lead's length, s, is known.
///
/// # Panics
/// As [`run`].
pub fn run_relayed<R: closed_loop::Relay>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'_>,
    make: impl FnOnce(f64) -> R,
) -> (RunResult, Option<R>) {
    let mut made = None;
    let result = run_by(scenario, vehicle, rule, |scenario, vehicle, rule, setup| {
        let relay = made.insert(make(setup.lead_s));
        closed_loop::drive_relayed(scenario, vehicle, rule, setup, relay)
    });
    (result, made)
}

fn run_by<'a>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'a>,
    drive: impl FnOnce(&Scenario, &Vehicle, Rule<'a>, manoeuvre::Setup) -> (Record, RunOutcome),
) -> RunResult {
    let vehicle = driven(scenario, vehicle);
    let setup = manoeuvre::prepare(scenario, &vehicle, rule);
    let mut metrics = setup.found.clone();
    let (record, outcome) = drive(scenario, &vehicle, rule, setup);
    metrics.extend(metrics::evaluate(
        scenario.manoeuvre,
        &scenario.numbers,
        &record,
    ));
    metrics.extend(metrics::evaluate_with_wheelbase(
        scenario.manoeuvre,
        vehicle.body.wheelbase_m,
        &record,
    ));
    RunResult {
        record,
        outcome,
        metrics,
    }
}
