//! JSON schemas (draft 2020-12) of the input files, made from the tables the reader uses.
//!
//! A TOML file read as JSON fits its schema exactly if the reader accepts every single key and number of it; contradictions
//! between keys are beyond a schema and stay with the reader. An editor that knows schemas shows units, ranges and reasons.

use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::{ENTRIES, RawPage};
use couplet_sim::mission::Mission;
use couplet_sim::plant::Vehicle;
use couplet_sim::scenario::{Manoeuvre, Numbers, Scenario};
use serde_json::{Map, Value, json};

use super::described::Described;
use super::{LONGEST_NAME, axle_names, faults};
use crate::command_line::Kind;

/// The schema of that kind of file.
pub fn schema(kind: Kind, manoeuvre: Manoeuvre) -> Value {
    let (title, mut tables) = match kind {
        Kind::Vehicle => ("vehicle file", tables(Vehicle::FIELDS, &Vehicle::default())),
        Kind::Mission => ("mission file", tables(Mission::FIELDS, &Mission::default())),
        Kind::Setting => ("setting file", {
            let mut tables = tables(ENTRIES, &RawPage::default().tunables);
            let said = "Layout of the calibration table the file is written for.";
            tables.insert(
                "layout".into(),
                json!({ "type": "integer", "const": LAYOUT, "description": said }),
            );
            tables
        }),
        Kind::Scenario => ("scenario file", {
            let mut tables = tables(Numbers::FIELDS, &Scenario::of(manoeuvre).numbers);
            tables.insert("scenario".into(), scenario_table());
            tables.insert(faults::LIST.into(), faults::schema());
            tables
        }),
    };
    let required: &[&str] = if kind == Kind::Scenario {
        &["scenario"]
    } else {
        &[]
    };
    tables.sort_keys();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "description": "Keys left out take their defaults. Not for road use without a functional-safety process.",
        "type": "object",
        "properties": tables,
        "required": required,
        "additionalProperties": false,
    })
}

fn scenario_table() -> Value {
    json!({
        "type": "object",
        "properties": {
            "name": {
                "type": "string",
                "pattern": format!("^[A-Za-z0-9_-]{{1,{LONGEST_NAME}}}$"),
                "description": "Name of the run, part of file names.",
            },
            "manoeuvre": { "enum": Manoeuvre::ALL.map(Manoeuvre::name), "description": "What is driven." },
            "axle": { "enum": axle_names(), "description": "Axle of the car." },
            "seed": { "type": "integer", "minimum": 0, "maximum": u64::MAX, "description": "Seed of the sensor noise." },
            "mirrored": { "type": "boolean", "description": "Whether left and right are exchanged." },
        },
        "required": ["name", "manoeuvre"],
        "additionalProperties": false,
    })
}

fn tables<D: Described>(fields: &'static [D], whole: &D::Whole) -> Map<String, Value> {
    let mut tables: Map<String, Value> = Map::new();
    for field in fields {
        let table = tables.entry(field.group()).or_insert_with(
            || json!({ "type": "object", "properties": {}, "additionalProperties": false }),
        );
        let (low, high) = field.bounds();
        table["properties"][field.key()] = json!({
            "type": "number",
            "minimum": number(&low),
            "maximum": number(&high),
            "default": number(&field.written(whole)),
            "description": format!("{} Unit: {}.", field.meaning(), field.unit()),
        });
    }
    tables
}

