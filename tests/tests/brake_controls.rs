//! The car's own brake controls: which wheel is braked, which way it turns the car, and that it ends with its cause.
//!
//! Outside facts: a braked left wheel turns a car to its left (moment of a force about the vertical axis, mechanics); the
//! steady yaw rate of the linear single-track car is `v / (l + K v^2)` times the road-wheel angle (ISO 8855 vocabulary,
//! vehicle dynamics textbooks); torque of an open differential is the same on both sides.

use couplet_sim::plant::sensors::Measured;
use couplet_sim::plant::{AxleLayout, PerWheel, Plant, Road, Start, Vehicle};
use couplet_sim::run::brake_control::{BrakeAction, BrakeControl, BrakeView, Switches};

const PERIOD_S: f64 = 0.005;
const SPEED_M_S: f64 = 20.0;

fn understeer_rad_s2_m() -> f64 {
    let plant = Plant::new(
        Vehicle::default(),
        AxleLayout::FrontDrive,
        Road::level(0.95),
        Start::default(),
    );
    plant.single_track().understeer_rad_s2_m()
}

/// The controls with round numbers of traction, so that expected values can be worked out by hand.
fn control(switches: Switches) -> BrakeControl {
    let mut vehicle = Vehicle::default();
    let numbers = &mut vehicle.brake_vectoring;
    numbers.traction_gain_nm_s_m = 700.0;
    numbers.traction_start_m_s = 0.4;
    numbers.traction_start_share = 0.06;
    numbers.traction_maximum_torque_nm = 1800.0;
    numbers.traction_cut_start_m_s = 1.0;
    numbers.traction_cut_per_m = 0.8;
    BrakeControl::new(&vehicle, understeer_rad_s2_m(), switches)
}

/// A car that rolls straight ahead at a speed.
fn rolling(speed_m_s: f64) -> Measured {
    Measured {
        wheel_speed_rad_s: PerWheel::all(speed_m_s / Vehicle::default().tyre_front.radius_m),
        wheel_speeds_came: true,
        inertial_came: true,
        steering_came: true,
        ..Measured::default()
    }
}

/// A car that turns: road wheels as the steady turn of the linear car needs them, yaw rate `share` of that turn's.
fn turning(yaw_rad_s: f64, share: f64) -> Measured {
    let car = Vehicle::default();
    let length = car.body.wheelbase_m + understeer_rad_s2_m() * SPEED_M_S * SPEED_M_S;
    Measured {
        steering_wheel_rad: yaw_rad_s * length / SPEED_M_S * car.steering.ratio,
        yaw_rate_rad_s: share * yaw_rad_s,
        lateral_acceleration_m_s2: SPEED_M_S * yaw_rad_s,
        ..rolling(SPEED_M_S)
    }
}

fn view(request_nm: f64) -> BrakeView {
    BrakeView {
        driver_brake: 0.0,
        request_nm,
        reverse: false,
        period_s: PERIOD_S,
    }
}

/// Half a second: eight lags of the hydraulics.
fn settled(control: &mut BrakeControl, measured: &Measured, view: &BrakeView) -> BrakeAction {
    let mut action = BrakeAction::default();
    for _ in 0..100 {
        action = control.step(measured, view);
    }
    action
}

/// Left brake torque minus right: positive turns the car to the left.
fn to_the_left_nm(torque: PerWheel<f64>) -> f64 {
    (torque.front_left + torque.rear_left) - (torque.front_right + torque.rear_right)
}

fn mirrored(measured: &Measured) -> Measured {
    Measured {
        wheel_speed_rad_s: measured.wheel_speed_rad_s.mirrored(),
        yaw_rate_rad_s: -measured.yaw_rate_rad_s,
        lateral_acceleration_m_s2: -measured.lateral_acceleration_m_s2,
        steering_wheel_rad: -measured.steering_wheel_rad,
        ..*measured
    }
}

const STABILITY: Switches = Switches {
    anti_lock: false,
    traction: false,
    stability: true,
    vectoring: false,
};
const TRACTION: Switches = Switches {
    traction: true,
    stability: false,
    ..STABILITY
};
const VECTORING: Switches = Switches {
    vectoring: true,
    stability: false,
    ..STABILITY
};

