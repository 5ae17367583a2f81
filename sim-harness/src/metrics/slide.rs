//! Values of a held slide: how long, how exactly, how tight, and the heat of it.
//!
//! Held is the longest time without interruption in which the size of the sideslip stays within 3 deg of the one wanted;
//! the other values are of that time alone, and missing when it is shorter than `LEAST_S`. Power is the energy of
//! both clutches together over the time (`plant_` channels: truth only a simulation knows).

use super::series::{at, mean};
use super::{Metric, degrees};
use crate::record::Record;
use crate::scenario::Numbers;

/// Half width of the band, rad: 3 deg.
const BAND_RAD: f64 = 3.0 * core::f64::consts::PI / 180.0;
/// Time below which a slide was not held but passed through, s.
const LEAST_S: f64 = 2.0;

/// All values.
pub(super) fn slide(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let wanted = numbers.driver.sideslip_deg.to_radians();
    let empty: &[f32] = &[];
    let sideslip = record.column("sideslip").unwrap_or(empty);
    let error = |index: usize| f64::from(sideslip[index].abs()) - wanted;
    let (mut longest, mut start) = (0..0, 0);
    for index in 0..sideslip.len() {
        // A sample that is no number ends the time.
        if error(index).abs() <= BAND_RAD {
            if index + 1 - start > longest.len() {
                longest = start..index + 1;
            }
        } else {
            start = index + 1;
        }
    }
    let held_s = longest.len() as f64 * record.period_s;
    let (from, to) = (
        record.time_s(longest.start),
        record.time_s(longest.end.max(1) - 1),
    );
    let held = (held_s >= LEAST_S).then_some(());
    let count = longest.len() as f64;
    let sum = |of: fn(f64) -> f64| longest.clone().map(|index| of(error(index))).sum::<f64>();
    let energy_j = |side: &str| {
        let name = format!("plant_clutch_energy_{side}");
        Some(at(record, &name, to)? - at(record, &name, from)?)
    };
    let power_kw = match (energy_j("left"), energy_j("right")) {
        (Some(left), Some(right)) if to > from => Some((left + right) / (to - from) / 1000.0),
        _ => None,
    };
    let hottest = |side: &str| {
        let column = record.column(&format!("plant_clutch_surface_{side}"))?;
        column
            .iter()
            .map(|value| f64::from(*value))
            .reduce(f64::max)
    };
    let surface = match (hottest("left"), hottest("right")) {
        (Some(left), Some(right)) => Some(left.max(right)),
        _ => None,
    };
    let radius = match (
        mean(record, "speed", from, to),
        mean(record, "yaw_rate", from, to),
    ) {
        (Some(speed), Some(yaw_rate)) => Some((speed / libm::cos(wanted) / yaw_rate).abs()),
        _ => None,
    };
    vec![
        Metric::new("slide held", "s", Some(held_s)),
        Metric::new(
            "sideslip error, mean",
            "deg",
            held.and(degrees(Some(sum(|error| error) / count))),
        ),
        Metric::new(
            "sideslip error, rms",
            "deg",
            held.and(degrees(Some(libm::sqrt(
                sum(|error| error * error) / count,
            )))),
        ),
        Metric::new("radius, mean", "m", held.and(radius)),
        Metric::new("clutch power in the slide, both", "kW", held.and(power_kw)),
        Metric::new("clutch surface, highest", "degC", surface),
    ]
}
