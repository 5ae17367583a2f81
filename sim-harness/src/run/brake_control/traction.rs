//! Brake traction control: the faster of two driven wheels is braked so that the other gets torque.
//!
//! The brake of the spinning front wheel follows the speed difference in proportion; an open differential then passes the
//! same torque to the other side. When both spin, the powertrain's request is cut. Off above 80 km/h.

use crate::plant::PerWheel;

/// Brake torque per speed difference, Nm s/m.
const GAIN_NM_S_M: f64 = 700.0;
/// Differences below this are a turn, m/s, and this share of the speed.
const START_M_S: f64 = 0.4;
const START_SHARE: f64 = 0.06;
/// Largest brake torque used, Nm.
const MOST_NM: f64 = 1800.0;
/// Off above this speed, m/s.
const END_M_S: f64 = 22.0;
/// Front spin beyond which the request is cut, m/s, and the share of it per m/s and second.
const CUT_START_M_S: f64 = 1.0;
const CUT_PER_M: f64 = 0.8;

/// Memory of the powertrain cut.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BrakeTraction {
    cut: f64,
}

impl BrakeTraction {
    /// Brake torque added per wheel, and the powertrain torque left of the request.
    pub fn step(
        &mut self,
        wheel_m_s: PerWheel<f64>,
        speed_m_s: f64,
        request_nm: f64,
        period_s: f64,
    ) -> (PerWheel<f64>, f64) {
        let mut added = PerWheel::all(0.0);
        if request_nm <= 0.0 || speed_m_s > END_M_S {
            self.cut = 0.0;
            return (added, request_nm);
        }
        let start = START_M_S + START_SHARE * speed_m_s.abs();
        let difference = wheel_m_s.front_right - wheel_m_s.front_left;
        let brake = (GAIN_NM_S_M * (difference.abs() - start)).clamp(0.0, MOST_NM);
        if difference > 0.0 {
            added.front_right = brake;
        } else {
            added.front_left = brake;
        }
        let both = wheel_m_s.front_left.min(wheel_m_s.front_right) - speed_m_s - CUT_START_M_S;
        self.cut = (self.cut + CUT_PER_M * both * period_s).clamp(0.0, 0.9);
        (added, request_nm * (1.0 - self.cut))
    }
}
