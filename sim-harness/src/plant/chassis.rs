//! Body: wheel kinematics, wheel loads, planar equations of motion.
//!
//! Inputs: body velocity and yaw rate, steering, accelerations. Outputs: velocities at the wheels, wheel loads, and sums of
//! forces. Rigid body in ISO 8855 axes, velocity (u, v) and yaw rate r at the centre of gravity:
//! along = (u - r y) cos d + (v + r x) sin d. Limits: roll and pitch are in `suspension`.

use super::quantity::{Compared, PerSide, PerWheel};
use super::vehicle::Vehicle;

/// Standard gravity, m/s2.
pub const GRAVITY_M_S2: f64 = 9.80665;

/// Where the wheels are and what the body weighs; made once from the vehicle file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chassis {
    /// Place of each wheel ahead of the centre of gravity, m: front, rear.
    pub axle_m: (f64, f64),
    /// Half track, m: front, rear.
    pub half_track_m: (f64, f64),
    /// Mass, kg.
    pub mass_kg: f64,
    /// Yaw inertia, kg m2.
    pub yaw_inertia_kg_m2: f64,
    gravity_height_m: f64,
    front_roll_share: f64,
}

impl Chassis {
    /// From the vehicle file.
    pub fn new(vehicle: &Vehicle) -> Self {
        Self {
            axle_m: (vehicle.front_axle_m(), -vehicle.rear_axle_m()),
            half_track_m: (
                0.5 * vehicle.body.track_front_m,
                0.5 * vehicle.body.track_rear_m,
            ),
            mass_kg: vehicle.body.mass_kg,
            yaw_inertia_kg_m2: vehicle.body.yaw_inertia_kg_m2,
            gravity_height_m: vehicle.body.gravity_height_m,
            front_roll_share: vehicle.body.front_roll_share,
        }
    }

    /// Places of the wheels in the body's axes, m: x forward and y left.
    pub fn places_m(&self) -> PerWheel<(f64, f64)> {
        PerWheel {
            front_left: (self.axle_m.0, self.half_track_m.0),
            front_right: (self.axle_m.0, -self.half_track_m.0),
            rear_left: (self.axle_m.1, self.half_track_m.1),
            rear_right: (self.axle_m.1, -self.half_track_m.1),
        }
    }

    /// Wheel loads from specific force, N, each 0 or more; they add up to the weight's share across the road.
    ///
    /// When the inner wheel of an axle lifts, the rest of the roll moment goes to the other axle.
    pub fn wheel_loads_n(
        &self,
        slope_cosine: f64,
        longitudinal_acceleration_m_s2: f64,
        lateral_acceleration_m_s2: f64,
    ) -> PerWheel<f64> {
        self.lifted_wheel_loads_n(
            slope_cosine,
            longitudinal_acceleration_m_s2,
            lateral_acceleration_m_s2,
            (0.0, 0.0),
        )
    }

    /// The same with the air lifting the front and rear axle by `lift_n`, N, negative pressing down.
    pub fn lifted_wheel_loads_n(
        &self,
        slope_cosine: f64,
        longitudinal_acceleration_m_s2: f64,
        lateral_acceleration_m_s2: f64,
        lift_n: (f64, f64),
    ) -> PerWheel<f64> {
        let wheelbase_m = self.axle_m.0 - self.axle_m.1;
        let weight_n = self.mass_kg * GRAVITY_M_S2 * slope_cosine;
        let pitch_n =
            self.mass_kg * longitudinal_acceleration_m_s2 * self.gravity_height_m / wheelbase_m;
        let total_n = (weight_n - lift_n.0 - lift_n.1).larger(0.0);
        let front_n =
            (weight_n * -self.axle_m.1 / wheelbase_m - pitch_n - lift_n.0).bounded(0.0, total_n);
        let rear_n = total_n - front_n;
        let moment_nm = self.mass_kg * lateral_acceleration_m_s2 * self.gravity_height_m;
        // Half the load difference of each axle, positive loading the right wheel.
        let shift = |moment_nm: f64, half_track_m: f64| moment_nm / (2.0 * half_track_m);
        let front_half_n = 0.5 * front_n;
        let rear_half_n = 0.5 * rear_n;
        let front_asked_n = shift(moment_nm * self.front_roll_share, self.half_track_m.0);
        let rear_asked_n = shift(
            moment_nm * (1.0 - self.front_roll_share),
            self.half_track_m.1,
        );
        let front_first_n = front_asked_n.bounded(-front_half_n, front_half_n);
        let rear_first_n = rear_asked_n.bounded(-rear_half_n, rear_half_n);
        let ratio = self.half_track_m.1 / self.half_track_m.0;
        let front_shift_n = (front_first_n + (rear_asked_n - rear_first_n) * ratio)
            .bounded(-front_half_n, front_half_n);
        let rear_shift_n = (rear_first_n + (front_asked_n - front_first_n) / ratio)
            .bounded(-rear_half_n, rear_half_n);
        PerWheel {
            front_left: front_half_n - front_shift_n,
            front_right: front_half_n + front_shift_n,
            rear_left: rear_half_n - rear_shift_n,
            rear_right: rear_half_n + rear_shift_n,
        }
    }
}

