//! The table of tunables.
//!
//! One line per tunable: name, unit, range, default, provenance, reason. Group by group, in page order. Lengths, masses
//! and stiffnesses are the controller's own idea of the car and need not equal the plant's.

use super::catalogue::catalogue;

catalogue! {
    /// The driver's and the maker's wish, on three independent axes.
    setting: Setting {
        agility ["-"] 0.0 .. 1.0 = 0.5, Chosen, "How much the car turns like a rear-driven one: target understeer gradient, feed-forward, rear share.";
        steadiness ["-"] 0.0 .. 1.0 = 0.5, Chosen, "How calm it stays: yaw damping, pre-load on fast steering, sideslip limit.";
        slide_allowance_deg ["deg"] 0.0 .. 40.0 = 0.0, Chosen, "Sideslip the driver may hold before the law counters; zero unless asked for.";
    }
    /// The controller's idea of the car.
    vehicle: Vehicle {
        mass_kg ["kg"] 600.0 .. 4000.0 = 1720.0, Chosen, "Mass with driver.";
        yaw_inertia_kg_m2 ["kg m2"] 500.0 .. 8000.0 = 2900.0, Chosen, "Yaw inertia about the centre of gravity.";
        wheelbase_m ["m"] 1.8 .. 4.0 = 2.72, Chosen, "Distance of the axles.";
        front_axle_to_cg_m ["m"] 0.5 .. 3.0 = 1.142, Chosen, "Distance of the centre of gravity behind the front axle.";
        cg_height_m ["m"] 0.2 .. 1.2 = 0.56, Chosen, "Height of the centre of gravity.";
        track_m ["m"] 1.0 .. 2.2 = 1.58, Chosen, "Track, both axles.";
        wheel_radius_m ["m"] 0.2 .. 0.6 = 0.32, Chosen, "Effective rolling radius.";
        steering_ratio ["-"] 8.0 .. 30.0 = 15.0, Chosen, "Steering-wheel angle over road-wheel angle.";
        front_cornering_stiffness_n_rad ["N/rad"] 20000.0 .. 400000.0 = 98000.0, Measured, "Front axle, with steering compliance.";
        rear_cornering_stiffness_n_rad ["N/rad"] 20000.0 .. 400000.0 = 112000.0, Measured, "Rear axle.";
        rear_slip_stiffness_n ["N"] 10000.0 .. 300000.0 = 70000.0, Guess, "Longitudinal force of one rear wheel per unit slip.";
        overspeed ["-"] 0.0 .. 0.05 = 0.02, Chosen, "How much faster the rear shaft turns than the front carrier.";
    }
    /// Admission of inputs.
    conditioning: Conditioning {
        longest_age_s ["s"] 0.005 .. 0.5 = 0.03, CommonPractice, "A value older than this is no longer fresh.";
        hold_time_s ["s"] 0.0 .. 1.0 = 0.1, CommonPractice, "A last good value is believed this long, then it is lost.";
        wheel_speed_rate_rad_s2 ["rad/s2"] 100.0 .. 100000.0 = 2500.0, Guess, "A wheel speed that changes faster is not believed: 3000 N m of brake over 1.2 kg m2.";
        yaw_rate_rate_rad_s2 ["rad/s2"] 5.0 .. 10000.0 = 40.0, Guess, "The same for the yaw rate; tyres make 10 to 20.";
        acceleration_rate_m_s3 ["m/s3"] 50.0 .. 100000.0 = 600.0, Guess, "The same for both accelerations.";
        steering_rate_rad_s ["rad/s"] 5.0 .. 1000.0 = 60.0, Guess, "The same for the steering-wheel angle; fast hands make 20 to 26, from memory.";
        torque_rate_nm_s ["N m/s"] 5000.0 .. 10000000.0 = 100000.0, Guess, "The same for both powertrain torques.";
        brake_rate_bar_s ["bar/s"] 100.0 .. 100000.0 = 5000.0, Guess, "The same for the brake pressure.";
    }
    /// Cross checks and graded health.
    monitor: Monitor {
        yaw_rate_tolerance_rad_s ["rad/s"] 0.01 .. 1.0 = 0.2, Guess, "Yaw rate and the rear wheels' speed difference may differ this much.";
        yaw_check_speed_m_s ["m/s"] 1.0 .. 20.0 = 5.0, Guess, "No yaw cross check below this speed.";
        confirm_time_s ["s"] 0.005 .. 2.0 = 0.06, Guess, "A contradiction must last this long to count; release must be ordered within 100 ms.";
        heal_time_s ["s"] 0.1 .. 60.0 = 2.0, Guess, "It must be gone this long to be forgotten.";
        slide_tolerance_rad_s ["rad/s"] 0.0 .. 2.0 = 0.4, Guess, "Further difference allowed where the setting allows a slide: wheels spin and yaw rate leaves lateral acceleration over speed.";
        silent_time_s ["s"] 0.0 .. 5.0 = 0.5, Guess, "Where the setting allows a slide: after an order to open, wheels stopped by a hand brake are no witnesses of the yaw rate for this long.";
        order_heal_s ["s"] 0.0 .. 60.0 = 0.5, CommonPractice, "The order channel must be heard again this long before both clutches may close after it was lost: longer than the pauses of a loose plug.";
        reduced_capacity ["-"] 0.0 .. 1.0 = 0.35, Guess, "Share of the capacity left when one wheel speed or the yaw rate is lost.";
        wheel_apart ["-"] 0.1 .. 1.0 = 0.35, Guess, "A wheel this share of the others' speed apart from three that agree, without torque or brake to slip by, is not believed.";
        quiet_torque_nm ["N m"] 20.0 .. 2000.0 = 150.0, Guess, "Powertrain torque below which no wheel spins.";
        quiet_brake_bar ["bar"] 0.1 .. 20.0 = 2.0, Guess, "Brake pressure below which no wheel locks.";
        slip_confirm_s ["s"] 0.05 .. 5.0 = 0.5, Guess, "Wheel speeds, lateral acceleration and torque must contradict the others this long: a freely rolling tyre catches its speed sooner.";
        still_time_s ["s"] 0.05 .. 5.0 = 0.2, Guess, "A value that keeps every bit this long while another says that it must move is stuck.";
        still_wheel_rad_s ["rad/s"] 0.5 .. 50.0 = 2.5, Guess, "So far the wheels' mean must have moved.";
        still_yaw_rad_s ["rad/s"] 0.02 .. 2.0 = 0.2, Guess, "So far lateral acceleration over speed must have moved for the yaw rate, and times speed the yaw rate for the acceleration.";
        lateral_tolerance_m_s2 ["m/s2"] 1.0 .. 25.0 = 5.0, Guess, "Lateral acceleration and yaw rate times speed may differ this much while the car hardly turns: a bank of a quarter and a gust.";
        steering_tolerance_rad ["rad"] 0.2 .. 10.0 = 0.8, Guess, "Steering-wheel angle from which a car above 10 m/s must turn.";
        steering_confirm_s ["s"] 0.1 .. 20.0 = 2.0, Guess, "So long it may not: on ice a car pushes straight on, but not for long.";
        torque_tolerance_nm ["N m"] 100.0 .. 10000.0 = 800.0, Guess, "The powertrain may give this much more than it was asked for.";
        lifted_speed_m_s ["m/s"] 0.5 .. 10.0 = 1.2, Guess, "One axle turns faster than this while the other stands, without torque or brake: towed on an axle, or a brake tester.";
        lifted_confirm_s ["s"] 0.1 .. 10.0 = 1.0, Guess, "For so long, and so long in neutral at walking pace: a car wash, or pushed.";
        bench_speed_m_s ["m/s"] 3.0 .. 30.0 = 6.0, Guess, "Front wheels this fast under power while the rear ones stand: a roller bench or a jack, or a launch that will not come.";
        bench_confirm_s ["s"] 0.5 .. 20.0 = 3.0, Guess, "For so long.";
        wash_speed_m_s ["m/s"] 0.5 .. 10.0 = 3.0, Guess, "Walking pace of a car wash.";
        situation_heal_s ["s"] 0.05 .. 10.0 = 0.2, Guess, "So long after towing, bench or wash ended the axle closes again, from nothing and no faster than the rate bound.";
        help_torque_nm ["N m"] 0.0 .. 5000.0 = 400.0, Guess, "Powertrain torque the car is asked to keep below while a clutch does not open: power makes it drift half as far again.";
    }
    /// Measured against commanded clutch pressure; only in a car with pressure sensors.
    pressure_watch: PressureWatch {
        tolerance_bar ["bar"] 0.5 .. 20.0 = 2.5, Guess, "Measured and commanded pressure may differ this much ...";
        tolerance_share ["-"] 0.0 .. 0.6 = 0.25, Guess, "... plus this share: a valve not learned yet is no fault.";
        follow_s ["s"] 0.02 .. 2.0 = 0.15, Measured, "Time constant within which the pressure of a warm clutch surely follows, dead time included; cold oil as in slip_power.";
        high_confirm_s ["s"] 0.005 .. 0.2 = 0.015, Chosen, "Too much pressure must last this long to count; release must be ordered within 100 ms of its cause.";
        low_confirm_s ["s"] 0.02 .. 2.0 = 0.15, Guess, "Too little pressure must last this long to count.";
        stuck_s ["s"] 0.05 .. 5.0 = 0.25, Guess, "A released clutch that keeps its pressure this long counts as one that does not open.";
        open_share ["-"] 0.0 .. 1.0 = 0.3, Guess, "Less than this share of the pressure is no pressure; more is a leak.";
        heal_s ["s"] 0.1 .. 60.0 = 2.0, Guess, "Pressures must agree this long for a finding to be forgotten.";
        latch_s ["s"] 0.5 .. 600.0 = 5.0, Guess, "A finding that stood this long altogether stays until the next start.";
        match_share ["-"] 0.0 .. 2.0 = 1.3, Chosen, "A clutch that does not open is matched with up to this share of the torque the rear wheels show; 0: never.";
        match_least_nm ["N m"] 10.0 .. 1000.0 = 80.0, Chosen, "Torque shown below this is matched with nothing: it may be noise.";
        match_speed_m_s ["m/s"] 2.0 .. 30.0 = 12.0, Chosen, "Matched in full from this speed on, not at all below half of it: slow cars drift little and wind up much.";
        match_steer_rad ["rad"] 0.02 .. 1.0 = 0.12, Chosen, "Road-wheel angle from which nothing is matched; in full up to half of it.";
    }
    /// Speed, sideslip, friction, rolling radii.
    vehicle_state: VehicleState {
        speed_margin_m_s2 ["m/s2"] 0.2 .. 10.0 = 2.5, Chosen, "At crawl, speed may change this much faster than the accelerometer says: room for a grade not learned yet.";
        speed_margin_fast_m_s2 ["m/s2"] 0.1 .. 10.0 = 0.5, Chosen, "The same from 10 m/s on.";
        speed_margin_free_m_s2 ["m/s2"] 0.1 .. 20.0 = 0.7, Chosen, "The same the way the wheels cannot be wrong: down when driven, up when braked, both when rolling.";
        speed_margin_anti_lock_m_s2 ["m/s2"] 0.01 .. 10.0 = 0.05, Chosen, "The same downwards under anti-lock control, when no wheel rolls freely for long and the slope is known; three times this upwards.";
        speed_margin_blind_m_s2 ["m/s2"] 1.0 .. 30.0 = 12.0, Chosen, "The same without an accelerometer: what tyres can do.";
        slope_memory_s ["s"] 0.1 .. 20.0 = 1.5, Chosen, "Time constant with which the slope is learned from rolling wheels.";
        sideslip_leak_s ["s"] 0.1 .. 20.0 = 5.0, Chosen, "Time constant with which the integrated sideslip returns to the single-track value in a slide.";
        sideslip_agreed_s ["s"] 0.1 .. 20.0 = 0.25, Chosen, "The same while the car turns as it is steered, up to 10 m/s; about twice as long from 16 m/s on.";
        sideslip_from_speed_s ["s"] 0.0 .. 20.0 = 8.0, Chosen, "Turning otherwise than steered: how far a change of speed that was not felt counts as sideways speed, per yaw rate.";
        friction_floor ["-"] 0.02 .. 0.6 = 0.15, Chosen, "Friction is never taken lower than this.";
        friction_ceiling ["-"] 0.3 .. 1.5 = 1.05, Chosen, "Friction is never taken higher than this.";
        friction_allowance ["-"] 0.05 .. 0.8 = 0.42, Chosen, "Friction assumed beyond what has been used already, without slip.";
        friction_growth ["-"] 0.0 .. 1.0 = 0.25, Chosen, "Further allowance per friction used.";
        friction_slip_start ["-"] 0.005 .. 0.2 = 0.04, Chosen, "Tyre slip from which the allowance shrinks.";
        friction_slip_end ["-"] 0.02 .. 0.5 = 0.14, Chosen, "Tyre slip at which the allowance is gone.";
        friction_memory_s ["s"] 0.2 .. 60.0 = 3.0, Chosen, "Time constant with which friction used is forgotten.";
        bank_memory_s ["s"] 1.0 .. 60.0 = 15.0, Guess, "Time constant with which a banked road is told from sideslip.";
        crawl_sideslip_s ["s"] 0.02 .. 2.0 = 0.1, Chosen, "Time constant with which sideslip is given up at crawl.";
        friction_filter_s ["s"] 0.01 .. 2.0 = 0.15, Chosen, "Lag of the friction in use: a noise peak is no grip.";
        radius_learning_m ["m"] 50.0 .. 5000.0 = 300.0, Chosen, "Way over which the rolling-radius ratios are averaged, pieces of it counted by how sure they are.";
        radius_bound ["-"] 0.0 .. 0.2 = 0.12, Chosen, "A ratio is never taken further from one than this: a spare wheel is a tenth smaller.";
        unlike_tyres_start ["-"] 0.005 .. 0.1 = 0.025, Guess, "Radii that differ by this much, front to rear or left to right, are more than wear: a spare, mixed sizes or chains.";
        unlike_tyres_end ["-"] 0.01 .. 0.2 = 0.035, Guess, "Difference that limits the axle in full.";
    }
    /// What the driver wants.
    driver_intent: DriverIntent {
        launch_end_m_s ["m/s"] 1.0 .. 15.0 = 6.0, Chosen, "Above this speed nothing is a launch.";
        urgency_start_rad_s ["rad/s"] 0.5 .. 20.0 = 2.5, Chosen, "Steering-wheel rate from which steering counts as urgent.";
        urgency_end_rad_s ["rad/s"] 1.0 .. 40.0 = 9.0, Chosen, "Steering-wheel rate that is fully urgent.";
        urgency_memory_s ["s"] 0.05 .. 5.0 = 0.5, Chosen, "Time constant with which urgency is forgotten.";
        lift_off_rate_per_s ["1/s"] 0.2 .. 20.0 = 2.0, Chosen, "Pedal closing faster than this is a lift-off.";
        rate_filter_s ["s"] 0.0 .. 0.2 = 0.03, Chosen, "Lag of pedal and steering rates: bus steps and noise are no intent.";
        lift_off_pedal ["-"] 0.02 .. 0.9 = 0.3, Chosen, "A lift-off ends below this pedal position, and a pedal above it ends a lift-off.";
        lift_off_memory_s ["s"] 0.1 .. 10.0 = 3.0, Chosen, "Time constant with which a lift-off is forgotten.";
        turn_curvature_1_m ["1/m"] 0.0005 .. 0.05 = 0.003, Chosen, "Wanted curvature from which the car counts as turning.";
        phase_dwell_s ["s"] 0.02 .. 2.0 = 0.15, Chosen, "A phase lasts at least this long, unless a more urgent one interrupts it.";
    }
    /// Yaw-rate reference.
    yaw_reference: YawReference {
        understeer_agile_rad_s2_m ["rad s2/m"] 0.0 .. 0.02 = 0.0036, Chosen, "Target understeer constant at agility 1.";
        understeer_steady_rad_s2_m ["rad s2/m"] 0.0 .. 0.02 = 0.0037, Chosen, "Target understeer constant at agility 0.";
        friction_share ["-"] 0.5 .. 1.0 = 0.92, Measured, "Yaw rate is capped at this share of mu g / V; the textbook's 0.85 cuts off what the axle reaches.";
        friction_dry ["-"] 0.4 .. 1.2 = 0.95, Chosen, "Friction assumed for the soft bend while no tyre slips.";
        soft_share_agile ["-"] 0.5 .. 2.0 = 1.0, Chosen, "The reference bends towards this share of mu g / V at agility 1.";
        soft_share_steady ["-"] 0.5 .. 2.0 = 0.76, Chosen, "The same at agility 0: about what the car does by itself.";
        lag_agile_s ["s"] 0.0 .. 0.5 = 0.05, Chosen, "Lag of the reference at steadiness 0.";
        lag_steady_s ["s"] 0.0 .. 0.5 = 0.06, Chosen, "Lag of the reference at steadiness 1.";
        fade_in_speed_m_s ["m/s"] 0.5 .. 15.0 = 3.0, Chosen, "Below this speed no yaw moment is wanted; fully wanted at twice the speed.";
        lift_off_hold_share ["-"] 0.0 .. 3.0 = 1.8, Chosen, "How far a lift-off pulls the reference towards the curvature before it, per steadiness: 1 holds it, more makes up for what the feedback leaves over.";
        sideslip_limit_deg ["deg"] 1.0 .. 20.0 = 5.0, Chosen, "Sideslip at which the law counters, on dry road at steadiness 0.";
    }
    /// Yaw moment demand.
    yaw_control: YawControl {
        proportional_nm_s_rad ["N m s/rad"] 0.0 .. 100000.0 = 27000.0, Measured, "Yaw-rate feedback at low speed: margins 9 dB and 50 deg on the demo car.";
        proportional_fast_nm_s_rad ["N m s/rad"] 0.0 .. 100000.0 = 24000.0, Measured, "The same at the fast end.";
        fast_speed_m_s ["m/s"] 20.0 .. 80.0 = 44.4, Chosen, "Speed of the fast end, 160 km/h.";
        integral_nm_rad ["N m/rad"] 0.0 .. 300000.0 = 45000.0, Measured, "Yaw-rate error integral gain.";
        integral_limit_nm ["N m"] 0.0 .. 10000.0 = 900.0, Chosen, "The integral part never exceeds this.";
        integral_release_1_s ["1/s"] 0.0 .. 50.0 = 4.0, Chosen, "How fast the integral part is given up after a lift-off.";
        anti_windup_1_s ["1/s"] 0.0 .. 100.0 = 8.0, Chosen, "How fast the integral gives way to a bound's shortfall.";
        dead_band_rad_s ["rad/s"] 0.0 .. 0.1 = 0.014, Chosen, "Errors below this are ignored straight ahead: a yaw-rate bias must not steer the car.";
        dead_band_turn_rad_s ["rad/s"] 0.0 .. 0.1 = 0.001, Chosen, "The same in a turn.";
        sideslip_nm_rad ["N m/rad"] 0.0 .. 200000.0 = 42000.0, Chosen, "Counter-moment per sideslip beyond its limit.";
        feed_forward_share ["-"] 0.0 .. 2.0 = 1.0, Chosen, "Share of the single-track feed-forward used at agility 1.";
        damping_nm_s2_rad ["N m s2/rad"] 0.0 .. 20000.0 = 1500.0, Chosen, "Moment against yaw acceleration beyond the reference's, at steadiness 1.";
        damping_filter_s ["s"] 0.0 .. 0.2 = 0.02, Chosen, "Each of the two lags that smooth the measured yaw acceleration.";
        damping_dead_band_rad_s2 ["rad/s2"] 0.0 .. 5.0 = 0.2, Chosen, "Yaw acceleration error that counts as noise.";
        crawl_memory_s ["s"] 0.02 .. 5.0 = 0.2, Chosen, "Time constant with which the integral part is given up at crawl.";
        oversteer_start_rad_s ["rad/s"] 0.0 .. 0.5 = 0.03, Chosen, "Yaw rate beyond the reference from which the car counts as oversteering.";
        oversteer_end_rad_s ["rad/s"] 0.01 .. 1.0 = 0.12, Chosen, "Yaw rate beyond the reference at which it does so fully.";
        oversteer_hold_s ["s"] 0.1 .. 10.0 = 2.5, Chosen, "Time constant with which closed clutches are given up while the car still oversteers: under 5 % in 0.1 s.";
        oversteer_kept ["-"] 0.0 .. 1.0 = 0.05, Chosen, "Oversteer held beyond which nothing closed is given up: less is a swing that ends by itself.";
        oversteer_memory_s ["s"] 0.01 .. 2.0 = 0.15, Chosen, "So long after it did they are still kept; then they fade with this time constant.";
        slide_full_deg ["deg"] 1.0 .. 40.0 = 10.0, Chosen, "Slide allowance from which a slide is left to the driver altogether.";
        slide_end_rad ["rad"] 0.01 .. 0.5 = 0.09, Chosen, "Sideslip beyond the allowance over which the law takes it back: 5 deg, for the driver cannot hold it to the degree.";
        slide_torque_nm ["N m"] 100.0 .. 5000.0 = 800.0, Chosen, "Driver torque from which a hard turn is taken for a slide wanted; from half of it in part.";
        slide_turn_m_s2 ["m/s2"] 1.0 .. 15.0 = 7.0, Chosen, "Yaw rate times speed from which a turn is hard; from three quarters of it in part.";
        pre_load_urgent ["-"] 0.0 .. 1.0 = 0.35, Chosen, "Share of the capacity both clutches hold on fully urgent steering at steadiness 1.";
        pre_load_oversteer ["-"] 0.0 .. 1.0 = 0.5, Chosen, "Share of the capacity both clutches hold in full oversteer: never open on oversteer.";
        moment_limit_nm ["N m"] 500.0 .. 20000.0 = 5000.0, Chosen, "No yaw moment beyond this is ever asked for.";
    }
    /// Rear torque demand.
    traction: Traction {
        rear_share_agile ["-"] 0.0 .. 0.7 = 0.45, Chosen, "Share of the driver's torque wanted at the rear, agility 1.";
        rear_share_steady ["-"] 0.0 .. 0.7 = 0.25, Chosen, "The same at agility 0.";
        front_slip_start_m_s ["m/s"] 0.0 .. 5.0 = 0.15, Chosen, "Front wheels faster than the car by this call for rear torque.";
        front_slip_share ["-"] 0.0 .. 0.2 = 0.03, Chosen, "And this share of the speed beyond the next number on top: the slip of ordinary drive torque.";
        front_slip_speed_m_s ["m/s"] 0.0 .. 20.0 = 6.0, Chosen, "Below this speed the start is not raised: a launch needs its rear torque early.";
        front_slip_gain_nm_s_m ["N m s/m"] 0.0 .. 20000.0 = 6000.0, Chosen, "Rear torque per front spin beyond the start.";
        front_slip_gain_speed_m_s ["m/s"] 1.0 .. 60.0 = 12.0, Chosen, "Above this speed that gain falls with speed: a tyre's speed of slip per torque grows with it, and the loop must not swing.";
        front_slip_memory_s ["s"] 0.0 .. 5.0 = 1.0, Chosen, "Moving off, time constant with which that call is given up: wheel speeds are silent at crawl.";
        launch_share ["-"] 0.0 .. 1.0 = 0.6, Chosen, "Share wanted at the rear while launching, set before any wheel slips.";
        lowest_torque_nm ["N m"] 0.0 .. 1000.0 = 150.0, Chosen, "Driver torque below this calls for nothing: open at steady cruise.";
        need_spin_m_s ["m/s"] 0.02 .. 2.0 = 0.12, Chosen, "Front spin beyond the start at which traction is fully at stake.";
        need_end_m_s ["m/s"] 2.0 .. 40.0 = 16.0, Chosen, "Above this speed front spin no longer lets the high side pull alone.";
        lowest_torque_nm_s2_m2 ["N m s2/m2"] 0.0 .. 1.0 = 0.12, Chosen, "And this much more per speed squared: air drag.";
        front_spin_request_m_s ["m/s"] 0.1 .. 5.0 = 0.33, Chosen, "Front spin the powertrain is asked to keep at launch; spin sets the clutch heat.";
    }
    /// What is possible now.
    authority: Authority {
        capacity_nm ["N m"] 200.0 .. 3000.0 = 1100.0, Chosen, "Torque capacity of one clutch at the wheel.";
        rise_nm_s ["N m/s"] 500.0 .. 100000.0 = 14000.0, Chosen, "Capacity rises no faster.";
        fall_nm_s ["N m/s"] 500.0 .. 200000.0 = 25000.0, Chosen, "Capacity falls no faster, unless opened by order, fault or absolute heat.";
        crawl_sign_rad_s ["rad/s"] 0.0 .. 20.0 = 4.0, Chosen, "Moving off at a crawl, slip against the gear below which a clutch keeps the gear's sign: more than a front wheel below its sensor's threshold can feign.";
        slip_dead_band_rad_s ["rad/s"] 0.05 .. 2.0 = 0.4, Measured, "Slip below this says nothing about the torque's sign; above slip noise at speed.";
        dead_band_speed_m_s ["m/s"] 1.0 .. 20.0 = 6.4, Measured, "Below this speed the dead band shrinks with speed.";
        propshaft_nm ["N m"] 200.0 .. 6000.0 = 2200.0, Chosen, "Sum of wheel torques the propshaft may carry.";
        wind_up_nm ["N m"] 0.0 .. 3000.0 = 1500.0, Chosen, "Rear torque beyond the powertrain's, at speed.";
        wind_up_park_nm ["N m"] 0.0 .. 1000.0 = 60.0, Chosen, "The same at walking pace with the wheels steered.";
        wind_up_cold ["-"] 0.0 .. 1.0 = 0.6, Chosen, "Share of the powertrain's torque that the rear axle leaves alone at walking pace with the wheels steered in oil of -30 degC: it vanishes sooner than a cold clutch lets go.";
        wind_up_speed_m_s ["m/s"] 1.0 .. 30.0 = 10.0, Chosen, "Speed from which the full wind-up is allowed.";
        friction_share ["-"] 0.3 .. 2.0 = 1.1, Chosen, "Rear wheel torque is bounded by this share of estimated friction times load.";
        friction_along ["-"] 0.0 .. 1.0 = 0.4, Chosen, "However hard the car turns, this share of the friction is taken to be left for driving.";
        friction_launch ["-"] 0.1 .. 1.5 = 1.0, Chosen, "Friction assumed per wheel while launching, whatever was used before.";
        trust_slip_start ["-"] 0.01 .. 0.3 = 0.08, Chosen, "A rear tyre that slips less has shown that it can carry what it carries, and a little more.";
        trust_slip_end ["-"] 0.02 .. 0.5 = 0.22, Chosen, "A rear tyre that slips this much has shown nothing.";
        trust_lateral_start_m_s2 ["m/s2"] 0.1 .. 5.0 = 1.0, Chosen, "Such a showing counts in full below this lateral acceleration.";
        trust_lateral_end_m_s2 ["m/s2"] 0.2 .. 10.0 = 3.0, Chosen, "And not at all above this one: sideways grip is at stake.";
        trust_step_nm ["N m"] 0.0 .. 1000.0 = 300.0, Chosen, "Torque allowed beyond what a rear tyre has shown to carry.";
        lock_sign_nm ["N m"] 0.0 .. 500.0 = 80.0, Chosen, "Near stick, the torque that the wheels' speeds would make a locked clutch carry must exceed this to tell its sign.";
        lock_share ["-"] 1.0 .. 5.0 = 1.5, Chosen, "Near stick, capacity is bounded by this share of that torque ...";
        lock_margin_nm ["N m"] 50.0 .. 2000.0 = 250.0, Chosen, "... plus this: more would wind the driveline up without moving the car.";
        cold_oil_degc ["degC"] -40.0 .. 60.0 = 10.0, Guess, "Below this oil temperature release is slow and capacity is capped at speed.";
        cold_capacity ["-"] 0.0 .. 1.0 = 0.5, Guess, "Share of capacity left at -30 degC at speed.";
        unlike_tyres_capacity ["-"] 0.0 .. 1.0 = 0.35, Guess, "Share of capacity left with unlike tyres, which slip against each other all the time.";
        difference_nm ["N m"] 100.0 .. 3000.0 = 1100.0, Chosen, "Left and right torque differ no more than this at low speed.";
        difference_fast_nm ["N m"] 50.0 .. 3000.0 = 900.0, Chosen, "The same at 160 km/h.";
    }
    /// Weights of the allocation.
    arbiter: Arbiter {
        weight_rear_torque ["-"] 0.001 .. 10.0 = 0.05, Chosen, "Weight of the rear torque demand.";
        weight_yaw_moment ["-"] 0.001 .. 10.0 = 0.3, Chosen, "Weight of the yaw moment demand.";
        weight_yaw_launch ["-"] 0.0 .. 10.0 = 0.001, Chosen, "Weight of the yaw moment demand while traction is at stake.";
        weight_change ["-"] 0.0 .. 1.0 = 0.01, Chosen, "Weight of the change from the last step.";
        heat_price_per_kw ["N m/kW"] 0.0 .. 100.0 = 1.0, Chosen, "Price of torque per slip power already flowing.";
    }
    /// The fixed-point second channel.
    guardian: GuardianTunables {
        disagreement_nm ["N m"] 1.0 .. 500.0 = 40.0, Chosen, "A request this far above the second channel's limit is a disagreement.";
        patience_s ["s"] 0.005 .. 1.0 = 0.05, Chosen, "Disagreements in a row for this long open both clutches until the next start.";
    }
    /// Torque to pressure to current: end-of-line values of the demo axle, a little off its truth as calibrations are.
    actuation: ActuationTunables {
        faces ["-"] 2.0 .. 20.0 = 10.0, Chosen, "Friction faces of one clutch.";
        effective_radius_m ["m"] 0.03 .. 0.15 = 0.065, Chosen, "Effective friction radius.";
        friction ["-"] 0.06 .. 0.18 = 0.118, Measured, "Friction coefficient at 80 degC and 1 rad/s; wet paper 0.10 to 0.15, from memory.";
        friction_per_decade ["-"] -0.01 .. 0.03 = 0.004, Measured, "Rise of the friction coefficient per decade of slip.";
        friction_per_kelvin_1_k ["1/K"] -0.001 .. 0.0 = -0.00017, Measured, "Change of the friction coefficient with temperature.";
        friction_low ["-"] 0.02 .. 0.12 = 0.07, Chosen, "Least believable friction coefficient; bounds the pressure asked.";
        friction_high ["-"] 0.1 .. 0.3 = 0.17, Chosen, "Largest believable friction coefficient; bounds a weak answer.";
        piston_area_m2 ["m2"] 0.0005 .. 0.02 = 0.005, Chosen, "Piston area.";
        return_spring_n ["N"] 0.0 .. 3000.0 = 400.0, Measured, "Force of the return spring.";
        pressure_bar ["bar"] 5.0 .. 100.0 = 36.0, Chosen, "Largest pressure.";
        current_offset_a ["A"] 0.0 .. 1.0 = 0.152, Measured, "Current at which pressure begins.";
        pressure_per_current_bar_a ["bar/A"] 5.0 .. 200.0 = 34.2, Measured, "Pressure per current above the offset.";
        current_a ["A"] 0.3 .. 5.0 = 1.4, Chosen, "Largest current.";
        rest_current_a ["A"] 0.0 .. 0.5 = 0.08, Chosen, "Current of an open clutch, below the offset; keeps the valve awake.";
        touch_point_bar ["bar"] 0.0 .. 5.0 = 1.0, Chosen, "Largest believable touch-point offset; bounds a stored or learned value.";
        relative_error ["-"] 0.0 .. 0.5 = 0.1, Guess, "Relative error of the torque; from memory.";
        absolute_error_nm ["N m"] 0.0 .. 200.0 = 30.0, Guess, "Absolute error of the torque; from memory.";
    }
    /// Learning of touch point and valve, from the values above: what the end of the line found, or the maker's nominal ones.
    learning: Learning {
        valve_offset_bar ["bar"] 0.0 .. 5.0 = 1.5, Chosen, "A valve's pressure is never learned to lie further beside the calibration's than this.";
        valve_gain_share ["-"] 0.0 .. 0.3 = 0.2, Chosen, "Nor its pressure per current further from the calibration's than this share.";
        valve_least_bar ["bar"] 0.5 .. 20.0 = 1.5, Chosen, "Commanded pressure from which a valve is learned.";
        valve_settled_bar ["bar"] 0.05 .. 5.0 = 0.4, Chosen, "A sample counts whole where command and its lagged value agree, less the further they are apart, not at all from here.";
        valve_event_s ["s"] 0.04 .. 2.0 = 0.5, Chosen, "Time of standing still that the next three belong to.";
        valve_share ["-"] 0.0 .. 1.0 = 0.5, Chosen, "Share of the deviation learned in that time; 0: no learning.";
        valve_offset_step_bar ["bar"] 0.0 .. 1.0 = 0.15, CommonPractice, "Largest way of the offset in that time.";
        valve_gain_step ["-"] 0.0 .. 0.1 = 0.015, CommonPractice, "Largest way of the gain in that time.";
        touch_share ["-"] 0.0 .. 1.0 = 0.5, Chosen, "Share of the deviation of the touch point learned in one event; 0: no learning.";
        touch_step_bar ["bar"] 0.0 .. 1.0 = 0.08, CommonPractice, "Largest step of the touch point in one event.";
        touch_event_s ["s"] 0.1 .. 5.0 = 0.3, Chosen, "Samples of so long make one event.";
        touch_least_nm ["N m"] 5.0 .. 200.0 = 20.0, Chosen, "Torque from which the wheels' reaction counts for the touch point.";
        touch_most_nm ["N m"] 20.0 .. 600.0 = 120.0, Chosen, "Torque up to which it does; up to twice this it tells the stiffness of the tyres.";
        touch_speed_m_s ["m/s"] 3.0 .. 60.0 = 12.0, Chosen, "No touch point is learned below this speed.";
        touch_lateral_m_s2 ["m/s2"] 0.1 .. 10.0 = 2.0, Chosen, "Nor above this lateral acceleration.";
        warm_oil_degc ["degC"] -20.0 .. 100.0 = 30.0, Chosen, "Oil temperature below which nothing is learned.";
    }
    /// Heat capacities and conductances of the axle, the same for both clutches: a guess, on purpose not the plant's.
    heat_network: HeatNetwork {
        surface_capacity_j_k ["J/K"] 50.0 .. 1000.0 = 160.0, Guess, "Heat capacity of one clutch's friction surface. Small, so a pulse shows.";
        core_capacity_j_k ["J/K"] 200.0 .. 5000.0 = 850.0, Guess, "Heat capacity of one clutch's plates and hub. Sets the repeated launches.";
        oil_capacity_j_k ["J/K"] 500.0 .. 10000.0 = 1600.0, Guess, "Heat capacity of the oil, about 0.8 kg at 2000 J/(kg K).";
        housing_capacity_j_k ["J/K"] 2000.0 .. 50000.0 = 8500.0, Guess, "Heat capacity of the housing, about 9.5 kg of aluminium.";
        surface_core_w_k ["W/K"] 50.0 .. 2000.0 = 550.0, Guess, "Conductance surface to core of one clutch.";
        surface_oil_w_k ["W/K"] 5.0 .. 500.0 = 45.0, Guess, "Conductance surface to oil of one clutch.";
        core_oil_w_k ["W/K"] 5.0 .. 500.0 = 55.0, Guess, "Conductance core to oil of one clutch.";
        oil_housing_w_k ["W/K"] 10.0 .. 1000.0 = 85.0, Guess, "Conductance oil to housing.";
        housing_ambient_w_k ["W/K"] 1.0 .. 100.0 = 10.0, Guess, "Conductance housing to air at standstill; free convection.";
        housing_ambient_per_speed_w_s_k_m ["W s/(K m)"] 0.0 .. 10.0 = 0.9, Guess, "Growth of the conductance housing to air with speed; head wind.";
        fastest_speed_m_s ["m/s"] 30.0 .. 150.0 = 100.0, Chosen, "Highest believable speed. A faster one counts as standstill, which cools least.";
    }
    /// How far network and heat may be off.
    heat_bound: HeatBound {
        share ["-"] 0.0 .. 0.4 = 0.15, Chosen, "Share by which heat, heat capacities and conductances may each be off; 0: the estimate itself protects.";
        beyond_k ["K"] 0.0 .. 40.0 = 12.0, Chosen, "Added to the bound: what a lumped network cannot know of the profile in the plates.";
    }
    /// Torque and slip to heat.
    slip_power: SlipPower {
        capacity_nm ["N m"] 100.0 .. 5000.0 = 1200.0, Chosen, "Largest capacity of one clutch; assumed when the grant is no number.";
        slip_rad_s ["rad/s"] 5.0 .. 300.0 = 60.0, Chosen, "Largest believable slip: one rear wheel stopped at 70 km/h.";
        stick_slip_rad_s ["rad/s"] 0.0 .. 1.0 = 0.05, Chosen, "Slip below which the clutch counts as stuck; below it at most 60 W at full capacity are neglected.";
        held_slip_growth_rad_s2 ["rad/s2"] 0.0 .. 500.0 = 100.0, Chosen, "Growth of a held slip with its age: a spinning wheel at 3 g.";
        dead_time_s ["s"] 0.0 .. 0.06 = 0.015, Guess, "Dead time of the warm actuator.";
        lag_s ["s"] 0.0 .. 0.5 = 0.04, Guess, "Lag of the warm actuator.";
        cold_lag_factor ["-"] 1.0 .. 10.0 = 4.0, Guess, "How many times slower the actuator is in cold oil; 2 to 4 at -20 to -30 degC, from memory.";
        cold_oil_degc ["degC"] -40.0 .. 0.0 = -20.0, Chosen, "Oil temperature at and below which the whole factor holds.";
        warm_oil_degc ["degC"] 1.0 .. 80.0 = 40.0, Chosen, "Oil temperature at and above which the actuator is warm.";
    }
    /// Temperatures to ceilings.
    derating: Derating {
        surface_start_degc ["degC"] 100.0 .. 300.0 = 210.0, Chosen, "Surface temperature where the slope begins.";
        surface_limit_degc ["degC"] 120.0 .. 350.0 = 250.0, Guess, "Surface temperature where nothing is left; 200 to 250 short, from memory.";
        core_start_degc ["degC"] 100.0 .. 300.0 = 180.0, Chosen, "Core temperature where the slope begins.";
        core_limit_degc ["degC"] 120.0 .. 350.0 = 220.0, Chosen, "Core temperature where nothing is left.";
        oil_start_degc ["degC"] 80.0 .. 160.0 = 120.0, Guess, "Oil temperature where the slope begins; 120 to 140 continuous, from memory.";
        oil_limit_degc ["degC"] 90.0 .. 170.0 = 140.0, Guess, "Oil temperature where nothing is left; from memory.";
        surface_absolute_degc ["degC"] 150.0 .. 400.0 = 270.0, Chosen, "Surface temperature that orders the clutch open, above the slope's end.";
        surface_reentry_degc ["degC"] 80.0 .. 350.0 = 200.0, Chosen, "Surface temperature below which it may close again, below the slope.";
        oil_absolute_degc ["degC"] 100.0 .. 200.0 = 150.0, Guess, "Oil temperature that orders both clutches open; 150 short, from memory.";
        oil_reentry_degc ["degC"] 70.0 .. 180.0 = 125.0, Chosen, "Oil temperature below which they may close again, above any air.";
        least_share ["-"] 0.0 .. 0.9 = 0.25, Chosen, "Share of the capacity below which oil or core leave too little to be of use: open to cool instead; 0: never.";
        dwell_s ["s"] 0.0 .. 60.0 = 2.0, Chosen, "Least time between two changes of the order.";
        withdrawal_per_s ["1/s"] 0.01 .. 100.0 = 0.5, Chosen, "Fastest fall of the ceiling: the driver must not feel a step.";
        restoration_per_s ["1/s"] 0.01 .. 100.0 = 0.2, Chosen, "Fastest rise of the ceiling, slower than the fall.";
    }
    /// What is counted of the axle's use, and how much of it the axle bears.
    life_count: LifeCount {
        power_class_w ["W"] 1.0 .. 1000.0 = 30.0, Chosen, "Upper end of the lowest class of heat in a clutch; each further end is four times the last.";
        slip_class_rad_s ["rad/s"] 0.1 .. 10.0 = 1.0, Chosen, "Upper end of the lowest class of slip; each further end is twice the last.";
        closed_nm ["N m"] 5.0 .. 500.0 = 50.0, Chosen, "Torque from which a clutch counts as engaged, until it is below half of it.";
        cycle_step_k ["K"] 1.0 .. 20.0 = 5.0, Chosen, "Step in which surface temperatures are counted; a class of cycles is four steps wide.";
        cycle_reference_k ["K"] 20.0 .. 300.0 = 100.0, Chosen, "Range of surface temperature for which the next number is given.";
        cycle_reference_thousand ["-"] 0.1 .. 100000.0 = 500.0, Guess, "Thousand cycles of that range that use up a clutch.";
        cycle_exponent ["-"] 1.0 .. 12.0 = 5.0, Guess, "Slope of cycles to failure over range, double logarithmic; a whole number.";
        wear_mm3_gj ["mm3/GJ"] 0.1 .. 10000.0 = 10.0, Guess, "Lining worn per friction work: 1e-8 mm3/(N m) of normal force times way; no published value for wet paper was readable.";
        wear_friction ["-"] 0.05 .. 0.2 = 0.12, Chosen, "Friction that makes heat of that work; wet paper 0.10 to 0.15, from memory.";
        lining_area_mm2 ["mm2"] 5000.0 .. 500000.0 = 81681.0, Chosen, "Area of all faces of one clutch: ten rings of 55 to 75 mm radius.";
        wear_limit_um ["um"] 5.0 .. 1000.0 = 200.0, Guess, "Wear of a face at which a clutch is used up.";
        oil_activation_j_mol ["J/mol"] 40000.0 .. 160000.0 = 100000.0, Guess, "Activation energy of the oil's ageing; oxidation 80 to 130 kJ/mol, from memory.";
        oil_reference_degc ["degC"] 60.0 .. 140.0 = 100.0, Chosen, "Temperature at which the next number is given.";
        oil_life_h ["h"] 50.0 .. 20000.0 = 1500.0, Guess, "Time at that temperature after which the oil is to be changed.";
        oil_soon_share ["-"] 0.5 .. 1.0 = 0.9, Chosen, "Share of it from which a change is advised.";
    }
    /// Time to the limit, and what is assumed of the air.
    forecast: Forecast {
        horizon_s ["s"] 60.0 .. 14400.0 = 3600.0, Chosen, "How far the forecast looks.";
        use_memory_s ["s"] 0.1 .. 600.0 = 10.0, Chosen, "Time constant of the present use: some corners, one launch.";
        unknown_ambient_degc ["degC"] 20.0 .. 60.0 = 45.0, Chosen, "Air temperature assumed when it is unknown: a hot summer day over asphalt.";
        coldest_ambient_degc ["degC"] -60.0 .. 0.0 = -40.0, Chosen, "Lowest believable air temperature; below it the air counts as this.";
        hottest_ambient_degc ["degC"] 40.0 .. 65.0 = 60.0, Chosen, "Highest believable air temperature at the housing; below the re-entry temperatures, or re-entry is not certain.";
    }
}
