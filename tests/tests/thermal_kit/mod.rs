//! Inputs for the suites that attack the thermal stage: chance, wild and steady ones.

// Every suite is its own crate and uses its own part of the kit.
#![allow(dead_code)]

use couplet_controller::numerics::{Fast, Real, Scalar};
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::stage::thermal::{In, Out};

/// Small generator with a seed of its own (xorshift, 64 bits).
pub struct Chance(pub u64);

impl Chance {
    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub fn share(&mut self) -> f32 {
        (self.bits() >> 40) as f32 / (1_u64 << 24) as f32
    }

    pub fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.share()
    }

    pub fn slip(&mut self) -> Sensed<f32> {
        match self.bits() % 16 {
            0 => Sensed::Lost,
            1 => Sensed::Held {
                value: self.between(-20.0, 20.0),
                age_s: self.between(0.0, 0.5),
            },
            2 => Sensed::Fresh(f32::NAN),
            3 => Sensed::Fresh(f32::NEG_INFINITY),
            4 => Sensed::Held {
                value: f32::NAN,
                age_s: f32::NAN,
            },
            _ => Sensed::Fresh(self.between(-20.0, 20.0)),
        }
    }

    /// Mostly plausible, sometimes any bit pattern.
    pub fn input(&mut self) -> In<f32> {
        let mut number = |low: f32, high: f32| match self.bits() % 50 {
            0 => f32::from_bits(self.bits() as u32),
            _ => self.between(low, high),
        };
        let granted_nm = PerSide {
            left: number(0.0, 1300.0),
            right: number(0.0, 1300.0),
        };
        let speed_m_s = number(-5.0, 60.0);
        let ambient_degc = number(-40.0, 60.0);
        let slip_rad_s = PerSide {
            left: self.slip(),
            right: self.slip(),
        };
        In {
            granted_nm,
            slip_rad_s,
            speed_m_s,
            ambient_degc,
        }
    }
}

/// The same input for another instance of the law; NaN and infinities stay what they are.
pub trait From32: Real {
    fn from32(value: f32) -> Self;
}
impl From32 for f32 {
    fn from32(value: f32) -> Self {
        value
    }
}
impl From32 for f64 {
    fn from32(value: f32) -> Self {
        f64::from(value)
    }
}
impl From32 for Fast {
    fn from32(value: f32) -> Self {
        Fast(value)
    }
}

pub fn cast<S: From32>(input: &In<f32>) -> In<S> {
    let slip = |slip: Sensed<f32>| match slip {
        Sensed::Fresh(value) => Sensed::Fresh(S::from32(value)),
        Sensed::Held { value, age_s } => Sensed::Held {
            value: S::from32(value),
            age_s: S::from32(age_s),
        },
        Sensed::Lost => Sensed::Lost,
    };
    In {
        granted_nm: input.granted_nm.map(S::from32),
        slip_rad_s: input.slip_rad_s.map(slip),
        speed_m_s: S::from32(input.speed_m_s),
        ambient_degc: S::from32(input.ambient_degc),
    }
}

pub fn steady<S: Scalar>(
    torque_nm: f32,
    slip_rad_s: f32,
    speed_m_s: f32,
    ambient_degc: f32,
) -> In<S> {
    In {
        granted_nm: PerSide::both(S::of(torque_nm)),
        slip_rad_s: PerSide::both(Sensed::Fresh(S::of(slip_rad_s))),
        speed_m_s: S::of(speed_m_s),
        ambient_degc: S::of(ambient_degc),
    }
}

pub fn all_finite<S: Scalar>(out: &Out<S>) -> bool {
    [
        out.torque_nm,
        out.heat_w,
        out.surface_degc,
        out.core_degc,
        out.ceiling,
        out.time_to_limit_s,
    ]
    .iter()
    .all(|pair| pair.left.is_finite() && pair.right.is_finite())
        && out.oil_degc.is_finite()
        && out.housing_degc.is_finite()
}
