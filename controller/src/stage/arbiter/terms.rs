//! The cost the arbiter minimises, as a quadratic in sum and difference.
//!
//! Inputs: a question, a torque to be near to, or a torque to step from. Outputs: weights and pulls of
//! `A s^2 - 2 a s + B d^2 - 2 b d + pL |TL| + pR |TR|`, and the optima that need no octagon. The wanted values `a / A` and
//! `b / B` are never formed: a pull has one rounding less, and beside one fixed wheel only the sum of both pulls counts, so
//! that large prices over small weights have nothing to cancel. All expressions are even in the sum and odd in the
//! difference, so a mirrored question has mirrored terms to the bit.

use super::plane::optimum;
use super::{LARGEST, Question, SMALLEST_CHANGE_WEIGHT};
use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{Limit, NamedSpan, Octagon};

/// The quadratic `A s^2 - 2 a s + B d^2 - 2 b d + pL |TL| + pR |TR|`.
#[derive(Clone, Copy)]
pub(super) struct Terms<S> {
    /// A, cost per Nm^2 of the sum, above zero.
    pub sum_weight: S,
    /// B, cost per Nm^2 of the difference, above zero.
    pub difference_weight: S,
    /// a, cost per Nm: A times the sum wanted.
    pub sum_pull: S,
    /// b, cost per Nm: B times the difference wanted.
    pub difference_pull: S,
    /// Price of torque, cost per Nm.
    pub price: PerSide<S>,
}

impl<S: Scalar> Terms<S> {
    /// The terms of a question; a question with a broken number asks for no torque.
    pub fn of(question: &Question<S>) -> Self {
        Self::believable(question).unwrap_or(Self::nearest_to(PerSide::both(S::ZERO)))
    }

    /// The terms of a question without a broken number.
    #[inline(always)]
    pub fn believable(question: &Question<S>) -> Option<Self> {
        let demand = &question.demand;
        let size = (demand.rear_torque_nm.magnitude() + demand.yaw_moment_nm.magnitude())
            + (demand.weight_rear_torque + demand.weight_yaw_moment)
            + (demand.weight_change + demand.moment_per_difference)
            + demand.heat_price.sum()
            + (question.previous_nm.left.magnitude() + question.previous_nm.right.magnitude());
        // One comparison for five numbers: the size has already found those that are none.
        let least = demand
            .weight_rear_torque
            .at_most(demand.weight_yaw_moment)
            .at_most(demand.weight_change)
            .at_most(demand.heat_price.left)
            .at_most(demand.heat_price.right);
        let sound =
            size <= S::of(LARGEST) && least >= S::ZERO && demand.moment_per_difference > S::ZERO;
        if !sound {
            return None;
        }
        // |u - previous|^2 is half the squares of the changes of sum and difference.
        let change = S::HALF * demand.weight_change.at_least(S::of(SMALLEST_CHANGE_WEIGHT));
        let lever = demand.weight_yaw_moment * demand.moment_per_difference;
        Some(Self {
            sum_weight: demand.weight_rear_torque + change,
            difference_weight: lever * demand.moment_per_difference + change,
            sum_pull: demand.weight_rear_torque * demand.rear_torque_nm
                + change * question.previous_nm.sum(),
            difference_pull: lever * demand.yaw_moment_nm
                + change * question.previous_nm.difference(),
            price: demand.heat_price,
        })
    }

    /// Distance from a torque: its optimum is the nearest point.
    pub fn nearest_to(torque: PerSide<S>) -> Self {
        Self {
            sum_weight: S::HALF,
            difference_weight: S::HALF,
            sum_pull: S::HALF * torque.sum(),
            difference_pull: S::HALF * torque.difference(),
            price: PerSide::both(S::ZERO),
        }
    }

    /// One step of the projected gradient method from `torque`: distance from the stepped point, price unchanged.
    pub fn gradient_step(&self, torque: PerSide<S>) -> Self {
        let weight = self.sum_weight.most(self.difference_weight);
        Self {
            sum_weight: weight,
            difference_weight: weight,
            sum_pull: weight * torque.sum() - self.sum_slope(torque),
            difference_pull: weight * torque.difference() - self.difference_slope(torque),
            price: self.price,
        }
    }

    /// Half the slope of the quadratic along the sum.
    pub fn sum_slope(&self, torque: PerSide<S>) -> S {
        self.sum_weight * torque.sum() - self.sum_pull
    }

    /// Half the slope of the quadratic along the difference.
    pub fn difference_slope(&self, torque: PerSide<S>) -> S {
        self.difference_weight * torque.difference() - self.difference_pull
    }

    /// The optimum without any bound.
    #[inline(always)]
    pub fn unconstrained(&self) -> PerSide<S> {
        // Signs by pulls over weights, both made whole: no division.
        let (across, along) = (
            self.sum_pull * self.difference_weight,
            self.difference_pull * self.sum_weight,
        );
        let signs = PerSide::from_sum_difference(across, along)
            .map(|side| if side < S::ZERO { -S::ONE } else { S::ONE });
        let (sum, difference) = self.priced(signs);
        let torque = PerSide::from_sum_difference(sum, difference);
        if agrees(torque, signs) {
            return torque.map(|side| side + S::ZERO);
        }
        // One wheel, or both, without torque: true if the other's pull on it is within its price.
        let right_alone = self.right_beside_zero();
        let left_alone = self.mirrored().right_beside_zero();
        let turned = self.difference_weight - self.sum_weight;
        let left_pull = self.sum_pull - self.difference_pull + turned * right_alone;
        let right_pull = self.sum_pull + self.difference_pull + turned * left_alone;
        let left_rests = left_pull.magnitude() <= S::HALF * self.price.left;
        let right_rests = right_pull.magnitude() <= S::HALF * self.price.right;
        if left_rests || right_rests {
            return PerSide {
                left: if left_rests { S::ZERO } else { left_alone },
                right: if right_rests { S::ZERO } else { right_alone },
            };
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
    #[inline(always)]
    pub fn priced(&self, signs: PerSide<S>) -> (S, S) {
        let quarter = S::HALF * S::HALF;
        let price = self.price.zip(signs, |price, sign| price * sign);
        (
            (self.sum_pull - quarter * price.sum()).per(self.sum_weight),
            (self.difference_pull - quarter * price.difference()).per(self.difference_weight),
        )
    }

    /// Best torque of the right wheel, of this sign, while the left one is fixed.
    pub fn right_beside(&self, left: S, sign: S) -> S {
        let pull = self.sum_pull + self.difference_pull;
        self.beside(left, pull - S::HALF * (self.price.right * sign))
    }

    /// Best torque of the left wheel, of this sign, while the right one is fixed.
    pub fn left_beside(&self, right: S, sign: S) -> S {
        let pull = self.sum_pull - self.difference_pull;
        self.beside(right, pull - S::HALF * (self.price.left * sign))
    }

    /// Best torque of the right wheel while the left one has none.
    #[inline(always)]
    pub fn right_beside_zero(&self) -> S {
        let pull = self.sum_pull + self.difference_pull;
        self.beside(S::ZERO, shrunk(pull, S::HALF * self.price.right))
    }

    fn beside(&self, fixed: S, pull: S) -> S {
        let tilt = (self.difference_weight - self.sum_weight) * fixed;
        (pull + tilt).per(self.sum_weight + self.difference_weight)
    }

    /// The terms of the car seen in a mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            difference_pull: -self.difference_pull,
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
