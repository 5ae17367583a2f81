//! How far the controller's idea of the car is from the car: speed and sideslip.
//!
//! Input: a record with truth and the trace of the controller. Speed counts forwards above [`FAST_M_S`], as a share of the
//! truth. Sideslip counts below the limit: forwards above [`TURNS_M_S`] with no tyre beyond [`LIMIT_RAD`] of slip angle,
//! where a single-track car still says something. Values are missing where the car never was there.

use crate::record::Record;

/// Speed from which the estimate counts, m/s: wheel sensors are silent at crawl.
pub const FAST_M_S: f64 = 3.0;
/// Speed from which sideslip counts, m/s.
pub const TURNS_M_S: f64 = 5.0;
/// Slip angle of a tyre at the limit, rad: 5 deg, near the peak of the demo tyre on a dry road.
pub const LIMIT_RAD: f64 = 5.0 * core::f64::consts::PI / 180.0;

/// Errors of one run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimation {
    /// Largest error of speed over speed.
    pub speed_largest: Option<f64>,
    /// Root of the mean square of the same.
    pub speed_rms: Option<f64>,
    /// Share of those samples beyond 1 %.
    pub speed_beyond: Option<f64>,
    /// Largest error of sideslip below the limit, rad.
    pub sideslip_largest_rad: Option<f64>,
}

/// Errors over a record; nothing for an axle without a controller.
pub fn estimation(record: &Record) -> Option<Estimation> {
    let column = |name: &str| record.column(name);
    let (speed, speed_seen) = (column("speed")?, column("estimated_speed")?);
    let (sideslip, sideslip_seen) = (column("sideslip")?, column("estimated_sideslip")?);
    let mut angles = Vec::new();
    for wheel in ["front_left", "front_right", "rear_left", "rear_right"] {
        angles.push(column(&format!("plant_slip_angle_{wheel}"))?);
    }
    let (mut largest, mut squares, mut beyond, mut count) = (0.0_f64, 0.0, 0, 0);
    let mut sideslip_largest: Option<f64> = None;
    for index in 0..record.len() {
        let truth = f64::from(speed[index]);
        if truth > FAST_M_S {
            let error = (f64::from(speed_seen[index]) - truth).abs() / truth;
            largest = largest.max(error);
            squares += error * error;
            beyond += usize::from(error > 0.01);
            count += 1;
        }
        let slip = angles.iter().map(|angle| f64::from(angle[index].abs()));
        if truth > TURNS_M_S && slip.fold(0.0, f64::max) < LIMIT_RAD {
            let error = f64::from((sideslip_seen[index] - sideslip[index]).abs());
            sideslip_largest = Some(sideslip_largest.map_or(error, |most| most.max(error)));
        }
    }
    let of = |value: f64| (count > 0).then_some(value);
    Some(Estimation {
        speed_largest: of(largest),
        speed_rms: of(libm::sqrt(squares / (count.max(1) as f64))),
        speed_beyond: of(beyond as f64 / count.max(1) as f64),
        sideslip_largest_rad: sideslip_largest,
    })
}
