//! The default numbers of every manoeuvre, and sensors that tell the truth.
//!
//! In: the manoeuvre. Out: what differs from the table's own defaults, with the reason where there is one.

use super::{Manoeuvre, Numbers, SensorNumbers, friction_step_road};

impl Numbers {
    /// The default numbers of a manoeuvre.
    pub fn of(manoeuvre: Manoeuvre) -> Self {
        let mut numbers = Self::default();
        match manoeuvre {
            Manoeuvre::SplitLaunch => {
                numbers.road.friction_left = 0.1;
                numbers.road.friction_right = 0.9;
                numbers.course.longest_s = 15.0;
                numbers.driver.action_s = 0.2;
            }
            Manoeuvre::PowerOnExit => {
                numbers.course.radius_m = 40.0;
                numbers.course.speed_m_s = 15.0;
                // Chosen so that the car with open clutches, staying within 1 m of its path, reaches about 20 m/s.
                numbers.course.unwind_m = 100.0;
                numbers.course.longest_s = 4.2;
            }
            Manoeuvre::StepSteer => {
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.longest_s = 5.0;
            }
            Manoeuvre::LiftOff => {
                numbers.course.lateral_acceleration_m_s2 = 6.5;
                numbers.course.longest_s = 4.0;
            }
            Manoeuvre::ConstantRadius => {
                numbers.course.speed_m_s = 8.0;
                numbers.course.longest_s = 200.0;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::SkarnPass => {
                numbers.road.ambient_degc = 8.0;
                numbers.course.speed_m_s = 14.0;
                numbers.course.lateral_acceleration_m_s2 = 5.5;
                numbers.course.longest_s = 600.0;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::TrailerSway => {
                numbers.load.trailer_mass_kg = 1300.0;
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.lateral_acceleration_m_s2 = 3.0;
                numbers.course.longest_s = 8.0;
            }
            Manoeuvre::SplitBrake => {
                numbers.road.friction_left = 0.1;
                numbers.road.friction_right = 0.9;
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.longest_s = 20.0;
                numbers.driver.action_s = 0.5;
            }
            Manoeuvre::Park => {
                numbers.course.speed_m_s = 1.2;
                numbers.driver.action_s = 0.2;
                numbers.driver.pedal = 0.5;
            }
            Manoeuvre::Cruise => {
                numbers.course.speed_m_s = 120.0 / 3.6;
                numbers.course.longest_s = 30.0;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::Release => {
                numbers.course.speed_m_s = 60.0 / 3.6;
                numbers.road.friction_left = 0.4;
                numbers.road.friction_right = 0.4;
                // No front spin under this power, so that every axle brakes out of the same acceleration.
                numbers.driver.pedal = 0.33;
                numbers.driver.action_s = 1.5;
                numbers.course.longest_s = 15.0;
            }
            Manoeuvre::StraightAhead => {
                numbers.course.speed_m_s = 120.0 / 3.6;
                numbers.course.speed_rise_m_s2 = 0.0;
                numbers.course.longest_s = 6.5;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::DoubleLaneChange => {}
            Manoeuvre::Disturbance => {
                numbers.course.speed_m_s = 120.0 / 3.6;
                numbers.course.speed_rise_m_s2 = 0.0;
                numbers.course.longest_s = 3.0;
                numbers.driver.action_s = 0.5;
                numbers.driver.brake = 0.0;
                // A middle gear; chosen.
                numbers.driver.gear_drag_share = 0.3;
            }
            // A middle gear, as ISO 3888-2 asks for enough engine speed (from memory); the share is chosen.
            Manoeuvre::ObstacleAvoidance => numbers.driver.gear_drag_share = 0.3,
            Manoeuvre::SnowLaneChange => {
                numbers.road.friction_left = 0.3;
                numbers.road.friction_right = 0.3;
                numbers.road.ambient_degc = -5.0;
            }
            Manoeuvre::FrictionStep => {
                numbers.road.friction_left = friction_step_road::GOOD;
                numbers.road.friction_right = friction_step_road::GOOD;
                numbers.course.radius_m = friction_step_road::RADIUS_M;
                // Just within what the slippery stretch holds: 2.9 of 2.94 m/s2.
                numbers.course.speed_m_s = 17.0;
                numbers.course.longest_s = 25.0;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::SlideHold => {
                numbers.course.radius_m = 25.0;
                numbers.course.speed_m_s = 14.0;
                // Some 4 s to come into the slide, 30 s to hold it, and a little more.
                numbers.course.longest_s = 38.0;
            }
            Manoeuvre::ClosingBend => {
                numbers.course.radius_m = 60.0;
                numbers.course.speed_m_s = 24.0;
                numbers.course.longest_s = 25.0;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::RepeatedLaunches => {
                numbers.road.friction_left = 0.1;
                numbers.road.friction_right = 0.9;
                numbers.road.grade_percent = 20.0;
                // Twenty minutes of abuse, seven of rest.
                numbers.course.longest_s = 1650.0;
                numbers.driver.action_s = 0.2;
            }
            Manoeuvre::TipIn => {
                numbers.course.speed_m_s = 30.0 / 3.6;
                numbers.course.longest_s = 4.0;
                numbers.driver.pedal = 0.4;
                numbers.driver.pedal_rise_s = 0.1;
                numbers.driver.action_s = 1.5;
            }
            Manoeuvre::SineWithDwell => {
                numbers.course.speed_m_s = 80.0 / 3.6;
                // Ends 1.75 s after completion of steer and a little more, so that the end of the record filters nothing.
                numbers.course.longest_s = 6.5;
                numbers.driver.action_s = 2.0;
                // High gear: about a fifth of the lowest gear's ratio (common practice, no source).
                numbers.driver.gear_drag_share = 0.2;
            }
            Manoeuvre::OnePeriodSine => {
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.longest_s = 5.5;
            }
            // Small enough for an answer that is nearly linear; chosen.
            Manoeuvre::SteeringPulse => {
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.lateral_acceleration_m_s2 = 2.0;
                numbers.course.longest_s = 5.5;
            }
            Manoeuvre::ContinuousSine => {
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.lateral_acceleration_m_s2 = 2.0;
                numbers.course.longest_s = 58.0;
            }
            Manoeuvre::RandomSteering => {
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.lateral_acceleration_m_s2 = 2.0;
                numbers.course.longest_s = 123.0;
            }
            Manoeuvre::FrequencySweep => {
                numbers.course.speed_m_s = 100.0 / 3.6;
                numbers.course.lateral_acceleration_m_s2 = 2.0;
                numbers.course.longest_s = 34.0;
            }
            Manoeuvre::ConstantSpeed => {
                numbers.course.speed_m_s = 80.0 / 3.6;
                // The linear car's: the real one saturates before.
                numbers.course.lateral_acceleration_m_s2 = 11.0;
                numbers.course.longest_s = 76.0;
            }
            Manoeuvre::ConstantSteering => {
                numbers.course.speed_m_s = 5.0;
                numbers.course.radius_m = 40.0;
                numbers.course.longest_s = 150.0;
                numbers.driver.action_s = 0.0;
            }
            Manoeuvre::BrakingInTurn => {
                numbers.course.lateral_acceleration_m_s2 = 5.0;
                numbers.course.longest_s = 3.5;
            }
        }
        numbers
    }
}

impl SensorNumbers {
    /// Sensors that tell the truth at once.
    pub fn ideal() -> Self {
        Self {
            yaw_rate_noise_rad_s: 0.0,
            acceleration_noise_m_s2: 0.0,
            wheel_speed_noise_rad_s: 0.0,
            steering_noise_rad: 0.0,
            yaw_rate_bias_rad_s: 0.0,
            yaw_rate_scale: 0.0,
            yaw_rate_step_rad_s: 0.0,
            acceleration_step_m_s2: 0.0,
            wheel_speed_step_rad_s: 0.0,
            steering_step_rad: 0.0,
            wheel_speed_silence_rad_s: 0.0,
            delay_steps: 0.0,
            jitter_share: 0.0,
            loss_share: 0.0,
            pressure_sensors: 1.0,
            pressure_noise_pa: 0.0,
            pressure_step_pa: 0.0,
        }
    }
}
