//! Where the hunt looks: scenarios as points of a cube.
//!
//! Every parameter has a default; a point at all defaults is the base scenario. A fault has four: which one (the default is
//! none), how much of the matrix's size, when, how long. Ranges are chosen: what a car meets, and somewhat beyond.

use crate::fault::Fault;
use crate::fault_matrix::list;
use crate::scenario::{Manoeuvre, Numbers, Scenario};

/// One parameter.
#[derive(Clone, Copy)]
pub struct Parameter {
    /// Its name.
    pub name: &'static str,
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// Value where nothing is special.
    pub default: f64,
    /// A switch: only its two ends mean something.
    pub switch: bool,
    /// Even steps are even factors: walking pace is as wide as the motorway.
    pub factors: bool,
    set: fn(&mut Numbers, f64),
}

const fn range(
    name: &'static str,
    (low, high): (f64, f64),
    default: f64,
    set: fn(&mut Numbers, f64),
) -> Parameter {
    Parameter {
        name,
        low,
        high,
        default,
        switch: false,
        factors: false,
        set,
    }
}

const fn switch(name: &'static str, set: fn(&mut Numbers, f64)) -> Parameter {
    Parameter {
        name,
        low: 0.0,
        high: 1.0,
        default: 0.0,
        switch: true,
        factors: false,
        set,
    }
}

/// The parameters of the drive.
const DRIVE: [Parameter; 20] = [
    Parameter {
        factors: true,
        ..range("speed", (1.5, 50.0), 30.0, |n, v| n.course.speed_m_s = v)
    },
    range("turn", (0.0, 8.0), 0.0, |n, v| n.disturbance.turn_m_s2 = v),
    range("acceleration", (0.0, 2.0), 0.0, |n, v| {
        n.course.speed_rise_m_s2 = v;
    }),
    switch("lift-off", |n, v| n.disturbance.lift_off = v),
    range("brake", (0.0, 1.0), 0.0, |n, v| n.driver.brake = v),
    range("steering", (-120.0, 120.0), 0.0, |n, v| {
        n.disturbance.steer_deg = v;
    }),
    range("frequency", (0.3, 2.0), 0.7, |n, v| {
        n.driver.steering_frequency_hz = v;
    }),
    switch("held", |n, v| n.disturbance.hold = v),
    switch("person", |n, v| n.disturbance.person = v),
    range("friction", (0.1, 1.1), 0.95, |n, v| {
        n.road.friction_left *= v / 0.95;
        n.road.friction_right *= v / 0.95;
    }),
    range("slippery right", (0.1, 1.0), 1.0, |n, v| {
        n.road.friction_right *= v;
    }),
    range("grade", (-15.0, 15.0), 0.0, |n, v| n.road.grade_percent = v),
    range("bank", (-5.0, 5.0), 0.0, |n, v| n.road.bank_percent = v),
    range("axle temperature", (-30.0, 140.0), 60.0, |n, v| {
        n.road.axle_degc = v;
    }),
    range("rear radius", (0.97, 1.03), 1.0, |n, v| {
        n.car.rear_radius_scale = v;
    }),
    range("rear stiffness", (0.85, 1.15), 1.0, |n, v| {
        n.car.rear_stiffness_scale = v;
    }),
    range("yaw rate bias", (-0.006, 0.006), 0.0, |n, v| {
        n.sensors.yaw_rate_bias_rad_s = v;
    }),
    range("delay", (0.0, 4.0), 1.0, |n, v| n.sensors.delay_steps = v),
    range("release request", (0.0, 2.0), 0.0, |n, v| {
        n.assist.release_request_s = v;
    }),
    range("loss", (0.0, 0.1), 0.001, |n, v| n.sensors.loss_share = v),
];

/// Faults at once at most.
const FAULTS: usize = 2;
/// Parameters of a fault: which, how much, when, how long.
const OF_FAULT: usize = 4;
/// Size over that of the matrix, start and duration: low, high, default.
const SIZE: (f64, f64, f64) = (-2.0, 2.0, 1.0);
const START_S: (f64, f64, f64) = (0.2, 2.0, 0.7);
const LASTS_S: (f64, f64, f64) = (0.02, 3.0, 3.0);

/// The space.
pub struct Space {
    base: Scenario,
    faults: Vec<Fault>,
    with_faults: bool,
}

impl Space {
    /// Around a short drive at 30 m/s on a good road; with faults or without.
    pub fn new(with_faults: bool) -> Self {
        let mut base = Scenario::of(Manoeuvre::Disturbance);
        base.numbers.course.longest_s = 4.0;
        Self {
            base,
            faults: list::single(),
            with_faults,
        }
    }

    /// Number of parameters.
    pub fn size(&self) -> usize {
        DRIVE.len()
            + if self.with_faults {
                FAULTS * OF_FAULT
            } else {
                0
            }
    }

    /// Name of a parameter.
    pub fn name(&self, place: usize) -> String {
        let Some(place) = place.checked_sub(DRIVE.len()) else {
            return DRIVE[place].name.to_owned();
        };
        let what = ["fault", "size", "start", "duration"][place % OF_FAULT];
        format!("{what} {}", place / OF_FAULT + 1)
    }

