/*
 * Couplet: control law for a rear axle with two independently controlled wet clutches in place of a differential.
 *
 * CAUTION. A reference implementation. It is not certified and not for road use without a functional-safety process of the
 * user's own. A wrong command to these clutches can spin a car. Local rules and licensed engineers come first. If a call
 * does not give COUPLET_OK, open both clutches.
 *
 * Memory. All memory is the caller's; the library allocates nothing, keeps no pointer and has no state of its own. A
 * controller lives in couplet_size() bytes aligned to couplet_alignment(), or simply in
 *     static _Alignas(COUPLET_MEMORY_ALIGNMENT) unsigned char memory[COUPLET_MEMORY_BYTES];
 *     couplet_law *law = (couplet_law *)memory;
 *
 * Threads and interrupts. One controller: one call at a time, from any thread. Different controllers are independent.
 * A call that comes in between is told COUPLET_BUSY as far as that can be seen without a lock: a help in the search for
 * faults, not a lock. Functions without a controller may be called from anywhere at any time.
 *
 * Time. One couplet_step in every period. A step takes the same memory always, calls nothing outside and ends.
 *
 * Units and signs. SI and degC, bar, as said at each member. Axes after ISO 8855: x forward, y left, z up; yaw to the left
 * positive; a torque that drives the car forward positive.
 *
 * Safety, in the comments below, is what the caller promises and the library cannot check. NULL, wrong alignment, wrong
 * size and memory without a controller are found and told by a status.
 *
 * Generated; do not edit.
 */

#ifndef COUPLET_H
#define COUPLET_H

#include <stddef.h>
#include <stdint.h>

/*
 Layout of everything below, a number made from all names, units and their order: hand it to `couplet_init`.
 */
#define COUPLET_LAYOUT 4258827055

/*
 Number of inputs.
 */
#define COUPLET_INPUTS 21

/*
 Number of outputs.
 */
#define COUPLET_OUTPUTS 46

/*
 Number of findings in the trace.
 */
#define COUPLET_TRACE 84

/*
 Layout of the calibration table: belongs into `layout` of a page.
 */
#define COUPLET_PAGE_LAYOUT 9

/*
 Number of tunables: belongs into `entries` of a page.
 */
#define COUPLET_PAGE_ENTRIES 270

/*
 Bytes of a record over key-off.
 */
#define COUPLET_RECORD_BYTES 672

/*
 Bytes that are enough for a controller on every machine; `couplet_size` tells how many are needed on this one.
 */
#define COUPLET_MEMORY_BYTES 12288

/*
 Alignment that is enough on every machine, bytes.
 */
#define COUPLET_MEMORY_ALIGNMENT 16

/*
 What a call came to. Anything but `COUPLET_OK` means that nothing was changed, `COUPLET_BROKEN` excepted.
 */
enum couplet_status
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
  /*
   Done.
   */
  COUPLET_OK = 0,
  /*
   A pointer that must lead somewhere is NULL.
   */
  COUPLET_NULL_ARGUMENT = 1,
  /*
   A pointer is not aligned for what it should lead to.
   */
  COUPLET_MISALIGNED = 2,
  /*
   The memory or buffer has fewer bytes than needed, or a record has not exactly the bytes it should have.
   */
  COUPLET_WRONG_SIZE = 3,
  /*
   There is no controller in this memory: never initialised, overwritten, or made by another version.
   */
  COUPLET_NO_CONTROLLER = 4,
  /*
   The header was made for another version of the library.
   */
  COUPLET_OTHER_HEADER = 5,
  /*
   The control period is outside 1000 to 20000 microseconds.
   */
  COUPLET_PERIOD = 6,
  /*
   The page was made for another layout of the calibration table.
   */
  COUPLET_PAGE_OTHER_LAYOUT = 7,
  /*
   The page holds another number of entries than the table.
   */
  COUPLET_PAGE_OTHER_COUNT = 8,
  /*
   A number of the page is NaN or outside its range.
   */
  COUPLET_PAGE_OUT_OF_RANGE = 9,
  /*
   Numbers of the page contradict each other.
   */
  COUPLET_PAGE_CONTRADICTION = 10,
  /*
   No entry, signal, name or part of this number or name.
   */
  COUPLET_NO_SUCH_ENTRY = 11,
  /*
   A number is NaN, infinite or outside what the function takes.
   */
  COUPLET_NOT_A_NUMBER = 12,
  /*
   Two arguments share memory that must not.
   */
  COUPLET_OVERLAP = 13,
  /*
   Another call is at work on this controller: one thread at a time.
   */
  COUPLET_BUSY = 14,
  /*
   The library failed inside; this controller is lost and must be initialised anew. Cannot happen without feature `std`.
   */
  COUPLET_BROKEN = 15,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum couplet_status couplet_status;
#else
typedef uint32_t couplet_status;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/*
 A controller in the caller's memory. Only its address crosses the border.
 */
typedef struct couplet_law couplet_law;

/*
 The calibration page: every tunable of the law, `group_name`. Fill it with `couplet_page_default`, change what is to differ.
 */
