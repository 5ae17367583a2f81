//! Held-out drives: unknown before the calibration is frozen, the same for every axle, judged without mercy.

use couplet_controller::RawPage;
use couplet_controller::calibration::ENTRIES;
use couplet_sim::metrics::value;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::{Verdict, calibration_hash, held_out_cases};
use couplet_sim::record::Parity;
use couplet_sim::run::{Ending, run};
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

fn pages() -> Vec<(&'static str, RawPage)> {
    ["patrol", "response", "trailer", "skidpad"]
        .map(|name| (name, demo_page(name)))
        .to_vec()
}

#[test]
fn any_change_of_any_number_brings_other_drives() {
    let hash = calibration_hash(&pages());
    let first = held_out_cases(&pages());
    for entry in ENTRIES {
        let mut changed = pages();
        let tunables = &mut changed[1].1.tunables;
        let bits = (entry.read)(tunables).to_bits() ^ 1;
        (entry.write)(tunables, f32::from_bits(bits));
        assert_ne!(calibration_hash(&changed), hash, "{}", entry.name);
    }
    let mut changed = pages();
    changed[0].1.tunables.setting.agility += 0.001;
    let other = held_out_cases(&changed);
    let moved = first
        .iter()
        .zip(&other)
        .filter(|(one, two)| one.scenario.seed != two.scenario.seed)
        .count();
    assert_eq!(first.len(), other.len());
    assert_eq!(moved, first.len());
}

#[test]
fn every_axle_and_every_setting_drives_the_same() {
    let cases = held_out_cases(&pages());
    for case in &cases {
        let same = cases.iter().filter(|other| {
            other.scenario.numbers == case.scenario.numbers
                && other.scenario.manoeuvre == case.scenario.manoeuvre
                && other.scenario.seed == case.scenario.seed
                && other.scenario.mirrored == case.scenario.mirrored
        });
        // Four settings of the paired axle and four other axles.
        assert_eq!(same.count(), 8, "{}", case.scenario.name);
        assert_eq!(
            case.scenario.contradiction(),
            None,
            "{}",
            case.scenario.name
        );
    }
}

#[test]
fn a_spin_a_lost_path_and_half_a_metre_too_much_are_misses() {
    let good = Verdict {
        drive: "a".into(),
        setting: "patrol",
        friction: 0.9,
        speed_m_s: 20.0,
        spun: false,
        ended: Ending::GoalReached,
        paired_m: Some(1.0),
        best: Some(("coupling", 0.6)),
    };
    assert!(good.pass());
    let but = |change: fn(&mut Verdict)| {
        let mut verdict = good.clone();
        change(&mut verdict);
        verdict.pass()
    };
    assert!(!but(|one| one.paired_m = Some(1.11)));
    assert!(!but(|one| one.spun = true));
    assert!(!but(|one| one.ended = Ending::LeftPath));
    assert!(!but(|one| one.paired_m = None));
    // Where nobody else came through, not spinning is enough.
    assert!(but(|one| one.best = None));
    assert!(!but(|one| (one.best, one.spun) = (None, true)));
}

#[test]
fn every_layout_comes_through_the_closing_bend_and_its_mirror_image_is_exact() {
    for layout in AxleLayout::ALL {
        let mut scenario = Scenario::of(Manoeuvre::ClosingBend);
        scenario.layout = layout;
        scenario.numbers.course.speed_m_s = 22.0;
        let page = demo_page("patrol");
        let result = run(&scenario, &Vehicle::default(), &page);
        assert_eq!(result.outcome.ended, Ending::GoalReached, "{layout:?}");
        let error = value(&result.metrics, "path error, largest").unwrap_or(f64::NAN);
        // A person stays within a hand's breadth or two well below the limit: 22 m/s come down to 6.5 m/s2 in the tight part.
        assert!(error < 0.4, "{layout:?}: {error}");
        scenario.mirrored = true;
        let image = run(&scenario, &Vehicle::default(), &page);
        for (index, channel) in result.record.channels().iter().enumerate() {
            if channel.parity == Parity::Odd {
                let name = channel.name;
                let (one, two) = (result.record.column(name), image.record.column(name));
                let (one, two) = (one.expect("there"), two.expect("there"));
                let mirrored = one.iter().zip(two).all(|(a, b)| *a == -*b);
                assert!(
                    mirrored && one.len() == two.len(),
                    "{layout:?} {index} {name}"
                );
            }
        }
    }
}
