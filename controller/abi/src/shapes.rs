//! What crosses the border: constants, structures, texts. Written by a test from the law's tables; do not edit.
//!
//! `COUPLET_BLESS=1 cargo test -p couplet-tests --test c_header` writes it anew. Every structure holds for every bit pattern.
#![cfg_attr(rustfmt, rustfmt_skip)]

use core::ffi::CStr;
use couplet_controller::calibration::{ENTRIES, RawPage, Tunables};
use couplet_controller::signal::{INPUT_SIGNALS, Inputs, OUTPUT_SIGNALS, Outputs, Reading, Status};

/// Layout of everything below, a number made from all names, units and their order: hand it to `couplet_init`.
pub const COUPLET_LAYOUT: u32 = 0xfdd88b2f;

/// Number of inputs.
pub const COUPLET_INPUTS: u32 = 21;

/// Number of outputs.
pub const COUPLET_OUTPUTS: u32 = 46;

/// Number of findings in the trace.
pub const COUPLET_TRACE: u32 = 84;

/// Layout of the calibration table: belongs into `layout` of a page.
pub const COUPLET_PAGE_LAYOUT: u32 = 9;

/// Number of tunables: belongs into `entries` of a page.
pub const COUPLET_PAGE_ENTRIES: u32 = 270;

/// Bytes of a record over key-off.
pub const COUPLET_RECORD_BYTES: u32 = 672;

/// One input as it arrived. Memory filled with zeros is a value nobody vouches for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[repr(C)]
pub struct couplet_reading {
    /// The value in the unit of its signal. NaN and values beyond the believable range count as not sent.
    pub value: f32,
    /// Time since it was measured, ms; 65535 for longer.
    pub age_ms: u16,
    /// 1 if the sender vouches for the value, 0 if not or if nothing came.
    pub status: u16,
}

impl couplet_reading {
    /// As the law takes it.
    pub fn to_law(self) -> Reading {
        Reading { value: self.value, age_ms: self.age_ms, status: Status(self.status) }
    }

    /// The same in the other direction.
    pub fn of_law(law: Reading) -> Self {
        Self { value: law.value, age_ms: law.age_ms, status: law.status.0 }
    }
}

/// All inputs of one step. Memory filled with zeros says that nothing is known, and nothing is closed then.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[repr(C)]
pub struct couplet_inputs {
    /// Speed of the front left wheel, positive forward. Unit rad/s, believable -60 to 400.
    pub wheel_speed_front_left: couplet_reading,
    /// Speed of the front right wheel, positive forward. Unit rad/s, believable -60 to 400.
    pub wheel_speed_front_right: couplet_reading,
    /// Speed of the rear left wheel, positive forward. Unit rad/s, believable -60 to 400.
    pub wheel_speed_rear_left: couplet_reading,
    /// Speed of the rear right wheel, positive forward. Unit rad/s, believable -60 to 400.
    pub wheel_speed_rear_right: couplet_reading,
    /// Yaw rate, positive to the left. Unit rad/s, believable -3 to 3.
    pub yaw_rate: couplet_reading,
    /// Specific force along y at the centre of gravity, positive to the left. Unit m/s2, believable -25 to 25.
    pub lateral_acceleration: couplet_reading,
    /// Specific force along x at the centre of gravity, positive forward. Unit m/s2, believable -25 to 25.
    pub longitudinal_acceleration: couplet_reading,
    /// Steering-wheel angle, positive to the left. Unit rad, believable -16 to 16.
    pub steering_wheel_angle: couplet_reading,
    /// Accelerator position. Unit -, believable 0 to 1.
    pub accelerator_pedal: couplet_reading,
    /// Pressure the driver's foot makes in the brake's master cylinder. Unit bar, believable 0 to 300.
    pub brake_pressure: couplet_reading,
    /// Powertrain torque at the front differential's carrier, before the rear axle takes its share. Unit N m, believable -3000 to 12000.
    pub carrier_torque: couplet_reading,
    /// What the driver asks of the powertrain, at the same place. Unit N m, believable -3000 to 12000.
    pub carrier_torque_wanted: couplet_reading,
    /// Gear engaged: -1 reverse, 0 neutral. Unit -, believable -1 to 12.
    pub gear: couplet_reading,
    /// Air temperature. Unit degC, believable -60 to 80.
    pub ambient_temperature: couplet_reading,
    /// Master controller's cap on the sum of both wheel torques. Unit N m, believable 0 to 20000.
    pub rear_torque_cap: couplet_reading,
    /// Master controller's cap on the axle's yaw moment. Unit N m, believable 0 to 40000.
    pub yaw_moment_cap: couplet_reading,
    /// Master controller's order to open both clutches, above 0.5. Unit -, believable 0 to 1.
    pub open_now: couplet_reading,
    /// Anti-lock braking at work, above 0.5. Unit -, believable 0 to 1.
    pub anti_lock_active: couplet_reading,
    /// Brake-based stability control at work, above 0.5. Unit -, believable 0 to 1.
    pub stability_active: couplet_reading,
    /// Pressure measured at the left clutch's piston; a car without the sensor never sends it. Unit bar, believable -5 to 120.
    pub clutch_pressure_left: couplet_reading,
    /// Pressure measured at the right clutch's piston; a car without the sensor never sends it. Unit bar, believable -5 to 120.
    pub clutch_pressure_right: couplet_reading,
}

impl couplet_inputs {
    /// As the law takes them.
    pub fn to_law(&self) -> Inputs {
        let mut law = Inputs::default();
        tell::<0>(&mut law, self.wheel_speed_front_left);
        tell::<1>(&mut law, self.wheel_speed_front_right);
        tell::<2>(&mut law, self.wheel_speed_rear_left);
        tell::<3>(&mut law, self.wheel_speed_rear_right);
        tell::<4>(&mut law, self.yaw_rate);
        tell::<5>(&mut law, self.lateral_acceleration);
        tell::<6>(&mut law, self.longitudinal_acceleration);
        tell::<7>(&mut law, self.steering_wheel_angle);
        tell::<8>(&mut law, self.accelerator_pedal);
        tell::<9>(&mut law, self.brake_pressure);
        tell::<10>(&mut law, self.carrier_torque);
        tell::<11>(&mut law, self.carrier_torque_wanted);
        tell::<12>(&mut law, self.gear);
        tell::<13>(&mut law, self.ambient_temperature);
        tell::<14>(&mut law, self.rear_torque_cap);
        tell::<15>(&mut law, self.yaw_moment_cap);
        tell::<16>(&mut law, self.open_now);
        tell::<17>(&mut law, self.anti_lock_active);
        tell::<18>(&mut law, self.stability_active);
        tell::<19>(&mut law, self.clutch_pressure_left);
        tell::<20>(&mut law, self.clutch_pressure_right);
        law
    }

    /// The same in the other direction.
    pub fn of_law(law: &Inputs) -> Self {
        Self {
            wheel_speed_front_left: told::<0>(law),
            wheel_speed_front_right: told::<1>(law),
            wheel_speed_rear_left: told::<2>(law),
            wheel_speed_rear_right: told::<3>(law),
            yaw_rate: told::<4>(law),
            lateral_acceleration: told::<5>(law),
            longitudinal_acceleration: told::<6>(law),
            steering_wheel_angle: told::<7>(law),
            accelerator_pedal: told::<8>(law),
            brake_pressure: told::<9>(law),
            carrier_torque: told::<10>(law),
            carrier_torque_wanted: told::<11>(law),
            gear: told::<12>(law),
            ambient_temperature: told::<13>(law),
            rear_torque_cap: told::<14>(law),
            yaw_moment_cap: told::<15>(law),
            open_now: told::<16>(law),
            anti_lock_active: told::<17>(law),
            stability_active: told::<18>(law),
            clutch_pressure_left: told::<19>(law),
            clutch_pressure_right: told::<20>(law),
        }
    }
}

/// All outputs of one step. `capacity_left` and `capacity_right` are the command; all else explains it. The fault bits come in two
/// halves: bits 0 to 15 in `faults_low`, 16 to 31 in `faults_high`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[repr(C)]
pub struct couplet_outputs {
    /// Capacity commanded to the left clutch, at the wheel. Unit N m, 0 to 3000.
    pub capacity_left: f32,
    /// Capacity commanded to the right clutch, at the wheel. Unit N m, 0 to 3000.
    pub capacity_right: f32,
    /// Torque expected on the left rear wheel, positive drives forward. Unit N m, -3000 to 3000.
    pub torque_left: f32,
    /// Torque expected on the right rear wheel, positive drives forward. Unit N m, -3000 to 3000.
    pub torque_right: f32,
    /// Lower end of the interval the left wheel's torque lies in. Unit N m, -6000 to 6000.
    pub torque_left_least: f32,
    /// Upper end of the interval the left wheel's torque lies in. Unit N m, -6000 to 6000.
    pub torque_left_most: f32,
    /// Lower end of the interval the right wheel's torque lies in. Unit N m, -6000 to 6000.
    pub torque_right_least: f32,
    /// Upper end of the interval the right wheel's torque lies in. Unit N m, -6000 to 6000.
    pub torque_right_most: f32,
    /// Pressure wanted at the left piston. Unit bar, 0 to 100.
    pub pressure_left: f32,
    /// Pressure wanted at the right piston. Unit bar, 0 to 100.
    pub pressure_right: f32,
    /// Current of the left valve. Unit A, 0 to 10.
    pub current_left: f32,
    /// Current of the right valve. Unit A, 0 to 10.
    pub current_right: f32,
    /// Torque the unbounded law would have given on the left. Unit N m, -100000 to 100000.
    pub asked_left: f32,
    /// Torque the unbounded law would have given on the right. Unit N m, -100000 to 100000.
    pub asked_right: f32,
    /// Torque given on the left. Unit N m, -3000 to 3000.
    pub given_left: f32,
    /// Torque given on the right. Unit N m, -3000 to 3000.
    pub given_right: f32,
    /// What made the difference on the left; 0 is nothing. Unit -, 0 to 255.
    pub limit_left: u32,
    /// What made the difference on the right; 0 is nothing. Unit -, 0 to 255.
    pub limit_right: u32,
    /// Least sum of wheel torques that can be had now. Unit N m, -6000 to 6000.
    pub rear_torque_least: f32,
    /// Largest sum of wheel torques that can be had now. Unit N m, -6000 to 6000.
    pub rear_torque_most: f32,
    /// Yaw moment to the right that can be had now, negative. Unit N m, -40000 to 40000.
    pub yaw_moment_least: f32,
    /// Yaw moment to the left that can be had now. Unit N m, -40000 to 40000.
    pub yaw_moment_most: f32,
    /// Request: mean front wheel speed beyond the car's at most; 0 asks for nothing. Unit m/s, 0 to 100.
    pub front_spin_request: f32,
    /// Request: powertrain torque at the carrier at most; the largest number of single precision asks for nothing. Unit N m, 0 to FLT_MAX.
    pub torque_limit_request: f32,
    /// Surface temperature of the left clutch, estimated. Unit degC, -273.15 to 2000.
    pub surface_left: f32,
    /// Surface temperature of the right clutch, estimated. Unit degC, -273.15 to 2000.
    pub surface_right: f32,
    /// Core temperature of the left clutch, estimated. Unit degC, -273.15 to 2000.
    pub core_left: f32,
    /// Core temperature of the right clutch, estimated. Unit degC, -273.15 to 2000.
    pub core_right: f32,
    /// Oil temperature, estimated. Unit degC, -273.15 to 2000.
    pub oil: f32,
    /// Share of the left capacity left by heat. Unit -, 0 to 1.
    pub heat_ceiling_left: f32,
    /// Share of the right capacity left by heat. Unit -, 0 to 1.
    pub heat_ceiling_right: f32,
    /// Time until heat takes capacity from the left at the present use. Unit s, 0 to 14400.
    pub time_to_limit_left: f32,
    /// Time until heat takes capacity from the right at the present use. Unit s, 0 to 14400.
    pub time_to_limit_right: f32,
    /// What heat binds on the left; 0 is nothing. Unit -, 0 to 255.
    pub heat_limit_left: u32,
    /// What heat binds on the right; 0 is nothing. Unit -, 0 to 255.
    pub heat_limit_right: u32,
    /// Share of life the left clutch has used: 0 is new, 1 used up. Unit -, 0 to 1000.
    pub clutch_life_used_left: f32,
    /// Share of life the right clutch has used: 0 is new, 1 used up. Unit -, 0 to 1000.
    pub clutch_life_used_right: f32,
    /// Share of life the oil has used since it was new. Unit -, 0 to 1000.
    pub oil_life_used: f32,
    /// What a workshop should do: 0 nothing, 1 change the oil soon, 2 now, 3 a clutch is used up. Unit -, 0 to 3.
    pub advice: u32,
    /// What is left of the ability: 0 everything, 1 reduced, 2 open. Unit -, 0 to 2.
    pub health: u32,
    /// Confirmed faults, bits 0 to 15. Unit -, 0 to 65535.
    pub faults_low: u32,
    /// Confirmed faults, bits 16 to 31. Unit -, 0 to 65535.
    pub faults_high: u32,
    /// Share of the capacity that health leaves. Unit -, 0 to 1.
    pub health_share: f32,
    /// Whether health lets left and right differ: 0 both alike, 1 may differ. Unit -, 0 to 1.
    pub may_differ: u32,
    /// Where the car is: 0 on a road, 1 towed with the front axle raised, 2 on a bench or jack or with the rear axle raised, 3 pushed or in a wash; but for 0 the clutches stay open. Unit -, 0 to 3.
    pub situation: u32,
    /// Phase of driving as the law reads it. Unit -, 0 to 7.
    pub phase: u32,
}

impl couplet_outputs {
    /// As the law gives them.
    pub fn of_law(law: &Outputs) -> Self {
        Self {
            capacity_left: given::<0>(law),
            capacity_right: given::<1>(law),
            torque_left: given::<2>(law),
            torque_right: given::<3>(law),
            torque_left_least: given::<4>(law),
            torque_left_most: given::<5>(law),
            torque_right_least: given::<6>(law),
            torque_right_most: given::<7>(law),
            pressure_left: given::<8>(law),
            pressure_right: given::<9>(law),
            current_left: given::<10>(law),
            current_right: given::<11>(law),
            asked_left: given::<12>(law),
            asked_right: given::<13>(law),
            given_left: given::<14>(law),
            given_right: given::<15>(law),
            limit_left: given::<16>(law) as u32,
            limit_right: given::<17>(law) as u32,
            rear_torque_least: given::<18>(law),
            rear_torque_most: given::<19>(law),
            yaw_moment_least: given::<20>(law),
            yaw_moment_most: given::<21>(law),
            front_spin_request: given::<22>(law),
            torque_limit_request: given::<23>(law),
            surface_left: given::<24>(law),
            surface_right: given::<25>(law),
            core_left: given::<26>(law),
            core_right: given::<27>(law),
            oil: given::<28>(law),
            heat_ceiling_left: given::<29>(law),
            heat_ceiling_right: given::<30>(law),
            time_to_limit_left: given::<31>(law),
            time_to_limit_right: given::<32>(law),
            heat_limit_left: given::<33>(law) as u32,
            heat_limit_right: given::<34>(law) as u32,
            clutch_life_used_left: given::<35>(law),
            clutch_life_used_right: given::<36>(law),
            oil_life_used: given::<37>(law),
            advice: given::<38>(law) as u32,
            health: given::<39>(law) as u32,
            faults_low: given::<40>(law) as u32,
            faults_high: given::<41>(law) as u32,
            health_share: given::<42>(law),
            may_differ: given::<43>(law) as u32,
            situation: given::<44>(law) as u32,
            phase: given::<45>(law) as u32,
        }
    }

    /// All of them as numbers, in the order of the table.
    pub fn numbers(&self) -> [f32; 46] {
        [
            self.capacity_left,
            self.capacity_right,
            self.torque_left,
            self.torque_right,
            self.torque_left_least,
            self.torque_left_most,
            self.torque_right_least,
            self.torque_right_most,
            self.pressure_left,
            self.pressure_right,
            self.current_left,
            self.current_right,
            self.asked_left,
            self.asked_right,
            self.given_left,
            self.given_right,
            self.limit_left as f32,
            self.limit_right as f32,
            self.rear_torque_least,
            self.rear_torque_most,
            self.yaw_moment_least,
            self.yaw_moment_most,
            self.front_spin_request,
            self.torque_limit_request,
            self.surface_left,
            self.surface_right,
            self.core_left,
            self.core_right,
            self.oil,
            self.heat_ceiling_left,
            self.heat_ceiling_right,
            self.time_to_limit_left,
            self.time_to_limit_right,
            self.heat_limit_left as f32,
            self.heat_limit_right as f32,
            self.clutch_life_used_left,
            self.clutch_life_used_right,
            self.oil_life_used,
            self.advice as f32,
            self.health as f32,
            self.faults_low as f32,
            self.faults_high as f32,
            self.health_share,
            self.may_differ as f32,
            self.situation as f32,
            self.phase as f32,
        ]
    }
}

