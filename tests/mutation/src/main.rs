//! Puts small errors into a copy of the law, one at a time, and asks whether the tests notice.
//!
//! `couplet-mutation PROJECT WORK [SECONDS]`: copies PROJECT to WORK/tree, rewrites it once so that every error can be switched on,
//! builds the tests once, notes which test passes which place, then judges the errors in a shuffled order until all are judged or the
//! seconds are over. Goes on where it stopped. Out: WORK/results.csv and a table; status 1 where fewer than 90 % are caught.

mod rewrite;
mod suite;
mod tree;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;
use std::{env, fs, io, thread};

use suite::{Test, Verdict};
use tree::Placed;

/// Share that is asked for.
const ASKED: f64 = 0.9;

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let (Some(project), Some(work)) = (arguments.first(), arguments.get(1)) else {
        eprintln!("usage: couplet-mutation PROJECT WORK [SECONDS]");
        return ExitCode::from(2);
    };
    let seconds = arguments
        .get(2)
        .map_or(Ok(f64::INFINITY), |text| text.parse());
    let Ok(seconds) = seconds else {
        eprintln!("SECONDS is a number, such as 3600");
        return ExitCode::from(2);
    };
    match search(Path::new(project), Path::new(work), seconds) {
        Ok(enough) => ExitCode::from(u8::from(!enough)),
        Err(error) => {
            eprintln!("couplet-mutation: {error}");
            ExitCode::from(2)
        }
    }
}

fn search(project: &Path, work: &Path, seconds: f64) -> io::Result<bool> {
    let start = Instant::now();
    let tree = work.join("tree");
    fs::create_dir_all(&tree)?;
    let project = project.canonicalize()?;
    let tree = tree.canonicalize()?;
    tree::copy(&project, &tree)?;
    let mut without: Vec<u32> = Vec::new();
    let mut mutants = tree::write(&project, &tree, &without)?;
    loop {
        let refused = tree::refused(&tree)?;
        if refused.is_empty() {
            break;
        }
        without.extend(refused);
        mutants = tree::write(&project, &tree, &without)?;
    }
    eprintln!(
        "{} errors; {} more do not compile",
        mutants.len(),
        without.len()
    );
    let programs = suite::build(&tree)?;
    let tests = passed(&programs, &tree, work)?;
    let judged = judge_all(&mutants, &tests, &tree, work, start, seconds)?;
    Ok(told(&mutants, &judged))
}

/// Every test with what it passes, kept in a file.
fn passed(programs: &[PathBuf], tree: &Path, work: &Path) -> io::Result<Vec<Test>> {
    let kept = work.join("passed.csv");
    let mut known: BTreeMap<(String, String), Option<Test>> = BTreeMap::new();
    for line in fs::read_to_string(&kept).unwrap_or_default().lines() {
        let mut parts = line.splitn(4, ',');
        let (Some(program), Some(name), Some(time_s)) = (parts.next(), parts.next(), parts.next())
        else {
            continue;
        };
        let test = time_s.parse().ok().map(|time_s| Test {
            program: PathBuf::from(program),
            name: name.to_owned(),
            time_s,
            reached: parts
                .next()
                .unwrap_or_default()
                .split(' ')
                .filter_map(|id| id.parse().ok())
                .collect(),
        });
        known.insert((program.to_owned(), name.to_owned()), test);
    }
    let mut all = Vec::new();
    for program in programs {
        for name in suite::names(program, tree)? {
            let key = (program.display().to_string(), name.clone());
            let test = match known.remove(&key) {
                Some(test) => test,
                None => {
                    let test = suite::passed_through(program, &name, tree, &work.join("notes"))?;
                    let mut line = format!("{},{name},", program.display());
                    match &test {
                        Some(test) => {
                            let ids: Vec<String> =
                                test.reached.iter().map(u32::to_string).collect();
                            let _ = write!(line, "{},{}", test.time_s, ids.join(" "));
                        }
                        None => eprintln!(
                            "left out, fails or takes longer than {} s: {name}",
                            suite::LONGEST_S
                        ),
                    }
                    let mut file = fs::OpenOptions::new()
                        .create(true)
                        .append(true)
                        .open(&kept)?;
                    writeln!(file, "{line}")?;
                    test
                }
            };
            all.extend(test.filter(|test| !test.reached.is_empty()));
        }
    }
    eprintln!("{} tests pass some place", all.len());
    Ok(all)
}

