//! The car inside a unit: plant, powertrain control, brake control, sensors, in the order of a run.
//!
//! What is known at an instant is found from the state and the inputs without changing either: it may be asked for as often as one
//! likes. A step finds it once more, keeps what sensors and controls remember, and moves the plant.

use super::variables::{STARTS, scenario_numbers};
use crate::plant::sensors::Sensors;
use crate::plant::{AxleLayout, Command, Observation, PerSide, Plant, STEP_S, Start, Vehicle};
use crate::run::PERIOD_S;
use crate::run::axle_control::{Told, inputs};
use crate::run::brake_control::{BrakeControl, BrakeView, Switches};
use crate::run::closed_loop::{PLANT_STEPS, sensor_errors, with_hand_brake};
use crate::run::powertrain_control::{OWN_FRONT_SPIN_M_S, SpinGovernor, asked_nm};
use crate::scenario::{Manoeuvre, Numbers, Scenario};
use couplet_controller::Inputs;
use couplet_controller::signal::{INPUT_SIGNALS, Status};

/// What goes into the car: name, unit, range, meaning.
pub(super) const CONTROLS: [(&str, &str, f64, f64, &str); 8] = [
    (
        "steering_wheel",
        "rad",
        -20.0,
        20.0,
        "Steering-wheel angle the driver sets, positive to the left.",
    ),
    (
        "accelerator",
        "-",
        0.0,
        1.0,
        "Accelerator position the driver sets.",
    ),
    ("brake", "-", 0.0, 1.0, "Brake position the driver sets."),
    (
        "hand_brake",
        "-",
        0.0,
        1.0,
        "Hand brake on the rear wheels; above 0 it orders open clutches.",
    ),
    (
        "release_request",
        "-",
        0.0,
        1.0,
        "Above 0.5 the stability control asks the axle to let go, though no wheel is braked.",
    ),
    (
        "current_left",
        "A",
        0.0,
        10.0,
        "Current of the left clutch's valve.",
    ),
    (
        "current_right",
        "A",
        0.0,
        10.0,
        "Current of the right clutch's valve.",
    ),
    (
        "front_spin_request",
        "m/s",
        0.0,
        100.0,
        "Front spin the axle asks of the powertrain, heard one period later; 0 asks for nothing.",
    ),
];

/// Reads one number of the truth.
type Read = fn(&Observation) -> f64;

