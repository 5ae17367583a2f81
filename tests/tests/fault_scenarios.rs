//! Faults as scenarios: every place and kind acts, only from its onset on, and mirrors to the bit.

use couplet_sim::fault::{Fault, Kind, Place};
use couplet_sim::fault_matrix::{Act, Car, Drive, ONSET_S, list};
use couplet_sim::plant::Vehicle;
use couplet_sim::property::{measure, named};
use couplet_sim::record::{Parity, Record};
use couplet_sim::run::law::Rule;
use couplet_sim::run::run;
use couplet_sim::scenario::Scenario;
use couplet_tests::demo_page;

fn drive(act: Act) -> Drive {
    Drive {
        speed_km_h: 120.0,
        act,
        car: Car::Nominal,
        setting: "patrol",
        person: false,
    }
}

fn record(scenario: &Scenario) -> Record {
    run(scenario, &Vehicle::default(), &demo_page("patrol")).record
}

/// Channels whose every sample is the mirror image of the other record's.
fn unlike(record: &Record, twin: &Record) -> Vec<&'static str> {
    let across = |name: &str| {
        name.strip_suffix("left")
            .map(|stem| format!("{stem}right"))
            .or_else(|| name.strip_suffix("right").map(|stem| format!("{stem}left")))
            .unwrap_or_else(|| name.to_owned())
    };
    let mut unlike = Vec::new();
    for channel in record.channels() {
        let own = record.column(channel.name).unwrap_or_default();
        let (name, sign) = match channel.parity {
            Parity::Even => (channel.name.to_owned(), 1.0),
            Parity::Odd => (channel.name.to_owned(), -1.0),
            Parity::Swap => (across(channel.name), 1.0),
            Parity::SwapOdd => (across(channel.name), -1.0),
        };
        let other = twin.column(&name).unwrap_or_default();
        let same = own.len() == other.len() && own.iter().zip(other).all(|(a, b)| *a == sign * *b);
        if !same {
            unlike.push(channel.name);
        }
    }
    unlike
}

#[test]
fn every_fault_seen_in_a_mirror_is_the_same_fault_on_the_other_side_to_the_bit() {
    let drive = drive(Act::CurvePower);
    for fault in list::single() {
        let scenario = drive.scenario("fault", &[fault]);
        let mut twin = scenario.clone();
        twin.mirrored = true;
        let unlike = unlike(&record(&scenario), &record(&twin));
        assert!(unlike.is_empty(), "{}: {unlike:?}", fault.words());
    }
}

#[test]
fn two_faults_at_once_mirror_and_repeat_to_the_bit() {
    let faults = [
        Fault::from(Place::Signal("yaw_rate"), Kind::Noise, ONSET_S),
        Fault::from(
            Place::Current { left: true },
            Kind::Corrupted,
            ONSET_S + 0.1,
        ),
    ];
    let scenario = drive(Act::CurvePower).scenario("fault", &faults);
    let mut twin = scenario.clone();
    twin.mirrored = true;
    let first = record(&scenario);
    assert_eq!(first, record(&scenario));
    assert!(unlike(&first, &record(&twin)).is_empty());
}

#[test]
fn until_its_onset_a_fault_changes_nothing_and_after_it_every_place_is_heard_of() {
    let drive = drive(Act::CurvePower);
    let free = record(&drive.scenario("free", &[]));
    let onset = (ONSET_S / free.period_s).round() as usize;
    let mut silent: Vec<&str> = Vec::new();
    let mut heard: Vec<&str> = Vec::new();
    for fault in list::single() {
        let faulty = record(&drive.scenario("fault", &[fault]));
        let mut differs = false;
        for channel in free.channels() {
            let (seen, before) = (faulty.column(channel.name), free.column(channel.name));
            let (seen, before) = (seen.unwrap_or_default(), before.unwrap_or_default());
            assert_eq!(seen[..onset], before[..onset], "{}", fault.words());
            differs |= seen[onset..] != before[onset..];
        }
        let name = fault.place.name();
        if differs { &mut heard } else { &mut silent }.push(name);
    }
    silent.retain(|name| !heard.contains(name));
    silent.dedup();
    // The air's temperature matters in minutes, not in two seconds; every other place is heard of by some kind at least.
    assert!(
        silent.iter().all(|name| *name == "ambient_temperature"),
        "{silent:?}"
    );
    println!("{} faults change the drive", heard.len());
    assert!(heard.len() > 200);
}

#[test]
fn a_jammed_clutch_keeps_its_capacity_a_leak_loses_its_share_and_an_open_one_never_closes() {
    let drive = drive(Act::Power);
    let clutch = Place::Clutch { left: true };
    let capacity = |kind, size| {
        let fault = Fault {
            size,
            ..Fault::from(clutch, kind, ONSET_S)
        };
        let record = record(&drive.scenario("fault", &[fault]));
        let column = record
            .column("plant_clutch_capacity_left")
            .map(<[f32]>::to_vec);
        f64::from(column.unwrap_or_default()[(1.5 / record.period_s) as usize])
    };
    // Data sheet of the demo clutch: 10 faces, 0.115 to 0.125 of friction at 80 degC, radius 65 mm, 50 cm2 at 36 bar less the
    // spring's 400 N: 1315 to 1430 N m by the disc formula of any textbook; a little more at 60 degC (0.15 % a kelvin).
    let whole = capacity(Kind::StuckClosed, 1.0);
    assert!((1300.0..1490.0).contains(&whole), "{whole}");
    let half = capacity(Kind::StuckClosed, 0.5);
    assert!((half / whole - 0.5).abs() < 0.03, "{half} of {whole}");
    // The open pack's drag in warm oil is 1.5 N m.
    assert!(capacity(Kind::StuckOpen, 0.0) < 2.0);
    assert!(capacity(Kind::Leak, 1.0) < 2.0);
    let (sound, leaking) = (capacity(Kind::Leak, 0.0), capacity(Kind::Leak, 0.3));
    assert!(sound > 20.0 && leaking < sound, "{leaking} of {sound}");
}

#[test]
fn a_wrong_request_is_let_go_for_the_brakes_in_the_same_time() {
    // What a hunt found: release requested, then the first channel asks for a whole clutch; 630 N m passed for 50 ms.
    let property = named("lets-go-for-the-brakes").expect("a property of that name");
    let page = demo_page("patrol");
    for (release_s, wrong_s) in [(0.5, 0.75), (0.5, 0.52), (0.75, 0.5), (0.52, 0.5)] {
        let mut faults = vec![];
        for left in [true, false] {
            let place = Place::Request { left };
            faults.push(Fault::from(place, Kind::Full, ONSET_S + wrong_s));
            let mut scenario = drive(Act::Power).scenario("release", &faults);
            scenario.numbers.assist.release_request_s = ONSET_S + release_s;
            let measure = measure(property, &scenario, &Vehicle::default(), Rule::from(&page));
            println!("release {release_s} s, wrong {wrong_s} s: {measure:?}");
            assert!(measure.is_some_and(|measure| measure >= 0.0), "{measure:?}");
        }
    }
}
