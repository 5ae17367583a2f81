//! A user's own laws in under 60 lines: who shares torque, who sets the reference, who reads the driver.

use couplet_controller::controller::laws::{Interpret, Refer};
use couplet_controller::stage::Stage;
use couplet_controller::stage::arbiter::{Allocate, Question};
use couplet_controller::stage::driver_intent as driver;
use couplet_controller::stage::yaw_reference as yaw;
use couplet_controller::{Controller, Inputs, PerSide, Period, RawPage};

/// One value that stands in all three places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mine;

/// Half of the wanted torque on each side, whatever yaw moment is wanted.
impl Allocate<f32> for Mine {
    fn allocate(&self, question: &Question<f32>) -> PerSide<f32> {
        PerSide::both(0.5 * question.demand.rear_torque_nm)
    }
}

/// The shipped reference, a tenth calmer.
impl Refer<f32> for Mine {
    type State = yaw::YawReferenceState<f32>;
    fn refer(
        &self,
        own: &yaw::YawReference<f32>,
        state: &mut Self::State,
        input: &yaw::YawReferenceIn<f32>,
        period_s: f32,
    ) -> yaw::Reference<f32> {
        let mut wanted = own.step(state, input, period_s);
        wanted.yaw_rate_rad_s *= 0.9;
        wanted
    }
}

/// The shipped intent that calls no steering urgent.
impl Interpret<f32> for Mine {
    type State = driver::DriverIntentState<f32>;
    fn interpret(
        &self,
        own: &driver::DriverIntent<f32>,
        state: &mut Self::State,
        input: &driver::DriverIntentIn<f32>,
        period_s: f32,
    ) -> driver::Intent<f32> {
        let mut wanted = own.step(state, input, period_s);
        wanted.urgency = 0.0;
        wanted
    }
}

fn main() {
    let mut mine = Controller::with_laws(&RawPage::default(), Period::default(), Mine, Mine, Mine)
        .expect("the default page");
    println!("{:?}", mine.step(&Inputs::default()).capacity_nm);
}
