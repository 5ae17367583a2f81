//! Drivers: what hands and feet do, from what a person could see.
//!
//! A driver acts once per control step, before the controller. The same driver drives every axle layout.

pub mod human;
pub mod path_and_speed;
pub mod path_follower;
pub mod pedals;
pub mod slide_holder;

use crate::manoeuvre::course::Place;
use crate::plant::Observation;

/// What a driver sees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View<'a> {
    /// Time since the record began, s; negative before.
    pub time_s: f64,
    /// The car.
    pub car: &'a Observation,
    /// Place against the path, if there is one.
    pub place: Option<Place>,
    /// Curvature of the path a given distance ahead, 1/m.
    pub ahead: &'a Ahead<'a>,
}

/// Looks along the path.
pub struct Ahead<'a>(pub &'a dyn Fn(f64) -> f64);

impl core::fmt::Debug for Ahead<'_> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("Ahead")
    }
}

impl PartialEq for Ahead<'_> {
    fn eq(&self, other: &Self) -> bool {
        core::ptr::addr_eq(self.0, other.0)
    }
}

/// What a driver does.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Action {
    /// Steering-wheel angle, rad, positive to the left.
    pub steering_wheel_rad: f64,
    /// Accelerator, 0 to 1.
    pub pedal: f64,
    /// Brake, 0 to 1.
    pub brake: f64,
}

/// Somebody who drives.
pub trait Driver {
    /// One control step of `period_s`.
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action;

    /// Hand brake on the rear wheels in the step just acted, 0 to 1.
    fn hand_brake(&self) -> f64 {
        0.0
    }
}
