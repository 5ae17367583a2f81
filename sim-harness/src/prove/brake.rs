//! Does it stay stable? Full brake on split friction, and letting go when the brake control asks.

use super::programme::{Group, Results};
use super::{Row, Target};
use crate::scenario::{Manoeuvre, Scenario};

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "split-brake",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitBrake,
        adjust: |_| {},
    },
    Group {
        name: "split-brake-reverse",
        setting: "patrol",
        manoeuvre: Manoeuvre::SplitBrake,
        adjust: |scenario| {
            scenario.numbers.driver.reverse = 1.0;
            scenario.numbers.course.speed_m_s = 20.0 / 3.6;
        },
    },
    Group {
        name: "release-warm",
        setting: "patrol",
        manoeuvre: Manoeuvre::Release,
        adjust: under_power,
    },
    Group {
        name: "release-cold",
        setting: "patrol",
        manoeuvre: Manoeuvre::Release,
        adjust: |scenario| {
            under_power(scenario);
            scenario.numbers.road.ambient_degc = -20.0;
            scenario.numbers.road.axle_degc = -20.0;
        },
    },
    Group {
        name: "release-brake",
        setting: "patrol",
        manoeuvre: Manoeuvre::Release,
        adjust: |_| {},
    },
    Group {
        name: "release-brake-held-open",
        setting: "patrol",
        manoeuvre: Manoeuvre::Release,
        adjust: |scenario| scenario.numbers.assist.order_open = 1.0,
    },
];

fn under_power(scenario: &mut Scenario) {
    let numbers = &mut scenario.numbers;
    numbers.road.friction_left = 0.95;
    numbers.road.friction_right = 0.95;
    numbers.course.longest_s = 3.0;
    numbers.driver.pedal = 0.9;
    numbers.driver.brake = 0.0;
    numbers.assist.release_request_s = 1.5;
}

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    vec![
        table.row(
            "split-brake",
            "split-brake",
            "full brake with anti-lock from 100 km/h, friction 0.1/0.9: stopping distance",
            "stopping distance",
            None,
        ),
        table.row(
            "split-brake-yaw",
            "split-brake",
            "same: yaw rate",
            "yaw rate, largest",
            None,
        ),
        table.row(
            "split-brake-line",
            "split-brake",
            "same: lateral deviation",
            "lateral deviation",
            None,
        ),
        table.row(
            "split-brake-steering",
            "split-brake",
            "same: steering-wheel angle the driver needed",
            "steering-wheel angle, largest",
            None,
        ),
        table.row(
            "split-brake-reverse",
            "split-brake-reverse",
            "the same from 20 km/h in reverse: stopping distance",
            "stopping distance",
            None,
        ),
        table.row(
            "split-brake-reverse-line",
            "split-brake-reverse",
            "same: lateral deviation",
            "lateral deviation",
            None,
        ),
        table.row(
            "release-command",
            "release-warm",
            "brake control asks for release at nine tenths of the accelerator: time to commanded release",
            "release commanded after",
            Some(Target::AtMost(0.1)),
        ),
        table.row(
            "release-torque",
            "release-warm",
            "same: time until the rear torque is under a tenth",
            "torque under a tenth after",
            Some(Target::AtMost(0.22)),
        ),
        table.row(
            "release-residual",
            "release-warm",
            "same: torque left in a clutch",
            "residual torque, larger side",
            Some(Target::AtMost(50.0)),
        ),
        table.row(
            "release-command-cold",
            "release-cold",
            "same with the axle at -20 degC: time to commanded release",
            "release commanded after",
            Some(Target::AtMost(0.1)),
        ),
        table.row(
            "release-torque-cold",
            "release-cold",
            "same: time until the rear torque is under a tenth",
            "torque under a tenth after",
            Some(Target::AtMost(0.43)),
        ),
        table.row(
            "release-residual-cold",
            "release-cold",
            "same: torque left in a clutch",
            "residual torque, larger side",
            Some(Target::AtMost(50.0)),
        ),
        table.beyond(
            "release-stop",
            ("release-brake", "release-brake-held-open"),
            "from power to full brake with anti-lock, friction 0.4: stopping distance beyond the paired axle's held open",
            "stopping distance",
            true,
            Some(Target::AtMost(2.0)),
        ),
    ]
}
