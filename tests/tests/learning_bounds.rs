//! The learning alone: one event a stretch, frozen when unsure, bounded whatever comes in, exact in the mirror.

use couplet_controller::PerSide;
use couplet_controller::Period;
use couplet_controller::calibration::{ActuationTunables, Learning, Vehicle as Car};
use couplet_controller::quantity::Sensed;
use couplet_controller::stage::Stage;
use couplet_controller::stage::actuation::State as Learned;
use couplet_controller::stage::actuation::learning::{In, LearningStage, LearningState};
use proptest::prelude::*;

fn stage() -> LearningStage<f32> {
    LearningStage::new(
        Learning::nominal(),
        &ActuationTunables::nominal(),
        &Car::nominal(),
        0.055,
        Period::default(),
    )
}

/// A quiet drive with both clutches held at 12 bar, of which 11 are measured.
fn quiet() -> In<f32> {
    In {
        commanded_bar: PerSide::both(12.0),
        measured_bar: PerSide::both(Sensed::Fresh(11.0)),
        rear_rad_s: PerSide::both(Sensed::Fresh(70.0)),
        yaw_rate_rad_s: Sensed::Fresh(0.0),
        lateral_m_s2: Sensed::Fresh(0.0),
        brake_bar: Sensed::Fresh(0.0),
        forward_m_s: 22.0,
        drives: PerSide::both(true),
        oil_degc: 60.0,
        healthy: true,
        learned: Learned::default(),
    }
}

/// What a second of these inputs teaches.
fn taught(mut change: impl FnMut(usize, &mut In<f32>)) -> Learned<f32> {
    let (stage, mut state) = (stage(), LearningState::default());
    let mut learned = Learned::default();
    for step in 0..200 {
        let mut input = In { learned, ..quiet() };
        change(step, &mut input);
        learned = stage.step(&mut state, &input, 0.005);
    }
    learned
}

#[test]
fn a_valve_is_learned_a_little_at_every_look_and_not_at_all_while_something_is_unsure() {
    let once = taught(|_, _| {});
    // By hand: error -1 bar at 12 bar, half of it learned in 0.5 s: 0.5 / (1 + 2^2) bar, and twice that over 6 bar of gain, cut to 0.015.
    // The error stays in these inputs, so a second teaches twice that, less 0.2 s until the
    // lagged value is within 0.4 bar of 12 (3.4 times the lag) and as long again until it counts whole.
    let offset = -0.5_f32 / (1.0 + 4.0) * 2.0;
    assert!(
        once.valve_offset_bar.left > offset && once.valve_offset_bar.left < 0.6 * offset,
        "{once:?}"
    );
    assert!(
        once.valve_gain_share.right > -0.03 && once.valve_gain_share.right < -0.6 * 0.03,
        "{once:?}"
    );
    // One look earlier or later is a hundredth of it, so that a last bit in the command moves nothing much.
    let mut before = 0.0;
    let mut most = 0.0_f32;
    taught(|_, input| {
        let now = input.learned.valve_offset_bar.left;
        most = most.max((now - before).abs());
        before = now;
    });
    assert!(most > 0.0 && most <= 0.1 * 0.02 / 0.5 * 1.001, "{most}");
    type Change = fn(usize, &mut In<f32>);
    let unsure: [(&str, Change); 7] = [
        ("cold oil", |_, input| input.oil_degc = 29.0),
        ("oil unknown", |_, input| input.oil_degc = f32::NAN),
        ("a fault", |_, input| input.healthy = false),
        ("held", |_, input| {
            input.measured_bar = PerSide::both(Sensed::Held {
                value: 11.0,
                age_s: 0.005,
            });
        }),
        ("no sensor", |_, input| {
            input.measured_bar = PerSide::both(Sensed::Lost)
        }),
        ("a command that moves", |step, input| {
            input.commanded_bar = PerSide::both(12.0 + 6.0 * (step as f32 / 8.0).sin());
        }),
        ("open", |_, input| input.commanded_bar = PerSide::both(0.0)),
    ];
    for (what, change) in unsure {
        assert_eq!(taught(change), Learned::default(), "{what}");
    }
}

