//! The host behind the emulator, through semihosting calls: command line, files for reading, console, exit status.
//!
//! Limits: works under an emulator or a debugger that serves the calls; on a bare part the first call stops the processor.

use cortex_m_semihosting::{debug, nr, syscall, syscall1};

/// Longest command line, bytes.
pub const LONGEST_LINE: usize = 256;

/// A file of the host, open for reading bytes.
pub struct File(usize);

impl File {
    /// Opens the file whose name is given with its final zero byte.
    pub fn open(name_with_zero: &[u8]) -> Option<Self> {
        const READ_BYTES: usize = 1;
        let length = name_with_zero.len().checked_sub(1)?;
        // SAFETY: the name ends with a zero byte inside the slice; the call only reads it.
        let handle = unsafe { syscall!(OPEN, name_with_zero.as_ptr(), READ_BYTES, length) };
        (handle != usize::MAX).then_some(Self(handle))
    }

    /// Fills the whole buffer; `false` if the file ends before.
    pub fn fill(&mut self, buffer: &mut [u8]) -> bool {
        // SAFETY: the host writes at most the buffer's length into the buffer. It tells how many bytes are missing.
        let missing = unsafe { syscall!(READ, self.0, buffer.as_mut_ptr(), buffer.len()) };
        missing == 0
    }
}

impl File {
    /// Fills a record in memory; `false` if the file ends before.
    ///
    /// # Safety
    /// Any bits must make a record of this type, and the file must hold its bytes as this processor has them in memory.
    pub unsafe fn fill_place<T>(&mut self, place: *mut T) -> bool {
        // SAFETY: the place is a whole record, which the caller lends; any bytes will do, as promised.
        let bytes = unsafe { core::slice::from_raw_parts_mut(place.cast::<u8>(), size_of::<T>()) };
        self.fill(bytes)
    }
}

/// The command line of the emulator's user into the buffer: its length, or none if it does not fit.
pub fn command_line(buffer: &mut [u8; LONGEST_LINE]) -> Option<usize> {
    let mut block = [buffer.as_mut_ptr() as usize, LONGEST_LINE];
    // Not by a shared reference: the host writes the length, and the optimiser believed that nobody does.
    // SAFETY: the host writes at most that many bytes, a zero byte among them, and the length into the block.
    let refused = unsafe { syscall1(nr::GET_CMDLINE, &raw mut block as usize) };
    (refused == 0).then_some(block[1])
}

/// Prints on the host's console.
pub fn print(text: &str) {
    print_bytes(text.as_bytes());
}

/// Prints bytes on the host's console, one by one: slow, and without a handle to keep.
pub fn print_bytes(bytes: &[u8]) {
    for byte in bytes {
        // SAFETY: the call reads the one byte.
        unsafe { syscall1(nr::WRITEC, core::ptr::from_ref(byte) as usize) };
    }
}

/// Ends the emulator with a status.
pub fn exit(status: u32) -> ! {
    let _ = status;
    debug::exit(if status == 0 {
        debug::EXIT_SUCCESS
    } else {
        debug::EXIT_FAILURE
    });
    loop {
        cortex_m::asm::bkpt();
    }
}
