//! Shafts that twist: shuffle, lash, judder, and what must not change.

use couplet_sim::metrics::oscillation::{self, strongest};
use couplet_sim::metrics::value;
use couplet_sim::plant::driveline::compliant::Torsion;
use couplet_sim::plant::driveline::{Driveline, DrivelineLoad};
use couplet_sim::plant::vehicle::Clutch;
use couplet_sim::plant::wet_clutch::axle_capacity_nm;
use couplet_sim::plant::{
    AxleLayout, Command, PerSide, PerWheel, Plant, Road, STEP_S, Start, Vehicle, channels,
};
use couplet_sim::record::Record;

/// Drives for a while and records every fifth step, as a run does.
fn recorded(car: &mut Plant, seconds: f64, command: impl Fn(f64) -> Command) -> Record {
    let mut record = Record::new(5.0 * STEP_S, channels());
    let mut row = Vec::new();
    for step in 0..(seconds / STEP_S) as u64 {
        if step % 5 == 0 {
            row.clear();
            car.observe().row(&mut row);
            record.push(&row);
        }
        car.step(&command(step as f64 * STEP_S));
    }
    record
}

fn tip_in(time_s: f64) -> Command {
    Command {
        carrier_torque_request_nm: if time_s < 0.5 { 200.0 } else { 700.0 },
        ..Command::default()
    }
}

fn soft_half_shafts() -> Vehicle {
    let mut vehicle = Vehicle::default();
    vehicle.driveline.half_shaft_stiffness_nm_rad = 12_000.0;
    vehicle.driveline.half_shaft_damping_nms_rad = 5.0;
    vehicle.powertrain.lag_s = 0.02;
    // Stiff tyres at low speed: their slip is a damper in series with the shafts.
    vehicle.tyre_front.family = 0.0;
    vehicle.tyre_front.slip_stiffness_per_load = 60.0;
    vehicle
}

#[test]
fn shuffle_has_the_frequency_of_two_inertias_on_a_spring() {
    // w = sqrt(k (1/J1 + 1/J2)) (any textbook on vibrations): powertrain against car and wheels.
    for stiffness in [6000.0, 12_000.0, 20_000.0] {
        let mut vehicle = soft_half_shafts();
        vehicle.driveline.half_shaft_stiffness_nm_rad = stiffness;
        let radius = vehicle.tyre_front.radius_m;
        let powertrain = vehicle.powertrain.inertia_kg_m2;
        let car = vehicle.body.mass_kg * radius * radius + 4.0 * vehicle.body.wheel_inertia_kg_m2;
        let expected =
            (stiffness * (1.0 / powertrain + 1.0 / car)).sqrt() / (2.0 * core::f64::consts::PI);
        let mut plant = Plant::new(
            vehicle,
            AxleLayout::FrontDrive,
            Road::level(1.0),
            Start {
                speed_m_s: 4.0,
                carrier_torque_nm: 200.0,
                ..Start::default()
            },
        );
        let record = recorded(&mut plant, 2.5, tip_in);
        let metrics = oscillation::tip_in(&record, 0.5);
        let frequency = value(&metrics, "shuffle frequency").expect("it shuffles");
        let amplitude = value(&metrics, "shuffle amplitude").expect("it shuffles");
        println!(
            "{stiffness} N m/rad: {frequency:.2} Hz, closed form {expected:.2} Hz, {amplitude:.2} m/s2"
        );
        // Measured 1 to 3 % low, more for stiffer shafts, as by the tread's own elasticity in series; the grid is 0.05 Hz wide.
        assert!(
            (frequency / expected - 1.0).abs() < 0.03,
            "{frequency} {expected}"
        );
        assert!(amplitude > 0.1);
    }
    // Rigid shafts do not shuffle.
    let mut rigid = soft_half_shafts();
    rigid.driveline.half_shaft_stiffness_nm_rad = 0.0;
    let start = Start {
        speed_m_s: 4.0,
        carrier_torque_nm: 200.0,
        ..Start::default()
    };
    let mut plant = Plant::new(rigid, AxleLayout::FrontDrive, Road::level(1.0), start);
    let record = recorded(&mut plant, 2.5, tip_in);
    let still = value(&oscillation::tip_in(&record, 0.5), "shuffle amplitude").expect("a number");
    assert!(still < 0.1, "{still}");
}

