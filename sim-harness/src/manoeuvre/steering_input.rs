//! Steering played from a score at constant speed: sine, pulse, row of sines, sweep, random.
//!
//! In the manner of ISO 7401 (one-period sine, pulse, continuous sine, random input) and a sweep. The random input is the
//! same on every run: numbers drawn every 0.2 s by their index, passed through a low pass (windowed sinc), so that its
//! spectrum is even to about 2 Hz and empty above 3 Hz. Numbers from memory of ISO 7401:2011: one period of 0.5 Hz, steady lateral acceleration 4 m/s2,
//! frequencies 0.2 to 2 Hz. Chosen: pulse of 0.5 s, sweep of 30 s from 0 to 2.4 Hz, two minutes of random input, smaller lateral acceleration where the
//! answer should be linear. The size of the input is the linear car's for the steady lateral acceleration aimed at, from its
//! data sheet and the same for every axle, so that the answers differ and not the questions. The foot holds the speed.

use super::{Goal, Setup, side};
use crate::driver::pedals::SpeedHolder;
use crate::driver::{Action, Driver, View};
use crate::plant::sensors::mixed;
use crate::plant::{Plant, Start, Vehicle};
use crate::scenario::Scenario;

/// Time the car rolls straight before the record, s.
const LEAD_S: f64 = 4.0;

/// Time the car is left to settle at every frequency of the row, s: e^-7 is left of the slowest mode of a usual car.
const SETTLE_S: f64 = 2.0;

/// Periods driven at every frequency after settling.
const MEASURED_PERIODS: f64 = 2.0;

/// What the hands play; time counts from the action, size is 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Score {
    /// One period of a sine.
    OnePeriodSine {
        /// Its frequency, Hz.
        frequency_hz: f64,
    },
    /// One smooth pulse, (1 - cos) / 2.
    Pulse,
    /// Sines of rising frequency, one after the other, whole periods each.
    ContinuousSine,
    /// A sine whose frequency rises evenly from zero.
    Sweep,
    /// Band-limited noise, the same on every run.
    Random,
}

impl Score {
    /// Frequencies of the row of sines, Hz.
    pub const ROW_HZ: [f64; 9] = [0.2, 0.35, 0.5, 0.65, 0.8, 1.0, 1.2, 1.5, 2.0];

    /// Length of the pulse, s: its spectrum is still half of its largest at 2 Hz.
    pub const PULSE_S: f64 = 0.5;

    /// Length of the sweep, s.
    pub const SWEEP_S: f64 = 30.0;

    /// Frequency at the end of the sweep, Hz.
    pub const SWEEP_END_HZ: f64 = 2.4;

    /// Length of the random input, s.
    pub const RANDOM_S: f64 = 120.0;

    /// The last part of the sweep and both ends of the random input fade, s.
    const FADE_S: f64 = 2.0;

    /// Length, s.
    pub fn length_s(self) -> f64 {
        match self {
            Self::OnePeriodSine { frequency_hz } => 1.0 / frequency_hz,
            Self::Pulse => Self::PULSE_S,
            Self::ContinuousSine => Self::ROW_HZ.into_iter().map(|hz| periods(hz) / hz).sum(),
            Self::Sweep => Self::SWEEP_S,
            Self::Random => Self::RANDOM_S,
        }
    }

