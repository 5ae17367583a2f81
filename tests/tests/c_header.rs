//! The structures and the header of the C library are what the law's tables say.
//!
//! `controller/abi/src/shapes.rs` is written from the tables of inputs, outputs, calibration and trace, because the header
//! generator cannot expand macros; `controller/abi/include/couplet.h` is written by cbindgen from the sources of the C border.
//! Both are compared; `COUPLET_BLESS=1` writes them anew. This suite does not depend on the C border: it can be blessed while
//! a changed table keeps that from compiling.

use couplet_controller::TraceSignal;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::signal::{INPUT_SIGNALS, Limit, OUTPUT_SIGNALS};
use couplet_controller::snapshot::SIZE;
use couplet_controller::stage::monitor::Fault;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Raised when a function or a structure of the border changes that the tables do not show.
const BORDER: u32 = 2;

fn place(inside: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../controller/abi")
        .join(inside)
}

/// Compares a generated file, or writes it where that is asked for.
fn held(inside: &str, expected: &str) {
    let place = place(inside);
    if std::env::var_os("COUPLET_BLESS").is_some_and(|flag| flag == "1") {
        std::fs::write(&place, expected).expect("the source tree is writable");
    }
    let found = std::fs::read_to_string(&place).unwrap_or_default();
    let differs = expected
        .lines()
        .zip(found.lines().chain(std::iter::repeat("")))
        .position(|(one, other)| one != other);
    assert!(
        found == expected,
        "controller/abi/{inside} is stale at line {}: COUPLET_BLESS=1 cargo test -p couplet-tests --test c_header",
        differs.unwrap_or_default() + 1
    );
}

#[test]
fn shapes_of_the_c_library_are_what_the_tables_say() {
    held("src/shapes.rs", &shapes());
}

#[test]
fn the_c_header_is_what_the_border_says() {
    // Blessed together: the header is made from the shapes.
    held("src/shapes.rs", &shapes());
    held("include/couplet.h", &header());
}

#[test]
fn the_c_header_carries_the_cautions_and_every_signal_with_unit_and_range() {
    let header = std::fs::read_to_string(place("include/couplet.h")).expect("checked in");
    for caution in ["not certified", "not for road use", "licensed engineers"] {
        assert!(header.contains(caution), "{caution}");
    }
    for signal in INPUT_SIGNALS {
        let unit = format!("Unit {}, believable", signal.unit);
        assert!(
            described(&header, signal.name).contains(&unit),
            "{}",
            signal.name
        );
    }
    for signal in OUTPUT_SIGNALS {
        let unit = format!("Unit {}, {} to", signal.unit, signal.low);
        assert!(
            described(&header, signal.name).contains(&unit),
            "{}",
            signal.name
        );
    }
    for entry in ENTRIES {
        let name = format!("{}_{}", entry.group, entry.name);
        let unit = format!("Unit {}, {} to {}", entry.unit, entry.low, entry.high);
        assert!(described(&header, &name).contains(&unit), "{name}");
    }
}

/// The comment above a member of a structure, lines joined.
fn described(header: &str, member: &str) -> String {
    let lines: Vec<&str> = header.lines().map(str::trim).collect();
    let at = lines
        .iter()
        .position(|line| line.ends_with(&format!(" {member};")))
        .unwrap_or_else(|| panic!("the header has no member {member}"));
    let from = lines[..at]
        .iter()
        .rposition(|line| line.starts_with("/*"))
        .unwrap_or(at);
    lines[from..at].join(" ").replace("* ", "")
}

/// FNV-1a over everything whose change would shift what crosses the border.
fn layout() -> u32 {
    let mut text = format!("{BORDER} {LAYOUT} {SIZE}");
    for signal in INPUT_SIGNALS {
        write!(text, " {} {}", signal.name, signal.unit).expect("writing to memory");
    }
    for signal in OUTPUT_SIGNALS {
        write!(text, " {} {} {}", signal.name, signal.unit, signal.whole)
            .expect("writing to memory");
    }
    for entry in ENTRIES {
        write!(text, " {}.{} {}", entry.group, entry.name, entry.unit).expect("writing to memory");
    }
    for signal in TraceSignal::<f32>::ALL {
        write!(text, " {} {}", signal.name, signal.unit).expect("writing to memory");
    }
    text.bytes().fold(0x811c_9dc5, |hash: u32, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    })
}

/// `ClutchStuckOpenLeft` in words.
fn in_words(name: &str) -> String {
    let mut words = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(letter.to_lowercase());
    }
    words
}

fn literal(text: &str) -> String {
    assert!(text.is_ascii(), "the header holds plain text: {text}");
    format!("c{text:?}")
}