typedef struct couplet_page {
  /*
   Must be `COUPLET_PAGE_LAYOUT`.
   */
  uint32_t layout;
  /*
   Must be `COUPLET_PAGE_ENTRIES`.
   */
  uint32_t entries;
  /*
   How much the car turns like a rear-driven one: target understeer gradient, feed-forward, rear share. Unit -, 0 to 1, default 0.5.
   */
  float setting_agility;
  /*
   How calm it stays: yaw damping, pre-load on fast steering, sideslip limit. Unit -, 0 to 1, default 0.5.
   */
  float setting_steadiness;
  /*
   Sideslip the driver may hold before the law counters; zero unless asked for. Unit deg, 0 to 40, default 0.
   */
  float setting_slide_allowance_deg;
  /*
   Mass with driver. Unit kg, 600 to 4000, default 1720.
   */
  float vehicle_mass_kg;
  /*
   Yaw inertia about the centre of gravity. Unit kg m2, 500 to 8000, default 2900.
   */
  float vehicle_yaw_inertia_kg_m2;
  /*
   Distance of the axles. Unit m, 1.8 to 4, default 2.72.
   */
  float vehicle_wheelbase_m;
  /*
   Distance of the centre of gravity behind the front axle. Unit m, 0.5 to 3, default 1.142.
   */
  float vehicle_front_axle_to_cg_m;
  /*
   Height of the centre of gravity. Unit m, 0.2 to 1.2, default 0.56.
   */
  float vehicle_cg_height_m;
  /*
   Track, both axles. Unit m, 1 to 2.2, default 1.58.
   */
  float vehicle_track_m;
  /*
   Effective rolling radius. Unit m, 0.2 to 0.6, default 0.32.
   */
  float vehicle_wheel_radius_m;
  /*
   Steering-wheel angle over road-wheel angle. Unit -, 8 to 30, default 15.
   */
  float vehicle_steering_ratio;
  /*
   Front axle, with steering compliance. Unit N/rad, 20000 to 400000, default 98000.
   */
  float vehicle_front_cornering_stiffness_n_rad;
  /*
   Rear axle. Unit N/rad, 20000 to 400000, default 112000.
   */
  float vehicle_rear_cornering_stiffness_n_rad;
  /*
   Longitudinal force of one rear wheel per unit slip. Unit N, 10000 to 300000, default 70000.
   */
  float vehicle_rear_slip_stiffness_n;
  /*
   How much faster the rear shaft turns than the front carrier. Unit -, 0 to 0.05, default 0.02.
   */
  float vehicle_overspeed;
  /*
   A value older than this is no longer fresh. Unit s, 0.005 to 0.5, default 0.03.
   */
  float conditioning_longest_age_s;
  /*
   A last good value is believed this long, then it is lost. Unit s, 0 to 1, default 0.1.
   */
  float conditioning_hold_time_s;
  /*
   A wheel speed that changes faster is not believed: 3000 N m of brake over 1.2 kg m2. Unit rad/s2, 100 to 100000, default 2500.
   */
  float conditioning_wheel_speed_rate_rad_s2;
  /*
   The same for the yaw rate; tyres make 10 to 20. Unit rad/s2, 5 to 10000, default 40.
   */
  float conditioning_yaw_rate_rate_rad_s2;
  /*
   The same for both accelerations. Unit m/s3, 50 to 100000, default 600.
   */
  float conditioning_acceleration_rate_m_s3;
  /*
   The same for the steering-wheel angle; fast hands make 20 to 26, from memory. Unit rad/s, 5 to 1000, default 60.
   */
  float conditioning_steering_rate_rad_s;
  /*
   The same for both powertrain torques. Unit N m/s, 5000 to 10000000, default 100000.
   */
  float conditioning_torque_rate_nm_s;
  /*
   The same for the brake pressure. Unit bar/s, 100 to 100000, default 5000.
   */
  float conditioning_brake_rate_bar_s;
  /*
   Yaw rate and the rear wheels' speed difference may differ this much. Unit rad/s, 0.01 to 1, default 0.2.
   */
  float monitor_yaw_rate_tolerance_rad_s;
  /*
   No yaw cross check below this speed. Unit m/s, 1 to 20, default 5.
   */
  float monitor_yaw_check_speed_m_s;
  /*
   A contradiction must last this long to count; release must be ordered within 100 ms. Unit s, 0.005 to 2, default 0.06.
   */
  float monitor_confirm_time_s;
  /*
   It must be gone this long to be forgotten. Unit s, 0.1 to 60, default 2.
   */
  float monitor_heal_time_s;
  /*
   Further difference allowed where the setting allows a slide: wheels spin and yaw rate leaves lateral acceleration over speed. Unit rad/s, 0 to 2, default 0.4.
   */
  float monitor_slide_tolerance_rad_s;
  /*
   Where the setting allows a slide: after an order to open, wheels stopped by a hand brake are no witnesses of the yaw rate for this long. Unit s, 0 to 5, default 0.5.
   */
  float monitor_silent_time_s;
  /*
   The order channel must be heard again this long before both clutches may close after it was lost: longer than the pauses of a loose plug. Unit s, 0 to 60, default 0.5.
   */
  float monitor_order_heal_s;
  /*
   Share of the capacity left when one wheel speed or the yaw rate is lost. Unit -, 0 to 1, default 0.35.
   */
  float monitor_reduced_capacity;
  /*
   A wheel this share of the others' speed apart from three that agree, without torque or brake to slip by, is not believed. Unit -, 0.1 to 1, default 0.35.
   */
  float monitor_wheel_apart;
  /*
   Powertrain torque below which no wheel spins. Unit N m, 20 to 2000, default 150.
   */
  float monitor_quiet_torque_nm;
  /*
   Brake pressure below which no wheel locks. Unit bar, 0.1 to 20, default 2.
   */
  float monitor_quiet_brake_bar;
  /*
   Wheel speeds, lateral acceleration and torque must contradict the others this long: a freely rolling tyre catches its speed sooner. Unit s, 0.05 to 5, default 0.5.
   */
  float monitor_slip_confirm_s;
  /*
   A value that keeps every bit this long while another says that it must move is stuck. Unit s, 0.05 to 5, default 0.2.
   */
  float monitor_still_time_s;
  /*
   So far the wheels' mean must have moved. Unit rad/s, 0.5 to 50, default 2.5.
   */
  float monitor_still_wheel_rad_s;
  /*
   So far lateral acceleration over speed must have moved for the yaw rate, and times speed the yaw rate for the acceleration. Unit rad/s, 0.02 to 2, default 0.2.
   */
  float monitor_still_yaw_rad_s;
  /*
   Lateral acceleration and yaw rate times speed may differ this much while the car hardly turns: a bank of a quarter and a gust. Unit m/s2, 1 to 25, default 5.
   */
  float monitor_lateral_tolerance_m_s2;
  /*
   Steering-wheel angle from which a car above 10 m/s must turn. Unit rad, 0.2 to 10, default 0.8.
   */
  float monitor_steering_tolerance_rad;
  /*
   So long it may not: on ice a car pushes straight on, but not for long. Unit s, 0.1 to 20, default 2.
   */
  float monitor_steering_confirm_s;
  /*
   The powertrain may give this much more than it was asked for. Unit N m, 100 to 10000, default 800.
   */
  float monitor_torque_tolerance_nm;
  /*
   One axle turns faster than this while the other stands, without torque or brake: towed on an axle, or a brake tester. Unit m/s, 0.5 to 10, default 1.2.
   */
  float monitor_lifted_speed_m_s;
  /*
   For so long, and so long in neutral at walking pace: a car wash, or pushed. Unit s, 0.1 to 10, default 1.
   */
  float monitor_lifted_confirm_s;
  /*
   Front wheels this fast under power while the rear ones stand: a roller bench or a jack, or a launch that will not come. Unit m/s, 3 to 30, default 6.
   */
  float monitor_bench_speed_m_s;
  /*
   For so long. Unit s, 0.5 to 20, default 3.
   */
  float monitor_bench_confirm_s;
  /*
   Walking pace of a car wash. Unit m/s, 0.5 to 10, default 3.
   */
  float monitor_wash_speed_m_s;
  /*
   So long after towing, bench or wash ended the axle closes again, from nothing and no faster than the rate bound. Unit s, 0.05 to 10, default 0.2.
   */
  float monitor_situation_heal_s;
  /*
   Powertrain torque the car is asked to keep below while a clutch does not open: power makes it drift half as far again. Unit N m, 0 to 5000, default 400.
   */
  float monitor_help_torque_nm;
  /*
   Measured and commanded pressure may differ this much ... Unit bar, 0.5 to 20, default 2.5.
   */
  float pressure_watch_tolerance_bar;
  /*
   ... plus this share: a valve not learned yet is no fault. Unit -, 0 to 0.6, default 0.25.
   */
  float pressure_watch_tolerance_share;
  /*
   Time constant within which the pressure of a warm clutch surely follows, dead time included; cold oil as in slip_power. Unit s, 0.02 to 2, default 0.15.
   */
  float pressure_watch_follow_s;
  /*
   Too much pressure must last this long to count; release must be ordered within 100 ms of its cause. Unit s, 0.005 to 0.2, default 0.015.
   */
  float pressure_watch_high_confirm_s;
  /*
   Too little pressure must last this long to count. Unit s, 0.02 to 2, default 0.15.
   */
  float pressure_watch_low_confirm_s;
  /*
   A released clutch that keeps its pressure this long counts as one that does not open. Unit s, 0.05 to 5, default 0.25.
   */
  float pressure_watch_stuck_s;
  /*
   Less than this share of the pressure is no pressure; more is a leak. Unit -, 0 to 1, default 0.3.
   */
  float pressure_watch_open_share;
  /*
   Pressures must agree this long for a finding to be forgotten. Unit s, 0.1 to 60, default 2.
   */
  float pressure_watch_heal_s;
  /*
   A finding that stood this long altogether stays until the next start. Unit s, 0.5 to 600, default 5.
   */
  float pressure_watch_latch_s;
  /*
   A clutch that does not open is matched with up to this share of the torque the rear wheels show; 0: never. Unit -, 0 to 2, default 1.3.
   */
  float pressure_watch_match_share;
  /*
   Torque shown below this is matched with nothing: it may be noise. Unit N m, 10 to 1000, default 80.
   */
  float pressure_watch_match_least_nm;
  /*
   Matched in full from this speed on, not at all below half of it: slow cars drift little and wind up much. Unit m/s, 2 to 30, default 12.
   */
  float pressure_watch_match_speed_m_s;
  /*
   Road-wheel angle from which nothing is matched; in full up to half of it. Unit rad, 0.02 to 1, default 0.12.
   */
  float pressure_watch_match_steer_rad;
  /*
   At crawl, speed may change this much faster than the accelerometer says: room for a grade not learned yet. Unit m/s2, 0.2 to 10, default 2.5.
   */
  float vehicle_state_speed_margin_m_s2;
  /*
   The same from 10 m/s on. Unit m/s2, 0.1 to 10, default 0.5.
   */
  float vehicle_state_speed_margin_fast_m_s2;
  /*
   The same the way the wheels cannot be wrong: down when driven, up when braked, both when rolling. Unit m/s2, 0.1 to 20, default 0.7.
   */
  float vehicle_state_speed_margin_free_m_s2;
  /*
   The same downwards under anti-lock control, when no wheel rolls freely for long and the slope is known; three times this upwards. Unit m/s2, 0.01 to 10, default 0.05.
   */
  float vehicle_state_speed_margin_anti_lock_m_s2;
  /*
   The same without an accelerometer: what tyres can do. Unit m/s2, 1 to 30, default 12.
   */
  float vehicle_state_speed_margin_blind_m_s2;
  /*
   Time constant with which the slope is learned from rolling wheels. Unit s, 0.1 to 20, default 1.5.
   */
  float vehicle_state_slope_memory_s;
  /*
   Time constant with which the integrated sideslip returns to the single-track value in a slide. Unit s, 0.1 to 20, default 5.
   */
  float vehicle_state_sideslip_leak_s;
  /*
   The same while the car turns as it is steered, up to 10 m/s; about twice as long from 16 m/s on. Unit s, 0.1 to 20, default 0.25.
   */
  float vehicle_state_sideslip_agreed_s;
  /*
   Turning otherwise than steered: how far a change of speed that was not felt counts as sideways speed, per yaw rate. Unit s, 0 to 20, default 8.
   */
  float vehicle_state_sideslip_from_speed_s;
  /*
   Friction is never taken lower than this. Unit -, 0.02 to 0.6, default 0.15.
   */
  float vehicle_state_friction_floor;
  /*
   Friction is never taken higher than this. Unit -, 0.3 to 1.5, default 1.05.
   */
  float vehicle_state_friction_ceiling;
  /*
   Friction assumed beyond what has been used already, without slip. Unit -, 0.05 to 0.8, default 0.42.
   */
  float vehicle_state_friction_allowance;
  /*
   Further allowance per friction used. Unit -, 0 to 1, default 0.25.
   */
  float vehicle_state_friction_growth;
  /*
   Tyre slip from which the allowance shrinks. Unit -, 0.005 to 0.2, default 0.04.
   */
  float vehicle_state_friction_slip_start;
  /*
   Tyre slip at which the allowance is gone. Unit -, 0.02 to 0.5, default 0.14.
   */
  float vehicle_state_friction_slip_end;
  /*
   Time constant with which friction used is forgotten. Unit s, 0.2 to 60, default 3.
   */
  float vehicle_state_friction_memory_s;
  /*
   Time constant with which a banked road is told from sideslip. Unit s, 1 to 60, default 15.
   */
  float vehicle_state_bank_memory_s;
  /*
   Time constant with which sideslip is given up at crawl. Unit s, 0.02 to 2, default 0.1.
   */
  float vehicle_state_crawl_sideslip_s;
  /*
   Lag of the friction in use: a noise peak is no grip. Unit s, 0.01 to 2, default 0.15.
   */
  float vehicle_state_friction_filter_s;
  /*
   Way over which the rolling-radius ratios are averaged, pieces of it counted by how sure they are. Unit m, 50 to 5000, default 300.
   */
  float vehicle_state_radius_learning_m;
  /*
   A ratio is never taken further from one than this: a spare wheel is a tenth smaller. Unit -, 0 to 0.2, default 0.12.
   */
  float vehicle_state_radius_bound;
  /*
   Radii that differ by this much, front to rear or left to right, are more than wear: a spare, mixed sizes or chains. Unit -, 0.005 to 0.1, default 0.025.
   */
  float vehicle_state_unlike_tyres_start;
  /*
   Difference that limits the axle in full. Unit -, 0.01 to 0.2, default 0.035.
   */
  float vehicle_state_unlike_tyres_end;
  /*
   Above this speed nothing is a launch. Unit m/s, 1 to 15, default 6.
   */
  float driver_intent_launch_end_m_s;
  /*
   Steering-wheel rate from which steering counts as urgent. Unit rad/s, 0.5 to 20, default 2.5.
   */
  float driver_intent_urgency_start_rad_s;
  /*
   Steering-wheel rate that is fully urgent. Unit rad/s, 1 to 40, default 9.
   */
  float driver_intent_urgency_end_rad_s;
  /*
   Time constant with which urgency is forgotten. Unit s, 0.05 to 5, default 0.5.
   */
  float driver_intent_urgency_memory_s;
  /*
   Pedal closing faster than this is a lift-off. Unit 1/s, 0.2 to 20, default 2.
   */
  float driver_intent_lift_off_rate_per_s;
  /*
   Lag of pedal and steering rates: bus steps and noise are no intent. Unit s, 0 to 0.2, default 0.03.
   */
  float driver_intent_rate_filter_s;
  /*
   A lift-off ends below this pedal position, and a pedal above it ends a lift-off. Unit -, 0.02 to 0.9, default 0.3.
   */
  float driver_intent_lift_off_pedal;
  /*
   Time constant with which a lift-off is forgotten. Unit s, 0.1 to 10, default 3.
   */
  float driver_intent_lift_off_memory_s;
  /*
   Wanted curvature from which the car counts as turning. Unit 1/m, 0.0005 to 0.05, default 0.003.
   */
  float driver_intent_turn_curvature_1_m;
  /*
   A phase lasts at least this long, unless a more urgent one interrupts it. Unit s, 0.02 to 2, default 0.15.
   */
  float driver_intent_phase_dwell_s;
  /*
   Target understeer constant at agility 1. Unit rad s2/m, 0 to 0.02, default 0.0036.
   */
  float yaw_reference_understeer_agile_rad_s2_m;
  /*
   Target understeer constant at agility 0. Unit rad s2/m, 0 to 0.02, default 0.0037.
   */
  float yaw_reference_understeer_steady_rad_s2_m;
  /*
   Yaw rate is capped at this share of mu g / V; the textbook's 0.85 cuts off what the axle reaches. Unit -, 0.5 to 1, default 0.92.
   */
  float yaw_reference_friction_share;
  /*
   Friction assumed for the soft bend while no tyre slips. Unit -, 0.4 to 1.2, default 0.95.
   */
  float yaw_reference_friction_dry;
  /*
   The reference bends towards this share of mu g / V at agility 1. Unit -, 0.5 to 2, default 1.
   */
  float yaw_reference_soft_share_agile;
  /*
   The same at agility 0: about what the car does by itself. Unit -, 0.5 to 2, default 0.76.
   */
  float yaw_reference_soft_share_steady;
  /*
   Lag of the reference at steadiness 0. Unit s, 0 to 0.5, default 0.05.
   */
  float yaw_reference_lag_agile_s;
  /*
   Lag of the reference at steadiness 1. Unit s, 0 to 0.5, default 0.06.
   */
  float yaw_reference_lag_steady_s;
  /*
   Below this speed no yaw moment is wanted; fully wanted at twice the speed. Unit m/s, 0.5 to 15, default 3.
   */
  float yaw_reference_fade_in_speed_m_s;
  /*
   How far a lift-off pulls the reference towards the curvature before it, per steadiness: 1 holds it, more makes up for what the feedback leaves over. Unit -, 0 to 3, default 1.8.
   */
  float yaw_reference_lift_off_hold_share;
  /*
   Sideslip at which the law counters, on dry road at steadiness 0. Unit deg, 1 to 20, default 5.
   */
  float yaw_reference_sideslip_limit_deg;
  /*
   Yaw-rate feedback at low speed: margins 9 dB and 50 deg on the demo car. Unit N m s/rad, 0 to 100000, default 27000.
   */
  float yaw_control_proportional_nm_s_rad;
  /*
   The same at the fast end. Unit N m s/rad, 0 to 100000, default 24000.
   */
  float yaw_control_proportional_fast_nm_s_rad;
  /*
   Speed of the fast end, 160 km/h. Unit m/s, 20 to 80, default 44.4.
   */
  float yaw_control_fast_speed_m_s;
  /*
   Yaw-rate error integral gain. Unit N m/rad, 0 to 300000, default 45000.
   */
  float yaw_control_integral_nm_rad;
  /*
   The integral part never exceeds this. Unit N m, 0 to 10000, default 900.
   */
  float yaw_control_integral_limit_nm;
  /*
   How fast the integral part is given up after a lift-off. Unit 1/s, 0 to 50, default 4.
   */
  float yaw_control_integral_release_1_s;
  /*
   How fast the integral gives way to a bound's shortfall. Unit 1/s, 0 to 100, default 8.
   */
  float yaw_control_anti_windup_1_s;
  /*
   Errors below this are ignored straight ahead: a yaw-rate bias must not steer the car. Unit rad/s, 0 to 0.1, default 0.014.
   */
  float yaw_control_dead_band_rad_s;
  /*
   The same in a turn. Unit rad/s, 0 to 0.1, default 0.001.
   */
  float yaw_control_dead_band_turn_rad_s;
  /*
   Counter-moment per sideslip beyond its limit. Unit N m/rad, 0 to 200000, default 42000.
   */
  float yaw_control_sideslip_nm_rad;
  /*
   Share of the single-track feed-forward used at agility 1. Unit -, 0 to 2, default 1.
   */
  float yaw_control_feed_forward_share;
  /*
   Moment against yaw acceleration beyond the reference's, at steadiness 1. Unit N m s2/rad, 0 to 20000, default 1500.
   */
  float yaw_control_damping_nm_s2_rad;
  /*
   Each of the two lags that smooth the measured yaw acceleration. Unit s, 0 to 0.2, default 0.02.
   */
  float yaw_control_damping_filter_s;
  /*
   Yaw acceleration error that counts as noise. Unit rad/s2, 0 to 5, default 0.2.
   */
  float yaw_control_damping_dead_band_rad_s2;
  /*
   Time constant with which the integral part is given up at crawl. Unit s, 0.02 to 5, default 0.2.
   */
  float yaw_control_crawl_memory_s;
  /*
   Yaw rate beyond the reference from which the car counts as oversteering. Unit rad/s, 0 to 0.5, default 0.03.
   */
  float yaw_control_oversteer_start_rad_s;
  /*
   Yaw rate beyond the reference at which it does so fully. Unit rad/s, 0.01 to 1, default 0.12.
   */
  float yaw_control_oversteer_end_rad_s;
  /*
   Time constant with which closed clutches are given up while the car still oversteers: under 5 % in 0.1 s. Unit s, 0.1 to 10, default 2.5.
   */
  float yaw_control_oversteer_hold_s;
  /*
   Oversteer held beyond which nothing closed is given up: less is a swing that ends by itself. Unit -, 0 to 1, default 0.05.
   */
  float yaw_control_oversteer_kept;
  /*
   So long after it did they are still kept; then they fade with this time constant. Unit s, 0.01 to 2, default 0.15.
   */
  float yaw_control_oversteer_memory_s;
  /*
   Slide allowance from which a slide is left to the driver altogether. Unit deg, 1 to 40, default 10.
   */
  float yaw_control_slide_full_deg;
  /*
   Sideslip beyond the allowance over which the law takes it back: 5 deg, for the driver cannot hold it to the degree. Unit rad, 0.01 to 0.5, default 0.09.
   */
  float yaw_control_slide_end_rad;
  /*
   Driver torque from which a hard turn is taken for a slide wanted; from half of it in part. Unit N m, 100 to 5000, default 800.
   */
  float yaw_control_slide_torque_nm;
  /*
   Yaw rate times speed from which a turn is hard; from three quarters of it in part. Unit m/s2, 1 to 15, default 7.
   */
  float yaw_control_slide_turn_m_s2;
  /*
   Share of the capacity both clutches hold on fully urgent steering at steadiness 1. Unit -, 0 to 1, default 0.35.
   */
  float yaw_control_pre_load_urgent;
  /*
   Share of the capacity both clutches hold in full oversteer: never open on oversteer. Unit -, 0 to 1, default 0.5.
   */
  float yaw_control_pre_load_oversteer;
  /*
   No yaw moment beyond this is ever asked for. Unit N m, 500 to 20000, default 5000.
   */
  float yaw_control_moment_limit_nm;
  /*
   Share of the driver's torque wanted at the rear, agility 1. Unit -, 0 to 0.7, default 0.45.
   */
  float traction_rear_share_agile;
  /*
   The same at agility 0. Unit -, 0 to 0.7, default 0.25.
   */
  float traction_rear_share_steady;
  /*
   Front wheels faster than the car by this call for rear torque. Unit m/s, 0 to 5, default 0.15.
   */
  float traction_front_slip_start_m_s;
  /*
   And this share of the speed beyond the next number on top: the slip of ordinary drive torque. Unit -, 0 to 0.2, default 0.03.
   */
  float traction_front_slip_share;
  /*
   Below this speed the start is not raised: a launch needs its rear torque early. Unit m/s, 0 to 20, default 6.
   */
  float traction_front_slip_speed_m_s;
  /*
   Rear torque per front spin beyond the start. Unit N m s/m, 0 to 20000, default 6000.
   */
  float traction_front_slip_gain_nm_s_m;
  /*
   Above this speed that gain falls with speed: a tyre's speed of slip per torque grows with it, and the loop must not swing. Unit m/s, 1 to 60, default 12.
   */
  float traction_front_slip_gain_speed_m_s;
  /*
   Moving off, time constant with which that call is given up: wheel speeds are silent at crawl. Unit s, 0 to 5, default 1.
   */
  float traction_front_slip_memory_s;
  /*
   Share wanted at the rear while launching, set before any wheel slips. Unit -, 0 to 1, default 0.6.
   */
  float traction_launch_share;
  /*
   Driver torque below this calls for nothing: open at steady cruise. Unit N m, 0 to 1000, default 150.
   */
  float traction_lowest_torque_nm;
  /*
   Front spin beyond the start at which traction is fully at stake. Unit m/s, 0.02 to 2, default 0.12.
   */
  float traction_need_spin_m_s;
  /*
   Above this speed front spin no longer lets the high side pull alone. Unit m/s, 2 to 40, default 16.
   */
  float traction_need_end_m_s;
  /*
   And this much more per speed squared: air drag. Unit N m s2/m2, 0 to 1, default 0.12.
   */
  float traction_lowest_torque_nm_s2_m2;
  /*
   Front spin the powertrain is asked to keep at launch; spin sets the clutch heat. Unit m/s, 0.1 to 5, default 0.33.
   */
  float traction_front_spin_request_m_s;
  /*
   Torque capacity of one clutch at the wheel. Unit N m, 200 to 3000, default 1100.
   */
  float authority_capacity_nm;
  /*
   Capacity rises no faster. Unit N m/s, 500 to 100000, default 14000.
   */
  float authority_rise_nm_s;
  /*
   Capacity falls no faster, unless opened by order, fault or absolute heat. Unit N m/s, 500 to 200000, default 25000.
   */
  float authority_fall_nm_s;
  /*
   Moving off at a crawl, slip against the gear below which a clutch keeps the gear's sign: more than a front wheel below its sensor's threshold can feign. Unit rad/s, 0 to 20, default 4.
   */
  float authority_crawl_sign_rad_s;
  /*
   Slip below this says nothing about the torque's sign; above slip noise at speed. Unit rad/s, 0.05 to 2, default 0.4.
   */
  float authority_slip_dead_band_rad_s;
  /*
   Below this speed the dead band shrinks with speed. Unit m/s, 1 to 20, default 6.4.
   */
  float authority_dead_band_speed_m_s;
  /*
   Sum of wheel torques the propshaft may carry. Unit N m, 200 to 6000, default 2200.
   */
  float authority_propshaft_nm;
  /*
   Rear torque beyond the powertrain's, at speed. Unit N m, 0 to 3000, default 1500.
   */
  float authority_wind_up_nm;
  /*
   The same at walking pace with the wheels steered. Unit N m, 0 to 1000, default 60.
   */
  float authority_wind_up_park_nm;
  /*
   Share of the powertrain's torque that the rear axle leaves alone at walking pace with the wheels steered in oil of -30 degC: it vanishes sooner than a cold clutch lets go. Unit -, 0 to 1, default 0.6.
   */
  float authority_wind_up_cold;
  /*
   Speed from which the full wind-up is allowed. Unit m/s, 1 to 30, default 10.
   */
  float authority_wind_up_speed_m_s;
  /*
   Rear wheel torque is bounded by this share of estimated friction times load. Unit -, 0.3 to 2, default 1.1.
   */
  float authority_friction_share;
  /*
   However hard the car turns, this share of the friction is taken to be left for driving. Unit -, 0 to 1, default 0.4.
   */
  float authority_friction_along;
  /*
   Friction assumed per wheel while launching, whatever was used before. Unit -, 0.1 to 1.5, default 1.
   */
  float authority_friction_launch;
  /*
   A rear tyre that slips less has shown that it can carry what it carries, and a little more. Unit -, 0.01 to 0.3, default 0.08.
   */
  float authority_trust_slip_start;
  /*
   A rear tyre that slips this much has shown nothing. Unit -, 0.02 to 0.5, default 0.22.
   */
  float authority_trust_slip_end;
  /*
   Such a showing counts in full below this lateral acceleration. Unit m/s2, 0.1 to 5, default 1.
   */
  float authority_trust_lateral_start_m_s2;
  /*
   And not at all above this one: sideways grip is at stake. Unit m/s2, 0.2 to 10, default 3.
   */
  float authority_trust_lateral_end_m_s2;
  /*
   Torque allowed beyond what a rear tyre has shown to carry. Unit N m, 0 to 1000, default 300.
   */
  float authority_trust_step_nm;
  /*
   Near stick, the torque that the wheels' speeds would make a locked clutch carry must exceed this to tell its sign. Unit N m, 0 to 500, default 80.
   */
  float authority_lock_sign_nm;
  /*
   Near stick, capacity is bounded by this share of that torque ... Unit -, 1 to 5, default 1.5.
   */
  float authority_lock_share;
  /*
   ... plus this: more would wind the driveline up without moving the car. Unit N m, 50 to 2000, default 250.
   */
  float authority_lock_margin_nm;
  /*
   Below this oil temperature release is slow and capacity is capped at speed. Unit degC, -40 to 60, default 10.
   */
  float authority_cold_oil_degc;
  /*
   Share of capacity left at -30 degC at speed. Unit -, 0 to 1, default 0.5.
   */
  float authority_cold_capacity;
  /*
   Share of capacity left with unlike tyres, which slip against each other all the time. Unit -, 0 to 1, default 0.35.
   */
  float authority_unlike_tyres_capacity;
  /*
   Left and right torque differ no more than this at low speed. Unit N m, 100 to 3000, default 1100.
   */
  float authority_difference_nm;
  /*
   The same at 160 km/h. Unit N m, 50 to 3000, default 900.
   */
  float authority_difference_fast_nm;
  /*
   Weight of the rear torque demand. Unit -, 0.001 to 10, default 0.05.
   */
  float arbiter_weight_rear_torque;
  /*
   Weight of the yaw moment demand. Unit -, 0.001 to 10, default 0.3.
   */
  float arbiter_weight_yaw_moment;
  /*
   Weight of the yaw moment demand while traction is at stake. Unit -, 0 to 10, default 0.001.
   */
  float arbiter_weight_yaw_launch;
  /*
   Weight of the change from the last step. Unit -, 0 to 1, default 0.01.
   */
  float arbiter_weight_change;
  /*
   Price of torque per slip power already flowing. Unit N m/kW, 0 to 100, default 1.
   */
  float arbiter_heat_price_per_kw;
  /*
   A request this far above the second channel's limit is a disagreement. Unit N m, 1 to 500, default 40.
   */
  float guardian_disagreement_nm;
  /*
   Disagreements in a row for this long open both clutches until the next start. Unit s, 0.005 to 1, default 0.05.
   */
  float guardian_patience_s;
  /*
   Friction faces of one clutch. Unit -, 2 to 20, default 10.
   */
  float actuation_faces;
  /*
   Effective friction radius. Unit m, 0.03 to 0.15, default 0.065.
   */
  float actuation_effective_radius_m;
  /*
   Friction coefficient at 80 degC and 1 rad/s; wet paper 0.10 to 0.15, from memory. Unit -, 0.06 to 0.18, default 0.118.
   */
  float actuation_friction;
  /*
   Rise of the friction coefficient per decade of slip. Unit -, -0.01 to 0.03, default 0.004.
   */
  float actuation_friction_per_decade;
  /*
   Change of the friction coefficient with temperature. Unit 1/K, -0.001 to 0, default -0.00017.
   */
  float actuation_friction_per_kelvin_1_k;
  /*
   Least believable friction coefficient; bounds the pressure asked. Unit -, 0.02 to 0.12, default 0.07.
   */
  float actuation_friction_low;
  /*
   Largest believable friction coefficient; bounds a weak answer. Unit -, 0.1 to 0.3, default 0.17.
   */
  float actuation_friction_high;
  /*
   Piston area. Unit m2, 0.0005 to 0.02, default 0.005.
   */
  float actuation_piston_area_m2;
  /*
   Force of the return spring. Unit N, 0 to 3000, default 400.
   */
  float actuation_return_spring_n;
  /*
   Largest pressure. Unit bar, 5 to 100, default 36.
   */
  float actuation_pressure_bar;
  /*
   Current at which pressure begins. Unit A, 0 to 1, default 0.152.
   */
  float actuation_current_offset_a;
  /*
   Pressure per current above the offset. Unit bar/A, 5 to 200, default 34.2.
   */
  float actuation_pressure_per_current_bar_a;
  /*
   Largest current. Unit A, 0.3 to 5, default 1.4.
   */
  float actuation_current_a;
  /*
   Current of an open clutch, below the offset; keeps the valve awake. Unit A, 0 to 0.5, default 0.08.
   */
  float actuation_rest_current_a;
  /*
   Largest believable touch-point offset; bounds a stored or learned value. Unit bar, 0 to 5, default 1.
   */
  float actuation_touch_point_bar;
  /*
   Relative error of the torque; from memory. Unit -, 0 to 0.5, default 0.1.
   */
  float actuation_relative_error;
  /*
   Absolute error of the torque; from memory. Unit N m, 0 to 200, default 30.
   */
  float actuation_absolute_error_nm;
  /*
   A valve's pressure is never learned to lie further beside the calibration's than this. Unit bar, 0 to 5, default 1.5.
   */
  float learning_valve_offset_bar;
  /*
   Nor its pressure per current further from the calibration's than this share. Unit -, 0 to 0.3, default 0.2.
   */
  float learning_valve_gain_share;
  /*
   Commanded pressure from which a valve is learned. Unit bar, 0.5 to 20, default 1.5.
   */
  float learning_valve_least_bar;
  /*
   A sample counts whole where command and its lagged value agree, less the further they are apart, not at all from here. Unit bar, 0.05 to 5, default 0.4.
   */
  float learning_valve_settled_bar;
  /*
   Time of standing still that the next three belong to. Unit s, 0.04 to 2, default 0.5.
   */
  float learning_valve_event_s;
  /*
   Share of the deviation learned in that time; 0: no learning. Unit -, 0 to 1, default 0.5.
   */
  float learning_valve_share;
  /*
   Largest way of the offset in that time. Unit bar, 0 to 1, default 0.15.
   */
  float learning_valve_offset_step_bar;
  /*
   Largest way of the gain in that time. Unit -, 0 to 0.1, default 0.015.
   */
  float learning_valve_gain_step;
  /*
   Share of the deviation of the touch point learned in one event; 0: no learning. Unit -, 0 to 1, default 0.5.
   */
  float learning_touch_share;
  /*
   Largest step of the touch point in one event. Unit bar, 0 to 1, default 0.08.
   */
  float learning_touch_step_bar;
  /*
   Samples of so long make one event. Unit s, 0.1 to 5, default 0.3.
   */
  float learning_touch_event_s;
  /*
   Torque from which the wheels' reaction counts for the touch point. Unit N m, 5 to 200, default 20.
   */
  float learning_touch_least_nm;
  /*
   Torque up to which it does; up to twice this it tells the stiffness of the tyres. Unit N m, 20 to 600, default 120.
   */
  float learning_touch_most_nm;
  /*
   No touch point is learned below this speed. Unit m/s, 3 to 60, default 12.
   */
  float learning_touch_speed_m_s;
  /*
   Nor above this lateral acceleration. Unit m/s2, 0.1 to 10, default 2.
   */
  float learning_touch_lateral_m_s2;
  /*
   Oil temperature below which nothing is learned. Unit degC, -20 to 100, default 30.
   */
  float learning_warm_oil_degc;
  /*
   Heat capacity of one clutch's friction surface. Small, so a pulse shows. Unit J/K, 50 to 1000, default 160.
   */
  float heat_network_surface_capacity_j_k;
  /*
   Heat capacity of one clutch's plates and hub. Sets the repeated launches. Unit J/K, 200 to 5000, default 850.
   */
  float heat_network_core_capacity_j_k;
  /*
   Heat capacity of the oil, about 0.8 kg at 2000 J/(kg K). Unit J/K, 500 to 10000, default 1600.
   */
  float heat_network_oil_capacity_j_k;
  /*
   Heat capacity of the housing, about 9.5 kg of aluminium. Unit J/K, 2000 to 50000, default 8500.
   */
  float heat_network_housing_capacity_j_k;
  /*
   Conductance surface to core of one clutch. Unit W/K, 50 to 2000, default 550.
   */
  float heat_network_surface_core_w_k;
  /*
   Conductance surface to oil of one clutch. Unit W/K, 5 to 500, default 45.
   */
  float heat_network_surface_oil_w_k;
  /*
   Conductance core to oil of one clutch. Unit W/K, 5 to 500, default 55.
   */
  float heat_network_core_oil_w_k;
  /*
   Conductance oil to housing. Unit W/K, 10 to 1000, default 85.
   */
  float heat_network_oil_housing_w_k;
  /*
   Conductance housing to air at standstill; free convection. Unit W/K, 1 to 100, default 10.
   */
  float heat_network_housing_ambient_w_k;
  /*
   Growth of the conductance housing to air with speed; head wind. Unit W s/(K m), 0 to 10, default 0.9.
   */
  float heat_network_housing_ambient_per_speed_w_s_k_m;
  /*
   Highest believable speed. A faster one counts as standstill, which cools least. Unit m/s, 30 to 150, default 100.
   */
  float heat_network_fastest_speed_m_s;
  /*
   Share by which heat, heat capacities and conductances may each be off; 0: the estimate itself protects. Unit -, 0 to 0.4, default 0.15.
   */
  float heat_bound_share;
  /*
   Added to the bound: what a lumped network cannot know of the profile in the plates. Unit K, 0 to 40, default 12.
   */
  float heat_bound_beyond_k;
  /*
   Largest capacity of one clutch; assumed when the grant is no number. Unit N m, 100 to 5000, default 1200.
   */
  float slip_power_capacity_nm;
  /*
   Largest believable slip: one rear wheel stopped at 70 km/h. Unit rad/s, 5 to 300, default 60.
   */
  float slip_power_slip_rad_s;
  /*
   Slip below which the clutch counts as stuck; below it at most 60 W at full capacity are neglected. Unit rad/s, 0 to 1, default 0.05.
   */
  float slip_power_stick_slip_rad_s;
  /*
   Growth of a held slip with its age: a spinning wheel at 3 g. Unit rad/s2, 0 to 500, default 100.
   */
  float slip_power_held_slip_growth_rad_s2;
  /*
   Dead time of the warm actuator. Unit s, 0 to 0.06, default 0.015.
   */
  float slip_power_dead_time_s;
  /*
   Lag of the warm actuator. Unit s, 0 to 0.5, default 0.04.
   */
  float slip_power_lag_s;
  /*
   How many times slower the actuator is in cold oil; 2 to 4 at -20 to -30 degC, from memory. Unit -, 1 to 10, default 4.
   */
  float slip_power_cold_lag_factor;
  /*
   Oil temperature at and below which the whole factor holds. Unit degC, -40 to 0, default -20.
   */
  float slip_power_cold_oil_degc;
  /*
   Oil temperature at and above which the actuator is warm. Unit degC, 1 to 80, default 40.
   */
  float slip_power_warm_oil_degc;
  /*
   Surface temperature where the slope begins. Unit degC, 100 to 300, default 210.
   */
  float derating_surface_start_degc;
  /*
   Surface temperature where nothing is left; 200 to 250 short, from memory. Unit degC, 120 to 350, default 250.
   */
  float derating_surface_limit_degc;
  /*
   Core temperature where the slope begins. Unit degC, 100 to 300, default 180.
   */
  float derating_core_start_degc;
  /*
   Core temperature where nothing is left. Unit degC, 120 to 350, default 220.
   */
  float derating_core_limit_degc;
  /*
   Oil temperature where the slope begins; 120 to 140 continuous, from memory. Unit degC, 80 to 160, default 120.
   */
  float derating_oil_start_degc;
  /*
   Oil temperature where nothing is left; from memory. Unit degC, 90 to 170, default 140.
   */
  float derating_oil_limit_degc;
  /*
   Surface temperature that orders the clutch open, above the slope's end. Unit degC, 150 to 400, default 270.
   */
  float derating_surface_absolute_degc;
  /*
   Surface temperature below which it may close again, below the slope. Unit degC, 80 to 350, default 200.
   */
  float derating_surface_reentry_degc;
  /*
   Oil temperature that orders both clutches open; 150 short, from memory. Unit degC, 100 to 200, default 150.
   */
  float derating_oil_absolute_degc;
  /*
   Oil temperature below which they may close again, above any air. Unit degC, 70 to 180, default 125.
   */
  float derating_oil_reentry_degc;
  /*
   Share of the capacity below which oil or core leave too little to be of use: open to cool instead; 0: never. Unit -, 0 to 0.9, default 0.25.
   */
  float derating_least_share;
  /*
   Least time between two changes of the order. Unit s, 0 to 60, default 2.
   */
  float derating_dwell_s;
  /*
   Fastest fall of the ceiling: the driver must not feel a step. Unit 1/s, 0.01 to 100, default 0.5.
   */
  float derating_withdrawal_per_s;
  /*
   Fastest rise of the ceiling, slower than the fall. Unit 1/s, 0.01 to 100, default 0.2.
   */
  float derating_restoration_per_s;
  /*
   Upper end of the lowest class of heat in a clutch; each further end is four times the last. Unit W, 1 to 1000, default 30.
   */
  float life_count_power_class_w;
  /*
   Upper end of the lowest class of slip; each further end is twice the last. Unit rad/s, 0.1 to 10, default 1.
   */
  float life_count_slip_class_rad_s;
  /*
   Torque from which a clutch counts as engaged, until it is below half of it. Unit N m, 5 to 500, default 50.
   */
  float life_count_closed_nm;
  /*
   Step in which surface temperatures are counted; a class of cycles is four steps wide. Unit K, 1 to 20, default 5.
   */
  float life_count_cycle_step_k;
  /*
   Range of surface temperature for which the next number is given. Unit K, 20 to 300, default 100.
   */
  float life_count_cycle_reference_k;
  /*
   Thousand cycles of that range that use up a clutch. Unit -, 0.1 to 100000, default 500.
   */
  float life_count_cycle_reference_thousand;
  /*
   Slope of cycles to failure over range, double logarithmic; a whole number. Unit -, 1 to 12, default 5.
   */
  float life_count_cycle_exponent;
  /*
   Lining worn per friction work: 1e-8 mm3/(N m) of normal force times way; no published value for wet paper was readable. Unit mm3/GJ, 0.1 to 10000, default 10.
   */
  float life_count_wear_mm3_gj;
  /*
   Friction that makes heat of that work; wet paper 0.10 to 0.15, from memory. Unit -, 0.05 to 0.2, default 0.12.
   */
  float life_count_wear_friction;
  /*
   Area of all faces of one clutch: ten rings of 55 to 75 mm radius. Unit mm2, 5000 to 500000, default 81681.
   */
  float life_count_lining_area_mm2;
  /*
   Wear of a face at which a clutch is used up. Unit um, 5 to 1000, default 200.
   */
  float life_count_wear_limit_um;
  /*
   Activation energy of the oil's ageing; oxidation 80 to 130 kJ/mol, from memory. Unit J/mol, 40000 to 160000, default 100000.
   */
  float life_count_oil_activation_j_mol;
  /*
   Temperature at which the next number is given. Unit degC, 60 to 140, default 100.
   */
  float life_count_oil_reference_degc;
  /*
   Time at that temperature after which the oil is to be changed. Unit h, 50 to 20000, default 1500.
   */
  float life_count_oil_life_h;
  /*
   Share of it from which a change is advised. Unit -, 0.5 to 1, default 0.9.
   */
  float life_count_oil_soon_share;
  /*
   How far the forecast looks. Unit s, 60 to 14400, default 3600.
   */
  float forecast_horizon_s;
  /*
   Time constant of the present use: some corners, one launch. Unit s, 0.1 to 600, default 10.
   */
  float forecast_use_memory_s;
  /*
   Air temperature assumed when it is unknown: a hot summer day over asphalt. Unit degC, 20 to 60, default 45.
   */
  float forecast_unknown_ambient_degc;
  /*
   Lowest believable air temperature; below it the air counts as this. Unit degC, -60 to 0, default -40.
   */
  float forecast_coldest_ambient_degc;
  /*
   Highest believable air temperature at the housing; below the re-entry temperatures, or re-entry is not certain. Unit degC, 40 to 65, default 60.
   */
  float forecast_hottest_ambient_degc;
} couplet_page;

