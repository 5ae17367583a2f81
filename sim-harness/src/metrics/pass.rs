//! Values of a drive over a pass: time, line, effort, and where the energy went.
//!
//! Input: a record. The wheels' radius is taken from the record itself (speed over mean rear wheel speed), so front spin
//! is meant to a tenth of a metre per second. Tyre work is split between the axles as [`super::effort`] tells. Energies sum samples, as the record has them.

use super::Metric;
use super::effort::{radius_m, tyre_work_kj, way_of};
use super::series::{first_above, integral, largest_size};
use crate::record::Record;
use crate::scenario::skarn_road;

/// Front spin that counts, m/s.
const SPIN_M_S: f64 = 1.0;
/// Values of the Skarn Pass.
pub fn pass(record: &Record) -> Vec<Metric> {
    let end_m = skarn_road::road().length_m() - 2.0;
    let time_s = first_above(record, "path_distance", end_m as f32);
    let column = |name| record.column(name);
    let last = |name| column(name).and_then(|c| c.last().copied()).map(f64::from);
    let way_m = column("path_distance")
        .and_then(|column| Some(f64::from(*column.last()?) - f64::from(*column.first()?)));
    let lasted_s = record.time_s(record.len().saturating_sub(1));
    let size = |name| largest_size(record, name, 0.0, f64::INFINITY);
    let energy = |name| integral(record, name).map(|joule| joule / 1000.0);
    let work = tyre_work_kj(record, 0..record.len());
    let hotter = match (
        size("plant_clutch_surface_left"),
        size("plant_clutch_surface_right"),
    ) {
        (Some(left), Some(right)) => Some(left.max(right)),
        _ => None,
    };
    vec![
        Metric::new("time for the pass", "s", time_s),
        Metric::new("distance driven", "m", way_m),
        Metric::new(
            "mean speed",
            "km/h",
            way_m.map(|way| 3.6 * way / lasted_s.max(record.period_s)),
        ),
        Metric::new("path error, largest", "m", size("path_error")),
        Metric::new(
            "steering effort",
            "rad",
            column("steering_wheel_angle").map(way_of),
        ),
        Metric::new(
            "energy of the powertrain",
            "kJ",
            energy("plant_engine_power"),
        ),
        Metric::new("energy in the clutches", "kJ", energy("plant_clutch_loss")),
        Metric::new("energy in the brakes", "kJ", energy("plant_brake_loss")),
        Metric::new("energy in the tyres", "kJ", energy("plant_tyre_loss")),
        Metric::new("energy in the front tyres", "kJ", work.map(|work| work.0)),
        Metric::new("energy in the rear tyres", "kJ", work.map(|work| work.1)),
        Metric::new("energy to height", "kJ", energy("plant_grade_power")),
        Metric::new("time with front spin above 1 m/s", "s", spinning_s(record)),
        Metric::new("clutch surface, highest", "degC", hotter),
        Metric::new("oil, highest", "degC", size("plant_oil")),
        Metric::new("oil at the end", "degC", last("plant_oil")),
    ]
}

fn spinning_s(record: &Record) -> Option<f64> {
    let radius = radius_m(record)?;
    let (left, right) = (
        record.column("wheel_speed_front_left")?,
        record.column("wheel_speed_front_right")?,
    );
    let speed = record.column("speed")?;
    let count = (0..record.len())
        .filter(|index| {
            let carrier = 0.5 * (f64::from(left[*index]) + f64::from(right[*index]));
            carrier * radius - f64::from(speed[*index]) > SPIN_M_S
        })
        .count();
    Some(count as f64 * record.period_s)
}
