//! The course of an event: driven once in the closed loop, kept second by second.
//!
//! In: vehicle, page, [`Event`]. Out: [`Course`]: per second mean speed, mean torque of each clutch and the slip with which it makes that
//! second's heat, all as the law estimated them. The same for the axle's cost at steady cruise ([`cruise_cost`]), as the plant has it.

use couplet_controller::PerSide;
use couplet_controller::calibration::RawPage;

use super::Event;
use super::axle::Slice;
use super::exact::FASTEST_M_S;
use crate::metrics::series::mean;
use crate::plant::{AxleLayout, Vehicle};
use crate::record::Record;
use crate::run::run;
use crate::scenario::{Manoeuvre, Scenario};

/// An event, second by second.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The event.
    pub event: Event,
    /// The seconds.
    pub slices: Vec<Slice>,
}

impl Course {
    /// How long it takes, s.
    pub fn time_s(&self) -> f64 {
        self.slices
            .iter()
            .map(|slice| f64::from(slice.time_s))
            .sum()
    }

    /// How far it goes, m.
    pub fn way_m(&self) -> f64 {
        let way = |slice: &Slice| f64::from(slice.time_s) * f64::from(slice.speed_m_s);
        self.slices.iter().map(way).sum()
    }

    /// Heat into each clutch, J.
    pub fn heat_j(&self) -> PerSide<f64> {
        let mut heat_j = PerSide::both(0.0);
        for slice in &self.slices {
            let seconds = f64::from(slice.time_s);
            let heat_w = slice
                .torque_nm
                .zip(slice.slip_rad_s, |torque, slip| torque * slip);
            heat_j = heat_j.zip(heat_w, |sum, heat| sum + heat * seconds);
        }
        heat_j
    }
}

/// The scenario that an event is driven as.
pub fn scenario_of(event: Event) -> Scenario {
    let manoeuvre = match event {
        Event::Launch | Event::LaunchSnow | Event::LaunchSplit | Event::LaunchTrailer => {
            Manoeuvre::SplitLaunch
        }
        Event::ExitDry | Event::ExitWet => Manoeuvre::PowerOnExit,
        Event::Pass | Event::PassSlippery => Manoeuvre::SkarnPass,
    };
    let mut scenario = Scenario::of(manoeuvre);
    let numbers = &mut scenario.numbers;
    let mut road = |friction: f64, grade_percent: f64| {
        numbers.road.friction_left = friction;
        numbers.road.friction_right = friction;
        numbers.road.grade_percent = grade_percent;
    };
    match event {
        Event::Launch => {
            road(0.95, 0.0);
            numbers.driver.pedal = 0.35;
        }
        Event::LaunchSnow => {
            road(0.3, 8.0);
            numbers.driver.pedal = 0.5;
        }
        Event::LaunchSplit => numbers.road.grade_percent = 10.0,
        Event::LaunchTrailer => {
            road(0.6, 8.0);
            numbers.load.trailer_mass_kg = 1500.0;
        }
        Event::ExitDry | Event::Pass => {}
        Event::ExitWet => road(0.6, 0.0),
        Event::PassSlippery => {
            // The day of the demo file `skarn-pass-slippery`.
            numbers.road.friction_left = 0.4;
            numbers.road.friction_right = 0.4;
        }
    }
    scenario
}

/// Drives an event once; nothing where the run broke off.
pub fn course(event: Event, vehicle: &Vehicle, page: &RawPage) -> Option<Course> {
    let result = run(&scenario_of(event), vehicle, page);
    let slices = seconds(&result.record)?;
    (!slices.is_empty()).then_some(Course { event, slices })
}

/// A record second by second; what is left at its end counts as part of a second.
pub fn seconds(record: &Record) -> Option<Vec<Slice>> {
    let per_second = (1.0 / record.period_s).round().max(1.0) as usize;
    let column = |name: &str| record.column(name);
    let both = |name: &str| {
        Some(PerSide {
            left: column(&format!("{name}_left"))?,
            right: column(&format!("{name}_right"))?,
        })
    };
    let (speed, heat, capacity) = (column("speed")?, both("estimated_heat")?, both("capacity")?);
    let mut slices = Vec::new();
    let mut first = 0;
    while first < record.len() {
        let last = (first + per_second).min(record.len());
        // Over a whole second, also where the record ends within it: its heat is in the course, and nothing more.
        let mean = |column: &[f32]| {
            let sum: f64 = column[first..last]
                .iter()
                .map(|value| f64::from(*value))
                .sum();
            sum / per_second as f64
        };
        let samples = (last - first) as f64 / per_second as f64;
        let torque_nm = capacity.map(mean);
        let heat_w = heat.map(mean);
        slices.push(Slice {
            time_s: 1,
            speed_m_s: (mean(speed).abs() / samples)
                .round()
                .clamp(0.0, f64::from(FASTEST_M_S)) as u8,
            torque_nm: torque_nm.zip(
                heat_w,
                |torque, heat| if heat > 0.0 { torque.max(1.0) } else { torque },
            ),
            slip_rad_s: torque_nm.zip(heat_w, |torque, heat| heat / torque.max(1.0)),
        });
        first = last;
    }
    Some(slices)
}

/// What the axle costs at a steady speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CruiseCost {
    /// Speed, km/h.
    pub speed_km_h: f64,
    /// Loss in clutches, tyre slip and take-off, W: as the law drives, held open, front axle alone.
    pub loss_w: [f64; 3],
    /// Power of the powertrain as the law drives, W.
    pub power_w: f64,
    /// Share of the time both clutches are open as the law drives.
    pub open_share: f64,
}

impl CruiseCost {
    /// What a loss costs on a kilometre, Wh/km.
    pub fn wh_km(&self, loss_w: f64) -> f64 {
        loss_w / self.speed_km_h
    }
}

/// A capacity below this is open, Nm.
const OPEN_NM: f32 = 1.0;

/// The car settles this long before anything counts, s.
const SETTLED_S: f64 = 10.0;

/// Steady cruise at a speed, driven three times.
pub fn cruise_cost(speed_km_h: f64, vehicle: &Vehicle, page: &RawPage) -> Option<CruiseCost> {
    let driven = |layout: AxleLayout, held_open: bool| {
        let mut scenario = Scenario::of(Manoeuvre::Cruise);
        scenario.layout = layout;
        scenario.numbers.course.speed_m_s = speed_km_h / 3.6;
        scenario.numbers.assist.order_open = if held_open { 1.0 } else { 0.0 };
        run(&scenario, vehicle, page)
    };
    let loss_w = |record: &Record| {
        [
            "plant_clutch_loss",
            "plant_tyre_loss",
            "plant_driveline_loss",
        ]
        .into_iter()
        .map(|name| mean(record, name, SETTLED_S, f64::INFINITY))
        .sum::<Option<f64>>()
    };
    let own = driven(AxleLayout::PairedClutches, false).record;
    let open = driven(AxleLayout::PairedClutches, true).record;
    let front = driven(AxleLayout::FrontDrive, false).record;
    let (left, right) = (own.column("capacity_left")?, own.column("capacity_right")?);
    let both_open = left
        .iter()
        .zip(right)
        .filter(|(left, right)| **left < OPEN_NM && **right < OPEN_NM)
        .count();
    Some(CruiseCost {
        speed_km_h,
        loss_w: [loss_w(&own)?, loss_w(&open)?, loss_w(&front)?],
        power_w: mean(&own, "plant_engine_power", SETTLED_S, f64::INFINITY)?,
        open_share: both_open as f64 / left.len().max(1) as f64,
    })
}
