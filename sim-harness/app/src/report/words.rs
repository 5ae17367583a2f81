//! The requirements of one question in words, each with a rule of its values.
//!
//! Input: the rows. Output: an answer in a sentence, then one line per requirement: verdict, words, and a small drawing with
//! a lane for every kind of axle (F front drive, C single coupling, P paired) and the target as a hatched zone.

use std::fmt::Write;

use couplet_sim::prove::{Question, Row, Target};

use super::escaped;
use crate::output::number::{margin, optional, significant, target};

/// Size of a rule, pixels; lanes lie between the edges.
const WIDTH: f64 = 280.0;
const LEFT: f64 = 26.0;
const RIGHT: f64 = WIDTH - 10.0;
const LANES: [f64; 3] = [9.0, 23.0, 37.0];
const FOOT: f64 = 47.0;
const HEIGHT: f64 = 60.0;

/// The chapter's words.
pub fn rows(rows: &[Row], question: Question) -> String {
    let rows: Vec<&Row> = rows.iter().filter(|row| row.question == question).collect();
    if rows.is_empty() {
        return String::new();
    }
    let mut text = format!("<p class=\"answer\">{}</p>\n", answer(&rows));
    text += "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Requirements\">\n<table class=\"verdicts\">\n\
             <thead><tr><th scope=\"col\">verdict</th><th scope=\"col\">id</th><th scope=\"col\">what was asked, what came</th>\
             <th scope=\"col\">F front drive, C single coupling, P paired</th></tr></thead>\n<tbody>\n";
    for row in rows {
        let (class, mark, word) = match row.pass() {
            Some(true) => ("met", "\u{25cf}", "met"),
            Some(false) => ("missed", "\u{25b2}", "missed"),
            None => ("open", "\u{2013}", "no target"),
        };
        let _ = writeln!(
            text,
            "<tr class=\"{class}\"><td class=\"verdict\"><span aria-hidden=\"true\">{mark} </span>{word}</td>\
             <th scope=\"row\">{}</th><td>{}</td><td>{}</td></tr>",
            escaped(&row.id),
            in_words(row),
            rule(row)
        );
    }
    text + "</tbody>\n</table>\n</div>\n"
}

fn answer(rows: &[&Row]) -> String {
    let judged: Vec<&&Row> = rows.iter().filter(|row| row.target.is_some()).collect();
    let missed: Vec<String> = judged
        .iter()
        .filter(|row| row.pass() == Some(false))
        .map(|row| format!("<b>{}</b>", escaped(&row.id)))
        .collect();
    let mut text = match (judged.len(), missed.len()) {
        (0, _) => "No target is set.".to_owned(),
        (all, 0) => format!("All {all} targets are met."),
        (all, some) => format!("{some} of {all} targets missed: {}.", missed.join(", ")),
    };
    // Room as a share of the target's own size, so that seconds and metres can be compared.
    let room = |row: &Row| {
        let edge = match row.target? {
            Target::AtMost(limit) | Target::AtLeast(limit) => limit,
            Target::Between(low, high) => low.abs().max(high.abs()),
        };
        let margin = row.margin().filter(|margin| *margin >= 0.0)?;
        (edge != 0.0).then(|| margin / edge.abs())
    };
    let tightest = judged
        .iter()
        .filter_map(|row| Some((row, room(row)?)))
        .min_by(|(_, one), (_, other)| one.total_cmp(other));
    if let Some((row, share)) = tightest {
        let _ = write!(
            text,
            " Of those met, the least room is left in <b>{}</b>: {} % of its target.",
            escaped(&row.id),
            significant(100.0 * share, 2)
        );
    }
    text
}

