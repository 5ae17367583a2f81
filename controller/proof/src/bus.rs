//! Entry points of the border: bus frames and pages in memory, whatever the bytes.

use couplet_bus::protect::{self, IdMode};
use couplet_bus::{
    AXLE_FRAMES, CAR_FRAMES, Decoded, Fate, Frame, InputReceiver, InputSender, OutputReceiver,
    OutputSender, Placed, Verdict,
};
use couplet_controller::signal::OUTPUT_SIGNALS;
use couplet_controller::{Inputs, Outputs, RawPage};

// SAFETY: the exported names are this package's own and unique.
#[unsafe(no_mangle)]
pub fn bus_frame(id: u16, bytes: &[u8]) -> Option<Frame> {
    Frame::new(id, bytes)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_encode(placed: &Placed, number: f32) -> (u32, Fate) {
    placed.encode(number)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_decode(placed: &Placed, raw: u32) -> Decoded {
    placed.decode(raw)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_read(placed: &Placed, bytes: &[u8]) -> u32 {
    placed.raw(bytes)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_write(placed: &Placed, bytes: &mut [u8], raw: u32) {
    placed.put(bytes, raw);
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_protect_p01(bytes: &mut [u8], data_id: u16, mode: IdMode, counter: u8) {
    protect::protect_p01(bytes, data_id, mode, counter);
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_check_p01(bytes: &[u8], data_id: u16, mode: IdMode) -> Option<u8> {
    protect::check_p01(bytes, data_id, mode)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_protect_p02(bytes: &mut [u8], data_ids: &[u8; 16], counter: u8) {
    protect::protect_p02(bytes, data_ids, counter);
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_check_p02(bytes: &[u8], data_ids: &[u8; 16]) -> Option<u8> {
    protect::check_p02(bytes, data_ids)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_protect_p05(bytes: &mut [u8], data_id: u16, counter: u8) {
    protect::protect_p05(bytes, data_id, counter);
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_check_p05(bytes: &[u8], data_id: u16) -> Option<u8> {
    protect::check_p05(bytes, data_id)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_send_inputs(
    sender: &mut InputSender,
    now_us: u64,
    inputs: &Inputs,
    frames: &mut [Option<Frame>; CAR_FRAMES.len()],
) {
    let mut places = frames.iter_mut();
    sender.send(now_us, inputs, |frame| {
        if let Some(place) = places.next() {
            *place = Some(*frame);
        }
    });
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_send_outputs(
    sender: &mut OutputSender,
    now_us: u64,
    outputs: &Outputs,
    frames: &mut [Option<Frame>; AXLE_FRAMES.len()],
) {
    let mut places = frames.iter_mut();
    sender.send(now_us, outputs, |frame| {
        if let Some(place) = places.next() {
            *place = Some(*frame);
        }
    });
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_receive_inputs(
    receiver: &mut InputReceiver,
    now_us: u64,
    frame: &Frame,
) -> Option<Verdict> {
    receiver.receive(now_us, frame)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_inputs(receiver: &mut InputReceiver, now_us: u64) -> Inputs {
    receiver.inputs(now_us)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_receive_outputs(
    receiver: &mut OutputReceiver,
    now_us: u64,
    frame: &Frame,
) -> Option<Verdict> {
    receiver.receive(now_us, frame)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn bus_outputs(receiver: &mut OutputReceiver, now_us: u64) -> [Decoded; OUTPUT_SIGNALS.len()] {
    receiver.outputs(now_us)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn page_from_bytes(bytes: &[u8; RawPage::BYTES]) -> RawPage {
    RawPage::from_bytes(bytes)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn page_to_bytes(page: &RawPage) -> [u8; RawPage::BYTES] {
    page.to_bytes()
}
