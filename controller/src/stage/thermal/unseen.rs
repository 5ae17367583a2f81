//! How hot an axle may be when nobody watched it: bounds, never an estimate.
//!
//! In: energies when last known, the longest time in which heat may have been made since, the air. Out: energies no axle
//! can exceed that keeps its clutches below their absolute temperatures.
//!
//! The network is linear and passes heat only from hot to cold, so what was there and what was added can be bounded apart:
//! from its own temperature (or the air's, if that is warmer) a node rises at most by all the heat that was added anywhere and
//! all that its hotter neighbours held above it, over its heat capacity; and what was there alone lifts no node above the
//! hottest one. Heat added: both clutches at their full capacity and the largest believable slip. Limits: the bound is
//! wide, seconds of full power in a clutch's plates; that is the price of not knowing.

use super::ThermalTunables;
use super::ledger::Nodes;
use super::network::Temperatures;
use crate::numerics::Scalar;
use crate::quantity::PerSide;

/// Energies after at most `time_s` of unwatched use from `stored` on; a time that is not known is for ever. Rises count `excess` times.
pub fn most<S: Scalar>(
    tunables: &ThermalTunables<S>,
    stored: &Nodes,
    (excess, time_s, ambient_degc): (S, Option<S>, S),
) -> Nodes {
    let network = &tunables.network;
    let last = network.temperatures(stored);
    let ceiling = absolute(tunables);
    let Some(time_s) = time_s.filter(|time_s| time_s.is_finite()) else {
        return network.nodes(&join(&last, &ceiling, S::most));
    };
    let power_w = tunables.slip_power.capacity_nm * tunables.slip_power.slip_rad_s * S::of(2.0);
    // A thousandth more than the sum, for the rounding of the sums below.
    let added_j = power_w.most(S::ZERO) * time_s.most(S::ZERO) * S::of(1.001);
    let held = [
        (last.surface_degc.left, network.surface_capacity_j_k),
        (last.surface_degc.right, network.surface_capacity_j_k),
        (last.core_degc.left, network.core_capacity_j_k),
        (last.core_degc.right, network.core_capacity_j_k),
        (last.oil_degc, network.oil_capacity_j_k),
        (last.housing_degc, network.housing_capacity_j_k),
    ];
    let hottest = held
        .iter()
        .fold(ambient_degc, |hottest, (degc, _)| hottest.most(*degc));
    let reached = |own: S, capacity: S| {
        let base = own.most(ambient_degc);
        // Pair by pair, so that a mirrored axle gives the mirrored bound.
        let above = held.map(|(degc, capacity)| capacity * (degc - base).most(S::ZERO));
        let [a, b, c, d, e, f] = above;
        let above_j = (a + b) + (c + d) + (e + f);
        let rise = |joule: S| (joule * excess).over(capacity, S::of(UNKNOWN_RISE_K));
        (base + rise(added_j + above_j)).least(hottest + rise(added_j))
    };
    let grown = Temperatures {
        surface_degc: last
            .surface_degc
            .map(|degc| reached(degc, network.surface_capacity_j_k)),
        core_degc: last
            .core_degc
            .map(|degc| reached(degc, network.core_capacity_j_k)),
        oil_degc: reached(last.oil_degc, network.oil_capacity_j_k),
        housing_degc: reached(last.housing_degc, network.housing_capacity_j_k),
    };
    // The law opens a clutch at the absolute temperature: what was colder cannot have passed it.
    let most = join(&grown, &join(&last, &ceiling, S::most), S::least);
    network.nodes(&most)
}

/// Rise of a node without heat capacity, K: nothing is known of it.
const UNKNOWN_RISE_K: f32 = 1000.0;

/// The hottest the law lets the axle become: no clutch makes heat above its absolute temperature or above the oil's, but what the plates
/// hold then still goes into oil and housing.
fn absolute<S: Scalar>(tunables: &ThermalTunables<S>) -> Temperatures<S> {
    let limits = &tunables.derating;
    let network = &tunables.network;
    let plates_j_k = (network.surface_capacity_j_k + network.core_capacity_j_k) * S::of(2.0);
    let above_k = (limits.surface_absolute_degc - limits.oil_absolute_degc).most(S::ZERO);
    let after = |capacity: S| {
        limits.oil_absolute_degc + (plates_j_k * above_k).over(capacity, S::of(UNKNOWN_RISE_K))
    };
    Temperatures {
        surface_degc: PerSide::both(limits.surface_absolute_degc),
        // Plates and hub are heated by nothing but the surface.
        core_degc: PerSide::both(limits.surface_absolute_degc),
        oil_degc: after(network.oil_capacity_j_k).least(limits.surface_absolute_degc),
        housing_degc: after(network.housing_capacity_j_k).least(limits.surface_absolute_degc),
    }
}

fn join<S: Scalar>(
    one: &Temperatures<S>,
    other: &Temperatures<S>,
    pick: fn(S, S) -> S,
) -> Temperatures<S> {
    Temperatures {
        surface_degc: one.surface_degc.zip(other.surface_degc, pick),
        core_degc: one.core_degc.zip(other.core_degc, pick),
        oil_degc: pick(one.oil_degc, other.oil_degc),
        housing_degc: pick(one.housing_degc, other.housing_degc),
    }
}
