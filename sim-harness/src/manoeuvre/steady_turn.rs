//! Steady turns at constant speed and at constant steering angle, in the manner of ISO 4138.
//!
//! Beside the constant radius of [`super::circle`]. Constant speed: the steering wheel is turned in small steps and held
//! after each until the car is steady. Constant steering angle: the wheel is held at the angle of `radius_m` at walking pace
//! while the speed rises slowly. ISO 4138:2021 asks for lateral acceleration in steps of at most 0.5 m/s2 (clause 8.3); a
//! slow rise has no steps. (List of methods from memory.) The size of a steering step is the linear car's for 0.45 m/s2;
//! near the limit the same step gives less.

use super::{Goal, Setup, side, turning_start};
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::{Plant, Start, Vehicle};
use crate::scenario::Scenario;

/// Lateral acceleration of one steering step of the linear car, m/s2.
const STEP_M_S2: f64 = 0.45;

/// Time of one step, s, and the part of it in which the wheel turns.
const STEP_S: f64 = 3.0;
const TURNING_S: f64 = 0.5;

/// A steady turn changes slowly: 20 samples a second tell everything.
const RECORD_EVERY: u32 = 10;

pub(super) fn constant_speed(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let course = &scenario.numbers.course;
    let start = Start {
        speed_m_s: course.speed_m_s,
        carrier_torque_nm: 200.0,
        ambient_degc: scenario.numbers.road.ambient_degc,
        ..Start::default()
    };
    let linear = Plant::new(*vehicle, scenario.layout, scenario.road(), start).single_track();
    let road_wheel_rad = STEP_M_S2 / course.speed_m_s / linear.yaw_gain_1_s(course.speed_m_s);
    let steps = libm::ceil(course.lateral_acceleration_m_s2 / STEP_M_S2 - 1e-9);
    Setup {
        start,
        course: None,
        driver: Box::new(Turning {
            holder: SpeedHolder::starting_at(0.08),
            first_m_s: course.speed_m_s,
            rise_m_s2: 0.0,
            held_rad: 0.0,
            step_rad: side(scenario) * road_wheel_rad * vehicle.steering.ratio,
            steps,
            from_s: scenario.numbers.driver.action_s,
        }),
        lead_s: 2.0,
        goal: Goal::None,
        found: Vec::new(),
        record_every: RECORD_EVERY,
    }
}

pub(super) fn constant_steering(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let course = &scenario.numbers.course;
    let curvature_1_m = 1.0 / course.radius_m;
    let start = turning_start(scenario, vehicle, course.speed_m_s, curvature_1_m);
    let road_wheel_rad = vehicle.body.wheelbase_m * curvature_1_m;
    Setup {
        start,
        course: None,
        driver: Box::new(Turning {
            holder: SpeedHolder::starting_at(0.05),
            first_m_s: course.speed_m_s,
            rise_m_s2: course.speed_rise_m_s2,
            held_rad: side(scenario) * road_wheel_rad * vehicle.steering.ratio,
            step_rad: 0.0,
            steps: 0.0,
            from_s: 0.0,
        }),
        lead_s: 5.0,
        goal: Goal::Limit {
            first_m_s: course.speed_m_s,
            rise_m_s2: course.speed_rise_m_s2,
        },
        found: Vec::new(),
        record_every: RECORD_EVERY,
    }
}

struct Turning {
    holder: SpeedHolder,
    first_m_s: f64,
    rise_m_s2: f64,
    held_rad: f64,
    step_rad: f64,
    steps: f64,
    from_s: f64,
}

impl Driver for Turning {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let since = ((view.time_s - self.from_s) / STEP_S).max(0.0);
        let whole = libm::floor(since);
        let part = ((since - whole) * STEP_S / TURNING_S).clamp(0.0, 1.0);
        let wanted = self.first_m_s + self.rise_m_s2 * view.time_s.max(0.0);
        Action {
            steering_wheel_rad: self.held_rad + self.step_rad * (whole + part).min(self.steps),
            pedal: self.holder.pedal(view.car.speed_m_s, wanted, period_s),
            brake: 0.0,
        }
    }
}
