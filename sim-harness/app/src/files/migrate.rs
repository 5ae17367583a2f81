//! Carries a setting file over from an older layout of the calibration table.
//!
//! Input: text, the layout it was written for, the history of the table. Output: the text for today's layout and a note
//! for everything that changed. Promise: every tunable that both layouts have keeps the number it had, also where the file
//! left it to a default that has moved since; comments stay. Nothing is written to the file itself.

use couplet_controller::calibration::history::{Change, FIRST, HISTORY, Place, Step};
use couplet_controller::calibration::page::LAYOUT;
use toml_edit::{DocumentMut, Item, Key, Table, value};

use super::Source;
use crate::failure::Refusal;

/// A setting file for today's layout.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Migrated {
    /// The file's text.
    pub text: String,
    /// What changed, one line each.
    pub notes: Vec<String>,
}

/// What became of a tunable that the table no longer has under this name; nothing if it never had it.
pub fn past(group: &str, name: &str) -> Option<String> {
    HISTORY.iter().find_map(|step| {
        let layout = step.layout;
        step.changes.iter().find_map(|change| match *change {
            Change::Renamed { from, to } if from == (group, name) => Some(format!(
                "since layout {layout} it is `{}` in [{}]; couplet migrate carries the file over",
                to.1, to.0
            )),
            Change::Removed { from, instead } if from == (group, name) => Some(format!(
                "it went with layout {layout}: {instead}; couplet migrate carries the file over"
            )),
            _ => None,
        })
    })
}

impl Source {
    /// The file for today's layout; `from` is the layout it was written for, if it does not say so itself.
    ///
    /// # Errors
    /// Syntax errors, an unknown layout, and everything the reader refuses in the outcome.
    pub fn migrated(&self, from: Option<u32>) -> Result<Migrated, Vec<Refusal>> {
        let refuse = |offset, what: String, advice: &str| {
            let allowed = format!("layouts {FIRST} to {LAYOUT}");
            vec![Refusal::at(
                &self.file,
                &self.text,
                offset,
                what,
                allowed,
                advice.into(),
            )]
        };
        let document: DocumentMut = self.text.parse().map_err(|error: toml_edit::TomlError| {
            let offset = error.span().map_or(0, |span| span.start);
            let message = error.message().lines().collect::<Vec<_>>().join(", ");
            refuse(
                offset,
                format!("syntax error: {message}"),
                "correct the syntax at this place",
            )
        })?;
        let own = document.get("layout").and_then(Item::as_integer);
        let layout = match (own, from) {
            (Some(own), Some(from)) if own != i64::from(from) => {
                let what = format!("the file says layout {own}, the command says {from}");
                return Err(refuse(0, what, "leave out --from, or correct the file"));
            }
            (Some(own), _) => u32::try_from(own).unwrap_or(0),
            (None, Some(from)) => from,
            (None, None) => {
                let what = "the file does not say which layout it was written for".to_owned();
                return Err(refuse(0, what, "say so with --from N"));
            }
        };
        if !(FIRST..=LAYOUT).contains(&layout) {
            let what = format!("nothing is known of layout {layout}");
            return Err(refuse(0, what, "use the program that wrote it"));
        }
        let steps: Vec<Step> = HISTORY
            .iter()
            .filter(|step| step.layout > layout)
            .copied()
            .collect();
        let migrated = replay(document, &steps);
        let outcome = Source {
            file: format!("{} (carried over)", self.file),
            name: self.name.clone(),
            text: migrated.text.clone(),
        };
        outcome.setting().map(|_| migrated)
    }
}

fn replay(mut document: DocumentMut, steps: &[Step]) -> Migrated {
    let (mut notes, mut homeless) = (Vec::new(), String::new());
    let mut note = |layout: u32, said: String| notes.push(format!("layout {layout}: {said}"));
    for Step { layout, changes } in steps {
        for change in *changes {
            match *change {
                Change::Added((group, name)) => {
                    note(*layout, format!("new: {group}.{name}, left to its default"));
                }
                Change::Renamed { from, to } => {
                    if let Some((key, item)) = taken(&mut document, from, &mut homeless) {
                        put(&mut document, to, Some(&key), item);
                        let said = format!("{}.{} is now {}.{}", from.0, from.1, to.0, to.1);
                        note(*layout, said);
                    }
                }
                Change::Removed { from, instead } => {
                    if let Some((_, item)) = taken(&mut document, from, &mut homeless) {
                        let was = item.to_string();
                        let (group, name) = from;
                        let said = format!("gone: {group}.{name}, was {}; {instead}", was.trim());
                        note(*layout, said);
                    }
                }
                Change::DefaultMoved { of, before } => {
                    let (group, name) = of;
                    if document
                        .get(group)
                        .and_then(|table| table.get(name))
                        .is_none()
                    {
                        // Through text, so that 0.1 stays 0.1.
                        let number = before.to_string().parse().unwrap_or(f64::from(before));
                        put(&mut document, of, None, value(number));
                        let said = format!("{group}.{name} keeps its default of then, {before}");
                        note(*layout, said);
                    }
                }
            }
        }
    }
    let said = document.contains_key("layout");
    if said {
        document["layout"] = value(i64::from(LAYOUT));
    }
    let text = homeless + &document.to_string();
    let text = if said {
        text
    } else {
        below_the_head(&text, &format!("layout = {LAYOUT}"))
    };
    Migrated { text, notes }
}
/// The key with its comments and the value under a name, taken out. A table goes with its last key; comments that stood
/// before it are added to `homeless`.
fn taken(
    document: &mut DocumentMut,
    (group, name): Place,
    homeless: &mut String,
) -> Option<(Key, Item)> {
    let table = document.get_mut(group)?.as_table_mut()?;
    let taken = table.remove_entry(name)?;
    if table.is_empty() {
        let before = table.decor().prefix().and_then(|text| text.as_str());
        *homeless += before.unwrap_or_default();
        document.remove(group);
    }
    Some(taken)
}

