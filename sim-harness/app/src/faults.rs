//! `couplet faults`: the fault matrix, driven, kept, told and drawn.
//!
//! In: which cells. Out: the worst cells on the terminal, every cell in `faults.csv`, a page `faults.html`. The drives without
//! a fault are driven first and shared by all cells. Every part of a sharded matrix keeps its cells in a file of its own;
//! the whole uses all of them, and removes them when its results stand.

use std::collections::BTreeMap;
use std::path::Path;

use couplet_controller::RawPage;
use couplet_sim::fault::Fault;
use couplet_sim::fault_matrix::{
    Cell, Drive, ONSET_S, SETTINGS, Verdict, cells, double, judge, limits,
};
use couplet_sim::plant::Vehicle;
use couplet_sim::record::Record;
use couplet_sim::run::run;

use crate::bench::{demo_page, demo_vehicle};
use crate::failure::{Failure, Refusal};
use crate::kept::{Kept, Values};
use crate::output::{CAUTIONS, make_place, text, write_page};
use crate::parallel::{Progress, in_parallel};
use crate::report;

/// Cells after which finished ones are kept, and their share of the whole, if that is more.
const KEEP_EVERY: (usize, usize) = (200, 50);
/// Beginning of the names of the files of finished cells.
const KEPT: &str = ".faults-kept";
/// First word of such a file.
const MARK: &str = "couplet-faults-1";
/// Cells on the terminal.
const WORST: usize = 25;

/// A judged cell.
pub struct Judged {
    /// What was driven.
    pub cell: Cell,
    /// What came of it.
    pub verdict: Verdict,
    /// Largest value over its limit, where there is one.
    pub worst: Option<f64>,
}

/// A pair of faults with what it breaks.
pub struct Pair {
    /// Both faults.
    pub faults: [Fault; 2],
    /// What was driven.
    pub drive: Drive,
    /// Promises broken, in words.
    pub broken: Vec<String>,
}

/// Which cells.
struct Selection {
    words: Vec<String>,
    /// Part and number of parts, from 1.
    shard: (usize, usize),
}

impl Selection {
    fn of(only: Option<&str>, shard: Option<&str>) -> Result<Self, Failure> {
        let mut refusals = Vec::new();
        let words: Vec<String> = only
            .map(|only| only.split(',').map(|word| word.trim().to_owned()).collect())
            .unwrap_or_default();
        let shard = match shard {
            None => (1, 1),
            Some(text) => parts(text).unwrap_or_else(|| {
                refusals.push(Refusal::on_command_line(
                    format!("`--shard` is `{text}`, which is no part"),
                    "I/N with I from 1 to N and N up to 1000".into(),
                    "write --shard 1/4 for the first of four parts".into(),
                ));
                (1, 1)
            }),
        };
        let selection = Self { words, shard };
        let known = known_words();
        for word in &selection.words {
            if !known.iter().any(|name| name == word) {
                refusals.push(Refusal::on_command_line(
                    format!("`--only` has `{word}`, which is in no cell's name"),
                    known.join(", "),
                    "use allowed words, separated by commas".into(),
                ));
            }
        }
        if refusals.is_empty() && !cells().iter().any(|cell| selection.names(&cell.name())) {
            refusals.push(Refusal::on_command_line(
                "`--only` has words that no cell has together".into(),
                "words of one place, kind, speed, manoeuvre, car, setting and hands".into(),
                "leave out a word".into(),
            ));
        }
        if refusals.is_empty() {
            Ok(selection)
        } else {
            Err(Failure::Refused(refusals))
        }
    }

    /// Whether a name has all words.
    fn names(&self, name: &str) -> bool {
        self.words
            .iter()
            .all(|word| name.split('/').any(|part| part == word))
    }

    fn has(&self, index: usize, cell: &Cell) -> bool {
        index % self.shard.1 == self.shard.0 - 1 && self.names(&cell.name())
    }

    /// `-1-of-4`, or nothing for the whole.
    fn suffix(&self) -> String {
        match self.shard {
            (1, 1) => String::new(),
            (part, parts) => format!("-{part}-of-{parts}"),
        }
    }
}

