//! The text log of the bus: what is written is what is read, and everything else is refused with its place.

use std::io::BufReader;

use couplet_bus::{Frame, Transport};
use couplet_controller::RawPage;
use couplet_network::text_log::LONGEST_GAP_US;
use couplet_network::{Head, LogError, LogReader, LogWriter, Replay};
use proptest::prelude::*;

fn head() -> Head {
    Head::of("a drive", &RawPage::default(), 10_000, -12.5)
}

fn log(frames: &[(u64, Frame)]) -> Vec<u8> {
    let mut log = LogWriter::new(Vec::new(), &head()).expect("memory");
    for (at_us, frame) in frames {
        log.send(*at_us, frame).expect("memory");
    }
    log.end().expect("memory")
}

fn read(bytes: &[u8]) -> Result<(Head, Vec<(u64, Frame)>), LogError> {
    // Small pieces: a reader must not hang on how much comes at a time.
    let mut reader = LogReader::open(BufReader::with_capacity(7, bytes))?;
    let mut frames = Vec::new();
    while let Some(frame) = reader.next_frame()? {
        frames.push(frame);
    }
    Ok((reader.head().clone(), frames))
}

fn some() -> Vec<(u64, Frame)> {
    let frame = |id, data: &[u8]| Frame::new(id, data).expect("a frame");
    vec![
        (0, frame(0x110, &[0xa4, 0, 0x1e, 0, 0x1e, 0, 0, 0xff])),
        (0, frame(0x7ff, &[])),
        (5_000, frame(0, &[7; 64])),
    ]
}

#[test]
fn the_form_of_the_log_is_the_one_the_book_shows() {
    let text = String::from_utf8(log(&some()[..2])).expect("text");
    let mut lines = text.lines();
    let wanted = [
        "couplet-bus 1",
        "# Simulated drive of an invented car; identifiers are invented.",
        "name a-drive",
        "period_us 5000",
        "zero_us 10000",
        "start_degc -12.5",
    ];
    for line in wanted {
        assert_eq!(lines.next(), Some(line));
    }
    assert!(lines.next().is_some_and(|line| line.starts_with("layout ")));
    assert!(
        lines
            .next()
            .is_some_and(|line| line.len() == 13 && line.starts_with("page "))
    );
    let rest: Vec<&str> = lines.collect();
    let wanted = [
        "time_us id length data",
        "0 110 8 a4001e001e0000ff",
        "0 7ff 0 -",
        "end 2",
    ];
    assert_eq!(rest, wanted);
}

#[test]
fn every_cut_is_refused_with_its_line() {
    let whole = log(&some());
    assert_eq!(read(&whole), Ok((head(), some())));
    for length in 0..whole.len() {
        let error = read(&whole[..length]).expect_err("cut off");
        let lines = whole[..length]
            .iter()
            .filter(|byte| **byte == b'\n')
            .count();
        assert_eq!(error.line, lines + 1, "{length}: {error}");
        assert!(error.to_string().contains("; allowed: "));
    }
}

