//! Shapes of quantities: per side, per wheel, in time, as sensed, as a span.

pub mod per_side;
pub mod per_wheel;
pub mod sensed;
pub mod span;
pub mod tick;

pub use per_side::PerSide;
pub use per_wheel::PerWheel;
pub use sensed::Sensed;
pub use span::Span;
pub use tick::{Period, Tick};
