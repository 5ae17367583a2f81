//! What a frame and a placed signal are; how a number becomes a raw value and back.
//!
//! `number = (raw + offset) * step`, the step a power of two, the offset whole steps: exact in single precision, both ways.
//! The two highest raw values of every signal are no numbers: all ones is "not available", one less "error", as is common
//! practice on buses of heavy vehicles (SAE J1939-71, from memory). Where asking for nothing is a number of its own (the
//! largest of single precision), the third highest stands for it. A raw value between the highest number and these is
//! nobody's and comes in as an error. Conversion to raw goes through fixed-point numbers with 24 bits of a step.

use couplet_controller::signal::inputs::InputSignal;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS, OutputSignal};
use fixed::types::I40F24;

use crate::bits::{self, Order, ones};

/// Who sends a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Node {
    /// The rest of the car: sensors, powertrain, master controller.
    Car,
    /// The rear axle's controller.
    Axle,
}

/// End-to-end protection of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Profile {
    /// AUTOSAR profile 1: check sum of 8 bits in byte 0, counter 0 to 14 in the low half of byte 1.
    P01,
    /// AUTOSAR profile 5: check sum of 16 bits in bytes 0 and 1, counter 0 to 255 in byte 2.
    P05,
}

/// Which way a number between two steps goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearer; from the middle to the even one.
    Nearest,
    /// Down: caps and grants never grow on the bus.
    Down,
    /// Up: what is more than nothing never becomes nothing.
    Up,
}

/// What becomes of a number outside its range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beyond {
    /// It goes out as an error: at the end of the range it would be believed.
    Error,
    /// It goes out as the end of the range, and that is reported.
    End,
}

/// The signal placed.
#[derive(Debug, Clone, Copy)]
pub enum Source {
    /// An input of the law.
    Input(&'static InputSignal),
    /// An output of the law.
    Output(&'static OutputSignal),
}

/// A signal in a frame.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// The signal: name, unit, range, meaning.
    pub source: Source,
    /// Its place in the table of inputs or of outputs.
    pub position: usize,
    /// Start bit, numbered as in [`bits`].
    pub start: u16,
    /// Length, bits.
    pub bits: u8,
    /// Byte order.
    pub order: Order,
    /// The step is two to this power, in the signal's unit.
    pub exponent: i8,
    /// Raw value zero means this many steps.
    pub offset_steps: i32,
    /// Lowest raw value that is a number of the signal's range.
    pub lowest_raw: u32,
    /// Highest raw value that is a number.
    pub highest_raw: u32,
    /// Rounding.
    pub rounding: Rounding,
    /// What becomes of a number outside the range.
    pub beyond: Beyond,
    /// Whether the largest number of single precision asks for nothing and has a raw value of its own.
    pub nothing: bool,
}

/// A frame as the table describes it.
#[derive(Debug, Clone, Copy)]
pub struct FrameLayout {
    /// Name in whole words.
    pub name: &'static str,
    /// Identifier, 11 bits.
    pub id: u16,
    /// Length, bytes.
    pub length: u8,
    /// Period, ms.
    pub period_ms: u16,
    /// Sender.
    pub by: Node,
    /// Protection.
    pub profile: Profile,
    /// Identifier of the data for the protection: never sent, but part of the check sum.
    pub data_id: u16,
    /// What the frame is for.
    pub meaning: &'static str,
    /// Its signals.
    pub signals: &'static [Placed],
}

/// What a raw value says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Decoded {
    /// A number of the signal's range, or that asks for nothing.
    Number(f32),
    /// The sender has none.
    NotAvailable,
    /// The sender has one that is no number or outside its range, or the raw value is nobody's.
    Error,
}

/// What became of a number on its way to the raw value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It is sent, rounded to a step.
    Sent,
    /// It lay beyond the range and is sent as its end.
    Saturated,
    /// It was no number or outside the range, and is sent as an error.
    Error,
}

impl FrameLayout {
    /// Time after the last good frame from which its signals are lost, microseconds: four periods.
    pub fn time_out_us(&self) -> u64 {
        u64::from(self.period_ms).wrapping_mul(4_000)
    }

    /// Bits of the protection at the front of the frame.
    pub const fn header_bits(&self) -> u16 {
        match self.profile {
            Profile::P01 => 12,
            Profile::P05 => 24,
        }
    }
}

