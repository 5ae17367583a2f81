//! The page of the fault matrix: one HTML file without script, network, fonts or other files.
//!
//! In: judged cells and pairs of faults. Out: the cells that miss a limit, worst first; a map with one row per fault and one
//! column per manoeuvre and speed, each field the largest drift after 1 s of all its cells, told by number and by shade; the
//! pairs. Dark and light follow the reader's system.

use std::collections::BTreeMap;
use std::fmt::Write;

use couplet_sim::fault_matrix::{Act, SPEEDS_KM_H};

use super::{escaped, head};
use crate::faults::{HEADS, Judged, Pair, missed, number, pair_words, row, tally};
use crate::output::CAUTIONS;

/// Most missed cells in the table; the CSV has all.
const MOST: usize = 500;

/// The page.
pub fn page(judged: &[Judged], pairs: &[Pair]) -> String {
    let mut text = head("Couplet: fault matrix");
    text += "<body>\n<a class=\"skip\" href=\"#content\">Skip to content</a>\n<header>\n<h1>Fault matrix</h1>\n<ul class=\"cautions\" aria-label=\"Cautions\">\n";
    for caution in CAUTIONS {
        let _ = writeln!(text, "<li>{}</li>", escaped(caution));
    }
    let _ = write!(
        text,
        "</ul>\n<p>{}. Every drive is compared with the same drive without the fault; times count from the onset.</p>\n\
         <nav aria-label=\"Contents\"><ul>\n<li><a href=\"#missed\">Limits missed</a></li>\n<li><a href=\"#map\">Map</a></li>\n\
         <li><a href=\"#pairs\">Double faults</a></li>\n</ul></nav>\n</header>\n<main id=\"content\">\n",
        escaped(&tally(judged))
    );
    text += &table(judged);
    text += &map(judged);
    text += &doubles(pairs);
    text + "</main>\n<footer>\n<p>Hands still or a person with reaction time; sizes of the faults are chosen, no source.</p>\n</footer>\n</body>\n</html>\n"
}

fn table(judged: &[Judged]) -> String {
    let missed = missed(judged);
    let mut text = String::from("<section id=\"missed\">\n<h2>Limits missed, worst first</h2>\n");
    if missed.is_empty() {
        return text + "<p>None.</p>\n</section>\n";
    }
    text += "<div class=\"scroll\"><table>\n<thead><tr>";
    for name in HEADS {
        let _ = write!(text, "<th scope=\"col\">{name}</th>");
    }
    text += "</tr></thead>\n<tbody>\n";
    for one in missed.iter().take(MOST) {
        text += "<tr>";
        for (place, cell) in row(one).iter().enumerate() {
            let _ = match place {
                0 => write!(text, "<th scope=\"row\">{}</th>", escaped(cell)),
                1 => write!(text, "<td>{}</td>", escaped(cell)),
                _ => write!(text, "<td class=\"number\">{}</td>", escaped(cell)),
            };
        }
        text += "</tr>\n";
    }
    text += "</tbody>\n</table></div>\n";
    if missed.len() > MOST {
        let _ = writeln!(
            text,
            "<p>And {} more in faults.csv.</p>",
            missed.len() - MOST
        );
    }
    text + "</section>\n"
}

/// Largest drift after 1 s by fault, manoeuvre and speed.
fn map(judged: &[Judged]) -> String {
    let mut faults: Vec<String> = Vec::new();
    let mut largest: BTreeMap<(usize, usize), (f64, bool)> = BTreeMap::new();
    let columns: Vec<(Act, f64)> = Act::ALL
        .into_iter()
        .flat_map(|act| SPEEDS_KM_H.map(|speed| (act, speed)))
        .collect();
    for one in judged {
        let words = one.cell.fault.words();
        let row = faults
            .iter()
            .position(|known| *known == words)
            .unwrap_or_else(|| {
                faults.push(words);
                faults.len() - 1
            });
        let drive = (one.cell.drive.act, one.cell.drive.speed_km_h);
        let Some(column) = columns.iter().position(|known| *known == drive) else {
            continue;
        };
        let drift = one.verdict.drift_1s_m.unwrap_or(f64::INFINITY);
        let bad = one.worst.is_some_and(|worst| !(worst <= 1.0));
        let field = largest.entry((row, column)).or_insert((0.0, false));
        *field = (field.0.max(drift), field.1 || bad);
    }
    let mut text = String::from(
        "<section id=\"map\">\n<h2>Largest drift after 1 s, m</h2>\n<p>Over settings, hands and cars. A star: a limit is missed in one of them.</p>\n\
         <div class=\"scroll\"><table>\n<thead><tr><th scope=\"col\">fault</th>",
    );
    for (act, speed) in &columns {
        let _ = write!(text, "<th scope=\"col\">{} {speed}</th>", act.name());
    }
    text += "</tr></thead>\n<tbody>\n";
    for (place, words) in faults.iter().enumerate() {
        let _ = write!(text, "<tr><th scope=\"row\">{}</th>", escaped(words));
        for column in 0..columns.len() {
            let _ = match largest.get(&(place, column)) {
                None => write!(text, "<td class=\"number\">-</td>"),
                Some((drift, bad)) => write!(
                    text,
                    "<td class=\"number\" style=\"background:rgba(200,60,0,{:.2})\">{}{}</td>",
                    (0.6 * drift).clamp(0.0, 0.6),
                    number(Some(*drift), 2),
                    if *bad { "*" } else { "" }
                ),
            };
        }
        text += "</tr>\n";
    }
    text + "</tbody>\n</table></div>\n</section>\n"
}

fn doubles(pairs: &[Pair]) -> String {
    let mut text = String::from("<section id=\"pairs\">\n<h2>Double faults</h2>\n");
    if pairs.is_empty() {
        return text + "<p>Not driven in this part of the matrix.</p>\n</section>\n";
    }
    text += "<p>At 120 km/h, hands still: no unbounded torque, no oscillation, a safe state.</p>\n<ul>\n";
    for pair in pairs {
        let _ = writeln!(text, "<li>{}</li>", escaped(&pair_words(pair)));
    }
    text + "</ul>\n</section>\n"
}
