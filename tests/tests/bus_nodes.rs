//! Both nodes of the bus: what a receiver believes of lost, repeated, late, wrong and silent frames.
//!
//! The order of states follows AUTOSAR E2E profiles 1 and 5 (from memory); periods and time-outs are the table's.

use couplet_bus::guard::MOST_LOST;
use couplet_bus::{
    AXLE_FRAMES, CAR_FRAMES, Decoded, Frame, Guard, InputReceiver, InputSender, OutputReceiver,
    OutputSender, Placed, Verdict, protect,
};
use couplet_controller::calibration::Tunables;
use couplet_controller::signal::{INPUT_SIGNALS, OUTPUT_SIGNALS, Status};
use couplet_controller::stage::Stage;
use couplet_controller::stage::conditioning::{Conditioning, Kept};
use couplet_controller::{Inputs, Outputs, Reading, Sensed};

const STEP_US: u64 = 5_000;

/// Every input at a number inside its range.
fn good_inputs() -> Inputs {
    let mut inputs = Inputs::default();
    for signal in INPUT_SIGNALS {
        (signal.write)(&mut inputs, Reading::fresh(0.25 * signal.high));
    }
    inputs
}

/// Sends for some steps; `spoil` may change, drop or repeat each frame.
fn told_after(
    steps: u64,
    inputs: &Inputs,
    mut spoil: impl FnMut(u64, &Frame) -> Vec<Frame>,
) -> (InputReceiver, Inputs) {
    let (mut sender, mut receiver) = (InputSender::default(), InputReceiver::default());
    for step in 0..steps {
        let now_us = step * STEP_US;
        sender.send(now_us, inputs, |frame| {
            for frame in spoil(step, frame) {
                receiver.receive(now_us, &frame);
            }
        });
    }
    let told = receiver.inputs((steps - 1) * STEP_US);
    (receiver, told)
}

#[test]
fn what_is_sent_arrives_within_half_a_step_with_its_frames_age() {
    // Step 5 has no frame of 10 ms: those are 5 ms old.
    let (_, told) = told_after(6, &good_inputs(), |_, frame| vec![*frame]);
    for layout in CAR_FRAMES {
        for placed in layout.signals {
            let signal = &INPUT_SIGNALS[placed.position];
            let (sent, seen) = ((signal.read)(&good_inputs()), (signal.read)(&told));
            assert_eq!(seen.status, Status::VALID, "{}", signal.name);
            assert_eq!(seen.age_ms, if layout.period_ms == 10 { 5 } else { 0 });
            assert!(
                (seen.value - sent.value).abs() <= placed.step(),
                "{}",
                signal.name
            );
        }
    }
}

#[test]
fn a_reading_nobody_vouches_for_arrives_so_and_one_older_than_its_frame_too() {
    for place in 0..INPUT_SIGNALS.len() {
        let signal = &INPUT_SIGNALS[place];
        let low = signal.low - 1.0;
        for bad in [
            Reading::missing(),
            Reading::fresh(f32::NAN),
            Reading::fresh(low),
            Reading {
                age_ms: 11,
                ..Reading::fresh(0.0)
            },
            Reading {
                status: Status(7),
                ..Reading::fresh(0.0)
            },
        ] {
            let mut inputs = good_inputs();
            (signal.write)(&mut inputs, bad);
            let (_, told) = told_after(4, &inputs, |_, frame| vec![*frame]);
            for other in INPUT_SIGNALS {
                let expected = if other.name == signal.name {
                    Status::INVALID
                } else {
                    Status::VALID
                };
                assert_eq!(
                    (other.read)(&told).status,
                    expected,
                    "{} {bad:?}",
                    other.name
                );
            }
        }
    }
}

#[test]
fn nothing_is_believed_before_the_second_frame() {
    let (_, told) = told_after(1, &good_inputs(), |_, frame| vec![*frame]);
    for signal in INPUT_SIGNALS {
        assert_eq!((signal.read)(&told).status, Status::INVALID);
    }
}

