//! Sine with dwell: reference angle A, times of steering, yaw rate left over, displacement, verdict.
//!
//! Input: one record. Source: GB/T 30677-2014, chapters 5 and 7 (read; a national counterpart of UN GTR No. 8), with
//! which UN R140 and 49 CFR 571.126 agree (from memory). Steering angle is filtered at 10 Hz, yaw rate and lateral
//! acceleration at 6 Hz, twelve poles without phase. The steering rate is the derivative of the filtered angle with a
//! running mean of 0.1 s; the first instant from which it stays above 75 deg/s for 200 ms ends the second that gives the
//! zeros. Steering begins (BOS) at the first 5 deg after that and is complete (COS) when the angle is back at zero. The
//! displacement is the double integral of lateral acceleration from BOS, not the offset of a path. Limits: lateral
//! acceleration must be that of the centre of gravity without roll, as records of this bench have it; a recorded drive
//! has to be corrected before. A value the record does not reach is missing, and a missing value never passes.

use super::phaseless::{at, centred_mean, derivative, integral, low_pass, rises_through};
use super::series::largest_size;
use super::{Metric, degrees};
use crate::record::Record;

/// Largest yaw rate left 1.000 s after completion of steer, % of its peak.
pub const MOST_AFTER_1_S_PERCENT: f64 = 35.0;
/// Largest yaw rate left 1.750 s after completion of steer, % of its peak.
pub const MOST_AFTER_1_75_S_PERCENT: f64 = 20.0;
/// Time after the beginning of steer at which the displacement counts, s.
pub const DISPLACEMENT_S: f64 = 1.07;
/// Amplitude from which displacement is judged, multiples of A.
pub const RESPONSIVE_FROM_A: f64 = 5.0;

const STEERING_HZ: f64 = 10.0;
const MOTION_HZ: f64 = 6.0;
const RATE_MEAN_S: f64 = 0.1;
const STEERING_RATE_DEG_S: f64 = 75.0;
const HELD_S: f64 = 0.2;
const ZEROING_S: f64 = 1.0;
const BEGIN_DEG: f64 = 5.0;
/// 0.3 g, m/s2, as in UN R140 and 49 CFR 571.126 (from memory); GB/T 30677 has 3.0.
const REFERENCE_M_S2: f64 = 0.3 * 9.806_65;
/// Lateral accelerations of the straight line through a slow turn of the steering wheel, m/s2: 0.1 to 0.375 g, as common
/// test procedures have it (from memory).
const LINE_M_S2: (f64, f64) = (0.1 * 9.806_65, 0.375 * 9.806_65);

/// Least displacement, m, of a car of that mass: 1.83 up to 3500 kg, 1.52 above.
pub fn least_displacement_m(mass_kg: f64) -> f64 {
    if mass_kg <= 3500.0 { 1.83 } else { 1.52 }
}

/// What one run gave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DwellRun {
    /// Beginning of steer, s after the record began.
    pub begins_s: f64,
    /// Completion of steer, s after the record began.
    pub completes_s: f64,
    /// First yaw rate peak after the steering angle changed sign, deg/s, positive to the left.
    pub peak_deg_s: f64,
    /// Yaw rate 1.000 s after completion of steer, % of the peak, with its sign.
    pub after_1_s_percent: Option<f64>,
    /// Yaw rate 1.750 s after completion of steer, % of the peak, with its sign.
    pub after_1_75_s_percent: Option<f64>,
    /// Lateral displacement 1.07 s after the beginning of steer, m, positive to the side steered first.
    pub displacement_m: Option<f64>,
}

/// What the limits say of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Verdict {
    /// Both yaw rates left over are within their limits.
    pub stable: bool,
    /// The displacement is large enough; `None` below 5 A, where nobody asks.
    pub responsive: Option<bool>,
}

impl Verdict {
    /// Whether the run passed.
    pub fn passed(self) -> bool {
        self.stable && self.responsive != Some(false)
    }
}

