//! What the law gives back each step: capacities are the command, all else explains it.

use super::{Granted, Limit};
use crate::quantity::{PerSide, Span};

/// What is left of the axle's ability.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Health {
    /// Everything works.
    Full = 0,
    /// Some ability is taken away.
    Reduced = 1,
    /// Both clutches are kept open. The state before anything is known.
    #[default]
    Open = 2,
}

/// Where the car is, if not driving on a road; both clutches are then kept open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Situation {
    /// Driving, or at rest.
    #[default]
    Road = 0,
    /// Rear wheels turn, front wheels stand: towed with the front axle raised.
    Towed = 1,
    /// Front wheels turn, rear wheels stand: a brake tester, a roller bench, a jack, or a tow with the rear axle raised.
    Bench = 2,
    /// In neutral at walking pace: a car wash, or pushed.
    Pushed = 3,
}

/// Phase of driving as the law reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Phase {
    /// Nothing particular.
    #[default]
    Cruise = 0,
    /// Moving off.
    Launch = 1,
    /// Steering into a turn.
    TurnIn = 2,
    /// Steady in a turn.
    MidCorner = 3,
    /// Driving out of a turn.
    Exit = 4,
    /// Accelerator released.
    LiftOff = 5,
    /// Steering in urgency.
    Evasive = 6,
    /// Steering against the turn.
    CounterSteer = 7,
}

/// What a workshop should do for the axle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Advice {
    /// Nothing.
    #[default]
    None = 0,
    /// Change the oil soon.
    OilSoon = 1,
    /// Change the oil now.
    OilNow = 2,
    /// A clutch is used up.
    Clutch = 3,
}

/// All outputs of one step.
///
/// `capacity_nm` is the command: the torque each clutch may carry, never negative. Which way the torque acts is not the
/// law's choice but the slip's; `torque_nm` is what the law expects, `torque_span_nm` the interval it may lie in.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(C)]
pub struct Outputs {
    /// Capacity commanded, Nm at the wheel, >= 0.
    pub capacity_nm: PerSide<f32>,
    /// Expected torque on the wheel, Nm, positive drives forward.
    pub torque_nm: PerSide<f32>,
    /// Interval of the torque on the wheel, Nm.
    pub torque_span_nm: PerSide<Span<f32>>,
    /// Pressure at the piston, bar.
    pub pressure_bar: PerSide<f32>,
    /// Valve current, A.
    pub current_a: PerSide<f32>,
    /// Grant per side with its reason.
    pub granted: PerSide<Granted>,
    /// Sum of wheel torques that can be had now, Nm.
    pub rear_torque_range_nm: Span<f32>,
    /// Yaw moment that can be had now, Nm.
    pub yaw_moment_range_nm: Span<f32>,
    /// Request to the master controller: mean front wheel speed beyond the car's, m/s.
    pub front_spin_request_m_s: f32,
    /// Request to the master controller: powertrain torque at the carrier at most, Nm.
    pub torque_limit_request_nm: f32,
    /// Surface temperature estimated, degC.
    pub surface_degc: PerSide<f32>,
    /// Core temperature estimated, degC.
    pub core_degc: PerSide<f32>,
    /// Oil temperature estimated, degC.
    pub oil_degc: f32,
    /// Share of capacity left by heat, 0 to 1.
    pub heat_ceiling: PerSide<f32>,
    /// Time until heat takes capacity away at the present use, s, at most the horizon of the calibration (up to 14,400).
    pub time_to_limit_s: PerSide<f32>,
    /// What heat binds, if it does.
    pub heat_limit: PerSide<Limit>,
    /// Share of life each clutch has used: 0 is new, 1 used up.
    pub clutch_life_used: PerSide<f32>,
    /// Share of life the oil has used since it was new.
    pub oil_life_used: f32,
    /// What a workshop should do.
    pub advice: Advice,
    /// What is left of the axle's ability.
    pub health: Health,
    /// Bit set of confirmed faults, see the monitor.
    pub faults: u32,
    /// Share of the capacity that health leaves, 0 to 1.
    pub health_share: f32,
    /// Whether health lets left and right differ.
    pub may_differ: bool,
    /// Where the car is, if not driving on a road.
    pub situation: Situation,
    /// Phase of driving as the law reads it.
    pub phase: Phase,
}
