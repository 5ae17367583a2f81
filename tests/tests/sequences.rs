//! Sequences of inputs: what is written is what is read, and a replay gives the same bits.
//!
//! The digest is FNV-1a; its own check values, from the algorithm's public description (from memory): 32-bit words are folded
//! here instead of bytes, so the byte vectors do not apply, and the fold is checked against big whole numbers instead.

mod controller_kit;

use controller_kit::{Wild, page_of};
use couplet_controller::signal::OUTPUT_SIGNALS;
use couplet_controller::signal::inputs::Parity;
use couplet_controller::{Controller, Outputs, Period, RawPage};
use couplet_sim::fault::Kind;
use couplet_sim::plant::Vehicle;
use couplet_sim::prove::programme;
use couplet_sim::scenario::Scenario;
use couplet_sim::sequence::{
    BREAKS, Digest, FAULT_MARK, Sequence, Unreadable, WORST, WORST_MARK, faulty,
};
use num_bigint::BigUint;
use std::collections::BTreeSet;

fn sequence(seed: u64, steps: usize) -> Sequence {
    let mut wild = Wild::new(seed, 30, true);
    Sequence {
        name: "wild".into(),
        page: page_of(seed),
        period: Period::default(),
        start_degc: 60.0,
        told: (0..steps).map(|_| wild.next()).collect(),
    }
}

#[test]
fn what_is_written_is_what_is_read_to_the_bit() {
    for seed in 0..10 {
        let written = sequence(seed, 200);
        let bytes = written.bytes();
        let read = Sequence::from_bytes("wild", &bytes).expect("readable");
        // Inputs may be no numbers, which are unequal to themselves: bytes are compared.
        assert_eq!(read.bytes(), bytes, "seed {seed}");
        assert_eq!(read.digests(), written.digests(), "seed {seed}");
    }
}

#[test]
fn every_cut_and_every_other_head_is_refused_with_its_place() {
    let bytes = sequence(1, 2).bytes();
    for length in 8..bytes.len() {
        let found = Sequence::from_bytes("cut", &bytes[..length]);
        assert_eq!(found.err(), Some(Unreadable::EndsEarly { at: length }));
    }
    let longer = [bytes.as_slice(), &[0]].concat();
    let goes_on = Unreadable::GoesOn { at: bytes.len() };
    assert_eq!(Sequence::from_bytes("long", &longer).err(), Some(goes_on));
    // Head and number of steps; period, start temperature and numbers of the page may be others and still be a sequence.
    for place in (0..24).chain(32..36) {
        let mut other = bytes.clone();
        other[place] ^= 0x40;
        let found = Sequence::from_bytes("other", &other);
        assert!(
            found.is_err(),
            "byte {place} changed and nobody saw it: {found:?}"
        );
    }
}

#[test]
fn the_digest_is_the_fold_of_big_whole_numbers() {
    let mut controller: Controller<f32> =
        Controller::new(&page_of(0), Period::default()).expect("an acceptable page");
    let mut wild = Wild::new(3, 30, true);
    let outputs: Vec<Outputs> = (0..50).map(|_| controller.step(&wild.next())).collect();
    let mut digest = Digest::default();
    let mut exact = BigUint::from(0xcbf2_9ce4_8422_2325_u64);
    let modulus = BigUint::from(1_u32) << 64;
    for one in &outputs {
        digest.fold(one);
        for signal in OUTPUT_SIGNALS {
            let bits = BigUint::from((signal.read)(one).to_bits());
            exact = ((exact ^ bits) * BigUint::from(0x0000_0100_0000_01b3_u64)) % &modulus;
        }
    }
    assert_eq!(BigUint::from(digest.0), exact);
}

#[test]
fn every_output_signal_keeps_to_its_range_and_its_mirror_whatever_comes_in() {
    for seed in 0..120 {
        let sequence = sequence(seed, 300);
        sequence.replay(|step, outputs| {
            let seen = controller_kit::mirrored(outputs);
            for (place, signal) in OUTPUT_SIGNALS.iter().enumerate() {
                let value = (signal.read)(outputs);
                let name = signal.name;
                assert!(
                    value >= signal.low && value <= signal.high,
                    "{name} is {value}, seed {seed}, step {step}"
                );
                assert!(!signal.whole || value == value.trunc(), "{name} is {value}");
                let other = match signal.parity {
                    Parity::Even if name.starts_with("faults") => continue,
                    Parity::Even => value,
                    // An odd span changes its ends with its sign.
                    Parity::Odd if name.ends_with("_least") => {
                        -(OUTPUT_SIGNALS[place + 1].read)(outputs)
                    }
                    Parity::Odd => -(OUTPUT_SIGNALS[place - 1].read)(outputs),
                    Parity::Swap => {
                        let twin = if name.contains("left") {
                            name.replace("left", "right")
                        } else {
                            name.replace("right", "left")
                        };
                        let twin = OUTPUT_SIGNALS.iter().find(|other| other.name == twin);
                        (twin.expect("the other side's signal").read)(outputs)
                    }
                };
                assert_eq!((signal.read)(&seen), other, "{name} in the mirror");
            }
        });
    }
}

