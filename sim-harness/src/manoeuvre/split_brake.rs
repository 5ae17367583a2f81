//! Full brake from a straight run with one side of the road slippery, forwards or backwards.
//!
//! The car settles at its speed; at the action the accelerator closes and the brake goes to its aim, while hands keep the
//! car on the line between the two surfaces. Ends at standstill. Procedures of split-friction braking are in ISO 14512;
//! the numbers here are chosen.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{DriverNumbers, Scenario};

/// Road-wheel angle per yaw rate of a driver who expects to be pulled aside, s.
const HOLDS_NOSE_S: f64 = 0.25;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let direction = scenario.direction();
    let hands = PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio);
    Setup {
        start: Start {
            speed_m_s: direction * numbers.course.speed_m_s,
            carrier_torque_nm: direction * 150.0,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(if direction < 0.0 {
            Course::straight_behind(400.0)
        } else {
            Course::straight(800.0)
        }),
        driver: Box::new(Stopping {
            hands: if direction < 0.0 {
                hands.backwards(vehicle.rear_axle_m())
            } else {
                hands.steadying(HOLDS_NOSE_S)
            },
            holder: SpeedHolder::starting_at(0.2),
            accelerator: Foot {
                rise_s: 0.3,
                fall_s: numbers.driver.pedal_fall_s,
                pedal: 0.0,
            },
            brake: Foot {
                rise_s: 0.2,
                fall_s: 0.2,
                pedal: 0.0,
            },
            speed_m_s: numbers.course.speed_m_s,
            numbers: numbers.driver,
        }),
        lead_s: 1.5,
        goal: Goal::Standstill,
        record_every: 1,
        found: Vec::new(),
    }
}

struct Stopping {
    hands: PathFollower,
    holder: SpeedHolder,
    accelerator: Foot,
    brake: Foot,
    speed_m_s: f64,
    numbers: DriverNumbers,
}

impl Driver for Stopping {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let steering_wheel_rad = self.hands.steer(view, period_s);
        let stops = view.time_s >= self.numbers.action_s;
        let pedal = if stops {
            self.accelerator.towards(0.0, period_s)
        } else {
            let driven_m_s = self.numbers.direction() * view.car.speed_m_s;
            self.accelerator.pedal = self.holder.pedal(driven_m_s, self.speed_m_s, period_s);
            self.accelerator.pedal
        };
        let aim = if stops { self.numbers.brake } else { 0.0 };
        Action {
            steering_wheel_rad,
            pedal,
            brake: self.brake.towards(aim, period_s),
        }
    }
}
