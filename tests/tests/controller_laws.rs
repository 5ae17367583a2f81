//! A user's own allocation in the whole controller, honest and malicious: nothing leaves the octagon.
//!
//! The honest law shares in proportion in a few lines. The malicious ones return no number, huge numbers, the wrong
//! sign, or change their mind every step; one of them lies in every field of its answer. Torques in Nm at the wheel.

mod controller_kit;

use controller_kit::{Drive, PERIOD_S, Wild, numbers, page_of};
use core::cell::Cell;
use couplet_controller::signal::{Limit, Octagon};
use couplet_controller::stage::arbiter::{Allocate, Answer, Binding, Question, resolve};
use couplet_controller::{Controller, PerSide, Period, Scalar};

/// The user's law: what is wanted at the rear, split in the proportion of what each side can do, then the yaw moment.
#[derive(Debug, Clone, Copy)]
struct Proportional;

impl<S: Scalar> Allocate<S> for Proportional {
    fn allocate(&self, question: &Question<S>) -> PerSide<S> {
        let octagon = &question.octagon;
        let able = PerSide {
            left: octagon.left.high.value.most(S::ZERO),
            right: octagon.right.high.value.most(S::ZERO),
        };
        let rear = question.demand.rear_torque_nm;
        let half = question
            .demand
            .yaw_moment_nm
            .over(question.demand.moment_per_difference, S::ZERO)
            * S::HALF;
        let share = able.map(|side| side.over(able.sum(), S::HALF));
        PerSide {
            left: rear * share.left - half,
            right: rear * share.right + half,
        }
    }
}

/// What the malicious law does.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Malice {
    NoNumber,
    Infinite,
    Huge,
    WrongSign,
    Oscillating,
    OneSided,
    Lying,
}

const ALL: [Malice; 7] = [
    Malice::NoNumber,
    Malice::Infinite,
    Malice::Huge,
    Malice::WrongSign,
    Malice::Oscillating,
    Malice::OneSided,
    Malice::Lying,
];

thread_local! {
    /// Steps seen: a law has no memory of its own, a malicious one finds some.
    static COUNT: Cell<u32> = const { Cell::new(0) };
}

#[derive(Debug, Clone, Copy)]
struct Malicious(Malice);

impl Allocate<f32> for Malicious {
    fn allocate(&self, question: &Question<f32>) -> PerSide<f32> {
        let count = COUNT.get().wrapping_add(1);
        COUNT.set(count);
        let flip = if count.is_multiple_of(2) { 1.0 } else { -1.0 };
        let both = PerSide::both;
        match self.0 {
            Malice::NoNumber => PerSide {
                left: f32::NAN,
                right: 300.0,
            },
            Malice::Infinite => PerSide {
                left: f32::INFINITY,
                right: f32::NEG_INFINITY,
            },
            Malice::Huge => both(f32::MAX * flip),
            Malice::WrongSign => question.previous_nm.map(|side| -side - 500.0),
            Malice::Oscillating => both(1.0e4 * flip),
            Malice::OneSided => PerSide {
                left: 1.0e30,
                right: -1.0e30,
            },
            Malice::Lying => both(f32::NAN),
        }
    }

    fn answer(&self, question: &Question<f32>) -> Answer<f32> {
        let torque_nm = self.allocate(question);
        if self.0 == Malice::Lying {
            let marginal = f32::NAN;
            return Answer {
                torque_nm,
                unconstrained_nm: PerSide {
                    left: f32::NAN,
                    right: f32::INFINITY,
                },
                shortfall_nm: PerSide {
                    left: f32::MAX,
                    right: f32::NAN,
                },
                binding: [Binding {
                    by: Limit::Friction,
                    marginal,
                }; 2],
                conflict: Limit::OpenNow,
            };
        }
        Answer {
            torque_nm,
            unconstrained_nm: question.previous_nm,
            ..Answer::default()
        }
    }
}

/// The octagon forgives four units in the last place; contradicting bounds are resolved first, as the arbiter does.
fn holds(octagon: &Octagon<f32>, torque: PerSide<f32>) -> bool {
    octagon.holds(torque, 2.0e-3) || resolve(octagon).0.holds(torque, 2.0e-3)
}

