//! The bound of the temperatures as it is kept: thousandths of a degree, rounded up.
//!
//! In: the bound of key-off. Out: whole numbers, and back; what is no number is as hot as can be.

use crate::numerics::Scalar;
use crate::quantity::PerSide;
use crate::stage::thermal::network::Temperatures;

/// Bound of the temperatures, 1/1000 degC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct MostStored {
    /// Friction surfaces.
    pub surface: PerSide<i32>,
    /// Plates and hubs.
    pub core: PerSide<i32>,
    /// Oil.
    pub oil: i32,
    /// Housing.
    pub housing: i32,
}

impl MostStored {
    pub(super) const LOWEST: i32 = -300_000;
    pub(super) const HIGHEST: i32 = 2_000_000;

    /// Stored form, rounded up; what is no number is as hot as can be.
    pub fn of<S: Scalar>(most: &Temperatures<S>) -> Self {
        let stored = |degc: S| {
            let high = S::from_whole(i64::from(Self::HIGHEST - 1));
            let milli = (degc * S::of(1000.0)).at_most(high);
            let low = S::from_whole(i64::from(Self::LOWEST));
            i32::try_from(milli.at_least(low).to_whole().saturating_add(1)).unwrap_or(Self::HIGHEST)
        };
        Self {
            surface: most.surface_degc.map(stored),
            core: most.core_degc.map(stored),
            oil: stored(most.oil_degc),
            housing: stored(most.housing_degc),
        }
    }

    /// The temperatures, degC.
    pub fn temperatures<S: Scalar>(&self) -> Temperatures<S> {
        let degc = |milli: i32| S::from_whole(i64::from(milli)).per(S::of(1000.0));
        Temperatures {
            surface_degc: self.surface.map(degc),
            core_degc: self.core.map(degc),
            oil_degc: degc(self.oil),
            housing_degc: degc(self.housing),
        }
    }

    pub(super) fn words(&self) -> [i32; 6] {
        [
            self.surface.left,
            self.surface.right,
            self.core.left,
            self.core.right,
            self.oil,
            self.housing,
        ]
    }

    pub(super) fn from_words([a, b, c, d, oil, housing]: [i32; 6]) -> Self {
        Self {
            surface: PerSide { left: a, right: b },
            core: PerSide { left: c, right: d },
            oil,
            housing,
        }
    }
}
