//! What one tunable is, and the macro that makes the table.
//!
//! The table in `table.rs` is the single source: structures, range checks, file reading, documentation and schemas are
//! made from it. A default carries its reason and its provenance.

use super::table::Tunables;

/// Where a default comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Provenance {
    /// Measured on the invented demo car's plant model.
    Measured,
    /// From a published source named in the reason.
    Published,
    /// Common practice of the trade, no source.
    CommonPractice,
    /// Chosen by closed-loop tuning on the demo car.
    Chosen,
    /// A guess that wants replacing by the user's own value.
    Guess,
}

impl Provenance {
    /// The provenance in words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Measured => "measured on the demo plant",
            Self::Published => "published",
            Self::CommonPractice => "common practice, no source",
            Self::Chosen => "chosen by tuning on the demo car",
            Self::Guess => "guess",
        }
    }
}

/// One tunable as the table describes it.
#[derive(Debug, Clone, Copy)]
pub struct Entry {
    /// Group, the table header in a setting file.
    pub group: &'static str,
    /// Name with its unit as suffix.
    pub name: &'static str,
    /// Unit in SI notation, `-` for a pure number.
    pub unit: &'static str,
    /// Lowest admitted value.
    pub low: f32,
    /// Highest admitted value.
    pub high: f32,
    /// Default value.
    pub default: f32,
    /// Where the default comes from.
    pub provenance: Provenance,
    /// What the number does and why the default is what it is.
    pub reason: &'static str,
    /// Reads the number from a page.
    pub read: fn(&Tunables<f32>) -> f32,
    /// Writes the number to a page.
    pub write: fn(&mut Tunables<f32>, f32),
}

impl Entry {
    /// Whether `value` is a number inside the range.
    pub fn admits(&self, value: f32) -> bool {
        self.low <= value && value <= self.high
    }
}

macro_rules! catalogue {
    (
        $(
            $(#[doc = $group_doc:literal])*
            $group:ident : $group_type:ident {
                $( $name:ident [$unit:literal] $low:literal .. $high:literal = $default:literal, $provenance:ident, $reason:literal; )*
            }
        )*
    ) => {
        $(
            $(#[doc = $group_doc])*
            ///
            /// `Default` is all zero, a place before its page comes; the table's defaults are `nominal()`.
            #[derive(Debug, Clone, Copy, PartialEq, Default)]
            #[repr(C)]
            pub struct $group_type<S> {
                $(
                    #[doc = $reason]
                    #[doc = concat!(" Unit ", $unit, ", range ", stringify!($low), " to ", stringify!($high), ", default ", stringify!($default), ".")]
                    pub $name: S,
                )*
            }
            impl $group_type<f32> {
                /// The defaults of the table.
                pub const DEFAULT: Self = Self { $( $name: $default, )* };

                /// The same numbers in the arithmetic of the law; a number that is not finite becomes zero.
                pub fn to_arithmetic<S: crate::numerics::Scalar>(&self) -> $group_type<S> {
                    $group_type { $( $name: S::of(self.$name), )* }
                }
            }
            impl<S: crate::numerics::Scalar> $group_type<S> {
                /// The defaults of the table.
                pub fn nominal() -> Self {
                    $group_type::<f32>::DEFAULT.to_arithmetic()
                }

                /// The same numbers as they came in: every arithmetic of the law holds a page's number exactly.
                pub fn to_raw(&self) -> $group_type<f32> {
                    $group_type { $( $name: self.$name.to_f32(), )* }
                }
            }
        )*
        /// All tunables, group by group.
        #[derive(Debug, Clone, Copy, PartialEq)]
        #[repr(C)]
        pub struct Tunables<S> {
            $(
                $(#[doc = $group_doc])*
                pub $group: $group_type<S>,
            )*
        }
        impl Tunables<f32> {
            /// The defaults of the table.
            pub const DEFAULT: Self = Self { $( $group: $group_type::<f32>::DEFAULT, )* };

            /// The same numbers in the arithmetic of the law; a number that is not finite becomes zero.
            pub fn to_arithmetic<S: crate::numerics::Scalar>(&self) -> Tunables<S> {
                Tunables { $( $group: self.$group.to_arithmetic(), )* }
            }
        }
        impl<S: crate::numerics::Scalar> Tunables<S> {
            /// The same numbers as they came in: every arithmetic of the law holds a page's number exactly.
            pub fn to_raw(&self) -> Tunables<f32> {
                Tunables { $( $group: self.$group.to_raw(), )* }
            }
        }
        /// The table: every tunable, in page order.
        pub const ENTRIES: &[crate::calibration::Entry] = &[
            $($(
                crate::calibration::Entry {
                    group: stringify!($group),
                    name: stringify!($name),
                    unit: $unit,
                    low: $low,
                    high: $high,
                    default: $default,
                    provenance: crate::calibration::Provenance::$provenance,
                    reason: $reason,
                    read: |tunables| tunables.$group.$name,
                    write: |tunables, value| tunables.$group.$name = value,
                },
            )*)*
        ];
    };
}
pub(crate) use catalogue;
