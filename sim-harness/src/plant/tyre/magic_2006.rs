//! Published tyre of 2006: the Magic Formula with combined slip by weighting functions.
//!
//! Inputs: load, longitudinal slip (over the speed of the wheel centre), tangent of the slip angle, ISO 8855 signs: a
//! positive slip angle gives a negative lateral force. Outputs: forces, weights, slip-induced side force. Source: Pacejka,
//! "Tyre and Vehicle Dynamics", 2nd ed. 2006, equations 4.E (from memory) and Appendix 3, Table A3.1, tyre 205/60R15 at
//! 2.2 bar (read in three agreeing public transcriptions). Own addition: on a road with other friction the peak scales, the
//! initial slope stays, and the slips in the weights are divided by the same factor, because the slip at the peak shrinks
//! with friction and the width of the weights must shrink with it; without that a tyre on ice would exceed its circle.
//! Limits: zero camber, no aligning moment, no turn slip; the weights were fitted to slips below about 0.5 and are held at
//! 0 or more beyond.

use super::TyreForce;
use super::magic::Curve;

/// Least share of nominal friction to which peak friction may fall under high load.
const LEAST_PEAK: f64 = 0.2;
/// Least factor by which the slips in the weights are divided.
pub(super) const LEAST_GRIP: f64 = 0.02;

/// Coefficients of one tyre; names follow the book.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Set2006 {
    /// Nominal load, N.
    pub nominal_load_n: f64,
    /// pCx1.
    pub shape_x: f64,
    /// pDx1, pDx2.
    pub peak_x: [f64; 2],
    /// pEx1 to pEx3.
    pub curvature_x: [f64; 3],
    /// pKx1 to pKx3.
    pub stiffness_x: [f64; 3],
    /// pHx1, pHx2.
    pub shift_slip_x: [f64; 2],
    /// pVx1, pVx2.
    pub shift_force_x: [f64; 2],
    /// rBx1, rBx2, rCx1, rHx1.
    pub weight_x: [f64; 4],
    /// pCy1.
    pub shape_y: f64,
    /// pDy1, pDy2.
    pub peak_y: [f64; 2],
    /// pEy1 to pEy3.
    pub curvature_y: [f64; 3],
    /// pKy1, pKy2.
    pub stiffness_y: [f64; 2],
    /// pHy1, pHy2.
    pub shift_slip_y: [f64; 2],
    /// pVy1, pVy2.
    pub shift_force_y: [f64; 2],
    /// rBy1 to rBy3, rCy1, rHy1.
    pub weight_y: [f64; 5],
    /// rVy1, rVy2, rVy4 to rVy6.
    pub side_force: [f64; 5],
}

/// Table A3.1, zero camber.
pub const TABLE_A3_1: Set2006 = Set2006 {
    nominal_load_n: 4000.0,
    shape_x: 1.685,
    peak_x: [1.210, -0.037],
    curvature_x: [0.344, 0.095, -0.020],
    stiffness_x: [21.51, -0.163, 0.245],
    shift_slip_x: [-0.002, 0.002],
    shift_force_x: [0.0, 0.0],
    weight_x: [12.35, -10.77, 1.092, 0.007],
    shape_y: 1.193,
    peak_y: [-0.990, 0.145],
    curvature_y: [-1.003, -0.537, -0.083],
    stiffness_y: [-14.95, 2.130],
    shift_slip_y: [0.003, -0.001],
    shift_force_y: [0.045, -0.024],
    weight_y: [6.461, 4.196, -0.015, 1.081, 0.009],
    side_force: [0.053, -0.073, 35.44, 1.9, -10.71],
};

/// Whether ply steer and conicity move the pure curves off the origin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shifts {
    /// As measured.
    Measured,
    /// Curves through the origin.
    Without,
}

/// Forces in combined slip with what made them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combined {
    /// Weight of the slip angle on the longitudinal force, 0 to about 1.
    pub weight_longitudinal: f64,
    /// Weight of the longitudinal slip on the lateral force, 0 to about 1.
    pub weight_lateral: f64,
    /// Side force induced by longitudinal slip, N.
    pub side_force_n: f64,
    /// Longitudinal force, N.
    pub longitudinal_n: f64,
    /// Lateral force, N, ISO 8855.
    pub lateral_n: f64,
    /// Total slip on a scale on which both peaks lie at 1.
    pub normalised_slip: f64,
}

impl Set2006 {
    /// Slope of the longitudinal force at zero slip, N.
    pub fn slip_stiffness_n(&self, load_n: f64) -> f64 {
        let excess = self.excess(load_n);
        let [first, second, growth] = self.stiffness_x;
        load_n * (first + second * excess) * libm::exp(growth * excess)
    }

    /// Slope of the lateral force at zero slip angle, N/rad, negative (ISO 8855).
    pub fn cornering_stiffness_n_rad(&self, load_n: f64) -> f64 {
        let [first, second] = self.stiffness_y;
        let nominal_n = self.nominal_load_n;
        first * nominal_n * libm::sin(2.0 * libm::atan(load_n / (second * nominal_n)))
    }

    /// Peak friction along and across at a load, both positive.
    pub fn peak_friction(&self, load_n: f64) -> (f64, f64) {
        let excess = self.excess(load_n);
        let friction = |[first, second]: [f64; 2]| {
            let nominal = first.abs();
            (nominal + second * first.signum() * excess).max(LEAST_PEAK * nominal)
        };
        (friction(self.peak_x), friction(self.peak_y))
    }

