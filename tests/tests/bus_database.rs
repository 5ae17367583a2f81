//! The database of the bus and the description of the memory, read back by independent crates.
//!
//! `can-dbc` reads the database, `a2lfile` the description (ASAM MCD-2 MC, strictly, with its own check of consistency).

use a2lfile::A2lObjectName;
use can_dbc::{ByteOrder, Comment, Dbc, NumericValue, ValueDescription, ValueType};
use couplet_bus::bits::Order;
use couplet_bus::{AXLE_FRAMES, CAR_FRAMES, FrameLayout, Node};
use couplet_controller::calibration::ENTRIES;
use couplet_controller::signal::OUTPUT_SIGNALS;
use couplet_controller::{PageRefusal, RawPage, TraceSignal};
use couplet_network::calibration::{self, OUTPUTS_AT, PAGE_AT, TRACE_AT};
use couplet_network::database::{self, database};
use proptest::prelude::*;

fn frames() -> impl Iterator<Item = &'static FrameLayout> {
    CAR_FRAMES.iter().chain(AXLE_FRAMES)
}

fn number(value: &NumericValue) -> f64 {
    match value {
        NumericValue::Uint(value) => *value as f64,
        NumericValue::Int(value) => *value as f64,
        NumericValue::Double(value) => *value,
    }
}

#[test]
fn the_database_says_what_the_table_says() {
    let text = database();
    assert!(text.is_ascii());
    let read = Dbc::try_from(text.as_str()).expect("an independent reader takes it");
    assert_eq!(read.messages.len(), frames().count());
    let nodes: Vec<&str> = read.nodes.iter().map(|node| node.0.as_str()).collect();
    assert_eq!(nodes, ["Car", "Axle"]);
    for frame in frames() {
        let same = |id: can_dbc::MessageId| id.raw() == u32::from(frame.id);
        let message = read
            .messages
            .iter()
            .find(|message| same(message.id))
            .expect(frame.name);
        assert_eq!(
            (message.name.as_str(), message.size),
            (frame.name, u64::from(frame.length))
        );
        let by = format!("{:?}", message.transmitter);
        let (from, to) = match frame.by {
            Node::Car => ("Car", "Axle"),
            Node::Axle => ("Axle", "Car"),
        };
        assert!(by.contains(from), "{by}");
        // Sum and counter besides.
        assert_eq!(message.signals.len(), frame.signals.len() + 2);
        for placed in frame.signals {
            let signal = message
                .signals
                .iter()
                .find(|signal| signal.name == placed.name());
            let signal = signal.unwrap_or_else(|| panic!("{}", placed.name()));
            assert_eq!(
                (signal.start_bit, signal.size),
                (u64::from(placed.start), u64::from(placed.bits))
            );
            let order = match placed.order {
                Order::Little => ByteOrder::LittleEndian,
                Order::Big => ByteOrder::BigEndian,
            };
            assert!(signal.byte_order == order && signal.value_type == ValueType::Unsigned);
            assert_eq!(signal.factor, f64::from(placed.step()));
            let zero = f64::from(placed.offset_steps) * f64::from(placed.step());
            assert_eq!(signal.offset, zero);
            let unit = if placed.unit() == "-" {
                ""
            } else {
                placed.unit()
            };
            assert_eq!(
                (signal.unit.as_str(), signal.receivers.as_slice()),
                (unit, [to.to_owned()].as_slice())
            );
            // The range of the raw values holds the signal's own and reaches beyond it by less than a step.
            let (low, high) = placed.range();
            let (least, most) = (number(&signal.min), number(&signal.max));
            let step = f64::from(placed.step());
            assert!(
                least <= f64::from(low) && f64::from(low) - least < step,
                "{}",
                signal.name
            );
            let reach = most - f64::from(high);
            assert!(
                placed.nothing || (0.0..step).contains(&reach),
                "{}",
                signal.name
            );
            let commented = read.comments.iter().any(|comment| {
                matches!(comment, Comment::Signal { message_id, name, comment }
                    if same(*message_id) && name == placed.name() && comment == placed.meaning())
            });
            assert!(commented, "{}", placed.name());
            let words = read
                .value_descriptions
                .iter()
                .find_map(|description| match description {
                    ValueDescription::Signal {
                        message_id,
                        name,
                        value_descriptions,
                    } if same(*message_id) && name == placed.name() => Some(value_descriptions),
                    _ => None,
                });
            let words = words.unwrap_or_else(|| panic!("{}", placed.name()));
            let word = |raw: u32| {
                words
                    .iter()
                    .find(|one| one.id == i64::from(raw))
                    .map(|one| one.description.as_str())
            };
            assert_eq!(word(placed.not_available()), Some("not available"));
            assert_eq!(word(placed.error()), Some("error"));
            assert_eq!(
                word(placed.asks_for_nothing().unwrap_or(u32::MAX)).is_some(),
                placed.nothing
            );
        }
        for (name, value) in [
            ("GenMsgCycleTime", u64::from(frame.period_ms)),
            ("E2eDataId", u64::from(frame.data_id)),
            ("TimeOutMs", 4 * u64::from(frame.period_ms)),
            ("VFrameFormat", if frame.length > 8 { 14 } else { 0 }),
        ] {
            let line = format!("BA_ \"{name}\" BO_ {} {value};\n", frame.id);
            assert!(text.contains(&line), "{line}");
        }
    }
    assert_eq!(read.attribute_values_message.len(), 5 * frames().count());
    assert!(text.contains(database::CAUTION));
}

