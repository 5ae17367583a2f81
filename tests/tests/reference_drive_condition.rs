//! When the outer rear wheel can be driven: the plant's wheels and the leading-order formula against computed values.
//!
//! Values marked CALC were computed outside this project from the kinematics of a rigid body: outer rear wheel r (R + T/2),
//! mean front wheel r sqrt(R^2 + d^2) cos(alpha_f), R: lateral distance of the instant centre, d: distance of the front axle
//! ahead of it, T: track, alpha_f: front slip angle. The law's own formulas are checked in `reference_controller.rs`; here
//! the plant, which knows none of them, must change the sign of its clutch slip at the same radii and overspeeds.

use couplet_controller::stage::vehicle_state::kinematics::critical_overspeed;
use couplet_sim::plant::{AxleLayout, Plant, Road, Start, Vehicle};

/// Rows of a table in `tests/reference`, whose first lines name their source.
fn rows<const COLUMNS: usize>(text: &str) -> Vec<[f64; COLUMNS]> {
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    lines
        .map(|line| {
            let cells: Vec<f64> = line
                .split(',')
                .map(|cell| cell.parse().expect("a number"))
                .collect();
            <[f64; COLUMNS]>::try_from(cells).expect("as many numbers as columns")
        })
        .collect()
}

/// A turn to the left, every wheel rolling freely.
struct Turn {
    radius_m: f64,
    front_ahead_m: f64,
    front_slip_angle_rad: f64,
    yaw_rate_rad_s: f64,
}

/// Slip of the outer clutch over the speed of the outer wheel, as the plant's wheels have it.
fn outer_slip(track_m: f64, axles_m: (f64, f64), overspeed: f64, turn: &Turn) -> f64 {
    let wheelbase_m = axles_m.0 + axles_m.1;
    let mut vehicle = Vehicle::default();
    vehicle.body.wheelbase_m = wheelbase_m;
    vehicle.body.front_load_share = axles_m.1 / wheelbase_m;
    vehicle.body.track_rear_m = track_m;
    vehicle.driveline.overspeed = overspeed;
    let steer_rad = libm::atan2(turn.front_ahead_m, turn.radius_m) + turn.front_slip_angle_rad;
    let speed_m_s = turn.yaw_rate_rad_s * turn.radius_m;
    let lateral_m_s = turn.yaw_rate_rad_s * (turn.front_ahead_m - axles_m.0);
    let start = Start {
        speed_m_s,
        yaw_rate_rad_s: turn.yaw_rate_rad_s,
        sideslip_rad: libm::atan2(lateral_m_s, speed_m_s),
        steering_wheel_rad: steer_rad * vehicle.steering.ratio,
        ..Start::default()
    };
    let seen = Plant::new(vehicle, AxleLayout::PairedClutches, Road::level(1.0), start).observe();
    seen.clutch_slip_rad_s.right / seen.wheel_speed_rad_s.rear_right
}

#[test]
fn the_plants_outer_wheel_can_be_driven_outside_the_computed_radii_only() {
    // CALC, exact closed form: inner and outer limiting radius by track, wheelbase and overspeed; low speed, no slip.
    let rows: Vec<[f64; 7]> = rows(include_str!("../reference/undrivable_radii.csv"));
    assert!(rows.len() >= 20);
    for [track_m, wheelbase_m, percent, inner_m, outer_m, ..] in rows {
        let axles_m = (0.42 * wheelbase_m, 0.58 * wheelbase_m);
        let slip = |radius_m| {
            let turn = Turn {
                radius_m,
                front_ahead_m: wheelbase_m,
                front_slip_angle_rad: 0.0,
                yaw_rate_rad_s: 0.1,
            };
            outer_slip(track_m, axles_m, percent / 100.0, &turn)
        };
        for limit_m in [inner_m, outer_m] {
            // Four decimals are printed: 5e-5 m of 4 m move the ratio of the speeds by at most 3e-6.
            assert!(slip(limit_m).abs() < 5e-6, "{limit_m} m: {}", slip(limit_m));
        }
        assert!(slip(0.98 * inner_m) > 0.0 && slip(1.02 * outer_m) > 0.0);
        let middle_m = libm::sqrt(inner_m * outer_m);
        assert!(
            slip(middle_m) < 0.0,
            "the outer clutch would brake at {middle_m} m"
        );
    }
}

