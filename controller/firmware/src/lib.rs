//! What both images share: the marked step, the host behind the emulator, the sequence file, the painted stack.
#![no_std]

pub mod host;
pub mod sequence;
pub mod stack;

use couplet_controller::{Controller, Inputs, Outputs};

/// One step of the law between the two marks.
#[inline(never)]
pub fn step(controller: &mut Controller<f32>, inputs: &Inputs) -> Outputs {
    couplet_step_begins();
    let outputs = controller.step(inputs);
    couplet_step_ends();
    outputs
}

/// Where the counter of instructions begins. The two marks have different bodies, or the linker would make them one.
// SAFETY: the exported name is this package's own and unique.
#[unsafe(no_mangle)]
#[inline(never)]
pub extern "C" fn couplet_step_begins() {
    cortex_m::asm::nop();
    // The compiler may not carry work of the step over the mark.
    core::sync::atomic::compiler_fence(core::sync::atomic::Ordering::SeqCst);
}

/// Where it ends.
// SAFETY: as above.
#[unsafe(no_mangle)]
#[inline(never)]
pub extern "C" fn couplet_step_ends() {
    cortex_m::asm::nop();
    cortex_m::asm::nop();
    core::sync::atomic::compiler_fence(core::sync::atomic::Ordering::SeqCst);
}

/// Running digest of output bits: FNV-1a over 32-bit words, public domain algorithm, from memory. Equal to the harness's.
pub struct Digest(pub u64);

impl Digest {
    /// Before the first word.
    #[allow(clippy::new_without_default)]
    pub fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    /// Takes one word.
    pub fn fold(&mut self, bits: u32) {
        self.0 = (self.0 ^ u64::from(bits)).wrapping_mul(0x0000_0100_0000_01b3);
    }
}

/// A short line of text made without the formatting machinery, which would outweigh the law.
pub struct Line {
    bytes: [u8; 64],
    used: usize,
}

impl Line {
    /// An empty line.
    #[allow(clippy::new_without_default)]
    pub fn new() -> Self {
        Self {
            bytes: [0; 64],
            used: 0,
        }
    }

    /// Appends text; what does not fit is left out.
    pub fn text(&mut self, text: &str) {
        for byte in text.bytes() {
            self.byte(byte);
        }
    }

    /// Appends a decimal number.
    pub fn decimal(&mut self, number: u32) {
        let mut power = 1_000_000_000_u32;
        let mut begun = false;
        while power > 0 {
            let digit = (number / power % 10) as u8;
            begun |= digit > 0 || power == 1;
            if begun {
                self.byte(b'0' + digit);
            }
            power /= 10;
        }
    }

    /// Appends sixteen hexadecimal digits.
    pub fn hexadecimal(&mut self, number: u64) {
        for place in (0..16).rev() {
            let digit = (number >> (4 * place)) as u8 & 0xf;
            self.byte(if digit < 10 {
                b'0' + digit
            } else {
                b'a' + digit - 10
            });
        }
    }

    /// Prints the line on the host's console.
    pub fn print(&mut self) {
        self.byte(b'\n');
        if let Some(text) = self.bytes.get(..self.used) {
            host::print_bytes(text);
        }
    }

    fn byte(&mut self, byte: u8) {
        if let Some(place) = self.bytes.get_mut(self.used) {
            *place = byte;
            self.used += 1;
        }
    }
}

#[cfg(not(any(feature = "checked", feature = "logged")))]
mod last {
    // SAFETY: never called in an image that exists: while it is called, the link fails.
    unsafe extern "C" {
        fn couplet_panic_path_remains() -> !;
    }

    #[panic_handler]
    fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
        // SAFETY: see the declaration.
        unsafe { couplet_panic_path_remains() }
    }
}

// The logger of the second image may panic; the law in it is the same.
#[cfg(any(feature = "checked", feature = "logged"))]
mod last {
    #[panic_handler]
    fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
        crate::host::print("a check failed: panic\n");
        crate::host::exit(1)
    }
}

/// Copies of whole words, as a control unit's own library has them: eight at a time. The core library's own copy takes five instructions a word.
#[cfg(target_abi = "eabihf")]
mod copies {
    core::arch::global_asm!(
        ".thumb",
        ".syntax unified",
        ".section .text.__aeabi_memcpy4,\"ax\",%progbits",
        ".global __aeabi_memcpy4",
        ".global __aeabi_memcpy8",
        ".type __aeabi_memcpy4,%function",
        ".type __aeabi_memcpy8,%function",
        ".thumb_func",
        "__aeabi_memcpy4:",
        ".thumb_func",
        "__aeabi_memcpy8:",
        "push {{r4-r10, lr}}",
        "subs r2, r2, #32",
        "blo 2f",
        "1:",
        "ldm r1!, {{r3-r10}}",
        "stm r0!, {{r3-r10}}",
        "subs r2, r2, #32",
        "bhs 1b",
        "2:",
        "adds r2, r2, #28",
        "bmi 4f",
        "3:",
        "ldr r3, [r1], #4",
        "str r3, [r0], #4",
        "subs r2, r2, #4",
        "bpl 3b",
        "4:",
        "adds r2, r2, #4",
        "beq 6f",
        "5:",
        "ldrb r3, [r1], #1",
        "strb r3, [r0], #1",
        "subs r2, r2, #1",
        "bne 5b",
        "6:",
        "pop {{r4-r10, pc}}",
    );
}