/// The description as an independent crate reads it.
fn described() -> a2lfile::A2lFile {
    let text = calibration::description();
    let (file, complaints) = a2lfile::load_from_string(&text, None, true)
        .unwrap_or_else(|error| panic!("refused: {error}"));
    let told: Vec<String> = complaints.iter().map(ToString::to_string).collect();
    assert!(told.is_empty(), "{told:#?}");
    file
}

#[test]
fn the_description_is_taken_strictly_and_without_a_complaint() {
    let file = described();
    let told: Vec<String> = file.check().iter().map(ToString::to_string).collect();
    assert!(told.is_empty(), "{told:#?}");
    let text = calibration::description();
    assert!(text.is_ascii() && text.contains(database::CAUTION));
    // Strings of the standard hold 255 characters.
    for line in text.lines() {
        for string in line.split('"').skip(1).step_by(2) {
            assert!(string.len() <= 255, "{}: {line}", string.len());
        }
    }
    // The check finds what it is for.
    for (from, to) in [
        ("single 0 unit_none 0 1", "double 0 unit_none 0 1"),
        ("COMPU_TAB_REF table_phase", "COMPU_TAB_REF table_moon"),
        ("        output.phase\n", "        output.moon\n"),
    ] {
        assert!(text.contains(from), "{from}");
        let spoiled = text.replacen(from, to, 1);
        let found = a2lfile::load_from_string(&spoiled, None, true)
            .map(|(file, complaints)| complaints.len() + file.check().len());
        assert!(!matches!(found, Ok(0)), "{to}");
    }
}

#[test]
fn every_tunable_output_and_finding_has_its_address_limits_and_unit() {
    let file = described();
    let module = &file.project.module[0];
    assert_eq!(module.characteristic.len(), ENTRIES.len() + 2);
    for (place, entry) in ENTRIES.iter().enumerate() {
        let name = format!("{}.{}", entry.group, entry.name);
        let found = module.characteristic.get(&name).expect(&name);
        assert_eq!(found.address, PAGE_AT + 8 + 4 * place as u32, "{name}");
        assert_eq!(
            (found.lower_limit as f32, found.upper_limit as f32),
            (entry.low, entry.high)
        );
        let conversion = module.compu_method.get(&found.conversion).expect(&name);
        let unit = if entry.unit == "-" { "" } else { entry.unit };
        assert_eq!(conversion.unit, unit, "{name}");
        assert!(
            found
                .long_identifier
                .contains(&entry.reason.replace('"', "'")),
            "{name}"
        );
    }
    let trace = TraceSignal::<f32>::ALL;
    assert_eq!(module.measurement.len(), OUTPUT_SIGNALS.len() + trace.len());
    for (place, signal) in OUTPUT_SIGNALS.iter().enumerate() {
        let found = module
            .measurement
            .get(&format!("output.{}", signal.name))
            .expect(signal.name);
        let at = found.ecu_address.as_ref().map(|at| at.address);
        assert_eq!(at, Some(OUTPUTS_AT + 4 * place as u32));
        assert_eq!(
            (found.lower_limit as f32, found.upper_limit as f32),
            (signal.low, signal.high)
        );
    }
    for (place, signal) in trace.iter().enumerate() {
        let found = module
            .measurement
            .get(&format!("trace.{}", signal.name))
            .expect(signal.name);
        let at = found.ecu_address.as_ref().map(|at| at.address);
        assert_eq!(at, Some(TRACE_AT + 4 * place as u32));
    }
    let segments = &module.mod_par.as_ref().expect("segments").memory_segment;
    let page = segments.get("page").expect("the page");
    assert_eq!(
        (page.address, page.size as usize),
        (PAGE_AT, RawPage::BYTES)
    );
    assert_eq!(page.get_name(), "page");
}

/// Fields of a structure of the C header: type and name, in their order; every one takes four bytes.
fn fields(header: &str, structure: &str) -> Vec<(String, String)> {
    let start = format!("typedef struct {structure} {{");
    let body = header.split(&start).nth(1).expect("the structure");
    let body = body.split("\n}").next().unwrap_or_default();
    let lines = body.lines().filter_map(|line| {
        let (kind, name) = line.trim().strip_suffix(';')?.split_once(' ')?;
        let known = line.starts_with("  ") && ["float", "uint32_t"].contains(&kind);
        known.then(|| (kind.to_owned(), name.to_owned()))
    });
    lines.collect()
}

