//! `couplet`: the command line of the proof bench.
//!
//! Without arguments it drives the demo programme and reports every requirement; `prove` does the same and fails if one is
//! missed; `drive` runs one scenario file; `template` prints a complete commented file. Order of work: read and check all input, run everything, then write;
//! refused input (exit status 2) never touches earlier results. Missed requirements are reported, not punished: the
//! status is 0 when the programme ran.
#![forbid(unsafe_code)]

mod arithmetic;
mod bench;
mod bus;
mod campaign;
mod command_line;
mod correlate;
mod envelope;
mod export;
mod failure;
mod faults;
mod files;
mod fit_heat;
mod fmu;
mod held_out;
mod hunt;
mod kept;
mod laws;
mod life;
mod logs;
mod margins;
mod measurement;
mod output;
mod parallel;
mod replay;
mod report;
mod target;
mod why;

use std::io::Write;
use std::process::ExitCode;

use clap::Parser;

use command_line::CommandLine;
use failure::Failure;

fn main() -> ExitCode {
    let said = bench::carry_out(&CommandLine::parse()).and_then(|done| {
        say(&done.text)?;
        Ok(done.missed)
    });
    match said {
        Ok(false) => ExitCode::SUCCESS,
        Ok(true) => ExitCode::from(1),
        Err(failure) => {
            eprintln!("{failure}");
            ExitCode::from(failure.status())
        }
    }
}

/// Prints to standard output; a reader that went away (`couplet | head`) is not an error.
fn say(text: &str) -> Result<(), Failure> {
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(Failure::Write {
            path: "standard output".into(),
            error,
        }),
        _ => Ok(()),
    }
}
