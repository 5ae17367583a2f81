//! What a receiver believes of one kind of frame: sequence, check sum, time.
//!
//! In: frames with the time they came, microseconds. Out: a verdict each, counts, whether the last good frame still stands.
//! After the checks of AUTOSAR profiles 1 and 5 (from memory), with one state machine for both: the first frame after
//! silence is taken for its counter only, since a sender that repeats an old one would look the same; up to
//! [`MOST_LOST`] frames may be lost in a row; a larger jump is a wrong sequence, whose counter is taken and whose data is
//! not. A repeated frame renews nothing. After four periods without a good frame everything begins anew.

use crate::frame::Frame;
use crate::layout::FrameLayout;
use crate::protect::{check, counts};

/// Most frames lost in a row after which the next one is still in sequence. Chosen: less than the time-out holds.
pub const MOST_LOST: u8 = 3;

/// What a frame is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// First after silence: its counter is taken, its data is not.
    First,
    /// The next in sequence.
    Good,
    /// In sequence after so many lost ones.
    AfterLost(u8),
    /// The same counter again.
    Repeated,
    /// A counter too far ahead.
    WrongSequence,
    /// The check sum is wrong, or the counter impossible.
    WrongCheck,
    /// Another length than the table's.
    WrongLength,
}

impl Verdict {
    /// Whether the data counts.
    pub fn is_good(self) -> bool {
        matches!(self, Self::Good | Self::AfterLost(_))
    }
}

/// How often each came; they stay at their end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Frames whose data counted.
    pub good: u32,
    /// First ones after silence.
    pub first: u32,
    /// Lost ones, by the gaps of the counter.
    pub lost: u32,
    /// Repeated ones.
    pub repeated: u32,
    /// Wrong sequences.
    pub wrong_sequence: u32,
    /// Wrong check sums.
    pub wrong_check: u32,
    /// Wrong lengths.
    pub wrong_length: u32,
    /// Silences of four periods and more after a good frame.
    pub timed_out: u32,
}

/// The state of one kind of frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Guard {
    counter: Option<u8>,
    heard_us: u64,
    good_us: Option<u64>,
    counts: Counts,
}

impl Guard {
    /// Judges a frame.
    pub fn judge(&mut self, layout: &FrameLayout, now_us: u64, frame: &Frame) -> Verdict {
        self.look_at_time(layout, now_us);
        let verdict = self.verdict(layout, frame);
        let counts = &mut self.counts;
        let place = match verdict {
            Verdict::First => &mut counts.first,
            Verdict::Good | Verdict::AfterLost(_) => &mut counts.good,
            Verdict::Repeated => &mut counts.repeated,
            Verdict::WrongSequence => &mut counts.wrong_sequence,
            Verdict::WrongCheck => &mut counts.wrong_check,
            Verdict::WrongLength => &mut counts.wrong_length,
        };
        *place = place.saturating_add(1);
        if let Verdict::AfterLost(lost) = verdict {
            counts.lost = counts.lost.saturating_add(u32::from(lost));
        }
        if matches!(verdict, Verdict::First | Verdict::WrongSequence) || verdict.is_good() {
            self.heard_us = now_us;
        }
        if verdict.is_good() {
            self.good_us = Some(now_us);
        }
        verdict
    }

    /// Time since the last good frame, microseconds; none if there is none that still stands.
    pub fn age_us(&mut self, layout: &FrameLayout, now_us: u64) -> Option<u64> {
        self.look_at_time(layout, now_us);
        self.good_us.map(|good_us| now_us.saturating_sub(good_us))
    }

    /// How often each came.
    pub fn counts(&self) -> Counts {
        self.counts
    }

    fn verdict(&mut self, layout: &FrameLayout, frame: &Frame) -> Verdict {
        if frame.bytes().len() != usize::from(layout.length) {
            return Verdict::WrongLength;
        }
        let Some(counter) = check(layout, frame) else {
            return Verdict::WrongCheck;
        };
        let Some(before) = self.counter else {
            self.counter = Some(counter);
            return Verdict::First;
        };
        let (counter, before) = (u16::from(counter), u16::from(before));
        let ahead = if counter >= before {
            counter.wrapping_sub(before)
        } else {
            counter
                .wrapping_add(counts(layout.profile))
                .wrapping_sub(before)
        };
        if ahead == 0 {
            return Verdict::Repeated;
        }
        self.counter = Some(counter as u8);
        match ahead.wrapping_sub(1) {
            0 => Verdict::Good,
            lost if lost <= u16::from(MOST_LOST) => Verdict::AfterLost(lost as u8),
            _ => Verdict::WrongSequence,
        }
    }

    fn look_at_time(&mut self, layout: &FrameLayout, now_us: u64) {
        let longest_us = layout.time_out_us();
        if self.counter.is_some() && now_us.saturating_sub(self.heard_us) >= longest_us {
            self.counter = None;
        }
        let silent = |good_us| now_us.saturating_sub(good_us) >= longest_us;
        if self.good_us.is_some_and(silent) {
            self.good_us = None;
            self.counts.timed_out = self.counts.timed_out.saturating_add(1);
        }
    }
}
