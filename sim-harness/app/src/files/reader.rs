//! One reader for vehicle, scenario and setting files.
//!
//! Input: text and a table of described numbers. Output: the structure, or every refusal of the file with its place.
//! Nothing is guessed and nothing is ignored: an unknown key, a wrong type, a number outside its range, NaN and infinity
//! are all refused. A syntax error does not hide the errors after it.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::described::Described;
use crate::failure::Refusal;

/// Most syntax errors told of one file; a file with more is hardly TOML, and a list of them helps nobody.
const MOST_SYNTAX_ERRORS: usize = 20;

/// One file while it is being read.
pub struct Document<'t> {
    file: &'t str,
    text: &'t str,
    table: DeTable<'t>,
    refusals: Vec<Refusal>,
    /// Byte offset of every accepted key, by `group.key`, so that contradictions can point at one.
    places: BTreeMap<String, usize>,
    /// What became of a key that was once known, by group and name.
    past: fn(&str, &str) -> Option<String>,
}

impl<'t> Document<'t> {
    /// Reads the syntax of `text`; errors are kept for [`Document::finish`].
    pub fn parse(file: &'t str, text: &'t str) -> Self {
        let (table, errors) = DeTable::parse_recoverable(text);
        let mut document = Self {
            file,
            text,
            table: table.into_inner(),
            refusals: Vec::new(),
            places: BTreeMap::new(),
            past: |_, _| None,
        };
        let hidden = errors.len().saturating_sub(MOST_SYNTAX_ERRORS);
        if let Some(error) = errors.get(MOST_SYNTAX_ERRORS) {
            let offset = error.span().map_or(text.len(), |span| span.start);
            let what =
                format!("{hidden} more syntax errors from here on: this is hardly a TOML file");
            document.refuse(
                offset,
                what,
                "TOML".into(),
                "check that this is the file you mean".into(),
            );
        }
        for error in errors.into_iter().take(MOST_SYNTAX_ERRORS) {
            let offset = error.span().map_or(0, |span| span.start);
            let message = error.message().lines().collect::<Vec<_>>().join(", ");
            if message.contains("duplicate") {
                document.refuse(
                    offset,
                    message,
                    "each key and each table once".into(),
                    "keep one of the two".into(),
                );
            } else {
                let what = format!("syntax error: {message}");
                document.refuse(
                    offset,
                    what,
                    "TOML".into(),
                    "correct the syntax at this place".into(),
                );
            }
        }
        document
    }

    /// Fills `whole` from the tables of the described groups. `own` names tables that are read otherwise.
    pub fn fill<D: Described>(&mut self, fields: &'static [D], whole: &mut D::Whole, own: &[&str]) {
        let table = std::mem::take(&mut self.table);
        let mut groups: Vec<&str> = own.to_vec();
        for field in fields {
            if !groups.contains(&field.group()) {
                groups.push(field.group());
            }
        }
        for (group, value) in &table {
            let (name, offset) = (group.get_ref().as_ref(), group.span().start);
            if own.contains(&name) {
                continue;
            }
            if !groups.contains(&name) {
                self.unknown_group(name, offset, &groups, fields);
                continue;
            }
            let DeValue::Table(keys) = value.get_ref() else {
                let what = format!(
                    "`{name}` is {}, but must be a table",
                    article(value.get_ref())
                );
                let advice = format!("write its keys below a line [{name}]");
                self.refuse(offset, what, format!("table [{name}]"), advice);
                continue;
            };
            for (key, value) in keys {
                self.number(name, key, value, fields, whole);
            }
        }
        self.table = table;
    }

    /// Sets who knows what became of keys that were once known.
    pub fn names_of_the_past(&mut self, past: fn(&str, &str) -> Option<String>) {
        self.past = past;
    }

    /// A whole number that stands before all tables, with its place, if it is there and one.
    pub fn root_whole_number(&mut self, key: &str) -> Option<(u64, usize)> {
        let (place, value) = self.entry(key)?;
        let number = whole_number(value);
        if number.is_none() {
            self.refuse_whole_number(key, place);
        }
        number.map(|number| (number, place))
    }

    /// Tables of a list `[[group]]`, each with its place.
    pub fn list(&mut self, group: &str) -> Vec<(usize, DeTable<'t>)> {
        let Some((place, value)) = self.entry(group) else {
            return Vec::new();
        };
        let tables: Option<Vec<_>> = match value {
            DeValue::Array(items) => items
                .iter()
                .map(|item| match item.get_ref() {
                    DeValue::Table(table) => Some((item.span().start, table.clone())),
                    _ => None,
                })
                .collect(),
            _ => None,
        };
        if tables.is_none() {
            self.refuse(
                place,
                format!("`{group}` is not a list of tables"),
                format!("lists [[{group}]]"),
                format!("write each one's keys below a line [[{group}]]"),
            );
        }
        tables.unwrap_or_default()
    }

