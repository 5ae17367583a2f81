//! A slide held on a circle: thrown in with the hand brake, then held with wheel and accelerator.
//!
//! The car settles on the circle. At the action the programme begins, the same for every layout: the hand brake is pulled
//! by `HAND_BRAKE`, the accelerator stands at `PEDAL`, the wheel stays where it is, until the tail has come out to
//! `TAKES_SHARE` of the sideslip wanted or `GIVES_UP_S` are over; from there on the slide is held (see the driver). The
//! pulled hand brake orders open clutches, as cars do. Own procedure, common practice of skid pads, no source.

use super::course::Course;
use super::{Goal, Setup, side, turning_start};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::SpeedHolder;
use crate::driver::slide_holder::SlideHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::Vehicle;
use crate::scenario::Scenario;

/// Time the car settles on the circle, s.
const LEAD_S: f64 = 4.0;
/// Share of the largest brake torque with which the hand brake is pulled.
const HAND_BRAKE: f64 = 0.3;
/// Accelerator while it is pulled.
const PEDAL: f64 = 0.5;
/// Share of the sideslip at which the slide is taken over.
const TAKES_SHARE: f64 = 0.2;
/// Time after the action at which it is taken over at the latest, s.
const GIVES_UP_S: f64 = 2.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let course = &numbers.course;
    let circle = Course::circle(course.radius_m);
    let start = turning_start(scenario, vehicle, course.speed_m_s, 1.0 / course.radius_m);
    let friction = 0.5 * (numbers.road.friction_left + numbers.road.friction_right);
    Setup {
        start,
        course: Some(super::on_its_side(scenario, circle)),
        driver: Box::new(Sliding {
            path: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio)
                .turned(start.steering_wheel_rad),
            holder: SpeedHolder::starting_at(0.3),
            slide: SlideHolder::new(
                vehicle,
                numbers.driver.sideslip_deg.to_radians(),
                course.radius_m,
                friction,
                side(scenario),
            ),
            side: side(scenario),
            speed_m_s: course.speed_m_s,
            action_s: numbers.driver.action_s,
            takes_rad: TAKES_SHARE * numbers.driver.sideslip_deg.to_radians(),
            circle_rad: None,
            slides: false,
            pedal: PEDAL,
            hand_brake: 0.0,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 2,
        found: Vec::new(),
    }
}

struct Sliding {
    path: PathFollower,
    holder: SpeedHolder,
    slide: SlideHolder,
    side: f64,
    speed_m_s: f64,
    action_s: f64,
    takes_rad: f64,
    /// Steering-wheel angle on the circle, once the action has begun.
    circle_rad: Option<f64>,
    slides: bool,
    pedal: f64,
    hand_brake: f64,
}

impl Driver for Sliding {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let since_s = view.time_s - self.action_s;
        if since_s < 0.0 {
            self.pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            return Action {
                steering_wheel_rad: self.path.steer(view, period_s),
                pedal: self.pedal,
                brake: 0.0,
            };
        }
        let circle_rad = match self.circle_rad {
            Some(angle) => angle,
            None => {
                let angle = self.path.steer(view, period_s);
                self.slide.takes_over(angle, self.pedal);
                self.circle_rad = Some(angle);
                angle
            }
        };
        let sideslip = -self.side * view.car.sideslip_rad;
        self.slides |= sideslip > self.takes_rad || since_s > GIVES_UP_S;
        if self.slides {
            self.hand_brake = 0.0;
            return Action {
                steering_wheel_rad: self.slide.steer(view, period_s),
                pedal: self.slide.pedal(view, period_s),
                brake: 0.0,
            };
        }
        self.hand_brake = HAND_BRAKE;
        Action {
            steering_wheel_rad: self.slide.arms(circle_rad, period_s),
            pedal: PEDAL,
            brake: 0.0,
        }
    }

    fn hand_brake(&self) -> f64 {
        self.hand_brake
    }
}
