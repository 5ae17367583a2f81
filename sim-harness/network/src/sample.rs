//! Invented frames with what they say, for holding other readers of the database and of the protection against.
//!
//! One JSON object a line: how it was made, identifier, data in hexadecimal, the counter if the protection holds (else null),
//! and for every signal raw value and number (null where it is none). `packed` frames come from random numbers in range, now
//! and then out of it or none, packed and protected; `spoiled` ones have one to five bits turned afterwards; `random` ones are any bytes.

use std::fmt::Write;

use couplet_bus::sender::pack;
use couplet_bus::{AXLE_FRAMES, CAR_FRAMES, Decoded, Frame, FrameLayout, Report, protect};

/// Plain generator (splitmix64, public domain, from memory); the same on every machine.
#[derive(Debug, Clone, Copy)]
pub struct Chance(pub u64);

impl Chance {
    /// Any 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Below a number, which is not zero.
    pub fn below(&mut self, end: u64) -> u64 {
        self.bits() % end.max(1)
    }

    /// From 0 to 1.
    pub fn share(&mut self) -> f64 {
        self.bits() as f64 / u64::MAX as f64
    }
}

/// The `index`th line of a seed.
pub fn line(seed: u64, index: u64) -> String {
    let mut chance = Chance(seed ^ index.wrapping_mul(0xd1b5_4a32_d192_ed03));
    let frames = CAR_FRAMES.len() + AXLE_FRAMES.len();
    let mut all = CAR_FRAMES.iter().chain(AXLE_FRAMES);
    let Some(layout) = all.nth(chance.below(frames as u64) as usize) else {
        return String::new();
    };
    let kind = ["packed", "packed", "spoiled", "random"][chance.below(4) as usize];
    let mut report = Report::default();
    let Some(mut frame) = pack(layout, &mut report, |placed| {
        let (low, high) = placed.range();
        let (low, high) = (
            f64::from(low),
            f64::from(high).min(32_766.0 + f64::from(low)),
        );
        Some(match chance.below(20) {
            0 => f32::NAN,
            1 => (high * 1.5 + 1.0) as f32,
            2 => return None,
            3 => high as f32,
            4 => low as f32,
            _ => (low + chance.share() * (high - low)) as f32,
        })
    }) else {
        return String::new();
    };
    let counter = chance.below(u64::from(protect::counts(layout.profile))) as u8;
    protect::protect(layout, &mut frame, counter);
    let bits = u64::from(layout.length) * 8;
    match kind {
        "spoiled" => {
            for _ in 0..=chance.below(5) {
                let bit = chance.below(bits) as usize;
                if let Some(byte) = frame.bytes_mut().get_mut(bit / 8) {
                    *byte ^= 1 << (bit % 8);
                }
            }
        }
        "random" => {
            for byte in frame.bytes_mut() {
                *byte = chance.bits() as u8;
            }
        }
        _ => {}
    }
    told(kind, layout, &frame)
}

fn told(kind: &str, layout: &FrameLayout, frame: &Frame) -> String {
    let mut text = format!("{{\"made\":\"{kind}\",\"id\":{},\"data\":\"", frame.id());
    let mut add = |piece: std::fmt::Arguments<'_>| text.write_fmt(piece).unwrap_or_default();
    for byte in frame.bytes() {
        add(format_args!("{byte:02x}"));
    }
    match protect::check(layout, frame) {
        Some(counter) => add(format_args!("\",\"counter\":{counter}")),
        None => add(format_args!("\",\"counter\":null")),
    }
    add(format_args!(",\"signals\":{{"));
    for (place, placed) in layout.signals.iter().enumerate() {
        let raw = placed.raw(frame.bytes());
        let comma = if place == 0 { "" } else { "," };
        add(format_args!("{comma}\"{}\":[{raw},", placed.name()));
        match placed.decode(raw) {
            Decoded::Number(number) if number < f32::MAX => {
                add(format_args!("{}]", f64::from(number)));
            }
            _ => add(format_args!("null]")),
        }
    }
    add(format_args!("}}}}"));
    text
}
