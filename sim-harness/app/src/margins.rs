//! `couplet margins`: the yaw loop of the real law as Bode plots, with its margins as a table.
//!
//! In: settings, vehicle. Out: a table on standard output and `margins.html` in the folder of the results. The law is
//! linearised by small sines at every speed; behind it stand actuator and linear car: warm, warm with 15 % more gain and
//! 10 ms more delay, cold. Missed: a margin below its target.

use std::path::Path;

use couplet_controller::calibration::RawPage;
use couplet_sim::margins::{
    Actuator, COLD_TARGET, LawPoint, Margins, Phasor, WARM_TARGET, law_response, margins, open_loop,
};
use couplet_sim::plant::Vehicle;
use couplet_sim::prove::{LOOP_SETTINGS, SPEEDS_KM_H, linear_car};

use crate::bench::{Done, demo_page, demo_vehicle, keep};
use crate::command_line::Kind;
use crate::failure::Failure;
use crate::files::Source;
use crate::output::number::significant;
use crate::output::{CAUTIONS, make_place, text, write_page};
use crate::parallel::{Progress, in_parallel};
use crate::report::bode;

/// A state of the actuator.
pub struct State {
    /// In words.
    pub words: &'static str,
    /// Short, for table headings.
    pub short: &'static str,
    /// The actuator.
    pub actuator: Actuator,
    /// What is asked, if anything.
    pub target: Option<Margins>,
}

/// One loop.
pub struct Loop {
    /// Speed, km/h.
    pub speed_km_h: f64,
    /// Frequencies, Hz.
    pub hertz: Vec<f64>,
    /// Loop gain per state of the actuator; empty where a bound is at work, so that there is no linear answer.
    pub open: Vec<Vec<Phasor>>,
}

impl Loop {
    /// Margins in one state.
    pub fn margins(&self, state: usize) -> Option<Margins> {
        self.open.get(state).map(|open| margins(open))
    }
}

/// All loops of one setting.
pub struct Family {
    /// Name of the setting.
    pub setting: String,
    /// One per speed.
    pub loops: Vec<Loop>,
}

/// Linearises, tells and draws; without a setting all demo settings.
///
/// # Errors
/// Refused files, a page that could not be written.
pub fn draw(out: &Path, vehicle: Option<&Path>, setting: Option<&Path>) -> Result<Done, Failure> {
    let mut refusals = Vec::new();
    let vehicle = match vehicle {
        Some(path) => Source::open(Kind::Vehicle, path).and_then(|source| source.vehicle()),
        None => demo_vehicle()?.vehicle(),
    };
    let vehicle = keep(vehicle, &mut refusals);
    let mut pages = Vec::new();
    if let Some(path) = setting {
        let read = Source::open(Kind::Setting, path)
            .and_then(|source| source.setting().map(|page| (source.name, page)));
        pages.extend(keep(read, &mut refusals));
    } else {
        for name in LOOP_SETTINGS {
            pages.push((name.to_owned(), demo_page(name)?));
        }
    }
    let Some(vehicle) = vehicle.filter(|_| refusals.is_empty()) else {
        return Err(Failure::Refused(refusals));
    };
    make_place(out)?;
    let states = states(&vehicle);
    let families = families(&vehicle, pages, &states)?;
    write_page(out, "margins.html", &bode::page(&families, &states))?;
    let missed = families.iter().any(|family| {
        family.loops.iter().any(|one| {
            states.iter().enumerate().any(|(index, state)| {
                state.target.is_some_and(|target| {
                    one.margins(index)
                        .is_none_or(|margins| marks(&margins, &target) != [true; 3])
                })
            })
        })
    });
    let place = out.join("margins.html");
    Ok(Done {
        text: table(&families, &states) + &format!("Plots: {}\n", place.display()),
        missed,
    })
}

/// Whether gain margin, phase margin and peak sensitivity are met.
pub fn marks(margins: &Margins, target: &Margins) -> [bool; 3] {
    [
        margins.gain_db >= target.gain_db,
        margins.phase_deg >= target.phase_deg,
        margins.peak_sensitivity <= target.peak_sensitivity,
    ]
}

/// Three numbers as text; `none` where the loop crosses nothing within the frequencies looked at, so nothing limits it.
pub fn cells(margins: Option<Margins>) -> [String; 3] {
    let Some(margins) = margins else {
        return ["-".into(), "-".into(), "-".into()];
    };
    let gain = if margins.gain_db.is_finite() {
        significant(margins.gain_db, 3)
    } else {
        "none".into()
    };
    // 180 deg stand for a gain that never passes 1.
    let phase = if margins.phase_deg < 180.0 {
        significant(margins.phase_deg, 3)
    } else {
        "none".into()
    };
    [gain, phase, significant(margins.peak_sensitivity, 3)]
}

