//! Published tyre of 1987: the first coefficient form of the Magic Formula, pure slip.
//!
//! Inputs: load in kN, slip angle in degrees or slip in percent (the paper's units). Outputs: force, N, positive where the
//! slip is. D = a1 F^2 + a2 F, C = a0, BCD = a3 sin(a4 atan(a5 F)) across and (b3 F^2 + b4 F) exp(-b5 F) along,
//! E = a6 F^2 + a7 F + a8. Source: Bakker, Nyborg, Pacejka, "Tyre Modelling for Use in Vehicle Dynamics Studies",
//! SAE 870421 (coefficients read in a public transcription). The paper has no combined slip for this form: here both slips
//! are normalised by D / BCD and the resultant enters both curves, so pure slip and both initial slopes are the paper's.
//! Limits: no camber, no shifts, no aligning moment.

use super::TyreForce;
use super::magic::Curve;

/// Least share of its first coefficient to which peak friction may fall under high load.
const LEAST_PEAK: f64 = 0.2;
const DEGREES: f64 = 180.0 / core::f64::consts::PI;

/// Coefficients of one tyre; loads in kN.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Set1987 {
    /// a0 to a8, lateral force over slip angle in degrees.
    pub lateral: [f64; 9],
    /// b0 to b8, longitudinal force over slip in percent.
    pub longitudinal: [f64; 9],
}

/// The coefficients of the paper at zero camber.
pub const SAE_870421: Set1987 = Set1987 {
    lateral: [1.30, -22.1, 1011.0, 1078.0, 1.82, 0.208, 0.0, -0.354, 0.707],
    longitudinal: [
        1.65, -21.3, 1144.0, 49.6, 226.0, 0.069, -0.006, 0.056, 0.486,
    ],
};

impl Set1987 {
    /// Lateral force over slip angle in degrees.
    pub fn lateral_curve(&self, load_kn: f64) -> Curve {
        let a = &self.lateral;
        Curve {
            shape: a[0],
            peak_n: peak_n(a, load_kn),
            stiffness: a[3] * libm::sin(a[4] * libm::atan(a[5] * load_kn)),
            curvature: curvature(a, load_kn),
        }
    }

    /// Longitudinal force over slip in percent.
    pub fn longitudinal_curve(&self, load_kn: f64) -> Curve {
        let b = &self.longitudinal;
        Curve {
            shape: b[0],
            peak_n: peak_n(b, load_kn),
            stiffness: (b[3] * load_kn + b[4]) * load_kn * libm::exp(-b[5] * load_kn),
            curvature: curvature(b, load_kn),
        }
    }

    /// Cornering stiffness, N/rad.
    pub fn cornering_stiffness_n_rad(&self, load_n: f64) -> f64 {
        self.lateral_curve(1e-3 * load_n).stiffness * DEGREES
    }

    /// Peak friction along and across at a load.
    pub fn peak_friction(&self, load_n: f64) -> (f64, f64) {
        let load_kn = 1e-3 * load_n;
        (
            peak_n(&self.longitudinal, load_kn) / load_n,
            peak_n(&self.lateral, load_kn) / load_n,
        )
    }

    /// Forces from both slips (over the speed of the wheel centre; lateral: negative tangent of the slip angle), on a road
    /// with `grip` times the paper's friction along and across.
    pub fn force(
        &self,
        load_n: f64,
        grip: (f64, f64),
        longitudinal_slip: f64,
        lateral_slip: f64,
    ) -> TyreForce {
        let load_kn = 1e-3 * load_n;
        let along = self.longitudinal_curve(load_kn).on(grip.0);
        let across = self.lateral_curve(load_kn).on(grip.1);
        let percent = 100.0 * longitudinal_slip;
        let degrees = libm::atan(lateral_slip) * DEGREES;
        let along_share = percent * along.stiffness / along.peak_n;
        let across_share = degrees * across.stiffness / across.peak_n;
        let total = libm::sqrt(along_share * along_share + across_share * across_share);
        // Below this the curves are their tangents to rounding.
        if total < 1e-9 {
            return TyreForce {
                longitudinal_n: along.stiffness * percent,
                lateral_n: across.stiffness * degrees,
                normalised_slip: total,
            };
        }
        let along_slip = total * along.peak_n / along.stiffness;
        let across_slip = total * across.peak_n / across.stiffness;
        TyreForce {
            longitudinal_n: along.force_n(along_slip) * (along_share / total),
            lateral_n: across.force_n(across_slip) * (across_share / total),
            normalised_slip: along
                .normalised(along_slip)
                .max(across.normalised(across_slip)),
        }
    }
}

fn peak_n(set: &[f64; 9], load_kn: f64) -> f64 {
    (set[1] * load_kn + set[2]).max(LEAST_PEAK * set[2]) * load_kn
}

fn curvature(set: &[f64; 9], load_kn: f64) -> f64 {
    (set[6] * load_kn + set[7]) * load_kn + set[8]
}
