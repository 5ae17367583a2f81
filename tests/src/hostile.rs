//! Bytes turned into what an enemy may send: inputs, memories, pages, recordings.
//!
//! Each function takes any bytes and panics only where a promise is broken. A search guided by coverage (`tests/fuzz`) looks for such
//! bytes; what it kept is replayed by the suite `fuzz_corpora`.

use std::io::Cursor;

use couplet_controller::calibration::ENTRIES;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS, Status};
use couplet_controller::snapshot::{SIZE, crc32_p4};
use couplet_controller::{Controller, Inputs, Outputs, PerSide, Period, RawPage, Reading};
use couplet_exchange::{csv, mdf};

/// A name and what it does with bytes.
pub type Target = (&'static str, fn(&[u8]));

/// Everything that takes bytes.
pub const TARGETS: &[Target] = &[
    ("inputs", inputs),
    ("memory", memory),
    ("page", page),
    ("measurement", measurement),
    ("table", table),
    ("frames", frames),
    ("bus_log", bus_log),
    ("foreign_bus", foreign_bus),
];

/// Most control steps of one try.
const MOST_STEPS: usize = 600;

/// Reads bytes one after the other; zeros after the end.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn next(&mut self) -> Option<u8> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    fn byte(&mut self) -> u8 {
        self.next().unwrap_or(0)
    }

    fn word(&mut self) -> u32 {
        u32::from_le_bytes([self.byte(), self.byte(), self.byte(), self.byte()])
    }

    /// A number: one that has made trouble somewhere before, a share of a range, or any bits.
    fn number(&mut self, low: f32, high: f32) -> f32 {
        match self.byte() {
            0 => f32::NAN,
            1 => f32::INFINITY,
            2 => f32::NEG_INFINITY,
            3 => f32::from_bits(1),
            4 => -f32::from_bits(0x007f_ffff),
            5 => f32::MAX,
            6 => f32::MIN,
            7 => -0.0,
            8 => low,
            9 => high,
            10 => f32::from_bits(high.to_bits() + 1),
            11 => f32::from_bits(0x7f80_0001),
            12..=31 => f32::from_bits(self.word()),
            share => low + (high - low) * f32::from(share - 32) / 223.0,
        }
    }
}

/// Nothing is wrong, the car rolls straight ahead.
fn calm() -> Inputs {
    let mut inputs = Inputs::default();
    for signal in INPUT_SIGNALS {
        let value = match signal.name {
            name if name.starts_with("wheel_speed") => 60.0,
            "gear" => 3.0,
            "rear_torque_cap" => 20_000.0,
            "yaw_moment_cap" => 40_000.0,
            "ambient_temperature" => 20.0,
            _ => 0.0,
        };
        (signal.write)(&mut inputs, Reading::fresh(value));
    }
    inputs
}

/// Every output lies in the range the table states, and the state holds numbers only.
fn sound(controller: &Controller<f32>, outputs: &Outputs) {
    for signal in OUTPUT_SIGNALS {
        let value = (signal.read)(outputs);
        assert!(
            (signal.low..=signal.high).contains(&value),
            "{} is {value} {}",
            signal.name,
            signal.unit
        );
    }
    // A state with something that is no number is unlike itself.
    let state = *controller.state();
    assert!(state == *controller.state(), "the state holds no number");
}

fn changed(bytes: &mut Bytes<'_>, signal: usize, inputs: &mut Inputs) {
    let signal = &INPUT_SIGNALS[signal % INPUT_SIGNALS.len()];
    let value = bytes.number(signal.low, signal.high);
    let (age_ms, status) = match bytes.byte() {
        0..=159 => (0, Status::VALID),
        160..=199 => (u16::from(bytes.byte()), Status::VALID),
        200..=219 => (u16::MAX, Status::INVALID),
        220..=239 => (0, Status::INVALID),
        other => (u16::from(other) << 4, Status(u16::from(bytes.byte()))),
    };
    (signal.write)(
        inputs,
        Reading {
            value,
            age_ms,
            status,
        },
    );
}

