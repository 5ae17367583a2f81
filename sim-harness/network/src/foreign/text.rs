//! A text read letter by letter, with the place of each.

use super::reader::known as begins;
use crate::lines::LogError;

/// Longest name, letters.
const LONGEST_NAME: usize = 256;

/// A place in a text, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    pub line: usize,
    pub column: usize,
}

impl Place {
    /// Something wrong here.
    pub fn wrong(self, what: String, allowed: &str) -> LogError {
        LogError {
            line: self.line,
            column: self.column,
            what,
            allowed: allowed.to_owned(),
        }
    }
}

/// The rest of a text.
pub(super) struct Text<'a> {
    rest: &'a str,
    pub place: Place,
}

impl<'a> Text<'a> {
    pub fn of(rest: &'a str) -> Self {
        Self {
            rest,
            place: Place { line: 1, column: 1 },
        }
    }

    pub fn peek(&self) -> Option<char> {
        self.rest.chars().next()
    }

    fn bump(&mut self) -> Option<char> {
        let mut letters = self.rest.chars();
        let letter = letters.next()?;
        self.rest = letters.as_str();
        if letter == '\n' {
            self.place.line += 1;
            self.place.column = 1;
        } else {
            self.place.column += 1;
        }
        Some(letter)
    }

    /// Passes over blanks and ends of lines.
    pub fn blanks(&mut self) {
        while self.peek().is_some_and(char::is_whitespace) {
            self.bump();
        }
    }

    /// Passes over blanks within a line.
    pub fn spaces(&mut self) {
        while self
            .peek()
            .is_some_and(|one| one != '\n' && one.is_whitespace())
        {
            self.bump();
        }
    }

    /// Takes the letter if it comes next, blanks aside.
    pub fn takes(&mut self, letter: char) -> bool {
        self.spaces();
        let there = self.peek() == Some(letter);
        if there {
            self.bump();
        }
        there
    }

    /// Takes the letters that satisfy `of`.
    fn take_while(&mut self, of: impl Fn(char) -> bool) -> &'a str {
        let whole = self.rest;
        let end = whole.find(|one| !of(one)).unwrap_or(whole.len());
        let taken = whole.get(..end).unwrap_or_default();
        for _ in taken.chars() {
            self.bump();
        }
        taken
    }

    /// A word; what comes next up to a blank if it is none.
    pub fn word(&mut self) -> &'a str {
        self.blanks();
        let word = self.take_while(|one| one.is_alphanumeric() || one == '_');
        if word.is_empty() {
            return self.take_while(|one| !one.is_whitespace());
        }
        word
    }

    /// The next word, which is not taken; empty if what comes next is none.
    pub fn next_word(&mut self) -> &'a str {
        self.blanks();
        self.next_word_here()
    }

    /// What is there, in words.
    fn found(&self) -> String {
        let shown: String = self
            .rest
            .chars()
            .take_while(|one| !one.is_whitespace())
            .take(40)
            .collect();
        match self.peek() {
            None => "the text ends here".to_owned(),
            Some(_) if shown.is_empty() => "the line ends here".to_owned(),
            Some(_) => format!("`{}`", shown.escape_debug()),
        }
    }

    pub fn must(&mut self, letter: char) -> Result<(), LogError> {
        if self.takes(letter) {
            return Ok(());
        }
        Err(self.place.wrong(self.found(), &format!("`{letter}`")))
    }

    pub fn one_of(&mut self, letters: &[char]) -> Result<char, LogError> {
        self.spaces();
        match self.peek().filter(|one| letters.contains(one)) {
            Some(letter) => {
                self.bump();
                Ok(letter)
            }
            None => {
                let all: Vec<String> = letters.iter().map(|one| format!("`{one}`")).collect();
                Err(self.place.wrong(self.found(), &all.join(" or ")))
            }
        }
    }

    pub fn name(&mut self, what: &str) -> Result<(Place, String), LogError> {
        self.spaces();
        let (at, found) = (self.place, self.found());
        let name = self.take_while(|one| one.is_alphanumeric() || one == '_');
        if name.is_empty() || name.len() > LONGEST_NAME {
            return Err(at.wrong(found, what));
        }
        Ok((at, name.to_owned()))
    }

    pub fn whole(&mut self, what: &str) -> Result<(Place, u64), LogError> {
        self.spaces();
        let (at, found) = (self.place, self.found());
        let digits = self.take_while(|one| one.is_ascii_digit());
        match digits.parse() {
            Ok(number) => Ok((at, number)),
            Err(_) => Err(at.wrong(found, &format!("{what}, a whole number"))),
        }
    }

    pub fn number(&mut self, what: &str) -> Result<f64, LogError> {
        self.spaces();
        let (at, found) = (self.place, self.found());
        let word = self.take_while(|one| one.is_ascii_digit() || "+-.eE".contains(one));
        match word.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(number),
            _ => Err(at.wrong(found, &format!("{what}, a number"))),
        }
    }

    /// A text between quotes, which may have lines.
    pub fn string(&mut self) -> Result<String, LogError> {
        self.must('"')?;
        let at = self.place;
        let mut text = String::new();
        loop {
            match self.bump() {
                Some('"') => return Ok(text),
                Some('\\') if self.peek() == Some('"') => text.extend(self.bump()),
                Some(letter) => text.push(letter),
                None => {
                    let what = "a text that begins here does not end".to_owned();
                    return Err(at.wrong(what, "a text between quotes"));
                }
            }
        }
    }

    /// To the next line; texts between quotes may have lines of their own.
    pub fn pass_line(&mut self) -> Result<(), LogError> {
        while let Some(letter) = self.peek() {
            if letter == '"' {
                self.string()?;
                continue;
            }
            self.bump();
            if letter == '\n' {
                break;
            }
        }
        Ok(())
    }

    /// Behind the next `;`, or to the line that begins with another statement: some programs leave it out.
    pub fn pass_statement(&mut self) -> Result<(), LogError> {
        let at = self.place;
        while let Some(letter) = self.peek() {
            if letter == '"' {
                self.string()?;
                continue;
            }
            self.bump();
            if letter == ';' || (letter == '\n' && begins(self.next_word_here())) {
                return Ok(());
            }
        }
        Err(at.wrong("the text ends within a statement".into(), "`;` at its end"))
    }

    fn next_word_here(&self) -> &'a str {
        let end = self
            .rest
            .find(|one: char| !(one.is_alphanumeric() || one == '_'));
        self.rest
            .get(..end.unwrap_or(self.rest.len()))
            .unwrap_or_default()
    }
}
