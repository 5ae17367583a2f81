//! How heat spreads: surfaces, cores, oil, housing, air; conductances between.
//!
//! In: a [`Ledger`], heat per side (W), vehicle speed (m/s), ambient (degC). Out: the moves of one step, temperatures.
//!
//! C dT/dt = P - sum of G (T - T neighbour), per node; housing to air G = base + per speed * |v|.
//!
//! Two integrators. [`explicit_moves`] is the running law's: forward Euler from the temperatures at the start of the
//! step, every flow rounded once to a whole microjoule; stable while the period stays under twice the shortest time
//! constant (about 0.25 s here, so 1 to 20 ms is far inside). [`relaxed`] is backward Euler solved in closed form: stable
//! and order-preserving for any step, it follows a change later than the truth; used for rest and forecast.
//! Left and right mirror to the last bit: each side is worked out alike and joined by one sum.
//! Source: lumped resistance-capacitance network, common practice; values of the network are guesses, see [`Parameters`].

use super::ledger::{Ledger, Moves, Nodes};
use crate::numerics::Scalar;
use crate::quantity::PerSide;

/// Heat capacities and conductances of the axle, the same for both clutches.
pub use crate::calibration::HeatNetwork as Parameters;

/// Temperature of each node, degC.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Temperatures<S> {
    /// Friction surface of each clutch.
    pub surface_degc: PerSide<S>,
    /// Plates and hub of each clutch.
    pub core_degc: PerSide<S>,
    /// Oil of the axle.
    pub oil_degc: S,
    /// Housing of the axle.
    pub housing_degc: S,
}

impl<S: Scalar> Temperatures<S> {
    /// An axle that is `degc` warm all through.
    pub fn all(degc: S) -> Self {
        Self {
            surface_degc: PerSide::both(degc),
            core_degc: PerSide::both(degc),
            oil_degc: degc,
            housing_degc: degc,
        }
    }
}

/// What surrounds the axle during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings<S> {
    /// Vehicle speed, m/s; its sign does not matter.
    pub speed_m_s: S,
    /// Air at the housing, degC.
    pub ambient_degc: S,
}

/// Microjoules in a joule; exact in `f32`.
pub const UJ_PER_J: f32 = 1.0e6;

/// Temperature given for a node without heat capacity, degC: hot, because nothing is known.
const UNKNOWN_DEGC: f32 = 1000.0;

impl<S: Scalar> Parameters<S> {
    /// Energies of an axle that is `degc` warm all through.
    pub fn nodes_at(&self, degc: S) -> Nodes {
        self.nodes(&Temperatures::all(degc))
    }

    /// Energies of an axle with these temperatures.
    pub fn nodes(&self, at: &Temperatures<S>) -> Nodes {
        let energy = |degc: S, capacity: S| (degc * capacity * S::of(UJ_PER_J)).to_whole();
        Nodes {
            surface_uj: at
                .surface_degc
                .map(|degc| energy(degc, self.surface_capacity_j_k)),
            core_uj: at
                .core_degc
                .map(|degc| energy(degc, self.core_capacity_j_k)),
            oil_uj: energy(at.oil_degc, self.oil_capacity_j_k),
            housing_uj: energy(at.housing_degc, self.housing_capacity_j_k),
        }
    }

    /// Temperatures of an axle with these energies.
    pub fn temperatures(&self, nodes: &Nodes) -> Temperatures<S> {
        let at = self.quotients(nodes, |uj, uj_per_k| uj.per(uj_per_k));
        let size = |pair: PerSide<S>| pair.left.magnitude() + pair.right.magnitude();
        // One look finds every temperature that is no number.
        let sum = (size(at.surface_degc) + size(at.core_degc))
            + (at.oil_degc.magnitude() + at.housing_degc.magnitude());
        if sum.is_finite() {
            at
        } else {
            self.quotients(nodes, |uj, uj_per_k| uj.over(uj_per_k, S::of(UNKNOWN_DEGC)))
        }
    }

