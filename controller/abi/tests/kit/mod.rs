//! Memory, drives and texts that the suites of the C border share.
#![allow(dead_code)]

use core::ffi::{CStr, c_char};
use core::mem::MaybeUninit;
use core::ptr;
use couplet_abi::couplet_status::COUPLET_OK;
use couplet_abi::shapes::*;
use couplet_abi::*;
use couplet_controller::signal::INPUT_SIGNALS;
use couplet_controller::{Inputs, Reading};

#[repr(C, align(16))]
pub struct Memory([MaybeUninit<u8>; COUPLET_MEMORY_BYTES]);

impl Memory {
    pub fn zeroed() -> Box<Self> {
        Box::new(Self([MaybeUninit::new(0); COUPLET_MEMORY_BYTES]))
    }

    pub fn law(&mut self) -> *mut couplet_law {
        ptr::from_mut(self).cast()
    }

    pub fn started() -> Box<Self> {
        let mut memory = Self::zeroed();
        let status = init(&mut memory, ptr::null(), ptr::null_mut());
        assert_eq!(status, COUPLET_OK);
        memory
    }
}

pub fn init(
    memory: &mut Memory,
    page: *const couplet_page,
    why: *mut couplet_refusal,
) -> couplet_status {
    // SAFETY: memory of the size said; page and refusal are NULL or lead to what they should.
    unsafe {
        couplet_init(
            memory.law(),
            COUPLET_MEMORY_BYTES,
            COUPLET_LAYOUT,
            page,
            5000,
            why,
        )
    }
}

pub fn page() -> couplet_page {
    let mut page = couplet_page::default();
    // SAFETY: a page of this function's own.
    assert_eq!(unsafe { couplet_page_default(&mut page) }, COUPLET_OK);
    page
}

/// Invented drive: faster and faster on a left-hand bend, pedal swinging; every 50th step the yaw rate is missing.
pub fn driven(step: u32) -> Inputs {
    let time_s = step as f32 * 0.005;
    let speed = 8.0 + time_s;
    let mut inputs = Inputs::default();
    for signal in INPUT_SIGNALS {
        let value = match signal.name {
            "wheel_speed_front_left" => speed / 0.32 - 0.4 + 0.02 * (step % 7) as f32,
            "wheel_speed_front_right" => speed / 0.32 + 0.4,
            "wheel_speed_rear_left" => speed / 0.32 - 0.3,
            "wheel_speed_rear_right" => speed / 0.32 + 0.3,
            "yaw_rate" => 0.25,
            "lateral_acceleration" => 0.25 * speed,
            "longitudinal_acceleration" => 1.0,
            "steering_wheel_angle" => 1.1,
            "accelerator_pedal" => 0.5 + 0.5 * (time_s * 2.0).sin(),
            "carrier_torque" | "carrier_torque_wanted" => 900.0,
            "gear" => 1.0,
            "ambient_temperature" => 20.0,
            "rear_torque_cap" => 20_000.0,
            "yaw_moment_cap" => 40_000.0,
            _ => 0.0,
        };
        let missing = signal.name == "yaw_rate" && step.is_multiple_of(50)
            || signal.name.starts_with("clutch_pressure");
        (signal.write)(
            &mut inputs,
            if missing {
                Reading::missing()
            } else {
                Reading::fresh(value)
            },
        );
    }
    inputs
}

pub fn stepped(memory: &mut Memory, inputs: &Inputs) -> couplet_outputs {
    let mut given = couplet_outputs::default();
    let told = couplet_inputs::of_law(inputs);
    // SAFETY: a started controller and structures of this function's own.
    let status = unsafe { couplet_step(memory.law(), &told, &mut given) };
    assert_eq!(status, COUPLET_OK);
    given
}

pub fn words(text: *const c_char) -> &'static str {
    assert!(!text.is_null());
    // SAFETY: texts of the library are static and end with a zero byte.
    unsafe { CStr::from_ptr(text) }
        .to_str()
        .expect("plain text")
}
