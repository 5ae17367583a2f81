//! What the car's sensors make of the truth: seeded noise and a constant yaw-rate error.
//!
//! In: [`Observation`]. Out: [`Measured`]. Every number drawn comes from one seed, so a run repeats bit for bit; seen in a
//! mirror the same draws belong to the other side. Limits: no sampling delay, quantisation, drop-out or scaling yet.

use super::{Observation, PerWheel};

/// Size of the errors; all zero means true values.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SensorErrors {
    /// Standard deviation of the yaw rate noise, rad/s.
    pub yaw_rate_noise_rad_s: f64,
    /// Standard deviation of the noise of both accelerations, m/s2.
    pub acceleration_noise_m_s2: f64,
    /// Standard deviation of the wheel speed noise, rad/s.
    pub wheel_speed_noise_rad_s: f64,
    /// Standard deviation of the steering angle noise, rad.
    pub steering_noise_rad: f64,
    /// Constant error of the yaw rate, rad/s.
    pub yaw_rate_bias_rad_s: f64,
}

/// Sensor values, units and signs as in [`Observation`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Measured {
    /// Wheel speeds, rad/s.
    pub wheel_speed_rad_s: PerWheel<f64>,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: f64,
    /// Lateral specific force, m/s2.
    pub lateral_acceleration_m_s2: f64,
    /// Longitudinal specific force, m/s2.
    pub longitudinal_acceleration_m_s2: f64,
    /// Steering-wheel angle, rad.
    pub steering_wheel_rad: f64,
}

/// The sensors of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensors {
    errors: SensorErrors,
    mirrored: bool,
    draws: Draws,
}

impl Sensors {
    /// Sensors with these errors; in a mirrored run the draws belong to the other side.
    pub fn new(errors: SensorErrors, seed: u64, mirrored: bool) -> Self {
        Self {
            errors,
            mirrored,
            draws: Draws::new(seed),
        }
    }

    /// Sensor values of this instant; the steering angle is passed in because the driver sets it at the same instant.
    pub fn measure(&mut self, truth: &Observation, steering_wheel_rad: f64) -> Measured {
        let errors = self.errors;
        let odd = if self.mirrored { -1.0 } else { 1.0 };
        let mut draw = |deviation: f64| deviation * self.draws.normal();
        let yaw = odd * (draw(errors.yaw_rate_noise_rad_s) + errors.yaw_rate_bias_rad_s);
        let lateral = odd * draw(errors.acceleration_noise_m_s2);
        let longitudinal = draw(errors.acceleration_noise_m_s2);
        let steering = odd * draw(errors.steering_noise_rad);
        let wheels = PerWheel {
            front_left: draw(errors.wheel_speed_noise_rad_s),
            front_right: draw(errors.wheel_speed_noise_rad_s),
            rear_left: draw(errors.wheel_speed_noise_rad_s),
            rear_right: draw(errors.wheel_speed_noise_rad_s),
        };
        let wheels = if self.mirrored {
            wheels.mirrored()
        } else {
            wheels
        };
        Measured {
            wheel_speed_rad_s: truth
                .wheel_speed_rad_s
                .zip(wheels, |speed, error| speed + error),
            yaw_rate_rad_s: truth.yaw_rate_rad_s + yaw,
            lateral_acceleration_m_s2: truth.lateral_acceleration_m_s2 + lateral,
            longitudinal_acceleration_m_s2: truth.longitudinal_acceleration_m_s2 + longitudinal,
            steering_wheel_rad: steering_wheel_rad + steering,
        }
    }
}

/// Seeded normal numbers: the published 64-bit mixing generator with increment 0x9E3779B97F4A7C15, then the
/// polar-free transform by logarithm and cosine.
#[derive(Debug, Clone, PartialEq)]
struct Draws {
    state: u64,
}

impl Draws {
    fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    fn unit(&mut self) -> f64 {
        // 53 bits, shifted off zero so that the logarithm stays finite.
        ((self.next() >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }

    fn normal(&mut self) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(self.unit()));
        radius * libm::cos(2.0 * core::f64::consts::PI * self.unit())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn same_seed_same_noise_other_seed_other_noise() {
        let errors = SensorErrors {
            yaw_rate_noise_rad_s: 0.1,
            ..SensorErrors::default()
        };
        let truth = Observation::default();
        let draw = |seed| {
            Sensors::new(errors, seed, false)
                .measure(&truth, 0.0)
                .yaw_rate_rad_s
        };
        assert_eq!(draw(3), draw(3));
        assert_ne!(draw(3), draw(4));
    }

    #[test]
    fn noise_has_the_stated_size() {
        let mut draws = Draws::new(1);
        let values: Vec<f64> = (0..20_000).map(|_| draws.normal()).collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let variance = values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64;
        // Three standard errors of mean and variance for 20,000 draws.
        assert!(mean.abs() < 0.022, "{mean}");
        assert!((variance - 1.0).abs() < 0.03, "{variance}");
    }
}
