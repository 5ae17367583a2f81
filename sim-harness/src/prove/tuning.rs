//! Equal effort for every axle: one objective, one search, the same number of drives for each layout's own numbers.
//!
//! In: the car, a seed, a number of evaluations. Out: the numbers of a layout with the least objective. The objective is a
//! weighted mean of values over those of front drive in the same drives, lower is better, 1 is front drive; nothing in it
//! is a target of the paired axle. No part may become worse than with the numbers the search starts from: a first search
//! without this rule made the single coupling calm and slow, and the paired axle is asked to be no slower than it. Tuned on another seed of the sensors' noise than the programme's. Numbers of the paired
//! axle are the two axes of its setting alone: its law had far more work before. Limits: one car, one objective, a box per
//! number; another weighting has another optimum.

pub mod search;

use super::programme::case_of;
use crate::metrics::value;
use crate::plant::{AxleLayout, Vehicle};
use crate::run::{Ending, RunResult, run};
use crate::scenario::LAUNCH_GOAL_M_S;
use couplet_controller::RawPage;
use search::{Found, search};

/// Seed of the sensors' noise in the search; the programme has 0.
pub const NOISE_SEED: u64 = 1;

/// Seed of the points drawn in the search.
const SEARCH_SEED: u64 = 7;

/// Cost of a drive that ended in a spin, off the road or without the value, times front drive's.
const FAILED: f64 = 3.0;

/// Part of front drive's value by which a part may become worse, and what each beyond it costs.
const LET_GO: f64 = 0.005;
const WORSE_COSTS: f64 = 10.0;

/// One part of the objective: a group of the programme, its weight, and what counts of it, lower is better.
struct Part {
    name: &'static str,
    group: &'static str,
    weight: f64,
    cost: fn(&RunResult) -> Option<f64>,
}

const PARTS: &[Part] = &[
    Part {
        name: "dry exit, pedal within 1 m: 1 over speed gained",
        group: "power-on-exit-dry-paced",
        weight: 2.0,
        cost: |result| over_gain(result, 15.0),
    },
    Part {
        name: "dry exit, floored: yaw rate error",
        group: "power-on-exit-dry",
        weight: 1.0,
        cost: |result| value(&result.metrics, "yaw rate error, rms"),
    },
    Part {
        name: "wet exit, pedal within 1 m: 1 over speed gained",
        group: "power-on-exit-wet-paced",
        weight: 2.0,
        cost: |result| over_gain(result, 12.5),
    },
    Part {
        name: "wet exit, floored: path error",
        group: "power-on-exit-wet",
        weight: 1.0,
        cost: |result| value(&result.metrics, "path error, largest"),
    },
    Part {
        name: "split launch, level: time",
        group: "split-launch-0",
        weight: 1.0,
        cost: launch_s,
    },
    Part {
        name: "split launch, 10 %: time",
        group: "split-launch-10",
        weight: 1.0,
        cost: launch_s,
    },
    Part {
        name: "lift-off: tightening after 1 s and at most",
        group: "lift-off",
        weight: 1.0,
        cost: |result| {
            let after = value(&result.metrics, "curvature after 1 s over initial")?;
            let most = value(&result.metrics, "curvature, largest over initial")?;
            Some((after - 1.0).abs() + (most - 1.0).abs())
        },
    },
    Part {
        name: "step steer at 100 km/h: overshoot",
        group: "step-steer-agile",
        weight: 1.0,
        cost: |result| value(&result.metrics, "yaw rate overshoot"),
    },
    Part {
        name: "obstacle avoidance: 1 over entry speed",
        group: "obstacle-avoidance",
        weight: 1.0,
        cost: |result| value(&result.metrics, "entry speed passed").map(|speed| 1.0 / speed),
    },
    Part {
        name: "Skarn Pass: time",
        group: "skarn-pass",
        weight: 1.0,
        cost: |result| value(&result.metrics, "time for the pass"),
    },
    Part {
        name: "Skarn Pass: energy of the powertrain",
        group: "skarn-pass",
        weight: 1.0,
        cost: |result| crate::metrics::series::integral(&result.record, "plant_engine_power"),
    },
];

/// 1 over the speed gained on the way out, s/m; a car that gained nothing counts as a tenth of a metre a second.
fn over_gain(result: &RunResult, from_m_s: f64) -> Option<f64> {
    let speed = value(&result.metrics, "speed after 3 s")?;
    Some(1.0 / (speed - from_m_s).max(0.1))
}

