//! Properties of the numbers a law gives: finite, bounded, no faster than allowed, no chatter, cool.

use super::rows::{always, of, reversals, sides, steps, sum};
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

/// No output is other than a number.
pub const NUMBERS: Property = property(
    "numbers",
    "every capacity, torque and current given is a finite number",
    |seen, _| {
        let mut all = Vec::new();
        for name in ["given_capacity", "given_torque", "given_current"] {
            all.extend(sides(seen, name)?.concat());
        }
        always(
            all.iter()
                .map(|value| if value.is_finite() { 1.0 } else { -1.0 }),
        )
    },
);

/// Capacities between zero and the calibrated one.
pub const CAPACITY: Property = property(
    "capacity-in-range",
    "each capacity lies between 0 and the calibrated capacity",
    |seen, _| {
        let most = f64::from(seen.page.tunables.authority.capacity_nm);
        let all = sides(seen, "given_capacity")?.concat();
        // A clutch may be closed wholly or opened wholly: rounding is no violation.
        always(
            all.iter()
                .map(|value| (1.0001 * most - value).min(value + 1e-3) / most),
        )
    },
);

/// Currents between zero and the calibrated one.
pub const CURRENT: Property = property(
    "current-in-range",
    "each valve current lies between 0 and the largest of the calibration",
    |seen, _| {
        let most = f64::from(seen.page.tunables.actuation.current_a);
        let all = sides(seen, "given_current")?.concat();
        always(
            all.iter()
                .map(|value| (1.0001 * most - value).min(value + 1e-6) / most),
        )
    },
);

/// Capacity rises no faster than calibrated.
pub const RISE: Property = property(
    "rise-bounded",
    "no capacity rises faster than the calibrated rate, whatever happens",
    |seen, _| {
        let most = f64::from(seen.page.tunables.authority.rise_nm_s) * seen.law.period_s;
        let mut worst = f64::INFINITY;
        for side in sides(seen, "given_capacity")? {
            for pair in side.windows(2) {
                // A hundredth and 0.1 N m for the second channel's fixed-point steps.
                worst = worst.min((1.01 * most + 0.1 - (pair[1] - pair[0])) / most);
            }
        }
        Some(worst)
    },
);

/// No capacity beyond the share that heat leaves, unless it is on its way down.
pub const CEILING: Property = property(
    "ceiling-kept",
    "a capacity above what heat left in the step before falls at the full rate",
    |seen, _| {
        let authority = &seen.page.tunables.authority;
        let whole = f64::from(authority.capacity_nm);
        let fall = f64::from(authority.fall_nm_s) * seen.law.period_s;
        let ceilings = sides(seen, "given_heat_ceiling")?;
        let (mut worst, mut far) = (f64::INFINITY, 2.0_f64);
        for (side, ceiling) in sides(seen, "given_capacity")?.iter().zip(&ceilings) {
            for index in 1..side.len() {
                let (left, closed) = (ceiling[index - 1], side[index] / whole);
                // A promise about what never happens holds by how far it was from happening: no heat, or nothing closed.
                far = far.min(left.max(0.0) + 1.0 - closed);
                if left < 0.999 && closed > 0.01 {
                    // What may be there: the ceiling, or what is left of before after a step of the fall.
                    let allowed = (left * whole).max(side[index - 1] - 0.99 * fall);
                    worst = worst.min((allowed + 0.2 - side[index]) / 100.0);
                }
            }
        }
        Some(worst.min(1.0 + far))
    },
);

/// Both capacities together within the propshaft's.
pub const PROPSHAFT: Property = property(
    "propshaft-kept",
    "both capacities together stay within what the propshaft may carry",
    |seen, _| {
        let most = f64::from(seen.page.tunables.authority.propshaft_nm);
        let both = sum(&sides(seen, "given_capacity")?);
        always(
            both.iter()
                .map(|value| (1.0001 * most + 0.1 - value) / most),
        )
    },
);

/// Most reversals of a capacity within a second.
const MOST_REVERSALS: f64 = 8.0;

/// Capacities do not chatter.
pub const CHATTER: Property = Property {
    with_faults: false,
    ..property(
        "no-chatter",
        "no capacity changes direction more than 8 times a second with swings of 150 N m",
        |seen, _| {
            let second = steps(seen, 1.0);
            let most = sides(seen, "given_capacity")?
                .iter()
                .map(|side| reversals(side, second, 150.0))
                .max()?;
            Some((MOST_REVERSALS + 0.5 - most as f64) / MOST_REVERSALS)
        },
    )
};

/// Highest surface and oil temperatures, degC: where the demo clutch is damaged; from memory, invented for the demo.
const HOTTEST_DEGC: (f64, f64) = (260.0, 150.0);

/// Clutches and oil stay below what damages them.
pub const COOL: Property = property(
    "cool",
    "surfaces stay below 260 degC and the oil below 150 degC of truth",
    |seen, _| {
        let surfaces = sides(seen, "plant_clutch_surface")?.concat();
        let oil = of(&seen.record, "plant_oil")?;
        let surface = always(surfaces.iter().map(|value| (HOTTEST_DEGC.0 - value) / 50.0))?;
        let oil = always(oil.iter().map(|value| (HOTTEST_DEGC.1 - value) / 50.0))?;
        Some(surface.min(oil))
    },
);