#[test]
fn every_wrong_line_is_refused_at_its_column() {
    let text = String::from_utf8(log(&some())).expect("text");
    let row = "5000 000 64 ";
    for (from, to, line, column, what) in [
        ("couplet-bus 1", "couplet-bus 2", 1, 1, "couplet-bus 2"),
        ("period_us 5000", "period_us 900", 4, 11, "control period"),
        ("zero_us 10000", "zero_us -1", 5, 9, "zero_us"),
        ("start_degc -12.5", "start_degc NaN", 6, 12, "start_degc"),
        ("start_degc -12.5", "start_degc", 6, 1, "start_degc"),
        (
            "time_us id length data",
            "time id length data",
            9,
            1,
            "time id",
        ),
        ("0 110 8 ", "x 110 8 ", 10, 1, "time_us"),
        ("0 110 8 ", "-1 110 8 ", 10, 1, "time_us"),
        ("0 110 8 ", "60000001 110 8 ", 10, 1, "time_us"),
        ("0 110 8 ", "5001 110 8 ", 11, 1, "time_us"),
        ("0 110 8 ", "0 10 8 ", 10, 3, "id"),
        ("0 7ff 0 -", "0 800 0 -", 11, 3, "id"),
        (row, "5000 000 9 ", 12, 10, "length"),
        (row, "5000 000 48 ", 12, 13, "data"),
        ("0707\nend", "07g7\nend", 12, 13, "data"),
        ("0 7ff 0 -", "0 7ff 0 - -", 11, 11, "end of line"),
        ("0 7ff 0 -", "0 7ff 0", 11, 8, "no data"),
        ("0 7ff 0 -", "", 11, 1, "time_us"),
        ("end 3", "end 4", 13, 5, "after 3 frames"),
        ("end 3", "end 3\n0 110 0 -", 14, 1, "after the end"),
        ("0 7ff 0 -", "0 7ff 0 \u{e9}", 11, 9, "data"),
    ] {
        assert!(text.contains(from), "{from}");
        let error = read(text.replacen(from, to, 1).as_bytes()).expect_err(to);
        assert_eq!((error.line, error.column), (line, column), "{to}: {error}");
        assert!(error.what.contains(what), "{to}: {error}");
    }
    // A line without end must not fill the memory.
    let endless = [text.as_bytes(), vec![b'0'; 100_000].as_slice()].concat();
    let error = read(&endless[..]).expect_err("endless");
    assert_eq!((error.line, error.column), (14, 257));
    let not_text = [log(&[]).as_slice(), &[0xff, b'\n']].concat();
    assert_eq!(read(&not_text).expect_err("not text").what, "not text");
}

#[test]
fn remarks_and_the_other_end_of_line_are_taken() {
    let text = String::from_utf8(log(&some())).expect("text");
    let text = text.replace('\n', "\r\n# a remark\r\n");
    // Behind the last line nothing may stand.
    let text = text
        .strip_suffix("# a remark\r\n")
        .expect("the last remark");
    assert_eq!(read(text.as_bytes()), Ok((head(), some())));
}

#[test]
fn a_silence_is_replayed_step_by_step_and_a_longer_one_than_a_minute_is_refused() {
    let mut frames = some();
    frames.push((1_005_000, frames[0].1));
    let bytes = log(&frames);
    let steps: Result<Vec<_>, _> = Replay::open(bytes.as_slice()).expect("a log").collect();
    let steps = steps.expect("sound");
    assert_eq!(steps.len(), 202);
    assert_eq!(steps[201].at_us, 1_005_000);
    frames[3].0 = 5_001 + LONGEST_GAP_US;
    assert!(read(&log(&frames)).is_err());
    // What is wrong later on stops the replay there.
    let text = String::from_utf8(bytes)
        .expect("text")
        .replace("end 4", "end 5");
    let mut replay = Replay::open(text.as_bytes()).expect("a sound beginning");
    let error = replay.find_map(Result::err).expect("the wrong end");
    assert_eq!(error.line, 14);
    assert!(replay.next().is_none());
}

fn any_frame() -> impl Strategy<Value = Frame> {
    let length = prop::sample::select(vec![0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64]);
    let data = length.prop_flat_map(|length| prop::collection::vec(any::<u8>(), length));
    (0_u16..0x800, data).prop_map(|(id, data)| Frame::new(id, &data).expect("a frame"))
}

proptest! {
    #[test]
    fn any_frames_are_read_as_written(frames in prop::collection::vec((0_u64..40_000_000, any_frame()), 0..40)) {
        let mut frames = frames;
        let mut at_us = 0;
        for (gap_us, _) in &mut frames {
            at_us += *gap_us;
            *gap_us = at_us;
        }
        prop_assert_eq!(read(&log(&frames)), Ok((head(), frames)));
    }

    #[test]
    fn spoiled_and_random_bytes_are_read_or_refused_at_a_place(
        places in prop::collection::vec((any::<u16>(), any::<u8>()), 0..8), noise in prop::collection::vec(any::<u8>(), 0..300),
    ) {
        let mut bytes = log(&some());
        for (place, byte) in &places {
            let length = bytes.len();
            bytes[usize::from(*place) % length] = *byte;
        }
        for bytes in [bytes, noise] {
            match read(&bytes) {
                Ok((_, frames)) => prop_assert!(frames.len() <= 3),
                Err(error) => prop_assert!(error.line >= 1 && error.column >= 1 && error.line < 400),
            }
            if let Ok(replay) = Replay::open(bytes.as_slice()) {
                prop_assert!(replay.take(100_000).count() < 100_000);
            }
        }
    }
}
