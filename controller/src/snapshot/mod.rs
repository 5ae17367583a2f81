//! What survives key-off: a versioned record with a check sum, in two slots.
//!
//! In: [`Snapshot`]. Out: [`SIZE`] bytes, little endian, and back. Layout: magic 4, version 2, length 2, sequence 4,
//! tick 8, key-off time 8, ledger 88, bound of the temperatures 6 x 4 (1/1000 K), touch points 2 x 4 (microbar), radius ratios 3 x 4 (1/2^24), flags 4 (clutch ordered open: left 1,
//! right 2; drive under way: 4), valves 4 x 4 (microbar, 1/2^24), counters of use ([`life`]), CRC 4. Version 1 knew no drive under way,
//! versions 1 and 2 kept no bound, 3 no valves and no counters of use; all are still read, and heat whose use is not known then counts in
//! the highest classes.
//!
//! Use: at key-on, once the old record is read, one with [`Snapshot::under_way`] is written, at key-off one without. So a drive that ended
//! without key-off, or whose last record was torn, is seen: [`recall`] says what is missing, and the heat is then bounded instead of read.
//! What is written is read back: a unit that cannot write the record of a drive under way must not close its clutches. The end of the
//! line writes two records, so that both slots are whole from the first key-on on.
//!
//! Two slots are written in turn, never the newer one, so a write torn by a loss of power leaves the one before. A record
//! is taken whole or refused with a reason; every single-bit error is refused. CRC-32P4: polynomial F4ACFB13 (reflected
//! C8DF352F), start and final exclusive-or FFFFFFFF, check value of "123456789" 1697D06A; AUTOSAR CRC library profile,
//! from the public catalogue of CRC parameters. Limits: nothing of a running drive (speeds, filters, integrators) is
//! kept; see the state of each stage for that.

pub mod life;
mod most;
mod valve;

pub use most::MostStored;
pub use valve::ValveStored;

use crate::numerics::Scalar;
use crate::quantity::{PerSide, Tick};
use crate::stage::thermal::Rest;
use crate::stage::thermal::ledger::Ledger;
use crate::stage::thermal::usage::{ClutchUse, Counters};
use core::fmt;

/// Bytes of a stored record.
pub const SIZE: usize = SIZE_WITHOUT_LIFE + 4 * ValveStored::WORDS + life::SIZE;

/// Bytes of a record that kept neither counters of use nor what was learned of the valves.
pub const SIZE_WITHOUT_LIFE: usize = 168;

/// Bytes of a record that kept no bound.
pub const SIZE_WITHOUT_BOUND: usize = 144;

/// First four bytes of a record.
pub const MAGIC: [u8; 4] = *b"CPLT";

/// Version of the layout.
pub const VERSION: u16 = 4;

/// Oldest layout that is still read.
pub const OLDEST_VERSION: u16 = 1;

/// Last layout without a bound.
const LAST_WITHOUT_BOUND: u16 = 2;

/// Last layout without counters of use.
const LAST_WITHOUT_LIFE: u16 = 3;

/// The persistent subset of the controller's state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Snapshot {
    /// Number of this record; the newer of two has the higher one.
    pub sequence: u32,
    /// Control steps since the unit was new, at key-off.
    pub tick: Tick,
    /// Time of the car's clock at key-off, s; its zero is the car's affair.
    pub key_off_s: u64,
    /// Energies of the axle and what passed its border.
    pub ledger: Ledger,
    /// Temperatures the axle may have had at most; nothing in a record of an older layout.
    pub most: Option<MostStored>,
    /// Learned touch-point offset of each clutch, microbar.
    pub touch_point_microbar: PerSide<i32>,
    /// Learned offset and gain of each valve.
    pub valve: ValveStored,
    /// Learned ratios of rolling radii.
    pub radius_ratios: RadiusRatios,
    /// Orders to open that stood at key-off because of an absolute temperature.
    pub open: PerSide<bool>,
    /// Whether the drive goes on after this record: heat may be made that it does not know.
    pub under_way: bool,
    /// Counters of use.
    pub life: Counters,
}

/// Three ratios of rolling radii (wheel speeds give ratios, not scale), in units of 1/2^24: an `f32` near 1 fits exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RadiusRatios {
    /// Front right over front left.
    pub front: i32,
    /// Rear right over rear left.
    pub rear: i32,
    /// Mean rear over mean front.
    pub rear_over_front: i32,
}

impl RadiusRatios {
    /// The number 1.
    pub const ONE: i32 = 1 << 24;

