//! Random steering input (in the manner of ISO 7401): cross spectra, coherence and lags against closed forms.
//!
//! The linear car is the one of `frequency_response.rs`: m 1700 kg, Iz 2900 kg m2, a 1.15 m, b 1.60 m, Cf 85000, Cr 100000
//! N/rad, ratio 16. Its transfer function is written out here from its own equations and agrees there with values of an
//! independent control library. Coherence with independent noise of the same spectrum is 1 / (1 + k^2) (Bendat and
//! Piersol, "Random Data", from memory).

use couplet_sim::manoeuvre::steering_input::Score;
use couplet_sim::metrics::frequency::{
    Complex, Method, Response, by_periods, from_rest_to_rest, response,
};
use couplet_sim::metrics::random::{by_segments, lag_s, lags};
use couplet_sim::metrics::value;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::record::{Channel, Parity, Record};
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Scenario, SensorNumbers};
use couplet_tests::demo_page;

const RATIO: f64 = 16.0;
const BEFORE_S: f64 = 1.0;
const PERIOD_S: f64 = 0.01;
const CIRCLE: f64 = 2.0 * core::f64::consts::PI;

const MASS_KG: f64 = 1700.0;
const INERTIA_KG_M2: f64 = 2900.0;
const FRONT: (f64, f64) = (1.15, 85_000.0);
const REAR: (f64, f64) = (1.60, 100_000.0);

/// Yaw rate over road-wheel angle of the linear car: (b1 s + b0) / (s^2 + a1 s + a0).
fn transfer(speed: f64, hz: f64) -> Complex {
    let ((a, cf), (b, cr)) = (FRONT, REAR);
    let (m, j, w) = (MASS_KG, INERTIA_KG_M2, CIRCLE * hz);
    let b1 = a * cf / j;
    let b0 = cf * cr * (a + b) / (m * j * speed);
    let a1 = (cf + cr) / (m * speed) + (a * a * cf + b * b * cr) / (j * speed);
    let a0 = cf * cr * (a + b) * (a + b) / (m * j * speed * speed) + (b * cr - a * cf) / j;
    let (up, down) = (Complex(b0, b1 * w), Complex(a0 - w * w, a1 * w));
    let square = down.0 * down.0 + down.1 * down.1;
    Complex(
        (up.0 * down.0 + up.1 * down.1) / square,
        (up.1 * down.0 - up.0 * down.1) / square,
    )
}

fn record_of(rows: impl Iterator<Item = [f32; 3]>) -> Record {
    let channel = |name, unit| Channel {
        name,
        unit,
        parity: Parity::Odd,
    };
    let channels = vec![
        channel("steering_wheel_angle", "rad"),
        channel("yaw_rate", "rad/s"),
        channel("lateral_acceleration", "m/s2"),
    ];
    let mut record = Record::new(PERIOD_S, channels);
    rows.for_each(|row| record.push(&row));
    record
}

fn samples() -> usize {
    ((Score::Random.length_s() + 4.0) / PERIOD_S) as usize
}

fn steering(time_s: f64) -> f64 {
    0.5 * Score::Random.share(time_s - BEFORE_S)
}

/// The linear car under the random input, by the fourth-order Runge-Kutta method in steps of 1 ms.
fn linear_drive(speed: f64) -> Record {
    let ((a, cf), (b, cr)) = (FRONT, REAR);
    let forces = |v: f64, r: f64, delta: f64| {
        (
            cf * (delta - (v + a * r) / speed),
            -cr * (v - b * r) / speed,
        )
    };
    let slope = |v: f64, r: f64, delta: f64| {
        let (front, rear) = forces(v, r, delta);
        (
            (front + rear) / MASS_KG - speed * r,
            (a * front - b * rear) / INERTIA_KG_M2,
        )
    };
    let (mut v, mut r, h) = (0.0, 0.0, PERIOD_S / 10.0);
    record_of((0..samples()).map(|sample| {
        let time = sample as f64 * PERIOD_S;
        let (front, rear) = forces(v, r, steering(time) / RATIO);
        let row = [
            steering(time) as f32,
            r as f32,
            ((front + rear) / MASS_KG) as f32,
        ];
        for part in 0..10 {
            let from = time + f64::from(part) * h;
            let angle = |later: f64| steering(from + later) / RATIO;
            let k1 = slope(v, r, angle(0.0));
            let k2 = slope(v + 0.5 * h * k1.0, r + 0.5 * h * k1.1, angle(0.5 * h));
            let k3 = slope(v + 0.5 * h * k2.0, r + 0.5 * h * k2.1, angle(0.5 * h));
            let k4 = slope(v + h * k3.0, r + h * k3.1, angle(h));
            v += h / 6.0 * (k1.0 + 2.0 * k2.0 + 2.0 * k3.0 + k4.0);
            r += h / 6.0 * (k1.1 + 2.0 * k2.1 + 2.0 * k3.1 + k4.1);
        }
        row
    }))
}

