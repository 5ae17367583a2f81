//! The plant: the car and its axle as they are, not as the controller guesses.

pub mod driveline;
pub mod observe;
pub mod quantity;
pub mod road;
pub mod vehicle;

pub use driveline::AxleLayout;
pub use observe::{Observation, channels};
pub use quantity::{PerSide, PerWheel};
pub use road::{Road, Surface};
pub use vehicle::Vehicle;

/// Length of one step, s.
pub const STEP_S: f64 = 0.001;

/// What driver, powertrain control and axle control ask of the car; held during one step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Command {
    /// Steering-wheel angle, rad, positive to the left.
    pub steering_wheel_rad: f64,
    /// Torque asked at the front differential's carrier, N m, before the rear take-off; at or below 0 the throttle is
    /// closed and the powertrain drags.
    pub carrier_torque_request_nm: f64,
    /// Torque of each wheel brake, N m, 0 or more.
    pub brake_torque_nm: PerWheel<f64>,
    /// Current of each clutch valve, A; a single coupling uses the mean of both.
    pub clutch_current_a: PerSide<f64>,
}

/// How the car starts: wheels rolling freely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Speed along the body's x axis, m/s.
    pub speed_m_s: f64,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: f64,
    /// Sideslip angle, rad.
    pub sideslip_rad: f64,
    /// Place along the world's x axis, m.
    pub x_m: f64,
    /// Place along the world's y axis, m.
    pub y_m: f64,
    /// Heading, rad.
    pub heading_rad: f64,
    /// Steering-wheel angle, rad.
    pub steering_wheel_rad: f64,
    /// Temperature of both clutches, degC.
    pub clutch_temperature_degc: f64,
    /// Temperature of oil and housing, degC.
    pub oil_temperature_degc: f64,
    /// Temperature of the air, degC.
    pub ambient_degc: f64,
    /// Torque at the carrier, N m.
    pub carrier_torque_nm: f64,
}

impl Default for Start {
    /// Standing at the origin, warm (clutches and oil 60 degC, air 20 degC).
    fn default() -> Self {
        Self {
            speed_m_s: 0.0,
            yaw_rate_rad_s: 0.0,
            sideslip_rad: 0.0,
            x_m: 0.0,
            y_m: 0.0,
            heading_rad: 0.0,
            steering_wheel_rad: 0.0,
            clutch_temperature_degc: 60.0,
            oil_temperature_degc: 60.0,
            ambient_degc: 20.0,
            carrier_torque_nm: 0.0,
        }
    }
}

/// A car on a road.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    vehicle: Vehicle,
    layout: AxleLayout,
    road: Road,
    observation: Observation,
}

impl Plant {
    /// A car at its start.
    pub fn new(vehicle: Vehicle, layout: AxleLayout, road: Road, start: Start) -> Self {
        let observation = Observation { speed_m_s: start.speed_m_s, ..Observation::default() };
        Self { vehicle, layout, road, observation }
    }

    /// One step of [`STEP_S`].
    pub fn step(&mut self, command: &Command) {
        self.observation.time_s += STEP_S;
        self.observation.speed_m_s += STEP_S * command.carrier_torque_request_nm / (0.32 * self.vehicle.body.mass_kg);
    }

    /// The truth about the step just finished.
    pub fn observe(&self) -> Observation {
        self.observation
    }

    /// The car seen in a mirror along the x axis.
    pub fn mirrored(&self) -> Self {
        Self { vehicle: self.vehicle.mirrored(), road: self.road.mirrored(), ..self.clone() }
    }

    /// The car's numbers.
    pub fn vehicle(&self) -> &Vehicle {
        &self.vehicle
    }

    /// The axle layout.
    pub fn layout(&self) -> AxleLayout {
        self.layout
    }

    /// The road.
    pub fn road(&self) -> &Road {
        &self.road
    }
}
