//! What the axle did and what limited it, told from records alone: synthetic ones with a known answer, and a real run.

use couplet_controller::signal::Limit;
use couplet_sim::metrics::axle_work::{LIMIT_NAMES, Work, along, limits, reached, work};
use couplet_sim::plant::Vehicle;
use couplet_sim::record::{Channel, Parity, Record};
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

/// Yaw rate, then left and right: asked, given, capacity, limit; then distance.
type Row = (f32, [f32; 2], [f32; 2], [f32; 2], [f32; 2], f32);

fn record(rows: &[Row]) -> Record {
    let odd = [("yaw_rate", "rad/s", Parity::Odd)];
    let swap = [
        "torque_asked_left",
        "torque_asked_right",
        "torque_given_left",
        "torque_given_right",
        "capacity_left",
        "capacity_right",
        "limit_left",
        "limit_right",
    ]
    .map(|name| (name, "N m", Parity::Swap));
    let even = [("path_distance", "m", Parity::Even)];
    let channels = odd.into_iter().chain(swap).chain(even);
    let channels = channels.map(|(name, unit, parity)| Channel { name, unit, parity });
    let mut record = Record::new(0.1, channels.collect());
    for (yaw, asked, given, capacity, limit, distance) in rows {
        let mut row = vec![*yaw];
        for pair in [asked, given, capacity, limit] {
            row.extend(pair);
        }
        row.push(*distance);
        record.push(&row);
    }
    record
}

fn held(limit: Limit) -> Row {
    let number = f32::from(limit.number());
    let (asked, given) = ([400.0, 100.0], [100.0, 100.0]);
    (0.2, asked, given, given, [number, 0.0], 0.0)
}

#[test]
fn every_kind_of_work_is_told_from_a_record_that_shows_it() {
    let free = [0.0, 0.0];
    let cases: &[(Row, Work)] = &[
        ((0.3, free, free, free, free, 0.0), Work::Open),
        // Cruise: a limit named over a torque nobody would feel holds nothing back.
        (
            (0.0, [-2.0, 2.0], [0.0, 2.0], [0.0, 2.0], [6.0, 6.0], 0.0),
            Work::Open,
        ),
        (
            (
                0.0,
                [500.0, 480.0],
                [500.0, 480.0],
                [500.0, 480.0],
                free,
                0.0,
            ),
            Work::Pulls,
        ),
        // Straight on split friction: unlike torques, but there is no turn to help.
        (
            (
                0.01,
                [160.0, 400.0],
                [160.0, 400.0],
                [160.0, 400.0],
                free,
                0.0,
            ),
            Work::Pulls,
        ),
        // Left turn, the right wheel driven more: with the turn. A left-hand yaw moment is positive (ISO 8855).
        (
            (0.2, [0.0, 200.0], [0.0, 200.0], [0.0, 200.0], free, 0.0),
            Work::TurnsIn,
        ),
        (
            (
                0.2,
                [200.0, -150.0],
                [200.0, -150.0],
                [200.0, 150.0],
                free,
                0.0,
            ),
            Work::HoldsSteady,
        ),
        // Closed, yet without torque: it damps.
        (
            (0.2, [10.0, 10.0], [10.0, 10.0], [300.0, 300.0], free, 0.0),
            Work::HoldsSteady,
        ),
        (held(Limit::SurfaceHeat), Work::HeldByHeat),
        (held(Limit::CoreHeat), Work::HeldByHeat),
        (held(Limit::OilHeat), Work::HeldByHeat),
        (held(Limit::AbsoluteHeat), Work::HeldByHeat),
        (held(Limit::SlipDirection), Work::HeldBySlip),
        (held(Limit::KinematicLock), Work::HeldBySlip),
        (held(Limit::Friction), Work::HeldByFriction),
        (held(Limit::Capacity), Work::HeldByCapacity),
        (held(Limit::WindUp), Work::HeldByOther),
        (held(Limit::ColdOil), Work::HeldByOther),
    ];
    for (row, expected) in cases {
        let record = record(&[*row]);
        assert_eq!(work(&record), Some(vec![*expected]), "{row:?}");
        // Seen in a mirror the axle does the same.
        assert_eq!(work(&record.mirrored()), Some(vec![*expected]), "{row:?}");
    }
}

