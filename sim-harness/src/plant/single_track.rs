//! Linear single-track car: the textbook closed forms.
//!
//! Inputs: mass, yaw inertia, axle places, cornering stiffness per AXLE. Outputs: understeer, steady gains, eigenvalues,
//! exact yaw response to a steering step at the road wheel. Source of the formulas: linear single-track model, e.g.
//! "Vehicle Dynamics and Control" 2nd ed. 2012 ch. 2 (from memory); checked against published problems in
//! `tests/tests/reference_plant.rs`. Limits: constant speed, linear tyres, no relaxation, no load transfer.

/// The car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SingleTrack {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Yaw inertia, kg m2.
    pub yaw_inertia_kg_m2: f64,
    /// Distance of the front axle ahead of the centre of gravity, m.
    pub front_m: f64,
    /// Distance of the rear axle behind the centre of gravity, m.
    pub rear_m: f64,
    /// Cornering stiffness of the front axle, N/rad.
    pub front_stiffness_n_rad: f64,
    /// Cornering stiffness of the rear axle, N/rad.
    pub rear_stiffness_n_rad: f64,
}

/// Yaw response to a steering step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YawStep {
    /// Time to 90 % of the steady value, s.
    pub rise_s: f64,
    /// Time of the first peak, s; `None` if the steady value is approached from below.
    pub peak_s: Option<f64>,
    /// Peak over steady value minus 1; 0 without a peak.
    pub overshoot: f64,
}

impl SingleTrack {
    /// Wheelbase, m.
    pub fn wheelbase_m(&self) -> f64 {
        self.front_m + self.rear_m
    }

    /// Understeer constant K of delta = L/R + K a_y, rad s2/m, positive for understeer.
    pub fn understeer_rad_s2_m(&self) -> f64 {
        self.mass_kg
            * (self.rear_m * self.rear_stiffness_n_rad - self.front_m * self.front_stiffness_n_rad)
            / (self.wheelbase_m() * self.front_stiffness_n_rad * self.rear_stiffness_n_rad)
    }

    /// Characteristic speed, m/s; `None` unless the car understeers.
    pub fn characteristic_speed_m_s(&self) -> Option<f64> {
        let understeer = self.understeer_rad_s2_m();
        (understeer > 0.0).then(|| libm::sqrt(self.wheelbase_m() / understeer))
    }

    /// Critical speed, m/s; `None` unless the car oversteers.
    pub fn critical_speed_m_s(&self) -> Option<f64> {
        let understeer = self.understeer_rad_s2_m();
        (understeer < 0.0).then(|| libm::sqrt(-self.wheelbase_m() / understeer))
    }

    /// Steady yaw rate over road-wheel angle, 1/s.
    pub fn yaw_gain_1_s(&self, speed_m_s: f64) -> f64 {
        speed_m_s / self.effective_wheelbase_m(speed_m_s)
    }

    /// Steady sideslip over road-wheel angle.
    pub fn sideslip_gain(&self, speed_m_s: f64) -> f64 {
        (self.rear_m
            - self.front_m * self.mass_kg * speed_m_s * speed_m_s
                / (self.wheelbase_m() * self.rear_stiffness_n_rad))
            / self.effective_wheelbase_m(speed_m_s)
    }

    /// Steady yaw rate per yaw moment on the body, rad/s per N m.
    pub fn yaw_per_moment_rad_s_nm(&self, speed_m_s: f64) -> f64 {
        (self.front_stiffness_n_rad + self.rear_stiffness_n_rad) * speed_m_s
            / (self.front_stiffness_n_rad
                * self.rear_stiffness_n_rad
                * self.wheelbase_m()
                * self.effective_wheelbase_m(speed_m_s))
    }

    /// Square of the undamped natural frequency, rad2/s2; negative for a car above its critical speed.
    pub fn natural_frequency_squared_rad2_s2(&self, speed_m_s: f64) -> f64 {
        self.front_stiffness_n_rad
            * self.rear_stiffness_n_rad
            * self.wheelbase_m()
            * self.effective_wheelbase_m(speed_m_s)
            / (self.mass_kg * self.yaw_inertia_kg_m2 * speed_m_s * speed_m_s)
    }

    /// Undamped natural frequency, rad/s; not a number above the critical speed.
    pub fn natural_frequency_rad_s(&self, speed_m_s: f64) -> f64 {
        libm::sqrt(self.natural_frequency_squared_rad2_s2(speed_m_s))
    }

