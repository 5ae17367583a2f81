//! The border to whatever carries frames: a text log, UDP on one machine, a CAN interface.

use crate::frame::Frame;

/// Carries frames.
pub trait Transport {
    /// Why it cannot.
    type Refusal;

    /// Sends a frame; `at_us` is the time of the sender, microseconds, for transports that write it down.
    ///
    /// # Errors
    /// What the carrier says.
    fn send(&mut self, at_us: u64, frame: &Frame) -> Result<(), Self::Refusal>;

    /// The next frame that has come with its time, microseconds; none if there is none now.
    ///
    /// # Errors
    /// What the carrier says, or that what came is no frame.
    fn receive(&mut self) -> Result<Option<(u64, Frame)>, Self::Refusal>;
}
