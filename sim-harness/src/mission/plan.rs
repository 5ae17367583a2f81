//! A drive of a mission as slices: events in drawn order, cruising and standing between.
//!
//! In: mission, courses, number of the drive. Out: the drive's slices. A drive is a value of seed and number alone, but for what is left over of
//! fractions of events, seconds and metres, which is carried from drive to drive so that the means come out.

use super::axle::Slice;
use super::course::Course;
use super::exact::FASTEST_M_S;
use super::{Event, Mission};
use crate::plant::sensors::mixed;

/// Hours of a day.
pub const DAY_H: f64 = 24.0;

/// Days of a year.
const YEAR_DAYS: f64 = 365.25;

/// What is left over from the drives before.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Carried {
    events: [f64; Event::ALL.len()],
    cruise_s: f64,
    way_m: f64,
    standing_s: f64,
}

/// One drive.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// What is done, in order.
    pub slices: Vec<Slice>,
    /// Air, degC.
    pub ambient_degc: f64,
    /// Rest before the drive, s.
    pub rest_s: f64,
    /// Air during the rest, degC.
    pub rest_degc: f64,
    /// How many events.
    pub events: u32,
}

/// A share from 0 to 1 of seed and place (SplitMix64, Steele, Lea and Flood 2014, constants from memory).
fn share(seed: u64, place: u64) -> f64 {
    let step = 0x9e37_79b9_7f4a_7c15_u64;
    let bits = mixed(seed.wrapping_add((place + 1).wrapping_mul(step)));
    (bits >> 11) as f64 / (1_u64 << 53) as f64
}

/// Why the numbers of a mission cannot be driven, with the keys concerned.
pub fn contradiction(
    mission: &Mission,
    courses: &[Course],
) -> Option<(&'static [&'static str], String)> {
    let mean_m_s = mission.whole.way_km / mission.whole.time_h / 3.6;
    let drive_s = 60.0 * mission.drive.time_min;
    let (mut event_s, mut event_m) = (0.0, 0.0);
    for course in courses {
        let often = course.event.often(mission);
        event_s += often * course.time_s();
        event_m += often * course.way_m();
    }
    let way_m = mean_m_s * drive_s;
    if event_m > way_m {
        return Some((
            &["often", "drive.time_min", "whole.way_km"],
            format!(
                "the events of a mean drive go {event_m:.0} m, the drive only {way_m:.0} m: fewer events, longer drives or a longer way"
            ),
        ));
    }
    let cruise_s = (way_m - event_m) / (mission.drive.cruise_km_h / 3.6);
    if event_s + cruise_s > drive_s {
        return Some((
            &["drive.cruise_km_h", "whole.way_km", "whole.time_h"],
            format!(
                "a mean drive takes {:.0} s at this cruising speed, and only {drive_s:.0} s are there: a higher cruise_km_h, or a lower mean speed way_km / time_h",
                event_s + cruise_s
            ),
        ));
    }
    if mission.drive.per_day * mission.drive.time_min > 0.9 * DAY_H * 60.0 {
        return Some((
            &["drive.per_day", "drive.time_min"],
            "drives take more than nine tenths of the day: fewer or shorter ones".to_owned(),
        ));
    }
    None
}

