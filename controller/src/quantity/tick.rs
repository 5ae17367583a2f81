//! Time as a count of fixed steps.
//!
//! A 32-bit count of 5 ms steps wraps after 5,965 h, before the 6,000 h life of the axle; 64 bits last.

use crate::numerics::Scalar;

/// Number of control steps since the controller was built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(transparent)]
pub struct Tick(pub u64);

impl Tick {
    /// The tick after this one.
    pub fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }

    /// Steps since `earlier`, zero if that is in the future.
    pub fn since(self, earlier: Self) -> u64 {
        self.0.saturating_sub(earlier.0)
    }
}

/// The fixed period of the control step: 1 to 20 ms, whole microseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Period {
    microseconds: u32,
}

impl Period {
    /// Shortest admitted period, microseconds.
    pub const SHORTEST_US: u32 = 1_000;
    /// Longest admitted period, microseconds.
    pub const LONGEST_US: u32 = 20_000;

    /// A period in microseconds, if it is admitted.
    pub fn from_microseconds(microseconds: u32) -> Option<Self> {
        (Self::SHORTEST_US..=Self::LONGEST_US)
            .contains(&microseconds)
            .then_some(Self { microseconds })
    }

    /// The period in microseconds.
    pub fn microseconds(self) -> u32 {
        self.microseconds
    }

    /// The period in seconds.
    pub fn seconds<S: Scalar>(self) -> S {
        // At most a million: `f32` holds it exactly.
        S::of_number(self.microseconds as f32) * S::of(1.0e-6)
    }

    /// Whole steps that last at least `time_s`; at least one.
    pub fn steps<S: Scalar>(self, time_s: S) -> u32 {
        let exact = time_s.over(self.seconds(), S::ZERO).most(S::ZERO);
        let whole = exact.to_whole().clamp(0, 1_000_000) as u32;
        let longer = S::from_whole(i64::from(whole)) + S::of(1.0e-3) < exact;
        (whole + u32::from(longer)).max(1)
    }
}

impl Default for Period {
    fn default() -> Self {
        Self {
            microseconds: 5_000,
        }
    }
}
