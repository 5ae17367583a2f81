//! Shafts that twist, with lash: half shafts of the front wheels, and the propshaft to the clutches.
//!
//! Inputs: as for the rigid driveline, and speeds and twists at the start. Outputs: the same, and speeds and twists at the end.
//! Powertrain inertia on the carrier, mean of the front wheels, and the clutches' input turn by themselves; between them a
//! spring with lash and a damper each: J_c c' = T - T_h - ratio T_p, 2 J_w w' = M + T_h, J_p s' = T_p - T_clutch. Torques act
//! for the mean speeds of the step and the spring's torque is the mean over the twist it goes through, so spring energy and
//! work agree whatever the step (discrete gradient; implicit midpoint rule where there is no lash). Clutches and brakes are
//! solved for the speeds at the end as in the rigid driveline, with the mobility the springs leave them.
//! Common practice of drivability models, no source. A stiffness of 0 is a rigid shaft.
//! Limits: both half shafts twist alike (open differential; a limited-slip one sees the difference rigid); the shafts of the
//! rear wheels are rigid; dampers act only in contact.

use super::shaft::Shaft;
use super::{
    Driveline, DrivelineLoad, DrivelineStep, FrontLockStep, drag_torque_nm, free_of_reversal, pair,
};
use crate::plant::quantity::{PerSide, PerWheel};
use crate::plant::vehicle::Vehicle;

/// Rounds in which the torques of a step follow the lash; one is exact without lash.
const ROUNDS: u32 = 12;

/// The shafts that are not rigid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compliance {
    half: Option<Shaft>,
    prop: Option<Shaft>,
    shaft_inertia_kg_m2: f64,
}

/// Speeds and twists of the shafts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Torsion {
    /// Speed of the carrier, rad/s.
    pub carrier_rad_s: f64,
    /// Speed of the clutches' input at wheel level, rad/s.
    pub shaft_rad_s: f64,
    /// Carrier ahead of the mean of the front wheels, rad.
    pub half_twist_rad: f64,
    /// Carrier (times its ratio) ahead of the clutches' input, rad.
    pub prop_twist_rad: f64,
}

impl Compliance {
    /// From the vehicle file; none if both shafts are rigid.
    pub fn of(vehicle: &Vehicle, drives_rear: bool) -> Option<Self> {
        let numbers = &vehicle.driveline;
        let half = Shaft::of(
            numbers.half_shaft_stiffness_nm_rad,
            numbers.half_shaft_damping_nms_rad,
            numbers.half_shaft_lash_rad,
        );
        let prop = Shaft::of(
            numbers.propshaft_stiffness_nm_rad,
            numbers.propshaft_damping_nms_rad,
            numbers.propshaft_lash_rad,
        )
        .filter(|_| drives_rear);
        (half.is_some() || prop.is_some()).then_some(Self {
            half,
            prop,
            shaft_inertia_kg_m2: numbers.propshaft_inertia_kg_m2,
        })
    }

    /// Shafts turning with the wheels, twisted by a steady torque.
    pub fn settled(&self, carrier_rad_s: f64, ratio: f64, carrier_torque_nm: f64) -> Torsion {
        Torsion {
            carrier_rad_s,
            shaft_rad_s: ratio * carrier_rad_s,
            half_twist_rad: self
                .half
                .map_or(0.0, |shaft| shaft.twist_rad(carrier_torque_nm)),
            prop_twist_rad: 0.0,
        }
    }

    /// Energy of the carrier's and the shaft's speed and of both twists, J.
    pub fn energy_j(&self, torsion: &Torsion, carrier_inertia_kg_m2: f64) -> f64 {
        let turning = |inertia: f64, speed: f64| 0.5 * inertia * speed * speed;
        turning(carrier_inertia_kg_m2, torsion.carrier_rad_s)
            + self
                .half
                .map_or(0.0, |shaft| shaft.energy_j(torsion.half_twist_rad))
            + self.prop.map_or(0.0, |shaft| {
                shaft.energy_j(torsion.prop_twist_rad)
                    + turning(self.shaft_inertia_kg_m2, torsion.shaft_rad_s)
            })
    }
}

/// One shaft in a step: torque = held + rate * (difference of accelerations).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Acting {
    /// Torque if the difference of speeds stayed, N m.
    held_nm: f64,
    /// Torque per difference of accelerations, N m s2/rad.
    rate_kg_m2: f64,
}

