//! What sensors and bus make of the truth: late, noisy, scaled, in steps, sometimes missing.
//!
//! In: [`Observation`] once per control step. Out: [`Measured`], each value with whether it came. Order for each signal:
//! scale, bias, noise, quantisation, delay in whole control steps plus jitter, loss. Wheel speed sensors know no sign and
//! fall silent at crawl (they read zero there). Every number drawn comes from one seed, so a run repeats bit for bit; seen
//! in a mirror the same draws belong to the other side. Limits: one sample a control step; one delay for all signals.

use std::collections::VecDeque;

use super::{Observation, PerSide, PerWheel};

/// Longest delay, control steps.
pub const LONGEST_DELAY: usize = 32;

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
    /// Relative error of the yaw rate.
    pub yaw_rate_scale: f64,
    /// Smallest step of the yaw rate, rad/s.
    pub yaw_rate_step_rad_s: f64,
    /// Smallest step of both accelerations, m/s2.
    pub acceleration_step_m_s2: f64,
    /// Smallest step of the wheel speeds, rad/s.
    pub wheel_speed_step_rad_s: f64,
    /// Smallest step of the steering angle, rad.
    pub steering_step_rad: f64,
    /// Wheel speeds below this read zero, rad/s; above zero also takes away their sign.
    pub wheel_speed_silence_rad_s: f64,
    /// Delay, control steps, at most [`LONGEST_DELAY`] - 2.
    pub delay_steps: f64,
    /// Share of samples that come one step later still.
    pub jitter_share: f64,
    /// Share of samples that do not come at all.
    pub loss_share: f64,
    /// 1: both clutches have a pressure sensor; 0: none, and no pressure ever comes.
    pub pressure_sensors: f64,
    /// Standard deviation of the clutch pressure noise, Pa.
    pub pressure_noise_pa: f64,
    /// Smallest step of the clutch pressures, Pa.
    pub pressure_step_pa: f64,
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
    /// Pressure at each clutch's piston, Pa.
    pub clutch_pressure_pa: PerSide<f64>,
    /// Whether the clutch pressures came: they are wired to the unit, so no message is lost, but a car may have no sensor.
    pub pressures_came: bool,
    /// Whether the message with the wheel speeds came.
    pub wheel_speeds_came: bool,
    /// Whether the message with yaw rate and accelerations came.
    pub inertial_came: bool,
    /// Whether the message with the steering angle came.
    pub steering_came: bool,
}

/// The sensors of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensors {
    errors: SensorErrors,
    mirrored: bool,
    draws: Draws,
    pressure_draws: Draws,
    line: VecDeque<Measured>,
}

impl Sensors {
    /// Sensors with these errors; in a mirrored run the draws belong to the other side.
    pub fn new(errors: SensorErrors, seed: u64, mirrored: bool) -> Self {
        Self {
            errors,
            mirrored,
            draws: Draws::new(seed),
            // A stream of their own: a car without these sensors sees the same noise on all others.
            pressure_draws: Draws::new(mixed(seed ^ 0x7072_6573_7375_7265)),
            line: VecDeque::with_capacity(LONGEST_DELAY),
        }
    }

    /// Sensor values of this instant; the steering angle is passed in because the driver sets it at the same instant.
    pub fn measure(&mut self, truth: &Observation, steering_wheel_rad: f64) -> Measured {
        let now = self.sample(truth, steering_wheel_rad);
        if self.line.len() == LONGEST_DELAY {
            self.line.pop_front();
        }
        self.line.push_back(now);
        let late = self.draws.unit() < self.errors.jitter_share;
        let delay = libm::round(self.errors.delay_steps.max(0.0)) as usize + usize::from(late);
        // Before the line is filled the first sample stands for all earlier ones.
        let place = (self.line.len() - 1).saturating_sub(delay);
        let mut arrived = self.line[place];
        let loss = self.errors.loss_share;
        arrived.wheel_speeds_came = self.draws.unit() >= loss;
        arrived.inertial_came = self.draws.unit() >= loss;
        arrived.steering_came = self.draws.unit() >= loss;
        arrived
    }