    /// Decay rate of the yaw mode, 1/s: damping ratio times natural frequency.
    pub fn decay_1_s(&self, speed_m_s: f64) -> f64 {
        let lateral =
            (self.front_stiffness_n_rad + self.rear_stiffness_n_rad) / (self.mass_kg * speed_m_s);
        let yaw = (self.front_m * self.front_m * self.front_stiffness_n_rad
            + self.rear_m * self.rear_m * self.rear_stiffness_n_rad)
            / (self.yaw_inertia_kg_m2 * speed_m_s);
        0.5 * (lateral + yaw)
    }

    /// Damping ratio.
    pub fn damping_ratio(&self, speed_m_s: f64) -> f64 {
        self.decay_1_s(speed_m_s) / self.natural_frequency_rad_s(speed_m_s)
    }

    /// Yaw rate over its steady value, `time_s` after a step of the road-wheel angle.
    pub fn yaw_step(&self, speed_m_s: f64, time_s: f64) -> f64 {
        let mode = self.mode(speed_m_s);
        1.0 - libm::exp(-mode.decay * time_s)
            * (mode.cosine(time_s) + (mode.decay - mode.start) * mode.sine(time_s))
    }

    /// Rise, peak and overshoot of the yaw rate after a step of the road-wheel angle; the car must be stable.
    pub fn yaw_step_response(&self, speed_m_s: f64) -> YawStep {
        let peak_s = self.mode(speed_m_s).peak_s();
        let mut early_s = 0.0;
        let mut late_s = peak_s.unwrap_or(50.0 / self.decay_1_s(speed_m_s));
        // Bisection down to rounding: the response rises steadily up to its peak.
        for _ in 0..100 {
            let middle_s = 0.5 * (early_s + late_s);
            if self.yaw_step(speed_m_s, middle_s) < 0.9 {
                early_s = middle_s;
            } else {
                late_s = middle_s;
            }
        }
        let overshoot = peak_s.map_or(0.0, |time_s| self.yaw_step(speed_m_s, time_s) - 1.0);
        YawStep {
            rise_s: late_s,
            peak_s,
            overshoot,
        }
    }

    fn effective_wheelbase_m(&self, speed_m_s: f64) -> f64 {
        self.wheelbase_m() + self.understeer_rad_s2_m() * speed_m_s * speed_m_s
    }

    fn mode(&self, speed_m_s: f64) -> Mode {
        let decay = self.decay_1_s(speed_m_s);
        Mode {
            decay,
            ring_squared: self.natural_frequency_squared_rad2_s2(speed_m_s) - decay * decay,
            start: self.front_m * self.front_stiffness_n_rad
                / self.yaw_inertia_kg_m2
                / self.yaw_gain_1_s(speed_m_s),
        }
    }
}

/// Second-order mode: decay, squared damped frequency (negative when overdamped), initial slope of the unit response.
struct Mode {
    decay: f64,
    ring_squared: f64,
    start: f64,
}

impl Mode {
    fn cosine(&self, time_s: f64) -> f64 {
        if self.ring_squared >= 0.0 {
            libm::cos(libm::sqrt(self.ring_squared) * time_s)
        } else {
            libm::cosh(libm::sqrt(-self.ring_squared) * time_s)
        }
    }

    /// Sine over damped frequency, which stays finite when the frequency vanishes.
    fn sine(&self, time_s: f64) -> f64 {
        let ring = libm::sqrt(self.ring_squared.abs());
        if ring * time_s < 1e-8 {
            time_s
        } else if self.ring_squared > 0.0 {
            libm::sin(ring * time_s) / ring
        } else {
            libm::sinh(ring * time_s) / ring
        }
    }

    /// First zero of the slope: start cos + (decay (decay - start) + ring^2) sin / ring = 0.
    fn peak_s(&self) -> Option<f64> {
        let turn = self.decay * (self.decay - self.start) + self.ring_squared;
        let ring = libm::sqrt(self.ring_squared.abs());
        if self.ring_squared > 0.0 {
            Some(libm::atan2(self.start * ring, -turn) / ring)
        } else if ring > 0.0 {
            let tangent = -self.start * ring / turn;
            (tangent > 0.0 && tangent < 1.0).then(|| libm::atanh(tangent) / ring)
        } else {
            (turn < 0.0).then(|| -self.start / turn)
        }
    }
}
