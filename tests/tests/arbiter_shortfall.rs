//! Shortfall is what was wanted less what was given, signed, and nothing where a wish is no number; worked by hand.
//!
//! Source: the fields of `Answer` and the page of `project` in `stage/arbiter/mod.rs`.

use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Allocate, Demand, Question, project, solve};

/// A law that always wants the same.
#[derive(Clone, Copy)]
struct Always(PerSide<f64>);

impl Allocate<f64> for Always {
    fn allocate(&self, _: &Question<f64>) -> PerSide<f64> {
        self.0
    }
}

fn pair(left: f64, right: f64) -> PerSide<f64> {
    PerSide { left, right }
}

fn question(floor_nm: f64, most_nm: f64) -> Question<f64> {
    let wheel = NamedSpan {
        low: NamedSpan::new(floor_nm, floor_nm, Limit::Rate).low,
        high: NamedSpan::new(900.0, 900.0, Limit::Capacity).high,
    };
    Question {
        demand: Demand {
            rear_torque_nm: 400.0,
            weight_rear_torque: 1.0,
            weight_yaw_moment: 0.25,
            moment_per_difference: 2.0,
            ..Demand::default()
        },
        previous_nm: PerSide::both(200.0),
        octagon: Octagon {
            left: wheel,
            right: wheel,
            sum: NamedSpan::new(-most_nm, most_nm, Limit::MasterCap),
            difference: NamedSpan::new(-1_800.0, 1_800.0, Limit::YawLimit),
        },
    }
}

#[test]
fn a_law_that_wants_too_much_is_short_of_the_difference_and_one_that_wants_no_number_of_nothing() {
    let question = question(-900.0, 1_800.0);
    let answer = Always(pair(1_000.0, 100.0)).answer(&question);
    assert_eq!(answer.torque_nm, pair(900.0, 100.0));
    assert_eq!(answer.unconstrained_nm, pair(1_000.0, 100.0));
    assert_eq!(answer.shortfall_nm, pair(100.0, 0.0));
    for wanted in [pair(f64::NAN, 300.0), pair(300.0, f64::INFINITY)] {
        let answer = Always(wanted).answer(&question);
        assert_eq!(answer.torque_nm, pair(0.0, 0.0));
        assert_eq!(answer.unconstrained_nm, pair(0.0, 0.0));
        assert_eq!(answer.shortfall_nm, pair(0.0, 0.0));
    }
}

#[test]
fn the_exact_law_is_short_by_what_the_masters_cap_takes() {
    let answer = solve(&question(0.0, 300.0));
    // 400 Nm wanted and 300 allowed: 50 Nm short on each side.
    for (given, short) in [
        (answer.torque_nm.left, answer.shortfall_nm.left),
        (answer.torque_nm.right, answer.shortfall_nm.right),
    ] {
        assert!(
            (given - 150.0).abs() < 1e-9 && (short - 50.0).abs() < 1e-3,
            "{answer:?}"
        );
    }
    assert_eq!(answer.binding[0].by, Limit::MasterCap);
    let free = solve(&question(0.0, 900.0));
    assert_eq!(free.shortfall_nm, pair(0.0, 0.0));
}

#[test]
fn projection_into_contradicting_bounds_tells_whether_it_moved_the_torque() {
    // 250 Nm forced on each wheel and 300 allowed together: both floors give way to 150.
    let octagon = question(250.0, 300.0).octagon;
    let there = pair(150.0, 150.0);
    assert_eq!(project(&octagon, there), (there, false));
    assert_eq!(project(&octagon, pair(200.0, 200.0)), (there, true));
    assert_eq!(project(&octagon, pair(f64::NAN, 150.0)), (there, true));
}
