//! Values against each other: a wheel that is apart from three that agree, a value that is stuck, a turn that is none.
//!
//! In: [`MonitorIn`]. Out: named doubts. What slips needs a cause: a wheel slower than three others that agree, without brake,
//! order or drag, or faster without torque, is a wrong sensor after `slip_confirm_s`; so is a lateral acceleration far from yaw
//! rate times speed while the car hardly turns and one axle's wheels side with the yaw rate, and a powertrain that gives more than
//! it was asked for. Wheels steered far must turn a car above 10 m/s, but for the time it may push straight on over ice. A car that
//! turns, by yaw rate and lateral acceleration, against the way it is steered has a front axle that would push it out of its
//! turn, unless it slides further than it is counter-steered: without that slide the angle has the wrong sign. A value
//! that keeps every bit while another says that it must move is stuck: front wheels, rear wheels, yaw rate and lateral
//! acceleration are watched in turn, each until it moves, so a sound car pays one comparison of bits.
//!
//! Limits: a scale or an offset within the tolerances is not found here, nor a wheel stuck at zero under brake; in a spin and with
//! two wrong wheels nothing is judged. Tolerances are guesses of the table.

use super::{Fault, FaultSet, MonitorIn};
use crate::calibration;
use crate::numerics::Scalar;
use crate::numerics::filter::Debounce;
use crate::quantity::{PerSide, Period, Sensed};

/// Memory of the checks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlausibleState<S> {
    /// What is watched for being stuck.
    pub watch: Watch<S>,
    /// A wheel apart from the others.
    pub wheel: Debounce,
    /// Lateral acceleration.
    pub lateral: Debounce,
    /// Steering.
    pub steering: Debounce,
    /// Powertrain torque.
    pub torque: Debounce,
    /// Which wheel is apart: 0 none, else its place in `WHEELS` and one.
    pub suspect: u8,
}

/// One pair of values that is watched; a value without a pair stands on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Watch<S> {
    /// Bits of the values when the watch of them began.
    pub anchor: PerSide<u32>,
    /// What another signal said then.
    pub witness: S,
    /// Steps each value has kept its bits; [`u16::MAX`] is stuck.
    pub steps: PerSide<u16>,
    /// Steps in which what was stuck moved again; while nothing is stuck, 1 once the watch of this pair began.
    pub healing: u16,
    /// Which pair: front wheels, rear wheels, yaw rate, lateral acceleration.
    pub pair: u8,
}

impl<S> Watch<S> {
    fn stuck(&self) -> PerSide<bool> {
        PerSide {
            left: self.steps.left == u16::MAX,
            right: self.steps.right == u16::MAX,
        }
    }

    fn is_stuck(&self) -> bool {
        self.steps.left == u16::MAX || self.steps.right == u16::MAX
    }
}

/// Names of the wheels' doubts, in memory order.
const WHEELS: [Fault; 4] = [
    Fault::WheelSpeedFrontLeftImplausible,
    Fault::WheelSpeedFrontRightImplausible,
    Fault::WheelSpeedRearLeftImplausible,
    Fault::WheelSpeedRearRightImplausible,
];

/// Names of what is stuck, pair by pair.
const STUCK: [PerSide<Fault>; 4] = [
    PerSide {
        left: Fault::WheelSpeedFrontLeftImplausible,
        right: Fault::WheelSpeedFrontRightImplausible,
    },
    PerSide {
        left: Fault::WheelSpeedRearLeftImplausible,
        right: Fault::WheelSpeedRearRightImplausible,
    },
    PerSide {
        left: Fault::YawRateImplausible,
        right: Fault::YawRateImplausible,
    },
    PerSide {
        left: Fault::AccelerationImplausible,
        right: Fault::AccelerationImplausible,
    },
];

