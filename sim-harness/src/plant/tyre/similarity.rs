//! The tuned tyre: sine-arctangent curves, load dependence, combined slip by similarity.
//!
//! Inputs: load, road friction, longitudinal and lateral slip (theoretical slip, over the faster of tread and wheel centre).
//! Outputs: forces along and across the wheel, and the normalised total slip (1 at the peak).
//! Pure slip F = D sin(C atan(B x)) (the Magic Formula without curvature and shifts, "Tyre and Vehicle Dynamics", 2nd ed.,
//! ch. 4, from memory), B = K / (C D): road friction scales the peak D, the initial stiffness K stays. Combined slip by
//! similarity: both slips are normalised by their peaks and the resultant enters both curves.
//! Limits: no camber, no conicity, no aligning moment, no temperature; the curve's tail is sin(C pi/2) of the peak.

use super::TyreForce;
use crate::plant::quantity::Compared;

/// Numbers of the tuned tyre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Similarity {
    /// Load at which peak friction is road friction times the peak scales, N.
    pub nominal_load_n: f64,
    /// Longitudinal peak friction over road friction at nominal load.
    pub peak_scale_longitudinal: f64,
    /// Lateral peak friction over road friction at nominal load.
    pub peak_scale_lateral: f64,
    /// Relative fall of peak friction per nominal load.
    pub load_sensitivity: f64,
    /// Longitudinal slip stiffness over load.
    pub slip_stiffness_per_load: f64,
    /// Largest cornering stiffness, N/rad.
    pub cornering_stiffness_max_n_rad: f64,
    /// Load of the largest cornering stiffness, N.
    pub cornering_stiffness_load_n: f64,
    /// Shape factor of the longitudinal curve, above 1.
    pub shape_longitudinal: f64,
    /// Shape factor of the lateral curve, above 1.
    pub shape_lateral: f64,
    /// Argument of the arctangent at the longitudinal peak.
    pub peak_argument_longitudinal: f64,
    /// Argument of the arctangent at the lateral peak.
    pub peak_argument_lateral: f64,
}

impl Similarity {
    /// Forces from slips; `longitudinal_slip` positive driving, `lateral_slip` positive where the force is.
    pub fn force(
        &self,
        load_n: f64,
        friction: f64,
        longitudinal_slip: f64,
        lateral_slip: f64,
    ) -> TyreForce {
        let (along_max_n, across_max_n) = self.peaks_n(load_n, friction);
        if !(along_max_n > 0.0 && across_max_n > 0.0) {
            return TyreForce::default();
        }
        let along_stiffness_n = self.slip_stiffness_per_load * load_n;
        let across_stiffness_n = self.cornering_stiffness_n_rad(load_n);
        let along_peak = self.peak_argument_longitudinal * self.shape_longitudinal * along_max_n
            / along_stiffness_n;
        let across_peak =
            self.peak_argument_lateral * self.shape_lateral * across_max_n / across_stiffness_n;
        let along = longitudinal_slip / along_peak;
        let across = lateral_slip / across_peak;
        let total = libm::sqrt(along * along + across * across);
        // Below this the curve is its tangent to rounding, and the quotient along / total would lose its meaning.
        if total < 1e-9 {
            return TyreForce {
                longitudinal_n: along_stiffness_n * longitudinal_slip,
                lateral_n: across_stiffness_n * lateral_slip,
                normalised_slip: total,
            };
        }
        let curve =
            |shape: f64, argument: f64| libm::sin(shape * libm::atan(argument * total)) / total;
        TyreForce {
            longitudinal_n: along_max_n
                * curve(self.shape_longitudinal, self.peak_argument_longitudinal)
                * along,
            lateral_n: across_max_n
                * curve(self.shape_lateral, self.peak_argument_lateral)
                * across,
            normalised_slip: total,
        }
    }

    /// Peak forces along and across at a load and road friction, N.
    pub fn peaks_n(&self, load_n: f64, friction: f64) -> (f64, f64) {
        let relative = 1.0 - self.load_sensitivity * (load_n / self.nominal_load_n - 1.0);
        let force_n = friction * load_n * relative.larger(0.2);
        (
            self.peak_scale_longitudinal * force_n,
            self.peak_scale_lateral * force_n,
        )
    }

    /// Cornering stiffness at a load, N/rad: K sin(2 atan(F / F0)), written without transcendental functions.
    pub fn cornering_stiffness_n_rad(&self, load_n: f64) -> f64 {
        let relative = load_n / self.cornering_stiffness_load_n;
        self.cornering_stiffness_max_n_rad * 2.0 * relative / (1.0 + relative * relative)
    }
}
