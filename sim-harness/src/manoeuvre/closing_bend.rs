//! A bend that closes: half as tight at first as it ends, on one friction.
//!
//! A person follows the middle line at the speed wanted and lifts the foot once the bend has been closing for
//! `NOTICED_S`; from there on the car rolls without accelerator through the tight part and out. Own procedure, common
//! practice, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::human::Human;
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::Scenario;

/// Straight line before the bend, as driving time, s: the foot finds the pedal that holds the speed.
const STRAIGHT_S: f64 = 5.0;
/// Way over which the wide part begins, m.
const BEGIN_M: f64 = 25.0;
/// Wide part, m.
const WIDE_M: f64 = 30.0;
/// Way over which the bend closes, m.
const CLOSING_M: f64 = 30.0;
/// Tight part, m.
const TIGHT_M: f64 = 40.0;
/// Way over which the bend opens to a straight line, m.
const OPENING_M: f64 = 30.0;
/// Straight line after it, m.
const AFTER_M: f64 = 40.0;
/// Radius of the wide part over that of the tight part.
pub const WIDER: f64 = 2.0;
/// Time in the closing part after which the foot leaves the accelerator, s: a reaction time.
const NOTICED_S: f64 = 0.3;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let speed_m_s = numbers.course.speed_m_s;
    let straight_m = STRAIGHT_S * speed_m_s;
    let tight = 1.0 / numbers.course.radius_m;
    let wide = tight / WIDER;
    let course = Course::of_stretches(&[
        (straight_m, 0.0),
        (BEGIN_M, wide),
        (WIDE_M, wide),
        (CLOSING_M, tight),
        (TIGHT_M, tight),
        (OPENING_M, 0.0),
        (AFTER_M, 0.0),
    ]);
    Setup {
        start: Start {
            speed_m_s,
            ambient_degc: numbers.road.ambient_degc,
            carrier_torque_nm: 150.0,
            ..Start::default()
        },
        course: Some(super::on_its_side(scenario, course)),
        driver: Box::new(Following {
            hands: Human::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio),
            holder: SpeedHolder::starting_at(0.2),
            foot: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: numbers.driver.pedal_fall_s,
                pedal: 0.2,
            },
            speed_m_s,
            lifts_m: straight_m + BEGIN_M + WIDE_M + NOTICED_S * speed_m_s,
        }),
        lead_s: 0.0,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct Following {
    hands: Human,
    holder: SpeedHolder,
    foot: Foot,
    speed_m_s: f64,
    lifts_m: f64,
}

impl Driver for Following {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let distance_m = view.place.map_or(0.0, |place| place.distance_m);
        let pedal = if distance_m < self.lifts_m {
            let wanted = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            self.foot.pedal = wanted;
            wanted
        } else {
            self.foot.towards(0.0, period_s)
        };
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal,
            brake: 0.0,
        }
    }
}