/// A number as it is written in a file, so that 0.1 in single precision stays 0.1.
fn number(text: &str) -> Value {
    text.parse::<f64>()
        .map_or(Value::Null, |value| json!(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{Source, demo, template};

    fn fits(kind: Kind, text: &str) -> bool {
        // The judge is a general-purpose validator of the JSON Schema standard, not this project's reader.
        let mut schemas = boon::Schemas::new();
        let mut compiler = boon::Compiler::new();
        compiler
            .add_resource("urn:kind", schema(kind, Manoeuvre::SplitLaunch))
            .expect("a resource");
        let index = compiler
            .compile("urn:kind", &mut schemas)
            .expect("a schema of the standard");
        let table: toml::Table = toml::from_str(text).expect("TOML");
        let value = serde_json::to_value(table).expect("JSON");
        schemas.validate(&value, index).is_ok()
    }

    #[test]
    fn every_demo_file_and_template_fits_its_schema() {
        for kind in [Kind::Vehicle, Kind::Scenario, Kind::Setting, Kind::Mission] {
            for name in demo::names(kind) {
                let source = Source::embedded(kind, name).expect("embedded");
                assert!(fits(kind, &source.text), "{}", source.file);
            }
            assert!(fits(kind, &template(kind, Manoeuvre::PowerOnExit)));
        }
    }

    #[test]
    fn schema_and_reader_agree_on_every_bound_of_a_setting_and_a_vehicle() {
        let reader_accepts = |kind: Kind, text: &str| {
            let source = Source {
                file: "file".into(),
                name: "file".into(),
                text: text.into(),
            };
            let refused = match kind {
                Kind::Setting => source.setting().err(),
                Kind::Mission => source.mission().err(),
                _ => source.vehicle().err(),
            };
            // Contradictions between keys are beyond a schema.
            refused.is_none_or(|all| all.iter().all(|one| one.what.starts_with("contradiction")))
        };
        let mut cases = Vec::new();
        for entry in ENTRIES {
            let (low, high) = (f64::from(entry.low), f64::from(entry.high));
            cases.push((
                Kind::Setting,
                entry.group,
                entry.name,
                entry.bounds(),
                high - low,
            ));
        }
        for field in Vehicle::FIELDS {
            let width = field.high - field.low;
            cases.push((Kind::Vehicle, field.group, field.key, field.bounds(), width));
        }
        for field in Mission::FIELDS {
            let width = field.high - field.low;
            cases.push((Kind::Mission, field.group, field.key, field.bounds(), width));
        }
        for (kind, group, key, (low, high), width) in cases {
            let beyond = 0.01 * width;
            let low: f64 = low.parse().expect("a number");
            let high: f64 = high.parse().expect("a number");
            for (value, wanted) in [
                (low, true),
                (high, true),
                (low - beyond, false),
                (high + beyond, false),
            ] {
                let text = format!("[{group}]\n{key} = {value:?}\n");
                assert_eq!(fits(kind, &text), wanted, "{text}");
                assert_eq!(reader_accepts(kind, &text), wanted, "{text}");
            }
        }
    }

    #[test]
    fn a_wrong_key_type_table_manoeuvre_or_layout_does_not_fit() {
        for (kind, text) in [
            (Kind::Setting, "[setting]\nagilty = 0.5\n"),
            (Kind::Setting, "[setting]\nagility = \"much\"\n"),
            (Kind::Setting, "layout = 1\n"),
            (Kind::Vehicle, "[wheels]\nnumber = 4\n"),
            (
                Kind::Scenario,
                "[scenario]\nname = \"a\"\nmanoeuvre = \"fly\"\n",
            ),
            (
                Kind::Scenario,
                "[scenario]\nname = \"a b\"\nmanoeuvre = \"cruise\"\n",
            ),
            (Kind::Scenario, "[driver]\n"),
            (
                Kind::Scenario,
                "[scenario]\nname = \"a\"\nmanoeuvre = \"cruise\"\n[[faults]]\nat = \"yaw_rate\"\nkind = \"swap\"\n",
            ),
            (
                Kind::Scenario,
                "[scenario]\nname = \"a\"\nmanoeuvre = \"cruise\"\n[[faults]]\nat = \"yaw_rate\"\nkind = \"delay\"\nsize = 9\n",
            ),
        ] {
            assert!(!fits(kind, text), "{text}");
        }
    }
}
