//! One car of a campaign: where it lies in the ranges, and what that makes of vehicle and scenario.
//!
//! In: seed and absolute index. Out: one number per range, each drawn for itself from (seed, index, place in the table), so
//! a range added at the end moves no other draw. Uniform between both ends. Ranges: project targets (mass +-15 %, friction
//! +-10 %, tyre stiffness +-15 %, radii +-1 %, clutch gain +-15 %, actuator lag 30 to 60 ms); the size of the shift of the
//! centre of gravity is chosen, no source. Stiffness and radius are drawn per axle and clutch gain per side, which is
//! harder than one factor for the whole car: axles that go apart change understeer and overspeed, sides that go apart
//! pull. Limits: nothing is correlated; both wheels of an axle are alike; both valves have the same lag.

use crate::plant::Vehicle;
use crate::plant::sensors::mixed;
use crate::scenario::Scenario;

/// A number that differs from car to car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What varies.
    pub name: &'static str,
    /// Unit; `-` for a factor or a share.
    pub unit: &'static str,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

const fn factor(name: &'static str, off: f64) -> Range {
    Range {
        name,
        unit: "-",
        low: 1.0 - off,
        high: 1.0 + off,
    }
}

/// What varies and how far, in the order of [`Sample::values`].
pub const RANGES: [Range; 11] = [
    factor("mass and yaw inertia, factor", 0.15),
    factor("friction of the road, factor", 0.10),
    factor("stiffness of the front tyres, factor", 0.15),
    factor("stiffness of the rear tyres, factor", 0.15),
    Range {
        name: "share of the load in front, added",
        unit: "-",
        low: -0.02,
        high: 0.02,
    },
    factor("height of the centre of gravity, factor", 0.05),
    factor("radius of the front tyres, factor", 0.01),
    factor("radius of the rear tyres, factor", 0.01),
    factor("friction of the left clutch, factor", 0.15),
    factor("friction of the right clutch, factor", 0.15),
    Range {
        name: "time constant of the actuators in warm oil",
        unit: "s",
        low: 0.030,
        high: 0.060,
    },
];

/// One car of a campaign.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// One number per entry of [`RANGES`].
    pub values: [f64; RANGES.len()],
    /// Seed of its sensor noise.
    pub noise_seed: u64,
}

impl Sample {
    /// The sample of an absolute index.
    pub fn of(seed: u64, index: u64) -> Self {
        let bits = |place: u64| mixed(mixed(mixed(seed).wrapping_add(index)).wrapping_add(place));
        let mut values = [0.0; RANGES.len()];
        for (place, (value, range)) in values.iter_mut().zip(&RANGES).enumerate() {
            // 53 bits fill the fraction of a double; the upper end itself is never drawn.
            let share = (bits(place as u64 + 1) >> 11) as f64 / 9_007_199_254_740_992.0;
            *value = range.low + share * (range.high - range.low);
        }
        Self {
            values,
            noise_seed: bits(0),
        }
    }

    /// The car of this sample.
    pub fn vehicle(&self, nominal: &Vehicle) -> Vehicle {
        let [
            mass,
            _,
            front_stiffness,
            rear_stiffness,
            front_share,
            height,
            front_radius,
            rear_radius,
            left_clutch,
            right_clutch,
            lag_s,
        ] = self.values;
        let mut car = *nominal;
        car.body.mass_kg *= mass;
        // Load sits where the car is: the radius of gyration stays.
        car.body.yaw_inertia_kg_m2 *= mass;
        car.body.front_load_share += front_share;
        car.body.gravity_height_m *= height;
        car.tyre_front.left_stiffness_scale *= front_stiffness;
        car.tyre_front.right_stiffness_scale *= front_stiffness;
        car.tyre_rear.left_stiffness_scale *= rear_stiffness;
        car.tyre_rear.right_stiffness_scale *= rear_stiffness;
        car.tyre_front.radius_m *= front_radius;
        car.tyre_rear.radius_m *= rear_radius;
        car.clutch.left_friction_scale *= left_clutch;
        car.clutch.right_friction_scale *= right_clutch;
        car.actuator.lag_s = lag_s;
        car
    }

    /// The scenario of this sample.
    pub fn scenario(&self, nominal: &Scenario) -> Scenario {
        let friction = self.values[1];
        let mut scenario = nominal.clone();
        scenario.numbers.road.friction_left *= friction;
        scenario.numbers.road.friction_right *= friction;
        scenario.seed = self.noise_seed;
        scenario
    }
}
