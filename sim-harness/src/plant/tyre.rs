//! Tyre forces: sine-arctangent curves, load dependence, combined and transient slip.
//!
//! Inputs: load, road friction, transient longitudinal and lateral slip. Outputs: forces along and across the wheel, and
//! the normalised total slip (1 at the peak).
//! Pure slip F = D sin(C atan(B x)) (the Magic Formula without curvature and shifts, "Tyre and Vehicle Dynamics", 2nd ed.,
//! ch. 4, from memory), B = K / (C D): road friction scales the peak D, the initial stiffness K stays. Combined slip by
//! similarity: both slips are normalised by their peaks and the resultant enters both curves. Slip is theoretical slip
//! (over the speed of the tread) for driving, so wheelspin at standstill is bounded; positive slip gives positive force.
//! Transient slip x' (ibid. ch. 7, from memory): sigma dx'/dt + V x' = slip velocity, V = max(|Vx|, |omega r|).
//! Limits: no camber, no conicity, no aligning moment, no temperature; the curve's tail is sin(C pi/2) of the peak.

use super::vehicle::{TyreFront, TyreRear};

/// Speed of the tread below which slip damping fades in and deflection is bounded near the peak, m/s.
const LOW_SPEED_M_S: f64 = 3.0;
/// Slip per slip velocity at standstill, s/m; chosen: damps the wheel on its tread to about a third of critical.
const LONGITUDINAL_DAMPING_S_M: f64 = 0.02;
/// The same across the wheel; chosen: damps the standing body on its tyres to about a quarter of critical.
const LATERAL_DAMPING_S_M: f64 = 0.06;

/// One tyre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    nominal_load_n: f64,
    peak_scale_longitudinal: f64,
    peak_scale_lateral: f64,
    load_sensitivity: f64,
    slip_stiffness_per_load: f64,
    cornering_stiffness_max_n_rad: f64,
    cornering_stiffness_load_n: f64,
    shape_longitudinal: f64,
    shape_lateral: f64,
    peak_argument_longitudinal: f64,
    peak_argument_lateral: f64,
    relaxation_longitudinal_m: f64,
    relaxation_lateral_m: f64,
}

/// Forces of one tyre.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TyreForce {
    /// Along the wheel plane, N, positive pushing the car forward.
    pub longitudinal_n: f64,
    /// Across the wheel plane, N, positive to the left.
    pub lateral_n: f64,
    /// Total slip over its peak, 0 or more.
    pub normalised_slip: f64,
}

macro_rules! tyre_from {
    ($group:ident) => {
        impl From<&$group> for Tyre {
            fn from(group: &$group) -> Self {
                let peak_argument = |shape: f64| libm::tan(core::f64::consts::FRAC_PI_2 / shape);
                Self {
                    nominal_load_n: group.nominal_load_n,
                    peak_scale_longitudinal: group.peak_scale_longitudinal,
                    peak_scale_lateral: group.peak_scale_lateral,
                    load_sensitivity: group.load_sensitivity,
                    slip_stiffness_per_load: group.slip_stiffness_per_load,
                    cornering_stiffness_max_n_rad: group.cornering_stiffness_max_n_rad,
                    cornering_stiffness_load_n: group.cornering_stiffness_load_n,
                    shape_longitudinal: group.shape_longitudinal,
                    shape_lateral: group.shape_lateral,
                    peak_argument_longitudinal: peak_argument(group.shape_longitudinal),
                    peak_argument_lateral: peak_argument(group.shape_lateral),
                    relaxation_longitudinal_m: group.relaxation_longitudinal_m,
                    relaxation_lateral_m: group.relaxation_lateral_m,
                }
            }
        }
    };
}
tyre_from!(TyreFront);
tyre_from!(TyreRear);

impl Tyre {
    /// Forces from transient slips; `longitudinal_slip` positive driving, `lateral_slip` positive where the force is.
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
        let force_n = friction * load_n * relative.max(0.2);
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

    /// Rates of the transient slips, 1/s, and the slips that make force at this moment (damping included).
    ///
    /// `velocity_m_s` is the wheel centre's velocity along and across the wheel, `tread_speed_m_s` is omega r.
    pub fn transient(
        &self,
        slip: Slip,
        velocity_m_s: (f64, f64),
        tread_speed_m_s: f64,
    ) -> (Slip, Slip) {
        let reference_m_s = velocity_m_s.0.abs().max(tread_speed_m_s.abs());
        let along_m_s = tread_speed_m_s - velocity_m_s.0;
        let across_m_s = -velocity_m_s.1;
        let rate = Slip {
            longitudinal: (along_m_s - reference_m_s * slip.longitudinal)
                / self.relaxation_longitudinal_m,
            lateral: (across_m_s - reference_m_s * slip.lateral) / self.relaxation_lateral_m,
        };
        let fade = (1.0 - reference_m_s / LOW_SPEED_M_S).max(0.0);
        let fade = fade * fade;
        let acting = Slip {
            longitudinal: slip.longitudinal + LONGITUDINAL_DAMPING_S_M * fade * along_m_s,
            lateral: slip.lateral + LATERAL_DAMPING_S_M * fade * across_m_s,
        };
        (rate, acting)
    }
}

/// Longitudinal and lateral transient slip of one tyre, positive where the force is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Slip {
    /// Theoretical slip, positive driving.
    pub longitudinal: f64,
    /// Negative tangent of the slip angle.
    pub lateral: f64,
}

impl Slip {
    /// Slip bounded near the force's peak as speed vanishes.
    ///
    /// Without the bound a car that stops with locked wheels keeps a carcass deflection of a relaxation length and shoots
    /// back by it.
    pub fn bounded(self, normalised_slip: f64, reference_m_s: f64) -> Self {
        if reference_m_s >= LOW_SPEED_M_S {
            return self;
        }
        let bound = 1.0 + 10.0 * reference_m_s / LOW_SPEED_M_S;
        if normalised_slip > bound {
            let scale = bound / normalised_slip;
            Self {
                longitudinal: self.longitudinal * scale,
                lateral: self.lateral * scale,
            }
        } else {
            self
        }
    }
}
