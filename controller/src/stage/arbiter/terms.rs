//! The cost the arbiter minimises, as a quadratic in sum and difference.
//!
//! Inputs: a question, a torque to be near to, or a torque to step from. Outputs: the two weights and the two wanted
//! values of `A (s - s0)^2 + B (d - d0)^2 + pL |TL| + pR |TR|`, and the optima that need no octagon. All expressions are
//! even in the sum and odd in the difference, so a mirrored question has mirrored terms to the bit.

use super::plane::optimum;
use super::{LARGEST, Question, SMALLEST_CHANGE_WEIGHT};
use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{Limit, NamedSpan, Octagon};

/// The quadratic `A (s - s0)^2 + B (d - d0)^2 + pL |TL| + pR |TR|`.
#[derive(Clone, Copy)]
pub(super) struct Terms<S> {
    /// A, cost per Nm^2 of the sum.
    pub sum_weight: S,
    /// B, cost per Nm^2 of the difference.
    pub difference_weight: S,
    /// s0, Nm.
    pub sum_wanted: S,
    /// d0, Nm.
    pub difference_wanted: S,
    /// Price of torque, cost per Nm.
    pub price: PerSide<S>,
    /// How far the sum gives way to a price, Nm per (cost per Nm): 1 / (4 A).
    sum_give: S,
    /// How far the difference gives way to a price: 1 / (4 B).
    difference_give: S,
}

impl<S: Scalar> Terms<S> {
    /// The terms of a question; a question with a broken number asks for no torque.
    pub fn of(question: &Question<S>) -> Self {
        let demand = &question.demand;
        let size = (demand.rear_torque_nm.magnitude() + demand.yaw_moment_nm.magnitude())
            + (demand.weight_rear_torque + demand.weight_yaw_moment)
            + (demand.weight_change + demand.moment_per_difference)
            + demand.heat_price.sum()
            + (question.previous_nm.left.magnitude() + question.previous_nm.right.magnitude());
        let sound = size <= S::of(LARGEST)
            && demand.weight_rear_torque >= S::ZERO
            && demand.weight_yaw_moment >= S::ZERO
            && demand.weight_change >= S::ZERO
            && demand.heat_price.left >= S::ZERO
            && demand.heat_price.right >= S::ZERO
            && demand.moment_per_difference > S::ZERO;
        if !sound {
            return Self::nearest_to(PerSide::both(S::ZERO));
        }
        // |u - previous|^2 is half the squares of the changes of sum and difference.
        let change = S::HALF * demand.weight_change.most(S::of(SMALLEST_CHANGE_WEIGHT));
        let lever = demand.weight_yaw_moment * demand.moment_per_difference;
        let sum_weight = demand.weight_rear_torque + change;
        let difference_weight = lever * demand.moment_per_difference + change;
        let sum =
            demand.weight_rear_torque * demand.rear_torque_nm + change * question.previous_nm.sum();
        let difference = lever * demand.yaw_moment_nm + change * question.previous_nm.difference();
        Self::new(
            (sum_weight, sum.over(sum_weight, S::ZERO)),
            (
                difference_weight,
                difference.over(difference_weight, S::ZERO),
            ),
            demand.heat_price,
        )
    }

    /// From weight and wanted value of sum and of difference.
    fn new(sum: (S, S), difference: (S, S), price: PerSide<S>) -> Self {
        let quarter = S::HALF * S::HALF;
        Self {
            sum_weight: sum.0,
            difference_weight: difference.0,
            sum_wanted: sum.1,
            difference_wanted: difference.1,
            price,
            sum_give: quarter.over(sum.0, S::ZERO),
            difference_give: quarter.over(difference.0, S::ZERO),
        }
    }

    /// Distance from a torque: its optimum is the nearest point.
    pub fn nearest_to(torque: PerSide<S>) -> Self {
        Self::new(
            (S::HALF, torque.sum()),
            (S::HALF, torque.difference()),
            PerSide::both(S::ZERO),
        )
    }

    /// One step of the projected gradient method from `torque`: distance from the stepped point, price unchanged.
    pub fn gradient_step(&self, torque: PerSide<S>) -> Self {
        let weight = self.sum_weight.most(self.difference_weight);
        let (sum, difference) = (torque.sum(), torque.difference());
        let step =
            |value: S, wanted: S, own: S| value - (value - wanted) * own.over(weight, S::ONE);
        Self::new(
            (weight, step(sum, self.sum_wanted, self.sum_weight)),
            (
                weight,
                step(difference, self.difference_wanted, self.difference_weight),
            ),
            self.price,
        )
    }

    /// The optimum without any bound.
    pub fn unconstrained(&self) -> PerSide<S> {
        let raw = PerSide::from_sum_difference(self.sum_wanted, self.difference_wanted);
        let signs = raw.map(|side| if side < S::ZERO { -S::ONE } else { S::ONE });
        let (sum, difference) = self.priced(signs);
        let torque = PerSide::from_sum_difference(sum, difference);
        if agrees(torque, signs) {
            return torque.map(|side| side + S::ZERO);
        }
        let largest = S::of(LARGEST);
        let open = NamedSpan::new(-largest, largest, Limit::Nothing);
        let everything = Octagon {
            left: open,
            right: open,
            sum: open,
            difference: open,
        };
        optimum(&everything, self).map_or(PerSide::both(S::ZERO), |found| found.torque)
    }

    /// Optimum of sum and difference if the torques had these signs.
    pub fn priced(&self, signs: PerSide<S>) -> (S, S) {
        let price = self.price.zip(signs, |price, sign| price * sign);
        (
            self.sum_wanted - self.sum_give * price.sum(),
            self.difference_wanted - self.difference_give * price.difference(),
        )
    }

    /// Best torque of the other wheel while one is fixed; `tilt` is the other minus the fixed one.
    pub fn mean(&self, fixed: S, sum: S, tilt: S) -> S {
        (self.sum_weight * (sum - fixed) + self.difference_weight * (tilt + fixed))
            .over(self.sum_weight + self.difference_weight, S::ZERO)
    }

    /// Best torque of the other wheel, whose price is `price`, while one wheel has none.
    pub fn mean_beside_zero(&self, tilt: S, price: S) -> S {
        let reach = (S::HALF * price).over(self.sum_weight + self.difference_weight, S::ZERO);
        shrunk(self.mean(S::ZERO, self.sum_wanted, tilt), reach)
    }

    /// The terms of the car seen in a mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            difference_wanted: -self.difference_wanted,
            price: self.price.mirrored(),
            ..*self
        }
    }
}

/// `value` moved towards zero by `reach`, not past it.
pub(super) fn shrunk<S: Scalar>(value: S, reach: S) -> S {
    if value > reach {
        value - reach
    } else if value < -reach {
        value + reach
    } else {
        S::ZERO
    }
}

/// Whether torques have the signs that were assumed; zero has either.
pub(super) fn agrees<S: Scalar>(torque: PerSide<S>, signs: PerSide<S>) -> bool {
    torque.left * signs.left >= S::ZERO && torque.right * signs.right >= S::ZERO
}

/// Four units in the last place of a number of this size, whatever the scalar.
pub(super) fn rounding<S: Scalar>(size: S) -> S {
    // 4/3 cannot be written in binary: what is left of 3 (4/3 - 1) - 1 is one unit in the last place of one.
    let third = S::of(4.0).over(S::of(3.0), S::ONE) - S::ONE;
    let unit = (third * S::of(3.0) - S::ONE).magnitude();
    unit * S::of(4.0) * size
}
