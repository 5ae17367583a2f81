//! A text log of frames as a recording: each message is a group with the times of its frames, each signal `Message.Signal`.
//!
//! ```text
//! couplet-frames 1
//! time_us id length data
//! 0 110 8 a400001e001e0000
//! 7 18fee6f1 4 00ff1122
//! end 2
//! ```
//!
//! Identifiers of 11 bits have three hexadecimal digits, those of 29 bits eight. Times in microseconds never fall; the first is time 0.
//! The project's own log of the bus is read as well, its head left aside. The last line counts the frames, so a log that was cut
//! off is refused. A value outside the database's range is not there: most databases mark an unknown value so; such values are
//! counted. End-to-end protection of a foreign bus is not checked.

use std::io::BufRead;

use couplet_sim::record::recording::{Group, Recording, Signal};

use super::{Database, Message, Said};
use crate::lines::{Columns, Lines, LogError, digits};
use crate::text_log;

/// First line of a log of frames of any bus.
pub const FIRST: &str = "couplet-frames 1";
/// Most lines of a head.
const LONGEST_HEAD: usize = 16;
/// Highest identifier of 29 bits.
const HIGHEST_EXTENDED: u64 = 0x1fff_ffff;

/// A log, decoded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Decoded {
    /// Messages that came.
    pub recording: Recording,
    /// What could not be decoded, in words with numbers.
    pub notes: Vec<String>,
}

/// What is counted of one message.
#[derive(Debug, Clone, Default)]
struct Counted {
    short: u64,
    /// By signal.
    outside: Vec<u64>,
}

/// Decodes a log; `most_bytes` is what times and values may take.
///
/// # Errors
/// The first thing wrong with the log, with line and column.
pub fn decoded<R: BufRead>(
    from: R,
    database: &Database,
    most_bytes: u64,
) -> Result<Decoded, LogError> {
    let mut lines = Lines::of(from);
    head(&mut lines)?;
    let mut groups: Vec<Group> = database.messages.iter().map(empty_group).collect();
    let mut counted: Vec<Counted> = database.messages.iter().map(nothing_counted).collect();
    let (mut first_us, mut before_us, mut frames, mut unknown) = (None, 0, 0_u64, 0_u64);
    let mut left = most_bytes / 8;
    while let Some((time_us, id, extended, data)) = frame(&mut lines, before_us, frames)? {
        before_us = time_us;
        frames += 1;
        let first_us = *first_us.get_or_insert(time_us);
        let Some(place) = database.place(id, extended) else {
            unknown += 1;
            continue;
        };
        let (message, group) = (&database.messages[place], &mut groups[place]);
        let Some(rest) = left.checked_sub(1 + message.signals.len() as u64) else {
            let what = format!("more than {most_bytes} bytes of values");
            return Err(lines.wrong(1, what, "a shorter log".into()));
        };
        left = rest;
        group.time_s.push((time_us - first_us) as f64 / 1.0e6);
        let mut short = false;
        let said = message.said(&data).zip(&message.signals);
        for (index, (said, signal)) in said.enumerate() {
            let value = match said {
                Said::Value(value) => {
                    let (low, high) = signal.range.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
                    // Half a step of room: range and step need not be multiples.
                    let room = 0.5 * signal.factor.abs();
                    let inside = value >= low - room && value <= high + room;
                    counted[place].outside[index] += u64::from(!inside);
                    if inside { value } else { f64::NAN }
                }
                Said::Elsewhere => f64::NAN,
                Said::Short => {
                    short = true;
                    f64::NAN
                }
            };
            group.signals[index].values.push(value);
        }
        counted[place].short += u64::from(short);
    }
    let notes = notes(database, &groups, &counted, unknown, frames);
    groups.retain(|group| !group.time_s.is_empty());
    Ok(Decoded {
        recording: Recording {
            comment: "frames of a bus".to_owned(),
            groups,
        },
        notes,
    })
}

fn empty_group(message: &Message) -> Group {
    let signals = message.signals.iter().map(|signal| Signal {
        name: format!("{}.{}", message.name, signal.name),
        unit: signal.unit.clone(),
        ..Signal::default()
    });
    Group {
        name: message.name.clone(),
        signals: signals.collect(),
        ..Group::default()
    }
}

fn nothing_counted(message: &Message) -> Counted {
    Counted {
        short: 0,
        outside: vec![0; message.signals.len()],
    }
}

