//! Shared library of the co-simulation units: FMI 2.0 and 3.0, law and car, told apart by the token of their description.
//!
//! `fmi2` and `fmi3` are the C functions of the two editions over one `instance`. Every variable is a real number; functions for
//! other types exist and refuse. A panic becomes the status "fatal" and does not cross the border: this library unwinds.
//! Limits: no serialised state, no derivatives, no events, no early return.

mod fmi2;
mod fmi3;
mod instance;
