//! Fault memory: the status byte of ISO 14229-1 Annex D (from memory) by its definitions over the whole history, frames, the record.
//!
//! The model here keeps every result since the last clearing and works each bit out from its definition; the memory keeps a byte
//! and three counters. Values of the bits: 1 testFailed, 2 testFailedThisOperationCycle, 4 pendingDTC, 8 confirmedDTC, 16
//! testNotCompletedSinceLastClear, 32 testFailedSinceLastClear, 64 testNotCompletedThisOperationCycle, 128 warningIndicatorRequested.

use couplet_controller::fault_memory::status::{Code, Rules, Status};
use couplet_controller::fault_memory::{FRAMES, PASS_STEPS, SIZE};
use couplet_controller::signal::INPUT_SIGNALS;
use couplet_controller::snapshot::{Refusal, Slot};
use couplet_controller::stage::monitor::Fault;
use couplet_controller::{
    Controller, FaultMemory, Inputs, Outputs, Period, RawPage, Reading, Tick,
};
use proptest::prelude::*;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Event {
    Fail,
    Pass,
    /// Key off and on.
    NextCycle,
    Clear,
}

/// Results of every cycle since clearing, the present one last.
#[derive(Debug)]
struct History {
    cycles: Vec<Vec<bool>>,
    rules: Rules,
}

impl History {
    fn failed(cycle: &[bool]) -> bool {
        cycle.contains(&false)
    }

    /// The byte by the definitions.
    fn status(&self) -> u8 {
        let all: Vec<bool> = self.cycles.concat();
        let (present, ended) = self.cycles.split_last().expect("a cycle");
        // Cycles with a result, the ended ones.
        let completed: Vec<bool> = ended
            .iter()
            .filter(|cycle| !cycle.is_empty())
            .map(|cycle| Self::failed(cycle))
            .collect();
        let now = Self::failed(present);
        let pending = now || completed.last() == Some(&true);
        // Confirmed, and when it was forgotten again: by playing the completed cycles in their order.
        let (mut row, mut good, mut confirmed, mut lamp) = (0, 0, false, false);
        let mut play = |failed: bool, ended: bool| {
            if failed {
                row += 1;
                good = 0;
                if row >= self.rules.confirm_cycles {
                    (confirmed, lamp) = (true, true);
                }
            } else if ended {
                row = 0;
                good += 1;
                if good >= self.rules.lamp_cycles {
                    lamp = false;
                }
                if good >= self.rules.age_cycles {
                    (confirmed, lamp) = (false, false);
                }
            }
        };
        completed.iter().for_each(|failed| play(*failed, true));
        play(now, false);
        u8::from(all.last() == Some(&false))
            | u8::from(now) << 1
            | u8::from(pending) << 2
            | u8::from(confirmed) << 3
            | u8::from(all.is_empty()) << 4
            | u8::from(Self::failed(&all)) << 5
            | u8::from(present.is_empty()) << 6
            | u8::from(lamp) << 7
    }
}

fn any_event() -> impl Strategy<Value = Event> {
    prop_oneof![
        2 => Just(Event::Fail),
        4 => Just(Event::Pass),
        5 => Just(Event::NextCycle),
        1 => (0u8..8).prop_map(|chance| if chance == 0 { Event::Clear } else { Event::Pass }),
    ]
}