#[test]
fn stiff_shafts_drive_like_rigid_ones() {
    let mut stiff = Vehicle::default();
    stiff.driveline.half_shaft_stiffness_nm_rad = 1e6;
    stiff.driveline.half_shaft_damping_nms_rad = 500.0;
    stiff.driveline.propshaft_stiffness_nm_rad = 1e6;
    stiff.driveline.propshaft_damping_nms_rad = 500.0;
    stiff.driveline.propshaft_inertia_kg_m2 = 0.01;
    for layout in AxleLayout::ALL {
        let drive = |vehicle| {
            let start = Start {
                speed_m_s: 12.0,
                ..Start::default()
            };
            let mut car = Plant::new(vehicle, layout, Road::level(0.9), start);
            for step in 0..3000u32 {
                let time = f64::from(step) * STEP_S;
                car.step(&Command {
                    steering_wheel_rad: 1.2 * libm::sin(2.0 * time),
                    carrier_torque_request_nm: 1200.0,
                    brake_torque_nm: PerWheel::all(if time > 2.0 { 400.0 } else { 0.0 }),
                    clutch_current_a: PerSide {
                        left: 0.4,
                        right: 0.6,
                    },
                });
            }
            car.observe()
        };
        let (a, b) = (drive(stiff), drive(Vehicle::default()));
        // 1e6 N m/rad twists by a milliradian; 0.01 kg m2 are a thousandth of the driveline.
        assert!(
            (a.speed_m_s - b.speed_m_s).abs() < 0.01,
            "{layout:?} {} {}",
            a.speed_m_s,
            b.speed_m_s
        );
        assert!(
            (a.yaw_rate_rad_s - b.yaw_rate_rad_s).abs() < 0.005,
            "{layout:?}"
        );
    }
}

#[test]
fn lash_is_crossed_without_gain_of_energy() {
    for (half_lash, prop_lash, damping) in [
        (0.06, 0.0, 0.0),
        (0.0, 0.08, 0.0),
        (0.05, 0.07, 0.0),
        (0.05, 0.07, 4.0),
    ] {
        let mut vehicle = Vehicle::default();
        vehicle.driveline.half_shaft_stiffness_nm_rad = 12_000.0;
        vehicle.driveline.half_shaft_damping_nms_rad = damping;
        vehicle.driveline.half_shaft_lash_rad = half_lash;
        vehicle.driveline.propshaft_stiffness_nm_rad = 5_000.0;
        vehicle.driveline.propshaft_damping_nms_rad = damping;
        vehicle.driveline.propshaft_lash_rad = prop_lash;
        vehicle.driveline.drag_nm = 0.0;
        let driveline = Driveline::new(&vehicle, AxleLayout::PairedClutches);
        let nothing = DrivelineLoad {
            wheel_moment_nm: PerWheel::all(0.0),
            carrier_torque_nm: 0.0,
            brake_capacity_nm: PerWheel::all(0.0),
            clutch_capacity_nm: PerSide::both(0.0),
            clutch_torque_before_nm: PerSide::both(0.0),
            front_lock_before_nm: 0.0,
        };
        let mut wheels = PerWheel::all(20.0);
        let mut torsion = Torsion {
            carrier_rad_s: 26.0,
            shaft_rad_s: 15.0,
            half_twist_rad: 0.0,
            prop_twist_rad: 0.0,
        };
        let first = driveline.energy_j(wheels, &torsion);
        let mut last = first;
        let mut crossings = 0;
        let mut lost = 0.0;
        for _ in 0..5000u32 {
            let done = driveline.advance((wheels, &torsion), (wheels, &torsion), &nothing, STEP_S);
            let energy = driveline.energy_j(done.wheel_rad_s, &done.torsion);
            // Rounding of some 2000 J, and the last round's 1e-9 of the springs' torque.
            assert!(energy - last < 1e-7, "{energy} after {last}");
            assert!((energy - last + STEP_S * done.twist_loss_w).abs() < 1e-9 * first);
            crossings += u32::from(torsion.half_twist_rad * done.torsion.half_twist_rad < 0.0);
            lost += STEP_S * done.twist_loss_w;
            wheels = done.wheel_rad_s;
            torsion = done.torsion;
            last = energy;
        }
        println!(
            "lash {half_lash}, {prop_lash} rad: {crossings} crossings, {lost:.3e} J of {first:.0} J lost"
        );
        assert!(crossings > 10, "{crossings}");
        if damping == 0.0 {
            // Nothing else loses: the spring gives back all it took.
            assert!((last / first - 1.0).abs() < 1e-6, "{last} {first}");
        } else {
            assert!(last < first - 1.0);
        }
    }
}

