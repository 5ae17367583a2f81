//! Each answer of the arbiter meets the conditions of optimality, judged without rounding.
//!
//! Random and degenerate questions in `f32` (invented, see the family), a judge in exact arithmetic. 20,000 questions in
//! the gate; `ARBITER_CASES=1000000` for the long run, which `.ci/deep` does and the arbiter's page records.

mod arbiter_kit;

use arbiter_kit::family::{Kind, question};
use arbiter_kit::judge::residual_nm;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{
    Allocate, Question, StrictPriority, project, resolve, solve,
};

/// Promise, Nm.
const PROMISED_NM: f64 = 1.0e-3;

/// From this size |TL| + |TR| the law answers in 64 bits and rounds once.
const LARGE_NM: f32 = 4096.0;

/// From this size a step of `f32` is 2e-3 Nm, so the nearest `f32` may be a thousandth off: [`STEPS_OF_LARGE`] hold instead.
const COARSE_NM: f32 = 16_384.0;

/// What is promised of large answers, in steps of `f32` at their size: half a step for the one rounding; a tenth more for the
/// judge, who widens bounds that miss each other by a rounding.
const STEPS_OF_LARGE: f64 = 0.6;

fn cases() -> u64 {
    match std::env::var("ARBITER_CASES") {
        Ok(number) => number.parse().expect("ARBITER_CASES is a whole number"),
        Err(_) => 20_000,
    }
}

/// What one answer is worth.
struct Verdict {
    residual_nm: f64,
    /// By how much resolved bounds still contradict each other, Nm; twice the least at most.
    gap_nm: f64,
}

/// Judges a torque. Bounds that were made to touch may miss each other by a rounding, and then no point is in all of
/// them: the judge widens sum and difference until there is one.
fn judged(question: &Question<f32>, torque_nm: PerSide<f32>) -> Verdict {
    let (octagon, _) = resolve(&question.octagon);
    let mut gap_nm = 0.0;
    loop {
        if let Some(residual_nm) = residual_nm(question, &octagon, torque_nm, gap_nm) {
            return Verdict {
                residual_nm,
                gap_nm,
            };
        }
        gap_nm = (2.0 * gap_nm).max(1.0e-6);
        assert!(
            gap_nm < 1.0,
            "resolved bounds without a point: {question:?}"
        );
    }
}

/// The step of `f32` at the larger of torque, sum and difference, Nm.
fn step_nm(torque: PerSide<f32>) -> f64 {
    let size = size_nm(torque);
    f64::from(f32::from_bits(size.to_bits() + 1) - size)
}

/// The larger of torque, sum and difference, Nm; it is the size of both torques.
fn size_nm(torque: PerSide<f32>) -> f32 {
    torque.left.abs() + torque.right.abs()
}

#[test]
fn every_answer_is_optimal_to_a_thousandth_of_a_newton_metre() {
    #[derive(Default)]
    struct Row {
        judged: u64,
        contradicting: u64,
        gaps: u64,
        gap_nm: f64,
        worst_nm: f64,
        worst: u64,
        large: u64,
        large_over: u64,
        large_worst_nm: f64,
        smallest_over_nm: Option<f32>,
        large_steps: f64,
    }
    for kind in Kind::ALL {
        let mut row = Row::default();
        for number in (0..cases()).filter(|&number| Kind::of(number) == kind) {
            let question = question(number);
            let answer = solve(&question);
            let torque = answer.torque_nm;
            assert!(
                torque.left.is_finite() && torque.right.is_finite(),
                "no answer to {number}: {question:?}"
            );
            let verdict = judged(&question, torque);
            row.judged += 1;
            row.contradicting += u64::from(resolve(&question.octagon).0 != question.octagon);
            row.gaps += u64::from(verdict.gap_nm > 0.0);
            row.gap_nm = row.gap_nm.max(verdict.gap_nm);
            let size = size_nm(torque);
            if verdict.residual_nm > PROMISED_NM {
                let smallest = row.smallest_over_nm.map_or(size, |old| old.min(size));
                row.smallest_over_nm = Some(smallest);
            }
            if size < LARGE_NM {
                if verdict.residual_nm > row.worst_nm {
                    (row.worst_nm, row.worst) = (verdict.residual_nm, number);
                }
            } else {
                row.large += 1;
                row.large_over += u64::from(verdict.residual_nm > PROMISED_NM);
                row.large_worst_nm = row.large_worst_nm.max(verdict.residual_nm);
                row.large_steps = row.large_steps.max(verdict.residual_nm / step_nm(torque));
            }
        }
        println!(
            "{kind:?}: {} judged, worst {:.2e} Nm (number {}); {} contradicting, {} with a gap, largest {:.2e} Nm; \
             large: {}, above the promise {}, worst {:.2e} Nm, {:.2} steps, smallest {:?} Nm",
            row.judged,
            row.worst_nm,
            row.worst,
            row.contradicting,
            row.gaps,
            row.gap_nm,
            row.large,
            row.large_over,
            row.large_worst_nm,
            row.large_steps,
            row.smallest_over_nm
        );
        assert!(row.judged > 0);
        assert!(row.worst_nm <= PROMISED_NM, "{kind:?}: {:e}", row.worst_nm);
        assert!(row.large_steps <= STEPS_OF_LARGE, "{}", row.large_steps);
        assert!(kind == Kind::ExtremeScales || row.large_over == 0);
        let smallest = row.smallest_over_nm.unwrap_or(f32::INFINITY);
        assert!(smallest >= COARSE_NM, "{smallest} Nm above the promise");
    }
}

