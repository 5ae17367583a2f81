//! A slippery stretch in a turn at constant accelerator.
//!
//! A person follows the road of [`friction_step_road`]. The speed is held in the turn; 20 m before the
//! slippery stretch the foot stops moving, at the mean pedal of the last second, until the end: what happens then is the
//! axle's and the hands' doing. Own procedure, common practice, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::human::Human;
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{Scenario, friction_step_road};

/// Way before the slippery stretch at which the foot stops moving, m.
const STILL_M: f64 = 20.0;

/// Time constant of the mean pedal, s.
const MEAN_S: f64 = 1.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let speed_m_s = scenario.numbers.course.speed_m_s;
    let course = Course::along(friction_step_road::road());
    Setup {
        start: Start {
            speed_m_s,
            ambient_degc: scenario.numbers.road.ambient_degc,
            carrier_torque_nm: 150.0,
            ..Start::default()
        },
        course: Some(super::on_its_side(scenario, course)),
        driver: Box::new(Crossing {
            hands: Human::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio),
            holder: SpeedHolder::starting_at(0.2),
            pedal: 0.2,
            speed_m_s,
        }),
        lead_s: 0.0,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct Crossing {
    hands: Human,
    holder: SpeedHolder,
    pedal: f64,
    speed_m_s: f64,
}

impl Driver for Crossing {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let distance_m = view.place.map_or(0.0, |place| place.distance_m);
        let mut pedal = self.pedal;
        if distance_m < friction_step_road::SLIPPERY_FROM_M - STILL_M {
            pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            self.pedal += (pedal - self.pedal) * period_s / MEAN_S;
        }
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal,
            brake: 0.0,
        }
    }
}
