//! Steering pulse with a trailer at constant speed, in the manner of ISO 9815.
//!
//! The car runs straight, the wheel is turned out and back within half a second (half a sine, sized so that held it would
//! turn the car alone with about the lateral acceleration aimed at) and then held straight while the speed is kept.
//! What is left swings by itself. (ISO 9815, damping by the decay of the articulation angle: from memory.)

use super::{Goal, Setup, side};
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::Scenario;

/// Length of the pulse, s.
const PULSE_S: f64 = 0.5;

/// Understeer assumed for the size of the pulse, rad s2/m: as for the starts in a turn.
const UNDERSTEER_RAD_S2_M: f64 = 0.0045;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let course = &scenario.numbers.course;
    let speed_m_s = course.speed_m_s;
    let lateral = course.lateral_acceleration_m_s2;
    let road_wheel_rad = vehicle.body.wheelbase_m * lateral / (speed_m_s * speed_m_s).max(1.0)
        + UNDERSTEER_RAD_S2_M * lateral;
    Setup {
        start: Start {
            speed_m_s,
            carrier_torque_nm: 300.0,
            ambient_degc: scenario.numbers.road.ambient_degc,
            ..Start::default()
        },
        course: None,
        driver: Box::new(Pulsing {
            holder: SpeedHolder::starting_at(0.12),
            speed_m_s,
            at_s: scenario.numbers.driver.action_s,
            size_rad: side(scenario) * road_wheel_rad * vehicle.steering.ratio,
        }),
        lead_s: 2.0,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct Pulsing {
    holder: SpeedHolder,
    speed_m_s: f64,
    at_s: f64,
    size_rad: f64,
}

impl Driver for Pulsing {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let share = ((view.time_s - self.at_s) / PULSE_S).clamp(0.0, 1.0);
        Action {
            steering_wheel_rad: if share < 1.0 {
                self.size_rad * libm::sin(core::f64::consts::PI * share)
            } else {
                0.0
            },
            pedal: self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s),
            brake: 0.0,
        }
    }
}
