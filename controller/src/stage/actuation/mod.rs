//! From granted capacity to pressure and current, and the torque to expect.
//!
//! In: granted capacity (Nm), slip (rad/s, as sensed), core and oil temperature (degC). Out per side: pressure (bar),
//! current (A), the torque the settled pressure carries while slipping (Nm) and the interval it lies in.
//!
//! C = n mu R (A p - F), p = (C / (n mu R) + F) / A + touch-point offset, i = i0 + (p - a) / (k (1 + g)); touch point, a and g
//! are learned ([`learning`]), zero for a new unit.
//! mu = mu0 + slope * decades of |slip| above 1 rad/s + temperature coefficient * (T - 80 degC), held between bounds;
//! T is the warmer of the side's core and the oil: warm friction is lower, so a cold guess would give too little.
//! A zero, negative or undefined grant gives zero pressure and the rest current below the touch point.
//! Sources: disc clutch capacity, mechanical engineering textbooks; rise of friction with speed wanted against judder,
//! 10.1007/s10010-023-00669-4 (abstract); error of +-10 % and +-30 Nm from memory. Limits: torque is that of the settled
//! clutch; dead time and lag are in `thermal::slip_power`.

pub mod learning;

use crate::numerics::Scalar;
use crate::numerics::table::interpolate;
use crate::quantity::{PerSide, Sensed};
use crate::stage::Stage;

/// Calibration of the actuation.
pub use crate::calibration::{ActuationTunables, Learning};

/// The actuation stage with its calibration.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Actuation<S> {
    /// Calibration in use.
    pub tunables: ActuationTunables<S>,
    /// How far learned values are believed.
    pub believed: Believed<S>,
    ready: Ready<S>,
}

/// Numbers of the calibration that would be the same in every step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Ready<S> {
    newton_per_bar: S,
    spring_bar: S,
    reach_a: S,
}

/// How far learned values are believed, either way.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Believed<S> {
    /// Touch point, bar.
    pub touch_point_bar: S,
    /// Pressure of a valve beside the calibration's, bar.
    pub valve_offset_bar: S,
    /// Pressure per current beyond the calibration's, share.
    pub valve_gain_share: S,
}

impl<S: Scalar> Believed<S> {
    /// What a calibration says of it.
    pub fn of(actuation: &ActuationTunables<S>, learning: &Learning<S>) -> Self {
        Self {
            touch_point_bar: actuation.touch_point_bar,
            valve_offset_bar: learning.valve_offset_bar,
            valve_gain_share: learning.valve_gain_share,
        }
    }
}

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct In<S> {
    /// Capacity granted to each clutch, Nm at the wheel.
    pub granted_nm: PerSide<S>,
    /// Slip of each clutch, rad/s; a lost one counts as 1 rad/s, where the friction is the nominal one.
    pub slip_rad_s: PerSide<Sensed<S>>,
    /// Core temperature of each clutch, degC.
    pub core_degc: PerSide<S>,
    /// Oil temperature, degC.
    pub oil_degc: S,
}

/// What the stage remembers; persisted over key-off.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct State<S> {
    /// Learned offset of the touch point of each clutch, bar: pressure the plates need beyond the spring's.
    pub touch_point_bar: PerSide<S>,
    /// Learned pressure of each valve beside the calibration's at the same current, bar.
    pub valve_offset_bar: PerSide<S>,
    /// Learned pressure per current beyond the calibration's, share.
    pub valve_gain_share: PerSide<S>,
}

impl<S: Scalar> State<S> {
    /// Every value within its bounds; what is no number counts as nothing learned.
    #[must_use]
    pub fn bounded(self, believed: &Believed<S>) -> Self {
        let within = |pair: PerSide<S>, bound: S| pair.map(|value| value.within(-bound, bound));
        Self {
            touch_point_bar: within(self.touch_point_bar, believed.touch_point_bar),
            valve_offset_bar: within(self.valve_offset_bar, believed.valve_offset_bar),
            valve_gain_share: within(self.valve_gain_share, believed.valve_gain_share),
        }
    }

    fn left(&self) -> Learned<S> {
        Learned {
            touch_point_bar: self.touch_point_bar.left,
            valve_offset_bar: self.valve_offset_bar.left,
            valve_gain_share: self.valve_gain_share.left,
        }
    }

    fn right(&self) -> Learned<S> {
        Learned {
            touch_point_bar: self.touch_point_bar.right,
            valve_offset_bar: self.valve_offset_bar.right,
            valve_gain_share: self.valve_gain_share.right,
        }
    }
}

/// What was learned of one clutch.
struct Learned<S> {
    touch_point_bar: S,
    valve_offset_bar: S,
    valve_gain_share: S,
}

/// What the stage finds out.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Out<S> {
    /// Pressure commanded, bar.
    pub pressure_bar: PerSide<S>,
    /// Current commanded, A.
    pub current_a: PerSide<S>,
    /// Capacity the commanded pressure gives, Nm; below the grant only where pressure or current end.
    pub estimate_nm: PerSide<S>,
    /// Lower end of the capacity to expect, Nm, never negative.
    pub torque_low_nm: PerSide<S>,
    /// Upper end of the capacity to expect, Nm.
    pub torque_high_nm: PerSide<S>,
}

