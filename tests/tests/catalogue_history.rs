//! The history of the calibration table is complete: replayed on its recorded base it gives today's table.

use std::collections::BTreeMap;

use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::history::{Change, FIRST, HISTORY};

/// Unit and default by `group.name`, of the first layout that can be carried over.
const BASE: &str = include_str!("../golden/catalogue_layout_2.txt");

type Table = BTreeMap<String, (String, f32)>;

fn base() -> Table {
    BASE.lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let (name, rest) = line.split_once(" [").expect("name [unit] default");
            let (unit, default) = rest.split_once("] ").expect("name [unit] default");
            let default = default.parse().expect("a number");
            (name.to_owned(), (unit.to_owned(), default))
        })
        .collect()
}

fn today() -> Table {
    ENTRIES
        .iter()
        .map(|entry| {
            let name = format!("{}.{}", entry.group, entry.name);
            (name, (entry.unit.to_owned(), entry.default))
        })
        .collect()
}

#[test]
fn every_change_of_the_table_since_the_recorded_layout_is_in_its_history() {
    assert_eq!(FIRST, 2, "the base file is of layout 2");
    let (mut table, today) = (base(), today());
    let key = |(group, name): (&str, &str)| format!("{group}.{name}");
    let mut moved = Vec::new();
    for step in HISTORY {
        for change in step.changes {
            match *change {
                Change::Added(place) => {
                    // What the default was when it came shows in later moves only; today's stands in.
                    let now = today.get(&key(place)).cloned();
                    let value = now.unwrap_or_else(|| ("?".to_owned(), f32::NAN));
                    assert!(
                        table.insert(key(place), value).is_none(),
                        "{place:?} was there before layout {}",
                        step.layout
                    );
                }
                Change::Renamed { from, to } => {
                    let value = table.remove(&key(from));
                    let value = value.unwrap_or_else(|| panic!("{from:?} was not there"));
                    assert!(table.insert(key(to), value).is_none(), "{to:?} was taken");
                }
                Change::Removed { from, instead } => {
                    assert!(table.remove(&key(from)).is_some(), "{from:?} was not there");
                    assert!(!instead.is_empty());
                }
                Change::DefaultMoved { of, before } => {
                    let found = table.get(&key(of)).map(|(_, default)| *default);
                    assert!(
                        found == Some(before) || moved.contains(&key(of)),
                        "{of:?} was {found:?}, not {before}"
                    );
                    moved.push(key(of));
                    let now = today.get(&key(of)).map_or(f32::NAN, |(_, now)| *now);
                    if let Some((_, default)) = table.get_mut(&key(of)) {
                        *default = now;
                    }
                }
            }
        }
    }
    let missing: Vec<_> = today
        .iter()
        .filter(|&(k, v)| table.get(k) != Some(v))
        .collect();
    let left: Vec<_> = table.keys().filter(|k| !today.contains_key(*k)).collect();
    assert!(
        missing.is_empty() && left.is_empty(),
        "raise LAYOUT and add a step to controller/src/calibration/history.rs: new or moved {missing:?}, gone {left:?}"
    );
}

#[test]
fn layouts_follow_one_another_without_a_gap() {
    let layouts: Vec<u32> = HISTORY.iter().map(|step| step.layout).collect();
    let wanted: Vec<u32> = (FIRST + 1..=FIRST + HISTORY.len() as u32).collect();
    assert_eq!(layouts, wanted);
}