impl Acting {
    fn of(shaft: &Shaft, twist_rad: f64, slope_nm_rad: f64, speed_rad_s: f64, step_s: f64) -> Self {
        let contact = shaft.lash_rad <= 0.0 || shaft.beyond_rad(twist_rad) != 0.0;
        let damping = if contact { shaft.damping_nms_rad } else { 0.0 };
        let per_speed = slope_nm_rad * step_s + damping;
        Self {
            held_nm: shaft.torque_nm(twist_rad) + per_speed * speed_rad_s,
            rate_kg_m2: 0.5 * per_speed * step_s,
        }
    }
}

/// Equations of a step with given slopes of the springs.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Step<'a> {
    driveline: &'a Driveline,
    compliance: &'a Compliance,
    half: Acting,
    prop: Acting,
    /// Inertia that the carrier feels, kg m2.
    felt_kg_m2: f64,
    step_s: f64,
}

impl<'a> Step<'a> {
    fn new(
        driveline: &'a Driveline,
        compliance: &'a Compliance,
        half: Acting,
        prop: Acting,
        step_s: f64,
    ) -> Self {
        let wheels = 2.0 * driveline.wheel_inertia_kg_m2;
        let front = if compliance.half.is_some() {
            half.rate_kg_m2 * wheels / (wheels + half.rate_kg_m2)
        } else {
            wheels
        };
        let rear = if compliance.prop.is_some() {
            let shaft = compliance.shaft_inertia_kg_m2;
            driveline.ratio * driveline.ratio * prop.rate_kg_m2 * shaft / (shaft + prop.rate_kg_m2)
        } else {
            0.0
        };
        Self {
            driveline,
            compliance,
            half,
            prop,
            felt_kg_m2: driveline.carrier_inertia_kg_m2 + front + rear,
            step_s,
        }
    }

    /// Accelerations of carrier, mean front wheel and shaft, rad/s2.
    fn accelerations(&self, torque_nm: f64, front_nm: f64, clutch_nm: f64) -> (f64, f64, f64) {
        let ratio = self.driveline.ratio;
        let wheels = 2.0 * self.driveline.wheel_inertia_kg_m2 + self.half.rate_kg_m2;
        let shaft = self.compliance.shaft_inertia_kg_m2 + self.prop.rate_kg_m2;
        let pulled_nm = front_nm + self.half.held_nm;
        let turned_nm = self.prop.held_nm - clutch_nm;
        let front = if self.compliance.half.is_some() {
            self.half.rate_kg_m2 / wheels * pulled_nm - self.half.held_nm
        } else {
            front_nm
        };
        let rear = if self.compliance.prop.is_some() {
            ratio * (self.prop.rate_kg_m2 / shaft * turned_nm - self.prop.held_nm)
        } else {
            -ratio * clutch_nm
        };
        let carrier = (torque_nm + front + rear) / self.felt_kg_m2;
        let wheel = if self.compliance.half.is_some() {
            (pulled_nm + self.half.rate_kg_m2 * carrier) / wheels
        } else {
            carrier
        };
        let shaft = if self.compliance.prop.is_some() {
            (turned_nm + self.prop.rate_kg_m2 * ratio * carrier) / shaft
        } else {
            ratio * carrier
        };
        (carrier, wheel, shaft)
    }

    /// Acceleration of the mean front wheel per moment on the front wheels, 1/(kg m2).
    fn wheel_mobility(&self) -> f64 {
        if self.compliance.half.is_none() {
            return 1.0 / self.felt_kg_m2;
        }
        let wheels = 2.0 * self.driveline.wheel_inertia_kg_m2 + self.half.rate_kg_m2;
        let share = self.half.rate_kg_m2 / wheels;
        1.0 / wheels + share * share / self.felt_kg_m2
    }

    /// Deceleration of the shaft per clutch torque, 1/(kg m2).
    fn shaft_mobility(&self) -> f64 {
        let ratio = self.driveline.ratio;
        if self.compliance.prop.is_none() {
            return ratio * ratio / self.felt_kg_m2;
        }
        let shaft = self.compliance.shaft_inertia_kg_m2 + self.prop.rate_kg_m2;
        let share = ratio * self.prop.rate_kg_m2 / shaft;
        1.0 / shaft + share * share / self.felt_kg_m2
    }

