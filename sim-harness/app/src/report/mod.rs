//! The report: one HTML file that needs no network, no fonts and no other file.
//!
//! Input: rows and runs. Output: the page as text. Plots are drawn in the reader's browser by the embedded uPlot 1.6.32
//! (MIT licence, in `assets/`); every plot has a data table beside it. The content security policy forbids any request.

mod curves;
mod plan;
mod plots;
mod spread;

use std::fmt::Write;

use couplet_sim::campaign::Spread;
use couplet_sim::prove::Row;
use couplet_sim::scenario::{Numbers, layout_name};
use serde_json::json;

use crate::output::number::{optional, significant};
use crate::output::text::{NUMBER_COLUMNS, VERDICT_COLUMNS, tally, verdict_cells};
use crate::output::{CAUTIONS, Labelled};
use curves::{Drawing, DrawnPlot, Group, MOST_POINTS, MOST_RUNS, drawing, groups, run_label};

/// Most rows of a data table beside a plot.
const MOST_ROWS: usize = 30;

const PLOT_LIBRARY: &str = include_str!("../../assets/uPlot.iife.min.js");
const PLOT_STYLE: &str = include_str!("../../assets/uPlot.min.css");
const PLOT_LICENCE: &str = include_str!("../../assets/uPlot-LICENSE.txt");
const STYLE: &str = include_str!("../../assets/report.css");
const SCRIPT: &str = include_str!("../../assets/report.js");

/// The page.
pub fn report(rows: &[Row], runs: &[Labelled<'_>], spreads: &[Spread]) -> String {
    let groups = groups(runs);
    let drawings: Vec<Drawing> = groups.iter().map(drawing).collect();
    let mut page = head();
    page += "<body>\n<a class=\"skip\" href=\"#content\">Skip to content</a>\n<header>\n<h1>Couplet proof report</h1>\n";
    page += "<ul class=\"cautions\" aria-label=\"Cautions\">\n";
    for caution in CAUTIONS {
        let _ = writeln!(page, "<li>{}</li>", escaped(caution));
    }
    page += "</ul>\n";
    page += &contents(rows, &groups, spreads);
    page += "</header>\n<main id=\"content\">\n";
    if !rows.is_empty() {
        page += &verdicts(rows);
    }
    page += &spread::section(spreads);
    for (index, (group, drawing)) in groups.iter().zip(&drawings).enumerate() {
        page += &section(index, group, drawing);
    }
    page += "</main>\n<footer>\n<p>Signs after ISO 8855: x forward, y left, yaw positive to the left.</p>\n";
    let _ = write!(
        page,
        "<details><summary>Licence of the embedded plot library</summary><pre>uPlot 1.6.32\n{}</pre></details>\n</footer>\n",
        escaped(PLOT_LICENCE)
    );
    let _ = writeln!(
        page,
        "<script type=\"application/json\" id=\"data\">{}</script>",
        data(&groups, &drawings)
    );
    let _ = write!(
        page,
        "<script>{PLOT_LIBRARY}</script>\n<script>{SCRIPT}</script>\n</body>\n</html>\n"
    );
    page
}

fn head() -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>Couplet proof report</title>\n<style>{PLOT_STYLE}</style>\n<style>{STYLE}</style>\n</head>\n"
    )
}

fn contents(rows: &[Row], groups: &[Group<'_>], spreads: &[Spread]) -> String {
    let mut text = String::from("<nav aria-label=\"Contents\"><ul>\n");
    if !rows.is_empty() {
        text += "<li><a href=\"#requirements\">Requirements</a></li>\n";
    }
    if !spreads.is_empty() {
        text += "<li><a href=\"#spread\">Spread over plant parameters</a></li>\n";
    }
    for (index, group) in groups.iter().enumerate() {
        let _ = writeln!(
            text,
            "<li><a href=\"#group-{index}\">{}</a></li>",
            escaped(&group.title)
        );
    }
    text + "</ul></nav>\n"
}

fn verdicts(rows: &[Row]) -> String {
    let mut text = format!(
        "<section id=\"requirements\">\n<h2>Requirements</h2>\n<p>{}. Passive: front drive only. Single coupling: one \
         coupling before an open rear differential. A dash: not reached, or nothing asked. Margin: distance to the \
         target, positive when met.</p>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" \
         aria-label=\"Requirements\">\n<table class=\"verdicts\">\n<thead><tr>",
        escaped(&tally(rows))
    );
    for (column, heading) in VERDICT_COLUMNS.iter().enumerate() {
        let class = if NUMBER_COLUMNS.contains(&column) {
            " class=\"number\""
        } else {
            ""
        };
        let _ = write!(text, "<th scope=\"col\"{class}>{heading}</th>");
    }
    text += "<th scope=\"col\">source</th></tr></thead>\n<tbody>\n";
    for row in rows {
        let class = match row.pass() {
            Some(true) => "met",
            Some(false) => "missed",
            None => "open",
        };
        let _ = write!(text, "<tr class=\"{class}\">");
        let cells = verdict_cells(row);
        let last = cells.len() - 1;
        for (column, cell) in cells.iter().enumerate() {
            let cell = escaped(cell);
            let _ = match column {
                0 => write!(text, "<th scope=\"row\">{cell}</th>"),
                _ if column == last => write!(
                    text,
                    "<td class=\"verdict\">{}{cell}</td>",
                    mark(row.pass())
                ),
                _ if NUMBER_COLUMNS.contains(&column) => {
                    write!(text, "<td class=\"number\">{cell}</td>")
                }
                _ => write!(text, "<td>{cell}</td>"),
            };
        }
        let _ = writeln!(text, "<td>{}</td></tr>", escaped(row.source));
    }
    text + "</tbody>\n</table>\n</div>\n</section>\n"
}

/// A sign beside the word, so that neither colour nor reading alone carries the verdict.
fn mark(pass: Option<bool>) -> &'static str {
    match pass {
        Some(true) => "<span aria-hidden=\"true\">\u{25cf} </span>",
        Some(false) => "<span aria-hidden=\"true\">\u{25b2} </span>",
        None => "",
    }
}

