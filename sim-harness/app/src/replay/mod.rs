//! `couplet replay LOG... --map MAP.toml`: recordings through the law in open loop.
//!
//! Every log and the mapping are read and checked first; then each variant of the law is stepped over each log; then files are
//! written and the table is told. Signals that contradict each other stop it, unless it is told to go on as mapped. Nothing
//! comes back to the car of the recording: see `couplet_sim::replay`.

mod proposal;
mod table;

pub use proposal::{propose, refusals};

use std::path::{Path, PathBuf};

use couplet_controller::{Outputs, Period, RawPage};
use couplet_exchange as exchange;
use couplet_sim::plant::Vehicle;
use couplet_sim::record::recording::{Group, Recording, Signal};
use couplet_sim::replay::evidence::{Car, Signals};
use couplet_sim::replay::mapping::Mapping;
use couplet_sim::replay::physics::judge;
use couplet_sim::replay::told::{Steps, Unfit, commanded, steps, told};
use couplet_sim::replay::{replayed, series};
use couplet_sim::run::law::Law;

use crate::bench::{Done, keep};
use crate::command_line::{Command, Kind};
use crate::failure::{Failure, Refusal};
use crate::files::Source;
use crate::logs::{self, Foreign, Log};
use crate::output::make_place;
use crate::parallel::{Progress, in_parallel};

/// What is asked.
pub struct Question<'a> {
    /// Folder of the results.
    pub out: &'a Path,
    /// Recordings and folders of recordings.
    pub logs: &'a [PathBuf],
    /// Mapping file; none where one is to be proposed.
    pub map: Option<&'a Path>,
    /// Database of another bus.
    pub dbc: Option<&'a Path>,
    /// Setting of the first variant.
    pub setting: Option<&'a Path>,
    /// Law of the first variant.
    pub law: &'a str,
    /// Settings of further variants.
    pub what_if: &'a [PathBuf],
    /// Laws of further variants.
    pub against_law: &'a [String],
    /// Folder with what an earlier replay of the same logs wrote.
    pub earlier: Option<&'a Path>,
    /// Largest difference of a torque that is no miss, N m.
    pub allowed_nm: Option<f64>,
    /// Car whose sizes the signals are judged with.
    pub vehicle: Option<&'a Path>,
    /// Whether to go on although the signals contradict each other.
    pub as_mapped: bool,
}

/// Carries out the command: a proposal where one is asked for, else a replay.
///
/// # Errors
/// Those of [`propose`] and [`replay`].
pub fn asked(out: &Path, command: &Command) -> Result<Done, Failure> {
    let Command::Replay {
        logs,
        map,
        dbc,
        suggest,
        as_mapped,
        vehicle,
        setting,
        law,
        what_if,
        against_law,
        earlier,
        allowed,
    } = command
    else {
        let name = "replay".to_owned();
        return Err(Failure::Run { name });
    };
    if *suggest {
        return propose(logs, dbc.as_deref(), vehicle.as_deref());
    }
    replay(&Question {
        out,
        logs,
        map: map.as_deref(),
        dbc: dbc.as_deref(),
        vehicle: vehicle.as_deref(),
        as_mapped: *as_mapped,
        setting: setting.as_deref(),
        law,
        what_if,
        against_law,
        earlier: earlier.as_deref(),
        allowed_nm: *allowed,
    })
}

/// One law with one calibration.
pub struct Variant {
    /// Name in the table.
    pub name: String,
    page: RawPage,
    law: Law,
}

/// What came of one log.
pub struct Replayed {
    /// Name of the log.
    pub name: String,
    /// Steps of the law.
    pub steps: Steps,
    /// By variant, the first is the one the others are held against.
    pub outputs: Vec<Vec<Outputs>>,
    /// Recorded commands: index in the mapping, values by step.
    pub commanded: Vec<Vec<f64>>,
    /// What an earlier replay wrote, where there is one.
    pub earlier: Option<Recording>,
    /// What was left out or lost.
    pub notes: Vec<String>,
}

