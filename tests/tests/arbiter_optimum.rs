//! The arbiter's answers are optimal, mirrored to the bit, and give true reasons.
//!
//! The judge shares nothing with the arbiter: it works in f64 on left and right, and searches along the eight
//! directions an octagon's edges can have. On a polygon with such edges and kinks at zero torque, a convex cost cannot be
//! lowered at all if and only if it cannot be lowered along one of these eight directions.
//! Random instances are invented: capacities 300 to 1,500 Nm, rates 20 to 600 Nm per step, sum caps 200 to 3,000 Nm,
//! weights log-uniform over one and a half decades, spans of one sign, of no width, and straddling zero.

use couplet_controller::numerics::{Fast, Scalar};
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{
    Allocate, Answer, Demand, Exact, Question, optimality_residual_nm, project, resolve, solve,
};

const INSTANCES: u64 = 100_000;
/// f64 leaves about 1e-12 Nm at 1e3 Nm; three orders of room for badly scaled weights.
const TOLERANCE_F64_NM: f64 = 1.0e-9;
/// f32 resolves 1.2e-4 Nm at 2,000 Nm; the rest is cancellation between weights up to 1:300 apart.
const TOLERANCE_F32_NM: f64 = 1.0e-3;

struct Chance(u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    fn log_between(&mut self, low: f64, high: f64) -> f64 {
        libm::exp(self.between(libm::log(low), libm::log(high)))
    }
}

/// All numbers are f32, so that both instances of the law see exactly the same question.
fn instance(seed: u64) -> Question<f32> {
    let chance = &mut Chance(seed.wrapping_mul(0xD134_2543_DE82_EF95));
    let mut wheel = |previous: &mut f32| {
        let capacity = chance.between(300.0, 1500.0) as f32;
        let rate = chance.between(20.0, 600.0) as f32;
        let kind = chance.unit();
        let mut span = if kind < 0.45 {
            NamedSpan::new(0.0, capacity, Limit::Capacity)
        } else if kind < 0.65 {
            NamedSpan::new(-capacity, 0.0, Limit::Capacity)
        } else if kind < 0.75 {
            NamedSpan::new(0.0, 0.0, Limit::SlipDirection)
        } else {
            NamedSpan::new(-capacity * chance.unit() as f32, capacity, Limit::Capacity)
        };
        *previous = span.low.value + (span.high.value - span.low.value) * chance.unit() as f32;
        span.lower_high(*previous + rate, Limit::Rate);
        span.raise_low(*previous - rate, Limit::Rate);
        span
    };
    let mut previous_nm = PerSide::both(0.0);
    let left = wheel(&mut previous_nm.left);
    let right = wheel(&mut previous_nm.right);
    let sum_cap = chance.between(200.0, 3000.0) as f32;
    let tilt_cap = chance.between(100.0, 2000.0) as f32;
    let shift = if chance.unit() < 0.3 {
        chance.between(-300.0, 300.0) as f32
    } else {
        0.0
    };
    let mut heat = || {
        if chance.unit() < 0.2 {
            0.0
        } else {
            chance.between(0.0, 100.0) as f32
        }
    };
    let heat_price = PerSide {
        left: heat(),
        right: heat(),
    };
    Question {
        demand: Demand {
            rear_torque_nm: chance.between(-500.0, 2500.0) as f32,
            yaw_moment_nm: chance.between(-1500.0, 1500.0) as f32,
            weight_rear_torque: chance.log_between(0.3, 3.0) as f32,
            weight_yaw_moment: chance.log_between(0.03, 1.0) as f32,
            weight_change: chance.log_between(0.003, 0.1) as f32,
            heat_price,
            moment_per_difference: chance.between(2.0, 3.0) as f32,
        },
        previous_nm,
        octagon: Octagon {
            left,
            right,
            sum: NamedSpan::new(-sum_cap, sum_cap, Limit::MasterCap),
            difference: NamedSpan::new(-tilt_cap + shift, tilt_cap + shift, Limit::YawLimit),
        },
    }
}