    /// The value of a text key, if it is there and text.
    pub fn text_value(&mut self, group: &str, key: &str, allowed: &str) -> Option<(String, usize)> {
        let (place, value) = self.look_up(group, key)?;
        if let DeValue::String(text) = &value {
            return Some((text.clone().into_owned(), place));
        }
        let what = format!("`{key}` is {}, but must be a text", article(&value));
        self.refuse(
            place,
            what,
            allowed.into(),
            format!("write {key} = \"...\" with quotes"),
        );
        None
    }

    /// The value of a whole-number key, if it is there and a whole number of at least zero.
    pub fn whole_number_value(&mut self, group: &str, key: &str) -> Option<u64> {
        let (place, value) = self.look_up(group, key)?;
        let number = whole_number(&value);
        if number.is_none() {
            self.refuse_whole_number(key, place);
        }
        number
    }

    fn refuse_whole_number(&mut self, key: &str, place: usize) {
        self.refuse(
            place,
            format!("`{key}` is not a whole number of at least zero"),
            format!("0 to {}", u64::MAX),
            format!("write {key} = 1 or another whole number"),
        );
    }

    /// The value of a yes-or-no key, if it is there and one.
    pub fn truth_value(&mut self, group: &str, key: &str) -> Option<bool> {
        let (place, value) = self.look_up(group, key)?;
        if let DeValue::Boolean(truth) = value {
            return Some(truth);
        }
        let what = format!("`{key}` is {}, but must be true or false", article(&value));
        self.refuse(
            place,
            what,
            "true, false".into(),
            format!("write {key} = true or {key} = false without quotes"),
        );
        None
    }

    /// Refuses every key of `group` that is not in `known`, and a missing or malformed group.
    pub fn only_keys(&mut self, group: &str, known: &[&str], required: &[&str]) {
        let found = match self.entry(group) {
            None => None,
            Some((place, DeValue::Table(keys))) => Some((
                place,
                keys.keys()
                    .map(|k| (k.get_ref().to_string(), k.span().start))
                    .collect::<Vec<_>>(),
            )),
            Some((place, value)) => {
                let what = format!("`{group}` is {}, but must be a table", article(value));
                self.refuse(
                    place,
                    what,
                    format!("table [{group}]"),
                    format!("write its keys below a line [{group}]"),
                );
                return;
            }
        };
        let (place, keys) = found.unwrap_or_default();
        for (key, offset) in &keys {
            if !known.contains(&key.as_str()) {
                let advice = suggestion(key, known.iter().copied());
                self.refuse(
                    *offset,
                    format!("unknown key `{key}` in [{group}]"),
                    known.join(", "),
                    advice,
                );
            }
        }
        for key in required {
            if !keys.iter().any(|(found, _)| found == key) {
                let what = format!("`{key}` is missing in [{group}]");
                self.refuse(
                    place,
                    what,
                    known.join(", "),
                    format!("add {key} = \"...\" below a line [{group}]"),
                );
            }
        }
    }

    /// Refuses a contradiction at the first of `keys` (`group.key`) that the file itself holds.
    pub fn contradiction(&mut self, keys: &[&str], message: &str) {
        let offset = keys
            .iter()
            .find_map(|key| self.places.get(*key).copied())
            .unwrap_or(0);
        let (what, advice) = message
            .split_once(": ")
            .unwrap_or((message, "change one of these keys"));
        self.refuse(
            offset,
            format!("contradiction: {what}"),
            format!("{} together", keys.join(", ")),
            advice.into(),
        );
    }

    /// Refuses something at a byte offset.
    pub fn refuse(&mut self, offset: usize, what: String, allowed: String, advice: String) {
        self.refusals.push(Refusal::at(
            self.file, self.text, offset, what, allowed, advice,
        ));
    }

    /// Whether nothing has been refused so far.
    pub fn is_clean(&self) -> bool {
        self.refusals.is_empty()
    }

    /// All refusals in file order; only the first of a line, because one slip often breaks a whole line.
    ///
    /// # Errors
    /// The refusals, if there are any.
    pub fn finish(mut self) -> Result<(), Vec<Refusal>> {
        self.refusals
            .sort_by_key(|refusal| (refusal.line, refusal.column));
        self.refusals.dedup_by(|later, earlier| {
            later.line == earlier.line
                && (later.what == earlier.what || earlier.what.starts_with("syntax error"))
        });
        if self.refusals.is_empty() {
            Ok(())
        } else {
            Err(self.refusals)
        }
    }