/// The truth about the car: name, unit, meaning, how it is read.
pub(super) const TRUTH: [(&str, &str, &str, Read); 37] = [
    ("x", "m", "Place along the world's x axis.", |o| o.x_m),
    ("y", "m", "Place along the world's y axis.", |o| o.y_m),
    ("heading", "rad", "Heading, positive to the left.", |o| {
        o.heading_rad
    }),
    ("speed", "m/s", "Speed along the body's x axis.", |o| {
        o.speed_m_s
    }),
    (
        "lateral_speed",
        "m/s",
        "Speed along the body's y axis, to the left.",
        |o| o.lateral_speed_m_s,
    ),
    ("sideslip", "rad", "Sideslip angle.", |o| o.sideslip_rad),
    (
        "yaw_rate",
        "rad/s",
        "Yaw rate, positive to the left.",
        |o| o.yaw_rate_rad_s,
    ),
    (
        "longitudinal_acceleration",
        "m/s2",
        "Specific force forwards.",
        |o| o.longitudinal_acceleration_m_s2,
    ),
    (
        "lateral_acceleration",
        "m/s2",
        "Specific force to the left.",
        |o| o.lateral_acceleration_m_s2,
    ),
    ("road_wheel", "rad", "Angle of the front wheels.", |o| {
        o.road_wheel_rad
    }),
    (
        "carrier_torque",
        "N m",
        "Powertrain torque at the front differential's carrier.",
        |o| o.carrier_torque_nm,
    ),
    ("wheel_speed_front_left", "rad/s", "Wheel speed.", |o| {
        o.wheel_speed_rad_s.front_left
    }),
    ("wheel_speed_front_right", "rad/s", "Wheel speed.", |o| {
        o.wheel_speed_rad_s.front_right
    }),
    ("wheel_speed_rear_left", "rad/s", "Wheel speed.", |o| {
        o.wheel_speed_rad_s.rear_left
    }),
    ("wheel_speed_rear_right", "rad/s", "Wheel speed.", |o| {
        o.wheel_speed_rad_s.rear_right
    }),
    ("wheel_load_front_left", "N", "Wheel load.", |o| {
        o.wheel_load_n.front_left
    }),
    ("wheel_load_front_right", "N", "Wheel load.", |o| {
        o.wheel_load_n.front_right
    }),
    ("wheel_load_rear_left", "N", "Wheel load.", |o| {
        o.wheel_load_n.rear_left
    }),
    ("wheel_load_rear_right", "N", "Wheel load.", |o| {
        o.wheel_load_n.rear_right
    }),
    (
        "longitudinal_slip_rear_left",
        "-",
        "Tyre slip, positive driving.",
        |o| o.longitudinal_slip.rear_left,
    ),
    (
        "longitudinal_slip_rear_right",
        "-",
        "Tyre slip, positive driving.",
        |o| o.longitudinal_slip.rear_right,
    ),
    (
        "shaft_speed",
        "rad/s",
        "Speed of the rear shaft at the clutches.",
        |o| o.shaft_speed_rad_s,
    ),
    ("clutch_slip_left", "rad/s", "Shaft over wheel.", |o| {
        o.clutch_slip_rad_s.left
    }),
    ("clutch_slip_right", "rad/s", "Shaft over wheel.", |o| {
        o.clutch_slip_rad_s.right
    }),
    (
        "clutch_torque_left",
        "N m",
        "Torque on the wheel, positive drives forward.",
        |o| o.clutch_torque_nm.left,
    ),
    (
        "clutch_torque_right",
        "N m",
        "Torque on the wheel, positive drives forward.",
        |o| o.clutch_torque_nm.right,
    ),
    (
        "clutch_capacity_left",
        "N m",
        "Torque the clutch could carry slipping.",
        |o| o.clutch_capacity_nm.left,
    ),
    (
        "clutch_capacity_right",
        "N m",
        "Torque the clutch could carry slipping.",
        |o| o.clutch_capacity_nm.right,
    ),
    (
        "clutch_pressure_left",
        "Pa",
        "Pressure at the piston.",
        |o| o.clutch_pressure_pa.left,
    ),
    (
        "clutch_pressure_right",
        "Pa",
        "Pressure at the piston.",
        |o| o.clutch_pressure_pa.right,
    ),
    ("clutch_heat_left", "W", "Heat made in the clutch.", |o| {
        o.clutch_heat_w.left
    }),
    ("clutch_heat_right", "W", "Heat made in the clutch.", |o| {
        o.clutch_heat_w.right
    }),
    ("surface_left", "degC", "Surface temperature.", |o| {
        o.clutch_surface_degc.left
    }),
    ("surface_right", "degC", "Surface temperature.", |o| {
        o.clutch_surface_degc.right
    }),
    ("core_left", "degC", "Core temperature.", |o| {
        o.clutch_core_degc.left
    }),
    ("core_right", "degC", "Core temperature.", |o| {
        o.clutch_core_degc.right
    }),
    ("oil", "degC", "Oil temperature.", |o| o.oil_degc),
];

/// First reading of the law's signals: after the controls.
const READINGS: usize = CONTROLS.len();
const FIRST_TRUTH: usize = READINGS + 3 * INPUT_SIGNALS.len();
const FIRST_START: usize = FIRST_TRUTH + TRUTH.len();
const FIRST_NUMBER: usize = FIRST_START + STARTS.len();

#[derive(Debug, Clone)]
pub(super) struct CarSide {
    vehicle: Vehicle,
    numbers: Numbers,
    plant: Plant,
    governor: SpinGovernor,
    brakes: BrakeControl,
    sensors: Sensors,
    /// Heard in the step before, m/s.
    spin_request_m_s: f64,
}

/// What is known at an instant.
struct Known {
    truth: Observation,
    told: Inputs,
    command: Command,
    governor: SpinGovernor,
    brakes: BrakeControl,
    sensors: Sensors,
}

