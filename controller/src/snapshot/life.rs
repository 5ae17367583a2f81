//! The counters of use as bytes of the stored record.
//!
//! In: [`Counters`]. Out: [`SIZE`] bytes, little endian, and back. Per clutch: heat by power 6 x 8, heat by slip 6 x 8, engagements 8, time with
//! capacity withdrawn 8, half cycles 16 x 4, turning points that wait 10 x 4, number of them 4 (bit 8: a number was taken last), that number 4,
//! heat counted 8. Then age of the oil 8, way 8, time awake 8.

use super::{Reader, Writer};
use crate::quantity::PerSide;
use crate::stage::thermal::life::{Cycles, OilAge};
use crate::stage::thermal::rainflow::Rainflow;
use crate::stage::thermal::usage::{CLASSES, ClutchUse, Counters, WAITING};

/// Bytes of one clutch.
const CLUTCH: usize =
    2 * CLASSES * 8 + 16 + crate::stage::thermal::life::CLASSES * 4 + WAITING * 4 + 8 + 8;

/// Bytes of the counters.
pub const SIZE: usize = 2 * CLUTCH + 24;

/// Set where a number was taken last.
const HAS_LAST: u32 = 1 << 8;

pub(super) fn put(writer: &mut Writer<'_>, counters: &Counters) {
    for clutch in [&counters.clutch.left, &counters.clutch.right] {
        for word in clutch.by_power_uj.iter().chain(&clutch.by_slip_uj) {
            writer.put(word.to_le_bytes());
        }
        writer.put(clutch.engagements.to_le_bytes());
        writer.put(clutch.derated_us.to_le_bytes());
        for halves in clutch.cycles.halves {
            writer.put(halves.to_le_bytes());
        }
        let (points, waits, last) = clutch.surface.to_parts();
        for point in points {
            writer.put(point.to_le_bytes());
        }
        let flag = if last.is_some() { HAS_LAST } else { 0 };
        writer.put((u32::from(waits) | flag).to_le_bytes());
        writer.put(last.unwrap_or(0).to_le_bytes());
        writer.put(clutch.counted_uj.to_le_bytes());
    }
    for word in [counters.oil.us, counters.way_mm, counters.awake_us] {
        writer.put(word.to_le_bytes());
    }
}

/// The counters; nothing where the turning points cannot be those of a course.
pub(super) fn take(reader: &mut Reader<'_>) -> Option<Counters> {
    // Both are read before either is judged: the reader must stand behind them.
    let (left, right) = (take_clutch(reader), take_clutch(reader));
    let mut word = || u64::from_le_bytes(reader.take());
    let (oil_us, way_mm, awake_us) = (word(), word(), word());
    Some(Counters {
        clutch: PerSide {
            left: left?,
            right: right?,
        },
        oil: OilAge { us: oil_us },
        way_mm,
        awake_us,
    })
}

fn take_clutch(reader: &mut Reader<'_>) -> Option<ClutchUse> {
    let mut by_power_uj = [0; CLASSES];
    let mut by_slip_uj = [0; CLASSES];
    for word in by_power_uj.iter_mut().chain(&mut by_slip_uj) {
        *word = u64::from_le_bytes(reader.take());
    }
    let engagements = u64::from_le_bytes(reader.take());
    let derated_us = u64::from_le_bytes(reader.take());
    let mut cycles = Cycles::default();
    for halves in &mut cycles.halves {
        *halves = u32::from_le_bytes(reader.take());
    }
    let mut points = [0; WAITING];
    for point in &mut points {
        *point = i32::from_le_bytes(reader.take());
    }
    let waits = u32::from_le_bytes(reader.take());
    let last = i32::from_le_bytes(reader.take());
    let counted_uj = i64::from_le_bytes(reader.take());
    let has_last = waits & HAS_LAST != 0;
    let surface = Rainflow::from_parts(
        points,
        u8::try_from(waits & !HAS_LAST).ok()?,
        has_last.then_some(last),
    )?;
    Some(ClutchUse {
        by_power_uj,
        by_slip_uj,
        engagements,
        derated_us,
        cycles,
        surface,
        counted_uj,
    })
}
