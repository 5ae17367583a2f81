//! The demo car and rough commands for the suites that attack the plant.

// Every suite is its own crate and uses its own part of the kit.
#![allow(dead_code)]

use couplet_sim::plant::{AxleLayout, Command, PerSide, PerWheel, Plant, Road, Start, Vehicle};

/// Every layout.
pub const LAYOUTS: [AxleLayout; 5] = AxleLayout::ALL;

/// The demo car at a start.
pub fn plant(layout: AxleLayout, road: Road, start: Start) -> Plant {
    Plant::new(Vehicle::default(), layout, road, start)
}

/// Cheap repeatable numbers in 0..1; no claim to quality.
pub struct Chance(pub u64);

impl Chance {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    /// A rough command: every part is off in about a third of all cases.
    pub fn command(&mut self) -> Command {
        let brake = if self.next() < 0.3 {
            self.between(0.0, 3000.0)
        } else {
            0.0
        };
        let mut current = || {
            if self.next() < 0.3 {
                0.0
            } else {
                self.between(0.0, 1.2)
            }
        };
        let clutch_current_a = PerSide {
            left: current(),
            right: current(),
        };
        Command {
            steering_wheel_rad: self.between(-6.0, 6.0),
            carrier_torque_request_nm: self.between(-1000.0, 4000.0),
            brake_torque_nm: PerWheel {
                front_left: brake * self.next(),
                front_right: brake * self.next(),
                rear_left: brake * self.next(),
                rear_right: brake * self.next(),
            },
            clutch_current_a,
        }
    }
}