const DAMPING_NMS_RAD: f64 = 0.4;
const INERTIA_KG_M2: f64 = 0.1;

/// Growth rate, 1/s, of the propshaft's vibration under slipping clutches whose friction has `share` of the slope at the
/// limit of stability.
fn growth_1_s(share: f64) -> f64 {
    let mut vehicle = Vehicle::default();
    vehicle.driveline.propshaft_stiffness_nm_rad = 2500.0;
    vehicle.driveline.propshaft_damping_nms_rad = DAMPING_NMS_RAD;
    vehicle.driveline.propshaft_inertia_kg_m2 = INERTIA_KG_M2;
    vehicle.driveline.overspeed = 0.06;
    vehicle.clutch.friction_fall_per_k = 0.0;
    vehicle.clutch.drag_nm = 0.0;
    // A friction curve that is nearly straight over the slips met: the linear condition knows one slope.
    vehicle.clutch.friction_slip_rad_s = 50.0;
    // A wheel that hardly moves, so that the shaft alone vibrates.
    vehicle.body.wheel_inertia_kg_m2 = 10.0;
    let current_a = 0.3;
    let pressure_pa = vehicle.actuator.gain_pa_a * (current_a - vehicle.actuator.offset_a);
    let speed_m_s = 12.0;
    // Textbook condition of friction-induced vibration: the shaft is damped by d + dT/dslip of both clutches.
    let wanted = -0.5 * share * vehicle.driveline.propshaft_damping_nms_rad;
    // Slip in steady driving, from the overspeed; the tyres' slips change it by some per cent, measured below.
    let mut slip = vehicle.driveline.overspeed * speed_m_s / vehicle.tyre_rear.radius_m;
    let mut record = None;
    for _ in 0..4 {
        let capacity = |slip: f64, dynamic: f64| {
            let mut clutch = vehicle.clutch;
            clutch.friction_dynamic = dynamic;
            axle_capacity_nm((&clutch, 1.0), pressure_pa, (slip, 80.0), 1.0, None)
        };
        let slope =
            |dynamic: f64| (capacity(slip + 1e-4, dynamic) - capacity(slip - 1e-4, dynamic)) / 2e-4;
        // The slope is linear in the friction at high slip.
        let (at, per) = (slope(0.1), slope(0.2) - slope(0.1));
        vehicle.clutch.friction_dynamic = 0.1 + 0.1 * (wanted - at) / per;
        let mut plant = Plant::new(
            vehicle,
            AxleLayout::PairedClutches,
            Road::level(1.0),
            Start {
                speed_m_s,
                carrier_torque_nm: 300.0,
                ..Start::default()
            },
        );
        // Closing clutches start the vibration; where it grows it ends in stick and slip after some 1.2 s.
        let seen = recorded(&mut plant, 1.6, |_| Command {
            carrier_torque_request_nm: 300.0,
            clutch_current_a: PerSide::both(current_a),
            ..Command::default()
        });
        let column = seen.column("plant_clutch_slip_left").expect("slip");
        slip = column[200..300]
            .iter()
            .map(|value| f64::from(*value))
            .sum::<f64>()
            / 100.0;
        record = Some(seen);
    }
    let record = record.expect("driven");
    let size = |from: f64| {
        strongest(
            &record,
            "plant_shaft_speed",
            (from, from + 0.35),
            (12.0, 40.0),
        )
        .expect("a number")
        .amplitude
    };
    libm::log(size(0.9) / size(0.3)) / 0.6
}

