//! Pointers from outside become references only here, and only after they were looked at.
//!
//! Checked: NULL, alignment, size, the magic word and layout of the controller's memory. What cannot be checked is the
//! caller's promise, stated in the header: that a pointer which passes leads to memory of that kind which nobody else uses
//! during the call.

use core::mem::{MaybeUninit, align_of, size_of};
use core::sync::atomic::{AtomicU32, Ordering};
use couplet_controller::{Controller, Period, RawPage};

use crate::shapes::COUPLET_LAYOUT;
use crate::status::{couplet_refusal, couplet_status, shapes_are_of_this_law};

/// Bytes that are enough for a controller on every machine; `couplet_size` tells how many are needed on this one.
pub const COUPLET_MEMORY_BYTES: usize = 12288;

/// Alignment that is enough on every machine, bytes.
pub const COUPLET_MEMORY_ALIGNMENT: usize = 16;

const _: () = assert!(
    size_of::<Place>() <= COUPLET_MEMORY_BYTES && align_of::<Place>() <= COUPLET_MEMORY_ALIGNMENT
);

/// A controller in the caller's memory. Only its address crosses the border.
pub struct couplet_law(());

/// Marks memory that holds a controller at rest.
const AT_REST: u32 = 0x4c50_5443;
/// Marks one that a call is at work on.
const AT_WORK: u32 = 0x4b52_4f57;
/// Marks one that a call did not come back from.
const LOST: u32 = 0x5453_4f4c;

/// What lies in the caller's memory.
#[repr(C)]
pub(crate) struct Place {
    magic: AtomicU32,
    layout: u32,
    law: Controller<f32>,
}

/// Bytes of a controller's memory.
pub(crate) const PLACE_BYTES: usize = size_of::<Place>();
/// Alignment of a controller's memory.
pub(crate) const PLACE_ALIGNMENT: usize = align_of::<Place>();

pub(crate) type Outcome<T> = Result<T, couplet_status>;

/// The outcome as a status; with the standard library a panic becomes one too.
pub(crate) fn told(work: impl FnOnce() -> Outcome<()>) -> couplet_status {
    #[cfg(feature = "std")]
    let outcome = std::panic::catch_unwind(core::panic::AssertUnwindSafe(work))
        .unwrap_or(Err(couplet_status::COUPLET_BROKEN));
    #[cfg(not(feature = "std"))]
    let outcome = work();
    match outcome {
        Ok(()) => couplet_status::COUPLET_OK,
        Err(status) => status,
    }
}

fn looked_at<T>(pointer: *const T) -> Outcome<()> {
    if pointer.is_null() {
        Err(couplet_status::COUPLET_NULL_ARGUMENT)
    } else if !pointer.is_aligned() {
        Err(couplet_status::COUPLET_MISALIGNED)
    } else {
        Ok(())
    }
}

/// A copy of what the caller's pointer leads to.
///
/// # Safety
/// A pointer that is not NULL and aligned must lead to a readable `T` that holds for every bit pattern.
pub(crate) unsafe fn taken<T: Copy>(pointer: *const T) -> Outcome<T> {
    looked_at(pointer)?;
    // SAFETY: not NULL, aligned; the rest is promised by the caller.
    Ok(unsafe { pointer.read() })
}

/// A place that may be written later: nothing is read from it.
///
/// # Safety
/// A pointer that is not NULL and aligned must lead to a writable `T` that nobody else uses as long as the reference lives.
pub(crate) unsafe fn place_for<'a, T>(pointer: *mut T) -> Outcome<&'a mut MaybeUninit<T>> {
    looked_at(pointer)?;
    // SAFETY: not NULL, aligned; `MaybeUninit` takes any content; the rest is promised by the caller.
    Ok(unsafe { &mut *pointer.cast::<MaybeUninit<T>>() })
}

/// The same where NULL means that the caller does not want it.
///
/// # Safety
/// As for [`place_for`].
pub(crate) unsafe fn wanted_place_for<'a, T>(
    pointer: *mut T,
) -> Outcome<Option<&'a mut MaybeUninit<T>>> {
    if pointer.is_null() {
        return Ok(None);
    }
    // SAFETY: the same promise.
    unsafe { place_for(pointer) }.map(Some)
}

/// Whether two pieces of memory share a byte.
pub(crate) fn share_memory<T, U>(
    (one, one_bytes): (*const T, usize),
    (other, other_bytes): (*const U, usize),
) -> bool {
    let (one, other) = (one.addr(), other.addr());
    one < other.saturating_add(other_bytes) && other < one.saturating_add(one_bytes)
}

/// The controller behind the pointer.
///
/// # Safety
/// A pointer that is not NULL and aligned must lead to at least eight readable bytes, and to a whole controller of this library
/// if they hold its marks.
unsafe fn found<'a>(controller: *const couplet_law) -> Outcome<&'a AtomicU32> {
    let place = controller.cast::<Place>();
    looked_at(place)?;
    // SAFETY: not NULL, aligned, eight bytes are readable by the caller's promise; only integers are read.
    let (magic, layout) = unsafe { (&(*place).magic, (&raw const (*place).layout).read()) };
    match magic.load(Ordering::Acquire) {
        AT_REST if layout == COUPLET_LAYOUT => Ok(magic),
        AT_WORK if layout == COUPLET_LAYOUT => Err(couplet_status::COUPLET_BUSY),
        LOST if layout == COUPLET_LAYOUT => Err(couplet_status::COUPLET_BROKEN),
        _ => Err(couplet_status::COUPLET_NO_CONTROLLER),
    }
}

