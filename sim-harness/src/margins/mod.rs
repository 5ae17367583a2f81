//! Margins of the yaw loop: the real law, linearised by small sines, in front of the linear car.
//!
//! Inputs: vehicle, calibration page, speed, actuator. Outputs: gain margin, phase margin, peak sensitivity. The loop is
//! opened at the measured yaw rate: the whole controller is stepped in a steady turn with both clutches slipping while the
//! yaw rate it reads carries a small sine; the yaw moment of the torques it gives, divided by that sine (first harmonic), is
//! the law's response, smoothing and dead band included. Behind it stand the clutch's dead time and lag, the hold over a
//! control step and the sensor's delay as exact phasors, and the single-track car from yaw moment to yaw rate
//! ("Vehicle Dynamics and Control", 2nd ed., ch. 2, from memory). Limits: tyres without relaxation, one working point a
//! speed, no bound at work.

mod law;
mod phasor;

use crate::plant::Vehicle;
use crate::plant::single_track::SingleTrack;
use crate::run::PERIOD_S;
use couplet_controller::RawPage;
pub use law::{LawPoint, SettledLaw};
pub use phasor::Phasor;

/// What stands between the law's torques and the wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Actuator {
    /// Dead time, s.
    pub dead_s: f64,
    /// Time constant, s.
    pub lag_s: f64,
    /// Factor on the whole loop's gain.
    pub gain: f64,
    /// Further delay, s.
    pub delay_s: f64,
}

impl Actuator {
    /// Warm oil, as the demo car has it.
    pub fn warm(vehicle: &Vehicle) -> Self {
        Self {
            dead_s: vehicle.actuator.dead_time_s,
            lag_s: vehicle.actuator.lag_s,
            gain: 1.0,
            delay_s: 0.0,
        }
    }

    /// Warm oil, with 15 % more gain and 10 ms more delay than the demo car has.
    pub fn warm_worst(vehicle: &Vehicle) -> Self {
        Self {
            dead_s: vehicle.actuator.dead_time_s,
            lag_s: vehicle.actuator.lag_s,
            gain: 1.15,
            delay_s: 0.010,
        }
    }

    /// Cold oil: four times dead time and lag.
    pub fn cold(vehicle: &Vehicle) -> Self {
        Self {
            dead_s: vehicle.actuator.cold_factor * vehicle.actuator.dead_time_s,
            lag_s: vehicle.actuator.cold_factor * vehicle.actuator.lag_s,
            gain: 1.0,
            delay_s: 0.0,
        }
    }

    /// The actuator at an angular frequency, with hold and sensor delay of one control step.
    pub fn response(&self, omega_rad_s: f64) -> Phasor {
        let delay_s = self.dead_s + self.delay_s + 0.5 * PERIOD_S + PERIOD_S;
        let lag = Phasor::new(1.0, omega_rad_s * self.lag_s);
        Phasor::turned(-omega_rad_s * delay_s)
            .scaled(self.gain)
            .over(lag)
    }
}

/// Margins of a loop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// Gain margin, dB; infinite if the phase never crosses -180 deg.
    pub gain_db: f64,
    /// Phase margin, deg; 180 if the gain never crosses 1.
    pub phase_deg: f64,
    /// Largest sensitivity.
    pub peak_sensitivity: f64,
}

/// What the loop must keep with [`Actuator::warm_worst`].
pub const WARM_TARGET: Margins = Margins {
    gain_db: 9.0,
    phase_deg: 50.0,
    peak_sensitivity: 1.7,
};

/// What the loop must keep with [`Actuator::cold`]; no phase margin is asked for.
pub const COLD_TARGET: Margins = Margins {
    gain_db: 6.0,
    phase_deg: 0.0,
    peak_sensitivity: 2.0,
};

/// Frequencies at which the loop is looked at, Hz.
pub fn frequencies_hz() -> Vec<f64> {
    (0..=32)
        .map(|step| 0.25 * libm::pow(10.0, f64::from(step) / 16.0))
        .collect()
}