/// The calibration page: every tunable of the law, `group_name`. Fill it with `couplet_page_default`, change what is to differ.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[repr(C)]
pub struct couplet_page {
    /// Must be `COUPLET_PAGE_LAYOUT`.
    pub layout: u32,
    /// Must be `COUPLET_PAGE_ENTRIES`.
    pub entries: u32,
    /// How much the car turns like a rear-driven one: target understeer gradient, feed-forward, rear share. Unit -, 0 to 1, default 0.5.
    pub setting_agility: f32,
    /// How calm it stays: yaw damping, pre-load on fast steering, sideslip limit. Unit -, 0 to 1, default 0.5.
    pub setting_steadiness: f32,
    /// Sideslip the driver may hold before the law counters; zero unless asked for. Unit deg, 0 to 40, default 0.
    pub setting_slide_allowance_deg: f32,
    /// Mass with driver. Unit kg, 600 to 4000, default 1720.
    pub vehicle_mass_kg: f32,
    /// Yaw inertia about the centre of gravity. Unit kg m2, 500 to 8000, default 2900.
    pub vehicle_yaw_inertia_kg_m2: f32,
    /// Distance of the axles. Unit m, 1.8 to 4, default 2.72.
    pub vehicle_wheelbase_m: f32,
    /// Distance of the centre of gravity behind the front axle. Unit m, 0.5 to 3, default 1.142.
    pub vehicle_front_axle_to_cg_m: f32,
    /// Height of the centre of gravity. Unit m, 0.2 to 1.2, default 0.56.
    pub vehicle_cg_height_m: f32,
    /// Track, both axles. Unit m, 1 to 2.2, default 1.58.
    pub vehicle_track_m: f32,
    /// Effective rolling radius. Unit m, 0.2 to 0.6, default 0.32.
    pub vehicle_wheel_radius_m: f32,
    /// Steering-wheel angle over road-wheel angle. Unit -, 8 to 30, default 15.
    pub vehicle_steering_ratio: f32,
    /// Front axle, with steering compliance. Unit N/rad, 20000 to 400000, default 98000.
    pub vehicle_front_cornering_stiffness_n_rad: f32,
    /// Rear axle. Unit N/rad, 20000 to 400000, default 112000.
    pub vehicle_rear_cornering_stiffness_n_rad: f32,
    /// Longitudinal force of one rear wheel per unit slip. Unit N, 10000 to 300000, default 70000.
    pub vehicle_rear_slip_stiffness_n: f32,
    /// How much faster the rear shaft turns than the front carrier. Unit -, 0 to 0.05, default 0.02.
    pub vehicle_overspeed: f32,
    /// A value older than this is no longer fresh. Unit s, 0.005 to 0.5, default 0.03.
    pub conditioning_longest_age_s: f32,
    /// A last good value is believed this long, then it is lost. Unit s, 0 to 1, default 0.1.
    pub conditioning_hold_time_s: f32,
    /// A wheel speed that changes faster is not believed: 3000 N m of brake over 1.2 kg m2. Unit rad/s2, 100 to 100000, default 2500.
    pub conditioning_wheel_speed_rate_rad_s2: f32,
    /// The same for the yaw rate; tyres make 10 to 20. Unit rad/s2, 5 to 10000, default 40.
    pub conditioning_yaw_rate_rate_rad_s2: f32,
    /// The same for both accelerations. Unit m/s3, 50 to 100000, default 600.
    pub conditioning_acceleration_rate_m_s3: f32,
    /// The same for the steering-wheel angle; fast hands make 20 to 26, from memory. Unit rad/s, 5 to 1000, default 60.
    pub conditioning_steering_rate_rad_s: f32,
    /// The same for both powertrain torques. Unit N m/s, 5000 to 10000000, default 100000.
    pub conditioning_torque_rate_nm_s: f32,
    /// The same for the brake pressure. Unit bar/s, 100 to 100000, default 5000.
    pub conditioning_brake_rate_bar_s: f32,
    /// Yaw rate and the rear wheels' speed difference may differ this much. Unit rad/s, 0.01 to 1, default 0.2.
    pub monitor_yaw_rate_tolerance_rad_s: f32,
    /// No yaw cross check below this speed. Unit m/s, 1 to 20, default 5.
    pub monitor_yaw_check_speed_m_s: f32,
    /// A contradiction must last this long to count; release must be ordered within 100 ms. Unit s, 0.005 to 2, default 0.06.
    pub monitor_confirm_time_s: f32,
    /// It must be gone this long to be forgotten. Unit s, 0.1 to 60, default 2.
    pub monitor_heal_time_s: f32,
    /// Further difference allowed where the setting allows a slide: wheels spin and yaw rate leaves lateral acceleration over speed. Unit rad/s, 0 to 2, default 0.4.
    pub monitor_slide_tolerance_rad_s: f32,
    /// Where the setting allows a slide: after an order to open, wheels stopped by a hand brake are no witnesses of the yaw rate for this long. Unit s, 0 to 5, default 0.5.
    pub monitor_silent_time_s: f32,
    /// The order channel must be heard again this long before both clutches may close after it was lost: longer than the pauses of a loose plug. Unit s, 0 to 60, default 0.5.
    pub monitor_order_heal_s: f32,
    /// Share of the capacity left when one wheel speed or the yaw rate is lost. Unit -, 0 to 1, default 0.35.
    pub monitor_reduced_capacity: f32,
    /// A wheel this share of the others' speed apart from three that agree, without torque or brake to slip by, is not believed. Unit -, 0.1 to 1, default 0.35.
    pub monitor_wheel_apart: f32,
    /// Powertrain torque below which no wheel spins. Unit N m, 20 to 2000, default 150.
    pub monitor_quiet_torque_nm: f32,
    /// Brake pressure below which no wheel locks. Unit bar, 0.1 to 20, default 2.
    pub monitor_quiet_brake_bar: f32,
    /// Wheel speeds, lateral acceleration and torque must contradict the others this long: a freely rolling tyre catches its speed sooner. Unit s, 0.05 to 5, default 0.5.
    pub monitor_slip_confirm_s: f32,
    /// A value that keeps every bit this long while another says that it must move is stuck. Unit s, 0.05 to 5, default 0.2.
    pub monitor_still_time_s: f32,
    /// So far the wheels' mean must have moved. Unit rad/s, 0.5 to 50, default 2.5.
    pub monitor_still_wheel_rad_s: f32,
    /// So far lateral acceleration over speed must have moved for the yaw rate, and times speed the yaw rate for the acceleration. Unit rad/s, 0.02 to 2, default 0.2.
    pub monitor_still_yaw_rad_s: f32,
    /// Lateral acceleration and yaw rate times speed may differ this much while the car hardly turns: a bank of a quarter and a gust. Unit m/s2, 1 to 25, default 5.
    pub monitor_lateral_tolerance_m_s2: f32,
    /// Steering-wheel angle from which a car above 10 m/s must turn. Unit rad, 0.2 to 10, default 0.8.
    pub monitor_steering_tolerance_rad: f32,
    /// So long it may not: on ice a car pushes straight on, but not for long. Unit s, 0.1 to 20, default 2.
    pub monitor_steering_confirm_s: f32,
    /// The powertrain may give this much more than it was asked for. Unit N m, 100 to 10000, default 800.
    pub monitor_torque_tolerance_nm: f32,
    /// One axle turns faster than this while the other stands, without torque or brake: towed on an axle, or a brake tester. Unit m/s, 0.5 to 10, default 1.2.
    pub monitor_lifted_speed_m_s: f32,
    /// For so long, and so long in neutral at walking pace: a car wash, or pushed. Unit s, 0.1 to 10, default 1.
    pub monitor_lifted_confirm_s: f32,
    /// Front wheels this fast under power while the rear ones stand: a roller bench or a jack, or a launch that will not come. Unit m/s, 3 to 30, default 6.
    pub monitor_bench_speed_m_s: f32,
    /// For so long. Unit s, 0.5 to 20, default 3.
    pub monitor_bench_confirm_s: f32,
    /// Walking pace of a car wash. Unit m/s, 0.5 to 10, default 3.
    pub monitor_wash_speed_m_s: f32,
    /// So long after towing, bench or wash ended the axle closes again, from nothing and no faster than the rate bound. Unit s, 0.05 to 10, default 0.2.
    pub monitor_situation_heal_s: f32,
    /// Powertrain torque the car is asked to keep below while a clutch does not open: power makes it drift half as far again. Unit N m, 0 to 5000, default 400.
    pub monitor_help_torque_nm: f32,
    /// Measured and commanded pressure may differ this much ... Unit bar, 0.5 to 20, default 2.5.
    pub pressure_watch_tolerance_bar: f32,
    /// ... plus this share: a valve not learned yet is no fault. Unit -, 0 to 0.6, default 0.25.
    pub pressure_watch_tolerance_share: f32,
    /// Time constant within which the pressure of a warm clutch surely follows, dead time included; cold oil as in slip_power. Unit s, 0.02 to 2, default 0.15.
    pub pressure_watch_follow_s: f32,
    /// Too much pressure must last this long to count; release must be ordered within 100 ms of its cause. Unit s, 0.005 to 0.2, default 0.015.
    pub pressure_watch_high_confirm_s: f32,
    /// Too little pressure must last this long to count. Unit s, 0.02 to 2, default 0.15.
    pub pressure_watch_low_confirm_s: f32,
    /// A released clutch that keeps its pressure this long counts as one that does not open. Unit s, 0.05 to 5, default 0.25.
    pub pressure_watch_stuck_s: f32,
    /// Less than this share of the pressure is no pressure; more is a leak. Unit -, 0 to 1, default 0.3.
    pub pressure_watch_open_share: f32,
    /// Pressures must agree this long for a finding to be forgotten. Unit s, 0.1 to 60, default 2.
    pub pressure_watch_heal_s: f32,
    /// A finding that stood this long altogether stays until the next start. Unit s, 0.5 to 600, default 5.
    pub pressure_watch_latch_s: f32,
    /// A clutch that does not open is matched with up to this share of the torque the rear wheels show; 0: never. Unit -, 0 to 2, default 1.3.
    pub pressure_watch_match_share: f32,
    /// Torque shown below this is matched with nothing: it may be noise. Unit N m, 10 to 1000, default 80.
    pub pressure_watch_match_least_nm: f32,
    /// Matched in full from this speed on, not at all below half of it: slow cars drift little and wind up much. Unit m/s, 2 to 30, default 12.
    pub pressure_watch_match_speed_m_s: f32,
    /// Road-wheel angle from which nothing is matched; in full up to half of it. Unit rad, 0.02 to 1, default 0.12.
    pub pressure_watch_match_steer_rad: f32,
    /// At crawl, speed may change this much faster than the accelerometer says: room for a grade not learned yet. Unit m/s2, 0.2 to 10, default 2.5.
    pub vehicle_state_speed_margin_m_s2: f32,
    /// The same from 10 m/s on. Unit m/s2, 0.1 to 10, default 0.5.
    pub vehicle_state_speed_margin_fast_m_s2: f32,
    /// The same the way the wheels cannot be wrong: down when driven, up when braked, both when rolling. Unit m/s2, 0.1 to 20, default 0.7.
    pub vehicle_state_speed_margin_free_m_s2: f32,
    /// The same downwards under anti-lock control, when no wheel rolls freely for long and the slope is known; three times this upwards. Unit m/s2, 0.01 to 10, default 0.05.
    pub vehicle_state_speed_margin_anti_lock_m_s2: f32,
    /// The same without an accelerometer: what tyres can do. Unit m/s2, 1 to 30, default 12.
    pub vehicle_state_speed_margin_blind_m_s2: f32,
    /// Time constant with which the slope is learned from rolling wheels. Unit s, 0.1 to 20, default 1.5.
    pub vehicle_state_slope_memory_s: f32,
    /// Time constant with which the integrated sideslip returns to the single-track value in a slide. Unit s, 0.1 to 20, default 5.
    pub vehicle_state_sideslip_leak_s: f32,
    /// The same while the car turns as it is steered, up to 10 m/s; about twice as long from 16 m/s on. Unit s, 0.1 to 20, default 0.25.
    pub vehicle_state_sideslip_agreed_s: f32,
    /// Turning otherwise than steered: how far a change of speed that was not felt counts as sideways speed, per yaw rate. Unit s, 0 to 20, default 8.
    pub vehicle_state_sideslip_from_speed_s: f32,
    /// Friction is never taken lower than this. Unit -, 0.02 to 0.6, default 0.15.
    pub vehicle_state_friction_floor: f32,
    /// Friction is never taken higher than this. Unit -, 0.3 to 1.5, default 1.05.
    pub vehicle_state_friction_ceiling: f32,
    /// Friction assumed beyond what has been used already, without slip. Unit -, 0.05 to 0.8, default 0.42.
    pub vehicle_state_friction_allowance: f32,
    /// Further allowance per friction used. Unit -, 0 to 1, default 0.25.
    pub vehicle_state_friction_growth: f32,
    /// Tyre slip from which the allowance shrinks. Unit -, 0.005 to 0.2, default 0.04.
    pub vehicle_state_friction_slip_start: f32,
    /// Tyre slip at which the allowance is gone. Unit -, 0.02 to 0.5, default 0.14.
    pub vehicle_state_friction_slip_end: f32,
    /// Time constant with which friction used is forgotten. Unit s, 0.2 to 60, default 3.
    pub vehicle_state_friction_memory_s: f32,
    /// Time constant with which a banked road is told from sideslip. Unit s, 1 to 60, default 15.
    pub vehicle_state_bank_memory_s: f32,
    /// Time constant with which sideslip is given up at crawl. Unit s, 0.02 to 2, default 0.1.
    pub vehicle_state_crawl_sideslip_s: f32,
    /// Lag of the friction in use: a noise peak is no grip. Unit s, 0.01 to 2, default 0.15.
    pub vehicle_state_friction_filter_s: f32,
    /// Way over which the rolling-radius ratios are averaged, pieces of it counted by how sure they are. Unit m, 50 to 5000, default 300.
    pub vehicle_state_radius_learning_m: f32,
    /// A ratio is never taken further from one than this: a spare wheel is a tenth smaller. Unit -, 0 to 0.2, default 0.12.
    pub vehicle_state_radius_bound: f32,
    /// Radii that differ by this much, front to rear or left to right, are more than wear: a spare, mixed sizes or chains. Unit -, 0.005 to 0.1, default 0.025.
    pub vehicle_state_unlike_tyres_start: f32,
    /// Difference that limits the axle in full. Unit -, 0.01 to 0.2, default 0.035.
    pub vehicle_state_unlike_tyres_end: f32,
    /// Above this speed nothing is a launch. Unit m/s, 1 to 15, default 6.
    pub driver_intent_launch_end_m_s: f32,
    /// Steering-wheel rate from which steering counts as urgent. Unit rad/s, 0.5 to 20, default 2.5.
    pub driver_intent_urgency_start_rad_s: f32,
    /// Steering-wheel rate that is fully urgent. Unit rad/s, 1 to 40, default 9.
    pub driver_intent_urgency_end_rad_s: f32,
    /// Time constant with which urgency is forgotten. Unit s, 0.05 to 5, default 0.5.
    pub driver_intent_urgency_memory_s: f32,
    /// Pedal closing faster than this is a lift-off. Unit 1/s, 0.2 to 20, default 2.
    pub driver_intent_lift_off_rate_per_s: f32,
    /// Lag of pedal and steering rates: bus steps and noise are no intent. Unit s, 0 to 0.2, default 0.03.
    pub driver_intent_rate_filter_s: f32,
    /// A lift-off ends below this pedal position, and a pedal above it ends a lift-off. Unit -, 0.02 to 0.9, default 0.3.
    pub driver_intent_lift_off_pedal: f32,
    /// Time constant with which a lift-off is forgotten. Unit s, 0.1 to 10, default 3.
    pub driver_intent_lift_off_memory_s: f32,
    /// Wanted curvature from which the car counts as turning. Unit 1/m, 0.0005 to 0.05, default 0.003.
    pub driver_intent_turn_curvature_1_m: f32,
    /// A phase lasts at least this long, unless a more urgent one interrupts it. Unit s, 0.02 to 2, default 0.15.
    pub driver_intent_phase_dwell_s: f32,
    /// Target understeer constant at agility 1. Unit rad s2/m, 0 to 0.02, default 0.0036.
    pub yaw_reference_understeer_agile_rad_s2_m: f32,
    /// Target understeer constant at agility 0. Unit rad s2/m, 0 to 0.02, default 0.0037.
    pub yaw_reference_understeer_steady_rad_s2_m: f32,
    /// Yaw rate is capped at this share of mu g / V; the textbook's 0.85 cuts off what the axle reaches. Unit -, 0.5 to 1, default 0.92.
    pub yaw_reference_friction_share: f32,
    /// Friction assumed for the soft bend while no tyre slips. Unit -, 0.4 to 1.2, default 0.95.
    pub yaw_reference_friction_dry: f32,
    /// The reference bends towards this share of mu g / V at agility 1. Unit -, 0.5 to 2, default 1.
    pub yaw_reference_soft_share_agile: f32,
    /// The same at agility 0: about what the car does by itself. Unit -, 0.5 to 2, default 0.76.
    pub yaw_reference_soft_share_steady: f32,
    /// Lag of the reference at steadiness 0. Unit s, 0 to 0.5, default 0.05.
    pub yaw_reference_lag_agile_s: f32,
    /// Lag of the reference at steadiness 1. Unit s, 0 to 0.5, default 0.06.
    pub yaw_reference_lag_steady_s: f32,
    /// Below this speed no yaw moment is wanted; fully wanted at twice the speed. Unit m/s, 0.5 to 15, default 3.
    pub yaw_reference_fade_in_speed_m_s: f32,
    /// How far a lift-off pulls the reference towards the curvature before it, per steadiness: 1 holds it, more makes up for what the feedback leaves over. Unit -, 0 to 3, default 1.8.
    pub yaw_reference_lift_off_hold_share: f32,
    /// Sideslip at which the law counters, on dry road at steadiness 0. Unit deg, 1 to 20, default 5.
    pub yaw_reference_sideslip_limit_deg: f32,
    /// Yaw-rate feedback at low speed: margins 9 dB and 50 deg on the demo car. Unit N m s/rad, 0 to 100000, default 27000.
    pub yaw_control_proportional_nm_s_rad: f32,
    /// The same at the fast end. Unit N m s/rad, 0 to 100000, default 24000.
    pub yaw_control_proportional_fast_nm_s_rad: f32,
    /// Speed of the fast end, 160 km/h. Unit m/s, 20 to 80, default 44.4.
    pub yaw_control_fast_speed_m_s: f32,
    /// Yaw-rate error integral gain. Unit N m/rad, 0 to 300000, default 45000.
    pub yaw_control_integral_nm_rad: f32,
    /// The integral part never exceeds this. Unit N m, 0 to 10000, default 900.
    pub yaw_control_integral_limit_nm: f32,
    /// How fast the integral part is given up after a lift-off. Unit 1/s, 0 to 50, default 4.
    pub yaw_control_integral_release_1_s: f32,
    /// How fast the integral gives way to a bound's shortfall. Unit 1/s, 0 to 100, default 8.
    pub yaw_control_anti_windup_1_s: f32,
    /// Errors below this are ignored straight ahead: a yaw-rate bias must not steer the car. Unit rad/s, 0 to 0.1, default 0.014.
    pub yaw_control_dead_band_rad_s: f32,
    /// The same in a turn. Unit rad/s, 0 to 0.1, default 0.001.
    pub yaw_control_dead_band_turn_rad_s: f32,
    /// Counter-moment per sideslip beyond its limit. Unit N m/rad, 0 to 200000, default 42000.
    pub yaw_control_sideslip_nm_rad: f32,
    /// Share of the single-track feed-forward used at agility 1. Unit -, 0 to 2, default 1.
    pub yaw_control_feed_forward_share: f32,
    /// Moment against yaw acceleration beyond the reference's, at steadiness 1. Unit N m s2/rad, 0 to 20000, default 1500.
    pub yaw_control_damping_nm_s2_rad: f32,
    /// Each of the two lags that smooth the measured yaw acceleration. Unit s, 0 to 0.2, default 0.02.
    pub yaw_control_damping_filter_s: f32,
    /// Yaw acceleration error that counts as noise. Unit rad/s2, 0 to 5, default 0.2.
    pub yaw_control_damping_dead_band_rad_s2: f32,
    /// Time constant with which the integral part is given up at crawl. Unit s, 0.02 to 5, default 0.2.
    pub yaw_control_crawl_memory_s: f32,
    /// Yaw rate beyond the reference from which the car counts as oversteering. Unit rad/s, 0 to 0.5, default 0.03.
    pub yaw_control_oversteer_start_rad_s: f32,
    /// Yaw rate beyond the reference at which it does so fully. Unit rad/s, 0.01 to 1, default 0.12.
    pub yaw_control_oversteer_end_rad_s: f32,
    /// Time constant with which closed clutches are given up while the car still oversteers: under 5 % in 0.1 s. Unit s, 0.1 to 10, default 2.5.
    pub yaw_control_oversteer_hold_s: f32,
    /// Oversteer held beyond which nothing closed is given up: less is a swing that ends by itself. Unit -, 0 to 1, default 0.05.
    pub yaw_control_oversteer_kept: f32,
    /// So long after it did they are still kept; then they fade with this time constant. Unit s, 0.01 to 2, default 0.15.
    pub yaw_control_oversteer_memory_s: f32,
    /// Slide allowance from which a slide is left to the driver altogether. Unit deg, 1 to 40, default 10.
    pub yaw_control_slide_full_deg: f32,
    /// Sideslip beyond the allowance over which the law takes it back: 5 deg, for the driver cannot hold it to the degree. Unit rad, 0.01 to 0.5, default 0.09.
    pub yaw_control_slide_end_rad: f32,
    /// Driver torque from which a hard turn is taken for a slide wanted; from half of it in part. Unit N m, 100 to 5000, default 800.
    pub yaw_control_slide_torque_nm: f32,
    /// Yaw rate times speed from which a turn is hard; from three quarters of it in part. Unit m/s2, 1 to 15, default 7.
    pub yaw_control_slide_turn_m_s2: f32,
    /// Share of the capacity both clutches hold on fully urgent steering at steadiness 1. Unit -, 0 to 1, default 0.35.
    pub yaw_control_pre_load_urgent: f32,
    /// Share of the capacity both clutches hold in full oversteer: never open on oversteer. Unit -, 0 to 1, default 0.5.
    pub yaw_control_pre_load_oversteer: f32,
    /// No yaw moment beyond this is ever asked for. Unit N m, 500 to 20000, default 5000.
    pub yaw_control_moment_limit_nm: f32,
    /// Share of the driver's torque wanted at the rear, agility 1. Unit -, 0 to 0.7, default 0.45.
    pub traction_rear_share_agile: f32,
    /// The same at agility 0. Unit -, 0 to 0.7, default 0.25.
    pub traction_rear_share_steady: f32,
    /// Front wheels faster than the car by this call for rear torque. Unit m/s, 0 to 5, default 0.15.
    pub traction_front_slip_start_m_s: f32,
    /// And this share of the speed beyond the next number on top: the slip of ordinary drive torque. Unit -, 0 to 0.2, default 0.03.
    pub traction_front_slip_share: f32,
    /// Below this speed the start is not raised: a launch needs its rear torque early. Unit m/s, 0 to 20, default 6.
    pub traction_front_slip_speed_m_s: f32,
    /// Rear torque per front spin beyond the start. Unit N m s/m, 0 to 20000, default 6000.
    pub traction_front_slip_gain_nm_s_m: f32,
    /// Above this speed that gain falls with speed: a tyre's speed of slip per torque grows with it, and the loop must not swing. Unit m/s, 1 to 60, default 12.
    pub traction_front_slip_gain_speed_m_s: f32,
    /// Moving off, time constant with which that call is given up: wheel speeds are silent at crawl. Unit s, 0 to 5, default 1.
    pub traction_front_slip_memory_s: f32,
    /// Share wanted at the rear while launching, set before any wheel slips. Unit -, 0 to 1, default 0.6.
    pub traction_launch_share: f32,
    /// Driver torque below this calls for nothing: open at steady cruise. Unit N m, 0 to 1000, default 150.
    pub traction_lowest_torque_nm: f32,
    /// Front spin beyond the start at which traction is fully at stake. Unit m/s, 0.02 to 2, default 0.12.
    pub traction_need_spin_m_s: f32,
    /// Above this speed front spin no longer lets the high side pull alone. Unit m/s, 2 to 40, default 16.
    pub traction_need_end_m_s: f32,
    /// And this much more per speed squared: air drag. Unit N m s2/m2, 0 to 1, default 0.12.
    pub traction_lowest_torque_nm_s2_m2: f32,
    /// Front spin the powertrain is asked to keep at launch; spin sets the clutch heat. Unit m/s, 0.1 to 5, default 0.33.
    pub traction_front_spin_request_m_s: f32,
    /// Torque capacity of one clutch at the wheel. Unit N m, 200 to 3000, default 1100.
    pub authority_capacity_nm: f32,
    /// Capacity rises no faster. Unit N m/s, 500 to 100000, default 14000.
    pub authority_rise_nm_s: f32,
    /// Capacity falls no faster, unless opened by order, fault or absolute heat. Unit N m/s, 500 to 200000, default 25000.
    pub authority_fall_nm_s: f32,
    /// Moving off at a crawl, slip against the gear below which a clutch keeps the gear's sign: more than a front wheel below its sensor's threshold can feign. Unit rad/s, 0 to 20, default 4.
    pub authority_crawl_sign_rad_s: f32,
    /// Slip below this says nothing about the torque's sign; above slip noise at speed. Unit rad/s, 0.05 to 2, default 0.4.
    pub authority_slip_dead_band_rad_s: f32,
    /// Below this speed the dead band shrinks with speed. Unit m/s, 1 to 20, default 6.4.
    pub authority_dead_band_speed_m_s: f32,
    /// Sum of wheel torques the propshaft may carry. Unit N m, 200 to 6000, default 2200.
    pub authority_propshaft_nm: f32,
    /// Rear torque beyond the powertrain's, at speed. Unit N m, 0 to 3000, default 1500.
    pub authority_wind_up_nm: f32,
    /// The same at walking pace with the wheels steered. Unit N m, 0 to 1000, default 60.
    pub authority_wind_up_park_nm: f32,
    /// Share of the powertrain's torque that the rear axle leaves alone at walking pace with the wheels steered in oil of -30 degC: it vanishes sooner than a cold clutch lets go. Unit -, 0 to 1, default 0.6.
    pub authority_wind_up_cold: f32,
    /// Speed from which the full wind-up is allowed. Unit m/s, 1 to 30, default 10.
    pub authority_wind_up_speed_m_s: f32,
    /// Rear wheel torque is bounded by this share of estimated friction times load. Unit -, 0.3 to 2, default 1.1.
    pub authority_friction_share: f32,
    /// However hard the car turns, this share of the friction is taken to be left for driving. Unit -, 0 to 1, default 0.4.
    pub authority_friction_along: f32,
    /// Friction assumed per wheel while launching, whatever was used before. Unit -, 0.1 to 1.5, default 1.
    pub authority_friction_launch: f32,
    /// A rear tyre that slips less has shown that it can carry what it carries, and a little more. Unit -, 0.01 to 0.3, default 0.08.
    pub authority_trust_slip_start: f32,
    /// A rear tyre that slips this much has shown nothing. Unit -, 0.02 to 0.5, default 0.22.
    pub authority_trust_slip_end: f32,
    /// Such a showing counts in full below this lateral acceleration. Unit m/s2, 0.1 to 5, default 1.
    pub authority_trust_lateral_start_m_s2: f32,
    /// And not at all above this one: sideways grip is at stake. Unit m/s2, 0.2 to 10, default 3.
    pub authority_trust_lateral_end_m_s2: f32,
    /// Torque allowed beyond what a rear tyre has shown to carry. Unit N m, 0 to 1000, default 300.
    pub authority_trust_step_nm: f32,
    /// Near stick, the torque that the wheels' speeds would make a locked clutch carry must exceed this to tell its sign. Unit N m, 0 to 500, default 80.
    pub authority_lock_sign_nm: f32,
    /// Near stick, capacity is bounded by this share of that torque ... Unit -, 1 to 5, default 1.5.
    pub authority_lock_share: f32,
    /// ... plus this: more would wind the driveline up without moving the car. Unit N m, 50 to 2000, default 250.
    pub authority_lock_margin_nm: f32,
    /// Below this oil temperature release is slow and capacity is capped at speed. Unit degC, -40 to 60, default 10.
    pub authority_cold_oil_degc: f32,
    /// Share of capacity left at -30 degC at speed. Unit -, 0 to 1, default 0.5.
    pub authority_cold_capacity: f32,
    /// Share of capacity left with unlike tyres, which slip against each other all the time. Unit -, 0 to 1, default 0.35.
    pub authority_unlike_tyres_capacity: f32,
    /// Left and right torque differ no more than this at low speed. Unit N m, 100 to 3000, default 1100.
    pub authority_difference_nm: f32,
    /// The same at 160 km/h. Unit N m, 50 to 3000, default 900.
    pub authority_difference_fast_nm: f32,
    /// Weight of the rear torque demand. Unit -, 0.001 to 10, default 0.05.
    pub arbiter_weight_rear_torque: f32,
    /// Weight of the yaw moment demand. Unit -, 0.001 to 10, default 0.3.
    pub arbiter_weight_yaw_moment: f32,
    /// Weight of the yaw moment demand while traction is at stake. Unit -, 0 to 10, default 0.001.
    pub arbiter_weight_yaw_launch: f32,
    /// Weight of the change from the last step. Unit -, 0 to 1, default 0.01.
    pub arbiter_weight_change: f32,
    /// Price of torque per slip power already flowing. Unit N m/kW, 0 to 100, default 1.
    pub arbiter_heat_price_per_kw: f32,
    /// A request this far above the second channel's limit is a disagreement. Unit N m, 1 to 500, default 40.
    pub guardian_disagreement_nm: f32,
    /// Disagreements in a row for this long open both clutches until the next start. Unit s, 0.005 to 1, default 0.05.
    pub guardian_patience_s: f32,
    /// Friction faces of one clutch. Unit -, 2 to 20, default 10.
    pub actuation_faces: f32,
    /// Effective friction radius. Unit m, 0.03 to 0.15, default 0.065.
    pub actuation_effective_radius_m: f32,
    /// Friction coefficient at 80 degC and 1 rad/s; wet paper 0.10 to 0.15, from memory. Unit -, 0.06 to 0.18, default 0.118.
    pub actuation_friction: f32,
    /// Rise of the friction coefficient per decade of slip. Unit -, -0.01 to 0.03, default 0.004.
    pub actuation_friction_per_decade: f32,
    /// Change of the friction coefficient with temperature. Unit 1/K, -0.001 to 0, default -0.00017.
    pub actuation_friction_per_kelvin_1_k: f32,
    /// Least believable friction coefficient; bounds the pressure asked. Unit -, 0.02 to 0.12, default 0.07.
    pub actuation_friction_low: f32,
    /// Largest believable friction coefficient; bounds a weak answer. Unit -, 0.1 to 0.3, default 0.17.
    pub actuation_friction_high: f32,
    /// Piston area. Unit m2, 0.0005 to 0.02, default 0.005.
    pub actuation_piston_area_m2: f32,
    /// Force of the return spring. Unit N, 0 to 3000, default 400.
    pub actuation_return_spring_n: f32,
    /// Largest pressure. Unit bar, 5 to 100, default 36.
    pub actuation_pressure_bar: f32,
    /// Current at which pressure begins. Unit A, 0 to 1, default 0.152.
    pub actuation_current_offset_a: f32,
    /// Pressure per current above the offset. Unit bar/A, 5 to 200, default 34.2.
    pub actuation_pressure_per_current_bar_a: f32,
    /// Largest current. Unit A, 0.3 to 5, default 1.4.
    pub actuation_current_a: f32,
    /// Current of an open clutch, below the offset; keeps the valve awake. Unit A, 0 to 0.5, default 0.08.
    pub actuation_rest_current_a: f32,
    /// Largest believable touch-point offset; bounds a stored or learned value. Unit bar, 0 to 5, default 1.
    pub actuation_touch_point_bar: f32,
    /// Relative error of the torque; from memory. Unit -, 0 to 0.5, default 0.1.
    pub actuation_relative_error: f32,
    /// Absolute error of the torque; from memory. Unit N m, 0 to 200, default 30.
    pub actuation_absolute_error_nm: f32,
    /// A valve's pressure is never learned to lie further beside the calibration's than this. Unit bar, 0 to 5, default 1.5.
    pub learning_valve_offset_bar: f32,
    /// Nor its pressure per current further from the calibration's than this share. Unit -, 0 to 0.3, default 0.2.
    pub learning_valve_gain_share: f32,
    /// Commanded pressure from which a valve is learned. Unit bar, 0.5 to 20, default 1.5.
    pub learning_valve_least_bar: f32,
    /// A sample counts whole where command and its lagged value agree, less the further they are apart, not at all from here. Unit bar, 0.05 to 5, default 0.4.
    pub learning_valve_settled_bar: f32,
    /// Time of standing still that the next three belong to. Unit s, 0.04 to 2, default 0.5.
    pub learning_valve_event_s: f32,
    /// Share of the deviation learned in that time; 0: no learning. Unit -, 0 to 1, default 0.5.
    pub learning_valve_share: f32,
    /// Largest way of the offset in that time. Unit bar, 0 to 1, default 0.15.
    pub learning_valve_offset_step_bar: f32,
    /// Largest way of the gain in that time. Unit -, 0 to 0.1, default 0.015.
    pub learning_valve_gain_step: f32,
    /// Share of the deviation of the touch point learned in one event; 0: no learning. Unit -, 0 to 1, default 0.5.
    pub learning_touch_share: f32,
    /// Largest step of the touch point in one event. Unit bar, 0 to 1, default 0.08.
    pub learning_touch_step_bar: f32,
    /// Samples of so long make one event. Unit s, 0.1 to 5, default 0.3.
    pub learning_touch_event_s: f32,
    /// Torque from which the wheels' reaction counts for the touch point. Unit N m, 5 to 200, default 20.
    pub learning_touch_least_nm: f32,
    /// Torque up to which it does; up to twice this it tells the stiffness of the tyres. Unit N m, 20 to 600, default 120.
    pub learning_touch_most_nm: f32,
    /// No touch point is learned below this speed. Unit m/s, 3 to 60, default 12.
    pub learning_touch_speed_m_s: f32,
    /// Nor above this lateral acceleration. Unit m/s2, 0.1 to 10, default 2.
    pub learning_touch_lateral_m_s2: f32,
    /// Oil temperature below which nothing is learned. Unit degC, -20 to 100, default 30.
    pub learning_warm_oil_degc: f32,
    /// Heat capacity of one clutch's friction surface. Small, so a pulse shows. Unit J/K, 50 to 1000, default 160.
    pub heat_network_surface_capacity_j_k: f32,
    /// Heat capacity of one clutch's plates and hub. Sets the repeated launches. Unit J/K, 200 to 5000, default 850.
    pub heat_network_core_capacity_j_k: f32,
    /// Heat capacity of the oil, about 0.8 kg at 2000 J/(kg K). Unit J/K, 500 to 10000, default 1600.
    pub heat_network_oil_capacity_j_k: f32,
    /// Heat capacity of the housing, about 9.5 kg of aluminium. Unit J/K, 2000 to 50000, default 8500.
    pub heat_network_housing_capacity_j_k: f32,
    /// Conductance surface to core of one clutch. Unit W/K, 50 to 2000, default 550.
    pub heat_network_surface_core_w_k: f32,
    /// Conductance surface to oil of one clutch. Unit W/K, 5 to 500, default 45.
    pub heat_network_surface_oil_w_k: f32,
    /// Conductance core to oil of one clutch. Unit W/K, 5 to 500, default 55.
    pub heat_network_core_oil_w_k: f32,
    /// Conductance oil to housing. Unit W/K, 10 to 1000, default 85.
    pub heat_network_oil_housing_w_k: f32,
    /// Conductance housing to air at standstill; free convection. Unit W/K, 1 to 100, default 10.
    pub heat_network_housing_ambient_w_k: f32,
    /// Growth of the conductance housing to air with speed; head wind. Unit W s/(K m), 0 to 10, default 0.9.
    pub heat_network_housing_ambient_per_speed_w_s_k_m: f32,
    /// Highest believable speed. A faster one counts as standstill, which cools least. Unit m/s, 30 to 150, default 100.
    pub heat_network_fastest_speed_m_s: f32,
    /// Share by which heat, heat capacities and conductances may each be off; 0: the estimate itself protects. Unit -, 0 to 0.4, default 0.15.
    pub heat_bound_share: f32,
    /// Added to the bound: what a lumped network cannot know of the profile in the plates. Unit K, 0 to 40, default 12.
    pub heat_bound_beyond_k: f32,
    /// Largest capacity of one clutch; assumed when the grant is no number. Unit N m, 100 to 5000, default 1200.
    pub slip_power_capacity_nm: f32,
    /// Largest believable slip: one rear wheel stopped at 70 km/h. Unit rad/s, 5 to 300, default 60.
    pub slip_power_slip_rad_s: f32,
    /// Slip below which the clutch counts as stuck; below it at most 60 W at full capacity are neglected. Unit rad/s, 0 to 1, default 0.05.
    pub slip_power_stick_slip_rad_s: f32,
    /// Growth of a held slip with its age: a spinning wheel at 3 g. Unit rad/s2, 0 to 500, default 100.
    pub slip_power_held_slip_growth_rad_s2: f32,
    /// Dead time of the warm actuator. Unit s, 0 to 0.06, default 0.015.
    pub slip_power_dead_time_s: f32,
    /// Lag of the warm actuator. Unit s, 0 to 0.5, default 0.04.
    pub slip_power_lag_s: f32,
    /// How many times slower the actuator is in cold oil; 2 to 4 at -20 to -30 degC, from memory. Unit -, 1 to 10, default 4.
    pub slip_power_cold_lag_factor: f32,
    /// Oil temperature at and below which the whole factor holds. Unit degC, -40 to 0, default -20.
    pub slip_power_cold_oil_degc: f32,
    /// Oil temperature at and above which the actuator is warm. Unit degC, 1 to 80, default 40.
    pub slip_power_warm_oil_degc: f32,
    /// Surface temperature where the slope begins. Unit degC, 100 to 300, default 210.
    pub derating_surface_start_degc: f32,
    /// Surface temperature where nothing is left; 200 to 250 short, from memory. Unit degC, 120 to 350, default 250.
    pub derating_surface_limit_degc: f32,
    /// Core temperature where the slope begins. Unit degC, 100 to 300, default 180.
    pub derating_core_start_degc: f32,
    /// Core temperature where nothing is left. Unit degC, 120 to 350, default 220.
    pub derating_core_limit_degc: f32,
    /// Oil temperature where the slope begins; 120 to 140 continuous, from memory. Unit degC, 80 to 160, default 120.
    pub derating_oil_start_degc: f32,
    /// Oil temperature where nothing is left; from memory. Unit degC, 90 to 170, default 140.
    pub derating_oil_limit_degc: f32,
    /// Surface temperature that orders the clutch open, above the slope's end. Unit degC, 150 to 400, default 270.
    pub derating_surface_absolute_degc: f32,
    /// Surface temperature below which it may close again, below the slope. Unit degC, 80 to 350, default 200.
    pub derating_surface_reentry_degc: f32,
    /// Oil temperature that orders both clutches open; 150 short, from memory. Unit degC, 100 to 200, default 150.
    pub derating_oil_absolute_degc: f32,
    /// Oil temperature below which they may close again, above any air. Unit degC, 70 to 180, default 125.
    pub derating_oil_reentry_degc: f32,
    /// Share of the capacity below which oil or core leave too little to be of use: open to cool instead; 0: never. Unit -, 0 to 0.9, default 0.25.
    pub derating_least_share: f32,
    /// Least time between two changes of the order. Unit s, 0 to 60, default 2.
    pub derating_dwell_s: f32,
    /// Fastest fall of the ceiling: the driver must not feel a step. Unit 1/s, 0.01 to 100, default 0.5.
    pub derating_withdrawal_per_s: f32,
    /// Fastest rise of the ceiling, slower than the fall. Unit 1/s, 0.01 to 100, default 0.2.
    pub derating_restoration_per_s: f32,
    /// Upper end of the lowest class of heat in a clutch; each further end is four times the last. Unit W, 1 to 1000, default 30.
    pub life_count_power_class_w: f32,
    /// Upper end of the lowest class of slip; each further end is twice the last. Unit rad/s, 0.1 to 10, default 1.
    pub life_count_slip_class_rad_s: f32,
    /// Torque from which a clutch counts as engaged, until it is below half of it. Unit N m, 5 to 500, default 50.
    pub life_count_closed_nm: f32,
    /// Step in which surface temperatures are counted; a class of cycles is four steps wide. Unit K, 1 to 20, default 5.
    pub life_count_cycle_step_k: f32,
    /// Range of surface temperature for which the next number is given. Unit K, 20 to 300, default 100.
    pub life_count_cycle_reference_k: f32,
    /// Thousand cycles of that range that use up a clutch. Unit -, 0.1 to 100000, default 500.
    pub life_count_cycle_reference_thousand: f32,
    /// Slope of cycles to failure over range, double logarithmic; a whole number. Unit -, 1 to 12, default 5.
    pub life_count_cycle_exponent: f32,
    /// Lining worn per friction work: 1e-8 mm3/(N m) of normal force times way; no published value for wet paper was readable. Unit mm3/GJ, 0.1 to 10000, default 10.
    pub life_count_wear_mm3_gj: f32,
    /// Friction that makes heat of that work; wet paper 0.10 to 0.15, from memory. Unit -, 0.05 to 0.2, default 0.12.
    pub life_count_wear_friction: f32,
    /// Area of all faces of one clutch: ten rings of 55 to 75 mm radius. Unit mm2, 5000 to 500000, default 81681.
    pub life_count_lining_area_mm2: f32,
    /// Wear of a face at which a clutch is used up. Unit um, 5 to 1000, default 200.
    pub life_count_wear_limit_um: f32,
    /// Activation energy of the oil's ageing; oxidation 80 to 130 kJ/mol, from memory. Unit J/mol, 40000 to 160000, default 100000.
    pub life_count_oil_activation_j_mol: f32,
    /// Temperature at which the next number is given. Unit degC, 60 to 140, default 100.
    pub life_count_oil_reference_degc: f32,
    /// Time at that temperature after which the oil is to be changed. Unit h, 50 to 20000, default 1500.
    pub life_count_oil_life_h: f32,
    /// Share of it from which a change is advised. Unit -, 0.5 to 1, default 0.9.
    pub life_count_oil_soon_share: f32,
    /// How far the forecast looks. Unit s, 60 to 14400, default 3600.
    pub forecast_horizon_s: f32,
    /// Time constant of the present use: some corners, one launch. Unit s, 0.1 to 600, default 10.
    pub forecast_use_memory_s: f32,
    /// Air temperature assumed when it is unknown: a hot summer day over asphalt. Unit degC, 20 to 60, default 45.
    pub forecast_unknown_ambient_degc: f32,
    /// Lowest believable air temperature; below it the air counts as this. Unit degC, -60 to 0, default -40.
    pub forecast_coldest_ambient_degc: f32,
    /// Highest believable air temperature at the housing; below the re-entry temperatures, or re-entry is not certain. Unit degC, 40 to 65, default 60.
    pub forecast_hottest_ambient_degc: f32,
}

