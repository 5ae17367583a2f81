//! Heat of the rear axle from a record: when protection set in and why, and where the energy went.
//!
//! Inputs: the record alone. A record without the controller's trace has no protection; the truth and the energies are channels that
//! only a simulation has. Times are those of samples.

use super::axle_work::LIMIT_NAMES;
use super::{Metric, series};
use crate::record::Record;
use crate::scenario::Numbers;

/// What heat leaves of one clutch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leave {
    /// The whole capacity.
    Full,
    /// A part of it.
    Reduced,
    /// Nothing, on the slope's end.
    Nothing,
    /// Nothing: ordered open until the re-entry temperature.
    Open,
}

impl Leave {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Full => "full function",
            Self::Reduced => "reduced duty",
            Self::Nothing => "nothing left",
            Self::Open => "open to cool",
        }
    }
}

/// One change of what heat leaves of a clutch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transition {
    /// When, s.
    pub time_s: f64,
    /// `left` or `right`.
    pub side: &'static str,
    /// What there was before.
    pub from: Leave,
    /// What there is now.
    pub to: Leave,
    /// Part whose temperature decided: `surface`, `core` or `oil`.
    pub part: &'static str,
    /// Temperature of that part as estimated, degC.
    pub estimate_degc: f64,
    /// Its bound, degC.
    pub bound_degc: f64,
    /// Its true temperature, degC; NaN where the record does not hold it.
    pub truth_degc: f64,
    /// Reason in the words of the limits.
    pub reason: &'static str,
}

/// A ceiling this near to 1 or 0 is there.
const NEAR: f32 = 1e-6;

/// Every change, in order of time, left before right; nothing for a record without the controller's trace.
pub fn transitions(record: &Record) -> Vec<Transition> {
    let mut found = Vec::new();
    for side in ["left", "right"] {
        found.extend(of_side(record, side).unwrap_or_default());
    }
    // Stable: left stays before right.
    found.sort_by(|one, other| one.time_s.total_cmp(&other.time_s));
    found
}

fn of_side(record: &Record, side: &'static str) -> Option<Vec<Transition>> {
    let column = |name: &str| record.column(&format!("{name}_{side}"));
    let (ceiling, limit, open) = (
        column("heat_ceiling")?,
        column("heat_limit")?,
        column("heat_open")?,
    );
    let leave = |index: usize| {
        if open[index] > 0.5 {
            Leave::Open
        } else if ceiling[index] >= 1.0 - NEAR {
            Leave::Full
        } else if ceiling[index] <= NEAR {
            Leave::Nothing
        } else {
            Leave::Reduced
        }
    };
    let name = |index: usize| {
        let number = limit[index].max(0.0) as usize;
        LIMIT_NAMES.get(number).copied().unwrap_or("nothing")
    };
    let mut found = Vec::new();
    let mut before = Leave::Full;
    // The part of an absolute temperature is the one whose slope was at work.
    let mut part = "";
    for index in 0..record.len() {
        let (now, reason) = (leave(index), name(index));
        part = match reason {
            "surface heat" => "surface",
            "core heat" => "core",
            "oil heat" => "oil",
            _ => part,
        };
        if now == before {
            continue;
        }
        if part.is_empty() {
            part = first_to_limit(record, side, index);
        }
        let of = |kind: &str| {
            let name = match part {
                "oil" => format!("{kind}oil"),
                part => format!("{kind}{part}_{side}"),
            };
            record
                .column(&name)
                .map_or(f64::NAN, |column| f64::from(column[index]))
        };
        let truth_degc = match part {
            "oil" => of("plant_"),
            _ => of("plant_clutch_"),
        };
        found.push(Transition {
            time_s: record.time_s(index),
            side,
            from: before,
            to: now,
            part,
            estimate_degc: of("estimated_"),
            bound_degc: of("bound_"),
            truth_degc,
            reason: match (before, now) {
                (_, Leave::Open) => reason,
                (_, Leave::Full) => "bound below the start of the slope",
                (Leave::Open, _) => "bound below the re-entry temperature",
                (Leave::Nothing, _) => "bound below the end of the slope",
                _ => reason,
            },
        });
        before = now;
    }
    Some(found)
}

/// Surfaces may be this much hotter than the oil before they reach their absolute temperature first, K: half of what lies between the
/// two in the table.
const SURFACE_OVER_OIL_K: f32 = 60.0;

/// The part that decides where no slope was at work before: a record does not know the limits, but the oil's is far below the surface's.
fn first_to_limit(record: &Record, side: &str, index: usize) -> &'static str {
    let at = |name: &str| record.column(name).map(|column| column[index]);
    match (at(&format!("bound_surface_{side}")), at("bound_oil")) {
        (Some(surface), Some(oil)) if surface < oil + SURFACE_OVER_OIL_K => "oil",
        _ => "surface",
    }
}

/// Share of the torque asked for that heat took away, 0 to 1, both sides together; nothing without the controller's trace.
pub fn taken_share(record: &Record) -> Option<f64> {
    let (mut asked_nm, mut taken_nm) = (0.0, 0.0);
    for side in ["left", "right"] {
        let column = |name: &str| record.column(&format!("{name}_{side}"));
        let (asked, given, limit) = (
            column("torque_asked")?,
            column("torque_given")?,
            column("limit")?,
        );
        for index in 0..record.len() {
            asked_nm += f64::from(asked[index].abs());
            let number = limit[index].max(0.0) as usize;
            if matches!(
                LIMIT_NAMES.get(number),
                Some(&"absolute heat" | &"surface heat" | &"core heat" | &"oil heat")
            ) {
                taken_nm += f64::from((asked[index].abs() - given[index].abs()).max(0.0));
            }
        }
    }
    Some(if asked_nm > 0.0 {
        taken_nm / asked_nm
    } else {
        0.0
    })
}

