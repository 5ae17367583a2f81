//! `couplet why RUN --at T`: the causal chain of the two torques at one instant.
//!
//! The run is driven again, the same to the last bit, and watched: demand, bounds with their setters and since when, second
//! channel, actuation. RUN is a run of the demo programme (with its setting) or a scenario file. Limits: only the paired
//! axle has the law; the chain is the law's own view, and what the plant's clutches carried stands beside it.

mod words;

use std::path::Path;

use couplet_controller::signal::{Limit, NamedSpan};
use couplet_controller::{Inputs, Outputs, PerSide, RawPage, Trace};
use couplet_sim::fault::Fault;
use couplet_sim::manoeuvre;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::programme;
use couplet_sim::record::Record;
use couplet_sim::run::axle_control::AxleControl;
use couplet_sim::run::closed_loop::drive_watched;
use couplet_sim::run::law::Rule;
use couplet_sim::run::{PERIOD_S, RunOutcome, driven};
use couplet_sim::scenario::{Scenario, layout_name};

use crate::bench::{demo_page, demo_vehicle, keep};
use crate::command_line::Kind;
use crate::failure::{Failure, Refusal};
use crate::files::Source;

/// Torque within which an answer counts as leaning on a bound, Nm: some hundred times the rounding of 2,000 Nm.
const LEANS_NM: f32 = 0.02;

/// What is asked.
pub struct Question<'a> {
    /// Run of the demo programme, embedded scenario or scenario file.
    pub run: &'a Path,
    /// Time, s after the record began.
    pub at_s: f64,
    /// Vehicle file or name.
    pub vehicle: Option<&'a Path>,
    /// Setting file or name.
    pub setting: Option<&'a Path>,
}

/// One end of one span.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct End {
    /// Bound, Nm.
    pub value_nm: f32,
    /// What set it.
    pub by: Limit,
    /// Whether the answer leans on it.
    pub leans: bool,
    /// Since when both have been so, s.
    pub since_s: f64,
}

/// Everything known of one control step.
pub struct Moment {
    /// Time, s after the record began.
    pub time_s: f64,
    /// What the law was told.
    pub inputs: Inputs,
    /// Its findings.
    pub trace: Trace<f32>,
    /// What it gave.
    pub outputs: Outputs,
    /// Ends of the spans of left, right, sum, difference: low and high.
    pub ends: [[End; 2]; 4],
    /// What held each side short, and since when, s.
    pub held: PerSide<(Limit, f64)>,
    /// Yaw moment per difference of torques.
    pub moment_per_difference: f32,
    /// Fault of the scenario that is there at this time.
    pub injected: Vec<Fault>,
    /// Torque of the plant's clutches, Nm.
    pub carried_nm: PerSide<Option<f32>>,
}

/// Drives, watches and tells.
///
/// # Errors
/// Unknown run, an axle without law, a time outside the run, refused files.
pub fn why(question: &Question<'_>) -> Result<String, Failure> {
    let mut refusals = Vec::new();
    let run = keep(scenario(question.run), &mut refusals);
    let vehicle = match question.vehicle {
        Some(path) => Source::open(Kind::Vehicle, path).and_then(|source| source.vehicle()),
        None => demo_vehicle()?.vehicle(),
    };
    let vehicle = keep(vehicle, &mut refusals);
    let setting = question.setting.map(|path| {
        Source::open(Kind::Setting, path)
            .and_then(|source| source.setting().map(|page| (page, source.name)))
    });
    let setting = match setting {
        Some(read) => keep(read, &mut refusals).map(Some),
        None => Some(None),
    };
    if !(question.at_s.is_finite() && question.at_s >= 0.0) {
        refusals.push(said(
            format!("--at {} is no time of a run", question.at_s),
            "0 s to the end of the run".into(),
            "give a time in seconds after the record began",
        ));
    }
    let (Some((scenario, own)), Some(vehicle), Some(setting), true) =
        (run, vehicle, setting, refusals.is_empty())
    else {
        return Err(Failure::Refused(refusals));
    };
    let (page, setting) = match (setting, own) {
        (Some(given), _) => given,
        (None, Some(own)) => (demo_page(own)?, own.to_owned()),
        (None, None) => (RawPage::default(), "defaults".to_owned()),
    };
    let (moment, record, outcome) = watched(&scenario, &vehicle, &page, question.at_s);
    let Some(mut moment) = moment else {
        return Err(Failure::Refused(vec![said(
            format!("--at {} is after the end of the run", question.at_s),
            format!("0 to {:.3} s ({})", outcome.at_s, outcome.ended),
            "give a time inside the run",
        )]));
    };
    let sample = (moment.time_s / record.period_s).round() as usize;
    let carried = |name: &str| record.column(name).and_then(|c| c.get(sample)).copied();
    moment.carried_nm = PerSide {
        left: carried("plant_clutch_torque_left"),
        right: carried("plant_clutch_torque_right"),
    };
    Ok(words::told(&scenario.name, &setting, &moment))
}