    /// A ratio in stored form; one that is no number or absurd counts as 1, nothing learned.
    pub fn stored<S: Scalar>(ratio: S) -> i32 {
        let plain = ratio > S::HALF && ratio < S::of(2.0);
        // In f64: rounding an f32 between 2^23 and 2^24 to a whole number moves odd ones by one.
        let exact = if plain {
            f64::from(ratio.to_f32())
        } else {
            1.0
        };
        let whole = (exact * f64::from(Self::ONE)).to_whole();
        i32::try_from(whole).unwrap_or(Self::ONE)
    }

    /// A ratio from its stored form.
    pub fn ratio<S: Scalar>(stored: i32) -> S {
        S::from_whole(i64::from(stored)).over(S::from_whole(i64::from(Self::ONE)), S::ONE)
    }
}

impl Default for RadiusRatios {
    fn default() -> Self {
        Self {
            front: Self::ONE,
            rear: Self::ONE,
            rear_over_front: Self::ONE,
        }
    }
}

/// Why stored bytes are not taken. Declared in the order of the checks: a later one got further.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Refusal {
    /// Does not begin like a record: an empty slot or other data.
    Magic,
    /// Another version of the layout, written by another version of the software.
    Version(u16),
    /// Another length than the layout's.
    Length(u16),
    /// The check sum does not fit: a torn write or a damaged memory.
    Crc,
    /// Intact, but the ledger does not balance or a learned value lies outside any car: a fault of the writer.
    Implausible,
}

impl fmt::Display for Refusal {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Magic => {
                out.write_str("no stored record here: the slot is empty or holds something else")
            }
            Self::Version(found) => {
                write!(
                    out,
                    "stored by another software version: layout {found}, expected {VERSION}"
                )
            }
            Self::Length(found) => write!(out, "stored length {found}, expected {SIZE}"),
            Self::Crc => out.write_str("stored record is damaged: check sum does not fit"),
            Self::Implausible => {
                out.write_str("stored record is intact but cannot be true: the writer was at fault")
            }
        }
    }
}

impl core::error::Error for Refusal {}

/// One of the two places a record is stored in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Slot {
    /// The first place.
    A,
    /// The second place.
    B,
}

impl Snapshot {
    /// The record as bytes.
    pub fn encode(&self) -> [u8; SIZE] {
        let mut bytes = [0; SIZE];
        let mut writer = Writer { rest: &mut bytes };
        writer.put(MAGIC);
        writer.put(VERSION.to_le_bytes());
        writer.put((SIZE as u16).to_le_bytes());
        writer.put(self.sequence.to_le_bytes());
        writer.put(self.tick.0.to_le_bytes());
        writer.put(self.key_off_s.to_le_bytes());
        for word in self.ledger.to_words() {
            writer.put(word.to_le_bytes());
        }
        // A record that never had a bound is written with the hottest one.
        let unknown = MostStored::from_words([MostStored::HIGHEST; 6]);
        for word in self.most.unwrap_or(unknown).words() {
            writer.put(word.to_le_bytes());
        }
        writer.put(self.touch_point_microbar.left.to_le_bytes());
        writer.put(self.touch_point_microbar.right.to_le_bytes());
        writer.put(self.radius_ratios.front.to_le_bytes());
        writer.put(self.radius_ratios.rear.to_le_bytes());
        writer.put(self.radius_ratios.rear_over_front.to_le_bytes());
        let flags = u32::from(self.open.left)
            | (u32::from(self.open.right) << 1)
            | (u32::from(self.under_way) << 2);
        writer.put(flags.to_le_bytes());
        for word in self.valve.words() {
            writer.put(word.to_le_bytes());
        }
        life::put(&mut writer, &self.life);
        if let Some((content, check)) = bytes.split_last_chunk_mut::<4>() {
            *check = crc32_p4(content).to_le_bytes();
        }
        bytes
    }

