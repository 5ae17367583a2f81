//! The demo files, embedded: one car, a scenario per manoeuvre variant, four settings, four missions. All invented.

use crate::command_line::Kind;

/// Name of the demo vehicle used when none is given.
pub const DEFAULT_VEHICLE: &str = "ptarmigan";

macro_rules! embedded {
    ($folder:literal: $($name:literal),* $(,)?) => {
        &[$((
            $name,
            concat!($folder, "/", $name, ".toml"),
            include_str!(concat!("../../../", $folder, "/", $name, ".toml")),
        )),*]
    };
}

type DemoFile = (&'static str, &'static str, &'static str);

const VEHICLES: &[DemoFile] = embedded!("vehicles": "ptarmigan");

const SETTINGS: &[DemoFile] = embedded!("settings": "patrol", "response", "trailer", "skidpad");

const MISSIONS: &[DemoFile] =
    embedded!("missions": "family", "mountain-rescue", "towing", "circuit-days");

const SCENARIOS: &[DemoFile] = embedded!(
    "scenarios":
    "split-launch-0",
    "split-launch-10",
    "split-launch-20",
    "split-launch-10-other-side",
    "split-launch-10-deaf",
    "power-on-exit-dry",
    "power-on-exit-dry-paced",
    "power-on-exit-wet",
    "power-on-exit-wet-paced",
    "step-steer-100",
    "step-steer-130",
    "lift-off",
    "sine-with-dwell-dry",
    "sine-with-dwell-dry-left",
    "sine-with-dwell-dry-right",
    "sine-with-dwell-wet",
    "braking-in-turn",
    "one-period-sine",
    "frequency-100",
    "circle-dry",
    "circle-wet",
    "skarn-pass",
    "skarn-pass-slippery",
    "trailer-sway",
    "yaw-bias",
    "wrong-request",
    "wrong-current",
    "yaw-bias-power",
    "lift-off-weak-rear",
    "step-steer-limit",
    "obstacle-avoidance",
    "double-lane-change",
    "snow-lane-change",
    "friction-step",
    "split-launch-0-reverse",
    "split-launch-10-reverse",
    "split-launch-20-reverse",
    "split-brake",
    "split-brake-reverse",
    "park",
    "park-ice",
    "cruise",
    "cruise-held-open",
    "release-warm",
    "release-cold",
    "release-brake",
    "release-brake-held-open",
    "slide-hold",
    "closing-bend",
    "tip-in-lash",
    "step-steer-sprung",
    "power-on-exit-geared",
    "repeated-launches",
    "repeated-launches-heard",
    "launch-ordered-open",
);

/// Names of the demo files of a kind.
pub fn names(kind: Kind) -> Vec<&'static str> {
    files(kind).iter().map(|(name, _, _)| *name).collect()
}

/// File name and text of the demo file of that name.
pub fn file(kind: Kind, name: &str) -> Option<(String, &'static str)> {
    let (_, file, text) = files(kind).iter().find(|(known, _, _)| *known == name)?;
    Some(((*file).to_owned(), text))
}

fn files(kind: Kind) -> &'static [DemoFile] {
    match kind {
        Kind::Vehicle => VEHICLES,
        Kind::Scenario => SCENARIOS,
        Kind::Setting => SETTINGS,
        Kind::Mission => MISSIONS,
    }
}