#[test]
fn oversteer_brakes_the_outer_front_wheel_and_turns_the_car_back() {
    // 0.25 rad/s is 5 m/s2 at 20 m/s; the car turns 1.8 times as fast as asked.
    let action = settled(&mut control(STABILITY), &turning(0.25, 1.8), &view(0.0));
    assert!(action.stability_active);
    assert!(action.torque_nm.front_right > 500.0, "{action:?}");
    assert_eq!(action.torque_nm.front_left, 0.0);
    assert_eq!(action.torque_nm.rear_left, 0.0);
    assert_eq!(action.torque_nm.rear_right, 0.0);
    assert!(to_the_left_nm(action.torque_nm) < 0.0);
}

#[test]
fn understeer_brakes_the_inner_rear_wheel_and_turns_the_car_in() {
    let action = settled(&mut control(STABILITY), &turning(0.25, 0.3), &view(0.0));
    assert!(action.stability_active);
    assert!(action.torque_nm.rear_left > 200.0, "{action:?}");
    assert_eq!(action.torque_nm.front_left, 0.0);
    assert_eq!(action.torque_nm.front_right, 0.0);
    assert_eq!(action.torque_nm.rear_right, 0.0);
    assert!(to_the_left_nm(action.torque_nm) > 0.0);
}

#[test]
fn spinning_against_the_steering_brakes_against_the_spin() {
    // Counter-steering: wheels to the right, car still turning left.
    let mut measured = turning(-0.2, 1.0);
    measured.yaw_rate_rad_s = 0.5;
    measured.lateral_acceleration_m_s2 = 6.0;
    let action = settled(&mut control(STABILITY), &measured, &view(0.0));
    assert!(action.stability_active);
    assert!(to_the_left_nm(action.torque_nm) < -500.0, "{action:?}");
}

#[test]
fn a_car_that_turns_as_steered_is_left_alone() {
    for yaw in [0.0, 0.1, 0.25, -0.25] {
        let action = settled(&mut control(STABILITY), &turning(yaw, 1.0), &view(0.0));
        assert!(!action.stability_active);
        assert_eq!(action.torque_nm, PerWheel::all(0.0), "{yaw} rad/s");
    }
}

#[test]
fn a_spinning_front_wheel_is_braked_and_the_other_gets_its_torque() {
    let mut measured = rolling(3.0);
    measured.wheel_speed_rad_s.front_left *= 2.0;
    let action = settled(&mut control(TRACTION), &measured, &view(800.0));
    // Spin 3 m/s; beyond 0.4 m/s and 6 % of the speed it is braked with 700 Nm s/m: 1694 Nm, which the open
    // differential then passes to the other side. 1 %: hydraulic lag over half a second.
    let expected = 700.0 * (3.0 - 0.4 - 0.06 * 3.0);
    assert!((action.torque_nm.front_left / expected - 1.0).abs() < 0.01);
    assert_eq!(action.torque_nm.front_right, 0.0);
    assert_eq!(action.torque_nm.rear_left, 0.0);
    assert_eq!(action.torque_nm.rear_right, 0.0);
    assert_eq!(action.request_nm, 800.0);
}

#[test]
fn both_front_wheels_spinning_cut_the_powertrain_and_brake_neither() {
    let mut measured = rolling(3.0);
    measured.wheel_speed_rad_s.front_left *= 2.0;
    measured.wheel_speed_rad_s.front_right *= 2.0;
    let action = settled(&mut control(TRACTION), &measured, &view(2000.0));
    // Spin 3 m/s, cut from 1 m/s on at 0.8 per m: 0.8 of the torque after half a second.
    assert!(
        (action.request_nm / 2000.0 - 0.2).abs() < 0.02,
        "{action:?}"
    );
    assert_eq!(action.torque_nm, PerWheel::all(0.0));
}

#[test]
fn a_turn_is_no_spin() {
    let mut measured = rolling(8.0);
    // Radius 40 m, track 1.58 m: the outer wheel is 4 % faster than the inner one.
    measured.wheel_speed_rad_s.front_right *= 1.02;
    measured.wheel_speed_rad_s.front_left *= 0.98;
    let action = settled(&mut control(TRACTION), &measured, &view(800.0));
    assert_eq!(action.torque_nm, PerWheel::all(0.0));
    assert_eq!(action.request_nm, 800.0);
}

