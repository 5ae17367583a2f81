//! Replays a recorded sequence of inputs through the whole controller and prints digests of its outputs.
//!
//! In: the emulator's command line names a sequence file (see `couplet_firmware::sequence`). Out on the host's console:
//! one line `STEPS DIGEST` for every thousand steps and for the last one, then `stack BYTES` (high-water mark below the
//! loop), `start BYTES` (the same of accepting the page and building the controller) and `sizes CONTROLLER OUTPUTS`. Exit status 0, or 2 with a message for a file that is refused. A step lies
//! between the calls of `couplet_step_begins` and `couplet_step_ends`, where a counter of instructions looks.
#![no_std]
#![no_main]

use core::mem::MaybeUninit;

use couplet_controller::signal::OUTPUT_READS;
use couplet_controller::{Controller, Inputs, Outputs, RawPage};
use couplet_firmware::sequence::{Fault, Sequence};
use couplet_firmware::{Digest, Line, host, stack, step};

/// Steps between two printed digests.
const EVERY: u32 = 1000;

/// The controller lives in static memory, as on a control unit.
static mut CONTROLLER: MaybeUninit<Controller<f32>> = MaybeUninit::uninit();

/// The page, which a control unit has in its flash.
static mut PAGE: MaybeUninit<RawPage> = MaybeUninit::uninit();

#[cortex_m_rt::entry]
fn main() -> ! {
    match replay() {
        Ok(()) => host::exit(0),
        Err(fault) => {
            host::print(fault.words());
            host::print("\n");
            host::exit(2)
        }
    }
}

fn replay() -> Result<(), Fault> {
    let mut sequence = Sequence::of_command_line()?;
    // SAFETY: `main` runs once and alone; no interrupt handler knows these names.
    let (place, page) = unsafe { (&mut *(&raw mut CONTROLLER), &mut *(&raw mut PAGE)) };
    stack::paint();
    let controller = sequence.controller(place, page.write(RawPage::default()))?;
    let start = stack::deepest();
    stack::paint();
    let mut digest = Digest::new();
    let mut inputs = Inputs::default();
    for number in 1..=sequence.steps {
        sequence.next(&mut inputs)?;
        let outputs = step(controller, &inputs);
        for read in OUTPUT_READS {
            digest.fold(read(&outputs).to_bits());
        }
        if number % EVERY == 0 || number == sequence.steps {
            let mut line = Line::new();
            line.decimal(number);
            line.text(" ");
            line.hexadecimal(digest.0);
            line.print();
        }
    }
    let mut line = Line::new();
    line.text("stack ");
    line.decimal(stack::deepest());
    line.print();
    let mut line = Line::new();
    line.text("start ");
    line.decimal(start);
    line.print();
    let mut line = Line::new();
    line.text("sizes ");
    line.decimal(size_of::<Controller<f32>>() as u32);
    line.text(" ");
    line.decimal(size_of::<Outputs>() as u32);
    line.print();
    Ok(())
}
