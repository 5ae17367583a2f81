//! Faults as values: what goes wrong, where, from when, for how long and how much.
//!
//! In: the faults of a scenario. Out: [`Fault`]s with their ranges, and [`channel`], which makes of a healthy message what
//! a faulty one says. Where they act is the business of the loop (`run::injection`): this room knows neither the law nor
//! the plant, so the record knows nothing of a fault but its consequences. Names of places are the names of the law's
//! inputs, besides the actuators' own: `current_left`, `clutch_left`, `request_left` and the same on the right.

pub mod channel;
mod kind;

pub use kind::{Kind, Sort};

/// Most faults of one scenario.
pub const MOST: usize = 8;

/// Where something goes wrong, seen by a driver in the car that is not mirrored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// An input of the law, by its name.
    Signal(&'static str),
    /// Current that flows through a clutch's valve.
    Current {
        /// On the left side, else on the right.
        left: bool,
    },
    /// A clutch itself: plates, piston, pressure.
    Clutch {
        /// On the left side, else on the right.
        left: bool,
    },
    /// What the law's first channel asks the second one for.
    Request {
        /// On the left side, else on the right.
        left: bool,
    },
}

impl Place {
    /// Every place that is no signal, with its name in files.
    pub const ACTUATORS: [(&'static str, Self); 6] = [
        ("current_left", Self::Current { left: true }),
        ("current_right", Self::Current { left: false }),
        ("clutch_left", Self::Clutch { left: true }),
        ("clutch_right", Self::Clutch { left: false }),
        ("request_left", Self::Request { left: true }),
        ("request_right", Self::Request { left: false }),
    ];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Signal(name) => name,
            other => Self::ACTUATORS
                .iter()
                .find(|(_, place)| *place == other)
                .map_or("", |(name, _)| name),
        }
    }

    /// What sort of place it is.
    pub fn sort(self) -> Sort {
        match self {
            Self::Signal(_) => Sort::Signal,
            Self::Current { .. } => Sort::Current,
            Self::Clutch { .. } => Sort::Clutch,
            Self::Request { .. } => Sort::Request,
        }
    }
}

/// The name of the same thing on the other side, if the name has a side.
pub fn other_side(name: &str) -> Option<String> {
    if let Some(stem) = name.strip_suffix("left") {
        Some(format!("{stem}right"))
    } else {
        name.strip_suffix("right").map(|stem| format!("{stem}left"))
    }
}

/// One thing that goes wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// Where.
    pub place: Place,
    /// What.
    pub kind: Kind,
    /// How much, see [`Kind::size`].
    pub size: f64,
    /// When it begins, s after the record began.
    pub start_s: f64,
    /// How long it lasts, s.
    pub duration_s: f64,
}

impl Fault {
    /// Latest start and longest duration, s.
    pub const LONGEST_S: f64 = 600.0;

    /// A fault of its kind's usual size, from a time on for good.
    pub fn from(place: Place, kind: Kind, start_s: f64) -> Self {
        Self {
            place,
            kind,
            size: kind.size().usual,
            start_s,
            duration_s: Self::LONGEST_S,
        }
    }

    /// Whether it is there at a time; a little slack decides ties of rounding alike on every machine.
    pub fn is_there(&self, time_s: f64) -> bool {
        let since_s = time_s - self.start_s;
        (-1e-9..self.duration_s - 1e-9).contains(&since_s)
    }

    /// In words: place, kind and size.
    pub fn words(&self) -> String {
        let size = self.kind.size();
        let place = self.place.name().replace('_', " ");
        let kind = self.kind.name().replace('-', " ");
        if size.unit.is_empty() {
            format!("{place} {kind}")
        } else {
            format!("{place} {kind} {}", self.size)
        }
    }
}
