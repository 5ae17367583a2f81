//! The table of plots: title, channels, units. A new plot is a new line here.
//!
//! A channel that a record does not hold is left out; a plot without channels is left out. Each plot says to which
//! questions it belongs; a run of somebody's own shows them all.

use couplet_sim::prove::Question::{self, Cool, Pull, Stable, Turn};

/// How a curve is drawn; the colour belongs to the run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// Unbroken.
    Solid,
    /// Dashed: the right side where left and right share a plot.
    Dashed,
    /// Dotted: what the path asks for.
    Dotted,
    /// Dash and dot: what the controller wants.
    DashDot,
}

impl Line {
    /// Lengths of dash and gap in pixels for the report's script; empty means unbroken.
    pub fn dash(self) -> &'static [u8] {
        match self {
            Self::Solid => &[],
            Self::Dashed => &[8, 4],
            Self::Dotted => &[2, 4],
            Self::DashDot => &[7, 3, 2, 3],
        }
    }
}

/// One channel in a plot.
#[derive(Debug, Clone, Copy)]
pub struct Curve {
    /// Channel name in the record.
    pub channel: &'static str,
    /// What is added to the run's label, may be empty.
    pub label: &'static str,
    /// How it is drawn.
    pub line: Line,
}

/// One plot over time.
#[derive(Debug, Clone, Copy)]
pub struct Plot {
    /// Heading, with the sign where there is one.
    pub title: &'static str,
    /// The channels; all must have the same unit.
    pub curves: &'static [Curve],
    /// Whether a curve that is zero throughout is left out (no path to follow, nothing wanted).
    pub skip_zero: bool,
    /// Whether the plot is about the clutches, which the passive axle does not have.
    pub of_clutches: bool,
    /// The questions it helps to answer.
    pub tells: &'static [Question],
    /// Whether it is shown over the length of a road.
    pub over_pass: bool,
}

const fn curve(channel: &'static str, label: &'static str, line: Line) -> Curve {
    Curve {
        channel,
        label,
        line,
    }
}

/// Channels of the path seen from above.
pub const PATH: (&str, &str) = ("position_x", "position_y");

