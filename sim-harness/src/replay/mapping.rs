//! Which channel of a recording tells the law what: signals, units, signs, gaps. Only what is written here is used; nothing is guessed.

use couplet_controller::signal::inputs::InputSignal;
use couplet_controller::signal::{INPUT_SIGNALS, OutputSignal};

/// Where an input comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// A channel of the recording.
    Channel(String),
    /// The same value in every step, in the law's unit.
    Constant(f64),
}

/// What stands between two samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Between {
    /// The last sample, which ages: as a law in the car sees it.
    #[default]
    Hold,
    /// The straight line to the next sample: for slow recordings of quick signals. It looks ahead, which no law can.
    Line,
}

/// One input of the law.
#[derive(Debug, Clone)]
pub struct Row {
    /// The input.
    pub input: &'static InputSignal,
    /// Where it comes from.
    pub source: Source,
    /// Factor to the law's unit, with the sign.
    pub factor: f64,
    /// Added after the factor, in the law's unit.
    pub offset: f64,
    /// How much later than the others the channel is recorded, s; it is read that much ahead.
    pub late_s: f64,
    /// Time without sample after which the input is lost, s.
    pub longest_gap_s: f64,
    /// What stands between two samples.
    pub between: Between,
    /// Channel with the age of the value, ms.
    pub age: Option<String>,
    /// Channel with the status the law was told.
    pub status: Option<String>,
}

impl PartialEq for Row {
    fn eq(&self, other: &Self) -> bool {
        // An input is known by its name; its functions have no identity.
        self.input.name == other.input.name
            && self.source == other.source
            && (self.factor, self.offset, self.late_s, self.longest_gap_s)
                == (
                    other.factor,
                    other.offset,
                    other.late_s,
                    other.longest_gap_s,
                )
            && (self.between, &self.age, &self.status) == (other.between, &other.age, &other.status)
    }
}

/// Time without sample after which an input is lost unless the mapping says otherwise, s: some periods of a slow bus.
pub const LONGEST_GAP_S: f64 = 0.2;

impl Row {
    /// An input in the law's own unit.
    pub fn of(input: &'static InputSignal, source: Source) -> Self {
        Self {
            input,
            source,
            factor: 1.0,
            offset: 0.0,
            late_s: 0.0,
            longest_gap_s: LONGEST_GAP_S,
            between: Between::Hold,
            age: None,
            status: None,
        }
    }
}

/// What a recorded controller commanded.
#[derive(Debug, Clone)]
pub struct Commanded {
    /// The law's output it is held against.
    pub output: &'static OutputSignal,
    /// Channel.
    pub channel: String,
    /// Factor to the law's unit, with the sign.
    pub factor: f64,
    /// Added after the factor.
    pub offset: f64,
}

/// A whole mapping.
#[derive(Debug, Clone)]
pub struct Mapping {
    /// Temperature of the axle when the recording begins, degC.
    pub start_degc: f32,
    /// Inputs; those without a row are lost.
    pub rows: Vec<Row>,
    /// Recorded commands.
    pub commands: Vec<Commanded>,
}

impl Mapping {
    /// The row of an input.
    pub fn row(&self, name: &str) -> Option<&Row> {
        self.rows.iter().find(|row| row.input.name == name)
    }

    /// The row of an input, to be changed.
    pub fn row_mut(&mut self, name: &str) -> Option<&mut Row> {
        self.rows.iter_mut().find(|row| row.input.name == name)
    }

    /// Inputs without a row.
    pub fn unmapped(&self) -> Vec<&'static str> {
        INPUT_SIGNALS
            .iter()
            .map(|signal| signal.name)
            .filter(|name| self.row(name).is_none())
            .collect()
    }

    /// Names of the channels the mapping reads.
    pub fn channels(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for row in &self.rows {
            if let Source::Channel(name) = &row.source {
                names.push(name);
            }
            names.extend(row.age.as_deref());
            names.extend(row.status.as_deref());
        }
        names.extend(self.commands.iter().map(|command| command.channel.as_str()));
        names
    }
}

/// An input of the law by its name.
pub fn input(name: &str) -> Option<&'static InputSignal> {
    INPUT_SIGNALS.iter().find(|signal| signal.name == name)
}