/// From yaw moment to yaw rate of the linear car, rad/s per N m.
pub fn car_response(car: &SingleTrack, speed_m_s: f64, omega_rad_s: f64) -> Phasor {
    let zero = (car.front_stiffness_n_rad + car.rear_stiffness_n_rad) / (car.mass_kg * speed_m_s);
    let natural = car.natural_frequency_squared_rad2_s2(speed_m_s);
    let decay = car.decay_1_s(speed_m_s);
    Phasor::new(zero, omega_rad_s)
        .scaled(1.0 / car.yaw_inertia_kg_m2)
        .over(Phasor::new(
            natural - omega_rad_s * omega_rad_s,
            2.0 * decay * omega_rad_s,
        ))
}

/// Phase of each sample, deg: the one nearest to the one before, starting within (-270, 90].
pub fn unwrapped_deg(samples: &[Phasor]) -> Vec<f64> {
    let mut phase = f64::NAN;
    let mut phases = Vec::new();
    for sample in samples {
        let raw = sample.angle().to_degrees();
        phase = if phase.is_nan() {
            if raw > 90.0 { raw - 360.0 } else { raw }
        } else {
            raw + 360.0 * libm::round((phase - raw) / 360.0)
        };
        phases.push(phase);
    }
    phases
}

/// Margins from samples of the loop gain L for negative feedback, in rising frequency.
pub fn margins(samples: &[Phasor]) -> Margins {
    let mut found = Margins {
        gain_db: f64::INFINITY,
        phase_deg: 180.0,
        peak_sensitivity: 0.0,
    };
    let one = Phasor::new(1.0, 0.0);
    for open in samples {
        let sensitivity = one.over(one.plus(*open)).size();
        found.peak_sensitivity = found.peak_sensitivity.max(sensitivity);
    }
    let phases = unwrapped_deg(samples);
    let mut before: Option<(f64, f64)> = None;
    for (open, phase) in samples.iter().zip(phases) {
        let level_db = 20.0 * libm::log10(open.size());
        if let Some((phase_before, level_before)) = before {
            if (phase_before + 180.0) * (phase + 180.0) <= 0.0 && phase_before != phase {
                let share = (phase_before + 180.0) / (phase_before - phase);
                let at = level_before + share * (level_db - level_before);
                found.gain_db = found.gain_db.min(-at);
            }
            if level_before * level_db <= 0.0 && level_before != level_db {
                let share = level_before / (level_before - level_db);
                let at = phase_before + share * (phase - phase_before);
                found.phase_deg = found.phase_deg.min(180.0 + at);
            }
        }
        before = Some((phase, level_db));
    }
    found
}

/// The law's response at all frequencies, in front of no car yet; nothing if the page is refused or a bound is at work at any
/// frequency, because then there is no linear answer to speak of.
pub fn law_response(vehicle: &Vehicle, page: &RawPage, speed_m_s: f64) -> Option<Vec<LawPoint>> {
    let settled = SettledLaw::new(vehicle, page, speed_m_s)?;
    let mut law = Vec::new();
    for hertz in frequencies_hz() {
        let point = settled.response(hertz)?;
        if point.bound_share > 0.0 {
            return None;
        }
        law.push(point);
    }
    Some(law)
}

/// The loop gain L for negative feedback: law, actuator and car, one sample a point.
pub fn open_loop(
    law: &[LawPoint],
    car: &SingleTrack,
    speed_m_s: f64,
    actuator: &Actuator,
) -> Vec<Phasor> {
    law.iter()
        .map(|point| {
            let open = point
                .moment_per_rate
                .times(actuator.response(point.omega_rad_s))
                .times(car_response(car, speed_m_s, point.omega_rad_s));
            // The law answers a higher reading with a lower moment: the sign of negative feedback.
            open.scaled(-1.0)
        })
        .collect()
}

/// Margins of the law in front of the car at one speed, one for each actuator; nothing where there is no
/// [`law_response`].
pub fn yaw_loop(
    car: &SingleTrack,
    vehicle: &Vehicle,
    page: &RawPage,
    speed_m_s: f64,
    actuators: &[Actuator],
) -> Option<Vec<Margins>> {
    let law = law_response(vehicle, page, speed_m_s)?;
    let one = |actuator| margins(&open_loop(&law, car, speed_m_s, actuator));
    Some(actuators.iter().map(one).collect())
}