/*
 Why a calibration page was refused. The texts are static memory; `name` and `message` are never NULL.
 */
typedef struct couplet_refusal {
  /*
   One of `couplet_status`; `COUPLET_OK` if nothing was refused.
   */
  uint32_t status;
  /*
   Out of range: number of the entry. Contradiction: number of the rule. Other layout or count: the number found.
   */
  uint32_t index;
  /*
   Out of range: the value found. Otherwise 0.
   */
  float value;
  /*
   Out of range: lowest value admitted. Otherwise 0.
   */
  float low;
  /*
   Out of range: highest value admitted. Otherwise 0.
   */
  float high;
  /*
   Entry `group.name`; several with commas between for a contradiction; empty otherwise.
   */
  const char *name;
  /*
   What the entry is, what must hold, or what to do.
   */
  const char *message;
} couplet_refusal;

/*
 One input as it arrived. Memory filled with zeros is a value nobody vouches for.
 */
typedef struct couplet_reading {
  /*
   The value in the unit of its signal. NaN and values beyond the believable range count as not sent.
   */
  float value;
  /*
   Time since it was measured, ms; 65535 for longer.
   */
  uint16_t age_ms;
  /*
   1 if the sender vouches for the value, 0 if not or if nothing came.
   */
  uint16_t status;
} couplet_reading;

