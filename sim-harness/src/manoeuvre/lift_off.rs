//! Accelerator released in a steady turn, in the manner of ISO 9816.
//!
//! Constant radius; the car settles at the lateral acceleration aimed at; at the action the hands hold still and the
//! accelerator closes. ISO 9816:2018 asks for a ladder of runs that starts at about 4 m/s2 and rises by at most 1 m/s2
//! (clause 8.2.1): [`Scenario::ladder`] gives it. (Values one and two seconds after: from memory.)

use super::course::Course;
use super::{Goal, Setup, turning_start};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::plant::Vehicle;
use crate::scenario::{DriverNumbers, Scenario};

/// Time the car settles in the turn, s.
const LEAD_S: f64 = 10.0;

/// Time over which the steering angle to hold is averaged, s.
const AVERAGE_S: f64 = 1.0;

/// Time from no brake to the position aimed at, s: a quick foot; chosen.
const BRAKE_RISE_S: f64 = 0.15;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    released_and_braked(scenario, vehicle, 0.0)
}

/// The same turn and release, with the brake going to a position besides.
pub(super) fn released_and_braked(scenario: &Scenario, vehicle: &Vehicle, brake: f64) -> Setup {
    let course = &scenario.numbers.course;
    let speed_m_s = libm::sqrt(course.lateral_acceleration_m_s2 * course.radius_m);
    let circle = Course::circle(course.radius_m);
    let start = turning_start(scenario, vehicle, speed_m_s, 1.0 / course.radius_m);
    Setup {
        start,
        course: Some(super::on_its_side(scenario, circle)),
        driver: Box::new(LiftingOff {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio)
                .turned(start.steering_wheel_rad),
            holder: SpeedHolder::starting_at(0.2),
            foot: Foot {
                rise_s: 0.3,
                fall_s: scenario.numbers.driver.pedal_fall_s,
                pedal: 0.0,
            },
            brake: Foot {
                rise_s: BRAKE_RISE_S / brake.max(0.01),
                fall_s: BRAKE_RISE_S,
                pedal: 0.0,
            },
            brake_aim: brake,
            speed_m_s,
            numbers: scenario.numbers.driver,
            held_rad: 0.0,
            summed: 0,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct LiftingOff {
    hands: PathFollower,
    holder: SpeedHolder,
    foot: Foot,
    brake: Foot,
    brake_aim: f64,
    speed_m_s: f64,
    numbers: DriverNumbers,
    held_rad: f64,
    summed: u32,
}

impl Driver for LiftingOff {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        if view.time_s < self.numbers.action_s {
            let steering_wheel_rad = self.hands.steer(view, period_s);
            if view.time_s >= self.numbers.action_s - AVERAGE_S {
                self.held_rad += steering_wheel_rad;
                self.summed += 1;
            }
            self.foot.pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            return Action {
                steering_wheel_rad,
                pedal: self.foot.pedal,
                brake: 0.0,
            };
        }
        Action {
            steering_wheel_rad: self.held_rad / f64::from(self.summed.max(1)),
            pedal: self.foot.towards(0.0, period_s),
            brake: self.brake.towards(self.brake_aim, period_s),
        }
    }
}
