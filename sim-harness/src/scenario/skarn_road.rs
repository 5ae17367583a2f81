//! The Skarn Pass: an invented mountain road of 3.7 km, as a table to edit.
//!
//! Out of a valley over three hairpins to a summit 156 m higher, down over two more. On the way: wet asphalt, ice under
//! the left wheels of a climb, ice on the way out of a hairpin, gravel. No such road exists; nothing was
//! surveyed. Curvature is positive to the left; the table must keep the road from crossing itself.

use crate::plant::road::{RoadPath, Stretch};
use std::sync::OnceLock;

/// Distance from the middle of the road to its edge, m.
pub const HALF_WIDTH_M: f64 = 3.0;

/// Friction of the dry asphalt in the table: the scenario's friction scales the whole table against it.
pub const DRY: f64 = 0.95;

/// Name, length m, curvature at start and end 1/m, friction left and right, grade %, bank % (left edge higher), rolling
/// resistance over that of asphalt.
type Row = (&'static str, f64, f64, f64, f64, f64, f64, f64, f64);

#[rustfmt::skip]
const TABLE: &[Row] = &[
    ("valley straight", 300.0, 0.0, 0.0, 0.95, 0.95, 1.0, 0.0, 1.0),
    ("church bend in", 40.0, 0.0, 1.0 / 120.0, 0.95, 0.95, 4.0, -4.0, 1.0),
    ("church bend", 96.1, 1.0 / 120.0, 1.0 / 120.0, 0.95, 0.95, 4.0, -4.0, 1.0),
    ("church bend out", 40.0, 1.0 / 120.0, 0.0, 0.95, 0.95, 4.0, -4.0, 1.0),
    ("meadow straight", 120.0, 0.0, 0.0, 0.95, 0.95, 6.0, 0.0, 1.0),
    ("barn bend in", 30.0, 0.0, -1.0 / 80.0, 0.95, 0.95, 6.0, 5.0, 1.0),
    ("barn bend", 81.7, -1.0 / 80.0, -1.0 / 80.0, 0.95, 0.95, 6.0, 5.0, 1.0),
    ("barn bend out", 30.0, -1.0 / 80.0, 0.0, 0.95, 0.95, 6.0, 5.0, 1.0),
    ("forest straight", 220.0, 0.0, 0.0, 0.6, 0.6, 9.0, 0.0, 1.0),
    ("first hairpin in", 20.0, 0.0, 1.0 / 15.0, 0.95, 0.95, 8.0, -5.0, 1.0),
    ("first hairpin", 27.1, 1.0 / 15.0, 1.0 / 15.0, 0.95, 0.95, 8.0, -5.0, 1.0),
    ("first hairpin out", 20.0, 1.0 / 15.0, 0.0, 0.95, 0.95, 8.0, -5.0, 1.0),
    ("first ramp", 200.0, 0.0, 0.0, 0.95, 0.95, 12.0, 0.0, 1.0),
    ("second hairpin in", 16.0, 0.0, -1.0 / 12.0, 0.95, 0.95, 8.0, 5.0, 1.0),
    ("second hairpin", 21.7, -1.0 / 12.0, -1.0 / 12.0, 0.95, 0.95, 8.0, 5.0, 1.0),
    ("second hairpin out", 16.0, -1.0 / 12.0, 0.0, 0.95, 0.95, 8.0, 5.0, 1.0),
    ("second ramp, below", 10.0, 0.0, 0.0, 0.95, 0.95, 10.0, 0.0, 1.0),
    ("second ramp, ice left", 110.0, 0.0, 0.0, 0.15, 0.7, 11.0, 0.0, 1.0),
    ("second ramp, above", 100.0, 0.0, 0.0, 0.95, 0.95, 14.0, 0.0, 1.0),
    ("third hairpin in", 20.0, 0.0, 1.0 / 16.0, 0.8, 0.8, 6.0, -5.0, 1.0),
    ("third hairpin", 28.9, 1.0 / 16.0, 1.0 / 16.0, 0.8, 0.8, 6.0, -5.0, 1.0),
    ("third hairpin out", 20.0, 1.0 / 16.0, 0.0, 0.18, 0.18, 6.0, -5.0, 1.0),
    ("third ramp, ice", 20.0, 0.0, 0.0, 0.18, 0.18, 6.0, 0.0, 1.0),
    ("third ramp", 180.0, 0.0, 0.0, 0.95, 0.95, 10.0, 0.0, 1.0),
    ("wet right in", 30.0, 0.0, -1.0 / 70.0, 0.6, 0.6, 7.0, 3.0, 1.0),
    ("wet right", 43.3, -1.0 / 70.0, -1.0 / 70.0, 0.6, 0.6, 7.0, 3.0, 1.0),
    ("wet right out", 30.0, -1.0 / 70.0, 0.0, 0.6, 0.6, 7.0, 3.0, 1.0),
    ("wet left in", 30.0, 0.0, 1.0 / 70.0, 0.6, 0.6, 7.0, -3.0, 1.0),
    ("wet left", 43.3, 1.0 / 70.0, 1.0 / 70.0, 0.6, 0.6, 7.0, -3.0, 1.0),
    ("wet left out", 30.0, 1.0 / 70.0, 0.0, 0.6, 0.6, 7.0, -3.0, 1.0),
    ("last ramp", 150.0, 0.0, 0.0, 0.95, 0.95, 8.0, 0.0, 1.0),
    ("summit", 150.0, 0.0, 0.0, 0.95, 0.95, 0.0, 0.0, 1.0),
    ("gravel right in", 30.0, 0.0, -1.0 / 100.0, 0.55, 0.55, -2.0, 0.0, 2.0),
    ("gravel right", 57.3, -1.0 / 100.0, -1.0 / 100.0, 0.55, 0.55, -2.0, 0.0, 2.0),
    ("gravel right out", 30.0, -1.0 / 100.0, 0.0, 0.55, 0.55, -2.0, 0.0, 2.0),
    ("gravel straight", 60.0, 0.0, 0.0, 0.55, 0.55, -3.0, 0.0, 2.0),
    ("gravel left in", 30.0, 0.0, 1.0 / 90.0, 0.55, 0.55, -3.0, 0.0, 2.0),
    ("gravel left", 40.7, 1.0 / 90.0, 1.0 / 90.0, 0.55, 0.55, -3.0, 0.0, 2.0),
    ("gravel left out", 30.0, 1.0 / 90.0, 0.0, 0.55, 0.55, -3.0, 0.0, 2.0),
    ("north ramp", 220.0, 0.0, 0.0, 0.95, 0.95, -8.0, 0.0, 1.0),
    ("fourth hairpin in", 20.0, 0.0, -1.0 / 18.0, 0.95, 0.95, -6.0, 4.0, 1.0),
    ("fourth hairpin", 36.5, -1.0 / 18.0, -1.0 / 18.0, 0.95, 0.95, -6.0, 4.0, 1.0),
    ("fourth hairpin out", 20.0, -1.0 / 18.0, 0.0, 0.95, 0.95, -6.0, 4.0, 1.0),
    ("fourth ramp", 180.0, 0.0, 0.0, 0.6, 0.6, -9.0, 0.0, 1.0),
    ("fifth hairpin in", 18.0, 0.0, 1.0 / 14.0, 0.95, 0.95, -6.0, -5.0, 1.0),
    ("fifth hairpin", 26.0, 1.0 / 14.0, 1.0 / 14.0, 0.95, 0.95, -6.0, -5.0, 1.0),
    ("fifth hairpin out", 18.0, 1.0 / 14.0, 0.0, 0.95, 0.95, -6.0, -5.0, 1.0),
    ("lower ramp", 160.0, 0.0, 0.0, 0.95, 0.95, -10.0, 0.0, 1.0),
    ("quarry bend in", 40.0, 0.0, -1.0 / 100.0, 0.95, 0.95, -6.0, 4.0, 1.0),
    ("quarry bend", 82.2, -1.0 / 100.0, -1.0 / 100.0, 0.95, 0.95, -6.0, 4.0, 1.0),
    ("quarry bend out", 40.0, -1.0 / 100.0, 0.0, 0.95, 0.95, -6.0, 4.0, 1.0),
    ("run-out", 300.0, 0.0, 0.0, 0.95, 0.95, -3.0, 0.0, 1.0),
];

/// The stretches of the pass.
pub fn stretches() -> Vec<Stretch> {
    TABLE
        .iter()
        .map(|row| Stretch {
            name: row.0,
            length_m: row.1,
            curvature_start_1_m: row.2,
            curvature_end_1_m: row.3,
            friction_left: row.4,
            friction_right: row.5,
            grade_percent: row.6,
            bank_percent: row.7,
            rolling_scale: row.8,
        })
        .collect()
}

/// The pass.
pub fn road() -> &'static RoadPath {
    static ROAD: OnceLock<RoadPath> = OnceLock::new();
    ROAD.get_or_init(|| RoadPath::new(&stretches()))
}
