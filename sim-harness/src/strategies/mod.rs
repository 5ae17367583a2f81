//! Property-test strategies for a user's own controller: inputs, sequences, pages, vehicles, faults, drives.
//!
//! For `proptest`, behind the feature `strategies`, so that the lean library stays lean. Everything shrinks: inputs towards a
//! car at rest, sequences towards few steps, pages and vehicles towards their defaults, faults towards the first of the table.
//!
//! ```
//! use couplet_controller::{Controller, Period, RawPage};
//! use couplet_sim::strategies::{self, check};
//! use proptest::prelude::*;
//!
//! // Any controller with these inputs will do; this is the shipped one.
//! check(32, strategies::sequence(1..40), |told| {
//!     let mut controller: Controller<f32> =
//!         Controller::new(&RawPage::default(), Period::default()).expect("the default page");
//!     for inputs in &told {
//!         let given = controller.step(inputs).capacity_nm;
//!         prop_assert!((0.0..=1100.0).contains(&given.left), "{given:?}");
//!         prop_assert!((0.0..=1100.0).contains(&given.right), "{given:?}");
//!     }
//!     Ok(())
//! });
//! ```
//!
//! `examples/own_controller.rs` attacks a controller that knows nothing of the shipped one, and finds its mistake.

use std::fmt::Debug;
use std::ops::Range;

use couplet_controller::calibration::ENTRIES;
use couplet_controller::signal::inputs::{INPUT_SIGNALS, Status};
use couplet_controller::{Inputs, RawPage, Reading};
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::{Config, TestCaseResult, TestRunner};

use crate::fault::{Fault, Kind, Place};
use crate::plant::Vehicle;
use crate::run::injection::{can_happen, places};
use crate::scenario::{Manoeuvre, Scenario};

/// Checks a promise on so many cases; panics with the smallest case that breaks it.
///
/// # Panics
/// If a case breaks the promise.
pub fn check<S: Strategy>(cases: u32, strategy: S, promise: impl Fn(S::Value) -> TestCaseResult)
where
    S::Value: Debug,
{
    let mut runner = TestRunner::new(Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    });
    if let Err(broken) = runner.run(&strategy, promise) {
        panic!("{broken}");
    }
}

/// Inputs within their believable ranges, fresh and valid, each signal for itself.
pub fn believable_inputs() -> impl Strategy<Value = Inputs> {
    proptest::collection::vec(0.0..=1.0_f32, INPUT_SIGNALS.len()).prop_map(|shares| {
        let mut inputs = Inputs::default();
        for (signal, share) in INPUT_SIGNALS.iter().zip(shares) {
            // Share 0 is nothing where the range holds it, so that cases shrink towards a car at rest.
            let value = if share < 0.5 {
                2.0 * share * signal.high.max(0.0)
            } else {
                (2.0 * share - 1.0) * signal.low.min(0.0)
            };
            let value = value.clamp(signal.low, signal.high);
            (signal.write)(&mut inputs, Reading::fresh(value));
        }
        inputs
    })
}

/// Whatever can arrive: any bits as value, any age, any status.
pub fn wild_inputs() -> impl Strategy<Value = Inputs> {
    let reading = (any::<u32>(), any::<u16>(), 0..3_u16);
    proptest::collection::vec(reading, INPUT_SIGNALS.len()).prop_map(|readings| {
        let mut inputs = Inputs::default();
        for (signal, (bits, age_ms, status)) in INPUT_SIGNALS.iter().zip(readings) {
            let reading = Reading {
                value: f32::from_bits(bits),
                age_ms,
                status: Status(status),
            };
            (signal.write)(&mut inputs, reading);
        }
        inputs
    })
}

/// A row of control steps: between two believable inputs everything moves evenly, single signals go missing or wild.
pub fn sequence(steps: Range<usize>) -> impl Strategy<Value = Vec<Inputs>> {
    let ends = (believable_inputs(), believable_inputs());
    let spoiled = proptest::collection::vec((0.0..1.0_f32, wild_inputs()), 0..3);
    (ends, steps, spoiled, 0..INPUT_SIGNALS.len()).prop_map(
        |((from, to), steps, spoiled, signal)| {
            let mut row: Vec<Inputs> = (0..steps)
                .map(|step| between(&from, &to, step as f32 / steps.max(1) as f32))
                .collect();
            let signal = &INPUT_SIGNALS[signal];
            for (when, wild) in spoiled {
                let first = (when * steps as f32) as usize;
                for inputs in row.iter_mut().skip(first) {
                    (signal.write)(inputs, (signal.read)(&wild));
                }
            }
            row
        },
    )
}

fn between(from: &Inputs, to: &Inputs, share: f32) -> Inputs {
    let mut inputs = *from;
    for signal in INPUT_SIGNALS {
        let (one, other) = ((signal.read)(from).value, (signal.read)(to).value);
        (signal.write)(&mut inputs, Reading::fresh(one + share * (other - one)));
    }
    inputs
}

