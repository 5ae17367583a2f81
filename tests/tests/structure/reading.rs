//! Sources as text: files of the tree, code without comments, imported paths.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The text without comments, literals and unit tests.
pub fn code_of(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let mut code = String::with_capacity(text.len());
    for line in text.lines() {
        let mut literal = false;
        let mut before = ' ';
        for character in line.chars() {
            if character == '"' && before != '\\' && before != '\'' {
                literal = !literal;
            } else if !literal {
                if character == '/' && before == '/' {
                    code.pop();
                    break;
                }
                code.push(character);
            }
            before = character;
        }
        code.push('\n');
    }
    code
}

pub fn inside_word(code: &str, at: usize) -> bool {
    code[..at].ends_with(|before: char| before.is_alphanumeric() || before == '_')
}

/// `stage/thermal/ledger.rs` is the module `[stage, thermal, ledger]`.
pub fn module_of(inside: &str) -> Vec<String> {
    let mut module: Vec<String> = inside
        .trim_end_matches(".rs")
        .split('/')
        .map(str::to_owned)
        .collect();
    if module.last().is_some_and(|last| last == "mod") {
        module.pop();
    }
    module
}

/// Every path that starts with `crate::` or `super::`, from the crate's root, groups opened.
pub fn imported_paths(code: &str, module: &[String]) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    for (at, start) in code
        .match_indices("crate::")
        .chain(code.match_indices("super::"))
    {
        let continued = code[..at].ends_with("super::");
        if continued || inside_word(code, at) {
            continue;
        }
        let mut rest = &code[at..];
        let mut base = if start == "crate::" {
            Vec::new()
        } else {
            module.to_vec()
        };
        if let Some(after) = rest.strip_prefix("crate::") {
            rest = after;
        }
        while let Some(after) = rest.strip_prefix("super::") {
            base.pop();
            rest = after;
        }
        open_path(rest, &base, &mut found);
    }
    found
}

/// Reads `a::b::{c, d::e}` at the start of `rest`; gives back how many bytes it took.
fn open_path(rest: &str, base: &[String], found: &mut Vec<Vec<String>>) -> usize {
    let word = rest.len()
        - rest
            .trim_start_matches(|c: char| c.is_alphanumeric() || c == '_')
            .len();
    if word > 0 {
        let mut path = base.to_vec();
        path.push(rest[..word].to_owned());
        return match rest[word..].strip_prefix("::") {
            Some(after)
                if after.starts_with(|c: char| c.is_alphanumeric() || c == '_' || c == '{') =>
            {
                word + 2 + open_path(after, &path, found)
            }
            _ => {
                found.push(path);
                word
            }
        };
    }
    if !rest.starts_with('{') {
        return 0;
    }
    let mut at = 1;
    while at < rest.len() && !rest[at..].starts_with('}') {
        let taken = open_path(&rest[at..], base, found);
        at += if taken > 0 {
            taken
        } else {
            rest[at..].chars().next().map_or(1, char::len_utf8)
        };
    }
    (at + 1).min(rest.len())
}

pub fn function_names() -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for (_, text) in sources() {
        for piece in text
            .split("#[test]")
            .skip(1)
            .chain(text.split("proptest!").skip(1))
        {
            for after in piece.split("fn ").skip(1) {
                names.insert(
                    after
                        .chars()
                        .take_while(|c| c.is_alphanumeric() || *c == '_')
                        .collect(),
                );
            }
        }
    }
    names
}

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .canonicalize()
        .expect("the repository is readable")
}

pub fn read(place: &str) -> String {
    fs::read_to_string(root().join(place)).unwrap_or_else(|why| panic!("{place}: {why}"))
}

pub fn relative(path: &Path) -> String {
    path.strip_prefix(root())
        .unwrap_or(path)
        .to_string_lossy()
        .into_owned()
}

/// All Rust sources: place from the root, text.
pub fn sources() -> Vec<(String, String)> {
    let found: Vec<_> = files_under(&root(), "rs")
        .iter()
        .map(|path| (relative(path), read(&relative(path))))
        .collect();
    assert!(
        found.len() > 60,
        "only {} sources found: the walk is broken",
        found.len()
    );
    found
}

pub fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap_or_else(|why| panic!("{}: {why}", folder.display()));
    let mut names: Vec<String> = entries
        .flatten()
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

pub fn files_under(folder: &Path, extension: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for name in names_in(folder) {
        let path = folder.join(&name);
        if path.is_dir() {
            let made =
                name == "target" || name == ".git" || name == "book" || name == "node_modules";
            if !made {
                found.extend(files_under(&path, extension));
            }
        } else if path.extension().is_some_and(|found| found == extension) {
            found.push(path);
        }
    }
    found
}
