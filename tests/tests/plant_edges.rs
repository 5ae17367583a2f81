//! The plant at its edges: standing on a slope, stopping, lifted wheels, no friction at all.

mod plant_kit;

use plant_kit::{Chance, LAYOUTS, plant};

use couplet_sim::plant::{
    AxleLayout, Command, Observation, PerSide, PerWheel, Plant, Road, Start, Surface, Vehicle,
};

fn row(seen: &Observation) -> Vec<f32> {
    let mut row = Vec::new();
    seen.row(&mut row);
    row
}

#[test]
fn brakes_hold_on_a_slope() {
    for layout in LAYOUTS {
        let road = Road {
            surface: Surface::Uniform { friction: 0.8 },
            grade_slope: 0.2,
            bank_slope: 0.0,
        };
        let mut car = plant(layout, road, Start::default());
        let command = Command {
            brake_torque_nm: PerWheel::all(1500.0),
            clutch_current_a: PerSide::both(0.8),
            ..Command::default()
        };
        for _ in 0..3000 {
            car.step(&command);
        }
        let settled = car.observe();
        for _ in 0..10_000 {
            car.step(&command);
        }
        let seen = car.observe();
        println!(
            "{layout:?}: {:.1e} m in 10 s, {:.1e} m/s",
            seen.x_m - settled.x_m,
            seen.speed_m_s
        );
        assert!(
            seen.speed_m_s.abs() < 1e-3,
            "{layout:?}: {} m/s",
            seen.speed_m_s
        );
        assert!(
            (seen.x_m - settled.x_m).abs() < 1e-2,
            "{layout:?}: crept {} m",
            seen.x_m - settled.x_m
        );
        // The sensor at rest shows the slope.
        assert!(
            (seen.longitudinal_acceleration_m_s2 - 9.80665 * 0.2 / libm::sqrt(1.04)).abs() < 0.01
        );
    }
}

#[test]
fn braking_to_rest_stops_and_stays() {
    let mut car = plant(
        AxleLayout::PairedClutches,
        Road::level(0.9),
        Start {
            speed_m_s: 15.0,
            ..Start::default()
        },
    );
    for index in 0..8000u32 {
        car.step(&Command {
            brake_torque_nm: PerWheel::all(1000.0),
            ..Command::default()
        });
        let seen = car.observe();
        // The carcass may swing back by its deflection, about 0.1 m/s, but the car must not be thrown back.
        assert!(
            seen.speed_m_s > -0.3,
            "{} m/s at {index} ms",
            seen.speed_m_s
        );
        if index > 6000 {
            assert!(seen.speed_m_s.abs() < 1e-2);
        }
    }
}

#[test]
fn nothing_but_numbers_with_lifted_wheels_and_without_friction() {
    let mut tall = Vehicle::default();
    tall.body.gravity_height_m = 1.2;
    let mut lifted = false;
    for layout in LAYOUTS {
        for friction in [0.0, 1e-6, 1.2] {
            for speed in [0.0, 0.001, 25.0, -5.0] {
                let mut car = Plant::new(
                    tall,
                    layout,
                    Road::level(friction),
                    Start {
                        speed_m_s: speed,
                        ..Start::default()
                    },
                );
                let mut chance = Chance(3);
                let mut command = chance.command();
                for index in 0..3000u32 {
                    if index % 250 == 0 {
                        command = chance.command();
                    }
                    car.step(&command);
                    let seen = car.observe();
                    lifted |=
                        seen.wheel_load_n.front_left == 0.0 || seen.wheel_load_n.rear_right == 0.0;
                    assert!(
                        row(&seen).iter().all(|value| value.is_finite()),
                        "{layout:?} {friction} {speed} {index}"
                    );
                }
            }
        }
    }
    assert!(lifted, "no wheel lifted, so lifting was not tried");
}
