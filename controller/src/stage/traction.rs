//! The rear torque demand: a share of the driver's torque, more when the front spins.
//!
//! The share follows agility and, while moving off, a launch share set before any wheel slips. Front wheels faster than
//! the car call for more, up to what the axle can carry: on split friction that drives the high side to capacity. While
//! moving off that call is given up slowly: wheel speed sensors are silent at crawl, and a call that comes and goes with
//! them sets the front wheels spinning again each time.

use super::Stage;
use crate::calibration;
use crate::numerics::Scalar;
use crate::numerics::filter::fading_share;
use crate::numerics::table::{fade_in, fade_out};

/// What the stage is told. Torques and speeds in driving direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TractionIn<S> {
    /// Torque the driver wants at the carrier, Nm.
    pub torque_nm: S,
    /// Moving off, 0 to 1.
    pub launch: S,
    /// Mean front wheel speed beyond the car's, m/s.
    pub front_spin_m_s: S,
    /// Speed, m/s.
    pub forward_m_s: S,
    /// Driving direction, 1 or -1.
    pub direction: S,
    /// Anti-lock braking at work.
    pub anti_lock_active: bool,
    /// The accelerator is known to be closed.
    pub pedal_closed: bool,
}

/// Speed below which a closed accelerator calls for nothing, m/s.
const CRAWL_M_S: f32 = 3.0;

/// The demand and the requests that go with it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RearDemand<S> {
    /// Sum of rear wheel torques wanted, Nm, in body axes.
    pub torque_nm: S,
    /// Part of it called for by front spin, Nm, in driving direction.
    pub from_spin_nm: S,
    /// How much traction is at stake, 0 to 1: then unequal torque is welcome even if no yaw moment is.
    pub need: S,
    /// Front spin the powertrain is asked to keep, m/s.
    pub front_spin_request_m_s: S,
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TractionState<S> {
    /// Rear torque that front spin called for, given up slowly while moving off, Nm.
    from_spin_nm: S,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Traction<S> {
    /// Its calibration.
    pub tunables: calibration::Traction<S>,
    /// Most the propshaft may carry, Nm.
    pub propshaft_nm: S,
    /// Overspeed of the rear shaft.
    pub overspeed: S,
    ready: Ready<S>,
}

/// Numbers of calibration and period that would be the same in every step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Ready<S> {
    cruising_share: S,
    spin_kept: S,
}

impl<S: Scalar> Traction<S> {
    /// The stage of a calibration, for steps of `period_s`; see the fields.
    pub fn new(
        tunables: calibration::Traction<S>,
        setting: &calibration::Setting<S>,
        propshaft_nm: S,
        overspeed: S,
        period_s: S,
    ) -> Self {
        let ready = Ready {
            cruising_share: tunables.rear_share_steady
                + (tunables.rear_share_agile - tunables.rear_share_steady) * setting.agility,
            spin_kept: S::ONE - fading_share(tunables.front_slip_memory_s, period_s),
        };
        Self {
            tunables,
            propshaft_nm,
            overspeed,
            ready,
        }
    }
}

impl<S: Scalar> Stage<S> for Traction<S> {
    type In = TractionIn<S>;
    type Out = RearDemand<S>;
    type State = TractionState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, _period_s: S) -> Self::Out {
        let tune = &self.tunables;
        // Holding a speed against air and rolling is no reason to close a clutch: it would only cost fuel.
        let cruise =
            tune.lowest_torque_nm + tune.lowest_torque_nm_s2_m2 * input.forward_m_s.squared();
        let torque = (input.torque_nm - cruise).at_least(S::ZERO);
        let cruising_share = self.ready.cruising_share;
        let share = cruising_share + (tune.launch_share - cruising_share) * input.launch;
        // Driven tyres always slip a little, in proportion to speed; only what goes beyond is spin.
        let start = tune.front_slip_start_m_s
            + tune.front_slip_share
                * (input.forward_m_s - tune.front_slip_speed_m_s).at_least(S::ZERO);
        let spin = (input.front_spin_m_s - start).at_least(S::ZERO);
        // Engine drag of a car that rolls back against its gear looks like drive torque, and its wheels like spinning ones.
        let rolls_back = input.pedal_closed && input.forward_m_s < S::of(CRAWL_M_S);
        let pulling = if rolls_back {
            S::ZERO
        } else {
            fade_in(input.torque_nm, S::ZERO, tune.lowest_torque_nm)
        };
        let now = if spin > S::ZERO {
            // A tyre's speed of slip per torque grows with speed, and so would the loop's gain: at 30 m/s it swung at 8 Hz.
            let fast = tune.front_slip_gain_speed_m_s;
            let gain =
                tune.front_slip_gain_nm_s_m * fast.over(input.forward_m_s.at_least(fast), S::ONE);
            (spin * gain * pulling).up_to(self.propshaft_nm)
        } else {
            S::ZERO
        };
        let kept = state.from_spin_nm * self.ready.spin_kept * input.launch * pulling;
        let from_spin = kept.at_least(now);
        state.from_spin_nm = if input.anti_lock_active {
            S::ZERO
        } else {
            from_spin
        };
        let slow = fade_out(
            input.forward_m_s,
            tune.need_end_m_s * S::HALF,
            tune.need_end_m_s,
        );
        let need =
            (fade_in(spin, S::ZERO, tune.need_spin_m_s) * pulling * slow).at_least(input.launch);
        let wanted = if input.anti_lock_active {
            S::ZERO
        } else {
            (torque * share + from_spin).up_to(self.propshaft_nm)
        };
        // A launch needs at least the overspeed as spin, or the clutches can pass nothing on.
        let request = tune.front_spin_request_m_s
            + self.overspeed * input.forward_m_s.at_least(S::ZERO) * S::HALF;
        RearDemand {
            torque_nm: wanted * input.direction,
            from_spin_nm: from_spin,
            need,
            front_spin_request_m_s: request,
        }
    }
}
