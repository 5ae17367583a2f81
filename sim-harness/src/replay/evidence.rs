//! The same turning seen four ways: gyro, wheel speeds, lateral acceleration over speed, steering through a linear car.
//!
//! In: what the law is told, step by step, and the car's sizes. Out: series at the law's rate, smoothed alike in both directions (no
//! lag), and how two of them compare. Limits: a linear single-track car on steady tyres knows neither the limit of grip nor
//! what the clutches do; samples with much slip, hard braking or cornering near the limit are left out of comparisons of size.

use crate::plant::road::{Road, Surface};
use crate::plant::single_track::SingleTrack;
use crate::plant::{AxleLayout, Plant, Start, Vehicle};
use couplet_controller::signal::Status;
use couplet_controller::{Inputs, Reading};

/// Time constant of the smoothing, s.
const SMOOTHING_S: f64 = 0.05;
/// Speed below which wheels and accelerations tell little, m/s.
const LEAST_SPEED_M_S: f64 = 4.0;
/// Farthest lag looked for, s.
pub const FARTHEST_S: f64 = 0.3;

/// Sizes of the car that the comparison needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Car {
    single_track: SingleTrack,
    radius_m: (f64, f64),
    track_m: (f64, f64),
    steering_ratio: f64,
}

impl Car {
    /// Rolling radius of the front and of the rear wheels, m.
    pub fn radius_m(&self) -> (f64, f64) {
        self.radius_m
    }

    /// The sizes of a vehicle file.
    pub fn of(vehicle: &Vehicle) -> Self {
        let road = Road {
            surface: Surface::Uniform { friction: 1.0 },
            grade_slope: 0.0,
            bank_slope: 0.0,
        };
        let plant = Plant::new(*vehicle, AxleLayout::FrontDrive, road, Start::default());
        Self {
            single_track: plant.single_track(),
            radius_m: (vehicle.tyre_front.radius_m, vehicle.tyre_rear.radius_m),
            track_m: (vehicle.body.track_front_m, vehicle.body.track_rear_m),
            steering_ratio: vehicle.steering.ratio,
        }
    }
}

/// Signals of a recording in the law's units, one value a step; nothing where a signal is not there for most of the time.
#[derive(Debug, Clone, PartialEq)]
pub struct Signals {
    /// Period, s.
    pub period_s: f64,
    /// Front left, front right, rear left, rear right, rad/s.
    pub wheels_rad_s: Option<[Vec<f64>; 4]>,
    /// Yaw rate, rad/s.
    pub yaw_rad_s: Option<Vec<f64>>,
    /// Lateral acceleration, m/s2.
    pub lateral_m_s2: Option<Vec<f64>>,
    /// Longitudinal acceleration, m/s2.
    pub longitudinal_m_s2: Option<Vec<f64>>,
    /// Steering-wheel angle, rad.
    pub steering_rad: Option<Vec<f64>>,
    /// Pressure of the brakes, bar.
    pub brake_bar: Option<Vec<f64>>,
    /// Pressures of the left and the right clutch, bar.
    pub clutch_bar: Option<(Vec<f64>, Vec<f64>)>,
}

impl Signals {
    /// The signals among what the law is told.
    pub fn of(told: &[Inputs], period_s: f64) -> Self {
        let one = |read: fn(&Inputs) -> Reading| held(told.iter().map(read));
        let wheels = [
            one(|inputs| inputs.wheel_speed_front_left),
            one(|inputs| inputs.wheel_speed_front_right),
            one(|inputs| inputs.wheel_speed_rear_left),
            one(|inputs| inputs.wheel_speed_rear_right),
        ];
        let smooth = |series: Option<Vec<f64>>| series.map(|series| smoothed(&series, period_s));
        let wheels = wheels.map(smooth);
        Self {
            period_s,
            wheels_rad_s: match wheels {
                [Some(one), Some(two), Some(three), Some(four)] => Some([one, two, three, four]),
                _ => None,
            },
            yaw_rad_s: smooth(one(|inputs| inputs.yaw_rate)),
            lateral_m_s2: smooth(one(|inputs| inputs.lateral_acceleration)),
            longitudinal_m_s2: smooth(one(|inputs| inputs.longitudinal_acceleration)),
            steering_rad: smooth(one(|inputs| inputs.steering_wheel_angle)),
            brake_bar: smooth(one(|inputs| inputs.brake_pressure)),
            clutch_bar: smooth(one(|inputs| inputs.clutch_pressure_left))
                .zip(smooth(one(|inputs| inputs.clutch_pressure_right))),
        }
    }
}

/// A series without gaps, if two thirds of it are there.
fn held(readings: impl ExactSizeIterator<Item = Reading>) -> Option<Vec<f64>> {
    let count = readings.len();
    let (mut last, mut there) = (0.0, 0);
    let series: Vec<f64> = readings
        .map(|reading| {
            if reading.status == Status::VALID && reading.value.is_finite() {
                last = f64::from(reading.value);
                there += 1;
            }
            last
        })
        .collect();
    (3 * there >= 2 * count && count > 0).then_some(series)
}

