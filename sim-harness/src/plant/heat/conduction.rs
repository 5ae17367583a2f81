//! Conduction through a stack of layers that is heated where two plates rub.
//!
//! Inputs: heat flux at the contact, temperatures of the oil there and of the hub, step. Outputs: temperature of every cell and of the
//! contact, heat given to oil and hub, all per area of one friction face.
//!
//! rho c dT/dt = d/dx (k dT/dx) in finite volumes, with the contact as a point without capacity:
//! q = g_left (T_c - T_left) + g_right (T_c - T_right) + g_oil (T_c - T_oil). So both sides have ONE surface temperature and the share of the
//! heat that each takes is a result. Outer faces are planes of symmetry. In time: the two-stage diagonally implicit rule of second
//! order with gamma = 1 - 1/sqrt 2, stable and damping for any step ("Solving Ordinary Differential Equations II", IV.6, from memory).
//! What leaves a cell arrives in another, so stored heat and exchange agree to rounding. Limits: one dimension, perfect contact,
//! constant properties.

/// gamma of the rule.
const GAMMA: f64 = 1.0 - core::f64::consts::FRAC_1_SQRT_2;

/// A layer, cut into cells that grow away from the contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Thermal conductivity, W/(m K).
    pub conductivity_w_m_k: f64,
    /// Density times specific heat, J/(m3 K).
    pub capacity_j_m3_k: f64,
    /// Number of cells.
    pub cells: usize,
    /// Thickness of a cell over that of its neighbour nearer to the contact.
    pub growth: f64,
    /// Conductance to the hub, spread evenly over the layer, W/(m2 K).
    pub hub_w_m2_k: f64,
}

/// A stack of `N` cells; to the left of the contact lie the first [`Stack::contact`] of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stack<const N: usize> {
    /// Cells left of the contact.
    contact: usize,
    /// Distance of the middle of each cell from the contact, m.
    depth_m: [f64; N],
    capacity_j_m2_k: [f64; N],
    hub_w_m2_k: [f64; N],
    /// Between a cell and the next; 0 across the contact.
    link_w_m2_k: [f64; N],
    /// From the contact to the cell at its left and right, 0 where there is none.
    left_w_m2_k: f64,
    right_w_m2_k: f64,
}

/// What surrounds the stack during a step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Around {
    /// Conductance from the contact to the oil, W/(m2 K).
    pub oil_w_m2_k: f64,
    /// Oil, degC.
    pub oil_degc: f64,
    /// Hub, degC.
    pub hub_degc: f64,
}

/// What a step gave away.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Given {
    /// To the oil, J/m2.
    pub oil_j_m2: f64,
    /// To the hub, J/m2.
    pub hub_j_m2: f64,
    /// Contact at the end of the step, degC.
    pub contact_degc: f64,
}

/// The implicit matrix of one step length and oil conductance, factorised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factors<const N: usize> {
    step_s: f64,
    oil_w_m2_k: f64,
    pivot: [f64; N],
    lower: [f64; N],
}

impl<const N: usize> Factors<N> {
    /// Length of the step they are for, s.
    pub fn step_s(&self) -> f64 {
        self.step_s
    }
}

impl<const N: usize> Stack<N> {
    /// A stack of layers to either side of the contact, each listed from the contact outwards; `N` cells together.
    pub fn new(left: &[Layer], right: &[Layer]) -> Self {
        let contact = left.iter().map(|layer| layer.cells).sum::<usize>();
        let all = contact + right.iter().map(|layer| layer.cells).sum::<usize>();
        assert_eq!(all, N, "cells of the layers");
        let mut stack = Self {
            contact,
            depth_m: [0.0; N],
            capacity_j_m2_k: [0.0; N],
            hub_w_m2_k: [0.0; N],
            link_w_m2_k: [0.0; N],
            left_w_m2_k: 0.0,
            right_w_m2_k: 0.0,
        };
        stack.left_w_m2_k = stack.lay(
            left,
            |index| contact - 1 - index,
            |index| contact - 2 - index,
        );
        stack.right_w_m2_k = stack.lay(right, |index| contact + index, |index| contact + index);
        stack
    }

    /// Lays one side and returns the conductance from the contact to its first cell.
    fn lay(
        &mut self,
        layers: &[Layer],
        place: impl Fn(usize) -> usize,
        link: impl Fn(usize) -> usize,
    ) -> f64 {
        let mut index = 0;
        let mut edge_m = 0.0;
        let mut before_m2_k_w = 0.0;
        let mut first_w_m2_k = 0.0;
        for layer in layers {
            let mut shares = 0.0;
            let mut share = 1.0;
            for _ in 0..layer.cells {
                shares += share;
                share *= layer.growth;
            }
            let mut thick_m = layer.thickness_m / shares;
            for _ in 0..layer.cells {
                let half_m2_k_w = 0.5 * thick_m / layer.conductivity_w_m_k;
                let conductance_w_m2_k = 1.0 / (before_m2_k_w + half_m2_k_w);
                if index == 0 {
                    first_w_m2_k = conductance_w_m2_k;
                } else {
                    self.link_w_m2_k[link(index - 1)] = conductance_w_m2_k;
                }
                let cell = place(index);
                self.depth_m[cell] = edge_m + 0.5 * thick_m;
                self.capacity_j_m2_k[cell] = thick_m * layer.capacity_j_m3_k;
                self.hub_w_m2_k[cell] = layer.hub_w_m2_k * thick_m / layer.thickness_m;
                before_m2_k_w = half_m2_k_w;
                edge_m += thick_m;
                thick_m *= layer.growth;
                index += 1;
            }
        }
        first_w_m2_k
    }

