//! The road stretch by stretch: its surface in words, and what the axle did there, as a table to read without sight.

use std::fmt::Write;

use couplet_sim::metrics::axle_work::{LIMIT_NAMES, Work, work};
use couplet_sim::plant::road::Stretch;
use couplet_sim::scenario::skarn_road;

use super::map::Drive;
use crate::output::number::significant;

/// Kind of surface in a word, and the sides it lies on (left, right); plain asphalt has none.
pub fn surface(stretch: &Stretch) -> (&'static str, bool, bool) {
    let (left, right) = (stretch.friction_left, stretch.friction_right);
    if stretch.rolling_scale > 1.0 {
        ("gravel", true, true)
    } else if (left - right).abs() > 0.1 {
        ("ice", left < right, right < left)
    } else if left < 0.3 {
        ("ice", true, true)
    } else if left < 0.7 {
        ("wet", true, true)
    } else if left < 0.9 {
        ("damp", true, true)
    } else {
        ("asphalt", false, false)
    }
}

/// The surface in words, with its side where it lies on one only.
pub fn surface_words(stretch: &Stretch) -> String {
    match surface(stretch) {
        (kind, true, false) => format!("{kind} on the left"),
        (kind, false, true) => format!("{kind} on the right"),
        (kind, _, _) => kind.to_owned(),
    }
}

/// Stretches with their start, m.
pub fn placed(stretches: &[Stretch]) -> impl Iterator<Item = (&Stretch, f64)> {
    stretches.iter().scan(0.0, |start_m, stretch| {
        let from_m = *start_m;
        *start_m += stretch.length_m;
        Some((stretch, from_m))
    })
}

/// The table.
pub fn by_stretch(drive: &Drive<'_>) -> String {
    let record = &drive.run.result.record;
    let Some(kinds) = work(record) else {
        return String::new();
    };
    let scale = drive.run.scenario.numbers.road;
    let (left, right) = (
        scale.friction_left / skarn_road::DRY,
        scale.friction_right / skarn_road::DRY,
    );
    let distance = record.column("path_distance").unwrap_or_default();
    let sample_at = |at_m: f64| {
        distance
            .iter()
            .position(|distance| f64::from(*distance) >= at_m)
            .unwrap_or(distance.len())
    };
    let mut text = String::from(
        "<details class=\"data\"><summary>The same as a table, stretch by stretch</summary>\n<div class=\"scroll\" tabindex=\"0\"><table class=\"stretches\">\
         <thead><tr><th scope=\"col\">stretch</th><th scope=\"col\" class=\"number\">from [m]</th><th scope=\"col\">surface, friction left / right</th>\
         <th scope=\"col\" class=\"number\">grade [%]</th><th scope=\"col\" class=\"number\">time [s]</th><th scope=\"col\">what the axle did</th>\
         <th scope=\"col\">longest limit</th></tr></thead><tbody>\n",
    );
    for (stretch, from_m) in placed(&drive.stretches) {
        let (from, to) = (sample_at(from_m), sample_at(from_m + stretch.length_m));
        if from >= to {
            continue;
        }
        let own = &kinds[from..to];
        let share = |kind: &Work| {
            own.iter().filter(|other| *other == kind).count() as f64 / own.len() as f64
        };
        let did: Vec<String> = Work::ALL
            .iter()
            .filter(|kind| share(kind) >= 0.15)
            .map(|kind| format!("{} {:.0} %", kind.words(), 100.0 * share(kind)))
            .collect();
        let _ = writeln!(
            text,
            "<tr><th scope=\"row\">{}<td>{from_m:.0}<td>{}, {} / {}<td>{:+.0}<td>{}<td>{}<td>{}",
            stretch.name,
            surface_words(stretch),
            significant(left * stretch.friction_left, 2),
            significant(right * stretch.friction_right, 2),
            stretch.grade_percent,
            significant((to - from) as f64 * record.period_s, 3),
            did.join(", "),
            longest_limit(drive, from, to)
        );
    }
    text + "</tbody></table></div></details>\n"
}

/// The limit named most often while the axle was held back.
fn longest_limit(drive: &Drive<'_>, from: usize, to: usize) -> &'static str {
    let record = &drive.run.result.record;
    let Some(kinds) = work(record) else {
        return "";
    };
    let mut counts = [0_usize; LIMIT_NAMES.len()];
    for side in ["limit_left", "limit_right"] {
        let limit = record.column(side).unwrap_or_default();
        for index in from..to.min(limit.len()) {
            if kinds[index] >= Work::HeldByHeat
                && let Some(count) = counts.get_mut(limit[index] as usize)
            {
                *count += 1;
            }
        }
    }
    let most = counts[1..].iter().copied().max().unwrap_or(0);
    match counts.iter().skip(1).position(|count| *count == most) {
        Some(found) if most > 0 => LIMIT_NAMES[found + 1],
        _ => "none",
    }
}