/// The scenario of a name or file, and the setting that belongs to a run of the programme.
pub fn scenario(run: &Path) -> Result<(Scenario, Option<&'static str>), Vec<Refusal>> {
    let name = run.display().to_string();
    let case = programme().into_iter().find(|case| {
        let own = &case.scenario.name;
        *own == name
            || (case.scenario.layout == AxleLayout::PairedClutches
                && *own == format!("{name}-paired"))
    });
    let (scenario, setting) = match case {
        Some(case) if !run.exists() => (case.scenario, Some(case.setting)),
        _ => {
            let source = Source::open(Kind::Scenario, run).map_err(|mut refusals| {
                for refusal in &mut refusals {
                    refusal.allowed += ", or a run of the demo programme such as lift-off-paired";
                }
                refusals
            })?;
            (source.scenario()?, None)
        }
    };
    if scenario.layout == AxleLayout::PairedClutches {
        return Ok((scenario, setting));
    }
    Err(vec![said(
        format!(
            "`{name}` runs on the axle `{}`, which this law does not command",
            layout_name(scenario.layout)
        ),
        "a run on the axle `paired`".into(),
        "ask about the run of the paired axle",
    )])
}

fn said(what: String, allowed: String, advice: &str) -> Refusal {
    Refusal::on_command_line(what, allowed, advice.into())
}

/// The run again, and its control step at `at_s` if it came so far.
fn watched(
    scenario: &Scenario,
    vehicle: &Vehicle,
    page: &RawPage,
    at_s: f64,
) -> (Option<Moment>, Record, RunOutcome) {
    let vehicle = driven(scenario, vehicle);
    let rule = Rule::from(page);
    let setup = manoeuvre::prepare(scenario, &vehicle, page);
    let mut ends = [[End::default(); 2]; 4];
    let mut held = PerSide::both((Limit::Nothing, f64::NEG_INFINITY));
    let mut found: Option<Moment> = None;
    let mut watch = |time_s: f64, inputs: &Inputs, control: &AxleControl| {
        let AxleControl::Paired(paired) = control else {
            return;
        };
        if found.is_some() {
            return;
        }
        let trace = paired.controller.trace();
        let seen = leaning(trace);
        for (end, now) in ends.iter_mut().flatten().zip(seen.into_iter().flatten()) {
            let goes_on = end.by == now.by && end.leans == now.leans;
            let since_s = if goes_on { end.since_s } else { time_s };
            *end = End { since_s, ..now };
        }
        let limits = trace.side_limit();
        for (before, now) in [
            (&mut held.left, limits.left),
            (&mut held.right, limits.right),
        ] {
            if before.0 != now {
                *before = (now, time_s);
            }
        }
        // The step nearest to the time asked for.
        if time_s >= 0.0 && time_s >= at_s - 0.5 * PERIOD_S {
            let vehicle = paired.controller.calibration().tunables().vehicle;
            found = Some(Moment {
                time_s,
                inputs: *inputs,
                trace: *trace,
                outputs: paired.outputs,
                ends,
                held,
                moment_per_difference: 0.5 * vehicle.track_m / vehicle.wheel_radius_m,
                injected: scenario
                    .faults
                    .iter()
                    .filter(|fault| fault.is_there(time_s))
                    .copied()
                    .collect(),
                carried_nm: PerSide::both(None),
            });
        }
    };
    let (record, outcome) = drive_watched(scenario, &vehicle, rule, setup, &mut watch);
    (found, record, outcome)
}

/// Every end of the octagon and whether the answer leans on it.
fn leaning(trace: &Trace<f32>) -> [[End; 2]; 4] {
    let octagon = &trace.possible.octagon;
    let torque = trace.answer.torque_nm;
    let ends = |span: NamedSpan<f32>, value: f32| {
        let end = |value_nm: f32, by: Limit, room: f32| End {
            value_nm,
            by,
            leans: room <= LEANS_NM,
            since_s: f64::NEG_INFINITY,
        };
        [
            end(span.low.value, span.low.by, value - span.low.value),
            end(span.high.value, span.high.by, span.high.value - value),
        ]
    };
    [
        ends(octagon.left, torque.left),
        ends(octagon.right, torque.right),
        ends(octagon.sum, torque.sum()),
        ends(octagon.difference, torque.difference()),
    ]
}
