//! Admission of inputs: every value becomes fresh, held or lost.
//!
//! A reading is good when its sender vouches for it, it is young enough, finite and inside its believable range. A good
//! reading is fresh; without one the last good value is held for a time, then it is lost. Nothing that is not finite
//! passes. In: [`Inputs`]. Out: [`Conditioned`], which is also the state.

use super::Stage;
use crate::calibration;
use crate::numerics::Scalar;
use crate::quantity::{PerWheel, Sensed};
use crate::signal::inputs::range;
use crate::signal::{Inputs, Reading, Status};

/// Every input as far as it can be believed; units as in [`Inputs`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Conditioned<S> {
    /// Wheel speeds, rad/s.
    pub wheel_speed_rad_s: PerWheel<Sensed<S>>,
    /// Yaw rate, rad/s, positive to the left.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Lateral specific force, m/s2, positive to the left.
    pub lateral_acceleration_m_s2: Sensed<S>,
    /// Longitudinal specific force, m/s2.
    pub longitudinal_acceleration_m_s2: Sensed<S>,
    /// Steering-wheel angle, rad, positive to the left.
    pub steering_wheel_rad: Sensed<S>,
    /// Accelerator position, 0 to 1.
    pub pedal: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Powertrain torque at the carrier, Nm.
    pub carrier_torque_nm: Sensed<S>,
    /// Powertrain torque the driver asks for, Nm.
    pub carrier_torque_wanted_nm: Sensed<S>,
    /// Gear, -1 reverse, 0 neutral.
    pub gear: Sensed<S>,
    /// Air temperature, degC.
    pub ambient_degc: Sensed<S>,
    /// Master's cap on the rear torque, Nm.
    pub rear_torque_cap_nm: Sensed<S>,
    /// Master's cap on the yaw moment, Nm.
    pub yaw_moment_cap_nm: Sensed<S>,
    /// Master's order to open.
    pub open_now: Sensed<S>,
    /// Anti-lock braking at work.
    pub anti_lock_active: Sensed<S>,
    /// Brake-based stability control at work.
    pub stability_active: Sensed<S>,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditioning<S> {
    /// Its calibration.
    pub tunables: calibration::Conditioning<S>,
    /// A value older than this is not fresh, ms; the tunable in whole milliseconds.
    longest_age_ms: u16,
}

impl<S: Scalar> Conditioning<S> {
    /// The stage of a calibration.
    pub fn new(tunables: calibration::Conditioning<S>) -> Self {
        let young = |age_ms: i64| S::from_whole(age_ms) * S::of(0.001) <= tunables.longest_age_s;
        let near = tunables
            .longest_age_s
            .over(S::of(0.001), S::ZERO)
            .to_whole()
            .clamp(1, 65_534);
        // Whole milliseconds decide as the tunable in seconds does, to the last bit.
        let longest = if young(near.wrapping_add(1)) {
            near.wrapping_add(1)
        } else if young(near) {
            near
        } else {
            near.wrapping_sub(1)
        };
        Self {
            tunables,
            longest_age_ms: longest as u16,
        }
    }

    fn admit(&self, place: &mut Sensed<S>, reading: &Reading, believable: (f32, f32), period_s: S) {
        let inside = believable.0 <= reading.value && reading.value <= believable.1;
        // Status and age as one number: below and beyond the valid ones it is larger than any age.
        let word = u32::from(reading.status.0) << 16 | u32::from(reading.age_ms);
        let valid_age = word.wrapping_sub(u32::from(Status::VALID.0) << 16);
        if valid_age <= u32::from(self.longest_age_ms) && inside {
            // What lies inside a range is a number.
            *place = Sensed::Fresh(S::of_number(reading.value));
        } else {
            self.hold(place, period_s);
        }
    }

    /// Apart, so that good readings do not carry its cost.
    #[cold]
    #[inline(never)]
    fn hold(&self, place: &mut Sensed<S>, period_s: S) {
        let (value, age_s) = match *place {
            Sensed::Fresh(value) => (value, period_s),
            Sensed::Held { value, age_s } => (value, age_s + period_s),
            Sensed::Lost => return,
        };
        *place = if age_s <= self.tunables.hold_time_s {
            Sensed::Held { value, age_s }
        } else {
            Sensed::Lost
        };
    }
}

