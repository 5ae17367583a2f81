//! Frequency response of yaw rate and lateral acceleration to the steering-wheel angle, 0.2 to 2 Hz.
//!
//! Two of three ways from a record to a response, in the manner of ISO 7401 (the third is in `random`):
//! - [`from_rest_to_rest`] (pulse, sweep, anything that begins and ends straight ahead): cross spectrum over input
//!   spectrum, S_xy / S_xx, both summed over a narrow band. For a linear car at rest before and after, the ratio of the
//!   Fourier integrals is exact at every frequency; the band averages noise out, and the coherence |S_xy|^2 / (S_xx S_yy)
//!   tells what noise and curved characteristics left.
//! - [`by_periods`] (continuous sine): whole periods of the steering are found in the record, those of equal length belong
//!   together, the first 2 s of each frequency are left out while the car settles, and the Fourier sums over the rest are
//!   taken at exactly that frequency.
//!
//! Values (from memory of ISO 7401:2011): gain and phase; equivalent time, 1 / omega where the yaw rate lags by 45 deg;
//! resonance frequency and ratio, the largest yaw gain over the steady one. The steady gain is the squared gain, a function
//! of the squared frequency, continued from 0.2, 0.3 and 0.4 Hz to zero. Phase is negative for lag. Limits: a steering that
//! a control holds for 5 ms and a record that samples it at the end of each hold, as in the closed loop, show it 2.5 ms
//! late: all lags are too small by that, 0.9 deg per Hz.

use super::Metric;
use super::curve::Curve;
use super::random::by_segments;
use crate::record::Record;

/// Half-width of the band and points in it.
const BAND_HZ: f64 = 0.02;
const BAND_POINTS: usize = 5;

/// Lowest and highest frequency and grid of the rest-to-rest method, Hz.
pub(super) const LOWEST_HZ: f64 = 0.2;
pub(super) const HIGHEST_HZ: f64 = 2.0;
pub(super) const GRID_HZ: f64 = 0.05;

/// Settling time at every frequency of a continuous sine, s.
const SETTLE_S: f64 = 2.0;

/// Time at the start of a record whose mean is the sensors' zero, s.
const ZERO_S: f64 = 0.5;

/// A complex number: real and imaginary part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Complex(pub f64, pub f64);

impl Complex {
    /// Its size.
    pub fn size(self) -> f64 {
        libm::hypot(self.0, self.1)
    }

    /// Its angle, deg, -180 to 180.
    pub fn angle_deg(self) -> f64 {
        libm::atan2(self.1, self.0).to_degrees()
    }

    pub(super) fn times(self, other: Self) -> Self {
        Self(
            self.0 * other.0 - self.1 * other.1,
            self.0 * other.1 + self.1 * other.0,
        )
    }

    pub(super) fn conjugate(self) -> Self {
        Self(self.0, -self.1)
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self(self.0 + other.0, self.1 + other.1)
    }

    pub(super) fn scaled(self, factor: f64) -> Self {
        Self(self.0 * factor, self.1 * factor)
    }
}

/// The response at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Output over input.
    pub value: Complex,
    /// Coherence, 0 to 1; 1 where it was not measured.
    pub coherence: f64,
}

impl Point {
    /// From sums of cross and own powers; nothing where either power is none.
    pub(super) fn of_sums(
        frequency_hz: f64,
        cross: Complex,
        in_power: f64,
        out_power: f64,
    ) -> Option<Self> {
        // Not a number fails the comparison too.
        (in_power > 0.0 && out_power > 0.0).then(|| Self {
            frequency_hz,
            value: cross.scaled(1.0 / in_power),
            coherence: cross.size() * cross.size() / (in_power * out_power),
        })
    }
}

/// Output over input at rising frequencies.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// The points.
    pub points: Vec<Point>,
}

