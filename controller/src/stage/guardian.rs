//! Second channel in fixed point: lowers a grant that is too high, or opens.
//!
//! Inputs: what the first channel wants to grant and the raw facts behind it, all `f32`. Outputs: the capacity each
//! clutch may have, whether the channels disagreed, whether the guardian has opened. It can only lower or open.
//!
//! Equation, per side: `limit = least(capacity, ceiling * capacity, previous + rise, share of the master's caps)`, zero
//! when an open command stands; while anti-lock or stability control is at work `previous - fall` in place of
//! `previous + rise`. A request that rises too fast raises nothing. A request within the limit passes with its bits; one above it becomes the
//! limit. The cap on the yaw moment holds for the difference of two torques that pull the same way, else for their sum.
//! Orders, caps and requests of the brake controls it reads by itself from the messages, by their bits: an error of admission
//! in the first channel does not reach it. What was last known of a cap or a brake control stays in force when its message is lost.
//! Number format: 16 whole and 16 fractional bits, in Nm, saturating; it shares no arithmetic with the first channel, so
//! an error of floating point, of a compiler's optimisation or of a limit's code shows as a disagreement.
//!
//! Limits: it does not know slip, friction or what the driver wants; it checks magnitude, not purpose. A request that stays at
//! the whole capacity where nearly all of it was asked for before is not found. Left and right
//! are computed by the same expressions on numbers that are never negative, so truncation is the same on both sides.
//! Common practice for a monitored torque path, no source.

use fixed::types::{I2F30, I16F16};

use crate::quantity::PerSide;
use crate::signal::inputs::range;
use crate::signal::{Reading, Status};

/// Difference of the two number formats that is not a disagreement: 64 units of 1/65536 Nm, about 0.001 Nm. Single
/// precision resolves 0.00012 Nm at 2,000 Nm. Chosen.
const FORMAT_SLACK: I16F16 = I16F16::from_bits(64);

/// What a difference may be above the cap on the yaw moment, 1/64 Nm: the first channel keeps differences to 0.001 Nm, and its
/// lever is rounded. Chosen.
const DIFFERENCE_SLACK: I16F16 = I16F16::from_bits(1024);

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
    pub patience_steps: u16,
    /// A message older than this says nothing, ms.
    pub longest_age_ms: u16,
    /// Difference of both wheels' torques per yaw moment, twice the rolling radius over the track.
    pub difference_per_moment: I2F30,
}

/// What the guardian remembers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct State {
    /// Capacity granted in the step before, Nm.
    pub previous_nm: PerSide<I16F16>,
    /// Last cap of rear torque the master controller sent, Nm; the largest there is if it never sent one.
    pub master_cap_nm: I16F16,
    /// Difference of torques that its last cap of yaw moment allows, Nm; the largest there is if it allows all or was never sent.
    pub difference_cap_nm: I16F16,
    /// Inverted bits of the last caps admitted, so that before the first one none looks the same.
    pub caps_said: [u32; 2],
    /// Disagreements in a row.
    pub disagreements: PerSide<u16>,
    /// The guardian has opened and stays open until the state is renewed (key cycle or service).
    pub opened: bool,
    /// Anti-lock control was at work when last heard of.
    pub anti_lock: bool,
    /// Stability control was at work when last heard of.
    pub stability: bool,
}

impl Default for State {
    fn default() -> Self {
        Self {
            previous_nm: PerSide::default(),
            master_cap_nm: I16F16::MAX,
            difference_cap_nm: I16F16::MAX,
            caps_said: [0; 2],
            disagreements: PerSide::default(),
            opened: false,
            anti_lock: false,
            stability: false,
        }
    }
}

