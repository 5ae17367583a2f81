//! Oil: viscosity over temperature, and what it costs to turn an open pack.
//!
//! Walther's equation as ASTM D341 has it: `log10 log10 (nu + 0.7) = A - B log10 T`, nu in mm2/s, T in K, from the two viscosities
//! a data sheet gives, at 40 and 100 degC. Drag of n faces of a full laminar film between plates:
//! `T = n pi mu (slip) (ro^4 - ri^4) / (2 h)`: an upper bound, for the film takes in air and breaks as the plates turn faster (open
//! papers, read in abstract); the share left then is `1 / (1 + (slip / aeration slip)^2)`, its shape chosen.
//! Limits: below 0 degC the equation extrapolates and tells the order only; the film's height does not change with slip.

use crate::plant::vehicle::Vehicle;

/// Kelvin at 0 degC.
const KELVIN: f64 = 273.15;

/// Viscosity over temperature of one oil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Walther {
    /// A of the equation.
    pub a: f64,
    /// B of the equation.
    pub b: f64,
}

impl Walther {
    /// From kinematic viscosities (mm2/s) at two temperatures (degC); the second one is the thinner.
    pub fn through(first: (f64, f64), second: (f64, f64)) -> Self {
        let side = |nu: f64| libm::log10(libm::log10(nu + 0.7));
        let warmth = |degc: f64| libm::log10(degc + KELVIN);
        let b = (side(first.1) - side(second.1)) / (warmth(second.0) - warmth(first.0));
        Self {
            a: side(first.1) + b * warmth(first.0),
            b,
        }
    }

    /// Kinematic viscosity, mm2/s.
    pub fn viscosity_mm2_s(&self, degc: f64) -> f64 {
        let inner = self.a - self.b * libm::log10(degc + KELVIN);
        libm::pow(10.0, libm::pow(10.0, inner)) - 0.7
    }
}

/// Torque to turn an open pack against its other half with a full laminar film, N m; viscosity in Pa s, film height in m.
pub fn laminar_drag_nm(
    faces: f64,
    viscosity_pa_s: f64,
    slip_rad_s: f64,
    radii_m: (f64, f64),
    film_m: f64,
) -> f64 {
    let fourth = |radius: f64| radius * radius * radius * radius;
    let ring_m4 = fourth(radii_m.1) - fourth(radii_m.0);
    faces * core::f64::consts::PI * viscosity_pa_s * slip_rad_s * ring_m4 / (2.0 * film_m)
}

/// Drag of one open clutch of a vehicle, N m, at a size of slip; nothing where its file gives no film.
pub fn open_drag_nm(vehicle: &Vehicle, slip_rad_s: f64, oil_degc: f64) -> Option<f64> {
    let oil = &vehicle.oil;
    if oil.film_m <= 0.0 {
        return None;
    }
    let law = Walther::through(
        (40.0, oil.viscosity_40_mm2_s),
        (100.0, oil.viscosity_100_mm2_s),
    );
    let viscosity_pa_s = law.viscosity_mm2_s(oil_degc) * 1.0e-6 * oil.density_kg_m3;
    let clutch = &vehicle.clutch;
    let film_nm = laminar_drag_nm(
        clutch.faces,
        viscosity_pa_s,
        slip_rad_s.abs(),
        (clutch.inner_radius_m, clutch.outer_radius_m),
        oil.film_m,
    );
    let broken = slip_rad_s / oil.aeration_slip_rad_s;
    Some(film_nm / (1.0 + broken * broken))
}