/*
 All inputs of one step. Memory filled with zeros says that nothing is known, and nothing is closed then.
 */
typedef struct couplet_inputs {
  /*
   Speed of the front left wheel, positive forward. Unit rad/s, believable -60 to 400.
   */
  struct couplet_reading wheel_speed_front_left;
  /*
   Speed of the front right wheel, positive forward. Unit rad/s, believable -60 to 400.
   */
  struct couplet_reading wheel_speed_front_right;
  /*
   Speed of the rear left wheel, positive forward. Unit rad/s, believable -60 to 400.
   */
  struct couplet_reading wheel_speed_rear_left;
  /*
   Speed of the rear right wheel, positive forward. Unit rad/s, believable -60 to 400.
   */
  struct couplet_reading wheel_speed_rear_right;
  /*
   Yaw rate, positive to the left. Unit rad/s, believable -3 to 3.
   */
  struct couplet_reading yaw_rate;
  /*
   Specific force along y at the centre of gravity, positive to the left. Unit m/s2, believable -25 to 25.
   */
  struct couplet_reading lateral_acceleration;
  /*
   Specific force along x at the centre of gravity, positive forward. Unit m/s2, believable -25 to 25.
   */
  struct couplet_reading longitudinal_acceleration;
  /*
   Steering-wheel angle, positive to the left. Unit rad, believable -16 to 16.
   */
  struct couplet_reading steering_wheel_angle;
  /*
   Accelerator position. Unit -, believable 0 to 1.
   */
  struct couplet_reading accelerator_pedal;
  /*
   Pressure the driver's foot makes in the brake's master cylinder. Unit bar, believable 0 to 300.
   */
  struct couplet_reading brake_pressure;
  /*
   Powertrain torque at the front differential's carrier, before the rear axle takes its share. Unit N m, believable -3000 to 12000.
   */
  struct couplet_reading carrier_torque;
  /*
   What the driver asks of the powertrain, at the same place. Unit N m, believable -3000 to 12000.
   */
  struct couplet_reading carrier_torque_wanted;
  /*
   Gear engaged: -1 reverse, 0 neutral. Unit -, believable -1 to 12.
   */
  struct couplet_reading gear;
  /*
   Air temperature. Unit degC, believable -60 to 80.
   */
  struct couplet_reading ambient_temperature;
  /*
   Master controller's cap on the sum of both wheel torques. Unit N m, believable 0 to 20000.
   */
  struct couplet_reading rear_torque_cap;
  /*
   Master controller's cap on the axle's yaw moment. Unit N m, believable 0 to 40000.
   */
  struct couplet_reading yaw_moment_cap;
  /*
   Master controller's order to open both clutches, above 0.5. Unit -, believable 0 to 1.
   */
  struct couplet_reading open_now;
  /*
   Anti-lock braking at work, above 0.5. Unit -, believable 0 to 1.
   */
  struct couplet_reading anti_lock_active;
  /*
   Brake-based stability control at work, above 0.5. Unit -, believable 0 to 1.
   */
  struct couplet_reading stability_active;
  /*
   Pressure measured at the left clutch's piston; a car without the sensor never sends it. Unit bar, believable -5 to 120.
   */
  struct couplet_reading clutch_pressure_left;
  /*
   Pressure measured at the right clutch's piston; a car without the sensor never sends it. Unit bar, believable -5 to 120.
   */
  struct couplet_reading clutch_pressure_right;
} couplet_inputs;

