//! C library of the control law: caller-owned memory, status codes, no allocation.
//!
//! `include/couplet.h` is generated from these sources; `docs/src/c-library.md` shows how to build and use it. Numbers cross
//! the border as `f32` and `u32` in structures made from the law's own tables ([`shapes`]).
//!
//! # No panic crosses the border
//! Without the feature `std` no panic can be reached: with the feature `proof` the link fails while one can. With `std`, the
//! default of the workspace, a panic would be caught and told as [`couplet_status::COUPLET_BROKEN`]. Why both:
//! `docs/decisions/0009-c-library-without-standard-library.md`.
//!
//! # Caution
//! A reference implementation. It is not certified and not for road use without a functional-safety process of the user's
//! own. Local rules and licensed engineers come first.
#![no_std]
#![allow(non_camel_case_types)]

#[cfg(feature = "std")]
extern crate std;

mod border;
mod entry;
mod key_off;
mod page;
pub mod shapes;
mod status;
mod tables;

pub use border::{COUPLET_MEMORY_ALIGNMENT, COUPLET_MEMORY_BYTES, couplet_law};
pub use entry::*;
pub use key_off::*;
pub use page::*;
pub use status::{couplet_refusal, couplet_status, couplet_status_text};
pub use tables::*;

#[cfg(not(feature = "std"))]
#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    #[cfg(feature = "proof")]
    {
        // SAFETY: never called in a library that exists: while it is called, the link fails.
        unsafe extern "C" {
            fn couplet_panic_path_remains() -> !;
        }
        // SAFETY: as above.
        unsafe { couplet_panic_path_remains() }
    }
    #[cfg(not(feature = "proof"))]
    {
        // SAFETY: abort of the C library, which takes nothing and does not return (C11 7.22.4.1).
        unsafe extern "C" {
            fn abort() -> !;
        }
        // SAFETY: as above.
        unsafe { abort() }
    }
}

/// The panic path of the counter-proof.
///
/// # Safety
/// `table` must lead to eight numbers.
#[cfg(feature = "with-panic")]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_deliberate_panic_path(
    table: *const [f32; 8],
    index: usize,
) -> f32 {
    // SAFETY: the caller's promise.
    unsafe { (*table)[index] }
}