/// A programme of changes of signals, steps, pages, key-offs and wrong requests.
pub fn inputs(data: &[u8]) {
    let mut bytes = Bytes(data);
    let micros = [5_000, 1_000, 2_000, 10_000, 20_000][usize::from(bytes.byte() % 5)];
    let Some(period) = Period::from_microseconds(micros) else {
        return;
    };
    let Ok(mut controller) = Controller::<f32>::new(&RawPage::default(), period) else {
        return;
    };
    let (mut told, mut steps, mut sequence) = (calm(), 0, 0_u32);
    while let (Some(order), true) = (bytes.next(), steps < MOST_STEPS) {
        match order {
            0..=127 => changed(&mut bytes, usize::from(order), &mut told),
            128..=223 => {
                for _ in 0..=order & 15 {
                    let outputs = controller.step(&told);
                    sound(&controller, &outputs);
                    steps += 1;
                }
            }
            224..=231 => told = calm(),
            232..=239 => {
                let mut page = RawPage::default();
                let entry = &ENTRIES[bytes.word() as usize % ENTRIES.len()];
                let value = bytes.number(entry.low, entry.high);
                (entry.write)(&mut page.tunables, value);
                // Refused or taken whole; either way the law goes on.
                let _ = controller.take_page(&page);
            }
            240..=247 => {
                let slot = controller
                    .snapshot(sequence, u64::from(sequence) * 60)
                    .encode();
                let mut other = controller
                    .snapshot_under_way(sequence.saturating_add(1), 7)
                    .encode();
                sequence = sequence.saturating_add(2);
                for _ in 0..order & 7 {
                    let at = bytes.word() as usize % SIZE;
                    other[at] ^= bytes.byte();
                }
                let now_s = (bytes.byte() > 60).then_some(u64::from(bytes.word()));
                let ambient_degc = bytes.number(-60.0, 80.0);
                controller.wake_from(&slot, &other, now_s, ambient_degc);
            }
            _ => {
                let wrong = PerSide {
                    left: bytes.number(-3_000.0, 3_000.0),
                    right: bytes.number(-3_000.0, 3_000.0),
                };
                let outputs = controller.step_with_request(&told, |_| wrong);
                sound(&controller, &outputs);
                steps += 1;
            }
        }
    }
}

/// Two slots of a stored record; an odd first byte seals both with the right check sum.
pub fn memory(data: &[u8]) {
    let mut bytes = Bytes(data);
    let flags = bytes.byte();
    let ambient_degc = bytes.number(-60.0, 80.0);
    let now_s = (flags & 2 != 0).then_some(u64::from(bytes.word()));
    let Ok(mut controller) = Controller::<f32>::new(&RawPage::default(), Period::default()) else {
        return;
    };
    let whole = [0, 1].map(|sequence| controller.snapshot(sequence, 60).encode());
    let slots = whole.map(|mut slot| {
        for byte in &mut slot {
            *byte ^= bytes.byte();
        }
        if flags & 1 != 0
            && let Some((content, check)) = slot.split_last_chunk_mut::<4>()
        {
            *check = crc32_p4(content).to_le_bytes();
        }
        slot
    });
    controller.wake_from(&slots[0], &slots[1], now_s, ambient_degc);
    for _ in 0..50 {
        let outputs = controller.step(&calm());
        sound(&controller, &outputs);
    }
}

/// A calibration page, number by number as bits; what is accepted must drive.
pub fn page(data: &[u8]) {
    let mut page = RawPage::default();
    let mut bytes = Bytes(data);
    let steer = bytes.byte();
    while let Some(entry) = bytes.next() {
        let entry = &ENTRIES[(usize::from(entry) * 2 + usize::from(steer & 1)) % ENTRIES.len()];
        let value = bytes.number(entry.low, entry.high);
        (entry.write)(&mut page.tunables, value);
    }
    match Controller::<f32>::new(&page, Period::default()) {
        Ok(mut controller) => {
            for _ in 0..50 {
                let outputs = controller.step(&calm());
                sound(&controller, &outputs);
            }
        }
        // A refusal names what is wrong.
        Err(refusal) => assert!(refusal.entry().is_some() || refusal.rule().is_some()),
    }
}

