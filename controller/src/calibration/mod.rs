//! Every tunable of the law: one table, one page, one way in.

pub mod catalogue;
pub mod history;
pub mod page;
pub mod rules;
mod table;

pub use catalogue::{Entry, Provenance};
pub use page::{Calibration, PageRefusal, RawPage};
pub use table::*;