/// Speed above which steered wheels must turn the car, m/s.
const STEERED_M_S: f32 = 10.0;
/// Lateral acceleration below which a car goes straight on, m/s2.
const STRAIGHT_M_S2: f32 = 1.0;
/// Lateral acceleration by both witnesses above which a car turns, m/s2.
const TURNS_M_S2: f32 = 1.5;
/// Road-wheel angle below which a car is not steered against its turn, rad.
const AGAINST_RAD: f32 = 0.01;
/// A slide goes further out of the turn than it is counter-steered by at least the slip angle that front tyres need to hold a turn of
/// `TURNS_M_S2`, rad: the demo car's front axle bears 998 kg on 98,000 N/rad.
const SLIDES_RAD: f32 = 0.015;
/// A turn against the steering must last this share of the time a car may go straight on: no ice makes it.
const AGAINST_SHARE: f32 = 0.4;
/// Lateral acceleration above which a wheel apart is not judged, m/s2: the inner ones may be in the air.
const CALM_M_S2: f32 = 5.0;
/// A wheel slower than this does not turn, rad/s: held still by hand brake or ice it keeps its bits rightly.
const TURNS_RAD_S: f32 = 3.0;
/// Bits that no number has: nothing fresh was there.
const NOTHING: u32 = u32::MAX;
/// Longest watch of one pair without a finding, as a multiple of the time to find.
const PATIENCE: u16 = 20;

/// The checks with their calibration.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Plausibility<S> {
    /// Calibration of the monitor.
    pub tunables: calibration::Monitor<S>,
    turn_per_difference: S,
    slip_steps: u16,
    steering_steps: u16,
    against_steps: u16,
    heal_steps: u16,
    still_steps: u16,
}

impl<S: Scalar> Plausibility<S> {
    /// The checks of a calibration.
    pub fn new(
        tunables: &calibration::Monitor<S>,
        vehicle: &calibration::Vehicle<S>,
        period: Period,
    ) -> Self {
        let steps = |time_s: S| period.steps(time_s).min(65_535) as u16;
        Self {
            tunables: *tunables,
            turn_per_difference: vehicle.wheel_radius_m.over(vehicle.track_m, S::ZERO),
            slip_steps: steps(tunables.slip_confirm_s),
            steering_steps: steps(tunables.steering_confirm_s),
            against_steps: steps(tunables.steering_confirm_s * S::of(AGAINST_SHARE)),
            heal_steps: steps(tunables.heal_time_s),
            still_steps: period.steps(tunables.still_time_s).clamp(4, 3_000) as u16,
        }
    }

    /// One step; what is doubted. What is lent to a function must lie in memory, so the rare ways get a copy of their own.
    #[inline(always)]
    pub fn step(&self, state: &mut PlausibleState<S>, input: &MonitorIn<S>) -> FaultSet {
        let tune = &self.tunables;
        let (slip_steps, heal_steps) = (u32::from(self.slip_steps), u32::from(self.heal_steps));
        let moving = input.speed_m_s.magnitude() > tune.yaw_check_speed_m_s;
        let wheel = input.wheel_speed_rad_s;
        let turn = input.lateral_acceleration_m_s2.or(S::ZERO);
        let turned = input.yaw_rate_rad_s.or(S::ZERO) * input.speed_m_s;

        let (front, rear) = (wheel.front(), wheel.rear());
        let (fl, fr) = (front.left.or(S::ZERO), front.right.or(S::ZERO));
        let (rl, rr) = (rear.left.or(S::ZERO), rear.right.or(S::ZERO));
        let fastest = fl.at_least(fr).at_least(rl.at_least(rr));
        let slowest = fl.at_most(fr).at_most(rl.at_most(rr));
        let apart = moving && fastest - slowest > fastest * tune.wheel_apart;
        let seen = apart && self.is_alone(state, &{ *input });
        let wheel_doubted = state.wheel.step(seen, slip_steps, heal_steps);
        if !(seen || wheel_doubted) {
            state.suspect = 0;
        }

        let beside = (turn - turned).magnitude() > tune.lateral_tolerance_m_s2;
        let seen = beside && moving && self.is_lateral_wrong(&{ *input }, turned);
        let lateral = state.lateral.step(seen, slip_steps, heal_steps);

        let angle = input.steering_wheel_rad.or(S::ZERO);
        let steered = angle.magnitude() > tune.steering_tolerance_rad;
        let straight = steered && goes_straight(&{ *input }, turn, turned);
        let against = angle * turned < S::ZERO && turns_against(&{ *input }, turn, turned);
        let steps = if against {
            self.against_steps
        } else {
            self.steering_steps
        };
        let steering = state
            .steering
            .step(straight || against, u32::from(steps), heal_steps);

        let asked = input.carrier_torque_wanted_nm.or(S::ZERO).magnitude();
        let given = input.carrier_torque_nm.or(S::ZERO).magnitude();
        let known = input.carrier_torque_wanted_nm.is_fresh();
        let seen = known && given > asked + tune.torque_tolerance_nm;
        let torque = state.torque.step(seen, slip_steps, heal_steps);

        let stuck = self.watch(&mut state.watch, input, moving);
        if !(wheel_doubted || lateral || steering || torque || stuck) {
            return FaultSet::default();
        }
        self.names(state)
    }