impl Response {
    /// Response at a frequency between the lowest and highest measured (a parabola through the three nearest points).
    pub fn at(&self, frequency_hz: f64) -> Option<Complex> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        // Half a per cent beyond the ends counts as the end: a frequency found in a record is not a round number.
        let reach = first.frequency_hz * 0.995..=last.frequency_hz * 1.005;
        if self.points.len() < 3 || !reach.contains(&frequency_hz) {
            return None;
        }
        let above = self
            .points
            .iter()
            .position(|point| point.frequency_hz >= frequency_hz)
            .unwrap_or(self.points.len() - 1);
        let mut start = above.saturating_sub(1).min(self.points.len() - 3);
        if start > 0 && start + 1 == above {
            let below = frequency_hz - self.points[above - 1].frequency_hz;
            let beyond = self.points[above].frequency_hz - frequency_hz;
            start -= usize::from(below < beyond);
        }
        let near = &self.points[start..start + 3];
        let mut sum = Complex::default();
        for (index, point) in near.iter().enumerate() {
            let mut weight = 1.0;
            for (other, beside) in near.iter().enumerate() {
                if other != index {
                    weight *= (frequency_hz - beside.frequency_hz)
                        / (point.frequency_hz - beside.frequency_hz);
                }
            }
            sum = sum.plus(point.value.scaled(weight));
        }
        Some(sum)
    }

    /// Gain at a frequency.
    pub fn gain(&self, frequency_hz: f64) -> Option<f64> {
        self.at(frequency_hz).map(Complex::size)
    }

    /// Phase at a frequency, deg, negative for lag.
    pub fn phase_deg(&self, frequency_hz: f64) -> Option<f64> {
        self.at(frequency_hz).map(Complex::angle_deg)
    }

    /// Gain at no frequency, continued from the three lowest tenths of a hertz.
    pub fn steady_gain(&self) -> Option<f64> {
        let nodes = [0.2, 0.3, 0.4];
        let mut sum = 0.0;
        for (index, hz) in nodes.iter().enumerate() {
            let mut weight = 1.0;
            for (other, beside) in nodes.iter().enumerate() {
                if other != index {
                    weight *= -beside * beside / (hz * hz - beside * beside);
                }
            }
            let gain = self.gain(*hz)?;
            sum += weight * gain * gain;
        }
        (sum > 0.0).then(|| libm::sqrt(sum))
    }

    /// Frequency, Hz, and gain over steady gain of the largest gain; none if it lies at an end or stays below the steady one.
    pub fn resonance(&self) -> Option<(f64, f64)> {
        let steady = self.steady_gain()?;
        let scan: Vec<(f64, f64)> = self
            .scan()
            .filter_map(|hz| Some((hz, self.gain(hz)?)))
            .collect();
        let top = (0..scan.len()).reduce(|best, next| {
            if scan[next].1 > scan[best].1 {
                next
            } else {
                best
            }
        })?;
        let inside = top > 0 && top + 1 < scan.len();
        (inside && scan[top].1 > steady).then(|| (scan[top].0, scan[top].1 / steady))
    }

    /// 1 / omega at the first lag of 45 deg, s.
    pub fn equivalent_time_s(&self) -> Option<f64> {
        let mut low = None;
        for hz in self.scan() {
            if self.phase_deg(hz)? <= -45.0 {
                let mut bounds = (low?, hz);
                for _ in 0..40 {
                    let middle = 0.5 * (bounds.0 + bounds.1);
                    if self.phase_deg(middle)? <= -45.0 {
                        bounds.1 = middle;
                    } else {
                        bounds.0 = middle;
                    }
                }
                return Some(1.0 / (2.0 * core::f64::consts::PI * bounds.1));
            }
            low = Some(hz);
        }
        None
    }

    /// Smallest coherence of all points.
    pub fn least_coherence(&self) -> Option<f64> {
        self.points
            .iter()
            .map(|point| point.coherence)
            .reduce(f64::min)
    }

    fn scan(&self) -> impl Iterator<Item = f64> {
        let count = libm::round((HIGHEST_HZ - LOWEST_HZ) / 0.001) as usize;
        (0..=count).map(|index| LOWEST_HZ + 0.001 * index as f64)
    }
}

