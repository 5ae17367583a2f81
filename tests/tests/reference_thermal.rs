//! Outside values of heat networks and ledgers.
//!
//! "Computed" means: evaluated outside this project's code from the stated equations (matrix exponential or forward
//! Euler of the lumped network, integer and f32 sums) in Python with numpy and scipy.
//!
//! The reference networks have one clutch. A network of two clutches that are heated alike behaves as one if what they
//! share (oil, housing, air) is doubled: by symmetry each clutch sees half of it.

use couplet_controller::numerics::Scalar;
use couplet_controller::quantity::PerSide;
use couplet_controller::stage::thermal::ledger::{Ledger, Moves};
use couplet_controller::stage::thermal::network::{
    Parameters, Surroundings, Temperatures, explicit_moves, relaxed, rested,
};

/// Surface, core, oil, housing of one side.
fn four<S: Scalar>(at: &Temperatures<S>) -> [f64; 4] {
    [
        at.surface_degc.left,
        at.core_degc.left,
        at.oil_degc,
        at.housing_degc,
    ]
    .map(|degc| f64::from(degc.to_f32()))
}

fn four_exact(at: &Temperatures<f64>) -> [f64; 4] {
    [
        at.surface_degc.left,
        at.core_degc.left,
        at.oil_degc,
        at.housing_degc,
    ]
}

fn nothing_joined<S: Scalar>() -> Parameters<S> {
    Parameters {
        surface_capacity_j_k: S::of(1000.0),
        core_capacity_j_k: S::of(1000.0),
        oil_capacity_j_k: S::of(1000.0),
        housing_capacity_j_k: S::of(1000.0),
        surface_core_w_k: S::ZERO,
        surface_oil_w_k: S::ZERO,
        core_oil_w_k: S::ZERO,
        oil_housing_w_k: S::ZERO,
        housing_ambient_w_k: S::ZERO,
        housing_ambient_per_speed_w_s_k_m: S::ZERO,
        fastest_speed_m_s: S::of(100.0),
    }
}

/// Computed four-node case: C 150/900/1500/9000 J/K, G 600/40/60/80/25 W/K, air 30 degC.
fn four_nodes<S: Scalar>() -> Parameters<S> {
    Parameters {
        surface_capacity_j_k: S::of(150.0),
        core_capacity_j_k: S::of(900.0),
        oil_capacity_j_k: S::of(2.0 * 1500.0),
        housing_capacity_j_k: S::of(2.0 * 9000.0),
        surface_core_w_k: S::of(600.0),
        surface_oil_w_k: S::of(40.0),
        core_oil_w_k: S::of(60.0),
        oil_housing_w_k: S::of(2.0 * 80.0),
        housing_ambient_w_k: S::of(2.0 * 25.0),
        housing_ambient_per_speed_w_s_k_m: S::ZERO,
        fastest_speed_m_s: S::of(100.0),
    }
}

fn run<S: Scalar>(
    network: &Parameters<S>,
    ledger: &mut Ledger,
    heat_w: f32,
    ambient_degc: f32,
    steps: u32,
    period_s: S,
) -> Temperatures<S> {
    let around = Surroundings {
        speed_m_s: S::ZERO,
        ambient_degc: S::of(ambient_degc),
    };
    for _ in 0..steps {
        let at = network.temperatures(&ledger.nodes());
        ledger.move_heat(&explicit_moves(
            network,
            &at,
            PerSide::both(S::of(heat_w)),
            &around,
            period_s,
        ));
    }
    network.temperatures(&ledger.nodes())
}

fn assert_near(found: &[f64], expected: &[f64], tolerance_k: f64, what: &str) {
    for (found, expected) in found.iter().zip(expected) {
        assert!(
            (found - expected).abs() <= tolerance_k,
            "{what}: found {found}, expected {expected}"
        );
    }
}

