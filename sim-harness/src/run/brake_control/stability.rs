//! Brake-based stability control and brake-based vectoring.
//!
//! Reference yaw rate: steady single-track gain with the car's own understeer constant, capped at `0.85 mu g / V`
//! ("Vehicle Dynamics and Control", 2nd ed., ch. 8, from memory), friction from the lateral acceleration in use plus an
//! allowance. Too much yaw: the outer front wheel is braked; too little: the inner rear wheel. Vectoring brakes the inner
//! front wheel under power for the missing yaw rate. Its numbers are in the vehicle file, group `brake_vectoring`; how they
//! were found is in `prove::tuning`.

use crate::plant::sensors::Measured;
use crate::plant::vehicle::BrakeVectoring;
use crate::plant::{PerWheel, Vehicle};

/// Yaw rate error without intervention, rad/s.
const QUIET_RAD_S: f64 = 0.07;
/// Brake torque per yaw rate error, Nm s/rad.
const GAIN_NM_S_RAD: f64 = 12_000.0;
/// Largest brake torque of an intervention, Nm.
const MOST_NM: f64 = 2500.0;
/// No intervention below this speed, m/s.
const LEAST_SPEED_M_S: f64 = 5.0;
/// Friction allowed beyond the lateral acceleration in use.
const ALLOWANCE: f64 = 0.3;
/// Standard gravity, m/s2 (ISO 80000-3).
const GRAVITY_M_S2: f64 = 9.806_65;

/// Yaw rate the driver should get.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Reference {
    wheelbase_m: f64,
    understeer_rad_s2_m: f64,
    steering_ratio: f64,
}

impl Reference {
    fn for_car(vehicle: &Vehicle, understeer_rad_s2_m: f64) -> Self {
        Self {
            wheelbase_m: vehicle.body.wheelbase_m,
            understeer_rad_s2_m,
            steering_ratio: vehicle.steering.ratio,
        }
    }

    fn yaw_rate_rad_s(&self, measured: &Measured, speed_m_s: f64) -> f64 {
        let angle = measured.steering_wheel_rad / self.steering_ratio;
        let gain =
            speed_m_s / (self.wheelbase_m + self.understeer_rad_s2_m * speed_m_s * speed_m_s);
        let friction =
            (measured.lateral_acceleration_m_s2.abs() / GRAVITY_M_S2 + ALLOWANCE).min(1.0);
        let cap = 0.85 * friction * GRAVITY_M_S2 / speed_m_s.max(1.0);
        (gain * angle).clamp(-cap, cap)
    }
}

/// Brakes single wheels against over- and understeer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StabilityControl {
    reference: Reference,
}

impl StabilityControl {
    /// The control of a car with this understeer constant, as its data sheet has it.
    pub fn for_car(vehicle: &Vehicle, understeer_rad_s2_m: f64) -> Self {
        Self {
            reference: Reference::for_car(vehicle, understeer_rad_s2_m),
        }
    }

    /// Brake torque added per wheel, and whether the control is at work.
    pub fn step(&self, measured: &Measured, speed_m_s: f64) -> (PerWheel<f64>, bool) {
        let mut added = PerWheel::all(0.0);
        if speed_m_s < LEAST_SPEED_M_S {
            return (added, false);
        }
        let yaw = measured.yaw_rate_rad_s;
        let error = self.reference.yaw_rate_rad_s(measured, speed_m_s) - yaw;
        let size = (error.abs() - QUIET_RAD_S).max(0.0);
        if size == 0.0 {
            return (added, false);
        }
        let torque = (GAIN_NM_S_RAD * size).min(MOST_NM);
        let turning_left = yaw > 0.0;
        let oversteer = error * yaw < 0.0;
        match (oversteer, turning_left) {
            (true, true) => added.front_right = torque,
            (true, false) => added.front_left = torque,
            (false, _) if error > 0.0 => added.rear_left = 0.5 * torque,
            (false, _) => added.rear_right = 0.5 * torque,
        }
        (added, true)
    }
}

/// Brakes the inner front wheel under power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vectoring {
    reference: Reference,
    numbers: BrakeVectoring,
}

impl Vectoring {
    /// Aims at the yaw rate of a car with a share of the understeer this one has without power.
    pub fn for_car(vehicle: &Vehicle, understeer_rad_s2_m: f64) -> Self {
        Self {
            reference: Reference::for_car(
                vehicle,
                vehicle.brake_vectoring.aim_understeer_share * understeer_rad_s2_m,
            ),
            numbers: vehicle.brake_vectoring,
        }
    }

    /// Brake torque added per wheel.
    pub fn step(&self, measured: &Measured, speed_m_s: f64, request_nm: f64) -> PerWheel<f64> {
        let mut added = PerWheel::all(0.0);
        if request_nm <= 0.0 || speed_m_s < LEAST_SPEED_M_S {
            return added;
        }
        let reference = self.reference.yaw_rate_rad_s(measured, speed_m_s);
        let missing = reference - measured.yaw_rate_rad_s;
        if missing * reference <= 0.0 {
            return added;
        }
        let beyond = (missing.abs() - self.numbers.quiet_rad_s).max(0.0);
        let torque = (self.numbers.gain_nm_s_rad * beyond)
            .min(self.numbers.maximum_torque_nm)
            .min(self.numbers.carrier_share * request_nm);
        if reference > 0.0 {
            added.front_left = torque;
        } else {
            added.front_right = torque;
        }
        added
    }
}
