//! A record as CSV: header `name [unit]`, time first, shortest round-trip numbers.

use couplet_sim::record::Record;

use super::number::shortest_f32;

/// The record as text; a sample that is not a number stands as `NaN`.
pub fn csv(record: &Record) -> String {
    let mut text = String::from("time [s]");
    for channel in record.channels() {
        text += &format!(",{} [{}]", channel.name, channel.unit);
    }
    text.push('\n');
    for index in 0..record.len() {
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
