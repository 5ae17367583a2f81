//! What survives key-off: the controller's part of the stored record, and waking from it.
//!
//! Stored: the energy ledger, counters of use, orders to open, touch points and valves, radius ratios, the tick. Everything else starts anew. A known
//! time asleep cools; an unknown one does not, the hot side. A record of a drive under way, or one after which another is missing, tells
//! no heat: it is bounded by what can have been made since.

use super::laws::{Interpret, Refer};
use super::{Controller, ControllerState};
use crate::numerics::Real;
use crate::quantity::PerSide;
use crate::signal::Limit;
use crate::snapshot::{
    MostStored, RadiusRatios, Refusal, SIZE, Slot, Snapshot, ValveStored, recall,
};
use crate::stage::actuation;
use crate::stage::actuation::learning::LearningState;
use crate::stage::arbiter::Allocate;
use crate::stage::thermal::ledger::Ledger;
use crate::stage::thermal::network::Temperatures;
use crate::stage::thermal::usage::{self, Counters, Part};
use crate::stage::thermal::{self, Rest};

/// What is known of the heat on waking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum HeatOnWaking {
    /// As stored at key-off, cooled by the time asleep where that is known.
    Stored,
    /// Not seen to its end: bounded by what can have been made in the time since.
    Bounded,
    /// Nothing: every clutch starts at its absolute temperature and stays open until it is surely below.
    Unknown,
}

/// How a controller woke, for the car's fault memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Woken {
    /// Where the record was found; nowhere if nothing learned survived.
    pub slot: Option<Slot>,
    /// What is known of the heat.
    pub heat: HeatOnWaking,
    /// Why a record is missing that must have been written.
    pub gap: Option<Refusal>,
}

/// The car's clock counts whole seconds: a time between two of its readings is at most this much longer, s.
const CLOCK_STEP_S: i64 = 1;

impl<S: Real, A: Allocate<S>, R: Refer<S>, I: Interpret<S>> Controller<S, A, R, I> {
    /// The record to store at key-off; `sequence` counts records, `key_off_s` is the car's clock.
    pub fn snapshot(&self, sequence: u32, key_off_s: u64) -> Snapshot {
        let radius = &self.state.vehicle_state.radius;
        let ratio = |beyond_one: S| RadiusRatios::stored(S::ONE + beyond_one);
        Snapshot {
            sequence,
            tick: self.state.tick,
            key_off_s,
            ledger: self.state.thermal.estimate,
            most: Some(MostStored::of(
                &self.stages.thermal.most(&self.state.thermal),
            )),
            touch_point_microbar: Snapshot::touch_point_stored(
                self.state.actuation.touch_point_bar,
            ),
            valve: ValveStored::of(
                self.state.actuation.valve_offset_bar,
                self.state.actuation.valve_gain_share,
            ),
            radius_ratios: RadiusRatios {
                front: ratio(radius.front_right_to_left),
                rear: ratio(radius.rear_right_to_left),
                rear_over_front: ratio(radius.rear_to_front),
            },
            open: self.state.thermal.derating.map(|side| side.open),
            under_way: false,
            life: self.state.thermal.usage.counters,
        }
    }

    /// The record to store at key-on and, where the memory allows, now and then while driving.
    pub fn snapshot_under_way(&self, sequence: u32, now_s: u64) -> Snapshot {
        Snapshot {
            under_way: true,
            ..self.snapshot(sequence, now_s)
        }
    }

    /// What the axle has been used for.
    pub fn life(&self) -> &Counters {
        &self.state.thermal.usage.counters
    }

    /// A workshop renewed a part: its counters begin anew. Store a record afterwards.
    pub fn renewed(&mut self, part: Part) {
        let thermal = &mut self.state.thermal;
        let taken_in_uj = thermal.estimate.taken_in_uj();
        let parameters = &self.stages.thermal.tunables.life;
        thermal.usage.renew(parameters, part, taken_in_uj);
    }

    /// Starts anew from the two slots, however damaged; says what was found. A unit whose slots are empty
    /// starts as hot as can be: the end of the line writes both.
    pub fn wake_from(
        &mut self,
        slot_a: &[u8; SIZE],
        slot_b: &[u8; SIZE],
        now_s: Option<u64>,
        ambient_degc: S,
    ) -> Woken {
        let found = recall(slot_a, slot_b);
        let slot = found.record.map(|(slot, _)| slot);
        let record = found.record.map(|(_, record)| record).unwrap_or_default();
        if found.gap.is_some() {
            self.wake_unseen(&record, None, ambient_degc);
            return Woken {
                slot,
                heat: HeatOnWaking::Unknown,
                gap: found.gap,
            };
        }
        self.wake(&record, now_s, ambient_degc);
        let heat = match (record.under_way, record.rest::<S>(now_s)) {
            (false, _) => HeatOnWaking::Stored,
            (true, Rest::Known(_)) => HeatOnWaking::Bounded,
            (true, Rest::Unknown) => HeatOnWaking::Unknown,
        };
        Woken {
            slot,
            heat,
            gap: None,
        }
    }