fn span_in<S: Scalar>(span: NamedSpan<f32>) -> NamedSpan<S> {
    let mut result = NamedSpan::new(S::of(span.low.value), S::of(span.high.value), span.low.by);
    result.high.by = span.high.by;
    result
}

fn question_in<S: Scalar>(question: &Question<f32>) -> Question<S> {
    let demand = question.demand;
    Question {
        demand: Demand {
            rear_torque_nm: S::of(demand.rear_torque_nm),
            yaw_moment_nm: S::of(demand.yaw_moment_nm),
            weight_rear_torque: S::of(demand.weight_rear_torque),
            weight_yaw_moment: S::of(demand.weight_yaw_moment),
            weight_change: S::of(demand.weight_change),
            heat_price: demand.heat_price.map(S::of),
            moment_per_difference: S::of(demand.moment_per_difference),
        },
        previous_nm: question.previous_nm.map(S::of),
        octagon: Octagon {
            left: span_in(question.octagon.left),
            right: span_in(question.octagon.right),
            sum: span_in(question.octagon.sum),
            difference: span_in(question.octagon.difference),
        },
    }
}

/// Slope of the smooth part of the cost at (left, right).
fn smooth_slope(question: &Question<f64>, at: [f64; 2]) -> [f64; 2] {
    let demand = &question.demand;
    let c = demand.moment_per_difference;
    let sum = 2.0 * demand.weight_rear_torque * (at[0] + at[1] - demand.rear_torque_nm);
    let yaw = 2.0 * demand.weight_yaw_moment * ((at[1] - at[0]) * c - demand.yaw_moment_nm) * c;
    let change = 2.0 * demand.weight_change;
    [
        sum - yaw + change * (at[0] - question.previous_nm.left),
        sum + yaw + change * (at[1] - question.previous_nm.right),
    ]
}

/// Slope of the whole cost along `way`, just after `at`.
fn slope_along(question: &Question<f64>, at: [f64; 2], way: [f64; 2]) -> f64 {
    let smooth = smooth_slope(question, at);
    let price = |price: f64, at: f64, way: f64| {
        if at > 0.0 || (at == 0.0 && way > 0.0) {
            price * way
        } else {
            -price * way
        }
    };
    smooth[0] * way[0]
        + smooth[1] * way[1]
        + price(question.demand.heat_price.left, at[0], way[0])
        + price(question.demand.heat_price.right, at[1], way[1])
}

/// How far one can go downhill from `at` along `way` inside the octagon, Nm per wheel.
fn downhill(question: &Question<f64>, at: [f64; 2], way: [f64; 2]) -> f64 {
    let octagon = &question.octagon;
    let mut end = f64::INFINITY;
    for (span, value, rate) in [
        (octagon.left, at[0], way[0]),
        (octagon.right, at[1], way[1]),
        (octagon.sum, at[0] + at[1], way[0] + way[1]),
        (octagon.difference, at[1] - at[0], way[1] - way[0]),
    ] {
        if rate > 0.0 {
            end = end.min((span.high.value - value) / rate);
        } else if rate < 0.0 {
            end = end.min((span.low.value - value) / rate);
        }
    }
    if end <= 0.0 {
        return 0.0;
    }
    // The slope rises along the way, with jumps where a wheel crosses zero: bisection finds where it changes sign.
    let point = |t: f64| [at[0] + t * way[0], at[1] + t * way[1]];
    if slope_along(question, point(0.0), way) >= 0.0 {
        return 0.0;
    }
    let (mut near, mut far) = (0.0, end);
    for _ in 0..80 {
        let middle = 0.5 * (near + far);
        if slope_along(question, point(middle), way) < 0.0 {
            near = middle;
        } else {
            far = middle;
        }
    }
    far
}

