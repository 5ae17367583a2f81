//! Heat without a thermometer: an integer energy ledger.
//!
//! In: granted capacity (Nm) and slip (rad/s) per side, speed (m/s), ambient (degC). Out: heat, temperatures, ceiling on
//! the capacity with its reason, time to the limit, order to open. The ceilings enter the authority in the NEXT step.
//!
//! [`slip_power`] turns grant and slip into heat, which enters the ledger in every step; [`network`] spreads it and finds the
//! temperatures once in [`MOVE_EVERY_S`] (the fastest node needs ten times as long to follow); [`ledger`] is the state, whole microjoules
//! moved between nodes; [`bound`] is what the truth stays below; [`derating`] says what the heat leaves by that bound;
//! [`forecast`] how long the present use can go on; [`usage`] counts what the axle does, with the functions of [`life`] and [`rainflow`].
//!
//! Not done yet: learning of conductances.
//! Never done: a temperature as a floating-point state.

pub mod bound;
pub mod derating;
pub mod forecast;
pub mod ledger;
pub mod life;
pub mod network;
pub mod rainflow;
pub mod slip_power;
pub mod unseen;
pub mod usage;

use crate::numerics::{Real, Scalar};
use crate::quantity::{PerSide, Sensed};
use crate::signal::Limit;
use crate::stage::Stage;
use ledger::{Ledger, Nodes};
use network::{Surroundings, Temperatures};

/// Time after which heat moves between the nodes, s; in every step where the control period is longer.
pub const MOVE_EVERY_S: f32 = 0.02;

/// Calibration of the whole stage, one group of the catalogue per room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThermalTunables<S> {
    /// Heat capacities and conductances.
    pub network: network::Parameters<S>,
    /// How far network and heat may be off.
    pub bound: bound::Parameters<S>,
    /// Torque and slip to heat.
    pub slip_power: slip_power::Parameters<S>,
    /// Temperatures to ceilings.
    pub derating: derating::Parameters<S>,
    /// Time to the limit, and what is assumed of the air.
    pub forecast: forecast::Tunables<S>,
    /// What is counted of the use.
    pub life: usage::Parameters<S>,
}

impl<S: Scalar> ThermalTunables<S> {
    /// The defaults of the catalogue.
    pub fn nominal() -> Self {
        Self {
            network: network::Parameters::nominal(),
            bound: bound::Parameters::nominal(),
            slip_power: slip_power::Parameters::nominal(),
            derating: derating::Parameters::nominal(),
            forecast: forecast::Tunables::nominal(),
            life: usage::Parameters::nominal(),
        }
    }
}

impl<S: Scalar> Default for ThermalTunables<S> {
    fn default() -> Self {
        Self::nominal()
    }
}

/// The thermal stage with its calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermal<S> {
    /// Calibration in use.
    pub tunables: ThermalTunables<S>,
}

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct In<S> {
    /// Capacity granted to each clutch in this step, Nm at the wheel, never negative; NaN counts as the full capacity.
    pub granted_nm: PerSide<S>,
    /// Slip of each clutch (shaft minus wheel), rad/s; a lost one counts as the largest believable.
    pub slip_rad_s: PerSide<Sensed<S>>,
    /// Vehicle speed, m/s; NaN counts as standstill, which cools least.
    pub speed_m_s: S,
    /// Air temperature, degC; NaN counts as hot.
    pub ambient_degc: S,
}

/// What the stage remembers. `Default` is an axle at 0 degC, the zero of the ledger, with nothing withdrawn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct State<S> {
    /// Energies: the estimate.
    pub estimate: Ledger,
    /// Temperatures that the truth stays below.
    pub bound: bound::State<S>,
    /// Grants on their way to the clutches.
    pub slip_power: slip_power::State<S>,
    /// Ceilings and orders.
    pub derating: PerSide<derating::SideState<S>>,
    /// The look ahead in progress.
    pub forecast: forecast::State<S>,
    /// Counters of use.
    pub usage: usage::State<S>,
    /// Temperatures of the estimate when heat moved last, degC; nothing where they must be worked out anew.
    pub at: Option<Temperatures<S>>,
    /// Energies these temperatures are of.
    pub nodes_then: Nodes,
    /// Heat taken in until then, microjoules.
    pub taken_in_then_uj: PerSide<i64>,
    /// Steps since then.
    pub waited: u8,
    /// Time from the last time before that, s.
    pub stride_s: S,
    /// Whether heat still has to move between the nodes for that time.
    pub unmoved: bool,
    /// Whether the counters of use have not seen it yet.
    pub uncounted: bool,
    /// The bound then, degC.
    pub most: Temperatures<S>,
    /// Whether every temperature of the bound lay below the start of its slope then, with nothing withdrawn or ordered: until
    /// heat moves again the ceilings stay.
    pub cool: bool,
}

