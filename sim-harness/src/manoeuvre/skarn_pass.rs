//! The Skarn Pass: a whole invented mountain road, driven by somebody who knows it.
//!
//! The road is the table in [`skarn_road`]. The driver follows its middle with a speed plan
//! from its bends, its grades and the friction that signs announce; every layout has the same driver and the same plan.
//! Comfortable lateral acceleration, accelerator and front spin come from the scenario. Ends at the end of the road, six
//! metres from its middle, or after 20 s without a metre of way ("stuck"). Chosen, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_and_speed::{Habits, PathAndSpeed, Sight};
use crate::plant::road::RoadPath;
use crate::plant::{Start, Vehicle};
use crate::scenario::{Scenario, skarn_road};

/// Minutes of driving: 50 samples a second tell everything.
const RECORD_EVERY: u32 = 4;

/// Distance from the middle at which a car is in the ditch, m: the half width and as much again.
const DITCH_M: f64 = 2.0 * skarn_road::HALF_WIDTH_M;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let road = skarn_road::road();
    let course = Course::along(road);
    let habits = Habits {
        lateral_m_s2: numbers.course.lateral_acceleration_m_s2,
        most_pedal: numbers.driver.pedal,
        pedal_rise_s: numbers.driver.pedal_rise_s,
        ..Habits::default()
    };
    Setup {
        start: Start {
            speed_m_s: numbers.course.speed_m_s,
            ambient_degc: numbers.road.ambient_degc,
            carrier_torque_nm: 150.0,
            ..Start::default()
        },
        course: Some(super::on_its_side(scenario, course)),
        driver: Box::new(PathAndSpeed::new(&seen(scenario, road), habits, vehicle)),
        lead_s: 1.0,
        goal: Goal::Road { leaves_m: DITCH_M },
        record_every: RECORD_EVERY,
        found: Vec::new(),
    }
}

/// The road as the driver knows it, metre by metre.
pub fn seen(scenario: &Scenario, road: &RoadPath) -> Vec<Sight> {
    let numbers = &scenario.numbers.road;
    let (left, right) = (
        numbers.friction_left / skarn_road::DRY,
        numbers.friction_right / skarn_road::DRY,
    );
    let scenario_rise = scenario.road().slope_sine_cosine().0;
    road.points()
        .iter()
        .step_by(libm::round(1.0 / crate::plant::road::path::SPACING_M) as usize)
        .map(|point| Sight {
            curvature_1_m: point.curvature_1_m,
            friction: 0.5 * (left * point.friction_left + right * point.friction_right),
            rise: point.rise + scenario_rise,
        })
        .collect()
}
