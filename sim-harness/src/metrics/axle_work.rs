//! What a paired axle did at each moment of a record, and what kept it from doing more.
//!
//! Input: a record with the controller's trace (torques asked and given, capacities, limits). Outputs: one [`Work`] per
//! sample, the same along the road, and the time every limit held. A side is held back when it misses at least 150 Nm and a
//! quarter of what was asked; the side that misses more speaks for both. Otherwise the torques themselves tell: a
//! difference with the turn turns the car in, against it holds it steady. Bounds chosen, no source: smaller torques are not
//! felt. The numbers of limits are those of records (`limit_left`); a test compares the names with the code.

use crate::record::Record;

/// Capacity below which a clutch counts as open, Nm.
const OPEN_NM: f64 = 60.0;
/// Missing torque from which a side is held back, Nm, and as a share of what was asked.
const HELD_NM: f64 = 150.0;
const HELD_SHARE: f64 = 0.25;
/// Missing torque from which a limit counts as holding, Nm.
const FELT_NM: f64 = 30.0;
/// Yaw rate below which the road is straight, rad/s.
const STRAIGHT_RAD_S: f64 = 0.05;
/// Share of the axle's torque that must differ between the sides to turn the car or hold it.
const DIFFERENCE_SHARE: f64 = 0.3;

/// Names of the limits by their number in records.
pub const LIMIT_NAMES: [&str; 21] = [
    "nothing",
    "open now",
    "fault",
    "absolute heat",
    "master cap",
    "rate",
    "slip direction",
    "capacity",
    "surface heat",
    "core heat",
    "oil heat",
    "cold oil",
    "tyre friction",
    "propshaft",
    "wind-up",
    "yaw limit",
    "guardian",
    "projection",
    "brake control",
    "kinematic lock",
    "unlike tyres",
];

/// What the axle does at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Work {
    /// Both clutches open: nothing is asked.
    Open,
    /// Drives, both sides about alike.
    Pulls,
    /// Drives or brakes the sides unlike, with the turn.
    TurnsIn,
    /// Works against the turn, or is closed with little torque: it damps.
    HoldsSteady,
    /// Would do more, but a temperature forbids it.
    HeldByHeat,
    /// Would do more, but the wheels' speeds allow no torque of that sign or size.
    HeldBySlip,
    /// Would do more, but the rear tyres pass no more on.
    HeldByFriction,
    /// Would do more, but the clutch is at its full capacity.
    HeldByCapacity,
    /// Would do more, but something else forbids it.
    HeldByOther,
}

impl Work {
    /// Every kind, in the order of its number.
    pub const ALL: [Self; 9] = [
        Self::Open,
        Self::Pulls,
        Self::TurnsIn,
        Self::HoldsSteady,
        Self::HeldByHeat,
        Self::HeldBySlip,
        Self::HeldByFriction,
        Self::HeldByCapacity,
        Self::HeldByOther,
    ];

    /// Position in [`Work::ALL`].
    pub fn number(self) -> usize {
        self as usize
    }

    /// The kind in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Pulls => "pulls",
            Self::TurnsIn => "turns the car in",
            Self::HoldsSteady => "holds the car steady",
            Self::HeldByHeat => "held back by heat",
            Self::HeldBySlip => "held back by slip direction",
            Self::HeldByFriction => "held back by tyre friction",
            Self::HeldByCapacity => "held back by the clutch's capacity",
            Self::HeldByOther => "held back by another limit",
        }
    }

    /// One letter for drawings.
    pub fn letter(self) -> char {
        match self {
            Self::Open => 'O',
            Self::Pulls => 'P',
            Self::TurnsIn => 'T',
            Self::HoldsSteady => 'S',
            Self::HeldByHeat => 'H',
            Self::HeldBySlip => 'D',
            Self::HeldByFriction => 'F',
            Self::HeldByCapacity => 'C',
            Self::HeldByOther => 'X',
        }
    }
}

/// The work at every sample; `None` for a record without the controller's trace.
pub fn work(record: &Record) -> Option<Vec<Work>> {
    let sides = Sides::of(record)?;
    let yaw = record.column("yaw_rate")?;
    Some(
        (0..record.len())
            .map(|index| sides.work(index, f64::from(yaw[index])))
            .collect(),
    )
}

/// A limit over a whole record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitTime {
    /// Its name.
    pub name: &'static str,
    /// Share of the record in which it held at least one side, 0 to 1.
    pub share: f64,
    /// Longest time without a break, s.
    pub longest_s: f64,
    /// When that began, s.
    pub longest_from_s: f64,
}