#[test]
fn judder_begins_where_friction_falls_faster_than_the_shaft_is_damped() {
    let mut last = f64::NEG_INFINITY;
    for share in [-1.0, 0.0, 0.7, 1.3] {
        // J s'' + (d + dT/dslip of both clutches) s' + k s = 0 (from memory): growth (share - 1) d / (2 J).
        let expected = (share - 1.0) * DAMPING_NMS_RAD / (2.0 * INERTIA_KG_M2);
        let grown = growth_1_s(share);
        println!(
            "{share} of the slope at the limit: growth {grown:.2} 1/s, linear {expected:.2} 1/s"
        );
        // Carrier and rear wheels take a small part and damp a little more.
        assert!(
            (grown - expected).abs() < 0.15,
            "{share}: {grown} {expected}"
        );
        assert!(grown * expected > 0.0 && grown > last);
        last = grown;
    }
}

#[test]
fn open_pack_drag_rises_to_its_peak_and_falls() {
    let mut clutch = Vehicle::default().clutch;
    let drag =
        |clutch: &Clutch, slip| axle_capacity_nm((clutch, 1.0), 0.0, (slip, 80.0), 1.0, None);
    assert_eq!(drag(&clutch, 3.0), clutch.drag_nm);
    clutch.drag_slip_rad_s = 20.0;
    assert_eq!(drag(&clutch, 0.0), 0.0);
    assert!((drag(&clutch, 20.0) - clutch.drag_nm).abs() < 1e-12);
    assert!(drag(&clutch, 10.0) < clutch.drag_nm && drag(&clutch, 60.0) < clutch.drag_nm);
}

#[test]
fn halving_the_step_moves_a_shuffling_car_little() {
    let mut vehicle = soft_half_shafts();
    vehicle.driveline.half_shaft_lash_rad = 0.05;
    let drive = |step_s: f64| {
        let start = Start {
            speed_m_s: 8.0,
            ..Start::default()
        };
        let mut car = Plant::with_step(
            vehicle,
            AxleLayout::PairedClutches,
            Road::level(0.9),
            start,
            step_s,
        );
        let mut trace = Vec::new();
        for sample in 0..300u32 {
            let command = Command {
                carrier_torque_request_nm: if sample % 100 < 50 { 600.0 } else { -400.0 },
                clutch_current_a: PerSide::both(0.35),
                ..Command::default()
            };
            for _ in 0..(0.01 / step_s).round() as u32 {
                car.step(&command);
            }
            let seen = car.observe();
            trace.push((seen.speed_m_s, seen.wheel_speed_rad_s.front_left));
        }
        trace
    };
    let coarse = drive(STEP_S);
    let fine = drive(0.5 * STEP_S);
    let worst = coarse
        .iter()
        .zip(&fine)
        .fold((0.0f64, 0.0f64), |worst, (a, b)| {
            (
                worst.0.max((a.0 - b.0).abs()),
                worst.1.max((a.1 - b.1).abs()),
            )
        });
    println!(
        "halving the step moves speed {:.1e} m/s, front wheel {:.1e} rad/s",
        worst.0, worst.1
    );
    // A wheel swings by some rad/s at 6 Hz: 2 % of that.
    assert!(worst.0 < 2e-3 && worst.1 < 0.05, "{worst:?}");
}

