//! What is printed on the terminal: aligned tables, misses by name, cautions, where the report is.

use std::path::Path;

use couplet_sim::plant::AxleLayout;
use couplet_sim::prove::{LayoutTable, Question, Row};
use couplet_sim::scenario::layout_name;

use super::number::{margin, optional, target, verdict};
use super::{CAUTIONS, Labelled};

/// Column headings of the verdict table, on the terminal and in the report.
pub const VERDICT_COLUMNS: [&str; 10] = [
    "id",
    "requirement",
    "setting",
    "unit",
    "passive",
    "single coupling",
    "paired",
    "target",
    "margin",
    "verdict",
];

/// First column of [`VERDICT_COLUMNS`] that holds numbers and is set to the right, and the one after the last.
pub const NUMBER_COLUMNS: std::ops::Range<usize> = 4..9;

/// One row of the verdict table as text.
pub fn verdict_cells(row: &Row) -> [String; 10] {
    [
        row.id.clone(),
        row.requirement.clone(),
        row.setting.to_owned(),
        row.unit.to_owned(),
        optional(row.passive),
        optional(row.coupling),
        optional(row.paired),
        target(row.target),
        margin(row.margin()),
        verdict(row.pass()).to_owned(),
    ]
}

/// How many targets were met, missed, and not set.
pub fn tally(rows: &[Row]) -> String {
    let count = |wanted: Option<bool>| rows.iter().filter(|row| row.pass() == wanted).count();
    format!(
        "Targets: {}; met {}, missed {}; rows without target: {}",
        count(Some(true)) + count(Some(false)),
        count(Some(true)),
        count(Some(false)),
        count(None)
    )
}

/// The text after the demo programme.
pub fn programme(rows: &[Row], runs: usize, out: &Path) -> String {
    let mut text = questions(rows);
    text += &format!("Runs: {runs}. {}.\n", tally(rows));
    let missed: Vec<&Row> = rows
        .iter()
        .filter(|row| row.pass() == Some(false))
        .collect();
    if !missed.is_empty() {
        text += "Missed:\n";
        for row in missed {
            let reached = row
                .paired
                .map_or_else(|| "not reached".to_owned(), |_| optional(row.paired));
            let target = target(row.target);
            let unit = match row.unit {
                "-" => String::new(),
                unit => format!(" {unit}"),
            };
            text += &format!(
                "  {}: {} {reached}, target {target}{unit}\n",
                row.id, row.setting
            );
        }
    }
    text + &closing(out)
}

/// The rows, each question with its own; all tables have the same columns.
fn questions(rows: &[Row]) -> String {
    let mut cells = vec![VERDICT_COLUMNS.map(str::to_owned).to_vec()];
    cells.extend(rows.iter().map(|row| verdict_cells(row).to_vec()));
    let whole = aligned(&cells, NUMBER_COLUMNS);
    let lines: Vec<&str> = whole.lines().collect();
    let Some((head, lines)) = lines.split_at_checked(2) else {
        return whole;
    };
    let mut text = String::new();
    for question in Question::ALL {
        let own: Vec<(&Row, &&str)> = rows
            .iter()
            .zip(lines)
            .filter(|(row, _)| row.question == question)
            .collect();
        if own.is_empty() {
            continue;
        }
        text += &format!("{}\n\n{}\n", question.words(), head.join("\n"));
        for (_, line) in own {
            text += line;
            text.push('\n');
        }
        text.push('\n');
    }
    text
}

/// The text after single runs.
pub fn drive(runs: &[Labelled<'_>], out: &Path) -> String {
    let mut text = String::new();
    for run in runs {
        let outcome = &run.result.outcome;
        text += &format!(
            "{}: {} on axle `{}`, setting `{}`, seed {}\n{} at {} s, by {}\n\n",
            run.scenario.name,
            run.scenario.manoeuvre.name(),
            layout_name(run.scenario.layout),
            run.setting,
            run.scenario.seed,
            outcome.ended,
            super::number::significant(outcome.at_s, 4),
            outcome.by
        );
        let mut cells = vec![vec![
            "metric".to_owned(),
            "value".to_owned(),
            "unit".to_owned(),
        ]];
        for metric in &run.result.metrics {
            cells.push(vec![
                metric.name.to_owned(),
                optional(metric.value),
                metric.unit.to_owned(),
            ]);
        }
        text += &aligned(&cells, 1..2);
    }
    text + &closing(out)
}

/// The text after the comparison of the axles: one table per manoeuvre.
pub fn layouts(tables: &[LayoutTable], out: &Path) -> String {
    let mut text = String::new();
    for table in tables {
        text += &format!("{}\n\n", table.words);
        text += &aligned(&layout_cells(table), 1..1 + AxleLayout::ALL.len());
        text.push('\n');
    }
    text.trim_end().to_owned() + "\n" + &closing(out)
}

/// Cells of one comparison, heading first: name, a value per axle, unit.
pub fn layout_cells(table: &LayoutTable) -> Vec<Vec<String>> {
    let line = |name: &str, values: Vec<String>, unit: &str| {
        let mut line = vec![name.to_owned()];
        line.extend(values);
        line.push(unit.to_owned());
        line
    };
    let heads = AxleLayout::ALL.map(|layout| layout_name(layout).replace('-', " "));
    let mut cells = vec![
        line("", heads.to_vec(), "unit"),
        line("ended", table.ended.clone(), ""),
    ];
    for (name, unit, values) in &table.rows {
        let values = values.iter().map(|value| optional(*value)).collect();
        cells.push(line(name, values, unit));
    }
    cells
}

fn closing(out: &Path) -> String {
    let mut text = String::from("\n");
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text + &format!("Report: {}\n", out.join("report.html").display())
}

/// Columns side by side, two blanks apart; `numbers` are set to the right. A line under the first row.
pub fn aligned(rows: &[Vec<String>], numbers: std::ops::Range<usize>) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width_of = |column: usize| {
        rows.iter()
            .filter_map(|row| row.get(column))
            .map(|cell| cell.chars().count())
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width_of).collect();
    let mut text = String::new();
    for (index, row) in rows.iter().enumerate() {
        let mut line = String::new();
        for (column, (cell, width)) in row.iter().zip(&widths).enumerate() {
            let gap = " ".repeat(width - cell.chars().count());
            let (before, after) = if numbers.contains(&column) {
                (gap.as_str(), "")
            } else {
                ("", gap.as_str())
            };
            line += &format!("{before}{cell}{after}  ");
        }
        text += line.trim_end();
        text.push('\n');
        if index == 0 {
            let total = widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1);
            text += &"-".repeat(total);
            text.push('\n');
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::aligned;

    #[test]
    fn columns_line_up_and_numbers_are_set_to_the_right() {
        let rows = [["a", "value"], ["long", "1.5"], ["µ", "-22"]]
            .map(|row| row.map(str::to_owned).to_vec());
        assert_eq!(
            aligned(&rows, 1..2),
            "a     value\n-----------\nlong    1.5\nµ       -22\n"
        );
    }
}
