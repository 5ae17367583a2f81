//! What is written as MDF, CSV and Parquet, read back and broken on purpose.
//!
//! Outside judges of the formats (`asammdf`, `pyarrow`) are in `tests/interop/mdf`; here: what is read is what was written, to the bit;
//! sizes; and that no bytes whatever make a reader panic or take memory a file does not justify.

use std::io::Cursor;

use couplet_exchange::mdf::{self, Limits, MdfWriter, Wrong};
use couplet_exchange::parquet::ParquetWriter;
use couplet_exchange::{Column, Form, Sheet, csv, rows};
use couplet_sim::record::recording::{Group, Recording, Signal};
use proptest::prelude::*;

/// Memory a reader may take in these tests.
const LIMITS: Limits = Limits {
    values_bytes: 1 << 24,
    block_bytes: 1 << 20,
};

fn recording() -> Recording {
    let group = |name: &str, rate: f64, count: usize, channels: usize| Group {
        name: name.to_owned(),
        time_s: (0..count).map(|index| index as f64 / rate).collect(),
        signals: (0..channels)
            .map(|channel| Signal {
                name: format!("{name} {channel}"),
                unit: ["rad/s", "N m", "-", "°C"][channel % 4].to_owned(),
                comment: format!("Invented <{channel}> & said so."),
                values: (0..count)
                    .map(|index| f64::from(((index * 31 + channel * 7) % 1013) as f32 * 0.37 - 9.1))
                    .collect(),
            })
            .collect(),
    };
    Recording {
        comment: "All of it <invented> & made up".to_owned(),
        groups: vec![group("quick", 1000.0, 40_000, 3), group("slow", 50.0, 7, 2)],
    }
}

fn mdf_bytes(recording: &Recording) -> Vec<u8> {
    let sheets: Vec<Sheet> = recording.groups.iter().map(Sheet::of).collect();
    let out = Cursor::new(Vec::new());
    let mut writer = MdfWriter::begin(out, &recording.comment, 0, &sheets).expect("memory");
    for (index, group) in recording.groups.iter().enumerate() {
        rows(group, |time_s, row| writer.push(index, time_s, row)).expect("memory");
    }
    writer.finish().expect("memory").into_inner()
}

fn read(bytes: &[u8]) -> Result<mdf::Found, mdf::Unreadable> {
    mdf::read(Cursor::new(bytes), &LIMITS, &|_| true)
}

#[test]
fn an_mdf_file_reads_back_to_the_bit_with_units_comments_and_rates() {
    let written = recording();
    let found = read(&mdf_bytes(&written)).expect("readable");
    assert!(found.skipped.is_empty(), "{:?}", found.skipped);
    assert_eq!(found.recording, written);
}

#[test]
fn rates_may_come_in_turn_and_a_row_costs_no_more_memory_than_its_buffer() {
    let sheet = |name: &str| Sheet {
        name: name.to_owned(),
        columns: vec![Column::new(name, "m", "")],
    };
    let out = Cursor::new(Vec::new());
    let mut writer = MdfWriter::begin(out, "", 0, &[sheet("a"), sheet("b")]).expect("memory");
    for step in 0..30_000 {
        writer
            .push(0, f64::from(step) * 0.001, &[step as f32])
            .expect("memory");
        if step % 10 == 0 {
            writer
                .push(1, f64::from(step) * 0.001, &[-step as f32])
                .expect("memory");
        }
    }
    let bytes = writer.finish().expect("memory").into_inner();
    let found = read(&bytes).expect("readable").recording;
    let lengths: Vec<usize> = found
        .groups
        .iter()
        .map(|group| group.time_s.len())
        .collect();
    assert_eq!(lengths, [30_000, 3_000]);
    assert_eq!(
        found.find("b").map(|(_, b)| b.values[2_999]),
        Some(-29_990.0)
    );
}

