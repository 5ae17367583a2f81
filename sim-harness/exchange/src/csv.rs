//! Comma-separated text: a header `name [unit]`, time first, one row a sample.
//!
//! Numbers are written so that they read back to the bit. Read: the same, quoted names, empty cells as missing samples; every
//! error with line and column. Limits: a decimal point, commas between cells, lines of at most a mebibyte.

use std::fmt;
use std::io::{self, BufRead, Read, Write};

use couplet_sim::record::recording::{Group, Recording, Signal};

use crate::Sheet;

/// Longest line, bytes.
const LONGEST_LINE: u64 = 1 << 20;

/// A text being written.
#[derive(Debug)]
pub struct CsvWriter<W> {
    out: W,
    columns: usize,
}

impl<W: Write> CsvWriter<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn begin(mut out: W, sheet: &Sheet) -> io::Result<Self> {
        out.write_all(b"time [s]")?;
        for column in &sheet.columns {
            let cell = if column.unit.is_empty() {
                column.name.clone()
            } else {
                format!("{} [{}]", column.name, column.unit)
            };
            if cell.contains([',', '"', '\n', '\r']) {
                write!(out, ",\"{}\"", cell.replace('"', "\"\""))?;
            } else {
                write!(out, ",{cell}")?;
            }
        }
        out.write_all(b"\n")?;
        Ok(Self {
            out,
            columns: sheet.columns.len(),
        })
    }

    /// Adds one row; what is no number stays empty.
    ///
    /// # Errors
    /// What the operating system says.
    ///
    /// # Panics
    /// If the row does not hold one value per column.
    pub fn push(&mut self, time_s: f64, row: &[f32]) -> io::Result<()> {
        assert_eq!(row.len(), self.columns, "one value per column");
        write!(self.out, "{time_s}")?;
        for value in row {
            if value.is_nan() {
                self.out.write_all(b",")?;
            } else if *value == 0.0 || (1.0e-5..1.0e16).contains(&value.abs()) {
                write!(self.out, ",{value}")?;
            } else {
                write!(self.out, ",{value:e}")?;
            }
        }
        self.out.write_all(b"\n")
    }

    /// Gives the text back, complete.
    ///
    /// # Errors
    /// What the operating system says.
    pub fn finish(mut self) -> io::Result<W> {
        self.out.flush()?;
        Ok(self.out)
    }
}

/// Why a text cannot be read, and where.
#[derive(Debug)]
pub struct Unreadable {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong there.
    pub wrong: Wrong,
}