fn parts(text: &str) -> Option<(usize, usize)> {
    let (part, parts) = text.split_once('/')?;
    let (part, parts): (usize, usize) = (part.parse().ok()?, parts.parse().ok()?);
    ((1..=1000).contains(&parts) && (1..=parts).contains(&part)).then_some((part, parts))
}

/// Every word of every cell's name, in the order of first use.
fn known_words() -> Vec<String> {
    let mut known: Vec<String> = Vec::new();
    for cell in cells() {
        for word in cell.name().split('/') {
            if !known.iter().any(|name| name == word) {
                known.push(word.to_owned());
            }
        }
    }
    known
}

/// Drives, judges, writes, tells.
///
/// # Errors
/// Refused words, a drive that broke off, a file that could not be written.
pub fn faults(out: &Path, only: Option<&str>, shard: Option<&str>) -> Result<String, Failure> {
    let selection = Selection::of(only, shard)?;
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let mut pages = BTreeMap::new();
    for setting in SETTINGS {
        pages.insert(setting, demo_page(setting)?);
    }
    make_place(out)?;
    let all = cells();
    let wanted: Vec<usize> = (0..all.len())
        .filter(|index| selection.has(*index, &all[*index]))
        .collect();
    let name = format!("{KEPT}{}", selection.suffix());
    let width = Verdict::default().numbers().len();
    let mut values: Vec<Option<Values>> = vec![None; all.len()];
    let kept = Kept::beside(out, &name, MARK, vec![width], all.len());
    for file in kept_files(out, &selection) {
        if let Some(kept) = Kept::beside(out, &file, MARK, vec![width], all.len()) {
            let found = kept.read(&mut values);
            if found > 0 {
                eprintln!("{found} cells of an interrupted or parted matrix are used again");
            }
        }
    }
    let open: Vec<usize> = wanted
        .iter()
        .copied()
        .filter(|index| values[*index].is_none())
        .collect();
    // Double faults belong to the first part.
    let doubles = selection.shard.0 == 1 && selection.words.is_empty();
    let mut free_of: Vec<Drive> = Vec::new();
    let extra = if doubles {
        double::drives()
    } else {
        Vec::new()
    };
    for drive in open.iter().map(|index| all[*index].drive).chain(extra) {
        if !free_of.contains(&drive) {
            free_of.push(drive);
        }
    }
    let bench = Bench {
        vehicle: &vehicle,
        pages: &pages,
    };
    let free = bench.free(&free_of)?;
    let step = KEEP_EVERY.0.max(wanted.len() / KEEP_EVERY.1);
    let progress = Progress::new(open.len(), "cell", open.len().div_ceil(20));
    let (mut count, mut trouble) = (0, None);
    in_parallel(
        open.len(),
        |job| {
            let cell = &all[open[job]];
            let free = free.iter().find(|(drive, _)| *drive == cell.drive);
            free.map(|(_, free)| {
                let faulty = bench.record(&cell.drive, &[cell.fault]);
                judge(&faulty, free, ONSET_S).numbers().to_vec()
            })
        },
        |job, numbers| {
            values[open[job]] = numbers.clone();
            progress.done(&all[open[job]].name());
            count += 1;
            if let Some(kept) = kept.as_ref().filter(|_| count % step == 0) {
                trouble = kept.write(&values).err().or(trouble.take());
            }
        },
    );
    progress.finish();
    if let Some(trouble) = trouble {
        return Err(trouble);
    }
    if let (Some(kept), true) = (&kept, selection.shard != (1, 1)) {
        kept.write(&values)?;
    }
    let mut judged = Vec::with_capacity(wanted.len());
    for index in wanted {
        let cell = all[index].clone();
        let verdict = values[index].as_deref().and_then(Verdict::of);
        let verdict = verdict.ok_or_else(|| Failure::Run { name: cell.name() })?;
        let worst = limits(&cell, &verdict).worst(&verdict);
        judged.push(Judged {
            cell,
            verdict,
            worst,
        });
    }
    let pairs = if doubles {
        bench.pairs(&free)?
    } else {
        Vec::new()
    };
    let suffix = selection.suffix();
    write_page(out, &format!("faults{suffix}.csv"), &csv(&judged))?;
    let page = report::faults::page(&judged, &pairs);
    write_page(out, &format!("faults{suffix}.html"), &page)?;
    if selection.shard == (1, 1) {
        for file in kept_files(out, &selection) {
            // Best effort: a file left behind is checked before it is used.
            let _ = std::fs::remove_file(out.join(file));
        }
    }
    Ok(told(&judged, &pairs, out, &suffix))
}