proptest! {
    #![proptest_config(couplet_tests::property(2_000))]

    #[test]
    fn every_bit_of_the_status_is_what_its_definition_says_of_the_history(
        events in proptest::collection::vec(any_event(), 1..120),
        confirm_cycles in 1u8..4, age_cycles in 1u8..8, lamp_cycles in 1u8..4,
    ) {
        let rules = Rules { confirm_cycles, age_cycles: age_cycles.max(lamp_cycles), lamp_cycles };
        let mut history = History { cycles: vec![vec![]], rules };
        let mut code = Code::default();
        prop_assert_eq!(code.status.0, 0x50);
        for event in events {
            match event {
                Event::Fail => {
                    code.fail(&rules);
                    history.cycles.last_mut().expect("a cycle").push(false);
                }
                Event::Pass => {
                    code.pass();
                    history.cycles.last_mut().expect("a cycle").push(true);
                }
                Event::NextCycle => {
                    code.end_cycle(&rules);
                    code.start_cycle();
                    history.cycles.push(vec![]);
                }
                Event::Clear => {
                    code = Code::default();
                    history.cycles = vec![vec![]];
                }
            }
            prop_assert!(code.status.is_possible(), "{:08b}", code.status.0);
            prop_assert_eq!(code.status.0, history.status(), "{:08b} after {:?}", code.status.0, event);
        }
    }

    #[test]
    fn whatever_is_noted_fits_survives_the_bytes_and_no_single_bit_error_is_taken(
        steps in proptest::collection::vec((any::<u32>(), 0u8..12), 1..60), bit in 0usize..8 * SIZE,
    ) {
        let mut memory = FaultMemory::new(Rules::default());
        let (inputs, mut outputs) = (sound(), Outputs::default());
        for (index, (faults, what)) in steps.into_iter().enumerate() {
            match what {
                0 => { memory.end_cycle(); memory.start_cycle(); }
                1 => memory.clear(None),
                2 => memory.clear(Some(Fault::Master)),
                _ => outputs.faults = faults & 0x3fff_ffff,
            }
            memory.note(&inputs, &outputs, Tick(index as u64));
            prop_assert!(memory.frames().len() <= FRAMES);
            for fault in Fault::ALL {
                prop_assert!(memory.code(fault).status.is_possible());
            }
        }
        let bytes = memory.encode(7);
        let (sequence, again) = FaultMemory::decode(&bytes, Rules::default()).expect("what was written");
        prop_assert_eq!(sequence, 7);
        prop_assert_eq!(again.encode(7), bytes);
        prop_assert_eq!(again.frames().len(), memory.frames().len());
        let mut broken = bytes;
        broken[bit / 8] ^= 1 << (bit % 8);
        prop_assert!(FaultMemory::decode(&broken, Rules::default()).is_err());
    }
}

/// A car that drives at 20 m/s, everything well but for the pressure sensors it does not have.
fn sound() -> Inputs {
    let mut inputs = Inputs::default();
    for signal in INPUT_SIGNALS {
        (signal.write)(&mut inputs, Reading::fresh(0.0));
    }
    let wheel = Reading::fresh(20.0 / 0.32);
    inputs.wheel_speed_front_left = wheel;
    inputs.wheel_speed_front_right = wheel;
    inputs.wheel_speed_rear_left = wheel;
    inputs.wheel_speed_rear_right = wheel;
    inputs.gear = Reading::fresh(4.0);
    inputs.rear_torque_cap = Reading::fresh(20_000.0);
    inputs.yaw_moment_cap = Reading::fresh(40_000.0);
    inputs.clutch_pressure_left = Reading::missing();
    inputs.clutch_pressure_right = Reading::missing();
    inputs
}

#[test]
fn a_lost_yaw_rate_of_the_whole_controller_is_kept_with_its_frame_over_key_off_and_ages() {
    let mut controller: Controller<f32> =
        Controller::new(&RawPage::default(), Period::default()).expect("the default page");
    let mut memory = FaultMemory::new(Rules::default());
    let mut drive =
        |memory: &mut FaultMemory, steps: usize, change: &dyn Fn(usize, &mut Inputs)| {
            for step in 0..steps {
                let mut inputs = sound();
                change(step, &mut inputs);
                let outputs = controller.step(&inputs);
                memory.note(&inputs, &outputs, controller.state().tick);
            }
        };
    drive(&mut memory, 2 * usize::from(PASS_STEPS), &|_, _| {});
    let code = |memory: &FaultMemory| memory.code(Fault::YawRate).status.0;
    // Tested and passed, never failed; a car without pressure sensors never tests its clutches.
    assert_eq!(code(&memory), 0x00);
    assert_eq!(memory.code(Fault::ClutchLeakLeft).status, Status::CLEARED);
    drive(&mut memory, 400, &|step, inputs| {
        inputs.lateral_acceleration = Reading::fresh(0.25);
        if step < 100 {
            inputs.yaw_rate = Reading::missing();
        }
    });
    // Failed and healed in this cycle: pending, confirmed, failed since clear, lamp; the last result is good.
    assert_eq!(code(&memory), 0b1010_1110);
    assert_eq!(memory.code(Fault::YawRate).occurrences, 1);
    let frame = memory.frame(Fault::YawRate).expect("a frame");
    let place = |name: &str| INPUT_SIGNALS.iter().position(|signal| signal.name == name);
    let value = |name: &str| frame.inputs[place(name).expect("an input")];
    assert!(value("yaw_rate").is_nan());
    assert_eq!(value("lateral_acceleration"), 0.25);
    assert_eq!(value("wheel_speed_rear_left"), 62.5);
    assert_eq!((frame.health, frame.cycle), (1, 1));
    // Key off, key on from the newer slot; the older one was torn.
    memory.end_cycle();
    let (stored, torn) = (memory.encode(2), [0xff; SIZE]);
    let (mut memory, from) = FaultMemory::recall(&torn, &stored, Rules::default());
    assert_eq!(from, Ok(Slot::B));
    memory.start_cycle();
    assert_eq!(code(&memory), 0b1110_1100);
    assert_eq!((memory.cycle(), memory.frames().len()), (2, 1));
    // One good cycle and it is no longer pending, three and the lamp is off, forty and it is forgotten but for "since clear".
    let mut seen = Vec::new();
    for _ in 0..40 {
        drive(&mut memory, usize::from(PASS_STEPS) + 1, &|_, _| {});
        memory.end_cycle();
        seen.push(code(&memory));
        memory.start_cycle();
    }
    assert_eq!(seen[0], 0b1010_1000);
    assert_eq!(seen[2], 0b0010_1000);
    assert_eq!(seen[38], 0b0010_1000);
    assert_eq!(seen[39], 0b0010_0000);
    memory.clear(None);
    assert_eq!(code(&memory), 0x50);
    assert!(memory.frames().is_empty());
}

