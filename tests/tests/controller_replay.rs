//! Replay of the whole controller, and pages that are refused: nothing hidden, nothing half done.
//!
//! A state copied at any step and put into a fresh controller with the same page gives the same bits from there on. A
//! refused page leaves the run as if it had never come.

mod controller_kit;

use core::mem::MaybeUninit;

use controller_kit::{Dice, Drive, Wild, page_of};
use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::{
    Controller, ControllerState, Outputs, PageRefusal, Period, RawPage, Real,
};

fn controller<S: Real>(page: &RawPage) -> Controller<S> {
    Controller::new(page, Period::default()).expect("an acceptable page")
}

/// Every bit of every number of the outputs: `==` would take 0 for -0 and could not tell two NaN.
fn bits(outputs: &Outputs) -> Vec<u32> {
    let sides = [
        outputs.granted.left.by,
        outputs.granted.right.by,
        outputs.heat_limit.left,
        outputs.heat_limit.right,
    ];
    controller_kit::numbers(outputs)
        .into_iter()
        .map(f32::to_bits)
        .chain([outputs.faults, outputs.health as u32, outputs.phase as u32])
        .chain(sides.map(|by| by as u32))
        .collect()
}

fn replayed<S: Real>() {
    let mut closed = 0;
    for seed in 0..60_u64 {
        let mut dice = Dice(seed);
        let page = page_of(seed % 30);
        let mut one = controller::<S>(&page);
        let mut wild = Wild::new(
            30_000 + seed,
            [10, 60, 300][seed as usize % 3],
            seed % 2 == 0,
        );
        for _ in 0..dice.below(900) {
            one.step(&wild.next());
        }
        // The fresh one has a past of its own that must not show.
        let mut fresh = controller::<S>(&page);
        let mut other = Wild::new(seed + 7, 30, true);
        for _ in 0..dice.below(300) {
            fresh.step(&other.next());
        }
        fresh.restore(*one.state());
        for step in 0..700 {
            let inputs = wild.next();
            let (out, again) = (one.step(&inputs), fresh.step(&inputs));
            assert_eq!(
                bits(&out),
                bits(&again),
                "seed {seed}, step {step}\n{out:?}\n{again:?}"
            );
            assert!(
                one.state() == fresh.state(),
                "seed {seed}, step {step}: states differ"
            );
            assert!(
                one.trace() == fresh.trace(),
                "seed {seed}, step {step}: traces differ"
            );
            closed += usize::from(out.capacity_nm.left > 20.0);
        }
    }
    assert!(closed > 10_000, "closed in only {closed} of 42,000 steps");
}

#[test]
fn a_state_put_back_replays_to_the_bit_in_single_precision() {
    replayed::<f32>();
}

#[test]
fn a_state_put_back_replays_to_the_bit_in_double_precision() {
    replayed::<f64>();
}

#[test]
fn two_controllers_with_the_same_inputs_and_page_swaps_give_the_same_bits() {
    for seed in 0..40_u64 {
        let run = || {
            let mut dice = Dice(seed);
            let mut one = controller::<f32>(&page_of(seed));
            let mut wild = Wild::new(seed, 40, true);
            let mut all = Vec::new();
            for _ in 0..800 {
                if dice.once_in(100) {
                    one.take_page(&page_of(dice.below(60) as u64))
                        .expect("an acceptable page");
                }
                all.push(bits(&one.step(&wild.next())));
            }
            all
        };
        assert!(run() == run(), "seed {seed}");
    }
}

#[test]
fn a_page_taken_and_taken_back_leaves_no_trace_in_the_state() {
    let mut one = controller::<f32>(&page_of(0));
    let mut wild = Wild::new(1, 60, false);
    for _ in 0..500 {
        one.step(&wild.next());
    }
    let before = one;
    one.take_page(&page_of(4)).expect("an acceptable page");
    one.take_page(&page_of(0)).expect("the nominal page");
    assert!(one == before);
}

/// One page for every kind of refusal, every entry below, above and as no number, and every rule.
fn refused_pages() -> Vec<(String, RawPage)> {
    let mut pages = vec![
        (
            "layout".to_owned(),
            RawPage {
                layout: 0,
                ..RawPage::default()
            },
        ),
        (
            "later layout".to_owned(),
            RawPage {
                layout: u32::MAX,
                ..RawPage::default()
            },
        ),
        (
            "no entries".to_owned(),
            RawPage {
                entries: 0,
                ..RawPage::default()
            },
        ),
        (
            "one entry more".to_owned(),
            RawPage {
                entries: ENTRIES.len() as u32 + 1,
                ..RawPage::default()
            },
        ),
    ];
    for entry in ENTRIES {
        let beyond = |end: f32, by: f32| end + by * (1.0 + end.abs());
        for value in [
            f32::NAN,
            f32::INFINITY,
            f32::NEG_INFINITY,
            beyond(entry.low, -1.0e-4),
            beyond(entry.high, 1.0e-4),
        ] {
            let mut page = page_of(4);
            (entry.write)(&mut page.tunables, value);
            pages.push((format!("{}.{} {value}", entry.group, entry.name), page));
        }
    }
    for rule in RULES {
        pages.push((rule.message.to_owned(), breaking(rule)));
    }
    pages
}

