//! What the plant shows of the step just finished, and the record channels made from it.
//!
//! One table gives the fields of [`Observation`], the channels and their order, so none can drift from the others. Signs:
//! ISO 8855. Channel names without prefix are quantities that a well-equipped test car also measures; `plant_` marks
//! truth that only a simulation knows.

use super::quantity::{PerSide, PerWheel};
use crate::record::{Channel, Parity};

macro_rules! observed {
    ($($(#[doc = $doc:literal])* $kind:ident $field:ident = $name:literal [$unit:literal] $parity:ident,)*) => {
        /// The truth about the step just finished. Speeds, places and accelerations are those at its end; forces,
        /// torques and powers are the means over the step.
        #[derive(Debug, Clone, Copy, PartialEq, Default)]
        pub struct Observation {
            /// Time since the start, s. It has no channel: a record keeps time by its period.
            pub time_s: f64,
            $( $(#[doc = $doc])* pub $field: observed!(@type $kind), )*
        }

        /// The channels written by [`Observation::row`], in its order.
        pub fn channels() -> Vec<Channel> {
            let mut channels = Vec::new();
            $( observed!(@channels channels $kind $name $unit $parity); )*
            channels
        }

        impl Observation {
            /// Appends one value per channel, in the order of [`channels`].
            pub fn row(&self, row: &mut Vec<f32>) {
                $( observed!(@row row $kind self.$field); )*
            }
        }
    };
    (@type scalar) => { f64 };
    (@type side) => { PerSide<f64> };
    (@type wheel) => { PerWheel<f64> };
    (@channels $list:ident scalar $name:literal $unit:literal $parity:ident) => {
        $list.extend([
            Channel { name: $name, unit: $unit, parity: Parity::$parity },
        ]);
    };
    (@channels $list:ident side $name:literal $unit:literal $parity:ident) => {
        $list.extend([
            Channel { name: concat!($name, "_left"), unit: $unit, parity: Parity::$parity },
            Channel { name: concat!($name, "_right"), unit: $unit, parity: Parity::$parity },
        ]);
    };
    (@channels $list:ident wheel $name:literal $unit:literal $parity:ident) => {
        $list.extend([
            Channel { name: concat!($name, "_front_left"), unit: $unit, parity: Parity::$parity },
            Channel { name: concat!($name, "_front_right"), unit: $unit, parity: Parity::$parity },
            Channel { name: concat!($name, "_rear_left"), unit: $unit, parity: Parity::$parity },
            Channel { name: concat!($name, "_rear_right"), unit: $unit, parity: Parity::$parity },
        ]);
    };
    (@row $row:ident scalar $value:expr) => { $row.push($value as f32); };
    (@row $row:ident side $value:expr) => { $row.extend([$value.left as f32, $value.right as f32]); };
    (@row $row:ident wheel $value:expr) => {
        $row.extend([
            $value.front_left as f32,
            $value.front_right as f32,
            $value.rear_left as f32,
            $value.rear_right as f32,
        ]);
    };
}

observed! {
    /// Place of the centre of gravity along the world's x axis, m.
    scalar x_m = "position_x" ["m"] Even,
    /// Place of the centre of gravity along the world's y axis, m.
    scalar y_m = "position_y" ["m"] Odd,
    /// Heading, rad, positive to the left, not wrapped.
    scalar heading_rad = "heading" ["rad"] Odd,
    /// Speed along the body's x axis, m/s.
    scalar speed_m_s = "speed" ["m/s"] Even,
    /// Speed along the body's y axis, m/s.
    scalar lateral_speed_m_s = "lateral_speed" ["m/s"] Odd,
    /// Sideslip angle at the centre of gravity, rad: angle of the velocity in the body's axes; 0 below 0.1 m/s.
    scalar sideslip_rad = "sideslip" ["rad"] Odd,
    /// Yaw rate, rad/s.
    scalar yaw_rate_rad_s = "yaw_rate" ["rad/s"] Odd,
    /// Specific force along the body's x axis as a sensor at the centre of gravity reads it (a slope shows), m/s2.
    scalar longitudinal_acceleration_m_s2 = "longitudinal_acceleration" ["m/s2"] Even,
    /// Specific force along the body's y axis as a sensor at the centre of gravity reads it, m/s2.
    scalar lateral_acceleration_m_s2 = "lateral_acceleration" ["m/s2"] Odd,
    /// Steering-wheel angle, rad.
    scalar steering_wheel_rad = "steering_wheel_angle" ["rad"] Odd,
    /// Angle of both front wheels, rad.
    scalar road_wheel_rad = "road_wheel_angle" ["rad"] Odd,
    /// Torque the powertrain delivers at the carrier, after lag and limits, before the rear take-off, N m.
    scalar carrier_torque_nm = "plant_carrier_torque" ["N m"] Even,
    /// Wheel speeds, rad/s, positive rolling forward.
    wheel wheel_speed_rad_s = "wheel_speed" ["rad/s"] Swap,
    /// Wheel loads, N, 0 or more.
    wheel wheel_load_n = "plant_wheel_load" ["N"] Swap,
    /// Tyre forces along the wheel plane, N, positive pushing the car forward.
    wheel tyre_force_longitudinal_n = "plant_tyre_force_longitudinal" ["N"] Swap,
    /// Tyre forces across the wheel plane, N, positive to the left.
    wheel tyre_force_lateral_n = "plant_tyre_force_lateral" ["N"] SwapOdd,
    /// Longitudinal slip (ISO 8855: over the speed of the wheel centre, positive driving), bounded to -1..99.
    wheel longitudinal_slip = "plant_longitudinal_slip" ["-"] Swap,
    /// Slip angle (ISO 8855: negative where the tyre force is positive), rad, as the tyre's relaxation has it.
    wheel slip_angle_rad = "plant_slip_angle" ["rad"] SwapOdd,
    /// Speed of the rear shaft at wheel level, overspeed included, rad/s.
    scalar shaft_speed_rad_s = "plant_shaft_speed" ["rad/s"] Even,
    /// Slip of each clutch, shaft minus wheel, rad/s; with a single coupling both sides show its slip.
    side clutch_slip_rad_s = "plant_clutch_slip" ["rad/s"] Swap,
    /// Torque on each rear wheel from the shaft, N m, positive driving.
    side clutch_torque_nm = "plant_clutch_torque" ["N m"] Swap,
    /// True capacity per rear wheel, N m, 0 or more; with a single coupling half of its capacity.
    side clutch_capacity_nm = "plant_clutch_capacity" ["N m"] Swap,
    /// Power dissipated per clutch, W, 0 or more; with a single coupling half of its power.
    side clutch_heat_w = "plant_clutch_heat" ["W"] Swap,
    /// Pressure at each piston, Pa.
    side clutch_pressure_pa = "plant_clutch_pressure" ["Pa"] Swap,
    /// Temperature of the rubbing surfaces, degC.
    side clutch_surface_degc = "plant_clutch_surface" ["degC"] Swap,
    /// Temperature of the cores, degC.
    side clutch_core_degc = "plant_clutch_core" ["degC"] Swap,
    /// Temperature of the oil, degC.
    scalar oil_degc = "plant_oil" ["degC"] Even,
    /// Temperature of the housing, degC.
    scalar housing_degc = "plant_housing" ["degC"] Even,
    /// Heat passed from the rubbing surfaces to the cores since the start, J.
    scalar heat_to_core_j = "plant_heat_to_core" ["J"] Even,
    /// Heat passed from both clutches to the oil since the start, J.
    scalar heat_to_oil_j = "plant_heat_to_oil" ["J"] Even,
    /// Heat passed from the oil to the housing since the start, J.
    scalar heat_to_housing_j = "plant_heat_to_housing" ["J"] Even,
    /// Heat passed from the housing to the air since the start, J.
    scalar heat_to_air_j = "plant_heat_to_air" ["J"] Even,
    /// Heat stored in both clutches above 0 degC, J.
    scalar heat_in_clutches_j = "plant_heat_in_clutches" ["J"] Even,
    /// Heat stored in the oil above 0 degC, J.
    scalar heat_in_oil_j = "plant_heat_in_oil" ["J"] Even,
    /// Heat stored in the housing above 0 degC, J.
    scalar heat_in_housing_j = "plant_heat_in_housing" ["J"] Even,
    /// Yaw moment on the body from the longitudinal forces of the rear tyres, N m, positive to the left.
    scalar yaw_moment_axle_nm = "plant_yaw_moment_axle" ["N m"] Odd,
    /// Power of the powertrain at the carrier, W, positive driving.
    scalar engine_power_w = "plant_engine_power" ["W"] Even,
    /// Power lost in the tyres' slip, W; can be briefly negative while carcass deflection gives energy back.
    scalar tyre_loss_w = "plant_tyre_loss" ["W"] Even,
    /// Power lost in the clutches, W, 0 or more.
    scalar clutch_loss_w = "plant_clutch_loss" ["W"] Even,
    /// Power lost to the air, W.
    scalar aero_loss_w = "plant_aero_loss" ["W"] Even,
    /// Power lost to rolling resistance, W.
    scalar rolling_loss_w = "plant_rolling_loss" ["W"] Even,
    /// Power lost in the brakes, W.
    scalar brake_loss_w = "plant_brake_loss" ["W"] Even,
    /// Power lost in the drag of the rear take-off and in a limited-slip front differential, W.
    scalar driveline_loss_w = "plant_driveline_loss" ["W"] Even,
    /// Power given to the height of the car, W, positive uphill.
    scalar grade_power_w = "plant_grade_power" ["W"] Even,
    /// Heading of the trailer minus that of the car, rad, positive to the left; 0 without one.
    scalar articulation_rad = "articulation" ["rad"] Odd,
    /// Load of the trailer on the hitch, N, positive pressing down; 0 without one.
    scalar hitch_load_n = "plant_hitch_load" ["N"] Even,
    /// Roll angle, rad, positive with the right side down; 0 where roll is no motion.
    scalar roll_rad = "roll" ["rad"] Odd,
    /// Pitch angle, rad, positive with the nose down; 0 where pitch is no motion.
    scalar pitch_rad = "pitch" ["rad"] Even,
    /// Gear: 1 and up forward, -1 reverse; 0 while it changes and with the continuous ratio.
    scalar gear = "gear" ["-"] Even,
    /// Kinetic energy of body, wheels, powertrain and trailer, and the energy of roll and pitch where they are on, J.
    scalar kinetic_energy_j = "plant_kinetic_energy" ["J"] Even,
}
