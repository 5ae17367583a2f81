//! The whole controller in a mirror, and the trace that must mirror with it.
//!
//! Every test runs twins: one car and the same car seen in a mirror along its x axis. Equal means every bit, except that
//! a zero may have either sign: the mirror itself turns 0 into -0.

mod controller_kit;

use controller_kit::{Drive, Wild, mirrored, mirrored_faults, numbers, page_of};
use couplet_controller::signal::inputs::Parity;
use couplet_controller::stage::actuation::State as Learned;
use couplet_controller::{
    Controller, Inputs, Outputs, PerSide, Period, Reading, Real, TraceSignal,
};
use std::collections::BTreeSet;

/// The name of the same signal on the other side.
fn other_side(name: &str) -> String {
    if name.contains("left") {
        name.replace("left", "right")
    } else {
        name.replace("right", "left")
    }
}

fn trace_of<S: Real>(controller: &Controller<S>, name: &str) -> f32 {
    let signal = TraceSignal::<S>::ALL
        .iter()
        .find(|signal| signal.name == name)
        .unwrap_or_else(|| panic!("no trace signal {name}"));
    (signal.read)(controller.trace())
}

/// What of two traces is not a mirror image, by name.
fn trace_findings<S: Real>(one: &Controller<S>, twin: &Controller<S>) -> Vec<String> {
    TraceSignal::<S>::ALL
        .iter()
        .filter_map(|signal| {
            let seen = (signal.read)(one.trace());
            let expected = match signal.parity {
                // Bits that name wheels are a set, not a number: no parity of the table fits them.
                _ if signal.name == "faults" => {
                    mirrored_faults((signal.read)(twin.trace()) as u32) as f32
                }
                Parity::Even => (signal.read)(twin.trace()),
                Parity::Odd => -(signal.read)(twin.trace()),
                Parity::Swap => trace_of(twin, &other_side(signal.name)),
            };
            (seen != expected).then(|| format!("{} {seen} against {expected}", signal.name))
        })
        .collect()
}

/// Runs twins; the first step that does not mirror, in words.
fn twins<S: Real>(
    page: u64,
    steps: usize,
    mut inputs: impl FnMut() -> Inputs,
) -> Result<Coverage, String> {
    let page = page_of(page);
    let new = || Controller::<S>::new(&page, Period::default()).expect("an acceptable page");
    let (mut one, mut twin) = (new(), new());
    let mut seen = Coverage::default();
    for step in 0..steps {
        let inputs = inputs();
        let (out, image) = (one.step(&inputs), twin.step(&inputs.mirrored()));
        let findings = trace_findings(&one, &twin);
        let inner = one.trace().capacity_nm == twin.trace().capacity_nm.mirrored()
            && one.trace().torque_nm == twin.trace().torque_nm.mirrored()
            && one.state().delayed.capacity_nm == twin.state().delayed.capacity_nm.mirrored();
        if mirrored(&image) != out || !findings.is_empty() || !inner {
            return Err(format!(
                "step {step}: {findings:?}\n{out:?}\n{image:?}\n{inputs:?}"
            ));
        }
        seen.count(&out);
    }
    Ok(seen)
}

/// How much of the law a run reached: a mirror of closed doors proves nothing.
#[derive(Debug, Default)]
struct Coverage {
    closed: usize,
    unlike: usize,
    opposed: usize,
    steps: usize,
}

impl Coverage {
    fn count(&mut self, out: &Outputs) {
        let PerSide { left, right } = out.torque_nm;
        self.steps += 1;
        self.closed += usize::from(out.capacity_nm.left > 0.0);
        self.unlike += usize::from((left - right).abs() > 20.0);
        self.opposed += usize::from(left * right < 0.0);
    }

    fn add(mut self, other: Self) -> Self {
        self.steps += other.steps;
        self.closed += other.closed;
        self.unlike += other.unlike;
        self.opposed += other.opposed;
        self
    }
}

fn smooth_twins<S: Real>() {
    let mut seen = Coverage::default();
    for seed in 0..60 {
        let mut drive = Drive::new(seed);
        let found = twins::<S>(seed % 12, 2_000, || drive.next());
        seen = seen.add(found.unwrap_or_else(|why| panic!("seed {seed}, {why}")));
    }
    // Measured: closed in 75 %, unlike in 61 %, opposed in 8 % of 120,000 steps; less than half of that is alarming.
    assert!(
        seen.closed * 3 > seen.steps && seen.unlike * 8 > seen.steps,
        "{seen:?}"
    );
    assert!(seen.opposed * 50 > seen.steps, "{seen:?}");
}

#[test]
fn smooth_drives_mirror_to_the_bit_in_single_precision() {
    smooth_twins::<f32>();
}

#[test]
fn smooth_drives_mirror_to_the_bit_in_double_precision() {
    smooth_twins::<f64>();
}

fn wild_twins<S: Real>() {
    let mut seen = Coverage::default();
    for seed in 0..160 {
        let often = [4, 15, 60, 250][seed as usize % 4];
        let mut wild = Wild::new(1_000 + seed, often, seed % 3 != 0);
        let found = twins::<S>(seed % 40, 2_200, || wild.next());
        seen = seen.add(found.unwrap_or_else(|why| panic!("seed {seed}, {why}")));
    }
    assert!(
        seen.closed * 5 > seen.steps && seen.unlike * 20 > seen.steps,
        "{seen:?}"
    );
}

#[test]
fn wild_and_broken_inputs_mirror_to_the_bit_in_single_precision() {
    wild_twins::<f32>();
}

#[test]
fn wild_and_broken_inputs_mirror_to_the_bit_in_double_precision() {
    wild_twins::<f64>();
}

