//! What the thermal stage promises, whatever it is fed.

mod thermal_kit;

use couplet_controller::numerics::{Fast, Scalar};
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::signal::Limit;
use couplet_controller::stage::Stage;
use couplet_controller::stage::thermal::ledger::Ledger;
use couplet_controller::stage::thermal::network::{Surroundings, explicit_moves, relaxed};
use couplet_controller::stage::thermal::usage::Told;
use couplet_controller::stage::thermal::{
    In, Out, Rest, State, Thermal, ThermalTunables, derating, slip_power,
};
use proptest::prelude::*;
use thermal_kit::{Chance, From32, all_finite, cast, steady};

fn books_balance<S: From32>(seed: u64) {
    let thermal = Thermal::<S>::new(ThermalTunables::nominal());
    let mut state = State::at(&thermal.tunables.network, S::of(20.0));
    let mut chance = Chance(seed);
    for step in 0..1_000_000_u32 {
        let input = cast::<S>(&chance.input());
        let out = thermal.step(&mut state, &input, S::of(0.005));
        assert!(all_finite(&out), "step {step}: {out:?}");
        assert!(out.heat_w.left >= S::ZERO && out.heat_w.right >= S::ZERO);
        assert!(out.ceiling.left >= S::ZERO && out.ceiling.left <= S::ONE);
        if step % 1000 == 0 {
            assert_eq!(state.estimate.imbalance_uj(), 0, "step {step}");
        }
    }
    assert_eq!(state.estimate.imbalance_uj(), 0);
    assert!(state.estimate.taken_in_uj().left > 0 && state.estimate.lost_uj() > 0);
}

#[test]
fn taken_in_is_stored_plus_lost_to_the_last_unit_after_a_million_wild_steps() {
    books_balance::<f32>(0x5eed_0001);
    books_balance::<f64>(0x5eed_0002);
    books_balance::<Fast>(0x5eed_0003);
}

fn mirrors<S: From32>(seed: u64) {
    let thermal = Thermal::<S>::new(ThermalTunables::nominal());
    let mut plain = State::at(&thermal.tunables.network, S::of(20.0));
    let mut mirror = plain;
    let mut chance = Chance(seed);
    for step in 0..200_000_u32 {
        let input = cast::<S>(&chance.input());
        let flipped = In {
            granted_nm: input.granted_nm.mirrored(),
            slip_rad_s: input.slip_rad_s.mirrored(),
            ..input
        };
        let one = thermal.step(&mut plain, &input, S::of(0.005));
        let other = thermal.step(&mut mirror, &flipped, S::of(0.005));
        let back = Out {
            torque_nm: other.torque_nm.mirrored(),
            heat_w: other.heat_w.mirrored(),
            surface_degc: other.surface_degc.mirrored(),
            core_degc: other.core_degc.mirrored(),
            surface_bound_degc: other.surface_bound_degc.mirrored(),
            core_bound_degc: other.core_bound_degc.mirrored(),
            ceiling: other.ceiling.mirrored(),
            ceiling_by: other.ceiling_by.mirrored(),
            time_to_limit_s: other.time_to_limit_s.mirrored(),
            open: other.open.mirrored(),
            life: Told {
                clutch_used: other.life.clutch_used.mirrored(),
                ..other.life
            },
            ..other
        };
        assert_eq!(one, back, "step {step}");
        assert_eq!(plain.estimate, mirror.estimate.mirrored(), "step {step}");
    }
}

#[test]
fn a_mirrored_run_is_the_mirrored_run_to_the_last_bit() {
    mirrors::<f32>(0x5eed_0011);
    mirrors::<f64>(0x5eed_0012);
}

fn nodes_of<S: Scalar>(out: &Out<S>) -> [f32; 6] {
    [
        out.surface_degc.left,
        out.surface_degc.right,
        out.core_degc.left,
        out.core_degc.right,
        out.oil_degc,
        out.housing_degc,
    ]
    .map(Scalar::to_f32)
}

