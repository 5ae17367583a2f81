//! Rolling-radius ratios, learned over the way driven.
//!
//! Wheel speeds give ratios, never scale: rear to front, and left to right per axle. Whatever else makes wheels turn at
//! different speeds is taken out first: the way each goes in a bend, from yaw rate and steering; the slip that its torque
//! needs at its load. What is left over counts by way, and by how sure those corrections are; in braking, hard turning,
//! under more than light torque, at crawl and while a closed clutch sticks nothing counts, and the ratios stay as they are.
//! Every 40 ms is enough: 1 m at 100 km/h.

use super::VehicleState;
use crate::calibration;
use crate::numerics::Real;

use crate::numerics::table::{fade_in, fade_out};
use crate::quantity::{PerSide, PerWheel, Sensed};

/// The three ratios, and what follows from them for each wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RadiusState<S> {
    /// Rear radius over front radius, minus one; an axle's radius is that of a wheel which turns at the mean of both speeds.
    pub rear_to_front: S,
    /// Front: right radius minus left radius, over their mean.
    pub front_right_to_left: S,
    /// Rear: right radius minus left radius, over their mean.
    pub rear_right_to_left: S,
    /// Radius of each wheel over the nominal one, minus one.
    pub beyond_one: PerWheel<S>,
    /// How far the ratios are beyond wear, 0 to 1.
    pub unlike: S,
    /// Rear to front as the last looks have it.
    pub latest: S,
    /// Way that taught it, each piece by how sure it was, m; no more than is remembered.
    pub way_m: S,
    /// Steps until the next look.
    pub wait: u8,
}

/// What there is to learn from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lesson<S> {
    /// Wheel speeds, rad/s.
    pub wheel_rad_s: PerWheel<S>,
    /// Loads, N.
    pub load_n: PerWheel<S>,
    /// Speed in driving direction, m/s; negative in reverse gear.
    pub forward_m_s: S,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Lateral specific force, m/s2.
    pub lateral_m_s2: Sensed<S>,
    /// Sine and cosine of the road-wheel angle.
    pub road_wheel: (S, S),
    /// Sideslip, rad.
    pub sideslip_rad: S,
    /// Powertrain torque, Nm.
    pub carrier_torque_nm: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Expected clutch torques, Nm.
    pub rear_torque_nm: PerSide<S>,
}

/// Steps from look to look.
const STEPS: u8 = 8;

/// Steps after a closed clutch stuck: its torque takes a while to fall to what is commanded.
const LETTING_GO: u8 = 80;

/// Slip of front and rear wheels may differ by this much by torque; beyond the second number nothing is learned.
const SURE_SLIP: (f32, f32) = (0.001, 0.004);

/// The same for what the bend makes of left and right wheels' speeds, as a share.
const SURE_TURN: (f32, f32) = (0.005, 0.015);

/// The same for the lateral specific force, m/s2.
const SURE_LATERAL_M_S2: (f32, f32) = (1.0, 2.5);

/// The same for the speed, m/s; wheel speeds come in steps.
const SURE_SPEED_M_S: (f32, f32) = (6.0, 10.0);

/// Brake pressure that is none, bar.
const NO_BRAKE_BAR: f32 = 0.5;

/// Way that what is known before is worth, m, at the start and once the wheels contradict it steadily.
const BEFORE_M: f32 = 20.0;

/// The wheels contradict what is known by this much; noise of the last looks is a tenth of it.
const CONTRADICTS: f32 = 0.003;

/// A look that differs from the last ones by this much teaches nothing: a radius does not change from metre to metre, slip does.
const STEADY: f32 = 0.003;

/// Share of a new look in the mean of the last ones: some ten looks.
const LATEST: f32 = 0.1;

impl<S: Real> RadiusState<S> {
    /// Each rear radius over the front axle's, minus one.
    pub fn rear_over_front_axle(&self) -> PerSide<S> {
        // To first order in the difference between the sides; a spare's is out by less than a tenth of itself.
        let half = self.rear_right_to_left * S::HALF;
        PerSide {
            left: self.rear_to_front - half,
            right: self.rear_to_front + half,
        }
    }

    /// Whether the ratios are the wheels' own, not only what was known before.
    pub fn is_known(&self) -> bool {
        self.way_m > S::of(BEFORE_M)
    }

    /// Works out what follows from the ratios.
    ///
    /// Which wheel differs from the nominal radius ratios cannot tell. Front wheels alike count as nominal; one that differs from
    /// the other by more than wear does is a spare, and the other one is nominal if the rear wheels say so.
    pub fn renew(&mut self, tunables: &calibration::VehicleState<S>) {
        let largest = self
            .rear_to_front
            .magnitude()
            .at_least(self.front_right_to_left.magnitude())
            .at_least(self.rear_right_to_left.magnitude());
        self.unlike = fade_in(
            largest,
            tunables.unlike_tyres_start,
            tunables.unlike_tyres_end,
        );
        let half = PerSide {
            left: self.front_right_to_left * S::HALF,
            right: self.rear_right_to_left * S::HALF,
        };
        let (across_front, across_rear) = (half.left, half.right);
        let odd = across_front.magnitude();
        let spare = fade_in(odd, S::of(0.01), S::of(0.02));
        let front = S::ONE - self.rear_to_front.within(-odd, odd) * spare;
        let rear = front * (S::ONE + self.rear_to_front);
        // A wheel's radius is its axle's over its share of the mean speed.
        let beyond = |axle: S, across: S| axle.over(S::ONE + across, S::ONE) - S::ONE;
        self.beyond_one = PerWheel {
            front_left: beyond(front, across_front),
            front_right: beyond(front, -across_front),
            rear_left: beyond(rear, across_rear),
            rear_right: beyond(rear, -across_rear),
        };
    }
}

