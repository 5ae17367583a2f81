//! Frames of a bus with a database of its own: read, decoded, refused or left out with the place.
//!
//! Outside: `can-dbc` reads the same texts (structure); the packing of our own bus, which shares no code with this reader, gives the values.
//! `tests/interop/can` holds 100,000 frames against `cantools`.

use can_dbc::{ByteOrder, Dbc, MultiplexIndicator, ValueType};
use couplet_bus::{AXLE_FRAMES, CAR_FRAMES, Decoded, Frame, Transport};
use couplet_controller::RawPage;
use couplet_network::foreign::{self, Form, Order, Said, Shown};
use couplet_network::sample::Chance;
use couplet_network::{Head, LogWriter};
use proptest::prelude::*;

const CAR: &str = include_str!("../fuzz/seeds/foreign_bus/car.dbc");

fn car() -> foreign::Database {
    foreign::read(CAR.as_bytes()).expect("sound")
}

fn log(lines: &str) -> String {
    let count = lines.lines().count();
    format!("couplet-frames 1\n# invented\ntime_us id length data\n{lines}end {count}\n")
}

fn decoded(text: &str) -> Result<foreign::Decoded, couplet_network::LogError> {
    foreign::decoded(text.as_bytes(), &car(), 1 << 20)
}

#[test]
fn an_independent_reader_finds_the_same_messages_and_signals() {
    for text in [CAR.to_owned(), couplet_network::database::database()] {
        let judge = Dbc::try_from(text.as_str()).expect("readable");
        let ours = foreign::read(text.as_bytes()).expect("sound");
        assert_eq!(ours.messages.len(), judge.messages.len());
        for (ours, judged) in ours.messages.iter().zip(&judge.messages) {
            assert_eq!(ours.name, judged.name);
            assert_eq!(ours.length as u64, judged.size);
            assert_eq!(
                ours.id | if ours.extended { 1 << 31 } else { 0 },
                judged.id.raw()
            );
            for signal in &ours.signals {
                let judged = judged.signals.iter().find(|one| one.name == signal.name);
                let judged = judged.expect("there");
                assert_eq!(u64::from(signal.start), judged.start_bit, "{}", signal.name);
                assert_eq!(u64::from(signal.bits), judged.size, "{}", signal.name);
                assert_eq!(
                    (signal.factor, signal.offset),
                    (judged.factor, judged.offset)
                );
                assert_eq!(signal.unit, judged.unit);
                assert_eq!(
                    signal.order == Order::Little,
                    judged.byte_order == ByteOrder::LittleEndian
                );
                if matches!(signal.form, Form::Unsigned | Form::Signed) {
                    let signed = judged.value_type == ValueType::Signed;
                    assert_eq!(signal.form == Form::Signed, signed, "{}", signal.name);
                }
                let shown = match judged.multiplexer_indicator {
                    MultiplexIndicator::Plain => Shown::Always,
                    MultiplexIndicator::Multiplexor => Shown::Switch,
                    MultiplexIndicator::MultiplexedSignal(value) => Shown::When(value),
                    ref other => panic!("{other:?} was read"),
                };
                assert_eq!(signal.shown, shown, "{}", signal.name);
            }
        }
    }
}

#[test]
fn our_own_frames_say_through_their_database_what_was_packed() {
    let text = couplet_network::database::database();
    let database = foreign::read(text.as_bytes()).expect("sound");
    assert_eq!(database.left_out, []);
    let mut chance = Chance(11);
    let mut numbers = 0;
    for layout in CAR_FRAMES.iter().chain(AXLE_FRAMES) {
        let place = database.place(u32::from(layout.id), false).expect("there");
        let message = &database.messages[place];
        for _ in 0..200 {
            let bytes: Vec<u8> = (0..layout.length).map(|_| chance.bits() as u8).collect();
            let frame = Frame::new(layout.id, &bytes).expect("a frame");
            let said: Vec<Said> = message.said(frame.bytes()).collect();
            for placed in layout.signals {
                let raw = placed.raw(frame.bytes());
                let Decoded::Number(number) = placed.decode(raw) else {
                    continue;
                };
                if number == f32::MAX {
                    continue;
                }
                let at = message
                    .signals
                    .iter()
                    .position(|one| one.name == placed.name());
                let found = said[at.expect("there")];
                assert_eq!(found, Said::Value(f64::from(number)), "{}", placed.name());
                numbers += 1;
            }
        }
    }
    assert!(numbers > 5_000, "{numbers}");
}