/// The drive of that number.
pub fn drive(mission: &Mission, courses: &[Course], number: u64, carried: &mut Carried) -> Drive {
    let seed = mixed(mission.whole.seed as u64).wrapping_add(number.wrapping_mul(0x1_0000));
    let scale = 1.0 + mission.drive.spread * (2.0 * share(seed, 0) - 1.0);
    let mut events = Vec::new();
    for (index, event) in Event::ALL.into_iter().enumerate() {
        let Some(course) = courses.iter().find(|course| course.event == event) else {
            continue;
        };
        let due = carried.events[index] + scale * event.often(mission);
        let whole = due.floor().max(0.0);
        carried.events[index] = due - whole;
        events.extend(std::iter::repeat_n(course, whole as usize));
    }
    shuffle(&mut events, seed);
    let drive_s = scale * 60.0 * mission.drive.time_min;
    let way_m = drive_s * mission.whole.way_km / mission.whole.time_h / 3.6;
    let (event_s, event_m) = events.iter().fold((0.0, 0.0), |(time, way), course| {
        (time + course.time_s(), way + course.way_m())
    });
    let cruise_m_s = (mission.drive.cruise_km_h / 3.6)
        .round()
        .clamp(1.0, f64::from(FASTEST_M_S));
    // What one drive had too much of, the next has less: the means come out.
    let cruise_m = carried.way_m + way_m - event_m;
    let cruise_s = (cruise_m / cruise_m_s).floor().max(0.0);
    carried.way_m = cruise_m - cruise_s * cruise_m_s;
    let standing = carried.standing_s + drive_s - event_s - cruise_s;
    let standing_s = standing.floor().max(0.0);
    carried.standing_s = standing - standing_s;

    let gaps = events.len() as f64 + 1.0;
    let mut slices = Vec::new();
    let (mut cruised, mut stood) = (0.0, 0.0);
    for gap in 0..=events.len() {
        let upto = (gap as f64 + 1.0) / gaps;
        let part = |total: f64, before: &mut f64| {
            let until = (total * upto).floor();
            let time_s = until - *before;
            *before = until;
            time_s as u32
        };
        let time_s = part(cruise_s, &mut cruised);
        if time_s > 0 {
            slices.push(Slice::open(time_s, cruise_m_s as u8));
        }
        let time_s = part(standing_s, &mut stood);
        if time_s > 0 {
            slices.push(Slice::open(time_s, 0));
        }
        if let Some(course) = events.get(gap) {
            let recorded = share(seed, 1000 + gap as u64) < mission.sides.as_recorded;
            slices.extend(course.slices.iter().map(|slice| {
                if recorded {
                    *slice
                } else {
                    Slice {
                        torque_nm: slice.torque_nm.mirrored(),
                        slip_rad_s: slice.slip_rad_s.mirrored(),
                        ..*slice
                    }
                }
            }));
        }
    }
    let (ambient_degc, rest_degc, rest_s) = times(mission, number);
    Drive {
        slices,
        ambient_degc,
        rest_s,
        rest_degc,
        events: events.len() as u32,
    }
}

/// Air during a drive, air during the rest before it, and how long that rest was.
///
/// Drives lie two hours apart from seven o'clock on where the day has room, else closer; the night takes the rest.
fn times(mission: &Mission, number: u64) -> (f64, f64, f64) {
    let per_day = mission.drive.per_day.round().max(1.0);
    let drive_h = mission.drive.time_min / 60.0;
    let between_h = (((DAY_H - 8.0) / per_day) - drive_h).clamp(0.05, 2.0);
    let day = (number as f64 / per_day).floor();
    let of_day = number as f64 - day * per_day;
    let hour = 7.0 + of_day * (drive_h + between_h);
    let air = |hour: f64| {
        let season = libm::sin(std::f64::consts::TAU * (day / YEAR_DAYS));
        // Warmest at three in the afternoon.
        let of_day = libm::cos(std::f64::consts::TAU * (hour - 15.0) / DAY_H);
        mission.air.mean_degc + mission.air.season_k * season + mission.air.day_k * of_day
    };
    let night_h = DAY_H - (per_day - 1.0) * (drive_h + between_h) - drive_h;
    let rest_h = if of_day == 0.0 { night_h } else { between_h };
    (air(hour), air(hour - 0.5 * rest_h), 3600.0 * rest_h)
}

/// Draws an order (Fisher and Yates, after Durstenfeld 1964).
fn shuffle<T>(list: &mut [T], seed: u64) {
    for last in (1..list.len()).rev() {
        let place = (share(seed, 100_000 + last as u64) * (last as f64 + 1.0)) as usize;
        list.swap(last, place.min(last));
    }
}
