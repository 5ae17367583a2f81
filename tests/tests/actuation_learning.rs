//! Learning of touch point and valve: it converges on the plant, stays within its bounds whatever comes in, and freezes.
//!
//! The plant's valve and spring are off by known amounts; the law is told nothing of them. Torques are compared with the
//! plant's own capacity, which the law never sees.

use core::cell::Cell;
use couplet_controller::calibration::Learning;
use couplet_controller::stage::actuation::State as Learned;
use couplet_controller::stage::arbiter::{Allocate, Question};
use couplet_controller::{Controller, Inputs, PerSide, Period, RawPage, Reading};
use couplet_sim::plant::sensors::{SensorErrors, Sensors};
use couplet_sim::plant::{AxleLayout, Command, Plant, Road, Start, Vehicle};
use couplet_sim::run::axle_control::{Told, inputs};
use proptest::prelude::*;

const PERIOD_S: f64 = 0.005;

/// A law that gives what a test wants.
#[derive(Debug, Clone, Copy)]
struct Given<'a>(&'a Cell<PerSide<f32>>);

impl Allocate<f32> for Given<'_> {
    fn allocate(&self, _: &Question<f32>) -> PerSide<f32> {
        self.0.get()
    }
}

/// A car at 22 m/s on a level road with its controller and sensors, and who gives the torques.
struct Bench<'a> {
    plant: Plant,
    sensors: Sensors,
    controller: Controller<f32, Given<'a>>,
    wanted: &'a Cell<PerSide<f32>>,
    /// Largest learned step seen in one control step: touch point, offset, gain.
    steps: [f32; 3],
}

impl<'a> Bench<'a> {
    fn new(vehicle: Vehicle, sensors: f64, axle_degc: f64, wanted: &'a Cell<PerSide<f32>>) -> Self {
        let start = Start {
            speed_m_s: 22.0,
            clutch_temperature_degc: axle_degc,
            oil_temperature_degc: axle_degc,
            ..Start::default()
        };
        // Noise, steps and delay of the demo's sensors.
        let errors = SensorErrors {
            yaw_rate_noise_rad_s: 0.003,
            acceleration_noise_m_s2: 0.1,
            wheel_speed_noise_rad_s: 0.05,
            yaw_rate_step_rad_s: 0.0005,
            wheel_speed_step_rad_s: 0.02,
            delay_steps: 1.0,
            pressure_sensors: sensors,
            pressure_noise_pa: 8_000.0,
            pressure_step_pa: 5_000.0,
            ..SensorErrors::default()
        };
        let page = RawPage::default();
        let mut controller = Controller::with_law(&page, Period::default(), Given(wanted))
            .expect("the default page");
        controller.set_temperature(axle_degc as f32);
        Self {
            plant: Plant::new(
                vehicle,
                AxleLayout::PairedClutches,
                Road::level(0.95),
                start,
            ),
            sensors: Sensors::new(errors, 7, false),
            controller,
            wanted,
            steps: [0.0; 3],
        }
    }

    fn step(&mut self) -> PerSide<f32> {
        let truth = self.plant.observe();
        // Holds speed and heading.
        let request_nm = 350.0 + 900.0 * (22.0 - truth.speed_m_s);
        let steering_rad = -15.0 * (0.6 * truth.heading_rad + 0.15 * truth.yaw_rate_rad_s);
        let measured = self.sensors.measure(&truth, steering_rad);
        let told = Told {
            pedal: 0.2,
            brake: 0.0,
            carrier_torque_nm: truth.carrier_torque_nm,
            carrier_torque_wanted_nm: request_nm,
            reverse: false,
            ambient_degc: 20.0,
            open_now: false,
            anti_lock_active: false,
            stability_active: false,
            period_s: PERIOD_S,
        };
        let before = self.controller.state().actuation;
        let out = self.controller.step(&inputs(&measured, &told));
        let after = self.controller.state().actuation;
        let moved = |a: PerSide<f32>, b: PerSide<f32>| {
            (a.left - b.left).abs().max((a.right - b.right).abs())
        };
        let steps = [
            moved(after.touch_point_bar, before.touch_point_bar),
            moved(after.valve_offset_bar, before.valve_offset_bar),
            moved(after.valve_gain_share, before.valve_gain_share),
        ];
        self.steps = core::array::from_fn(|place| self.steps[place].max(steps[place]));
        let command = Command {
            steering_wheel_rad: steering_rad,
            carrier_torque_request_nm: request_nm,
            clutch_current_a: couplet_sim::plant::PerSide {
                left: f64::from(out.current_a.left),
                right: f64::from(out.current_a.right),
            },
            ..Command::default()
        };
        for _ in 0..5 {
            self.plant.step(&command);
        }
        out.capacity_nm
    }

