//! What moves, what acts on it at one moment, and what a step leaves behind.
//!
//! Plain values of [`integrate`](super::integrate), each with its image in a mirror along the x axis.

use super::chassis::BodyVelocity;
use super::driveline::DrivelineStep;
use super::driveline::compliant::Torsion;
use super::quantity::PerWheel;
use super::suspension::Lean;
use super::trailer::{TrailerMotion, TrailerStage};
use super::tyre::{Slip, TyreForce};

/// What moves.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Motion {
    /// Place in the world, m.
    pub place_m: (f64, f64),
    /// Heading, rad.
    pub heading_rad: f64,
    /// Velocity of the body.
    pub body: BodyVelocity,
    /// Wheel speeds, rad/s.
    pub wheel_rad_s: PerWheel<f64>,
    /// Transient slips of the tyres.
    pub slip: PerWheel<Slip>,
    /// Specific force along and across, lagged, m/s2: it moves the wheel loads.
    pub lagged_m_s2: (f64, f64),
    /// Roll and pitch, if they are on.
    pub lean: Lean,
    /// The trailer, if there is one.
    pub trailer: TrailerMotion,
    /// Shafts that twist, if there are any.
    pub torsion: Torsion,
}

impl Motion {
    /// The motion in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            place_m: (self.place_m.0, -self.place_m.1),
            heading_rad: -self.heading_rad,
            body: self.body.mirrored(),
            wheel_rad_s: self.wheel_rad_s.mirrored(),
            slip: self.slip.mirrored().map(|slip| Slip {
                longitudinal: slip.longitudinal,
                lateral: -slip.lateral,
            }),
            lagged_m_s2: (self.lagged_m_s2.0, -self.lagged_m_s2.1),
            lean: self.lean.mirrored(),
            trailer: self.trailer.mirrored(),
            torsion: self.torsion,
        }
    }

    pub(super) fn after(&self, stage: &Stage, driveline: &DrivelineStep, step_s: f64) -> Self {
        Self {
            place_m: (
                self.place_m.0 + step_s * stage.place_rate_m_s.0,
                self.place_m.1 + step_s * stage.place_rate_m_s.1,
            ),
            heading_rad: self.heading_rad + step_s * stage.yaw_rate_rad_s,
            body: BodyVelocity {
                forward_m_s: self.body.forward_m_s + step_s * stage.body_rate.forward_m_s,
                lateral_m_s: self.body.lateral_m_s + step_s * stage.body_rate.lateral_m_s,
                yaw_rad_s: self.body.yaw_rad_s + step_s * stage.body_rate.yaw_rad_s,
            },
            wheel_rad_s: driveline.wheel_rad_s,
            slip: self.slip.pair(stage.slip_rate).map(|(slip, rate)| Slip {
                longitudinal: slip.longitudinal + step_s * rate.longitudinal,
                lateral: slip.lateral + step_s * rate.lateral,
            }),
            lagged_m_s2: (
                self.lagged_m_s2.0 + step_s * stage.lagged_rate_m_s3.0,
                self.lagged_m_s2.1 + step_s * stage.lagged_rate_m_s3.1,
            ),
            lean: self.lean.after(&stage.lean_rate, step_s),
            trailer: self.trailer.after(&stage.trailer, step_s),
            torsion: driveline.torsion,
        }
    }
}

/// Forces and rates at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stage {
    /// Wheel loads, N.
    pub load_n: PerWheel<f64>,
    /// Tyre forces.
    pub force: PerWheel<TyreForce>,
    /// Specific force along and across the body, m/s2.
    pub specific_force_m_s2: (f64, f64),
    /// The trailer, if there is one.
    pub trailer: TrailerStage,
    pub(super) wheel_moment_nm: PerWheel<f64>,
    pub(super) rolling_moment_nm: PerWheel<f64>,
    pub(super) air_n: f64,
    pub(super) slope_force_n: (f64, f64),
    pub(super) body_rate: BodyVelocity,
    pub(super) place_rate_m_s: (f64, f64),
    pub(super) yaw_rate_rad_s: f64,
    pub(super) slip_rate: PerWheel<Slip>,
    pub(super) lagged_rate_m_s3: (f64, f64),
    pub(super) lean_rate: Lean,
}

impl Stage {
    /// The stage in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            load_n: self.load_n.mirrored(),
            force: self.force.mirrored().map(|force| TyreForce {
                lateral_n: -force.lateral_n,
                ..force
            }),
            specific_force_m_s2: (self.specific_force_m_s2.0, -self.specific_force_m_s2.1),
            wheel_moment_nm: self.wheel_moment_nm.mirrored(),
            rolling_moment_nm: self.rolling_moment_nm.mirrored(),
            air_n: self.air_n,
            slope_force_n: (self.slope_force_n.0, -self.slope_force_n.1),
            body_rate: self.body_rate.mirrored(),
            place_rate_m_s: (self.place_rate_m_s.0, -self.place_rate_m_s.1),
            yaw_rate_rad_s: -self.yaw_rate_rad_s,
            slip_rate: self.slip_rate.mirrored().map(|rate| Slip {
                lateral: -rate.lateral,
                ..rate
            }),
            lagged_rate_m_s3: (self.lagged_rate_m_s3.0, -self.lagged_rate_m_s3.1),
            lean_rate: self.lean_rate.mirrored(),
            trailer: self.trailer.mirrored(),
        }
    }
}

/// Powers of a step, W.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Powers {
    /// Powertrain at the carrier.
    pub engine_w: f64,
    /// Slip of the tyres.
    pub tyre_w: f64,
    /// Clutches.
    pub clutch_w: f64,
    /// Air.
    pub air_w: f64,
    /// Rolling resistance.
    pub rolling_w: f64,
    /// Brakes.
    pub brake_w: f64,
    /// Drag of the rear take-off and friction of the front differential.
    pub driveline_w: f64,
    /// Lifting the car.
    pub grade_w: f64,
    /// Dampers of roll and pitch.
    pub suspension_w: f64,
}

/// What a finished step leaves behind.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Finished {
    /// Forces at the middle of the step.
    pub stage: Stage,
    /// Forces at its end, with which the next step begins.
    pub end: Stage,
    /// Driveline over the step.
    pub driveline: DrivelineStep,
    /// Powers over the step.
    pub powers: Powers,
}
