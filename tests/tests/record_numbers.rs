//! The page that explains the numbers in records says what the code says.

use couplet_controller::signal::{Limit, Phase};

const PAGE: &str = include_str!("../../docs/src/numbers.md");

/// Rows of the table below the heading that begins with `heading`.
fn rows(heading: &str) -> Vec<(String, String)> {
    let section = PAGE
        .split("\n## ")
        .find(|section| section.starts_with(heading));
    section
        .unwrap_or_default()
        .lines()
        .filter_map(|line| {
            line.strip_prefix("| ")?
                .strip_suffix(" |")?
                .split_once(" | ")
        })
        .map(|(number, name)| (number.to_owned(), name.to_owned()))
        .filter(|(number, _)| number.parse::<u8>().is_ok())
        .collect()
}

#[test]
fn the_page_names_every_limit_with_its_number() {
    let code: Vec<(String, String)> = Limit::ALL
        .iter()
        .map(|limit| (limit.number().to_string(), limit.name().to_owned()))
        .collect();
    assert_eq!(rows("`limit_left`"), code);
}

#[test]
fn the_page_names_every_phase_with_its_number() {
    let phases = [
        Phase::Cruise,
        Phase::Launch,
        Phase::TurnIn,
        Phase::MidCorner,
        Phase::Exit,
        Phase::LiftOff,
        Phase::Evasive,
        Phase::CounterSteer,
    ];
    let words = |phase: Phase| {
        let mut text = String::new();
        for letter in format!("{phase:?}").chars() {
            if letter.is_uppercase() && !text.is_empty() {
                text.push(' ');
            }
            text.extend(letter.to_lowercase());
        }
        text
    };
    let code: Vec<(String, String)> = phases
        .iter()
        .map(|phase| ((*phase as u8).to_string(), words(*phase)))
        .collect();
    assert_eq!(rows("`phase`"), code);
}
