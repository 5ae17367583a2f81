//! What limited the paired axle, run by run: every limit by name, its share of the time, its longest stretch.

use std::fmt::Write;

use couplet_sim::metrics::axle_work::{Work, limits as limit_times, work};

use super::escaped;
use crate::output::Labelled;
use crate::output::number::significant;

/// Limits that hold a smaller share of a run are not listed.
const LEAST_SHARE: f64 = 0.002;

/// The table; empty without a paired axle among the runs.
pub fn limits(runs: &[Labelled<'_>]) -> String {
    let mut body = String::new();
    for run in runs {
        let record = &run.result.record;
        let (Some(found), Some(kinds)) = (limit_times(record), work(record)) else {
            continue;
        };
        let found: Vec<_> = found
            .into_iter()
            .filter(|limit| limit.share >= LEAST_SHARE)
            .collect();
        let did = did(&kinds);
        let lines = found.len().max(1);
        let _ = write!(
            body,
            "<tr class=\"first\"><th scope=\"row\" rowspan=\"{lines}\">{}</th><td rowspan=\"{lines}\">{}</td>",
            escaped(&run.label),
            escaped(&did)
        );
        if found.is_empty() {
            body += "<td>nothing</td><td></td><td></td><td></td></tr>\n";
        }
        for (position, limit) in found.iter().enumerate() {
            let _ = writeln!(
                body,
                "{}<td>{}</td><td class=\"number\">{}</td><td class=\"number\">{}</td><td class=\"number\">{}</td></tr>",
                if position > 0 { "<tr>" } else { "" },
                escaped(limit.name),
                significant(100.0 * limit.share, 2),
                significant(limit.longest_s, 3),
                significant(limit.longest_from_s, 3)
            );
        }
    }
    if body.is_empty() {
        return String::new();
    }
    format!(
        "<p>From the trace of the controller. A limit counts while it keeps a clutch at least 30 N m from what was asked; \
         each side has its own, so shares may overlap. Meaning of the names: <i>slip direction</i> - the shaft can pull a wheel only \
         towards its own speed; <i>kinematic lock</i> - a locked clutch carries what the wheels' speeds make it carry; \
         <i>tyre friction</i> - the rear tyre passes no more on; <i>rate</i> - torque rises only so fast.</p>\n\
         <details open><summary><h3>Limits by run, paired axle</h3></summary>\n\
         <div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Limits by run\">\n<table class=\"limits\"><thead><tr>\
         <th scope=\"col\">run</th><th scope=\"col\">what the axle did, share of the time</th><th scope=\"col\">limit</th>\
         <th scope=\"col\" class=\"number\">share of the time [%]</th><th scope=\"col\" class=\"number\">longest stretch [s]</th>\
         <th scope=\"col\" class=\"number\">which began at [s]</th></tr></thead><tbody>\n{body}</tbody></table>\n</div>\n</details>\n"
    )
}

fn did(kinds: &[Work]) -> String {
    let parts: Vec<String> = Work::ALL
        .iter()
        .filter_map(|kind| {
            let count = kinds.iter().filter(|other| *other == kind).count();
            let percent = 100.0 * count as f64 / kinds.len().max(1) as f64;
            (percent >= 0.5).then(|| format!("{} {percent:.0} %", kind.words()))
        })
        .collect();
    parts.join(", ")
}
