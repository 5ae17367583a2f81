//! Lane changes between cones: ISO 3888-1, ISO 3888-2, and the one on snow.
//!
//! Speed is held up to the first gate. From 2 m behind it the obstacle avoidance is driven without accelerator (ISO
//! 3888-2, from memory); in the other two the speed is held on. The driver's line uses the width of the lanes: knots at
//! their ends, at shares of the free room that a numerical search gave for the least largest curvature of each course with a
//! hand's breadth of clearance. With entry speed 0 it is the highest that passes without a struck cone, found
//! beforehand with the same car, control, driver and sensors (raised in steps until three in a row fail, then bisection; a few practice
//! runs at each),
//! so that the run that counts is the last one that passed.

use super::course::Course;
use super::lane::{Lane, Plan, Section};
use super::{Goal, Setup};
use crate::driver::human::Human;
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::metrics::lane::passed;
use crate::plant::{Start, Vehicle};
use crate::run::law::Rule;
use crate::run::{Ending, closed_loop};
use crate::scenario::{Manoeuvre, Scenario};

/// Time the car rolls before the record, s: the foot needs some seconds to find the pedal that holds the speed.
const LEAD_S: f64 = 5.0;

/// Way behind the first gate after which the accelerator is released, m; from memory of ISO 3888-2.
const RELEASE_M: f64 = 2.0;

/// Way before the first gate at which the driver's line may begin to bend, m.
const STRAIGHT_M: f64 = 6.0;

/// Understeer constants with which the driver tries each speed, rad s2/m: a person who practises learns how much more a car
/// wants to be steered near its limit. The same for every layout; the first is the one of an entry speed given.
const LEARNED_RAD_S2_M: [f64; 4] = [0.0060, 0.0050, 0.0070, 0.0080];

/// Speed at which the search begins, m/s: 30 km/h as GB/T 30677-2014 A.2 does.
const FIRST_M_S: f64 = 30.0 / 3.6;

/// Step of the search, m/s: 5 km/h, the largest of GB/T 30677-2014 A.2.
const STEP_M_S: f64 = 5.0 / 3.6;

/// Speed at which the search ends, m/s.
const LAST_M_S: f64 = 160.0 / 3.6;

/// Speeds in a row that must fail, after one that passed, for the search to end: a cone touched at one speed may be left
/// standing at the next.
const FAILURES: u32 = 3;

/// Halvings of the last step: to 0.16 km/h.
const HALVINGS: u32 = 5;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle, rule: Rule<'_>) -> Setup {
    let plan = plan_of(scenario.manoeuvre);
    let asked = scenario.numbers.course.speed_m_s;
    if asked > 0.0 {
        return setup(scenario, vehicle, plan, (asked, LEARNED_RAD_S2_M[0]));
    }
    let passes = |speed_m_s: f64| {
        LEARNED_RAD_S2_M.into_iter().find_map(|learned| {
            let attempt = (speed_m_s, learned);
            let prepared = setup(scenario, vehicle, plan, attempt);
            let (record, outcome) = closed_loop::drive(scenario, vehicle, rule, prepared);
            (outcome.ended == Ending::GoalReached && passed(&record)).then_some(attempt)
        })
    };
    let mut low = None;
    let mut failures = 0;
    let mut speed_m_s = FIRST_M_S;
    while speed_m_s <= LAST_M_S && failures < FAILURES {
        if let Some(attempt) = passes(speed_m_s) {
            low = Some(attempt);
            failures = 0;
        } else if low.is_some() {
            failures += 1;
        }
        speed_m_s += STEP_M_S;
    }
    // A car that never passed is shown at the first speed.
    let Some(mut low) = low else {
        return setup(scenario, vehicle, plan, (FIRST_M_S, LEARNED_RAD_S2_M[0]));
    };
    let mut high = low.0 + STEP_M_S;
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low.0 + high);
        match passes(middle) {
            Some(attempt) => low = attempt,
            None => high = middle,
        }
    }
    setup(scenario, vehicle, plan, low)
}

fn plan_of(manoeuvre: Manoeuvre) -> Plan {
    match manoeuvre {
        Manoeuvre::ObstacleAvoidance => Plan::Obstacle,
        Manoeuvre::SnowLaneChange => Plan::Snow,
        _ => Plan::Double,
    }
}

