//! Control law for a rear axle with two independently controlled wet clutches in place of a differential.
//!
//! # Layers
//! `numerics` (arithmetic) is used by `quantity` (shapes), these by `calibration` and `signal` (borders), these by
//! `stage` (the law, piece by piece), these by `controller` (the wiring) and `trace`. Imports look only down, and stages
//! never import each other.
//!
//! # What this crate promises
//! No allocation, no panic, no unsafe code; total functions; exact mirroring in `f32` and `f64`; time as integer ticks;
//! heat as integer energies.
//!
//! # Caution
//! A reference implementation. It is not certified and not for road use without a functional-safety process of the
//! user's own. Local rules and licensed engineers come first.
#![no_std]
#![forbid(unsafe_code)]

pub mod calibration;
pub mod controller;
pub mod fault_memory;
pub mod numerics;
pub mod quantity;
pub mod signal;
pub mod snapshot;
pub mod stage;
pub mod trace;

pub use calibration::{Calibration, PageRefusal, RawPage};
pub use controller::{Controller, ControllerState};
pub use fault_memory::FaultMemory;
pub use numerics::{Fast, Real, Scalar};
pub use quantity::{PerSide, PerWheel, Period, Sensed, Tick};
pub use signal::{Inputs, Limit, Outputs, Reading};
pub use trace::{Trace, TraceSignal};
