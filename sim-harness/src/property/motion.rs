//! Properties of the car's motion: the torque goes where the law says, helps, and leaves nothing behind.

use super::rows::{always, mean_before, of, once_held, sides, steps, sum};
use super::{Beside, Property, Seen};
use crate::metrics::value;

const fn property(
    name: &'static str,
    meaning: &'static str,
    measure: fn(&Seen<'_>, Option<&Seen<'_>>) -> Option<f64>,
) -> Property {
    Property {
        name,
        meaning,
        beside: Beside::Nothing,
        with_faults: false,
        about: &[],
        measure,
    }
}

/// Sideslip beyond which the car is lost: what its axle does then is not judged here, rad.
const LOST_RAD: f64 = 15.0 * core::f64::consts::PI / 180.0;

/// Samples until the car is lost.
fn kept(seen: &Seen<'_>) -> Option<usize> {
    let sideslip = of(&seen.record, "sideslip")?;
    let lost = sideslip.iter().position(|value| value.abs() > LOST_RAD);
    Some(lost.unwrap_or(sideslip.len()))
}

/// Torque that is worth a sign, N m.
const WORTH_NM: f64 = 100.0;
/// Most changes of the expected sign in a second.
const MOST_CHANGES: f64 = 6.0;

/// The expected sign does not flicker.
pub const SIGN_REMEMBERED: Property = property(
    "sign-remembered",
    "the expected torque of a side changes its sign at most 6 times a second at 100 N m and more",
    |seen, _| {
        let (second, kept) = (steps(seen, 1.0), kept(seen)?);
        let most = sides(seen, "given_torque")?
            .iter()
            .map(|side| {
                let large: Vec<f64> = side
                    .iter()
                    .take(kept)
                    .map(|v| v.clamp(-WORTH_NM, WORTH_NM))
                    .collect();
                super::rows::reversals(&large, second, 1.9 * WORTH_NM)
            })
            .max()?;
        Some((MOST_CHANGES + 0.5 - most as f64) / MOST_CHANGES)
    },
);

/// Expected torque and true torque agree in sign.
pub const TORQUE_AS_SAID: Property = property(
    "torque-as-said",
    "over 0.2 s no clutch carries 150 N m against the sign that the law expects with 150 N m",
    |seen, _| {
        let window = steps(seen, 0.2);
        let kept = kept(seen)?;
        let expected = sides(seen, "given_torque")?;
        let carried = sides(seen, "plant_clutch_torque")?;
        let mut worst = f64::INFINITY;
        for (expected, carried) in expected.iter().zip(&carried) {
            for index in window..expected.len().min(carried.len()).min(kept) {
                let (said, so) = (
                    mean_before(expected, index, window),
                    mean_before(carried, index, window),
                );
                let both = said.abs().min(so.abs());
                let signed = if said * so < 0.0 { -both } else { both };
                worst = worst.min(signed / 150.0 + 1.0);
            }
        }
        worst.is_finite().then_some(worst)
    },
);

/// Yaw moment that hardly counts, N m.
const SMALL_NM: f64 = 600.0;

/// The axle's moment is not against what is missing. Goes by the trace for what is wanted.
pub const MOMENT_HELPS: Property = property(
    "moment-helps",
    "while 0.1 rad/s of yaw rate are missing for 0.2 s, the axle's mean moment is not 600 N m against it",
    |seen, _| {
        let window = steps(seen, 0.2);
        let wanted = of(&seen.record, "yaw_rate_wanted")?;
        let is = of(&seen.record, "yaw_rate")?;
        let moment = of(&seen.record, "plant_yaw_moment_axle")?;
        let missing: Vec<f64> = wanted.iter().zip(&is).map(|(w, i)| w - i).collect();
        let mut worst: Option<f64> = None;
        for index in window..missing.len().min(kept(seen)?) {
            let least = always(missing[index - window..=index].iter().map(|e| e.abs()))?;
            let error = mean_before(&missing, index, window);
            if least > 0.1 && error.abs() > 0.1 {
                let helps = mean_before(&moment, index, window) * error.signum();
                let measure = 1.0 + helps / SMALL_NM;
                worst = Some(worst.map_or(measure, |worst| worst.min(measure)));
            }
        }
        worst
    },
);

/// Closed clutches are not given up in oversteer.
pub const KEPT_IN_OVERSTEER: Property = property(
    "kept-in-oversteer",
    "while the car oversteers no capacity that can counter is given up",
    |seen, _| {
        let given_up = value(&seen.metrics, "capacity against oversteer given up, times")?;
        let judged = value(&seen.metrics, "time of growing oversteer")?;
        // The more oversteer there was to judge, the nearer: the search has a slope to go by.
        Some(0.5 - given_up + 0.5 / (1.0 + judged))
    },
);

