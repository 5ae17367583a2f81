//! The shape of the house: every file in its room, every import downward.
//!
//! In: the sources and documents of this repository, read as text. Out: findings; none is allowed. The same checks run
//! over small bad sources first, so a check that finds nothing because it is broken is found out. Limits: a textual
//! reading (comments, literals and unit tests removed), not a compiler's.

mod documents;
mod reading;
mod rooms;

use documents::{
    dependency_findings, document_findings, locked_packages, outside_check_findings, status_rows,
};
use reading::{files_under, function_names, names_in, read, relative, root, sources};
use rooms::{LONGEST, TOP, source_findings};
use std::collections::BTreeSet;

#[test]
fn every_file_is_in_its_room_and_imports_only_downward() {
    let findings: Vec<String> = sources()
        .iter()
        .flat_map(|(place, text)| source_findings(place, text))
        .collect();
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
}

#[test]
fn nothing_else_stands_at_the_top_of_the_repository() {
    let found: Vec<String> = names_in(&root())
        .into_iter()
        .filter(|name| !TOP.contains(&name.as_str()))
        .collect();
    assert!(
        found.is_empty(),
        "not part of the fixed top level: {found:?}"
    );
}

#[test]
fn every_dependency_has_a_reason_above_it() {
    let findings = dependency_findings(&read("Cargo.toml"));
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
}

#[test]
fn nobody_depends_on_the_application() {
    for manifest in [
        "controller/Cargo.toml",
        "controller/abi/Cargo.toml",
        "sim-harness/fmu/Cargo.toml",
        "controller/bus/Cargo.toml",
        "sim-harness/Cargo.toml",
        "sim-harness/exchange/Cargo.toml",
        "sim-harness/network/Cargo.toml",
        "tests/Cargo.toml",
        "controller/proof/Cargo.toml",
        "controller/machine/Cargo.toml",
        "controller/firmware/Cargo.toml",
        "controller/firmware/counter/Cargo.toml",
        "controller/firmware/decode/Cargo.toml",
        "tests/fuzz/Cargo.toml",
        "tests/mutation/Cargo.toml",
    ] {
        let depends = read(manifest)
            .lines()
            .any(|line| line.starts_with("couplet.") || line.starts_with("couplet ="));
        assert!(!depends, "{manifest} depends on the application");
    }
}

#[test]
fn documents_name_only_files_and_tests_that_exist() {
    let functions = function_names();
    let mut documents = vec!["README.md".to_owned(), "DEVELOPERS.md".to_owned()];
    documents.extend(
        files_under(&root().join("docs"), "md")
            .iter()
            .map(|path| relative(path)),
    );
    for document in documents {
        let findings = document_findings(
            &document,
            &read(&document),
            &|path| root().join(path).exists(),
            &functions,
        );
        assert!(findings.is_empty(), "\n{}", findings.join("\n"));
    }
}

#[test]
fn the_status_table_exists_and_names_a_test_for_everything_that_stands() {
    let rows = status_rows(&read("README.md"));
    assert!(
        rows.len() >= 10,
        "the README's status table has {} rows",
        rows.len()
    );
    for (piece, state, proof) in rows {
        let proven = proof.contains('`');
        assert!(
            proven || state == "not there",
            "{piece}: {state}, but no test is named"
        );
        assert!(
            !(proven && state == "not there"),
            "{piece}: not there, but a test is named"
        );
    }
}

#[test]
fn every_outside_check_names_its_tests_or_says_why_there_is_none() {
    let functions = function_names();
    let page = read("docs/src/outside-checks.md");
    let findings = outside_check_findings(&page, &functions);
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
    // The checker finds what it is for.
    for (good, bad) in [
        ("`friction_caps_of_the_textbook`", "`no_such_test`"),
        ("`friction_caps_of_the_textbook`", ""),
        ("| K1 |", "| K2 |"),
        ("not used: both front wheels", "no: both front wheels"),
    ] {
        assert!(page.contains(good));
        let spoiled = page.replacen(good, bad, 1);
        assert_eq!(
            outside_check_findings(&spoiled, &functions).len(),
            1,
            "{bad}"
        );
    }
}

#[test]
fn the_proof_covers_every_stage_in_every_arithmetic() {
    let proof = read("controller/proof/src/lib.rs");
    let stages = read("controller/src/stage/mod.rs");
    let stages: Vec<&str> = stages
        .lines()
        .filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';'))
        .collect();
    assert!(stages.len() >= 10, "{stages:?}");
    for stage in stages {
        // The guardian has one arithmetic of its own.
        let entries = if stage == "guardian" {
            vec![""]
        } else {
            vec!["_f32", "_f64", "_fast"]
        };
        for arithmetic in entries {
            let entry = format!("{stage}{arithmetic}");
            let word =
                |before: &str, after: &str| proof.contains(&format!("{before}{entry}{after}"));
            assert!(
                word(" ", " ") || word("fn ", "("),
                "controller/proof/src/lib.rs has no entry point `{entry}`"
            );
        }
    }
}

#[test]
fn the_proof_covers_every_shipped_law_of_allocation_in_every_arithmetic() {
    let proof = read("controller/proof/src/lib.rs");
    let mut laws: Vec<String> = sources()
        .iter()
        .filter(|(place, _)| place.starts_with("controller/src/stage/arbiter/"))
        .flat_map(|(_, text)| {
            text.lines()
                .filter_map(|line| line.split_once("Allocate<S> for "))
                .map(|(_, law)| law.trim_end_matches(" {").to_owned())
                .collect::<Vec<_>>()
        })
        .collect();
    laws.sort();
    assert_eq!(laws, ["Exact", "ProportionalSplit", "StrictPriority"]);
    // The exact law is the controller's default and proven under that name.
    for law in laws.iter().filter(|law| *law != "Exact") {
        let entries = proof.matches(&format!("    {law}: ")).count();
        assert_eq!(entries, 3, "{law} in f32, f64 and fast f32");
    }
}

