//! Random and degenerate questions to the arbiter, each a function of its number alone.
//!
//! Invented. The plain family: rear torque -500 to 2,500 Nm, moment -1,500 to 1,500 Nm, weights log-uniform (rear torque
//! 0.3 to 3, moment 0.03 to 1, change 0.003 to 0.1), price of heat 0 to 100 per Nm, capacity 300 to 1,500 Nm, rate 20 to
//! 600 Nm per step, total 200 to 3,000 Nm; 60 of 100 wheels drive, 25 brake, 15 are open. The others bend it.

use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Bound, Limit, NamedSpan, Octagon};
use couplet_controller::stage::arbiter::{Demand, Question};

/// What is special about a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// One sign per wheel, box and total only: difference wide open.
    BoxAndTotal,
    /// The plain family on the whole octagon.
    Plain,
    /// Wheels that may drive and brake.
    Straddling,
    /// Spans without width.
    ZeroWidth,
    /// Bounds that contradict each other.
    Conflicting,
    /// Weights and prices of zero.
    ZeroWeights,
    /// Weights over eleven decades, torques over eight, around the plain family.
    ExtremeScales,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::BoxAndTotal,
        Self::Plain,
        Self::Straddling,
        Self::ZeroWidth,
        Self::Conflicting,
        Self::ZeroWeights,
        Self::ExtremeScales,
    ];

    /// The kind of a question's number: three of ten plain, one of ten each of the others but two of straddling ones.
    pub fn of(number: u64) -> Self {
        match number % 10 {
            0 => Self::BoxAndTotal,
            1..=3 => Self::Plain,
            4 | 5 => Self::Straddling,
            6 => Self::ZeroWidth,
            7 => Self::Conflicting,
            8 => Self::ZeroWeights,
            _ => Self::ExtremeScales,
        }
    }
}

/// Numbers by chance (splitmix64).
pub struct Chance(u64);

impl Chance {
    /// The chance of a number.
    pub fn of(number: u64) -> Self {
        Self(number.wrapping_mul(0xD134_2543_DE82_EF95))
    }
    fn unit(&mut self) -> f32 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 40) as f32 / (1u32 << 24) as f32
    }
    fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.unit()
    }
    fn log_between(&mut self, low: f32, high: f32) -> f32 {
        libm::expf(self.between(libm::logf(low), libm::logf(high)))
    }
    fn happens(&mut self, share: f32) -> bool {
        self.unit() < share
    }
}

/// The question of a number.
pub fn question(number: u64) -> Question<f32> {
    question_of(Kind::of(number), number)
}

/// The question of a kind and a number.
pub fn question_of(kind: Kind, number: u64) -> Question<f32> {
    let chance = &mut Chance::of(number);
    let mut question = plain(chance, kind == Kind::Straddling);
    let spans = &mut question.octagon;
    match kind {
        Kind::Plain | Kind::Straddling => {}
        Kind::BoxAndTotal => {
            spans.difference = NamedSpan::new(-1.0e4, 1.0e4, Limit::Capacity);
        }
        Kind::ZeroWidth => {
            for span in [
                &mut spans.left,
                &mut spans.right,
                &mut spans.sum,
                &mut spans.difference,
            ] {
                if chance.happens(0.4) {
                    let value = chance.between(span.low.value, span.high.value);
                    span.low.value = value;
                    span.high.value = value;
                }
            }
        }
        Kind::Conflicting => conflicting(chance, spans),
        Kind::ZeroWeights => {
            let demand = &mut question.demand;
            for weight in [
                &mut demand.weight_rear_torque,
                &mut demand.weight_yaw_moment,
                &mut demand.weight_change,
                &mut demand.heat_price.left,
                &mut demand.heat_price.right,
            ] {
                if chance.happens(0.5) {
                    *weight = 0.0;
                }
            }
        }
        Kind::ExtremeScales => extreme(chance, &mut question),
    }
    question
}

fn wheel(chance: &mut Chance, straddles: bool, previous: &mut f32) -> NamedSpan<f32> {
    let capacity = chance.between(300.0, 1500.0);
    let rate = chance.between(20.0, 600.0);
    let kind = chance.unit();
    let mut span = if straddles && kind < 0.7 {
        NamedSpan::new(-capacity * chance.unit(), capacity, Limit::Capacity)
    } else if kind < 0.6 {
        NamedSpan::new(0.0, capacity, Limit::Capacity)
    } else if kind < 0.85 {
        NamedSpan::new(-capacity, 0.0, Limit::Capacity)
    } else {
        NamedSpan::new(0.0, 0.0, Limit::SlipDirection)
    };
    *previous = chance.between(span.low.value, span.high.value);
    span.lower_high(*previous + rate, Limit::Rate);
    span.raise_low(*previous - rate, Limit::Rate);
    span
}

