//! Second channel of a made-up axle, and whatever it may be told.
#![allow(dead_code)]

use couplet_controller::Reading;
use couplet_controller::quantity::PerSide;
use couplet_controller::signal::inputs::Status;
use couplet_controller::stage::guardian::{Guardian, In, Orders, State};
use proptest::prelude::*;

pub const CAPACITY_NM: f32 = 1100.0;
pub const RISE_NM_PER_S: f32 = 20_000.0;
pub const FALL_NM_PER_S: f32 = 25_000.0;
pub const PERIOD_S: f32 = 0.005;
pub const FALL_NM: f32 = FALL_NM_PER_S * PERIOD_S;
pub const RISE_NM: f32 = RISE_NM_PER_S * PERIOD_S;
pub const PATIENCE: u32 = 3;
/// Yaw moment per difference of torques, track / (2 r) of a track of 1.6 m on wheels of 0.32 m.
pub const LEVER: f32 = 2.5;
/// What the difference of torques may be beyond the cap on the yaw moment, Nm: 1/64 and some steps of the format.
pub const DIFFERENCE_NM: f32 = 0.025;
/// The guardian forgives 64 / 65536 Nm of number format, and truncates its limits by up to 2 / 65536 Nm.
pub const FORMAT_NM: f32 = 1.1e-3;

pub fn guardian() -> Guardian {
    let rates = (RISE_NM_PER_S, FALL_NM_PER_S);
    Guardian::new(CAPACITY_NM, rates, 5.0, PATIENCE, 30, 1.0 / LEVER, PERIOD_S)
}

pub fn asking(left: f32, right: f32) -> In {
    In {
        request_nm: PerSide { left, right },
        ceiling: PerSide::both(1.0),
        open: false,
        orders: Orders {
            rear_torque_cap: Reading::missing(),
            yaw_moment_cap: Reading::missing(),
            open_now: Reading::fresh(0.0),
            anti_lock_active: Reading::fresh(0.0),
            stability_active: Reading::fresh(0.0),
        },
        health_open: false,
        opposed: false,
        alike: false,
        passed_nm: PerSide::both(0.0),
    }
}

/// The same with a cap of rear torque.
pub fn capped(cap_nm: f32, input: In) -> In {
    let rear_torque_cap = Reading::fresh(cap_nm);
    In {
        orders: Orders {
            rear_torque_cap,
            ..input.orders
        },
        ..input
    }
}

/// The same with a cap of the yaw moment.
pub fn steadied(cap_nm: f32, input: In) -> In {
    let yaw_moment_cap = Reading::fresh(cap_nm);
    In {
        orders: Orders {
            yaw_moment_cap,
            ..input.orders
        },
        ..input
    }
}

pub fn any_cap() -> impl Strategy<Value = Reading> {
    (any_reading(), number(0.0, 4_000.0), 0u8..3).prop_map(|(any, cap_nm, kind)| match kind {
        0 => any,
        1 => Reading::missing(),
        _ => Reading {
            value: cap_nm,
            ..any
        },
    })
}

/// What a cap says, worked out by comparisons of numbers: `None` says nothing.
pub fn said_cap(reading: &Reading, most: f32) -> Option<f32> {
    let good = reading.status == Status::VALID
        && reading.age_ms <= 30
        && (0.0..=most).contains(&reading.value);
    good.then_some(reading.value)
}

pub fn any_reading() -> impl Strategy<Value = Reading> {
    (any_bits(), any::<u16>(), 0u16..3, 0u8..4).prop_map(|(value, age_ms, status, kind)| match kind
    {
        0 => Reading::fresh(0.0),
        1 => Reading::fresh(1.0),
        2 => Reading::missing(),
        _ => Reading {
            value,
            age_ms: age_ms >> (age_ms & 15),
            status: Status(status),
        },
    })
}

pub fn any_orders() -> impl Strategy<Value = Orders> {
    (
        any_cap(),
        any_cap(),
        any_reading(),
        any_reading(),
        any_reading(),
    )
        .prop_map(
            |(rear_torque_cap, yaw_moment_cap, open_now, anti_lock_active, stability_active)| {
                Orders {
                    rear_torque_cap,
                    yaw_moment_cap,
                    open_now,
                    anti_lock_active,
                    stability_active,
                }
            },
        )
}

/// What a reading says, worked out by comparisons of numbers: `None` says nothing.
pub fn said(reading: &Reading) -> Option<bool> {
    let good = reading.status == Status::VALID
        && reading.age_ms <= 30
        && (0.0..=1.0).contains(&reading.value);
    good.then_some(reading.value > 0.5)
}

/// A state that has honestly reached these capacities.
pub fn at(left: f32, right: f32) -> State {
    let mut state = State::default();
    let guardian = guardian();
    for step in 1..=20 {
        let risen = RISE_NM * step as f32;
        let out = guardian.step(&mut state, &asking(left.min(risen), right.min(risen)));
        assert!(!out.lowered.left && !out.lowered.right);
    }
    state
}

/// A number of a range. The range strategy of the test library asserts wrongly about its own rounding once in 1e6.
pub fn number(low: f32, high: f32) -> impl Strategy<Value = f32> {
    any::<u32>().prop_map(move |bits| low + (high - low) * (bits as f32 / u32::MAX as f32))
}

pub fn any_bits() -> impl Strategy<Value = f32> {
    prop_oneof![
        any::<u32>().prop_map(f32::from_bits),
        Just(f32::NAN),
        Just(f32::INFINITY),
        Just(f32::NEG_INFINITY),
        number(-10.0, 1500.0),
        number(0.0, 1.0),
    ]
}

pub fn any_input() -> impl Strategy<Value = In> {
    (
        any_bits(),
        any_bits(),
        any_bits(),
        any_bits(),
        0u8..16,
        (any_bits(), any_bits(), 0u8..8),
        any_orders(),
    )
        .prop_map(
            |(left, right, ceiling_left, ceiling_right, flags, passed, orders)| In {
                orders,
                request_nm: PerSide { left, right },
                ceiling: PerSide {
                    left: ceiling_left,
                    right: ceiling_right,
                },
                open: flags == 1,
                health_open: flags == 2,
                opposed: flags & 4 != 0,
                alike: flags & 4 == 0 && flags & 8 != 0,
                passed_nm: PerSide {
                    left: if passed.2 == 1 { passed.0 } else { 0.0 },
                    right: if passed.2 == 2 { passed.1 } else { 0.0 },
                },
            },
        )
}

pub fn mirrored(input: &In) -> In {
    In {
        request_nm: input.request_nm.mirrored(),
        ceiling: input.ceiling.mirrored(),
        passed_nm: input.passed_nm.mirrored(),
        ..*input
    }
}
