//! Drives nobody tuned the law on: what they are follows from the calibration itself.
//!
//! Speed, friction and sensor noise of every drive are drawn from a hash of the frozen calibration pages, so no drive can be
//! known before the numbers are fixed, and any change of a number brings other drives. Every setting is driven; every other
//! axle drives the same. Judged: the paired car never spins, and its path error is at most [`LOSS_M`] more than that of the
//! best other axle that came through. Limits: the kinds of drive are known, their numbers are not.

use couplet_controller::RawPage;
use couplet_controller::calibration::ENTRIES;

use crate::metrics::series::largest_size;
use crate::plant::AxleLayout;
use crate::run::{Ending, RunResult};
use crate::scenario::{Manoeuvre, Scenario, layout_name};

/// Path error the paired axle may have beyond the best other axle, m (project target).
pub const LOSS_M: f64 = 0.5;

/// Draws of each kind of drive.
const DRAWS: u64 = 8;

/// A kind of drive: name, manoeuvre, friction, and speed at friction 1, m/s; each a range drawn from, equal ends: fixed.
struct Kind {
    name: &'static str,
    manoeuvre: Manoeuvre,
    friction: (f64, f64),
    speed_m_s: Option<(f64, f64)>,
}

const KINDS: &[Kind] = &[
    Kind {
        name: "double-lane-change",
        manoeuvre: Manoeuvre::DoubleLaneChange,
        friction: (0.85, 1.0),
        speed_m_s: Some((25.0, 33.0)),
    },
    Kind {
        name: "obstacle-avoidance",
        manoeuvre: Manoeuvre::ObstacleAvoidance,
        friction: (0.85, 1.0),
        speed_m_s: Some((16.0, 20.0)),
    },
    Kind {
        name: "closing-bend",
        manoeuvre: Manoeuvre::ClosingBend,
        friction: (0.5, 1.0),
        speed_m_s: Some((22.0, 28.0)),
    },
    Kind {
        name: "friction-step",
        manoeuvre: Manoeuvre::FrictionStep,
        friction: (0.7, 0.95),
        // The slippery stretch scales with the whole road.
        speed_m_s: Some((17.0, 20.0)),
    },
    Kind {
        name: "skarn-pass",
        manoeuvre: Manoeuvre::SkarnPass,
        friction: (0.6, 1.0),
        speed_m_s: None,
    },
];

/// One drive to be done.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldOut {
    /// What is driven.
    pub scenario: Scenario,
    /// Setting of the paired axle; the first one stands beside other axles, which have none.
    pub setting: &'static str,
    drive: String,
}

/// The verdict over one drive.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Name of the drive, without axle and setting.
    pub drive: String,
    /// Setting of the paired axle.
    pub setting: &'static str,
    /// Friction.
    pub friction: f64,
    /// Speed asked for, m/s; 0 where the driver chooses it.
    pub speed_m_s: f64,
    /// Whether the paired car spun.
    pub spun: bool,
    /// How the paired run ended.
    pub ended: Ending,
    /// Path error of the paired axle, m.
    pub paired_m: Option<f64>,
    /// Name and path error, m, of the best other axle that came through, if one did.
    pub best: Option<(&'static str, f64)>,
}

impl Verdict {
    /// Whether it did not spin and lost no more than allowed. Where no other axle came through, not spinning is enough.
    pub fn pass(&self) -> bool {
        let lost = match (self.paired_m, self.best) {
            (Some(paired), Some((_, best))) => paired - best <= LOSS_M,
            (None, _) => false,
            (Some(_), None) => true,
        };
        // Leaving the road where another axle stays on it is a loss without a number.
        let left = self.ended == Ending::LeftPath && self.best.is_some();
        !self.spun && lost && !left
    }
}

/// Hash of the calibration: FNV-1a, 64 bits (Fowler, Noll and Vo), over the bits of every number of every page.
pub fn calibration_hash(pages: &[(&'static str, RawPage)]) -> u64 {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for (_, page) in pages {
        for entry in ENTRIES {
            for byte in (entry.read)(&page.tunables).to_bits().to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }
    hash
}

/// Every drive for these settings and the hash of their calibration.
pub fn held_out_cases(pages: &[(&'static str, RawPage)]) -> Vec<HeldOut> {
    let hash = calibration_hash(pages);
    let mut cases = Vec::new();
    for (place, kind) in KINDS.iter().enumerate() {
        for draw in 0..DRAWS {
            let part = |which: u64| share(hash, (place as u64 * DRAWS + draw) * 4 + which);
            let between = |(low, high): (f64, f64), part: f64| low + (high - low) * part;
            let mut scenario = Scenario::of(kind.manoeuvre);
            let friction = between(kind.friction, part(0));
            scenario.numbers.road.friction_left = friction;
            scenario.numbers.road.friction_right = friction;
            if let Some(range) = kind.speed_m_s {
                // What a car can do in a turn goes with the root of friction.
                scenario.numbers.course.speed_m_s = between(range, part(1)) * libm::sqrt(friction);
            }
            scenario.mirrored = part(2) < 0.5;
            scenario.seed = (part(3) * 1e6) as u64;
            let drive = format!("{}-{}", kind.name, draw + 1);
            for layout in AxleLayout::ALL {
                let paired = layout == AxleLayout::PairedClutches;
                for (setting, _) in pages.iter().take(if paired { pages.len() } else { 1 }) {
                    let mut scenario = scenario.clone();
                    scenario.layout = layout;
                    scenario.name = format!("{drive}-{}", layout_name(layout));
                    cases.push(HeldOut {
                        scenario,
                        setting,
                        drive: drive.clone(),
                    });
                }
            }
        }
    }
    cases
}

/// The verdicts, drive by drive, setting by setting; `results` in the order of the cases.
pub fn held_out_verdicts(cases: &[HeldOut], results: &[RunResult]) -> Vec<Verdict> {
    let both: Vec<(&HeldOut, &RunResult)> = cases.iter().zip(results).collect();
    let error = |result: &RunResult| largest_size(&result.record, "path_error", 0.0, f64::INFINITY);
    both.iter()
        .filter(|(case, _)| case.scenario.layout == AxleLayout::PairedClutches)
        .map(|(case, result)| {
            let best = both
                .iter()
                .filter(|(other, _)| {
                    other.drive == case.drive && other.scenario.layout != AxleLayout::PairedClutches
                })
                .filter(|(_, result)| result.outcome.ended == Ending::GoalReached)
                .filter_map(|(other, result)| {
                    Some((layout_name(other.scenario.layout), error(result)?))
                })
                .min_by(|one, other| one.1.total_cmp(&other.1));
            Verdict {
                drive: case.drive.clone(),
                setting: case.setting,
                friction: case.scenario.numbers.road.friction_left,
                speed_m_s: if case.scenario.manoeuvre == Manoeuvre::SkarnPass {
                    0.0
                } else {
                    case.scenario.numbers.course.speed_m_s
                },
                spun: result.outcome.ended == Ending::Spun,
                ended: result.outcome.ended,
                paired_m: error(result),
                best,
            }
        })
        .collect()
}

/// A share from 0 to 1 of seed and place (SplitMix64, Steele, Lea and Flood 2014, constants from memory).
fn share(seed: u64, place: u64) -> f64 {
    let mut bits = seed.wrapping_add((place + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((bits ^ (bits >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}
