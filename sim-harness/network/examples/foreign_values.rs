//! Prints what a foreign database says of frames: `foreign_values FILE.dbc` reads `id data` lines (hexadecimal, eight digits for 29 bits) from standard input.
//!
//! One line a frame: `Signal=BITS` for each signal that is there, its value's 64 bits in hexadecimal. First the left-out things, each after `#`.

use std::io::{BufRead, Write};
use std::process::ExitCode;

use couplet_network::foreign::{self, Said};

fn main() -> ExitCode {
    let Some(file) = std::env::args().nth(1) else {
        eprintln!("foreign_values FILE.dbc");
        return ExitCode::from(2);
    };
    let read = std::fs::read(&file).map_err(|error| error.to_string());
    let database =
        match read.and_then(|bytes| foreign::read(&bytes).map_err(|error| error.to_string())) {
            Ok(database) => database,
            Err(error) => {
                eprintln!("{file}:{error}");
                return ExitCode::from(2);
            }
        };
    let mut out = String::new();
    for one in &database.left_out {
        out += &format!("# {}:{}: {}\n", one.line, one.column, one.what);
    }
    for line in std::io::stdin().lock().lines().map_while(Result::ok) {
        let Some((id, data)) = line.split_once(' ') else {
            continue;
        };
        let number = u32::from_str_radix(id, 16).ok();
        let place = number.and_then(|number| database.place(number, id.len() == 8));
        let Some(message) = place.map(|place| &database.messages[place]) else {
            out += "unknown\n";
            continue;
        };
        let bytes: Vec<u8> = (0..data.len() / 2)
            .filter_map(|place| u8::from_str_radix(data.get(2 * place..2 * place + 2)?, 16).ok())
            .collect();
        out += &message.name;
        for (signal, said) in message.signals.iter().zip(message.said(&bytes)) {
            if let Said::Value(value) = said {
                out += &format!(" {}={:016x}", signal.name, value.to_bits());
            }
        }
        out.push('\n');
    }
    match std::io::stdout().lock().write_all(out.as_bytes()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::from(1),
    }
}
