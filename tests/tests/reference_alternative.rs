//! The two other laws of allocation, worked out a second time.
//!
//! Source: the page of `stage/arbiter/alternative.rs`. Strict priority here looks at the corners of the octagon, not at its twelve
//! inequalities: the first wish is clipped to what the corners span, the second to what a straight cut at the first leaves.

mod arbiter_kit;

use arbiter_kit::family::{Kind, question_of};
use arbiter_kit::wide::wide;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{
    Allocate, Demand, ProportionalSplit, Question, StrictPriority, consistent,
};

/// Half planes `a left + b right <= c`.
fn half_planes(octagon: &Octagon<f64>) -> Vec<(f64, f64, f64)> {
    let mut all = Vec::new();
    for (span, a, b) in [
        (octagon.left, 1.0, 0.0),
        (octagon.right, 0.0, 1.0),
        (octagon.sum, 1.0, 1.0),
        (octagon.difference, -1.0, 1.0),
    ] {
        all.push((a, b, span.high.value));
        all.push((-a, -b, -span.low.value));
    }
    all
}

/// Least and most of `sum` or `difference` over the corners.
fn reach(octagon: &Octagon<f64>, of_sum: bool) -> Option<(f64, f64)> {
    let planes = half_planes(octagon);
    let mut reach: Option<(f64, f64)> = None;
    for one in &planes {
        for other in &planes {
            let area = one.0 * other.1 - one.1 * other.0;
            if area == 0.0 {
                continue;
            }
            let left = (one.2 * other.1 - one.1 * other.2) / area;
            let right = (one.0 * other.2 - one.2 * other.0) / area;
            if planes
                .iter()
                .all(|plane| plane.0 * left + plane.1 * right <= plane.2 + 1e-7)
            {
                let value = if of_sum { left + right } else { right - left };
                let (low, high) = reach.unwrap_or((value, value));
                reach = Some((low.min(value), high.max(value)));
            }
        }
    }
    reach
}

/// What a cut through the octagon leaves: the sum fixed and the difference free, or the other way.
fn cut(octagon: &Octagon<f64>, fixed: f64, sum_fixed: bool) -> (f64, f64) {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    for (a, b, c) in half_planes(octagon) {
        // left = (s - d) / 2, right = (s + d) / 2.
        let (of_sum, of_difference) = ((a + b) / 2.0, (b - a) / 2.0);
        let (given, free) = if sum_fixed {
            (of_sum, of_difference)
        } else {
            (of_difference, of_sum)
        };
        let rest = c - given * fixed;
        if free > 0.0 {
            high = high.min(rest / free);
        } else if free < 0.0 {
            low = low.max(rest / free);
        }
    }
    (low, high)
}

fn strict(question: &Question<f64>, sum_first: bool) -> Option<PerSide<f64>> {
    let demand = &question.demand;
    let wish = (
        demand.rear_torque_nm,
        demand.yaw_moment_nm / demand.moment_per_difference,
    );
    let (first, second) = if sum_first { wish } else { (wish.1, wish.0) };
    let (low, high) = reach(&question.octagon, sum_first)?;
    let first = first.max(low).min(high);
    let (low, high) = cut(&question.octagon, first, sum_first);
    let second = second.max(low).min(high);
    let (sum, difference) = if sum_first {
        (first, second)
    } else {
        (second, first)
    };
    Some(PerSide {
        left: (sum - difference) / 2.0,
        right: (sum + difference) / 2.0,
    })
}

fn proportional(question: &Question<f64>) -> PerSide<f64> {
    let (demand, octagon) = (&question.demand, &question.octagon);
    let difference = demand.yaw_moment_nm / demand.moment_per_difference;
    let edge = |span: NamedSpan<f64>, value: f64| value.max(span.low.value).min(span.high.value);
    let left = edge(octagon.left, (demand.rear_torque_nm - difference) / 2.0);
    let right = edge(octagon.right, (demand.rear_torque_nm + difference) / 2.0);
    let share = |span: NamedSpan<f64>, value: f64| {
        let there = edge(span, value);
        if there == value {
            1.0
        } else if value == 0.0 {
            0.0
        } else {
            (there / value).max(0.0)
        }
    };
    let factor = share(octagon.sum, left + right).min(share(octagon.difference, right - left));
    PerSide {
        left: left * factor,
        right: right * factor,
    }
}

