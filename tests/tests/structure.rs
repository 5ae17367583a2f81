//! The shape of the house: every file in its room, every import downward.
//!
//! In: the sources and documents of this repository, read as text. Out: findings; none is allowed. The same checks run
//! over small bad sources first, so a check that finds nothing because it is broken is found out. Limits: a textual
//! reading (comments, literals and unit tests removed), not a compiler's.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Longest file, lines.
const LONGEST: usize = 500;

/// What may stand at the top of the repository.
const TOP: &[&str] = &[
    "Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE-MIT", "LICENSE-APACHE", ".gitignore",
    ".git", ".ci", "controller", "sim-harness", "tests", "docs",
    // Made by building and running, never committed.
    "target", "couplet-out",
];

/// Rooms of the control crate and what each may import besides itself.
const CONTROLLER: &[(&str, &[&str])] = &[
    ("numerics", &[]),
    ("quantity", &["numerics"]),
    ("calibration", &["numerics", "quantity"]),
    ("signal", &["numerics", "quantity"]),
    ("stage", &["numerics", "quantity", "calibration", "signal"]),
    ("snapshot", &["numerics", "quantity", "calibration", "signal", "stage"]),
    ("trace", &["numerics", "quantity", "calibration", "signal", "stage"]),
    ("controller", &["numerics", "quantity", "calibration", "signal", "stage", "snapshot", "trace"]),
];

/// Rooms of the harness and what each may import besides itself.
const HARNESS: &[(&str, &[&str])] = &[
    ("describe", &[]),
    ("record", &[]),
    ("plant", &["describe", "record"]),
    ("scenario", &["describe", "plant"]),
    ("metrics", &["record", "scenario"]),
    // A manoeuvre hires a driver, a driver looks at the manoeuvre's course: one level.
    ("manoeuvre", &["describe", "plant", "scenario", "driver"]),
    ("driver", &["describe", "plant", "scenario", "manoeuvre"]),
    ("run", &["describe", "record", "plant", "scenario", "metrics", "manoeuvre", "driver"]),
    ("prove", &["describe", "record", "plant", "scenario", "metrics", "manoeuvre", "driver", "run"]),
];

/// Harness rooms that must not know the control law: sharing its guesses would hide its errors.
const IGNORANT: &[&str] = &["describe", "record", "plant", "scenario", "metrics"];

/// Words that may not appear in the control crate outside its unit tests.
const FORBIDDEN: &[(&str, &str)] = &[
    ("std::", "the control crate has no standard library"),
    ("alloc::", "the control crate allocates nothing"),
    ("extern crate", "the control crate brings in no crate by hand"),
    ("unsafe ", "unsafe code lives elsewhere"),
    (".unwrap()", "may panic"),
    (".expect(", "may panic"),
    ("panic!", "panics"),
    ("todo!", "panics"),
    ("unimplemented!", "panics"),
    ("unreachable!", "panics"),
];

#[test]
fn every_file_is_in_its_room_and_imports_only_downward() {
    let findings: Vec<String> = sources().iter().flat_map(|(place, text)| source_findings(place, text)).collect();
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
}

#[test]
fn nothing_else_stands_at_the_top_of_the_repository() {
    let found: Vec<String> = names_in(&root()).into_iter().filter(|name| !TOP.contains(&name.as_str())).collect();
    assert!(found.is_empty(), "not part of the fixed top level: {found:?}");
}

#[test]
fn every_dependency_has_a_reason_above_it() {
    let findings = dependency_findings(&read("Cargo.toml"));
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
}

#[test]
fn nobody_depends_on_the_application() {
    for manifest in ["controller/Cargo.toml", "sim-harness/Cargo.toml", "tests/Cargo.toml", "controller/proof/Cargo.toml"] {
        let depends = read(manifest).lines().any(|line| line.starts_with("couplet.") || line.starts_with("couplet ="));
        assert!(!depends, "{manifest} depends on the application");
    }
}

#[test]
fn documents_name_only_files_and_tests_that_exist() {
    let functions = function_names();
    let mut documents = vec!["README.md".to_owned(), "DEVELOPERS.md".to_owned()];
    documents.extend(files_under(&root().join("docs"), "md").iter().map(|path| relative(path)));
    for document in documents {
        let findings = document_findings(&document, &read(&document), &|path| root().join(path).exists(), &functions);
        assert!(findings.is_empty(), "\n{}", findings.join("\n"));
    }
}

