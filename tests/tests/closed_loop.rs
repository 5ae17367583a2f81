//! The closed loop: mirroring, repetition, the shapes of the comparison, heat.

use couplet_sim::metrics::{series, value};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::{programme, rows};
use couplet_sim::record::Record;
use couplet_sim::run::{Ending, run};
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::{demo_page, run_cases};

/// First sample in which two records differ, with its channel.
fn first_difference(one: &Record, other: &Record) -> Option<String> {
    if one.len() != other.len() {
        return Some(format!("{} samples against {}", one.len(), other.len()));
    }
    for sample in 0..one.len() {
        for (index, channel) in one.channels().iter().enumerate() {
            let (a, b) = (
                one.column_at(index)?[sample],
                other.column_at(index)?[sample],
            );
            if a != b {
                return Some(format!(
                    "{} at {:.3} s: {a} against {b}",
                    channel.name,
                    one.time_s(sample)
                ));
            }
        }
    }
    None
}

fn mirrored_twins_agree(cases: impl Iterator<Item = Scenario>, setting: &str) {
    for scenario in cases {
        let mut twin = scenario.clone();
        twin.mirrored = true;
        let page = demo_page(setting);
        let car = Vehicle::default();
        let (one, other) = (run(&scenario, &car, &page), run(&twin, &car, &page));
        assert_eq!(
            first_difference(&one.record.mirrored(), &other.record),
            None,
            "{}",
            scenario.name
        );
        assert_eq!(one.outcome, other.outcome, "{}", scenario.name);
    }
}

#[test]
fn the_mirrored_twin_of_every_run_is_the_exact_mirror_image() {
    for case in programme() {
        let mut scenario = case.scenario;
        // Half a minute of the slow circle passes from straight ahead through the first stick phases.
        scenario.numbers.course.longest_s = scenario.numbers.course.longest_s.min(30.0);
        mirrored_twins_agree([scenario].into_iter(), case.setting);
    }
}

#[test]
fn the_whole_dry_circle_mirrors_up_to_its_limit() {
    let circle = Scenario::of(Manoeuvre::ConstantRadius);
    mirrored_twins_agree([circle].into_iter(), "response");
}

#[test]
fn runs_with_noisy_sensors_mirror_too_and_depend_on_their_seed() {
    let mut noisy = Scenario::of(Manoeuvre::PowerOnExit);
    noisy.numbers.sensors.yaw_rate_noise_rad_s = 0.004;
    noisy.numbers.sensors.wheel_speed_noise_rad_s = 0.05;
    noisy.numbers.sensors.acceleration_noise_m_s2 = 0.1;
    noisy.numbers.sensors.steering_noise_rad = 0.002;
    mirrored_twins_agree([noisy.clone()].into_iter(), "response");
    let page = demo_page("response");
    let mut other = noisy.clone();
    other.seed = 1;
    let (one, two) = (
        run(&noisy, &Vehicle::default(), &page),
        run(&other, &Vehicle::default(), &page),
    );
    assert!(first_difference(&one.record, &two.record).is_some());
}

#[test]
fn two_runs_are_equal_to_the_last_bit() {
    let page = demo_page("response");
    for manoeuvre in Manoeuvre::ALL {
        let mut scenario = Scenario::of(manoeuvre);
        scenario.numbers.course.longest_s = scenario.numbers.course.longest_s.min(20.0);
        let once = run(&scenario, &Vehicle::default(), &page);
        let again = run(&scenario, &Vehicle::default(), &page);
        assert_eq!(once, again, "{}", scenario.name);
    }
}

/// Values of the three layouts for a requirement, in the order open, single coupling, paired.
fn reached(prefix: &str, id: &str) -> (Option<f64>, Option<f64>, Option<f64>) {
    let rows = rows(&run_cases(prefix));
    match rows.into_iter().find(|row| row.id == id) {
        Some(row) => (row.passive, row.coupling, row.paired),
        None => panic!("no row {id}"),
    }
}

#[test]
fn only_the_paired_axle_climbs_split_friction_on_ten_percent() {
    let (open, coupling, paired) = reached("split-launch-10", "split-launch-10");
    assert_eq!((open, coupling), (None, None));
    assert!(paired.is_some_and(|time| time < 4.3), "{paired:?}");
}

#[test]
fn a_stuck_car_is_reported_as_stuck() {
    for (case, result) in run_cases("split-launch-20") {
        if case.scenario.numbers.driver.reverse > 0.5 {
            continue;
        }
        let paired = case.scenario.layout == AxleLayout::PairedClutches;
        assert_eq!(
            result.outcome.ended == Ending::GoalReached,
            paired,
            "{}",
            case.scenario.name
        );
        assert_eq!(value(&result.metrics, "time to 20 km/h").is_some(), paired);
    }
}

#[test]
fn the_paired_axle_leaves_a_dry_corner_nearer_its_path_than_both_others() {
    let (open, coupling, paired) = reached("power-on-exit-dry", "exit-dry-path");
    assert!(
        paired.is_some() && paired < open && paired < coupling,
        "{paired:?}, {open:?}, {coupling:?}"
    );
}

