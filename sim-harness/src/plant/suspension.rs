//! Roll and pitch of the body as motions, for cars whose vehicle file asks for them.
//!
//! Inputs: specific force, angles and rates. Outputs: angular accelerations, the moments that move the wheel loads, the
//! velocity of the ground contact. Both axes lie on the ground under the centre of gravity (mass m, height h), so with roll
//! p positive to the right side down and pitch q positive nose down (ISO 8855):
//! I p'' = m h a_y - (K - m g h) p - C p' and I q'' = -m h a_x - (K - m g h) q - C q', from virtual work with the centre of
//! gravity's velocity as coordinate; the contact then moves by h p' to the left and -h q' forward against it. Steady roll is
//! m h a / (K - m g h), and the weight that leans out adds to the load transfer: m h (a + g p) / T. Natural frequency at
//! given tyre forces: sqrt((K - m g h) / I) (handling textbook: T. D. Gillespie, "Fundamentals of Vehicle Dynamics", 1992,
//! chapter 6, from memory). Limits: roll axis on the ground, no anti-dive, no roll steer or camber, air drag at the ground,
//! m g h as on the level, no roll-over; with a trailer the wheel loads keep their lag.

use super::chassis::{BodyVelocity, GRAVITY_M_S2};
use super::vehicle::Vehicle;

/// Angles and rates; as a rate of itself, rates and angular accelerations.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lean {
    /// Roll angle, rad, positive with the right side down.
    pub roll_rad: f64,
    /// Roll rate, rad/s.
    pub roll_rad_s: f64,
    /// Pitch angle, rad, positive with the nose down.
    pub pitch_rad: f64,
    /// Pitch rate, rad/s.
    pub pitch_rad_s: f64,
}

impl Lean {
    /// After a step at given rates.
    pub fn after(&self, rate: &Self, step_s: f64) -> Self {
        Self {
            roll_rad: self.roll_rad + step_s * rate.roll_rad,
            roll_rad_s: self.roll_rad_s + step_s * rate.roll_rad_s,
            pitch_rad: self.pitch_rad + step_s * rate.pitch_rad,
            pitch_rad_s: self.pitch_rad_s + step_s * rate.pitch_rad_s,
        }
    }

    /// In the mirror along the x axis.
    pub fn mirrored(&self) -> Self {
        Self {
            roll_rad: -self.roll_rad,
            roll_rad_s: -self.roll_rad_s,
            ..*self
        }
    }
}

/// One axis.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Axis {
    stiffness_nm_rad: f64,
    damping_nm_s_rad: f64,
    inertia_kg_m2: f64,
}

impl Axis {
    /// Nothing where the stiffness would not hold the weight.
    fn of(
        stiffness_nm_rad: f64,
        damping_nm_s_rad: f64,
        inertia_kg_m2: f64,
        weight_nm_rad: f64,
    ) -> Option<Self> {
        (stiffness_nm_rad > weight_nm_rad).then_some(Self {
            stiffness_nm_rad,
            damping_nm_s_rad,
            inertia_kg_m2,
        })
    }

    fn moment_nm(&self, angle_rad: f64, rate_rad_s: f64) -> f64 {
        self.stiffness_nm_rad * angle_rad + self.damping_nm_s_rad * rate_rad_s
    }
}

/// Springs and dampers of the body, with at least one axis on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suspension {
    roll: Option<Axis>,
    pitch: Option<Axis>,
    gravity_height_m: f64,
    mass_height_kg_m: f64,
}

impl Suspension {
    /// From the vehicle file; nothing if both axes are off or the car tows.
    pub fn of(vehicle: &Vehicle) -> Option<Self> {
        let numbers = &vehicle.suspension;
        let mass_height_kg_m = vehicle.body.mass_kg * vehicle.body.gravity_height_m;
        let weight_nm_rad = mass_height_kg_m * GRAVITY_M_S2;
        let roll = Axis::of(
            numbers.roll_stiffness_nm_rad,
            numbers.roll_damping_nm_s_rad,
            numbers.roll_inertia_kg_m2,
            weight_nm_rad,
        );
        let pitch = Axis::of(
            numbers.pitch_stiffness_nm_rad,
            numbers.pitch_damping_nm_s_rad,
            numbers.pitch_inertia_kg_m2,
            weight_nm_rad,
        );
        let moves = (roll.is_some() || pitch.is_some()) && vehicle.trailer.mass_kg <= 0.0;
        moves.then_some(Self {
            roll,
            pitch,
            gravity_height_m: vehicle.body.gravity_height_m,
            mass_height_kg_m,
        })
    }