fn section(index: usize, group: &Group<'_>, drawing: &Drawing) -> String {
    let title = escaped(&group.title);
    let mut text = format!("<section id=\"group-{index}\" class=\"group\">\n<h2>{title}</h2>\n");
    text += &conditions(group);
    text += &metrics(group);
    let mut notes = Vec::new();
    if drawing.thinned {
        notes.push(format!(
            "Curves longer than {MOST_POINTS} samples show the smallest and the largest sample of each interval; the CSV files hold every sample."
        ));
    }
    if group.runs.len() > MOST_RUNS {
        notes.push(format!(
            "Plots show the first {MOST_RUNS} of {} runs.",
            group.runs.len()
        ));
    }
    notes.push(
        "Cursor and zoom are shared by the plots of this group: drag to zoom, double-click to see all; with the keyboard \
         arrows move the cursor, + and - zoom, 0 shows all."
            .to_owned(),
    );
    let _ = writeln!(text, "<p class=\"note\">{}</p>", escaped(&notes.join(" ")));
    text += "<div class=\"plots\">\n";
    if !drawing.paths.is_empty() {
        text += &plan::plan(&drawing.paths, &drawing.time_s, MOST_ROWS);
    }
    for (position, plot) in drawing.plots.iter().enumerate() {
        let heading = format!("{} [{}]", plot.title, plot.unit);
        let _ = write!(
            text,
            "<figure><figcaption>{}</figcaption>\n<div class=\"plot\" data-group=\"{index}\" data-plot=\"{position}\" \
             tabindex=\"0\" role=\"application\" aria-label=\"Plot: {}, {}; data table below\"></div>\n",
            escaped(&heading),
            escaped(&heading),
            title
        );
        text += &plot_table(plot, &drawing.time_s);
        text += "</figure>\n";
    }
    text + "</div>\n</section>\n"
}

fn conditions(group: &Group<'_>) -> String {
    let Some(run) = group.runs.first() else {
        return String::new();
    };
    let scenario = run.scenario;
    let mirrored = if scenario.mirrored {
        ", left and right exchanged"
    } else {
        ""
    };
    let mut text = format!(
        "<details><summary>Conditions: {}{mirrored}</summary>\n<table><thead><tr><th scope=\"col\">number</th>\
         <th scope=\"col\" class=\"number\">value</th><th scope=\"col\">unit</th><th scope=\"col\">meaning</th></tr></thead><tbody>\n",
        scenario.manoeuvre.name()
    );
    for field in Numbers::FIELDS {
        let _ = writeln!(
            text,
            "<tr><th scope=\"row\">{}.{}</th><td class=\"number\">{}</td><td>{}</td><td>{}</td></tr>",
            field.group,
            field.key,
            significant((field.read)(&scenario.numbers), 4),
            escaped(field.unit),
            escaped(field.meaning.trim())
        );
    }
    text + "</tbody></table></details>\n"
}

