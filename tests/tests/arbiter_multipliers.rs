//! A binding bound is named, and its marginal value is what a Newton metre of it is worth.
//!
//! Two outside checks: the least cost is worked out again with the bound moved a little (finite difference, in f64, questions
//! of one decade of weights), and the multipliers balance the slope of the cost without rounding. Questions are invented.

mod arbiter_kit;

use arbiter_kit::dyadic::Dyadic;
use arbiter_kit::family::{Kind, question_of};
use arbiter_kit::judge::{exactly, gradient};
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Answer, Demand, Question, resolve, solve};

/// A name for each of the eight ends, all of the last rank: so a name tells the end.
const ENDS: [Limit; 8] = [
    Limit::SlipDirection,
    Limit::Capacity,
    Limit::ColdOil,
    Limit::Friction,
    Limit::Propshaft,
    Limit::WindUp,
    Limit::YawLimit,
    Limit::KinematicLock,
];

/// A bound is moved this far, Nm.
const MOVED_NM: f64 = 1.0e-3;

fn spans<S>(octagon: &mut Octagon<S>) -> [&mut NamedSpan<S>; 4] {
    [
        &mut octagon.left,
        &mut octagon.right,
        &mut octagon.sum,
        &mut octagon.difference,
    ]
}

/// A question without contradiction, whose ends have names of their own.
fn named(kind: Kind, number: u64) -> Option<Question<f32>> {
    let mut question = question_of(kind, number);
    if resolve(&question.octagon).1 != Limit::Nothing {
        return None;
    }
    for (index, span) in spans(&mut question.octagon).into_iter().enumerate() {
        span.low.by = ENDS[2 * index];
        span.high.by = ENDS[2 * index + 1];
    }
    Some(question)
}

fn double(question: &Question<f32>) -> Question<f64> {
    let number = f64::from;
    let span = |span: NamedSpan<f32>| {
        let mut wide = NamedSpan::new(number(span.low.value), number(span.high.value), span.low.by);
        wide.high.by = span.high.by;
        wide
    };
    let (demand, octagon) = (question.demand, question.octagon);
    Question {
        demand: Demand {
            rear_torque_nm: number(demand.rear_torque_nm),
            yaw_moment_nm: number(demand.yaw_moment_nm),
            weight_rear_torque: number(demand.weight_rear_torque),
            weight_yaw_moment: number(demand.weight_yaw_moment),
            weight_change: number(demand.weight_change),
            heat_price: demand.heat_price.map(number),
            moment_per_difference: number(demand.moment_per_difference),
        },
        previous_nm: question.previous_nm.map(number),
        octagon: Octagon {
            left: span(octagon.left),
            right: span(octagon.right),
            sum: span(octagon.sum),
            difference: span(octagon.difference),
        },
    }
}

/// The cost as the page of the arbiter writes it.
fn cost(question: &Question<f64>, torque: PerSide<f64>) -> f64 {
    let demand = &question.demand;
    let square = |value: f64| value * value;
    let (left, right) = (torque.left, torque.right);
    demand.weight_rear_torque * square(left + right - demand.rear_torque_nm)
        + demand.weight_yaw_moment
            * square((right - left) * demand.moment_per_difference - demand.yaw_moment_nm)
        + demand.weight_change
            * (square(left - question.previous_nm.left)
                + square(right - question.previous_nm.right))
        + demand.heat_price.left * left.abs()
        + demand.heat_price.right * right.abs()
}

/// The least cost with one end moved outwards by `by` Nm.
fn least_cost(question: &Question<f64>, end: usize, by: f64) -> f64 {
    let mut moved = *question;
    let span = &mut spans(&mut moved.octagon)[end / 2];
    if end.is_multiple_of(2) {
        span.low.value -= by;
    } else {
        span.high.value += by;
    }
    let answer = solve(&moved);
    if answer.conflict == Limit::Nothing {
        cost(question, answer.torque_nm)
    } else {
        // Nothing is left inside: no cost is low enough.
        f64::INFINITY
    }
}

