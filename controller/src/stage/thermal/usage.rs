//! What the axle has been used for: counters that live as long as the axle, its clutches, its oil.
//!
//! In: torque thought to be carried (Nm), heat taken in (the ledger's whole microjoules), temperatures, speed. Out: per clutch
//! heat by class of power and by class of slip, engagements, cycles of the surface, time with capacity withdrawn; age of the oil,
//! way, time; once a second the shares of life used ([`Told`]).
//!
//! Power and slip of a second are means: heat over time, and heat over the torque's integral. So the classes of one clutch add up to
//! its heat to the last microjoule. Wear goes with heat: depth = k E / (mu A) (Archard's law by energy). A clutch is as far used as the larger of wear and cycles.
//! A second is counted in three strides of the heat, one piece each. Counters are whole numbers that stop when full: 64 bits of
//! microjoules last 51,240 h at 100 kW. What less than a second left over waits in the ledger's count, over key-off too.
//! Limits: `wear_mm3_gj` and the curve of the cycles are guesses; what happens within a second is averaged.

use super::life::{Ageing, Basquin, Cycles, OilAge};
use super::network::Temperatures;
use super::rainflow::Rainflow;
use crate::numerics::Real;
use crate::quantity::PerSide;
use crate::signal::Advice;

/// Calibration of the counters.
pub use crate::calibration::LifeCount as Parameters;

/// Classes of power and of slip.
pub const CLASSES: usize = 6;

/// Turning points of the surface temperature that may wait.
pub const WAITING: usize = 10;

/// Steps of temperature in a class of cycles.
pub const STEPS_PER_CLASS: u32 = 4;

/// Time that is counted at once, microseconds.
const INTERVAL_US: u32 = 1_000_000;

const US_PER_S: f32 = 1.0e6;

/// What one clutch has done since it was new.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ClutchUse {
    /// Heat by class of mean power, microjoules.
    pub by_power_uj: [u64; CLASSES],
    /// Heat by class of mean slip, microjoules.
    pub by_slip_uj: [u64; CLASSES],
    /// Times it was engaged.
    pub engagements: u64,
    /// Time in which heat took capacity away, microseconds.
    pub derated_us: u64,
    /// Half cycles of the surface temperature.
    pub cycles: Cycles,
    /// Turning points of it that wait, in steps.
    pub surface: Rainflow<WAITING, i16>,
    /// The ledger's count of heat when it was counted here last, microjoules.
    pub counted_uj: i64,
}

/// Everything that is kept over key-off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counters {
    /// The clutches.
    pub clutch: PerSide<ClutchUse>,
    /// Age of the oil.
    pub oil: OilAge,
    /// Way driven since the axle was new, mm.
    pub way_mm: u64,
    /// Time awake since the axle was new, microseconds.
    pub awake_us: u64,
}

/// What may be renewed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The oil.
    Oil,
    /// The left clutch.
    LeftClutch,
    /// The right clutch.
    RightClutch,
    /// The whole axle, its oil too.
    Axle,
}

/// Shares of life used; 0 is new, 1 used up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Told<S> {
    /// Clutches.
    pub clutch_used: PerSide<S>,
    /// Oil.
    pub oil_used: S,
    /// What a workshop should do.
    pub advice: Advice,
}

/// Counters and what is on its way into them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct State<S> {
    /// The counters.
    pub counters: Counters,
    /// What they say.
    pub told: Told<S>,
    /// Integral of the torque since each clutch was counted last, Nm s.
    carried_nm_s: PerSide<S>,
    /// Age of the oil below a microsecond.
    rest_us: S,
    since_us: u32,
    /// Time from one count to the next.
    interval_us: u32,
    /// Pieces of the second before that are still to be counted.
    due: u8,
    engaged: PerSide<bool>,
}

/// What a stride of the heat shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen<'a, S> {
    /// Torque thought to be carried, Nm.
    pub torque_nm: PerSide<S>,
    /// Heat taken in, the ledger's count.
    pub taken_in_uj: PerSide<i64>,
    /// Temperatures.
    pub at: &'a Temperatures<S>,
    /// Whether heat takes capacity away.
    pub derated: PerSide<bool>,
    /// Speed, m/s.
    pub speed_m_s: S,
}

impl<S: Real> State<S> {
    /// Counters that were kept, and what they say.
    pub fn kept(parameters: &Parameters<S>, counters: &Counters) -> Self {
        let mut state = Self {
            counters: *counters,
            ..Self::default()
        };
        state.tell(parameters);
        state
    }

    /// Whether the next [`State::advance`] counts a piece of a second, which costs more.
    pub(super) fn has_more_to_count(&self) -> bool {
        self.due > 0
    }

