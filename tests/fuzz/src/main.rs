//! One program for every target; COUPLET_FUZZ_TARGET names it. Built with the flags in `.ci/fuzz`.
#![no_main]

use std::sync::OnceLock;

use couplet_tests::hostile::TARGETS;
use libfuzzer_sys::fuzz_target;

static CHOSEN: OnceLock<fn(&[u8])> = OnceLock::new();

fuzz_target!(|data: &[u8]| {
    let chosen = CHOSEN.get_or_init(|| {
        let asked = std::env::var("COUPLET_FUZZ_TARGET").unwrap_or_default();
        TARGETS
            .iter()
            .find(|(name, _)| *name == asked)
            .map(|(_, target)| *target)
            .unwrap_or_else(|| panic!("COUPLET_FUZZ_TARGET names no target: `{asked}`"))
    });
    chosen(data);
});
