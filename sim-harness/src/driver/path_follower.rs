//! Hands that follow a path: preview, lateral and heading error, a human delay.
//!
//! The wanted curvature is the path's a little ahead, corrected so that the error predicted at the preview distance would
//! be gone there (pursuit of a point on the path: curvature `2 e / d^2`), plus a slow correction of what remains. The
//! driver turns it into a steering angle with a fixed idea of the car, the same for every layout, through a first-order
//! lag and a largest steering rate.

use super::View;

/// Hands on the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathFollower {
    /// Wheelbase the driver has learned, m.
    pub wheelbase_m: f64,
    /// Understeer constant the driver has learned, rad s2/m.
    pub understeer_rad_s2_m: f64,
    /// Steering ratio.
    pub steering_ratio: f64,
    /// Preview time, s.
    pub preview_s: f64,
    /// Least preview distance, m.
    pub preview_least_m: f64,
    /// Time the driver looks ahead for curvature, s.
    pub anticipation_s: f64,
    /// Slow correction, 1/m per m s.
    pub slow_gain_1_m2_s: f64,
    /// Lag of the arms, s.
    pub lag_s: f64,
    /// Largest steering rate, rad/s.
    pub rate_rad_s: f64,
    /// Road-wheel angle against yaw rate beyond the path's, s; forwards only.
    pub yaw_gain_s: f64,
    /// Distance of the rear axle behind the centre of gravity for somebody who drives backwards, m.
    backing_rear_m: Option<f64>,
    steering_wheel_rad: f64,
    slow_1_m: f64,
}

impl PathFollower {
    /// A practised driver; lag 0.08 s and 10.5 rad/s (600 deg/s) are common practice, no source.
    pub fn practised(wheelbase_m: f64, steering_ratio: f64) -> Self {
        Self {
            wheelbase_m,
            understeer_rad_s2_m: 0.0030,
            steering_ratio,
            preview_s: 0.55,
            preview_least_m: 3.0,
            anticipation_s: 0.12,
            slow_gain_1_m2_s: 0.004,
            lag_s: 0.08,
            rate_rad_s: 10.5,
            yaw_gain_s: 0.0,
            backing_rear_m: None,
            steering_wheel_rad: 0.0,
            slow_1_m: 0.0,
        }
    }

    /// Holds the nose as well as the line, as a driver does who expects the car to be pulled aside.
    pub fn steadying(mut self, yaw_gain_s: f64) -> Self {
        self.yaw_gain_s = yaw_gain_s;
        self
    }

    /// Looks over the shoulder: the rear axle leads, `rear_m` behind the centre of gravity.
    ///
    /// With `y` the rear axle's offset and `e` its course against the path over the preview distance `d`, the angle
    /// `-2 L (y - e d) / d^2` brings the offset to zero there, damping ratio 0.71 as forwards.
    pub fn backwards(mut self, rear_m: f64) -> Self {
        self.backing_rear_m = Some(rear_m);
        self
    }

    /// Starts with the wheel already turned.
    pub fn turned(mut self, steering_wheel_rad: f64) -> Self {
        self.steering_wheel_rad = steering_wheel_rad;
        self
    }

    /// Steering-wheel angle of this step, rad.
    pub fn steer(&mut self, view: &View<'_>, period_s: f64) -> f64 {
        let car = view.car;
        let speed = if self.backing_rear_m.is_some() {
            (-car.speed_m_s).max(0.5)
        } else {
            car.speed_m_s.max(0.5)
        };
        let place = view.place.unwrap_or_default();
        let preview = (speed * self.preview_s).max(self.preview_least_m);
        // The car goes where its velocity points, not its nose.
        let course_error = place.heading_error_rad
            + if car.speed_m_s > 2.0 {
                car.sideslip_rad
            } else {
                0.0
            };
        let predicted = match self.backing_rear_m {
            None => place.error_m + preview * libm::sin(course_error.clamp(-1.2, 1.2)),
            Some(rear_m) => {
                let rear_drift =
                    (car.lateral_speed_m_s - rear_m * car.yaw_rate_rad_s) / car.speed_m_s.min(-2.0);
                let leads = (place.heading_error_rad + rear_drift).clamp(-1.2, 1.2);
                place.error_m
                    - rear_m * libm::sin(place.heading_error_rad)
                    - preview * libm::sin(leads)
            }
        };
        self.slow_1_m =
            (self.slow_1_m - self.slow_gain_1_m2_s * place.error_m * period_s).clamp(-0.02, 0.02);
        let wanted = (view.ahead.0)(speed * self.anticipation_s)
            - 2.0 * predicted / (preview * preview)
            + self.slow_1_m;
        let pulled = car.yaw_rate_rad_s - place.curvature_1_m * car.speed_m_s;
        let road_wheel = wanted * (self.wheelbase_m + self.understeer_rad_s2_m * speed * speed)
            - self.yaw_gain_s * pulled;
        let target = (road_wheel * self.steering_ratio).clamp(-8.0, 8.0);
        let moved = (target - self.steering_wheel_rad) * period_s / (self.lag_s + period_s);
        let most = self.rate_rad_s * period_s;
        self.steering_wheel_rad += moved.clamp(-most, most);
        self.steering_wheel_rad
    }
}
