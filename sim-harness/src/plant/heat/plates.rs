//! Both clutches as plates and linings: profile through the thickness, oil flow, drum.
//!
//! Inputs: heat per clutch, speed, oil temperature. Outputs: contact temperatures, heat given to the oil. Every friction face is the same
//! half stack: half a carrier plate, lining, contact, half a steel plate; 24 cells ([`conduction`](super::conduction)). Steel plates and
//! carriers give heat to drum and hub along the plates, those to the oil. Oil that flows through the grooves leaves warmer:
//! flow W (W/K) past h A carries off W (1 - exp(-h A / W)) (T_contact - T_oil); the flow grows with speed. Heat of the plant's steps is
//! gathered and conduction advanced every [`SUBSTEP_S`]: a lag of 10 ms, 8 K at 1 MW/m2. Inside a substep oil and drum are held.
//! Properties: steel from a public course, lining from memory; see group `plates`. Limits: all faces alike, no radial profile.

use super::conduction::{Around, Factors, Layer, Stack};
use crate::plant::quantity::PerSide;
use crate::plant::vehicle::{Clutch, Vehicle};

/// Cells of one half stack: 4 in the carrier, 8 in the lining, 12 in the steel.
pub const CELLS: usize = 24;

/// Longest time conduction is advanced by at once, s.
pub const SUBSTEP_S: f64 = 0.01;

/// Plates of both clutches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plates {
    stack: Stack<CELLS>,
    factors: Factors<CELLS>,
    around: Around,
    area_m2: f64,
    numbers: crate::plant::vehicle::Plates,
    cells_degc: PerSide<[f64; CELLS]>,
    contact_degc: PerSide<f64>,
    drum_degc: PerSide<f64>,
    waiting_j: PerSide<f64>,
    waiting_s: f64,
    waiting_m: f64,
}

/// Heat that a substep gave on, J.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GivenOn {
    /// From plates and drums to the oil.
    pub oil_j: PerSide<f64>,
    /// From the plates to drums and hubs.
    pub drum_j: PerSide<f64>,
}

impl Plates {
    /// Plates of one temperature; nothing where the vehicle has lumped surfaces and cores.
    pub fn of(vehicle: &Vehicle, degc: f64) -> Option<Self> {
        let numbers = vehicle.plates;
        (numbers.conduction >= 0.5).then(|| {
            let area_m2 = vehicle.clutch.faces * face_m2(&vehicle.clutch);
            let stack = half_stack(&numbers, area_m2);
            let oil_w_m2_k = through_oil_w_k(&numbers, 0.0) / area_m2;
            Self {
                stack,
                factors: stack.factors(SUBSTEP_S, oil_w_m2_k),
                around: Around {
                    oil_w_m2_k,
                    ..Around::default()
                },
                area_m2,
                numbers,
                cells_degc: PerSide::both([degc; CELLS]),
                contact_degc: PerSide::both(degc),
                drum_degc: PerSide::both(degc),
                waiting_j: PerSide::both(0.0),
                waiting_s: 0.0,
                waiting_m: 0.0,
            }
        })
    }

    /// Rubbing surfaces, degC.
    pub fn contact_degc(&self) -> PerSide<f64> {
        self.contact_degc
    }

    /// Drums and hubs, degC.
    pub fn drum_degc(&self) -> PerSide<f64> {
        self.drum_degc
    }

    /// Cells of both half stacks from the middle of the carrier to the middle of the steel plate, degC.
    pub fn cells_degc(&self) -> PerSide<[f64; CELLS]> {
        self.cells_degc
    }

    /// Heat stored above 0 degC, that which waits for the next substep included, J.
    pub fn stored_j(&self) -> f64 {
        let drum_j_k = self.numbers.drum_capacity_j_k;
        self.cells_degc
            .map(|cells| self.area_m2 * self.stack.stored_j_m2(&cells))
            .pair(self.drum_degc.pair(self.waiting_j))
            .map(|(plates, (drum, waiting))| plates + drum_j_k * drum + waiting)
            .sum()
    }

    /// Takes heat in; returns the length of the substep that is due, s, and the mean speed in it, m/s, once there is one.
    pub fn gather(
        &mut self,
        heat_w: PerSide<f64>,
        speed_m_s: f64,
        step_s: f64,
    ) -> Option<(f64, f64)> {
        self.waiting_j = self
            .waiting_j
            .pair(heat_w)
            .map(|(waiting, heat)| waiting + step_s * heat);
        self.waiting_s += step_s;
        self.waiting_m += step_s * speed_m_s.abs();
        // A thousandth of a substep forgives the rounding of a sum of steps.
        (self.waiting_s > 0.999 * SUBSTEP_S)
            .then(|| (self.waiting_s, self.waiting_m / self.waiting_s))
    }