fn shapes() -> String {
    let mut text = String::new();
    let mut line = |words: String| writeln!(text, "{words}").expect("writing to memory");
    line("//! What crosses the border: constants, structures, texts. Written by a test from the law's tables; do not edit.".into());
    line("//!".into());
    line("//! `COUPLET_BLESS=1 cargo test -p couplet-tests --test c_header` writes it anew. Every structure holds for every bit pattern.".into());
    line("#![cfg_attr(rustfmt, rustfmt_skip)]".into());
    line("\nuse core::ffi::CStr;".into());
    line("use couplet_controller::calibration::{ENTRIES, RawPage, Tunables};".into());
    line("use couplet_controller::signal::{INPUT_SIGNALS, Inputs, OUTPUT_SIGNALS, Outputs, Reading, Status};".into());
    let mut constant = |meaning: &str, name: &str, value: String| {
        line(format!(
            "\n/// {meaning}\npub const COUPLET_{name}: u32 = {value};"
        ));
    };
    constant(
        "Layout of everything below, a number made from all names, units and their order: hand it to `couplet_init`.",
        "LAYOUT",
        format!("{:#010x}", layout()),
    );
    constant(
        "Number of inputs.",
        "INPUTS",
        INPUT_SIGNALS.len().to_string(),
    );
    constant(
        "Number of outputs.",
        "OUTPUTS",
        OUTPUT_SIGNALS.len().to_string(),
    );
    constant(
        "Number of findings in the trace.",
        "TRACE",
        TraceSignal::<f32>::ALL.len().to_string(),
    );
    constant(
        "Layout of the calibration table: belongs into `layout` of a page.",
        "PAGE_LAYOUT",
        LAYOUT.to_string(),
    );
    constant(
        "Number of tunables: belongs into `entries` of a page.",
        "PAGE_ENTRIES",
        ENTRIES.len().to_string(),
    );
    constant(
        "Bytes of a record over key-off.",
        "RECORD_BYTES",
        SIZE.to_string(),
    );

    line(READING.into());
    line(format!(
        "/// All inputs of one step. Memory filled with zeros says that nothing is known, and nothing is closed then.\n{DERIVED}\npub struct couplet_inputs {{"
    ));
    for signal in INPUT_SIGNALS {
        line(format!(
            "    /// {} Unit {}, believable {} to {}.\n    pub {}: couplet_reading,",
            signal.meaning, signal.unit, signal.low, signal.high, signal.name
        ));
    }
    line("}".into());
    line("\nimpl couplet_inputs {".into());
    line("    /// As the law takes them.\n    pub fn to_law(&self) -> Inputs {\n        let mut law = Inputs::default();".into());
    for (index, signal) in INPUT_SIGNALS.iter().enumerate() {
        line(format!(
            "        tell::<{index}>(&mut law, self.{});",
            signal.name
        ));
    }
    line("        law\n    }".into());
    line("\n    /// The same in the other direction.\n    pub fn of_law(law: &Inputs) -> Self {\n        Self {".into());
    for (index, signal) in INPUT_SIGNALS.iter().enumerate() {
        line(format!(
            "            {}: told::<{index}>(law),",
            signal.name
        ));
    }
    line("        }\n    }\n}".into());

    line(format!(
        "\n/// All outputs of one step. `capacity_left` and `capacity_right` are the command; all else explains it. The fault bits come in two\n/// halves: bits 0 to 15 in `faults_low`, 16 to 31 in `faults_high`.\n{DERIVED}\npub struct couplet_outputs {{"
    ));
    for signal in OUTPUT_SIGNALS {
        line(format!(
            "    /// {} Unit {}, {} to {}.\n    pub {}: {},",
            signal.meaning,
            signal.unit,
            signal.low,
            if signal.high == f32::MAX {
                "FLT_MAX".to_owned()
            } else {
                signal.high.to_string()
            },
            signal.name,
            if signal.whole { "u32" } else { "f32" }
        ));
    }
    line("}".into());
    line("\nimpl couplet_outputs {".into());
    line("    /// As the law gives them.\n    pub fn of_law(law: &Outputs) -> Self {\n        Self {".into());
    for (index, signal) in OUTPUT_SIGNALS.iter().enumerate() {
        let cast = if signal.whole { " as u32" } else { "" };
        line(format!(
            "            {}: given::<{index}>(law){cast},",
            signal.name
        ));
    }
    line("        }\n    }".into());
    line(format!(
        "\n    /// All of them as numbers, in the order of the table.\n    pub fn numbers(&self) -> [f32; {}] {{\n        [",
        OUTPUT_SIGNALS.len()
    ));
    for signal in OUTPUT_SIGNALS {
        let cast = if signal.whole { " as f32" } else { "" };
        line(format!("            self.{}{cast},", signal.name));
    }
    line("        ]\n    }\n}".into());

    line(format!(
        "\n/// The calibration page: every tunable of the law, `group_name`. Fill it with `couplet_page_default`, change what is to differ.\n{DERIVED}\npub struct couplet_page {{"
    ));
    line("    /// Must be `COUPLET_PAGE_LAYOUT`.\n    pub layout: u32,".into());
    line("    /// Must be `COUPLET_PAGE_ENTRIES`.\n    pub entries: u32,".into());
    for entry in ENTRIES {
        line(format!(
            "    /// {} Unit {}, {} to {}, default {}.\n    pub {}_{}: f32,",
            entry.reason, entry.unit, entry.low, entry.high, entry.default, entry.group, entry.name
        ));
    }
    line("}".into());
    line("\nimpl couplet_page {".into());
    line("    /// As the law takes it.\n    pub fn to_law(&self) -> RawPage {\n        let mut page = RawPage { layout: self.layout, entries: self.entries, ..RawPage::default() };".into());
    for (index, entry) in ENTRIES.iter().enumerate() {
        line(format!(
            "        set::<{index}>(&mut page.tunables, self.{}_{});",
            entry.group, entry.name
        ));
    }
    line("        page\n    }".into());
    line("\n    /// The same in the other direction.\n    pub fn of_law(page: &RawPage) -> Self {\n        let tunables = &page.tunables;\n        Self {\n            layout: page.layout,\n            entries: page.entries,".into());
    for (index, entry) in ENTRIES.iter().enumerate() {
        line(format!(
            "            {}_{}: number::<{index}>(tunables),",
            entry.group, entry.name
        ));
    }
    line("        }\n    }\n}".into());
    line(HELPERS.into());

    let mut rows = |meaning: &str, name: &str, rows: Vec<[String; 3]>| {
        line(format!(
            "\n/// {meaning}\npub(crate) const {name}: &[Row] = &["
        ));
        for [name, unit, meaning] in rows {
            line(format!(
                "    Row {{ name: {}, unit: {}, meaning: {} }},",
                literal(&name),
                literal(&unit),
                literal(&meaning)
            ));
        }
        line("];".into());
    };
    let row = |name: &str, unit: &str, meaning: &str| {
        [name.to_owned(), unit.to_owned(), meaning.to_owned()]
    };
    rows(
        "Texts of the inputs.",
        "INPUT_ROWS",
        INPUT_SIGNALS
            .iter()
            .map(|signal| row(signal.name, signal.unit, signal.meaning))
            .collect(),
    );
    rows(
        "Texts of the outputs.",
        "OUTPUT_ROWS",
        OUTPUT_SIGNALS
            .iter()
            .map(|signal| row(signal.name, signal.unit, signal.meaning))
            .collect(),
    );
    rows(
        "Texts of the trace.",
        "TRACE_ROWS",
        TraceSignal::<f32>::ALL
            .iter()
            .map(|signal| row(signal.name, signal.unit, ""))
            .collect(),
    );
    rows(
        "Texts of the tunables.",
        "ENTRY_ROWS",
        ENTRIES
            .iter()
            .map(|entry| {
                row(
                    &format!("{}.{}", entry.group, entry.name),
                    entry.unit,
                    entry.reason,
                )
            })
            .collect(),
    );
    rows(
        "Texts of the rules between tunables: which, and what must hold.",
        "RULE_ROWS",
        RULES
            .iter()
            .map(|rule| row(&rule.entries.join(", "), "", rule.message))
            .collect(),
    );
    let mut names = |meaning: &str, name: &str, names: Vec<String>| {
        line(format!(
            "\n/// {meaning}\npub(crate) const {name}: &[&CStr] = &["
        ));
        for name in names {
            line(format!("    {},", literal(&name)));
        }
        line("];".into());
    };
    for (number, fault) in Fault::ALL.iter().enumerate() {
        assert_eq!(
            *fault as usize, number,
            "faults stand in the order of their bits"
        );
    }
    names(
        "Faults by their bit.",
        "FAULT_NAMES",
        Fault::ALL
            .iter()
            .map(|fault| in_words(&format!("{fault:?}")))
            .collect(),
    );
    names(
        "Limits by their number.",
        "LIMIT_NAMES",
        Limit::ALL
            .iter()
            .map(|limit| limit.name().to_owned())
            .collect(),
    );
    text
}

