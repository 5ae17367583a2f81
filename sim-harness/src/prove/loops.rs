//! Margins of the yaw loop as rows: the worst over settings and speeds.

use super::{Question, Row, Target};
use crate::margins::{Actuator, COLD_TARGET, Margins, WARM_TARGET, yaw_loop};
use crate::plant::single_track::SingleTrack;
use crate::plant::{AxleLayout, Plant, Road, Start, Vehicle};
use couplet_controller::RawPage;

/// Speeds looked at, km/h.
pub const SPEEDS_KM_H: [f64; 5] = [40.0, 80.0, 120.0, 150.0, 180.0];

/// Names of the demo settings the rows are about.
pub const LOOP_SETTINGS: [&str; 4] = ["patrol", "response", "trailer", "skidpad"];

/// The linear car that stands behind the law.
pub fn linear_car(vehicle: &Vehicle) -> SingleTrack {
    Plant::new(
        *vehicle,
        AxleLayout::PairedClutches,
        Road::level(0.95),
        Start::default(),
    )
    .single_track()
}

/// The rows for these settings; without settings, or where a loop has no linear answer, the values are missing.
pub fn loop_rows(vehicle: &Vehicle, pages: &[(&str, RawPage)]) -> Vec<Row> {
    let car = linear_car(vehicle);
    let actuators = [Actuator::warm_worst(vehicle), Actuator::cold(vehicle)];
    let mut found: Option<Vec<Vec<Margins>>> = (!pages.is_empty()).then(Vec::new);
    for (_, page) in pages {
        for speed_km_h in SPEEDS_KM_H {
            let at = yaw_loop(&car, vehicle, page, speed_km_h / 3.6, &actuators);
            found = found.zip(at).map(|(mut all, at)| {
                all.push(at);
                all
            });
        }
    }
    let worst = |actuator: usize, read: fn(&Margins) -> f64, join: fn(f64, f64) -> f64| {
        found
            .as_ref()?
            .iter()
            .filter_map(|at| at.get(actuator).map(read))
            .reduce(join)
            .filter(|value| value.is_finite())
    };
    let row = |id: &str, requirement: &str, unit, paired, target| Row {
        id: id.to_owned(),
        question: Question::Stable,
        requirement: requirement.to_owned(),
        setting: "all",
        unit,
        passive: None,
        coupling: None,
        paired,
        target: Some(target),
        source: "project target",
    };
    vec![
        row(
            "loop-margins",
            "yaw loop of the real law, 40 to 180 km/h, 15 % more gain and 10 ms more delay: gain margin",
            "dB",
            worst(0, |margins| margins.gain_db, f64::min),
            Target::AtLeast(WARM_TARGET.gain_db),
        ),
        row(
            "loop-margins-phase",
            "same: phase margin",
            "deg",
            worst(0, |margins| margins.phase_deg, f64::min),
            Target::AtLeast(WARM_TARGET.phase_deg),
        ),
        row(
            "loop-margins-sensitivity",
            "same: peak sensitivity",
            "-",
            worst(0, |margins| margins.peak_sensitivity, f64::max),
            Target::AtMost(WARM_TARGET.peak_sensitivity),
        ),
        row(
            "loop-margins-cold",
            "yaw loop in cold oil, four times dead time and lag: gain margin",
            "dB",
            worst(1, |margins| margins.gain_db, f64::min),
            Target::AtLeast(COLD_TARGET.gain_db),
        ),
        row(
            "loop-margins-cold-sensitivity",
            "same: peak sensitivity",
            "-",
            worst(1, |margins| margins.peak_sensitivity, f64::max),
            Target::AtMost(COLD_TARGET.peak_sensitivity),
        ),
    ]
}
