//! What derating and forecast promise: no chatter, bounded rates, certain re-entry, an honest time to the limit.

mod thermal_kit;

use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::signal::Limit;
use couplet_controller::stage::Stage;
use couplet_controller::stage::thermal::ledger::Ledger;
use couplet_controller::stage::thermal::{In, Out, State, Thermal, ThermalTunables, derating};
use thermal_kit::{Chance, steady};

/// How a law treats the ceilings of the step before.
#[derive(Clone, Copy, Debug)]
enum Law {
    /// Never grants more than they leave.
    Obedient,
    /// Knows only the order to open.
    Deaf,
}

/// Steps the stage in a closed loop with a law that wants everything; returns every output.
fn abused(
    thermal: &Thermal<f32>,
    state: &mut State<f32>,
    law: Law,
    slip_rad_s: f32,
    time_s: f32,
    period_s: f32,
) -> Vec<Out<f32>> {
    let steps = (time_s / period_s) as u32;
    let mut share = PerSide::both(1.0);
    (0..steps)
        .map(|_| {
            let mut input = steady::<f32>(0.0, slip_rad_s, 5.0, 40.0);
            input.granted_nm = share.map(|share| share * 1100.0);
            let out = thermal.step(state, &input, period_s);
            share = match law {
                Law::Obedient => out.ceiling,
                Law::Deaf => out.open.map(|open| if open { 0.0 } else { 1.0 }),
            };
            out
        })
        .collect()
}

fn changes(outs: &[Out<f32>]) -> Vec<usize> {
    (1..outs.len())
        .filter(|&at| outs[at].open.left != outs[at - 1].open.left)
        .collect()
}

#[test]
fn an_order_to_open_changes_at_most_once_per_dwell_and_always_ends() {
    // At 60 rad/s, 66 kW, the bound passes the absolute limit before the slope, falling at its rate, has closed: there the slope holds
    // an obedient law by the estimate alone (share 0), and the bound orders it open as it does a deaf one.
    let cases = [
        (Law::Obedient, 60.0, 0.005, 0.0),
        (Law::Obedient, 20.0, 0.005, 0.15),
        (Law::Obedient, 6.0, 0.005, 0.15),
        (Law::Deaf, 60.0, 0.005, 0.15),
        (Law::Deaf, 20.0, 0.02, 0.15),
        (Law::Deaf, 6.0, 0.001, 0.15),
    ];
    for (law, slip, period_s, share) in cases {
        let mut thermal = Thermal::<f32>::new(ThermalTunables::nominal());
        thermal.tunables.bound.share = share;
        // Asked of the slope alone: opening where it leaves too little has its own test.
        thermal.tunables.derating.least_share = 0.0;
        let mut state = State::at(&thermal.tunables.network, 40.0);
        let outs = abused(&thermal, &mut state, law, slip, 1200.0, period_s);
        let changes = changes(&outs);
        match law {
            Law::Obedient => assert!(
                changes.is_empty(),
                "the slope alone must hold an obedient law"
            ),
            Law::Deaf => assert!(changes.len() >= 3, "nothing was tried: {}", changes.len()),
        }
        let dwell = thermal.tunables.derating.dwell_s / period_s;
        for pair in changes.windows(2) {
            // One step: the dwell is counted in whole steps.
            assert!(
                (pair[1] - pair[0]) as f32 >= dwell - 1.0,
                "slip {slip}: changes at {pair:?}"
            );
        }
        let peak = outs
            .iter()
            .map(|out| out.surface_degc.left)
            .fold(0.0, f32::max);
        let oil = outs.iter().map(|out| out.oil_degc).fold(0.0, f32::max);
        println!(
            "{law:?}, slip {slip} rad/s at {period_s} s: {} changes of the order in 1200 s, surface peak {peak:.1}, oil peak {oil:.1} degC",
            changes.len()
        );
        // Whatever stands at the end: rest ends it.
        let mut left = None;
        for step in 0..(3600.0 / period_s) as u32 {
            let out = thermal.step(&mut state, &steady(0.0, slip, 0.0, 40.0), period_s);
            if !out.open.left && out.ceiling.left > 0.99 {
                left = Some(step as f32 * period_s);
                break;
            }
        }
        let left = left.expect("full function must come back within an hour at standstill");
        println!("  full function {left:.1} s after the abuse ended");
    }
}

