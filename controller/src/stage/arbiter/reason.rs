//! Names the bounds an optimum rests on and what each of them costs.
//!
//! Inputs: the optimum with its active bounds, the octagon, the quadratic. Output: at most two names with multipliers
//! (cost saved per Nm the bound would give way, never negative), the dearer first. Equation: stationarity,
//! `gradient + price of torque + sum of multipliers times outward normals = 0`; at zero torque the price may take any
//! value between its two signs, so a wheel that the price alone keeps at zero is not held by its bound.

use super::Binding;
use super::plane::{Active, End, Found};
use super::terms::{Terms, shrunk};
use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{Limit, NamedSpan, Octagon};

/// The binding bounds, the dearer first.
#[inline(always)]
pub(super) fn binding<S: Scalar>(
    found: &Found<S>,
    octagon: &Octagon<S>,
    terms: &Terms<S>,
) -> [Binding<S>; 2] {
    let torque = found.torque;
    let (along_sum, along_difference) = (terms.sum_slope(torque), terms.difference_slope(torque));
    let two = S::of(2.0);
    let left_slope = two * (along_sum - along_difference);
    let right_slope = two * (along_sum + along_difference);
    let Active {
        left,
        right,
        sum,
        difference,
    } = found.active;
    let of_left = |slope: S| {
        named(
            at_price(slope, torque.left, terms.price.left),
            left,
            &octagon.left,
        )
    };
    let of_right = |slope: S| {
        named(
            at_price(slope, torque.right, terms.price.right),
            right,
            &octagon.right,
        )
    };
    let of_sum = |force: S| named(force, sum, &octagon.sum);
    let of_difference = |force: S| named(force, difference, &octagon.difference);
    let (one, other) = match (left != End::Free, right != End::Free) {
        (true, true) => (of_left(left_slope), of_right(right_slope)),
        (true, false) => {
            let carried = at_price(right_slope, torque.right, terms.price.right);
            let (by_sum, by_difference, back) = shared(sum, difference, carried);
            let carrying = if sum != End::Free {
                of_sum(by_sum)
            } else {
                of_difference(by_difference)
            };
            (of_left(left_slope + back), carrying)
        }
        (false, true) => {
            let carried = at_price(left_slope, torque.left, terms.price.left);
            let (by_sum, by_difference, back) = shared(sum, difference, carried);
            let carrying = if sum != End::Free {
                of_sum(by_sum)
            } else {
                of_difference(-by_difference)
            };
            (of_right(right_slope + back), carrying)
        }
        (false, false) => {
            let price = PerSide {
                left: terms.price.left * sign(torque.left, &octagon.left),
                right: terms.price.right * sign(torque.right, &octagon.right),
            };
            (
                of_sum(two * along_sum + S::HALF * price.sum()),
                of_difference(two * along_difference + S::HALF * price.difference()),
            )
        }
    };
    if dearer(&other, &one) {
        [other, one]
    } else {
        [one, other]
    }
}

/// One wheel rests on its own line; the other's slope is carried by sum or difference, and presses back on the first.
#[inline(always)]
fn shared<S: Scalar>(sum: End, difference: End, carried: S) -> (S, S, S) {
    if sum != End::Free {
        (carried, S::ZERO, -carried)
    } else if difference != End::Free {
        (S::ZERO, carried, carried)
    } else {
        (S::ZERO, S::ZERO, S::ZERO)
    }
}

/// Slope of the cost including the price of this wheel's torque; at zero the price takes what it can.
#[inline(always)]
fn at_price<S: Scalar>(slope: S, torque: S, price: S) -> S {
    if torque > S::ZERO {
        slope + price
    } else if torque < S::ZERO {
        slope - price
    } else {
        shrunk(slope, price)
    }
}

fn sign<S: Scalar>(torque: S, span: &NamedSpan<S>) -> S {
    if torque > S::ZERO || (torque == S::ZERO && span.low.value >= S::ZERO) {
        S::ONE
    } else if torque < S::ZERO || span.high.value <= S::ZERO {
        -S::ONE
    } else {
        S::ZERO
    }
}

#[inline(always)]
fn named<S: Scalar>(force: S, end: End, span: &NamedSpan<S>) -> Binding<S> {
    // In a span without width the end was chosen by an assumed sign of the torque; the force knows better.
    let end = match end {
        End::Low | End::High if span.low.value == span.high.value => {
            if force < S::ZERO {
                End::High
            } else {
                End::Low
            }
        }
        other => other,
    };
    let (by, marginal) = match end {
        End::Low => (span.low.by, force),
        End::High => (span.high.by, -force),
        End::Free | End::Kink => (Limit::Nothing, S::ZERO),
    };
    if marginal > S::ZERO {
        Binding { by, marginal }
    } else {
        Binding::default()
    }
}

/// Ties are broken by the limit's number, not by the side, so that the list mirrors.
#[inline(always)]
fn dearer<S: Scalar>(one: &Binding<S>, other: &Binding<S>) -> bool {
    one.marginal > other.marginal
        || (one.marginal == other.marginal
            && one.marginal > S::ZERO
            && one.by.number() < other.by.number())
}
