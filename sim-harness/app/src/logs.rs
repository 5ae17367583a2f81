//! Recordings of any form that can be read, by the ending of their names.

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};

use couplet_controller::Period;
use couplet_exchange::{csv, mdf};
use couplet_network::foreign::{self, Database};
use couplet_network::{LogError, Replay};
use couplet_sim::record::recording::Recording;
use couplet_sim::replay::drive::{exact_mapping, law_group};
use couplet_sim::replay::mapping::Mapping;

use crate::failure::Refusal;

/// Endings that are read.
const ENDINGS: &str = ".mf4 or .mdf (ASAM MDF 4), .csv (header `time [s],name [unit]`), .txt (log of the bus by couplet drive --bus), .log or .txt with --dbc FILE (frames of another bus)";
/// Largest database that is read, bytes.
const LARGEST_DATABASE: u64 = 64 << 20;

/// A recording and what was left out of it.
pub struct Log {
    /// What it is called in messages.
    pub file: String,
    /// Its name without folder and ending.
    pub name: String,
    /// What it holds.
    pub recording: Recording,
    /// Channels that could not be read, in words.
    pub notes: Vec<String>,
    /// The mapping a recording brings along: frames of the bus say themselves what they are.
    pub own: Option<Mapping>,
}

/// A database of a bus that is not this project's, with the name it goes by.
pub struct Foreign {
    database: Database,
    file: String,
}

/// Reads a database of a bus.
///
/// # Errors
/// The first thing wrong with it, with line and column.
pub fn foreign(path: &Path) -> Result<Foreign, Vec<Refusal>> {
    let file = path.display().to_string();
    let refused = |line, column, what, allowed: String| {
        vec![Refusal {
            file: file.clone(),
            line,
            column,
            what,
            allowed,
            advice: "correct the database at this place".into(),
        }]
    };
    let largest = format!("a CAN database of up to {LARGEST_DATABASE} bytes");
    let mut bytes = Vec::new();
    let read = File::open(path).and_then(|from| {
        let mut from = from.take(LARGEST_DATABASE + 1);
        from.read_to_end(&mut bytes)
    });
    if let Err(error) = read {
        return Err(refused(1, 1, error.to_string(), largest));
    }
    if bytes.len() as u64 > LARGEST_DATABASE {
        return Err(refused(1, 1, "it is larger".into(), largest));
    }
    let database = foreign::read(&bytes)
        .map_err(|wrong| refused(wrong.line, wrong.column, wrong.what, wrong.allowed))?;
    Ok(Foreign { database, file })
}

/// Opens a recording; frames of another bus need their database.
///
/// # Errors
/// What is wrong and where: byte of an MDF file, line and column of a text.
pub fn open(path: &Path, foreign: Option<&Foreign>) -> Result<Log, Vec<Refusal>> {
    let file = path.display().to_string();
    let refused = |line: usize, column: usize, what: String| {
        vec![Refusal {
            file: file.clone(),
            line,
            column,
            what,
            allowed: ENDINGS.into(),
            advice: "repair the file, or record it again".into(),
        }]
    };
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    let source = File::open(path).map_err(|error| refused(1, 1, error.to_string()))?;
    let source = BufReader::new(source);
    let mut own = None;
    let (recording, notes) = match ending.to_ascii_lowercase().as_str() {
        "mf4" | "mdf" => {
            let found = mdf::read(source, &mdf::Limits::default(), &|_| true)
                .map_err(|wrong| refused(1, 1, wrong.to_string()))?;
            let notes = found.skipped.iter().map(|one| {
                let (name, at, why) = (&one.name, one.at, one.why);
                format!("{file}: byte {at}: `{name}` is not read: {why}")
            });
            (found.recording, notes.collect())
        }
        "csv" => {
            let read = csv::read(source, mdf::Limits::default().values_bytes)
                .map_err(|wrong| refused(wrong.line, wrong.column, wrong.to_string()))?;
            (read, Vec::new())
        }
        "txt" | "log" if let Some(foreign) = foreign => {
            let most = mdf::Limits::default().values_bytes;
            let found = foreign::decoded(source, &foreign.database, most)
                .map_err(|wrong| refused(wrong.line, wrong.column, wrong.what))?;
            let left_out = foreign.database.left_out.iter();
            let mut notes: Vec<String> = left_out
                .map(|one| {
                    let (line, column, what) = (one.line, one.column, &one.what);
                    format!("{}:{line}:{column}: left out: {what}", foreign.file)
                })
                .collect();
            notes.extend(found.notes.iter().map(|note| format!("{file}: {note}")));
            (found.recording, notes)
        }
        "log" => {
            let what = "frames of another bus need its database".to_owned();
            let mut refusals = refused(1, 1, what);
            for refusal in &mut refusals {
                refusal.advice = "name it with --dbc FILE".into();
            }
            return Err(refusals);
        }
        "txt" => {
            let wrong = |error: LogError| refused(error.line, error.column, error.what);
            let mut replay = Replay::open(source).map_err(wrong)?;
            let head = replay.head().clone();
            if head.period != Period::default() {
                let what = format!("its control period is {} us", head.period.microseconds());
                return Err(refused(1, 1, what));
            }
            let told = replay
                .by_ref()
                .map(|step| step.map(|step| step.told))
                .collect::<Result<Vec<_>, _>>()
                .map_err(wrong)?;
            own = Some(exact_mapping(head.start_degc, &[]));
            let period_s = f64::from(head.period.microseconds()) / 1.0e6;
            let recording = Recording {
                comment: head.name,
                groups: vec![law_group(&told, &[], period_s)],
            };
            (recording, Vec::new())
        }
        _ => {
            return Err(refused(
                1,
                1,
                format!("unknown kind of recording `.{ending}`"),
            ));
        }
    };
    Ok(Log {
        name: path
            .file_stem()
            .map_or_else(|| file.clone(), |stem| stem.to_string_lossy().into_owned()),
        file,
        recording,
        notes,
        own,
    })
}

/// Files of recordings among the paths; of a folder all that lie in it, by name.
///
/// # Errors
/// A folder that cannot be read or holds none.
pub fn files(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Vec<Refusal>> {
    let mut found = Vec::new();
    let mut refusals = Vec::new();
    for path in paths {
        if !path.is_dir() {
            found.push(path.clone());
            continue;
        }
        let entries = std::fs::read_dir(path).map(|entries| {
            let mut inside: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
            inside.retain(|path| {
                let ending = path.extension().unwrap_or_default().to_string_lossy();
                ["mf4", "mdf", "csv", "txt", "log"].contains(&ending.to_ascii_lowercase().as_str())
            });
            inside.sort();
            inside
        });
        match entries {
            Ok(inside) if !inside.is_empty() => found.extend(inside),
            other => refusals.push(Refusal::on_command_line(
                match other {
                    Err(error) => format!("{}: {error}", path.display()),
                    Ok(_) => format!("{} holds no recording", path.display()),
                },
                ENDINGS.into(),
                "name recordings, or a folder with some".into(),
            )),
        }
    }
    if refusals.is_empty() {
        Ok(found)
    } else {
        Err(refusals)
    }
}
