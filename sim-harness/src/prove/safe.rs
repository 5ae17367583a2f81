//! Does it stay stable when something is wrong? Bias, weak rear tyres, the limit of the circle.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::fault::{Fault, Kind, Place};
use crate::scenario::{Manoeuvre, Scenario};

/// Half a degree a second.
const BIAS_RAD_S: f64 = 0.5 * core::f64::consts::PI / 180.0;

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "yaw-bias",
        setting: "patrol",
        manoeuvre: Manoeuvre::StraightAhead,
        adjust: biased,
    },
    Group {
        name: "yaw-bias-power",
        setting: "patrol",
        manoeuvre: Manoeuvre::StraightAhead,
        adjust: |scenario| {
            biased(scenario);
            scenario.numbers.course.speed_rise_m_s2 = 1.0;
        },
    },
    Group {
        name: "wrong-request",
        setting: "patrol",
        manoeuvre: Manoeuvre::StraightAhead,
        adjust: |scenario| faulty(scenario, Place::Request { left: true }),
    },
    Group {
        name: "wrong-current",
        setting: "patrol",
        manoeuvre: Manoeuvre::StraightAhead,
        adjust: |scenario| faulty(scenario, Place::Current { left: true }),
    },
    Group {
        name: "lift-off-weak-rear",
        setting: "patrol",
        manoeuvre: Manoeuvre::LiftOff,
        adjust: |scenario| scenario.numbers.car.rear_stiffness_scale = 0.9,
    },
    // Beyond what the tyres hold: the car must come to oversteer, or nothing shows that the clutches stay closed then.
    Group {
        name: "step-steer-limit-steady",
        setting: "patrol",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: at_the_limit,
    },
    Group {
        name: "step-steer-limit-agile",
        setting: "response",
        manoeuvre: Manoeuvre::StepSteer,
        adjust: at_the_limit,
    },
    Group {
        name: "circle-dry-steady",
        setting: "patrol",
        manoeuvre: Manoeuvre::ConstantRadius,
        adjust: |_| {},
    },
    Group {
        name: "circle-wet-steady",
        setting: "patrol",
        manoeuvre: Manoeuvre::ConstantRadius,
        adjust: |scenario| {
            scenario.numbers.road.friction_left = 0.4;
            scenario.numbers.road.friction_right = 0.4;
            scenario.numbers.course.speed_rise_m_s2 = 0.1;
        },
    },
];

/// Under power at 120 km/h on rear tyres 2 % larger than the law believes, which about doubles the overspeed.
fn faulty(scenario: &mut Scenario, place: Place) {
    let numbers = &mut scenario.numbers;
    numbers.course.speed_rise_m_s2 = 1.0;
    numbers.course.longest_s = 2.5;
    numbers.driver.action_s = 1.0;
    numbers.car.rear_radius_scale = 1.02;
    scenario.faults = vec![Fault::from(place, Kind::Full, 1.0)];
}

fn at_the_limit(scenario: &mut Scenario) {
    scenario.numbers.course.speed_m_s = 130.0 / 3.6;
    scenario.numbers.course.lateral_acceleration_m_s2 = 8.0;
}

