//! Status codes, why a page was refused, and both in words.

use core::ffi::{CStr, c_char};
use core::ptr;
use couplet_controller::PageRefusal;

use crate::shapes::{COUPLET_PAGE_LAYOUT, ENTRY_ROWS, RULE_ROWS};

/// What a call came to. Anything but `COUPLET_OK` means that nothing was changed, `COUPLET_BROKEN` excepted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u32)]
pub enum couplet_status {
    /// Done.
    COUPLET_OK = 0,
    /// A pointer that must lead somewhere is NULL.
    COUPLET_NULL_ARGUMENT = 1,
    /// A pointer is not aligned for what it should lead to.
    COUPLET_MISALIGNED = 2,
    /// The memory or buffer has fewer bytes than needed, or a record has not exactly the bytes it should have.
    COUPLET_WRONG_SIZE = 3,
    /// There is no controller in this memory: never initialised, overwritten, or made by another version.
    COUPLET_NO_CONTROLLER = 4,
    /// The header was made for another version of the library.
    COUPLET_OTHER_HEADER = 5,
    /// The control period is outside 1000 to 20000 microseconds.
    COUPLET_PERIOD = 6,
    /// The page was made for another layout of the calibration table.
    COUPLET_PAGE_OTHER_LAYOUT = 7,
    /// The page holds another number of entries than the table.
    COUPLET_PAGE_OTHER_COUNT = 8,
    /// A number of the page is NaN or outside its range.
    COUPLET_PAGE_OUT_OF_RANGE = 9,
    /// Numbers of the page contradict each other.
    COUPLET_PAGE_CONTRADICTION = 10,
    /// No entry, signal, name or part of this number or name.
    COUPLET_NO_SUCH_ENTRY = 11,
    /// A number is NaN, infinite or outside what the function takes.
    COUPLET_NOT_A_NUMBER = 12,
    /// Two arguments share memory that must not.
    COUPLET_OVERLAP = 13,
    /// Another call is at work on this controller: one thread at a time.
    COUPLET_BUSY = 14,
    /// The library failed inside; this controller is lost and must be initialised anew. Cannot happen without feature `std`.
    COUPLET_BROKEN = 15,
}

/// Every status, in order of its number.
const ALL: [(couplet_status, &CStr); 16] = {
    use couplet_status::*;
    [
        (COUPLET_OK, c"done"),
        (COUPLET_NULL_ARGUMENT, c"a pointer is NULL"),
        (COUPLET_MISALIGNED, c"a pointer is not aligned for what it should lead to"),
        (COUPLET_WRONG_SIZE, c"memory too small or of another size than needed"),
        (COUPLET_NO_CONTROLLER, c"no controller in this memory: call couplet_init first"),
        (COUPLET_OTHER_HEADER, c"header and library are of different versions: compile with the header of this library"),
        (COUPLET_PERIOD, c"control period outside 1000 to 20000 microseconds"),
        (COUPLET_PAGE_OTHER_LAYOUT, c"page of another layout of the calibration table"),
        (COUPLET_PAGE_OTHER_COUNT, c"page with another number of entries than the calibration table"),
        (COUPLET_PAGE_OUT_OF_RANGE, c"a number of the page is outside its range"),
        (COUPLET_PAGE_CONTRADICTION, c"numbers of the page contradict each other"),
        (COUPLET_NO_SUCH_ENTRY, c"no entry of this number or name"),
        (COUPLET_NOT_A_NUMBER, c"a number is NaN, infinite or outside what is taken"),
        (COUPLET_OVERLAP, c"arguments share memory"),
        (COUPLET_BUSY, c"another call is at work on this controller"),
        (COUPLET_BROKEN, c"failed inside: initialise the controller anew"),
    ]
};

/// The status in words: one line, static memory. Unknown numbers give "unknown status".
#[unsafe(no_mangle)]
pub extern "C" fn couplet_status_text(status: u32) -> *const c_char {
    let known = ALL.iter().find(|(known, _)| *known as u32 == status);
    known.map_or(c"unknown status", |(_, text)| text).as_ptr()
}

/// Why a calibration page was refused. The texts are static memory; `name` and `message` are never NULL.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C)]
pub struct couplet_refusal {
    /// One of `couplet_status`; `COUPLET_OK` if nothing was refused.
    pub status: u32,
    /// Out of range: number of the entry. Contradiction: number of the rule. Other layout or count: the number found.
    pub index: u32,
    /// Out of range: the value found. Otherwise 0.
    pub value: f32,
    /// Out of range: lowest value admitted. Otherwise 0.
    pub low: f32,
    /// Out of range: highest value admitted. Otherwise 0.
    pub high: f32,
    /// Entry `group.name`; several with commas between for a contradiction; empty otherwise.
    pub name: *const c_char,
    /// What the entry is, what must hold, or what to do.
    pub message: *const c_char,
}

impl couplet_refusal {
    /// Nothing refused.
    pub(crate) fn none() -> Self {
        Self {
            status: couplet_status::COUPLET_OK as u32,
            index: 0,
            value: 0.0,
            low: 0.0,
            high: 0.0,
            name: c"".as_ptr(),
            message: c"".as_ptr(),
        }
    }

    /// The law's refusal, with the status that goes with it.
    pub(crate) fn of(refusal: &PageRefusal) -> (couplet_status, Self) {
        let mut told = Self::none();
        let status = match refusal {
            PageRefusal::Layout { found } => {
                told.index = *found;
                told.message = c"start from couplet_page_default of this library".as_ptr();
                couplet_status::COUPLET_PAGE_OTHER_LAYOUT
            }
            PageRefusal::Entries { found } => {
                told.index = *found;
                told.message = c"start from couplet_page_default of this library".as_ptr();
                couplet_status::COUPLET_PAGE_OTHER_COUNT
            }
            PageRefusal::Range { entry, value } => {
                told.index = *entry as u32;
                told.value = *value;
                if let Some(entry) = refusal.entry() {
                    (told.low, told.high) = (entry.low, entry.high);
                }
                if let Some(row) = ENTRY_ROWS.get(*entry) {
                    (told.name, told.message) = (row.name.as_ptr(), row.meaning.as_ptr());
                }
                couplet_status::COUPLET_PAGE_OUT_OF_RANGE
            }
            PageRefusal::Rule { rule } => {
                told.index = *rule as u32;
                if let Some(row) = RULE_ROWS.get(*rule) {
                    (told.name, told.message) = (row.name.as_ptr(), row.meaning.as_ptr());
                }
                couplet_status::COUPLET_PAGE_CONTRADICTION
            }
        };
        told.status = status as u32;
        (status, told)
    }
}

/// The page layout the shapes were made for is the law's: a stale `shapes.rs` refuses every page instead of shifting numbers.
pub(crate) fn shapes_are_of_this_law() -> bool {
    COUPLET_PAGE_LAYOUT == couplet_controller::calibration::page::LAYOUT
        && ENTRY_ROWS.len() == couplet_controller::calibration::ENTRIES.len()
}

/// A pointer to text that outlives every caller.
pub(crate) fn text(text: Option<&'static CStr>) -> *const c_char {
    text.map_or(ptr::null(), CStr::as_ptr)
}
