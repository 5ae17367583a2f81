//! The axle of a life at event level: ledger, bound, derating and counters, moved by exact strides.
//!
//! In: slices of use (time, speed, torque and slip per clutch), rests, air. Out: the controller's own ledger and counters.
//!
//! Thermal network, bound, ceilings, ageing, load cycles and classes are the controller's; only the steps between are not its 20 ms but a slice's
//! whole time, solved in closed form ([`Exact`]). While heat takes capacity away, or may, a slice is cut into tenths of a second.
//! Left out, as too short for a life: dead time and lag of the actuator. The oil ages over a slice by Simpson's rule on the parabola through its
//! temperatures at both ends and its mean.

use couplet_controller::PerSide;
use couplet_controller::calibration::Tunables;
use couplet_controller::stage::thermal::derating::{self, SideState};
use couplet_controller::stage::thermal::ledger::Ledger;
use couplet_controller::stage::thermal::network::{self, Temperatures};
use couplet_controller::stage::thermal::usage::{Counters, Part, State};

use super::exact::{Exact, FASTEST_M_S};

/// Longest stride, s: the oil's temperature changes evenly enough over it.
pub const LONGEST_S: u32 = 30;

/// Stride while heat takes capacity away, or may: a ceiling moves by at most a twentieth in it.
const HOT_MS: u32 = 100;

const MS_PER_S: u32 = 1000;

/// Constant use for whole seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// How long, s.
    pub time_s: u32,
    /// Speed in whole m/s.
    pub speed_m_s: u8,
    /// Torque asked of each clutch, Nm.
    pub torque_nm: PerSide<f64>,
    /// Slip of each clutch, rad/s.
    pub slip_rad_s: PerSide<f64>,
}

impl Slice {
    /// Nothing asked at that speed.
    pub fn open(time_s: u32, speed_m_s: u8) -> Self {
        Self {
            time_s,
            speed_m_s: speed_m_s.min(FASTEST_M_S),
            torque_nm: PerSide::both(0.0),
            slip_rad_s: PerSide::both(0.0),
        }
    }
}

/// What went through in one stride, for a watcher.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// Heat into each clutch, microjoules.
    pub heat_uj: PerSide<i64>,
    /// How long, ms.
    pub time_ms: u32,
    /// Torque carried, Nm.
    pub torque_nm: PerSide<f64>,
}

/// The axle.
#[derive(Debug, Clone)]
pub struct Axle<'a> {
    tunables: &'a Tunables<f64>,
    estimate: Exact,
    fast: Exact,
    slow: Exact,
    /// Energies and what passed the border.
    pub ledger: Ledger,
    /// Temperatures of the estimate, degC.
    pub at: Temperatures<f64>,
    fast_at: Temperatures<f64>,
    slow_at: Temperatures<f64>,
    /// Ceilings.
    pub derating: PerSide<SideState<f64>>,
    /// Counters of use.
    pub counters: Counters,
    /// Heat given to the air by the closed form, J: beside the ledger's booking, to compare.
    pub lost_j: f64,
    /// Highest temperatures there were, surface and oil, degC.
    pub hottest_degc: (f64, f64),
    engaged: PerSide<bool>,
    rest_us: f64,
}

impl<'a> Axle<'a> {
    /// A new axle as warm as the air.
    pub fn new(tunables: &'a Tunables<f64>, degc: f64) -> Self {
        let network = &tunables.heat_network;
        let (more, less) = (
            1.0 + tunables.heat_bound.share,
            1.0 - tunables.heat_bound.share,
        );
        let at = Temperatures {
            surface_degc: PerSide::both(degc),
            core_degc: PerSide::both(degc),
            oil_degc: degc,
            housing_degc: degc,
        };
        Self {
            tunables,
            estimate: Exact::new(network),
            fast: Exact::new(&scaled(network, less, less)),
            slow: Exact::new(&scaled(network, more, less)),
            ledger: Ledger::opened(network.nodes(&at)),
            at,
            fast_at: at,
            slow_at: at,
            derating: PerSide::default(),
            counters: Counters::default(),
            lost_j: 0.0,
            hottest_degc: (degc, degc),
            engaged: PerSide::both(false),
            rest_us: 0.0,
        }
    }

    /// Temperatures the axle may have, degC.
    pub fn bound(&self) -> Temperatures<f64> {
        let beyond_k = self.tunables.heat_bound.beyond_k;
        joined(&self.without_margin(), &self.at, |most, _| most + beyond_k)
    }

