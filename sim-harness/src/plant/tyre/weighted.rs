//! The demo tyre: the car's own pure curves, combined slip by the weighting functions of 2006.
//!
//! Inputs: load, road friction, longitudinal slip over the speed of the wheel centre, lateral slip (negative tangent of the
//! slip angle, so that force and slip have the same sign). Outputs: forces along and across the wheel, and the normalised
//! total slip (1 at the peak). Pure slip F = D sin(C atan(B x)) with the numbers of the vehicle file (curvature and shifts
//! 0); combined slip Fx = Gx Fx0, Fy = Gy Fy0 with G = cos(C atan(B x)) after "Tyre and Vehicle Dynamics", 2nd ed. 2006,
//! equations 4.E (from memory), weights of its Table A3.1 without their shifts and without the side force that slip
//! induces: a symmetric tyre. On a road with other friction the slips in the weights are divided by the same factor as the
//! peak, as in `magic_2006`. Limits: no camber, no aligning moment, no temperature.

use super::TyreForce;
use super::curve_bank::{CurveBank, Lane};
use super::magic_2006::{LEAST_GRIP, TABLE_A3_1};
use super::similarity::Similarity;
use crate::plant::quantity::Compared;

/// The tyre with its curves made ready.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighted {
    pure: Similarity,
    /// Force along, force across, weight along, weight across.
    curves: CurveBank,
}

impl Weighted {
    /// From the numbers of the pure curves.
    pub fn new(pure: Similarity) -> Self {
        let [_, _, shape_along, _] = TABLE_A3_1.weight_x;
        let [_, _, _, shape_across, _] = TABLE_A3_1.weight_y;
        Self {
            pure,
            curves: CurveBank::new([
                Lane::Sine(pure.shape_longitudinal),
                Lane::Sine(pure.shape_lateral),
                Lane::Cosine(shape_along),
                Lane::Cosine(shape_across),
            ]),
        }
    }

    pub(super) fn curves(&self) -> &CurveBank {
        &self.curves
    }

    /// Forces from slips; `grip` is friction over that of the published tyre, along and across.
    pub fn force(
        &self,
        load_n: f64,
        friction: f64,
        grip: (f64, f64),
        longitudinal_slip: f64,
        lateral_slip: f64,
    ) -> TyreForce {
        let pure = &self.pure;
        let (along_max_n, across_max_n) = pure.peaks_n(load_n, friction);
        if !(along_max_n > 0.0 && across_max_n > 0.0) {
            return TyreForce::default();
        }
        let x = pure.slip_stiffness_per_load * load_n * longitudinal_slip
            / (pure.shape_longitudinal * along_max_n);
        let y = pure.cornering_stiffness_n_rad(load_n) * lateral_slip
            / (pure.shape_lateral * across_max_n);
        let along = longitudinal_slip / grip.0.larger(LEAST_GRIP);
        let across = lateral_slip / grip.1.larger(LEAST_GRIP);
        let [stiffness_along, fade_along, _, _] = TABLE_A3_1.weight_x;
        let [stiffness_across, fade_across, _, _, _] = TABLE_A3_1.weight_y;
        // k = 1 / sqrt(1 + x^2); for a weight x = B slip / sqrt(1 + fade^2), which spares a root.
        let k = [
            1.0 / (1.0 + x * x),
            1.0 / (1.0 + y * y),
            weight_k_squared(fade_along * along, stiffness_along * across),
            weight_k_squared(fade_across * across, stiffness_across * along),
        ]
        .map(libm::sqrt);
        let [force_along, force_across, weight_along, weight_across] = self.curves.at(k);
        let (peak_x, peak_y) = (
            x / pure.peak_argument_longitudinal,
            y / pure.peak_argument_lateral,
        );
        TyreForce {
            longitudinal_n: along_max_n * weight_along.larger(0.0) * (x * k[0] * force_along),
            lateral_n: across_max_n * weight_across.larger(0.0) * (y * k[1] * force_across),
            normalised_slip: libm::sqrt(peak_x * peak_x + peak_y * peak_y),
        }
    }
}

/// Square of cos(atan(slip / sqrt(1 + fading^2))).
fn weight_k_squared(fading: f64, slip: f64) -> f64 {
    let width = 1.0 + fading * fading;
    width / (width + slip * slip)
}