#[test]
fn sixty_seconds_of_thirty_channels_at_a_kilohertz_take_at_most_7_7_megabytes() {
    let columns = (0..30).map(|channel| {
        let name = format!("signal_{channel:02}");
        Column::new(&name, "rad/s", "Invented numbers of a bench.")
    });
    let sheet = Sheet {
        name: "bench".to_owned(),
        columns: columns.collect(),
    };
    let out = Cursor::new(Vec::new());
    let mut writer = MdfWriter::begin(out, "", 0, &[sheet]).expect("memory");
    for step in 0..60_000 {
        let row: [f32; 30] = std::array::from_fn(|channel| (step * 31 + channel) as f32 * 0.1);
        writer.push(0, step as f64 * 0.001, &row).expect("memory");
    }
    let bytes = writer.finish().expect("memory").into_inner().len();
    // 60,000 records of one 64-bit time and 30 32-bit values are 7.68 million bytes.
    assert!((7_680_000..=7_700_000).contains(&bytes), "{bytes} bytes");
}

#[test]
fn csv_reads_back_to_the_bit_and_an_undefined_number_is_an_empty_cell() {
    let mut group = recording().groups.remove(0);
    group.signals[0].name = "a, \"quoted\" name".to_owned();
    let extremes = [
        f32::MAX,
        f32::MIN_POSITIVE,
        1.0e-45,
        -0.0,
        1.0e16,
        123_456.79,
        0.1,
    ];
    for (value, extreme) in group.signals[1].values.iter_mut().zip(extremes) {
        *value = f64::from(extreme);
    }
    group.signals[2].values[3] = f64::NAN;
    let mut writer = csv::CsvWriter::begin(Vec::new(), &Sheet::of(&group)).expect("memory");
    rows(&group, |time_s, row| writer.push(time_s, row)).expect("memory");
    let text = writer.finish().expect("memory");
    let found = csv::read(text.as_slice(), LIMITS.values_bytes).expect("readable");
    let found = &found.groups[0];
    assert_eq!(found.time_s, group.time_s);
    for (found, written) in found.signals.iter().zip(&group.signals) {
        assert_eq!((&found.name, &found.unit), (&written.name, &written.unit));
        for (index, (found, written)) in found.values.iter().zip(&written.values).enumerate() {
            // Both as single precision: CSV writes the shortest text of that.
            let (found, written) = (*found as f32, *written as f32);
            let same = found.to_bits() == written.to_bits() || found.is_nan() && written.is_nan();
            assert!(same, "{index}: {found} {written}");
        }
    }
}

#[test]
fn every_fault_of_a_csv_is_told_with_its_line_and_column() {
    let told = |text: &str| {
        let wrong = csv::read(text.as_bytes(), 1000).expect_err("refused");
        (wrong.line, wrong.column, wrong.to_string())
    };
    assert_eq!(told("").0, 1);
    assert_eq!(told("speed [m/s],time [s]\n").1, 1);
    assert_eq!(
        told("time [s],a [m],a [m]\n"),
        (1, 16, "the name `a` is empty or taken twice".into())
    );
    assert_eq!(
        told("time [s],\"a\n"),
        (1, 10, "a quote that does not end".into())
    );
    assert_eq!(
        told("time [s],a [m]\n0,1\n0.1,µ x\n"),
        (3, 5, "`µ x` is no number".into())
    );
    assert_eq!(
        told("time [s],a [m]\n0,1,2\n"),
        (2, 6, "3 cells where the header names 2".into())
    );
    assert_eq!(
        told("time [s],a [m]\n0.2,1\n0.1,1\n"),
        (3, 1, "time goes from 0.2 s to 0.1 s".into())
    );
    assert_eq!(told("time [s],a [m]\n,1\n").0, 2);
    assert!(csv::read(&b"time [s],a [m]\n0,1\n"[..], 1000).is_ok());
    let many: String = (0..100).map(|index| format!("{index},1\n")).collect();
    assert_eq!(
        told(&format!("time [s],a [m]\n{many}")).2,
        "more than 1000 bytes of memory are needed"
    );
    let endless = vec![b'1'; 2 << 20];
    assert!(csv::read(endless.as_slice(), 1000).is_err());
}

/// Place of the first block of a name.
fn block(bytes: &[u8], name: &[u8; 4]) -> usize {
    bytes
        .windows(4)
        .position(|four| four == name)
        .expect("a block of that name")
}

fn changed(at: usize, with: &[u8]) -> mdf::Unreadable {
    let mut bytes = mdf_bytes(&recording());
    bytes[at..at + with.len()].copy_from_slice(with);
    read(&bytes).expect_err("refused")
}

