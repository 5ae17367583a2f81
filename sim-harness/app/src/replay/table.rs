//! What a replay tells: differences by log, variant and signal.

use couplet_controller::Outputs;
use couplet_sim::replay::mapping::Mapping;
use couplet_sim::replay::{Difference, differences, output, series};

use super::{Question, Replayed, Variant};
use crate::bench::Done;
use crate::failure::Failure;
use crate::output::number::significant;
use crate::output::text::aligned;
use crate::output::{CAUTIONS, write_page};

/// Torques by which two laws are judged.
const TORQUES: [&str; 2] = ["torque_left", "torque_right"];

/// One line of the regression table.
struct Line {
    log: String,
    against: String,
    signal: String,
    unit: &'static str,
    found: Difference,
    at_s: f64,
    /// Whether the difference is judged.
    judged: bool,
}

/// Tells, writes the table, and judges it where a limit was named.
///
/// # Errors
/// A table that could not be written.
pub fn told(
    question: &Question<'_>,
    variants: &[Variant],
    mapping: &Mapping,
    replays: &[Replayed],
) -> Result<Done, Failure> {
    let mut text = String::new();
    let mut lines: Vec<Line> = Vec::new();
    let mut cells = vec![
        [
            "log",
            "steps",
            "law",
            "largest torque left",
            "right",
            "mean of both",
            "unit",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for one in replays {
        for note in &one.notes {
            text += &format!("{note}\n");
        }
        for (variant, outputs) in variants.iter().zip(&one.outputs) {
            let [left, right] = TORQUES.map(|name| most(outputs, name));
            cells.push(vec![
                one.name.clone(),
                outputs.len().to_string(),
                variant.name.clone(),
                significant(left.0, 4),
                significant(right.0, 4),
                significant(0.5 * (left.1 + right.1), 4),
                "N m".to_owned(),
            ]);
        }
        lines.extend(lines_of(one, variants, mapping));
    }
    text += &aligned(&cells, 1..2);
    text.push('\n');
    let mut cells = vec![
        [
            "log",
            "against",
            "signal",
            "rms",
            "mean",
            "largest",
            "at [s]",
            "steps that differ",
            "unit",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    let mut csv = "log,against,signal,unit,steps,differ,rms,mean,largest,at_s\n".to_owned();
    for line in &lines {
        let found = &line.found;
        csv += &format!(
            "{},{},{},{},{},{},{},{},{},{}\n",
            cell(&line.log),
            cell(&line.against),
            line.signal,
            line.unit,
            found.steps,
            found.differ,
            found.rms,
            found.mean,
            found.largest,
            line.at_s
        );
        // The terminal shows what is judged, and of the rest what moved.
        if line.judged || found.differ > 0 {
            cells.push(vec![
                line.log.clone(),
                line.against.clone(),
                line.signal.clone(),
                significant(found.rms, 3),
                significant(found.mean, 3),
                significant(found.largest, 4),
                significant(line.at_s, 6),
                format!("{} of {}", found.differ, found.steps),
                line.unit.to_owned(),
            ]);
        }
    }
    if cells.len() > 1 {
        text += &aligned(&cells, 3..7);
        text.push('\n');
        write_page(question.out, "replay.csv", &csv)?;
    }
    let worst = lines
        .iter()
        .filter(|line| line.judged)
        .map(|line| line.found.largest)
        .fold(0.0, f64::max);
    let mut missed = false;
    if let Some(allowed) = question.allowed_nm {
        missed = !(worst <= allowed);
        text += &format!(
            "largest difference of a torque: {} N m, allowed {} N m: {}\n",
            significant(worst, 4),
            significant(allowed, 4),
            if missed { "MISSED" } else { "met" }
        );
    }
    text += &format!(
        "{} recordings replayed in open loop: the car of a recording does not feel this law. Written to {}.\n",
        replays.len(),
        question.out.display()
    );
    for caution in &CAUTIONS[2..4] {
        text += &format!("{caution}\n");
    }
    Ok(Done { text, missed })
}

/// A cell of the table's file: names may hold commas.
fn cell(text: &str) -> String {
    if text.contains([',', '"']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

fn lines_of(one: &Replayed, variants: &[Variant], mapping: &Mapping) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut add = |against: &str, signal: &str, unit: &'static str, found: Difference| {
        lines.push(Line {
            log: one.name.clone(),
            against: against.to_owned(),
            signal: signal.to_owned(),
            unit,
            at_s: one.steps.time_s(found.at),
            judged: TORQUES.contains(&signal),
            found,
        });
    };
    let Some(first) = one.outputs.first() else {
        return lines;
    };
    for (command, recorded) in mapping.commands.iter().zip(&one.commanded) {
        let found = Difference::between(series(first, command.output), recorded.iter().copied());
        add("recorded", command.output.name, command.output.unit, found);
    }
    for (variant, outputs) in variants.iter().zip(&one.outputs).skip(1) {
        for (signal, found) in differences(outputs, first) {
            add(&variant.name, signal.name, signal.unit, found);
        }
    }
    if let Some(earlier) = &one.earlier {
        for signal in couplet_controller::signal::OUTPUT_SIGNALS {
            let name = format!("output.{}", signal.name);
            if let Some((_, before)) = earlier.find(&name) {
                let found =
                    Difference::between(series(first, signal), before.values.iter().copied());
                add("earlier", signal.name, signal.unit, found);
            }
        }
    }
    lines
}

/// Largest and mean size of an output.
fn most(outputs: &[Outputs], name: &str) -> (f64, f64) {
    let Some(signal) = output(name) else {
        return (0.0, 0.0);
    };
    let (mut most, mut sum) = (0.0_f64, 0.0);
    for value in series(outputs, signal) {
        most = most.max(value.abs());
        sum += value.abs();
    }
    (most, sum / outputs.len().max(1) as f64)
}
