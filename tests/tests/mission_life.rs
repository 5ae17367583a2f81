//! Lives at event level: exact strides against the stepped law, books that balance to the last unit, outside numbers.

use couplet_controller::calibration::{RawPage, Tunables};
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::stage::Stage;
use couplet_controller::stage::thermal::bound;
use couplet_controller::stage::thermal::ledger::Ledger;
use couplet_controller::stage::thermal::network::{Parameters, Temperatures};
use couplet_controller::stage::thermal::usage::{ClutchUse, Counters};
use couplet_controller::stage::thermal::{In, State, Thermal, ThermalTunables};
use couplet_sim::mission::axle::{Axle, Passed, Slice};
use couplet_sim::mission::course::Course;
use couplet_sim::mission::exact::Exact;
use couplet_sim::mission::life::{tunables, whole};
use couplet_sim::mission::plan::{Carried, contradiction, drive};
use couplet_sim::mission::{Event, Mission};
use num_bigint::{BigInt, BigUint};

fn table() -> Tunables<f64> {
    tunables(&RawPage::default()).expect("the default page")
}

/// Courses made up for these tests: launches of 3 kW, a snow start of 12 kW on one side, a pass of a minute.
fn courses() -> Vec<Course> {
    let slice = |speed_m_s, torque: (f64, f64), slip: (f64, f64)| Slice {
        time_s: 1,
        speed_m_s,
        torque_nm: PerSide {
            left: torque.0,
            right: torque.1,
        },
        slip_rad_s: PerSide {
            left: slip.0,
            right: slip.1,
        },
    };
    vec![
        Course {
            event: Event::Launch,
            slices: vec![
                slice(1, (600.0, 590.0), (5.0, 5.1)),
                slice(4, (300.0, 290.0), (2.0, 2.0)),
                slice(7, (20.0, 10.0), (1.3, 1.4)),
            ],
        },
        Course {
            event: Event::LaunchSplit,
            slices: vec![
                slice(0, (60.0, 900.0), (9.0, 13.3)),
                slice(2, (60.0, 900.0), (7.0, 9.7)),
                slice(4, (60.0, 700.0), (5.0, 6.1)),
            ],
        },
        Course {
            event: Event::Pass,
            slices: (0..60_u8)
                .map(|second| {
                    let swing = f64::from(second % 7);
                    slice(14, (60.0 * swing, 40.0), (1.1, 2.0 + swing))
                })
                .collect(),
        },
    ]
}

fn mission() -> Mission {
    let mut mission = Mission::default();
    mission.often.launch = 12.3;
    mission.often.launch_split = 1.7;
    mission.often.exit_dry = 0.0;
    mission.often.exit_wet = 0.0;
    mission.often.pass = 0.4;
    mission
}

/// Four nodes in the published example's numbers, both clutches alike and heated alike; the example's single clutch is a half of them.
fn example() -> Parameters<f64> {
    // Computed outside (matrix exponential, SciPy): surface/core/oil/housing C 150/900/1500/9000, G surface-core 600, surface-oil 40,
    // core-oil 60, oil-housing 80, housing-air 25. With two equal clutches each takes half of every heat and half of every conductance.
    Parameters {
        surface_capacity_j_k: 75.0,
        core_capacity_j_k: 450.0,
        oil_capacity_j_k: 1500.0,
        housing_capacity_j_k: 9000.0,
        surface_core_w_k: 300.0,
        surface_oil_w_k: 20.0,
        core_oil_w_k: 30.0,
        oil_housing_w_k: 80.0,
        housing_ambient_w_k: 25.0,
        housing_ambient_per_speed_w_s_k_m: 0.0,
        ..Parameters::nominal()
    }
}

fn even(degc: f64) -> Temperatures<f64> {
    Temperatures {
        surface_degc: PerSide::both(degc),
        core_degc: PerSide::both(degc),
        oil_degc: degc,
        housing_degc: degc,
    }
}

