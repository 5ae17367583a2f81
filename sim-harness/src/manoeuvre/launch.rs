//! Start from rest with one side of the road slippery.
//!
//! The brake holds the car until the action, then opens while the accelerator rises; hands keep the car on the line
//! between the two surfaces. In reverse gear the same backwards, uphill too. Ends at 20 km/h, when the car rolls back, or when the time is over. Common practice of
//! split-friction launch tests, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::Foot;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{DriverNumbers, LAUNCH_GOAL_M_S, Scenario};

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let reverse = scenario.direction() < 0.0;
    let hands = PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio);
    Setup {
        start: Start {
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(if reverse {
            Course::straight_behind(200.0)
        } else {
            Course::straight(200.0)
        }),
        driver: Box::new(Launching {
            hands: if reverse {
                hands.backwards(vehicle.rear_axle_m())
            } else {
                hands
            },
            accelerator: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: 0.2,
                pedal: 0.0,
            },
            brake: Foot {
                rise_s: 0.2,
                fall_s: 0.25,
                pedal: 0.5,
            },
            numbers: numbers.driver,
        }),
        lead_s: 0.5,
        goal: Goal::Speed {
            speed_m_s: LAUNCH_GOAL_M_S,
        },
        record_every: 1,
        found: Vec::new(),
    }
}

struct Launching {
    hands: PathFollower,
    accelerator: Foot,
    brake: Foot,
    numbers: DriverNumbers,
}

impl Driver for Launching {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let go = view.time_s >= self.numbers.action_s;
        let pedal = self
            .accelerator
            .towards(if go { self.numbers.pedal } else { 0.0 }, period_s);
        // The brake opens once the powertrain pulls, as anybody does on a hill.
        let pulls = self.numbers.direction() * view.car.carrier_torque_nm > 300.0;
        let brake = self
            .brake
            .towards(if go && pulls { 0.0 } else { 0.5 }, period_s);
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal,
            brake,
        }
    }
}
