//! The law's heat network fitted to a log: weighted least squares over the logarithms of its ten numbers.
//!
//! In: samples, start numbers. Out: numbers, residuals by node, 95 % intervals, what the log cannot tell. The network is the law's
//! (`controller::stage::thermal::network`), worked out here in double precision with Runge-Kutta steps of at most [`STEP_S`]. The start
//! temperatures are fitted beside the numbers, so that noise of the first sample does no harm.
//! Every number has a weak prior, a factor of three about the start: where the log says nothing a number stays, and its interval tells
//! so. Each node weighs by what is left of it; residuals that follow each other count as fewer (effective number of samples of a
//! first-order process), which widens the intervals. Method of Levenberg and Marquardt. Limits: what the network does not have (plates,
//! oil flow) goes into the numbers, and the intervals do not know of it.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::log::Sample;

/// Numbers of the network in the order of the fit, by their names in the calibration group `heat_network`.
pub const NUMBERS: [&str; 10] = [
    "surface_capacity_j_k",
    "core_capacity_j_k",
    "oil_capacity_j_k",
    "housing_capacity_j_k",
    "surface_core_w_k",
    "surface_oil_w_k",
    "core_oil_w_k",
    "oil_housing_w_k",
    "housing_ambient_w_k",
    "housing_ambient_per_speed_w_s_k_m",
];

/// Longest Runge-Kutta step, s: a quarter of the shortest time constant.
const STEP_S: f64 = 0.05;
/// Weak prior: standard deviation of a logarithm, a factor of three.
const PRIOR: f64 = 1.1;
/// Standard deviation of a start temperature about the first sample, K.
const START_K: f64 = 3.0;
/// Least standard deviation of a node, K: a log without noise.
const LEAST_K: f64 = 0.05;
/// Most a residual that follows the one before widens an interval, as a factor on the variance.
const MOST_WIDER: f64 = 400.0;
/// Half width of the 95 % interval of a logarithm up to which the log tells a number: a quarter.
const TOLD: f64 = 0.223;
/// Quantile of the normal distribution for 95 %.
const QUANTILE: f64 = 1.96;

const UNKNOWNS: usize = NUMBERS.len() + 6;

/// What is left of a node, K.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Left {
    /// Root mean square.
    pub rms_k: f64,
    /// Correlation of a residual with the one before, -1 to 1.
    pub correlation: f64,
}

/// What came of a fit.
pub struct Fitted {
    /// The numbers.
    pub numbers: [f64; 10],
    /// 95 % interval of each.
    pub interval: [(f64, f64); 10],
    /// Whether the log tells it.
    pub told: [bool; 10],
    /// By node, before and after; nothing where the log has no such temperature.
    pub left: [Option<(Left, Left)>; 6],
    /// Condition number of the log: how much better the best told combination of numbers is known than the worst.
    pub condition: f64,
    /// The combination of numbers the log tells worst: share of each.
    pub worst: [f64; 10],
    /// Evaluations, and whether the method ended by its own criteria.
    pub evaluations: usize,
    /// The same.
    pub converged: bool,
}

/// Temperatures of the network at every sample from these at the first.
pub fn simulated(numbers: &[f64; 10], start: [f64; 6], samples: &[Sample]) -> Vec<[f64; 6]> {
    let mut at = start;
    let mut all = Vec::with_capacity(samples.len());
    let mut before: Option<&Sample> = None;
    for sample in samples {
        if let Some(before) = before {
            let time_s = sample.time_s - before.time_s;
            let steps = (time_s / STEP_S).ceil().max(1.0);
            let step_s = time_s / steps;
            let speed = 0.5 * (sample.speed_m_s + before.speed_m_s);
            let air = 0.5 * (sample.air_degc + before.air_degc);
            for step in 0..steps as usize {
                let from_middle_s = (step as f64 + 0.5) * step_s - 0.5 * time_s;
                let heat_w = std::array::from_fn(|side| {
                    sample.heat_w[side] + from_middle_s * sample.heat_w_s[side]
                });
                at = runge_kutta(numbers, at, heat_w, speed, air, step_s);
            }
        }
        all.push(at);
        before = Some(sample);
    }
    all
}

