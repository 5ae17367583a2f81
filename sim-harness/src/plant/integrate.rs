//! One step of motion: midpoint rule for body and tyres, end-of-step friction for clutches and brakes.
//!
//! Inputs: motion at the start, steering, torques and capacities over the step. Outputs: motion at the end and the powers
//! of the step. The first stage takes half a step from the start, the second takes the whole step with the forces of the
//! midpoint. Powers use the mean of the speeds at start and end, so they sum to the change of kinetic energy but for the
//! turning of the body's axes within a step (relative error about 1e-6).
//! Limits: second order; not meant for steps above 2 ms (a wheel swings on its tread with some 230 rad/s at standstill).

use super::chassis::{BodyVelocity, Chassis, GRAVITY_M_S2, difference_yaw_moment_nm};
use super::driveline::compliant::Torsion;
use super::driveline::{AxleLayout, Driveline, DrivelineLoad, DrivelineStep};
use super::motion::WheelSlips;
pub use super::motion::{Finished, Motion, Powers, Stage};
use super::quantity::{Compared, PerSide, PerWheel};
use super::road::{Rise, Road};
use super::suspension::{Lean, Suspension};
use super::trailer::{Towing, Trailer, TrailerMotion, TrailerStage};
use super::tyre::Tyre;
use super::vehicle::Vehicle;
use super::wheels::{Wheels, World};

/// Torques and capacities held over a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Powertrain at the carrier, N m.
    pub carrier_torque_nm: f64,
    /// Brakes, N m.
    pub brake_capacity_nm: PerWheel<f64>,
    /// Clutches, N m.
    pub clutch_capacity_nm: PerSide<f64>,
}

/// The parts of the car that do not change while it drives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Car {
    /// Body.
    pub chassis: Chassis,
    /// Driveline.
    pub driveline: Driveline,
    /// Tyres.
    pub tyres: PerWheel<Tyre>,
    /// Rolling radius of each wheel, m.
    pub radius_m: PerWheel<f64>,
    /// The trailer, if there is one.
    pub trailer: Option<Trailer>,
    /// Roll and pitch, if they are on.
    pub suspension: Option<Suspension>,
    wheels: Wheels,
    road: Road,
    /// Rise of a plane, the same everywhere.
    even_rise: Option<Rise>,
    drag_n_s2_m2: f64,
    /// Front and rear, positive lifting.
    lift_n_s2_m2: (f64, f64),
    load_lag_s: f64,
}

impl Car {
    /// From the vehicle file.
    pub fn new(vehicle: &Vehicle, layout: AxleLayout, road: Road) -> Self {
        let chassis = Chassis::new(vehicle);
        let (front, rear) = (&vehicle.tyre_front, &vehicle.tyre_rear);
        let tyres = PerWheel::from_axles(PerSide::from(front), PerSide::from(rear));
        let radius_m = PerWheel {
            front_left: front.radius_m * front.left_radius_scale,
            front_right: front.radius_m * front.right_radius_scale,
            rear_left: rear.radius_m * rear.left_radius_scale,
            rear_right: rear.radius_m * rear.right_radius_scale,
        };
        Self {
            chassis,
            driveline: Driveline::new(vehicle, layout),
            tyres,
            radius_m,
            trailer: Trailer::of(vehicle),
            suspension: Suspension::of(vehicle),
            wheels: Wheels::new(
                tyres,
                chassis.places_m(),
                radius_m,
                vehicle.body.rolling_resistance,
            ),
            road,
            even_rise: road.even_rise(),
            drag_n_s2_m2: 0.5 * vehicle.body.air_density_kg_m3 * vehicle.body.drag_area_m2,
            lift_n_s2_m2: (
                0.5 * vehicle.body.air_density_kg_m3 * vehicle.body.front_lift_area_m2,
                0.5 * vehicle.body.air_density_kg_m3 * vehicle.body.rear_lift_area_m2,
            ),
            load_lag_s: vehicle.body.load_transfer_lag_s,
        }
    }

