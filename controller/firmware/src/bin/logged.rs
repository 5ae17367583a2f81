//! The second image: replays a sequence and logs what leaves the law by deferred formatting, decoded on the host.
//!
//! In: as the first image. Out: frames on the host's console, one for every hundredth step with its number and all outputs.
#![no_std]
#![no_main]

use core::mem::MaybeUninit;

use couplet_controller::{Controller, Inputs, RawPage};
use couplet_firmware::sequence::{Fault, Sequence};
use couplet_firmware::{host, step};
use defmt_semihosting as _;

/// Steps between two frames.
const EVERY: u32 = 100;

static mut CONTROLLER: MaybeUninit<Controller<f32>> = MaybeUninit::uninit();

/// The page, which a control unit has in its flash.
static mut PAGE: MaybeUninit<RawPage> = MaybeUninit::uninit();

#[cortex_m_rt::entry]
fn main() -> ! {
    match replay() {
        Ok(()) => host::exit(0),
        Err(fault) => {
            defmt::error!("{=str}", fault.words());
            host::exit(2)
        }
    }
}

fn replay() -> Result<(), Fault> {
    let mut sequence = Sequence::of_command_line()?;
    // SAFETY: `main` runs once and alone; no interrupt handler knows these names.
    let (place, page) = unsafe { (&mut *(&raw mut CONTROLLER), &mut *(&raw mut PAGE)) };
    let controller = sequence.controller(place, page.write(RawPage::default()))?;
    let mut inputs = Inputs::default();
    for number in 1..=sequence.steps {
        sequence.next(&mut inputs)?;
        let outputs = step(controller, &inputs);
        if number % EVERY == 0 {
            defmt::println!(
                "step {=u32} capacity {=f32} {=f32} outputs {}",
                number,
                outputs.capacity_nm.left,
                outputs.capacity_nm.right,
                outputs
            );
        }
    }
    Ok(())
}
