//! Faults as values: what goes wrong, on which side, from when and for how long.
//!
//! Input: the numbers of a scenario. Output: a [`Fault`], and what it makes of a command while it is there. The record
//! knows nothing of it but its consequences. Limits: one fault a run; sensors have their own errors.

use crate::plant::{PerSide, Vehicle};
use crate::scenario::Scenario;

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The first channel of the law asks the second one for the whole capacity, without reason.
    WrongRequest,
    /// The output stage gives full current, whatever is commanded.
    FullCurrent,
}

/// A fault of one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// What goes wrong.
    pub kind: Kind,
    /// On the left side, else on the right.
    pub left: bool,
    /// When it begins, s after the record began.
    pub start_s: f64,
    /// How long it lasts, s.
    pub duration_s: f64,
}

impl Fault {
    /// The fault of a scenario, on the other side if the scenario is seen in a mirror.
    pub fn of(scenario: &Scenario) -> Option<Self> {
        let numbers = &scenario.numbers.fault;
        let kind = match libm::round(numbers.kind) as i64 {
            1 => Kind::WrongRequest,
            2 => Kind::FullCurrent,
            _ => return None,
        };
        Some(Self {
            kind,
            left: (numbers.side > 0.0) != scenario.mirrored,
            start_s: numbers.start_s,
            duration_s: numbers.duration_s,
        })
    }

    /// Whether it is there at a time; half a control step of slack decides ties of rounding alike on every machine.
    pub fn is_there(&self, time_s: f64) -> bool {
        let since_s = time_s - self.start_s;
        (-1e-9..self.duration_s - 1e-9).contains(&since_s)
    }

    /// One of a pair replaced on the side of the fault.
    pub fn replaced<T>(&self, pair: (T, T), wrong: T) -> (T, T) {
        if self.left {
            (wrong, pair.1)
        } else {
            (pair.0, wrong)
        }
    }

    /// What the output stage gives, A.
    pub fn current_a(
        &self,
        vehicle: &Vehicle,
        commanded_a: PerSide<f64>,
        time_s: f64,
    ) -> PerSide<f64> {
        if self.kind != Kind::FullCurrent || !self.is_there(time_s) {
            return commanded_a;
        }
        let actuator = &vehicle.actuator;
        // As much as gives the highest pressure of the supply.
        let full_a = actuator.offset_a + actuator.maximum_pressure_pa / actuator.gain_pa_a;
        let (left, right) = self.replaced((commanded_a.left, commanded_a.right), full_a);
        PerSide { left, right }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Manoeuvre;

    #[test]
    fn full_current_flows_on_its_side_in_its_time_and_on_the_other_side_in_the_mirror() {
        let mut scenario = Scenario::of(Manoeuvre::StraightAhead);
        assert_eq!(Fault::of(&scenario), None);
        let numbers = &mut scenario.numbers.fault;
        (numbers.kind, numbers.start_s, numbers.duration_s) = (2.0, 1.0, 0.1);
        let vehicle = Vehicle::default();
        let given = |scenario: &Scenario, time_s| {
            let fault = Fault::of(scenario).expect("a fault");
            fault.current_a(&vehicle, PerSide::both(0.2), time_s)
        };
        for (time_s, wrong) in [(0.995, false), (1.0, true), (1.095, true), (1.1, false)] {
            let current_a = given(&scenario, time_s);
            // 36 bar over 34 bar/A above 0.15 A.
            assert_eq!(current_a.left > 1.2, wrong, "at {time_s} s");
            assert_eq!(current_a.right, 0.2, "at {time_s} s");
        }
        let straight = given(&scenario, 1.05);
        scenario.mirrored = true;
        assert_eq!(given(&scenario, 1.05), straight.mirrored());
    }
}
