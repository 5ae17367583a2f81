//! The sending half of both nodes: packs, protects and counts; each frame when its period is over.
//!
//! In: inputs or outputs with the time, microseconds. Out: frames. A reading that nobody vouches for, or that is older than
//! its frame's period, goes out as not available: the receiver counts a value's age from the frame, so an older value would
//! become young on the bus.

use couplet_controller::signal::Status;
use couplet_controller::{Inputs, Outputs};

use crate::frame::Frame;
use crate::layout::{Fate, FrameLayout, Placed, Source};
use crate::protect::{next_counter, protect};
use crate::table::{AXLE_FRAMES, CAR_FRAMES};

/// What packing had to change; counts stay at their end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Report {
    /// Numbers sent as the end of their range.
    pub saturated: u32,
    /// Numbers sent as errors: none, or outside the range.
    pub errors: u32,
    /// Signals sent as not available.
    pub not_available: u32,
    /// Name of the last signal saturated or sent as an error.
    pub last: Option<&'static str>,
}

/// Packs a frame without its protection; `number` gives each signal's number, none if there is none.
pub fn pack(
    layout: &FrameLayout,
    report: &mut Report,
    mut number: impl FnMut(&Placed) -> Option<f32>,
) -> Option<Frame> {
    let mut frame = Frame::zeroed(layout.id, usize::from(layout.length))?;
    for placed in layout.signals {
        let raw = match number(placed) {
            None => {
                report.not_available = report.not_available.saturating_add(1);
                placed.not_available()
            }
            Some(number) => {
                let (raw, fate) = placed.encode(number);
                let place = match fate {
                    Fate::Sent => None,
                    Fate::Saturated => Some(&mut report.saturated),
                    Fate::Error => Some(&mut report.errors),
                };
                if let Some(place) = place {
                    *place = place.saturating_add(1);
                    report.last = Some(placed.name());
                }
                raw
            }
        };
        placed.put(frame.bytes_mut(), raw);
    }
    Some(frame)
}

/// Number of an input as its sender vouches for it in a frame of this period.
pub fn vouched(placed: &Placed, inputs: &Inputs, period_ms: u16) -> Option<f32> {
    let Source::Input(signal) = placed.source else {
        return None;
    };
    let reading = (signal.read)(inputs);
    let young = reading.status == Status::VALID && reading.age_ms <= period_ms;
    young.then_some(reading.value)
}

/// The car's sender.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct InputSender {
    turns: Turns<{ CAR_FRAMES.len() }>,
}

impl InputSender {
    /// Gives every frame that is due to `put`.
    pub fn send(&mut self, now_us: u64, inputs: &Inputs, put: impl FnMut(&Frame)) {
        let number =
            |layout: &FrameLayout, placed: &Placed| vouched(placed, inputs, layout.period_ms);
        self.turns.send(CAR_FRAMES, now_us, number, put);
    }

    /// What packing had to change so far.
    pub fn report(&self) -> Report {
        self.turns.report
    }
}

/// The axle's sender.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OutputSender {
    turns: Turns<{ AXLE_FRAMES.len() }>,
}

impl OutputSender {
    /// Gives every frame that is due to `put`.
    pub fn send(&mut self, now_us: u64, outputs: &Outputs, put: impl FnMut(&Frame)) {
        let number = |_: &FrameLayout, placed: &Placed| match placed.source {
            Source::Output(signal) => Some((signal.read)(outputs)),
            Source::Input(_) => None,
        };
        self.turns.send(AXLE_FRAMES, now_us, number, put);
    }

    /// What packing had to change so far.
    pub fn report(&self) -> Report {
        self.turns.report
    }
}

/// Counter and next time of every frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Turns<const N: usize> {
    turns: [(u8, u64); N],
    report: Report,
}

impl<const N: usize> Default for Turns<N> {
    fn default() -> Self {
        Self {
            turns: [(0, 0); N],
            report: Report::default(),
        }
    }
}

impl<const N: usize> Turns<N> {
    fn send(
        &mut self,
        layouts: &[FrameLayout],
        now_us: u64,
        number: impl Fn(&FrameLayout, &Placed) -> Option<f32>,
        mut put: impl FnMut(&Frame),
    ) {
        for (layout, (counter, due_us)) in layouts.iter().zip(&mut self.turns) {
            if now_us < *due_us {
                continue;
            }
            let period_us = u64::from(layout.period_ms).wrapping_mul(1_000);
            let kept = due_us.saturating_add(period_us);
            // After a pause the old rhythm is given up: no burst of frames catches up.
            *due_us = if kept > now_us {
                kept
            } else {
                now_us.saturating_add(period_us)
            };
            let packed = pack(layout, &mut self.report, |placed| number(layout, placed));
            let Some(mut frame) = packed else { continue };
            protect(layout, &mut frame, *counter);
            *counter = next_counter(layout.profile, *counter);
            put(&frame);
        }
    }
}
