//! Tyre forces: three families behind one door, transient slip, wear, chains.
//!
//! Inputs: load, road friction, transient longitudinal and lateral slip. Outputs: forces along and across the wheel, and
//! the normalised total slip (1 at the peak). The number `family` of a tyre group chooses: 0 `similarity` (tuned for the
//! demo car), 1 `magic_1987` (SAE 870421), 2 `magic_2006` ("Tyre and Vehicle Dynamics", 2nd ed. 2006, Table A3.1).
//! In every family road friction scales the peak so that a tyre at its nominal load reaches road friction times its peak
//! scale, while the initial stiffness stays. Slip is theoretical slip (over the speed of the tread) for driving, so
//! wheelspin at standstill is bounded; families 1 and 2 are published over the speed of the wheel centre and get it so
//! (not when braking backwards, where the bounded slip is used as if driving). Positive slip gives positive force.
//! Transient slip x' ("Tyre and Vehicle Dynamics", ch. 7, from memory): sigma dx'/dt + V x' = slip velocity,
//! V = max(|Vx|, |omega r|). A right tyre is the mirror image of a left one, so asymmetries of a published tyre cancel.
//! Limits: no camber, no conicity, no aligning moment, no temperature, relaxation length independent of load.

pub mod curve_bank;
pub mod four;
pub mod magic;
pub mod magic_1987;
pub mod magic_2006;
pub mod similarity;
pub mod weighted;

use super::quantity::{Compared, PerSide};
use super::vehicle::{TyreFront, TyreRear};
use similarity::Similarity;
use weighted::Weighted;

/// Speed of the tread below which slip damping fades in and deflection is bounded near the peak, m/s.
pub(super) const LOW_SPEED_M_S: f64 = 3.0;
/// Slip per slip velocity at standstill, s/m; chosen: damps the wheel on its tread to about a third of critical.
const LONGITUDINAL_DAMPING_S_M: f64 = 0.02;
/// The same across the wheel; chosen: damps the standing body on its tyres to about a quarter of critical.
const LATERAL_DAMPING_S_M: f64 = 0.06;
/// Largest theoretical slip turned into slip over the speed of the wheel centre.
const MOST_SLIP: f64 = 0.99;
/// Road friction above which a chained tyre gains nothing: steel on a hard road; chosen.
const CHAIN_MOST_FRICTION: f64 = 0.6;
/// Stiffness of a chained tyre over that of the bare one; chosen.
const CHAIN_STIFFNESS: f64 = 0.7;

/// Which curves a tyre follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// Tuned curves, combined slip by similarity.
    Similarity,
    /// SAE 870421.
    Magic1987,
    /// "Tyre and Vehicle Dynamics", 2nd ed. 2006, Table A3.1.
    Magic2006,
    /// Tuned curves, combined slip by the weights of 2006.
    Weighted,
}

impl Family {
    /// From the number in a vehicle file, rounded.
    pub fn of(number: f64) -> Self {
        if number < 0.5 {
            Self::Similarity
        } else if number < 1.5 {
            Self::Magic1987
        } else if number < 2.5 {
            Self::Magic2006
        } else {
            Self::Weighted
        }
    }
}

