//! What was learned of the valves, in stored form: offset in microbar, gain in 1/2^24.
//!
//! In and out: the learned values of the actuation. A value that is no number counts as nothing learned; one that lies outside any
//! valve is refused on reading, for then the writer was at fault.

use crate::numerics::Scalar;
use crate::quantity::PerSide;

/// Largest offset that is stored, microbar (10 bar).
const LARGEST_OFFSET_MICROBAR: i32 = 10_000_000;

/// Gain of one, in stored form.
const GAIN_ONE: i32 = 1 << 24;

/// Offset and gain of both valves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ValveStored {
    /// Pressure beside the calibration's at the same current, microbar.
    pub offset_microbar: PerSide<i32>,
    /// Pressure per current beyond the calibration's, share in 1/2^24.
    pub gain: PerSide<i32>,
}

impl ValveStored {
    /// Words of the record.
    pub const WORDS: usize = 4;

    /// Stored form of learned values, bar and share.
    pub fn of<S: Scalar>(offset_bar: PerSide<S>, gain_share: PerSide<S>) -> Self {
        let stored = |value: S, unit: S, most: i32| {
            let most = S::from_whole(i64::from(most));
            i32::try_from((value * unit).within(-most, most).to_whole()).unwrap_or(0)
        };
        let one = S::from_whole(i64::from(GAIN_ONE));
        Self {
            offset_microbar: offset_bar
                .map(|bar| stored(bar, S::of(1.0e6), LARGEST_OFFSET_MICROBAR)),
            gain: gain_share.map(|share| stored(share, one, GAIN_ONE / 2)),
        }
    }

    /// Learned offsets, bar.
    pub fn offset_bar<S: Scalar>(&self) -> PerSide<S> {
        self.offset_microbar
            .map(|micro| S::from_whole(i64::from(micro)).over(S::of(1.0e6), S::ZERO))
    }

    /// Learned gains, share.
    pub fn gain_share<S: Scalar>(&self) -> PerSide<S> {
        let one = S::from_whole(i64::from(GAIN_ONE));
        self.gain
            .map(|stored| S::from_whole(i64::from(stored)).over(one, S::ZERO))
    }

    pub(super) fn words(&self) -> [i32; Self::WORDS] {
        [
            self.offset_microbar.left,
            self.offset_microbar.right,
            self.gain.left,
            self.gain.right,
        ]
    }

    pub(super) fn from_words([left, right, gain_left, gain_right]: [i32; Self::WORDS]) -> Self {
        Self {
            offset_microbar: PerSide { left, right },
            gain: PerSide {
                left: gain_left,
                right: gain_right,
            },
        }
    }

    pub(super) fn is_plausible(&self) -> bool {
        let within = |stored: i32, most: i32| stored.unsigned_abs() <= most.unsigned_abs();
        within(self.offset_microbar.left, LARGEST_OFFSET_MICROBAR)
            && within(self.offset_microbar.right, LARGEST_OFFSET_MICROBAR)
            && within(self.gain.left, GAIN_ONE / 2)
            && within(self.gain.right, GAIN_ONE / 2)
    }
}
