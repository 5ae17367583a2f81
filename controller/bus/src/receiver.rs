//! The receiving half of both nodes: checks, unpacks, and tells every signal with its age and standing.
//!
//! In: frames with the time they came, microseconds. Out: for the axle the law's inputs, for the car the outputs by number.
//! A signal whose frame is lost, wrong or silent, that its sender has not, or whose raw value is an error, is a reading
//! nobody vouches for: the law then holds the last good value for a while and takes it as lost after that.

use couplet_controller::signal::{OUTPUT_SIGNALS, Status};
use couplet_controller::{Inputs, Reading};

use crate::frame::Frame;
use crate::guard::{Counts, Guard, Verdict};
use crate::layout::{Decoded, FrameLayout, Placed, Source};
use crate::table::{AXLE_FRAMES, CAR_FRAMES};

/// The axle's receiver.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct InputReceiver {
    guards: [Guard; CAR_FRAMES.len()],
    /// Numbers of the last good frames; ages are worked out when asked for.
    told: Inputs,
}

impl InputReceiver {
    /// Takes a frame; none if it is not one the car sends.
    pub fn receive(&mut self, now_us: u64, frame: &Frame) -> Option<Verdict> {
        let (layout, guard) = guard_of(CAR_FRAMES, &mut self.guards, frame)?;
        let verdict = guard.judge(layout, now_us, frame);
        if verdict.is_good() {
            for placed in layout.signals {
                write(placed, &mut self.told, reading(placed, frame));
            }
        }
        Some(verdict)
    }

    /// What the law is told now.
    pub fn inputs(&mut self, now_us: u64) -> Inputs {
        let mut inputs = Inputs::default();
        for (layout, guard) in CAR_FRAMES.iter().zip(&mut self.guards) {
            let age_us = guard.age_us(layout, now_us);
            for placed in layout.signals {
                let seen = match (age_us, placed.source) {
                    (Some(age_us), Source::Input(signal)) => Reading {
                        age_ms: (age_us / 1_000).min(u64::from(u16::MAX)) as u16,
                        ..(signal.read)(&self.told)
                    },
                    _ => Reading::missing(),
                };
                write(placed, &mut inputs, seen);
            }
        }
        inputs
    }

    /// Counts of one kind of frame, by its place in the table.
    pub fn counts(&self, place: usize) -> Option<Counts> {
        self.guards.get(place).map(Guard::counts)
    }
}

/// The car's receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutputReceiver {
    guards: [Guard; AXLE_FRAMES.len()],
    told: [Decoded; OUTPUT_SIGNALS.len()],
}

impl Default for OutputReceiver {
    fn default() -> Self {
        Self {
            guards: [Guard::default(); AXLE_FRAMES.len()],
            told: [Decoded::NotAvailable; OUTPUT_SIGNALS.len()],
        }
    }
}

impl OutputReceiver {
    /// Takes a frame; none if it is not one the axle sends.
    pub fn receive(&mut self, now_us: u64, frame: &Frame) -> Option<Verdict> {
        let (layout, guard) = guard_of(AXLE_FRAMES, &mut self.guards, frame)?;
        let verdict = guard.judge(layout, now_us, frame);
        if verdict.is_good() {
            for placed in layout.signals {
                if let Some(place) = self.told.get_mut(placed.position) {
                    *place = placed.decode(placed.raw(frame.bytes()));
                }
            }
        }
        Some(verdict)
    }

    /// Every output now, in the order of the table of outputs; not available where its frame has been silent.
    pub fn outputs(&mut self, now_us: u64) -> [Decoded; OUTPUT_SIGNALS.len()] {
        let mut all = [Decoded::NotAvailable; OUTPUT_SIGNALS.len()];
        for (layout, guard) in AXLE_FRAMES.iter().zip(&mut self.guards) {
            if guard.age_us(layout, now_us).is_none() {
                continue;
            }
            for placed in layout.signals {
                let told = self.told.get(placed.position);
                if let (Some(to), Some(from)) = (all.get_mut(placed.position), told) {
                    *to = *from;
                }
            }
        }
        all
    }

    /// Counts of one kind of frame, by its place in the table.
    pub fn counts(&self, place: usize) -> Option<Counts> {
        self.guards.get(place).map(Guard::counts)
    }
}

/// What a frame says of an input; fresh as far as its frame is.
pub fn reading(placed: &Placed, frame: &Frame) -> Reading {
    match placed.decode(placed.raw(frame.bytes())) {
        Decoded::Number(value) => Reading::fresh(value),
        Decoded::NotAvailable | Decoded::Error => Reading {
            value: 0.0,
            age_ms: 0,
            status: Status::INVALID,
        },
    }
}

fn write(placed: &Placed, inputs: &mut Inputs, reading: Reading) {
    if let Source::Input(signal) = placed.source {
        (signal.write)(inputs, reading);
    }
}

fn guard_of<'a>(
    layouts: &'static [FrameLayout],
    guards: &'a mut [Guard],
    frame: &Frame,
) -> Option<(&'static FrameLayout, &'a mut Guard)> {
    let mut all = layouts.iter().zip(guards);
    all.find(|(layout, _)| layout.id == frame.id())
}