#[test]
fn where_oil_leaves_too_little_the_clutch_opens_to_cool_and_comes_back_without_chatter() {
    // 120 W a rad/s of slip at 6 rad/s keep the oil on its slope for ever: without opening the ceiling settles at a tenth.
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let limits = thermal.tunables.derating;
    let least = |least_share: f32| {
        let mut thermal = thermal;
        thermal.tunables.derating.least_share = least_share;
        let mut state = State::at(&thermal.tunables.network, 40.0);
        abused(&thermal, &mut state, Law::Obedient, 6.0, 2400.0, 0.005)
    };
    let settled = least(0.0).last().map_or(1.0, |out| out.ceiling.left);
    assert!((0.02..limits.least_share).contains(&settled), "{settled}");
    let outs = least(limits.least_share);
    let changes = changes(&outs);
    println!(
        "ceiling {settled:.3} without opening; {} changes of the order in 2400 s",
        changes.len()
    );
    assert!(changes.len() >= 3, "{}", changes.len());
    for (place, at) in changes.iter().enumerate() {
        let out = &outs[*at];
        if place % 2 == 0 {
            // It closes at its own rate before it is ordered open, and the oil is named.
            let fell = (outs[at - 1].ceiling.left, outs[at - 300].ceiling.left);
            assert!(out.open.left && fell.0 < 0.01 && fell.1 > 0.2, "{fell:?}");
            assert_eq!(out.ceiling_by.left, Limit::OilHeat);
        } else {
            assert!(out.oil_bound_degc < limits.oil_reentry_degc);
        }
    }
    for pair in changes.windows(2) {
        let apart_s = (pair[1] - pair[0]) as f32 * 0.005;
        println!("{apart_s:.1} s");
        assert!(apart_s > 5.0 * limits.dwell_s, "{apart_s}");
    }
}

#[test]
fn an_absolute_temperature_opens_at_once_and_reentry_waits_for_its_temperature_and_the_dwell() {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let network = thermal.tunables.network;
    let mut hot = network.temperatures(&network.nodes_at(100.0));
    hot.surface_degc.left = 300.0;
    let mut state = State::<f32> {
        estimate: Ledger::opened(network.nodes(&hot)),
        ..State::default()
    };
    let first = thermal.step(&mut state, &steady(0.0, 0.0, 0.0, 20.0), 0.005);
    assert!(first.open.left && !first.open.right);
    assert_eq!(
        (first.ceiling.left, first.ceiling_by.left),
        (0.0, Limit::AbsoluteHeat)
    );
    let mut closed_after_s = None;
    for step in 2..4000_u32 {
        let out = thermal.step(&mut state, &steady(0.0, 0.0, 0.0, 20.0), 0.005);
        if !out.open.left {
            assert!(out.surface_degc.left < thermal.tunables.derating.surface_reentry_degc);
            closed_after_s = Some(step as f32 * 0.005);
            break;
        }
        assert_eq!(out.ceiling.left, 0.0);
    }
    let closed_after_s = closed_after_s.expect("re-entry");
    assert!(
        closed_after_s >= 2.0,
        "closed after {closed_after_s} s, before the dwell"
    );
}

#[test]
fn the_ceiling_falls_and_rises_no_faster_than_allowed_unless_absolute() {
    let nominal = derating::Parameters::<f32>::nominal();
    let network = ThermalTunables::<f32>::nominal().network;
    for least_share in [0.0, nominal.least_share] {
        let parameters = derating::Parameters {
            least_share,
            ..nominal
        };
        let mut state = PerSide::<derating::SideState<f32>>::default();
        let mut last = 1.0_f32;
        let mut opened = 0;
        let mut chance = Chance(5);
        let (mut surface_degc, mut oil_degc) = (80.0, 80.0);
        for step in 0..50_000 {
            // Held for a second now and then, or no fall would ever come to its end.
            if step % 200 == 0 || step % 2000 < 400 {
                surface_degc = chance.between(150.0, 269.0);
                oil_degc = chance.between(80.0, 149.0);
            }
            let mut at = network.temperatures(&network.nodes_at(80.0));
            at.surface_degc = PerSide::both(surface_degc);
            at.oil_degc = oil_degc;
            let ceiling = derating::step(&parameters, &mut state, &at, 0.005).left;
            // 1e-6: rounding of one minus the share.
            assert!(last - ceiling.share <= 0.5 * 0.005 + 1.0e-6);
            assert!(ceiling.share - last <= 0.2 * 0.005 + 1.0e-6);
            assert_eq!(ceiling.share == 1.0, ceiling.by == Limit::Nothing);
            opened += u32::from(ceiling.open);
            last = ceiling.share;
        }
        assert_eq!(opened > 0, least_share > 0.0, "{opened}");
    }
    let parameters = nominal;
    let mut state = PerSide::<derating::SideState<f32>>::default();
    let mut at = network.temperatures(&network.nodes_at(80.0));
    at.oil_degc = 150.0;
    let ceiling = derating::step(&parameters, &mut state, &at, 0.005);
    assert!(ceiling.left.open && ceiling.right.open);
    assert_eq!(ceiling.left.share, 0.0);
    at.oil_degc = f32::NAN;
    let ceiling = derating::step(&parameters, &mut PerSide::default(), &at, 0.005);
    assert!(ceiling.left.open, "a temperature that is no number is hot");
}

