//! Makes the linker refuse undefined symbols, which shared libraries may have.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rustc-cdylib-link-arg=-Wl,-z,defs");
    // memcpy, memset and memcmp come from the C library; nothing else of it is used.
    println!("cargo:rustc-cdylib-link-arg=-lc");
}