    /// Advances by a substep with the share of the waiting heat that falls into it; returns the heat given on.
    pub fn advance(&mut self, oil_degc: f64, speed_m_s: f64, step_s: f64) -> GivenOn {
        let oil_w_m2_k = through_oil_w_k(&self.numbers, speed_m_s) / self.area_m2;
        if oil_w_m2_k != self.around.oil_w_m2_k || step_s != self.factors.step_s() {
            self.factors = self.stack.factors(step_s, oil_w_m2_k);
        }
        self.around = Around {
            oil_w_m2_k,
            oil_degc,
            hub_degc: 0.0,
        };
        let share = (step_s / self.waiting_s).min(1.0);
        let drum_j_k = self.numbers.drum_capacity_j_k;
        let drum_oil_w_k = self.numbers.drum_oil_w_k;
        let mut to_oil = PerSide::both(0.0);
        let mut to_drum = PerSide::both(0.0);
        for (cells, contact, drum, waiting, to_oil, to_drum) in [
            (
                &mut self.cells_degc.left,
                &mut self.contact_degc.left,
                &mut self.drum_degc.left,
                &mut self.waiting_j.left,
                &mut to_oil.left,
                &mut to_drum.left,
            ),
            (
                &mut self.cells_degc.right,
                &mut self.contact_degc.right,
                &mut self.drum_degc.right,
                &mut self.waiting_j.right,
                &mut to_oil.right,
                &mut to_drum.right,
            ),
        ] {
            let heat_j = share * *waiting;
            *waiting -= heat_j;
            let around = Around {
                hub_degc: *drum,
                ..self.around
            };
            let flux_w_m2 = heat_j / (step_s * self.area_m2);
            let given = self.stack.step(&self.factors, cells, flux_w_m2, &around);
            let from_drum_j = step_s * drum_oil_w_k * (*drum - oil_degc);
            *contact = given.contact_degc;
            *drum += (self.area_m2 * given.hub_j_m2 - from_drum_j) / drum_j_k;
            *to_oil = self.area_m2 * given.oil_j_m2 + from_drum_j;
            *to_drum = self.area_m2 * given.hub_j_m2;
        }
        self.waiting_s -= step_s;
        self.waiting_m -= step_s * speed_m_s;
        GivenOn {
            oil_j: to_oil,
            drum_j: to_drum,
        }
    }

    /// Left and right exchanged.
    pub fn mirrored(&self) -> Self {
        Self {
            cells_degc: self.cells_degc.mirrored(),
            contact_degc: self.contact_degc.mirrored(),
            drum_degc: self.drum_degc.mirrored(),
            waiting_j: self.waiting_j.mirrored(),
            ..*self
        }
    }
}

/// The half stack behind one friction face.
pub fn half_stack(numbers: &crate::plant::vehicle::Plates, area_m2: f64) -> Stack<CELLS> {
    let steel = |thickness_m: f64, cells: usize, growth: f64, drum_w_k: f64| Layer {
        thickness_m: 0.5 * thickness_m,
        conductivity_w_m_k: numbers.steel_conductivity_w_m_k,
        capacity_j_m3_k: numbers.steel_density_kg_m3 * numbers.steel_heat_j_kg_k,
        cells,
        growth,
        hub_w_m2_k: drum_w_k / area_m2,
    };
    let lining = Layer {
        thickness_m: numbers.lining_thickness_m,
        conductivity_w_m_k: numbers.lining_conductivity_w_m_k,
        capacity_j_m3_k: numbers.lining_density_kg_m3 * numbers.lining_heat_j_kg_k,
        cells: 8,
        growth: 1.4,
        hub_w_m2_k: 0.0,
    };
    let carrier = steel(
        numbers.carrier_thickness_m,
        4,
        1.0,
        numbers.carrier_drum_w_k,
    );
    let plate = steel(numbers.steel_thickness_m, 12, 1.2, numbers.steel_drum_w_k);
    Stack::new(&[lining, carrier], &[plate])
}

/// What oil flowing through the pack carries off per temperature of the contact over the oil, W/K.
fn through_oil_w_k(numbers: &crate::plant::vehicle::Plates, speed_m_s: f64) -> f64 {
    let flow_w_k = numbers.flow_w_k + numbers.flow_per_speed_w_s_k_m * speed_m_s;
    if flow_w_k > 0.0 {
        flow_w_k * -libm::expm1(-numbers.groove_oil_w_k / flow_w_k)
    } else {
        0.0
    }
}

/// Area of one friction face, m2.
fn face_m2(clutch: &Clutch) -> f64 {
    core::f64::consts::PI
        * (clutch.outer_radius_m * clutch.outer_radius_m
            - clutch.inner_radius_m * clutch.inner_radius_m)
}
