//! Four demo tyres at once: the same forces as one by one, to the last bit, at less than half the cost.
//!
//! Inputs: loads, road friction, slips and velocities of the four wheels, lane by lane. Outputs: forces, normalised slips,
//! rates of the transient slips. Every operation is the one of [`weighted`](super::weighted) and
//! [`Tyre::transient`](super::Tyre::transient), in the same order, on four lanes; a lane never looks at its neighbour, so
//! mirror images stay exact. Limits: only for cars whose four tyres are all of the demo family.

use super::curve_bank::{CurveBank, TERMS};
use super::magic_2006::{LEAST_GRIP, TABLE_A3_1};
use super::{
    CHAIN_MOST_FRICTION, Family, LATERAL_DAMPING_S_M, LONGITUDINAL_DAMPING_S_M, LOW_SPEED_M_S,
    MOST_SLIP, Tyre,
};
use crate::plant::quantity::PerWheel;
use wide::f64x4;

/// Numbers of four tyres, lane by lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourTyres {
    stiffness_scale: f64x4,
    friction_scale: f64x4,
    most_friction: f64x4,
    least_friction: f64x4,
    relaxation_longitudinal_m: f64x4,
    relaxation_lateral_m: f64x4,
    grip_longitudinal: f64x4,
    grip_lateral: f64x4,
    nominal_load_n: f64x4,
    load_sensitivity: f64x4,
    peak_longitudinal: f64x4,
    peak_lateral: f64x4,
    slip_stiffness_per_load: f64x4,
    twice_cornering_n_rad: f64x4,
    cornering_load_n: f64x4,
    shape_longitudinal: f64x4,
    shape_lateral: f64x4,
    peak_argument_longitudinal: f64x4,
    peak_argument_lateral: f64x4,
    /// Force along, force across, weight along, weight across: coefficients of rising power.
    curves: [[f64x4; TERMS]; 4],
}

/// Forces of four tyres.
pub struct FourForces {
    /// Along the wheel plane, N.
    pub longitudinal_n: f64x4,
    /// Across the wheel plane, N, positive to the left.
    pub lateral_n: f64x4,
    /// Total slip over its peak.
    pub normalised_slip: f64x4,
}

/// Two slips of four wheels.
pub struct FourSlips {
    /// Along.
    pub longitudinal: f64x4,
    /// Across.
    pub lateral: f64x4,
}

impl FourTyres {
    /// The four tyres, if all are of the demo family.
    pub fn of(tyres: &PerWheel<Tyre>) -> Option<Self> {
        let all = tyres.map(|tyre| tyre.family == Family::Weighted);
        if !(all.front_left && all.front_right && all.rear_left && all.rear_right) {
            return None;
        }
        let lanes = |number: fn(&Tyre) -> f64| tyres.map(|tyre| number(&tyre)).lanes();
        let bank = |curve: usize, term: usize| {
            tyres
                .map(|tyre| tyre.weighted.curves().coefficient(curve, term))
                .lanes()
        };
        Some(Self {
            stiffness_scale: lanes(|tyre| tyre.stiffness_scale),
            friction_scale: lanes(|tyre| tyre.friction_scale),
            most_friction: lanes(|tyre| {
                if tyre.chain_friction > 0.0 {
                    CHAIN_MOST_FRICTION
                } else {
                    f64::INFINITY
                }
            }),
            least_friction: lanes(|tyre| {
                if tyre.chain_friction > 0.0 {
                    tyre.chain_friction
                } else {
                    f64::NEG_INFINITY
                }
            }),
            relaxation_longitudinal_m: lanes(|tyre| tyre.relaxation_longitudinal_m),
            relaxation_lateral_m: lanes(|tyre| tyre.relaxation_lateral_m),
            grip_longitudinal: lanes(|tyre| tyre.grip_per_friction.0),
            grip_lateral: lanes(|tyre| tyre.grip_per_friction.1),
            nominal_load_n: lanes(|tyre| tyre.tuned.nominal_load_n),
            load_sensitivity: lanes(|tyre| tyre.tuned.load_sensitivity),
            peak_longitudinal: lanes(|tyre| tyre.tuned.peak_scale_longitudinal),
            peak_lateral: lanes(|tyre| tyre.tuned.peak_scale_lateral),
            slip_stiffness_per_load: lanes(|tyre| tyre.tuned.slip_stiffness_per_load),
            twice_cornering_n_rad: lanes(|tyre| tyre.tuned.cornering_stiffness_max_n_rad * 2.0),
            cornering_load_n: lanes(|tyre| tyre.tuned.cornering_stiffness_load_n),
            shape_longitudinal: lanes(|tyre| tyre.tuned.shape_longitudinal),
            shape_lateral: lanes(|tyre| tyre.tuned.shape_lateral),
            peak_argument_longitudinal: lanes(|tyre| tyre.tuned.peak_argument_longitudinal),
            peak_argument_lateral: lanes(|tyre| tyre.tuned.peak_argument_lateral),
            curves: core::array::from_fn(|curve| core::array::from_fn(|term| bank(curve, term))),
        })
    }

