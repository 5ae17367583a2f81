//! Straight ahead at constant speed: what the axle costs when nothing is asked of it.
//!
//! Hands keep the line, the foot holds the speed. Nothing happens; that is the point.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::Scenario;

/// Constant speed changes slowly: 50 samples a second tell everything.
const RECORD_EVERY: u32 = 4;
/// Time in which the foot finds the position that holds the speed, s.
const LEAD_S: f64 = 10.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let course = &scenario.numbers.course;
    let length_m = (course.longest_s + 2.0 * LEAD_S) * (course.speed_m_s + 5.0);
    Setup {
        start: Start {
            speed_m_s: course.speed_m_s,
            carrier_torque_nm: 200.0,
            ambient_degc: scenario.numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(Course::straight(length_m)),
        driver: Box::new(Cruising {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio),
            holder: SpeedHolder::starting_at(0.2),
            speed_m_s: course.speed_m_s,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: RECORD_EVERY,
        found: Vec::new(),
    }
}

struct Cruising {
    hands: PathFollower,
    holder: SpeedHolder,
    speed_m_s: f64,
}

impl Driver for Cruising {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal: self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s),
            brake: 0.0,
        }
    }
}
