//! `couplet laws`: the same manoeuvres under every shipped law of allocation, as one table on standard output.
//!
//! A value that misses the row's target carries a star. No file is written.

use couplet_sim::prove::{Case, LawRow, law_cases, law_rows};
use couplet_sim::run::law::{Law, Rule};
use couplet_sim::run::{RunResult, run};

use crate::bench::{demo_page, demo_vehicle};
use crate::failure::Failure;
use crate::output::number::{optional, target};
use crate::output::{CAUTIONS, text};
use crate::parallel::{Progress, in_parallel};

/// Drives and compares.
///
/// # Errors
/// A run that broke off.
pub fn laws() -> Result<String, Failure> {
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let cases = law_cases();
    let mut pages = Vec::new();
    for case in &cases {
        pages.push(demo_page(case.setting)?);
    }
    let count = cases.len();
    let job = |index: usize| (Law::ALL[index / count], index % count);
    let progress = Progress::new(count * Law::ALL.len(), "run", 1);
    let results = in_parallel(
        count * Law::ALL.len(),
        |index| {
            let (law, case) = job(index);
            let page = &pages[case];
            run(&cases[case].scenario, &vehicle, Rule::of(page, law))
        },
        |index, _| {
            let (law, case) = job(index);
            progress.done(&format!("{}, {}", cases[case].scenario.name, law.name()));
        },
    );
    progress.finish();
    let mut by_law: Vec<Vec<(Case, RunResult)>> = vec![Vec::new(); Law::ALL.len()];
    for (index, result) in results.into_iter().enumerate() {
        let (_, case) = job(index);
        let case = &cases[case];
        let result = result.ok_or_else(|| Failure::Run {
            name: case.scenario.name.clone(),
        })?;
        by_law[index / count].push((case.clone(), result));
    }
    Ok(table(&law_rows(&by_law)))
}

fn table(rows: &[LawRow]) -> String {
    let mut cells = vec![
        ["id", "requirement", "setting", "unit", "target"]
            .into_iter()
            .chain(Law::ALL.map(Law::name))
            .map(str::to_owned)
            .collect::<Vec<String>>(),
    ];
    for row in rows {
        let mut line = vec![
            row.id.clone(),
            row.requirement.clone(),
            row.setting.to_owned(),
            row.unit.to_owned(),
            target(row.target),
        ];
        line.extend(row.values.iter().map(|value| {
            let met = row
                .target
                .is_none_or(|target| value.is_some_and(|value| target.met_by(value)));
            format!("{}{}", optional(*value), if met { " " } else { "*" })
        }));
        cells.push(line);
    }
    let mut text = text::aligned(&cells, 4..5 + Law::ALL.len());
    text += "\nPaired axle, same manoeuvres, same driver. *: misses the target of the exact law. -: not reached.\n";
    for (index, law) in Law::ALL.iter().enumerate() {
        let judged = |row: &&LawRow| row.target.is_some();
        let met = |row: &&LawRow| {
            row.target
                .zip(row.values[index])
                .is_some_and(|(target, value)| target.met_by(value))
        };
        text += &format!(
            "{}: meets {} of {} targets\n",
            law.name(),
            rows.iter().filter(met).count(),
            rows.iter().filter(judged).count()
        );
    }
    text.push('\n');
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}
