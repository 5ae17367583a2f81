//! The watch of the clutch pressures: what it finds, how fast, what it never takes for a fault, and what the car does.

use couplet_controller::calibration::{ActuationTunables, PressureWatch as Tunables};
use couplet_controller::calibration::{SlipPower, Vehicle as Car};
use couplet_controller::quantity::{PerSide, Period, Sensed};
use couplet_controller::stage::Stage;
use couplet_controller::stage::monitor::pressure::{PressureIn, PressureOut, PressureWatch};
use couplet_controller::stage::monitor::{Fault as Named, FaultSet};
use couplet_sim::fault::{Fault, Kind, Place};
use couplet_sim::metrics::value;
use couplet_sim::plant::Vehicle;
use couplet_sim::prove::programme;
use couplet_sim::run::{RunResult, run};
use couplet_sim::scenario::Scenario;
use couplet_tests::demo_page;
use proptest::prelude::*;

const PERIOD_S: f32 = 0.005;

fn watch() -> PressureWatch<f32> {
    PressureWatch::new(
        Tunables::nominal(),
        &ActuationTunables::nominal(),
        &Car::nominal(),
        &SlipPower::nominal(),
        Period::default(),
    )
}

/// Both clutches commanded `bar`, at 33 m/s straight on, wheels rolling freely.
fn at(commanded_bar: f32, measured: PerSide<Sensed<f32>>) -> PressureIn<f32> {
    PressureIn {
        measured_bar: measured,
        commanded_bar: PerSide::both(commanded_bar),
        oil_degc: 60.0,
        rear_rad_s: PerSide::both(Sensed::Fresh(104.0)),
        yaw_rate_rad_s: Sensed::Fresh(0.0),
        expected_nm: PerSide::both(0.0),
        speed_m_s: 33.0,
        road_wheel_rad: 0.0,
        anti_lock_active: false,
        jammed: PerSide::both(false),
    }
}

fn fresh(left: f32, right: f32) -> PerSide<Sensed<f32>> {
    PerSide { left, right }.map(Sensed::Fresh)
}

/// The left clutch goes to 36 bar by itself with a lag of 40 ms after 15 ms; the wheel shows it or does not. Output of every step.
fn runaway(shown: bool, change: impl Fn(&mut PressureIn<f32>)) -> Vec<PressureOut<f32>> {
    let (watch, mut state) = (watch(), Default::default());
    (0..60)
        .map(|step| {
            let time_s = step as f32 * PERIOD_S - 0.015;
            let bar = 36.0 * (1.0 - (-time_s.max(0.0) / 0.04).exp());
            let mut input = at(0.0, fresh(bar, 0.0));
            // Torque of that pressure over the tyres' stiffness, as far as 4 % of slip.
            let torque_nm = ((bar - 0.8) * 38.3).clamp(0.0, 896.0);
            if shown {
                input.rear_rad_s.left =
                    Sensed::Fresh(104.0 * (1.0 + torque_nm / (70_000.0 * 0.32)));
            }
            change(&mut input);
            watch.step(&mut state, &input, PERIOD_S)
        })
        .collect()
}

fn first(outs: &[PressureOut<f32>], is: impl Fn(&PressureOut<f32>) -> bool) -> Option<f32> {
    outs.iter().position(is).map(|step| step as f32 * PERIOD_S)
}

#[test]
fn too_much_pressure_is_found_and_released_within_fifty_milliseconds_and_matched_when_the_wheels_show_it()
 {
    let outs = runaway(true, |_| {});
    let released_s = first(&outs, |out| out.release.left);
    println!("released after {released_s:?} s");
    // 15 ms of dead time, 4 ms until 3 bar are there, 15 ms to confirm, whole steps: the promise is 100 ms from the cause.
    assert!(
        released_s.is_some_and(|time| time <= 0.05),
        "{released_s:?}"
    );
    assert!(outs.iter().all(|out| !out.release.right));
    let last = outs.last().expect("steps");
    assert!(last.faults.holds(Named::ClutchPressureHighLeft));
    // The right one takes what the wheels show, 896 Nm, or a little more.
    assert_eq!(last.match_nm.left, 0.0);
    assert!(
        (896.0..=1.31 * 896.0).contains(&last.match_nm.right),
        "{:?}",
        last.match_nm
    );
    // Heat is made by what the pressure gives.
    assert!(last.passed_nm.left > 1000.0 && last.passed_nm.right == 0.0);
    let stuck_s = first(&outs, |out| out.faults.holds(Named::ClutchStuckClosedLeft));
    assert!(
        stuck_s.is_some_and(|time| time > 0.25 && time < 0.3),
        "{stuck_s:?}"
    );
}

