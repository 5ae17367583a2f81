//! Description of the calibration page, the outputs and the trace in memory, after ASAM MCD-2 MC (A2L), version 1.7.1.
//!
//! Three segments of memory, little endian, begin at addresses of this project's own: the raw page (two whole numbers, then
//! every tunable of the catalogue in its order, single precision), the outputs in the order of their table (codes as whole
//! numbers of 32 bits, all else in single precision), the trace as an array of single precision. These are `couplet_page`, `couplet_outputs` and
//! what `couplet_trace` fills in the C library. Whoever holds them moves the segments to where they are. Limits and units are the tables'; long
//! identifiers are the reasons and meanings. Limits: a page written so is not in force; the law takes it whole at a step
//! border or refuses it with its reason, since numbers within their limits can still contradict each other.

use std::collections::BTreeMap;
use std::fmt::Write;

use couplet_bus::AXLE_FRAMES;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::signal::OUTPUT_SIGNALS;
use couplet_controller::{RawPage, TraceSignal};

use crate::database::{CAUTION, values};

/// Address of the calibration page.
pub const PAGE_AT: u32 = 0x1000_0000;
/// Address of the outputs.
pub const OUTPUTS_AT: u32 = 0x2000_0000;
/// Address of the trace.
pub const TRACE_AT: u32 = 0x3000_0000;

/// Single precision.
const SINGLE: &str = "FLOAT32_IEEE";

/// Text of the description.
pub fn description() -> String {
    let mut text = String::new();
    write_all(&mut text).unwrap_or_default();
    text
}

/// Address of an entry's number, entries counted from 0.
pub fn address_of(entry: usize) -> u32 {
    PAGE_AT + RawPage::place_of(entry) as u32
}

