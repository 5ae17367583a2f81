//! Places where a user's own law goes: driver intent, yaw reference, and what all three may say.
//!
//! Allocation has [`Allocate`], the yaw reference [`Refer`], the driver's intent
//! [`Interpret`]. A law is a value without memory; what it remembers is its `State`, kept in [`super::ControllerState`]. It
//! is given the shipped stage with the calibration in force, to ask, to wrap or to ignore. What a law says is not trusted:
//! every number is made finite and brought into the range of its meaning here, torque into what powertrain and driver bear
//! out, allocation into the octagon by [`crate::stage::arbiter::project`]. Limits: a value inside its range may still be
//! wrong; authority, rate bounds and the second channel hold whatever is asked.
//!
//! ```
//! use couplet_controller::controller::laws::{OwnIntent, Refer};
//! use couplet_controller::stage::Stage;
//! use couplet_controller::stage::arbiter::Exact;
//! use couplet_controller::stage::yaw_reference::{Reference, YawReference, YawReferenceIn, YawReferenceState};
//! use couplet_controller::{Controller, Inputs, Period, RawPage};
//!
//! /// The shipped reference with a tenth less yaw rate asked for.
//! #[derive(Debug, Clone, Copy, PartialEq)]
//! struct Calmer;
//!
//! impl Refer<f32> for Calmer {
//!     type State = YawReferenceState<f32>;
//!     fn refer(
//!         &self,
//!         own: &YawReference<f32>,
//!         state: &mut Self::State,
//!         input: &YawReferenceIn<f32>,
//!         period_s: f32,
//!     ) -> Reference<f32> {
//!         let own = own.step(state, input, period_s);
//!         Reference { yaw_rate_rad_s: 0.9 * own.yaw_rate_rad_s, ..own }
//!     }
//! }
//!
//! let page = RawPage::default();
//! let mut controller = Controller::<f32, _, _, _>::with_laws(&page, Period::default(), Exact, Calmer, OwnIntent).unwrap();
//! controller.step(&Inputs::default());
//! ```

use super::stages::Stages;
use super::{Controller, ControllerState};
use crate::calibration::{PageRefusal, RawPage};
use crate::numerics::{Real, Scalar};
use crate::quantity::{PerSide, Period};
use crate::signal::inputs::range;
use crate::stage::Stage;
use crate::stage::arbiter::{Allocate, Answer, Binding, LARGEST};
use crate::stage::driver_intent::{DriverIntent, DriverIntentIn, DriverIntentState, Intent};
use crate::stage::yaw_reference::{Reference, YawReference, YawReferenceIn, YawReferenceState};
use crate::trace::Trace;
use core::fmt::Debug;
use core::mem::MaybeUninit;

/// A law of the yaw reference: the yaw rate the driver should get.
pub trait Refer<S: Real>: Copy {
    /// What it remembers from step to step.
    type State: Copy + Debug + Default + PartialEq;

    /// The reference of one step of `period_s`; `own` is the shipped stage with the calibration in force.
    fn refer(
        &self,
        own: &YawReference<S>,
        state: &mut Self::State,
        input: &YawReferenceIn<S>,
        period_s: S,
    ) -> Reference<S>;
}

/// A law of the driver's intent: what the driver wants.
pub trait Interpret<S: Real>: Copy {
    /// What it remembers from step to step.
    type State: Copy + Debug + Default + PartialEq;

    /// The intent in one step of `period_s`; `own` is the shipped stage with the calibration in force.
    fn interpret(
        &self,
        own: &DriverIntent<S>,
        state: &mut Self::State,
        input: &DriverIntentIn<S>,
        period_s: S,
    ) -> Intent<S>;
}

/// The shipped yaw reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OwnReference;

impl<S: Real> Refer<S> for OwnReference {
    type State = YawReferenceState<S>;

    #[inline(always)]
    fn refer(
        &self,
        own: &YawReference<S>,
        state: &mut Self::State,
        input: &YawReferenceIn<S>,
        period_s: S,
    ) -> Reference<S> {
        own.step(state, input, period_s)
    }
}

/// The shipped driver intent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OwnIntent;

impl<S: Real> Interpret<S> for OwnIntent {
    type State = DriverIntentState<S>;

    #[inline(always)]
    fn interpret(
        &self,
        own: &DriverIntent<S>,
        state: &mut Self::State,
        input: &DriverIntentIn<S>,
        period_s: S,
    ) -> Intent<S> {
        own.step(state, input, period_s)
    }
}

impl<S: Real, A: Allocate<S>> Controller<S, A> {
    /// A controller with another allocation law in place of the exact one.
    ///
    /// # Errors
    /// The page's refusal, if it is not acceptable.
    pub fn with_law(page: &RawPage, period: Period, allocate: A) -> Result<Self, PageRefusal> {
        Self::with_laws(page, period, allocate, OwnReference, OwnIntent)
    }
}

