//! Engine and stepped gears, in place of the one continuous ratio.
//!
//! Inputs: torque asked at the carrier, carrier speed, direction. Outputs: torque at the carrier over a step, inertia the
//! carrier turns with, power the engine spends on its own speed. Engine speed is ratio times carrier speed, engine inertia
//! counts with the ratio squared (any textbook on vehicles). Gears change by engine speed; while they change nothing drives
//! the carrier, the engine is free and brings itself to the speed of the next gear, so no energy is lost or made up.
//! Limits: no starting clutch and no idle, the engine turns down to standstill with the wheels; the torque falls at once and
//! comes back with the powertrain's lag; no gear is ever held against its thresholds; no loss in the gears.

use super::vehicle::{Gears, Powertrain, Vehicle};

/// Time after a change in which no other begins, s: keeps gears from hunting; chosen.
const REST_S: f64 = 0.5;
/// Share of the speed limit over which torque falls to the drag at the limit; chosen.
const LIMIT_SHARE: f64 = 0.03;

/// What a step gets from engine and gears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Delivered {
    /// Torque at the carrier, N m, signed in the sense of rolling forward.
    pub carrier_torque_nm: f64,
    /// Inertia turning with the carrier, kg m2.
    pub carrier_inertia_kg_m2: f64,
    /// Power of the engine on its own speed while it is free, W.
    pub own_power_w: f64,
}

/// Engine and gears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gearbox {
    numbers: Gears,
    lag_s: f64,
    fade_rad_s: f64,
    /// 1 to count; -1 is reverse.
    gear: i32,
    reverse: bool,
    /// Time left of a change, s, and speed of the free engine, rad/s.
    changing: Option<(f64, f64)>,
    rested_s: f64,
    torque_nm: f64,
}

impl Gearbox {
    /// In the gear for this speed, delivering this torque at the carrier; none with no gears.
    pub fn of(vehicle: &Vehicle, carrier_rad_s: f64, carrier_torque_nm: f64) -> Option<Self> {
        let numbers = vehicle.gears;
        let Powertrain {
            lag_s,
            drag_fade_rad_s,
            ..
        } = vehicle.powertrain;
        if numbers.count < 0.5 {
            return None;
        }
        let mut gearbox = Self {
            numbers,
            lag_s,
            fade_rad_s: drag_fade_rad_s,
            gear: 1,
            reverse: false,
            changing: None,
            rested_s: REST_S,
            torque_nm: 0.0,
        };
        while gearbox.gear < gearbox.count() && gearbox.ratio() * carrier_rad_s > numbers.up_rad_s {
            gearbox.gear += 1;
        }
        gearbox.torque_nm = carrier_torque_nm / gearbox.ratio();
        Some(gearbox)
    }

    /// Gear: 1 and up forward, -1 reverse, 0 while it changes.
    pub fn gear(&self) -> i32 {
        if self.changing.is_some() {
            0
        } else {
            self.gear
        }
    }

    /// Speed of the engine, rad/s.
    pub fn engine_rad_s(&self, carrier_rad_s: f64) -> f64 {
        self.changing
            .map_or(self.ratio() * carrier_rad_s, |(_, engine_rad_s)| {
                engine_rad_s
            })
    }

    /// Inertia turning with the carrier now, kg m2.
    pub fn carrier_inertia_kg_m2(&self) -> f64 {
        let fixed = self.numbers.carrier_inertia_kg_m2;
        if self.changing.is_some() {
            fixed
        } else {
            fixed + self.numbers.engine_inertia_kg_m2 * self.ratio() * self.ratio()
        }
    }

    /// Energy of an engine that is free of the carrier, J.
    pub fn free_energy_j(&self) -> f64 {
        self.changing
            .map_or(0.0, |(_, engine_rad_s)| self.energy_j(engine_rad_s))
    }

    /// Selects the direction; the gears change to it.
    pub fn select_reverse(&mut self, reverse: bool) {
        self.reverse = reverse;
    }

