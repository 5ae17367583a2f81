//! `couplet fit-heat LOG`: the numbers of the law's heat network from a recorded run with temperatures.
//!
//! Told: what is left of every node before and after, 95 % intervals, what the log cannot tell and why. Written: an overlay on the
//! calibration with the numbers the log tells, whole or not at all, never over another file unless asked to. A log without
//! excitation gives no numbers.

mod log;
mod model;

use std::fmt::Write;
use std::path::{Path, PathBuf};

use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::{ENTRIES, Entry, RawPage};

use crate::command_line::Kind;
use crate::failure::{Failure, Refusal};
use crate::files::Source;
use crate::output::number::significant;
use crate::output::{CAUTIONS, see_place, write_file};
use crate::parallel::Progress;
use log::{NODES, OIL, Sample};
use model::{Fitted, NUMBERS, fit};

/// Group of the calibration the numbers belong to.
const GROUP: &str = "heat_network";
/// Heat below which a log excites nothing, J: less than one launch.
const LEAST_HEAT_J: f64 = 5.0e3;
/// Rise of some temperature below which it excites nothing, K.
const LEAST_RISE_K: f64 = 5.0;

/// What is asked.
pub struct Question<'a> {
    /// The log.
    pub log: &'a Path,
    /// Setting the numbers start from.
    pub setting: Option<&'a Path>,
    /// File of the overlay.
    pub to: PathBuf,
    /// Whether a file that is there may be replaced.
    pub force: bool,
}

/// Reads, fits, writes and tells.
///
/// # Errors
/// Refused log or setting, an overlay that is there already, a log that tells no number, a file that cannot be written.
pub fn fit_heat(question: &Question<'_>) -> Result<String, Failure> {
    let mut refusals = Vec::new();
    let page = match question.setting {
        Some(path) => Source::open(Kind::Setting, path).and_then(|source| source.setting()),
        None => Ok(RawPage::default()),
    };
    let page = crate::bench::keep(page, &mut refusals);
    let text = crate::bench::keep(Source::read_text(question.log), &mut refusals);
    let file = question.log.display().to_string();
    let samples = text
        .as_ref()
        .and_then(|text| crate::bench::keep(log::read(&file, text), &mut refusals));
    if question.to.exists() && !question.force {
        refusals.push(Refusal::on_command_line(
            format!("{} is there already", question.to.display()),
            "a file that is not there".into(),
            "name another one with --to, or say --force".into(),
        ));
    }
    let (Some(page), Some(samples), true) = (page, samples, refusals.is_empty()) else {
        return Err(Failure::Refused(refusals));
    };
    see_place(&question.to)?;
    let excitation = Excitation::of(&samples);
    if let Some(why) = excitation.missing() {
        return Err(tells_nothing(&file, why));
    }
    let first = NUMBERS.map(|name| entry(name).map_or(1.0, |entry| (entry.read)(&page.tunables)));
    let first = first.map(f64::from);
    let progress = Progress::new(3, "pass", 1);
    let fitted = fit(first, &samples, |pass| {
        progress.done(&format!("pass {pass} of 3"))
    });
    progress.finish();
    let usable: [bool; 10] = std::array::from_fn(|i| {
        fitted.told[i] && entry(NUMBERS[i]).is_some_and(|one| one.admits(fitted.numbers[i] as f32))
    });
    if !usable.contains(&true) {
        let why = "no number of the network is told to a quarter".to_owned();
        return Err(tells_nothing(&file, why));
    }
    let overlay = overlay(&file, &fitted, &usable);
    // What is written must be what the reader accepts.
    let readable = Source::of_text(&question.to.display().to_string(), &overlay);
    readable.setting().map_err(Failure::Refused)?;
    write_file(&question.to, &overlay)?;
    Ok(told(
        &file,
        &samples,
        &excitation,
        (&first, &fitted, &usable),
        &question.to,
    ))
}

fn entry(name: &str) -> Option<&'static Entry> {
    ENTRIES
        .iter()
        .find(|entry| entry.group == GROUP && entry.name == name)
}

fn tells_nothing(file: &str, why: String) -> Failure {
    Failure::Refused(vec![Refusal {
        file: file.to_owned(),
        line: 1,
        column: 1,
        what: format!("this log cannot tell the numbers of the network: {why}"),
        allowed: "a run that heats the clutches and lets them cool, at several speeds".into(),
        advice:
            "record some launches or a bend under power, then minutes of driving and of standing"
                .into(),
    }])
}

/// How much a log moves the network.
struct Excitation {
    heat_j: f64,
    rise_k: f64,
    speeds_m_s: (f64, f64),
    oil_degc: (f64, f64),
}

