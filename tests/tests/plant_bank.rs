//! A road that falls to one side: the side force it takes, its mirror, and the sign a scenario gives it.

use couplet_sim::plant::chassis::GRAVITY_M_S2;
use couplet_sim::plant::{AxleLayout, Command, Observation, Plant, Road, Start, Surface, Vehicle};
use couplet_sim::scenario::{Manoeuvre, Scenario};

fn banked(slope: f64) -> Road {
    Road {
        bank_slope: slope,
        ..Road::level(0.95)
    }
}

/// The demo car after 20 s at 20 m/s, held on the line y = 0 by its steering.
fn held(road: Road) -> (Plant, Observation) {
    let start = Start {
        speed_m_s: 20.0,
        ..Start::default()
    };
    let mut car = Plant::new(Vehicle::default(), AxleLayout::FrontDrive, road, start);
    let mut sum_m_s = 0.0;
    for _ in 0..20_000 {
        let seen = car.observe();
        sum_m_s += 0.001 * seen.y_m;
        car.step(&Command {
            steering_wheel_rad: -0.3 * seen.y_m - 0.1 * sum_m_s - 6.0 * seen.heading_rad,
            carrier_torque_request_nm: 400.0 * (20.0 - seen.speed_m_s) + 120.0,
            ..Command::default()
        });
    }
    let seen = car.observe();
    (car, seen)
}

#[test]
fn rolling_straight_on_a_bank_takes_the_weight_times_the_sine_of_the_bank() {
    // Statics on an inclined plane: across the road stand the side forces of the tyres against m g sin(bank) alone; moments
    // about the centre of gravity share them between the axles as the level road shares the weight.
    for slope in [0.05f64, -0.08] {
        let (car, seen) = held(banked(slope));
        let body = &car.vehicle().body;
        let expected_n = body.mass_kg * GRAVITY_M_S2 * libm::sin(libm::atan(slope));
        assert!(seen.yaw_rate_rad_s.abs() < 1e-5 && seen.y_m.abs() < 0.02);
        let front_n = seen.tyre_force_lateral_n.front().sum();
        let side_n = seen.lateral_acceleration_m_s2 * body.mass_kg;
        println!(
            "bank {slope}: side force {side_n:.2} N, closed form {expected_n:.2} N, front {:.4}",
            front_n / side_n
        );
        // The car crabs by less than half a degree: cosine within 4e-5.
        assert!((side_n / expected_n - 1.0).abs() < 1e-4, "{side_n}");
        // The front tyres' drive turns with them and rolling resistance grows with the lower wheels' load: within 1 %.
        assert!((front_n / side_n - body.front_load_share).abs() < 0.01);
        // The lower side carries more: m g sin(bank) h is a roll moment like that of a turn.
        let loads = seen.wheel_load_n;
        let shifted_n = loads.front_right + loads.rear_right - loads.front_left - loads.rear_left;
        let roll_n = 2.0 * expected_n * body.gravity_height_m / body.track_front_m;
        assert!((shifted_n / roll_n - 1.0).abs() < 1e-3, "{shifted_n}");
        // What presses on the road is the weight times the cosine.
        let pressing_n = body.mass_kg * GRAVITY_M_S2 * libm::cos(libm::atan(slope));
        assert!((loads.sum() / pressing_n - 1.0).abs() < 1e-12);
    }
}

#[test]
fn a_car_left_alone_on_frictionless_ground_slides_down_the_bank() {
    // Free slide on an inclined plane: g sin(bank) t to the right, and the height lost is the speed gained.
    let road = Road {
        bank_slope: 0.1,
        ..Road::level(0.0)
    };
    let mut car = Plant::new(
        Vehicle::default(),
        AxleLayout::FrontDrive,
        road,
        Start::default(),
    );
    for _ in 0..1000 {
        car.step(&Command::default());
    }
    let seen = car.observe();
    let expected_m_s = -GRAVITY_M_S2 * libm::sin(libm::atan(0.1));
    assert!((seen.lateral_speed_m_s / expected_m_s - 1.0).abs() < 1e-9);
    assert!((seen.y_m - 0.5 * expected_m_s).abs() < 1e-9);
}

#[test]
fn a_level_bank_is_the_level_road_and_the_mirror_turns_the_bank() {
    for surface in [
        Surface::Uniform { friction: 0.7 },
        Surface::Split {
            left_friction: 0.3,
            right_friction: 0.8,
        },
    ] {
        let road = Road {
            surface,
            grade_slope: 0.1,
            bank_slope: 0.07,
        };
        let image = road.mirrored();
        assert_eq!(image.bank_slope, -0.07);
        let (here, there) = (road.rise_at((3.0, 1.0)), image.rise_at((3.0, -1.0)));
        assert_eq!(
            (here.x, here.y, here.cosine),
            (there.x, -there.y, there.cosine)
        );
        assert_eq!(image.mirrored(), road);
        let level = Road {
            bank_slope: 0.0,
            ..road
        };
        let sign_kept = level.mirrored().bank_slope.to_bits();
        assert_eq!(sign_kept, 0.0f64.to_bits());
        assert_eq!(level.rise_at((3.0, 1.0)).y.to_bits(), 0.0f64.to_bits());
    }
}

#[test]
fn a_scenario_gives_its_bank_to_the_road_and_a_path_refuses_one() {
    let mut scenario = Scenario::of(Manoeuvre::StraightAhead);
    assert_eq!(scenario.road().bank_slope, 0.0);
    scenario.numbers.road.bank_percent = 4.0;
    assert_eq!(scenario.road().bank_slope, 0.04);
    scenario.mirrored = true;
    assert_eq!(scenario.road().bank_slope, -0.04);
    assert_eq!(scenario.contradiction(), None);
    for manoeuvre in [Manoeuvre::SkarnPass, Manoeuvre::FrictionStep] {
        let mut pass = Scenario::of(manoeuvre);
        assert_eq!(pass.contradiction(), None);
        pass.numbers.road.bank_percent = 4.0;
        assert!(pass.contradiction().is_some());
    }
}
