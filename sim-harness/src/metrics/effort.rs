//! What a stretch of driving cost: hands, brakes, clutches, tyres of each axle; the same for every manoeuvre and axle.
//!
//! Input: a record and the times between which it counts. Steering effort is the way of the steering wheel (integral of the
//! size of its rate). Tyre work is split between the axles by force times sliding of each wheel, from its slip and slip
//! angle, with the wheels' radius taken from the record (speed over mean rear wheel speed); both parts add up to the tyre
//! loss recorded. Energies sum samples, as the record has them.

use std::ops::Range;

use super::Metric;
use super::series::{index_at, integral, largest_size};
use crate::record::Record;

/// Smallest ratio of tread speed to wheel speed from which the speed of a wheel can still be told.
const ROLLING_LEAST: f64 = 0.1;

/// Cost from a time to another, or to the end of the record.
pub fn effort(record: &Record, from_s: f64, to_s: f64) -> Vec<Metric> {
    let last = index_at(record, to_s).saturating_add(1).min(record.len());
    let span = index_at(record, from_s).min(last)..last;
    let energy = |name| {
        let column = record.column(name)?;
        let sum: f64 = column[span.clone()].iter().map(|v| f64::from(*v)).sum();
        Some(sum * record.period_s / 1000.0)
    };
    let work = tyre_work_kj(record, span.clone());
    let end = span.end.checked_sub(1);
    let speed = record.column("speed").zip(end).map(|(c, end)| c[end]);
    vec![
        Metric::new("speed at the end", "m/s", speed.map(f64::from)),
        Metric::new(
            "path error, largest",
            "m",
            largest_size(record, "path_error", from_s, to_s),
        ),
        Metric::new(
            "steering effort",
            "rad",
            record
                .column("steering_wheel_angle")
                .map(|column| way_of(&column[span.clone()])),
        ),
        Metric::new("energy in the brakes", "kJ", energy("plant_brake_loss")),
        Metric::new("energy in the clutches", "kJ", energy("plant_clutch_loss")),
        Metric::new("energy in the front tyres", "kJ", work.map(|work| work.0)),
        Metric::new("energy in the rear tyres", "kJ", work.map(|work| work.1)),
        Metric::new(
            "energy of the powertrain",
            "kJ",
            energy("plant_engine_power"),
        ),
    ]
}

/// Sum of the sizes of all changes.
pub(super) fn way_of(column: &[f32]) -> f64 {
    column
        .windows(2)
        .map(|pair| (f64::from(pair[1]) - f64::from(pair[0])).abs())
        .sum()
}

/// Rolling radius as the record has it, m.
pub(super) fn radius_m(record: &Record) -> Option<f64> {
    let total = |name| integral(record, name).map(f64::abs);
    let rear = total("wheel_speed_rear_left")? + total("wheel_speed_rear_right")?;
    (rear > 0.0).then_some(total("speed")? / (0.5 * rear))
}

/// Work lost in front and rear tyres, kJ.
pub(super) fn tyre_work_kj(record: &Record, span: Range<usize>) -> Option<(f64, f64)> {
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
            span.clone()
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
    for (position, index) in span.enumerate() {
        let front = fl[position] + fr[position];
        let rear = rl[position] + rr[position];
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
