//! Arithmetic every stage shares: scalars, filters, limits over time, tables.

mod angle;
pub mod filter;
pub mod scalar;
pub mod table;

pub use scalar::{Fast, Real, Scalar};

/// Standard gravity, m/s2 (ISO 80000-3).
pub const GRAVITY_M_S2: f32 = 9.806_65;
