//! What the stored record promises: taken whole, or refused with a reason.

use couplet_controller::quantity::{PerSide, Tick};
use couplet_controller::snapshot::{
    MostStored, RadiusRatios, Refusal, SIZE, SIZE_WITHOUT_BOUND, SIZE_WITHOUT_LIFE, Slot, Snapshot,
    ValveStored, choose, crc32_p4, next_slot,
};
use couplet_controller::stage::Stage;
use couplet_controller::stage::thermal::usage::{ClutchUse, Counters};
use couplet_controller::stage::thermal::{In, Rest, State, Thermal, ThermalTunables};
use proptest::prelude::*;

/// A record of an axle that was used: both totals and all nodes are in play.
fn used(sequence: u32) -> Snapshot {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let mut state = State::at(&thermal.tunables.network, 25.0);
    let input = In {
        granted_nm: PerSide {
            left: 700.0,
            right: 300.0,
        },
        slip_rad_s: PerSide::both(couplet_controller::quantity::Sensed::Fresh(3.0)),
        speed_m_s: 20.0,
        ambient_degc: 20.0,
    };
    for _ in 0..2000 + sequence % 7 {
        thermal.step(&mut state, &input, 0.005);
    }
    Snapshot {
        sequence,
        tick: Tick(4_320_000_123),
        key_off_s: 1_700_000_000,
        ledger: state.estimate,
        most: Some(MostStored::of(&thermal.most(&state))),
        touch_point_microbar: PerSide {
            left: 123_456,
            right: -65_432,
        },
        valve: ValveStored {
            offset_microbar: PerSide {
                left: -250_000,
                right: 31_250,
            },
            gain: PerSide {
                left: 1 << 20,
                right: -(1 << 21),
            },
        },
        radius_ratios: RadiusRatios {
            front: RadiusRatios::ONE + 5,
            rear: RadiusRatios::ONE - 9,
            rear_over_front: RadiusRatios::ONE,
        },
        open: PerSide {
            left: true,
            right: false,
        },
        under_way: false,
        life: state.usage.counters,
    }
}

fn resealed(mut bytes: [u8; SIZE]) -> [u8; SIZE] {
    let check = crc32_p4(&bytes[..SIZE - 4]);
    bytes[SIZE - 4..].copy_from_slice(&check.to_le_bytes());
    bytes
}

#[test]
fn check_sum_is_the_published_one() {
    // Catalogue of CRC parameters and the AUTOSAR profile CRC-32P4: check value of "123456789".
    assert_eq!(crc32_p4(b"123456789"), 0x1697_D06A);
}

#[test]
fn a_record_comes_back_bit_for_bit() {
    let empty = Snapshot {
        most: Some(MostStored::default()),
        ..Snapshot::default()
    };
    for snapshot in [used(1), empty] {
        assert_eq!(Snapshot::decode(&snapshot.encode()), Ok(snapshot));
    }
    assert!(used(1).ledger.lost_uj() != 0);
}

#[test]
fn a_record_of_an_older_layout_is_still_read() {
    let snapshot = used(1);
    let now = snapshot.encode();
    // Where only the heat was kept, its use is not known: it counts in the highest classes.
    let life = Counters {
        clutch: snapshot.ledger.taken_in_uj().map(ClutchUse::of_heat),
        ..Counters::default()
    };
    let sealed = |mut old: [u8; SIZE], version: u8, size: usize| {
        old[4] = version;
        old[6..8].copy_from_slice(&(size as u16).to_le_bytes());
        let check = crc32_p4(&old[..size - 4]);
        old[size - 4..size].copy_from_slice(&check.to_le_bytes());
        old
    };
    for version in [1_u8, 2] {
        // The older layouts had no bound, 24 bytes after the ledger.
        let mut old = [0xff; SIZE];
        old[..116].copy_from_slice(&now[..116]);
        old[116..140].copy_from_slice(&now[140..164]);
        let wanted = Snapshot {
            most: None,
            life,
            valve: ValveStored::default(),
            ..snapshot
        };
        let old = sealed(old, version, SIZE_WITHOUT_BOUND);
        assert_eq!(Snapshot::decode(&old), Ok(wanted), "version {version}");
    }
    // Layout 3 ended before valves and counters of use.
    let mut old = [0xff; SIZE];
    old[..164].copy_from_slice(&now[..164]);
    let wanted = Snapshot {
        life,
        valve: ValveStored::default(),
        ..snapshot
    };
    assert_eq!(
        Snapshot::decode(&sealed(old, 3, SIZE_WITHOUT_LIFE)),
        Ok(wanted)
    );
}