/// Reads, replays, writes and tells.
///
/// # Errors
/// Refused files, signals that contradict each other, a file that could not be written.
pub fn replay(question: &Question<'_>) -> Result<Done, Failure> {
    let mut refusals = Vec::new();
    let variants = keep(variants(question), &mut refusals);
    let map = keep(question.map.map(mapping_source).transpose(), &mut refusals);
    let car = keep(car(question.vehicle), &mut refusals);
    let foreign = keep(question.dbc.map(logs::foreign).transpose(), &mut refusals);
    let files = keep(logs::files(question.logs), &mut refusals);
    let (Some(variants), Some(map), Some(car), Some(foreign), Some(files)) =
        (variants, map, car, foreign, files)
    else {
        return Err(Failure::Refused(refusals));
    };
    make_place(question.out)?;
    let progress = Progress::new(files.len(), "log", 1);
    let read = (map.as_ref(), foreign.as_ref());
    let work = |index: usize| one(&files[index], read, &car, &variants, question);
    let done = in_parallel(files.len(), work, |index, _| {
        progress.done(&files[index].display().to_string());
    });
    progress.finish();
    let mut replays = Vec::new();
    let mut mapping = None;
    for (file, one) in files.iter().zip(done) {
        match one {
            Some(Ok((replayed, own))) => {
                replays.push(replayed);
                mapping = Some(own);
            }
            Some(Err(mut found)) => refusals.append(&mut found),
            None => {
                let name = file.display().to_string();
                return Err(Failure::Run { name });
            }
        }
    }
    let (Some(mapping), true) = (mapping, refusals.is_empty()) else {
        return Err(Failure::Refused(refusals));
    };
    for one in &replays {
        let recording = recording_of(one, &variants);
        let stem = format!("{}-replay", one.name);
        exchange::write(&recording, exchange::Form::Mdf, question.out, &stem).map_err(
            |(path, error)| Failure::Write {
                path: path.display().to_string(),
                error,
            },
        )?;
    }
    table::told(question, &variants, &mapping, &replays)
}

/// The mapping file as text.
///
/// # Errors
/// A file that cannot be read.
pub fn mapping_source(path: &Path) -> Result<Source, Vec<Refusal>> {
    Source::read_text(path).map(|text| Source::of_text(&path.display().to_string(), &text))
}

/// Sizes of the car of a vehicle file.
fn car(vehicle: Option<&Path>) -> Result<Car, Vec<Refusal>> {
    vehicle_of(vehicle).map(|vehicle| Car::of(&vehicle))
}

/// The car of a vehicle file, or the demo car.
///
/// # Errors
/// Every refusal of the file.
pub fn vehicle_of(path: Option<&Path>) -> Result<Vehicle, Vec<Refusal>> {
    match path {
        Some(path) => Source::open(Kind::Vehicle, path)?.vehicle(),
        None => Ok(Vehicle::default()),
    }
}

fn variants(question: &Question<'_>) -> Result<Vec<Variant>, Vec<Refusal>> {
    let mut refusals = Vec::new();
    let mut setting = |path: Option<&Path>| match path {
        None => Some((RawPage::default(), "defaults".to_owned())),
        Some(path) => keep(
            Source::open(Kind::Setting, path)
                .and_then(|source| source.setting().map(|page| (page, source.name))),
            &mut refusals,
        ),
    };
    let first = setting(question.setting);
    let further: Vec<_> = question
        .what_if
        .iter()
        .map(|path| setting(Some(path)))
        .collect();
    let law = keep(law_of(question.law), &mut refusals);
    let laws: Vec<_> = question
        .against_law
        .iter()
        .map(|name| keep(law_of(name), &mut refusals))
        .collect();
    let (Some((page, name)), Some(law), true) = (first, law, refusals.is_empty()) else {
        return Err(refusals);
    };
    let named = |name: &str, law: Law| {
        if law == Law::Exact {
            name.to_owned()
        } else {
            format!("{name}, {}", law.name())
        }
    };
    let mut variants = vec![Variant {
        name: named(&name, law),
        page,
        law,
    }];
    for (page, name) in further.into_iter().flatten() {
        let name = named(&name, law);
        variants.push(Variant { name, page, law });
    }
    for law in laws.into_iter().flatten() {
        let name = named(&name, law);
        variants.push(Variant { name, page, law });
    }
    Ok(variants)
}

fn law_of(name: &str) -> Result<Law, Vec<Refusal>> {
    let words = |law: Law| law.name().replace(' ', "-");
    let known: Vec<String> = Law::ALL.into_iter().map(words).collect();
    Law::ALL
        .into_iter()
        .find(|law| words(*law) == name)
        .ok_or_else(|| {
            vec![Refusal::on_command_line(
                format!("there is no law `{name}`"),
                known.join(", "),
                "use an allowed name".into(),
            )]
        })
}

