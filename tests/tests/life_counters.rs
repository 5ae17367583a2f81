//! Counters of use in the thermal stage and the controller: exact sums, no wrap, kept over key-off, renewed.

use couplet_controller::quantity::{PerSide, Sensed, Tick};
use couplet_controller::signal::Advice;
use couplet_controller::snapshot::Snapshot;
use couplet_controller::stage::Stage;
use couplet_controller::stage::thermal::ledger::{Ledger, Moves};
use couplet_controller::stage::thermal::network::{Temperatures, UJ_PER_J};
use couplet_controller::stage::thermal::usage::{self, ClutchUse, Counters, Parameters, Part};
use couplet_controller::stage::thermal::{In, State, Thermal, ThermalTunables};
use couplet_controller::{Controller, Period, RawPage};
use num_bigint::BigUint;

const PERIOD_S: f32 = 0.005;

fn thermal() -> Thermal<f32> {
    Thermal::new(ThermalTunables::nominal())
}

fn used(granted_nm: (f32, f32), slip_rad_s: (f32, f32)) -> In<f32> {
    In {
        granted_nm: PerSide {
            left: granted_nm.0,
            right: granted_nm.1,
        },
        slip_rad_s: PerSide {
            left: Sensed::Fresh(slip_rad_s.0),
            right: Sensed::Fresh(slip_rad_s.1),
        },
        speed_m_s: 20.0,
        ambient_degc: 20.0,
    }
}

fn drive(stage: &Thermal<f32>, state: &mut State<f32>, input: &In<f32>, seconds: f32) {
    for _ in 0..(seconds / PERIOD_S).round() as u32 {
        stage.step(state, input, PERIOD_S);
    }
}

#[test]
fn classes_of_power_and_slip_add_up_to_the_heat_to_the_last_microjoule() {
    let stage = thermal();
    let mut state = State::at(&stage.tunables.network, 40.0);
    let (mut left, mut right) = (BigUint::ZERO, BigUint::ZERO);
    // Odd torques and slips, so that no step is a round number of microjoules.
    for part in 0..40_u16 {
        let odd = f32::from(part * 7 % 11);
        let input = used(
            (37.3 * odd, 400.0 - 31.7 * odd),
            (0.37 * odd, 0.2 + 0.31 * odd),
        );
        for _ in 0..331 {
            let before = state.estimate.taken_in_uj();
            let out = stage.step(&mut state, &input, PERIOD_S);
            // What the stage says it made, rounded once, is what the ledger took in.
            let made = out.heat_w.map(|heat| {
                let uj = f64::from(heat * (PERIOD_S * 1.0e6)).round_ties_even();
                uj as i64
            });
            let came = state
                .estimate
                .taken_in_uj()
                .zip(before, |now, then| now - then);
            assert!((came.left - made.left).abs() <= 1 + made.left / 1_000_000);
            left += BigUint::from(came.left.unsigned_abs());
            right += BigUint::from(came.right.unsigned_abs());
        }
    }
    let ledger = state.estimate.taken_in_uj();
    let sides = [
        (&state.usage.counters.clutch.left, &left, ledger.left),
        (&state.usage.counters.clutch.right, &right, ledger.right),
    ];
    for (clutch, reference, ledger_uj) in sides {
        let sum = |classes: &[u64]| classes.iter().map(|uj| BigUint::from(*uj)).sum::<BigUint>();
        let waiting = BigUint::from((ledger_uj - clutch.counted_uj).unsigned_abs());
        assert_eq!(&(sum(&clutch.by_power_uj) + &waiting), reference);
        assert_eq!(&(sum(&clutch.by_slip_uj) + &waiting), reference);
        assert!(clutch.by_power_uj.iter().filter(|uj| **uj > 0).count() > 1);
        assert!(clutch.by_slip_uj.iter().filter(|uj| **uj > 0).count() > 1);
    }
}

#[test]
fn a_steady_use_is_counted_in_the_class_of_its_power_and_slip() {
    // 200 N m at 3 rad/s are 600 W: above 480 W and below 1920 W, above 2 rad/s and below 4 rad/s.
    let stage = thermal();
    let mut state = State::at(&stage.tunables.network, 40.0);
    drive(&stage, &mut state, &used((200.0, 0.0), (3.0, 3.0)), 20.0);
    let clutch = &state.usage.counters.clutch;
    let share =
        |classes: &[u64], class: usize| classes[class] as f64 / classes.iter().sum::<u64>() as f64;
    // The first second holds the actuator's rise.
    assert!(share(&clutch.left.by_power_uj, 3) > 0.94);
    assert!(share(&clutch.left.by_slip_uj, 2) > 0.94);
    assert!((clutch.left.heat_uj() as f64 / 600.0e6 - 19.0).abs() < 0.3);
    assert_eq!(clutch.right.heat_uj(), 0);
    // Awake is counted second by second, the way at 20 m/s with it.
    let awake_s = state.usage.counters.awake_us as f64 * 1e-6;
    assert!((18.9..=20.0).contains(&awake_s), "{awake_s}");
    assert!((state.usage.counters.way_mm as f64 / (20.0e3 * awake_s) - 1.0).abs() < 1e-3);
}