impl DwellRun {
    /// The run in a record; `None` where no sine with dwell can be found.
    pub fn of(record: &Record) -> Option<Self> {
        let period_s = record.period_s;
        let mut steering = filtered(record, "steering_wheel_angle", STEERING_HZ)?;
        let mut yaw = filtered(record, "yaw_rate", MOTION_HZ)?;
        steering.iter_mut().for_each(|v| *v = v.to_degrees());
        yaw.iter_mut().for_each(|v| *v = v.to_degrees());
        let mut lateral = filtered(record, "lateral_acceleration", MOTION_HZ)?;

        let rate = centred_mean(&derivative(&steering, period_s), period_s, RATE_MEAN_S);
        let starts = first_held(&rate, libm::round(HELD_S / period_s) as usize)?;
        let window = libm::round(ZEROING_S / period_s) as usize;
        for signal in [&mut steering, &mut yaw, &mut lateral] {
            zero(signal, starts.saturating_sub(window), starts);
        }

        // Everything below is seen as if the first half of the sine went to the left.
        let begun = (starts..steering.len()).find(|index| steering[*index].abs() >= BEGIN_DEG)?;
        let side = if steering[begun] > 0.0 { 1.0 } else { -1.0 };
        for signal in [&mut steering, &mut yaw, &mut lateral] {
            signal.iter_mut().for_each(|value| *value *= side);
        }
        let begins_s = rises_through(&steering, period_s, BEGIN_DEG, starts.max(1))?;
        let opposite: Vec<f64> = steering.iter().map(|value| -value).collect();
        let reverses_s = rises_through(&opposite, period_s, 0.0, begun)?;
        let completes_s = rises_through(&steering, period_s, 0.0, next(reverses_s, period_s))?;
        let peak = reversed_peak(&yaw, period_s, reverses_s, completes_s)?;
        let left_over =
            |after_s: f64| Some(100.0 * at(&yaw, period_s, completes_s + after_s)? / peak);
        Some(Self {
            begins_s,
            completes_s,
            peak_deg_s: side * peak,
            after_1_s_percent: left_over(1.0),
            after_1_75_s_percent: left_over(1.75),
            displacement_m: displacement_m(&lateral, period_s, begins_s),
        })
    }

    /// Larger of both yaw rates left over their limits: at most 1 is stable.
    pub fn limit_used(&self) -> Option<f64> {
        let one = self.after_1_s_percent?.abs() / MOST_AFTER_1_S_PERCENT;
        let other = self.after_1_75_s_percent?.abs() / MOST_AFTER_1_75_S_PERCENT;
        // Written so that a value that is not a number stays.
        Some(if one > other { one } else { other })
    }

    /// What the limits say, for an amplitude in multiples of A and a car of that mass.
    pub fn verdict(&self, amplitude_a: f64, mass_kg: f64) -> Verdict {
        let within =
            |percent: Option<f64>, most: f64| percent.is_some_and(|value| value.abs() <= most);
        // Half a thousandth of A: an amplitude of five times A may come out as 4.9999 times.
        let asked = amplitude_a > RESPONSIVE_FROM_A - 5e-4;
        Verdict {
            stable: within(self.after_1_s_percent, MOST_AFTER_1_S_PERCENT)
                && within(self.after_1_75_s_percent, MOST_AFTER_1_75_S_PERCENT),
            responsive: asked.then(|| {
                self.displacement_m
                    .is_some_and(|value| value >= least_displacement_m(mass_kg))
            }),
        }
    }
}

/// Values of one run of a sine with dwell.
pub fn sine_with_dwell(record: &Record) -> Vec<Metric> {
    let run = DwellRun::of(record);
    let size = |name| largest_size(record, name, 0.0, f64::INFINITY);
    let speed = run.and_then(|run| {
        let column: Vec<f64> = record
            .column("speed")?
            .iter()
            .map(|v| f64::from(*v))
            .collect();
        at(&column, record.period_s, run.begins_s)
    });
    vec![
        Metric::new(
            "steering-wheel angle, largest",
            "deg",
            degrees(size("steering_wheel_angle")),
        ),
        Metric::new("speed at the beginning of steer", "m/s", speed),
        Metric::new(
            "yaw rate peak after reversal",
            "deg/s",
            run.map(|run| run.peak_deg_s.abs()),
        ),
        Metric::new(
            "yaw rate left 1 s after steering",
            "%",
            run.and_then(|run| run.after_1_s_percent).map(f64::abs),
        ),
        Metric::new(
            "yaw rate left 1.75 s after steering",
            "%",
            run.and_then(|run| run.after_1_75_s_percent).map(f64::abs),
        ),
        Metric::new(
            "yaw rate left over its limit, larger",
            "-",
            run.and_then(|run| run.limit_used()),
        ),
        Metric::new(
            "lateral displacement after 1.07 s",
            "m",
            run.and_then(|run| run.displacement_m),
        ),
        Metric::new("sideslip, largest", "deg", degrees(size("sideslip"))),
    ]
}