fn any_sensed() -> impl Strategy<Value = Sensed<f32>> {
    prop_oneof![
        4 => (-200.0_f32..200.0).prop_map(Sensed::Fresh),
        1 => any::<f32>().prop_map(Sensed::Fresh),
        1 => any::<f32>().prop_map(|value| Sensed::Held { value, age_s: 0.01 }),
        1 => Just(Sensed::Lost),
    ]
}

prop_compose! {
    fn any_input()(
        bars in (any_sensed(), any_sensed(), any_sensed(), any_sensed()),
        turn in (any_sensed(), any_sensed(), any_sensed()),
        commanded in (prop_oneof![3 => 0.0_f32..40.0, 1 => Just(0.0), 1 => any::<f32>()], prop_oneof![3 => 0.0_f32..40.0, 1 => Just(0.0)]),
        speed in prop_oneof![4 => 10.0_f32..60.0, 1 => any::<f32>()],
        oil in prop_oneof![4 => 30.0_f32..100.0, 1 => any::<f32>()],
        flags in (any::<bool>(), any::<bool>(), any::<bool>()),
    ) -> In<f32> {
        In {
            commanded_bar: PerSide { left: commanded.0, right: commanded.1 },
            measured_bar: PerSide { left: bars.0, right: bars.1 },
            rear_rad_s: PerSide { left: bars.2, right: bars.3 },
            yaw_rate_rad_s: turn.0,
            lateral_m_s2: turn.1,
            brake_bar: turn.2,
            forward_m_s: speed,
            drives: PerSide { left: flags.0, right: flags.1 },
            oil_degc: oil,
            healthy: flags.2,
            learned: Learned::default(),
        }
    }
}

fn mirrored(input: &In<f32>) -> In<f32> {
    In {
        commanded_bar: input.commanded_bar.mirrored(),
        measured_bar: input.measured_bar.mirrored(),
        rear_rad_s: input.rear_rad_s.mirrored(),
        yaw_rate_rad_s: input.yaw_rate_rad_s.map(|value| -value),
        lateral_m_s2: input.lateral_m_s2.map(|value| -value),
        drives: input.drives.mirrored(),
        ..*input
    }
}

fn mirrored_learned(learned: Learned<f32>) -> Learned<f32> {
    Learned {
        touch_point_bar: learned.touch_point_bar.mirrored(),
        valve_offset_bar: learned.valve_offset_bar.mirrored(),
        valve_gain_share: learned.valve_gain_share.mirrored(),
    }
}

proptest! {
    #![proptest_config(couplet_tests::property(500))]

    #[test]
    fn learned_values_never_leave_their_bounds_whatever_comes_in_and_the_mirror_is_exact(
        stretches in proptest::collection::vec((any_input(), 1_usize..60), 1..12),
    ) {
        let (stage, bounds) = (stage(), Learning::<f32>::nominal());
        let (mut state, mut twin_state) = (LearningState::default(), LearningState::default());
        let (mut learned, mut twin) = (Learned::default(), Learned::default());
        for (input, steps) in stretches {
            for _ in 0..steps {
                learned = stage.step(&mut state, &In { learned, ..input }, 0.005);
                twin = stage.step(&mut twin_state, &In { learned: twin, ..mirrored(&input) }, 0.005);
                let within = |pair: PerSide<f32>, bound: f32| pair.left.abs() <= bound && pair.right.abs() <= bound;
                // Written so that NaN fails.
                prop_assert!(within(learned.touch_point_bar, 1.0), "{:?}", learned);
                prop_assert!(within(learned.valve_offset_bar, bounds.valve_offset_bar), "{:?}", learned);
                prop_assert!(within(learned.valve_gain_share, bounds.valve_gain_share), "{:?}", learned);
                // Plain equality: a zero of the other sign is the same.
                prop_assert_eq!(twin, mirrored_learned(learned));
            }
        }
    }
}