#[test]
fn one_node_follows_the_published_step_rule() {
    // Computed: C 1200, G 25, P 3000, wall at 80 degC (here: a very large oil); forward Euler at 48 s, 5 and 10 ms.
    let network = Parameters {
        surface_capacity_j_k: 1200.0,
        surface_oil_w_k: 25.0,
        oil_capacity_j_k: 1.0e10,
        ..nothing_joined::<f64>()
    };
    for (steps, period_s, expected) in [(9_600, 0.005, 155.8567664), (4_800, 0.01, 155.8590660)] {
        let mut ledger = Ledger::opened(network.nodes_at(80.0));
        let at = run(&network, &mut ledger, 3000.0, 80.0, steps, period_s);
        // 3e-5 K: the wall of 1e10 J/K takes up to 3e5 J.
        assert_near(
            &[at.surface_degc.left],
            &[expected],
            3.0e-5,
            "one node at 48 s",
        );
    }
}

#[test]
fn two_nodes_follow_the_computed_step_rule() {
    // Computed: C 400/1600, G12 150, G2a 30 to 80 degC, P 5000 at node 1; forward Euler at 10 s.
    let network = Parameters {
        surface_capacity_j_k: 400.0,
        surface_oil_w_k: 150.0,
        oil_capacity_j_k: 2.0 * 1600.0,
        oil_housing_w_k: 2.0 * 30.0,
        housing_capacity_j_k: 1.0e10,
        ..nothing_joined::<f64>()
    };
    let cases = [
        (2_000, 0.005, [125.395491458, 98.419436485]),
        (1_000, 0.01, [125.397371736, 98.419990128]),
        (100, 0.1, [125.430795518, 98.430082074]),
    ];
    for (steps, period_s, expected) in cases {
        let mut ledger = Ledger::opened(network.nodes_at(80.0));
        let at = run(&network, &mut ledger, 5000.0, 80.0, steps, period_s);
        // 2e-6 K: half a microjoule of rounding per flow and step.
        assert_near(
            &[at.surface_degc.left, at.oil_degc],
            &expected,
            2.0e-6,
            "two nodes at 10 s",
        );
    }
}

#[test]
fn four_nodes_follow_the_computed_pulse() {
    // Computed: 20 kW for 3 s from 30 degC, forward Euler: surface and core at 5, 10 and 50 ms.
    let cases = [
        (600, 0.005, [100.573249045, 75.050222885]),
        (300, 0.01, [100.580794351, 75.058291504]),
        (60, 0.05, [100.641361446, 75.123069377]),
    ];
    let mut worst = 0.0_f64;
    for (steps, period_s, expected) in cases {
        let network = four_nodes::<f64>();
        let mut ledger = Ledger::opened(network.nodes_at(30.0));
        let at = run(&network, &mut ledger, 20_000.0, 30.0, steps, period_s);
        let found = [at.surface_degc.left, at.core_degc.left];
        // 2e-6 K: rounding of the flows.
        assert_near(&found, &expected, 2.0e-6, "pulse");
        worst = found
            .iter()
            .zip(expected)
            .fold(worst, |worst, (found, wanted)| {
                worst.max((found - wanted).abs())
            });
    }
    println!("largest deviation from the computed pulse, f64: {worst:.3e} K");
    // The product's f32: 1e-4 relative is the stated tolerance for f32 against computed values.
    let network = four_nodes::<f32>();
    let mut ledger = Ledger::opened(network.nodes_at(30.0));
    let at = run(&network, &mut ledger, 20_000.0, 30.0, 600, 0.005);
    assert_near(
        &four(&at)[..2],
        &[100.573249045, 75.050222885],
        1.0e-2,
        "pulse in f32",
    );
    println!("pulse in f32: {:?}", four(&at));
}

