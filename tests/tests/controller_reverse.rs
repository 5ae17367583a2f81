//! Reverse gear: wheel speeds without sign, torque backwards, no yaw moment asked for.

use couplet_controller::signal::Inputs;
use couplet_controller::{Controller, Period, RawPage, Reading};

/// The car reverses straight or in a turn, its front wheels `spin_m_s` faster than it; sensors know no sign.
fn reversing(speed_m_s: f32, spin_m_s: f32, yaw_rate_rad_s: f32) -> Inputs {
    let fresh = Reading::fresh;
    let radius_m = RawPage::default().tunables.vehicle.wheel_radius_m;
    let front = fresh((speed_m_s + spin_m_s) / radius_m);
    let rear = fresh(speed_m_s / radius_m);
    Inputs {
        wheel_speed_front_left: front,
        wheel_speed_front_right: front,
        wheel_speed_rear_left: rear,
        wheel_speed_rear_right: rear,
        yaw_rate: fresh(yaw_rate_rad_s),
        lateral_acceleration: fresh(-speed_m_s * yaw_rate_rad_s),
        longitudinal_acceleration: fresh(-1.0),
        steering_wheel_angle: fresh(0.5),
        accelerator_pedal: fresh(0.6),
        brake_pressure: fresh(0.0),
        carrier_torque: fresh(-1200.0),
        carrier_torque_wanted: fresh(-1500.0),
        gear: fresh(-1.0),
        ambient_temperature: fresh(20.0),
        rear_torque_cap: fresh(20_000.0),
        yaw_moment_cap: fresh(40_000.0),
        open_now: fresh(0.0),
        anti_lock_active: fresh(0.0),
        stability_active: fresh(0.0),
        // A car without the sensors.
        clutch_pressure_left: Reading::missing(),
        clutch_pressure_right: Reading::missing(),
    }
}

fn settled(inputs: &Inputs) -> Controller<f32> {
    let mut controller =
        Controller::new(&RawPage::default(), Period::default()).expect("the default page");
    for _ in 0..400 {
        controller.step(inputs);
    }
    controller
}

#[test]
fn wheel_speeds_without_sign_give_a_speed_backwards() {
    let controller = settled(&reversing(3.0, 0.1, 0.0));
    let speed = controller.trace().motion.speed_m_s;
    // The slowest wheel, less what the slip correction takes: a tenth of a metre per second.
    assert!((speed + 3.0).abs() < 0.1, "{speed} m/s");
}

#[test]
fn a_launch_in_reverse_drives_the_rear_wheels_backwards() {
    let controller = settled(&reversing(1.0, 0.6, 0.0));
    let torque = controller.trace().torque_nm;
    assert!(torque.left < -300.0 && torque.right < -300.0, "{torque:?}");
}

#[test]
fn no_yaw_moment_is_asked_for_in_reverse() {
    let controller = settled(&reversing(8.0, 0.2, 0.3));
    assert_eq!(controller.trace().yaw.moment_nm, 0.0);
}
