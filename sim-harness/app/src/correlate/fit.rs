//! Mass, tyre stiffness and friction fitted to recorded drives: the plant's answer to the recorded inputs against what was measured.
//!
//! Output error by the method of Levenberg and Marquardt. The recorded steering is noisy and drives the simulation, so it goes through a
//! low-pass without lag; what is simulated goes through it once more and what was measured twice, so that both sides saw the same.
//! Mass shows only against a torque that is known: it is fitted where the delivered torque was recorded (`carrier_torque`), by the
//! longitudinal acceleration while no brake works, which does not feel a slope of the road. Delays of the sensors are fitted beside.
//!
//! Intervals: covariance of the Jacobian with the residuals' own autocorrelation (heteroscedasticity and autocorrelation consistent, Bartlett
//! window; Newey and West 1987, from memory), and a floor of 1.5 % for what filters and clock steps do (without it the intervals
//! held 32 of 38 true stiffnesses of invented cars). A number the drives do not tell is
//! refused by name and stays as it was. Limits: what the plant does not have (wind, slope of bends, other tyres) goes into the numbers.

use couplet_sim::correlate::{Driven, Numbers, Pace};
use couplet_sim::plant::Vehicle;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::DVector;

use super::problem::{Made, Problem, Trace, slope, unbounded};

/// What can be asked for, with the places among [`Numbers::all`].
pub const ASKED: [(&str, &[usize]); 3] = [
    ("mass", &[0]),
    ("tyre-stiffness", &[1, 2]),
    ("friction", &[3]),
];
/// Names of the measured quantities: yaw rate, lateral and longitudinal acceleration.
pub const QUANTITIES: [(&str, &str); 3] = [
    ("yaw rate", "rad/s"),
    ("lateral acceleration", "m/s2"),
    ("longitudinal acceleration", "m/s2"),
];

const MASS: usize = 0;
const FRICTION: usize = 3;
/// Standard deviations of the quantities before anything is known; chosen.
const FIRST_WEIGHT: [f64; 3] = [0.01, 0.2, 0.15];
/// Least of them: a recording without noise.
const LEAST: [f64; 3] = [5e-4, 0.01, 0.01];
/// Quantile for 95 % with some tens of independent pieces.
const QUANTILE: f64 = 2.05;
/// No interval is narrower than this share.
const FLOOR: f64 = 0.015;
/// Widest half interval of a number that counts as told, as a share, by place.
const TOLD: [f64; 4] = [0.05, 0.10, 0.10, 0.10];
/// Share of the friction that the drives must use.
pub const USED: f64 = 0.6;
/// Longitudinal acceleration that moves the mass, m/s2, and how long, s.
const MOVING: (f64, f64) = (0.5, 2.0);
/// Frictions tried before the fit: from the wrong side of the limit nothing shows the way.
const TRIED: [f64; 7] = [0.2, 0.3, 0.42, 0.55, 0.7, 0.88, 1.1];
/// Gravity, m/s2.
const GRAVITY: f64 = 9.80665;

/// A number that was refused.
pub struct Refused {
    /// Place among the numbers.
    pub place: usize,
    /// Why.
    pub why: String,
}

/// What came of a fit.
pub struct Fitted {
    /// The numbers; refused ones as they were.
    pub numbers: Numbers,
    /// 95 % interval by place; nothing of a number that was not fitted.
    pub interval: [Option<(f64, f64)>; 4],
    /// Refused ones.
    pub refused: Vec<Refused>,
    /// Root mean square before and after, by quantity; nothing of one that was not used.
    pub left: [Option<(f64, f64)>; 3],
    /// How much later turning and longitudinal acceleration were measured than simulated, s.
    pub late_s: [f64; 2],
    /// Largest share of the friction the drives use.
    pub used: f64,
    /// Whether the method ended by its own criteria.
    pub converged: bool,
}

/// Fits the numbers of these places to the drives; every number that is not told is refused and stays as it was.
pub fn fit(vehicle: &Vehicle, first: Numbers, drives: &[Driven], places: &[usize]) -> Fitted {
    let mut places = places.to_vec();
    let mut refused = Vec::new();
    let traces = |with_mass: bool| -> Vec<Trace> {
        drives.iter().map(|one| Trace::of(one, with_mass)).collect()
    };
    let mut ready = traces(places.contains(&MASS));
    if let (true, Some(why)) = (places.contains(&MASS), still(&ready)) {
        refused.push(Refused { place: MASS, why });
        places.retain(|place| *place != MASS);
        ready = traces(false);
    }
    loop {
        let (fitted, worst) = once(vehicle, first, &ready, &places);
        match worst {
            None => {
                return Fitted { refused, ..fitted };
            }
            Some(one) => {
                places.retain(|place| *place != one.place);
                if one.place == MASS {
                    ready = traces(false);
                }
                refused.push(one);
            }
        }
    }
}

/// Why the drives do not move the mass.
fn still(traces: &[Trace]) -> Option<String> {
    let mut moving_s = 0.0;
    for trace in traces {
        let (counts, along) = (&trace.counts[2], &trace.seen[2]);
        let moves = counts.iter().zip(along);
        let moves = moves.filter(|(counts, along)| **counts && along.abs() > MOVING.0);
        moving_s += moves.count() as f64 * trace.drive.period_s;
    }
    if traces
        .iter()
        .all(|trace| trace.drive.delivered_nm.is_none())
    {
        return Some("no drive has the delivered torque (`carrier_torque`); the torque wished for is not what the wheels get".into());
    }
    (moving_s < MOVING.1).then(|| {
        format!(
            "with known torque and without brake the car accelerates by more than {} m/s2 for {moving_s:.1} s; {} s are needed",
            MOVING.0, MOVING.1
        )
    })
}