fn one(
    file: &Path,
    (map, foreign): (Option<&Source>, Option<&Foreign>),
    car: &Car,
    variants: &[Variant],
    question: &Question<'_>,
) -> Result<(Replayed, Mapping), Vec<Refusal>> {
    let log = logs::open(file, foreign)?;
    let mapping = match (map, &log.own) {
        (Some(map), _) => map.mapping(&log.recording)?,
        (None, Some(own)) => own.clone(),
        (None, None) => {
            return Err(vec![Refusal::on_command_line(
                format!("no mapping was named for {}", log.file),
                "--map FILE".into(),
                "name one, or let couplet replay LOG --suggest propose one".into(),
            )]);
        }
    };
    let unfit = |unfit: Unfit| vec![unfit_refusal(&log, &unfit)];
    let period = Period::default();
    let steps = steps(&log.recording, &mapping, period).map_err(unfit)?;
    let inputs = told(&log.recording, &mapping, &steps).map_err(unfit)?;
    let commanded = mapping
        .commands
        .iter()
        .map(|command| commanded(&log.recording, command, &steps))
        .collect::<Result<_, _>>()
        .map_err(unfit)?;
    let mut notes = log.notes.clone();
    let judgement = judge(&Signals::of(&inputs, steps.period_s), car);
    let against = proposal::refusals(&log, map, &judgement);
    if question.as_mapped {
        let all = against.iter();
        notes.extend(all.map(|one| format!("REPLAYED AS MAPPED, although {one}")));
    } else if !against.is_empty() {
        return Err(against);
    }
    if !judgement.untold.is_empty() {
        notes.push(format!(
            "{}: {} comparisons of signals agree, {} could not be told (too little movement, or a signal is missing)",
            log.file,
            judgement.agrees.len(),
            judgement.untold.len()
        ));
    }
    let outputs = variants
        .iter()
        .map(|one| replayed(&inputs, &one.page, one.law, period, mapping.start_degc))
        .collect();
    let earlier = match question.earlier {
        None => None,
        Some(folder) => {
            let path = folder.join(format!("{}-replay.mf4", log.name));
            Some(logs::open(&path, None)?.recording)
        }
    };
    let lost = mapping.unmapped();
    if !lost.is_empty() {
        notes.push(format!(
            "{}: lost throughout, because the mapping has no row for them: {}",
            log.file,
            lost.join(", ")
        ));
    }
    let replayed = Replayed {
        name: log.name,
        steps,
        outputs,
        commanded,
        earlier,
        notes,
    };
    Ok((replayed, mapping))
}

/// Why a mapping and a recording do not fit, as a refusal.
pub fn unfit_refusal(log: &Log, unfit: &Unfit) -> Refusal {
    let (what, advice) = match unfit {
        Unfit::NoChannel(name) => (
            format!("the recording has no channel `{name}`"),
            "name one of its channels in the mapping",
        ),
        Unfit::NoSample => (
            "no channel of the mapping has a sample".to_owned(),
            "record some time",
        ),
        Unfit::TooLong => (
            "the recording is too long for one replay".to_owned(),
            "cut it into pieces",
        ),
    };
    Refusal {
        file: log.file.clone(),
        line: 1,
        column: 1,
        what,
        allowed: "a recording of up to eight hours".into(),
        advice: advice.into(),
    }
}

/// What the variants gave, as a recording; the names of the first are plain, those of the others carry the variant.
fn recording_of(one: &Replayed, variants: &[Variant]) -> Recording {
    let mut signals = Vec::new();
    for (index, (variant, outputs)) in variants.iter().zip(&one.outputs).enumerate() {
        for signal in couplet_controller::signal::OUTPUT_SIGNALS {
            let name = if index == 0 {
                format!("output.{}", signal.name)
            } else {
                format!("output.{}.{}", variant.name, signal.name)
            };
            signals.push(Signal {
                name,
                unit: signal.unit.to_owned(),
                comment: signal.meaning.to_owned(),
                values: series(outputs, signal).collect(),
            });
        }
    }
    let time_s = (0..one.steps.count).map(|step| one.steps.time_s(step));
    let names: Vec<&str> = variants.iter().map(|one| one.name.as_str()).collect();
    Recording {
        comment: format!(
            "{} replayed in open loop: {}. Reference implementation, not certified, not for use on the road.",
            one.name,
            names.join("; ")
        ),
        groups: vec![Group {
            name: "law".to_owned(),
            time_s: time_s.collect(),
            signals,
        }],
    }
}
