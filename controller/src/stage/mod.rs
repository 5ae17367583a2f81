//! The stages of one control step; none of them knows another.
//!
//! A stage is calibration, visible state and one pure `step`. Order, data flow and one-step delays are in
//! [`crate::controller`], nowhere else. Steps are inlined always: the wiring hands findings from stage to stage in
//! registers, also where a program holds controllers with several laws.

use crate::numerics::Scalar;
use core::fmt::Debug;

pub mod actuation;
pub mod arbiter;
pub mod authority;
pub mod conditioning;
pub mod driver_intent;
pub mod guardian;
pub mod monitor;
pub mod thermal;
pub mod traction;
pub mod vehicle_state;
pub mod yaw_control;
pub mod yaw_reference;

/// One stage of the law.
pub trait Stage<S: Scalar> {
    /// What the stage is told.
    type In;
    /// What it finds out.
    type Out: Copy + Debug + PartialEq;
    /// What it remembers from step to step.
    type State: Copy + Debug + Default + PartialEq;

    /// One step of `period_s`.
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out;

    /// The same with the finding put to its place: a stage with many findings puts each there as soon as it has it, which
    /// saves keeping all of them until the end.
    fn step_into(
        &self,
        state: &mut Self::State,
        input: &Self::In,
        period_s: S,
        out: &mut Self::Out,
    ) {
        *out = self.step(state, input, period_s);
    }
}
