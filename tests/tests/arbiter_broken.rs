//! Broken questions to the arbiter one number at a time: what is too large, infinite or none asks for nothing and allows nothing.
//!
//! Source: the pages of `stage/arbiter/mod.rs` (a demand with a broken number asks for nothing; `LARGEST`) and of
//! `stage/arbiter/conflict.rs` (rule 1: a broken span of a wheel takes that wheel's torque, one of sum or difference both).

use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{
    Allocate, Demand, Exact, LARGEST, Question, project, resolve, solve,
};

/// Wheels that drive only, or that may drive and brake.
fn question(straddles: bool) -> Question<f32> {
    let low = if straddles { -500.0 } else { 0.0 };
    let wheel = NamedSpan::new(low, 500.0, Limit::Capacity);
    Question {
        demand: Demand {
            rear_torque_nm: 400.0,
            yaw_moment_nm: 100.0,
            weight_rear_torque: 1.0,
            weight_yaw_moment: 0.25,
            weight_change: 0.01,
            heat_price: PerSide::both(1.0),
            moment_per_difference: 2.0,
        },
        previous_nm: PerSide::both(150.0),
        octagon: Octagon {
            left: wheel,
            right: wheel,
            sum: NamedSpan::new(-900.0, 900.0, Limit::Propshaft),
            difference: NamedSpan::new(-800.0, 800.0, Limit::YawLimit),
        },
    }
}

fn numbers(question: &mut Question<f32>) -> [&mut f32; 10] {
    let demand = &mut question.demand;
    [
        &mut demand.rear_torque_nm,
        &mut demand.yaw_moment_nm,
        &mut question.previous_nm.left,
        &mut question.previous_nm.right,
        &mut demand.weight_rear_torque,
        &mut demand.weight_yaw_moment,
        &mut demand.weight_change,
        &mut demand.heat_price.left,
        &mut demand.heat_price.right,
        &mut demand.moment_per_difference,
    ]
}

fn ends(octagon: &mut Octagon<f32>) -> [&mut f32; 8] {
    [
        &mut octagon.left.low.value,
        &mut octagon.left.high.value,
        &mut octagon.right.low.value,
        &mut octagon.right.high.value,
        &mut octagon.sum.low.value,
        &mut octagon.sum.high.value,
        &mut octagon.difference.low.value,
        &mut octagon.difference.high.value,
    ]
}

#[test]
fn each_number_of_a_demand_that_is_too_large_negative_or_none_asks_for_nothing() {
    for straddles in [false, true] {
        assert!(Exact.allocate(&question(straddles)).sum() > 300.0);
        for place in 0..10 {
            for broken in [2.0 * LARGEST, f32::INFINITY, f32::NAN, -2.0 * LARGEST, -1.0] {
                // Torques and moments may be negative.
                if place < 4 && broken == -1.0 {
                    continue;
                }
                let mut question = question(straddles);
                *numbers(&mut question)[place] = broken;
                assert_eq!(
                    Exact.allocate(&question),
                    PerSide::both(0.0),
                    "{place} {broken}"
                );
                assert_eq!(
                    solve(&question).torque_nm,
                    PerSide::both(0.0),
                    "{place} {broken}"
                );
            }
        }
    }
    // Two thirds of the largest twice are too much together, whichever two they are.
    for (one, other) in [
        (0, 1),
        (2, 3),
        (4, 5),
        (6, 9),
        (7, 8),
        (0, 4),
        (2, 6),
        (0, 7),
        (1, 2),
    ] {
        let mut question = question(false);
        *numbers(&mut question)[one] = 0.67 * LARGEST;
        *numbers(&mut question)[other] = 0.67 * LARGEST;
        assert_eq!(
            Exact.allocate(&question),
            PerSide::both(0.0),
            "{one} {other}"
        );
    }
}

#[test]
fn each_end_that_is_infinite_or_none_takes_the_torque_of_its_wheel_or_of_both() {
    for straddles in [false, true] {
        for place in 0..8 {
            for broken in [f32::INFINITY, f32::NEG_INFINITY, f32::NAN] {
                let mut question = question(straddles);
                *ends(&mut question.octagon)[place] = broken;
                let answer = solve(&question).torque_nm;
                let moved = project(&question.octagon, PerSide::both(100.0)).0;
                let (left, right) = (!(0..2).contains(&place) && place < 4, place < 2);
                let told = format!("{straddles} {place} {broken}: {answer:?} {moved:?}");
                assert_eq!(answer.left > 0.0, left, "{told}");
                assert_eq!(answer.right > 0.0, right, "{told}");
                let expected = PerSide {
                    left: if left { 100.0 } else { 0.0 },
                    right: if right { 100.0 } else { 0.0 },
                };
                assert_eq!(moved, expected, "{told}");
                assert!(answer.left >= 0.0 && answer.right >= 0.0, "{told}");
            }
        }
    }
}

#[test]
fn ends_beyond_the_largest_count_as_the_largest_and_move_no_answer() {
    for straddles in [false, true] {
        let expected = solve(&question(straddles)).torque_nm;
        for place in 0..8 {
            let mut question = question(straddles);
            let outwards = if place % 2 == 0 { -1.0 } else { 1.0 };
            // A floor of nothing stays: a wheel that only drives has no lower end to move.
            if !straddles && (place == 0 || place == 2) {
                continue;
            }
            *ends(&mut question.octagon)[place] = outwards * 20.0 * LARGEST;
            let answer = solve(&question).torque_nm;
            assert!((answer.left - expected.left).abs() < 1e-2, "{place}");
            assert!((answer.right - expected.right).abs() < 1e-2, "{place}");
            let (resolved, conflict) = resolve(&question.octagon);
            assert_eq!(conflict, Limit::Nothing);
            let mut resolved = resolved;
            assert!(ends(&mut resolved)[place].abs() <= LARGEST);
        }
    }
}

#[test]
fn a_torque_inside_keeps_its_bits_however_wide_the_bounds_or_large_the_torque() {
    for width in [500.0, 5_000.0, 0.9 * LARGEST, 1.2 * LARGEST] {
        let span = NamedSpan::new(-width, width, Limit::Capacity);
        let octagon = Octagon {
            left: span,
            right: span,
            sum: span,
            difference: span,
        };
        for share in [0.0, 0.1, 0.4] {
            let torque = PerSide {
                left: share * width,
                right: -0.5 * share * width,
            };
            assert_eq!(
                project(&octagon, torque),
                (torque, false),
                "{width} {share}"
            );
        }
        // Outside on one wheel, and outside in sum or difference only.
        let (moved, has) = project(
            &octagon,
            PerSide {
                left: 3.0 * width,
                right: 0.0,
            },
        );
        assert!(
            has && moved.right == 0.0 && moved.left == width.min(LARGEST),
            "{width} {moved:?}"
        );
        if width < 1_000.0 {
            let (moved, has) = project(&octagon, PerSide::both(400.0));
            assert!(has && moved == PerSide::both(250.0), "{moved:?}");
            let (moved, has) = project(
                &octagon,
                PerSide {
                    left: -400.0,
                    right: 400.0,
                },
            );
            assert!(
                has && moved
                    == PerSide {
                        left: -250.0,
                        right: 250.0
                    },
                "{moved:?}"
            );
        }
        let none = PerSide {
            left: 1.0,
            right: f32::NAN,
        };
        assert_eq!(project(&octagon, none), (PerSide::both(0.0), true));
    }
}
