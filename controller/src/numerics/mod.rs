//! Arithmetic every stage shares: scalars, filters, limits over time, tables.

pub mod filter;
pub mod scalar;
pub mod table;

pub use scalar::{Fast, Real, Scalar};