#[test]
fn the_plants_critical_overspeed_counts_the_front_slip_angle() {
    // CALC for 1700 kg, 1.15/1.60 m, 85/100 kN/rad per axle, track 1.55 m: km/h, m/s2, d, critical overspeed in per cent.
    let rows: Vec<[f64; 5]> = rows(include_str!("../reference/critical_overspeed.csv"));
    assert!(rows.len() >= 12);
    for [
        kilometre_hour,
        lateral_m_s2,
        ahead_m,
        percent,
        low_speed_percent,
    ] in rows
    {
        let speed_m_s = kilometre_hour / 3.6;
        let radius_m = speed_m_s * speed_m_s / lateral_m_s2;
        let wheelbase_m = 1.15 + 1.60;
        let slip_at = |percent: f64| {
            let turn = Turn {
                radius_m,
                // Exact, for the printed one has four decimals.
                front_ahead_m: wheelbase_m
                    - radius_m
                        * libm::tan(1700.0 * lateral_m_s2 * 1.15 / (wheelbase_m * 100_000.0)),
                front_slip_angle_rad: 1700.0 * lateral_m_s2 * 1.60 / (wheelbase_m * 85_000.0),
                yaw_rate_rad_s: speed_m_s / radius_m,
            };
            assert!((turn.front_ahead_m - ahead_m).abs() < 6e-5);
            outer_slip(1.55, (1.15, 1.60), percent / 100.0, &turn)
        };
        // Five decimals of a per cent are printed.
        assert!(
            slip_at(percent).abs() < 1e-7,
            "{kilometre_hour} km/h, {lateral_m_s2} m/s2"
        );
        // With the low-speed value instead the outer clutch would still brake.
        assert!(slip_at(low_speed_percent) < 0.0);
    }
}

#[test]
fn leading_order_speed_from_which_the_outer_wheel_can_be_driven() {
    // CALC: V = sqrt(T a_y / (2 eps)) in km/h for T 1.55 m and 1, 3, 5, 7, 9 m/s2. The leading order of the critical
    // overspeed is T / (2 R): the front axle level with the instant centre, no slip angle.
    let table: [(f64, [f64; 5]); 6] = [
        (0.5, [44.820, 77.630, 100.220, 118.582, 134.459]),
        (1.0, [31.692, 54.893, 70.866, 83.850, 95.077]),
        (1.5, [25.877, 44.820, 57.862, 68.463, 77.630]),
        (2.0, [22.410, 38.815, 50.110, 59.291, 67.229]),
        (2.5, [20.044, 34.717, 44.820, 53.031, 60.132]),
        (3.0, [18.298, 31.692, 40.915, 48.411, 54.893]),
    ];
    for (percent, speeds) in table {
        for (lateral_m_s2, kilometre_hour) in [1.0, 3.0, 5.0, 7.0, 9.0].into_iter().zip(speeds) {
            let speed_m_s = kilometre_hour / 3.6;
            let radius_m = speed_m_s * speed_m_s / lateral_m_s2;
            let critical = critical_overspeed(radius_m, 0.0, 1.55, 0.0, 0.0, 0.0);
            // Three decimals of km/h are printed; the overspeed goes with the square of the speed.
            let tolerance = 2.2 * 0.0005 / kilometre_hour;
            assert!(
                (100.0 * critical / percent - 1.0).abs() < tolerance,
                "{percent} %, {lateral_m_s2} m/s2: {critical}"
            );
        }
    }
}
