//! Counts the instructions of every control step inside the emulator, in all and by stage.
//!
//! In, as arguments of the plug-in: `begin` and `end` (addresses of the two marks, hexadecimal), `stages` (file of lines
//! `FIRST LAST NUMBER`, addresses hexadecimal, sorted), `out` (file to write). Out: for every step one record of
//! [`STAGES`] + 1 little-endian `u32`: all instructions between the marks, then those of each stage. An instruction that
//! belongs to no stage (a sine, a copy) counts for the stage that was at work before it. The counts are exact: a block of
//! the emulator is left only at its end, except by an exception, and none occurs inside a step.
//!
//! The interface is declared here by hand, from memory, as the distribution ships no header: version 1 of the emulator's
//! plug-in interface.

use std::cell::UnsafeCell;
use std::ffi::{CStr, c_char, c_int, c_uint, c_void};
use std::fs::File;
use std::io::Write;

/// Most stages told apart; the last one is what belongs to none.
pub const STAGES: usize = 24;

#[repr(C)]
pub struct Block {
    _opaque: [u8; 0],
}
#[repr(C)]
pub struct Instruction {
    _opaque: [u8; 0],
}
type Id = u64;

// SAFETY: names and types are those of version 1 of the emulator's plug-in interface, found in the program that loads this.
unsafe extern "C" {
    fn qemu_plugin_register_vcpu_tb_trans_cb(id: Id, heard: extern "C" fn(Id, *mut Block));
    fn qemu_plugin_tb_n_insns(block: *const Block) -> usize;
    fn qemu_plugin_tb_get_insn(block: *const Block, index: usize) -> *mut Instruction;
    fn qemu_plugin_insn_vaddr(instruction: *const Instruction) -> u64;
    fn qemu_plugin_register_vcpu_tb_exec_cb(
        block: *mut Block,
        heard: extern "C" fn(c_uint, *mut c_void),
        flags: c_int,
        told: *mut c_void,
    );
}

/// Version of the interface this plug-in was written for; read by the emulator.
// SAFETY: the name is the interface's own.
#[unsafe(no_mangle)]
#[allow(non_upper_case_globals)]
pub static qemu_plugin_version: c_int = 1;

#[derive(Clone, Copy, PartialEq)]
enum Mark {
    None,
    Begin,
    End,
}

/// One translated block: instructions in a row that belong together.
struct Counted {
    mark: Mark,
    runs: Vec<(Option<usize>, u32)>,
}

struct Counter {
    begin: u64,
    end: u64,
    ranges: Vec<(u64, u64, usize)>,
    out: File,
    counting: bool,
    stage: usize,
    counts: [u32; STAGES + 1],
}

struct Alone(UnsafeCell<Option<Counter>>);
// SAFETY: the emulated board has one processor, and the emulator runs it and its translations in one thread.
unsafe impl Sync for Alone {}
static COUNTER: Alone = Alone(UnsafeCell::new(None));

fn with(act: impl FnOnce(&mut Counter)) {
    // SAFETY: see `Alone`; no callback calls another.
    if let Some(counter) = unsafe { &mut *COUNTER.0.get() } {
        act(counter);
    }
}

impl Counter {
    fn stage_of(&self, address: u64) -> Option<usize> {
        let place = self.ranges.partition_point(|range| range.0 <= address);
        let (_, last, stage) = *self.ranges.get(place.checked_sub(1)?)?;
        (address <= last).then_some(stage)
    }