#[test]
fn springs_give_no_energy_with_clutches_and_brakes_at_work() {
    // The power balance books what the shafts lose as work minus stored energy, so it would close over a spring that makes
    // energy; here that loss itself must not be negative.
    let mut state = 1u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let (mut least, mut lost, mut crossings, mut work) = (0.0f64, 0.0, 0u32, 0.0);
    for case in 0..120u32 {
        let layout = if case % 3 == 0 {
            AxleLayout::SingleCoupling
        } else {
            AxleLayout::PairedClutches
        };
        let mut vehicle = Vehicle::default();
        let numbers = &mut vehicle.driveline;
        numbers.half_shaft_stiffness_nm_rad = if case % 4 == 1 {
            0.0
        } else {
            3e3 + 4e4 * next()
        };
        numbers.half_shaft_damping_nms_rad = if case % 2 == 0 { 0.0 } else { 30.0 * next() };
        numbers.half_shaft_lash_rad = 0.1 * next();
        numbers.propshaft_stiffness_nm_rad = if case % 4 == 2 {
            0.0
        } else {
            1e3 + 2e4 * next()
        };
        numbers.propshaft_damping_nms_rad = if case % 2 == 0 { 0.0 } else { 10.0 * next() };
        numbers.propshaft_lash_rad = 0.1 * next();
        numbers.propshaft_inertia_kg_m2 = 0.05 + next();
        let driveline = Driveline::new(&vehicle, layout);
        let mut wheels = PerWheel::all(30.0 * next());
        let mut torsion = driveline.settled(wheels, 0.0);
        let mut load = DrivelineLoad {
            wheel_moment_nm: PerWheel::all(0.0),
            carrier_torque_nm: 0.0,
            brake_capacity_nm: PerWheel::all(0.0),
            clutch_capacity_nm: PerSide::both(0.0),
            clutch_torque_before_nm: PerSide::both(0.0),
            front_lock_before_nm: 0.0,
        };
        for step in 0..2000u32 {
            if step % 100 == 0 {
                load.carrier_torque_nm = 1500.0 * (next() - 0.5);
                load.brake_capacity_nm =
                    PerWheel::all(if next() < 0.4 { 600.0 * next() } else { 0.0 });
                load.clutch_capacity_nm = PerSide {
                    left: (1500.0 * (next() - 0.3)).max(0.0),
                    right: (1500.0 * (next() - 0.3)).max(0.0),
                };
            }
            // Roads that pull every wheel towards 20 rad/s.
            load.wheel_moment_nm = wheels.map(|speed| 40.0 * (20.0 - speed));
            let done = driveline.advance((wheels, &torsion), (wheels, &torsion), &load, STEP_S);
            least = least.min(STEP_S * done.twist_loss_w);
            lost += STEP_S * done.twist_loss_w;
            work += STEP_S * (load.carrier_torque_nm * done.torsion.carrier_rad_s).abs();
            crossings += u32::from(torsion.half_twist_rad * done.torsion.half_twist_rad < 0.0);
            crossings += u32::from(torsion.prop_twist_rad * done.torsion.prop_twist_rad < 0.0);
            load.clutch_torque_before_nm = done.clutch_torque_nm;
            load.front_lock_before_nm = done.front_lock.torque_nm;
            wheels = done.wheel_rad_s;
            torsion = done.torsion;
        }
    }
    println!(
        "least loss of a step {least:.1e} J, {lost:.0} J lost of {work:.0} J driven, {crossings} lashes crossed"
    );
    assert!(crossings > 1000 && lost > 1.0);
    // Rounding of some 100 J in a spring, and the last round's 1e-9 of its slope.
    assert!(least > -1e-7, "{least}");
}

#[test]
fn numbers_of_a_rigid_shaft_change_no_bit() {
    let mut other = Vehicle::default();
    other.driveline.half_shaft_damping_nms_rad = 500.0;
    other.driveline.half_shaft_lash_rad = 0.3;
    other.driveline.propshaft_damping_nms_rad = 500.0;
    other.driveline.propshaft_lash_rad = 0.3;
    other.driveline.propshaft_inertia_kg_m2 = 5.0;
    for layout in AxleLayout::ALL {
        let start = Start {
            speed_m_s: 12.0,
            ..Start::default()
        };
        let mut cars = [Vehicle::default(), other]
            .map(|vehicle| Plant::new(vehicle, layout, Road::level(0.6), start));
        for step in 0..2000u32 {
            for car in &mut cars {
                car.step(&Command {
                    steering_wheel_rad: 1.2 * libm::sin(0.002 * f64::from(step)),
                    carrier_torque_request_nm: 1500.0,
                    clutch_current_a: PerSide {
                        left: 0.4,
                        right: 0.7,
                    },
                    ..Command::default()
                });
            }
            assert_eq!(cars[0].observe(), cars[1].observe(), "{layout:?} {step}");
        }
    }
}
