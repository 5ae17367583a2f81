//! The law in open loop over recordings: exact where the recording is, honest where it is not.

use couplet_controller::signal::{INPUT_SIGNALS, Status};
use couplet_controller::{Outputs, Period, RawPage};
use couplet_exchange::mdf::{self, MdfWriter};
use couplet_exchange::{Sheet, csv, rows};
use couplet_sim::plant::Vehicle;
use couplet_sim::record::recording::{Group, Recording, Signal};
use couplet_sim::replay::drive::heard;
use couplet_sim::replay::mapping::{Between, Mapping, Row, Source, input};
use couplet_sim::replay::told::{Unfit, steps, told};
use couplet_sim::replay::units::conversion;
use couplet_sim::replay::{Difference, differences, replayed};
use couplet_sim::run::law::Law;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use std::io::Cursor;

fn through_mdf(recording: &Recording) -> Recording {
    let sheets: Vec<Sheet> = recording.groups.iter().map(Sheet::of).collect();
    let out = Cursor::new(Vec::new());
    let mut writer = MdfWriter::begin(out, &recording.comment, 0, &sheets).expect("memory");
    for (index, group) in recording.groups.iter().enumerate() {
        rows(group, |time_s, row| writer.push(index, time_s, row)).expect("memory");
    }
    let bytes = writer.finish().expect("memory").into_inner();
    mdf::read(Cursor::new(bytes), &mdf::Limits::default(), &|_| true)
        .expect("readable")
        .recording
}

fn through_csv(recording: &Recording) -> Recording {
    let law = &recording.groups[0];
    let mut writer = csv::CsvWriter::begin(Vec::new(), &Sheet::of(law)).expect("memory");
    rows(law, |time_s, row| writer.push(time_s, row)).expect("memory");
    let text = writer.finish().expect("memory");
    csv::read(text.as_slice(), 1 << 30).expect("readable")
}

fn outputs_of(recording: &Recording, mapping: &Mapping, page: &RawPage) -> Vec<Outputs> {
    let period = Period::default();
    let steps = steps(recording, mapping, period).expect("fits");
    let told = told(recording, mapping, &steps).expect("fits");
    replayed(&told, page, Law::Exact, period, mapping.start_degc)
}

#[test]
fn a_drive_written_as_mdf_or_csv_replays_to_the_bit() {
    let page = RawPage::default();
    for manoeuvre in [
        Manoeuvre::SplitLaunch,
        Manoeuvre::StepSteer,
        Manoeuvre::PowerOnExit,
        Manoeuvre::LiftOff,
    ] {
        let mut scenario = Scenario::of(manoeuvre);
        scenario.seed = 3;
        // Messages are lost and late: age and status matter.
        scenario.numbers.sensors.loss_share = 0.02;
        let heard = heard(&scenario, &Vehicle::default(), &page);
        assert!(heard.told.len() > 500, "{manoeuvre:?}");
        let recording = heard.recording("invented");
        for (form, read) in [
            ("mdf", through_mdf(&recording)),
            ("csv", through_csv(&recording)),
        ] {
            let found = outputs_of(&read, &heard.mapping(), &page);
            assert_eq!(found.len(), heard.outputs.len(), "{form} {manoeuvre:?}");
            for (signal, difference) in differences(&found, &heard.outputs) {
                assert_eq!(
                    difference.differ, 0,
                    "{form} {manoeuvre:?} {}: {difference:?}",
                    signal.name
                );
            }
        }
    }
}

#[test]
fn undefined_numbers_that_the_law_was_told_are_told_again() {
    let scenario = Scenario::of(Manoeuvre::StepSteer);
    let page = RawPage::default();
    let mut heard = heard(&scenario, &Vehicle::default(), &page);
    for inputs in &mut heard.told[400..500] {
        inputs.yaw_rate.value = f32::NAN;
        inputs.wheel_speed_front_left.value = f32::INFINITY;
    }
    heard.outputs = replayed(
        &heard.told,
        &page,
        Law::Exact,
        Period::default(),
        heard.start_degc,
    );
    let found = outputs_of(&through_mdf(&heard.recording("")), &heard.mapping(), &page);
    assert_eq!(found, heard.outputs);
}

#[test]
fn a_replay_with_another_setting_differs_and_says_where() {
    let page = RawPage::default();
    let mut other = page;
    other.tunables.authority.capacity_nm *= 0.5;
    let heard = heard(
        &Scenario::of(Manoeuvre::SplitLaunch),
        &Vehicle::default(),
        &page,
    );
    let found = outputs_of(&heard.recording(""), &heard.mapping(), &other);
    let moved = differences(&found, &heard.outputs);
    let torque = moved
        .iter()
        .find(|(signal, _)| signal.name == "torque_right");
    let difference = torque.expect("an output").1;
    assert!(
        difference.largest > 100.0 && difference.differ > 100,
        "{difference:?}"
    );
}

fn one_channel(time_s: Vec<f64>, values: Vec<f64>) -> Recording {
    let signal = Signal {
        name: "w".to_owned(),
        unit: "deg/s".to_owned(),
        values,
        ..Signal::default()
    };
    Recording {
        groups: vec![Group {
            time_s,
            signals: vec![signal],
            ..Group::default()
        }],
        ..Recording::default()
    }
}

