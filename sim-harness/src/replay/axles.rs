//! Front and rear wheels told apart: the driven front axle slips more the more it pushes or drags, the free rear axle does not.
//!
//! In: signals, the car's radii. Out: by side, how the front wheel runs ahead of the rear one with the longitudinal acceleration, 1 per m/s2. A
//! tyre's slip is its force over its slip stiffness (brush model, any textbook), so the number is positive; about 0.5 to 1 % for
//! 1 m/s2. Wrong radii only move its zero. Counted are steps with the brakes off, both clutches open by their measured pressures, away from
//! the limit and not in hard bends: a closed clutch carries the force to the rear and hides it, and without measured
//! pressures nobody knows. Braking tells nothing: brakes share the force as the loads do.

use super::evidence::{Car, Signals};

/// Pressure of both clutches up to which they are open, bar: the largest believable touch point.
const OPEN_BAR: f64 = 1.0;
/// Pressure of the brakes up to which they are off, bar.
const OFF_BAR: f64 = 1.0;
/// Least speed, m/s.
const LEAST_SPEED_M_S: f64 = 5.0;
/// Largest lateral acceleration, m/s2: hard bends slip by themselves.
const MOST_LATERAL_M_S2: f64 = 3.0;
/// Largest difference over speed: beyond it a wheel spins or locks.
const MOST_AHEAD: f64 = 0.06;
/// Least spread of the longitudinal acceleration, m/s2.
const LEAST_SPREAD_M_S2: f64 = 0.35;
/// Least time, s.
const LEAST_S: f64 = 1.0;
/// Least correlation.
const TELLING: f64 = 0.85;

/// Steps in which nothing but the engine drives or drags the front axle; nothing where pressures were not recorded.
pub fn open_steps(signals: &Signals) -> Option<Vec<bool>> {
    let (left, right) = signals.clutch_bar.as_ref()?;
    let brake = signals.brake_bar.as_ref()?;
    let all = left.iter().zip(right).zip(brake);
    Some(
        all.map(|((left, right), brake)| *left < OPEN_BAR && *right < OPEN_BAR && *brake < OFF_BAR)
            .collect(),
    )
}

/// How the front wheel of the left and of the right side runs ahead of the rear one with the acceleration; nothing where it is not told.
pub fn ahead(signals: &Signals, car: &Car) -> [Option<f64>; 2] {
    let (Some(wheels), Some(along), Some(open)) = (
        &signals.wheels_rad_s,
        &signals.longitudinal_m_s2,
        open_steps(signals),
    ) else {
        return [None; 2];
    };
    let radius_m = car.radius_m();
    [(0, 2), (1, 3)].map(|(front, rear)| {
        let mut sums = [0.0; 6];
        for (step, open) in open.iter().enumerate() {
            let (first, second) = (
                wheels[front][step] * radius_m.0,
                wheels[rear][step] * radius_m.1,
            );
            let speed = 0.5 * (first + second);
            let lateral = signals.lateral_m_s2.as_ref().map_or(0.0, |all| all[step]);
            let (x, y) = (along[step], (first - second) / speed.max(1.0));
            let counts = *open
                && speed > LEAST_SPEED_M_S
                && lateral.abs() < MOST_LATERAL_M_S2
                && y.abs() < MOST_AHEAD;
            if counts {
                for (sum, one) in sums.iter_mut().zip([1.0, x, y, x * x, y * y, x * y]) {
                    *sum += one;
                }
            }
        }
        let [n, x, y, xx, yy, xy] = sums;
        if n * signals.period_s < LEAST_S {
            return None;
        }
        let (spread, other) = (xx / n - x * x / (n * n), yy / n - y * y / (n * n));
        let both = xy / n - x * y / (n * n);
        let told = spread > LEAST_SPREAD_M_S2 * LEAST_SPREAD_M_S2
            && other > 0.0
            && both.abs() > TELLING * libm::sqrt(spread * other);
        told.then(|| both / spread)
    })
}
