//! Reads measurement files: descriptions first, then the values of the wanted channels, data block by data block.
//!
//! Memory: the wanted values as `f64`, and one data block. A record may begin in one block and end in the next.

use std::io::{Read, Seek};

use couplet_sim::record::recording::{Group, Recording, Signal};

use super::blocks::{Block, Blocks};
use super::pieces::{Piece, data_pieces, unpack};
use super::{Limits, Unreadable, Wrong};

/// Bytes read at once of a plain data block.
const PIECE: u64 = 1 << 20;

/// What a file holds.
#[derive(Debug)]
pub struct Found {
    /// What could be read.
    pub recording: Recording,
    /// Channels that could not, with the reason.
    pub skipped: Vec<Skipped>,
}

/// A channel that is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skipped {
    /// Place of its description.
    pub at: u64,
    /// Its name.
    pub name: String,
    /// Why.
    pub why: &'static str,
}

/// How a number lies in a record.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Unsigned,
    Signed,
    Single,
    Double,
    /// The number of the record itself.
    Count,
}

#[derive(Debug)]
struct Plan {
    signal: Signal,
    master: bool,
    kind: Kind,
    byte: usize,
    bit: u32,
    bits: u32,
    /// Bit behind the data that says there is no value.
    invalid: Option<usize>,
    offset: f64,
    factor: f64,
}

/// Reads the channels whose names `wanted` says yes to; times always.
///
/// # Errors
/// What is wrong, and at which byte.
pub fn read<R: Read + Seek>(
    source: R,
    limits: &Limits,
    wanted: &dyn Fn(&str) -> bool,
) -> Result<Found, Unreadable> {
    let mut blocks = Blocks::new(source)?;
    identification(&mut blocks)?;
    let header = blocks.block(64, "##HD")?;
    let mut found = Found {
        recording: Recording {
            comment: blocks.text(header.link(5), false)?,
            groups: Vec::new(),
        },
        skipped: Vec::new(),
    };
    let mut taken = 0;
    let mut at = header.link(0);
    while at != 0 {
        blocks.once(at)?;
        let group = blocks.block(at, "##DG")?;
        data_group(&mut blocks, &group, limits, wanted, &mut taken, &mut found)?;
        at = group.link(0);
    }
    Ok(found)
}

fn identification<R: Read + Seek>(blocks: &mut Blocks<R>) -> Result<(), Unreadable> {
    let at = |at, wrong| Err(Unreadable { at, wrong });
    let mut raw = Vec::new();
    if blocks.length < 64 {
        return at(0, Wrong::NotMdf);
    }
    blocks.bytes(0, 64, &mut raw)?;
    if raw.starts_with(b"UnFinMF ") {
        return at(0, Wrong::Unfinished);
    }
    if !raw.starts_with(b"MDF     ") {
        return at(0, Wrong::NotMdf);
    }
    let version = u16::from_le_bytes([raw[28], raw[29]]);
    if !(400..500).contains(&version) {
        return at(28, Wrong::Version(version));
    }
    Ok(())
}