#[test]
fn a_marginal_value_is_the_cost_saved_per_newton_metre() {
    let mut inexact = 0;
    let (mut compared, mut at_kinks, mut at_corners, mut worst) = (0, 0, 0, 0.0_f64);
    let mut seen = [0; 8];
    for kind in [Kind::Plain, Kind::Straddling] {
        for number in 0..20_000 {
            let Some(question) = named(kind, number).map(|question| double(&question)) else {
                continue;
            };
            let answer = solve(&question);
            for (end, name) in ENDS.iter().enumerate() {
                let told = answer.binding.iter().find(|binding| binding.by == *name);
                let marginal = told.map_or(0.0, |binding| binding.marginal);
                let here = cost(&question, answer.torque_nm);
                // The least cost is convex in the bound: what the next Nm saves is no more than what the last one did.
                let next = (here - least_cost(&question, end, MOVED_NM)) / MOVED_NM;
                let last = (least_cost(&question, end, -MOVED_NM) - here) / MOVED_NM;
                // Costs reach 1e7, of which f64 keeps 2e-9; 4e-6 per Nm after the quotient, twice for two costs. The
                // curvature along a bound is at most 4 (A + B) = 50: 0.05 per step.
                let rounding = 1.0e-5;
                assert!(
                    next - rounding <= marginal && marginal <= last + rounding,
                    "{kind:?} {number} {name:?}: told {marginal}, next {next}, last {last}"
                );
                if told.is_none() {
                    continue;
                }
                seen[end] += 1;
                if last == f64::INFINITY {
                    // A span without width: only one of its ends can be moved.
                    continue;
                }
                if last - next > 0.11 {
                    // The price's kink at zero torque: what counts is what giving way would save.
                    if (marginal - next).abs() < 0.11 {
                        at_kinks += 1;
                    } else {
                        // Three bounds meet within a thousandth of a Nm: multipliers are not unique.
                        at_corners += 1;
                    }
                    continue;
                }
                compared += 1;
                let off = (marginal - 0.5 * (next + last)).abs();
                worst = worst.max(off);
                // The cost is quadratic there: the middle of both differences is exact but for rounding.
                inexact += u32::from(off > 2.0e-5);
            }
        }
    }
    println!(
        "{compared} compared, {inexact} beside small kinks, worst {worst:e} per Nm, {at_kinks} at kinks, {at_corners} at corners, by end {seen:?}"
    );
    assert!(compared > 20_000 && at_corners < compared / 500);
    assert!(seen.iter().all(|&count| count > 50), "{seen:?}");
    // A kink of a price too small to be told from a curve moves the middle by less than what tells them apart.
    assert!(
        inexact < compared / 500 && worst < 0.055,
        "{inexact} {worst:e}"
    );
}

/// What the multipliers leave of the slope, in shares of what is forgiven: a thousandth of a Nm of torque (slope over the
/// largest curvature), and four steps of `f32` of the multipliers themselves.
fn unbalanced(question: &Question<f32>, answer: &Answer<f32>) -> f64 {
    let torque = exactly(answer.torque_nm);
    let (mut slope, curvature) = gradient(question, &torque);
    let outward = [[1.0, 0.0], [0.0, 1.0], [1.0, 1.0], [-1.0, 1.0]];
    for binding in answer.binding {
        let Some(end) = ENDS.iter().position(|name| *name == binding.by) else {
            assert_eq!((binding.by, binding.marginal), (Limit::Nothing, 0.0));
            continue;
        };
        let way = if end.is_multiple_of(2) { -1.0 } else { 1.0 };
        for (side, part) in slope.iter_mut().zip(outward[end / 2]) {
            *side = &*side + &(&Dyadic::single(binding.marginal) * &Dyadic::of(way * part));
        }
    }
    let multipliers = answer.binding.iter().map(|binding| binding.marginal);
    let step = f64::from(f32::EPSILON) * f64::from(multipliers.sum::<f32>());
    let forgiven = &(&curvature * &Dyadic::of(1.0e-3)) + &Dyadic::of(4.0 * step);
    let price = question.demand.heat_price;
    let left_over = |slope: &Dyadic, torque: f32, price: f32| {
        let price = Dyadic::single(price);
        if torque == 0.0 {
            (&slope.size() - &price).most(Dyadic::zero())
        } else {
            (slope + &(&price * &Dyadic::of(f64::from(torque.signum())))).size()
        }
    };
    left_over(&slope[0], answer.torque_nm.left, price.left)
        .most(left_over(&slope[1], answer.torque_nm.right, price.right))
        .ratio(&forgiven)
}

#[test]
fn multipliers_balance_the_slope_of_the_cost_without_rounding() {
    let (mut worst, mut held, mut free) = (0.0_f64, 0, 0);
    for kind in [
        Kind::BoxAndTotal,
        Kind::Plain,
        Kind::Straddling,
        Kind::ZeroWeights,
    ] {
        for number in 0..5_000 {
            let Some(question) = named(kind, number) else {
                continue;
            };
            let answer = solve(&question);
            worst = worst.max(unbalanced(&question, &answer));
            if answer.binding[0].by == Limit::Nothing {
                free += 1;
                assert_eq!(answer.shortfall_nm, PerSide::both(0.0), "{question:?}");
                assert_eq!(answer.unconstrained_nm, answer.torque_nm);
            } else {
                held += 1;
            }
        }
    }
    println!("{held} held, {free} free, worst {worst:.2} of what is forgiven");
    assert!(held > 5_000 && free > 200);
    assert!(worst < 1.0, "{worst}");
}
