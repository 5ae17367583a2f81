//! The page of whole lives: one HTML file without script, network, fonts or other files.
//!
//! In: missions and their lives. Out: the tables of the terminal, and per mission where the heat went: bars by class of power and by class of slip,
//! cycles of the surface by range; left unbroken, right broken lines. Dark and light follow the reader's system.

use std::fmt::Write;

use couplet_controller::PerSide;

use super::{escaped, head};
use crate::life::{Found, Lived, assumptions, cruise_rows, event_rows, mission_rows};
use crate::output::CAUTIONS;

const WIDTH: f64 = 620.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = WIDTH - 12.0;
const TOP: f64 = 26.0;
const FOOT: f64 = HEIGHT - 44.0;

/// The page.
pub fn page(found: &Found) -> String {
    let mut text = head("Couplet: whole lives");
    text += "<body>\n<a class=\"skip\" href=\"#content\">Skip to content</a>\n<header>\n<h1>Whole lives of the axle</h1>\n<ul class=\"cautions\" aria-label=\"Cautions\">\n";
    for caution in CAUTIONS {
        let _ = writeln!(text, "<li>{}</li>", escaped(caution));
    }
    let _ = writeln!(
        text,
        "</ul>\n<p>Setting {}. Every mission is invented. Each kind of event was driven once in the closed loop; a life is such events with cruising, \
         standing and rests between, through the controller's own heat network and counters.</p>\n<ul>",
        escaped(&found.setting)
    );
    for assumption in assumptions(found) {
        let _ = writeln!(text, "<li>{}</li>", escaped(&assumption));
    }
    text += "</ul>\n</header>\n<main id=\"content\">\n";
    for (heading, rows) in [
        ("Missions", mission_rows(found)),
        ("Events", event_rows(found)),
        ("What the axle costs at cruise", cruise_rows(found)),
    ] {
        let _ = writeln!(text, "<section>\n<h2>{heading}</h2>");
        text += &table(heading, &rows);
        text += "</section>\n";
    }
    for lived in &found.lives {
        text += &mission(found, lived);
    }
    text + "</main>\n</body>\n</html>\n"
}

fn table(label: &str, rows: &[Vec<String>]) -> String {
    let mut text = format!(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{label}\">\n<table class=\"axles\">"
    );
    for (line, cells) in rows.iter().enumerate() {
        text += if line == 0 { "<thead><tr>" } else { "<tr>" };
        for (column, cell) in cells.iter().enumerate() {
            let cell = escaped(cell);
            let _ = match (line, column) {
                (0, _) => write!(text, "<th scope=\"col\">{cell}</th>"),
                (_, 0) => write!(text, "<th scope=\"row\">{cell}</th>"),
                _ => write!(text, "<td class=\"number\">{cell}</td>"),
            };
        }
        text += if line == 0 {
            "</tr></thead><tbody>\n"
        } else {
            "</tr>\n"
        };
    }
    text + "</tbody></table>\n</div>\n"
}