fn runge_kutta(
    numbers: &[f64; 10],
    at: [f64; 6],
    heat_w: [f64; 2],
    speed: f64,
    air: f64,
    step_s: f64,
) -> [f64; 6] {
    let slope = |at: &[f64; 6]| slope(numbers, at, heat_w, speed, air);
    let ahead = |by: &[f64; 6], share: f64| std::array::from_fn(|i| at[i] + share * step_s * by[i]);
    let one = slope(&at);
    let two = slope(&ahead(&one, 0.5));
    let three = slope(&ahead(&two, 0.5));
    let four = slope(&ahead(&three, 1.0));
    std::array::from_fn(|i| at[i] + step_s / 6.0 * (one[i] + 2.0 * (two[i] + three[i]) + four[i]))
}

/// Change of every temperature, K/s.
fn slope(numbers: &[f64; 10], at: &[f64; 6], heat_w: [f64; 2], speed: f64, air: f64) -> [f64; 6] {
    let [
        surface_c,
        core_c,
        oil_c,
        housing_c,
        across,
        surface_oil,
        core_oil,
        oil_housing,
        still,
        per_speed,
    ] = *numbers;
    let [s0, s1, c0, c1, oil, housing] = *at;
    let out = |surface: f64, core: f64| {
        (
            across * (surface - core),
            surface_oil * (surface - oil),
            core_oil * (core - oil),
        )
    };
    let (left, right) = (out(s0, c0), out(s1, c1));
    let to_housing = oil_housing * (oil - housing);
    let to_air = (still + per_speed * speed) * (housing - air);
    [
        (heat_w[0] - left.0 - left.1) / surface_c,
        (heat_w[1] - right.0 - right.1) / surface_c,
        (left.0 - left.2) / core_c,
        (right.0 - right.2) / core_c,
        (left.1 + left.2 + right.1 + right.2 - to_housing) / oil_c,
        (to_housing - to_air) / housing_c,
    ]
}

struct Problem<'a> {
    samples: &'a [Sample],
    first: [f64; 10],
    start: [f64; 6],
    /// One over the standard deviation by node; 0 where there is no measurement.
    weight: [f64; 6],
    unknowns: DVector<f64>,
}

impl Problem<'_> {
    fn numbers(&self, unknowns: &DVector<f64>) -> [f64; 10] {
        std::array::from_fn(|i| self.first[i] * unknowns[i].exp())
    }

    fn differences(&self, unknowns: &DVector<f64>) -> Vec<[f64; 6]> {
        let start = std::array::from_fn(|node| self.start[node] + unknowns[NUMBERS.len() + node]);
        let found = simulated(&self.numbers(unknowns), start, self.samples);
        found
            .iter()
            .zip(self.samples)
            .map(|(found, sample)| {
                std::array::from_fn(|node| sample.degc[node].map_or(0.0, |seen| found[node] - seen))
            })
            .collect()
    }

    fn residuals_at(&self, unknowns: &DVector<f64>) -> DVector<f64> {
        let data = self.differences(unknowns);
        let data = data
            .iter()
            .flat_map(|row| (0..6).map(move |node| row[node] * self.weight[node]));
        let prior = (0..UNKNOWNS).map(|i| {
            let wide = if i < NUMBERS.len() { PRIOR } else { START_K };
            unknowns[i] / wide
        });
        let count = 6 * self.samples.len() + UNKNOWNS;
        DVector::from_iterator(count, data.chain(prior))
    }

    fn slopes_at(&self, unknowns: &DVector<f64>) -> DMatrix<f64> {
        let count = 6 * self.samples.len() + UNKNOWNS;
        let mut slopes = DMatrix::zeros(count, UNKNOWNS);
        for i in 0..UNKNOWNS {
            let by = if i < NUMBERS.len() { 1e-4 } else { 1e-2 };
            let (mut more, mut less) = (unknowns.clone(), unknowns.clone());
            more[i] += by;
            less[i] -= by;
            let difference = (self.residuals_at(&more) - self.residuals_at(&less)) / (2.0 * by);
            slopes.set_column(i, &difference);
        }
        slopes
    }

    fn left(&self, unknowns: &DVector<f64>) -> [Left; 6] {
        let rows = self.differences(unknowns);
        std::array::from_fn(|node| {
            let square: f64 = rows.iter().map(|row| row[node] * row[node]).sum();
            let follow: f64 = rows
                .windows(2)
                .map(|pair| pair[0][node] * pair[1][node])
                .sum();
            Left {
                rms_k: (square / rows.len().max(1) as f64).sqrt(),
                correlation: if square > 0.0 { follow / square } else { 0.0 },
            }
        })
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, unknowns: &DVector<f64>) {
        self.unknowns.copy_from(unknowns);
    }

    fn params(&self) -> DVector<f64> {
        self.unknowns.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.residuals_at(&self.unknowns))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        Some(self.slopes_at(&self.unknowns))
    }
}