    /// The bound without what is added for the profile in the plates.
    pub fn without_margin(&self) -> Temperatures<f64> {
        if !(self.tunables.heat_bound.share > 0.0) {
            return self.at;
        }
        let most = joined(&self.fast_at, &self.slow_at, f64::max);
        joined(&most, &self.at, f64::max)
    }

    /// Use goes on as the slice says; every stride is told.
    pub fn go(&mut self, slice: &Slice, ambient_degc: f64, told: &mut impl FnMut(&Passed)) {
        let mut left_ms = slice.time_s * MS_PER_S;
        while left_ms > 0 {
            let most_ms = left_ms.min(LONGEST_S * MS_PER_S);
            let time_ms = if self.stays_cool(slice, ambient_degc, most_ms) {
                most_ms
            } else {
                left_ms.min(HOT_MS)
            };
            self.stride(slice, ambient_degc, time_ms, told);
            left_ms -= time_ms;
        }
    }

    /// A rest with the car asleep.
    pub fn rest(&mut self, ambient_degc: f64, time_s: f64) {
        if !(time_s > 0.0) {
            return;
        }
        let network = &self.tunables.heat_network;
        let none = PerSide::both(0.0);
        let rested = self
            .estimate
            .advance(&self.at, none, 0, ambient_degc, time_s);
        let most = self
            .slow
            .advance(&self.without_margin(), none, 0, ambient_degc, time_s)
            .end;
        self.lost_j +=
            self.estimate.to_ambient_w_k(0) * (rested.mean.housing_degc - ambient_degc) * time_s;
        self.at = rested.end;
        self.ledger.settle(network.nodes(&self.at));
        (self.fast_at, self.slow_at) = (most, most);
        let was_open = self.derating.map(|side| side.open);
        self.derating = derating::woken(&self.tunables.derating, &self.bound(), was_open);
        self.engaged = PerSide::both(false);
    }

    /// Fresh oil.
    pub fn change_oil(&mut self) {
        let life = &self.tunables.life_count;
        let mut state = State::kept(life, &self.counters);
        state.renew(life, Part::Oil, self.ledger.taken_in_uj());
        self.counters = state.counters;
    }

    /// Whether heat takes nothing away, neither before nor after the slice.
    fn stays_cool(&self, slice: &Slice, ambient_degc: f64, time_ms: u32) -> bool {
        let limits = &self.tunables.derating;
        let cool = |most: &Temperatures<f64>| {
            most.surface_degc.larger() < limits.surface_start_degc
                && most.core_degc.larger() < limits.core_start_degc
                && most.oil_degc < limits.oil_start_degc
        };
        let at_rest = |side: &SideState<f64>| !side.open && side.withdrawn == 0.0;
        if !(at_rest(&self.derating.left) && at_rest(&self.derating.right) && cool(&self.bound())) {
            return false;
        }
        let heat_w = slice
            .torque_nm
            .zip(slice.slip_rad_s, |torque, slip| torque * slip);
        if heat_w.left == 0.0 && heat_w.right == 0.0 {
            return true;
        }
        let more = 1.0 + self.tunables.heat_bound.share;
        let after = self.fast.advance(
            &self.without_margin(),
            heat_w.map(|heat| heat * more),
            slice.speed_m_s,
            ambient_degc,
            1e-3 * f64::from(time_ms),
        );
        let beyond_k = self.tunables.heat_bound.beyond_k;
        cool(&joined(&after.end, &after.end, |degc, _| degc + beyond_k))
    }

    fn stride(
        &mut self,
        slice: &Slice,
        ambient_degc: f64,
        time_ms: u32,
        told: &mut impl FnMut(&Passed),
    ) {
        let tunables = self.tunables;
        let capacity_nm = tunables.authority.capacity_nm;
        let torque_nm = slice.torque_nm.zip(self.derating, |torque, side| {
            if side.open {
                0.0
            } else {
                torque.min((1.0 - side.withdrawn) * capacity_nm)
            }
        });
        let seconds = 1e-3 * f64::from(time_ms);
        // Heat is rounded once, as the law does, and what is rounded is what warms.
        let heat_uj = torque_nm.zip(slice.slip_rad_s, |torque, slip| {
            libm::rint((torque * slip).max(0.0) * seconds * 1e6) as i64
        });
        let heat_w = heat_uj.map(|uj| uj as f64 / (seconds * 1e6));
        let speed = slice.speed_m_s;
        let before = self.at;
        let stride = self
            .estimate
            .advance(&before, heat_w, speed, ambient_degc, seconds);
        let more = heat_w.map(|heat| heat * (1.0 + tunables.heat_bound.share));
        self.fast_at = self
            .fast
            .advance(&self.fast_at, more, speed, ambient_degc, seconds)
            .end;
        self.slow_at = self
            .slow
            .advance(&self.slow_at, more, speed, ambient_degc, seconds)
            .end;
        self.at = stride.end;
        self.ledger.take_in(heat_uj);
        self.ledger.settle(tunables.heat_network.nodes(&self.at));
        self.lost_j += self.estimate.to_ambient_w_k(speed)
            * (stride.mean.housing_degc - ambient_degc)
            * seconds;
        let surface = self.at.surface_degc.larger();
        self.hottest_degc.0 = self.hottest_degc.0.max(surface);
        self.hottest_degc.1 = self.hottest_degc.1.max(self.at.oil_degc);
        let bound = self.bound();
        derating::step(&tunables.derating, &mut self.derating, &bound, seconds);
        let oil_degc = (before.oil_degc, stride.mean.oil_degc);
        self.count(oil_degc, torque_nm, time_ms, speed);
        told(&Passed {
            heat_uj,
            time_ms,
            torque_nm,
        });
    }

