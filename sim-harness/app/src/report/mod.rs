//! The report: one HTML file that needs no network, no fonts and no other file.
//!
//! Input: rows and runs. Output: the page as text. It is read by questions: does the car turn, pull, stay stable, stay cool;
//! then what limited it and why, with the map of the pass. Plots are drawn in the reader's browser by the embedded uPlot
//! 1.6.32 (MIT licence, in `assets/`); every plot has a data table beside it. The content security policy forbids any
//! request.

mod axles;
pub mod bode;
mod curves;
pub mod faults;
mod heat;
mod limits;
mod map;

pub mod mission;
mod plan;
mod plots;
mod profile;
pub mod reach;
mod section;
mod spans;
mod spread;
mod stretches;
mod words;

use std::fmt::Write;

use couplet_sim::prove::{Question, Row};
use serde_json::json;

use crate::output::text::tally;
use crate::output::{CAUTIONS, Found};
use curves::{Drawing, Group, drawing, groups};

const PLOT_LIBRARY: &str = include_str!("../../assets/uPlot.iife.min.js");
const PLOT_STYLE: &str = include_str!("../../assets/uPlot.min.css");
const PLOT_LICENCE: &str = include_str!("../../assets/uPlot-LICENSE.txt");
const STYLE: &str = include_str!("../../assets/report.css");
const SCRIPT: &str = include_str!("../../assets/report.js");

/// One chapter of the page: a question, its requirements, the groups of runs that answer it.
struct Chapter {
    anchor: &'static str,
    heading: &'static str,
    question: Option<Question>,
    groups: Vec<usize>,
}

/// The page.
pub fn report(found: &Found<'_>) -> String {
    let (rows, runs, spreads) = (found.rows, found.runs, found.spreads);
    let groups = groups(runs);
    let drawings: Vec<Drawing> = groups.iter().map(drawing).collect();
    let chapters = chapters(rows, &groups);
    let mut page = head("Couplet proof report");
    page += "<body>\n<a class=\"skip\" href=\"#content\">Skip to content</a>\n<header>\n<h1>Couplet proof report</h1>\n";
    page += "<ul class=\"cautions\" aria-label=\"Cautions\">\n";
    for caution in CAUTIONS {
        let _ = writeln!(page, "<li>{}</li>", escaped(caution));
    }
    page += "</ul>\n";
    if !rows.is_empty() {
        let _ = writeln!(page, "<p>{}.</p>", escaped(&tally(rows)));
    }
    page += "<nav aria-label=\"Contents\"><ul>\n";
    if !found.layouts.is_empty() {
        let _ = writeln!(page, "<li><a href=\"#axles\">{}</a></li>", axles::HEADING);
    }
    for chapter in &chapters {
        let (anchor, heading) = (chapter.anchor, chapter.heading);
        let _ = writeln!(page, "<li><a href=\"#{anchor}\">{heading}</a></li>");
    }
    let heat = heat::section(runs);
    if !heat.is_empty() {
        let _ = writeln!(page, "<li><a href=\"#heat\">{}</a></li>", heat::HEADING);
    }
    if !spreads.is_empty() {
        page += "<li><a href=\"#spread\">Spread over plant parameters</a></li>\n";
    }
    page += "</ul></nav>\n</header>\n<main id=\"content\">\n";
    page += &axles::section(found.layouts);
    for chapter in &chapters {
        let (anchor, heading) = (chapter.anchor, chapter.heading);
        let _ = writeln!(page, "<section id=\"{anchor}\">\n<h2>{heading}</h2>");
        if let Some(question) = chapter.question {
            page += &words::rows(rows, question);
        }
        if chapter.groups.len() > 1 {
            page += "<p><button type=\"button\" class=\"unfold\" hidden>Unfold or fold all runs of this question</button></p>\n";
        }
        for (position, index) in chapter.groups.iter().enumerate() {
            let (group, drawing) = (&groups[*index], &drawings[*index]);
            page += &section::section(*index, group, drawing, position == 0);
        }
        if chapter.question.is_none() {
            page += &limits::limits(runs);
        }
        page += "</section>\n";
    }
    page += &heat;
    page += &spread::section(spreads);
    page += "</main>\n<footer>\n<p>Signs after ISO 8855: x forward, y left, yaw positive to the left.</p>\n";
    let _ = write!(
        page,
        "<details><summary>Licence of the embedded plot library</summary><pre>uPlot 1.6.32\n{}</pre></details>\n</footer>\n",
        escaped(PLOT_LICENCE)
    );
    let _ = writeln!(
        page,
        "<script type=\"application/json\" id=\"data\">{}</script>",
        data(&drawings)
    );
    let _ = write!(
        page,
        "<script>{PLOT_LIBRARY}</script>\n<script>{SCRIPT}</script>\n</body>\n</html>\n"
    );
    page
}

/// The chapters that have anything to show. The pass stands in the last one: its map shows what limited the axle.
fn chapters(rows: &[Row], groups: &[Group<'_>]) -> Vec<Chapter> {
    let home = |group: &Group<'_>| group.question().filter(|_| !group.over_pass());
    let of = |question: Option<Question>| -> Vec<usize> {
        let indices = groups.iter().enumerate();
        indices
            .filter(|(_, group)| home(group) == question)
            .map(|(index, _)| index)
            .collect()
    };
    let anchor = |question| match question {
        Question::Turn => "turn",
        Question::Pull => "pull",
        Question::Stable => "stable",
        Question::Cool => "cool",
    };
    let mut chapters: Vec<Chapter> = Question::ALL
        .into_iter()
        .map(|question| Chapter {
            anchor: anchor(question),
            heading: question.words(),
            question: Some(question),
            groups: of(Some(question)),
        })
        .filter(|chapter| {
            !chapter.groups.is_empty()
                || rows
                    .iter()
                    .any(|row| Some(row.question) == chapter.question)
        })
        .collect();
    chapters.push(Chapter {
        anchor: "limits",
        heading: "What limited it, and why?",
        question: None,
        groups: of(None),
    });
    chapters
}

fn head(title: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{title}</title>\n<style>{PLOT_STYLE}</style>\n<style>{STYLE}</style>\n</head>\n"
    )
}

fn data(drawings: &[Drawing]) -> String {
    let groups: Vec<_> = drawings
        .iter()
        .map(|drawing| {
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
            json!({ "axis": drawing.axis.label, "at": drawn_numbers(&drawing.axis.at), "plots": plots })
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
