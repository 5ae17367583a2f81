//! Plant, drivers, manoeuvres, records and metrics for the couplet controller.
//!
//! Lean library: no command line, no web, no file formats. `plant` never imports the controller; `metrics` works on
//! records only; records never influence a run. The order of exchange between driver, control and plant is fixed and
//! written down in [`run`].
//!
//! # Caution
//! A simulation of an invented car. Nothing here replaces tests on a real one by licensed engineers under local rules.

pub mod arithmetic;
pub mod campaign;
pub mod co_simulation;
pub mod correlate;
pub mod describe;
pub mod driver;
pub mod envelope;
pub mod fault;
pub mod fault_matrix;
#[cfg(feature = "hunt")]
pub mod hunt;
pub mod manoeuvre;
pub mod margins;
pub mod metrics;
pub mod mission;
pub mod plant;
pub mod property;
pub mod prove;
pub mod record;
pub mod replay;
pub mod run;
pub mod scenario;
pub mod sequence;
#[cfg(feature = "strategies")]
pub mod strategies;