/// Time to 20 km/h, s; a car that does not get there in the 15 s takes up to 15 s more, the slower it was the more.
fn launch_s(result: &RunResult) -> Option<f64> {
    let time = value(&result.metrics, "time to 20 km/h");
    let speed = result.record.column("speed")?;
    let most = speed
        .iter()
        .fold(0.0_f64, |most, v| most.max(f64::from(*v)));
    time.or(Some(15.0 + 15.0 * (1.0 - most / LAUNCH_GOAL_M_S).max(0.0)))
}

/// Names and weights of the parts of the objective.
pub fn parts() -> impl Iterator<Item = (&'static str, f64)> {
    PARTS.iter().map(|part| (part.name, part.weight))
}

/// The objective with front drive's values.
#[derive(Debug, Clone, PartialEq)]
pub struct Objective {
    seed: u64,
    front: Vec<Option<f64>>,
}

impl Objective {
    /// Drives front drive once for its values.
    pub fn new(vehicle: &Vehicle, page: &RawPage, seed: u64) -> Self {
        let mut objective = Self {
            seed,
            front: Vec::new(),
        };
        objective.front = objective.raw(AxleLayout::FrontDrive, vehicle, page);
        objective
    }

    /// Every part over front drive's, in the order of [`parts`].
    pub fn shares(&self, layout: AxleLayout, vehicle: &Vehicle, page: &RawPage) -> Vec<f64> {
        let raw = self.raw(layout, vehicle, page);
        let over = |(one, front): (&Option<f64>, &Option<f64>)| match (one, front) {
            (Some(one), Some(front)) if *front > 0.0 => (one / front).min(FAILED),
            _ => FAILED,
        };
        raw.iter().zip(&self.front).map(over).collect()
    }

    /// Weighted mean of the parts.
    pub fn total(shares: &[f64]) -> f64 {
        let weights: f64 = PARTS.iter().map(|part| part.weight).sum();
        let sum: f64 = PARTS
            .iter()
            .zip(shares)
            .map(|(part, share)| part.weight * share)
            .sum();
        sum / weights
    }

    /// The same, with a steep price for every part that is worse than before.
    pub fn total_against(shares: &[f64], before: &[f64]) -> f64 {
        let worse = |(share, before): (&f64, &f64)| (share - before - LET_GO).max(0.0);
        let price: f64 = shares.iter().zip(before).map(worse).sum();
        Self::total(shares) + WORSE_COSTS * price
    }

    fn raw(&self, layout: AxleLayout, vehicle: &Vehicle, page: &RawPage) -> Vec<Option<f64>> {
        let mut before: Option<(&str, RunResult)> = None;
        let mut values = Vec::new();
        for part in PARTS {
            // Parts of one group stand side by side and share its run.
            let known = before.take().filter(|(group, _)| *group == part.group);
            let result = known.map(|(_, result)| result).or_else(|| {
                let mut scenario = case_of(part.group, layout)?.scenario;
                scenario.seed = self.seed;
                Some(run(&scenario, vehicle, page))
            });
            let went_well = result.as_ref().filter(|result| {
                let ended = result.outcome.ended;
                !matches!(ended, Ending::Spun | Ending::LeftPath | Ending::NotFinite)
            });
            values.push(went_well.and_then(part.cost));
            before = result.map(|result| (part.group, result));
        }
        values
    }
}

/// A number that is searched, with the ends of its box.
struct Number {
    group: &'static str,
    key: &'static str,
    ends: (f64, f64),
}

