//! Campaigns: samples are values of seed and index, evenly drawn, and the rows say what the cars did.

use couplet_sim::campaign::{RANGES, SAMPLES, SEED, Sample, Spread};
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::{campaigns, spread_rows};
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

/// Samples of the checks of chance.
const MANY: u64 = 20_000;

#[test]
fn a_sample_is_a_value_of_seed_and_index_alone() {
    let forward: Vec<Sample> = (0..50).map(|index| Sample::of(SEED, index)).collect();
    let backward: Vec<Sample> = (0..50).rev().map(|index| Sample::of(SEED, index)).collect();
    assert!(forward.iter().eq(backward.iter().rev()));
    for (index, sample) in forward.iter().enumerate() {
        for other in &forward[..index] {
            assert_ne!(sample.noise_seed, other.noise_seed);
            assert!(sample.values.iter().zip(other.values).all(|(a, b)| *a != b));
        }
    }
    assert_ne!(Sample::of(SEED, 3), Sample::of(SEED + 1, 3));
    // Neighbouring seeds must not be neighbouring indices.
    assert_ne!(Sample::of(SEED, 4), Sample::of(SEED + 1, 3));
}

#[test]
fn every_number_is_drawn_evenly_between_its_ends_and_on_its_own() {
    let samples: Vec<Sample> = (0..MANY).map(|index| Sample::of(SEED, index)).collect();
    let count = MANY as f64;
    // Shares of the range: mean 1/2 and standard deviation 1/sqrt(12) of an even draw, four standard errors each.
    let deviation = libm::sqrt(1.0 / 12.0);
    let share = |place: usize, sample: &Sample| {
        (sample.values[place] - RANGES[place].low) / (RANGES[place].high - RANGES[place].low)
    };
    for place in 0..RANGES.len() {
        let shares: Vec<f64> = samples.iter().map(|sample| share(place, sample)).collect();
        let name = RANGES[place].name;
        assert!(
            shares.iter().all(|share| (0.0..1.0).contains(share)),
            "{name}"
        );
        let mean = shares.iter().sum::<f64>() / count;
        assert!(
            (mean - 0.5).abs() < 4.0 * deviation / libm::sqrt(count),
            "{name}: {mean}"
        );
        // Ten equal parts: 2000 expected in each, standard error sqrt(20000 * 0.1 * 0.9) = 42.
        for tenth in 0..10 {
            let inside = shares
                .iter()
                .filter(|share| libm::floor(**share * 10.0) as i32 == tenth)
                .count() as f64;
            assert!(
                (inside - 2000.0).abs() < 4.5 * 42.4,
                "{name}: {inside} in part {tenth}"
            );
        }
        for other in 0..place {
            // Correlation of independent draws: standard error 1/sqrt(n) = 0.007.
            let product = samples
                .iter()
                .map(|sample| (share(place, sample) - 0.5) * (share(other, sample) - 0.5))
                .sum::<f64>();
            let correlation = product / count * 12.0;
            assert!(
                correlation.abs() < 0.032,
                "{name}, {}: {correlation}",
                RANGES[other].name
            );
        }
    }
}

#[test]
fn a_sample_moves_the_numbers_its_table_names_and_no_other() {
    let nominal = Vehicle::default();
    let sample = Sample::of(SEED, 5);
    let car = sample.vehicle(&nominal);
    let moved: Vec<&str> = Vehicle::FIELDS
        .iter()
        .filter(|field| (field.read)(&car) != (field.read)(&nominal))
        .map(|field| field.key)
        .collect();
    assert_eq!(
        moved,
        [
            "mass_kg",
            "yaw_inertia_kg_m2",
            "front_load_share",
            "gravity_height_m",
            "radius_m",
            "left_stiffness_scale",
            "right_stiffness_scale",
            "radius_m",
            "left_stiffness_scale",
            "right_stiffness_scale",
            "left_friction_scale",
            "right_friction_scale",
            "lag_s"
        ]
    );
    // No car of a campaign leaves what a vehicle file may say.
    for index in 0..200 {
        let car = Sample::of(SEED, index).vehicle(&nominal);
        for field in Vehicle::FIELDS {
            assert!(
                (field.low..=field.high).contains(&(field.read)(&car)),
                "{}",
                field.key
            );
        }
    }
    let plain = Scenario::of(Manoeuvre::PowerOnExit);
    let driven = sample.scenario(&plain);
    assert_eq!(
        driven.numbers.road.friction_left,
        plain.numbers.road.friction_left * sample.values[1]
    );
    assert_eq!(driven.seed, sample.noise_seed);
}

#[test]
fn one_sample_alone_is_driven_as_among_the_others_and_cars_differ() {
    let all = campaigns();
    let campaign = all
        .iter()
        .find(|one| one.scenario.layout == AxleLayout::PairedClutches)
        .expect("a campaign with two clutches");
    let page = demo_page(campaign.setting);
    let drive = |index| campaign.drive(index, &Vehicle::default(), &page);
    let some: Vec<_> = (0..4).map(drive).collect();
    assert_eq!(some[3], drive(3));
    assert_ne!(some[0], some[1]);
}

#[test]
fn every_judged_value_exists_and_every_row_finds_its_campaign() {
    let spreads: Vec<Spread> = campaigns()
        .into_iter()
        .map(|campaign| {
            let page = demo_page(campaign.setting);
            let samples = (0..3)
                .map(|index| campaign.drive(index, &Vehicle::default(), &page))
                .collect();
            Spread { campaign, samples }
        })
        .collect();
    for spread in &spreads {
        for judged in spread.campaign.judged {
            // A name or unit that no metric has would be missing in every drive.
            assert!(spread.missing(judged.name) < 3, "{}", judged.name);
        }
    }
    let empty = spread_rows(&[]);
    for (row, without) in spread_rows(&spreads).iter().zip(&empty) {
        assert!(row.id.ends_with("-spread"), "{}", row.id);
        assert!(row.paired.is_some() && row.passive.is_some(), "{}", row.id);
        assert!(row.target.is_some() && row.unit != "-", "{}", row.id);
        assert_eq!(without.paired, None);
        assert_ne!(without.pass(), Some(true));
    }
    // Two of 40 cars may be worse than the 95th percentile: nearest rank ceil(38) leaves ranks 39 and 40.
    assert_eq!(SAMPLES, 40);
}
