//! Heat in the whole controller: more slip is never cooler, too hot opens, rest brings the clutch back.
//!
//! A law of the test asks for the same torque whatever happens, so that two runs differ in slip alone. Temperatures in
//! degC, estimated by the controller's own network; the plant's truth is judged elsewhere.

mod controller_kit;

use controller_kit::{straight, with_wheels};
use couplet_controller::signal::Limit;
use couplet_controller::stage::arbiter::{Allocate, Question};
use couplet_controller::{Controller, Inputs, PerSide, PerWheel, Period, RawPage};

/// The same torque whatever is asked, Nm.
#[derive(Debug, Clone, Copy)]
struct Steady(PerSide<f32>);

impl Allocate<f32> for Steady {
    fn allocate(&self, _question: &Question<f32>) -> PerSide<f32> {
        self.0
    }
}

fn steady(page: &RawPage, left_nm: f32, right_nm: f32) -> Controller<f32, Steady> {
    let law = Steady(PerSide {
        left: left_nm,
        right: right_nm,
    });
    Controller::with_law(page, Period::default(), law).expect("an acceptable page")
}

/// Straight on at 6 m/s under power, the fronts faster than the car so that every rear wheel slips by about `slip`.
fn slipping(slip_rad_s: f32) -> Inputs {
    let rolling = 6.0 / 0.32;
    let front = (rolling + slip_rad_s) / 1.02;
    let wheels = PerWheel {
        front_left: front,
        front_right: front,
        rear_left: rolling,
        rear_right: rolling,
    };
    with_wheels(straight(6.0, 900.0), wheels)
}

/// Surface temperature and capacity commanded, step by step for 8 s, at one slip.
fn heated(slip_rad_s: f32, torque_nm: f32) -> (Vec<f32>, Vec<f32>) {
    let mut one = steady(&RawPage::default(), torque_nm, torque_nm);
    (0..1_600)
        .map(|_| {
            let out = one.step(&slipping(slip_rad_s));
            (out.surface_degc.left, out.capacity_nm.left)
        })
        .unzip()
}

#[test]
fn more_slip_at_the_same_command_is_never_cooler() {
    for torque in [60.0, 200.0, 450.0] {
        let mut cooler: Option<(f32, Vec<f32>, Vec<f32>)> = None;
        for slip in [0.6, 0.9, 1.5, 2.5, 4.0, 6.0, 9.0] {
            let (surface, capacity) = heated(slip, torque);
            if let Some((less, before, same)) = &cooler {
                // Heat that takes capacity away ends the comparison: from there the command is another one.
                let alike = capacity
                    .iter()
                    .zip(same)
                    .take_while(|(one, other)| one == other)
                    .count();
                assert!(
                    alike > 300,
                    "{torque} Nm, slip {less} and {slip}: unlike after {alike} steps"
                );
                for step in 0..alike {
                    let (hot, cool) = (surface[step], before[step]);
                    assert!(
                        hot >= cool,
                        "{torque} Nm, step {step}: {hot} at {slip}, {cool} at {less}"
                    );
                }
                assert!(
                    surface[alike - 1] > before[alike - 1] + 0.05,
                    "{torque} Nm, slip {slip}"
                );
            }
            cooler = Some((slip, surface, capacity));
        }
    }
}

#[test]
fn a_lost_slip_counts_hot() {
    let run = |lost: bool| {
        let mut one = steady(&RawPage::default(), 150.0, 150.0);
        let mut hottest = 0.0;
        for step in 0..800 {
            let mut inputs = slipping(3.0);
            if lost && step >= 400 {
                inputs.wheel_speed_rear_left = couplet_controller::Reading::missing();
            }
            hottest = one.step(&inputs).surface_degc.left;
        }
        hottest
    };
    let (known, lost) = (run(false), run(true));
    assert!(
        lost > known + 1.0,
        "{lost} with the slip lost, {known} with it known"
    );
}

