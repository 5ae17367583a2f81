//! The kinds of fault: name in files, where they can happen, and what their size means.

/// What sort of place a fault happens at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// An input of the law.
    Signal,
    /// Current of a valve.
    Current,
    /// A clutch itself.
    Clutch,
    /// The first channel's request to the second.
    Request,
}

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// No message comes; no current flows.
    Off,
    /// The value of the onset stays, and says it is new. A clutch keeps the pressure of the onset.
    Stuck,
    /// The size is added.
    Offset,
    /// The size is added every second.
    Drift,
    /// The value is multiplied by the size.
    Scale,
    /// Normal noise whose standard deviation is the size.
    Noise,
    /// The value of so long ago, and it says it is new.
    Delay,
    /// The value of so long ago, and its age says so.
    Late,
    /// Every message comes again for so long, and says it is new.
    Duplicated,
    /// Left and right exchanged.
    Swap,
    /// The other sign.
    WrongSign,
    /// Missing for the second half of every such period.
    Intermittent,
    /// In such a share of the messages one bit of the value is flipped: it may then be no number.
    Corrupted,
    /// The whole: full current whatever is commanded, or a request for a whole clutch without reason.
    Full,
    /// The clutch never closes.
    StuckOpen,
    /// The clutch is mechanically jammed at such a share of its largest closing force.
    StuckClosed,
    /// Such a share of the pressure is lost before the piston.
    Leak,
    /// The touch point has moved by such a pressure, bar; above zero the clutch closes later.
    TouchPoint,
}

/// What the size of a kind means and how far it may go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Unit: empty where there is no size, `signal` for that of the place, `signal/s` for that per second.
    pub unit: &'static str,
    /// Lowest admitted.
    pub low: f64,
    /// Highest admitted.
    pub high: f64,
    /// Taken where a file names none.
    pub usual: f64,
}

const fn size(unit: &'static str, low: f64, high: f64, usual: f64) -> Size {
    Size {
        unit,
        low,
        high,
        usual,
    }
}

const NONE: Size = size("", 0.0, 0.0, 0.0);
/// Any believable error of any signal: the largest range of an input is 40,000.
const LARGE: f64 = 100_000.0;
/// Longest lateness that the bench remembers, s.
pub(super) const LATEST_S: f64 = 2.0;

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 18] = [
        Self::Off,
        Self::Stuck,
        Self::Offset,
        Self::Drift,
        Self::Scale,
        Self::Noise,
        Self::Delay,
        Self::Late,
        Self::Duplicated,
        Self::Swap,
        Self::WrongSign,
        Self::Intermittent,
        Self::Corrupted,
        Self::Full,
        Self::StuckOpen,
        Self::StuckClosed,
        Self::Leak,
        Self::TouchPoint,
    ];

    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Stuck => "stuck",
            Self::Offset => "offset",
            Self::Drift => "drift",
            Self::Scale => "scale",
            Self::Noise => "noise",
            Self::Delay => "delay",
            Self::Late => "late",
            Self::Duplicated => "duplicated",
            Self::Swap => "swap",
            Self::WrongSign => "wrong-sign",
            Self::Intermittent => "intermittent",
            Self::Corrupted => "corrupted",
            Self::Full => "full",
            Self::StuckOpen => "stuck-open",
            Self::StuckClosed => "stuck-closed",
            Self::Leak => "leak",
            Self::TouchPoint => "touch-point",
        }
    }

    /// The kind of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// What it does, in words.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Off => "no message comes, no current flows",
            Self::Stuck => {
                "the value of the onset stays and says it is new; a clutch keeps its pressure"
            }
            Self::Offset => "the size is added",
            Self::Drift => "the size is added every second",
            Self::Scale => "the value times the size",
            Self::Noise => "normal noise of that standard deviation",
            Self::Delay => "the value of so long ago, which says it is new",
            Self::Late => "the value of so long ago, and its age says so",
            Self::Duplicated => "every message comes again for so long and says it is new",
            Self::Swap => "left and right exchanged",
            Self::WrongSign => "the other sign",
            Self::Intermittent => "missing for the second half of every such period",
            Self::Corrupted => "one bit flipped in that share of the messages",
            Self::Full => "the whole current, or a whole clutch requested",
            Self::StuckOpen => "never closes",
            Self::StuckClosed => "jammed at that share of the largest closing force",
            Self::Leak => "that share of the pressure is lost",
            Self::TouchPoint => "so much more pressure until it closes",
        }
    }

    /// What its size means.
    pub fn size(self) -> Size {
        match self {
            Self::Off
            | Self::Stuck
            | Self::Swap
            | Self::WrongSign
            | Self::Full
            | Self::StuckOpen => NONE,
            Self::Offset => size("signal", -LARGE, LARGE, 0.1),
            Self::Drift => size("signal/s", -LARGE, LARGE, 0.1),
            Self::Scale => size("-", -10.0, 10.0, 1.5),
            Self::Noise => size("signal", 0.0, LARGE, 0.1),
            Self::Delay | Self::Late => size("s", 0.005, LATEST_S, 0.1),
            Self::Duplicated => size("s", 0.005, LATEST_S, 0.05),
            Self::Intermittent => size("s", 0.01, 10.0, 0.2),
            Self::Corrupted => size("-", 0.0, 1.0, 0.2),
            Self::StuckClosed => size("-", 0.0, 1.0, 1.0),
            Self::Leak => size("-", 0.0, 1.0, 0.5),
            Self::TouchPoint => size("bar", -20.0, 20.0, 2.0),
        }
    }

    /// Whether it can happen at such a place; `has_sides`: whether the place has a like one on the other side.
    pub fn happens_at(self, sort: Sort, has_sides: bool) -> bool {
        match self {
            Self::Full => matches!(sort, Sort::Current | Sort::Request),
            Self::Stuck => sort != Sort::Request,
            Self::StuckOpen | Self::StuckClosed | Self::Leak | Self::TouchPoint => {
                sort == Sort::Clutch
            }
            Self::Swap => matches!(sort, Sort::Signal | Sort::Current) && has_sides,
            // No age travels with a current, and it has no sign to be wrong.
            Self::Late | Self::WrongSign => sort == Sort::Signal,
            _ => matches!(sort, Sort::Signal | Sort::Current),
        }
    }
}
