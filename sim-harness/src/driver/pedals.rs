//! Feet: hold or raise a speed, ramp the accelerator, ease it when the car leaves the path.

/// Holds a speed with the accelerator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedHolder {
    /// Pedal per speed error, s/m.
    pub gain_s_m: f64,
    /// Pedal per speed error and time, 1/m.
    pub slow_gain_1_m: f64,
    slow: f64,
}

impl SpeedHolder {
    /// A calm foot that starts with the pedal at `pedal`.
    pub fn starting_at(pedal: f64) -> Self {
        Self {
            gain_s_m: 0.12,
            slow_gain_1_m: 0.06,
            slow: pedal,
        }
    }

    /// Accelerator of this step.
    pub fn pedal(&mut self, speed_m_s: f64, wanted_m_s: f64, period_s: f64) -> f64 {
        let error = wanted_m_s - speed_m_s;
        let unbounded = self.slow + self.gain_s_m * error;
        // The slow part waits while the pedal is at its end, or it would have to be unlearned.
        if (0.0..=1.0).contains(&unbounded) || error * (unbounded - 0.5) < 0.0 {
            self.slow = (self.slow + self.slow_gain_1_m * error * period_s).clamp(0.0, 1.0);
        }
        unbounded.clamp(0.0, 1.0)
    }
}

/// Moves towards a pedal position no faster than a foot does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// Time from nothing to all, s.
    pub rise_s: f64,
    /// Time from all to nothing, s.
    pub fall_s: f64,
    /// Present position.
    pub pedal: f64,
}

impl Foot {
    /// Position after this step.
    pub fn towards(&mut self, target: f64, period_s: f64) -> f64 {
        let change = target - self.pedal;
        self.pedal += change.clamp(-period_s / self.fall_s, period_s / self.rise_s);
        self.pedal = self.pedal.clamp(0.0, 1.0);
        self.pedal
    }
}

/// Share of the accelerator left when the car is `error_m` off its path: all up to `margin_m`, none at 2.5 times that.
pub fn eased(error_m: f64, margin_m: f64) -> f64 {
    (1.0 - (error_m.abs() - margin_m) / (1.5 * margin_m)).clamp(0.0, 1.0)
}
