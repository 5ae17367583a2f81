//! What moves, what acts on it at one moment, and what a step leaves behind.
//!
//! Plain values of [`integrate`](super::integrate), each with its image in a mirror along the x axis.

use super::chassis::BodyVelocity;
use super::driveline::DrivelineStep;
use super::driveline::compliant::Torsion;
use super::quantity::{Compared, PerWheel};
use super::suspension::Lean;
use super::trailer::{TrailerMotion, TrailerStage};
use super::tyre::{LOW_SPEED_M_S, Slip};
use super::wheels::WheelMoment;

/// Transient slips of the tyres, positive where the force is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelSlips {
    /// Theoretical slip, positive driving.
    pub longitudinal: PerWheel<f64>,
    /// Negative tangent of the slip angle.
    pub lateral: PerWheel<f64>,
}

impl WheelSlips {
    /// The slips in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            longitudinal: self.longitudinal.mirrored(),
            lateral: self.lateral.mirrored().map(|slip| -slip),
        }
    }

    /// Slips bounded near the force's peak as speed vanishes, wheel by wheel (see [`Slip::bounded`]).
    pub(super) fn bounded(&mut self, normalised: &PerWheel<f64>, reference_m_s: PerWheel<f64>) {
        let least = |a: f64, b: f64| a.smaller(b);
        let slowest_m_s = least(
            least(reference_m_s.front_left, reference_m_s.front_right),
            least(reference_m_s.rear_left, reference_m_s.rear_right),
        );
        if slowest_m_s >= LOW_SPEED_M_S {
            return;
        }
        let slips = self
            .longitudinal
            .pair(self.lateral)
            .pair(normalised.pair(reference_m_s))
            .map(|((longitudinal, lateral), (normalised, reference_m_s))| {
                Slip {
                    longitudinal,
                    lateral,
                }
                .bounded(normalised, reference_m_s)
            });
        self.longitudinal = slips.map(|slip| slip.longitudinal);
        self.lateral = slips.map(|slip| slip.lateral);
    }
}

/// Tyre forces of the four wheels.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelForces {
    /// Along the wheel plane, N, positive pushing the car forward.
    pub longitudinal_n: PerWheel<f64>,
    /// Across the wheel plane, N, positive to the left.
    pub lateral_n: PerWheel<f64>,
    /// Total slip over its peak, 0 or more.
    pub normalised_slip: PerWheel<f64>,
}

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
    pub slip: WheelSlips,
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
            slip: self.slip.mirrored(),
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
            slip: WheelSlips {
                longitudinal: self
                    .slip
                    .longitudinal
                    .plus(step_s, stage.wheels.slip_rate.longitudinal),
                lateral: self
                    .slip
                    .lateral
                    .plus(step_s, stage.wheels.slip_rate.lateral),
            },
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
    /// Tyre forces, wheel moments, slip rates.
    pub wheels: WheelMoment,
    /// Specific force along and across the body, m/s2.
    pub specific_force_m_s2: (f64, f64),
    /// The trailer, if there is one.
    pub trailer: TrailerStage,
    pub(super) air_n: f64,
    pub(super) slope_force_n: (f64, f64),
    pub(super) body_rate: BodyVelocity,
    pub(super) place_rate_m_s: (f64, f64),
    pub(super) yaw_rate_rad_s: f64,
    pub(super) lagged_rate_m_s3: (f64, f64),
    pub(super) lean_rate: Lean,
}

impl Stage {
    /// The stage in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            load_n: self.load_n.mirrored(),
            wheels: self.wheels.mirrored(),
            specific_force_m_s2: (self.specific_force_m_s2.0, -self.specific_force_m_s2.1),
            air_n: self.air_n,
            slope_force_n: (self.slope_force_n.0, -self.slope_force_n.1),
            body_rate: self.body_rate.mirrored(),
            place_rate_m_s: (self.place_rate_m_s.0, -self.place_rate_m_s.1),
            yaw_rate_rad_s: -self.yaw_rate_rad_s,
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
