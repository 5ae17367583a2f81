//! A rigid car for the monitor's own tests: what it sees, step by step, and what it says.
//!
//! Out: [`rigid`] and [`weaving`], a car whose values agree; [`watched`], the verdicts of ten seconds with what a case changes; when a
//! fault is named. Limits: kinematics only, no tyre; radius and track are the demo car's.

// Every suite is its own crate and uses its own part of the kit.
#![allow(dead_code)]

use couplet_controller::calibration::RawPage;
use couplet_controller::stage::Stage;
use couplet_controller::stage::monitor::{
    Fault, FaultSet, Monitor, MonitorIn, MonitorState, Verdict,
};
use couplet_controller::{PerWheel, Period, Sensed};

pub const PERIOD_S: f32 = 0.005;
pub const RADIUS_M: f32 = 0.32;
pub const TRACK_M: f32 = 1.58;

pub fn monitor() -> Monitor<f32> {
    let page = RawPage::default().accept::<f32>().expect("a page");
    let tunables = page.tunables();
    Monitor::new(
        tunables.monitor,
        &tunables.vehicle,
        0.0,
        1.0,
        Period::default(),
    )
}

/// A rigid car at a speed and a yaw rate, coasting in gear, seen at a time: every value has some noise of its own.
pub fn rigid(speed_m_s: f32, yaw_rad_s: f32, step: usize) -> MonitorIn<f32> {
    let noise = |place: usize| 1.0e-4 * ((step * 7 + place * 3) % 11) as f32;
    let wheel = |side: f32, place| {
        Sensed::Fresh((speed_m_s + side * 0.5 * TRACK_M * yaw_rad_s) / RADIUS_M + noise(place))
    };
    MonitorIn {
        wheel_speed_rad_s: PerWheel {
            front_left: wheel(-1.0, 0),
            front_right: wheel(1.0, 1),
            rear_left: wheel(-1.0, 2),
            rear_right: wheel(1.0, 3),
        },
        yaw_rate_rad_s: Sensed::Fresh(yaw_rad_s + noise(4)),
        steering_wheel_rad: Sensed::Fresh(0.0),
        lateral_acceleration_m_s2: Sensed::Fresh(speed_m_s * yaw_rad_s + noise(5)),
        longitudinal_acceleration_m_s2: Sensed::Fresh(0.0),
        pedal: Sensed::Fresh(0.0),
        carrier_torque_nm: Sensed::Fresh(0.0),
        carrier_torque_wanted_nm: Sensed::Fresh(0.0),
        brake_bar: Sensed::Fresh(0.0),
        gear: Sensed::Fresh(3.0),
        open_now: Sensed::Fresh(0.0),
        speed_m_s,
        sideslip_rad: 0.0,
        steering_ratio: 15.0,
        second_channel_open: false,
        clutch_faults: FaultSet::default(),
    }
}

/// Verdicts of ten seconds; the change is told the time.
pub fn watched(
    car: impl Fn(f32, usize) -> MonitorIn<f32>,
    change: impl Fn(f32, &mut MonitorIn<f32>),
) -> Vec<Verdict<f32>> {
    let (monitor, mut state) = (monitor(), MonitorState::default());
    (0..2000)
        .map(|step| {
            let time_s = step as f32 * PERIOD_S;
            let mut input = car(time_s, step);
            change(time_s, &mut input);
            monitor.step(&mut state, &input, PERIOD_S)
        })
        .collect()
}

/// First and last time at which a fault is named, s.
pub fn named(verdicts: &[Verdict<f32>], fault: Fault) -> Option<(f32, f32)> {
    let holds = |verdict: &Verdict<f32>| verdict.faults.holds(fault);
    let first = verdicts.iter().position(holds)?;
    let last = verdicts.iter().rposition(holds)?;
    Some((first as f32 * PERIOD_S, last as f32 * PERIOD_S))
}

pub fn only(verdicts: &[Verdict<f32>], fault: Fault) {
    let allowed = FaultSet::default().with(fault, true).0;
    for verdict in verdicts {
        assert_eq!(
            verdict.faults.0 & !allowed,
            0,
            "{:?}",
            verdict.faults.list()
        );
    }
}

/// A weaving car that slows down and speeds up: everything moves.
pub fn weaving(time_s: f32, step: usize) -> MonitorIn<f32> {
    let yaw = 0.25 * (2.0 * time_s).sin();
    rigid(20.0 + 6.0 * (0.8 * time_s).sin(), yaw, step)
}