#[test]
fn proof_and_image_link_the_versions_the_workspace_uses() {
    let locked = |lock: &str| {
        let mut packages = locked_packages(&read(lock));
        packages.retain(|package| package.0 != "couplet-proof");
        packages
    };
    // The proof locks the packages of the law and of the bus and no others; the image has no bus.
    let law = locked("controller/proof/Cargo.lock");
    assert!(law.len() > 5, "{law:?}");
    let bus = ["couplet-bus", "crc", "crc-catalog"];
    for (lock, without) in [
        ("Cargo.lock", [].as_slice()),
        ("controller/firmware/Cargo.lock", &bus),
    ] {
        let linked = locked(lock);
        let strange: Vec<_> = law
            .difference(&linked)
            .filter(|package| !without.contains(&package.0.as_str()))
            .collect();
        assert!(
            strange.is_empty(),
            "{lock} has other versions of {strange:?}"
        );
    }
}

#[test]
fn the_checker_finds_every_fault_it_is_for() {
    let law = "controller/src/stage/traction.rs";
    let bad: &[(&str, &str, &str)] = &[
        (
            "controller/src/numerics/filter.rs",
            "use crate::quantity::PerSide;",
            "may not import `quantity`",
        ),
        (
            "controller/src/quantity/span.rs",
            "fn f(x: crate::stage::Motion) {}",
            "may not import `stage`",
        ),
        (
            "controller/src/calibration/page.rs",
            "use crate::{numerics::Scalar, signal::Inputs};",
            "may not import `signal`",
        ),
        (
            "controller/src/signal/outputs.rs",
            "use super::super::stage::thermal;",
            "may not import `stage`",
        ),
        (
            "controller/src/signal/outputs.rs",
            "use crate::PerSide;",
            "through the crate's root",
        ),
        (
            "controller/src/stage/mod.rs",
            "use crate::trace::Trace;",
            "may not import `trace`",
        ),
        (
            law,
            "use crate::stage::authority::Possible;",
            "stage `traction` may not import stage `authority`",
        ),
        (
            law,
            "use super::{Stage, thermal::State};",
            "stage `traction` may not import stage `thermal`",
        ),
        (
            "controller/src/stage/thermal/ledger.rs",
            "use super::super::monitor::Fault;",
            "may not import stage `monitor`",
        ),
        (
            law,
            "fn f() { std::process::exit(1) }",
            "no standard library",
        ),
        (
            law,
            "fn f(x: Option<u8>) -> u8 { x.unwrap() }",
            "`.unwrap()`",
        ),
        (law, "fn f() { todo!() }", "`todo!`"),
        (
            law,
            "use couplet_sim::plant::Plant;",
            "knows nothing of `couplet_sim`",
        ),
        ("controller/src/helpers.rs", "", "outside the known rooms"),
        (
            "controller/bus/src/bits.rs",
            "use crate::table::CAR_FRAMES;",
            "may not import `table`",
        ),
        (
            "controller/bus/src/guard.rs",
            "fn f(x: Option<u8>) -> u8 { x.unwrap() }",
            "`.unwrap()`",
        ),
        ("controller/bus/src/tools.rs", "", "outside the known rooms"),
        (
            "sim-harness/src/plant/tyre.rs",
            "use couplet_controller::stage;",
            "must not know the control law",
        ),
        (
            "sim-harness/src/metrics/mod.rs",
            "use crate::run::RunResult;",
            "may not import `run`",
        ),
        (
            "sim-harness/src/record/mod.rs",
            "use crate::plant::Plant;",
            "may not import `plant`",
        ),
        ("sim-harness/src/desk/mod.rs", "", "outside the known rooms"),
        (
            "sim-harness/src/run/mod.rs",
            "use couplet::report;",
            "knows nothing of `couplet`",
        ),
        ("scripts/tool.rs", "", "outside the known rooms"),
    ];
    for (place, text, expected) in bad {
        let findings = source_findings(place, text).join("; ");
        assert!(
            findings.contains(expected),
            "{place} with {text:?}: expected {expected:?}, found {findings:?}"
        );
    }
    let long = "\n".repeat(LONGEST + 1);
    assert!(source_findings(law, &long).join("; ").contains("501 lines"));

    let good = "//! Words: std::vec, crate::trace, panic!.\nuse super::Stage;\nuse crate::numerics::Scalar;\n\
                const WORD: &str = \"todo!\";\n#[cfg(test)]\nmod tests { fn f() { std::vec::Vec::<u8>::new().pop().unwrap(); } }\n";
    assert_eq!(source_findings(law, good), Vec::<String>::new());

    assert_eq!(
        dependency_findings("[workspace.dependencies]\n# Reason.\na = \"1\"\nb = \"2\"\n").len(),
        1
    );
    assert_eq!(
        dependency_findings(
            "[workspace.dependencies]\na = { path = \"a\" }\n# Reason.\nb = \"2\"\n"
        )
        .len(),
        0
    );

    let known = BTreeSet::from(["a_promise".to_owned()]);
    let text = "see `docs/no.md`\n| piece | state | test |\n|---|---|---|\n| law | stands | `a_promise` `no_such_test` |\n";
    let findings = document_findings("README.md", text, &|path| path != "docs/no.md", &known);
    assert_eq!(findings.len(), 2, "{findings:?}");
}
