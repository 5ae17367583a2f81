//! Prints the values of one channel of a measurement file as raw 64-bit floats: `values FILE CHANNEL`; `time:CHANNEL` gives its times.

use std::io::Write;
use std::process::ExitCode;

use couplet_exchange::mdf;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [file, channel] = words.as_slice() else {
        eprintln!("values FILE CHANNEL");
        return ExitCode::from(2);
    };
    let name = channel.strip_prefix("time:");
    let source = match std::fs::File::open(file) {
        Ok(source) => std::io::BufReader::new(source),
        Err(error) => {
            eprintln!("{file}: {error}");
            return ExitCode::from(2);
        }
    };
    let wanted = name.unwrap_or(channel);
    let found = match mdf::read(source, &mdf::Limits::default(), &|one| one == wanted) {
        Ok(found) => found,
        Err(error) => {
            eprintln!("{file}: {error}");
            return ExitCode::from(2);
        }
    };
    for skipped in &found.skipped {
        eprintln!(
            "{file}: byte {}: `{}` is not read: {}",
            skipped.at, skipped.name, skipped.why
        );
    }
    let Some((group, signal)) = found.recording.find(wanted) else {
        return ExitCode::from(1);
    };
    eprintln!("{}", signal.unit);
    let values = if name.is_some() {
        &group.time_s
    } else {
        &signal.values
    };
    let bytes: Vec<u8> = values
        .iter()
        .flat_map(|value| value.to_le_bytes())
        .collect();
    match std::io::stdout().lock().write_all(&bytes) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::from(1),
    }
}
