//! Frames of the bus: every signal once, no bit twice, and no number that is none ever believed.

use std::collections::BTreeSet;

use couplet_bus::bits::Order;
use couplet_bus::layout::{Beyond, Rounding};
use couplet_bus::sender::pack;
use couplet_bus::{
    AXLE_FRAMES, CAR_FRAMES, Decoded, Fate, Frame, FrameLayout, InputReceiver, Node,
    OutputReceiver, Placed, Report, frame_of,
};
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};
use proptest::prelude::*;

fn frames() -> impl Iterator<Item = &'static FrameLayout> {
    CAR_FRAMES.iter().chain(AXLE_FRAMES)
}

fn signals() -> impl Iterator<Item = &'static Placed> {
    frames().flat_map(|frame| frame.signals)
}

#[test]
fn every_signal_of_the_law_stands_on_the_bus_exactly_once() {
    let mut placed: Vec<&str> = signals().map(Placed::name).collect();
    placed.sort_unstable();
    let mut known: Vec<&str> = INPUT_SIGNALS.iter().map(|signal| signal.name).collect();
    known.extend(OUTPUT_SIGNALS.iter().map(|signal| signal.name));
    known.sort_unstable();
    assert_eq!(placed, known);
    for signal in signals() {
        let named = match signal.source {
            couplet_bus::layout::Source::Input(_) => INPUT_SIGNALS[signal.position].name,
            couplet_bus::layout::Source::Output(_) => OUTPUT_SIGNALS[signal.position].name,
        };
        assert_eq!(named, signal.name());
    }
}

#[test]
fn no_two_signals_share_a_bit_and_none_lies_in_the_protection_or_outside() {
    for frame in frames() {
        let mut taken: BTreeSet<usize> = (0..usize::from(frame.header_bits())).collect();
        for signal in frame.signals {
            // Bits by writing, not by the table's own arithmetic.
            let mut bytes = vec![0_u8; usize::from(frame.length)];
            signal.put(&mut bytes, u32::MAX);
            let own: Vec<usize> = (0..bytes.len() * 8)
                .filter(|bit| bytes[bit / 8] >> (bit % 8) & 1 == 1)
                .collect();
            assert_eq!(own.len(), usize::from(signal.bits), "{}", signal.name());
            for bit in own {
                assert!(taken.insert(bit), "{}: bit {bit} twice", signal.name());
            }
        }
    }
}

#[test]
fn frames_differ_in_name_identifier_and_data_identifier_and_have_a_length_of_the_standard() {
    let names: BTreeSet<_> = frames().map(|frame| frame.name).collect();
    let ids: BTreeSet<_> = frames().map(|frame| frame.id).collect();
    let data_ids: BTreeSet<_> = frames().map(|frame| frame.data_id).collect();
    let count = frames().count();
    assert_eq!(
        (names.len(), ids.len(), data_ids.len()),
        (count, count, count)
    );
    for frame in frames() {
        assert!(Frame::zeroed(frame.id, usize::from(frame.length)).is_some());
        assert_eq!(frame_of(frame.id).map(|found| found.name), Some(frame.name));
        assert!((1..=1000).contains(&frame.period_ms));
    }
    assert!(frame_of(0x7ff).is_none());
    for length in 0..=64 {
        let known = length <= 8 || [12, 16, 20, 24, 32, 48, 64].contains(&length);
        assert_eq!(Frame::zeroed(1, length).is_some(), known, "{length}");
    }
    assert!(Frame::new(0x800, &[]).is_none() && Frame::new(1, &[0; 65]).is_none());
    assert!(signals().any(|signal| signal.order == Order::Big));
}

#[test]
fn every_raw_value_that_is_a_number_encodes_to_itself() {
    for signal in signals() {
        // All of them up to 17 bits; of the longer ones every 97th, and both ends.
        let stride = if signal.bits > 17 { 97 } else { 1 };
        let last = (1_u32 << signal.bits) - 1;
        let mut numbers = 0_u32;
        for raw in (0..=last)
            .step_by(stride)
            .chain([last - 3, last - 2, last - 1, last])
        {
            match signal.decode(raw) {
                Decoded::Number(number) => {
                    numbers += 1;
                    let (low, high) = signal.range();
                    // Ends between two steps: the raw value beyond them is the end.
                    if number < low || (number > high && signal.beyond == Beyond::End) {
                        assert!((number - number.clamp(low, high)).abs() < signal.step());
                        continue;
                    }
                    assert_eq!(
                        signal.encode(number),
                        (raw, Fate::Sent),
                        "{}",
                        signal.name()
                    );
                }
                Decoded::NotAvailable => assert_eq!(raw, last),
                Decoded::Error => {
                    let reserved = raw == last - 1;
                    assert!(reserved || raw < signal.lowest_raw || raw > signal.highest_raw);
                }
            }
        }
        assert!(numbers > 1, "{}", signal.name());
    }
}

