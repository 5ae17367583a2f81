//! Where the car is when it is not driving on a road: towed on an axle, on rollers or a jack, pushed through a wash.
//!
//! In: [`MonitorIn`]. Out: [`Situation`]. One axle turns while the other stands: without torque or brake after
//! `lifted_confirm_s`, under power above `bench_speed_m_s` only after `bench_confirm_s`, for a launch on ice looks the same and needs
//! its rear torque. In neutral with the accelerator closed at walking pace: pushed. A recognised tow or bench lasts until its axle
//! stands too or the other one turns; then `situation_heal_s`, and the clutches close from nothing within the rate bound.
//!
//! Limits: four wheels in the air or on four rollers look like four wheels on ice and are not told from them; at rest every
//! car looks alike. Common practice, no source; the numbers are guesses of the table.

use super::MonitorIn;
use crate::calibration;
use crate::numerics::Scalar;
use crate::numerics::filter::Debounce;
use crate::quantity::{PerSide, Period, Sensed};
use crate::signal::Situation;

/// Memory of the recognition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SituationState {
    /// It lasts long enough, or is gone long enough.
    pub lasting: Debounce,
    /// What is suspected or recognised.
    pub what: Situation,
}

/// The recognition with its calibration.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Situations<S> {
    lifted_rad_s: S,
    bench_rad_s: S,
    stands_rad_s: S,
    quiet_torque_nm: S,
    quiet_brake_bar: S,
    wash_speed_m_s: S,
    lifted_steps: u16,
    bench_steps: u16,
    heal_steps: u16,
}

/// Slower than this a wheel stands, m/s; below three times this many sensors are silent.
const STANDS_M_S: f32 = 0.3;
/// Accelerator below which it is closed.
const CLOSED: f32 = 0.05;

impl<S: Scalar> Situations<S> {
    /// The recognition of a calibration.
    pub fn new(
        tunables: &calibration::Monitor<S>,
        vehicle: &calibration::Vehicle<S>,
        period: Period,
    ) -> Self {
        // Sums of an axle's two wheels.
        let both = |speed_m_s: S| (speed_m_s + speed_m_s).over(vehicle.wheel_radius_m, S::ZERO);
        let steps = |time_s: S| period.steps(time_s).min(65_535) as u16;
        Self {
            lifted_rad_s: both(tunables.lifted_speed_m_s),
            bench_rad_s: both(tunables.bench_speed_m_s),
            stands_rad_s: both(S::of(STANDS_M_S)),
            quiet_torque_nm: tunables.quiet_torque_nm,
            quiet_brake_bar: tunables.quiet_brake_bar,
            wash_speed_m_s: tunables.wash_speed_m_s,
            lifted_steps: steps(tunables.lifted_confirm_s),
            bench_steps: steps(tunables.bench_confirm_s),
            heal_steps: steps(tunables.situation_heal_s),
        }
    }

    /// One step.
    #[inline(always)]
    pub fn step(&self, state: &mut SituationState, input: &MonitorIn<S>) -> Situation {
        let sum = |axle: PerSide<Sensed<S>>| {
            axle.left.or(S::ZERO).magnitude() + axle.right.or(S::ZERO).magnitude()
        };
        let front = sum(input.wheel_speed_rad_s.front());
        let rear = sum(input.wheel_speed_rad_s.rear());
        let one_stands = front.at_most(rear) < self.stands_rad_s;
        let neutral = input.gear.or(S::ONE) == S::ZERO;
        // The ordinary case: all wheels turn, a gear is in, and nothing was suspected.
        if !(neutral || one_stands || state.what != Situation::Road) {
            return Situation::Road;
        }
        // A copy of its own: what is lent must lie in memory.
        self.suspect(state, &{ *input }, front, rear, neutral)
    }

    #[cold]
    #[inline(never)]
    fn suspect(
        &self,
        state: &mut SituationState,
        input: &MonitorIn<S>,
        front: S,
        rear: S,
        neutral: bool,
    ) -> Situation {
        let (now, steps) = self.looks_like(state, input, front, rear, neutral);
        // One suspicion at a time: another begins once this one is over.
        if state.what == Situation::Road {
            state.what = now;
        }
        let seen = now != Situation::Road && now == state.what;
        let heal = if state.what == Situation::Pushed {
            1
        } else {
            self.heal_steps
        };
        let lasting = state.lasting.step(seen, u32::from(steps), u32::from(heal));
        if !(seen || lasting) {
            *state = SituationState::default();
        }
        if lasting { state.what } else { Situation::Road }
    }

    /// What it looks like in this step, and how many such steps count.
    fn looks_like(
        &self,
        state: &SituationState,
        input: &MonitorIn<S>,
        front: S,
        rear: S,
        neutral: bool,
    ) -> (Situation, u16) {
        let wheels = &input.wheel_speed_rad_s;
        let heard = wheels.front_left.is_fresh()
            && wheels.front_right.is_fresh()
            && wheels.rear_left.is_fresh()
            && wheels.rear_right.is_fresh();
        let braked = !(input.brake_bar.or(self.quiet_brake_bar) < self.quiet_brake_bar);
        let torque = input.carrier_torque_nm.or(S::ZERO).magnitude();
        let coasting = neutral || torque < self.quiet_torque_nm;
        let known = state.lasting.confirmed;
        let stands = |sum: S| sum < self.stands_rad_s;
        if heard && stands(front) && !stands(rear) {
            if known && state.what == Situation::Towed || rear > self.lifted_rad_s && !braked {
                return (Situation::Towed, self.lifted_steps);
            }
        } else if heard && stands(rear) && !stands(front) {
            if known && state.what == Situation::Bench {
                return (Situation::Bench, self.bench_steps);
            }
            if coasting && !braked && front > self.lifted_rad_s {
                return (Situation::Bench, self.lifted_steps);
            }
            if !braked && front > self.bench_rad_s {
                return (Situation::Bench, self.bench_steps);
            }
        }
        let closed = input.pedal.or(S::ONE) < S::of(CLOSED);
        if neutral && closed && input.speed_m_s.magnitude() < self.wash_speed_m_s {
            return (Situation::Pushed, self.lifted_steps);
        }
        (Situation::Road, self.lifted_steps)
    }
}
