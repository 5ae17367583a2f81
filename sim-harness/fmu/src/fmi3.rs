//! The C functions of FMI 3.0 for co-simulation, by the names of the standard.
//!
//! Safety of all of them: pointers are what the standard says of them; an instance is used by one thread at a time.
#![allow(non_snake_case, clippy::missing_safety_doc, clippy::too_many_arguments)]

use crate::instance::{
    DISCARD, OK, forget, freed, instantiated, keep, put_back, read, text, with, write, wrong_call,
};
use couplet_sim::co_simulation::description::TIME_REFERENCE;
use std::ffi::{CStr, c_char, c_int, c_void};
use std::path::PathBuf;

type Component = *mut c_void;
type Logger = unsafe extern "C" fn(*mut c_void, c_int, *const c_char, *const c_char);

#[unsafe(no_mangle)]
pub extern "C" fn fmi3GetVersion() -> *const c_char {
    c"3.0".as_ptr()
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3InstantiateCoSimulation(
    _name: *const c_char,
    token: *const c_char,
    resources: *const c_char,
    _visible: bool,
    _logging: bool,
    events: bool,
    _early_return: bool,
    _intermediate: *const u32,
    intermediate_count: usize,
    environment: *mut c_void,
    logger: Option<Logger>,
    _intermediate_update: *const c_void,
) -> Component {
    // Neither events nor values between communication points are offered.
    if token.is_null() || events || intermediate_count > 0 {
        return std::ptr::null_mut();
    }
    // SAFETY: NULL or text by the standard.
    let (token, place) = unsafe { (text(token), text(resources)) };
    let log = Box::new(move |status: i32, message: &CStr| {
        if let Some(logger) = logger {
            // SAFETY: the importer's function, called as the standard says.
            unsafe { logger(environment, status, c"refusal".as_ptr(), message.as_ptr()) };
        }
    });
    let folder = (!place.is_empty()).then(|| PathBuf::from(place));
    instantiated(token, folder, log)
}

/// Neither model exchange nor scheduled execution is offered.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3InstantiateModelExchange() -> Component {
    std::ptr::null_mut()
}

/// See above.
#[unsafe(no_mangle)]
pub extern "C" fn fmi3InstantiateScheduledExecution() -> Component {
    std::ptr::null_mut()
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3FreeInstance(instance: Component) {
    // SAFETY: see the head of this file.
    unsafe { freed(instance) }
}

#[unsafe(no_mangle)]
pub extern "C" fn fmi3SetDebugLogging(
    _instance: Component,
    _on: bool,
    _count: usize,
    _categories: *const *const c_char,
) -> c_int {
    // Refusals are always told.
    OK
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3EnterInitializationMode(
    instance: Component,
    _tolerance_defined: bool,
    _tolerance: f64,
    start_s: f64,
    _stop_defined: bool,
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
pub unsafe extern "C" fn fmi3ExitInitializationMode(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { with(instance, |instance| instance.unit.start()) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3Terminate(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { with(instance, |_| Ok(())) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3Reset(instance: Component) -> c_int {
    // SAFETY: see the head of this file.
    unsafe {
        with(instance, |instance| {
            instance.unit = instance.fresh.clone();
            Ok(())
        })
    }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3GetFloat64(
    instance: Component,
    references: *const u32,
    count: usize,
    values: *mut f64,
    value_count: usize,
) -> c_int {
    if count != value_count {
        // SAFETY: see the head of this file.
        return unsafe { wrong_call(instance, "every variable of this unit is one number") };
    }
    // SAFETY: see the head of this file.
    unsafe { read(instance, references, count, values, Some(TIME_REFERENCE)) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3SetFloat64(
    instance: Component,
    references: *const u32,
    count: usize,
    values: *const f64,
    value_count: usize,
) -> c_int {
    if count != value_count {
        // SAFETY: see the head of this file.
        return unsafe { wrong_call(instance, "every variable of this unit is one number") };
    }
    // SAFETY: see the head of this file.
    unsafe { write(instance, references, count, values) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3DoStep(
    instance: Component,
    at_s: f64,
    step_s: f64,
    _no_set_prior: bool,
    events_needed: *mut bool,
    terminate: *mut bool,
    early_return: *mut bool,
    last_time_s: *mut f64,
) -> c_int {
    // SAFETY: see the head of this file.
    unsafe {
        let status = with(instance, |instance| instance.unit.step(at_s, step_s));
        if status == OK || status == DISCARD {
            for told in [events_needed, terminate, early_return] {
                if !told.is_null() {
                    *told = false;
                }
            }
            with(instance, |instance| {
                if !last_time_s.is_null() {
                    *last_time_s = instance.unit.time_s();
                }
                Ok(())
            });
        }
        status
    }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3GetFMUState(instance: Component, state: *mut *mut c_void) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { keep(instance, state) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3SetFMUState(instance: Component, state: *mut c_void) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { put_back(instance, state) }
}

#[unsafe(no_mangle)]
pub unsafe extern "C" fn fmi3FreeFMUState(instance: Component, state: *mut *mut c_void) -> c_int {
    // SAFETY: see the head of this file.
    unsafe { forget(instance, state) }
}

/// Functions of the standard for other types: they refuse, unless nothing is asked of them.
macro_rules! of_another_type {
    ( $( $name:ident )* ) => { $(
        #[unsafe(no_mangle)]
        pub unsafe extern "C" fn $name(
            instance: Component,
            _references: *const u32,
            count: usize,
        ) -> c_int {
            if count == 0 {
                return OK;
            }
            // SAFETY: see the head of this file.
            unsafe { wrong_call(instance, "every variable of this unit is a 64-bit number") }
        }
    )* };
}

of_another_type! {
    fmi3GetFloat32 fmi3GetInt8 fmi3GetUInt8 fmi3GetInt16 fmi3GetUInt16 fmi3GetInt32 fmi3GetUInt32 fmi3GetInt64 fmi3GetUInt64
    fmi3GetBoolean fmi3GetString fmi3GetBinary fmi3GetClock
    fmi3SetFloat32 fmi3SetInt8 fmi3SetUInt8 fmi3SetInt16 fmi3SetUInt16 fmi3SetInt32 fmi3SetUInt32 fmi3SetInt64 fmi3SetUInt64
    fmi3SetBoolean fmi3SetString fmi3SetBinary fmi3SetClock
}

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
    fmi3EnterConfigurationMode fmi3ExitConfigurationMode fmi3EnterEventMode fmi3EnterStepMode fmi3UpdateDiscreteStates
    fmi3EvaluateDiscreteStates fmi3GetNumberOfVariableDependencies fmi3GetVariableDependencies fmi3SerializedFMUStateSize
    fmi3SerializeFMUState fmi3DeserializeFMUState fmi3GetDirectionalDerivative fmi3GetAdjointDerivative fmi3GetIntervalDecimal
    fmi3GetIntervalFraction fmi3GetShiftDecimal fmi3GetShiftFraction fmi3SetIntervalDecimal fmi3SetIntervalFraction
    fmi3SetShiftDecimal fmi3SetShiftFraction fmi3GetOutputDerivatives fmi3ActivateModelPartition fmi3EnterContinuousTimeMode
    fmi3CompletedIntegratorStep fmi3SetTime fmi3SetContinuousStates fmi3GetContinuousStateDerivatives fmi3GetEventIndicators
    fmi3GetContinuousStates fmi3GetNominalsOfContinuousStates fmi3GetNumberOfEventIndicators fmi3GetNumberOfContinuousStates
}