    fn number<D: Described>(
        &mut self,
        group: &str,
        key: &Spanned<std::borrow::Cow<'_, str>>,
        value: &Spanned<DeValue<'_>>,
        fields: &'static [D],
        whole: &mut D::Whole,
    ) {
        let name = key.get_ref().as_ref();
        let Some(field) = fields
            .iter()
            .find(|field| field.group() == group && field.key() == name)
        else {
            let of_group = || {
                fields
                    .iter()
                    .filter(|field| field.group() == group)
                    .map(Described::key)
            };
            let elsewhere = fields.iter().find(|field| field.key() == name);
            let advice = match ((self.past)(group, name), elsewhere) {
                (Some(past), _) => past,
                (None, Some(elsewhere)) => {
                    format!("move it below a line [{}]", elsewhere.group())
                }
                (None, None) => suggestion(name, of_group()),
            };
            let allowed = of_group().collect::<Vec<_>>().join(", ");
            self.refuse(
                key.span().start,
                format!("unknown key `{name}` in [{group}]"),
                allowed,
                advice,
            );
            return;
        };
        let offset = value.span().start;
        let number = match value.get_ref() {
            number @ (DeValue::Float(_) | DeValue::Integer(_)) => float(number),
            other => {
                let what = format!("`{name}` is {}, but must be a number", article(other));
                let advice = format!(
                    "write {name} = {} without quotes; the unit is in the key",
                    field.written(whole)
                );
                self.refuse(offset, what, field.range(), advice);
                return;
            }
        };
        match number {
            Some(number) if number.is_finite() => {
                if field.admit(whole, number) {
                    self.places
                        .insert(format!("{group}.{name}"), key.span().start);
                } else {
                    let (low, high) = field.bounds();
                    let advice =
                        format!("write a number from {low} to {high}, in the unit of the key");
                    self.refuse(
                        offset,
                        format!("`{name}` = {number} is out of range"),
                        field.range(),
                        advice,
                    );
                }
            }
            _ => {
                let what = format!("`{name}` is not a finite number");
                self.refuse(offset, what, field.range(), "write a finite number".into());
            }
        }
    }

    fn unknown_group<D: Described>(
        &mut self,
        name: &str,
        offset: usize,
        groups: &[&str],
        fields: &'static [D],
    ) {
        let (what, advice) = match fields.iter().find(|field| field.key() == name) {
            Some(field) => (
                format!("key `{name}` stands outside its table"),
                format!("move it below a line [{}]", field.group()),
            ),
            None => (
                format!("unknown table or key `{name}`"),
                suggestion(name, groups.iter().copied()),
            ),
        };
        self.refuse(
            offset,
            what,
            format!("tables {}", groups.join(", ")),
            advice,
        );
    }

    fn entry(&self, group: &str) -> Option<(usize, &DeValue<'t>)> {
        let (key, value) = self.table.iter().find(|(key, _)| key.get_ref() == group)?;
        Some((key.span().start, value.get_ref()))
    }

    fn look_up(&mut self, group: &str, key: &str) -> Option<(usize, DeValue<'t>)> {
        let (_, value) = self.entry(group)?;
        let DeValue::Table(keys) = value else {
            return None;
        };
        let (_, found) = keys.iter().find(|(name, _)| name.get_ref() == key)?;
        Some((found.span().start, found.get_ref().clone()))
    }
}

/// Advice for an unknown name: the nearest known one, if one is near.
pub fn suggestion<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> String {
    let nearest = known
        .map(|candidate| (distance(name, candidate), candidate))
        .min();
    match nearest {
        Some((away, candidate)) if away <= 2 + candidate.chars().count() / 4 => {
            format!("did you mean `{candidate}`?")
        }
        _ => "use one of the allowed names, or remove it".to_owned(),
    }
}

/// A number, whole or not.
pub fn float(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(float) => float.as_str().parse::<f64>().ok(),
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse::<f64>().ok(),
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .ok()
            .map(|number| number as f64),
        _ => None,
    }
}

fn whole_number(value: &DeValue<'_>) -> Option<u64> {
    match value {
        DeValue::Integer(integer) => u64::from_str_radix(integer.as_str(), integer.radix()).ok(),
        _ => None,
    }
}

/// What a value is, with its article, for messages.
pub fn article(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// Number of single-character changes between two names (Levenshtein distance).
fn distance(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (index, letter) in from.chars().enumerate() {
        let mut diagonal = index;
        row[0] = index + 1;
        for (position, other) in to.iter().enumerate() {
            let above = row[position + 1];
            let changed = diagonal + usize::from(letter != *other);
            row[position + 1] = changed.min(above + 1).min(row[position] + 1);
            diagonal = above;
        }
    }
    row[to.len()]
}

#[cfg(test)]
mod tests {
    use super::{distance, suggestion};

    #[test]
    fn distance_is_the_levenshtein_distance() {
        // Textbook pair: kitten to sitting takes 3 changes (Wagner and Fischer 1974, from memory).
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("mass_kg", "mass_kg"), 0);
    }

    #[test]
    fn a_near_key_is_suggested_and_a_far_one_is_not() {
        assert_eq!(
            suggestion("mas_kg", ["mass_kg", "track_m"].into_iter()),
            "did you mean `mass_kg`?"
        );
        assert!(!suggestion("zzzzzzzzzz", ["mass_kg"].into_iter()).contains("mass_kg"));
    }
}
