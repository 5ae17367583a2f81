//! Shares torque between the two clutches: the exact optimum on the octagon.
//!
//! Inputs: what is wanted ([`Demand`]), the torques of the step before, and what is possible now
//! ([`Octagon`]). Outputs: a signed torque per wheel, what no bound would have given, the
//! signed shortfall, the binding bounds by name with their marginal value, and the limit that lost a conflict.
//!
//! # The problem
//! Two unknowns, the signed wheel torques `u = (TL, TR)` in Nm. Minimise
//!
//! ```text
//!   wF (TL + TR - F)^2            F  rear torque wanted, Nm              wF  cost per Nm^2
//! + wM ((TR - TL) c - M)^2        M  yaw moment wanted, Nm               wM  cost per Nm^2
//!                                 c = track / (2 r) > 0, no unit
//! + wS |u - u_prev|^2             u_prev  torques of the last step, Nm   wS  cost per Nm^2
//! + pL |TL| + pR |TR|             p = wH h >= 0  price of heat, cost per Nm
//! ```
//!
//! subject to eight bounds in Nm: spans of TL, TR, TL + TR and TR - TL. Two unknowns, eight half planes, two kinks.
//!
//! # The solution
//! With `s = TL + TR` and `d = TR - TL` the smooth part is `A (s - s0)^2 + B (d - d0)^2`, without a mixed term, so
//! nothing cancels in 32 bits. While the torques keep their signs the price only moves `s0` and `d0`.
//!
//! 1. Clip `(s0, d0)` to the spans of sum and difference: the optimum of those four bounds.
//! 2. If a wheel's torque then lies outside its span, the optimum lies on such a violated line: the way from the
//!    optimum to the clipped point goes downhill and leaves no other bound. On a line the problem is a clipped mean.
//!    With both wheels outside, the line whose mean is not held by the other line wins; if neither, the corner.
//! 3. A span that straddles zero: solve with the price of driving and with that of braking; the torque falls
//!    monotonically with the price, so either an answer has the sign it assumed, or the optimum is on the line T = 0.
//!
//! No iteration, no tolerance to tune; choices are made by signs of gradients, never by comparing costs (costs near 1e6
//! do not resolve in 32 bits). Uniqueness: `wS` is at least [`SMALLEST_CHANGE_WEIGHT`]. A mirrored question gives the
//! mirrored bits in `f32` and `f64`.
//!
//! # Limits
//! Spans of left and right hold to the bit; sum and difference hold to rounding (four units in the last place of
//! |TL| + |TR|). A demand with a broken number asks for nothing: the answer is the possible torque nearest to zero.
//! Resolving contradicting bounds costs some five answers: [`Allocate::answer_and_resolve`] leaves the resolved octagon in the
//! question, and who projects into that pays once. Conflicting bounds: see [`resolve`]. Method: optimality conditions of a
//! convex quadratic programme (textbook).

mod alternative;
mod conflict;
mod direct;
mod fine;
mod order;
mod plane;
mod reason;
mod terms;

pub use alternative::{ProportionalSplit, StrictPriority};
pub use conflict::{consistent, resolve};

use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::{Limit, NamedSpan, Octagon};
use plane::Found;
use terms::{Terms, rounding};

/// Largest plausible torque, moment, weight or price; a demand whose sizes add up to more is broken. Chosen: far above
/// any axle, far below where products of such numbers overflow 32 bits.
pub const LARGEST: f32 = 1.0e6;

/// Size |TL| + |TR| from which answers are found in 64 bits and rounded once, Nm: a step of 32 bits is half a thousandth
/// there, and the wanted torques carry a few. No axle of the catalogue gets there twice over.
const FINE_FROM: f32 = 4096.0;

/// Smallest weight of a change of torque, cost per Nm^2: keeps the answer unique when other weights are zero. Chosen:
/// 1/3000 of the smallest useful weight.
pub const SMALLEST_CHANGE_WEIGHT: f32 = 1.0e-6;

/// What is wanted, and how much each wish counts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Demand<S> {
    /// F: torque wanted at both rear wheels together, Nm, positive drives forward.
    pub rear_torque_nm: S,
    /// M: yaw moment wanted from the axle, Nm, positive to the left.
    pub yaw_moment_nm: S,
    /// wF: cost per Nm^2 of missing the rear torque, not negative.
    pub weight_rear_torque: S,
    /// wM: cost per Nm^2 of missing the yaw moment, not negative.
    pub weight_yaw_moment: S,
    /// wS: cost per Nm^2 of changing a torque within one step, not negative.
    pub weight_change: S,
    /// wH h: cost per Nm of torque on each side, not negative; grows with slip and heat.
    pub heat_price: PerSide<S>,
    /// c: yaw moment per Nm of torque difference, track / (2 r), above zero.
    pub moment_per_difference: S,
}

