//! What the suites about the authority share: a second implementation, and questions on and beside all thresholds.

#![allow(dead_code)]

pub mod questions;
pub mod reference;

/// Length of a step, s.
pub const PERIOD_S: f64 = 0.005;