/// Share of the time in which heat leaves less than the whole capacity of a clutch; nothing without the controller's trace.
pub fn derated_share(record: &Record) -> Option<f64> {
    let (left, right) = (
        record.column("heat_ceiling_left")?,
        record.column("heat_ceiling_right")?,
    );
    let less = left
        .iter()
        .zip(right)
        .filter(|(left, right)| !(left.min(**right) >= 1.0 - NEAR))
        .count();
    Some(less as f64 / record.len().max(1) as f64)
}

/// What protection did to a drive; nothing for a record without the controller's trace.
pub(super) fn protection(record: &Record) -> Vec<Metric> {
    let (Some(derated), Some(taken)) = (derated_share(record), taken_share(record)) else {
        return Vec::new();
    };
    let length_s = record.len() as f64 * record.period_s;
    vec![
        Metric::new("time derated by heat", "s", Some(derated * length_s)),
        Metric::new("torque taken by heat", "%", Some(100.0 * taken)),
    ]
}

/// Share of the launch's goal at which a launch counts as done: the last of it is braking and noise.
const DONE_SHARE: f64 = 0.95;

/// Repeated launches: how many without protection, how long it opened, and whether the launch after the rest is what the first was.
pub(super) fn launches(numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let cycle_s = numbers.driver.cycle_s;
    let per = libm::round(cycle_s / record.period_s).max(1.0) as usize;
    let speed = record.column("speed").unwrap_or_default();
    let goal_m_s = (DONE_SHARE * crate::scenario::LAUNCH_GOAL_M_S) as f32;
    let time = |samples: &[f32]| {
        let reached = samples.iter().position(|speed| *speed >= goal_m_s);
        reached.map(|index| index as f64 * record.period_s)
    };
    let first = speed.get(..per).and_then(time);
    let rested = libm::round((numbers.course.longest_s - 2.0 * cycle_s) / record.period_s);
    let again = speed
        .get(rested.max(0.0) as usize..)
        .and_then(|rest| time(rest.get(..per).unwrap_or(rest)));
    let changes = transitions(record);
    let until = changes
        .first()
        .map_or(record.len() as f64 * record.period_s, |one| one.time_s);
    let done = libm::floor(until.min(numbers.driver.work_s) / cycle_s);
    let mut longest_s: Option<f64> = None;
    for (place, opened) in changes.iter().enumerate() {
        let closed = changes[place..]
            .iter()
            .find(|one| one.side == opened.side && one.from == Leave::Open);
        if let (Leave::Open, Some(closed)) = (opened.to, closed) {
            let open_s = closed.time_s - opened.time_s;
            longest_s = Some(longest_s.map_or(open_s, |longest| longest.max(open_s)));
        }
    }
    let largest = |name| series::largest_size(record, name, 0.0, f64::INFINITY);
    let surface = ["plant_clutch_surface_left", "plant_clutch_surface_right"]
        .into_iter()
        .filter_map(largest)
        .reduce(f64::max);
    vec![
        Metric::new("launches until derating", "-", Some(done)),
        Metric::new("first launch, time to 19 km/h", "s", first),
        Metric::new("launch after the rest, time to 19 km/h", "s", again),
        Metric::new("open to cool, longest", "s", longest_s),
        Metric::new("clutch surface, highest", "degC", surface),
        Metric::new("oil, highest", "degC", largest("plant_oil")),
    ]
}

/// Where the energy of a record went, kJ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Energies {
    /// Made in both clutches.
    pub made_kj: f64,
    /// Passed from the surfaces to the cores.
    pub to_core_kj: f64,
    /// Passed to the oil.
    pub to_oil_kj: f64,
    /// Passed to the housing.
    pub to_housing_kj: f64,
    /// Passed to the air.
    pub to_air_kj: f64,
    /// Stored more than at the start, in both clutches.
    pub clutches_kj: f64,
    /// The same, in the oil.
    pub oil_kj: f64,
    /// The same, in the housing.
    pub housing_kj: f64,
}

impl Energies {
    /// The largest difference that clutches, oil and housing leave open: what came in less what went out less what stayed.
    pub fn open_kj(&self) -> f64 {
        let clutches = self.made_kj - self.to_oil_kj - self.clutches_kj;
        let oil = self.to_oil_kj - self.to_housing_kj - self.oil_kj;
        let housing = self.to_housing_kj - self.to_air_kj - self.housing_kj;
        clutches.abs().max(oil.abs()).max(housing.abs())
    }
}

/// The energies; nothing for a record without the plant's.
pub fn energies(record: &Record) -> Option<Energies> {
    let rise = |name| series::rise(record, name).map(|joule| joule / 1000.0);
    Some(Energies {
        made_kj: rise("plant_clutch_energy_left")? + rise("plant_clutch_energy_right")?,
        to_core_kj: rise("plant_heat_to_core")?,
        to_oil_kj: rise("plant_heat_to_oil")?,
        to_housing_kj: rise("plant_heat_to_housing")?,
        to_air_kj: rise("plant_heat_to_air")?,
        clutches_kj: rise("plant_heat_in_clutches")?,
        oil_kj: rise("plant_heat_in_oil")?,
        housing_kj: rise("plant_heat_in_housing")?,
    })
}
