//! A whole life of a mission: drive after drive, rest after rest, to the last hour.
//!
//! In: mission, courses, the controller's page. Out: [`Life`]: ledger, counters, oil changes, what heat took away. The oil is changed when the
//! counters say it is due; what ages in a life is summed over all fillings.

use couplet_controller::PerSide;
use couplet_controller::calibration::{Calibration, PageRefusal, RawPage, Tunables};
use couplet_controller::stage::thermal::ledger::Ledger;
use couplet_controller::stage::thermal::life::Cycles;
use couplet_controller::stage::thermal::usage::{Counters, STEPS_PER_CLASS};

use super::Mission;
use super::axle::{Axle, Passed};
use super::course::Course;
use super::plan::{Carried, drive};

/// What a life ends with.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// The controller's counters; the oil's is that of the last filling.
    pub counters: Counters,
    /// The controller's ledger.
    pub ledger: Ledger,
    /// Heat given to the air by the closed form, J.
    pub lost_j: f64,
    /// Drives.
    pub drives: u64,
    /// Events.
    pub events: u64,
    /// Oil changes that were due.
    pub oil_changes: u32,
    /// Time that ages oil alike at the reference temperature, all fillings, h.
    pub oil_age_h: f64,
    /// Hottest surface and oil, degC.
    pub hottest_degc: (f64, f64),
    /// Wear of a face, um.
    pub wear_um: PerSide<f64>,
    /// Share of life the cycles of the surface used.
    pub cycles_used: PerSide<f64>,
    /// Half cycles of the surfaces by class, what waits at the end included.
    pub cycles: PerSide<Cycles>,
    /// Share of a clutch's life used.
    pub clutch_used: PerSide<f64>,
    /// Time awake that is left after this life at the same use, h.
    pub left_h: f64,
    /// Strides taken.
    pub strides: u64,
}

impl Life {
    /// Heat into each clutch, J.
    pub fn heat_j(&self) -> PerSide<f64> {
        self.ledger.taken_in_uj().map(|uj| uj as f64 * 1e-6)
    }

    /// Way, km.
    pub fn way_km(&self) -> f64 {
        self.counters.way_mm as f64 * 1e-6
    }

    /// Time awake, h.
    pub fn awake_h(&self) -> f64 {
        self.counters.awake_us as f64 / 3.6e9
    }

    /// Time with capacity withdrawn on either side, at least, h.
    pub fn derated_h(&self) -> f64 {
        let clutch = &self.counters.clutch;
        clutch.left.derated_us.max(clutch.right.derated_us) as f64 / 3.6e9
    }
}

/// The tunables of a page in double precision.
///
/// # Errors
/// The page's refusal.
pub fn tunables(page: &RawPage) -> Result<Tunables<f64>, PageRefusal> {
    page.accept::<f64>()
        .map(|calibration: Calibration<f64>| *calibration.tunables())
}

/// Drives a whole life; every stride is told to the watcher.
pub fn whole(
    mission: &Mission,
    courses: &[Course],
    tunables: &Tunables<f64>,
    watch: &mut impl FnMut(&Passed),
) -> Life {
    let end_us = (mission.whole.time_h * 3.6e9) as u64;
    let mut axle = Axle::new(tunables, mission.air.mean_degc);
    let mut carried = Carried::default();
    let (mut drives, mut events, mut strides) = (0_u64, 0_u64, 0_u64);
    let (mut oil_changes, mut oil_before_us) = (0_u32, 0_u64);
    while axle.counters.awake_us < end_us {
        let drive = drive(mission, courses, drives, &mut carried);
        axle.rest(drive.rest_degc, drive.rest_s);
        for slice in &drive.slices {
            axle.go(slice, drive.ambient_degc, &mut |passed| {
                strides += 1;
                watch(passed);
            });
        }
        drives += 1;
        events += u64::from(drive.events);
        // The oil is changed in the workshop, so after a drive. A drive without a second would never end the life.
        if axle.counters.told(&tunables.life_count).oil_used >= 1.0 {
            oil_changes += 1;
            oil_before_us += axle.counters.oil.us;
            axle.change_oil();
        }
        if drive.slices.is_empty() && drives > 1_000_000 {
            break;
        }
    }
    let life = &tunables.life_count;
    let counters = axle.counters;
    let clutch = &counters.clutch;
    Life {
        counters,
        ledger: axle.ledger,
        lost_j: axle.lost_j,
        drives,
        events,
        oil_changes,
        oil_age_h: (oil_before_us + counters.oil.us) as f64 / 3.6e9,
        hottest_degc: axle.hottest_degc,
        wear_um: clutch.map(|clutch| clutch.wear_um(life)),
        cycles_used: clutch.map(|clutch| clutch.cycles_used(life)),
        cycles: clutch.map(|clutch| {
            let mut cycles = clutch.cycles;
            clutch
                .surface
                .left_over(|cycle| cycles.count(cycle, STEPS_PER_CLASS));
            cycles
        }),
        clutch_used: counters.told(life).clutch_used,
        left_h: counters.left_h(life),
        strides,
    }
}
