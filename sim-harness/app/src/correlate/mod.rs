//! `couplet correlate LOG...`: the plant driven with the recorded steering, pedal and brake, held against what was recorded.
//!
//! The mapping is that of `couplet replay`, and the same physics judges the signals first. Written: correlate.html.

mod filter;
mod fit;
mod fit_told;
mod page;
mod problem;

use std::fmt::Write;
use std::path::{Path, PathBuf};

use couplet_controller::Period;
use couplet_sim::correlate::{Driven, Missing, Numbers, Pace, Quantity, figures, simulated};
use couplet_sim::plant::{PerSide, Vehicle};
use couplet_sim::replay::evidence::{Car, Signals};
use couplet_sim::replay::physics::judge;
use couplet_sim::replay::told::{commanded, steps, told};

use crate::bench::keep;
use crate::failure::{Failure, Refusal};
use crate::files::Source;
use crate::logs::{self, Foreign, Log};
use crate::output::number::significant;
use crate::output::text::aligned;
use crate::output::{CAUTIONS, make_place, write_page};
use crate::parallel::in_parallel;
use crate::replay::{mapping_source, refusals, unfit_refusal, vehicle_of};
use page::{Compared, page};

/// Least number of recordings a vehicle is to be tested with (ISO 19364, ISO 19365).
const LEAST_RUNS: usize = 3;

/// What is asked.
pub struct Question<'a> {
    /// Folder of the results.
    pub out: &'a Path,
    /// Recordings and folders of recordings.
    pub logs: &'a [PathBuf],
    /// Mapping file.
    pub map: &'a Path,
    /// Database of another bus.
    pub dbc: Option<&'a Path>,
    /// Vehicle file.
    pub vehicle: Option<&'a Path>,
    /// Friction of the road.
    pub friction: f64,
    /// Whether the recorded speed is followed.
    pub hold_speed: bool,
    /// Numbers to be fitted, by name.
    pub fit: &'a [String],
    /// Vehicle file of the fit.
    pub to: PathBuf,
}

/// Reads, simulates, writes and tells.
///
/// # Errors
/// Refused files, signals that contradict each other, a file that could not be written.
pub fn correlate(question: &Question<'_>) -> Result<String, Failure> {
    let mut found = Vec::new();
    let map = keep(mapping_source(question.map), &mut found);
    let vehicle = keep(vehicle_of(question.vehicle), &mut found);
    let foreign = keep(question.dbc.map(logs::foreign).transpose(), &mut found);
    let files = keep(logs::files(question.logs), &mut found);
    let (_, low, high) = Numbers::BOUNDS[3];
    if !(low..=high).contains(&question.friction) {
        found.push(Refusal::on_command_line(
            format!("--friction {} is out of range", question.friction),
            format!("{low} to {high}"),
            "name the friction of the road".into(),
        ));
    }
    let places = keep(fit_told::asked(question.fit, &question.to), &mut found);
    let (Some(map), Some(vehicle), Some(foreign), Some(files), Some(places), true) =
        (map, vehicle, foreign, files, places, found.is_empty())
    else {
        return Err(Failure::Refused(found));
    };
    let mut drives = Vec::new();
    let mut notes = Vec::new();
    for file in &files {
        if let Some((name, drive, own)) =
            keep(drive(file, &map, foreign.as_ref(), &vehicle), &mut found)
        {
            drives.push((name, drive));
            notes.extend(own);
        }
    }
    if !found.is_empty() {
        return Err(Failure::Refused(found));
    }
    make_place(question.out)?;
    let mut numbers = Numbers::nominal(question.friction);
    let mut text = String::new();
    for note in &notes {
        let _ = writeln!(text, "{note}");
    }
    if drives.len() < LEAST_RUNS {
        let _ = writeln!(
            text,
            "{} of at least {LEAST_RUNS} recordings: the standards ask for three runs of a vehicle",
            drives.len()
        );
    }
    if !places.is_empty() {
        let driven: Vec<Driven> = drives.iter().map(|(_, drive)| drive.clone()).collect();
        let (found, told) = fit_told::fitted(&vehicle, numbers, &driven, &places, &question.to)?;
        numbers = found;
        let _ = writeln!(text, "{told}simulated with the fitted numbers");
    }
    let pace = if question.hold_speed {
        Pace::Speed
    } else {
        Pace::Feet
    };
    let courses = in_parallel(
        drives.len(),
        |index| simulated(&vehicle, &numbers, &drives[index].1, pace),
        |_, _| (),
    );
    let mut compared = Vec::new();
    for ((name, drive), made) in drives.into_iter().zip(courses) {
        let Some(made) = made else {
            return Err(Failure::Run { name });
        };
        let figures = Quantity::ALL
            .map(|quantity| figures(drive.measured.of(quantity), made.of(quantity), quantity));
        compared.push(Compared {
            name,
            drive,
            made,
            figures,
        });
    }
    text += &table(&compared);
    write_page(question.out, "correlate.html", &page(&compared, &text))?;
    let _ = writeln!(
        text,
        "written to {}\n",
        question.out.join("correlate.html").display()
    );
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    Ok(text)
}