    /// The point at all defaults, each coordinate from 0 to 1.
    pub fn default_point(&self) -> Vec<f64> {
        let share = |(low, high, default): (f64, f64, f64)| (default - low) / (high - low);
        let mut point: Vec<f64> = DRIVE
            .iter()
            .map(|one| {
                if one.factors {
                    libm::log(one.default / one.low) / libm::log(one.high / one.low)
                } else {
                    share((one.low, one.high, one.default))
                }
            })
            .collect();
        while point.len() < self.size() {
            point.extend([0.0, share(SIZE), share(START_S), share(LASTS_S)]);
        }
        point
    }

    /// How many parameters of a point are not at their default, and their names.
    pub fn moved(&self, point: &[f64]) -> Vec<String> {
        let default = self.default_point();
        (0..self.size())
            .filter(|place| !self.is_idle(point, *place) && point[*place] != default[*place])
            .map(|place| self.name(place))
            .collect()
    }

    /// Whether a coordinate says nothing because its fault is none.
    fn is_idle(&self, point: &[f64], place: usize) -> bool {
        let Some(place) = place.checked_sub(DRIVE.len()) else {
            return false;
        };
        let first = DRIVE.len() + place / OF_FAULT * OF_FAULT;
        self.fault_at(point[first]).is_none()
    }

    /// The lower half of a fault's first coordinate is none.
    fn fault_at(&self, share: f64) -> Option<Fault> {
        let place = (share.clamp(0.0, 1.0) - 0.5) * 2.0;
        (place > 0.0).then(|| {
            let count = self.faults.len();
            self.faults[((place * count as f64) as usize).min(count - 1)]
        })
    }

    /// Coordinate of one of these faults, `place` or `place/kind`, drawn by `draw`; nothing if there are none.
    pub fn fault_at_one_of(&self, places: &[&str], draw: u64) -> Option<f64> {
        let known = |fault: &Fault| {
            places.iter().any(|name| {
                let (place, kind) = name.split_once('/').unwrap_or((name, fault.kind.name()));
                fault.place.name() == place && fault.kind.name() == kind
            })
        };
        let all: Vec<usize> = (0..self.faults.len())
            .filter(|index| known(&self.faults[*index]))
            .collect();
        let index = *all.get((draw % (all.len().max(1)) as u64) as usize)?;
        Some(0.5 + 0.5 * (index as f64 + 0.5) / self.faults.len() as f64)
    }

    /// Place of the first coordinate of the first fault.
    pub fn first_fault(&self) -> usize {
        DRIVE.len()
    }

    /// The scenario of a point; coordinates outside 0 to 1 count as their ends.
    pub fn scenario(&self, point: &[f64], seed: u64) -> Scenario {
        let mut scenario = self.base.clone();
        scenario.seed = seed;
        let default = self.default_point();
        for (place, one) in DRIVE.iter().enumerate() {
            // A default is set as the file has it, not as the share gives it back.
            if point[place] == default[place] {
                continue;
            }
            let share = point[place].clamp(0.0, 1.0);
            let value = if one.switch {
                libm::round(share)
            } else if one.factors {
                tidy(one.low * libm::pow(one.high / one.low, share))
            } else {
                tidy(one.low + share * (one.high - one.low))
            };
            (one.set)(&mut scenario.numbers, value);
        }
        let numbers = &mut scenario.numbers;
        if numbers.disturbance.lift_off < 0.5 {
            numbers.driver.brake = 0.0;
        }
        for part in point[DRIVE.len()..].chunks(OF_FAULT) {
            let [which, size, start, lasts] = *part else {
                continue;
            };
            let Some(mut fault) = self.fault_at(which) else {
                continue;
            };
            let of = |(low, high, _): (f64, f64, f64), share: f64| {
                tidy(low + share.clamp(0.0, 1.0) * (high - low))
            };
            let range = fault.kind.size();
            if !range.unit.is_empty() {
                fault.size = tidy(fault.size * of(SIZE, size)).clamp(range.low, range.high);
            }
            fault.start_s = of(START_S, start);
            fault.duration_s = of(LASTS_S, lasts);
            scenario.faults.push(fault);
        }
        scenario
    }
}

/// Four digits: what is found reads like a number a person would write.
fn tidy(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let places = 3 - libm::floor(libm::log10(value.abs())) as i32;
    let scale = libm::pow(10.0, f64::from(places));
    libm::round(value * scale) / scale
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_point_of_all_defaults_is_the_base_scenario_and_nothing_is_moved() {
        for with_faults in [false, true] {
            let space = Space::new(with_faults);
            let point = space.default_point();
            assert_eq!(point.len(), space.size());
            assert_eq!(space.scenario(&point, 0), space.base);
            assert!(space.moved(&point).is_empty());
        }
    }

    #[test]
    fn one_coordinate_moves_one_parameter() {
        let space = Space::new(true);
        let default = space.default_point();
        for place in 0..space.size() {
            let mut point = default.clone();
            point[place] = if default[place] > 0.9 { 0.3 } else { 0.95 };
            let moved = space.moved(&point);
            let idle = place >= DRIVE.len() && !(place - DRIVE.len()).is_multiple_of(OF_FAULT);
            assert_eq!(moved.len(), usize::from(!idle), "{}", space.name(place));
        }
        assert_eq!((tidy(0.123_456), tidy(-12_345.6)), (0.1235, -12_350.0));
    }
}
