//! A single-axle trailer on a ball hitch behind the rear axle.
//!
//! Inputs: motion of car and trailer, forces on the car without the hitch. Outputs: hitch force, yaw acceleration of the
//! trailer, rates of its articulation and its tyre's slip, load it puts on the hitch.
//! Two planar rigid bodies share one point. With H the force on the trailer in the car's axes, the hitch accelerates as
//! a_car - C H seen from the car and as a_trailer + T H seen from the trailer; C and T are the bodies' mobilities at the
//! hitch, both symmetric and positive, so (C + T) H = a_car - a_trailer is solved exactly and nothing drifts apart.
//! Newton-Euler equations (any textbook on dynamics). Both wheels are one tyre pair with relaxation, rolling freely.
//! Hitch load from moments about the axle's contact: S L = W l - m a (h - h_hitch).
//! Limits: no brakes, no roll, no load transfer between its wheels, no friction or damper in the hitch, bodies never touch;
//! the ground rises under the trailer as under the car; the hitch load follows the lagged acceleration of the wheel loads.

use super::chassis::{BodyVelocity, Chassis, GRAVITY_M_S2};
use super::road::{Rise, Road};
use super::tyre::{Slip, Tyre};
use super::vehicle::{TyreRear, Vehicle};

/// Speed over which rolling resistance fades out at standstill, m/s.
const ROLLING_FADE_M_S: f64 = 0.15;

/// Numbers of the trailer; made once from the vehicle file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trailer {
    mass_kg: f64,
    yaw_inertia_kg_m2: f64,
    /// From the car's centre of gravity back to the hitch, m.
    hitch_behind_gravity_m: f64,
    /// From the hitch back to the trailer's centre of gravity, m.
    hitch_to_gravity_m: f64,
    hitch_to_axle_m: f64,
    half_track_m: f64,
    tyre: Tyre,
    rolling_resistance: f64,
    drag_n_s2_m2: f64,
    /// Rise of the hitch load with lagged acceleration, kg.
    load_per_acceleration_kg: f64,
    /// Acceleration that moves the wheel loads as much as one newton at the hitch does, 1/kg.
    load_acceleration_1_kg: f64,
    /// Load of the front and of the rear axle per load on the hitch.
    axle_share: (f64, f64),
}

/// What moves of the trailer.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TrailerMotion {
    /// Heading of the trailer minus that of the car, rad, positive to the left.
    pub articulation_rad: f64,
    /// Yaw rate, rad/s.
    pub yaw_rad_s: f64,
    /// Transient lateral slip of its tyres, positive where the force is.
    pub slip: f64,
}

/// Forces and rates of the trailer at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TrailerStage {
    /// Force of the car on the trailer along and across the car, N.
    pub hitch_n: (f64, f64),
    /// Load on the hitch, N, positive pressing the car down.
    pub hitch_load_n: f64,
    /// Force of both tyres across the trailer, N.
    pub lateral_n: f64,
    normalised_slip: f64,
    rolling_n: f64,
    air_n: f64,
    slope_force_n: (f64, f64),
    yaw_rad_s2: f64,
    articulation_rad_s: f64,
    slip_rate: f64,
}

/// What the car is doing at that moment, as the trailer needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Towing {
    /// Velocity of the car.
    pub body: BodyVelocity,
    /// Place of its centre of gravity, m.
    pub place_m: (f64, f64),
    /// Its heading, rad.
    pub heading_rad: f64,
    /// Rise of the ground.
    pub rise: Rise,
    /// Forces on it along and across but for the hitch, N, and their moment, N m.
    pub force_n: (f64, f64),
    /// Yaw moment on it but for the hitch, N m.
    pub moment_nm: f64,
    /// Load on the hitch, N.
    pub hitch_load_n: f64,
}

/// Powers of the trailer over a step, W, in the order slip of its tyres, rolling resistance, air, height.
pub type TrailerPowers = (f64, f64, f64, f64);

