//! The list `[[faults]]` of a scenario file: read, refused with places, printed, described by a schema.

use couplet_sim::fault::{Fault, Kind, MOST, Place};
use couplet_sim::run::injection::{can_happen, place_named, places};
use serde_json::{Value, json};
use toml::de::DeValue;

use super::reader::{Document, article, float, suggestion};

/// Name of the list.
pub const LIST: &str = "faults";

const KEYS: [&str; 5] = ["at", "kind", "size", "start_s", "duration_s"];

/// The faults of a file; what is wrong with them is refused in the document.
pub fn read(document: &mut Document<'_>) -> Vec<Fault> {
    let tables = document.list(LIST);
    if let Some((offset, _)) = tables.get(MOST) {
        document.refuse(
            *offset,
            format!("the file lists {} faults", tables.len()),
            format!("at most {MOST}"),
            "leave some out".into(),
        );
    }
    let mut faults = Vec::new();
    for (offset, table) in tables.iter().take(MOST) {
        let mut one = One {
            document: &mut *document,
            place: *offset,
            table,
            clean: true,
        };
        if let Some(fault) = one.fault() {
            faults.push(fault);
        }
    }
    faults
}

struct One<'d, 't> {
    document: &'d mut Document<'t>,
    place: usize,
    table: &'d toml::de::DeTable<'t>,
    clean: bool,
}

impl<'t> One<'_, 't> {
    fn fault(&mut self) -> Option<Fault> {
        for key in self.table.keys() {
            let name = key.get_ref().as_ref();
            if !KEYS.contains(&name) {
                self.refuse(
                    key.span().start,
                    format!("unknown key `{name}` in [[{LIST}]]"),
                    KEYS.join(", "),
                    suggestion(name, KEYS.into_iter()),
                );
            }
        }
        let known: Vec<_> = places().into_iter().map(Place::name).collect();
        let place = self.named("at", &known, place_named);
        let kind = self.named("kind", &Kind::ALL.map(Kind::name), Kind::from_name);
        let ((place, _), (kind, kind_at)) = (place?, kind?);
        if !can_happen(place, kind) {
            let can: Vec<&str> = Kind::ALL
                .into_iter()
                .filter(|kind| can_happen(place, *kind))
                .map(Kind::name)
                .collect();
            self.refuse(
                kind_at,
                format!("`{}` cannot happen at `{}`", kind.name(), place.name()),
                can.join(", "),
                "use a kind that can happen there".into(),
            );
        }
        let mut fault = Fault::from(place, kind, 0.0);
        let size = kind.size();
        if size.unit.is_empty() {
            if let Some((offset, _)) = self.entry("size") {
                self.refuse(
                    offset,
                    format!("`{}` has no size", kind.name()),
                    "no key `size`".into(),
                    "remove the line".into(),
                );
            }
        } else if let Some(number) = self.number("size", (size.low, size.high), size.unit) {
            fault.size = number;
        }
        let times = (0.0, Fault::LONGEST_S);
        fault.start_s = self.number("start_s", times, "s").unwrap_or(1.0);
        fault.duration_s = self
            .number("duration_s", times, "s")
            .unwrap_or(Fault::LONGEST_S);
        self.clean.then_some(fault)
    }

    /// A name out of a list, with its place.
    fn named<T>(
        &mut self,
        key: &str,
        known: &[&'static str],
        find: impl Fn(&str) -> Option<T>,
    ) -> Option<(T, usize)> {
        let allowed = known.join(", ");
        let Some((offset, value)) = self.entry(key) else {
            self.refuse(
                self.place,
                format!("`{key}` is missing in [[{LIST}]]"),
                allowed,
                format!("add {key} = \"...\" below this line"),
            );
            return None;
        };
        let DeValue::String(name) = &value else {
            self.refuse(
                offset,
                format!("`{key}` is {}, but must be a text", article(&value)),
                allowed,
                format!("write {key} = \"...\" with quotes"),
            );
            return None;
        };
        let found = find(name);
        if found.is_none() {
            self.refuse(
                offset,
                format!("unknown {key} `{name}`"),
                allowed,
                suggestion(name, known.iter().copied()),
            );
        }
        found.map(|found| (found, offset))
    }

    /// The value of a key, with its place.
    fn entry(&self, key: &str) -> Option<(usize, DeValue<'t>)> {
        let (_, value) = self.table.iter().find(|(name, _)| name.get_ref() == key)?;
        Some((value.span().start, value.get_ref().clone()))
    }

    /// A number in a range, if the key is there.
    fn number(&mut self, key: &str, (low, high): (f64, f64), unit: &str) -> Option<f64> {
        let (offset, value) = self.entry(key)?;
        let allowed = match unit {
            "-" => format!("{low} to {high}"),
            "signal" => format!("{low} to {high} in the unit of the place"),
            "signal/s" => format!("{low} to {high} in the unit of the place, per second"),
            unit => format!("{low} to {high} {unit}"),
        };
        let what = match float(&value) {
            Some(number) if (low..=high).contains(&number) => return Some(number),
            Some(number) if number.is_finite() => format!("`{key}` = {number} is out of range"),
            Some(_) => format!("`{key}` is not a finite number"),
            None => format!("`{key}` is {}, but must be a number", article(&value)),
        };
        self.refuse(offset, what, allowed, "write a number in this range".into());
        None
    }

    fn refuse(&mut self, offset: usize, what: String, allowed: String, advice: String) {
        self.clean = false;
        self.document.refuse(offset, what, allowed, advice);
    }
}