#[test]
fn absolute_heat_opens_in_the_next_step_and_rest_brings_the_clutch_back() {
    let page = RawPage::default();
    let heat = page.tunables.derating;
    for start_degc in [
        heat.oil_absolute_degc + 1.0,
        200.0,
        heat.surface_absolute_degc + 5.0,
        400.0,
    ] {
        let mut one = steady(&page, 300.0, 300.0);
        one.set_temperature(start_degc);
        let inputs = slipping(3.0);
        one.step(&inputs);
        let mut open_steps = 0_u32;
        let mut before = None;
        let closed_at_degc = loop {
            let out = one.step(&inputs);
            if out.capacity_nm.left > 0.0 {
                let (oil, surface) =
                    before.expect("closed in the first step after the heat was known");
                break (oil, surface);
            }
            assert_eq!(out.capacity_nm.right, 0.0);
            before = Some((out.oil_degc, out.surface_degc.left));
            open_steps += 1;
            // Rest is certain to end: at standstill's cooling (about 850 s of time constant) from 400 degC to 125.
            assert!(
                open_steps < 500_000,
                "from {start_degc}: still open after 2,500 s at {}",
                out.oil_degc
            );
        };
        let (oil, surface) = closed_at_degc;
        assert!(
            oil < heat.oil_reentry_degc && surface < heat.surface_reentry_degc,
            "{closed_at_degc:?}"
        );
        assert!(
            f64::from(open_steps) * 0.005 >= f64::from(heat.dwell_s),
            "open {open_steps} steps"
        );
    }
}

#[test]
fn hard_slipping_ends_open_or_reduced_before_the_absolute_limits_and_full_function_returns() {
    let page = RawPage::default();
    let heat = page.tunables.derating;
    let mut one = steady(&page, 500.0, 500.0);
    let mut hottest = 0.0_f32;
    let mut least = f32::MAX;
    for step in 0..60_000 {
        let out = one.step(&slipping(9.0));
        hottest = hottest.max(out.surface_degc.left);
        if step > 2_000 {
            least = least.min(out.capacity_nm.left);
        }
    }
    assert!(least < 200.0, "five minutes of 4.5 kW left {least} Nm");
    // The slope may be passed by what is on its way to the clutch, not the limit that orders it open by much.
    assert!(hottest < heat.surface_absolute_degc + 15.0, "{hottest}");
    // Rest: rolling freely at the same speed for an hour.
    let rest = straight(6.0, 0.0);
    let mut resting = steady(&page, 0.0, 0.0);
    resting.restore(*one.state());
    for _ in 0..720_000 {
        resting.step(&rest);
    }
    one.restore(*resting.state());
    let mut last = None;
    for _ in 0..100 {
        last = Some(one.step(&slipping(0.9)));
    }
    let last = last.expect("a hundred steps");
    assert_eq!(last.heat_ceiling.left, 1.0);
    assert_eq!(last.heat_limit.left, Limit::Nothing);
    assert!(last.capacity_nm.left > 499.0, "{:?}", last.capacity_nm);
}

#[test]
fn one_hot_side_does_not_open_the_other() {
    // Left slips hard, right hardly: the left side's own surface opens it long before the oil does.
    let page = {
        let mut page = RawPage::default();
        // A slope too slow to help, so that the absolute limit has to.
        let heat = &mut page.tunables.derating;
        heat.withdrawal_per_s = 0.01;
        (heat.surface_start_degc, heat.surface_limit_degc) = (146.0, 148.0);
        (heat.surface_absolute_degc, heat.surface_reentry_degc) = (150.0, 90.0);
        page
    };
    let mut one = steady(&page, 700.0, 700.0);
    let mut seen = false;
    for _ in 0..40_000 {
        let rolling = 6.0 / 0.32;
        let wheels = PerWheel {
            front_left: rolling + 6.0,
            front_right: rolling + 6.0,
            rear_left: rolling - 1.0,
            rear_right: rolling + 5.0,
        };
        let out = one.step(&with_wheels(straight(6.0, 1_500.0), wheels));
        if out.heat_limit.left == Limit::AbsoluteHeat {
            let after = one.step(&with_wheels(straight(6.0, 1_500.0), wheels));
            assert_eq!(after.capacity_nm.left, 0.0);
            assert!(after.capacity_nm.right > 0.0 && after.heat_limit.right != Limit::AbsoluteHeat);
            seen = true;
            break;
        }
    }
    assert!(seen, "the left side never reached the absolute limit");
}
