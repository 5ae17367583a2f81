//! Memory over time: lag, slew, hysteresis, debounce, limited integrator.
//!
//! Each is a small `Copy` state with one `step`; the period is always an argument, so that no hidden clock exists.

use super::Scalar;

/// First-order lag `y' = (x - y) / time constant`, backward Euler: stable for every period.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lag<S> {
    /// Present output, in the unit of the input.
    pub value: S,
}

impl<S: Scalar> Lag<S> {
    /// A lag resting at `value`.
    pub fn at(value: S) -> Self {
        Self { value }
    }

    /// Moves towards `target`; a target that is not finite leaves the output where it is.
    pub fn step(&mut self, target: S, time_constant_s: S, period_s: S) -> S {
        self.follow(target, lag_share(time_constant_s, period_s))
    }

    /// One step by a share of [`lag_share`] worked out beforehand.
    pub fn follow(&mut self, target: S, share: S) -> S {
        if target.is_finite() {
            self.follow_number(target, share)
        } else {
            self.value
        }
    }

    /// The same towards a target that is a number of ordinary size, such as one clipped to a range: nothing to check.
    pub fn follow_number(&mut self, target: S, share: S) -> S {
        self.value = self.value + (target - self.value) * share;
        self.value
    }
}

/// Share of the way that a first-order lag goes in one step.
pub fn lag_share<S: Scalar>(time_constant_s: S, period_s: S) -> S {
    period_s.over(time_constant_s.at_least(S::ZERO) + period_s, S::ONE)
}

/// Share of a memory that fades in one step, 0 to 1.
pub fn fading_share<S: Scalar>(memory_s: S, period_s: S) -> S {
    period_s.over(memory_s, S::ONE).up_to(S::ONE)
}

/// `target`, but no further from `from` than the given changes.
pub fn slewed<S: Scalar>(from: S, target: S, largest_fall: S, largest_rise: S) -> S {
    target.within(
        from - largest_fall.at_least(S::ZERO),
        from + largest_rise.at_least(S::ZERO),
    )
}

/// Two-threshold switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hysteresis {
    /// Whether the switch is on.
    pub on: bool,
}

impl Hysteresis {
    /// On above `upper`, off below `lower`, unchanged between; NaN switches on, the cautious side for a limit.
    pub fn step<S: Scalar>(&mut self, value: S, lower: S, upper: S) -> bool {
        if value < lower {
            self.on = false;
        } else if !(value < upper) {
            self.on = true;
        }
        self.on
    }
}

/// A condition must hold for a time before it counts, and be gone for another before it is forgotten.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Debounce {
    /// Steps counted towards the limit; 60 s of 1 ms fit.
    pub count: u16,
    /// Whether the condition counts.
    pub confirmed: bool,
}

impl Debounce {
    /// One step with the condition `seen`; `confirm` and `heal` are step counts.
    pub fn step(&mut self, seen: bool, confirm: u32, heal: u32) -> bool {
        if seen == self.confirmed {
            self.count = 0;
        } else {
            self.count = self.count.saturating_add(1);
            let needed = if seen { confirm } else { heal };
            if u32::from(self.count) >= needed {
                self.confirmed = seen;
                self.count = 0;
            }
        }
        self.confirmed
    }
}

/// Integral of an error with limits; a held integrator keeps its value exactly.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Integrator<S> {
    /// Present integral.
    pub value: S,
}

impl<S: Scalar> Integrator<S> {
    /// Adds `rate * period` within `-limit..=limit`; a rate that is not finite adds nothing.
    pub fn step(&mut self, rate: S, period_s: S, limit: S) -> S {
        let rate = if rate.is_finite() { rate } else { S::ZERO };
        let limit = limit.at_least(S::ZERO);
        self.value = (self.value + rate * period_s).within(-limit, limit);
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lag_reaches_its_target_and_ignores_a_broken_one() {
        let mut lag = Lag::at(0.0_f32);
        for _ in 0..2000 {
            lag.step(1.0, 0.1, 0.005);
        }
        assert!((lag.value - 1.0).abs() < 1e-6);
        lag.step(f32::NAN, 0.1, 0.005);
        assert!((lag.value - 1.0).abs() < 1e-6);
    }

    #[test]
    fn debounce_needs_the_whole_time_both_ways() {
        let mut debounce = Debounce::default();
        assert!(!debounce.step(true, 3, 2));
        assert!(!debounce.step(true, 3, 2));
        assert!(debounce.step(true, 3, 2));
        assert!(debounce.step(false, 3, 2));
        assert!(!debounce.step(false, 3, 2));
    }

    #[test]
    fn a_limit_switch_fed_nothing_sensible_switches_on() {
        assert!(Hysteresis::default().step(f32::NAN, 1.0, 2.0));
    }
}