#[test]
fn a_sensor_alone_closes_no_clutch_nor_do_anti_lock_steering_low_speed_or_lost_witnesses() {
    let matched = |outs: Vec<PressureOut<f32>>| outs.iter().any(|out| out.match_nm.right > 0.0);
    assert!(matched(runaway(true, |_| {})));
    assert!(!matched(runaway(false, |_| {})), "a sensor alone");
    assert!(!matched(
        runaway(true, |input| input.anti_lock_active = true)
    ));
    assert!(!matched(runaway(true, |input| input.road_wheel_rad = -0.12)));
    assert!(!matched(runaway(true, |input| input.speed_m_s = 6.0)));
    assert!(!matched(
        runaway(true, |input| input.yaw_rate_rad_s = Sensed::Lost)
    ));
    assert!(!matched(
        runaway(true, |input| input.rear_rad_s.right = Sensed::Lost)
    ));
    // The other clutch's own torque is no witness for a sensor that lies: its wheel is ahead, the liar's is not.
    let lying = runaway(false, |input| {
        input.expected_nm.right = 600.0;
        input.rear_rad_s.right = Sensed::Fresh(104.0 * (1.0 + 600.0 / (70_000.0 * 0.32)));
    });
    assert!(!matched(lying), "the other clutch's own torque");
}

#[test]
fn too_little_pressure_is_a_leak_or_no_pressure_at_all() {
    let after = |bar: f32| {
        let (watch, mut state) = (watch(), Default::default());
        let mut last = PressureOut::default();
        for step in 0..200 {
            last = watch.step(&mut state, &at(20.0, fresh(bar, 20.0)), PERIOD_S);
            assert!(!(last.release.left && step < 30), "released before 0.15 s");
        }
        last
    };
    let (leak, none, whole) = (after(10.0), after(0.0), after(19.0));
    let only = |out: PressureOut<f32>, fault| out.faults == FaultSet::default().with(fault, true);
    assert!(only(leak, Named::ClutchLeakLeft), "{:?}", leak.faults);
    assert!(only(none, Named::ClutchStuckOpenLeft), "{:?}", none.faults);
    assert!(leak.release.left && none.release.left && !whole.release.left);
    assert_eq!(whole.faults, FaultSet::default());
}

#[test]
fn a_finding_heals_in_its_time_and_one_that_stood_too_long_stays() {
    let (watch, mut state) = (watch(), PerSide::default());
    let mut step = |bar: f32| {
        watch
            .step(&mut state, &at(0.0, fresh(bar, 0.0)), PERIOD_S)
            .release
            .left
    };
    for _ in 0..10 {
        step(20.0);
    }
    // 2 s of agreement.
    let held = (0..1000).take_while(|_| step(0.0)).count();
    assert_eq!(held, 399);
    for _ in 0..1000 {
        step(20.0);
    }
    // It stood 2 s and then 5 s: more than 5 s altogether.
    assert!((0..10_000).all(|_| step(0.0)), "it healed");
}

#[test]
fn a_car_without_the_sensors_is_never_judged_and_a_lost_sensor_is_named_but_changes_nothing() {
    let (watch, mut state) = (watch(), PerSide::default());
    for bar in [0.0, 30.0, 0.0] {
        for _ in 0..100 {
            let out = watch.step(&mut state, &at(bar, PerSide::both(Sensed::Lost)), PERIOD_S);
            assert_eq!(out, PressureOut::default());
        }
    }
    watch.step(&mut state, &at(0.0, fresh(0.0, 0.0)), PERIOD_S);
    let mut input = at(25.0, fresh(0.0, 25.0));
    input.measured_bar.left = Sensed::Lost;
    for _ in 0..200 {
        let out = watch.step(&mut state, &input, PERIOD_S);
        assert_eq!(
            out.faults,
            FaultSet::default().with(Named::ClutchSensorLeft, true)
        );
        assert_eq!(out.release, PerSide::both(false));
    }
}