#[test]
fn the_status_table_exists_and_names_a_test_for_everything_that_stands() {
    let rows = status_rows(&read("README.md"));
    assert!(rows.len() >= 10, "the README's status table has {} rows", rows.len());
    for (piece, state, proof) in rows {
        let proven = proof.contains('`');
        assert!(proven || state == "not there", "{piece}: {state}, but no test is named");
        assert!(!(proven && state == "not there"), "{piece}: not there, but a test is named");
    }
}

#[test]
fn the_proof_covers_every_stage_in_every_arithmetic() {
    let proof = read("controller/proof/src/lib.rs");
    let stages = read("controller/src/stage/mod.rs");
    let stages: Vec<&str> =
        stages.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert!(stages.len() >= 10, "{stages:?}");
    for stage in stages {
        // The guardian has one arithmetic of its own.
        let entries = if stage == "guardian" { vec![""] } else { vec!["_f32", "_f64", "_fast"] };
        for arithmetic in entries {
            let entry = format!("{stage}{arithmetic}");
            let word = |before: &str, after: &str| proof.contains(&format!("{before}{entry}{after}"));
            assert!(word(" ", " ") || word("fn ", "("), "controller/proof/src/lib.rs has no entry point `{entry}`");
        }
    }
}

#[test]
fn the_checker_finds_every_fault_it_is_for() {
    let law = "controller/src/stage/traction.rs";
    let bad: &[(&str, &str, &str)] = &[
        ("controller/src/numerics/filter.rs", "use crate::quantity::PerSide;", "may not import `quantity`"),
        ("controller/src/quantity/span.rs", "fn f(x: crate::stage::Motion) {}", "may not import `stage`"),
        ("controller/src/calibration/page.rs", "use crate::{numerics::Scalar, signal::Inputs};", "may not import `signal`"),
        ("controller/src/signal/outputs.rs", "use super::super::stage::thermal;", "may not import `stage`"),
        ("controller/src/signal/outputs.rs", "use crate::PerSide;", "through the crate's root"),
        ("controller/src/stage/mod.rs", "use crate::trace::Trace;", "may not import `trace`"),
        (law, "use crate::stage::authority::Possible;", "stage `traction` may not import stage `authority`"),
        (law, "use super::{Stage, thermal::State};", "stage `traction` may not import stage `thermal`"),
        ("controller/src/stage/thermal/ledger.rs", "use super::super::monitor::Fault;", "may not import stage `monitor`"),
        (law, "fn f() { std::process::exit(1) }", "no standard library"),
        (law, "fn f(x: Option<u8>) -> u8 { x.unwrap() }", "`.unwrap()`"),
        (law, "fn f() { todo!() }", "`todo!`"),
        (law, "use couplet_sim::plant::Plant;", "knows nothing of `couplet_sim`"),
        ("controller/src/helpers.rs", "", "outside the known rooms"),
        ("sim-harness/src/plant/tyre.rs", "use couplet_controller::stage;", "must not know the control law"),
        ("sim-harness/src/metrics/mod.rs", "use crate::run::RunResult;", "may not import `run`"),
        ("sim-harness/src/record/mod.rs", "use crate::plant::Plant;", "may not import `plant`"),
        ("sim-harness/src/desk/mod.rs", "", "outside the known rooms"),
        ("sim-harness/src/run/mod.rs", "use couplet::report;", "knows nothing of `couplet`"),
        ("scripts/tool.rs", "", "outside the known rooms"),
    ];
    for (place, text, expected) in bad {
        let findings = source_findings(place, text).join("; ");
        assert!(findings.contains(expected), "{place} with {text:?}: expected {expected:?}, found {findings:?}");
    }
    let long = "\n".repeat(LONGEST + 1);
    assert!(source_findings(law, &long).join("; ").contains("501 lines"));

    let good = "//! Words: std::vec, crate::trace, panic!.\nuse super::Stage;\nuse crate::numerics::Scalar;\n\
                const WORD: &str = \"todo!\";\n#[cfg(test)]\nmod tests { fn f() { std::vec::Vec::<u8>::new().pop().unwrap(); } }\n";
    assert_eq!(source_findings(law, good), Vec::<String>::new());

    assert_eq!(dependency_findings("[workspace.dependencies]\n# Reason.\na = \"1\"\nb = \"2\"\n").len(), 1);
    assert_eq!(dependency_findings("[workspace.dependencies]\na = { path = \"a\" }\n# Reason.\nb = \"2\"\n").len(), 0);

    let known = BTreeSet::from(["a_promise".to_owned()]);
    let text = "see `docs/no.md`\n| piece | state | test |\n|---|---|---|\n| law | stands | `a_promise` `no_such_test` |\n";
    let findings = document_findings("README.md", text, &|path| path != "docs/no.md", &known);
    assert_eq!(findings.len(), 2, "{findings:?}");
}

