//! Heat in the axle: surface and core of each clutch, oil, housing, ambient air.
//!
//! Inputs: dissipated power per clutch, vehicle speed, air temperature. Outputs: temperatures and the heat taken in and
//! given off. A lumped network: C dT/dt = P + sum G (T_other - T), forward Euler at the plant's step (its shortest time
//! constant, 0.2 s, is 200 steps long). Numbers are the plant's own; the controller's model never sees them.
//! With `plates.conduction` set, surface and core are [`plates`]: conduction through steel, lining and carrier, and oil flow.
//! Limits of the lumped clutch: no temperature profile in the plates, no dependence of conductance on oil flow.

pub mod conduction;
pub mod oil;
pub mod plates;
pub mod viscosity_index;

use super::quantity::PerSide;
use super::vehicle::{Heat, Vehicle};
use plates::Plates;

/// Thermal conductance between two nodes of a network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Link {
    /// Index of the one node.
    pub from: usize,
    /// Index of the other node.
    pub to: usize,
    /// Conductance, W/K.
    pub conductance_w_k: f64,
}

/// Heat flowing into each node of a network, W; every flow is taken from one node and given to the other.
pub fn net_heat_w<const N: usize>(temperature_degc: &[f64; N], links: &[Link]) -> [f64; N] {
    let mut heat_w = [0.0; N];
    for link in links {
        let flow_w =
            link.conductance_w_k * (temperature_degc[link.from] - temperature_degc[link.to]);
        heat_w[link.from] -= flow_w;
        heat_w[link.to] += flow_w;
    }
    heat_w
}

/// One forward Euler step of a network; a node of infinite capacity keeps its temperature.
pub fn euler_step<const N: usize>(
    temperature_degc: &mut [f64; N],
    capacity_j_k: &[f64; N],
    links: &[Link],
    inflow_w: &[f64; N],
    step_s: f64,
) {
    let heat_w = net_heat_w(temperature_degc, links);
    for index in 0..N {
        temperature_degc[index] += step_s * (heat_w[index] + inflow_w[index]) / capacity_j_k[index];
    }
}

/// Heat that has passed from one part of the axle to the next since the start, J.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flows {
    /// From the rubbing surfaces to the cores of both clutches; with plates: to drums and hubs.
    pub to_core_j: f64,
    /// From both clutches to the oil.
    pub to_oil_j: f64,
    /// From the oil to the housing.
    pub to_housing_j: f64,
}

/// Heat stored above 0 degC, J.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stored {
    /// In both clutches.
    pub clutches_j: f64,
    /// In the oil.
    pub oil_j: f64,
    /// In the housing.
    pub housing_j: f64,
}

/// Thermal state of the axle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxleHeat {
    /// Rubbing surfaces, degC.
    pub surface_degc: PerSide<f64>,
    /// Cores, degC; with plates: drums and hubs.
    pub core_degc: PerSide<f64>,
    /// Oil, degC.
    pub oil_degc: f64,
    /// Housing, degC.
    pub housing_degc: f64,
    /// Air, degC.
    pub ambient_degc: f64,
    /// Heat taken in from the clutches since the start, J.
    pub taken_in_j: f64,
    /// Heat given to the air since the start, J.
    pub given_off_j: f64,
    /// What passed inside.
    pub flows: Flows,
    /// Plates and linings, where the vehicle has them.
    plates: Option<Plates>,
}

impl AxleHeat {
    /// Both clutches at one temperature, oil and housing at another.
    pub fn new(clutch_degc: f64, oil_degc: f64, ambient_degc: f64) -> Self {
        Self {
            surface_degc: PerSide::both(clutch_degc),
            core_degc: PerSide::both(clutch_degc),
            oil_degc,
            housing_degc: oil_degc,
            ambient_degc,
            taken_in_j: 0.0,
            given_off_j: 0.0,
            flows: Flows::default(),
            plates: None,
        }
    }

    /// The same with the plates of a vehicle, if it has them.
    pub fn of(vehicle: &Vehicle, clutch_degc: f64, oil_degc: f64, ambient_degc: f64) -> Self {
        Self {
            plates: Plates::of(vehicle, clutch_degc),
            ..Self::new(clutch_degc, oil_degc, ambient_degc)
        }
    }

    /// Plates and linings; nothing with lumped surfaces and cores.
    pub fn plates(&self) -> Option<&Plates> {
        self.plates.as_ref()
    }

    /// Takes in the dissipated power of both clutches for one step.
    pub fn step(&mut self, heat: &Heat, clutch_heat_w: PerSide<f64>, speed_m_s: f64, step_s: f64) {
        if self.plates.is_some() {
            self.step_plates(heat, clutch_heat_w, speed_m_s, step_s);
        } else {
            self.step_lumps(heat, clutch_heat_w, speed_m_s, step_s);
        }
    }

