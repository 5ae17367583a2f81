//! Which law shares the torque of the paired axle: the exact one, or one of the alternatives it is compared with.
//!
//! A law and the calibration page together rule the paired axle of a run ([`Rule`]). A page alone means the exact law.

use couplet_controller::stage::arbiter::{
    Allocate, Answer, Exact, ProportionalSplit, Question, StrictPriority,
};
use couplet_controller::{PerSide, RawPage, Scalar};

/// A shipped law of allocation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Law {
    /// The exact optimum.
    #[default]
    Exact,
    /// One factor for both wheels.
    Proportional,
    /// Rear torque first, then yaw moment.
    RearTorqueFirst,
    /// Yaw moment first, then rear torque.
    YawMomentFirst,
}

impl Law {
    /// Every law, the exact one first.
    pub const ALL: [Self; 4] = [
        Self::Exact,
        Self::Proportional,
        Self::RearTorqueFirst,
        Self::YawMomentFirst,
    ];

    /// The law's name in words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Exact => "exact",
            Self::Proportional => "proportional split",
            Self::RearTorqueFirst => "rear torque first",
            Self::YawMomentFirst => "yaw moment first",
        }
    }
}

impl<S: Scalar> Allocate<S> for Law {
    fn allocate(&self, question: &Question<S>) -> PerSide<S> {
        match self {
            Self::Exact => Exact.allocate(question),
            Self::Proportional => ProportionalSplit.allocate(question),
            Self::RearTorqueFirst => StrictPriority::RearTorqueFirst.allocate(question),
            Self::YawMomentFirst => StrictPriority::YawMomentFirst.allocate(question),
        }
    }

    fn answer(&self, question: &Question<S>) -> Answer<S> {
        match self {
            Self::Exact => Exact.answer(question),
            Self::Proportional => ProportionalSplit.answer(question),
            Self::RearTorqueFirst => StrictPriority::RearTorqueFirst.answer(question),
            Self::YawMomentFirst => StrictPriority::YawMomentFirst.answer(question),
        }
    }
}

/// What rules the paired axle of a run.
#[derive(Debug, Clone, Copy)]
pub struct Rule<'a> {
    /// Calibration.
    pub page: &'a RawPage,
    /// Allocation.
    pub law: Law,
}

impl<'a> From<&'a RawPage> for Rule<'a> {
    fn from(page: &'a RawPage) -> Self {
        Self {
            page,
            law: Law::Exact,
        }
    }
}