#[test]
fn no_output_is_missing_from_the_table() {
    // A new field stops this from compiling until it is counted here and stands in the table.
    let Outputs {
        capacity_nm: _,
        torque_nm: _,
        torque_span_nm: _,
        pressure_bar: _,
        current_a: _,
        granted: _,
        rear_torque_range_nm: _,
        yaw_moment_range_nm: _,
        front_spin_request_m_s: _,
        torque_limit_request_nm: _,
        surface_degc: _,
        core_degc: _,
        oil_degc: _,
        heat_ceiling: _,
        time_to_limit_s: _,
        heat_limit: _,
        clutch_life_used: _,
        oil_life_used: _,
        advice: _,
        health: _,
        faults: _,
        health_share: _,
        may_differ: _,
        situation: _,
        phase: _,
    } = Outputs::default();
    // Pairs and intervals of two sides, grants of three numbers, spans, single numbers, fault halves.
    let (pairs, intervals, grants, spans) = (10, 2, 2, 2);
    let (single, faults) = (10, 2);
    let numbers = 2 * pairs + 2 * intervals + 3 * grants + 2 * spans + single + faults;
    assert_eq!(OUTPUT_SIGNALS.len(), numbers);
    for (place, signal) in OUTPUT_SIGNALS.iter().enumerate() {
        assert!(signal.low < signal.high, "{}", signal.name);
        let twice = OUTPUT_SIGNALS[..place]
            .iter()
            .any(|other| other.name == signal.name);
        assert!(!twice, "{} stands twice", signal.name);
    }
}

#[test]
fn every_break_changes_what_the_law_is_told_and_the_law_stays_finite() {
    let sound = sequence(5, 4200);
    for how in &BREAKS {
        let broken = sound.broken(how);
        assert_ne!(broken.bytes(), sound.bytes(), "{}", how.name);
        broken.replay(|step, outputs| {
            for signal in OUTPUT_SIGNALS {
                let value = (signal.read)(outputs);
                assert!(value.is_finite(), "{}: {}, {step}", how.name, signal.name);
            }
        });
    }
}

#[test]
fn a_sequence_in_words_is_the_same_to_the_bit() {
    for seed in 0..12 {
        let written = sequence(seed, 60);
        let read = Sequence::from_words("wild", &written.words()).expect("readable");
        assert_eq!(read.bytes(), written.bytes(), "seed {seed}");
    }
}

#[test]
fn words_that_are_none_are_refused_with_their_line() {
    let sound = "period_us 5000\nstart_degc 42700000 # 60\nstep\nyaw_rate 3f000000 2 1\n";
    assert!(Sequence::from_words("sound", sound).is_ok());
    for (place, wrong) in [
        (1, "period_us 0"),
        (2, "start_degc hot"),
        (3, "page setting.nothing 3f800000"),
        (3, "yaw_rate 3f000000 2 1"),
        (4, "yaw_rate 3f000000 2"),
        (4, "yaw_rate 3f000000 70000 1"),
        (4, "no_signal 3f000000 2 1"),
        (3, "steps"),
    ] {
        let mut lines: Vec<&str> = sound.lines().collect();
        lines[place - 1] = wrong;
        let refused = Sequence::from_words("wrong", &lines.join("\n")).err();
        assert_eq!(refused.map(|(line, _)| line), Some(place), "{wrong}");
    }
}

#[test]
fn the_dearest_steps_kept_are_acceptable_sequences_that_replay() {
    assert!(!WORST.is_empty());
    for (name, text) in WORST {
        let kept = Sequence::from_words(name, text).expect("a readable sequence");
        assert!(kept.page.accept::<f32>().is_ok(), "{name}");
        assert!(name.starts_with(WORST_MARK) && kept.told.len() > 1);
        assert_eq!(
            kept.digests().last().map(|last| last.0),
            Some(kept.told.len())
        );
    }
}

#[test]
fn every_drive_with_a_fault_tells_the_law_something_else() {
    let case = programme()
        .into_iter()
        .find(|case| case.scenario.name == "power-on-exit-wet-paired")
        .expect("a run of the programme");
    let driven = |scenario: &Scenario| {
        Sequence::of_run(scenario, &Vehicle::default(), &RawPage::default(), 4000)
    };
    let sound = driven(&case.scenario);
    let cases = faulty(&case.scenario);
    let kinds: BTreeSet<&str> = cases
        .iter()
        .map(|case| case.faults[0].kind.name())
        .collect();
    // Every kind of the matrix but those that only a request can have.
    assert!(kinds.len() >= Kind::ALL.len() - 1, "{kinds:?}");
    for scenario in &cases {
        assert!(scenario.name.starts_with(FAULT_MARK));
        let broken = driven(scenario);
        let steps = broken.told.len();
        let alike = broken.told.iter().zip(&sound.told);
        let alike = alike.take_while(|(one, other)| one == other).count();
        // It shows within the second and a half that is kept after the onset, and not before it.
        let name = &scenario.name;
        assert!(
            alike < steps && alike + 301 > steps,
            "{name}: {alike} of {steps}"
        );
    }
}
