//! The couplet bus on the bench: transports, text log, drives and replay; descriptions for other programs.
//!
//! [`text_log`] writes and reads frames as lines of text, a form of this project's own; [`udp`] carries them on one machine,
//! `socket` over a CAN interface of Linux (feature `socket`). [`relay`] puts the bus between car and law of a simulated
//! drive; [`replay`] turns a log back into what the law was told, bit for bit. [`database`] describes every frame for other
//! programs, [`calibration`] the memory of page, outputs and trace; [`sample`] makes frames to hold other programs against.
//! [`foreign`] reads frames of a car with a database of its own.
//!
//! # Caution
//! A simulation of an invented car. Identifiers and periods are invented; nothing here is for use on the road.
#![forbid(unsafe_code)]

pub mod calibration;
pub mod database;
pub mod foreign;
mod lines;
pub mod relay;
pub mod replay;
pub mod sample;
#[cfg(feature = "socket")]
pub mod socket;
pub mod text_log;
pub mod udp;

pub use relay::BusRelay;
pub use replay::Replay;
pub use text_log::{Head, LogError, LogReader, LogWriter};
