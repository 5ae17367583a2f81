//! The plant: the car and its axle as they are, not as the controller guesses.
//!
//! Inputs: [`Command`] once per step of 1 ms. Outputs: [`Observation`], the truth about the step just finished. The rooms:
//! `vehicle` (every number), `road`, `chassis`, `tyre`, `powertrain`, `gearbox`, `driveline` (axle layouts, friction solved exactly),
//! `wet_clutch`, `suspension`, `trailer`, `heat`, `motion` (what moves), `wheels` (tyres at one moment), `integrate` (one step of it), `observe` (truth and record channels), `sensors` (what the
//! controller is shown of it), `single_track` (closed
//! forms to compare with). Nothing here comes from the controller: sharing its guesses would hide its errors. All
//! transcendental functions are `libm`'s, so results do not vary by machine, and a mirrored car drives the exact mirror
//! image. Limits: planar body, roll and pitch only where asked for, one continuous gear ratio unless `gearbox` is used, even road.

pub mod chassis;
pub mod driveline;
pub mod gearbox;
pub mod heat;
pub mod integrate;
pub mod motion;
pub mod observe;
pub mod powertrain;
pub mod quantity;
pub mod road;
pub mod sensors;
pub mod single_track;
pub mod suspension;
pub mod trailer;
pub mod tyre;
pub mod vehicle;
mod vehicle_views;
pub mod wet_clutch;
pub mod wheels;

pub use driveline::AxleLayout;
pub use observe::{Observation, channels};
pub use quantity::{PerSide, PerWheel};
pub use road::{Road, Surface};
pub use vehicle::Vehicle;

use chassis::BodyVelocity;
use driveline::front_lock::FrontLockStep;
use gearbox::{Delivered, Gearbox};
use heat::AxleHeat;
use integrate::{Car, Drive, Finished, Motion, Stage};
use motion::Powers;
use powertrain::Powertrain;
use quantity::Compared;
use single_track::SingleTrack;
use suspension::Lean;
use wet_clutch::{Actuation, Damage};

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
    car: Car,
    step_s: f64,
    tick: u64,
    motion: Motion,
    steering_wheel_rad: f64,
    powertrain: Powertrain,
    gearbox: Option<Gearbox>,
    actuation: Actuation,
    heat: AxleHeat,
    carrier_torque_nm: f64,
    clutch_capacity_nm: PerSide<f64>,
    damage: PerSide<Damage>,
    finished: Finished,
}

impl Plant {
    /// A car at its start.
    pub fn new(vehicle: Vehicle, layout: AxleLayout, road: Road, start: Start) -> Self {
        Self::with_step(vehicle, layout, road, start, STEP_S)
    }

    /// A car with another step than [`STEP_S`], up to 0.002 s: for showing that results do not hang on the step.
    pub fn with_step(
        vehicle: Vehicle,
        layout: AxleLayout,
        road: Road,
        start: Start,
        step_s: f64,
    ) -> Self {
        let mut car = Car::new(&vehicle, layout, road);
        let body = BodyVelocity {
            forward_m_s: start.speed_m_s,
            lateral_m_s: start.speed_m_s * libm::tan(start.sideslip_rad),
            yaw_rad_s: start.yaw_rate_rad_s,
        };
        let steering_wheel_rad = vehicle.bounded_steering_rad(start.steering_wheel_rad);
        let steer_rad = steering_wheel_rad / vehicle.steering.ratio;
        let mut motion = car.settled((start.x_m, start.y_m), start.heading_rad, body, steer_rad);
        let gearbox = Gearbox::of(
            &vehicle,
            driveline::carrier_rad_s(motion.wheel_rad_s),
            start.carrier_torque_nm,
        );
        if let Some(gearbox) = &gearbox {
            car.driveline
                .set_carrier_inertia(gearbox.carrier_inertia_kg_m2());
        }
        motion.torsion = car
            .driveline
            .settled(motion.wheel_rad_s, start.carrier_torque_nm);
        let mut stage = Stage::default();
        car.stage(&motion, libm::sincos(steer_rad), &mut stage);
        let mut plant = Self {
            vehicle,
            layout,
            road,
            car,
            step_s,
            tick: 0,
            motion,
            steering_wheel_rad,
            powertrain: Powertrain::new(start.carrier_torque_nm),
            gearbox,
            actuation: Actuation::new(&vehicle.actuator, step_s),
            heat: AxleHeat::of(
                &vehicle,
                start.clutch_temperature_degc,
                start.oil_temperature_degc,
                start.ambient_degc,
            ),
            carrier_torque_nm: start.carrier_torque_nm,
            clutch_capacity_nm: PerSide::both(0.0),
            damage: PerSide::both(Damage::default()),
            finished: Finished {
                stage,
                end: stage,
                ..Finished::default()
            },
        };
        plant.finished.driveline.slip_end_rad_s = car.driveline.slip_rad_s(motion.wheel_rad_s);
        plant.clutch_capacity_nm = plant.capacity_nm(PerSide::both(0.0));
        plant
    }

