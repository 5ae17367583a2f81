//! Requirements as rows: what each layout reached, what is asked, and by how much.

mod avoid;
mod brake;
mod cool;
mod held_out;
mod laws;
mod layouts;
mod loops;
pub mod programme;
mod pull;
mod safe;
mod slide;
mod spread;
mod stable;
pub mod tuning;
mod turn;
mod variant;

pub use held_out::{HeldOut, LOSS_M, Verdict, calibration_hash, held_out_cases, held_out_verdicts};
pub use laws::{LawRow, law_cases, law_rows};
pub use layouts::{LayoutTable, layout_cases, layout_tables};
pub use loops::{LOOP_SETTINGS, SPEEDS_KM_H, linear_car, loop_rows};
pub use programme::{Case, programme, question_of, rows};
pub use spread::{campaigns, spread_rows};

/// What a value must be to pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// At most this.
    AtMost(f64),
    /// At least this.
    AtLeast(f64),
    /// Between these two, both included.
    Between(f64, f64),
}

impl Target {
    /// Whether the value passes; NaN and missing values never do.
    pub fn met_by(self, value: f64) -> bool {
        self.margin(value) >= 0.0
    }

    /// Distance to the nearest edge of the target, positive inside; NaN for NaN.
    pub fn margin(self, value: f64) -> f64 {
        match self {
            Self::AtMost(limit) => limit - value,
            Self::AtLeast(limit) => value - limit,
            Self::Between(low, high) => (value - low).min(high - value),
        }
    }
}

impl std::fmt::Display for Target {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::AtMost(limit) => write!(f, "<= {}", short(*limit)),
            Self::AtLeast(limit) => write!(f, ">= {}", short(*limit)),
            Self::Between(low, high) => write!(f, "{} to {}", short(*low), short(*high)),
        }
    }
}

/// A number to at most three decimals, without trailing zeros.
fn short(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

/// What a requirement asks about the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// Does it turn?
    Turn,
    /// Does it pull?
    Pull,
    /// Does it stay stable?
    Stable,
    /// Does it stay cool?
    Cool,
}

impl Question {
    /// Every question, in the order of the report.
    pub const ALL: [Self; 4] = [Self::Turn, Self::Pull, Self::Stable, Self::Cool];

    /// The question in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Turn => "Does it turn?",
            Self::Pull => "Does it pull?",
            Self::Stable => "Does it stay stable?",
            Self::Cool => "Does it stay cool?",
        }
    }
}

/// One requirement with what was reached. A missing value means the layout did not get there, or has none.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Short name of the requirement.
    pub id: String,
    /// What it asks about the car.
    pub question: Question,
    /// What is asked, in words.
    pub requirement: String,
    /// Setting of the paired axle.
    pub setting: &'static str,
    /// Unit of all values.
    pub unit: &'static str,
    /// Front drive only.
    pub passive: Option<f64>,
    /// Single coupling with open rear differential.
    pub coupling: Option<f64>,
    /// Paired clutches.
    pub paired: Option<f64>,
    /// What the paired axle must reach, if anything is asked.
    pub target: Option<Target>,
    /// Where the target comes from.
    pub source: &'static str,
}

impl Row {
    /// Whether the paired axle meets the target; `None` where nothing is asked.
    pub fn pass(&self) -> Option<bool> {
        self.target
            .map(|target| self.paired.is_some_and(|value| target.met_by(value)))
    }

    /// Distance to the target, positive inside; `None` where nothing is asked or nothing was reached.
    pub fn margin(&self) -> Option<f64> {
        Some(self.target?.margin(self.paired?))
    }
}
