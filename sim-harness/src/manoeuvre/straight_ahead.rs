//! Straight ahead with the steering wheel held still, at constant speed or under power.
//!
//! Nobody corrects: whatever the axle does to the car's line is seen in full. The foot holds the speed, or raises it
//! evenly so that the car has `speed_m_s` at the action. Drift of a straight run with fixed control: common practice of
//! straight-line stability tests, no source.

use super::{Goal, Setup};
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::run::powertrain_control::{asked_nm, available_nm};
use crate::scenario::Scenario;

/// Time the foot needs to find its place, s.
const LEAD_S: f64 = 4.0;

/// Standard gravity, m/s2 (ISO 80000-3).
const GRAVITY_M_S2: f64 = 9.806_65;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let rise_m_s2 = numbers.course.speed_rise_m_s2;
    let start_m_s =
        (numbers.course.speed_m_s - rise_m_s2 * (LEAD_S + numbers.driver.action_s)).max(0.0);
    let torque_nm = needed_nm(vehicle, start_m_s, rise_m_s2);
    let carrier_rad_s = start_m_s / vehicle.tyre_front.radius_m;
    let closed_nm = asked_nm(vehicle, 0.0, carrier_rad_s);
    let pedal = ((torque_nm - closed_nm) / (available_nm(vehicle, carrier_rad_s) - closed_nm))
        .clamp(0.0, 1.0);
    Setup {
        start: Start {
            speed_m_s: start_m_s,
            carrier_torque_nm: torque_nm,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: None,
        driver: Box::new(HoldingStill {
            holder: SpeedHolder::starting_at(pedal),
            speed_m_s: numbers.course.speed_m_s,
            rise_m_s2,
            action_s: numbers.driver.action_s,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

/// Torque at the carrier for an even rise of speed, Nm: inertia, air and rolling resistance.
fn needed_nm(vehicle: &Vehicle, speed_m_s: f64, rise_m_s2: f64) -> f64 {
    let body = &vehicle.body;
    let air_n = 0.5 * body.air_density_kg_m3 * body.drag_area_m2 * speed_m_s * speed_m_s;
    let rolling_n = body.rolling_resistance * body.mass_kg * GRAVITY_M_S2;
    (body.mass_kg * rise_m_s2 + air_n + rolling_n) * vehicle.tyre_front.radius_m
}

struct HoldingStill {
    holder: SpeedHolder,
    speed_m_s: f64,
    rise_m_s2: f64,
    action_s: f64,
}

impl Driver for HoldingStill {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let wanted = self.speed_m_s + self.rise_m_s2 * (view.time_s - self.action_s);
        Action {
            steering_wheel_rad: 0.0,
            pedal: self.holder.pedal(view.car.speed_m_s, wanted, period_s),
            brake: 0.0,
        }
    }
}