    /// Opens for a second, closes gently to `level_nm`, holds for a second; relative error of the capacities at the end.
    fn engage(&mut self, level_nm: PerSide<f32>) -> PerSide<f64> {
        let mut granted = PerSide::both(0.0);
        for step in 0..500 {
            let share = ((step as f32 - 200.0) / 80.0).clamp(0.0, 1.0);
            self.wanted.set(level_nm.map(|level| level * share));
            granted = self.step();
        }
        let given = self.plant.observe().clutch_capacity_nm;
        let error = |given: f64, granted: f32| given / f64::from(granted) - 1.0;
        PerSide {
            left: error(given.left, granted.left),
            right: error(given.right, granted.right),
        }
    }

    fn learned(&self) -> Learned<f32> {
        self.controller.state().actuation
    }
}

/// Largest size of an error over the levels used, both sides.
fn worst(bench: &mut Bench<'_>) -> f64 {
    [120.0, 240.0, 360.0]
        .map(|level| bench.engage(PerSide::both(level)))
        .iter()
        .fold(0.0, |most: f64, error| {
            most.max(error.left.abs()).max(error.right.abs())
        })
}

#[test]
fn a_valve_off_by_fifteen_percent_and_half_a_bar_is_learned_within_thirty_engagements() {
    let mut vehicle = Vehicle::default();
    let wanted = Cell::new(PerSide::both(0.0));
    let own = worst(&mut Bench::new(vehicle, 1.0, 60.0, &wanted));
    vehicle.actuator.left_gain_scale = 0.85;
    vehicle.actuator.right_gain_scale = 1.15;
    // 0.015 A, about half a bar late.
    vehicle.actuator.offset_a += 0.015;
    let mut bench = Bench::new(vehicle, 1.0, 60.0, &wanted);
    let before = worst(&mut bench);
    for engagement in 0..30 {
        let level = [120.0, 400.0, 240.0][engagement % 3];
        bench.engage(PerSide::both(level));
    }
    let after = worst(&mut bench);
    println!(
        "worst torque error: {:.1} % with the calibration's own valve, {:.1} % before, {:.1} % after; learned {:?}",
        100.0 * own,
        100.0 * before,
        100.0 * after,
        bench.learned()
    );
    assert!(before > 0.15, "{before}");
    // What stays is what friction is believed wrong by, as with the calibration's own valve, and 2 %.
    assert!(after < own + 0.02, "{after} against {own}");
    let learned = bench.learned();
    // Against the calibration's 34.2 bar/A: 34 * 0.85 and 34 * 1.15. Offset and gain share what is wrong at the pressures used, up to
    // 10 bar, so the gain alone comes only to within 6 %.
    assert!(
        (learned.valve_gain_share.left - (34.0 * 0.85 / 34.2 - 1.0)).abs() < 0.06,
        "{learned:?}"
    );
    assert!(
        (learned.valve_gain_share.right - (34.0 * 1.15 / 34.2 - 1.0)).abs() < 0.06,
        "{learned:?}"
    );
    // No step beyond the catalogue's.
    let steps = Learning::<f32>::nominal();
    assert!(
        bench.steps[1] <= steps.valve_offset_step_bar * 1.001
            && bench.steps[2] <= steps.valve_gain_step * 1.001
    );
}