fn plain(chance: &mut Chance, straddles: bool) -> Question<f32> {
    let mut previous_nm = PerSide::both(0.0);
    let left = wheel(chance, straddles, &mut previous_nm.left);
    let right = wheel(chance, straddles, &mut previous_nm.right);
    let total = chance.between(200.0, 3000.0);
    let tilt = chance.between(100.0, 2000.0);
    let shift = if chance.happens(0.3) {
        chance.between(-300.0, 300.0)
    } else {
        0.0
    };
    let mut heat = || {
        if chance.happens(0.2) {
            0.0
        } else {
            chance.between(0.0, 100.0)
        }
    };
    let heat_price = PerSide {
        left: heat(),
        right: heat(),
    };
    Question {
        demand: Demand {
            rear_torque_nm: chance.between(-500.0, 2500.0),
            yaw_moment_nm: chance.between(-1500.0, 1500.0),
            weight_rear_torque: chance.log_between(0.3, 3.0),
            weight_yaw_moment: chance.log_between(0.03, 1.0),
            weight_change: chance.log_between(0.003, 0.1),
            heat_price,
            moment_per_difference: chance.between(2.0, 3.0),
        },
        previous_nm,
        octagon: Octagon {
            left,
            right,
            sum: NamedSpan::new(-total, total, Limit::MasterCap),
            difference: NamedSpan::new(shift - tilt, shift + tilt, Limit::YawLimit),
        },
    }
}

/// Half of them as they happen on the axle (a cap below the slowest fall), half of them wild.
fn conflicting(chance: &mut Chance, spans: &mut Octagon<f32>) {
    if chance.happens(0.5) {
        for span in [&mut spans.left, &mut spans.right] {
            let floor = chance.between(50.0, 900.0);
            span.low = Bound::new(floor, Limit::Rate);
            span.high = Bound::new(floor + chance.between(0.0, 400.0), Limit::Rate);
        }
        let cap = chance.between(0.0, 400.0);
        spans.sum = NamedSpan::new(-cap, cap, Limit::MasterCap);
        return;
    }
    for span in [
        &mut spans.left,
        &mut spans.right,
        &mut spans.sum,
        &mut spans.difference,
    ] {
        let mut name = || Limit::ALL[1 + (chance.unit() * (Limit::ALL.len() - 1) as f32) as usize];
        let (low_by, high_by) = (name(), name());
        let (one, other) = (chance.between(-800.0, 800.0), chance.between(-800.0, 800.0));
        let inside_out = chance.happens(0.25);
        *span = NamedSpan {
            low: Bound::new(
                if inside_out {
                    one.max(other)
                } else {
                    one.min(other)
                },
                low_by,
            ),
            high: Bound::new(
                if inside_out {
                    one.min(other)
                } else {
                    one.max(other)
                },
                high_by,
            ),
        };
    }
}

/// Torques, moment and bounds times one factor of 1e-4 to 30, each weight and price by a factor of its own; everything
/// stays below what the arbiter takes for broken.
fn extreme(chance: &mut Chance, question: &mut Question<f32>) {
    let size = chance.log_between(1.0e-4, 30.0);
    let spans = &mut question.octagon;
    for span in [
        &mut spans.left,
        &mut spans.right,
        &mut spans.sum,
        &mut spans.difference,
    ] {
        span.low.value *= size;
        span.high.value *= size;
    }
    question.previous_nm = question.previous_nm.map(|torque| torque * size);
    let demand = &mut question.demand;
    demand.rear_torque_nm *= chance.log_between(1.0e-4, 30.0);
    demand.yaw_moment_nm *= chance.log_between(1.0e-4, 30.0);
    demand.weight_rear_torque = chance.log_between(1.0e-6, 1.0e5);
    demand.weight_yaw_moment = chance.log_between(1.0e-6, 1.0e5);
    demand.weight_change = chance.log_between(1.0e-6, 1.0e5);
    demand.heat_price = demand
        .heat_price
        .map(|price| price * chance.log_between(1.0e-4, 1.0e3));
    demand.moment_per_difference = chance.log_between(0.1, 30.0);
}
