//! Check sums and end-to-end protection against published values and an independent implementation.
//!
//! Check values of "123456789": public catalogue of CRC parameters, read. Test data of the AUTOSAR CRC library: from memory;
//! sums computed by an own bitwise program and by the Python package `crccheck`. Protected messages: computed by an own
//! program from the AUTOSAR E2E specification, equal to the Python package `autosar-e2e` for profiles 1 and 5.

use couplet_bus::protect::{
    IdMode, check_p01, check_p02, check_p05, counts, next_counter, protect_p01, protect_p02,
    protect_p05,
};
use couplet_bus::{AXLE_FRAMES, CAR_FRAMES, protect};
use couplet_bus::{Frame, FrameLayout, Profile};
use crc::{CRC_8_AUTOSAR, CRC_8_SAE_J1850, CRC_16_IBM_3740, CRC_32_AUTOSAR, Crc};

const J1850: Crc<u8> = Crc::<u8>::new(&CRC_8_SAE_J1850);
const H2F: Crc<u8> = Crc::<u8>::new(&CRC_8_AUTOSAR);
const CCITT: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);
const P4: Crc<u32> = Crc::<u32>::new(&CRC_32_AUTOSAR);

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len() / 2)
        .map(|at| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16).expect("two digits"))
        .collect()
}

#[test]
fn check_sums_of_the_bus_have_their_published_check_values() {
    let nine = b"123456789";
    assert_eq!(J1850.checksum(nine), 0x4b);
    assert_eq!(H2F.checksum(nine), 0xdf);
    assert_eq!(CCITT.checksum(nine), 0x29b1);
    assert_eq!(P4.checksum(nine), 0x1697_d06a);
}

#[test]
fn check_sums_of_the_published_test_data_are_the_computed_ones() {
    for (data, j1850, h2f, ccitt) in [
        ("00000000", 0x59, 0x12, 0x84c0),
        ("F20183", 0x37, 0xc2, 0xd374),
        ("0FAA0055", 0x79, 0xc6, 0x2023),
        ("00FF5511", 0xb8, 0x77, 0xb8f9),
        ("332255AABBCCDDEEFF", 0xcb, 0x11, 0xf53f),
        ("926B55", 0x8c, 0x33, 0x0745),
        ("FFFFFFFF", 0x74, 0x6c, 0x1d0f),
    ] {
        let data = bytes(data);
        assert_eq!(J1850.checksum(&data), j1850);
        assert_eq!(H2F.checksum(&data), h2f);
        assert_eq!(CCITT.checksum(&data), ccitt);
    }
}

#[test]
fn messages_of_zeros_are_protected_as_an_independent_program_protects_them() {
    for (mode, first_two) in [
        (IdMode::Both, ["CC00", "9101", "7602"]),
        (IdMode::Low, ["CE00", "9301", "7402"]),
        (IdMode::Alternating, ["CE00", "0201", "7402"]),
        (IdMode::Nibble, ["2A10", "7711", "9012"]),
    ] {
        for (counter, first_two) in first_two.into_iter().enumerate() {
            let mut message = [0; 8];
            protect_p01(&mut message, 0x123, mode, counter as u8);
            assert_eq!(message[..2], bytes(first_two), "{mode:?} {counter}");
            assert_eq!(message[2..], [0; 6]);
            assert_eq!(check_p01(&message, 0x123, mode), Some(counter as u8));
        }
    }
    let list: [u8; 16] = core::array::from_fn(|place| place as u8 + 1);
    for (counter, first_two) in ["0E00", "1B01"].into_iter().enumerate() {
        let mut message = [0; 8];
        protect_p02(&mut message, &list, counter as u8);
        assert_eq!(message[..2], bytes(first_two), "{counter}");
        assert_eq!(check_p02(&message, &list), Some(counter as u8));
        for bit in 0..64 {
            let mut wrong = message;
            wrong[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(check_p02(&wrong, &list), None, "{bit}");
        }
    }
    for (counter, first_three) in ["1CCA00", "CF8D01"].into_iter().enumerate() {
        let mut message = [0; 8];
        protect_p05(&mut message, 0x1234, counter as u8);
        assert_eq!(message[..3], bytes(first_three), "{counter}");
        assert_eq!(check_p05(&message, 0x1234), Some(counter as u8));
    }
}

#[test]
fn counters_run_through_their_profile_and_begin_again() {
    for (profile, last) in [(Profile::P01, 14_u8), (Profile::P05, 255)] {
        assert_eq!(next_counter(profile, last), 0);
        let mut counter = 0;
        for _ in 0..counts(profile) {
            counter = next_counter(profile, counter);
        }
        assert_eq!(counter, 0);
    }
    // 15 is no counter of profile 1, whatever its check sum.
    let mut message = [0, 15, 0, 0];
    let sum = |message: &[u8]| {
        let mut all = vec![0x23, 0x01];
        all.extend(&message[1..]);
        // The sum of the profile, from the published one: its two inversions undone.
        let published = CRC_8_SAE_J1850;
        let crc = crc::Algorithm {
            init: 0,
            xorout: 0,
            ..published
        };
        let crc: &'static crc::Algorithm<u8> = Box::leak(Box::new(crc));
        Crc::<u8>::new(crc).checksum(&all)
    };
    message[0] = sum(&message);
    assert_eq!(check_p01(&message, 0x123, IdMode::Both), None);
    message[1] = 14;
    message[0] = sum(&message);
    assert_eq!(check_p01(&message, 0x123, IdMode::Both), Some(14));
}

fn all() -> impl Iterator<Item = &'static FrameLayout> {
    CAR_FRAMES.iter().chain(AXLE_FRAMES)
}

#[test]
fn every_single_wrong_bit_of_every_frame_is_found() {
    let mut tried = 0;
    for layout in all() {
        for counter in [0, 7, 14] {
            let data: Vec<u8> = (0..layout.length)
                .map(|at| at.wrapping_mul(73) ^ counter)
                .collect();
            let mut frame = Frame::new(layout.id, &data).expect("a frame of the table");
            protect::protect(layout, &mut frame, counter);
            assert_eq!(protect::check(layout, &frame), Some(counter));
            for bit in 0..usize::from(layout.length) * 8 {
                let mut wrong = frame;
                wrong.bytes_mut()[bit / 8] ^= 1 << (bit % 8);
                assert_eq!(
                    protect::check(layout, &wrong),
                    None,
                    "{} {bit}",
                    layout.name
                );
                tried += 1;
            }
            // Another frame's data under this name.
            for other in all().filter(|other| other.length == layout.length) {
                let same = other.data_id == layout.data_id;
                assert_eq!(protect::check(other, &frame).is_some(), same);
            }
        }
    }
    assert!(tried > 4_000, "{tried}");
}
