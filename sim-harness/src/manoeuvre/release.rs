//! Under power, then full brake or a request of the car's brake control: how soon the axle lets go.
//!
//! Straight ahead the accelerator stands at its aim from the start. With a brake aimed at, the driver changes over to it
//! once the action's time is past and the speed of the course is reached, so that every car brakes from the same speed,
//! and the run ends at standstill. With `brake` 0 the accelerator stays: then `assist.release_request_s` asks for release
//! under full torque, the hardest case. Chosen, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::Foot;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{DriverNumbers, Scenario};

/// The car starts slower than the speed at which the driver brakes, m/s.
const RUN_UP_M_S: f64 = 4.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    Setup {
        start: Start {
            speed_m_s: (numbers.course.speed_m_s - RUN_UP_M_S).max(0.0),
            carrier_torque_nm: 200.0,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(Course::straight(1500.0)),
        driver: Box::new(LettingGo {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio),
            accelerator: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: numbers.driver.pedal_fall_s,
                pedal: 0.2,
            },
            brake: Foot {
                rise_s: 0.2,
                fall_s: 0.2,
                pedal: 0.0,
            },
            brakes: false,
            speed_m_s: numbers.course.speed_m_s,
            numbers: numbers.driver,
        }),
        lead_s: 0.2,
        goal: if numbers.driver.brake > 0.0 {
            Goal::Standstill
        } else {
            Goal::None
        },
        record_every: 1,
        found: Vec::new(),
    }
}

struct LettingGo {
    hands: PathFollower,
    accelerator: Foot,
    brake: Foot,
    brakes: bool,
    speed_m_s: f64,
    numbers: DriverNumbers,
}

impl Driver for LettingGo {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let there = view.time_s >= self.numbers.action_s && view.car.speed_m_s >= self.speed_m_s;
        self.brakes |= self.numbers.brake > 0.0 && there;
        let (pedal, brake) = if self.brakes {
            (0.0, self.numbers.brake)
        } else {
            (self.numbers.pedal, 0.0)
        };
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal: self.accelerator.towards(pedal, period_s),
            brake: self.brake.towards(brake, period_s),
        }
    }
}
