//! Which law shares the torque of the paired axle: the exact one, or one of the alternatives it is compared with.
//!
//! A law and the calibration page together rule the paired axle of a run ([`Rule`]). A page alone means the exact law.

use std::fmt::{Debug, Formatter};

use couplet_controller::controller::laws::{Interpret, Refer};
use couplet_controller::stage::arbiter::{
    Allocate, Answer, Exact, ProportionalSplit, Question, StrictPriority,
};
use couplet_controller::{Controller, Inputs, Outputs, PerSide, Period, RawPage, Scalar, Trace};

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

/// A law that commands both clutches by itself: the shipped controller with laws of the user's own in it, or another one.
pub trait OwnLaw: Debug {
    /// One control step.
    fn step(&mut self, inputs: &Inputs) -> Outputs;

    /// The temperature of the whole axle at the start, degC.
    fn set_temperature(&mut self, _degc: f32) {}

    /// Every stage's finding of the last step, where there is one; the record then has it too.
    fn trace(&self) -> Option<&Trace<f32>> {
        None
    }
}

impl<A, R, I> OwnLaw for Controller<f32, A, R, I>
where
    A: Allocate<f32> + Debug,
    R: Refer<f32> + Debug,
    I: Interpret<f32> + Debug,
{
    fn step(&mut self, inputs: &Inputs) -> Outputs {
        Controller::step(self, inputs)
    }

    fn set_temperature(&mut self, degc: f32) {
        Controller::set_temperature(self, degc);
    }

    fn trace(&self) -> Option<&Trace<f32>> {
        Some(Controller::trace(self))
    }
}

/// Makes a law for one run.
#[derive(Clone, Copy)]
pub struct Build<'a>(pub &'a (dyn Fn(&RawPage, Period) -> Box<dyn OwnLaw> + Sync));

impl Debug for Build<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        f.write_str("Build")
    }
}

/// What rules the paired axle of a run.
#[derive(Debug, Clone, Copy)]
pub struct Rule<'a> {
    /// Calibration.
    pub page: &'a RawPage,
    /// Allocation.
    pub law: Law,
    /// A law of the user's own in place of the whole shipped one.
    pub own: Option<Build<'a>>,
}

impl<'a> Rule<'a> {
    /// A shipped law of allocation.
    pub fn of(page: &'a RawPage, law: Law) -> Self {
        Self {
            page,
            law,
            own: None,
        }
    }

    /// A law of the user's own.
    pub fn own(page: &'a RawPage, build: Build<'a>) -> Self {
        Self {
            own: Some(build),
            ..Self::of(page, Law::Exact)
        }
    }
}

impl<'a> From<&'a RawPage> for Rule<'a> {
    fn from(page: &'a RawPage) -> Self {
        Self::of(page, Law::Exact)
    }
}
