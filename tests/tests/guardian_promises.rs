//! The guardian never raises, leaves honest bits alone, and catches a wrong grant in one step.

mod guardian_kit;

use couplet_controller::Reading;
use couplet_controller::quantity::PerSide;
use couplet_controller::stage::guardian::{Guardian, In, Out, State};
use guardian_kit::{
    CAPACITY_NM, FALL_NM, FORMAT_NM, PATIENCE, PERIOD_S, RISE_NM, any_input, asking, at, capped,
    guardian, mirrored, number, said, said_cap, steadied,
};
use proptest::prelude::*;

proptest! {
    #![proptest_config(couplet_tests::property(10_000))]

    #[test]
    fn it_never_raises_whatever_the_bits(inputs in proptest::collection::vec(any_input(), 1..8)) {
        let guardian = Guardian { patience_steps: 1_000, ..guardian() };
        let mut state = at(300.0, 500.0);
        let mut before = PerSide { left: 300.0_f32, right: 500.0_f32 };
        let mut known_cap = None;
        for input in inputs {
            let out = guardian.step(&mut state, &input);
            known_cap = said_cap(&input.orders.rear_torque_cap, 20_000.0).or(known_cap);
            let sides = [
                (out.granted_nm.left, input.request_nm.left, input.ceiling.left, before.left),
                (out.granted_nm.right, input.request_nm.right, input.ceiling.right, before.right),
            ];
            for (granted, request, ceiling, before) in sides {
                prop_assert!(granted >= 0.0 && granted.is_finite());
                prop_assert!(granted <= request || granted == 0.0, "{granted} {request}");
                prop_assert!(granted <= CAPACITY_NM + FORMAT_NM);
                prop_assert!(granted <= before + RISE_NM + FORMAT_NM);
                prop_assert!(granted <= CAPACITY_NM * ceiling.clamp(0.0, 1.0) + FORMAT_NM || ceiling.is_nan());
                prop_assert!(granted <= FORMAT_NM || !ceiling.is_nan());
                prop_assert!(granted == 0.0 || !(request.is_nan() || input.open && granted > FORMAT_NM));
                if let Some(cap) = known_cap {
                    let bound = if input.opposed { granted } else { out.granted_nm.left + out.granted_nm.right };
                    prop_assert!(bound <= cap + 3.0 * FORMAT_NM, "{bound} {cap}");
                }
            }
            before = out.granted_nm;
        }
    }

    #[test]
    fn it_lets_go_for_the_brakes_by_its_own_reading_whatever_the_bits(
        inputs in proptest::collection::vec(any_input(), 1..12),
    ) {
        let guardian = Guardian { patience_steps: 1_000, ..guardian() };
        let mut state = at(700.0, 900.0);
        let mut before = PerSide { left: 700.0_f32, right: 900.0_f32 };
        let (mut anti_lock, mut stability) = (false, false);
        for input in inputs {
            let out = guardian.step(&mut state, &input);
            anti_lock = said(&input.orders.anti_lock_active).unwrap_or(anti_lock);
            stability = said(&input.orders.stability_active).unwrap_or(stability);
            let granted = out.granted_nm;
            if said(&input.orders.open_now) == Some(true) {
                prop_assert_eq!(granted.map(|nm| nm > FORMAT_NM), PerSide::both(false));
            } else if anti_lock || stability {
                prop_assert!(granted.left <= (before.left - FALL_NM).max(0.0) + FORMAT_NM);
                prop_assert!(granted.right <= (before.right - FALL_NM).max(0.0) + FORMAT_NM);
            }
            before = granted;
        }
    }

    #[test]
    fn mirrored_facts_give_the_mirrored_grant_to_the_bit(inputs in proptest::collection::vec(any_input(), 1..12)) {
        let (mut straight, mut reversed) = (State::default(), State::default());
        for input in inputs {
            let one = guardian().step(&mut straight, &input);
            let other = guardian().step(&mut reversed, &mirrored(&input));
            prop_assert_eq!(one.granted_nm.map(f32::to_bits), other.granted_nm.mirrored().map(f32::to_bits));
            prop_assert_eq!(one.disagreed, other.disagreed.mirrored());
            prop_assert_eq!(one.opened, other.opened);
            prop_assert_eq!(straight.previous_nm, reversed.previous_nm.mirrored());
        }
    }

    #[test]
    fn an_honest_channel_keeps_its_bits(
        ceilings in proptest::collection::vec(number(0.0, 1.0), 50), wishes in proptest::collection::vec(number(0.0, 1500.0), 50),
        cap in number(0.0, 3000.0),
    ) {
        // The first channel's own limits in f32: capacity, ceiling, rise, equal share of the cap.
        let (mut state, mut before) = (State::default(), 0.0_f32);
        for (ceiling, wish) in ceilings.into_iter().zip(wishes) {
            let request = wish.min(CAPACITY_NM * ceiling).min(before + RISE_NM).min(0.5 * cap);
            let input = capped(cap, steadied(0.0, In { ceiling: PerSide::both(ceiling), alike: true, ..asking(request, request) }));
            let out = guardian().step(&mut state, &input);
            prop_assert_eq!(out.granted_nm.map(f32::to_bits), input.request_nm.map(f32::to_bits));
            prop_assert_eq!(out.lowered, PerSide::both(false));
            prop_assert_eq!(out.disagreed, PerSide::both(false));
            before = request;
        }
    }
}

