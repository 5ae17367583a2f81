//! The model description of a unit after FMI 2.0 or 3.0, made from its variables.
//!
//! Source: Functional Mock-up Interface 2.0.4 and 3.0.1, chapters "FMI for Co-Simulation" and "Description Schema" (structure from
//! memory, held against the schema files that PyPI `fmpy` brings). Units are written as products of SI base units with a factor.

use super::{Causality, Model, Variable, variables};
use crate::run::PERIOD_S;
use std::collections::BTreeSet;
use std::fmt::Write;

/// Edition of the standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edition {
    /// 2.0.
    Two,
    /// 3.0.
    Three,
}

impl Edition {
    /// Folder of the shared library within a unit, for this machine's kind.
    pub fn folder(self) -> &'static str {
        match self {
            Self::Two => "binaries/linux64",
            Self::Three => "binaries/x86_64-linux",
        }
    }
}

/// Value reference of the time, which FMI 3.0 wants as a variable.
pub const TIME_REFERENCE: u32 = 1_000_000;

/// What stands in every description.
const CAUTION: &str = "Reference implementation with invented numbers: not certified, not for road use without a functional-safety process";

/// The description; `started` holds start values other than the variables' own, by number.
pub fn model_description(model: Model, edition: Edition, started: &[(usize, f64)]) -> String {
    let all = variables(model);
    let start_of = |index: usize| {
        let other = started.iter().find(|(place, _)| *place == index);
        other.map_or(all[index].start, |(_, value)| *value)
    };
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let mut line = |words: String| {
        text.push_str(&words);
        text.push('\n');
    };
    let (version, token, state) = match edition {
        Edition::Two => ("2.0", "guid", "canGetAndSetFMUstate"),
        Edition::Three => ("3.0", "instantiationToken", "canGetAndSetFMUState"),
    };
    line(format!(
        "<fmiModelDescription fmiVersion=\"{version}\" modelName=\"{}\" {token}=\"{}\" description=\"{}. {CAUTION}.\" version=\"{}\" generationTool=\"Couplet {}\" variableNamingConvention=\"structured\">",
        model.identifier(),
        model.token(),
        model.meaning(),
        env!("CARGO_PKG_VERSION"),
        env!("CARGO_PKG_VERSION"),
    ));
    let fixed = match edition {
        Edition::Two => String::new(),
        Edition::Three => format!(" fixedInternalStepSize=\"{PERIOD_S}\""),
    };
    line(format!(
        "  <CoSimulation modelIdentifier=\"{}\" canHandleVariableCommunicationStepSize=\"true\" {state}=\"true\"{fixed}/>",
        model.identifier()
    ));
    line("  <UnitDefinitions>".into());
    let units: BTreeSet<&str> = all
        .iter()
        .map(|one| one.unit)
        .chain(["s"])
        .filter(|unit| *unit != "-")
        .collect();
    for unit in units {
        line(unit_definition(unit));
    }
    line("  </UnitDefinitions>".into());
    line("  <LogCategories>\n    <Category name=\"refusal\" description=\"What was refused and why\"/>\n  </LogCategories>".into());
    line(format!(
        "  <DefaultExperiment startTime=\"0\" stopTime=\"10\" stepSize=\"{PERIOD_S}\"/>"
    ));
    line("  <ModelVariables>".into());
    for (index, variable) in all.iter().enumerate() {
        line(declared(index, variable, start_of(index), edition));
    }
    if edition == Edition::Three {
        line(format!(
            "    <Float64 name=\"time\" valueReference=\"{TIME_REFERENCE}\" causality=\"independent\" variability=\"continuous\" unit=\"s\" description=\"Time\"/>"
        ));
    }
    line("  </ModelVariables>".into());
    line("  <ModelStructure>".into());
    let outputs = || {
        all.iter()
            .enumerate()
            .filter(|(_, one)| one.causality == Causality::Output)
    };
    match edition {
        Edition::Two => {
            for list in ["Outputs", "InitialUnknowns"] {
                line(format!("    <{list}>"));
                for (index, _) in outputs() {
                    line(format!("      <Unknown index=\"{}\"/>", index + 1));
                }
                line(format!("    </{list}>"));
            }
        }
        Edition::Three => {
            for element in ["Output", "InitialUnknown"] {
                for (index, _) in outputs() {
                    line(format!("    <{element} valueReference=\"{index}\"/>"));
                }
            }
        }
    }
    line("  </ModelStructure>\n</fmiModelDescription>".into());
    text
}

fn declared(index: usize, variable: &Variable, start: f64, edition: Edition) -> String {
    let (causality, variability) = match (variable.causality, edition) {
        (Causality::Input, _) => ("input", "continuous"),
        (Causality::Output, _) => ("output", "continuous"),
        (Causality::Parameter, _) => ("parameter", "fixed"),
        (Causality::Tunable, _) => ("parameter", "tunable"),
    };
    let initial = match variable.causality {
        Causality::Output => " initial=\"calculated\"",
        Causality::Input => "",
        _ => " initial=\"exact\"",
    };
    let mut numbers = String::new();
    if variable.unit != "-" {
        write!(numbers, " unit=\"{}\"", escaped(variable.unit)).unwrap_or_default();
    }
    if variable.low > f64::MIN {
        write!(numbers, " min=\"{:?}\"", variable.low).unwrap_or_default();
    }
    if variable.high < f64::MAX {
        write!(numbers, " max=\"{:?}\"", variable.high).unwrap_or_default();
    }
    if variable.causality != Causality::Output {
        write!(numbers, " start=\"{start:?}\"").unwrap_or_default();
    }
    let common = format!(
        "name=\"{}\" valueReference=\"{index}\" description=\"{}\" causality=\"{causality}\" variability=\"{variability}\"{initial}",
        escaped(&variable.name),
        escaped(&variable.meaning)
    );
    match edition {
        Edition::Two => {
            format!("    <ScalarVariable {common}>\n      <Real{numbers}/>\n    </ScalarVariable>")
        }
        Edition::Three => format!("    <Float64 {common}{numbers}/>"),
    }
}

