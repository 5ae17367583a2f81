//! The calibration page: every number bounded, named with its unit, reasoned; pages taken whole or not at all.

use couplet_controller::calibration::page::LAYOUT;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::calibration::{ENTRIES, Entry, Tunables};
use couplet_controller::{Controller, Fast, Inputs, PageRefusal, Period, RawPage};
use proptest::prelude::*;
use std::collections::BTreeSet;

fn with(entry: &Entry, value: f32) -> RawPage {
    let mut page = RawPage::default();
    (entry.write)(&mut page.tunables, value);
    page
}

fn full_name(entry: &Entry) -> String {
    format!("{}.{}", entry.group, entry.name)
}

fn entry_of(name: &str) -> &'static Entry {
    ENTRIES
        .iter()
        .find(|entry| full_name(entry) == name)
        .unwrap_or_else(|| panic!("no entry is called {name}"))
}

/// The entry a refusal names, as `group.name`.
fn refused(page: &RawPage) -> Option<String> {
    page.accept::<f32>()
        .err()
        .and_then(|refusal| refusal.entry().map(full_name))
}

#[test]
fn the_default_page_is_accepted_in_every_arithmetic() {
    assert!(RawPage::default().accept::<f32>().is_ok());
    assert!(RawPage::default().accept::<f64>().is_ok());
    assert!(RawPage::default().accept::<Fast>().is_ok());
    for entry in ENTRIES {
        assert!(entry.low < entry.high, "{}: empty range", full_name(entry));
        assert!(
            entry.admits(entry.default),
            "{}: default outside its range",
            full_name(entry)
        );
        assert_eq!(
            (entry.read)(&Tunables::DEFAULT),
            entry.default,
            "{}",
            full_name(entry)
        );
    }
}

#[test]
fn every_number_is_refused_just_outside_its_range_and_when_it_is_none() {
    for entry in ENTRIES {
        let name = full_name(entry);
        assert!(
            entry.admits(entry.low) && entry.admits(entry.high),
            "{name}: the ends belong to the range"
        );
        let broken = [
            entry.low.next_down(),
            entry.high.next_up(),
            f32::NAN,
            f32::INFINITY,
            f32::NEG_INFINITY,
            -f32::NAN,
        ];
        for value in broken {
            assert!(!entry.admits(value), "{name} admits {value}");
            assert_eq!(
                refused(&with(entry, value)).as_ref(),
                Some(&name),
                "{name} = {value}"
            );
        }
    }
}

#[test]
fn reading_gives_what_writing_took_and_nothing_else_changes() {
    for (position, entry) in ENTRIES.iter().enumerate() {
        let value = if entry.default == entry.low {
            entry.high
        } else {
            entry.low
        };
        let page = with(entry, value);
        for (other, description) in ENTRIES.iter().enumerate() {
            let expected = if other == position {
                value
            } else {
                description.default
            };
            assert_eq!(
                (description.read)(&page.tunables),
                expected,
                "{} after {}",
                description.name,
                entry.name
            );
        }
    }
}

#[test]
fn names_are_unique_and_groups_are_not_torn() {
    let names: BTreeSet<String> = ENTRIES.iter().map(full_name).collect();
    assert_eq!(names.len(), ENTRIES.len());
    let mut groups: Vec<&str> = ENTRIES.iter().map(|entry| entry.group).collect();
    groups.dedup();
    let unique: BTreeSet<&str> = groups.iter().copied().collect();
    assert_eq!(groups.len(), unique.len(), "{groups:?}");
}

/// `N m s/rad` is written `nm_s_rad`; a rate or price may also be written `per_` and the divisor.
fn suffixes(unit: &str) -> Vec<String> {
    let plain = |text: &str| {
        text.replace("N m", "nm")
            .replace('%', "percent")
            .replace(['(', ')'], "")
            .replace([' ', '/'], "_")
            .to_lowercase()
    };
    let mut allowed = vec![format!("_{}", plain(unit))];
    if let Some((_, divisor)) = unit.split_once('/') {
        allowed.push(format!("_per_{}", plain(divisor)));
    }
    allowed
}

#[test]
fn the_unit_is_the_suffix_of_the_name() {
    let all: BTreeSet<String> = ENTRIES
        .iter()
        .filter(|entry| entry.unit != "-")
        .flat_map(|entry| suffixes(entry.unit))
        .collect();
    for entry in ENTRIES {
        if entry.unit == "-" {
            let lie = all
                .iter()
                .find(|suffix| entry.name.ends_with(suffix.as_str()));
            assert_eq!(
                lie,
                None,
                "{} has no unit but looks as if it had",
                full_name(entry)
            );
        } else {
            let told = suffixes(entry.unit)
                .iter()
                .any(|suffix| entry.name.ends_with(suffix.as_str()));
            assert!(
                told,
                "{} [{}]: the name must end with one of {:?}",
                full_name(entry),
                entry.unit,
                suffixes(entry.unit)
            );
        }
    }
}

#[test]
fn every_number_has_a_reason_in_a_sentence() {
    for entry in ENTRIES {
        let sentence = entry.reason.len() >= 8 && entry.reason.ends_with('.');
        assert!(
            sentence,
            "{}: {:?} is no reason",
            full_name(entry),
            entry.reason
        );
    }
}

