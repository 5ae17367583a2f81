//! Wet multi-plate clutch: disc formulas, friction, and the pressure that closes it.
//!
//! Inputs: valve current, oil and surface temperature, slip. Outputs: pressure, torque capacity.
//! Capacity = faces x friction x effective radius x closing force; uniform wear gives the effective radius (ro + ri)/2,
//! uniform pressure (2/3)(ro^3 - ri^3)/(ro^2 - ri^2) (any textbook on machine elements). Friction rises with slip (wanted
//! against shudder, Forsch. Ingenieurwes. 2023, 10.1007/s10010-023-00669-4) and falls with surface temperature (slope
//! chosen). Pressure follows current after a dead time and a lag of first or, on request, second order, both longer in cold oil.
//! Limits: no hydrodynamic film, no wear, no hysteresis of the valve; drag of the open pack is a small extra capacity.

use super::quantity::{Compared, PerSide};
use super::vehicle::{Actuator, Clutch};

/// Effective radius with uniform wear, m.
pub fn effective_radius_wear_m(outer_m: f64, inner_m: f64) -> f64 {
    0.5 * (outer_m + inner_m)
}

/// Effective radius with uniform pressure, m.
pub fn effective_radius_pressure_m(outer_m: f64, inner_m: f64) -> f64 {
    (2.0 / 3.0) * (outer_m * outer_m * outer_m - inner_m * inner_m * inner_m)
        / (outer_m * outer_m - inner_m * inner_m)
}

/// Closing force with uniform wear from the pressure at the inner radius, N.
pub fn closing_force_wear_n(inner_pressure_pa: f64, outer_m: f64, inner_m: f64) -> f64 {
    2.0 * core::f64::consts::PI * inner_pressure_pa * inner_m * (outer_m - inner_m)
}

/// Closing force with uniform pressure, N.
pub fn closing_force_pressure_n(pressure_pa: f64, outer_m: f64, inner_m: f64) -> f64 {
    core::f64::consts::PI * pressure_pa * (outer_m * outer_m - inner_m * inner_m)
}

/// Torque capacity, N m.
pub fn capacity_nm(faces: f64, friction: f64, force_n: f64, effective_radius_m: f64) -> f64 {
    faces * friction * force_n * effective_radius_m
}

/// Two free inertias brought together by a clutch: common speed, rad/s, and heat, J, whatever the torque's course.
pub fn free_engagement(inertia_kg_m2: (f64, f64), speed_rad_s: (f64, f64)) -> (f64, f64) {
    let total = inertia_kg_m2.0 + inertia_kg_m2.1;
    let common = (inertia_kg_m2.0 * speed_rad_s.0 + inertia_kg_m2.1 * speed_rad_s.1) / total;
    let difference = speed_rad_s.0 - speed_rad_s.1;
    (
        common,
        0.5 * inertia_kg_m2.0 * inertia_kg_m2.1 / total * difference * difference,
    )
}

/// Capacity of one clutch of the axle, N m: plates (friction times `scale`) and drag of the open pack.
///
/// `cold_factor` from [`cold_factor`]; `oil_drag_nm` from `heat::oil` takes the place of the vehicle's plain drag.
pub fn axle_capacity_nm(
    (clutch, scale): (&Clutch, f64),
    pressure_pa: f64,
    (slip_rad_s, surface_degc): (f64, f64),
    cold_factor: f64,
    oil_drag_nm: Option<f64>,
) -> f64 {
    let slip = slip_rad_s.abs();
    let rise = slip / (slip + clutch.friction_slip_rad_s);
    let warm = clutch.friction_static + (clutch.friction_dynamic - clutch.friction_static) * rise;
    let fall = 1.0 - clutch.friction_fall_per_k * (surface_degc - clutch.friction_reference_degc);
    let friction = scale * warm * fall.larger(0.3);
    let force_n = (clutch.piston_area_m2 * pressure_pa - clutch.return_spring_n).larger(0.0);
    let radius_m = effective_radius_wear_m(clutch.outer_radius_m, clutch.inner_radius_m);
    let drag_nm = match oil_drag_nm {
        Some(drag_nm) => drag_nm,
        None => clutch.drag_nm * cold_factor * drag_share(slip, clutch.drag_slip_rad_s),
    };
    capacity_nm(clutch.faces, friction, force_n, radius_m) + drag_nm
}