fn notes(
    database: &Database,
    groups: &[Group],
    counted: &[Counted],
    unknown: u64,
    frames: u64,
) -> Vec<String> {
    let mut notes = Vec::new();
    if unknown > 0 {
        notes.push(format!(
            "{unknown} of {frames} frames have an identifier the database does not know"
        ));
    }
    for ((message, group), counted) in database.messages.iter().zip(groups).zip(counted) {
        let (name, came) = (&message.name, group.time_s.len());
        if counted.short > 0 {
            let (short, length) = (counted.short, message.length);
            notes.push(format!(
                "{short} of {came} frames of `{name}` are too short for some of its signals: {length} bytes in the database"
            ));
        }
        for (signal, outside) in message.signals.iter().zip(&counted.outside) {
            if let (1.., Some((low, high))) = (*outside, signal.range) {
                notes.push(format!(
                    "{outside} of {came} values of `{name}.{}` lie outside the database's range {low} to {high} {} and count as not there",
                    signal.name, signal.unit
                ));
            }
        }
    }
    notes
}

/// Reads up to the names of the columns.
fn head<R: BufRead>(lines: &mut Lines<R>) -> Result<(), LogError> {
    let wanted = format!("the line `{FIRST}` or `{}`", text_log::FIRST);
    lines.next_line(&wanted)?;
    if lines.text != FIRST && lines.text != text_log::FIRST {
        let what = format!("`{}`", lines.text.escape_debug());
        return Err(lines.wrong(1, what, wanted));
    }
    let wanted = format!("the line `{}`", text_log::COLUMNS);
    for _ in 0..LONGEST_HEAD {
        lines.next_line(&wanted)?;
        if lines.text == text_log::COLUMNS {
            return Ok(());
        }
    }
    let what = format!("a head of more than {LONGEST_HEAD} lines");
    Err(lines.wrong(1, what, wanted))
}

type Frame = (u64, u32, bool, Vec<u8>);

/// The next frame; none after the last.
fn frame<R: BufRead>(
    lines: &mut Lines<R>,
    before_us: u64,
    frames: u64,
) -> Result<Option<Frame>, LogError> {
    lines.next_line("a frame, or `end` and the number of frames")?;
    if let Some(count) = lines.text.strip_prefix("end ") {
        if count.parse() != Ok(frames) {
            let what = format!("`end {}` after {frames} frames", count.escape_debug());
            return Err(lines.wrong(5, what, "the number of frames".into()));
        }
        return match lines.read_line()? {
            false => Ok(None),
            true => Err(lines.wrong(1, "a line after the end".into(), "nothing".into())),
        };
    }
    let found = columns(&lines.text, before_us);
    found
        .map(Some)
        .map_err(|(at, what, allowed)| lines.wrong(at, what, allowed.into()))
}

fn columns(text: &str, before_us: u64) -> Result<Frame, (usize, String, &'static str)> {
    let mut columns = Columns { text, at: 0 };
    let mut next = |name: &str, allowed: &'static str| {
        let (at, word) = columns.next();
        let column = 1 + text.get(..at).unwrap_or_default().chars().count();
        let what = if word.is_empty() {
            format!("no {name}")
        } else {
            format!("`{}` is no {name}", word.escape_debug())
        };
        (word, (column, what, allowed))
    };
    let (time, no_time) = next("time_us", "microseconds, not before the frame above");
    let (id, no_id) = next("id", "000 to 7ff or 00000000 to 1fffffff, hexadecimal");
    let (length, no_length) = next("length", "0 to 64");
    let (data, no_data) = next(
        "data",
        "two hexadecimal digits a byte, as many bytes as the length says, `-` for none",
    );
    let (more, too_much) = next("end of line", "four columns");
    let time_us = digits(time, 10)
        .filter(|time_us| *time_us >= before_us)
        .ok_or(no_time)?;
    let extended = id.len() == 8;
    let most = if extended { HIGHEST_EXTENDED } else { 0x7ff };
    let number = digits(id, 16)
        .filter(|number| (extended || id.len() == 3) && *number <= most)
        .ok_or(no_id)?;
    let length = digits(length, 10)
        .filter(|length| *length <= 64)
        .ok_or(no_length)?;
    let hex = if data == "-" { "" } else { data };
    if data.is_empty() || hex.len() as u64 != 2 * length {
        return Err(no_data);
    }
    let bytes: Option<Vec<u8>> = (0..length as usize)
        .map(|place| {
            let two = hex.get(2 * place..2 * place + 2)?;
            digits(two, 16).map(|byte| byte as u8)
        })
        .collect();
    let bytes = bytes.ok_or(no_data)?;
    if more.is_empty() {
        Ok((time_us, number as u32, extended, bytes))
    } else {
        Err(too_much)
    }
}