impl TrailerMotion {
    /// The motion in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            articulation_rad: -self.articulation_rad,
            yaw_rad_s: -self.yaw_rad_s,
            slip: -self.slip,
        }
    }

    pub(super) fn after(&self, stage: &TrailerStage, step_s: f64) -> Self {
        Self {
            articulation_rad: self.articulation_rad + step_s * stage.articulation_rad_s,
            yaw_rad_s: self.yaw_rad_s + step_s * stage.yaw_rad_s2,
            slip: self.slip + step_s * stage.slip_rate,
        }
    }

    fn mean(&self, other: &Self) -> Self {
        Self {
            articulation_rad: 0.5 * (self.articulation_rad + other.articulation_rad),
            yaw_rad_s: 0.5 * (self.yaw_rad_s + other.yaw_rad_s),
            slip: 0.5 * (self.slip + other.slip),
        }
    }
}

impl TrailerStage {
    /// The stage in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            hitch_n: (self.hitch_n.0, -self.hitch_n.1),
            lateral_n: -self.lateral_n,
            slope_force_n: (self.slope_force_n.0, -self.slope_force_n.1),
            yaw_rad_s2: -self.yaw_rad_s2,
            articulation_rad_s: -self.articulation_rad_s,
            slip_rate: -self.slip_rate,
            ..*self
        }
    }
}

impl Trailer {
    /// From the vehicle file; none if its mass is 0.
    pub fn of(vehicle: &Vehicle) -> Option<Self> {
        let numbers = &vehicle.trailer;
        if !(numbers.mass_kg > 0.0) {
            return None;
        }
        let tyre = TyreRear {
            family: 0.0,
            cornering_stiffness_max_n_rad: numbers.cornering_stiffness_max_n_rad,
            cornering_stiffness_load_n: numbers.cornering_stiffness_load_n,
            peak_scale_lateral: numbers.peak_scale_lateral,
            relaxation_lateral_m: numbers.relaxation_lateral_m,
            ..TyreRear::default()
        };
        let overhang_m = numbers.hitch_behind_rear_axle_m;
        let wheelbase_m = vehicle.body.wheelbase_m;
        let load_acceleration_1_kg =
            numbers.hitch_height_m / (vehicle.body.mass_kg * vehicle.body.gravity_height_m);
        // The lagged acceleration contains what the hitch adds, which is the trailer's mass times acceleration.
        let contained = 1.0 + numbers.mass_kg * load_acceleration_1_kg;
        Some(Self {
            mass_kg: numbers.mass_kg,
            yaw_inertia_kg_m2: numbers.mass_kg
                * numbers.gyration_radius_m
                * numbers.gyration_radius_m,
            hitch_behind_gravity_m: vehicle.rear_axle_m() + overhang_m,
            hitch_to_gravity_m: numbers.hitch_to_axle_m - numbers.gravity_ahead_of_axle_m,
            hitch_to_axle_m: numbers.hitch_to_axle_m,
            half_track_m: 0.5 * numbers.track_m,
            tyre: Tyre::from(&tyre),
            rolling_resistance: numbers.rolling_resistance,
            drag_n_s2_m2: 0.5 * vehicle.body.air_density_kg_m3 * numbers.drag_area_m2,
            load_per_acceleration_kg: -numbers.mass_kg
                * (numbers.gravity_height_m - numbers.hitch_height_m)
                / (numbers.hitch_to_axle_m * contained),
            load_acceleration_1_kg,
            axle_share: (-overhang_m / wheelbase_m, 1.0 + overhang_m / wheelbase_m),
        })
    }

    /// Load on the hitch, N, positive pressing the car down.
    pub fn hitch_load_n(&self, slope_cosine: f64, lagged_forward_m_s2: f64) -> f64 {
        let static_n = self.mass_kg
            * GRAVITY_M_S2
            * slope_cosine
            * (1.0 - self.hitch_to_gravity_m / self.hitch_to_axle_m);
        static_n + self.load_per_acceleration_kg * lagged_forward_m_s2
    }

    /// What a load on the hitch lifts the front and the rear axle by, N.
    pub fn lift_n(&self, hitch_load_n: f64) -> (f64, f64) {
        (
            -self.axle_share.0 * hitch_load_n,
            -self.axle_share.1 * hitch_load_n,
        )
    }

    /// Specific force that moves the car's wheel loads, given its own and the force at the hitch, m/s2.
    pub fn load_acceleration_m_s2(
        &self,
        specific_force_m_s2: (f64, f64),
        hitch_n: (f64, f64),
    ) -> (f64, f64) {
        (
            specific_force_m_s2.0 + self.load_acceleration_1_kg * hitch_n.0,
            specific_force_m_s2.1 + self.load_acceleration_1_kg * hitch_n.1,
        )
    }

