//! What a message says by itself, and against the one before: a value that jumps further than it can is not believed.
//!
//! In: readings of two steps. Out: status and age as one number, whether a value jumped. A jump is a change beyond `rate` times
//! the longest age a fresh value may have; a value held since grows the bound with its age, so a true step is believed again after
//! the time it would have taken, and a broken one is lost after the holding time.

use super::Conditioned;
use crate::calibration;
use crate::numerics::Scalar;
use crate::quantity::Sensed;
use crate::signal::{Inputs, Reading};

/// Largest change of each kind of signal between two fresh values, in its unit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Jumps<S> {
    pub wheel_speed: Jump<S>,
    pub yaw_rate: Jump<S>,
    pub acceleration: Jump<S>,
    pub steering: Jump<S>,
    pub torque: Jump<S>,
    pub brake: Jump<S>,
}

/// Largest change of one signal.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Jump<S> {
    most: S,
}

impl<S: Scalar> Jump<S> {
    fn new(rate: S, longest_age_s: S) -> Self {
        Self {
            most: rate * longest_age_s,
        }
    }

    /// Whether a value is too far from what was last believed; `rate` is the largest change per second.
    pub fn is_beyond(&self, before: Sensed<S>, value: S, rate: S) -> bool {
        match before {
            Sensed::Fresh(last) => (value - last).magnitude() > self.most,
            Sensed::Held { value: last, age_s } => {
                (value - last).magnitude() > self.most + rate * age_s
            }
            Sensed::Lost => false,
        }
    }

    #[inline(always)]
    fn is_jump(&self, before: &Reading, now: &Reading) -> bool {
        let change = now.value - before.value;
        change.abs() > self.most.to_f32()
    }
}

impl<S: Scalar> Jumps<S> {
    pub fn new(tunables: &calibration::Conditioning<S>) -> Self {
        let jump = |rate: S| Jump::new(rate, tunables.longest_age_s);
        Self {
            wheel_speed: jump(tunables.wheel_speed_rate_rad_s2),
            yaw_rate: jump(tunables.yaw_rate_rate_rad_s2),
            acceleration: jump(tunables.acceleration_rate_m_s3),
            steering: jump(tunables.steering_rate_rad_s),
            torque: jump(tunables.torque_rate_nm_s),
            brake: jump(tunables.brake_rate_bar_s),
        }
    }

    /// Whether no reading, all of them good, is too far from what was last believed.
    #[cold]
    #[inline(never)]
    pub fn are_none_since(
        &self,
        tunables: &calibration::Conditioning<S>,
        before: &Conditioned<S>,
        now: &Inputs,
    ) -> bool {
        let good = Conditioned::fresh(now);
        let beyond = |jump: &Jump<S>, rate: S, before: Sensed<S>, now: Sensed<S>| {
            jump.is_beyond(before, now.or(S::ZERO), rate)
        };
        let wheels = before
            .wheel_speed_rad_s
            .zip(good.wheel_speed_rad_s, |before, now| {
                beyond(
                    &self.wheel_speed,
                    tunables.wheel_speed_rate_rad_s2,
                    before,
                    now,
                )
            });
        !(wheels.front_left
            || wheels.front_right
            || wheels.rear_left
            || wheels.rear_right
            || beyond(
                &self.yaw_rate,
                tunables.yaw_rate_rate_rad_s2,
                before.yaw_rate_rad_s,
                good.yaw_rate_rad_s,
            )
            || beyond(
                &self.acceleration,
                tunables.acceleration_rate_m_s3,
                before.lateral_acceleration_m_s2,
                good.lateral_acceleration_m_s2,
            )
            || beyond(
                &self.acceleration,
                tunables.acceleration_rate_m_s3,
                before.longitudinal_acceleration_m_s2,
                good.longitudinal_acceleration_m_s2,
            )
            || beyond(
                &self.steering,
                tunables.steering_rate_rad_s,
                before.steering_wheel_rad,
                good.steering_wheel_rad,
            )
            || beyond(
                &self.torque,
                tunables.torque_rate_nm_s,
                before.carrier_torque_nm,
                good.carrier_torque_nm,
            )
            || beyond(
                &self.torque,
                tunables.torque_rate_nm_s,
                before.carrier_torque_wanted_nm,
                good.carrier_torque_wanted_nm,
            )
            || beyond(
                &self.brake,
                tunables.brake_rate_bar_s,
                before.brake_bar,
                good.brake_bar,
            ))
    }

    /// Whether nothing jumped between two steps whose readings are all good.
    #[inline(always)]
    pub fn are_none(&self, before: &Inputs, now: &Inputs) -> bool {
        let wheel = &self.wheel_speed;
        !(wheel.is_jump(&before.wheel_speed_front_left, &now.wheel_speed_front_left)
            || wheel.is_jump(
                &before.wheel_speed_front_right,
                &now.wheel_speed_front_right,
            )
            || wheel.is_jump(&before.wheel_speed_rear_left, &now.wheel_speed_rear_left)
            || wheel.is_jump(&before.wheel_speed_rear_right, &now.wheel_speed_rear_right)
            || self.yaw_rate.is_jump(&before.yaw_rate, &now.yaw_rate)
            || self
                .acceleration
                .is_jump(&before.lateral_acceleration, &now.lateral_acceleration)
            || self.acceleration.is_jump(
                &before.longitudinal_acceleration,
                &now.longitudinal_acceleration,
            )
            || self
                .steering
                .is_jump(&before.steering_wheel_angle, &now.steering_wheel_angle)
            || self
                .torque
                .is_jump(&before.carrier_torque, &now.carrier_torque)
            || self
                .torque
                .is_jump(&before.carrier_torque_wanted, &now.carrier_torque_wanted)
            || self
                .brake
                .is_jump(&before.brake_pressure, &now.brake_pressure))
    }
}

#[inline(always)]
pub(super) fn readings(input: &Inputs) -> [&Reading; 19] {
    [
        &input.wheel_speed_front_left,
        &input.wheel_speed_front_right,
        &input.wheel_speed_rear_left,
        &input.wheel_speed_rear_right,
        &input.yaw_rate,
        &input.lateral_acceleration,
        &input.longitudinal_acceleration,
        &input.steering_wheel_angle,
        &input.accelerator_pedal,
        &input.brake_pressure,
        &input.carrier_torque,
        &input.carrier_torque_wanted,
        &input.gear,
        &input.ambient_temperature,
        &input.rear_torque_cap,
        &input.yaw_moment_cap,
        &input.open_now,
        &input.anti_lock_active,
        &input.stability_active,
    ]
}

/// Status and age as one number.
#[inline(always)]
pub(super) fn word(reading: &Reading) -> u32 {
    u32::from(reading.status.0) << 16 | u32::from(reading.age_ms)
}