impl<S: Scalar> Demand<S> {
    /// The demand of the car seen in a mirror.
    pub fn mirrored(self) -> Self {
        Self {
            yaw_moment_nm: -self.yaw_moment_nm,
            heat_price: self.heat_price.mirrored(),
            ..self
        }
    }
}

/// One question to a law of allocation.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Question<S> {
    /// What is wanted.
    pub demand: Demand<S>,
    /// Signed torques of the step before, Nm.
    pub previous_nm: PerSide<S>,
    /// What is possible.
    pub octagon: Octagon<S>,
}

impl<S: Scalar> Question<S> {
    /// The question of the car seen in a mirror.
    pub fn mirrored(self) -> Self {
        Self {
            demand: self.demand.mirrored(),
            previous_nm: self.previous_nm.mirrored(),
            octagon: self.octagon.mirrored(),
        }
    }
}

/// A bound the answer leans on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Binding<S> {
    /// What set the bound; `Nothing` in an empty place of the list.
    pub by: Limit,
    /// Multiplier, cost saved per Nm the bound would give way; not negative.
    pub marginal: S,
}

/// The solution with its reasons.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Answer<S> {
    /// Signed torque per wheel, Nm.
    pub torque_nm: PerSide<S>,
    /// What would be best if there were no bound at all, Nm.
    pub unconstrained_nm: PerSide<S>,
    /// Unconstrained minus given, Nm, signed; exactly zero when no bound binds.
    pub shortfall_nm: PerSide<S>,
    /// Bounds with a multiplier above zero, at most two, the dearer first.
    pub binding: [Binding<S>; 2],
    /// The limit that had to give way when bounds contradicted each other; `Nothing` if they did not.
    pub conflict: Limit,
}

impl<S: Scalar> Answer<S> {
    /// The answer of the car seen in a mirror.
    pub fn mirrored(self) -> Self {
        Self {
            torque_nm: self.torque_nm.mirrored(),
            unconstrained_nm: self.unconstrained_nm.mirrored(),
            shortfall_nm: self.shortfall_nm.mirrored(),
            ..self
        }
    }
}

/// A law of allocation. It says what it wants; the caller projects the answer, so a wrong law cannot leave the octagon.
pub trait Allocate<S: Scalar>: Copy {
    /// Wanted signed torque per wheel, Nm.
    fn allocate(&self, question: &Question<S>) -> PerSide<S>;

    /// The wanted torque moved into the octagon, with the shortfall that made.
    ///
    /// A law without multipliers of its own leaves the list of binding bounds empty.
    fn answer(&self, question: &Question<S>) -> Answer<S> {
        let wanted = self.allocate(question);
        let (torque_nm, moved) = project(&question.octagon, wanted);
        let sound = wanted.left.is_finite() && wanted.right.is_finite();
        let unconstrained_nm = if moved && sound { wanted } else { torque_nm };
        Answer {
            torque_nm,
            unconstrained_nm,
            shortfall_nm: unconstrained_nm.zip(torque_nm, |asked, given| asked - given),
            ..Answer::default()
        }
    }

    /// The answer, with the bounds in the question made consistent where they contradict each other: who projects into them
    /// afterwards need not resolve them again.
    fn answer_and_resolve(&self, question: &mut Question<S>) -> Answer<S> {
        let mut conflict = Limit::Nothing;
        if !consistent(&question.octagon) {
            (question.octagon, conflict) = resolve(&question.octagon);
        }
        let said = self.answer(question);
        if said.conflict == Limit::Nothing {
            Answer { conflict, ..said }
        } else {
            said
        }
    }
}

/// The exact optimum of the problem on this page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Exact;

impl<S: Scalar> Allocate<S> for Exact {
    fn allocate(&self, question: &Question<S>) -> PerSide<S> {
        let direct = Terms::believable(question)
            .and_then(|terms| direct::optimum(&question.octagon, &terms));
        match direct {
            Some(spot) => spot.torque,
            None => in_full(question).1.found.torque,
        }
    }

    fn answer(&self, question: &Question<S>) -> Answer<S> {
        solve(question)
    }

