//! What survives key-off: the record to store, waking from two slots, parts renewed.

use couplet_controller::PerSide;
use couplet_controller::controller::key_off::HeatOnWaking;
use couplet_controller::snapshot::{Refusal, SIZE, Slot, next_slot};
use couplet_controller::stage::actuation;
use couplet_controller::stage::thermal::usage::Part;

use crate::border::{
    Outcome, PLACE_BYTES, changed, couplet_law, place_for, seen, share_memory, taken, told,
    wanted_place_for,
};
use crate::status::couplet_status;

/// How a controller woke.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(C)]
pub struct couplet_woken {
    /// Slot the record was found in: 0 nowhere, 1 first, 2 second.
    pub slot: u32,
    /// What is known of the heat: 0 as stored, 1 bounded, 2 nothing (clutches stay open until surely cool).
    pub heat: u32,
    /// Why a record is missing that must have been written: 0 none is, 1 no record there, 2 other version, 3 other length,
    /// 4 damaged, 5 intact but cannot be true.
    pub gap: u32,
}

/// Writes the record to store: at key-on once the old one is read and now and then while driving with `under_way` 1, at key-off with 0.
///
/// `sequence` counts records. `clock_s`: the car's clock, s, any zero. `record`: at least `COUPLET_RECORD_BYTES` bytes;
/// `record_bytes`: how many there are. Store it in the slot `couplet_next_slot` names and read it back.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_keep(
    controller: *const couplet_law,
    sequence: u32,
    clock_s: u64,
    under_way: u32,
    record: *mut u8,
    record_bytes: usize,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise; only written as far as the size says.
        let place = unsafe { place_for(record.cast::<[u8; SIZE]>()) }?;
        if record_bytes < SIZE {
            return Err(couplet_status::COUPLET_WRONG_SIZE);
        }
        if share_memory((record, SIZE), (controller, PLACE_BYTES)) {
            return Err(couplet_status::COUPLET_OVERLAP);
        }
        // SAFETY: the caller's promise.
        let snapshot = unsafe {
            seen(controller, |law| {
                Ok(match under_way {
                    0 => law.snapshot(sequence, clock_s),
                    _ => law.snapshot_under_way(sequence, clock_s),
                })
            })
        }?;
        place.write(snapshot.encode());
        Ok(())
    })
}

/// A record of exactly the right size.
///
/// # Safety
/// A pointer that is not NULL must lead to `bytes` readable bytes.
unsafe fn slot_of(slot: *const u8, bytes: usize) -> Outcome<[u8; SIZE]> {
    if slot.is_null() {
        return Err(couplet_status::COUPLET_NULL_ARGUMENT);
    }
    if bytes != SIZE {
        return Err(couplet_status::COUPLET_WRONG_SIZE);
    }
    // SAFETY: `SIZE` bytes are readable by the caller's promise.
    unsafe { taken(slot.cast::<[u8; SIZE]>()) }
}

/// Starts a controller anew from the two stored records, however damaged. An empty slot counts as damaged: the end of the line
/// writes both.
///
/// `record_bytes`: size of each slot, exactly `COUPLET_RECORD_BYTES`. `clock_s`: the car's clock, s, or NULL if it is not known.
/// `ambient_degc`: the air, -60 to 80 degC. `woken`: where to say how it woke, or NULL.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_wake(
    controller: *mut couplet_law,
    first_slot: *const u8,
    second_slot: *const u8,
    record_bytes: usize,
    clock_s: *const u64,
    ambient_degc: f32,
    woken: *mut couplet_woken,
) -> couplet_status {
    told(|| {
        if !(-60.0..=80.0).contains(&ambient_degc) {
            return Err(couplet_status::COUPLET_NOT_A_NUMBER);
        }
        // SAFETY: the caller's promise.
        let first = unsafe { slot_of(first_slot, record_bytes) }?;
        // SAFETY: the caller's promise.
        let second = unsafe { slot_of(second_slot, record_bytes) }?;
        let now_s = if clock_s.is_null() {
            None
        } else {
            // SAFETY: the caller's promise.
            Some(unsafe { taken(clock_s) }?)
        };
        // SAFETY: the caller's promise.
        let place = unsafe { wanted_place_for(woken) }?;
        // SAFETY: the caller's promise.
        let found = unsafe {
            changed(controller, |law| {
                Ok(law.wake_from(&first, &second, now_s, ambient_degc))
            })
        }?;
        if let Some(place) = place {
            place.write(couplet_woken {
                slot: match found.slot {
                    None => 0,
                    Some(Slot::A) => 1,
                    Some(Slot::B) => 2,
                },
                heat: match found.heat {
                    HeatOnWaking::Stored => 0,
                    HeatOnWaking::Bounded => 1,
                    HeatOnWaking::Unknown => 2,
                },
                gap: match found.gap {
                    None => 0,
                    Some(Refusal::Magic) => 1,
                    Some(Refusal::Version(_)) => 2,
                    Some(Refusal::Length(_)) => 3,
                    Some(Refusal::Crc) => 4,
                    Some(Refusal::Implausible) => 5,
                },
            });
        }
        Ok(())
    })
}

