//! The authority worked out a second time in plain formulas, and everything the law says held against them.

use super::PERIOD_S;
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::signal::{Health, Limit, NamedSpan};
use couplet_controller::stage::Stage;
use couplet_controller::stage::authority::{
    Authority, AuthorityIn, AuthorityState, Possible, Sense,
};

/// A number of the law's source, which is one of 32 bits.
pub fn literal(value: f32) -> f64 {
    f64::from(value)
}

/// From 0 at `start` to 1 at `end`; not a number gives 0.
fn rising(x: f64, start: f64, end: f64) -> f64 {
    if x.is_nan() {
        return 0.0;
    }
    ((x - start) / (end - start)).clamp(0.0, 1.0)
}

/// From 1 at `start` to 0 at `end`; not a number gives 0.
fn falling(x: f64, start: f64, end: f64) -> f64 {
    if x.is_nan() {
        return 0.0;
    }
    ((end - x) / (end - start)).clamp(0.0, 1.0)
}

fn value_of(slip: Sensed<f64>) -> Option<f64> {
    match slip {
        Sensed::Fresh(value) | Sensed::Held { value, .. } => Some(value),
        Sensed::Lost => None,
    }
}

/// One end of a span.
type End = (f64, Limit);

/// What is expected of one side.
struct Side {
    sense: Sense,
    near_stick: bool,
    taken_nm: f64,
    low: End,
    high: End,
}

struct Reference<'a> {
    stage: &'a Authority<f64>,
    input: &'a AuthorityIn<f64>,
}

