//! The copy of the project that is changed: sources rewritten, the switch added, errors that do not compile taken out again.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{fs, io};

use crate::rewrite::{Mutant, rewrite};

/// What is changed: the arbiter, the authority, the heat, the monitor.
const ROOMS: &[&str] = &[
    "controller/src/stage/arbiter",
    "controller/src/stage/authority.rs",
    "controller/src/stage/authority",
    "controller/src/stage/thermal",
    "controller/src/stage/monitor",
];

/// The module that switches an error on; `COUNT` is put in.
const SWITCH: &str = r#"//! Which error is switched on: environment variable COUPLET_MUTANT; COUPLET_REACHED names a file for the numbers that are passed.
extern crate std;
use core::sync::atomic::{AtomicBool, AtomicU32, Ordering};

static CHOSEN: AtomicU32 = AtomicU32::new(u32::MAX);
static REACHED: [AtomicBool; COUNT] = [const { AtomicBool::new(false) }; COUNT];
const RECORD: u32 = u32::MAX - 1;

/// Whether the error of this number is switched on.
#[inline]
pub fn is(id: u32) -> bool {
    let chosen = CHOSEN.load(Ordering::Relaxed);
    if chosen >= RECORD {
        return slow(id);
    }
    chosen == id
}

#[cold]
#[inline(never)]
fn slow(id: u32) -> bool {
    use std::io::Write;
    let asked = std::env::var("COUPLET_MUTANT").ok().and_then(|text| text.parse::<u32>().ok());
    if let Some(asked) = asked {
        CHOSEN.store(asked, Ordering::Relaxed);
        return asked == id;
    }
    CHOSEN.store(RECORD, Ordering::Relaxed);
    if let (Some(seen), Some(place)) = (REACHED.get(id as usize), std::env::var_os("COUPLET_REACHED")) {
        if !seen.swap(true, Ordering::Relaxed) {
            let file = std::fs::OpenOptions::new().create(true).append(true).open(place);
            if let Ok(mut file) = file {
                let _ = file.write_all(std::format!("{id}\n").as_bytes());
            }
        }
    }
    false
}
"#;

/// An error and the file it is in.
#[derive(Debug, Clone)]
pub struct Placed {
    /// Place of the file in the project.
    pub file: String,
    /// The error.
    pub mutant: Mutant,
}

/// Copies what version control knows of `project` to `tree`.
///
/// # Errors
/// Git or the file system refuses.
pub fn copy(project: &Path, tree: &Path) -> io::Result<()> {
    let listed = Command::new("git")
        .args([
            "ls-files",
            "-z",
            "--cached",
            "--others",
            "--exclude-standard",
        ])
        .current_dir(project)
        .output()?;
    for name in listed.stdout.split(|byte| *byte == 0) {
        let name = String::from_utf8_lossy(name).into_owned();
        let from = project.join(&name);
        if name.is_empty() || !from.is_file() {
            continue;
        }
        let to = tree.join(&name);
        if let Some(folder) = to.parent() {
            fs::create_dir_all(folder)?;
        }
        // An unchanged file keeps its age, so that little is built again.
        if fs::read(&to).ok() != fs::read(&from).ok() {
            fs::copy(&from, &to)?;
        }
    }
    Ok(())
}

fn sources(project: &Path) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    let mut open: Vec<PathBuf> = ROOMS.iter().map(|room| project.join(room)).collect();
    while let Some(place) = open.pop() {
        if place.is_dir() {
            for entry in fs::read_dir(&place)? {
                open.push(entry?.path());
            }
        } else if place.extension().is_some_and(|extension| extension == "rs") && place.is_file() {
            let inside = place.strip_prefix(project).unwrap_or(&place);
            found.push(inside.to_string_lossy().into_owned());
        }
    }
    found.sort();
    Ok(found)
}

/// Rewrites the law of `project` into `tree` without the errors `without`.
///
/// # Errors
/// A source that cannot be read, parsed or written.
pub fn write(project: &Path, tree: &Path, without: &[u32]) -> io::Result<Vec<Placed>> {
    let mut all = Vec::new();
    let mut next = 1;
    for file in sources(project)? {
        let text = fs::read_to_string(project.join(&file))?;
        let (changed, mutants, after) = rewrite(&text, next, without)
            .map_err(|error| io::Error::other(format!("{file}: {error}")))?;
        next = after;
        fs::write(tree.join(&file), changed)?;
        all.extend(mutants.into_iter().map(|mutant| Placed {
            file: file.clone(),
            mutant,
        }));
    }
    let switch = SWITCH.replace("COUNT", &next.to_string());
    fs::write(tree.join("controller/src/mutant.rs"), switch)?;
    let head = fs::read_to_string(project.join("controller/src/lib.rs"))?;
    let head = head.replace(
        "pub mod calibration;",
        "pub mod mutant;\npub mod calibration;",
    );
    fs::write(tree.join("controller/src/lib.rs"), head)?;
    Ok(all)
}

/// Numbers of errors that the compiler refuses.
///
/// # Errors
/// Cargo cannot be started, or refuses something that is no error of ours.
pub fn refused(tree: &Path) -> io::Result<BTreeSet<u32>> {
    let output = Command::new("cargo")
        .args([
            "check",
            "--quiet",
            "-p",
            "couplet-controller",
            "--message-format=json",
        ])
        .env("RUSTFLAGS", "-Awarnings")
        .current_dir(tree)
        .output()?;
    let mut found = BTreeSet::new();
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        let Ok(message) = serde_json::from_str::<serde_json::Value>(line) else {
            continue;
        };
        let message = &message["message"];
        if message["level"] != "error" {
            continue;
        }
        for span in message["spans"].as_array().into_iter().flatten() {
            let file = span["file_name"].as_str().unwrap_or_default();
            let line = |key: &str| span[key].as_u64().unwrap_or(0) as usize;
            let (first, last) = (line("line_start"), line("line_end"));
            let Ok(text) = fs::read_to_string(tree.join(file)) else {
                continue;
            };
            let lines: Vec<&str> = text.lines().collect();
            let inside = lines.get(first.saturating_sub(1)..last).unwrap_or_default();
            let numbers = numbers_in(&inside.join("\n"));
            if numbers.is_empty() {
                // The nearest switch above the place.
                let above = lines.get(..first).unwrap_or_default();
                found.extend(numbers_in(&above.join("\n")).last());
            }
            found.extend(numbers);
        }
    }
    if !output.status.success() && found.is_empty() {
        return Err(io::Error::other(
            String::from_utf8_lossy(&output.stderr).into_owned(),
        ));
    }
    Ok(found)
}

/// Numbers of the switches in a text.
fn numbers_in(text: &str) -> Vec<u32> {
    text.split("mutant::is(")
        .skip(1)
        .filter_map(|after| after.split('u').next()?.parse().ok())
        .collect()
}
