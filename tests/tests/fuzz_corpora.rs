//! What the search guided by coverage kept, replayed; `.ci/fuzz` makes it.
//!
//! Each file of `tests/fuzz/corpus` holds the inputs that reached new code of one target of `couplet_tests::hostile`, each with its
//! length before it (four bytes, little endian). A finding of the search gets a test of its own besides.

use std::fs;
use std::path::Path;

use couplet_tests::hostile::TARGETS;

/// The inputs of a packed file.
fn unpacked(mut bytes: &[u8]) -> Vec<&[u8]> {
    let mut inputs = Vec::new();
    while let Some((length, rest)) = bytes.split_first_chunk::<4>() {
        let (input, rest) = rest.split_at(u32::from_le_bytes(*length) as usize);
        inputs.push(input);
        bytes = rest;
    }
    assert!(bytes.is_empty(), "a packed file that is cut short");
    inputs
}

#[test]
fn every_kept_input_of_every_target_keeps_every_promise() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus");
    for (name, target) in TARGETS {
        let file = root.join(format!("{name}.pack"));
        let packed = fs::read(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        let inputs = unpacked(&packed);
        for input in &inputs {
            target(input);
        }
        println!("{name}: {} kept inputs", inputs.len());
        assert!(
            inputs.len() >= 20,
            "{name}: only {} inputs are kept",
            inputs.len()
        );
    }
}

#[test]
fn every_target_takes_any_length_of_one_byte_repeated() {
    for (_, target) in TARGETS {
        for length in [0, 1, 7, 64, 1_000, 3_000] {
            for fill in [0, 0xff, 0xa5] {
                target(&vec![fill; length]);
            }
        }
    }
}
