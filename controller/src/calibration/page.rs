//! The raw page from outside and the calibration it becomes, whole or not at all.
//!
//! A page is plain memory in a fixed layout. It is accepted at a step border only if its layout matches, every number
//! lies in its range and all cross-field rules hold; otherwise the old calibration stays and the refusal says why.

use super::rules::{HOLDS, RULES, Rule};
use super::table::{ENTRIES, Tunables};
use crate::numerics::Scalar;

/// Layout number of the page; changes whenever the table does.
pub const LAYOUT: u32 = 9;

/// What the acceptance needs of an entry: a control unit that accepts pages carries no names and reasons, which take ten times as much.
#[derive(Clone, Copy)]
struct Bounds {
    low: f32,
    high: f32,
    read: fn(&Tunables<f32>) -> f32,
}

static BOUNDS: [Bounds; ENTRIES.len()] = {
    let mut bounds = [Bounds {
        low: 0.0,
        high: 0.0,
        read: ENTRIES[0].read,
    }; ENTRIES.len()];
    let mut entry = 0;
    while entry < ENTRIES.len() {
        bounds[entry] = Bounds {
            low: ENTRIES[entry].low,
            high: ENTRIES[entry].high,
            read: ENTRIES[entry].read,
        };
        entry += 1;
    }
    bounds
};

/// The calibration page as it crosses the border.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C)]
pub struct RawPage {
    /// Must equal [`LAYOUT`].
    pub layout: u32,
    /// Must equal the number of entries of the table.
    pub entries: u32,
    /// The numbers.
    pub tunables: Tunables<f32>,
}

impl Default for RawPage {
    fn default() -> Self {
        Self {
            layout: LAYOUT,
            entries: ENTRIES.len() as u32,
            tunables: Tunables::DEFAULT,
        }
    }
}

/// A page has no gaps: two whole numbers, then the table's numbers in their order, four bytes each.
const _: () = assert!(size_of::<RawPage>() == RawPage::BYTES);

/// Why a page was refused. The old calibration stays in force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PageRefusal {
    /// The page was made for another layout: whoever wrote it must be regenerated from this version's table.
    Layout {
        /// Layout number found.
        found: u32,
    },
    /// The page holds another number of entries than the table.
    Entries {
        /// Number found.
        found: u32,
    },
    /// A number is NaN or outside its range.
    Range {
        /// Position in [`ENTRIES`].
        entry: usize,
        /// The value found.
        value: f32,
    },
    /// Two or more numbers contradict each other.
    Rule {
        /// Position in [`RULES`].
        rule: usize,
    },
}

impl PageRefusal {
    /// The entry concerned, if it is one.
    pub fn entry(&self) -> Option<&'static super::Entry> {
        match self {
            Self::Range { entry, .. } => ENTRIES.get(*entry),
            _ => None,
        }
    }

    /// The rule concerned, if it is one.
    pub fn rule(&self) -> Option<&'static Rule> {
        match self {
            Self::Rule { rule } => RULES.get(*rule),
            _ => None,
        }
    }
}

/// A calibration without an invalid value: the only way to get one is through [`RawPage::accept`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration<S> {
    tunables: Tunables<S>,
}

impl<S: Scalar> Calibration<S> {
    /// From numbers that were accepted before.
    pub(crate) fn of_accepted(tunables: Tunables<S>) -> Self {
        Self { tunables }
    }

    /// The numbers in the arithmetic of the law.
    pub fn tunables(&self) -> &Tunables<S> {
        &self.tunables
    }

    /// The numbers as they came in.
    pub fn raw(&self) -> Tunables<f32> {
        self.tunables.to_raw()
    }
}

impl<S: Scalar> Default for Calibration<S> {
    fn default() -> Self {
        Self {
            tunables: Tunables::DEFAULT.to_arithmetic(),
        }
    }
}

impl RawPage {
    /// Length of a page in memory, bytes.
    pub const BYTES: usize = 8 + 4 * ENTRIES.len();

    /// Place of an entry's number in a page, bytes from its start; entries count from 0.
    pub const fn place_of(entry: usize) -> usize {
        entry.saturating_mul(4).saturating_add(8)
    }

    /// The page as it lies in the memory of a little-endian machine.
    pub fn to_bytes(&self) -> [u8; Self::BYTES] {
        let mut bytes = [0; Self::BYTES];
        let head = [self.layout, self.entries].into_iter();
        let numbers = ENTRIES
            .iter()
            .map(|entry| (entry.read)(&self.tunables).to_bits());
        for (place, word) in bytes.chunks_exact_mut(4).zip(head.chain(numbers)) {
            for (to, from) in place.iter_mut().zip(word.to_le_bytes()) {
                *to = from;
            }
        }
        bytes
    }

    /// The page that lies in memory so; any bytes are one, and [`RawPage::accept`] tells whether it is good.
    pub fn from_bytes(bytes: &[u8; Self::BYTES]) -> Self {
        let mut page = Self::default();
        let mut words = bytes.chunks_exact(4).map(|four| match four {
            [a, b, c, d] => u32::from_le_bytes([*a, *b, *c, *d]),
            _ => 0,
        });
        page.layout = words.next().unwrap_or(0);
        page.entries = words.next().unwrap_or(0);
        for (entry, word) in ENTRIES.iter().zip(words) {
            (entry.write)(&mut page.tunables, f32::from_bits(word));
        }
        page
    }

    /// The calibration this page holds, or the first reason to refuse it.
    ///
    /// # Errors
    /// A [`PageRefusal`] that names what is wrong.
    pub fn accept<S: Scalar>(&self) -> Result<Calibration<S>, PageRefusal> {
        self.check()?;
        Ok(Calibration {
            tunables: self.tunables.to_arithmetic(),
        })
    }

    /// Whether [`RawPage::accept`] would take this page, without a copy of it.
    ///
    /// # Errors
    /// As there.
    pub fn check(&self) -> Result<(), PageRefusal> {
        if self.layout != LAYOUT {
            return Err(PageRefusal::Layout { found: self.layout });
        }
        if self.entries as usize != ENTRIES.len() {
            return Err(PageRefusal::Entries {
                found: self.entries,
            });
        }
        for (entry, bounds) in BOUNDS.iter().enumerate() {
            let value = (bounds.read)(&self.tunables);
            if !(bounds.low <= value && value <= bounds.high) {
                return Err(PageRefusal::Range { entry, value });
            }
        }
        for (rule, holds) in HOLDS.iter().enumerate() {
            if !holds(&self.tunables) {
                return Err(PageRefusal::Rule { rule });
            }
        }
        Ok(())
    }
}
