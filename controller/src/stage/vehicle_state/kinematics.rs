//! Rigid-body speeds of the wheels and the drive condition of an overspeed axle.
//!
//! ISO 8855 axes; front wheels steered in parallel. A wheel at (x, y) moves along its plane with
//! `(u - r y) cos d + (v + r x) sin d`.

use crate::numerics::Real;
use crate::quantity::{PerSide, PerWheel};

/// In-plane ground speed of each wheel, m/s.
///
/// `speed_m_s` u, `lateral_m_s` v, `yaw_rate_rad_s` r at the centre of gravity; both axles have track `track_m`.
pub fn wheel_ground_speed<S: Real>(
    speed_m_s: S,
    lateral_m_s: S,
    yaw_rate_rad_s: S,
    road_wheel_rad: S,
    front_axle_to_cg_m: S,
    track_m: S,
) -> PerWheel<S> {
    wheel_ground_speed_turned(
        speed_m_s,
        lateral_m_s,
        yaw_rate_rad_s,
        (road_wheel_rad.sine(), road_wheel_rad.cosine()),
        front_axle_to_cg_m,
        track_m,
    )
}

/// The same from sine and cosine of the road wheel angle.
pub(super) fn wheel_ground_speed_turned<S: Real>(
    speed_m_s: S,
    lateral_m_s: S,
    yaw_rate_rad_s: S,
    (sine, cosine): (S, S),
    front_axle_to_cg_m: S,
    track_m: S,
) -> PerWheel<S> {
    let across = yaw_rate_rad_s * track_m * S::HALF;
    let side = PerSide {
        left: speed_m_s - across,
        right: speed_m_s + across,
    };
    let front_lateral = lateral_m_s + yaw_rate_rad_s * front_axle_to_cg_m;
    PerWheel::from_axles(
        side.map(|along| along * cosine + front_lateral * sine),
        side,
    )
}

/// Overspeed beyond which the outer rear wheel can be driven, not braked, through its clutch.
///
/// `radius_m` lateral distance R of the instant centre; `front_ahead_m` distance d of the front axle ahead of it (the
/// wheelbase at low speed); slips after ISO 8855, positive driving. Closed form of plane kinematics:
/// `(R + T/2)(1 + k_r) / (sqrt(R^2 + d^2) cos(a_f) (1 + k_f)) - 1`.
pub fn critical_overspeed<S: Real>(
    radius_m: S,
    front_ahead_m: S,
    track_m: S,
    front_slip_angle_rad: S,
    front_slip: S,
    rear_outer_slip: S,
) -> S {
    let outer = (radius_m + track_m * S::HALF) * (S::ONE + rear_outer_slip);
    let front = (radius_m.squared() + front_ahead_m.squared()).square_root()
        * front_slip_angle_rad.cosine()
        * (S::ONE + front_slip);
    outer.over(front, S::ONE) - S::ONE
}

/// Radii between which, rolling freely at low speed, the outer rear wheel cannot be driven: (inner, outer), m.
///
/// `None` if the overspeed drives it at every radius. Roots of `(1+eps)^2 (R^2 + L^2) = (R + T/2)^2`.
pub fn undrivable_radii_m<S: Real>(track_m: S, wheelbase_m: S, overspeed: S) -> Option<(S, S)> {
    let two = S::ONE + S::ONE;
    let q = two * overspeed + overspeed.squared();
    let inside = track_m.squared()
        - two
            * two
            * q
            * ((S::ONE + q) * wheelbase_m.squared() - track_m.squared() * S::HALF * S::HALF);
    if !(inside >= S::ZERO) || !(q > S::ZERO) {
        return None;
    }
    let root = inside.square_root();
    let below = (track_m - root).over(two * q, S::ZERO);
    let above = (track_m + root).over(two * q, S::ZERO);
    Some((below, above))
}
