//! The plant's heat network against matrix exponentials and forward Euler values computed elsewhere.
//!
//! All values are CALC: computed outside this project (numpy, scipy) from the stated inputs and given to ten digits; they
//! are met to 1e-6 relative. The exact solution is built here from the network's own flows, by scaling and squaring.

use approx::assert_relative_eq;
use couplet_sim::plant::heat::{Link, euler_step, net_heat_w};

fn close(value: f64, expected: f64) {
    assert_relative_eq!(value, expected, max_relative = 1e-6);
}

/// exp(A t) b + integral of it for dT/dt = A T + b, by scaling and squaring of the augmented matrix.
fn exact<const N: usize, const M: usize>(
    start: [f64; N],
    capacity: [f64; N],
    links: &[Link],
    inflow: [f64; N],
    time: f64,
) -> [f64; N] {
    assert_eq!(M, N + 1);
    let mut rate = [[0.0; M]; M];
    for column in 0..N {
        let mut unit = [0.0; N];
        unit[column] = 1.0;
        let heat = net_heat_w(&unit, links);
        for row in 0..N {
            rate[row][column] = heat[row] / capacity[row];
        }
    }
    for row in 0..N {
        rate[row][N] = inflow[row] / capacity[row];
    }
    let multiply = |a: &[[f64; M]; M], b: &[[f64; M]; M]| {
        let mut product = [[0.0; M]; M];
        for row in 0..M {
            for column in 0..M {
                product[row][column] = (0..M).map(|index| a[row][index] * b[index][column]).sum();
            }
        }
        product
    };
    // 2^-20 of the time leaves norms below 0.01, where 10 terms of the series are exact to rounding.
    let scaled = rate.map(|row| row.map(|value| value * time / f64::from(1 << 20)));
    let mut sum = [[0.0; M]; M];
    for (index, row) in sum.iter_mut().enumerate() {
        row[index] = 1.0;
    }
    let mut term = sum;
    for order in 1..=10 {
        term = multiply(&term, &scaled).map(|row| row.map(|value| value / f64::from(order)));
        for row in 0..M {
            for column in 0..M {
                sum[row][column] += term[row][column];
            }
        }
    }
    for _ in 0..20 {
        sum = multiply(&sum, &sum);
    }
    let mut end = [0.0; N];
    for row in 0..N {
        end[row] = (0..N)
            .map(|column| sum[row][column] * start[column])
            .sum::<f64>()
            + sum[row][N];
    }
    end
}

fn euler<const N: usize>(
    start: [f64; N],
    capacity: [f64; N],
    links: &[Link],
    inflow: [f64; N],
    time: f64,
    step: f64,
) -> [f64; N] {
    let mut temperature = start;
    for _ in 0..libm::round(time / step) as u64 {
        euler_step(&mut temperature, &capacity, links, &inflow, step);
    }
    temperature
}

fn link(from: usize, to: usize, conductance_w_k: f64) -> Link {
    Link {
        from,
        to,
        conductance_w_k,
    }
}

#[test]
fn one_node_network_follows_the_exponential() {
    // CALC, matrix exponential: C 1200 J/K, G 25 W/K, air 80 degC, 3000 W.
    let capacity = [1200.0, f64::INFINITY];
    let links = [link(0, 1, 25.0)];
    for (time, expected) in [
        (1.0, 82.474_138_2),
        (5.0, 91.870_987_3),
        (10.0, 102.567_638_5),
        (30.0, 135.768_628_6),
        (48.0, 155.854_467_1),
        (60.0, 165.619_424_4),
        (120.0, 190.149_800_2),
        (300.0, 199.768_345_6),
    ] {
        close(
            exact::<2, 3>([80.0; 2], capacity, &links, [3000.0, 0.0], time)[0],
            expected,
        );
    }
    for (step, expected) in [
        (0.005, 155.856_766_4),
        (0.01, 155.859_066_0),
        (0.1, 155.900_491_9),
    ] {
        close(
            euler([80.0; 2], capacity, &links, [3000.0, 0.0], 48.0, step)[0],
            expected,
        );
    }
    for (time, expected) in [
        (10.0, 177.432_361_5),
        (48.0, 124.145_532_9),
        (100.0, 94.941_736_6),
    ] {
        close(
            exact::<2, 3>([200.0, 80.0], capacity, &links, [0.0; 2], time)[0],
            expected,
        );
    }
}

