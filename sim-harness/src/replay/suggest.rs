//! A mapping proposed from names, units and physics; it is a proposal, and says why.
//!
//! In: a recording. Out: for each input the channel whose name and unit fit best, with the reason; inputs with two equally good
//! channels are left out and told. Names are split into words at capitals, digits and signs. Then the proposal is judged by
//! [`super::physics`]; what one single fault explains is corrected in it, and told. Caps nobody records are constants that
//! bind nothing. Limits: words are English or usual short forms (common practice, no source).

use super::evidence::{Car, Signals};
use super::mapping::{Mapping, Row, Source};
use super::physics::{Fault, Judgement, judge};
use super::told::{steps, told};
use super::units::conversion;
use crate::record::recording::{Recording, Signal};
use couplet_controller::Period;
use couplet_controller::signal::INPUT_SIGNALS;

/// What is proposed.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// The mapping.
    pub mapping: Mapping,
    /// Why, line by line.
    pub reasons: Vec<String>,
    /// What physics says of it as it stands.
    pub judgement: Judgement,
}

/// Words of which one of each group must stand in a channel's name; words that must not.
struct Words {
    input: &'static str,
    groups: &'static [&'static [&'static str]],
    not: &'static [&'static str],
}

const WHEEL: &[&str] = &["wheel", "whl", "ws", "wss"];
const YAW: &[&str] = &["yaw"];
const STEER: &[&str] = &["steer", "steering", "swa", "handwheel"];
const NO_PRESSURE: &[&str] = &["pressure", "torque", "load", "slip", "force"];

const WORDS: &[Words] = &[
    Words {
        input: "wheel_speed_front_left",
        groups: &[WHEEL, &["fl", "front left"]],
        not: NO_PRESSURE,
    },
    Words {
        input: "wheel_speed_front_right",
        groups: &[WHEEL, &["fr", "front right"]],
        not: NO_PRESSURE,
    },
    Words {
        input: "wheel_speed_rear_left",
        groups: &[WHEEL, &["rl", "rear left"]],
        not: NO_PRESSURE,
    },
    Words {
        input: "wheel_speed_rear_right",
        groups: &[WHEEL, &["rr", "rear right"]],
        not: NO_PRESSURE,
    },
    Words {
        input: "yaw_rate",
        groups: &[YAW],
        not: &[
            "acceleration",
            "moment",
            "angle",
            "reference",
            "path",
            "wanted",
        ],
    },
    Words {
        input: "lateral_acceleration",
        groups: &[
            &["lat", "lateral", "ay", "y"],
            &["acc", "acceleration", "accel", "ay"],
        ],
        not: &[],
    },
    Words {
        input: "longitudinal_acceleration",
        groups: &[
            &["long", "longitudinal", "ax", "x"],
            &["acc", "acceleration", "accel", "ax"],
        ],
        not: &[],
    },
    Words {
        input: "steering_wheel_angle",
        groups: &[STEER],
        not: &["torque", "rate", "speed"],
    },
    Words {
        input: "accelerator_pedal",
        groups: &[&["accelerator", "accel", "throttle", "pedal"]],
        not: &["brake", "clutch", "lateral", "longitudinal"],
    },
    Words {
        input: "brake_pressure",
        groups: &[&["brake"], &["pressure", "press", "p"]],
        not: &[],
    },
    Words {
        input: "carrier_torque",
        groups: &[&["carrier", "differential"], &["torque", "trq"]],
        not: &["wanted", "request", "requested", "demand"],
    },
    Words {
        input: "carrier_torque_wanted",
        groups: &[
            &["carrier", "differential"],
            &["torque", "trq"],
            &["wanted", "request", "requested", "demand"],
        ],
        not: &[],
    },
    Words {
        input: "gear",
        groups: &[&["gear"]],
        not: &["ratio"],
    },
    Words {
        input: "ambient_temperature",
        groups: &[&["ambient", "outside", "air"], &["temperature", "temp"]],
        not: &[],
    },
    Words {
        input: "clutch_pressure_left",
        groups: &[&["clutch"], &["pressure"], &["left", "l"]],
        not: &[],
    },
    Words {
        input: "clutch_pressure_right",
        groups: &[&["clutch"], &["pressure"], &["right", "r"]],
        not: &[],
    },
];

/// Values that bind and order nothing, for inputs that are rarely recorded.
const CONSTANTS: [(&str, f64); 5] = [
    ("rear_torque_cap", 20_000.0),
    ("yaw_moment_cap", 40_000.0),
    ("open_now", 0.0),
    ("anti_lock_active", 0.0),
    ("stability_active", 0.0),
];

