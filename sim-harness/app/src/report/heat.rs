//! Heat of the paired axle, run by run: temperatures as estimated, bounded and true, what protection took, where the energy went.
//!
//! From records alone. Every change of what heat leaves of a clutch stands in a table with its numbers and its reason.

use std::fmt::Write;

use couplet_sim::metrics::heat::{
    Energies, Transition, derated_share, energies, taken_share, transitions,
};
use couplet_sim::metrics::value;
use couplet_sim::record::Record;

use super::escaped;
use crate::output::Labelled;
use crate::output::number::{optional, significant};

/// Heading of the section.
pub const HEADING: &str = "Where did the heat go?";

/// The section; empty without a paired axle among the runs.
pub fn section(runs: &[Labelled<'_>]) -> String {
    let paired: Vec<&Labelled<'_>> = runs
        .iter()
        .filter(|run| derated_share(&run.result.record).is_some())
        .collect();
    if paired.is_empty() {
        return String::new();
    }
    format!(
        "<section id=\"heat\">\n<h2>{HEADING}</h2>\n<p>Runs of the paired axle. <i>estimated</i> is what the law believes, <i>bound</i> what it \
         protects by, <i>true</i> the plant's; the hotter side of each. A ceiling of 1 is the whole capacity. Time to limit: at the use of the \
         moment, 3600 s at most. The last two columns of the first table say what protection took: share of the time with less than the whole \
         capacity, share of the torque asked for.</p>\n{}{}{}</section>\n",
        changes(&paired),
        temperatures(&paired),
        flows(&paired)
    )
}

/// The largest (or least) sample of the channels, both sides or one.
fn over(record: &Record, names: &[&str], pick: fn(f64, f64) -> f64) -> Option<f64> {
    names
        .iter()
        .filter_map(|name| record.column(name))
        .flatten()
        .map(|sample| f64::from(*sample))
        .reduce(pick)
}

/// The largest difference of two channels, in size.
fn apart(record: &Record, pairs: &[(&str, &str)]) -> Option<f64> {
    let of = |(one, other): &(&str, &str)| {
        let (one, other) = (record.column(one)?, record.column(other)?);
        let sizes = one.iter().zip(other).map(|(a, b)| f64::from((a - b).abs()));
        sizes.reduce(f64::max)
    };
    pairs.iter().filter_map(of).reduce(f64::max)
}

fn table(label: &str, unfolded: bool, heads: &[&str], numbers_from: usize, body: &str) -> String {
    let open = if unfolded { " open" } else { "" };
    let mut text = format!(
        "<details{open}><summary><h3>{label}</h3></summary>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{label}\">\n\
         <table class=\"heat\"><thead><tr>"
    );
    for (place, head) in heads.iter().enumerate() {
        let class = if place >= numbers_from {
            " class=\"number\""
        } else {
            ""
        };
        let _ = write!(text, "<th scope=\"col\"{class}>{head}</th>");
    }
    text + "</tr></thead><tbody>\n" + body + "</tbody></table>\n</div>\n</details>\n"
}

fn temperatures(runs: &[&Labelled<'_>]) -> String {
    let mut body = String::new();
    for run in runs {
        let record = &run.result.record;
        let most = |names: &[&str]| over(record, names, f64::max);
        let least = |names: &[&str]| over(record, names, f64::min);
        let cells = [
            most(&["estimated_surface_left", "estimated_surface_right"]),
            most(&["bound_surface_left", "bound_surface_right"]),
            most(&["plant_clutch_surface_left", "plant_clutch_surface_right"]),
            apart(
                record,
                &[
                    ("estimated_surface_left", "plant_clutch_surface_left"),
                    ("estimated_surface_right", "plant_clutch_surface_right"),
                ],
            ),
            most(&["estimated_oil"]),
            most(&["bound_oil"]),
            most(&["plant_oil"]),
            apart(record, &[("estimated_oil", "plant_oil")]),
            least(&["heat_ceiling_left", "heat_ceiling_right"]),
            least(&["time_to_heat_limit_left", "time_to_heat_limit_right"]),
            value(&run.result.metrics, "launches until derating"),
            derated_share(record).map(|share| 100.0 * share),
            taken_share(record).map(|share| 100.0 * share),
        ];
        let _ = write!(body, "<tr><th scope=\"row\">{}</th>", escaped(&run.label));
        for cell in cells {
            let _ = write!(body, "<td class=\"number\">{}</td>", optional(cell));
        }
        body += "</tr>\n";
    }
    table(
        "Temperatures and protection by run",
        true,
        &[
            "run",
            "surface estimated [degC]",
            "bound",
            "true",
            "estimate off by [K]",
            "oil estimated [degC]",
            "bound",
            "true",
            "estimate off by [K]",
            "least ceiling",
            "shortest time to limit [s]",
            "launches until derating",
            "derated [% of time]",
            "torque taken [%]",
        ],
        1,
        &body,
    )
}

fn flows(runs: &[&Labelled<'_>]) -> String {
    let mut body = String::new();
    for run in runs {
        let Some(found) = energies(&run.result.record) else {
            continue;
        };
        let open_kj = found.open_kj();
        let Energies {
            made_kj,
            to_core_kj,
            to_oil_kj,
            to_housing_kj,
            to_air_kj,
            clutches_kj,
            oil_kj,
            housing_kj,
        } = found;
        let _ = write!(body, "<tr><th scope=\"row\">{}</th>", escaped(&run.label));
        for kj in [
            made_kj,
            to_core_kj,
            to_oil_kj,
            to_housing_kj,
            to_air_kj,
            clutches_kj,
            oil_kj,
            housing_kj,
            open_kj,
        ] {
            let _ = write!(body, "<td class=\"number\">{}</td>", significant(kj, 4));
        }
        body += "</tr>\n";
    }
    table(
        "Energy by run, true, kJ: made = to oil + stored in the clutches; to oil = to housing + stored in it; to housing = to air + stored",
        false,
        &[
            "run",
            "made in the clutches",
            "to the cores",
            "to the oil",
            "to the housing",
            "to the air",
            "stored in the clutches",
            "in the oil",
            "in the housing",
            "left open by rounding",
        ],
        1,
        &body,
    )
}

fn changes(runs: &[&Labelled<'_>]) -> String {
    let mut body = String::new();
    let mut quiet = 0;
    for run in runs {
        let found = transitions(&run.result.record);
        if found.is_empty() {
            quiet += 1;
            continue;
        }
        for (place, one) in found.iter().enumerate() {
            body += &change(&run.label, place == 0, found.len(), one);
        }
    }
    if body.is_empty() {
        return "<p>Heat took nothing from any run: no change to tell.</p>\n".to_owned();
    }
    let text = table(
        "Every change of what heat leaves of a clutch",
        true,
        &[
            "run",
            "side",
            "from",
            "to",
            "reason",
            "part",
            "time [s]",
            "estimated [degC]",
            "bound",
            "true",
        ],
        6,
        &body,
    );
    format!(
        "{text}<p>In the other {quiet} runs of the paired axle heat left the whole capacity throughout.</p>\n"
    )
}

fn change(label: &str, first: bool, lines: usize, one: &Transition) -> String {
    let head = if first {
        format!(
            "<tr class=\"first\"><th scope=\"row\" rowspan=\"{lines}\">{}</th>",
            escaped(label)
        )
    } else {
        "<tr>".to_owned()
    };
    let mut text = head;
    for word in [
        one.side,
        one.from.words(),
        one.to.words(),
        one.reason,
        one.part,
    ] {
        let _ = write!(text, "<td>{word}</td>");
    }
    for number in [
        one.time_s,
        one.estimate_degc,
        one.bound_degc,
        one.truth_degc,
    ] {
        let _ = write!(text, "<td class=\"number\">{}</td>", significant(number, 4));
    }
    text + "</tr>\n"
}