impl couplet_page {
    /// As the law takes it.
    pub fn to_law(&self) -> RawPage {
        let mut page = RawPage { layout: self.layout, entries: self.entries, ..RawPage::default() };
        set::<0>(&mut page.tunables, self.setting_agility);
        set::<1>(&mut page.tunables, self.setting_steadiness);
        set::<2>(&mut page.tunables, self.setting_slide_allowance_deg);
        set::<3>(&mut page.tunables, self.vehicle_mass_kg);
        set::<4>(&mut page.tunables, self.vehicle_yaw_inertia_kg_m2);
        set::<5>(&mut page.tunables, self.vehicle_wheelbase_m);
        set::<6>(&mut page.tunables, self.vehicle_front_axle_to_cg_m);
        set::<7>(&mut page.tunables, self.vehicle_cg_height_m);
        set::<8>(&mut page.tunables, self.vehicle_track_m);
        set::<9>(&mut page.tunables, self.vehicle_wheel_radius_m);
        set::<10>(&mut page.tunables, self.vehicle_steering_ratio);
        set::<11>(&mut page.tunables, self.vehicle_front_cornering_stiffness_n_rad);
        set::<12>(&mut page.tunables, self.vehicle_rear_cornering_stiffness_n_rad);
        set::<13>(&mut page.tunables, self.vehicle_rear_slip_stiffness_n);
        set::<14>(&mut page.tunables, self.vehicle_overspeed);
        set::<15>(&mut page.tunables, self.conditioning_longest_age_s);
        set::<16>(&mut page.tunables, self.conditioning_hold_time_s);
        set::<17>(&mut page.tunables, self.conditioning_wheel_speed_rate_rad_s2);
        set::<18>(&mut page.tunables, self.conditioning_yaw_rate_rate_rad_s2);
        set::<19>(&mut page.tunables, self.conditioning_acceleration_rate_m_s3);
        set::<20>(&mut page.tunables, self.conditioning_steering_rate_rad_s);
        set::<21>(&mut page.tunables, self.conditioning_torque_rate_nm_s);
        set::<22>(&mut page.tunables, self.conditioning_brake_rate_bar_s);
        set::<23>(&mut page.tunables, self.monitor_yaw_rate_tolerance_rad_s);
        set::<24>(&mut page.tunables, self.monitor_yaw_check_speed_m_s);
        set::<25>(&mut page.tunables, self.monitor_confirm_time_s);
        set::<26>(&mut page.tunables, self.monitor_heal_time_s);
        set::<27>(&mut page.tunables, self.monitor_slide_tolerance_rad_s);
        set::<28>(&mut page.tunables, self.monitor_silent_time_s);
        set::<29>(&mut page.tunables, self.monitor_order_heal_s);
        set::<30>(&mut page.tunables, self.monitor_reduced_capacity);
        set::<31>(&mut page.tunables, self.monitor_wheel_apart);
        set::<32>(&mut page.tunables, self.monitor_quiet_torque_nm);
        set::<33>(&mut page.tunables, self.monitor_quiet_brake_bar);
        set::<34>(&mut page.tunables, self.monitor_slip_confirm_s);
        set::<35>(&mut page.tunables, self.monitor_still_time_s);
        set::<36>(&mut page.tunables, self.monitor_still_wheel_rad_s);
        set::<37>(&mut page.tunables, self.monitor_still_yaw_rad_s);
        set::<38>(&mut page.tunables, self.monitor_lateral_tolerance_m_s2);
        set::<39>(&mut page.tunables, self.monitor_steering_tolerance_rad);
        set::<40>(&mut page.tunables, self.monitor_steering_confirm_s);
        set::<41>(&mut page.tunables, self.monitor_torque_tolerance_nm);
        set::<42>(&mut page.tunables, self.monitor_lifted_speed_m_s);
        set::<43>(&mut page.tunables, self.monitor_lifted_confirm_s);
        set::<44>(&mut page.tunables, self.monitor_bench_speed_m_s);
        set::<45>(&mut page.tunables, self.monitor_bench_confirm_s);
        set::<46>(&mut page.tunables, self.monitor_wash_speed_m_s);
        set::<47>(&mut page.tunables, self.monitor_situation_heal_s);
        set::<48>(&mut page.tunables, self.monitor_help_torque_nm);
        set::<49>(&mut page.tunables, self.pressure_watch_tolerance_bar);
        set::<50>(&mut page.tunables, self.pressure_watch_tolerance_share);
        set::<51>(&mut page.tunables, self.pressure_watch_follow_s);
        set::<52>(&mut page.tunables, self.pressure_watch_high_confirm_s);
        set::<53>(&mut page.tunables, self.pressure_watch_low_confirm_s);
        set::<54>(&mut page.tunables, self.pressure_watch_stuck_s);
        set::<55>(&mut page.tunables, self.pressure_watch_open_share);
        set::<56>(&mut page.tunables, self.pressure_watch_heal_s);
        set::<57>(&mut page.tunables, self.pressure_watch_latch_s);
        set::<58>(&mut page.tunables, self.pressure_watch_match_share);
        set::<59>(&mut page.tunables, self.pressure_watch_match_least_nm);
        set::<60>(&mut page.tunables, self.pressure_watch_match_speed_m_s);
        set::<61>(&mut page.tunables, self.pressure_watch_match_steer_rad);
        set::<62>(&mut page.tunables, self.vehicle_state_speed_margin_m_s2);
        set::<63>(&mut page.tunables, self.vehicle_state_speed_margin_fast_m_s2);
        set::<64>(&mut page.tunables, self.vehicle_state_speed_margin_free_m_s2);
        set::<65>(&mut page.tunables, self.vehicle_state_speed_margin_anti_lock_m_s2);
        set::<66>(&mut page.tunables, self.vehicle_state_speed_margin_blind_m_s2);
        set::<67>(&mut page.tunables, self.vehicle_state_slope_memory_s);
        set::<68>(&mut page.tunables, self.vehicle_state_sideslip_leak_s);
        set::<69>(&mut page.tunables, self.vehicle_state_sideslip_agreed_s);
        set::<70>(&mut page.tunables, self.vehicle_state_sideslip_from_speed_s);
        set::<71>(&mut page.tunables, self.vehicle_state_friction_floor);
        set::<72>(&mut page.tunables, self.vehicle_state_friction_ceiling);
        set::<73>(&mut page.tunables, self.vehicle_state_friction_allowance);
        set::<74>(&mut page.tunables, self.vehicle_state_friction_growth);
        set::<75>(&mut page.tunables, self.vehicle_state_friction_slip_start);
        set::<76>(&mut page.tunables, self.vehicle_state_friction_slip_end);
        set::<77>(&mut page.tunables, self.vehicle_state_friction_memory_s);
        set::<78>(&mut page.tunables, self.vehicle_state_bank_memory_s);
        set::<79>(&mut page.tunables, self.vehicle_state_crawl_sideslip_s);
        set::<80>(&mut page.tunables, self.vehicle_state_friction_filter_s);
        set::<81>(&mut page.tunables, self.vehicle_state_radius_learning_m);
        set::<82>(&mut page.tunables, self.vehicle_state_radius_bound);
        set::<83>(&mut page.tunables, self.vehicle_state_unlike_tyres_start);
        set::<84>(&mut page.tunables, self.vehicle_state_unlike_tyres_end);
        set::<85>(&mut page.tunables, self.driver_intent_launch_end_m_s);
        set::<86>(&mut page.tunables, self.driver_intent_urgency_start_rad_s);
        set::<87>(&mut page.tunables, self.driver_intent_urgency_end_rad_s);
        set::<88>(&mut page.tunables, self.driver_intent_urgency_memory_s);
        set::<89>(&mut page.tunables, self.driver_intent_lift_off_rate_per_s);
        set::<90>(&mut page.tunables, self.driver_intent_rate_filter_s);
        set::<91>(&mut page.tunables, self.driver_intent_lift_off_pedal);
        set::<92>(&mut page.tunables, self.driver_intent_lift_off_memory_s);
        set::<93>(&mut page.tunables, self.driver_intent_turn_curvature_1_m);
        set::<94>(&mut page.tunables, self.driver_intent_phase_dwell_s);
        set::<95>(&mut page.tunables, self.yaw_reference_understeer_agile_rad_s2_m);
        set::<96>(&mut page.tunables, self.yaw_reference_understeer_steady_rad_s2_m);
        set::<97>(&mut page.tunables, self.yaw_reference_friction_share);
        set::<98>(&mut page.tunables, self.yaw_reference_friction_dry);
        set::<99>(&mut page.tunables, self.yaw_reference_soft_share_agile);
        set::<100>(&mut page.tunables, self.yaw_reference_soft_share_steady);
        set::<101>(&mut page.tunables, self.yaw_reference_lag_agile_s);
        set::<102>(&mut page.tunables, self.yaw_reference_lag_steady_s);
        set::<103>(&mut page.tunables, self.yaw_reference_fade_in_speed_m_s);
        set::<104>(&mut page.tunables, self.yaw_reference_lift_off_hold_share);
        set::<105>(&mut page.tunables, self.yaw_reference_sideslip_limit_deg);
        set::<106>(&mut page.tunables, self.yaw_control_proportional_nm_s_rad);
        set::<107>(&mut page.tunables, self.yaw_control_proportional_fast_nm_s_rad);
        set::<108>(&mut page.tunables, self.yaw_control_fast_speed_m_s);
        set::<109>(&mut page.tunables, self.yaw_control_integral_nm_rad);
        set::<110>(&mut page.tunables, self.yaw_control_integral_limit_nm);
        set::<111>(&mut page.tunables, self.yaw_control_integral_release_1_s);
        set::<112>(&mut page.tunables, self.yaw_control_anti_windup_1_s);
        set::<113>(&mut page.tunables, self.yaw_control_dead_band_rad_s);
        set::<114>(&mut page.tunables, self.yaw_control_dead_band_turn_rad_s);
        set::<115>(&mut page.tunables, self.yaw_control_sideslip_nm_rad);
        set::<116>(&mut page.tunables, self.yaw_control_feed_forward_share);
        set::<117>(&mut page.tunables, self.yaw_control_damping_nm_s2_rad);
        set::<118>(&mut page.tunables, self.yaw_control_damping_filter_s);
        set::<119>(&mut page.tunables, self.yaw_control_damping_dead_band_rad_s2);
        set::<120>(&mut page.tunables, self.yaw_control_crawl_memory_s);
        set::<121>(&mut page.tunables, self.yaw_control_oversteer_start_rad_s);
        set::<122>(&mut page.tunables, self.yaw_control_oversteer_end_rad_s);
        set::<123>(&mut page.tunables, self.yaw_control_oversteer_hold_s);
        set::<124>(&mut page.tunables, self.yaw_control_oversteer_kept);
        set::<125>(&mut page.tunables, self.yaw_control_oversteer_memory_s);
        set::<126>(&mut page.tunables, self.yaw_control_slide_full_deg);
        set::<127>(&mut page.tunables, self.yaw_control_slide_end_rad);
        set::<128>(&mut page.tunables, self.yaw_control_slide_torque_nm);
        set::<129>(&mut page.tunables, self.yaw_control_slide_turn_m_s2);
        set::<130>(&mut page.tunables, self.yaw_control_pre_load_urgent);
        set::<131>(&mut page.tunables, self.yaw_control_pre_load_oversteer);
        set::<132>(&mut page.tunables, self.yaw_control_moment_limit_nm);
        set::<133>(&mut page.tunables, self.traction_rear_share_agile);
        set::<134>(&mut page.tunables, self.traction_rear_share_steady);
        set::<135>(&mut page.tunables, self.traction_front_slip_start_m_s);
        set::<136>(&mut page.tunables, self.traction_front_slip_share);
        set::<137>(&mut page.tunables, self.traction_front_slip_speed_m_s);
        set::<138>(&mut page.tunables, self.traction_front_slip_gain_nm_s_m);
        set::<139>(&mut page.tunables, self.traction_front_slip_gain_speed_m_s);
        set::<140>(&mut page.tunables, self.traction_front_slip_memory_s);
        set::<141>(&mut page.tunables, self.traction_launch_share);
        set::<142>(&mut page.tunables, self.traction_lowest_torque_nm);
        set::<143>(&mut page.tunables, self.traction_need_spin_m_s);
        set::<144>(&mut page.tunables, self.traction_need_end_m_s);
        set::<145>(&mut page.tunables, self.traction_lowest_torque_nm_s2_m2);
        set::<146>(&mut page.tunables, self.traction_front_spin_request_m_s);
        set::<147>(&mut page.tunables, self.authority_capacity_nm);
        set::<148>(&mut page.tunables, self.authority_rise_nm_s);
        set::<149>(&mut page.tunables, self.authority_fall_nm_s);
        set::<150>(&mut page.tunables, self.authority_crawl_sign_rad_s);
        set::<151>(&mut page.tunables, self.authority_slip_dead_band_rad_s);
        set::<152>(&mut page.tunables, self.authority_dead_band_speed_m_s);
        set::<153>(&mut page.tunables, self.authority_propshaft_nm);
        set::<154>(&mut page.tunables, self.authority_wind_up_nm);
        set::<155>(&mut page.tunables, self.authority_wind_up_park_nm);
        set::<156>(&mut page.tunables, self.authority_wind_up_cold);
        set::<157>(&mut page.tunables, self.authority_wind_up_speed_m_s);
        set::<158>(&mut page.tunables, self.authority_friction_share);
        set::<159>(&mut page.tunables, self.authority_friction_along);
        set::<160>(&mut page.tunables, self.authority_friction_launch);
        set::<161>(&mut page.tunables, self.authority_trust_slip_start);
        set::<162>(&mut page.tunables, self.authority_trust_slip_end);
        set::<163>(&mut page.tunables, self.authority_trust_lateral_start_m_s2);
        set::<164>(&mut page.tunables, self.authority_trust_lateral_end_m_s2);
        set::<165>(&mut page.tunables, self.authority_trust_step_nm);
        set::<166>(&mut page.tunables, self.authority_lock_sign_nm);
        set::<167>(&mut page.tunables, self.authority_lock_share);
        set::<168>(&mut page.tunables, self.authority_lock_margin_nm);
        set::<169>(&mut page.tunables, self.authority_cold_oil_degc);
        set::<170>(&mut page.tunables, self.authority_cold_capacity);
        set::<171>(&mut page.tunables, self.authority_unlike_tyres_capacity);
        set::<172>(&mut page.tunables, self.authority_difference_nm);
        set::<173>(&mut page.tunables, self.authority_difference_fast_nm);
        set::<174>(&mut page.tunables, self.arbiter_weight_rear_torque);
        set::<175>(&mut page.tunables, self.arbiter_weight_yaw_moment);
        set::<176>(&mut page.tunables, self.arbiter_weight_yaw_launch);
        set::<177>(&mut page.tunables, self.arbiter_weight_change);
        set::<178>(&mut page.tunables, self.arbiter_heat_price_per_kw);
        set::<179>(&mut page.tunables, self.guardian_disagreement_nm);
        set::<180>(&mut page.tunables, self.guardian_patience_s);
        set::<181>(&mut page.tunables, self.actuation_faces);
        set::<182>(&mut page.tunables, self.actuation_effective_radius_m);
        set::<183>(&mut page.tunables, self.actuation_friction);
        set::<184>(&mut page.tunables, self.actuation_friction_per_decade);
        set::<185>(&mut page.tunables, self.actuation_friction_per_kelvin_1_k);
        set::<186>(&mut page.tunables, self.actuation_friction_low);
        set::<187>(&mut page.tunables, self.actuation_friction_high);
        set::<188>(&mut page.tunables, self.actuation_piston_area_m2);
        set::<189>(&mut page.tunables, self.actuation_return_spring_n);
        set::<190>(&mut page.tunables, self.actuation_pressure_bar);
        set::<191>(&mut page.tunables, self.actuation_current_offset_a);
        set::<192>(&mut page.tunables, self.actuation_pressure_per_current_bar_a);
        set::<193>(&mut page.tunables, self.actuation_current_a);
        set::<194>(&mut page.tunables, self.actuation_rest_current_a);
        set::<195>(&mut page.tunables, self.actuation_touch_point_bar);
        set::<196>(&mut page.tunables, self.actuation_relative_error);
        set::<197>(&mut page.tunables, self.actuation_absolute_error_nm);
        set::<198>(&mut page.tunables, self.learning_valve_offset_bar);
        set::<199>(&mut page.tunables, self.learning_valve_gain_share);
        set::<200>(&mut page.tunables, self.learning_valve_least_bar);
        set::<201>(&mut page.tunables, self.learning_valve_settled_bar);
        set::<202>(&mut page.tunables, self.learning_valve_event_s);
        set::<203>(&mut page.tunables, self.learning_valve_share);
        set::<204>(&mut page.tunables, self.learning_valve_offset_step_bar);
        set::<205>(&mut page.tunables, self.learning_valve_gain_step);
        set::<206>(&mut page.tunables, self.learning_touch_share);
        set::<207>(&mut page.tunables, self.learning_touch_step_bar);
        set::<208>(&mut page.tunables, self.learning_touch_event_s);
        set::<209>(&mut page.tunables, self.learning_touch_least_nm);
        set::<210>(&mut page.tunables, self.learning_touch_most_nm);
        set::<211>(&mut page.tunables, self.learning_touch_speed_m_s);
        set::<212>(&mut page.tunables, self.learning_touch_lateral_m_s2);
        set::<213>(&mut page.tunables, self.learning_warm_oil_degc);
        set::<214>(&mut page.tunables, self.heat_network_surface_capacity_j_k);
        set::<215>(&mut page.tunables, self.heat_network_core_capacity_j_k);
        set::<216>(&mut page.tunables, self.heat_network_oil_capacity_j_k);
        set::<217>(&mut page.tunables, self.heat_network_housing_capacity_j_k);
        set::<218>(&mut page.tunables, self.heat_network_surface_core_w_k);
        set::<219>(&mut page.tunables, self.heat_network_surface_oil_w_k);
        set::<220>(&mut page.tunables, self.heat_network_core_oil_w_k);
        set::<221>(&mut page.tunables, self.heat_network_oil_housing_w_k);
        set::<222>(&mut page.tunables, self.heat_network_housing_ambient_w_k);
        set::<223>(&mut page.tunables, self.heat_network_housing_ambient_per_speed_w_s_k_m);
        set::<224>(&mut page.tunables, self.heat_network_fastest_speed_m_s);
        set::<225>(&mut page.tunables, self.heat_bound_share);
        set::<226>(&mut page.tunables, self.heat_bound_beyond_k);
        set::<227>(&mut page.tunables, self.slip_power_capacity_nm);
        set::<228>(&mut page.tunables, self.slip_power_slip_rad_s);
        set::<229>(&mut page.tunables, self.slip_power_stick_slip_rad_s);
        set::<230>(&mut page.tunables, self.slip_power_held_slip_growth_rad_s2);
        set::<231>(&mut page.tunables, self.slip_power_dead_time_s);
        set::<232>(&mut page.tunables, self.slip_power_lag_s);
        set::<233>(&mut page.tunables, self.slip_power_cold_lag_factor);
        set::<234>(&mut page.tunables, self.slip_power_cold_oil_degc);
        set::<235>(&mut page.tunables, self.slip_power_warm_oil_degc);
        set::<236>(&mut page.tunables, self.derating_surface_start_degc);
        set::<237>(&mut page.tunables, self.derating_surface_limit_degc);
        set::<238>(&mut page.tunables, self.derating_core_start_degc);
        set::<239>(&mut page.tunables, self.derating_core_limit_degc);
        set::<240>(&mut page.tunables, self.derating_oil_start_degc);
        set::<241>(&mut page.tunables, self.derating_oil_limit_degc);
        set::<242>(&mut page.tunables, self.derating_surface_absolute_degc);
        set::<243>(&mut page.tunables, self.derating_surface_reentry_degc);
        set::<244>(&mut page.tunables, self.derating_oil_absolute_degc);
        set::<245>(&mut page.tunables, self.derating_oil_reentry_degc);
        set::<246>(&mut page.tunables, self.derating_least_share);
        set::<247>(&mut page.tunables, self.derating_dwell_s);
        set::<248>(&mut page.tunables, self.derating_withdrawal_per_s);
        set::<249>(&mut page.tunables, self.derating_restoration_per_s);
        set::<250>(&mut page.tunables, self.life_count_power_class_w);
        set::<251>(&mut page.tunables, self.life_count_slip_class_rad_s);
        set::<252>(&mut page.tunables, self.life_count_closed_nm);
        set::<253>(&mut page.tunables, self.life_count_cycle_step_k);
        set::<254>(&mut page.tunables, self.life_count_cycle_reference_k);
        set::<255>(&mut page.tunables, self.life_count_cycle_reference_thousand);
        set::<256>(&mut page.tunables, self.life_count_cycle_exponent);
        set::<257>(&mut page.tunables, self.life_count_wear_mm3_gj);
        set::<258>(&mut page.tunables, self.life_count_wear_friction);
        set::<259>(&mut page.tunables, self.life_count_lining_area_mm2);
        set::<260>(&mut page.tunables, self.life_count_wear_limit_um);
        set::<261>(&mut page.tunables, self.life_count_oil_activation_j_mol);
        set::<262>(&mut page.tunables, self.life_count_oil_reference_degc);
        set::<263>(&mut page.tunables, self.life_count_oil_life_h);
        set::<264>(&mut page.tunables, self.life_count_oil_soon_share);
        set::<265>(&mut page.tunables, self.forecast_horizon_s);
        set::<266>(&mut page.tunables, self.forecast_use_memory_s);
        set::<267>(&mut page.tunables, self.forecast_unknown_ambient_degc);
        set::<268>(&mut page.tunables, self.forecast_coldest_ambient_degc);
        set::<269>(&mut page.tunables, self.forecast_hottest_ambient_degc);
        page
    }