    /// The record from bytes, whole or not at all.
    pub fn decode(bytes: &[u8; SIZE]) -> Result<Self, Refusal> {
        let mut reader = Reader { rest: bytes };
        if reader.take() != MAGIC {
            return Err(Refusal::Magic);
        }
        let version = u16::from_le_bytes(reader.take());
        if !(OLDEST_VERSION..=VERSION).contains(&version) {
            return Err(Refusal::Version(version));
        }
        let length = u16::from_le_bytes(reader.take());
        let size = match version {
            OLDEST_VERSION..=LAST_WITHOUT_BOUND => SIZE_WITHOUT_BOUND,
            LAST_WITHOUT_LIFE => SIZE_WITHOUT_LIFE,
            _ => SIZE,
        };
        if usize::from(length) != size {
            return Err(Refusal::Length(length));
        }
        match bytes.get(..size).and_then(<[u8]>::split_last_chunk::<4>) {
            Some((content, check)) if crc32_p4(content) == u32::from_le_bytes(*check) => {}
            _ => return Err(Refusal::Crc),
        }
        let sequence = u32::from_le_bytes(reader.take());
        let tick = Tick(u64::from_le_bytes(reader.take()));
        let key_off_s = u64::from_le_bytes(reader.take());
        let mut words = [0_i64; Ledger::WORDS];
        for word in &mut words {
            *word = i64::from_le_bytes(reader.take());
        }
        let ledger = Ledger::from_words(&words).ok_or(Refusal::Implausible)?;
        let mut whole = || i32::from_le_bytes(reader.take());
        let most = (version > LAST_WITHOUT_BOUND).then(|| {
            let mut words = [0; 6];
            for word in &mut words {
                *word = whole();
            }
            MostStored::from_words(words)
        });
        let touch_point_microbar = PerSide {
            left: whole(),
            right: whole(),
        };
        let radius_ratios = RadiusRatios {
            front: whole(),
            rear: whole(),
            rear_over_front: whole(),
        };
        let flags = u32::from_le_bytes(reader.take());
        let open = PerSide {
            left: flags & 1 != 0,
            right: flags & 2 != 0,
        };
        let valve = if version > LAST_WITHOUT_LIFE {
            let mut words = [0; ValveStored::WORDS];
            for word in &mut words {
                *word = i32::from_le_bytes(reader.take());
            }
            ValveStored::from_words(words)
        } else {
            ValveStored::default()
        };
        let known_flags = if version == OLDEST_VERSION { 3 } else { 7 };
        let life = if version > LAST_WITHOUT_LIFE {
            life::take(&mut reader).ok_or(Refusal::Implausible)?
        } else {
            Counters {
                clutch: ledger.taken_in_uj().map(ClutchUse::of_heat),
                ..Counters::default()
            }
        };
        let snapshot = Self {
            sequence,
            tick,
            key_off_s,
            ledger,
            most,
            touch_point_microbar,
            valve,
            radius_ratios,
            open,
            under_way: flags & 4 != 0,
            life,
        };
        if flags <= known_flags && snapshot.is_plausible() {
            Ok(snapshot)
        } else {
            Err(Refusal::Implausible)
        }
    }

    /// Time asleep until `now_s` on the same clock; unknown when the clock went backwards or is unknown.
    pub fn rest<S: Scalar>(&self, now_s: Option<u64>) -> Rest<S> {
        match now_s.and_then(|now| now.checked_sub(self.key_off_s)) {
            Some(asleep) => Rest::Known(S::from_whole(i64::try_from(asleep).unwrap_or(i64::MAX))),
            None => Rest::Unknown,
        }
    }

    /// Learned touch-point offsets, bar.
    pub fn touch_point_bar<S: Scalar>(&self) -> PerSide<S> {
        self.touch_point_microbar
            .map(|micro| S::from_whole(i64::from(micro)).over(S::of(1.0e6), S::ZERO))
    }

    /// Touch-point offsets in stored form; one that is no number counts as nothing learned.
    pub fn touch_point_stored<S: Scalar>(touch_point_bar: PerSide<S>) -> PerSide<i32> {
        let most = S::from_whole(i64::from(LARGEST_TOUCH_POINT_MICROBAR));
        touch_point_bar.map(|bar| {
            i32::try_from((bar * S::of(1.0e6)).within(-most, most).to_whole()).unwrap_or(0)
        })
    }

    fn is_plausible(&self) -> bool {
        let touch =
            |micro: i32| micro.unsigned_abs() <= LARGEST_TOUCH_POINT_MICROBAR.unsigned_abs();
        let ratio = |stored: i32| (RadiusRatios::ONE / 2..=RadiusRatios::ONE * 2).contains(&stored);
        let believable = MostStored::LOWEST..=MostStored::HIGHEST;
        self.most
            .is_none_or(|most| most.words().iter().all(|word| believable.contains(word)))
            && self
                .life
                .clutch
                .zip(self.ledger.taken_in_uj(), |clutch, taken_in_uj| {
                    clutch.is_plausible(taken_in_uj)
                })
                == PerSide::both(true)
            && touch(self.touch_point_microbar.left)
            && touch(self.touch_point_microbar.right)
            && self.valve.is_plausible()
            && ratio(self.radius_ratios.front)
            && ratio(self.radius_ratios.rear)
            && ratio(self.radius_ratios.rear_over_front)
    }
}

