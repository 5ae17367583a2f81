//! Reads a recorded sequence of inputs: the file that the harness writes (`couplet export sequence`).
//!
//! Little endian: `couplseq`, then seven 32-bit words (version 1, layout of the calibration page, its entries, input
//! signals, period in microseconds, start temperature as `f32` in degC, steps), then the page's numbers as `f32`, then per
//! step and input signal value (`f32`), age (`u16`, ms) and status (`u16`). A file of another layout is refused.

use core::mem::MaybeUninit;

use couplet_controller::calibration::{ENTRIES, Tunables};
use couplet_controller::signal::INPUT_SIGNALS;
use couplet_controller::{Controller, Inputs, Period, RawPage, Reading};

use crate::host::{self, File, LONGEST_LINE};

/// Why there is nothing to replay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// No command line, or one that is too long.
    NoCommandLine,
    /// The file cannot be opened.
    NoFile,
    /// The file ends too early.
    Short,
    /// Not a sequence, or one of another version.
    Other,
    /// Made for another calibration table or other input signals.
    Layout,
    /// The page or the period is refused by the law.
    Refused,
}

impl Fault {
    /// The fault in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoCommandLine => "no command line: name a sequence file",
            Self::NoFile => "the sequence file cannot be opened",
            Self::Short => "the sequence file ends too early: write it anew",
            Self::Other => "not a sequence file of version 1",
            Self::Layout => {
                "made for another calibration table or other inputs: write it anew with this version"
            }
            Self::Refused => "page or period refused by the law",
        }
    }
}

/// An open sequence.
pub struct Sequence {
    file: File,
    period: Period,
    start_degc: f32,
    /// Steps in the file.
    pub steps: u32,
}

impl Sequence {
    /// Opens the sequence the command line names: the last word of it.
    ///
    /// # Errors
    /// What is wrong with command line or file.
    pub fn of_command_line() -> Result<Self, Fault> {
        let mut line = [0_u8; LONGEST_LINE];
        let length = host::command_line(&mut line).ok_or(Fault::NoCommandLine)?;
        let words = line.get(..length).ok_or(Fault::NoCommandLine)?;
        let start = words
            .iter()
            .rposition(|byte| *byte == b' ')
            .map_or(0, |space| space + 1);
        let name = line.get(start..=length).ok_or(Fault::NoCommandLine)?;
        let mut file = File::open(name).ok_or(Fault::NoFile)?;
        let mut magic = [0_u8; 8];
        if !file.fill(&mut magic) || &magic != b"couplseq" {
            return Err(Fault::Other);
        }
        let mut word = || {
            let mut bytes = [0_u8; 4];
            file.fill(&mut bytes).then_some(u32::from_le_bytes(bytes))
        };
        let mut next = || word().ok_or(Fault::Short);
        if next()? != 1 {
            return Err(Fault::Other);
        }
        let fits = next()? == couplet_controller::calibration::page::LAYOUT;
        let fits = next()? as usize == ENTRIES.len() && fits;
        if next()? as usize != INPUT_SIGNALS.len() || !fits {
            return Err(Fault::Layout);
        }
        let period = Period::from_microseconds(next()?).ok_or(Fault::Refused)?;
        let start_degc = f32::from_bits(next()?);
        let steps = next()?;
        Ok(Self {
            file,
            period,
            start_degc,
            steps,
        })
    }

    /// The controller of the page that follows, in the places given: a control unit has its page in flash. Never part of its caller: its stack is measured.
    ///
    /// # Errors
    /// A short file, or a page the law refuses.
    #[inline(never)]
    pub fn controller<'a>(
        &mut self,
        place: &'a mut MaybeUninit<Controller<f32>>,
        page: &mut RawPage,
    ) -> Result<&'a mut Controller<f32>, Fault> {
        const { assert!(size_of::<Tunables<f32>>() == 4 * ENTRIES.len()) };
        // SAFETY: the numbers are `f32` one after another, as the file has them; any bits are a number or none.
        if !unsafe { self.file.fill_place(&raw mut page.tunables) } {
            return Err(Fault::Short);
        }
        let controller = Controller::place(place, page, self.period).map_err(|_| Fault::Refused)?;
        controller.set_temperature(self.start_degc);
        Ok(controller)
    }

    /// The inputs of the next step.
    ///
    /// # Errors
    /// A short file.
    pub fn next(&mut self, inputs: &mut Inputs) -> Result<(), Fault> {
        const { assert!(size_of::<Inputs>() == size_of::<Reading>() * INPUT_SIGNALS.len()) };
        // SAFETY: value, age and status of each signal in the table's order, as the file has them; any bits will do.
        if unsafe { self.file.fill_place(&raw mut *inputs) } {
            Ok(())
        } else {
            Err(Fault::Short)
        }
    }
}