/// Not much more sideslip than with open clutches.
pub const STEADIER_THAN_OPEN: Property = Property {
    beside: Beside::Open,
    ..property(
        "steadier-than-open",
        "the largest sideslip is at most 1.2 times and 3 deg more than with open clutches",
        |seen, open| {
            let most = |seen: &Seen<'_>| {
                let row = of(&seen.record, "sideslip")?;
                row.iter().map(|v| v.abs().to_degrees()).reduce(f64::max)
            };
            let (paired, open) = (most(seen)?, most(open?)?);
            // A passive car that spins is no measure of steadiness.
            (open < 60.0).then_some((1.2 * open + 3.0 - paired) / 3.0)
        },
    )
};

/// Nothing is left of a turn once it is over.
pub const NOTHING_LEFT_OVER: Property = property(
    "nothing-left-over",
    "half a second after car and wheel go straight on a level road both capacities differ by no more than 300 N m",
    |seen, _| {
        let road = &seen.scenario.numbers.road;
        if road.friction_left != road.friction_right || road.bank_percent != 0.0 {
            return None;
        }
        let [left, right] = sides(seen, "given_capacity")?;
        let (yaw, steer) = (
            of(&seen.record, "yaw_rate")?,
            of(&seen.record, "road_wheel_angle")?,
        );
        let speed = of(&seen.record, "speed")?;
        let still: Vec<bool> = (0..yaw.len())
            .map(|i| yaw[i].abs() < 0.03 && steer[i].abs() < 0.003 && speed[i] > 8.0)
            .collect();
        once_held(&still, steps(seen, 0.5), |index| {
            (300.0 - (left[index] - right[index]).abs()) / 300.0
        })
    },
);

/// No wind-up in a tight turn at walking pace.
pub const WIND_UP: Property = property(
    "no-wind-up",
    "below 3 m/s at large steering the rear wheels are not held back with more than 150 N m",
    |seen, _| {
        let torque = sum(&sides(seen, "plant_clutch_torque")?);
        let (speed, steer) = (
            of(&seen.record, "speed")?,
            of(&seen.record, "road_wheel_angle")?,
        );
        let drive = of(&seen.record, "plant_carrier_torque")?;
        let tight: Vec<bool> = (0..torque.len())
            .map(|i| speed[i] > 0.3 && speed[i] < 3.0 && steer[i].abs() > 0.25)
            .collect();
        let judged = once_held(&tight, steps(seen, 0.2), |index| {
            let held_back = (-torque[index]).max(torque[index] - drive[index].max(0.0));
            (150.0 - held_back) / 150.0
        });
        // A promise about what never happens holds by how far it was from happening.
        let far = (0..torque.len())
            .map(|i| ((speed[i] - 3.0) / 10.0).max((0.25 - steer[i].abs()) / 0.25));
        judged.or_else(|| Some(1.0 + always(far)?.max(0.0)))
    },
);

/// Largest drift a single fault may cause within a second, m.
const DRIFT_M: f64 = 0.5;

/// A single fault drifts little with the hands still.
pub const FAULT_DRIFT: Property = Property {
    beside: Beside::Sound,
    with_faults: true,
    ..property(
        "fault-drift",
        "one fault, hands still, up to 120 km/h: 1 s after its onset the car is within 0.5 m of the one without",
        |seen, sound| {
            let [fault] = seen.scenario.faults[..] else {
                return None;
            };
            let numbers = &seen.scenario.numbers;
            let calm = numbers.disturbance.person < 0.5
                && numbers.disturbance.steer_deg == 0.0
                && numbers.disturbance.turn_m_s2 <= 5.0
                && numbers.course.speed_m_s <= 33.4
                && numbers.road.friction_left.min(numbers.road.friction_right) >= 0.8;
            if !calm {
                return None;
            }
            let verdict = crate::fault_matrix::judge(&seen.record, &sound?.record, fault.start_s);
            Some((DRIFT_M - verdict.drift_1s_m?) / DRIFT_M)
        },
    )
};

/// The mirror image is exact.
pub const MIRROR: Property = Property {
    beside: Beside::Twin,
    with_faults: true,
    ..property(
        "mirror",
        "seen in a mirror, every capacity is that of the other side to the bit",
        |seen, twin| {
            let own = sides(seen, "given_capacity")?;
            let twin = sides(twin?, "given_capacity")?;
            let mut most = 0.0_f64;
            for (own, other) in [(&own[0], &twin[1]), (&own[1], &twin[0])] {
                if own.len() != other.len() {
                    return Some(-1.0);
                }
                for (one, other) in own.iter().zip(other) {
                    most = most.max((one - other).abs());
                }
            }
            Some(if most == 0.0 { 1.0 } else { -most })
        },
    )
};

#[cfg(test)]
mod tests {
    use super::super::ALL;

    #[test]
    fn every_property_has_a_name_of_its_own() {
        for (place, one) in ALL.iter().enumerate() {
            assert!(!one.meaning.is_empty());
            assert!(ALL[..place].iter().all(|other| other.name != one.name));
        }
        assert!(ALL.len() >= 15);
    }
}