/*
 All outputs of one step. `capacity_left` and `capacity_right` are the command; all else explains it. The fault bits come in two
 halves: bits 0 to 15 in `faults_low`, 16 to 31 in `faults_high`.
 */
typedef struct couplet_outputs {
  /*
   Capacity commanded to the left clutch, at the wheel. Unit N m, 0 to 3000.
   */
  float capacity_left;
  /*
   Capacity commanded to the right clutch, at the wheel. Unit N m, 0 to 3000.
   */
  float capacity_right;
  /*
   Torque expected on the left rear wheel, positive drives forward. Unit N m, -3000 to 3000.
   */
  float torque_left;
  /*
   Torque expected on the right rear wheel, positive drives forward. Unit N m, -3000 to 3000.
   */
  float torque_right;
  /*
   Lower end of the interval the left wheel's torque lies in. Unit N m, -6000 to 6000.
   */
  float torque_left_least;
  /*
   Upper end of the interval the left wheel's torque lies in. Unit N m, -6000 to 6000.
   */
  float torque_left_most;
  /*
   Lower end of the interval the right wheel's torque lies in. Unit N m, -6000 to 6000.
   */
  float torque_right_least;
  /*
   Upper end of the interval the right wheel's torque lies in. Unit N m, -6000 to 6000.
   */
  float torque_right_most;
  /*
   Pressure wanted at the left piston. Unit bar, 0 to 100.
   */
  float pressure_left;
  /*
   Pressure wanted at the right piston. Unit bar, 0 to 100.
   */
  float pressure_right;
  /*
   Current of the left valve. Unit A, 0 to 10.
   */
  float current_left;
  /*
   Current of the right valve. Unit A, 0 to 10.
   */
  float current_right;
  /*
   Torque the unbounded law would have given on the left. Unit N m, -100000 to 100000.
   */
  float asked_left;
  /*
   Torque the unbounded law would have given on the right. Unit N m, -100000 to 100000.
   */
  float asked_right;
  /*
   Torque given on the left. Unit N m, -3000 to 3000.
   */
  float given_left;
  /*
   Torque given on the right. Unit N m, -3000 to 3000.
   */
  float given_right;
  /*
   What made the difference on the left; 0 is nothing. Unit -, 0 to 255.
   */
  uint32_t limit_left;
  /*
   What made the difference on the right; 0 is nothing. Unit -, 0 to 255.
   */
  uint32_t limit_right;
  /*
   Least sum of wheel torques that can be had now. Unit N m, -6000 to 6000.
   */
  float rear_torque_least;
  /*
   Largest sum of wheel torques that can be had now. Unit N m, -6000 to 6000.
   */
  float rear_torque_most;
  /*
   Yaw moment to the right that can be had now, negative. Unit N m, -40000 to 40000.
   */
  float yaw_moment_least;
  /*
   Yaw moment to the left that can be had now. Unit N m, -40000 to 40000.
   */
  float yaw_moment_most;
  /*
   Request: mean front wheel speed beyond the car's at most; 0 asks for nothing. Unit m/s, 0 to 100.
   */
  float front_spin_request;
  /*
   Request: powertrain torque at the carrier at most; the largest number of single precision asks for nothing. Unit N m, 0 to FLT_MAX.
   */
  float torque_limit_request;
  /*
   Surface temperature of the left clutch, estimated. Unit degC, -273.15 to 2000.
   */
  float surface_left;
  /*
   Surface temperature of the right clutch, estimated. Unit degC, -273.15 to 2000.
   */
  float surface_right;
  /*
   Core temperature of the left clutch, estimated. Unit degC, -273.15 to 2000.
   */
  float core_left;
  /*
   Core temperature of the right clutch, estimated. Unit degC, -273.15 to 2000.
   */
  float core_right;
  /*
   Oil temperature, estimated. Unit degC, -273.15 to 2000.
   */
  float oil;
  /*
   Share of the left capacity left by heat. Unit -, 0 to 1.
   */
  float heat_ceiling_left;
  /*
   Share of the right capacity left by heat. Unit -, 0 to 1.
   */
  float heat_ceiling_right;
  /*
   Time until heat takes capacity from the left at the present use. Unit s, 0 to 14400.
   */
  float time_to_limit_left;
  /*
   Time until heat takes capacity from the right at the present use. Unit s, 0 to 14400.
   */
  float time_to_limit_right;
  /*
   What heat binds on the left; 0 is nothing. Unit -, 0 to 255.
   */
  uint32_t heat_limit_left;
  /*
   What heat binds on the right; 0 is nothing. Unit -, 0 to 255.
   */
  uint32_t heat_limit_right;
  /*
   Share of life the left clutch has used: 0 is new, 1 used up. Unit -, 0 to 1000.
   */
  float clutch_life_used_left;
  /*
   Share of life the right clutch has used: 0 is new, 1 used up. Unit -, 0 to 1000.
   */
  float clutch_life_used_right;
  /*
   Share of life the oil has used since it was new. Unit -, 0 to 1000.
   */
  float oil_life_used;
  /*
   What a workshop should do: 0 nothing, 1 change the oil soon, 2 now, 3 a clutch is used up. Unit -, 0 to 3.
   */
  uint32_t advice;
  /*
   What is left of the ability: 0 everything, 1 reduced, 2 open. Unit -, 0 to 2.
   */
  uint32_t health;
  /*
   Confirmed faults, bits 0 to 15. Unit -, 0 to 65535.
   */
  uint32_t faults_low;
  /*
   Confirmed faults, bits 16 to 31. Unit -, 0 to 65535.
   */
  uint32_t faults_high;
  /*
   Share of the capacity that health leaves. Unit -, 0 to 1.
   */
  float health_share;
  /*
   Whether health lets left and right differ: 0 both alike, 1 may differ. Unit -, 0 to 1.
   */
  uint32_t may_differ;
  /*
   Where the car is: 0 on a road, 1 towed with the front axle raised, 2 on a bench or jack or with the rear axle raised, 3 pushed or in a wash; but for 0 the clutches stay open. Unit -, 0 to 3.
   */
  uint32_t situation;
  /*
   Phase of driving as the law reads it. Unit -, 0 to 7.
   */
  uint32_t phase;
} couplet_outputs;