/// Planar velocity of the body at its centre of gravity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BodyVelocity {
    /// Along the body, m/s.
    pub forward_m_s: f64,
    /// Across the body, m/s, positive to the left.
    pub lateral_m_s: f64,
    /// Yaw rate, rad/s, positive to the left.
    pub yaw_rad_s: f64,
}

impl BodyVelocity {
    /// Velocity of a wheel centre along and across the wheel, m/s; `steer` is (sine, cosine) of its steering angle.
    pub fn at_wheel_m_s(&self, place_m: (f64, f64), steer: (f64, f64)) -> (f64, f64) {
        let forward = self.forward_m_s - self.yaw_rad_s * place_m.1;
        let lateral = self.lateral_m_s + self.yaw_rad_s * place_m.0;
        (
            forward * steer.1 + lateral * steer.0,
            lateral * steer.1 - forward * steer.0,
        )
    }

    /// Slip angle of a wheel (ISO 8855: angle of its velocity against the wheel plane), rad.
    pub fn slip_angle_rad(&self, place_m: (f64, f64), steer_rad: f64) -> f64 {
        let forward = self.forward_m_s - self.yaw_rad_s * place_m.1;
        let lateral = self.lateral_m_s + self.yaw_rad_s * place_m.0;
        libm::atan2(lateral, forward) - steer_rad
    }

    /// The velocity halfway between two.
    pub fn mean(&self, other: &Self) -> Self {
        Self {
            forward_m_s: 0.5 * (self.forward_m_s + other.forward_m_s),
            lateral_m_s: 0.5 * (self.lateral_m_s + other.lateral_m_s),
            yaw_rad_s: 0.5 * (self.yaw_rad_s + other.yaw_rad_s),
        }
    }

    /// The velocity in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            forward_m_s: self.forward_m_s,
            lateral_m_s: -self.lateral_m_s,
            yaw_rad_s: -self.yaw_rad_s,
        }
    }
}

/// Yaw moment of a left-right difference of longitudinal forces on one axle, N m, positive to the left.
pub fn difference_yaw_moment_nm(longitudinal_force_n: PerSide<f64>, track_m: f64) -> f64 {
    (longitudinal_force_n.right - longitudinal_force_n.left) * 0.5 * track_m
}

/// Load moved between the sides of a car by lateral acceleration, N: m a h / T.
pub fn lateral_load_transfer_n(
    mass_kg: f64,
    acceleration_m_s2: f64,
    height_m: f64,
    track_m: f64,
) -> f64 {
    mass_kg * acceleration_m_s2 * height_m / track_m
}

/// Load moved between the axles of a car by longitudinal acceleration, N: m a h / L.
pub fn longitudinal_load_transfer_n(
    mass_kg: f64,
    acceleration_m_s2: f64,
    height_m: f64,
    wheelbase_m: f64,
) -> f64 {
    mass_kg * acceleration_m_s2 * height_m / wheelbase_m
}