/// What can be wrong with a text.
#[derive(Debug)]
pub enum Wrong {
    /// Nothing in it.
    Empty,
    /// The first column is not time in seconds.
    NoTime(String),
    /// A column has no name, or two have the same.
    Name(String),
    /// A quote does not end.
    Quote,
    /// A cell that is no number.
    NotANumber(String),
    /// More or fewer cells than names.
    Cells {
        /// Names.
        named: usize,
        /// Cells.
        found: usize,
    },
    /// Time does not rise.
    TimeFalls(f64, f64),
    /// A line longer than a mebibyte, or no UTF-8.
    Line,
    /// More memory is needed than allowed.
    TooMuch(u64),
    /// The operating system could not read.
    System(io::Error),
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.wrong {
            Wrong::Empty => write!(f, "the file is empty"),
            Wrong::NoTime(found) => write!(f, "the first column is `{found}`, not `time [s]`"),
            Wrong::Name(name) => write!(f, "the name `{name}` is empty or taken twice"),
            Wrong::Quote => write!(f, "a quote that does not end"),
            Wrong::NotANumber(cell) => write!(f, "`{}` is no number", cell.escape_debug()),
            Wrong::Cells { named, found } => {
                write!(f, "{found} cells where the header names {named}")
            }
            Wrong::TimeFalls(from, to) => write!(f, "time goes from {from} s to {to} s"),
            Wrong::Line => write!(f, "a line that is no UTF-8 or longer than a mebibyte"),
            Wrong::TooMuch(allowed) => write!(f, "more than {allowed} bytes of memory are needed"),
            Wrong::System(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for Unreadable {}

/// Reads a text; `values_bytes` bounds the memory its values take.
///
/// # Errors
/// What is wrong, and where.
pub fn read(mut source: impl BufRead, values_bytes: u64) -> Result<Recording, Unreadable> {
    let mut line = String::new();
    if !next_line(&mut source, 1, &mut line)? {
        return Err(at(1, 1, Wrong::Empty));
    }
    let mut group = header(&line)?;
    let named = group.signals.len() + 1;
    let mut number = 1;
    let mut values = Vec::new();
    while next_line(&mut source, number + 1, &mut line)? {
        number += 1;
        let row = line.trim_end_matches(['\n', '\r']);
        if row.is_empty() {
            continue;
        }
        let taken = 8 * named as u64 * (group.time_s.len() as u64 + 1);
        if taken > values_bytes {
            return Err(at(number, 1, Wrong::TooMuch(values_bytes)));
        }
        let mut column = 1;
        values.clear();
        for cell in row.split(',') {
            let text = cell.trim();
            let value = if text.is_empty() {
                f64::NAN
            } else {
                text.parse::<f64>()
                    .map_err(|_| at(number, column, Wrong::NotANumber(text.to_owned())))?
            };
            values.push(value);
            column += cell.chars().count() + 1;
        }
        if values.len() != named {
            let found = values.len();
            return Err(at(number, column.max(2) - 1, Wrong::Cells { named, found }));
        }
        let before = group.time_s.last().copied();
        if !values[0].is_finite() {
            return Err(at(number, 1, Wrong::NotANumber(values[0].to_string())));
        }
        if let Some(before) = before.filter(|before| !(values[0] > *before)) {
            return Err(at(number, 1, Wrong::TimeFalls(before, values[0])));
        }
        group.time_s.push(values[0]);
        for (signal, value) in group.signals.iter_mut().zip(&values[1..]) {
            signal.values.push(*value);
        }
    }
    Ok(Recording {
        comment: String::new(),
        groups: vec![group],
    })
}

fn at(line: usize, column: usize, wrong: Wrong) -> Unreadable {
    Unreadable {
        line,
        column,
        wrong,
    }
}

fn next_line(
    source: &mut impl BufRead,
    number: usize,
    line: &mut String,
) -> Result<bool, Unreadable> {
    line.clear();
    match source.by_ref().take(LONGEST_LINE).read_line(line) {
        Ok(0) => Ok(false),
        Ok(count) if count as u64 == LONGEST_LINE => Err(at(number, 1, Wrong::Line)),
        Ok(_) => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::InvalidData => Err(at(number, 1, Wrong::Line)),
        Err(error) => Err(at(number, 1, Wrong::System(error))),
    }
}

fn header(line: &str) -> Result<Group, Unreadable> {
    let line = line
        .trim_start_matches('\u{feff}')
        .trim_end_matches(['\n', '\r']);
    let mut group = Group::default();
    let mut column = 1;
    let mut rest = line;
    let mut first = true;
    let mut known = std::collections::HashSet::new();
    loop {
        let (cell, width) = next_cell(rest).ok_or_else(|| at(1, column, Wrong::Quote))?;
        let (name, unit) = match cell
            .trim()
            .strip_suffix(']')
            .and_then(|c| c.rsplit_once('['))
        {
            Some((name, unit)) => (name.trim(), unit.trim()),
            None => (cell.trim(), ""),
        };
        if first {
            if !(name.eq_ignore_ascii_case("time") && matches!(unit, "s" | "")) {
                return Err(at(1, column, Wrong::NoTime(cell.trim().to_owned())));
            }
        } else if name.is_empty() || !known.insert(name.to_owned()) {
            return Err(at(1, column, Wrong::Name(name.to_owned())));
        } else {
            group.signals.push(Signal {
                name: name.to_owned(),
                unit: unit.to_owned(),
                ..Signal::default()
            });
        }
        first = false;
        column += rest.get(..width).unwrap_or_default().chars().count() + 1;
        match rest.get(width + 1..) {
            Some(more) => rest = more,
            None => return Ok(group),
        }
    }
}

/// The first cell, without its quotes, and its width in bytes; nothing if a quote does not end.
fn next_cell(rest: &str) -> Option<(String, usize)> {
    if !rest.starts_with('"') {
        let width = rest.find(',').unwrap_or(rest.len());
        return Some((rest[..width].to_owned(), width));
    }
    let mut cell = String::new();
    let mut letters = rest.char_indices().skip(1).peekable();
    while let Some((place, letter)) = letters.next() {
        if letter != '"' {
            cell.push(letter);
        } else if letters.peek().is_some_and(|(_, next)| *next == '"') {
            cell.push('"');
            letters.next();
        } else {
            let width = place + 1;
            let ends = rest[width..].is_empty() || rest[width..].starts_with(',');
            return ends.then_some((cell, width));
        }
    }
    None
}
