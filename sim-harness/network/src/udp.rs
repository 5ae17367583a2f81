//! Frames over UDP on one machine: for trying two programs against each other without a bus.
//!
//! A datagram of this project's own: time of the sender, microseconds, 8 bytes; identifier, 2 bytes, both little endian; data.
//! Limits: only the loopback interface is opened, and only datagrams from the partner's port are taken. No order and no
//! delivery is promised; the frames' own protection finds what is lost or repeated.

use std::io;
use std::net::{Ipv4Addr, SocketAddr, UdpSocket};

use couplet_bus::{Frame, Transport};

/// One end.
#[derive(Debug)]
pub struct UdpLoopback {
    socket: UdpSocket,
    partner: Option<SocketAddr>,
}

impl UdpLoopback {
    /// An end at a port of this machine; 0 takes a free one.
    ///
    /// # Errors
    /// What the system says.
    pub fn at(port: u16) -> io::Result<Self> {
        let socket = UdpSocket::bind((Ipv4Addr::LOCALHOST, port))?;
        socket.set_nonblocking(true)?;
        Ok(Self {
            socket,
            partner: None,
        })
    }

    /// The port of this end.
    ///
    /// # Errors
    /// What the system says.
    pub fn port(&self) -> io::Result<u16> {
        Ok(self.socket.local_addr()?.port())
    }

    /// Names the other end.
    pub fn connect(&mut self, port: u16) {
        self.partner = Some((Ipv4Addr::LOCALHOST, port).into());
    }
}

impl Transport for UdpLoopback {
    type Refusal = io::Error;

    fn send(&mut self, at_us: u64, frame: &Frame) -> io::Result<()> {
        let partner = self
            .partner
            .ok_or_else(|| io::Error::new(io::ErrorKind::NotConnected, "no partner is named"))?;
        let mut datagram = at_us.to_le_bytes().to_vec();
        datagram.extend(frame.id().to_le_bytes());
        datagram.extend(frame.bytes());
        self.socket.send_to(&datagram, partner).map(|_| ())
    }

    fn receive(&mut self) -> io::Result<Option<(u64, Frame)>> {
        let mut datagram = [0; 128];
        loop {
            match self.socket.recv_from(&mut datagram) {
                Ok((length, from)) if Some(from) == self.partner => {
                    let frame = datagram.get(..length).and_then(frame_of);
                    // What is no frame is passed over: anybody on this machine may send.
                    if frame.is_some() {
                        return Ok(frame);
                    }
                }
                Ok(_) => {}
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => return Ok(None),
                Err(error) => return Err(error),
            }
        }
    }
}

fn frame_of(datagram: &[u8]) -> Option<(u64, Frame)> {
    let (time, rest) = datagram.split_first_chunk::<8>()?;
    let (id, data) = rest.split_first_chunk::<2>()?;
    let frame = Frame::new(u16::from_le_bytes(*id), data)?;
    Some((u64::from_le_bytes(*time), frame))
}
