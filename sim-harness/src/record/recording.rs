//! Recordings: signals with times of their own, several rates side by side, as a measurement file holds them.
//!
//! A [`Record`] of a run becomes one group of it. Values are `f64`: single precision goes in and out without loss; what is no
//! number means that no sample is there. Times are seconds from the start of the recording and rise within a group.

use super::Record;

/// Everything that was recorded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recording {
    /// Where it comes from, in words.
    pub comment: String,
    /// Signals that share their times.
    pub groups: Vec<Group>,
}

/// Signals that share their times.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Group {
    /// Name, may be empty.
    pub name: String,
    /// Times, s, rising.
    pub time_s: Vec<f64>,
    /// The signals; each has one value per time.
    pub signals: Vec<Signal>,
}

/// One recorded signal.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Signal {
    /// Name.
    pub name: String,
    /// Unit, empty where none is known.
    pub unit: String,
    /// What it means, may be empty.
    pub comment: String,
    /// Values; not a number where there is none.
    pub values: Vec<f64>,
}

impl Recording {
    /// The first signal of a name, and its group.
    pub fn find(&self, name: &str) -> Option<(&Group, &Signal)> {
        self.all().find(|(_, signal)| signal.name == name)
    }

    /// Every signal with its group.
    pub fn all(&self) -> impl Iterator<Item = (&Group, &Signal)> {
        self.groups
            .iter()
            .flat_map(|group| group.signals.iter().map(move |signal| (group, signal)))
    }

    /// First and last time of all groups, s; nothing of an empty recording.
    pub fn span_s(&self) -> Option<(f64, f64)> {
        let ends = self
            .groups
            .iter()
            .filter_map(|group| Some((*group.time_s.first()?, *group.time_s.last()?)));
        ends.reduce(|(from, to), (first, last)| (from.min(first), to.max(last)))
    }
}

impl Group {
    /// A record as a group; its first sample at `start_s`.
    pub fn of_record(name: &str, record: &Record, start_s: f64) -> Self {
        let time_s = (0..record.len()).map(|index| start_s + record.time_s(index));
        let signals = record
            .channels()
            .iter()
            .enumerate()
            .map(|(index, channel)| {
                let values = record.column_at(index).unwrap_or_default();
                Signal {
                    name: channel.name.to_owned(),
                    unit: channel.unit.to_owned(),
                    comment: String::new(),
                    values: values.iter().map(|value| f64::from(*value)).collect(),
                }
            });
        Self {
            name: name.to_owned(),
            time_s: time_s.collect(),
            signals: signals.collect(),
        }
    }
}
