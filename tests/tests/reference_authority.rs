//! What the axle can do now, worked out a second time: the authority's bounds and names against plain formulas.
//!
//! Source of the formulas: the pages of `stage/authority.rs` and `authority/stick.rs`, the entries of `[authority]` in docs/src/calibration.md
//! and the priorities in docs/src/arbiter.md. Here all bounds of a side stand in one list and the smallest wins; nothing is left out
//! because it would change nothing. Half of the questions lie on the thresholds themselves, in numbers that a binary fraction holds.

mod authority_kit;

use authority_kit::PERIOD_S;
use authority_kit::questions::{Chance, calm, question, stage};
use authority_kit::reference::check;
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::signal::{Health, Limit};
use couplet_controller::stage::Stage;
use couplet_controller::stage::authority::{AuthorityIn, AuthorityState, Possible, Sense};

#[test]
fn every_bound_and_every_name_is_what_plain_formulas_give_on_and_beside_all_thresholds() {
    let mut named = [[0_u32; Limit::ALL.len()]; 4];
    for exact in [true, false] {
        let stage = stage(exact);
        let mut chance = Chance(if exact { 1 } else { 2 });
        for _ in 0..60_000 {
            let (memory, input) = question(&mut chance, &stage);
            let octagon = check(&stage, &memory, &input).octagon;
            for (of, span) in [octagon.left, octagon.right, octagon.sum, octagon.difference]
                .iter()
                .enumerate()
            {
                named[of][usize::from(span.high.by.number())] += 1;
                named[of][usize::from(span.low.by.number())] += 1;
            }
        }
    }
    // The questions are worth asking: each name was met often.
    for (of, names) in [
        (
            0,
            &[
                Limit::Capacity,
                Limit::Fault,
                Limit::AbsoluteHeat,
                Limit::SurfaceHeat,
                Limit::ColdOil,
                Limit::UnlikeTyres,
                Limit::Friction,
                Limit::KinematicLock,
                Limit::BrakeControl,
                Limit::Rate,
                Limit::MasterCap,
                Limit::OpenNow,
                Limit::SlipDirection,
            ][..],
        ),
        (2, &[Limit::WindUp, Limit::Propshaft, Limit::MasterCap][..]),
        (3, &[Limit::YawLimit, Limit::MasterCap, Limit::Fault][..]),
    ] {
        for name in names {
            let times = named[of][usize::from(name.number())];
            assert!(times >= 100, "{of} {name:?}: {times}");
        }
    }
}

#[test]
fn the_masters_moment_holds_on_a_wide_axle_that_may_differ_by_its_whole_capacity() {
    let mut stage = stage(true);
    stage.moment_per_difference = 8.0;
    stage.tunables.difference_nm = 2_048.0;
    stage.tunables.difference_fast_nm = 2_048.0;
    for cap_nm in [0.0, 1_024.0, 6_000.0, 12_000.0] {
        let input = AuthorityIn {
            yaw_moment_cap_nm: Sensed::Fresh(cap_nm),
            ..calm()
        };
        let octagon = check(&stage, &AuthorityState::default(), &input).octagon;
        assert_eq!(octagon.difference.high.value, cap_nm / 8.0);
    }
}

