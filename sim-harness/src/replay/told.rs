//! What the law is told at every step of its period, from a recording with times of its own.
//!
//! At a step the last sample that is not later counts; it ages by the time since. No sample for longer than the mapping allows means
//! lost, as a message that does not come. Samples that are no numbers are not there. Where age and status were recorded
//! with the value, all three are given on as they are, undefined numbers too: a replay of a driven run is exact.

use super::mapping::{Between, Commanded, Mapping, Row, Source};
use crate::record::recording::{Recording, Signal};
use couplet_controller::signal::Status;
use couplet_controller::{Inputs, Period, Reading};

/// Times closer than this are the same, s.
const SAME_S: f64 = 1.0e-6;

/// The steps of a recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// Time of the first, s.
    pub start_s: f64,
    /// Period, s.
    pub period_s: f64,
    /// How many.
    pub count: usize,
}

impl Steps {
    /// Time of a step, s.
    pub fn time_s(&self, step: usize) -> f64 {
        self.start_s + step as f64 * self.period_s
    }
}

/// Most steps of a replay: eight hours at 1 ms.
pub const MOST_STEPS: usize = 28_800_000;

/// What is wrong between a mapping and a recording.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unfit {
    /// The recording has no such channel.
    NoChannel(String),
    /// No channel of the mapping has a sample.
    NoSample,
    /// More than [`MOST_STEPS`].
    TooLong,
}

/// The steps that cover every mapped channel.
///
/// # Errors
/// Missing channels, no samples, a recording without end.
pub fn steps(recording: &Recording, mapping: &Mapping, period: Period) -> Result<Steps, Unfit> {
    let period_s = f64::from(period.microseconds()) / 1.0e6;
    let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
    for name in mapping.channels() {
        let Some((group, _)) = recording.find(name) else {
            return Err(Unfit::NoChannel(name.to_owned()));
        };
        from = from.min(group.time_s.first().copied().unwrap_or(f64::INFINITY));
        to = to.max(group.time_s.last().copied().unwrap_or(f64::NEG_INFINITY));
    }
    let length = libm::floor((to - from + SAME_S) / period_s);
    if !(length >= 0.0) {
        return Err(Unfit::NoSample);
    }
    if length >= MOST_STEPS as f64 {
        return Err(Unfit::TooLong);
    }
    Ok(Steps {
        start_s: from,
        period_s,
        count: length as usize + 1,
    })
}

/// What the law is told in every step.
///
/// # Errors
/// Missing channels.
pub fn told(recording: &Recording, mapping: &Mapping, steps: &Steps) -> Result<Vec<Inputs>, Unfit> {
    let mut all = vec![nothing(); steps.count];
    for row in &mapping.rows {
        match &row.source {
            Source::Constant(value) => {
                let reading = Reading::fresh(*value as f32);
                for inputs in &mut all {
                    (row.input.write)(inputs, reading);
                }
            }
            Source::Channel(name) => {
                let values = channel(recording, name)?;
                let age = row.age.as_deref().map(|name| channel(recording, name));
                let status = row.status.as_deref().map(|name| channel(recording, name));
                let (age, status) = (age.transpose()?, status.transpose()?);
                one_input(row, steps, values, age, status, &mut all);
            }
        }
    }
    Ok(all)
}

/// A recorded command at every step, in the law's unit; not a number where there is none.
///
/// # Errors
/// A missing channel.
pub fn commanded(
    recording: &Recording,
    command: &Commanded,
    steps: &Steps,
) -> Result<Vec<f64>, Unfit> {
    let mut at = Cursor::new(channel(recording, &command.channel)?, 0.0);
    Ok((0..steps.count)
        .map(|step| {
            at.go(steps.time_s(step));
            // The law's outputs are single precision; a text of one reads as another double.
            at.last.map_or(f64::NAN, |index| {
                f64::from((command.offset + command.factor * at.values[index]) as f32)
            })
        })
        .collect())
}

