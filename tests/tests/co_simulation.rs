//! The units of a co-simulation: exchanged in the order of a run they are the run; what is wrong is refused; state comes back.
//!
//! Judged once more from outside, through the shared library of FMI 2.0 and 3.0, by `tests/interop/fmi`.

use couplet_controller::RawPage;
use couplet_sim::co_simulation::description::{BaseUnit, Edition, base_unit, model_description};
use couplet_sim::co_simulation::reference::{Unfit, column_names, columns, reference};
use couplet_sim::co_simulation::{Causality, Model, Refusal, Unit, variables};
use couplet_sim::fault::Fault;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::programme;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

const PERIOD_S: f64 = 0.005;

fn place(model: Model, name: &str) -> u32 {
    Unit::reference(model, name).unwrap_or_else(|why| panic!("{why}"))
}

fn case(name: &str) -> (Scenario, RawPage) {
    let cases = programme();
    let case = cases
        .iter()
        .find(|case| case.scenario.name == name)
        .unwrap_or_else(|| panic!("no run is called {name}"));
    (case.scenario.clone(), demo_page(case.setting))
}

/// Both units through a recorded run; every number of every step must be the run's.
fn repeated(name: &str) {
    let (scenario, page) = case(name);
    let told = reference(&scenario, &Vehicle::default(), &page).expect("fit for the units");
    assert!(told.rows.len() > 300, "{name}: {} steps", told.rows.len());
    let mut law = Unit::new(Model::Controller);
    let mut car = Unit::new(Model::Car);
    for (model, name, value) in &told.parameters {
        let unit = if *model == Model::Car {
            &mut car
        } else {
            &mut law
        };
        unit.set(place(*model, name), *value).expect("admitted");
    }
    law.start().expect("accepted");
    car.start().expect("accepted");
    let names = column_names();
    let inputs: Vec<&str> = variables(Model::Controller)
        .iter()
        .filter(|one| one.causality == Causality::Input)
        .map(|one| one.name.as_str())
        .collect();
    let mut commanded = 0.0_f64;
    for (step, row) in told.rows.iter().enumerate() {
        let at_s = step as f64 * PERIOD_S;
        let expected = columns(row);
        for (name, value) in names.iter().zip(&expected).take(4) {
            car.set(place(Model::Car, name), *value).expect("admitted");
        }
        for name in &inputs {
            let value = car.get(place(Model::Car, name)).expect("an output");
            law.set(place(Model::Controller, name), value)
                .expect("admitted");
        }
        law.step(at_s, PERIOD_S).expect("in time");
        for (name, value) in names.iter().zip(&expected).skip(4) {
            let found = if let Some(name) = name.strip_prefix("told.") {
                car.get(place(Model::Car, name))
            } else if let Some(name) = name.strip_prefix("given.") {
                law.get(place(Model::Controller, name))
            } else {
                car.get(place(Model::Car, name))
            };
            let found = found.expect("an output");
            assert_eq!(
                found.to_bits(),
                value.to_bits(),
                "{name}: {found} instead of {value} in step {step}"
            );
        }
        for name in ["current_left", "current_right", "front_spin_request"] {
            let value = law.get(place(Model::Controller, name)).expect("an output");
            commanded = commanded.max(value);
            car.set(place(Model::Car, name), value).expect("admitted");
        }
        car.step(at_s, PERIOD_S).expect("in time");
    }
    assert!(
        commanded > 0.1,
        "{name}: nothing was commanded, so nothing was compared"
    );
}

#[test]
fn both_units_in_the_order_of_a_run_are_the_run_to_the_last_bit() {
    for name in [
        "split-launch-10-paired",
        "power-on-exit-wet-paired",
        "split-brake-paired",
    ] {
        repeated(name);
    }
}

