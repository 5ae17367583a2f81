//! The law in three arithmetics on the same inputs: how far single precision and fast `f32` are from double.
//!
//! In: a scenario, its car and page. The run is driven with the law in `f64`; on what that law was told, `f32`, fast `f32`
//! and `f64` are stepped open loop. Out: differences of the torques outside switches, what was left out, and for the fast
//! arithmetic where it bites first. A switch is a step in which a decision of the law differs: between the two arithmetics,
//! or from the step before ([`Decisions`]); two steps before and after are left out with it. Torques in Nm at the wheel.
//! Limits: open loop, so differences do not grow through the car; while decisions differ nothing is compared, and how long
//! that was is counted.

mod bite;

pub use bite::Bite;

use crate::manoeuvre;
use crate::plant::Vehicle;
use crate::run::axle_control::AxleControl;
use crate::run::closed_loop::drive_watched;
use crate::run::driven;
use crate::run::law::Rule;
use crate::scenario::Scenario;
use bite::Signals;
use couplet_controller::signal::{Limit, Phase};
use couplet_controller::stage::authority::Sense;
use couplet_controller::{Controller, Fast, Inputs, PerSide, Period, RawPage, Real, Trace};

/// Steps around a switch that are left out.
const AROUND: usize = 2;

/// Largest difference of a torque outside switches that single precision may have, Nm. A torque is held to some 30 Nm by
/// the clutch itself; a wrong formula is tens of times this.
pub const ALLOWED_NM: f64 = 2.0;

/// Everything in a step that is a decision and not a number.
#[derive(Debug, PartialEq, Clone, Copy)]
pub struct Decisions {
    sense: PerSide<Sense>,
    near_stick: PerSide<bool>,
    bounds: [[Limit; 2]; 4],
    limit: PerSide<Limit>,
    phase: Phase,
    faults: u32,
    conflict: Limit,
    kept: bool,
}

impl Decisions {
    /// The decisions of a step.
    pub fn of<S: Real>(trace: &Trace<S>) -> Self {
        let octagon = trace.possible.octagon;
        let spans = [octagon.left, octagon.right, octagon.sum, octagon.difference];
        Self {
            sense: trace.possible.sense,
            near_stick: trace.possible.near_stick,
            bounds: spans.map(|span| [span.low.by, span.high.by]),
            limit: trace.side_limit(),
            phase: trace.intent.phase,
            faults: trace.verdict.faults.0,
            conflict: trace.answer.conflict,
            // Whether closed clutches are kept because the car oversteers or just did.
            kept: trace.yaw.keep > S::ZERO,
        }
    }
}

/// Compares step by step.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    last: Option<Decisions>,
    quiet: usize,
    waiting: Vec<Apart>,
    compared: Vec<Apart>,
    left_out: usize,
    differing: usize,
}

/// A difference and when it was.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Apart {
    /// Larger difference of the two torques, Nm.
    pub nm: f64,
    /// Time, s.
    pub at_s: f64,
}

impl Comparison {
    /// One step of both.
    pub fn step<S: Real>(&mut self, at_s: f64, exact: &Trace<f64>, near: &Trace<S>) {
        let (one, other) = (Decisions::of(near), Decisions::of(exact));
        self.differing += usize::from(one != other);
        let settled = one == other && self.last == Some(one);
        self.last = Some(one);
        self.quiet = if settled { self.quiet + 1 } else { 0 };
        if !settled {
            // The steps before a switch are left out as well: they still wait.
            self.left_out += 1 + self.waiting.len();
            self.waiting.clear();
            return;
        }
        if self.quiet <= AROUND {
            self.left_out += 1;
            return;
        }
        let apart = near.torque_nm.zip(exact.torque_nm, |near, exact| {
            libm::fabs(f64::from(near.to_f32()) - exact)
        });
        self.waiting.push(Apart {
            nm: apart.left.max(apart.right),
            at_s,
        });
        if self.waiting.len() > AROUND {
            self.compared.push(self.waiting.remove(0));
        }
    }

    /// What was found.
    pub fn differences(mut self) -> Differences {
        self.compared
            .sort_by(|one, other| one.nm.total_cmp(&other.nm));
        Differences {
            compared: self.compared,
            left_out: self.left_out,
            differing: self.differing,
        }
    }
}

/// Differences outside switches.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Differences {
    /// All of them, smallest first.
    pub compared: Vec<Apart>,
    /// Steps left out around switches.
    pub left_out: usize,
    /// Steps among them in which the two decided differently.
    pub differing: usize,
}

impl Differences {
    /// The difference that a share of the steps does not exceed; zero if nothing was compared.
    pub fn at_share(&self, share: f64) -> f64 {
        let last = self.compared.len().saturating_sub(1) as f64;
        self.compared
            .get((last * share) as usize)
            .map_or(0.0, |apart| apart.nm)
    }

    /// The largest one, and when.
    pub fn largest(&self) -> Apart {
        self.compared.last().copied().unwrap_or_default()
    }

    /// Steps beyond a difference in Nm.
    pub fn beyond(&self, nm: f64) -> usize {
        self.compared.len() - self.compared.partition_point(|apart| apart.nm <= nm)
    }
}

/// What one run showed.
#[derive(Debug, Clone, PartialEq)]
pub struct Arithmetic {
    /// Control steps, the lead included.
    pub steps: usize,
    /// `f32` from `f64`.
    pub single: Differences,
    /// Fast `f32` from `f64`.
    pub fast: Differences,
    /// Signals in which `f32` leaves `f64`, earliest first.
    pub single_bites: Vec<Bite>,
    /// Signals in which the fast one does.
    pub bites: Vec<Bite>,
}

/// Drives a scenario with the law in `f64` and steps all arithmetics on what it was told.
///
/// # Panics
/// If the page is not acceptable: pages are checked where they are read.
pub fn compare(scenario: &Scenario, vehicle: &Vehicle, page: &RawPage) -> Arithmetic {
    let vehicle = driven(scenario, vehicle);
    let setup = manoeuvre::prepare(scenario, &vehicle, page);
    let warm = scenario.numbers.road.axle_degc as f32;
    let (mut double, mut single, mut fast) = (
        at::<f64>(page, warm),
        at::<f32>(page, warm),
        at::<Fast>(page, warm),
    );
    let (mut near, mut coarse) = (Comparison::default(), Comparison::default());
    let (mut fine, mut signals) = (Signals::default(), Signals::default());
    let mut steps = 0;
    let mut watch = |time_s: f64, inputs: &Inputs, _: &AxleControl<f64>| {
        double.step(inputs);
        single.step(inputs);
        fast.step(inputs);
        near.step(time_s, double.trace(), single.trace());
        coarse.step(time_s, double.trace(), fast.trace());
        fine.step(time_s, double.trace(), single.trace());
        signals.step(time_s, double.trace(), fast.trace());
        steps += 1;
    };
    drive_watched(scenario, &vehicle, Rule::from(page), setup, &mut watch);
    Arithmetic {
        steps,
        single: near.differences(),
        fast: coarse.differences(),
        single_bites: fine.bites(),
        bites: signals.bites(),
    }
}

fn at<S: Real>(page: &RawPage, degc: f32) -> Controller<S> {
    match Controller::new(page, Period::default()) {
        Ok(mut controller) => {
            controller.set_temperature(S::of(degc));
            controller
        }
        Err(refusal) => panic!("calibration page refused: {refusal:?}"),
    }
}
