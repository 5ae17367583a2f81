//! What the axle can do now: an octagon of torque with every bound named.
//!
//! Left, right, sum and difference (right minus left) of the signed wheel torques each lie in a span; each end of each
//! span carries the name of what set it. Torques in Nm at the wheel, positive drives the car forward.

use crate::numerics::Scalar;
use crate::quantity::{PerSide, Span};

/// What can bind a torque. Declared in falling order of rank for conflicts: see [`Limit::rank`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Limit {
    /// Nothing binds.
    #[default]
    Nothing = 0,
    /// The car asked for open clutches now.
    OpenNow = 1,
    /// A fault took away ability.
    Fault = 2,
    /// The absolute temperature limit was reached.
    AbsoluteHeat = 3,
    /// The master controller's cap.
    MasterCap = 4,
    /// Largest change per step.
    Rate = 5,
    /// The clutch can pull its wheel only towards the shaft's speed.
    SlipDirection = 6,
    /// Torque capacity of the clutch.
    Capacity = 7,
    /// Sloped ceiling of a surface temperature.
    SurfaceHeat = 8,
    /// Sloped ceiling of a core temperature.
    CoreHeat = 9,
    /// Sloped ceiling of the oil temperature.
    OilHeat = 10,
    /// Cold oil releases slowly, so less is allowed.
    ColdOil = 11,
    /// What the rear tyre can pass on.
    Friction = 12,
    /// Torque the propshaft may carry.
    Propshaft = 13,
    /// Front wheels driven against the rear ones.
    WindUp = 14,
    /// Left and right must not differ more than this.
    YawLimit = 15,
    /// The second channel lowered the grant.
    Guardian = 16,
    /// A law's answer lay outside the octagon and was moved to its edge.
    Projection = 17,
    /// Anti-lock or stability control at work: the axle lets go.
    BrakeControl = 18,
    /// A locked clutch carries what the wheels' speeds make it carry, whatever it could.
    KinematicLock = 19,
    /// Tyres that differ by more than wear: a spare, mixed sizes or chains.
    UnlikeTyres = 20,
}

impl Limit {
    /// Every name, in order of its number.
    pub const ALL: [Self; 21] = [
        Self::Nothing,
        Self::OpenNow,
        Self::Fault,
        Self::AbsoluteHeat,
        Self::MasterCap,
        Self::Rate,
        Self::SlipDirection,
        Self::Capacity,
        Self::SurfaceHeat,
        Self::CoreHeat,
        Self::OilHeat,
        Self::ColdOil,
        Self::Friction,
        Self::Propshaft,
        Self::WindUp,
        Self::YawLimit,
        Self::Guardian,
        Self::Projection,
        Self::BrakeControl,
        Self::KinematicLock,
        Self::UnlikeTyres,
    ];

    /// Rank in a conflict of bounds: 1 wins over 2, and so on. Open-now, fault, absolute heat, master's cap, rate come
    /// first in this order; all others share the last rank.
    pub fn rank(self) -> u8 {
        match self {
            Self::OpenNow => 1,
            Self::Fault => 2,
            Self::AbsoluteHeat => 3,
            Self::MasterCap => 4,
            Self::Rate => 5,
            _ => 6,
        }
    }

    /// Whether this limit may take torque away faster than the rate bound.
    pub fn overrides_rate(self) -> bool {
        matches!(self, Self::OpenNow | Self::Fault | Self::AbsoluteHeat)
    }

    /// Number on the wire and in records.
    pub fn number(self) -> u8 {
        self as u8
    }

    /// The limit's name in whole words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::OpenNow => "open now",
            Self::Fault => "fault",
            Self::AbsoluteHeat => "absolute heat",
            Self::MasterCap => "master cap",
            Self::Rate => "rate",
            Self::SlipDirection => "slip direction",
            Self::Capacity => "capacity",
            Self::SurfaceHeat => "surface heat",
            Self::CoreHeat => "core heat",
            Self::OilHeat => "oil heat",
            Self::ColdOil => "cold oil",
            Self::Friction => "tyre friction",
            Self::Propshaft => "propshaft",
            Self::WindUp => "wind-up",
            Self::YawLimit => "yaw limit",
            Self::Guardian => "guardian",
            Self::Projection => "projection",
            Self::BrakeControl => "brake control",
            Self::KinematicLock => "kinematic lock",
            Self::UnlikeTyres => "unlike tyres",
        }
    }
}

/// One end of a span and what set it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Bound<S> {
    /// The bound, Nm.
    pub value: S,
    /// What set it.
    pub by: Limit,
}

impl<S: Scalar> Bound<S> {
    /// A bound set by `by`.
    pub fn new(value: S, by: Limit) -> Self {
        Self { value, by }
    }
}

/// A span of torque whose ends are named.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct NamedSpan<S> {
    /// Lower end.
    pub low: Bound<S>,
    /// Upper end.
    pub high: Bound<S>,
}

impl<S: Scalar> NamedSpan<S> {
    /// A span with both ends set by the same limit.
    pub fn new(low: S, high: S, by: Limit) -> Self {
        Self {
            low: Bound::new(low, by),
            high: Bound::new(high, by),
        }
    }

    /// Lowers the upper end to `value` if that is lower; NaN counts as zero.
    pub fn lower_high(&mut self, value: S, by: Limit) {
        let value = if value.is_nan() { S::ZERO } else { value };
        if value < self.high.value {
            self.high = Bound::new(value, by);
        }
    }

    /// Raises the lower end to `value` if that is higher; NaN counts as zero.
    pub fn raise_low(&mut self, value: S, by: Limit) {
        let value = if value.is_nan() { S::ZERO } else { value };
        if value > self.low.value {
            self.low = Bound::new(value, by);
        }
    }

    /// Both ends at most `size` from zero.
    pub fn cap(&mut self, size: S, by: Limit) {
        let size = size.at_least(S::ZERO);
        if size < self.high.value {
            self.high = Bound::new(size, by);
        }
        if -size > self.low.value {
            self.low = Bound::new(-size, by);
        }
    }

    /// The span without its names.
    pub fn span(self) -> Span<S> {
        Span::new(self.low.value, self.high.value)
    }

    /// Mirror image of a span of a difference: from `-high` to `-low`, names kept with their ends.
    pub fn negated(self) -> Self {
        Self {
            low: Bound::new(-self.high.value, self.high.by),
            high: Bound::new(-self.low.value, self.low.by),
        }
    }
}

/// The set of torque pairs that are possible now.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Octagon<S> {
    /// Torque of the left wheel.
    pub left: NamedSpan<S>,
    /// Torque of the right wheel.
    pub right: NamedSpan<S>,
    /// Left plus right.
    pub sum: NamedSpan<S>,
    /// Right minus left.
    pub difference: NamedSpan<S>,
}

impl<S: Scalar> Octagon<S> {
    /// The octagon of the car seen in a mirror.
    pub fn mirrored(self) -> Self {
        Self {
            left: self.right,
            right: self.left,
            sum: self.sum,
            difference: self.difference.negated(),
        }
    }

    /// Whether a pair lies inside, with `slack` Nm forgiven on every side; NaN never does.
    pub fn holds(self, torque: PerSide<S>, slack: S) -> bool {
        let inside = |span: NamedSpan<S>, value: S| {
            span.low.value - slack <= value && value <= span.high.value + slack
        };
        inside(self.left, torque.left)
            && inside(self.right, torque.right)
            && inside(self.sum, torque.sum())
            && inside(self.difference, torque.difference())
    }
}