#[test]
fn a_unit_refuses_what_is_wrong_and_stays_as_it_was() {
    let mut law = Unit::new(Model::Controller);
    let yaw = place(Model::Controller, "yaw_rate");
    let agility = place(Model::Controller, "calibration.setting.agility");
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(matches!(
            law.set(yaw, value),
            Err(Refusal::Range {
                name: "yaw_rate",
                ..
            })
        ));
        assert!(law.set(agility, value).is_err());
    }
    assert!(law.set(agility, 1.01).is_err() && law.set(agility, 1.0).is_ok());
    assert!(matches!(
        law.set(place(Model::Controller, "health"), 1.0),
        Err(Refusal::Output { .. })
    ));
    assert_eq!(
        law.set(1_000_000, 0.0),
        Err(Refusal::Unknown {
            reference: 1_000_000
        })
    );
    assert_eq!(law.get(yaw), Ok(0.0));
    law.begin_at(2.0);
    law.start().expect("accepted");
    let fixed = place(Model::Controller, "axle_temperature");
    assert!(matches!(law.set(fixed, 20.0), Err(Refusal::Fixed { .. })));
    for step_s in [0.0, -PERIOD_S, 0.007, f64::NAN, f64::INFINITY, 1.0e7] {
        assert!(
            matches!(law.step(2.0, step_s), Err(Refusal::StepSize { .. })),
            "{step_s}"
        );
    }
    for at_s in [0.0, 2.001, f64::NAN] {
        assert!(
            matches!(law.step(at_s, PERIOD_S), Err(Refusal::Time { .. })),
            "{at_s}"
        );
    }
    law.step(2.0, 2.0 * PERIOD_S).expect("two periods");
    assert!((law.time_s() - 2.01).abs() < 1e-12);

    let ahead = place(Model::Controller, "calibration.vehicle.front_axle_to_cg_m");
    let before = law.get(ahead);
    law.set(ahead, 2.9).expect("in its own range");
    let refusal = law.step(2.01, PERIOD_S).expect_err("behind the rear axle");
    assert!(
        refusal.to_string().contains("centre of gravity"),
        "{refusal}"
    );
    assert_eq!(law.get(ahead), before, "the calibration in force is told");
    law.step(2.01, PERIOD_S).expect("goes on");
    let mut contradicting = Unit::new(Model::Controller);
    contradicting.set(ahead, 2.9).expect("in its own range");
    assert!(matches!(
        contradicting.start(),
        Err(Refusal::Calibration { .. })
    ));
}

#[test]
fn a_clone_of_a_unit_goes_on_to_the_last_bit_and_asking_changes_nothing() {
    let mut car = Unit::new(Model::Car);
    for (name, value) in [
        ("start.speed_m_s", 20.0),
        ("start.seed", 7.0),
        ("road.friction_left", 0.5),
    ] {
        car.set(place(Model::Car, name), value).expect("admitted");
    }
    car.start().expect("nothing to refuse");
    car.set(place(Model::Car, "steering_wheel"), 0.4)
        .expect("admitted");
    car.set(place(Model::Car, "accelerator"), 0.7)
        .expect("admitted");
    let go = |unit: &mut Unit, asked: bool| {
        let mut bits = Vec::new();
        for step in 0..200 {
            unit.step(unit.time_s(), PERIOD_S).expect("in time");
            if asked || step == 199 {
                for index in 0..variables(Model::Car).len() {
                    bits.push(unit.get(index as u32).expect("known").to_bits());
                }
            }
        }
        bits.split_off(bits.len() - variables(Model::Car).len())
    };
    go(&mut car, true);
    let mut other = car.clone();
    assert_eq!(go(&mut car, true), go(&mut other, false));
}

#[test]
fn inputs_held_over_several_periods_grow_older() {
    // After the calibration's times a signal that is held counts as lost: the yaw rate is then a fault.
    let mut law = Unit::new(Model::Controller);
    law.start().expect("accepted");
    let faults = |law: &mut Unit| {
        law.get(place(Model::Controller, "faults_low"))
            .expect("an output") as u32
    };
    for one in variables(Model::Controller) {
        if one.name.ends_with("_valid") && !one.name.starts_with("clutch") {
            law.set(place(Model::Controller, &one.name), 1.0)
                .expect("admitted");
        }
    }
    for _ in 0..200 {
        law.step(law.time_s(), PERIOD_S).expect("in time");
    }
    assert_eq!(faults(&mut law) & 1 << 4, 0);
    law.step(law.time_s(), 200.0 * PERIOD_S).expect("in time");
    assert_eq!(faults(&mut law) & 1 << 4, 1 << 4);
}

