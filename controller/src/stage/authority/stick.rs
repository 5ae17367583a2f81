//! Which way a clutch pulls, and what follows where it locks.
//!
//! A clutch that locked at speed is led back to a little slip, instead of being let go and caught again.
//!
//! A locked clutch carries what the wheels make it carry, whatever its capacity: its torque is not the law's any more. What that torque
//! is, the law knows badly at the limit of grip (93 of 750 Nm were seen). So what is taken from the capacity grows while the clutch
//! stands, shrinks while it slips by more than the dead band, and stays between: an integrator on the slip. Taking everything at once at
//! the stick and giving everything back at the slip, as before, swung between 250 and 850 Nm at 5 Hz on the limit circle.
//!
//! In: slip and dead band, rad/s; speed, m/s. Out: capacity not to be passed, Nm. Common practice for clutches in driven axles, no source.
//! The rates are chosen: slower than the lag of a warm clutch (55 ms) with a tyre that gives 0.01 rad/s per Nm allows. At crawl and away
//! from the limit the clutch may stay locked: there wind-up is bounded otherwise.

use super::{Authority, AuthorityIn, Sense, Side};
use crate::numerics::Scalar;
use crate::numerics::table::{fade_in, fade_out};
use crate::quantity::Sensed;

/// Slip that a led clutch is held at, in dead bands: above them, where the sign of the torque is sure.
pub(super) const LED_BANDS: f32 = 1.5;

/// Rate at which capacity is taken from a clutch that stands, and given back per dead band of slip beyond, Nm/s.
const LEAD_NM_S: f32 = 400.0;

/// Speed from which a clutch is led, and from which in full, m/s.
const LED_M_S: (f32, f32) = (5.0, 12.0);

/// Lateral acceleration from which a clutch is led, and from which in full, m/s2. Below, a lock is a bound that moves nothing, and the slip would
/// cost torque: led everywhere, the understeer gradient at 60 % of the limit rose by 0.3 deg/g.
const LED_M_S2: (f32, f32) = (6.0, 7.5);

/// Share in which a clutch is led, by speed and size of the lateral acceleration.
pub(super) fn led<S: Scalar>(forward_m_s: S, lateral_m_s2: S) -> S {
    fade_in(forward_m_s, S::of(LED_M_S.0), S::of(LED_M_S.1))
        * fade_in(lateral_m_s2, S::of(LED_M_S2.0), S::of(LED_M_S2.1))
}

/// What is taken from the capacity after this step, Nm. `over` is the slip's size over the dead band; not a number changes nothing.
pub(super) fn taken<S: Scalar>(
    before_nm: S,
    previous_nm: S,
    capacity_nm: S,
    over: S,
    led: S,
    period_s: S,
) -> S {
    let lead = S::of(LEAD_NM_S) * period_s;
    // At once down to what the clutch had when it locked: more than that is not needed to hold it.
    let beyond = over - S::of(LED_BANDS);
    let after = if beyond < S::ZERO {
        before_nm.at_least(capacity_nm - previous_nm) - beyond * lead
    } else if beyond > S::ZERO {
        before_nm - beyond * beyond.at_least(S::ONE) * lead
    } else {
        before_nm
    };
    after.up_to(capacity_nm * led)
}

impl<S: Scalar> Authority<S> {
    #[inline(always)]
    pub(super) fn dead_band_rad_s(&self, forward_m_s: S) -> S {
        let tune = &self.tunables;
        let share = forward_m_s
            .per(tune.dead_band_speed_m_s)
            .at_least(S::of(0.12))
            .at_most(S::ONE);
        tune.slip_dead_band_rad_s * share
    }

    /// Slip beyond which a clutch pulls forward, and slip below whose negative it pulls back, rad/s.
    pub(super) fn bands_rad_s(&self, band: S, input: &AuthorityIn<S>) -> (S, S) {
        // Moving off, the gear says the sign: a front wheel still too slow for its sensor makes the shaft seem slower than it is,
        // and that once opened a locked clutch in the middle of a launch.
        let crawling = fade_out(input.forward_m_s.magnitude(), S::ONE, S::of(3.0));
        let against = band.at_least(self.tunables.crawl_sign_rad_s * (input.launch * crawling));
        if input.direction < S::ZERO {
            (against, band)
        } else {
            (band, against)
        }
    }

    pub(super) fn sense(
        &self,
        before: Sense,
        side: &Side<S>,
        (forward, backward): (S, S),
        input: &AuthorityIn<S>,
    ) -> Sense {
        let slip = match side.clutch_slip_rad_s {
            Sensed::Fresh(value) | Sensed::Held { value, .. } => value,
            Sensed::Lost => return Sense::Unknown,
        };
        if slip > forward {
            Sense::Forward
        } else if slip < -backward {
            Sense::Backward
        } else if input.launch > S::HALF || before == Sense::Unknown {
            if input.direction < S::ZERO {
                Sense::Backward
            } else {
                Sense::Forward
            }
        } else if input.slide > S::HALF {
            before
        } else if side.lock_torque_nm > self.tunables.lock_sign_nm {
            Sense::Forward
        } else if side.lock_torque_nm < -self.tunables.lock_sign_nm {
            Sense::Backward
        } else {
            before
        }
    }
}