fn near(one: PerSide<f64>, other: PerSide<f64>) -> bool {
    (one.left - other.left).abs() < 1e-6 && (one.right - other.right).abs() < 1e-6
}

#[test]
fn both_laws_answer_what_corners_cuts_and_one_factor_give() {
    let (mut asked, mut moved) = (0, 0);
    for number in 0..3_000 {
        for kind in [
            Kind::Plain,
            Kind::BoxAndTotal,
            Kind::Straddling,
            Kind::ZeroWidth,
        ] {
            let mut question = wide(&question_of(kind, number));
            if number % 3 == 0 {
                // Spans that leave zero outside, which the axle never has.
                let high = question.octagon.sum.high.value;
                question.octagon.sum.low.value = high - 0.4 * high.abs();
                question.octagon.difference.high.value *= 0.25;
                question.octagon.difference.low.value =
                    (-100.0_f64).min(question.octagon.difference.high.value);
            }
            if number % 7 == 0 {
                question.octagon.difference.low.value =
                    50.0_f64.min(question.octagon.difference.high.value);
            }
            let given = ProportionalSplit.allocate(&question);
            assert!(
                near(given, proportional(&question)),
                "{given:?} {question:?}"
            );
            if !consistent(&question.octagon) {
                continue;
            }
            for (law, sum_first) in [
                (StrictPriority::RearTorqueFirst, true),
                (StrictPriority::YawMomentFirst, false),
            ] {
                let given = law.allocate(&question);
                let expected = strict(&question, sum_first).expect("a corner");
                assert!(
                    near(given, expected),
                    "{law:?} {given:?} {expected:?} {question:?}"
                );
                asked += 1;
                let free = question.demand.rear_torque_nm;
                moved += u32::from((given.sum() - free).abs() > 1.0);
            }
        }
    }
    assert!(asked > 10_000 && moved > 2_000, "{asked} {moved}");
}

#[test]
fn where_rounding_crosses_the_ends_of_a_single_point_its_middle_is_taken() {
    // 300 and 0 on the wheels leave one sum; the sum's own span ends a little below and is crossed by it.
    let point = |value: f64| NamedSpan::new(value, value, Limit::Rate);
    let question = Question {
        demand: Demand {
            rear_torque_nm: 0.0,
            yaw_moment_nm: 0.0,
            moment_per_difference: 2.0,
            ..Demand::default()
        },
        previous_nm: PerSide::both(0.0),
        octagon: Octagon {
            left: point(300.0),
            right: point(0.0),
            sum: NamedSpan::new(-299.0, 299.0, Limit::MasterCap),
            difference: NamedSpan::new(-900.0, 900.0, Limit::YawLimit),
        },
    };
    let given = StrictPriority::RearTorqueFirst.allocate(&question);
    // Between 300 and 299 the sum is 299.5; then the difference lies between 299.5 - 600 and 0 - 299.5.
    assert_eq!(
        given,
        PerSide {
            left: 299.75,
            right: -0.25
        }
    );
}

#[test]
fn a_lever_of_nothing_wishes_no_difference_and_a_wish_that_is_no_number_stays_none() {
    let open = NamedSpan::new(-900.0, 900.0, Limit::Capacity);
    let mut question = Question {
        demand: Demand {
            rear_torque_nm: 400.0,
            yaw_moment_nm: 500.0,
            moment_per_difference: 0.0,
            ..Demand::default()
        },
        previous_nm: PerSide::both(0.0),
        octagon: Octagon {
            left: open,
            right: open,
            sum: open,
            difference: open,
        },
    };
    assert_eq!(ProportionalSplit.allocate(&question), PerSide::both(200.0));
    for law in [
        StrictPriority::RearTorqueFirst,
        StrictPriority::YawMomentFirst,
    ] {
        assert_eq!(law.allocate(&question), PerSide::both(200.0));
    }
    question.demand.moment_per_difference = 2.0;
    assert_eq!(
        ProportionalSplit.allocate(&question),
        PerSide {
            left: 75.0,
            right: 325.0
        }
    );
    question.demand.rear_torque_nm = f64::NAN;
    question.demand.yaw_moment_nm = f64::NAN;
    let answer = ProportionalSplit.answer(&question);
    assert_eq!(answer.torque_nm, PerSide::both(0.0));
    assert_eq!(answer.shortfall_nm, PerSide::both(0.0));
}
