//! The law's formulas against published and independently computed values.
//!
//! Values marked CALC were computed outside this project from the stated inputs, to the digits printed; formulas marked
//! MEMORY were not read in their source. Tolerance 1e-6 relative in `f64`, 1e-4 in `f32`, unless a line says otherwise.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use couplet_controller::calibration::Tunables;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Demand, Question, solve};
use couplet_controller::stage::vehicle_state::VehicleState;
use couplet_controller::stage::vehicle_state::kinematics::{
    critical_overspeed, undrivable_radii_m, wheel_ground_speed,
};
use couplet_controller::stage::yaw_reference::{
    sideslip_cap_rad, understeer_constant_rad_s2_m, yaw_rate_cap_rad_s,
};
use couplet_controller::{PerSide, PerWheel, Real};

const DEGREES: f64 = 180.0 / core::f64::consts::PI;

/// The same check in both arithmetics: 1e-6 in `f64`, 1e-4 in `f32`.
fn close(expected: f64, exact: f64, single: f32) {
    assert_relative_eq!(exact, expected, max_relative = 1e-6);
    assert_relative_eq!(f64::from(single), expected, max_relative = 1e-4);
}

struct SingleTrack {
    mass_kg: f64,
    front_m: f64,
    rear_m: f64,
    front_n_rad: f64,
    rear_n_rad: f64,
}

impl SingleTrack {
    fn understeer(&self) -> f64 {
        let wheelbase = self.wheelbase();
        understeer_constant_rad_s2_m(
            self.mass_kg,
            self.front_m,
            wheelbase,
            self.front_n_rad,
            self.rear_n_rad,
        )
    }

    fn understeer_single(&self) -> f32 {
        let [mass, front, wheelbase] =
            [self.mass_kg, self.front_m, self.wheelbase()].map(|value| value as f32);
        understeer_constant_rad_s2_m(
            mass,
            front,
            wheelbase,
            self.front_n_rad as f32,
            self.rear_n_rad as f32,
        )
    }

    fn wheelbase(&self) -> f64 {
        self.front_m + self.rear_m
    }
}

/// "Vehicle Handling Dynamics" ch. 3, inputs read in two public transcriptions, stiffness per axle.
const SET_A: SingleTrack = SingleTrack {
    mass_kg: 1500.0,
    front_m: 1.1,
    rear_m: 1.6,
    front_n_rad: 110_000.0,
    rear_n_rad: 120_000.0,
};
/// University examination problem, inputs read.
const SET_B: SingleTrack = SingleTrack {
    mass_kg: 1008.0,
    front_m: 1.2,
    rear_m: 1.0,
    front_n_rad: 117_000.0,
    rear_n_rad: 145_000.0,
};
/// Oversteering public example, inputs read.
const SET_F: SingleTrack = SingleTrack {
    mass_kg: 1400.0,
    front_m: 1.14,
    rear_m: 1.33,
    front_n_rad: 25_000.0,
    rear_n_rad: 21_000.0,
};

#[test]
fn understeer_constant_of_the_textbook_car() {
    // CALC: K, the same in deg/g at g 9.81, and the characteristic speed sqrt(L/K).
    close(
        2.988_215_488e-3,
        SET_A.understeer(),
        SET_A.understeer_single(),
    );
    assert_relative_eq!(
        SET_A.understeer() * 9.81 * DEGREES,
        1.679_591,
        max_relative = 1e-6
    );
    let characteristic = (SET_A.wheelbase() / SET_A.understeer()).sqrt();
    assert_relative_eq!(characteristic, 30.059_097, max_relative = 1e-6);
}

#[test]
fn understeer_constant_of_the_examination_car() {
    // CALC: nearly neutral, so b Cr - a Cf nearly cancels; steering angle at 10 m/s and 0.5 g.
    let understeer = SET_B.understeer();
    close(1.242_343_863e-4, understeer, SET_B.understeer_single());
    assert_relative_eq!(understeer * 9.81 * DEGREES, 0.069_829, max_relative = 1e-5); // five digits printed
    let lateral = 0.5 * 9.81;
    let radius = 10.0 * 10.0 / lateral;
    assert_relative_eq!(radius, 20.387_360, max_relative = 1e-6);
    assert_relative_eq!(
        SET_B.wheelbase() / radius + understeer * lateral,
        0.108_519_370,
        max_relative = 1e-6
    );
}

