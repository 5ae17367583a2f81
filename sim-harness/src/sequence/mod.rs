//! Sequences of inputs that can be replayed bit for bit elsewhere: on a microcontroller, through C, in another process.
//!
//! A sequence is a calibration page, a period, a start temperature and what the law was told in every step. Its bytes are
//! little endian: `couplseq`, seven 32-bit words (version 1, layout of the page, its entries, input signals, period in
//! microseconds, start temperature as `f32` in degC, steps), the page's numbers as `f32`, then per step and input signal
//! value (`f32`), age (`u16`, ms) and status (`u16`). The digest of a replay folds the bits of every output signal in
//! table order; outputs are finite whatever comes in, so no NaN and its free bits can get in. Drives and faults invented.

mod broken;
mod faulty;
mod worded;

pub use broken::{BREAKS, Break};
pub use faulty::{MARK as FAULT_MARK, faulty};
pub use worded::{MARK as WORST_MARK, WORST};

use crate::plant::Vehicle;
use crate::run::closed_loop::overheard;
use crate::scenario::Scenario;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS, Status};
use couplet_controller::{Controller, Inputs, Outputs, Period, RawPage, Reading};

/// First bytes of a sequence.
pub const MAGIC: &[u8; 8] = b"couplseq";
/// Version of the form.
pub const VERSION: u32 = 1;
/// Steps between two digests.
pub const DIGEST_EVERY: usize = 1000;

/// What a controller is told, step by step, and what it starts from.
#[derive(Debug, Clone, PartialEq)]
pub struct Sequence {
    /// Name, part of a file name.
    pub name: String,
    /// Calibration page.
    pub page: RawPage,
    /// Control period.
    pub period: Period,
    /// Temperature of the whole axle at the start, degC.
    pub start_degc: f32,
    /// Inputs of every step.
    pub told: Vec<Inputs>,
}

/// Why bytes are no sequence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreadable {
    /// It does not begin like one, or is of another version.
    NotASequence,
    /// It was made for another calibration table or other input signals.
    OtherLayout,
    /// It ends in the middle; the byte where more was expected.
    EndsEarly {
        /// Position of the missing byte.
        at: usize,
    },
    /// More bytes than the steps it names.
    GoesOn {
        /// Position of the first byte too many.
        at: usize,
    },
    /// The period is outside 1 to 20 ms.
    Period,
}

impl Sequence {
    /// What the law is told over a scenario in closed loop, at most `longest` steps from the start.
    pub fn of_run(scenario: &Scenario, vehicle: &Vehicle, page: &RawPage, longest: usize) -> Self {
        let vehicle = scenario.loaded(vehicle);
        let setup = crate::manoeuvre::prepare(scenario, &vehicle, page);
        // A fault begins after the lead: what comes before it is the sound drive, and is not cut short of the fault.
        let longest = match scenario.faults.first() {
            Some(_) => longest.min(faulty::steps(setup.lead_s)),
            None => longest,
        };
        let mut told = overheard(scenario, &vehicle, page, setup);
        told.truncate(longest);
        Self {
            name: scenario.name.clone(),
            page: *page,
            period: Period::default(),
            start_degc: scenario.numbers.road.axle_degc as f32,
            told,
        }
    }

    /// The bytes of the sequence.
    pub fn bytes(&self) -> Vec<u8> {
        let mut bytes = MAGIC.to_vec();
        let mut word = |word: u32| bytes.extend(word.to_le_bytes());
        word(VERSION);
        word(LAYOUT);
        word(ENTRIES.len() as u32);
        word(INPUT_SIGNALS.len() as u32);
        word(self.period.microseconds());
        word(self.start_degc.to_bits());
        word(self.told.len() as u32);
        for entry in ENTRIES {
            word((entry.read)(&self.page.tunables).to_bits());
        }
        for inputs in &self.told {
            for signal in INPUT_SIGNALS {
                let reading = (signal.read)(inputs);
                bytes.extend(reading.value.to_bits().to_le_bytes());
                bytes.extend(reading.age_ms.to_le_bytes());
                bytes.extend(reading.status.0.to_le_bytes());
            }
        }
        bytes
    }

