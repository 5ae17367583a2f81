//! Drives with one fault of the fault matrix each: what the law is told while a sensor, a valve or a clutch is broken.
//!
//! Out: scenarios, each a cornering exit under power with one single fault from the matrix's onset on. Chosen so that every kind of fault
//! is there: two sensors and the powertrain's torque, one valve, one clutch. A wrong request of the first channel is no input, so it
//! cannot be replayed and is not here.

use crate::fault::{Fault, Place};
use crate::fault_matrix::{ONSET_S, list};
use crate::run::PERIOD_S;
use crate::scenario::Scenario;

/// Places whose faults are driven.
const PLACES: [&str; 5] = [
    "wheel_speed_rear_left",
    "yaw_rate",
    "carrier_torque",
    "current_left",
    "clutch_left",
];

/// Beginning of the names of these sequences.
pub const MARK: &str = "fault-";

/// Time after the onset that is kept, s.
const AFTER_S: f64 = 1.5;

/// Steps of a drive with a fault: the lead, the time to the onset, and what follows it.
pub(super) fn steps(lead_s: f64) -> usize {
    ((lead_s + ONSET_S + AFTER_S) / PERIOD_S) as usize
}

/// A drive with each chosen fault; names are `fault-PLACE-KIND`.
pub fn faulty(sound: &Scenario) -> Vec<Scenario> {
    let chosen = |fault: &Fault| {
        !matches!(fault.place, Place::Request { .. }) && PLACES.contains(&fault.place.name())
    };
    list::single()
        .into_iter()
        .filter(chosen)
        .map(|fault| Scenario {
            name: format!(
                "{MARK}{}-{}",
                fault.place.name().replace('_', "-"),
                fault.kind.name()
            ),
            faults: vec![fault],
            ..sound.clone()
        })
        .collect()
}
