//! Oversteer seen from outside, clutches that lock, and clutches that open while the car oversteers.
//!
//! Input: a record with the slip angles of the tyres. A turning car oversteers while its rear tyres slip more than its front
//! ones: mean rear minus mean front slip angle in the turn's direction beyond [`MARGIN_RAD`]. By the single-track car this
//! is a yaw rate beyond the neutral-steer value, speed times road-wheel angle over wheelbase, by margin times speed over
//! wheelbase; an understeering car stays below it by its gradient. For the question whether clutches open in oversteer a car
//! also counts as oversteering when its yaw rate is [`YAW_MARGIN_RAD_S`] beyond a reference: the steady value of its own
//! linear single-track car with open clutches, at most what the road's friction can hold on the path, friction times gravity
//! over speed. An understeering car that swings in does that first. Both only while the sideslip outward grows. Nothing here
//! comes from the control law.

use crate::record::Record;

/// Slip-angle difference that counts as oversteer, rad: 0.5 deg, chosen; sensor-free truth needs no more.
pub const MARGIN_RAD: f64 = 0.5 * core::f64::consts::PI / 180.0;

/// Yaw rate beyond the single-track value that counts as oversteer, rad/s: 2 deg/s, chosen.
pub const YAW_MARGIN_RAD_S: f64 = 2.0 * core::f64::consts::PI / 180.0;

/// Standard gravity, m/s2 (ISO 80000-3).
const GRAVITY_M_S2: f64 = 9.806_65;

/// Below this speed slip angles say little, m/s.
const SLOW_M_S: f64 = 5.0;

/// Below this yaw rate the car does not turn, rad/s.
const STRAIGHT_RAD_S: f64 = 0.03;

/// Slip below which a clutch is locked, rad/s: the plant's stick is exact, so this is rounding of the record.
const LOCKED_RAD_S: f32 = 1e-3;

/// Capacity below which a clutch is open, Nm.
const OPEN_NM: f32 = 50.0;

/// Rear beyond front slip angle in the turn's direction, rad, sample by sample; negative while the car understeers.
pub fn excess_rad(record: &Record) -> Option<Vec<f64>> {
    let axle = |end: &str| -> Option<Vec<f64>> {
        let left = record.column(&format!("plant_slip_angle_{end}_left"))?;
        let right = record.column(&format!("plant_slip_angle_{end}_right"))?;
        Some(
            left.iter()
                .zip(right)
                .map(|(left, right)| 0.5 * (f64::from(*left) + f64::from(*right)))
                .collect(),
        )
    };
    let (front, rear) = (axle("front")?, axle("rear")?);
    let yaw_rate = record.column("yaw_rate")?;
    let speed = record.column("speed")?;
    Some(
        (0..record.len())
            .map(|index| {
                let yaw_rate = f64::from(yaw_rate[index]);
                if yaw_rate.abs() < STRAIGHT_RAD_S || f64::from(speed[index]) < SLOW_M_S {
                    return f64::NEG_INFINITY;
                }
                // A tyre that pushes to the left has a negative slip angle (ISO 8855).
                let beyond = front[index] - rear[index];
                if yaw_rate > 0.0 { beyond } else { -beyond }
            })
            .collect(),
    )
}

/// Samples in which the car oversteers, among those asked for; missing if the car never came there.
pub fn samples(record: &Record, asked: impl Fn(usize) -> bool) -> Option<usize> {
    let excess = excess_rad(record)?;
    (0..record.len()).find(|index| asked(*index))?;
    let count = excess
        .iter()
        .enumerate()
        .filter(|(index, excess)| asked(*index) && **excess > MARGIN_RAD)
        .count();
    Some(count)
}

/// How often a closed clutch goes from slip to lock, among the samples asked for; missing if the car never came there.
pub fn locks(record: &Record, asked: impl Fn(usize) -> bool) -> Option<usize> {
    let (left, right) = (locked(record, "left")?, locked(record, "right")?);
    Some(beginnings(&left, &asked)? + beginnings(&right, &asked)?)
}

/// How often the axle becomes solid: both clutches locked at once. Missing as in [`locks`].
pub fn solid(record: &Record, asked: impl Fn(usize) -> bool) -> Option<usize> {
    let (left, right) = (locked(record, "left")?, locked(record, "right")?);
    let both: Vec<bool> = left.iter().zip(right).map(|(l, r)| *l && r).collect();
    beginnings(&both, &asked)
}

/// Time over which a fall of ability counts, s.
const FALL_S: f64 = 0.1;

/// Share of the ability that may go in that time.
const FALL_SHARE: f64 = 0.05;

/// Capacity below which nothing is there to fall, Nm.
const LEAST_NM: f64 = 50.0;

/// Limits that may take ability away also in oversteer, by their number in the trace: open now, fault, absolute heat,
/// master cap, surface, core and oil heat, brake control.
pub const EXCUSES: [u8; 8] = [1, 2, 3, 4, 8, 9, 10, 18];

/// Slip below which a closed clutch damps yaw whichever way it slips, rad/s: about to lock.
const NEAR_LOCK_RAD_S: f32 = 0.4;

/// Which capacity is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ability {
    /// The capacity commanded: what is closed now.
    Commanded,
    /// The most the authority would allow.
    Possible,
}