    /// Yaw moment of the hitch force on the car, N m.
    pub fn car_moment_nm(&self, hitch_n: (f64, f64)) -> f64 {
        self.hitch_behind_gravity_m * hitch_n.1
    }

    /// The trailer straight behind a car of this velocity, its tyres settled.
    pub fn settled(&self, body: &BodyVelocity) -> TrailerMotion {
        let motion = TrailerMotion {
            articulation_rad: 0.0,
            yaw_rad_s: body.yaw_rad_s,
            slip: 0.0,
        };
        let (forward_m_s, lateral_m_s) = self.axle_velocity_m_s(body, &motion);
        TrailerMotion {
            slip: if forward_m_s.abs() > 0.1 {
                -lateral_m_s / forward_m_s.abs()
            } else {
                0.0
            },
            ..motion
        }
    }

    /// Forces and rates at one moment.
    pub fn stage(
        &self,
        motion: &TrailerMotion,
        towing: &Towing,
        road: &Road,
        chassis: &Chassis,
    ) -> TrailerStage {
        let body = &towing.body;
        let (sine, cosine) = (
            libm::sin(motion.articulation_rad),
            libm::cos(motion.articulation_rad),
        );
        let heading_rad = towing.heading_rad + motion.articulation_rad;
        let heading = (libm::sin(heading_rad), libm::cos(heading_rad));
        let load_n =
            (self.mass_kg * GRAVITY_M_S2 * towing.rise.cosine - towing.hitch_load_n).max(0.0);
        let (friction, rolling_scale) = self.ground(towing, heading, road);

        let velocity_m_s = self.axle_velocity_m_s(body, motion);
        let slip = Slip {
            longitudinal: 0.0,
            lateral: motion.slip,
        };
        let (slip_rate, acting) = self.tyre.transient(slip, velocity_m_s, velocity_m_s.0);
        let force = self.tyre.force(0.5 * load_n, friction, 0.0, acting.lateral);
        let lateral_n = 2.0 * force.lateral_n;
        let forward_m_s = velocity_m_s.0;
        let rolling_n = self.rolling_resistance * rolling_scale * load_n * forward_m_s
            / libm::sqrt(forward_m_s * forward_m_s + ROLLING_FADE_M_S * ROLLING_FADE_M_S);
        let air_n = self.drag_n_s2_m2 * forward_m_s * forward_m_s.abs();
        let slope_force_n = towing.rise.pull(self.mass_kg * GRAVITY_M_S2, heading);

        // Accelerations of the hitch if it carried no force: the trailer's in its own axes, then both in the car's.
        let force_n = (
            slope_force_n.0 - rolling_n - air_n,
            slope_force_n.1 + lateral_n,
        );
        let moment_nm = -(self.hitch_to_axle_m - self.hitch_to_gravity_m) * lateral_n;
        let lever_m = self.hitch_to_gravity_m;
        let along = force_n.0 / self.mass_kg - lever_m * motion.yaw_rad_s * motion.yaw_rad_s;
        let across = force_n.1 / self.mass_kg + lever_m * moment_nm / self.yaw_inertia_kg_m2;
        let behind_m = self.hitch_behind_gravity_m;
        let gap = (
            towing.force_n.0 / chassis.mass_kg + behind_m * body.yaw_rad_s * body.yaw_rad_s
                - (along * cosine - across * sine),
            towing.force_n.1 / chassis.mass_kg
                - behind_m * towing.moment_nm / chassis.yaw_inertia_kg_m2
                - (along * sine + across * cosine),
        );
        let car = (
            1.0 / chassis.mass_kg,
            1.0 / chassis.mass_kg + behind_m * behind_m / chassis.yaw_inertia_kg_m2,
        );
        let own = (
            1.0 / self.mass_kg,
            1.0 / self.mass_kg + lever_m * lever_m / self.yaw_inertia_kg_m2,
        );
        let first = car.0 + own.0 * cosine * cosine + own.1 * sine * sine;
        let mixed = (own.0 - own.1) * sine * cosine;
        let second = car.1 + own.0 * sine * sine + own.1 * cosine * cosine;
        let determinant = first * second - mixed * mixed;
        let hitch_n = (
            (gap.0 * second - gap.1 * mixed) / determinant,
            (gap.1 * first - gap.0 * mixed) / determinant,
        );
        let hitch_across_n = hitch_n.1 * cosine - hitch_n.0 * sine;
        TrailerStage {
            hitch_n,
            hitch_load_n: towing.hitch_load_n,
            lateral_n,
            normalised_slip: force.normalised_slip,
            rolling_n,
            air_n,
            slope_force_n,
            yaw_rad_s2: (moment_nm + lever_m * hitch_across_n) / self.yaw_inertia_kg_m2,
            articulation_rad_s: motion.yaw_rad_s - body.yaw_rad_s,
            slip_rate: slip_rate.lateral,
        }
    }