    #[cold]
    #[inline(never)]
    fn names(&self, state: &PlausibleState<S>) -> FaultSet {
        let alone = state.suspect.checked_sub(1).map(usize::from);
        let alone = alone.and_then(|place| WHEELS.get(place)).copied();
        let stuck = STUCK.get(usize::from(state.watch.pair)).copied();
        let set = FaultSet::default()
            .with(Fault::AccelerationImplausible, state.lateral.confirmed)
            .with(Fault::SteeringImplausible, state.steering.confirmed)
            .with(Fault::DriverTorqueImplausible, state.torque.confirmed);
        let set = alone.map_or(set, |name| set.with(name, state.wheel.confirmed));
        stuck.map_or(set, |names| {
            let sides = state.watch.stuck();
            set.with(names.left, sides.left)
                .with(names.right, sides.right)
        })
    }

    /// Whether one wheel is apart from three others that agree, without a cause; which one is kept.
    #[cold]
    #[inline(never)]
    fn is_alone(&self, state: &mut PlausibleState<S>, input: &MonitorIn<S>) -> bool {
        let tune = &self.tunables;
        let wheel = &input.wheel_speed_rad_s;
        let (
            Sensed::Fresh(front_left),
            Sensed::Fresh(front_right),
            Sensed::Fresh(rear_left),
            Sensed::Fresh(rear_right),
        ) = (
            wheel.front_left,
            wheel.front_right,
            wheel.rear_left,
            wheel.rear_right,
        )
        else {
            return false;
        };
        // Each wheel with its neighbour and the other axle: in the mirror the same sums.
        let cases = [
            (front_left, front_right, rear_left, rear_right),
            (front_right, front_left, rear_right, rear_left),
            (rear_left, rear_right, front_left, front_right),
            (rear_right, rear_left, front_right, front_left),
        ];
        let torque = input.carrier_torque_nm.or(S::ZERO);
        let driven = torque.magnitude() > tune.quiet_torque_nm;
        let braked = !(input.brake_bar.or(S::ONE + tune.quiet_brake_bar) < tune.quiet_brake_bar)
            || input.open_now.or(S::ONE) > S::HALF
            || driven;
        let calm = input.lateral_acceleration_m_s2.or(S::ZERO).magnitude() < S::of(CALM_M_S2)
            && input.yaw_rate_rad_s.or(S::ZERO).magnitude() < S::ONE;
        if !calm {
            return false;
        }
        let mut found = None;
        for (place, (own, beside, near, far)) in (1..=4_u8).zip(cases) {
            let mean = (beside + (near + far)) * S::of(1.0 / 3.0);
            let bound = mean.magnitude() * tune.wheel_apart;
            let agree = |other: S| (other - mean).magnitude() < bound * S::HALF;
            if agree(beside) && agree(near) && agree(far) && (own - mean).magnitude() > bound {
                let caused = if own < mean { braked } else { driven };
                found = (!caused).then_some(place);
                break;
            }
        }
        match found {
            Some(place) if state.suspect == 0 || state.suspect == place => {
                state.suspect = place;
                true
            }
            _ => false,
        }
    }