    /// Motion at the start: wheels rolling freely, lateral slips and wheel loads settled for the given velocity.
    pub fn settled(
        &self,
        place_m: (f64, f64),
        heading_rad: f64,
        body: BodyVelocity,
        steer_rad: f64,
    ) -> Motion {
        let steer = libm::sincos(steer_rad);
        let (along_m_s, across_m_s) = self.wheels.velocities_m_s(&body, steer);
        let direction = libm::sincos(heading_rad);
        let pull_m_s2 = self.road.rise_at(place_m).pull(GRAVITY_M_S2, direction);
        let lagged_m_s2 = (
            -pull_m_s2.0 - body.lateral_m_s * body.yaw_rad_s,
            body.forward_m_s * body.yaw_rad_s - pull_m_s2.1,
        );
        Motion {
            place_m,
            heading_rad,
            body,
            wheel_rad_s: along_m_s.zip(self.radius_m, |along, radius| along / radius),
            slip: WheelSlips {
                longitudinal: PerWheel::all(0.0),
                lateral: along_m_s.zip(across_m_s, |along, across| {
                    if along.abs() > 0.1 {
                        -across / along.abs()
                    } else {
                        0.0
                    }
                }),
            },
            lagged_m_s2,
            lean: self
                .suspension
                .as_ref()
                .map_or(Lean::default(), |springs| springs.settled(lagged_m_s2)),
            trailer: self
                .trailer
                .as_ref()
                .map_or(TrailerMotion::default(), |trailer| trailer.settled(&body)),
            torsion: Torsion::default(),
        }
    }

    /// Forces and rates at one moment, written in place: a copy of them costs as much as a tyre.
    pub fn stage(&self, motion: &Motion, steer: (f64, f64), stage: &mut Stage) {
        let body = &motion.body;
        let (sine, cosine) = libm::sincos(motion.heading_rad);
        let rise = self
            .even_rise
            .unwrap_or_else(|| self.road.rise_at(motion.place_m));
        let speed_squared = body.forward_m_s * body.forward_m_s;
        let mut lift_n = (
            self.lift_n_s2_m2.0 * speed_squared,
            self.lift_n_s2_m2.1 * speed_squared,
        );
        let mut hitch_load_n = 0.0;
        if let Some(trailer) = &self.trailer {
            hitch_load_n = trailer.hitch_load_n(rise.cosine, motion.lagged_m_s2.0);
            let lifted_n = trailer.lift_n(hitch_load_n);
            lift_n = (lift_n.0 + lifted_n.0, lift_n.1 + lifted_n.1);
        }
        let (contact, moved_m_s2) = match &self.suspension {
            Some(springs) => (
                springs.contact(body, &motion.lean),
                springs.loading_m_s2(&motion.lean, motion.lagged_m_s2),
            ),
            None => (*body, motion.lagged_m_s2),
        };
        let load_n =
            self.chassis
                .lifted_wheel_loads_n(rise.cosine, moved_m_s2.0, moved_m_s2.1, lift_n);
        let wheels = self.wheels.at(
            &World {
                body: &contact,
                place_m: motion.place_m,
                direction: (sine, cosine),
                steer,
            },
            &self.road,
            &motion.slip,
            motion.wheel_rad_s,
            load_n,
        );
        let air_n = self.drag_n_s2_m2 * body.forward_m_s * body.forward_m_s.abs();
        let mut forward_n = wheels.forward_n - air_n;
        let mut lateral_n = wheels.lateral_n;
        let mut moment_nm = wheels.yaw_nm;
        let mass_kg = self.chassis.mass_kg;
        let slope_force_n = rise.pull(mass_kg * GRAVITY_M_S2, (sine, cosine));
        let mut towed = TrailerStage::default();
        if let Some(trailer) = &self.trailer {
            let towing = Towing {
                body: *body,
                place_m: motion.place_m,
                heading_rad: motion.heading_rad,
                rise,
                force_n: (forward_n + slope_force_n.0, lateral_n + slope_force_n.1),
                moment_nm,
                hitch_load_n,
            };
            towed = trailer.stage(&motion.trailer, &towing, &self.road, &self.chassis);
            forward_n -= towed.hitch_n.0;
            lateral_n -= towed.hitch_n.1;
            moment_nm += trailer.car_moment_nm(towed.hitch_n);
        }
        let specific_force_m_s2 = (forward_n / mass_kg, lateral_n / mass_kg);
        let loading_m_s2 = self
            .trailer
            .as_ref()
            .map_or(specific_force_m_s2, |trailer| {
                trailer.load_acceleration_m_s2(specific_force_m_s2, towed.hitch_n)
            });
        *stage = Stage {
            load_n,
            wheels,
            specific_force_m_s2,
            air_n,
            slope_force_n,
            body_rate: BodyVelocity {
                forward_m_s: specific_force_m_s2.0
                    + slope_force_n.0 / mass_kg
                    + body.lateral_m_s * body.yaw_rad_s,
                lateral_m_s: specific_force_m_s2.1 + slope_force_n.1 / mass_kg
                    - body.forward_m_s * body.yaw_rad_s,
                yaw_rad_s: moment_nm / self.chassis.yaw_inertia_kg_m2,
            },
            place_rate_m_s: (
                body.forward_m_s * cosine - body.lateral_m_s * sine,
                body.forward_m_s * sine + body.lateral_m_s * cosine,
            ),
            yaw_rate_rad_s: body.yaw_rad_s,
            lagged_rate_m_s3: (
                (loading_m_s2.0 - motion.lagged_m_s2.0) / self.load_lag_s,
                (loading_m_s2.1 - motion.lagged_m_s2.1) / self.load_lag_s,
            ),
            lean_rate: self.suspension.as_ref().map_or(Lean::default(), |springs| {
                springs.rate(&motion.lean, specific_force_m_s2)
            }),
            trailer: towed,
        };
    }

