//! The car as it is not in its file: on worn tyres, and seen in a mirror.
//!
//! In: a vehicle. Out: another one. 4 % of both stiffnesses per millimetre of tread lost: chosen, no source.

use super::quantity::{Compared, PerWheel};
use super::vehicle::Vehicle;

/// Rise of tyre stiffness per tread lost, 1/m.
const WEAR_STIFFNESS_PER_M: f64 = 40.0;

impl Vehicle {
    /// A steering-wheel angle within the locks, rad.
    pub fn bounded_steering_rad(&self, angle_rad: f64) -> f64 {
        let lock_rad = self.steering.lock_rad;
        angle_rad.larger(-lock_rad).smaller(lock_rad)
    }

    /// The car with tread worn off each tyre, m: the radius shrinks by it, and a lower tread is stiffer.
    ///
    /// 4 % of both stiffnesses per millimetre: chosen, no source.
    pub fn worn(&self, lost_m: PerWheel<f64>) -> Self {
        let mut other = *self;
        let radius_m = (self.tyre_front.radius_m, self.tyre_rear.radius_m);
        let wear = |radius_m: f64, lost_m: f64, radius: &mut f64, stiffness: &mut f64| {
            *radius -= lost_m / radius_m;
            *stiffness *= 1.0 + WEAR_STIFFNESS_PER_M * lost_m;
        };
        let (front, rear) = (&mut other.tyre_front, &mut other.tyre_rear);
        wear(
            radius_m.0,
            lost_m.front_left,
            &mut front.left_radius_scale,
            &mut front.left_stiffness_scale,
        );
        wear(
            radius_m.0,
            lost_m.front_right,
            &mut front.right_radius_scale,
            &mut front.right_stiffness_scale,
        );
        wear(
            radius_m.1,
            lost_m.rear_left,
            &mut rear.left_radius_scale,
            &mut rear.left_stiffness_scale,
        );
        wear(
            radius_m.1,
            lost_m.rear_right,
            &mut rear.right_radius_scale,
            &mut rear.right_stiffness_scale,
        );
        other
    }

    /// The car seen in a mirror: everything that differs between the sides changes place.
    pub fn mirrored(&self) -> Self {
        let mut other = *self;
        other.tyre_front.left_radius_scale = self.tyre_front.right_radius_scale;
        other.tyre_front.right_radius_scale = self.tyre_front.left_radius_scale;
        other.tyre_front.left_stiffness_scale = self.tyre_front.right_stiffness_scale;
        other.tyre_front.right_stiffness_scale = self.tyre_front.left_stiffness_scale;
        other.tyre_front.left_friction_scale = self.tyre_front.right_friction_scale;
        other.tyre_front.right_friction_scale = self.tyre_front.left_friction_scale;
        other.tyre_rear.left_radius_scale = self.tyre_rear.right_radius_scale;
        other.tyre_rear.right_radius_scale = self.tyre_rear.left_radius_scale;
        other.tyre_rear.left_stiffness_scale = self.tyre_rear.right_stiffness_scale;
        other.tyre_rear.right_stiffness_scale = self.tyre_rear.left_stiffness_scale;
        other.tyre_rear.left_friction_scale = self.tyre_rear.right_friction_scale;
        other.tyre_rear.right_friction_scale = self.tyre_rear.left_friction_scale;
        other.clutch.left_friction_scale = self.clutch.right_friction_scale;
        other.clutch.right_friction_scale = self.clutch.left_friction_scale;
        other.actuator.left_gain_scale = self.actuator.right_gain_scale;
        other.actuator.right_gain_scale = self.actuator.left_gain_scale;
        other
    }
}