#[test]
fn stored_energy_of_the_pulse_is_what_was_computed_and_balances_to_the_last_unit() {
    let network = four_nodes::<f64>();
    let mut ledger = Ledger::opened(network.nodes_at(30.0));
    let opening_uj = ledger.nodes().stored_uj();
    run(&network, &mut ledger, 20_000.0, 30.0, 600, 0.005);
    // Computed (exact solution): 59 998.843810 J stored per clutch. 0.01 J: Euler error of the loss (1.156 J).
    let stored_j = (ledger.nodes().stored_uj() - opening_uj) as f64 * 1.0e-6 / 2.0;
    assert!((stored_j - 59_998.843810).abs() < 0.01, "stored {stored_j}");
    // In: 20 kW for 3 s per side, exactly.
    assert_eq!(ledger.taken_in_uj(), PerSide::both(60_000_000_000));
    assert_eq!(ledger.imbalance_uj(), 0);
}

#[test]
fn four_nodes_reach_the_computed_steady_state() {
    // Computed: 2000 W per clutch: 156.153846154/154.230769231/135/110 degC.
    let expected = [156.153846154, 154.230769231, 135.0, 110.0];
    let network = four_nodes::<f64>();
    let mut ledger = Ledger::opened(network.nodes_at(30.0));
    let at = run(&network, &mut ledger, 2000.0, 30.0, 500_000, 0.02);
    // 1e-3 K: 21 time constants of 470 s leave e^-21, rounding of flows below 1 uJ leaves less than 1e-5 K.
    assert_near(&four_exact(&at), &expected, 1.0e-3, "steady state");
    // The closed form reaches it in one step of any length.
    let around = Surroundings {
        speed_m_s: 0.0,
        ambient_degc: 30.0,
    };
    let start = network.temperatures(&network.nodes_at(30.0));
    let at = relaxed(&network, &start, PerSide::both(2000.0), &around, 1.0e9);
    assert_near(
        &four_exact(&at),
        &expected,
        1.0e-3,
        "steady state of the closed form",
    );
    let network = four_nodes::<f32>();
    let around = Surroundings {
        speed_m_s: 0.0,
        ambient_degc: 30.0,
    };
    let start = network.temperatures(&network.nodes_at(30.0));
    let at = relaxed(&network, &start, PerSide::both(2000.0), &around, 1.0e9);
    // 0.015 K: 1e-4 relative for f32.
    assert_near(
        &four(&at),
        &expected,
        0.015,
        "steady state of the closed form in f32",
    );
}

#[test]
fn four_nodes_follow_the_computed_course_to_1800_seconds() {
    // Computed, matrix exponential: 2000 W per clutch from 30 degC; joules stored per clutch where they are given.
    let rows = [
        (
            1,
            [34.035039767, 31.392083798, 30.092731074, 30.000307769],
            Some(1_999.997917),
        ),
        (
            5,
            [39.655343364, 37.185538409, 31.262029553, 30.021214929],
            None,
        ),
        (
            10,
            [44.957522260, 42.619541024, 33.526597636, 30.122242192],
            Some(19_991.291442),
        ),
        (
            60,
            [69.823567630, 67.775024591, 51.629733750, 34.989552972],
            None,
        ),
        (
            300,
            [106.220128470, 104.251066089, 86.154114323, 64.495132991],
            Some(472_946.347),
        ),
        (
            1800,
            [154.093711201, 152.168737473, 132.984735925, 108.122553141],
            None,
        ),
    ];
    let network = four_nodes::<f64>();
    let opened = Ledger::opened(network.nodes_at(30.0));
    let (mut fine, mut coarse, mut from_s) = (opened, opened, 0);
    let stored_j = |ledger: &Ledger| {
        (ledger.nodes().stored_uj() - opened.nodes().stored_uj()) as f64 * 1.0e-6 / 2.0
    };
    for (time_s, expected, stored) in rows {
        let passed_s = time_s - from_s;
        from_s = time_s;
        let at = four_exact(&run(
            &network,
            &mut fine,
            2000.0,
            30.0,
            passed_s * 200,
            0.005,
        ));
        let wide = four_exact(&run(
            &network,
            &mut coarse,
            2000.0,
            30.0,
            passed_s * 100,
            0.01,
        ));
        // Steps of 5 ms err by half a step of the course, at most 0.0025 s times 2 K/s here.
        assert_near(&at, &expected, 5.0e-3, "course");
        // Twice the fine less the coarse run takes that away: 1e-4 K is 1e-6 relative.
        let limit: [f64; 4] = core::array::from_fn(|node| 2.0 * at[node] - wide[node]);
        assert_near(
            &limit,
            &expected,
            1.0e-4,
            "course without the error of the steps",
        );
        if let Some(stored) = stored {
            let found = 2.0 * stored_j(&fine) - stored_j(&coarse);
            assert!(
                (found - stored).abs() < 1.0e-6 * stored,
                "{time_s} s: {found} J"
            );
        }
        assert_eq!((fine.imbalance_uj(), coarse.imbalance_uj()), (0, 0));
    }
}