#[test]
fn vectoring_brakes_the_inner_front_wheel_for_a_missing_yaw_rate_and_only_under_power() {
    let missing = turning(0.25, 0.6);
    let action = settled(&mut control(VECTORING), &missing, &view(1500.0));
    assert!(action.torque_nm.front_left > 50.0, "{action:?}");
    assert!(to_the_left_nm(action.torque_nm) > 0.0);
    assert_eq!(action.torque_nm.front_right, 0.0);
    let coasting = settled(&mut control(VECTORING), &missing, &view(0.0));
    assert_eq!(coasting.torque_nm, PerWheel::all(0.0));
    let enough = settled(&mut control(VECTORING), &turning(0.25, 1.3), &view(1500.0));
    assert_eq!(enough.torque_nm, PerWheel::all(0.0));
}

#[test]
fn every_intervention_is_the_mirror_image_in_the_mirror() {
    let mut spinning = rolling(3.0);
    spinning.wheel_speed_rad_s.front_left *= 2.0;
    let mut counter_steered = turning(-0.2, 1.0);
    counter_steered.yaw_rate_rad_s = 0.5;
    let cases = [
        (STABILITY, turning(0.25, 1.8)),
        (STABILITY, turning(0.25, 0.3)),
        (STABILITY, counter_steered),
        (TRACTION, spinning),
        (VECTORING, turning(0.25, 0.6)),
    ];
    for (switches, measured) in cases {
        let one = settled(&mut control(switches), &measured, &view(1500.0));
        let other = settled(&mut control(switches), &mirrored(&measured), &view(1500.0));
        assert!(one.torque_nm.sum() > 0.0, "nothing to mirror: {switches:?}");
        assert_eq!(one.torque_nm.mirrored(), other.torque_nm);
        assert_eq!(one.request_nm, other.request_nm);
        assert_eq!(one.stability_active, other.stability_active);
    }
}

#[test]
fn a_control_that_is_switched_off_does_nothing() {
    let mut spinning = rolling(3.0);
    spinning.wheel_speed_rad_s.front_left *= 2.0;
    for measured in [turning(0.25, 1.8), turning(0.25, 0.3), spinning] {
        let action = settled(&mut control(Switches::default()), &measured, &view(1500.0));
        assert_eq!(action.torque_nm, PerWheel::all(0.0));
        assert_eq!(action.request_nm, 1500.0);
        assert!(!action.stability_active && !action.anti_lock_active);
    }
}

#[test]
fn an_intervention_ends_with_its_cause() {
    let mut spinning = rolling(3.0);
    spinning.wheel_speed_rad_s.front_left *= 2.0;
    let cases = [
        (STABILITY, turning(0.25, 1.8), turning(0.25, 1.0)),
        (STABILITY, turning(0.25, 0.3), turning(0.25, 1.0)),
        (TRACTION, spinning, rolling(3.0)),
        (VECTORING, turning(0.25, 0.6), turning(0.25, 1.0)),
    ];
    for (switches, cause, calm) in cases {
        let mut control = control(switches);
        let during = settled(&mut control, &cause, &view(1500.0));
        assert!(during.torque_nm.sum() > 0.0, "no cause: {switches:?}");
        let first = control.step(&calm, &view(1500.0));
        assert!(!first.stability_active);
        // A whole second: the largest intervention has then faded below the half newton metre that counts as none.
        settled(&mut control, &calm, &view(1500.0));
        let after = settled(&mut control, &calm, &view(1500.0));
        assert_eq!(after.torque_nm, PerWheel::all(0.0), "{switches:?}");
    }
}

#[test]
fn in_reverse_wheels_are_kept_from_locking_and_nothing_turns_the_car() {
    let everything = Switches {
        anti_lock: true,
        traction: true,
        stability: true,
        vectoring: true,
    };
    let backing = |view: BrakeView| BrakeView {
        reverse: true,
        ..view
    };
    // Oversteer by the forward rule; in reverse the yaw rate of a steering angle has the other sign.
    let turned = settled(
        &mut control(everything),
        &turning(0.25, 1.8),
        &backing(view(0.0)),
    );
    assert!(!turned.stability_active);
    assert_eq!(turned.torque_nm, PerWheel::all(0.0));
    // One wheel stands while the car goes backwards at 6 m/s, braked with half the pedal.
    let braked = BrakeView {
        driver_brake: 0.5,
        ..backing(view(0.0))
    };
    let mut measured = rolling(-6.0);
    let mut one = control(everything);
    one.step(&measured, &braked);
    measured.wheel_speed_rad_s.front_left = 0.0;
    let mut action = BrakeAction::default();
    for _ in 0..40 {
        action = one.step(&measured, &braked);
    }
    assert!(action.anti_lock_active);
    assert!(action.torque_nm.front_left < 200.0, "{action:?}");
}