/// The list as it stands in a file.
pub fn written(faults: &[Fault]) -> String {
    let mut text = String::new();
    for fault in faults {
        text += &format!(
            "\n[[{LIST}]]\nat = \"{}\"\nkind = \"{}\"\n",
            fault.place.name(),
            fault.kind.name()
        );
        if !fault.kind.size().unit.is_empty() {
            text += &format!("size = {:?}\n", fault.size);
        }
        text += &format!(
            "start_s = {:?}\nduration_s = {:?}\n",
            fault.start_s, fault.duration_s
        );
    }
    text
}

/// The list explained, for a template: comments only, because a template changes nothing.
pub fn template() -> String {
    let mut text = format!(
        "\n# What goes wrong on purpose: up to {MOST} faults, each below a line of its own [[{LIST}]], for example\n\
         # [[{LIST}]]\n"
    );
    text += "# # Where: an input of the law, or an actuator:\n";
    let mut line = String::from("#");
    for place in places() {
        if line.len() + place.name().len() > 118 {
            text += &format!("# {line}\n");
            line = "#".into();
        }
        line += &format!(" {}", place.name());
    }
    text += &format!("# {line}\n# at = \"yaw_rate\"\n# # What:\n");
    for kind in Kind::ALL {
        text += &format!("# # {}: {}", kind.name(), kind.meaning());
        let size = kind.size();
        text += &match size.unit {
            "" => "; no size\n".to_owned(),
            "signal" => format!(
                "; size {} to {} in the unit of the place\n",
                size.low, size.high
            ),
            "signal/s" => format!(
                "; size {} to {} in that unit per second\n",
                size.low, size.high
            ),
            "-" => format!("; size {} to {}\n", size.low, size.high),
            unit => format!("; size {} to {} {unit}\n", size.low, size.high),
        };
    }
    let longest = Fault::LONGEST_S;
    text += &format!(
        "# kind = \"offset\"\n# size = 0.1\n\
         # # After the start of the record. Range 0 to {longest} s; 1 if left out.\n# start_s = 1.0\n\
         # # How long it lasts. Range 0 to {longest} s; {longest} if left out.\n# duration_s = 0.5\n"
    );
    text
}