/// The limits that held, the longest first; `None` for a record without the controller's trace. A limit counts while the
/// side it holds misses at least 30 Nm. Shares of two limits may overlap: each side has its own.
pub fn limits(record: &Record) -> Option<Vec<LimitTime>> {
    let sides = Sides::of(record)?;
    let samples = record.len();
    let mut found: Vec<LimitTime> = Vec::new();
    for (number, name) in LIMIT_NAMES.iter().enumerate().skip(1) {
        let (mut held, mut streak, mut longest, mut ends) = (0_usize, 0_usize, 0_usize, 0_usize);
        for index in 0..samples {
            streak = if sides.holds(index, number) {
                streak + 1
            } else {
                0
            };
            held += usize::from(streak > 0);
            if streak > longest {
                (longest, ends) = (streak, index + 1);
            }
        }
        if held > 0 {
            found.push(LimitTime {
                name,
                share: held as f64 / samples as f64,
                longest_s: longest as f64 * record.period_s,
                longest_from_s: record.time_s(ends - longest),
            });
        }
    }
    // Stable: limits of equal share stay in the order of their numbers.
    found.sort_by(|one, other| other.share.total_cmp(&one.share));
    Some(found)
}

/// First sample at or beyond every multiple of `step_m` along the path, beginning with 0; ends where the car came to.
pub fn reached(record: &Record, step_m: f64) -> Vec<usize> {
    let mut reached = Vec::new();
    let Some(distance) = record.column("path_distance") else {
        return reached;
    };
    for (index, distance) in distance.iter().enumerate() {
        while f64::from(*distance) >= reached.len() as f64 * step_m {
            reached.push(index);
        }
    }
    reached
}

/// The work along the road: what took the most time in each piece between two places of [`reached`]; the last piece lasts
/// to the end of the record, so that a car that is stuck shows what it was stuck with.
pub fn along(work: &[Work], reached: &[usize]) -> Vec<Work> {
    (0..reached.len())
        .map(|piece| {
            let from = reached[piece];
            let to = reached.get(piece + 1).copied().unwrap_or(work.len());
            let mut counts = [0_usize; Work::ALL.len()];
            for kind in &work[from.min(work.len())..to.max(from + 1).min(work.len())] {
                counts[kind.number()] += 1;
            }
            let most = counts.iter().copied().max().unwrap_or(0);
            let first = counts.iter().position(|count| *count == most).unwrap_or(0);
            Work::ALL[first]
        })
        .collect()
}

/// Channels of both sides, left first.
struct Sides<'a> {
    asked: [&'a [f32]; 2],
    given: [&'a [f32]; 2],
    capacity: [&'a [f32]; 2],
    limit: [&'a [f32]; 2],
}

impl<'a> Sides<'a> {
    fn of(record: &'a Record) -> Option<Self> {
        let both = |left: &str, right: &str| Some([record.column(left)?, record.column(right)?]);
        Some(Self {
            asked: both("torque_asked_left", "torque_asked_right")?,
            given: both("torque_given_left", "torque_given_right")?,
            capacity: both("capacity_left", "capacity_right")?,
            limit: both("limit_left", "limit_right")?,
        })
    }

    fn missing_nm(&self, side: usize, index: usize) -> f64 {
        (f64::from(self.asked[side][index]) - f64::from(self.given[side][index])).abs()
    }

    fn holds(&self, index: usize, number: usize) -> bool {
        (0..2).any(|side| {
            self.limit[side][index] == number as f32 && self.missing_nm(side, index) >= FELT_NM
        })
    }

    fn work(&self, index: usize, yaw_rad_s: f64) -> Work {
        if let Some(limit) = self.held_by(index) {
            return match limit {
                3 | 8 | 9 | 10 => Work::HeldByHeat,
                6 | 19 => Work::HeldBySlip,
                7 => Work::HeldByCapacity,
                12 => Work::HeldByFriction,
                _ => Work::HeldByOther,
            };
        }
        let at = |column: [&[f32]; 2]| column.map(|side| f64::from(side[index]));
        let [left, right] = at(self.given);
        let [open_left, open_right] = at(self.capacity).map(|capacity| capacity < OPEN_NM);
        if open_left && open_right {
            return Work::Open;
        }
        let size = left.abs() + right.abs();
        let into_turn = if yaw_rad_s.abs() < STRAIGHT_RAD_S {
            0.0
        } else if yaw_rad_s > 0.0 {
            right - left
        } else {
            left - right
        };
        let felt = OPEN_NM.max(DIFFERENCE_SHARE * size);
        if into_turn > felt {
            Work::TurnsIn
        } else if into_turn < -felt || size < OPEN_NM {
            Work::HoldsSteady
        } else {
            Work::Pulls
        }
    }

    /// Number of the limit that holds the axle back: that of the side that misses more, the lower number if both miss the
    /// same, so that the mirrored record gives the same.
    fn held_by(&self, index: usize) -> Option<usize> {
        let mut worst: Option<(f64, usize)> = None;
        for side in 0..2 {
            let missing = self.missing_nm(side, index);
            let number = f64::from(self.limit[side][index]);
            let held = missing >= HELD_NM
                && missing >= HELD_SHARE * f64::from(self.asked[side][index].abs())
                && number >= 1.0;
            if held {
                let number = number as usize;
                worst = match worst {
                    Some((most, other))
                        if most > missing || (most == missing && other <= number) =>
                    {
                        Some((most, other))
                    }
                    _ => Some((missing, number)),
                };
            }
        }
        worst.map(|(_, number)| number)
    }
}