    /// Time goes on by `time_s`.
    #[inline(never)]
    pub fn advance(&mut self, parameters: &Parameters<S>, seen: &Seen<'_, S>, time_s: S) {
        self.carried_nm_s = self
            .carried_nm_s
            .zip(seen.torque_nm, |sum, torque| sum + torque * time_s);
        let closed = parameters.closed_nm;
        let engaged = self.engaged.zip(seen.torque_nm, |was, torque| {
            torque >= if was { closed * S::HALF } else { closed }
        });
        let began = engaged.zip(self.engaged, |is, was| u64::from(is && !was));
        self.engaged = engaged;
        let clutch = &mut self.counters.clutch;
        clutch.left.engagements = clutch.left.engagements.saturating_add(began.left);
        clutch.right.engagements = clutch.right.engagements.saturating_add(began.right);
        let stride_us = (time_s * S::of(US_PER_S)).to_whole();
        self.since_us = self
            .since_us
            .saturating_add(u32::try_from(stride_us).unwrap_or(0));
        match self.due {
            0 if self.since_us >= INTERVAL_US => {
                self.interval_us = self.since_us;
                self.since_us = 0;
                self.due = PIECES;
            }
            0 => {}
            // Both at once: counted one after the other they would not be mirror images.
            CLUTCHES => {
                let one = |clutch: &mut ClutchUse, taken_in_uj, surface_degc, torque, derated| {
                    let second = (self.interval_us, torque, derated);
                    clutch.count(parameters, (taken_in_uj, surface_degc), second);
                };
                let (heat, surface) = (seen.taken_in_uj, seen.at.surface_degc);
                let (torque, derated) = (self.carried_nm_s, seen.derated);
                one(
                    &mut clutch.left,
                    heat.left,
                    surface.left,
                    torque.left,
                    derated.left,
                );
                one(
                    &mut clutch.right,
                    heat.right,
                    surface.right,
                    torque.right,
                    derated.right,
                );
                self.carried_nm_s = PerSide::both(S::ZERO);
            }
            OIL => {
                let interval_s = S::from_whole(i64::from(self.interval_us)).per(S::of(US_PER_S));
                self.counters.oil.grow(
                    &parameters.ageing(),
                    seen.at.oil_degc,
                    parameters.oil_reference_degc,
                    interval_s,
                    &mut self.rest_us,
                );
                let way_mm = (seen.speed_m_s.magnitude() * interval_s * S::of(1000.0)).to_whole();
                self.counters.way_mm = self
                    .counters
                    .way_mm
                    .saturating_add(u64::try_from(way_mm).unwrap_or(0));
                self.counters.awake_us = self
                    .counters
                    .awake_us
                    .saturating_add(u64::from(self.interval_us));
            }
            _ => self.tell(parameters),
        }
        self.due = self.due.saturating_sub(1);
    }

    /// A part was renewed; `taken_in_uj` is the ledger's count of heat. A second on its way is not counted.
    pub fn renew(&mut self, parameters: &Parameters<S>, part: Part, taken_in_uj: PerSide<i64>) {
        let new = taken_in_uj.map(|counted_uj| ClutchUse {
            counted_uj,
            ..ClutchUse::default()
        });
        match part {
            Part::Oil => self.counters.oil = OilAge::default(),
            Part::LeftClutch => self.counters.clutch.left = new.left,
            Part::RightClutch => self.counters.clutch.right = new.right,
            Part::Axle => {
                *self = Self {
                    counters: Counters {
                        clutch: new,
                        ..Counters::default()
                    },
                    ..Self::default()
                }
            }
        }
        self.tell(parameters);
    }

    /// Works out what the counters say.
    pub fn tell(&mut self, parameters: &Parameters<S>) {
        self.told = self.counters.told(parameters);
    }
}

/// Pieces of a second, by what is left of them.
const PIECES: u8 = 4;
const CLUTCHES: u8 = 3;
const OIL: u8 = 2;

impl ClutchUse {
    /// Heat since new that is counted, microjoules.
    pub fn heat_uj(&self) -> u64 {
        self.by_power_uj
            .iter()
            .fold(0, |sum: u64, uj| sum.saturating_add(*uj))
    }

    /// Wear of a face, um.
    pub fn wear_um<S: Real>(&self, parameters: &Parameters<S>) -> S {
        let heat_uj = i64::try_from(self.heat_uj()).unwrap_or(i64::MAX);
        let heat_gj = S::from_whole(heat_uj).per(S::of(1.0e15));
        let per_area = parameters.wear_friction * parameters.lining_area_mm2;
        (parameters.wear_mm3_gj * heat_gj * S::of(1000.0)).over(per_area, parameters.wear_limit_um)
    }

    /// Share of life used by cycles of the surface temperature; what waits counts half.
    pub fn cycles_used<S: Real>(&self, parameters: &Parameters<S>) -> S {
        let mut cycles = self.cycles;
        self.surface
            .left_over(|cycle| cycles.count(cycle, STEPS_PER_CLASS));
        let width_k = parameters.cycle_step_k * S::of(STEPS_PER_CLASS as f32);
        cycles.used(width_k, &parameters.curve())
    }

    /// Share of life used.
    pub fn used<S: Real>(&self, parameters: &Parameters<S>) -> S {
        let worn = self
            .wear_um(parameters)
            .over(parameters.wear_limit_um, S::ONE);
        worn.most(self.cycles_used(parameters))
    }

