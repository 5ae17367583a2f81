//! Launches with one side of the road slippery, again and again; a rest; two launches more.
//!
//! Every `cycle_s` the driver launches to 20 km/h with the whole accelerator, brakes to a stand and waits. After `work_s` the car stands,
//! and the last two cycles of the run launch again. Who rolls back brakes to a stand and tries again until the cycle is nearly over. The
//! abuse of heat that everybody of the trade tries first; common practice, no source.

use super::course::Course;
use super::{Goal, Setup};
use crate::driver::path_follower::PathFollower;
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::scenario::{LAUNCH_GOAL_M_S, Scenario};

/// Minutes of heat: 20 samples a second tell everything.
const RECORD_EVERY: u32 = 10;
/// Time at the end of a cycle that is kept for braking to a stand, s.
const BRAKING_S: f64 = 1.5;
/// A car this fast rolls back, m/s.
const ROLLS_BACK_M_S: f64 = -0.1;
/// From there to the next try, s.
const PAUSE_S: f64 = 1.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    Setup {
        start: Start {
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(Course::straight(8000.0)),
        driver: Box::new(Again {
            hands: PathFollower::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio),
            cycle_s: numbers.driver.cycle_s,
            work_s: numbers.driver.work_s,
            last_s: numbers.course.longest_s - 2.0 * numbers.driver.cycle_s,
            begins_s: numbers.driver.action_s,
            rise_s: numbers.driver.pedal_rise_s,
            pedal: numbers.driver.pedal,
            gone: false,
            tries_from_s: 0.0,
        }),
        lead_s: 0.5,
        goal: Goal::None,
        record_every: RECORD_EVERY,
        found: Vec::new(),
    }
}

struct Again {
    hands: PathFollower,
    cycle_s: f64,
    work_s: f64,
    /// When the two launches after the rest begin, s.
    last_s: f64,
    begins_s: f64,
    rise_s: f64,
    pedal: f64,
    /// This cycle's 20 km/h were reached.
    gone: bool,
    /// When this try begins, s after the beginning of the cycle's first.
    tries_from_s: f64,
}

impl Driver for Again {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let rested = view.time_s >= self.last_s;
        // The launches after the rest keep their own rhythm, so that both are whole.
        let since_s = if rested {
            view.time_s - self.last_s
        } else {
            view.time_s.max(0.0)
        };
        let phase_s = since_s - libm::floor(since_s / self.cycle_s) * self.cycle_s - self.begins_s;
        let works = view.time_s >= 0.0 && (rested || view.time_s < self.work_s);
        self.gone = phase_s >= 0.0 && (self.gone || view.car.speed_m_s > LAUNCH_GOAL_M_S);
        if phase_s < 0.0 {
            self.tries_from_s = 0.0;
        } else if view.car.speed_m_s < ROLLS_BACK_M_S {
            self.tries_from_s = phase_s + PAUSE_S;
        }
        let try_s = phase_s - self.tries_from_s;
        let on = works
            && !self.gone
            && try_s >= 0.0
            && (0.0..self.cycle_s - self.begins_s - BRAKING_S).contains(&phase_s);
        // The brake opens once the powertrain pulls, as anybody does on a hill.
        let pulls = view.car.carrier_torque_nm > 300.0 || view.car.speed_m_s > 0.5;
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal: if on {
                self.pedal * (try_s / self.rise_s).min(1.0)
            } else {
                0.0
            },
            brake: if on && pulls { 0.0 } else { 0.9 },
        }
    }
}