/// Largest amounts, K, by which the run with more heat was colder and was warmer anywhere.
fn colder_by<S: From32>(seed: u64, steps: u32, period_s: f32) -> (f32, f32) {
    let thermal = Thermal::<S>::new(ThermalTunables::nominal());
    let mut cool = State::at(&thermal.tunables.network, S::of(60.0));
    let mut warm = cool;
    let mut chance = Chance(seed);
    let mut worst = (0.0_f32, 0.0_f32);
    for _ in 0..steps {
        let mut less = In {
            granted_nm: PerSide {
                left: chance.between(0.0, 1200.0),
                right: chance.between(0.0, 1200.0),
            },
            slip_rad_s: PerSide {
                left: Sensed::Fresh(chance.between(-4.0, 4.0)),
                right: Sensed::Fresh(chance.between(-4.0, 4.0)),
            },
            speed_m_s: chance.between(0.0, 50.0),
            ambient_degc: chance.between(-20.0, 40.0),
        };
        let mut more = less;
        match chance.bits() % 4 {
            0 => more.slip_rad_s.left = less.slip_rad_s.left.map(|slip| slip * 1.001),
            1 => more.granted_nm.right = less.granted_nm.right * 1.0001,
            2 => less.slip_rad_s.right = Sensed::Fresh(0.0),
            _ => {}
        }
        let less = thermal.step(&mut cool, &cast::<S>(&less), S::of(period_s));
        let more = thermal.step(&mut warm, &cast::<S>(&more), S::of(period_s));
        for (less, more) in nodes_of(&less).into_iter().zip(nodes_of(&more)) {
            worst = (worst.0.max(less - more), worst.1.max(more - less));
        }
    }
    worst
}

#[test]
fn more_heat_never_gives_a_lower_temperature() {
    let mut worst = (0.0_f32, 0.0_f32);
    for seed in 1..=40 {
        for period_s in [0.001, 0.005, 0.02] {
            let (colder, warmer) = colder_by::<f64>(seed, 5_000, period_s);
            worst.0 = worst.0.max(colder);
            assert!(warmer > 1.0, "the two runs do not differ");
            let (colder, warmer) = colder_by::<f32>(seed, 5_000, period_s);
            worst.1 = worst.1.max(colder);
            assert!(warmer > 1.0, "the two runs do not differ");
        }
    }
    println!(
        "colder at most by: f64 {:.2e} K, f32 {:.2e} K",
        worst.0, worst.1
    );
    // f64: each of a node's four flows is rounded to a microjoule, 6e-9 K a step; read out in f32, 1.6e-5 K a digit.
    assert!(worst.0 <= 1.6e-5, "f64: {}", worst.0);
    // f32: the derived temperature has steps of 1.5e-5 K at 128 to 256 degC, so two of them.
    assert!(worst.1 <= 3.2e-5, "f32: {}", worst.1);
}

#[test]
fn periods_from_1_to_20_ms_give_the_same_temperatures() {
    // 60 s of launches: 4 s of heat, 6 s of rest.
    let run = |period_s: f32| {
        let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
        let mut state = State::at(&thermal.tunables.network, 30.0);
        let steps = (60.0 / period_s).round() as u32;
        let mut out = Out::default();
        let mut peak = 0.0_f32;
        for step in 0..steps {
            let phase_s = (step as f32 * period_s) % 10.0;
            let torque = if phase_s < 4.0 - 0.5 * period_s {
                700.0
            } else {
                0.0
            };
            out = thermal.step(&mut state, &steady(torque, 8.0, 5.0, 25.0), period_s);
            peak = peak.max(out.surface_degc.left);
        }
        (out, peak)
    };
    let (fine, fine_peak) = run(0.001);
    for period_s in [0.002, 0.005, 0.01, 0.02] {
        let (coarse, peak) = run(period_s);
        let worst = nodes_of(&fine)
            .into_iter()
            .zip(nodes_of(&coarse))
            .map(|(fine, coarse)| (fine - coarse).abs())
            .fold((fine_peak - peak).abs(), f32::max);
        println!(
            "{period_s} s against 0.001 s: worst {worst:.4} K of a peak of {fine_peak:.2} degC"
        );
        // 0.5 K of a rise of some 60 K: dead time and lag are whole steps, the Euler error is first order.
        assert!(worst < 0.5, "period {period_s} s: {worst} K apart");
    }
    let network = ThermalTunables::<f32>::nominal().network;
    assert!(network.longest_explicit_period_s(100.0) > 0.2);
}

#[test]
fn f32_follows_f64_over_ten_minutes() {
    let single = Thermal::<f32>::new(ThermalTunables::nominal());
    let double = Thermal::<f64>::new(ThermalTunables::nominal());
    let mut one = State::at(&single.tunables.network, 20.0);
    let mut other = State::at(&double.tunables.network, 20.0);
    let mut chance = Chance(77);
    let mut input = steady::<f32>(0.0, 0.0, 0.0, 20.0);
    let mut worst = 0.0_f32;
    for step in 0..120_000 {
        if step % 200 == 0 {
            input = steady(
                chance.between(0.0, 800.0),
                chance.between(0.1, 6.0),
                chance.between(0.0, 40.0),
                20.0,
            );
        }
        let one = single.step(&mut one, &input, 0.005);
        let other = double.step(&mut other, &cast::<f64>(&input), 0.005);
        for (one, other) in nodes_of(&one).into_iter().zip(nodes_of(&other)) {
            worst = worst.max((one - other).abs());
        }
    }
    println!("f32 against f64 over ten minutes: worst {worst:.2e} K");
    // 2e-3 K: 1e-5 of the span of temperatures.
    assert!(worst < 2.0e-3, "{worst}");
}

