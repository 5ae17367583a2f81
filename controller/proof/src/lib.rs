//! Links only if no panic path is left in the control law.
//!
//! The panic handler calls a function that exists nowhere. While any panic can be reached from an entry point, the
//! handler stays in the program and the link fails with `undefined reference to couplet_panic_path_remains`, naming the
//! entry point. The arguments of the entry points are opaque: every value of every input, state and calibration counts,
//! also those no accepted page could hold. Built with abort, whole-program optimisation and overflow checks (see
//! `Cargo.toml`); `check` builds it both ways. Limits: x86_64 code from this compiler; says nothing of stack or time.
#![no_std]

mod bus;

use couplet_controller::calibration::{Calibration, PageRefusal, RawPage};
use couplet_controller::controller::key_off::Woken;
use couplet_controller::fault_memory;
use couplet_controller::numerics::Fast;
use couplet_controller::snapshot::{self, Refusal, SIZE, Snapshot};
use couplet_controller::stage::arbiter::{
    self, Allocate, Answer, ProportionalSplit, Question, StrictPriority,
};
use couplet_controller::stage::guardian::{self, Guardian};
use couplet_controller::stage::thermal::usage::Part;
use couplet_controller::stage::{self, Stage};
use couplet_controller::{
    Controller, ControllerState, FaultMemory, Inputs, Outputs, Period, TraceSignal,
};

// SAFETY: never called in a program that exists: while it is called, the link fails.
unsafe extern "C" {
    fn couplet_panic_path_remains() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    // SAFETY: see the declaration.
    unsafe { couplet_panic_path_remains() }
}

/// One exported `step` per stage; the name shows in the linker's message.
macro_rules! stages {
    ( $scalar:ty: $( $name:ident = $stage:ty; )* ) => { $(
        // SAFETY: the exported names are this package's own and unique.
        #[unsafe(no_mangle)]
        pub fn $name(
            stage: &$stage,
            state: &mut <$stage as Stage<$scalar>>::State,
            input: &<$stage as Stage<$scalar>>::In,
            period_s: $scalar,
        ) -> <$stage as Stage<$scalar>>::Out {
            stage.step(state, input, period_s)
        }
    )* };
}

