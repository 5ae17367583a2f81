//! Frames as lines of text: a plain form of this project's own.
//!
//! ```text
//! couplet-bus 1
//! name tip-in
//! period_us 5000
//! zero_us 2000000
//! start_degc 20
//! layout 7
//! page 89abcdef
//! time_us id length data
//! 0 110 8 a400001e001e0000
//! end 1
//! ```
//!
//! The head names the drive, the control period, the time the record's zero lies at, the temperature of the axle at the start,
//! the layout of the calibration table and a check sum (CRC-32 of ISO-HDLC) of its numbers, little endian in page order, so
//! that a replay with other numbers is noticed. Then one line a frame: time in microseconds, never falling, identifier as three
//! hexadecimal digits, length in bytes, data in hexadecimal. The last line counts the frames: a log that was cut off has
//! none and is refused. Lines that begin with `#` are remarks. Reading keeps one line in memory at a time.

use std::fmt;
use std::io::{self, BufRead, Write};

use couplet_bus::frame::HIGHEST_ID;
use couplet_bus::{Frame, Transport};
use couplet_controller::RawPage;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::quantity::Period;
use crc::{CRC_32_ISO_HDLC, Crc};

pub use crate::lines::LogError;
use crate::lines::{Columns, Lines, digits};

/// First line.
pub(crate) const FIRST: &str = "couplet-bus 1";
/// Names of the columns.
pub(crate) const COLUMNS: &str = "time_us id length data";
/// Longest silence between two frames, microseconds: a minute. Longer ones would make a replay of hostile logs endless.
pub const LONGEST_GAP_US: u64 = 60_000_000;

/// What stands before the frames.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// Name of the drive.
    pub name: String,
    /// Control period.
    pub period: Period,
    /// Time of the log at which the record begins, microseconds.
    pub zero_us: u64,
    /// Temperature of the whole axle at the start, degC.
    pub start_degc: f32,
    /// Layout of the calibration table.
    pub layout: u32,
    /// Check sum of the calibration's numbers.
    pub page: u32,
}

impl Head {
    /// The head of a drive.
    pub fn of(name: &str, page: &RawPage, zero_us: u64, start_degc: f32) -> Self {
        let word = |c: char| if c.is_ascii_graphic() { c } else { '-' };
        Self {
            name: name.chars().map(word).take(120).collect(),
            period: Period::default(),
            zero_us,
            start_degc,
            layout: LAYOUT,
            page: page_sum(page),
        }
    }

    /// Whether this is the calibration the drive was made with.
    pub fn is_of(&self, page: &RawPage) -> bool {
        self.layout == LAYOUT && self.page == page_sum(page)
    }
}

/// Check sum of a page's numbers.
pub fn page_sum(page: &RawPage) -> u32 {
    const SUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
    let mut digest = SUM.digest();
    for entry in ENTRIES {
        digest.update(&(entry.read)(&page.tunables).to_bits().to_le_bytes());
    }
    digest.finalize()
}

/// Writes a log. What is sent is also received again, as on a bus.
#[derive(Debug)]
pub struct LogWriter<W: Write> {
    to: W,
    frames: u64,
    echo: std::collections::VecDeque<(u64, Frame)>,
}

impl<W: Write> LogWriter<W> {
    /// Begins a log.
    ///
    /// # Errors
    /// What the writer says.
    pub fn new(mut to: W, head: &Head) -> io::Result<Self> {
        writeln!(to, "{FIRST}")?;
        writeln!(
            to,
            "# Simulated drive of an invented car; identifiers are invented."
        )?;
        writeln!(to, "name {}", head.name)?;
        writeln!(to, "period_us {}", head.period.microseconds())?;
        writeln!(to, "zero_us {}", head.zero_us)?;
        writeln!(to, "start_degc {}", head.start_degc)?;
        writeln!(to, "layout {}", head.layout)?;
        writeln!(to, "page {:08x}", head.page)?;
        writeln!(to, "{COLUMNS}")?;
        Ok(Self {
            to,
            frames: 0,
            echo: Default::default(),
        })
    }

