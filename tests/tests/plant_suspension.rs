//! Roll and pitch as motions: steady state, free swing, energy, mirror, and nothing at all while they are off.

mod plant_kit;

use couplet_sim::plant::chassis::{Chassis, GRAVITY_M_S2};
use couplet_sim::plant::suspension::{Lean, Suspension};
use couplet_sim::plant::{
    AxleLayout, Command, PerSide, PerWheel, Plant, Road, STEP_S, Start, Vehicle,
};
use plant_kit::{Chance, LAYOUTS};

fn sprung() -> Vehicle {
    let mut vehicle = Vehicle::default();
    vehicle.suspension.roll_stiffness_nm_rad = 75_000.0;
    vehicle.suspension.pitch_stiffness_nm_rad = 160_000.0;
    vehicle
}

/// Net stiffness over m h: specific force per angle.
fn net_nm_rad(vehicle: &Vehicle, stiffness_nm_rad: f64) -> f64 {
    stiffness_nm_rad - vehicle.body.mass_kg * GRAVITY_M_S2 * vehicle.body.gravity_height_m
}

#[test]
fn steady_wheel_loads_are_the_textbooks_and_the_weight_that_leans_out() {
    // Gillespie, "Fundamentals of Vehicle Dynamics", 1992, chapters 1 and 6, from memory: m a h / T of a rigid car is
    // 1700 * 5 * 0.55 / 1.55 = 3016.129 N; springs add m g h p / T with p = m h a / (K - m g h).
    let mut vehicle = sprung();
    vehicle.body.mass_kg = 1700.0;
    vehicle.body.gravity_height_m = 0.55;
    vehicle.body.track_front_m = 1.55;
    vehicle.body.track_rear_m = 1.55;
    vehicle.body.front_load_share = 0.5;
    vehicle.body.front_roll_share = 0.5;
    let moved = |vehicle: &Vehicle| {
        let springs = Suspension::of(vehicle).expect("springs are on");
        let lean = springs.settled((5.0, 5.0));
        let force = springs.loading_m_s2(&lean, (0.0, 0.0));
        let loads = Chassis::new(vehicle).wheel_loads_n(1.0, force.0, force.1);
        let side = loads.front_right + loads.rear_right - loads.front_left - loads.rear_left;
        (
            0.5 * side,
            0.5 * (loads.rear().sum() - loads.front().sum()),
            lean,
        )
    };
    let (side_n, axle_n, lean) = moved(&vehicle);
    let roll_rad = 1700.0 * 0.55 * 5.0 / (75_000.0 - 1700.0 * GRAVITY_M_S2 * 0.55);
    let pitch_rad = -1700.0 * 0.55 * 5.0 / (160_000.0 - 1700.0 * GRAVITY_M_S2 * 0.55);
    assert!((lean.roll_rad / roll_rad - 1.0).abs() < 1e-12);
    assert!((lean.pitch_rad / pitch_rad - 1.0).abs() < 1e-12);
    let expected_n = 3016.129 + 1700.0 * GRAVITY_M_S2 * 0.55 * roll_rad / 1.55;
    println!(
        "side {side_n:.3} N of which leaning {:.3} N",
        side_n - 3016.129
    );
    // The textbook value has seven digits.
    assert!((side_n - expected_n).abs() < 1e-3, "{side_n} {expected_n}");
    let wheelbase_m = vehicle.body.wheelbase_m;
    let expected_n = 1700.0 * 0.55 * (5.0 - GRAVITY_M_S2 * pitch_rad) / wheelbase_m;
    assert!((axle_n / expected_n - 1.0).abs() < 1e-12, "{axle_n}");
    // Stiff springs come to the rigid car: 1.9 % are left at the end of the range, K / (K - m g h).
    vehicle.suspension.roll_stiffness_nm_rad = 500_000.0;
    let rigid_n = moved(&vehicle).0 * net_nm_rad(&vehicle, 500_000.0) / 500_000.0;
    assert!((rigid_n - 3016.129).abs() < 1e-3, "{rigid_n}");
}