/// Temperature the friction coefficient is stated at, degC.
const REFERENCE_DEGC: f32 = 80.0;

/// Pascal in a bar.
const PASCAL_PER_BAR: f32 = 1.0e5;

impl<S: Scalar> Actuation<S> {
    /// The stage with this calibration.
    pub fn new(tunables: ActuationTunables<S>, learning: &Learning<S>) -> Self {
        let newton_per_bar = tunables.piston_area_m2 * S::of(PASCAL_PER_BAR);
        let ready = Ready {
            newton_per_bar,
            spring_bar: tunables.return_spring_n.over(newton_per_bar, S::ZERO),
            reach_a: tunables.current_a - tunables.current_offset_a,
        };
        Self {
            tunables,
            believed: Believed::of(&tunables, learning),
            ready,
        }
    }

    /// Friction coefficient at a slip (its sign does not matter) and a temperature; always inside the believable bounds.
    pub fn friction_at(&self, slip_rad_s: S, degc: S) -> S {
        let tunables = &self.tunables;
        // Decades above 1 rad/s, straight between the powers of ten: total, even, and without a logarithm.
        let decades = interpolate(
            &[
                (S::ZERO, -S::ONE),
                (S::of(0.1), -S::ONE),
                (S::ONE, S::ZERO),
                (S::of(10.0), S::ONE),
                (S::of(100.0), S::of(2.0)),
            ],
            slip_rad_s.magnitude(),
        );
        let warmer = degc - S::of(REFERENCE_DEGC);
        let friction = tunables.friction
            + tunables.friction_per_decade * decades
            + tunables.friction_per_kelvin_1_k * warmer;
        let friction = if friction.is_finite() {
            friction
        } else {
            tunables.friction
        };
        friction.within(tunables.friction_low, tunables.friction_high)
    }

    #[inline(always)]
    fn command(
        &self,
        granted_nm: S,
        slip_rad_s: Sensed<S>,
        warmest_degc: S,
        learned: &Learned<S>,
    ) -> Command<S> {
        let tunables = &self.tunables;
        if !granted_nm.is_above_zero() {
            return Command {
                pressure_bar: S::ZERO,
                current_a: tunables.rest_current_a,
                estimate_nm: S::ZERO,
            };
        }
        let friction = self.friction_at(slip_rad_s.or(S::ONE), warmest_degc);
        let per_newton_m = tunables.faces * friction * tunables.effective_radius_m;
        let newton_per_bar = self.ready.newton_per_bar;
        // Bounded here too: whatever put them there, wild learned values do no more than believable ones.
        let bounded = |value: S, bound: S| value.within(-bound, bound);
        let touch_bar =
            self.ready.spring_bar + bounded(learned.touch_point_bar, self.believed.touch_point_bar);
        let offset_bar = bounded(learned.valve_offset_bar, self.believed.valve_offset_bar);
        let gain_bar_a = tunables.pressure_per_current_bar_a
            * (S::ONE + bounded(learned.valve_gain_share, self.believed.valve_gain_share));
        let reach_bar = self.ready.reach_a * gain_bar_a + offset_bar;
        let highest_bar = tunables.pressure_bar.at_most(reach_bar);
        let wanted_bar = touch_bar + granted_nm.per(per_newton_m * newton_per_bar);
        let pressure_bar = wanted_bar.up_to(highest_bar).at_least(S::ZERO);
        let current_a = (tunables.current_offset_a + (pressure_bar - offset_bar).per(gain_bar_a))
            .at_least(S::ZERO);
        // A grant within reach is its own estimate: going back through the pressure would only add rounding.
        let estimate_nm = if pressure_bar < wanted_bar {
            ((pressure_bar - touch_bar) * newton_per_bar * per_newton_m).up_to(granted_nm)
        } else {
            granted_nm
        };
        Command {
            pressure_bar,
            current_a: current_a.at_most(tunables.current_a),
            estimate_nm,
        }
    }
}

impl<S: Scalar> Stage<S> for Actuation<S> {
    type In = In<S>;
    type Out = Out<S>;
    type State = State<S>;

    #[inline(always)]
    fn step(&self, state: &mut State<S>, input: &In<S>, _period_s: S) -> Out<S> {
        let tunables = &self.tunables;
        let oil_degc = input.oil_degc;
        let command = PerSide {
            left: self.command(
                input.granted_nm.left,
                input.slip_rad_s.left,
                input.core_degc.left.at_least(oil_degc),
                &state.left(),
            ),
            right: self.command(
                input.granted_nm.right,
                input.slip_rad_s.right,
                input.core_degc.right.at_least(oil_degc),
                &state.right(),
            ),
        };
        let estimate_nm = command.map(|side| side.estimate_nm);
        let error = |torque: S| torque * tunables.relative_error + tunables.absolute_error_nm;
        Out {
            pressure_bar: command.map(|side| side.pressure_bar),
            current_a: command.map(|side| side.current_a),
            estimate_nm,
            torque_low_nm: estimate_nm.map(|torque| (torque - error(torque)).at_least(S::ZERO)),
            torque_high_nm: estimate_nm.map(|torque| torque + error(torque)),
        }
    }
}

/// What one clutch is told.
#[derive(Clone, Copy)]
struct Command<S> {
    pressure_bar: S,
    current_a: S,
    estimate_nm: S,
}
