//! Brakes applied in a steady turn, in the manner of ISO 7975.
//!
//! Constant radius; the car settles at the lateral acceleration aimed at; at the action the hands hold still, the
//! accelerator closes and the brake goes to one position within 0.15 s. (R 100 m, 5 m/s2, brake onset as a step, a ladder of
//! decelerations: ISO 7975:2019, from memory.) The position is the data sheet's for the mean deceleration aimed at,
//! corrected beforehand by trial runs with the same car and control; where friction does not allow it, it stays at what the
//! trials asked last.

use super::{Setup, lift_off};
use crate::metrics::{turn_change, value};
use crate::plant::Vehicle;
use crate::run::closed_loop;
use crate::run::law::Rule;
use crate::scenario::{Scenario, SensorNumbers};

/// Corrections of the brake position by trial runs.
const CORRECTIONS: u32 = 2;

/// A trial that slows less than this share of the aim is on the limit of friction: more brake would only lock wheels.
const BELIEVED: f64 = 0.85;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle, rule: Rule<'_>) -> Setup {
    let aim_m_s2 = scenario.numbers.course.deceleration_m_s2;
    let overrun_nm = vehicle.powertrain.drag_torque_nm;
    let mut brake = position_for(vehicle, aim_m_s2, overrun_nm).clamp(0.0, 1.0);
    let mut trial = scenario.clone();
    // Without noise: the size of the input is part of the procedure, not of the sensors.
    trial.numbers.sensors = SensorNumbers::ideal();
    for _ in 0..CORRECTIONS {
        let setup = lift_off::released_and_braked(&trial, vehicle, brake);
        let (record, _) = closed_loop::drive(&trial, vehicle, rule, setup);
        let metrics = turn_change::braking(&trial.numbers, &record);
        match value(&metrics, "mean deceleration") {
            Some(reached) if reached > BELIEVED * aim_m_s2 => {
                let missing = position_for(vehicle, aim_m_s2 - reached, 0.0);
                brake = (brake + missing).clamp(0.0, 1.0);
            }
            _ => break,
        }
    }
    lift_off::released_and_braked(scenario, vehicle, brake)
}

/// Brake position that gives a deceleration beside the powertrain's own drag, by the data sheet: the brakes of one front
/// wheel and half as much of one rear wheel, twice.
fn position_for(vehicle: &Vehicle, deceleration_m_s2: f64, overrun_nm: f64) -> f64 {
    let needed_nm =
        deceleration_m_s2 * vehicle.body.mass_kg * vehicle.tyre_front.radius_m - overrun_nm;
    needed_nm / (3.0 * vehicle.brakes.maximum_torque_nm).max(1.0)
}