    fn count(
        &mut self,
        (oil_degc, mean_oil_degc): (f64, f64),
        torque_nm: PerSide<f64>,
        time_ms: u32,
        speed_m_s: u8,
    ) {
        let life = &self.tunables.life_count;
        let taken_in_uj = self.ledger.taken_in_uj();
        let surface_degc = self.at.surface_degc;
        let derated = self.derating.map(|side| side.open || side.withdrawn > 0.0);
        let time_us = time_ms * 1000;
        let seconds = 1e-3 * f64::from(time_ms);
        let engaged = self.engaged.zip(torque_nm, |was, torque| {
            torque
                >= if was {
                    0.5 * life.closed_nm
                } else {
                    life.closed_nm
                }
        });
        let clutch = &mut self.counters.clutch;
        clutch.left.engagements += u64::from(engaged.left && !self.engaged.left);
        clutch.right.engagements += u64::from(engaged.right && !self.engaged.right);
        self.engaged = engaged;
        clutch.left.count(
            life,
            (taken_in_uj.left, surface_degc.left),
            (time_us, torque_nm.left * seconds, derated.left),
        );
        clutch.right.count(
            life,
            (taken_in_uj.right, surface_degc.right),
            (time_us, torque_nm.right * seconds, derated.right),
        );
        let ageing = life.ageing();
        let rate = |degc: f64| ageing.rate(degc, life.oil_reference_degc);
        let (from, to) = (oil_degc, self.at.oil_degc);
        let middle = 0.25 * (6.0 * mean_oil_degc - from - to);
        let mean = (rate(from) + 4.0 * rate(middle) + rate(to)) / 6.0;
        let aged_us = mean * seconds * 1e6 + self.rest_us;
        let whole_us = libm::rint(aged_us);
        self.rest_us = aged_us - whole_us;
        self.counters.oil.us = self.counters.oil.us.saturating_add_signed(whole_us as i64);
        self.counters.way_mm += u64::from(speed_m_s) * u64::from(time_ms);
        self.counters.awake_us += u64::from(time_us);
    }
}

/// The network with all heat capacities and all conductances off by a factor, as the controller's bound takes it.
fn scaled(
    network: &network::Parameters<f64>,
    capacity: f64,
    conductance: f64,
) -> network::Parameters<f64> {
    network::Parameters {
        surface_capacity_j_k: network.surface_capacity_j_k * capacity,
        core_capacity_j_k: network.core_capacity_j_k * capacity,
        oil_capacity_j_k: network.oil_capacity_j_k * capacity,
        housing_capacity_j_k: network.housing_capacity_j_k * capacity,
        surface_core_w_k: network.surface_core_w_k * conductance,
        surface_oil_w_k: network.surface_oil_w_k * conductance,
        core_oil_w_k: network.core_oil_w_k * conductance,
        oil_housing_w_k: network.oil_housing_w_k * conductance,
        housing_ambient_w_k: network.housing_ambient_w_k * conductance,
        housing_ambient_per_speed_w_s_k_m: network.housing_ambient_per_speed_w_s_k_m * conductance,
        fastest_speed_m_s: network.fastest_speed_m_s,
    }
}

fn joined(
    one: &Temperatures<f64>,
    other: &Temperatures<f64>,
    join: impl Fn(f64, f64) -> f64,
) -> Temperatures<f64> {
    Temperatures {
        surface_degc: one.surface_degc.zip(other.surface_degc, &join),
        core_degc: one.core_degc.zip(other.core_degc, &join),
        oil_degc: join(one.oil_degc, other.oil_degc),
        housing_degc: join(one.housing_degc, other.housing_degc),
    }
}
