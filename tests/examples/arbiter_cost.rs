//! Asks the arbiter and a general-purpose solver the same questions, so that both can be counted.
//!
//! Usage: `arbiter_cost LIBRARY COUNT` asks `COUNT` questions of each kind; `LIBRARY` is the shared object that
//! `.ci/arbiter_bench` builds. Under callgrind the calls inside [`counted_torque`], [`counted_answer`], [`counted_warm`] and
//! [`counted_cold`] are counted, and each [`over`] ends one count. Prints, in the order of the counts, kind and asked one,
//! and at the end how far apart the two are. Questions are invented.

#[path = "../tests/arbiter_kit/family.rs"]
#[allow(dead_code)]
mod family;

use couplet_controller::quantity::PerSide;
use couplet_controller::signal::{Limit, NamedSpan};
use couplet_controller::stage::arbiter::{Allocate, Answer, Exact, Question, resolve, solve};
use family::{Kind, question_of};
use std::ffi::{CString, c_char, c_int, c_void};
use std::hint::black_box;

// The system's own loader, so that the product needs no solver to be built.
unsafe extern "C" {
    fn dlopen(file: *const c_char, flags: c_int) -> *mut c_void;
    fn dlsym(library: *mut c_void, name: *const c_char) -> *mut c_void;
}

/// Problem, rows, torque, whether to start afresh; 1 when solved.
type General = unsafe extern "C" fn(*mut f64, c_int, *mut f64, c_int) -> c_int;

fn general(file: &str) -> General {
    let file = CString::new(file).expect("a path");
    let name = CString::new("general_answer").expect("a name");
    // SAFETY: both strings end with zero; the library is the one the script built, its function has this type.
    unsafe {
        let library = dlopen(file.as_ptr(), 2);
        assert!(!library.is_null(), "cannot load {file:?}");
        let function = dlsym(library, name.as_ptr());
        assert!(!function.is_null(), "no general_answer in {file:?}");
        std::mem::transmute::<*mut c_void, General>(function)
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [library, count] = &words[..] else {
        panic!("usage: arbiter_cost LIBRARY COUNT");
    };
    let general = general(library);
    let count: usize = count.parse().expect("a number of questions");
    let (mut worst_nm, mut unsolved, mut compared) = (0.0_f64, 0, 0);
    for kind in [
        Kind::BoxAndTotal,
        Kind::Plain,
        Kind::Straddling,
        Kind::Conflicting,
    ] {
        let questions = (0..)
            .map(|number| question_of(kind, number))
            .filter(|question| {
                let sound = resolve(&question.octagon).1 == Limit::Nothing;
                sound != (kind == Kind::Conflicting)
            });
        for question in questions.take(count) {
            let torque = counted_torque(black_box(&question));
            over();
            println!("{kind:?} torque");
            let answer = counted_answer(black_box(&question));
            over();
            println!("{kind:?} answer");
            assert_eq!(answer.torque_nm, torque);
            if !matches!(kind, Kind::BoxAndTotal | Kind::Plain) {
                continue;
            }
            let rows = if kind == Kind::BoxAndTotal { 1 } else { 2 };
            let mut problem = programme(&question);
            let mut warm = [0.0; 2];
            let solved = counted_warm(general, black_box(&mut problem), rows, &mut warm);
            over();
            println!("{kind:?} warm");
            let mut cold = [0.0; 2];
            let solved_too = counted_cold(general, black_box(&mut problem), rows, &mut cold);
            over();
            println!("{kind:?} cold");
            compared += 1;
            unsolved += u32::from(solved != 1) + u32::from(solved_too != 1);
            for (here, there) in [torque.left, torque.right].into_iter().zip(warm) {
                worst_nm = worst_nm.max((f64::from(here) - there).abs());
            }
            for (one, other) in warm.into_iter().zip(cold) {
                worst_nm = worst_nm.max((one - other).abs());
            }
        }
    }
    println!("compared {compared}, unsolved {unsolved}, largest difference {worst_nm:e} Nm");
}

/// The torque alone, in `f32`.
#[inline(never)]
fn counted_torque(question: &Question<f32>) -> PerSide<f32> {
    Exact.allocate(question)
}

/// The answer with reasons and multipliers, in `f32`.
#[inline(never)]
fn counted_answer(question: &Question<f32>) -> Answer<f32> {
    solve(question)
}

/// The general solver, kept from question to question, in `f64`.
#[inline(never)]
fn counted_warm(
    general: General,
    problem: &mut [f64; 18],
    rows: i32,
    torque: &mut [f64; 2],
) -> i32 {
    // SAFETY: the arrays have the lengths the function's page asks for.
    unsafe { general(problem.as_mut_ptr(), rows, torque.as_mut_ptr(), 0) }
}

/// The general solver, set up for this one question, in `f64`.
#[inline(never)]
fn counted_cold(
    general: General,
    problem: &mut [f64; 18],
    rows: i32,
    torque: &mut [f64; 2],
) -> i32 {
    // SAFETY: the arrays have the lengths the function's page asks for.
    unsafe { general(problem.as_mut_ptr(), rows, torque.as_mut_ptr(), 1) }
}

/// A count ends here.
#[inline(never)]
fn over() {
    black_box(());
}

/// The question as `H/2, f, ends`, rows last; the sign of each wheel is known, so the price is linear.
fn programme(question: &Question<f32>) -> [f64; 18] {
    let demand = &question.demand;
    let number = f64::from;
    let c = number(demand.moment_per_difference);
    let (wf, wm) = (
        number(demand.weight_rear_torque),
        number(demand.weight_yaw_moment),
    );
    let ws = number(demand.weight_change);
    let (own, cross) = (2.0 * (wf + wm * c * c + ws), 2.0 * (wf - wm * c * c));
    let force = 2.0 * wf * number(demand.rear_torque_nm);
    let moment = 2.0 * wm * c * number(demand.yaw_moment_nm);
    let side = |moment: f64, previous: f32, price: f32, span: NamedSpan<f32>| {
        let sign = if span.low.value >= 0.0 { 1.0 } else { -1.0 };
        -force - moment - 2.0 * ws * number(previous) + sign * number(price)
    };
    let spans = &question.octagon;
    let (previous, price) = (question.previous_nm, demand.heat_price);
    let all = [spans.left, spans.right, spans.sum, spans.difference];
    let [low, high] = [
        all.map(|span| number(span.low.value)),
        all.map(|span| number(span.high.value)),
    ];
    let mut problem = [0.0; 18];
    problem[..4].copy_from_slice(&[own, cross, cross, own]);
    problem[4] = side(-moment, previous.left, price.left, spans.left);
    problem[5] = side(moment, previous.right, price.right, spans.right);
    problem[6..10].copy_from_slice(&low);
    problem[10..14].copy_from_slice(&high);
    problem[14..].copy_from_slice(&[1.0, 1.0, -1.0, 1.0]);
    problem
}