    /// One step. The command holds during it; the steering wheel moves evenly to the commanded angle.
    pub fn step(&mut self, command: &Command) {
        let step_s = self.step_s;
        let current_a = match self.layout {
            AxleLayout::SingleCoupling => PerSide::both(0.5 * command.clutch_current_a.sum()),
            _ => command.clutch_current_a,
        };
        let factor = wet_clutch::cold_factor(&self.vehicle.actuator, self.heat.oil_degc);
        let pressure_pa = self
            .actuation
            .step(&self.vehicle.actuator, current_a, factor, step_s);
        self.clutch_capacity_nm = self.capacity_nm(pressure_pa);
        let carrier_rad_s = self
            .car
            .driveline
            .carrier_of(self.motion.wheel_rad_s, &self.motion.torsion);
        let mut own_power_w = 0.0;
        self.carrier_torque_nm = match &mut self.gearbox {
            None => self.powertrain.step(
                &self.vehicle.powertrain,
                command.carrier_torque_request_nm,
                carrier_rad_s,
                step_s,
            ),
            Some(gearbox) => {
                let Delivered {
                    carrier_torque_nm,
                    carrier_inertia_kg_m2,
                    own_power_w: own_w,
                } = gearbox.step(command.carrier_torque_request_nm, carrier_rad_s, step_s);
                own_power_w = own_w;
                self.car
                    .driveline
                    .set_carrier_inertia(carrier_inertia_kg_m2);
                carrier_torque_nm
            }
        };
        let most_nm = self.vehicle.brakes.maximum_torque_nm;
        let drive = Drive {
            carrier_torque_nm: self.carrier_torque_nm,
            brake_capacity_nm: command
                .brake_torque_nm
                .map(|torque| torque.larger(0.0).smaller(most_nm)),
            clutch_capacity_nm: self.clutch_capacity_nm,
        };
        let ratio = self.vehicle.steering.ratio;
        let steering_wheel_rad = self
            .vehicle
            .bounded_steering_rad(command.steering_wheel_rad);
        let steer_rad = (self.steering_wheel_rad / ratio, steering_wheel_rad / ratio);
        self.car.step(
            &mut self.motion,
            &mut self.finished,
            steer_rad,
            &drive,
            step_s,
        );
        self.finished.powers.engine_w += own_power_w;
        self.steering_wheel_rad = steering_wheel_rad;
        self.heat.step(
            &self.vehicle.heat,
            self.finished.driveline.clutch_heat_w,
            self.motion.body.forward_m_s,
            step_s,
        );
        self.tick += 1;
    }

