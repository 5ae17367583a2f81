//! One shaft that twists: spring with lash, and damper.
//!
//! Inputs: twist. Outputs: torque and energy of the spring, and how its mean torque rises over a step. Torque is stiffness
//! times the twist beyond half the lash to either side. Common practice, no source. Limits: the spring is linear.

/// A shaft: spring with lash, and damper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shaft {
    /// Torque per twist beyond the lash, N m/rad.
    pub stiffness_nm_rad: f64,
    /// Torque per speed of twisting in contact, N m s/rad.
    pub damping_nms_rad: f64,
    /// Free play from one contact to the other, rad.
    pub lash_rad: f64,
}

impl Shaft {
    /// A shaft of these numbers; none if the stiffness is 0.
    pub fn of(stiffness_nm_rad: f64, damping_nms_rad: f64, lash_rad: f64) -> Option<Self> {
        (stiffness_nm_rad > 0.0).then_some(Self {
            stiffness_nm_rad,
            damping_nms_rad,
            lash_rad,
        })
    }

    /// Torque of the spring, N m.
    pub fn torque_nm(&self, twist_rad: f64) -> f64 {
        self.stiffness_nm_rad * self.beyond_rad(twist_rad)
    }

    /// Energy in the spring, J.
    pub fn energy_j(&self, twist_rad: f64) -> f64 {
        let beyond_rad = self.beyond_rad(twist_rad);
        0.5 * self.stiffness_nm_rad * beyond_rad * beyond_rad
    }

    /// Twist under a steady torque, rad.
    pub fn twist_rad(&self, torque_nm: f64) -> f64 {
        if torque_nm == 0.0 {
            0.0
        } else {
            torque_nm / self.stiffness_nm_rad + 0.5 * self.lash_rad * torque_nm.signum()
        }
    }

    /// Twist beyond the lash, rad; 0 within it.
    pub fn beyond_rad(&self, twist_rad: f64) -> f64 {
        twist_rad - twist_rad.clamp(-0.5 * self.lash_rad, 0.5 * self.lash_rad)
    }

    /// Rise of the mean torque over a step per twist in it, N m/rad.
    pub(super) fn slope_nm_rad(&self, from_rad: f64, to_rad: f64) -> f64 {
        let change_rad = to_rad - from_rad;
        if self.lash_rad <= 0.0 {
            return 0.5 * self.stiffness_nm_rad;
        }
        // Under this change rounding of the energies would show; the tangent is as good.
        if change_rad.abs() < 1e-9 {
            let contact = self.beyond_rad(from_rad) != 0.0;
            return if contact {
                0.5 * self.stiffness_nm_rad
            } else {
                0.0
            };
        }
        let mean_nm = (self.energy_j(to_rad) - self.energy_j(from_rad)) / change_rad;
        (mean_nm - self.torque_nm(from_rad)) / change_rad
    }
}