fn metrics(group: &Group<'_>) -> String {
    let mut names: Vec<(&str, &str)> = Vec::new();
    for metric in group.runs.iter().flat_map(|run| &run.result.metrics) {
        if !names.contains(&(metric.name, metric.unit)) {
            names.push((metric.name, metric.unit));
        }
    }
    let mut text = String::from(
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Run metrics\">\n<table class=\"metrics\"><thead><tr>\
         <th scope=\"col\">run</th>",
    );
    for run in &group.runs {
        let _ = write!(
            text,
            "<th scope=\"col\" class=\"number\">{}</th>",
            escaped(&run_label(group, run))
        );
    }
    text += "<th scope=\"col\">unit</th></tr></thead><tbody>\n<tr><th scope=\"row\">ended</th>";
    for run in &group.runs {
        let outcome = &run.result.outcome;
        let _ = write!(
            text,
            "<td class=\"number\">{} at {} s, by {}</td>",
            escaped(&outcome.ended.to_string()),
            significant(outcome.at_s, 4),
            escaped(outcome.by)
        );
    }
    text += "<td></td></tr>\n<tr><th scope=\"row\">axle, setting, seed</th>";
    for run in &group.runs {
        let scenario = run.scenario;
        let _ = write!(
            text,
            "<td class=\"number\">{}, {}, {}</td>",
            layout_name(scenario.layout),
            escaped(run.setting),
            scenario.seed
        );
    }
    text += "<td></td></tr>\n";
    for (name, unit) in names {
        let _ = write!(text, "<tr><th scope=\"row\">{}</th>", escaped(name));
        for run in &group.runs {
            let found = run
                .result
                .metrics
                .iter()
                .find(|metric| metric.name == name && metric.unit == unit);
            let _ = write!(
                text,
                "<td class=\"number\">{}</td>",
                optional(found.and_then(|metric| metric.value))
            );
        }
        let _ = writeln!(text, "<td>{}</td></tr>", escaped(unit));
    }
    text + "</tbody></table>\n</div>\n"
}

fn plot_table(plot: &DrawnPlot, time_s: &[f32]) -> String {
    let headings: Vec<String> = plot
        .curves
        .iter()
        .map(|curve| format!("{} [{}]", curve.label, plot.unit))
        .collect();
    data_table(plot.title, &headings, time_s, MOST_ROWS, |curve, point| {
        plot.curves
            .get(curve)
            .and_then(|drawn| drawn.values.get(point))
            .map(|value| f64::from(*value))
    })
}

/// A table of at most `most` rows, evenly picked; the last point is always there.
fn data_table(
    title: &str,
    headings: &[String],
    time_s: &[f32],
    most: usize,
    value: impl Fn(usize, usize) -> Option<f64>,
) -> String {
    let mut text = format!(
        "<details class=\"data\"><summary>Data table: {}</summary>\n<div class=\"scroll\" tabindex=\"0\"><table>\
         <thead><tr><th scope=\"col\" class=\"number\">time [s]</th>",
        escaped(title)
    );
    for heading in headings {
        let _ = write!(
            text,
            "<th scope=\"col\" class=\"number\">{}</th>",
            escaped(heading)
        );
    }
    text += "</tr></thead><tbody>\n";
    let points = time_s.len();
    let rows = points.min(most);
    for row in 0..rows {
        let point = if rows > 1 {
            row * (points - 1) / (rows - 1)
        } else {
            0
        };
        let _ = write!(
            text,
            "<tr><td>{}</td>",
            significant(time_s.get(point).map_or(0.0, |t| f64::from(*t)), 4)
        );
        for column in 0..headings.len() {
            let _ = write!(text, "<td>{}</td>", optional(value(column, point)));
        }
        text += "</tr>\n";
    }
    text + "</tbody></table></div></details>\n"
}

fn data(groups: &[Group<'_>], drawings: &[Drawing]) -> String {
    let groups: Vec<_> = groups
        .iter()
        .zip(drawings)
        .map(|(group, drawing)| {
            let plots: Vec<_> = drawing
                .plots
                .iter()
                .map(|plot| {
                    let curves: Vec<_> = plot
                        .curves
                        .iter()
                        .map(|curve| {
                            json!({
                                "label": curve.label,
                                "run": curve.colour,
                                "dash": curve.line.dash(),
                                "values": drawn_numbers(&curve.values),
                            })
                        })
                        .collect();
                    json!({ "title": plot.title, "unit": plot.unit, "curves": curves })
                })
                .collect();
            json!({ "title": group.title, "time": drawn_numbers(&drawing.time_s), "plots": plots })
        })
        .collect();
    // A data block must not be able to end its own element.
    json!({ "groups": groups })
        .to_string()
        .replace("</", "<\\/")
}

/// Five significant digits: finer than any screen, a third of the size of the full number.
fn drawn_numbers(values: &[f32]) -> Vec<Option<f64>> {
    values
        .iter()
        .map(|value| {
            if value.is_finite() {
                format!("{value:.4e}").parse().ok()
            } else {
                None
            }
        })
        .collect()
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