fn data_group<R: Read + Seek>(
    blocks: &mut Blocks<R>,
    group: &Block,
    limits: &Limits,
    wanted: &dyn Fn(&str) -> bool,
    taken: &mut u64,
    found: &mut Found,
) -> Result<(), Unreadable> {
    let at = group.link(1);
    if at == 0 {
        return Ok(());
    }
    let refuse = |at, wrong| Err(Unreadable { at, wrong });
    blocks.once(at)?;
    let channels = blocks.block(at, "##CG")?;
    if group.byte(0)? != 0 || channels.link(0) != 0 {
        let what = "an unsorted data group (several channel groups or record ids in one)";
        return refuse(group.at, Wrong::NotSupported(what));
    }
    let cycles = channels.long(8)?;
    let flags = u16::from_le_bytes(channels.array(16)?);
    if flags & 1 != 0 {
        return refuse(at, Wrong::NotSupported("a group of variable length (VLSD)"));
    }
    let data_bytes = u64::from(channels.word(24)?);
    let record_bytes = data_bytes + u64::from(channels.word(28)?);
    let mut plans = Vec::new();
    let mut link = channels.link(1);
    while link != 0 {
        blocks.once(link)?;
        let channel = blocks.block(link, "##CN")?;
        if let Some(plan) = plan(blocks, &channel, (data_bytes, record_bytes), wanted, found)? {
            plans.push(plan);
        }
        link = channel.link(0);
    }
    if cycles == 0 || !plans.iter().any(|plan| !plan.master) {
        return Ok(());
    }
    if plans.iter().filter(|plan| plan.master).count() != 1 {
        return refuse(at, Wrong::NoTime);
    }
    let need = cycles.checked_mul(record_bytes);
    let pieces = if record_bytes == 0 {
        Vec::new()
    } else {
        data_pieces(blocks, group.link(2), limits)?
    };
    let have: u64 = pieces.iter().map(|piece| piece.bytes).sum();
    let Some(need) = need.filter(|need| *need <= have && record_bytes > 0) else {
        let need = need.unwrap_or(u64::MAX);
        return refuse(
            at,
            Wrong::TooFewBytes {
                records: cycles,
                need,
                have,
            },
        );
    };
    let held = cycles.saturating_mul(8).saturating_mul(plans.len() as u64);
    *taken = taken.saturating_add(held);
    if *taken > limits.values_bytes {
        let (need, allowed) = (*taken, limits.values_bytes);
        return refuse(at, Wrong::TooMuch { need, allowed });
    }
    for plan in &mut plans {
        plan.signal.values.reserve_exact(cycles as usize);
    }
    let name = blocks.text(channels.link(2), false)?;
    fill(
        blocks,
        &pieces,
        need,
        (data_bytes, record_bytes),
        &mut plans,
    )?;
    let mut made = Group {
        name,
        ..Group::default()
    };
    for plan in plans {
        if plan.master {
            made.time_s = plan.signal.values;
        } else {
            made.signals.push(plan.signal);
        }
    }
    let mut before = f64::MIN;
    let risen = made.time_s.iter().position(|time_s| {
        let falls = !(time_s.is_finite() && *time_s >= before);
        before = *time_s;
        falls
    });
    if let Some(record) = risen {
        let record = record as u64;
        return refuse(at, Wrong::TimeFalls { record });
    }
    found.recording.groups.push(made);
    Ok(())
}

/// What is to be done with a channel; nothing if it is not wanted or not read.
fn plan<R: Read + Seek>(
    blocks: &mut Blocks<R>,
    channel: &Block,
    (data_bytes, record_bytes): (u64, u64),
    wanted: &dyn Fn(&str) -> bool,
    found: &mut Found,
) -> Result<Option<Plan>, Unreadable> {
    let name = blocks.text(channel.link(2), true)?;
    let channel_type = channel.byte(0)?;
    let master = matches!(channel_type, 2 | 3) && channel.byte(1)? == 1;
    if !master && !wanted(&name) {
        return Ok(None);
    }
    let mut skip = |why: &'static str| {
        found.skipped.push(Skipped {
            at: channel.at,
            name: name.clone(),
            why,
        });
        Ok(None)
    };
    let bits = channel.word(8)?;
    let kind = match (channel_type, channel.byte(2)?, bits) {
        (3 | 6, _, _) => Kind::Count,
        (0 | 2, 0, 1..=64) => Kind::Unsigned,
        (0 | 2, 2, 1..=64) => Kind::Signed,
        (0 | 2, 4, 32) => Kind::Single,
        (0 | 2, 4, 64) => Kind::Double,
        (1, _, _) => return skip("variable length (VLSD)"),
        (4, _, _) => return skip("a synchronisation channel"),
        (5, _, _) => return skip("variable length (MLSD)"),
        (_, 1 | 3 | 5, _) => return skip("big endian"),
        (_, 4, _) => return skip("a floating-point number of neither 32 nor 64 bits"),
        (_, 0 | 2, _) => return skip("a whole number of more than 64 bits"),
        _ => return skip("text, bytes or dates"),
    };
    if channel.link(1) != 0 {
        return skip("a channel composed of others");
    }
    let (mut offset, mut factor) = (0.0, 1.0);
    if channel.link(4) != 0 {
        let conversion = blocks.block(channel.link(4), "##CC")?;
        match conversion.byte(0)? {
            0 => {}
            1 => {
                offset = f64::from_bits(conversion.long(24)?);
                factor = f64::from_bits(conversion.long(32)?);
            }
            2 => return skip("a rational conversion"),
            3 => return skip("a conversion by a formula"),
            _ => return skip("a conversion by a table"),
        }
    }
    let (byte, bit) = (u64::from(channel.word(4)?), u32::from(channel.byte(3)?));
    let flags = channel.word(12)?;
    let end = byte * 8 + u64::from(bit) + u64::from(bits);
    let outside = kind != Kind::Count && (end > data_bytes * 8 || bit > 7);
    let float = matches!(kind, Kind::Single | Kind::Double);
    let invalid = (flags & 2 != 0).then_some(channel.word(16)? as usize);
    let invalid_outside = invalid.is_some_and(|bit| bit as u64 / 8 >= record_bytes - data_bytes);
    if outside || invalid_outside || (float && bit != 0) {
        return Err(Unreadable {
            at: channel.at,
            wrong: Wrong::OutsideRecord,
        });
    }
    if flags & 1 != 0 {
        return skip("all of its values are marked as invalid");
    }
    Ok(Some(Plan {
        signal: Signal {
            name,
            unit: blocks.text(channel.link(6), false)?,
            comment: blocks.text(channel.link(7), false)?,
            values: Vec::new(),
        },
        master,
        kind,
        byte: byte as usize,
        bit,
        bits,
        invalid,
        offset,
        factor,
    }))
}

