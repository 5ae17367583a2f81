//! Searches the numbers of every kind of axle with equal effort and prints the objective before and after.
//!
//! Usage: `tune_layouts [EVALUATIONS [AXLE]]`, 200 and every axle by default; one thread per axle, the same answer on every run. The search
//! starts from the numbers of the demo car, so a second run starts from what the first one left there. What is searched
//! and judged: `prove::tuning`.

use couplet_controller::RawPage;
use couplet_sim::plant::{AxleLayout, Vehicle};
use couplet_sim::prove::tuning::{NOISE_SEED, Objective, Tuned, parts, tune};
use couplet_sim::scenario::layout_name;

/// The axles with numbers to search.
const SEARCHED: [AxleLayout; 4] = [
    AxleLayout::FrontLimitedSlip,
    AxleLayout::BrakeVectoring,
    AxleLayout::SingleCoupling,
    AxleLayout::PairedClutches,
];

fn main() {
    let evaluations: usize = std::env::args()
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(200);
    let only = std::env::args().nth(2);
    let wanted = |layout: &AxleLayout| {
        only.as_deref()
            .is_none_or(|name| name == layout_name(*layout))
    };
    let searched: Vec<AxleLayout> = SEARCHED.into_iter().filter(wanted).collect();
    let vehicle = Vehicle::default();
    // The setting `response`: its two axes are where the search of the paired axle begins.
    let mut page = RawPage::default();
    page.tunables.setting.agility = 0.9;
    page.tunables.setting.steadiness = 0.35;
    let objective = Objective::new(&vehicle, &page, NOISE_SEED);
    let tuned: Vec<Option<Tuned>> = std::thread::scope(|scope| {
        let (vehicle, page, objective) = (&vehicle, &page, &objective);
        let start = |layout: &AxleLayout| {
            let layout = *layout;
            scope.spawn(move || tune(layout, vehicle, page, objective, evaluations))
        };
        let threads: Vec<_> = searched.iter().map(start).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().ok())
            .collect()
    });
    for (layout, tuned) in searched.iter().zip(tuned) {
        match tuned {
            Some(tuned) => print(*layout, &tuned),
            None => println!("{layout:?}: the search broke off"),
        }
    }
}

fn print(layout: AxleLayout, tuned: &Tuned) {
    let found = &tuned.found;
    println!(
        "\n{layout:?}: {:.4} -> {:.4} in {} evaluations",
        found.first, found.value, found.evaluations
    );
    for (group, key, value) in &tuned.numbers {
        println!("  {group}.{key} = {value:.5}");
    }
    for (index, (name, weight)) in parts().enumerate() {
        let (before, after) = (tuned.shares.0[index], tuned.shares.1[index]);
        println!("  {before:7.3} -> {after:7.3}  weight {weight}  {name}");
    }
}
