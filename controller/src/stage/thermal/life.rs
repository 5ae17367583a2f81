//! What use costs the axle: age of the oil, classes of load cycles, share of life used.
//!
//! In: oil temperature and time; counted [`Cycle`]s. Out: time that ages alike at the reference temperature, halves of cycles per class of
//! range, share of life used.
//!
//! Oil: rate = exp(Ea/R (1/T_ref - 1/T)) (Arrhenius), or 2^((T - T_ref)/K) (trade rule, K = 10). Cycles: D = sum of n/N (Miner), N = N_ref
//! (range_ref / range)^m (Basquin). Counters are whole numbers, kept over key-off as words, and stop when full. What is not known counts
//! hot. Limits: real sums at failure scatter between 0.3 and 3; water and fuel in the oil are not counted; activation energies lie
//! between 80 and 130 kJ/mol, from memory.

use super::rainflow::Cycle;
use crate::numerics::Real;

/// Gas constant, J/(mol K) (SI, 2019: exact to the digits given).
const GAS_J_MOL_K: f64 = 8.314_462_618;

/// 0 degC in kelvin.
const ZERO_DEGC_K: f32 = 273.15;

/// Oil that is not known to be cooler, degC.
const HOTTEST_OIL_DEGC: f32 = 200.0;

/// Classes of cycle ranges.
pub const CLASSES: usize = 16;

/// How oil ages with temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ageing<S> {
    /// Arrhenius, with this activation energy, J/mol.
    Arrhenius {
        /// Activation energy, J/mol.
        activation_j_mol: S,
    },
    /// The rate doubles over this difference, K.
    Doubling {
        /// Difference, K.
        over_k: S,
    },
}

impl<S: Real> Ageing<S> {
    /// Rate of ageing over that at the reference temperature, never negative; a temperature that is no number ages as the hottest.
    pub fn rate(&self, degc: S, reference_degc: S) -> S {
        let hottest = S::of(HOTTEST_OIL_DEGC);
        let degc = if degc < hottest { degc } else { hottest };
        let exponent = match *self {
            Self::Arrhenius { activation_j_mol } => {
                let kelvin = (degc + S::of(ZERO_DEGC_K)).most(S::ONE);
                let reference_k = (reference_degc + S::of(ZERO_DEGC_K)).most(S::ONE);
                let warmer = (kelvin - reference_k)
                    .over(kelvin, S::ZERO)
                    .over(reference_k, S::ZERO);
                (activation_j_mol * warmer).over(S::of(GAS_J_MOL_K as f32), S::ZERO)
            }
            Self::Doubling { over_k } => {
                (degc - reference_degc).over(over_k, S::ZERO) * S::of(core::f32::consts::LN_2)
            }
        };
        exponent.exponential()
    }
}

/// Age of the oil; a new one is 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OilAge {
    /// Time at the reference temperature that would have aged the oil as much, microseconds.
    pub us: u64,
}

impl OilAge {
    /// Ages the oil by `time_s` at `degc`: call it some times a minute. `rest_us` carries what is less than a microsecond.
    pub fn grow<S: Real>(
        &mut self,
        ageing: &Ageing<S>,
        degc: S,
        reference_degc: S,
        time_s: S,
        rest_us: &mut S,
    ) {
        let aged_us = ageing.rate(degc, reference_degc) * time_s * S::of(1.0e6) + *rest_us;
        let whole = aged_us.to_whole().max(0);
        let rest = aged_us - S::from_whole(whole);
        *rest_us = if rest.magnitude() <= S::ONE {
            rest
        } else {
            S::ZERO
        };
        self.us = self.us.saturating_add(u64::try_from(whole).unwrap_or(0));
    }
}

/// Half cycles in classes of their range. A counter takes 4.3e9: a half every second for 1.1 million hours; a full one stays full.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Cycles {
    /// Half cycles per class.
    pub halves: [u32; CLASSES],
}

impl Cycles {
    /// Counts a cycle in the class of its range; classes are `width` wide, the last has no upper end.
    pub fn count(&mut self, cycle: Cycle, width: u32) {
        // A range at the edge belongs to the lower class, so that the class's upper end bounds it.
        let class = cycle
            .range
            .saturating_sub(1)
            .checked_div(width)
            .unwrap_or(0);
        let last = CLASSES - 1;
        let place = usize::try_from(class).unwrap_or(last).min(last);
        if let Some(halves) = self.halves.get_mut(place) {
            *halves = halves.saturating_add(u32::from(cycle.halves));
        }
    }

    /// Share of life used by the counted cycles, each as large as its class's upper end.
    pub fn used<S: Real>(&self, width: S, curve: &Basquin<S>) -> S {
        let mut used = S::ZERO;
        let mut upper = S::ZERO;
        for halves in self.halves {
            upper = upper + width;
            // Most classes are empty: the power is worked out only where something is.
            if halves > 0 {
                let cycles = S::from_whole(i64::from(halves)) * S::HALF;
                used = used + curve.used(upper, cycles);
            }
        }
        used
    }
}

/// Cycles to failure over range, in a double logarithmic chart a straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Basquin<S> {
    /// A range whose cycles to failure are known.
    pub reference_range: S,
    /// Cycles to failure there.
    pub reference_cycles: S,
    /// Slope.
    pub exponent: u8,
}

impl<S: Real> Basquin<S> {
    /// Share of life that `cycles` of one range use; 0 for no range, all of it where the curve is none.
    pub fn used(&self, range: S, cycles: S) -> S {
        let relative = range.over(self.reference_range, S::ONE);
        let mut used = cycles.over(self.reference_cycles, S::ONE);
        for _ in 0..self.exponent {
            used = used * relative;
        }
        used
    }
}
