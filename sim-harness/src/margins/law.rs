//! The controller's answer to a small sine in the yaw rate it reads.
//!
//! Inputs: vehicle, page, speed, frequency. Output: yaw moment of the torques over yaw rate, first harmonic. The working
//! point is a steady turn to the left on level ground, against a resistance that takes up the drive. Its signals agree with
//! each other: speed and speed over ground stand still, so the accelerometer feels no more than the turn; wheel speeds are
//! those of a rigid car with the slip that the torques need. Both clutch slips lie well above the dead band, so that both
//! clutches pass what they are asked for in both directions of the sine. The controller itself finds the yaw rate at which
//! it asks for no correction: during settling it reads its own reference. In the sine only the yaw rate it reads moves.

use super::Phasor;
use crate::plant::chassis::GRAVITY_M_S2;
use crate::plant::sensors::Measured;
use crate::plant::{PerSide, PerWheel, Vehicle};
use crate::run::PERIOD_S;
use crate::run::axle_control::{Told, inputs};
use couplet_controller::{Controller, Period, RawPage, TraceSignal};

/// Largest size of the sine, rad/s: above the dead band in a turn, below what counts as oversteer.
const SINE_RAD_S: f64 = 0.015;
/// Size of the sine over its angular frequency, rad: below some 0.6 Hz the integral part would else reach a bound.
const SINE_RAD: f64 = 0.004;
/// Lateral acceleration of the turn, m/s2.
const LATERAL_M_S2: f64 = 3.0;
/// Surplus speed of the front wheels beyond the rear ones: slip enough in both clutches.
const FRONT_SLIP: f64 = 0.012;
/// Torque wanted at the rear, N m: enough for the sine, too little for the tyres' bound.
const REAR_NM: f64 = 520.0;
/// Integral part at the working point, N m, and the yaw rate missing while it is filled, rad/s.
const INTEGRAL_NM: f64 = 250.0;
const FILLING_RAD_S: f64 = 0.01;
/// Time the controller is shown the turn, then time it settles, s.
const TURNING_S: f64 = 1.0;
const SETTLE_S: f64 = 4.0;
/// Periods that are not looked at, then periods that are.
const PERIODS: (u32, u32) = (2, 3);

/// One point of the law's frequency response.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LawPoint {
    /// Angular frequency driven, rad/s.
    pub omega_rad_s: f64,
    /// Yaw moment over yaw rate read, N m s/rad.
    pub moment_per_rate: Phasor,
    /// Share of the control steps in which a bound was at work on either side.
    pub bound_share: f64,
}

/// The law in its working point at one speed.
#[derive(Debug, Clone)]
pub struct SettledLaw {
    controller: Controller<f64>,
    turn: Turn,
    yaw_rate_rad_s: f64,
    moment_per_difference: f64,
}

impl SettledLaw {
    /// Settles the controller; nothing if the page is refused.
    pub fn new(vehicle: &Vehicle, page: &RawPage, speed_m_s: f64) -> Option<Self> {
        let mut controller: Controller<f64> = Controller::new(page, Period::default()).ok()?;
        controller.set_temperature(60.0);
        let turn = Turn::new(vehicle, page, speed_m_s);
        let (reference, integral) = (signal("yaw_rate_wanted")?, signal("yaw_moment_integral")?);
        let mut yaw_rate_rad_s = speed_m_s * turn.curvature_1_m;
        for step in 0..libm::round((TURNING_S + SETTLE_S) / PERIOD_S) as u32 {
            let given = torques(&controller)?;
            let measured = turn.measured(yaw_rate_rad_s, yaw_rate_rad_s, given);
            controller.step(&inputs(&measured, &turn.told()));
            // At first the car turns as it is steered: one that does not is taken for one on ice.
            if f64::from(step) * PERIOD_S < TURNING_S {
                continue;
            }
            let trace = controller.trace();
            yaw_rate_rad_s = f64::from((reference.read)(trace));
            // The integral part changes its sign only through a stop at zero, so it is filled first.
            if f64::from((integral.read)(trace)) < INTEGRAL_NM {
                yaw_rate_rad_s -= FILLING_RAD_S;
            }
        }
        Some(Self {
            controller,
            turn,
            yaw_rate_rad_s,
            moment_per_difference: 0.5 * vehicle.body.track_rear_m / vehicle.tyre_rear.radius_m,
        })
    }