/// First-order smoothing forth and back.
fn smoothed(series: &[f64], period_s: f64) -> Vec<f64> {
    let share = (period_s / SMOOTHING_S).min(1.0);
    let pass = |values: &mut dyn Iterator<Item = f64>| -> Vec<f64> {
        let mut state = None;
        values
            .map(|value| {
                let before = state.unwrap_or(value);
                let now = before + share * (value - before);
                state = Some(now);
                now
            })
            .collect()
    };
    let forth = pass(&mut series.iter().copied());
    let mut back = pass(&mut forth.iter().rev().copied());
    back.reverse();
    back
}

/// Turning as each signal sees it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Views {
    /// Speed from all wheels, m/s; empty without wheels.
    pub speed_m_s: Vec<f64>,
    /// Gyro, rad/s.
    pub gyro: Option<Vec<f64>>,
    /// Difference of the front wheels over the track, rad/s.
    pub front: Option<Vec<f64>>,
    /// Difference of the rear wheels over the track, rad/s.
    pub rear: Option<Vec<f64>>,
    /// Lateral acceleration over speed, rad/s.
    pub lateral: Option<Vec<f64>>,
    /// The linear car's yaw rate to the steering, rad/s.
    pub steered: Option<Vec<f64>>,
    /// The linear car's lateral acceleration over speed, rad/s.
    pub steered_lateral: Option<Vec<f64>>,
    /// Longitudinal acceleration, m/s2.
    pub pushed: Option<Vec<f64>>,
    /// Change of the wheels' speed, m/s2.
    pub gained: Option<Vec<f64>>,
    /// Steps in which the wheels roll and the car is far from its limits.
    pub calm: Vec<bool>,
    /// Steps in which the car moves and the wheels roll.
    pub rolling: Vec<bool>,
}

impl Views {
    /// The views of these signals.
    pub fn of(signals: &Signals, car: &Car) -> Self {
        let Some(wheels) = &signals.wheels_rad_s else {
            return Self::default();
        };
        let count = wheels[0].len();
        let radius = [
            car.radius_m.0,
            car.radius_m.0,
            car.radius_m.1,
            car.radius_m.1,
        ];
        let tread = |wheel: usize, step: usize| wheels[wheel][step] * radius[wheel];
        let steps = || 0..count;
        let speed_m_s: Vec<f64> = steps()
            .map(|step| 0.25 * (0..4).map(|wheel| tread(wheel, step)).sum::<f64>())
            .collect();
        let pair = |left: usize, right: usize, track_m: f64| -> Vec<f64> {
            steps()
                .map(|step| (tread(right, step) - tread(left, step)) / track_m)
                .collect()
        };
        let rolling: Vec<bool> = steps()
            .map(|step| {
                let front = 0.5 * (tread(0, step) + tread(1, step));
                let rear = 0.5 * (tread(2, step) + tread(3, step));
                speed_m_s[step] > LEAST_SPEED_M_S && (front - rear).abs() < 0.05 * speed_m_s[step]
            })
            .collect();
        let small = |series: &Option<Vec<f64>>, step: usize, most: f64| {
            series
                .as_ref()
                .is_none_or(|series| series[step].abs() < most)
        };
        let calm = steps()
            .map(|step| {
                rolling[step]
                    && small(&signals.longitudinal_m_s2, step, 1.5)
                    && small(&signals.lateral_m_s2, step, 6.0)
            })
            .collect();
        let over_speed = |series: &[f64]| -> Vec<f64> {
            series
                .iter()
                .zip(&speed_m_s)
                .map(|(value, speed)| value / speed.max(3.0))
                .collect()
        };
        let steered = signals
            .steering_rad
            .as_ref()
            .map(|steering| linear_car(car, steering, &speed_m_s, signals.period_s));
        let gained = steps().map(|step| {
            let (before, after) = (step.saturating_sub(1), (step + 1).min(count - 1));
            let time_s = (after - before).max(1) as f64 * signals.period_s;
            (speed_m_s[after] - speed_m_s[before]) / time_s
        });
        Self {
            gyro: signals.yaw_rad_s.clone(),
            front: Some(pair(0, 1, car.track_m.0)),
            rear: Some(pair(2, 3, car.track_m.1)),
            lateral: signals.lateral_m_s2.as_deref().map(over_speed),
            steered_lateral: steered.as_ref().map(|(_, lateral)| over_speed(lateral)),
            steered: steered.map(|(yaw, _)| yaw),
            pushed: signals.longitudinal_m_s2.clone(),
            gained: Some(gained.collect()),
            calm,
            rolling,
            speed_m_s,
        }
    }
}