impl<S: Scalar> State<S> {
    /// An axle that is `degc` warm all through, at rest, with nothing withdrawn.
    pub fn at(parameters: &network::Parameters<S>, degc: S) -> Self {
        let mut state = Self::default();
        state.begin_at(parameters, degc);
        state
    }

    /// Begins anew as [`State::at`] does, in its place.
    pub fn begin_at(&mut self, parameters: &network::Parameters<S>, degc: S) {
        // Piece by piece: a whole state built aside would take its size of stack.
        self.slip_power = slip_power::State::default();
        self.derating = PerSide::default();
        self.forecast = forecast::State::default();
        self.usage = usage::State::default();
        self.at = None;
        self.nodes_then = Nodes::default();
        self.taken_in_then_uj = PerSide::default();
        self.waited = 0;
        self.stride_s = S::ZERO;
        self.unmoved = false;
        self.uncounted = false;
        self.most = Temperatures::default();
        self.cool = false;
        self.estimate = Ledger::opened(parameters.nodes_at(degc));
        self.bound = bound::State::at(&Temperatures::all(degc), PerSide::both(0));
    }
}

/// What the stage finds out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Out<S> {
    /// Torque each clutch is thought to carry while it slips, Nm, never negative.
    pub torque_nm: PerSide<S>,
    /// Slip heat of each clutch, W, never negative.
    pub heat_w: PerSide<S>,
    /// Friction surfaces, degC.
    pub surface_degc: PerSide<S>,
    /// Plates and hubs, degC.
    pub core_degc: PerSide<S>,
    /// Oil, degC.
    pub oil_degc: S,
    /// Housing, degC.
    pub housing_degc: S,
    /// Most the friction surfaces may have, degC.
    pub surface_bound_degc: PerSide<S>,
    /// Most plates and hubs may have, degC.
    pub core_bound_degc: PerSide<S>,
    /// Most the oil may have, degC.
    pub oil_bound_degc: S,
    /// Share of the capacity the heat leaves, 0 to 1.
    pub ceiling: PerSide<S>,
    /// What set the ceiling; [`Limit::Nothing`] at 1.
    pub ceiling_by: PerSide<Limit>,
    /// Time to the first limit at the present use, s, at most the horizon.
    pub time_to_limit_s: PerSide<S>,
    /// Whether the clutch is ordered open by an absolute temperature.
    pub open: PerSide<bool>,
    /// Shares of life used.
    pub life: usage::Told<S>,
}

/// How long the axle rested with the controller asleep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rest<S> {
    /// For this time, s; a time that is no number counts as unknown.
    Known(S),
    /// Nobody knows: the hot side is assumed.
    Unknown,
}

impl<S: Scalar> Thermal<S> {
    /// The stage with this calibration.
    pub fn new(tunables: ThermalTunables<S>) -> Self {
        Self { tunables }
    }

    /// State on waking from a stored ledger. A known rest cools it; an unknown one does not, and lets every node be as warm as its
    /// neighbours and the air may have made it. `most` is the bound of key-off ([`Thermal::most`]); where it was not kept, the bound starts
    /// as far above the estimate as one drive's heat and network may be off.
    ///
    /// `was_open` holds the orders to open at key-off: they stand until the re-entry temperatures allow their end.
    pub fn wake(
        &self,
        (stored, most): (&Ledger, Option<Temperatures<S>>),
        rest: Rest<S>,
        ambient_degc: S,
        was_open: PerSide<bool>,
    ) -> State<S> {
        let time_s = match rest {
            Rest::Known(time_s) => time_s,
            Rest::Unknown => {
                return self.wake_unseen((stored, most), Some(S::ZERO), ambient_degc, was_open);
            }
        };
        let network = &self.tunables.network;
        let ambient_degc = self.believed_ambient(ambient_degc);
        let estimate = network::rested(network, stored, time_s, ambient_degc);
        let bound = bound::State::woken(
            network,
            &self.tunables.bound,
            &self.most_at_key_off(stored, most, ambient_degc),
            estimate.taken_in_uj(),
            time_s,
            ambient_degc,
        );
        self.woken(estimate, bound, was_open)
    }

