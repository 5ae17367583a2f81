//! Anti-lock braking: each wheel's brake gives way before the wheel locks; the rear wheels take the lower of both.
//!
//! Slip-threshold law of the textbook kind: beyond the release slip the torque falls quickly, below the hold slip it
//! comes back slowly towards what the driver asks. While a front wheel is held back, the other one may exceed it only by
//! a difference that grows with time: on split friction the full difference at once would spin the car before the driver
//! can steer against it (delayed build-up of the yaw moment; textbooks on brake control, from memory). Active below
//! walking pace never.

use crate::plant::{PerSide, PerWheel};

/// Slip beyond which torque is taken away.
const RELEASE_SLIP: f64 = 0.13;
/// Slip below which torque may come back.
const HOLD_SLIP: f64 = 0.07;
/// Fall and rise of the allowed torque, Nm/s.
const FALL_NM_S: f64 = 25_000.0;
const RISE_NM_S: f64 = 7_000.0;
/// Difference the front wheels may have at once, Nm, and its growth, Nm/s.
const DIFFERENCE_NM: f64 = 300.0;
const DIFFERENCE_NM_S: f64 = 1_000.0;
/// No anti-lock below this speed, m/s.
const LEAST_SPEED_M_S: f64 = 1.5;

/// Allowed torque per wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AntiLock {
    allowed_nm: PerWheel<f64>,
    front_difference_nm: f64,
    quiet_s: f64,
}

/// More than any brake gives, Nm.
const EVERYTHING_NM: f64 = 1.0e5;
/// The control counts as active this long after its last intervention, s.
const AFTERMATH_S: f64 = 0.3;

impl Default for AntiLock {
    fn default() -> Self {
        Self {
            allowed_nm: PerWheel::all(EVERYTHING_NM),
            front_difference_nm: DIFFERENCE_NM,
            quiet_s: AFTERMATH_S,
        }
    }
}

impl AntiLock {
    /// Torque left of what the driver asks, and whether the control is at work.
    pub fn step(
        &mut self,
        asked_nm: PerWheel<f64>,
        wheel_m_s: PerWheel<f64>,
        speed_m_s: f64,
        period_s: f64,
    ) -> (PerWheel<f64>, bool) {
        if speed_m_s < LEAST_SPEED_M_S || asked_nm.sum() <= 0.0 {
            *self = Self::default();
            return (asked_nm, false);
        }
        let slip = wheel_m_s.map(|wheel| (speed_m_s - wheel) / speed_m_s);
        let wanted = slip.zip(asked_nm, |slip, asked| (slip, asked));
        let allowed = self.allowed_nm.zip(wanted, |allowed, (slip, asked)| {
            let allowed = allowed.min(asked);
            if slip > RELEASE_SLIP {
                (allowed - FALL_NM_S * period_s).max(0.0)
            } else if slip < HOLD_SLIP {
                allowed + RISE_NM_S * period_s
            } else {
                allowed
            }
        });
        let low = allowed.rear_left.min(allowed.rear_right);
        let front_low = allowed.front_left.min(allowed.front_right);
        self.front_difference_nm = if front_low < asked_nm.front_left.min(asked_nm.front_right) {
            self.front_difference_nm + DIFFERENCE_NM_S * period_s
        } else {
            DIFFERENCE_NM
        };
        let most = front_low + self.front_difference_nm;
        let front = allowed.front().map(|torque| torque.min(most));
        self.allowed_nm = PerWheel::from_axles(front, PerSide::both(low));
        let kept = self.allowed_nm.zip(asked_nm, f64::min);
        let took = kept.sum() < asked_nm.sum() - 1.0;
        self.quiet_s = if took { 0.0 } else { self.quiet_s + period_s };
        (kept, self.quiet_s < AFTERMATH_S)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_locking_wheel_loses_its_brake_and_the_other_front_wheel_keeps_it_after_a_while() {
        let mut control = AntiLock::default();
        let asked = PerWheel::all(2000.0);
        let mut wheels = PerWheel::all(20.0);
        wheels.front_left = 10.0;
        let mut kept = asked;
        for _ in 0..30 {
            kept = control.step(asked, wheels, 20.0, 0.005).0;
        }
        assert_eq!(kept.front_left, 0.0);
        // 0.15 s are too short for a driver: the difference may be 300 Nm and what grew in that time, 150 Nm.
        assert!(kept.front_right <= 450.0 + 1e-9, "{kept:?}");
        // From 300 Nm at 1000 Nm/s the whole 2000 Nm take 1.7 s.
        for _ in 0..(17 * 20) {
            kept = control.step(asked, wheels, 20.0, 0.005).0;
        }
        assert_eq!(kept.front_left, 0.0);
        assert_eq!(kept.front_right, 2000.0);
    }

    #[test]
    fn nothing_is_taken_from_a_rolling_car() {
        let asked = PerWheel::all(1000.0);
        let (kept, active) = AntiLock::default().step(asked, PerWheel::all(19.5), 20.0, 0.005);
        assert_eq!(kept, asked);
        assert!(!active);
    }
}
