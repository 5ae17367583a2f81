//! Helpers shared by the suites that judge controller and harness from outside.

pub mod hostile;

use couplet_controller::RawPage;
use couplet_controller::calibration::ENTRIES;
use couplet_sim::plant::Vehicle;
use couplet_sim::prove::{Case, programme};
use couplet_sim::run::{RunResult, run};

/// The calibration page of a demo setting, read from its file: lines `name = number` below `[group]`.
///
/// # Panics
/// If the file names an entry that the catalogue does not have.
pub fn demo_page(setting: &str) -> RawPage {
    let text = match setting {
        "patrol" => include_str!("../../sim-harness/settings/patrol.toml"),
        "response" => include_str!("../../sim-harness/settings/response.toml"),
        "trailer" => include_str!("../../sim-harness/settings/trailer.toml"),
        "skidpad" => include_str!("../../sim-harness/settings/skidpad.toml"),
        other => panic!("no demo setting {other}"),
    };
    let mut page = RawPage::default();
    let mut group = "";
    for line in text.lines().map(str::trim) {
        if let Some(header) = line
            .strip_prefix('[')
            .and_then(|rest| rest.strip_suffix(']'))
        {
            group = header;
        } else if let Some((name, value)) = line.split_once('=').filter(|_| !line.starts_with('#'))
        {
            let name = name.trim();
            let entry = ENTRIES
                .iter()
                .find(|entry| entry.group == group && entry.name == name);
            let value = value.split('#').next().unwrap_or_default().trim().parse();
            match (entry, value) {
                (Some(entry), Ok(value)) => (entry.write)(&mut page.tunables, value),
                _ => panic!("{setting}: cannot use `{line}`"),
            }
        }
    }
    page
}

/// Sets one number of a page, named `group.name`.
///
/// # Panics
/// If the catalogue has no such entry.
pub fn set(page: &mut RawPage, name: &str, value: f32) {
    match ENTRIES
        .iter()
        .find(|entry| name.split_once('.') == Some((entry.group, entry.name)))
    {
        Some(entry) => (entry.write)(&mut page.tunables, value),
        None => panic!("no entry {name}"),
    }
}

/// Runs every case of the demo programme whose name begins with `prefix`.
pub fn run_cases(prefix: &str) -> Vec<(Case, RunResult)> {
    programme()
        .into_iter()
        .filter(|case| case.scenario.name.starts_with(prefix))
        .map(|case| {
            let result = run(
                &case.scenario,
                &Vehicle::default(),
                &demo_page(case.setting),
            );
            (case, result)
        })
        .collect()
}

/// Configuration of a property test with so many cases in the gate; `.ci/deep` multiplies them by COUPLET_CASES_FACTOR.
///
/// A number given with `ProptestConfig::with_cases` hides PROPTEST_CASES: the deep gate once searched no longer than the
/// ordinary one.
pub fn property(cases: u32) -> proptest::test_runner::Config {
    let factor = std::env::var("COUPLET_CASES_FACTOR");
    let factor: u32 = factor.map_or(1, |text| {
        text.parse().expect("COUPLET_CASES_FACTOR: a whole number")
    });
    proptest::test_runner::Config {
        cases: cases.saturating_mul(factor),
        failure_persistence: None,
        ..proptest::test_runner::Config::default()
    }
}
