//! Steady turns, lift-off and braking in a turn: procedures in the small against the linear car, values on exact records.
//!
//! Definitions after ISO 4138:2021, ISO 9816:2018 and ISO 7975:2019 (from memory where not said otherwise). Closed forms:
//! delta = L/R + K a_y, beta = b/R - a m a_y / (L Cr), linear single-track model ("Vehicle Dynamics and Control", 2nd ed.
//! ch. 2, from memory).

use couplet_sim::metrics::{Metric, steady, turn_change, value};
use couplet_sim::plant::single_track::SingleTrack;
use couplet_sim::plant::{AxleLayout, Plant, Road, Start, Vehicle};
use couplet_sim::record::{Channel, Parity, Record};
use couplet_sim::run::{Ending, RunResult, run};
use couplet_sim::scenario::{Manoeuvre, Numbers, Scenario, SensorNumbers};
use couplet_tests::demo_page;

fn of(metrics: &[Metric], name: &str) -> f64 {
    value(metrics, name).unwrap_or(f64::NAN)
}

fn drive(scenario: &Scenario, vehicle: &Vehicle) -> RunResult {
    run(scenario, vehicle, &demo_page("patrol"))
}

/// The demo car without what the linear car does not know: air, rolling resistance, overrun and take-off drag.
fn bare() -> Vehicle {
    let mut vehicle = Vehicle::default();
    vehicle.body.drag_area_m2 = 0.0;
    vehicle.body.rolling_resistance = 0.0;
    vehicle.powertrain.drag_torque_nm = 0.0;
    vehicle.driveline.drag_nm = 0.0;
    // Without height no load moves from wheel to wheel; the least a vehicle file allows.
    vehicle.body.gravity_height_m = 0.1;
    vehicle
}

fn linear(vehicle: &Vehicle) -> SingleTrack {
    let start = Start {
        speed_m_s: 20.0,
        ..Start::default()
    };
    Plant::new(*vehicle, AxleLayout::FrontDrive, Road::level(0.95), start).single_track()
}

/// A procedure of ISO 4138 with little lateral acceleration; the radius of the constant-steering run is that at walking pace.
fn small(manoeuvre: Manoeuvre) -> Scenario {
    let mut scenario = Scenario::of(manoeuvre);
    scenario.layout = AxleLayout::FrontDrive;
    scenario.numbers.sensors = SensorNumbers::ideal();
    let course = &mut scenario.numbers.course;
    match manoeuvre {
        Manoeuvre::ConstantSpeed => {
            course.lateral_acceleration_m_s2 = 1.8;
            course.longest_s = 15.0;
        }
        _ => {
            course.radius_m = 100.0;
            course.speed_m_s = 5.0;
            course.longest_s = 55.0;
        }
    }
    scenario
}

const METHODS: [Manoeuvre; 3] = [
    Manoeuvre::ConstantRadius,
    Manoeuvre::ConstantSpeed,
    Manoeuvre::ConstantSteering,
];

#[test]
fn three_methods_of_the_steady_circle_find_the_understeer_of_the_linear_car() {
    let vehicle = bare();
    let car = linear(&vehicle);
    let (understeer, wheelbase) = (car.understeer_rad_s2_m(), car.wheelbase_m());
    for manoeuvre in METHODS {
        let scenario = small(manoeuvre);
        let result = drive(&scenario, &vehicle);
        let points = steady::points(&result.record);
        let Some(found) = steady::gradients(&points, wheelbase, 0.2, 1.6) else {
            panic!("{}: {} steady points", scenario.name, points.len())
        };
        // Part of the tyres, and what geometry adds by each method.
        let tyres = -car.front_m * car.mass_kg / (wheelbase * car.rear_stiffness_n_rad);
        // A car without any resistance cannot slow down: it keeps what its foot gave too much at first. The speed driven counts.
        let speed = libm::sqrt(
            points
                .iter()
                .filter(|point| (0.2..=1.6).contains(&point.lateral_m_s2))
                .map(|point| point.lateral_m_s2 / point.curvature_1_m)
                .fold((0.0, 0.0), |(mean, count), squared| {
                    ((mean * count + squared) / (count + 1.0), count + 1.0)
                })
                .0,
        );
        let sideslip = match manoeuvre {
            Manoeuvre::ConstantSpeed => tyres + car.rear_m / (speed * speed),
            Manoeuvre::ConstantSteering => tyres - car.rear_m * understeer / wheelbase,
            _ => tyres,
        };
        println!(
            "{}: K {:.4e} against {understeer:.4e} ({:+.2} %), sideslip {:.4e} against {sideslip:.4e} ({:+.2} %), {} points",
            scenario.name,
            found.understeer_rad_s2_m,
            100.0 * (found.understeer_rad_s2_m / understeer - 1.0),
            found.sideslip_rad_s2_m,
            100.0 * (found.sideslip_rad_s2_m / sideslip - 1.0),
            points.len()
        );
        // The promise of the piece: 2 %. What is left grows with the lateral acceleration: the tyres bend.
        assert!((found.understeer_rad_s2_m / understeer - 1.0).abs() < 0.02);
        // Of the tyres' part: at constant speed the whole is what two larger parts of opposite sign leave.
        assert!(((found.sideslip_rad_s2_m - sideslip) / tyres).abs() < 0.02);
    }
}

