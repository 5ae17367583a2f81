//! The comparison of arithmetics finds what it is for: switches are left out by the rule, spoiled laws are not.
//!
//! Outside check: a law with another number in its page, stepped beside the exact one, must stand out by more than single
//! precision may; the same law must not. Torques in Nm.

mod controller_kit;

use controller_kit::{Drive, page_of};
use couplet_controller::signal::Phase;
use couplet_controller::{Controller, Period, Trace};
use couplet_sim::arithmetic::{ALLOWED_NM, Comparison, Differences, compare};
use couplet_sim::plant::Vehicle;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

#[test]
fn a_switch_and_two_steps_on_either_side_are_left_out_and_nothing_else() {
    let mut comparison = Comparison::default();
    for step in 0..30_u8 {
        let exact = Trace::<f64>::default();
        let mut near = Trace::<f32>::default();
        near.torque_nm.left = f32::from(step);
        // One arithmetic decides for one step what the other does not.
        if step == 15 {
            near.intent.phase = Phase::Exit;
        }
        comparison.step(f64::from(step), &exact, &near);
    }
    let found = comparison.differences();
    let steps: Vec<f64> = found.compared.iter().map(|apart| apart.nm).collect();
    // The first step has no step before it and counts as a switch; the last two wait for what comes. The switch lasts from
    // step 15, where decisions differ, to step 16, where they change back.
    let wanted: Vec<f64> = (3..13).chain(19..28).map(f64::from).collect();
    assert_eq!(steps, wanted);
    assert_eq!(found.differing, 1);
    assert_eq!(found.left_out, 3 + 2 + 4);
    assert_eq!(found.largest().at_s, 27.0);
    assert_eq!(found.beyond(20.0), 7);
}

fn beside(spoil: f32) -> Differences {
    let mut comparison = Comparison::default();
    for seed in 0..6 {
        let page = page_of(0);
        let mut other = page;
        other.tunables.yaw_control.proportional_nm_s_rad *= spoil;
        other.tunables.yaw_control.proportional_fast_nm_s_rad *= spoil;
        let mut exact = Controller::<f64>::new(&page, Period::default()).expect("a page");
        let mut near = Controller::<f32>::new(&other, Period::default()).expect("a page");
        let mut drive = Drive::new(seed);
        for step in 0..3_000 {
            let inputs = drive.next();
            exact.step(&inputs);
            near.step(&inputs);
            comparison.step(0.005 * f64::from(step), exact.trace(), near.trace());
        }
    }
    comparison.differences()
}

#[test]
fn a_gain_wrong_by_three_percent_stands_out_and_the_same_gain_does_not() {
    let (same, spoiled) = (beside(1.0), beside(1.03));
    assert!(same.compared.len() > 10_000);
    assert!(same.largest().nm < ALLOWED_NM, "{:?}", same.largest());
    assert!(
        spoiled.largest().nm > 5.0 * ALLOWED_NM,
        "{:?}",
        spoiled.largest()
    );
    assert!(spoiled.beyond(ALLOWED_NM) > 100);
}

#[test]
fn the_fast_arithmetic_bites_first_in_what_its_square_root_feeds() {
    let page = demo_page("patrol");
    let scenario = Scenario::of(Manoeuvre::SplitLaunch);
    let found = compare(&scenario, &Vehicle::default(), &page);
    assert!(
        found.single.largest().nm < ALLOWED_NM,
        "{:?}",
        found.single.largest()
    );
    assert!(found.steps > 500 && found.single.compared.len() > found.steps / 4);
    // Friction used is the root of a sum of squares; the fast root is good to about 3 % (measured in `numerics`).
    let first = found.bites.first().expect("the fast arithmetic differs");
    assert_eq!(first.name, "friction_used");
    assert!(first.share > 0.01 && first.share < 0.06, "{first:?}");
    assert!(
        found
            .bites
            .windows(2)
            .all(|pair| pair[0].at_s <= pair[1].at_s)
    );
}
