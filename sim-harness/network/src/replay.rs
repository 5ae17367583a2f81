//! A text log turned back into what the law was told, step by step.
//!
//! A control step stands at every whole multiple of the period, from zero to the last frame; it is told what the frames up to
//! its time say. The receiver is the one the law had in the drive, so the inputs are the same bits. Memory does not grow with
//! the log.

use std::io::BufRead;

use couplet_bus::{Decoded, Frame, InputReceiver, OutputReceiver};
use couplet_controller::Inputs;
use couplet_controller::signal::OUTPUT_SIGNALS;

use crate::text_log::{Head, LogError, LogReader};

/// One control step of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Time of the log, microseconds.
    pub at_us: u64,
    /// What the law was told.
    pub told: Inputs,
    /// What the axle had sent by the end of the step, in the order of the table of outputs, rounded as on the bus.
    pub answered: [Decoded; OUTPUT_SIGNALS.len()],
}

/// Steps of a log, one after the other.
#[derive(Debug)]
pub struct Replay<R: BufRead> {
    log: LogReader<R>,
    waiting: Option<(u64, Frame)>,
    at_us: u64,
    law: InputReceiver,
    car: OutputReceiver,
}

impl<R: BufRead> Replay<R> {
    /// Begins with the head.
    ///
    /// # Errors
    /// The first thing wrong in head or first frame.
    pub fn open(from: R) -> Result<Self, LogError> {
        let mut log = LogReader::open(from)?;
        let waiting = log.next_frame()?;
        Ok(Self {
            log,
            waiting,
            at_us: 0,
            law: InputReceiver::default(),
            car: OutputReceiver::default(),
        })
    }

    /// What stands before the frames.
    pub fn head(&self) -> &Head {
        self.log.head()
    }

    /// The next control step; none after the last.
    ///
    /// # Errors
    /// The first thing wrong; nothing follows it.
    pub fn next_step(&mut self) -> Result<Option<Step>, LogError> {
        if self.waiting.is_none() {
            return Ok(None);
        }
        let at_us = self.at_us;
        // Frames of both nodes by the time of the step: the axle's are this step's answer where they carry its time.
        while let Some((frame_us, frame)) = self.waiting {
            if frame_us > at_us {
                break;
            }
            self.law.receive(frame_us, &frame);
            self.car.receive(frame_us, &frame);
            self.waiting = self.log.next_frame()?;
        }
        self.at_us = at_us.saturating_add(u64::from(self.head().period.microseconds()));
        Ok(Some(Step {
            at_us,
            told: self.law.inputs(at_us),
            answered: self.car.outputs(at_us),
        }))
    }
}

impl<R: BufRead> Iterator for Replay<R> {
    type Item = Result<Step, LogError>;

    fn next(&mut self) -> Option<Self::Item> {
        let step = self.next_step();
        if step.is_err() {
            self.waiting = None;
        }
        step.transpose()
    }
}