/// Share of the open pack's largest drag: rises with slip as a full oil film shears, falls as air breaks it.
///
/// 2 x / (1 + x^2) with x = slip / slip of the peak; the shape is common practice, no source.
fn drag_share(slip_rad_s: f64, peak_rad_s: f64) -> f64 {
    if peak_rad_s > 0.0 {
        let x = slip_rad_s / peak_rad_s;
        2.0 * x / (1.0 + x * x)
    } else {
        1.0
    }
}

/// Factor on dead time, lag and open drag by oil temperature: 1 warm, the full factor cold, square between.
pub fn cold_factor(actuator: &Actuator, oil_degc: f64) -> f64 {
    let share = ((actuator.warm_degc - oil_degc) / (actuator.warm_degc - actuator.cold_degc))
        .bounded(0.0, 1.0);
    1.0 + (actuator.cold_factor - 1.0) * share * share
}

/// What a clutch has come to; sound by default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Damage {
    /// Share of the pressure that reaches the piston.
    pub pressure_kept: f64,
    /// Pressure that the touch point has moved by, Pa; above zero the clutch closes later.
    pub touch_point_pa: f64,
    /// Whether it can still move.
    pub jam: Jam,
}

/// Whether a clutch can still move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Jam {
    /// It moves.
    None,
    /// It keeps the closing force of a pressure, Pa.
    AtPressure {
        /// Pressure, Pa.
        pressure_pa: f64,
    },
    /// It keeps a share of the largest closing force.
    AtShare {
        /// Share, 0 to 1.
        share: f64,
    },
}

impl Default for Damage {
    fn default() -> Self {
        Self {
            pressure_kept: 1.0,
            touch_point_pa: 0.0,
            jam: Jam::None,
        }
    }
}

impl Damage {
    /// Pressure that closes a sound clutch as much as this one is closed, Pa.
    pub fn acting_pa(&self, clutch: &Clutch, actuator: &Actuator, pressure_pa: f64) -> f64 {
        let touch_pa = clutch.return_spring_n / clutch.piston_area_m2;
        match self.jam {
            Jam::None => self.pressure_kept * pressure_pa - self.touch_point_pa,
            Jam::AtPressure { pressure_pa } => pressure_pa,
            Jam::AtShare { share } => touch_pa + share * (actuator.maximum_pressure_pa - touch_pa),
        }
    }
}

impl super::Plant {
    /// What the clutches have come to from now on.
    pub fn damage(&mut self, damage: PerSide<Damage>) {
        self.damage = damage;
    }
}

/// Valves, lines and pistons of both clutches.
#[derive(Debug, Clone, PartialEq)]
pub struct Actuation {
    /// Currents of the past, one per step, used as a ring.
    past_a: Vec<PerSide<f64>>,
    newest: usize,
    pressure_pa: PerSide<f64>,
    /// How fast the pressure changes, Pa/s; only a loop of second order remembers it.
    rate_pa_s: PerSide<f64>,
}

impl Actuation {
    /// At rest, for steps of `step_s`.
    pub fn new(actuator: &Actuator, step_s: f64) -> Self {
        let longest =
            libm::ceil(actuator.dead_time_s * actuator.cold_factor.max(1.0) / step_s) as usize;
        Self {
            past_a: vec![PerSide::both(0.0); longest + 2],
            newest: 0,
            pressure_pa: PerSide::both(0.0),
            rate_pa_s: PerSide::both(0.0),
        }
    }

    /// Pressure at the end of the last step, Pa.
    pub fn pressure_pa(&self) -> PerSide<f64> {
        self.pressure_pa
    }

