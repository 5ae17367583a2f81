//! The controller's heat network solved exactly: any time with constant heat in one stride.
//!
//! In: the network's parameters, temperatures, heat per clutch (W), speed, air. Out: temperatures at the end and means over the time.
//!
//! C dT/dt = P - K (T - T_air) with K symmetric. With x = sqrt(C) (T - T_air) the matrix A = C^-1/2 K C^-1/2 is symmetric: A = V L V',
//! each mode y' = -l y + w has the closed form y(t) = y0 e^(-l t) + (w/l)(1 - e^(-l t)), its mean is (y0 - y(t) + w t)/(l t).
//! Eigenvalues by cyclic Jacobi rotations (Jacobi 1846; textbook method). The conductance to air depends on the speed, so there is a set of
//! modes for every whole m/s. Limits: speeds in whole m/s up to [`FASTEST_M_S`].

use couplet_controller::PerSide;
use couplet_controller::stage::thermal::network::{Parameters, Temperatures};

/// Nodes: surface and core of the left clutch, of the right one, oil, housing.
const N: usize = 6;

/// Fastest speed, m/s.
pub const FASTEST_M_S: u8 = 80;

type Matrix = [[f64; N]; N];

/// The network at every speed.
#[derive(Debug, Clone)]
pub struct Exact {
    at_speed: Vec<Modes>,
    root_capacity: [f64; N],
    to_ambient_w_k: Vec<f64>,
}

#[derive(Debug, Clone)]
struct Modes {
    rates_1_s: [f64; N],
    /// Column by column the modes.
    vectors: Matrix,
}

/// What a stride ends with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stride {
    /// Temperatures at its end.
    pub end: Temperatures<f64>,
    /// Their means over its time.
    pub mean: Temperatures<f64>,
}

impl Exact {
    /// The modes of a network at every speed.
    pub fn new(parameters: &Parameters<f64>) -> Self {
        let root_capacity = capacities(parameters).map(libm::sqrt);
        let to_ambient_w_k: Vec<f64> = (0..=FASTEST_M_S)
            .map(|speed| parameters.to_ambient_w_k(f64::from(speed)))
            .collect();
        let at_speed = to_ambient_w_k
            .iter()
            .map(|to_ambient| {
                let mut matrix = conductances(parameters, *to_ambient);
                for (row, line) in matrix.iter_mut().enumerate() {
                    for (column, value) in line.iter_mut().enumerate() {
                        *value /= root_capacity[row] * root_capacity[column];
                    }
                }
                modes(matrix)
            })
            .collect();
        Self {
            at_speed,
            root_capacity,
            to_ambient_w_k,
        }
    }

    /// Conductance from housing to air, W/K.
    pub fn to_ambient_w_k(&self, speed_m_s: u8) -> f64 {
        self.to_ambient_w_k[usize::from(speed_m_s.min(FASTEST_M_S))]
    }

    /// Temperatures after `time_s`, above 0, with constant heat.
    pub fn advance(
        &self,
        from: &Temperatures<f64>,
        heat_w: PerSide<f64>,
        speed_m_s: u8,
        ambient_degc: f64,
        time_s: f64,
    ) -> Stride {
        let modes = &self.at_speed[usize::from(speed_m_s.min(FASTEST_M_S))];
        let root = &self.root_capacity;
        let mut above = nodes(from);
        for (value, root) in above.iter_mut().zip(root) {
            *value = (*value - ambient_degc) * root;
        }
        let heat = [heat_w.left / root[0], heat_w.right / root[2]];
        let (mut end, mut mean) = ([0.0; N], [0.0; N]);
        for (mode, rate) in modes.rates_1_s.iter().enumerate() {
            let vector = &modes.vectors[mode];
            let start: f64 = vector.iter().zip(&above).map(|(v, x)| v * x).sum();
            let fed = vector[0] * heat[0] + vector[2] * heat[1];
            // 1 - e^-x without cancelling.
            let gone = -libm::expm1(-rate * time_s);
            let after = start + (fed / rate - start) * gone;
            let middle = (start - after + fed * time_s) / (rate * time_s);
            for (node, part) in vector.iter().enumerate() {
                end[node] += part * after;
                mean[node] += part * middle;
            }
        }
        let back = |mut values: [f64; N]| {
            for (value, root) in values.iter_mut().zip(root) {
                *value = ambient_degc + *value / root;
            }
            temperatures(values)
        };
        Stride {
            end: back(end),
            mean: back(mean),
        }
    }
}

