//! Properties of obedience: orders, requests and caps of the car, and lost signals.

use super::rows::{once_held, row, sides, steps, sum};
use super::{Beside, Property, Seen};

const fn property(
    name: &'static str,
    meaning: &'static str,
    measure: fn(&Seen<'_>, Option<&Seen<'_>>) -> Option<f64>,
) -> Property {
    Property {
        name,
        meaning,
        beside: Beside::Nothing,
        with_faults: true,
        about: &[],
        measure,
    }
}

const fn about(places: &'static [&'static str], property: Property) -> Property {
    Property {
        about: places,
        ..property
    }
}

/// Capacity of both clutches together that counts as released, N m.
const RELEASED_NM: f64 = 50.0;

/// Whether a flag is up: beyond its range it says nothing, and counts as lost in its own time.
fn is_up(flag: f64) -> bool {
    flag > 0.5 && flag <= 1.0
}

/// Measure of released clutches at a sample.
fn released(both: &[f64], index: usize) -> f64 {
    (RELEASED_NM - both[index]) / RELEASED_NM
}

/// An order opens.
pub const OPEN_NOW: Property = about(
    &["open_now/offset"],
    property(
        "opens-on-order",
        "20 ms after the order to open both clutches are open",
        |seen, _| {
            let both = sum(&sides(seen, "given_capacity")?);
            let order: Vec<bool> = row(seen, "open_now")?.iter().map(|v| is_up(*v)).collect();
            once_held(&order, steps(seen, 0.02), |index| released(&both, index))
        },
    ),
);

/// The brake controls are given way to.
pub const BRAKES: Property = about(
    &["anti_lock_active/offset", "stability_active/offset"],
    property(
        "lets-go-for-the-brakes",
        "0.1 s after anti-lock or stability control begins both clutches are released",
        |seen, _| {
            let both = sum(&sides(seen, "given_capacity")?);
            let anti_lock = row(seen, "anti_lock_active")?;
            let stability = row(seen, "stability_active")?;
            let active = anti_lock.iter().zip(&stability);
            let active: Vec<bool> = active.map(|(a, s)| is_up(*a) || is_up(*s)).collect();
            once_held(&active, steps(seen, 0.1), |index| released(&both, index))
        },
    ),
);

/// Largest of the last few known values of a cap.
fn last_caps(caps: &[f64], index: usize) -> f64 {
    let known = &caps[index.saturating_sub(4)..=index];
    known
        .iter()
        .fold(f64::NEG_INFINITY, |most, cap| most.max(*cap))
}

/// The master's cap on the sum.
pub const SUM_CAP: Property = about(
    &["rear_torque_cap/offset"],
    property(
        "sum-cap-kept",
        "25 ms after the master's cap on the rear torque both capacities together are within it",
        |seen, _| {
            let both = sum(&sides(seen, "given_capacity")?);
            let caps = row(seen, "rear_torque_cap")?;
            // Only a cap that a sender vouches for and that the signal's range admits.
            let known: Vec<bool> = caps
                .iter()
                .map(|cap| (0.0..=20_000.0).contains(cap))
                .collect();
            once_held(&known, 5, |index| {
                (last_caps(&caps, index) + 2.0 - both[index]) / 100.0
            })
        },
    ),
);

/// The master's cap on the yaw moment.
pub const YAW_CAP: Property = about(
    &["yaw_moment_cap/offset"],
    property(
        "yaw-cap-kept",
        "25 ms after the master's cap on the yaw moment the expected moment is within it",
        |seen, _| {
            let vehicle = &seen.page.tunables.vehicle;
            let lever = f64::from(0.5 * vehicle.track_m / vehicle.wheel_radius_m);
            let [left, right] = sides(seen, "given_torque")?;
            let caps = row(seen, "yaw_moment_cap")?;
            let known: Vec<bool> = caps
                .iter()
                .map(|cap| (0.0..=40_000.0).contains(cap))
                .collect();
            once_held(&known, 5, |index| {
                let moment = lever * (right[index] - left[index]).abs();
                (last_caps(&caps, index) + 10.0 - moment) / 100.0
            })
        },
    ),
);

/// Health open means open.
pub const HEALTH_OPEN: Property = about(
    &[
        "wheel_speed_front_left",
        "wheel_speed_rear_right",
        "request_left",
        "open_now",
    ],
    property(
        "open-means-open",
        "while health says open, 20 ms later no capacity is left",
        |seen, _| {
            let both = sum(&sides(seen, "given_capacity")?);
            let open: Vec<bool> = row(seen, "given_health")?
                .iter()
                .map(|v| *v > 1.5)
                .collect();
            once_held(&open, steps(seen, 0.02), |index| {
                (1.0 - both[index]).min(1.0)
            })
        },
    ),
);

/// A lost order counts as an order.
pub const LOST_ORDER: Property = about(
    &["open_now/off"],
    property(
        "lost-order-opens",
        "0.6 s after the order channel fell silent both clutches are open",
        |seen, _| {
            let both = sum(&sides(seen, "given_capacity")?);
            let lost: Vec<bool> = row(seen, "open_now")?.iter().map(|v| v.is_nan()).collect();
            once_held(&lost, steps(seen, 0.6), |index| released(&both, index))
        },
    ),
);

/// Without a yaw rate both sides are alike.
pub const EVEN_WHEN_UNKNOWN: Property = about(
    &["yaw_rate/off"],
    property(
        "even-without-yaw-rate",
        "0.6 s after the yaw rate fell silent both capacities differ by no more than 50 N m",
        |seen, _| {
            let [left, right] = sides(seen, "given_capacity")?;
            let lost: Vec<bool> = row(seen, "yaw_rate")?.iter().map(|v| v.is_nan()).collect();
            // At a crawl the split launch may pull on one side.
            let speed = super::rows::of(&seen.record, "speed")?;
            let lost: Vec<bool> = lost
                .iter()
                .zip(&speed)
                .map(|(l, v)| *l && *v > 8.0)
                .collect();
            once_held(&lost, steps(seen, 0.6), |index| {
                (50.0 - (left[index] - right[index]).abs()) / 50.0
            })
        },
    ),
);