proptest! {
    #![proptest_config(couplet_tests::property(400))]

    #[test]
    fn an_actuator_within_its_class_is_no_fault_whatever_is_commanded(
        seed in any::<u64>(),
        gain in 0.85_f32..1.15,
        dead_steps in 1_usize..6,
        lag_s in 0.03_f32..0.06,
        cold in any::<bool>(),
    ) {
        // Dead time to 25 ms and lag to 60 ms, four times that in cold oil; gain +-15 %, noise of 0.1 bar.
        let mut bits = seed;
        let mut chance = move || {
            bits = bits.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (bits >> 40) as f32 / 16_777_216.0
        };
        let slower = if cold { 4 } else { 1 };
        let (watch, mut state) = (watch(), PerSide::default());
        let (mut pressure_bar, mut commanded_bar, mut goal_bar) = (0.0_f32, 0.0_f32, 0.0_f32);
        let mut past = vec![0.0; dead_steps * slower + 1];
        for step in 0..2000 {
            if chance() < 0.02 {
                goal_bar = if chance() < 0.3 { 0.0 } else { 36.0 * chance() };
            }
            // Rises are bounded, falls may be at once.
            commanded_bar = goal_bar.min(commanded_bar + 1.9);
            past.rotate_right(1);
            past[0] = commanded_bar;
            let target_bar = (gain * past[past.len() - 1]).min(36.0);
            pressure_bar += (target_bar - pressure_bar) * PERIOD_S / (lag_s * slower as f32 + PERIOD_S);
            let mut input = at(commanded_bar, fresh(pressure_bar + 0.2 * (chance() - 0.5), pressure_bar));
            input.oil_degc = if cold { -20.0 } else { 60.0 };
            let out = watch.step(&mut state, &input, PERIOD_S);
            prop_assert_eq!(out.faults, FaultSet::default(), "step {}: {} of {} bar", step, pressure_bar, commanded_bar);
        }
    }
}

/// The demo's run with full current on one side, with another fault or other numbers.
fn drive(change: impl Fn(&mut Scenario)) -> RunResult {
    let mut case = programme()
        .into_iter()
        .find(|case| case.scenario.name == "wrong-current-paired")
        .expect("the demo has the case");
    change(&mut case.scenario);
    run(
        &case.scenario,
        &Vehicle::default(),
        &demo_page(case.setting),
    )
}

fn column<'a>(result: &'a RunResult, name: &str) -> &'a [f32] {
    result
        .record
        .column(name)
        .unwrap_or_else(|| panic!("no channel {name}"))
}

/// Time after the fault at which a channel first shows what is asked, s.
fn after_fault_s(result: &RunResult, name: &str, is: impl Fn(f32) -> bool) -> Option<f64> {
    let column = column(result, name);
    (0..result.record.len())
        .find(|sample| result.record.time_s(*sample) >= 1.0 && is(column[*sample]))
        .map(|sample| result.record.time_s(sample) - 1.0)
}

fn drift_m(result: &RunResult) -> f64 {
    value(&result.metrics, "drift within 1 s").expect("a drift")
}