#[test]
fn an_engagement_counts_once_though_the_torque_swings_about_the_threshold() {
    let stage = thermal();
    let mut state = State::at(&stage.tunables.network, 40.0);
    for _ in 0..7 {
        for torque_nm in [60.0, 40.0, 60.0, 0.0] {
            drive(
                &stage,
                &mut state,
                &used((torque_nm, 300.0), (1.0, 1.0)),
                0.5,
            );
        }
    }
    assert_eq!(state.usage.counters.clutch.left.engagements, 7);
    assert_eq!(state.usage.counters.clutch.right.engagements, 1);
}

#[test]
fn nothing_wraps_in_25_000_hours_at_100_kilowatts() {
    // 100 kW for 25,000 h are 9e18 uJ, computed; a counter of 63 bits of microjoules holds 25,620 h.
    let parameters = Parameters::<f64>::nominal();
    let mut clutch = ClutchUse::default();
    let (mut taken_in_uj, mut reference) = (0_i64, BigUint::ZERO);
    for hour in 0..25_000_u32 {
        let hour_uj = 360_000_000_000_000_i64;
        taken_in_uj += hour_uj;
        reference += BigUint::from(hour_uj.unsigned_abs());
        let degc = if hour % 2 == 0 { 20.0 } else { 190.0 };
        clutch.count(
            &parameters,
            (taken_in_uj, degc),
            (3_600_000_000, 3.6e6, true),
        );
    }
    assert_eq!(reference, "9000000000000000000".parse().expect("a number"));
    assert_eq!(BigUint::from(clutch.heat_uj()), reference);
    assert_eq!(clutch.derated_us, 25_000 * 3_600_000_000);
    // One half per hour, but for the first point and what waits.
    let halves: u32 = clutch.cycles.halves.iter().sum();
    assert!((24_990..=25_000).contains(&halves), "{halves}");
    // A clutch that took 9e9 kJ is used up many times over, and the sum says so instead of starting anew.
    assert!(clutch.used(&parameters) > 1.0);
    // More than fits stays full.
    for _ in 0..1000 {
        clutch.counted_uj = 0;
        clutch.count(&parameters, (i64::MAX, 20.0), (1_000_000, 1.0, true));
    }
    assert_eq!(clutch.heat_uj(), u64::MAX);
}

#[test]
fn narrower_counters_would_end_before_the_axle_does() {
    // Computed outside: a counter of 32 bits ends after 5965.232 h of 5 ms steps, 11.930465 h of joules at 100 kW, 49.710 d of milliseconds;
    // 63 bits of microjoules after 25,620 h. A life is 6,000 h, what is asked 25,000 h.
    let hours = |counts: f64, per_second: f64| counts / per_second / 3600.0;
    let (bits_32, bits_63) = (2_f64.powi(32), 2_f64.powi(63));
    assert!((hours(bits_32, 200.0) - 5965.232).abs() < 5e-4);
    assert!((hours(bits_32, 1e5) - 11.930_465).abs() < 5e-7);
    assert!((hours(bits_32, 1e3) / 24.0 - 49.710).abs() < 5e-4);
    assert!((hours(bits_63, 1e11) - 25_620.0).abs() < 1.0);
    // What the controller has instead goes on past each of these ends.
    let mut tick = Tick(u64::from(u32::MAX));
    tick = tick.next();
    assert_eq!(tick, Tick(1 << 32));
    let parameters = Parameters::<f32>::nominal();
    let mut state = usage::State::<f32>::kept(
        &parameters,
        &Counters {
            awake_us: u64::from(u32::MAX),
            way_mm: u64::from(u32::MAX),
            ..Counters::default()
        },
    );
    let at = Temperatures::default();
    for _ in 0..120 {
        let seen = usage::Seen {
            torque_nm: PerSide::both(0.0),
            taken_in_uj: PerSide::both(0),
            at: &at,
            derated: PerSide::both(false),
            speed_m_s: 20.0,
        };
        state.advance(&parameters, &seen, 0.02);
    }
    assert_eq!(state.counters.awake_us, u64::from(u32::MAX) + 2_000_000);
    assert_eq!(state.counters.way_mm, u64::from(u32::MAX) + 40_000);
}

