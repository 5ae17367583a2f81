//! Metrics code against an exact solution of the linear single-track car.
//!
//! Files `tests/reference/step_ramp01_*.csv`: linear single-track car (m 1700 kg, Iz 2900 kg m2, a 1.15 m, b 1.60 m,
//! Cf 85000, Cr 100000 N/rad per axle, steering ratio 16), constant speed, steering ramp 0 to 30 deg in 0.1 s from t = 0,
//! integrated with an eighth-order method to a relative tolerance of 1e-12, 100 samples a second. Expected values were
//! computed from the same solution by independent code; definitions after ISO 7401:2011 (from memory).

use approx::assert_abs_diff_eq;
use couplet_sim::metrics::sway;
use couplet_sim::metrics::transient::step_steer;
use couplet_sim::metrics::{Metric, value};
use couplet_sim::record::{Channel, Parity, Record};

fn record(text: &str) -> Record {
    let channel = |name, unit| Channel {
        name,
        unit,
        parity: Parity::Odd,
    };
    let channels = vec![
        channel("steering_wheel_angle", "rad"),
        channel("yaw_rate", "rad/s"),
        channel("lateral_acceleration", "m/s2"),
        channel("sideslip", "rad"),
    ];
    let mut record = Record::new(0.01, channels);
    for line in text.lines().skip(1) {
        let cells: Vec<f64> = line
            .split(',')
            .filter_map(|cell| cell.parse().ok())
            .collect();
        record.push(&[
            cells[1].to_radians() as f32,
            cells[2] as f32,
            cells[3] as f32,
            cells[4] as f32,
        ]);
    }
    record
}

fn of(metrics: &[Metric], name: &str) -> f64 {
    value(metrics, name).unwrap_or(f64::NAN)
}

/// Expected values of one file.
struct Expected {
    yaw_ss: f64,
    yaw_t90: f64,
    yaw_peak: f64,
    yaw_over: f64,
    ay_ss: f64,
    ay_t90: f64,
    ay_peak: f64,
    ay_over: f64,
    sideslip_deg: f64,
    tb: f64,
}

fn check(text: &str, expected: &Expected) {
    let metrics = step_steer(&record(text));
    // Tolerances that came with the values: 1e-4 s on a 100 Hz file with interpolation, 0.02 percentage points. A straight
    // line between samples misses them (up to 2e-4 s at a crossing, half a period at a peak).
    for (name, seconds) in [
        ("yaw rate response time", expected.yaw_t90),
        ("yaw rate peak response time", expected.yaw_peak),
        ("lateral acceleration response time", expected.ay_t90),
        ("lateral acceleration peak response time", expected.ay_peak),
    ] {
        println!("{name}: {} against {seconds}", of(&metrics, name));
        assert_abs_diff_eq!(of(&metrics, name), seconds, epsilon = 1e-4);
    }
    for (name, percent) in [
        ("yaw rate overshoot", expected.yaw_over),
        ("lateral acceleration overshoot", expected.ay_over),
    ] {
        println!("{name}: {} against {percent}", of(&metrics, name));
        assert_abs_diff_eq!(of(&metrics, name), percent, epsilon = 0.02);
    }
    // The steady value is the mean of half a second that begins 2 s after the step; at 100 km/h the exact solution still
    // moves by 2e-4 of its size there.
    for (name, value) in [
        ("steady yaw rate", expected.yaw_ss.to_degrees()),
        ("steady lateral acceleration", expected.ay_ss),
        ("steady sideslip", expected.sideslip_deg),
        ("TB factor", expected.tb),
    ] {
        println!("{name}: {} against {value}", of(&metrics, name));
        assert_abs_diff_eq!(of(&metrics, name), value, epsilon = 3e-4 * value.abs());
    }
    assert_abs_diff_eq!(of(&metrics, "steering-wheel angle"), 30.0, epsilon = 1e-4);
}

#[test]
fn step_response_values_agree_with_the_exact_solution_at_80_km_h() {
    check(
        include_str!("../reference/step_ramp01_80kph_30deg.csv"),
        &Expected {
            yaw_ss: 0.14586155,
            yaw_t90: 0.195338,
            yaw_peak: 0.409292,
            yaw_over: 8.22961,
            ay_ss: 3.24136785,
            ay_t90: 0.410663,
            ay_peak: 0.767448,
            ay_over: 1.24591,
            sideslip_deg: -0.718555,
            // Size: the sign of the sideslip is shown by itself.
            tb: 0.294099,
        },
    );
}

#[test]
fn decay_of_a_known_oscillation_gives_its_damping_ratio() {
    // x = 2 + exp(-zeta w t) sin(w sqrt(1 - zeta^2) t): its own numbers must come back, and the steady 2 must not matter.
    for (ratio, frequency) in [(0.05, 4.0), (0.2, 5.5), (-0.02, 3.0)] {
        let channel = Channel {
            name: "articulation",
            unit: "rad",
            parity: Parity::Odd,
        };
        let mut record = Record::new(0.005, vec![channel]);
        let damped = frequency * libm::sqrt(1.0 - ratio * ratio);
        for index in 0..1200 {
            let time = f64::from(index) * 0.005;
            let value = 2.0 + libm::exp(-ratio * frequency * time) * libm::sin(damped * time);
            record.push(&[value as f32]);
        }
        let found = sway::decay(&record, "articulation", 0.0, 6.0, 1e-3).expect("it swings");
        // Single precision near 2 is 1e-7; the smallest half swing that counts is 2 % of 2.
        assert!((found.damping_ratio - ratio).abs() < 1e-4, "{found:?}");
        let expected = damped / (2.0 * core::f64::consts::PI);
        assert!(
            (found.frequency_hz / expected - 1.0).abs() < 1e-3,
            "{found:?}"
        );
    }
}

#[test]
fn step_response_values_agree_with_the_exact_solution_at_100_km_h() {
    check(
        include_str!("../reference/step_ramp01_100kph_30deg.csv"),
        &Expected {
            yaw_ss: 0.14560098,
            yaw_t90: 0.173353,
            yaw_peak: 0.391643,
            yaw_over: 17.14769,
            ay_ss: 4.04447169,
            ay_t90: 0.422826,
            ay_peak: 0.743277,
            ay_over: 3.17221,
            sideslip_deg: -1.166880,
            tb: 0.457000,
        },
    );
}

#[test]
fn step_response_values_do_not_know_left_from_right() {
    let left = record(include_str!("../reference/step_ramp01_100kph_30deg.csv"));
    assert_eq!(step_steer(&left), step_steer(&left.mirrored()));
}