    /// Writes the last line; gives the writer back.
    ///
    /// # Errors
    /// What the writer says.
    pub fn end(mut self) -> io::Result<W> {
        writeln!(self.to, "end {}", self.frames)?;
        self.to.flush()?;
        Ok(self.to)
    }
}

impl LogWriter<Box<dyn Write>> {
    /// A log that keeps nothing: for a drive whose log could not be begun.
    pub fn nowhere() -> Self {
        Self {
            to: Box::new(io::sink()),
            frames: 0,
            echo: Default::default(),
        }
    }
}

impl<W: Write> Transport for LogWriter<W> {
    type Refusal = io::Error;

    fn send(&mut self, at_us: u64, frame: &Frame) -> io::Result<()> {
        let mut line = format!("{at_us} {:03x} {} ", frame.id(), frame.bytes().len());
        for byte in frame.bytes() {
            use fmt::Write as _;
            write!(line, "{byte:02x}").unwrap_or_default();
        }
        if frame.bytes().is_empty() {
            line.push('-');
        }
        writeln!(self.to, "{line}")?;
        self.frames += 1;
        self.echo.push_back((at_us, *frame));
        Ok(())
    }

    fn receive(&mut self) -> io::Result<Option<(u64, Frame)>> {
        Ok(self.echo.pop_front())
    }
}

/// Reads a log, line by line.
#[derive(Debug)]
pub struct LogReader<R: BufRead> {
    lines: Lines<R>,
    head: Head,
    before_us: u64,
    frames: u64,
    ended: bool,
}

impl<R: BufRead> LogReader<R> {
    /// Reads the head.
    ///
    /// # Errors
    /// The first thing wrong.
    pub fn open(from: R) -> Result<Self, LogError> {
        let mut reader = Self {
            lines: Lines::of(from),
            head: Head {
                name: String::new(),
                period: Period::default(),
                zero_us: 0,
                start_degc: 0.0,
                layout: 0,
                page: 0,
            },
            before_us: 0,
            frames: 0,
            ended: false,
        };
        reader.lines.must_be(FIRST)?;
        reader.head.name = reader.value("name")?;
        let us = reader.value("period_us")?;
        let period = us.parse().ok().and_then(Period::from_microseconds);
        reader.head.period = period.ok_or_else(|| {
            let allowed = format!("{} to {}", Period::SHORTEST_US, Period::LONGEST_US);
            reader.wrong(
                11,
                format!("`{us}` is no control period"),
                format!("{allowed} microseconds"),
            )
        })?;
        reader.head.zero_us = reader.number("zero_us", |text| text.parse().ok())?;
        let degc = |text: &str| {
            let degc = text.parse::<f32>().ok()?;
            (-273.15..=2000.0).contains(&degc).then_some(degc)
        };
        reader.head.start_degc = reader.number("start_degc", degc)?;
        reader.head.layout = reader.number("layout", |text| text.parse().ok())?;
        reader.head.page = reader.number("page", |text| u32::from_str_radix(text, 16).ok())?;
        reader.lines.must_be(COLUMNS)?;
        Ok(reader)
    }

    /// What stands before the frames.
    pub fn head(&self) -> &Head {
        &self.head
    }

    /// Line read last, from 1.
    pub fn line(&self) -> usize {
        self.lines.line
    }

    /// The next frame with its time, microseconds; none after the last.
    ///
    /// # Errors
    /// The first thing wrong; nothing follows it.
    pub fn next_frame(&mut self) -> Result<Option<(u64, Frame)>, LogError> {
        if self.ended {
            return Ok(None);
        }
        let found = self.frame();
        self.ended = !matches!(found, Ok(Some(_)));
        found
    }