    fn quotients(&self, nodes: &Nodes, quotient: impl Fn(S, S) -> S) -> Temperatures<S> {
        let degc = |uj: i64, capacity: S| quotient(S::from_whole(uj), capacity * S::of(UJ_PER_J));
        Temperatures {
            surface_degc: nodes
                .surface_uj
                .map(|uj| degc(uj, self.surface_capacity_j_k)),
            core_degc: nodes.core_uj.map(|uj| degc(uj, self.core_capacity_j_k)),
            oil_degc: degc(nodes.oil_uj, self.oil_capacity_j_k),
            housing_degc: degc(nodes.housing_uj, self.housing_capacity_j_k),
        }
    }

    /// Conductance housing to air, W/K; an unknown or unbelievable speed counts as standstill, which cools
    /// least.
    pub fn to_ambient_w_k(&self, speed_m_s: S) -> S {
        let size = speed_m_s.magnitude();
        let speed = if size <= self.fastest_speed_m_s {
            size
        } else {
            S::ZERO
        };
        self.housing_ambient_w_k + self.housing_ambient_per_speed_w_s_k_m * speed
    }

    /// Longest period, s, for which the explicit step neither swings nor reverses an order of temperatures: every node
    /// passes on at most its whole excess. The calibration's cross-field rule asks for at least the period in use.
    pub fn longest_explicit_period_s(&self, speed_m_s: S) -> S {
        let surface = self.surface_core_w_k + self.surface_oil_w_k;
        let core = self.surface_core_w_k + self.core_oil_w_k;
        let oil = self.oil_housing_w_k + (self.surface_oil_w_k + self.core_oil_w_k) * S::of(2.0);
        let housing = self.oil_housing_w_k + self.to_ambient_w_k(speed_m_s);
        let shortest = |capacity: S, conductance: S| capacity.over(conductance, S::ZERO);
        shortest(self.surface_capacity_j_k, surface)
            .least(shortest(self.core_capacity_j_k, core))
            .least(shortest(self.oil_capacity_j_k, oil))
            .least(shortest(self.housing_capacity_j_k, housing))
    }
}

/// The moves of one step of `period_s` with `heat_w` per side, from the temperatures at its start.
pub fn explicit_moves<S: Scalar>(
    parameters: &Parameters<S>,
    at: &Temperatures<S>,
    heat_w: PerSide<S>,
    around: &Surroundings<S>,
    period_s: S,
) -> Moves {
    let scale = period_s * S::of(UJ_PER_J);
    let flow = |conductance: S, from: S, to: S| (conductance * (from - to) * scale).to_whole();
    Moves {
        heat_uj: heat_w.map(|heat| (heat * scale).to_whole()),
        surface_to_core_uj: at.surface_degc.zip(at.core_degc, |surface, core| {
            flow(parameters.surface_core_w_k, surface, core)
        }),
        surface_to_oil_uj: at
            .surface_degc
            .map(|surface| flow(parameters.surface_oil_w_k, surface, at.oil_degc)),
        core_to_oil_uj: at
            .core_degc
            .map(|core| flow(parameters.core_oil_w_k, core, at.oil_degc)),
        oil_to_housing_uj: flow(parameters.oil_housing_w_k, at.oil_degc, at.housing_degc),
        housing_to_ambient_uj: flow(
            parameters.to_ambient_w_k(around.speed_m_s),
            at.housing_degc,
            around.ambient_degc,
        ),
    }
}

