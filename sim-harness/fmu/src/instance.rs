//! One instance behind a C pointer: unit, logger, and the way of every call into it.

use couplet_sim::co_simulation::{Model, Refusal, Unit, variables};
use std::ffi::{CStr, CString, c_char, c_void};
use std::fmt::Display;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

/// Status of both editions.
pub const OK: i32 = 0;
/// Refused; the unit can go on as it was.
pub const DISCARD: i32 = 2;
/// The call itself was wrong.
pub const ERROR: i32 = 3;
/// A panic inside: the instance must not be used any more.
pub const FATAL: i32 = 4;

/// Says a message of a status to the importing program.
pub type Log = Box<dyn Fn(i32, &CStr)>;

/// An instance.
pub struct Instance {
    mark: u64,
    /// The unit.
    pub unit: Unit,
    /// As it was instantiated, for a reset.
    pub fresh: Unit,
    log: Log,
    lost: bool,
}

/// Marks memory that holds an instance.
const MARK: u64 = 0x3174_656c_7075_6f63;

/// A text from outside.
///
/// # Safety
/// NULL, or text that ends with a zero byte.
pub unsafe fn text<'a>(text: *const c_char) -> &'a str {
    if text.is_null() {
        return "";
    }
    // SAFETY: the caller's promise.
    unsafe { CStr::from_ptr(text) }.to_str().unwrap_or_default()
}

/// A new instance, or NULL with a message why not.
pub fn instantiated(token: &str, resources: Option<PathBuf>, log: Log) -> *mut c_void {
    let made = catch_unwind(|| {
        let model = Model::of_token(token).ok_or_else(|| {
            format!("the description's token {token} is not of this library: export the unit anew")
        })?;
        let mut unit = Unit::new(model);
        if let Some(folder) = resources {
            take_start_values(&mut unit, &folder)?;
        }
        Ok::<_, String>(unit)
    })
    .unwrap_or_else(|_| Err("failed inside".to_owned()));
    match made {
        Ok(unit) => Box::into_raw(Box::new(Instance {
            mark: MARK,
            fresh: unit.clone(),
            unit,
            log,
            lost: false,
        }))
        .cast(),
        Err(why) => {
            say(&log, ERROR, &why);
            std::ptr::null_mut()
        }
    }
}

/// Start values that the export put beside the description: lines `name value`.
fn take_start_values(unit: &mut Unit, folder: &Path) -> Result<(), String> {
    let place = folder.join("values.txt");
    let Ok(lines) = std::fs::read_to_string(&place) else {
        return Ok(());
    };
    for (number, line) in lines.lines().enumerate() {
        let wrong = |what: String| format!("{}:{}: {what}", place.display(), number + 1);
        let (name, value) = line
            .split_once(' ')
            .ok_or_else(|| wrong("`name value` is wanted".to_owned()))?;
        let value: f64 = value
            .parse()
            .map_err(|_| wrong(format!("{value} is no number")))?;
        let reference =
            Unit::reference(unit.model(), name).map_err(|why| wrong(why.to_string()))?;
        unit.set(reference, value)
            .map_err(|why| wrong(why.to_string()))?;
    }
    Ok(())
}

fn say(log: &Log, status: i32, message: &dyn Display) {
    let message = message.to_string().replace('\0', " ");
    if let Ok(message) = CString::new(message) {
        log(status, &message);
    }
}

/// Calls into an instance: a wrong pointer is an error, a refusal is logged and discarded, a panic is fatal.
///
/// # Safety
/// NULL, or what [`instantiated`] gave and nobody freed or uses at the same time.
pub unsafe fn with(
    instance: *mut c_void,
    work: impl FnOnce(&mut Instance) -> Result<(), Refusal>,
) -> i32 {
    let instance = instance.cast::<Instance>();
    if instance.is_null() || !instance.is_aligned() {
        return ERROR;
    }
    // SAFETY: not NULL, aligned, readable by the caller's promise; only a number is read before the mark is known.
    if unsafe { (&raw const (*instance).mark).read() } != MARK {
        return ERROR;
    }
    // SAFETY: the mark says that it is an instance; nobody else uses it by the caller's promise.
    let instance = unsafe { &mut *instance };
    if instance.lost {
        return ERROR;
    }
    match catch_unwind(AssertUnwindSafe(|| work(instance))) {
        Ok(Ok(())) => OK,
        Ok(Err(refusal)) => {
            say(&instance.log, DISCARD, &refusal);
            DISCARD
        }
        Err(_) => {
            instance.lost = true;
            say(
                &instance.log,
                FATAL,
                &"failed inside; this instance is lost",
            );
            FATAL
        }
    }
}

