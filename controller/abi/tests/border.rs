//! Promises of the C border, asked from Rust: the law's own bits, pages and copies, refusals with reasons.
//!
//! The same library is judged from C by `tests/interop/c`.

mod kit;

use core::mem::{MaybeUninit, size_of};
use core::ptr;
use couplet_abi::couplet_status::*;
use couplet_abi::shapes::*;
use couplet_abi::*;
use couplet_controller::calibration::ENTRIES;
use couplet_controller::calibration::rules::RULES;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};
use couplet_controller::{Controller, Inputs, Outputs, Period, RawPage, TraceSignal};
use kit::*;

fn bits(outputs: &Outputs) -> Vec<u32> {
    OUTPUT_SIGNALS
        .iter()
        .map(|signal| (signal.read)(outputs).to_bits())
        .collect()
}

#[test]
fn the_structures_have_the_memory_of_the_laws_own() {
    // What a calibration or measurement program finds by address is what the tables say.
    assert_eq!(size_of::<couplet_page>(), size_of::<RawPage>());
    assert_eq!(size_of::<couplet_inputs>(), size_of::<Inputs>());
    assert_eq!(size_of::<couplet_inputs>(), 8 * INPUT_SIGNALS.len());
    assert_eq!(size_of::<couplet_outputs>(), 4 * OUTPUT_SIGNALS.len());
    let mut page = page();
    for (index, entry) in ENTRIES.iter().enumerate() {
        // SAFETY: one of the page's numbers, which follow two words.
        let found = unsafe { ptr::from_ref(&page).cast::<f32>().add(2 + index).read() };
        assert_eq!(found, entry.default, "{}.{}", entry.group, entry.name);
    }
    page.setting_agility = 0.25;
    assert_eq!(page.to_law().tunables.setting.agility, 0.25);
    assert_eq!(couplet_page::of_law(&page.to_law()), page);
}

#[test]
fn a_step_through_the_border_gives_the_laws_bits() {
    let mut memory = Memory::started();
    let mut law: Controller<f32> =
        Controller::new(&RawPage::default(), Period::default()).expect("default");
    for step in 0..3000 {
        let inputs = driven(step);
        let given = stepped(&mut memory, &inputs);
        let expected = bits(&law.step(&inputs));
        let found: Vec<u32> = given
            .numbers()
            .iter()
            .map(|number| number.to_bits())
            .collect();
        assert_eq!(found, expected, "step {step}");
    }
    let mut trace = [0.0_f32; COUPLET_TRACE as usize];
    // SAFETY: as many numbers as said.
    assert_eq!(
        unsafe { couplet_trace(memory.law(), trace.as_mut_ptr(), trace.len()) },
        COUPLET_OK
    );
    for (found, signal) in trace.iter().zip(TraceSignal::<f32>::ALL) {
        assert_eq!(
            found.to_bits(),
            (signal.read)(law.trace()).to_bits(),
            "{}",
            signal.name
        );
    }
    assert!(trace.iter().any(|number| *number != 0.0));
}

#[test]
fn a_copy_goes_on_like_the_original() {
    let mut memory = Memory::started();
    for step in 0..500 {
        stepped(&mut memory, &driven(step));
    }
    let mut other = Memory::zeroed();
    // SAFETY: two memories of this test's own.
    let copied = unsafe { couplet_copy(other.law(), COUPLET_MEMORY_BYTES, memory.law()) };
    assert_eq!(copied, COUPLET_OK);
    for step in 500..1000 {
        assert_eq!(
            stepped(&mut memory, &driven(step)),
            stepped(&mut other, &driven(step))
        );
    }
}

#[test]
fn a_page_is_taken_whole_or_refused_with_its_reason() {
    let mut memory = Memory::started();
    let mut why = MaybeUninit::<couplet_refusal>::uninit();
    let mut take = |page: &couplet_page| {
        // SAFETY: a started controller and structures of this test's own; a refusal is written whenever a page was looked at.
        unsafe {
            let status = couplet_page_take(memory.law(), page, why.as_mut_ptr());
            assert_eq!(couplet_page_check(page, ptr::null_mut()), status);
            let mut in_force = couplet_page::default();
            assert_eq!(
                couplet_page_in_force(memory.law(), &mut in_force),
                COUPLET_OK
            );
            (status, why.assume_init(), in_force)
        }
    };
    let mut page = page();
    page.setting_agility = 1.5;
    page.setting_steadiness = 0.75;
    let (status, why, in_force) = take(&page);
    assert_eq!(
        (status, why.status),
        (COUPLET_PAGE_OUT_OF_RANGE, COUPLET_PAGE_OUT_OF_RANGE as u32)
    );
    assert_eq!(
        (why.index, why.value, why.low, why.high),
        (0, 1.5, 0.0, 1.0)
    );
    assert_eq!(words(why.name), "setting.agility");
    assert_eq!(
        in_force.setting_steadiness, 0.5,
        "nothing of a refused page is taken"
    );
    page.setting_agility = f32::NAN;
    assert_eq!(take(&page).0, COUPLET_PAGE_OUT_OF_RANGE);
    page.setting_agility = 1.0;
    let (status, why, in_force) = take(&page);
    assert_eq!((status, why.status), (COUPLET_OK, COUPLET_OK as u32));
    assert_eq!(
        (in_force.setting_agility, in_force.setting_steadiness),
        (1.0, 0.75)
    );

    let contradicting = couplet_page {
        vehicle_front_axle_to_cg_m: 2.9,
        ..page
    };
    let (status, why, _) = take(&contradicting);
    assert_eq!(status, COUPLET_PAGE_CONTRADICTION);
    assert_eq!(words(why.message), RULES[0].message);
    assert_eq!(
        words(why.name),
        "vehicle.front_axle_to_cg_m, vehicle.wheelbase_m"
    );
    let (status, why, _) = take(&couplet_page { layout: 3, ..page });
    assert_eq!((status, why.index), (COUPLET_PAGE_OTHER_LAYOUT, 3));
    let (status, why, _) = take(&couplet_page {
        entries: 12,
        ..page
    });
    assert_eq!((status, why.index), (COUPLET_PAGE_OTHER_COUNT, 12));

    // The same at the start, where the memory then stays as it was.
    let mut fresh = Memory::zeroed();
    let mut why = MaybeUninit::<couplet_refusal>::uninit();
    assert_eq!(
        init(&mut fresh, &contradicting, why.as_mut_ptr()),
        COUPLET_PAGE_CONTRADICTION
    );
    // SAFETY: written above.
    assert_eq!(
        words(unsafe { why.assume_init() }.message),
        RULES[0].message
    );
    // SAFETY: memory of zeros holds no controller, and that is found.
    assert_eq!(
        unsafe { couplet_set_temperature(fresh.law(), 20.0) },
        COUPLET_NO_CONTROLLER
    );
}