/// Names of the files of finished cells that this selection may use: its own, or for the whole those of every part.
fn kept_files(out: &Path, selection: &Selection) -> Vec<String> {
    let own = format!("{KEPT}{}", selection.suffix());
    if selection.shard != (1, 1) {
        return vec![own];
    }
    let entries = std::fs::read_dir(out).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| name.starts_with(KEPT) && !name.ends_with(".tmp"))
        .collect();
    names.sort();
    names
}

struct Bench<'a> {
    vehicle: &'a Vehicle,
    pages: &'a BTreeMap<&'static str, RawPage>,
}

impl Bench<'_> {
    fn record(&self, drive: &Drive, faults: &[Fault]) -> Record {
        let scenario = drive.scenario("fault", faults);
        run(&scenario, self.vehicle, &self.pages[drive.setting]).record
    }

    /// Records of the drives without a fault.
    fn free(&self, drives: &[Drive]) -> Result<Vec<(Drive, Record)>, Failure> {
        let progress = Progress::new(drives.len(), "drive", drives.len().div_ceil(5));
        let records = in_parallel(
            drives.len(),
            |job| self.record(&drives[job], &[]),
            |job, _| progress.done(&drives[job].name()),
        );
        progress.finish();
        let pair = |(drive, record): (&Drive, Option<Record>)| {
            let name = || drive.name();
            record
                .map(|record| (*drive, record))
                .ok_or_else(|| Failure::Run { name: name() })
        };
        drives.iter().zip(records).map(pair).collect()
    }

    fn pairs(&self, free: &[(Drive, Record)]) -> Result<Vec<Pair>, Failure> {
        let mut jobs = Vec::new();
        for faults in double::pairs() {
            for drive in double::drives() {
                jobs.push((faults, drive));
            }
        }
        let broken = in_parallel(
            jobs.len(),
            |job| {
                let (faults, drive) = &jobs[job];
                let capacity = self.pages[drive.setting].tunables.authority.capacity_nm;
                let free = free.iter().find(|(known, _)| known == drive);
                free.map(|(_, free)| {
                    double::broken(&self.record(drive, faults), free, f64::from(capacity))
                })
            },
            |_, _| {},
        );
        let pair = |((faults, drive), broken): ((_, Drive), Option<Option<Vec<String>>>)| {
            let broken = broken
                .flatten()
                .ok_or_else(|| Failure::Run { name: drive.name() })?;
            Ok(Pair {
                faults,
                drive,
                broken,
            })
        };
        jobs.into_iter().zip(broken).map(pair).collect()
    }
}

/// A number with so many places; a missing one is a dash.
pub fn number(value: Option<f64>, places: usize) -> String {
    value.map_or_else(|| "-".into(), |value| format!("{value:.places$}"))
}

fn csv(judged: &[Judged]) -> String {
    let mut text = String::from(
        "place,kind,size,speed [km/h],manoeuvre,car,setting,hands,yaw rate change [deg/s],drift after 1 s [m],drift after 2 s [m],found [s],released [s],torque under a tenth [s],opened,worst over limit [-]\n",
    );
    for one in judged {
        let (cell, verdict) = (&one.cell, &one.verdict);
        let bare = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        text += &format!(
            "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n",
            cell.fault.place.name(),
            cell.fault.kind.name(),
            cell.fault.size,
            cell.drive.speed_km_h,
            cell.drive.act.name(),
            cell.drive.car.name(),
            cell.drive.setting,
            if cell.drive.person { "person" } else { "still" },
            bare(verdict.yaw_change_deg_s),
            bare(verdict.drift_1s_m),
            bare(verdict.drift_2s_m),
            bare(verdict.found_s),
            bare(verdict.released_s),
            bare(verdict.let_go_s),
            u8::from(verdict.opened),
            bare(one.worst),
        );
    }
    text
}