#[test]
fn the_states_of_the_protection_follow_one_another() {
    for layout in CAR_FRAMES.iter().chain(AXLE_FRAMES) {
        let counts = protect::counts(layout.profile);
        let frame = |counter: u16| {
            let mut frame = Frame::zeroed(layout.id, usize::from(layout.length)).expect("a frame");
            protect::protect(layout, &mut frame, (counter % counts) as u8);
            frame
        };
        let period_us = u64::from(layout.period_ms) * 1_000;
        let mut guard = Guard::default();
        let (mut now_us, mut counter) = (0, counts - 2);
        let mut judge = |after: u64, ahead: u16, spoil: bool| {
            now_us += after * period_us;
            counter += ahead;
            let mut sent = frame(counter);
            if spoil {
                sent.bytes_mut()[5] ^= 0x10;
            }
            guard.judge(layout, now_us, &sent)
        };
        assert_eq!(judge(0, 0, false), Verdict::First);
        assert_eq!(judge(1, 1, false), Verdict::Good);
        assert_eq!(
            judge(1, 1, false),
            Verdict::Good,
            "around the end of the counter"
        );
        assert_eq!(judge(1, 0, false), Verdict::Repeated);
        assert_eq!(judge(1, 1, true), Verdict::WrongCheck);
        assert_eq!(judge(1, 1, false), Verdict::AfterLost(1));
        for lost in 1..=u16::from(MOST_LOST) {
            assert_eq!(judge(1, lost + 1, false), Verdict::AfterLost(lost as u8));
        }
        assert_eq!(
            judge(1, u16::from(MOST_LOST) + 2, false),
            Verdict::WrongSequence
        );
        assert_eq!(
            judge(1, 1, false),
            Verdict::Good,
            "the sequence is taken up again"
        );
        // One step back is almost a whole turn ahead.
        assert_eq!(judge(1, counts - 1, false), Verdict::WrongSequence);
        assert_eq!(judge(1, 1, false), Verdict::Good);
        assert_eq!(
            judge(3, 1, false),
            Verdict::Good,
            "late, but within the time-out"
        );
        assert_eq!(judge(4, 1, false), Verdict::First, "after the time-out");
        let short = Frame::zeroed(layout.id, 4).expect("a frame");
        assert_eq!(guard.judge(layout, now_us, &short), Verdict::WrongLength);
        let found = guard.counts();
        assert_eq!((found.first, found.repeated, found.wrong_check), (2, 1, 1));
        assert_eq!(
            (found.wrong_sequence, found.wrong_length, found.timed_out),
            (2, 1, 1)
        );
        assert_eq!(found.lost, 1 + (1..=u32::from(MOST_LOST)).sum::<u32>());
        assert_eq!(found.good, 5 + 1 + u32::from(MOST_LOST));
    }
}

#[test]
fn repeated_and_wrong_frames_age_and_a_silent_one_is_lost_after_four_periods() {
    let motion = CAR_FRAMES
        .iter()
        .position(|frame| frame.name == "motion")
        .expect("motion");
    let id = CAR_FRAMES[motion].id;
    for kind in ["silent", "repeated", "wrong"] {
        let mut last = None;
        let mut at = |steps: u64| {
            told_after(steps, &good_inputs(), |step, frame| {
                if frame.id() != id {
                    return vec![*frame];
                }
                if step < 10 {
                    last = Some(*frame);
                    return vec![*frame];
                }
                match kind {
                    "silent" => Vec::new(),
                    "repeated" => last.into_iter().collect(),
                    _ => {
                        let mut frame = *frame;
                        frame.bytes_mut()[4] ^= 1;
                        vec![frame]
                    }
                }
            })
        };
        // Last good one in step 9.
        for (steps, age_ms) in [
            (10, Some(0)),
            (11, Some(5)),
            (13, Some(15)),
            (14, None),
            (40, None),
        ] {
            let (receiver, told) = at(steps);
            let reading = told.yaw_rate;
            match age_ms {
                Some(age_ms) => {
                    assert_eq!(
                        (reading.status, reading.age_ms),
                        (Status::VALID, age_ms),
                        "{kind} {steps}"
                    );
                }
                None => assert_eq!(reading.status, Status::INVALID, "{kind} {steps}"),
            }
            assert_eq!(told.wheel_speed_rear_left.status, Status::VALID);
            let counts = receiver.counts(motion).expect("counts");
            if steps == 40 {
                assert_eq!(counts.timed_out, 1, "{kind}");
                assert_eq!(counts.repeated > 0, kind == "repeated");
                assert_eq!(counts.wrong_check > 0, kind == "wrong");
            }
        }
    }
}

