//! What crosses the border of the law and of each stage.

pub mod authority;

pub use authority::{Bound, Limit, NamedSpan, Octagon};