impl CarSide {
    pub(super) fn new(values: &[f64]) -> Self {
        let mut scenario = Scenario::of(Manoeuvre::StraightAhead);
        let mut place = FIRST_NUMBER;
        for field in scenario_numbers() {
            (field.write)(&mut scenario.numbers, values[place]);
            place += 1;
        }
        let mut vehicle = Vehicle::default();
        for (field, value) in Vehicle::FIELDS.iter().zip(&values[place..]) {
            (field.write)(&mut vehicle, *value);
        }
        let mut vehicle = scenario.loaded(&vehicle);
        let numbers = scenario.numbers;
        vehicle.powertrain.drag_torque_nm *= numbers.driver.gear_drag_share;
        let at = &values[FIRST_START..];
        let start = Start {
            speed_m_s: at[0],
            yaw_rate_rad_s: at[1],
            sideslip_rad: at[2],
            x_m: at[3],
            y_m: at[4],
            heading_rad: at[5],
            steering_wheel_rad: at[6],
            carrier_torque_nm: at[7],
            clutch_temperature_degc: numbers.road.axle_degc,
            oil_temperature_degc: numbers.road.axle_degc,
            ambient_degc: numbers.road.ambient_degc,
        };
        let layout = AxleLayout::PairedClutches;
        let mut plant = Plant::with_step(vehicle, layout, scenario.road(), start, STEP_S);
        plant.select_reverse(scenario.direction() < 0.0);
        let on = |number: f64| number >= 0.5;
        let brakes = BrakeControl::new(
            &vehicle,
            plant.single_track().understeer_rad_s2_m(),
            Switches {
                anti_lock: on(numbers.assist.anti_lock),
                traction: on(numbers.assist.brake_traction),
                stability: on(numbers.assist.stability),
                vectoring: false,
            },
        );
        Self {
            vehicle,
            numbers,
            plant,
            governor: SpinGovernor::default(),
            brakes,
            sensors: Sensors::new(sensor_errors(&numbers.sensors), at[8] as u64, false),
            spin_request_m_s: 0.0,
        }
    }

    fn known(&self, values: &[f64]) -> Known {
        let [
            steering_wheel_rad,
            pedal,
            brake,
            hand_brake,
            release,
            left_a,
            right_a,
        ] = std::array::from_fn(|index| values[index]);
        let numbers = &self.numbers;
        let on = |number: f64| number >= 0.5;
        let direction = numbers.driver.direction();
        let reverse = direction < 0.0;
        let truth = self.plant.observe();
        let (mut governor, mut brakes, mut sensors) =
            (self.governor, self.brakes.clone(), self.sensors.clone());
        let carrier =
            0.5 * (truth.wheel_speed_rad_s.front_left + truth.wheel_speed_rad_s.front_right);
        let wanted_nm = asked_nm(&self.vehicle, pedal, carrier);
        let honoured = on(numbers.driver.honour_front_spin_request) && self.spin_request_m_s > 0.0;
        let spin = if honoured {
            self.spin_request_m_s
        } else {
            OWN_FRONT_SPIN_M_S
        };
        let request_nm = governor.step(
            wanted_nm,
            &truth,
            self.vehicle.tyre_front.radius_m,
            spin,
            direction,
            PERIOD_S,
        );
        let measured = sensors.measure(&truth, steering_wheel_rad);
        let braking = brakes.step(
            &measured,
            &BrakeView {
                driver_brake: brake,
                request_nm,
                reverse,
                period_s: PERIOD_S,
            },
        );
        let told = Told {
            pedal,
            brake,
            carrier_torque_nm: truth.carrier_torque_nm,
            carrier_torque_wanted_nm: direction * wanted_nm,
            reverse,
            ambient_degc: numbers.road.ambient_degc,
            open_now: on(numbers.assist.order_open) || hand_brake > 0.0,
            anti_lock_active: braking.anti_lock_active,
            stability_active: braking.stability_active || release > 0.5,
            period_s: PERIOD_S,
        };
        Known {
            truth,
            told: inputs(&measured, &told),
            command: Command {
                steering_wheel_rad,
                carrier_torque_request_nm: braking.request_nm,
                brake_torque_nm: with_hand_brake(braking.torque_nm, hand_brake, &self.vehicle),
                clutch_current_a: PerSide {
                    left: left_a,
                    right: right_a,
                },
            },
            governor,
            brakes,
            sensors,
        }
    }

    pub(super) fn step(&mut self, values: &[f64], periods: u64) {
        for _ in 0..periods {
            let known = self.known(values);
            self.governor = known.governor;
            self.brakes = known.brakes;
            self.sensors = known.sensors;
            self.spin_request_m_s = values[CONTROLS.len() - 1];
            for _ in 0..PLANT_STEPS {
                self.plant.step(&known.command);
            }
        }
    }

    pub(super) fn tell(&self, values: &mut [f64]) {
        let known = self.known(values);
        let readings = values[READINGS..].chunks_exact_mut(3);
        for (place, signal) in readings.zip(INPUT_SIGNALS) {
            let reading = (signal.read)(&known.told);
            place[0] = f64::from(reading.value);
            place[1] = f64::from(reading.age_ms);
            place[2] = f64::from(u8::from(reading.status == Status::VALID));
        }
        for (place, (_, _, _, read)) in values[FIRST_TRUTH..].iter_mut().zip(&TRUTH) {
            *place = read(&known.truth);
        }
    }
}