/// Tells why a call was wrong.
///
/// # Safety
/// As for [`with`].
pub unsafe fn wrong_call(instance: *mut c_void, what: &str) -> i32 {
    // SAFETY: the same promise.
    unsafe {
        with(instance, |instance| {
            say(&instance.log, ERROR, &what);
            Ok(())
        })
    };
    ERROR
}

/// Frees an instance.
///
/// # Safety
/// As for [`with`]; the pointer is dead afterwards.
pub unsafe fn freed(instance: *mut c_void) {
    let instance = instance.cast::<Instance>();
    if instance.is_null() || !instance.is_aligned() {
        return;
    }
    // SAFETY: made by `Box::into_raw` in `instantiated`, by the caller's promise and the mark.
    unsafe {
        if (*instance).mark == MARK {
            (*instance).mark = 0;
            drop(Box::from_raw(instance));
        }
    }
}

/// Reads numbers; all or none are written.
///
/// # Safety
/// As for [`with`]; `references` and `values` lead to `count` numbers each.
pub unsafe fn read(
    instance: *mut c_void,
    references: *const u32,
    count: usize,
    values: *mut f64,
    time_reference: Option<u32>,
) -> i32 {
    if count == 0 {
        return OK;
    }
    if references.is_null() || values.is_null() {
        // SAFETY: the same promise.
        return unsafe { wrong_call(instance, "NULL where numbers are wanted") };
    }
    // SAFETY: the same promise.
    unsafe {
        let references = std::slice::from_raw_parts(references, count);
        let values = std::slice::from_raw_parts_mut(values, count);
        with(instance, |instance| {
            let mut found = Vec::with_capacity(count);
            for reference in references {
                found.push(if Some(*reference) == time_reference {
                    instance.unit.time_s()
                } else {
                    instance.unit.get(*reference)?
                });
            }
            values.copy_from_slice(&found);
            Ok(())
        })
    }
}

/// Sets numbers; all or none are taken.
///
/// # Safety
/// As for [`read`].
pub unsafe fn write(
    instance: *mut c_void,
    references: *const u32,
    count: usize,
    values: *const f64,
) -> i32 {
    if count == 0 {
        return OK;
    }
    if references.is_null() || values.is_null() {
        // SAFETY: the same promise.
        return unsafe { wrong_call(instance, "NULL where numbers are wanted") };
    }
    // SAFETY: the same promise.
    unsafe {
        let references = std::slice::from_raw_parts(references, count);
        let values = std::slice::from_raw_parts(values, count);
        with(instance, |instance| {
            // Looked at before any is taken, so that a refused list changes nothing.
            let all = variables(instance.unit.model());
            if count > 1
                && references.iter().zip(values).any(|(reference, value)| {
                    all.get(*reference as usize)
                        .is_none_or(|one| !(one.low <= *value && *value <= one.high))
                })
            {
                let mut trial = instance.unit.clone();
                for (reference, value) in references.iter().zip(values) {
                    trial.set(*reference, *value)?;
                }
            }
            for (reference, value) in references.iter().zip(values) {
                instance.unit.set(*reference, *value)?;
            }
            Ok(())
        })
    }
}