/// Pages the controller accepts: a few numbers moved by up to a third of their range, within it.
pub fn page() -> impl Strategy<Value = RawPage> {
    let moves = proptest::collection::vec((0..ENTRIES.len(), -0.33..0.33_f32), 0..6);
    moves.prop_filter_map("a page that is accepted", |moves| {
        let mut page = RawPage::default();
        for (place, share) in moves {
            let entry = &ENTRIES[place];
            let value = (entry.read)(&page.tunables) + share * (entry.high - entry.low);
            (entry.write)(&mut page.tunables, value.clamp(entry.low, entry.high));
        }
        page.accept::<f32>().is_ok().then_some(page)
    })
}

/// Cars like the demo car: mass, load, height, tyres, clutches, actuators and overspeed moved within what is built.
pub fn vehicle() -> impl Strategy<Value = Vehicle> {
    let body = (0.85..1.15_f64, -0.04..0.04_f64, 0.9..1.1_f64);
    let tyres = (
        0.85..1.15_f64,
        0.85..1.15_f64,
        0.99..1.01_f64,
        0.99..1.01_f64,
    );
    let axle = (
        0.85..1.15_f64,
        0.85..1.15_f64,
        0.03..0.06_f64,
        0.0..0.03_f64,
    );
    (body, tyres, axle).prop_map(|((mass, share, height), tyres, axle)| {
        let mut car = Vehicle::default();
        car.body.mass_kg *= mass;
        car.body.yaw_inertia_kg_m2 *= mass;
        car.body.front_load_share += share;
        car.body.gravity_height_m *= height;
        car.tyre_front.left_stiffness_scale *= tyres.0;
        car.tyre_front.right_stiffness_scale *= tyres.0;
        car.tyre_rear.left_stiffness_scale *= tyres.1;
        car.tyre_rear.right_stiffness_scale *= tyres.1;
        car.tyre_front.radius_m *= tyres.2;
        car.tyre_rear.radius_m *= tyres.3;
        car.clutch.left_friction_scale *= axle.0;
        car.clutch.right_friction_scale *= axle.1;
        car.actuator.lag_s = axle.2;
        car.driveline.overspeed = axle.3;
        car
    })
}

/// A fault that can happen: place, kind, size within the kind's range, start and duration.
pub fn fault() -> impl Strategy<Value = Fault> {
    let mut all: Vec<(Place, Kind)> = Vec::new();
    for place in places() {
        let kinds = Kind::ALL
            .into_iter()
            .filter(|kind| can_happen(place, *kind));
        all.extend(kinds.map(|kind| (place, kind)));
    }
    let times = (0.1..1.5_f64, 0.02..3.0_f64);
    (select(all), times, 0.2..3.0_f64).prop_map(|((place, kind), times, factor)| {
        let range = kind.size();
        Fault {
            size: (factor * range.usual).clamp(range.low, range.high),
            start_s: times.0,
            duration_s: times.1,
            ..Fault::from(place, kind, times.0)
        }
    })
}

/// Short drives, straight or in a turn, at constant speed, under power, lifted or braked, with up to two faults.
pub fn drive() -> impl Strategy<Value = Scenario> {
    let car = (5.0..45.0_f64, 0.0..6.0_f64, 0.0..1.5_f64, 0.3..1.0_f64);
    let acts = (any::<bool>(), any::<bool>(), 0.0..0.5_f64, -90.0..90.0_f64);
    let faults = proptest::collection::vec(fault(), 0..3);
    (car, acts, faults, any::<bool>(), 0..1000_u64).prop_map(
        |((speed, turn, rise, friction), acts, faults, mirrored, seed)| {
            let mut scenario = Scenario::of(Manoeuvre::Disturbance);
            let numbers = &mut scenario.numbers;
            numbers.course.speed_m_s = speed;
            numbers.course.speed_rise_m_s2 = rise;
            numbers.disturbance.turn_m_s2 = turn.min(0.7 * friction * 9.81);
            numbers.road.friction_left = friction;
            numbers.road.friction_right = friction;
            numbers.disturbance.person = f64::from(u8::from(acts.0));
            numbers.disturbance.lift_off = f64::from(u8::from(acts.1));
            numbers.driver.brake = if acts.1 { acts.2 } else { 0.0 };
            numbers.disturbance.steer_deg = acts.3;
            scenario.faults = faults;
            scenario.mirrored = mirrored;
            scenario.seed = seed;
            scenario
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_drawn_is_what_the_strategy_promises() {
        check(200, believable_inputs(), |inputs| {
            for signal in INPUT_SIGNALS {
                let value = (signal.read)(&inputs).value;
                prop_assert!(
                    (signal.low..=signal.high).contains(&value),
                    "{}",
                    signal.name
                );
            }
            Ok(())
        });
        check(200, page(), |page| {
            prop_assert!(page.accept::<f64>().is_ok());
            Ok(())
        });
        check(200, fault(), |fault| {
            let size = fault.kind.size();
            prop_assert!(can_happen(fault.place, fault.kind));
            prop_assert!((size.low..=size.high).contains(&fault.size));
            Ok(())
        });
        check(50, drive(), |scenario| {
            prop_assert_eq!(scenario.contradiction(), None);
            Ok(())
        });
    }

    #[test]
    #[should_panic(expected = "minimal failing input")]
    fn a_broken_promise_is_shrunk_and_told() {
        check(200, sequence(1..30), |told| {
            prop_assert!(told.len() < 5);
            Ok(())
        });
    }
}
