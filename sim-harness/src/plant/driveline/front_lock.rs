//! Mechanical limited-slip differential: friction between the front wheels.
//!
//! Inputs: front wheel speeds as they would end the step without friction, carrier torque and speed. Output: torque moved
//! from the left to the right wheel (negative: to the left) and its heat. The torque difference held is
//! preload + locking * |carrier torque|, with one locking factor for driving and one for overrun. Like the clutches it is
//! solved for the speeds at the END of the step: it either slips with its whole capacity against the difference of speed
//! or holds the difference at zero. The sum of the front wheels, and with it the carrier, does not feel it, so it needs no
//! solution together with the clutches. Source: common practice, no source. Limits: no wear, no temperature; capacity
//! follows torque without delay.

use super::STUCK_RAD_S;
use crate::plant::quantity::PerSide;
use crate::plant::vehicle::FrontDifferential;

/// The locking parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrontLock {
    preload_nm: f64,
    locking_drive: f64,
    locking_coast: f64,
}

/// What it did in a step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FrontLockStep {
    /// Torque moved from the left to the right wheel, N m: half the difference it makes.
    pub torque_nm: f64,
    /// Power dissipated, W, 0 or more.
    pub heat_w: f64,
}

impl FrontLockStep {
    /// The step in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            torque_nm: -self.torque_nm,
            heat_w: self.heat_w,
        }
    }
}

impl From<&FrontDifferential> for FrontLock {
    fn from(numbers: &FrontDifferential) -> Self {
        Self {
            preload_nm: numbers.preload_nm,
            locking_drive: numbers.locking_drive,
            locking_coast: numbers.locking_coast,
        }
    }
}

impl FrontLock {
    /// Most torque it moves from one wheel to the other, N m, 0 or more.
    pub fn capacity_nm(&self, carrier_torque_nm: f64, carrier_rad_s: f64) -> f64 {
        let locking = if carrier_torque_nm * carrier_rad_s >= 0.0 {
            self.locking_drive
        } else {
            self.locking_coast
        };
        0.5 * (self.preload_nm + locking * carrier_torque_nm.abs())
    }

    /// One step from the front wheels' speeds at its start and, without this friction, at its end.
    pub fn step(
        &self,
        start: PerSide<f64>,
        free: PerSide<f64>,
        carrier_torque_nm: f64,
        wheel_inertia_kg_m2: f64,
        step_s: f64,
    ) -> FrontLockStep {
        let carrier_rad_s = 0.5 * start.sum();
        let capacity_nm = self.capacity_nm(carrier_torque_nm, carrier_rad_s);
        let before_rad_s = start.left - start.right;
        let free_rad_s = free.left - free.right;
        let per_torque = 2.0 * step_s / wheel_inertia_kg_m2;
        let torque_nm = (free_rad_s / per_torque).clamp(-capacity_nm, capacity_nm);
        let mean_rad_s = 0.5 * (before_rad_s + free_rad_s - per_torque * torque_nm);
        // The same rule as for the clutches: a difference that reverses within the step passes nothing rather than make heat
        // negative.
        if before_rad_s.abs() > STUCK_RAD_S && torque_nm * mean_rad_s < 0.0 {
            return FrontLockStep::default();
        }
        FrontLockStep {
            torque_nm,
            heat_w: (torque_nm * mean_rad_s).max(0.0),
        }
    }
}