/// How far, in Nm, the torque can still be bettered; how far it lies outside counts too.
fn judged_nm(question: &Question<f64>, torque: PerSide<f64>) -> f64 {
    let at = [torque.left, torque.right];
    let ways = [
        [1.0, 0.0],
        [-1.0, 0.0],
        [0.0, 1.0],
        [0.0, -1.0],
        [1.0, 1.0],
        [-1.0, -1.0],
        [1.0, -1.0],
        [-1.0, 1.0],
    ];
    let octagon = &question.octagon;
    let outside = |span: NamedSpan<f64>, value: f64| {
        (span.low.value - value)
            .max(value - span.high.value)
            .max(0.0)
    };
    let mut worst = outside(octagon.left, at[0])
        .max(outside(octagon.right, at[1]))
        .max(outside(octagon.sum, at[0] + at[1]))
        .max(outside(octagon.difference, at[1] - at[0]));
    for way in ways {
        worst = worst.max(downhill(question, at, way));
    }
    worst
}

fn is_possible(question: &Question<f32>) -> bool {
    resolve(&question.octagon).1 == Limit::Nothing
}

fn worst_over_instances<S: Scalar>(
    law: impl Fn(&Question<S>) -> PerSide<S>,
    exact: impl Fn(S) -> f64,
) -> (f64, u64) {
    let (mut worst, mut judged) = (0.0_f64, 0);
    for seed in 0..INSTANCES {
        let question = instance(seed);
        if !is_possible(&question) {
            continue;
        }
        judged += 1;
        let torque = law(&question_in::<S>(&question));
        worst = worst.max(judged_nm(
            &question_in::<f64>(&question),
            torque.map(&exact),
        ));
    }
    (worst, judged)
}

#[test]
fn double_precision_is_optimal_to_a_billionth() {
    let (worst, judged) =
        worst_over_instances::<f64>(|question| Exact.allocate(question), |value| value);
    println!("f64: worst {worst:e} Nm over {judged} possible of {INSTANCES}");
    assert!(judged > INSTANCES / 2);
    assert!(worst <= TOLERANCE_F64_NM, "{worst:e}");
}

#[test]
fn single_precision_is_optimal_to_a_thousandth() {
    let (worst, judged) =
        worst_over_instances::<f32>(|question| Exact.allocate(question), f64::from);
    println!("f32: worst {worst:e} Nm over {judged} possible of {INSTANCES}");
    assert!(worst <= TOLERANCE_F32_NM, "{worst:e}");
}

#[test]
fn the_fast_instance_is_no_worse_because_the_arbiter_uses_no_transcendental_function() {
    let (worst, _) = worst_over_instances::<Fast>(
        |question| Exact.allocate(question),
        |value| f64::from(value.0),
    );
    assert!(worst <= TOLERANCE_F32_NM, "{worst:e}");
}

#[test]
fn a_law_that_clips_each_wheel_by_itself_is_found_out() {
    let clips =
        |question: &Question<f64>| project(&question.octagon, solve(question).unconstrained_nm).0;
    let (worst, _) = worst_over_instances::<f64>(clips, |value| value);
    println!("nearest point to the unconstrained optimum: worst {worst} Nm");
    assert!(worst > 10.0, "the judge must see this wrong law: {worst}");
    let clips = |question: &Question<f64>| {
        let free = solve(question).unconstrained_nm;
        PerSide {
            left: question.octagon.left.span().nearest(free.left),
            right: question.octagon.right.span().nearest(free.right),
        }
    };
    let (worst, _) = worst_over_instances::<f64>(clips, |value| value);
    assert!(worst > 10.0, "the judge must see this wrong law: {worst}");
}