/*
 One tunable of the calibration table. The texts are static memory.
 */
typedef struct couplet_entry {
  /*
   `group.name`; the name ends with its unit.
   */
  const char *name;
  /*
   Unit, "-" for a pure number.
   */
  const char *unit;
  /*
   What the number does and why the default is what it is.
   */
  const char *meaning;
  /*
   Lowest value admitted.
   */
  float low;
  /*
   Highest value admitted.
   */
  float high;
  /*
   Default.
   */
  float normal;
} couplet_entry;

/*
 How a controller woke.
 */
typedef struct couplet_woken {
  /*
   Slot the record was found in: 0 nowhere, 1 first, 2 second.
   */
  uint32_t slot;
  /*
   What is known of the heat: 0 as stored, 1 bounded, 2 nothing (clutches stay open until surely cool).
   */
  uint32_t heat;
  /*
   Why a record is missing that must have been written: 0 none is, 1 no record there, 2 other version, 3 other length,
   4 damaged, 5 intact but cannot be true.
   */
  uint32_t gap;
} couplet_woken;

/*
 What the end of the line found of one clutch unit, beside the calibration. Values beyond what is believable are bounded.
 */
typedef struct couplet_end_of_line {
  /*
   Touch point, bar: pressure the plates need beyond the spring's.
   */
  float touch_point_bar;
  /*
   Pressure of the valve at the same current, bar.
   */
  float valve_offset_bar;
  /*
   Pressure per current, share.
   */
  float valve_gain_share;
} couplet_end_of_line;

