//! Facts of the trade about kinds of axle, as far as they come out of the plant; and the cost of driving from records.
//!
//! Common practice, no source: braking a wheel to turn a car costs energy and speed; a limited-slip differential in front
//! pushes wide under power where both wheels spin.

use couplet_sim::metrics::effort::effort;
use couplet_sim::metrics::{series, value};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::{LayoutTable, layout_cases, layout_tables};
use couplet_sim::record::{Channel, Parity, Record};
use couplet_sim::run::run;
use couplet_tests::demo_page;

/// The table of one group, driven.
fn table(group: &str) -> LayoutTable {
    let results: Vec<_> = layout_cases()
        .into_iter()
        .filter(|case| {
            let name = &case.scenario.name;
            AxleLayout::ALL.iter().any(|layout| {
                *name == format!("{group}-{}", couplet_sim::scenario::layout_name(*layout))
            })
        })
        .map(|case| {
            let page = demo_page(case.setting);
            let result = run(&case.scenario, &Vehicle::default(), &page);
            (case, result)
        })
        .collect();
    assert_eq!(results.len(), AxleLayout::ALL.len(), "{group}");
    let tables = layout_tables(&results);
    let found = tables.into_iter().find(|table| table.name == group);
    found.expect("the group is compared")
}

fn of(table: &LayoutTable, layout: AxleLayout, name: &str) -> f64 {
    let row = table.rows.iter().find(|(known, _, _)| *known == name);
    let column = AxleLayout::ALL.iter().position(|known| *known == layout);
    match (row, column) {
        (Some((_, _, values)), Some(column)) => values[column].expect("a value"),
        _ => panic!("{name} is missing"),
    }
}

#[test]
fn braking_the_inner_wheel_costs_energy_and_speed() {
    let exit = table("power-on-exit-dry-paced");
    let brakes = |layout| of(&exit, layout, "energy in the brakes");
    let speed = |layout| of(&exit, layout, "speed at the end");
    assert!(brakes(AxleLayout::BrakeVectoring) > 20.0);
    for layout in AxleLayout::ALL {
        if layout != AxleLayout::BrakeVectoring {
            assert!(brakes(layout) < 1.0, "{layout:?}");
        }
    }
    assert!(speed(AxleLayout::BrakeVectoring) < speed(AxleLayout::PairedClutches));
    // And over a whole road more than front drive, which brakes for bends only.
    let pass = table("skarn-pass");
    let brakes = |layout| of(&pass, layout, "energy in the brakes");
    let more = brakes(AxleLayout::BrakeVectoring) - brakes(AxleLayout::FrontDrive);
    println!("{more} kJ more");
    assert!(more > 100.0, "{more}");
}

#[test]
fn a_locked_front_axle_pushes_wide_under_power_on_a_wet_road() {
    let exit = table("power-on-exit-wet");
    let off = |layout| of(&exit, layout, "path error, largest");
    let (locked, open) = (
        off(AxleLayout::FrontLimitedSlip),
        off(AxleLayout::FrontDrive),
    );
    assert!(locked > open, "{locked} against {open}");
}

#[test]
fn a_launch_that_does_not_get_away_is_said_to_have_ended_otherwise() {
    let launch = table("split-launch-10");
    for (layout, ended) in AxleLayout::ALL.iter().zip(&launch.ended) {
        let row = launch
            .rows
            .iter()
            .find(|(name, _, _)| *name == "time to 20 km/h");
        let column = AxleLayout::ALL.iter().position(|known| known == layout);
        let time = row.and_then(|(_, _, values)| values[column?]);
        assert_eq!(ended == "as planned", time.is_some(), "{layout:?}: {ended}");
    }
}

#[test]
fn effort_counts_the_way_of_the_wheel_and_the_energy_between_two_times() {
    let channel = |name, unit| Channel {
        name,
        unit,
        parity: Parity::Even,
    };
    let channels = vec![
        channel("steering_wheel_angle", "rad"),
        channel("plant_brake_loss", "W"),
        channel("speed", "m/s"),
    ];
    let mut record = Record::new(0.1, channels);
    // There and back by 0.5 rad in the second counted; outside it a brake of 9 kW.
    for index in 0..40 {
        let time = 0.1 * index as f32;
        let inside = (1.0..=2.0001).contains(&time);
        let angle = if inside {
            0.5 - (time - 1.5).abs()
        } else {
            7.0
        };
        record.push(&[angle, if inside { 1000.0 } else { 9000.0 }, time]);
    }
    let found = effort(&record, 1.0, 2.0);
    let near = |name, expected: f64| {
        let found = value(&found, name).expect("a value");
        // Samples are single precision.
        assert!((found - expected).abs() < 1e-5, "{name}: {found}");
    };
    near("steering effort", 1.0);
    // Eleven samples of a tenth of a second at 1 kW.
    near("energy in the brakes", 1.1);
    near("speed at the end", 2.0);
    assert_eq!(value(&found, "energy in the clutches"), None);
}

#[test]
fn work_of_front_and_rear_tyres_adds_up_to_what_the_plant_lost() {
    let case = layout_cases().into_iter().next().expect("a case");
    let result = run(
        &case.scenario,
        &Vehicle::default(),
        &demo_page(case.setting),
    );
    let found = effort(&result.record, 0.0, f64::INFINITY);
    let part = |name| value(&found, name).expect("a value");
    let whole = series::integral(&result.record, "plant_tyre_loss").expect("a loss") / 1000.0;
    let sum = part("energy in the front tyres") + part("energy in the rear tyres");
    // Shares of the same number: rounding only.
    assert!((sum - whole).abs() < 1e-9 * whole.abs(), "{sum} {whole}");
}