    /// Whether the car hardly turns by its yaw rate, and the wheels of an axle say the same.
    #[cold]
    #[inline(never)]
    fn is_lateral_wrong(&self, input: &MonitorIn<S>, turned: S) -> bool {
        let (Sensed::Fresh(_), Sensed::Fresh(yaw_rate)) =
            (input.lateral_acceleration_m_s2, input.yaw_rate_rad_s)
        else {
            return false;
        };
        let tolerance = self.tunables.yaw_rate_tolerance_rad_s * S::HALF;
        let sides = |pair: PerSide<Sensed<S>>| match (pair.left, pair.right) {
            (Sensed::Fresh(left), Sensed::Fresh(right)) => {
                ((right - left) * self.turn_per_difference - yaw_rate).magnitude() < tolerance
            }
            _ => false,
        };
        turned.magnitude() < self.tunables.lateral_tolerance_m_s2
            && (sides(input.wheel_speed_rad_s.front()) || sides(input.wheel_speed_rad_s.rear()))
    }

    /// The watch for stuck values; whether one is.
    #[inline(always)]
    fn watch(&self, watch: &mut Watch<S>, input: &MonitorIn<S>, moving: bool) -> bool {
        let pair = watched(watch.pair, input);
        let bits = pair.map(|value| match value {
            Sensed::Fresh(value) => value.to_f32().to_bits(),
            Sensed::Held { .. } | Sensed::Lost => NOTHING,
        });
        // Not begun, the anchor is nothing: zeros would fit it, but not those of the mirrored car.
        let watched = watch.healing != 0 && moving;
        let is_kept = |bits: u32, anchor: u32| watched && bits == anchor && bits != NOTHING;
        let kept = bits.zip(watch.anchor, is_kept);
        // The ordinary case: nothing kept its bits, and the next pair is looked at in the next step.
        if !(kept.left || kept.right || watch.is_stuck()) {
            if moving && !watched {
                watch.anchor = bits;
                watch.healing = 1;
            } else {
                watch.pair = watch.pair.wrapping_add(1) & 3;
                watch.healing = 0;
                watch.steps = PerSide::default();
            }
            return false;
        }
        self.kept(watch, &{ *input }, pair, bits, kept)
    }

    #[cold]
    #[inline(never)]
    fn kept(
        &self,
        watch: &mut Watch<S>,
        input: &MonitorIn<S>,
        pair: PerSide<Sensed<S>>,
        bits: PerSide<u32>,
        kept: PerSide<bool>,
    ) -> bool {
        if watch.is_stuck() {
            let stuck = watch.stuck();
            let moved = (!stuck.left || bits.left != watch.anchor.left)
                && (!stuck.right || bits.right != watch.anchor.right);
            watch.healing = if moved {
                watch.healing.saturating_add(1)
            } else {
                0
            };
            if watch.healing >= self.heal_steps {
                *watch = Watch::default();
            }
            return watch.is_stuck();
        }
        let counted = |kept: bool, steps: u16| if kept { steps.saturating_add(1) } else { 0 };
        watch.steps = PerSide {
            left: counted(kept.left, watch.steps.left),
            right: counted(kept.right, watch.steps.right),
        };
        let longest = watch.steps.left.max(watch.steps.right);
        // Without a whole witness nothing is judged, and what was seen before does not count: a lost wheel moves no mean.
        let Some((witness, tolerance)) = self.witness(watch.pair, input) else {
            *watch = Watch {
                pair: watch.pair.wrapping_add(1) & 3,
                ..Watch::default()
            };
            return false;
        };
        if longest == 1 {
            watch.witness = witness;
        }
        if (witness - watch.witness).magnitude() > tolerance {
            let turns = |value: Sensed<S>| {
                watch.pair > 1 || value.or(S::ZERO).magnitude() > S::of(TURNS_RAD_S)
            };
            let told = |steps: u16, value| {
                if steps >= self.still_steps && turns(value) {
                    u16::MAX
                } else {
                    steps
                }
            };
            watch.steps = PerSide {
                left: told(watch.steps.left, pair.left),
                right: told(watch.steps.right, pair.right),
            };
            if watch.is_stuck() {
                watch.healing = 0;
            }
        }
        let found = watch.is_stuck();
        if !found && longest >= self.still_steps.saturating_mul(PATIENCE) {
            *watch = Watch {
                pair: watch.pair.wrapping_add(1) & 3,
                ..Watch::default()
            };
        }
        found
    }

