//! Judges an answer of the arbiter by the conditions of optimality, without any rounding.
//!
//! Input: a question, the octagon the answer must lie in, and a torque, all in `f32`. Output: the residual
//! `|u - P(u - gradient / L)|` in Nm, largest component, zero exactly at the optimum. `L` is the largest curvature, `P` the
//! projection onto the octagon with the price of heat inside it (proximal step; Parikh, Boyd: Proximal Algorithms, 2014).
//! Everything is multiplied by `L`, so that nothing is divided but by two: [`Dyadic`] numbers are exact. Shares no code and
//! no method with the arbiter: the projection tries feet on all lines, then all corners, in each quadrant.

use super::dyadic::Dyadic;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Question, SMALLEST_CHANGE_WEIGHT};

/// A pair: left and right, or low and high.
type Pair = [Dyadic; 2];

/// Spans of left, right, sum and difference.
#[derive(Clone)]
struct Shape([Pair; 4]);

/// Gradient of the smooth part at `torque`, and the largest curvature.
pub fn gradient(question: &Question<f32>, torque: &Pair) -> (Pair, Dyadic) {
    let demand = &question.demand;
    let one = Dyadic::single;
    let (wf, wm, c) = (
        one(demand.weight_rear_torque),
        one(demand.weight_yaw_moment),
        one(demand.moment_per_difference),
    );
    // The arbiter's documented floor of this weight belongs to the problem.
    let ws = one(demand.weight_change.max(SMALLEST_CHANGE_WEIGHT));
    let [left, right] = torque;
    let sum = &wf * &(&(left + right) - &one(demand.rear_torque_nm));
    let lever = &wm * &c;
    let yaw = &lever * &(&(&(right - left) * &c) - &one(demand.yaw_moment_nm));
    let change = [
        &ws * &(left - &one(question.previous_nm.left)),
        &ws * &(right - &one(question.previous_nm.right)),
    ];
    let slope = [
        (&(&sum - &yaw) + &change[0]).times_two_to(1),
        (&(&sum + &yaw) + &change[1]).times_two_to(1),
    ];
    let along_sum = &wf + &ws.half();
    let along_difference = &(&lever * &c) + &ws.half();
    (slope, along_sum.most(along_difference).times_two_to(2))
}

/// A torque of the law, exactly.
pub fn exactly(torque_nm: PerSide<f32>) -> Pair {
    [
        Dyadic::single(torque_nm.left),
        Dyadic::single(torque_nm.right),
    ]
}

/// How far the torque is from fulfilling the conditions of optimality, Nm; nothing if the octagon has no point at all.
/// Sum and difference may give way by `slack_nm`.
pub fn residual_nm(
    question: &Question<f32>,
    octagon: &Octagon<f32>,
    torque_nm: PerSide<f32>,
    slack_nm: f64,
) -> Option<f64> {
    let torque = exactly(torque_nm);
    let (slope, curvature) = gradient(question, &torque);
    let scaled = [&torque[0] * &curvature, &torque[1] * &curvature];
    let goal = [&scaled[0] - &slope[0], &scaled[1] - &slope[1]];
    let slack = Dyadic::of(slack_nm);
    let none = Dyadic::zero();
    let span = |span: NamedSpan<f32>, slack: &Dyadic| {
        [
            &(&Dyadic::single(span.low.value) - slack) * &curvature,
            &(&Dyadic::single(span.high.value) + slack) * &curvature,
        ]
    };
    let shape = Shape([
        span(octagon.left, &none),
        span(octagon.right, &none),
        span(octagon.sum, &slack),
        span(octagon.difference, &slack),
    ]);
    let price = [
        Dyadic::single(question.demand.heat_price.left),
        Dyadic::single(question.demand.heat_price.right),
    ];
    let there = shape.nearest_with_price(&goal, &price)?;
    let off = (&there[0] - &scaled[0])
        .size()
        .most((&there[1] - &scaled[1]).size());
    Some(off.ratio(&curvature))
}

