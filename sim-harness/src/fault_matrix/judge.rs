//! What a fault did, from the records of the drive with it and of the drive without it.
//!
//! Yaw-rate change: largest difference of the yaw rates within 1 s of the onset. Drift: distance between the two cars at the
//! same time, across the travel of the one without the fault. Found: the first sample in which the law's own list of faults
//! or its health differs. Release commanded: from when on both commanded capacities together are under 50 N m for 0.1 s.
//! Torque under 10 %: from when on both clutch torques together are, for 0.1 s, under a tenth of their largest size after
//! the onset, or under 50 N m, which the targets of a release allow as what is left.

use super::{Cell, is_jammed};
use crate::fault::Kind;
use crate::record::Record;

/// Capacity below which both clutches count as released, N m.
const RELEASED_NM: f64 = 50.0;

/// Time for which something must be so, s.
const STAYS_S: f64 = 0.1;

/// Number of the health in which both clutches are kept open.
const OPEN: f32 = 2.0;

/// What a fault did. Times count from its onset.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Verdict {
    /// Largest change of the yaw rate within 1 s, deg/s.
    pub yaw_change_deg_s: Option<f64>,
    /// Drift after 1 s, m.
    pub drift_1s_m: Option<f64>,
    /// Drift after 2 s, m.
    pub drift_2s_m: Option<f64>,
    /// When the law named a fault, s.
    pub found_s: Option<f64>,
    /// When release was commanded, s.
    pub released_s: Option<f64>,
    /// When the torque was under a tenth, s.
    pub let_go_s: Option<f64>,
    /// Whether the law went to open clutches by its health.
    pub opened: bool,
}

impl Verdict {
    /// Its numbers, for keeping.
    pub fn numbers(&self) -> [Option<f64>; 7] {
        [
            self.yaw_change_deg_s,
            self.drift_1s_m,
            self.drift_2s_m,
            self.found_s,
            self.released_s,
            self.let_go_s,
            Some(f64::from(u8::from(self.opened))),
        ]
    }

    /// From its numbers.
    pub fn of(numbers: &[Option<f64>]) -> Option<Self> {
        let [yaw, first, second, found, released, let_go, opened] = *numbers else {
            return None;
        };
        Some(Self {
            yaw_change_deg_s: yaw,
            drift_1s_m: first,
            drift_2s_m: second,
            found_s: found,
            released_s: released,
            let_go_s: let_go,
            opened: opened? > 0.5,
        })
    }
}

/// What a cell may do at most; nothing where nothing is asked.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Limits {
    /// Yaw-rate change, deg/s.
    pub yaw_change_deg_s: Option<f64>,
    /// Drift after 1 s, m.
    pub drift_1s_m: Option<f64>,
    /// Drift after 2 s, m.
    pub drift_2s_m: Option<f64>,
    /// Release commanded by, s.
    pub released_s: Option<f64>,
    /// Torque under a tenth by, s.
    pub let_go_s: Option<f64>,
}

/// Limits of a cell (project requirements): 0.5 m and 3 deg/s at 120 km/h with the hands still; a jammed clutch 0.35 m on
/// the nominal car, 0.5 m on the worst radii also at 160 km/h, 0.75 m with a person; release by 0.1 s where the law opens or
/// a first channel or output stage gives all, torque under a tenth by 0.22 s warm and 0.43 s cold.
pub fn limits(cell: &Cell, verdict: &Verdict) -> Limits {
    let mut limits = Limits::default();
    let drive = &cell.drive;
    if is_jammed(&cell.fault) {
        if drive.person {
            limits.drift_2s_m = Some(0.75);
        } else if drive.car == super::Car::LargeRear && drive.speed_km_h >= 120.0 {
            limits.drift_1s_m = Some(0.5);
        } else if drive.speed_km_h == 120.0 {
            limits.drift_1s_m = Some(0.35);
        }
        return limits;
    }
    if !drive.person && drive.speed_km_h == 120.0 {
        limits.drift_1s_m = Some(0.5);
        limits.yaw_change_deg_s = Some(3.0);
    }
    // What comes slowly or with a pause is not there at its onset.
    let begins_s = match cell.fault.kind {
        Kind::Intermittent => 0.5 * cell.fault.size,
        Kind::Drift => verdict.found_s.unwrap_or(0.0),
        _ => 0.0,
    };
    if verdict.opened || cell.fault.kind == Kind::Full {
        limits.released_s = Some(begins_s + 0.1);
        let cold = drive.car == super::Car::Cold;
        limits.let_go_s = Some(begins_s + if cold { 0.43 } else { 0.22 });
    }
    limits
}

