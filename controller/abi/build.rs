//! Arguments of the linker for the shared library: its object name, and no symbol left open when the proof is asked for.
//!
//! A shared library may otherwise leave the symbol of the panic handler open, and the proof would prove nothing.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_OS").as_deref() == Ok("linux") {
        println!("cargo:rustc-cdylib-link-arg=-Wl,-soname,libcouplet_abi.so");
        if std::env::var_os("CARGO_FEATURE_PROOF").is_some() {
            // The C library has `memcpy` and its kind, which are the only ones that may stay open.
            println!("cargo:rustc-cdylib-link-arg=-Wl,-z,defs");
            println!("cargo:rustc-cdylib-link-arg=-lc");
        }
    }
}