    /// The truth about the step just finished.
    pub fn observe(&self) -> Observation {
        let motion = &self.motion;
        let Finished {
            stage,
            end,
            driveline,
            powers,
        } = &self.finished;
        let body = &motion.body;
        // Accelerations of this instant, as a sensor gives them: the step's own are half a step old, and a controller that looks at them
        // then makes the closed loop converge with first order only.
        let stored = self.heat.stored(&self.vehicle.heat);
        let moving = body.forward_m_s.abs().larger(body.lateral_m_s.abs()) > 0.1;
        Observation {
            time_s: self.tick as f64 * self.step_s,
            x_m: motion.place_m.0,
            y_m: motion.place_m.1,
            heading_rad: motion.heading_rad,
            speed_m_s: body.forward_m_s,
            lateral_speed_m_s: body.lateral_m_s,
            sideslip_rad: if moving {
                libm::atan2(body.lateral_m_s, body.forward_m_s)
            } else {
                0.0
            },
            yaw_rate_rad_s: body.yaw_rad_s,
            longitudinal_acceleration_m_s2: end.specific_force_m_s2.0,
            lateral_acceleration_m_s2: end.specific_force_m_s2.1,
            steering_wheel_rad: self.steering_wheel_rad,
            road_wheel_rad: self.steering_wheel_rad / self.vehicle.steering.ratio,
            carrier_torque_nm: self.carrier_torque_nm,
            wheel_speed_rad_s: motion.wheel_rad_s,
            wheel_load_n: stage.load_n,
            tyre_force_longitudinal_n: stage.wheels.force.longitudinal_n,
            tyre_force_lateral_n: stage.wheels.force.lateral_n,
            longitudinal_slip: motion.slip.longitudinal.map(slip_over_travel),
            slip_angle_rad: motion.slip.lateral.map(|slip| -libm::atan(slip)),
            shaft_speed_rad_s: self
                .car
                .driveline
                .shaft_of(motion.wheel_rad_s, &motion.torsion),
            clutch_slip_rad_s: driveline.slip_end_rad_s,
            clutch_torque_nm: driveline.clutch_torque_nm,
            clutch_capacity_nm: self.clutch_capacity_nm,
            clutch_heat_w: driveline.clutch_heat_w,
            clutch_pressure_pa: (self.actuation.pressure_pa())
                .zip(self.damage, |pressure_pa, damage| {
                    pressure_pa * damage.pressure_kept
                }),
            clutch_surface_degc: self.heat.surface_degc,
            clutch_core_degc: self.heat.core_degc,
            oil_degc: self.heat.oil_degc,
            housing_degc: self.heat.housing_degc,
            heat_to_core_j: self.heat.flows.to_core_j,
            heat_to_oil_j: self.heat.flows.to_oil_j,
            heat_to_housing_j: self.heat.flows.to_housing_j,
            heat_to_air_j: self.heat.given_off_j,
            heat_in_clutches_j: stored.clutches_j,
            heat_in_oil_j: stored.oil_j,
            heat_in_housing_j: stored.housing_j,
            yaw_moment_axle_nm: self.car.rear_yaw_moment_nm(stage),
            engine_power_w: powers.engine_w,
            tyre_loss_w: powers.tyre_w,
            clutch_loss_w: powers.clutch_w,
            aero_loss_w: powers.air_w,
            rolling_loss_w: powers.rolling_w,
            brake_loss_w: powers.brake_w,
            driveline_loss_w: powers.driveline_w,
            grade_power_w: powers.grade_w,
            articulation_rad: motion.trailer.articulation_rad,
            hitch_load_n: stage.trailer.hitch_load_n,
            roll_rad: motion.lean.roll_rad,
            pitch_rad: motion.lean.pitch_rad,
            gear: self
                .gearbox
                .as_ref()
                .map_or(0.0, |gearbox| gearbox.gear().into()),
            kinetic_energy_j: self.car.kinetic_energy_j(motion)
                + self.gearbox.as_ref().map_or(0.0, Gearbox::free_energy_j),
        }
    }

    /// Powers of the step just finished.
    pub fn powers(&self) -> &Powers {
        &self.finished.powers
    }

    /// Heat made in each clutch during the step just finished, W.
    pub fn clutch_heat_w(&self) -> PerSide<f64> {
        self.finished.driveline.clutch_heat_w
    }

    /// The car seen in a mirror along the x axis.
    pub fn mirrored(&self) -> Self {
        let vehicle = self.vehicle.mirrored();
        let road = self.road.mirrored();
        let driveline = &self.finished.driveline;
        let stage = self.finished.stage.mirrored();
        let mut car = Car::new(&vehicle, self.layout, road);
        car.driveline
            .set_carrier_inertia(self.car.driveline.carrier_inertia_kg_m2());
        Self {
            vehicle,
            layout: self.layout,
            road,
            car,
            step_s: self.step_s,
            tick: self.tick,
            motion: self.motion.mirrored(),
            steering_wheel_rad: -self.steering_wheel_rad,
            powertrain: self.powertrain,
            gearbox: self.gearbox,
            actuation: self.actuation.mirrored(),
            heat: self.heat.mirrored(),
            carrier_torque_nm: self.carrier_torque_nm,
            clutch_capacity_nm: self.clutch_capacity_nm.mirrored(),
            damage: self.damage.mirrored(),
            finished: Finished {
                stage,
                end: self.finished.end.mirrored(),
                driveline: driveline.mirrored(),
                powers: self.finished.powers,
            },
        }
    }

