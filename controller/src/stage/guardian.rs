//! Second channel in fixed point: lowers a grant that is too high, or opens.
//!
//! Inputs: what the first channel wants to grant and the raw facts behind it, all `f32`. Outputs: the capacity each
//! clutch may have, whether the channels disagreed, whether the guardian has opened. It can only lower or open.
//!
//! Equation, per side: `limit = least(capacity, ceiling * capacity, previous + rise, share of the master's cap)`, zero
//! when an open command stands; while anti-lock or stability control is at work `previous - fall` in place of
//! `previous + rise`. A request within the limit passes with its bits; one above it becomes the limit.
//! Orders and requests of the brake controls it reads by itself from the messages, by their bits: an error of admission in
//! the first channel does not reach it. What was last known of a brake control stays in force when its message is lost.
//! Number format: 16 whole and 16 fractional bits, in Nm, saturating; it shares no arithmetic with the first channel, so
//! an error of floating point, of a compiler's optimisation or of a limit's code shows as a disagreement.
//!
//! Limits: it does not know slip, friction or what the driver wants; it checks magnitude, not purpose. Left and right
//! are computed by the same expressions on numbers that are never negative, so truncation is the same on both sides.
//! Common practice for a monitored torque path, no source.

use fixed::types::{I2F30, I16F16};

use crate::quantity::PerSide;
use crate::signal::{Reading, Status};

/// Difference of the two number formats that is not a disagreement: 64 units of 1/65536 Nm, about 0.001 Nm. Single
/// precision resolves 0.00012 Nm at 2,000 Nm. Chosen.
const FORMAT_SLACK: I16F16 = I16F16::from_bits(64);

/// Limits of the second channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Guardian {
    /// Largest capacity of a clutch, Nm.
    pub capacity_max_nm: I16F16,
    /// Largest rise of a capacity in one step, Nm.
    pub rise_per_step_nm: I16F16,
    /// Fall of a capacity in one step while a brake control is at work, Nm.
    pub fall_per_step_nm: I16F16,
    /// A request this far above its limit is a disagreement, Nm.
    pub disagreement_nm: I16F16,
    /// Disagreements of one side in a row after which the guardian opens; zero counts as one.
    pub patience_steps: u32,
    /// A message older than this says nothing, ms.
    pub longest_age_ms: u16,
}

/// What the guardian remembers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct State {
    /// Capacity granted in the step before, Nm.
    pub previous_nm: PerSide<I16F16>,
    /// Last cap the master controller sent, Nm; none if it never sent one.
    pub master_cap_nm: Option<I16F16>,
    /// Disagreements in a row.
    pub disagreements: PerSide<u16>,
    /// The guardian has opened and stays open until the state is renewed (key cycle or service).
    pub opened: bool,
    /// Anti-lock control was at work when last heard of.
    pub anti_lock: bool,
    /// Stability control was at work when last heard of.
    pub stability: bool,
    /// Steps since it opened.
    pub opened_steps: u32,
}

/// What the car orders and its brake controls ask for, as the messages came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orders {
    /// Order to open.
    pub open_now: Reading,
    /// Anti-lock control.
    pub anti_lock_active: Reading,
    /// Stability control.
    pub stability_active: Reading,
}

/// The raw facts of one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct In {
    /// Capacity the first channel wants to grant, Nm; negative or not a number counts as zero.
    pub request_nm: PerSide<f32>,
    /// Thermal ceiling as a fraction of full capacity, 0 to 1; not a number counts as zero.
    pub ceiling: PerSide<f32>,
    /// The first channel takes the clutches for ordered open: it knows when the order's channel is lost.
    pub open: bool,
    /// The same and the brake controls' requests as they came.
    pub orders: Orders,
    /// The monitor ordered open clutches.
    pub health_open: bool,
    /// Master controller's cap of rear torque, Nm. Not a number: nothing was received, the last one stays in force; if
    /// none was ever received there is no cap. Negative counts as zero.
    pub master_cap_nm: f32,
    /// The wheels' torques are expected to oppose each other: then the cap holds for each side, else for both together.
    pub opposed: bool,
}

/// What the guardian decided.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Out {
    /// Capacity granted, Nm, never above the request; the request's bits when nothing was lowered.
    pub granted_nm: PerSide<f32>,
    /// The grant was lowered.
    pub lowered: PerSide<bool>,
    /// The request was above its limit by more than the threshold, or was no capacity at all.
    pub disagreed: PerSide<bool>,
    /// The guardian holds both clutches open.
    pub opened: bool,
}