fn nothing() -> Inputs {
    let mut inputs = Inputs::default();
    for signal in couplet_controller::signal::INPUT_SIGNALS {
        (signal.write)(&mut inputs, Reading::missing());
    }
    inputs
}

type Series<'a> = (&'a [f64], &'a Signal);

fn channel<'a>(recording: &'a Recording, name: &str) -> Result<Series<'a>, Unfit> {
    recording
        .find(name)
        .map(|(group, signal)| (group.time_s.as_slice(), signal))
        .ok_or_else(|| Unfit::NoChannel(name.to_owned()))
}

/// Walks a channel once from front to end.
struct Cursor<'a> {
    time_s: &'a [f64],
    values: &'a [f64],
    late_s: f64,
    next: usize,
    /// The last sample that is a number and not later than the time gone to.
    last: Option<usize>,
    /// The last sample, whatever it is.
    newest: Option<usize>,
}

impl<'a> Cursor<'a> {
    fn new((time_s, signal): Series<'a>, late_s: f64) -> Self {
        Self {
            time_s,
            values: &signal.values,
            late_s,
            next: 0,
            last: None,
            newest: None,
        }
    }

    fn at_s(&self, index: usize) -> f64 {
        self.time_s[index] - self.late_s
    }

    fn go(&mut self, time_s: f64) {
        while self.next < self.time_s.len() && self.at_s(self.next) <= time_s + SAME_S {
            self.newest = Some(self.next);
            if !self.values[self.next].is_nan() {
                self.last = Some(self.next);
            }
            self.next += 1;
        }
    }

    /// Value on the line to the next sample that is a number, if that comes within the gap.
    fn on_line(&self, time_s: f64, longest_gap_s: f64) -> Option<f64> {
        let from = self.last?;
        let to = (self.next..self.time_s.len()).find(|index| !self.values[*index].is_nan())?;
        let long_s = self.at_s(to) - self.at_s(from);
        if !(long_s > 0.0 && long_s <= longest_gap_s) {
            return None;
        }
        let share = (time_s - self.at_s(from)) / long_s;
        Some(self.values[from] + share * (self.values[to] - self.values[from]))
    }
}

fn one_input(
    row: &Row,
    steps: &Steps,
    values: Series<'_>,
    age: Option<Series<'_>>,
    status: Option<Series<'_>>,
    all: &mut [Inputs],
) {
    let mut value = Cursor::new(values, row.late_s);
    let mut age = age.map(|series| Cursor::new(series, row.late_s));
    let mut status = status.map(|series| Cursor::new(series, row.late_s));
    // A recorded status vouches for the sample as it is, undefined numbers included.
    let as_it_is = status.is_some();
    for (step, inputs) in all.iter_mut().enumerate() {
        let time_s = steps.time_s(step);
        value.go(time_s);
        let told = |cursor: &mut Option<Cursor<'_>>| {
            let cursor = cursor.as_mut()?;
            cursor.go(time_s);
            cursor.last.map(|index| cursor.values[index])
        };
        let (told_age, told_status) = (told(&mut age), told(&mut status));
        let sample = if as_it_is { value.newest } else { value.last };
        let Some(sample) = sample else { continue };
        let held_s = time_s - value.at_s(sample);
        if held_s > row.longest_gap_s + SAME_S {
            continue;
        }
        let line = (row.between == Between::Line)
            .then(|| value.on_line(time_s, row.longest_gap_s))
            .flatten();
        let raw = line.unwrap_or(value.values[sample]);
        // Not touched where nothing is to be done: an undefined number keeps its kind.
        let number = if row.factor == 1.0 && row.offset == 0.0 {
            raw as f32
        } else {
            (row.offset + row.factor * raw) as f32
        };
        let held_ms = if line.is_some() { 0.0 } else { 1000.0 * held_s };
        let age_ms = libm::round(told_age.unwrap_or(0.0) + held_ms.max(0.0));
        let status = match told_status {
            Some(word) => Status(word as u16),
            None => Status::VALID,
        };
        (row.input.write)(
            inputs,
            Reading {
                value: number,
                age_ms: age_ms as u16,
                status,
            },
        );
    }
}
