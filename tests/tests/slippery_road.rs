//! Ice and snow: a quick turn of the wheel may not make the axle spin a car that goes straight on with open clutches.
//!
//! Judged against the same car with open clutches on the same road, by the property `steadier-than-open` of the hunt: at most 1.2
//! times its sideslip and 3 deg more. Car and roads are invented; that an axle must not make a car less steady on ice is common
//! practice, no source. Combinations where it still does stand in the book (Known problems), and nowhere else may it.

use couplet_controller::RawPage;
use couplet_sim::fault::{Fault, Kind, Place};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::record::Record;
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A turn of the steering wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Turn {
    speed_m_s: f64,
    friction: f64,
    /// At the steering wheel, one sine of 0.7 Hz.
    steer_deg: f64,
    /// Held at its first peak instead.
    held: bool,
}

impl Turn {
    fn scenario(self) -> Scenario {
        let mut scenario = Scenario::of(Manoeuvre::Disturbance);
        let numbers = &mut scenario.numbers;
        numbers.course.longest_s = 5.0;
        numbers.course.speed_m_s = self.speed_m_s;
        numbers.disturbance.steer_deg = self.steer_deg;
        numbers.disturbance.hold = f64::from(u8::from(self.held));
        numbers.driver.brake = 0.0;
        numbers.driver.steering_frequency_hz = 0.7;
        numbers.road.friction_left = self.friction;
        numbers.road.friction_right = self.friction;
        scenario
    }
}

fn column(record: &Record, name: &str) -> Vec<f64> {
    let values = record.column(name);
    let values = values.unwrap_or_else(|| panic!("no channel {name}"));
    values.iter().map(|value| f64::from(*value)).collect()
}

fn most_sideslip_deg(scenario: &Scenario, page: &RawPage) -> f64 {
    let driven = run(scenario, &Vehicle::default(), page);
    let sideslip = column(&driven.record, "sideslip");
    sideslip
        .iter()
        .map(|v| v.abs().to_degrees())
        .fold(0.0, f64::max)
}

/// Every turn of the grid.
fn grid() -> Vec<Turn> {
    let mut turns = Vec::new();
    for speed_m_s in [15.0, 24.0, 34.0] {
        for friction in [0.1, 0.2, 0.3, 0.45] {
            for steer_deg in [11.0, 20.0, 35.0, 50.0, 70.0, 100.0] {
                for held in [false, true] {
                    turns.push(Turn {
                        speed_m_s,
                        friction,
                        steer_deg,
                        held,
                    });
                }
            }
        }
    }
    turns
}

/// Turns of the grid in which some setting still swings further, as the book tells: speed, friction, steering, held.
const KNOWN: [(f64, f64, &[f64], bool); 7] = [
    (24.0, 0.1, &[35.0, 50.0, 70.0], false),
    (24.0, 0.2, &[35.0, 50.0, 70.0, 100.0], false),
    (24.0, 0.45, &[100.0], false),
    (34.0, 0.1, &[20.0, 35.0], false),
    (34.0, 0.2, &[20.0, 35.0, 50.0, 70.0, 100.0], false),
    (34.0, 0.3, &[35.0, 100.0], false),
    (34.0, 0.3, &[20.0], true),
];

#[test]
fn a_quick_turn_on_ice_or_snow_swings_the_car_hardly_further_than_with_open_clutches() {
    let pages = [
        RawPage::default(),
        demo_page("patrol"),
        demo_page("response"),
    ];
    let turns = grid();
    let next = AtomicUsize::new(0);
    let found = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some(turn) = turns.get(next.fetch_add(1, Ordering::SeqCst)) {
                    let mut scenario = turn.scenario();
                    let paired = pages
                        .each_ref()
                        .map(|page| most_sideslip_deg(&scenario, page));
                    scenario.layout = AxleLayout::FrontDrive;
                    let open = most_sideslip_deg(&scenario, &pages[0]);
                    found
                        .lock()
                        .expect("no thread panics")
                        .push((*turn, paired, open));
                }
            });
        }
    });
    let (mut further, mut judged) = (0, 0);
    for (turn, paired, open) in found.into_inner().expect("no thread panics") {
        // A passive car that spins is no measure of steadiness.
        if open > 60.0 {
            continue;
        }
        for paired in paired {
            judged += 1;
            if paired > 1.2 * open + 3.0 {
                further += 1;
                println!("{turn:?}: {paired:.1} deg, open {open:.1} deg");
                let known = KNOWN.iter().any(|(speed, friction, steering, held)| {
                    (*speed, *friction, *held) == (turn.speed_m_s, turn.friction, turn.held)
                        && steering.contains(&turn.steer_deg)
                });
                assert!(
                    known,
                    "not in the book: {turn:?}, {paired:.1} deg, open {open:.1} deg"
                );
                // Before tyres that slide were watched, 147 of these drives swung further, up to a spin of 40 deg on ice.
                assert!(
                    turn.friction > 0.3 || paired < 28.0,
                    "{turn:?}: {paired:.1} deg"
                );
            }
        }
    }
    println!("{further} of {judged} swing further");
    assert!(judged > 400 && further <= 41, "{further} of {judged}");
}

/// Least friction believed after a second, in the setting `patrol`.
fn least_believed(scenario: &Scenario) -> f64 {
    let driven = run(scenario, &Vehicle::default(), &demo_page("patrol"));
    let believed = column(&driven.record, "friction_believed");
    let second = (1.0 / driven.record.period_s).round() as usize;
    believed[second..].iter().copied().fold(f64::MAX, f64::min)
}

#[test]
fn front_tyres_that_slide_show_how_little_the_road_gives() {
    for friction in [0.1, 0.2, 0.3] {
        for steer_deg in [50.0, -50.0] {
            let turn = Turn {
                speed_m_s: 24.0,
                friction,
                steer_deg,
                held: true,
            };
            let least = least_believed(&turn.scenario());
            // A tenth more than is in use stays allowed at any slip.
            assert!(
                least > 0.5 * friction && least < 1.25 * friction,
                "{friction}: {least}"
            );
        }
    }
}

#[test]
fn an_offset_of_the_steering_is_not_taken_for_ice() {
    let straight = |offset_deg: f64| {
        let mut turn = Turn {
            speed_m_s: 30.0,
            friction: 0.95,
            steer_deg: 0.0,
            held: false,
        }
        .scenario();
        if offset_deg != 0.0 {
            turn.faults.push(Fault {
                place: Place::Signal("steering_wheel_angle"),
                kind: Kind::Offset,
                size: offset_deg.to_radians(),
                start_s: 0.0,
                duration_s: 10.0,
            });
        }
        least_believed(&turn)
    };
    let sound = straight(0.0);
    for offset_deg in [4.0, -4.0] {
        let least = straight(offset_deg);
        assert!(
            least > sound - 0.05,
            "{offset_deg} deg: {least}, sound {sound}"
        );
    }
}
