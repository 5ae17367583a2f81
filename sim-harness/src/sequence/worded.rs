//! Sequences as text, for keeping a few short ones beside the sources: names instead of places, so a table that grows does not break them.
//!
//! A line is `period_us NUMBER`, `start_degc BITS`, `page GROUP.NAME BITS` for a number that is not the table's default, `step`, or
//! `SIGNAL BITS AGE STATUS` for a reading that is another than in the step before; in the first step, than a missing one. BITS are those of
//! an `f32`, hexadecimal: a number that is none is kept too. What follows `#` is for people. A name that the tables no longer have is
//! refused with its line.

use super::Sequence;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::signal::{INPUT_SIGNALS, Status};
use couplet_controller::{Inputs, Period, RawPage, Reading};
use std::fmt::Write;

/// Beginning of the names of the sequences kept.
pub const MARK: &str = "worst-";

/// What a search for the dearest step found; kept in `sim-harness/sequences`.
pub const WORST: &[(&str, &str)] = &[("worst-1", include_str!("../../sequences/worst-1.txt"))];

/// Bits of a reading: value, age, status.
fn bits(reading: Reading) -> (u32, u16, u16) {
    (reading.value.to_bits(), reading.age_ms, reading.status.0)
}

impl Sequence {
    /// The sequence as text.
    pub fn words(&self) -> String {
        let mut text = format!(
            "period_us {}\nstart_degc {:08x}\n",
            self.period.microseconds(),
            self.start_degc.to_bits()
        );
        let nominal = RawPage::default();
        for entry in ENTRIES {
            let value = (entry.read)(&self.page.tunables).to_bits();
            if value != (entry.read)(&nominal.tunables).to_bits() {
                let _ = writeln!(text, "page {}.{} {value:08x}", entry.group, entry.name);
            }
        }
        let mut before = Inputs::default();
        for inputs in &self.told {
            text += "step\n";
            for signal in INPUT_SIGNALS {
                let now = bits((signal.read)(inputs));
                if now != bits((signal.read)(&before)) {
                    let (value, age, status) = now;
                    let _ = writeln!(text, "{} {value:08x} {age} {status}", signal.name);
                }
            }
            before = *inputs;
        }
        text
    }

    /// A sequence from its text.
    ///
    /// # Errors
    /// The first line that is none, from 1, and what is allowed there.
    pub fn from_words(name: &str, text: &str) -> Result<Self, (usize, &'static str)> {
        let mut sequence = Self {
            name: name.to_owned(),
            page: RawPage::default(),
            period: Period::default(),
            start_degc: 0.0,
            told: Vec::new(),
        };
        let number = |word: &str| u32::from_str_radix(word, 16).ok().map(f32::from_bits);
        for (line, text) in (1..).zip(text.lines()) {
            let text = text.split('#').next().unwrap_or_default();
            let words: Vec<&str> = text.split_whitespace().collect();
            let taken = match words[..] {
                [] => Some(()),
                ["period_us", word] => word.parse().ok().and_then(|period_us| {
                    sequence.period = Period::from_microseconds(period_us)?;
                    Some(())
                }),
                ["start_degc", word] => number(word).map(|degc| sequence.start_degc = degc),
                ["page", name, word] => ENTRIES
                    .iter()
                    .find(|entry| name.split_once('.') == Some((entry.group, entry.name)))
                    .and_then(|entry| {
                        (entry.write)(&mut sequence.page.tunables, number(word)?);
                        Some(())
                    }),
                ["step"] => {
                    let before = sequence.told.last().copied().unwrap_or_default();
                    sequence.told.push(before);
                    Some(())
                }
                [name, value, age, status] => INPUT_SIGNALS
                    .iter()
                    .find(|signal| signal.name == name)
                    .and_then(|signal| {
                        let reading = Reading {
                            value: number(value)?,
                            age_ms: age.parse().ok()?,
                            status: Status(status.parse().ok()?),
                        };
                        (signal.write)(sequence.told.last_mut()?, reading);
                        Some(())
                    }),
                _ => None,
            };
            taken.ok_or((
                line,
                "period_us NUMBER, start_degc BITS, page GROUP.NAME BITS, step, SIGNAL BITS AGE STATUS after a step",
            ))?;
        }
        Ok(sequence)
    }
}