#[test]
fn the_judge_sees_a_hundredth_of_a_newton_metre_and_every_wrong_law() {
    let mut worst_of_moved = f64::INFINITY;
    let (mut clipped_nm, mut other_nm) = (0.0_f64, 0.0_f64);
    for number in 0..2_000 {
        if !matches!(Kind::of(number), Kind::Plain | Kind::BoxAndTotal) {
            continue;
        }
        let question = question(number);
        let answer = solve(&question);
        let moved = PerSide {
            left: answer.torque_nm.left + 0.01,
            right: answer.torque_nm.right,
        };
        worst_of_moved = worst_of_moved.min(judged(&question, moved).residual_nm);
        let (clipped, _) = project(&question.octagon, answer.unconstrained_nm);
        clipped_nm = clipped_nm.max(judged(&question, clipped).residual_nm);
        let (other, _) = project(
            &question.octagon,
            StrictPriority::RearTorqueFirst.allocate(&question),
        );
        other_nm = other_nm.max(judged(&question, other).residual_nm);
    }
    println!("moved by 0.01: at least {worst_of_moved:e}; clipped {clipped_nm}, other {other_nm}");
    // A move of one wheel changes sum and difference alike: the steeper of the two answers with half of it.
    assert!(worst_of_moved > 4.0e-3, "{worst_of_moved:e}");
    assert!(clipped_nm > 10.0 && other_nm > 10.0);
}

#[test]
fn the_judge_agrees_with_an_optimum_worked_out_by_hand() {
    use couplet_controller::signal::Limit;
    use couplet_controller::stage::arbiter::Demand;
    let wide = NamedSpan::new(-4.0, 4.0, Limit::Capacity);
    let question = Question::<f32> {
        demand: Demand {
            rear_torque_nm: 6.0,
            yaw_moment_nm: 2.0,
            weight_rear_torque: 1.0,
            weight_yaw_moment: 1.0,
            weight_change: 0.5,
            heat_price: PerSide {
                left: 4.0,
                right: 0.0,
            },
            moment_per_difference: 1.0,
        },
        previous_nm: PerSide::both(0.0),
        octagon: Octagon {
            left: wide,
            right: wide,
            sum: NamedSpan::new(-3.0, 3.0, Limit::MasterCap),
            difference: wide,
        },
    };
    // A = B = 1 + 0.25; s0 = 6/1.25 = 4.8, clipped to 3; d0 = 2/1.25 = 1.6, moved by the price to 1.6 + 4/(4 * 1.25) = 2.4.
    // Torques (3 -+ 2.4)/2 = 0.3 and 2.7, both driving as assumed.
    let answer = solve(&question).torque_nm;
    assert!((answer.left - 0.3).abs() < 1.0e-6 && (answer.right - 2.7).abs() < 1.0e-6);
    assert!(judged(&question, answer).residual_nm < 1.0e-6);
    // One Nm along the total costs nothing of it: L = 4 * 1.25, slope of the left wheel there 2 * 1.25 * 2: a step of 1.
    let beside = PerSide {
        left: -0.7,
        right: 3.7,
    };
    let residual = judged(&question, beside).residual_nm;
    assert!(residual > 0.5, "{residual}");
}