#[test]
fn a_car_in_a_steady_turn_rolls_by_the_roll_gradient() {
    let start = Start {
        speed_m_s: 20.0,
        ..Start::default()
    };
    let vehicle = sprung();
    let mut car = Plant::new(vehicle, AxleLayout::FrontDrive, Road::level(0.95), start);
    for _ in 0..10_000 {
        let speed = car.observe().speed_m_s;
        car.step(&Command {
            steering_wheel_rad: 0.6,
            carrier_torque_request_nm: 2000.0 * (20.0 - speed) + 250.0,
            ..Command::default()
        });
    }
    let seen = car.observe();
    let side_m_s2 = seen.lateral_acceleration_m_s2;
    let body = &vehicle.body;
    let gradient = body.mass_kg * body.gravity_height_m / net_nm_rad(&vehicle, 75_000.0);
    println!(
        "{side_m_s2:.3} m/s2, roll {:.3} deg",
        car.lean().roll_rad.to_degrees()
    );
    assert!(side_m_s2 > 2.0, "no turn worth the name");
    // Rounding and the last of the settling.
    assert!((car.lean().roll_rad / (gradient * side_m_s2) - 1.0).abs() < 1e-4);
    let loads = seen.wheel_load_n;
    let shifted = 0.5 * (loads.front_right + loads.rear_right - loads.front_left - loads.rear_left);
    let expected =
        body.mass_kg * body.gravity_height_m * (side_m_s2 + GRAVITY_M_S2 * car.lean().roll_rad)
            / body.track_front_m;
    assert!((shifted / expected - 1.0).abs() < 1e-4);
}

#[test]
fn roll_and_pitch_swing_with_the_frequency_and_damping_of_the_closed_form() {
    // On frictionless ground no force reaches the body, so each axis is a free damped swing from its start:
    // w0 = sqrt((K - m g h) / I), D = C / (2 I w0), angle = e^(-D w0 t) (cos wd t + D w0 / wd sin wd t).
    let mut vehicle = sprung();
    vehicle.body.drag_area_m2 = 0.0;
    let start = Start {
        speed_m_s: 20.0,
        yaw_rate_rad_s: 0.2,
        sideslip_rad: 0.3,
        ..Start::default()
    };
    let mut car = Plant::new(vehicle, AxleLayout::FrontDrive, Road::level(0.0), start);
    let first = car.lean();
    assert!(first.roll_rad.abs() > 0.03 && first.pitch_rad.abs() > 0.005);
    let numbers = &vehicle.suspension;
    let swing = |stiffness: f64, damping: f64, inertia: f64, time_s: f64| {
        let natural = (net_nm_rad(&vehicle, stiffness) / inertia).sqrt();
        let decay = 0.5 * damping / inertia;
        let damped = (natural * natural - decay * decay).sqrt();
        (-decay * time_s).exp()
            * ((damped * time_s).cos() + decay / damped * (damped * time_s).sin())
    };
    let mut worst = 0.0f64;
    let mut sign_changes = 0;
    let mut last = first;
    for step in 1..=2000u32 {
        car.step(&Command::default());
        let time_s = f64::from(step) * STEP_S;
        let lean = car.lean();
        let roll = swing(
            numbers.roll_stiffness_nm_rad,
            numbers.roll_damping_nm_s_rad,
            numbers.roll_inertia_kg_m2,
            time_s,
        );
        let pitch = swing(
            numbers.pitch_stiffness_nm_rad,
            numbers.pitch_damping_nm_s_rad,
            numbers.pitch_inertia_kg_m2,
            time_s,
        );
        worst = worst
            .max((lean.roll_rad / first.roll_rad - roll).abs())
            .max((lean.pitch_rad / first.pitch_rad - pitch).abs());
        sign_changes += u32::from(lean.roll_rad * last.roll_rad < 0.0);
        last = lean;
    }
    println!("largest departure from the closed form {worst:.1e} of the start");
    assert!(sign_changes >= 2, "no swing to compare");
    // Midpoint rule at 1 ms and 11 rad/s: (w dt)^2 / 6 per radian.
    assert!(worst < 1e-4, "{worst}");
}