#[test]
fn the_residual_the_product_can_compute_agrees_with_the_judge() {
    let (mut at_optimum, mut smallest_beside) = (0.0_f64, f64::INFINITY);
    for seed in 0..20_000 {
        let question = question_in::<f64>(&instance(seed));
        if !is_possible(&instance(seed)) {
            continue;
        }
        let torque = Exact.allocate(&question);
        at_optimum = at_optimum.max(optimality_residual_nm(&question, torque));
        let beside = PerSide {
            left: torque.left + 1.0,
            right: torque.right - 0.5,
        };
        smallest_beside = smallest_beside.min(optimality_residual_nm(&question, beside));
    }
    println!(
        "own residual: {at_optimum:e} at the optimum, at least {smallest_beside:e} one Nm beside it"
    );
    assert!(at_optimum <= TOLERANCE_F64_NM, "{at_optimum:e}");
    // Curvatures of sum and difference lie at most 1:90 apart in these ranges.
    assert!(smallest_beside > 1.0e-3, "{smallest_beside:e}");
    assert!(
        optimality_residual_nm(&question_in::<f64>(&instance(1)), PerSide::both(f64::NAN)) > 1.0
    );
}

fn mirrors<S: Scalar>(bits: impl Fn(S) -> u64) {
    for seed in 0..INSTANCES {
        let question = question_in::<S>(&instance(seed));
        let (straight, mirrored) = (solve(&question), solve(&question.mirrored()).mirrored());
        let numbers = |answer: &Answer<S>| {
            let [first, second] = answer.binding;
            [
                answer.torque_nm.left,
                answer.torque_nm.right,
                answer.unconstrained_nm.left,
                answer.unconstrained_nm.right,
                answer.shortfall_nm.left,
                answer.shortfall_nm.right,
                first.marginal,
                second.marginal,
            ]
            .map(&bits)
        };
        assert_eq!(
            numbers(&straight),
            numbers(&mirrored),
            "seed {seed}: {straight:?} {mirrored:?}"
        );
        assert_eq!(
            straight.binding.map(|binding| binding.by),
            mirrored.binding.map(|binding| binding.by)
        );
        assert_eq!(straight.conflict, mirrored.conflict);
    }
}

#[test]
fn a_mirrored_question_has_the_mirrored_answer_to_the_bit() {
    mirrors::<f32>(|value| u64::from(value.to_bits()));
    mirrors::<f64>(f64::to_bits);
}

#[test]
fn shortfall_is_exactly_zero_when_no_bound_binds_and_multipliers_explain_the_slope() {
    let (mut interior, mut explained, mut worst) = (0, 0, 0.0_f64);
    for seed in 0..INSTANCES {
        let single = instance(seed);
        if !is_possible(&single) {
            continue;
        }
        let question = question_in::<f64>(&single);
        let answer = solve(&question);
        assert_eq!(answer.torque_nm, Exact.allocate(&question));
        let names = answer.binding.map(|binding| binding.by);
        if question.octagon.holds(answer.unconstrained_nm, 0.0) {
            interior += 1;
            assert_eq!(answer.shortfall_nm, PerSide::both(0.0));
            assert_eq!(names, [Limit::Nothing; 2]);
        } else {
            assert_ne!(answer.shortfall_nm, PerSide::both(0.0), "seed {seed}");
            assert_ne!(
                names[0],
                Limit::Nothing,
                "seed {seed} {answer:?} {question:?}"
            );
        }
        for binding in answer.binding {
            assert!(binding.marginal >= 0.0);
        }
        assert!(answer.binding[0].marginal >= answer.binding[1].marginal);
        // The multipliers must fully explain the slope: subtract each from the end it names, see what is left.
        if let Some(left_over) = unexplained(&question, &answer) {
            explained += 1;
            worst = worst.max(left_over);
        }
    }
    println!("{interior} interior, {explained} explained, worst left over {worst:e} per Nm");
    assert!(interior > 1_000 && explained > 50_000);
    // Slopes reach 1e5 per Nm; f64 leaves 1e-10 of that.
    assert!(worst < 1.0e-6, "{worst:e}");
}

