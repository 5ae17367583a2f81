//! The capacity to command for a torque that is expected.
//!
//! In: expected torque, yaw demand, octagon, what was closed one step ago. Out: capacity wanted per side, Nm: that size, or
//! more where both clutches shall damp yaw, within the bounds of sum and difference. Limits: the second channel has the last word.

use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::signal::Limit;
use crate::stage::authority::{Possible, Sense};
use crate::stage::yaw_control::YawDemand;

/// The capacity wanted, Nm per side, never negative.
#[inline(always)]
pub(super) fn capacity_wanted<S: Scalar>(
    answered_nm: PerSide<S>,
    yaw: &YawDemand<S>,
    possible: &Possible<S>,
    closed_nm: PerSide<S>,
    yaw_rate_rad_s: S,
) -> PerSide<S> {
    let size = answered_nm.map(S::magnitude);
    // While nothing is to be kept closed beyond the expected torque, that is all.
    if !(yaw.keep > S::ZERO || yaw.pre_load_nm > S::ZERO) {
        return size;
    }
    // The pre-load comes out of what the sum's bounds leave beside the expected torque, or the second channel would
    // have to take it away again; both clutches could turn it into a yaw moment, so that cap holds as well.
    let span = possible.octagon.sum.span();
    let tilt = &possible.octagon.difference;
    let most = span.high.at_least(-span.low).at_least(S::ZERO);
    let tilted = tilt.high.value.at_most(-tilt.low.value);
    let each = tilted.at_least(S::ZERO) * S::HALF;
    // While the car oversteers, what is closed and can counter is kept: the demand falls with the yaw rate, the sideslip
    // falls later. It may be kept as far as the yaw moment of both together stays within its bounds.
    let kept = if yaw.keep > S::ZERO {
        PerSide {
            left: (possible.counters(true, yaw_rate_rad_s), size.right),
            right: (possible.counters(false, yaw_rate_rad_s), size.left),
        }
        .zip(closed_nm, |(counters, other), capacity| {
            if counters {
                (capacity * yaw.keep).at_most((tilted - other).at_least(S::ZERO))
            } else {
                S::ZERO
            }
        })
    } else {
        PerSide::both(S::ZERO)
    };
    let floor = kept.map(|kept| kept.at_least(yaw.pre_load_nm.at_most(each)));
    let high_nm = possible.capacity_high_nm;
    let extra = PerSide {
        left: (floor.left.at_most(high_nm.left) - size.left).at_least(S::ZERO),
        right: (floor.right.at_most(high_nm.right) - size.right).at_least(S::ZERO),
    };
    let mut room = (most - size.sum()).at_least(S::ZERO);
    // Torques that do not pull the same way add up to a yaw moment: the master's cap on it holds for their sum.
    if tilt.high.by == Limit::MasterCap && !(answered_nm.left * answered_nm.right > S::ZERO) {
        room = room.at_most((tilted - size.sum()).at_least(S::ZERO));
    }
    let share = room.over(extra.sum(), S::ONE).at_most(S::ONE);
    size.zip(extra, |size, extra| size + extra * share)
}

/// At least what matches a clutch that does not open, where both pull the same way. The difference of the two torques falls
/// by it, so the yaw bound does not hold it; rate, heat, tyre friction, caps and orders of the side do.
#[cold]
#[inline(never)]
pub(super) fn capacity_matched<S: Scalar>(
    wanted: PerSide<S>,
    match_nm: PerSide<S>,
    possible: &Possible<S>,
) -> PerSide<S> {
    let backward = possible.sense.map(|sense| sense == Sense::Backward);
    let near = possible.near_stick;
    if backward.left != backward.right && !(near.left || near.right) {
        return wanted;
    }
    let floor = match_nm.zip(possible.capacity_high_nm, |torque, high| {
        torque.at_most(high).at_least(S::ZERO)
    });
    wanted.zip(floor, |wanted, floor| wanted.at_least(floor))
}