    /// The same in the other direction.
    pub fn of_law(page: &RawPage) -> Self {
        let tunables = &page.tunables;
        Self {
            layout: page.layout,
            entries: page.entries,
            setting_agility: number::<0>(tunables),
            setting_steadiness: number::<1>(tunables),
            setting_slide_allowance_deg: number::<2>(tunables),
            vehicle_mass_kg: number::<3>(tunables),
            vehicle_yaw_inertia_kg_m2: number::<4>(tunables),
            vehicle_wheelbase_m: number::<5>(tunables),
            vehicle_front_axle_to_cg_m: number::<6>(tunables),
            vehicle_cg_height_m: number::<7>(tunables),
            vehicle_track_m: number::<8>(tunables),
            vehicle_wheel_radius_m: number::<9>(tunables),
            vehicle_steering_ratio: number::<10>(tunables),
            vehicle_front_cornering_stiffness_n_rad: number::<11>(tunables),
            vehicle_rear_cornering_stiffness_n_rad: number::<12>(tunables),
            vehicle_rear_slip_stiffness_n: number::<13>(tunables),
            vehicle_overspeed: number::<14>(tunables),
            conditioning_longest_age_s: number::<15>(tunables),
            conditioning_hold_time_s: number::<16>(tunables),
            conditioning_wheel_speed_rate_rad_s2: number::<17>(tunables),
            conditioning_yaw_rate_rate_rad_s2: number::<18>(tunables),
            conditioning_acceleration_rate_m_s3: number::<19>(tunables),
            conditioning_steering_rate_rad_s: number::<20>(tunables),
            conditioning_torque_rate_nm_s: number::<21>(tunables),
            conditioning_brake_rate_bar_s: number::<22>(tunables),
            monitor_yaw_rate_tolerance_rad_s: number::<23>(tunables),
            monitor_yaw_check_speed_m_s: number::<24>(tunables),
            monitor_confirm_time_s: number::<25>(tunables),
            monitor_heal_time_s: number::<26>(tunables),
            monitor_slide_tolerance_rad_s: number::<27>(tunables),
            monitor_silent_time_s: number::<28>(tunables),
            monitor_order_heal_s: number::<29>(tunables),
            monitor_reduced_capacity: number::<30>(tunables),
            monitor_wheel_apart: number::<31>(tunables),
            monitor_quiet_torque_nm: number::<32>(tunables),
            monitor_quiet_brake_bar: number::<33>(tunables),
            monitor_slip_confirm_s: number::<34>(tunables),
            monitor_still_time_s: number::<35>(tunables),
            monitor_still_wheel_rad_s: number::<36>(tunables),
            monitor_still_yaw_rad_s: number::<37>(tunables),
            monitor_lateral_tolerance_m_s2: number::<38>(tunables),
            monitor_steering_tolerance_rad: number::<39>(tunables),
            monitor_steering_confirm_s: number::<40>(tunables),
            monitor_torque_tolerance_nm: number::<41>(tunables),
            monitor_lifted_speed_m_s: number::<42>(tunables),
            monitor_lifted_confirm_s: number::<43>(tunables),
            monitor_bench_speed_m_s: number::<44>(tunables),
            monitor_bench_confirm_s: number::<45>(tunables),
            monitor_wash_speed_m_s: number::<46>(tunables),
            monitor_situation_heal_s: number::<47>(tunables),
            monitor_help_torque_nm: number::<48>(tunables),
            pressure_watch_tolerance_bar: number::<49>(tunables),
            pressure_watch_tolerance_share: number::<50>(tunables),
            pressure_watch_follow_s: number::<51>(tunables),
            pressure_watch_high_confirm_s: number::<52>(tunables),
            pressure_watch_low_confirm_s: number::<53>(tunables),
            pressure_watch_stuck_s: number::<54>(tunables),
            pressure_watch_open_share: number::<55>(tunables),
            pressure_watch_heal_s: number::<56>(tunables),
            pressure_watch_latch_s: number::<57>(tunables),
            pressure_watch_match_share: number::<58>(tunables),
            pressure_watch_match_least_nm: number::<59>(tunables),
            pressure_watch_match_speed_m_s: number::<60>(tunables),
            pressure_watch_match_steer_rad: number::<61>(tunables),
            vehicle_state_speed_margin_m_s2: number::<62>(tunables),
            vehicle_state_speed_margin_fast_m_s2: number::<63>(tunables),
            vehicle_state_speed_margin_free_m_s2: number::<64>(tunables),
            vehicle_state_speed_margin_anti_lock_m_s2: number::<65>(tunables),
            vehicle_state_speed_margin_blind_m_s2: number::<66>(tunables),
            vehicle_state_slope_memory_s: number::<67>(tunables),
            vehicle_state_sideslip_leak_s: number::<68>(tunables),
            vehicle_state_sideslip_agreed_s: number::<69>(tunables),
            vehicle_state_sideslip_from_speed_s: number::<70>(tunables),
            vehicle_state_friction_floor: number::<71>(tunables),
            vehicle_state_friction_ceiling: number::<72>(tunables),
            vehicle_state_friction_allowance: number::<73>(tunables),
            vehicle_state_friction_growth: number::<74>(tunables),
            vehicle_state_friction_slip_start: number::<75>(tunables),
            vehicle_state_friction_slip_end: number::<76>(tunables),
            vehicle_state_friction_memory_s: number::<77>(tunables),
            vehicle_state_bank_memory_s: number::<78>(tunables),
            vehicle_state_crawl_sideslip_s: number::<79>(tunables),
            vehicle_state_friction_filter_s: number::<80>(tunables),
            vehicle_state_radius_learning_m: number::<81>(tunables),
            vehicle_state_radius_bound: number::<82>(tunables),
            vehicle_state_unlike_tyres_start: number::<83>(tunables),
            vehicle_state_unlike_tyres_end: number::<84>(tunables),
            driver_intent_launch_end_m_s: number::<85>(tunables),
            driver_intent_urgency_start_rad_s: number::<86>(tunables),
            driver_intent_urgency_end_rad_s: number::<87>(tunables),
            driver_intent_urgency_memory_s: number::<88>(tunables),
            driver_intent_lift_off_rate_per_s: number::<89>(tunables),
            driver_intent_rate_filter_s: number::<90>(tunables),
            driver_intent_lift_off_pedal: number::<91>(tunables),
            driver_intent_lift_off_memory_s: number::<92>(tunables),
            driver_intent_turn_curvature_1_m: number::<93>(tunables),
            driver_intent_phase_dwell_s: number::<94>(tunables),
            yaw_reference_understeer_agile_rad_s2_m: number::<95>(tunables),
            yaw_reference_understeer_steady_rad_s2_m: number::<96>(tunables),
            yaw_reference_friction_share: number::<97>(tunables),
            yaw_reference_friction_dry: number::<98>(tunables),
            yaw_reference_soft_share_agile: number::<99>(tunables),
            yaw_reference_soft_share_steady: number::<100>(tunables),
            yaw_reference_lag_agile_s: number::<101>(tunables),
            yaw_reference_lag_steady_s: number::<102>(tunables),
            yaw_reference_fade_in_speed_m_s: number::<103>(tunables),
            yaw_reference_lift_off_hold_share: number::<104>(tunables),
            yaw_reference_sideslip_limit_deg: number::<105>(tunables),
            yaw_control_proportional_nm_s_rad: number::<106>(tunables),
            yaw_control_proportional_fast_nm_s_rad: number::<107>(tunables),
            yaw_control_fast_speed_m_s: number::<108>(tunables),
            yaw_control_integral_nm_rad: number::<109>(tunables),
            yaw_control_integral_limit_nm: number::<110>(tunables),
            yaw_control_integral_release_1_s: number::<111>(tunables),
            yaw_control_anti_windup_1_s: number::<112>(tunables),
            yaw_control_dead_band_rad_s: number::<113>(tunables),
            yaw_control_dead_band_turn_rad_s: number::<114>(tunables),
            yaw_control_sideslip_nm_rad: number::<115>(tunables),
            yaw_control_feed_forward_share: number::<116>(tunables),
            yaw_control_damping_nm_s2_rad: number::<117>(tunables),
            yaw_control_damping_filter_s: number::<118>(tunables),
            yaw_control_damping_dead_band_rad_s2: number::<119>(tunables),
            yaw_control_crawl_memory_s: number::<120>(tunables),
            yaw_control_oversteer_start_rad_s: number::<121>(tunables),
            yaw_control_oversteer_end_rad_s: number::<122>(tunables),
            yaw_control_oversteer_hold_s: number::<123>(tunables),
            yaw_control_oversteer_kept: number::<124>(tunables),
            yaw_control_oversteer_memory_s: number::<125>(tunables),
            yaw_control_slide_full_deg: number::<126>(tunables),
            yaw_control_slide_end_rad: number::<127>(tunables),
            yaw_control_slide_torque_nm: number::<128>(tunables),
            yaw_control_slide_turn_m_s2: number::<129>(tunables),
            yaw_control_pre_load_urgent: number::<130>(tunables),
            yaw_control_pre_load_oversteer: number::<131>(tunables),
            yaw_control_moment_limit_nm: number::<132>(tunables),
            traction_rear_share_agile: number::<133>(tunables),
            traction_rear_share_steady: number::<134>(tunables),
            traction_front_slip_start_m_s: number::<135>(tunables),
            traction_front_slip_share: number::<136>(tunables),
            traction_front_slip_speed_m_s: number::<137>(tunables),
            traction_front_slip_gain_nm_s_m: number::<138>(tunables),
            traction_front_slip_gain_speed_m_s: number::<139>(tunables),
            traction_front_slip_memory_s: number::<140>(tunables),
            traction_launch_share: number::<141>(tunables),
            traction_lowest_torque_nm: number::<142>(tunables),
            traction_need_spin_m_s: number::<143>(tunables),
            traction_need_end_m_s: number::<144>(tunables),
            traction_lowest_torque_nm_s2_m2: number::<145>(tunables),
            traction_front_spin_request_m_s: number::<146>(tunables),
            authority_capacity_nm: number::<147>(tunables),
            authority_rise_nm_s: number::<148>(tunables),
            authority_fall_nm_s: number::<149>(tunables),
            authority_crawl_sign_rad_s: number::<150>(tunables),
            authority_slip_dead_band_rad_s: number::<151>(tunables),
            authority_dead_band_speed_m_s: number::<152>(tunables),
            authority_propshaft_nm: number::<153>(tunables),
            authority_wind_up_nm: number::<154>(tunables),
            authority_wind_up_park_nm: number::<155>(tunables),
            authority_wind_up_cold: number::<156>(tunables),
            authority_wind_up_speed_m_s: number::<157>(tunables),
            authority_friction_share: number::<158>(tunables),
            authority_friction_along: number::<159>(tunables),
            authority_friction_launch: number::<160>(tunables),
            authority_trust_slip_start: number::<161>(tunables),
            authority_trust_slip_end: number::<162>(tunables),
            authority_trust_lateral_start_m_s2: number::<163>(tunables),
            authority_trust_lateral_end_m_s2: number::<164>(tunables),
            authority_trust_step_nm: number::<165>(tunables),
            authority_lock_sign_nm: number::<166>(tunables),
            authority_lock_share: number::<167>(tunables),
            authority_lock_margin_nm: number::<168>(tunables),
            authority_cold_oil_degc: number::<169>(tunables),
            authority_cold_capacity: number::<170>(tunables),
            authority_unlike_tyres_capacity: number::<171>(tunables),
            authority_difference_nm: number::<172>(tunables),
            authority_difference_fast_nm: number::<173>(tunables),
            arbiter_weight_rear_torque: number::<174>(tunables),
            arbiter_weight_yaw_moment: number::<175>(tunables),
            arbiter_weight_yaw_launch: number::<176>(tunables),
            arbiter_weight_change: number::<177>(tunables),
            arbiter_heat_price_per_kw: number::<178>(tunables),
            guardian_disagreement_nm: number::<179>(tunables),
            guardian_patience_s: number::<180>(tunables),
            actuation_faces: number::<181>(tunables),
            actuation_effective_radius_m: number::<182>(tunables),
            actuation_friction: number::<183>(tunables),
            actuation_friction_per_decade: number::<184>(tunables),
            actuation_friction_per_kelvin_1_k: number::<185>(tunables),
            actuation_friction_low: number::<186>(tunables),
            actuation_friction_high: number::<187>(tunables),
            actuation_piston_area_m2: number::<188>(tunables),
            actuation_return_spring_n: number::<189>(tunables),
            actuation_pressure_bar: number::<190>(tunables),
            actuation_current_offset_a: number::<191>(tunables),
            actuation_pressure_per_current_bar_a: number::<192>(tunables),
            actuation_current_a: number::<193>(tunables),
            actuation_rest_current_a: number::<194>(tunables),
            actuation_touch_point_bar: number::<195>(tunables),
            actuation_relative_error: number::<196>(tunables),
            actuation_absolute_error_nm: number::<197>(tunables),
            learning_valve_offset_bar: number::<198>(tunables),
            learning_valve_gain_share: number::<199>(tunables),
            learning_valve_least_bar: number::<200>(tunables),
            learning_valve_settled_bar: number::<201>(tunables),
            learning_valve_event_s: number::<202>(tunables),
            learning_valve_share: number::<203>(tunables),
            learning_valve_offset_step_bar: number::<204>(tunables),
            learning_valve_gain_step: number::<205>(tunables),
            learning_touch_share: number::<206>(tunables),
            learning_touch_step_bar: number::<207>(tunables),
            learning_touch_event_s: number::<208>(tunables),
            learning_touch_least_nm: number::<209>(tunables),
            learning_touch_most_nm: number::<210>(tunables),
            learning_touch_speed_m_s: number::<211>(tunables),
            learning_touch_lateral_m_s2: number::<212>(tunables),
            learning_warm_oil_degc: number::<213>(tunables),
            heat_network_surface_capacity_j_k: number::<214>(tunables),
            heat_network_core_capacity_j_k: number::<215>(tunables),
            heat_network_oil_capacity_j_k: number::<216>(tunables),
            heat_network_housing_capacity_j_k: number::<217>(tunables),
            heat_network_surface_core_w_k: number::<218>(tunables),
            heat_network_surface_oil_w_k: number::<219>(tunables),
            heat_network_core_oil_w_k: number::<220>(tunables),
            heat_network_oil_housing_w_k: number::<221>(tunables),
            heat_network_housing_ambient_w_k: number::<222>(tunables),
            heat_network_housing_ambient_per_speed_w_s_k_m: number::<223>(tunables),
            heat_network_fastest_speed_m_s: number::<224>(tunables),
            heat_bound_share: number::<225>(tunables),
            heat_bound_beyond_k: number::<226>(tunables),
            slip_power_capacity_nm: number::<227>(tunables),
            slip_power_slip_rad_s: number::<228>(tunables),
            slip_power_stick_slip_rad_s: number::<229>(tunables),
            slip_power_held_slip_growth_rad_s2: number::<230>(tunables),
            slip_power_dead_time_s: number::<231>(tunables),
            slip_power_lag_s: number::<232>(tunables),
            slip_power_cold_lag_factor: number::<233>(tunables),
            slip_power_cold_oil_degc: number::<234>(tunables),
            slip_power_warm_oil_degc: number::<235>(tunables),
            derating_surface_start_degc: number::<236>(tunables),
            derating_surface_limit_degc: number::<237>(tunables),
            derating_core_start_degc: number::<238>(tunables),
            derating_core_limit_degc: number::<239>(tunables),
            derating_oil_start_degc: number::<240>(tunables),
            derating_oil_limit_degc: number::<241>(tunables),
            derating_surface_absolute_degc: number::<242>(tunables),
            derating_surface_reentry_degc: number::<243>(tunables),
            derating_oil_absolute_degc: number::<244>(tunables),
            derating_oil_reentry_degc: number::<245>(tunables),
            derating_least_share: number::<246>(tunables),
            derating_dwell_s: number::<247>(tunables),
            derating_withdrawal_per_s: number::<248>(tunables),
            derating_restoration_per_s: number::<249>(tunables),
            life_count_power_class_w: number::<250>(tunables),
            life_count_slip_class_rad_s: number::<251>(tunables),
            life_count_closed_nm: number::<252>(tunables),
            life_count_cycle_step_k: number::<253>(tunables),
            life_count_cycle_reference_k: number::<254>(tunables),
            life_count_cycle_reference_thousand: number::<255>(tunables),
            life_count_cycle_exponent: number::<256>(tunables),
            life_count_wear_mm3_gj: number::<257>(tunables),
            life_count_wear_friction: number::<258>(tunables),
            life_count_lining_area_mm2: number::<259>(tunables),
            life_count_wear_limit_um: number::<260>(tunables),
            life_count_oil_activation_j_mol: number::<261>(tunables),
            life_count_oil_reference_degc: number::<262>(tunables),
            life_count_oil_life_h: number::<263>(tunables),
            life_count_oil_soon_share: number::<264>(tunables),
            forecast_horizon_s: number::<265>(tunables),
            forecast_use_memory_s: number::<266>(tunables),
            forecast_unknown_ambient_degc: number::<267>(tunables),
            forecast_coldest_ambient_degc: number::<268>(tunables),
            forecast_hottest_ambient_degc: number::<269>(tunables),
        }
    }
}