/// One recording as what was driven.
fn drive(
    file: &Path,
    map: &Source,
    foreign: Option<&Foreign>,
    vehicle: &Vehicle,
) -> Result<(String, Driven, Vec<String>), Vec<Refusal>> {
    let log: Log = logs::open(file, foreign)?;
    let mapping = map.mapping(&log.recording)?;
    let unfit = |unfit| vec![unfit_refusal(&log, &unfit)];
    let steps = steps(&log.recording, &mapping, Period::default()).map_err(unfit)?;
    let inputs = told(&log.recording, &mapping, &steps).map_err(unfit)?;
    let judgement = judge(&Signals::of(&inputs, steps.period_s), &Car::of(vehicle));
    let against = refusals(&log, Some(map), &judgement);
    if !against.is_empty() {
        return Err(against);
    }
    let radius_m = (vehicle.tyre_front.radius_m, vehicle.tyre_rear.radius_m);
    let mut drive = Driven::of(&inputs, steps.period_s, radius_m).map_err(|Missing(name)| {
        let what = format!("{}: there is no `{name}` for most of the time", log.file);
        let advice = format!("map {name} to a channel of the recording");
        let needed = "steering, accelerator or wish for torque, brake, wheel speeds, yaw rate, lateral acceleration";
        vec![map.refusal_at_table(name, what, needed.into(), advice)]
    })?;
    let current = |name: &str| {
        let command = mapping
            .commands
            .iter()
            .find(|one| one.output.name == name)?;
        let series = commanded(&log.recording, command, &steps).ok()?;
        let known = |value: f64| if value.is_finite() { value } else { 0.0 };
        Some(series.into_iter().map(known).collect::<Vec<f64>>())
    };
    let mut notes = log.notes.clone();
    match (current("current_left"), current("current_right")) {
        (Some(left), Some(right)) => drive.current_a = Some(PerSide { left, right }),
        _ => notes.push(format!(
            "{}: the mapping names no [recorded.current_left] and [recorded.current_right]: the clutches stay open",
            log.file
        )),
    }
    Ok((log.name.clone(), drive, notes))
}

fn table(compared: &[Compared]) -> String {
    let mut cells = vec![
        [
            "recording",
            "quantity",
            "rms",
            "largest",
            "at [s]",
            "correlation",
            "peak recorded",
            "simulated",
            "corridor +-",
            "inside [%]",
            "unit",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for one in compared {
        for (quantity, found) in Quantity::ALL.into_iter().zip(&one.figures) {
            let (name, unit, factor) = quantity.shown();
            cells.push(vec![
                one.name.clone(),
                name.to_owned(),
                significant(found.rms * factor, 3),
                significant(found.largest * factor, 3),
                significant(found.at as f64 * one.drive.period_s, 4),
                format!("{:+.3}", found.correlation),
                significant(found.measured_peak * factor, 4),
                significant(found.simulated_peak * factor, 4),
                significant(found.half_width * factor, 3),
                format!("{:.1}", 100.0 * found.inside),
                unit.to_owned(),
            ]);
        }
    }
    aligned(&cells, 2..10)
}