    /// The law's answer at one frequency, Hz (rounded so that a period has whole control steps).
    pub fn response(&self, hertz: f64) -> Option<LawPoint> {
        let mut controller = self.controller;
        let (limit_left, limit_right) = (signal("limit_left")?, signal("limit_right")?);
        let steps = libm::round(1.0 / (hertz * PERIOD_S)).max(2.0) as u32;
        let size = SINE_RAD_S.min(SINE_RAD * 2.0 * core::f64::consts::PI * hertz);
        let omega_step = 2.0 * core::f64::consts::PI / f64::from(steps);
        let (mut answer, mut sine) = (Phasor::default(), Phasor::default());
        let (mut bound, mut counted) = (0_u32, 0_u32);
        for step in 0..steps * (PERIODS.0 + PERIODS.1) {
            let angle = omega_step * f64::from(step);
            // A cosine's integral swings about zero; a sine's would start the integral part to one side.
            let shift = size * libm::cos(angle);
            let (car, before) = (self.yaw_rate_rad_s, torques(&controller)?);
            let measured = self.turn.measured(car, car + shift, before);
            controller.step(&inputs(&measured, &self.turn.told()));
            if step < steps * PERIODS.0 {
                continue;
            }
            let given = torques(&controller)?;
            let moment = (given.right - given.left) * self.moment_per_difference;
            let back = Phasor::turned(-angle);
            answer = answer.plus(back.scaled(moment));
            sine = sine.plus(back.scaled(shift));
            counted += 1;
            let trace = controller.trace();
            if (limit_left.read)(trace) != 0.0 || (limit_right.read)(trace) != 0.0 {
                bound += 1;
            }
        }
        Some(LawPoint {
            omega_rad_s: omega_step / PERIOD_S,
            moment_per_rate: answer.over(sine),
            bound_share: f64::from(bound) / f64::from(counted),
        })
    }
}

/// Torques given in the last step, N m.
fn torques(controller: &Controller<f64>) -> Option<PerSide<f64>> {
    let trace = controller.trace();
    let read = |name| Some(f64::from((signal(name)?.read)(trace)));
    Some(PerSide {
        left: read("torque_given_left")?,
        right: read("torque_given_right")?,
    })
}

fn signal(name: &str) -> Option<&'static TraceSignal<f64>> {
    TraceSignal::<f64>::ALL
        .iter()
        .find(|signal| signal.name == name)
}

/// A steady turn whose signals agree with each other, but for the yaw rate that the sine adds.
#[derive(Debug, Clone)]
struct Turn {
    carrier_nm: f64,
    curvature_1_m: f64,
    speed_m_s: f64,
    longitudinal_acceleration_m_s2: f64,
    wheel_rad_s: PerWheel<f64>,
    slip_per_nm: PerSide<f64>,
    steering_wheel_rad: f64,
}

