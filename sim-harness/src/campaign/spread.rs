//! What a campaign found: values of all samples, their percentiles, the share that passes.
//!
//! Percentile: nearest rank. The value of percentile `p` of `n` samples is the one at rank ceil(p n / 100) in rising
//! order, counted from 1; nothing is interpolated, so it is always the value of a car that was driven. A drive without a
//! value (the car spun, never settled) ranks behind every value: it is the worst, it is not left out.

use super::Campaign;

/// The finished samples of a campaign.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// What was driven.
    pub campaign: Campaign,
    /// Judged values of each sample, in the order of their indices from 0.
    pub samples: Vec<Vec<Option<f64>>>,
}

impl Spread {
    /// Values of a judged metric, sample by sample; empty if the campaign does not judge it.
    pub fn values(&self, name: &str) -> Vec<Option<f64>> {
        let judged = self.campaign.judged.iter();
        let Some(place) = judged.clone().position(|judged| judged.name == name) else {
            return Vec::new();
        };
        let of = |sample: &Vec<Option<f64>>| sample.get(place).copied().flatten();
        self.samples.iter().map(of).collect()
    }

    /// Percentile of a metric for which less is better; `None` where the sample at that rank has no value.
    pub fn percentile(&self, name: &str, percent: f64) -> Option<f64> {
        percentile(&self.values(name), percent)
    }

    /// Drives without a value.
    pub fn missing(&self, name: &str) -> usize {
        let values = self.values(name);
        values.iter().filter(|value| value.is_none()).count()
    }

    /// Share of the samples, 0 to 1, whose value passes; a missing value never does.
    pub fn share(&self, name: &str, passes: impl Fn(f64) -> bool) -> Option<f64> {
        let values = self.values(name);
        let count = values
            .iter()
            .filter(|value| value.is_some_and(&passes))
            .count();
        (!values.is_empty()).then(|| count as f64 / values.len() as f64)
    }
}

/// The value at the nearest rank; missing and not-a-number rank last.
pub fn percentile(values: &[Option<f64>], percent: f64) -> Option<f64> {
    let mut ranked: Vec<f64> = values
        .iter()
        .map(|value| {
            value
                .filter(|value| !value.is_nan())
                .unwrap_or(f64::INFINITY)
        })
        .collect();
    ranked.sort_by(f64::total_cmp);
    let rank = libm::ceil(percent * values.len() as f64 / 100.0 - 1e-9).max(1.0) as usize;
    ranked
        .get(rank - 1)
        .copied()
        .filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::percentile;

    #[test]
    fn a_percentile_is_the_value_of_a_driven_car_at_the_nearest_rank() {
        // Ranks of the definition: ceil(0.95 * 40) = 38 of 40, ceil(0.5 * 5) = 3 of 5.
        let forty: Vec<Option<f64>> = (1..=40).rev().map(|v| Some(f64::from(v))).collect();
        assert_eq!(percentile(&forty, 95.0), Some(38.0));
        assert_eq!(percentile(&forty, 100.0), Some(40.0));
        assert_eq!(percentile(&forty, 0.0), Some(1.0));
        let five = [15.0, 20.0, 35.0, 40.0, 50.0].map(Some);
        assert_eq!(percentile(&five, 50.0), Some(35.0));
        assert_eq!(percentile(&five, 30.0), Some(20.0));
        assert_eq!(percentile(&[], 95.0), None);
    }

    #[test]
    fn a_missing_value_is_the_worst_and_is_not_left_out() {
        let mut twenty: Vec<Option<f64>> = (1..=20).map(|v| Some(f64::from(v))).collect();
        twenty[3] = None;
        assert_eq!(percentile(&twenty, 95.0), Some(20.0));
        twenty[4] = Some(f64::NAN);
        assert_eq!(percentile(&twenty, 95.0), None);
    }
}