#[test]
fn a_stride_of_any_length_is_the_matrix_exponential() {
    let exact = Exact::new(&example());
    // Computed outside as above: 2 kW from 30 degC in air of 30 degC.
    let table = [
        (
            1.0,
            [
                34.035_039_767,
                31.392_083_798,
                30.092_731_074,
                30.000_307_769,
            ],
        ),
        (
            5.0,
            [
                39.655_343_364,
                37.185_538_409,
                31.262_029_553,
                30.021_214_929,
            ],
        ),
        (
            60.0,
            [
                69.823_567_630,
                67.775_024_591,
                51.629_733_750,
                34.989_552_972,
            ],
        ),
        (
            300.0,
            [
                106.220_128_470,
                104.251_066_089,
                86.154_114_323,
                64.495_132_991,
            ],
        ),
        (
            1800.0,
            [
                154.093_711_201,
                152.168_737_473,
                132.984_735_925,
                108.122_553_141,
            ],
        ),
    ];
    for (time_s, wanted) in table {
        let heat_w = PerSide::both(1000.0);
        let found = exact.advance(&even(30.0), heat_w, 0, 30.0, time_s).end;
        let nodes = [
            found.surface_degc.right,
            found.core_degc.left,
            found.oil_degc,
            found.housing_degc,
        ];
        for (found, wanted) in nodes.into_iter().zip(wanted) {
            assert!(
                (found - wanted).abs() < 1e-8,
                "{time_s} s: {found} for {wanted}"
            );
        }
    }
}

#[test]
fn strides_join_and_their_means_are_those_of_short_ones() {
    let exact = Exact::new(&Parameters::nominal());
    let heat_w = PerSide {
        left: 700.0,
        right: 90.0,
    };
    let start = Temperatures {
        surface_degc: PerSide {
            left: 160.0,
            right: 60.0,
        },
        ..even(45.0)
    };
    let whole = exact.advance(&start, heat_w, 20, -5.0, 40.0);
    let (mut at, mut housing, mut oil) = (start, 0.0, 0.0);
    for _ in 0..4000 {
        let stride = exact.advance(&at, heat_w, 20, -5.0, 0.01);
        at = stride.end;
        housing += stride.mean.housing_degc / 4000.0;
        oil += stride.mean.oil_degc / 4000.0;
    }
    assert!((at.surface_degc.left - whole.end.surface_degc.left).abs() < 1e-9);
    assert!((at.oil_degc - whole.end.oil_degc).abs() < 1e-9);
    assert!((housing - whole.mean.housing_degc).abs() < 1e-9);
    assert!((oil - whole.mean.oil_degc).abs() < 1e-9);
}

/// The same drive with the controller's stage in steps of 5 ms.
fn stepped(
    table: &Tunables<f64>,
    axle: &Axle<'_>,
    slices: &[Slice],
    ambient_degc: f64,
) -> State<f64> {
    let mut all = ThermalTunables {
        network: table.heat_network,
        bound: table.heat_bound,
        slip_power: table.slip_power,
        derating: table.derating,
        forecast: table.forecast,
        life: table.life_count,
    };
    // Left out at event level: the actuator.
    all.slip_power.dead_time_s = 0.0;
    all.slip_power.lag_s = 0.0;
    let stage = Thermal::new(all);
    let nodes = all.network.nodes(&axle.at);
    let mut state = State {
        estimate: Ledger::opened(nodes),
        bound: bound::State::at(&axle.without_margin(), PerSide::both(0)),
        derating: axle.derating,
        ..State::default()
    };
    let mut ceiling = PerSide::both(1.0);
    for slice in slices {
        for _ in 0..slice.time_s * 200 {
            let out = stage.step(
                &mut state,
                &In {
                    granted_nm: slice.torque_nm.zip(ceiling, |torque, ceiling: f64| {
                        torque.min(ceiling * table.authority.capacity_nm)
                    }),
                    slip_rad_s: slice.slip_rad_s.map(Sensed::Fresh),
                    speed_m_s: f64::from(slice.speed_m_s),
                    ambient_degc,
                },
                0.005,
            );
            ceiling = out
                .ceiling
                .zip(out.open, |share, open| if open { 0.0 } else { share });
        }
    }
    state
}