/// A measurement file.
pub fn measurement(data: &[u8]) {
    let limits = mdf::Limits {
        values_bytes: 1 << 20,
        block_bytes: 1 << 20,
    };
    match mdf::read(Cursor::new(data), &limits, &|_| true) {
        Ok(found) => {
            let values: usize = found
                .recording
                .groups
                .iter()
                .map(|group| group.time_s.len() * (group.signals.len() + 1))
                .sum();
            assert!(values <= 1 << 17, "{values} values in a mebibyte");
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

/// A table as text.
pub fn table(data: &[u8]) {
    if let Err(error) = csv::read(Cursor::new(data), 1 << 20) {
        assert!(!error.to_string().is_empty());
    }
}

/// Frames at a law that hears the bus: identifier, length, time and payload from the bytes; some carry a right check sum.
pub fn frames(data: &[u8]) {
    let mut bytes = Bytes(data);
    let mut receiver = couplet_bus::InputReceiver::default();
    let Ok(mut controller) = Controller::<f32>::new(&RawPage::default(), Period::default()) else {
        return;
    };
    let (mut now_us, mut steps, mut counter) = (0_u64, 0, 0_u8);
    while let (Some(order), true) = (bytes.next(), steps < MOST_STEPS) {
        let layouts = couplet_bus::CAR_FRAMES;
        let layout = &layouts[usize::from(order) % layouts.len()];
        let id = if order & 0x80 == 0 {
            layout.id
        } else {
            bytes.word() as u16
        };
        let payload: Vec<u8> = (0..layout.length).map(|_| bytes.byte()).collect();
        if let Some(mut frame) = couplet_bus::Frame::new(id, &payload) {
            if order & 0x40 == 0 && id == layout.id {
                couplet_bus::protect::protect(layout, &mut frame, counter);
                counter = couplet_bus::protect::next_counter(layout.profile, counter);
            }
            receiver.receive(now_us, &frame);
        }
        now_us = now_us.saturating_add(u64::from(bytes.byte()) * 500);
        let outputs = controller.step(&receiver.inputs(now_us));
        sound(&controller, &outputs);
        steps += 1;
    }
}

/// A text log of the bus.
pub fn bus_log(data: &[u8]) {
    let opened = couplet_network::LogReader::open(Cursor::new(data));
    let mut reader = match opened {
        Ok(reader) => reader,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    loop {
        match reader.next_frame() {
            Ok(Some(_)) => {}
            Ok(None) => return,
            Err(error) => {
                assert!(!error.to_string().is_empty());
                return;
            }
        }
    }
}

/// A database of another bus, and behind the first zero byte a log of its frames; without one, a log made of the first message.
pub fn foreign_bus(data: &[u8]) {
    use couplet_network::foreign;
    let end = data.iter().position(|byte| *byte == 0);
    let (text, log) = data.split_at(end.unwrap_or(data.len()));
    let database = match foreign::read(text) {
        Ok(database) => database,
        Err(error) => {
            assert!(error.line >= 1 && error.column >= 1 && !error.allowed.is_empty());
            return;
        }
    };
    for message in &database.messages {
        assert!(message.signals.iter().all(|one| one.fits(message.length)));
        let bytes = vec![0xa5; message.length];
        for said in message.said(&bytes) {
            assert!(said != foreign::Said::Short, "a whole frame is too short");
        }
    }
    let own = database.messages.first().map(|message| {
        let id = message.id;
        let id = if message.extended {
            format!("{id:08x}")
        } else {
            format!("{id:03x}")
        };
        let data = "5a".repeat(message.length);
        let data = if data.is_empty() { "-" } else { &data };
        let (first, length) = (foreign::recording::FIRST, message.length);
        format!("{first}\ntime_us id length data\n0 {id} {length} {data}\nend 1\n")
    });
    let log = match (log.split_first(), own) {
        (Some((_, log)), _) => log.to_vec(),
        (None, Some(own)) => own.into_bytes(),
        (None, None) => return,
    };
    match foreign::decoded(Cursor::new(log), &database, 1 << 20) {
        Ok(found) => {
            let groups = &found.recording.groups;
            let values: usize = groups
                .iter()
                .map(|group| group.time_s.len() * (1 + group.signals.len()))
                .sum();
            assert!(values <= 1 << 17, "{values} values in a mebibyte");
        }
        Err(error) => assert!(error.line >= 1 && error.column >= 1),
    }
}
