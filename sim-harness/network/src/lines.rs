//! Lines of a text log, one at a time, and where something is wrong in them.
//!
//! A line is at most [`LONGEST_LINE`] bytes of UTF-8; lines that begin with `#` are remarks. One line is kept in memory.

use std::fmt;
use std::io::{BufRead, Read};

/// Longest line, bytes.
const LONGEST_LINE: u64 = 256;

/// What is wrong with a text, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogError {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What is allowed.
    pub allowed: String,
}

impl fmt::Display for LogError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            line,
            column,
            what,
            allowed,
        } = self;
        write!(f, "{line}:{column}: {what}; allowed: {allowed}")
    }
}

impl std::error::Error for LogError {}

/// Reads lines.
#[derive(Debug)]
pub(crate) struct Lines<R: BufRead> {
    from: R,
    /// Line read last, from 1.
    pub line: usize,
    /// Its text without the end of line.
    pub text: String,
}

impl<R: BufRead> Lines<R> {
    pub fn of(from: R) -> Self {
        Self {
            from,
            line: 0,
            text: String::new(),
        }
    }

    /// Reads a line that is no remark; its text without the end of line.
    pub fn next_line(&mut self, wanted: &str) -> Result<(), LogError> {
        loop {
            if !self.read_line()? {
                let what = "the log ends here".to_owned();
                return Err(self.wrong(1, what, wanted.to_owned()));
            }
            if !self.text.starts_with('#') {
                return Ok(());
            }
        }
    }

    /// Reads a line; says whether there was one.
    pub fn read_line(&mut self) -> Result<bool, LogError> {
        self.line += 1;
        self.text.clear();
        let mut bytes = Vec::new();
        let read = self
            .from
            .by_ref()
            .take(LONGEST_LINE + 1)
            .read_until(b'\n', &mut bytes);
        if let Err(error) = read {
            return Err(self.wrong(1, error.to_string(), "a file that can be read".into()));
        }
        if bytes.is_empty() {
            return Ok(false);
        }
        let at = bytes.len();
        if bytes.pop() != Some(b'\n') {
            let what = if at as u64 > LONGEST_LINE {
                format!("a line of more than {LONGEST_LINE} bytes")
            } else {
                "the log ends within a line".to_owned()
            };
            return Err(self.wrong(at, what, "whole lines".into()));
        }
        match String::from_utf8(bytes) {
            Ok(text) => self.text = text.trim_end_matches('\r').to_owned(),
            Err(error) => {
                let at = error.utf8_error().valid_up_to() + 1;
                return Err(self.wrong(at, "not text".into(), "UTF-8".into()));
            }
        }
        Ok(true)
    }

    pub fn must_be(&mut self, wanted: &str) -> Result<(), LogError> {
        let allowed = format!("the line `{wanted}`");
        self.next_line(&allowed)?;
        if self.text == wanted {
            return Ok(());
        }
        let what = format!("`{}`", self.text.escape_debug());
        Err(self.wrong(1, what, allowed))
    }

    pub fn wrong(&self, column: usize, what: String, allowed: String) -> LogError {
        LogError {
            line: self.line,
            column,
            what,
            allowed,
        }
    }
}

/// Digits only: `parse` would take a sign as well.
pub(crate) fn digits(text: &str, radix: u32) -> Option<u64> {
    let only = !text.is_empty() && text.chars().all(|c| c.is_digit(radix));
    only.then(|| u64::from_str_radix(text, radix).ok())
        .flatten()
}

/// Words of a line with their places.
pub(crate) struct Columns<'a> {
    pub text: &'a str,
    pub at: usize,
}

impl<'a> Columns<'a> {
    pub fn next(&mut self) -> (usize, &'a str) {
        let rest = self.text.get(self.at..).unwrap_or_default();
        let word = rest.split(' ').next().unwrap_or_default();
        let at = self.at.min(self.text.len());
        self.at += word.len() + 1;
        (at, word)
    }
}