    fn frame(&mut self) -> Result<Option<(u64, Frame)>, LogError> {
        self.lines
            .next_line("a frame, or `end` and the number of frames")?;
        if let Some(count) = self.lines.text.strip_prefix("end ") {
            if count.parse() != Ok(self.frames) {
                let what = format!("`end {count}` after {} frames", self.frames);
                return Err(self.wrong(5, what, "the number of frames".into()));
            }
            return match self.lines.read_line()? {
                false => Ok(None),
                true => Err(self.wrong(1, "a line after the end".into(), "nothing".into())),
            };
        }
        let mut columns = Columns {
            text: &self.lines.text,
            at: 0,
        };
        let mut column = |name: &str, allowed: &str| {
            let (at, word) = columns.next();
            let what = if word.is_empty() {
                format!("no {name}")
            } else {
                format!("`{word}` is no {name}")
            };
            (word, (at + 1, what, allowed.to_owned()))
        };
        let (time, no_time) = column(
            "time_us",
            "microseconds, not before the frame above and at most a minute after it",
        );
        let (id, no_id) = column("id", "000 to 7ff, hexadecimal");
        let (length, no_length) = column("length", "0 to 8, 12, 16, 20, 24, 32, 48, 64");
        let (data, no_data) = column(
            "data",
            "two hexadecimal digits a byte, as many bytes as the length says, `-` for none",
        );
        let (more, too_much) = column("end of line", "four columns");
        // The first frame counts from zero: a replay begins there.
        let before_us = self.before_us;
        let last_us = before_us.saturating_add(LONGEST_GAP_US);
        let frame = || {
            let time_us = digits(time, 10)
                .filter(|time_us| (before_us..=last_us).contains(time_us))
                .ok_or(no_time)?;
            let id = digits(id, 16)
                .filter(|number| id.len() == 3 && *number <= u64::from(HIGHEST_ID))
                .ok_or(no_id)?;
            let length = digits(length, 10).and_then(|length| usize::try_from(length).ok());
            let frame = length.and_then(|length| Frame::zeroed(id as u16, length));
            let mut frame = frame.ok_or(no_length)?;
            let hex = if data == "-" { "" } else { data };
            if data.is_empty() || hex.len() != 2 * frame.bytes().len() {
                return Err(no_data);
            }
            for (place, byte) in frame.bytes_mut().iter_mut().enumerate() {
                let two = hex.get(2 * place..2 * place + 2);
                let Some(value) = two.and_then(|two| digits(two, 16)) else {
                    return Err(no_data);
                };
                *byte = value as u8;
            }
            if more.is_empty() {
                Ok((time_us, frame))
            } else {
                Err(too_much)
            }
        };
        match frame() {
            Ok((time_us, frame)) => {
                self.before_us = time_us;
                self.frames += 1;
                Ok(Some((time_us, frame)))
            }
            Err((at, what, allowed)) => Err(self.wrong(at, what, allowed)),
        }
    }

    fn value(&mut self, key: &str) -> Result<String, LogError> {
        let allowed = format!("`{key}`, a space and its value");
        self.lines.next_line(&allowed)?;
        let value = self.lines.text.strip_prefix(key);
        let value = value.and_then(|value| value.strip_prefix(' '));
        match value {
            Some(value) if !value.is_empty() => Ok(value.to_owned()),
            _ => {
                let what = format!("`{}`", self.lines.text.escape_debug());
                Err(self.wrong(1, what, allowed))
            }
        }
    }

    fn number<T>(&mut self, key: &str, read: impl Fn(&str) -> Option<T>) -> Result<T, LogError> {
        let text = self.value(key)?;
        read(&text).ok_or_else(|| {
            let allowed = match key {
                "start_degc" => "a number, -273.15 to 2000 degC",
                "page" => "eight hexadecimal digits",
                _ => "a whole number",
            };
            let what = format!("`{}` is no {key}", text.escape_debug());
            self.wrong(key.len() + 2, what, allowed.into())
        })
    }

    fn wrong(&self, column: usize, what: String, allowed: String) -> LogError {
        self.lines.wrong(column, what, allowed)
    }
}
