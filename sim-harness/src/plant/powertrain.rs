//! Powertrain as one lagging, limited torque at the carrier of the front differential.
//!
//! Inputs: torque asked, carrier speed, direction. Output: torque delivered over a step. Limits: one continuous ratio, no
//! gear change, no torque interruption; closed throttle drags against rotation and fades out towards standstill.

use super::quantity::Compared;
use super::vehicle;

/// State of the powertrain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Powertrain {
    torque_nm: f64,
    reverse: bool,
}

impl Powertrain {
    /// Delivering the given torque in forward gear.
    pub fn new(torque_nm: f64) -> Self {
        Self {
            torque_nm,
            reverse: false,
        }
    }

    /// Selects the direction in which a positive request drives.
    pub fn select_reverse(&mut self, reverse: bool) {
        self.reverse = reverse;
    }

    /// Torque over the next step, N m, signed in the sense of rolling forward.
    pub fn step(
        &mut self,
        numbers: &vehicle::Powertrain,
        request_nm: f64,
        carrier_rad_s: f64,
        step_s: f64,
    ) -> f64 {
        let sign = if self.reverse { -1.0 } else { 1.0 };
        let speed_rad_s = sign * carrier_rad_s;
        let drag_nm = -numbers.drag_torque_nm * speed_rad_s
            / libm::sqrt(
                speed_rad_s * speed_rad_s + numbers.drag_fade_rad_s * numbers.drag_fade_rad_s,
            );
        let most_nm = if speed_rad_s * numbers.maximum_torque_nm > numbers.maximum_power_w {
            numbers.maximum_power_w / speed_rad_s
        } else {
            numbers.maximum_torque_nm
        };
        let low_nm = drag_nm.smaller(most_nm);
        let before_nm = (sign * self.torque_nm).larger(low_nm).smaller(most_nm);
        let target_nm = request_nm.larger(low_nm).smaller(most_nm);
        let after_nm =
            before_nm + (target_nm - before_nm) * step_s / (numbers.lag_s + 0.5 * step_s);
        self.torque_nm = sign * after_nm;
        sign * 0.5 * (before_nm + after_nm)
    }
}