fn mapped(row: Row) -> Mapping {
    Mapping {
        start_degc: 60.0,
        rows: vec![row],
        commands: Vec::new(),
    }
}

fn yaw_row() -> Row {
    let signal = input("yaw_rate").expect("an input");
    Row::of(signal, Source::Channel("w".to_owned()))
}

#[test]
fn a_sample_ages_until_the_next_and_a_long_gap_is_a_lost_signal() {
    // Every 20 ms, and nothing between 0.04 and 0.4 s.
    let recording = one_channel(vec![0.0, 0.02, 0.04, 0.4], vec![1.0, 2.0, f64::NAN, 4.0]);
    let mapping = mapped(yaw_row());
    let steps = steps(&recording, &mapping, Period::default()).expect("fits");
    assert_eq!(steps.count, 81);
    let told = told(&recording, &mapping, &steps).expect("fits");
    let at = |step: usize| told[step].yaw_rate;
    assert_eq!((at(0).value, at(0).age_ms), (1.0, 0));
    assert_eq!((at(3).value, at(3).age_ms), (1.0, 15));
    assert_eq!((at(4).value, at(4).age_ms), (2.0, 0));
    // The sample at 0.04 s is no number: the one before goes on.
    assert_eq!((at(8).value, at(8).age_ms), (2.0, 20));
    assert_eq!(at(44).status, Status::VALID);
    assert_eq!(at(45).status, Status::INVALID);
    assert_eq!(at(79).status, Status::INVALID);
    assert_eq!((at(80).value, at(80).age_ms), (4.0, 0));
    // An input without a row is lost throughout.
    assert!(
        told.iter()
            .all(|inputs| inputs.gear.status == Status::INVALID)
    );
}

#[test]
fn signs_factors_lags_and_lines_do_what_they_say() {
    let recording = one_channel(vec![0.0, 0.1, 0.2], vec![0.0, 10.0, 30.0]);
    let degrees = conversion("deg/s", "rad/s").expect("known").factor;
    let row = Row {
        factor: -degrees,
        between: Between::Line,
        ..yaw_row()
    };
    let mapping = mapped(row.clone());
    let of = |mapping: &Mapping| {
        let steps = steps(&recording, mapping, Period::default()).expect("fits");
        told(&recording, mapping, &steps).expect("fits")
    };
    let told = of(&mapping);
    // Half way between 0 and 10 deg/s, with the other sign.
    assert!((f64::from(told[10].yaw_rate.value) + 5.0_f64.to_radians()).abs() < 1e-7);
    assert_eq!(told[10].yaw_rate.age_ms, 0);
    let late = Row { late_s: 0.1, ..row };
    let told = of(&mapped(late));
    assert!((f64::from(told[10].yaw_rate.value) + 20.0_f64.to_radians()).abs() < 1e-7);
}

#[test]
fn units_of_logs_become_those_of_the_law() {
    // Exact by definition: degree, turn, standard gravity (ISO 80000-3), kelvin and bar.
    for (from, to, value, wanted) in [
        ("deg/s", "rad/s", 180.0, std::f64::consts::PI),
        ("1/min", "rad/s", 30.0, std::f64::consts::PI),
        ("km/h", "rad/s", 3.6, 1.0),
        ("g", "m/s2", 1.0, 9.80665),
        ("%", "-", 50.0, 0.5),
        ("MPa", "bar", 1.0, 10.0),
        ("kN m", "N m", 0.5, 500.0),
        ("K", "degC", 273.15, 0.0),
    ] {
        let made = conversion(from, to).expect(from);
        let found = made.offset + made.factor * value;
        assert!((found - wanted).abs() < 1e-12, "{from}: {found}");
        assert_eq!(made.by_radius, from == "km/h");
    }
    assert_eq!(conversion("furlong", "rad/s"), None);
    assert_eq!(conversion("rad", "rad/s"), None);
}

#[test]
fn a_mapping_that_does_not_fit_is_refused() {
    let recording = one_channel(vec![0.0, 0.1], vec![1.0, 1.0]);
    let wrong = Row::of(&INPUT_SIGNALS[0], Source::Channel("none".to_owned()));
    let refused = steps(&recording, &mapped(wrong), Period::default());
    assert_eq!(refused, Err(Unfit::NoChannel("none".to_owned())));
    let endless = one_channel(vec![0.0, 1.0e9], vec![1.0, 1.0]);
    let refused = steps(&endless, &mapped(yaw_row()), Period::default());
    assert_eq!(refused, Err(Unfit::TooLong));
    let constant = Row::of(&INPUT_SIGNALS[0], Source::Constant(1.0));
    assert_eq!(
        steps(&recording, &mapped(constant), Period::default()),
        Err(Unfit::NoSample)
    );
}

#[test]
fn a_difference_counts_what_both_have() {
    let found = Difference::between(
        [1.0, 2.0, f64::NAN, 4.0].into_iter(),
        [1.0, 1.0, 1.0, 7.0].into_iter(),
    );
    assert_eq!(
        (found.steps, found.differ, found.largest, found.at),
        (3, 2, 3.0, 3)
    );
    assert!((found.rms - (10.0_f64 / 3.0).sqrt()).abs() < 1e-15);
}
