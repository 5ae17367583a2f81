//! Moving off and walking pace at full steering lock, as in and out of a parking space.
//!
//! The brake holds the car until the action, then opens; the foot raises and holds the speed of the course, pressing no
//! further than its largest position; hands keep full lock to the left (right in the mirror). Common practice, no source.

use super::{Goal, Setup, side};
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{DriverNumbers, Scenario};

/// Accelerator at which the demo powertrain just begins to pull.
const READY_PEDAL: f64 = 0.17;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let steering_wheel_rad = side(scenario) * vehicle.steering.lock_rad;
    Setup {
        start: Start {
            steering_wheel_rad,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: None,
        driver: Box::new(Parking {
            holder: SpeedHolder::starting_at(READY_PEDAL),
            accelerator: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: 0.2,
                pedal: 0.0,
            },
            brake: Foot {
                rise_s: 0.2,
                fall_s: 0.25,
                pedal: 0.3,
            },
            speed_m_s: numbers.course.speed_m_s,
            steering_wheel_rad,
            numbers: numbers.driver,
        }),
        lead_s: 0.5,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct Parking {
    holder: SpeedHolder,
    accelerator: Foot,
    brake: Foot,
    speed_m_s: f64,
    steering_wheel_rad: f64,
    numbers: DriverNumbers,
}

impl Driver for Parking {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let go = view.time_s >= self.numbers.action_s;
        let driven_m_s = self.numbers.direction() * view.car.speed_m_s;
        let aim = if go {
            self.holder
                .pedal(driven_m_s, self.speed_m_s, period_s)
                .min(self.numbers.pedal)
        } else {
            0.0
        };
        Action {
            steering_wheel_rad: self.steering_wheel_rad,
            pedal: self.accelerator.towards(aim, period_s),
            brake: self.brake.towards(if go { 0.0 } else { 0.3 }, period_s),
        }
    }
}
