//! The single faults of the matrix and their sizes.
//!
//! Sizes are chosen, no source: what a sensor of that kind could say for a while without being out of range. An input that
//! the table of signals gets later is in the matrix at once, with a twentieth of its range as the size.

use crate::fault::{Fault, Kind, Place};
use crate::run::injection::{can_happen, places};
use couplet_controller::signal::inputs::INPUT_SIGNALS;

use super::ONSET_S;

/// Whether the place has its like on the left, which stands for it on a straight.
pub fn is_right(place: Place) -> bool {
    place.name().ends_with("right")
}

/// Every single fault, from the onset on for good.
pub fn single() -> Vec<Fault> {
    let mut all = Vec::new();
    for place in places() {
        for kind in Kind::ALL {
            if can_happen(place, kind) {
                let mut fault = Fault::from(place, kind, ONSET_S);
                if let Some(size) = size(place, kind) {
                    fault.size = size;
                }
                all.push(fault);
            }
        }
    }
    all
}

/// Size of a fault where it is not the usual one of its kind.
fn size(place: Place, kind: Kind) -> Option<f64> {
    let step = step(place)?;
    match kind {
        Kind::Offset | Kind::Drift => Some(step),
        Kind::Noise => Some(0.5 * step.abs()),
        Kind::Scale => Some(1.3),
        Kind::Delay | Kind::Duplicated => Some(0.1),
        Kind::Late => Some(0.3),
        Kind::Corrupted => Some(0.3),
        _ => None,
    }
}

/// An error of a place in its unit.
fn step(place: Place) -> Option<f64> {
    let name = match place {
        Place::Signal(name) => name,
        // Half of what closes a clutch wholly.
        Place::Current { .. } => return Some(0.5),
        Place::Clutch { .. } | Place::Request { .. } => return None,
    };
    Some(match name {
        // About 1 m/s.
        "wheel_speed_front_left"
        | "wheel_speed_front_right"
        | "wheel_speed_rear_left"
        | "wheel_speed_rear_right" => 3.0,
        // 6 deg/s.
        "yaw_rate" => 0.1,
        "lateral_acceleration" | "longitudinal_acceleration" => 2.0,
        // 20 deg.
        "steering_wheel_angle" => 0.35,
        "accelerator_pedal" => 0.3,
        "brake_pressure" => 30.0,
        "carrier_torque" | "carrier_torque_wanted" => 1000.0,
        // Reverse instead of the first gear.
        "gear" => -2.0,
        "ambient_temperature" => 40.0,
        // The whole cap away, and an order or report that is not there.
        "rear_torque_cap" => -20_000.0,
        "yaw_moment_cap" => -40_000.0,
        "open_now" | "anti_lock_active" | "stability_active" => 1.0,
        other => INPUT_SIGNALS
            .iter()
            .find(|signal| signal.name == other)
            .map_or(1.0, |signal| 0.05 * f64::from(signal.high - signal.low)),
    })
}