/// Touch point that the plant's spring and valve make, beyond the calibration's, bar.
fn true_touch_bar(vehicle: &Vehicle) -> f64 {
    let own = &vehicle.actuator;
    let spring_bar = vehicle.clutch.return_spring_n / vehicle.clutch.piston_area_m2 / 1.0e5;
    let start_a = own.offset_a + spring_bar * 1.0e5 / own.gain_pa_a;
    // Calibration: 0.152 A, 34.2 bar/A, 400 N over 0.005 m2.
    (start_a - 0.152) * 34.2 - 0.8
}

#[test]
fn without_a_pressure_sensor_the_touch_point_is_learned_from_the_wheels_within_twenty_engagements_a_side()
 {
    let wanted = Cell::new(PerSide::both(0.0));
    for (spring_n, offset_a) in [(650.0, 0.155), (250.0, 0.145)] {
        let mut vehicle = Vehicle::default();
        vehicle.clutch.return_spring_n = spring_n;
        vehicle.actuator.offset_a = offset_a;
        let truth_bar = true_touch_bar(&vehicle) as f32;
        let mut bench = Bench::new(vehicle, 0.0, 60.0, &wanted);
        let one = |left: bool, level: f32| {
            if left {
                PerSide {
                    left: level,
                    right: 0.0,
                }
            } else {
                PerSide {
                    left: 0.0,
                    right: level,
                }
            }
        };
        let before = bench.engage(one(true, 60.0)).left;
        for engagement in 0..40 {
            let level = [60.0, 100.0, 180.0, 80.0][(engagement / 2) % 4];
            bench.engage(one(engagement % 2 == 0, level));
        }
        let after = bench.engage(one(true, 60.0)).left;
        let learned = bench.learned();
        println!(
            "touch point {truth_bar:.2} bar off: learned {:.2} and {:.2}; torque error at 60 Nm {:.0} % before, {:.0} % after; {:?}",
            learned.touch_point_bar.left,
            learned.touch_point_bar.right,
            100.0 * before,
            100.0 * after,
            bench.controller.state().learning
        );
        // 0.25 bar are 10 Nm.
        assert!(
            (learned.touch_point_bar.left - truth_bar).abs() < 0.25,
            "{learned:?}"
        );
        assert!(
            (learned.touch_point_bar.right - truth_bar).abs() < 0.25,
            "{learned:?}"
        );
        assert!(
            before.abs() > 0.15 && after.abs() < 0.5 * before.abs(),
            "{before} {after}"
        );
        assert!(bench.steps[0] <= Learning::<f32>::nominal().touch_step_bar * 1.001);
        // Nothing tells the valve's gain.
        assert_eq!(learned.valve_gain_share, PerSide::both(0.0));
    }
}

#[test]
fn nothing_is_learned_in_cold_oil_and_the_car_as_calibrated_learns_next_to_nothing() {
    let wanted = Cell::new(PerSide::both(0.0));
    let mut vehicle = Vehicle::default();
    vehicle.actuator.left_gain_scale = 0.85;
    let mut cold = Bench::new(vehicle, 1.0, 10.0, &wanted);
    let mut own = Bench::new(Vehicle::default(), 1.0, 60.0, &wanted);
    for engagement in 0..9 {
        let level = [120.0, 400.0, 240.0][engagement % 3];
        if engagement < 3 {
            cold.engage(PerSide::both(level));
        }
        own.engage(PerSide::both(level));
    }
    assert_eq!(cold.learned(), Learned::default());
    let learned = own.learned();
    println!("own: {learned:?}");
    // Truth: gain 0.6 % below the calibration's, offset 0.07 bar beside it.
    assert!(
        learned.valve_gain_share.left.abs() < 0.015 && learned.valve_offset_bar.left.abs() < 0.15,
        "{learned:?}"
    );
}