fn one_step(state: State, input: &In) -> Out {
    let mut state = state;
    guardian().step(&mut state, input)
}

#[test]
fn an_injected_wrong_grant_is_caught_in_the_step_it_appears() {
    let state = at(200.0, 200.0);
    let jump = one_step(state, &asking(1000.0, 200.0));
    assert_eq!(
        jump.granted_nm,
        PerSide {
            left: 200.0,
            right: 200.0
        }
    );
    assert_eq!(
        jump.disagreed,
        PerSide {
            left: true,
            right: false
        }
    );
    assert!(!jump.opened);
    let ceiling = In {
        ceiling: PerSide {
            left: 1.0,
            right: 0.125,
        },
        ..asking(200.0, 200.0)
    };
    assert_eq!(
        one_step(state, &ceiling).granted_nm,
        PerSide {
            left: 200.0,
            right: 137.5
        }
    );
    let open = In {
        open: true,
        ..asking(200.0, 200.0)
    };
    assert_eq!(one_step(state, &open).granted_nm, PerSide::both(0.0));
    assert_eq!(one_step(state, &open).disagreed, PerSide::both(true));
    let health = In {
        health_open: true,
        ..asking(200.0, 200.0)
    };
    assert_eq!(one_step(state, &health).granted_nm, PerSide::both(0.0));
    let shared = capped(300.0, asking(200.0, 200.0));
    assert_eq!(one_step(state, &shared).granted_nm, PerSide::both(150.0));
    let opposed = In {
        opposed: true,
        ..shared
    };
    assert_eq!(one_step(state, &opposed).granted_nm, PerSide::both(200.0));
}

#[test]
fn disagreements_are_counted_forgiven_and_after_three_in_a_row_it_opens_for_good() {
    let mut state = at(100.0, 100.0);
    let wrong = In {
        ceiling: PerSide {
            left: 1.0,
            right: 0.0,
        },
        ..asking(100.0, 100.0)
    };
    for expected in 1..PATIENCE as u16 {
        let out = guardian().step(&mut state, &wrong);
        assert_eq!(
            state.disagreements,
            PerSide {
                left: 0,
                right: expected
            }
        );
        assert_eq!(
            (out.granted_nm, out.opened),
            (
                PerSide {
                    left: 100.0,
                    right: 0.0
                },
                false
            )
        );
    }
    guardian().step(&mut state, &asking(100.0, 100.0));
    assert_eq!(state.disagreements, PerSide::both(0));
    for _ in 0..PATIENCE {
        guardian().step(&mut state, &wrong);
    }
    assert!(state.opened);
    let out = guardian().step(&mut state, &asking(50.0, 50.0));
    assert_eq!((out.granted_nm, out.opened), (PerSide::both(0.0), true));
}