fn in_words(row: &Row) -> String {
    let unit = if row.unit == "-" { "" } else { row.unit };
    let value = |value: Option<f64>| match value {
        Some(_) => format!("{} {unit}", optional(value)).trim_end().to_owned(),
        None => "not reached".to_owned(),
    };
    let asked = match (row.target, row.margin()) {
        (Some(wanted), Some(room)) => format!(
            ", asked {} {unit} (margin {})",
            target(Some(wanted)),
            margin(Some(room))
        ),
        (Some(wanted), None) => format!(", asked {} {unit}", target(Some(wanted))),
        (None, _) => String::new(),
    };
    let source = match row.target {
        Some(_) => format!("; {}", row.source),
        None => String::new(),
    };
    format!(
        "{}<br><span class=\"found\"><b>paired {}</b>{}; single coupling {}, front drive {}; setting {}{}</span>",
        escaped(&row.requirement),
        escaped(&value(row.paired)),
        escaped(&asked.replace("  ", " ")),
        escaped(&value(row.coupling)),
        escaped(&value(row.passive)),
        escaped(row.setting),
        escaped(&source)
    )
}

fn rule(row: &Row) -> String {
    let values = [row.passive, row.coupling, row.paired];
    let edges = match row.target {
        Some(Target::AtMost(edge) | Target::AtLeast(edge)) => vec![edge],
        Some(Target::Between(low, high)) => vec![low, high],
        None => Vec::new(),
    };
    let all: Vec<f64> = values.iter().flatten().copied().chain(edges).collect();
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !(low <= high) {
        return "<span class=\"found\">nobody got there</span>".to_owned();
    }
    // From zero where that leaves the values apart; otherwise a little wider than what is to be shown.
    let from = if low >= 0.0 && low < 0.6 * high {
        0.0
    } else {
        low - 0.15 * (high - low).max(0.02 * high.abs()).max(1e-9)
    };
    let to = high + 0.15 * (high - from).max(1e-9);
    let across = |value: f64| LEFT + (value - from) / (to - from) * (RIGHT - LEFT);
    let mut text = format!(
        "<svg class=\"rule\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" role=\"img\" \
         aria-label=\"Values of {} beside the target\">",
        escaped(&row.id)
    );
    if let Some(wanted) = row.target {
        let (zone_from, zone_to) = match wanted {
            Target::AtMost(edge) => (LEFT, across(edge)),
            Target::AtLeast(edge) => (across(edge), RIGHT),
            Target::Between(low, high) => (across(low), across(high)),
        };
        let _ = write!(
            text,
            "<rect class=\"zone\" x=\"{zone_from:.1}\" y=\"1\" width=\"{:.1}\" height=\"{}\"/>",
            (zone_to - zone_from).max(0.0),
            FOOT - 1.0
        );
        for edge in [zone_from, zone_to] {
            if edge > LEFT && edge < RIGHT {
                let _ = write!(text, "<path class=\"edge\" d=\"M{edge:.1} 1V{FOOT}\"/>");
            }
        }
    }
    let _ = write!(text, "<path class=\"foot\" d=\"M{LEFT} {FOOT}H{RIGHT}\"/>");
    for (lane, (letter, value)) in ["F", "C", "P"].iter().zip(values).enumerate() {
        let down = LANES[lane];
        let _ = write!(
            text,
            "<text x=\"4\" y=\"{}\">{letter}</text><path class=\"lane\" d=\"M{LEFT} {down}H{RIGHT}\"/>",
            down + 4.0
        );
        let Some(value) = value else {
            let _ = write!(
                text,
                "<text class=\"none\" x=\"{LEFT}\" dx=\"4\" y=\"{}\">not reached</text>",
                down + 4.0
            );
            continue;
        };
        let at = across(value);
        let shape = match lane {
            0 => format!(
                "M{:.1} {down}a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0Z",
                at - 4.5
            ),
            1 => format!("M{:.1} {}h8v8h-8Z", at - 4.0, down - 4.0),
            _ => format!("M{at:.1} {}l5.5 5.5l-5.5 5.5l-5.5 -5.5Z", down - 5.5),
        };
        let _ = write!(text, "<path class=\"value run-{lane}\" d=\"{shape}\"/>");
    }
    let _ = write!(
        text,
        "<text x=\"{LEFT}\" y=\"{HEIGHT}\" dy=\"-1\">{}</text><text x=\"{RIGHT}\" y=\"{HEIGHT}\" dy=\"-1\" text-anchor=\"end\">{} {}</text></svg>",
        significant(from, 3),
        significant(to, 3),
        escaped(if row.unit == "-" { "" } else { row.unit })
    );
    text
}
