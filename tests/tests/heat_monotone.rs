//! Heating one clutch never raises that clutch's grant, all else equal.
//!
//! A controller is driven with wild inputs on acceptable pages; at some step its state is copied and one clutch of the copy
//! made hotter in the thermal model. Both do the step that brings the heat to the ceilings; then only the ceilings and
//! orders of the hot copy are put into the cool one's state, and both get the same input: whatever else the heat did in
//! that step (another clutch released, another integral) is the same for both. Torques in Nm at the wheel.

mod controller_kit;

use controller_kit::{Dice, Wild, page_of};
use couplet_controller::stage::thermal::ledger::Ledger;
use couplet_controller::{Controller, PerSide, Period};

/// Capacities near 2,000 Nm differ by 1.2e-4 Nm in single precision, and the second channel forgives 64 / 65536 Nm.
const ROUNDING_NM: f32 = 1.5e-3;

#[test]
fn heating_one_clutch_never_raises_its_grant() {
    let (mut lowered, mut compared) = (0_u32, 0_u32);
    for seed in 0..400_u64 {
        let mut dice = Dice(seed ^ 0x4ea7);
        let page = page_of(seed % 110);
        let mut cool: Controller<f32> =
            Controller::new(&page, Period::default()).expect("an acceptable page");
        cool.set_temperature(dice.between(-20.0, 230.0) as f32);
        let mut wild = Wild::new(seed, [5, 20, 80, 400][seed as usize % 4], seed % 2 == 0);
        for _ in 0..300 {
            let inputs = wild.next();
            if !dice.once_in(4) {
                cool.step(&inputs);
                continue;
            }
            let left = dice.once_in(2);
            let more_uj = (10f64.powf(dice.between(1.0, 5.0)) * 1e6) as i64;
            let mut hot = cool;
            let mut state = *hot.state();
            // Surface and core of one side hotter, and the opening with them: what was taken in stays, the bound counts from it.
            let mut words = state.thermal.estimate.to_words();
            let side = usize::from(!left);
            words[side] += more_uj;
            words[2 + side] += more_uj;
            words[6] += 2 * more_uj;
            state.thermal.estimate = Ledger::from_words(&words).expect("it balances");
            // Both look at their temperatures in this very step; where only one did, the other would still go by older ones.
            state.thermal.at = None;
            hot.restore(state);
            let mut looking = *cool.state();
            looking.thermal.at = None;
            cool.restore(looking);
            cool.step(&inputs);
            hot.step(&inputs);
            let mut mixed = *cool.state();
            let heated = hot.state().delayed;
            let pick = |cool: PerSide<f32>, hot: PerSide<f32>| {
                if left {
                    (hot.left, cool.left)
                } else {
                    (hot.right, cool.right)
                }
            };
            let (hot_share, cool_share) = pick(mixed.delayed.heat_ceiling, heated.heat_ceiling);
            assert!(
                hot_share <= cool_share,
                "seed {seed}: hotter by {more_uj} uJ, the ceiling rose from {cool_share} to {hot_share}"
            );
            if left {
                mixed.delayed.heat_ceiling.left = hot_share;
                mixed.delayed.heat_by.left = heated.heat_by.left;
            } else {
                mixed.delayed.heat_ceiling.right = hot_share;
                mixed.delayed.heat_by.right = heated.heat_by.right;
            }
            hot.restore(mixed);
            let next = wild.next();
            let (with, without) = (hot.step(&next).capacity_nm, cool.step(&next).capacity_nm);
            let (with, without) = if left {
                (with.left, without.left)
            } else {
                (with.right, without.right)
            };
            assert!(
                with <= without + ROUNDING_NM,
                "seed {seed}: hotter by {more_uj} uJ, granted {with} instead of {without} Nm"
            );
            compared += 1;
            lowered += u32::from(with < without - 1.0);
        }
    }
    // The promise would be empty if heat never mattered.
    assert!(
        compared > 20_000 && lowered > 500,
        "{compared} compared, {lowered} lowered"
    );
}