#[test]
fn ends_of_input_ranges_are_steps_so_no_rounding_leaves_them() {
    for signal in CAR_FRAMES.iter().flat_map(|frame| frame.signals) {
        let (low, high) = signal.range();
        assert_eq!(
            signal.decode(signal.lowest_raw),
            Decoded::Number(low),
            "{}",
            signal.name()
        );
        assert_eq!(
            signal.decode(signal.highest_raw),
            Decoded::Number(high),
            "{}",
            signal.name()
        );
        assert_eq!(signal.decode(signal.highest_raw + 1), {
            if signal.highest_raw + 1 == signal.error() || signal.highest_raw + 1 < signal.error() {
                Decoded::Error
            } else {
                Decoded::NotAvailable
            }
        });
    }
}

#[test]
fn numbers_that_are_none_or_out_of_range_are_reported_and_never_a_silent_zero() {
    for signal in signals() {
        let (low, high) = signal.range();
        let (raw, fate) = signal.encode(f32::NAN);
        assert_eq!((signal.decode(raw), fate), (Decoded::Error, Fate::Error));
        let above = [high * 1.001 + signal.step(), 1.0e30, f32::INFINITY];
        let below = [low * 1.001 - signal.step(), -1.0e30, f32::NEG_INFINITY];
        for number in above.into_iter().chain(below) {
            if (low..=high).contains(&number) {
                // The limit of torque has no end of its own: it saturates at the bus's.
                assert!(signal.nothing);
                assert_eq!(signal.encode(number), (signal.highest_raw, Fate::Saturated));
                continue;
            }
            let (raw, fate) = signal.encode(number);
            match signal.beyond {
                Beyond::Error => {
                    assert_eq!((signal.decode(raw), fate), (Decoded::Error, Fate::Error));
                }
                Beyond::End => {
                    assert_eq!(fate, Fate::Saturated, "{}", signal.name());
                    let end = if number > 0.0 {
                        signal.highest_raw
                    } else {
                        signal.lowest_raw
                    };
                    assert_eq!(raw, end, "{} {number}", signal.name());
                }
            }
        }
    }
}

#[test]
fn asking_for_nothing_arrives_as_asking_for_nothing() {
    let signal = signals().find(|signal| signal.name() == "torque_limit_request");
    let signal = signal.expect("it stands in the table");
    let (raw, fate) = signal.encode(f32::MAX);
    assert_eq!(
        (signal.decode(raw), fate),
        (Decoded::Number(f32::MAX), Fate::Sent)
    );
    assert_eq!(signals().filter(|signal| signal.nothing).count(), 1);
}

proptest! {
    #[test]
    fn a_number_in_range_moves_by_less_than_a_step_and_only_the_way_its_rounding_says(
        place in 0_usize..1000, share in 0.0_f64..=1.0,
    ) {
        let all: Vec<_> = signals().collect();
        let signal = all[place % all.len()];
        let (low, high) = signal.range();
        let high = if signal.nothing { 30_000.0 } else { high };
        let number = (f64::from(low) + share * (f64::from(high) - f64::from(low))) as f32;
        let number = number.clamp(low, high);
        let (raw, fate) = signal.encode(number);
        prop_assert_eq!(fate, Fate::Sent);
        let Decoded::Number(sent) = signal.decode(raw) else {
            return Err(TestCaseError::fail("no number"));
        };
        // In double precision: single precision would round the difference itself.
        let moved = f64::from(sent) - f64::from(number);
        let step = f64::from(signal.step());
        // What lies within 2^-25 of a step counts as on it.
        let nearly = step * 2.0_f64.powi(-25);
        prop_assert!(moved.abs() < step);
        match signal.rounding {
            Rounding::Nearest => prop_assert!(moved.abs() <= 0.5 * step + nearly),
            Rounding::Down => prop_assert!(moved <= nearly),
            Rounding::Up => prop_assert!(moved >= -nearly),
        }
    }

    #[test]
    fn any_bits_of_a_number_pack_and_any_bytes_unpack(
        bits in any::<u32>(), id in 0_u16..0x400, data in prop::collection::vec(any::<u8>(), 0..65),
        now_us in any::<u64>(),
    ) {
        for frame in frames() {
            let mut report = Report::default();
            let packed = pack(frame, &mut report, |_| Some(f32::from_bits(bits)));
            prop_assert!(packed.is_some());
        }
        let mut inputs = InputReceiver::default();
        let mut outputs = OutputReceiver::default();
        let layouts: Vec<_> = frames().collect();
        let near = layouts[usize::from(id) % layouts.len()];
        for id in [id, near.id] {
            let Some(frame) = Frame::new(id, &data) else { continue };
            let car = inputs.receive(now_us, &frame);
            let axle = outputs.receive(now_us, &frame);
            let by = frame_of(id).map(|found| found.by);
            prop_assert_eq!(car.is_some(), by == Some(Node::Car));
            prop_assert_eq!(axle.is_some(), by == Some(Node::Axle));
        }
        let told = inputs.inputs(now_us.wrapping_mul(7));
        for signal in INPUT_SIGNALS {
            prop_assert!((signal.read)(&told).value.is_finite());
        }
        outputs.outputs(now_us / 2);
    }
}
