//! Everything that can go wrong, with the place in the file where it did.
//!
//! A [`Refusal`] says what is wrong, what is allowed and what to do, at `file:line:column`. Lines and columns count from
//! 1, columns in characters. A file that cannot be read at all is refused at its start.

use std::fmt;

/// One thing wrong with one input file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// File as the user named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What is allowed: range with unit, list of names.
    pub allowed: String,
    /// What to do.
    pub advice: String,
}

/// What stands for the file where the command line is at fault.
const COMMAND_LINE: &str = "command line";

impl Refusal {
    /// A refusal of what was said on the command line.
    pub fn on_command_line(what: String, allowed: String, advice: String) -> Self {
        Self::at(COMMAND_LINE, "", 0, what, allowed, advice)
    }

    /// A refusal at a byte offset of `text`.
    pub fn at(
        file: &str,
        text: &str,
        offset: usize,
        what: String,
        allowed: String,
        advice: String,
    ) -> Self {
        let (line, column) = line_and_column(text, offset);
        Self {
            file: file.to_owned(),
            line,
            column,
            what,
            allowed,
            advice,
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            file,
            line,
            column,
            what,
            allowed,
            advice,
        } = self;
        // The command line has no lines.
        if file == COMMAND_LINE {
            write!(f, "{file}: ")?;
        } else {
            write!(f, "{file}:{line}:{column}: ")?;
        }
        write!(f, "{what}; allowed: {allowed}; do: {advice}")
    }
}

/// Why the program ended without a result.
#[derive(Debug)]
pub enum Failure {
    /// Input was refused; every reason is listed, none is hidden behind the first.
    Refused(Vec<Refusal>),
    /// A run broke off inside the simulation: a defect of this program.
    Run {
        /// Name of the run.
        name: String,
    },
    /// The programme names a setting that is not embedded: a defect of this program.
    UnknownSetting {
        /// The name.
        name: String,
    },
    /// There is no place for results; nothing was run.
    NoPlace {
        /// Folder or file that was to be written.
        path: String,
        /// What the operating system says.
        error: std::io::Error,
        /// What to do.
        advice: &'static str,
    },
    /// A result could not be written; results written earlier are whole.
    Write {
        /// What was written.
        path: String,
        /// What the operating system says.
        error: std::io::Error,
    },
}

impl Failure {
    /// Exit status: 2 for refused input, 1 for everything else.
    pub fn status(&self) -> u8 {
        match self {
            Self::Refused(_) => 2,
            _ => 1,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused(refusals) => {
                for refusal in refusals {
                    writeln!(f, "{refusal}")?;
                }
                let (count, noun) = (
                    refusals.len(),
                    if refusals.len() == 1 {
                        "error"
                    } else {
                        "errors"
                    },
                );
                write!(
                    f,
                    "input refused: {count} {noun}; nothing was written, earlier results are untouched"
                )
            }
            Self::Run { name } => {
                write!(
                    f,
                    "run `{name}` broke off inside the simulation; nothing was written; please report this defect"
                )
            }
            Self::UnknownSetting { name } => {
                write!(
                    f,
                    "the programme names the setting `{name}`, which is not embedded; please report this defect"
                )
            }
            Self::NoPlace {
                path,
                error,
                advice,
            } => write!(
                f,
                "cannot write to {path}: {error}; nothing was run; do: {advice}"
            ),
            Self::Write { path, error } => write!(f, "cannot write {path}: {error}"),
        }
    }
}

/// Line and column (in characters, from 1) of a byte offset; an offset past the end means the end.
fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let mut end = offset.min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let before = text.get(..end).unwrap_or_default();
    let line = before.matches('\n').count() + 1;
    let column = before
        .rsplit('\n')
        .next()
        .unwrap_or_default()
        .chars()
        .count()
        + 1;
    (line, column)
}

#[cfg(test)]
mod tests {
    use super::line_and_column;

    #[test]
    fn columns_count_characters_and_lines_count_from_one() {
        assert_eq!(line_and_column("", 0), (1, 1));
        assert_eq!(line_and_column("a\nµb = 1", "a\nµ".len()), (2, 2));
        assert_eq!(line_and_column("a\n", 99), (2, 1));
    }
}