/// Fits; `done` hears of every pass of three.
pub fn fit(first: [f64; 10], samples: &[Sample], mut done: impl FnMut(usize)) -> Fitted {
    let seen = samples.first().map_or([None; 6], |sample| sample.degc);
    // A node that is not measured starts as warm as the oil.
    let oil = seen[super::log::OIL].unwrap_or(0.0);
    let mut problem = Problem {
        samples,
        first,
        start: seen.map(|seen| seen.unwrap_or(oil)),
        weight: seen.map(|seen| f64::from(u8::from(seen.is_some()))),
        unknowns: DVector::zeros(UNKNOWNS),
    };
    let before = problem.left(&problem.unknowns);
    let (mut evaluations, mut converged) = (0, false);
    for pass in 0..3 {
        let method = LevenbergMarquardt::new().with_tol(1e-8).with_patience(4);
        let (after, report) = method.minimize(problem);
        problem = after;
        evaluations += report.number_of_evaluations;
        converged = report.termination.was_successful();
        let left = problem.left(&problem.unknowns);
        // First alike, then by size, then by size and how much each residual tells anew.
        for (node, weight) in problem.weight.iter_mut().enumerate() {
            if *weight > 0.0 {
                let follow = left[node].correlation.clamp(0.0, 0.995);
                let wider = if pass == 0 {
                    1.0
                } else {
                    ((1.0 + follow) / (1.0 - follow)).min(MOST_WIDER)
                };
                *weight = 1.0 / (left[node].rms_k.max(LEAST_K) * wider.sqrt());
            }
        }
        done(pass + 1);
    }
    judged(
        &problem,
        seen.map(|seen| seen.is_some()),
        before,
        (evaluations, converged),
    )
}

fn judged(
    problem: &Problem<'_>,
    seen: [bool; 6],
    before: [Left; 6],
    (evaluations, converged): (usize, bool),
) -> Fitted {
    let numbers = problem.numbers(&problem.unknowns);
    let slopes = problem.slopes_at(&problem.unknowns);
    let information = slopes.tr_mul(&slopes);
    // The prior makes it regular whatever the log.
    let covariance = information
        .try_inverse()
        .unwrap_or_else(|| DMatrix::from_diagonal_element(UNKNOWNS, UNKNOWNS, f64::INFINITY));
    let half: [f64; 10] = std::array::from_fn(|i| QUANTILE * covariance[(i, i)].max(0.0).sqrt());
    let data = slopes.view((0, 0), (6 * problem.samples.len(), NUMBERS.len()));
    let eigen = data.tr_mul(&data).symmetric_eigen();
    let (mut least, mut most) = (0, 0);
    for i in 0..NUMBERS.len() {
        if eigen.eigenvalues[i] < eigen.eigenvalues[least] {
            least = i;
        }
        if eigen.eigenvalues[i] > eigen.eigenvalues[most] {
            most = i;
        }
    }
    let after = problem.left(&problem.unknowns);
    Fitted {
        numbers,
        interval: std::array::from_fn(|i| {
            (numbers[i] * (-half[i]).exp(), numbers[i] * half[i].exp())
        }),
        told: half.map(|half| half <= TOLD),
        left: std::array::from_fn(|node| seen[node].then(|| (before[node], after[node]))),
        condition: (eigen.eigenvalues[most] / eigen.eigenvalues[least].max(0.0)).sqrt(),
        worst: std::array::from_fn(|i| eigen.eigenvectors[(i, least)]),
        evaluations,
        converged,
    }
}
