//! What crosses the border of the law and of each stage.

pub mod authority;
pub mod granted;
pub mod inputs;
pub mod output_table;
pub mod outputs;

pub use authority::{Bound, Limit, NamedSpan, Octagon};
pub use granted::Granted;
pub use inputs::{INPUT_SIGNALS, Inputs, Reading, Status};
pub use output_table::{OUTPUT_READS, OUTPUT_SIGNALS, OutputSignal};
pub use outputs::{Advice, Health, Outputs, Phase, Situation};
