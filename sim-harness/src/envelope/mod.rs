//! What the axle can reach: pairs of rear torque and yaw moment, from the real code, and the closed form beside it.
//!
//! Inputs: calibration page and [`Point`]. Outputs: corners of the reachable set with the name of the bound on every edge, the
//! yaw moment left at given rear torques, the outer wheel's reach. Stage `authority` of the law is stepped with the answers of
//! the law's arbiter until torques, slips and bounds agree; a clutch near stick carries what the wheels make it carry. Each
//! corner is asked by a demand far out in its direction, so rate bounds and sign memory are at rest there. [`limit`] is the
//! closed form, which shares nothing with it but the turn. Limits: see `point.rs`; steady, so no rate bound is seen.

pub mod limit;
mod point;

use couplet_controller::PageRefusal;
use couplet_controller::RawPage;
use couplet_controller::quantity::{PerSide, Span};
use couplet_controller::signal::{Limit, NamedSpan};
use couplet_controller::stage::arbiter::{Allocate, Demand, Exact, Question};
use couplet_controller::stage::authority::{AuthorityState, Possible, Sense};
pub use point::{Axle, Point, Turn};

/// Most steps until torques rest: ten times the slowest rise of the catalogue's largest clutch takes 1.2 s, 240 steps.
const MOST_STEPS: usize = 400;
/// Torque by which two steps may differ at rest, and by which corners are one, N m.
const SAME_NM: f64 = 1.0e-3;
/// A demand far outside every set, N m; the sizes of one demand may not add up to a million.
const FAR_NM: f64 = 2.0e5;
/// Directions of the eight corners in the plane of sum and difference: between the normals of an octagon's edges.
const CORNERS: [(f64, f64); 8] = {
    let (long, short) = (0.923_879_532_511_286_7, 0.382_683_432_365_089_8);
    [
        (long, short),
        (short, long),
        (-short, long),
        (-long, short),
        (-long, -short),
        (-short, -long),
        (short, -long),
        (long, -short),
    ]
};

/// A quantity that a bound holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Torque of the left wheel.
    Left,
    /// Torque of the right wheel.
    Right,
    /// Rear torque.
    Sum,
    /// Right minus left.
    Difference,
}

impl Part {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Sum => "sum",
            Self::Difference => "difference",
        }
    }
}

/// A corner of the set and the edge that leads on from it, counter-clockwise with the yaw moment upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Torque of each wheel, N m.
    pub torque_nm: PerSide<f64>,
    /// Sum of both, N m.
    pub rear_torque_nm: f64,
    /// Yaw moment of the axle, N m, positive to the left.
    pub yaw_moment_nm: f64,
    /// What the edge to the next corner holds fast.
    pub part: Part,
    /// What set the bound there.
    pub by: Limit,
}

/// The set at one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Envelope {
    /// Its corners; a single one if nothing can be moved.
    pub corners: Vec<Corner>,
    /// Yaw moments at no rear torque, N m, on the lines between the corners; empty if the set does not reach there.
    pub at_zero_nm: Span<f64>,
    /// Largest rear torque, N m.
    pub full_nm: f64,
    /// Yaw moments at that torque, N m.
    pub at_full_nm: Span<f64>,
}

/// Torque the outer wheel can carry that is furthest from zero, N m, and what set it; the right wheel's on a straight road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OuterReach {
    /// Signed torque, N m: below zero the clutch can only brake the outer wheel.
    pub torque_nm: f64,
    /// What set it.
    pub by: Limit,
    /// Direction in which the clutch acts.
    pub sense: Sense,
}

/// Torques, slips and bounds that agree with each other.
#[derive(Debug, Clone, Copy)]
struct Rest {
    torque_nm: PerSide<f64>,
    /// Whether each clutch is locked with capacity to spare.
    locked: PerSide<bool>,
    possible: Possible<f64>,
}