fn states(vehicle: &Vehicle) -> [State; 3] {
    [
        State {
            words: "Warm oil",
            short: "warm",
            actuator: Actuator::warm(vehicle),
            target: None,
        },
        State {
            words: "Warm oil, 15 % more gain and 10 ms more delay",
            short: "worst",
            actuator: Actuator::warm_worst(vehicle),
            target: Some(WARM_TARGET),
        },
        State {
            words: "Cold oil, four times dead time and lag",
            short: "cold",
            actuator: Actuator::cold(vehicle),
            target: Some(COLD_TARGET),
        },
    ]
}

fn families(
    vehicle: &Vehicle,
    pages: Vec<(String, RawPage)>,
    states: &[State],
) -> Result<Vec<Family>, Failure> {
    let car = linear_car(vehicle);
    let speeds = SPEEDS_KM_H.len();
    let progress = Progress::new(pages.len() * speeds, "loop", 1);
    let name = |index: usize| {
        format!(
            "{}, {} km/h",
            pages[index / speeds].0,
            SPEEDS_KM_H[index % speeds]
        )
    };
    let laws = in_parallel(
        pages.len() * speeds,
        |index| {
            law_response(
                vehicle,
                &pages[index / speeds].1,
                SPEEDS_KM_H[index % speeds] / 3.6,
            )
        },
        |index, _| progress.done(&name(index)),
    );
    progress.finish();
    let mut found: Vec<Family> = Vec::new();
    for (index, law) in laws.into_iter().enumerate() {
        let law: Option<Vec<LawPoint>> = law.ok_or_else(|| Failure::Run { name: name(index) })?;
        let law = law.unwrap_or_default();
        let speed_km_h = SPEEDS_KM_H[index % speeds];
        let hertz = |point: &LawPoint| point.omega_rad_s / (2.0 * std::f64::consts::PI);
        let open = |state: &State| open_loop(&law, &car, speed_km_h / 3.6, &state.actuator);
        let one = Loop {
            speed_km_h,
            hertz: law.iter().map(hertz).collect(),
            open: if law.is_empty() {
                Vec::new()
            } else {
                states.iter().map(open).collect()
            },
        };
        if index % speeds == 0 {
            found.push(Family {
                setting: pages[index / speeds].0.clone(),
                loops: Vec::new(),
            });
        }
        if let Some(family) = found.last_mut() {
            family.loops.push(one);
        }
    }
    Ok(found)
}

fn table(families: &[Family], states: &[State]) -> String {
    let mut head = vec!["setting".to_owned(), "km/h".to_owned()];
    for state in states {
        for what in ["gain, dB", "phase, deg", "peak S"] {
            head.push(format!("{} {what}", state.short));
        }
    }
    let columns = head.len();
    let mut rows = vec![head];
    for family in families {
        for one in &family.loops {
            let mut line = vec![family.setting.clone(), format!("{}", one.speed_km_h)];
            for (index, state) in states.iter().enumerate() {
                let margins = one.margins(index);
                let met = match (margins, &state.target) {
                    (Some(margins), Some(target)) => marks(&margins, target),
                    (None, Some(_)) => [false; 3],
                    (_, None) => [true; 3],
                };
                line.extend(
                    cells(margins)
                        .into_iter()
                        .zip(met)
                        .map(|(cell, met)| cell + if met { " " } else { "*" }),
                );
            }
            rows.push(line);
        }
    }
    let mut text = text::aligned(&rows, 1..columns);
    text += "\nYaw loop opened at the measured yaw rate: the real law, actuator, linear car. Gain margin, phase margin, peak sensitivity.\n";
    for state in states {
        text += &match &state.target {
            Some(target) => format!(
                "{}: {}; wanted at least {} dB{}, at most {}; *: missed\n",
                state.short,
                state.words.to_lowercase(),
                target.gain_db,
                if target.phase_deg > 0.0 {
                    format!(" and {} deg", target.phase_deg)
                } else {
                    String::new()
                },
                target.peak_sensitivity
            ),
            None => format!(
                "{}: {}; nothing is asked\n",
                state.short,
                state.words.to_lowercase()
            ),
        };
    }
    text += "-: a bound is at work, so there is no linear answer; none: no crossing from 0.25 to 25 Hz, so no limit\n\n";
    for caution in CAUTIONS {
        text += &format!("{caution}\n");
    }
    text
}