proptest! {
    #![proptest_config(couplet_tests::property(2000))]

    #[test]
    fn no_temperature_rises_and_leaves_more(
        surface in -40.0_f32..400.0, core in -40.0_f32..400.0, oil in -40.0_f32..200.0,
        more_surface in 0.0_f32..100.0, more_core in 0.0_f32..100.0, more_oil in 0.0_f32..100.0,
    ) {
        let parameters = derating::Parameters::<f32>::nominal();
        let (cool, by) = derating::slope(&parameters, surface, core, oil);
        let (warm, _) = derating::slope(&parameters, surface + more_surface, core + more_core, oil + more_oil);
        prop_assert!((0.0..=1.0).contains(&cool));
        prop_assert!(warm <= cool);
        prop_assert_eq!(by == Limit::Nothing, cool == 1.0);
    }

    #[test]
    fn an_unknown_slip_heats_at_least_as_much_as_any_believable_one_and_a_measured_one_counts_whole(
        granted in 0.0_f32..2000.0, share in -1.0_f32..1.0, beyond in 1.0_f32..5.0, age in 0.0_f32..0.5,
    ) {
        let parameters = slip_power::Parameters::<f32>::nominal();
        let slip = parameters.slip_rad_s * share;
        let worst = slip_power::heat(&parameters, granted, Sensed::Lost);
        prop_assert!(worst.is_finite());
        for unknown in [
            Sensed::Fresh(f32::NAN),
            Sensed::Held { value: f32::NAN, age_s: 0.0 },
            Sensed::Held { value: 0.0, age_s: f32::NAN },
        ] {
            prop_assert_eq!(slip_power::heat(&parameters, granted, unknown), worst);
        }
        let known = slip_power::heat(&parameters, granted, Sensed::Fresh(slip));
        prop_assert!(known >= 0.0 && known <= worst);
        // A wheel that spins faster than anybody believed makes all its heat: cutting the slip once hid half of it.
        let wild = slip_power::heat(&parameters, granted, Sensed::Fresh(parameters.slip_rad_s * beyond));
        prop_assert!(wild >= worst * beyond * 0.999);
        let fresh = slip_power::heat(&parameters, granted, Sensed::Fresh(slip));
        let held = slip_power::heat(&parameters, granted, Sensed::Held { value: slip, age_s: age });
        prop_assert!(held >= fresh);
    }

    #[test]
    fn a_longer_rest_never_leaves_more_heat(
        degc in 61.0_f32..200.0, ambient in -40.0_f32..60.0, first in 0.0_f32..1.0e5, more in 0.0_f32..1.0e5,
    ) {
        let thermal = Thermal::<f64>::new(ThermalTunables::nominal());
        let stored = State::at(&thermal.tunables.network, f64::from(degc)).estimate;
        let after = |time_s: f32| {
            let woken = thermal.wake((&stored, None), Rest::Known(f64::from(time_s)), f64::from(ambient), PerSide::both(false));
            assert_eq!(woken.estimate.imbalance_uj(), 0);
            woken.estimate.nodes().stored_uj()
        };
        let none = stored.nodes().stored_uj();
        let short = after(first);
        let long = after(first + more);
        prop_assert!(short <= none);
        // 1e-4 of what is stored: the step pattern of a longer rest differs in its last steps.
        prop_assert!(long as f64 <= short as f64 + 1.0e-4 * none as f64, "{} after {} s, {} after {} more", short, first, long, more);
    }
}

#[test]
fn a_broken_slip_signal_heats_and_never_cools() {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let mut state = State::at(&thermal.tunables.network, 60.0);
    let mut input = steady::<f32>(200.0, 0.0, 20.0, 20.0);
    input.slip_rad_s.left = Sensed::Fresh(f32::NAN);
    let mut before = (60.0, state.estimate.nodes().stored_uj());
    for step in 0..400 {
        let out = thermal.step(&mut state, &input, 0.005);
        let now = (out.surface_degc.left, state.estimate.nodes().stored_uj());
        if step > 20 {
            // Heat enters in every step; temperatures are looked at every 20 ms.
            assert!(now.1 > before.1, "step {step}");
            assert!(now.0 >= before.0, "step {step}");
            assert!(step % 4 != 0 || now.0 > before.0, "step {step}");
        }
        before = now;
    }
    // 200 Nm at the largest believable slip of 60 rad/s.
    let out = thermal.step(&mut state, &input, 0.005);
    assert!((out.heat_w.left - 12_000.0).abs() < 1.0);
    assert_eq!(out.heat_w.right, 0.0, "the stuck clutch makes no heat");
}