    /// State on waking when heat may have been made unwatched since `stored` was noted: for at most `unseen_s`, or for nobody knows how
    /// long. The books go on; what the bound adds counts as gained.
    pub fn wake_unseen(
        &self,
        (stored, most): (&Ledger, Option<Temperatures<S>>),
        unseen_s: Option<S>,
        ambient_degc: S,
        was_open: PerSide<bool>,
    ) -> State<S> {
        let ambient_degc = self.believed_ambient(ambient_degc);
        let tunables = &self.tunables;
        let right = (S::ONE, unseen_s, ambient_degc);
        let mut hottest = *stored;
        hottest.settle(unseen::most(tunables, &stored.nodes(), right));
        let before = tunables
            .network
            .nodes(&self.most_at_key_off(stored, most, ambient_degc));
        let off = (bound::excess(&tunables.bound), unseen_s, ambient_degc);
        let most = unseen::most(tunables, &before, off);
        let bound = bound::State::at(&tunables.network.temperatures(&most), hottest.taken_in_uj());
        self.woken(hottest, bound, was_open)
    }

    fn most_at_key_off(
        &self,
        stored: &Ledger,
        most: Option<Temperatures<S>>,
        ambient_degc: S,
    ) -> Temperatures<S> {
        let estimate = self.tunables.network.temperatures(&stored.nodes());
        most.unwrap_or_else(|| bound::assumed(&self.tunables.bound, &estimate, ambient_degc))
    }

    fn woken(&self, estimate: Ledger, bound: bound::State<S>, was_open: PerSide<bool>) -> State<S> {
        let network = &self.tunables.network;
        let at = network.temperatures(&estimate.nodes());
        let most = bound.now(network, &self.tunables.bound, &at, estimate.taken_in_uj());
        State {
            estimate,
            bound,
            derating: derating::woken(&self.tunables.derating, &most, was_open),
            ..State::default()
        }
    }

    /// The bound as it is kept over key-off: without what is added for the profile in the plates.
    pub fn most(&self, state: &State<S>) -> Temperatures<S> {
        let tunables = &self.tunables;
        let at = self.temperatures(state);
        let taken_in_uj = state.estimate.taken_in_uj();
        if tunables.bound.share > S::ZERO {
            state
                .bound
                .without_margin(&tunables.network, &tunables.bound, &at, taken_in_uj)
        } else {
            at
        }
    }

    /// Temperatures of a state.
    pub fn temperatures(&self, state: &State<S>) -> Temperatures<S> {
        self.tunables.network.temperatures(&state.estimate.nodes())
    }

    /// Works the state's temperatures and what follows from them out anew: for a state that came under another calibration.
    pub fn renew(&self, state: &mut State<S>, period_s: S) {
        if state.at.is_some() {
            self.note(state, state.nodes_then, state.taken_in_then_uj, period_s);
        }
    }

    /// Notes the temperatures of these energies and what changes no faster than they.
    fn note(
        &self,
        state: &mut State<S>,
        nodes: Nodes,
        taken_in_uj: PerSide<i64>,
        period_s: S,
    ) -> Temperatures<S> {
        let at = self.tunables.network.temperatures(&nodes);
        state.at = Some(at);
        state.nodes_then = nodes;
        slip_power::warmed(
            &self.tunables.slip_power,
            &mut state.slip_power,
            at.oil_degc,
            period_s,
        );
        state.taken_in_then_uj = taken_in_uj;
        let tunables = &self.tunables;
        state.most = state
            .bound
            .now(&tunables.network, &tunables.bound, &at, taken_in_uj);
        state.cool = derating::is_cool(&tunables.derating, &state.most)
            && derating::is_at_rest(&state.derating);
        at
    }

    /// What is left of the last time: with a long period every step is the next time.
    #[cold]
    #[inline(never)]
    fn catch_up(&self, state: &mut State<S>, input: &In<S>, at: &Temperatures<S>)
    where
        S: Real,
    {
        if state.unmoved {
            self.move_heat(state, input, at);
        }
        if state.uncounted {
            self.count(state, input, at);
        }
    }

    /// Heat moves between the nodes by the temperatures found last.
    fn move_heat(&self, state: &mut State<S>, input: &In<S>, at: &Temperatures<S>) {
        state.estimate.move_heat(&network::explicit_moves(
            &self.tunables.network,
            at,
            PerSide::both(S::ZERO),
            &self.around(input),
            state.stride_s,
        ));
        state.unmoved = false;
    }