/// Largest touch-point offset that is stored, microbar (10 bar).
const LARGEST_TOUCH_POINT_MICROBAR: i32 = 10_000_000;

/// The valid record with the newer sequence; if neither is valid, the refusal of the one that got further.
///
/// Of two valid records with one sequence the one with more heat is taken.
pub fn choose(slot_a: &[u8; SIZE], slot_b: &[u8; SIZE]) -> Result<Snapshot, Refusal> {
    choose_slot(slot_a, slot_b).map(|(_, snapshot)| snapshot)
}

/// What two slots tell together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recall {
    /// The record [`choose`] takes and its slot.
    pub record: Option<(Slot, Snapshot)>,
    /// Why a record is missing that must have been written: the newest one may be gone.
    pub gap: Option<Refusal>,
}

/// What two slots tell: both must be whole, or the newest may be the one that is damaged. The end of the line fills both.
pub fn recall(slot_a: &[u8; SIZE], slot_b: &[u8; SIZE]) -> Recall {
    match choose_slot(slot_a, slot_b) {
        Ok((slot, record)) => {
            let other = match slot {
                Slot::A => slot_b,
                Slot::B => slot_a,
            };
            Recall {
                record: Some((slot, record)),
                gap: Snapshot::decode(other).err(),
            }
        }
        Err(refusal) => Recall {
            record: None,
            gap: Some(refusal),
        },
    }
}

/// Where the next record goes: never over the one [`choose`] takes.
pub fn next_slot(slot_a: &[u8; SIZE], slot_b: &[u8; SIZE]) -> Slot {
    match choose_slot(slot_a, slot_b) {
        Ok((Slot::A, _)) => Slot::B,
        Ok((Slot::B, _)) | Err(_) => Slot::A,
    }
}

fn choose_slot(slot_a: &[u8; SIZE], slot_b: &[u8; SIZE]) -> Result<(Slot, Snapshot), Refusal> {
    match (Snapshot::decode(slot_a), Snapshot::decode(slot_b)) {
        (Ok(a), Ok(b)) => Ok(if is_newer(&b, &a) {
            (Slot::B, b)
        } else {
            (Slot::A, a)
        }),
        (Ok(a), Err(_)) => Ok((Slot::A, a)),
        (Err(_), Ok(b)) => Ok((Slot::B, b)),
        (Err(a), Err(b)) => Err(a.max(b)),
    }
}

/// Whether `one` was written after `other`; counts on past the end of the sequence.
fn is_newer(one: &Snapshot, other: &Snapshot) -> bool {
    match one.sequence.wrapping_sub(other.sequence) as i32 {
        0 => one.ledger.nodes().stored_uj() > other.ledger.nodes().stored_uj(),
        ahead => ahead > 0,
    }
}

/// CRC-32P4 of some bytes, bit by bit: no table, and key-off is not in a hurry.
pub fn crc32_p4(bytes: &[u8]) -> u32 {
    const REFLECTED: u32 = 0xC8DF_352F;
    let mut register = u32::MAX;
    for byte in bytes {
        register ^= u32::from(*byte);
        for _ in 0..8 {
            let feedback = if register & 1 == 0 { 0 } else { REFLECTED };
            register = (register >> 1) ^ feedback;
        }
    }
    !register
}

pub(crate) struct Writer<'a> {
    pub(crate) rest: &'a mut [u8],
}

impl Writer<'_> {
    pub(crate) fn put<const N: usize>(&mut self, value: [u8; N]) {
        if let Some((place, rest)) = core::mem::take(&mut self.rest).split_first_chunk_mut::<N>() {
            *place = value;
            self.rest = rest;
        }
    }
}

pub(crate) struct Reader<'a> {
    pub(crate) rest: &'a [u8],
}

impl Reader<'_> {
    /// The next bytes; zeros past the end, which the fixed size rules out.
    pub(crate) fn take<const N: usize>(&mut self) -> [u8; N] {
        match self.rest.split_first_chunk::<N>() {
            Some((value, rest)) => {
                self.rest = rest;
                *value
            }
            None => [0; N],
        }
    }
}