const DERIVED: &str = "#[derive(Debug, Clone, Copy, PartialEq, Default)]\n#[repr(C)]";

const READING: &str = "
/// One input as it arrived. Memory filled with zeros is a value nobody vouches for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[repr(C)]
pub struct couplet_reading {
    /// The value in the unit of its signal. NaN and values beyond the believable range count as not sent.
    pub value: f32,
    /// Time since it was measured, ms; 65535 for longer.
    pub age_ms: u16,
    /// 1 if the sender vouches for the value, 0 if not or if nothing came.
    pub status: u16,
}

impl couplet_reading {
    /// As the law takes it.
    pub fn to_law(self) -> Reading {
        Reading { value: self.value, age_ms: self.age_ms, status: Status(self.status) }
    }

    /// The same in the other direction.
    pub fn of_law(law: Reading) -> Self {
        Self { value: law.value, age_ms: law.age_ms, status: law.status.0 }
    }
}
";

const HELPERS: &str = "
fn tell<const INDEX: usize>(law: &mut Inputs, reading: couplet_reading) {
    (const { INPUT_SIGNALS[INDEX].write })(law, reading.to_law());
}

fn told<const INDEX: usize>(law: &Inputs) -> couplet_reading {
    couplet_reading::of_law((const { INPUT_SIGNALS[INDEX].read })(law))
}