    /// Torque over the next step.
    pub fn step(&mut self, request_nm: f64, carrier_rad_s: f64, step_s: f64) -> Delivered {
        if self.changing.is_none() {
            self.rested_s += step_s;
            let next = self.wanted(carrier_rad_s);
            if next != self.gear {
                // The engine keeps the speed it had in the old gear.
                let engine_rad_s = self.engine_rad_s(carrier_rad_s);
                self.gear = next;
                self.changing = Some((self.numbers.shift_time_s, engine_rad_s));
                self.torque_nm = 0.0;
            }
        }
        let mut own_power_w = 0.0;
        if let Some((left_s, engine_rad_s)) = self.changing {
            let aim_rad_s = self.ratio() * carrier_rad_s;
            let over = left_s <= step_s;
            let after_rad_s = if over {
                aim_rad_s
            } else {
                engine_rad_s + (aim_rad_s - engine_rad_s) * step_s / left_s
            };
            own_power_w = (self.energy_j(after_rad_s) - self.energy_j(engine_rad_s)) / step_s;
            if !over {
                self.changing = Some((left_s - step_s, after_rad_s));
                return Delivered {
                    carrier_torque_nm: 0.0,
                    carrier_inertia_kg_m2: self.carrier_inertia_kg_m2(),
                    own_power_w,
                };
            }
            self.changing = None;
            self.rested_s = 0.0;
        }
        let ratio = self.ratio();
        let engine_rad_s = ratio * carrier_rad_s;
        let drag_nm = -self.numbers.engine_drag_nm * engine_rad_s
            / libm::sqrt(engine_rad_s * engine_rad_s + self.fade_rad_s * self.fade_rad_s);
        let most_nm = self.most_nm(engine_rad_s, drag_nm);
        let low_nm = drag_nm.min(most_nm);
        let before_nm = self.torque_nm.max(low_nm).min(most_nm);
        let target_nm = (request_nm / ratio.abs()).max(low_nm).min(most_nm);
        let after_nm = before_nm + (target_nm - before_nm) * step_s / (self.lag_s + 0.5 * step_s);
        self.torque_nm = after_nm;
        Delivered {
            carrier_torque_nm: ratio * 0.5 * (before_nm + after_nm),
            carrier_inertia_kg_m2: self.carrier_inertia_kg_m2(),
            own_power_w,
        }
    }

    /// Most torque of the engine at its speed, N m; at the speed limit it falls to the drag.
    fn most_nm(&self, engine_rad_s: f64, drag_nm: f64) -> f64 {
        let numbers = &self.numbers;
        let full_nm = if engine_rad_s * numbers.engine_torque_nm > numbers.engine_power_w {
            numbers.engine_power_w / engine_rad_s
        } else {
            numbers.engine_torque_nm
        };
        let left =
            (numbers.speed_limit_rad_s - engine_rad_s) / (LIMIT_SHARE * numbers.speed_limit_rad_s);
        drag_nm + (full_nm - drag_nm) * left.clamp(0.0, 1.0)
    }

    fn wanted(&self, carrier_rad_s: f64) -> i32 {
        if self.reverse != (self.gear < 0) {
            return if self.reverse { -1 } else { 1 };
        }
        let engine_rad_s = self.engine_rad_s(carrier_rad_s);
        if self.gear < 0 || self.rested_s < REST_S {
            self.gear
        } else if engine_rad_s > self.numbers.up_rad_s && self.gear < self.count() {
            self.gear + 1
        } else if engine_rad_s < self.numbers.down_rad_s && self.gear > 1 {
            self.gear - 1
        } else {
            self.gear
        }
    }

    fn count(&self) -> i32 {
        libm::round(self.numbers.count) as i32
    }

    /// Engine speed over carrier speed, negative in reverse.
    fn ratio(&self) -> f64 {
        let numbers = &self.numbers;
        numbers.final_ratio
            * match self.gear {
                ..=0 => -numbers.reverse_ratio,
                1 => numbers.first_ratio,
                2 => numbers.second_ratio,
                3 => numbers.third_ratio,
                4 => numbers.fourth_ratio,
                5 => numbers.fifth_ratio,
                _ => numbers.sixth_ratio,
            }
    }

    fn energy_j(&self, engine_rad_s: f64) -> f64 {
        0.5 * self.numbers.engine_inertia_kg_m2 * engine_rad_s * engine_rad_s
    }
}