#[test]
fn joules_and_seconds_are_counted_right_where_single_precision_sums_stall() {
    // Computed outside (numpy float32, one after the other): sums of 50 J and 500 J steps read 1,073,741,824 J after 18,147,356 adds and
    // 8,589,934,592 J after 16,793,047; true are 907,367,800 J and 8,396,523,500 J. A sum of 5 ms steps reads 5169.7993 s after 2^20.
    for (step_j, adds, single, truth_j) in [
        (0.5_f32, 16_777_216_u32, 8_388_608.0_f32, 8_388_608_u64),
        (50.0, 18_147_356, 1_073_741_824.0, 907_367_800),
        (500.0, 16_793_047, 8_589_934_592.0, 8_396_523_500),
    ] {
        let (mut naive, mut ledger) = (0.0_f32, Ledger::default());
        let moves = Moves {
            heat_uj: PerSide {
                left: (f64::from(step_j) * 1e6) as i64,
                right: 0,
            },
            ..Moves::default()
        };
        for _ in 0..adds {
            naive += step_j;
            ledger.move_heat(&moves);
        }
        assert_eq!(naive, single);
        // A further step is lost in single precision.
        assert_eq!(naive + step_j, naive);
        assert_eq!(ledger.taken_in_uj().left as u64, truth_j * 1_000_000);
    }
    let parameters = Parameters::<f32>::nominal();
    let mut state = usage::State::<f32>::kept(&parameters, &Counters::default());
    let (mut naive, at) = (0.0_f32, Temperatures::default());
    for _ in 0..1 << 20 {
        naive += 0.005;
        let seen = usage::Seen {
            torque_nm: PerSide::both(0.0),
            taken_in_uj: PerSide::both(0),
            at: &at,
            derated: PerSide::both(false),
            speed_m_s: 0.0,
        };
        state.advance(&parameters, &seen, 0.005);
    }
    assert!((naive - 5169.7993).abs() < 5e-4, "{naive}");
    // Whole seconds are passed on; 0.88 s wait for the next.
    assert_eq!(state.counters.awake_us, 5_242_000_000);
}

#[test]
fn wear_by_heat_is_that_of_archards_law() {
    // Computed: V = k E / mu, k = 1e-8 mm3/(N m), mu = 0.12, E = 1 GJ, ten rings of 55 to 75 mm: 83.333333 mm3, 1.0202240 um a face.
    let parameters = Parameters::<f64> {
        lining_area_mm2: 81_681.408_993_334_6,
        wear_friction: 0.12,
        ..Parameters::nominal()
    };
    let clutch = ClutchUse::of_heat(1_000_000_000_000_000);
    let found = clutch.wear_um(&parameters);
    assert!((found / 1.020_224_0 - 1.0).abs() < 1e-6, "{found}");
}

#[test]
fn a_night_closes_one_large_cycle_over_key_off_and_bytes() {
    let mut controller: Controller<f64> =
        Controller::new(&RawPage::default(), Period::default()).expect("the default page");
    let mut clock_s = 1000;
    for day in 0..6_u32 {
        // In the evening the axle is hot, in the morning as cold as the air.
        let mut state = *controller.state();
        let stage = Thermal::<f64>::new(ThermalTunables::nominal());
        // Two seconds of nothing, eight of 12 kW in each clutch, one of nothing.
        for (granted_nm, steps) in [(0.0, 400), (600.0, 1600), (0.0, 200)] {
            let input = In {
                granted_nm: PerSide::both(granted_nm),
                slip_rad_s: PerSide::both(Sensed::Fresh(20.0)),
                speed_m_s: 20.0,
                ambient_degc: 10.0,
            };
            for _ in 0..steps {
                stage.step(&mut state.thermal, &input, 0.005);
            }
        }
        controller.restore(state);
        let bytes = controller.snapshot(day, clock_s).encode();
        clock_s += 20 * 3600;
        let kept = Snapshot::decode(&bytes).expect("a whole record");
        controller =
            Controller::new(&RawPage::default(), Period::default()).expect("the default page");
        controller.wake(&kept, Some(clock_s), 10.0);
        assert_eq!(controller.life(), &state.thermal.usage.counters);
    }
    let clutch = &controller.life().clutch.left;
    let mut cycles = clutch.cycles;
    clutch.surface.left_over(|cycle| cycles.count(cycle, 4));
    // Classes are 20 K wide: every day one whole cycle of more than 60 K, six rises and five falls, and no other above 20 K.
    assert_eq!(
        cycles.halves[3..].iter().sum::<u32>(),
        11,
        "{:?}",
        cycles.halves
    );
    assert_eq!(
        cycles.halves[1..3].iter().sum::<u32>(),
        0,
        "{:?}",
        cycles.halves
    );
}