/// Proposes a mapping.
pub fn propose(recording: &Recording, car: &Car, radius_m: f64, period: Period) -> Proposal {
    let mut reasons = Vec::new();
    let mut rows = Vec::new();
    for input in INPUT_SIGNALS {
        let mut fits: Vec<(usize, &Signal)> = recording
            .all()
            .filter_map(|(_, signal)| fit(input.name, input.unit, signal).map(|fit| (fit, signal)))
            .collect();
        fits.sort_by_key(|(fit, _)| std::cmp::Reverse(*fit));
        let constant = CONSTANTS.iter().find(|(name, _)| *name == input.name);
        match (fits.as_slice(), constant) {
            ([(best, one), (second, other), ..], _) if best == second => reasons.push(format!(
                "{}: `{}` and `{}` fit alike, so neither is taken",
                input.name, one.name, other.name
            )),
            ([(_, one), ..], _) => {
                let mut row = Row::of(input, Source::Channel(one.name.clone()));
                let unit = match conversion(&one.unit, input.unit) {
                    Some(made) => {
                        let radius = if made.by_radius { radius_m } else { 1.0 };
                        row.factor = made.factor / radius;
                        row.offset = made.offset;
                        if made.by_radius {
                            format!(
                                "{}, rolling radius {radius_m} m of the vehicle file",
                                one.unit
                            )
                        } else {
                            one.unit.clone()
                        }
                    }
                    None => format!("no unit told, taken as {}", input.unit),
                };
                reasons.push(format!(
                    "{}: `{}` by its name; {unit}",
                    input.name, one.name
                ));
                rows.push(row);
            }
            ([], Some((_, value))) => {
                reasons.push(format!("{}: no channel, constant {value}", input.name));
                rows.push(Row::of(input, Source::Constant(*value)));
            }
            ([], None) => reasons.push(format!("{}: no channel fits", input.name)),
        }
    }
    let mut proposal = Proposal {
        mapping: Mapping {
            start_degc: 60.0,
            rows,
            commands: Vec::new(),
        },
        reasons,
        judgement: Judgement::default(),
    };
    let judged = |mapping: &Mapping| -> Option<Judgement> {
        let steps = steps(recording, mapping, period).ok()?;
        let told = told(recording, mapping, &steps).ok()?;
        Some(judge(&Signals::of(&told, steps.period_s), car))
    };
    // A lag shows only once signs and units are right.
    for _ in 0..2 {
        proposal.judgement = judged(&proposal.mapping).unwrap_or_default();
        let [fault] = proposal.judgement.faults.as_slice() else {
            break;
        };
        let (what, _) = super::physics::told(*fault);
        let reason = format!("physics: {what}; corrected in this proposal");
        proposal.reasons.push(reason);
        correct(&mut proposal.mapping, *fault);
        proposal.judgement = judged(&proposal.mapping).unwrap_or_default();
    }
    proposal
}

/// Undoes a fault in a mapping.
pub fn correct(mapping: &mut Mapping, fault: Fault) {
    let mut change = |names: &[&str], with: &dyn Fn(&mut Row)| {
        for name in names {
            mapping.row_mut(name).into_iter().for_each(with);
        }
    };
    match fault {
        Fault::Sign(signal) => change(signal.inputs(), &|row| {
            row.factor = -row.factor;
            row.offset = -row.offset;
        }),
        Fault::Unit(signal, unit) => change(signal.inputs(), &|row| row.factor *= unit.factor()),
        Fault::Late(signal, late_s) => change(signal.inputs(), &|row| row.late_s += late_s),
        Fault::Exchanged(pair) => {
            let names = super::physics::Signal::WheelSpeeds.inputs();
            let found: Vec<Option<Row>> = names
                .iter()
                .map(|name| mapping.row(name).cloned())
                .collect();
            for (name, place) in names.iter().zip(pair.order()) {
                if let (Some(row), Some(Some(from))) = (mapping.row_mut(name), found.get(place)) {
                    *row = Row {
                        input: row.input,
                        ..from.clone()
                    };
                }
            }
        }
    }
}

/// How well a channel fits an input; nothing if it does not.
fn fit(input: &str, unit: &str, signal: &Signal) -> Option<usize> {
    let told = !signal.unit.is_empty();
    if told && conversion(&signal.unit, unit).is_none() {
        return None;
    }
    if signal.name == format!("input.{input}") {
        return Some(100);
    }
    if signal.name == input {
        return Some(90);
    }
    // Findings of a law or a plant are no measurements.
    if signal.name.starts_with("output.") || signal.name.starts_with("plant_") {
        return None;
    }
    let words = WORDS.iter().find(|words| words.input == input)?;
    let name = format!(" {} ", split(&signal.name).join(" "));
    let has = |word: &&str| name.contains(&format!(" {word} "));
    if words.not.iter().any(has) {
        return None;
    }
    let all = words.groups.iter().all(|group| group.iter().any(has));
    // A told unit speaks for it, and so does a short name.
    all.then(|| 40 + 10 * usize::from(told) - split(&signal.name).len().min(9))
}

/// A name in words, small letters.
fn split(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut before = ' ';
    for letter in name.chars() {
        let begins = !before.is_alphabetic() || (letter.is_uppercase() && before.is_lowercase());
        if letter.is_alphabetic() {
            if begins {
                words.push(String::new());
            }
            if let Some(word) = words.last_mut() {
                word.extend(letter.to_lowercase());
            }
        }
        before = letter;
    }
    words
}