/// How often the ability to counter falls by more than 5 % within 0.1 s while the car oversteers, other than by heat,
/// fault or order; missing for an axle that publishes none.
///
/// In every sample of that time the car must oversteer, and its sideslip outward must grow: see the top of the file. The
/// ability is the sum of the capacities of the clutches that could give a moment against the turn all that time: the inner
/// one while the shaft is faster than its wheel, the outer one while it is slower, and either one near its lock.
pub fn openings(record: &Record, friction: f64, ability: Ability) -> Option<usize> {
    let growing = growing_oversteer(record, friction)?;
    let excused = excused(record)?;
    let yaw_rate = record.column("yaw_rate")?;
    let name = match ability {
        Ability::Commanded => "capacity",
        Ability::Possible => "capacity_possible",
    };
    let capacity = (
        record.column(&format!("{name}_left"))?,
        record.column(&format!("{name}_right"))?,
    );
    let slip = (
        record.column("plant_clutch_slip_left")?,
        record.column("plant_clutch_slip_right")?,
    );
    // A clutch pulls its wheel towards the shaft: forward on the left, or backward on the right, turns the car right.
    let counters_left = |index: usize| {
        let wanted = if yaw_rate[index] > 0.0 { 1.0 } else { -1.0 };
        wanted * slip.0[index] > -NEAR_LOCK_RAD_S
    };
    let counters_right = |index: usize| {
        let wanted = if yaw_rate[index] > 0.0 { -1.0 } else { 1.0 };
        wanted * slip.1[index] > -NEAR_LOCK_RAD_S
    };
    let width = (libm::round(FALL_S / record.period_s) as usize).max(1);
    let fell: Vec<bool> = (0..record.len())
        .map(|index| {
            let Some(first) = index.checked_sub(width) else {
                return false;
            };
            if !(first..=index).all(|sample| growing[sample] && !excused[sample]) {
                return false;
            }
            let able = (
                (first..=index).all(counters_left),
                (first..=index).all(counters_right),
            );
            let sum = |at: usize| {
                let left = if able.0 {
                    f64::from(capacity.0[at])
                } else {
                    0.0
                };
                let right = if able.1 {
                    f64::from(capacity.1[at])
                } else {
                    0.0
                };
                left + right
            };
            sum(first) > LEAST_NM && sum(index) < (1.0 - FALL_SHARE) * sum(first)
        })
        .collect();
    beginnings(&fell, &|_| true)
}

/// How long the car oversteers with its sideslip growing, s: how much there was to judge.
pub fn growing_s(record: &Record, friction: f64) -> Option<f64> {
    let count = growing_oversteer(record, friction)?
        .iter()
        .filter(|now| **now)
        .count();
    Some(count as f64 * record.period_s)
}

/// Samples in which the car oversteers and its sideslip outward has grown over the last 50 ms.
fn growing_oversteer(record: &Record, friction: f64) -> Option<Vec<bool>> {
    let excess = excess_rad(record)?;
    let linear = record.column("single_track_yaw_rate");
    let speed = record.column("speed")?;
    let (sideslip, yaw_rate) = (record.column("sideslip")?, record.column("yaw_rate")?);
    let back = (libm::round(0.05 / record.period_s) as usize).max(1);
    Some(
        (0..record.len())
            .map(|index| {
                let Some(before) = index.checked_sub(back) else {
                    return false;
                };
                let rise = sideslip[index] - sideslip[before];
                let outward = if yaw_rate[index] > 0.0 { -rise } else { rise };
                let beyond = linear.is_some_and(|linear| {
                    // Straight or slow, the excess is not a number of its own.
                    if !excess[index].is_finite() {
                        return false;
                    }
                    let held = friction * GRAVITY_M_S2 / f64::from(speed[index]);
                    let linear = f64::from(linear[index]);
                    // Steering against the turn asks for none of it.
                    let asked = if yaw_rate[index] > 0.0 {
                        linear
                    } else {
                        -linear
                    };
                    let reference = asked.min(held).max(0.0);
                    f64::from(yaw_rate[index].abs()) - reference > YAW_MARGIN_RAD_S
                });
                (excess[index] > MARGIN_RAD || beyond) && outward > 0.0
            })
            .collect(),
    )
}

/// Samples in which heat, a fault or an order limits a side.
fn excused(record: &Record) -> Option<Vec<bool>> {
    let limits = (record.column("limit_left")?, record.column("limit_right")?);
    let heat = (
        record.column("heat_ceiling_left")?,
        record.column("heat_ceiling_right")?,
    );
    let health = record.column("health")?;
    let named = |number: f32| EXCUSES.iter().any(|excuse| f32::from(*excuse) == number);
    Some(
        (0..record.len())
            .map(|index| {
                named(limits.0[index])
                    || named(limits.1[index])
                    || heat.0[index] < 1.0
                    || heat.1[index] < 1.0
                    || health[index] > 0.0
            })
            .collect(),
    )
}

fn locked(record: &Record, side: &str) -> Option<Vec<bool>> {
    let slip = record.column(&format!("plant_clutch_slip_{side}"))?;
    let capacity = record.column(&format!("plant_clutch_capacity_{side}"))?;
    Some(
        slip.iter()
            .zip(capacity)
            .map(|(slip, capacity)| slip.abs() < LOCKED_RAD_S && *capacity > OPEN_NM)
            .collect(),
    )
}

/// How often a state begins among the samples asked for; one that is there already at the first of them counts too.
fn beginnings(state: &[bool], asked: &impl Fn(usize) -> bool) -> Option<usize> {
    let there = |index: usize| asked(index) && state[index];
    (0..state.len()).find(|index| asked(*index))?;
    Some(
        (0..state.len())
            .filter(|index| there(*index) && !(*index > 0 && there(*index - 1)))
            .count(),
    )
}
