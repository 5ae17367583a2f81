//! Temperatures the axle may have at most: the bound that protects, beside the estimate that informs.
//!
//! In: slip heat (W), surroundings, the network's parameters, how far they may be off. Out: [`Temperatures`] that the truth stays below.
//!
//! Two networks run beside the estimate, each with more heat and worse conductances than believed, by the share they may be off; the
//! FAST one has less heat capacity, it leads while heat comes in; the SLOW one has more and keeps its heat longer, it leads at rest. For
//! one node the larger of both is the bound over the whole box of parameters to within 1 % (between the corners a capacity can be worse by
//! that); [`Parameters::beyond_k`] covers it, the rounding, and what a lump cannot know: the profile in the plates. Checked against the
//! plant's plates in `tests/tests/heat_campaign.rs`.
//! The networks take backward Euler steps in turn, one each time heat moves in the ledger; heat that waits counts as if it stayed in the
//! surface. What came in is read from the ledger. With a share of 0 the bound is the estimate. Limits: not a ledger; a believed ambient counts as true.

use super::network::{self, Surroundings, Temperatures, relaxed};
use crate::numerics::Scalar;
use crate::quantity::PerSide;

/// Calibration of the bound.
pub use crate::calibration::HeatBound as Parameters;

/// One network, the ledger's count of heat at its last stride, and the time since.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Track<S> {
    at: Temperatures<S>,
    taken_in_uj: PerSide<i64>,
    waiting_s: S,
}

/// Memory of the bound. All zero is an axle at 0 degC.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct State<S> {
    fast: Track<S>,
    slow: Track<S>,
    slow_is_next: bool,
}

impl<S: Scalar> State<S> {
    /// An axle whose truth is known to be this, with the ledger's count of heat taken in.
    pub fn at(known: &Temperatures<S>, taken_in_uj: PerSide<i64>) -> Self {
        let track = Track {
            at: *known,
            taken_in_uj,
            ..Track::default()
        };
        Self {
            fast: track,
            slow: track,
            slow_is_next: false,
        }
    }

    /// On waking with the bound of key-off ([`State::without_margin`]), which cools as slowly as it may; an unknown rest is none.
    pub fn woken(
        network: &network::Parameters<S>,
        parameters: &Parameters<S>,
        at_key_off: &Temperatures<S>,
        taken_in_uj: PerSide<i64>,
        rest_s: S,
        ambient_degc: S,
    ) -> Self {
        let (more, less) = (S::ONE + parameters.share, S::ONE - parameters.share);
        let slow = scaled(network, more, less);
        let at = network::cooled(&slow, at_key_off, rest_s, ambient_degc);
        Self::at(&at, taken_in_uj)
    }

    /// Time goes on by `time_s`: one of the networks takes what came in since its last stride.
    #[inline(never)]
    pub fn advance(
        &mut self,
        network: &network::Parameters<S>,
        parameters: &Parameters<S>,
        taken_in_uj: PerSide<i64>,
        around: &Surroundings<S>,
        time_s: S,
    ) {
        if !(parameters.share > S::ZERO) {
            return;
        }
        self.fast.waiting_s = self.fast.waiting_s + time_s;
        self.slow.waiting_s = self.slow.waiting_s + time_s;
        let (more, less) = (S::ONE + parameters.share, S::ONE - parameters.share);
        let (track, capacity) = if self.slow_is_next {
            (&mut self.slow, more)
        } else {
            (&mut self.fast, less)
        };
        let heat_w = track
            .waiting_j(taken_in_uj)
            .map(|joule| (joule * more).over(track.waiting_s, S::ZERO));
        let off = scaled(network, capacity, less);
        track.at = relaxed(&off, &track.at, heat_w, around, track.waiting_s);
        track.taken_in_uj = taken_in_uj;
        track.waiting_s = S::ZERO;
        self.slow_is_next = !self.slow_is_next;
    }