#[test]
fn sampled_drives_end_as_the_stepped_law_ends_them() {
    let table = table();
    let (mission, courses) = (mission(), courses());
    let mut axle = Axle::new(&table, mission.air.mean_degc);
    let mut carried = Carried::default();
    let mut compared = 0;
    for number in 0..120 {
        let drive = drive(&mission, &courses, number, &mut carried);
        axle.rest(drive.rest_degc, drive.rest_s);
        if [0, 1, 37, 119].contains(&number) {
            let state = stepped(&table, &axle, &drive.slices, drive.ambient_degc);
            let mut eventwise = axle.clone();
            eventwise.counters = Counters::default();
            eventwise.ledger = Ledger::opened(table.heat_network.nodes(&axle.at));
            for slice in &drive.slices {
                eventwise.go(slice, drive.ambient_degc, &mut |_| ());
            }
            let at = table.heat_network.temperatures(&state.estimate.nodes());
            // The law moves heat every 20 ms by forward Euler: 0.05 K of the plates, less of the oil.
            assert!((at.surface_degc.left - eventwise.at.surface_degc.left).abs() < 0.05);
            assert!((at.surface_degc.right - eventwise.at.surface_degc.right).abs() < 0.05);
            assert!((at.oil_degc - eventwise.at.oil_degc).abs() < 0.05);
            let one = |stepped: &ClutchUse, found: &ClutchUse, taken_in: i64, booked: i64| {
                // Heat: the same to the rounding of each step, half a microjoule in each of 1e6 steps.
                assert!((taken_in - booked).abs() < 1_000_000, "{taken_in} {booked}");
                assert_eq!(stepped.engagements, found.engagements);
                // A second of the law begins up to 60 ms after a slice's: what lies in another class is at most a twentieth.
                let total = found.heat_uj().max(1) as f64;
                for (one, other) in stepped
                    .by_power_uj
                    .iter()
                    .zip(found.by_power_uj)
                    .chain(stepped.by_slip_uj.iter().zip(found.by_slip_uj))
                {
                    assert!(
                        (*one as f64 - other as f64).abs() < 0.2 * total,
                        "{one} {other}"
                    );
                }
            };
            let (law, found) = (&state.usage.counters, &eventwise.counters);
            let (taken_in, booked) = (state.estimate.taken_in_uj(), eventwise.ledger.taken_in_uj());
            one(
                &law.clutch.left,
                &found.clutch.left,
                taken_in.left,
                booked.left,
            );
            one(
                &law.clutch.right,
                &found.clutch.right,
                taken_in.right,
                booked.right,
            );
            // Oil age within 0.5 %: the law takes the temperature of every second, its last second is not counted yet.
            let ratio = law.oil.us as f64 / found.oil.us as f64;
            assert!((ratio - 1.0).abs() < 0.005, "oil {ratio}");
            assert!((law.way_mm as f64 / found.way_mm as f64 - 1.0).abs() < 0.002);
            compared += 1;
        }
        for slice in &drive.slices {
            axle.go(slice, drive.ambient_degc, &mut |_| ());
        }
    }
    assert_eq!(compared, 4);
}

#[test]
fn an_abuse_that_meets_the_ceilings_ends_as_the_stepped_law_ends_it() {
    let table = table();
    let abuse = [Slice {
        time_s: 240,
        speed_m_s: 3,
        torque_nm: PerSide {
            left: 900.0,
            right: 300.0,
        },
        slip_rad_s: PerSide::both(4.0),
    }];
    let mut axle = Axle::new(&table, 30.0);
    let state = stepped(&table, &axle, &abuse, 30.0);
    for slice in &abuse {
        axle.go(slice, 30.0, &mut |_| ());
    }
    let at = table.heat_network.temperatures(&state.estimate.nodes());
    assert!(axle.counters.clutch.left.derated_us > 10_000_000);
    // A ceiling holds for 0.1 s instead of 5 ms, so the order to open comes a little later and the axle is as much warmer from there on: found
    // 1.3 % of the heat, 3.8 K of the plates, 2.8 K of the oil, 0.1 s of derating in 150 s.
    assert!((at.surface_degc.left - axle.at.surface_degc.left).abs() < 5.0);
    assert!((at.oil_degc - axle.at.oil_degc).abs() < 4.0);
    let ratio = state.estimate.taken_in_uj().left as f64 / axle.ledger.taken_in_uj().left as f64;
    assert!((ratio - 1.0).abs() < 0.02, "{ratio}");
    let derated = |counters: &Counters| counters.clutch.left.derated_us as f64 * 1e-6;
    let apart = derated(&state.usage.counters) - derated(&axle.counters);
    assert!(apart.abs() < 1.0, "{apart}");
}