    fn brakes(&self, start: PerWheel<f64>, torque_nm: f64, load: &DrivelineLoad) -> PerWheel<f64> {
        let capacity_nm = load.brake_capacity_nm;
        if capacity_nm.sum() <= 0.0 {
            return PerWheel::all(0.0);
        }
        let clutch_nm = load.clutch_torque_before_nm;
        let moment_nm = load.wheel_moment_nm;
        let (_, wheel, _) = self.accelerations(torque_nm, moment_nm.front().sum(), clutch_nm.sum());
        let free = self.wheels(
            start,
            moment_nm,
            wheel,
            clutch_nm,
            load.front_lock_before_nm,
        );
        let inertia = self.driveline.wheel_inertia_kg_m2;
        let common = self.wheel_mobility();
        let opposed = 0.5 / inertia;
        let front = pair::friction_torques_nm(
            free.front(),
            capacity_nm.front(),
            self.step_s * (common + opposed),
            self.step_s * (common - opposed),
        );
        let rear = free.rear().zip(capacity_nm.rear(), |speed, capacity| {
            (speed * inertia / self.step_s).clamp(-capacity, capacity)
        });
        PerWheel::from_axles(front, rear)
    }

    fn wheels(
        &self,
        start: PerWheel<f64>,
        moment_nm: PerWheel<f64>,
        mean_rad_s2: f64,
        clutch_nm: PerSide<f64>,
        front_lock_nm: f64,
    ) -> PerWheel<f64> {
        let inertia = self.driveline.wheel_inertia_kg_m2;
        let front = moment_nm.front();
        let half = 0.5 * (front.left - front.right - 2.0 * front_lock_nm) / inertia;
        let from = start.front();
        PerWheel::from_axles(
            PerSide {
                left: from.left + self.step_s * (mean_rad_s2 + half),
                right: from.right + self.step_s * (mean_rad_s2 - half),
            },
            start.rear().zip(
                moment_nm.rear().pair(clutch_nm),
                |speed, (moment, torque)| speed + self.step_s * (moment + torque) / inertia,
            ),
        )
    }
}

/// Speeds at the start of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Before {
    /// Wheels, rad/s.
    pub wheel_rad_s: PerWheel<f64>,
    /// Shafts.
    pub torsion: Torsion,
    /// Carrier at the moment whose drag counts, rad/s.
    pub drag_at_rad_s: f64,
}

/// Advances wheels and shafts by `step_s`.
pub fn advance(
    driveline: &Driveline,
    compliance: &Compliance,
    before: &Before,
    load: &DrivelineLoad,
    step_s: f64,
) -> DrivelineStep {
    let mut slope = (0.0, 0.0);
    let twist = (before.torsion.half_twist_rad, before.torsion.prop_twist_rad);
    if let Some(shaft) = &compliance.half {
        slope.0 = shaft.slope_nm_rad(twist.0, twist.0);
    }
    if let Some(shaft) = &compliance.prop {
        slope.1 = shaft.slope_nm_rad(twist.1, twist.1);
    }
    let mut done = with_slopes(driveline, compliance, before, load, slope, step_s);
    for _ in 1..ROUNDS {
        let mut followed = slope;
        if let Some(shaft) = &compliance.half {
            followed.0 = shaft.slope_nm_rad(twist.0, done.torsion.half_twist_rad);
        }
        if let Some(shaft) = &compliance.prop {
            followed.1 = shaft.slope_nm_rad(twist.1, done.torsion.prop_twist_rad);
        }
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (a.abs() + b.abs());
        if near(followed.0, slope.0) && near(followed.1, slope.1) {
            break;
        }
        slope = followed;
        done = with_slopes(driveline, compliance, before, load, slope, step_s);
    }
    done
}

