//! The rooms of the house and what each may import.
//!
//! In: the place and text of one source. Out: what is wrong with it, in words.

use crate::reading::{code_of, imported_paths, inside_word, module_of};

/// Longest file, lines.
pub const LONGEST: usize = 500;

/// Written by tests from the tables, as long as these are.
const GENERATED: &[&str] = &["controller/abi/src/shapes.rs"];

/// What may stand at the top of the repository.
pub const TOP: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    ".gitignore",
    ".git",
    ".ci",
    "controller",
    "sim-harness",
    "tests",
    "docs",
    // Made by building and running, never committed.
    "target",
    "couplet-out",
];

/// Rooms of the control crate and what each may import besides itself.
const CONTROLLER: &[(&str, &[&str])] = &[
    ("numerics", &[]),
    ("quantity", &["numerics"]),
    ("calibration", &["numerics", "quantity"]),
    ("signal", &["numerics", "quantity"]),
    ("stage", &["numerics", "quantity", "calibration", "signal"]),
    (
        "snapshot",
        &["numerics", "quantity", "calibration", "signal", "stage"],
    ),
    ("fault_memory", &["quantity", "signal", "stage", "snapshot"]),
    (
        "trace",
        &["numerics", "quantity", "calibration", "signal", "stage"],
    ),
    (
        "controller",
        &[
            "numerics",
            "quantity",
            "calibration",
            "signal",
            "stage",
            "snapshot",
            "trace",
        ],
    ),
];

/// Rooms of the bus frames and what each may import besides itself.
const BUS: &[(&str, &[&str])] = &[
    ("frame", &[]),
    ("bits", &[]),
    ("transport", &["frame"]),
    ("layout", &["bits"]),
    ("table", &["bits", "layout"]),
    ("protect", &["frame", "layout"]),
    ("guard", &["frame", "layout", "protect"]),
    ("sender", &["frame", "layout", "protect", "table"]),
    ("receiver", &["frame", "layout", "guard", "table"]),
];

/// Rooms of the harness and what each may import besides itself.
const HARNESS: &[(&str, &[&str])] = &[
    ("describe", &[]),
    ("record", &[]),
    ("plant", &["describe", "record"]),
    ("fault", &["plant"]),
    ("scenario", &["describe", "plant", "fault"]),
    ("metrics", &["record", "scenario"]),
    // One level: a manoeuvre hires a driver, a driver looks at the manoeuvre's course, and a manoeuvre may drive a run of
    // its own to find the size of its input. None of them is imported from below.
    ("driver", &["describe", "plant", "scenario", "manoeuvre"]),
    (
        "manoeuvre",
        &[
            "describe", "record", "plant", "scenario", "metrics", "driver", "run",
        ],
    ),
    (
        "run",
        &[
            "describe",
            "record",
            "plant",
            "scenario",
            "fault",
            "metrics",
            "manoeuvre",
            "driver",
        ],
    ),
    (
        "campaign",
        &["describe", "record", "plant", "scenario", "metrics", "run"],
    ),
    ("fault_matrix", &["fault", "record", "scenario", "run"]),
    (
        "property",
        &[
            "plant",
            "record",
            "scenario",
            "metrics",
            "manoeuvre",
            "run",
            "fault_matrix",
        ],
    ),
    (
        "hunt",
        &[
            "plant",
            "scenario",
            "fault",
            "fault_matrix",
            "run",
            "property",
        ],
    ),
    ("strategies", &["plant", "scenario", "fault", "run"]),
    (
        "mission",
        &["describe", "record", "plant", "scenario", "metrics", "run"],
    ),
    (
        "sequence",
        &[
            "plant",
            "scenario",
            "fault",
            "fault_matrix",
            "manoeuvre",
            "run",
        ],
    ),
    ("correlate", &["plant", "run"]),
    (
        "replay",
        &["record", "plant", "scenario", "manoeuvre", "run"],
    ),
    (
        "co_simulation",
        &[
            "describe",
            "plant",
            "scenario",
            "manoeuvre",
            "driver",
            "run",
        ],
    ),
    ("envelope", &["run"]),
    ("margins", &["plant", "run"]),
    ("arithmetic", &["plant", "scenario", "manoeuvre", "run"]),
    (
        "prove",
        &[
            "campaign",
            "margins",
            "fault",
            "describe",
            "record",
            "plant",
            "scenario",
            "metrics",
            "manoeuvre",
            "driver",
            "run",
        ],
    ),
];