    /// One step in place; `steer_rad` holds the steering angle at start and end. `finished` must hold the forces at the start
    /// as those at the end of the step before.
    pub fn step(
        &self,
        motion: &mut Motion,
        finished: &mut Finished,
        steer_rad: (f64, f64),
        drive: &Drive,
        step_s: f64,
    ) {
        let middle_steer = libm::sincos(0.5 * (steer_rad.0 + steer_rad.1));
        let load = |stage: &Stage, before: &DrivelineStep| DrivelineLoad {
            wheel_moment_nm: stage.wheels.moment_nm,
            carrier_torque_nm: drive.carrier_torque_nm,
            brake_capacity_nm: drive.brake_capacity_nm,
            clutch_capacity_nm: drive.clutch_capacity_nm,
            clutch_torque_before_nm: before.clutch_torque_nm,
            front_lock_before_nm: before.front_lock.torque_nm,
        };
        // The moment a step ends is the moment the next one begins: its forces are found once.
        let first = &finished.end;
        let half_s = 0.5 * step_s;
        let half = self.driveline.advance(
            (motion.wheel_rad_s, &motion.torsion),
            (motion.wheel_rad_s, &motion.torsion),
            &load(first, &finished.driveline),
            half_s,
        );
        let middle = motion.after(first, &half, half_s);
        self.stage(&middle, middle_steer, &mut finished.stage);
        let stage = &finished.stage;
        finished.driveline = self.driveline.advance(
            (motion.wheel_rad_s, &motion.torsion),
            (middle.wheel_rad_s, &middle.torsion),
            &load(stage, &half),
            step_s,
        );
        let driveline = &finished.driveline;
        let mut end = motion.after(stage, driveline, step_s);
        let speed_m_s = end.body.forward_m_s.abs();
        end.slip.bounded(
            &stage.wheels.force.normalised_slip,
            driveline
                .wheel_rad_s
                .zip(self.radius_m, |wheel_rad_s, radius_m| {
                    (wheel_rad_s * radius_m).abs().larger(speed_m_s)
                }),
        );
        if let Some(trailer) = &self.trailer {
            end.trailer = trailer.bounded(end.trailer, &stage.trailer, &end.body);
        }
        finished.powers = self.powers(
            motion,
            &end,
            middle_steer,
            stage,
            driveline,
            drive.carrier_torque_nm,
        );
        self.stage(&end, libm::sincos(steer_rad.1), &mut finished.end);
        *motion = end;
    }