#[test]
fn steady_turns_are_sampled_in_steps_of_half_a_metre_per_second_squared() {
    // ISO 4138:2021 clause 8.3.
    for manoeuvre in METHODS {
        let mut scenario = Scenario::of(manoeuvre);
        scenario.layout = AxleLayout::FrontDrive;
        let result = drive(&scenario, &Vehicle::default());
        let reached: Vec<f64> = {
            let mut all: Vec<f64> = steady::points(&result.record)
                .iter()
                .map(|point| point.lateral_m_s2)
                .collect();
            all.sort_by(f64::total_cmp);
            all
        };
        let most = reached.last().copied().unwrap_or(f64::NAN);
        let gap = reached
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .fold(0.0, f64::max);
        println!(
            "{}: up to {most:.2} m/s2, largest step {gap:.2}; gradients {:.2} and {:.2} deg/g; ended {} at {:.0} s",
            scenario.name,
            of(&result.metrics, "understeer gradient up to 4 m/s2"),
            of(&result.metrics, "sideslip gradient up to 4 m/s2"),
            result.outcome.ended,
            result.outcome.at_s,
        );
        assert!(most > 6.0 && gap <= 0.5, "{}: {most}, {gap}", scenario.name);
    }
}

/// A turn made of closed forms: on a circle of R0 = 100 m at 20 m/s until 1 s, then the curvature is multiplied and the car
/// slows evenly; the sideslip changes by a constant rate.
fn exact_turn(curvature_factor: f64, deceleration: f64) -> Record {
    let channels = [
        ("position_x", "m", Parity::Even),
        ("position_y", "m", Parity::Odd),
        ("heading", "rad", Parity::Odd),
        ("speed", "m/s", Parity::Even),
        ("sideslip", "rad", Parity::Odd),
        ("yaw_rate", "rad/s", Parity::Odd),
        ("lateral_acceleration", "m/s2", Parity::Odd),
    ]
    .map(|(name, unit, parity)| Channel { name, unit, parity });
    let mut record = Record::new(0.005, channels.to_vec());
    let sideslip = |time: f64| -0.02 - 0.01 * (time - 1.0).max(0.0);
    let (speed_0, radius_0) = (20.0, 100.0);
    for index in 0..=800 {
        let time = f64::from(index) * 0.005;
        let since = (time - 1.0).max(0.0);
        let speed = speed_0 - deceleration * since;
        let before = time.min(1.0) * speed_0;
        let way = speed_0 * since - 0.5 * deceleration * since * since;
        let turned = before / radius_0;
        let course = turned + way * curvature_factor / radius_0;
        // Two arcs, one after the other, starting at the origin along x.
        let radius = radius_0 / curvature_factor;
        let x = radius_0 * libm::sin(turned) + radius * (libm::sin(course) - libm::sin(turned));
        let y =
            radius_0 * (1.0 - libm::cos(turned)) + radius * (libm::cos(turned) - libm::cos(course));
        let factor = if since > 0.0 { curvature_factor } else { 1.0 };
        let yaw = speed * factor / radius_0;
        record.push(
            &[
                x,
                y,
                course - sideslip(time),
                speed,
                sideslip(time),
                yaw,
                speed * yaw,
            ]
            .map(|value| value as f32),
        );
    }
    record
}

#[test]
fn values_after_a_change_of_drive_are_those_of_an_exact_turn() {
    let numbers = Numbers::of(Manoeuvre::LiftOff);
    for (factor, deceleration) in [(1.0, 2.0), (1.1, 3.0), (0.9, 1.0)] {
        let record = exact_turn(factor, deceleration);
        let metrics = turn_change::after(&numbers, &record);
        let near = |name: &str, expected: f64, tolerance: f64| {
            let seen = value(&metrics, name).unwrap_or(f64::NAN);
            assert!(
                (seen - expected).abs() < tolerance,
                "factor {factor} {name}: {seen} against {expected}"
            );
        };
        // Tolerances: f32 samples; the action's own sample still belongs to the old circle.
        near("yaw rate over reference after 1 s", factor, 1e-5);
        near("yaw rate over reference after 2 s", factor, 1e-5);
        near("yaw rate over reference, largest", factor.max(1.0), 1e-5);
        near("sideslip change after 1 s", -0.01_f64.to_degrees(), 1e-4);
        near("sideslip change after 2 s", -0.02_f64.to_degrees(), 1e-4);
        near("mean deceleration in 1 s", deceleration, 1e-4);
        near("mean deceleration in 2 s", deceleration, 1e-4);
        // Distance inside the old circle after an arc of another radius: law of cosines.
        for (seconds, name) in [
            (1.0, "path deviation after 1 s"),
            (2.0, "path deviation after 2 s"),
        ] {
            let way = 20.0 * seconds - 0.5 * deceleration * seconds * seconds;
            let radius = 100.0 / factor;
            let apart = 100.0 - radius;
            let angle = way / radius;
            let from_centre = libm::sqrt(
                radius * radius + apart * apart + 2.0 * radius * apart * libm::cos(angle),
            );
            near(name, 100.0 - from_centre, 1e-3);
        }
        let mirrored = turn_change::after(&numbers, &record.mirrored());
        assert_eq!(metrics, mirrored, "left and right");
    }
}