impl Guardian {
    /// From calibration: capacity in Nm, rise and fall in Nm/s, threshold in Nm, patience in steps, longest age of a message
    /// in s, period in s.
    ///
    /// A broken number becomes zero: no capacity, no rise, no tolerance. A broken fall opens at once.
    pub fn new(
        capacity_nm: f32,
        (rise_nm_per_s, fall_nm_per_s): (f32, f32),
        disagreement_nm: f32,
        patience_steps: u32,
        longest_age_s: f32,
        period_s: f32,
    ) -> Self {
        let fall_nm = fall_nm_per_s * period_s;
        Self {
            capacity_max_nm: torque(capacity_nm),
            rise_per_step_nm: torque(rise_nm_per_s * period_s),
            fall_per_step_nm: if fall_nm > 0.0 {
                torque(fall_nm)
            } else {
                I16F16::MAX
            },
            disagreement_nm: torque(disagreement_nm),
            patience_steps,
            // Conversion with `as` is total; a hundredth of a millisecond for the rounding of the product.
            longest_age_ms: (longest_age_s * 1000.0 + 0.01) as u16,
        }
    }

    /// One step.
    #[inline(always)]
    pub fn step(&self, state: &mut State, input: &In) -> Out {
        if input.master_cap_nm.is_finite() {
            state.master_cap_nm = Some(torque(input.master_cap_nm));
        }
        let (ordered, let_go) = self.asked(state, &input.orders);
        let request = input.request_nm.map(torque);
        let limit = if ordered {
            PerSide::both(I16F16::ZERO)
        } else {
            self.limits(state, input, request, let_go)
        };
        // Neither is negative: their difference fits.
        let excess = request.zip(limit, |request, limit| {
            I16F16::from_bits(request.to_bits().wrapping_sub(limit.to_bits()))
        });
        let sound = input
            .request_nm
            .map(|request| (0.0..=f32::MAX).contains(&request));
        let disagreed = excess.zip(sound, |excess, sound| {
            // A request that is no number, or negative, can be no honest capacity.
            !sound || (excess > FORMAT_SLACK && excess > self.disagreement_nm)
        });
        state.disagreements = state.disagreements.zip(disagreed, |count, disagreed| {
            if disagreed {
                count.saturating_add(1)
            } else {
                0
            }
        });
        let patience = self.patience_steps.max(1);
        let overdue = state
            .disagreements
            .map(|count| u32::from(count) >= patience);
        if state.opened {
            state.opened_steps = state.opened_steps.saturating_add(1);
        }
        state.opened |= overdue.left || overdue.right;

        // With every grant its fixed-point form, which the next step's rise starts from.
        let grant =
            |(request, sound): (f32, bool), exact: I16F16, limit: I16F16, excess: I16F16| {
                // Nothing is nothing: a request below the format's smallest step is not within its slack of an order to open. What is no
                // number, infinite or negative gives nothing either.
                if state.opened || limit == I16F16::ZERO || !sound {
                    (0.0, I16F16::ZERO)
                } else if excess <= FORMAT_SLACK {
                    // Zero of either sign is zero.
                    (request + 0.0, exact)
                } else {
                    let granted = capacity_f32(limit, request);
                    (granted, torque(granted))
                }
            };
        let left = grant(
            (input.request_nm.left, sound.left),
            request.left,
            limit.left,
            excess.left,
        );
        let right = grant(
            (input.request_nm.right, sound.right),
            request.right,
            limit.right,
            excess.right,
        );
        let granted_nm = PerSide {
            left: left.0,
            right: right.0,
        };
        state.previous_nm = PerSide {
            left: left.1,
            right: right.1,
        };
        Out {
            granted_nm,
            lowered: granted_nm.zip(input.request_nm, |granted, request| granted != request),
            disagreed,
            opened: state.opened,
        }
    }

    /// Whether the clutches are ordered open, and whether a brake control asks the axle to let go.
    #[inline(always)]
    fn asked(&self, state: &mut State, orders: &Orders) -> (bool, bool) {
        let said = orders.open_now.value.to_bits()
            | orders.anti_lock_active.value.to_bits()
            | orders.stability_active.value.to_bits();
        // Whatever their age and status: zeros after nothing change nothing.
        if said == 0 && !(state.anti_lock || state.stability) {
            return (false, false);
        }
        self.heard(state, orders)
    }