#[test]
fn numbers_of_a_page_are_reached_by_name_and_index() {
    let mut page = page();
    for (index, entry) in ENTRIES.iter().enumerate() {
        let name = format!("{}.{}\0", entry.group, entry.name);
        let (mut found, mut value) = (u32::MAX, f32::NAN);
        let mut described = MaybeUninit::<couplet_entry>::uninit();
        // SAFETY: structures and text of this test's own.
        unsafe {
            assert_eq!(
                couplet_page_find(name.as_ptr().cast(), &mut found),
                COUPLET_OK,
                "{name}"
            );
            assert_eq!(found as usize, index);
            assert_eq!(
                couplet_page_entry(found, described.as_mut_ptr()),
                COUPLET_OK
            );
            let described = described.assume_init();
            assert_eq!(words(described.unit), entry.unit);
            assert_eq!(
                (described.low, described.high, described.normal),
                (entry.low, entry.high, entry.default)
            );
            assert_eq!(couplet_page_set(&mut page, found, entry.high), COUPLET_OK);
            assert_eq!(couplet_page_get(&page, found, &mut value), COUPLET_OK);
        }
        assert_eq!(value, entry.high, "{name}");
        assert_eq!((entry.read)(&page.to_law().tunables), entry.high);
    }
    let mut found = 7;
    for name in [
        c"",
        c"setting",
        c"setting.agilit",
        c"setting.agility ",
        c"setting.agilityy",
    ] {
        // SAFETY: text of this test's own.
        let status = unsafe { couplet_page_find(name.as_ptr(), &mut found) };
        assert_eq!((status, found), (COUPLET_NO_SUCH_ENTRY, 7), "{name:?}");
    }
}

#[test]
fn what_survives_key_off_survives_the_border() {
    let mut memory = Memory::started();
    let mut law: Controller<f32> =
        Controller::new(&RawPage::default(), Period::default()).expect("default");
    for step in 0..2000 {
        stepped(&mut memory, &driven(step));
        law.step(&driven(step));
    }
    let mut slots = [[0_u8; COUPLET_RECORD_BYTES as usize]; 2];
    let size = slots[0].len();
    let mut woken = couplet_woken {
        slot: 9,
        heat: 9,
        gap: 9,
    };
    let mut next = 0;
    // SAFETY: a started controller and memory of this test's own.
    unsafe {
        assert_eq!(
            couplet_keep(memory.law(), 6, 900, 0, slots[0].as_mut_ptr(), size),
            COUPLET_OK
        );
        assert_eq!(
            couplet_keep(memory.law(), 7, 1000, 0, slots[1].as_mut_ptr(), size),
            COUPLET_OK
        );
        assert_eq!(slots[1], law.snapshot(7, 1000).encode());
        assert_eq!(
            couplet_next_slot(slots[0].as_ptr(), slots[1].as_ptr(), size, &mut next),
            COUPLET_OK
        );
        assert_eq!(next, 1);
        let now_s = 1600;
        let status = couplet_wake(
            memory.law(),
            slots[0].as_ptr(),
            slots[1].as_ptr(),
            size,
            &now_s,
            15.0,
            &mut woken,
        );
        assert_eq!(status, COUPLET_OK);
        assert_eq!(
            woken,
            couplet_woken {
                slot: 2,
                heat: 0,
                gap: 0
            }
        );
        law.wake_from(&slots[0], &slots[1], Some(now_s), 15.0);
        let (found, expected) = (stepped(&mut memory, &driven(0)), law.step(&driven(0)));
        assert_eq!(found, couplet_outputs::of_law(&expected));

        slots[1][40] ^= 1;
        let status = couplet_wake(
            memory.law(),
            slots[0].as_ptr(),
            slots[1].as_ptr(),
            size,
            ptr::null(),
            15.0,
            &mut woken,
        );
        assert_eq!(status, COUPLET_OK);
        assert_eq!(
            woken,
            couplet_woken {
                slot: 1,
                heat: 2,
                gap: 4
            }
        );
        assert_eq!(couplet_renewed(memory.law(), 3), COUPLET_OK);
        assert_eq!(couplet_renewed(memory.law(), 4), COUPLET_NO_SUCH_ENTRY);
    }
}
