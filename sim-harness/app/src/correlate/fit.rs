//! Mass, tyre stiffness and friction fitted to recordings: weighted least squares within bounds.
//!
//! In: drives, the nominal car. Out: numbers with 95 % intervals and what the drives do not tell. Each number is held between its bounds
//! by a steep residual beyond them; a weak prior (0.3 about the nominal value) keeps what the drives do not tell where it was. Quantities weigh by
//! what is left of them, in three passes; residuals that follow each other count as fewer (effective number of samples). Method of
//! Levenberg and Marquardt. Limits: what the plant lacks goes into the numbers, and the intervals do not know of it.

use couplet_sim::correlate::{Driven, Numbers, Quantity, simulated};
use couplet_sim::plant::Vehicle;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

/// Every so manieth step counts: neighbours tell the same.
const EVERY: usize = 4;
/// Standard deviation of the weak prior.
const PRIOR: f64 = 0.3;
/// First standard deviations of yaw rate (rad/s), lateral acceleration (m/s2), speed (m/s).
const FIRST: [f64; 3] = [0.01, 0.2, 0.2];
/// Least standard deviations, a sensor without noise.
const LEAST: [f64; 3] = [0.001, 0.03, 0.02];
/// Most a residual that follows the one before widens an interval, as a factor on the variance.
const MOST_WIDER: f64 = 400.0;
/// Way beyond a bound that weighs as much as one standard deviation.
const BEYOND: f64 = 0.001;
/// Quantile of the normal distribution for 95 %.
const QUANTILE: f64 = 1.96;
/// Half width of the 95 % interval up to which the drives tell a number, share of it.
const TOLD: f64 = 0.12;
/// Residual of a simulation that left the world of numbers.
const LOST: f64 = 50.0;

/// What came of a fit.
pub struct Fitted {
    /// The numbers.
    pub numbers: Numbers,
    /// 95 % interval of each.
    pub interval: [(f64, f64); 4],
    /// Whether the drives tell it.
    pub told: [bool; 4],
    /// Whether it ended at a bound.
    pub at_bound: [bool; 4],
    /// Evaluations, and whether the method ended by its own criteria.
    pub evaluations: usize,
    /// The same.
    pub converged: bool,
}

struct Problem<'a> {
    vehicle: &'a Vehicle,
    drives: &'a [Driven],
    hold_speed: bool,
    first: [f64; 4],
    deviation: [f64; 3],
    unknowns: DVector<f64>,
}

/// A number within its bounds, and how far the unknown lies beyond them.
fn bounded(index: usize, unknown: f64) -> (f64, f64) {
    let (_, low, high) = Numbers::BOUNDS[index];
    let value = unknown.clamp(low, high);
    (value, unknown - value)
}

impl Problem<'_> {
    fn numbers(&self, unknowns: &DVector<f64>) -> Numbers {
        Numbers::from_all(std::array::from_fn(|index| {
            bounded(index, unknowns[index]).0
        }))
    }

    /// Differences by quantity, every so manieth step of every drive.
    fn differences(&self, unknowns: &DVector<f64>) -> [Vec<f64>; 3] {
        let numbers = self.numbers(unknowns);
        let mut all: [Vec<f64>; 3] = Default::default();
        for drive in self.drives {
            let made = simulated(self.vehicle, &numbers, drive, self.hold_speed);
            for (quantity, into) in Quantity::ALL.into_iter().zip(&mut all) {
                let pairs = made.of(quantity).iter().zip(drive.measured.of(quantity));
                into.extend(pairs.step_by(EVERY).map(|(made, seen)| made - seen));
            }
        }
        all
    }

    fn residuals_at(&self, unknowns: &DVector<f64>) -> DVector<f64> {
        let all = self.differences(unknowns);
        let mut residuals = Vec::new();
        for (series, deviation) in all.iter().zip(self.deviation) {
            residuals.extend(series.iter().map(|off| {
                let residual = off / deviation;
                if residual.is_finite() { residual } else { LOST }
            }));
        }
        for (index, first) in self.first.iter().enumerate() {
            let (value, beyond) = bounded(index, unknowns[index]);
            // Beyond a bound the way back is always steeper than the way on.
            residuals.push((value - first) / PRIOR);
            residuals.push(beyond / BEYOND);
        }
        DVector::from_vec(residuals)
    }

    fn slopes_at(&self, unknowns: &DVector<f64>) -> DMatrix<f64> {
        let columns: Vec<DVector<f64>> = (0..4)
            .map(|index| {
                let by = 2.0e-3;
                let (mut more, mut less) = (unknowns.clone(), unknowns.clone());
                more[index] += by;
                less[index] -= by;
                (self.residuals_at(&more) - self.residuals_at(&less)) / (2.0 * by)
            })
            .collect();
        DMatrix::from_columns(&columns)
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
pub fn fit(
    vehicle: &Vehicle,
    first: &Numbers,
    drives: &[Driven],
    hold_speed: bool,
    mut done: impl FnMut(usize),
) -> Fitted {
    let first = first.all();
    let mut problem = Problem {
        vehicle,
        drives,
        hold_speed,
        first,
        deviation: FIRST,
        unknowns: DVector::from_row_slice(&first),
    };
    let (mut evaluations, mut converged) = (0, false);
    for pass in 0..3 {
        let method = LevenbergMarquardt::new().with_tol(1e-6).with_patience(4);
        let (after, report) = method.minimize(problem);
        problem = after;
        evaluations += report.number_of_evaluations;
        converged = report.termination.was_successful();
        let left = problem.differences(&problem.unknowns);
        for (index, series) in left.iter().enumerate() {
            let square: f64 = series.iter().map(|off| off * off).sum();
            let follow: f64 = series.windows(2).map(|pair| pair[0] * pair[1]).sum();
            let rms = (square / series.len().max(1) as f64).sqrt();
            let follow = if square > 0.0 { follow / square } else { 0.0 };
            let follow = follow.clamp(0.0, 0.995);
            let wider = ((1.0 + follow) / (1.0 - follow)).min(MOST_WIDER);
            problem.deviation[index] = rms.max(LEAST[index]) * wider.sqrt();
        }
        done(pass + 1);
    }
    let numbers = problem.numbers(&problem.unknowns);
    let slopes = problem.slopes_at(&problem.unknowns);
    // The prior makes it regular whatever the drives.
    let covariance = slopes
        .tr_mul(&slopes)
        .try_inverse()
        .unwrap_or_else(|| DMatrix::from_diagonal_element(4, 4, f64::INFINITY));
    let values = numbers.all();
    let half: [f64; 4] =
        std::array::from_fn(|index| QUANTILE * covariance[(index, index)].max(0.0).sqrt());
    Fitted {
        numbers,
        interval: std::array::from_fn(|index| {
            let (_, low, high) = Numbers::BOUNDS[index];
            let value = values[index];
            (
                (value - half[index]).max(low),
                (value + half[index]).min(high),
            )
        }),
        told: std::array::from_fn(|index| half[index] <= TOLD * values[index]),
        at_bound: std::array::from_fn(|index| {
            let (_, low, high) = Numbers::BOUNDS[index];
            let room = (values[index] - low).min(high - values[index]);
            room < 0.02 * (high - low)
        }),
        evaluations,
        converged,
    }
}