/// What is wrong with one source file.
fn source_findings(place: &str, text: &str) -> Vec<String> {
    let mut findings = Vec::new();
    let mut find = |what: String| findings.push(format!("{place}: {what}"));
    let lines = text.lines().count();
    if lines > LONGEST {
        find(format!("{lines} lines, at most {LONGEST}: split by noun"));
    }
    let code = code_of(text);
    let (rooms, inside, law) = if let Some(inside) = place.strip_prefix("controller/src/") {
        (CONTROLLER, inside, true)
    } else if let Some(inside) = place.strip_prefix("sim-harness/src/") {
        (HARNESS, inside, false)
    } else {
        const ELSEWHERE: &[&str] =
            &["controller/proof/", "sim-harness/app/src/", "sim-harness/app/tests/", "tests/tests/", "tests/src/"];
        if !ELSEWHERE.iter().any(|room| place.starts_with(room)) {
            find("outside the known rooms".to_owned());
        }
        return findings;
    };
    let strangers: &[&str] = if law { &["couplet_sim", "couplet"] } else { &["couplet"] };
    for stranger in strangers {
        if code.match_indices(&format!("{stranger}::")).any(|(at, _)| !inside_word(&code, at)) {
            find(format!("this crate knows nothing of `{stranger}`"));
        }
    }
    if law {
        for (word, why) in FORBIDDEN {
            if code.match_indices(word).any(|(at, _)| word.starts_with('.') || !inside_word(&code, at)) {
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
            find(format!("imports `{target}` through the crate's root: name its room"));
        }
        if law && home == "stage" && target == "stage" {
            if let (Some(own), Some(other)) = (module.get(1), path.get(1)) {
                if own != other && other.starts_with(char::is_lowercase) {
                    find(format!("stage `{own}` may not import stage `{other}`"));
                }
            }
        }
    }
    findings.dedup();
    findings
}

/// The text without comments, literals and unit tests.
fn code_of(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let mut code = String::with_capacity(text.len());
    for line in text.lines() {
        let mut literal = false;
        let mut before = ' ';
        for character in line.chars() {
            if character == '"' && before != '\\' && before != '\'' {
                literal = !literal;
            } else if !literal {
                if character == '/' && before == '/' {
                    code.pop();
                    break;
                }
                code.push(character);
            }
            before = character;
        }
        code.push('\n');
    }
    code
}

fn inside_word(code: &str, at: usize) -> bool {
    code[..at].ends_with(|before: char| before.is_alphanumeric() || before == '_')
}

/// `stage/thermal/ledger.rs` is the module `[stage, thermal, ledger]`.
fn module_of(inside: &str) -> Vec<String> {
    let mut module: Vec<String> = inside.trim_end_matches(".rs").split('/').map(str::to_owned).collect();
    if module.last().is_some_and(|last| last == "mod") {
        module.pop();
    }
    module
}

/// Every path that starts with `crate::` or `super::`, from the crate's root, groups opened.
fn imported_paths(code: &str, module: &[String]) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    for (at, start) in code.match_indices("crate::").chain(code.match_indices("super::")) {
        let continued = code[..at].ends_with("super::");
        if continued || inside_word(code, at) {
            continue;
        }
        let mut rest = &code[at..];
        let mut base = if start == "crate::" { Vec::new() } else { module.to_vec() };
        if let Some(after) = rest.strip_prefix("crate::") {
            rest = after;
        }
        while let Some(after) = rest.strip_prefix("super::") {
            base.pop();
            rest = after;
        }
        open_path(rest, &base, &mut found);
    }
    found
}

