//! The C functions of FMI 2.0 for co-simulation, by the names of the standard.
//!
//! Safety of all of them: pointers are what the standard says of them; an instance is used by one thread at a time.
#![allow(non_snake_case, clippy::missing_safety_doc)]

use crate::instance::{
    ERROR, OK, forget, freed, instantiated, keep, put_back, read, text, with, write, wrong_call,
};
use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::path::PathBuf;

type Component = *mut c_void;
type Logger =
    unsafe extern "C" fn(*mut c_void, *const c_char, c_int, *const c_char, *const c_char, ...);

/// `fmi2CallbackFunctions`; only the logger is used.
#[repr(C)]
pub struct Callbacks {
    logger: Option<Logger>,
    allocate: *const c_void,
    free: *const c_void,
    step_finished: *const c_void,
    environment: *mut c_void,
}

/// Only co-simulation (1) is offered.
const CO_SIMULATION: c_int = 1;

#[unsafe(no_mangle)]
pub extern "C" fn fmi2GetTypesPlatform() -> *const c_char {
    c"default".as_ptr()
}

#[unsafe(no_mangle)]
pub extern "C" fn fmi2GetVersion() -> *const c_char {
    c"2.0".as_ptr()
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2Instantiate(
    name: *const c_char,
    kind: c_int,
    guid: *const c_char,
    resources: *const c_char,
    callbacks: *const Callbacks,
    _visible: c_int,
    _logging: c_int,
) -> Component {
    if callbacks.is_null() || guid.is_null() || kind != CO_SIMULATION {
        return std::ptr::null_mut();
    }
    // SAFETY: not NULL; the structure lives as long as the instance by the standard, its members are copied here.
    let (logger, environment) = unsafe { ((*callbacks).logger, (*callbacks).environment) };
    // SAFETY: NULL or text by the standard.
    let (name, guid, place) = unsafe { (text(name).to_owned(), text(guid), text(resources)) };
    let name = CString::new(name).unwrap_or_default();
    let log = Box::new(move |status: i32, message: &CStr| {
        // The importer formats the message: a lone percent sign would be taken for an argument.
        let message = message.to_string_lossy().replace('%', "%%");
        let message = CString::new(message).unwrap_or_default();
        if let Some(logger) = logger {
            // SAFETY: the importer's function, called as the standard says; the message holds no format.
            unsafe {
                logger(
                    environment,
                    name.as_ptr(),
                    status,
                    c"refusal".as_ptr(),
                    message.as_ptr(),
                );
            }
        }
    });
    instantiated(guid, folder_of(place), log)
}

/// The folder a file URI names, with the percent escapes of RFC 3986.
fn folder_of(uri: &str) -> Option<PathBuf> {
    let path = uri.strip_prefix("file:")?;
    let path = path.strip_prefix("//").unwrap_or(path);
    let path = path.strip_prefix("localhost").unwrap_or(path);
    let mut bytes = Vec::new();
    let mut rest = path.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digits = [rest.next()?, rest.next()?];
            let digits = std::str::from_utf8(&digits).ok()?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    Some(PathBuf::from(String::from_utf8(bytes).ok()?))
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2FreeInstance(instance: Component) {
    // SAFETY: see the head of this file.
    unsafe { freed(instance) }
}

#[unsafe(no_mangle)]
pub extern "C" fn fmi2SetDebugLogging(
    _instance: Component,
    _on: c_int,
    _count: usize,
    _categories: *const *const c_char,
) -> c_int {
    // Refusals are always told.
    OK
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2SetupExperiment(
    instance: Component,
    _tolerance_defined: c_int,
    _tolerance: f64,
    start_s: f64,
    _stop_defined: c_int,
    _stop_s: f64,
) -> c_int {
    // SAFETY: see the head of this file.
    unsafe {
        with(instance, |instance| {
            instance.unit.begin_at(start_s);
            Ok(())
        })
    }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2EnterInitializationMode(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { with(instance, |_| Ok(())) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2ExitInitializationMode(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { with(instance, |instance| instance.unit.start()) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2Terminate(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { with(instance, |_| Ok(())) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2Reset(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe {
        with(instance, |instance| {
            instance.unit = instance.fresh.clone();
            Ok(())
        })
    }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2GetReal(
    instance: Component,
    references: *const u32,
    count: usize,
    values: *mut f64,
) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { read(instance, references, count, values, None) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2SetReal(
    instance: Component,
    references: *const u32,
    count: usize,
    values: *const f64,
) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { write(instance, references, count, values) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2DoStep(
    instance: Component,
    at_s: f64,
    step_s: f64,
    _no_set_prior: c_int,
) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { with(instance, |instance| instance.unit.step(at_s, step_s)) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2CancelStep(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { wrong_call(instance, "no step is under way") }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2GetFMUstate(instance: Component, state: *mut *mut c_void) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { keep(instance, state) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2SetFMUstate(instance: Component, state: *mut c_void) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { put_back(instance, state) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2FreeFMUstate(instance: Component, state: *mut *mut c_void) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { forget(instance, state) }
}

/// `fmi2LastSuccessfulTime`.
const LAST_SUCCESSFUL_TIME: c_int = 2;

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi2GetRealStatus(
    instance: Component,
    kind: c_int,
    value: *mut f64,
) -> c_int {
    if kind != LAST_SUCCESSFUL_TIME || value.is_null() {
        return ERROR;
    }
    // SAFETY: not NULL; see the head of this file.
    unsafe {
        with(instance, |instance| {
            *value = instance.unit.time_s();
            Ok(())
        })
    }
}

/// Functions of the standard that this unit has nothing for: they refuse, unless nothing is asked of them.
macro_rules! of_another_type {
    ( $( $name:ident )* ) => { $(
        #[unsafe(no_mangle)]
        pub unsafe extern "C" fn $name(
            instance: Component,
            _references: *const u32,
            count: usize,
            _values: *const c_void,
        ) -> c_int {
            if count == 0 {
                return OK;
            }
            // SAFETY: see the head of this file.
            unsafe { wrong_call(instance, "every variable of this unit is a real number") }
        }
    )* };
}

of_another_type! { fmi2GetInteger fmi2SetInteger fmi2GetBoolean fmi2SetBoolean fmi2GetString fmi2SetString }

/// Functions of capabilities that the description does not name.
macro_rules! not_offered {
    ( $( $name:ident )* ) => { $(
        #[unsafe(no_mangle)]
        pub unsafe extern "C" fn $name(instance: Component) -> c_int {
            // SAFETY: see the head of this file.
            unsafe { wrong_call(instance, concat!(stringify!($name), " is not offered by this unit")) }
        }
    )* };
}

not_offered! {
    fmi2SerializedFMUstateSize fmi2SerializeFMUstate fmi2DeSerializeFMUstate fmi2GetDirectionalDerivative
    fmi2SetRealInputDerivatives fmi2GetRealOutputDerivatives fmi2GetStatus fmi2GetIntegerStatus
    fmi2GetBooleanStatus fmi2GetStringStatus
}