#[test]
fn the_description_fits_the_structures_of_the_c_header() {
    let file = described();
    let module = &file.project.module[0];
    let place = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../controller/abi/include/couplet.h"
    );
    let header = std::fs::read_to_string(place).expect("the header is there");
    let page = fields(&header, "couplet_page");
    assert_eq!(page.len(), ENTRIES.len() + 2);
    for (at, (kind, name)) in page.iter().enumerate() {
        let found = module.characteristic.iter().find(|one| {
            let own = one.get_name();
            own.replace('.', "_") == *name || own.strip_prefix("page.") == Some(name)
        });
        let found = found.expect(name);
        assert_eq!(found.address, PAGE_AT + 4 * at as u32, "{name}");
        assert_eq!(found.deposit == "whole", kind == "uint32_t", "{name}");
    }
    let outputs = fields(&header, "couplet_outputs");
    assert_eq!(outputs.len(), OUTPUT_SIGNALS.len());
    for (at, (kind, name)) in outputs.iter().enumerate() {
        let found = module
            .measurement
            .get(&format!("output.{name}"))
            .expect(name);
        let address = found.ecu_address.as_ref().map(|at| at.address);
        assert_eq!(address, Some(OUTPUTS_AT + 4 * at as u32), "{name}");
        let whole = found.datatype == a2lfile::DataType::Ulong;
        assert_eq!(whole, kind == "uint32_t", "{name}");
    }
}

/// Writes a number at its address, as a tool does that knows the description only.
fn poke(bytes: &mut [u8; RawPage::BYTES], address: u32, value: [u8; 4]) {
    let at = (address - PAGE_AT) as usize;
    bytes[at..at + 4].copy_from_slice(&value);
}

#[test]
fn a_page_written_by_address_is_taken_whole_or_refused_with_its_reason() {
    let file = described();
    let module = &file.project.module[0];
    let good = RawPage::default();
    assert_eq!(RawPage::from_bytes(&good.to_bytes()), good);
    for (place, entry) in ENTRIES.iter().enumerate() {
        let name = format!("{}.{}", entry.group, entry.name);
        let address = module.characteristic.get(&name).expect(&name).address;
        for value in [entry.low, entry.high] {
            let mut bytes = good.to_bytes();
            poke(&mut bytes, address, value.to_le_bytes());
            let page = RawPage::from_bytes(&bytes);
            assert_eq!((entry.read)(&page.tunables), value, "{name}");
            // Within its limits only a rule can refuse it.
            match page.accept::<f32>() {
                Ok(taken) => assert_eq!((entry.read)(&taken.raw()), value),
                Err(refusal) => assert!(refusal.rule().is_some(), "{name}: {refusal:?}"),
            }
        }
        let mut bytes = good.to_bytes();
        poke(&mut bytes, address, f32::NAN.to_le_bytes());
        let refusal = RawPage::from_bytes(&bytes).accept::<f32>().err();
        assert!(
            matches!(refusal, Some(PageRefusal::Range { entry, .. }) if entry == place),
            "{name}"
        );
    }
    let mut bytes = good.to_bytes();
    poke(&mut bytes, PAGE_AT, 3_u32.to_le_bytes());
    assert_eq!(
        RawPage::from_bytes(&bytes).accept::<f32>().err(),
        Some(PageRefusal::Layout { found: 3 })
    );
    let mut bytes = good.to_bytes();
    poke(&mut bytes, PAGE_AT + 4, 9_u32.to_le_bytes());
    assert_eq!(
        RawPage::from_bytes(&bytes).accept::<f32>().err(),
        Some(PageRefusal::Entries { found: 9 })
    );
}

proptest! {
    #[test]
    fn any_bytes_of_a_page_are_taken_whole_or_refused_with_a_reason(
        noise in prop::collection::vec(any::<u8>(), RawPage::BYTES), places in prop::collection::vec((0..RawPage::BYTES, any::<u8>()), 0..4),
        all in any::<bool>(),
    ) {
        let mut bytes = RawPage::default().to_bytes();
        if all {
            bytes.copy_from_slice(&noise);
        }
        for (place, byte) in places {
            bytes[place] = byte;
        }
        let page = RawPage::from_bytes(&bytes);
        prop_assert_eq!(page.to_bytes(), bytes);
        match page.accept::<f32>() {
            Ok(taken) => prop_assert_eq!(taken.raw().setting.agility, page.tunables.setting.agility),
            Err(PageRefusal::Range { entry, value }) => {
                prop_assert!(!ENTRIES[entry].admits(value));
            }
            Err(refusal) => prop_assert!(refusal.rule().is_some() || page.layout != RawPage::default().layout
                || page.entries as usize != ENTRIES.len()),
        }
    }
}
