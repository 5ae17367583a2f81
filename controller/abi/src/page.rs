//! The calibration page: defaults, taking a new one whole or not at all, its numbers by index and by name.

use core::ffi::{CStr, c_char};
use couplet_controller::RawPage;
use couplet_controller::calibration::ENTRIES;

use crate::border::{
    Outcome, changed, couplet_law, place_for, seen, taken, told, wanted_place_for,
};
use crate::shapes::{ENTRY_ROWS, couplet_page};
use crate::status::{couplet_refusal, couplet_status};

/// Longest name that is compared, bytes.
const LONGEST_NAME: usize = 128;

/// Fills a page with the defaults of the table. Change what is to differ, then hand it to `couplet_init` or `couplet_page_take`.
///
/// # Safety
/// A pointer that is not NULL must lead to a page that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_default(page: *mut couplet_page) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        unsafe { place_for(page) }?.write(couplet_page::of_law(&RawPage::default()));
        Ok(())
    })
}

/// Gives the page in force.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_in_force(
    controller: *const couplet_law,
    page: *mut couplet_page,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(page) }?;
        // SAFETY: the caller's promise.
        let tunables = unsafe { seen(controller, |law| Ok(law.calibration().raw())) }?;
        place.write(couplet_page::of_law(&RawPage {
            tunables,
            ..RawPage::default()
        }));
        Ok(())
    })
}

/// Takes over a page between two steps, whole or not at all: on refusal the old one stays in force and `refusal`, if it is not NULL,
/// says why. What the controller remembers stays.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_take(
    controller: *mut couplet_law,
    page: *const couplet_page,
    refusal: *mut couplet_refusal,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; a page holds for every bit pattern.
        let page = unsafe { taken(page) }?.to_law();
        // SAFETY: the caller's promise.
        let place = unsafe { wanted_place_for(refusal) }?;
        // SAFETY: the caller's promise.
        let taken_over = unsafe { changed(controller, |law| Ok(law.take_page(&page))) }?;
        let (outcome, why) = match taken_over {
            Ok(()) => (Ok(()), couplet_refusal::none()),
            Err(refused) => {
                let (status, why) = couplet_refusal::of(&refused);
                (Err(status), why)
            }
        };
        if let Some(place) = place {
            place.write(why);
        }
        outcome
    })
}

/// Whether a page would be taken; no controller is needed.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_check(
    page: *const couplet_page,
    refusal: *mut couplet_refusal,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; a page holds for every bit pattern.
        let page = unsafe { taken(page) }?.to_law();
        // SAFETY: the caller's promise.
        let place = unsafe { wanted_place_for(refusal) }?;
        let (outcome, why) = match page.accept::<f32>() {
            Ok(_) => (Ok(()), couplet_refusal::none()),
            Err(refused) => {
                let (status, why) = couplet_refusal::of(&refused);
                (Err(status), why)
            }
        };
        if let Some(place) = place {
            place.write(why);
        }
        outcome
    })
}

/// One tunable of the calibration table. The texts are static memory.
#[derive(Debug, Clone, Copy)]
#[repr(C)]
pub struct couplet_entry {
    /// `group.name`; the name ends with its unit.
    pub name: *const c_char,
    /// Unit, "-" for a pure number.
    pub unit: *const c_char,
    /// What the number does and why the default is what it is.
    pub meaning: *const c_char,
    /// Lowest value admitted.
    pub low: f32,
    /// Highest value admitted.
    pub high: f32,
    /// Default.
    pub normal: f32,
}

/// Describes the tunable of a number from 0 to `COUPLET_PAGE_ENTRIES` - 1, in the order of the page.
///
/// # Safety
/// A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_entry(
    index: u32,
    entry: *mut couplet_entry,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(entry) }?;
        let (Some(row), Some(known)) =
            (ENTRY_ROWS.get(index as usize), ENTRIES.get(index as usize))
        else {
            return Err(couplet_status::COUPLET_NO_SUCH_ENTRY);
        };
        place.write(couplet_entry {
            name: row.name.as_ptr(),
            unit: row.unit.as_ptr(),
            meaning: row.meaning.as_ptr(),
            low: known.low,
            high: known.high,
            normal: known.default,
        });
        Ok(())
    })
}

/// Finds the number of a tunable by its name `group.name`.
///
/// # Safety
/// `name` must lead to text that ends with a zero byte or has 128 readable bytes; `index` to a number.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_find(name: *const c_char, index: *mut u32) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(index) }?;
        for (number, row) in ENTRY_ROWS.iter().enumerate() {
            // SAFETY: the caller's promise.
            if unsafe { reads(name, row.name) }? {
                place.write(number as u32);
                return Ok(());
            }
        }
        Err(couplet_status::COUPLET_NO_SUCH_ENTRY)
    })
}

/// Whether a text from outside is this one.
///
/// # Safety
/// A pointer that is not NULL leads to text that ends with a zero byte or has 128 readable bytes.
unsafe fn reads(name: *const c_char, known: &CStr) -> Outcome<bool> {
    if name.is_null() {
        return Err(couplet_status::COUPLET_NULL_ARGUMENT);
    }
    let known = known.to_bytes_with_nul();
    if known.len() > LONGEST_NAME {
        return Ok(false);
    }
    for (place, expected) in known.iter().enumerate() {
        // SAFETY: every byte before this one was equal to a byte of `known` other than its zero, so the text goes on, and the
        // place is below 128.
        let found = unsafe { name.cast::<u8>().add(place).read() };
        if found != *expected {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Reads one number of a page.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_get(
    page: *const couplet_page,
    index: u32,
    value: *mut f32,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; a page holds for every bit pattern.
        let page = unsafe { taken(page) }?.to_law();
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(value) }?;
        let entry = ENTRIES
            .get(index as usize)
            .ok_or(couplet_status::COUPLET_NO_SUCH_ENTRY)?;
        place.write((entry.read)(&page.tunables));
        Ok(())
    })
}

/// Writes one number of a page. Nothing is checked here: the page is, when it is taken.
///
/// # Safety
/// A pointer that is not NULL must lead to a page that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_page_set(
    page: *mut couplet_page,
    index: u32,
    value: f32,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; a page holds for every bit pattern.
        let mut changed_page = unsafe { taken(page) }?.to_law();
        let entry = ENTRIES
            .get(index as usize)
            .ok_or(couplet_status::COUPLET_NO_SUCH_ENTRY)?;
        (entry.write)(&mut changed_page.tunables, value);
        // SAFETY: the caller's promise.
        unsafe { place_for(page) }?.write(couplet_page::of_law(&changed_page));
        Ok(())
    })
}