fn tell<const INDEX: usize>(law: &mut Inputs, reading: couplet_reading) {
    (const { INPUT_SIGNALS[INDEX].write })(law, reading.to_law());
}

fn told<const INDEX: usize>(law: &Inputs) -> couplet_reading {
    couplet_reading::of_law((const { INPUT_SIGNALS[INDEX].read })(law))
}

fn given<const INDEX: usize>(law: &Outputs) -> f32 {
    (const { OUTPUT_SIGNALS[INDEX].read })(law)
}

fn set<const INDEX: usize>(tunables: &mut Tunables<f32>, value: f32) {
    (const { ENTRIES[INDEX].write })(tunables, value);
}

fn number<const INDEX: usize>(tunables: &Tunables<f32>) -> f32 {
    (const { ENTRIES[INDEX].read })(tunables)
}

/// Texts of one signal, tunable or rule.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    /// Name.
    pub name: &'static CStr,
    /// Unit.
    pub unit: &'static CStr,
    /// Meaning.
    pub meaning: &'static CStr,
}

/// Texts of the inputs.
pub(crate) const INPUT_ROWS: &[Row] = &[
    Row { name: c"wheel_speed_front_left", unit: c"rad/s", meaning: c"Speed of the front left wheel, positive forward." },
    Row { name: c"wheel_speed_front_right", unit: c"rad/s", meaning: c"Speed of the front right wheel, positive forward." },
    Row { name: c"wheel_speed_rear_left", unit: c"rad/s", meaning: c"Speed of the rear left wheel, positive forward." },
    Row { name: c"wheel_speed_rear_right", unit: c"rad/s", meaning: c"Speed of the rear right wheel, positive forward." },
    Row { name: c"yaw_rate", unit: c"rad/s", meaning: c"Yaw rate, positive to the left." },
    Row { name: c"lateral_acceleration", unit: c"m/s2", meaning: c"Specific force along y at the centre of gravity, positive to the left." },
    Row { name: c"longitudinal_acceleration", unit: c"m/s2", meaning: c"Specific force along x at the centre of gravity, positive forward." },
    Row { name: c"steering_wheel_angle", unit: c"rad", meaning: c"Steering-wheel angle, positive to the left." },
    Row { name: c"accelerator_pedal", unit: c"-", meaning: c"Accelerator position." },
    Row { name: c"brake_pressure", unit: c"bar", meaning: c"Pressure the driver's foot makes in the brake's master cylinder." },
    Row { name: c"carrier_torque", unit: c"N m", meaning: c"Powertrain torque at the front differential's carrier, before the rear axle takes its share." },
    Row { name: c"carrier_torque_wanted", unit: c"N m", meaning: c"What the driver asks of the powertrain, at the same place." },
    Row { name: c"gear", unit: c"-", meaning: c"Gear engaged: -1 reverse, 0 neutral." },
    Row { name: c"ambient_temperature", unit: c"degC", meaning: c"Air temperature." },
    Row { name: c"rear_torque_cap", unit: c"N m", meaning: c"Master controller's cap on the sum of both wheel torques." },
    Row { name: c"yaw_moment_cap", unit: c"N m", meaning: c"Master controller's cap on the axle's yaw moment." },
    Row { name: c"open_now", unit: c"-", meaning: c"Master controller's order to open both clutches, above 0.5." },
    Row { name: c"anti_lock_active", unit: c"-", meaning: c"Anti-lock braking at work, above 0.5." },
    Row { name: c"stability_active", unit: c"-", meaning: c"Brake-based stability control at work, above 0.5." },
    Row { name: c"clutch_pressure_left", unit: c"bar", meaning: c"Pressure measured at the left clutch's piston; a car without the sensor never sends it." },
    Row { name: c"clutch_pressure_right", unit: c"bar", meaning: c"Pressure measured at the right clutch's piston; a car without the sensor never sends it." },
];

