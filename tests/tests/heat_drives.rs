//! Heat over whole drives of the whole car: abuse ends in protection and comes back, and nothing else is ever protected against.
//!
//! Closed loop, demo calibration, lumped heat of the demo car. That repeated split-friction launches must end in clutches opened or duty
//! much reduced for a while, then full function again: common practice, no source. Temperatures allowed are those of the calibration
//! (absolute 270 degC at the surface, 150 degC in the oil).

use couplet_sim::metrics::heat::{
    Leave, Transition, derated_share, energies, taken_share, transitions,
};
use couplet_sim::metrics::value;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::programme;
use couplet_sim::record::Record;
use couplet_sim::run::{Ending, RunResult, run};
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::{demo_page, set};

fn column<'a>(record: &'a Record, name: &str) -> &'a [f32] {
    record
        .column(name)
        .unwrap_or_else(|| panic!("no channel {name}"))
}

fn most(record: &Record, name: &str) -> f32 {
    column(record, name).iter().fold(f32::MIN, |m, v| m.max(*v))
}

/// Launches every 15 s on 20 % for so long, the powertrain keeping to the front spin asked for or not.
fn launches(honoured: bool, work_s: f64, longest_s: f64) -> (Scenario, RunResult) {
    let mut scenario = Scenario::of(Manoeuvre::RepeatedLaunches);
    scenario.numbers.driver.honour_front_spin_request = f64::from(u8::from(honoured));
    scenario.numbers.driver.work_s = work_s;
    scenario.numbers.course.longest_s = longest_s;
    let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
    assert_eq!(
        result.outcome.ended,
        Ending::TimeOver,
        "{:?}",
        result.outcome
    );
    (scenario, result)
}

/// Times from the beginning of each launch to 19 km/h, s; none where it was not reached.
fn times(scenario: &Scenario, record: &Record) -> Vec<Option<f64>> {
    let per = (scenario.numbers.driver.cycle_s / record.period_s).round() as usize;
    column(record, "speed")
        .chunks_exact(per)
        .map(|cycle| {
            let reached = cycle.iter().position(|speed| *speed >= 19.0 / 3.6);
            reached.map(|index| index as f64 * record.period_s)
        })
        .collect()
}

/// Launches that ended before the first derating.
fn good_until(record: &Record, scenario: &Scenario) -> f64 {
    let first = column(record, "heat_ceiling_left")
        .iter()
        .position(|ceiling| *ceiling < 1.0)
        .expect("derated");
    (record.time_s(first) / scenario.numbers.driver.cycle_s).floor()
}