fn judged<A: Allocate<f32> + std::fmt::Debug>(law: A, seed: u64, torn: bool) -> usize {
    let page = page_of(seed % 6);
    let mut one = Controller::<f32, A>::with_law(&page, Period::default(), law).expect("a page");
    let mut drive = Drive::new(seed);
    let mut wild = Wild::new(seed, 60, true);
    let most = page.tunables.authority.rise_nm_s * PERIOD_S as f32 + 1.5e-3;
    let mut before = PerSide::both(0.0);
    let mut closed = 0;
    for step in 0..1_500 {
        let inputs = if torn { wild.next() } else { drive.next() };
        let out = one.step(&inputs);
        let trace = one.trace();
        let place = || format!("{law:?}, seed {seed}, step {step}: {out:?}");
        assert!(
            holds(&trace.possible.octagon, trace.answer.torque_nm),
            "outside, {}",
            place()
        );
        assert!(
            numbers(&out).into_iter().all(f32::is_finite),
            "not finite, {}",
            place()
        );
        let sides = [
            (before.left, out.capacity_nm.left, out.torque_nm.left),
            (before.right, out.capacity_nm.right, out.torque_nm.right),
        ];
        for (before, capacity, torque) in sides {
            assert!((0.0..=1_100.0).contains(&capacity), "{}", place());
            assert!(
                capacity - before <= most && torque.abs() <= capacity,
                "{}",
                place()
            );
        }
        if inputs.open_now.value > 0.5 && one.state().conditioning.seen().open_now.is_fresh() {
            assert_eq!(out.capacity_nm, PerSide::both(0.0), "{}", place());
        }
        // Without a cap in force no law can bring the second channel up against us: the octagon is inside its limits.
        if !torn {
            assert!(
                !trace.guarded.opened && !trace.guarded.disagreed.left,
                "{}",
                place()
            );
        }
        before = out.capacity_nm;
        closed += usize::from(out.capacity_nm.left > 20.0);
    }
    closed
}

#[test]
fn a_users_own_law_of_a_few_lines_drives_the_axle_inside_its_bounds() {
    let closed: usize = (0..40)
        .map(|seed| judged(Proportional, seed, seed % 2 == 0))
        .sum();
    assert!(
        closed > 10_000,
        "the law closed a clutch in only {closed} of 60,000 steps"
    );
}

#[test]
fn a_malicious_law_cannot_leave_the_octagon() {
    for malice in ALL.into_iter().filter(|malice| *malice != Malice::Lying) {
        for seed in 0..30 {
            judged(Malicious(malice), seed, seed % 2 == 0);
        }
    }
}

#[test]
fn a_law_that_lies_in_every_field_of_its_answer_leaves_outputs_finite() {
    for seed in 0..30 {
        judged(Malicious(Malice::Lying), seed, seed % 2 == 0);
    }
}

#[test]
fn after_a_malicious_law_the_exact_one_finds_a_sound_memory() {
    for malice in ALL {
        let page = page_of(0);
        let law = Malicious(malice);
        let mut bad =
            Controller::<f32, _>::with_law(&page, Period::default(), law).expect("a page");
        let mut good = Controller::<f32>::new(&page, Period::default()).expect("a page");
        let mut twin = good;
        let mut drive = Drive::new(3);
        for _ in 0..500 {
            let inputs = drive.next();
            bad.step(&inputs);
            twin.step(&inputs);
        }
        good.restore(*bad.state());
        let mut apart = 0.0_f32;
        for step in 0..2_000 {
            let inputs = drive.next();
            let (out, sound) = (good.step(&inputs), twin.step(&inputs));
            assert!(
                numbers(&out).into_iter().all(f32::is_finite),
                "{malice:?}, step {step}"
            );
            if step > 1_800 {
                apart = apart.max((out.torque_nm.left - sound.torque_nm.left).abs());
            }
        }
        // The yaw integral may have been wound to its limit; nine seconds on it has found back.
        assert!(
            apart < 60.0,
            "{malice:?}: {apart} Nm apart from a controller that never met it"
        );
    }
}