/// Keeps the whole state; an earlier state in the same place is overwritten.
///
/// # Safety
/// As for [`with`]; `state` leads to a pointer that is NULL or a state of this library.
pub unsafe fn keep(instance: *mut c_void, state: *mut *mut c_void) -> i32 {
    if state.is_null() {
        return ERROR;
    }
    // SAFETY: the same promise.
    unsafe {
        with(instance, |instance| {
            if (*state).is_null() {
                *state = Box::into_raw(Box::new(instance.unit.clone())).cast();
            } else {
                *(*state).cast::<Unit>() = instance.unit.clone();
            }
            Ok(())
        })
    }
}

/// Puts a state back.
///
/// # Safety
/// As for [`with`]; `state` is a state of this library.
pub unsafe fn put_back(instance: *mut c_void, state: *mut c_void) -> i32 {
    if state.is_null() {
        return ERROR;
    }
    // SAFETY: the same promise.
    unsafe {
        let kept = &*state.cast::<Unit>();
        let mut fits = false;
        let status = with(instance, |instance| {
            fits = kept.model() == instance.unit.model();
            if fits {
                instance.unit = kept.clone();
            }
            Ok(())
        });
        if status == OK && !fits {
            return wrong_call(instance, "this state is of the other model");
        }
        status
    }
}

/// Frees a state.
///
/// # Safety
/// As for [`keep`].
pub unsafe fn forget(instance: *mut c_void, state: *mut *mut c_void) -> i32 {
    if state.is_null() {
        return OK;
    }
    // SAFETY: the same promise.
    unsafe {
        with(instance, |_| {
            if !(*state).is_null() {
                drop(Box::from_raw((*state).cast::<Unit>()));
                *state = std::ptr::null_mut();
            }
            Ok(())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::RefCell;
    use std::rc::Rc;

    type Heard = Rc<RefCell<Vec<(i32, String)>>>;

    fn made() -> (*mut c_void, Heard) {
        let heard = Heard::default();
        let log = Rc::clone(&heard);
        let logger: Log = Box::new(move |status, message| {
            log.borrow_mut()
                .push((status, message.to_string_lossy().into_owned()));
        });
        let instance = instantiated(&Model::Controller.token(), None, logger);
        assert!(!instance.is_null());
        (instance, heard)
    }

    #[test]
    fn a_panic_inside_is_fatal_and_the_instance_is_lost() {
        let (instance, heard) = made();
        // SAFETY: an instance of this test's own.
        unsafe {
            assert_eq!(with(instance, |_| Ok(())), OK);
            assert_eq!(with(instance, |_| panic!("on purpose")), FATAL);
            assert_eq!(with(instance, |_| Ok(())), ERROR);
            freed(instance);
        }
        assert_eq!(heard.borrow().len(), 1);
        assert_eq!(heard.borrow()[0].0, FATAL);
    }

    #[test]
    fn wrong_pointers_and_tokens_are_errors_not_crashes() {
        let (instance, heard) = made();
        let mut value = 0.0;
        let reference = 0_u32;
        let mut zeros = [0_u64; 512];
        // SAFETY: NULL, memory of this test's own without the mark, or an instance of its own.
        unsafe {
            assert_eq!(with(std::ptr::null_mut(), |_| Ok(())), ERROR);
            assert_eq!(
                read(std::ptr::null_mut(), &reference, 1, &mut value, None),
                ERROR
            );
            assert_eq!(read(instance, std::ptr::null(), 1, &mut value, None), ERROR);
            assert_eq!(
                read(instance, &reference, 1, std::ptr::null_mut(), None),
                ERROR
            );
            assert_eq!(write(instance, &reference, 1, &f64::NAN), DISCARD);
            assert_eq!(put_back(instance, std::ptr::null_mut()), ERROR);
            assert_eq!(keep(instance, std::ptr::null_mut()), ERROR);
            assert_eq!(with(instance.wrapping_byte_add(1), |_| Ok(())), ERROR);
            assert_eq!(with(zeros.as_mut_ptr().cast(), |_| Ok(())), ERROR);
            freed(std::ptr::null_mut());
            freed(instance);
        }
        assert_eq!(heard.borrow().last().map(|said| said.0), Some(DISCARD));
        let nobody: Log = Box::new(|_, _| {});
        assert!(instantiated("{another}", None, nobody).is_null());
    }
}
