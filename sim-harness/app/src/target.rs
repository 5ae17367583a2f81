//! `couplet target`: what a step costs on the emulated microcontroller, beside its budgets.
//!
//! Runs `controller/firmware/measure` of the source tree, which builds the images, replays every sequence in the emulator and
//! compares each digest with this machine's, and prints its table. Missed: a digest that differs, or a check that stopped.

use std::path::Path;
use std::process::Command;

use crate::bench::Done;
use crate::failure::{Failure, Refusal};

/// Measures with `seeds` sequences of wild inputs.
///
/// # Errors
/// Not called in the source tree, or a tool is missing: the script then says which and how to get it.
pub fn target(firmware: &Path, seeds: u32) -> Result<Done, Failure> {
    let script = firmware.join("measure");
    let refused = |what: String, advice: &str| {
        Failure::Refused(vec![Refusal::on_command_line(
            what,
            "the folder controller/firmware of the source tree".into(),
            advice.into(),
        )])
    };
    if !script.is_file() {
        let what = format!("there is no {}", script.display());
        return Err(refused(
            what,
            "call it in the top folder of the source tree, or name the folder with --firmware",
        ));
    }
    let ran = Command::new("bash")
        .arg(&script)
        .args(["--seeds", &seeds.to_string()])
        .status()
        .map_err(|error| refused(format!("{}: {error}", script.display()), "install bash"))?;
    match ran.code() {
        Some(0) => Ok(Done {
            text: String::new(),
            missed: false,
        }),
        Some(2) => Err(refused(
            "something the measurement needs is missing (see above)".into(),
            "install what it names",
        )),
        _ => Ok(Done {
            text: "The measurement failed; see above.\n".into(),
            missed: true,
        }),
    }
}
