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

use couplet_sim::correlate::{Course, Driven, Numbers, Pace, simulated};
use couplet_sim::plant::Vehicle;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::filter::smoothed;
use crate::parallel::in_parallel;

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
/// Left away at the start of a drive, where the car's sideslip is not known, and at both ends, which the filter does not know; s.
const EDGE_S: (f64, f64) = (1.0, 0.2);
/// Time after braking in which the longitudinal acceleration is left away, s.
const AFTER_BRAKING_S: f64 = 0.4;
/// Steps from one compared sample to the next.
const EVERY: usize = 4;
/// Farthest a residual is held to remember the ones before, s.
const MEMORY_S: f64 = 1.0;
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

/// One drive made ready.
struct Trace {
    drive: Driven,
    /// What was measured, filtered twice.
    seen: [Vec<f64>; 3],
    /// Whether a quantity counts, by step.
    counts: [Vec<bool>; 3],
}

impl Trace {
    fn of(drive: &Driven, with_mass: bool) -> Self {
        let mut ready = drive.clone();
        let period_s = drive.period_s;
        ready.steering_rad = smoothed(&drive.steering_rad, period_s);
        ready.measured.speed_m_s = smoothed(&drive.measured.speed_m_s, period_s);
        let twice = |series: &[f64]| smoothed(&smoothed(series, period_s), period_s);
        let measured = &drive.measured;
        let seen = [
            twice(&measured.yaw_rad_s),
            twice(&measured.lateral_m_s2),
            twice(&measured.longitudinal_m_s2),
        ];
        let count = drive.steering_rad.len();
        let steps = |time_s: f64| (time_s / period_s) as usize;
        let (from, to) = (steps(EDGE_S.0), count.saturating_sub(steps(EDGE_S.1)));
        let inside: Vec<bool> = (0..count).map(|step| (from..to).contains(&step)).collect();
        let torque = with_mass && drive.delivered_nm.is_some() && seen[2].len() == count;
        let around = steps(AFTER_BRAKING_S);
        let free = |step: usize| {
            let near = step.saturating_sub(around)..(step + around).min(count);
            drive.brake[near].iter().all(|brake| *brake < 0.02)
        };
        let along = (0..count).map(|step| torque && inside[step] && free(step));
        Self {
            counts: [inside.clone(), inside.clone(), along.collect()],
            seen,
            drive: ready,
        }
    }

    /// What the plant makes of it; currents and torque are moved as much later as the sensors are.
    fn made(&self, vehicle: &Vehicle, numbers: &Numbers, pace: Pace, late_s: f64) -> [Vec<f64>; 3] {
        let mut moved = self.drive.clone();
        let later = |series: &mut Vec<f64>| {
            let late = late_s / self.drive.period_s;
            *series = (0..series.len())
                .map(|step| at(series, step as f64 - late))
                .collect();
        };
        if late_s != 0.0 {
            moved.delivered_nm.iter_mut().for_each(later);
            if let Some(current) = &mut moved.current_a {
                later(&mut current.left);
                later(&mut current.right);
            }
        }
        let Course {
            yaw_rad_s,
            lateral_m_s2,
            longitudinal_m_s2,
            ..
        } = simulated(vehicle, numbers, &moved, pace);
        [yaw_rad_s, lateral_m_s2, longitudinal_m_s2]
            .map(|series| smoothed(&series, self.drive.period_s))
    }
}

type Made = Vec<[Vec<f64>; 3]>;

struct Problem<'a> {
    vehicle: &'a Vehicle,
    traces: &'a [Trace],
    pace: Pace,
    /// How much later the sensors are than currents and torque, as the pass before found, s.
    moved_s: f64,
    /// Numbers that are not fitted stay as these.
    first: Numbers,
    /// Places that are fitted.
    places: Vec<usize>,
    weight: [f64; 3],
    unknowns: DVector<f64>,
    made: Made,
}

/// A number between its bounds from an unknown without any.
fn bounded(place: usize, unknown: f64) -> f64 {
    let (_, low, high) = Numbers::BOUNDS[place];
    low + (high - low) / (1.0 + (-unknown).exp())
}

