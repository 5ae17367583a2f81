//! Names, units and ranges of the signals; outputs and trace by number; faults and limits in words.

use core::ffi::{CStr, c_char};
use couplet_controller::TraceSignal;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};

use crate::border::{Outcome, couplet_law, place_for, seen, taken, told};
use crate::shapes::{
    FAULT_NAMES, INPUT_ROWS, LIMIT_NAMES, OUTPUT_ROWS, Row, TRACE_ROWS, couplet_inputs,
    couplet_outputs, couplet_reading,
};
use crate::status::{couplet_status, text};

/// One signal. The texts are static memory.
#[derive(Debug, Clone, Copy)]
#[repr(C)]
pub struct couplet_signal {
    /// Name.
    pub name: *const c_char,
    /// Unit, "-" for a pure number.
    pub unit: *const c_char,
    /// Meaning and sign; empty for the trace.
    pub meaning: *const c_char,
    /// Lowest value; for an input the lowest believable one. The trace has no ranges: -FLT_MAX.
    pub low: f32,
    /// Highest value; for an input the highest believable one. The trace has no ranges: FLT_MAX.
    pub high: f32,
    /// 1 for a code or a set of bits, a whole number; 0 for a quantity.
    pub whole: u32,
}

fn described(row: Option<&Row>, range: Option<(f32, f32, bool)>) -> Outcome<couplet_signal> {
    let (Some(row), Some((low, high, whole))) = (row, range) else {
        return Err(couplet_status::COUPLET_NO_SUCH_ENTRY);
    };
    Ok(couplet_signal {
        name: row.name.as_ptr(),
        unit: row.unit.as_ptr(),
        meaning: row.meaning.as_ptr(),
        low,
        high,
        whole: u32::from(whole),
    })
}

/// Describes the input of a number from 0 to `COUPLET_INPUTS` - 1, in the order of `couplet_inputs`.
///
/// # Safety
/// A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_input_signal(
    index: u32,
    signal: *mut couplet_signal,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(signal) }?;
        let known = INPUT_SIGNALS.get(index as usize);
        let range = known.map(|known| (known.low, known.high, false));
        place.write(described(INPUT_ROWS.get(index as usize), range)?);
        Ok(())
    })
}

/// Describes the output of a number from 0 to `COUPLET_OUTPUTS` - 1, in the order of `couplet_outputs`.
///
/// # Safety
/// A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_output_signal(
    index: u32,
    signal: *mut couplet_signal,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(signal) }?;
        let known = OUTPUT_SIGNALS.get(index as usize);
        let range = known.map(|known| (known.low, known.high, known.whole));
        place.write(described(OUTPUT_ROWS.get(index as usize), range)?);
        Ok(())
    })
}

/// Describes the finding of a number from 0 to `COUPLET_TRACE` - 1.
///
/// # Safety
/// A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_trace_signal(
    index: u32,
    signal: *mut couplet_signal,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(signal) }?;
        let known = TraceSignal::<f32>::ALL.get(index as usize);
        let range = known.map(|_| (f32::MIN, f32::MAX, false));
        place.write(described(TRACE_ROWS.get(index as usize), range)?);
        Ok(())
    })
}

/// Sets one input by its number.
///
/// # Safety
/// A pointer that is not NULL must lead to inputs that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_input_set(
    inputs: *mut couplet_inputs,
    index: u32,
    reading: couplet_reading,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; inputs hold for every bit pattern.
        let mut told_inputs = unsafe { taken(inputs) }?.to_law();
        let signal = INPUT_SIGNALS
            .get(index as usize)
            .ok_or(couplet_status::COUPLET_NO_SUCH_ENTRY)?;
        (signal.write)(&mut told_inputs, reading.to_law());
        // SAFETY: the caller's promise.
        unsafe { place_for(inputs) }?.write(couplet_inputs::of_law(&told_inputs));
        Ok(())
    })
}

/// Reads one output by its number; a code comes as the whole number it is.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_output_get(
    outputs: *const couplet_outputs,
    index: u32,
    value: *mut f32,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; outputs hold for every bit pattern.
        let outputs = unsafe { taken(outputs) }?;
        // SAFETY: the caller's promise.
        let place = unsafe { place_for(value) }?;
        let numbers = outputs.numbers();
        let number = numbers
            .get(index as usize)
            .ok_or(couplet_status::COUPLET_NO_SUCH_ENTRY)?;
        place.write(*number);
        Ok(())
    })
}

/// Gives what every stage found in the last step, in the order of `couplet_trace_signal`. `values`: `COUPLET_TRACE` numbers;
/// `count`: how many there is room for.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_trace(
    controller: *const couplet_law,
    values: *mut f32,
    count: usize,
) -> couplet_status {
    const COUNT: usize = TraceSignal::<f32>::ALL.len();
    told(|| {
        // SAFETY: the caller's promise; only written as far as the size says.
        let place = unsafe { place_for(values.cast::<[f32; COUNT]>()) }?;
        if count < COUNT {
            return Err(couplet_status::COUPLET_WRONG_SIZE);
        }
        // SAFETY: the caller's promise.
        let found = unsafe {
            seen(controller, |law| {
                let mut found = [0.0_f32; COUNT];
                for (value, signal) in found.iter_mut().zip(TraceSignal::<f32>::ALL) {
                    *value = (signal.read)(law.trace());
                }
                Ok(found)
            })
        }?;
        place.write(found);
        Ok(())
    })
}

fn named(names: &'static [&'static CStr], number: u32) -> *const c_char {
    text(names.get(number as usize).copied())
}

/// The name of a fault by its bit, 0 to 31, in static memory; NULL if there is none. `faults_low` holds bits 0 to 15, `faults_high`
/// bits 16 to 31.
#[unsafe(no_mangle)]
pub extern "C" fn couplet_fault_name(bit: u32) -> *const c_char {
    named(FAULT_NAMES, bit)
}

/// The name of what bound a torque, by the number in `limit_left`, `limit_right`, `heat_limit_left` or `heat_limit_right`, in static
/// memory; NULL if there is none.
#[unsafe(no_mangle)]
pub extern "C" fn couplet_limit_name(number: u32) -> *const c_char {
    named(LIMIT_NAMES, number)
}