#[test]
fn an_absolute_temperature_takes_all_capacity_even_while_the_dwell_forbids_a_new_order() {
    let parameters = derating::Parameters::<f32>::nominal();
    let network = ThermalTunables::<f32>::nominal().network;
    let at = |surface: f32| {
        let mut at = network.temperatures(&network.nodes_at(80.0));
        at.surface_degc = PerSide {
            left: surface,
            right: 80.0,
        };
        at
    };
    let mut state = PerSide::default();
    assert!(
        derating::step(&parameters, &mut state, &at(300.0), 0.005)
            .left
            .open
    );
    // Cool again: closes after the dwell of 2 s, 400 steps.
    while derating::step(&parameters, &mut state, &at(100.0), 0.005)
        .left
        .open
    {}
    let again = derating::step(&parameters, &mut state, &at(300.0), 0.005);
    assert!(!again.left.open, "the order changed twice within one dwell");
    assert_eq!(
        (again.left.share, again.left.by),
        (0.0, Limit::AbsoluteHeat)
    );
    assert_eq!((again.right.share, again.right.by), (1.0, Limit::Nothing));
}

#[test]
fn the_name_of_the_ceiling_is_the_tightest_limit() {
    let parameters = derating::Parameters::<f32>::nominal();
    assert_eq!(
        derating::slope(&parameters, 230.0, 100.0, 100.0),
        (0.5, Limit::SurfaceHeat)
    );
    assert_eq!(
        derating::slope(&parameters, 230.0, 210.0, 100.0),
        (0.25, Limit::CoreHeat)
    );
    assert_eq!(
        derating::slope(&parameters, 230.0, 210.0, 139.0).1,
        Limit::OilHeat
    );
    assert_eq!(
        derating::slope(&parameters, 20.0, 20.0, 20.0),
        (1.0, Limit::Nothing)
    );
}

#[test]
fn the_forecast_names_the_time_a_fine_run_takes() {
    let mut worst = 0.0_f64;
    for heat_w in [700.0_f32, 1000.0, 2000.0, 4000.0, 8000.0, 16_000.0] {
        let mut thermal = Thermal::<f64>::new(ThermalTunables::nominal());
        // A short memory of the use: judged is the look ahead, not how long the mean takes to learn.
        thermal.tunables.forecast.use_memory_s = 0.1;
        // The bound is the estimate, which the fine run below follows.
        thermal.tunables.bound.share = 0.0;
        let mut state = State::at(&thermal.tunables.network, 50.0);
        let slip = f64::from(heat_w) / 800.0;
        let input = In {
            slip_rad_s: PerSide::both(Sensed::Fresh(slip)),
            ..steady::<f64>(800.0, 0.0, 0.0, 30.0)
        };
        let mut out = Out::default();
        for _ in 0..400 {
            out = thermal.step(&mut state, &input, 0.005);
        }
        let told = out.time_to_limit_s.left;
        let limits = thermal.tunables.derating;
        let mut took = 0.0;
        while out.surface_degc.left < limits.surface_limit_degc
            && out.core_degc.left < limits.core_limit_degc
            && out.oil_degc < limits.oil_limit_degc
            && took < 3600.0
        {
            out = thermal.step(&mut state, &input, 0.005);
            took += 0.005;
        }
        println!("{heat_w} W a side: told {told:.2} s, took {took:.2} s");
        // 0.5 s: half of a whole look of 1 s, as much as a result can be old; at these powers that counts.
        worst = worst.max(((told - took).abs() - 0.5).max(0.0) / took);
    }
    println!("forecast of steady use: worst {:.1} %", worst * 100.0);
    // 10 %: backward Euler in strides growing by 1.2.
    assert!(worst < 0.1, "{worst}");
}

#[test]
fn an_idle_axle_has_the_whole_horizon_and_a_hot_one_nothing() {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let mut state = State::at(&thermal.tunables.network, 30.0);
    for _ in 0..100 {
        let out = thermal.step(&mut state, &steady(0.0, 0.0, 0.0, 30.0), 0.005);
        assert_eq!(out.time_to_limit_s, PerSide::both(3600.0));
    }
    let mut state = State::at(&thermal.tunables.network, 145.0);
    let out = thermal.step(&mut state, &steady(0.0, 0.0, 0.0, 30.0), 0.005);
    assert_eq!(out.time_to_limit_s, PerSide::both(0.0));
}
