//! Recordings in open formats: MDF 4.10, CSV, Parquet.
//!
//! | format | written | read |
//! |---|---|---|
//! | MDF 4.10 (ASAM) | [`mdf::MdfWriter`], streaming, one data group for each rate | [`mdf::read`]: plain and compressed data, lists; the rest is refused by name |
//! | CSV | [`csv::CsvWriter`] | [`csv::read`], errors with line and column |
//! | Parquet | [`parquet::ParquetWriter`], one file for each rate | not read |
//!
//! Writers take rows and keep a bounded buffer. Readers check every length against the size of the file before anything is
//! allocated, and never panic whatever the bytes. [`kept::Kept`] writes a file whole or not at all. No command line.
#![forbid(unsafe_code)]

use std::io::{self, BufWriter};
use std::path::{Path, PathBuf};

use couplet_sim::record::recording::{Group, Recording};

pub mod csv;
pub mod kept;
pub mod mdf;
pub mod parquet;

/// Name, unit and meaning of one column.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Column {
    /// Name.
    pub name: String,
    /// Unit, empty or `-` for a pure number.
    pub unit: String,
    /// Meaning and sign, may be empty.
    pub comment: String,
}

impl Column {
    /// A column.
    pub fn new(name: &str, unit: &str, comment: &str) -> Self {
        Self {
            name: name.to_owned(),
            unit: unit.to_owned(),
            comment: comment.to_owned(),
        }
    }
}

/// Columns that share their times.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sheet {
    /// Name of the group.
    pub name: String,
    /// Its columns besides time.
    pub columns: Vec<Column>,
}

impl Sheet {
    /// The columns of a group.
    pub fn of(group: &Group) -> Self {
        let column = |signal: &couplet_sim::record::recording::Signal| {
            Column::new(&signal.name, &signal.unit, &signal.comment)
        };
        Self {
            name: group.name.clone(),
            columns: group.signals.iter().map(column).collect(),
        }
    }
}

/// Forms of measurement files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// ASAM MDF 4.10: all rates in one file.
    Mdf,
    /// Comma-separated text: a file for each group.
    Csv,
    /// Apache Parquet: a file for each group.
    Parquet,
}

/// Writes a recording as `STEM.mf4`, or as `STEM-GROUP.csv` or `.parquet` for each group; each file whole or not at all.
///
/// # Errors
/// The file and what the operating system says.
pub fn write(
    recording: &Recording,
    form: Form,
    folder: &Path,
    stem: &str,
) -> Result<Vec<PathBuf>, (PathBuf, io::Error)> {
    let mut written = Vec::new();
    let mut one = |name: String, fill: &dyn Fn(Out) -> io::Result<Out>| {
        let path = folder.join(name);
        let done = kept::Kept::create(&path).and_then(|(kept, out)| kept.keep(fill(out)?));
        match done {
            Ok(()) => {
                written.push(path);
                Ok(())
            }
            Err(error) => Err((path, error)),
        }
    };
    if form == Form::Mdf {
        one(format!("{stem}.mf4"), &|out| mdf_of(recording, out))?;
        return Ok(written);
    }
    for group in &recording.groups {
        let sheet = Sheet::of(group);
        let name = |ending: &str| format!("{stem}-{}.{ending}", group.name);
        if form == Form::Csv {
            one(name("csv"), &|out| {
                let mut writer = csv::CsvWriter::begin(out, &sheet)?;
                rows(group, |time_s, row| writer.push(time_s, row))?;
                writer.finish()
            })?;
        } else {
            one(name("parquet"), &|out| {
                let mut writer = parquet::ParquetWriter::begin(out, &sheet)?;
                rows(group, |time_s, row| writer.push(time_s, row))?;
                writer.finish()
            })?;
        }
    }
    Ok(written)
}

type Out = BufWriter<std::fs::File>;

fn mdf_of(recording: &Recording, out: Out) -> io::Result<Out> {
    let sheets: Vec<Sheet> = recording.groups.iter().map(Sheet::of).collect();
    let mut writer = mdf::MdfWriter::begin(out, &recording.comment, 0, &sheets)?;
    for (index, group) in recording.groups.iter().enumerate() {
        rows(group, |time_s, row| writer.push(index, time_s, row))?;
    }
    writer.finish()
}

/// Calls `push` with every row of a group.
///
/// # Errors
/// Those of `push`.
pub fn rows(group: &Group, mut push: impl FnMut(f64, &[f32]) -> io::Result<()>) -> io::Result<()> {
    let mut row = Vec::with_capacity(group.signals.len());
    for (index, time_s) in group.time_s.iter().enumerate() {
        row.clear();
        let values = group.signals.iter().map(|signal| signal.values.get(index));
        row.extend(values.map(|value| value.copied().unwrap_or(f64::NAN) as f32));
        push(*time_s, &row)?;
    }
    Ok(())
}