#[test]
fn rest_after_the_pulse_cools_as_computed_and_never_loses_much_too_much() {
    let network = four_nodes::<f64>();
    let mut ledger = Ledger::opened(network.nodes_at(30.0));
    let opening_uj = ledger.nodes().stored_uj();
    run(&network, &mut ledger, 20_000.0, 30.0, 600, 0.005);
    // Computed exact solution of the rest after the pulse.
    let cases = [
        (
            1.0,
            [73.646030847, 74.994117899, 37.942177908, 30.115762338],
        ),
        (
            10.0,
            [56.290086758, 56.788070564, 44.754452952, 31.076192298],
        ),
        (
            60.0,
            [38.439202635, 38.492706018, 37.181510852, 34.047199412],
        ),
    ];
    for (time_s, expected) in cases {
        let after = rested(&network, &ledger, time_s, 30.0);
        let at = network.temperatures(&after.nodes());
        let worst = four_exact(&at)
            .iter()
            .zip(expected)
            .map(|(found, wanted)| (found - wanted).abs())
            .fold(0.0, f64::max);
        println!("rest {time_s} s: {:?}, worst {worst:.3} K", four_exact(&at));
        // 1 K: backward Euler in growing steps, first 0.25 s against a fastest time constant of 0.2 s.
        assert_near(&four_exact(&at), &expected, 1.0, "rest");
        // Energy left of the exact solution: sum of C dT.
        let exact_j = 150.0 * (expected[0] - 30.0)
            + 900.0 * (expected[1] - 30.0)
            + 1500.0 * (expected[2] - 30.0)
            + 9000.0 * (expected[3] - 30.0);
        let left_j = (after.nodes().stored_uj() - opening_uj) as f64 * 1.0e-6 / 2.0;
        println!("  left {left_j:.1} J, exact {exact_j:.1} J");
        // 1e-3 of the 60 kJ: while the housing still warms, backward Euler sees it too warm and loses a little more.
        assert!(
            left_j >= exact_j - 60.0 && left_j <= exact_j * 1.02 + 60.0,
            "{time_s} s: {left_j} J, exact {exact_j} J"
        );
        assert_eq!(after.imbalance_uj(), 0);
    }
}