/// Texts of the outputs.
pub(crate) const OUTPUT_ROWS: &[Row] = &[
    Row { name: c"capacity_left", unit: c"N m", meaning: c"Capacity commanded to the left clutch, at the wheel." },
    Row { name: c"capacity_right", unit: c"N m", meaning: c"Capacity commanded to the right clutch, at the wheel." },
    Row { name: c"torque_left", unit: c"N m", meaning: c"Torque expected on the left rear wheel, positive drives forward." },
    Row { name: c"torque_right", unit: c"N m", meaning: c"Torque expected on the right rear wheel, positive drives forward." },
    Row { name: c"torque_left_least", unit: c"N m", meaning: c"Lower end of the interval the left wheel's torque lies in." },
    Row { name: c"torque_left_most", unit: c"N m", meaning: c"Upper end of the interval the left wheel's torque lies in." },
    Row { name: c"torque_right_least", unit: c"N m", meaning: c"Lower end of the interval the right wheel's torque lies in." },
    Row { name: c"torque_right_most", unit: c"N m", meaning: c"Upper end of the interval the right wheel's torque lies in." },
    Row { name: c"pressure_left", unit: c"bar", meaning: c"Pressure wanted at the left piston." },
    Row { name: c"pressure_right", unit: c"bar", meaning: c"Pressure wanted at the right piston." },
    Row { name: c"current_left", unit: c"A", meaning: c"Current of the left valve." },
    Row { name: c"current_right", unit: c"A", meaning: c"Current of the right valve." },
    Row { name: c"asked_left", unit: c"N m", meaning: c"Torque the unbounded law would have given on the left." },
    Row { name: c"asked_right", unit: c"N m", meaning: c"Torque the unbounded law would have given on the right." },
    Row { name: c"given_left", unit: c"N m", meaning: c"Torque given on the left." },
    Row { name: c"given_right", unit: c"N m", meaning: c"Torque given on the right." },
    Row { name: c"limit_left", unit: c"-", meaning: c"What made the difference on the left; 0 is nothing." },
    Row { name: c"limit_right", unit: c"-", meaning: c"What made the difference on the right; 0 is nothing." },
    Row { name: c"rear_torque_least", unit: c"N m", meaning: c"Least sum of wheel torques that can be had now." },
    Row { name: c"rear_torque_most", unit: c"N m", meaning: c"Largest sum of wheel torques that can be had now." },
    Row { name: c"yaw_moment_least", unit: c"N m", meaning: c"Yaw moment to the right that can be had now, negative." },
    Row { name: c"yaw_moment_most", unit: c"N m", meaning: c"Yaw moment to the left that can be had now." },
    Row { name: c"front_spin_request", unit: c"m/s", meaning: c"Request: mean front wheel speed beyond the car's at most; 0 asks for nothing." },
    Row { name: c"torque_limit_request", unit: c"N m", meaning: c"Request: powertrain torque at the carrier at most; the largest number of single precision asks for nothing." },
    Row { name: c"surface_left", unit: c"degC", meaning: c"Surface temperature of the left clutch, estimated." },
    Row { name: c"surface_right", unit: c"degC", meaning: c"Surface temperature of the right clutch, estimated." },
    Row { name: c"core_left", unit: c"degC", meaning: c"Core temperature of the left clutch, estimated." },
    Row { name: c"core_right", unit: c"degC", meaning: c"Core temperature of the right clutch, estimated." },
    Row { name: c"oil", unit: c"degC", meaning: c"Oil temperature, estimated." },
    Row { name: c"heat_ceiling_left", unit: c"-", meaning: c"Share of the left capacity left by heat." },
    Row { name: c"heat_ceiling_right", unit: c"-", meaning: c"Share of the right capacity left by heat." },
    Row { name: c"time_to_limit_left", unit: c"s", meaning: c"Time until heat takes capacity from the left at the present use." },
    Row { name: c"time_to_limit_right", unit: c"s", meaning: c"Time until heat takes capacity from the right at the present use." },
    Row { name: c"heat_limit_left", unit: c"-", meaning: c"What heat binds on the left; 0 is nothing." },
    Row { name: c"heat_limit_right", unit: c"-", meaning: c"What heat binds on the right; 0 is nothing." },
    Row { name: c"clutch_life_used_left", unit: c"-", meaning: c"Share of life the left clutch has used: 0 is new, 1 used up." },
    Row { name: c"clutch_life_used_right", unit: c"-", meaning: c"Share of life the right clutch has used: 0 is new, 1 used up." },
    Row { name: c"oil_life_used", unit: c"-", meaning: c"Share of life the oil has used since it was new." },
    Row { name: c"advice", unit: c"-", meaning: c"What a workshop should do: 0 nothing, 1 change the oil soon, 2 now, 3 a clutch is used up." },
    Row { name: c"health", unit: c"-", meaning: c"What is left of the ability: 0 everything, 1 reduced, 2 open." },
    Row { name: c"faults_low", unit: c"-", meaning: c"Confirmed faults, bits 0 to 15." },
    Row { name: c"faults_high", unit: c"-", meaning: c"Confirmed faults, bits 16 to 31." },
    Row { name: c"health_share", unit: c"-", meaning: c"Share of the capacity that health leaves." },
    Row { name: c"may_differ", unit: c"-", meaning: c"Whether health lets left and right differ: 0 both alike, 1 may differ." },
    Row { name: c"situation", unit: c"-", meaning: c"Where the car is: 0 on a road, 1 towed with the front axle raised, 2 on a bench or jack or with the rear axle raised, 3 pushed or in a wash; but for 0 the clutches stay open." },
    Row { name: c"phase", unit: c"-", meaning: c"Phase of driving as the law reads it." },
];

