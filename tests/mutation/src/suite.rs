//! The tests of the changed copy: what there is, what each passes through, whether it notices.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use std::{fs, io, thread};

/// One test function.
#[derive(Debug, Clone)]
pub struct Test {
    /// The program it is in.
    pub program: PathBuf,
    /// Its name.
    pub name: String,
    /// Time it takes, s.
    pub time_s: f64,
    /// Numbers of the errors whose place it passes.
    pub reached: BTreeSet<u32>,
}

/// Longest time of a test that takes part, s; longer ones are told and left out.
pub const LONGEST_S: f64 = 30.0;

/// Builds every test and tells the programs.
///
/// # Errors
/// Cargo cannot be started or does not build.
pub fn build(tree: &Path) -> io::Result<Vec<PathBuf>> {
    let output = Command::new("cargo")
        .args(["test", "--no-run", "--quiet", "--message-format=json"])
        .args(["-p", "couplet-tests", "-p", "couplet-controller"])
        .env("RUSTFLAGS", "-Awarnings")
        .current_dir(tree)
        .stderr(Stdio::inherit())
        .output()?;
    if !output.status.success() {
        return Err(io::Error::other("the changed copy does not build"));
    }
    let mut found: Vec<PathBuf> = String::from_utf8_lossy(&output.stdout)
        .lines()
        .filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok())
        .filter(|message| message["profile"]["test"] == true)
        .filter_map(|message| message["executable"].as_str().map(PathBuf::from))
        .collect();
    found.sort();
    Ok(found)
}

fn command(program: &Path, tree: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .current_dir(tree.join("tests"))
        .env_remove("COUPLET_BLESS")
        .env_remove("COUPLET_BLESS_GOLDEN")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// Waits, but not longer than this; nothing if it had to be stopped.
fn wait(mut child: Child, longest: Duration) -> io::Result<Option<bool>> {
    let start = Instant::now();
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(Some(status.success()));
        }
        if start.elapsed() > longest {
            child.kill()?;
            child.wait()?;
            return Ok(None);
        }
        thread::sleep(Duration::from_millis(5));
    }
}

/// Runs one test with every error off and notes what it passes; nothing if it fails or takes too long.
///
/// # Errors
/// The program cannot be started.
pub fn passed_through(
    program: &Path,
    name: &str,
    tree: &Path,
    notes: &Path,
) -> io::Result<Option<Test>> {
    let _ = fs::remove_file(notes);
    let start = Instant::now();
    let child = command(program, tree)
        .args(["--exact", name, "--test-threads=1"])
        .env_remove("COUPLET_MUTANT")
        .env("COUPLET_REACHED", notes)
        .spawn()?;
    if wait(child, Duration::from_secs_f64(LONGEST_S))? != Some(true) {
        return Ok(None);
    }
    let time_s = start.elapsed().as_secs_f64();
    let reached = fs::read_to_string(notes)
        .unwrap_or_default()
        .lines()
        .filter_map(|line| line.parse().ok())
        .collect();
    Ok(Some(Test {
        program: program.to_owned(),
        name: name.to_owned(),
        time_s,
        reached,
    }))
}

/// Names of the tests of a program.
///
/// # Errors
/// The program cannot be started.
pub fn names(program: &Path, tree: &Path) -> io::Result<Vec<String>> {
    let output = Command::new(program)
        .args(["--list", "--format", "terse"])
        .current_dir(tree.join("tests"))
        .output()?;
    Ok(String::from_utf8_lossy(&output.stdout)
        .lines()
        .filter_map(|line| line.strip_suffix(": test").map(str::to_owned))
        .collect())
}

/// What became of an error.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// A test noticed it: its name.
    Caught(String),
    /// No test that passes its place noticed it within the time.
    Missed,
    /// No test passes its place.
    Unreached,
}

/// Time that all tests together may take for one error, s.
const PATIENCE_S: f64 = 90.0;

/// Tries every test that passes the place, quick ones of a program together, longer ones after them.
///
/// # Errors
/// A program cannot be started.
pub fn judge(id: u32, tests: &[Test], tree: &Path) -> io::Result<Verdict> {
    let mut asked: Vec<&Test> = tests
        .iter()
        .filter(|test| test.reached.contains(&id))
        .collect();
    if asked.is_empty() {
        return Ok(Verdict::Unreached);
    }
    asked.sort_by(|one, other| one.time_s.total_cmp(&other.time_s));
    let mut groups: Vec<Vec<&Test>> = Vec::new();
    for test in asked {
        let quick = test.time_s < 0.5;
        let together = groups
            .iter_mut()
            .find(|group| quick && group[0].program == test.program && group[0].time_s < 0.5);
        match together {
            Some(group) => group.push(test),
            None => groups.push(vec![test]),
        }
    }
    let mut left_s = PATIENCE_S;
    for group in groups {
        let usual_s: f64 = group.iter().map(|test| test.time_s).sum();
        left_s -= usual_s;
        if left_s < 0.0 {
            break;
        }
        let child = command(&group[0].program, tree)
            .args(["--exact", "--test-threads=1"])
            .args(group.iter().map(|test| test.name.as_str()))
            .env("COUPLET_MUTANT", id.to_string())
            .env_remove("COUPLET_REACHED")
            .spawn()?;
        let longest = Duration::from_secs_f64(20.0 + 10.0 * usual_s);
        if wait(child, longest)? != Some(true) {
            return Ok(Verdict::Caught(group[0].name.clone()));
        }
    }
    Ok(Verdict::Missed)
}
