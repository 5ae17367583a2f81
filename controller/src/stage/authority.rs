//! What the axle can do now: the octagon of torque with every bound named.
//!
//! A clutch pulls its wheel only towards the shaft's speed, so each side has one sign; within the dead band of slip it is
//! told by the torque a locked clutch would carry, else the last sign is remembered; at crawl it comes from gear and
//! intent. Sizes are bounded by capacity,
//! health, heat, cold oil, tyre friction and rate; the sum by propshaft and wind-up; the difference by speed; all by the
//! master controller's caps and its order to open.

mod size;
mod stick;

use super::Stage;
use crate::calibration;
use crate::numerics::table::{fade_in, fade_out};
use crate::numerics::{GRAVITY_M_S2, Real, Scalar};
use crate::quantity::{PerSide, Sensed, Span};
use crate::signal::{Bound, Health, Limit, NamedSpan, Octagon};
use size::SizeBound;

/// Direction in which a clutch can act on its wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sense {
    /// Not known yet: taken from gear and intent.
    #[default]
    Unknown,
    /// The shaft is faster: the wheel is pulled forward.
    Forward,
    /// The shaft is slower: the wheel is pulled back.
    Backward,
}

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AuthorityIn<S> {
    /// Shaft speed minus wheel speed, rad/s.
    pub clutch_slip_rad_s: PerSide<Sensed<S>>,
    /// Speed in driving direction, m/s.
    pub forward_m_s: S,
    /// Driving direction, 1 or -1.
    pub direction: S,
    /// Load of each rear wheel, N.
    pub rear_load_n: PerSide<S>,
    /// Friction believed available.
    pub friction: S,
    /// Slip of each rear tyre, positive driving.
    pub rear_slip: PerSide<S>,
    /// Torque each clutch would carry if locked, Nm.
    pub lock_torque_nm: PerSide<S>,
    /// Size of the lateral specific force, m/s2.
    pub lateral_m_s2: S,
    /// Friction that front tyres which slid have shown; the ceiling where none did.
    pub friction_shown: S,
    /// Moving off, 0 to 1.
    pub launch: S,
    /// Size of the road-wheel angle, rad.
    pub road_wheel_rad: S,
    /// Powertrain torque in driving direction, Nm.
    pub torque_nm: S,
    /// Capacity commanded one step ago, Nm.
    pub previous_capacity_nm: PerSide<S>,
    /// Share of capacity left by heat, and what set it.
    pub heat_ceiling: PerSide<S>,
    /// Which temperature set it.
    pub heat_by: PerSide<Limit>,
    /// Oil temperature, degC.
    pub oil_degc: S,
    /// Share of capacity left by health.
    pub health_share: S,
    /// How far the tyres differ by more than wear, 0 to 1.
    pub unlike_tyres: S,
    /// Graded health.
    pub health: Health,
    /// Whether left and right may differ.
    pub may_differ: bool,
    /// Master's caps, Nm.
    pub rear_torque_cap_nm: Sensed<S>,
    /// Master's cap on the yaw moment.
    pub yaw_moment_cap_nm: Sensed<S>,
    /// Whether the car asked for open clutches.
    pub open_now: bool,
    /// Whether anti-lock or stability control is at work.
    pub brake_control: bool,
    /// How far the car oversteers or just did, 0 to 1.
    pub oversteer_held: S,
    /// How far a slide is wanted and held, 0 to 1: then the wheels' geometry tells nothing of a locked clutch's torque.
    pub slide: S,
}

/// The octagon and what goes with it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Possible<S> {
    /// Signed torques that are possible now.
    pub octagon: Octagon<S>,
    /// Torque taken as the last one: last capacity with the present sign, Nm.
    pub previous_nm: PerSide<S>,
    /// Most capacity each clutch may be given, Nm.
    pub capacity_high_nm: PerSide<S>,
    /// Direction of each clutch.
    pub sense: PerSide<Sense>,
    /// Whether each clutch is inside its dead band of slip.
    pub near_stick: PerSide<bool>,
    /// Range of rear torque the master may ask for, Nm.
    pub rear_torque_range_nm: Span<S>,
    /// Range of yaw moment the master may ask for, Nm.
    pub yaw_moment_range_nm: Span<S>,
}