impl Reference<'_> {
    fn band_rad_s(&self) -> f64 {
        let tune = &self.stage.tunables;
        let share = self.input.forward_m_s / tune.dead_band_speed_m_s;
        tune.slip_dead_band_rad_s * share.clamp(literal(0.12), 1.0)
    }

    /// Share in which a clutch is led: from 5 to 12 m/s and from 6 to 7.5 m/s2.
    fn led(&self) -> f64 {
        rising(self.input.forward_m_s, 5.0, 12.0) * rising(self.input.lateral_m_s2, 6.0, 7.5)
    }

    fn by_gear(&self) -> Sense {
        if self.input.direction < 0.0 {
            Sense::Backward
        } else {
            Sense::Forward
        }
    }

    fn sense(&self, before: Sense, slip: Sensed<f64>, lock_nm: f64) -> Sense {
        let (tune, input) = (&self.stage.tunables, self.input);
        let Some(slip) = value_of(slip) else {
            return Sense::Unknown;
        };
        let band = self.band_rad_s();
        let crawl =
            tune.crawl_sign_rad_s * input.launch * falling(input.forward_m_s.abs(), 1.0, 3.0);
        // Slip against the gear must be larger while moving off.
        let along = slip * if input.direction < 0.0 { -1.0 } else { 1.0 };
        let against = match self.by_gear() {
            Sense::Backward => Sense::Forward,
            _ => Sense::Backward,
        };
        if along > band {
            return self.by_gear();
        }
        if -along > band.max(crawl) {
            return against;
        }
        if input.launch > 0.5 || before == Sense::Unknown {
            return self.by_gear();
        }
        if input.slide <= 0.5 && lock_nm.abs() > tune.lock_sign_nm {
            return if lock_nm < 0.0 {
                Sense::Backward
            } else {
                Sense::Forward
            };
        }
        before
    }

    fn taken_nm(&self, before_nm: f64, slip: Sensed<f64>, previous_nm: f64) -> f64 {
        let capacity_nm = self.stage.tunables.capacity_nm;
        let led = self.led();
        let step_nm = 400.0 * PERIOD_S;
        // Lost or not a number: nothing is taken and nothing given back.
        let after = match value_of(slip) {
            Some(slip) if !slip.is_nan() => {
                let beyond = slip.abs() / self.band_rad_s() - 1.5;
                if beyond < 0.0 {
                    before_nm.max(capacity_nm - previous_nm) + step_nm * beyond.abs()
                } else {
                    before_nm - step_nm * beyond * beyond.max(1.0)
                }
            }
            _ => before_nm,
        };
        after.clamp(0.0, capacity_nm * led)
    }

    fn drivable_nm(&self, load_n: f64) -> f64 {
        let (tune, input) = (&self.stage.tunables, self.input);
        let friction = input.friction.max(tune.friction_launch * input.launch);
        let sideways = (input.lateral_m_s2 / literal(9.806_65)).min(friction);
        let along = (friction * friction - sideways * sideways)
            .max(0.0)
            .sqrt()
            .max(friction * tune.friction_along);
        let opened = (1.0 - self.damping_share()) * input.oversteer_held;
        along * tune.friction_share * self.stage.wheel_radius_m * load_n * (1.0 - opened)
    }

    /// Share in which the road is good enough for closed clutches to damp: none at a friction of 0.35 shown sideways, all at 0.6
    /// and while moving off (decision 0012).
    fn damping_share(&self) -> f64 {
        let (low, high) = (literal(0.35), literal(0.6));
        rising(self.input.friction_shown, low, high).max(self.input.launch)
    }

    fn side(&self, left: bool, memory: &AuthorityState<f64>) -> Side {
        let (tune, input) = (&self.stage.tunables, self.input);
        fn of<T>(pair: PerSide<T>, left: bool) -> T {
            if left { pair.left } else { pair.right }
        }
        let slip = of(input.clutch_slip_rad_s, left);
        let previous_nm = of(input.previous_capacity_nm, left);
        let lock_nm = of(input.lock_torque_nm, left);
        let capacity_nm = tune.capacity_nm;
        let near_stick = value_of(slip).is_some_and(|slip| slip.abs() <= self.band_rad_s());
        let taken_nm = if self.led() > 0.0 {
            self.taken_nm(of(memory.taken_nm, left), slip, previous_nm)
        } else {
            0.0
        };
        let held_nm = previous_nm * input.oversteer_held * self.damping_share();

        let mut bounds: Vec<End> = vec![
            (capacity_nm, Limit::Capacity),
            (
                capacity_nm * input.health_share.clamp(0.0, 1.0),
                Limit::Fault,
            ),
            (
                capacity_nm * of(input.heat_ceiling, left).clamp(0.0, 1.0),
                of(input.heat_by, left),
            ),
        ];
        let cold = falling(input.oil_degc, -30.0, tune.cold_oil_degc)
            * rising(input.forward_m_s, 8.0, 20.0);
        bounds.push((
            capacity_nm * (1.0 - cold * (1.0 - tune.cold_capacity)),
            Limit::ColdOil,
        ));
        bounds.push((
            capacity_nm * (1.0 - input.unlike_tyres * (1.0 - tune.unlike_tyres_capacity)),
            Limit::UnlikeTyres,
        ));
        let shown = if value_of(slip).is_none() {
            0.0
        } else {
            falling(
                input.lateral_m_s2,
                tune.trust_lateral_start_m_s2,
                tune.trust_lateral_end_m_s2,
            ) * falling(
                of(input.rear_slip, left).abs(),
                tune.trust_slip_start,
                tune.trust_slip_end,
            ) * self.damping_share()
        };
        let friction_nm = [held_nm, (previous_nm + tune.trust_step_nm) * shown]
            .into_iter()
            .fold(self.drivable_nm(of(input.rear_load_n, left)), f64::max);
        bounds.push((friction_nm, Limit::Friction));
        if input.launch <= 0.5 && input.slide <= 0.5 {
            let locked_nm = (lock_nm.abs() * tune.lock_share + tune.lock_margin_nm).max(held_nm);
            let led_nm = (capacity_nm - taken_nm)
                .max(tune.lock_margin_nm)
                .max(held_nm);
            let most_nm = if near_stick {
                locked_nm + (led_nm - locked_nm) * self.led()
            } else {
                led_nm
            };
            bounds.push((most_nm, Limit::KinematicLock));
        }
        if input.brake_control {
            bounds.push((0.0, Limit::BrakeControl));
        }
        bounds.push((previous_nm + tune.rise_nm_s * PERIOD_S, Limit::Rate));
        if let Some(cap_nm) = value_of(input.rear_torque_cap_nm) {
            // Not a number is the smallest cap there is.
            bounds.push((cap_nm.max(0.0), Limit::MasterCap));
        }
        if input.health == Health::Open {
            bounds.push((0.0, Limit::Fault));
        }
        if input.open_now {
            bounds.push((0.0, Limit::OpenNow));
        }
        let least_nm = bounds
            .iter()
            .fold(f64::INFINITY, |least, end| least.min(end.0));
        let mut at_least_nm: Vec<Limit> = bounds
            .iter()
            .filter(|end| end.0 <= least_nm)
            .map(|end| end.1)
            .collect();
        if least_nm <= 0.0 {
            // At no torque at all the better rank names it: an order beside a softer bound is still an order.
            at_least_nm.sort_by_key(|by| by.rank());
        }
        let mut high = (least_nm, at_least_nm[0]);
        let mut low = (
            (previous_nm - tune.fall_nm_s * PERIOD_S).max(0.0),
            Limit::Rate,
        );
        if low.0 > high.0 {
            if [
                Limit::OpenNow,
                Limit::Fault,
                Limit::AbsoluteHeat,
                Limit::MasterCap,
            ]
            .contains(&high.1)
            {
                low.0 = high.0;
            } else {
                high = low;
            }
        }
        if low.0 <= 0.0 {
            low.1 = Limit::SlipDirection;
        }
        let sense = self.sense(of(memory.sense, left), slip, lock_nm);
        if sense == Sense::Backward {
            (low, high) = ((-high.0, high.1), (-low.0, low.1));
        }
        Side {
            sense,
            near_stick,
            taken_nm,
            low,
            high,
        }
    }

    /// Ends of the sum.
    fn sum(&self) -> (End, End) {
        let (tune, input) = (&self.stage.tunables, self.input);
        let rolling = rising(input.forward_m_s, 2.0, tune.wind_up_speed_m_s);
        let steered = rising(input.road_wheel_rad.abs(), literal(0.05), literal(0.3));
        // Straight ahead and at speed the full wind-up, at walking pace with the wheels steered the one of parking.
        let park = (1.0 - rolling) * steered;
        let wind_up_nm = tune.wind_up_park_nm * park + tune.wind_up_nm * (1.0 - park);
        let cold = falling(input.oil_degc, -30.0, tune.cold_oil_degc);
        let given_nm = input.torque_nm.max(0.0) * (1.0 - tune.wind_up_cold * cold * park);
        let beyond_nm = wind_up_nm + given_nm / (1.0 + self.stage.overspeed);
        let (ahead_nm, behind_nm) = if input.direction < 0.0 {
            (wind_up_nm, beyond_nm)
        } else {
            (beyond_nm, wind_up_nm)
        };
        let mut common = vec![(tune.propshaft_nm, Limit::Propshaft)];
        if let Some(cap_nm) = value_of(input.rear_torque_cap_nm) {
            common.push((cap_nm.max(0.0), Limit::MasterCap));
        }
        let least = |first_nm: f64| {
            let mut end = (2.0 * tune.capacity_nm, Limit::Capacity);
            for bound in [(first_nm, Limit::WindUp)].iter().chain(&common) {
                if bound.0 < end.0 {
                    end = *bound;
                }
            }
            end
        };
        let (low, high) = (least(behind_nm), least(ahead_nm));
        ((-low.0, low.1), high)
    }

    /// Upper end of the difference; the lower one is its negative.
    fn difference(&self) -> End {
        let (tune, input) = (&self.stage.tunables, self.input);
        let fast = rising(input.forward_m_s, 15.0, literal(44.4));
        let mut end = (2.0 * tune.capacity_nm, Limit::Capacity);
        let mut bounds = vec![(
            tune.difference_nm * (1.0 - fast) + tune.difference_fast_nm * fast,
            Limit::YawLimit,
        )];
        if let Some(cap_nm) = value_of(input.yaw_moment_cap_nm) {
            bounds.push((
                (cap_nm / self.stage.moment_per_difference).max(0.0),
                Limit::MasterCap,
            ));
        }
        if !input.may_differ {
            bounds.push((0.0, Limit::Fault));
        }
        for bound in bounds {
            if bound.0 < end.0 {
                end = bound;
            }
        }
        end
    }
}

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * one.abs().max(other.abs()).max(1.0)
}