/// The list in a schema.
pub fn schema() -> Value {
    let time = |default: f64, said: &str| json!({ "type": "number", "minimum": 0.0, "maximum": Fault::LONGEST_S, "default": default, "description": said });
    let sizes: Vec<Value> = Kind::ALL
        .into_iter()
        .map(|kind| {
            let size = kind.size();
            let then = if size.unit.is_empty() {
                json!({ "not": { "required": ["size"] } })
            } else {
                json!({ "properties": { "size": { "minimum": size.low, "maximum": size.high } } })
            };
            let only: Vec<&str> = places()
                .into_iter()
                .filter(|place| can_happen(*place, kind))
                .map(Place::name)
                .collect();
            json!({
                "if": { "properties": { "kind": { "const": kind.name() } }, "required": ["kind"] },
                "then": { "allOf": [then, { "properties": { "at": { "enum": only } } }] },
            })
        })
        .collect();
    json!({
        "type": "array",
        "maxItems": MOST,
        "description": "What goes wrong on purpose.",
        "items": {
            "type": "object",
            "properties": {
                "at": { "enum": places().into_iter().map(Place::name).collect::<Vec<_>>(), "description": "Where: an input of the law or an actuator." },
                "kind": { "enum": Kind::ALL.map(Kind::name), "description": "What." },
                "size": { "type": "number", "description": "How much; its meaning and range depend on the kind." },
                "start_s": time(1.0, "When it begins, after the start of the record. Unit: s."),
                "duration_s": time(Fault::LONGEST_S, "How long it lasts. Unit: s."),
            },
            "required": ["at", "kind"],
            "allOf": sizes,
            "additionalProperties": false,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Source;

    fn source(faults: &str) -> Source {
        Source {
            file: "f.toml".into(),
            name: "f".into(),
            text: format!("[scenario]\nname = \"a\"\nmanoeuvre = \"straight-ahead\"\n{faults}"),
        }
    }

    #[test]
    fn every_fault_is_written_and_read_back_to_the_bit() {
        for place in places() {
            for kind in Kind::ALL
                .into_iter()
                .filter(|kind| can_happen(place, *kind))
            {
                let fault = Fault {
                    duration_s: 0.123_456_789,
                    ..Fault::from(place, kind, 1.1)
                };
                let read = source(&written(&[fault])).scenario().expect("accepted");
                assert_eq!(read.faults, [fault]);
            }
        }
    }

    #[test]
    fn every_wrong_fault_is_refused_at_its_place() {
        let head = "[[faults]]\n";
        for (text, line, column, what) in [
            (
                "at = \"yaw_rat\"\nkind = \"off\"",
                5,
                6,
                "unknown at `yaw_rat`",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"swap\"",
                6,
                8,
                "`swap` cannot happen at `yaw_rate`",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"leak\"",
                6,
                8,
                "`leak` cannot happen at `yaw_rate`",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"delay\"\nsize = 9",
                7,
                8,
                "`size` = 9 is out of range",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"delay\"\nsize = nan",
                7,
                8,
                "`size` is not a finite number",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"off\"\nsize = 1",
                7,
                8,
                "`off` has no size",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"off\"\nstart_s = -1",
                7,
                11,
                "`start_s` = -1 is out of range",
            ),
            (
                "at = \"yaw_rate\"\nkind = \"off\"\nlasts_s = 1",
                7,
                1,
                "unknown key `lasts_s` in [[faults]]",
            ),
            (
                "at = 5\nkind = \"off\"",
                5,
                6,
                "`at` is a whole number, but must be a text",
            ),
            ("at = \"yaw_rate\"", 4, 1, "`kind` is missing in [[faults]]"),
        ] {
            let refusals = source(&format!("{head}{text}\n"))
                .scenario()
                .expect_err(text);
            let first = &refusals[0];
            assert_eq!(
                (first.what.as_str(), first.line, first.column),
                (what, line, column)
            );
        }
        let many = format!("{head}at = \"yaw_rate\"\nkind = \"off\"\n").repeat(MOST + 1);
        assert_eq!(
            source(&many).scenario().expect_err("too many")[0].what,
            "the file lists 9 faults"
        );
        for wrong in ["[faults]\nat = \"yaw_rate\"\n", "[fault]\nkind = 1.0\n"] {
            let refusals = source(wrong).scenario().expect_err(wrong);
            assert!(refusals[0].advice.contains("faults"), "{}", refusals[0]);
        }
    }
}
