//! What the actuation promises: the right pressure, bounded currents, an honest interval.

use couplet_controller::numerics::Scalar;
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::stage::Stage;
use couplet_controller::stage::actuation::{
    Actuation, ActuationTunables, In, Learning, Out, State,
};
use proptest::prelude::*;

/// An axle with round numbers, so that the expected values can be worked out by hand.
fn axle<S: Scalar>() -> ActuationTunables<S> {
    ActuationTunables {
        friction: S::of(0.12),
        friction_per_decade: S::of(0.008),
        friction_per_kelvin_1_k: S::of(-0.0002),
        piston_area_m2: S::of(0.0035),
        pressure_bar: S::of(45.0),
        current_offset_a: S::of(0.2),
        pressure_per_current_bar_a: S::of(40.0),
        current_a: S::of(1.5),
        rest_current_a: S::of(0.1),
        ..ActuationTunables::nominal()
    }
}

fn stage() -> Actuation<f32> {
    Actuation::new(axle(), &Learning::nominal())
}

fn at(granted_nm: f32) -> In<f32> {
    In {
        granted_nm: PerSide::both(granted_nm),
        slip_rad_s: PerSide::both(Sensed::Fresh(1.0)),
        core_degc: PerSide::both(80.0),
        oil_degc: 80.0,
    }
}

fn ask(input: &In<f32>) -> Out<f32> {
    stage().step(&mut State::default(), input, 0.005)
}

#[test]
fn full_torque_fits_pressure_and_current() {
    let out = ask(&at(1100.0));
    println!(
        "1100 Nm: {} bar, {} A",
        out.pressure_bar.left, out.current_a.left
    );
    assert!(out.pressure_bar.left <= 45.0 && out.current_a.left <= 1.5);
    assert_eq!(out.estimate_nm.left, 1100.0);
    // Written out: 1100 / (10 * 0.12 * 0.065) N, plus 400 N, over 0.0035 m2.
    assert!((out.pressure_bar.left - 41.436).abs() < 0.01);
}

#[test]
fn pressure_follows_the_textbook_formula_of_a_disc_clutch() {
    // Computed from the uniform-wear formula T = n mu F (ro + ri) / 2: mu 0.12, F 20 kN, 75/55 mm, n 10: 1560.000 Nm.
    let tunables = ActuationTunables::<f64> {
        return_spring_n: 0.0,
        pressure_bar: 100.0,
        current_a: 5.0,
        ..axle()
    };
    let input = In {
        granted_nm: PerSide::both(1560.0),
        slip_rad_s: PerSide::both(Sensed::Fresh(1.0)),
        core_degc: PerSide::both(80.0),
        oil_degc: 80.0,
    };
    let out =
        Actuation::new(tunables, &Learning::nominal()).step(&mut State::default(), &input, 0.005);
    let force_n = out.pressure_bar.left * 1.0e5 * 0.0035;
    // 1e-6 relative: the calibration values come from f32.
    assert!((force_n / 20_000.0 - 1.0).abs() < 1.0e-6, "{force_n} N");
}

#[test]
fn no_grant_gives_the_rest_current_below_the_touch_point() {
    for nothing in [0.0, -0.0, -5.0, f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
        let out = ask(&at(nothing));
        assert_eq!(out.pressure_bar, PerSide::both(0.0), "{nothing}");
        assert_eq!(out.current_a, PerSide::both(0.1));
        assert_eq!(out.estimate_nm, PerSide::both(0.0));
        assert_eq!(
            (out.torque_low_nm.left, out.torque_high_nm.left),
            (0.0, 30.0)
        );
    }
    let least = ask(&at(1.0e-3));
    // Spring over piston area: 1.143 bar.
    assert!(least.pressure_bar.left > 1.142 && least.current_a.left > 0.2);
}

#[test]
fn a_learned_touch_point_moves_its_own_side_only() {
    let mut state = State {
        touch_point_bar: PerSide {
            left: 0.5,
            right: 0.0,
        },
        ..State::default()
    };
    let out = stage().step(&mut state, &at(500.0), 0.005);
    // 1e-5 bar: rounding at 20 bar.
    assert!((out.pressure_bar.difference() + 0.5).abs() < 1.0e-5);
    // A wild one is bounded, a broken one counts as nothing learned.
    for (wild, bar) in [(50.0, 1.0), (-50.0, -1.0), (f32::NAN, 0.0)] {
        let mut state = State {
            touch_point_bar: PerSide {
                left: wild,
                right: 0.0,
            },
            ..State::default()
        };
        let out = stage().step(&mut state, &at(500.0), 0.005);
        assert!(
            (out.pressure_bar.difference() + bar).abs() < 1.0e-5,
            "{wild}"
        );
    }
}

