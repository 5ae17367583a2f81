//! Sine with dwell in the closed loop: the procedure keeps its own conditions, and its result is what it says.

use couplet_sim::manoeuvre::sine_with_dwell::reference;
use couplet_sim::metrics::dwell::DwellRun;
use couplet_sim::metrics::value;
use couplet_sim::plant::{AxleLayout, Plant, Road, Start, Surface, Vehicle};
use couplet_sim::prove::rows;
use couplet_sim::run::{RunResult, run};
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::{demo_page, run_cases};

const LAYOUTS: [AxleLayout; 3] = [
    AxleLayout::FrontDrive,
    AxleLayout::SingleCoupling,
    AxleLayout::PairedClutches,
];

fn of(result: &RunResult, name: &str) -> f64 {
    value(&result.metrics, name).unwrap_or(f64::NAN)
}

#[test]
fn every_run_begins_coasting_at_eighty_km_h() {
    // 80 +- 2 km/h, accelerator released: GB/T 30677-2014, 7.7 (read).
    for layout in LAYOUTS {
        let mut scenario = Scenario::of(Manoeuvre::SineWithDwell);
        scenario.layout = layout;
        let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
        let speed_km_h = 3.6 * of(&result, "speed at the beginning of steer");
        assert!(
            (speed_km_h - 80.0).abs() < 2.0,
            "{layout:?}: {speed_km_h} km/h"
        );
        let begins = DwellRun::of(&result.record).map_or(f64::NAN, |run| run.begins_s);
        let pedal = result.record.column("pedal").unwrap_or_default();
        let coasting = pedal
            .iter()
            .enumerate()
            .filter(|(index, _)| result.record.time_s(*index) > begins - 1.0);
        assert!(coasting.clone().count() > 500 && coasting.clone().all(|(_, pedal)| *pedal == 0.0));
        let torque = result
            .record
            .column("plant_carrier_torque")
            .unwrap_or_default();
        let drag = torque.last().copied().unwrap_or(f32::NAN);
        // A fifth of the 700 Nm of the lowest gear, a little less by its fade.
        assert!((-141.0..-130.0).contains(&drag), "{drag} Nm");
    }
}

#[test]
fn the_reference_angle_is_that_of_the_linear_car_and_the_lag_of_a_slow_turn() {
    let (car, page) = (Vehicle::default(), demo_page("patrol"));
    let mut scenario = Scenario::of(Manoeuvre::SineWithDwell);
    scenario.layout = AxleLayout::FrontDrive;
    let found = reference(&scenario, &car, &page).unwrap_or(f64::NAN);
    let road = Road {
        surface: Surface::Uniform { friction: 0.95 },
        grade_slope: 0.0,
        bank_slope: 0.0,
    };
    let track = Plant::new(car, AxleLayout::FrontDrive, road, Start::default()).single_track();
    // Road-wheel angle L/R + K a_y (handling textbooks), and what the wheel turns on while the car answers: the lateral
    // acceleration of such cars is late by 0.1 to 0.25 s at 80 km/h.
    let (speed, lateral) = (80.0_f64 / 3.6, 0.3 * 9.80665);
    let steady =
        car.body.wheelbase_m * lateral / (speed * speed) + track.understeer_rad_s2_m() * lateral;
    let angle = (car.steering.ratio * steady).to_degrees();
    // The tyres at a third of their grip: up to a twentieth softer than linear.
    let (low, high) = (angle + 0.1 * 13.5, 1.05 * angle + 0.25 * 13.5);
    assert!(
        (low..high).contains(&found),
        "{found} deg, expected {low} to {high}"
    );
}

#[test]
fn the_run_recorded_is_the_largest_amplitude_up_to_which_all_passed() {
    let page = demo_page("patrol");
    let car = Vehicle::default();
    let mut series = Scenario::of(Manoeuvre::SineWithDwell);
    series.layout = AxleLayout::FrontDrive;
    series.numbers.road.friction_left = 0.6;
    series.numbers.road.friction_right = 0.6;
    series.numbers.driver.amplitude_a = 0.0;
    let result = run(&series, &car, &page);
    let passed = of(&result, "largest amplitude passed");
    let reference_deg = of(&result, "reference angle A");
    assert!((1.5..8.0).contains(&passed), "{passed} A");
    let driven = of(&result, "steering-wheel angle, largest");
    assert!(
        (driven - passed * reference_deg).abs() < 0.01,
        "{driven} deg"
    );
    let at = |amplitude: f64, side: f64| {
        let mut single = series.clone();
        single.numbers.driver.amplitude_a = amplitude;
        single.numbers.driver.first_side = side;
        let result = run(&single, &car, &page);
        DwellRun::of(&result.record)
            .is_some_and(|run| run.verdict(amplitude, car.body.mass_kg).passed())
    };
    assert!(at(passed, 1.0) && at(passed, -1.0));
    assert!(!(at(passed + 0.5, 1.0) && at(passed + 0.5, -1.0)));
}

#[test]
fn two_clutches_pass_larger_amplitudes_on_a_wet_road_than_both_others() {
    let rows = rows(&run_cases("sine-with-dwell-wet"));
    let Some(row) = rows.iter().find(|row| row.id == "dwell-wet") else {
        panic!("no row")
    };
    assert!(
        row.paired > row.passive && row.paired > row.coupling,
        "{:?}, {:?}, {:?}",
        row.passive,
        row.coupling,
        row.paired
    );
    assert_eq!(row.pass(), Some(true));
}