#[test]
fn understeer_constant_is_negative_for_an_oversteering_car() {
    // CALC: K and the critical speed sqrt(-L/K).
    close(
        -6.153_846_154e-4,
        SET_F.understeer(),
        SET_F.understeer_single(),
    );
    let critical = (-SET_F.wheelbase() / SET_F.understeer()).sqrt();
    assert_relative_eq!(critical, 63.354_163, max_relative = 1e-6);
}

#[test]
fn friction_caps_of_the_textbook() {
    // "Vehicle Dynamics and Control" 2nd ed. ch. 8 (formulas MEMORY): 0.85 mu g / V and atan(0.02 mu g), g 9.81. CALC.
    let speeds_m_s = [10.0, 20.0, 80.0 / 3.6, 30.0, 120.0 / 3.6];
    let rows = [
        (
            0.9,
            10.014_059,
            [0.750_465, 0.375_232_5, 0.337_709, 0.250_155, 0.225_139],
        ),
        (
            0.35,
            3.928_334,
            [0.291_847, 0.145_924, 0.131_331, 0.097_282, 0.087_554],
        ),
    ];
    for (friction, sideslip_deg, yaw_rates) in rows {
        for (speed, expected) in speeds_m_s.into_iter().zip(yaw_rates) {
            // Six decimals are printed: half of the last one is up to 6e-6 of the smallest value.
            assert_abs_diff_eq!(
                yaw_rate_cap_rad_s(0.85, friction, 9.81, speed),
                expected,
                epsilon = 6e-7
            );
            let single = yaw_rate_cap_rad_s(0.85_f32, friction as f32, 9.81, speed as f32);
            assert_relative_eq!(f64::from(single), expected, max_relative = 1e-4);
        }
        close(
            sideslip_deg,
            sideslip_cap_rad(friction, 9.81) * DEGREES,
            (f64::from(sideslip_cap_rad(friction as f32, 9.81)) * DEGREES) as f32,
        );
    }
    close(
        2.247_133,
        sideslip_cap_rad(0.2, 9.81) * DEGREES,
        sideslip_cap_rad(0.2_f32, 9.81).to_degrees(),
    );
    close(
        11.100_430,
        sideslip_cap_rad(1.0, 9.81) * DEGREES,
        sideslip_cap_rad(1.0_f32, 9.81).to_degrees(),
    );
    close(
        0.166_770,
        yaw_rate_cap_rad_s(0.85, 0.2, 9.81, 10.0),
        yaw_rate_cap_rad_s(0.85_f32, 0.2, 9.81, 10.0),
    );
}

/// Rows of a table in `tests/reference`, whose first lines name their source.
fn table<const COLUMNS: usize>(text: &str) -> Vec<[f64; COLUMNS]> {
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let rows: Vec<_> = lines
        .map(|line| {
            let cells: Vec<f64> = line
                .split(',')
                .map(|cell| cell.parse().expect("a number"))
                .collect();
            <[f64; COLUMNS]>::try_from(cells).expect("as many numbers as columns")
        })
        .collect();
    assert!(rows.len() >= 12, "the table has only {} rows", rows.len());
    rows
}

fn undrivable() -> Vec<[f64; 7]> {
    table(include_str!("../reference/undrivable_radii.csv"))
}

#[test]
fn radii_where_the_outer_wheel_cannot_be_driven() {
    for [track, wheelbase, overspeed_percent, inner, outer, ..] in undrivable() {
        let overspeed = overspeed_percent / 100.0;
        let found = undrivable_radii_m(track, wheelbase, overspeed)
            .expect("below the overspeed that drives everywhere");
        // Four decimals are printed.
        assert_abs_diff_eq!(found.0, inner, epsilon = 6e-5);
        assert_abs_diff_eq!(found.1, outer, epsilon = 6e-5);
        let single =
            undrivable_radii_m(track as f32, wheelbase as f32, overspeed as f32).expect("as above");
        assert_relative_eq!(f64::from(single.0), inner, max_relative = 1e-4);
        assert_relative_eq!(f64::from(single.1), outer, max_relative = 1e-4);
        // Both are the radii where the critical overspeed is the overspeed itself.
        for radius in [found.0, found.1] {
            let critical = critical_overspeed(radius, wheelbase, track, 0.0, 0.0, 0.0);
            assert_relative_eq!(critical, overspeed, max_relative = 1e-9);
        }
    }
}