fn sum(at: &Pair) -> Dyadic {
    &at[0] + &at[1]
}

fn difference(at: &Pair) -> Dyadic {
    &at[1] - &at[0]
}

fn distance(one: &Pair, other: &Pair) -> Dyadic {
    let (left, right) = (&one[0] - &other[0], &one[1] - &other[1]);
    &(&left * &left) + &(&right * &right)
}

impl Shape {
    fn holds(&self, at: &Pair) -> bool {
        let inside = |[low, high]: &Pair, value: &Dyadic| low <= value && value <= high;
        let [left, right, of_sum, of_difference] = &self.0;
        inside(left, &at[0])
            && inside(right, &at[1])
            && inside(of_sum, &sum(at))
            && inside(of_difference, &difference(at))
    }

    /// The point with the least `|v - goal|^2 / 2 + price . |v|`.
    fn nearest_with_price(&self, goal: &Pair, price: &Pair) -> Option<Pair> {
        let zero = Dyadic::zero();
        let mut best: Option<(Dyadic, Pair)> = None;
        for drives in [[true, true], [true, false], [false, true], [false, false]] {
            let mut quadrant = self.clone();
            let mut moved = goal.clone();
            for side in 0..2 {
                let [low, high] = &mut quadrant.0[side];
                if drives[side] {
                    *low = low.clone().most(zero.clone());
                    moved[side] = &moved[side] - &price[side];
                } else {
                    *high = high.clone().least(zero.clone());
                    moved[side] = &moved[side] + &price[side];
                }
            }
            if quadrant.0.iter().any(|[low, high]| low > high) {
                continue;
            }
            let Some(point) = quadrant.nearest(&moved) else {
                continue;
            };
            let paid = &(&price[0] * &point[0].size()) + &(&price[1] * &point[1].size());
            let cost = &distance(&point, goal) + &paid.times_two_to(1);
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, point));
            }
        }
        best.map(|(_, point)| point)
    }

    /// The nearest point, if there is any.
    fn nearest(&self, goal: &Pair) -> Option<Pair> {
        if self.holds(goal) {
            return Some(goal.clone());
        }
        let (goal_sum, goal_difference) = (sum(goal), difference(goal));
        let values = [&goal[0], &goal[1], &goal_sum, &goal_difference];
        // The foot on a violated line is nearest in that half plane; inside the octagon it is nearest of all.
        for (line, [low, high]) in self.0.iter().enumerate() {
            let end = if values[line] < low {
                low
            } else if values[line] > high {
                high
            } else {
                continue;
            };
            let foot = match line {
                0 => [end.clone(), goal[1].clone()],
                1 => [goal[0].clone(), end.clone()],
                2 => {
                    let step = (end - &goal_sum).half();
                    [&goal[0] + &step, &goal[1] + &step]
                }
                _ => {
                    let step = (end - &goal_difference).half();
                    [&goal[0] - &step, &goal[1] + &step]
                }
            };
            if self.holds(&foot) {
                return Some(foot);
            }
        }
        self.corners()
            .into_iter()
            .filter(|corner| self.holds(corner))
            .map(|corner| (distance(&corner, goal), corner))
            .min_by(|one, other| one.0.cmp(&other.0))
            .map(|(_, corner)| corner)
    }

    /// Where two lines meet, all 24.
    fn corners(&self) -> Vec<Pair> {
        let [left, right, of_sum, of_difference] = &self.0;
        let mut corners = Vec::with_capacity(24);
        for l in left {
            for r in right {
                corners.push([l.clone(), r.clone()]);
            }
            for s in of_sum {
                corners.push([l.clone(), s - l]);
            }
            for d in of_difference {
                corners.push([l.clone(), l + d]);
            }
        }
        for r in right {
            for s in of_sum {
                corners.push([s - r, r.clone()]);
            }
            for d in of_difference {
                corners.push([r - d, r.clone()]);
            }
        }
        for s in of_sum {
            for d in of_difference {
                corners.push([(s - d).half(), (s + d).half()]);
            }
        }
        corners
    }
}