#[test]
fn endless_split_launches_end_in_reduced_duty_then_open_to_cool_then_full_function_again() {
    let (scenario, result) = launches(false, 1200.0, 1650.0);
    let record = &result.record;
    let found = transitions(record);
    for one in &found {
        println!(
            "{:7.2} s {:5}: {} -> {}; {} estimated {:.1}, bound {:.1}, true {:.1} degC; {}",
            one.time_s,
            one.side,
            one.from.words(),
            one.to.words(),
            one.part,
            one.estimate_degc,
            one.bound_degc,
            one.truth_degc,
            one.reason
        );
        // Each with its numbers: the truth stays below what protects, and a reason is given.
        assert!(one.bound_degc >= one.truth_degc && one.bound_degc >= one.estimate_degc);
        assert!(
            one.estimate_degc.is_finite() && one.reason != "nothing",
            "{one:?}"
        );
    }
    for side in ["left", "right"] {
        let of: Vec<&Transition> = found.iter().filter(|one| one.side == side).collect();
        assert_eq!((of[0].from, of[0].to), (Leave::Full, Leave::Reduced));
        let opened: Vec<f64> = of
            .iter()
            .filter(|one| one.to == Leave::Open)
            .map(|one| one.time_s)
            .collect();
        let closed: Vec<f64> = of
            .iter()
            .filter(|one| one.from == Leave::Open)
            .map(|one| one.time_s)
            .collect();
        assert!(!opened.is_empty() && opened.len() == closed.len());
        for (opened, closed) in opened.iter().zip(&closed) {
            println!("{side}: open to cool for {:.0} s", closed - opened);
            assert!((2.0..300.0).contains(&(closed - opened)));
        }
        assert_eq!(of.last().map(|one| one.to), Some(Leave::Full));
        // No chatter: fewer than one change for two launches, and an order stands for its dwell of 2 s at least (above).
        assert!(of.len() < 40, "{}", of.len());
    }
    // Open means open.
    for (open, capacity) in column(record, "heat_open_right")
        .iter()
        .zip(column(record, "capacity_right"))
        .skip(1)
    {
        assert!(*open < 0.5 || *capacity == 0.0);
    }
    let hottest = (
        most(record, "plant_clutch_surface_right"),
        most(record, "plant_oil"),
    );
    let times = times(&scenario, record);
    let good = times.iter().take_while(|time| time.is_some()).count();
    let (first, again) = (times[0], times[times.len() - 2]);
    assert_eq!(
        value(&result.metrics, "launches until derating"),
        Some(good_until(record, &scenario))
    );
    println!(
        "{good} launches before the first failed; {first:?} s, after the rest {again:?} s; hottest {hottest:?} degC"
    );
    assert!(good >= 8);
    assert!(hottest.0 < 270.0 && hottest.1 < 150.0);
    // Full function: in the launches after the rest heat takes nothing, and the car climbs away as at first. Within a
    // quarter only: the learned valve moves the torque by up to 2 %, and at 0.5 m/s2 on 20 % that was measured as a fifth
    // of the time (9.7 and 11.7 s, the launch after that 9.7 s again).
    let (first, again) = (first.expect("climbs"), again.expect("climbs again"));
    assert!((again / first - 1.0).abs() < 0.25);
    let per = (scenario.numbers.driver.cycle_s / record.period_s).round() as usize;
    for ceiling in ["heat_ceiling_left", "heat_ceiling_right"] {
        let rest = column(record, ceiling);
        assert!(
            rest[rest.len() - 2 * per..]
                .iter()
                .all(|share| *share == 1.0)
        );
    }
    let sums = energies(record).expect("the plant's channels");
    println!("{sums:?}; open {:.3} kJ", sums.open_kj());
    // Channels hold 24 bits: 1e6 J are known to 0.06 J, eight of them here.
    assert!(sums.open_kj() < 1e-3, "{}", sums.open_kj());
}

#[test]
fn where_the_powertrain_keeps_to_the_front_spin_asked_for_sixty_launches_need_no_protection() {
    let (scenario, result) = launches(true, 870.0, 900.0);
    let times = times(&scenario, &result.record);
    println!(
        "{} launches, {:.1} kJ each, oil {:.1} degC",
        times.len(),
        (f64::from(
            *column(&result.record, "plant_clutch_energy_right")
                .last()
                .expect("a sample")
        )) / 1000.0
            / times.len() as f64,
        most(&result.record, "plant_oil")
    );
    assert!(times.iter().all(Option::is_some));
    assert_eq!(derated_share(&result.record), Some(0.0));
}

#[test]
fn ordered_open_by_heat_the_car_still_moves_off_on_an_even_road() {
    let time = |layout, axle_degc| {
        let mut scenario = Scenario::of(Manoeuvre::SplitLaunch);
        scenario.layout = layout;
        (
            scenario.numbers.road.friction_left,
            scenario.numbers.road.friction_right,
        ) = (0.95, 0.95);
        scenario.numbers.road.axle_degc = axle_degc;
        let result = run(&scenario, &Vehicle::default(), &demo_page("patrol"));
        let time = value(&result.metrics, "time to 20 km/h").expect("moves off");
        (time, result)
    };
    // At 140 degC the bound of the oil, 12 K more, is beyond its absolute 150 degC.
    let (hot, result) = time(AxleLayout::PairedClutches, 140.0);
    let (warm, _) = time(AxleLayout::PairedClutches, 60.0);
    let (front, _) = time(AxleLayout::FrontDrive, 60.0);
    println!("to 20 km/h: {hot:.2} s ordered open, {warm:.2} s warm, {front:.2} s front drive");
    let open = column(&result.record, "heat_open_left");
    assert!(open.iter().all(|open| *open > 0.5));
    assert!((hot / front - 1.0).abs() < 0.05);
}