#[test]
fn a_fault_that_stands_while_the_memory_is_cleared_or_the_key_turned_is_found_again() {
    let mut memory = FaultMemory::new(Rules::default());
    let (inputs, outputs) = (
        sound(),
        Outputs {
            faults: 1 << Fault::Master as u8,
            ..Outputs::default()
        },
    );
    memory.note(&inputs, &outputs, Tick(1));
    memory.clear(None);
    assert_eq!(memory.code(Fault::Master).status, Status::CLEARED);
    memory.note(&inputs, &outputs, Tick(2));
    assert!(memory.code(Fault::Master).status.has(Status::TEST_FAILED));
    assert_eq!(memory.matching(Status::TEST_FAILED), [Fault::Master]);
    memory.end_cycle();
    memory.start_cycle();
    memory.note(&inputs, &outputs, Tick(3));
    let status = memory.code(Fault::Master).status;
    assert!(status.has(Status::TEST_FAILED_THIS_OPERATION_CYCLE | Status::CONFIRMED_DTC));
}

#[test]
fn frames_of_what_is_confirmed_are_not_pushed_out_by_what_is_not() {
    let rules = Rules {
        confirm_cycles: 2,
        ..Rules::default()
    };
    let mut memory = FaultMemory::new(rules);
    let note = |memory: &mut FaultMemory, faults: u32| {
        let outputs = Outputs {
            faults,
            ..Outputs::default()
        };
        memory.note(&sound(), &outputs, Tick(1));
    };
    // Fault 4 fails in two cycles and is confirmed; then every other fault fails once.
    note(&mut memory, 1 << 4);
    memory.end_cycle();
    memory.start_cycle();
    note(&mut memory, 1 << 4);
    note(&mut memory, 0x3fff_ffff);
    assert_eq!(memory.frames().len(), FRAMES);
    assert!(memory.frame(Fault::YawRate).is_some());
    assert_eq!(memory.frames().last().map(|frame| frame.fault), Some(29));
}

#[test]
fn a_record_of_another_version_or_of_nothing_is_refused_with_its_reason() {
    let bytes = FaultMemory::new(Rules::default()).encode(1);
    let with = |change: fn(&mut [u8; SIZE])| {
        let mut bytes = bytes;
        change(&mut bytes);
        FaultMemory::decode(&bytes, Rules::default()).err()
    };
    assert_eq!(with(|_| {}), None);
    assert_eq!(with(|bytes| bytes[0] = 0), Some(Refusal::Magic));
    assert_eq!(with(|bytes| bytes[4] = 9), Some(Refusal::Version(9)));
    assert_eq!(with(|bytes| bytes[30] ^= 1), Some(Refusal::Crc));
    let empty = [0xff; SIZE];
    let (memory, from) = FaultMemory::recall(&empty, &empty, Rules::default());
    assert_eq!(from, Err(Refusal::Magic));
    assert_eq!(memory.matching(0xff).len(), Fault::ALL.len());
    // One record is small enough for a page of a unit's memory.
    const { assert!(SIZE <= 2048) };
}