impl Turn {
    fn new(vehicle: &Vehicle, page: &RawPage, speed_m_s: f64) -> Self {
        let tunables = &page.tunables;
        let (agile, steady) = (
            f64::from(tunables.traction.rear_share_agile),
            f64::from(tunables.traction.rear_share_steady),
        );
        let share = steady + (agile - steady) * f64::from(tunables.setting.agility);
        let curvature_1_m = LATERAL_M_S2 / (speed_m_s * speed_m_s);
        let yaw_rate = speed_m_s * curvature_1_m;
        let (front, rear) = (
            0.5 * vehicle.body.track_front_m,
            0.5 * vehicle.body.track_rear_m,
        );
        let wheel = |offset_m: f64, radius_m: f64, surplus: f64| {
            (speed_m_s - yaw_rate * offset_m) * surplus / radius_m
        };
        let (front_radius, rear_radius) = (vehicle.tyre_front.radius_m, vehicle.tyre_rear.radius_m);
        // The law's own idea of the tyre: what it takes for slip and what it is told must be one thing.
        let car = &tunables.vehicle;
        let over = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
        let stiffness_nm = f64::from(car.wheel_radius_m) * f64::from(car.rear_slip_stiffness_n);
        let at_rest = over(1.0, stiffness_nm);
        // Load moves outward in the share of the axles; slip per torque goes with load at rest over load.
        let moved = 2.0 * LATERAL_M_S2 * f64::from(car.cg_height_m);
        let moved = over(moved, GRAVITY_M_S2 * f64::from(car.track_m));
        let slip_per_nm = PerSide {
            left: over(at_rest, 1.0 - moved),
            right: over(at_rest, 1.0 + moved),
        };
        let front_surplus = 1.0 + FRONT_SLIP + 0.5 * REAR_NM * at_rest;
        // Sideslip of the steady single-track car; what it turns of the speed is all that is felt along.
        let (mass_kg, to_front_m) = (f64::from(car.mass_kg), f64::from(car.front_axle_to_cg_m));
        let wheelbase_m = f64::from(car.wheelbase_m);
        let rear_n = mass_kg * LATERAL_M_S2 * to_front_m / wheelbase_m;
        let sideslip = (wheelbase_m - to_front_m) * curvature_1_m
            - rear_n / f64::from(car.rear_cornering_stiffness_n_rad);
        Self {
            carrier_nm: REAR_NM / share.max(0.1),
            curvature_1_m,
            speed_m_s,
            longitudinal_acceleration_m_s2: -yaw_rate * sideslip * speed_m_s,
            wheel_rad_s: PerWheel {
                front_left: wheel(front, front_radius, front_surplus),
                front_right: wheel(-front, front_radius, front_surplus),
                rear_left: wheel(rear, rear_radius, 1.0),
                rear_right: wheel(-rear, rear_radius, 1.0),
            },
            slip_per_nm,
            steering_wheel_rad: vehicle.steering.ratio
                * (vehicle.body.wheelbase_m * curvature_1_m + 0.0045 * LATERAL_M_S2),
        }
    }

    /// What the sensors say while the car turns with `yaw_rate_rad_s`, the one that is read is `read_rad_s`, and the rear
    /// wheels carry `rear_nm`.
    fn measured(&self, yaw_rate_rad_s: f64, read_rad_s: f64, rear_nm: PerSide<f64>) -> Measured {
        let mut wheel_speed_rad_s = self.wheel_rad_s;
        wheel_speed_rad_s.rear_left *= 1.0 + rear_nm.left * self.slip_per_nm.left;
        wheel_speed_rad_s.rear_right *= 1.0 + rear_nm.right * self.slip_per_nm.right;
        Measured {
            wheel_speed_rad_s,
            yaw_rate_rad_s: read_rad_s,
            lateral_acceleration_m_s2: self.speed_m_s * yaw_rate_rad_s,
            longitudinal_acceleration_m_s2: self.longitudinal_acceleration_m_s2,
            steering_wheel_rad: self.steering_wheel_rad,
            // The linear car has no hydraulics.
            clutch_pressure_pa: PerSide::both(0.0),
            pressures_came: false,
            wheel_speeds_came: true,
            inertial_came: true,
            steering_came: true,
        }
    }

    fn told(&self) -> Told {
        Told {
            pedal: 0.5,
            brake: 0.0,
            carrier_torque_nm: self.carrier_nm,
            carrier_torque_wanted_nm: self.carrier_nm,
            reverse: false,
            ambient_degc: 20.0,
            open_now: false,
            anti_lock_active: false,
            stability_active: false,
            period_s: PERIOD_S,
        }
    }
}