    /// A clutch unit was put in: what was learned of the old one on the sides named is forgotten, and the new one starts from what
    /// the end of the line found of it; `actuation::State::default()` where that is not known, which is the calibration. The
    /// values are bounded like learned ones. Counters and heat are not touched: oil and housing may be the old ones.
    pub fn replace_unit(&mut self, replaced: PerSide<bool>, end_of_line: actuation::State<S>) {
        let new = self.believed(end_of_line);
        let known = &mut self.state.actuation;
        if replaced.left {
            known.touch_point_bar.left = new.touch_point_bar.left;
            known.valve_offset_bar.left = new.valve_offset_bar.left;
            known.valve_gain_share.left = new.valve_gain_share.left;
        }
        if replaced.right {
            known.touch_point_bar.right = new.touch_point_bar.right;
            known.valve_offset_bar.right = new.valve_offset_bar.right;
            known.valve_gain_share.right = new.valve_gain_share.right;
        }
        if replaced.left || replaced.right {
            self.state.learning = LearningState::default();
        }
    }

    fn believed(&self, learned: actuation::State<S>) -> actuation::State<S> {
        learned.bounded(&self.stages.actuation.believed)
    }

    fn wake_unseen(&mut self, stored: &Snapshot, unseen_s: Option<S>, ambient_degc: S) {
        let thermal =
            self.stages
                .thermal
                .wake_unseen(heat_of(stored), unseen_s, ambient_degc, stored.open);
        self.wake_with(stored, thermal);
    }

    /// Starts anew from a stored record. `now_s` is the car's clock, `None` if it is not known; `ambient_degc` the air.
    pub fn wake(&mut self, stored: &Snapshot, now_s: Option<u64>, ambient_degc: S) {
        let rest = stored.rest(now_s);
        if stored.under_way {
            let unseen_s = match rest {
                Rest::Known(time_s) => Some(time_s + S::from_whole(CLOCK_STEP_S)),
                Rest::Unknown => None,
            };
            self.wake_unseen(stored, unseen_s, ambient_degc);
        } else {
            let thermal =
                self.stages
                    .thermal
                    .wake(heat_of(stored), rest, ambient_degc, stored.open);
            self.wake_with(stored, thermal);
        }
    }

    fn wake_with(&mut self, stored: &Snapshot, thermal: thermal::State<S>) {
        self.state = ControllerState::at_rest();
        let actuation = self.believed(actuation::State {
            touch_point_bar: stored.touch_point_bar(),
            valve_offset_bar: stored.valve.offset_bar(),
            valve_gain_share: stored.valve.gain_share(),
        });
        let state = &mut self.state;
        state.tick = stored.tick;
        state.thermal = thermal;
        state.thermal.usage = usage::State::kept(&self.stages.thermal.tunables.life, &stored.life);
        state.actuation = actuation;
        let tunables = &self.stages.vehicle_state.tunables;
        let bound = tunables.radius_bound;
        let beyond_one =
            |ratio: i32| (RadiusRatios::ratio::<S>(ratio) - S::ONE).within(-bound, bound);
        let ratios = &stored.radius_ratios;
        state.vehicle_state.radius.front_right_to_left = beyond_one(ratios.front);
        state.vehicle_state.radius.rear_right_to_left = beyond_one(ratios.rear);
        state.vehicle_state.radius.rear_to_front = beyond_one(ratios.rear_over_front);
        state.vehicle_state.radius.renew(tunables);

        let at = self.stages.thermal.temperatures(&state.thermal);
        state.delayed.oil_degc = at.oil_degc;
        state.delayed.core_degc = at.core_degc;
        state.delayed.heat_ceiling = state.thermal.derating.map(|side| {
            if side.open {
                S::ZERO
            } else {
                S::ONE - side.withdrawn
            }
        });
        state.delayed.heat_by = state.thermal.derating.map(|side| {
            if side.open {
                Limit::AbsoluteHeat
            } else {
                side.by
            }
        });
    }
}

/// Ledger and bound of a record.
fn heat_of<S: Real>(stored: &Snapshot) -> (&Ledger, Option<Temperatures<S>>) {
    (&stored.ledger, stored.most.map(|most| most.temperatures()))
}