fn write_all(text: &mut String) -> std::fmt::Result {
    let trace = TraceSignal::<f32>::ALL;
    let outputs_bytes = 4 * OUTPUT_SIGNALS.len();
    let trace_bytes = 4 * trace.len();
    let version = env!("CARGO_PKG_VERSION");
    writeln!(text, "ASAP2_VERSION 1 71")?;
    writeln!(text, "/begin PROJECT couplet \"{CAUTION}\"")?;
    writeln!(
        text,
        "  /begin MODULE controller \"Control law of a rear axle with two clutches.\""
    )?;
    writeln!(
        text,
        "    /begin MOD_PAR \"Addresses are offsets in segments of memory; the holder of the memory moves them.\""
    )?;
    writeln!(text, "      VERSION \"{version}\"")?;
    writeln!(text, "      SYSTEM_CONSTANT \"PAGE_LAYOUT\" \"{LAYOUT}\"")?;
    for (name, what, at, bytes) in [
        ("page", "Raw calibration page.", PAGE_AT, RawPage::BYTES),
        (
            "outputs",
            "Outputs of the last step.",
            OUTPUTS_AT,
            outputs_bytes,
        ),
        (
            "trace",
            "Findings of every stage in the last step.",
            TRACE_AT,
            trace_bytes,
        ),
    ] {
        let kind = if name == "page" { "DATA" } else { "VARIABLES" };
        writeln!(
            text,
            "      /begin MEMORY_SEGMENT {name} \"{what}\" {kind} RAM INTERN 0x{at:X} 0x{bytes:X} -1 -1 -1 -1 -1"
        )?;
        writeln!(text, "      /end MEMORY_SEGMENT")?;
    }
    writeln!(text, "    /end MOD_PAR")?;
    writeln!(
        text,
        "    /begin MOD_COMMON \"\"\n      BYTE_ORDER MSB_LAST\n      ALIGNMENT_FLOAT32_IEEE 4\n      ALIGNMENT_LONG 4\n    /end MOD_COMMON"
    )?;
    for (name, kind) in [("single", "FLOAT32_IEEE"), ("whole", "ULONG")] {
        writeln!(
            text,
            "    /begin RECORD_LAYOUT {name}\n      FNC_VALUES 1 {kind} ROW_DIR DIRECT\n    /end RECORD_LAYOUT"
        )?;
    }
    units(text)?;
    words(text)?;
    let head = [("layout", 0, LAYOUT), ("entries", 4, ENTRIES.len() as u32)];
    for (name, place, value) in head {
        writeln!(
            text,
            "    /begin CHARACTERISTIC page.{name} \"Must be {value}, or the page is refused.\""
        )?;
        writeln!(
            text,
            "      VALUE 0x{:X} whole 0 unit_none {value} {value}\n      READ_ONLY",
            PAGE_AT + place
        )?;
        writeln!(text, "    /end CHARACTERISTIC")?;
    }
    for (place, entry) in ENTRIES.iter().enumerate() {
        writeln!(
            text,
            "    /begin CHARACTERISTIC {}.{} \"{} Default {} ({}).\"",
            entry.group,
            entry.name,
            plain(entry.reason),
            entry.default,
            plain(entry.provenance.name()),
        )?;
        writeln!(
            text,
            "      VALUE 0x{:X} single 0 {} {} {}",
            address_of(place),
            unit_name(entry.unit),
            number(entry.low),
            number(entry.high),
        )?;
        writeln!(
            text,
            "      PHYS_UNIT \"{}\"\n    /end CHARACTERISTIC",
            unit(entry.unit)
        )?;
    }
    for (place, signal) in OUTPUT_SIGNALS.iter().enumerate() {
        let conversion = if has_words(signal.name) {
            format!("words_{}", signal.name)
        } else {
            unit_name(signal.unit)
        };
        let at = OUTPUTS_AT + 4 * place as u32;
        let name = format!("output.{}", signal.name);
        let kind = if signal.whole { "ULONG" } else { SINGLE };
        let limits = (signal.low, signal.high);
        measurement(text, &name, signal.meaning, (kind, &conversion), limits, at)?;
    }
    for (place, signal) in trace.iter().enumerate() {
        let at = TRACE_AT + 4 * place as u32;
        let name = format!("trace.{}", signal.name);
        let what = format!(
            "Finding of the last step: {}.",
            signal.name.replace('_', " ")
        );
        let all = (-f32::MAX, f32::MAX);
        measurement(
            text,
            &name,
            &what,
            (SINGLE, &unit_name(signal.unit)),
            all,
            at,
        )?;
    }
    groups(text)?;
    writeln!(text, "  /end MODULE\n/end PROJECT")
}

fn measurement(
    text: &mut String,
    name: &str,
    what: &str,
    (kind, conversion): (&str, &str),
    (low, high): (f32, f32),
    at: u32,
) -> std::fmt::Result {
    writeln!(text, "    /begin MEASUREMENT {name} \"{}\"", plain(what))?;
    writeln!(
        text,
        "      {kind} {conversion} 0 0 {} {}",
        number(low),
        number(high)
    )?;
    writeln!(text, "      ECU_ADDRESS 0x{at:X}\n    /end MEASUREMENT")
}

/// One conversion for each unit: the numbers in memory are in the unit itself.
fn units(text: &mut String) -> std::fmt::Result {
    let all = ENTRIES.iter().map(|entry| entry.unit);
    let all = all.chain(OUTPUT_SIGNALS.iter().map(|signal| signal.unit));
    let all = all.chain(TraceSignal::<f32>::ALL.iter().map(|signal| signal.unit));
    let by_name: BTreeMap<String, &str> = all.map(|unit| (unit_name(unit), unit)).collect();
    for (name, symbol) in by_name {
        writeln!(
            text,
            "    /begin COMPU_METHOD {name} \"Number in its own unit.\" IDENTICAL \"%12.6\" \"{}\"",
            unit(symbol)
        )?;
        writeln!(text, "    /end COMPU_METHOD")?;
    }
    Ok(())
}

