//! Linker script and memory of the machine the image is built for.

fn main() {
    let here = std::env::var("CARGO_MANIFEST_DIR").expect("set by cargo");
    let target = std::env::var("TARGET").expect("set by cargo");
    // A folder for each machine: a `memory.x` beside `Cargo.toml` would silently win over these.
    let memory = if target.starts_with("thumbv6m") {
        "m0"
    } else {
        "m4"
    };
    println!("cargo:rustc-link-search={here}/memory/{memory}");
    println!("cargo:rustc-link-arg=-Tlink.x");
    if std::env::var_os("CARGO_FEATURE_LOGGED").is_some() {
        println!("cargo:rustc-link-arg=-Tdefmt.x");
    }
    println!("cargo:rerun-if-changed=memory");
    println!("cargo:rerun-if-changed=build.rs");
}