#[inline(always)]
pub(super) fn step<S: Real>(
    stage: &VehicleState<S>,
    state: &mut RadiusState<S>,
    // Whether a closed clutch sticks: then its torque is not known.
    stuck: bool,
    lesson: impl FnOnce() -> Lesson<S>,
    period_s: S,
) {
    if stuck {
        state.wait = LETTING_GO;
    } else if state.wait > 0 {
        state.wait -= 1;
    } else {
        state.wait = STEPS - 1;
        look(stage, state, &lesson(), period_s);
    }
}

#[inline(never)]
fn look<S: Real>(
    stage: &VehicleState<S>,
    state: &mut RadiusState<S>,
    lesson: &Lesson<S>,
    period_s: S,
) {
    let (Sensed::Fresh(yaw_rate), Sensed::Fresh(lateral), Sensed::Fresh(powertrain_nm)) = (
        lesson.yaw_rate_rad_s,
        lesson.lateral_m_s2,
        lesson.carrier_torque_nm,
    ) else {
        return;
    };
    let Sensed::Fresh(brake_bar) = lesson.brake_bar else {
        return;
    };
    let forward = lesson.forward_m_s;
    if !(brake_bar < S::of(NO_BRAKE_BAR)) || !(forward > S::of(SURE_SPEED_M_S.0)) {
        return;
    }
    let (car, ready) = (&stage.vehicle, &stage.ready);
    let sure = |size: S, (full, none): (f32, f32)| fade_out(size, S::of(full), S::of(none));
    let per_speed = S::ONE.over(forward, S::ZERO);
    let turn = yaw_rate * car.track_m * per_speed;
    // Slip by torque: of the axles' mean, and what load moved sideways makes of it.
    let taken = lesson.rear_torque_nm.sum() * stage.with_overspeed();
    let per_nm = |load: PerSide<S>| ready.slip_load_per_nm.over(load.sum(), S::ZERO);
    let front_slip = (powertrain_nm - taken) * per_nm(lesson.load_n.front());
    let rear_per_nm = per_nm(lesson.load_n.rear());
    let rear_slip = lesson.rear_torque_nm.sum() * rear_per_nm;
    let by_torque = front_slip - rear_slip;
    // Each wheel bears half the axle's load.
    let by_difference = (lesson.rear_torque_nm.left - lesson.rear_torque_nm.right) * rear_per_nm;
    let weight = fade_in(forward, S::of(SURE_SPEED_M_S.0), S::of(SURE_SPEED_M_S.1))
        * sure(turn.magnitude(), SURE_TURN)
        * sure(lateral.magnitude(), SURE_LATERAL_M_S2)
        * sure(
            by_torque.magnitude().at_least(by_difference.magnitude()),
            SURE_SLIP,
        );
    if !(weight > S::ZERO) {
        return;
    }
    let (front, rear) = (lesson.wheel_rad_s.front(), lesson.wheel_rad_s.rear());
    let (sine, cosine) = lesson.road_wheel;
    // Front wheels go a longer way than rear ones, and along their own planes.
    let sideways = lesson.sideslip_rad + car.front_axle_to_cg_m * yaw_rate * per_speed;
    let longer = (cosine + sideways * sine) * (S::ONE + by_torque);
    let seen = front.sum().over(rear.sum() * longer, S::ONE) - S::ONE;
    let unlike = seen - state.latest;
    state.latest = state.latest + unlike * S::of(LATEST);
    if !(unlike.magnitude() < S::of(STEADY)) {
        return;
    }

    let way = forward * period_s * S::of(f32::from(STEPS)) * weight;
    let contradicted = (state.latest - state.rear_to_front).magnitude() > S::of(CONTRADICTS);
    let most = if contradicted {
        S::of(BEFORE_M)
    } else {
        stage.tunables.radius_learning_m
    };
    state.way_m = (state.way_m.most(S::of(BEFORE_M)) + way).least(most);
    let share = way.over(state.way_m, S::ZERO).up_to(S::ONE);
    let bound = stage.tunables.radius_bound;
    let learn = |old: S, seen: S| (old + (seen - old) * share).within(-bound, bound);
    state.rear_to_front = learn(state.rear_to_front, seen);
    let lighter = lateral * ready.slip_across_per_m_s2;
    let across = |pair: PerSide<S>, slip: S| {
        let mean = pair.sum() * S::HALF;
        (pair.left - pair.right).over(mean, S::ZERO) + turn - slip * lighter
    };
    let across_front = across(front, front_slip);
    let across_rear = across(rear, rear_slip) - by_difference - by_difference;
    state.front_right_to_left = learn(state.front_right_to_left, across_front);
    state.rear_right_to_left = learn(state.rear_right_to_left, across_rear);
    state.renew(&stage.tunables);
}