fn mission(found: &Found, lived: &Lived) -> String {
    let name = escaped(&lived.name);
    let life = &found.page.tunables.life_count;
    let clutch = &lived.life.counters.clutch;
    let megajoule = |classes: &[u64]| classes.iter().map(|uj| *uj as f64 * 1e-12).collect();
    let ends = |first: f32, factor: f32, count: usize| {
        let mut end = first;
        let mut names = Vec::new();
        for _ in 1..count {
            names.push(format!("to {end}"));
            end *= factor;
        }
        names.push("more".to_owned());
        names
    };
    let width_k = 4.0 * life.cycle_step_k;
    let cycles = lived.life.cycles.map(|cycles| cycles.halves);
    // What is beyond the last class that holds anything is not drawn.
    let used = (0..cycles.left.len())
        .filter(|class| cycles.left[*class] > 0 || cycles.right[*class] > 0)
        .max()
        .map_or(1, |class| class + 1);
    let whole = |halves: &[u32]| {
        halves[..used]
            .iter()
            .map(|halves| (0.5 * f64::from(*halves)).max(1.0).log10())
            .collect()
    };
    let mut text = format!("<section>\n<h2>{name}</h2>\n<div class=\"plots\">\n");
    text += &bars(
        &name,
        "heat by mean power of a second",
        "MJ",
        "W",
        &ends(life.power_class_w, 4.0, 6),
        &PerSide {
            left: megajoule(&clutch.left.by_power_uj),
            right: megajoule(&clutch.right.by_power_uj),
        },
    );
    text += &bars(
        &name,
        "heat by mean slip of a second",
        "MJ",
        "rad/s",
        &ends(life.slip_class_rad_s, 2.0, 6),
        &PerSide {
            left: megajoule(&clutch.left.by_slip_uj),
            right: megajoule(&clutch.right.by_slip_uj),
        },
    );
    let ranges: Vec<String> = (1..=used)
        .map(|class| format!("to {}", width_k * class as f32))
        .collect();
    text += &bars(
        &name,
        "cycles of the surface temperature by range, logarithm to 10",
        "-",
        "K",
        &ranges,
        &PerSide {
            left: whole(&cycles.left),
            right: whole(&cycles.right),
        },
    );
    text + "</div>\n</section>\n"
}

fn bars(
    mission: &str,
    words: &str,
    unit: &str,
    class_unit: &str,
    classes: &[String],
    values: &PerSide<Vec<f64>>,
) -> String {
    let most = values
        .left
        .iter()
        .chain(&values.right)
        .copied()
        .fold(0.0, f64::max);
    let scale = if most > 0.0 { (FOOT - TOP) / most } else { 0.0 };
    let mut text = format!(
        "<figure class=\"bode\">\n<figcaption>{words}, {mission}</figcaption>\n<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{words}: largest {most:.3} {unit}\">\n\
         <path class=\"grid\" d=\"M{LEFT} {FOOT}H{RIGHT}\"/><path class=\"grid\" d=\"M{LEFT} {TOP}H{RIGHT}\"/>\n\
         <text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{most:.3}</text><text x=\"{:.0}\" y=\"{FOOT}\" text-anchor=\"end\">0</text>\n\
         <text x=\"{LEFT}\" y=\"{:.0}\">[{unit}]</text>\n",
        LEFT - 6.0,
        TOP + 4.0,
        LEFT - 6.0,
        TOP - 10.0
    );
    let width = (RIGHT - LEFT) / classes.len().max(1) as f64;
    for (index, class) in classes.iter().enumerate() {
        let x = LEFT + width * index as f64;
        for (side, values) in [&values.left, &values.right].into_iter().enumerate() {
            let from = x + width * (0.12 + 0.38 * side as f64);
            let to = from + 0.36 * width;
            let y = FOOT - scale * values.get(index).copied().unwrap_or(0.0);
            let _ = writeln!(
                text,
                "<path class=\"curve speed-{side}\" d=\"M{from:.1} {FOOT}V{y:.1}H{to:.1}V{FOOT}\"/>"
            );
        }
        let _ = writeln!(
            text,
            "<text x=\"{:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
            x + 0.5 * width,
            FOOT + 16.0,
            escaped(class)
        );
    }
    let _ = writeln!(
        text,
        "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\">class [{class_unit}]</text>\n</svg>",
        0.5 * (LEFT + RIGHT),
        FOOT + 34.0
    );
    text += "<ul class=\"legend\" aria-label=\"Bars\">\n";
    for (side, name) in ["left clutch", "right clutch"].into_iter().enumerate() {
        let _ = writeln!(
            text,
            "<li><svg class=\"sample\" viewBox=\"0 0 40 10\" aria-hidden=\"true\"><path class=\"curve speed-{side}\" d=\"M0 5H40\"/></svg> {name}</li>"
        );
    }
    text + "</ul>\n</figure>\n"
}