#[test]
fn what_is_wrong_with_an_mdf_file_is_told_with_its_byte() {
    let bytes = mdf_bytes(&recording());
    let (group, channels, channel) = (
        block(&bytes, b"##DG"),
        block(&bytes, b"##CG"),
        block(&bytes, b"##CN"),
    );
    let wrong = changed(0, b"UnFinMF ");
    assert!(
        matches!((wrong.at, &wrong.wrong), (0, Wrong::Unfinished)),
        "{wrong}"
    );
    let wrong = changed(28, &3_u16.to_le_bytes());
    assert!(
        matches!((wrong.at, &wrong.wrong), (28, Wrong::Version(3))),
        "{wrong}"
    );
    // Record ids: an unsorted group.
    let wrong = changed(group + 24 + 32, &[1]);
    assert_eq!(wrong.at, group as u64, "{wrong}");
    assert!(wrong.to_string().contains("unsorted"), "{wrong}");
    // More records than bytes.
    let wrong = changed(channels + 24 + 48 + 8, &u64::MAX.to_le_bytes());
    assert!(matches!(wrong.wrong, Wrong::TooFewBytes { .. }), "{wrong}");
    assert_eq!(wrong.at, channels as u64);
    // A channel whose next is itself.
    let wrong = changed(channel + 24, &(channel as u64).to_le_bytes());
    assert!(matches!(wrong.wrong, Wrong::Loop), "{wrong}");
    assert_eq!(wrong.at, channel as u64);
    // A link into nowhere.
    let wrong = changed(channel + 24, &(u64::MAX - 3).to_le_bytes());
    assert!(matches!(wrong.wrong, Wrong::BeyondEnd { .. }), "{wrong}");
    // A channel outside its record.
    let wrong = changed(channel + 24 + 64 + 4, &1000_u32.to_le_bytes());
    assert!(matches!(wrong.wrong, Wrong::OutsideRecord), "{wrong}");
    // Big endian: the channel is named, the others are read.
    let mut big = bytes.clone();
    let second = channel
        + bytes[channel + 4..]
            .windows(4)
            .position(|four| four == b"##CN")
            .expect("a second channel")
        + 4;
    big[second + 24 + 64 + 2] = 5;
    let found = read(&big).expect("the rest is readable");
    assert_eq!(found.skipped.len(), 1);
    assert_eq!(
        (
            found.skipped[0].at,
            found.skipped[0].name.as_str(),
            found.skipped[0].why
        ),
        (second as u64, "quick 0", "big endian")
    );
    assert_eq!(found.recording.all().count(), 4);
}

#[test]
fn a_file_cut_anywhere_is_refused_with_a_place_inside_it_or_says_nothing_false() {
    let mut short = recording();
    for group in &mut short.groups {
        group.time_s.truncate(20);
        for signal in &mut group.signals {
            signal.values.truncate(20);
        }
    }
    let bytes = mdf_bytes(&short);
    for length in 0..bytes.len() {
        match read(&bytes[..length]) {
            Err(wrong) => assert!(wrong.at <= bytes.len() as u64, "{length}: {wrong}"),
            // Only padding behind the last block may be missing.
            Ok(found) => {
                assert!(length + 8 > bytes.len(), "{length} of {}", bytes.len());
                assert_eq!(found.recording, short);
            }
        }
    }
}

/// A file of one group whose data block is compressed and claims `claimed` bytes.
fn packed(claimed: u64, packed: &[u8]) -> Vec<u8> {
    let mut bytes = mdf_bytes(&Recording {
        groups: vec![Group {
            name: "g".to_owned(),
            time_s: vec![0.0],
            signals: vec![Signal {
                name: "s".to_owned(),
                values: vec![1.0],
                ..Signal::default()
            }],
        }],
        ..Recording::default()
    });
    let place = bytes.len() as u64;
    let link = block(&bytes, b"##DG") + 24 + 16;
    bytes[link..link + 8].copy_from_slice(&place.to_le_bytes());
    bytes.extend(b"##DZ\0\0\0\0");
    bytes.extend((48 + packed.len() as u64).to_le_bytes());
    bytes.extend(0_u64.to_le_bytes());
    bytes.extend(b"DT\0\0\0\0\0\0");
    bytes.extend(claimed.to_le_bytes());
    bytes.extend((packed.len() as u64).to_le_bytes());
    bytes.extend(packed);
    bytes
}