/// Judged cells that miss a limit, worst first.
pub fn missed(judged: &[Judged]) -> Vec<&Judged> {
    let mut missed: Vec<&Judged> = judged
        .iter()
        .filter(|one| one.worst.is_some_and(|worst| !(worst <= 1.0)))
        .collect();
    missed.sort_by(|a, b| {
        let worst = |one: &Judged| one.worst.unwrap_or(0.0);
        worst(b).total_cmp(&worst(a))
    });
    missed
}

/// Cells without a limit missed, by drift after 1 s, for those who ask for a part without limits.
fn farthest(judged: &[Judged]) -> Vec<&Judged> {
    let mut all: Vec<&Judged> = judged.iter().collect();
    let drift = |one: &Judged| one.verdict.drift_1s_m.unwrap_or(f64::INFINITY);
    all.sort_by(|a, b| drift(b).total_cmp(&drift(a)));
    all
}

/// Cells of one row of a table.
pub fn row(one: &Judged) -> Vec<String> {
    let verdict = &one.verdict;
    vec![
        one.cell.fault.words(),
        one.cell.drive.name().replace('/', " "),
        number(verdict.yaw_change_deg_s, 2),
        number(verdict.drift_1s_m, 2),
        number(verdict.drift_2s_m, 2),
        number(verdict.found_s, 3),
        number(verdict.released_s, 3),
        number(verdict.let_go_s, 3),
        number(one.worst, 2),
    ]
}

/// Heads of those columns.
pub const HEADS: [&str; 9] = [
    "fault",
    "drive",
    "yaw, deg/s",
    "1 s, m",
    "2 s, m",
    "found, s",
    "released, s",
    "let go, s",
    "over limit",
];

/// How many were judged, and missed.
pub fn tally(judged: &[Judged]) -> String {
    let asked = judged.iter().filter(|one| one.worst.is_some()).count();
    format!(
        "{} cells driven, {asked} of them with a limit, {} of those miss it",
        judged.len(),
        missed(judged).len()
    )
}

fn told(judged: &[Judged], pairs: &[Pair], out: &Path, suffix: &str) -> String {
    let missed = missed(judged);
    let shown = if missed.is_empty() {
        farthest(judged)
    } else {
        missed.clone()
    };
    let mut rows = vec![HEADS.map(str::to_owned).to_vec()];
    rows.extend(shown.iter().take(WORST).map(|one| row(one)));
    let what = if missed.is_empty() {
        "farthest drift first"
    } else {
        "worst first"
    };
    let mut told = format!("Fault matrix, {what}\n\n");
    told += &text::aligned(&rows, 2..9);
    if shown.len() > WORST {
        told += &format!("... and {} more\n", shown.len() - WORST);
    }
    told += &format!("\n{}\n", tally(judged));
    told += "limits: hands still at 120 km/h 0.5 m after 1 s and 3 deg/s; a jammed clutch 0.35 m, worst radii 0.5 m, a person 0.75 m; release by 0.1 s, torque by 0.22 s, cold 0.43 s\n";
    if !pairs.is_empty() {
        let broken: Vec<&Pair> = pairs
            .iter()
            .filter(|pair| !pair.broken.is_empty())
            .collect();
        told += &format!(
            "\nDouble faults: {} drives, {} break a promise\n",
            pairs.len(),
            broken.len()
        );
        for pair in broken {
            told += &format!("{}\n", pair_words(pair));
        }
    }
    told += &format!(
        "\nEvery cell: {}\n\n",
        out.join(format!("faults{suffix}.csv")).display()
    );
    for caution in CAUTIONS {
        told += &format!("{caution}\n");
    }
    told
}

/// A pair in words.
pub fn pair_words(pair: &Pair) -> String {
    let [one, other] = &pair.faults;
    format!(
        "{} with {}, {}: {}",
        one.words(),
        other.words(),
        pair.drive.name().replace('/', " "),
        if pair.broken.is_empty() {
            "holds".to_owned()
        } else {
            pair.broken.join("; ")
        }
    )
}