#[test]
fn a_clutch_that_does_not_open_is_released_within_a_tenth_of_a_second_and_matched_by_the_other_one()
{
    let mut drifts = Vec::new();
    for (seed, left) in [(0, true), (1, true), (2, false), (3, false)] {
        let result = drive(|scenario| {
            scenario.seed = seed;
            scenario.faults = vec![Fault::from(Place::Current { left }, Kind::Full, 1.0)];
        });
        let (bad, good) = if left {
            ("left", "right")
        } else {
            ("right", "left")
        };
        let released_s = after_fault_s(&result, &format!("capacity_{bad}"), |nm| nm == 0.0);
        assert!(released_s.is_some_and(|time| time <= 0.1), "{released_s:?}");
        let named = after_fault_s(&result, &format!("clutch_faults_{bad}"), |bits| {
            bits as u32 & 2 != 0
        });
        assert!(
            named.is_some_and(|time| time < 0.5),
            "stuck closed after {named:?} s"
        );
        assert!(
            column(&result, &format!("clutch_faults_{good}"))
                .iter()
                .all(|bits| *bits == 0.0)
        );
        let torque = |side: &str| column(&result, &format!("plant_clutch_torque_{side}"));
        let last = result.record.len() - 1;
        let rest_nm = torque(bad)[last] - torque(good)[last];
        assert!(rest_nm.abs() < 60.0, "{rest_nm} Nm are not matched");
        drifts.push(drift_m(&result));
    }
    println!("drifts {drifts:?} m");
    // The requirement; an independent prototype drifts 0.36 m with the command wrong for 300 ms only.
    assert!(drifts.iter().all(|drift| *drift <= 0.25), "{drifts:?}");
}

#[test]
fn in_cold_oil_a_clutch_that_does_not_open_is_found_as_well() {
    let result = drive(|scenario| scenario.numbers.road.axle_degc = -20.0);
    let released_s = after_fault_s(&result, "capacity_left", |nm| nm == 0.0);
    println!(
        "cold: released after {released_s:?} s, drift {} m",
        drift_m(&result)
    );
    // Four times the dead time and lag stand before the pressure shows: 60 ms and some.
    assert!(
        released_s.is_some_and(|time| time <= 0.15),
        "{released_s:?}"
    );
}

#[test]
fn without_pressure_sensors_the_yaw_loop_alone_answers_as_before() {
    let result = drive(|scenario| scenario.numbers.sensors.pressure_sensors = 0.0);
    assert!(
        column(&result, "clutch_faults_left")
            .iter()
            .all(|bits| *bits == 0.0)
    );
    let drift = drift_m(&result);
    // 0.328 m before there was such an input; the bound is half of what the prototype drifts when nothing answers.
    assert!(drift > 0.25 && drift < 0.5, "{drift}");
}

#[test]
fn missing_pressure_is_named_and_a_sensor_that_lies_neither_moves_the_car_nor_closes_a_clutch() {
    // A leak of 65 % leaves the tolerance only above 6 bar, which the law commands later. The sensor that lies reads 30 bar more.
    let leak = Fault {
        size: 0.65,
        ..Fault::from(Place::Clutch { left: true }, Kind::Leak, 1.0)
    };
    let lying = Fault {
        size: 30.0,
        ..Fault::from(Place::Signal("clutch_pressure_left"), Kind::Offset, 1.0)
    };
    let cases = [
        (
            Fault::from(Place::Current { left: true }, Kind::Off, 1.0),
            8,
            0.4,
        ),
        (leak, 4, 1.2),
        (lying, 1, 0.1),
    ];
    for (fault, bit, latest_s) in cases {
        let kind = fault.words();
        let result = drive(|scenario| {
            scenario.faults = vec![fault];
            scenario.numbers.course.speed_rise_m_s2 = 2.0;
        });
        let named = after_fault_s(&result, "clutch_faults_left", |bits| bits as u32 & bit != 0);
        println!(
            "kind {kind}: named after {named:?} s, drift {} m",
            drift_m(&result)
        );
        assert!(
            named.is_some_and(|time| time < latest_s),
            "kind {kind}: {named:?}"
        );
        assert!(
            drift_m(&result) <= 0.25,
            "kind {kind}: {} m",
            drift_m(&result)
        );
        let most = column(&result, "matched_right")
            .iter()
            .fold(0.0_f32, |a, b| a.max(*b));
        // What is matched behind a sensor that lies is the torque that still falls on its side, 230 Nm and three tenths.
        assert!(
            most < 350.0,
            "{kind}: the sound clutch was closed by {most} Nm"
        );
    }
}
