//! Frames of a car whose database is not this project's: what each signal of a frame says.
//!
//! [`reader`] reads the database, a text in the common form of CAN databases; [`recording`] turns a text log into signals with times. The
//! value of a signal is `factor * raw + offset` in its unit, raw being unsigned, signed or an IEEE 754 float, in either order of
//! bytes. A signal behind a switch is there while the switch has its value. What cannot be read so is left out with its line.

pub mod reader;
pub mod recording;
mod text;

use std::collections::BTreeMap;

pub use reader::read;
pub use recording::{Decoded, decoded};

/// Messages of a foreign database.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Database {
    /// The messages, as written.
    pub messages: Vec<Message>,
    /// What was not understood, or cannot be decoded.
    pub left_out: Vec<LeftOut>,
    /// Place of each identifier, with whether it has 29 bits.
    places: BTreeMap<(u32, bool), usize>,
}

impl Database {
    /// Place of the message of an identifier among [`Database::messages`].
    pub fn place(&self, id: u32, extended: bool) -> Option<usize> {
        self.places.get(&(id, extended)).copied()
    }
}

/// Something that was left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What, and why.
    pub what: String,
}

/// One message.
#[derive(Debug, Clone, PartialEq)]
pub struct Message {
    /// Identifier, 11 or 29 bits.
    pub id: u32,
    /// Whether it has 29 bits.
    pub extended: bool,
    /// Name.
    pub name: String,
    /// Length, bytes.
    pub length: usize,
    /// Signals that can be decoded.
    pub signals: Vec<Signal>,
}

/// Order of the bytes of a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// The lowest byte first; the place is that of the lowest bit.
    Little,
    /// The highest byte first; the place is that of the highest bit.
    Big,
}

/// What the bits of a signal are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A whole number without sign.
    Unsigned,
    /// A whole number, two's complement.
    Signed,
    /// IEEE 754, 32 bits.
    Single,
    /// IEEE 754, 64 bits.
    Double,
}

/// When a signal is in its message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// Always.
    Always,
    /// Always, and it is the switch.
    Switch,
    /// While the switch has this value.
    When(u64),
}

/// One signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal {
    /// Name.
    pub name: String,
    /// Unit as written.
    pub unit: String,
    /// Place of its first bit: byte times 8 plus bit, bit 0 the lowest of a byte.
    pub start: u32,
    /// Bits, 1 to 64.
    pub bits: u32,
    /// Order of the bytes.
    pub order: Order,
    /// What the bits are.
    pub form: Form,
    /// Factor from the raw value.
    pub factor: f64,
    /// Added after the factor.
    pub offset: f64,
    /// Lowest and highest value, where the database says some.
    pub range: Option<(f64, f64)>,
    /// When it is there.
    pub shown: Shown,
}

impl Signal {
    /// Whether all bits lie in so many bytes.
    pub fn fits(&self, length: usize) -> bool {
        let first = match self.order {
            Order::Little => self.start,
            Order::Big => from_the_left(self.start),
        };
        let end = u64::from(first) + u64::from(self.bits);
        (1..=64).contains(&self.bits) && end <= 8 * length as u64
    }

    /// The bits, right-aligned; nothing if the frame is too short.
    pub fn raw(&self, data: &[u8]) -> Option<u64> {
        let mut raw = 0_u64;
        for index in 0..self.bits.min(64) {
            let (place, bit) = match self.order {
                Order::Little => {
                    let at = self.start + self.bits.min(64) - 1 - index;
                    (at / 8, at % 8)
                }
                Order::Big => {
                    let at = from_the_left(self.start) + index;
                    (at / 8, 7 - at % 8)
                }
            };
            let byte = *data.get(place as usize)?;
            raw = (raw << 1) | u64::from((byte >> bit) & 1);
        }
        Some(raw)
    }

    /// The value of a frame in the signal's unit; nothing if the frame is too short.
    pub fn value(&self, data: &[u8]) -> Option<f64> {
        let raw = self.raw(data)?;
        let beside = 64 - self.bits.clamp(1, 64);
        let number = match self.form {
            Form::Unsigned => raw as f64,
            Form::Signed => (((raw << beside) as i64) >> beside) as f64,
            Form::Single => f64::from(f32::from_bits(raw as u32)),
            Form::Double => f64::from_bits(raw),
        };
        Some(number * self.factor + self.offset)
    }
}

/// Place of a bit counted from the highest of the first byte.
fn from_the_left(start: u32) -> u32 {
    start / 8 * 8 + (7 - start % 8)
}

/// What a frame says of a signal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Said {
    /// This value.
    Value(f64),
    /// Nothing: the switch has another value.
    Elsewhere,
    /// Nothing: the frame is too short.
    Short,
}

impl Message {
    /// What a frame says of each signal, in their order.
    pub fn said<'a>(&'a self, data: &'a [u8]) -> impl Iterator<Item = Said> + 'a {
        let switch = self
            .signals
            .iter()
            .find(|signal| signal.shown == Shown::Switch);
        let switched = switch.and_then(|signal| signal.raw(data));
        self.signals.iter().map(move |signal| match signal.shown {
            Shown::When(wanted) if switched != Some(wanted) => Said::Elsewhere,
            _ => signal.value(data).map_or(Said::Short, Said::Value),
        })
    }
}