impl Placed {
    /// Name in whole words.
    pub fn name(&self) -> &'static str {
        match self.source {
            Source::Input(signal) => signal.name,
            Source::Output(signal) => signal.name,
        }
    }

    /// Unit in SI notation.
    pub fn unit(&self) -> &'static str {
        match self.source {
            Source::Input(signal) => signal.unit,
            Source::Output(signal) => signal.unit,
        }
    }

    /// Meaning and sign.
    pub fn meaning(&self) -> &'static str {
        match self.source {
            Source::Input(signal) => signal.meaning,
            Source::Output(signal) => signal.meaning,
        }
    }

    /// Range of the signal itself; the raw range holds it.
    pub fn range(&self) -> (f32, f32) {
        match self.source {
            Source::Input(signal) => (signal.low, signal.high),
            Source::Output(signal) => (signal.low, signal.high),
        }
    }

    /// Size of a step in the signal's unit.
    pub fn step(&self) -> f32 {
        power_of_two(self.exponent)
    }

    /// Raw value of "not available".
    pub fn not_available(&self) -> u32 {
        ones(self.bits)
    }

    /// Raw value of "error".
    pub fn error(&self) -> u32 {
        ones(self.bits).wrapping_sub(1)
    }

    /// Raw value of "asks for nothing", where there is one.
    pub fn asks_for_nothing(&self) -> Option<u32> {
        self.nothing.then(|| ones(self.bits).wrapping_sub(2))
    }

    /// The raw value of a number.
    pub fn encode(&self, number: f32) -> (u32, Fate) {
        if let (Some(raw), true) = (self.asks_for_nothing(), number == f32::MAX) {
            return (raw, Fate::Sent);
        }
        let (low, high) = self.range();
        let inside = low <= number && number <= high;
        if number.is_nan() || (!inside && self.beyond == Beyond::Error) {
            return (self.error(), Fate::Error);
        }
        let end = |above: bool| {
            let raw = if above {
                self.highest_raw
            } else {
                self.lowest_raw
            };
            (raw, Fate::Saturated)
        };
        if !inside {
            return end(number > high);
        }
        // Exact: the step is a power of two.
        let Some(steps) =
            I40F24::checked_from_num(number * power_of_two(self.exponent.wrapping_neg()))
        else {
            return end(number > 0.0);
        };
        let whole = match self.rounding {
            Rounding::Nearest => steps.checked_round_ties_even(),
            Rounding::Down => steps.checked_floor(),
            Rounding::Up => steps.checked_ceil(),
        };
        let Some(whole) = whole else {
            return end(number > 0.0);
        };
        let raw = (whole.to_bits() >> 24).wrapping_sub(i64::from(self.offset_steps));
        if raw > i64::from(self.highest_raw) {
            return end(true);
        }
        (raw.max(i64::from(self.lowest_raw)) as u32, Fate::Sent)
    }

    /// What a raw value says.
    pub fn decode(&self, raw: u32) -> Decoded {
        if raw == self.not_available() {
            Decoded::NotAvailable
        } else if Some(raw) == self.asks_for_nothing() {
            Decoded::Number(f32::MAX)
        } else if self.lowest_raw <= raw && raw <= self.highest_raw {
            let steps = i64::from(raw).wrapping_add(i64::from(self.offset_steps));
            Decoded::Number(steps as f32 * self.step())
        } else {
            Decoded::Error
        }
    }

    /// Reads the raw value from a frame's bytes.
    pub fn raw(&self, bytes: &[u8]) -> u32 {
        bits::read(bytes, self.start, self.bits, self.order)
    }

    /// Writes a raw value to a frame's bytes.
    pub fn put(&self, bytes: &mut [u8], raw: u32) {
        bits::write(bytes, self.start, self.bits, self.order, raw);
    }
}

/// Two to a power from -126 to 127.
pub const fn power_of_two(exponent: i8) -> f32 {
    f32::from_bits((exponent as i32).wrapping_add(127).cast_unsigned() << 23)
}

/// Where in the table of inputs a name stands; behind its end if it does not, which does not compile in the table of frames.
pub(crate) const fn input(name: &str) -> usize {
    let mut position = 0;
    while position < INPUT_SIGNALS.len() {
        if same(INPUT_SIGNALS[position].name, name) {
            return position;
        }
        position += 1;
    }
    INPUT_SIGNALS.len()
}

/// The same in the table of outputs.
pub(crate) const fn output(name: &str) -> usize {
    let mut position = 0;
    while position < OUTPUT_SIGNALS.len() {
        if same(OUTPUT_SIGNALS[position].name, name) {
            return position;
        }
        position += 1;
    }
    OUTPUT_SIGNALS.len()
}

const fn same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    if one.len() != other.len() {
        return false;
    }
    let mut place = 0;
    while place < one.len() {
        if one[place] != other[place] {
            return false;
        }
        place += 1;
    }
    true
}

/// A place for a signal, its raw range worked out; refuses to compile if the range does not fit below the reserved values.
pub(crate) const fn placed(
    (source, position): (Source, usize),
    (start, bits, order): (u16, u8, Order),
    (exponent, from): (i8, i32),
    rounding: Rounding,
    beyond: Beyond,
    nothing: bool,
) -> Placed {
    let offset_steps = if exponent <= 0 {
        from << -exponent
    } else {
        from >> exponent
    };
    let (low, high) = match source {
        Source::Input(signal) => (signal.low, signal.high),
        Source::Output(signal) => (signal.low, signal.high),
    };
    let step = power_of_two(exponent) as f64;
    let lowest = (low as f64 - from as f64) / step;
    let highest = (high as f64 - from as f64) / step;
    let most = ones(bits) as i64 - 2 - nothing as i64;
    assert!(0 < bits && bits <= bits::MOST_BITS);
    assert!(lowest >= 0.0, "the range begins below raw value zero");
    let lowest_raw = lowest as u32;
    // A whole number above the end: every number of the range is sent as one of it.
    let mut highest_raw = if highest > most as f64 {
        assert!(nothing, "the range reaches into the reserved raw values");
        most
    } else {
        highest as i64
    };
    if (highest_raw as f64) < highest && !nothing {
        highest_raw += 1;
    }
    assert!(
        highest_raw <= most,
        "the range reaches into the reserved raw values"
    );
    Placed {
        source,
        position,
        start,
        bits,
        order,
        exponent,
        offset_steps,
        lowest_raw,
        highest_raw: highest_raw as u32,
        rounding,
        beyond,
        nothing,
    }
}
