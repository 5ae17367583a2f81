//! Admission of inputs: every value becomes fresh, held or lost.
//!
//! A reading is good when its sender vouches for it, it is young enough, finite, inside its believable range and no further from the
//! last one than the signal can change (`message`). A good
//! reading is fresh; without one the last good value is held for a time, then it is lost. Nothing that is not finite
//! passes. In: [`Inputs`]. Out: [`Conditioned`].

mod message;

use super::Stage;
use crate::calibration;
use crate::numerics::Scalar;
use crate::quantity::{PerSide, PerWheel, Sensed};
use crate::signal::inputs::{lies_inside, range};
use crate::signal::{Inputs, Reading, Status};
use message::{Jump, Jumps, readings, word};

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

impl<S: Scalar> Conditioned<S> {
    /// Readings that are all good.
    #[inline(always)]
    pub(crate) fn fresh(input: &Inputs) -> Self {
        // What lies inside a range is a number.
        let fresh = |reading: &Reading| Sensed::Fresh(S::of_number(reading.value));
        Self {
            wheel_speed_rad_s: PerWheel {
                front_left: fresh(&input.wheel_speed_front_left),
                front_right: fresh(&input.wheel_speed_front_right),
                rear_left: fresh(&input.wheel_speed_rear_left),
                rear_right: fresh(&input.wheel_speed_rear_right),
            },
            yaw_rate_rad_s: fresh(&input.yaw_rate),
            lateral_acceleration_m_s2: fresh(&input.lateral_acceleration),
            longitudinal_acceleration_m_s2: fresh(&input.longitudinal_acceleration),
            steering_wheel_rad: fresh(&input.steering_wheel_angle),
            pedal: fresh(&input.accelerator_pedal),
            brake_bar: fresh(&input.brake_pressure),
            carrier_torque_nm: fresh(&input.carrier_torque),
            carrier_torque_wanted_nm: fresh(&input.carrier_torque_wanted),
            gear: fresh(&input.gear),
            ambient_degc: fresh(&input.ambient_temperature),
            rear_torque_cap_nm: fresh(&input.rear_torque_cap),
            yaw_moment_cap_nm: fresh(&input.yaw_moment_cap),
            open_now: fresh(&input.open_now),
            anti_lock_active: fresh(&input.anti_lock_active),
            stability_active: fresh(&input.stability_active),
        }
    }
}

/// What the stage remembers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kept<S> {
    /// All readings were good: they themselves.
    AllFresh(Inputs),
    /// Some were not.
    OneByOne(Conditioned<S>),
}

impl<S: Scalar> Default for Kept<S> {
    fn default() -> Self {
        Self::OneByOne(Conditioned::default())
    }
}