fn escaped(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' => out.push(' '),
            other => out.push(other),
        }
    }
    out
}

/// One unit with its factor, its offset and its powers of kg, m, s, A, K, mol, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BaseUnit {
    /// Factor to SI base units.
    pub factor: f64,
    /// Offset to SI base units.
    pub offset: f64,
    /// Powers of kg, m, s, A, K, mol, rad.
    pub powers: [i32; 7],
}

const BASE: [&str; 7] = ["kg", "m", "s", "A", "K", "mol", "rad"];

/// What a symbol stands for: factor and powers.
const SYMBOLS: [(&str, f64, [i32; 7]); 32] = [
    ("kg", 1.0, [1, 0, 0, 0, 0, 0, 0]),
    ("m", 1.0, [0, 1, 0, 0, 0, 0, 0]),
    ("s", 1.0, [0, 0, 1, 0, 0, 0, 0]),
    ("A", 1.0, [0, 0, 0, 1, 0, 0, 0]),
    ("K", 1.0, [0, 0, 0, 0, 1, 0, 0]),
    ("mol", 1.0, [0, 0, 0, 0, 0, 1, 0]),
    ("rad", 1.0, [0, 0, 0, 0, 0, 0, 1]),
    ("1", 1.0, [0; 7]),
    ("-", 1.0, [0; 7]),
    ("%", 0.01, [0; 7]),
    ("deg", std::f64::consts::PI / 180.0, [0, 0, 0, 0, 0, 0, 1]),
    ("N", 1.0, [1, 1, -2, 0, 0, 0, 0]),
    ("Nm", 1.0, [1, 2, -2, 0, 0, 0, 0]),
    ("J", 1.0, [1, 2, -2, 0, 0, 0, 0]),
    ("W", 1.0, [1, 2, -3, 0, 0, 0, 0]),
    ("Pa", 1.0, [1, -1, -2, 0, 0, 0, 0]),
    ("Hz", 1.0, [0, 0, -1, 0, 0, 0, 0]),
    ("kPa", 1.0e3, [1, -1, -2, 0, 0, 0, 0]),
    ("bar", 1.0e5, [1, -1, -2, 0, 0, 0, 0]),
    ("mm", 1.0e-3, [0, 1, 0, 0, 0, 0, 0]),
    ("um", 1.0e-6, [0, 1, 0, 0, 0, 0, 0]),
    ("km", 1.0e3, [0, 1, 0, 0, 0, 0, 0]),
    ("ms", 1.0e-3, [0, 0, 1, 0, 0, 0, 0]),
    ("min", 60.0, [0, 0, 1, 0, 0, 0, 0]),
    ("h", 3600.0, [0, 0, 1, 0, 0, 0, 0]),
    ("g", 1.0e-3, [1, 0, 0, 0, 0, 0, 0]),
    ("kN", 1.0e3, [1, 1, -2, 0, 0, 0, 0]),
    ("kJ", 1.0e3, [1, 2, -2, 0, 0, 0, 0]),
    ("MJ", 1.0e6, [1, 2, -2, 0, 0, 0, 0]),
    ("GJ", 1.0e9, [1, 2, -2, 0, 0, 0, 0]),
    ("kW", 1.0e3, [1, 2, -3, 0, 0, 0, 0]),
    ("degC", 1.0, [0, 0, 0, 0, 1, 0, 0]),
];

/// What a unit such as `N m/rad` or `m/s2` is; nothing if it has a symbol that is not known here.
pub fn base_unit(unit: &str) -> Option<BaseUnit> {
    let mut found = BaseUnit {
        factor: 1.0,
        offset: if unit == "degC" { 273.15 } else { 0.0 },
        powers: [0; 7],
    };
    for (part, sides) in unit.split('/').enumerate() {
        let sign = if part == 0 { 1 } else { -1 };
        for word in sides.trim_matches(['(', ')']).split_whitespace() {
            let letters = if word == "1" {
                word
            } else {
                word.trim_end_matches(|c: char| c.is_ascii_digit())
            };
            let digits = &word[letters.len()..];
            let power: i32 = if digits.is_empty() {
                1
            } else {
                digits.parse().ok()?
            };
            let (_, factor, powers) = SYMBOLS.iter().find(|(symbol, ..)| *symbol == letters)?;
            found.factor *= factor.powi(sign * power);
            for (sum, own) in found.powers.iter_mut().zip(powers) {
                *sum += sign * power * own;
            }
        }
    }
    Some(found)
}

fn unit_definition(unit: &str) -> String {
    let Some(base) = base_unit(unit) else {
        return format!("    <Unit name=\"{}\"/>", escaped(unit));
    };
    let mut attributes = String::new();
    for (name, power) in BASE.iter().zip(base.powers) {
        if power != 0 {
            write!(attributes, " {name}=\"{power}\"").unwrap_or_default();
        }
    }
    if base.factor != 1.0 {
        write!(attributes, " factor=\"{:?}\"", base.factor).unwrap_or_default();
    }
    if base.offset != 0.0 {
        write!(attributes, " offset=\"{:?}\"", base.offset).unwrap_or_default();
    }
    format!(
        "    <Unit name=\"{}\">\n      <BaseUnit{attributes}/>\n    </Unit>",
        escaped(unit)
    )
}