fn unbounded(place: usize, number: f64) -> f64 {
    let (_, low, high) = Numbers::BOUNDS[place];
    let share = ((number - low) / (high - low)).clamp(0.002, 0.998);
    (share / (1.0 - share)).ln()
}

/// How a number moves with its unknown.
fn slope(place: usize, unknown: f64) -> f64 {
    let (_, low, high) = Numbers::BOUNDS[place];
    let share = 1.0 / (1.0 + (-unknown).exp());
    (high - low) * share * (1.0 - share)
}

impl Problem<'_> {
    fn numbers(&self, unknowns: &DVector<f64>) -> Numbers {
        let mut all = self.first.all();
        for (index, place) in self.places.iter().enumerate() {
            all[*place] = bounded(*place, unknowns[index]);
        }
        Numbers::from_all(all)
    }

    /// Delays of turning and of longitudinal acceleration, s; the unknowns are in units of a hundredth of a second.
    fn late_s(&self, unknowns: &DVector<f64>) -> [f64; 2] {
        let count = self.places.len();
        [0.01 * unknowns[count], 0.01 * unknowns[count + 1]]
    }

    fn all_made(&self, rows: &[Numbers]) -> Vec<Made> {
        let count = self.traces.len();
        let work = |index: usize| {
            let (row, trace) = (&rows[index / count], &self.traces[index % count]);
            trace.made(self.vehicle, row, self.pace, self.moved_s)
        };
        let mut all = in_parallel(rows.len() * count, work, |_, _| ()).into_iter();
        let empty = || [Vec::new(), Vec::new(), Vec::new()];
        rows.iter()
            .map(|_| {
                (0..count)
                    .map(|_| all.next().flatten().unwrap_or_else(empty))
                    .collect()
            })
            .collect()
    }

    /// Differences over standard deviations: by drive, time and quantity; zero where nothing counts.
    fn differences(&self, made: &Made, late_s: [f64; 2]) -> DVector<f64> {
        let mut rows = Vec::new();
        for (trace, made) in self.traces.iter().zip(made) {
            for step in (0..trace.drive.steering_rad.len()).step_by(EVERY) {
                for quantity in 0..3 {
                    if !trace.counts[quantity][step] {
                        rows.push(0.0);
                        continue;
                    }
                    let late = late_s[usize::from(quantity == 2)] / trace.drive.period_s;
                    let found = at(&made[quantity], step as f64 - late);
                    let off = (found - trace.seen[quantity][step]) / self.weight[quantity];
                    // A car that left the world of numbers is far away.
                    rows.push(if off.is_finite() {
                        off.clamp(-1e3, 1e3)
                    } else {
                        1e3
                    });
                }
            }
        }
        DVector::from_vec(rows)
    }

    fn slopes(&self) -> DMatrix<f64> {
        let late_s = self.late_s(&self.unknowns);
        let mut ends = Vec::new();
        let mut by = Vec::new();
        for (index, place) in self.places.iter().enumerate() {
            let move_by = 0.01 * bounded(*place, self.unknowns[index])
                / slope(*place, self.unknowns[index]).max(1e-9);
            let move_by = move_by.min(0.3);
            by.push(move_by);
            for sign in [1.0, -1.0] {
                let mut moved = self.unknowns.clone();
                moved[index] += sign * move_by;
                ends.push(self.numbers(&moved));
            }
        }
        let made = self.all_made(&ends);
        let mut columns: Vec<DVector<f64>> = by
            .iter()
            .enumerate()
            .map(|(index, by)| {
                let more = self.differences(&made[2 * index], late_s);
                let less = self.differences(&made[2 * index + 1], late_s);
                (more - less) / (2.0 * by)
            })
            .collect();
        for group in 0..2 {
            let moved = |sign: f64| {
                let mut late_s = late_s;
                late_s[group] += sign * 0.002;
                self.differences(&self.made, late_s)
            };
            // Delays have a weak prior, below, so that a group nobody uses does no harm.
            columns.push((moved(1.0) - moved(-1.0)) / 0.4);
        }
        let data = DMatrix::from_columns(&columns);
        let (rows, count) = data.shape();
        let mut all = data.resize(rows + 2, count, 0.0);
        all[(rows, count - 2)] = PRIOR;
        all[(rows + 1, count - 1)] = PRIOR;
        all
    }

    fn residuals_of(&self) -> DVector<f64> {
        let data = self.differences(&self.made, self.late_s(&self.unknowns));
        let rows = data.len();
        let count = self.unknowns.len();
        let mut all = data.resize_vertically(rows + 2, 0.0);
        all[rows] = PRIOR * self.unknowns[count - 2];
        all[rows + 1] = PRIOR * self.unknowns[count - 1];
        all
    }

    /// Root mean square by quantity, in its unit; nothing where nothing counts.
    fn left(&self) -> [Option<f64>; 3] {
        let off = self.differences(&self.made, self.late_s(&self.unknowns));
        let mut sums = [(0.0, 0.0_f64); 3];
        let mut row = 0;
        for trace in self.traces {
            for step in (0..trace.drive.steering_rad.len()).step_by(EVERY) {
                for (quantity, sum) in sums.iter_mut().enumerate() {
                    if trace.counts[quantity][step] {
                        let size = off[row] * self.weight[quantity];
                        sum.0 += size * size;
                        sum.1 += 1.0;
                    }
                    row += 1;
                }
            }
        }
        sums.map(|(sum, count)| (count > 0.0).then(|| (sum / count).sqrt()))
    }

    /// Covariance of the unknowns with what the residuals remember.
    fn covariance(&self) -> DMatrix<f64> {
        let slopes = self.slopes();
        let off = self.residuals_of();
        let count = self.unknowns.len();
        let information = slopes.tr_mul(&slopes);
        let Some(inverse) = information.try_inverse() else {
            return DMatrix::from_diagonal_element(count, count, f64::INFINITY);
        };
        let mut middle = DMatrix::zeros(count, count);
        let mut row = 0;
        let mut pieces = 0.0;
        for trace in self.traces {
            let samples = trace.drive.steering_rad.len().div_ceil(EVERY);
            let pull: Vec<DVector<f64>> = (0..samples)
                .map(|sample| {
                    (0..3).fold(DVector::zeros(count), |sum, quantity| {
                        let at = row + 3 * sample + quantity;
                        sum + slopes.row(at).transpose() * off[at]
                    })
                })
                .collect();
            row += 3 * samples;
            let memory = (MEMORY_S / (trace.drive.period_s * EVERY as f64)) as usize;
            pieces += samples as f64 / memory.max(1) as f64;
            for lag in 0..=memory.min(samples.saturating_sub(1)) {
                let window = 1.0 - lag as f64 / (memory + 1) as f64;
                let mut sum = DMatrix::zeros(count, count);
                for sample in lag..samples {
                    sum += &pull[sample] * pull[sample - lag].transpose();
                }
                let both = if lag == 0 {
                    sum
                } else {
                    &sum + sum.transpose()
                };
                middle += both * window;
            }
        }
        // Few pieces make the middle too small.
        let few = pieces / (pieces - count as f64).max(0.25 * pieces);
        &inverse * middle * &inverse * few
    }
}

/// Weak prior of the delays: one over a standard deviation of 0.1 s in units of 0.01 s.
const PRIOR: f64 = 0.1;

/// Value between two samples.
fn at(series: &[f64], place: f64) -> f64 {
    let last = series.len().saturating_sub(1);
    let place = place.clamp(0.0, last as f64);
    let (before, share) = (place.floor() as usize, place.fract());
    match (series.get(before), series.get((before + 1).min(last))) {
        (Some(one), Some(other)) => one + share * (other - one),
        _ => f64::NAN,
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, unknowns: &DVector<f64>) {
        self.unknowns.copy_from(unknowns);
        let numbers = self.numbers(unknowns);
        self.made = self.all_made(&[numbers]).pop().unwrap_or_default();
    }

    fn params(&self) -> DVector<f64> {
        self.unknowns.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.residuals_of())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        Some(self.slopes())
    }
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