#[test]
fn a_valve_no_valve_can_be_is_refused_although_the_check_sum_fits() {
    let whole = used(1).encode();
    for (place, value) in [
        (164, 10_000_001_i32),
        (168, i32::MIN),
        (172, (1 << 23) + 1),
        (176, i32::MAX),
    ] {
        let mut bytes = whole;
        bytes[place..place + 4].copy_from_slice(&value.to_le_bytes());
        assert_eq!(
            Snapshot::decode(&resealed(bytes)),
            Err(Refusal::Implausible),
            "at {place}"
        );
    }
}

#[test]
fn every_single_bit_error_is_refused_and_the_other_slot_is_taken() {
    let older = used(1);
    let newer = used(2);
    let (slot_a, slot_b) = (older.encode(), newer.encode());
    assert_eq!(choose(&slot_a, &slot_b), Ok(newer));
    let mut refused = 0;
    for bit in 0..SIZE * 8 {
        let mut broken = slot_b;
        broken[bit / 8] ^= 1 << (bit % 8);
        let refusal = Snapshot::decode(&broken).expect_err("a flipped bit was taken");
        assert_ne!(
            refusal,
            Refusal::Implausible,
            "bit {bit}: only a writer's fault may be called implausible"
        );
        assert_eq!(choose(&slot_a, &broken), Ok(older), "bit {bit}");
        assert_eq!(choose(&broken, &slot_a), Ok(older), "bit {bit}");
        assert_eq!(next_slot(&slot_a, &broken), Slot::B, "bit {bit}");
        refused += 1;
    }
    assert_eq!(refused, SIZE * 8);
}

#[test]
fn a_torn_write_leaves_the_record_before() {
    let before = used(7);
    let kept = before.encode();
    let after = used(8);
    let wanted = after.encode();
    for old in [used(6).encode(), [0xff; SIZE], [0; SIZE]] {
        for written in 0..=SIZE {
            let mut torn = old;
            torn[..written].copy_from_slice(&wanted[..written]);
            let taken = choose(&kept, &torn).expect("one slot is whole");
            let complete = torn == wanted;
            assert_eq!(
                taken,
                if complete { after } else { before },
                "{written} bytes written"
            );
            if !complete {
                assert_eq!(
                    next_slot(&kept, &torn),
                    Slot::B,
                    "the good record must not be overwritten"
                );
            }
        }
    }
}

#[test]
fn records_written_in_turn_survive_the_end_of_the_sequence() {
    let mut slots = [[0xff; SIZE]; 2];
    let mut last = None;
    for step in 0..6_u32 {
        let snapshot = used((u32::MAX - 2).wrapping_add(step));
        let slot = next_slot(&slots[0], &slots[1]);
        slots[usize::from(slot == Slot::B)] = snapshot.encode();
        assert_eq!(choose(&slots[0], &slots[1]), Ok(snapshot), "step {step}");
        assert_ne!(last, Some(slot), "the two slots are used in turn");
        last = Some(slot);
    }
}