#[test]
fn what_pressure_cannot_reach_is_not_promised() {
    let out = ask(&at(2000.0));
    assert_eq!(out.pressure_bar.left, 45.0);
    // Back through the formula: (45 bar * 0.0035 m2 - 400 N) * 10 * 0.12 * 0.065 m = 1197.3 Nm.
    assert!(
        (out.estimate_nm.left - 1197.3).abs() < 0.1,
        "{}",
        out.estimate_nm.left
    );
}

#[test]
fn warm_plates_and_slow_slip_ask_for_more_pressure() {
    let plain = ask(&at(800.0)).pressure_bar.left;
    let warm = ask(&In {
        core_degc: PerSide::both(180.0),
        ..at(800.0)
    })
    .pressure_bar
    .left;
    let slow = ask(&In {
        slip_rad_s: PerSide::both(Sensed::Fresh(0.1)),
        ..at(800.0)
    })
    .pressure_bar
    .left;
    let lost = ask(&In {
        slip_rad_s: PerSide::both(Sensed::Lost),
        ..at(800.0)
    })
    .pressure_bar
    .left;
    assert!(warm > plain && slow > plain);
    assert_eq!(lost, plain);
}

proptest! {
    #![proptest_config(couplet_tests::property(5000))]

    #[test]
    fn whatever_comes_in_stays_bounded_and_mirrors(
        granted in any::<(u32, u32)>(), slip in any::<(u32, u32)>(), core in any::<(u32, u32)>(), oil in any::<u32>(),
    ) {
        let pair = |(left, right): (u32, u32)| PerSide { left: f32::from_bits(left), right: f32::from_bits(right) };
        let input = In {
            granted_nm: pair(granted),
            slip_rad_s: pair(slip).map(Sensed::Fresh),
            core_degc: pair(core),
            oil_degc: f32::from_bits(oil),
        };
        let out = ask(&input);
        for side in [out.left_side(), out.right_side()] {
            let [pressure, current, estimate, low, high] = side;
            prop_assert!((0.0..=45.0).contains(&pressure));
            prop_assert!((0.1..=1.5).contains(&current));
            prop_assert!(estimate.is_finite() && low >= 0.0 && low <= estimate && estimate <= high);
        }
        let flipped = In {
            granted_nm: input.granted_nm.mirrored(),
            slip_rad_s: input.slip_rad_s.mirrored(),
            core_degc: input.core_degc.mirrored(),
            ..input
        };
        prop_assert_eq!(ask(&flipped).left_side(), out.right_side());
        prop_assert_eq!(ask(&flipped).right_side(), out.left_side());
    }

    #[test]
    fn more_grant_never_gives_less_pressure_and_slip_sign_does_not_matter(
        granted in 0.0_f32..1500.0, more in 0.0_f32..500.0, slip in -80.0_f32..80.0, core in -40.0_f32..250.0,
    ) {
        let with = |granted: f32, slip: f32| ask(&In {
            slip_rad_s: PerSide::both(Sensed::Fresh(slip)),
            core_degc: PerSide::both(core),
            oil_degc: 60.0,
            ..at(granted)
        });
        prop_assert!(with(granted + more, slip).pressure_bar.left >= with(granted, slip).pressure_bar.left);
        prop_assert_eq!(with(granted, slip), with(granted, -slip));
        // The commanded pressure carries the estimate: back through the physics, 1e-4 relative for f32.
        let out = with(granted, slip);
        let law = stage();
        let friction = law.friction_at(slip, core.max(60.0));
        prop_assert!((0.07..=0.17).contains(&friction));
        if granted > 1.0 {
            let carried = 10.0 * friction * 0.065 * (out.pressure_bar.left * 1.0e5 * 3.5e-3 - 400.0);
            prop_assert!((carried - out.estimate_nm.left).abs() <= 1.0e-4 * granted + 0.01, "{} against {}", carried, out.estimate_nm.left);
        }
    }
}

/// One side of an output as plain numbers.
trait Sides {
    fn left_side(&self) -> [f32; 5];
    fn right_side(&self) -> [f32; 5];
}

impl Sides for Out<f32> {
    fn left_side(&self) -> [f32; 5] {
        [
            self.pressure_bar,
            self.current_a,
            self.estimate_nm,
            self.torque_low_nm,
            self.torque_high_nm,
        ]
        .map(|pair| pair.left)
    }

    fn right_side(&self) -> [f32; 5] {
        [
            self.pressure_bar,
            self.current_a,
            self.estimate_nm,
            self.torque_low_nm,
            self.torque_high_nm,
        ]
        .map(|pair| pair.right)
    }
}