    /// Pure longitudinal force, N, on a road with `grip` times the nominal friction.
    pub fn pure_longitudinal_n(&self, load_n: f64, grip: f64, slip: f64, shifts: Shifts) -> f64 {
        let (slip_shift, force_shift) = self.shifts(load_n, shifts, true);
        self.longitudinal_curve(load_n)
            .on(grip)
            .force_n(slip + slip_shift)
            + grip * force_shift
    }

    /// Pure lateral force, N, on a road with `grip` times the nominal friction.
    pub fn pure_lateral_n(
        &self,
        load_n: f64,
        grip: f64,
        slip_angle_tangent: f64,
        shifts: Shifts,
    ) -> f64 {
        let (slip_shift, force_shift) = self.shifts(load_n, shifts, false);
        let slip = slip_angle_tangent + slip_shift;
        self.lateral_curve(load_n, slip).on(grip).force_n(slip) + grip * force_shift
    }

    /// Combined slip without shifts of the pure curves, on a road with `grip` times the nominal friction along and across.
    pub fn combined(
        &self,
        load_n: f64,
        grip: (f64, f64),
        slip: f64,
        slip_angle_tangent: f64,
    ) -> Combined {
        let excess = self.excess(load_n);
        let width = (grip.0.max(LEAST_GRIP), grip.1.max(LEAST_GRIP));
        let (along, across) = (slip / width.0, slip_angle_tangent / width.1);
        let [peak, fade, shape, shift] = self.weight_x;
        let weight_longitudinal = weight(along_cosine(peak, fade * along), shape, shift, across);
        let [peak, fade, centre, shape, shift] = self.weight_y;
        let weight_lateral = weight(
            along_cosine(peak, fade * (across - centre)),
            shape,
            shift,
            along,
        );
        let [first, second, fade, shape, slope] = self.side_force;
        let longest_n = -grip.1
            * self.peak_friction(load_n).1
            * load_n
            * along_cosine(first + second * excess, fade * across);
        let side_force_n = longest_n * libm::sin(shape * libm::atan(slope * along));
        let curve_x = self.longitudinal_curve(load_n).on(grip.0);
        let curve_y = self.lateral_curve(load_n, slip_angle_tangent).on(grip.1);
        let (x, y) = (
            curve_x.normalised(slip),
            curve_y.normalised(slip_angle_tangent),
        );
        Combined {
            weight_longitudinal,
            weight_lateral,
            side_force_n,
            longitudinal_n: weight_longitudinal * curve_x.force_n(slip),
            lateral_n: weight_lateral * curve_y.force_n(slip_angle_tangent) + side_force_n,
            normalised_slip: libm::sqrt(x * x + y * y),
        }
    }

    /// Forces as the plant takes them: lateral slip and force positive to the same side.
    pub fn force(
        &self,
        load_n: f64,
        grip: (f64, f64),
        longitudinal_slip: f64,
        lateral_slip: f64,
    ) -> TyreForce {
        let combined = self.combined(load_n, grip, longitudinal_slip, -lateral_slip);
        TyreForce {
            longitudinal_n: combined.longitudinal_n,
            lateral_n: combined.lateral_n,
            normalised_slip: combined.normalised_slip,
        }
    }

    fn longitudinal_curve(&self, load_n: f64) -> Curve {
        let excess = self.excess(load_n);
        let [first, second, third] = self.curvature_x;
        Curve {
            shape: self.shape_x,
            peak_n: self.peak_friction(load_n).0 * load_n,
            stiffness: self.slip_stiffness_n(load_n),
            curvature: first + (second + third * excess) * excess,
        }
    }

    fn lateral_curve(&self, load_n: f64, slip_angle_tangent: f64) -> Curve {
        let excess = self.excess(load_n);
        let [first, second, side] = self.curvature_y;
        let sign = if slip_angle_tangent < 0.0 { -1.0 } else { 1.0 };
        Curve {
            shape: self.shape_y,
            peak_n: self.peak_friction(load_n).1 * load_n,
            stiffness: self.cornering_stiffness_n_rad(load_n),
            curvature: (first + second * excess) * (1.0 - side * sign),
        }
    }

    fn shifts(&self, load_n: f64, shifts: Shifts, longitudinal: bool) -> (f64, f64) {
        if shifts == Shifts::Without {
            return (0.0, 0.0);
        }
        let excess = self.excess(load_n);
        let (slip, force) = if longitudinal {
            (self.shift_slip_x, self.shift_force_x)
        } else {
            (self.shift_slip_y, self.shift_force_y)
        };
        (
            slip[0] + slip[1] * excess,
            load_n * (force[0] + force[1] * excess),
        )
    }

    /// Load above nominal over nominal load.
    fn excess(&self, load_n: f64) -> f64 {
        (load_n - self.nominal_load_n) / self.nominal_load_n
    }
}

/// value * cos(atan(argument)).
fn along_cosine(value: f64, argument: f64) -> f64 {
    value / libm::sqrt(1.0 + argument * argument)
}

/// cos(C atan(B (x + shift))) over its value at x = 0.
fn weight(stiffness: f64, shape: f64, shift: f64, slip: f64) -> f64 {
    let cosine = |slip: f64| libm::cos(shape * libm::atan(stiffness * slip));
    (cosine(slip + shift) / cosine(shift)).max(0.0)
}
