//! The comparison of the five axles: one table per manoeuvre, the smallest and the largest value of each row marked.

use std::fmt::Write;

use couplet_sim::prove::LayoutTable;

use super::escaped;
use crate::output::text::layout_cells;

/// Heading of the section.
pub const HEADING: &str = "Five axles, the same road, the same driver";

/// The section, empty without a comparison.
pub fn section(tables: &[LayoutTable]) -> String {
    if tables.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "<section id=\"axles\">\n<h2>{HEADING}</h2>\n<p>\u{25bc} marks the smallest and \u{25b2} the largest value of a row; whether more is \
         better is for the reader. Steering effort is the way of the steering wheel. Runs that did not end as planned are not \
         comparable in energy. The axles were not tuned with equal effort; the book tells how.</p>\n"
    );
    for table in tables {
        let _ = writeln!(
            text,
            "<h3>{}</h3>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{0}\">\n<table class=\"axles\">",
            escaped(table.words)
        );
        for (line, cells) in layout_cells(table).iter().enumerate() {
            let values = line.checked_sub(2).and_then(|row| table.rows.get(row));
            text += if line == 0 { "<thead><tr>" } else { "<tr>" };
            for (column, cell) in cells.iter().enumerate() {
                let mark = values
                    .and_then(|(_, _, values)| mark(values, column.checked_sub(1)?))
                    .unwrap_or("");
                let number = column > 0 && column + 1 < cells.len();
                let class = if number { " class=\"number\"" } else { "" };
                let cell = escaped(cell);
                let _ = match (line, column) {
                    (0, _) => write!(text, "<th scope=\"col\"{class}>{cell}</th>"),
                    (_, 0) => write!(text, "<th scope=\"row\">{cell}</th>"),
                    _ => write!(text, "<td{class}>{mark}{cell}</td>"),
                };
            }
            text += if line == 0 {
                "</tr></thead><tbody>\n"
            } else {
                "</tr>\n"
            };
        }
        text += "</tbody></table>\n</div>\n";
    }
    text + "</section>\n"
}

/// A mark for the smallest and the largest value, if they differ by more than a hundredth.
fn mark(values: &[Option<f64>], column: usize) -> Option<&'static str> {
    let own = (*values.get(column)?)?;
    let all = || values.iter().flatten().copied();
    let (low, high) = (
        all().fold(f64::INFINITY, f64::min),
        all().fold(f64::NEG_INFINITY, f64::max),
    );
    if high - low <= 0.01 * high.abs().max(low.abs()) {
        None
    } else if own == low {
        Some("\u{25bc} ")
    } else if own == high {
        Some("\u{25b2} ")
    } else {
        None
    }
}
