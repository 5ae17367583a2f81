//! Does it stay stable between cones and where the road is suddenly slippery?

use super::Row;
use super::programme::{Group, Results};
use crate::scenario::Manoeuvre;

pub(super) const GROUPS: &[Group] = &[
    Group {
        name: "obstacle-avoidance",
        setting: "patrol",
        manoeuvre: Manoeuvre::ObstacleAvoidance,
        adjust: |_| {},
    },
    Group {
        name: "double-lane-change",
        setting: "patrol",
        manoeuvre: Manoeuvre::DoubleLaneChange,
        adjust: |_| {},
    },
    Group {
        name: "snow-lane-change",
        setting: "patrol",
        manoeuvre: Manoeuvre::SnowLaneChange,
        adjust: |_| {},
    },
    Group {
        name: "friction-step",
        setting: "patrol",
        manoeuvre: Manoeuvre::FrictionStep,
        adjust: |_| {},
    },
];

pub(super) fn rows(table: &Results<'_>) -> Vec<Row> {
    vec![
        table.row(
            "lane-change",
            "obstacle-avoidance",
            "obstacle avoidance (ISO 3888-2), friction 0.95: highest entry speed without a struck cone",
            "entry speed passed",
            None,
        ),
        table.row(
            "lane-change-sideslip",
            "obstacle-avoidance",
            "same, each at its own highest speed: sideslip",
            "sideslip, largest",
            None,
        ),
        table.row(
            "lane-change-double",
            "double-lane-change",
            "double lane change (ISO 3888-1), friction 0.95: highest entry speed without a struck cone",
            "entry speed passed",
            None,
        ),
        table.row(
            "lane-change-snow",
            "snow-lane-change",
            "lane change on snow (GB/T 30677), friction 0.3: highest entry speed without a struck cone",
            "entry speed passed",
            None,
        ),
        table.row(
            "friction-step",
            "friction-step",
            "turn R 100 m at 17 m/s, friction 0.9, 30 m of 0.3, 0.9, accelerator still: path error",
            "path error, largest",
            None,
        ),
        table.row(
            "friction-step-yaw",
            "friction-step",
            "same: yaw rate change",
            "yaw rate change, largest",
            None,
        ),
        table.row(
            "friction-step-sideslip",
            "friction-step",
            "same: sideslip",
            "sideslip, largest",
            None,
        ),
    ]
}