#[test]
fn a_wheel_speed_missing_at_the_start_mirrors() {
    for place in 0..4 {
        let mut drive = Drive::new(3);
        let mut left = 400;
        let found = twins::<f32>(0, 800, || {
            let mut inputs = drive.next();
            if left > 0 {
                left -= 1;
                let wheels = [
                    &mut inputs.wheel_speed_front_left,
                    &mut inputs.wheel_speed_front_right,
                    &mut inputs.wheel_speed_rear_left,
                    &mut inputs.wheel_speed_rear_right,
                ];
                *wheels.into_iter().nth(place).expect("four wheels") = Reading::missing();
            }
            inputs
        });
        if let Err(why) = found {
            panic!("wheel {place} missing for 2 s: {why}");
        }
    }
}

#[test]
fn a_yaw_rate_of_exactly_zero_mirrors_whatever_is_asked() {
    for seed in 0..20 {
        let mut drive = Drive::new(seed);
        let found = twins::<f32>(0, 1_000, || Inputs {
            yaw_rate: Reading::fresh(0.0),
            ..drive.next()
        });
        if let Err(why) = found {
            panic!("seed {seed}, {why}");
        }
    }
}

#[test]
fn the_parity_of_every_trace_signal_holds_with_a_wheel_speed_lost() {
    let mut drive = Drive::new(3);
    let new = || Controller::<f32>::new(&page_of(0), Period::default()).expect("the nominal page");
    let (mut one, mut twin) = (new(), new());
    for step in 0..400 {
        let mut inputs = drive.next();
        if step > 200 {
            inputs.wheel_speed_front_left = Reading::missing();
        }
        one.step(&inputs);
        twin.step(&inputs.mirrored());
    }
    let even = |signal: &&TraceSignal<f32>| signal.parity == Parity::Even;
    for signal in TraceSignal::<f32>::ALL.iter().filter(even) {
        let (seen, image) = ((signal.read)(one.trace()), (signal.read)(twin.trace()));
        assert_eq!(seen, image, "{} is called even", signal.name);
    }
}

#[test]
fn every_trace_signal_has_a_name_of_its_own_a_unit_and_a_partner_if_it_swaps() {
    let all = TraceSignal::<f32>::ALL;
    let names: BTreeSet<_> = all.iter().map(|signal| signal.name).collect();
    assert_eq!(names.len(), all.len(), "a name is used twice");
    assert!(all.len() > 30, "the table lost its rows");
    for signal in all {
        assert!(
            !signal.name.is_empty() && !signal.unit.trim().is_empty(),
            "{}",
            signal.name
        );
        let sided = signal.name.contains("left") || signal.name.contains("right");
        assert_eq!(sided, signal.parity == Parity::Swap, "{}", signal.name);
        assert!(
            names.contains(other_side(signal.name).as_str()),
            "{} is alone",
            signal.name
        );
    }
    let wide: Vec<_> = TraceSignal::<f64>::ALL
        .iter()
        .map(|signal| (signal.name, signal.unit, signal.parity))
        .collect();
    let single: Vec<_> = all
        .iter()
        .map(|signal| (signal.name, signal.unit, signal.parity))
        .collect();
    assert_eq!(wide, single, "the two arithmetics have different tables");
}

fn finite_trace<S: Real>() {
    let mut moved = vec![false; TraceSignal::<S>::ALL.len()];
    for seed in 0..150 {
        let page = page_of(seed % 50);
        let mut controller =
            Controller::<S>::new(&page, Period::default()).expect("an acceptable page");
        if seed % 10 == 7 {
            // A spare wheel known from the drive before: nothing that comes in here is steady enough to teach it.
            let mut state = *controller.state();
            let tunables = controller.calibration().tunables().vehicle_state;
            state.vehicle_state.radius.rear_right_to_left = tunables.radius_bound;
            state.vehicle_state.radius.renew(&tunables);
            controller.restore(state);
        }
        if seed == 0 {
            // Oil of any age is no reason for a broken number, and no drive of seconds makes it old.
            let mut state = *controller.state();
            state.thermal.usage.counters.oil.us = u64::MAX;
            controller.restore(state);
        }
        // Touch points are learned in quiet driving only, which a wild one is not: they start from a unit's own values.
        let known = PerSide::both(S::of(0.125));
        controller.replace_unit(
            PerSide::both(true),
            Learned {
                touch_point_bar: known,
                valve_offset_bar: known,
                valve_gain_share: known,
            },
        );
        let mut wild = Wild::new(9_000 + seed, [1, 3, 12, 50][seed as usize % 4], true);
        for step in 0..1_500 {
            let inputs = wild.next();
            let out = controller.step(&inputs);
            for (signal, moved) in TraceSignal::<S>::ALL.iter().zip(&mut moved) {
                let value = (signal.read)(controller.trace());
                assert!(
                    value.is_finite(),
                    "seed {seed}, step {step}: {} is {value}",
                    signal.name
                );
                *moved |= value != 0.0;
            }
            assert!(
                numbers(&out).into_iter().all(f32::is_finite),
                "seed {seed}, step {step}: {out:?}\n{inputs:?}"
            );
        }
    }
    // A signal that never leaves zero would be finite for nothing.
    for (signal, moved) in TraceSignal::<S>::ALL.iter().zip(moved) {
        assert!(moved, "{} was zero throughout", signal.name);
    }
}

#[test]
fn every_trace_signal_and_output_is_finite_whatever_comes_in_in_single_precision() {
    finite_trace::<f32>();
}

#[test]
fn every_trace_signal_and_output_is_finite_whatever_comes_in_in_double_precision() {
    finite_trace::<f64>();
}
