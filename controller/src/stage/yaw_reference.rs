//! The yaw rate the driver should get.
//!
//! Steady single-track gain `V delta / (L + K V^2)` with the setting's understeer constant K, bent softly towards the yaw
//! rate the tyres can hold (a car that answered in a straight line up to its limit would end without warning), capped at
//! a share of `mu g / V`, then a first-order lag. After a lift-off the driver who holds the wheel still shall hold the
//! curvature: the reference is bounded by the curvature per steering angle that the car had before. Friction caps after "Vehicle Dynamics and Control", 2nd ed., ch. 8 (formulas from
//! memory; 0.85 there): yaw rate `0.85 mu g / V`, sideslip `atan(0.02 mu g)` with 0.02 in s2/m.

use super::Stage;
use crate::calibration;
use crate::numerics::filter::{Lag, lag_share};
use crate::numerics::table::fade_in;
use crate::numerics::{GRAVITY_M_S2, Real, Scalar};

/// Road-wheel angle below which a curvature per angle means nothing, rad.
const LEAST_ANGLE_RAD: f32 = 0.01;

/// Largest steady yaw rate, rad/s, that friction allows at a speed: `share mu g / V`.
pub fn yaw_rate_cap_rad_s<S: Real>(share: S, friction: S, gravity_m_s2: S, speed_m_s: S) -> S {
    // At next to no speed the quotient leaves the range of the border's numbers.
    let most = S::of(1.0e6);
    (share * friction * gravity_m_s2)
        .per(speed_m_s.magnitude())
        .at_most(most)
}

/// Textbook sideslip limit, rad: `atan(0.02 mu g)`.
pub fn sideslip_cap_rad<S: Real>(friction: S, gravity_m_s2: S) -> S {
    (S::of(0.02) * friction * gravity_m_s2).arctangent2(S::ONE)
}

/// Understeer constant of a linear single-track car, rad s2/m, stiffnesses per axle: `m (b Cr - a Cf) / (L Cf Cr)`.
pub fn understeer_constant_rad_s2_m<S: Scalar>(
    mass_kg: S,
    front_axle_to_cg_m: S,
    wheelbase_m: S,
    front_n_rad: S,
    rear_n_rad: S,
) -> S {
    let to_rear = wheelbase_m - front_axle_to_cg_m;
    (mass_kg * (to_rear * rear_n_rad - front_axle_to_cg_m * front_n_rad))
        .over(wheelbase_m * front_n_rad * rear_n_rad, S::ZERO)
}

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YawReferenceIn<S> {
    /// Speed along x, m/s.
    pub speed_m_s: S,
    /// Road-wheel angle, rad.
    pub road_wheel_rad: S,
    /// Friction believed available.
    pub friction: S,
    /// How little the tyres slip, 1 to 0.
    pub friction_trust: S,
    /// Measured yaw rate, rad/s.
    pub yaw_rate_rad_s: S,
    /// Accelerator just released, 0 to 1.
    pub lift_off: S,
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct YawReferenceState<S> {
    lag: Lag<S>,
    /// Path curvature per road-wheel angle before the accelerator was released, 1/m; zero when it was not turning.
    gain_1_m: S,
}

/// The reference.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Reference<S> {
    /// Yaw rate wanted now, rad/s.
    pub yaw_rate_rad_s: S,
    /// Its rate of change, rad/s2.
    pub yaw_acceleration_rad_s2: S,
    /// Steady yaw rate the steering asks for, after the cap, rad/s.
    pub steady_rad_s: S,
    /// Steady yaw rate of the car without yaw moment, after the cap, rad/s.
    pub natural_rad_s: S,
    /// Largest yaw rate friction allows, rad/s.
    pub cap_rad_s: S,
    /// Sideslip beyond which the law counters, rad.
    pub sideslip_limit_rad: S,
    /// Whether yaw is wanted at all at this speed, 0 to 1.
    pub presence: S,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct YawReference<S> {
    /// Its calibration.
    pub tunables: calibration::YawReference<S>,
    /// Wheelbase, m.
    pub wheelbase_m: S,
    /// Sideslip the driver may hold, deg.
    pub slide_allowance_deg: S,
    ready: Ready<S>,
}

/// Numbers of calibration and period that would be the same in every step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Ready<S> {
    natural_understeer: S,
    target_understeer: S,
    soft_share: S,
    lag_share: S,
    hold_share: S,
    sideslip_limit_deg: S,
}

/// Least share of the curvature before a lift-off that the reference asks for after it.
const LIFT_OFF_LEAST: f32 = 0.9;

