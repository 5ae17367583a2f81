//! The runs of one group: what was driven, values of every run, map or path from above, plots with data tables.

use std::fmt::Write;

use couplet_sim::scenario::{Numbers, layout_name};

use super::curves::{Drawing, DrawnPlot, Group, MOST_RUNS, run_label};
use super::spans::{Axis, MOST_POINTS};
use super::{escaped, map, plan};
use crate::output::number::{optional, significant};

/// Most rows of a data table beside a plot.
const MOST_ROWS: usize = 30;

/// The group as a part of the page that can be folded; its plots are drawn when it is unfolded.
pub fn section(index: usize, group: &Group<'_>, drawing: &Drawing, open: bool) -> String {
    let title = escaped(&group.title.replace('-', " "));
    let (number, unfolded) = (group.runs.len(), if open { " open" } else { "" });
    let runs = if number == 1 { "run" } else { "runs" };
    let mut text = format!(
        "<details id=\"group-{index}\" class=\"group\"{unfolded}>\n<summary><h3>{title}</h3> <span>{number} {runs}</span></summary>\n"
    );
    let maps: Vec<String> = group
        .runs
        .iter()
        .filter_map(|run| map::map(index, group, run))
        .collect();
    text += &maps.concat();
    let _ = writeln!(
        text,
        "<p class=\"note\">{}</p>",
        escaped(&notes(group, drawing))
    );
    text += "<div class=\"plots\">\n";
    if !drawing.paths.is_empty() && maps.is_empty() {
        text += &plan::plan(&drawing.paths, &drawing.axis);
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
        text += &plot_table(plot, &drawing.axis);
        text += "</figure>\n";
    }
    text += "</div>\n";
    text += &metrics(group);
    text += &conditions(group);
    text + "</details>\n"
}

fn notes(group: &Group<'_>, drawing: &Drawing) -> String {
    let mut notes = Vec::new();
    if drawing.axis.thinned() {
        notes.push(format!(
            "Curves have at most {MOST_POINTS} points: the smallest and the largest sample of each interval."
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
    notes.join(" ")
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
        "<details><summary>Values of every run</summary>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Run metrics\">\n<table class=\"metrics\"><thead><tr>\
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
    text + "</tbody></table>\n</div></details>\n"
}

fn plot_table(plot: &DrawnPlot, axis: &Axis) -> String {
    let headings: Vec<String> = plot
        .curves
        .iter()
        .map(|curve| format!("{} [{}]", curve.label, plot.unit))
        .collect();
    data_table(plot.title, &headings, axis, |curve, point| {
        plot.curves
            .get(curve)
            .and_then(|drawn| drawn.values.get(point))
            .map(|value| f64::from(*value))
    })
}

/// A table of at most [`MOST_ROWS`] rows, evenly picked; the last point is always there. End tags that HTML lets one
/// leave out are left out: there are many cells.
pub fn data_table(
    title: &str,
    headings: &[String],
    axis: &Axis,
    value: impl Fn(usize, usize) -> Option<f64>,
) -> String {
    let mut text = format!(
        "<details class=\"data\"><summary>Data table: {}</summary>\n<div class=\"scroll\" tabindex=\"0\"><table>\
         <thead><tr><th scope=\"col\" class=\"number\">{}</th>",
        escaped(title),
        axis.label
    );
    for heading in headings {
        let _ = write!(
            text,
            "<th scope=\"col\" class=\"number\">{}</th>",
            escaped(heading)
        );
    }
    text += "</tr></thead><tbody>\n";
    let points = axis.at.len();
    let rows = points.min(MOST_ROWS);
    for row in 0..rows {
        let point = if rows > 1 {
            row * (points - 1) / (rows - 1)
        } else {
            0
        };
        let _ = write!(
            text,
            "<tr><td>{}",
            significant(axis.at.get(point).map_or(0.0, |t| f64::from(*t)), 4)
        );
        for column in 0..headings.len() {
            let _ = write!(text, "<td>{}", optional(value(column, point)));
        }
        text.push('\n');
    }
    text + "</tbody></table></div></details>\n"
}
