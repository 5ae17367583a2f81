//! Rules between tunables that no single range can express.

use super::table::Tunables;

/// One rule and what it says when it is broken.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// Names of the entries concerned, `group.name`.
    pub entries: &'static [&'static str],
    /// What must hold, and what to do otherwise.
    pub message: &'static str,
    /// Whether it holds; NaN never holds.
    pub holds: fn(&Tunables<f32>) -> bool,
}

/// All rules.
pub const RULES: &[Rule] = &[
    Rule {
        entries: &["vehicle.front_axle_to_cg_m", "vehicle.wheelbase_m"],
        message: "the centre of gravity must lie between the axles: front_axle_to_cg_m must be less than wheelbase_m",
        holds: |t| t.vehicle.front_axle_to_cg_m < t.vehicle.wheelbase_m,
    },
    Rule {
        entries: &["yaw_reference.understeer_agile_rad_s2_m", "yaw_reference.understeer_steady_rad_s2_m"],
        message: "the agile end must not understeer more than the steady end: lower understeer_agile_rad_s2_m or raise understeer_steady_rad_s2_m",
        holds: |t| t.yaw_reference.understeer_agile_rad_s2_m <= t.yaw_reference.understeer_steady_rad_s2_m,
    },
    Rule {
        entries: &["thermal.oil_start_degc", "thermal.oil_limit_degc", "thermal.oil_absolute_degc"],
        message: "a ceiling needs a slope: oil_start_degc < oil_limit_degc < oil_absolute_degc",
        holds: |t| {
            t.thermal.oil_start_degc < t.thermal.oil_limit_degc && t.thermal.oil_limit_degc < t.thermal.oil_absolute_degc
        },
    },
    Rule {
        entries: &["thermal.surface_start_degc", "thermal.surface_limit_degc", "thermal.surface_absolute_degc"],
        message: "a ceiling needs a slope: surface_start_degc < surface_limit_degc < surface_absolute_degc",
        holds: |t| {
            t.thermal.surface_start_degc < t.thermal.surface_limit_degc
                && t.thermal.surface_limit_degc < t.thermal.surface_absolute_degc
        },
    },
    Rule {
        entries: &["thermal.core_start_degc", "thermal.core_limit_degc"],
        message: "a ceiling needs a slope: core_start_degc < core_limit_degc",
        holds: |t| t.thermal.core_start_degc < t.thermal.core_limit_degc,
    },
];