#[test]
fn remainders_are_carried_over_a_thousand_key_cycles() {
    let stage = thermal();
    let parameters = &stage.tunables.life;
    let mut state = State::at(&stage.tunables.network, 20.0);
    for _ in 0..1000 {
        // Less than a second each time: a counter that dropped what was left over would stay at zero.
        drive(&stage, &mut state, &used((300.0, 100.0), (1.0, 2.0)), 0.3);
        let kept = state.usage.counters;
        state.usage = usage::State::kept(parameters, &kept);
    }
    drive(&stage, &mut state, &used((0.0, 0.0), (0.0, 0.0)), 3.0);
    let counted = state.usage.counters.clutch.map(|clutch| clutch.heat_uj());
    let ledger = state.estimate.taken_in_uj();
    assert_eq!(counted.left, ledger.left.unsigned_abs());
    assert_eq!(counted.right, ledger.right.unsigned_abs());
    assert!(counted.left > 50_000 * UJ_PER_J as u64);
}

#[test]
fn a_renewed_part_starts_anew_and_only_that_part() {
    let mut controller: Controller<f32> =
        Controller::new(&RawPage::default(), Period::default()).expect("the default page");
    let mut state = *controller.state();
    let stage = thermal();
    drive(
        &stage,
        &mut state.thermal,
        &used((400.0, 300.0), (5.0, 5.0)),
        10.0,
    );
    controller.restore(state);
    let before = *controller.life();
    assert!(before.clutch.left.heat_uj() > 0 && before.oil.us > 0 && before.way_mm > 0);
    controller.renewed(Part::Oil);
    assert_eq!(controller.life().oil.us, 0);
    assert_eq!(controller.life().clutch, before.clutch);
    controller.renewed(Part::LeftClutch);
    assert_eq!(controller.life().clutch.left.heat_uj(), 0);
    assert_eq!(controller.life().clutch.right, before.clutch.right);
    // The heat of before must not come in again with the next second.
    let mut state = *controller.state();
    drive(
        &stage,
        &mut state.thermal,
        &used((0.0, 0.0), (0.0, 0.0)),
        3.0,
    );
    controller.restore(state);
    assert!(controller.life().clutch.left.heat_uj() < before.clutch.left.heat_uj() / 10);
    controller.renewed(Part::Axle);
    let new = controller.life();
    assert_eq!((new.way_mm, new.awake_us, new.oil.us), (0, 0, 0));
    assert_eq!(new.clutch.right.heat_uj(), 0);
    // What is stored then is taken again.
    let stored = controller.snapshot(1, 1);
    assert_eq!(Snapshot::decode(&stored.encode()), Ok(stored));
}

#[test]
fn advice_rises_with_use_and_names_the_worst() {
    let parameters = Parameters::<f64>::nominal();
    let hour_us = 3_600_000_000_u64;
    let oil = |hours: u64| {
        let mut counters = Counters::default();
        counters.oil.us = hours * hour_us;
        counters.told(&parameters).advice
    };
    // 1500 h at 100 degC by the table's default, soon from nine tenths on.
    let limits = [
        (1349, Advice::None),
        (1351, Advice::OilSoon),
        (1501, Advice::OilNow),
    ];
    for (hours, advice) in limits {
        assert_eq!(oil(hours), advice, "{hours} h");
    }
    let mut worn = Counters {
        awake_us: 6000 * hour_us,
        ..Counters::default()
    };
    // 1 GJ wears 1.0202 um, computed above; 200 um are a clutch. Half of it leaves as much time as it took.
    worn.clutch.right = ClutchUse::of_heat(98_000_000_000_000_000);
    let told = worn.told(&parameters);
    assert!((told.clutch_used.right - 0.5).abs() < 0.001, "{told:?}");
    assert_eq!(told.clutch_used.left, 0.0);
    assert!((worn.left_h(&parameters) / 6000.0 - 1.0).abs() < 0.01);
    worn.clutch.right = ClutchUse::of_heat(199_000_000_000_000_000);
    assert_eq!(worn.told(&parameters).advice, Advice::Clutch);
}

#[test]
fn the_counters_of_a_mirrored_axle_are_the_mirror_image() {
    let stage = thermal();
    let mut one = State::at(&stage.tunables.network, 30.0);
    let mut other = one;
    for part in 0..20_u8 {
        let torque = 40.0 * f32::from(part % 7);
        drive(&stage, &mut one, &used((torque, 90.0), (1.7, 2.9)), 0.7);
        drive(&stage, &mut other, &used((90.0, torque), (2.9, 1.7)), 0.7);
    }
    assert_eq!(
        one.usage.counters.clutch,
        other.usage.counters.clutch.mirrored()
    );
    assert_eq!(
        one.usage.told.clutch_used,
        other.usage.told.clutch_used.mirrored()
    );
}
