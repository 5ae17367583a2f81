//! `couplet export`: what the bench hands to other programs.
//!
//! `export sequence` writes what the law is told over the runs of the demo programme on the paired axle, and over one of them
//! with its signals broken one after the other, with single faults of the fault matrix, and the dearest steps a search has found: one `.seq`
//! file each and `digests.txt`, the digest of this machine's outputs
//! after every thousand steps. A replay elsewhere must print the same digests. `export outputs` replays such a file here and
//! prints what leaves the law. Every file is written whole or not at all.

use std::fmt::Write;
use std::path::Path;

use couplet_controller::PerSide;
use couplet_sim::plant::AxleLayout;
use couplet_sim::prove::programme;
use couplet_sim::sequence::{BREAKS, FAULT_MARK, Sequence, Unreadable, WORST, faulty};

use crate::bench::{Done, demo_page, demo_vehicle};
use crate::failure::{Failure, Refusal};
use crate::output::{make_place, text, write_bytes, write_page};
use crate::parallel::{Progress, in_parallel};

/// The run whose signals are broken: most stages are at work in it.
const BROKEN: &str = "power-on-exit-wet-paired";

/// Drives, writes, and says what was written; `only` names one sequence.
///
/// # Errors
/// An unknown name, a run that broke off, a file that could not be written.
pub fn sequences(out: &Path, only: Option<&str>, longest: usize) -> Result<Done, Failure> {
    let mut cases = programme();
    cases.retain(|case| case.scenario.layout == AxleLayout::PairedClutches);
    let names: Vec<String> = cases
        .iter()
        .map(|case| case.scenario.name.clone())
        .chain(BREAKS.iter().map(|how| format!("{BROKEN}-{}", how.name)))
        .chain(
            cases
                .iter()
                .filter(|case| case.scenario.name == BROKEN)
                .flat_map(|case| faulty(&case.scenario))
                .map(|scenario| scenario.name),
        )
        .chain(WORST.iter().map(|(name, _)| (*name).to_owned()))
        .collect();
    if let Some(name) = only {
        if !names.iter().any(|known| known == name) {
            return Err(Failure::Refused(vec![Refusal::on_command_line(
                format!("no sequence is called `{name}`"),
                names.join(", "),
                "use an allowed name".into(),
            )]));
        }
        cases.retain(|case| {
            case.scenario.name == name
                || (case.scenario.name == BROKEN
                    && (name.starts_with(BROKEN) || name.starts_with(FAULT_MARK)))
        });
    }
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let mut pages = Vec::new();
    for case in &cases {
        pages.push(demo_page(case.setting)?);
    }
    make_place(out)?;
    let mut drives = Vec::new();
    for (case, page) in cases.iter().zip(&pages) {
        if case.scenario.name == BROKEN {
            let faulty = faulty(&case.scenario).into_iter();
            drives.extend(faulty.map(|scenario| (scenario, page, longest)));
        }
        drives.push((case.scenario.clone(), page, longest));
    }
    drives.retain(|(scenario, ..)| {
        only.is_none_or(|name| scenario.name == name || scenario.name == BROKEN)
    });
    let progress = Progress::new(drives.len(), "run", 1);
    let driven = in_parallel(
        drives.len(),
        |index| {
            let (scenario, page, longest) = &drives[index];
            Sequence::of_run(scenario, &vehicle, page, *longest)
        },
        |_, sequence| progress.done(&sequence.name),
    );
    progress.finish();
    let mut sequences = Vec::new();
    for (name, text) in WORST {
        let read = Sequence::from_words(name, text);
        sequences.push(read.map_err(|(line, allowed)| {
            Failure::Refused(vec![Refusal::on_command_line(
                format!("sim-harness/sequences/{name}.txt:{line} cannot be read"),
                allowed.into(),
                "mend the line, or search anew with controller/firmware/search.py".into(),
            )])
        })?);
    }
    for ((scenario, ..), sequence) in drives.iter().zip(driven) {
        let name = scenario.name.clone();
        let sequence = sequence.ok_or(Failure::Run { name })?;
        if sequence.name == BROKEN {
            sequences.extend(BREAKS.iter().map(|how| sequence.broken(how)));
        }
        sequences.push(sequence);
    }
    sequences.retain(|sequence| only.is_none_or(|name| sequence.name == name));
    sequences.sort_by(|one, other| one.name.cmp(&other.name));

    let mut digests = String::new();
    let mut cells = vec![["sequence", "steps", "digest"].map(str::to_owned).to_vec()];
    for sequence in &sequences {
        write_bytes(out, &format!("{}.seq", sequence.name), &sequence.bytes())?;
        let mut last = 0;
        for (step, digest) in sequence.digests() {
            writeln!(digests, "{} {step} {digest:016x}", sequence.name).unwrap_or_default();
            last = digest;
        }
        cells.push(vec![
            sequence.name.clone(),
            sequence.told.len().to_string(),
            format!("{last:016x}"),
        ]);
    }
    write_page(out, "digests.txt", &digests)?;
    let text = format!(
        "{}\n{} sequences and digests.txt are in {}. All drives are invented.\n",
        text::aligned(&cells, 1..2),
        sequences.len(),
        out.display()
    );
    Ok(Done {
        text,
        missed: false,
    })
}

/// The text of a sequence, as `sim-harness/sequences` keeps it.
///
/// # Errors
/// A file that cannot be read or is no sequence of this version.
pub fn words(file: &Path) -> Result<Done, Failure> {
    Ok(Done {
        text: read(file)?.words(),
        missed: false,
    })
}

/// Replays a sequence and tells its outputs, one line for every `every`th step.
///
/// # Errors
/// A file that cannot be read or is no sequence of this version.
pub fn outputs(file: &Path, every: usize) -> Result<Done, Failure> {
    let sequence = read(file)?;
    let mut text = String::new();
    sequence.replay(|step, outputs| {
        if step % every == 0 {
            let PerSide { left, right } = outputs.capacity_nm;
            writeln!(
                text,
                "step {step} capacity {left} {right} outputs {outputs:?}"
            )
            .unwrap_or_default();
        }
    });
    Ok(Done {
        text,
        missed: false,
    })
}

/// A sequence whose page the law accepts.
fn read(file: &Path) -> Result<Sequence, Failure> {
    let name = file.display().to_string();
    let refused = |what: String, allowed: &str, advice: &str| {
        Failure::Refused(vec![Refusal::on_command_line(
            format!("{name}: {what}"),
            allowed.into(),
            advice.into(),
        )])
    };
    let sound = "a file that `couplet export sequence` of this version wrote";
    let bytes = std::fs::read(file)
        .map_err(|error| refused(error.to_string(), sound, "name a file that can be read"))?;
    let sequence = Sequence::from_bytes(&name, &bytes).map_err(|why| {
        let what = match why {
            Unreadable::NotASequence => "not a sequence of version 1".to_owned(),
            Unreadable::OtherLayout => {
                "made for another calibration table or other input signals".to_owned()
            }
            Unreadable::EndsEarly { at } => format!("ends early, at byte {at}"),
            Unreadable::GoesOn { at } => format!("goes on after its last step, at byte {at}"),
            Unreadable::Period => "its control period is outside 1 to 20 ms".to_owned(),
        };
        refused(what, sound, "write it anew")
    })?;
    if let Err(why) = sequence.page.accept::<f32>() {
        let what = format!("its calibration page is refused: {why:?}");
        return Err(refused(what, sound, "write it anew"));
    }
    Ok(sequence)
}
