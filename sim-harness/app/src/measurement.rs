//! `couplet export measurement`: a driven run as a measurement file, and the mapping with which it replays to the bit.
//!
//! Group `law`: what the law was told (value, age, status) and what it gave, every 5 ms from its first step. Group `car`: the
//! record of the run at its own rate. MDF holds both; CSV and Parquet have one file for each. Every file whole or not at all.

use std::fmt::Write;
use std::path::Path;

use couplet_controller::RawPage;
use couplet_exchange as exchange;
use couplet_sim::replay::drive::heard;

use crate::bench::{Done, demo_page, demo_vehicle, keep};
use crate::command_line::{Form, Kind};
use crate::failure::Failure;
use crate::files::{Source, mapping_text};
use crate::output::{CAUTIONS, make_place, write_page};
use crate::why::scenario;

/// Drives, writes, and says what was written.
///
/// # Errors
/// Refused files, an axle without law, a file that could not be written.
pub fn measurement(
    out: &Path,
    run: &Path,
    (vehicle, setting): (Option<&Path>, Option<&Path>),
    form: Form,
) -> Result<Done, Failure> {
    let mut refusals = Vec::new();
    let run = keep(scenario(run), &mut refusals);
    let vehicle = match vehicle {
        Some(path) => Source::open(Kind::Vehicle, path).and_then(|source| source.vehicle()),
        None => demo_vehicle()?.vehicle(),
    };
    let vehicle = keep(vehicle, &mut refusals);
    let given = setting.map(|path| {
        Source::open(Kind::Setting, path)
            .and_then(|source| source.setting().map(|page| (page, source.name)))
    });
    let given = match given {
        Some(read) => keep(read, &mut refusals).map(Some),
        None => Some(None),
    };
    let (Some((scenario, own)), Some(vehicle), Some(given)) = (run, vehicle, given) else {
        return Err(Failure::Refused(refusals));
    };
    let (page, setting) = match (given, own) {
        (Some(given), _) => given,
        (None, Some(own)) => (demo_page(own)?, own.to_owned()),
        (None, None) => (RawPage::default(), "defaults".to_owned()),
    };
    make_place(out)?;
    let heard = heard(&scenario, &vehicle, &page);
    let comment = format!(
        "{} with setting {setting}. {}",
        scenario.name,
        CAUTIONS.join(" ")
    );
    let recording = heard.recording(&comment);
    let form = match form {
        Form::Mdf => exchange::Form::Mdf,
        Form::Csv => exchange::Form::Csv,
        Form::Parquet => exchange::Form::Parquet,
    };
    let written =
        exchange::write(&recording, form, out, &scenario.name).map_err(|(path, error)| {
            Failure::Write {
                path: path.display().to_string(),
                error,
            }
        })?;
    let map = format!("{}.map.toml", scenario.name);
    let setting_word = if setting == "defaults" {
        String::new()
    } else {
        format!(" --setting {setting}")
    };
    write_page(out, &map, &mapping_text(&heard.mapping()))?;
    let mut text = String::new();
    for group in &recording.groups {
        let _ = writeln!(
            text,
            "{}: {} channels, {} samples, {:.3} to {:.3} s",
            group.name,
            group.signals.len(),
            group.time_s.len(),
            group.time_s.first().copied().unwrap_or(0.0),
            group.time_s.last().copied().unwrap_or(0.0)
        );
    }
    for path in &written {
        let _ = writeln!(text, "written: {}", path.display());
    }
    let map = out.join(map);
    let _ = writeln!(text, "written: {}", map.display());
    if let Some(log) = written.first() {
        let _ = writeln!(
            text,
            "replay: couplet replay {} --map {}{setting_word}",
            log.display(),
            map.display()
        );
    }
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    Ok(Done {
        text,
        missed: false,
    })
}