/// Reads `a::b::{c, d::e}` at the start of `rest`; gives back how many bytes it took.
fn open_path(rest: &str, base: &[String], found: &mut Vec<Vec<String>>) -> usize {
    let word = rest.len() - rest.trim_start_matches(|c: char| c.is_alphanumeric() || c == '_').len();
    if word > 0 {
        let mut path = base.to_vec();
        path.push(rest[..word].to_owned());
        return match rest[word..].strip_prefix("::") {
            Some(after) if after.starts_with(|c: char| c.is_alphanumeric() || c == '_' || c == '{') => {
                word + 2 + open_path(after, &path, found)
            }
            _ => {
                found.push(path);
                word
            }
        };
    }
    if !rest.starts_with('{') {
        return 0;
    }
    let mut at = 1;
    while at < rest.len() && !rest[at..].starts_with('}') {
        let taken = open_path(&rest[at..], base, found);
        at += if taken > 0 { taken } else { rest[at..].chars().next().map_or(1, char::len_utf8) };
    }
    (at + 1).min(rest.len())
}

/// Dependencies from outside without a comment line above them.
fn dependency_findings(manifest: &str) -> Vec<String> {
    let section = manifest.split("[workspace.dependencies]").nth(1).unwrap_or_default();
    let section = section.split("\n[").next().unwrap_or_default();
    let lines: Vec<&str> = section.lines().collect();
    let outside = |line: &str| !line.starts_with('#') && line.contains('=') && !line.contains("path =");
    lines
        .windows(2)
        .filter(|pair| outside(pair[1]) && !pair[0].starts_with('#'))
        .map(|pair| format!("Cargo.toml: no reason above `{}`", pair[1]))
        .collect()
}

/// Paths and status rows of a document that name what is not there.
fn document_findings(
    document: &str,
    text: &str,
    exists: &dyn Fn(&str) -> bool,
    functions: &BTreeSet<String>,
) -> Vec<String> {
    let mut findings = Vec::new();
    for word in text.split('`').skip(1).step_by(2) {
        let path_like = word.contains('/')
            && word.chars().all(|c| c.is_ascii_alphanumeric() || "/._-".contains(c))
            && (TOP.contains(&word.split('/').next().unwrap_or_default()) || ends_like_a_place(word))
            && !word.starts_with("couplet-out");
        if path_like && !exists(word) {
            findings.push(format!("{document}: `{word}` does not exist"));
        }
    }
    for (piece, _, proof) in status_rows(text) {
        for name in proof.split('`').skip(1).step_by(2) {
            if !functions.contains(name) {
                findings.push(format!("{document}: {piece}: no test is called `{name}`"));
            }
        }
    }
    findings
}

/// A folder or a file, not a unit such as `rad/s`.
fn ends_like_a_place(word: &str) -> bool {
    ["/", ".rs", ".md", ".toml", ".csv"].iter().any(|end| word.ends_with(end))
}

/// Rows (piece, state, test) of the table whose header is `| piece | state | test |`.
fn status_rows(text: &str) -> Vec<(String, String, String)> {
    let lower = text.lines().skip_while(|line| line.to_lowercase().replace(' ', "") != "|piece|state|test|");
    lower
        .skip(2)
        .take_while(|line| line.starts_with('|'))
        .filter_map(|line| {
            let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
            let [piece, state, proof] = cells.as_slice() else { return None };
            Some(((*piece).to_owned(), (*state).to_owned(), (*proof).to_owned()))
        })
        .collect()
}

fn function_names() -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for (_, text) in sources() {
        for piece in text.split("#[test]").skip(1).chain(text.split("proptest!").skip(1)) {
            for after in piece.split("fn ").skip(1) {
                names.insert(after.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
            }
        }
    }
    names
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().expect("the repository is readable")
}

fn read(place: &str) -> String {
    fs::read_to_string(root().join(place)).unwrap_or_else(|why| panic!("{place}: {why}"))
}

fn relative(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).to_string_lossy().into_owned()
}

/// All Rust sources: place from the root, text.
fn sources() -> Vec<(String, String)> {
    let found: Vec<_> = files_under(&root(), "rs").iter().map(|path| (relative(path), read(&relative(path)))).collect();
    assert!(found.len() > 60, "only {} sources found: the walk is broken", found.len());
    found
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap_or_else(|why| panic!("{}: {why}", folder.display()));
    let mut names: Vec<String> = entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn files_under(folder: &Path, extension: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for name in names_in(folder) {
        let path = folder.join(&name);
        if path.is_dir() {
            let made = name == "target" || name == ".git" || name == "book" || name == "node_modules";
            if !made {
                found.extend(files_under(&path, extension));
            }
        } else if path.extension().is_some_and(|found| found == extension) {
            found.push(path);
        }
    }
    found
}
