//! Stability metrics on made-up records with known answers, and the clutches in oversteer over random drives.

use couplet_controller::signal::Limit;
use couplet_sim::metrics::oversteer::{Ability, EXCUSES, excess_rad, openings};
use couplet_sim::metrics::{evaluate, value};
use couplet_sim::plant::Vehicle;
use couplet_sim::record::{Channel, Parity, Record};
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Numbers, Scenario};
use couplet_tests::{demo_page, run_cases};
use proptest::prelude::*;

fn record(period_s: f64, names: &[&'static str]) -> Record {
    let channel = |name: &&'static str| Channel {
        name,
        unit: "-",
        parity: Parity::Even,
    };
    Record::new(period_s, names.iter().map(channel).collect())
}

#[test]
fn drift_is_the_sagitta_of_the_circle_driven() {
    // Radius 1,200 m at 40 m/s: after 1 s the car is R (1 - cos(V t / R)) off its tangent, whatever way it set out.
    let (radius, speed, away) = (1_200.0_f64, 40.0_f64, 0.3_f64);
    let names = [
        "position_x",
        "position_y",
        "heading",
        "sideslip",
        "yaw_rate",
        "speed",
        "longitudinal_acceleration",
    ];
    let mut driven = record(0.005, &names);
    for step in 0..=1_240 {
        let turned = speed * f64::from(step) * 0.005 / radius;
        let (x, y) = (
            radius * libm::sin(turned),
            radius * (1.0 - libm::cos(turned)),
        );
        let (sine, cosine) = (libm::sin(away), libm::cos(away));
        // The nose points 0.02 rad away from the direction of travel.
        driven.push(&[
            (x * cosine - y * sine) as f32,
            (x * sine + y * cosine) as f32,
            (away + turned + 0.02) as f32,
            -0.02,
            (speed / radius) as f32,
            speed as f32,
            0.0,
        ]);
    }
    let numbers = Numbers::of(Manoeuvre::StraightAhead);
    let metrics = evaluate(Manoeuvre::StraightAhead, &numbers, &driven);
    let sagitta = |time: f64| radius * (1.0 - libm::cos(speed * time / radius));
    // f32 places of 240 m are good to 2e-5 m, the direction of travel to 3e-8 rad.
    for (name, time) in [("drift within 1 s", 1.0), ("drift within 6 s", 6.0)] {
        let found = value(&metrics, name).expect("a drift");
        assert!((found - sagitta(time)).abs() < 1e-4, "{name}: {found}");
    }
    let change = value(&metrics, "yaw rate change, largest").expect("a yaw rate");
    assert!(
        change < 1e-6,
        "a steady turn changed its yaw rate by {change}"
    );
}

const SLIDE: [&str; 20] = [
    "plant_slip_angle_front_left",
    "plant_slip_angle_front_right",
    "plant_slip_angle_rear_left",
    "plant_slip_angle_rear_right",
    "yaw_rate",
    "speed",
    "sideslip",
    "plant_clutch_slip_left",
    "plant_clutch_slip_right",
    "capacity_left",
    "capacity_right",
    "capacity_possible_left",
    "capacity_possible_right",
    "limit_left",
    "limit_right",
    "heat_ceiling_left",
    "heat_ceiling_right",
    "health",
    "pedal",
    "brake",
];

/// A left turn whose tail goes out for half a second, capacity of the left clutch given by time, with what limits it.
fn slide(slip_left: f32, limit: Limit, capacity: impl Fn(f32) -> f32) -> Record {
    let mut slid = record(0.005, &SLIDE);
    for step in 0..100_u8 {
        let time = f32::from(step) * 0.005;
        // ISO 8855: slip angles of a left turn are negative.
        slid.push(&[
            -0.05,
            -0.05,
            -0.08,
            -0.08,
            0.5,
            20.0,
            -0.1 * time,
            slip_left,
            5.0,
            capacity(time),
            300.0,
            1000.0,
            1000.0,
            f32::from(limit.number()),
            0.0,
            1.0,
            1.0,
            0.0,
            0.0,
            0.0,
        ]);
    }
    slid
}

#[test]
fn opening_in_oversteer_is_counted_and_only_where_it_takes_a_counter_moment_away() {
    let count = |record: &Record| openings(record, 0.95, Ability::Commanded).expect("a count");
    // 600 Nm/s of 300 Nm: a fifth in 0.1 s.
    let opening = |time: f32| 300.0 - 600.0 * (time - 0.2).clamp(0.0, 0.2);
    assert_eq!(count(&slide(1.0, Limit::Nothing, opening)), 1);
    assert_eq!(count(&slide(1.0, Limit::Nothing, |_| 300.0)), 0, "held");
    // 2 % in 0.1 s is trimming.
    assert_eq!(
        count(&slide(1.0, Limit::Nothing, |time| 300.0 - 60.0 * time)),
        0
    );
    // A left wheel faster than the shaft would be braked, which turns the car further in.
    assert_eq!(
        count(&slide(-1.0, Limit::Nothing, opening)),
        0,
        "no counter"
    );
    assert_eq!(count(&slide(-0.1, Limit::Nothing, opening)), 1, "near lock");
    assert_eq!(count(&slide(1.0, Limit::OilHeat, opening)), 0, "heat");
    assert_eq!(
        count(&slide(1.0, Limit::Friction, opening)),
        1,
        "friction is no excuse"
    );
}

