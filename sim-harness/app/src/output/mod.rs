//! What a bench session leaves behind: report, summary, one CSV per run.
//!
//! Every file is first written under a temporary name in the same folder; only when all are complete are they renamed.
//! A session that is killed while writing leaves earlier results whole. No wall clock, no path and no hash order goes
//! into a file, so two sessions write the same bytes.

mod csv;
pub mod number;
mod summary;
pub mod text;

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use couplet_sim::campaign::Spread;
use couplet_sim::prove::{LayoutTable, Row};
use couplet_sim::run::RunResult;
use couplet_sim::scenario::{Scenario, layout_name};

use crate::failure::Failure;
use crate::report;

/// What must be said beside every result.
pub const CAUTIONS: [&str; 5] = [
    "Reference implementation: simulation results, not measurements.",
    "Sensors are modelled with noise, steps, delay and loss of invented size; one seed per run.",
    "Not certified.",
    "Not for use on the road without a functional-safety process.",
    "All demo data (car, roads, scenarios, settings) is invented.",
];

/// One finished run under the name its files carry.
pub struct Labelled<'a> {
    /// Unique within the session: scenario, axle, setting.
    pub label: String,
    /// What was driven.
    pub scenario: &'a Scenario,
    /// Name of the setting.
    pub setting: &'a str,
    /// What came of it.
    pub result: &'a RunResult,
}

impl<'a> Labelled<'a> {
    /// Labels runs; a label that is taken gets a number.
    pub fn all(runs: impl Iterator<Item = (&'a Scenario, &'a str, &'a RunResult)>) -> Vec<Self> {
        let mut labelled: Vec<Self> = Vec::new();
        for (scenario, setting, result) in runs {
            let mut stem = scenario.name.clone();
            for part in [layout_name(scenario.layout), setting] {
                if !format!("-{stem}-").contains(&format!("-{part}-")) {
                    stem = format!("{stem}-{part}");
                }
            }
            let stem: String = stem
                .chars()
                .map(|c| {
                    if c.is_ascii_alphanumeric() || c == '-' || c == '_' {
                        c
                    } else {
                        '-'
                    }
                })
                .collect();
            let taken = |label: &str| labelled.iter().any(|run| run.label == label);
            let mut label = stem.clone();
            let mut count = 2;
            while taken(&label) {
                label = format!("{stem}-{count}");
                count += 1;
            }
            labelled.push(Self {
                label,
                scenario,
                setting,
                result,
            });
        }
        labelled
    }

    /// Name of the run's CSV file.
    pub fn csv_name(&self) -> String {
        format!("{}.csv", self.label)
    }
}

/// What a session found; parts it did not ask for are empty.
#[derive(Clone, Copy, Default)]
pub struct Found<'a> {
    /// Requirements.
    pub rows: &'a [Row],
    /// Single runs.
    pub runs: &'a [Labelled<'a>],
    /// Campaigns.
    pub spreads: &'a [Spread],
    /// Comparison of the five axles.
    pub layouts: &'a [LayoutTable],
}

/// Makes the folder of the results and sees that it can be written to, before anything is run.
///
/// # Errors
/// [`Failure::NoPlace`].
pub fn make_place(out: &Path) -> Result<(), Failure> {
    let probe = out.join(format!(".place.{}.tmp", std::process::id()));
    fs::create_dir_all(out)
        .and_then(|()| fs::write(&probe, b""))
        .and_then(|()| fs::remove_file(&probe))
        .map_err(|error| Failure::NoPlace {
            path: out.display().to_string(),
            error,
            advice: "name a folder that can be written with --out",
        })
}

/// Sees that the folder of a file to be written exists and the file is no folder, before anything is run.
///
/// # Errors
/// [`Failure::NoPlace`].
pub fn see_place(file: &Path) -> Result<(), Failure> {
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let kind = if file.is_dir() {
        Err(std::io::ErrorKind::IsADirectory.into())
    } else {
        fs::metadata(folder).and_then(|found| {
            if found.is_dir() {
                Ok(())
            } else {
                Err(std::io::ErrorKind::NotADirectory.into())
            }
        })
    };
    kind.map_err(|error| Failure::NoPlace {
        path: file.display().to_string(),
        error,
        advice: "name a file in a folder that exists",
    })
}