#[test]
fn a_whole_life_balances_to_the_last_microjoule_and_equals_sums_without_a_limit() {
    let table = table();
    let mission = mission();
    let (mut left, mut right, mut time_ms) = (BigUint::ZERO, BigUint::ZERO, BigUint::ZERO);
    let life = whole(&mission, &courses(), &table, &mut |passed: &Passed| {
        left += BigUint::from(passed.heat_uj.left.unsigned_abs());
        right += BigUint::from(passed.heat_uj.right.unsigned_abs());
        time_ms += BigUint::from(passed.time_ms);
    });
    let ledger = &life.ledger;
    assert_eq!(ledger.imbalance_uj(), 0);
    assert_eq!(
        BigUint::from(ledger.taken_in_uj().left.unsigned_abs()),
        left
    );
    assert_eq!(
        BigUint::from(ledger.taken_in_uj().right.unsigned_abs()),
        right
    );
    for (clutch, sum) in [
        (&life.counters.clutch.left, &left),
        (&life.counters.clutch.right, &right),
    ] {
        let total = |classes: &[u64]| classes.iter().map(|uj| BigUint::from(*uj)).sum::<BigUint>();
        assert_eq!(&total(&clutch.by_power_uj), sum);
        assert_eq!(&total(&clutch.by_slip_uj), sum);
    }
    assert_eq!(BigUint::from(life.counters.awake_us), time_ms * 1000_u32);
    // In = stored + lost, in whole numbers without a limit; opened at the mean of the year.
    let opening = table
        .heat_network
        .nodes_at(mission.air.mean_degc)
        .stored_uj();
    let in_uj = BigInt::from(opening) + BigInt::from(left) + BigInt::from(right);
    let out_uj = BigInt::from(ledger.nodes().stored_uj()) + BigInt::from(ledger.lost_uj());
    assert_eq!(in_uj, out_uj);
    // What was booked as lost is what the closed form says went to the air: no heat vanished on the way.
    let booked_j = ledger.lost_uj() as f64 * 1e-6;
    assert!(
        (booked_j / life.lost_j - 1.0).abs() < 1e-9,
        "{booked_j} {}",
        life.lost_j
    );
    // 6000 h and 240,000 km, the last drive over the end: 40 km/h on average.
    assert!(
        (life.awake_h() / 6000.0 - 1.0).abs() < 1e-3,
        "{} h",
        life.awake_h()
    );
    assert!(
        (life.way_km() / 240_000.0 - 1.0).abs() < 2e-3,
        "{} km",
        life.way_km()
    );
    // Events come as often as the mission says.
    let mean_drives = life.awake_h() * 60.0 / mission.drive.time_min;
    let wanted = mean_drives * (12.3 + 1.7 + 0.4);
    assert!((life.events as f64 / wanted - 1.0).abs() < 2e-3);
    // Work is counted, not time: fewer than one stride for each 5 s of life.
    assert!(life.strides < 6000 * 3600 / 5, "{} strides", life.strides);
}

#[test]
fn the_same_mission_lives_the_same_life_and_another_seed_another() {
    let table = table();
    let mut mission = mission();
    mission.whole.time_h = 60.0;
    mission.whole.way_km = 2400.0;
    let life = |mission: &Mission| whole(mission, &courses(), &table, &mut |_| ());
    let one = life(&mission);
    assert_eq!(one, life(&mission));
    mission.whole.seed = 2.0;
    assert_ne!(one.counters, life(&mission).counters);
}

#[test]
fn a_kilometre_with_a_launch_counts_as_often_as_the_outside_table_says() {
    // Computed: 240,000 km in 6,000 h are 40 km/h; one launch a kilometre are 240,000, which 16 bits cannot hold.
    let table = table();
    let mut mission = Mission::default();
    let (mut launches, drive_km) = (Event::ALL.map(|_| 0.0), 20.0);
    launches[0] = drive_km;
    mission.often.launch = launches[0];
    mission.often.exit_dry = 0.0;
    mission.often.exit_wet = 0.0;
    mission.drive.per_day = 4.0;
    let life = whole(&mission, &courses(), &table, &mut |_| ());
    let engagements = life.counters.clutch.left.engagements;
    assert!(
        (engagements as f64 / 240_000.0 - 1.0).abs() < 2e-3,
        "{engagements}"
    );
    assert!(engagements > u64::from(u16::MAX));
    assert!((life.way_km() / life.awake_h() - 40.0).abs() < 0.1);
}

#[test]
fn a_mission_that_cannot_be_driven_is_named() {
    let courses = courses();
    assert_eq!(contradiction(&mission(), &courses), None);
    let mut fast = mission();
    fast.whole.way_km = 900_000.0;
    let (keys, _) = contradiction(&fast, &courses).expect("150 km/h on average");
    assert!(keys.contains(&"drive.cruise_km_h"));
    let mut busy = mission();
    busy.often.pass = 90.0;
    assert!(contradiction(&busy, &courses).is_some());
    let mut long = mission();
    long.drive.per_day = 20.0;
    long.drive.time_min = 100.0;
    long.often = Default::default();
    let (keys, _) = contradiction(&long, &courses).expect("33 h a day");
    assert!(keys.contains(&"drive.per_day"));
}
