//! Records: named channels with a unit, one rate, `f32` samples.
//!
//! A record is written by a run and read by metrics, reports and files; nothing in a run reads it back. What a measurement file holds, several rates
//! side by side, is a [`recording::Recording`].

pub mod recording;

/// How a channel behaves when the car is seen in a mirror along its x axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// Unchanged: speed, pedal.
    Even,
    /// Changes sign: yaw rate, steering angle, lateral acceleration.
    Odd,
    /// Swaps with the channel of the other side (`_left` with `_right`).
    Swap,
    /// Swaps with the other side and changes sign.
    SwapOdd,
}

/// Name, unit and mirror behaviour of one channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Channel {
    /// Name in whole words, with its side as suffix where it has one.
    pub name: &'static str,
    /// Unit in SI notation, `-` for a pure number.
    pub unit: &'static str,
    /// How the channel behaves in the mirror.
    pub parity: Parity,
}

/// Samples of all channels of one run at one fixed period.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// Time between two samples, s.
    pub period_s: f64,
    channels: Vec<Channel>,
    columns: Vec<Vec<f32>>,
}

impl Record {
    /// An empty record with the given channels.
    pub fn new(period_s: f64, channels: Vec<Channel>) -> Self {
        let columns = channels.iter().map(|_| Vec::new()).collect();
        Self {
            period_s,
            channels,
            columns,
        }
    }

    /// Adds one row; `row` must hold one value per channel, in channel order.
    ///
    /// # Panics
    /// If the number of values differs from the number of channels.
    pub fn push(&mut self, row: &[f32]) {
        assert_eq!(
            row.len(),
            self.columns.len(),
            "a record row must hold one value per channel"
        );
        for (column, value) in self.columns.iter_mut().zip(row) {
            column.push(*value);
        }
    }

    /// The channels in column order.
    pub fn channels(&self) -> &[Channel] {
        &self.channels
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.columns.first().map_or(0, Vec::len)
    }

    /// Whether no sample was taken.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The samples of the named channel, or `None` if there is no such channel.
    pub fn column(&self, name: &str) -> Option<&[f32]> {
        let index = self
            .channels
            .iter()
            .position(|channel| channel.name == name)?;
        self.columns.get(index).map(Vec::as_slice)
    }

    /// The samples of the channel at `index` in [`Record::channels`].
    pub fn column_at(&self, index: usize) -> Option<&[f32]> {
        self.columns.get(index).map(Vec::as_slice)
    }

    /// Time of sample `index`, s.
    pub fn time_s(&self, index: usize) -> f64 {
        index as f64 * self.period_s
    }

    /// The record as it would be of the car seen in a mirror: the exact image, bit for bit.
    pub fn mirrored(&self) -> Self {
        let mut columns = Vec::with_capacity(self.columns.len());
        for (index, channel) in self.channels.iter().enumerate() {
            let source = match channel.parity {
                Parity::Even | Parity::Odd => index,
                Parity::Swap | Parity::SwapOdd => {
                    self.index_of(&other_side(channel.name)).unwrap_or(index)
                }
            };
            let negate = matches!(channel.parity, Parity::Odd | Parity::SwapOdd);
            let column = self.columns[source]
                .iter()
                .map(|v| if negate { -*v } else { *v })
                .collect();
            columns.push(column);
        }
        Self {
            period_s: self.period_s,
            channels: self.channels.clone(),
            columns,
        }
    }

    fn index_of(&self, name: &str) -> Option<usize> {
        self.channels
            .iter()
            .position(|channel| channel.name == name)
    }
}

/// The channel name of the other side: `left` and `right` change places.
pub fn other_side(name: &str) -> String {
    if name.contains("left") {
        name.replace("left", "right")
    } else {
        name.replace("right", "left")
    }
}