impl Limits {
    /// Largest value over its limit: above 1 something is missed. A time that does not exist is missed as if it were 1 s.
    pub fn worst(&self, verdict: &Verdict) -> Option<f64> {
        let share = |value: Option<f64>, limit: Option<f64>, missing: f64| {
            limit.map(|limit| value.unwrap_or(missing) / limit)
        };
        [
            share(
                verdict.yaw_change_deg_s,
                self.yaw_change_deg_s,
                f64::INFINITY,
            ),
            share(verdict.drift_1s_m, self.drift_1s_m, f64::INFINITY),
            share(verdict.drift_2s_m, self.drift_2s_m, f64::INFINITY),
            share(verdict.released_s, self.released_s, 1.0),
            share(verdict.let_go_s, self.let_go_s, 1.0),
        ]
        .into_iter()
        .flatten()
        .reduce(f64::max)
    }
}

/// Sample by sample of a channel; empty where there is none.
fn column<'r>(record: &'r Record, name: &str) -> &'r [f32] {
    record.column(name).unwrap_or_default()
}

/// Sum of two channels.
fn sum(record: &Record, left: &str, right: &str) -> Vec<f64> {
    let pairs = column(record, left).iter().zip(column(record, right));
    pairs
        .map(|(left, right)| f64::from(left.abs()) + f64::from(right.abs()))
        .collect()
}

/// Judges the drive with a fault from `onset_s` on beside the one without.
pub fn judge(faulty: &Record, free: &Record, onset_s: f64) -> Verdict {
    let sample = |time_s: f64| libm::round(time_s / free.period_s) as usize;
    let onset = sample(onset_s);
    let since = |index: usize| (index - onset) as f64 * free.period_s;
    let (yaw, yaw_free) = (column(faulty, "yaw_rate"), column(free, "yaw_rate"));
    let yaw_change = (onset..=sample(onset_s + 1.0))
        .map(|index| Some(f64::from(yaw.get(index)? - yaw_free.get(index)?).abs()))
        .try_fold(0.0, |most: f64, one| one.map(|one| most.max(one)));
    let drift = |after_s: f64| {
        let index = sample(onset_s + after_s);
        let at = |record, name| column(record, name).get(index).map(|v| f64::from(*v));
        let travel = at(free, "heading")? + at(free, "sideslip")?;
        let x = at(faulty, "position_x")? - at(free, "position_x")?;
        let y = at(faulty, "position_y")? - at(free, "position_y")?;
        let (sine, cosine) = libm::sincos(travel);
        Some((y * cosine - x * sine).abs())
    };
    let names = [
        "faults",
        "wheel_faults_left",
        "wheel_faults_right",
        "health",
    ];
    let found = (onset..faulty.len()).find(|index| {
        names.iter().any(|name| {
            let (seen, before) = (column(faulty, name), column(free, name));
            seen.get(*index) != before.get(*index)
        })
    });
    let stays = sample(STAYS_S);
    let released = stays_under(
        &sum(faulty, "capacity_left", "capacity_right"),
        onset,
        RELEASED_NM,
        stays,
    );
    let torque = sum(
        faulty,
        "plant_clutch_torque_left",
        "plant_clutch_torque_right",
    );
    let most = torque.iter().skip(onset).fold(0.0_f64, |a, b| a.max(*b));
    let let_go = stays_under(&torque, onset, (0.1 * most).max(RELEASED_NM), stays);
    Verdict {
        yaw_change_deg_s: yaw_change.map(f64::to_degrees),
        drift_1s_m: drift(1.0),
        drift_2s_m: drift(2.0),
        found_s: found.map(since),
        released_s: released.map(since),
        let_go_s: let_go.map(since),
        opened: column(faulty, "health")
            .iter()
            .skip(onset)
            .any(|health| *health >= OPEN),
    }
}