    /// The bound now; with a share of 0 it is the estimate.
    #[inline(always)]
    pub fn now(
        &self,
        network: &network::Parameters<S>,
        parameters: &Parameters<S>,
        estimate: &Temperatures<S>,
        taken_in_uj: PerSide<i64>,
    ) -> Temperatures<S> {
        if !(parameters.share > S::ZERO) {
            return *estimate;
        }
        let most = self.without_margin(network, parameters, estimate, taken_in_uj);
        let beyond = |degc: S| degc + parameters.beyond_k;
        Temperatures {
            surface_degc: most.surface_degc.map(beyond),
            core_degc: most.core_degc.map(beyond),
            oil_degc: beyond(most.oil_degc),
            housing_degc: beyond(most.housing_degc),
        }
    }

    /// The same without what is added for the profile: what is kept over key-off. Never below the estimate.
    #[inline(always)]
    pub fn without_margin(
        &self,
        network: &network::Parameters<S>,
        parameters: &Parameters<S>,
        estimate: &Temperatures<S>,
        taken_in_uj: PerSide<i64>,
    ) -> Temperatures<S> {
        let (more, less) = (S::ONE + parameters.share, S::ONE - parameters.share);
        // A joule that waits warms the surface of the fast network by this.
        let per_joule = more.over(less * network.surface_capacity_j_k, S::ZERO);
        let (fast, slow) = (&self.fast, &self.slow);
        let surface_degc = fast
            .at
            .surface_degc
            .zip(fast.waiting_j(taken_in_uj), |degc, joule| {
                degc + joule * per_joule
            });
        let most = |one: PerSide<S>, two: PerSide<S>, three: PerSide<S>| {
            one.zip(two, S::most).zip(three, S::most)
        };
        Temperatures {
            surface_degc: most(surface_degc, slow.at.surface_degc, estimate.surface_degc),
            core_degc: most(fast.at.core_degc, slow.at.core_degc, estimate.core_degc),
            oil_degc: fast
                .at
                .oil_degc
                .most(slow.at.oil_degc)
                .most(estimate.oil_degc),
            housing_degc: fast
                .at
                .housing_degc
                .most(slow.at.housing_degc)
                .most(estimate.housing_degc),
        }
    }
}

impl<S: Scalar> Track<S> {
    /// Heat that came in since the last stride, J.
    fn waiting_j(&self, taken_in_uj: PerSide<i64>) -> PerSide<S> {
        taken_in_uj.zip(self.taken_in_uj, |now, then| {
            S::from_whole(now.saturating_sub(then).max(0)).per(S::of(network::UJ_PER_J))
        })
    }
}

/// Rise over the air that the truth may have had where only the estimate is known: heat more, capacities and conductances less.
pub fn assumed<S: Scalar>(
    parameters: &Parameters<S>,
    estimate: &Temperatures<S>,
    ambient_degc: S,
) -> Temperatures<S> {
    let factor = excess(parameters);
    let hotter = |degc: S| (ambient_degc + (degc - ambient_degc) * factor).most(degc);
    Temperatures {
        surface_degc: estimate.surface_degc.map(hotter),
        core_degc: estimate.core_degc.map(hotter),
        oil_degc: hotter(estimate.oil_degc),
        housing_degc: hotter(estimate.housing_degc),
    }
}

/// Factor on a rise of temperature if heat, capacities and conductances are all off the hot way.
pub fn excess<S: Scalar>(parameters: &Parameters<S>) -> S {
    (S::ONE + parameters.share).over(S::ONE - parameters.share, S::ONE)
}

/// The network with all heat capacities and all conductances off by a factor.
fn scaled<S: Scalar>(
    network: &network::Parameters<S>,
    capacity: S,
    conductance: S,
) -> network::Parameters<S> {
    network::Parameters {
        surface_capacity_j_k: network.surface_capacity_j_k * capacity,
        core_capacity_j_k: network.core_capacity_j_k * capacity,
        oil_capacity_j_k: network.oil_capacity_j_k * capacity,
        housing_capacity_j_k: network.housing_capacity_j_k * capacity,
        surface_core_w_k: network.surface_core_w_k * conductance,
        surface_oil_w_k: network.surface_oil_w_k * conductance,
        core_oil_w_k: network.core_oil_w_k * conductance,
        oil_housing_w_k: network.oil_housing_w_k * conductance,
        housing_ambient_w_k: network.housing_ambient_w_k * conductance,
        housing_ambient_per_speed_w_s_k_m: network.housing_ambient_per_speed_w_s_k_m * conductance,
        fastest_speed_m_s: network.fastest_speed_m_s,
    }
}