    /// What another signal says of the pair, and by how much it must have moved; nothing where it is not all there.
    fn witness(&self, pair: u8, input: &MonitorIn<S>) -> Option<(S, S)> {
        let tune = &self.tunables;
        let fresh = |value: Sensed<S>| match value {
            Sensed::Fresh(value) => Some(value),
            Sensed::Held { .. } | Sensed::Lost => None,
        };
        match pair {
            0 | 1 => {
                let (front, rear) = (
                    input.wheel_speed_rad_s.front(),
                    input.wheel_speed_rad_s.rear(),
                );
                let sum = (fresh(front.left)? + fresh(front.right)?)
                    + (fresh(rear.left)? + fresh(rear.right)?);
                Some((sum * S::HALF * S::HALF, tune.still_wheel_rad_s))
            }
            2 => {
                let lateral = fresh(input.lateral_acceleration_m_s2)?;
                Some((lateral.over(input.speed_m_s, S::ZERO), tune.still_yaw_rad_s))
            }
            _ => {
                let yaw_rate = fresh(input.yaw_rate_rad_s)?;
                Some((
                    yaw_rate * input.speed_m_s,
                    tune.still_yaw_rad_s * input.speed_m_s.magnitude(),
                ))
            }
        }
    }
}

/// The pair of that number.
#[inline(always)]
fn watched<S: Scalar>(pair: u8, input: &MonitorIn<S>) -> PerSide<Sensed<S>> {
    match pair {
        0 => input.wheel_speed_rad_s.front(),
        1 => input.wheel_speed_rad_s.rear(),
        2 => PerSide::both(input.yaw_rate_rad_s),
        _ => PerSide::both(input.lateral_acceleration_m_s2),
    }
}

/// Whether a car turns by both witnesses against the way it is steered, and slides less than it is counter-steered.
///
/// A front tyre pushes towards the side its wheel points to, seen from the way it goes: in a slide that lasts the sideslip is larger
/// than the counter-steering, or the tyre would end it. What yaw adds to the front axle's way is left out; it would widen the gap.
#[cold]
#[inline(never)]
fn turns_against<S: Scalar>(input: &MonitorIn<S>, turn: S, turned: S) -> bool {
    let (Sensed::Fresh(angle), true, true) = (
        input.steering_wheel_rad,
        input.yaw_rate_rad_s.is_fresh(),
        input.lateral_acceleration_m_s2.is_fresh(),
    ) else {
        return false;
    };
    let least = S::of(TURNS_M_S2);
    // All as in a turn to the left.
    let leftward = |value: S| if turned < S::ZERO { -value } else { value };
    let (turn, turned) = (leftward(turn), turned.magnitude());
    let steered = leftward(angle.over(input.steering_ratio, S::ZERO));
    input.speed_m_s > S::of(STEERED_M_S)
        && turned > least
        && turn > least
        && (turn - turned).magnitude() < turned * S::HALF
        && steered < -S::of(AGAINST_RAD)
        && leftward(input.sideslip_rad) > steered - S::of(SLIDES_RAD)
}

/// Whether a car that is fast enough to turn goes straight on by both witnesses.
#[cold]
#[inline(never)]
fn goes_straight<S: Scalar>(input: &MonitorIn<S>, turn: S, turned: S) -> bool {
    let straight = |by: S| by.magnitude() < S::of(STRAIGHT_M_S2);
    input.steering_wheel_rad.is_fresh()
        && input.yaw_rate_rad_s.is_fresh()
        && input.lateral_acceleration_m_s2.is_fresh()
        && input.speed_m_s > S::of(STEERED_M_S)
        && straight(turn)
        && straight(turned)
}
