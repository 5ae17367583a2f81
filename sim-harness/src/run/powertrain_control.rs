//! From pedal to torque request: a plain map, and a governor of front spin while moving off.

use crate::plant::{Observation, Vehicle};

/// Front spin kept when no axle control asks for one, m/s: common practice of launch control, no source.
pub const OWN_FRONT_SPIN_M_S: f64 = 1.0;

/// How far ahead the governor looks, s: about the lag of the torque build-up.
const POWERTRAIN_LAG_S: f64 = 0.1;

/// Speed above which nothing is a launch, m/s.
const LAUNCH_END_M_S: f64 = 8.0;

/// Most torque the powertrain can give at the carrier now, Nm.
pub fn available_nm(vehicle: &Vehicle, carrier_rad_s: f64) -> f64 {
    let powertrain = &vehicle.powertrain;
    powertrain
        .maximum_torque_nm
        .min(powertrain.maximum_power_w / carrier_rad_s.abs().max(1.0))
}

/// Torque asked at the carrier for a pedal position, Nm: from the whole drag at no pedal to all there is at full pedal.
pub fn asked_nm(vehicle: &Vehicle, pedal: f64, carrier_rad_s: f64) -> f64 {
    let closed = -vehicle.powertrain.drag_torque_nm;
    closed + pedal * (available_nm(vehicle, carrier_rad_s) - closed)
}

/// Keeps the mean front wheel speed near a wanted surplus over the car's speed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpinGovernor {
    taken_nm: f64,
    excess_m_s: f64,
}

impl SpinGovernor {
    /// Torque request that keeps the spin, given the one of the pedal; `direction` is -1 in reverse gear.
    pub fn step(
        &mut self,
        request_nm: f64,
        car: &Observation,
        radius_m: f64,
        spin_m_s: f64,
        direction: f64,
        period_s: f64,
    ) -> f64 {
        let carrier = 0.5 * (car.wheel_speed_rad_s.front_left + car.wheel_speed_rad_s.front_right);
        let now = direction * (carrier * radius_m - car.speed_m_s) - spin_m_s;
        // The powertrain answers late, so the spin is taken as it will be when it does.
        let excess = now + POWERTRAIN_LAG_S * (now - self.excess_m_s) / period_s;
        self.excess_m_s = now;
        if direction * car.speed_m_s > LAUNCH_END_M_S || request_nm <= 0.0 {
            self.taken_nm = (self.taken_nm - 4000.0 * period_s).max(0.0);
        } else {
            self.taken_nm =
                (self.taken_nm + 2500.0 * excess * period_s).clamp(0.0, request_nm.max(0.0));
        }
        let quick = 700.0 * excess.max(0.0);
        if self.taken_nm + quick <= 0.0 {
            request_nm
        } else {
            (request_nm - self.taken_nm - quick).max(0.0)
        }
    }
}