/// Every plot over time, in the order of the report.
pub const PLOTS: &[Plot] = &[
    Plot {
        title: "Speed",
        skip_zero: false,
        of_clutches: false,
        tells: &[Turn, Pull],
        over_pass: true,
        curves: &[curve("speed", "", Line::Solid)],
    },
    Plot {
        title: "Path error, positive to the left",
        skip_zero: true,
        of_clutches: false,
        tells: &[Turn, Pull],
        over_pass: false,
        curves: &[curve("path_error", "", Line::Solid)],
    },
    Plot {
        title: "Yaw rate against reference, positive to the left",
        skip_zero: true,
        of_clutches: false,
        tells: &[Turn, Stable],
        over_pass: false,
        curves: &[
            curve("yaw_rate", "", Line::Solid),
            curve("path_yaw_rate", "path", Line::Dotted),
            curve("yaw_rate_wanted", "wanted", Line::DashDot),
        ],
    },
    Plot {
        title: "Sideslip angle, positive to the left",
        skip_zero: false,
        of_clutches: false,
        tells: &[Turn, Stable],
        over_pass: false,
        curves: &[curve("sideslip", "", Line::Solid)],
    },
    Plot {
        title: "Lateral acceleration, positive to the left",
        skip_zero: false,
        of_clutches: false,
        tells: &[Stable],
        over_pass: false,
        curves: &[curve("lateral_acceleration", "", Line::Solid)],
    },
    Plot {
        title: "Steering-wheel angle, positive to the left",
        skip_zero: false,
        of_clutches: false,
        tells: &[Turn, Stable],
        over_pass: true,
        curves: &[curve("steering_wheel_angle", "", Line::Solid)],
    },
    Plot {
        title: "Accelerator position",
        skip_zero: false,
        of_clutches: false,
        tells: &[Turn],
        over_pass: true,
        curves: &[curve("pedal", "", Line::Solid)],
    },
    Plot {
        title: "Slip of the front wheels, positive driving",
        skip_zero: false,
        of_clutches: false,
        tells: &[Pull],
        over_pass: false,
        curves: &[
            curve("plant_longitudinal_slip_front_left", "left", Line::Solid),
            curve("plant_longitudinal_slip_front_right", "right", Line::Dashed),
        ],
    },
    Plot {
        title: "Clutch torque on the rear wheels",
        skip_zero: false,
        of_clutches: true,
        tells: &[Turn, Pull, Stable, Cool],
        over_pass: true,
        curves: &[
            curve("plant_clutch_torque_left", "left", Line::Solid),
            curve("plant_clutch_torque_right", "right", Line::Dashed),
        ],
    },
    Plot {
        title: "Yaw moment of the rear axle, positive to the left",
        skip_zero: true,
        of_clutches: true,
        tells: &[Turn, Stable],
        over_pass: true,
        curves: &[
            curve("plant_yaw_moment_axle", "", Line::Solid),
            curve("yaw_moment_wanted", "wanted", Line::DashDot),
        ],
    },
    Plot {
        title: "Clutch slip, shaft minus wheel",
        skip_zero: false,
        of_clutches: true,
        tells: &[Pull, Cool],
        over_pass: false,
        curves: &[
            curve("plant_clutch_slip_left", "left", Line::Solid),
            curve("plant_clutch_slip_right", "right", Line::Dashed),
        ],
    },
    Plot {
        title: "Heat made in the clutches",
        skip_zero: false,
        of_clutches: true,
        tells: &[Pull, Cool],
        over_pass: true,
        curves: &[
            curve("plant_clutch_heat_left", "left", Line::Solid),
            curve("plant_clutch_heat_right", "right", Line::Dashed),
        ],
    },
    Plot {
        title: "Clutch surface temperature",
        skip_zero: false,
        of_clutches: true,
        tells: &[Pull, Cool],
        over_pass: true,
        curves: &[
            curve("plant_clutch_surface_left", "left", Line::Solid),
            curve("plant_clutch_surface_right", "right", Line::Dashed),
        ],
    },
    Plot {
        title: "Right clutch surface as estimated, bounded and true",
        skip_zero: false,
        of_clutches: true,
        tells: &[Cool],
        over_pass: false,
        curves: &[
            curve("estimated_surface_right", "estimated", Line::Solid),
            curve("bound_surface_right", "bound", Line::Dashed),
            curve("plant_clutch_surface_right", "true", Line::Dotted),
        ],
    },
    Plot {
        title: "Oil as estimated, bounded and true",
        skip_zero: false,
        of_clutches: true,
        tells: &[Cool],
        over_pass: true,
        curves: &[
            curve("estimated_oil", "estimated", Line::Solid),
            curve("bound_oil", "bound", Line::Dashed),
            curve("plant_oil", "true", Line::Dotted),
        ],
    },
    Plot {
        title: "Share of the capacity heat leaves",
        skip_zero: false,
        of_clutches: true,
        tells: &[Cool],
        over_pass: false,
        curves: &[
            curve("heat_ceiling_left", "left", Line::Solid),
            curve("heat_ceiling_right", "right", Line::Dashed),
        ],
    },
    Plot {
        title: "Time to the first heat limit at the present use",
        skip_zero: false,
        of_clutches: true,
        tells: &[Cool],
        over_pass: false,
        curves: &[
            curve("time_to_heat_limit_left", "left", Line::Solid),
            curve("time_to_heat_limit_right", "right", Line::Dashed),
        ],
    },
];

/// Unit shown and factor from channel and unit of the record: angles in degrees, heat in kilowatts. The slip of a clutch
/// stays in rad/s, the unit in which it is multiplied by a torque.
pub fn shown<'a>(channel: &str, unit: &'a str) -> (&'a str, f64) {
    const DEGREES: f64 = 180.0 / std::f64::consts::PI;
    match unit {
        "rad/s" if channel.contains("clutch_slip") => (unit, 1.0),
        "rad" => ("deg", DEGREES),
        "rad/s" => ("deg/s", DEGREES),
        "W" => ("kW", 1.0e-3),
        "degC" => ("\u{b0}C", 1.0),
        "Pa" => ("MPa", 1.0e-6),
        other => (other, 1.0),
    }
}
