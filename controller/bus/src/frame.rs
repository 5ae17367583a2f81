//! One CAN frame: identifier and up to 64 bytes.
//!
//! Classic CAN carries 0 to 8 bytes (ISO 11898-1), CAN FD besides 12, 16, 20, 24, 32, 48 and 64. Identifiers have 11 bits.

/// Most bytes of a frame.
pub const LONGEST: usize = 64;

/// Highest identifier of 11 bits.
pub const HIGHEST_ID: u16 = 0x7ff;

/// A frame as it crosses the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Frame {
    id: u16,
    length: u8,
    data: [u8; LONGEST],
}

impl Frame {
    /// A frame of these bytes; none if the identifier has more than 11 bits or no frame has this length.
    pub fn new(id: u16, bytes: &[u8]) -> Option<Self> {
        let mut frame = Self::zeroed(id, bytes.len())?;
        for (to, from) in frame.data.iter_mut().zip(bytes) {
            *to = *from;
        }
        Some(frame)
    }

    /// A frame of zeros; none as with [`Frame::new`].
    pub fn zeroed(id: u16, length: usize) -> Option<Self> {
        let known = matches!(length, 0..=8 | 12 | 16 | 20 | 24 | 32 | 48 | 64);
        (known && id <= HIGHEST_ID).then_some(Self {
            id,
            length: length as u8,
            data: [0; LONGEST],
        })
    }

    /// Identifier, 11 bits.
    pub fn id(&self) -> u16 {
        self.id
    }

    /// Whether it needs CAN FD.
    pub fn is_fd(&self) -> bool {
        self.length > 8
    }

    /// Its bytes.
    pub fn bytes(&self) -> &[u8] {
        self.data.get(..usize::from(self.length)).unwrap_or(&[])
    }

    /// Its bytes, to be changed.
    pub fn bytes_mut(&mut self) -> &mut [u8] {
        self.data
            .get_mut(..usize::from(self.length))
            .unwrap_or(&mut [])
    }
}
