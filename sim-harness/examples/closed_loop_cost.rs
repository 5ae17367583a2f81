//! Drives the paired axle round a circle and prints simulated time over wall time.
//!
//! Usage: `closed_loop_cost [SECONDS]`, 60 by default. Sensors are noisy, the plant steps at 1 kHz, the controller at
//! 200 Hz. `.ci/bench` counts the instructions of two lengths and divides their difference by the steps between them.

use couplet_controller::RawPage;
use couplet_sim::plant::Vehicle;
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Scenario};

fn main() {
    let seconds: f64 = std::env::args()
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(60.0);
    let mut scenario = Scenario::of(Manoeuvre::ConstantRadius);
    scenario.numbers.course.longest_s = seconds;
    // Slow enough that no length ends at the limit of the car.
    scenario.numbers.course.speed_rise_m_s2 = 0.02;
    scenario.numbers.sensors.yaw_rate_noise_rad_s = 0.003;
    scenario.numbers.sensors.wheel_speed_noise_rad_s = 0.05;
    scenario.numbers.sensors.acceleration_noise_m_s2 = 0.1;
    let started = std::time::Instant::now();
    let result = run(&scenario, &Vehicle::default(), &RawPage::default());
    let wall = started.elapsed().as_secs_f64();
    println!(
        "{} after {:.1} s: {:.0} x real time, {} rows",
        result.outcome.ended,
        result.outcome.at_s,
        result.outcome.at_s / wall,
        result.record.len()
    );
}
