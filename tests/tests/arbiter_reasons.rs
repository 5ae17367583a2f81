//! The names and prices of an answer's bounds are what giving way by a little would save.
//!
//! Source: the page of `stage/arbiter/reason.rs`: a multiplier is the cost saved per Nm that the bound would give way. Each of the eight ends
//! has a name of its own here and is moved outwards by a thousandth of a newton metre; the cost is the formula of the arbiter's page.

mod arbiter_kit;

use arbiter_kit::family::{Kind, question_of};
use arbiter_kit::wide::wide;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{
    Allocate, Binding, Demand, LARGEST, ProportionalSplit, Question, optimality_residual_nm, solve,
};

/// How far an end is moved, Nm.
const MOVED_NM: f64 = 1.0e-3;

const NAMES: [(Limit, Limit); 4] = [
    (Limit::Rate, Limit::Capacity),
    (Limit::SurfaceHeat, Limit::CoreHeat),
    (Limit::Propshaft, Limit::WindUp),
    (Limit::YawLimit, Limit::Friction),
];

fn spans(octagon: &mut Octagon<f64>) -> [&mut NamedSpan<f64>; 4] {
    [
        &mut octagon.left,
        &mut octagon.right,
        &mut octagon.sum,
        &mut octagon.difference,
    ]
}

fn cost(question: &Question<f64>, torque: PerSide<f64>) -> f64 {
    let demand = &question.demand;
    let off = torque.left + torque.right - demand.rear_torque_nm;
    let turned = (torque.right - torque.left) * demand.moment_per_difference - demand.yaw_moment_nm;
    let change = (
        torque.left - question.previous_nm.left,
        torque.right - question.previous_nm.right,
    );
    demand.weight_rear_torque * off * off
        + demand.weight_yaw_moment * turned * turned
        + demand.weight_change * (change.0 * change.0 + change.1 * change.1)
        + demand.heat_price.left * torque.left.abs()
        + demand.heat_price.right * torque.right.abs()
}

/// What each end would save per Nm, the dearest first.
fn savings(question: &Question<f64>, torque: PerSide<f64>) -> Vec<(Limit, f64)> {
    let before = cost(question, torque);
    let mut all = Vec::new();
    for (place, (low, high)) in NAMES.iter().enumerate() {
        for (upwards, name) in [(false, *low), (true, *high)] {
            let mut wider = *question;
            let span = &mut *spans(&mut wider.octagon)[place];
            if upwards {
                span.high.value += MOVED_NM;
            } else {
                span.low.value -= MOVED_NM;
            }
            let after = cost(question, solve(&wider).torque_nm);
            all.push((name, (before - after) / MOVED_NM));
        }
    }
    all.retain(|(_, saved)| *saved > 0.1);
    all.sort_by(|one, other| other.1.total_cmp(&one.1));
    all
}

#[test]
fn every_bound_named_would_save_its_price_and_no_other_would_save_anything() {
    let (mut two, mut one, mut none) = (0, 0, 0);
    for number in 0..1_500 {
        for kind in [Kind::Plain, Kind::Straddling, Kind::BoxAndTotal] {
            let mut question = wide(&question_of(kind, number));
            for (span, (low, high)) in spans(&mut question.octagon).into_iter().zip(NAMES) {
                (span.low.by, span.high.by) = (low, high);
            }
            let answer = solve(&question);
            if answer.conflict != Limit::Nothing {
                continue;
            }
            let expected = savings(&question, answer.torque_nm);
            let told: Vec<&Binding<f64>> = answer
                .binding
                .iter()
                .filter(|binding| binding.marginal > 0.1)
                .collect();
            let likeness = told.len() == expected.len()
                && told.iter().zip(&expected).all(|(told, (name, saved))| {
                    told.by == *name && (told.marginal - saved).abs() < 0.05 + 1e-4 * saved
                });
            // Two of nearly the same price may stand in either order, and one near the threshold may be in one list only.
            let clear = expected.windows(2).all(|pair| pair[0].1 - pair[1].1 > 0.2)
                && expected.iter().all(|(_, saved)| *saved > 0.2)
                && answer
                    .binding
                    .iter()
                    .all(|binding| binding.marginal <= 0.0 || binding.marginal > 0.2);
            assert!(likeness || !clear, "{answer:?} {expected:?} {question:?}");
            match expected.len() {
                0 => none += 1,
                1 => one += 1,
                _ => two += 1,
            }
            assert!(optimality_residual_nm(&question, answer.torque_nm) < 1e-6);
        }
    }
    assert!(two > 1_000 && one > 500 && none > 10, "{two} {one} {none}");
}

fn open_question() -> Question<f64> {
    let open = NamedSpan::new(-900.0, 900.0, Limit::Capacity);
    Question {
        demand: Demand {
            rear_torque_nm: 400.0,
            yaw_moment_nm: 0.0,
            weight_rear_torque: 1.0,
            weight_yaw_moment: 0.25,
            moment_per_difference: 2.0,
            ..Demand::default()
        },
        previous_nm: PerSide::both(200.0),
        octagon: Octagon {
            left: open,
            right: open,
            sum: NamedSpan::new(-1_800.0, 1_800.0, Limit::Propshaft),
            difference: NamedSpan::new(-1_800.0, 1_800.0, Limit::YawLimit),
        },
    }
}

#[test]
fn the_residual_is_zero_at_the_optimum_and_the_distance_of_a_plain_bowl_elsewhere() {
    let question = open_question();
    assert!(optimality_residual_nm(&question, PerSide::both(200.0)) < 1e-9);
    // Sum and difference weigh 1 each (0.25 times 2 squared), so the bowl is round and one step leads to its middle.
    let away = PerSide {
        left: 230.0,
        right: 190.0,
    };
    assert!((optimality_residual_nm(&question, away) - 30.0).abs() < 1e-3);
    let none = PerSide {
        left: f64::NAN,
        right: 0.0,
    };
    assert_eq!(optimality_residual_nm(&question, none), f64::from(LARGEST));
}

#[test]
fn a_law_without_reasons_gets_its_shortfall_from_the_projection_and_the_conflict_by_name() {
    let mut question = open_question();
    let inside = ProportionalSplit.answer(&question);
    assert_eq!(inside.torque_nm, PerSide::both(200.0));
    assert_eq!(inside.unconstrained_nm, PerSide::both(200.0));
    assert_eq!(inside.shortfall_nm, PerSide::both(0.0));
    // The law itself knows the octagon; a floor beyond the sum's cap it does not.
    question.octagon.sum = NamedSpan::new(-300.0, 300.0, Limit::MasterCap);
    question.octagon.left = NamedSpan::new(250.0, 900.0, Limit::Rate);
    question.octagon.right = NamedSpan::new(250.0, 900.0, Limit::Rate);
    let answer = ProportionalSplit.answer_and_resolve(&mut question);
    assert_eq!(answer.conflict, Limit::Rate);
    assert_eq!(answer.torque_nm, PerSide::both(150.0));
    assert_eq!(question.octagon.left.low.value, 150.0);
    assert_eq!(question.octagon.right.low.value, 150.0);
    // Sound bounds are left as they are and lose nothing.
    let mut question = open_question();
    let before = question.octagon;
    assert_eq!(
        ProportionalSplit.answer_and_resolve(&mut question).conflict,
        Limit::Nothing
    );
    assert_eq!(question.octagon, before);
}
