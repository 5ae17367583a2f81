//! The shipped alternatives in the whole loop: mirrored exactly, different from the exact law.
//!
//! A run under another law must be the exact mirror image of its mirrored twin like any other; and it must be another run,
//! or the comparison would compare a law with itself.

use couplet_sim::plant::Vehicle;
use couplet_sim::run::law::{Law, Rule};
use couplet_sim::run::run;
use couplet_sim::scenario::{Manoeuvre, Scenario};
use couplet_tests::demo_page;

#[test]
fn runs_under_every_law_mirror_to_the_bit_and_differ_from_each_other() {
    let page = demo_page("response");
    let mut all = Vec::new();
    for law in Law::ALL {
        let rule = || Rule::of(&page, law);
        let mut scenario = Scenario::of(Manoeuvre::PowerOnExit);
        let one = run(&scenario, &Vehicle::default(), rule());
        scenario.mirrored = true;
        let twin = run(&scenario, &Vehicle::default(), rule());
        assert!(one.record.len() > 500);
        assert!(one.record.mirrored() == twin.record, "{law:?}");
        all.push(one.record);
    }
    for (index, one) in all.iter().enumerate() {
        for other in &all[index + 1..] {
            assert!(one != other, "law {index} drives like another");
        }
    }
    // A page alone means the exact law.
    let scenario = Scenario::of(Manoeuvre::PowerOnExit);
    assert!(run(&scenario, &Vehicle::default(), &page).record == all[0]);
}