#[test]
fn the_pass_and_the_iso_manoeuvres_are_driven_without_derating_and_caution_takes_no_torque() {
    let names = [
        "skarn-pass-paired",
        "skarn-pass-slippery-paired",
        "step-steer-100",
        "lift-off",
        "circle-dry",
        "one-period-sine",
        "braking-in-turn",
        "slide-hold",
    ];
    let car = Vehicle::default();
    let mut driven = 0;
    for case in programme() {
        let name = &case.scenario.name;
        if case.scenario.layout != AxleLayout::PairedClutches
            || !names.iter().any(|wanted| name.starts_with(wanted))
        {
            continue;
        }
        driven += 1;
        let page = demo_page(case.setting);
        let record = run(&case.scenario, &car, &page).record;
        let (taken, derated) = (taken_share(&record), derated_share(&record));
        println!(
            "{name}: derated {derated:?} of the time, heat took {taken:?} of the torque asked; bound at most {:.0} degC surface, {:.0} degC oil",
            most(&record, "bound_surface_left").max(most(&record, "bound_surface_right")),
            most(&record, "bound_oil")
        );
        assert_eq!(derated, Some(0.0), "{name}");
        assert_eq!(taken, Some(0.0), "{name}");
        // The same drive protected by the estimate alone: what differs is the torque that caution took.
        if name == "skarn-pass-paired" {
            let mut bold = page;
            set(&mut bold, "heat_bound.share", 0.0);
            set(&mut bold, "heat_bound.beyond_k", 0.0);
            let other = run(&case.scenario, &car, &bold).record;
            for channel in ["torque_given_left", "torque_given_right"] {
                assert_eq!(column(&record, channel), column(&other, channel));
            }
        }
    }
    assert!(driven >= 8, "{driven}");
}

#[test]
fn an_hour_at_100_km_h_a_tyre_ten_percent_smaller_stays_cool_and_a_larger_one_is_cool_after_minutes()
 {
    // Held speed, straight ahead: the slip never pauses. The larger tyre is recognised only after some minutes; until then the ceilings hold it:
    // 4.1 % of the hour, measured.
    for (front, rear, grade_percent, derated_most) in [
        (1.0, 0.9, 3.0, 0.0),
        (0.9, 1.0, 0.0, 0.0),
        (1.0, 1.1, 0.0, 0.05),
    ] {
        let mut scenario = Scenario::of(Manoeuvre::Cruise);
        scenario.numbers.course.speed_m_s = 100.0 / 3.6;
        scenario.numbers.course.longest_s = 3600.0;
        scenario.numbers.road.grade_percent = grade_percent;
        let mut car = Vehicle::default();
        car.tyre_front.left_radius_scale = front;
        car.tyre_rear.left_radius_scale = rear;
        let result = run(&scenario, &car, &demo_page("patrol"));
        assert_eq!(result.outcome.ended, Ending::TimeOver);
        let record = &result.record;
        let last = |name: &str| *column(record, name).last().expect("a sample");
        let made_kj = energies(record).expect("the plant's channels").made_kj;
        println!(
            "left radius front {front}, rear {rear}, {grade_percent} %: slip {:.1} / {:.1} rad/s, capacity at most {:.0} N m, at the end {:.0} / {:.0} N m, \
             {made_kj:.0} kJ in an hour; hottest surface {:.1} / {:.1}, oil {:.1} degC; after it surface {:.1} / {:.1}, oil {:.1}, housing {:.1} degC, \
             bound of the oil {:.1} degC; derated {:?}",
            last("plant_clutch_slip_left"),
            last("plant_clutch_slip_right"),
            most(record, "capacity_left").max(most(record, "capacity_right")),
            last("capacity_left"),
            last("capacity_right"),
            most(record, "plant_clutch_surface_left"),
            most(record, "plant_clutch_surface_right"),
            most(record, "plant_oil"),
            last("plant_clutch_surface_left"),
            last("plant_clutch_surface_right"),
            last("plant_oil"),
            last("plant_housing"),
            last("bound_oil"),
            derated_share(record),
        );
        // Cool: never derated, and even the bound of the oil ends 20 K below where its slope begins.
        assert!(derated_share(record).is_some_and(|share| share <= derated_most));
        let start_degc = demo_page("patrol").tunables.derating.oil_start_degc;
        assert!(last("bound_oil") < start_degc - 20.0);
        assert!(most(record, "plant_oil") < start_degc);
    }
}
