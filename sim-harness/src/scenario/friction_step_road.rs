//! A left-hand turn of 100 m radius with a slippery stretch, as a table to edit. Invented.
//!
//! Straight, into the turn over 30 m, turn on good ground, 30 m of slippery ground in the turn, good ground again. The
//! scenario's friction scales the whole table against [`GOOD`].

use crate::plant::road::{RoadPath, Stretch};
use std::sync::OnceLock;

/// Friction of the good ground in the table.
pub const GOOD: f64 = 0.9;

/// Friction of the slippery stretch in the table.
pub const SLIPPERY: f64 = 0.3;

/// Radius of the turn, m.
pub const RADIUS_M: f64 = 100.0;

/// Where the slippery stretch begins, m from the start.
pub const SLIPPERY_FROM_M: f64 = 150.0;

/// Where it ends, m.
pub const SLIPPERY_TO_M: f64 = 180.0;

/// Name, length m, curvature at start and end 1/m, friction.
type Row = (&'static str, f64, f64, f64, f64);

const BEND: f64 = 1.0 / RADIUS_M;

#[rustfmt::skip]
const TABLE: &[Row] = &[
    ("straight", 50.0, 0.0, 0.0, GOOD),
    ("turn in", 30.0, 0.0, BEND, GOOD),
    ("turn", 70.0, BEND, BEND, GOOD),
    ("slippery", SLIPPERY_TO_M - SLIPPERY_FROM_M, BEND, BEND, SLIPPERY),
    ("turn again", 150.0, BEND, BEND, GOOD),
];

/// The road.
pub fn road() -> &'static RoadPath {
    static ROAD: OnceLock<RoadPath> = OnceLock::new();
    ROAD.get_or_init(|| {
        let stretches: Vec<Stretch> = TABLE
            .iter()
            .map(|row| Stretch {
                name: row.0,
                length_m: row.1,
                curvature_start_1_m: row.2,
                curvature_end_1_m: row.3,
                friction_left: row.4,
                friction_right: row.4,
                grade_percent: 0.0,
                bank_percent: 0.0,
                rolling_scale: 1.0,
            })
            .collect();
        RoadPath::new(&stretches)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slippery_stretch_lies_where_its_bounds_say() {
        let start: f64 = TABLE.iter().take(3).map(|row| row.1).sum();
        assert_eq!(start, SLIPPERY_FROM_M);
        let friction = |distance_m: f64| {
            let index = (distance_m / crate::plant::road::path::SPACING_M) as usize;
            road().points()[index].friction_left
        };
        // Friction passes over 3 m from stretch to stretch; 2 m off a border it is the stretch's own.
        assert!((friction(SLIPPERY_FROM_M - 2.0) - GOOD).abs() < 1e-9);
        assert!((friction(SLIPPERY_FROM_M + 2.0) - SLIPPERY).abs() < 1e-9);
        assert!((friction(SLIPPERY_TO_M - 2.0) - SLIPPERY).abs() < 1e-9);
        assert!((friction(SLIPPERY_TO_M + 2.0) - GOOD).abs() < 1e-9);
    }
}