    /// Gathers heat and advances what is due, in equal substeps of at most [`plates::SUBSTEP_S`].
    #[inline(never)]
    fn step_plates(
        &mut self,
        heat: &Heat,
        clutch_heat_w: PerSide<f64>,
        speed_m_s: f64,
        step_s: f64,
    ) {
        let Some(plates) = &mut self.plates else {
            return;
        };
        self.taken_in_j += step_s * clutch_heat_w.sum();
        let Some((due_s, speed_m_s)) = plates.gather(clutch_heat_w, speed_m_s, step_s) else {
            return;
        };
        let count = libm::ceil(0.999 * due_s / plates::SUBSTEP_S);
        let substep_s = due_s / count;
        let air_w_k = heat.housing_air_w_k + heat.housing_air_per_speed_w_k_m_s * speed_m_s;
        for _ in 0..count as u32 {
            let given = plates.advance(self.oil_degc, speed_m_s, substep_s);
            let to_oil_j = given.oil_j.sum();
            let to_housing_j =
                substep_s * heat.oil_housing_w_k * (self.oil_degc - self.housing_degc);
            let to_air_j = substep_s * air_w_k * (self.housing_degc - self.ambient_degc);
            self.oil_degc += (to_oil_j - to_housing_j) / heat.oil_capacity_j_k;
            self.housing_degc += (to_housing_j - to_air_j) / heat.housing_capacity_j_k;
            self.given_off_j += to_air_j;
            self.flows.to_core_j += given.drum_j.sum();
            self.flows.to_oil_j += to_oil_j;
            self.flows.to_housing_j += to_housing_j;
        }
        self.surface_degc = plates.contact_degc();
        self.core_degc = plates.drum_degc();
    }

    fn step_lumps(
        &mut self,
        heat: &Heat,
        clutch_heat_w: PerSide<f64>,
        speed_m_s: f64,
        step_s: f64,
    ) {
        let side_links = [
            Link {
                from: 0,
                to: 1,
                conductance_w_k: heat.surface_core_w_k,
            },
            Link {
                from: 0,
                to: 2,
                conductance_w_k: heat.surface_oil_w_k,
            },
            Link {
                from: 1,
                to: 2,
                conductance_w_k: heat.core_oil_w_k,
            },
        ];
        let air_w_k = heat.housing_air_w_k + heat.housing_air_per_speed_w_k_m_s * speed_m_s.abs();
        let common_links = [
            Link {
                from: 0,
                to: 1,
                conductance_w_k: heat.oil_housing_w_k,
            },
            Link {
                from: 1,
                to: 2,
                conductance_w_k: air_w_k,
            },
        ];
        // Each side is its own network with the oil as border, so both flows into the oil meet in one commutative sum.
        let side_w = self
            .surface_degc
            .pair(self.core_degc)
            .map(|(surface, core)| net_heat_w(&[surface, core, self.oil_degc], &side_links));
        let common_w = net_heat_w(
            &[self.oil_degc, self.housing_degc, self.ambient_degc],
            &common_links,
        );
        let across_k = self.surface_degc.sum() - self.core_degc.sum();
        self.surface_degc =
            self.surface_degc
                .pair(side_w.pair(clutch_heat_w))
                .map(|(degc, (net, power))| {
                    degc + step_s * (net[0] + power) / heat.surface_capacity_j_k
                });
        self.core_degc = self
            .core_degc
            .pair(side_w)
            .map(|(degc, net)| degc + step_s * net[1] / heat.core_capacity_j_k);
        let clutches_w = side_w.left[2] + side_w.right[2];
        let oil_w = clutches_w + common_w[0];
        self.oil_degc += step_s * oil_w / heat.oil_capacity_j_k;
        self.housing_degc += step_s * common_w[1] / heat.housing_capacity_j_k;
        self.taken_in_j += step_s * clutch_heat_w.sum();
        self.given_off_j += step_s * common_w[2];
        self.flows.to_core_j += step_s * heat.surface_core_w_k * across_k;
        self.flows.to_oil_j += step_s * clutches_w;
        self.flows.to_housing_j -= step_s * common_w[0];
    }

    /// Heat stored above 0 degC, J.
    pub fn stored_j(&self, heat: &Heat) -> f64 {
        let stored = self.stored(heat);
        stored.clutches_j + stored.oil_j + stored.housing_j
    }

    /// The same by part.
    pub fn stored(&self, heat: &Heat) -> Stored {
        Stored {
            clutches_j: match &self.plates {
                Some(plates) => plates.stored_j(),
                None => {
                    heat.surface_capacity_j_k * self.surface_degc.sum()
                        + heat.core_capacity_j_k * self.core_degc.sum()
                }
            },
            oil_j: heat.oil_capacity_j_k * self.oil_degc,
            housing_j: heat.housing_capacity_j_k * self.housing_degc,
        }
    }

    /// Left and right exchanged.
    pub fn mirrored(&self) -> Self {
        Self {
            surface_degc: self.surface_degc.mirrored(),
            core_degc: self.core_degc.mirrored(),
            plates: self.plates.as_ref().map(Plates::mirrored),
            ..*self
        }
    }
}