impl<S: Real, A: Allocate<S>, R: Refer<S>, I: Interpret<S>> Controller<S, A, R, I> {
    /// A controller with laws of allocation, yaw reference and driver intent of the user's own: see this page.
    ///
    /// # Errors
    /// The page's refusal, if it is not acceptable.
    pub fn with_laws(
        page: &RawPage,
        period: Period,
        allocate: A,
        refer: R,
        interpret: I,
    ) -> Result<Self, PageRefusal> {
        page.check()?;
        let mut controller = Self::before_its_page(period, allocate, refer, interpret);
        controller.begin(page);
        Ok(controller)
    }

    /// The same controller built where it shall live, stage by stage. Limits: a compiler that does not write the empty controller
    /// straight to its place takes the controller's size of stack once; the page and the stages take none.
    ///
    /// # Errors
    /// The page's refusal, if it is not acceptable; then the place holds what it held.
    pub fn place_with_laws<'a>(
        place: &'a mut MaybeUninit<Self>,
        page: &RawPage,
        period: Period,
        allocate: A,
        refer: R,
        interpret: I,
    ) -> Result<&'a mut Self, PageRefusal> {
        page.check()?;
        let controller = place.write(Self::before_its_page(period, allocate, refer, interpret));
        controller.begin(page);
        Ok(controller)
    }

    /// All numbers zero: nothing may be closed.
    #[inline(always)]
    fn before_its_page(period: Period, allocate: A, refer: R, interpret: I) -> Self {
        Self {
            period,
            allocate,
            refer,
            interpret,
            stages: Stages::before_their_page(),
            state: ControllerState::at_rest(),
            trace: Trace::default(),
        }
    }

    /// Takes the first page, which was checked.
    #[inline(never)]
    fn begin(&mut self, page: &RawPage) {
        self.stages.take(&page.tunables, self.period);
        self.set_temperature(S::of(25.0));
    }
}

/// Torque that rounding may put beyond what the powertrain says, Nm.
const ROUNDING_NM: f32 = 1.0;

/// Largest curvature a law may name, 1/m. Chosen: no car turns on a circle of 0.1 m.
const MOST_CURVATURE_1_M: f32 = 10.0;

/// Largest yaw rate of friction, rad/s: what the shipped law says at standstill.
const MOST_CAP_RAD_S: f32 = 1.0e6;

/// Brings numbers into their range, remembering whether any had to be moved.
struct Mender<S> {
    moved: bool,
    zero: S,
}

impl<S: Scalar> Mender<S> {
    fn new() -> Self {
        Self {
            moved: false,
            zero: S::ZERO,
        }
    }

    /// The value within the range; what is no number becomes `if_none`.
    fn within(&mut self, value: S, low: S, high: S, if_none: S) -> S {
        let kept = if value.is_finite() {
            value.within(low, high)
        } else {
            if_none
        };
        self.moved |= kept != value;
        kept
    }

    fn share(&mut self, value: S) -> S {
        self.within(value, S::ZERO, S::ONE, self.zero)
    }

    fn around_zero(&mut self, value: S, size: S) -> S {
        self.within(value, -size, size, self.zero)
    }
}

/// Whether a value lies in a range; what is no number does not.
fn inside<S: Scalar>(value: S, low: S, high: S) -> bool {
    low <= value && value <= high
}

/// Whether four numbers lie between zero and one; what is no number fails by the upper end.
fn are_shares<S: Scalar>([one, two, three, four]: [S; 4]) -> bool {
    let lowest = one.at_most(two).at_most(three).at_most(four);
    one <= S::ONE && two <= S::ONE && three <= S::ONE && four <= S::ONE && lowest >= S::ZERO
}

/// The intent as far as it can be believed, and whether anything had to be moved. Drive torque lies between zero, what the
/// powertrain delivers and what the driver asks of it; what is no number asks for nothing.
pub(super) fn admitted_intent<S: Real>(
    said: Intent<S>,
    input: &DriverIntentIn<S>,
) -> (Intent<S>, bool) {
    let delivered = input.carrier_torque_nm.or(S::ZERO);
    let asked = input.carrier_torque_wanted_nm.or(delivered) * input.direction;
    let delivered = delivered * input.direction;
    let slack = S::of(ROUNDING_NM);
    let low = delivered.at_most(S::ZERO).at_most(asked) - slack;
    let high = delivered.at_least(S::ZERO).at_least(asked) + slack;
    let curvature = S::of(MOST_CURVATURE_1_M);
    let believable = inside(said.torque_nm, low, high)
        && said.curvature_1_m.magnitude() <= curvature
        && are_shares([said.urgency, said.launch, said.lift_off, said.counter_steer]);
    if believable {
        (said, false)
    } else {
        mended_intent(said, low, high)
    }
}

/// Apart, so that a law in its range does not carry the cost.
#[cold]
#[inline(never)]
fn mended_intent<S: Real>(said: Intent<S>, low: S, high: S) -> (Intent<S>, bool) {
    let mut mended = Mender::new();
    // Named one by one: a new field that nobody admits does not compile.
    let Intent {
        torque_nm,
        curvature_1_m,
        urgency,
        launch,
        lift_off,
        counter_steer,
        phase,
    } = said;
    let admitted = Intent {
        torque_nm: mended.within(torque_nm, low, high, S::ZERO),
        curvature_1_m: mended.around_zero(curvature_1_m, S::of(MOST_CURVATURE_1_M)),
        urgency: mended.share(urgency),
        launch: mended.share(launch),
        lift_off: mended.share(lift_off),
        counter_steer: mended.share(counter_steer),
        phase,
    };
    (admitted, mended.moved)
}