/// The numbers of a layout: all that its own law or part has.
fn numbers(layout: AxleLayout) -> Vec<Number> {
    let of = |group, list: &[(&'static str, f64, f64)]| {
        let number = |(key, low, high): &(&'static str, f64, f64)| Number {
            group,
            key,
            ends: (*low, *high),
        };
        list.iter().map(number).collect::<Vec<_>>()
    };
    match layout {
        AxleLayout::FrontDrive => Vec::new(),
        // Locking beyond 0.5 (three times the torque on one side) or much pre-load makes the steering heavy and drags in
        // tight bends: common practice, no source. The plant has no aligning moment that would show it; the box stands for it.
        AxleLayout::FrontLimitedSlip => of(
            "front_differential",
            &[
                ("preload_nm", 0.0, 150.0),
                ("locking_drive", 0.0, 0.5),
                ("locking_coast", 0.0, 0.5),
            ],
        ),
        AxleLayout::BrakeVectoring => of(
            "brake_vectoring",
            &[
                ("quiet_rad_s", 0.0, 0.12),
                ("gain_nm_s_rad", 2000.0, 60_000.0),
                ("maximum_torque_nm", 200.0, 4000.0),
                ("carrier_share", 0.1, 1.0),
                ("aim_understeer_share", 0.0, 1.5),
                ("traction_gain_nm_s_m", 100.0, 8000.0),
                ("traction_start_m_s", 0.0, 1.5),
                ("traction_start_share", 0.0, 0.15),
                ("traction_maximum_torque_nm", 500.0, 4000.0),
                ("traction_cut_start_m_s", 0.1, 6.0),
                ("traction_cut_per_m", 0.0, 3.0),
            ],
        ),
        // Its overspeed stays 0: a search that had it too took 2.1 % and a quiet slip of 2.2 rad/s, which from 125 km/h on
        // closes the coupling against the overspeed on a straight road; no part of the objective is that fast.
        AxleLayout::SingleCoupling => of(
            "coupling",
            &[
                ("share", 0.0, 0.8),
                ("free_torque_nm", 0.0, 600.0),
                ("lead_torque_nm", 0.0, 3000.0),
                ("slip_gain_nm_s_rad", 0.0, 5000.0),
                ("slip_start_rad_s", 0.0, 3.0),
                ("maximum_torque_nm", 600.0, 3000.0),
                ("rise_nm_s", 3000.0, 60_000.0),
                ("fall_nm_s", 1000.0, 60_000.0),
                ("front_spin_m_s", 0.1, 2.0),
            ],
        ),
        AxleLayout::PairedClutches => of(
            "setting",
            &[("agility", 0.0, 1.0), ("steadiness", 0.0, 1.0)],
        ),
    }
}

/// What a search came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Tuned {
    /// Group, key and found value of each number.
    pub numbers: Vec<(&'static str, &'static str, f64)>,
    /// Every part over front drive's, before and after.
    pub shares: (Vec<f64>, Vec<f64>),
    /// The search.
    pub found: Found,
}

/// Tunes a layout from the numbers of vehicle and page.
pub fn tune(
    layout: AxleLayout,
    vehicle: &Vehicle,
    page: &RawPage,
    objective: &Objective,
    evaluations: usize,
) -> Tuned {
    let numbers = numbers(layout);
    let ends: Vec<(f64, f64)> = numbers.iter().map(|number| number.ends).collect();
    let first: Vec<f64> = numbers
        .iter()
        .map(|number| read(number, vehicle, page))
        .collect();
    let shares = |point: &[f64]| {
        let (vehicle, page) = with(&numbers, point, vehicle, page);
        objective.shares(layout, &vehicle, &page)
    };
    let before = shares(&first);
    let found = search(&ends, &first, evaluations, SEARCH_SEED, |point| {
        Objective::total_against(&shares(point), &before)
    });
    Tuned {
        numbers: numbers
            .iter()
            .zip(&found.point)
            .map(|(number, value)| (number.group, number.key, *value))
            .collect(),
        shares: (before, shares(&found.point)),
        found,
    }
}

fn read(number: &Number, vehicle: &Vehicle, page: &RawPage) -> f64 {
    match number.key {
        "agility" => f64::from(page.tunables.setting.agility),
        "steadiness" => f64::from(page.tunables.setting.steadiness),
        key => Vehicle::FIELDS
            .iter()
            .find(|field| field.group == number.group && field.key == key)
            .map_or(f64::NAN, |field| (field.read)(vehicle)),
    }
}

/// Car and page with the numbers of a point.
fn with(
    numbers: &[Number],
    point: &[f64],
    vehicle: &Vehicle,
    page: &RawPage,
) -> (Vehicle, RawPage) {
    let (mut vehicle, mut page) = (*vehicle, *page);
    for (number, value) in numbers.iter().zip(point) {
        match number.key {
            "agility" => page.tunables.setting.agility = *value as f32,
            "steadiness" => page.tunables.setting.steadiness = *value as f32,
            key => {
                let field = Vehicle::FIELDS
                    .iter()
                    .find(|field| field.group == number.group && field.key == key);
                if let Some(field) = field {
                    (field.write)(&mut vehicle, *value);
                }
            }
        }
    }
    (vehicle, page)
}
