//! Falsification: a search for a drive that violates a property, and its smallest form.
//!
//! In: a property, a car, a law, a budget of drives, a seed. Out: [`Found`] or the nearest miss. First seeded chance: points
//! that leave a few parameters off their defaults. Then the covariance-matrix adaptation evolution strategy (Hansen and
//! Ostermeier 2001, from memory; a general-purpose crate) from the best points so far, on the signed measure. A violation is
//! shrunk: parameter by parameter back to its default, then as far towards it as the violation lasts. The drive found is a
//! scenario, so a file replays it to the bit. The same seed finds the same. Limits: short drives of the manoeuvre
//! `disturbance`; a search that finds nothing proves nothing.

pub mod space;

use std::cell::RefCell;

use cmaes::{CMAESOptions, DVector};

use crate::plant::Vehicle;
use crate::plant::sensors::Draws;
use crate::property::{Property, measure};
use crate::run::law::Rule;
use crate::scenario::Scenario;
use space::Space;

/// Share of the budget for chance alone.
const CHANCE: f64 = 0.4;
/// Most parameters that chance moves at once.
const MOVES: u64 = 6;
/// First step of the adaptive search, in shares of the ranges.
const FIRST_STEP: f64 = 0.2;
/// Drives the shrinking may take.
const SHRINKING: usize = 240;
/// Halvings towards a default.
const HALVINGS: usize = 5;
/// Measure of a drive that says nothing about the property: no better than one that holds well.
const SILENT: f64 = 2.0;

/// Measure of a drive in which the law that shall keep the property violates it as well.
const BOTH: f64 = 0.5;

/// What to hunt, with what.
#[derive(Clone, Copy)]
pub struct Hunt<'a> {
    /// The property.
    pub property: &'a Property,
    /// The car.
    pub vehicle: &'a Vehicle,
    /// Calibration and law.
    pub rule: Rule<'a>,
    /// A law that must keep the property in the same drive: what both violate is no difference between them.
    pub but_not: Option<Rule<'a>>,
    /// Most drives before a violation.
    pub budget: usize,
    /// Seed of the chance and of every drive's sensors.
    pub seed: u64,
}

/// A violation.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The smallest drive that still violates.
    pub scenario: Scenario,
    /// Its measure, below zero.
    pub measure: f64,
    /// Names of the parameters that are not at their default.
    pub moved: Vec<String>,
    /// Drives until the first violation.
    pub drives: usize,
    /// Drives of the shrinking.
    pub shrinking: usize,
}

/// What came of a hunt.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The violation, if one was found.
    pub found: Option<Found>,
    /// Drives.
    pub drives: usize,
    /// Least measure met; nothing if no drive said anything.
    pub nearest: Option<f64>,
    /// Drives that said something about the property.
    pub judged: usize,
}

struct Search<'a> {
    hunt: Hunt<'a>,
    space: Space,
    heard: &'a mut dyn FnMut(usize, Option<f64>),
    drives: usize,
    judged: usize,
    /// Best points, best first.
    best: Vec<(f64, Vec<f64>)>,
    nearest: Option<f64>,
}

impl Hunt<'_> {
    /// Hunts; `heard` is told the number of drives done and the least measure so far.
    ///
    /// # Panics
    /// If the page is not acceptable: pages are checked where they are read.
    pub fn go(&self, heard: &mut dyn FnMut(usize, Option<f64>)) -> Outcome {
        let mut search = Search {
            hunt: *self,
            space: Space::new(self.property.with_faults),
            heard,
            drives: 0,
            judged: 0,
            best: Vec::new(),
            nearest: None,
        };
        let violated = search.by_chance().or_else(|| search.adaptively());
        let drives = search.drives;
        let found = violated.map(|point| search.shrunk(point, drives));
        Outcome {
            found,
            drives,
            nearest: search.nearest,
            judged: search.judged,
        }
    }
}