#[test]
fn two_node_network_follows_the_matrix_exponential() {
    // CALC: C 400/1600 J/K, 150 W/K between, 30 W/K to air of 80 degC, 5000 W into the first.
    let capacity = [400.0, 1600.0, f64::INFINITY];
    let links = [link(0, 1, 150.0), link(1, 2, 30.0)];
    let inflow = [5000.0, 0.0, 0.0];
    for (time, first, second) in [
        (0.1, 81.226_924_426, 80.005_765_276),
        (0.5, 85.707_258_113, 80.135_254_334),
        (2.0, 97.975_268_438, 81.732_863_028),
        (5.0, 111.694_650_121, 87.429_074_648),
        (30.0, 165.319_746_111, 136.536_050_614),
        (60.0, 206.606_508_314, 176.184_857_671),
        (120.0, 249.939_550_722, 217.798_782_122),
        (1.0, 90.482_989_681, 80.500_997_676),
        (10.0, 125.393_608_750, 98.418_883_573),
        (120.0, 249.939_550_722, 217.798_782_122),
    ] {
        let end = exact::<3, 4>([80.0; 3], capacity, &links, inflow, time);
        close(end[0], first);
        close(end[1], second);
    }
    for (step, first, second) in [
        (0.005, 125.395_491_458, 98.419_436_485),
        (0.01, 125.397_371_736, 98.419_990_128),
        (0.1, 125.430_795_518, 98.430_082_074),
    ] {
        let end = euler([80.0; 3], capacity, &links, inflow, 10.0, step);
        close(end[0], first);
        close(end[1], second);
    }
}

/// Surface, core, oil, housing and air of the reference with four nodes, W/K.
fn four_links() -> [Link; 5] {
    [
        link(0, 1, 600.0),
        link(0, 2, 40.0),
        link(1, 2, 60.0),
        link(2, 3, 80.0),
        link(3, 4, 25.0),
    ]
}

