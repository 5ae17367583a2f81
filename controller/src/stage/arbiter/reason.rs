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
    let force = forces(found, octagon, terms);
    let active = found.active;
    let all = [
        named(force.left, active.left, octagon.left),
        named(force.right, active.right, octagon.right),
        named(force.sum, active.sum, octagon.sum),
        named(force.difference, active.difference, octagon.difference),
    ];
    let mut list = [Binding::default(); 2];
    for next in all {
        let [first, second] = list;
        if dearer(&next, &first) {
            list = [next, first];
        } else if dearer(&next, &second) {
            list = [first, next];
        }
    }
    list
}

/// Cost saved per Nm of rise along each of the four quantities, signed: positive presses on a lower end.
struct Forces<S> {
    left: S,
    right: S,
    sum: S,
    difference: S,
}

fn forces<S: Scalar>(found: &Found<S>, octagon: &Octagon<S>, terms: &Terms<S>) -> Forces<S> {
    let torque = found.torque;
    let two = S::of(2.0);
    let along_sum = two * terms.sum_weight * (torque.sum() - terms.sum_wanted);
    let along_difference =
        two * terms.difference_weight * (torque.difference() - terms.difference_wanted);
    let slope = PerSide::from_sum_difference(two * along_sum, two * along_difference);
    let Active {
        left,
        right,
        sum,
        difference,
    } = found.active;
    let mut forces = Forces {
        left: S::ZERO,
        right: S::ZERO,
        sum: S::ZERO,
        difference: S::ZERO,
    };
    if left != End::Free && right != End::Free {
        forces.left = at_price(slope.left, torque.left, terms.price.left);
        forces.right = at_price(slope.right, torque.right, terms.price.right);
    } else if left != End::Free {
        let carried = at_price(slope.right, torque.right, terms.price.right);
        let shared = shared(sum, difference, carried);
        forces = Forces {
            left: at_price(slope.left + shared.2, torque.left, terms.price.left),
            ..forces
        };
        (forces.sum, forces.difference) = (shared.0, shared.1);
    } else if right != End::Free {
        let carried = at_price(slope.left, torque.left, terms.price.left);
        let shared = shared(sum, difference, carried);
        forces = Forces {
            right: at_price(slope.right + shared.2, torque.right, terms.price.right),
            ..forces
        };
        (forces.sum, forces.difference) = (shared.0, -shared.1);
    } else {
        let price = PerSide {
            left: terms.price.left * sign(torque.left, octagon.left),
            right: terms.price.right * sign(torque.right, octagon.right),
        };
        forces.sum = along_sum + S::HALF * price.sum();
        forces.difference = along_difference + S::HALF * price.difference();
    }
    forces
}

/// One wheel rests on its own line; the other's slope is carried by sum or difference, and presses back on the first.
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
fn at_price<S: Scalar>(slope: S, torque: S, price: S) -> S {
    if torque > S::ZERO {
        slope + price
    } else if torque < S::ZERO {
        slope - price
    } else {
        shrunk(slope, price)
    }
}

fn sign<S: Scalar>(torque: S, span: NamedSpan<S>) -> S {
    if torque > S::ZERO || (torque == S::ZERO && span.low.value >= S::ZERO) {
        S::ONE
    } else if torque < S::ZERO || span.high.value <= S::ZERO {
        -S::ONE
    } else {
        S::ZERO
    }
}

fn named<S: Scalar>(force: S, end: End, span: NamedSpan<S>) -> Binding<S> {
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
fn dearer<S: Scalar>(one: &Binding<S>, other: &Binding<S>) -> bool {
    one.marginal > other.marginal
        || (one.marginal == other.marginal
            && one.marginal > S::ZERO
            && one.by.number() < other.by.number())
}
