//! Fault memory: what failed, how often, and what the car was doing then.
//!
//! In: inputs and outputs of every step, begin and end of an operation cycle (key on, key off), clearing. Out: the status of every
//! fault after ISO 14229-1 ([`status`]), freeze frames, and a record that outlives key-off ([`FaultMemory::encode`]). It stands beside
//! the controller and is fed by what a step gave, so that the step carries nothing of it: while nothing changes a note is one
//! comparison. A test counts as passed after [`PASS_STEPS`] steps without its fault in which it could have been found.
//!
//! Frames: the values of all inputs and the main outputs at the first failure of a cycle. [`FRAMES`] fit; a further one takes the
//! place of the oldest that is not confirmed, and of the oldest of all if every one is. Limits: numbers of codes are faults of
//! [`Fault`]; a maker gives them codes of three bytes of his own.

pub mod status;

use crate::quantity::Tick;
use crate::signal::inputs::{INPUT_SIGNALS, Status as Sent};
use crate::signal::{Inputs, Outputs};
use crate::snapshot::{Reader, Refusal, Slot, Writer, crc32_p4};
use crate::stage::monitor::{FAULTS, Fault};
use status::{Code, Rules, Status};

/// Freeze frames that are kept.
pub const FRAMES: usize = 12;

/// Steps in a row in which a test ran and found nothing until it counts as passed: 1 s of 5 ms.
pub const PASS_STEPS: u16 = 200;

/// Inputs of a frame.
pub const INPUTS: usize = INPUT_SIGNALS.len();

/// Outputs of a frame: both capacities, both expected torques, oil and both surface temperatures, health's share.
pub const OUTPUTS: usize = 8;

/// First four bytes of a record.
pub const MAGIC: [u8; 4] = *b"CPFM";

/// Version of the layout.
pub const VERSION: u16 = 1;

/// Bytes of one code and of one frame.
const CODE: usize = 4;
const FRAME: usize = 16 + 4 * (INPUTS + OUTPUTS);

/// Bytes of a stored record: magic 4, version 2, length 2, sequence 4, cycle 4, frames 4, codes, frames, CRC 4.
pub const SIZE: usize = 20 + CODE * FAULTS + FRAME * FRAMES + 4;

/// What the car was doing when a fault was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreezeFrame {
    /// Number of the fault.
    pub fault: u8,
    /// Health after it.
    pub health: u8,
    /// Where the car was.
    pub situation: u8,
    /// Operation cycle.
    pub cycle: u32,
    /// Control steps since the unit was new.
    pub tick: Tick,
    /// Values of the inputs in the order of their table; no number where the sender did not vouch for one.
    pub inputs: [f32; INPUTS],
    /// Capacities, expected torques, oil, surfaces, health's share.
    pub outputs: [f32; OUTPUTS],
}

/// The memory.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultMemory {
    rules: Rules,
    codes: [Code; FAULTS],
    frames: heapless::Vec<FreezeFrame, FRAMES>,
    cycle: u32,
    /// Faults of the last note.
    present: u32,
    /// Faults that could have been found in every note since the count began.
    tested: u32,
    /// Notes without a change.
    quiet_steps: u16,
}

impl FaultMemory {
    /// An empty memory in its first operation cycle.
    pub fn new(rules: Rules) -> Self {
        Self {
            rules,
            codes: [Code::default(); FAULTS],
            frames: heapless::Vec::new(),
            cycle: 1,
            present: 0,
            tested: u32::MAX,
            quiet_steps: 0,
        }
    }

    /// A fault's code.
    pub fn code(&self, fault: Fault) -> Code {
        self.codes
            .get(usize::from(fault as u8))
            .copied()
            .unwrap_or_default()
    }

    /// Faults whose status has any bit of a mask, in order of their number.
    pub fn matching(&self, mask: u8) -> heapless::Vec<Fault, FAULTS> {
        let mut found = heapless::Vec::new();
        for fault in Fault::ALL {
            if self.code(fault).status.0 & mask != 0 {
                // There is room for every fault.
                let _ = found.push(fault);
            }
        }
        found
    }

    /// The frame of a fault, if it is kept.
    pub fn frame(&self, fault: Fault) -> Option<&FreezeFrame> {
        self.frames.iter().find(|frame| frame.fault == fault as u8)
    }

    /// Every frame, the oldest first.
    pub fn frames(&self) -> &[FreezeFrame] {
        &self.frames
    }

    /// Number of the operation cycle, from 1 on.
    pub fn cycle(&self) -> u32 {
        self.cycle
    }

    /// Notes a step: what the law was told, what it gave, and its tick.
    #[inline]
    pub fn note(&mut self, inputs: &Inputs, outputs: &Outputs, tick: Tick) {
        if outputs.faults != self.present {
            self.changed(inputs, outputs, tick);
        } else if self.quiet_steps < PASS_STEPS {
            self.quiet_steps = self.quiet_steps.saturating_add(1);
            self.tested &= testable(inputs);
            if self.quiet_steps == PASS_STEPS {
                self.passed();
            }
        }
    }

