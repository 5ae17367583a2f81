//! How deep the stack went: painted before, read after.
//!
//! Limits: a word that happened to be written with the paint's value is not seen; two such words in a row at the very edge
//! are unlikely enough.

const PAINT: u32 = 0xc0ff_ee11;
/// Bytes below the painter's own frame that are left alone.
const OWN: usize = 256;

unsafe extern "C" {
    /// First address after all static memory: from the linker script of the start-up crate.
    static mut __sheap: u32;
}

fn bottom() -> *mut u32 {
    &raw mut __sheap
}

fn here() -> usize {
    cortex_m::register::msp::read() as usize
}

/// Paints everything between static memory and the present top of the stack.
#[inline(never)]
pub fn paint() {
    let end = here().saturating_sub(OWN);
    let mut place = bottom();
    while (place as usize) < end {
        // SAFETY: memory between the end of static memory and the stack's top, in nobody's use.
        unsafe {
            place.write_volatile(PAINT);
            place = place.add(1);
        }
    }
}

/// Bytes of stack used below the caller at the deepest moment since [`paint`].
#[inline(never)]
pub fn deepest() -> u32 {
    let mut place = bottom();
    // SAFETY: as above; only reads.
    while (place as usize) < here() && unsafe { place.read_volatile() } == PAINT {
        // SAFETY: stays below the stack's top.
        place = unsafe { place.add(1) };
    }
    (here() - place as usize) as u32
}