fn found(response: Option<Response>) -> Response {
    response.expect("a response")
}

/// Largest deviation between 0.2 and 2 Hz, as a share.
fn apart(seen: &Response, expected: impl Fn(f64) -> Complex) -> f64 {
    (4..=40)
        .map(|index| {
            let hz = 0.05 * f64::from(index);
            let (one, other) = (seen.at(hz).expect("within"), expected(hz));
            Complex(one.0 - other.0, one.1 - other.1).size() / other.size()
        })
        .fold(0.0, f64::max)
}

#[test]
fn cross_spectra_of_random_steering_find_the_transfer_function_of_the_linear_car() {
    for kilometre_hour in [80.0, 100.0, 120.0] {
        let speed = kilometre_hour / 3.6;
        let record = linear_drive(speed);
        let seen = found(by_segments(&record, "steering_wheel_angle", "yaw_rate"));
        let worst = apart(&seen, |hz| {
            let value = transfer(speed, hz);
            Complex(value.0 / RATIO, value.1 / RATIO)
        });
        let coherence = seen.least_coherence().unwrap_or(f64::NAN);
        println!(
            "{kilometre_hour} km/h: off by {:.2} %, least coherence {coherence:.5}",
            100.0 * worst
        );
        // A window of 20 s blurs over 0.1 Hz, the more the less damped the car: 1.1 to 1.8 % were seen; the promise of every
        // method is 3 %.
        assert!(worst < 0.02, "{worst}");
        assert!(coherence > 0.997, "{coherence}");
    }
}

#[test]
fn coherence_is_what_independent_noise_of_the_same_spectrum_leaves() {
    for size in [0.25, 0.5, 1.0] {
        // Another stretch of the same noise: numbers drawn minutes later have nothing in common with these.
        let record = record_of((0..samples()).map(|index| {
            let time = index as f64 * PERIOD_S;
            let shifted = (time + 50.0) % Score::Random.length_s();
            let noise = size * 0.5 * Score::Random.share(shifted);
            [steering(time) as f32, (steering(time) + noise) as f32, 0.0]
        }));
        let seen = found(by_segments(&record, "steering_wheel_angle", "yaw_rate"));
        let mean =
            seen.points.iter().map(|point| point.coherence).sum::<f64>() / seen.points.len() as f64;
        let expected = 1.0 / (1.0 + size * size);
        println!("noise {size}: mean coherence {mean:.3}, expected {expected:.3}");
        // Spread of one estimate from some ten segments: (1 - c) sqrt(2 c / 10) = 0.16 at c = 0.5; mean over some twenty
        // independent frequencies, twice.
        assert!((mean - expected).abs() < 0.07, "{mean} {expected}");
    }
}

#[test]
fn the_lag_of_a_pure_delay_is_the_delay() {
    for delay_s in [0.04, 0.1375, 0.31] {
        let record = record_of((0..samples()).map(|index| {
            let time = index as f64 * PERIOD_S;
            [steering(time) as f32, steering(time - delay_s) as f32, 0.0]
        }));
        let lag = lag_s(&record, "steering_wheel_angle", "yaw_rate").expect("a lag");
        println!("{delay_s} s delay: lag {lag:.5} s");
        // A parabola through samples 10 ms apart at the top of a correlation of 2.5 Hz width.
        assert!((lag - delay_s).abs() < 2e-4, "{lag}");
    }
}