/// Everything else that is generic over the arithmetic.
macro_rules! instance {
    ( $scalar:ty: $solve:ident $project:ident $residual:ident $accept:ident $rest:ident
      $new:ident $step:ident $take:ident $restore:ident $warm:ident $trace:ident $wake:ident $keep:ident $renew:ident $left:ident $replace:ident ) => {
        // SAFETY: the exported names are this package's own and unique.
        #[unsafe(no_mangle)]
        pub fn $solve(question: &Question<$scalar>) -> Answer<$scalar> {
            arbiter::solve(question)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $project(
            question: &Question<$scalar>,
        ) -> (couplet_controller::PerSide<$scalar>, bool) {
            arbiter::project(&question.octagon, question.previous_nm)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $residual(question: &Question<$scalar>) -> $scalar {
            arbiter::optimality_residual_nm(question, question.previous_nm)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $accept(page: &RawPage) -> Result<Calibration<$scalar>, PageRefusal> {
            page.accept()
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $rest(snapshot: &Snapshot, now_s: Option<u64>) -> stage::thermal::Rest<$scalar> {
            snapshot.rest(now_s)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $new(page: &RawPage, period: Period) -> Result<Controller<$scalar>, PageRefusal> {
            Controller::new(page, period)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $step(controller: &mut Controller<$scalar>, inputs: &Inputs) -> Outputs {
            controller.step(inputs)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $take(
            controller: &mut Controller<$scalar>,
            page: &RawPage,
        ) -> Result<(), PageRefusal> {
            controller.take_page(page)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $restore(controller: &mut Controller<$scalar>, state: &ControllerState<$scalar>) {
            controller.restore(*state);
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $warm(controller: &mut Controller<$scalar>, degc: $scalar) {
            controller.set_temperature(degc);
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $wake(
            controller: &mut Controller<$scalar>,
            slots: &[[u8; SIZE]; 2],
            now_s: Option<u64>,
            ambient_degc: $scalar,
        ) -> Woken {
            let [slot_a, slot_b] = slots;
            controller.wake_from(slot_a, slot_b, now_s, ambient_degc)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $keep(controller: &Controller<$scalar>, sequence: u32, now_s: u64) -> Snapshot {
            controller.snapshot_under_way(sequence, now_s)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $renew(controller: &mut Controller<$scalar>, part: Part) {
            controller.renewed(part);
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $left(controller: &Controller<$scalar>) -> $scalar {
            let parameters = controller.calibration().tunables().life_count;
            controller.life().left_h(&parameters)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $replace(
            controller: &mut Controller<$scalar>,
            replaced: couplet_controller::PerSide<bool>,
            end_of_line: &stage::actuation::State<$scalar>,
        ) {
            controller.replace_unit(replaced, *end_of_line);
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $trace(controller: &Controller<$scalar>, values: &mut [f32]) {
            for (value, signal) in values.iter_mut().zip(TraceSignal::<$scalar>::ALL) {
                *value = (signal.read)(controller.trace());
            }
        }
    };
}

stages! { f32:
    conditioning_f32 = stage::conditioning::Conditioning<f32>;
    monitor_f32 = stage::monitor::Monitor<f32>;
    pressure_f32 = stage::monitor::pressure::PressureWatch<f32>;
    jammed_f32 = stage::monitor::jammed::JammedWatch<f32>;
    vehicle_state_f32 = stage::vehicle_state::VehicleState<f32>;
    driver_intent_f32 = stage::driver_intent::DriverIntent<f32>;
    yaw_reference_f32 = stage::yaw_reference::YawReference<f32>;
    yaw_control_f32 = stage::yaw_control::YawControl<f32>;
    traction_f32 = stage::traction::Traction<f32>;
    authority_f32 = stage::authority::Authority<f32>;
    actuation_f32 = stage::actuation::Actuation<f32>;
    learning_f32 = stage::actuation::learning::LearningStage<f32>;
    thermal_f32 = stage::thermal::Thermal<f32>;
}
stages! { f64:
    conditioning_f64 = stage::conditioning::Conditioning<f64>;
    monitor_f64 = stage::monitor::Monitor<f64>;
    pressure_f64 = stage::monitor::pressure::PressureWatch<f64>;
    jammed_f64 = stage::monitor::jammed::JammedWatch<f64>;
    vehicle_state_f64 = stage::vehicle_state::VehicleState<f64>;
    driver_intent_f64 = stage::driver_intent::DriverIntent<f64>;
    yaw_reference_f64 = stage::yaw_reference::YawReference<f64>;
    yaw_control_f64 = stage::yaw_control::YawControl<f64>;
    traction_f64 = stage::traction::Traction<f64>;
    authority_f64 = stage::authority::Authority<f64>;
    actuation_f64 = stage::actuation::Actuation<f64>;
    learning_f64 = stage::actuation::learning::LearningStage<f64>;
    thermal_f64 = stage::thermal::Thermal<f64>;
}
stages! { Fast:
    conditioning_fast = stage::conditioning::Conditioning<Fast>;
    monitor_fast = stage::monitor::Monitor<Fast>;
    pressure_fast = stage::monitor::pressure::PressureWatch<Fast>;
    jammed_fast = stage::monitor::jammed::JammedWatch<Fast>;
    vehicle_state_fast = stage::vehicle_state::VehicleState<Fast>;
    driver_intent_fast = stage::driver_intent::DriverIntent<Fast>;
    yaw_reference_fast = stage::yaw_reference::YawReference<Fast>;
    yaw_control_fast = stage::yaw_control::YawControl<Fast>;
    traction_fast = stage::traction::Traction<Fast>;
    authority_fast = stage::authority::Authority<Fast>;
    actuation_fast = stage::actuation::Actuation<Fast>;
    learning_fast = stage::actuation::learning::LearningStage<Fast>;
    thermal_fast = stage::thermal::Thermal<Fast>;
}
instance! { f32: arbiter_f32 project_f32 residual_f32 accept_f32 rest_f32
new_f32 step_f32 take_page_f32 restore_f32 set_temperature_f32 trace_f32 wake_f32 keep_f32 renewed_f32 left_f32 replace_f32 }
instance! { f64: arbiter_f64 project_f64 residual_f64 accept_f64 rest_f64
new_f64 step_f64 take_page_f64 restore_f64 set_temperature_f64 trace_f64 wake_f64 keep_f64 renewed_f64 left_f64 replace_f64 }
instance! { Fast: arbiter_fast project_fast residual_fast accept_fast rest_fast
new_fast step_fast take_page_fast restore_fast set_temperature_fast trace_fast wake_fast keep_fast renewed_fast left_fast replace_fast }

/// Shipped laws of allocation beside the exact one: alone, and in the whole controller.
macro_rules! laws {
    ( $scalar:ty: $( $law:ty: $answer:ident $step:ident; )* ) => { $(
        // SAFETY: the exported names are this package's own and unique.
        #[unsafe(no_mangle)]
        pub fn $answer(law: &$law, question: &Question<$scalar>) -> Answer<$scalar> {
            law.answer(question)
        }
        // SAFETY: as above.
        #[unsafe(no_mangle)]
        pub fn $step(controller: &mut Controller<$scalar, $law>, inputs: &Inputs) -> Outputs {
            controller.step(inputs)
        }
    )* };
}

laws! { f32:
    ProportionalSplit: proportional_split_f32 step_proportional_split_f32;
    StrictPriority: strict_priority_f32 step_strict_priority_f32;
}
laws! { f64:
    ProportionalSplit: proportional_split_f64 step_proportional_split_f64;
    StrictPriority: strict_priority_f64 step_strict_priority_f64;
}
laws! { Fast:
    ProportionalSplit: proportional_split_fast step_proportional_split_fast;
    StrictPriority: strict_priority_fast step_strict_priority_fast;
}

// SAFETY: the exported names are this package's own and unique.
#[unsafe(no_mangle)]
pub fn guardian(
    stage: &Guardian,
    state: &mut guardian::State,
    input: &guardian::In,
) -> guardian::Out {
    stage.step(state, input)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn guardian_new(numbers: &[f32; 6], patience_steps: u32, longest_age_ms: u16) -> Guardian {
    let [
        capacity_nm,
        rise_nm_s,
        fall_nm_s,
        disagreement_nm,
        difference_per_moment,
        period_s,
    ] = *numbers;
    Guardian::new(
        capacity_nm,
        (rise_nm_s, fall_nm_s),
        disagreement_nm,
        patience_steps,
        longest_age_ms,
        difference_per_moment,
        period_s,
    )
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn snapshot_encode(record: &Snapshot) -> [u8; SIZE] {
    record.encode()
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn snapshot_choose(slot_a: &[u8; SIZE], slot_b: &[u8; SIZE]) -> Result<Snapshot, Refusal> {
    snapshot::choose(slot_a, slot_b)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn fault_memory_note(
    memory: &mut FaultMemory,
    inputs: &Inputs,
    outputs: &Outputs,
    tick: couplet_controller::Tick,
) {
    memory.note(inputs, outputs, tick);
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn fault_memory_cycle(memory: &mut FaultMemory, only: Option<stage::monitor::Fault>) {
    memory.end_cycle();
    memory.start_cycle();
    memory.clear(only);
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn fault_memory_read(memory: &FaultMemory, mask: u8) -> (usize, usize) {
    let found = memory.matching(mask);
    let framed = found
        .iter()
        .filter(|fault| memory.frame(**fault).is_some())
        .fold(0_usize, |count, _| count.wrapping_add(1));
    (framed, memory.frames().len())
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn fault_memory_encode(memory: &FaultMemory, sequence: u32) -> [u8; fault_memory::SIZE] {
    memory.encode(sequence)
}

// SAFETY: as above.
#[unsafe(no_mangle)]
pub fn fault_memory_recall(
    slot_a: &[u8; fault_memory::SIZE],
    slot_b: &[u8; fault_memory::SIZE],
    rules: fault_memory::status::Rules,
) -> FaultMemory {
    FaultMemory::recall(slot_a, slot_b, rules).0
}

/// The deliberate panic path of the counter-proof.
// SAFETY: as above.
#[cfg(feature = "with-panic")]
#[unsafe(no_mangle)]
pub fn deliberate_panic_path(table: &[f32; 8], index: usize) -> f32 {
    table[index]
}
