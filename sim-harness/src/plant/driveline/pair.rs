//! Two friction torques on two coupled speeds, solved exactly for one step.
//!
//! Inputs: speeds at the end of the step without friction, capacities, and how much of speed one torque takes in the step.
//! Output: torques T with |T_i| <= C_i, where the end speeds s = s_free - A T satisfy T_i = C_i sign(s_i) or s_i = 0: a
//! box-constrained linear complementarity problem in two unknowns, strictly monotone, so it has one solution.
//! Method: the nine active sets are tried, sticking first. Where two sets meet in a tie, mirror images are averaged, so
//! exchanging left and right exchanges the result to the last bit.

use crate::plant::quantity::{Compared, PerSide};

/// Relative slack on capacity: at a tie both neighbours could otherwise be refused by rounding.
const SLACK: f64 = 1e-12;

/// Friction torques, N m. `own` is the fall of a side's speed per torque on it, `cross` per torque on the other side,
/// both in rad/s per N m over the step, with own > |cross|.
pub fn friction_torques_nm(
    free_rad_s: PerSide<f64>,
    capacity_nm: PerSide<f64>,
    own: f64,
    cross: f64,
) -> PerSide<f64> {
    let bound = |torque_nm: f64, capacity_nm: f64| torque_nm.bounded(-capacity_nm, capacity_nm);
    let fits = |torque_nm: f64, capacity_nm: f64| torque_nm.abs() <= capacity_nm * (1.0 + SLACK);

    let common = (free_rad_s.left + free_rad_s.right) / (own + cross);
    let opposed = (free_rad_s.left - free_rad_s.right) / (own - cross);
    let stick = PerSide {
        left: 0.5 * (common + opposed),
        right: 0.5 * (common - opposed),
    };
    let bounded = PerSide {
        left: bound(stick.left, capacity_nm.left),
        right: bound(stick.right, capacity_nm.right),
    };
    if fits(stick.left, capacity_nm.left) && fits(stick.right, capacity_nm.right) {
        return bounded;
    }

    // One side at its capacity, the other sticking.
    let one_slips =
        |slipping_free: f64, slipping_capacity: f64, sticking_free: f64, sticking_capacity: f64| {
            [1.0, -1.0].into_iter().find_map(|sign| {
                let slipping_nm = sign * slipping_capacity;
                let sticking_nm = (sticking_free - cross * slipping_nm) / own;
                let end_rad_s = slipping_free - (own * slipping_nm + cross * sticking_nm);
                (fits(sticking_nm, sticking_capacity) && sign * end_rad_s >= 0.0)
                    .then(|| (slipping_nm, bound(sticking_nm, sticking_capacity)))
            })
        };
    let left_slips = one_slips(
        free_rad_s.left,
        capacity_nm.left,
        free_rad_s.right,
        capacity_nm.right,
    )
    .map(|(slipping, sticking)| PerSide {
        left: slipping,
        right: sticking,
    });
    let right_slips = one_slips(
        free_rad_s.right,
        capacity_nm.right,
        free_rad_s.left,
        capacity_nm.left,
    )
    .map(|(slipping, sticking)| PerSide {
        left: sticking,
        right: slipping,
    });
    match (left_slips, right_slips) {
        (Some(a), Some(b)) => {
            return PerSide {
                left: 0.5 * (a.left + b.left),
                right: 0.5 * (a.right + b.right),
            };
        }
        (Some(torques), None) | (None, Some(torques)) => return torques,
        (None, None) => {}
    }

    for (left_sign, right_sign) in [(1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0)] {
        let left_nm = left_sign * capacity_nm.left;
        let right_nm = right_sign * capacity_nm.right;
        let left_end = free_rad_s.left - (own * left_nm + cross * right_nm);
        let right_end = free_rad_s.right - (own * right_nm + cross * left_nm);
        if left_sign * left_end >= 0.0 && right_sign * right_end >= 0.0 {
            return PerSide {
                left: left_nm,
                right: right_nm,
            };
        }
    }
    // Reached only with numbers that are not finite.
    bounded
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cheap repeatable numbers in -1..1; no claim to quality.
    fn number(seed: &mut u64) -> f64 {
        *seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (*seed >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    #[test]
    fn solution_satisfies_complementarity_and_mirrors() {
        let mut seed = 7;
        let mut kinds = [0u32; 3];
        for _ in 0..200_000 {
            let own = 0.001 * (1.2 + number(&mut seed));
            let cross = own * 0.95 * number(&mut seed);
            let free = PerSide {
                left: number(&mut seed),
                right: number(&mut seed),
            };
            let capacity = PerSide {
                left: 500.0 * (1.0 + number(&mut seed)),
                right: 500.0 * (1.0 + number(&mut seed)),
            };
            let torque = friction_torques_nm(free, capacity, own, cross);
            let image = friction_torques_nm(free.mirrored(), capacity.mirrored(), own, cross);
            assert_eq!(image, torque.mirrored());
            let end = PerSide {
                left: free.left - (own * torque.left + cross * torque.right),
                right: free.right - (own * torque.right + cross * torque.left),
            };
            let mut slipping = 0;
            for (end, (torque, capacity)) in [
                (end.left, (torque.left, capacity.left)),
                (end.right, (torque.right, capacity.right)),
            ] {
                assert!(torque.abs() <= capacity);
                // Rounding of speeds near 1 rad/s, enlarged by the condition of A (at most 40).
                if end.abs() > 1e-13 {
                    assert_eq!(torque, capacity * end.signum());
                    slipping += 1;
                }
            }
            kinds[slipping] += 1;
        }
        // The test would prove little if one kind of solution were missing.
        assert!(kinds.iter().all(|count| *count > 1000), "{kinds:?}");
    }
}
