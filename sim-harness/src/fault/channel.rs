//! What a fault makes of the messages of one channel.
//!
//! In: a healthy message every control step, the same of the other side, whether the fault is there. Out: what arrives. It
//! listens also while the fault is not there, so that lateness and a value of the onset are the real ones. Chance comes
//! from one seed; the loop asks in the frame of the car that is not mirrored, which makes a mirrored run the exact mirror
//! image. Limits: one message a control step; lateness in whole steps.

use std::collections::VecDeque;

use super::Kind;
use super::kind::LATEST_S;
use crate::plant::sensors::Draws;

/// One message.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Message {
    /// Value in the unit of the channel.
    pub value: f64,
    /// Age it claims, ms.
    pub age_ms: u16,
    /// Whether its sender vouches for it.
    pub valid: bool,
}

impl Message {
    /// Nothing came.
    pub const MISSING: Self = Self {
        value: 0.0,
        age_ms: u16::MAX,
        valid: false,
    };

    fn new(value: f64) -> Self {
        Self {
            value,
            age_ms: 0,
            valid: true,
        }
    }
}

/// A channel with a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    draws: Draws,
    period_s: f64,
    past: VecDeque<Message>,
    held: Option<Message>,
    since: Option<u64>,
}

impl Channel {
    /// A channel heard every `period_s`; chance from `seed`.
    pub fn new(seed: u64, period_s: f64) -> Self {
        Self {
            draws: Draws::new(seed),
            period_s,
            past: VecDeque::new(),
            held: None,
            since: None,
        }
    }

    /// What arrives in this step.
    pub fn step(
        &mut self,
        (kind, size): (Kind, f64),
        is_there: bool,
        healthy: Message,
        other_side: Message,
    ) -> Message {
        if self.past.len() > libm::ceil(LATEST_S / self.period_s) as usize {
            self.past.pop_front();
        }
        self.past.push_back(healthy);
        // Drawn in every step: when the fault begins does not move what comes after.
        let (normal, share, bit) = (self.draws.normal(), self.draws.unit(), self.draws.next());
        if !is_there {
            (self.held, self.since) = (None, None);
            return healthy;
        }
        let steps = self.since.map_or(0, |steps| steps + 1);
        self.since = Some(steps);
        let since_s = steps as f64 * self.period_s;
        let with = |value: f64| Message { value, ..healthy };
        match kind {
            Kind::Off => Message::MISSING,
            Kind::Stuck => *self.held.get_or_insert_with(|| Message::new(healthy.value)),
            Kind::Offset => with(healthy.value + size),
            Kind::Drift => with(healthy.value + size * since_s),
            Kind::Scale => with(healthy.value * size),
            Kind::Noise => with(healthy.value + size * normal),
            Kind::Delay => Message::new(self.before(self.steps_of(size)).value),
            Kind::Late => {
                let steps = self.steps_of(size);
                let before = self.before(steps);
                let age_ms = libm::round(1000.0 * steps as f64 * self.period_s) as u16;
                Message {
                    age_ms: before.age_ms.saturating_add(age_ms),
                    ..before
                }
            }
            Kind::Duplicated => {
                if steps.is_multiple_of(self.steps_of(size) as u64 + 1) {
                    self.held = Some(healthy);
                }
                self.held.unwrap_or(healthy)
            }
            Kind::Swap => other_side,
            Kind::WrongSign => with(-healthy.value),
            Kind::Intermittent => {
                let half = self.steps_of(0.5 * size) as u64;
                if (steps / half) % 2 == 1 {
                    Message::MISSING
                } else {
                    healthy
                }
            }
            Kind::Corrupted if share < size => {
                let bits = (healthy.value as f32).to_bits() ^ (1 << (bit % 32));
                with(f64::from(f32::from_bits(bits)))
            }
            Kind::Corrupted
            | Kind::Full
            | Kind::StuckOpen
            | Kind::StuckClosed
            | Kind::Leak
            | Kind::TouchPoint => healthy,
        }
    }

    fn steps_of(&self, time_s: f64) -> usize {
        libm::round(time_s / self.period_s).max(1.0) as usize
    }

    /// The message of so many steps ago; before the channel was first heard, its first one.
    fn before(&self, steps: usize) -> Message {
        let place = self.past.len().saturating_sub(1 + steps);
        self.past.get(place).copied().unwrap_or(Message::MISSING)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PERIOD_S: f64 = 0.005;

    /// What arrives of a rising row 0, 1, 2, ... with a fault from its eleventh message on.
    fn arrives(kind: Kind, size: f64) -> Vec<Message> {
        let mut channel = Channel::new(7, PERIOD_S);
        (0..40)
            .map(|step| {
                let value = f64::from(step);
                channel.step(
                    (kind, size),
                    step >= 10,
                    Message::new(value),
                    Message::new(-value),
                )
            })
            .collect()
    }

    fn values(kind: Kind, size: f64) -> Vec<f64> {
        arrives(kind, size).iter().map(|one| one.value).collect()
    }

    #[test]
    fn every_kind_leaves_the_channel_alone_until_it_begins() {
        for kind in Kind::ALL {
            let seen = values(kind, kind.size().usual);
            let row: Vec<f64> = (0..10).map(f64::from).collect();
            assert_eq!(seen[..10], row[..], "{}", kind.name());
        }
    }

    #[test]
    fn every_kind_says_what_its_name_says() {
        assert!(arrives(Kind::Off, 0.0)[10..].iter().all(|one| !one.valid));
        assert!(values(Kind::Stuck, 0.0)[10..].iter().all(|v| *v == 10.0));
        assert_eq!(values(Kind::Offset, 0.5)[20], 20.5);
        // Ten steps of 5 ms after the onset: 0.05 s times 2 a second.
        assert!((values(Kind::Drift, 2.0)[20] - 20.1).abs() < 1e-12);
        assert_eq!(values(Kind::Scale, -2.0)[20], -40.0);
        assert_eq!(values(Kind::WrongSign, 0.0)[20], -20.0);
        assert_eq!(values(Kind::Swap, 0.0)[20], -20.0);
        // 20 ms are four steps.
        assert_eq!(values(Kind::Delay, 0.02)[20], 16.0);
        let late = arrives(Kind::Late, 0.02)[20];
        assert_eq!((late.value, late.age_ms), (16.0, 20));
        assert_eq!(arrives(Kind::Delay, 0.02)[20].age_ms, 0);
        // Each message comes once and again for 10 ms: three times.
        assert_eq!(
            values(Kind::Duplicated, 0.01)[10..16],
            [10.0, 10.0, 10.0, 13.0, 13.0, 13.0]
        );
        let there: Vec<bool> = arrives(Kind::Intermittent, 0.02)[10..18]
            .iter()
            .map(|one| one.valid)
            .collect();
        assert_eq!(there, [true, true, false, false, true, true, false, false]);
    }

    #[test]
    fn corruption_flips_one_bit_of_the_stated_share() {
        let mut channel = Channel::new(1, PERIOD_S);
        let mut hit = 0;
        for _ in 0..10_000 {
            let got = channel.step(
                (Kind::Corrupted, 0.2),
                true,
                Message::new(1.5),
                Message::new(0.0),
            );
            let flipped = ((got.value as f32).to_bits() ^ 1.5_f32.to_bits()).count_ones();
            assert!(flipped <= 1 || got.value.is_nan());
            hit += u32::from(flipped != 0);
        }
        // Three standard errors of a share of 0.2 in 10,000.
        assert!((f64::from(hit) / 10_000.0 - 0.2).abs() < 0.012, "{hit}");
    }
}