/// Texts of the trace.
pub(crate) const TRACE_ROWS: &[Row] = &[
    Row { name: c"estimated_speed", unit: c"m/s", meaning: c"" },
    Row { name: c"estimated_sideslip", unit: c"rad", meaning: c"" },
    Row { name: c"estimated_slip_rear_left", unit: c"-", meaning: c"" },
    Row { name: c"estimated_slip_rear_right", unit: c"-", meaning: c"" },
    Row { name: c"friction_used", unit: c"-", meaning: c"" },
    Row { name: c"friction_believed", unit: c"-", meaning: c"" },
    Row { name: c"front_spin", unit: c"m/s", meaning: c"" },
    Row { name: c"overspeed_effective", unit: c"-", meaning: c"" },
    Row { name: c"unlike_tyres", unit: c"-", meaning: c"" },
    Row { name: c"phase", unit: c"-", meaning: c"" },
    Row { name: c"urgency", unit: c"-", meaning: c"" },
    Row { name: c"launch", unit: c"-", meaning: c"" },
    Row { name: c"lift_off", unit: c"-", meaning: c"" },
    Row { name: c"counter_steer", unit: c"-", meaning: c"" },
    Row { name: c"yaw_rate_wanted", unit: c"rad/s", meaning: c"" },
    Row { name: c"yaw_rate_cap", unit: c"rad/s", meaning: c"" },
    Row { name: c"yaw_moment_wanted", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_feed_forward", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_proportional", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_integral", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_damping", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_sideslip", unit: c"N m", meaning: c"" },
    Row { name: c"slide", unit: c"-", meaning: c"" },
    Row { name: c"oversteer", unit: c"-", meaning: c"" },
    Row { name: c"oversteer_held", unit: c"-", meaning: c"" },
    Row { name: c"pre_load", unit: c"N m", meaning: c"" },
    Row { name: c"rear_torque_wanted", unit: c"N m", meaning: c"" },
    Row { name: c"traction_need", unit: c"-", meaning: c"" },
    Row { name: c"torque_asked_left", unit: c"N m", meaning: c"" },
    Row { name: c"torque_asked_right", unit: c"N m", meaning: c"" },
    Row { name: c"torque_given_left", unit: c"N m", meaning: c"" },
    Row { name: c"torque_given_right", unit: c"N m", meaning: c"" },
    Row { name: c"capacity_left", unit: c"N m", meaning: c"" },
    Row { name: c"capacity_right", unit: c"N m", meaning: c"" },
    Row { name: c"capacity_possible_left", unit: c"N m", meaning: c"" },
    Row { name: c"capacity_possible_right", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_reach_left", unit: c"N m", meaning: c"" },
    Row { name: c"yaw_moment_reach_right", unit: c"N m", meaning: c"" },
    Row { name: c"limit_left", unit: c"-", meaning: c"" },
    Row { name: c"limit_right", unit: c"-", meaning: c"" },
    Row { name: c"direction_left", unit: c"-", meaning: c"" },
    Row { name: c"direction_right", unit: c"-", meaning: c"" },
    Row { name: c"estimated_heat_left", unit: c"W", meaning: c"" },
    Row { name: c"estimated_heat_right", unit: c"W", meaning: c"" },
    Row { name: c"estimated_surface_left", unit: c"degC", meaning: c"" },
    Row { name: c"estimated_surface_right", unit: c"degC", meaning: c"" },
    Row { name: c"estimated_core_left", unit: c"degC", meaning: c"" },
    Row { name: c"estimated_core_right", unit: c"degC", meaning: c"" },
    Row { name: c"estimated_oil", unit: c"degC", meaning: c"" },
    Row { name: c"bound_surface_left", unit: c"degC", meaning: c"" },
    Row { name: c"bound_surface_right", unit: c"degC", meaning: c"" },
    Row { name: c"bound_core_left", unit: c"degC", meaning: c"" },
    Row { name: c"bound_core_right", unit: c"degC", meaning: c"" },
    Row { name: c"bound_oil", unit: c"degC", meaning: c"" },
    Row { name: c"heat_ceiling_left", unit: c"-", meaning: c"" },
    Row { name: c"heat_ceiling_right", unit: c"-", meaning: c"" },
    Row { name: c"heat_limit_left", unit: c"-", meaning: c"" },
    Row { name: c"heat_limit_right", unit: c"-", meaning: c"" },
    Row { name: c"heat_open_left", unit: c"-", meaning: c"" },
    Row { name: c"heat_open_right", unit: c"-", meaning: c"" },
    Row { name: c"time_to_heat_limit_left", unit: c"s", meaning: c"" },
    Row { name: c"time_to_heat_limit_right", unit: c"s", meaning: c"" },
    Row { name: c"clutch_life_used_left", unit: c"-", meaning: c"" },
    Row { name: c"clutch_life_used_right", unit: c"-", meaning: c"" },
    Row { name: c"oil_life_used", unit: c"-", meaning: c"" },
    Row { name: c"service_advice", unit: c"-", meaning: c"" },
    Row { name: c"health", unit: c"-", meaning: c"" },
    Row { name: c"health_share", unit: c"-", meaning: c"" },
    Row { name: c"situation", unit: c"-", meaning: c"" },
    Row { name: c"faults", unit: c"-", meaning: c"" },
    Row { name: c"wheel_faults_left", unit: c"-", meaning: c"" },
    Row { name: c"wheel_faults_right", unit: c"-", meaning: c"" },
    Row { name: c"clutch_faults_left", unit: c"-", meaning: c"" },
    Row { name: c"clutch_faults_right", unit: c"-", meaning: c"" },
    Row { name: c"pressure_commanded_left", unit: c"bar", meaning: c"" },
    Row { name: c"pressure_commanded_right", unit: c"bar", meaning: c"" },
    Row { name: c"matched_left", unit: c"N m", meaning: c"" },
    Row { name: c"matched_right", unit: c"N m", meaning: c"" },
    Row { name: c"touch_point_left", unit: c"bar", meaning: c"" },
    Row { name: c"touch_point_right", unit: c"bar", meaning: c"" },
    Row { name: c"valve_offset_left", unit: c"bar", meaning: c"" },
    Row { name: c"valve_offset_right", unit: c"bar", meaning: c"" },
    Row { name: c"valve_gain_left", unit: c"-", meaning: c"" },
    Row { name: c"valve_gain_right", unit: c"-", meaning: c"" },
];

/// Texts of the tunables.
pub(crate) const ENTRY_ROWS: &[Row] = &[
    Row { name: c"setting.agility", unit: c"-", meaning: c"How much the car turns like a rear-driven one: target understeer gradient, feed-forward, rear share." },
    Row { name: c"setting.steadiness", unit: c"-", meaning: c"How calm it stays: yaw damping, pre-load on fast steering, sideslip limit." },
    Row { name: c"setting.slide_allowance_deg", unit: c"deg", meaning: c"Sideslip the driver may hold before the law counters; zero unless asked for." },
    Row { name: c"vehicle.mass_kg", unit: c"kg", meaning: c"Mass with driver." },
    Row { name: c"vehicle.yaw_inertia_kg_m2", unit: c"kg m2", meaning: c"Yaw inertia about the centre of gravity." },
    Row { name: c"vehicle.wheelbase_m", unit: c"m", meaning: c"Distance of the axles." },
    Row { name: c"vehicle.front_axle_to_cg_m", unit: c"m", meaning: c"Distance of the centre of gravity behind the front axle." },
    Row { name: c"vehicle.cg_height_m", unit: c"m", meaning: c"Height of the centre of gravity." },
    Row { name: c"vehicle.track_m", unit: c"m", meaning: c"Track, both axles." },
    Row { name: c"vehicle.wheel_radius_m", unit: c"m", meaning: c"Effective rolling radius." },
    Row { name: c"vehicle.steering_ratio", unit: c"-", meaning: c"Steering-wheel angle over road-wheel angle." },
    Row { name: c"vehicle.front_cornering_stiffness_n_rad", unit: c"N/rad", meaning: c"Front axle, with steering compliance." },
    Row { name: c"vehicle.rear_cornering_stiffness_n_rad", unit: c"N/rad", meaning: c"Rear axle." },
    Row { name: c"vehicle.rear_slip_stiffness_n", unit: c"N", meaning: c"Longitudinal force of one rear wheel per unit slip." },
    Row { name: c"vehicle.overspeed", unit: c"-", meaning: c"How much faster the rear shaft turns than the front carrier." },
    Row { name: c"conditioning.longest_age_s", unit: c"s", meaning: c"A value older than this is no longer fresh." },
    Row { name: c"conditioning.hold_time_s", unit: c"s", meaning: c"A last good value is believed this long, then it is lost." },
    Row { name: c"conditioning.wheel_speed_rate_rad_s2", unit: c"rad/s2", meaning: c"A wheel speed that changes faster is not believed: 3000 N m of brake over 1.2 kg m2." },
    Row { name: c"conditioning.yaw_rate_rate_rad_s2", unit: c"rad/s2", meaning: c"The same for the yaw rate; tyres make 10 to 20." },
    Row { name: c"conditioning.acceleration_rate_m_s3", unit: c"m/s3", meaning: c"The same for both accelerations." },
    Row { name: c"conditioning.steering_rate_rad_s", unit: c"rad/s", meaning: c"The same for the steering-wheel angle; fast hands make 20 to 26, from memory." },
    Row { name: c"conditioning.torque_rate_nm_s", unit: c"N m/s", meaning: c"The same for both powertrain torques." },
    Row { name: c"conditioning.brake_rate_bar_s", unit: c"bar/s", meaning: c"The same for the brake pressure." },
    Row { name: c"monitor.yaw_rate_tolerance_rad_s", unit: c"rad/s", meaning: c"Yaw rate and the rear wheels' speed difference may differ this much." },
    Row { name: c"monitor.yaw_check_speed_m_s", unit: c"m/s", meaning: c"No yaw cross check below this speed." },
    Row { name: c"monitor.confirm_time_s", unit: c"s", meaning: c"A contradiction must last this long to count; release must be ordered within 100 ms." },
    Row { name: c"monitor.heal_time_s", unit: c"s", meaning: c"It must be gone this long to be forgotten." },
    Row { name: c"monitor.slide_tolerance_rad_s", unit: c"rad/s", meaning: c"Further difference allowed where the setting allows a slide: wheels spin and yaw rate leaves lateral acceleration over speed." },
    Row { name: c"monitor.silent_time_s", unit: c"s", meaning: c"Where the setting allows a slide: after an order to open, wheels stopped by a hand brake are no witnesses of the yaw rate for this long." },
    Row { name: c"monitor.order_heal_s", unit: c"s", meaning: c"The order channel must be heard again this long before both clutches may close after it was lost: longer than the pauses of a loose plug." },
    Row { name: c"monitor.reduced_capacity", unit: c"-", meaning: c"Share of the capacity left when one wheel speed or the yaw rate is lost." },
    Row { name: c"monitor.wheel_apart", unit: c"-", meaning: c"A wheel this share of the others' speed apart from three that agree, without torque or brake to slip by, is not believed." },
    Row { name: c"monitor.quiet_torque_nm", unit: c"N m", meaning: c"Powertrain torque below which no wheel spins." },
    Row { name: c"monitor.quiet_brake_bar", unit: c"bar", meaning: c"Brake pressure below which no wheel locks." },
    Row { name: c"monitor.slip_confirm_s", unit: c"s", meaning: c"Wheel speeds, lateral acceleration and torque must contradict the others this long: a freely rolling tyre catches its speed sooner." },
    Row { name: c"monitor.still_time_s", unit: c"s", meaning: c"A value that keeps every bit this long while another says that it must move is stuck." },
    Row { name: c"monitor.still_wheel_rad_s", unit: c"rad/s", meaning: c"So far the wheels' mean must have moved." },
    Row { name: c"monitor.still_yaw_rad_s", unit: c"rad/s", meaning: c"So far lateral acceleration over speed must have moved for the yaw rate, and times speed the yaw rate for the acceleration." },
    Row { name: c"monitor.lateral_tolerance_m_s2", unit: c"m/s2", meaning: c"Lateral acceleration and yaw rate times speed may differ this much while the car hardly turns: a bank of a quarter and a gust." },
    Row { name: c"monitor.steering_tolerance_rad", unit: c"rad", meaning: c"Steering-wheel angle from which a car above 10 m/s must turn." },
    Row { name: c"monitor.steering_confirm_s", unit: c"s", meaning: c"So long it may not: on ice a car pushes straight on, but not for long." },
    Row { name: c"monitor.torque_tolerance_nm", unit: c"N m", meaning: c"The powertrain may give this much more than it was asked for." },
    Row { name: c"monitor.lifted_speed_m_s", unit: c"m/s", meaning: c"One axle turns faster than this while the other stands, without torque or brake: towed on an axle, or a brake tester." },
    Row { name: c"monitor.lifted_confirm_s", unit: c"s", meaning: c"For so long, and so long in neutral at walking pace: a car wash, or pushed." },
    Row { name: c"monitor.bench_speed_m_s", unit: c"m/s", meaning: c"Front wheels this fast under power while the rear ones stand: a roller bench or a jack, or a launch that will not come." },
    Row { name: c"monitor.bench_confirm_s", unit: c"s", meaning: c"For so long." },
    Row { name: c"monitor.wash_speed_m_s", unit: c"m/s", meaning: c"Walking pace of a car wash." },
    Row { name: c"monitor.situation_heal_s", unit: c"s", meaning: c"So long after towing, bench or wash ended the axle closes again, from nothing and no faster than the rate bound." },
    Row { name: c"monitor.help_torque_nm", unit: c"N m", meaning: c"Powertrain torque the car is asked to keep below while a clutch does not open: power makes it drift half as far again." },
    Row { name: c"pressure_watch.tolerance_bar", unit: c"bar", meaning: c"Measured and commanded pressure may differ this much ..." },
    Row { name: c"pressure_watch.tolerance_share", unit: c"-", meaning: c"... plus this share: a valve not learned yet is no fault." },
    Row { name: c"pressure_watch.follow_s", unit: c"s", meaning: c"Time constant within which the pressure of a warm clutch surely follows, dead time included; cold oil as in slip_power." },
    Row { name: c"pressure_watch.high_confirm_s", unit: c"s", meaning: c"Too much pressure must last this long to count; release must be ordered within 100 ms of its cause." },
    Row { name: c"pressure_watch.low_confirm_s", unit: c"s", meaning: c"Too little pressure must last this long to count." },
    Row { name: c"pressure_watch.stuck_s", unit: c"s", meaning: c"A released clutch that keeps its pressure this long counts as one that does not open." },
    Row { name: c"pressure_watch.open_share", unit: c"-", meaning: c"Less than this share of the pressure is no pressure; more is a leak." },
    Row { name: c"pressure_watch.heal_s", unit: c"s", meaning: c"Pressures must agree this long for a finding to be forgotten." },
    Row { name: c"pressure_watch.latch_s", unit: c"s", meaning: c"A finding that stood this long altogether stays until the next start." },
    Row { name: c"pressure_watch.match_share", unit: c"-", meaning: c"A clutch that does not open is matched with up to this share of the torque the rear wheels show; 0: never." },
    Row { name: c"pressure_watch.match_least_nm", unit: c"N m", meaning: c"Torque shown below this is matched with nothing: it may be noise." },
    Row { name: c"pressure_watch.match_speed_m_s", unit: c"m/s", meaning: c"Matched in full from this speed on, not at all below half of it: slow cars drift little and wind up much." },
    Row { name: c"pressure_watch.match_steer_rad", unit: c"rad", meaning: c"Road-wheel angle from which nothing is matched; in full up to half of it." },
    Row { name: c"vehicle_state.speed_margin_m_s2", unit: c"m/s2", meaning: c"At crawl, speed may change this much faster than the accelerometer says: room for a grade not learned yet." },
    Row { name: c"vehicle_state.speed_margin_fast_m_s2", unit: c"m/s2", meaning: c"The same from 10 m/s on." },
    Row { name: c"vehicle_state.speed_margin_free_m_s2", unit: c"m/s2", meaning: c"The same the way the wheels cannot be wrong: down when driven, up when braked, both when rolling." },
    Row { name: c"vehicle_state.speed_margin_anti_lock_m_s2", unit: c"m/s2", meaning: c"The same downwards under anti-lock control, when no wheel rolls freely for long and the slope is known; three times this upwards." },
    Row { name: c"vehicle_state.speed_margin_blind_m_s2", unit: c"m/s2", meaning: c"The same without an accelerometer: what tyres can do." },
    Row { name: c"vehicle_state.slope_memory_s", unit: c"s", meaning: c"Time constant with which the slope is learned from rolling wheels." },
    Row { name: c"vehicle_state.sideslip_leak_s", unit: c"s", meaning: c"Time constant with which the integrated sideslip returns to the single-track value in a slide." },
    Row { name: c"vehicle_state.sideslip_agreed_s", unit: c"s", meaning: c"The same while the car turns as it is steered, up to 10 m/s; about twice as long from 16 m/s on." },
    Row { name: c"vehicle_state.sideslip_from_speed_s", unit: c"s", meaning: c"Turning otherwise than steered: how far a change of speed that was not felt counts as sideways speed, per yaw rate." },
    Row { name: c"vehicle_state.friction_floor", unit: c"-", meaning: c"Friction is never taken lower than this." },
    Row { name: c"vehicle_state.friction_ceiling", unit: c"-", meaning: c"Friction is never taken higher than this." },
    Row { name: c"vehicle_state.friction_allowance", unit: c"-", meaning: c"Friction assumed beyond what has been used already, without slip." },
    Row { name: c"vehicle_state.friction_growth", unit: c"-", meaning: c"Further allowance per friction used." },
    Row { name: c"vehicle_state.friction_slip_start", unit: c"-", meaning: c"Tyre slip from which the allowance shrinks." },
    Row { name: c"vehicle_state.friction_slip_end", unit: c"-", meaning: c"Tyre slip at which the allowance is gone." },
    Row { name: c"vehicle_state.friction_memory_s", unit: c"s", meaning: c"Time constant with which friction used is forgotten." },
    Row { name: c"vehicle_state.bank_memory_s", unit: c"s", meaning: c"Time constant with which a banked road is told from sideslip." },
    Row { name: c"vehicle_state.crawl_sideslip_s", unit: c"s", meaning: c"Time constant with which sideslip is given up at crawl." },
    Row { name: c"vehicle_state.friction_filter_s", unit: c"s", meaning: c"Lag of the friction in use: a noise peak is no grip." },
    Row { name: c"vehicle_state.radius_learning_m", unit: c"m", meaning: c"Way over which the rolling-radius ratios are averaged, pieces of it counted by how sure they are." },
    Row { name: c"vehicle_state.radius_bound", unit: c"-", meaning: c"A ratio is never taken further from one than this: a spare wheel is a tenth smaller." },
    Row { name: c"vehicle_state.unlike_tyres_start", unit: c"-", meaning: c"Radii that differ by this much, front to rear or left to right, are more than wear: a spare, mixed sizes or chains." },
    Row { name: c"vehicle_state.unlike_tyres_end", unit: c"-", meaning: c"Difference that limits the axle in full." },
    Row { name: c"driver_intent.launch_end_m_s", unit: c"m/s", meaning: c"Above this speed nothing is a launch." },
    Row { name: c"driver_intent.urgency_start_rad_s", unit: c"rad/s", meaning: c"Steering-wheel rate from which steering counts as urgent." },
    Row { name: c"driver_intent.urgency_end_rad_s", unit: c"rad/s", meaning: c"Steering-wheel rate that is fully urgent." },
    Row { name: c"driver_intent.urgency_memory_s", unit: c"s", meaning: c"Time constant with which urgency is forgotten." },
    Row { name: c"driver_intent.lift_off_rate_per_s", unit: c"1/s", meaning: c"Pedal closing faster than this is a lift-off." },
    Row { name: c"driver_intent.rate_filter_s", unit: c"s", meaning: c"Lag of pedal and steering rates: bus steps and noise are no intent." },
    Row { name: c"driver_intent.lift_off_pedal", unit: c"-", meaning: c"A lift-off ends below this pedal position, and a pedal above it ends a lift-off." },
    Row { name: c"driver_intent.lift_off_memory_s", unit: c"s", meaning: c"Time constant with which a lift-off is forgotten." },
    Row { name: c"driver_intent.turn_curvature_1_m", unit: c"1/m", meaning: c"Wanted curvature from which the car counts as turning." },
    Row { name: c"driver_intent.phase_dwell_s", unit: c"s", meaning: c"A phase lasts at least this long, unless a more urgent one interrupts it." },
    Row { name: c"yaw_reference.understeer_agile_rad_s2_m", unit: c"rad s2/m", meaning: c"Target understeer constant at agility 1." },
    Row { name: c"yaw_reference.understeer_steady_rad_s2_m", unit: c"rad s2/m", meaning: c"Target understeer constant at agility 0." },
    Row { name: c"yaw_reference.friction_share", unit: c"-", meaning: c"Yaw rate is capped at this share of mu g / V; the textbook's 0.85 cuts off what the axle reaches." },
    Row { name: c"yaw_reference.friction_dry", unit: c"-", meaning: c"Friction assumed for the soft bend while no tyre slips." },
    Row { name: c"yaw_reference.soft_share_agile", unit: c"-", meaning: c"The reference bends towards this share of mu g / V at agility 1." },
    Row { name: c"yaw_reference.soft_share_steady", unit: c"-", meaning: c"The same at agility 0: about what the car does by itself." },
    Row { name: c"yaw_reference.lag_agile_s", unit: c"s", meaning: c"Lag of the reference at steadiness 0." },
    Row { name: c"yaw_reference.lag_steady_s", unit: c"s", meaning: c"Lag of the reference at steadiness 1." },
    Row { name: c"yaw_reference.fade_in_speed_m_s", unit: c"m/s", meaning: c"Below this speed no yaw moment is wanted; fully wanted at twice the speed." },
    Row { name: c"yaw_reference.lift_off_hold_share", unit: c"-", meaning: c"How far a lift-off pulls the reference towards the curvature before it, per steadiness: 1 holds it, more makes up for what the feedback leaves over." },
    Row { name: c"yaw_reference.sideslip_limit_deg", unit: c"deg", meaning: c"Sideslip at which the law counters, on dry road at steadiness 0." },
    Row { name: c"yaw_control.proportional_nm_s_rad", unit: c"N m s/rad", meaning: c"Yaw-rate feedback at low speed: margins 9 dB and 50 deg on the demo car." },
    Row { name: c"yaw_control.proportional_fast_nm_s_rad", unit: c"N m s/rad", meaning: c"The same at the fast end." },
    Row { name: c"yaw_control.fast_speed_m_s", unit: c"m/s", meaning: c"Speed of the fast end, 160 km/h." },
    Row { name: c"yaw_control.integral_nm_rad", unit: c"N m/rad", meaning: c"Yaw-rate error integral gain." },
    Row { name: c"yaw_control.integral_limit_nm", unit: c"N m", meaning: c"The integral part never exceeds this." },
    Row { name: c"yaw_control.integral_release_1_s", unit: c"1/s", meaning: c"How fast the integral part is given up after a lift-off." },
    Row { name: c"yaw_control.anti_windup_1_s", unit: c"1/s", meaning: c"How fast the integral gives way to a bound's shortfall." },
    Row { name: c"yaw_control.dead_band_rad_s", unit: c"rad/s", meaning: c"Errors below this are ignored straight ahead: a yaw-rate bias must not steer the car." },
    Row { name: c"yaw_control.dead_band_turn_rad_s", unit: c"rad/s", meaning: c"The same in a turn." },
    Row { name: c"yaw_control.sideslip_nm_rad", unit: c"N m/rad", meaning: c"Counter-moment per sideslip beyond its limit." },
    Row { name: c"yaw_control.feed_forward_share", unit: c"-", meaning: c"Share of the single-track feed-forward used at agility 1." },
    Row { name: c"yaw_control.damping_nm_s2_rad", unit: c"N m s2/rad", meaning: c"Moment against yaw acceleration beyond the reference's, at steadiness 1." },
    Row { name: c"yaw_control.damping_filter_s", unit: c"s", meaning: c"Each of the two lags that smooth the measured yaw acceleration." },
    Row { name: c"yaw_control.damping_dead_band_rad_s2", unit: c"rad/s2", meaning: c"Yaw acceleration error that counts as noise." },
    Row { name: c"yaw_control.crawl_memory_s", unit: c"s", meaning: c"Time constant with which the integral part is given up at crawl." },
    Row { name: c"yaw_control.oversteer_start_rad_s", unit: c"rad/s", meaning: c"Yaw rate beyond the reference from which the car counts as oversteering." },
    Row { name: c"yaw_control.oversteer_end_rad_s", unit: c"rad/s", meaning: c"Yaw rate beyond the reference at which it does so fully." },
    Row { name: c"yaw_control.oversteer_hold_s", unit: c"s", meaning: c"Time constant with which closed clutches are given up while the car still oversteers: under 5 % in 0.1 s." },
    Row { name: c"yaw_control.oversteer_kept", unit: c"-", meaning: c"Oversteer held beyond which nothing closed is given up: less is a swing that ends by itself." },
    Row { name: c"yaw_control.oversteer_memory_s", unit: c"s", meaning: c"So long after it did they are still kept; then they fade with this time constant." },
    Row { name: c"yaw_control.slide_full_deg", unit: c"deg", meaning: c"Slide allowance from which a slide is left to the driver altogether." },
    Row { name: c"yaw_control.slide_end_rad", unit: c"rad", meaning: c"Sideslip beyond the allowance over which the law takes it back: 5 deg, for the driver cannot hold it to the degree." },
    Row { name: c"yaw_control.slide_torque_nm", unit: c"N m", meaning: c"Driver torque from which a hard turn is taken for a slide wanted; from half of it in part." },
    Row { name: c"yaw_control.slide_turn_m_s2", unit: c"m/s2", meaning: c"Yaw rate times speed from which a turn is hard; from three quarters of it in part." },
    Row { name: c"yaw_control.pre_load_urgent", unit: c"-", meaning: c"Share of the capacity both clutches hold on fully urgent steering at steadiness 1." },
    Row { name: c"yaw_control.pre_load_oversteer", unit: c"-", meaning: c"Share of the capacity both clutches hold in full oversteer: never open on oversteer." },
    Row { name: c"yaw_control.moment_limit_nm", unit: c"N m", meaning: c"No yaw moment beyond this is ever asked for." },
    Row { name: c"traction.rear_share_agile", unit: c"-", meaning: c"Share of the driver's torque wanted at the rear, agility 1." },
    Row { name: c"traction.rear_share_steady", unit: c"-", meaning: c"The same at agility 0." },
    Row { name: c"traction.front_slip_start_m_s", unit: c"m/s", meaning: c"Front wheels faster than the car by this call for rear torque." },
    Row { name: c"traction.front_slip_share", unit: c"-", meaning: c"And this share of the speed beyond the next number on top: the slip of ordinary drive torque." },
    Row { name: c"traction.front_slip_speed_m_s", unit: c"m/s", meaning: c"Below this speed the start is not raised: a launch needs its rear torque early." },
    Row { name: c"traction.front_slip_gain_nm_s_m", unit: c"N m s/m", meaning: c"Rear torque per front spin beyond the start." },
    Row { name: c"traction.front_slip_gain_speed_m_s", unit: c"m/s", meaning: c"Above this speed that gain falls with speed: a tyre's speed of slip per torque grows with it, and the loop must not swing." },
    Row { name: c"traction.front_slip_memory_s", unit: c"s", meaning: c"Moving off, time constant with which that call is given up: wheel speeds are silent at crawl." },
    Row { name: c"traction.launch_share", unit: c"-", meaning: c"Share wanted at the rear while launching, set before any wheel slips." },
    Row { name: c"traction.lowest_torque_nm", unit: c"N m", meaning: c"Driver torque below this calls for nothing: open at steady cruise." },
    Row { name: c"traction.need_spin_m_s", unit: c"m/s", meaning: c"Front spin beyond the start at which traction is fully at stake." },
    Row { name: c"traction.need_end_m_s", unit: c"m/s", meaning: c"Above this speed front spin no longer lets the high side pull alone." },
    Row { name: c"traction.lowest_torque_nm_s2_m2", unit: c"N m s2/m2", meaning: c"And this much more per speed squared: air drag." },
    Row { name: c"traction.front_spin_request_m_s", unit: c"m/s", meaning: c"Front spin the powertrain is asked to keep at launch; spin sets the clutch heat." },
    Row { name: c"authority.capacity_nm", unit: c"N m", meaning: c"Torque capacity of one clutch at the wheel." },
    Row { name: c"authority.rise_nm_s", unit: c"N m/s", meaning: c"Capacity rises no faster." },
    Row { name: c"authority.fall_nm_s", unit: c"N m/s", meaning: c"Capacity falls no faster, unless opened by order, fault or absolute heat." },
    Row { name: c"authority.crawl_sign_rad_s", unit: c"rad/s", meaning: c"Moving off at a crawl, slip against the gear below which a clutch keeps the gear's sign: more than a front wheel below its sensor's threshold can feign." },
    Row { name: c"authority.slip_dead_band_rad_s", unit: c"rad/s", meaning: c"Slip below this says nothing about the torque's sign; above slip noise at speed." },
    Row { name: c"authority.dead_band_speed_m_s", unit: c"m/s", meaning: c"Below this speed the dead band shrinks with speed." },
    Row { name: c"authority.propshaft_nm", unit: c"N m", meaning: c"Sum of wheel torques the propshaft may carry." },
    Row { name: c"authority.wind_up_nm", unit: c"N m", meaning: c"Rear torque beyond the powertrain's, at speed." },
    Row { name: c"authority.wind_up_park_nm", unit: c"N m", meaning: c"The same at walking pace with the wheels steered." },
    Row { name: c"authority.wind_up_cold", unit: c"-", meaning: c"Share of the powertrain's torque that the rear axle leaves alone at walking pace with the wheels steered in oil of -30 degC: it vanishes sooner than a cold clutch lets go." },
    Row { name: c"authority.wind_up_speed_m_s", unit: c"m/s", meaning: c"Speed from which the full wind-up is allowed." },
    Row { name: c"authority.friction_share", unit: c"-", meaning: c"Rear wheel torque is bounded by this share of estimated friction times load." },
    Row { name: c"authority.friction_along", unit: c"-", meaning: c"However hard the car turns, this share of the friction is taken to be left for driving." },
    Row { name: c"authority.friction_launch", unit: c"-", meaning: c"Friction assumed per wheel while launching, whatever was used before." },
    Row { name: c"authority.trust_slip_start", unit: c"-", meaning: c"A rear tyre that slips less has shown that it can carry what it carries, and a little more." },
    Row { name: c"authority.trust_slip_end", unit: c"-", meaning: c"A rear tyre that slips this much has shown nothing." },
    Row { name: c"authority.trust_lateral_start_m_s2", unit: c"m/s2", meaning: c"Such a showing counts in full below this lateral acceleration." },
    Row { name: c"authority.trust_lateral_end_m_s2", unit: c"m/s2", meaning: c"And not at all above this one: sideways grip is at stake." },
    Row { name: c"authority.trust_step_nm", unit: c"N m", meaning: c"Torque allowed beyond what a rear tyre has shown to carry." },
    Row { name: c"authority.lock_sign_nm", unit: c"N m", meaning: c"Near stick, the torque that the wheels' speeds would make a locked clutch carry must exceed this to tell its sign." },
    Row { name: c"authority.lock_share", unit: c"-", meaning: c"Near stick, capacity is bounded by this share of that torque ..." },
    Row { name: c"authority.lock_margin_nm", unit: c"N m", meaning: c"... plus this: more would wind the driveline up without moving the car." },
    Row { name: c"authority.cold_oil_degc", unit: c"degC", meaning: c"Below this oil temperature release is slow and capacity is capped at speed." },
    Row { name: c"authority.cold_capacity", unit: c"-", meaning: c"Share of capacity left at -30 degC at speed." },
    Row { name: c"authority.unlike_tyres_capacity", unit: c"-", meaning: c"Share of capacity left with unlike tyres, which slip against each other all the time." },
    Row { name: c"authority.difference_nm", unit: c"N m", meaning: c"Left and right torque differ no more than this at low speed." },
    Row { name: c"authority.difference_fast_nm", unit: c"N m", meaning: c"The same at 160 km/h." },
    Row { name: c"arbiter.weight_rear_torque", unit: c"-", meaning: c"Weight of the rear torque demand." },
    Row { name: c"arbiter.weight_yaw_moment", unit: c"-", meaning: c"Weight of the yaw moment demand." },
    Row { name: c"arbiter.weight_yaw_launch", unit: c"-", meaning: c"Weight of the yaw moment demand while traction is at stake." },
    Row { name: c"arbiter.weight_change", unit: c"-", meaning: c"Weight of the change from the last step." },
    Row { name: c"arbiter.heat_price_per_kw", unit: c"N m/kW", meaning: c"Price of torque per slip power already flowing." },
    Row { name: c"guardian.disagreement_nm", unit: c"N m", meaning: c"A request this far above the second channel's limit is a disagreement." },
    Row { name: c"guardian.patience_s", unit: c"s", meaning: c"Disagreements in a row for this long open both clutches until the next start." },
    Row { name: c"actuation.faces", unit: c"-", meaning: c"Friction faces of one clutch." },
    Row { name: c"actuation.effective_radius_m", unit: c"m", meaning: c"Effective friction radius." },
    Row { name: c"actuation.friction", unit: c"-", meaning: c"Friction coefficient at 80 degC and 1 rad/s; wet paper 0.10 to 0.15, from memory." },
    Row { name: c"actuation.friction_per_decade", unit: c"-", meaning: c"Rise of the friction coefficient per decade of slip." },
    Row { name: c"actuation.friction_per_kelvin_1_k", unit: c"1/K", meaning: c"Change of the friction coefficient with temperature." },
    Row { name: c"actuation.friction_low", unit: c"-", meaning: c"Least believable friction coefficient; bounds the pressure asked." },
    Row { name: c"actuation.friction_high", unit: c"-", meaning: c"Largest believable friction coefficient; bounds a weak answer." },
    Row { name: c"actuation.piston_area_m2", unit: c"m2", meaning: c"Piston area." },
    Row { name: c"actuation.return_spring_n", unit: c"N", meaning: c"Force of the return spring." },
    Row { name: c"actuation.pressure_bar", unit: c"bar", meaning: c"Largest pressure." },
    Row { name: c"actuation.current_offset_a", unit: c"A", meaning: c"Current at which pressure begins." },
    Row { name: c"actuation.pressure_per_current_bar_a", unit: c"bar/A", meaning: c"Pressure per current above the offset." },
    Row { name: c"actuation.current_a", unit: c"A", meaning: c"Largest current." },
    Row { name: c"actuation.rest_current_a", unit: c"A", meaning: c"Current of an open clutch, below the offset; keeps the valve awake." },
    Row { name: c"actuation.touch_point_bar", unit: c"bar", meaning: c"Largest believable touch-point offset; bounds a stored or learned value." },
    Row { name: c"actuation.relative_error", unit: c"-", meaning: c"Relative error of the torque; from memory." },
    Row { name: c"actuation.absolute_error_nm", unit: c"N m", meaning: c"Absolute error of the torque; from memory." },
    Row { name: c"learning.valve_offset_bar", unit: c"bar", meaning: c"A valve's pressure is never learned to lie further beside the calibration's than this." },
    Row { name: c"learning.valve_gain_share", unit: c"-", meaning: c"Nor its pressure per current further from the calibration's than this share." },
    Row { name: c"learning.valve_least_bar", unit: c"bar", meaning: c"Commanded pressure from which a valve is learned." },
    Row { name: c"learning.valve_settled_bar", unit: c"bar", meaning: c"A sample counts whole where command and its lagged value agree, less the further they are apart, not at all from here." },
    Row { name: c"learning.valve_event_s", unit: c"s", meaning: c"Time of standing still that the next three belong to." },
    Row { name: c"learning.valve_share", unit: c"-", meaning: c"Share of the deviation learned in that time; 0: no learning." },
    Row { name: c"learning.valve_offset_step_bar", unit: c"bar", meaning: c"Largest way of the offset in that time." },
    Row { name: c"learning.valve_gain_step", unit: c"-", meaning: c"Largest way of the gain in that time." },
    Row { name: c"learning.touch_share", unit: c"-", meaning: c"Share of the deviation of the touch point learned in one event; 0: no learning." },
    Row { name: c"learning.touch_step_bar", unit: c"bar", meaning: c"Largest step of the touch point in one event." },
    Row { name: c"learning.touch_event_s", unit: c"s", meaning: c"Samples of so long make one event." },
    Row { name: c"learning.touch_least_nm", unit: c"N m", meaning: c"Torque from which the wheels' reaction counts for the touch point." },
    Row { name: c"learning.touch_most_nm", unit: c"N m", meaning: c"Torque up to which it does; up to twice this it tells the stiffness of the tyres." },
    Row { name: c"learning.touch_speed_m_s", unit: c"m/s", meaning: c"No touch point is learned below this speed." },
    Row { name: c"learning.touch_lateral_m_s2", unit: c"m/s2", meaning: c"Nor above this lateral acceleration." },
    Row { name: c"learning.warm_oil_degc", unit: c"degC", meaning: c"Oil temperature below which nothing is learned." },
    Row { name: c"heat_network.surface_capacity_j_k", unit: c"J/K", meaning: c"Heat capacity of one clutch's friction surface. Small, so a pulse shows." },
    Row { name: c"heat_network.core_capacity_j_k", unit: c"J/K", meaning: c"Heat capacity of one clutch's plates and hub. Sets the repeated launches." },
    Row { name: c"heat_network.oil_capacity_j_k", unit: c"J/K", meaning: c"Heat capacity of the oil, about 0.8 kg at 2000 J/(kg K)." },
    Row { name: c"heat_network.housing_capacity_j_k", unit: c"J/K", meaning: c"Heat capacity of the housing, about 9.5 kg of aluminium." },
    Row { name: c"heat_network.surface_core_w_k", unit: c"W/K", meaning: c"Conductance surface to core of one clutch." },
    Row { name: c"heat_network.surface_oil_w_k", unit: c"W/K", meaning: c"Conductance surface to oil of one clutch." },
    Row { name: c"heat_network.core_oil_w_k", unit: c"W/K", meaning: c"Conductance core to oil of one clutch." },
    Row { name: c"heat_network.oil_housing_w_k", unit: c"W/K", meaning: c"Conductance oil to housing." },
    Row { name: c"heat_network.housing_ambient_w_k", unit: c"W/K", meaning: c"Conductance housing to air at standstill; free convection." },
    Row { name: c"heat_network.housing_ambient_per_speed_w_s_k_m", unit: c"W s/(K m)", meaning: c"Growth of the conductance housing to air with speed; head wind." },
    Row { name: c"heat_network.fastest_speed_m_s", unit: c"m/s", meaning: c"Highest believable speed. A faster one counts as standstill, which cools least." },
    Row { name: c"heat_bound.share", unit: c"-", meaning: c"Share by which heat, heat capacities and conductances may each be off; 0: the estimate itself protects." },
    Row { name: c"heat_bound.beyond_k", unit: c"K", meaning: c"Added to the bound: what a lumped network cannot know of the profile in the plates." },
    Row { name: c"slip_power.capacity_nm", unit: c"N m", meaning: c"Largest capacity of one clutch; assumed when the grant is no number." },
    Row { name: c"slip_power.slip_rad_s", unit: c"rad/s", meaning: c"Largest believable slip: one rear wheel stopped at 70 km/h." },
    Row { name: c"slip_power.stick_slip_rad_s", unit: c"rad/s", meaning: c"Slip below which the clutch counts as stuck; below it at most 60 W at full capacity are neglected." },
    Row { name: c"slip_power.held_slip_growth_rad_s2", unit: c"rad/s2", meaning: c"Growth of a held slip with its age: a spinning wheel at 3 g." },
    Row { name: c"slip_power.dead_time_s", unit: c"s", meaning: c"Dead time of the warm actuator." },
    Row { name: c"slip_power.lag_s", unit: c"s", meaning: c"Lag of the warm actuator." },
    Row { name: c"slip_power.cold_lag_factor", unit: c"-", meaning: c"How many times slower the actuator is in cold oil; 2 to 4 at -20 to -30 degC, from memory." },
    Row { name: c"slip_power.cold_oil_degc", unit: c"degC", meaning: c"Oil temperature at and below which the whole factor holds." },
    Row { name: c"slip_power.warm_oil_degc", unit: c"degC", meaning: c"Oil temperature at and above which the actuator is warm." },
    Row { name: c"derating.surface_start_degc", unit: c"degC", meaning: c"Surface temperature where the slope begins." },
    Row { name: c"derating.surface_limit_degc", unit: c"degC", meaning: c"Surface temperature where nothing is left; 200 to 250 short, from memory." },
    Row { name: c"derating.core_start_degc", unit: c"degC", meaning: c"Core temperature where the slope begins." },
    Row { name: c"derating.core_limit_degc", unit: c"degC", meaning: c"Core temperature where nothing is left." },
    Row { name: c"derating.oil_start_degc", unit: c"degC", meaning: c"Oil temperature where the slope begins; 120 to 140 continuous, from memory." },
    Row { name: c"derating.oil_limit_degc", unit: c"degC", meaning: c"Oil temperature where nothing is left; from memory." },
    Row { name: c"derating.surface_absolute_degc", unit: c"degC", meaning: c"Surface temperature that orders the clutch open, above the slope's end." },
    Row { name: c"derating.surface_reentry_degc", unit: c"degC", meaning: c"Surface temperature below which it may close again, below the slope." },
    Row { name: c"derating.oil_absolute_degc", unit: c"degC", meaning: c"Oil temperature that orders both clutches open; 150 short, from memory." },
    Row { name: c"derating.oil_reentry_degc", unit: c"degC", meaning: c"Oil temperature below which they may close again, above any air." },
    Row { name: c"derating.least_share", unit: c"-", meaning: c"Share of the capacity below which oil or core leave too little to be of use: open to cool instead; 0: never." },
    Row { name: c"derating.dwell_s", unit: c"s", meaning: c"Least time between two changes of the order." },
    Row { name: c"derating.withdrawal_per_s", unit: c"1/s", meaning: c"Fastest fall of the ceiling: the driver must not feel a step." },
    Row { name: c"derating.restoration_per_s", unit: c"1/s", meaning: c"Fastest rise of the ceiling, slower than the fall." },
    Row { name: c"life_count.power_class_w", unit: c"W", meaning: c"Upper end of the lowest class of heat in a clutch; each further end is four times the last." },
    Row { name: c"life_count.slip_class_rad_s", unit: c"rad/s", meaning: c"Upper end of the lowest class of slip; each further end is twice the last." },
    Row { name: c"life_count.closed_nm", unit: c"N m", meaning: c"Torque from which a clutch counts as engaged, until it is below half of it." },
    Row { name: c"life_count.cycle_step_k", unit: c"K", meaning: c"Step in which surface temperatures are counted; a class of cycles is four steps wide." },
    Row { name: c"life_count.cycle_reference_k", unit: c"K", meaning: c"Range of surface temperature for which the next number is given." },
    Row { name: c"life_count.cycle_reference_thousand", unit: c"-", meaning: c"Thousand cycles of that range that use up a clutch." },
    Row { name: c"life_count.cycle_exponent", unit: c"-", meaning: c"Slope of cycles to failure over range, double logarithmic; a whole number." },
    Row { name: c"life_count.wear_mm3_gj", unit: c"mm3/GJ", meaning: c"Lining worn per friction work: 1e-8 mm3/(N m) of normal force times way; no published value for wet paper was readable." },
    Row { name: c"life_count.wear_friction", unit: c"-", meaning: c"Friction that makes heat of that work; wet paper 0.10 to 0.15, from memory." },
    Row { name: c"life_count.lining_area_mm2", unit: c"mm2", meaning: c"Area of all faces of one clutch: ten rings of 55 to 75 mm radius." },
    Row { name: c"life_count.wear_limit_um", unit: c"um", meaning: c"Wear of a face at which a clutch is used up." },
    Row { name: c"life_count.oil_activation_j_mol", unit: c"J/mol", meaning: c"Activation energy of the oil's ageing; oxidation 80 to 130 kJ/mol, from memory." },
    Row { name: c"life_count.oil_reference_degc", unit: c"degC", meaning: c"Temperature at which the next number is given." },
    Row { name: c"life_count.oil_life_h", unit: c"h", meaning: c"Time at that temperature after which the oil is to be changed." },
    Row { name: c"life_count.oil_soon_share", unit: c"-", meaning: c"Share of it from which a change is advised." },
    Row { name: c"forecast.horizon_s", unit: c"s", meaning: c"How far the forecast looks." },
    Row { name: c"forecast.use_memory_s", unit: c"s", meaning: c"Time constant of the present use: some corners, one launch." },
    Row { name: c"forecast.unknown_ambient_degc", unit: c"degC", meaning: c"Air temperature assumed when it is unknown: a hot summer day over asphalt." },
    Row { name: c"forecast.coldest_ambient_degc", unit: c"degC", meaning: c"Lowest believable air temperature; below it the air counts as this." },
    Row { name: c"forecast.hottest_ambient_degc", unit: c"degC", meaning: c"Highest believable air temperature at the housing; below the re-entry temperatures, or re-entry is not certain." },
];

/// Texts of the rules between tunables: which, and what must hold.
pub(crate) const RULE_ROWS: &[Row] = &[
    Row { name: c"vehicle.front_axle_to_cg_m, vehicle.wheelbase_m", unit: c"", meaning: c"the centre of gravity must lie between the axles: front_axle_to_cg_m must be less than wheelbase_m" },
    Row { name: c"yaw_reference.understeer_agile_rad_s2_m, yaw_reference.understeer_steady_rad_s2_m", unit: c"", meaning: c"the agile end must not understeer more than the steady end: lower understeer_agile_rad_s2_m or raise understeer_steady_rad_s2_m" },
    Row { name: c"derating.oil_start_degc, derating.oil_limit_degc, derating.oil_absolute_degc", unit: c"", meaning: c"a ceiling needs a slope: oil_start_degc < oil_limit_degc < oil_absolute_degc" },
    Row { name: c"derating.surface_start_degc, derating.surface_limit_degc, derating.surface_absolute_degc", unit: c"", meaning: c"a ceiling needs a slope: surface_start_degc < surface_limit_degc < surface_absolute_degc" },
    Row { name: c"derating.core_start_degc, derating.core_limit_degc", unit: c"", meaning: c"a ceiling needs a slope: core_start_degc < core_limit_degc" },
    Row { name: c"derating.oil_reentry_degc, derating.oil_absolute_degc", unit: c"", meaning: c"a clutch may close again only below the temperature that opened it: oil_reentry_degc < oil_absolute_degc" },
    Row { name: c"derating.surface_reentry_degc, derating.surface_absolute_degc", unit: c"", meaning: c"a clutch may close again only below the temperature that opened it: surface_reentry_degc < surface_absolute_degc" },
    Row { name: c"vehicle_state.unlike_tyres_start, vehicle_state.unlike_tyres_end", unit: c"", meaning: c"a fade needs a width: unlike_tyres_start < unlike_tyres_end" },
    Row { name: c"vehicle_state.friction_slip_start, vehicle_state.friction_slip_end", unit: c"", meaning: c"a fade needs a width: friction_slip_start < friction_slip_end" },
    Row { name: c"driver_intent.urgency_start_rad_s, driver_intent.urgency_end_rad_s", unit: c"", meaning: c"a fade needs a width: urgency_start_rad_s < urgency_end_rad_s" },
    Row { name: c"yaw_control.oversteer_start_rad_s, yaw_control.oversteer_end_rad_s", unit: c"", meaning: c"a fade needs a width: oversteer_start_rad_s < oversteer_end_rad_s" },
    Row { name: c"authority.trust_slip_start, authority.trust_slip_end", unit: c"", meaning: c"a fade needs a width: trust_slip_start < trust_slip_end" },
    Row { name: c"authority.trust_lateral_start_m_s2, authority.trust_lateral_end_m_s2", unit: c"", meaning: c"a fade needs a width: trust_lateral_start_m_s2 < trust_lateral_end_m_s2" },
    Row { name: c"learning.touch_least_nm, learning.touch_most_nm", unit: c"", meaning: c"a band needs a width: touch_least_nm < touch_most_nm" },
];

/// Faults by their bit.
pub(crate) const FAULT_NAMES: &[&CStr] = &[
    c"wheel speed front left",
    c"wheel speed front right",
    c"wheel speed rear left",
    c"wheel speed rear right",
    c"yaw rate",
    c"yaw rate implausible",
    c"steering",
    c"acceleration",
    c"driver torque",
    c"master",
    c"second channel",
    c"clutch pressure high left",
    c"clutch pressure high right",
    c"clutch stuck closed left",
    c"clutch stuck closed right",
    c"clutch leak left",
    c"clutch leak right",
    c"clutch stuck open left",
    c"clutch stuck open right",
    c"clutch sensor left",
    c"clutch sensor right",
    c"wheel speed front left implausible",
    c"wheel speed front right implausible",
    c"wheel speed rear left implausible",
    c"wheel speed rear right implausible",
    c"acceleration implausible",
    c"steering implausible",
    c"driver torque implausible",
    c"clutch touch point left",
    c"clutch touch point right",
];

/// Limits by their number.
pub(crate) const LIMIT_NAMES: &[&CStr] = &[
    c"nothing",
    c"open now",
    c"fault",
    c"absolute heat",
    c"master cap",
    c"rate",
    c"slip direction",
    c"capacity",
    c"surface heat",
    c"core heat",
    c"oil heat",
    c"cold oil",
    c"tyre friction",
    c"propshaft",
    c"wind-up",
    c"yaw limit",
    c"guardian",
    c"projection",
    c"brake control",
    c"kinematic lock",
    c"unlike tyres",
];
