//! Accelerator closed, then pressed: torque changes its sign and crosses the lash.
//!
//! Straight ahead the foot holds the speed, lets go a second before the action so that the powertrain drags the car, and
//! presses at the action. Hands keep the line. Common practice of driveability tests, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{DriverNumbers, Scenario};

/// Time in which the foot finds the position that holds the speed, s.
const LEAD_S: f64 = 5.0;
/// Time with closed accelerator before the action, s.
const COAST_S: f64 = 1.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let course = &numbers.course;
    let length_m = (course.longest_s + LEAD_S) * (course.speed_m_s + 20.0);
    Setup {
        start: Start {
            speed_m_s: course.speed_m_s,
            carrier_torque_nm: 200.0,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(Course::straight(length_m)),
        driver: Box::new(TippingIn {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio),
            holder: SpeedHolder::starting_at(0.2),
            foot: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: numbers.driver.pedal_fall_s,
                pedal: 0.2,
            },
            speed_m_s: course.speed_m_s,
            numbers: numbers.driver,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct TippingIn {
    hands: PathFollower,
    holder: SpeedHolder,
    foot: Foot,
    speed_m_s: f64,
    numbers: DriverNumbers,
}

impl Driver for TippingIn {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let until_s = self.numbers.action_s - view.time_s;
        let pedal = if until_s > COAST_S {
            self.foot.pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            self.foot.pedal
        } else {
            let aim = if until_s > 0.0 {
                0.0
            } else {
                self.numbers.pedal
            };
            self.foot.towards(aim, period_s)
        };
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal,
            brake: 0.0,
        }
    }
}