/// The reference as far as it can be believed, and whether anything had to be moved. No yaw rate beyond the sensor's range;
/// what is no number asks for what the car does, or for nothing.
pub(super) fn admitted_reference<S: Real>(
    said: Reference<S>,
    measured_rad_s: S,
    period_s: S,
) -> (Reference<S>, bool) {
    let most = S::of(range::yaw_rate.1);
    // Two yaw rates in range cannot be farther apart within a step.
    let fastest = (most + most).per(period_s);
    let lowest = said
        .cap_rad_s
        .at_most(said.sideslip_limit_rad)
        .at_most(said.presence);
    let believable = said.yaw_rate_rad_s.magnitude() <= most
        && said.yaw_acceleration_rad_s2.magnitude() <= fastest
        && said.steady_rad_s.magnitude() <= most
        && said.natural_rad_s.magnitude() <= most
        && said.cap_rad_s <= S::of(MOST_CAP_RAD_S)
        && said.sideslip_limit_rad <= S::of(core::f32::consts::FRAC_PI_2)
        && said.presence <= S::ONE
        && lowest >= S::ZERO;
    if believable {
        (said, false)
    } else {
        mended_reference(said, measured_rad_s, fastest)
    }
}

/// Apart, so that a law in its range does not carry the cost.
#[cold]
#[inline(never)]
fn mended_reference<S: Real>(
    said: Reference<S>,
    measured_rad_s: S,
    fastest: S,
) -> (Reference<S>, bool) {
    let mut mended = Mender::new();
    let most = S::of(range::yaw_rate.1);
    let measured = measured_rad_s.within(-most, most);
    let Reference {
        yaw_rate_rad_s,
        yaw_acceleration_rad_s2,
        steady_rad_s,
        natural_rad_s,
        cap_rad_s,
        sideslip_limit_rad,
        presence,
    } = said;
    let admitted = Reference {
        yaw_rate_rad_s: mended.within(yaw_rate_rad_s, -most, most, measured),
        yaw_acceleration_rad_s2: mended.around_zero(yaw_acceleration_rad_s2, fastest),
        steady_rad_s: mended.around_zero(steady_rad_s, most),
        natural_rad_s: mended.around_zero(natural_rad_s, most),
        cap_rad_s: mended.within(cap_rad_s, S::ZERO, S::of(MOST_CAP_RAD_S), S::ZERO),
        sideslip_limit_rad: mended.within(
            sideslip_limit_rad,
            S::ZERO,
            S::of(core::f32::consts::FRAC_PI_2),
            S::ZERO,
        ),
        presence: mended.share(presence),
    };
    (admitted, mended.moved)
}

/// What an allocation says about its answer, as far as it can be believed; its torque `inside_nm` is in the octagon already.
/// The shortfall goes to the integrator and the multipliers to the trace: none may be other than a plausible number.
pub(super) fn admitted_answer<S: Real>(said: Answer<S>, inside_nm: PerSide<S>) -> Answer<S> {
    let largest = S::of(LARGEST);
    // One comparison for six numbers: what is none, or too large alone, makes the sum so.
    let size = (said.unconstrained_nm.left.magnitude() + said.unconstrained_nm.right.magnitude())
        + (said.shortfall_nm.left.magnitude() + said.shortfall_nm.right.magnitude());
    let [one, other] = said.binding;
    let believable = size + (one.marginal.magnitude() + other.marginal.magnitude()) <= largest;
    if believable {
        Answer {
            torque_nm: inside_nm,
            ..said
        }
    } else {
        mended_answer(said, inside_nm)
    }
}

/// Apart, so that a law in its range does not carry the cost.
#[cold]
#[inline(never)]
fn mended_answer<S: Real>(said: Answer<S>, inside_nm: PerSide<S>) -> Answer<S> {
    let largest = S::of(LARGEST);
    let sound = |pair: PerSide<S>| pair.left.is_finite() && pair.right.is_finite();
    let plausible = |pair: PerSide<S>| pair.map(|side| side.within(-largest, largest));
    let marginal = |binding: Binding<S>| Binding {
        marginal: if binding.marginal.is_finite() {
            binding.marginal
        } else {
            S::ZERO
        },
        ..binding
    };
    Answer {
        torque_nm: inside_nm,
        unconstrained_nm: if sound(said.unconstrained_nm) {
            plausible(said.unconstrained_nm)
        } else {
            inside_nm
        },
        shortfall_nm: if sound(said.shortfall_nm) {
            plausible(said.shortfall_nm)
        } else {
            PerSide::both(S::ZERO)
        },
        binding: said.binding.map(marginal),
        conflict: said.conflict,
    }
}
