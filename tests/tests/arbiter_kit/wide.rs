//! A question in 32 bits as one in 64, number by number.

use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Bound, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Demand, Question};

fn span(span: NamedSpan<f32>) -> NamedSpan<f64> {
    NamedSpan {
        low: Bound::new(f64::from(span.low.value), span.low.by),
        high: Bound::new(f64::from(span.high.value), span.high.by),
    }
}

/// The same question; every number of 32 bits is one of 64.
pub fn wide(question: &Question<f32>) -> Question<f64> {
    let (demand, octagon) = (&question.demand, &question.octagon);
    let both = |pair: PerSide<f32>| pair.map(f64::from);
    Question {
        demand: Demand {
            rear_torque_nm: f64::from(demand.rear_torque_nm),
            yaw_moment_nm: f64::from(demand.yaw_moment_nm),
            weight_rear_torque: f64::from(demand.weight_rear_torque),
            weight_yaw_moment: f64::from(demand.weight_yaw_moment),
            weight_change: f64::from(demand.weight_change),
            heat_price: both(demand.heat_price),
            moment_per_difference: f64::from(demand.moment_per_difference),
        },
        previous_nm: both(question.previous_nm),
        octagon: Octagon {
            left: span(octagon.left),
            right: span(octagon.right),
            sum: span(octagon.sum),
            difference: span(octagon.difference),
        },
    }
}