/// First index from `from` on at which nothing is above a limit for so many samples.
fn stays_under(row: &[f64], from: usize, limit: f64, samples: usize) -> Option<usize> {
    let under = |first: &usize| {
        let window = row.get(*first..*first + samples);
        window.is_some_and(|window| window.iter().all(|value| *value <= limit))
    };
    (from..row.len()).find(under)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Channel, Parity};

    /// A car at 30 m/s along x; one with a fault from 1 s on turns at 0.1 rad/s and so is 15 mm to the left after 0.1 s.
    fn record(fault: bool) -> Record {
        let channel = |name| Channel {
            name,
            unit: "-",
            parity: Parity::Even,
        };
        let names = [
            "position_x",
            "position_y",
            "heading",
            "sideslip",
            "yaw_rate",
            "health",
            "capacity_left",
            "capacity_right",
            "plant_clutch_torque_left",
            "plant_clutch_torque_right",
        ];
        let mut record = Record::new(0.005, names.map(channel).to_vec());
        for step in 0..620 {
            let time_s = 0.005 * f64::from(step);
            let since_s = (time_s - 1.0).max(0.0);
            let there = fault && time_s >= 1.0 - 1e-9;
            let side = if there {
                15.0 * since_s * since_s * 0.1
            } else {
                0.0
            };
            let after = |delay_s: f64, before: f32| {
                if there && since_s >= delay_s - 1e-9 {
                    0.0
                } else {
                    before
                }
            };
            record.push(&[
                30.0 * time_s as f32,
                side as f32,
                0.0,
                0.0,
                if there { 0.1 } else { 0.0 },
                if there && since_s >= 0.03 - 1e-9 {
                    2.0
                } else {
                    0.0
                },
                after(0.05, 200.0),
                after(0.04, 200.0),
                after(0.2, 300.0),
                after(0.1, -300.0),
            ]);
        }
        record
    }

    #[test]
    fn a_made_record_is_judged_by_its_own_numbers() {
        let verdict = judge(&record(true), &record(false), 1.0);
        let near = |value: Option<f64>, wanted: f64| {
            value.is_some_and(|value| (value - wanted).abs() < 1e-4)
        };
        assert!(
            near(verdict.yaw_change_deg_s, 0.1_f64.to_degrees()),
            "{verdict:?}"
        );
        assert!(near(verdict.drift_1s_m, 1.5), "{verdict:?}");
        assert!(near(verdict.drift_2s_m, 6.0), "{verdict:?}");
        assert!(near(verdict.found_s, 0.03), "{verdict:?}");
        assert!(near(verdict.released_s, 0.05), "{verdict:?}");
        assert!(near(verdict.let_go_s, 0.2), "{verdict:?}");
        assert!(verdict.opened);
        assert_eq!(Verdict::of(&verdict.numbers()), Some(verdict));
    }

    #[test]
    fn without_a_difference_nothing_is_found_and_a_value_that_is_missing_is_missed() {
        let verdict = judge(&record(false), &record(false), 1.0);
        assert_eq!(verdict.drift_1s_m, Some(0.0));
        assert_eq!((verdict.found_s, verdict.released_s), (None, None));
        let limits = Limits {
            released_s: Some(0.1),
            ..Limits::default()
        };
        assert_eq!(limits.worst(&verdict), Some(10.0));
        assert_eq!(Limits::default().worst(&verdict), None);
    }
}