/// The set of a page's axle at a point.
///
/// # Errors
/// The page's refusal, if the point's capacity does not go with it.
pub fn envelope(page: &RawPage, point: Point) -> Result<Envelope, PageRefusal> {
    let axle = Axle::new(page, point)?;
    let lever = axle.moment_per_difference();
    let rests = CORNERS.map(|(sum, difference)| far(&axle, sum * FAR_NM, difference * FAR_NM));
    let mut corners: Vec<Corner> = Vec::new();
    for (place, rest) in rests.iter().enumerate() {
        let next = &rests[(place + 1) % rests.len()];
        if !differ(rest.torque_nm, next.torque_nm) {
            continue;
        }
        let (part, by) = edge(rest, next);
        // Where a locked clutch holds both, the same edge goes on.
        if corners
            .last()
            .is_some_and(|before| (before.part, before.by) == (part, by))
        {
            continue;
        }
        corners.push(Corner {
            torque_nm: rest.torque_nm,
            rear_torque_nm: rest.torque_nm.sum(),
            yaw_moment_nm: rest.torque_nm.difference() * lever,
            part,
            by,
        });
    }
    // The round closes: the last edge may go on in the first one.
    if let [first, .., last] = &corners[..]
        && (first.part, first.by) == (last.part, last.by)
    {
        corners.remove(0);
    }
    if corners.is_empty() {
        let (part, by) = edge(&rests[0], &rests[0]);
        corners.push(Corner {
            torque_nm: rests[0].torque_nm,
            rear_torque_nm: rests[0].torque_nm.sum(),
            yaw_moment_nm: rests[0].torque_nm.difference() * lever,
            part,
            by,
        });
    }
    let full_nm = corners
        .iter()
        .map(|corner| corner.rear_torque_nm)
        .fold(f64::NEG_INFINITY, f64::max);
    Ok(Envelope {
        at_zero_nm: moments_at(&corners, 0.0),
        full_nm,
        at_full_nm: moments_at(&corners, full_nm - SAME_NM),
        corners,
    })
}

/// Yaw moments of a set at one rear torque, N m: where its edges pass it; empty if none does.
fn moments_at(corners: &[Corner], rear_nm: f64) -> Span<f64> {
    let mut span = Span::new(f64::INFINITY, f64::NEG_INFINITY);
    for (place, one) in corners.iter().enumerate() {
        let other = &corners[(place + 1) % corners.len()];
        let (from, to) = (one.rear_torque_nm - rear_nm, other.rear_torque_nm - rear_nm);
        // A corner that misses the torque by less than corners count as one lies on it.
        let mut hold = |moment_nm: f64| {
            span = Span::new(span.low.min(moment_nm), span.high.max(moment_nm));
        };
        if from.abs() <= SAME_NM {
            hold(one.yaw_moment_nm);
        }
        if from * to < 0.0 {
            let share = from / (from - to);
            hold(one.yaw_moment_nm + share * (other.yaw_moment_nm - one.yaw_moment_nm));
        }
    }
    span
}

/// How far the outer wheel can be driven or braked, starting from a clutch whose direction was `before`.
///
/// # Errors
/// The page's refusal, if the point's capacity does not go with it.
pub fn outer_reach(page: &RawPage, point: Point, before: Sense) -> Result<OuterReach, PageRefusal> {
    let axle = Axle::new(page, point)?;
    let is_right = point.curvature_1_m >= 0.0;
    // All of one wheel's torque and none of the other's, so that no bound of the sum speaks.
    let ask = |sum_nm: f64| {
        let difference_nm = if is_right { sum_nm } else { -sum_nm };
        let rest = settled(&axle, before, demand(&axle, sum_nm, difference_nm));
        let (torque, locked, sense) = (rest.torque_nm, rest.locked, rest.possible.sense);
        let (torque_nm, locked, sense, part) = if is_right {
            (torque.right, locked.right, sense.right, Part::Right)
        } else {
            (torque.left, locked.left, sense.left, Part::Left)
        };
        OuterReach {
            torque_nm,
            by: if locked {
                Limit::KinematicLock
            } else {
                named(&rest, part)
            },
            sense,
        }
    };
    let (driven, braked) = (ask(FAR_NM), ask(-FAR_NM));
    Ok(if driven.torque_nm.abs() >= braked.torque_nm.abs() {
        driven
    } else {
        braked
    })
}

fn far(axle: &Axle, sum_nm: f64, difference_nm: f64) -> Rest {
    settled(axle, Sense::Unknown, demand(axle, sum_nm, difference_nm))
}

/// Sum and difference count alike.
fn demand(axle: &Axle, sum_nm: f64, difference_nm: f64) -> Demand<f64> {
    let lever = axle.moment_per_difference();
    Demand {
        rear_torque_nm: sum_nm,
        yaw_moment_nm: difference_nm * lever,
        weight_rear_torque: 1.0,
        weight_yaw_moment: 1.0 / (lever * lever),
        weight_change: 0.0,
        heat_price: PerSide::both(0.0),
        moment_per_difference: lever,
    }
}

