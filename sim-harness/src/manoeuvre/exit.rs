//! Full power while the road unwinds.
//!
//! The car settles in a turn at constant speed; at the action the accelerator goes to its aim, eased when the car leaves
//! its path, and the curvature of the road falls to zero from there. The path is the same for every layout. With a path
//! tolerance the driver knows the car: the accelerator goes to the largest position that keeps it, found by bisection
//! beforehand with the same car and control, and stays there.

use super::course::Course;
use super::{Goal, Setup, turning_start};
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::{Foot, SpeedHolder, eased};
use crate::driver::{Action, Driver, View};
use crate::metrics::series::largest_size;
use crate::metrics::turning::EXIT_S;
use crate::plant::Vehicle;
use crate::run::law::Rule;
use crate::run::{Ending, closed_loop};
use crate::scenario::{DriverNumbers, Scenario};

/// Time the car settles in the turn, s.
const LEAD_S: f64 = 4.0;

/// Halvings of the search for the accelerator position.
const HALVINGS: u32 = 7;

/// Share of the tolerance the driver uses: the rest is left to the sensors' chance, which the search does not see.
const USED_TOLERANCE: f64 = 0.97;

/// Smallest position tried.
const LEAST_PEDAL: f64 = 0.05;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle, rule: Rule<'_>) -> Setup {
    let tolerance_m = scenario.numbers.driver.path_tolerance_m;
    if tolerance_m <= 0.0 {
        return setup(scenario, vehicle);
    }
    let mut known = scenario.clone();
    known.numbers.driver.path_tolerance_m = 0.0;
    known.numbers.driver.path_margin_m = 10.0;
    let mut trial = known.clone();
    // Without noise: what the driver has learned of the car is not this run's chance.
    trial.numbers.sensors = crate::scenario::SensorNumbers::ideal();
    let mut keeps = |pedal: f64| {
        trial.numbers.driver.pedal = pedal;
        let (record, outcome) = closed_loop::drive(&trial, vehicle, rule, setup(&trial, vehicle));
        let from = trial.numbers.driver.action_s;
        let error = largest_size(&record, "path_error", from, from + EXIT_S);
        outcome.ended != Ending::Spun
            && error.is_some_and(|error| error <= USED_TOLERANCE * tolerance_m)
    };
    let (mut low, mut high) = (LEAST_PEDAL, scenario.numbers.driver.pedal);
    if keeps(high) {
        low = high;
    } else {
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if keeps(middle) {
                low = middle
            } else {
                high = middle
            }
        }
    }
    known.numbers.driver.pedal = low;
    setup(&known, vehicle)
}

fn setup(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let course = &scenario.numbers.course;
    let driver = scenario.numbers.driver;
    let turn_m = course.speed_m_s * (LEAD_S + driver.action_s);
    let path = Course::exit(course.radius_m, turn_m, course.unwind_m, 600.0);
    let start = turning_start(scenario, vehicle, course.speed_m_s, 1.0 / course.radius_m);
    Setup {
        start,
        course: Some(super::on_its_side(scenario, path)),
        driver: Box::new(Exiting {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio)
                .turned(start.steering_wheel_rad),
            holder: SpeedHolder::starting_at(0.1),
            foot: Foot {
                rise_s: driver.pedal_rise_s,
                fall_s: 0.2,
                pedal: 0.1,
            },
            speed_m_s: course.speed_m_s,
            numbers: driver,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

struct Exiting {
    hands: PathFollower,
    holder: SpeedHolder,
    foot: Foot,
    speed_m_s: f64,
    numbers: DriverNumbers,
}

impl Driver for Exiting {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let steering_wheel_rad = self.hands.steer(view, period_s);
        let pedal = if view.time_s < self.numbers.action_s {
            self.foot.pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            self.foot.pedal
        } else {
            let error = view.place.map_or(0.0, |place| place.error_m);
            let aim = self.numbers.pedal * eased(error, self.numbers.path_margin_m);
            self.foot.towards(aim, period_s)
        };
        Action {
            steering_wheel_rad,
            pedal,
            brake: 0.0,
        }
    }
}