    /// The counters of use see what led to the temperatures found last.
    fn count(&self, state: &mut State<S>, input: &In<S>, at: &Temperatures<S>)
    where
        S: Real,
    {
        state.usage.advance(
            &self.tunables.life,
            &usage::Seen {
                torque_nm: state.slip_power.torque_nm.map(|lag| lag.value),
                taken_in_uj: state.taken_in_then_uj,
                at,
                derated: state
                    .derating
                    .map(|side| side.open || side.withdrawn > S::ZERO),
                speed_m_s: input.speed_m_s,
            },
            state.stride_s,
        );
        state.uncounted = false;
    }

    fn around(&self, input: &In<S>) -> Surroundings<S> {
        Surroundings {
            speed_m_s: input.speed_m_s,
            ambient_degc: self.believed_ambient(input.ambient_degc),
        }
    }

    fn believed_ambient(&self, ambient_degc: S) -> S {
        let ambient = if ambient_degc.is_finite() {
            ambient_degc
        } else {
            self.tunables.forecast.unknown_ambient_degc
        };
        ambient.within(
            self.tunables.forecast.coldest_ambient_degc,
            self.tunables.forecast.hottest_ambient_degc,
        )
    }
}

impl<S: Real> Stage<S> for Thermal<S> {
    type In = In<S>;
    type Out = Out<S>;
    type State = State<S>;

    #[inline(always)]
    fn step(&self, state: &mut State<S>, input: &In<S>, period_s: S) -> Out<S> {
        let tunables = &self.tunables;
        // Temperatures are found when one more step would be too late.
        let steps = S::of(f32::from(state.waited));
        let at = match state.at {
            Some(at) if (steps + S::HALF) * period_s <= S::of(MOVE_EVERY_S) => {
                // One piece a step: first the heat moves, then what is left of the use is counted.
                if state.unmoved {
                    self.move_heat(state, input, &at);
                } else if state.uncounted {
                    self.count(state, input, &at);
                }
                at
            }
            before => {
                if let Some(at) = before
                    && (state.unmoved || state.uncounted)
                {
                    self.catch_up(state, input, &at);
                }
                let time_s = steps * period_s;
                let taken_in_uj = state.estimate.taken_in_uj();
                state.bound.advance(
                    &tunables.network,
                    &tunables.bound,
                    taken_in_uj,
                    &self.around(input),
                    time_s,
                );
                let at = self.note(state, state.estimate.nodes(), taken_in_uj, period_s);
                // Four times a second there is more to count: in a later step, so that no step carries both.
                state.stride_s = time_s;
                state.uncounted = state.usage.has_more_to_count();
                if !state.uncounted {
                    self.count(state, input, &at);
                }
                state.unmoved = true;
                state.waited = 0;
                at
            }
        };
        let moved = state.waited == 0;
        state.waited = state.waited.saturating_add(1);
        let slip_power::Found { torque_nm, heat_w } = slip_power::step(
            &tunables.slip_power,
            &mut state.slip_power,
            input.granted_nm,
            input.slip_rad_s,
        );
        let scale = period_s * S::of(network::UJ_PER_J);
        let heat_uj = heat_w.map(|heat| heat * scale);
        // Less than half a microjoule is none.
        if !(heat_uj.left < S::HALF && heat_uj.right < S::HALF) {
            state.estimate.take_in(heat_uj.map(S::to_whole));
        }
        // The estimate informs, the bound protects.
        let most = state.most;
        let ceilings = if state.cool {
            PerSide::both(derating::Ceiling::WHOLE)
        } else {
            derating::step(&tunables.derating, &mut state.derating, &most, period_s)
        };
        let time_to_limit_s = forecast::step(
            &tunables.network,
            &tunables.derating,
            &tunables.forecast,
            &mut state.forecast,
            &most,
            heat_w,
            || self.around(input),
            (period_s, moved),
        );
        Out {
            torque_nm,
            heat_w,
            surface_degc: at.surface_degc,
            core_degc: at.core_degc,
            oil_degc: at.oil_degc,
            housing_degc: at.housing_degc,
            surface_bound_degc: most.surface_degc,
            core_bound_degc: most.core_degc,
            oil_bound_degc: most.oil_degc,
            ceiling: ceilings.map(|ceiling| ceiling.share),
            ceiling_by: ceilings.map(|ceiling| ceiling.by),
            time_to_limit_s,
            open: ceilings.map(|ceiling| ceiling.open),
            life: state.usage.told,
        }
    }
}