/// Judges what is not judged yet, two at a time.
fn judge_all(
    mutants: &[Placed],
    tests: &[Test],
    tree: &Path,
    work: &Path,
    start: Instant,
    seconds: f64,
) -> io::Result<BTreeMap<u32, Verdict>> {
    let kept = work.join("results.csv");
    let mut judged = BTreeMap::new();
    for line in fs::read_to_string(&kept).unwrap_or_default().lines() {
        let mut parts = line.splitn(3, ',');
        let (Some(Ok(id)), Some(outcome)) = (parts.next().map(str::parse::<u32>), parts.next())
        else {
            continue;
        };
        let verdict = match outcome {
            "caught" => Verdict::Caught(parts.next().unwrap_or_default().to_owned()),
            "missed" => Verdict::Missed,
            _ => Verdict::Unreached,
        };
        judged.insert(id, verdict);
    }
    let done: BTreeSet<u32> = judged.keys().copied().collect();
    let mut open: Vec<u32> = mutants
        .iter()
        .map(|placed| placed.mutant.id)
        .filter(|id| !done.contains(id))
        .collect();
    // A fixed shuffle: what a run has judged when it ends is a fair sample.
    open.sort_by_key(|id| {
        u64::from(*id)
            .wrapping_add(1)
            .wrapping_mul(0x9E37_79B9_7F4A_7C15)
    });
    let next = AtomicUsize::new(0);
    let judged = Mutex::new(judged);
    let failed = Mutex::new(None);
    let work_off = || {
        while start.elapsed().as_secs_f64() < seconds {
            let Some(id) = open.get(next.fetch_add(1, Ordering::Relaxed)) else {
                return;
            };
            let verdict = match suite::judge(*id, tests, tree) {
                Ok(verdict) => verdict,
                Err(error) => {
                    *failed.lock().unwrap_or_else(|broken| broken.into_inner()) = Some(error);
                    return;
                }
            };
            let line = match &verdict {
                Verdict::Caught(test) => format!("{id},caught,{test}"),
                Verdict::Missed => format!("{id},missed,"),
                Verdict::Unreached => format!("{id},unreached,"),
            };
            let mut all = judged.lock().unwrap_or_else(|broken| broken.into_inner());
            all.insert(*id, verdict);
            if all.len() % 50 == 0 {
                eprintln!("{} of {} judged", all.len(), mutants.len());
            }
            if let Ok(mut file) = fs::OpenOptions::new().create(true).append(true).open(&kept) {
                let _ = writeln!(file, "{line}");
            }
        }
    };
    thread::scope(|scope| {
        scope.spawn(work_off);
        scope.spawn(work_off);
    });
    if let Some(error) = failed.into_inner().unwrap_or_default() {
        return Err(error);
    }
    Ok(judged.into_inner().unwrap_or_default())
}

/// The table, and whether enough was caught.
fn told(mutants: &[Placed], judged: &BTreeMap<u32, Verdict>) -> bool {
    let mut files: BTreeMap<&str, [usize; 3]> = BTreeMap::new();
    for placed in mutants {
        let place = match judged.get(&placed.mutant.id) {
            Some(Verdict::Caught(_)) => 0,
            Some(Verdict::Missed) => 1,
            Some(Verdict::Unreached) => 2,
            None => continue,
        };
        files.entry(&placed.file).or_default()[place] += 1;
    }
    println!("caught  missed  unreached  file");
    let mut sum = [0; 3];
    for (file, counts) in &files {
        println!("{:6}  {:6}  {:9}  {file}", counts[0], counts[1], counts[2]);
        for (sum, count) in sum.iter_mut().zip(counts) {
            *sum += count;
        }
    }
    let all: usize = sum.iter().sum();
    let share = sum[0] as f64 / all.max(1) as f64;
    println!(
        "{:6}  {:6}  {:9}  together, {all} of {} judged",
        sum[0],
        sum[1],
        sum[2],
        mutants.len()
    );
    println!(
        "caught: {:.1} %, asked {:.0} %\n",
        100.0 * share,
        100.0 * ASKED
    );
    for placed in mutants {
        let word = match judged.get(&placed.mutant.id) {
            Some(Verdict::Missed) => "missed",
            Some(Verdict::Unreached) => "unreached",
            _ => continue,
        };
        let mutant = &placed.mutant;
        println!(
            "{word}: {}:{}:{}: {}",
            placed.file, mutant.line, mutant.column, mutant.what
        );
    }
    share >= ASKED
}