impl<S: Scalar> Possible<S> {
    /// Whether the left (else the right) clutch gives a moment against the turn: the left one while it pushes in a turn to
    /// the left, the right one while it brakes there; either one near stick, where it ties its wheel to the shaft.
    pub fn counters(&self, left: bool, yaw_rate_rad_s: S) -> bool {
        let (sense, near_stick) = if left {
            (self.sense.left, self.near_stick.left)
        } else {
            (self.sense.right, self.near_stick.right)
        };
        let (turns_left, turns_right) = (yaw_rate_rad_s > S::ZERO, yaw_rate_rad_s < S::ZERO);
        let (inner, outer) = if left {
            (turns_left, turns_right)
        } else {
            (turns_right, turns_left)
        };
        near_stick || (inner && sense == Sense::Forward) || (outer && sense == Sense::Backward)
    }
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AuthorityState<S> {
    /// Sign of each side.
    pub sense: PerSide<Sense>,
    /// Taken from the capacity of a clutch that locks at speed, Nm.
    pub taken_nm: PerSide<S>,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Authority<S> {
    /// Its calibration.
    pub tunables: calibration::Authority<S>,
    /// Rolling radius, m.
    pub wheel_radius_m: S,
    /// Overspeed of the rear shaft.
    pub overspeed: S,
    /// Yaw moment per difference of wheel torques, `track / (2 r)`.
    pub moment_per_difference: S,
}

/// Friction shown below which a closed clutch spins a car, and from which it damps: on ice the overspeed alone makes a tyre slide.
const GRIPPING: (f32, f32) = (0.35, 0.6);

struct Side<S> {
    clutch_slip_rad_s: Sensed<S>,
    near_stick: bool,
    /// Taken from the capacity because the clutch locks.
    taken_nm: S,
    lock_torque_nm: S,
    previous_nm: S,
    load_n: S,
    slip: S,
    ceiling: S,
    heat_by: Limit,
}

/// What does not differ between the sides.
struct Shared<S> {
    /// Most a capacity may fall in a step.
    fall_nm: S,
    /// Most it may rise.
    rise_nm: S,
    /// Capacity that health leaves.
    healthy_nm: S,
    /// Capacity that cold oil leaves.
    cold_nm: S,
    /// Capacity that unlike tyres leave.
    unlike_nm: S,
    /// Torque that a tyre can pass on per load.
    drivable_m: S,
    /// Share, 1 straight ahead.
    straight: S,
    /// Share in which a clutch that locks is led back to slip.
    led: S,
    /// Share in which the road is good enough for a closed clutch to damp whatever its tyre holds.
    gripping: S,
    /// Whether a clutch near stick is held to what its lock would carry.
    locks: bool,
    /// The master's cap.
    master_nm: S,
    /// Whether health, cold oil, unlike tyres, brake control, the master and its order leave the whole capacity.
    unhindered: bool,
}

impl<S: Real> Authority<S> {
    /// What both sides have in common.
    #[inline(always)]
    fn shared(&self, input: &AuthorityIn<S>, period_s: S) -> Shared<S> {
        let tune = &self.tunables;
        let cold = fade_out(input.oil_degc, S::of(-30.0), tune.cold_oil_degc)
            * fade_in(input.forward_m_s, S::of(8.0), S::of(20.0));
        let friction = input.friction.at_least(tune.friction_launch * input.launch);
        // What the tyre holds sideways it cannot push with.
        let sideways = input
            .lateral_m_s2
            .per(S::of(GRAVITY_M_S2))
            .at_most(friction);
        let along = (friction.squared() - sideways.squared())
            .square_root()
            .at_least(friction * tune.friction_along);
        let healthy_nm = tune.capacity_nm * input.health_share.up_to(S::ONE);
        let cold_nm = tune.capacity_nm * (S::ONE - cold * (S::ONE - tune.cold_capacity));
        let unlike = input.unlike_tyres * (S::ONE - tune.unlike_tyres_capacity);
        let unlike_nm = tune.capacity_nm * (S::ONE - unlike);
        let master_nm = input.rear_torque_cap_nm.or(tune.capacity_nm);
        let least_nm = healthy_nm
            .at_most(cold_nm)
            .at_most(unlike_nm)
            .at_most(master_nm);
        let opened = input.brake_control || input.open_now || input.health == Health::Open;
        Shared {
            fall_nm: tune.fall_nm_s * period_s,
            rise_nm: tune.rise_nm_s * period_s,
            healthy_nm,
            cold_nm,
            unlike_nm,
            drivable_m: along * tune.friction_share * self.wheel_radius_m,
            straight: fade_out(
                input.lateral_m_s2,
                tune.trust_lateral_start_m_s2,
                tune.trust_lateral_end_m_s2,
            ),
            led: stick::led(input.forward_m_s, input.lateral_m_s2),
            gripping: fade_in(input.friction_shown, S::of(GRIPPING.0), S::of(GRIPPING.1))
                .at_least(input.launch),
            locks: !(input.launch > S::HALF) && !(input.slide > S::HALF),
            master_nm,
            unhindered: least_nm >= tune.capacity_nm && !opened,
        }
    }

    /// Size of torque one side may have, without sign.
    #[inline(always)]
    fn size(&self, side: &Side<S>, input: &AuthorityIn<S>, shared: &Shared<S>) -> SizeBound<S> {
        let tune = &self.tunables;
        let previous = side.previous_nm;
        let floor = (previous - shared.fall_nm).at_least(S::ZERO);
        let mut size = SizeBound {
            low: Bound::new(floor, Limit::Rate),
            high: Bound::new(tune.capacity_nm, Limit::Capacity),
        };
        // What would take nothing from the capacity is not asked one by one.
        let hindered = !shared.unhindered;
        if hindered {
            size.cap(shared.healthy_nm, Limit::Fault);
        }
        size.cap(tune.capacity_nm * side.ceiling.up_to(S::ONE), side.heat_by);
        if hindered {
            size.cap(shared.cold_nm, Limit::ColdOil);
            size.cap(shared.unlike_nm, Limit::UnlikeTyres);
        }
        let drivable = shared.drivable_m
            * side.load_n
            * (S::ONE - (S::ONE - shared.gripping) * input.oversteer_held);
        // A tyre that carries its torque straight ahead without slipping has shown that it can: one side of a split
        // surface must not be judged by what the other side used.
        let shown = if side.clutch_slip_rad_s.is_lost() {
            S::ZERO
        } else {
            shared.straight
                * shared.gripping
                * fade_out(
                    side.slip.magnitude(),
                    tune.trust_slip_start,
                    tune.trust_slip_end,
                )
        };
        // Closed clutches damp yaw also when the tyre slides: oversteer must not open them.
        let held = previous * input.oversteer_held * shared.gripping;
        size.cap(
            drivable
                .at_least(held)
                .at_least((previous + tune.trust_step_nm) * shown),
            Limit::Friction,
        );
        if shared.locks {
            let locked = side.lock_torque_nm.magnitude() * tune.lock_share + tune.lock_margin_nm;
            let locked = locked.at_least(held);
            let led =
                (tune.capacity_nm - side.taken_nm).at_least(tune.lock_margin_nm.at_least(held));
            // The faster, the less the torque of a lock is known; there the clutch is led.
            let most = if side.near_stick {
                locked + (led - locked) * shared.led
            } else {
                led
            };
            size.cap(most, Limit::KinematicLock);
        }
        if hindered && input.brake_control {
            size.cap(S::ZERO, Limit::BrakeControl);
        }
        size.cap(previous + shared.rise_nm, Limit::Rate);
        if hindered {
            // Opposed wheels may cancel in the sum, never in the clutches: the cap holds for each.
            size.order(shared.master_nm, Limit::MasterCap);
            if input.health == Health::Open {
                size.order(S::ZERO, Limit::Fault);
            }
            if input.open_now {
                size.order(S::ZERO, Limit::OpenNow);
            }
        }
        // A fall is bounded by rate unless order, fault or absolute heat takes the torque away.
        if size.low.value > size.high.value {
            if size.high.by.rank() < Limit::Rate.rank() {
                // The floor stays a floor of the rate: with the name of the upper end it would force torque at that rank.
                size.low = Bound::new(size.high.value, Limit::Rate);
            } else {
                size.high = size.low;
            }
        }
        size
    }
}

impl<S: Real> Stage<S> for Authority<S> {
    type In = AuthorityIn<S>;
    type Out = Possible<S>;
    type State = AuthorityState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let tune = &self.tunables;
        let band = self.dead_band_rad_s(input.forward_m_s);
        let near_stick = input
            .clutch_slip_rad_s
            .map(|slip| !slip.is_lost() && slip.or(S::ZERO).magnitude() <= band);
        let mut left = Side {
            clutch_slip_rad_s: input.clutch_slip_rad_s.left,
            near_stick: near_stick.left,
            taken_nm: S::ZERO,
            lock_torque_nm: input.lock_torque_nm.left,
            previous_nm: input.previous_capacity_nm.left,
            load_n: input.rear_load_n.left,
            slip: input.rear_slip.left,
            ceiling: input.heat_ceiling.left,
            heat_by: input.heat_by.left,
        };
        let mut right = Side {
            clutch_slip_rad_s: input.clutch_slip_rad_s.right,
            near_stick: near_stick.right,
            taken_nm: S::ZERO,
            lock_torque_nm: input.lock_torque_nm.right,
            previous_nm: input.previous_capacity_nm.right,
            load_n: input.rear_load_n.right,
            slip: input.rear_slip.right,
            ceiling: input.heat_ceiling.right,
            heat_by: input.heat_by.right,
        };
        let bands = self.bands_rad_s(band, input);
        let sense = PerSide {
            left: self.sense(state.sense.left, &left, bands, input),
            right: self.sense(state.sense.right, &right, bands, input),
        };
        state.sense = sense;
        let shared = self.shared(input, period_s);
        // Most steps are driven away from the limit: there nothing is taken.
        if shared.led > S::ZERO {
            for (side, taken_nm) in [
                (&mut left, &mut state.taken_nm.left),
                (&mut right, &mut state.taken_nm.right),
            ] {
                // A lost slip leads nowhere: exactly where a led clutch is held.
                let over = side
                    .clutch_slip_rad_s
                    .map(|slip| slip.magnitude().per(band))
                    .or(S::of(stick::LED_BANDS));
                *taken_nm = stick::taken(
                    *taken_nm,
                    side.previous_nm,
                    tune.capacity_nm,
                    over,
                    shared.led,
                    period_s,
                );
                side.taken_nm = *taken_nm;
            }
        } else {
            state.taken_nm = PerSide::both(S::ZERO);
        }
        let left = self.size(&left, input, &shared);
        let right = self.size(&right, input, &shared);
        let previous = input
            .previous_capacity_nm
            .zip(sense, |capacity, side| match side {
                Sense::Backward => -capacity,
                Sense::Forward | Sense::Unknown => capacity,
            });

        // Wind-up: rear torque beyond what the powertrain gives is taken from the front wheels.
        let rolling = fade_in(input.forward_m_s, S::of(2.0), tune.wind_up_speed_m_s);
        let steered = fade_in(input.road_wheel_rad.magnitude(), S::of(0.05), S::of(0.3));
        let park =
            tune.wind_up_park_nm + (tune.wind_up_nm - tune.wind_up_park_nm) * (S::ONE - steered);
        let wind_up = park + (tune.wind_up_nm - park) * rolling;
        let mut given = input.torque_nm.at_least(S::ZERO);
        if input.oil_degc < tune.cold_oil_degc {
            // A powertrain's torque is gone sooner than a cold clutch lets go.
            let cold = fade_out(input.oil_degc, S::of(-30.0), tune.cold_oil_degc);
            let tight = steered * (S::ONE - rolling);
            given = given * (S::ONE - tune.wind_up_cold * cold * tight);
        }
        let beyond = given.per(S::ONE + self.overspeed) + wind_up;
        let everything = tune.capacity_nm + tune.capacity_nm;
        let mut sum = NamedSpan::new(-everything, everything, Limit::Capacity);
        let (ahead, behind) = if input.direction < S::ZERO {
            (wind_up, beyond)
        } else {
            (beyond, wind_up)
        };
        sum.lower_high(ahead, Limit::WindUp);
        sum.raise_low(-behind, Limit::WindUp);
        sum.cap(tune.propshaft_nm, Limit::Propshaft);
        let master_nm = input.rear_torque_cap_nm.or(everything);
        if !(master_nm >= tune.propshaft_nm) {
            sum.cap(master_nm, Limit::MasterCap);
        }

        let fast = fade_in(input.forward_m_s, S::of(15.0), S::of(44.4));
        let most = tune.difference_nm + (tune.difference_fast_nm - tune.difference_nm) * fast;
        let mut difference = NamedSpan::new(-everything, everything, Limit::Capacity);
        difference.cap(most, Limit::YawLimit);
        let reach_nm = everything * self.moment_per_difference;
        let moment_nm = input.yaw_moment_cap_nm.or(reach_nm + reach_nm);
        // Twice what the clutches can do: no rounding of the quotient brings that within reach.
        if !(moment_nm >= reach_nm + reach_nm) {
            let cap = moment_nm.per(self.moment_per_difference);
            difference.cap(cap, Limit::MasterCap);
        }
        if !input.may_differ {
            difference.cap(S::ZERO, Limit::Fault);
        }

        let octagon = Octagon {
            left: left.signed(sense.left),
            right: right.signed(sense.right),
            sum,
            difference,
        };
        let (l, r) = (octagon.left.span(), octagon.right.span());
        let rear_torque_range = Span::new(
            (l.low + r.low).at_least(sum.low.value),
            (l.high + r.high).at_most(sum.high.value),
        );
        let reach = Span::new(
            (r.low - l.high).at_least(difference.low.value),
            (r.high - l.low).at_most(difference.high.value),
        );
        Possible {
            octagon,
            previous_nm: previous,
            capacity_high_nm: PerSide {
                left: left.high.value,
                right: right.high.value,
            },
            sense,
            near_stick,
            rear_torque_range_nm: rear_torque_range,
            yaw_moment_range_nm: Span::new(
                reach.low * self.moment_per_difference,
                reach.high * self.moment_per_difference,
            ),
        }
    }
}