/// Looks at a controller.
///
/// # Safety
/// As for [`couplet_law`] in the header: a controller, and nobody changes it during the call.
pub(crate) unsafe fn seen<T>(
    controller: *const couplet_law,
    look: impl FnOnce(&Controller<f32>) -> Outcome<T>,
) -> Outcome<T> {
    // SAFETY: the same promise.
    unsafe { found(controller) }?;
    // SAFETY: the marks say that a whole controller is there; nobody changes it by the caller's promise.
    look(unsafe { &(*controller.cast::<Place>()).law })
}

/// Works on a controller. It is marked as at work meanwhile, so that a second thread or an interrupt that comes in between is
/// told so, as far as that can be seen without a lock. After a panic it is marked as lost.
///
/// # Safety
/// A controller, and nobody else uses it during the call.
pub(crate) unsafe fn changed<T>(
    controller: *mut couplet_law,
    change: impl FnOnce(&mut Controller<f32>) -> Outcome<T>,
) -> Outcome<T> {
    // SAFETY: the same promise.
    let magic = unsafe { found(controller) }?;
    let mut mark = Mark {
        magic,
        afterwards: LOST,
    };
    magic.store(AT_WORK, Ordering::Release);
    // SAFETY: the marks say that a whole controller is there; nobody else uses it by the caller's promise. The mark beside it
    // is not part of what is borrowed.
    let outcome = change(unsafe { &mut (*controller.cast::<Place>()).law });
    mark.afterwards = AT_REST;
    outcome
}

/// Sets the mark that holds afterwards, also when the stack is unwound.
struct Mark<'a> {
    magic: &'a AtomicU32,
    afterwards: u32,
}

impl Drop for Mark<'_> {
    fn drop(&mut self) {
        self.magic.store(self.afterwards, Ordering::Release);
    }
}

/// Whether memory can hold a controller.
pub(crate) fn holds_a_controller(memory: *const couplet_law, bytes: usize) -> Outcome<()> {
    looked_at(memory.cast::<Place>())?;
    if bytes < PLACE_BYTES {
        return Err(couplet_status::COUPLET_WRONG_SIZE);
    }
    Ok(())
}

/// Puts a new controller into memory; on refusal the memory is left as it was.
///
/// # Safety
/// A pointer that is not NULL and aligned must lead to `bytes` writable bytes that nobody else uses during the call.
pub(crate) unsafe fn built(
    memory: *mut couplet_law,
    bytes: usize,
    page: &RawPage,
    period: Period,
) -> Outcome<Result<(), (couplet_status, couplet_refusal)>> {
    holds_a_controller(memory, bytes)?;
    if !shapes_are_of_this_law() {
        return Err(couplet_status::COUPLET_OTHER_HEADER);
    }
    let law = match Controller::new(page, period) {
        Ok(law) => law,
        Err(refusal) => return Ok(Err(couplet_refusal::of(&refusal))),
    };
    // SAFETY: not NULL, aligned, large enough; writable by the caller's promise. What was there needs no end of its own.
    unsafe { put(memory, law) };
    Ok(Ok(()))
}

/// Writes a controller with its marks.
///
/// # Safety
/// Aligned memory of at least [`PLACE_BYTES`] bytes that nobody else uses.
pub(crate) unsafe fn put(memory: *mut couplet_law, law: Controller<f32>) {
    // SAFETY: the same promise.
    unsafe {
        memory.cast::<Place>().write(Place {
            magic: AtomicU32::new(AT_REST),
            layout: COUPLET_LAYOUT,
            law,
        });
    }
}

#[cfg(all(test, feature = "std"))]
mod tests {
    use super::*;

    #[test]
    fn a_panic_inside_becomes_a_status_and_the_controller_is_lost() {
        let mut memory = MaybeUninit::<Place>::uninit();
        let controller = memory.as_mut_ptr().cast::<couplet_law>();
        // SAFETY: memory of a controller, used by nobody else.
        let made = unsafe {
            built(
                controller,
                PLACE_BYTES,
                &RawPage::default(),
                Period::default(),
            )
        };
        assert_eq!(made, Ok(Ok(())));
        // SAFETY: as above.
        let status = told(|| unsafe { changed(controller, |_| panic!("on purpose")) });
        assert_eq!(status, couplet_status::COUPLET_BROKEN);
        // SAFETY: as above.
        let after = told(|| unsafe { changed(controller, |_| Ok(())) });
        assert_eq!(after, couplet_status::COUPLET_BROKEN);
    }

    #[test]
    fn a_call_into_a_controller_at_work_is_refused() {
        let mut memory = MaybeUninit::<Place>::uninit();
        let controller = memory.as_mut_ptr().cast::<couplet_law>();
        // SAFETY: memory of a controller, used by nobody else.
        let made = unsafe {
            built(
                controller,
                PLACE_BYTES,
                &RawPage::default(),
                Period::default(),
            )
        };
        assert_eq!(made, Ok(Ok(())));
        // SAFETY: the inner call is refused before it borrows anything.
        let outcome = unsafe { changed(controller, |_| changed(controller, |_| Ok(()))) };
        assert_eq!(outcome, Err(couplet_status::COUPLET_BUSY));
        // SAFETY: as above.
        assert_eq!(unsafe { changed(controller, |_| Ok(())) }, Ok(()));
    }
}