    /// Counts what came in since the last time, over `time_us`.
    pub fn count<S: Real>(
        &mut self,
        parameters: &Parameters<S>,
        (taken_in_uj, surface_degc): (i64, S),
        (time_us, carried_nm_s, derated): (u32, S, bool),
    ) {
        let came_uj = taken_in_uj.saturating_sub(self.counted_uj).max(0);
        self.counted_uj = taken_in_uj;
        let whole_uj = u64::try_from(came_uj).unwrap_or(0);
        let heat_uj = S::from_whole(came_uj);
        // uJ over us is W.
        let power_w = heat_uj.over(S::from_whole(i64::from(time_us)), S::ZERO);
        let class = class_of(power_w, parameters.power_class_w, S::of(4.0));
        add(&mut self.by_power_uj, class, whole_uj);
        // Heat of a torque that was none is of the fastest class: nothing is known of its slip.
        let slip_rad_s = heat_uj.over(carried_nm_s * S::of(US_PER_S), S::of(f32::MAX));
        let class = class_of(slip_rad_s, parameters.slip_class_rad_s, S::of(2.0));
        add(&mut self.by_slip_uj, class, whole_uj);
        if derated {
            self.derated_us = self.derated_us.saturating_add(u64::from(time_us));
        }
        let steps = surface_degc
            .over(parameters.cycle_step_k, S::ZERO)
            .within(-S::of(1000.0), S::of(1000.0))
            .to_whole();
        let cycles = &mut self.cycles;
        self.surface
            .take(i32::try_from(steps).unwrap_or(0), |cycle| {
                cycles.count(cycle, STEPS_PER_CLASS);
            });
    }

    /// Whether its two sums of heat agree and the ledger has seen it all.
    pub fn is_plausible(&self, taken_in_uj: i64) -> bool {
        let by_slip_uj = self
            .by_slip_uj
            .iter()
            .fold(0, |sum: u64, uj| sum.saturating_add(*uj));
        self.heat_uj() == by_slip_uj && (0..=taken_in_uj).contains(&self.counted_uj)
    }

    /// The use of a clutch of which only the heat is known: it counts in the highest classes.
    pub fn of_heat(taken_in_uj: i64) -> Self {
        let mut found = Self {
            counted_uj: taken_in_uj,
            ..Self::default()
        };
        let heat_uj = u64::try_from(taken_in_uj).unwrap_or(0);
        add(&mut found.by_power_uj, CLASSES - 1, heat_uj);
        add(&mut found.by_slip_uj, CLASSES - 1, heat_uj);
        found
    }
}

impl Counters {
    /// The shares of life they mean.
    pub fn told<S: Real>(&self, parameters: &Parameters<S>) -> Told<S> {
        let clutch_used = PerSide {
            left: self.clutch.left.used(parameters),
            right: self.clutch.right.used(parameters),
        };
        let aged_h = S::from_whole(i64::try_from(self.oil.us).unwrap_or(i64::MAX))
            .per(S::of(US_PER_S * 3600.0));
        let oil_used = aged_h.over(parameters.oil_life_h, S::ONE);
        let advice = if !(clutch_used.left < S::ONE && clutch_used.right < S::ONE) {
            Advice::Clutch
        } else if !(oil_used < S::ONE) {
            Advice::OilNow
        } else if !(oil_used < parameters.oil_soon_share) {
            Advice::OilSoon
        } else {
            Advice::None
        };
        Told {
            clutch_used,
            oil_used,
            advice,
        }
    }

    /// Time awake that is left at the use so far, h: of the clutch that ends first.
    pub fn left_h<S: Real>(&self, parameters: &Parameters<S>) -> S {
        let used = self.told(parameters).clutch_used;
        let used = used.left.most(used.right);
        let awake_h = S::from_whole(i64::try_from(self.awake_us).unwrap_or(i64::MAX))
            .per(S::of(US_PER_S * 3600.0));
        (awake_h * (S::ONE - used).most(S::ZERO)).over(used, S::of(f32::MAX))
    }
}

impl<S: Real> Parameters<S> {
    /// How the oil ages.
    pub fn ageing(&self) -> Ageing<S> {
        Ageing::Arrhenius {
            activation_j_mol: self.oil_activation_j_mol,
        }
    }

    /// Cycles of the surface temperature to the end of a clutch.
    pub fn curve(&self) -> Basquin<S> {
        Basquin {
            reference_range: self.cycle_reference_k,
            reference_cycles: self.cycle_reference_thousand * S::of(1000.0),
            exponent: u8::try_from(self.cycle_exponent.to_whole()).unwrap_or(1),
        }
    }
}

/// Class of a value whose ends are `first`, `first * factor` and so on; what is no number belongs to the last.
fn class_of<S: Real>(value: S, first: S, factor: S) -> usize {
    let mut class = 0;
    let mut end = first;
    while class < CLASSES - 1 && !(value < end) {
        class += 1;
        end = end * factor;
    }
    class
}

fn add(classes: &mut [u64; CLASSES], class: usize, heat_uj: u64) {
    if let Some(place) = classes.get_mut(class) {
        *place = place.saturating_add(heat_uj);
    }
}