#[test]
fn the_side_that_misses_more_speaks_and_equal_sides_do_not_depend_on_their_order() {
    let both = |missing: [f32; 2], limit: [f32; 2]| {
        let record = record(&[(0.2, missing, [0.0, 0.0], [0.0, 0.0], limit, 0.0)]);
        (work(&record), work(&record.mirrored()))
    };
    for (missing, limit, expected) in [
        ([300.0, 500.0], [6.0, 12.0], Work::HeldByFriction),
        ([500.0, 300.0], [6.0, 12.0], Work::HeldBySlip),
        ([400.0, 400.0], [12.0, 6.0], Work::HeldBySlip),
        ([400.0, 400.0], [6.0, 12.0], Work::HeldBySlip),
    ] {
        let expected = Some(vec![expected]);
        assert_eq!(both(missing, limit), (expected.clone(), expected));
    }
}

#[test]
fn a_record_without_trace_has_no_work_and_no_limits() {
    let channel = Channel {
        name: "yaw_rate",
        unit: "rad/s",
        parity: Parity::Odd,
    };
    let record = Record::new(0.1, vec![channel]);
    assert_eq!(work(&record), None);
    assert_eq!(limits(&record), None);
    assert!(reached(&record, 10.0).is_empty());
}

#[test]
fn time_share_and_longest_stretch_of_every_limit_are_counted() {
    let (slip, friction) = (held(Limit::SlipDirection), held(Limit::Friction));
    let free = (0.0, [0.0; 2], [0.0; 2], [0.0; 2], [0.0; 2], 0.0);
    // Named but not felt: 20 Nm are missing.
    let unfelt = (0.0, [20.0, 0.0], [0.0; 2], [0.0; 2], [12.0, 0.0], 0.0);
    let rows = [
        slip, free, friction, friction, friction, unfelt, friction, slip, slip, free,
    ];
    let found = limits(&record(&rows)).expect("a trace");
    let told: Vec<_> = found
        .iter()
        .map(|limit| (limit.name, limit.share))
        .collect();
    assert_eq!(told, [("tyre friction", 0.4), ("slip direction", 0.3)]);
    let near = |one: f64, other: f64| (one - other).abs() < 1e-12;
    assert!(near(found[0].longest_s, 0.3) && near(found[0].longest_from_s, 0.2));
    assert!(near(found[1].longest_s, 0.2) && near(found[1].longest_from_s, 0.7));
}

#[test]
fn along_the_road_the_work_that_took_longest_stands_for_its_piece() {
    let mut rows = vec![held(Limit::SlipDirection); 7];
    rows[3] = held(Limit::Friction);
    rows[4] = held(Limit::Friction);
    rows[6] = held(Limit::Friction);
    // 0 to 10 m: three times slip; 10 to 20 m: twice friction, once slip; then stuck at 20 m with friction.
    for (row, distance) in rows.iter_mut().zip([0.0, 4.0, 8.0, 12.0, 15.0, 19.0, 20.0]) {
        row.5 = distance;
    }
    let record = record(&rows);
    let places = reached(&record, 10.0);
    assert_eq!(places, [0, 3, 6]);
    assert_eq!(
        along(&work(&record).expect("a trace"), &places),
        [Work::HeldBySlip, Work::HeldByFriction, Work::HeldByFriction]
    );
}

#[test]
fn limits_have_the_names_of_the_controller() {
    let code: Vec<&str> = Limit::ALL.iter().map(|limit| limit.name()).collect();
    assert_eq!(code, LIMIT_NAMES);
}

#[test]
fn over_the_pass_the_axle_pulls_turns_in_and_meets_its_limits() {
    let scenario = Scenario::of(Manoeuvre::SkarnPass);
    let result = run(&scenario, &Vehicle::default(), &demo_page("response"));
    let kinds = work(&result.record).expect("a trace");
    let share = |wanted: Work| {
        kinds.iter().filter(|kind| **kind == wanted).count() as f64 / kinds.len() as f64
    };
    for kind in Work::ALL {
        println!("{:30} {:.3}", kind.words(), share(kind));
    }
    // A drive over a pass shows each of these for two per cent of the time at least, and cannot make the axle hot.
    for kind in [
        Work::Open,
        Work::Pulls,
        Work::TurnsIn,
        Work::HeldBySlip,
        Work::HeldByFriction,
    ] {
        assert!(share(kind) > 0.02, "{kind:?}: {}", share(kind));
    }
    assert_eq!(share(Work::HeldByHeat), 0.0);
    let mirrored = work(&result.record.mirrored()).expect("a trace");
    assert_eq!(kinds, mirrored);
}
