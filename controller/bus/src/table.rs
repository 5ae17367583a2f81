//! The table of frames: where every input, output, request, cap and health signal stands on the bus.
//!
//! One line per signal: name as in the tables of inputs and outputs (unit, range and meaning come from there), start bit and
//! length, byte order, step as a power of two, the number raw value zero means, rounding. Inputs outside their range go out
//! as errors, outputs as the end of their range. Identifiers, periods and steps are chosen for the demo, no source; steps are
//! finer than the sensors' own in the demo car. The longest period, 10 ms, is a third of the age up to which the law takes a value for fresh.

use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS};

use crate::bits::Order;
use crate::layout::{
    Beyond, FrameLayout, Node, Placed, Profile, Rounding, Source, input, output, placed,
};

macro_rules! frames {
    (@signal Car, $name:ident) => {{
        const AT: usize = input(stringify!($name));
        (Source::Input(&INPUT_SIGNALS[AT]), AT)
    }};
    (@signal Axle, $name:ident) => {{
        const AT: usize = output(stringify!($name));
        (Source::Output(&OUTPUT_SIGNALS[AT]), AT)
    }};
    (@beyond Car) => { Beyond::Error };
    (@beyond Axle) => { Beyond::End };
    (@nothing) => { false };
    (@nothing or_nothing) => { true };
    (
        $(#[$doc:meta])*
        $frames:ident by $by:ident:
        $( $frame:ident $id:literal $length:literal $profile:ident $data_id:literal $period_ms:literal $meaning:literal {
            $( $name:ident $start:literal | $bits:literal $order:ident $exponent:literal from $from:literal $rounding:ident $($nothing:ident)?; )*
        } )*
    ) => {
        $(#[$doc])*
        pub const $frames: &[FrameLayout] = &[ $( FrameLayout {
            name: stringify!($frame),
            id: $id,
            length: $length,
            period_ms: $period_ms,
            by: Node::$by,
            profile: Profile::$profile,
            data_id: $data_id,
            meaning: $meaning,
            signals: {
                const SIGNALS: &[Placed] = &[ $( placed(
                    frames!(@signal $by, $name),
                    ($start, $bits, Order::$order),
                    ($exponent, $from),
                    Rounding::$rounding,
                    frames!(@beyond $by),
                    frames!(@nothing $($nothing)?),
                ), )* ];
                SIGNALS
            },
        }, )* ];
    };
}

frames! {
    /// Frames the car sends: what the law is told.
    CAR_FRAMES by Car:
    front_wheels 0x110 8 P01 0x0110 5 "Speeds of the front wheels." {
        wheel_speed_front_left 12|16 Little -7 from -60 Nearest;
        wheel_speed_front_right 28|16 Little -7 from -60 Nearest;
    }
    rear_wheels 0x111 8 P01 0x0111 5 "Speeds of the rear wheels." {
        wheel_speed_rear_left 12|16 Little -7 from -60 Nearest;
        wheel_speed_rear_right 28|16 Little -7 from -60 Nearest;
    }
    motion 0x112 8 P01 0x0112 5 "Yaw rate and accelerations." {
        yaw_rate 12|16 Little -13 from -3 Nearest;
        lateral_acceleration 28|16 Little -10 from -25 Nearest;
        longitudinal_acceleration 44|16 Little -10 from -25 Nearest;
    }
    driver 0x120 8 P01 0x0120 5 "What the driver does with hands and feet." {
        steering_wheel_angle 23|16 Big -10 from -16 Nearest;
        accelerator_pedal 39|12 Big -11 from 0 Nearest;
        brake_pressure 43|12 Big -3 from 0 Nearest;
    }
    master 0x128 8 P01 0x0128 5 "Caps and orders of the master controller, and the brake controls at work." {
        rear_torque_cap 12|16 Little -1 from 0 Down;
        yaw_moment_cap 28|16 Little 0 from 0 Down;
        open_now 44|2 Little 0 from 0 Nearest;
        anti_lock_active 46|2 Little 0 from 0 Nearest;
        stability_active 48|2 Little 0 from 0 Nearest;
    }
    powertrain 0x130 8 P01 0x0130 10 "Powertrain and air." {
        carrier_torque 12|16 Little -2 from -3000 Nearest;
        carrier_torque_wanted 28|16 Little -2 from -3000 Nearest;
        gear 44|5 Little 0 from -1 Nearest;
        ambient_temperature 49|12 Little -4 from -60 Nearest;
    }
    clutch_pressures 0x138 8 P01 0x0138 5 "Pressures measured at the clutches; a car without the sensors sends them as not available." {
        clutch_pressure_left 12|14 Little -6 from -5 Nearest;
        clutch_pressure_right 26|14 Little -6 from -5 Nearest;
    }
}

frames! {
    /// Frames the axle sends: commands, what is expected of them, what can be had, requests, heat, health.
    AXLE_FRAMES by Axle:
    axle_command 0x210 16 P05 0x0210 5 "Commands of the clutches." {
        capacity_left 24|16 Little -4 from 0 Down;
        capacity_right 40|16 Little -4 from 0 Down;
        pressure_left 56|16 Little -9 from 0 Down;
        pressure_right 72|16 Little -9 from 0 Down;
        current_left 88|16 Little -12 from 0 Down;
        current_right 104|16 Little -12 from 0 Down;
    }
    axle_torque 0x211 32 P05 0x0211 5 "Torques expected, asked and given, and what made the difference." {
        torque_left 24|16 Little -3 from -3000 Nearest;
        torque_right 40|16 Little -3 from -3000 Nearest;
        torque_left_least 56|16 Little -2 from -6000 Down;
        torque_left_most 72|16 Little -2 from -6000 Up;
        torque_right_least 88|16 Little -2 from -6000 Down;
        torque_right_most 104|16 Little -2 from -6000 Up;
        asked_left 120|16 Little 2 from -100000 Nearest;
        asked_right 136|16 Little 2 from -100000 Nearest;
        given_left 152|16 Little -3 from -3000 Nearest;
        given_right 168|16 Little -3 from -3000 Nearest;
        limit_left 184|9 Little 0 from 0 Nearest;
        limit_right 193|9 Little 0 from 0 Nearest;
    }
    axle_ability 0x212 16 P05 0x0212 5 "What can be had now, and requests to the master controller." {
        rear_torque_least 24|16 Little -2 from -6000 Up;
        rear_torque_most 40|16 Little -2 from -6000 Down;
        yaw_moment_least 56|16 Little 1 from -40000 Up;
        yaw_moment_most 72|16 Little 1 from -40000 Down;
        front_spin_request 88|16 Little -9 from 0 Up;
        torque_limit_request 104|16 Little -1 from 0 Down or_nothing;
    }
    axle_health 0x213 12 P05 0x0213 10 "Health and what it leaves, faults, situation and phase of driving." {
        health 24|3 Little 0 from 0 Nearest;
        faults_low 27|17 Little 0 from 0 Nearest;
        faults_high 44|17 Little 0 from 0 Nearest;
        phase 61|4 Little 0 from 0 Nearest;
        health_share 65|9 Little -7 from 0 Down;
        may_differ 74|2 Little 0 from 0 Nearest;
        situation 76|3 Little 0 from 0 Nearest;
    }
    axle_heat 0x214 48 P05 0x0214 50 "Temperatures, shares left by heat, life used." {
        surface_left 24|16 Little -4 from -274 Nearest;
        surface_right 40|16 Little -4 from -274 Nearest;
        core_left 56|16 Little -4 from -274 Nearest;
        core_right 72|16 Little -4 from -274 Nearest;
        oil 88|16 Little -4 from -274 Nearest;
        heat_ceiling_left 104|12 Little -11 from 0 Down;
        heat_ceiling_right 116|12 Little -11 from 0 Down;
        time_to_limit_left 128|16 Little -2 from 0 Down;
        time_to_limit_right 144|16 Little -2 from 0 Down;
        heat_limit_left 160|9 Little 0 from 0 Nearest;
        heat_limit_right 169|9 Little 0 from 0 Nearest;
        clutch_life_used_left 178|24 Little -14 from 0 Up;
        clutch_life_used_right 202|24 Little -14 from 0 Up;
        oil_life_used 226|24 Little -14 from 0 Up;
        advice 250|3 Little 0 from 0 Nearest;
    }
}

/// The frame of an identifier, whoever sends it.
pub fn frame_of(id: u16) -> Option<&'static FrameLayout> {
    let all = CAR_FRAMES.iter().chain(AXLE_FRAMES);
    all.into_iter().find(|frame| frame.id == id)
}
