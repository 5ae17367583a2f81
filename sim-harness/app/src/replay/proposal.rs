//! What physics says of a mapping: refusals with their place, and proposals.

use std::path::{Path, PathBuf};

use couplet_controller::Period;
use couplet_sim::replay::evidence::Car;
use couplet_sim::replay::physics::{Fault, Judgement, Pair, told};
use couplet_sim::replay::suggest;

use super::vehicle_of;
use crate::bench::{Done, keep};
use crate::failure::{Failure, Refusal};
use crate::files::{Source, mapping_text};
use crate::logs::{self, Log};

/// What speaks against a mapping, each at its table; empty if nothing does.
pub fn refusals(log: &Log, map: Option<&Source>, judgement: &Judgement) -> Vec<Refusal> {
    if judgement.is_clean() {
        return Vec::new();
    }
    let evidence = judgement.contradictions.join("; ");
    let several = if judgement.faults.len() > 1 {
        format!(" (one of {} that would explain it)", judgement.faults.len())
    } else {
        String::new()
    };
    let either = "signals that agree with each other; --as-mapped goes on in spite of it";
    let refuse = |table: &str, what: String, advice: String| match map {
        Some(map) => map.refusal_at_table(table, what, either.into(), advice),
        None => Refusal::on_command_line(what, either.into(), advice),
    };
    if judgement.faults.is_empty() {
        let what = format!(
            "{}: the signals contradict each other: {evidence}",
            log.file
        );
        let advice = "look at signs, units, sides and times of these channels".to_owned();
        return vec![refuse("", what, advice)];
    }
    let faults = judgement.faults.iter();
    faults
        .map(|fault| {
            let (what, advice) = told(*fault);
            let what = format!("{}: {what}{several}: {evidence}", log.file);
            refuse(table(*fault), what, advice)
        })
        .collect()
}

fn table(fault: Fault) -> &'static str {
    match fault {
        Fault::Sign(signal) | Fault::Unit(signal, _) | Fault::Late(signal, _) => signal.inputs()[0],
        Fault::Exchanged(Pair::Rear) => "wheel_speed_rear_left",
        Fault::Exchanged(Pair::Rising | Pair::RightSide) => "wheel_speed_front_right",
        Fault::Exchanged(_) => "wheel_speed_front_left",
    }
}

/// Proposes a mapping for the first of the recordings; the text is one, its reasons are comments.
///
/// # Errors
/// Refused files.
pub fn propose(
    paths: &[PathBuf],
    dbc: Option<&Path>,
    vehicle: Option<&Path>,
) -> Result<Done, Failure> {
    let mut refusals = Vec::new();
    let foreign = keep(dbc.map(logs::foreign).transpose(), &mut refusals);
    let Some(foreign) = foreign else {
        return Err(Failure::Refused(refusals));
    };
    let vehicle = keep(vehicle_of(vehicle), &mut refusals);
    let log = logs::files(paths).and_then(|files| match files.first() {
        Some(first) => logs::open(first, foreign.as_ref()),
        None => Err(Vec::new()),
    });
    let log = keep(log, &mut refusals);
    let (Some(vehicle), Some(log)) = (vehicle, log) else {
        return Err(Failure::Refused(refusals));
    };
    let radius_m = 0.5 * (vehicle.tyre_front.radius_m + vehicle.tyre_rear.radius_m);
    let car = Car::of(&vehicle);
    let proposal = suggest::propose(&log.recording, &car, radius_m, Period::default());
    let mut text = format!(
        "# PROPOSED for {} by names, units and physics: read it before use.\n",
        log.file.escape_debug()
    );
    let judgement = &proposal.judgement;
    let states = [
        ("", &proposal.reasons),
        ("STILL AGAINST IT: ", &judgement.contradictions),
        ("agrees: ", &judgement.agrees),
        ("could not be told: ", &judgement.untold),
    ];
    for (head, lines) in states {
        for line in lines {
            text += &format!("# {head}{}\n", line.escape_debug());
        }
    }
    text += &mapping_text(&proposal.mapping);
    Ok(Done {
        text,
        missed: false,
    })
}