    /// Rates of the transient slips, 1/s, and the slips that make force at this moment, as [`Tyre::transient`].
    #[inline(always)]
    pub fn transient(
        &self,
        slip: &FourSlips,
        along_m_s: f64x4,
        across_m_s: f64x4,
        tread_m_s: f64x4,
    ) -> (FourSlips, FourSlips) {
        let reference_m_s = along_m_s.abs().fast_max(tread_m_s.abs());
        let along_slip_m_s = tread_m_s - along_m_s;
        let across_slip_m_s = -across_m_s;
        let rate = FourSlips {
            longitudinal: (along_slip_m_s - reference_m_s * slip.longitudinal)
                / self.relaxation_longitudinal_m,
            lateral: (across_slip_m_s - reference_m_s * slip.lateral) / self.relaxation_lateral_m,
        };
        let fade = (1.0 - reference_m_s / LOW_SPEED_M_S).fast_max(f64x4::ZERO);
        let fade = fade * fade;
        let acting = FourSlips {
            longitudinal: slip.longitudinal + LONGITUDINAL_DAMPING_S_M * fade * along_slip_m_s,
            lateral: slip.lateral + LATERAL_DAMPING_S_M * fade * across_slip_m_s,
        };
        (rate, acting)
    }

    /// Forces from the acting slips, as [`Tyre::force`].
    #[inline(always)]
    pub fn force(&self, load_n: f64x4, road_friction: f64x4, slip: &FourSlips) -> FourForces {
        let friction = (self.friction_scale * road_friction)
            .fast_min(self.most_friction)
            .fast_max(self.least_friction);
        let along = self.stiffness_scale * slip.longitudinal;
        let across = self.stiffness_scale * slip.lateral;
        let travel = 1.0
            - along
                .fast_min(f64x4::splat(MOST_SLIP))
                .fast_max(f64x4::ZERO);
        let (along, across) = (along / travel, across / travel);

        let relative = 1.0 - self.load_sensitivity * (load_n / self.nominal_load_n - 1.0);
        let force_n = friction * load_n * relative.fast_max(f64x4::splat(0.2));
        let along_max_n = self.peak_longitudinal * force_n;
        let across_max_n = self.peak_lateral * force_n;
        let relative = load_n / self.cornering_load_n;
        let cornering_n_rad = self.twice_cornering_n_rad * relative / (1.0 + relative * relative);
        let x =
            self.slip_stiffness_per_load * load_n * along / (self.shape_longitudinal * along_max_n);
        let y = cornering_n_rad * across / (self.shape_lateral * across_max_n);

        let least_grip = f64x4::splat(LEAST_GRIP);
        let along = along / (self.grip_longitudinal * friction).fast_max(least_grip);
        let across = across / (self.grip_lateral * friction).fast_max(least_grip);
        let [stiffness_along, fade_along, _, _] = TABLE_A3_1.weight_x;
        let [stiffness_across, fade_across, _, _, _] = TABLE_A3_1.weight_y;
        let k_x = (1.0 / (1.0 + x * x)).sqrt();
        let k_y = (1.0 / (1.0 + y * y)).sqrt();
        let k_along = weight_k_squared(fade_along * along, stiffness_along * across).sqrt();
        let k_across = weight_k_squared(fade_across * across, stiffness_across * along).sqrt();
        let weight_along = CurveBank::polynomial(&self.curves[2], k_along).fast_max(f64x4::ZERO);
        let weight_across = CurveBank::polynomial(&self.curves[3], k_across).fast_max(f64x4::ZERO);
        let longitudinal_n =
            along_max_n * weight_along * (x * k_x * CurveBank::polynomial(&self.curves[0], k_x));
        let lateral_n =
            across_max_n * weight_across * (y * k_y * CurveBank::polynomial(&self.curves[1], k_y));
        let peak_x = x / self.peak_argument_longitudinal;
        let peak_y = y / self.peak_argument_lateral;
        // A lifted wheel, or no friction: no force, also where the lines above divided by zero.
        let pressed = load_n.simd_gt(f64x4::ZERO)
            & friction.simd_gt(f64x4::ZERO)
            & along_max_n.simd_gt(f64x4::ZERO)
            & across_max_n.simd_gt(f64x4::ZERO);
        FourForces {
            longitudinal_n: longitudinal_n & pressed,
            lateral_n: lateral_n & pressed,
            normalised_slip: (peak_x * peak_x + peak_y * peak_y).sqrt() & pressed,
        }
    }
}

/// Square of cos(atan(slip / sqrt(1 + fading^2))).
#[inline(always)]
fn weight_k_squared(fading: f64x4, slip: f64x4) -> f64x4 {
    let width = 1.0 + fading * fading;
    width / (width + slip * slip)
}
