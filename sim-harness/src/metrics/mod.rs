//! Characteristic values of a manoeuvre, from its record alone.
//!
//! They look at channels any well-equipped test car records, except where a name says `clutch energy`: that is truth only
//! a simulation knows. A value that does not exist (a goal never reached) is missing, never zero.

pub mod axle_work;
mod closing_bend;
pub mod curve;
mod duty;
pub mod dwell;
pub mod effort;
pub mod estimation;
pub mod frequency;
pub mod friction_step;
pub mod heat;
pub mod lane;
mod launch;
pub mod oscillation;
pub mod oversteer;
pub mod pass;
pub mod phaseless;
pub mod random;
pub mod series;
pub mod sine;
pub mod slide;
pub mod steady;
pub mod straight;
pub mod sway;
pub mod transient;
pub mod turn_change;
pub mod turning;

use crate::record::Record;
use crate::scenario::{Manoeuvre, Numbers};
use frequency::Method;

/// One characteristic value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Metric {
    /// Name in words.
    pub name: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// The value, if there is one.
    pub value: Option<f64>,
}

impl Metric {
    /// A value with name and unit; one that is not finite is missing.
    pub fn new(name: &'static str, unit: &'static str, value: Option<f64>) -> Self {
        Self {
            name,
            unit,
            value: value.filter(|value| value.is_finite()),
        }
    }
}

/// The value of a name, if it is there.
pub fn value(metrics: &[Metric], name: &str) -> Option<f64> {
    metrics.iter().find(|metric| metric.name == name)?.value
}

/// All characteristic values of a manoeuvre.
pub fn evaluate(manoeuvre: Manoeuvre, numbers: &Numbers, record: &Record) -> Vec<Metric> {
    let mut metrics = match manoeuvre {
        Manoeuvre::SplitLaunch => launch::launch(numbers, record),
        Manoeuvre::PowerOnExit => turning::exit(numbers, record),
        Manoeuvre::StepSteer => transient::step_steer(record),
        Manoeuvre::LiftOff => turning::lift_off(numbers, record),
        Manoeuvre::ConstantRadius => turning::circle(record),
        Manoeuvre::SkarnPass => pass::pass(record),
        Manoeuvre::TrailerSway => sway::sway(record),
        Manoeuvre::StraightAhead | Manoeuvre::Disturbance => straight::straight(numbers, record),
        Manoeuvre::SineWithDwell => dwell::sine_with_dwell(record),
        Manoeuvre::OnePeriodSine => sine::one_period_sine(record),
        Manoeuvre::SteeringPulse | Manoeuvre::FrequencySweep => {
            frequency::response(record, Method::RestToRest)
        }
        Manoeuvre::ContinuousSine => frequency::response(record, Method::Periods),
        Manoeuvre::RandomSteering => {
            let mut metrics = frequency::response(record, Method::Segments);
            metrics.extend(random::lags(record));
            metrics
        }
        Manoeuvre::ConstantSpeed | Manoeuvre::ConstantSteering => steady::turn(record),
        Manoeuvre::BrakingInTurn => turn_change::braking(numbers, record),
        Manoeuvre::DoubleLaneChange | Manoeuvre::ObstacleAvoidance | Manoeuvre::SnowLaneChange => {
            lane::lane(record)
        }
        Manoeuvre::FrictionStep => friction_step::friction_step(record),
        Manoeuvre::SplitBrake => launch::split_brake(numbers, record),
        Manoeuvre::Park => launch::park(numbers, record),
        Manoeuvre::Cruise => duty::cruise(record),
        Manoeuvre::Release => duty::release(record),
        Manoeuvre::ClosingBend => closing_bend::closing_bend(record),
        Manoeuvre::TipIn => oscillation::tip_in(record, numbers.driver.action_s),
        Manoeuvre::SlideHold => slide::slide(numbers, record),
        Manoeuvre::RepeatedLaunches => heat::launches(numbers, record),
    };
    metrics.extend(heat(record));
    metrics.extend(heat::protection(record));
    let friction = numbers.road.friction_left.max(numbers.road.friction_right);
    let openings =
        |ability| oversteer::openings(record, friction, ability).map(|count| count as f64);
    metrics.extend([
        Metric::new(
            "capacity against oversteer given up, times",
            "-",
            openings(oversteer::Ability::Commanded),
        ),
        Metric::new(
            "possible capacity against oversteer lost, times",
            "-",
            openings(oversteer::Ability::Possible),
        ),
        Metric::new(
            "time of growing oversteer",
            "s",
            oversteer::growing_s(record, friction),
        ),
    ]);
    metrics
}

/// Characteristic values that need the car's wheelbase besides the record; none for most manoeuvres.
pub fn evaluate_with_wheelbase(
    manoeuvre: Manoeuvre,
    wheelbase_m: f64,
    record: &Record,
) -> Vec<Metric> {
    match manoeuvre {
        Manoeuvre::ConstantRadius | Manoeuvre::ConstantSpeed | Manoeuvre::ConstantSteering => {
            steady::linear_range(record, wheelbase_m)
        }
        _ => Vec::new(),
    }
}

fn heat(record: &Record) -> Vec<Metric> {
    let energy = |name| series::rise(record, name).map(|joule| joule / 1000.0);
    let last = |name| {
        record
            .column(name)
            .and_then(|column| column.last().copied())
            .map(f64::from)
    };
    let (left, right) = (
        energy("plant_clutch_energy_left"),
        energy("plant_clutch_energy_right"),
    );
    let larger = match (left, right) {
        (Some(left), Some(right)) => Some(left.max(right)),
        _ => None,
    };
    vec![
        Metric::new("clutch energy left", "kJ", left),
        Metric::new("clutch energy right", "kJ", right),
        Metric::new("clutch energy, hotter side", "kJ", larger),
        Metric::new("oil temperature at the end", "degC", last("plant_oil")),
    ]
}

/// Radians to degrees.
pub(crate) fn degrees(radians: Option<f64>) -> Option<f64> {
    radians.map(f64::to_degrees)
}