    /// Selects reverse: a positive torque request then drives backwards, and the powertrain drags against that.
    pub fn select_reverse(&mut self, reverse: bool) {
        self.powertrain.select_reverse(reverse);
        if let Some(gearbox) = &mut self.gearbox {
            gearbox.select_reverse(reverse);
        }
    }

    /// The linear single-track car with this car's mass and the cornering stiffness of its tyres at their static load.
    pub fn single_track(&self) -> SingleTrack {
        let load_n = self.car.chassis.wheel_loads_n(1.0, 0.0, 0.0);
        let stiffness_n_rad = self
            .car
            .tyres
            .pair(load_n)
            .map(|(tyre, load_n)| tyre.cornering_stiffness_n_rad(load_n));
        SingleTrack {
            mass_kg: self.vehicle.body.mass_kg,
            yaw_inertia_kg_m2: self.vehicle.body.yaw_inertia_kg_m2,
            front_m: self.vehicle.front_axle_m(),
            rear_m: self.vehicle.rear_axle_m(),
            front_stiffness_n_rad: stiffness_n_rad.front().sum(),
            rear_stiffness_n_rad: stiffness_n_rad.rear().sum(),
        }
    }

    /// What the front differential's friction did in the step just finished; nothing in a car without one.
    pub fn front_lock(&self) -> FrontLockStep {
        self.finished.driveline.front_lock
    }

    /// Roll and pitch; all zero in a car whose vehicle file has them off.
    pub fn lean(&self) -> Lean {
        self.motion.lean
    }

    /// Heat of the body's dampers in the step just finished, W.
    pub fn suspension_loss_w(&self) -> f64 {
        self.finished.powers.suspension_w
    }

    /// Engine and gears; nothing in a car with the continuous ratio.
    pub fn gearbox(&self) -> Option<&Gearbox> {
        self.gearbox.as_ref()
    }

    /// Thermal state of the axle with its ledger.
    pub fn heat(&self) -> &AxleHeat {
        &self.heat
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

    fn capacity_nm(&self, pressure_pa: PerSide<f64>) -> PerSide<f64> {
        if !self.layout.drives_rear() {
            return PerSide::both(0.0);
        }
        let clutch = &self.vehicle.clutch;
        let oil_degc = self.heat.oil_degc;
        let factor = wet_clutch::cold_factor(&self.vehicle.actuator, oil_degc);
        let scale = PerSide {
            left: clutch.left_friction_scale,
            right: clutch.right_friction_scale,
        };
        let slip_rad_s = self.finished.driveline.slip_end_rad_s;
        let state = slip_rad_s.pair(self.heat.surface_degc);
        let acting_pa = pressure_pa.zip(self.damage, |pressure_pa, damage| {
            damage.acting_pa(clutch, &self.vehicle.actuator, pressure_pa)
        });
        acting_pa.pair(scale.pair(state)).map(
            |(pressure_pa, (scale, (slip_rad_s, surface_degc)))| {
                let (friction, at) = ((clutch, scale), (slip_rad_s, surface_degc));
                let drag_nm = heat::oil::open_drag_nm(&self.vehicle, slip_rad_s, oil_degc);
                wet_clutch::axle_capacity_nm(friction, pressure_pa, at, factor, drag_nm)
            },
        )
    }
}

/// Slip over the speed of the wheel centre (ISO 8855) from theoretical slip, which is over the faster of both.
fn slip_over_travel(theoretical: f64) -> f64 {
    if theoretical > 0.0 {
        theoretical / (1.0 - theoretical.smaller(0.99))
    } else {
        theoretical.larger(-1.0)
    }
}
