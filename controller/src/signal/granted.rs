//! A grant: what was asked, what was given, and what made the difference.

use super::Limit;

/// One torque, asked and given. Signed, Nm at the wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(C)]
pub struct Granted {
    /// What the unbounded law would have given.
    pub asked: f32,
    /// What is given.
    pub given: f32,
    /// What made the difference; [`Limit::Nothing`] when there is none.
    pub by: Limit,
}

impl Granted {
    /// Asked minus given; exactly zero when nothing bound.
    pub fn shortfall(&self) -> f32 {
        match self.by {
            Limit::Nothing => 0.0,
            _ => self.asked - self.given,
        }
    }
}
