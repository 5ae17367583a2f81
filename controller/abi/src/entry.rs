//! Version, memory, start, step, copy.

use core::ffi::{CStr, c_char};
use couplet_controller::Period;

use crate::border::{
    PLACE_ALIGNMENT, PLACE_BYTES, built, changed, couplet_law, holds_a_controller, place_for, put,
    seen, share_memory, taken, told, wanted_place_for,
};
use crate::shapes::{COUPLET_LAYOUT, couplet_inputs, couplet_outputs, couplet_page};
use crate::status::{couplet_refusal, couplet_status};

const VERSION: &CStr =
    match CStr::from_bytes_with_nul(concat!(env!("CARGO_PKG_VERSION"), "\0").as_bytes()) {
        Ok(version) => version,
        Err(_) => c"",
    };

/// Version of the library, for example "0.1.0": static memory.
#[unsafe(no_mangle)]
pub extern "C" fn couplet_version() -> *const c_char {
    VERSION.as_ptr()
}

/// Layout of everything that crosses the border, as the library knows it: a number made from all names, units and their order.
/// It must equal `COUPLET_LAYOUT` of the header.
#[unsafe(no_mangle)]
pub extern "C" fn couplet_layout() -> u32 {
    COUPLET_LAYOUT
}

/// Bytes of memory that a controller needs; at most `COUPLET_MEMORY_BYTES`.
#[unsafe(no_mangle)]
pub extern "C" fn couplet_size() -> usize {
    PLACE_BYTES
}

/// Alignment of that memory, bytes; at most `COUPLET_MEMORY_ALIGNMENT`.
#[unsafe(no_mangle)]
pub extern "C" fn couplet_alignment() -> usize {
    PLACE_ALIGNMENT
}

/// Builds a controller at rest in memory of the caller's, whatever that memory held before. There is nothing to free.
///
/// `memory_bytes`: size of the memory. `header_layout`: always `COUPLET_LAYOUT`. `page`: calibration, read during the call; NULL for
/// the defaults of the table. `period_us`: time from step to step, 1000 to 20000 microseconds. `refusal`: where to say why a page
/// was refused, or NULL. If the status is not `COUPLET_OK`, the memory is as it was.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_init(
    memory: *mut couplet_law,
    memory_bytes: usize,
    header_layout: u32,
    page: *const couplet_page,
    period_us: u32,
    refusal: *mut couplet_refusal,
) -> couplet_status {
    told(|| {
        if header_layout != COUPLET_LAYOUT {
            return Err(couplet_status::COUPLET_OTHER_HEADER);
        }
        // SAFETY: the caller's promise; see the header.
        let refusal = unsafe { wanted_place_for(refusal) }?;
        let page = if page.is_null() {
            couplet_controller::RawPage::default()
        } else {
            // SAFETY: the caller's promise; a page holds for every bit pattern.
            unsafe { taken(page) }?.to_law()
        };
        let period = Period::from_microseconds(period_us).ok_or(couplet_status::COUPLET_PERIOD)?;
        // SAFETY: the caller's promise.
        let made = unsafe { built(memory, memory_bytes, &page, period) }?;
        let (status, why) = match made {
            Ok(()) => (Ok(()), couplet_refusal::none()),
            Err((status, why)) => (Err(status), why),
        };
        if let Some(place) = refusal {
            place.write(why);
        }
        status
    })
}

/// One control step. Call it once in every period, also when inputs are missing: a reading that did not come has
/// `status` 0 and an `age_ms` that grows.
///
/// `inputs` are read, `outputs` written as a whole; if the status is not `COUPLET_OK` no output is written and the controller made no
/// step: open both clutches.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_step(
    controller: *mut couplet_law,
    inputs: *const couplet_inputs,
    outputs: *mut couplet_outputs,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; inputs hold for every bit pattern.
        let inputs = unsafe { taken(inputs) }?.to_law();
        if share_memory(
            (controller, PLACE_BYTES),
            (outputs, size_of::<couplet_outputs>()),
        ) {
            return Err(couplet_status::COUPLET_OVERLAP);
        }
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(outputs) }?;
        // SAFETY: the caller's promise.
        unsafe {
            changed(controller, |law| {
                place.write(couplet_outputs::of_law(&law.step(&inputs)));
                Ok(())
            })
        }
    })
}

/// Sets the whole axle to one temperature, -60 to 300 degC: for a bench that starts from a known one. A car calls
/// `couplet_wake` instead.
///
/// # Safety
/// A pointer that is not NULL must lead to a controller that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_set_temperature(
    controller: *mut couplet_law,
    degc: f32,
) -> couplet_status {
    told(|| {
        if !(-60.0..=300.0).contains(&degc) {
            return Err(couplet_status::COUPLET_NOT_A_NUMBER);
        }
        // SAFETY: the caller's promise.
        unsafe {
            changed(controller, |law| {
                law.set_temperature(degc);
                Ok(())
            })
        }
    })
}

/// Copies a controller with everything it remembers into other memory: both go on alike from there. The memory must not share a
/// byte with the original. A controller may also be moved with `memcpy`, if the new place is aligned.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_copy(
    memory: *mut couplet_law,
    memory_bytes: usize,
    controller: *const couplet_law,
) -> couplet_status {
    told(|| {
        holds_a_controller(memory, memory_bytes)?;
        if share_memory((memory, PLACE_BYTES), (controller, PLACE_BYTES)) {
            return Err(couplet_status::COUPLET_OVERLAP);
        }
        // SAFETY: the caller's promise.
        let law = unsafe { seen(controller, |law| Ok(*law)) }?;
        // SAFETY: looked at above, and shares nothing with the original.
        unsafe { put(memory, law) };
        Ok(())
    })
}
