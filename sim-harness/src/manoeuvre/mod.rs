//! Manoeuvres: where the car starts, which path it has, who drives, and what ends the run.
//!
//! Each manoeuvre settles the car before its record begins (`lead_s`), so that records start steady.

pub mod braking;
pub mod circle;
pub mod closing_bend;
pub mod course;
pub mod cruise;
pub mod disturbance;
pub mod dwell_input;
pub mod exit;
pub mod friction_step;
pub mod lane;
pub mod lane_change;
pub mod launch;
pub mod lift_off;
pub mod park;
pub mod release;
pub mod repeated_launches;
pub mod sine_with_dwell;
pub mod skarn_pass;
pub mod slide_hold;
pub mod split_brake;
pub mod steady_turn;
pub mod steering_input;
pub mod step_steer;
pub mod straight_ahead;
pub mod tip_in;
pub mod trailer_sway;

use crate::driver::Driver;
use crate::metrics::Metric;
use crate::plant::{Start, Vehicle};
use crate::run::law::Rule;
use crate::scenario::{Manoeuvre, Scenario};
use course::Course;
use steering_input::Score;

/// What ends a run before its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// Nothing but the time and the end of the path.
    None,
    /// A speed in driving direction, m/s; rolling back ends it too.
    Speed {
        /// Speed of the goal, m/s.
        speed_m_s: f64,
    },
    /// The car stands.
    Standstill,
    /// The limit of a circle with slowly rising speed.
    Limit {
        /// Speed asked for at the start of the record, m/s.
        first_m_s: f64,
        /// Rise of the speed asked for, m/s2.
        rise_m_s2: f64,
    },
    /// The end of a road with edges: ends when the car leaves it or makes no way for 20 s.
    Road {
        /// Distance from the middle at which the car has left the road, m.
        leaves_m: f64,
    },
}

/// A prepared run.
pub struct Setup {
    /// How the car starts.
    pub start: Start,
    /// The path, if there is one, already mirrored if the scenario is.
    pub course: Option<Course>,
    /// Who drives.
    pub driver: Box<dyn Driver>,
    /// Time driven before the record begins, s.
    pub lead_s: f64,
    /// What ends the run.
    pub goal: Goal,
    /// One row is recorded every so many control steps.
    pub record_every: u32,
    /// What the manoeuvre found out beforehand, from records of runs of its own: a size of input, a series that passed.
    pub found: Vec<Metric>,
}

/// Prepares the run of a scenario; `vehicle` is already mirrored if the scenario is.
pub fn prepare<'a>(scenario: &Scenario, vehicle: &Vehicle, rule: impl Into<Rule<'a>>) -> Setup {
    let rule = rule.into();
    let score = |score| steering_input::prepare(scenario, vehicle, score);
    let frequency_hz = scenario.numbers.driver.steering_frequency_hz;
    match scenario.manoeuvre {
        Manoeuvre::SplitLaunch => launch::prepare(scenario, vehicle),
        Manoeuvre::PowerOnExit => exit::prepare(scenario, vehicle, rule),
        Manoeuvre::StepSteer => step_steer::prepare(scenario, vehicle, rule),
        Manoeuvre::LiftOff => lift_off::prepare(scenario, vehicle),
        Manoeuvre::ConstantRadius => circle::prepare(scenario, vehicle),
        Manoeuvre::SkarnPass => skarn_pass::prepare(scenario, vehicle),
        Manoeuvre::TrailerSway => trailer_sway::prepare(scenario, vehicle),
        Manoeuvre::StraightAhead => straight_ahead::prepare(scenario, vehicle),
        Manoeuvre::SineWithDwell => sine_with_dwell::prepare(scenario, vehicle, rule),
        Manoeuvre::OnePeriodSine => score(Score::OnePeriodSine { frequency_hz }),
        Manoeuvre::SteeringPulse => score(Score::Pulse),
        Manoeuvre::ContinuousSine => score(Score::ContinuousSine),
        Manoeuvre::FrequencySweep => score(Score::Sweep),
        Manoeuvre::RandomSteering => score(Score::Random),
        Manoeuvre::ConstantSpeed => steady_turn::constant_speed(scenario, vehicle),
        Manoeuvre::ConstantSteering => steady_turn::constant_steering(scenario, vehicle),
        Manoeuvre::BrakingInTurn => braking::prepare(scenario, vehicle, rule),
        Manoeuvre::DoubleLaneChange | Manoeuvre::ObstacleAvoidance | Manoeuvre::SnowLaneChange => {
            lane_change::prepare(scenario, vehicle, rule)
        }
        Manoeuvre::FrictionStep => friction_step::prepare(scenario, vehicle),
        Manoeuvre::SplitBrake => split_brake::prepare(scenario, vehicle),
        Manoeuvre::Park => park::prepare(scenario, vehicle),
        Manoeuvre::Cruise => cruise::prepare(scenario, vehicle),
        Manoeuvre::Release => release::prepare(scenario, vehicle),
        Manoeuvre::ClosingBend => closing_bend::prepare(scenario, vehicle),
        Manoeuvre::TipIn => tip_in::prepare(scenario, vehicle),
        Manoeuvre::SlideHold => slide_hold::prepare(scenario, vehicle),
        Manoeuvre::RepeatedLaunches => repeated_launches::prepare(scenario, vehicle),
        Manoeuvre::Disturbance => disturbance::prepare(scenario, vehicle),
    }
}

/// 1, or -1 in the mirror.
pub fn side(scenario: &Scenario) -> f64 {
    if scenario.mirrored { -1.0 } else { 1.0 }
}

/// The course as the scenario has it: in the mirror if it is driven there.
fn on_its_side(scenario: &Scenario, course: Course) -> Course {
    if scenario.mirrored {
        course.mirrored()
    } else {
        course
    }
}

/// A car that rolls in a steady turn to the left (right in the mirror), near enough for the driver to settle it.
pub fn turning_start(
    scenario: &Scenario,
    vehicle: &Vehicle,
    speed_m_s: f64,
    curvature_1_m: f64,
) -> Start {
    let side = side(scenario);
    let lateral = speed_m_s * speed_m_s * curvature_1_m;
    let road_wheel = curvature_1_m * vehicle.body.wheelbase_m + 0.0045 * lateral;
    Start {
        speed_m_s,
        yaw_rate_rad_s: side * speed_m_s * curvature_1_m,
        sideslip_rad: side * (curvature_1_m * vehicle.rear_axle_m() - 0.006 * lateral),
        steering_wheel_rad: side * road_wheel * vehicle.steering.ratio,
        ambient_degc: scenario.numbers.road.ambient_degc,
        carrier_torque_nm: 150.0,
        ..Start::default()
    }
}
