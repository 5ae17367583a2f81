//! Two faults at once: the list, and what must hold whatever the pair.
//!
//! No unbounded torque: no commanded capacity beyond the calibrated one, and no number that is none. No oscillation: the
//! torque difference changes its sign with a swing of at least 100 N m at most four times in the last second. A safe state:
//! in the last half second the law says that it is not whole, or both torques differ by no more than 200 N m, or the car
//! goes as without the faults (within 1 deg/s). Limits chosen, no source.

use super::{Act, Car, Drive, ONSET_S};
use crate::fault::{Fault, Kind};
use crate::record::Record;

/// A swing of the torque difference that counts, N m.
const SWING_NM: f64 = 100.0;
/// Most changes of sign in the last second.
const MOST_CHANGES: usize = 4;
/// Difference of both torques that is no danger, N m.
const EVEN_NM: f64 = 200.0;
/// Change of the yaw rate that is none, deg/s.
const SAME_DEG_S: f64 = 1.0;

/// The pairs: (place, kind) twice; sizes are those of the matrix.
const PAIRS: [[(&str, Kind); 2]; 20] = [
    [("current_left", Kind::Full), ("current_right", Kind::Full)],
    [("request_left", Kind::Full), ("request_right", Kind::Full)],
    [("request_left", Kind::Full), ("yaw_rate", Kind::Off)],
    [("request_left", Kind::Full), ("open_now", Kind::Off)],
    [("current_left", Kind::Full), ("yaw_rate", Kind::Off)],
    [("current_left", Kind::Full), ("yaw_rate", Kind::Stuck)],
    [("current_left", Kind::Full), ("open_now", Kind::Off)],
    [
        ("current_left", Kind::Full),
        ("wheel_speed_rear_left", Kind::Off),
    ],
    [("clutch_left", Kind::StuckClosed), ("yaw_rate", Kind::Off)],
    [
        ("clutch_left", Kind::StuckClosed),
        ("clutch_right", Kind::StuckOpen),
    ],
    [
        ("clutch_left", Kind::StuckClosed),
        ("clutch_right", Kind::StuckClosed),
    ],
    [
        ("clutch_left", Kind::Leak),
        ("clutch_right", Kind::TouchPoint),
    ],
    [
        ("yaw_rate", Kind::WrongSign),
        ("lateral_acceleration", Kind::WrongSign),
    ],
    [
        ("yaw_rate", Kind::Stuck),
        ("steering_wheel_angle", Kind::Stuck),
    ],
    [
        ("yaw_rate", Kind::Offset),
        ("wheel_speed_rear_left", Kind::Offset),
    ],
    [
        ("wheel_speed_front_left", Kind::Off),
        ("wheel_speed_rear_right", Kind::Off),
    ],
    [
        ("wheel_speed_front_left", Kind::Stuck),
        ("wheel_speed_rear_left", Kind::Stuck),
    ],
    [
        ("wheel_speed_rear_left", Kind::Swap),
        ("yaw_rate", Kind::Delay),
    ],
    [
        ("carrier_torque", Kind::Stuck),
        ("accelerator_pedal", Kind::Stuck),
    ],
    [
        ("steering_wheel_angle", Kind::WrongSign),
        ("yaw_rate", Kind::Delay),
    ],
];

/// The pairs as faults; one whose place the table of signals does not know any more is left out, and a test counts them.
pub fn pairs() -> Vec<[Fault; 2]> {
    let all = super::list::single();
    let fault = |(place, kind): (&str, Kind)| {
        let same = |fault: &&Fault| fault.place.name() == place && fault.kind == kind;
        all.iter().find(same).copied()
    };
    PAIRS
        .iter()
        .filter_map(|[one, other]| Some([fault(*one)?, fault(*other)?]))
        .collect()
}

/// Number of pairs in the list.
pub const COUNT: usize = PAIRS.len();

/// The drives of the pairs: under power straight ahead and in the turn, 120 km/h, hands still.
pub fn drives() -> Vec<Drive> {
    let drive = |act| Drive {
        speed_km_h: 120.0,
        act,
        car: Car::Nominal,
        setting: "patrol",
        person: false,
    };
    [Act::Power, Act::CurvePower].map(drive).to_vec()
}

/// What of the three promises a drive with both faults breaks, in words.
pub fn broken(faulty: &Record, free: &Record, capacity_nm: f64) -> Vec<String> {
    let mut broken = Vec::new();
    let column = |record: &Record, name: &str| -> Vec<f64> {
        let column = record.column(name).unwrap_or_default();
        column.iter().map(|value| f64::from(*value)).collect()
    };
    for name in [
        "capacity_left",
        "capacity_right",
        "current_left",
        "current_right",
    ] {
        let row = column(faulty, name);
        if row.is_empty() || !row.iter().all(|value| value.is_finite() && *value >= 0.0) {
            broken.push(format!("{name} is missing, negative or no number"));
        }
        let most = row.iter().fold(0.0_f64, |a, b| a.max(*b));
        if name.starts_with("capacity") && !(most <= 1.001 * capacity_nm) {
            broken.push(format!("{name} reaches {most:.0} N m"));
        }
    }
    let left = column(faulty, "plant_clutch_torque_left");
    let right = column(faulty, "plant_clutch_torque_right");
    let difference: Vec<f64> = left.iter().zip(&right).map(|(l, r)| r - l).collect();
    let lasts = |time_s: f64| {
        let samples = libm::round(time_s / faulty.period_s) as usize;
        difference.len().saturating_sub(samples)
    };
    let changes = sign_changes(&difference[lasts(1.0)..]);
    if changes > MOST_CHANGES {
        broken.push(format!(
            "the torque difference changes its sign {changes} times in the last second"
        ));
    }
    let from = lasts(0.5);
    let told = column(faulty, "health")
        .iter()
        .skip(from)
        .all(|health| *health > 0.0);
    let even = difference
        .iter()
        .skip(from)
        .all(|value| value.abs() <= EVEN_NM);
    let yaw = column(faulty, "yaw_rate");
    let apart = yaw.iter().zip(column(free, "yaw_rate")).skip(from);
    let same = apart.fold(0.0_f64, |most, (one, other)| most.max((one - other).abs()));
    let same = same.to_degrees() <= SAME_DEG_S;
    if !(told || even || same) {
        broken.push(
            "no safe state within 1.5 s: uneven torque, the car turned, and health says full"
                .into(),
        );
    }
    broken
}

/// Changes of sign between swings of at least [`SWING_NM`].
fn sign_changes(row: &[f64]) -> usize {
    let mut last = 0.0_f64;
    let mut count = 0;
    for value in row.iter().filter(|value| value.abs() >= 0.5 * SWING_NM) {
        if last * value < 0.0 {
            count += 1;
        }
        last = *value;
    }
    count
}

/// When the faults begin, s.
pub const BEGINS_S: f64 = ONSET_S;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_of_the_list_can_be_driven() {
        assert_eq!(pairs().len(), COUNT);
        assert_eq!(pairs()[0][0].place.name(), "current_left");
    }

    #[test]
    fn swings_are_counted_and_small_ones_are_not() {
        let swings: Vec<f64> = (0..100)
            .map(|step| if (step / 10) % 2 == 0 { 80.0 } else { -80.0 })
            .collect();
        assert_eq!(sign_changes(&swings), 9);
        let small: Vec<f64> = swings.iter().map(|value| 0.5 * value).collect();
        assert_eq!(sign_changes(&small), 0);
    }
}
