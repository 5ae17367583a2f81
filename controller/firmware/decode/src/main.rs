//! Decodes deferred log frames: `couplet-decode IMAGE < FRAMES`, one line of text per frame.
#![forbid(unsafe_code)]

use std::io::Read;
use std::process::ExitCode;

use defmt_decoder::{DecodeError, Table};

fn main() -> ExitCode {
    match decode() {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("couplet-decode: {why}");
            ExitCode::from(2)
        }
    }
}

fn decode() -> Result<(), String> {
    let image = std::env::args()
        .nth(1)
        .ok_or("usage: couplet-decode IMAGE < FRAMES")?;
    let bytes = std::fs::read(&image).map_err(|error| format!("{image}: {error}"))?;
    let table = Table::parse(&bytes)
        .map_err(|error| format!("{image}: {error}"))?
        .ok_or(format!("{image}: no format strings: not the second image"))?;
    let mut frames = Vec::new();
    std::io::stdin()
        .read_to_end(&mut frames)
        .map_err(|error| format!("standard input: {error}"))?;
    let mut decoder = table.new_stream_decoder();
    decoder.received(&frames);
    loop {
        match decoder.decode() {
            Ok(frame) => println!("{}", frame.display_message()),
            Err(DecodeError::UnexpectedEof) => return Ok(()),
            Err(DecodeError::Malformed) => return Err("a malformed frame".into()),
        }
    }
}