    /// Angles that a steady specific force along and across holds.
    pub fn settled(&self, force_m_s2: (f64, f64)) -> Lean {
        let weight_nm_rad = self.mass_height_kg_m * GRAVITY_M_S2;
        let angle_rad = |axis: Option<Axis>, force_m_s2: f64| {
            axis.map_or(0.0, |axis| {
                self.mass_height_kg_m * force_m_s2 / (axis.stiffness_nm_rad - weight_nm_rad)
            })
        };
        Lean {
            roll_rad: angle_rad(self.roll, force_m_s2.1),
            pitch_rad: angle_rad(self.pitch, -force_m_s2.0),
            ..Lean::default()
        }
    }

    /// Specific force whose static load transfer is that of springs and dampers; `lagged_m_s2` for an axis that is off.
    pub fn loading_m_s2(&self, lean: &Lean, lagged_m_s2: (f64, f64)) -> (f64, f64) {
        let per = self.mass_height_kg_m;
        (
            self.pitch.map_or(lagged_m_s2.0, |axis| {
                -axis.moment_nm(lean.pitch_rad, lean.pitch_rad_s) / per
            }),
            self.roll.map_or(lagged_m_s2.1, |axis| {
                axis.moment_nm(lean.roll_rad, lean.roll_rad_s) / per
            }),
        )
    }

    /// Rates and angular accelerations under a specific force.
    pub fn rate(&self, lean: &Lean, force_m_s2: (f64, f64)) -> Lean {
        let acceleration =
            |axis: Option<Axis>, angle_rad: f64, rate_rad_s: f64, force_m_s2: f64| {
                axis.map_or(0.0, |axis| {
                    let tipping_nm =
                        self.mass_height_kg_m * (force_m_s2 + GRAVITY_M_S2 * angle_rad);
                    (tipping_nm - axis.moment_nm(angle_rad, rate_rad_s)) / axis.inertia_kg_m2
                })
            };
        Lean {
            roll_rad: lean.roll_rad_s,
            roll_rad_s: acceleration(self.roll, lean.roll_rad, lean.roll_rad_s, force_m_s2.1),
            pitch_rad: lean.pitch_rad_s,
            pitch_rad_s: acceleration(self.pitch, lean.pitch_rad, lean.pitch_rad_s, -force_m_s2.0),
        }
    }

    /// Velocity of the ground under the axles' frame, given the one of the centre of gravity.
    pub fn contact(&self, body: &BodyVelocity, lean: &Lean) -> BodyVelocity {
        BodyVelocity {
            forward_m_s: body.forward_m_s - self.gravity_height_m * lean.pitch_rad_s,
            lateral_m_s: body.lateral_m_s + self.gravity_height_m * lean.roll_rad_s,
            yaw_rad_s: body.yaw_rad_s,
        }
    }

    /// Energy of rolling and pitching, J: turning, springs, and the weight that sinks as it leans.
    pub fn energy_j(&self, lean: &Lean) -> f64 {
        let energy_j = |axis: Option<Axis>, angle_rad: f64, rate_rad_s: f64| {
            axis.map_or(0.0, |axis| {
                let net_nm_rad = axis.stiffness_nm_rad - self.mass_height_kg_m * GRAVITY_M_S2;
                0.5 * axis.inertia_kg_m2 * rate_rad_s * rate_rad_s
                    + 0.5 * net_nm_rad * angle_rad * angle_rad
            })
        };
        energy_j(self.roll, lean.roll_rad, lean.roll_rad_s)
            + energy_j(self.pitch, lean.pitch_rad, lean.pitch_rad_s)
    }

    /// Heat of the dampers over a step, W: their moment at the middle times the mean rate.
    pub fn damping_w(&self, middle_rate: &Lean, start: &Lean, end: &Lean) -> f64 {
        let power_w = |axis: Option<Axis>, middle: f64, start: f64, end: f64| {
            axis.map_or(0.0, |axis| {
                axis.damping_nm_s_rad * middle * (0.5 * (start + end))
            })
        };
        power_w(
            self.roll,
            middle_rate.roll_rad,
            start.roll_rad_s,
            end.roll_rad_s,
        ) + power_w(
            self.pitch,
            middle_rate.pitch_rad,
            start.pitch_rad_s,
            end.pitch_rad_s,
        )
    }
}