impl Search<'_> {
    fn measure(&self, point: &[f64]) -> Option<f64> {
        let scenario = self.space.scenario(point, self.hunt.seed);
        // A drive that no file may ask for is no drive.
        if scenario.contradiction().is_some() {
            return None;
        }
        let Hunt {
            property,
            vehicle,
            rule,
            but_not,
            ..
        } = self.hunt;
        let measured = measure(property, &scenario, vehicle, rule)?;
        if let Some(other) = but_not.filter(|_| measured < 0.0)
            && measure(property, &scenario, vehicle, other).is_some_and(|other| other < 0.0)
        {
            return Some(BOTH);
        }
        Some(measured)
    }

    /// Measures a point within the budget and remembers it; whether it violates.
    fn tried(&mut self, point: &[f64]) -> (f64, bool) {
        self.drives += 1;
        let measured = self.measure(point);
        let value = measured.unwrap_or(SILENT);
        if let Some(value) = measured {
            self.judged += 1;
            self.nearest = Some(self.nearest.map_or(value, |nearest| nearest.min(value)));
        }
        (self.heard)(self.drives, self.nearest);
        let place = self.best.partition_point(|(known, _)| *known <= value);
        if place < 4 {
            self.best.insert(place, (value, point.to_vec()));
            self.best.truncate(4);
        }
        (value, value < 0.0)
    }

    fn by_chance(&mut self) -> Option<Vec<f64>> {
        let mut draws = Draws::new(self.hunt.seed);
        let default = self.space.default_point();
        let share = (CHANCE * self.hunt.budget as f64) as usize;
        for index in 0..share.max(1).min(self.hunt.budget) {
            let mut point = default.clone();
            // The first drive is the default itself.
            let moves = if index == 0 {
                0
            } else {
                1 + draws.next() % MOVES
            };
            for _ in 0..moves {
                let place = (draws.next() % point.len() as u64) as usize;
                // Ends are where things break: one draw in four is one.
                let (value, end) = (draws.unit(), draws.next() % 8);
                point[place] = match end {
                    0 => 0.0,
                    1 => 1.0,
                    _ => value,
                };
            }
            let (half, draw) = (draws.next().is_multiple_of(2), draws.next());
            let about = self.hunt.property.about;
            if let (true, Some(value)) = (half, self.space.fault_at_one_of(about, draw)) {
                point[self.space.first_fault()] = value;
            }
            if self.tried(&point).1 {
                return Some(point);
            }
        }
        None
    }

    fn adaptively(&mut self) -> Option<Vec<f64>> {
        let mut start = 0;
        while self.drives < self.hunt.budget {
            let (_, mean) = self.best.get(start % self.best.len().max(1))?.clone();
            let before = self.drives;
            let seed = self.hunt.seed.wrapping_add(start as u64);
            let budget = self.hunt.budget;
            let found = RefCell::new(None);
            let this = RefCell::new(&mut *self);
            let objective = |point: &DVector<f64>| {
                let mut this = this.borrow_mut();
                if this.drives >= budget || found.borrow().is_some() {
                    return SILENT;
                }
                let inside: Vec<f64> = point.iter().map(|value| value.clamp(0.0, 1.0)).collect();
                // Outside the cube it costs, so that the search comes back.
                let outside: f64 = point
                    .iter()
                    .zip(&inside)
                    .map(|(value, inside)| (value - inside).abs())
                    .sum();
                let (value, violates) = this.tried(&inside);
                if violates {
                    *found.borrow_mut() = Some(inside);
                }
                value.max(-1e6) + 0.1 * outside
            };
            let options = CMAESOptions::new(mean, FIRST_STEP).seed(seed);
            let Ok(mut strategy) = options.build(objective) else {
                return None;
            };
            while found.borrow().is_none() && strategy.next().is_none() {
                if this.borrow().drives >= budget {
                    break;
                }
            }
            drop(strategy);
            if let Some(point) = found.into_inner() {
                return Some(point);
            }
            // A search that ends without a drive would never end.
            if self.drives == before {
                return None;
            }
            start += 1;
        }
        None
    }

    /// The smallest point that still violates.
    fn shrunk(&mut self, mut point: Vec<f64>, drives: usize) -> Found {
        let default = self.space.default_point();
        let mut spent = 0;
        let mut violates = |this: &Self, point: &[f64]| {
            if spent >= SHRINKING {
                return false;
            }
            spent += 1;
            this.measure(point).is_some_and(|value| value < 0.0)
        };
        loop {
            let before = point.clone();
            // Faults first: a drive without them says more.
            let moved: Vec<usize> = (0..point.len())
                .rev()
                .filter(|place| point[*place] != default[*place])
                .collect();
            for place in &moved {
                let mut simpler = point.clone();
                simpler[*place] = default[*place];
                if violates(self, &simpler) {
                    point = simpler;
                }
            }
            // Where one alone will not go: two together, or one while another goes to its end.
            if point == before {
                for (one, other, end) in simplifications(&moved, &default) {
                    let mut simpler = point.clone();
                    (simpler[one], simpler[other]) = (default[one], end);
                    if violates(self, &simpler) {
                        point = simpler;
                        break;
                    }
                }
            }
            if point == before {
                break;
            }
        }
        for place in 0..point.len() {
            let (mut near, mut far) = (default[place], point[place]);
            if near == far || self.space.name(place).starts_with("fault") {
                continue;
            }
            for _ in 0..HALVINGS {
                let middle = 0.5 * (near + far);
                let mut nearer = point.clone();
                nearer[place] = middle;
                if violates(self, &nearer) {
                    far = middle;
                    point = nearer;
                } else {
                    near = middle;
                }
            }
        }
        let measured = self.measure(&point).unwrap_or(SILENT);
        Found {
            scenario: self.space.scenario(&point, self.hunt.seed),
            measure: measured,
            moved: self.space.moved(&point),
            drives,
            shrinking: spent,
        }
    }
}

/// Pairs of coordinates: the first to its default, the second to its default or to one of its ends.
fn simplifications(moved: &[usize], default: &[f64]) -> Vec<(usize, usize, f64)> {
    let mut all = Vec::new();
    if moved.len() < 3 {
        return all;
    }
    for one in moved {
        for other in moved.iter().filter(|other| *other != one) {
            all.push((*one, *other, default[*other]));
        }
    }
    for one in moved {
        for other in moved.iter().filter(|other| *other != one) {
            all.extend([(*one, *other, 0.0), (*one, *other, 1.0)]);
        }
    }
    all
}
