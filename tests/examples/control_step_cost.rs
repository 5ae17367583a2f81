//! Replays recorded inputs through the law so that its steps can be counted.
//!
//! Usage: `control_step_cost record FILE` drives the demo car through manoeuvres and through wild inputs and writes what
//! the law was told; `control_step_cost replay FILE KIND EVERY` puts it through fresh controllers, every `EVERY`th step
//! of the kind (`driven` or `wild`) inside [`counted_step`]; `control_step_cost sizes` prints bytes of state and trace,
//! `control_step_cost digest FILE` a number of each run's outputs; `control_step_cost wild FOLDER SEEDS` writes sequences of
//! wild inputs for a replay elsewhere, with their digests in `digests.txt`.
//! `.ci/control_step` runs the replay under callgrind, which counts inside [`counted_step`] and dumps at
//! [`step_is_over`]: one dump, one step, nothing of the bench itself but the call. Cars, drives and wild inputs are invented.

#[path = "../tests/controller_kit/mod.rs"]
mod controller_kit;

use controller_kit::{Wild, page_of};
use couplet_controller::signal::INPUT_SIGNALS;
use couplet_controller::signal::inputs::Status;
use couplet_controller::{
    Controller, ControllerState, Inputs, Outputs, PerSide, Period, RawPage, Reading, Trace,
};
use couplet_sim::manoeuvre;
use couplet_sim::plant::Vehicle;
use couplet_sim::run::closed_loop::overheard;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_sim::sequence::Sequence;
use std::hint::black_box;

/// The programme's manoeuvres whose steps are counted, with a name each.
const DRIVEN: [Manoeuvre; 10] = [
    Manoeuvre::SplitLaunch,
    Manoeuvre::SineWithDwell,
    Manoeuvre::ObstacleAvoidance,
    Manoeuvre::DoubleLaneChange,
    Manoeuvre::PowerOnExit,
    Manoeuvre::SkarnPass,
    Manoeuvre::Park,
    Manoeuvre::StepSteer,
    Manoeuvre::LiftOff,
    Manoeuvre::Cruise,
];

/// Longest stretch of one manoeuvre, control steps: a pass of minutes must not outweigh everything else.
const LONGEST: usize = 4000;

/// Drives of wild inputs and their length in control steps.
const WILD: (u64, usize) = (40, 500);

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["record", file] => record(file),
        ["replay", file, kind, every] => {
            replay(file, kind == "wild", every.parse().expect("a number"));
        }
        ["digest", file] => digest(file),
        ["wild", folder, seeds] => wild_sequences(folder, seeds.parse().expect("a number")),
        ["sizes"] => {
            println!(
                "ControllerState<f32> {} bytes",
                size_of::<ControllerState<f32>>()
            );
            println!("Trace<f32> {} bytes", size_of::<Trace<f32>>());
            println!("Controller<f32> {} bytes", size_of::<Controller<f32>>());
        }
        _ => panic!(
            "usage: control_step_cost record FILE | replay FILE driven|wild EVERY | digest FILE | wild FOLDER SEEDS | sizes"
        ),
    }
}

/// One run of inputs; `page` is the seed of its calibration page.
struct Run {
    wild: bool,
    page: u64,
    told: Vec<Inputs>,
}

impl Run {
    fn controller(&self) -> Controller<f32> {
        Controller::new(&page_of(self.page), Period::default()).expect("an acceptable page")
    }
}

fn runs() -> Vec<Run> {
    let driven = DRIVEN.map(|manoeuvre| {
        let mut scenario = Scenario::of(manoeuvre);
        scenario.numbers.sensors.yaw_rate_noise_rad_s = 0.003;
        scenario.numbers.sensors.wheel_speed_noise_rad_s = 0.05;
        scenario.numbers.sensors.acceleration_noise_m_s2 = 0.1;
        let vehicle = scenario.loaded(&Vehicle::default());
        let page = RawPage::default();
        let setup = manoeuvre::prepare(&scenario, &vehicle, &page);
        let mut told = overheard(&scenario, &vehicle, &page, setup);
        told.truncate(LONGEST);
        eprintln!("{manoeuvre:?}: {} steps", told.len());
        Run {
            wild: false,
            page: 0,
            told,
        }
    });
    driven
        .into_iter()
        .chain((0..WILD.0).map(wild_run))
        .collect()
}