/// What remains of the slope after the named multipliers, for the best fit of names to active ends.
fn unexplained(question: &Question<f64>, answer: &Answer<f64>) -> Option<f64> {
    let torque = answer.torque_nm;
    let octagon = &question.octagon;
    let ends: Vec<(Limit, [f64; 2])> = [
        (octagon.left, torque.left, [1.0, 0.0]),
        (octagon.right, torque.right, [0.0, 1.0]),
        (octagon.sum, torque.sum(), [1.0, 1.0]),
        (octagon.difference, torque.difference(), [-1.0, 1.0]),
    ]
    .into_iter()
    .flat_map(|(span, value, outward)| {
        let mut active = Vec::new();
        if (value - span.low.value).abs() < 1.0e-9 {
            active.push((span.low.by, outward.map(|part: f64| -part)));
        }
        if (value - span.high.value).abs() < 1.0e-9 {
            active.push((span.high.by, outward));
        }
        active
    })
    .collect();
    let slope = smooth_slope(question, [torque.left, torque.right]);
    let remains = |first: [f64; 2], second: [f64; 2]| {
        let side = |index: usize, torque: f64, price: f64| {
            let rest = slope[index]
                + answer.binding[0].marginal * first[index]
                + answer.binding[1].marginal * second[index];
            if torque == 0.0 {
                (rest.abs() - price).max(0.0)
            } else {
                (rest + price * torque.signum()).abs()
            }
        };
        side(0, torque.left, question.demand.heat_price.left).max(side(
            1,
            torque.right,
            question.demand.heat_price.right,
        ))
    };
    let nothing = (Limit::Nothing, [0.0, 0.0]);
    let mut best: Option<f64> = None;
    for first in ends.iter().chain([&nothing]) {
        for second in ends.iter().chain([&nothing]) {
            if first.0 == answer.binding[0].by && second.0 == answer.binding[1].by {
                let left_over = remains(first.1, second.1);
                best = Some(best.map_or(left_over, |old| old.min(left_over)));
            }
        }
    }
    assert!(best.is_some(), "a name that is not active: {answer:?}");
    best
}

#[test]
fn whole_numbers_with_ties_everywhere_are_solved_too() {
    let mut chance = Chance(7);
    let (mut worst, mut judged) = (0.0_f64, 0);
    for _ in 0..INSTANCES {
        let mut whole = |low: f64, high: f64| libm::round(chance.between(low, high));
        let mut span = |size: f64| {
            let (one, other) = (whole(-size, size), whole(-size, size));
            NamedSpan::new(one.min(other), one.max(other), Limit::Capacity)
        };
        let octagon = Octagon {
            left: span(3.0),
            right: span(3.0),
            sum: span(4.0),
            difference: span(4.0),
        };
        let question = Question::<f64> {
            demand: Demand {
                rear_torque_nm: whole(-6.0, 6.0),
                yaw_moment_nm: whole(-6.0, 6.0),
                weight_rear_torque: whole(0.0, 2.0),
                weight_yaw_moment: whole(0.0, 2.0),
                weight_change: whole(1.0, 2.0),
                heat_price: PerSide {
                    left: whole(0.0, 8.0),
                    right: whole(0.0, 8.0),
                },
                moment_per_difference: 1.0,
            },
            previous_nm: PerSide {
                left: whole(-3.0, 3.0),
                right: whole(-3.0, 3.0),
            },
            octagon,
        };
        let (straight, mirrored) = (solve(&question), solve(&question.mirrored()).mirrored());
        assert_eq!(straight.torque_nm, mirrored.torque_nm, "{question:?}");
        if resolve(&octagon).1 == Limit::Nothing {
            judged += 1;
            let missed = judged_nm(&question, straight.torque_nm);
            assert!(missed < 1.0e-9, "{missed} {question:?} {straight:?}");
            worst = worst.max(missed);
        }
    }
    println!("whole numbers: worst {worst:e} Nm over {judged}");
    assert!(judged > 10_000);
}