/*
 One signal. The texts are static memory.
 */
typedef struct couplet_signal {
  /*
   Name.
   */
  const char *name;
  /*
   Unit, "-" for a pure number.
   */
  const char *unit;
  /*
   Meaning and sign; empty for the trace.
   */
  const char *meaning;
  /*
   Lowest value; for an input the lowest believable one. The trace has no ranges: -FLT_MAX.
   */
  float low;
  /*
   Highest value; for an input the highest believable one. The trace has no ranges: FLT_MAX.
   */
  float high;
  /*
   1 for a code or a set of bits, a whole number; 0 for a quantity.
   */
  uint32_t whole;
} couplet_signal;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

/*
 The status in words: one line, static memory. Unknown numbers give "unknown status".
 */
const char *couplet_status_text(uint32_t status);

/*
 Version of the library, for example "0.1.0": static memory.
 */
const char *couplet_version(void);

/*
 Layout of everything that crosses the border, as the library knows it: a number made from all names, units and their order.
 It must equal `COUPLET_LAYOUT` of the header.
 */
uint32_t couplet_layout(void);

/*
 Bytes of memory that a controller needs; at most `COUPLET_MEMORY_BYTES`.
 */
size_t couplet_size(void);

/*
 Alignment of that memory, bytes; at most `COUPLET_MEMORY_ALIGNMENT`.
 */
