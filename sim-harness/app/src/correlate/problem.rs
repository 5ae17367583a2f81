//! The differences between recorded and simulated drives as a problem of least squares: residuals, Jacobian, covariance.
//!
//! In: drives, the car, which numbers move. The unknowns are logits of the numbers between their bounds, then two delays in hundredths of a second.

use couplet_sim::correlate::{Course, Driven, Numbers, Pace, simulated};
use couplet_sim::plant::Vehicle;
use levenberg_marquardt::LeastSquaresProblem;
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::filter::smoothed;
use crate::parallel::in_parallel;

/// Left away at the start of a drive, where the car's sideslip is not known, and at both ends, which the filter does not know; s.
const EDGE_S: (f64, f64) = (1.0, 0.2);
/// Time after braking in which the longitudinal acceleration is left away, s.
const AFTER_BRAKING_S: f64 = 0.4;
/// Steps from one compared sample to the next.
const EVERY: usize = 4;
/// Farthest a residual is held to remember the ones before, s.
const MEMORY_S: f64 = 1.0;

/// One drive made ready.
pub(super) struct Trace {
    pub drive: Driven,
    /// What was measured, filtered twice.
    pub seen: [Vec<f64>; 3],
    /// Whether a quantity counts, by step.
    pub counts: [Vec<bool>; 3],
}

impl Trace {
    /// A drive made ready; with mass the longitudinal acceleration counts.
    pub fn of(drive: &Driven, with_mass: bool) -> Self {
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

/// What was simulated: by drive and quantity.
pub(super) type Made = Vec<[Vec<f64>; 3]>;

/// The drives, the car and the numbers that move.
pub(super) struct Problem<'a> {
    pub vehicle: &'a Vehicle,
    pub traces: &'a [Trace],
    pub pace: Pace,
    /// How much later the sensors are than currents and torque, as the pass before found, s.
    pub moved_s: f64,
    /// Numbers that are not fitted stay as these.
    pub first: Numbers,
    /// Places that are fitted.
    pub places: Vec<usize>,
    pub weight: [f64; 3],
    pub unknowns: DVector<f64>,
    pub made: Made,
}

/// A number between its bounds from an unknown without any.
pub(super) fn bounded(place: usize, unknown: f64) -> f64 {
    let (_, low, high) = Numbers::BOUNDS[place];
    low + (high - low) / (1.0 + (-unknown).exp())
}

/// The unknown of a number.
pub(super) fn unbounded(place: usize, number: f64) -> f64 {
    let (_, low, high) = Numbers::BOUNDS[place];
    let share = ((number - low) / (high - low)).clamp(0.002, 0.998);
    (share / (1.0 - share)).ln()
}

/// How a number moves with its unknown.
pub(super) fn slope(place: usize, unknown: f64) -> f64 {
    let (_, low, high) = Numbers::BOUNDS[place];
    let share = 1.0 / (1.0 + (-unknown).exp());
    (high - low) * share * (1.0 - share)
}

impl Problem<'_> {
    /// The numbers of these unknowns.
    pub fn numbers(&self, unknowns: &DVector<f64>) -> Numbers {
        let mut all = self.first.all();
        for (index, place) in self.places.iter().enumerate() {
            all[*place] = bounded(*place, unknowns[index]);
        }
        Numbers::from_all(all)
    }

    /// Delays of turning and of longitudinal acceleration, s; the unknowns are in units of a hundredth of a second.
    pub fn late_s(&self, unknowns: &DVector<f64>) -> [f64; 2] {
        let count = self.places.len();
        [0.01 * unknowns[count], 0.01 * unknowns[count + 1]]
    }

    /// Every drive with every row of numbers.
    pub fn all_made(&self, rows: &[Numbers]) -> Vec<Made> {
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
    pub fn differences(&self, made: &Made, late_s: [f64; 2]) -> DVector<f64> {
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
    pub fn left(&self) -> [Option<f64>; 3] {
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
    pub fn covariance(&self) -> DMatrix<f64> {
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