fn with_slopes(
    driveline: &Driveline,
    compliance: &Compliance,
    before: &Before,
    load: &DrivelineLoad,
    slope_nm_rad: (f64, f64),
    step_s: f64,
) -> DrivelineStep {
    let start = before.wheel_rad_s;
    let torsion = &before.torsion;
    let twisting = (
        torsion.carrier_rad_s - 0.5 * start.front().sum(),
        driveline.ratio * torsion.carrier_rad_s - torsion.shaft_rad_s,
    );
    let acting = |shaft: &Option<Shaft>, twist_rad, slope, speed| {
        shaft.as_ref().map_or(Acting::default(), |shaft| {
            Acting::of(shaft, twist_rad, slope, speed, step_s)
        })
    };
    let half = acting(
        &compliance.half,
        torsion.half_twist_rad,
        slope_nm_rad.0,
        twisting.0,
    );
    let prop = acting(
        &compliance.prop,
        torsion.prop_twist_rad,
        slope_nm_rad.1,
        twisting.1,
    );
    let step = Step::new(driveline, compliance, half, prop, step_s);

    let drag_torque_nm = drag_torque_nm(driveline.drag_nm, before.drag_at_rad_s);
    let torque_nm = load.carrier_torque_nm - drag_torque_nm;
    let brake_torque_nm = step.brakes(start, torque_nm, load);
    let moment_nm = load
        .wheel_moment_nm
        .zip(brake_torque_nm, |moment, brake| moment - brake);
    let ends = |clutch_nm: PerSide<f64>, front_lock_nm: f64| {
        let rates = step.accelerations(torque_nm, moment_nm.front().sum(), clutch_nm.sum());
        (
            step.wheels(start, moment_nm, rates.1, clutch_nm, front_lock_nm),
            rates,
        )
    };
    let (free, free_rates) = ends(PerSide::both(0.0), 0.0);
    let front_lock = driveline
        .front_lock
        .map_or(FrontLockStep::default(), |lock| {
            let passed_nm = if compliance.half.is_some() {
                half.held_nm
            } else {
                torque_nm
            };
            lock.step(
                start.front(),
                free.front(),
                passed_nm,
                driveline.wheel_inertia_kg_m2,
                step_s,
            )
        });
    let slip = |wheel_rad_s: PerWheel<f64>, shaft_rad_s: f64| {
        driveline.slip_of_shaft_rad_s(wheel_rad_s, shaft_rad_s)
    };
    let shaft_end = |rates: (f64, f64, f64)| torsion.shaft_rad_s + step_s * rates.2;
    let slip_start_rad_s = slip(start, torsion.shaft_rad_s);
    let free_slip_rad_s = slip(free, shaft_end(free_rates));
    let mobility = step_s * step.shaft_mobility();
    let (clutch_torque_nm, (wheel_rad_s, rates), slip_end_rad_s) = free_of_reversal(
        slip_start_rad_s,
        load.clutch_capacity_nm,
        |capacity_nm| driveline.clutches(free_slip_rad_s, capacity_nm, mobility, step_s),
        |clutch_nm| {
            let (wheels, rates) = ends(clutch_nm, front_lock.torque_nm);
            ((wheels, rates), slip(wheels, shaft_end(rates)))
        },
    );
    let mean = (
        twisting.0 + 0.5 * step_s * (rates.0 - rates.1),
        twisting.1 + 0.5 * step_s * (driveline.ratio * rates.0 - rates.2),
    );
    let after = Torsion {
        carrier_rad_s: torsion.carrier_rad_s + step_s * rates.0,
        shaft_rad_s: shaft_end(rates),
        half_twist_rad: torsion.half_twist_rad
            + step_s
                * if compliance.half.is_some() {
                    mean.0
                } else {
                    0.0
                },
        prop_twist_rad: torsion.prop_twist_rad
            + step_s
                * if compliance.prop.is_some() {
                    mean.1
                } else {
                    0.0
                },
    };
    let loss =
        |shaft: &Option<Shaft>, acting: &Acting, rate: f64, mean: f64, from: f64, to: f64| {
            shaft.as_ref().map_or(0.0, |shaft| {
                (acting.held_nm + acting.rate_kg_m2 * rate) * mean
                    - (shaft.energy_j(to) - shaft.energy_j(from)) / step_s
            })
        };
    let twist_loss_w = loss(
        &compliance.half,
        &half,
        rates.0 - rates.1,
        mean.0,
        torsion.half_twist_rad,
        after.half_twist_rad,
    ) + loss(
        &compliance.prop,
        &prop,
        driveline.ratio * rates.0 - rates.2,
        mean.1,
        torsion.prop_twist_rad,
        after.prop_twist_rad,
    );
    DrivelineStep {
        wheel_rad_s,
        clutch_torque_nm,
        brake_torque_nm,
        drag_torque_nm,
        slip_start_rad_s,
        slip_end_rad_s,
        clutch_heat_w: super::clutch_heat_w(clutch_torque_nm, slip_start_rad_s, slip_end_rad_s),
        front_lock,
        torsion: after,
        twist_loss_w,
    }
}
