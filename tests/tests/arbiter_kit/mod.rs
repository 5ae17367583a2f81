//! What the arbiter's judges share: random questions and arithmetic without rounding.

#![allow(dead_code)]

pub mod dyadic;
pub mod family;
pub mod judge;
pub mod wide;
