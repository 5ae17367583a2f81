//! Values of everyday duty: what the axle costs at cruise, and how soon it lets go.
//!
//! Inputs: the record alone. Losses and clutch torques are truth that only a simulation knows.

use super::Metric;
use super::launch::stopping_distance_m;
use super::series::{first_above, index_at, mean, window};
use crate::record::Record;

/// Time the car settles before losses count, s.
const SETTLED_S: f64 = 10.0;
/// From this long after the request what is left in a clutch is residual torque, s: the time allowed in cold oil.
const RELEASED_S: f64 = 0.43;
/// The torque there was before the request is the mean over this time, s.
const BEFORE_S: f64 = 0.1;
/// Less torque at both wheels together is nothing to let go, Nm.
const WORTH_RELEASING_NM: f64 = 100.0;
/// A commanded capacity below this is open, Nm.
const OPEN_NM: f32 = 1.0;

/// Cruise: mean power lost in clutches, tyre slip and take-off; air and rolling resistance are the same for all.
pub(super) fn cruise(record: &Record) -> Vec<Metric> {
    let power = |name: &str| mean(record, name, SETTLED_S, f64::INFINITY);
    let sum = |names: [&str; 3]| names.into_iter().map(power).sum::<Option<f64>>();
    vec![
        Metric::new(
            "loss in clutches, tyre slip and take-off",
            "W",
            sum([
                "plant_clutch_loss",
                "plant_tyre_loss",
                "plant_driveline_loss",
            ]),
        ),
        Metric::new("loss in clutches", "W", power("plant_clutch_loss")),
        Metric::new("loss in tyre slip", "W", power("plant_tyre_loss")),
        Metric::new("powertrain power", "W", power("plant_engine_power")),
    ]
}

/// Release: from the brake control's first request on.
///
/// Commanded: both capacities are zero. Torque: the last time the sizes of both clutch torques together are above a tenth
/// of what they were before the request. Residual: the larger clutch torque after that should be over.
pub(super) fn release(record: &Record) -> Vec<Metric> {
    let request = ["anti_lock_active", "stability_active"]
        .iter()
        .filter_map(|name| first_above(record, name, 1.0))
        .reduce(f64::min);
    let torque = |name| request.and_then(|from| window(record, name, from, f64::INFINITY));
    let after = (
        torque("plant_clutch_torque_left"),
        torque("plant_clutch_torque_right"),
    );
    let before = request.and_then(|to| {
        let size = |name| {
            window(record, name, to - BEFORE_S, to).map(|samples| {
                let sum: f64 = samples.iter().map(|value| f64::from(value.abs())).sum();
                sum / samples.len().max(1) as f64
            })
        };
        Some(size("plant_clutch_torque_left")? + size("plant_clutch_torque_right")?)
    });
    let sizes: Option<Vec<f64>> = match after {
        (Some(left), Some(right)) => Some(
            left.iter()
                .zip(right)
                .map(|(left, right)| f64::from(left.abs()) + f64::from(right.abs()))
                .collect(),
        ),
        _ => None,
    };
    let worth = before.filter(|torque| *torque >= WORTH_RELEASING_NM);
    // Torque that is still there at the end of the record never fell.
    let fallen = match (&sizes, worth) {
        (Some(sizes), Some(before)) => {
            let first_under = sizes
                .iter()
                .rposition(|size| *size > 0.1 * before)
                .map_or(0, |last| last + 1);
            (first_under < sizes.len()).then_some(first_under as f64 * record.period_s)
        }
        _ => None,
    };
    let commanded = match (torque("capacity_left"), torque("capacity_right")) {
        (Some(left), Some(right)) if worth.is_some() => left
            .iter()
            .zip(right)
            .position(|(left, right)| *left < OPEN_NM && *right < OPEN_NM)
            .map(|index| index as f64 * record.period_s),
        _ => None,
    };
    let residual = match after {
        (Some(left), Some(right)) => {
            let from = index_at(record, RELEASED_S).min(left.len());
            left[from..]
                .iter()
                .zip(&right[from..])
                .map(|(left, right)| f64::from(left.abs().max(right.abs())))
                .reduce(f64::max)
        }
        _ => None,
    };
    vec![
        Metric::new("rear torque before the request", "N m", before),
        Metric::new("release commanded after", "s", commanded),
        Metric::new("torque under a tenth after", "s", fallen),
        Metric::new("residual torque, larger side", "N m", residual),
        Metric::new("stopping distance", "m", stopping_distance_m(record)),
    ]
}
