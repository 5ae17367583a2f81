//! Every function of the C border with every wrong pointer, size and number: a status, never a crash, and nothing changed.

mod kit;

use core::mem::MaybeUninit;
use core::ptr;
use couplet_abi::couplet_status::*;
use couplet_abi::shapes::*;
use couplet_abi::*;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS, Status};
use couplet_controller::{Inputs, Reading};
use kit::*;

#[test]
fn every_wrong_argument_is_told_and_nothing_crashes() {
    let mut memory = Memory::started();
    let law = memory.law();
    let mut zeros = Memory::zeroed();
    let inputs = couplet_inputs::default();
    let mut outputs = couplet_outputs::default();
    let mut page = page();
    let mut number = 0_u32;
    let mut value = 0.0_f32;
    let mut record = [0_u8; COUPLET_RECORD_BYTES as usize];
    let size = record.len();
    let bytes = record.as_mut_ptr();
    let odd = |pointer: *mut couplet_law| pointer.wrapping_byte_add(4);
    // SAFETY: every pointer is NULL, misaligned (never read then) or leads to memory of this test's own, as large as said.
    unsafe {
        let start = |memory, bytes, layout, page, period| {
            couplet_init(memory, bytes, layout, page, period, ptr::null_mut())
        };
        let none = ptr::null();
        let whole = COUPLET_MEMORY_BYTES;
        assert_eq!(
            start(ptr::null_mut(), whole, COUPLET_LAYOUT, none, 5000),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            start(odd(law), whole, COUPLET_LAYOUT, none, 5000),
            COUPLET_MISALIGNED
        );
        assert_eq!(
            start(law, couplet_size() - 1, COUPLET_LAYOUT, none, 5000),
            COUPLET_WRONG_SIZE
        );
        assert_eq!(
            start(law, whole, COUPLET_LAYOUT ^ 1, none, 5000),
            COUPLET_OTHER_HEADER
        );
        assert_eq!(start(law, whole, COUPLET_LAYOUT, none, 999), COUPLET_PERIOD);
        assert_eq!(
            start(law, whole, COUPLET_LAYOUT, none, 20_001),
            COUPLET_PERIOD
        );
        let odd_page = ptr::from_ref(&page).wrapping_byte_add(1);
        assert_eq!(
            start(law, whole, COUPLET_LAYOUT, odd_page, 5000),
            COUPLET_MISALIGNED
        );

        let step = |law, inputs, outputs| couplet_step(law, inputs, outputs);
        assert_eq!(
            step(ptr::null_mut(), &inputs, &mut outputs),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(step(law, none.cast(), &mut outputs), COUPLET_NULL_ARGUMENT);
        assert_eq!(step(law, &inputs, ptr::null_mut()), COUPLET_NULL_ARGUMENT);
        assert_eq!(step(odd(law), &inputs, &mut outputs), COUPLET_MISALIGNED);
        assert_eq!(
            step(
                law,
                ptr::from_ref(&inputs).wrapping_byte_add(2),
                &mut outputs
            ),
            COUPLET_MISALIGNED
        );
        assert_eq!(
            step(
                law,
                &inputs,
                ptr::from_mut(&mut outputs).wrapping_byte_add(2)
            ),
            COUPLET_MISALIGNED
        );
        assert_eq!(
            step(zeros.law(), &inputs, &mut outputs),
            COUPLET_NO_CONTROLLER
        );
        assert_eq!(step(law, &inputs, law.cast()), COUPLET_OVERLAP);
        assert_eq!(
            outputs,
            couplet_outputs::default(),
            "a refused step writes nothing"
        );
        assert_eq!(step(law, &inputs, &mut outputs), COUPLET_OK);

        assert_eq!(
            couplet_copy(zeros.law(), couplet_size() - 1, law),
            COUPLET_WRONG_SIZE
        );
        assert_eq!(couplet_copy(law, whole, law), COUPLET_OVERLAP);
        assert_eq!(couplet_copy(law, whole, zeros.law()), COUPLET_NO_CONTROLLER);
        assert_eq!(
            couplet_copy(ptr::null_mut(), whole, law),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_copy(zeros.law(), whole, none.cast()),
            COUPLET_NULL_ARGUMENT
        );
        for degc in [f32::NAN, f32::INFINITY, -61.0, 301.0] {
            assert_eq!(couplet_set_temperature(law, degc), COUPLET_NOT_A_NUMBER);
        }

        assert_eq!(couplet_page_default(ptr::null_mut()), COUPLET_NULL_ARGUMENT);
        assert_eq!(
            couplet_page_take(law, none, ptr::null_mut()),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_page_take(zeros.law(), &page, ptr::null_mut()),
            COUPLET_NO_CONTROLLER
        );
        assert_eq!(
            couplet_page_check(none, ptr::null_mut()),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_page_in_force(none.cast(), &mut page),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_page_find(none.cast(), &mut number),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_page_find(c"setting.agility".as_ptr(), ptr::null_mut()),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_page_get(&page, COUPLET_PAGE_ENTRIES, &mut value),
            COUPLET_NO_SUCH_ENTRY
        );
        assert_eq!(
            couplet_page_set(&mut page, u32::MAX, 0.0),
            COUPLET_NO_SUCH_ENTRY
        );
        assert_eq!(
            couplet_page_entry(COUPLET_PAGE_ENTRIES, ptr::null_mut()),
            COUPLET_NULL_ARGUMENT
        );

        assert_eq!(
            couplet_keep(law, 1, 0, 0, bytes, size - 1),
            COUPLET_WRONG_SIZE
        );
        assert_eq!(
            couplet_keep(law, 1, 0, 0, ptr::null_mut(), size),
            COUPLET_NULL_ARGUMENT
        );
        assert_eq!(
            couplet_keep(law, 1, 0, 0, law.cast(), size),
            COUPLET_OVERLAP
        );
        let wake = |bytes, size, degc| {
            couplet_wake(law, bytes, bytes, size, ptr::null(), degc, ptr::null_mut())
        };
        assert_eq!(wake(ptr::null(), size, 20.0), COUPLET_NULL_ARGUMENT);
        assert_eq!(wake(bytes, size + 1, 20.0), COUPLET_WRONG_SIZE);
        assert_eq!(wake(bytes, size, f32::NAN), COUPLET_NOT_A_NUMBER);
        assert_eq!(
            couplet_next_slot(bytes, bytes, size, ptr::null_mut()),
            COUPLET_NULL_ARGUMENT
        );

        assert_eq!(
            couplet_input_signal(COUPLET_INPUTS, ptr::null_mut()),
            COUPLET_NULL_ARGUMENT
        );
        let mut signal = MaybeUninit::uninit();
        assert_eq!(
            couplet_input_signal(COUPLET_INPUTS, signal.as_mut_ptr()),
            COUPLET_NO_SUCH_ENTRY
        );
        assert_eq!(
            couplet_output_signal(COUPLET_OUTPUTS, signal.as_mut_ptr()),
            COUPLET_NO_SUCH_ENTRY
        );
        assert_eq!(
            couplet_trace_signal(COUPLET_TRACE, signal.as_mut_ptr()),
            COUPLET_NO_SUCH_ENTRY
        );
        assert_eq!(
            couplet_output_get(&outputs, COUPLET_OUTPUTS, &mut value),
            COUPLET_NO_SUCH_ENTRY
        );
        assert_eq!(couplet_trace(law, &mut value, 1), COUPLET_WRONG_SIZE);
    }
    assert!(couplet_fault_name(31).is_null() && couplet_limit_name(255).is_null());
    assert_eq!(words(couplet_fault_name(4)), "yaw rate");
    assert_eq!(words(couplet_limit_name(18)), "brake control");
    assert_eq!(words(couplet_status_text(99)), "unknown status");
}

#[test]
fn wild_bits_in_inputs_and_pages_are_data_not_crashes() {
    // A generator of bits that needs no library: xorshift64, Marsaglia 2003, shifts 13, 7, 17.
    let mut seed = 0x9e37_79b9_7f4a_7c15_u64;
    let mut bits = || {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        (seed >> 32) as u32
    };
    let mut memory = Memory::started();
    for _ in 0..20_000 {
        let mut inputs = Inputs::default();
        for signal in INPUT_SIGNALS {
            let stamp = bits();
            let reading = Reading {
                value: f32::from_bits(bits()),
                age_ms: stamp as u16,
                status: Status((stamp >> 16) as u16 % 3),
            };
            (signal.write)(&mut inputs, reading);
        }
        let given = stepped(&mut memory, &inputs);
        for (number, signal) in given.numbers().iter().zip(OUTPUT_SIGNALS) {
            assert!(
                signal.low <= *number && *number <= signal.high,
                "{} {number}",
                signal.name
            );
        }
    }
    for _ in 0..2000 {
        let mut wild = page();
        let index = bits() % COUPLET_PAGE_ENTRIES;
        // SAFETY: a started controller and a page of this test's own.
        unsafe {
            assert_eq!(
                couplet_page_set(&mut wild, index, f32::from_bits(bits())),
                COUPLET_OK
            );
            couplet_page_take(memory.law(), &wild, ptr::null_mut());
        }
        stepped(&mut memory, &driven(index));
    }
}
