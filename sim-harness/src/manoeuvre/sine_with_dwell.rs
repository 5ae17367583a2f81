//! Sine with dwell, by the procedure of GB/T 30677-2014 (UN R140, 49 CFR 571.126).
//!
//! First the reference angle A: at 80 km/h the steering wheel is turned by 13.5 deg/s, three times to each side, on a dry
//! road whatever the road of the run: A belongs to the car. Every car has its own A, found with the axle and control
//! under test, as the standard has it; the metrics also give degrees, so that cars with different A can be compared. Then,
//! coasting in high gear, one period of 0.7 Hz with 500 ms of dwell at the second peak begins at 80 km/h. With
//! `amplitude_a` above zero one run of that amplitude is driven. With zero the whole series is driven beforehand, both
//! sides, until the first run that fails, and the run recorded is the largest amplitude up to which all runs passed, so
//! that the record can be looked at. Every run starts anew with its own car: tyres and clutches have no memory to cool
//! between runs, and the clutches begin warm. Runs differ by the sign of the steering, not by a mirror, so that sensor
//! noise falls differently on the two sides.

use super::dwell_input::{amplitudes_deg, shape};
use super::{Goal, Setup, side};
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::metrics::Metric;
use crate::metrics::dwell::{DwellRun, mean_reference_angle_deg, reference_angle_deg};
use crate::plant::{Start, Vehicle};
use crate::run::closed_loop;
use crate::run::law::Rule;
use crate::scenario::Scenario;

/// Steering rate of the slow turn, deg/s at the steering wheel.
const SLOW_RATE_DEG_S: f64 = 13.5;
/// Runs of the slow turn to each side.
const SLOW_RUNS: u64 = 3;
/// Longest slow turn, s: 81 deg at the steering wheel, enough for 0.375 g with any A up to 60 deg.
const SLOW_LONGEST_S: f64 = 6.0;
/// Friction of the road on which A is found; the standard asks for at least 0.9.
const DRY: f64 = 0.95;
/// Time from the release of the accelerator to the beginning of steer, s.
const COASTING_S: f64 = 1.5;
/// Time the car rolls straight before the record, s.
const LEAD_S: f64 = 2.0;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle, rule: Rule<'_>) -> Setup {
    let Some(reference_deg) = reference(scenario, vehicle, rule) else {
        // A car that never reaches 0.3 g has no A; it drives on straight, and every value is missing.
        return setup(scenario, vehicle, Input::dwell(scenario, 0.0, 1.0));
    };
    let first = first_side(scenario);
    let single = scenario.numbers.driver.amplitude_a;
    let (amplitude_deg, passed_deg) = if single > 0.0 {
        (single * reference_deg, None)
    } else {
        let passed = largest_passed(scenario, vehicle, rule, reference_deg);
        let amplitudes = amplitudes_deg(reference_deg);
        let driven = passed.or(amplitudes.first().copied());
        (driven.unwrap_or(0.0), Some(passed))
    };
    let mut found = vec![
        Metric::new("reference angle A", "deg", Some(reference_deg)),
        Metric::new("amplitude", "A", Some(amplitude_deg / reference_deg)),
    ];
    if let Some(passed) = passed_deg {
        let in_a = passed.map(|amplitude| amplitude / reference_deg);
        found.push(Metric::new("largest amplitude passed", "A", in_a));
        found.push(Metric::new("largest angle passed", "deg", passed));
    }
    Setup {
        found,
        ..setup(
            scenario,
            vehicle,
            Input::dwell(scenario, amplitude_deg, first),
        )
    }
}

/// A of this car with this axle and control, deg.
pub fn reference<'a>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: impl Into<Rule<'a>>,
) -> Option<f64> {
    let rule = rule.into();
    let mut slow = scenario.clone();
    slow.numbers.road.friction_left = DRY;
    slow.numbers.road.friction_right = DRY;
    slow.numbers.course.longest_s = SLOW_LONGEST_S;
    let mut angles = Vec::new();
    for run in 0..SLOW_RUNS {
        // Absolute indices: the noise of a run does not depend on which runs came before.
        slow.seed = scenario.seed.wrapping_mul(SLOW_RUNS).wrapping_add(run);
        for sign in [1.0, -1.0] {
            let (record, _) = closed_loop::drive(
                &slow,
                vehicle,
                rule,
                setup(&slow, vehicle, Input::Slow { sign }),
            );
            angles.push(reference_angle_deg(&record)?);
        }
    }
    mean_reference_angle_deg(&angles)
}