    /// The motion with its slip bounded near the force's peak as speed vanishes.
    pub fn bounded(
        &self,
        motion: TrailerMotion,
        stage: &TrailerStage,
        body: &BodyVelocity,
    ) -> TrailerMotion {
        let slip = Slip {
            longitudinal: 0.0,
            lateral: motion.slip,
        };
        let reference_m_s = self.axle_velocity_m_s(body, &motion).0.abs();
        TrailerMotion {
            slip: slip.bounded(stage.normalised_slip, reference_m_s).lateral,
            ..motion
        }
    }

    /// Kinetic energy, J.
    pub fn kinetic_energy_j(&self, body: &BodyVelocity, motion: &TrailerMotion) -> f64 {
        let (along, across) = self.velocity_m_s(body, motion, self.hitch_to_gravity_m);
        0.5 * self.mass_kg * (along * along + across * across)
            + 0.5 * self.yaw_inertia_kg_m2 * motion.yaw_rad_s * motion.yaw_rad_s
    }

    /// Powers of a step with the forces of its middle and the mean velocity of the car.
    pub fn powers(
        &self,
        body: &BodyVelocity,
        (start, end): (&TrailerMotion, &TrailerMotion),
        stage: &TrailerStage,
    ) -> TrailerPowers {
        let motion = start.mean(end);
        let gravity_m_s = self.velocity_m_s(body, &motion, self.hitch_to_gravity_m);
        let axle_m_s = self.axle_velocity_m_s(body, &motion);
        (
            -stage.lateral_n * axle_m_s.1,
            stage.rolling_n * axle_m_s.0,
            stage.air_n * axle_m_s.0,
            -(stage.slope_force_n.0 * gravity_m_s.0 + stage.slope_force_n.1 * gravity_m_s.1),
        )
    }

    fn axle_velocity_m_s(&self, body: &BodyVelocity, motion: &TrailerMotion) -> (f64, f64) {
        self.velocity_m_s(body, motion, self.hitch_to_axle_m)
    }

    /// Velocity along and across the trailer of its point so far behind the hitch, m/s.
    fn velocity_m_s(
        &self,
        body: &BodyVelocity,
        motion: &TrailerMotion,
        behind_m: f64,
    ) -> (f64, f64) {
        let (sine, cosine) = (
            libm::sin(motion.articulation_rad),
            libm::cos(motion.articulation_rad),
        );
        let lateral_m_s = body.lateral_m_s - self.hitch_behind_gravity_m * body.yaw_rad_s;
        (
            body.forward_m_s * cosine + lateral_m_s * sine,
            lateral_m_s * cosine - body.forward_m_s * sine - behind_m * motion.yaw_rad_s,
        )
    }

    /// Mean friction and rolling factor under its two wheels.
    fn ground(&self, towing: &Towing, heading: (f64, f64), road: &Road) -> (f64, f64) {
        let car = (libm::sin(towing.heading_rad), libm::cos(towing.heading_rad));
        let x_m = towing.place_m.0
            - self.hitch_behind_gravity_m * car.1
            - self.hitch_to_axle_m * heading.1;
        let y_m = towing.place_m.1
            - self.hitch_behind_gravity_m * car.0
            - self.hitch_to_axle_m * heading.0;
        let (across_x_m, across_y_m) =
            (self.half_track_m * heading.0, self.half_track_m * heading.1);
        let left = road.ground_at(x_m - across_x_m, y_m + across_y_m);
        let right = road.ground_at(x_m + across_x_m, y_m - across_y_m);
        (0.5 * (left.0 + right.0), 0.5 * (left.1 + right.1))
    }
}