#[test]
fn each_refusal_says_why() {
    let good = used(3).encode();
    assert_eq!(Snapshot::decode(&[0xff; SIZE]), Err(Refusal::Magic));
    assert_eq!(Snapshot::decode(&[0; SIZE]), Err(Refusal::Magic));
    let mut other = good;
    other[4] = 9;
    assert_eq!(Snapshot::decode(&resealed(other)), Err(Refusal::Version(9)));
    let mut other = good;
    other[6..8].copy_from_slice(&7_u16.to_le_bytes());
    assert_eq!(Snapshot::decode(&resealed(other)), Err(Refusal::Length(7)));
    // One microjoule too many in a node, with a fitting check sum: the ledger does not balance.
    let mut other = good;
    other[28] ^= 1;
    assert_eq!(
        Snapshot::decode(&resealed(other)),
        Err(Refusal::Implausible)
    );
    // A radius ratio of more than 2.
    let mut other = good;
    other[159] = 0x7f;
    assert_eq!(
        Snapshot::decode(&resealed(other)),
        Err(Refusal::Implausible)
    );
    assert_eq!(
        choose(&[0xff; SIZE], &resealed(other)),
        Err(Refusal::Implausible),
        "the one that got further is told"
    );
    let messages: Vec<String> = [
        Refusal::Magic,
        Refusal::Version(9),
        Refusal::Length(7),
        Refusal::Crc,
        Refusal::Implausible,
    ]
    .iter()
    .map(ToString::to_string)
    .collect();
    assert!(messages[1].contains('9') && messages[2].contains('7'));
    for (at, message) in messages.iter().enumerate() {
        assert!(message.len() > 20 && !messages[..at].contains(message));
    }
}

#[test]
fn a_clock_that_went_backwards_or_is_missing_means_an_unknown_rest() {
    let snapshot = used(1);
    assert_eq!(snapshot.rest::<f32>(Some(1_700_000_060)), Rest::Known(60.0));
    assert_eq!(snapshot.rest::<f32>(Some(1_699_999_999)), Rest::Unknown);
    assert_eq!(snapshot.rest::<f32>(None), Rest::Unknown);
}

#[test]
fn a_stored_axle_goes_on_exactly_where_it_stopped() {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let snapshot = used(1);
    let back = Snapshot::decode(&snapshot.encode()).expect("a good record");
    let woken = thermal.wake(
        (&back.ledger, None),
        back.rest(Some(back.key_off_s)),
        20.0,
        PerSide::both(false),
    );
    assert_eq!(woken.estimate, snapshot.ledger);
    let cooled = thermal.wake(
        (&back.ledger, None),
        back.rest(Some(back.key_off_s + 600)),
        20.0,
        PerSide::both(false),
    );
    assert!(cooled.estimate.nodes().stored_uj() < snapshot.ledger.nodes().stored_uj());
    assert_eq!(cooled.estimate.imbalance_uj(), 0);
}

proptest! {
    #![proptest_config(couplet_tests::property(3000))]

    #[test]
    fn a_learned_ratio_near_one_comes_back_bit_for_bit(ratio in 0.51_f32..1.99) {
        prop_assert_eq!(RadiusRatios::ratio::<f32>(RadiusRatios::stored(ratio)).to_bits(), ratio.to_bits());
    }

    #[test]
    fn any_value_the_law_may_hold_is_stored_as_something_it_will_take_back(bits in any::<u32>(), other in any::<u32>()) {
        let (value, other) = (f32::from_bits(bits), f32::from_bits(other));
        let snapshot = Snapshot {
            touch_point_microbar: Snapshot::touch_point_stored(PerSide { left: value, right: other }),
            radius_ratios: RadiusRatios {
                front: RadiusRatios::stored(value),
                rear: RadiusRatios::stored(other),
                rear_over_front: RadiusRatios::stored(value),
            },
            most: Some(MostStored::default()),
            valve: ValveStored::of(
                PerSide { left: value, right: other },
                PerSide { left: other, right: value },
            ),
            ..Snapshot::default()
        };
        prop_assert_eq!(Snapshot::decode(&snapshot.encode()), Ok(snapshot));
        prop_assert!(snapshot.valve.gain_share::<f32>().left.abs() <= 0.5);
        prop_assert!(snapshot.touch_point_bar::<f32>().left.abs() <= 10.0);
    }

    #[test]
    fn random_bytes_are_refused(bytes in proptest::collection::vec(any::<u8>(), SIZE)) {
        let mut slot = [0; SIZE];
        slot.copy_from_slice(&bytes);
        prop_assert!(Snapshot::decode(&slot).is_err());
        // Even behind a good header and a fitting check sum nothing panics.
        let good = Snapshot::default().encode();
        slot[..8].copy_from_slice(&good[..8]);
        let _ = Snapshot::decode(&resealed(slot));
    }
}
