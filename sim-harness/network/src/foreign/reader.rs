//! Reads a CAN database: messages, signals, floats and simple switches.
//!
//! Read: `BO_`, `SG_` (both orders of bytes, signed, factor, offset, unit, range, switch `M` and `m7`), `SIG_VALTYPE_`. Passed over, because no
//! value depends on it: version, nodes, texts, tables of words, attributes, groups. Left out with line and column: signals outside
//! their message, a factor of zero, extended multiplexing, statements nobody knows. Everything else stops the reading at its
//! place. A file that ends between two statements looks whole: the form has no last line. Bytes that are no UTF-8 are taken as
//! ISO 8859-1, in which many such files are written. The form of the text is common practice; `cantools` and `can-dbc` judge it.

use std::collections::{BTreeMap, BTreeSet};

use super::text::{Place, Text};
use super::{Database, Form, LeftOut, Message, Order, Shown, Signal};
use crate::lines::LogError;

/// Statements that say nothing of a value.
const PASSED: [&str; 26] = [
    "BA_",
    "BA_DEF_",
    "BA_DEF_DEF_",
    "BA_DEF_DEF_REL_",
    "BA_DEF_REL_",
    "BA_DEF_SGTYPE_",
    "BA_REL_",
    "BA_SGTYPE_",
    "BO_TX_BU_",
    "BU_BO_REL_",
    "BU_EV_REL_",
    "BU_SG_REL_",
    "CAT_",
    "CAT_DEF_",
    "CM_",
    "ENVVAR_DATA_",
    "EV_",
    "EV_DATA_",
    "FILTER",
    "SGTYPE_",
    "SGTYPE_VAL_",
    "SIGTYPE_VALTYPE_",
    "SIG_GROUP_",
    "SIG_TYPE_REF_",
    "VAL_",
    "VAL_TABLE_",
];

/// Statements that are read.
const READ: [&str; 8] = [
    "VERSION",
    "NS_",
    "BS_",
    "BU_",
    "BO_",
    "SG_",
    "SIG_VALTYPE_",
    "SG_MUL_VAL_",
];

/// Bit of an identifier in the text that says it has 29 bits.
const EXTENDED: u64 = 1 << 31;
/// Identifier of the message that holds signals without one (common practice, no source).
const NOWHERE: u64 = 0xc000_0000;
/// Most signals of one message: more than any frame has bits, with room for switches.
const MOST_SIGNALS: usize = 4096;
/// Longest frame, bytes (ISO 11898-1).
const LONGEST: u64 = 64;

/// Reads a database.
///
/// # Errors
/// The first thing wrong, with line and column.
pub fn read(bytes: &[u8]) -> Result<Database, LogError> {
    let latin;
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(_) => {
            latin = bytes
                .iter()
                .map(|byte| char::from(*byte))
                .collect::<String>();
            &latin
        }
    };
    let mut reader = Reader {
        text: Text::of(text.strip_prefix('\u{feff}').unwrap_or(text)),
        database: Database::default(),
        into: Into::Nothing,
        ids: BTreeMap::new(),
        names: BTreeSet::new(),
        places: Vec::new(),
        switches: Vec::new(),
    };
    while reader.statement()? {}
    Ok(reader.settled())
}

/// Where a signal belongs that comes next.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Into {
    Nothing,
    Message(usize),
    LeftOut,
}

/// A switch as extended multiplexing tells it.
struct Switched {
    at: Place,
    id: (u32, bool),
    signal: String,
    switch: String,
    ranges: Vec<(u64, u64)>,
}

struct Reader<'a> {
    text: Text<'a>,
    database: Database,
    into: Into,
    ids: BTreeMap<(u32, bool), usize>,
    names: BTreeSet<String>,
    /// Place of every signal in the text, by message.
    places: Vec<Vec<Place>>,
    switches: Vec<Switched>,
}

