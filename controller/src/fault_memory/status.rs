//! Status of a diagnostic trouble code, and what moves its bits.
//!
//! Bit layout after ISO 14229-1 Annex D (DTC status byte; from memory): bit 0 testFailed, 1 testFailedThisOperationCycle, 2 pendingDTC,
//! 3 confirmedDTC, 4 testNotCompletedSinceLastClear, 5 testFailedSinceLastClear, 6 testNotCompletedThisOperationCycle,
//! 7 warningIndicatorRequested. In: results of a test, begin and end of an operation cycle, clearing. Out: the byte.
//!
//! Limits: thresholds of confirming, ageing and the lamp are those of [`Rules`], a maker's choice by the standard; the debouncing
//! of a test is the monitor's own.

/// Status byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(transparent)]
pub struct Status(pub u8);

impl Status {
    /// The last result was a failure.
    pub const TEST_FAILED: u8 = 1 << 0;
    /// It failed at least once in this operation cycle.
    pub const TEST_FAILED_THIS_OPERATION_CYCLE: u8 = 1 << 1;
    /// It failed in this cycle or in the last one in which it was completed.
    pub const PENDING_DTC: u8 = 1 << 2;
    /// It failed often enough to be kept.
    pub const CONFIRMED_DTC: u8 = 1 << 3;
    /// No result since the memory was cleared.
    pub const TEST_NOT_COMPLETED_SINCE_LAST_CLEAR: u8 = 1 << 4;
    /// It failed at least once since the memory was cleared.
    pub const TEST_FAILED_SINCE_LAST_CLEAR: u8 = 1 << 5;
    /// No result in this operation cycle.
    pub const TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE: u8 = 1 << 6;
    /// The driver is to be warned.
    pub const WARNING_INDICATOR_REQUESTED: u8 = 1 << 7;

    /// The status after clearing.
    pub const CLEARED: Self = Self(
        Self::TEST_NOT_COMPLETED_SINCE_LAST_CLEAR | Self::TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE,
    );

    /// Whether every bit of a mask is set.
    pub fn has(self, mask: u8) -> bool {
        self.0 & mask == mask
    }

    /// Whether the byte can be: what implies another bit has it.
    pub fn is_possible(self) -> bool {
        let implies = |one: u8, other: u8| !self.has(one) || self.has(other);
        let excludes = |one: u8, other: u8| !(self.has(one) && self.has(other));
        implies(
            Self::TEST_FAILED_THIS_OPERATION_CYCLE,
            Self::TEST_FAILED_SINCE_LAST_CLEAR | Self::PENDING_DTC,
        ) && implies(Self::TEST_FAILED, Self::TEST_FAILED_SINCE_LAST_CLEAR)
            && implies(Self::PENDING_DTC, Self::TEST_FAILED_SINCE_LAST_CLEAR)
            && implies(Self::CONFIRMED_DTC, Self::TEST_FAILED_SINCE_LAST_CLEAR)
            && implies(Self::WARNING_INDICATOR_REQUESTED, Self::CONFIRMED_DTC)
            && excludes(
                Self::TEST_FAILED_SINCE_LAST_CLEAR,
                Self::TEST_NOT_COMPLETED_SINCE_LAST_CLEAR,
            )
            && excludes(
                Self::TEST_FAILED_THIS_OPERATION_CYCLE,
                Self::TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE,
            )
            && implies(
                Self::TEST_NOT_COMPLETED_SINCE_LAST_CLEAR,
                Self::TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE,
            )
    }

    fn set(&mut self, mask: u8) {
        self.0 |= mask;
    }

    fn unset(&mut self, mask: u8) {
        self.0 &= !mask;
    }
}

impl Default for Status {
    fn default() -> Self {
        Self::CLEARED
    }
}

/// Thresholds, in operation cycles; a maker's choice. A zero counts as one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// Cycles in a row in which the test failed until the code is confirmed.
    pub confirm_cycles: u8,
    /// Cycles completed without a failure after which a confirmed code is forgotten.
    pub age_cycles: u8,
    /// Cycles completed without a failure after which the lamp goes out.
    pub lamp_cycles: u8,
}

impl Default for Rules {
    /// Confirmed at once, for every fault here takes ability away; 40 cycles and 3 cycles: common practice, no source.
    fn default() -> Self {
        Self {
            confirm_cycles: 1,
            age_cycles: 40,
            lamp_cycles: 3,
        }
    }
}

/// One code: its status and the counters behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Code {
    /// Status byte.
    pub status: Status,
    /// Cycles in a row in which the test failed.
    pub failed_cycles: u8,
    /// Cycles in a row that were completed without a failure.
    pub passed_cycles: u8,
    /// Times the test began to fail since clearing; stays at 255.
    pub occurrences: u8,
}

impl Code {
    /// The test failed; whether that is the first failure of this cycle.
    pub fn fail(&mut self, rules: &Rules) -> bool {
        let first = !self.status.has(Status::TEST_FAILED_THIS_OPERATION_CYCLE);
        if !self.status.has(Status::TEST_FAILED) {
            self.occurrences = self.occurrences.saturating_add(1);
        }
        if first {
            self.failed_cycles = self.failed_cycles.saturating_add(1);
        }
        self.passed_cycles = 0;
        self.completed();
        self.status.set(
            Status::TEST_FAILED
                | Status::TEST_FAILED_THIS_OPERATION_CYCLE
                | Status::PENDING_DTC
                | Status::TEST_FAILED_SINCE_LAST_CLEAR,
        );
        if self.failed_cycles >= rules.confirm_cycles.max(1) {
            self.status
                .set(Status::CONFIRMED_DTC | Status::WARNING_INDICATOR_REQUESTED);
        }
        first
    }

    /// The test passed.
    pub fn pass(&mut self) {
        self.completed();
        self.status.unset(Status::TEST_FAILED);
    }

    fn completed(&mut self) {
        self.status.unset(
            Status::TEST_NOT_COMPLETED_SINCE_LAST_CLEAR
                | Status::TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE,
        );
    }

    /// The operation cycle ended.
    pub fn end_cycle(&mut self, rules: &Rules) {
        let completed = !self
            .status
            .has(Status::TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE);
        let failed = self.status.has(Status::TEST_FAILED_THIS_OPERATION_CYCLE);
        if completed && !failed {
            // A cycle without a result neither heals nor counts.
            self.status.unset(Status::PENDING_DTC);
            self.failed_cycles = 0;
            self.passed_cycles = self.passed_cycles.saturating_add(1);
            if self.passed_cycles >= rules.lamp_cycles.max(1) {
                self.status.unset(Status::WARNING_INDICATOR_REQUESTED);
            }
            if self.passed_cycles >= rules.age_cycles.max(1) {
                self.status
                    .unset(Status::CONFIRMED_DTC | Status::WARNING_INDICATOR_REQUESTED);
            }
        }
    }

    /// A new operation cycle began.
    pub fn start_cycle(&mut self) {
        self.status.unset(Status::TEST_FAILED_THIS_OPERATION_CYCLE);
        self.status
            .set(Status::TEST_NOT_COMPLETED_THIS_OPERATION_CYCLE);
    }
}