#[test]
fn the_lift_off_ladder_starts_at_four_and_every_rung_starts_where_it_should() {
    let mut scenario = Scenario::of(Manoeuvre::LiftOff);
    scenario.layout = AxleLayout::FrontDrive;
    let rungs = scenario.ladder();
    assert_eq!(rungs[0].numbers.course.lateral_acceleration_m_s2, 4.0);
    assert!(rungs.len() >= 3);
    let mut last = 3.0;
    for rung in rungs {
        let level = rung.numbers.course.lateral_acceleration_m_s2;
        assert!(level - last <= 1.0 && rung.contradiction().is_none());
        last = level;
        let result = drive(&rung, &Vehicle::default());
        let seen = |name| of(&result.metrics, name);
        println!(
            "{level} m/s2: yaw ratio {:.3} and {:.3}, sideslip change {:+.2} and {:+.2} deg, path {:+.2} and {:+.2} m, deceleration {:.2} m/s2",
            seen("yaw rate over reference after 1 s"),
            seen("yaw rate over reference after 2 s"),
            seen("sideslip change after 1 s"),
            seen("sideslip change after 2 s"),
            seen("path deviation after 1 s"),
            seen("path deviation after 2 s"),
            seen("mean deceleration in 1 s"),
        );
        assert!((seen("lateral acceleration before") - level).abs() < 0.1);
        // The overrun drag of the demo car, 700 Nm at 0.32 m on 1720 kg, is 1.27 m/s2; air and rolling resistance add.
        let slowing = seen("mean deceleration in 1 s");
        assert!((0.8..2.5).contains(&slowing), "{slowing}");
    }
}

/// Slowest wheel of a run while the car was faster than 10 m/s, over the car's speed.
fn least_wheel_share(result: &RunResult, vehicle: &Vehicle) -> f64 {
    let speed = result.record.column("speed").unwrap_or_default();
    ["front_left", "front_right", "rear_left", "rear_right"]
        .iter()
        .filter_map(|wheel| result.record.column(&format!("wheel_speed_{wheel}")))
        .flat_map(|wheel| wheel.iter().zip(speed))
        .filter(|(_, speed)| **speed > 10.0)
        .map(|(wheel, speed)| f64::from(*wheel) * vehicle.tyre_front.radius_m / f64::from(*speed))
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn the_braking_ladder_reaches_its_decelerations_and_anti_lock_keeps_the_wheels_turning() {
    let scenario = Scenario::of(Manoeuvre::BrakingInTurn);
    let vehicle = Vehicle::default();
    for layout in [
        AxleLayout::FrontDrive,
        AxleLayout::SingleCoupling,
        AxleLayout::PairedClutches,
    ] {
        let mut locked = 0;
        for rung in scenario.ladder() {
            for anti_lock in [1.0, 0.0] {
                let mut rung = rung.clone();
                rung.layout = layout;
                rung.numbers.assist.anti_lock = anti_lock;
                let result = drive(&rung, &vehicle);
                let seen = |name| of(&result.metrics, name);
                let aim = rung.numbers.course.deceleration_m_s2;
                let reached = seen("mean deceleration");
                let ratio = seen("yaw rate over reference after 1 s");
                let slowest = least_wheel_share(&result, &vehicle);
                println!(
                    "{layout:?} {aim} m/s2, anti-lock {anti_lock}: reached {reached:.2}, yaw ratio {ratio:.3} (most {:.3}, least \
                     {:.3}), sideslip {:.2} deg, path {:+.2} m, slowest wheel {slowest:.2} of the speed, {}",
                    seen("yaw rate over reference, largest"),
                    seen("yaw rate over reference, least"),
                    seen("sideslip change, largest"),
                    seen("path deviation after 1 s"),
                    result.outcome.ended,
                );
                assert!((seen("lateral acceleration before") - 5.0).abs() < 0.1);
                if aim <= 6.0 {
                    assert!((reached / aim - 1.0).abs() < 0.02, "{aim}: {reached}");
                }
                if anti_lock > 0.5 {
                    assert_eq!(result.outcome.ended, Ending::TimeOver);
                    assert!(
                        slowest > 0.3,
                        "{aim} m/s2: a wheel at {slowest} of the speed"
                    );
                } else if slowest < 0.05 {
                    locked += 1;
                }
            }
        }
        // 5 m/s2 across and 8 along are more than friction 0.95 allows: without anti-lock wheels must stop.
        assert!(locked > 0, "{layout:?}");
    }
}