#[test]
fn a_long_rest_keeps_at_least_the_heat_a_fine_run_keeps() {
    let network = four_nodes::<f64>();
    let mut fine = Ledger::opened(network.nodes_at(30.0));
    let opening_uj = fine.nodes().stored_uj();
    run(&network, &mut fine, 20_000.0, 30.0, 600, 0.005);
    let stored = fine;
    let mut from_s = 0.0;
    for time_s in [300.0, 1800.0, 7200.0] {
        run(
            &network,
            &mut fine,
            0.0,
            30.0,
            ((time_s - from_s) / 0.01) as u32,
            0.01,
        );
        from_s = time_s;
        let left_j = |ledger: &Ledger| (ledger.nodes().stored_uj() - opening_uj) as f64 * 1.0e-6;
        let (rested_j, fine_j) = (
            left_j(&rested(&network, &stored, time_s, 30.0)),
            left_j(&fine),
        );
        println!(
            "rest {time_s} s: left {rested_j:.2} J, fine run {fine_j:.2} J of {:.0} J",
            left_j(&stored)
        );
        assert!(
            rested_j >= fine_j && rested_j <= fine_j + 0.05 * left_j(&stored),
            "{time_s} s"
        );
    }
}

#[test]
fn the_ledger_lasts_25620_hours_at_100_kilowatt_on_each_side() {
    // Computed: i64 microjoules last 25 620 h at 100 kW.
    let uj_per_hour = 100_000_i64 * 3600 * 1_000_000;
    assert!(uj_per_hour.checked_mul(25_620).is_some());
    assert!(uj_per_hour.checked_mul(25_621).is_none());
    // 25,000 h in moves of 5000 s, all of it passed on to the air.
    let mut ledger = Ledger::default();
    let heat_uj = 500_000_000_000_000_i64;
    let moves = Moves {
        heat_uj: PerSide::both(heat_uj),
        surface_to_oil_uj: PerSide::both(heat_uj),
        oil_to_housing_uj: 2 * heat_uj,
        housing_to_ambient_uj: 2 * heat_uj,
        ..Moves::default()
    };
    for _ in 0..18_000 {
        ledger.move_heat(&moves);
    }
    assert_eq!(ledger.taken_in_uj(), PerSide::both(uj_per_hour * 25_000));
    assert_eq!(ledger.lost_uj(), 2 * i128::from(uj_per_hour) * 25_000);
    assert_eq!(ledger.imbalance_uj(), 0);
}

#[test]
fn five_watt_move_a_node_that_an_f32_temperature_would_never_leave() {
    // Computed: an f32 temperature of a 9000 J/K node at 64 to 128 degC ignores less than 6.866 W at 5 ms.
    let naive = 100.0_f32;
    assert_eq!(
        naive + 5.0 * 0.005 / 9000.0,
        naive,
        "the trap this test guards against is gone"
    );
    let network = Parameters {
        surface_capacity_j_k: 9000.0,
        ..nothing_joined::<f32>()
    };
    let mut ledger = Ledger::opened(network.nodes_at(100.0));
    let before = ledger.nodes().surface_uj.left;
    run(&network, &mut ledger, 5.0, 30.0, 1, 0.005);
    assert_eq!(
        ledger.nodes().surface_uj.left - before,
        25_000,
        "one step of 5 W is 25 mJ"
    );
    let at = run(&network, &mut ledger, 5.0, 30.0, 199_999, 0.005);
    // 1000 s of 5 W into 9000 J/K; 1e-5 K: one unit in the last place of the derived f32.
    assert!((f64::from(at.surface_degc.left) - (100.0 + 5.0 / 9.0)).abs() < 1.0e-5);
}

#[test]
fn five_joule_steps_are_counted_right_where_an_f32_sum_over_counts_and_stalls() {
    // Computed: f32 sum of 5 J steps reads 134 217 728 J after 24 326 963 adds; true 121 634 815 J.
    let mut naive = 0.0_f32;
    let mut ledger = Ledger::default();
    let moves = Moves {
        heat_uj: PerSide {
            left: 5_000_000,
            right: 0,
        },
        ..Moves::default()
    };
    for _ in 0..24_326_963_u32 {
        naive += 5.0;
        ledger.move_heat(&moves);
    }
    assert_eq!(naive, 134_217_728.0);
    assert_eq!(ledger.taken_in_uj().left, 121_634_815_000_000);
    assert_eq!(ledger.nodes().surface_uj.left, 121_634_815_000_000);
}
