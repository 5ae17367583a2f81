//! Words to write properties with: rows of samples, always, within, windows.

use super::Seen;
use crate::record::Record;

/// Samples of a channel of the car or of the law, as `f64`.
pub fn row(seen: &Seen<'_>, name: &str) -> Option<Vec<f64>> {
    of(&seen.law, name).or_else(|| of(&seen.record, name))
}

/// Samples of a channel of a record.
pub fn of(record: &Record, name: &str) -> Option<Vec<f64>> {
    let column = record.column(name)?;
    Some(column.iter().map(|value| f64::from(*value)).collect())
}

/// Both sides of a channel: `name_left`, `name_right`.
pub fn sides(seen: &Seen<'_>, name: &str) -> Option<[Vec<f64>; 2]> {
    Some([
        row(seen, &format!("{name}_left"))?,
        row(seen, &format!("{name}_right"))?,
    ])
}

/// Sum of both sides.
pub fn sum(sides: &[Vec<f64>; 2]) -> Vec<f64> {
    let pairs = sides[0].iter().zip(&sides[1]);
    pairs.map(|(left, right)| left + right).collect()
}

/// The least of a measure over all samples; what is no number is worst.
pub fn always(measure: impl Iterator<Item = f64>) -> Option<f64> {
    measure
        .map(|one| if one.is_nan() { f64::NEG_INFINITY } else { one })
        .reduce(f64::min)
}

/// Samples of a time.
pub fn steps(seen: &Seen<'_>, time_s: f64) -> usize {
    libm::round(time_s / seen.law.period_s).max(1.0) as usize
}

/// For every sample at which `cause` has held for `steps` samples: the measure there, the least of all. Nothing if it never did.
pub fn once_held(cause: &[bool], steps: usize, measure: impl Fn(usize) -> f64) -> Option<f64> {
    let mut held = 0;
    let mut judged = Vec::new();
    for (index, holds) in cause.iter().enumerate() {
        held = if *holds { held + 1 } else { 0 };
        if held > steps {
            judged.push(measure(index));
        }
    }
    always(judged.into_iter())
}

/// Mean of a row over the window that ends at `index`.
pub fn mean_before(row: &[f64], index: usize, steps: usize) -> f64 {
    let from = (index + 1).saturating_sub(steps);
    let window = &row[from..=index];
    window.iter().sum::<f64>() / window.len() as f64
}

/// Most changes of direction of a row within any second, counting only swings of at least `swing`.
pub fn reversals(row: &[f64], steps_in_a_second: usize, swing: f64) -> usize {
    let mut turns: Vec<usize> = Vec::new();
    let (mut extreme, mut rising) = (row.first().copied().unwrap_or(0.0), None);
    for (index, value) in row.iter().enumerate() {
        match rising {
            Some(true) if *value > extreme => extreme = *value,
            Some(false) if *value < extreme => extreme = *value,
            _ if (value - extreme).abs() >= swing => {
                if rising.is_some() {
                    turns.push(index);
                }
                rising = Some(*value > extreme);
                extreme = *value;
            }
            _ => {}
        }
    }
    let within = |from: usize| {
        let later = turns.iter().filter(|turn| **turn >= from);
        later
            .filter(|turn| **turn < from + steps_in_a_second)
            .count()
    };
    turns.iter().map(|turn| within(*turn)).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cause_counts_once_it_has_held() {
        let cause = [false, true, true, true, false, true];
        let value = |index: usize| index as f64;
        // Held for more than one sample at indices 2 and 3 only.
        assert_eq!(once_held(&cause, 1, value), Some(2.0));
        assert_eq!(once_held(&cause, 9, value), None);
        assert_eq!(always([1.0, f64::NAN].into_iter()), Some(f64::NEG_INFINITY));
    }

    #[test]
    fn reversals_of_a_triangle_are_its_corners() {
        let row: Vec<f64> = (0..100)
            .map(|step| f64::from((step % 20 - 10_i32).abs()) * 30.0)
            .collect();
        // Period 20 samples: two corners each; a window of 40 samples holds four.
        assert_eq!(reversals(&row, 40, 150.0), 4);
        assert_eq!(reversals(&row, 40, 400.0), 0);
    }
}
