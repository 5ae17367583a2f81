//! Sequences with broken inputs: one signal after the other, a second each, broken in one way, over a driven sequence.

use super::Sequence;
use couplet_controller::Reading;
use couplet_controller::signal::INPUT_SIGNALS;
use couplet_controller::signal::Status;

/// Steps a signal is broken, and steps of quiet after it.
const BROKEN_STEPS: usize = 120;
const QUIET_STEPS: usize = 80;

/// A way in which a reading is broken.
#[derive(Debug, Clone, Copy)]
pub struct Break {
    /// Its name, part of a file name.
    pub name: &'static str,
    /// The broken reading, from the sound one and the one when the break began.
    pub of: fn(Reading, Reading, (f32, f32)) -> Reading,
}

/// Every way in which a reading is broken.
pub const BREAKS: [Break; 7] = [
    Break {
        name: "lost",
        of: |_, _, _| Reading::missing(),
    },
    Break {
        name: "stuck",
        of: |_, first, _| first,
    },
    Break {
        name: "undefined",
        of: |_, _, _| Reading::fresh(f32::NAN),
    },
    Break {
        name: "infinite",
        of: |sound, _, _| Reading {
            value: f32::INFINITY.copysign(sound.value),
            ..sound
        },
    },
    Break {
        name: "highest",
        of: |sound, _, (_, high)| Reading {
            value: high,
            ..sound
        },
    },
    Break {
        name: "reversed",
        of: |sound, _, _| Reading {
            value: -sound.value,
            ..sound
        },
    },
    Break {
        name: "disowned",
        of: |sound, _, _| Reading {
            status: Status::INVALID,
            ..sound
        },
    },
];

impl Sequence {
    /// The same drive with its input signals broken one after the other, over and over until it ends.
    pub fn broken(&self, how: &Break) -> Self {
        let mut told = self.told.clone();
        let mut first = Reading::default();
        for (step, inputs) in told.iter_mut().enumerate() {
            let (turn, within) = (
                step / (BROKEN_STEPS + QUIET_STEPS),
                step % (BROKEN_STEPS + QUIET_STEPS),
            );
            let Some(signal) = INPUT_SIGNALS.get(turn % INPUT_SIGNALS.len()) else {
                continue;
            };
            let sound = (signal.read)(inputs);
            if within == 0 {
                first = sound;
            }
            if within < BROKEN_STEPS {
                (signal.write)(inputs, (how.of)(sound, first, (signal.low, signal.high)));
            }
        }
        Self {
            name: format!("{}-{}", self.name, how.name),
            told,
            ..self.clone()
        }
    }
}
