//! What documents and manifests say about the tree.
//!
//! In: text of a document or manifest. Out: what it names that is not there, in words.

use crate::rooms::TOP;
use std::collections::BTreeSet;

/// Dependencies from outside without a comment line above them.
pub fn dependency_findings(manifest: &str) -> Vec<String> {
    let section = manifest
        .split("[workspace.dependencies]")
        .nth(1)
        .unwrap_or_default();
    let section = section.split("\n[").next().unwrap_or_default();
    let lines: Vec<&str> = section.lines().collect();
    let outside =
        |line: &str| !line.starts_with('#') && line.contains('=') && !line.contains("path =");
    lines
        .windows(2)
        .filter(|pair| outside(pair[1]) && !pair[0].starts_with('#'))
        .map(|pair| format!("Cargo.toml: no reason above `{}`", pair[1]))
        .collect()
}

/// Paths and status rows of a document that name what is not there.
pub fn document_findings(
    document: &str,
    text: &str,
    exists: &dyn Fn(&str) -> bool,
    functions: &BTreeSet<String>,
) -> Vec<String> {
    let mut findings = Vec::new();
    for word in text.split('`').skip(1).step_by(2) {
        let path_like = word.contains('/')
            && word
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || "/._-".contains(c))
            && (TOP.contains(&word.split('/').next().unwrap_or_default())
                || ends_like_a_place(word))
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
    ["/", ".rs", ".md", ".toml", ".csv"]
        .iter()
        .any(|end| word.ends_with(end))
}

/// Rows (piece, state, test) of the table whose header is `| piece | state | test |`.
pub fn status_rows(text: &str) -> Vec<(String, String, String)> {
    let lower = text
        .lines()
        .skip_while(|line| line.to_lowercase().replace(' ', "") != "|piece|state|test|");
    lower
        .skip(2)
        .take_while(|line| line.starts_with('|'))
        .filter_map(|line| {
            let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
            let [piece, state, proof] = cells.as_slice() else {
                return None;
            };
            Some((
                (*piece).to_owned(),
                (*state).to_owned(),
                (*proof).to_owned(),
            ))
        })
        .collect()
}

/// Rows of the tables of outside checks that name no test, a test that is not there, or no reason for having none.
pub fn outside_check_findings(text: &str, functions: &BTreeSet<String>) -> Vec<String> {
    let mut findings = Vec::new();
    let mut numbers = BTreeSet::new();
    for line in text.lines().filter(|line| line.starts_with('|')) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let [number, _, source, held] = cells.as_slice() else {
            findings.push(format!("not four cells: {line}"));
            continue;
        };
        if *number == "nr" || number.starts_with('-') {
            continue;
        }
        if !numbers.insert((*number).to_owned()) || source.is_empty() {
            findings.push(format!("{number}: number taken twice, or no source"));
        }
        let tests: Vec<&str> = held.split('`').skip(1).step_by(2).collect();
        let reason = held.strip_prefix("not used: ").map_or(0, str::len);
        if tests.is_empty() && reason < 20 {
            findings.push(format!("{number}: neither a test nor a reason"));
        }
        for name in tests.iter().filter(|name| !functions.contains(**name)) {
            findings.push(format!("{number}: no test is called `{name}`"));
        }
    }
    if numbers.len() < 30 {
        findings.push(format!("only {} outside checks", numbers.len()));
    }
    findings
}

/// Names and versions in a lock file.
pub fn locked_packages(lock: &str) -> BTreeSet<(String, String)> {
    let value = |line: &str, key: &str| Some(line.strip_prefix(key)?.trim_matches('"').to_owned());
    let lines: Vec<&str> = lock.lines().collect();
    lines
        .windows(2)
        .filter_map(|pair| Some((value(pair[0], "name = ")?, value(pair[1], "version = ")?)))
        .collect()
}