fn given<const INDEX: usize>(law: &Outputs) -> f32 {
    (const { OUTPUT_SIGNALS[INDEX].read })(law)
}

fn set<const INDEX: usize>(tunables: &mut Tunables<f32>, value: f32) {
    (const { ENTRIES[INDEX].write })(tunables, value);
}

fn number<const INDEX: usize>(tunables: &Tunables<f32>) -> f32 {
    (const { ENTRIES[INDEX].read })(tunables)
}

/// Texts of one signal, tunable or rule.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    /// Name.
    pub name: &'static CStr,
    /// Unit.
    pub unit: &'static CStr,
    /// Meaning.
    pub meaning: &'static CStr,
}";

/// What stands at the head of the header.
const HEAD: &str = "/*
 * Couplet: control law for a rear axle with two independently controlled wet clutches in place of a differential.
 *
 * CAUTION. A reference implementation. It is not certified and not for road use without a functional-safety process of the
 * user's own. A wrong command to these clutches can spin a car. Local rules and licensed engineers come first. If a call
 * does not give COUPLET_OK, open both clutches.
 *
 * Memory. All memory is the caller's; the library allocates nothing, keeps no pointer and has no state of its own. A
 * controller lives in couplet_size() bytes aligned to couplet_alignment(), or simply in
 *     static _Alignas(COUPLET_MEMORY_ALIGNMENT) unsigned char memory[COUPLET_MEMORY_BYTES];
 *     couplet_law *law = (couplet_law *)memory;
 *
 * Threads and interrupts. One controller: one call at a time, from any thread. Different controllers are independent.
 * A call that comes in between is told COUPLET_BUSY as far as that can be seen without a lock: a help in the search for
 * faults, not a lock. Functions without a controller may be called from anywhere at any time.
 *
 * Time. One couplet_step in every period. A step takes the same memory always, calls nothing outside and ends.
 *
 * Units and signs. SI and degC, bar, as said at each member. Axes after ISO 8855: x forward, y left, z up; yaw to the left
 * positive; a torque that drives the car forward positive.
 *
 * Safety, in the comments below, is what the caller promises and the library cannot check. NULL, wrong alignment, wrong
 * size and memory without a controller are found and told by a status.
 *
 * Generated; do not edit.
 */";

fn header() -> String {
    let mut config = cbindgen::Config {
        language: cbindgen::Language::C,
        cpp_compat: true,
        header: Some(HEAD.to_owned()),
        include_guard: Some("COUPLET_H".to_owned()),
        no_includes: true,
        sys_includes: vec!["stddef.h".to_owned(), "stdint.h".to_owned()],
        style: cbindgen::Style::Both,
        usize_is_size_t: true,
        documentation_style: cbindgen::DocumentationStyle::C,
        line_length: 120,
        ..cbindgen::Config::default()
    };
    config.function.args = cbindgen::Layout::Vertical;
    let mut builder = cbindgen::Builder::new().with_config(config);
    for source in [
        "shapes", "status", "border", "entry", "page", "key_off", "tables",
    ] {
        builder = builder.with_src(place(&format!("src/{source}.rs")));
    }
    let mut text = Vec::new();
    builder
        .generate()
        .expect("the border's sources are readable")
        .write(&mut text);
    String::from_utf8(text).expect("plain text")
}
