//! Mapping files: which channel of a recording tells the law what, with unit, sign and gaps.
//!
//! A table for each input of the law, `[recorded.NAME]` for what a recorded controller commanded. Everything is checked against the
//! recording it is used with: channels, units. Nothing is guessed: a unit that neither the recording nor the file tells is
//! refused.

use std::fmt::Write;

use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};
use couplet_sim::record::recording::Recording;
use couplet_sim::replay::mapping::{
    Between, Commanded, LONGEST_GAP_S, Mapping, Row, Source as From,
};
use couplet_sim::replay::units::{conversion, spellings};
use couplet_sim::replay::{mapping, output};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Source;
use super::reader::{article, float, suggestion};
use crate::failure::Refusal;

const KEYS: [&str; 12] = [
    "channel",
    "constant",
    "unit",
    "sign",
    "factor",
    "offset",
    "radius_m",
    "late_s",
    "longest_gap_s",
    "between",
    "age",
    "status",
];
const RECORDED_KEYS: [&str; 5] = ["channel", "unit", "sign", "factor", "offset"];

/// Table of recorded commands.
const RECORDED: &str = "recorded";

struct Reading<'t> {
    file: &'t str,
    text: &'t str,
    refusals: Vec<Refusal>,
}

type Table<'t> = DeTable<'t>;

impl Source {
    /// The mapping this file describes, for a recording.
    ///
    /// # Errors
    /// Every refusal of the file.
    pub fn mapping(&self, recording: &Recording) -> Result<Mapping, Vec<Refusal>> {
        let mut reading = Reading {
            file: &self.file,
            text: &self.text,
            refusals: Vec::new(),
        };
        let (table, errors) = DeTable::parse_recoverable(&self.text);
        for error in errors.iter().take(20) {
            let place = error.span().map_or(0, |span| span.start);
            reading.refuse(
                place,
                format!("syntax error: {}", error.message()),
                "TOML".into(),
                "correct the syntax at this place".into(),
            );
        }
        let mut made = Mapping {
            start_degc: 60.0,
            rows: Vec::new(),
            commands: Vec::new(),
        };
        for (key, value) in table.get_ref() {
            reading.top(key, value, recording, &mut made);
        }
        // A table of TOML has no order of its own: rows go by the law's.
        made.rows.sort_by_key(|row| {
            INPUT_SIGNALS
                .iter()
                .position(|signal| signal.name == row.input.name)
        });
        if made.rows.is_empty() && reading.refusals.is_empty() {
            reading.refuse(
                0,
                "the mapping names no input of the law".into(),
                input_names(),
                "write a table such as [yaw_rate] with channel = \"...\"; couplet replay LOG --suggest proposes one".into(),
            );
        }
        reading
            .refusals
            .sort_by_key(|refusal| (refusal.line, refusal.column));
        if reading.refusals.is_empty() {
            Ok(made)
        } else {
            Err(reading.refusals)
        }
    }
}

impl Source {
    /// A refusal at the header of a table; at the start of the file if it has no such table.
    pub fn refusal_at_table(
        &self,
        table: &str,
        what: String,
        allowed: String,
        advice: String,
    ) -> Refusal {
        let place = self.text.find(&format!("[{table}]")).unwrap_or(0);
        Refusal::at(&self.file, &self.text, place, what, allowed, advice)
    }
}

fn input_names() -> String {
    let names: Vec<&str> = INPUT_SIGNALS.iter().map(|signal| signal.name).collect();
    names.join(", ")
}