#[test]
fn a_compressed_block_that_claims_too_much_takes_no_memory() {
    let wrong = read(&packed(1 << 40, &[0x78, 0x9c, 3, 0, 0, 0, 0, 1])).expect_err("refused");
    assert!(matches!(wrong.wrong, Wrong::TooMuch { .. }), "{wrong}");
    // It holds nothing: an empty stream where 12 bytes are claimed.
    let wrong = read(&packed(12, &[0x78, 0x9c, 3, 0, 0, 0, 0, 1])).expect_err("refused");
    assert!(matches!(wrong.wrong, Wrong::Inflate), "{wrong}");
}

#[test]
fn a_parquet_file_begins_and_ends_as_the_format_says() {
    let group = &recording().groups[0];
    let mut writer = ParquetWriter::begin(Vec::new(), &Sheet::of(group)).expect("memory");
    rows(group, |time_s, row| writer.push(time_s, row)).expect("memory");
    let bytes = writer.finish().expect("memory");
    let length = bytes.len();
    assert_eq!(
        (&bytes[..4], &bytes[length - 4..]),
        (&b"PAR1"[..], &b"PAR1"[..])
    );
    let footer = u32::from_le_bytes([
        bytes[length - 8],
        bytes[length - 7],
        bytes[length - 6],
        bytes[length - 5],
    ]);
    assert!((footer as usize) < length - 12);
}

#[test]
fn a_written_file_appears_whole_and_leaves_nothing_else_behind() {
    let folder = std::env::temp_dir().join(format!("couplet-exchange-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let mut all = Vec::new();
    for form in [Form::Mdf, Form::Csv, Form::Parquet] {
        all.extend(couplet_exchange::write(&recording(), form, &folder, "log").expect("written"));
    }
    let mut names: Vec<String> = std::fs::read_dir(&folder)
        .expect("the folder")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "log-quick.csv",
            "log-quick.parquet",
            "log-slow.csv",
            "log-slow.parquet",
            "log.mf4"
        ]
    );
    assert_eq!(all.len(), 5);
    // A place that cannot be: what is there stays.
    assert!(
        couplet_exchange::write(&recording(), Form::Mdf, &folder.join("log.mf4"), "log").is_err()
    );
    assert!(read(&std::fs::read(folder.join("log.mf4")).expect("there")).is_ok());
    std::fs::remove_dir_all(&folder).expect("removed");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn no_bytes_make_a_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..4000), lead in any::<bool>()) {
        let mut bytes = bytes;
        if lead && bytes.len() >= 68 {
            bytes[..30].copy_from_slice(b"MDF     4.10    hostile \0\0\0\0\x9a\x01");
            bytes[64..68].copy_from_slice(b"##HD");
        }
        let _ = read(&bytes);
        let _ = csv::read(bytes.as_slice(), LIMITS.values_bytes);
    }

    #[test]
    fn no_change_of_a_file_makes_a_reader_panic_or_take_more_than_allowed(
        places in proptest::collection::vec((any::<prop::sample::Index>(), any::<[u8; 8]>(), 1_usize..9), 1..6),
        cut in any::<prop::sample::Index>(),
        cuts in any::<bool>(),
    ) {
        let mut short = recording();
        for group in &mut short.groups {
            group.time_s.truncate(50);
            for signal in &mut group.signals {
                signal.values.truncate(50);
            }
        }
        let mut bytes = mdf_bytes(&short);
        for (place, with, count) in places {
            let at = place.index(bytes.len());
            let end = (at + count).min(bytes.len());
            bytes[at..end].copy_from_slice(&with[..end - at]);
        }
        if cuts {
            bytes.truncate(cut.index(bytes.len()));
        }
        match read(&bytes) {
            Ok(found) => {
                let held: usize = found.recording.all().map(|(_, signal)| 8 * signal.values.len()).sum();
                prop_assert!(held as u64 <= LIMITS.values_bytes);
            }
            Err(wrong) => prop_assert!(!wrong.to_string().is_empty()),
        }
    }

    #[test]
    fn no_text_makes_the_csv_reader_panic(text in "[0-9time s\\[\\],.\"\n\r\u{fe}-]{0,200}") {
        let _ = csv::read(text.as_bytes(), LIMITS.values_bytes);
        let _ = csv::read(format!("time [s],a [m]\n{text}").as_bytes(), LIMITS.values_bytes);
    }
}