    /// Takes one step and returns the mean pressure over it, Pa; `factor` is the [`cold_factor`].
    pub fn step(
        &mut self,
        actuator: &Actuator,
        current_a: PerSide<f64>,
        factor: f64,
        step_s: f64,
    ) -> PerSide<f64> {
        self.newest = if self.newest == 0 {
            self.past_a.len() - 1
        } else {
            self.newest - 1
        };
        self.past_a[self.newest] = current_a;
        let delay =
            (actuator.dead_time_s * factor / step_s).bounded(0.0, (self.past_a.len() - 2) as f64);
        let whole = delay as usize;
        let share = delay - whole as f64;
        let length = self.past_a.len();
        let younger = self.past_a[(self.newest + whole) % length];
        let older = self.past_a[(self.newest + whole + 1) % length];
        let lag_s = actuator.lag_s * factor;
        let before_pa = self.pressure_pa;
        let scale = PerSide {
            left: actuator.left_gain_scale,
            right: actuator.right_gain_scale,
        };
        let target_pa = younger
            .pair(older)
            .pair(scale)
            .map(|((younger_a, older_a), scale)| {
                let current_a = younger_a + share * (older_a - younger_a);
                let gain_pa_a = actuator.gain_pa_a * scale;
                (gain_pa_a * (current_a - actuator.offset_a))
                    .larger(0.0)
                    .smaller(actuator.maximum_pressure_pa)
            });
        if actuator.damping_ratio > 0.0 {
            let moved = before_pa.pair(self.rate_pa_s).pair(target_pa).map(
                |((pressure_pa, rate_pa_s), target_pa)| {
                    swung(actuator, lag_s, pressure_pa, rate_pa_s, target_pa, step_s)
                },
            );
            self.pressure_pa = moved.map(|(pressure_pa, _)| pressure_pa);
            self.rate_pa_s = moved.map(|(_, rate_pa_s)| rate_pa_s);
        } else {
            let gain = step_s / (lag_s + 0.5 * step_s);
            self.pressure_pa = before_pa
                .pair(target_pa)
                .map(|(pressure_pa, target_pa)| pressure_pa + (target_pa - pressure_pa) * gain);
        }
        before_pa
            .pair(self.pressure_pa)
            .map(|(before, after)| 0.5 * (before + after))
    }

    /// Left and right exchanged.
    pub fn mirrored(&self) -> Self {
        Self {
            past_a: self
                .past_a
                .iter()
                .map(|currents| currents.mirrored())
                .collect(),
            newest: self.newest,
            pressure_pa: self.pressure_pa.mirrored(),
            rate_pa_s: self.rate_pa_s.mirrored(),
        }
    }
}

/// Pressure and its rate one step on, of a loop of second order that is told `target_pa`: implicit midpoint rule.
///
/// Its natural frequency is 2 damping / lag: then a steady rise of the target is followed as late as by a first-order lag of that length.
/// Between empty and full supply, where the rate ends.
fn swung(
    actuator: &Actuator,
    lag_s: f64,
    pressure_pa: f64,
    rate_pa_s: f64,
    target_pa: f64,
    step_s: f64,
) -> (f64, f64) {
    let natural_rad_s = 2.0 * actuator.damping_ratio / lag_s;
    let pull = natural_rad_s * natural_rad_s * step_s;
    let brake = actuator.damping_ratio * natural_rad_s * step_s + 0.25 * pull * step_s;
    let after_pa_s = ((1.0 - brake) * rate_pa_s + pull * (target_pa - pressure_pa)) / (1.0 + brake);
    let after_pa = pressure_pa + 0.5 * step_s * (rate_pa_s + after_pa_s);
    if after_pa < 0.0 || after_pa > actuator.maximum_pressure_pa {
        return (after_pa.bounded(0.0, actuator.maximum_pressure_pa), 0.0);
    }
    (after_pa, after_pa_s)
}