impl Reading<'_> {
    fn refuse(&mut self, place: usize, what: String, allowed: String, advice: String) {
        self.refusals.push(Refusal::at(
            self.file, self.text, place, what, allowed, advice,
        ));
    }

    fn top(
        &mut self,
        key: &Spanned<std::borrow::Cow<'_, str>>,
        value: &Spanned<DeValue<'_>>,
        recording: &Recording,
        made: &mut Mapping,
    ) {
        let (name, place) = (key.get_ref().as_ref(), key.span().start);
        if name == "start_degc" {
            let number = self.number(name, value, (-60.0, 400.0));
            made.start_degc = number.map_or(made.start_degc, |number| number as f32);
            return;
        }
        let DeValue::Table(keys) = value.get_ref() else {
            let what = format!(
                "`{name}` is {}, but must be a table",
                article(value.get_ref())
            );
            let advice = format!("write its keys below a line [{name}]");
            self.refuse(
                place,
                what,
                format!("start_degc, {}", input_names()),
                advice,
            );
            return;
        };
        if name == RECORDED {
            for (output, value) in keys {
                self.recorded(output, value, recording, made);
            }
            return;
        }
        let Some(input) = mapping::input(name) else {
            let known = INPUT_SIGNALS.iter().map(|signal| signal.name);
            let advice = suggestion(name, known.chain([RECORDED]));
            self.refuse(
                place,
                format!("the law has no input `{name}`"),
                format!("{}, {RECORDED}", input_names()),
                advice,
            );
            return;
        };
        self.known_keys(keys, name, &KEYS);
        let constant = keys
            .get("constant")
            .and_then(|value| self.number("constant", value, bounds(input.low, input.high)));
        let channel = self.text(keys, "channel");
        let source = match (channel, constant) {
            (Some((channel, at)), None) => {
                self.see_channel(recording, &channel, at);
                From::Channel(channel)
            }
            (None, Some(value)) => From::Constant(value),
            (Some(_), Some(_)) => {
                let what = format!("[{name}] has both a channel and a constant");
                self.refuse(place, what, "one of the two".into(), "remove one".into());
                return;
            }
            (None, None) => {
                if !keys.contains_key("channel") && !keys.contains_key("constant") {
                    self.refuse(
                        place,
                        format!("[{name}] says neither channel nor constant"),
                        "channel = \"NAME\" or constant = NUMBER".into(),
                        "name the channel of the recording".into(),
                    );
                }
                return;
            }
        };
        let mut row = Row::of(input, source);
        if let From::Channel(channel) = row.source.clone() {
            let made = self.conversion(keys, place, recording, &channel, input.unit);
            (row.factor, row.offset) = made.unwrap_or((1.0, 0.0));
        }
        let number = |this: &mut Self, key: &str, range: (f64, f64)| {
            keys.get(key)
                .and_then(|value| this.number(key, value, range))
        };
        row.late_s = number(self, "late_s", (-5.0, 5.0)).unwrap_or(0.0);
        row.longest_gap_s = number(self, "longest_gap_s", (0.001, 60.0)).unwrap_or(LONGEST_GAP_S);
        if let Some((word, at)) = self.text(keys, "between") {
            match word.as_str() {
                "hold" => row.between = Between::Hold,
                "line" => row.between = Between::Line,
                _ => self.refuse(
                    at,
                    format!("`between` is `{word}`"),
                    "hold, line".into(),
                    "hold: the last sample ages; line: the straight line to the next".into(),
                ),
            }
        }
        for (key, place_of) in [("age", &mut row.age), ("status", &mut row.status)] {
            if let Some((channel, at)) = self.text(keys, key) {
                self.see_channel(recording, &channel, at);
                *place_of = Some(channel);
            }
        }
        made.rows.push(row);
    }

    fn recorded(
        &mut self,
        key: &Spanned<std::borrow::Cow<'_, str>>,
        value: &Spanned<DeValue<'_>>,
        recording: &Recording,
        made: &mut Mapping,
    ) {
        let (name, place) = (key.get_ref().as_ref(), key.span().start);
        let known = || OUTPUT_SIGNALS.iter().map(|signal| signal.name);
        let (DeValue::Table(keys), Some(output)) = (value.get_ref(), output(name)) else {
            let allowed = known().collect::<Vec<_>>().join(", ");
            let what = format!("the law has no output `{name}`");
            self.refuse(place, what, allowed, suggestion(name, known()));
            return;
        };
        self.known_keys(keys, name, &RECORDED_KEYS);
        let Some((channel, at)) = self.text(keys, "channel") else {
            self.refuse(
                place,
                format!("[{RECORDED}.{name}] names no channel"),
                "channel = \"NAME\"".into(),
                "name the channel of the recording".into(),
            );
            return;
        };
        self.see_channel(recording, &channel, at);
        let (factor, offset) = self
            .conversion(keys, place, recording, &channel, output.unit)
            .unwrap_or((1.0, 0.0));
        made.commands.push(Commanded {
            output,
            channel,
            factor,
            offset,
        });
    }

    /// Factor and offset to the law's unit.
    fn conversion(
        &mut self,
        keys: &Table<'_>,
        place: usize,
        recording: &Recording,
        channel: &str,
        to: &str,
    ) -> Option<(f64, f64)> {
        let said = self.text(keys, "unit");
        let told = recording
            .find(channel)
            .map(|(_, signal)| signal.unit.clone())
            .unwrap_or_default();
        // A pure number needs no unit.
        let told = if told.is_empty() && to == "-" {
            "-".to_owned()
        } else {
            told
        };
        let (unit, at) = said.unwrap_or((told, place));
        let allowed = || format!("units {}", spellings(to).join(", "));
        if unit.is_empty() {
            if recording.find(channel).is_some() {
                self.refuse(
                    at,
                    format!("the recording tells no unit of `{channel}`, and the mapping neither"),
                    allowed(),
                    format!("add unit = \"{to}\" or what it is in"),
                );
            }
            return None;
        }
        let Some(made) = conversion(&unit, to) else {
            self.refuse(
                at,
                format!("`{channel}` in `{unit}` cannot become {to}"),
                allowed(),
                "say the channel's unit with unit = \"...\", or name another channel".into(),
            );
            return None;
        };
        let mut number = |key: &str, range: (f64, f64)| {
            keys.get(key)
                .map(|value| (self.number(key, value, range), value.span().start))
        };
        let radius = number("radius_m", (0.1, 1.0));
        let sign = number("sign", (-1.0, 1.0));
        let factor = number("factor", (-1.0e6, 1.0e6)).and_then(|(factor, _)| factor);
        let offset = number("offset", (-1.0e6, 1.0e6)).and_then(|(offset, _)| offset);
        if let Some((Some(sign), at)) = sign
            && sign.abs() != 1.0
        {
            let what = format!("`sign` is {sign}");
            self.refuse(at, what, "1 or -1".into(), "write 1 or -1".into());
        }
        let radius_m = match (made.by_radius, radius) {
            (true, None) => {
                self.refuse(
                    at,
                    format!("`{channel}` in {unit} is a speed of the tread; the law wants {to}"),
                    "radius_m from 0.1 to 1 m".into(),
                    "add radius_m = the rolling radius".into(),
                );
                1.0
            }
            (true, Some((radius, _))) => radius.unwrap_or(1.0),
            (false, _) => 1.0,
        };
        let sign = sign.and_then(|(sign, _)| sign).unwrap_or(1.0);
        let scale = sign * factor.unwrap_or(1.0) / radius_m;
        Some((
            scale * made.factor,
            scale * made.offset + offset.unwrap_or(0.0),
        ))
    }

    fn see_channel(&mut self, recording: &Recording, channel: &str, place: usize) {
        if recording.find(channel).is_some() {
            return;
        }
        let names: Vec<&str> = recording
            .all()
            .map(|(_, signal)| signal.name.as_str())
            .collect();
        let advice = suggestion(channel, names.iter().copied());
        let mut shown = names
            .iter()
            .take(40)
            .copied()
            .collect::<Vec<_>>()
            .join(", ");
        if names.len() > 40 {
            let _ = write!(shown, " and {} more", names.len() - 40);
        }
        let what = format!("the recording has no channel `{channel}`");
        self.refuse(place, what, shown, advice);
    }

    fn known_keys(&mut self, keys: &Table<'_>, table: &str, known: &[&'static str]) {
        for (key, _) in keys {
            let name = key.get_ref().as_ref();
            if !known.contains(&name) {
                self.refuse(
                    key.span().start,
                    format!("unknown key `{name}` in [{table}]"),
                    known.join(", "),
                    suggestion(name, known.iter().copied()),
                );
            }
        }
    }

    fn text(&mut self, keys: &Table<'_>, key: &str) -> Option<(String, usize)> {
        let value = keys.get(key)?;
        let place = value.span().start;
        if let DeValue::String(text) = value.get_ref() {
            return Some((text.clone().into_owned(), place));
        }
        let what = format!(
            "`{key}` is {}, but must be a text",
            article(value.get_ref())
        );
        let advice = format!("write {key} = \"...\" with quotes");
        self.refuse(place, what, "a text in quotes".into(), advice);
        None
    }

    fn number(
        &mut self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        (low, high): (f64, f64),
    ) -> Option<f64> {
        let found = float(value.get_ref());
        let inside = found.filter(|number| (low..=high).contains(number));
        if inside.is_none() {
            let what = match found {
                Some(number) => format!("`{key}` = {number} is out of range"),
                None => format!(
                    "`{key}` is {}, but must be a number",
                    article(value.get_ref())
                ),
            };
            let advice = format!("write {key} = a number in the range");
            self.refuse(value.span().start, what, format!("{low} to {high}"), advice);
        }
        inside
    }
}

