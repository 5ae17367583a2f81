//! The energy account of a run: what went in, what was lost, what is stored at either end.
//!
//! Summed at the plant's own step from the powers of the plant, so the record's rate does not matter. In a perfect plant
//! what the powertrain put in less all losses is the change of stored energy (kinetic, of springs, of height); the account
//! says by how much of the energy that went through it does not. It costs two dozen instructions a step.

use crate::plant::motion::Powers;

/// The account, J.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EnergyAccount {
    /// Work of the powertrain less everything lost and less work against the slope.
    pub left_over_j: f64,
    /// Energy that went through: sizes of all powers over time.
    pub through_j: f64,
    /// Stored energy at the start and at the end.
    pub stored_j: (f64, f64),
}

impl EnergyAccount {
    /// Opened with what is stored.
    pub fn opened(stored_j: f64) -> Self {
        Self {
            stored_j: (stored_j, stored_j),
            ..Self::default()
        }
    }

    /// A plant step.
    pub fn add(&mut self, powers: &Powers, step_s: f64) {
        let out = [
            powers.tyre_w,
            powers.clutch_w,
            powers.air_w,
            powers.rolling_w,
            powers.brake_w,
            powers.driveline_w,
            powers.grade_w,
            powers.suspension_w,
        ];
        let (mut lost_w, mut size_w) = (0.0, 0.0);
        for power in out {
            lost_w += power;
            size_w += power.abs();
        }
        self.left_over_j += step_s * (powers.engine_w - lost_w);
        self.through_j += step_s * (powers.engine_w.abs() + size_w);
    }

    /// What does not add up, as a share of what went through; NaN where a number is none.
    pub fn open_share(&self) -> f64 {
        let (before, after) = self.stored_j;
        let gone_j = after - before - self.left_over_j;
        gone_j.abs() / self.through_j.max(1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_account_that_adds_up_is_closed_and_one_that_does_not_is_open_by_its_share() {
        let mut account = EnergyAccount::opened(1000.0);
        let powers = Powers {
            engine_w: 500.0,
            tyre_w: 100.0,
            grade_w: -50.0,
            ..Powers::default()
        };
        for _ in 0..1000 {
            account.add(&powers, 0.001);
        }
        account.stored_j.1 = 1450.0;
        assert!(account.open_share() < 1e-12);
        // 650 J went through: 6.5 J missing are 1 %.
        account.stored_j.1 = 1443.5;
        assert!((account.open_share() - 0.01).abs() < 1e-12);
        account.stored_j.1 = f64::NAN;
        assert!(account.open_share().is_nan());
    }
}
