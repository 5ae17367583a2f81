//! Small questions to one channel of a record.

use crate::record::Record;

/// Index of the first sample at or after a time.
pub fn index_at(record: &Record, time_s: f64) -> usize {
    let index = libm::ceil(time_s / record.period_s - 1e-9).max(0.0);
    if index.is_finite() {
        index as usize
    } else {
        usize::MAX
    }
}

/// Samples of a channel from a time to another, both included.
pub fn window<'a>(record: &'a Record, name: &str, from_s: f64, to_s: f64) -> Option<&'a [f32]> {
    let column = record.column(name)?;
    let first = index_at(record, from_s).min(column.len());
    let last = index_at(record, to_s).saturating_add(1).min(column.len());
    Some(&column[first..last.max(first)])
}

/// Value at a time, if the record reaches it.
pub fn at(record: &Record, name: &str, time_s: f64) -> Option<f64> {
    record
        .column(name)?
        .get(index_at(record, time_s))
        .copied()
        .map(f64::from)
}

/// Largest size in a window.
pub fn largest_size(record: &Record, name: &str, from_s: f64, to_s: f64) -> Option<f64> {
    let window = window(record, name, from_s, to_s)?;
    (!window.is_empty()).then(|| {
        window
            .iter()
            .fold(0.0_f64, |most, value| most.max(f64::from(value.abs())))
    })
}

/// Mean of a window.
pub fn mean(record: &Record, name: &str, from_s: f64, to_s: f64) -> Option<f64> {
    let window = window(record, name, from_s, to_s)?;
    (!window.is_empty())
        .then(|| window.iter().map(|value| f64::from(*value)).sum::<f64>() / window.len() as f64)
}

/// Time of the first sample at or above a level, interpolated.
pub fn first_above(record: &Record, name: &str, level: f32) -> Option<f64> {
    first_beyond(record, name, level, 1.0)
}

/// Time of the first sample that, times `sign` (1 or -1), is at or above a level, interpolated.
pub fn first_beyond(record: &Record, name: &str, level: f32, sign: f32) -> Option<f64> {
    let column = record.column(name)?;
    let index = column.iter().position(|value| sign * *value >= level)?;
    if index == 0 {
        return Some(0.0);
    }
    let (before, after) = (
        f64::from(sign * column[index - 1]),
        f64::from(sign * column[index]),
    );
    let share = (f64::from(level) - before) / (after - before);
    Some((index as f64 - 1.0 + share) * record.period_s)
}

/// Sum of the samples times their period: the integral of what the samples stand for.
pub fn integral(record: &Record, name: &str) -> Option<f64> {
    let column = record.column(name)?;
    Some(column.iter().map(|value| f64::from(*value)).sum::<f64>() * record.period_s)
}

/// Last sample minus the first.
pub fn rise(record: &Record, name: &str) -> Option<f64> {
    let column = record.column(name)?;
    Some(f64::from(*column.last()?) - f64::from(*column.first()?))
}

/// Slope of `y` over `x` by least squares, if `x` varies.
pub fn slope(points: &[(f64, f64)]) -> Option<f64> {
    if points.len() < 3 {
        return None;
    }
    let count = points.len() as f64;
    let (sum_x, sum_y) = points
        .iter()
        .fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
    let (mean_x, mean_y) = (sum_x / count, sum_y / count);
    let (xx, xy) = points.iter().fold((0.0, 0.0), |(xx, xy), (x, y)| {
        let dx = x - mean_x;
        (xx + dx * dx, xy + dx * (y - mean_y))
    });
    (xx > 1e-12).then(|| xy / xx)
}

/// Running mean over `width` samples, centred; shorter at the ends.
pub fn running_mean(samples: &[f32], width: usize) -> Vec<f64> {
    let half = width / 2;
    let mut sums = Vec::with_capacity(samples.len() + 1);
    sums.push(0.0_f64);
    for value in samples {
        sums.push(sums[sums.len() - 1] + f64::from(*value));
    }
    (0..samples.len())
        .map(|index| {
            let first = index.saturating_sub(half);
            let last = (index + half + 1).min(samples.len());
            (sums[last] - sums[first]) / (last - first) as f64
        })
        .collect()
}
