//! Brake traction control: the faster of two driven wheels is braked so that the other gets torque.
//!
//! The brake of the spinning front wheel follows the speed difference in proportion; an open differential then passes the
//! same torque to the other side. When both spin, the powertrain's request is cut. Off above 80 km/h.

use crate::plant::PerWheel;
use crate::plant::vehicle::BrakeVectoring;

/// Off above this speed, m/s.
const END_M_S: f64 = 22.0;

/// Numbers of the vehicle file and memory of the powertrain cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrakeTraction {
    numbers: BrakeVectoring,
    cut: f64,
}

impl BrakeTraction {
    /// The control with the numbers of a car.
    pub fn with(numbers: BrakeVectoring) -> Self {
        Self { numbers, cut: 0.0 }
    }

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
        let numbers = &self.numbers;
        let start = numbers.traction_start_m_s + numbers.traction_start_share * speed_m_s.abs();
        let difference = wheel_m_s.front_right - wheel_m_s.front_left;
        let brake = (numbers.traction_gain_nm_s_m * (difference.abs() - start))
            .clamp(0.0, numbers.traction_maximum_torque_nm);
        if difference > 0.0 {
            added.front_right = brake;
        } else {
            added.front_left = brake;
        }
        let both = wheel_m_s.front_left.min(wheel_m_s.front_right)
            - speed_m_s
            - numbers.traction_cut_start_m_s;
        self.cut = (self.cut + numbers.traction_cut_per_m * both * period_s).clamp(0.0, 0.9);
        (added, request_nm * (1.0 - self.cut))
    }
}