#[test]
fn an_order_to_open_takes_the_torque_at_once_whatever_softer_bound_stands_at_zero_beside_it() {
    let stage = stage(true);
    let opened = AuthorityIn {
        open_now: true,
        ..calm()
    };
    for (beside, input) in [
        ("nothing", opened),
        (
            "brake control",
            AuthorityIn {
                brake_control: true,
                ..opened
            },
        ),
        (
            "heat",
            AuthorityIn {
                heat_ceiling: PerSide::both(0.0),
                ..opened
            },
        ),
        (
            "no grip",
            AuthorityIn {
                friction: 0.0,
                lateral_m_s2: 5.0,
                ..opened
            },
        ),
        (
            "the master's cap",
            AuthorityIn {
                rear_torque_cap_nm: Sensed::Fresh(0.0),
                ..opened
            },
        ),
        (
            "a fault",
            AuthorityIn {
                health: Health::Open,
                health_share: 0.0,
                ..opened
            },
        ),
    ] {
        let possible = stage.step(&mut AuthorityState::default(), &input, PERIOD_S);
        assert_eq!(possible.capacity_high_nm, PerSide::both(0.0), "{beside}");
        assert_eq!(possible.octagon.left.high.by, Limit::OpenNow, "{beside}");
    }
    // A fault that opens, and the master's cap of nothing, go before the brake control's rate as well.
    for (input, by) in [
        (
            AuthorityIn {
                health: Health::Open,
                ..calm()
            },
            Limit::Fault,
        ),
        (
            AuthorityIn {
                rear_torque_cap_nm: Sensed::Fresh(0.0),
                ..calm()
            },
            Limit::MasterCap,
        ),
    ] {
        let input = AuthorityIn {
            brake_control: true,
            ..input
        };
        let possible = stage.step(&mut AuthorityState::default(), &input, PERIOD_S);
        assert_eq!(possible.capacity_high_nm, PerSide::both(0.0));
        assert_eq!(possible.octagon.right.high.by, by);
    }
    // Alone the brake control takes 25,600 Nm/s.
    let alone = AuthorityIn {
        brake_control: true,
        ..calm()
    };
    let possible = stage.step(&mut AuthorityState::default(), &alone, PERIOD_S);
    assert_eq!(possible.capacity_high_nm, PerSide::both(1_000.0 - 128.0));
}

#[test]
fn a_lost_slip_takes_nothing_from_a_clutch_at_any_dead_band() {
    let mut stage = stage(false);
    for step in 0..2_000 {
        stage.tunables.slip_dead_band_rad_s = 0.05 + 1e-3 * f64::from(step);
        let input = AuthorityIn {
            clutch_slip_rad_s: PerSide::both(Sensed::Lost),
            lateral_m_s2: 9.0,
            previous_capacity_nm: PerSide::both(100.0),
            ..calm()
        };
        for before_nm in [0.0, 300.0] {
            let mut state = AuthorityState {
                taken_nm: PerSide::both(before_nm),
                ..AuthorityState::default()
            };
            stage.step(&mut state, &input, PERIOD_S);
            assert_eq!(
                state.taken_nm,
                PerSide::both(before_nm),
                "{}",
                stage.tunables.slip_dead_band_rad_s
            );
        }
    }
}

#[test]
fn a_clutch_counters_a_turn_where_it_pushes_inside_brakes_outside_or_ties_its_wheel() {
    for left in [true, false] {
        for turn in [-0.3, 0.0, 0.3] {
            for sense in [Sense::Unknown, Sense::Forward, Sense::Backward] {
                for near_stick in [false, true] {
                    // Only the clutch asked about is described; the other one says the opposite.
                    let other = if sense == Sense::Forward {
                        Sense::Backward
                    } else {
                        Sense::Forward
                    };
                    let pair = |one, two| {
                        if left {
                            PerSide {
                                left: one,
                                right: two,
                            }
                        } else {
                            PerSide {
                                left: two,
                                right: one,
                            }
                        }
                    };
                    let sticks = if left {
                        PerSide {
                            left: near_stick,
                            right: !near_stick,
                        }
                    } else {
                        PerSide {
                            left: !near_stick,
                            right: near_stick,
                        }
                    };
                    let possible = Possible::<f64> {
                        sense: pair(sense, other),
                        near_stick: sticks,
                        ..Possible::default()
                    };
                    // Forward on the left turns right, on the right turns left.
                    let pull = match sense {
                        Sense::Unknown => 0.0,
                        Sense::Forward => 1.0,
                        Sense::Backward => -1.0,
                    };
                    let moment = if left { -pull } else { pull };
                    assert_eq!(
                        possible.counters(left, turn),
                        near_stick || moment * turn < 0.0,
                        "{left} {turn} {sense:?} {near_stick}"
                    );
                }
            }
        }
    }
}
