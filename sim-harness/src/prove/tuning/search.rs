//! A search for the least value of a function in a box, with a fixed number of evaluations.
//!
//! In: lower and upper ends, a first point, number of evaluations, seed. Out: the best point, its value, evaluations used.
//! A third of the evaluations goes to the first point and to points drawn evenly in the box. The rest follows from the best
//! of them, one number after the other: each has a step of its own, doubled after a success, halved and turned round after
//! a failure (the trial steps of H. H. Rosenbrock, The Computer Journal 3, 1960, from memory, without its turning of the
//! axes). When every step has become small the steps start anew around the best point. The same seed gives the same
//! answer. Limits: no proof of a global optimum; a value that is not a number counts as worst.

use crate::plant::sensors::mixed;

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Best point.
    pub point: Vec<f64>,
    /// Value there.
    pub value: f64,
    /// Value at the first point.
    pub first: f64,
    /// Evaluations used.
    pub evaluations: usize,
}

/// Share of the box of the first trial step.
const FIRST_STEP: f64 = 0.15;

/// Share of the box below which a step is small.
const SMALL_STEP: f64 = 0.004;

/// Share of a step after a failure, turned round.
const AFTER_FAILURE: f64 = -0.5;

/// Searches; `ends` holds the lower and upper end of each number.
pub fn search(
    ends: &[(f64, f64)],
    first: &[f64],
    evaluations: usize,
    seed: u64,
    mut value_of: impl FnMut(&[f64]) -> f64,
) -> Found {
    let mut judged = |point: &[f64]| {
        let value = value_of(point);
        if value.is_nan() { f64::INFINITY } else { value }
    };
    let first_value = judged(first);
    let mut found = Found {
        point: first.to_vec(),
        value: first_value,
        first: first_value,
        evaluations: 1,
    };
    let mut keep = |found: &mut Found, point: Vec<f64>| {
        found.evaluations += 1;
        let value = judged(&point);
        let better = value < found.value;
        if better {
            (found.point, found.value) = (point, value);
        }
        better
    };
    while found.evaluations < evaluations / 3 {
        let index = found.evaluations as u64;
        let point = ends.iter().enumerate().map(|(place, (low, high))| {
            let bits = mixed(mixed(mixed(seed).wrapping_add(index)).wrapping_add(place as u64));
            // 53 bits fill the fraction of a double.
            low + (high - low) * ((bits >> 11) as f64 / 9_007_199_254_740_992.0)
        });
        let point = point.collect();
        keep(&mut found, point);
    }
    let mut steps = vec![FIRST_STEP; ends.len()];
    while !ends.is_empty() {
        for (place, (low, high)) in ends.iter().enumerate() {
            if found.evaluations >= evaluations {
                return found;
            }
            let mut point = found.point.clone();
            point[place] = (point[place] + steps[place] * (high - low)).clamp(*low, *high);
            // A step into the wall costs no evaluation.
            let moved = point[place] != found.point[place];
            steps[place] *= if moved && keep(&mut found, point) {
                2.0
            } else {
                AFTER_FAILURE
            };
        }
        if steps.iter().all(|step| step.abs() < SMALL_STEP) {
            steps.fill(FIRST_STEP);
        }
    }
    found
}