impl Reader<'_> {
    /// Reads a statement; says whether there was one.
    fn statement(&mut self) -> Result<bool, LogError> {
        self.text.blanks();
        let at = self.text.place;
        if self.text.peek().is_none() {
            return Ok(false);
        }
        if self.text.takes(';') {
            return Ok(true);
        }
        let word = self.text.word();
        match word {
            "VERSION" => self.text.string().map(|_| ())?,
            "NS_" => {
                self.text.takes(':');
                while !matches!(self.text.next_word(), "BS_" | "BU_" | "BO_" | "") {
                    self.text.word();
                }
            }
            "BS_" => self.text.pass_line()?,
            "BU_" => {
                self.text.takes(':');
                while !matches!(self.text.next_word(), "") && !known(self.text.next_word()) {
                    self.text.word();
                }
            }
            "BO_" => self.message(at)?,
            "SG_" => self.signal(at)?,
            "SIG_VALTYPE_" => self.form(at)?,
            "SG_MUL_VAL_" => self.multiplexed(at)?,
            word if PASSED.contains(&word) => self.text.pass_statement()?,
            word => {
                let shown: String = word.chars().take(40).collect();
                self.leave_out(at, format!("`{shown}` is no statement this reader knows"));
                self.text.pass_line()?;
            }
        }
        Ok(true)
    }

    fn leave_out(&mut self, at: Place, what: String) {
        self.database.left_out.push(LeftOut {
            line: at.line,
            column: at.column,
            what,
        });
    }

    fn message(&mut self, at: Place) -> Result<(), LogError> {
        let (id_at, written) = self.text.whole("identifier")?;
        let (name_at, name) = self.text.name("name of a message")?;
        self.text.must(':')?;
        let (_, length) = self.text.whole("length in bytes")?;
        self.text.pass_line()?;
        self.into = Into::LeftOut;
        if written == NOWHERE {
            return Ok(());
        }
        let Some(id) = identifier(written) else {
            let what = format!("identifier {written}");
            let allowed = "0 to 2047, or 2147483648 and 29 bits";
            return Err(id_at.wrong(what, allowed));
        };
        if length > LONGEST {
            let what = format!("message `{name}` of {length} bytes; a frame has at most {LONGEST}");
            self.leave_out(at, what);
            return Ok(());
        }
        let place = self.database.messages.len();
        if self.ids.insert(id, place).is_some() {
            let what = format!("a second message of identifier {written}");
            return Err(id_at.wrong(what, "one message for each identifier"));
        }
        if !self.names.insert(name.clone()) {
            let what = format!("a second message `{name}`");
            return Err(name_at.wrong(what, "each name once"));
        }
        self.into = Into::Message(place);
        self.database.messages.push(Message {
            id: id.0,
            extended: id.1,
            name,
            length: length as usize,
            signals: Vec::new(),
        });
        self.places.push(Vec::new());
        Ok(())
    }

    fn signal(&mut self, at: Place) -> Result<(), LogError> {
        let (name_at, name) = self.text.name("name of a signal")?;
        self.text.spaces();
        let shown = if self.text.peek() == Some(':') {
            Some(Shown::Always)
        } else {
            let (word_at, word) = self.text.name("`:`, `M` or `m` and a number")?;
            match switch(&word) {
                Some(shown) => shown,
                None => {
                    let what = format!("`{word}`");
                    return Err(word_at.wrong(what, "`:`, `M` or `m` and a number"));
                }
            }
        };
        self.text.must(':')?;
        let (_, start) = self.text.whole("place of the first bit")?;
        self.text.must('|')?;
        let (bits_at, bits) = self.text.whole("number of bits")?;
        self.text.must('@')?;
        let order = match self.text.one_of(&['0', '1'])? {
            '0' => Order::Big,
            _ => Order::Little,
        };
        let form = match self.text.one_of(&['+', '-'])? {
            '-' => Form::Signed,
            _ => Form::Unsigned,
        };
        self.text.must('(')?;
        let factor = self.text.number("factor")?;
        self.text.must(',')?;
        let offset = self.text.number("offset")?;
        self.text.must(')')?;
        self.text.must('[')?;
        let low = self.text.number("lowest value")?;
        self.text.must('|')?;
        let high = self.text.number("highest value")?;
        self.text.must(']')?;
        let unit = self.text.string()?;
        self.text.pass_line()?;
        if !(1..=64).contains(&bits) {
            return Err(bits_at.wrong(format!("{bits} bits"), "1 to 64"));
        }
        let message = match self.into {
            Into::Nothing => {
                return Err(at.wrong("a signal without a message".into(), "`BO_` first"));
            }
            Into::LeftOut => return Ok(()),
            Into::Message(place) => place,
        };
        let (Some(of), Some(places)) = (
            self.database.messages.get_mut(message),
            self.places.get_mut(message),
        ) else {
            return Ok(());
        };
        if of.signals.len() >= MOST_SIGNALS {
            let allowed = format!("at most {MOST_SIGNALS}");
            return Err(at.wrong("too many signals in one message".into(), &allowed));
        }
        if of.signals.iter().any(|other| other.name == name) {
            let what = format!("a second signal `{name}` in `{}`", of.name);
            return Err(name_at.wrong(what, "each name once in a message"));
        }
        let signal = Signal {
            name,
            unit,
            start: u32::try_from(start).unwrap_or(u32::MAX / 2),
            bits: bits as u32,
            order,
            form,
            factor,
            offset,
            range: (low < high).then_some((low, high)),
            shown: shown.unwrap_or(Shown::Always),
        };
        let whole = format!("signal `{}.{}`", of.name, signal.name);
        let why = if shown.is_none() {
            Some("a switch behind a switch")
        } else if !signal.fits(of.length) {
            Some("its bits do not lie in its message")
        } else if signal.factor == 0.0 {
            Some("its factor is zero")
        } else {
            None
        };
        match why {
            Some(why) => self.leave_out(at, format!("{whole}: {why}")),
            None => {
                of.signals.push(signal);
                places.push(at);
            }
        }
        Ok(())
    }

    /// `SIG_VALTYPE_ identifier signal : 1;`
    fn form(&mut self, at: Place) -> Result<(), LogError> {
        let (_, written) = self.text.whole("identifier")?;
        let (_, name) = self.text.name("name of a signal")?;
        self.text.spaces();
        self.text.takes(':');
        let (kind_at, kind) = self.text.whole("0, 1 or 2")?;
        self.text.must(';')?;
        let form = match kind {
            0 => return Ok(()),
            1 => (Form::Single, 32),
            2 => (Form::Double, 64),
            _ => return Err(kind_at.wrong(format!("form {kind}"), "0 whole, 1 float, 2 double")),
        };
        let message = identifier(written).and_then(|id| self.ids.get(&id).copied());
        let Some((of, places)) = message.and_then(|place| {
            Some((
                self.database.messages.get_mut(place)?,
                self.places.get_mut(place)?,
            ))
        }) else {
            return Ok(());
        };
        let Some(place) = of.signals.iter().position(|signal| signal.name == name) else {
            return Ok(());
        };
        if of.signals[place].bits == form.1 {
            of.signals[place].form = form.0;
        } else {
            let what = format!(
                "signal `{}.{name}`: a float of {} bits",
                of.name, of.signals[place].bits
            );
            of.signals.remove(place);
            places.remove(place);
            self.leave_out(at, what);
        }
        Ok(())
    }

    /// `SG_MUL_VAL_ identifier signal switch 1-1, 3-4;`
    fn multiplexed(&mut self, at: Place) -> Result<(), LogError> {
        let (_, written) = self.text.whole("identifier")?;
        let (_, signal) = self.text.name("name of a signal")?;
        let (_, switch) = self.text.name("name of its switch")?;
        let mut ranges = Vec::new();
        loop {
            let (_, low) = self.text.whole("first value")?;
            self.text.must('-')?;
            let (_, high) = self.text.whole("last value")?;
            ranges.push((low, high));
            self.text.spaces();
            if !self.text.takes(',') {
                break;
            }
        }
        self.text.must(';')?;
        if let Some(id) = identifier(written) {
            self.switches.push(Switched {
                at,
                id,
                signal,
                switch,
                ranges,
            });
        }
        Ok(())
    }

    /// The database, without what stands behind switches this reader does not follow.
    fn settled(mut self) -> Database {
        for one in std::mem::take(&mut self.switches) {
            let Some(place) = self.ids.get(&one.id).copied() else {
                continue;
            };
            let (Some(of), Some(places)) = (
                self.database.messages.get_mut(place),
                self.places.get_mut(place),
            ) else {
                continue;
            };
            let Some(at) = of.signals.iter().position(|other| other.name == one.signal) else {
                continue;
            };
            let is_switch = |name: &str| {
                let found = of.signals.iter().find(|other| other.name == name);
                found.is_some_and(|other| other.shown == Shown::Switch)
            };
            let plain = match (of.signals[at].shown, one.ranges.as_slice()) {
                (Shown::When(value), [range]) => *range == (value, value) && is_switch(&one.switch),
                _ => false,
            };
            if !plain {
                let what = format!("signal `{}.{}`: extended multiplexing", of.name, one.signal);
                of.signals.remove(at);
                places.remove(at);
                self.leave_out(one.at, what);
            }
        }
        for place in 0..self.database.messages.len() {
            let of = &mut self.database.messages[place];
            let switches = of.signals.iter().filter(|one| one.shown == Shown::Switch);
            let why = match switches.take(2).fold(0, |count, _| count + 1) {
                1 => continue,
                0 => "its message has no switch that can be read",
                _ => "its message has two switches",
            };
            let behind = |one: &Signal| matches!(one.shown, Shown::When(_));
            let lost: Vec<(Place, String)> = of
                .signals
                .iter()
                .zip(&self.places[place])
                .filter(|(one, _)| behind(one))
                .map(|(one, at)| (*at, format!("signal `{}.{}`: {why}", of.name, one.name)))
                .collect();
            of.signals.retain(|one| !behind(one));
            for (at, what) in lost {
                self.leave_out(at, what);
            }
        }
        self.database
            .left_out
            .sort_by_key(|one| (one.line, one.column));
        self.database.places = self.ids;
        self.database
    }
}

/// Identifier and whether it has 29 bits; nothing if it has more.
fn identifier(written: u64) -> Option<(u32, bool)> {
    let extended = written & EXTENDED != 0;
    let id = u32::try_from(written & !EXTENDED).ok()?;
    let most = if extended { 0x1fff_ffff } else { 0x7ff };
    (id <= most).then_some((id, extended))
}

/// What a word behind a signal's name means: nothing if it is none, nothing inside for a switch behind a switch.
fn switch(word: &str) -> Option<Option<Shown>> {
    if word == "M" {
        return Some(Some(Shown::Switch));
    }
    let rest = word.strip_prefix('m')?;
    let (digits, nested) = match rest.strip_suffix('M') {
        Some(digits) => (digits, true),
        None => (rest, false),
    };
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let value = digits.parse().ok()?;
    Some((!nested).then_some(Shown::When(value)))
}

/// Whether a statement begins with this word.
pub(super) fn known(word: &str) -> bool {
    READ.contains(&word) || PASSED.contains(&word)
}