    #[cold]
    #[inline(never)]
    fn heard(&self, state: &mut State, orders: &Orders) -> (bool, bool) {
        let flag = |reading: &Reading| self.flag(reading);
        state.anti_lock = flag(&orders.anti_lock_active).unwrap_or(state.anti_lock);
        state.stability = flag(&orders.stability_active).unwrap_or(state.stability);
        (
            flag(&orders.open_now).unwrap_or(false),
            state.anti_lock || state.stability,
        )
    }

    /// A flag that a sender vouches for, young enough and from 0 to 1; up above a half. The bits of numbers that are not
    /// negative order them, and numbers that are none lie above one.
    fn flag(&self, reading: &Reading) -> Option<bool> {
        let bits = reading.value.to_bits() << 1;
        let (half, one) = (0.5_f32.to_bits() << 1, 1.0_f32.to_bits() << 1);
        let negative = reading.value.to_bits() >> 31 == 1 && bits != 0;
        let good = reading.status == Status::VALID && reading.age_ms <= self.longest_age_ms;
        (good && !negative && bits <= one).then_some(bits > half)
    }

    #[inline(always)]
    fn limits(
        &self,
        state: &State,
        input: &In,
        request: PerSide<I16F16>,
        let_go: bool,
    ) -> PerSide<I16F16> {
        if input.open || input.health_open || state.opened {
            return PerSide::both(I16F16::ZERO);
        }
        let side = |ceiling: f32, previous: I16F16| {
            part(self.capacity_max_nm, ceiling)
                .min(self.capacity_max_nm)
                .min(if let_go {
                    previous
                        .saturating_sub(self.fall_per_step_nm)
                        .max(I16F16::ZERO)
                } else {
                    sum(previous, self.rise_per_step_nm)
                })
        };
        let alone = PerSide {
            left: side(input.ceiling.left, state.previous_nm.left),
            right: side(input.ceiling.right, state.previous_nm.right),
        };
        let Some(cap) = state.master_cap_nm else {
            return alone;
        };
        if input.opposed {
            return alone.map(|limit| limit.min(cap));
        }
        share_cap(cap, alone, request)
    }
}

/// Limits under a cap of the total: what both would take above it is taken from both alike.
#[inline(always)]
fn share_cap(cap: I16F16, alone: PerSide<I16F16>, request: PerSide<I16F16>) -> PerSide<I16F16> {
    let wanted = request.zip(alone, |request, limit| request.min(limit));
    let total = sum(wanted.left, wanted.right);
    if total <= sum(cap, FORMAT_SLACK) {
        return alone;
    }
    let excess = total.saturating_sub(cap);
    // Half, rounded up, so that two halves are never less than the whole.
    let half = I16F16::from_bits((excess.to_bits() >> 1).saturating_add(excess.to_bits() & 1));
    let first = wanted.map(|wanted| wanted.saturating_sub(half).max(I16F16::ZERO));
    let rest = first
        .left
        .saturating_add(first.right)
        .saturating_sub(cap)
        .max(I16F16::ZERO);
    first.map(|first| first.saturating_sub(rest).max(I16F16::ZERO))
}

/// The sum of two torques that are not negative; the largest there is where it would be larger.
#[inline(always)]
fn sum(one: I16F16, other: I16F16) -> I16F16 {
    let sum = one
        .to_bits()
        .cast_unsigned()
        .wrapping_add(other.to_bits().cast_unsigned());
    I16F16::from_bits(sum.min(i32::MAX.cast_unsigned()).cast_signed())
}

/// A fraction of a capacity, truncated.
#[inline(always)]
fn part(capacity: I16F16, fraction: f32) -> I16F16 {
    if fraction >= 1.0 {
        return capacity;
    }
    // Conversion with `as` is total: NaN gives zero, the rest saturates.
    let fraction = I2F30::from_bits((fraction.max(0.0) * 1_073_741_824.0) as i32);
    I16F16::saturating_from_num(capacity.wide_mul(fraction))
}

/// A capacity in fixed point; NaN and negative numbers give zero, large ones saturate.
#[inline(always)]
fn torque(value_nm: f32) -> I16F16 {
    // Conversion with `as` is total: NaN gives zero, the rest saturates.
    I16F16::from_bits((value_nm * 65_536.0) as i32).max(I16F16::ZERO)
}

/// A limit as `f32`, never above the request it replaces.
fn capacity_f32(limit: I16F16, request: f32) -> f32 {
    let value = limit.to_bits() as f32 * (1.0 / 65_536.0);
    if value < request { value } else { request }
}