size_t couplet_alignment(void);

/*
 Builds a controller at rest in memory of the caller's, whatever that memory held before. There is nothing to free.

 `memory_bytes`: size of the memory. `header_layout`: always `COUPLET_LAYOUT`. `page`: calibration, read during the call; NULL for
 the defaults of the table. `period_us`: time from step to step, 1000 to 20000 microseconds. `refusal`: where to say why a page
 was refused, or NULL. If the status is not `COUPLET_OK`, the memory is as it was.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_init(struct couplet_law *memory,
                            size_t memory_bytes,
                            uint32_t header_layout,
                            const struct couplet_page *page,
                            uint32_t period_us,
                            struct couplet_refusal *refusal);

/*
 One control step. Call it once in every period, also when inputs are missing: a reading that did not come has
 `status` 0 and an `age_ms` that grows.

 `inputs` are read, `outputs` written as a whole; if the status is not `COUPLET_OK` no output is written and the controller made no
 step: open both clutches.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_step(struct couplet_law *controller,
                            const struct couplet_inputs *inputs,
                            struct couplet_outputs *outputs);

/*
 Sets the whole axle to one temperature, -60 to 300 degC: for a bench that starts from a known one. A car calls
 `couplet_wake` instead.

 # Safety
 A pointer that is not NULL must lead to a controller that nobody else uses during the call.
 */
couplet_status couplet_set_temperature(struct couplet_law *controller,
                                       float degc);

/*
 Copies a controller with everything it remembers into other memory: both go on alike from there. The memory must not share a
 byte with the original. A controller may also be moved with `memcpy`, if the new place is aligned.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_copy(struct couplet_law *memory,
                            size_t memory_bytes,
                            const struct couplet_law *controller);

/*
 Fills a page with the defaults of the table. Change what is to differ, then hand it to `couplet_init` or `couplet_page_take`.

 # Safety
 A pointer that is not NULL must lead to a page that nobody else uses during the call.
 */
couplet_status couplet_page_default(struct couplet_page *page);

/*
 Gives the page in force.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_page_in_force(const struct couplet_law *controller,
                                     struct couplet_page *page);

/*
 Takes over a page between two steps, whole or not at all: on refusal the old one stays in force and `refusal`, if it is not NULL,
 says why. What the controller remembers stays.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_page_take(struct couplet_law *controller,
                                 const struct couplet_page *page,
                                 struct couplet_refusal *refusal);

/*
 Whether a page would be taken; no controller is needed.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_page_check(const struct couplet_page *page,
                                  struct couplet_refusal *refusal);

/*
 Describes the tunable of a number from 0 to `COUPLET_PAGE_ENTRIES` - 1, in the order of the page.

 # Safety
 A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
 */
couplet_status couplet_page_entry(uint32_t index,
                                  struct couplet_entry *entry);

/*
 Finds the number of a tunable by its name `group.name`.

 # Safety
 `name` must lead to text that ends with a zero byte or has 128 readable bytes; `index` to a number.
 */
couplet_status couplet_page_find(const char *name,
                                 uint32_t *index);

/*
 Reads one number of a page.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_page_get(const struct couplet_page *page,
                                uint32_t index,
                                float *value);

/*
 Writes one number of a page. Nothing is checked here: the page is, when it is taken.

 # Safety
 A pointer that is not NULL must lead to a page that nobody else uses during the call.
 */
couplet_status couplet_page_set(struct couplet_page *page,
                                uint32_t index,
                                float value);

/*
 Writes the record to store: at key-on once the old one is read and now and then while driving with `under_way` 1, at key-off with 0.

 `sequence` counts records. `clock_s`: the car's clock, s, any zero. `record`: at least `COUPLET_RECORD_BYTES` bytes;
 `record_bytes`: how many there are. Store it in the slot `couplet_next_slot` names and read it back.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_keep(const struct couplet_law *controller,
                            uint32_t sequence,
                            uint64_t clock_s,
                            uint32_t under_way,
                            uint8_t *record,
                            size_t record_bytes);

/*
 Starts a controller anew from the two stored records, however damaged. An empty slot counts as damaged: the end of the line
 writes both.

 `record_bytes`: size of each slot, exactly `COUPLET_RECORD_BYTES`. `clock_s`: the car's clock, s, or NULL if it is not known.
 `ambient_degc`: the air, -60 to 80 degC. `woken`: where to say how it woke, or NULL.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_wake(struct couplet_law *controller,
                            const uint8_t *first_slot,
                            const uint8_t *second_slot,
                            size_t record_bytes,
                            const uint64_t *clock_s,
                            float ambient_degc,
                            struct couplet_woken *woken);

/*
 Tells which slot the next record goes to, 1 or 2: never over the newest whole one.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_next_slot(const uint8_t *first_slot,
                                 const uint8_t *second_slot,
                                 size_t record_bytes,
                                 uint32_t *slot);

/*
 A workshop renewed a part: its counters of use begin anew. `part`: 0 oil, 1 left clutch, 2 right clutch, 3 the whole axle. Store a
 record afterwards.

 # Safety
 A pointer that is not NULL must lead to a controller that nobody else uses during the call.
 */
couplet_status couplet_renewed(struct couplet_law *controller,
                               uint32_t part);

/*
 A clutch unit was put in: what was learned of the old one on that side is forgotten. `side`: 1 left, 2 right. `end_of_line`: what is
 known of the new one, or NULL: the calibration. Counters and heat are not touched, see `couplet_renewed`. Store a record afterwards.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_replace_unit(struct couplet_law *controller,
                                    uint32_t side,
                                    const struct couplet_end_of_line *end_of_line);

/*
 Describes the input of a number from 0 to `COUPLET_INPUTS` - 1, in the order of `couplet_inputs`.

 # Safety
 A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
 */
couplet_status couplet_input_signal(uint32_t index,
                                    struct couplet_signal *signal);

/*
 Describes the output of a number from 0 to `COUPLET_OUTPUTS` - 1, in the order of `couplet_outputs`.

 # Safety
 A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
 */
couplet_status couplet_output_signal(uint32_t index,
                                     struct couplet_signal *signal);

/*
 Describes the finding of a number from 0 to `COUPLET_TRACE` - 1.

 # Safety
 A pointer that is not NULL must lead to memory of its kind that nobody else uses during the call.
 */
couplet_status couplet_trace_signal(uint32_t index,
                                    struct couplet_signal *signal);

/*
 Sets one input by its number.

 # Safety
 A pointer that is not NULL must lead to inputs that nobody else uses during the call.
 */
couplet_status couplet_input_set(struct couplet_inputs *inputs,
                                 uint32_t index,
                                 struct couplet_reading reading);

/*
 Reads one output by its number; a code comes as the whole number it is.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_output_get(const struct couplet_outputs *outputs,
                                  uint32_t index,
                                  float *value);

/*
 Gives what every stage found in the last step, in the order of `couplet_trace_signal`. `values`: `COUPLET_TRACE` numbers;
 `count`: how many there is room for.

 # Safety
 Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
 */
couplet_status couplet_trace(const struct couplet_law *controller,
                             float *values,
                             size_t count);

/*
 The name of a fault by its bit, 0 to 31, in static memory; NULL if there is none. `faults_low` holds bits 0 to 15, `faults_high`
 bits 16 to 31.
 */
const char *couplet_fault_name(uint32_t bit);

/*
 The name of what bound a torque, by the number in `limit_left`, `limit_right`, `heat_limit_left` or `heat_limit_right`, in static
 memory; NULL if there is none.
 */
const char *couplet_limit_name(uint32_t number);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* COUPLET_H */
