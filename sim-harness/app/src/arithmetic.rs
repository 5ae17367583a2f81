//! `couplet arithmetic`: the demo programme's law in `f32` and fast `f32` beside `f64`, open loop, as tables.
//!
//! The first table holds the largest and the 99.9 % difference of the torques per run; the second where the fast arithmetic
//! bites first. Missed: single precision beyond its allowance outside switches. No file is written.

use couplet_sim::arithmetic::{ALLOWED_NM, Arithmetic, compare};
use couplet_sim::plant::AxleLayout;
use couplet_sim::prove::{Case, programme};

use crate::bench::{Done, demo_page, demo_vehicle};
use crate::failure::{Failure, Refusal};
use crate::output::number::significant;
use crate::output::{CAUTIONS, text};
use crate::parallel::{Progress, in_parallel};

/// Drives and compares; `only` names one run.
///
/// # Errors
/// An unknown run, a run that broke off.
pub fn arithmetic(only: Option<&str>) -> Result<Done, Failure> {
    let mut cases = programme();
    cases.retain(|case| case.scenario.layout == AxleLayout::PairedClutches);
    if let Some(name) = only {
        let known: Vec<String> = cases
            .iter()
            .map(|case| case.scenario.name.clone())
            .collect();
        cases.retain(|case| {
            case.scenario.name == name || case.scenario.name == format!("{name}-paired")
        });
        if cases.is_empty() {
            return Err(Failure::Refused(vec![Refusal::on_command_line(
                format!("no run of the paired axle is called `{name}`"),
                known.join(", "),
                "use an allowed name".into(),
            )]));
        }
    }
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let mut pages = Vec::new();
    for case in &cases {
        pages.push(demo_page(case.setting)?);
    }
    let progress = Progress::new(cases.len(), "run", 1);
    let results = in_parallel(
        cases.len(),
        |index| compare(&cases[index].scenario, &vehicle, &pages[index]),
        |index, _| progress.done(&cases[index].scenario.name),
    );
    progress.finish();
    let mut done = Vec::new();
    for (case, result) in cases.into_iter().zip(results) {
        let name = case.scenario.name.clone();
        done.push((case, result.ok_or(Failure::Run { name })?));
    }
    Ok(Done {
        missed: done.iter().any(|(_, found)| !holds(found)),
        text: tables(&done),
    })
}

fn holds(found: &Arithmetic) -> bool {
    found.single.largest().nm <= ALLOWED_NM
}

fn tables(done: &[(Case, Arithmetic)]) -> String {
    let head = [
        "run",
        "setting",
        "steps",
        "f32 99.9 %",
        "largest",
        "at, s",
        "beyond",
        "left out",
        "differs",
        "fast 99.9 %",
        "largest",
        "at, s",
        "beyond",
        "left out",
        "differs",
    ];
    let mut cells = vec![head.map(str::to_owned).to_vec()];
    let percent =
        |count: usize, of: usize| format!("{:.2} %", 100.0 * count as f64 / of.max(1) as f64);
    for (case, found) in done {
        let mut line = vec![
            case.scenario.name.clone(),
            case.setting.to_owned(),
            found.steps.to_string(),
        ];
        for differences in [&found.single, &found.fast] {
            let largest = differences.largest();
            line.extend([
                significant(differences.at_share(0.999), 2),
                significant(largest.nm, 2),
                format!("{:.3}", largest.at_s),
                differences.beyond(ALLOWED_NM).to_string(),
                percent(differences.left_out, found.steps),
                percent(differences.differing, found.steps),
            ]);
        }
        cells.push(line);
    }
    let mut text = text::aligned(&cells, 2..head.len());
    text += &format!(
        "\nDifferences of the torques from f64 in N m, open loop on the inputs of the f64 run. Beyond: steps beyond {ALLOWED_NM} N m. \
         Left out: two steps before\nand after a switch, and while decisions differ. Differs: steps in which a decision differs.\n\n"
    );
    text += &bites(done);
    let met = done.iter().filter(|(_, found)| holds(found)).count();
    text += &format!(
        "\nf32 within {ALLOWED_NM} N m of f64 outside switches: {met} of {} runs.\n",
        done.len()
    );
    for (case, found) in done.iter().filter(|(_, found)| !holds(found)) {
        let largest = found.single.largest();
        text += &format!(
            "  missed: {}, {} N m at {:.3} s, {} steps of {}\n",
            case.scenario.name,
            significant(largest.nm, 3),
            largest.at_s,
            found.single.beyond(ALLOWED_NM),
            found.steps
        );
        for bite in found.single_bites.iter().take(3) {
            text += &format!(
                "    f32 leaves f64 in {} at {:.3} s: {} against {} {}\n",
                bite.name,
                bite.at_s,
                significant(bite.coarse, 4),
                significant(bite.exact, 4),
                bite.unit
            );
        }
    }
    text.push('\n');
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}

fn bites(done: &[(Case, Arithmetic)]) -> String {
    let head = [
        "run",
        "at, s",
        "fast f32 bites first in",
        "f64",
        "fast f32",
        "unit",
        "of its size",
        "then in",
    ];
    let mut cells = vec![head.map(str::to_owned).to_vec()];
    for (case, found) in done {
        let Some(first) = found.bites.first() else {
            continue;
        };
        let then: Vec<String> = found.bites[1..]
            .iter()
            .take(2)
            .map(|bite| format!("{} at {:.3} s", bite.name, bite.at_s))
            .collect();
        cells.push(vec![
            case.scenario.name.clone(),
            format!("{:.3}", first.at_s),
            first.name.to_owned(),
            significant(first.exact, 4),
            significant(first.coarse, 4),
            first.unit.to_owned(),
            format!("{:.1} %", 100.0 * first.share),
            then.join(", "),
        ]);
    }
    if cells.len() == 1 {
        return "Fast f32 leaves no signal of the trace by more than 1 % of its size.\n".into();
    }
    text::aligned(&cells, 1..2)
        + "A signal bites when it differs by more than 1 % of its largest size in the run.\n"
}