impl<S: Scalar> Stage<S> for Conditioning<S> {
    type In = Inputs;
    type Out = Conditioned<S>;
    type State = Conditioned<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let admit = |place: &mut Sensed<S>, reading: &Reading, believable| {
            self.admit(place, reading, believable, period_s);
        };
        let wheel = &mut state.wheel_speed_rad_s;
        admit(
            &mut wheel.front_left,
            &input.wheel_speed_front_left,
            range::wheel_speed_front_left,
        );
        admit(
            &mut wheel.front_right,
            &input.wheel_speed_front_right,
            range::wheel_speed_front_right,
        );
        admit(
            &mut wheel.rear_left,
            &input.wheel_speed_rear_left,
            range::wheel_speed_rear_left,
        );
        admit(
            &mut wheel.rear_right,
            &input.wheel_speed_rear_right,
            range::wheel_speed_rear_right,
        );
        admit(&mut state.yaw_rate_rad_s, &input.yaw_rate, range::yaw_rate);
        admit(
            &mut state.lateral_acceleration_m_s2,
            &input.lateral_acceleration,
            range::lateral_acceleration,
        );
        admit(
            &mut state.longitudinal_acceleration_m_s2,
            &input.longitudinal_acceleration,
            range::longitudinal_acceleration,
        );
        admit(
            &mut state.steering_wheel_rad,
            &input.steering_wheel_angle,
            range::steering_wheel_angle,
        );
        admit(
            &mut state.pedal,
            &input.accelerator_pedal,
            range::accelerator_pedal,
        );
        admit(
            &mut state.brake_bar,
            &input.brake_pressure,
            range::brake_pressure,
        );
        admit(
            &mut state.carrier_torque_nm,
            &input.carrier_torque,
            range::carrier_torque,
        );
        admit(
            &mut state.carrier_torque_wanted_nm,
            &input.carrier_torque_wanted,
            range::carrier_torque_wanted,
        );
        admit(&mut state.gear, &input.gear, range::gear);
        admit(
            &mut state.ambient_degc,
            &input.ambient_temperature,
            range::ambient_temperature,
        );
        admit(
            &mut state.rear_torque_cap_nm,
            &input.rear_torque_cap,
            range::rear_torque_cap,
        );
        admit(
            &mut state.yaw_moment_cap_nm,
            &input.yaw_moment_cap,
            range::yaw_moment_cap,
        );
        admit(&mut state.open_now, &input.open_now, range::open_now);
        admit(
            &mut state.anti_lock_active,
            &input.anti_lock_active,
            range::anti_lock_active,
        );
        admit(
            &mut state.stability_active,
            &input.stability_active,
            range::stability_active,
        );
        *state
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Tunables;

    fn stage() -> Conditioning<f32> {
        Conditioning::new(Tunables::DEFAULT.conditioning)
    }

    #[test]
    fn a_value_that_is_not_a_number_is_held_then_lost() {
        let stage = stage();
        let mut state = Conditioned::default();
        let mut inputs = Inputs {
            yaw_rate: Reading::fresh(0.5),
            ..Inputs::default()
        };
        assert_eq!(
            stage.step(&mut state, &inputs, 0.005).yaw_rate_rad_s,
            Sensed::Fresh(0.5)
        );
        inputs.yaw_rate = Reading::fresh(f32::NAN);
        assert!(matches!(
            stage.step(&mut state, &inputs, 0.005).yaw_rate_rad_s,
            Sensed::Held { .. }
        ));
        for _ in 0..40 {
            stage.step(&mut state, &inputs, 0.005);
        }
        assert_eq!(state.yaw_rate_rad_s, Sensed::Lost);
        inputs.yaw_rate = Reading::fresh(0.1);
        assert_eq!(
            stage.step(&mut state, &inputs, 0.005).yaw_rate_rad_s,
            Sensed::Fresh(0.1)
        );
    }

    #[test]
    fn zeroed_memory_is_lost_not_zero() {
        let out = stage().step(&mut Conditioned::default(), &Inputs::default(), 0.005);
        assert_eq!(out, Conditioned::default());
        assert!(out.wheel_speed_rad_s.front_left.is_lost());
    }

    #[test]
    fn an_old_or_unbelievable_value_is_not_fresh() {
        let old = Inputs {
            yaw_rate: Reading {
                value: 0.5,
                age_ms: 31,
                status: Status::VALID,
            },
            accelerator_pedal: Reading::fresh(1.01),
            ..Inputs::default()
        };
        let out = stage().step(&mut Conditioned::default(), &old, 0.005);
        assert!(out.yaw_rate_rad_s.is_lost());
        assert!(out.pedal.is_lost());
    }
}