#[test]
fn overspeed_that_drives_the_outer_wheel_at_every_radius() {
    for [track, wheelbase, _, _, _, worst_m, everywhere_percent] in undrivable() {
        let worst = 2.0 * wheelbase * wheelbase / track;
        assert_abs_diff_eq!(worst, worst_m, epsilon = 6e-5);
        let most = critical_overspeed(worst, wheelbase, track, 0.0, 0.0, 0.0);
        assert_relative_eq!(most * 100.0, everywhere_percent, max_relative = 1e-6);
        let single =
            critical_overspeed(worst as f32, wheelbase as f32, track as f32, 0.0, 0.0, 0.0);
        // The result is a number just above one, minus one: the last digit of 1 in f32 is 3e-6 of it.
        assert_relative_eq!(
            f64::from(single) * 100.0,
            everywhere_percent,
            max_relative = 1e-4
        );
        for radius in [worst * 0.8, worst * 1.25] {
            assert!(critical_overspeed(radius, wheelbase, track, 0.0, 0.0, 0.0) < most);
        }
        assert_eq!(undrivable_radii_m(track, wheelbase, most * 1.000_01), None);
        let (inner, outer) =
            undrivable_radii_m(track, wheelbase, most * 0.9999).expect("just below");
        assert!(inner < worst && worst < outer);
    }
}

#[test]
fn critical_overspeed_at_speed_counts_the_front_slip_angle() {
    let (mass, front, rear, track) = (1700.0, 1.15, 1.60, 1.55);
    let wheelbase = front + rear;
    let rows = table(include_str!("../reference/critical_overspeed.csv"));
    for [kilometre_hour, lateral, ahead_m, percent, low_speed_percent] in rows {
        let speed = kilometre_hour / 3.6;
        let radius = speed * speed / lateral;
        let front_angle = mass * lateral * rear / (wheelbase * 85_000.0);
        let rear_angle = mass * lateral * front / (wheelbase * 100_000.0);
        let ahead = wheelbase - radius * libm::tan(rear_angle);
        assert_abs_diff_eq!(ahead, ahead_m, epsilon = 6e-5);
        // Five decimals of a per cent are printed.
        let critical = critical_overspeed(radius, ahead, track, front_angle, 0.0, 0.0);
        assert_abs_diff_eq!(critical * 100.0, percent, epsilon = 6e-6);
        let low_speed = critical_overspeed(radius, wheelbase, track, 0.0, 0.0, 0.0);
        assert_abs_diff_eq!(low_speed * 100.0, low_speed_percent, epsilon = 6e-6);
        let single = critical_overspeed(
            radius as f32,
            ahead as f32,
            track as f32,
            front_angle as f32,
            0.0,
            0.0,
        );
        // Taken from a number near one in f32: 1e-5 per cent points is its last digit.
        assert_abs_diff_eq!(f64::from(single) * 100.0, percent, epsilon = 3e-5);
    }
}

#[test]
fn wheel_ground_speeds_of_a_turning_car() {
    // CALC: u 20, v -0.3, r 0.25, a 1.15, front track 1.56, rear track 1.55, steer 0.05.
    let front = wheel_ground_speed(20.0, -0.3, 0.25, 0.05, 1.15, 1.56).front();
    let front_single = wheel_ground_speed(20.0_f32, -0.3, 0.25, 0.05, 1.15, 1.56).front();
    close(19.779_624_168, front.left, front_single.left);
    close(20.169_136_769, front.right, front_single.right);
    let rear = wheel_ground_speed(20.0, -0.3, 0.25, 0.05, 1.15, 1.55).rear();
    let rear_single = wheel_ground_speed(20.0_f32, -0.3, 0.25, 0.05, 1.15, 1.55).rear();
    close(19.806_25, rear.left, rear_single.left);
    close(20.193_75, rear.right, rear_single.right);
}

