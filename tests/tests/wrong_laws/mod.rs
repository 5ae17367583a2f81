//! Ten wrong laws: the shipped controller with one mistake each, as a reviewer might overlook it.

use couplet_controller::{Controller, Inputs, Outputs, PerSide, Period, RawPage, Reading, Trace};
use couplet_sim::run::law::OwnLaw;

/// The mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// The sign of a torque is that of the slip just measured: no memory, no dead band.
    SignForgotten,
    /// Both clutches open while the car turns more than wanted.
    OpensInOversteer,
    /// Both clutches are kept closed at walking pace with the wheels steered.
    WindsUp,
    /// The ceiling of heat comes one step late.
    CeilingLate,
    /// What helps to turn in is kept while the car oversteers.
    FeedForwardKept,
    /// What is asked for is given at once.
    RateIgnored,
    /// Left and right exchanged on the way out.
    Mirrored,
    /// The master's cap does not reach the right side.
    CapIgnoredOnTheRight,
    /// Orders are those of 60 ms ago.
    StaleOrders,
    /// An integrator of its own that nothing unwinds.
    NeverUnwinds,
}

/// A controller with a mistake, or with none.
#[derive(Debug)]
pub struct WrongLaw {
    how: Option<How>,
    inner: Controller<f32>,
    /// Is not told of the master's cap.
    uncapped: Controller<f32>,
    trace: Trace<f32>,
    before: Outputs,
    orders: Vec<Reading>,
    integral_rad: f32,
}