#[test]
fn the_lag_of_the_linear_car_is_where_its_correlation_integral_is_largest() {
    for kilometre_hour in [80.0, 120.0] {
        let speed = kilometre_hour / 3.6;
        let record = linear_drive(speed);
        let lag = lag_s(&record, "steering_wheel_angle", "yaw_rate").expect("a lag");
        // White noise through an even band up to 2.5 Hz: R(t) = integral of Re(H e^(j w t)) df.
        let alike = |time: f64| -> f64 {
            (1..=250)
                .map(|index| {
                    let hz = 0.01 * f64::from(index);
                    let (value, angle) = (transfer(speed, hz), CIRCLE * hz * time);
                    value.0 * libm::cos(angle) - value.1 * libm::sin(angle)
                })
                .sum()
        };
        let expected = (0..1000)
            .map(|index| 1e-3 * f64::from(index))
            .reduce(|best, next| {
                if alike(next) > alike(best) {
                    next
                } else {
                    best
                }
            })
            .unwrap_or(f64::NAN);
        println!("{kilometre_hour} km/h: lag {lag:.4} s, expected {expected:.4} s");
        // The band of the score is not quite even near its end, and two minutes are no infinite time.
        assert!((lag - expected).abs() < 0.006, "{lag} {expected}");
    }
}

#[test]
fn on_the_plant_random_steering_agrees_with_sweep_and_row_of_sines() {
    let driven = |manoeuvre| {
        let mut scenario = Scenario::of(manoeuvre);
        scenario.layout = AxleLayout::FrontDrive;
        scenario.numbers.sensors = SensorNumbers::ideal();
        scenario.numbers.course.lateral_acceleration_m_s2 = 0.5;
        run(&scenario, &Vehicle::default(), &demo_page("patrol"))
    };
    let random = driven(Manoeuvre::RandomSteering);
    let (sweep, sines) = (
        driven(Manoeuvre::FrequencySweep),
        driven(Manoeuvre::ContinuousSine),
    );
    for output in ["yaw_rate", "lateral_acceleration"] {
        let input = "steering_wheel_angle";
        let seen = found(by_segments(&random.record, input, output));
        let sweep = found(from_rest_to_rest(&sweep.record, input, output));
        let sines = found(by_periods(&sines.record, input, output));
        let from_sweep = apart(&seen, |hz| sweep.at(hz).expect("within"));
        let from_sines = Score::ROW_HZ
            .iter()
            .map(|hz| {
                let (one, other) = (seen.at(*hz), sines.at(*hz));
                let (one, other) = (one.expect("within"), other.expect("within"));
                Complex(one.0 - other.0, one.1 - other.1).size() / other.size()
            })
            .fold(0.0, f64::max);
        println!(
            "{output}: {:.2} % from the sweep, {:.2} % from the row of sines, least coherence {:.5}",
            100.0 * from_sweep,
            100.0 * from_sines,
            seen.least_coherence().unwrap_or(f64::NAN)
        );
        // The promise of every method is 3 % to 2 Hz.
        assert!(from_sweep < 0.03 && from_sines < 0.03);
        assert!(seen.least_coherence().is_some_and(|least| least > 0.99));
    }
    let lag = |name| value(&random.metrics, name).expect("a lag");
    let (yaw, lateral) = (
        lag("yaw rate lag by correlation"),
        lag("lateral acceleration lag by correlation"),
    );
    println!("lags: yaw rate {yaw:.3} s, lateral acceleration {lateral:.3} s");
    // Both follow the hands. Lateral acceleration may come first: side force of the front tyres needs no yaw rate.
    for lag in [yaw, lateral] {
        assert!((0.02..0.2).contains(&lag), "{lag}");
    }
}

#[test]
fn a_record_without_input_or_too_short_has_no_response_and_no_lag() {
    let still = record_of((0..samples()).map(|_| [0.0, 0.0, 0.0]));
    assert_eq!(
        by_segments(&still, "steering_wheel_angle", "yaw_rate"),
        None
    );
    assert_eq!(lag_s(&still, "steering_wheel_angle", "yaw_rate"), None);
    let short = record_of((0..3900).map(|index| {
        let angle = steering(f64::from(index) * PERIOD_S) as f32;
        [angle, angle, angle]
    }));
    assert_eq!(
        by_segments(&short, "steering_wheel_angle", "yaw_rate"),
        None
    );
}

#[test]
fn values_of_random_steering_do_not_know_left_from_right() {
    let record = linear_drive(25.0);
    let mirrored = record.mirrored();
    let of = |record| (response(record, Method::Segments), lags(record));
    assert_eq!(of(&record), of(&mirrored));
}
