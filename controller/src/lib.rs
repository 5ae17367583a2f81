//! Control law for a rear axle with two independently controlled wet clutches.
#![no_std]
#![forbid(unsafe_code)]

pub mod numerics;
pub mod quantity;
pub mod signal;
pub mod stage;