/// Response of a record that begins and ends at rest.
pub fn from_rest_to_rest(record: &Record, input: &str, output: &str) -> Option<Response> {
    let (x, y) = (zeroed(record, input)?, zeroed(record, output)?);
    let count = libm::round((HIGHEST_HZ - LOWEST_HZ) / GRID_HZ) as usize;
    let mut points = Vec::with_capacity(count + 1);
    for index in 0..=count {
        let frequency_hz = LOWEST_HZ + GRID_HZ * index as f64;
        let (mut cross, mut in_power, mut out_power) = (Complex::default(), 0.0, 0.0);
        for part in 0..BAND_POINTS {
            let place = 2.0 * part as f64 / (BAND_POINTS as f64 - 1.0) - 1.0;
            let hz = frequency_hz + BAND_HZ * place;
            let (from, to) = (
                fourier(&x, record.period_s, hz),
                fourier(&y, record.period_s, hz),
            );
            cross = cross.plus(to.times(from.conjugate()));
            in_power += from.size() * from.size();
            out_power += to.size() * to.size();
        }
        points.push(Point::of_sums(frequency_hz, cross, in_power, out_power)?);
    }
    Some(Response { points })
}

/// Response of a record with whole periods of one frequency after the other.
pub fn by_periods(record: &Record, input: &str, output: &str) -> Option<Response> {
    let x = Curve::new(record.period_s, record.column(input)?);
    let y = Curve::new(record.period_s, record.column(output)?);
    let starts = period_starts(&x)?;
    let mut points: Vec<Point> = Vec::new();
    let mut first = 0;
    while first + 1 < starts.len() {
        let length = starts[first + 1] - starts[first];
        let mut end = first + 1;
        while end + 1 < starts.len()
            && ((starts[end + 1] - starts[end]) / length - 1.0).abs() < 0.03
        {
            end += 1;
        }
        let settling = libm::ceil(SETTLE_S / length - 0.1).max(1.0) as usize;
        if first + settling < end {
            let (from, to) = (starts[first + settling], starts[end]);
            let frequency_hz = (end - first - settling) as f64 / (to - from);
            let (ins, outs) = (
                over_span(&x, from, to, frequency_hz)?,
                over_span(&y, from, to, frequency_hz)?,
            );
            let power = ins.size() * ins.size();
            points.push(Point {
                frequency_hz,
                value: outs.times(ins.conjugate()).scaled(1.0 / power),
                coherence: 1.0,
            });
        }
        first = end;
    }
    let rising = points
        .windows(2)
        .all(|pair| pair[0].frequency_hz < pair[1].frequency_hz);
    (rising && !points.is_empty()).then_some(Response { points })
}

/// How a record was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// [`from_rest_to_rest`].
    RestToRest,
    /// [`by_periods`].
    Periods,
    /// [`by_segments`].
    Segments,
}

/// Gain and phase at five frequencies, equivalent time and resonance.
pub fn response(record: &Record, method: Method) -> Vec<Metric> {
    let of = |output| match method {
        Method::RestToRest => from_rest_to_rest(record, "steering_wheel_angle", output),
        Method::Periods => by_periods(record, "steering_wheel_angle", output),
        Method::Segments => by_segments(record, "steering_wheel_angle", output),
    };
    let (yaw, lateral) = (of("yaw_rate"), of("lateral_acceleration"));
    let (yaw, lateral) = (yaw.as_ref(), lateral.as_ref());
    let mut metrics = vec![
        Metric::new(
            "equivalent time of yaw rate",
            "s",
            yaw.and_then(Response::equivalent_time_s),
        ),
        Metric::new(
            "resonance frequency of yaw rate",
            "Hz",
            yaw.and_then(Response::resonance).map(|top| top.0),
        ),
        Metric::new(
            "resonance ratio of yaw rate",
            "-",
            yaw.and_then(Response::resonance).map(|top| top.1),
        ),
        Metric::new(
            "steady yaw rate gain",
            "1/s",
            yaw.and_then(Response::steady_gain),
        ),
        Metric::new(
            "steady lateral acceleration gain",
            "m/s2/rad",
            lateral.and_then(Response::steady_gain),
        ),
        Metric::new(
            "coherence of yaw rate, least",
            "-",
            yaw.and_then(Response::least_coherence),
        ),
    ];
    for (hz, names) in NAMES {
        let gain = |response: Option<&Response>| response.and_then(|curve| curve.gain(hz));
        let phase = |response: Option<&Response>| response.and_then(|curve| curve.phase_deg(hz));
        metrics.extend([
            Metric::new(names[0], "1/s", gain(yaw)),
            Metric::new(names[1], "deg", phase(yaw)),
            Metric::new(names[2], "m/s2/rad", gain(lateral)),
            Metric::new(names[3], "deg", phase(lateral)),
        ]);
    }
    metrics
}

