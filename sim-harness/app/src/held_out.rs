//! `couplet held-out`: drives nobody tuned the law on, as a table in Markdown on standard output.
//!
//! The table can be kept as it is printed: it names the hash of the calibration it was driven with.

use couplet_sim::prove::{
    LOOP_SETTINGS, LOSS_M, Verdict, calibration_hash, held_out_cases, held_out_verdicts,
};

use crate::bench::{Done, Job, demo_page, demo_vehicle, run_all};
use crate::failure::Failure;
use crate::output::CAUTIONS;
use crate::output::number::{optional, verdict};

/// Drives and judges.
///
/// # Errors
/// A run that broke off.
pub fn held_out() -> Result<Done, Failure> {
    let vehicle = demo_vehicle()?.vehicle().map_err(Failure::Refused)?;
    let mut pages = Vec::new();
    for setting in LOOP_SETTINGS {
        pages.push((setting, demo_page(setting)?));
    }
    let cases = held_out_cases(&pages);
    let job = |case: &'_ couplet_sim::prove::HeldOut| demo_page(case.setting);
    let mut jobs = Vec::new();
    for case in &cases {
        jobs.push(Job {
            scenario: &case.scenario,
            vehicle: &vehicle,
            page: job(case)?,
        });
    }
    let results = run_all(&jobs)?;
    let verdicts = held_out_verdicts(&cases, &results);
    Ok(Done {
        text: table(&verdicts, calibration_hash(&pages), cases.len()),
        missed: verdicts.iter().any(|one| !one.pass()),
    })
}

fn table(verdicts: &[Verdict], hash: u64, runs: usize) -> String {
    let mut text = format!(
        "Drives drawn from the calibration hash {hash:016x}. Wanted: no spin, and a path error at most {LOSS_M} m beyond \
         the best other axle that came through.\n\n\
         | drive | setting | friction | speed, m/s | paired ended | path error paired, m | best other, m | which | verdict |\n\
         |---|---|---|---|---|---|---|---|---|\n"
    );
    for one in verdicts {
        let speed = (one.speed_m_s > 0.0).then_some(one.speed_m_s);
        text += &format!(
            "| {} | {} | {:.2} | {} | {} | {} | {} | {} | {} |\n",
            one.drive,
            one.setting,
            one.friction,
            optional(speed),
            one.ended,
            optional(one.paired_m),
            optional(one.best.map(|(_, error)| error)),
            one.best.map_or("none came through", |(name, _)| name),
            verdict(Some(one.pass())),
        );
    }
    let missed = verdicts.iter().filter(|one| !one.pass()).count();
    let spun = verdicts.iter().filter(|one| one.spun).count();
    text += &format!(
        "\nRuns: {runs}. Verdicts: {}; met {}, missed {missed}, of these spun {spun}.\n\n",
        verdicts.len(),
        verdicts.len() - missed,
    );
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}
