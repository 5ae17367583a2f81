//! The closed form of the limit radius, drawn over what the law's code says.
//!
//! Input: [`Axle`]. Output: overspeed left over what the outer wheel needs, and the curvatures at which it runs out. Equation:
//! `eps_crit = (R + T/2)(1 + k_r) / (sqrt(R^2 + d^2) cos(a_f) (1 + k_f)) - 1`, plane rigid-body kinematics (`docs/src/axle.md`),
//! with the outer wheel rolling freely (`k_r` zero). It knows nothing of clutches, bounds, dead band or sign memory.

use super::{Axle, Point, Turn};
use couplet_controller::calibration;

/// Curvatures between zero and the end of the grip at which the sign is looked at.
const LOOKED_AT: u32 = 400;
/// Halvings of the stretch in which the sign changes: below the rounding of 64 bits.
const HALVINGS: u32 = 60;

/// A place where driving the outer wheel begins or ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Curvature, 1/m, above zero.
    pub curvature_1_m: f64,
    /// Whether the outer clutch can drive on the straighter side of it.
    pub drives_below: bool,
}

impl Crossing {
    /// Radius, m.
    pub fn radius_m(&self) -> f64 {
        1.0 / self.curvature_1_m
    }
}

/// Overspeed beyond the critical one, as a share: above zero the outer clutch can drive.
pub fn overspeed_left(axle: &Axle) -> f64 {
    left(&axle.car, &axle.point)
}

/// Every place between a straight road and the end of the grip at which the closed form changes its sign, straighter first.
pub fn crossings(axle: &Axle) -> Vec<Crossing> {
    let (car, last) = (&axle.car, axle.point.grip_curvature_1_m());
    let at = |curvature_1_m: f64| {
        left(
            car,
            &Point {
                curvature_1_m,
                ..axle.point
            },
        )
    };
    let mut found = Vec::new();
    // Zero itself has no radius; a millionth of the last place is straight enough.
    let mut before = (last * 1.0e-6, at(last * 1.0e-6));
    for step in 1..=LOOKED_AT {
        let curvature = last * f64::from(step) / f64::from(LOOKED_AT);
        let now = (curvature, at(curvature));
        if (before.1 > 0.0) != (now.1 > 0.0) {
            let (mut low, mut high) = (before.0, now.0);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                if (at(middle) > 0.0) == (before.1 > 0.0) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            found.push(Crossing {
                curvature_1_m: 0.5 * (low + high),
                drives_below: before.1 > 0.0,
            });
        }
        before = now;
    }
    found
}

fn left(car: &calibration::Vehicle<f64>, point: &Point) -> f64 {
    let curvature = point.curvature_1_m.abs();
    let turn = Turn::of(
        car,
        &Point {
            curvature_1_m: curvature,
            ..*point
        },
    );
    // Both sides times the curvature, so that a straight road is no exception.
    let outer = 1.0 + 0.5 * car.track_m * curvature;
    let ahead = turn.front_ahead_m * curvature;
    let front = libm::sqrt(1.0 + ahead * ahead)
        * libm::cos(turn.front_slip_angle_rad)
        * (1.0 + point.front_slip);
    let overspeed = (1.0 + car.overspeed) * (1.0 + point.radius_error) - 1.0;
    overspeed - (outer / front - 1.0)
}