const NAMES: [(f64, [&str; 4]); 5] = [
    (
        0.2,
        [
            "yaw rate gain at 0.2 Hz",
            "yaw rate phase at 0.2 Hz",
            "lateral acceleration gain at 0.2 Hz",
            "lateral acceleration phase at 0.2 Hz",
        ],
    ),
    (
        0.5,
        [
            "yaw rate gain at 0.5 Hz",
            "yaw rate phase at 0.5 Hz",
            "lateral acceleration gain at 0.5 Hz",
            "lateral acceleration phase at 0.5 Hz",
        ],
    ),
    (
        1.0,
        [
            "yaw rate gain at 1 Hz",
            "yaw rate phase at 1 Hz",
            "lateral acceleration gain at 1 Hz",
            "lateral acceleration phase at 1 Hz",
        ],
    ),
    (
        1.5,
        [
            "yaw rate gain at 1.5 Hz",
            "yaw rate phase at 1.5 Hz",
            "lateral acceleration gain at 1.5 Hz",
            "lateral acceleration phase at 1.5 Hz",
        ],
    ),
    (
        2.0,
        [
            "yaw rate gain at 2 Hz",
            "yaw rate phase at 2 Hz",
            "lateral acceleration gain at 2 Hz",
            "lateral acceleration phase at 2 Hz",
        ],
    ),
];

/// A channel without the sensor's zero error.
fn zeroed(record: &Record, name: &str) -> Option<Vec<f64>> {
    let samples = Curve::new(record.period_s, record.column(name)?).samples;
    let still = (libm::round(ZERO_S / record.period_s) as usize).min(samples.len());
    if still == 0 {
        return None;
    }
    let zero = samples[..still].iter().sum::<f64>() / still as f64;
    Some(samples.into_iter().map(|value| value - zero).collect())
}

/// Fourier integral of samples.
pub(super) fn fourier(samples: &[f64], period_s: f64, hz: f64) -> Complex {
    let angle = -2.0 * core::f64::consts::PI * hz * period_s;
    let turn = Complex(libm::cos(angle), libm::sin(angle));
    let mut pointer = Complex(1.0, 0.0);
    let mut sum = Complex::default();
    for value in samples {
        sum = sum.plus(pointer.scaled(*value));
        pointer = pointer.times(turn);
    }
    sum.scaled(period_s)
}

/// Fourier sum over whole periods, at points that divide the span evenly: exact for every harmonic below half their rate.
fn over_span(line: &Curve, from_s: f64, to_s: f64, hz: f64) -> Option<Complex> {
    let count = libm::round((to_s - from_s) / line.period_s).max(8.0) as usize;
    let step_s = (to_s - from_s) / count as f64;
    let samples: Option<Vec<f64>> = (0..count)
        .map(|index| line.at(from_s + step_s * index as f64))
        .collect();
    Some(fourier(&samples?, step_s, hz))
}

/// Times at which the steering passes zero upwards on its way from one clear excursion to the next.
fn period_starts(line: &Curve) -> Option<Vec<f64>> {
    let largest = line
        .samples
        .iter()
        .fold(0.0_f64, |most, value| most.max(value.abs()));
    // Not a number fails the comparison too.
    if !(largest > 0.0) {
        return None;
    }
    let clear = 0.2 * largest;
    let first = line.samples.iter().find(|value| value.abs() > clear)?;
    // Upwards is where the steering goes first: the mirrored record has the same periods.
    let up = first.signum();
    let mut starts = Vec::new();
    let mut armed = true;
    for (index, value) in line.samples.iter().enumerate() {
        if up * value < -clear {
            armed = true;
        } else if up * value > clear && armed {
            armed = false;
            let before = &line.samples[..index];
            // A record that begins within a period has no start of it.
            let Some(below) = before.iter().rposition(|value| up * value <= 0.0) else {
                continue;
            };
            let (before, after) = (line.samples[below], line.samples[below + 1]);
            starts.push((below as f64 - before / (after - before)) * line.period_s);
        }
    }
    Some(starts)
}