#[test]
fn a_broken_grant_counts_as_the_full_capacity_and_a_broken_speed_as_standstill() {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let mut state = State::at(&thermal.tunables.network, 60.0);
    let mut input = steady::<f32>(f32::NAN, 5.0, 20.0, 20.0);
    input.granted_nm = PerSide::both(f32::NAN);
    let mut out = Out::default();
    for _ in 0..200 {
        out = thermal.step(&mut state, &input, 0.005);
    }
    // 1200 Nm at 5 rad/s; 1 W for the tail of the lag.
    assert!((out.heat_w.left - 6000.0).abs() < 1.0, "{out:?}");
    let network = thermal.tunables.network;
    for broken in [f32::NAN, f32::INFINITY, 1.0e30, -1.0e30] {
        assert_eq!(network.to_ambient_w_k(broken), network.housing_ambient_w_k);
    }
}

#[test]
fn an_open_clutch_makes_no_heat_whatever_its_slip() {
    let thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    let mut state = State::at(&thermal.tunables.network, 60.0);
    for slip in [0.0, 50.0, f32::NAN, f32::INFINITY] {
        let mut input = steady::<f32>(0.0, 0.0, 20.0, 20.0);
        input.slip_rad_s = PerSide::both(Sensed::Fresh(slip));
        assert_eq!(
            thermal.step(&mut state, &input, 0.005).heat_w,
            PerSide::both(0.0)
        );
    }
}

#[test]
fn a_warm_axle_woken_without_a_clock_is_as_warm_as_it_was() {
    let mut thermal = Thermal::<f32>::new(ThermalTunables::nominal());
    // What the slope leaves of a known temperature is judged here; the bound has its own campaign.
    thermal.tunables.bound.share = 0.0;
    let stored = State::at(&thermal.tunables.network, 135.0).estimate;
    for unknown in [Rest::Unknown, Rest::Known(f32::NAN), Rest::Known(-5.0)] {
        let woken = thermal.wake((&stored, None), unknown, -20.0, PerSide::both(false));
        assert_eq!(woken.estimate, stored);
        // 135 degC of oil: a quarter of the slope is left at once, without waiting for the slew.
        assert!((woken.derating.left.withdrawn - 0.75).abs() < 1.0e-4);
    }
    // An order to open outlives the rest until the axle is cool.
    let warm = thermal.wake(
        (&stored, None),
        Rest::Unknown,
        20.0,
        PerSide {
            left: true,
            right: false,
        },
    );
    assert!(warm.derating.left.open && !warm.derating.right.open);
    let cooled = thermal.wake(
        (&stored, None),
        Rest::Known(7200.0),
        20.0,
        PerSide {
            left: true,
            right: false,
        },
    );
    assert!(!cooled.derating.left.open);
    // A year: the air's temperature, 0.01 K for backward Euler's long tail.
    let year = thermal.wake(
        (&stored, None),
        Rest::Known(3.2e7),
        20.0,
        PerSide::both(false),
    );
    let at = thermal.temperatures(&year);
    assert!(
        (at.oil_degc - 20.0).abs() < 0.01 && (at.housing_degc - 20.0).abs() < 0.01,
        "{at:?}"
    );
}

#[test]
fn closed_form_step_agrees_with_many_small_explicit_steps() {
    // 0.05 K: one backward Euler step of 5 ms against five explicit ones of 1 ms with 5 kW on one side only.
    let thermal = Thermal::<f64>::new(ThermalTunables::nominal());
    let network = thermal.tunables.network;
    let around = Surroundings {
        speed_m_s: 10.0,
        ambient_degc: 10.0,
    };
    let heat = PerSide {
        left: 5000.0,
        right: 0.0,
    };
    let mut ledger = Ledger::opened(network.nodes_at(70.0));
    let mut implicit = network.temperatures(&ledger.nodes());
    for _ in 0..2000 {
        implicit = relaxed(&network, &implicit, heat, &around, 0.005);
        for _ in 0..5 {
            let at = network.temperatures(&ledger.nodes());
            ledger.move_heat(&explicit_moves(&network, &at, heat, &around, 0.001));
        }
    }
    let explicit = network.temperatures(&ledger.nodes());
    for (one, other) in [
        (implicit.surface_degc.left, explicit.surface_degc.left),
        (implicit.surface_degc.right, explicit.surface_degc.right),
        (implicit.core_degc.left, explicit.core_degc.left),
        (implicit.oil_degc, explicit.oil_degc),
        (implicit.housing_degc, explicit.housing_degc),
    ] {
        assert!((one - other).abs() < 0.05, "{one} against {other}");
    }
    assert!(explicit.surface_degc.left > explicit.surface_degc.right + 20.0);
}
