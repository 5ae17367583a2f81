//! What changed in the table from one layout of the page to the next.
//!
//! A setting file written for an older layout is carried over by replaying these steps, so that every tunable that is in
//! both layouts keeps its number and its meaning. A test replays them on the recorded list of the first layout and must
//! arrive at today's table, so no change of the table can be forgotten here. Layout 1 was never recorded.

use super::page::LAYOUT;

/// Group and name of a tunable.
pub type Place = (&'static str, &'static str);

/// One change of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// A new tunable; its default is the law as it is.
    Added(Place),
    /// The same number under another name.
    Renamed {
        /// Where it was.
        from: Place,
        /// Where it is.
        to: Place,
    },
    /// A tunable that is no more.
    Removed {
        /// Where it was.
        from: Place,
        /// What takes its place, in words.
        instead: &'static str,
    },
    /// Another default.
    DefaultMoved {
        /// The tunable.
        of: Place,
        /// Its default before.
        before: f32,
    },
}

/// Everything that changed when a layout came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The layout that came.
    pub layout: u32,
    /// What changed.
    pub changes: &'static [Change],
}

/// First layout a file can be carried over from.
pub const FIRST: u32 = 2;

/// The steps, oldest first, one for each layout after the first.
pub const HISTORY: &[Step] = &[
    Step {
        layout: 3,
        changes: &[
            Change::Added(("monitor", "slide_tolerance_rad_s")),
            Change::Added(("monitor", "silent_time_s")),
            Change::Added(("yaw_control", "slide_full_deg")),
            Change::Added(("yaw_control", "slide_end_rad")),
            Change::Added(("yaw_control", "slide_torque_nm")),
            Change::Added(("yaw_control", "slide_turn_m_s2")),
        ],
    },
    Step {
        layout: 4,
        changes: &[Change::Added(("authority", "crawl_sign_rad_s"))],
    },
    Step {
        layout: 5,
        changes: &[
            Change::Added(("heat_bound", "share")),
            Change::Added(("heat_bound", "beyond_k")),
        ],
    },
    Step {
        layout: 6,
        changes: &[
            Change::Added(("vehicle_state", "speed_margin_free_m_s2")),
            Change::Added(("vehicle_state", "sideslip_agreed_s")),
            Change::Added(("vehicle_state", "sideslip_from_speed_s")),
            Change::DefaultMoved {
                of: ("vehicle_state", "sideslip_leak_s"),
                before: 2.5,
            },
        ],
    },
    Step {
        layout: 7,
        changes: &[
            Change::Added(("derating", "least_share")),
            Change::Removed {
                from: ("vehicle_state", "radius_learning_s"),
                instead: "vehicle_state.radius_learning_m: ratios are averaged over way, not time",
            },
            Change::Added(("vehicle_state", "speed_margin_anti_lock_m_s2")),
            Change::Added(("vehicle_state", "radius_learning_m")),
            Change::Added(("vehicle_state", "unlike_tyres_start")),
            Change::Added(("vehicle_state", "unlike_tyres_end")),
            Change::Added(("authority", "unlike_tyres_capacity")),
            Change::DefaultMoved {
                of: ("vehicle_state", "radius_bound"),
                before: 0.03,
            },
            Change::Added(("life_count", "power_class_w")),
            Change::Added(("life_count", "slip_class_rad_s")),
            Change::Added(("life_count", "closed_nm")),
            Change::Added(("life_count", "cycle_step_k")),
            Change::Added(("life_count", "cycle_reference_k")),
            Change::Added(("life_count", "cycle_reference_thousand")),
            Change::Added(("life_count", "cycle_exponent")),
            Change::Added(("life_count", "wear_mm3_gj")),
            Change::Added(("life_count", "wear_friction")),
            Change::Added(("life_count", "lining_area_mm2")),
            Change::Added(("life_count", "wear_limit_um")),
            Change::Added(("life_count", "oil_activation_j_mol")),
            Change::Added(("life_count", "oil_reference_degc")),
            Change::Added(("life_count", "oil_life_h")),
            Change::Added(("life_count", "oil_soon_share")),
            Change::Added(("pressure_watch", "tolerance_bar")),
            Change::Added(("pressure_watch", "tolerance_share")),
            Change::Added(("pressure_watch", "follow_s")),
            Change::Added(("pressure_watch", "high_confirm_s")),
            Change::Added(("pressure_watch", "low_confirm_s")),
            Change::Added(("pressure_watch", "stuck_s")),
            Change::Added(("pressure_watch", "open_share")),
            Change::Added(("pressure_watch", "heal_s")),
            Change::Added(("pressure_watch", "latch_s")),
            Change::Added(("pressure_watch", "match_share")),
            Change::Added(("pressure_watch", "match_least_nm")),
            Change::Added(("pressure_watch", "match_speed_m_s")),
            Change::Added(("pressure_watch", "match_steer_rad")),
            Change::Added(("learning", "valve_offset_bar")),
            Change::Added(("learning", "valve_gain_share")),
            Change::Added(("learning", "valve_least_bar")),
            Change::Added(("learning", "valve_settled_bar")),
            Change::Added(("learning", "valve_event_s")),
            Change::Added(("learning", "valve_share")),
            Change::Added(("learning", "valve_offset_step_bar")),
            Change::Added(("learning", "valve_gain_step")),
            Change::Added(("learning", "touch_share")),
            Change::Added(("learning", "touch_step_bar")),
            Change::Added(("learning", "touch_event_s")),
            Change::Added(("learning", "touch_least_nm")),
            Change::Added(("learning", "touch_most_nm")),
            Change::Added(("learning", "touch_speed_m_s")),
            Change::Added(("learning", "touch_lateral_m_s2")),
            Change::Added(("learning", "warm_oil_degc")),
        ],
    },
    Step {
        layout: 8,
        changes: &[
            Change::Added(("conditioning", "wheel_speed_rate_rad_s2")),
            Change::Added(("conditioning", "yaw_rate_rate_rad_s2")),
            Change::Added(("conditioning", "acceleration_rate_m_s3")),
            Change::Added(("conditioning", "steering_rate_rad_s")),
            Change::Added(("conditioning", "torque_rate_nm_s")),
            Change::Added(("conditioning", "brake_rate_bar_s")),
            Change::Added(("monitor", "wheel_apart")),
            Change::Added(("monitor", "quiet_torque_nm")),
            Change::Added(("monitor", "quiet_brake_bar")),
            Change::Added(("monitor", "slip_confirm_s")),
            Change::Added(("monitor", "still_time_s")),
            Change::Added(("monitor", "still_wheel_rad_s")),
            Change::Added(("monitor", "still_yaw_rad_s")),
            Change::Added(("monitor", "lateral_tolerance_m_s2")),
            Change::Added(("monitor", "steering_tolerance_rad")),
            Change::Added(("monitor", "steering_confirm_s")),
            Change::Added(("monitor", "torque_tolerance_nm")),
            Change::Added(("monitor", "lifted_speed_m_s")),
            Change::Added(("monitor", "lifted_confirm_s")),
            Change::Added(("monitor", "bench_speed_m_s")),
            Change::Added(("monitor", "bench_confirm_s")),
            Change::Added(("monitor", "wash_speed_m_s")),
            Change::Added(("monitor", "situation_heal_s")),
            Change::Added(("monitor", "help_torque_nm")),
            Change::Added(("traction", "front_slip_gain_speed_m_s")),
        ],
    },
    Step {
        layout: 9,
        changes: &[
            Change::Added(("monitor", "order_heal_s")),
            Change::Added(("authority", "wind_up_cold")),
        ],
    },
];

// A layout without its step does not build.
const _: () = assert!(FIRST as usize + HISTORY.len() == LAYOUT as usize);
