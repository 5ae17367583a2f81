//! Constant radius with slowly rising speed, in the manner of ISO 4138 method 1.
//!
//! The driver keeps the path and follows a speed that rises in a straight line until the car leaves the path or cannot
//! follow any more. (Method list of ISO 4138:2021 from memory.)

use super::course::Course;
use super::{Goal, Setup, turning_start};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::Vehicle;
use crate::scenario::Scenario;

/// A circle changes slowly: 20 samples a second tell everything.
const RECORD_EVERY: u32 = 10;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let course = &scenario.numbers.course;
    let circle = Course::circle(course.radius_m);
    let start = turning_start(scenario, vehicle, course.speed_m_s, 1.0 / course.radius_m);
    Setup {
        start,
        course: Some(super::on_its_side(scenario, circle)),
        driver: Box::new(Circling {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio)
                .turned(start.steering_wheel_rad),
            holder: SpeedHolder::starting_at(0.05),
            first_m_s: course.speed_m_s,
            rise_m_s2: course.speed_rise_m_s2,
        }),
        lead_s: 5.0,
        goal: Goal::Limit {
            first_m_s: course.speed_m_s,
            rise_m_s2: course.speed_rise_m_s2,
        },
        record_every: RECORD_EVERY,
        found: Vec::new(),
    }
}

struct Circling {
    hands: PathFollower,
    holder: SpeedHolder,
    first_m_s: f64,
    rise_m_s2: f64,
}

impl Driver for Circling {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let wanted = self.first_m_s + self.rise_m_s2 * view.time_s.max(0.0);
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal: self.holder.pedal(view.car.speed_m_s, wanted, period_s),
            brake: 0.0,
        }
    }
}