#[test]
fn the_law_takes_a_silent_frames_signals_as_held_and_then_as_lost() {
    let stage = Conditioning::<f32>::new(Tunables::DEFAULT.conditioning);
    let mut state = Kept::default();
    let (mut sender, mut receiver) = (InputSender::default(), InputReceiver::default());
    let mut seen = Vec::new();
    for step in 0..60 {
        let now_us = step * STEP_US;
        sender.send(now_us, &good_inputs(), |frame| {
            if step < 10 || frame.id() != 0x112 {
                receiver.receive(now_us, frame);
            }
        });
        seen.push(
            stage
                .step(&mut state, &receiver.inputs(now_us), 0.005)
                .yaw_rate_rad_s,
        );
    }
    // Lost before the second frame; fresh; fresh while young; held for its time; lost.
    assert_eq!(seen[0], Sensed::Lost);
    assert!(seen[1..13].iter().all(|seen| seen.is_fresh()));
    assert!(matches!(seen[14], Sensed::Held { .. }));
    assert_eq!(seen[59], Sensed::Lost);
}

#[test]
fn outputs_arrive_as_sent_and_defaults_do_not_come_from_silence() {
    let (mut sender, mut receiver) = (OutputSender::default(), OutputReceiver::default());
    let mut outputs = Outputs {
        torque_limit_request_nm: f32::MAX,
        oil_degc: 81.5,
        faults: 0xdead_beef,
        ..Outputs::default()
    };
    outputs.capacity_nm.left = 1234.56;
    outputs.current_a.right = 0.75;
    assert!(
        receiver
            .outputs(0)
            .iter()
            .all(|told| *told == Decoded::NotAvailable)
    );
    for step in 0..21 {
        let now_us = step * STEP_US;
        sender.send(now_us, &outputs, |frame| {
            receiver.receive(now_us, frame);
        });
    }
    let told = receiver.outputs(20 * STEP_US);
    for placed in AXLE_FRAMES.iter().flat_map(|frame| frame.signals) {
        let sent = (OUTPUT_SIGNALS[placed.position].read)(&outputs);
        let Decoded::Number(seen) = told[placed.position] else {
            panic!("{}: {:?}", placed.name(), told[placed.position]);
        };
        assert!(
            (seen - sent).abs() < placed.step() || seen == sent,
            "{}",
            placed.name()
        );
    }
    assert_eq!(sender.report().saturated + sender.report().errors, 0);
    let late = receiver.outputs(10_000_000);
    assert!(late.iter().all(|told| *told == Decoded::NotAvailable));
}

#[test]
fn what_packing_changes_is_reported_with_the_signals_name() {
    let mut sender = OutputSender::default();
    let mut outputs = Outputs::default();
    outputs.capacity_nm.left = 3001.0;
    sender.send(0, &outputs, |_| {});
    assert_eq!(
        (sender.report().saturated, sender.report().last),
        (1, Some("capacity_left"))
    );
    outputs.capacity_nm.left = f32::NAN;
    sender.send(5_000, &outputs, |_| {});
    assert_eq!(sender.report().errors, 1);
    let mut sender = InputSender::default();
    sender.send(
        0,
        &Inputs {
            gear: Reading::fresh(13.0),
            ..Inputs::default()
        },
        |_| {},
    );
    assert_eq!(
        (sender.report().errors, sender.report().last),
        (1, Some("gear"))
    );
    assert_eq!(
        sender.report().not_available,
        INPUT_SIGNALS.len() as u32 - 1
    );
}

#[test]
fn frames_go_out_in_their_periods_and_a_pause_is_not_caught_up() {
    let mut sender = InputSender::default();
    let mut count = |now_us| {
        let mut found = 0;
        sender.send(now_us, &good_inputs(), |_| found += 1);
        found
    };
    assert_eq!(
        [count(0), count(1_000), count(5_000), count(10_000)],
        [7, 0, 6, 7]
    );
    assert_eq!(
        [count(1_000_000), count(1_001_000), count(1_005_000)],
        [7, 0, 6]
    );
    assert_eq!(count(u64::MAX), 7);
    let names: Vec<&str> = CAR_FRAMES[0].signals.iter().map(Placed::name).collect();
    assert_eq!(names, ["wheel_speed_front_left", "wheel_speed_front_right"]);
}
