//! Plant, drivers, manoeuvres, records and metrics for the couplet controller.
//!
//! Lean library: no command line, no web, no file formats. `plant` never imports the controller; `metrics` works on
//! records only; records never influence a run.

pub mod describe;
pub mod plant;
pub mod record;