    /// Steering as a share of its size, -1 to 1 (random: at most 1.4, 0.4 by its mean square); 0 before and after.
    pub fn share(self, time_s: f64) -> f64 {
        let circle = 2.0 * core::f64::consts::PI;
        if time_s <= 0.0 || time_s >= self.length_s() {
            return 0.0;
        }
        match self {
            Self::OnePeriodSine { frequency_hz } => libm::sin(circle * frequency_hz * time_s),
            Self::Pulse => 0.5 - 0.5 * libm::cos(circle * time_s / Self::PULSE_S),
            Self::ContinuousSine => {
                let mut from_s = 0.0;
                for hz in Self::ROW_HZ {
                    let length_s = periods(hz) / hz;
                    if time_s < from_s + length_s {
                        return libm::sin(circle * hz * (time_s - from_s));
                    }
                    from_s += length_s;
                }
                0.0
            }
            Self::Random => {
                let nearer_end_s = time_s.min(Self::RANDOM_S - time_s);
                let left = (nearer_end_s / Self::FADE_S).clamp(0.0, 1.0);
                let fade = 0.5 - 0.5 * libm::cos(0.5 * circle * left);
                fade * noise(time_s)
            }
            Self::Sweep => {
                let rise_hz_s = Self::SWEEP_END_HZ / Self::SWEEP_S;
                let left = ((Self::SWEEP_S - time_s) / Self::FADE_S).clamp(0.0, 1.0);
                let fade = 0.5 - 0.5 * libm::cos(0.5 * circle * left);
                fade * libm::sin(0.5 * circle * rise_hz_s * time_s * time_s)
            }
        }
    }
}

/// Time between two drawn numbers, s: their sequence holds frequencies up to 2.5 Hz.
const DRAWN_EVERY_S: f64 = 0.2;

/// Drawn numbers to each side that the low pass counts.
const REACH: i64 = 8;

/// Size of a drawn number; evenly drawn ones have a mean square of a third of its square.
const DRAWN_SIZE: f64 = 0.7;

/// Band-limited noise: the drawn numbers joined by a sinc under a Hann window.
fn noise(time_s: f64) -> f64 {
    let place = time_s / DRAWN_EVERY_S;
    let nearest = libm::floor(place) as i64;
    let mut sum = 0.0;
    for index in nearest - REACH + 1..=nearest + REACH {
        let bits = mixed(mixed(index as u64).wrapping_add(1));
        // 53 bits fill the fraction of a double.
        let drawn = 2.0 * ((bits >> 11) as f64 / 9_007_199_254_740_992.0) - 1.0;
        let away = core::f64::consts::PI * (place - index as f64);
        let sinc = if away.abs() < 1e-9 {
            1.0
        } else {
            libm::sin(away) / away
        };
        let hann = 0.5 + 0.5 * libm::cos(away / REACH as f64);
        sum += DRAWN_SIZE * drawn * sinc * hann;
    }
    sum
}

/// Whole periods driven at a frequency of the row; one more at the last, so that its last measured one is seen to end.
fn periods(hz: f64) -> f64 {
    let last = Score::ROW_HZ[Score::ROW_HZ.len() - 1];
    let more = if hz == last { 1.0 } else { 0.0 };
    libm::ceil(SETTLE_S * hz - 0.1).max(1.0) + MEASURED_PERIODS + more
}

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle, score: Score) -> Setup {
    let course = &scenario.numbers.course;
    let start = Start {
        speed_m_s: course.speed_m_s,
        carrier_torque_nm: 200.0,
        ambient_degc: scenario.numbers.road.ambient_degc,
        ..Start::default()
    };
    let linear = Plant::new(*vehicle, scenario.layout, scenario.road(), start).single_track();
    let road_wheel_rad =
        course.lateral_acceleration_m_s2 / course.speed_m_s / linear.yaw_gain_1_s(course.speed_m_s);
    Setup {
        start,
        course: None,
        driver: Box::new(Playing {
            holder: SpeedHolder::starting_at(0.08),
            speed_m_s: course.speed_m_s,
            score,
            at_s: scenario.numbers.driver.action_s,
            size_rad: side(scenario) * road_wheel_rad * vehicle.steering.ratio,
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        found: Vec::new(),
        record_every: 1,
    }
}

struct Playing {
    holder: SpeedHolder,
    speed_m_s: f64,
    score: Score,
    at_s: f64,
    size_rad: f64,
}

impl Driver for Playing {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        Action {
            steering_wheel_rad: self.size_rad * self.score.share(view.time_s - self.at_s),
            pedal: self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s),
            brake: 0.0,
        }
    }
}