    /// A sequence from its bytes; the name is not among them.
    ///
    /// # Errors
    /// Why they are none, with the place.
    pub fn from_bytes(name: &str, bytes: &[u8]) -> Result<Self, Unreadable> {
        let mut rest = Rest { bytes, at: 0 };
        if &rest.take::<8>().map_err(|_| Unreadable::NotASequence)? != MAGIC
            || rest.word()? != VERSION
        {
            return Err(Unreadable::NotASequence);
        }
        let table = [rest.word()?, rest.word()?, rest.word()?];
        if table != [LAYOUT, ENTRIES.len() as u32, INPUT_SIGNALS.len() as u32] {
            return Err(Unreadable::OtherLayout);
        }
        let period = Period::from_microseconds(rest.word()?).ok_or(Unreadable::Period)?;
        let start_degc = f32::from_bits(rest.word()?);
        let steps = rest.word()?;
        let mut page = RawPage::default();
        for entry in ENTRIES {
            (entry.write)(&mut page.tunables, f32::from_bits(rest.word()?));
        }
        let mut told = Vec::new();
        for _ in 0..steps {
            let mut inputs = Inputs::default();
            for signal in INPUT_SIGNALS {
                let value = f32::from_bits(rest.word()?);
                let age_ms = u16::from_le_bytes(rest.take()?);
                let status = Status(u16::from_le_bytes(rest.take()?));
                (signal.write)(
                    &mut inputs,
                    Reading {
                        value,
                        age_ms,
                        status,
                    },
                );
            }
            told.push(inputs);
        }
        if rest.at < bytes.len() {
            return Err(Unreadable::GoesOn { at: rest.at });
        }
        Ok(Self {
            name: name.to_owned(),
            page,
            period,
            start_degc,
            told,
        })
    }

    /// Replays the sequence and calls `see` with each step's number, from 1, and outputs.
    ///
    /// # Panics
    /// If the page is not acceptable: pages are checked where they are made.
    pub fn replay(&self, mut see: impl FnMut(usize, &Outputs)) {
        let mut controller: Controller<f32> = match Controller::new(&self.page, self.period) {
            Ok(controller) => controller,
            Err(refusal) => panic!("calibration page refused: {refusal:?}"),
        };
        controller.set_temperature(self.start_degc);
        for (step, inputs) in self.told.iter().enumerate() {
            see(step + 1, &controller.step(inputs));
        }
    }

    /// Steps done and the digest so far, every [`DIGEST_EVERY`] steps and after the last one.
    pub fn digests(&self) -> Vec<(usize, u64)> {
        let mut digest = Digest::default();
        let mut found = Vec::new();
        self.replay(|step, outputs| {
            digest.fold(outputs);
            if step % DIGEST_EVERY == 0 || step == self.told.len() {
                found.push((step, digest.0));
            }
        });
        found
    }
}

/// Running digest of the bits of outputs: FNV-1a over 32-bit words, public domain algorithm, from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Digest(pub u64);

impl Default for Digest {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Digest {
    /// Takes the outputs of one step.
    pub fn fold(&mut self, outputs: &Outputs) {
        for signal in OUTPUT_SIGNALS {
            let bits = u64::from((signal.read)(outputs).to_bits());
            self.0 = (self.0 ^ bits).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}

struct Rest<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Rest<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], Unreadable> {
        let left = self.bytes.get(self.at..).unwrap_or_default();
        let Some(taken) = left.first_chunk::<N>() else {
            return Err(Unreadable::EndsEarly {
                at: self.bytes.len(),
            });
        };
        self.at += N;
        Ok(*taken)
    }

    fn word(&mut self) -> Result<u32, Unreadable> {
        self.take().map(u32::from_le_bytes)
    }
}
