//! Life counters against published tables: ageing of oil, damage sums, rainflow counting.
//!
//! Sources beside each check; "computed" means outside this project's code (Python, `rainflow` 3.2.0) from the stated inputs.

use approx::assert_relative_eq;
use couplet_controller::stage::thermal::life::{Ageing, Basquin, CLASSES, Cycles, OilAge};
use couplet_controller::stage::thermal::rainflow::{Cycle, Rainflow};
use couplet_tests::property;
use proptest::prelude::*;

const REFERENCE_DEGC: f64 = 100.0;

fn arrhenius(kilojoule_mol: f64) -> Ageing<f64> {
    Ageing::Arrhenius {
        activation_j_mol: 1000.0 * kilojoule_mol,
    }
}

#[test]
fn rate_of_ageing_doubles_over_ten_kelvin_at_the_computed_activation_energies() {
    // "Ten kelvin double the rate" (trade rule, two lubrication articles) fits Arrhenius at one temperature only: Ea = R ln 2 T (T + 10)/10.
    for (degc, kilojoule_mol) in [
        (80.0, 73.910),
        (90.0, 78.096),
        (100.0, 82.397),
        (110.0, 86.813),
        (120.0, 91.345),
        (130.0, 95.992),
        (140.0, 100.754),
    ] {
        // Energies are given to five digits.
        assert_relative_eq!(
            arrhenius(kilojoule_mol).rate(degc + 10.0, degc),
            2.0,
            max_relative = 1e-4
        );
    }
}

#[test]
fn arrhenius_rates_are_the_computed_ones() {
    let table = [
        (80.0, [0.045_23, 0.232_17, 3.712_59, 12.139_44, 21.048_48]),
        (100.0, [0.020_86, 0.161_16, 5.153_42, 22.659_4, 45.084_37]),
        (120.0, [0.009_62, 0.111_87, 7.153_44, 42.295_89, 96.567_55]),
    ];
    for (kilojoule_mol, rates) in table {
        for (degc, rate) in [60.0, 80.0, 120.0, 140.0, 150.0].into_iter().zip(rates) {
            let found = arrhenius(kilojoule_mol).rate(degc, REFERENCE_DEGC);
            // Half of the last digit given.
            assert!(
                (found - rate).abs() < 5.1e-6 + 1e-6 * rate,
                "{found} for {rate}"
            );
        }
    }
}

#[test]
fn invented_mission_ages_the_oil_by_the_computed_hours() {
    let hours = [
        (60.0, 3000.0),
        (80.0, 2000.0),
        (100.0, 800.0),
        (120.0, 150.0),
        (140.0, 50.0),
    ];
    let ten_kelvin = Ageing::Doubling { over_k: 10.0 };
    for (ageing, expected) in [
        (arrhenius(80.0), 2563.889),
        (arrhenius(100.0), 3090.876),
        (ten_kelvin, 2887.5),
    ] {
        let (mut oil, mut rest_us) = (OilAge::default(), 0.0);
        for (degc, hours) in hours {
            // As the law would: a second at a time, and the sum is exact to a microsecond each.
            let minutes = (hours * 60.0) as u32;
            for _ in 0..minutes {
                oil.grow(&ageing, degc, REFERENCE_DEGC, 60.0, &mut rest_us);
            }
        }
        assert_relative_eq!(oil.us as f64 / 3.6e9, expected, max_relative = 1e-6);
    }
}

#[test]
fn trade_rule_for_transmission_oil_is_met_within_five_percent() {
    // Trade rule as printed: 100,000 miles at 175 degF, half for every 20 degF more; its tail is rounded more loosely.
    let rule = Ageing::Doubling { over_k: 20.0 / 1.8 };
    let degc = |fahrenheit: f64| (fahrenheit - 32.0) / 1.8;
    for (fahrenheit, miles) in [
        (195.0, 50_000.0),
        (235.0, 12_000.0),
        (255.0, 6250.0),
        (275.0, 3000.0),
        (295.0, 1500.0),
        (315.0, 750.0),
    ] {
        let found = 100_000.0 / rule.rate(degc(fahrenheit), degc(175.0));
        assert!((found / miles - 1.0).abs() < 0.05, "{found} for {miles}");
    }
}

#[test]
fn ageing_of_paper_in_oil_is_that_of_the_loading_guide() {
    // IEEE C57.91, exp(15000/383 - 15000/(T + 273)) (formula from memory, values computed): an activation energy of 15000 K times R.
    let guide = Ageing::Arrhenius {
        activation_j_mol: 15_000.0 * 8.314_462_618,
    };
    for (degc, factor) in [
        (80.0, 0.0358),
        (98.0, 0.2817),
        (110.0, 1.0),
        (117.0, 2.0197),
        (120.0, 2.7089),
        (130.0, 6.9842),
        (140.0, 17.1995),
        (150.0, 40.589),
        (160.0, 92.0617),
        (180.0, 424.923),
    ] {
        // The guide counts from 273 K, not 273.15 K. Half of the last digit given.
        let found: f64 = guide.rate(degc - 0.15, 110.0 - 0.15);
        assert!(
            (found - factor).abs() < 5.1e-5 + 2e-6 * factor,
            "{found} for {factor}"
        );
    }
    // IEC 60076-7, doubling every 6 K from 98 degC (from memory).
    let six_kelvin = Ageing::Doubling { over_k: 6.0 };
    for (degc, factor) in [
        (104.0_f64, 2.0),
        (110.0, 4.0),
        (122.0, 16.0),
        (140.0, 128.0),
    ] {
        assert_relative_eq!(six_kelvin.rate(degc, 98.0), factor, max_relative = 1e-6);
    }
}