fn same(span: &NamedSpan<f64>, (low, high): (End, End)) -> bool {
    close(span.low.value, low.0)
        && close(span.high.value, high.0)
        && span.low.by == low.1
        && span.high.by == high.1
}

/// Steps the law once and holds everything it says against the second implementation.
pub fn check(
    stage: &Authority<f64>,
    memory: &AuthorityState<f64>,
    input: &AuthorityIn<f64>,
) -> Possible<f64> {
    let mut state = *memory;
    let possible = stage.step(&mut state, input, PERIOD_S);
    let reference = Reference { stage, input };
    let (left, right) = (reference.side(true, memory), reference.side(false, memory));
    let (sum, most) = (reference.sum(), reference.difference());
    let octagon = &possible.octagon;
    let told = || {
        format!(
            "{possible:#?}\n{state:?}\n{memory:?}\n{:#?}\n{input:#?}",
            stage.tunables
        )
    };
    for (name, span, ends) in [
        ("left", &octagon.left, (left.low, left.high)),
        ("right", &octagon.right, (right.low, right.high)),
        ("sum", &octagon.sum, sum),
        ("difference", &octagon.difference, ((-most.0, most.1), most)),
    ] {
        assert!(same(span, ends), "{name}: expected {ends:?}: {}", told());
    }
    for (side, expected) in [
        (
            (
                possible.sense.left,
                possible.near_stick.left,
                state.sense.left,
            ),
            &left,
        ),
        (
            (
                possible.sense.right,
                possible.near_stick.right,
                state.sense.right,
            ),
            &right,
        ),
    ] {
        assert_eq!(
            side,
            (expected.sense, expected.near_stick, expected.sense),
            "{}",
            told()
        );
    }
    let numbers = |side: &Side| {
        let size = side.high.0.abs().max(side.low.0.abs());
        let sign = if side.sense == Sense::Backward {
            -1.0
        } else {
            1.0
        };
        (size, sign)
    };
    let (left_size, left_sign) = numbers(&left);
    let (right_size, right_sign) = numbers(&right);
    let lever = stage.moment_per_difference;
    for (what, given, expected) in [
        ("taken left", state.taken_nm.left, left.taken_nm),
        ("taken right", state.taken_nm.right, right.taken_nm),
        ("most left", possible.capacity_high_nm.left, left_size),
        ("most right", possible.capacity_high_nm.right, right_size),
        (
            "previous left",
            possible.previous_nm.left,
            left_sign * input.previous_capacity_nm.left,
        ),
        (
            "previous right",
            possible.previous_nm.right,
            right_sign * input.previous_capacity_nm.right,
        ),
        (
            "least torque",
            possible.rear_torque_range_nm.low,
            (left.low.0 + right.low.0).max(sum.0.0),
        ),
        (
            "most torque",
            possible.rear_torque_range_nm.high,
            (left.high.0 + right.high.0).min(sum.1.0),
        ),
        (
            "least moment",
            possible.yaw_moment_range_nm.low,
            lever * (right.low.0 - left.high.0).max(-most.0),
        ),
        (
            "most moment",
            possible.yaw_moment_range_nm.high,
            lever * (right.high.0 - left.low.0).min(most.0),
        ),
    ] {
        assert!(
            close(given, expected),
            "{what}: {given}, expected {expected}: {}",
            told()
        );
    }
    possible
}
