//! `summary.json`: rows and runs for other programs.
//!
//! Keys come in a fixed order, numbers in shortest round-trip form; a value that is missing or not a number is `null`.

use couplet_sim::campaign::{RANGES, Spread};
use couplet_sim::plant::AxleLayout;
use couplet_sim::prove::{LayoutTable, Row};
use couplet_sim::scenario::layout_name;
use serde_json::{Value, json};

use super::{CAUTIONS, Found, Labelled};

/// The summary as text, ending with a line break.
pub fn summary(found: &Found<'_>) -> String {
    let rows: Vec<Value> = found
        .rows
        .iter()
        .map(|row| {
            json!({
                "id": row.id,
                "question": row.question.words(),
                "requirement": row.requirement,
                "setting": row.setting,
                "unit": row.unit,
                "passive": row.passive,
                "coupling": row.coupling,
                "paired": row.paired,
                "target": row.target.map(|target| target.to_string()),
                "value": row.paired,
                "margin": row.margin(),
                "pass": row.pass(),
                "source": row.source,
            })
        })
        .collect();
    let runs: Vec<Value> = found.runs.iter().map(run).collect();
    let campaigns: Vec<Value> = found.spreads.iter().map(campaign).collect();
    let layouts: Vec<Value> = found.layouts.iter().map(comparison).collect();
    let whole = json!({
        "cautions": CAUTIONS, "rows": rows, "runs": runs, "campaigns": campaigns, "layouts": layouts,
    });
    format!("{whole:#}\n")
}

/// The rows as a list of objects with the keys other programs judge by.
pub fn short_rows(rows: &[Row]) -> String {
    let rows: Vec<Value> = rows
        .iter()
        .map(|row| {
            json!({
                "id": row.id,
                "value": row.paired,
                "target": row.target.map(|target| target.to_string()),
                "pass": row.pass(),
                "unit": row.unit,
            })
        })
        .collect();
    format!("{:#}\n", Value::from(rows))
}

fn comparison(table: &LayoutTable) -> Value {
    let rows: Vec<Value> = table
        .rows
        .iter()
        .map(|(name, unit, values)| json!({ "name": name, "unit": unit, "values": values }))
        .collect();
    json!({
        "name": table.name,
        "what": table.words,
        "axles": AxleLayout::ALL.map(layout_name),
        "ended": table.ended,
        "rows": rows,
    })
}

fn campaign(spread: &Spread) -> Value {
    let campaign = &spread.campaign;
    let metrics: Vec<Value> = campaign
        .judged
        .iter()
        .map(|judged| {
            json!({
                "name": judged.name,
                "unit": judged.unit,
                "p05": spread.percentile(judged.name, 5.0),
                "p50": spread.percentile(judged.name, 50.0),
                "p95": spread.percentile(judged.name, 95.0),
                "missing": spread.missing(judged.name),
                "values": spread.values(judged.name),
            })
        })
        .collect();
    let ranges: Vec<Value> = RANGES
        .iter()
        .map(|range| json!({ "name": range.name, "unit": range.unit, "low": range.low, "high": range.high }))
        .collect();
    json!({
        "name": campaign.scenario.name,
        "manoeuvre": campaign.scenario.manoeuvre.name(),
        "axle": layout_name(campaign.scenario.layout),
        "setting": campaign.setting,
        "seed": campaign.seed,
        "samples": spread.samples.len(),
        "ranges": ranges,
        "metrics": metrics,
    })
}

fn run(run: &Labelled<'_>) -> Value {
    let metrics: Vec<Value> = run
        .result
        .metrics
        .iter()
        .map(|metric| json!({ "name": metric.name, "unit": metric.unit, "value": metric.value }))
        .collect();
    json!({
        "name": run.label,
        "scenario": run.scenario.name,
        "manoeuvre": run.scenario.manoeuvre.name(),
        "axle": layout_name(run.scenario.layout),
        "setting": run.setting,
        "seed": run.scenario.seed,
        "mirrored": run.scenario.mirrored,
        "outcome": {
            "ended": run.result.outcome.ended.to_string(),
            "at_s": run.result.outcome.at_s,
            "by": run.result.outcome.by,
        },
        "metrics": metrics,
        "samples": run.result.record.len(),
        "period_s": run.result.record.period_s,
        "csv": run.csv_name(),
        "csv_every": super::csv::samples_per_row(&run.result.record),
    })
}