impl<S: Real> YawReference<S> {
    /// The stage of a calibration, for steps of `period_s`.
    pub fn new(
        tunables: calibration::YawReference<S>,
        vehicle: &calibration::Vehicle<S>,
        setting: calibration::Setting<S>,
        period_s: S,
    ) -> Self {
        let steady = tunables.understeer_steady_rad_s2_m;
        let lag_s = tunables.lag_agile_s
            + (tunables.lag_steady_s - tunables.lag_agile_s) * setting.steadiness;
        let ready = Ready {
            natural_understeer: understeer_constant_rad_s2_m(
                vehicle.mass_kg,
                vehicle.front_axle_to_cg_m,
                vehicle.wheelbase_m,
                vehicle.front_cornering_stiffness_n_rad,
                vehicle.rear_cornering_stiffness_n_rad,
            ),
            target_understeer: steady
                + (tunables.understeer_agile_rad_s2_m - steady) * setting.agility,
            soft_share: tunables.soft_share_steady
                + (tunables.soft_share_agile - tunables.soft_share_steady) * setting.agility,
            lag_share: lag_share(lag_s, period_s),
            hold_share: tunables.lift_off_hold_share * setting.steadiness,
            sideslip_limit_deg: tunables.sideslip_limit_deg
                * (S::ONE - setting.steadiness * S::of(0.35)),
        };
        Self {
            tunables,
            wheelbase_m: vehicle.wheelbase_m,
            slide_allowance_deg: setting.slide_allowance_deg,
            ready,
        }
    }

    /// Target understeer constant of the setting, rad s2/m.
    pub fn target_understeer_rad_s2_m(&self) -> S {
        self.ready.target_understeer
    }

    /// `x / (1 + (x / size)^4)^(1/4)`: straight for small x, at most `size`.
    fn bent(x: S, size: S) -> S {
        // By a size of zero no finite number comes out, and the size itself is the answer.
        let over = x.per(size);
        let fourth = over.squared().squared();
        if !fourth.is_finite() {
            return size.signed_like(x);
        }
        x.per((S::ONE + fourth).square_root().square_root())
    }

    fn gain(&self, speed: S, understeer: S) -> S {
        speed.over(self.wheelbase_m + understeer * speed.squared(), S::ZERO)
    }
}

impl<S: Real> Stage<S> for YawReference<S> {
    type In = YawReferenceIn<S>;
    type Out = Reference<S>;
    type State = YawReferenceState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let speed = input.speed_m_s;
        let presence = fade_in(
            speed.magnitude(),
            self.tunables.fade_in_speed_m_s,
            self.tunables.fade_in_speed_m_s + self.tunables.fade_in_speed_m_s,
        );
        let gravity = S::of(GRAVITY_M_S2);
        let cap = yaw_rate_cap_rad_s(self.tunables.friction_share, input.friction, gravity, speed);
        // Without slip the road is taken for dry here; the cap below stays with what was shown.
        let assumed = input.friction.at_least(self.tunables.friction_dry);
        let soft = input.friction + (assumed - input.friction) * input.friction_trust;
        let size = yaw_rate_cap_rad_s(self.ready.soft_share, soft, gravity, speed);
        let natural_size =
            yaw_rate_cap_rad_s(self.tunables.soft_share_steady, soft, gravity, speed);
        let asked = self.gain(speed, self.target_understeer_rad_s2_m()) * input.road_wheel_rad;
        let by_itself = self.gain(speed, self.ready.natural_understeer) * input.road_wheel_rad;
        let steady = Self::bent(asked, size).within(-cap, cap);
        let natural = Self::bent(by_itself, natural_size).within(-cap, cap);
        let angle = input.road_wheel_rad;
        let turning = angle.magnitude() > S::of(LEAST_ANGLE_RAD);
        if input.lift_off <= S::ZERO {
            let gain = if turning {
                input.yaw_rate_rad_s.over(speed * angle, S::ZERO)
            } else {
                S::ZERO
            };
            state.gain_1_m = gain.at_least(S::ZERO);
        }
        let held = state.gain_1_m * speed * angle;
        let steady = if turning && state.gain_1_m > S::ZERO && held.magnitude() < steady.magnitude()
        {
            let weight = (input.lift_off + input.lift_off).at_most(S::ONE) * self.ready.hold_share;
            let pulled = steady + (held - steady) * weight;
            let along = if steady < S::ZERO { -pulled } else { pulled };
            // Making up for the feedback must not turn into asking for a wider turn of its own.
            along
                .most(held.magnitude() * S::of(LIFT_OFF_LEAST))
                .signed_like(steady)
        } else {
            steady
        };
        let before = state.lag.value;
        let yaw_rate = state.lag.follow(steady, self.ready.lag_share);

        let dry = input.friction.up_to(S::ONE);
        let own = self.ready.sideslip_limit_deg * dry;
        let degree = S::of(core::f32::consts::PI / 180.0);
        Reference {
            yaw_rate_rad_s: yaw_rate,
            yaw_acceleration_rad_s2: (yaw_rate - before).per(period_s),
            steady_rad_s: steady,
            natural_rad_s: natural,
            cap_rad_s: cap,
            sideslip_limit_rad: own.at_least(self.slide_allowance_deg) * degree,
            presence,
        }
    }
}
