//! Key-off and waking of the whole controller: heat, orders to open, learned values.

use couplet_controller::snapshot::Snapshot;
use couplet_controller::{Controller, Period, RawPage};

fn controller() -> Controller<f32> {
    Controller::new(&RawPage::default(), Period::default()).expect("the default page")
}

/// A controller whose axle is `degc` hot.
fn at(degc: f32) -> Controller<f32> {
    let mut controller = controller();
    controller.set_temperature(degc);
    controller
}

fn oil_degc(controller: &Controller<f32>) -> f32 {
    controller.state().delayed.oil_degc
}

#[test]
fn an_unknown_time_asleep_leaves_the_axle_as_hot_as_it_was() {
    let stored = at(110.0).snapshot(1, 1000);
    let mut woken = controller();
    woken.wake(&stored, None, 20.0);
    assert!(
        (oil_degc(&woken) - 110.0).abs() < 0.1,
        "{}",
        oil_degc(&woken)
    );
    // A clock that went backwards is no clock.
    woken.wake(&stored, Some(999), 20.0);
    assert!((oil_degc(&woken) - 110.0).abs() < 0.1);
}

#[test]
fn a_known_night_asleep_cools_to_the_air_and_a_minute_does_not() {
    let stored = at(110.0).snapshot(1, 1000);
    let mut woken = controller();
    woken.wake(&stored, Some(1000 + 12 * 3600), 20.0);
    assert!(
        (oil_degc(&woken) - 20.0).abs() < 1.0,
        "{}",
        oil_degc(&woken)
    );
    woken.wake(&stored, Some(1060), 20.0);
    assert!(oil_degc(&woken) > 100.0);
}

#[test]
fn a_hot_axle_wakes_with_its_capacity_withdrawn() {
    let stored = at(145.0).snapshot(1, 1000);
    let mut woken = controller();
    woken.wake(&stored, None, 20.0);
    // Oil at 145 degC is beyond the limit of 140 degC: nothing is left before the first step is done.
    assert_eq!(woken.state().delayed.heat_ceiling.left, 0.0);
    assert_eq!(woken.state().delayed.heat_ceiling.right, 0.0);
}

#[test]
fn what_was_learned_and_counted_survives_the_bytes() {
    let mut learned = at(60.0);
    let mut state = *learned.state();
    state.tick.0 = 123_456_789_012;
    state.actuation.touch_point_bar.left = 0.25;
    state.actuation.valve_offset_bar.right = -0.5;
    state.actuation.valve_gain_share.left = 0.125;
    state.vehicle_state.radius.rear_to_front = -0.0078125;
    state.vehicle_state.radius.front_right_to_left = 0.00390625;
    let tunables = learned.calibration().tunables().vehicle_state;
    state.vehicle_state.radius.renew(&tunables);
    learned.restore(state);
    let bytes = learned.snapshot(7, 42).encode();
    let stored = Snapshot::decode(&bytes).expect("own record");
    let mut woken = controller();
    woken.wake(&stored, Some(42), 20.0);
    let (is, was) = (woken.state(), learned.state());
    assert_eq!(is.tick, was.tick);
    assert_eq!(is.actuation, was.actuation);
    assert_eq!(is.vehicle_state.radius, was.vehicle_state.radius);
    assert_eq!(is.thermal.estimate.nodes(), was.thermal.estimate.nodes());
}