#[test]
fn four_node_network_follows_the_matrix_exponential_and_keeps_its_ledger() {
    // CALC: surface, core, oil, housing, air of 30 degC.
    let capacity = [150.0, 900.0, 1500.0, 9000.0, f64::INFINITY];
    let links = four_links();
    let cold = [30.0; 5];
    let steady_power = [2000.0, 0.0, 0.0, 0.0, 0.0];
    let rows = [
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
            10.0,
            [
                44.957_522_260,
                42.619_541_024,
                33.526_597_636,
                30.122_242_192,
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
    for (time, expected) in rows {
        let end = exact::<5, 6>(cold, capacity, &links, steady_power, time);
        for node in 0..4 {
            close(end[node], expected[node]);
        }
    }
    // Five seconds, and what is stored after one.
    let end = exact::<5, 6>(cold, capacity, &links, steady_power, 5.0);
    for (node, expected) in [
        39.655_343_364,
        37.185_538_409,
        31.262_029_553,
        30.021_214_929,
    ]
    .into_iter()
    .enumerate()
    {
        close(end[node], expected);
    }
    let stored = |end: [f64; 5]| {
        (0..4)
            .map(|node| capacity[node] * (end[node] - 30.0))
            .sum::<f64>()
    };
    // A difference of temperatures near 30 loses two digits, so 1e-6 is asked of joules that are given to ten.
    close(
        stored(exact::<5, 6>(cold, capacity, &links, steady_power, 10.0)),
        19_991.291_442,
    );
    close(
        stored(exact::<5, 6>(cold, capacity, &links, steady_power, 300.0)),
        472_946.347,
    );

    close(
        stored(exact::<5, 6>(cold, capacity, &links, steady_power, 1.0)),
        1_999.997_917,
    );

    let pulse = [20_000.0, 0.0, 0.0, 0.0, 0.0];
    let hot = exact::<5, 6>(cold, capacity, &links, pulse, 3.0);
    close(stored(hot), 59_998.843_810);
    for (node, expected) in [
        100.565_709_318,
        75.042_160_602,
        35.581_408_699,
        30.055_992_202,
    ]
    .into_iter()
    .enumerate()
    {
        close(hot[node], expected);
    }
    for (time, expected) in [
        (
            1.0,
            [
                73.646_030_847,
                74.994_117_899,
                37.942_177_908,
                30.115_762_338,
            ],
        ),
        (
            10.0,
            [
                56.290_086_758,
                56.788_070_564,
                44.754_452_952,
                31.076_192_298,
            ],
        ),
        (
            60.0,
            [
                38.439_202_635,
                38.492_706_018,
                37.181_510_852,
                34.047_199_412,
            ],
        ),
    ] {
        let end = exact::<5, 6>(hot, capacity, &links, [0.0; 5], time);
        for node in 0..4 {
            close(end[node], expected[node]);
        }
    }
    for (step, surface, core) in [
        (0.005, 100.573_249_045, 75.050_222_885),
        (0.01, 100.580_794_351, 75.058_291_504),
        (0.05, 100.641_361_446, 75.123_069_377),
    ] {
        let end = euler(cold, capacity, &links, pulse, 3.0, step);
        close(end[0], surface);
        close(end[1], core);
    }
}

#[test]
fn longest_stable_steps_and_the_steady_power_of_a_surface_of_180_degrees_are_the_computed_ones() {
    // CALC: forward Euler is stable below twice the shortest time constant, 4.231703 s with two nodes, 0.4076205 s with four.
    let swing = |limit_s: f64, share: f64, run: &dyn Fn(f64, u32) -> f64| {
        let step = share * limit_s;
        (run(step, 400).abs(), run(step, 4000).abs())
    };
    let two = |step: f64, count: u32| {
        let mut at = [1.0, 0.0, 0.0];
        let links = [link(0, 1, 150.0), link(1, 2, 30.0)];
        for _ in 0..count {
            euler_step(
                &mut at,
                &[400.0, 1600.0, f64::INFINITY],
                &links,
                &[0.0; 3],
                step,
            );
        }
        at[0]
    };
    let links = four_links();
    let capacity = [150.0, 900.0, 1500.0, 9000.0, f64::INFINITY];
    let four = |step: f64, count: u32| {
        let mut at = [1.0, 0.0, 0.0, 0.0, 0.0];
        for _ in 0..count {
            euler_step(&mut at, &capacity, &links, &[0.0; 5], step);
        }
        at[0]
    };
    for (limit_s, run) in [
        (4.231_703, &two as &dyn Fn(f64, u32) -> f64),
        (0.407_620_5, &four),
    ] {
        let (early, late) = swing(limit_s, 0.999, run);
        assert!(late < early, "{limit_s}: {early} {late}");
        let (early, late) = swing(limit_s, 1.001, run);
        assert!(late > 10.0 * early, "{limit_s}: {early} {late}");
    }
    // 0.0630769231 K/W from surface to air of 30 degC: 2378.048780 W hold 180 degC for ever.
    let steady = [2_378.048_780, 0.0, 0.0, 0.0, 0.0];
    let end = exact::<5, 6>([30.0; 5], capacity, &links, steady, 20_000.0);
    close(end[0], 180.0);
}

/// Determinant by elimination with the largest pivot.
fn determinant<const N: usize>(mut matrix: [[f64; N]; N]) -> f64 {
    let mut product = 1.0;
    for column in 0..N {
        let largest = (column..N)
            .max_by(|a, b| {
                matrix[*a][column]
                    .abs()
                    .total_cmp(&matrix[*b][column].abs())
            })
            .expect("a row is left");
        if largest != column {
            matrix.swap(largest, column);
            product = -product;
        }
        let pivot = matrix[column];
        product *= pivot[column];
        for row in &mut matrix[column + 1..] {
            let share = row[column] / pivot[column];
            for (value, above) in row.iter_mut().zip(pivot) {
                *value -= share * above;
            }
        }
    }
    product
}

/// A time constant of the network lies within 1e-7 of the one computed: the characteristic polynomial changes its sign there.
#[track_caller]
fn has_time_constant<const N: usize>(capacity: [f64; N], links: &[Link], nodes: usize, tau_s: f64) {
    let at = |tau_s: f64| {
        let mut matrix = [[0.0; N]; N];
        for column in 0..N {
            let mut unit = [0.0; N];
            unit[column] = 1.0;
            let heat = net_heat_w(&unit, links);
            for row in 0..N {
                // What stands for the air keeps its temperature and has no time constant.
                let inside = row < nodes && column < nodes;
                matrix[row][column] = if inside {
                    heat[row] / capacity[row]
                } else {
                    0.0
                };
            }
            matrix[column][column] += if column < nodes { 1.0 / tau_s } else { 1.0 };
        }
        determinant(matrix)
    };
    assert!(
        at(tau_s * (1.0 - 1e-7)) * at(tau_s * (1.0 + 1e-7)) < 0.0,
        "{tau_s} s"
    );
}

#[test]
fn networks_have_the_computed_time_constants_and_end_at_the_computed_temperatures() {
    // CALC, eigenvalues. One node: 1200 J/K over 25 W/K.
    has_time_constant::<2>([1200.0, f64::INFINITY], &[link(0, 1, 25.0)], 1, 48.0);
    let two = [400.0, 1600.0, f64::INFINITY];
    let links = [link(0, 1, 150.0), link(1, 2, 30.0)];
    for tau_s in [2.115_851_691, 67.217_481_642] {
        has_time_constant::<3>(two, &links, 2, tau_s);
    }
    let end = exact::<3, 4>([80.0; 3], two, &links, [5000.0, 0.0, 0.0], 4000.0);
    close(end[0], 280.0);
    close(end[1], 246.666_666_667);

    let four = [150.0, 900.0, 1500.0, 9000.0, f64::INFINITY];
    let links = four_links();
    for tau_s in [0.203_810_229, 5.316_156_331, 28.644_686_75, 470.527_654_383] {
        has_time_constant::<5>(four, &links, 4, tau_s);
    }
    let steady = [2000.0, 0.0, 0.0, 0.0, 0.0];
    let end = exact::<5, 6>([30.0; 5], four, &links, steady, 20_000.0);
    for (found, expected) in end
        .into_iter()
        .zip([156.153_846_154, 154.230_769_231, 135.0, 110.0])
    {
        close(found, expected);
    }
    // After the pulse of 20 kW for 3 s oil and housing keep rising while the surface falls.
    let pulse = [20_000.0, 0.0, 0.0, 0.0, 0.0];
    let mut before = exact::<5, 6>([30.0; 5], four, &links, pulse, 3.0);
    for _ in 0..10 {
        let after = exact::<5, 6>(before, four, &links, [0.0; 5], 1.0);
        assert!(after[0] < before[0] && after[2] > before[2] && after[3] > before[3]);
        before = after;
    }
    // 30 kJ into 1.2 kg of steel of 480 J/(kg K), CALC.
    let mut steel = [0.0];
    euler_step(&mut steel, &[1.2 * 480.0], &[], &[30_000.0], 1.0);
    close(steel[0], 52.083_333);
}