    /// Cells left of the contact.
    pub fn contact(&self) -> usize {
        self.contact
    }

    /// Distance of the middle of each cell from the contact, m.
    pub fn depth_m(&self) -> &[f64; N] {
        &self.depth_m
    }

    /// Heat capacity of each cell, J/(m2 K).
    pub fn capacity_j_m2_k(&self) -> &[f64; N] {
        &self.capacity_j_m2_k
    }

    /// Heat stored above 0 degC, J/m2.
    pub fn stored_j_m2(&self, degc: &[f64; N]) -> f64 {
        let mut sum = 0.0;
        for index in 0..N {
            sum += self.capacity_j_m2_k[index] * degc[index];
        }
        sum
    }

    /// The matrix of steps of this length.
    pub fn factors(&self, step_s: f64, oil_w_m2_k: f64) -> Factors<N> {
        let length = GAMMA * step_s;
        let whole = self.left_w_m2_k + self.right_w_m2_k + oil_w_m2_k;
        let mut factors = Factors {
            step_s,
            oil_w_m2_k,
            pivot: [0.0; N],
            lower: [0.0; N],
        };
        let mut before = 0.0;
        for index in 0..N {
            let mut out = self.hub_w_m2_k[index] + self.link_w_m2_k[index];
            if index > 0 {
                out += self.link_w_m2_k[index - 1];
            }
            let mut next = self.link_w_m2_k[index];
            if index + 1 == self.contact {
                out += self.left_w_m2_k * (self.right_w_m2_k + oil_w_m2_k) / whole;
                next = self.left_w_m2_k * self.right_w_m2_k / whole;
            }
            if index == self.contact {
                out += self.right_w_m2_k * (self.left_w_m2_k + oil_w_m2_k) / whole;
            }
            let pivot = 1.0 / (self.capacity_j_m2_k[index] + length * out - before);
            let lower = -length * next * pivot;
            factors.pivot[index] = pivot;
            factors.lower[index] = lower;
            before = -lower * length * next;
        }
        factors
    }

    /// Temperature of the contact over given cells, degC.
    pub fn contact_degc(&self, degc: &[f64; N], flux_w_m2: f64, around: &Around) -> f64 {
        let left = if self.contact > 0 {
            degc[self.contact - 1]
        } else {
            0.0
        };
        let right = if self.contact < N {
            degc[self.contact]
        } else {
            0.0
        };
        (self.left_w_m2_k * left
            + self.right_w_m2_k * right
            + around.oil_w_m2_k * around.oil_degc
            + flux_w_m2)
            / (self.left_w_m2_k + self.right_w_m2_k + around.oil_w_m2_k)
    }

    /// One step with a constant flux; `factors` must be those of its length and oil conductance.
    pub fn step(
        &self,
        factors: &Factors<N>,
        degc: &mut [f64; N],
        flux_w_m2: f64,
        around: &Around,
    ) -> Given {
        debug_assert_eq!(factors.oil_w_m2_k, around.oil_w_m2_k);
        let step_s = factors.step_s;
        let before = *degc;
        let middle = self.solve(factors, &before, flux_w_m2, around);
        let mut start = before;
        for index in 0..N {
            start[index] += (1.0 - GAMMA) / GAMMA * (middle[index] - before[index]);
        }
        *degc = self.solve(factors, &start, flux_w_m2, around);
        let (mut hub_middle, mut hub_end) = (0.0, 0.0);
        for index in 0..N {
            hub_middle += self.hub_w_m2_k[index] * (middle[index] - around.hub_degc);
            hub_end += self.hub_w_m2_k[index] * (degc[index] - around.hub_degc);
        }
        let contact_middle = self.contact_degc(&middle, flux_w_m2, around);
        let contact_degc = self.contact_degc(degc, flux_w_m2, around);
        let to_oil = |contact: f64| around.oil_w_m2_k * (contact - around.oil_degc);
        let over_step = |middle: f64, end: f64| step_s * ((1.0 - GAMMA) * middle + GAMMA * end);
        Given {
            oil_j_m2: over_step(to_oil(contact_middle), to_oil(contact_degc)),
            hub_j_m2: over_step(hub_middle, hub_end),
            contact_degc,
        }
    }

    /// One implicit stage from `start`.
    fn solve(
        &self,
        factors: &Factors<N>,
        start: &[f64; N],
        flux_w_m2: f64,
        around: &Around,
    ) -> [f64; N] {
        let length = GAMMA * factors.step_s;
        let whole = self.left_w_m2_k + self.right_w_m2_k + around.oil_w_m2_k;
        let at_contact = length * (flux_w_m2 + around.oil_w_m2_k * around.oil_degc) / whole;
        let mut solved = [0.0; N];
        let mut carried = 0.0;
        for index in 0..N {
            let mut right = self.capacity_j_m2_k[index] * start[index]
                + length * self.hub_w_m2_k[index] * around.hub_degc;
            if index + 1 == self.contact {
                right += self.left_w_m2_k * at_contact;
            }
            if index == self.contact {
                right += self.right_w_m2_k * at_contact;
            }
            carried = right - carried;
            solved[index] = carried * factors.pivot[index];
            carried *= factors.lower[index];
        }
        for index in (0..N - 1).rev() {
            solved[index] -= factors.lower[index] * solved[index + 1];
        }
        solved
    }
}