/// Temperatures after `time_s` by one backward Euler step with constant heat per side.
///
/// The network is a tree, so elimination is a closed form; every pivot is written as a sum of positive terms, so no
/// digits cancel however long the step. A time that is not positive changes nothing.
pub fn relaxed<S: Scalar>(
    parameters: &Parameters<S>,
    at: &Temperatures<S>,
    heat_w: PerSide<S>,
    around: &Surroundings<S>,
    time_s: S,
) -> Temperatures<S> {
    let passes = time_s > S::ZERO;
    if !passes {
        return *at;
    }
    let per_time = |capacity: S| capacity.over(time_s, S::ZERO);
    let surface_rate = per_time(parameters.surface_capacity_j_k);
    let core_rate = per_time(parameters.core_capacity_j_k);
    let oil_rate = per_time(parameters.oil_capacity_j_k);
    let housing_rate = per_time(parameters.housing_capacity_j_k);
    let across = parameters.surface_core_w_k;
    let surface_oil = parameters.surface_oil_w_k;
    let core_oil = parameters.core_oil_w_k;
    let oil_housing = parameters.oil_housing_w_k;
    let to_ambient = parameters.to_ambient_w_k(around.speed_m_s);

    // One clutch as a function of the oil: T = own + share * oil, with 1 - share = (…) / pivot.
    let surface_sum = surface_rate + across + surface_oil;
    let core_sum = core_rate + across + core_oil;
    let surface_apart = surface_rate * core_sum + across * core_rate;
    let core_apart = core_rate * surface_sum + across * surface_rate;
    let surface_share_top = core_sum * surface_oil + across * core_oil;
    let core_share_top = surface_sum * core_oil + across * surface_oil;
    let pivot = surface_apart + surface_share_top;
    let over_pivot = |top: S| top.over(pivot, S::ZERO);
    let surface_share = over_pivot(surface_share_top);
    let core_share = over_pivot(core_share_top);
    let own = at
        .surface_degc
        .zip(at.core_degc, |surface, core| (surface, core))
        .zip(heat_w, |(surface, core), heat| {
            let surface_in = surface_rate * surface + heat;
            let core_in = core_rate * core;
            (
                over_pivot(core_sum * surface_in + across * core_in),
                over_pivot(surface_sum * core_in + across * surface_in),
            )
        });

    let held_by_plates =
        (surface_oil * over_pivot(surface_apart) + core_oil * over_pivot(core_apart)) * S::of(2.0);
    let from_plates = own
        .map(|(surface, core)| surface_oil * surface + core_oil * core)
        .sum();
    let oil_own = oil_rate + held_by_plates;
    let housing_own = housing_rate + to_ambient;
    let oil_in = oil_rate * at.oil_degc + from_plates;
    let housing_in = housing_rate * at.housing_degc + to_ambient * around.ambient_degc;
    let pivot = oil_housing * (oil_own + housing_own) + oil_own * housing_own;
    let oil_degc =
        ((housing_own + oil_housing) * oil_in + oil_housing * housing_in).over(pivot, at.oil_degc);
    let housing_degc =
        ((oil_own + oil_housing) * housing_in + oil_housing * oil_in).over(pivot, at.housing_degc);
    Temperatures {
        surface_degc: own.map(|(surface, _)| surface + surface_share * oil_degc),
        core_degc: own.map(|(_, core)| core + core_share * oil_degc),
        oil_degc,
        housing_degc,
    }
}

/// Temperatures after a rest of `time_s` without heat, at standstill.
///
/// Bounded work: at most [`REST_STEPS`] backward Euler steps, each 6 % longer than the one before; the last takes
/// what is left, however long.
pub fn cooled<S: Scalar>(
    parameters: &Parameters<S>,
    from: &Temperatures<S>,
    time_s: S,
    ambient_degc: S,
) -> Temperatures<S> {
    let around = Surroundings {
        speed_m_s: S::ZERO,
        ambient_degc,
    };
    let mut at = *from;
    let mut left_s = if time_s > S::ZERO { time_s } else { S::ZERO };
    let mut step_s = S::of(REST_FIRST_STEP_S);
    for round in 1..=REST_STEPS {
        let take = if round == REST_STEPS {
            left_s
        } else {
            step_s.least(left_s)
        };
        at = relaxed(parameters, &at, PerSide::both(S::ZERO), &around, take);
        left_s = left_s - take;
        step_s = step_s * S::of(REST_GROWTH);
    }
    at
}

/// The ledger after a rest of `time_s` without heat, at standstill.
///
/// What was lost is booked. Against the exact solution a rest keeps up to 1 K too much in the
/// surface in the first second and never loses more than 1e-3 of the stored heat too much (test `reference_thermal`).
pub fn rested<S: Scalar>(
    parameters: &Parameters<S>,
    ledger: &Ledger,
    time_s: S,
    ambient_degc: S,
) -> Ledger {
    let from = parameters.temperatures(&ledger.nodes());
    let mut after = *ledger;
    if time_s > S::ZERO {
        let at = cooled(parameters, &from, time_s, ambient_degc);
        after.settle(parameters.nodes(&at));
    }
    after
}

/// Most steps a rest is cut into.
pub const REST_STEPS: u32 = 192;

/// First and shortest step of a rest, s.
const REST_FIRST_STEP_S: f32 = 0.05;

/// Growth of the steps of a rest: 16 h in all; the last step takes what is left.
const REST_GROWTH: f32 = 1.06;