    #[inline(always)]
    fn answer_and_resolve(&self, question: &mut Question<S>) -> Answer<S> {
        // The direct way's success proves that there is nothing to resolve, so ordinary questions pay nothing.
        solved(question)
    }
}

/// The exact optimum with reasons and multipliers.
#[inline(always)]
pub fn solve<S: Scalar>(question: &Question<S>) -> Answer<S> {
    solved(&mut { *question })
}

/// The optimum; where the question's octagon was not plainly consistent, it becomes the one the optimum was found on.
#[inline(always)]
fn solved<S: Scalar>(question: &mut Question<S>) -> Answer<S> {
    let direct = Terms::believable(question)
        .and_then(|terms| Some((direct::optimum(&question.octagon, &terms)?, terms)));
    match direct {
        Some((spot, terms)) => {
            let found = spot.found(&question.octagon);
            reasoned(&found, &question.octagon, &terms)
        }
        None => {
            // By value: what is lent to a function must lie in memory, also on the direct way.
            let (answer, octagon) = solved_in_full(*question);
            question.octagon = octagon;
            answer
        }
    }
}

#[cold]
#[inline(never)]
fn solved_in_full<S: Scalar>(question: Question<S>) -> (Answer<S>, Octagon<S>) {
    let (terms, whole) = in_full(&question);
    let answer = Answer {
        conflict: whole.conflict,
        ..reasoned(&whole.found, &whole.octagon, &terms)
    };
    (answer, whole.octagon)
}

/// The optimum with shortfall and multipliers.
#[inline(always)]
fn reasoned<S: Scalar>(found: &Found<S>, octagon: &Octagon<S>, terms: &Terms<S>) -> Answer<S> {
    let inside = Answer {
        torque_nm: found.torque,
        unconstrained_nm: found.torque,
        ..Answer::default()
    };
    if found.rests_on_nothing() {
        return inside;
    }
    let free = terms.unconstrained();
    // On a bound that the price of torque alone would not cross either, or by a rounding.
    if octagon.holds(free, S::ZERO) {
        return inside;
    }
    Answer {
        unconstrained_nm: free,
        shortfall_nm: free.zip(found.torque, |wanted, given| wanted - given),
        binding: reason::binding(found, octagon, terms),
        ..inside
    }
}

/// Nearest point of the octagon, and whether the torque had to move by more than rounding.
///
/// A torque that is not a finite number becomes the point nearest to zero. Contradicting bounds are resolved first.
/// Inside the octagon the torque keeps its bits.
#[inline(always)]
pub fn project<S: Scalar>(octagon: &Octagon<S>, torque_nm: PerSide<S>) -> (PerSide<S>, bool) {
    if octagon.plainly_holds(torque_nm) {
        return (torque_nm.map(|side| side + S::ZERO), false);
    }
    projected(*octagon, torque_nm)
}

/// Apart and by value, so that a torque inside does not carry the cost.
#[cold]
#[inline(never)]
fn projected<S: Scalar>(octagon: Octagon<S>, torque_nm: PerSide<S>) -> (PerSide<S>, bool) {
    let octagon = &octagon;
    let sound = torque_nm.left.is_finite() && torque_nm.right.is_finite();
    let torque = if sound {
        torque_nm
    } else {
        PerSide::both(S::ZERO)
    };
    let largest = S::of(LARGEST);
    let torque = torque.map(|side| side.within(-largest, largest) + S::ZERO);
    if octagon.is_plausible()
        && let Some(nearest) = nearest(octagon, torque)
    {
        return (nearest, !sound || nearest != torque_nm);
    }
    let (octagon, _) = resolve(octagon);
    let nearest = nearest(&octagon, torque).unwrap_or(clipped(&octagon, torque));
    (nearest, !sound || nearest != torque_nm)
}

/// How far `torque_nm` is from fulfilling the conditions of optimality, Nm: zero exactly at the optimum.
///
/// The largest component of `u - prox(u - gradient / L)`, L the largest curvature: one step of the projected gradient
/// method, with bounds and heat price inside the projection. NaN in the torque gives [`LARGEST`].
pub fn optimality_residual_nm<S: Scalar>(question: &Question<S>, torque_nm: PerSide<S>) -> S {
    let (octagon, _) = resolve(&question.octagon);
    let step = Terms::of(question).gradient_step(torque_nm);
    let Some(found) = plane::optimum(&octagon, &step) else {
        return S::of(LARGEST);
    };
    let residual = found
        .torque
        .zip(torque_nm, |there, here| (there - here).magnitude());
    if residual.left.is_finite() && residual.right.is_finite() {
        residual.larger()
    } else {
        S::of(LARGEST)
    }
}