/// The run at an entry speed, m/s, with a learned understeer constant, rad s2/m.
fn setup(
    scenario: &Scenario,
    vehicle: &Vehicle,
    plan: Plan,
    (speed_m_s, learned): (f64, f64),
) -> Setup {
    let driver = &scenario.numbers.driver;
    let nose_m = vehicle.front_axle_m() + vehicle.body.front_overhang_m;
    // The nose passes the first gate at the time of the action.
    let gate_m = speed_m_s * (LEAD_S + driver.action_s) + nose_m;
    let path = Course::through(
        &line(plan, vehicle, gate_m),
        gate_m + plan.length_m() + 20.0,
    )
    .marked_out(Lane::new(plan, vehicle, gate_m, scenario.mirrored));
    let mut hands = Human::practised(vehicle.body.wheelbase_m, vehicle.steering.ratio);
    hands.understeer_rad_s2_m = learned;
    Setup {
        start: Start {
            speed_m_s,
            carrier_torque_nm: 200.0,
            ambient_degc: scenario.numbers.road.ambient_degc,
            ..Start::default()
        },
        course: Some(super::on_its_side(scenario, path)),
        driver: Box::new(Changing {
            hands,
            holder: SpeedHolder::starting_at(0.1),
            foot: Foot {
                rise_s: driver.pedal_rise_s,
                fall_s: driver.pedal_fall_s,
                pedal: 0.1,
            },
            speed_m_s,
            release_m: match plan {
                Plan::Obstacle => gate_m - nose_m + RELEASE_M,
                Plan::Double | Plan::Snow => f64::INFINITY,
            },
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

/// The driver's line as shares of the free room in the sections, positive to the left, and of the way across between them.
struct Shares {
    /// Half way through and at the end of the first section.
    first: [f64; 2],
    /// Part of the way across that is done half way to the middle section.
    out: f64,
    /// At the start, half way and at the end of the middle section.
    middle: [f64; 3],
    /// Part of the way across that is done half way to the last section.
    back: f64,
    /// At the start, half way and at the end of the last section.
    last: [f64; 3],
}

fn shares(plan: Plan) -> Shares {
    match plan {
        Plan::Obstacle => Shares {
            first: [-0.17, 0.52],
            out: 0.41,
            middle: [-0.76, 0.47, -0.33],
            back: 0.46,
            last: [0.61, -0.69, -0.55],
        },
        Plan::Double => Shares {
            first: [-0.38, 0.43],
            out: 0.47,
            middle: [-0.60, 0.58, -0.60],
            back: 0.46,
            last: [0.68, -0.48, 0.48],
        },
        Plan::Snow => Shares {
            first: [0.13, 0.83],
            out: 0.53,
            middle: [0.0, 0.42, -0.68],
            back: 0.52,
            last: [0.40, -0.25, -0.48],
        },
    }
}

/// Knots of the driver's line.
fn line(plan: Plan, vehicle: &Vehicle, gate_m: f64) -> Vec<(f64, f64)> {
    let [first, middle, last] = plan.sections(vehicle.body.width_m);
    let shares = shares(plan);
    let at = |section: &Section, part: f64, share: f64| {
        let room = 0.5 * (section.width_m() - vehicle.body.width_m);
        let x = section.from_m + part * (section.to_m - section.from_m);
        (gate_m + x, section.middle_m() + share * room)
    };
    let between = |one: (f64, f64), two: (f64, f64), done: f64| {
        (0.5 * (one.0 + two.0), one.1 + done * (two.1 - one.1))
    };
    let leaves = at(&first, 1.0, shares.first[1]);
    let arrives = at(&middle, 0.0, shares.middle[0]);
    let returns = at(&middle, 1.0, shares.middle[2]);
    let is_back = at(&last, 0.0, shares.last[0]);
    vec![
        (gate_m - STRAIGHT_M, first.middle_m()),
        at(&first, 0.5, shares.first[0]),
        leaves,
        between(leaves, arrives, shares.out),
        arrives,
        at(&middle, 0.5, shares.middle[1]),
        returns,
        between(returns, is_back, shares.back),
        is_back,
        at(&last, 0.5, shares.last[1]),
        at(&last, 1.0, shares.last[2]),
    ]
}

struct Changing {
    hands: Human,
    holder: SpeedHolder,
    foot: Foot,
    speed_m_s: f64,
    release_m: f64,
}

impl Driver for Changing {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let distance_m = view.place.map_or(0.0, |place| place.distance_m);
        let pedal = if distance_m < self.release_m {
            self.foot.pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            self.foot.pedal
        } else {
            self.foot.towards(0.0, period_s)
        };
        Action {
            steering_wheel_rad: self.hands.steer(view, period_s),
            pedal,
            brake: 0.0,
        }
    }
}