/// Largest amplitude, deg, up to which all runs to both sides passed.
fn largest_passed(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'_>,
    reference_deg: f64,
) -> Option<f64> {
    let passes = |amplitude_deg: f64, sign: f64| {
        let input = Input::dwell(scenario, amplitude_deg, sign);
        let (record, _) =
            closed_loop::drive(scenario, vehicle, rule, setup(scenario, vehicle, input));
        DwellRun::of(&record).is_some_and(|run| {
            run.verdict(amplitude_deg / reference_deg, vehicle.body.mass_kg)
                .passed()
        })
    };
    let mut passed = None;
    for amplitude_deg in amplitudes_deg(reference_deg) {
        if !(passes(amplitude_deg, 1.0) && passes(amplitude_deg, -1.0)) {
            break;
        }
        passed = Some(amplitude_deg);
    }
    passed
}

fn first_side(scenario: &Scenario) -> f64 {
    if scenario.numbers.driver.first_side < 0.0 {
        -1.0
    } else {
        1.0
    }
}

fn setup(scenario: &Scenario, vehicle: &Vehicle, input: Input) -> Setup {
    let numbers = &scenario.numbers;
    let aim_m_s = numbers.course.speed_m_s;
    let (speed_m_s, release_s) = match input {
        Input::Slow { .. } => (aim_m_s, f64::INFINITY),
        Input::Dwell { at_s, .. } => {
            let share = numbers.driver.gear_drag_share;
            let lost_m_s = COASTING_S * coasting_m_s2(vehicle, share, aim_m_s);
            (aim_m_s + lost_m_s, at_s - COASTING_S)
        }
    };
    Setup {
        start: Start {
            speed_m_s,
            carrier_torque_nm: 130.0,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        },
        course: None,
        driver: Box::new(Dwelling {
            holder: SpeedHolder::starting_at(0.08),
            foot: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: numbers.driver.pedal_fall_s,
                pedal: 0.0,
            },
            speed_m_s,
            release_s,
            input,
            side: side(scenario),
        }),
        lead_s: LEAD_S,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

/// Deceleration straight ahead with the accelerator released, m/s2, without the inertia of turning parts: good to a few
/// per cent, that is hundredths of a metre per second over the time before the steering begins.
fn coasting_m_s2(vehicle: &Vehicle, gear_drag_share: f64, speed_m_s: f64) -> f64 {
    let body = &vehicle.body;
    let drag_n = gear_drag_share * vehicle.powertrain.drag_torque_nm / vehicle.tyre_front.radius_m;
    let air_n = 0.5 * body.air_density_kg_m3 * body.drag_area_m2 * speed_m_s * speed_m_s;
    (drag_n + air_n) / body.mass_kg + 9.81 * body.rolling_resistance
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Input {
    Slow { sign: f64 },
    Dwell { at_s: f64, amplitude_rad: f64 },
}

impl Input {
    fn dwell(scenario: &Scenario, amplitude_deg: f64, sign: f64) -> Self {
        Self::Dwell {
            at_s: scenario.numbers.driver.action_s,
            amplitude_rad: sign * amplitude_deg.to_radians(),
        }
    }

    fn angle_rad(self, time_s: f64) -> f64 {
        match self {
            Self::Slow { sign } => sign * (SLOW_RATE_DEG_S * time_s.max(0.0)).to_radians(),
            Self::Dwell {
                at_s,
                amplitude_rad,
            } => amplitude_rad * shape(time_s - at_s),
        }
    }
}

struct Dwelling {
    holder: SpeedHolder,
    foot: Foot,
    speed_m_s: f64,
    release_s: f64,
    input: Input,
    side: f64,
}

impl Driver for Dwelling {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let pedal = if view.time_s < self.release_s {
            self.foot.pedal = self
                .holder
                .pedal(view.car.speed_m_s, self.speed_m_s, period_s);
            self.foot.pedal
        } else {
            self.foot.towards(0.0, period_s)
        };
        Action {
            steering_wheel_rad: self.side * self.input.angle_rad(view.time_s),
            pedal,
            brake: 0.0,
        }
    }
}