    /// Kinetic energy of body, wheels and powertrain, and the energy of roll and pitch, J.
    pub fn kinetic_energy_j(&self, motion: &Motion) -> f64 {
        let body = &motion.body;
        let speed_squared =
            body.forward_m_s * body.forward_m_s + body.lateral_m_s * body.lateral_m_s;
        0.5 * self.chassis.mass_kg * speed_squared
            + 0.5 * self.chassis.yaw_inertia_kg_m2 * body.yaw_rad_s * body.yaw_rad_s
            + self.driveline.energy_j(motion.wheel_rad_s, &motion.torsion)
            + self.trailer.as_ref().map_or(0.0, |trailer| {
                trailer.kinetic_energy_j(body, &motion.trailer)
            })
            + self
                .suspension
                .as_ref()
                .map_or(0.0, |springs| springs.energy_j(&motion.lean))
    }

    /// Yaw moment of the rear axle's longitudinal forces, N m.
    pub fn rear_yaw_moment_nm(&self, stage: &Stage) -> f64 {
        difference_yaw_moment_nm(
            stage.wheels.force.longitudinal_n.rear(),
            2.0 * self.chassis.half_track_m.1,
        )
    }

    fn powers(
        &self,
        start: &Motion,
        end: &Motion,
        steer: (f64, f64),
        stage: &Stage,
        driveline: &DrivelineStep,
        carrier_torque_nm: f64,
    ) -> Powers {
        let wheel_rad_s = start
            .wheel_rad_s
            .pair(end.wheel_rad_s)
            .map(|(before, after)| 0.5 * (before + after));
        let carrier = 0.5
            * (self.driveline.carrier_of(start.wheel_rad_s, &start.torsion)
                + self.driveline.carrier_of(end.wheel_rad_s, &end.torsion));
        let body = start.body.mean(&end.body);
        let (contact, suspension_w) = match &self.suspension {
            Some(springs) => {
                let at = |motion: &Motion| springs.contact(&motion.body, &motion.lean);
                (
                    at(start).mean(&at(end)),
                    springs.damping_w(&stage.lean_rate, &start.lean, &end.lean),
                )
            }
            None => (body, 0.0),
        };
        let (along_m_s, across_m_s) = self.wheels.velocities_m_s(&contact, steer);
        let slide_w = stage.wheels.force.longitudinal_n.lanes()
            * (wheel_rad_s.lanes() * self.radius_m.lanes() - along_m_s.lanes())
            - stage.wheels.force.lateral_n.lanes() * across_m_s.lanes();
        let towed = self
            .trailer
            .as_ref()
            .map_or((0.0, 0.0, 0.0, 0.0), |trailer| {
                trailer.powers(&body, (&start.trailer, &end.trailer), &stage.trailer)
            });
        Powers {
            engine_w: carrier_torque_nm * carrier,
            tyre_w: PerWheel::of_lanes(slide_w).sum() + towed.0,
            clutch_w: driveline.clutch_heat_w.sum(),
            air_w: stage.air_n * contact.forward_m_s + towed.2,
            rolling_w: stage
                .wheels
                .rolling_nm
                .pair(wheel_rad_s)
                .map(|(moment, wheel)| moment * wheel)
                .sum()
                + towed.1,
            brake_w: driveline
                .brake_torque_nm
                .pair(wheel_rad_s)
                .map(|(torque, wheel)| torque * wheel)
                .sum(),
            driveline_w: driveline.drag_torque_nm * carrier
                + driveline.front_lock.heat_w
                + driveline.twist_loss_w,
            grade_w: -(stage.slope_force_n.0 * body.forward_m_s
                + stage.slope_force_n.1 * body.lateral_m_s)
                + towed.3,
            suspension_w,
        }
    }
}