fn capacities(parameters: &Parameters<f64>) -> [f64; N] {
    let (surface, core) = (
        parameters.surface_capacity_j_k,
        parameters.core_capacity_j_k,
    );
    [
        surface,
        core,
        surface,
        core,
        parameters.oil_capacity_j_k,
        parameters.housing_capacity_j_k,
    ]
}

fn conductances(parameters: &Parameters<f64>, to_ambient_w_k: f64) -> Matrix {
    let mut matrix = [[0.0; N]; N];
    let mut join = |one: usize, other: usize, conductance: f64| {
        matrix[one][one] += conductance;
        matrix[other][other] += conductance;
        matrix[one][other] -= conductance;
        matrix[other][one] -= conductance;
    };
    for surface in [0, 2] {
        join(surface, surface + 1, parameters.surface_core_w_k);
        join(surface, 4, parameters.surface_oil_w_k);
        join(surface + 1, 4, parameters.core_oil_w_k);
    }
    join(4, 5, parameters.oil_housing_w_k);
    matrix[5][5] += to_ambient_w_k;
    matrix
}

/// Eigenvalues and eigenvectors of a symmetric matrix by cyclic Jacobi rotations.
fn modes(mut a: Matrix) -> Modes {
    /// More sweeps than any matrix of this size needs; convergence is quadratic.
    const SWEEPS: usize = 30;
    let mut vectors = [[0.0; N]; N];
    for (index, vector) in vectors.iter_mut().enumerate() {
        vector[index] = 1.0;
    }
    for _ in 0..SWEEPS {
        for p in 0..N {
            for q in p + 1..N {
                if a[p][q] == 0.0 {
                    continue;
                }
                let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let size = libm::fabs(theta) + libm::sqrt(theta * theta + 1.0);
                let t = libm::copysign(1.0, theta) / size;
                let c = 1.0 / libm::sqrt(t * t + 1.0);
                let s = t * c;
                for k in 0..N {
                    let (kp, kq) = (a[k][p], a[k][q]);
                    a[k][p] = c * kp - s * kq;
                    a[k][q] = s * kp + c * kq;
                }
                for k in 0..N {
                    let (pk, qk) = (a[p][k], a[q][k]);
                    a[p][k] = c * pk - s * qk;
                    a[q][k] = s * pk + c * qk;
                }
                // The rows of `vectors` are the modes.
                for k in 0..N {
                    let (pk, qk) = (vectors[p][k], vectors[q][k]);
                    vectors[p][k] = c * pk - s * qk;
                    vectors[q][k] = s * pk + c * qk;
                }
            }
        }
    }
    let mut rates_1_s = [0.0; N];
    for (index, rate) in rates_1_s.iter_mut().enumerate() {
        *rate = a[index][index];
    }
    Modes { rates_1_s, vectors }
}

fn nodes(at: &Temperatures<f64>) -> [f64; N] {
    [
        at.surface_degc.left,
        at.core_degc.left,
        at.surface_degc.right,
        at.core_degc.right,
        at.oil_degc,
        at.housing_degc,
    ]
}

fn temperatures([a, b, c, d, oil_degc, housing_degc]: [f64; N]) -> Temperatures<f64> {
    Temperatures {
        surface_degc: PerSide { left: a, right: c },
        core_degc: PerSide { left: b, right: d },
        oil_degc,
        housing_degc,
    }
}