#[test]
fn lift_off_is_calmer_with_two_clutches_and_worse_with_one_coupling_than_open() {
    let (open, coupling, paired) = reached("lift-off", "lift-off-peak");
    let (open, coupling, paired) = (
        open.unwrap_or(f64::NAN),
        coupling.unwrap_or(f64::NAN),
        paired.unwrap_or(f64::NAN),
    );
    assert!(
        paired < open && open < coupling,
        "{paired} < {open} < {coupling}"
    );
}

#[test]
fn the_circle_needs_less_additional_steering_and_ends_later_with_two_clutches() {
    let (open, coupling, paired) = reached("circle-dry", "circle-dry");
    assert!(
        paired < open && paired < coupling,
        "gradient {paired:?}, {open:?}, {coupling:?}"
    );
    let (open, coupling, paired) = reached("circle-dry", "circle-dry-limit");
    assert!(
        paired > open && paired > coupling,
        "limit {paired:?}, {open:?}, {coupling:?}"
    );
}

#[test]
fn the_wet_exit_is_not_slower_than_with_a_single_coupling() {
    let (_, coupling, paired) = reached("power-on-exit-wet", "exit-wet-speed");
    assert!(
        paired.is_some() && paired >= coupling,
        "{paired:?} against {coupling:?}"
    );
}

#[test]
fn the_controller_knows_the_heat_it_makes_within_a_tenth() {
    // Runs with at least one kilojoule in the clutch judged; below that the share means little.
    let mut judged = 0;
    for (case, result) in run_cases("split-launch") {
        if case.scenario.layout != AxleLayout::PairedClutches {
            continue;
        }
        for side in ["left", "right"] {
            let truth = series::rise(&result.record, &format!("plant_clutch_energy_{side}"));
            let estimate = series::integral(&result.record, &format!("estimated_heat_{side}"));
            let (Some(truth), Some(estimate)) = (truth, estimate) else {
                panic!("no heat channel")
            };
            if result.outcome.ended != Ending::GoalReached {
                // A car that hardly moves stays where wheel speed sensors are silent (2.6 rad/s): a sticking clutch then
                // seems to slip, and the estimate may only err to the hot side. Largest seen 1.40.
                let share = estimate / truth;
                let name = &case.scenario.name;
                assert!(
                    truth < 1000.0 || (0.9..1.5).contains(&share),
                    "{name} {side}: {share:.2}"
                );
                continue;
            }
            if truth > 1000.0 {
                judged += 1;
                assert!(
                    (estimate / truth - 1.0).abs() < 0.1,
                    "{} {side}: {estimate:.0} J estimated, {truth:.0} J in truth",
                    case.scenario.name
                );
            }
        }
    }
    assert!(
        judged >= 3,
        "only {judged} clutches worked hard enough to judge"
    );
}

#[test]
fn nothing_is_closed_on_a_straight_road_at_constant_speed() {
    let mut cruise = Scenario::of(Manoeuvre::StepSteer);
    cruise.numbers.course.speed_m_s = 120.0 / 3.6;
    // The foot needs some seconds to find the pedal that holds the speed.
    cruise.numbers.driver.action_s = 20.0;
    cruise.numbers.course.longest_s = 20.5;
    let result = run(&cruise, &Vehicle::default(), &demo_page("patrol"));
    for side in ["left", "right"] {
        let most = series::largest_size(&result.record, &format!("capacity_{side}"), 10.0, 19.9);
        // Sensor noise may brush the threshold of demand; 5 Nm at the 2 rad/s of straight-line overspeed is 10 W, a sixth
        // of the 60 W the axle may cost at this speed.
        assert!(
            most.is_some_and(|capacity| capacity < 5.0),
            "{side}: {most:?} Nm"
        );
    }
}

#[test]
fn a_step_steer_bears_a_valve_of_second_order_down_to_a_damping_of_one_half() {
    let case = programme()
        .into_iter()
        .find(|case| case.scenario.name == "step-steer-steady-paired")
        .expect("the programme steers a step");
    let page = demo_page(case.setting);
    let overshoot = |damping_ratio: f64| {
        let mut car = Vehicle::default();
        car.actuator.damping_ratio = damping_ratio;
        let metrics = run(&case.scenario, &car, &page).metrics;
        value(&metrics, "yaw rate overshoot").expect("a response")
    };
    // The requirement on the step steer is 12 %; the mean delay of the valve is the same throughout.
    let lagging = overshoot(0.0);
    for (damping_ratio, most) in [(0.5, 12.0), (0.7, lagging + 1.0), (1.0, lagging + 0.5)] {
        let found = overshoot(damping_ratio);
        assert!(
            found <= most,
            "{damping_ratio}: {found} %, first order {lagging} %"
        );
    }
    // What the book says of a valve that rings on must stay true.
    assert!(overshoot(0.3) > 12.0);
}