/// Yaw rate and lateral acceleration of the linear car to a steering-wheel angle at a changing speed.
fn linear_car(
    car: &Car,
    steering_rad: &[f64],
    speed_m_s: &[f64],
    period_s: f64,
) -> (Vec<f64>, Vec<f64>) {
    let track = &car.single_track;
    let (mut yaw, mut across) = (0.0, 0.0);
    let mut seen = (Vec::new(), Vec::new());
    for (steering, speed) in steering_rad.iter().zip(speed_m_s) {
        let wheel_rad = steering / car.steering_ratio;
        let acceleration;
        if *speed < 3.0 {
            yaw = speed * wheel_rad / track.wheelbase_m();
            across = yaw * track.rear_m;
            acceleration = speed * yaw;
        } else {
            let front_n =
                track.front_stiffness_n_rad * (wheel_rad - (across + track.front_m * yaw) / speed);
            let rear_n = -track.rear_stiffness_n_rad * (across - track.rear_m * yaw) / speed;
            acceleration = (front_n + rear_n) / track.mass_kg;
            across += period_s * (acceleration - speed * yaw);
            yaw += period_s * (track.front_m * front_n - track.rear_m * rear_n)
                / track.yaw_inertia_kg_m2;
        }
        seen.0.push(yaw);
        seen.1.push(acceleration);
    }
    seen
}

/// How two series compare through the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Match {
    /// Correlation about zero, -1 to 1.
    pub agreement: f64,
    /// Size of the second over that of the first.
    pub ratio: f64,
    /// The larger of both sizes, root mean square.
    pub size: f64,
    /// The smaller of both.
    pub smaller: f64,
}

/// Fewest steps a comparison needs, s.
const LEAST_S: f64 = 1.0;

/// Compares the sizes of two series in the chosen steps; nothing if there are too few.
pub fn matched(one: &[f64], other: &[f64], chosen: &[bool], period_s: f64) -> Option<Match> {
    let (mut both, mut first, mut second, mut count) = (0.0, 0.0, 0.0, 0_usize);
    for ((one, other), _) in one
        .iter()
        .zip(other)
        .zip(chosen)
        .filter(|(_, chosen)| **chosen)
    {
        both += one * other;
        first += one * one;
        second += other * other;
        count += 1;
    }
    if (count as f64) * period_s < LEAST_S || !(first > 0.0 && second > 0.0) {
        return None;
    }
    Some(Match {
        agreement: both / libm::sqrt(first * second),
        ratio: libm::sqrt(second / first),
        size: libm::sqrt(first.max(second) / count as f64),
        smaller: libm::sqrt(first.min(second) / count as f64),
    })
}

/// How much later the second series is than the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    /// The lag, s, positive if the second comes later.
    pub lag_s: f64,
    /// Correlation about the means at this lag.
    pub correlation: f64,
}

/// Least correlation that tells a lag.
const TELLING: f64 = 0.97;
/// How much lower the correlation must be a tenth of a second aside: a slow movement tells no lag.
const SHARPNESS: f64 = 0.006;
/// Least movement of both series, rad/s.
const LEAST_MOVEMENT: f64 = 0.015;

/// The lag of two series in the chosen steps; nothing where they do not tell one.
pub fn lag(one: &[f64], other: &[f64], chosen: &[bool], period_s: f64) -> Option<Lag> {
    let farthest = libm::round(FARTHEST_S / period_s) as isize;
    let aside = libm::round(0.1 / period_s) as isize;
    let at = |shift: isize| correlation(one, other, chosen, shift);
    let all: Vec<f64> = (-farthest..=farthest).map(at).collect();
    let mut best = 0;
    for (index, value) in all.iter().enumerate() {
        if value > &all[best] {
            best = index;
        }
    }
    let shift = best as isize - farthest;
    let peak = all[best];
    let beside = |by: isize| {
        let index = best as isize + by;
        usize::try_from(index)
            .ok()
            .and_then(|index| all.get(index).copied())
    };
    // A peak at the end of the search is none.
    let sharp = [beside(-aside), beside(aside)]
        .into_iter()
        .all(|value| value.is_some_and(|value| peak - value > SHARPNESS));
    (peak >= TELLING && sharp).then_some(Lag {
        lag_s: shift as f64 * period_s,
        correlation: peak,
    })
}

/// Correlation about the means of one series and another read `shift` steps later.
fn correlation(one: &[f64], other: &[f64], chosen: &[bool], shift: isize) -> f64 {
    let count = one.len() as isize;
    let (mut n, mut x, mut y, mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for step in 0.max(-shift)..count.min(count - shift) {
        let (here, there) = (step as usize, (step + shift) as usize);
        if !(chosen[here] && chosen[there]) {
            continue;
        }
        let (first, second) = (one[here], other[there]);
        n += 1.0;
        x += first;
        y += second;
        xx += first * first;
        yy += second * second;
        xy += first * second;
    }
    if n < 100.0 {
        return 0.0;
    }
    let (first, second) = (xx / n - x * x / (n * n), yy / n - y * y / (n * n));
    let least = LEAST_MOVEMENT * LEAST_MOVEMENT;
    if !(first > least && second > least) {
        return 0.0;
    }
    (xy / n - x * y / (n * n)) / libm::sqrt(first * second)
}
