//! Power balance of whole runs: every manoeuvre, every axle, with controller, driver, brakes and sensors at work.
//!
//! What the powertrain puts in less what is lost must be the change of what is stored, within 0.1 % of what went through (the
//! project's requirement; a hundredth of that is asked here), summed at the plant's own step. Cars: the nominal one, and ones drawn from the campaign's ranges, of which some twist
//! their shafts, roll and pitch, change gears or tow. A manoeuvre that is new is driven too: the list is the bench's own.

use couplet_sim::campaign::Sample;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::run::{Ending, run};
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

/// Longest drive, s: what happens later happens in the same way.
const LONGEST_S: f64 = 12.0;

/// Share of the energy that went through. The requirement is 1e-3; the plant reaches 3e-7, and a missing term of a hundredth
/// of that requirement shall show.
const OPEN: f64 = 1e-5;

/// The car of a number: 0 is nominal, the others are drawn, with one more motion each.
fn car(number: u64) -> Vehicle {
    if number == 0 {
        return Vehicle::default();
    }
    let mut vehicle = Sample::of(71, number).vehicle(&Vehicle::default());
    match number % 4 {
        0 => vehicle.driveline.half_shaft_stiffness_nm_rad = 12_000.0,
        1 => {
            vehicle.suspension.roll_stiffness_nm_rad = 70_000.0;
            vehicle.suspension.pitch_stiffness_nm_rad = 90_000.0;
        }
        2 => vehicle.gears.count = 6.0,
        _ => vehicle.trailer.mass_kg = 900.0,
    }
    vehicle
}

#[test]
fn power_balance_closes_over_every_manoeuvre_with_every_axle_and_cars_that_differ() {
    let (mut worst, mut runs) = ((0.0, String::new()), 0);
    for (place, manoeuvre) in Manoeuvre::ALL.into_iter().enumerate() {
        for (column, layout) in AxleLayout::ALL.into_iter().enumerate() {
            // Two cars a run; over the layouts every kind of car meets every manoeuvre.
            for number in [0, 1 + (place as u64 + 3 * column as u64) % 12] {
                let vehicle = car(number);
                let mut scenario = Scenario::of(manoeuvre);
                scenario.layout = layout;
                scenario.seed = number;
                scenario.mirrored = number % 2 == 1;
                let course = &mut scenario.numbers.course;
                course.longest_s = course.longest_s.min(LONGEST_S);
                // A lane change at a speed given, not searched for.
                if course.speed_m_s == 0.0
                    && matches!(
                        manoeuvre,
                        Manoeuvre::DoubleLaneChange
                            | Manoeuvre::ObstacleAvoidance
                            | Manoeuvre::SnowLaneChange
                    )
                {
                    course.speed_m_s = 14.0;
                }
                let result = run(&scenario, &vehicle, &demo_page("response"));
                let what = format!("{}, {layout:?}, car {number}", scenario.name);
                assert_ne!(result.outcome.ended, Ending::NotFinite, "{what}");
                let energy = result.outcome.energy;
                let open = energy.open_share();
                assert!(open <= OPEN, "{what}: open by {open:e} of {energy:?}");
                runs += 1;
                if open > worst.0 {
                    worst = (open, what);
                }
            }
        }
    }
    println!("{runs} runs, worst {:e}: {}", worst.0, worst.1);
}