impl WrongLaw {
    /// Every mistake with the property that it breaks.
    pub const ALL: [(How, &'static str); 10] = [
        (How::RateIgnored, "rise-bounded"),
        (How::SignForgotten, "sign-remembered"),
        (How::OpensInOversteer, "kept-in-oversteer"),
        (How::WindsUp, "no-wind-up"),
        (How::CeilingLate, "ceiling-kept"),
        (How::FeedForwardKept, "moment-helps"),
        (How::Mirrored, "moment-helps"),
        (How::CapIgnoredOnTheRight, "sum-cap-kept"),
        (How::StaleOrders, "opens-on-order"),
        (How::NeverUnwinds, "nothing-left-over"),
    ];

    /// The shipped controller with a mistake.
    ///
    /// # Panics
    /// If the page is not acceptable.
    pub fn new(how: Option<How>, page: &RawPage, period: Period) -> Self {
        let controller = || Controller::new(page, period).expect("an acceptable page");
        Self {
            how,
            inner: controller(),
            uncapped: controller(),
            trace: Trace::default(),
            before: Outputs::default(),
            orders: Vec::new(),
            integral_rad: 0.0,
        }
    }

    /// Capacities with the mistake.
    fn spoiled(&mut self, how: How, inputs: &Inputs, given: &Outputs) -> PerSide<f32> {
        let trace = *self.inner.trace();
        let honest = given.capacity_nm;
        let yaw = inputs.yaw_rate.value;
        let wanted = trace.reference.yaw_rate_rad_s;
        let oversteers = yaw.abs() > wanted.abs() + 0.05;
        let calibration = self.inner.calibration();
        let tunables = calibration.tunables();
        let whole = tunables.authority.capacity_nm;
        match how {
            How::SignForgotten | How::Mirrored | How::StaleOrders => honest,
            How::OpensInOversteer if oversteers => PerSide::both(0.0),
            How::WindsUp
                if trace.motion.speed_m_s < 4.0 && trace.motion.road_wheel_rad.abs() > 0.2 =>
            {
                honest.map(|side| side.max(500.0))
            }
            How::CeilingLate => {
                let late = |now: f32, ceiling: f32, before: f32, before_ceiling: f32| {
                    let at_the_ceiling = now >= 0.98 * ceiling * whole;
                    if at_the_ceiling && ceiling < before_ceiling {
                        before.max(now)
                    } else {
                        now
                    }
                };
                let (ceiling, before) = (given.heat_ceiling, self.before.heat_ceiling);
                PerSide {
                    left: late(
                        honest.left,
                        ceiling.left,
                        self.before.capacity_nm.left,
                        before.left,
                    ),
                    right: late(
                        honest.right,
                        ceiling.right,
                        self.before.capacity_nm.right,
                        before.right,
                    ),
                }
            }
            How::FeedForwardKept if oversteers && yaw.abs() > 0.1 => {
                let mut kept = honest;
                let (outer, inner) = if yaw > 0.0 {
                    (&mut kept.right, &mut kept.left)
                } else {
                    (&mut kept.left, &mut kept.right)
                };
                (*outer, *inner) = (whole, 0.0);
                kept
            }
            How::RateIgnored => trace
                .answer
                .unconstrained_nm
                .map(|side| side.abs().min(whole))
                .zip(honest, f32::max),
            How::CapIgnoredOnTheRight => {
                let mut deaf = *inputs;
                deaf.rear_torque_cap = Reading::fresh(20_000.0);
                let right = self.uncapped.step(&deaf).capacity_nm.right;
                PerSide {
                    left: honest.left,
                    right,
                }
            }
            How::NeverUnwinds => {
                if inputs.yaw_rate.value.is_finite() && trace.motion.speed_m_s > 8.0 {
                    self.integral_rad += 0.005 * (wanted - yaw);
                }
                let difference = 20_000.0 * self.integral_rad;
                PerSide {
                    left: (honest.left - difference.min(0.0)).min(whole),
                    right: (honest.right + difference.max(0.0)).min(whole),
                }
            }
            _ => honest,
        }
    }
}

/// Current for a capacity, A: the demo clutch's disc formula and valve line, warm.
fn current_a(capacity_nm: f32) -> f32 {
    if capacity_nm < 1.0 {
        return 0.08;
    }
    let per_bar_nm = 10.0 * 0.118 * 0.065 * 0.005 * 1.0e5;
    (0.152 + (0.8 + capacity_nm / per_bar_nm) / 34.2).min(1.4)
}

impl OwnLaw for WrongLaw {
    fn step(&mut self, inputs: &Inputs) -> Outputs {
        let Some(how) = self.how else {
            let given = self.inner.step(inputs);
            self.trace = *self.inner.trace();
            return given;
        };
        let mut told = *inputs;
        if how == How::StaleOrders {
            self.orders.push(inputs.open_now);
            told.open_now = self.orders[self.orders.len().saturating_sub(13)];
        }
        let given = self.inner.step(&told);
        let mut wrong = given;
        wrong.capacity_nm = self.spoiled(how, inputs, &given);
        // Only where the mistake changes a capacity does it change a current: the rest is the shipped law's.
        let differs = wrong
            .capacity_nm
            .zip(given.capacity_nm, |wrong, honest| (wrong, honest));
        let current = |(wrong, honest): (f32, f32), shipped: f32| {
            if wrong == honest {
                shipped
            } else {
                current_a(wrong)
            }
        };
        wrong.current_a = PerSide {
            left: current(differs.left, given.current_a.left),
            right: current(differs.right, given.current_a.right),
        };
        match how {
            How::Mirrored => {
                let swapped = |pair: PerSide<f32>| PerSide {
                    left: pair.right,
                    right: pair.left,
                };
                wrong.capacity_nm = swapped(given.capacity_nm);
                wrong.current_a = swapped(given.current_a);
                wrong.torque_nm = swapped(given.torque_nm);
            }
            How::SignForgotten => {
                let front = 0.5
                    * (inputs.wheel_speed_front_left.value + inputs.wheel_speed_front_right.value);
                let shaft = 1.02 * front;
                wrong.torque_nm = PerSide {
                    left: given
                        .capacity_nm
                        .left
                        .copysign(shaft - inputs.wheel_speed_rear_left.value),
                    right: given
                        .capacity_nm
                        .right
                        .copysign(shaft - inputs.wheel_speed_rear_right.value),
                };
            }
            _ => {}
        }
        self.trace = *self.inner.trace();
        self.trace.capacity_nm = wrong.capacity_nm;
        self.before = given;
        wrong
    }

    fn set_temperature(&mut self, degc: f32) {
        self.inner.set_temperature(degc);
        self.uncapped.set_temperature(degc);
    }

    fn trace(&self) -> Option<&Trace<f32>> {
        Some(&self.trace)
    }
}