#[test]
fn a_scenario_the_units_cannot_be_told_is_refused() {
    let page = RawPage::default();
    let refusal = |change: &dyn Fn(&mut Scenario)| {
        let mut scenario = Scenario::of(Manoeuvre::Cruise);
        change(&mut scenario);
        reference(&scenario, &Vehicle::default(), &page).err()
    };
    assert_eq!(
        refusal(&|one| one.layout = AxleLayout::FrontDrive),
        Some(Unfit::Axle)
    );
    assert_eq!(refusal(&|one| one.mirrored = true), Some(Unfit::Mirrored));
    assert_eq!(
        refusal(&|one| one.numbers.assist.release_request_s = 1.0),
        Some(Unfit::Release)
    );
    assert_eq!(
        refusal(&|one| one.manoeuvre = Manoeuvre::SkarnPass),
        Some(Unfit::Road)
    );
    assert_eq!(
        refusal(&|one| one.faults = programme_faults()),
        Some(Unfit::Faults)
    );
}

/// The faults of the first run of the programme that has some.
fn programme_faults() -> Vec<Fault> {
    let faulty = programme()
        .into_iter()
        .find(|case| !case.scenario.faults.is_empty());
    faulty
        .expect("the programme has runs with faults")
        .scenario
        .faults
}

#[test]
fn every_unit_of_measure_is_known_in_si() {
    // SI brochure, 9th edition, tables 2, 4 and 8 (from memory): derived units in base units, non-SI units.
    let base = |factor: f64, powers| {
        Some(BaseUnit {
            factor,
            offset: 0.0,
            powers,
        })
    };
    assert_eq!(base_unit("N m"), base(1.0, [1, 2, -2, 0, 0, 0, 0]));
    assert_eq!(base_unit("bar"), base(1.0e5, [1, -1, -2, 0, 0, 0, 0]));
    assert_eq!(base_unit("kg m2"), base(1.0, [1, 2, 0, 0, 0, 0, 0]));
    assert_eq!(base_unit("rad/s"), base(1.0, [0, 0, -1, 0, 0, 0, 1]));
    assert_eq!(base_unit("W/K"), base(1.0, [1, 2, -3, 0, -1, 0, 0]));
    assert_eq!(base_unit("W/(m K)"), base(1.0, [1, 1, -3, 0, -1, 0, 0]));
    assert_eq!(
        base_unit("degC").map(|unit| (unit.factor, unit.offset)),
        Some((1.0, 273.15))
    );
    assert_eq!(
        base_unit("deg").map(|unit| unit.factor),
        Some(std::f64::consts::PI / 180.0)
    );
    assert_eq!(base_unit("furlong"), None);
    for model in Model::ALL {
        for one in variables(model) {
            assert!(
                base_unit(one.unit).is_some(),
                "{}: `{}`",
                one.name,
                one.unit
            );
        }
    }
}

#[test]
fn names_are_unique_starts_are_admitted_and_tokens_tell_the_models_apart() {
    for model in Model::ALL {
        let all = variables(model);
        let mut names: Vec<&str> = all.iter().map(|one| one.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all.len());
        for one in all.iter().filter(|one| one.causality != Causality::Output) {
            assert!(
                one.low <= one.start && one.start <= one.high,
                "{}",
                one.name
            );
        }
        assert_eq!(Model::of_token(&model.token()), Some(model));
        for edition in [Edition::Two, Edition::Three] {
            let text = model_description(model, edition, &[]);
            assert!(text.contains(&model.token()) && text.contains("not certified"));
        }
    }
    assert_eq!(Model::of_token("{couplet_car}"), None);
}
