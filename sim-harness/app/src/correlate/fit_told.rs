//! What a fit says and writes: numbers with intervals, what is left, refusals by name, a vehicle file.

use std::fmt::Write;
use std::path::Path;

use couplet_sim::correlate::{Driven, Numbers};
use couplet_sim::plant::Vehicle;

use super::fit::{ASKED, Fitted, QUANTITIES, USED, fit};
use crate::failure::{Failure, Refusal};
use crate::files::{Source, vehicle_text};
use crate::output::number::significant;
use crate::output::text::aligned;
use crate::output::{see_place, write_file};

/// Places of the numbers asked for by name.
///
/// # Errors
/// Names that are none, a file that is there already.
pub fn asked(names: &[String], to: &Path) -> Result<Vec<usize>, Vec<Refusal>> {
    let mut places = Vec::new();
    let mut refusals = Vec::new();
    for name in names {
        match ASKED.iter().find(|(known, _)| known == name) {
            Some((_, found)) => places.extend(*found),
            None => refusals.push(Refusal::on_command_line(
                format!("--fit {name}: there is no such number"),
                ASKED.map(|(known, _)| known).join(", "),
                "name some of these, separated by commas".into(),
            )),
        }
    }
    if !names.is_empty() && to.exists() {
        refusals.push(Refusal::on_command_line(
            format!("{} is there already", to.display()),
            "a vehicle file that is not there: a fit never writes over another".into(),
            "name another one with --to".into(),
        ));
    }
    places.sort_unstable();
    places.dedup();
    if refusals.is_empty() {
        Ok(places)
    } else {
        Err(refusals)
    }
}

/// Fits, writes the vehicle file and tells; gives the numbers back.
///
/// # Errors
/// Drives that tell none of the numbers, a file that cannot be written.
pub fn fitted(
    vehicle: &Vehicle,
    first: Numbers,
    drives: &[Driven],
    places: &[usize],
    to: &Path,
) -> Result<(Numbers, String), Failure> {
    see_place(to)?;
    let found = fit(vehicle, first, drives, places);
    if found.interval.iter().all(Option::is_none) {
        let refusals = found.refused.iter().map(|one| {
            let name = Numbers::BOUNDS[one.place].0;
            Refusal::on_command_line(
                format!("{name}: not told by these drives: {}", one.why),
                "drives that move it: full accelerator with known torque, quick steering, the limit of grip".into(),
                "record such drives, or leave it out of --fit".into(),
            )
        });
        return Err(Failure::Refused(refusals.collect()));
    }
    let text = file(vehicle, &found);
    // What is written must be what the reader accepts.
    let readable = Source::of_text(&to.display().to_string(), &text);
    readable.vehicle().map_err(Failure::Refused)?;
    write_file(to, &text)?;
    Ok((found.numbers, told(&first, &found, to)))
}

fn file(vehicle: &Vehicle, found: &Fitted) -> String {
    let mut head = String::from(
        "# Vehicle fitted by couplet correlate --fit. Check it before use: the intervals do not know what the plant leaves out.\n",
    );
    for (place, (name, ..)) in Numbers::BOUNDS.iter().enumerate() {
        if let Some((low, high)) = found.interval[place] {
            let number = significant(found.numbers.all()[place], 4);
            let (low, high) = (significant(low, 4), significant(high, 4));
            let _ = writeln!(head, "# {name}: {number}, 95 % interval {low} to {high}.");
        }
    }
    vehicle_text(&head, &found.numbers.vehicle(vehicle))
}

fn told(first: &Numbers, found: &Fitted, to: &Path) -> String {
    let show = |value: f64| significant(value, 4);
    let mut cells = vec![
        ["number", "start", "fitted", "95 % from", "to", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    for (place, (name, ..)) in Numbers::BOUNDS.iter().enumerate() {
        let refused = found.refused.iter().find(|one| one.place == place);
        let mut row = vec![(*name).to_owned(), show(first.all()[place])];
        match (found.interval[place], refused) {
            (Some((low, high)), _) => {
                let number = found.numbers.all()[place];
                row.extend([show(number), show(low), show(high), "told".into()]);
            }
            (None, Some(one)) => {
                let why = format!("REFUSED: {}", one.why);
                row.extend(["-".into(), "-".into(), "-".into(), why]);
            }
            (None, None) => continue,
        }
        cells.push(row);
    }
    let mut text = "fit\n".to_owned() + &aligned(&cells, 1..5);
    let mut cells = vec![
        ["quantity", "rms before", "rms after", "unit"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for ((name, unit), left) in QUANTITIES.iter().zip(found.left) {
        if let Some((before, after)) = left {
            cells.push(vec![
                (*name).to_owned(),
                significant(before, 3),
                significant(after, 3),
                (*unit).to_owned(),
            ]);
        }
    }
    text.push('\n');
    text += &aligned(&cells, 1..3);
    let _ = writeln!(
        text,
        "measured later than simulated: turning {:+.4} s, longitudinal acceleration {:+.4} s; the drives use {:.0} % of the friction ({:.0} % are needed to tell it)\n{}\nvehicle written to {}\n",
        found.late_s[0],
        found.late_s[1],
        100.0 * found.used,
        100.0 * USED,
        if found.converged {
            "converged"
        } else {
            "NOT converged: take the numbers as they are, not as a fit"
        },
        to.display()
    );
    text
}
