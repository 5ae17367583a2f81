//! Attacks a controller that knows nothing of the shipped one: strategies for single steps, then whole drives with faults.
//!
//! `cargo run -p couplet-sim --example own_controller --features strategies`. The controller closes both clutches with the
//! accelerator. It has two mistakes: it does not look at the status of a reading, and it does not open on order. The
//! strategies find both and shrink them; mended, it passes.

use couplet_controller::signal::inputs::Status;
use couplet_controller::{Inputs, Outputs, PerSide, Reading};
use couplet_sim::plant::Vehicle;
use couplet_sim::property::{named, see};
use couplet_sim::run::law::{Build, OwnLaw, Rule};
use couplet_sim::strategies;
use proptest::prelude::*;

#[derive(Debug)]
struct WithThePedal {
    mended: bool,
}

impl OwnLaw for WithThePedal {
    fn step(&mut self, inputs: &Inputs) -> Outputs {
        let pedal = inputs.accelerator_pedal;
        let known = |reading: Reading| reading.status == Status::VALID && reading.value.is_finite();
        let mut share = pedal.value;
        if self.mended {
            let order = inputs.open_now;
            let open = !known(order) || order.value > 0.5 || !known(pedal);
            share = if open {
                0.0
            } else {
                pedal.value.clamp(0.0, 1.0)
            };
        }
        Outputs {
            capacity_nm: PerSide::both(300.0 * share),
            current_a: PerSide::both(0.15 + 0.3 * share),
            ..Outputs::default()
        }
    }
}

fn bounded(mended: bool) -> Result<(), String> {
    let promise = |inputs: Inputs| {
        let given = WithThePedal { mended }.step(&inputs).capacity_nm;
        prop_assert!((0.0..=300.0).contains(&given.left), "{} N m", given.left);
        Ok(())
    };
    let tried = std::panic::catch_unwind(|| {
        strategies::check(500, strategies::wild_inputs(), promise);
    });
    tried.map_err(|_| "a capacity out of range was found and shrunk".to_owned())
}

fn obeys(mended: bool) -> Result<(), String> {
    let build = move |_: &_, _| -> Box<dyn OwnLaw> { Box::new(WithThePedal { mended }) };
    let page = couplet_controller::RawPage::default();
    let property = named("opens-on-order").ok_or("no such property")?;
    let promise = |mut scenario: couplet_sim::scenario::Scenario| {
        scenario.numbers.assist.order_open = 1.0;
        let rule = Rule::own(&page, Build(&build));
        let seen = see(&scenario, &Vehicle::default(), rule);
        let measure = (property.measure)(&seen, None);
        prop_assert!(measure.is_none_or(|measure| measure >= 0.0), "{measure:?}");
        Ok(())
    };
    let tried = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        strategies::check(8, strategies::drive(), promise);
    }));
    tried.map_err(|_| "a drive in which an order is ignored was found and shrunk".to_owned())
}

fn main() {
    println!("as written: {:?}, {:?}", bounded(false), obeys(false));
    println!("mended:     {:?}, {:?}", bounded(true), obeys(true));
}
