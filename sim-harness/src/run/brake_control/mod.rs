//! The car's own brake controls: anti-lock, traction, stability, vectoring; each of plain textbook kind, each switchable.
//!
//! In: sensor values, the driver's brake, the powertrain request. Out: torque per wheel brake, the torque left of the
//! request, and the coordination signals the axle controller is told. They know the car from its data sheet, not from the
//! plant's state: speed comes from wheel speeds and the accelerometer. Hydraulics answer with a lag. None of it imitates
//! a product; the laws are the ones of textbooks on vehicle dynamics control. Limits: no pump limits, no fluid heat.

pub mod anti_lock;
pub mod stability;
pub mod traction;

use crate::plant::sensors::Measured;
use crate::plant::{PerWheel, Vehicle};
use anti_lock::AntiLock;
use stability::{StabilityControl, Vectoring};
use traction::BrakeTraction;

/// Which of the controls are on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Switches {
    /// Wheels are kept from locking under the driver's brake.
    pub anti_lock: bool,
    /// A spinning driven wheel is braked.
    pub traction: bool,
    /// Single wheels are braked against over- and understeer.
    pub stability: bool,
    /// The inner front wheel is braked under power to turn the car in.
    pub vectoring: bool,
}

/// What the controls are told besides the sensors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrakeView {
    /// The driver's brake, 0 to 1.
    pub driver_brake: f64,
    /// Powertrain torque asked for at the carrier, Nm.
    pub request_nm: f64,
    /// Reverse gear: wheel speeds and accelerations count in driving direction, stability control and vectoring rest.
    pub reverse: bool,
    /// Control period, s.
    pub period_s: f64,
}

/// What the controls do.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BrakeAction {
    /// Torque of each wheel brake, Nm, 0 or more.
    pub torque_nm: PerWheel<f64>,
    /// Powertrain torque left of the request, Nm.
    pub request_nm: f64,
    /// Anti-lock at work: the axle controller must let go.
    pub anti_lock_active: bool,
    /// Stability control at work: the axle controller must not fight it.
    pub stability_active: bool,
}

/// The controls of one car.
#[derive(Debug, Clone, PartialEq)]
pub struct BrakeControl {
    switches: Switches,
    driver_nm: PerWheel<f64>,
    reference: ReferenceSpeed,
    anti_lock: AntiLock,
    traction: BrakeTraction,
    stability: StabilityControl,
    vectoring: Vectoring,
    delivered_nm: PerWheel<f64>,
}

/// Lag of the hydraulics, s: common practice, no source.
const HYDRAULIC_LAG_S: f64 = 0.06;

impl BrakeControl {
    /// The controls of a car whose data sheet gives this understeer constant.
    pub fn new(vehicle: &Vehicle, understeer_rad_s2_m: f64, switches: Switches) -> Self {
        let most = vehicle.brakes.maximum_torque_nm;
        Self {
            switches,
            driver_nm: PerWheel {
                front_left: most,
                front_right: most,
                rear_left: 0.5 * most,
                rear_right: 0.5 * most,
            },
            reference: ReferenceSpeed::for_radius(vehicle.tyre_front.radius_m),
            anti_lock: AntiLock::default(),
            traction: BrakeTraction::with(vehicle.brake_vectoring),
            stability: StabilityControl::for_car(vehicle, understeer_rad_s2_m),
            vectoring: Vectoring::for_car(vehicle, understeer_rad_s2_m),
            delivered_nm: PerWheel::all(0.0),
        }
    }

    /// One control step.
    pub fn step(&mut self, measured: &Measured, view: &BrakeView) -> BrakeAction {
        let period_s = view.period_s;
        let measured = &in_driving_direction(measured, view.reverse);
        let speed = self
            .reference
            .step(measured, view.driver_brake > 0.0, period_s);
        let wheel_m_s = measured
            .wheel_speed_rad_s
            .map(|wheel| wheel * self.reference.radius_m);
        let mut torque = self.driver_nm.map(|most| most * view.driver_brake);
        let mut request = view.request_nm;
        let mut action = BrakeAction::default();
        if self.switches.anti_lock {
            let (kept, active) = self.anti_lock.step(torque, wheel_m_s, speed, period_s);
            torque = kept;
            action.anti_lock_active = active;
            if active {
                // Drag of the powertrain through an open differential turns the wheel on ice backwards; no brake control can
                // then bring it back. Textbook drag torque control: the powertrain idles meanwhile.
                request = request.max(0.0);
            }
        }
        if self.switches.traction || self.switches.vectoring {
            let (added, left) = self.traction.step(wheel_m_s, speed, request, period_s);
            torque = torque.zip(added, |one, other| one + other);
            request = left;
        }
        if self.switches.vectoring && !view.reverse {
            let added = self.vectoring.step(measured, speed, request);
            torque = torque.zip(added, |one, other| one + other);
        }
        if self.switches.stability && !view.reverse {
            let (added, active) = self.stability.step(measured, speed);
            torque = torque.zip(added, |one, other| one + other);
            action.stability_active = active;
        }
        // The driver's own foot moves the fluid without a valve in between; what the valves add or take comes later.
        let share = period_s / (HYDRAULIC_LAG_S + period_s);
        self.delivered_nm = self
            .delivered_nm
            .zip(torque, |before, wanted| before + (wanted - before) * share);
        action.torque_nm = self
            .delivered_nm
            .map(|torque| if torque < 0.5 { 0.0 } else { torque });
        action.request_nm = request;
        action
    }
}

/// Speeds and longitudinal acceleration as if the driving direction were forward.
fn in_driving_direction(measured: &Measured, reverse: bool) -> Measured {
    if !reverse {
        return *measured;
    }
    Measured {
        wheel_speed_rad_s: measured.wheel_speed_rad_s.map(f64::abs),
        longitudinal_acceleration_m_s2: -measured.longitudinal_acceleration_m_s2,
        ..*measured
    }
}

/// Speed of the car from its wheels and the accelerometer: the fastest wheel under the brake, the slowest rear wheel
/// otherwise, followed no faster than the accelerometer and a margin allow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceSpeed {
    radius_m: f64,
    speed_m_s: Option<f64>,
}

impl ReferenceSpeed {
    fn for_radius(radius_m: f64) -> Self {
        Self {
            radius_m,
            speed_m_s: None,
        }
    }

    fn step(&mut self, measured: &Measured, braked: bool, period_s: f64) -> f64 {
        let wheel = measured.wheel_speed_rad_s;
        let slowest = wheel
            .rear_left
            .min(wheel.rear_right)
            .min(wheel.front_left.min(wheel.front_right));
        let fastest = wheel
            .rear_left
            .max(wheel.rear_right)
            .max(wheel.front_left.max(wheel.front_right));
        let seen = self.radius_m * if braked { fastest } else { slowest };
        let speed = match self.speed_m_s {
            None => seen,
            Some(before) => {
                let expected = before + measured.longitudinal_acceleration_m_s2 * period_s;
                let margin = 2.5 * period_s;
                seen.clamp(expected - margin, expected + margin)
            }
        };
        self.speed_m_s = Some(speed);
        speed
    }
}
