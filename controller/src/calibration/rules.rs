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

/// What must hold, without the words: see the bounds of a page.
pub(super) static HOLDS: [fn(&Tunables<f32>) -> bool; RULES.len()] = {
    let mut holds = [RULES[0].holds; RULES.len()];
    let mut rule = 0;
    while rule < RULES.len() {
        holds[rule] = RULES[rule].holds;
        rule += 1;
    }
    holds
};

/// All rules.
pub const RULES: &[Rule] = &[
    Rule {
        entries: &["vehicle.front_axle_to_cg_m", "vehicle.wheelbase_m"],
        message: "the centre of gravity must lie between the axles: front_axle_to_cg_m must be less than wheelbase_m",
        holds: |t| t.vehicle.front_axle_to_cg_m < t.vehicle.wheelbase_m,
    },
    Rule {
        entries: &[
            "yaw_reference.understeer_agile_rad_s2_m",
            "yaw_reference.understeer_steady_rad_s2_m",
        ],
        message: "the agile end must not understeer more than the steady end: lower understeer_agile_rad_s2_m or raise understeer_steady_rad_s2_m",
        holds: |t| {
            t.yaw_reference.understeer_agile_rad_s2_m <= t.yaw_reference.understeer_steady_rad_s2_m
        },
    },
    Rule {
        entries: &[
            "derating.oil_start_degc",
            "derating.oil_limit_degc",
            "derating.oil_absolute_degc",
        ],
        message: "a ceiling needs a slope: oil_start_degc < oil_limit_degc < oil_absolute_degc",
        holds: |t| {
            let heat = &t.derating;
            heat.oil_start_degc < heat.oil_limit_degc
                && heat.oil_limit_degc < heat.oil_absolute_degc
        },
    },
    Rule {
        entries: &[
            "derating.surface_start_degc",
            "derating.surface_limit_degc",
            "derating.surface_absolute_degc",
        ],
        message: "a ceiling needs a slope: surface_start_degc < surface_limit_degc < surface_absolute_degc",
        holds: |t| {
            let heat = &t.derating;
            heat.surface_start_degc < heat.surface_limit_degc
                && heat.surface_limit_degc < heat.surface_absolute_degc
        },
    },
    Rule {
        entries: &["derating.core_start_degc", "derating.core_limit_degc"],
        message: "a ceiling needs a slope: core_start_degc < core_limit_degc",
        holds: |t| t.derating.core_start_degc < t.derating.core_limit_degc,
    },
    Rule {
        entries: &["derating.oil_reentry_degc", "derating.oil_absolute_degc"],
        message: "a clutch may close again only below the temperature that opened it: oil_reentry_degc < oil_absolute_degc",
        holds: |t| t.derating.oil_reentry_degc < t.derating.oil_absolute_degc,
    },
    Rule {
        entries: &[
            "derating.surface_reentry_degc",
            "derating.surface_absolute_degc",
        ],
        message: "a clutch may close again only below the temperature that opened it: surface_reentry_degc < surface_absolute_degc",
        holds: |t| t.derating.surface_reentry_degc < t.derating.surface_absolute_degc,
    },
    Rule {
        entries: &[
            "vehicle_state.unlike_tyres_start",
            "vehicle_state.unlike_tyres_end",
        ],
        message: "a fade needs a width: unlike_tyres_start < unlike_tyres_end",
        holds: |t| t.vehicle_state.unlike_tyres_start < t.vehicle_state.unlike_tyres_end,
    },
    Rule {
        entries: &[
            "vehicle_state.friction_slip_start",
            "vehicle_state.friction_slip_end",
        ],
        message: "a fade needs a width: friction_slip_start < friction_slip_end",
        holds: |t| t.vehicle_state.friction_slip_start < t.vehicle_state.friction_slip_end,
    },
    Rule {
        entries: &[
            "driver_intent.urgency_start_rad_s",
            "driver_intent.urgency_end_rad_s",
        ],
        message: "a fade needs a width: urgency_start_rad_s < urgency_end_rad_s",
        holds: |t| t.driver_intent.urgency_start_rad_s < t.driver_intent.urgency_end_rad_s,
    },
    Rule {
        entries: &[
            "yaw_control.oversteer_start_rad_s",
            "yaw_control.oversteer_end_rad_s",
        ],
        message: "a fade needs a width: oversteer_start_rad_s < oversteer_end_rad_s",
        holds: |t| t.yaw_control.oversteer_start_rad_s < t.yaw_control.oversteer_end_rad_s,
    },
    Rule {
        entries: &["authority.trust_slip_start", "authority.trust_slip_end"],
        message: "a fade needs a width: trust_slip_start < trust_slip_end",
        holds: |t| t.authority.trust_slip_start < t.authority.trust_slip_end,
    },
    Rule {
        entries: &[
            "authority.trust_lateral_start_m_s2",
            "authority.trust_lateral_end_m_s2",
        ],
        message: "a fade needs a width: trust_lateral_start_m_s2 < trust_lateral_end_m_s2",
        holds: |t| t.authority.trust_lateral_start_m_s2 < t.authority.trust_lateral_end_m_s2,
    },
    Rule {
        entries: &["learning.touch_least_nm", "learning.touch_most_nm"],
        message: "a band needs a width: touch_least_nm < touch_most_nm",
        holds: |t| t.learning.touch_least_nm < t.learning.touch_most_nm,
    },
];
