//! The book's calibration chapter is what the table of tunables says.
//!
//! Generated from the table and compared; `COUPLET_BLESS=1` writes it anew. A stale chapter fails the gate.

use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::calibration::{ENTRIES, Provenance};
use std::fmt::Write;
use std::path::Path;

#[test]
fn the_calibration_chapter_is_what_the_table_says() {
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src/calibration.md");
    let chapter = chapter();
    if std::env::var_os("COUPLET_BLESS").is_some_and(|flag| flag == "1") {
        std::fs::write(&place, &chapter).expect("the book is writable");
    }
    let found = std::fs::read_to_string(&place).unwrap_or_default();
    if let Some((number, (expected, line))) = chapter
        .lines()
        .zip(found.lines().chain(std::iter::repeat("")))
        .enumerate()
        .find(|(_, (a, b))| a != b)
    {
        panic!(
            "docs/src/calibration.md is stale at line {}:\n  expected {expected}\n  found    {line}\nbless with COUPLET_BLESS=1",
            number + 1
        );
    }
    assert_eq!(
        found, chapter,
        "docs/src/calibration.md is stale: bless with COUPLET_BLESS=1"
    );
}

fn chapter() -> String {
    let mut text = String::new();
    let mut line = |line: &str| writeln!(text, "{line}").expect("writing to memory");
    line("# Calibration");
    line("");
    line("Generated from the table in `controller/src/calibration/table.rs`; do not edit by hand.");
    line("");
    line(&format!(
        "{} numbers in page layout {LAYOUT}. A page is accepted whole or refused whole: every number inside its range \
         (both ends belong to it), every rule below kept. Where a default comes from:",
        ENTRIES.len()
    ));
    line("");
    let kinds = [
        Provenance::Measured,
        Provenance::Published,
        Provenance::CommonPractice,
        Provenance::Chosen,
        Provenance::Guess,
    ];
    for kind in kinds {
        let count = ENTRIES
            .iter()
            .filter(|entry| entry.provenance == kind)
            .count();
        line(&format!("- {}: {count}", kind.name()));
    }
    line("");
    line("All defaults belong to an invented car. None is fit for a real one.");
    let mut group = "";
    for entry in ENTRIES {
        if entry.group != group {
            group = entry.group;
            line("");
            line(&format!("## `[{group}]`"));
            line("");
            line("| name | unit | range | default | from | meaning |");
            line("|---|---|---|---|---|---|");
        }
        line(&format!(
            "| `{}` | {} | {} to {} | {} | {} | {} |",
            entry.name,
            entry.unit,
            entry.low,
            entry.high,
            entry.default,
            entry.provenance.name(),
            entry.reason
        ));
    }
    line("");
    line("## Rules between numbers");
    line("");
    for rule in RULES {
        let entries: Vec<String> = rule
            .entries
            .iter()
            .map(|name| format!("`{name}`"))
            .collect();
        line(&format!("- {}: {}.", entries.join(", "), rule.message));
    }
    text
}