/// An optimum, and the octagon and conflict that belong to it.
struct Whole<S> {
    found: Found<S>,
    octagon: Octagon<S>,
    conflict: Limit,
}

/// The optimum whatever the bounds are: wheels that may drive and brake, bounds that touch, contradict each other or are
/// broken.
#[inline(never)]
fn in_full<S: Scalar>(question: &Question<S>) -> (Terms<S>, Whole<S>) {
    let terms = Terms::of(question);
    let octagon = &question.octagon;
    // A point inside proves that the bounds do not contradict each other: no separate check is needed. Where each wheel has
    // one sign the direct way has just failed, and most likely they do contradict: the search would be lost.
    let one_signed = |span: &NamedSpan<S>| span.low.value >= S::ZERO || span.high.value <= S::ZERO;
    let tried = one_signed(&octagon.left) && one_signed(&octagon.right);
    if !tried
        && octagon.is_plausible()
        && let Some(found) =
            plane::optimum(octagon, &terms).filter(|found| octagon.admits(found.torque))
    {
        let whole = Whole {
            found: fine::found(question, octagon, found),
            octagon: *octagon,
            conflict: Limit::Nothing,
        };
        return (terms, whole);
    }
    let (octagon, conflict) = resolve(octagon);
    let found = direct::optimum(&octagon, &terms)
        .map(|spot| spot.found(&octagon))
        .or_else(|| plane::optimum(&octagon, &terms))
        .unwrap_or_else(|| Found::pinned(clipped(&octagon, PerSide::both(S::ZERO))));
    let whole = Whole {
        found: fine::found(question, &octagon, found),
        octagon,
        conflict,
    };
    (terms, whole)
}

fn clipped<S: Scalar>(octagon: &Octagon<S>, torque: PerSide<S>) -> PerSide<S> {
    PerSide {
        left: octagon.left.span().nearest(torque.left) + S::ZERO,
        right: octagon.right.span().nearest(torque.right) + S::ZERO,
    }
}

/// Nearest point, if the octagon is not empty. Wheel spans first: where they alone bind, the other wheel keeps its bits.
#[inline(always)]
fn nearest<S: Scalar>(octagon: &Octagon<S>, torque: PerSide<S>) -> Option<PerSide<S>> {
    let clipped = clipped(octagon, torque);
    if octagon.admits(clipped) {
        return Some(clipped);
    }
    plane::optimum(octagon, &Terms::nearest_to(torque))
        .map(|found| found.torque)
        .filter(|&torque| octagon.admits(torque))
}

/// What the arbiter asks an octagon.
trait Checks<S> {
    /// Whether all bounds are finite and of plausible size.
    fn is_plausible(&self) -> bool;
    /// Whether a torque of ordinary size lies inside, to the bit, and all bounds are of plausible size.
    fn plainly_holds(&self, torque: PerSide<S>) -> bool;
    /// Whether a torque lies inside: wheels to the bit, sum and difference to rounding.
    fn admits(&self, torque: PerSide<S>) -> bool;
}

impl<S: Scalar> Checks<S> for Octagon<S> {
    fn is_plausible(&self) -> bool {
        let size = |span: NamedSpan<S>| span.low.value.magnitude() + span.high.value.magnitude();
        // One comparison finds every NaN and every infinity among the eight bounds.
        (size(self.left) + size(self.right)) + (size(self.sum) + size(self.difference))
            <= S::of(8.0 * LARGEST)
    }

    fn plainly_holds(&self, torque: PerSide<S>) -> bool {
        let width = |span: NamedSpan<S>| span.high.value - span.low.value;
        // Ends lie no farther from zero than the torque and their span's width.
        let total =
            (width(self.left) + width(self.right)) + (width(self.sum) + width(self.difference));
        let size = torque.left.magnitude() + torque.right.magnitude();
        total <= S::of(LARGEST) && size <= S::of(FINE_FROM) && self.holds(torque, S::ZERO)
    }

    fn admits(&self, torque: PerSide<S>) -> bool {
        let slack = rounding(torque.left.magnitude() + torque.right.magnitude());
        let near = |span: NamedSpan<S>, value: S| {
            span.low.value - slack <= value && value <= span.high.value + slack
        };
        self.left.span().holds(torque.left)
            && self.right.span().holds(torque.right)
            && near(self.sum, torque.sum())
            && near(self.difference, torque.difference())
    }
}