/// One fit, and the number that is told worst if one is told too little.
fn once(
    vehicle: &Vehicle,
    first: Numbers,
    traces: &[Trace],
    places: &[usize],
) -> (Fitted, Option<Refused>) {
    let pace = if places.contains(&MASS) {
        Pace::Delivered
    } else {
        Pace::Speed
    };
    let mut problem = Problem {
        vehicle,
        traces,
        pace,
        moved_s: 0.0,
        first,
        places: places.to_vec(),
        weight: FIRST_WEIGHT,
        unknowns: DVector::zeros(places.len() + 2),
        made: Vec::new(),
    };
    let all = first.all();
    let mut start = DVector::zeros(places.len() + 2);
    for (index, place) in places.iter().enumerate() {
        start[index] = unbounded(*place, all[*place]);
    }
    problem.set_params(&start);
    let before = problem.left();
    if let Some(index) = places.iter().position(|place| *place == FRICTION) {
        let tried: Vec<Numbers> = TRIED
            .iter()
            .map(|friction| Numbers {
                friction: *friction,
                ..first
            })
            .collect();
        let made = problem.all_made(&tried);
        let size = |made: &Made| problem.differences(made, [0.0; 2]).norm_squared();
        let best =
            (0..TRIED.len()).min_by(|one, other| size(&made[*one]).total_cmp(&size(&made[*other])));
        start[index] = unbounded(FRICTION, TRIED[best.unwrap_or(0)]);
        problem.set_params(&start);
    }
    let mut converged = true;
    if !places.is_empty() {
        for pass in 0..2 {
            let method = LevenbergMarquardt::new()
                .with_ftol(1e-5)
                .with_xtol(1e-4)
                .with_gtol(1e-6)
                .with_patience(3);
            let (after, report) = method.minimize(problem);
            problem = after;
            let mut unknowns = problem.unknowns.clone();
            if pace == Pace::Delivered && pass == 0 {
                // The law's commands carry no delay of a sensor; torque and acceleration tell it.
                problem.moved_s = problem.late_s(&unknowns)[1];
                unknowns[places.len() + 1] = 0.0;
            }
            problem.set_params(&unknowns);
            converged = report.termination.was_successful();
            for (quantity, left) in problem.left().into_iter().enumerate() {
                if let Some(left) = left {
                    problem.weight[quantity] = left.max(LEAST[quantity]);
                }
            }
        }
    }
    judged(&problem, before, converged)
}

fn judged(
    problem: &Problem<'_>,
    before: [Option<f64>; 3],
    converged: bool,
) -> (Fitted, Option<Refused>) {
    let numbers = problem.numbers(&problem.unknowns);
    let after = problem.left();
    let mut most = 0.0_f64;
    for trace in problem.traces {
        let along = |step: usize| trace.seen[2].get(step).copied().unwrap_or(0.0);
        for (step, across) in trace.seen[1].iter().enumerate() {
            if trace.counts[1][step] {
                most = most.max(across.hypot(along(step)));
            }
        }
    }
    let late_s = problem.late_s(&problem.unknowns);
    let mut fitted = Fitted {
        numbers,
        interval: [None; 4],
        refused: Vec::new(),
        left: std::array::from_fn(|quantity| before[quantity].zip(after[quantity])),
        late_s: [late_s[0], late_s[1] + problem.moved_s],
        used: most / (GRAVITY * numbers.friction),
        converged,
    };
    let covariance = problem.covariance();
    let mut worst: Option<(f64, Refused)> = None;
    for (index, place) in problem.places.iter().enumerate() {
        let (number, unknown) = (numbers.all()[*place], problem.unknowns[index]);
        let deviation = covariance[(index, index)].max(0.0).sqrt() * slope(*place, unknown);
        let half = (QUANTILE * deviation).hypot(FLOOR * number);
        fitted.interval[*place] = Some((number - half, number + half));
        let (_, low, high) = Numbers::BOUNDS[*place];
        let room = 0.02 * (high - low);
        let too_wide = half / number / TOLD[*place];
        let why = if number < low + room || number > high - room {
            Some((
                f64::INFINITY,
                format!("it ran to {number:.3}, the end of what is allowed"),
            ))
        } else if *place == FRICTION && fitted.used < USED {
            let (used, needed) = (100.0 * fitted.used, 100.0 * USED);
            let why =
                format!("the drives use {used:.0} % of {number:.2}; {needed:.0} % are needed");
            Some((f64::INFINITY, why))
        } else if !(too_wide <= 1.0) {
            let (found, allowed) = (100.0 * half / number, 100.0 * TOLD[*place]);
            let why = format!("the drives tell it to +-{found:.0} %; +-{allowed:.0} % are needed");
            Some((too_wide, why))
        } else {
            None
        };
        if let Some((size, why)) = why
            && worst.as_ref().is_none_or(|(other, _)| size > *other)
        {
            worst = Some((size, Refused { place: *place, why }));
        }
    }
    (fitted, worst.map(|(_, refused)| refused))
}
