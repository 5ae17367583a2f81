//! End-to-end protection after the AUTOSAR profiles 1, 2 and 5: check sum and counter in front of the data.
//!
//! Source: AUTOSAR "E2E Protocol Specification", profiles 1, 2 and 5. The table's frames use 1 and 5. Profile 1: sum of SAE J1850 (polynomial 0x1D) that begins
//! at 0 and is not inverted at the end, over the data's identifier and all bytes but the sum's own; counter 0 to 14.
//! Profile 2: sum of polynomial 0x2F over all bytes but the sum's own, then one of sixteen identifiers, chosen by the counter, 0 to 15.
//! Profile 5: sum of CCITT (0x1021, begins at 0xFFFF) over all bytes but the sum's own, then the identifier; counter 0 to 255.
//! Sums come from the crate `crc`. Limits: eight bits find every error of up to three bits in a frame of this length, and
//! miss one of 256 arbitrary ones; that is the profile's.

use crc::{Algorithm, CRC_8_AUTOSAR, CRC_16_IBM_3740, Crc};

use crate::frame::Frame;
use crate::layout::{FrameLayout, Profile};

/// The sum of profile 1.
static SUM_P01: Crc<u8> = Crc::<u8>::new(&Algorithm {
    width: 8,
    poly: 0x1d,
    init: 0,
    refin: false,
    refout: false,
    xorout: 0,
    check: 0x37,
    residue: 0,
});

/// The sum of profile 2.
static SUM_P02: Crc<u8> = Crc::<u8>::new(&CRC_8_AUTOSAR);

/// The sum of profile 5.
static SUM_P05: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

/// How profile 1 takes the identifier of the data into its sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum IdMode {
    /// Low byte, then high byte. What the table's frames use.
    #[default]
    Both,
    /// Low byte where the counter is even, high byte where it is odd.
    Alternating,
    /// The low byte only.
    Low,
    /// Low byte, then zero; the low half of the high byte is sent in the upper half of byte 1.
    Nibble,
}

/// Writes counter and check sum of profile 1 into bytes; the counter is taken modulo 15.
pub fn protect_p01(bytes: &mut [u8], data_id: u16, mode: IdMode, counter: u8) {
    let [low, high] = data_id.to_le_bytes();
    if let [_, second, ..] = bytes {
        let above = if mode == IdMode::Nibble {
            (high & 0x0f) << 4
        } else {
            *second & 0xf0
        };
        *second = above | (counter % 15);
    }
    let sum = sum_p01(bytes, [low, high], mode);
    if let [first, ..] = bytes {
        *first = sum;
    }
}

/// Counter of a frame of profile 1 whose check sum is right.
pub fn check_p01(bytes: &[u8], data_id: u16, mode: IdMode) -> Option<u8> {
    let [first, second, ..] = bytes else {
        return None;
    };
    let halves = data_id.to_le_bytes();
    let right = *first == sum_p01(bytes, halves, mode);
    let [_, high] = halves;
    let sent = mode != IdMode::Nibble || *second >> 4 == high & 0x0f;
    let counter = *second & 0x0f;
    (right && sent && counter < 15).then_some(counter)
}

/// Writes counter and check sum of profile 2 into bytes; the counter is taken modulo 16.
pub fn protect_p02(bytes: &mut [u8], data_ids: &[u8; 16], counter: u8) {
    if let [_, second, ..] = bytes {
        *second = (*second & 0xf0) | (counter & 0x0f);
    }
    let sum = sum_p02(bytes, data_ids);
    if let [first, ..] = bytes {
        *first = sum;
    }
}

/// Counter of a frame of profile 2 whose check sum is right.
pub fn check_p02(bytes: &[u8], data_ids: &[u8; 16]) -> Option<u8> {
    let [first, second, ..] = bytes else {
        return None;
    };
    (*first == sum_p02(bytes, data_ids)).then_some(*second & 0x0f)
}

/// Writes counter and check sum of profile 5 into bytes.
pub fn protect_p05(bytes: &mut [u8], data_id: u16, counter: u8) {
    if let [_, _, third, ..] = bytes {
        *third = counter;
    }
    let [low, high] = sum_p05(bytes, data_id).to_le_bytes();
    if let [first, second, ..] = bytes {
        (*first, *second) = (low, high);
    }
}

/// Counter of a frame of profile 5 whose check sum is right.
pub fn check_p05(bytes: &[u8], data_id: u16) -> Option<u8> {
    let [first, second, counter, ..] = bytes else {
        return None;
    };
    let right = u16::from_le_bytes([*first, *second]) == sum_p05(bytes, data_id);
    right.then_some(*counter)
}

/// Protects a frame as the table says.
pub fn protect(layout: &FrameLayout, frame: &mut Frame, counter: u8) {
    match layout.profile {
        Profile::P01 => protect_p01(frame.bytes_mut(), layout.data_id, IdMode::Both, counter),
        Profile::P05 => protect_p05(frame.bytes_mut(), layout.data_id, counter),
    }
}

/// Counter of a frame whose check sum is right, as the table says.
pub fn check(layout: &FrameLayout, frame: &Frame) -> Option<u8> {
    match layout.profile {
        Profile::P01 => check_p01(frame.bytes(), layout.data_id, IdMode::Both),
        Profile::P05 => check_p05(frame.bytes(), layout.data_id),
    }
}

/// Counts of a profile: 15 or 256.
pub fn counts(profile: Profile) -> u16 {
    match profile {
        Profile::P01 => 15,
        Profile::P05 => 256,
    }
}

/// The counter after this one.
pub fn next_counter(profile: Profile, counter: u8) -> u8 {
    let next = counter.wrapping_add(1);
    if u16::from(next) >= counts(profile) {
        0
    } else {
        next
    }
}

fn sum_p01(bytes: &[u8], [low, high]: [u8; 2], mode: IdMode) -> u8 {
    let odd = bytes.iter().skip(1).take(1).any(|second| second & 1 == 1);
    let mut digest = SUM_P01.digest();
    match mode {
        IdMode::Both => digest.update(&[low, high]),
        IdMode::Alternating => digest.update(&[if odd { high } else { low }]),
        IdMode::Low => digest.update(&[low]),
        IdMode::Nibble => digest.update(&[low, 0]),
    }
    digest.update(bytes.get(1..).unwrap_or(&[]));
    digest.finalize()
}

fn sum_p02(bytes: &[u8], data_ids: &[u8; 16]) -> u8 {
    let counter = bytes.iter().skip(1).map(|second| second & 0x0f).next();
    let id = counter.and_then(|counter| data_ids.get(usize::from(counter)));
    let mut digest = SUM_P02.digest();
    digest.update(bytes.get(1..).unwrap_or(&[]));
    digest.update(&[id.copied().unwrap_or(0)]);
    digest.finalize()
}

fn sum_p05(bytes: &[u8], data_id: u16) -> u16 {
    let mut digest = SUM_P05.digest();
    digest.update(bytes.get(2..).unwrap_or(&[]));
    digest.update(&data_id.to_le_bytes());
    digest.finalize()
}