/// One table of words for each output that is a code.
fn words(text: &mut String) -> std::fmt::Result {
    for placed in AXLE_FRAMES.iter().flat_map(|frame| frame.signals) {
        let name = placed.name();
        if !has_words(name) {
            continue;
        }
        let mut all = values(placed);
        // The last two are raw values of the bus, which no memory holds.
        all.truncate(all.len().saturating_sub(2));
        writeln!(
            text,
            "    /begin COMPU_METHOD words_{name} \"Words of the code.\" TAB_VERB \"%4.0\" \"\""
        )?;
        writeln!(
            text,
            "      COMPU_TAB_REF table_{name}\n    /end COMPU_METHOD"
        )?;
        writeln!(
            text,
            "    /begin COMPU_VTAB table_{name} \"Words of the code.\" TAB_VERB {}",
            all.len()
        )?;
        for (code, words) in all {
            writeln!(text, "      {code} \"{words}\"")?;
        }
        writeln!(text, "    /end COMPU_VTAB")?;
    }
    Ok(())
}

fn has_words(name: &str) -> bool {
    let all = AXLE_FRAMES.iter().flat_map(|frame| frame.signals);
    let placed = all.into_iter().find(|placed| placed.name() == name);
    placed.is_some_and(|placed| !placed.nothing && values(placed).len() > 2)
}

/// The catalogue's groups, and one each for outputs and trace.
fn groups(text: &mut String) -> std::fmt::Result {
    let mut group = |name: &str, what: &str, kind: &str, members: Vec<String>| {
        writeln!(
            text,
            "    /begin GROUP {name} \"{what}\"\n      ROOT\n      /begin {kind}"
        )?;
        for member in members {
            writeln!(text, "        {member}")?;
        }
        writeln!(text, "      /end {kind}\n    /end GROUP")
    };
    let mut names: Vec<&str> = ENTRIES.iter().map(|entry| entry.group).collect();
    names.dedup();
    for name in names {
        let own = ENTRIES.iter().filter(|entry| entry.group == name);
        let members = own.map(|entry| format!("{name}.{}", entry.name)).collect();
        let rules = RULES.len();
        let what =
            format!("Group {name} of the catalogue; {rules} rules bind numbers of all groups.");
        group(
            &format!("group_{name}"),
            &what,
            "REF_CHARACTERISTIC",
            members,
        )?;
    }
    let head = ["page.layout", "page.entries"].map(str::to_owned).to_vec();
    group(
        "group_page",
        "Head of the page.",
        "REF_CHARACTERISTIC",
        head,
    )?;
    let outputs = OUTPUT_SIGNALS
        .iter()
        .map(|signal| format!("output.{}", signal.name));
    group(
        "group_outputs",
        "Outputs.",
        "REF_MEASUREMENT",
        outputs.collect(),
    )?;
    let trace = TraceSignal::<f32>::ALL
        .iter()
        .map(|signal| format!("trace.{}", signal.name));
    group("group_trace", "Trace.", "REF_MEASUREMENT", trace.collect())
}

fn unit(unit: &str) -> &str {
    if unit == "-" { "" } else { unit }
}

/// Name of the conversion of a unit: letters and digits only.
fn unit_name(unit: &str) -> String {
    if unit == "-" {
        return "unit_none".into();
    }
    let word = |c: char| match c {
        '/' => "_per_".to_owned(),
        c if c.is_ascii_alphanumeric() => c.to_string(),
        _ => "_".to_owned(),
    };
    format!("unit_{}", unit.chars().map(word).collect::<String>())
}

/// The number that single precision holds, written so that reading it gives the same one.
fn number(value: f32) -> String {
    if value.abs() > 1.0e15 {
        format!("{value:e}")
    } else {
        format!("{value}")
    }
}

/// Text that may stand between quotes.
fn plain(text: &str) -> String {
    text.replace('\\', "/").replace('"', "'")
}