/// Writes report, summary and CSV files into `out`; files of earlier sessions under other names stay.
///
/// # Errors
/// [`Failure::Write`] with the file concerned; files written earlier are whole.
pub fn write_results(out: &Path, found: &Found<'_>) -> Result<(), Failure> {
    fs::create_dir_all(out).map_err(|error| write_failure(out, error))?;
    let mut renames: Vec<(PathBuf, PathBuf)> = Vec::new();
    let written = (|| {
        for run in found.runs {
            stage(
                out,
                &run.csv_name(),
                csv::csv(&run.result.record),
                &mut renames,
            )?;
        }
        stage(out, "summary.json", summary::summary(found), &mut renames)?;
        stage(out, "report.html", report::report(found), &mut renames)
    })();
    if written.is_err() {
        discard(&renames);
        return written;
    }
    for (position, (temporary, target)) in renames.iter().enumerate() {
        if let Err(error) = fs::rename(temporary, target) {
            discard(&renames[position..]);
            return Err(write_failure(target, error));
        }
    }
    Ok(())
}

/// Writes one page into `out`, whole or not at all.
///
/// # Errors
/// [`Failure::Write`] with the file concerned.
pub fn write_page(out: &Path, name: &str, content: &str) -> Result<(), Failure> {
    write_bytes(out, name, content.as_bytes())
}

/// Writes one file into `out`, whole or not at all.
///
/// # Errors
/// [`Failure::Write`] with the file concerned.
pub fn write_bytes(out: &Path, name: &str, content: &[u8]) -> Result<(), Failure> {
    fs::create_dir_all(out).map_err(|error| write_failure(out, error))?;
    let mut renames = Vec::new();
    let written = stage(out, name, content, &mut renames).and_then(|()| {
        renames.iter().try_for_each(|(temporary, target)| {
            fs::rename(temporary, target).map_err(|error| write_failure(target, error))
        })
    });
    if written.is_err() {
        discard(&renames);
    }
    written
}

/// Writes the rows alone to `file`, whole or not at all.
///
/// # Errors
/// [`Failure::Write`] with the file concerned.
pub fn write_rows(file: &Path, rows: &[Row]) -> Result<(), Failure> {
    write_file(file, &summary::short_rows(rows))
}

/// Writes a text to `file`, whole or not at all.
///
/// # Errors
/// [`Failure::Write`] with the file concerned.
pub fn write_file(file: &Path, text: &str) -> Result<(), Failure> {
    let mut name = file.as_os_str().to_owned();
    name.push(".tmp");
    let temporary = PathBuf::from(name);
    fs::write(&temporary, text)
        .and_then(|()| fs::rename(&temporary, file))
        .map_err(|error| {
            let _ = fs::remove_file(&temporary);
            write_failure(file, error)
        })
}

/// Removes temporary files, best effort: the error that led here is the one worth reporting.
fn discard(renames: &[(PathBuf, PathBuf)]) {
    for (temporary, _) in renames {
        let _ = fs::remove_file(temporary);
    }
}

fn stage(
    out: &Path,
    name: &str,
    content: impl AsRef<[u8]>,
    renames: &mut Vec<(PathBuf, PathBuf)>,
) -> Result<(), Failure> {
    let temporary = out.join(format!(".{name}.{}.tmp", std::process::id()));
    renames.push((temporary.clone(), out.join(name)));
    let mut file =
        fs::File::create(&temporary).map_err(|error| write_failure(&temporary, error))?;
    file.write_all(content.as_ref())
        .map_err(|error| write_failure(&temporary, error))?;
    file.sync_all()
        .map_err(|error| write_failure(&temporary, error))
}

fn write_failure(path: &Path, error: std::io::Error) -> Failure {
    Failure::Write {
        path: path.display().to_string(),
        error,
    }
}
