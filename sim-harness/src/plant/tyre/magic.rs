//! The curve all published Magic Formula tyres share.
//!
//! y = D sin(C atan(u - E (u - atan u))) with u = B x. Source: SAE 870421 and "Tyre and Vehicle Dynamics", 2nd ed. 2006,
//! ch. 4 (from memory).

/// One pure-slip curve without shifts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// Shape factor C, above 1.
    pub shape: f64,
    /// Peak D, N.
    pub peak_n: f64,
    /// Initial slope B C D, N per unit of slip.
    pub stiffness: f64,
    /// Curvature E, at most 1.
    pub curvature: f64,
}

impl Curve {
    /// The force at a slip, N.
    pub fn force_n(&self, slip: f64) -> f64 {
        self.peak_n * libm::sin(self.shape * libm::atan(self.bent(slip)))
    }

    /// Slip on a scale on which the peak lies at 1, rising throughout; 0 or more.
    pub fn normalised(&self, slip: f64) -> f64 {
        self.bent(slip).abs() / libm::tan(core::f64::consts::FRAC_PI_2 / self.shape)
    }

    /// The curve on a road with `friction` times the grip: the peak scales, the initial slope stays.
    pub fn on(mut self, friction: f64) -> Self {
        self.peak_n *= friction;
        self
    }

    fn bent(&self, slip: f64) -> f64 {
        let argument = self.stiffness / (self.shape * self.peak_n) * slip;
        argument - self.curvature.min(1.0) * (argument - libm::atan(argument))
    }
}