#[test]
fn a_page_of_another_layout_or_length_is_refused() {
    let foreign = RawPage {
        layout: LAYOUT + 1,
        ..RawPage::default()
    };
    assert_eq!(
        foreign.accept::<f32>().err(),
        Some(PageRefusal::Layout { found: LAYOUT + 1 })
    );
    let short = RawPage {
        entries: RawPage::default().entries - 1,
        ..RawPage::default()
    };
    assert_eq!(
        short.accept::<f32>().err(),
        Some(PageRefusal::Entries {
            found: short.entries
        })
    );
}

/// Pages with the rule's entries at the ends of their ranges or at their defaults, in all combinations.
fn corner_pages(names: &[&str]) -> Vec<RawPage> {
    names.iter().fold(vec![RawPage::default()], |pages, name| {
        let entry = entry_of(name);
        let values = [entry.low, entry.default, entry.high];
        let written = pages.iter().flat_map(|page| {
            values.map(|value| {
                let mut page = *page;
                (entry.write)(&mut page.tunables, value);
                page
            })
        });
        written.collect()
    })
}

#[test]
fn every_rule_can_be_broken_inside_the_ranges_and_is_then_named() {
    for (position, rule) in RULES.iter().enumerate() {
        assert!((rule.holds)(&Tunables::DEFAULT), "{}", rule.message);
        assert!(
            rule.message.len() > 30 && rule.message.contains(':'),
            "{:?} must say what holds and what to do",
            rule.message
        );
        let refusals: Vec<_> = corner_pages(rule.entries)
            .iter()
            .map(|page| page.accept::<f32>().err())
            .collect();
        let named = refusals.contains(&Some(PageRefusal::Rule { rule: position }));
        assert!(
            named,
            "no page within the ranges is refused by: {}",
            rule.message
        );
        let accepted = refusals.iter().any(Option::is_none);
        assert!(
            accepted,
            "every corner is refused, the ranges are wrong: {}",
            rule.message
        );
    }
}

#[test]
fn a_rule_never_holds_for_a_number_that_is_none() {
    for rule in RULES {
        for name in rule.entries {
            let page = with(entry_of(name), f32::NAN);
            assert!(
                !(rule.holds)(&page.tunables),
                "{name} NaN passes: {}",
                rule.message
            );
        }
    }
}

#[test]
fn a_centre_of_gravity_behind_the_rear_axle_is_refused() {
    let mut page = RawPage::default();
    page.tunables.vehicle.wheelbase_m = 2.5;
    page.tunables.vehicle.front_axle_to_cg_m = 2.5;
    let refusal = page
        .accept::<f32>()
        .expect_err("the centre of gravity stands on the rear axle");
    let entries = refusal.rule().map(|rule| rule.entries);
    assert_eq!(
        entries,
        Some(["vehicle.front_axle_to_cg_m", "vehicle.wheelbase_m"].as_slice())
    );
}

#[test]
fn an_agile_end_that_understeers_more_than_the_steady_end_is_refused() {
    let mut page = RawPage::default();
    page.tunables.yaw_reference.understeer_agile_rad_s2_m = 0.004;
    page.tunables.yaw_reference.understeer_steady_rad_s2_m = 0.003;
    let refusal = page.accept::<f32>().expect_err("the axes are exchanged");
    assert!(
        refusal
            .rule()
            .is_some_and(|rule| rule.message.starts_with("the agile end"))
    );
}

#[test]
fn a_refused_page_changes_nothing_in_a_running_controller() {
    let mut controller = Controller::<f32>::new(&RawPage::default(), Period::default())
        .expect("the defaults are acceptable");
    let mut twin = controller;
    for _ in 0..10 {
        controller.step(&Inputs::default());
        twin.step(&Inputs::default());
    }
    // Good numbers around one bad one: nothing of it may arrive.
    let mut page = RawPage::default();
    page.tunables.setting.agility = 1.0;
    page.tunables.vehicle.mass_kg = f32::NAN;
    page.tunables.authority.capacity_nm = 300.0;
    let refusal = controller
        .take_page(&page)
        .expect_err("a mass that is no number");
    assert_eq!(refusal.entry().map(|entry| entry.name), Some("mass_kg"));
    assert!(controller == twin, "the refused page left a trace");

    page.tunables.vehicle.mass_kg = 1900.0;
    assert_eq!(controller.take_page(&page), Ok(()));
    assert_eq!(controller.calibration().raw(), page.tunables);
    assert_eq!(
        controller.state(),
        twin.state(),
        "a new page must not disturb what is remembered"
    );
}

proptest! {
    #![proptest_config(couplet_tests::property(256))]

    #[test]
    fn a_page_is_taken_exactly_if_every_number_and_every_rule_admits_it(
        position in 0..ENTRIES.len(),
        value in prop_oneof![any::<f32>(), -10.0..10.0_f32, -1.0e5..1.0e5_f32],
    ) {
        let entry = &ENTRIES[position];
        let page = with(entry, value);
        let expected = entry.admits(value) && RULES.iter().all(|rule| (rule.holds)(&page.tunables));
        match page.accept::<f32>() {
            Ok(calibration) => {
                prop_assert!(expected, "{} = {value} was taken", entry.name);
                prop_assert_eq!((entry.read)(&calibration.raw()), value);
            }
            Err(_) => prop_assert!(!expected, "{} = {value} was refused", entry.name),
        }
    }
}