#[test]
fn damage_sums_are_those_of_miner_and_basquin() {
    // Miner, public textbook page: 0.1 + 0.2 + 0.25 = 0.55.
    let sum: f64 = [(2e5, 2e6), (2e4, 1e5), (500.0, 2e3)]
        .into_iter()
        .map(|(cycles, to_failure)| {
            let curve = Basquin {
                reference_range: 1.0,
                reference_cycles: to_failure,
                exponent: 5,
            };
            curve.used(1.0, cycles)
        })
        .sum();
    assert_relative_eq!(sum, 0.55, max_relative = 1e-12);
    // Basquin N = 0.5 (s/1000)^-10: 524288 at 250 and 4882812.5 at 200; computed.
    let curve = Basquin {
        reference_range: 1000.0,
        reference_cycles: 0.5,
        exponent: 10,
    };
    assert_relative_eq!(1.0 / curve.used(250.0, 1.0), 524_288.0, max_relative = 1e-9);
    assert_relative_eq!(
        1.0 / curve.used(200.0, 1.0),
        4_882_812.5,
        max_relative = 1e-9
    );
    assert_relative_eq!(curve.used(250.0, 5000.0), 0.009_536_74, max_relative = 1e-6);
    let sum = curve.used(250.0, 5000.0) + curve.used(200.0, 10_000.0);
    assert_relative_eq!(sum, 0.011_584_74, max_relative = 1e-6);
    assert_relative_eq!(1.0 / sum, 86.320_43, max_relative = 1e-6);
}

/// Every cycle of a course, what is left over included.
fn counted<const N: usize>(course: &[i32]) -> Vec<Cycle> {
    let mut cycles = Vec::new();
    let mut rainflow = Rainflow::<N, i32>::default();
    for value in course {
        rainflow.take(*value, |cycle| cycles.push(cycle));
    }
    rainflow.left_over(|cycle| cycles.push(cycle));
    cycles
}

fn by_range(cycles: &[Cycle]) -> Vec<(u32, u32)> {
    let mut sums = std::collections::BTreeMap::new();
    for cycle in cycles {
        *sums.entry(cycle.range).or_insert(0) += u32::from(cycle.halves);
    }
    sums.into_iter().collect()
}

#[test]
fn rainflow_counts_the_history_of_the_standard() {
    // ASTM E1049, example of 5.4.4 (table from memory, computed alike): range and halves; range, mean and halves.
    let course = [-2, 1, -3, 5, -1, 3, -4, 4, -2];
    let cycles = counted::<32>(&course);
    assert_eq!(by_range(&cycles), [(3, 1), (4, 3), (6, 1), (8, 2), (9, 1)]);
    let mut triples: Vec<_> = cycles
        .iter()
        .map(|cycle| (cycle.range, cycle.twice_mean, cycle.halves))
        .collect();
    triples.sort_unstable();
    let mut expected = [
        (3, -1, 1),
        (4, -2, 1),
        (4, 2, 2),
        (8, 2, 1),
        (9, 1, 1),
        (8, 0, 1),
        (6, 2, 1),
    ];
    expected.sort_unstable();
    assert_eq!(triples, expected);
    // Equivalent ranges and damage, computed: 6.491112 at m = 3, 7.012657 at m = 5, D = 6.7838e-7 with N = 1e6 (10/S)^5.
    let mut life = Cycles::default();
    for cycle in &cycles {
        life.count(*cycle, 1);
    }
    let curve = |exponent, range: f64, cycles: f64| Basquin {
        reference_range: range,
        reference_cycles: cycles,
        exponent,
    };
    let equivalent = |exponent: u8| {
        let whole = f64::from(life.halves.iter().sum::<u32>()) / 2.0;
        (life.used(1.0, &curve(exponent, 1.0, 1.0)) / whole).powf(1.0 / f64::from(exponent))
    };
    assert_relative_eq!(equivalent(3), 6.491_112, max_relative = 1e-6);
    assert_relative_eq!(equivalent(5), 7.012_657, max_relative = 1e-6);
    assert_relative_eq!(
        life.used(1.0, &curve(5, 10.0, 1e6)),
        6.7838e-7,
        max_relative = 1e-4
    );
}