#[test]
fn signed_floats_switches_and_both_orders_of_bytes_are_read_as_written() {
    // Worked by hand: 0xfc18 is -1000; 0x41200000 is the float 10 (IEEE 754), its first byte is the last of the switched signals.
    let lines = "1000 210 8 e803d0070000ffff\n2000 18ef0031 8 fc1800100048f5c3\n3000 18ef0031 8 fc1801041240480000\n";
    assert!(decoded(&log(lines)).is_err(), "nine bytes");
    let lines = "1000 210 8 e803d0070000ffff\n2000 18ef0031 8 fc1800104048f5c3\n3000 18ef0031 8 03e8011041200000\n4000 12c 8 000000000000f0bf\n";
    let found = decoded(&log(lines)).expect("sound");
    let value = |name: &str, index: usize| found.recording.find(name).expect(name).1.values[index];
    assert_eq!(value("Wheels.FrontLeft", 0), 10.0);
    assert_eq!(value("Wheels.FrontRight", 0), 20.0);
    // 655.35 km/h lies outside the range: not there, and counted.
    assert!(value("Wheels.RearRight", 0).is_nan());
    assert!(
        found
            .notes
            .iter()
            .any(|note| note.contains("1 of 1 values of `Wheels.RearRight` lie outside"))
    );
    assert_eq!(value("Motion.YawRate", 0), -5.0);
    assert_eq!(value("Motion.YawRate", 1), 5.0);
    assert_eq!(
        value("Motion.Temperature", 0),
        f64::from(f32::from_bits(0x4048_f5c3))
    );
    assert_eq!(value("Motion.Temperature", 1), 10.0);
    assert_eq!(value("Motion.Lateral", 0), 4160.0 * 0.001);
    assert!(value("Motion.Lateral", 1).is_nan());
    assert_eq!(value("Motion.Along", 1), 4161.0 * 0.001);
    assert!(value("Motion.Along", 0).is_nan());
    assert_eq!(value("Steering.Angle", 0), -1.0 - 0.5);
    let (group, signal) = found.recording.find("Motion.Temperature").expect("there");
    assert_eq!(
        (group.time_s.as_slice(), signal.unit.as_str()),
        (&[0.001, 0.002][..], "°C")
    );
}

#[test]
fn what_cannot_be_decoded_is_left_out_with_its_line() {
    let text = CAR.replace("\nCM_ BO_ 300", "\nWHAT_ 7 \"is;this\"\nCM_ BO_ 300");
    let text = text.replace("Page 1-1", "Page 1-2").replace(
        "(0.01,0) [0|300] \"km/h\" Axle\n\n",
        "(0,0) [0|0] \"\" Axle\n\n",
    );
    let found = foreign::read(text.as_bytes()).expect("sound");
    let told: Vec<String> = found
        .left_out
        .iter()
        .map(|one| format!("{}:{}: {}", one.line, one.column, one.what))
        .collect();
    let wanted = [
        "16:2: signal `Wheels.RearRight`: its factor is zero",
        "23:2: signal `Motion.Deep`: a switch behind a switch",
        "28:2: signal `Steering.Beyond`: its bits do not lie in its message",
        "30:1: `WHAT_` is no statement this reader knows",
        "37:1: signal `Motion.Along`: extended multiplexing",
    ];
    assert_eq!(told, wanted);
    let two = CAR.replace("Temperature : 39", "Temperature M : 39");
    let found = foreign::read(two.as_bytes()).expect("sound");
    assert!(
        found
            .left_out
            .iter()
            .any(|one| one.what.contains("two switches"))
    );
    let short = CAR.replace(
        "SIG_VALTYPE_ 300 Angle : 2",
        "SIG_VALTYPE_ 528 FrontLeft : 1",
    );
    let found = foreign::read(short.as_bytes()).expect("sound");
    assert!(
        found
            .left_out
            .iter()
            .any(|one| one.what.contains("a float of 16 bits"))
    );
    // Bytes of another code page: the unit is read as ISO 8859-1.
    let latin: Vec<u8> = CAR.chars().map(|one| one as u8).collect();
    assert_eq!(foreign::read(&latin).expect("sound"), car());
}