    fn begun(arguments: &[String]) -> Result<Self, String> {
        let value = |key: &str| {
            arguments
                .iter()
                .find_map(|word| word.strip_prefix(key)?.strip_prefix('='))
                .ok_or(format!("argument {key}= is missing"))
        };
        let hexadecimal = |text: &str| {
            u64::from_str_radix(text.trim_start_matches("0x"), 16)
                .map_err(|error| format!("{text}: {error}"))
        };
        let mut ranges = Vec::new();
        let file = value("stages")?;
        let text = std::fs::read_to_string(file).map_err(|error| format!("{file}: {error}"))?;
        for line in text.lines() {
            let [first, last, stage] = line.split(' ').collect::<Vec<_>>()[..] else {
                return Err(format!("{file}: `{line}` is not FIRST LAST NUMBER"));
            };
            let stage: usize = stage.parse().map_err(|_| format!("{file}: `{line}`"))?;
            if stage >= STAGES {
                return Err(format!("{file}: `{line}`: at most {} stages", STAGES - 1));
            }
            ranges.push((hexadecimal(first)?, hexadecimal(last)?, stage));
        }
        let out = value("out")?;
        Ok(Self {
            begin: hexadecimal(value("begin")?)?,
            end: hexadecimal(value("end")?)?,
            ranges,
            out: File::create(out).map_err(|error| format!("{out}: {error}"))?,
            counting: false,
            stage: STAGES - 1,
            counts: [0; STAGES + 1],
        })
    }
}

extern "C" fn translated(_: Id, block: *mut Block) {
    with(|counter| {
        // SAFETY: the emulator hands a valid block for the time of this call.
        let addresses: Vec<u64> = unsafe {
            (0..qemu_plugin_tb_n_insns(block))
                .map(|index| qemu_plugin_insn_vaddr(qemu_plugin_tb_get_insn(block, index)))
                .collect()
        };
        let mark = match addresses.first() {
            Some(first) if *first == counter.begin => Mark::Begin,
            Some(first) if *first == counter.end => Mark::End,
            _ => Mark::None,
        };
        let mut runs: Vec<(Option<usize>, u32)> = Vec::new();
        for address in addresses {
            let stage = counter.stage_of(address);
            match runs.last_mut() {
                Some((last, count)) if *last == stage => *count += 1,
                _ => runs.push((stage, 1)),
            }
        }
        let told = Box::into_raw(Box::new(Counted { mark, runs }));
        // SAFETY: what is told lives as long as the emulator: blocks may be run until it ends.
        unsafe { qemu_plugin_register_vcpu_tb_exec_cb(block, executed, 0, told.cast()) };
    });
}

extern "C" fn executed(_: c_uint, told: *mut c_void) {
    // SAFETY: made by `translated` and never freed or changed.
    let block = unsafe { &*told.cast::<Counted>() };
    with(|counter| match block.mark {
        Mark::Begin => {
            counter.counting = true;
            counter.stage = STAGES - 1;
            counter.counts = [0; STAGES + 1];
        }
        Mark::End if counter.counting => {
            counter.counting = false;
            let record = counter.counts.map(u32::to_le_bytes).concat();
            if let Err(error) = counter.out.write_all(&record) {
                eprintln!("counter: {error}");
                std::process::exit(3);
            }
        }
        _ if counter.counting => {
            for (stage, count) in &block.runs {
                counter.stage = stage.unwrap_or(counter.stage);
                counter.counts[0] += count;
                counter.counts[1 + counter.stage] += count;
            }
        }
        _ => {}
    });
}

/// Called once by the emulator.
///
/// # Safety
/// `arguments` must be an array of `count` strings that end with a zero byte, as the interface promises.
// SAFETY: the name is the interface's own.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn qemu_plugin_install(
    id: Id,
    _machine: *const c_void,
    count: c_int,
    arguments: *const *const c_char,
) -> c_int {
    let words: Vec<String> = (0..count as usize)
        // SAFETY: promised by the caller.
        .map(|index| unsafe { CStr::from_ptr(*arguments.add(index)) })
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    match Counter::begun(&words) {
        Ok(counter) => {
            // SAFETY: nothing runs yet.
            unsafe { *COUNTER.0.get() = Some(counter) };
            // SAFETY: the identity is the one given.
            unsafe { qemu_plugin_register_vcpu_tb_trans_cb(id, translated) };
            0
        }
        Err(why) => {
            eprintln!("counter: {why}");
            1
        }
    }
}