    #[cold]
    #[inline(never)]
    fn changed(&mut self, inputs: &Inputs, outputs: &Outputs, tick: Tick) {
        let begun = outputs.faults & !self.present;
        self.present = outputs.faults;
        self.quiet_steps = 0;
        self.tested = u32::MAX;
        for fault in Fault::ALL {
            if begun & (1_u32.wrapping_shl(fault as u32)) == 0 {
                continue;
            }
            let Some(code) = self.codes.get_mut(usize::from(fault as u8)) else {
                continue;
            };
            if code.fail(&self.rules) {
                self.keep(FreezeFrame {
                    fault: fault as u8,
                    health: outputs.health as u8,
                    situation: outputs.situation as u8,
                    cycle: self.cycle,
                    tick,
                    inputs: told(inputs),
                    outputs: [
                        outputs.capacity_nm.left,
                        outputs.capacity_nm.right,
                        outputs.torque_nm.left,
                        outputs.torque_nm.right,
                        outputs.oil_degc,
                        outputs.surface_degc.left,
                        outputs.surface_degc.right,
                        outputs.health_share,
                    ],
                });
            }
        }
    }

    fn passed(&mut self) {
        for fault in Fault::ALL {
            let bit = 1_u32.wrapping_shl(fault as u32);
            if self.tested & bit == 0 || self.present & bit != 0 {
                continue;
            }
            if let Some(code) = self.codes.get_mut(usize::from(fault as u8)) {
                code.pass();
            }
        }
        if self.tested != u32::MAX {
            // Some could not be tested yet.
            self.quiet_steps = 0;
            self.tested = u32::MAX;
        }
    }

    fn keep(&mut self, frame: FreezeFrame) {
        // One frame a fault: that of the latest cycle.
        if let Some(own) = self
            .frames
            .iter()
            .position(|kept| kept.fault == frame.fault)
        {
            self.frames.remove(own);
        }
        if self.frames.is_full() {
            let confirmed = |kept: &FreezeFrame| {
                self.codes
                    .get(usize::from(kept.fault))
                    .is_some_and(|code| code.status.has(Status::CONFIRMED_DTC))
            };
            let place = self
                .frames
                .iter()
                .position(|kept| !confirmed(kept))
                .unwrap_or(0);
            self.frames.remove(place);
        }
        // There is room now; were there none, the frame would be lost and nothing else.
        let _ = self.frames.push(frame);
    }

    /// A new operation cycle: at key-on.
    pub fn start_cycle(&mut self) {
        self.cycle = self.cycle.saturating_add(1);
        self.present = 0;
        self.quiet_steps = 0;
        self.tested = u32::MAX;
        for code in &mut self.codes {
            code.start_cycle();
        }
    }

    /// The end of an operation cycle: at key-off, before the record is stored.
    pub fn end_cycle(&mut self) {
        for code in &mut self.codes {
            code.end_cycle(&self.rules);
        }
    }

    /// Clears one fault, or all. What still stands is found again with the next note.
    pub fn clear(&mut self, only: Option<Fault>) {
        for fault in Fault::ALL {
            if only.is_some_and(|only| only != fault) {
                continue;
            }
            if let Some(code) = self.codes.get_mut(usize::from(fault as u8)) {
                *code = Code::default();
            }
            self.present &= !(1_u32.wrapping_shl(fault as u32));
            // One frame a fault at most.
            let own = self
                .frames
                .iter()
                .position(|frame| frame.fault == fault as u8);
            if let Some(own) = own {
                self.frames.remove(own);
            }
        }
        self.quiet_steps = 0;
        self.tested = u32::MAX;
    }

    /// The record as bytes; `sequence` counts records.
    pub fn encode(&self, sequence: u32) -> [u8; SIZE] {
        let mut bytes = [0; SIZE];
        let mut writer = Writer { rest: &mut bytes };
        writer.put(MAGIC);
        writer.put(VERSION.to_le_bytes());
        writer.put((SIZE as u16).to_le_bytes());
        writer.put(sequence.to_le_bytes());
        writer.put(self.cycle.to_le_bytes());
        writer.put((self.frames.len() as u32).to_le_bytes());
        for code in &self.codes {
            writer.put([
                code.status.0,
                code.failed_cycles,
                code.passed_cycles,
                code.occurrences,
            ]);
        }
        for frame in &self.frames {
            writer.put([frame.fault, frame.health, frame.situation, 0]);
            writer.put(frame.cycle.to_le_bytes());
            writer.put(frame.tick.0.to_le_bytes());
            for value in frame.inputs.iter().chain(&frame.outputs) {
                writer.put(value.to_le_bytes());
            }
        }
        if let Some((content, check)) = bytes.split_last_chunk_mut::<4>() {
            *check = crc32_p4(content).to_le_bytes();
        }
        bytes
    }

