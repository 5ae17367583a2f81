//! `couplet`: the command line of the proof bench.
fn main() {}
