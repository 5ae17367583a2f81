//! Frames over a CAN interface of Linux, classic and FD.
//!
//! Times are those of this machine's steady clock since the end was opened. Limits: built and compiled only; the machines
//! this project is tested on have no CAN interface, so nothing here has ever carried a frame.

use std::io;
use std::time::Instant;

use couplet_bus::{Frame, Transport};
use socketcan::{
    CanAnyFrame, CanDataFrame, CanFdFrame, CanFdSocket, EmbeddedFrame, Id, Socket, StandardId,
};

/// One end.
#[derive(Debug)]
pub struct CanInterface {
    socket: CanFdSocket,
    opened: Instant,
}

impl CanInterface {
    /// Opens an interface by its name, for example `can0`.
    ///
    /// # Errors
    /// What the system says.
    pub fn open(name: &str) -> io::Result<Self> {
        let socket = CanFdSocket::open(name)?;
        socket.set_nonblocking(true)?;
        Ok(Self {
            socket,
            opened: Instant::now(),
        })
    }
}

impl Transport for CanInterface {
    type Refusal = io::Error;

    fn send(&mut self, _at_us: u64, frame: &Frame) -> io::Result<()> {
        let refused = || io::Error::new(io::ErrorKind::InvalidInput, "no frame of this bus");
        let id = StandardId::new(frame.id()).ok_or_else(refused)?;
        if frame.is_fd() {
            let frame = CanFdFrame::new(id, frame.bytes()).ok_or_else(refused)?;
            self.socket.write_frame(&frame)
        } else {
            let frame = CanDataFrame::new(id, frame.bytes()).ok_or_else(refused)?;
            self.socket.write_frame(&frame)
        }
    }

    fn receive(&mut self) -> io::Result<Option<(u64, Frame)>> {
        let now_us = u64::try_from(self.opened.elapsed().as_micros()).unwrap_or(u64::MAX);
        loop {
            let (id, frame) = match self.socket.read_frame() {
                Ok(CanAnyFrame::Normal(frame)) => (frame.id(), frame.data().to_vec()),
                Ok(CanAnyFrame::Fd(frame)) => (frame.id(), frame.data().to_vec()),
                // Requests and error frames carry no data.
                Ok(_) => continue,
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => return Ok(None),
                Err(error) => return Err(error),
            };
            // Other identifiers on the same wires are not ours.
            if let Id::Standard(id) = id
                && let Some(frame) = Frame::new(id.as_raw(), &frame)
            {
                return Ok(Some((now_us, frame)));
            }
        }
    }
}