#[test]
fn the_last_cap_stays_when_the_next_is_missing_and_none_ever_known_is_no_cap() {
    let mut state = at(200.0, 200.0);
    assert_eq!(
        guardian()
            .step(&mut state, &asking(200.0, 200.0))
            .granted_nm,
        PerSide::both(200.0)
    );
    guardian().step(&mut state, &capped(100.0, asking(50.0, 50.0)));
    assert_eq!(
        guardian().step(&mut state, &asking(90.0, 90.0)).granted_nm,
        PerSide::both(50.0)
    );
}

#[test]
fn not_a_number_is_zero_and_a_disagreement_and_broken_calibration_grants_nothing() {
    let out = one_step(at(200.0, 200.0), &asking(f32::NAN, 200.0));
    assert_eq!(
        out.granted_nm,
        PerSide {
            left: 0.0,
            right: 200.0
        }
    );
    assert_eq!(
        out.disagreed,
        PerSide {
            left: true,
            right: false
        }
    );
    let broken = Guardian::new(
        f32::NAN,
        (f32::NAN, f32::NAN),
        f32::NAN,
        0,
        0,
        f32::NAN,
        PERIOD_S,
    );
    let out = broken.step(&mut State::default(), &asking(10.0, 10.0));
    assert_eq!(out.granted_nm, PerSide::both(0.0));
    assert!(out.opened);
}

#[test]
fn a_whole_clutch_asked_for_against_the_brake_controls_is_let_go_within_the_release_time() {
    // 100 ms to the command is the requirement of this project; the law's own fall takes 44 ms from the whole capacity.
    let braking = |from_nm: f32, asked_nm: f32, signal: usize| {
        let mut state = at(from_nm, from_nm);
        let mut input = asking(asked_nm, asked_nm);
        let orders = &mut input.orders;
        let place = [
            &mut orders.open_now,
            &mut orders.anti_lock_active,
            &mut orders.stability_active,
        ];
        let [open_now, anti_lock, stability] = place;
        *[open_now, anti_lock, stability][signal] = Reading::fresh(1.0);
        (0..20)
            .map(|_| guardian().step(&mut state, &input).granted_nm)
            .take_while(|granted| granted.left > 0.0 || granted.right > 0.0)
            .count()
    };
    // Released already when the wrong request comes: nothing passes at all.
    for signal in 0..3 {
        assert_eq!(braking(0.0, CAPACITY_NM, signal), 0);
    }
    // Closed when the request for release comes: an order opens in its step, a brake control in 9 steps of 125 N m at most.
    assert_eq!(braking(CAPACITY_NM, CAPACITY_NM, 0), 0);
    assert!(braking(CAPACITY_NM, CAPACITY_NM, 1) <= 9);
    assert!(braking(CAPACITY_NM, CAPACITY_NM, 2) <= 9);
}

#[test]
fn an_honest_release_is_no_disagreement_and_ends_with_its_cause() {
    let mut state = at(800.0, 400.0);
    let mut held = PerSide {
        left: 800.0_f32,
        right: 400.0_f32,
    };
    for step in 0..12 {
        held = held.map(|nm| (nm - FALL_NM).max(0.0));
        let mut input = asking(held.left, held.right);
        // The message is lost on the way: what was last known stays in force.
        input.orders.anti_lock_active = if step < 3 {
            Reading::fresh(1.0)
        } else {
            Reading::missing()
        };
        let out = guardian().step(&mut state, &input);
        assert_eq!(out.granted_nm, held);
        assert_eq!(out.disagreed, PerSide::both(false));
    }
    let again = guardian().step(&mut state, &asking(RISE_NM, RISE_NM));
    assert_eq!(again.granted_nm, PerSide::both(RISE_NM));
}
