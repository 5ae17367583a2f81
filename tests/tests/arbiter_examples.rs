//! Contradicting and broken bounds in single worked examples.

use couplet_controller::numerics::Scalar;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Bound, Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{
    Allocate, Demand, Exact, Question, project, resolve, solve,
};

fn span<S: Scalar>(low: f32, low_by: Limit, high: f32, high_by: Limit) -> NamedSpan<S> {
    NamedSpan {
        low: Bound::new(S::of(low), low_by),
        high: Bound::new(S::of(high), high_by),
    }
}

fn asking_for<S: Scalar>(rear_torque_nm: f32) -> Demand<S> {
    Demand {
        rear_torque_nm: S::of(rear_torque_nm),
        weight_rear_torque: S::ONE,
        weight_yaw_moment: S::of(0.1),
        weight_change: S::of(0.01),
        moment_per_difference: S::of(2.5),
        ..Demand::default()
    }
}

#[test]
fn a_cap_below_the_slowest_fall_is_shared_equally_and_names_the_rate() {
    let question = Question::<f64> {
        demand: asking_for(900.0),
        previous_nm: PerSide {
            left: 220.0,
            right: 330.0,
        },
        octagon: Octagon {
            left: span(200.0, Limit::Rate, 240.0, Limit::Rate),
            right: span(300.0, Limit::Rate, 350.0, Limit::Rate),
            sum: span(-400.0, Limit::MasterCap, 400.0, Limit::MasterCap),
            difference: span(-900.0, Limit::YawLimit, 900.0, Limit::YawLimit),
        },
    };
    let answer = solve(&question);
    // 500 Nm forced, 400 allowed: 50 Nm less on each side, exact in binary.
    assert_eq!(
        answer.torque_nm,
        PerSide {
            left: 150.0,
            right: 250.0
        }
    );
    assert_eq!(answer.conflict, Limit::Rate);
}

#[test]
fn a_sloped_ceiling_waits_for_the_fall_rate_but_a_fault_does_not() {
    let fall = |ceiling: Limit| {
        let octagon = Octagon::<f32> {
            left: span(200.0, Limit::Rate, 50.0, ceiling),
            right: span(0.0, Limit::SlipDirection, 300.0, Limit::Capacity),
            sum: span(-900.0, Limit::Propshaft, 900.0, Limit::Propshaft),
            difference: span(-900.0, Limit::YawLimit, 900.0, Limit::YawLimit),
        };
        let (resolved, conflict) = resolve(&octagon);
        (resolved.left.low.value, resolved.left.high.value, conflict)
    };
    assert_eq!(fall(Limit::SurfaceHeat), (200.0, 200.0, Limit::SurfaceHeat));
    assert_eq!(fall(Limit::Fault), (50.0, 50.0, Limit::Rate));
    assert_eq!(fall(Limit::AbsoluteHeat), (50.0, 50.0, Limit::Rate));
    assert_eq!(fall(Limit::MasterCap), (50.0, 50.0, Limit::Rate));
}

#[test]
fn a_demand_with_a_broken_number_asks_for_nothing() {
    let octagon = Octagon::<f32> {
        left: span(0.0, Limit::SlipDirection, 500.0, Limit::Capacity),
        right: span(120.0, Limit::Rate, 500.0, Limit::Capacity),
        sum: span(-900.0, Limit::Propshaft, 900.0, Limit::Propshaft),
        difference: span(-900.0, Limit::YawLimit, 900.0, Limit::YawLimit),
    };
    let demand = asking_for(800.0);
    let sound = Question {
        demand,
        previous_nm: PerSide::both(100.0),
        octagon,
    };
    assert!(Exact.allocate(&sound).sum() > 700.0);
    let nan = f32::NAN;
    let breaks: [fn(&mut Demand<f32>, f32); 6] = [
        |demand, nan| demand.rear_torque_nm = nan,
        |demand, _| demand.yaw_moment_nm = f32::INFINITY,
        |demand, nan| demand.weight_change = nan,
        |demand, _| demand.weight_rear_torque = -1.0,
        |demand, nan| demand.heat_price.left = nan,
        |demand, _| demand.moment_per_difference = 0.0,
    ];
    for break_one in breaks {
        let mut broken = demand;
        break_one(&mut broken, nan);
        let torque = Exact.allocate(&Question {
            demand: broken,
            ..sound
        });
        assert_eq!(
            torque,
            PerSide {
                left: 0.0,
                right: 120.0
            },
            "{broken:?}"
        );
    }
    assert_eq!(
        project(
            &octagon,
            PerSide {
                left: f32::NAN,
                right: 300.0
            }
        ),
        (
            PerSide {
                left: 0.0,
                right: 120.0
            },
            true
        )
    );
}