/// A page with all numbers in range that breaks this rule: its first entry at one end, its last at the other.
fn breaking(rule: &couplet_controller::calibration::rules::Rule) -> RawPage {
    let entry = |name: &str| {
        ENTRIES
            .iter()
            .find(|entry| name == format!("{}.{}", entry.group, entry.name))
            .expect("the entry a rule names")
    };
    let last = entry(rule.entries.last().expect("a rule names entries"));
    let mut page = page_of(4);
    (last.write)(&mut page.tunables, last.low);
    let first = entry(rule.entries.first().expect("a rule names entries"));
    (first.write)(&mut page.tunables, first.high);
    assert!(!(rule.holds)(&page.tunables), "{}", rule.message);
    page
}

#[test]
fn a_refused_page_changes_nothing_whatever_the_refusal() {
    let pages = refused_pages();
    let mut kinds = [0; 4];
    let mut one = controller::<f32>(&page_of(2));
    let mut twin = one;
    let mut wild = Wild::new(12, 80, true);
    for (what, page) in &pages {
        let before = one;
        let refusal = one.take_page(page).expect_err(what);
        kinds[match refusal {
            PageRefusal::Layout { .. } => 0,
            PageRefusal::Entries { .. } => 1,
            PageRefusal::Range { .. } => 2,
            PageRefusal::Rule { .. } => 3,
        }] += 1;
        // A NaN in the refused page must not have come in: a controller equals itself.
        assert!(one == before, "{what}");
        for _ in 0..10 {
            let inputs = wild.next();
            assert_eq!(
                bits(&one.step(&inputs)),
                bits(&twin.step(&inputs)),
                "{what}"
            );
        }
        assert!(
            Controller::<f32>::new(page, Period::default()).is_err(),
            "{what}"
        );
    }
    assert_eq!(kinds[2], 5 * ENTRIES.len(), "{kinds:?}");
    assert!(
        kinds[0] == 2 && kinds[1] == 2 && kinds[3] == RULES.len(),
        "{kinds:?}"
    );
    // Had the page come in, it would have shown.
    let mut unlike = 0;
    for seed in 0..6 {
        let mut one = controller::<f32>(&page_of(2));
        let mut other = one;
        other.take_page(&page_of(4)).expect("an acceptable page");
        let mut drive = Drive::new(seed);
        for _ in 0..1_500 {
            let inputs = drive.next();
            unlike += usize::from(bits(&one.step(&inputs)) != bits(&other.step(&inputs)));
        }
    }
    assert!(
        unlike > 1_000,
        "the two pages give the same outputs: nothing was proven"
    );
}

#[test]
fn the_whole_memory_fits_two_kibibytes() {
    // The requirement of this project for the state in f32: what a control unit has to keep, copy and compare.
    assert!(size_of::<ControllerState<f32>>() <= 2048);
}

fn placed<S: Real>() {
    let mut place = MaybeUninit::uninit();
    for number in 0..30 {
        let page = page_of(number);
        let by_value = controller::<S>(&page);
        // The place holds the last page's controller, after some steps.
        let placed = Controller::place(&mut place, &page, Period::default()).expect("that page");
        assert_eq!(*placed, by_value);
        let (mut one, mut drive) = (by_value, Drive::new(number));
        for _ in 0..200 {
            let inputs = drive.next();
            assert_eq!(bits(&one.step(&inputs)), bits(&placed.step(&inputs)));
        }
    }
    let mut page = page_of(3);
    page.tunables.vehicle.mass_kg = -1.0;
    let refused = Controller::<S>::place(&mut place, &page, Period::default()).err();
    assert!(refused.is_some() && refused == page.accept::<S>().err());
}

#[test]
fn a_controller_built_in_its_place_is_the_one_built_by_value() {
    placed::<f32>();
    placed::<f64>();
}

#[test]
fn the_whole_controller_fits_four_kibibytes() {
    // The budget of this project for static memory on a Cortex-M4F, calibration and trace included; sizes are the same there but for
    // the alignment of a 128-bit number.
    let size = size_of::<Controller<f32>>();
    assert!(size <= 4096, "{size}");
}
