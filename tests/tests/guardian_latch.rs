//! The second channel keeps the master's cap on the yaw moment by its own reading, and a request that is too large for long opens
//! whatever was closed before.

mod guardian_kit;

use couplet_controller::quantity::PerSide;
use couplet_controller::stage::guardian::{Guardian, In, State};
use guardian_kit::{
    CAPACITY_NM, DIFFERENCE_NM, FORMAT_NM, LEVER, PATIENCE, RISE_NM, any_input, asking, at,
    guardian, number, said_cap, steadied,
};
use proptest::prelude::*;

fn one_step(state: State, input: &In) -> couplet_controller::stage::guardian::Out {
    let mut state = state;
    guardian().step(&mut state, input)
}

proptest! {
    #![proptest_config(couplet_tests::property(10_000))]

    #[test]
    fn it_keeps_the_masters_cap_on_the_yaw_moment_by_its_own_reading_whatever_the_bits(
        inputs in proptest::collection::vec(any_input(), 1..12),
    ) {
        let guardian = Guardian { patience_steps: 1_000, ..guardian() };
        let mut state = at(700.0, 900.0);
        let mut known_cap = None;
        for input in inputs {
            let out = guardian.step(&mut state, &input).granted_nm;
            known_cap = said_cap(&input.orders.yaw_moment_cap, 40_000.0).or(known_cap);
            if let Some(cap) = known_cap {
                let passed = input.passed_nm.map(|nm| if nm > 0.0 { nm } else { 0.0 });
                let matching = passed.left > 0.0 || passed.right > 0.0;
                let (left, right) = (out.left.max(passed.left), out.right.max(passed.right));
                // Torques that pull the same way turn the car by their difference, others by their sum. A clutch that does not
                // open passes what it passes, and the other one is held against that.
                let turning = if input.alike || matching {
                    (out.left - right).max(out.right - left)
                } else {
                    out.left + out.right
                };
                prop_assert!(turning * LEVER <= cap + (DIFFERENCE_NM + 3.0 * FORMAT_NM) * LEVER, "{turning} {cap}");
            }
        }
    }

    #[test]
    fn a_request_of_a_whole_clutch_is_opened_whatever_was_closed_before(
        left in number(0.0, 0.8 * CAPACITY_NM), right in number(0.0, 0.8 * CAPACITY_NM),
    ) {
        // Up to where one step's rise reaches the whole capacity nearly: from there on a whole clutch is no wrong size.
        let mut state = at(left, right);
        for _ in 0..PATIENCE {
            let out = guardian().step(&mut state, &asking(left, CAPACITY_NM));
            prop_assert!(out.granted_nm.right <= right + FORMAT_NM);
        }
        prop_assert!(state.opened);
        prop_assert_eq!(guardian().step(&mut state, &asking(left, right)).granted_nm, PerSide::both(0.0));
    }
}

#[test]
fn a_whole_clutch_asked_for_under_a_cap_on_the_yaw_moment_is_held_to_the_cap_in_its_step() {
    let state = at(300.0, 400.0);
    let alike = In {
        alike: true,
        ..asking(300.0, 400.0)
    };
    // 100 N m of yaw moment are 40 N m of difference.
    let granted = one_step(state, &steadied(100.0, alike)).granted_nm;
    assert_eq!(granted.left, 300.0);
    assert!((granted.right - 340.0).abs() < DIFFERENCE_NM, "{granted:?}");
    // Torques of which one is none, or that oppose each other, turn the car by their sum.
    let granted = one_step(state, &steadied(100.0, asking(0.0, 400.0))).granted_nm;
    assert!(
        granted.left == 0.0 && (granted.right - 40.0).abs() < DIFFERENCE_NM,
        "{granted:?}"
    );
    // A clutch that does not open is matched, whatever was asked for on its side.
    let matching = In {
        passed_nm: PerSide {
            left: 350.0,
            right: 0.0,
        },
        ..asking(0.0, 350.0)
    };
    let granted = one_step(state, &steadied(0.0, matching)).granted_nm;
    assert_eq!(
        granted,
        PerSide {
            left: 0.0,
            right: 350.0
        }
    );
}

#[test]
fn one_wrong_request_in_a_rise_is_forgiven_and_the_rise_goes_on() {
    // The first channel starts its next rise from what it was granted.
    let (mut state, mut held) = (State::default(), 0.0_f32);
    for step in 0..9 {
        let asked = if step == 4 {
            CAPACITY_NM
        } else {
            held + RISE_NM
        };
        let out = guardian().step(&mut state, &asking(asked, held));
        assert_eq!(out.disagreed.left, step == 4, "step {step}");
        held = out.granted_nm.left;
    }
    assert!(!state.opened);
    assert_eq!(held, 8.0 * RISE_NM);
}
