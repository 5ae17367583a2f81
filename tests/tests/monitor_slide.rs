//! The yaw rate check rests after an order to open where a slide is allowed, and nowhere else.

use couplet_controller::calibration::RawPage;
use couplet_controller::stage::Stage;
use couplet_controller::stage::monitor::{Fault, FaultSet, Monitor, MonitorIn, MonitorState};
use couplet_controller::{PerSide, PerWheel, Period, Sensed};

fn monitor(silent_steps: u16) -> Monitor<f32> {
    let page = RawPage::default()
        .accept::<f32>()
        .expect("the default page");
    let tunables = page.tunables();
    let (monitor, vehicle) = (tunables.monitor, &tunables.vehicle);
    Monitor {
        silent_steps,
        ..Monitor::new(monitor, vehicle, 0.0, 1.0, Period::default())
    }
}

/// A yaw rate of 1 rad/s that nothing else knows of, at 14 m/s.
fn turning_alone(open_now: f32) -> MonitorIn<f32> {
    MonitorIn {
        wheel_speed_rad_s: {
            let axle = PerSide::both(Sensed::Fresh(14.0 / 0.32));
            PerWheel::from_axles(axle, axle)
        },
        yaw_rate_rad_s: Sensed::Fresh(1.0),
        steering_wheel_rad: Sensed::Fresh(0.0),
        lateral_acceleration_m_s2: Sensed::Fresh(0.0),
        longitudinal_acceleration_m_s2: Sensed::Fresh(0.0),
        pedal: Sensed::Fresh(0.0),
        carrier_torque_nm: Sensed::Fresh(0.0),
        carrier_torque_wanted_nm: Sensed::Fresh(0.0),
        brake_bar: Sensed::Fresh(0.0),
        gear: Sensed::Fresh(3.0),
        open_now: Sensed::Fresh(open_now),
        speed_m_s: 14.0,
        sideslip_rad: 0.0,
        steering_ratio: 15.0,
        second_channel_open: false,
        clutch_faults: FaultSet::default(),
    }
}

/// Steps after a step with an order to open until the wrong yaw rate is named.
fn steps_until_named(monitor: &Monitor<f32>) -> usize {
    let mut state = MonitorState::default();
    monitor.step(&mut state, &turning_alone(1.0), 0.005);
    (1..1000)
        .find(|_| {
            let verdict = monitor.step(&mut state, &turning_alone(0.0), 0.005);
            verdict.faults.holds(Fault::YawRateImplausible)
        })
        .expect("named at last")
}

#[test]
fn an_order_to_open_delays_the_yaw_rate_check_only_where_a_slide_is_allowed_and_only_for_its_time()
{
    // The order's own step counts where the check does not rest.
    assert_eq!(steps_until_named(&monitor(0)), 11);
    assert_eq!(steps_until_named(&monitor(100)), 100 + 11);
}