#[test]
fn every_wrong_place_of_a_database_is_refused_there() {
    for (from, to, line, column, what) in [
        ("BO_ 528", "BO_ 2048", 12, 5, "identifier 2048"),
        ("BO_ 528", "BO_ x", 12, 5, "`x`"),
        (
            "BO_ 300",
            "BO_ 528",
            26,
            5,
            "second message of identifier 528",
        ),
        (
            "300 Steering",
            "300 Wheels",
            26,
            9,
            "second message `Wheels`",
        ),
        ("Wheels:", "Wheels", 12, 16, "`8`"),
        (
            "FrontRight :",
            "FrontLeft :",
            14,
            6,
            "second signal `FrontLeft`",
        ),
        ("FrontRight :", "FrontRight n1 :", 14, 17, "`n1`"),
        ("0|16@1+", "0|65@1+", 13, 20, "65 bits"),
        ("0|16@1+", "0|16@2+", 13, 23, "`2+`"),
        ("0|16@1+", "0|16@1", 13, 25, "`(0.01,0)`"),
        ("(0.01,0)", "(0.0.1,0)", 13, 27, "`0.0.1,0)`"),
        ("(0.01,0)", "(1e999,0)", 13, 27, "`1e999,0)`"),
        (
            "[0|300] \"km/h\" Axle",
            "[0|300]",
            13,
            42,
            "the line ends here",
        ),
        ("Angle : 2;", "Angle : 3;", 35, 26, "form 3"),
        ("\"Two\n", "\"Two\n\"", 32, 3, "the text ends"),
    ] {
        assert!(CAR.contains(from), "{from}");
        let text = CAR.replacen(from, to, 1);
        match foreign::read(text.as_bytes()) {
            Err(error) if what != "the text ends" => {
                assert_eq!((error.line, error.column), (line, column), "{to}: {error}");
                assert!(error.what.contains(what), "{to}: {error}");
                assert!(!error.allowed.is_empty());
            }
            // A quote too many moves all later texts; what is then found is told at its place.
            Err(error) => assert!(error.line > 31, "{error}"),
            Ok(found) => assert!(
                what == "the text ends" && !found.left_out.is_empty(),
                "{to}"
            ),
        }
    }
    let error = foreign::read(b" SG_ A : 0|8@1+ (1,0) [0|0] \"\" X\n").expect_err("no message");
    assert_eq!((error.line, error.column), (1, 2));
}

#[test]
fn every_wrong_line_of_a_log_is_refused_at_its_column() {
    let sound = log("5 210 8 e803d0070000ffff\n9 18ef0031 8 fc1800104048f5c3\n9 7ff 0 -\n");
    let found = decoded(&sound).expect("sound");
    assert!(
        found
            .notes
            .iter()
            .any(|note| note.starts_with("1 of 3 frames have an identifier"))
    );
    for (from, to, line, column) in [
        ("couplet-frames 1", "couplet-frames 2", 1, 1),
        ("time_us id", "time id", 19, 1),
        ("5 210", "x 210", 4, 1),
        ("9 18ef0031", "4 18ef0031", 5, 1),
        ("18ef0031", "28ef0031", 5, 3),
        ("18ef0031", "8ef0031", 5, 3),
        ("7ff 0 -", "800 0 -", 6, 3),
        ("8 fc18", "9 fc18", 5, 14),
        ("8 fc18", "65 fc18", 5, 12),
        ("f5c3", "f5g3", 5, 14),
        ("0 -\nend", "0 - -\nend", 6, 11),
        ("end 3", "end 4", 7, 5),
    ] {
        assert!(sound.contains(from), "{from}");
        let text = sound.replacen(from, to, 1);
        let error = decoded(&text).expect_err(to);
        if line < 19 {
            assert_eq!((error.line, error.column), (line, column), "{to}: {error}");
        }
    }
    for length in 0..sound.len() {
        let error = decoded(&sound[..length]).expect_err("cut off");
        let lines = sound[..length].matches('\n').count();
        assert_eq!(error.line, lines + 1, "{length}: {error}");
    }
    let bounded = foreign::decoded(sound.as_bytes(), &car(), 24).expect_err("bounded");
    assert!(bounded.what.contains("24 bytes"), "{bounded}");
}

#[test]
fn a_log_of_our_own_bus_is_read_as_a_foreign_one() {
    let head = Head::of("a drive", &RawPage::default(), 0, 20.0);
    let mut writer = LogWriter::new(Vec::new(), &head).expect("memory");
    let frame = Frame::new(
        CAR_FRAMES[0].id,
        &vec![0; usize::from(CAR_FRAMES[0].length)],
    );
    writer.send(70, &frame.expect("a frame")).expect("memory");
    let bytes = writer.end().expect("memory");
    let text = couplet_network::database::database();
    let database = foreign::read(text.as_bytes()).expect("sound");
    let found = foreign::decoded(bytes.as_slice(), &database, 1 << 20).expect("sound");
    assert_eq!(found.recording.groups.len(), 1);
    assert_eq!(found.recording.groups[0].name, CAR_FRAMES[0].name);
}

proptest! {
    #[test]
    fn cut_spoiled_and_random_databases_never_panic(
        cut in 0_usize..2_000, places in prop::collection::vec((any::<u16>(), any::<u8>()), 0..8), noise in prop::collection::vec(any::<u8>(), 0..300),
    ) {
        let mut bytes = CAR.as_bytes().to_vec();
        for (place, byte) in &places {
            let length = bytes.len();
            bytes[usize::from(*place) % length] = *byte;
        }
        bytes.truncate(cut);
        for bytes in [bytes, noise] {
            couplet_tests::hostile::foreign_bus(&bytes);
        }
    }
}