    fn sample(&mut self, truth: &Observation, steering_wheel_rad: f64) -> Measured {
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
        let pressures = PerSide {
            left: self.pressure_draws.normal(),
            right: self.pressure_draws.normal(),
        };
        let pressures = if self.mirrored {
            pressures.mirrored()
        } else {
            pressures
        };
        let silence = errors.wheel_speed_silence_rad_s;
        let tooth = |speed: f64| {
            if silence <= 0.0 {
                speed
            } else if speed.abs() < silence {
                0.0
            } else {
                speed.abs()
            }
        };
        Measured {
            wheel_speed_rad_s: truth.wheel_speed_rad_s.zip(wheels, |speed, error| {
                tooth(in_steps(speed + error, errors.wheel_speed_step_rad_s))
            }),
            yaw_rate_rad_s: in_steps(
                truth.yaw_rate_rad_s * (1.0 + errors.yaw_rate_scale) + yaw,
                errors.yaw_rate_step_rad_s,
            ),
            lateral_acceleration_m_s2: in_steps(
                truth.lateral_acceleration_m_s2 + lateral,
                errors.acceleration_step_m_s2,
            ),
            longitudinal_acceleration_m_s2: in_steps(
                truth.longitudinal_acceleration_m_s2 + longitudinal,
                errors.acceleration_step_m_s2,
            ),
            steering_wheel_rad: in_steps(steering_wheel_rad + steering, errors.steering_step_rad),
            clutch_pressure_pa: truth.clutch_pressure_pa.zip(pressures, |pressure, error| {
                in_steps(
                    pressure + errors.pressure_noise_pa * error,
                    errors.pressure_step_pa,
                )
            }),
            pressures_came: errors.pressure_sensors >= 0.5,
            wheel_speeds_came: true,
            inertial_came: true,
            steering_came: true,
        }
    }
}

/// The nearest multiple of a step; half steps go away from zero, so both signs are treated alike.
fn in_steps(value: f64, step: f64) -> f64 {
    if step > 0.0 {
        libm::round(value / step) * step
    } else {
        value
    }
}