/// Steering-wheel angle at 0.3 g from a slow turn of the steering wheel, deg, rounded to 0.1, positive: the regression line
/// of angle over lateral acceleration.
pub fn reference_angle_deg(record: &Record) -> Option<f64> {
    let steering = filtered(record, "steering_wheel_angle", STEERING_HZ)?;
    let lateral = filtered(record, "lateral_acceleration", MOTION_HZ)?;
    // The line ends where its upper bound is first reached: what a car does beyond may come back through the window.
    let end = lateral
        .iter()
        .position(|value| value.abs() > LINE_M_S2.1)
        .unwrap_or(lateral.len());
    let points: Vec<(f64, f64)> = lateral
        .iter()
        .zip(&steering)
        .take(end)
        .filter(|(lateral, _)| lateral.abs() >= LINE_M_S2.0)
        .map(|(lateral, angle)| (lateral.abs(), angle.to_degrees().abs()))
        .collect();
    let slope = super::series::slope(&points)?;
    let count = points.len() as f64;
    let (sum_x, sum_y) = points
        .iter()
        .fold((0.0, 0.0), |(x, y), point| (x + point.0, y + point.1));
    Some(to_a_tenth(
        sum_y / count + slope * (REFERENCE_M_S2 - sum_x / count),
    ))
}

/// A, deg: mean of the reference angles, rounded to 0.1.
pub fn mean_reference_angle_deg(angles_deg: &[f64]) -> Option<f64> {
    let sum: f64 = angles_deg.iter().map(|angle| angle.abs()).sum();
    (!angles_deg.is_empty()).then(|| to_a_tenth(sum / angles_deg.len() as f64))
}

fn to_a_tenth(value: f64) -> f64 {
    libm::round(10.0 * value) / 10.0
}

fn filtered(record: &Record, name: &str, cut_off_hz: f64) -> Option<Vec<f64>> {
    let samples: Vec<f64> = record.column(name)?.iter().map(|v| f64::from(*v)).collect();
    Some(low_pass(&samples, record.period_s, cut_off_hz))
}

/// First sample from which the rate stays above its limit, to one side, for so many samples.
fn first_held(rate: &[f64], samples: usize) -> Option<usize> {
    let mut run = 0;
    let mut side = 0.0;
    for (index, value) in rate.iter().enumerate() {
        let above = value.abs() > STEERING_RATE_DEG_S;
        run = match (above, value * side > 0.0) {
            (false, _) => 0,
            (true, true) => run + 1,
            (true, false) => 1,
        };
        side = *value;
        if run > samples {
            return Some(index - samples);
        }
    }
    None
}

/// Takes the mean of a window away from the whole signal.
fn zero(signal: &mut [f64], from: usize, to: usize) {
    if to > from {
        let mean = signal[from..to].iter().sum::<f64>() / (to - from) as f64;
        signal.iter_mut().for_each(|value| *value -= mean);
    }
}

/// First sample after a time.
fn next(time_s: f64, period_s: f64) -> usize {
    libm::floor(time_s / period_s) as usize + 1
}

/// First peak to the other side after the steering angle changed sign. A car that only turns faster and faster until the
/// steering is complete has no peak: its largest yaw rate so far counts, of which it has then lost nothing.
fn reversed_peak(yaw: &[f64], period_s: f64, reverses_s: f64, completes_s: f64) -> Option<f64> {
    let first = next(reverses_s, period_s).max(1);
    let last = next(completes_s, period_s).min(yaw.len().saturating_sub(1));
    let peak = (first..last).find(|index| {
        yaw[*index] < 0.0 && yaw[*index] <= yaw[index - 1] && yaw[*index] < yaw[index + 1]
    });
    match peak {
        Some(index) => Some(yaw[index]),
        None => yaw
            .get(first..=last)?
            .iter()
            .copied()
            .reduce(f64::min)
            .filter(|value| *value < 0.0),
    }
}

fn displacement_m(lateral: &[f64], period_s: f64, begins_s: f64) -> Option<f64> {
    let mut samples = vec![(begins_s, at(lateral, period_s, begins_s)?)];
    let end_s = begins_s + DISPLACEMENT_S;
    let first = next(begins_s, period_s);
    samples.extend(
        lateral
            .iter()
            .enumerate()
            .skip(first)
            .map(|(index, value)| (index as f64 * period_s, *value))
            .take_while(|(time_s, _)| *time_s < end_s),
    );
    samples.push((end_s, at(lateral, period_s, end_s)?));
    integral(&integral(&samples))
        .last()
        .map(|(_, value)| *value)
}