/// 1700 kg, L 2.75, a 1.15, h 0.55, T 1.55.
fn loads<S: Real>(longitudinal_m_s2: f32, lateral_m_s2: f32) -> PerWheel<f64> {
    let mut tunables = Tunables::DEFAULT;
    tunables.vehicle.mass_kg = 1700.0;
    tunables.vehicle.wheelbase_m = 2.75;
    tunables.vehicle.front_axle_to_cg_m = 1.15;
    tunables.vehicle.cg_height_m = 0.55;
    tunables.vehicle.track_m = 1.55;
    let tunables = tunables.to_arithmetic::<S>();
    let stage = VehicleState::new(
        tunables.vehicle_state,
        tunables.vehicle,
        S::ZERO,
        S::of(0.005),
    );
    let found = stage.wheel_loads_n(S::of(longitudinal_m_s2), S::of(lateral_m_s2));
    found.map(|load| f64::from(load.to_f32()))
}

#[test]
fn wheel_loads_move_with_the_accelerations() {
    type Loads = fn(f32, f32) -> PerWheel<f64>;
    for loads in [loads::<f64> as Loads, loads::<f32> as Loads] {
        // Border values are f32 here in both arithmetics: 6e-8 of a wheel load near 5000 N is 3e-4 N.
        let sum = |pair: PerSide<f64>| pair.left + pair.right;
        let still = loads(0.0, 0.0);
        // CALC with g 9.81; the law uses standard gravity 9.80665, and static loads are proportional to it.
        let gravity = 9.806_65 / 9.81;
        assert_relative_eq!(
            sum(still.front()),
            9_702.981_818 * gravity,
            max_relative = 1e-6
        );
        assert_relative_eq!(
            sum(still.rear()),
            6_974.018_182 * gravity,
            max_relative = 1e-6
        );
        // Load transfer does not depend on gravity. CALC: m a h / L at 3 m/s2; m a h / T at 5 m/s2.
        let driven = loads(3.0, 0.0);
        assert_abs_diff_eq!(
            sum(driven.rear()) - sum(still.rear()),
            1_020.0,
            epsilon = 2e-3
        );
        assert_abs_diff_eq!(
            sum(still.front()) - sum(driven.front()),
            1_020.0,
            epsilon = 2e-3
        );
        let turning = loads(0.0, 5.0);
        let right = turning.front_right + turning.rear_right;
        let left = turning.front_left + turning.rear_left;
        assert_abs_diff_eq!((right - left) / 2.0, 3_016.129_032, epsilon = 2e-3); // a turn to the left loads the right
        assert_abs_diff_eq!(right + left, 1_700.0 * 9.806_65, epsilon = 4e-3);
    }
}

fn torques_for_moment<S: Real>(moment_nm: f32, track_m: f32, radius_m: f32) -> PerSide<f64> {
    let wide = NamedSpan::new(S::of(-5_000.0), S::of(5_000.0), Limit::Capacity);
    let question = Question {
        demand: Demand {
            yaw_moment_nm: S::of(moment_nm),
            weight_rear_torque: S::ONE,
            weight_yaw_moment: S::ONE,
            moment_per_difference: S::of(track_m).over(S::of(radius_m) + S::of(radius_m), S::ONE),
            ..Demand::default()
        },
        octagon: Octagon {
            left: wide,
            right: wide,
            sum: wide,
            difference: wide,
        },
        ..Question::default()
    };
    solve(&question)
        .torque_nm
        .map(|torque| f64::from(torque.to_f32()))
}

#[test]
fn a_yaw_moment_asks_for_opposite_wheel_forces() {
    // CALC, M = (F right - F left) T / 2, positive left: 775 Nm at T 1.55 is 500 N per side; at r 0.32 m 160 Nm of torque.
    type Found = fn(f32, f32, f32) -> PerSide<f64>;
    for (found, tolerance) in [
        (torques_for_moment::<f64> as Found, 1e-6),
        (torques_for_moment::<f32> as Found, 1e-4),
    ] {
        let torque = found(775.0, 1.55, 0.32);
        assert_relative_eq!(torque.right / 0.32, 500.0, max_relative = tolerance);
        assert_relative_eq!(torque.left / 0.32, -500.0, max_relative = tolerance);
        let other = found(-775.0, 1.55, 0.32);
        assert_eq!((other.left, other.right), (torque.right, torque.left));
    }
    let pair = PerSide::from_sum_difference(0.0, 1000.0);
    assert_eq!((pair.left, pair.right), (-500.0, 500.0));
    assert_relative_eq!(pair.difference() * 1.55 / 2.0, 775.0, max_relative = 1e-12);
}