#[test]
fn rear_tyres_that_slip_more_than_the_front_ones_are_oversteer_on_either_side() {
    let left = slide(1.0, Limit::Nothing, |_| 0.0);
    let excess = excess_rad(&left).expect("slip angles");
    // 0.08 - 0.05 rad in f32.
    assert!(excess.iter().all(|excess| (excess - 0.03).abs() < 1e-7));
}

#[test]
fn the_excuses_are_open_now_fault_heat_cap_and_the_brakes_control() {
    let named = [
        Limit::OpenNow,
        Limit::Fault,
        Limit::AbsoluteHeat,
        Limit::MasterCap,
        Limit::SurfaceHeat,
        Limit::CoreHeat,
        Limit::OilHeat,
        Limit::BrakeControl,
    ];
    assert_eq!(EXCUSES, named.map(Limit::number));
}

#[test]
fn a_wrong_request_of_the_law_is_released_within_a_tenth_of_a_second_and_hardly_moves_the_car() {
    for (case, result) in run_cases("wrong-request-paired") {
        let start_s = case.scenario.faults[0].start_s;
        let released = (0..result.record.len()).find(|sample| {
            let open = |name| {
                result
                    .record
                    .column(name)
                    .is_some_and(|c| c[*sample] == 0.0)
            };
            result.record.time_s(*sample) >= start_s
                && open("capacity_left")
                && open("capacity_right")
        });
        let after_s = released.map(|sample| result.record.time_s(sample) - start_s);
        assert!(
            after_s.is_some_and(|time| time <= 0.1),
            "released after {after_s:?} s"
        );
        let drift = value(&result.metrics, "drift within 1 s");
        assert!(drift.is_some_and(|drift| drift <= 0.25), "{drift:?} m");
    }
}

#[test]
fn full_current_on_one_side_for_good_drifts_less_than_a_car_that_does_not_answer() {
    // An independent prototype of the same axle on another invented car drifts 0.93 m when nothing answers; the requirement is 0.25 m.
    // The yaw loop alone drifted 0.33 m, before the measured pressure told what happened.
    let drifts: Vec<_> = run_cases("wrong-current-paired")
        .iter()
        .map(|(_, result)| value(&result.metrics, "drift within 1 s"))
        .collect();
    assert!(
        matches!(drifts[..], [Some(drift)] if drift > 0.0 && drift <= 0.25),
        "{drifts:?}"
    );
}

fn setting() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("patrol"), Just("response")]
}

proptest! {
    // A case is two to six simulated drives, a quarter of a second.
    #![proptest_config(couplet_tests::property(16))]

    #[test]
    fn closed_clutches_are_not_given_up_while_the_car_oversteers(
        setting in setting(),
        lift_off in any::<bool>(),
        share in 0.75..0.92_f64,
        friction in 0.5..1.0_f64,
        rear in 0.85..1.0_f64,
        speed in 22.0..40.0_f64,
        seed in 0..1_000_u64,
    ) {
        let mut scenario = Scenario::of(if lift_off { Manoeuvre::LiftOff } else { Manoeuvre::StepSteer });
        scenario.seed = seed;
        scenario.numbers.road.friction_left = friction;
        scenario.numbers.road.friction_right = friction;
        scenario.numbers.car.rear_stiffness_scale = rear;
        scenario.numbers.course.speed_m_s = speed;
        scenario.numbers.course.lateral_acceleration_m_s2 = share * friction * 9.81;
        let result = run(&scenario, &Vehicle::default(), &demo_page(setting));
        let count = value(&result.metrics, "capacity against oversteer given up, times");
        prop_assert_eq!(count, Some(0.0));
    }
}

#[test]
fn an_unloaded_inner_wheel_does_not_take_its_clutch_away_in_oversteer() {
    // Found by the search above: the friction bound of the unloading inner wheel took a twentieth of its torque each step.
    let mut scenario = Scenario::of(Manoeuvre::StepSteer);
    scenario.numbers.road.friction_left = 0.85;
    scenario.numbers.road.friction_right = 0.85;
    scenario.numbers.car.rear_stiffness_scale = 0.85;
    scenario.numbers.course.speed_m_s = 25.37;
    scenario.numbers.course.lateral_acceleration_m_s2 = 7.37;
    let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
    let of = |name| value(&result.metrics, name);
    assert!(of("time of growing oversteer") > Some(0.1));
    assert_eq!(of("capacity against oversteer given up, times"), Some(0.0));
}
