//! Equal effort for every axle: the search keeps its number of drives, finds known minima and answers alike every time.

use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::tuning::search::search;
use couplet_sim::prove::tuning::{NOISE_SEED, Objective, parts, tune};
use couplet_tests::demo_page;

const ENDS: [(f64, f64); 4] = [(-1.0, 1.0), (0.0, 10.0), (-200.0, 800.0), (0.0, 1e-3)];
/// Where the valley below is deepest, within the box.
const LOWEST: [f64; 4] = [0.37, 7.1, 55.0, 2.2e-4];

/// A valley whose numbers pull on each other: 1 at most a box away, 0 at its deepest.
fn valley(point: &[f64]) -> f64 {
    let share: Vec<f64> = (0..4)
        .map(|i| (point[i] - LOWEST[i]) / (ENDS[i].1 - ENDS[i].0))
        .collect();
    let squares: f64 = share.iter().map(|s| s * s).sum();
    squares + 0.6 * (share[0] * share[1] - share[2] * share[3])
}

#[test]
fn the_search_finds_the_deepest_point_of_a_valley_from_a_far_corner() {
    let corner: Vec<f64> = ENDS.iter().map(|(low, _)| *low).collect();
    for seed in 0..5 {
        let found = search(&ENDS, &corner, 200, seed, valley);
        println!("seed {seed}: {:.2e} at {:?}", found.value, found.point);
        // Two thirds of 200 evaluations in four directions: a step of a fiftieth of the box is reached by halving.
        assert!(found.value < 4e-4, "{}", found.value);
        assert!(found.value <= found.first);
    }
}

#[test]
fn no_search_evaluates_more_often_than_it_may_and_none_leaves_its_box() {
    for evaluations in [1, 2, 7, 50, 200] {
        let mut count = 0;
        let first: Vec<f64> = LOWEST.to_vec();
        let found = search(&ENDS, &first, evaluations, 3, |point| {
            count += 1;
            for (value, (low, high)) in point.iter().zip(&ENDS) {
                assert!((*low..=*high).contains(value), "{value}");
            }
            -valley(point)
        });
        assert_eq!(count, found.evaluations);
        assert_eq!(count, evaluations);
    }
}

#[test]
fn a_search_gives_the_same_answer_every_time_and_a_number_that_is_none_is_never_chosen() {
    let holed = |point: &[f64]| {
        if point[0] > 0.2 {
            f64::NAN
        } else {
            valley(point)
        }
    };
    let first = [-1.0, 0.0, -200.0, 0.0];
    let found = search(&ENDS, &first, 120, 11, holed);
    assert_eq!(found, search(&ENDS, &first, 120, 11, holed));
    assert!(found.value.is_finite() && found.point[0] <= 0.2);
}

#[test]
fn front_drive_is_one_in_every_part_and_a_search_of_an_axle_keeps_what_is_better() {
    let (vehicle, page) = (Vehicle::default(), demo_page("response"));
    let objective = Objective::new(&vehicle, &page, NOISE_SEED);
    let front = objective.shares(AxleLayout::FrontDrive, &vehicle, &page);
    assert_eq!(front, vec![1.0; parts().count()]);
    let layout = AxleLayout::FrontLimitedSlip;
    let tuned = tune(layout, &vehicle, &page, &objective, 2);
    let (before, after) = &tuned.shares;
    let totals = (
        Objective::total(before),
        Objective::total_against(after, before),
    );
    println!("{totals:?}");
    assert_eq!(totals, (tuned.found.first, tuned.found.value));
    assert!(totals.1 <= totals.0);
    assert_eq!(tuned.numbers.len(), 3);
}

#[test]
fn a_part_that_became_worse_is_paid_dearly() {
    let before = vec![0.8; parts().count()];
    let mut after = vec![0.6; parts().count()];
    let better = Objective::total_against(&after, &before);
    assert_eq!(better, Objective::total(&after));
    after[3] = 0.9;
    // A tenth of front drive's value worse costs about one, more than every other part could win.
    assert!(Objective::total_against(&after, &before) > Objective::total(&before));
}
