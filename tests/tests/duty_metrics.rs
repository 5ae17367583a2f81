//! Metrics of launch, split brake, parking, cruise and release against records whose values are known by construction.

use couplet_sim::metrics::{evaluate, series, value};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::record::{Channel, Parity, Record};
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Numbers, Scenario};
use couplet_tests::{demo_page, run_cases};

const PERIOD_S: f64 = 0.005;

/// A record of `samples` samples; each channel is a function of time, s.
fn record(samples: usize, channels: &[(&'static str, &dyn Fn(f64) -> f64)]) -> Record {
    let named = channels.iter().map(|(name, _)| Channel {
        name,
        unit: "-",
        parity: Parity::Even,
    });
    let mut record = Record::new(PERIOD_S, named.collect());
    for index in 0..samples {
        let time_s = index as f64 * PERIOD_S;
        let row: Vec<f32> = channels.iter().map(|(_, of)| of(time_s) as f32).collect();
        record.push(&row);
    }
    record
}

fn metric(manoeuvre: Manoeuvre, numbers: &Numbers, record: &Record, name: &str) -> Option<f64> {
    value(&evaluate(manoeuvre, numbers, record), name)
}

#[test]
fn a_launch_in_reverse_counts_speed_backwards_and_rolling_forwards_is_no_launch() {
    let mut numbers = Numbers::of(Manoeuvre::SplitLaunch);
    numbers.driver.reverse = 1.0;
    numbers.driver.action_s = 0.5;
    let time =
        |record: &Record| metric(Manoeuvre::SplitLaunch, &numbers, record, "time to 20 km/h");
    let still = |_: f64| 0.0;
    // 2 m/s2 from the action on: 20 km/h after 2.78 s.
    let backwards = record(
        1000,
        &[
            ("speed", &|time_s| -2.0 * (time_s - 0.5).max(0.0)),
            ("path_error", &still),
        ],
    );
    let expected = 20.0 / 3.6 / 2.0;
    // The crossing is interpolated between exact samples; 1e-4 s is the rounding of f32.
    assert!(time(&backwards).is_some_and(|time| (time - expected).abs() < 1e-4));
    let forwards = record(
        1000,
        &[("speed", &|time_s| 2.0 * time_s), ("path_error", &still)],
    );
    assert_eq!(time(&forwards), None);
}

#[test]
fn stopping_distance_is_that_of_constant_deceleration() {
    let numbers = Numbers::of(Manoeuvre::SplitBrake);
    // 20 m/s, brake at 1 s, 5 m/s2: v^2 / 2a = 40 m.
    let speed = |time_s: f64| (20.0 - 5.0 * (time_s - 1.0).max(0.0)).max(0.0);
    let brake = |time_s: f64| if time_s >= 1.0 - 1e-9 { 1.0 } else { 0.0 };
    let distance =
        |record: &Record| metric(Manoeuvre::SplitBrake, &numbers, record, "stopping distance");
    let stops = record(1200, &[("speed", &speed), ("brake", &brake)]);
    // Half a sample at 20 m/s is 0.05 m.
    assert!(distance(&stops).is_some_and(|distance| (distance - 40.0).abs() < 0.06));
    let backwards = record(1200, &[("speed", &|t| -speed(t)), ("brake", &brake)]);
    assert_eq!(distance(&backwards), distance(&stops));
    let rolls_on = record(800, &[("speed", &speed), ("brake", &brake)]);
    assert_eq!(distance(&rolls_on), None);
}

#[test]
fn wind_up_is_the_larger_of_a_wheel_held_back_and_rear_torque_beyond_the_powertrains() {
    let numbers = Numbers::of(Manoeuvre::Park);
    let wind_up = |left: f64, right: f64, carrier: f64| {
        let made = record(
            10,
            &[
                ("speed", &|_| 1.0),
                ("plant_clutch_torque_left", &|_| left),
                ("plant_clutch_torque_right", &|_| right),
                ("plant_carrier_torque", &|_| carrier),
            ],
        );
        metric(Manoeuvre::Park, &numbers, &made, "wind-up torque, largest")
    };
    assert_eq!(wind_up(100.0, 50.0, 200.0), Some(0.0));
    assert_eq!(wind_up(100.0, -70.0, 200.0), Some(70.0));
    assert_eq!(wind_up(150.0, 100.0, 200.0), Some(50.0));
    // A powertrain that drags is no reason to count more than the rear torque itself.
    assert_eq!(wind_up(30.0, 10.0, -200.0), Some(40.0));
}

#[test]
fn release_times_are_those_of_a_known_decay() {
    let numbers = Numbers::of(Manoeuvre::Release);
    let asked_s = 1.0;
    let lag_s = 0.05;
    let torque = |time_s: f64| {
        if time_s < asked_s {
            400.0
        } else {
            400.0 * (-(time_s - asked_s) / lag_s).exp()
        }
    };
    let flag = |time_s: f64| if time_s >= asked_s - 1e-9 { 1.0 } else { 0.0 };
    let capacity = |time_s: f64| {
        if time_s >= asked_s + 0.0299 {
            0.0
        } else {
            400.0
        }
    };
    let none = |_: f64| 0.0;
    let released = record(
        500,
        &[
            ("anti_lock_active", &none),
            ("stability_active", &flag),
            ("plant_clutch_torque_left", &torque),
            ("plant_clutch_torque_right", &|t| -torque(t)),
            ("capacity_left", &capacity),
            ("capacity_right", &capacity),
        ],
    );
    let of = |record: &Record, name| metric(Manoeuvre::Release, &numbers, record, name);
    // Under a tenth after ln(10) lags; both values are samples, so within one period.
    let expected = lag_s * 10.0_f64.ln();
    let within = |value: Option<f64>, expected: f64| {
        value.is_some_and(|value| (value - expected).abs() <= PERIOD_S + 1e-6)
    };
    let fallen = of(&released, "torque under a tenth after");
    assert!(within(fallen, expected), "{fallen:?}");
    let commanded = of(&released, "release commanded after");
    assert!(within(commanded, 0.03), "{commanded:?}");
    let residual = of(&released, "residual torque, larger side");
    assert!(residual.is_some_and(|torque| torque < 0.1), "{residual:?}");

    let kept = record(
        500,
        &[
            ("anti_lock_active", &none),
            ("stability_active", &flag),
            ("plant_clutch_torque_left", &|_| 300.0),
            ("plant_clutch_torque_right", &|_| 200.0),
        ],
    );
    assert_eq!(of(&kept, "torque under a tenth after"), None);
    assert_eq!(of(&kept, "residual torque, larger side"), Some(300.0));
    let never_asked = record(
        500,
        &[
            ("anti_lock_active", &none),
            ("stability_active", &none),
            ("plant_clutch_torque_left", &torque),
            ("plant_clutch_torque_right", &torque),
        ],
    );
    assert_eq!(of(&never_asked, "torque under a tenth after"), None);
    assert_eq!(of(&never_asked, "residual torque, larger side"), None);
}

#[test]
fn a_launch_up_the_grade_in_reverse_goes_backwards_up_the_same_slope() {
    let mut scenario = Scenario::of(Manoeuvre::SplitLaunch);
    scenario.numbers.driver.reverse = 1.0;
    scenario.numbers.road.grade_percent = 10.0;
    let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
    let last = |name: &str| {
        let column = result.record.column(name).unwrap_or_default();
        f64::from(column.last().copied().unwrap_or(f32::NAN))
    };
    assert!(last("speed") < -5.0);
    assert!(last("position_x") < -5.0);
    assert!(last("path_distance") > 5.0);
    // Uphill costs power: 10 % of the weight at the end's speed, 1720 kg at 5.5 m/s, is 9 kW.
    assert!(last("plant_grade_power") > 8000.0);
}

#[test]
fn silent_wheel_sensors_do_not_open_a_clutch_in_the_middle_of_a_launch() {
    for (reverse, grade_percent) in [(0.0, 0.0), (0.0, 10.0), (1.0, 0.0), (1.0, 10.0)] {
        let mut scenario = Scenario::of(Manoeuvre::SplitLaunch);
        scenario.numbers.driver.reverse = reverse;
        scenario.numbers.road.grade_percent = grade_percent;
        let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
        let least = |name: &str| {
            // From 0.35 s after the accelerator, with the clutches closed, to a walking pace and beyond.
            let samples = series::window(&result.record, name, 0.55, 1.5).unwrap_or_default();
            samples.iter().copied().fold(f32::INFINITY, f32::min)
        };
        let least = least("capacity_left").min(least("capacity_right"));
        // A third of the capacity: what wind-up and friction leave is far more; a sign taken wrongly left nothing.
        assert!(
            least > 360.0,
            "reverse {reverse}, {grade_percent} %: {least} N m"
        );
    }
}

#[test]
fn parking_at_full_lock_winds_up_less_than_eighty_newton_metres_either_way_and_ice_is_left() {
    for reverse in [0.0, 1.0] {
        let mut scenario = Scenario::of(Manoeuvre::Park);
        scenario.numbers.driver.reverse = reverse;
        let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
        let wind_up = value(&result.metrics, "wind-up torque, largest");
        assert!(wind_up.is_some_and(|torque| torque <= 80.0), "{wind_up:?}");
    }
    let cases = run_cases("park-ice");
    let paired = cases
        .iter()
        .find(|(case, _)| case.scenario.layout == AxleLayout::PairedClutches);
    let time = paired.and_then(|(_, result)| value(&result.metrics, "time to 5 km/h"));
    assert!(time.is_some(), "does not move off");
}

#[test]
fn the_axle_lets_go_in_time_when_the_brake_control_asks_warm_and_cold() {
    // Limits of the requirement rows: 100 ms to the command, 220 ms warm and 430 ms cold to a tenth, 50 Nm left.
    for (group, under_s) in [("release-warm", 0.22), ("release-cold", 0.43)] {
        for (case, result) in run_cases(group) {
            if case.scenario.layout != AxleLayout::PairedClutches {
                continue;
            }
            let of = |name| value(&result.metrics, name).unwrap_or(f64::NAN);
            // There must be something to let go.
            assert!(of("rear torque before the request") > 500.0);
            assert!(of("release commanded after") <= 0.1);
            assert!(of("torque under a tenth after") <= under_s);
            assert!(of("residual torque, larger side") <= 50.0);
        }
    }
}

#[test]
fn everything_stops_straight_on_split_friction() {
    for (case, result) in run_cases("split-brake") {
        let stopped = value(&result.metrics, "stopping distance");
        assert!(stopped.is_some(), "{} did not stop", case.scenario.name);
    }
}