fn bounds(low: f32, high: f32) -> (f64, f64) {
    (f64::from(low), f64::from(high))
}

/// A mapping in the law's own units as the text of a file that reads back as the same mapping.
pub fn mapping_text(mapping: &Mapping) -> String {
    let mut text = format!(
        "# Which channel of a recording tells the law what; for couplet replay --map.\n\
         # Temperature of the whole axle when the recording begins.\nstart_degc = {:?}\n",
        mapping.start_degc
    );
    for row in &mapping.rows {
        let _ = write!(text, "\n[{}]\n", row.input.name);
        match &row.source {
            From::Channel(channel) => {
                let _ = writeln!(text, "channel = {}", quoted(channel));
                let _ = writeln!(text, "unit = {}", quoted(row.input.unit));
            }
            From::Constant(value) => {
                let _ = writeln!(text, "constant = {value:?}");
            }
        }
        for (key, value, usual) in [
            ("factor", row.factor, 1.0),
            ("offset", row.offset, 0.0),
            ("late_s", row.late_s, 0.0),
            ("longest_gap_s", row.longest_gap_s, LONGEST_GAP_S),
        ] {
            if value != usual {
                let _ = writeln!(text, "{key} = {value:?}");
            }
        }
        if row.between == Between::Line {
            text += "between = \"line\"\n";
        }
        for (key, channel) in [("age", &row.age), ("status", &row.status)] {
            if let Some(channel) = channel {
                let _ = writeln!(text, "{key} = {}", quoted(channel));
            }
        }
    }
    for command in &mapping.commands {
        let _ = write!(
            text,
            "\n[{RECORDED}.{}]\nchannel = {}\nunit = {}\n",
            command.output.name,
            quoted(&command.channel),
            quoted(command.output.unit)
        );
        if command.factor != 1.0 {
            let _ = writeln!(text, "factor = {:?}", command.factor);
        }
        if command.offset != 0.0 {
            let _ = writeln!(text, "offset = {:?}", command.offset);
        }
    }
    text
}

/// A text as TOML writes it.
pub fn quoted(text: &str) -> String {
    let mut quoted = String::from('"');
    for letter in text.chars() {
        match letter {
            '"' | '\\' => quoted.extend(['\\', letter]),
            letter if letter.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(letter));
            }
            letter => quoted.push(letter),
        }
    }
    quoted + "\""
}