/// Tells which slot the next record goes to, 1 or 2: never over the newest whole one.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_next_slot(
    first_slot: *const u8,
    second_slot: *const u8,
    record_bytes: usize,
    slot: *mut u32,
) -> couplet_status {
    told(|| {
        // SAFETY: the caller's promise.
        let first = unsafe { slot_of(first_slot, record_bytes) }?;
        // SAFETY: the caller's promise.
        let second = unsafe { slot_of(second_slot, record_bytes) }?;
        // SAFETY: the caller's promise.
        unsafe { place_for(slot) }?.write(match next_slot(&first, &second) {
            Slot::A => 1,
            Slot::B => 2,
        });
        Ok(())
    })
}

/// A workshop renewed a part: its counters of use begin anew. `part`: 0 oil, 1 left clutch, 2 right clutch, 3 the whole axle. Store a
/// record afterwards.
///
/// # Safety
/// A pointer that is not NULL must lead to a controller that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_renewed(
    controller: *mut couplet_law,
    part: u32,
) -> couplet_status {
    told(|| {
        let part = match part {
            0 => Part::Oil,
            1 => Part::LeftClutch,
            2 => Part::RightClutch,
            3 => Part::Axle,
            _ => return Err(couplet_status::COUPLET_NO_SUCH_ENTRY),
        };
        // SAFETY: the caller's promise.
        unsafe {
            changed(controller, |law| {
                law.renewed(part);
                Ok(())
            })
        }
    })
}

/// What the end of the line found of one clutch unit, beside the calibration. Values beyond what is believable are bounded.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C)]
pub struct couplet_end_of_line {
    /// Touch point, bar: pressure the plates need beyond the spring's.
    pub touch_point_bar: f32,
    /// Pressure of the valve at the same current, bar.
    pub valve_offset_bar: f32,
    /// Pressure per current, share.
    pub valve_gain_share: f32,
}

/// A clutch unit was put in: what was learned of the old one on that side is forgotten. `side`: 1 left, 2 right. `end_of_line`: what is
/// known of the new one, or NULL: the calibration. Counters and heat are not touched, see `couplet_renewed`. Store a record afterwards.
///
/// # Safety
/// Pointers that are not NULL must lead to memory of their kind that nobody else uses during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn couplet_replace_unit(
    controller: *mut couplet_law,
    side: u32,
    end_of_line: *const couplet_end_of_line,
) -> couplet_status {
    told(|| {
        let replaced = PerSide {
            left: side == 1,
            right: side == 2,
        };
        if !(replaced.left || replaced.right) {
            return Err(couplet_status::COUPLET_NO_SUCH_ENTRY);
        }
        let mut known = actuation::State::<f32>::default();
        if !end_of_line.is_null() {
            // SAFETY: the caller's promise.
            let found = unsafe { taken(end_of_line) }?;
            let numbers = [
                found.touch_point_bar,
                found.valve_offset_bar,
                found.valve_gain_share,
            ];
            if !numbers.iter().all(|number| number.is_finite()) {
                return Err(couplet_status::COUPLET_NOT_A_NUMBER);
            }
            known.touch_point_bar = PerSide::both(found.touch_point_bar);
            known.valve_offset_bar = PerSide::both(found.valve_offset_bar);
            known.valve_gain_share = PerSide::both(found.valve_gain_share);
        }
        // SAFETY: the caller's promise.
        unsafe {
            changed(controller, |law| {
                law.replace_unit(replaced, known);
                Ok(())
            })
        }
    })
}
