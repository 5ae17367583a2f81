//! The processor's own square root, where safe code cannot ask for it.
//!
//! In: a number. Out: its root, rounded correctly as the standard for floating-point numbers (IEEE 754) demands, so the same bits as every
//! other machine gives. A processor of the Arm family with floating-point registers has the instruction; the core library offers it to no
//! stable program without the standard library. One instruction stands here and nothing else, so that the control law itself stays
//! free of unsafe code. Limits: nothing on other processors, where the law does not depend on this.
#![no_std]

/// The root of a number; no number for a negative one.
#[cfg(all(target_arch = "arm", target_abi = "eabihf"))]
#[inline(always)]
pub fn square_root(value: f32) -> f32 {
    let root: u32;
    // Through whole-number registers: the compiler lends floating-point ones to no stable program on a unit of single precision alone.
    // SAFETY: reads and writes the registers named, and gives the borrowed one back; the ABI named above has registers of this kind.
    unsafe {
        core::arch::asm!(
            "vmov {kept}, s0",
            "vmov s0, {value}",
            "vsqrt.f32 s0, s0",
            "vmov {value}, s0",
            "vmov s0, {kept}",
            value = inlateout(reg) value.to_bits() => root,
            kept = out(reg) _,
            options(pure, nomem, nostack, preserves_flags),
        );
    }
    f32::from_bits(root)
}