proptest! {
    #![proptest_config(couplet_tests::property(500))]

    #[test]
    fn what_was_learned_moves_pressure_and_current_within_bounds_and_never_a_capacity(
        bits in proptest::collection::vec(any::<u32>(), 6),
        level in 0.0_f32..2000.0,
    ) {
        let wanted = Cell::new(PerSide::both(level));
        let page = RawPage::default();
        let new = || Controller::with_law(&page, Period::default(), Given(&wanted)).expect("the default page");
        let (mut plain, mut wild) = (new(), new());
        let value = |place: usize| f32::from_bits(bits[place]);
        let pair = |place: usize| PerSide { left: value(place), right: value(place + 1) };
        let mut state = *wild.state();
        state.actuation = Learned { touch_point_bar: pair(0), valve_offset_bar: pair(2), valve_gain_share: pair(4) };
        wild.restore(state);
        for _ in 0..40 {
            let (plain, wild) = (plain.step(&driving()), wild.step(&driving()));
            prop_assert_eq!(plain.capacity_nm, wild.capacity_nm);
            for out in [wild.pressure_bar, wild.current_a] {
                prop_assert!(out.left.is_finite() && out.left >= 0.0 && out.right.is_finite() && out.right >= 0.0);
            }
            prop_assert!(wild.current_a.left <= 1.4 && wild.pressure_bar.left <= 36.0);
            // Touch point 1 bar.
            prop_assert!((wild.pressure_bar.left - plain.pressure_bar.left).abs() <= 1.0001);
        }
    }
}

fn driving() -> Inputs {
    let wheel = Reading::fresh(60.0);
    let zero = Reading::fresh(0.0);
    Inputs {
        wheel_speed_front_left: wheel,
        wheel_speed_front_right: wheel,
        wheel_speed_rear_left: wheel,
        wheel_speed_rear_right: wheel,
        yaw_rate: zero,
        lateral_acceleration: zero,
        longitudinal_acceleration: Reading::fresh(1.0),
        steering_wheel_angle: zero,
        accelerator_pedal: Reading::fresh(0.5),
        brake_pressure: zero,
        carrier_torque: Reading::fresh(1500.0),
        carrier_torque_wanted: Reading::fresh(1500.0),
        gear: Reading::fresh(3.0),
        ambient_temperature: Reading::fresh(20.0),
        rear_torque_cap: Reading::fresh(20_000.0),
        yaw_moment_cap: Reading::fresh(40_000.0),
        open_now: zero,
        anti_lock_active: zero,
        stability_active: zero,
        ..Inputs::default()
    }
}

#[test]
fn a_replaced_unit_starts_from_its_end_of_line_values_and_the_other_side_keeps_what_it_knows() {
    let wanted = Cell::new(PerSide::both(0.0));
    let page = RawPage::default();
    let mut controller = Controller::<f32, _>::with_law(&page, Period::default(), Given(&wanted))
        .expect("the default page");
    let known = Learned {
        touch_point_bar: PerSide {
            left: 0.25,
            right: -0.25,
        },
        valve_offset_bar: PerSide {
            left: 0.5,
            right: -0.5,
        },
        valve_gain_share: PerSide {
            left: 0.125,
            right: -0.125,
        },
    };
    let mut state = *controller.state();
    state.actuation = known;
    controller.restore(state);
    let both = PerSide::both(true);
    let left = PerSide {
        left: true,
        right: false,
    };
    controller.replace_unit(PerSide::both(false), Learned::default());
    assert_eq!(controller.state().actuation, known);
    // The new unit's own values, bounded where they are absurd.
    let end_of_line = Learned {
        touch_point_bar: PerSide::both(0.125),
        valve_offset_bar: PerSide::both(99.0),
        valve_gain_share: PerSide::both(f32::NAN),
    };
    controller.replace_unit(left, end_of_line);
    let now = controller.state().actuation;
    assert_eq!(
        now.touch_point_bar,
        PerSide {
            left: 0.125,
            right: -0.25
        }
    );
    assert_eq!(
        now.valve_offset_bar,
        PerSide {
            left: 1.5,
            right: -0.5
        }
    );
    assert_eq!(
        now.valve_gain_share,
        PerSide {
            left: 0.0,
            right: -0.125
        }
    );
    controller.replace_unit(both, Learned::default());
    assert_eq!(controller.state().actuation, Learned::default());
}
