//! The database file of the bus, made from the table of frames.
//!
//! Messages, signals, units, ranges, value tables, comments; period, kind of frame, profile and data identifier as
//! attributes. The attribute of the period and that of the kind of frame carry the names other readers of such files look
//! for (common practice, no source). Ranges are those of the raw values, so they may reach beyond a signal's own by less
//! than a step.

use std::fmt::Write;

use couplet_bus::bits::Order;
use couplet_bus::{AXLE_FRAMES, CAR_FRAMES, Decoded, FrameLayout, Node, Placed, Profile};
use couplet_controller::Limit;

/// What must be said beside every description; short enough for one string of any of them.
pub const CAUTION: &str = "Reference implementation, not certified, not for use on the road without a functional-safety \
    process of the user's own; local rules and licensed engineers come first.";

/// What must be said of this bus besides.
const OF_THE_BUS: &str = "Identifiers, periods and steps are invented. Frames are protected end to end after AUTOSAR \
    profiles 1 and 5: a receiver that does not check counter, sum and time must not act on them.";

/// Text of the file.
pub fn database() -> String {
    let mut text = String::new();
    write_all(&mut text).unwrap_or_default();
    text
}

fn frames() -> impl Iterator<Item = &'static FrameLayout> {
    CAR_FRAMES.iter().chain(AXLE_FRAMES)
}

fn write_all(text: &mut String) -> std::fmt::Result {
    writeln!(text, "VERSION \"couplet {}\"\n", env!("CARGO_PKG_VERSION"))?;
    writeln!(text, "NS_ :\n\nBS_:\n\nBU_: Car Axle\n")?;
    for frame in frames() {
        let (from, to) = match frame.by {
            Node::Car => ("Car", "Axle"),
            Node::Axle => ("Axle", "Car"),
        };
        writeln!(
            text,
            "BO_ {} {}: {} {from}",
            frame.id, frame.name, frame.length
        )?;
        let (sum, count, last) = match frame.profile {
            Profile::P01 => ("0|8", "8|4", [255, 14]),
            Profile::P05 => ("0|16", "16|8", [65535, 255]),
        };
        for (name, place, last) in [("sum", sum, last[0]), ("counter", count, last[1])] {
            let name = format!("{}_{name}", frame.name);
            writeln!(text, " SG_ {name} : {place}@1+ (1,0) [0|{last}] \"\" {to}")?;
        }
        for placed in frame.signals {
            let order = match placed.order {
                Order::Little => 1,
                Order::Big => 0,
            };
            let step = f64::from(placed.step());
            let offset = f64::from(placed.offset_steps) * step;
            let number = |raw: u32| offset + f64::from(raw) * step;
            let unit = if placed.unit() == "-" {
                ""
            } else {
                placed.unit()
            };
            writeln!(
                text,
                " SG_ {} : {}|{}@{order}+ ({step},{offset}) [{}|{}] \"{unit}\" {to}",
                placed.name(),
                placed.start,
                placed.bits,
                number(placed.lowest_raw),
                number(placed.highest_raw),
            )?;
        }
        writeln!(text)?;
    }
    writeln!(text, "CM_ \"{CAUTION} {OF_THE_BUS}\";")?;
    writeln!(
        text,
        "CM_ BU_ Car \"The rest of the car: sensors, powertrain, master controller.\";"
    )?;
    writeln!(
        text,
        "CM_ BU_ Axle \"Controller of the rear axle with two clutches.\";"
    )?;
    for frame in frames() {
        let id = frame.id;
        writeln!(text, "CM_ BO_ {id} \"{}\";", plain(frame.meaning))?;
        for placed in frame.signals {
            writeln!(
                text,
                "CM_ SG_ {id} {} \"{}\";",
                placed.name(),
                plain(placed.meaning())
            )?;
        }
    }
    for (object, name, kind) in [
        ("BO_", "GenMsgCycleTime", "INT 0 65535"),
        ("BO_", "VFrameFormat", FORMATS),
        ("BO_", "E2eDataId", "INT 0 65535"),
        ("BO_", "E2eProfile", "ENUM \"P01\",\"P05\""),
        ("BO_", "TimeOutMs", "INT 0 65535"),
    ] {
        writeln!(text, "BA_DEF_ {object} \"{name}\" {kind};")?;
    }
    for (name, default) in [
        ("GenMsgCycleTime", "0"),
        ("VFrameFormat", "\"StandardCAN\""),
        ("E2eDataId", "0"),
        ("E2eProfile", "\"P01\""),
        ("TimeOutMs", "0"),
    ] {
        writeln!(text, "BA_DEF_DEF_ \"{name}\" {default};")?;
    }
    for frame in frames() {
        let profile = match frame.profile {
            Profile::P01 => 0,
            Profile::P05 => 1,
        };
        let format = if frame.length > 8 { 14 } else { 0 };
        for (name, value) in [
            ("GenMsgCycleTime", u64::from(frame.period_ms)),
            ("VFrameFormat", format),
            ("E2eDataId", u64::from(frame.data_id)),
            ("E2eProfile", profile),
            ("TimeOutMs", frame.time_out_us() / 1_000),
        ] {
            writeln!(text, "BA_ \"{name}\" BO_ {} {value};", frame.id)?;
        }
    }
    for frame in frames() {
        for placed in frame.signals {
            write!(text, "VAL_ {} {}", frame.id, placed.name())?;
            for (raw, words) in values(placed) {
                write!(text, " {raw} \"{words}\"")?;
            }
            writeln!(text, " ;")?;
        }
    }
    Ok(())
}

/// Kinds of frame in the order readers know; only the first and the last are used.
const FORMATS: &str = "ENUM \"StandardCAN\",\"ExtendedCAN\",\"reserved\",\"reserved\",\"reserved\",\"reserved\",\"reserved\",\
    \"reserved\",\"reserved\",\"reserved\",\"reserved\",\"reserved\",\"reserved\",\"reserved\",\"StandardCAN_FD\"";

/// Raw values with a name.
pub fn values(placed: &Placed) -> Vec<(u32, String)> {
    let name = placed.name();
    let words: Vec<&str> = match name {
        "limit_left" | "limit_right" | "heat_limit_left" | "heat_limit_right" => {
            Limit::ALL.iter().map(|limit| limit.name()).collect()
        }
        "open_now" | "anti_lock_active" | "stability_active" => vec!["no", "yes"],
        "gear" => vec!["reverse", "neutral"],
        "health" => vec!["full", "reduced", "open"],
        "advice" => vec!["nothing", "oil soon", "oil now", "clutch used up"],
        "phase" => vec![
            "cruise",
            "launch",
            "turn-in",
            "mid-corner",
            "exit",
            "lift-off",
            "evasive",
            "counter-steer",
        ],
        _ => Vec::new(),
    };
    let mut all: Vec<(u32, String)> = (0..).zip(words.into_iter().map(str::to_owned)).collect();
    if let Some(raw) = placed.asks_for_nothing() {
        all.push((raw, "asks for nothing".into()));
    }
    all.push((placed.error(), "error".into()));
    all.push((placed.not_available(), "not available".into()));
    debug_assert!(
        all.iter().all(
            |(raw, _)| !matches!(placed.decode(*raw), Decoded::Error) || *raw == placed.error()
        )
    );
    all
}

/// Text that may stand between quotes.
fn plain(text: &str) -> String {
    text.replace('"', "'").replace('\\', "/")
}
