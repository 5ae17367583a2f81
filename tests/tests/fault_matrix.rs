//! A part of the fault matrix against its requirements; what misses them is in the book with its number.

use couplet_sim::fault::{Fault, Kind, Place};
use couplet_sim::fault_matrix::{
    Act, Car, Cell, Drive, ONSET_S, cells, double, is_jammed, judge, limits,
};
use couplet_sim::plant::Vehicle;
use couplet_sim::record::Record;
use couplet_sim::run::run;
use couplet_tests::demo_page;

/// The page of the book that lists what is missed: rows `| place | kind | ...`.
const BOOK: &str = include_str!("../../docs/src/safety-faults.md");

fn record(drive: &Drive, faults: &[Fault]) -> Record {
    let scenario = drive.scenario("fault", faults);
    run(&scenario, &Vehicle::default(), &demo_page(drive.setting)).record
}

fn listed(fault: &Fault) -> bool {
    let row = format!("| `{}` | `{}` |", fault.place.name(), fault.kind.name());
    BOOK.contains(&row)
}

#[test]
fn single_faults_at_120_km_h_with_the_hands_still_drift_little_but_for_those_in_the_book() {
    let part = |cell: &Cell| {
        let drive = &cell.drive;
        drive.speed_km_h == 120.0
            && drive.setting == "patrol"
            && !drive.person
            && drive.car == Car::Nominal
    };
    let all: Vec<Cell> = cells().into_iter().filter(part).collect();
    // Five manoeuvres, every place; an empty matrix would pass.
    assert!(all.len() > 1000, "{}", all.len());
    let mut free: Vec<(Drive, Record)> = Vec::new();
    let (mut worst, mut judged) = (0.0_f64, 0);
    for cell in &all {
        if !free.iter().any(|(drive, _)| *drive == cell.drive) {
            free.push((cell.drive, record(&cell.drive, &[])));
        }
        let sound = free.iter().find(|(drive, _)| *drive == cell.drive);
        let Some((_, sound)) = sound else { continue };
        let verdict = judge(&record(&cell.drive, &[cell.fault]), sound, ONSET_S);
        let Some(share) = limits(cell, &verdict).worst(&verdict) else {
            continue;
        };
        judged += 1;
        if listed(&cell.fault) {
            continue;
        }
        worst = worst.max(share);
        assert!(
            share <= 1.0,
            "{}: {share:.2} of its limit, {verdict:?}",
            cell.name()
        );
    }
    println!("{judged} judged, worst {worst:.2} of its limit");
    assert!(judged > 1000);
}

#[test]
fn a_clutch_jammed_closed_drifts_less_than_its_limits_also_on_the_worst_radii() {
    for (speed_km_h, car, person) in [
        (120.0, Car::Nominal, false),
        (120.0, Car::LargeRear, false),
        (160.0, Car::LargeRear, false),
        (160.0, Car::LargeRear, true),
    ] {
        for act in Act::ALL {
            for left in [true, false] {
                let cell = Cell {
                    fault: Fault::from(Place::Clutch { left }, Kind::StuckClosed, ONSET_S),
                    drive: Drive {
                        speed_km_h,
                        act,
                        car,
                        setting: "patrol",
                        person,
                    },
                };
                assert!(is_jammed(&cell.fault));
                let faulty = record(&cell.drive, &[cell.fault]);
                let verdict = judge(&faulty, &record(&cell.drive, &[]), ONSET_S);
                // The prototype of the same axle on another invented car drifts 0.34 m in cruise when nobody answers.
                let drift = verdict.drift_1s_m.unwrap_or(f64::INFINITY);
                println!("{}: {drift:.3} m", cell.name());
                let share = limits(&cell, &verdict).worst(&verdict);
                assert!(
                    share.is_some_and(|share| share <= 1.0) || listed(&cell.fault),
                    "{}: {share:?} of its limit, {verdict:?}",
                    cell.name()
                );
            }
        }
    }
}

#[test]
fn double_faults_stay_bounded_do_not_oscillate_and_come_to_rest_but_for_those_in_the_book() {
    let mut broken = Vec::new();
    for drive in double::drives() {
        let free = record(&drive, &[]);
        let capacity_nm = f64::from(demo_page(drive.setting).tunables.authority.capacity_nm);
        for pair in double::pairs() {
            for what in double::broken(&record(&drive, &pair), &free, capacity_nm) {
                let [one, other] =
                    pair.map(|fault| format!("`{}` {}", fault.place.name(), fault.kind.name()));
                if !BOOK.contains(&format!("| {one} with {other} |")) {
                    broken.push(format!("{one} with {other}, {}: {what}", drive.name()));
                }
            }
        }
    }
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn a_clutch_at_full_current_is_released_and_told_within_a_tenth_of_a_second_and_matched_better_than_both_opened()
 {
    // Release commanded within 0.1 s is a requirement of this project. The pressure tells; the current itself nothing here can cut.
    let full = Fault::from(Place::Current { left: true }, Kind::Full, ONSET_S);
    for act in Act::ALL {
        let drive = Drive {
            speed_km_h: 120.0,
            act,
            car: Car::LargeRear,
            setting: "patrol",
            person: false,
        };
        let (free, matched) = (record(&drive, &[]), record(&drive, &[full]));
        let order = Fault {
            size: 1.0,
            ..Fault::from(Place::Signal("open_now"), Kind::Offset, ONSET_S + 0.035)
        };
        let opened = record(&drive, &[full, order]);
        let onset = (ONSET_S / matched.period_s).round() as usize;
        let tenth = onset + (0.1 / matched.period_s).round() as usize;
        let column = |name: &str| matched.column(name).expect("a channel of every run");
        let (left, health) = (column("capacity_left"), column("health"));
        assert!(
            (tenth..tenth + 20).all(|index| left[index] <= 10.0 && health[index] >= 1.0),
            "{}: capacity {}, health {} after a tenth of a second",
            drive.name(),
            left[tenth],
            health[tenth]
        );
        let drift = |with: &Record| judge(with, &free, ONSET_S).drift_2s_m.expect("two seconds");
        println!(
            "{}: {:.2} m against {:.2} m",
            drive.name(),
            drift(&matched),
            drift(&opened)
        );
        assert!(drift(&matched) < 0.4 * drift(&opened), "{}", drive.name());
    }
}