/// One tyre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    family: Family,
    tuned: Similarity,
    weighted: Weighted,
    /// Peak scale over the published peak friction at nominal load, along and across.
    grip_per_friction: (f64, f64),
    stiffness_scale: f64,
    friction_scale: f64,
    chain_friction: f64,
    /// 1 for a tyre as measured (left), -1 for its mirror image.
    hand: f64,
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
        impl From<&$group> for PerSide<Tyre> {
            fn from(group: &$group) -> Self {
                let peak_argument = |shape: f64| libm::tan(core::f64::consts::FRAC_PI_2 / shape);
                let tuned = Similarity {
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
                };
                let family = Family::of(group.family);
                let published = match family {
                    Family::Similarity => (1.0, 1.0),
                    Family::Magic1987 => magic_1987::SAE_870421.peak_friction(group.nominal_load_n),
                    Family::Magic2006 | Family::Weighted => {
                        magic_2006::TABLE_A3_1.peak_friction(group.nominal_load_n)
                    }
                };
                let chained = group.chain_friction > 0.0;
                let weighted = Weighted::new(tuned);
                let tyre = |stiffness_scale: f64, friction_scale: f64, hand: f64| Tyre {
                    family,
                    tuned,
                    weighted,
                    grip_per_friction: (
                        group.peak_scale_longitudinal / published.0,
                        group.peak_scale_lateral / published.1,
                    ),
                    stiffness_scale: if chained {
                        stiffness_scale * CHAIN_STIFFNESS
                    } else {
                        stiffness_scale
                    },
                    friction_scale,
                    chain_friction: group.chain_friction,
                    hand,
                    relaxation_longitudinal_m: group.relaxation_longitudinal_m,
                    relaxation_lateral_m: group.relaxation_lateral_m,
                };
                Self {
                    left: tyre(group.left_stiffness_scale, group.left_friction_scale, 1.0),
                    right: tyre(
                        group.right_stiffness_scale,
                        group.right_friction_scale,
                        -1.0,
                    ),
                }
            }
        }

        impl From<&$group> for Tyre {
            /// The left tyre.
            fn from(group: &$group) -> Self {
                PerSide::<Tyre>::from(group).left
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
        let friction = self.friction(friction);
        // A stiffer tyre reaches the same force at less slip, the peak included.
        let longitudinal_slip = self.stiffness_scale * longitudinal_slip;
        let lateral_slip = self.stiffness_scale * lateral_slip;
        if self.family == Family::Similarity {
            return self
                .tuned
                .force(load_n, friction, longitudinal_slip, lateral_slip);
        }
        if !(load_n > 0.0 && friction > 0.0) {
            return TyreForce::default();
        }
        let travel = 1.0 - longitudinal_slip.bounded(0.0, MOST_SLIP);
        let along = longitudinal_slip / travel;
        let across = self.hand * lateral_slip / travel;
        let grip = (
            self.grip_per_friction.0 * friction,
            self.grip_per_friction.1 * friction,
        );
        let force = match self.family {
            Family::Magic1987 => magic_1987::SAE_870421.force(load_n, grip, along, across),
            Family::Weighted => {
                return self
                    .weighted
                    .force(load_n, friction, grip, along, lateral_slip / travel);
            }
            _ => magic_2006::TABLE_A3_1.force(load_n, grip, along, across),
        };
        TyreForce {
            lateral_n: self.hand * force.lateral_n,
            ..force
        }
    }

    /// Peak forces along and across at a load and road friction, N.
    pub fn peaks_n(&self, load_n: f64, friction: f64) -> (f64, f64) {
        let friction = self.friction(friction);
        let published = match self.family {
            Family::Similarity | Family::Weighted => return self.tuned.peaks_n(load_n, friction),
            Family::Magic1987 => magic_1987::SAE_870421.peak_friction(load_n),
            Family::Magic2006 => magic_2006::TABLE_A3_1.peak_friction(load_n),
        };
        (
            friction * self.grip_per_friction.0 * published.0 * load_n,
            friction * self.grip_per_friction.1 * published.1 * load_n,
        )
    }

    /// Cornering stiffness at a load, N/rad, positive.
    pub fn cornering_stiffness_n_rad(&self, load_n: f64) -> f64 {
        self.stiffness_scale
            * match self.family {
                Family::Similarity | Family::Weighted => {
                    self.tuned.cornering_stiffness_n_rad(load_n)
                }
                Family::Magic1987 => magic_1987::SAE_870421.cornering_stiffness_n_rad(load_n),
                Family::Magic2006 => -magic_2006::TABLE_A3_1.cornering_stiffness_n_rad(load_n),
            }
    }

    /// Lateral relaxation length, m.
    pub fn relaxation_lateral_m(&self) -> f64 {
        self.relaxation_lateral_m
    }

    /// Friction under this tyre: chains bite into ice and slip on a hard road.
    fn friction(&self, road: f64) -> f64 {
        let bare = self.friction_scale * road;
        if self.chain_friction > 0.0 {
            bare.smaller(CHAIN_MOST_FRICTION)
                .larger(self.chain_friction)
        } else {
            bare
        }
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
        let reference_m_s = velocity_m_s.0.abs().larger(tread_speed_m_s.abs());
        let along_m_s = tread_speed_m_s - velocity_m_s.0;
        let across_m_s = -velocity_m_s.1;
        let rate = Slip {
            longitudinal: (along_m_s - reference_m_s * slip.longitudinal)
                / self.relaxation_longitudinal_m,
            lateral: (across_m_s - reference_m_s * slip.lateral) / self.relaxation_lateral_m,
        };
        let fade = (1.0 - reference_m_s / LOW_SPEED_M_S).larger(0.0);
        let fade = fade * fade;
        let acting = Slip {
            longitudinal: slip.longitudinal + LONGITUDINAL_DAMPING_S_M * fade * along_m_s,
            lateral: slip.lateral + LATERAL_DAMPING_S_M * fade * across_m_s,
        };
        (rate, acting)
    }
}

/// Effective rolling radius, m, of a tyre of that free radius whose axle stands at `loaded_m`: the tread keeps the length
/// of its arc, r sin(t) / t with cos t = loaded / free (chord formula, from memory). It gives a value for `radius_m`.
pub fn effective_radius_m(free_m: f64, loaded_m: f64) -> f64 {
    let half_angle = libm::acos((loaded_m / free_m).bounded(-1.0, 1.0));
    if half_angle < 1e-6 {
        free_m
    } else {
        free_m * libm::sin(half_angle) / half_angle
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