    /// The record from bytes with its sequence, whole or not at all.
    ///
    /// # Errors
    /// Why the bytes are no record of this version.
    pub fn decode(bytes: &[u8; SIZE], rules: Rules) -> Result<(u32, Self), Refusal> {
        let mut reader = Reader { rest: bytes };
        if reader.take() != MAGIC {
            return Err(Refusal::Magic);
        }
        let version = u16::from_le_bytes(reader.take());
        if version != VERSION {
            return Err(Refusal::Version(version));
        }
        let length = u16::from_le_bytes(reader.take());
        if usize::from(length) != SIZE {
            return Err(Refusal::Length(length));
        }
        match bytes.split_last_chunk::<4>() {
            Some((content, check)) if crc32_p4(content) == u32::from_le_bytes(*check) => {}
            _ => return Err(Refusal::Crc),
        }
        let sequence = u32::from_le_bytes(reader.take());
        let mut memory = Self::new(rules);
        memory.cycle = u32::from_le_bytes(reader.take());
        let frames = u32::from_le_bytes(reader.take());
        let mut possible = true;
        for code in &mut memory.codes {
            let [status, failed_cycles, passed_cycles, occurrences] = reader.take();
            *code = Code {
                status: Status(status),
                failed_cycles,
                passed_cycles,
                occurrences,
            };
            possible &= code.status.is_possible();
        }
        for _ in 0..frames {
            let [fault, health, situation, _] = reader.take();
            let cycle = u32::from_le_bytes(reader.take());
            let tick = Tick(u64::from_le_bytes(reader.take()));
            let mut frame = FreezeFrame {
                fault,
                health,
                situation,
                cycle,
                tick,
                inputs: [0.0; INPUTS],
                outputs: [0.0; OUTPUTS],
            };
            for value in frame.inputs.iter_mut().chain(&mut frame.outputs) {
                *value = f32::from_le_bytes(reader.take());
            }
            possible &= usize::from(fault) < FAULTS && memory.frames.push(frame).is_ok();
            if !possible {
                break;
            }
        }
        if possible {
            Ok((sequence, memory))
        } else {
            Err(Refusal::Implausible)
        }
    }

    /// The newer of two stored records, or an empty memory and why: a torn write leaves the one before.
    pub fn recall(
        slot_a: &[u8; SIZE],
        slot_b: &[u8; SIZE],
        rules: Rules,
    ) -> (Self, Result<Slot, Refusal>) {
        let newer = |one: u32, other: u32| (one.wrapping_sub(other) as i32) > 0;
        match (Self::decode(slot_a, rules), Self::decode(slot_b, rules)) {
            (Ok((a, _)), Ok((b, memory))) if newer(b, a) => (memory, Ok(Slot::B)),
            (Ok((_, memory)), _) => (memory, Ok(Slot::A)),
            (Err(_), Ok((_, memory))) => (memory, Ok(Slot::B)),
            (Err(a), Err(b)) => (Self::new(rules), Err(a.max(b))),
        }
    }
}

/// Faults that could be found in this step: those of a clutch need its sensor, contradictions need a car that moves.
fn testable(inputs: &Inputs) -> u32 {
    const fn of(faults: &[Fault]) -> u32 {
        let mut set = 0;
        let mut rest = faults;
        while let [first, others @ ..] = rest {
            set |= 1_u32.wrapping_shl(*first as u32);
            rest = others;
        }
        set
    }
    const LEFT: u32 = of(&Fault::CLUTCH_LEFT);
    const RIGHT: u32 = of(&Fault::CLUTCH_RIGHT);
    const MOVING: u32 = of(&[
        Fault::YawRateImplausible,
        Fault::WheelSpeedFrontLeftImplausible,
        Fault::WheelSpeedFrontRightImplausible,
        Fault::WheelSpeedRearLeftImplausible,
        Fault::WheelSpeedRearRightImplausible,
        Fault::AccelerationImplausible,
        Fault::SteeringImplausible,
    ]);
    let mut set = u32::MAX;
    if inputs.clutch_pressure_left.status != Sent::VALID {
        set &= !LEFT;
    }
    if inputs.clutch_pressure_right.status != Sent::VALID {
        set &= !RIGHT;
    }
    // 35 rad/s is some 11 m/s: above the speed of every check.
    let turns = |wheel: f32| wheel > 35.0;
    if !(turns(inputs.wheel_speed_front_left.value) && turns(inputs.wheel_speed_rear_right.value)) {
        set &= !MOVING;
    }
    set
}

/// Values of the inputs.
fn told(inputs: &Inputs) -> [f32; INPUTS] {
    let mut values = [f32::NAN; INPUTS];
    for (value, signal) in values.iter_mut().zip(INPUT_SIGNALS) {
        let reading = (signal.read)(inputs);
        if reading.status == Sent::VALID {
            *value = reading.value;
        }
    }
    values
}