fn put(document: &mut DocumentMut, (group, name): Place, key: Option<&Key>, item: Item) {
    let table = document
        .entry(group)
        .or_insert_with(|| Item::Table(Table::new()));
    if let Some(table) = table.as_table_mut() {
        let decor = key.map(|key| key.leaf_decor().clone());
        let key = Key::new(name).with_leaf_decor(decor.unwrap_or_default());
        table.insert_formatted(&key, item);
    }
}

/// `line` after the comments a file begins with.
fn below_the_head(text: &str, line: &str) -> String {
    let head: usize = text
        .split_inclusive('\n')
        .take_while(|line| line.starts_with('#'))
        .map(str::len)
        .sum();
    let (head, rest) = text.split_at(head);
    format!("{head}{line}\n{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEPS: &[Step] = &[
        Step {
            layout: 98,
            changes: &[
                Change::Renamed {
                    from: ("sporting", "nimble"),
                    to: ("setting", "nimbleness"),
                },
                Change::Removed {
                    from: ("setting", "noise"),
                    instead: "nothing made use of it",
                },
                Change::DefaultMoved {
                    of: ("setting", "calm"),
                    before: 0.1,
                },
            ],
        },
        Step {
            layout: 99,
            changes: &[
                Change::Renamed {
                    from: ("setting", "nimbleness"),
                    to: ("setting", "agility"),
                },
                Change::Renamed {
                    from: ("setting", "calm"),
                    to: ("setting", "steadiness"),
                },
                Change::Added(("setting", "slide_allowance_deg")),
            ],
        },
    ];

    fn carried(text: &str) -> (RawSetting, Migrated) {
        let migrated = replay(text.parse().expect("TOML"), STEPS);
        let source = Source {
            file: "file".into(),
            name: "file".into(),
            text: migrated.text.clone(),
        };
        let setting = source.setting().expect("accepted").tunables.setting;
        ((setting.agility, setting.steadiness), migrated)
    }

    type RawSetting = (f32, f32);

    #[test]
    fn numbers_keep_their_meaning_over_renames_moves_and_moved_defaults() {
        let text = "# head\n\n# of the group\n[sporting]\n# why\nnimble = 0.7 # here\n\n[setting]\nnoise = 3\n";
        let (numbers, migrated) = carried(text);
        assert_eq!(numbers, (0.7, 0.1));
        assert!(
            migrated.text.starts_with("# head\nlayout = "),
            "{}",
            migrated.text
        );
        for comment in ["# of the group", "# why", "# here"] {
            assert!(migrated.text.contains(comment), "{}", migrated.text);
        }
        assert_eq!(migrated.notes.len(), 6, "{:?}", migrated.notes);
    }

    #[test]
    fn a_number_the_file_sets_is_not_replaced_by_the_default_of_then() {
        let (numbers, _) = carried("layout = 97\n[setting]\ncalm = 0.25\n[sporting]\nnimble = 1\n");
        assert_eq!(numbers, (1.0, 0.25));
    }

    #[test]
    fn a_file_of_today_comes_back_as_it_was() {
        let text = format!("# head\nlayout = {LAYOUT}\n\n[setting]\n# why\nagility = 0.3\n");
        let source = Source {
            file: "file".into(),
            name: "file".into(),
            text: text.clone(),
        };
        let migrated = source.migrated(None).expect("accepted");
        assert_eq!((migrated.text, migrated.notes.len()), (text, 0));
    }

    #[test]
    fn a_file_without_a_layout_or_of_an_unknown_one_is_refused_with_what_to_do() {
        let source = |text: &str| Source {
            file: "file".into(),
            name: "file".into(),
            text: text.into(),
        };
        let said = |refusals: Vec<Refusal>| refusals[0].to_string();
        let unsaid = source("[setting]\n").migrated(None).expect_err("refused");
        assert!(said(unsaid).contains("--from N"));
        let newer = source("layout = 999\n")
            .migrated(None)
            .expect_err("refused");
        assert!(said(newer).contains("layout 999"));
        let differ = source("layout = 2\n")
            .migrated(Some(3))
            .expect_err("refused");
        assert!(said(differ).contains("layout 2"));
        assert_eq!(
            source("[setting\n").migrated(Some(2)).expect_err("refused")[0].line,
            1
        );
    }
}