/// Steps bounds and answers until they rest.
fn settled(axle: &Axle, before: Sense, demand: Demand<f64>) -> Rest {
    // How a clutch is led over time is nothing of a rest: every step begins with nothing taken.
    let mut memory = AuthorityState {
        sense: PerSide::both(before),
        ..AuthorityState::default()
    };
    let mut torque = PerSide::both(0.0);
    let mut capacity = PerSide::both(0.0);
    let mut rest = Rest {
        torque_nm: torque,
        locked: PerSide::both(false),
        possible: Possible::default(),
    };
    for _ in 0..MOST_STEPS {
        let direction = memory.sense;
        memory.taken_nm = PerSide::default();
        let possible = axle.possible(&mut memory, torque, capacity);
        let said = Exact.answer(&Question {
            demand,
            previous_nm: possible.previous_nm,
            octagon: possible.octagon,
        });
        let asked = said.torque_nm.map(f64::abs);
        let lock = axle.lock_torque_nm(torque);
        let carried = |near: bool, answer: f64, lock: f64| {
            if near {
                lock.clamp(-answer.abs(), answer.abs())
            } else {
                answer
            }
        };
        let now = PerSide {
            left: carried(possible.near_stick.left, said.torque_nm.left, lock.left),
            right: carried(possible.near_stick.right, said.torque_nm.right, lock.right),
        };
        let rested = memory.sense == direction && !differ(now, torque) && !differ(asked, capacity);
        (torque, capacity) = (now, asked);
        rest = Rest {
            torque_nm: now,
            locked: PerSide {
                left: possible.near_stick.left && asked.left > now.left.abs() + SAME_NM,
                right: possible.near_stick.right && asked.right > now.right.abs() + SAME_NM,
            },
            possible,
        };
        if rested {
            break;
        }
    }
    rest
}

fn differ(one: PerSide<f64>, other: PerSide<f64>) -> bool {
    !((one.left - other.left).abs() <= SAME_NM && (one.right - other.right).abs() <= SAME_NM)
}

/// What two neighbouring corners have in common, and what set it.
fn edge(one: &Rest, other: &Rest) -> (Part, Limit) {
    let (a, b) = (one.torque_nm, other.torque_nm);
    let same = |a: f64, b: f64| (a - b).abs() <= 10.0 * SAME_NM;
    let (locked, also_locked) = (one.locked, other.locked);
    let by = |locked: bool, part: Part| {
        if locked {
            Limit::KinematicLock
        } else {
            named(one, part)
        }
    };
    if same(a.left, b.left) {
        let locked = locked.left && also_locked.left;
        (Part::Left, by(locked, Part::Left))
    } else if same(a.right, b.right) {
        let locked = locked.right && also_locked.right;
        (Part::Right, by(locked, Part::Right))
    } else if same(a.sum(), b.sum()) {
        (Part::Sum, named(one, Part::Sum))
    } else if same(a.difference(), b.difference()) {
        (Part::Difference, named(one, Part::Difference))
    } else {
        // The bound moved with the torques, as friction does with the loads: the end that both lie nearest to.
        let ends = |part: Part| [ends(one, part), ends(other, part)];
        let mut found = (f64::INFINITY, Part::Sum, Limit::Nothing);
        for part in [Part::Sum, Part::Difference, Part::Left, Part::Right] {
            let [mine, theirs] = ends(part);
            for (mine, theirs) in mine.into_iter().zip(theirs) {
                let apart = mine.0.max(theirs.0);
                if apart < found.0 {
                    let by = if mine.0 <= theirs.0 { mine.1 } else { theirs.1 };
                    found = (apart, part, by);
                }
            }
        }
        (found.1, found.2)
    }
}

/// Name of the end of a part's span that the torque is nearer to.
fn named(rest: &Rest, part: Part) -> Limit {
    let [low, high] = ends(rest, part);
    if low.0 < high.0 { low.1 } else { high.1 }
}

/// How far the torque is from the lower and the upper end of a part's span, N m, and what set that end.
fn ends(rest: &Rest, part: Part) -> [(f64, Limit); 2] {
    let (torque, octagon) = (rest.torque_nm, &rest.possible.octagon);
    let (span, value): (NamedSpan<f64>, f64) = match part {
        Part::Left => (octagon.left, torque.left),
        Part::Right => (octagon.right, torque.right),
        Part::Sum => (octagon.sum, torque.sum()),
        Part::Difference => (octagon.difference, torque.difference()),
    };
    [span.low, span.high].map(|end| ((value - end.value).abs(), end.by))
}
