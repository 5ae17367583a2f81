//! A record as CSV: header `name [unit]`, time first, shortest round-trip numbers.
//!
//! Every sample of a record of up to [`MOST_ROWS`] samples; of a longer one (minutes on a road) every second, fifth, tenth
//! or further sample of that row of numbers, so that a session stays small. The summary tells which.

use couplet_sim::record::Record;

use super::number::shortest_f32;

/// Most rows of a file.
const MOST_ROWS: usize = 4000;

/// One row is written for so many samples.
pub fn samples_per_row(record: &Record) -> usize {
    let steps = [1, 2, 5, 10, 20, 50, 100, 200, 500];
    steps
        .into_iter()
        .find(|step| record.len().div_ceil(*step) <= MOST_ROWS)
        .unwrap_or(1000)
}

/// The record as text; a sample that is not a number stands as `NaN`.
pub fn csv(record: &Record) -> String {
    let mut text = String::from("time [s]");
    for channel in record.channels() {
        text += &format!(",{} [{}]", channel.name, channel.unit);
    }
    text.push('\n');
    for index in (0..record.len()).step_by(samples_per_row(record)) {
        text += &time(record, index).to_string();
        for column in 0..record.channels().len() {
            text.push(',');
            let value = record
                .column_at(column)
                .and_then(|samples| samples.get(index));
            text += &value.map_or_else(|| "NaN".to_owned(), |value| shortest_f32(*value));
        }
        text.push('\n');
    }
    text
}

/// Time of a sample; over a whole rate the division keeps 0.57 from reading 0.5700000000000001.
pub fn time(record: &Record, index: usize) -> f64 {
    let rate = (1.0 / record.period_s).round();
    if rate > 0.0 && 1.0 / rate == record.period_s {
        index as f64 / rate
    } else {
        record.time_s(index)
    }
}

#[cfg(test)]
mod tests {
    use couplet_sim::record::{Channel, Parity, Record};

    use super::{MOST_ROWS, csv};

    #[test]
    fn a_long_record_is_written_at_a_coarser_rate_and_a_short_one_whole() {
        let channel = Channel {
            name: "speed",
            unit: "m/s",
            parity: Parity::Even,
        };
        for (samples, rows, second) in [
            (2, 2, "0.02,1"),
            (MOST_ROWS, MOST_ROWS, "0.02,1"),
            (MOST_ROWS + 1, MOST_ROWS / 2 + 1, "0.04,2"),
            (9_663, 1_933, "0.1,5"),
        ] {
            let mut record = Record::new(0.02, vec![channel]);
            for sample in 0..samples {
                record.push(&[sample as f32]);
            }
            let text = csv(&record);
            assert_eq!(text.lines().count(), rows + 1, "{samples} samples");
            assert_eq!(text.lines().nth(2), Some(second), "{samples} samples");
        }
    }
}
