//! Measurement files after ASAM MDF 4.10.
//!
//! Written: little endian, records sorted, one data group for each rate, 64-bit time as master, 32-bit floats, unit and
//! comment of each channel. Read: what is written, and the files of other programs with integers and floats, linear
//! conversions, invalidation bits, lists of data blocks, deflated and transposed blocks. Refused by name, for the file:
//! unsorted groups, unfinished files, column-oriented data; for a channel, while the others are read: variable length, big
//! endian, texts, tables and other conversions. Source: ASAM MDF 4.1 data format (block layouts; held against `asammdf`
//! in `tests/interop/mdf`).

mod blocks;
mod pieces;
mod read;
mod write;

pub use read::{Found, Skipped, read};
pub use write::MdfWriter;

use std::fmt;

/// Bounds on what a reader may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Most bytes of values held at once.
    pub values_bytes: u64,
    /// Most bytes of one inflated block.
    pub block_bytes: u64,
}

impl Default for Limits {
    /// 4 GiB of values, 64 MiB a block (the standard advises 4 MiB).
    fn default() -> Self {
        Self {
            values_bytes: 4 << 30,
            block_bytes: 64 << 20,
        }
    }
}

/// Why a file cannot be read, and where.
#[derive(Debug)]
pub struct Unreadable {
    /// Byte of the file.
    pub at: u64,
    /// What is wrong there.
    pub wrong: Wrong,
}

/// What can be wrong with a file.
#[derive(Debug)]
pub enum Wrong {
    /// It does not begin as such a file does.
    NotMdf,
    /// It was not closed by its writer.
    Unfinished,
    /// Its version is not 4.
    Version(u16),
    /// A block goes beyond the end of the file.
    BeyondEnd {
        /// Bytes wanted.
        wanted: u64,
        /// Bytes of the file.
        file: u64,
    },
    /// Another block is expected here.
    NotBlock {
        /// Its name, as `##CN`.
        expected: &'static str,
        /// The four bytes that stand here.
        found: [u8; 4],
    },
    /// A block is too short for its kind.
    ShortBlock {
        /// Its name.
        name: &'static str,
        /// Its length.
        length: u64,
    },
    /// A block is reached a second time.
    Loop,
    /// A name or text is no UTF-8 or too long.
    Text,
    /// Something the standard allows and this reader does not do.
    NotSupported(&'static str),
    /// The data blocks hold fewer bytes than the records need.
    TooFewBytes {
        /// Records named.
        records: u64,
        /// Bytes they need.
        need: u64,
        /// Bytes there are.
        have: u64,
    },
    /// More memory is needed than allowed.
    TooMuch {
        /// Bytes needed.
        need: u64,
        /// Bytes allowed.
        allowed: u64,
    },
    /// A compressed block does not inflate to what it says.
    Inflate,
    /// A channel lies outside its record.
    OutsideRecord,
    /// A group has no time.
    NoTime,
    /// Time does not rise.
    TimeFalls {
        /// Record, from 0.
        record: u64,
    },
    /// The operating system could not read.
    System(std::io::Error),
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "byte {}: ", self.at)?;
        match &self.wrong {
            Wrong::NotMdf => write!(
                f,
                "this is no MDF 4 file: it does not begin with `MDF     `"
            ),
            Wrong::Unfinished => write!(f, "the file was not closed by the program that wrote it"),
            Wrong::Version(version) => write!(f, "version {version}; 400 to 499 are read"),
            Wrong::BeyondEnd { wanted, file } => {
                write!(
                    f,
                    "{wanted} bytes are wanted here, but the file ends at {file}"
                )
            }
            Wrong::NotBlock { expected, found } => write!(
                f,
                "a block {expected} is expected, `{}` is there",
                String::from_utf8_lossy(found).escape_debug()
            ),
            Wrong::ShortBlock { name, length } => {
                write!(f, "a block {name} of {length} bytes is too short")
            }
            Wrong::Loop => write!(f, "this block is used a second time: the links form a loop"),
            Wrong::Text => write!(f, "a text that is no UTF-8 or longer than 4096 bytes"),
            Wrong::NotSupported(what) => write!(f, "{what}: not read by this program"),
            Wrong::TooFewBytes {
                records,
                need,
                have,
            } => write!(
                f,
                "{records} records need {need} bytes, the data blocks hold {have}"
            ),
            Wrong::TooMuch { need, allowed } => {
                write!(
                    f,
                    "{need} bytes of memory are needed, {allowed} are allowed"
                )
            }
            Wrong::Inflate => write!(f, "the compressed block does not inflate to what it says"),
            Wrong::OutsideRecord => write!(f, "the channel lies outside its record"),
            Wrong::NoTime => write!(f, "the group has no time channel"),
            Wrong::TimeFalls { record } => write!(f, "time does not rise at record {record}"),
            Wrong::System(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for Unreadable {}