#[test]
fn rainflow_counts_the_sample_of_the_public_package() {
    // README of a public rainflow package: 0.2 + 0.5 sin t + 0.2 cos 10 t + 0.2 sin 4 t, t = 4 i/200; read and computed.
    let course: Vec<i32> = (0..=200)
        .map(|index| {
            let t = 4.0 * f64::from(index) / 200.0;
            let value = 0.2 + 0.5 * t.sin() + 0.2 * (10.0 * t).cos() + 0.2 * (4.0 * t).sin();
            (value * 1e8).round() as i32
        })
        .collect();
    let expected = [
        (0.042_589_7, 1),
        (0.109_734_4, 2),
        (0.112_946_3, 1),
        (0.205_710_7, 2),
        (0.214_679_9, 2),
        (0.438_898_6, 2),
        (0.483_057_5, 1),
        (0.528_642_4, 1),
        (0.780_933_0, 1),
        (1.434_361_0, 1),
    ];
    let found = by_range(&counted::<32>(&course));
    assert_eq!(found.len(), expected.len());
    for ((range, halves), (size, times)) in found.into_iter().zip(expected) {
        // Seven digits are given.
        assert!(
            (f64::from(range) * 1e-8 - size).abs() < 1e-7,
            "{range} for {size}"
        );
        assert_eq!(halves, times);
    }
}

#[test]
fn a_dropped_turning_point_takes_no_large_range_with_it() {
    // A random search found this course: with room for six points the oldest was dropped, and with it the range 42 to -43.
    let course = [42, -27, 24, 0, 10, 1, 2, 0, -43];
    let largest = |cycles: &[Cycle]| cycles.iter().map(|cycle| cycle.range).max();
    assert_eq!(largest(&counted::<256>(&course)), Some(85));
    assert_eq!(largest(&counted::<6>(&course)), Some(85));
}

proptest! {
    #![proptest_config(property(200))]

    /// With too little memory the count uses at least as much life, and in classes it never loses a cycle.
    #[test]
    fn too_little_memory_never_counts_less_life(course in prop::collection::vec(-50_i32..50, 2..400)) {
        let used = |cycles: &[Cycle]| {
            let mut life = Cycles::default();
            cycles.iter().for_each(|cycle| life.count(*cycle, 7));
            let curve = Basquin { reference_range: 100.0, reference_cycles: 1e6, exponent: 5 };
            life.used(7.0, &curve)
        };
        let large = counted::<256>(&course);
        for small in [counted::<2>(&course), counted::<3>(&course), counted::<4>(&course), counted::<6>(&course)] {
            prop_assert!(used(&small) >= used(&large) * (1.0 - 1e-12), "{} {}", used(&small), used(&large));
        }
        let mut rainflow = Rainflow::<256, i32>::default();
        for value in &course {
            rainflow.take(*value, |_| ());
            prop_assert!(rainflow.waiting() <= 2 * 100);
        }
    }

    /// Counters are full rather than wrong, and what waits comes back from its parts.
    #[test]
    fn life_counters_survive_storage(
        halves in prop::array::uniform16(any::<u32>()),
        range in any::<u32>(),
        width in any::<u32>(),
        aged_us in any::<u64>(),
        course in prop::collection::vec(any::<i32>(), 0..60),
    ) {
        let before = Cycles { halves };
        let mut after = before;
        after.count(Cycle { range, twice_mean: 0, halves: 2 }, width);
        let more = (0..CLASSES).filter(|class| after.halves[*class] != before.halves[*class]).count();
        prop_assert!(more <= 1);
        prop_assert!((0..CLASSES).all(|class| after.halves[class] >= before.halves[class]));
        let hot = Ageing::Arrhenius { activation_j_mol: 100.0e3_f32 };
        let mut oil = OilAge { us: aged_us };
        oil.grow(&hot, f32::NAN, 100.0, 1.0, &mut 0.0);
        prop_assert!(oil.us > aged_us || aged_us > u64::MAX - 1_000_000_000);
        let mut flow = Rainflow::<8, i32>::default();
        course.iter().for_each(|value| flow.take(*value, |_| ()));
        let (points, waits, last) = flow.to_parts();
        prop_assert_eq!(Rainflow::from_parts(points, waits, last), Some(flow));
        prop_assert_eq!(Rainflow::<8, i32>::from_parts(points, 9, last), None);
        // Kept in half the memory, the same course counts alike.
        let (mut wide, mut narrow) = (Rainflow::<8, i32>::default(), Rainflow::<8, i16>::default());
        let (mut counted, mut alike) = (Vec::new(), Vec::new());
        for value in course.iter().map(|value| value >> 16) {
            wide.take(value, |cycle| counted.push(cycle));
            narrow.take(value, |cycle| alike.push(cycle));
        }
        wide.left_over(|cycle| counted.push(cycle));
        narrow.left_over(|cycle| alike.push(cycle));
        prop_assert_eq!(counted, alike);
        prop_assert_eq!(wide.to_parts(), narrow.to_parts());
    }
}
