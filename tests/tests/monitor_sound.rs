//! No check of the monitor speaks in a sound drive of the demo: noise, delay and loss of its sensors are no fault.
//!
//! The promise is this project's own; sizes of the sensors' errors are invented.

use couplet_sim::fault_matrix::{Act, Car, Drive};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::programme;
use couplet_sim::record::Record;
use couplet_sim::run::run;
use couplet_tests::demo_page;

fn spoken(record: &Record) -> Vec<String> {
    let names = [
        "faults",
        "wheel_faults_left",
        "wheel_faults_right",
        "clutch_faults_left",
        "clutch_faults_right",
        "situation",
        "health",
    ];
    let mut spoken = Vec::new();
    for name in names {
        let Some(column) = record.column(name) else {
            continue;
        };
        if let Some(place) = column.iter().position(|value| *value != 0.0) {
            spoken.push(format!(
                "{name} {} at {:.2} s",
                column[place],
                place as f64 * record.period_s
            ));
        }
    }
    spoken
}

#[test]
fn no_check_speaks_in_a_sound_drive() {
    let mut drives = 0;
    let mut wrong = Vec::new();
    for speed_km_h in [60.0, 120.0, 160.0] {
        for act in Act::ALL {
            for setting in ["patrol", "response"] {
                let drive = Drive {
                    speed_km_h,
                    act,
                    car: Car::LargeRear,
                    setting,
                    person: true,
                };
                let scenario = drive.scenario("sound", &[]);
                let record = run(&scenario, &Vehicle::default(), &demo_page(setting)).record;
                drives += 1;
                for what in spoken(&record) {
                    wrong.push(format!("{}: {what}", drive.name()));
                }
            }
        }
    }
    // The demo's own programme, as far as COUPLET_CASES_FACTOR asks: every fourth drive, or all.
    let all = std::env::var("COUPLET_CASES_FACTOR").is_ok();
    let cases = programme();
    for case in cases.iter().step_by(if all { 1 } else { 4 }) {
        if case.scenario.layout != AxleLayout::PairedClutches || !case.scenario.faults.is_empty() {
            continue;
        }
        let result = run(
            &case.scenario,
            &Vehicle::default(),
            &demo_page(case.setting),
        );
        drives += 1;
        // The largest amplitude of a series may spin the car: then no witness sides with the yaw rate, and the check says so.
        let spins = result.record.column("sideslip").is_some_and(|slip| {
            let most = slip.iter().fold(0.0_f32, |most, now| most.max(now.abs()));
            most > 0.35
        });
        for what in spoken(&result.record) {
            if !spins {
                wrong.push(format!("{}: {what}", case.scenario.name));
            }
        }
    }
    println!("{drives} drives");
    assert!(drives > 40, "{drives}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}
