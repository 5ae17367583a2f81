//! `couplet drive --bus`, `couplet export dbc`, `a2l`, `frames`: the bus of the car and what describes it.
//!
//! The log of a drive is written under a temporary name beside its place and renamed when it is whole.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use couplet_controller::Period;
use couplet_network::{BusRelay, Head, LogWriter, calibration as description, database, sample};
use couplet_sim::plant::AxleLayout;
use couplet_sim::run::law::Rule;
use couplet_sim::run::{PERIOD_S, RunResult, run_relayed};
use couplet_sim::scenario::layout_name;

use crate::bench::Job;
use crate::failure::{Failure, Refusal};
use crate::output::{make_place, see_place, write_page};

/// Sees that a drive has a law to talk to over the bus and that its log has a place, before anything is run.
///
/// # Errors
/// Another axle, no place.
pub fn see(job: &Job<'_>, log: &Path) -> Result<(), Failure> {
    let layout = job.scenario.layout;
    if layout != AxleLayout::PairedClutches {
        return Err(Failure::Refused(vec![Refusal::on_command_line(
            format!("--bus with axle `{}`", layout_name(layout)),
            "axle `paired`: the other ones have no law on the bus".into(),
            "add --axle paired, or leave --bus out".into(),
        )]));
    }
    see_place(log)
}

/// Drives with the bus between car and law; also says what the bus did.
///
/// # Errors
/// A log that could not be written.
pub fn drive(job: &Job<'_>, log: &Path) -> Result<(RunResult, String), Failure> {
    let temporary = temporary(log);
    let wrong = |error| {
        // What is half written is no log.
        let _ = fs::remove_file(&temporary);
        Failure::Write {
            path: log.display().to_string(),
            error,
        }
    };
    let file = File::create(&temporary).map_err(wrong)?;
    let mut refused = None;
    let start_degc = job.scenario.numbers.road.axle_degc as f32;
    let rule = Rule::from(&job.page);
    let (result, relay) = run_relayed(job.scenario, job.vehicle, rule, |lead_s| {
        let zero_us = (lead_s / PERIOD_S).round() as u64 * 5_000;
        let head = Head::of(&job.scenario.name, &job.page, zero_us, start_degc);
        let to: Box<dyn Write> = Box::new(BufWriter::new(file));
        let log = LogWriter::new(to, &head).unwrap_or_else(|error| {
            refused = Some(error);
            LogWriter::nowhere()
        });
        BusRelay::new(log, Period::default())
    });
    if let Some(error) = refused {
        return Err(wrong(error));
    }
    let mut told = String::new();
    if let Some(relay) = relay {
        let [car, axle] = relay.reports();
        told = format!(
            "bus: {} steps over {}; sent as not available {}, as errors {}, at the end of their range {}\n\n",
            relay.steps(),
            log.display(),
            car.not_available,
            car.errors + axle.errors,
            axle.saturated,
        );
        relay.end().and_then(LogWriter::end).map_err(wrong)?;
    }
    fs::rename(&temporary, log).map_err(wrong)?;
    Ok((result, told))
}

fn temporary(log: &Path) -> PathBuf {
    let mut name = log.as_os_str().to_owned();
    name.push(".tmp");
    PathBuf::from(name)
}

/// Writes the database of the bus.
///
/// # Errors
/// A file that could not be written.
pub fn database(out: &Path) -> Result<String, Failure> {
    let text = database::database();
    let messages = text.matches("\nBO_ ").count();
    let signals = text.matches("\n SG_ ").count();
    make_place(out)?;
    write_page(out, "couplet.dbc", &text)?;
    Ok(format!(
        "{messages} messages and {signals} signals, protection included, are in {}.\n",
        out.join("couplet.dbc").display()
    ))
}

/// Writes the description of page, outputs and trace.
///
/// # Errors
/// A file that could not be written.
pub fn calibration(out: &Path) -> Result<String, Failure> {
    let text = description::description();
    let count = |what: &str| text.matches(&format!("/begin {what} ")).count();
    let told = format!(
        "{} characteristics and {} measurements are in {}.\n",
        count("CHARACTERISTIC"),
        count("MEASUREMENT"),
        out.join("couplet.a2l").display()
    );
    make_place(out)?;
    write_page(out, "couplet.a2l", &text)?;
    Ok(told)
}

/// Writes random frames with what they say.
///
/// # Errors
/// A file that could not be written.
pub fn frames(out: &Path, count: u32, seed: u64) -> Result<String, Failure> {
    let mut text = String::new();
    for index in 0..u64::from(count) {
        text += &sample::line(seed, index);
        text.push('\n');
    }
    make_place(out)?;
    write_page(out, "frames.jsonl", &text)?;
    Ok(format!(
        "{count} invented frames are in {}.\n",
        out.join("frames.jsonl").display()
    ))
}