/// Harness rooms that must not know the control law: sharing its guesses would hide its errors.
const IGNORANT: &[&str] = &[
    "describe", "record", "plant", "scenario", "fault", "metrics",
];

/// Words that may not appear in the control crate outside its unit tests.
const FORBIDDEN: &[(&str, &str)] = &[
    ("std::", "the control crate has no standard library"),
    ("alloc::", "the control crate allocates nothing"),
    (
        "extern crate",
        "the control crate brings in no crate by hand",
    ),
    ("unsafe ", "unsafe code lives elsewhere"),
    (".unwrap()", "may panic"),
    (".expect(", "may panic"),
    ("panic!", "panics"),
    ("todo!", "panics"),
    ("unimplemented!", "panics"),
    ("unreachable!", "panics"),
];

/// What is wrong with one source file.
pub fn source_findings(place: &str, text: &str) -> Vec<String> {
    let mut findings = Vec::new();
    let mut find = |what: String| findings.push(format!("{place}: {what}"));
    let lines = text.lines().count();
    if lines > LONGEST && !GENERATED.contains(&place) {
        find(format!("{lines} lines, at most {LONGEST}: split by noun"));
    }
    let code = code_of(text);
    let (rooms, inside, law) = if let Some(inside) = place.strip_prefix("controller/src/") {
        (CONTROLLER, inside, true)
    } else if let Some(inside) = place.strip_prefix("controller/bus/src/") {
        (BUS, inside, true)
    } else if let Some(inside) = place.strip_prefix("sim-harness/src/") {
        (HARNESS, inside, false)
    } else {
        const ELSEWHERE: &[&str] = &[
            "controller/abi/",
            "controller/proof/",
            "controller/machine/",
            "controller/firmware/",
            "sim-harness/exchange/",
            "sim-harness/app/src/",
            "sim-harness/network/",
            "sim-harness/fmu/src/",
            "sim-harness/app/tests/",
            "sim-harness/examples/",
            "tests/tests/",
            "tests/examples/",
            "tests/src/",
            "tests/fuzz/src/",
            "tests/mutation/src/",
        ];
        if !ELSEWHERE.iter().any(|room| place.starts_with(room)) {
            find("outside the known rooms".to_owned());
        }
        return findings;
    };
    let strangers: &[&str] = if law {
        &["couplet_sim", "couplet"]
    } else {
        &["couplet"]
    };
    for stranger in strangers {
        if code
            .match_indices(&format!("{stranger}::"))
            .any(|(at, _)| !inside_word(&code, at))
        {
            find(format!("this crate knows nothing of `{stranger}`"));
        }
    }
    if law {
        for (word, why) in FORBIDDEN {
            if code
                .match_indices(word)
                .any(|(at, _)| word.starts_with('.') || !inside_word(&code, at))
            {
                find(format!("`{word}` in the control crate: {why}"));
            }
        }
    }
    if inside == "lib.rs" {
        return findings;
    }
    let module = module_of(inside);
    let home = module.first().cloned().unwrap_or_default();
    let Some((_, allowed)) = rooms.iter().find(|(room, _)| *room == home) else {
        find("outside the known rooms".to_owned());
        return findings;
    };
    if !law && IGNORANT.contains(&home.as_str()) && code.contains("couplet_controller") {
        find(format!("`{home}` must not know the control law"));
    }
    for path in imported_paths(&code, &module) {
        let Some(target) = path.first() else { continue };
        let known = rooms.iter().any(|(room, _)| room == target);
        if known && *target != home && !allowed.contains(&target.as_str()) {
            find(format!("`{home}` may not import `{target}`"));
        } else if !known && law && target.starts_with(char::is_uppercase) {
            find(format!(
                "imports `{target}` through the crate's root: name its room"
            ));
        }
        if law
            && home == "stage"
            && target == "stage"
            && let (Some(own), Some(other)) = (module.get(1), path.get(1))
            && own != other
            && other.starts_with(char::is_lowercase)
        {
            find(format!("stage `{own}` may not import stage `{other}`"));
        }
    }
    findings.dedup();
    findings
}