impl<S: Scalar> Kept<S> {
    /// Every input as it was seen in the last step.
    pub fn seen(&self) -> Conditioned<S> {
        match self {
            Self::AllFresh(inputs) => Conditioned::fresh(inputs),
            Self::OneByOne(seen) => *seen,
        }
    }
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Conditioning<S> {
    /// Its calibration.
    pub tunables: calibration::Conditioning<S>,
    /// A value older than this is not fresh, ms; the tunable in whole milliseconds.
    pub longest_age_ms: u16,
    jumps: Jumps<S>,
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
            jumps: Jumps::new(&tunables),
        }
    }

    /// Every reading as fresh, if every single one is good: what a step with nothing missing pays. Clutch pressures do
    /// not count: not every car has the sensors.
    #[inline(always)]
    pub fn all_fresh(&self, before: &Kept<S>, input: &Inputs) -> Option<Conditioned<S>> {
        if !self.are_all_in_time(input) {
            return None;
        }
        let good = |reading: &Reading, believable| lies_inside(reading.value, believable);
        let all = good(&input.wheel_speed_front_left, range::wheel_speed_front_left)
            && good(
                &input.wheel_speed_front_right,
                range::wheel_speed_front_right,
            )
            && good(&input.wheel_speed_rear_left, range::wheel_speed_rear_left)
            && good(&input.wheel_speed_rear_right, range::wheel_speed_rear_right)
            && good(&input.yaw_rate, range::yaw_rate)
            && good(&input.lateral_acceleration, range::lateral_acceleration)
            && good(
                &input.longitudinal_acceleration,
                range::longitudinal_acceleration,
            )
            && good(&input.steering_wheel_angle, range::steering_wheel_angle)
            && good(&input.accelerator_pedal, range::accelerator_pedal)
            && good(&input.brake_pressure, range::brake_pressure)
            && good(&input.carrier_torque, range::carrier_torque)
            && good(&input.carrier_torque_wanted, range::carrier_torque_wanted)
            && good(&input.gear, range::gear)
            && good(&input.ambient_temperature, range::ambient_temperature)
            && good(&input.rear_torque_cap, range::rear_torque_cap)
            && good(&input.yaw_moment_cap, range::yaw_moment_cap)
            && good(&input.open_now, range::open_now)
            && good(&input.anti_lock_active, range::anti_lock_active)
            && good(&input.stability_active, range::stability_active);
        let none_jumped = |before: &Kept<S>| match before {
            Kept::AllFresh(before) => self.jumps.are_none(before, input),
            Kept::OneByOne(before) => self.jumps.are_none_since(&self.tunables, before, input),
        };
        if !(all && none_jumped(before)) {
            return None;
        }
        Some(Conditioned::fresh(input))
    }

    /// Pressures at the clutches' pistons, bar: apart from all others, for not every car has the sensors.
    #[inline(always)]
    pub fn pressures(&self, place: &mut PerSide<Sensed<S>>, input: &Inputs, period_s: S) {
        let (left, right) = (range::clutch_pressure_left, range::clutch_pressure_right);
        let (one, other) = (&input.clutch_pressure_left, &input.clutch_pressure_right);
        self.admit(&mut place.left, one, left, None, period_s);
        self.admit(&mut place.right, other, right, None, period_s);
    }

    /// Whether that holds of all readings.
    #[inline(always)]
    fn are_all_in_time(&self, input: &Inputs) -> bool {
        // All at once first: no age is larger than all ages' bits together, and a status that all have is the only one.
        let (any, every) = readings(input)
            .into_iter()
            .map(word)
            .fold((0, u32::MAX), |(any, every), word| {
                (any | word, every & word)
            });
        let valid = u32::from(Status::VALID.0);
        let together = any.wrapping_sub(valid << 16) <= u32::from(self.longest_age_ms);
        (together && every >> 16 == valid) || self.are_one_by_one(input)
    }

    #[cold]
    #[inline(never)]
    fn are_one_by_one(&self, input: &Inputs) -> bool {
        readings(input).into_iter().all(|one| self.is_in_time(one))
    }

    /// Whether the sender vouches for a reading and it is young enough.
    #[inline(always)]
    fn is_in_time(&self, reading: &Reading) -> bool {
        // Below and beyond the valid ones the word is larger than any age.
        word(reading).wrapping_sub(u32::from(Status::VALID.0) << 16)
            <= u32::from(self.longest_age_ms)
    }

    fn admit(
        &self,
        place: &mut Sensed<S>,
        reading: &Reading,
        believable: (f32, f32),
        jump: Option<(&Jump<S>, S)>,
        period_s: S,
    ) {
        if self.is_in_time(reading) && lies_inside(reading.value, believable) {
            // What lies inside a range is a number.
            let value = S::of_number(reading.value);
            if !jump.is_some_and(|(jump, rate)| jump.is_beyond(*place, value, rate)) {
                *place = Sensed::Fresh(value);
                return;
            }
        }
        self.hold(place, period_s);
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
    type State = Kept<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let mut seen = state.seen();
        let jumps = &self.jumps;
        let wheel = &mut seen.wheel_speed_rad_s;
        macro_rules! admit {
            ( $place:expr, $signal:ident ) => {
                self.admit(&mut $place, &input.$signal, range::$signal, None, period_s)
            };
            ( $place:expr, $signal:ident, $jump:ident, $rate:ident ) => {
                self.admit(
                    &mut $place,
                    &input.$signal,
                    range::$signal,
                    Some((&jumps.$jump, self.tunables.$rate)),
                    period_s,
                )
            };
        }
        admit!(
            wheel.front_left,
            wheel_speed_front_left,
            wheel_speed,
            wheel_speed_rate_rad_s2
        );
        admit!(
            wheel.front_right,
            wheel_speed_front_right,
            wheel_speed,
            wheel_speed_rate_rad_s2
        );
        admit!(
            wheel.rear_left,
            wheel_speed_rear_left,
            wheel_speed,
            wheel_speed_rate_rad_s2
        );
        admit!(
            wheel.rear_right,
            wheel_speed_rear_right,
            wheel_speed,
            wheel_speed_rate_rad_s2
        );
        admit!(
            seen.yaw_rate_rad_s,
            yaw_rate,
            yaw_rate,
            yaw_rate_rate_rad_s2
        );
        admit!(
            seen.lateral_acceleration_m_s2,
            lateral_acceleration,
            acceleration,
            acceleration_rate_m_s3
        );
        admit!(
            seen.longitudinal_acceleration_m_s2,
            longitudinal_acceleration,
            acceleration,
            acceleration_rate_m_s3
        );
        admit!(
            seen.steering_wheel_rad,
            steering_wheel_angle,
            steering,
            steering_rate_rad_s
        );
        admit!(seen.brake_bar, brake_pressure, brake, brake_rate_bar_s);
        admit!(
            seen.carrier_torque_nm,
            carrier_torque,
            torque,
            torque_rate_nm_s
        );
        admit!(
            seen.carrier_torque_wanted_nm,
            carrier_torque_wanted,
            torque,
            torque_rate_nm_s
        );
        admit!(seen.pedal, accelerator_pedal);
        admit!(seen.gear, gear);
        admit!(seen.ambient_degc, ambient_temperature);
        admit!(seen.rear_torque_cap_nm, rear_torque_cap);
        admit!(seen.yaw_moment_cap_nm, yaw_moment_cap);
        admit!(seen.open_now, open_now);
        admit!(seen.anti_lock_active, anti_lock_active);
        admit!(seen.stability_active, stability_active);
        *state = Kept::OneByOne(seen);
        seen
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Tunables;
    use crate::signal::INPUT_SIGNALS;

    fn stage() -> Conditioning<f32> {
        Conditioning::new(Tunables::DEFAULT.conditioning)
    }

    #[test]
    fn a_value_that_is_not_a_number_is_held_then_lost() {
        let stage = stage();
        let mut state = Kept::default();
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
        assert_eq!(state.seen().yaw_rate_rad_s, Sensed::Lost);
        inputs.yaw_rate = Reading::fresh(0.1);
        assert_eq!(
            stage.step(&mut state, &inputs, 0.005).yaw_rate_rad_s,
            Sensed::Fresh(0.1)
        );
    }

    #[test]
    fn bits_tell_what_lies_inside_a_range_as_comparisons_do() {
        for signal in INPUT_SIGNALS {
            let (low, high) = (signal.low, signal.high);
            assert!(low <= 0.0 && 0.0 < high, "{}", signal.name);
            for step in 0..=0xffff_u32 {
                let value = f32::from_bits(step << 16 | step);
                let around = [value, low, high].map(f32::to_bits);
                for bits in around
                    .into_iter()
                    .flat_map(|b| [b.wrapping_sub(1), b, b.wrapping_add(1)])
                {
                    let value = f32::from_bits(bits);
                    let inside = low <= value && value <= high;
                    assert_eq!(
                        lies_inside(value, (low, high)),
                        inside,
                        "{} {value}",
                        signal.name
                    );
                }
            }
        }
    }

    #[test]
    fn all_fresh_says_what_the_step_says_or_nothing() {
        let stage = stage();
        let good = INPUT_SIGNALS
            .iter()
            .fold(Inputs::default(), |mut inputs, signal| {
                (signal.write)(&mut inputs, Reading::fresh(signal.high));
                inputs
            });
        let expected = stage.step(&mut Kept::default(), &good, 0.005);
        let before = Kept::AllFresh(good);
        assert_eq!(stage.all_fresh(&before, &good), Some(expected));
        for signal in INPUT_SIGNALS {
            // Not every car has these.
            let optional = signal.name.starts_with("clutch_pressure");
            let old = Reading {
                age_ms: 31,
                ..Reading::fresh(signal.high)
            };
            for bad in [
                Reading::missing(),
                Reading::fresh(f32::NAN),
                Reading::fresh(signal.high * 1.01),
                old,
            ] {
                let mut inputs = good;
                (signal.write)(&mut inputs, bad);
                let wanted = optional.then_some(expected);
                let found = stage.all_fresh(&before, &inputs);
                assert_eq!(found, wanted, "{}", signal.name);
            }
        }
    }

    #[test]
    fn zeroed_memory_is_lost_not_zero() {
        let out = stage().step(&mut Kept::default(), &Inputs::default(), 0.005);
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
        let out = stage().step(&mut Kept::default(), &old, 0.005);
        assert!(out.yaw_rate_rad_s.is_lost());
        assert!(out.pedal.is_lost());
    }
}
