//! Values of a drive over a pass: time, line, effort, and where the energy went.
//!
//! Input: a record. The wheels' radius is taken from the record itself (speed over mean rear wheel speed), so front spin
//! is meant to a tenth of a metre per second. Tyre work is split between the axles by force times sliding of each wheel,
//! from its slip and slip angle; both parts add up to the tyre loss recorded. Energies sum samples, as the record has them.

use super::Metric;
use super::series::{first_above, integral, largest_size};
use crate::record::Record;
use crate::scenario::skarn_road;

/// Front spin that counts, m/s.
const SPIN_M_S: f64 = 1.0;
/// Smallest ratio of tread speed to wheel speed from which the speed of a wheel can still be told.
const ROLLING_LEAST: f64 = 0.1;

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
    let work = tyre_work_kj(record);
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

/// Sum of the sizes of all changes.
fn way_of(column: &[f32]) -> f64 {
    column
        .windows(2)
        .map(|pair| (f64::from(pair[1]) - f64::from(pair[0])).abs())
        .sum()
}

/// Rolling radius as the record has it, m.
fn radius_m(record: &Record) -> Option<f64> {
    let total = |name| integral(record, name).map(f64::abs);
    let rear = total("wheel_speed_rear_left")? + total("wheel_speed_rear_right")?;
    (rear > 0.0).then_some(total("speed")? / (0.5 * rear))
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

/// Work lost in front and rear tyres, kJ.
fn tyre_work_kj(record: &Record) -> Option<(f64, f64)> {
    let radius = radius_m(record)?;
    let speed = record.column("speed")?;
    let loss = record.column("plant_tyre_loss")?;
    let power = |wheel: &str| -> Option<Vec<f64>> {
        let column = |name: &str| record.column(&format!("{name}_{wheel}"));
        let turning = column("wheel_speed")?;
        let slip = column("plant_longitudinal_slip")?;
        let angle = column("plant_slip_angle")?;
        let along = column("plant_tyre_force_longitudinal")?;
        let across = column("plant_tyre_force_lateral")?;
        let at = |column: &[f32], index: usize| f64::from(column[index]);
        Some(
            (0..record.len())
                .map(|index| {
                    let tread = at(turning, index) * radius;
                    let ratio = 1.0 + at(slip, index);
                    let travel = if ratio > ROLLING_LEAST {
                        tread / ratio
                    } else {
                        at(speed, index)
                    };
                    let sideways = travel.abs() * libm::tan(at(angle, index).abs());
                    (at(along, index) * (tread - travel)).abs() + at(across, index).abs() * sideways
                })
                .collect(),
        )
    };
    let (fl, fr) = (power("front_left")?, power("front_right")?);
    let (rl, rr) = (power("rear_left")?, power("rear_right")?);
    let (mut front_j, mut rear_j) = (0.0, 0.0);
    for index in 0..record.len() {
        let (front, rear) = (fl[index] + fr[index], rl[index] + rr[index]);
        let share = if front + rear > 0.0 {
            front / (front + rear)
        } else {
            0.5
        };
        let lost = f64::from(loss[index]) * record.period_s;
        front_j += share * lost;
        rear_j += (1.0 - share) * lost;
    }
    Some((front_j / 1000.0, rear_j / 1000.0))
}