/// What the car orders and its brake controls ask for, as the messages came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orders {
    /// Master controller's cap of rear torque, Nm.
    pub rear_torque_cap: Reading,
    /// Its cap of the yaw moment, Nm.
    pub yaw_moment_cap: Reading,
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
    /// The wheels' torques are expected to oppose each other: then the cap of rear torque holds for each side, else for both
    /// together.
    pub opposed: bool,
    /// They are expected to pull the same way: then the cap of the yaw moment holds for their difference, else for their sum.
    pub alike: bool,
    /// Torque that a clutch passes which does not open, Nm per side, else zero: the other one may match it.
    pub passed_nm: PerSide<f32>,
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
    /// in ms, difference of torques per yaw moment, period in s.
    ///
    /// A broken number becomes zero: no capacity, no rise, no tolerance, no difference under a cap. A broken fall opens at once.
    pub fn new(
        capacity_nm: f32,
        (rise_nm_per_s, fall_nm_per_s): (f32, f32),
        disagreement_nm: f32,
        patience_steps: u32,
        longest_age_ms: u16,
        difference_per_moment: f32,
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
            patience_steps: patience_steps.min(65_535) as u16,
            longest_age_ms,
            difference_per_moment: fraction(difference_per_moment),
        }
    }

    /// One step.
    #[inline(always)]
    pub fn step(&self, state: &mut State, input: &In) -> Out {
        let orders = &input.orders;
        let caps = [orders.rear_torque_cap, orders.yaw_moment_cap];
        if caps.map(|cap| !cap.value.to_bits()) != state.caps_said {
            self.hear_caps(state, &caps);
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
        let overdue = state.disagreements.map(|count| count >= patience);
        state.opened |= overdue.left || overdue.right;

        // With every grant its fixed-point form, which the next step's rise starts from.
        let grant = |(request, sound): (f32, bool),
                     exact: I16F16,
                     limit: I16F16,
                     excess: I16F16,
                     previous: I16F16| {
            // Nothing is nothing: a request below the format's smallest step is not within its slack of an order to open. What is no
            // number, infinite or negative gives nothing either.
            if state.opened || limit == I16F16::ZERO || !sound {
                (0.0, I16F16::ZERO)
            } else if excess <= FORMAT_SLACK {
                // Zero of either sign is zero.
                (request + 0.0, exact)
            } else {
                let granted = capacity_f32(self.without_rise(exact, limit, previous), request);
                (granted, torque(granted))
            }
        };
        let left = grant(
            (input.request_nm.left, sound.left),
            request.left,
            limit.left,
            excess.left,
            state.previous_nm.left,
        );
        let right = grant(
            (input.request_nm.right, sound.right),
            request.right,
            limit.right,
            excess.right,
            state.previous_nm.right,
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

    /// Caps that have changed.
    #[cold]
    #[inline(never)]
    fn hear_caps(&self, state: &mut State, [rear_torque, yaw_moment]: &[Reading; 2]) {
        let [rear_said, yaw_said] = &mut state.caps_said;
        if self.says(rear_torque, range::rear_torque_cap.1) {
            *rear_said = !rear_torque.value.to_bits();
            state.master_cap_nm = torque(rear_torque.value);
        }
        if self.says(yaw_moment, range::yaw_moment_cap.1) {
            *yaw_said = !yaw_moment.value.to_bits();
            let difference = torque(yaw_moment.value).wide_mul(self.difference_per_moment);
            let difference =
                I16F16::saturating_from_num(difference).saturating_add(DIFFERENCE_SLACK);
            let everything = sum(self.capacity_max_nm, self.capacity_max_nm);
            state.difference_cap_nm = if difference < everything {
                difference
            } else {
                I16F16::MAX
            };
        }
    }

    /// Whether a sender vouches for a value young enough and from zero to the most. The bits of numbers that are not
    /// negative order them, and numbers that are none lie above all.
    fn says(&self, reading: &Reading, most: f32) -> bool {
        let bits = reading.value.to_bits() << 1;
        let negative = reading.value.to_bits() >> 31 == 1 && bits != 0;
        let good = reading.status == Status::VALID && reading.age_ms <= self.longest_age_ms;
        good && !negative && bits <= most.to_bits() << 1
    }

    /// A flag, up above a half, that [`Self::says`] something from 0 to 1.
    fn flag(&self, reading: &Reading) -> Option<bool> {
        let up = reading.value.to_bits() << 1 > 0.5_f32.to_bits() << 1;
        self.says(reading, 1.0).then_some(up)
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
        let cap = state.master_cap_nm;
        let limits = if input.opposed {
            alone.map(|limit| limit.min(cap))
        } else {
            share_cap(cap, alone, request)
        };
        if state.difference_cap_nm == I16F16::MAX {
            limits
        } else {
            self.cap_moment(limits, request, state, input)
        }
    }

    /// The limit of a request; one that rises too fast raises nothing, or it would be within its limit before patience is over, and
    /// believed.
    fn without_rise(&self, request: I16F16, limit: I16F16, previous: I16F16) -> I16F16 {
        let rise = sum(self.rise_per_step_nm, self.disagreement_nm);
        if request > sum(previous, rise) {
            limit.min(previous)
        } else {
            limit
        }
    }

    /// Limits under a cap of the yaw moment.
    #[cold]
    #[inline(never)]
    fn cap_moment(
        &self,
        limits: PerSide<I16F16>,
        request: PerSide<I16F16>,
        state: &State,
        input: &In,
    ) -> PerSide<I16F16> {
        let cap = state.difference_cap_nm;
        let passed = input.passed_nm.map(torque);
        if !(input.alike || passed.left > I16F16::ZERO || passed.right > I16F16::ZERO) {
            return share_cap(cap, limits, request);
        }
        // What each will get at most.
        let carried = |asked: f32, limit: I16F16, previous: I16F16, passed: I16F16| {
            let request = if asked <= f32::MAX {
                torque(asked)
            } else {
                I16F16::ZERO
            };
            let most = self.without_rise(request, limit, previous);
            request.min(most).max(passed)
        };
        let (asked, before) = (&input.request_nm, &state.previous_nm);
        let left = carried(asked.left, limits.left, before.left, passed.left);
        let right = carried(asked.right, limits.right, before.right, passed.right);
        PerSide {
            left: limits.left.min(sum(right, cap)),
            right: limits.right.min(sum(left, cap)),
        }
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
    I16F16::saturating_from_num(capacity.wide_mul(self::fraction(fraction)))
}

/// A fraction in fixed point; NaN and negative numbers give zero, two and more the largest below two.
#[inline(always)]
fn fraction(value: f32) -> I2F30 {
    // Conversion with `as` is total: NaN gives zero, the rest saturates.
    I2F30::from_bits((value.max(0.0) * 1_073_741_824.0) as i32)
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
