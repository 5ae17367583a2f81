//! Sudden steering input at constant speed, in the manner of ISO 7401.
//!
//! The size of the input is found first, with the same car and control, by turning the wheel slowly at constant speed
//! until the lateral acceleration aimed at is reached, then corrected by trial steps to what settles; then it is applied within 0.12 s (ISO 7401:2011: 10 to 90 % in at
//! most 0.15 s; from memory) while the speed is held.

use super::{Goal, Setup, side};
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::metrics::transient::step_steer;
use crate::metrics::value;
use crate::plant::{Start, Vehicle};
use crate::run::closed_loop;
use crate::run::law::Rule;
use crate::scenario::Scenario;

/// Time from nothing to the whole input, s.
const RAMP_S: f64 = 0.12;

/// Steering rate of the slow search, rad/s at the steering wheel.
const SEARCH_RATE_RAD_S: f64 = 0.12;

/// Corrections of the size by trial steps: the slow search reads the angle late by the car's own lag.
const CORRECTIONS: u32 = 2;

/// Time the car rolls straight before the record, s.
const LEAD_S: f64 = 2.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle, rule: Rule<'_>) -> Setup {
    let mut size_rad = steering_for(scenario, vehicle, rule);
    let mut trial = scenario.clone();
    trial.numbers.sensors = crate::scenario::SensorNumbers::ideal();
    let aim = scenario.numbers.course.lateral_acceleration_m_s2;
    for _ in 0..CORRECTIONS {
        let input = Input::Step {
            at_s: trial.numbers.driver.action_s,
            size_rad,
        };
        let (record, _) = closed_loop::drive(&trial, vehicle, rule, setup(&trial, input));
        match value(&step_steer(&record), "steady lateral acceleration") {
            Some(reached) if reached > 0.1 * aim => size_rad *= aim / reached,
            _ => break,
        }
    }
    setup(
        scenario,
        Input::Step {
            at_s: scenario.numbers.driver.action_s,
            size_rad,
        },
    )
}

fn setup(scenario: &Scenario, input: Input) -> Setup {
    let speed_m_s = scenario.numbers.course.speed_m_s;
    Setup {
        start: Start {
            speed_m_s,
            carrier_torque_nm: 200.0,
            ambient_degc: scenario.numbers.road.ambient_degc,
            ..Start::default()
        },
        course: None,
        driver: Box::new(Stepping {
            holder: SpeedHolder::starting_at(0.08),
            speed_m_s,
            input,
            side: side(scenario),
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

/// Steering-wheel angle, rad, that gives the lateral acceleration aimed at when reached slowly.
fn steering_for(scenario: &Scenario, vehicle: &Vehicle, rule: Rule<'_>) -> f64 {
    let mut slow = scenario.clone();
    // Without noise: the size of the input is part of the procedure, not of the sensors.
    slow.numbers.sensors = crate::scenario::SensorNumbers::ideal();
    let aim = scenario.numbers.course.lateral_acceleration_m_s2 as f32;
    let mut last = 0.0;
    // Most cars are there within the short time, which spares two thirds of the search; the answer is the same.
    for longest_s in [8.0, 25.0] {
        slow.numbers.course.longest_s = longest_s;
        let (record, _) = closed_loop::drive(&slow, vehicle, rule, setup(&slow, Input::Slow));
        let lateral = record.column("lateral_acceleration").unwrap_or_default();
        let angle = record.column("steering_wheel_angle").unwrap_or_default();
        if let Some(index) = lateral.iter().position(|value| value.abs() >= aim) {
            return f64::from(angle[index].abs());
        }
        last = f64::from(angle.last().copied().unwrap_or(0.0).abs());
    }
    last
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Input {
    Slow,
    Step { at_s: f64, size_rad: f64 },
}

struct Stepping {
    holder: SpeedHolder,
    speed_m_s: f64,
    input: Input,
    side: f64,
}

impl Driver for Stepping {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let size = match self.input {
            Input::Slow => SEARCH_RATE_RAD_S * view.time_s.max(0.0),
            Input::Step { at_s, size_rad } => {
                size_rad * ((view.time_s - at_s) / RAMP_S).clamp(0.0, 1.0)
            }
        };
        Action {
            steering_wheel_rad: self.side * size,
            pedal: self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s),
            brake: 0.0,
        }
    }
}