fn biased(scenario: &mut Scenario) {
    scenario.numbers.sensors.yaw_rate_bias_rad_s = BIAS_RAD_S;
}

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    let none = Some(Target::AtMost(0.0));
    vec![
        table.row(
            "yaw-bias",
            "yaw-bias",
            "straight ahead at 120 km/h, yaw rate reads 0.5 deg/s too much, hands still: drift within 6 s",
            "drift within 6 s",
            Some(Target::AtMost(0.3)),
        ),
        table.row(
            "yaw-bias-power",
            "yaw-bias-power",
            "same under power, 1 m/s2",
            "drift within 6 s",
            Some(Target::AtMost(0.3)),
        ),
        table.row(
            "wrong-command-request",
            "wrong-request",
            "120 km/h under power, rear tyres 2 % large, hands still, the law wrongly asks for one whole clutch: drift at 1 s",
            "drift within 1 s",
            Some(Target::AtMost(0.25)),
        ),
        table.row(
            "wrong-command-request-yaw",
            "wrong-request",
            "same: change of yaw rate",
            "yaw rate change, largest",
            Some(Target::AtMost(4.0)),
        ),
        table.row(
            "wrong-command-current",
            "wrong-current",
            "120 km/h under power, rear tyres 2 % large, hands still, one output stage gives full current for good: drift at 1 s",
            "drift within 1 s",
            Some(Target::AtMost(0.25)),
        ),
        table.row(
            "wrong-command-current-yaw",
            "wrong-current",
            "same: change of yaw rate",
            "yaw rate change, largest",
            Some(Target::AtMost(4.0)),
        ),
        table.row(
            "lift-off-weak-rear",
            "lift-off-weak-rear",
            "lift-off at 6.5 m/s2, R 100 m, rear tyres 10 % less stiff: largest curvature over initial",
            "curvature, largest over initial",
            Some(Target::AtMost(1.12)),
        ),
        table.row(
            "lift-off-weak-rear-sideslip",
            "lift-off-weak-rear",
            "same: sideslip rise",
            "sideslip rise",
            Some(Target::AtMost(0.6)),
        ),
        table.row(
            "circle-limit-oversteer",
            "circle-dry",
            "R 100 m, friction 0.95, near 8.5 m/s2: samples in which the car oversteers",
            "oversteer near 8.5 m/s2, samples",
            none,
        ),
        table.row(
            "circle-limit-lock",
            "circle-dry",
            "same: times a clutch locks",
            "clutches locked near 8.5 m/s2, times",
            none,
        ),
        table.row(
            "circle-limit-solid",
            "circle-dry",
            "same: times both clutches lock at once",
            "axle solid near 8.5 m/s2, times",
            none,
        ),
        table.row(
            "circle-limit-steady-oversteer",
            "circle-dry-steady",
            "R 100 m, friction 0.95, near 8.5 m/s2: samples in which the car oversteers",
            "oversteer near 8.5 m/s2, samples",
            none,
        ),
        table.row(
            "circle-limit-steady-lock",
            "circle-dry-steady",
            "same: times a clutch locks",
            "clutches locked near 8.5 m/s2, times",
            none,
        ),
        table.row(
            "circle-limit-steady-solid",
            "circle-dry-steady",
            "same: times both clutches lock at once",
            "axle solid near 8.5 m/s2, times",
            none,
        ),
        table.row(
            "circle-wet-oversteer",
            "circle-wet",
            "R 100 m, friction 0.4: samples below 3.2 m/s2 in which the car oversteers",
            "oversteer below 3.2 m/s2, samples",
            none,
        ),
        table.row(
            "circle-wet-steady",
            "circle-wet-steady",
            "R 100 m, friction 0.4: understeer gradient from 1 to 3.2 m/s2",
            "understeer gradient from 1 to 3.2 m/s2",
            Some(Target::Between(0.8, 2.4)),
        ),
        table.row(
            "circle-wet-steady-middle",
            "circle-wet-steady",
            "same: at 60 % of the limit",
            "understeer gradient at 60 % of the limit",
            None,
        ),
        table.row(
            "circle-wet-steady-oversteer",
            "circle-wet-steady",
            "same: samples below 3.2 m/s2 in which the car oversteers",
            "oversteer below 3.2 m/s2, samples",
            none,
        ),
        table.summed(
            "no-open-on-oversteer",
            "paired runs but the slide: times capacity falls by over 5 % in 0.1 s in growing oversteer, unless by heat, fault, order",
            "capacity against oversteer given up, times",
            none,
        ),
        table.summed(
            "no-open-on-oversteer-possible",
            "same, capacity the authority would allow",
            "possible capacity against oversteer lost, times",
            None,
        ),
        table.summed(
            "no-open-on-oversteer-judged",
            "same: time of growing oversteer there was to judge",
            "time of growing oversteer",
            None,
        ),
    ]
}