impl Excitation {
    fn of(samples: &[Sample]) -> Self {
        let mut heat_j = 0.0;
        for pair in samples.windows(2) {
            heat_j += (pair[1].time_s - pair[0].time_s) * (pair[1].heat_w[0] + pair[1].heat_w[1]);
        }
        let span = |read: &dyn Fn(&Sample) -> Option<f64>| {
            samples
                .iter()
                .filter_map(read)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                    (low.min(value), high.max(value))
                })
        };
        let rise_k = (0..6)
            .map(|node| span(&|sample| sample.degc[node]))
            .map(|(low, high)| high - low)
            .filter(|rise| rise.is_finite())
            .fold(0.0, f64::max);
        Self {
            heat_j,
            rise_k,
            speeds_m_s: span(&|sample| Some(sample.speed_m_s)),
            oil_degc: span(&|sample| sample.degc[OIL]),
        }
    }

    fn missing(&self) -> Option<String> {
        if self.heat_j < LEAST_HEAT_J {
            Some(format!(
                "the clutches made {} kJ, less than {} kJ",
                significant(self.heat_j / 1000.0, 3),
                LEAST_HEAT_J / 1000.0
            ))
        } else if self.rise_k < LEAST_RISE_K {
            Some(format!(
                "no temperature moved by more than {} K, {LEAST_RISE_K} K are needed",
                significant(self.rise_k, 3)
            ))
        } else {
            None
        }
    }
}

fn overlay(file: &str, fitted: &Fitted, usable: &[bool; 10]) -> String {
    let mut text = format!(
        "# Heat network fitted by couplet fit-heat to {file}.\n# An overlay: every tunable left out keeps its default. Numbers the log does not tell are left out.\n\
         # Simulation or measurement, check it before use: the intervals do not know what the network leaves out.\nlayout = {LAYOUT}\n\n[{GROUP}]\n"
    );
    for (i, name) in NUMBERS.iter().enumerate() {
        if usable[i] {
            let (low, high) = fitted.interval[i];
            let _ = writeln!(
                text,
                "# 95 % interval {} to {}.\n{name} = {}",
                significant(low, 4),
                significant(high, 4),
                decimal(fitted.numbers[i])
            );
        }
    }
    text
}

/// Four digits, always with a point.
fn decimal(value: f64) -> String {
    let text = significant(value, 4);
    if text.contains(['.', 'e']) {
        text
    } else {
        text + ".0"
    }
}

fn told(
    file: &str,
    samples: &[Sample],
    excitation: &Excitation,
    (first, fitted, usable): (&[f64; 10], &Fitted, &[bool; 10]),
    to: &Path,
) -> String {
    let show = |value: f64| significant(value, 4);
    let (from, until) = (
        samples.first().map_or(0.0, |sample| sample.time_s),
        samples.last().map_or(0.0, |sample| sample.time_s),
    );
    let mut text = format!(
        "heat network fitted to {file}\n{} samples, {} to {} s; {} kJ made in the clutches; oil {} to {} degC; speed {} to {} m/s\n{} evaluations, {}\n\n",
        samples.len(),
        show(from),
        show(until),
        show(excitation.heat_j / 1000.0),
        show(excitation.oil_degc.0),
        show(excitation.oil_degc.1),
        show(excitation.speeds_m_s.0),
        show(excitation.speeds_m_s.1),
        fitted.evaluations,
        if fitted.converged {
            "converged"
        } else {
            "NOT converged: take the numbers as they are, not as a fit"
        },
    );
    let mut cells = vec![
        [
            "temperature",
            "rms before [K]",
            "rms after [K]",
            "residual follows the one before",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    let mut follows: f64 = 0.0;
    for (node, left) in fitted.left.iter().enumerate() {
        if let Some((before, after)) = left {
            follows = follows.max(after.correlation);
            cells.push(vec![
                NODES[node].1.to_owned(),
                show(before.rms_k),
                show(after.rms_k),
                significant(after.correlation, 2),
            ]);
        }
    }
    text += &crate::output::text::aligned(&cells, 1..4);
    if follows > 0.5 {
        text += "Residuals follow each other: the network does not have the shape of what was recorded (plates, oil flow, a sensor's lag). The\n\
                 intervals are widened for it, by the effective number of samples; they do not know a shape that is missing.\n";
    }
    text.push('\n');
    let mut cells = vec![
        ["number", "start", "fitted", "95 % from", "to", "unit", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    for (i, name) in NUMBERS.iter().enumerate() {
        let verdict = match (fitted.told[i], usable[i]) {
            (true, true) => "told",
            (true, false) => "told, but outside the table's range: not written",
            _ => "not told by this log: not written",
        };
        let unit = entry(name).map_or("-", |entry| entry.unit);
        cells.push(vec![
            (*name).to_owned(),
            show(first[i]),
            show(fitted.numbers[i]),
            show(fitted.interval[i].0),
            show(fitted.interval[i].1),
            unit.to_owned(),
            verdict.to_owned(),
        ]);
    }
    text += &crate::output::text::aligned(&cells, 1..5);
    let mut order: Vec<usize> = (0..NUMBERS.len()).collect();
    order.sort_by(|one, other| {
        fitted.worst[*other]
            .abs()
            .total_cmp(&fitted.worst[*one].abs())
    });
    let worst: Vec<String> = order
        .iter()
        .take(3)
        .filter(|i| fitted.worst[**i].abs() > 0.2)
        .map(|i| format!("{:+.2} {}", fitted.worst[*i], NUMBERS[*i]))
        .collect();
    let condition = if fitted.condition.is_finite() && fitted.condition < 1.0e6 {
        format!("{:.0}", fitted.condition)
    } else {
        "above a million".to_owned()
    };
    let _ = write!(
        text,
        "\ncondition number of this log: {condition}; worst told, as changes of logarithms together: {}\nwritten to {}\n\n",
        worst.join(", "),
        to.display()
    );
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}