#[test]
fn power_balance_closes_with_roll_and_pitch() {
    for layout in LAYOUTS {
        for (name, brake_nm, speed_m_s, bank_slope) in [
            ("turn", 0.0, 25.0, 0.0),
            ("braking", 1200.0, 25.0, 0.05),
            ("launch", 0.0, 0.0, 0.05),
        ] {
            let road = Road {
                bank_slope,
                ..Road::level(0.9)
            };
            let start = Start {
                speed_m_s,
                ..Start::default()
            };
            let mut car = Plant::new(sprung(), layout, road, start);
            let before = car.observe().kinetic_energy_j;
            let (mut work, mut through, mut dampers) = (0.0, 0.0, 0.0);
            for step in 0..2500u32 {
                let time = f64::from(step) * STEP_S;
                car.step(&Command {
                    steering_wheel_rad: 1.5 * libm::sin(4.0 * time),
                    carrier_torque_request_nm: if brake_nm > 0.0 { 0.0 } else { 2000.0 },
                    brake_torque_nm: PerWheel::all(brake_nm),
                    clutch_current_a: PerSide {
                        left: 0.4,
                        right: 0.8,
                    },
                });
                let seen = car.observe();
                let losses = seen.tyre_loss_w
                    + seen.clutch_loss_w
                    + seen.aero_loss_w
                    + seen.rolling_loss_w
                    + seen.brake_loss_w
                    + seen.driveline_loss_w
                    + seen.grade_power_w
                    + car.suspension_loss_w();
                dampers += STEP_S * car.suspension_loss_w();
                work += STEP_S * (seen.engine_power_w - losses);
                through += STEP_S * (seen.engine_power_w.abs() + losses.abs());
            }
            let open = (car.observe().kinetic_energy_j - before - work).abs() / through;
            println!(
                "{layout:?} {name}: open by {open:.1e}, dampers {:.1e}",
                dampers / through
            );
            // As without springs; the dampers' own share is well above it, so leaving it out would show.
            assert!(open < 2e-5, "{layout:?} {name}: {open}");
            assert!(dampers / through > 5e-5, "{layout:?} {name}: {dampers}");
        }
    }
}

#[test]
fn a_rolling_and_pitching_car_mirrors_exactly() {
    for layout in LAYOUTS {
        let road = Road {
            grade_slope: 0.05,
            bank_slope: 0.06,
            ..Road::level(0.7)
        };
        let start = Start {
            speed_m_s: 15.0,
            yaw_rate_rad_s: 0.1,
            ..Start::default()
        };
        let mut car = Plant::new(sprung(), layout, road, start);
        let mut image = car.mirrored();
        let mut chance = Chance(3);
        let mut command = chance.command();
        for step in 0..4000u32 {
            if step % 200 == 0 {
                command = chance.command();
            }
            car.step(&command);
            image.step(&Command {
                steering_wheel_rad: -command.steering_wheel_rad,
                brake_torque_nm: command.brake_torque_nm.mirrored(),
                clutch_current_a: command.clutch_current_a.mirrored(),
                ..command
            });
            assert_eq!(image, car.mirrored(), "{layout:?} step {step}");
        }
        assert!(car.lean() != Lean::default());
    }
}

#[test]
fn without_stiffness_nothing_rolls_and_damping_and_inertia_move_nothing() {
    let drive = |vehicle: Vehicle| {
        let start = Start {
            speed_m_s: 20.0,
            ..Start::default()
        };
        let mut car = Plant::new(vehicle, AxleLayout::PairedClutches, Road::level(0.9), start);
        for _ in 0..2000 {
            car.step(&Command {
                steering_wheel_rad: 1.2,
                carrier_torque_request_nm: 900.0,
                clutch_current_a: PerSide::both(0.4),
                ..Command::default()
            });
        }
        assert_eq!(car.suspension_loss_w(), 0.0);
        assert_eq!(car.lean(), Lean::default());
        car.observe()
    };
    let plain = drive(Vehicle::default());
    let mut other = Vehicle::default();
    other.suspension.roll_damping_nm_s_rad = 9000.0;
    other.suspension.pitch_inertia_kg_m2 = 1000.0;
    assert_eq!(plain, drive(other));
    // Too soft to hold the weight, and towing: the lag as before.
    other.suspension.roll_stiffness_nm_rad = 9000.0;
    assert_eq!(plain, drive(other));
    let mut towing = sprung();
    towing.trailer.mass_kg = 1200.0;
    assert_eq!(Suspension::of(&towing), None);
}
