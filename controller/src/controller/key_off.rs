//! What survives key-off: the controller's part of the stored record, and waking from it.
//!
//! Stored: the energy ledger, orders to open, touch points, radius ratios, the tick. Everything else starts anew. A known
//! time asleep cools; an unknown one does not, the hot side.

use super::laws::{Interpret, Refer};
use super::{Controller, ControllerState};
use crate::numerics::Real;
use crate::signal::Limit;
use crate::snapshot::{RadiusRatios, Snapshot};
use crate::stage::arbiter::Allocate;

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
            touch_point_microbar: Snapshot::touch_point_stored(
                self.state.actuation.touch_point_bar,
            ),
            radius_ratios: RadiusRatios {
                front: ratio(radius.front_right_to_left),
                rear: ratio(radius.rear_right_to_left),
                rear_over_front: ratio(radius.rear_to_front),
            },
            open: self.state.thermal.derating.map(|side| side.open),
        }
    }

    /// Starts anew from a stored record. `now_s` is the car's clock, `None` if it is not known; `ambient_degc` the air.
    pub fn wake(&mut self, stored: &Snapshot, now_s: Option<u64>, ambient_degc: S) {
        let mut state = ControllerState::at_rest();
        state.tick = stored.tick;
        state.thermal = self.stages.thermal.wake(
            &stored.ledger,
            stored.rest(now_s),
            ambient_degc,
            stored.open,
        );
        state.actuation.touch_point_bar = stored.touch_point_bar();
        let bound = self.calibration.tunables().vehicle_state.radius_bound;
        let beyond_one =
            |ratio: i32| (RadiusRatios::ratio::<S>(ratio) - S::ONE).within(-bound, bound);
        let ratios = &stored.radius_ratios;
        state.vehicle_state.radius.front_right_to_left = beyond_one(ratios.front);
        state.vehicle_state.radius.rear_right_to_left = beyond_one(ratios.rear);
        state.vehicle_state.radius.rear_to_front = beyond_one(ratios.rear_over_front);

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
        self.state = state;
    }
}