/// Puts the records of the pieces, at most `need` bytes, into the plans.
fn fill<R: Read + Seek>(
    blocks: &mut Blocks<R>,
    pieces: &[Piece],
    mut need: u64,
    (data_bytes, record_bytes): (u64, u64),
    plans: &mut [Plan],
) -> Result<(), Unreadable> {
    let width = record_bytes as usize;
    // Begins with what the piece before left of a record.
    let mut open: Vec<u8> = Vec::new();
    let mut raw = Vec::new();
    let mut record = 0;
    for piece in pieces {
        let mut from = 0;
        while from < piece.bytes && need > 0 {
            let (at, taken) = match piece.packed {
                None => {
                    let taken = PIECE.min(piece.bytes - from);
                    blocks.bytes(piece.header.data_at() + from, taken, &mut raw)?;
                    (piece.header.data_at() + from, taken)
                }
                Some(columns) => {
                    unpack(blocks, piece, columns, &mut raw)?;
                    (piece.header.at, piece.bytes)
                }
            };
            debug_assert!(at > 0);
            from += taken;
            let used = taken.min(need);
            need -= used;
            open.extend_from_slice(&raw[..used as usize]);
            let whole = open.len() / width * width;
            for bytes in open[..whole].chunks_exact(width) {
                for plan in plans.iter_mut() {
                    let value = plan.value(bytes, record, data_bytes as usize);
                    plan.signal.values.push(value);
                }
                record += 1;
            }
            open.drain(..whole);
        }
    }
    Ok(())
}

impl Plan {
    fn value(&self, record: &[u8], number: u64, data_bytes: usize) -> f64 {
        if let Some(bit) = self.invalid {
            let byte = record.get(data_bytes + bit / 8).copied().unwrap_or(0);
            if byte >> (bit % 8) & 1 != 0 {
                return f64::NAN;
            }
        }
        // The place was checked against the record.
        let bytes = record.get(self.byte..).unwrap_or_default();
        let raw = match self.kind {
            Kind::Count => number as f64,
            Kind::Single => bytes
                .first_chunk()
                .map_or(f64::NAN, |four| f64::from(f32::from_le_bytes(*four))),
            Kind::Double => bytes
                .first_chunk()
                .map_or(f64::NAN, |eight| f64::from_le_bytes(*eight)),
            Kind::Unsigned => self.whole(bytes) as f64,
            Kind::Signed => {
                let unused = 64 - self.bits;
                ((self.whole(bytes) << unused).cast_signed() >> unused) as f64
            }
        };
        if self.factor == 1.0 && self.offset == 0.0 {
            raw
        } else {
            self.offset + self.factor * raw
        }
    }

    /// The bits of a whole number, from the lowest.
    fn whole(&self, bytes: &[u8]) -> u64 {
        let taken = (self.bit + self.bits).div_ceil(8) as usize;
        let mut wide = 0_u128;
        for (place, byte) in bytes.iter().take(taken).enumerate() {
            wide |= u128::from(*byte) << (8 * place);
        }
        let kept = u128::MAX >> (128 - self.bits);
        (wide >> self.bit & kept) as u64
    }
}