/// Spreads the bits of a counter over a whole word: the output step of the generator below, one to one.
pub fn mixed(counter: u64) -> u64 {
    let mut mixed = (counter ^ (counter >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    mixed ^ (mixed >> 31)
}

/// Seeded normal numbers: the published 64-bit mixing generator with increment 0x9E3779B97F4A7C15, then the
/// polar-free transform by logarithm and cosine.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    state: u64,
    spare: Option<f64>,
}

impl Draws {
    /// A row of draws from a seed.
    pub fn new(seed: u64) -> Self {
        Self {
            state: seed,
            spare: None,
        }
    }

    /// A whole word.
    #[expect(clippy::should_implement_trait, reason = "it never ends")]
    pub fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        mixed(self.state)
    }

    /// Between 0 and 1, neither of them.
    pub fn unit(&mut self) -> f64 {
        // 53 bits, shifted off zero so that the logarithm stays finite.
        ((self.next() >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }

    /// Standard normal, two at a time from two uniform ones (Box and Muller, from memory).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = libm::sqrt(-2.0 * libm::log(self.unit()));
        let (sine, cosine) = libm::sincos(2.0 * core::f64::consts::PI * self.unit());
        self.spare = Some(radius * sine);
        radius * cosine
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turning(yaw_rate_rad_s: f64) -> Observation {
        Observation {
            yaw_rate_rad_s,
            ..Observation::default()
        }
    }

    #[test]
    fn same_seed_same_noise_other_seed_other_noise() {
        let errors = SensorErrors {
            yaw_rate_noise_rad_s: 0.1,
            ..SensorErrors::default()
        };
        let draw = |seed| {
            Sensors::new(errors, seed, false)
                .measure(&turning(0.0), 0.0)
                .yaw_rate_rad_s
        };
        assert_eq!(draw(3), draw(3));
        assert_ne!(draw(3), draw(4));
    }

    #[test]
    fn without_errors_the_truth_comes_through_at_once() {
        let mut sensors = Sensors::new(SensorErrors::default(), 0, false);
        sensors.measure(&turning(0.1), 0.0);
        let measured = sensors.measure(&turning(0.2), 0.7);
        assert_eq!(
            (measured.yaw_rate_rad_s, measured.steering_wheel_rad),
            (0.2, 0.7)
        );
        assert!(measured.inertial_came && measured.wheel_speeds_came && measured.steering_came);
    }

    #[test]
    fn a_delayed_value_comes_so_many_steps_later() {
        let errors = SensorErrors {
            delay_steps: 3.0,
            ..SensorErrors::default()
        };
        let mut sensors = Sensors::new(errors, 0, false);
        let seen: Vec<f64> = (0..8)
            .map(|step| {
                sensors
                    .measure(&turning(f64::from(step)), 0.0)
                    .yaw_rate_rad_s
            })
            .collect();
        assert_eq!(seen, [0.0, 0.0, 0.0, 0.0, 1.0, 2.0, 3.0, 4.0]);
    }

    #[test]
    fn steps_are_alike_on_both_sides_and_silent_wheels_read_zero() {
        assert_eq!(in_steps(0.26, 0.1), -in_steps(-0.26, 0.1));
        let errors = SensorErrors {
            wheel_speed_silence_rad_s: 2.6,
            ..SensorErrors::default()
        };
        let mut truth = turning(0.0);
        truth.wheel_speed_rad_s = PerWheel {
            front_left: 2.5,
            front_right: -5.0,
            rear_left: 3.0,
            rear_right: 0.0,
        };
        let seen = Sensors::new(errors, 0, false)
            .measure(&truth, 0.0)
            .wheel_speed_rad_s;
        assert_eq!(
            seen,
            PerWheel {
                front_left: 0.0,
                front_right: 5.0,
                rear_left: 3.0,
                rear_right: 0.0
            }
        );
    }

    #[test]
    fn clutch_pressures_are_noisy_stepped_and_late_and_never_come_without_a_sensor() {
        let errors = SensorErrors {
            pressure_sensors: 1.0,
            pressure_noise_pa: 8_000.0,
            pressure_step_pa: 5_000.0,
            delay_steps: 2.0,
            ..SensorErrors::default()
        };
        let mut sensors = Sensors::new(errors, 3, false);
        let mut truth = turning(0.0);
        let mut sum = PerSide::both(0.0);
        for step in 0..4_000 {
            truth.clutch_pressure_pa.left = if step < 10 { 0.0 } else { 1.0e6 };
            let seen = sensors.measure(&truth, 0.0);
            assert!(seen.pressures_came);
            let steps = seen.clutch_pressure_pa.map(|pa| pa / 5_000.0);
            assert!((steps.left - libm::round(steps.left)).abs() < 1e-9);
            if step < 12 {
                assert!(seen.clutch_pressure_pa.left < 0.1e6, "step {step}");
            } else {
                sum = sum.zip(seen.clutch_pressure_pa, |sum, pa| sum + pa / 3_988.0);
            }
        }
        // Four standard errors of the mean of 3,988 values with 8 kPa.
        assert!(
            (sum.left - 1.0e6).abs() < 510.0 && sum.right.abs() < 510.0,
            "{sum:?}"
        );
        let none = Sensors::new(SensorErrors::default(), 3, false).measure(&truth, 0.0);
        assert!(!none.pressures_came);
    }

    #[test]
    fn the_stated_share_of_messages_is_lost() {
        let errors = SensorErrors {
            loss_share: 0.1,
            ..SensorErrors::default()
        };
        let mut sensors = Sensors::new(errors, 5, false);
        let lost = (0..20_000)
            .filter(|_| !sensors.measure(&turning(0.0), 0.0).inertial_came)
            .count();
        // Three standard errors of a share of 0.1 in 20,000 draws.
        assert!((lost as f64 / 20_000.0 - 0.1).abs() < 0.0064, "{lost}");
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
