//! CAN frames of the couplet controller: layout, packing, end-to-end protection.
//!
//! # Layers
//! `frame` and `bits` (bytes) are used by `layout` (what stands where, how a number becomes a raw value), that by `table` (the
//! one table of all frames), `protect` (check sum and counter) and `guard` (what a receiver believes), these by `sender` and
//! `receiver` (whole nodes). `transport` is the border to whatever carries frames.
//!
//! # What this crate promises
//! No allocation, no panic, no unsafe code; every function is total. A number that is none, or that lies outside its range,
//! never becomes a believable one: it goes out as the raw value kept for errors and comes in as a reading nobody vouches for.
//! Steps are powers of two, so what is decoded encodes to the same raw value again, to the bit.
//!
//! # What it is not
//! Identifiers, periods and places are invented for the demo; a car's own bus has its own. The protection follows the
//! AUTOSAR profiles 1 and 5 as published; nobody has certified it.
//!
//! # Caution
//! A reference implementation. It is not certified and not for road use without a functional-safety process of the
//! user's own. Local rules and licensed engineers come first.
#![no_std]
#![forbid(unsafe_code)]

pub mod bits;
pub mod frame;
pub mod guard;
pub mod layout;
pub mod protect;
pub mod receiver;
pub mod sender;
pub mod table;
pub mod transport;

pub use frame::Frame;
pub use guard::{Counts, Guard, Verdict};
pub use layout::{Decoded, Fate, FrameLayout, Node, Placed, Profile};
pub use receiver::{InputReceiver, OutputReceiver};
pub use sender::{InputSender, OutputSender, Report};
pub use table::{AXLE_FRAMES, CAR_FRAMES, frame_of};
pub use transport::Transport;
