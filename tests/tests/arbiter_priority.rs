//! Which bound gives way when two contradict each other: every pair of ranks, both ways round.
//!
//! The order is the documented one: open now, fault, absolute heat, master's cap, rate, demand (every other limit; a wish
//! itself never binds). Two exceptions are promises of their own: what a wheel cannot do forces no torque and never gives
//! way to a floor of the other wheel, and a rise is bounded by the rate whatever forces it.

use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Bound, Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Demand, Question, resolve, solve};

/// One name of each rank, best first; the last stands for what demand's own limits share.
const RANKS: [Limit; 6] = [
    Limit::OpenNow,
    Limit::Fault,
    Limit::AbsoluteHeat,
    Limit::MasterCap,
    Limit::Rate,
    Limit::WindUp,
];

fn wide() -> NamedSpan<f32> {
    NamedSpan::new(-2000.0, 2000.0, Limit::Capacity)
}

fn everything() -> Octagon<f32> {
    Octagon {
        left: wide(),
        right: wide(),
        sum: wide(),
        difference: wide(),
    }
}

fn torque_of(octagon: Octagon<f32>) -> (PerSide<f32>, Limit) {
    let answer = solve(&Question {
        demand: Demand {
            rear_torque_nm: 500.0,
            weight_rear_torque: 1.0,
            weight_yaw_moment: 0.1,
            weight_change: 0.01,
            moment_per_difference: 2.5,
            ..Demand::default()
        },
        previous_nm: PerSide::both(0.0),
        octagon,
    });
    (answer.torque_nm, answer.conflict)
}

fn pairs() -> impl Iterator<Item = (Limit, Limit)> {
    (0..RANKS.len()).flat_map(|better| {
        (better + 1..RANKS.len()).map(move |worse| (RANKS[better], RANKS[worse]))
    })
}

#[test]
fn the_table_holds_for_every_pair_of_a_cap_and_a_floor_of_the_total() {
    assert_eq!(pairs().count(), 15);
    for (better, worse) in pairs() {
        // The better one caps what the worse one forces.
        let mut octagon = everything();
        octagon.sum.high = Bound::new(100.0, better);
        octagon.sum.low = Bound::new(300.0, worse);
        let (resolved, conflict) = resolve(&octagon);
        assert_eq!(resolved.sum.high.value, 100.0, "{better:?} over {worse:?}");
        assert_eq!(resolved.sum.low.value, 100.0, "{better:?} over {worse:?}");
        assert_eq!(conflict, worse);
        let (torque, named) = torque_of(octagon);
        assert_eq!(
            (torque.sum(), named),
            (100.0, worse),
            "{better:?} over {worse:?}"
        );
        // The better one forces what the worse one would cap. A rise bound is the exception, tested below.
        if worse == Limit::Rate {
            continue;
        }
        let mut octagon = everything();
        octagon.sum.low = Bound::new(300.0, better);
        octagon.sum.high = Bound::new(100.0, worse);
        let (resolved, conflict) = resolve(&octagon);
        assert_eq!(resolved.sum.low.value, 300.0, "{better:?} over {worse:?}");
        assert_eq!(conflict, worse);
        let (torque, named) = torque_of(octagon);
        assert_eq!(
            (torque.sum(), named),
            (300.0, worse),
            "{better:?} over {worse:?}"
        );
    }
}

#[test]
fn the_table_holds_for_every_pair_of_a_total_and_the_wheels_floors() {
    for (better, worse) in pairs() {
        let mut octagon = everything();
        octagon.sum.high = Bound::new(100.0, better);
        for span in [&mut octagon.left, &mut octagon.right] {
            span.low = Bound::new(150.0, worse);
        }
        // 300 Nm forced, 100 allowed: each wheel gives 100 Nm.
        assert_eq!(
            torque_of(octagon),
            (PerSide::both(50.0), worse),
            "{better:?} over {worse:?}"
        );
        let mut octagon = everything();
        octagon.sum.high = Bound::new(100.0, worse);
        for span in [&mut octagon.left, &mut octagon.right] {
            span.low = Bound::new(150.0, better);
        }
        let (torque, conflict) = torque_of(octagon);
        let expected = if worse == Limit::Rate { 50.0 } else { 150.0 };
        assert_eq!(torque, PerSide::both(expected), "{better:?} over {worse:?}");
        let loser = if worse == Limit::Rate { better } else { worse };
        assert_eq!(conflict, loser, "{better:?} over {worse:?}");
    }
}

#[test]
fn a_rise_is_bounded_by_the_rate_whatever_forces_it() {
    for forcing in RANKS {
        if forcing == Limit::Rate {
            continue;
        }
        let mut octagon = everything();
        octagon.left.high = Bound::new(40.0, Limit::Rate);
        octagon.left.low = Bound::new(90.0, forcing);
        let (torque, conflict) = torque_of(octagon);
        assert_eq!((torque.left, conflict), (40.0, forcing), "{forcing:?}");
    }
}

#[test]
fn what_a_wheel_cannot_do_never_gives_way_to_a_floor_of_the_total() {
    for forcing in RANKS {
        let mut octagon = everything();
        for span in [&mut octagon.left, &mut octagon.right] {
            *span = NamedSpan::new(0.0, 80.0, Limit::Friction);
        }
        octagon.sum.low = Bound::new(300.0, forcing);
        let (torque, conflict) = torque_of(octagon);
        assert_eq!(
            (torque, conflict),
            (PerSide::both(80.0), forcing),
            "{forcing:?}"
        );
    }
}

#[test]
fn the_rank_is_the_order_of_the_table() {
    let ranks = RANKS.map(Limit::rank);
    assert_eq!(ranks, [1, 2, 3, 4, 5, 6]);
    for limit in Limit::ALL {
        assert!(RANKS.contains(&limit) || limit.rank() == 6, "{limit:?}");
    }
}