fn wild_run(seed: u64) -> Run {
    let mut wild = Wild::new(70_000 + seed, [5, 30, 200][seed as usize % 3], true);
    Run {
        wild: true,
        page: seed % 20,
        told: (0..WILD.1).map(|_| wild.next()).collect(),
    }
}

fn wild_sequences(folder: &str, seeds: u64) {
    let mut digests = String::new();
    for seed in 0..seeds {
        let run = wild_run(seed);
        let sequence = Sequence {
            name: format!("wild-{seed}"),
            page: page_of(run.page),
            period: Period::default(),
            start_degc: 60.0,
            told: run.told,
        };
        let file = format!("{folder}/{}.seq", sequence.name);
        std::fs::write(file, sequence.bytes()).expect("a place to write to");
        for (step, digest) in sequence.digests() {
            digests += &format!("{} {step} {digest:016x}\n", sequence.name);
        }
    }
    std::fs::write(format!("{folder}/digests.txt"), digests).expect("a place to write to");
}

fn record(file: &str) {
    let mut bytes = Vec::new();
    for run in runs() {
        for whole in [u64::from(run.wild), run.page, run.told.len() as u64] {
            bytes.extend(whole.to_le_bytes());
        }
        for inputs in &run.told {
            for signal in INPUT_SIGNALS {
                let reading = (signal.read)(inputs);
                bytes.extend(reading.value.to_bits().to_le_bytes());
                bytes.extend(reading.age_ms.to_le_bytes());
                bytes.extend(reading.status.0.to_le_bytes());
            }
        }
    }
    std::fs::write(file, bytes).expect("a place to write to");
}

fn replay(file: &str, wild: bool, every: usize) {
    for run in recorded(file) {
        if run.wild != wild {
            continue;
        }
        let mut controller = run.controller();
        for (step, inputs) in run.told.iter().enumerate() {
            if step % every == every - 1 {
                counted_step(&mut controller, inputs);
                step_is_over(step);
            } else {
                black_box(one_step(&mut controller, inputs));
            }
        }
    }
}

/// One number of all bits of all outputs of each run, but the forecast's and the sign of zeros: whether cheaper steps still
/// say the same.
fn digest(file: &str) {
    for (number, run) in recorded(file).iter().enumerate() {
        let mut controller = run.controller();
        let mut digest = 0xcbf2_9ce4_8422_2325_u64;
        for inputs in &run.told {
            let outputs = Outputs {
                time_to_limit_s: PerSide::both(0.0),
                ..one_step(&mut controller, inputs)
            };
            for number in controller_kit::numbers(&outputs) {
                let bits = u64::from((number + 0.0).to_bits());
                // FNV-1a, public domain algorithm, from memory.
                digest = (digest ^ bits).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
        println!("{number} {digest:016x}");
    }
}

fn recorded(file: &str) -> Vec<Run> {
    let bytes = std::fs::read(file).expect("a recorded file");
    let mut rest = bytes.as_slice();
    let mut runs = Vec::new();
    while !rest.is_empty() {
        let [wild, page, steps] = [0; 3].map(|_: u64| u64::from_le_bytes(taken(&mut rest)));
        let told = (0..steps)
            .map(|_| {
                let mut inputs = Inputs::default();
                for signal in INPUT_SIGNALS {
                    let value = f32::from_bits(u32::from_le_bytes(taken(&mut rest)));
                    let age_ms = u16::from_le_bytes(taken(&mut rest));
                    let status = Status(u16::from_le_bytes(taken(&mut rest)));
                    let reading = Reading {
                        value,
                        age_ms,
                        status,
                    };
                    (signal.write)(&mut inputs, reading);
                }
                inputs
            })
            .collect();
        runs.push(Run {
            wild: wild == 1,
            page,
            told,
        });
    }
    runs
}

fn taken<const N: usize>(rest: &mut &[u8]) -> [u8; N] {
    let (head, tail) = rest.split_first_chunk().expect("a whole file");
    *rest = tail;
    *head
}

/// The marker callgrind watches.
#[inline(never)]
fn counted_step(controller: &mut Controller<f32>, inputs: &Inputs) {
    black_box(one_step(controller, inputs));
}

/// Where callgrind dumps: at a marker of its own, because a function that both switches and dumps counts nothing.
#[inline(never)]
fn step_is_over(step: usize) {
    black_box(step);
}

/// One instance of the law for counted and other steps.
#[inline(never)]
fn one_step(controller: &mut Controller<f32>, inputs: &Inputs) -> Outputs {
    controller.step(inputs)
}
