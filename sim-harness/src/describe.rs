//! One table per described structure: key, unit, range, default, meaning.
//!
//! [`described!`](crate::described) turns a table into a plain structure of `f64` fields plus a list of [`Field`]s from
//! which file reading, range messages and documentation are made. Keys carry their unit as suffix.

/// One described number of a structure `T`.
#[derive(Debug, Clone, Copy)]
pub struct Field<T> {
    /// Group the number belongs to, the table header in a file.
    pub group: &'static str,
    /// Key with its unit as suffix, as written in a file.
    pub key: &'static str,
    /// Unit in SI notation, `-` for a pure number.
    pub unit: &'static str,
    /// Lowest admitted value.
    pub low: f64,
    /// Highest admitted value.
    pub high: f64,
    /// Value when a file leaves the key out.
    pub default: f64,
    /// What the number means, with its sign where it has one.
    pub meaning: &'static str,
    /// Reads the number.
    pub read: fn(&T) -> f64,
    /// Writes the number.
    pub write: fn(&mut T, f64),
}

/// Declares a structure of groups of numbers and the table that describes them.
///
/// ```
/// couplet_sim::described! {
///     /// A box.
///     pub struct Crate {
///         /// Outer shape.
///         shape: Shape {
///             /// Length over all.
///             length_m [m] 0.1 .. 10.0 = 1.0,
///         }
///     }
/// }
/// let made = Crate::default();
/// assert_eq!(made.shape.length_m, 1.0);
/// assert_eq!(Crate::FIELDS[0].key, "length_m");
/// ```
#[macro_export]
macro_rules! described {
    (
        $(#[doc = $whole_doc:literal])*
        pub struct $whole:ident {
            $(
                $(#[doc = $group_doc:literal])*
                $group:ident : $group_type:ident {
                    $(
                        $(#[doc = $doc:literal])*
                        $key:ident [$unit:tt] $low:literal .. $high:literal = $default:expr
                    ),* $(,)?
                }
            ),* $(,)?
        }
    ) => {
        $(
            $(#[doc = $group_doc])*
            #[derive(Debug, Clone, Copy, PartialEq)]
            pub struct $group_type {
                $(
                    $(#[doc = $doc])*
                    pub $key: f64,
                )*
            }
            impl Default for $group_type {
                fn default() -> Self {
                    Self { $( $key: $default, )* }
                }
            }
        )*
        $(#[doc = $whole_doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Default)]
        pub struct $whole {
            $(
                $(#[doc = $group_doc])*
                pub $group: $group_type,
            )*
        }
        impl $whole {
            /// Every number of the structure, in file order.
            pub const FIELDS: &'static [$crate::describe::Field<$whole>] = &[
                $($(
                    $crate::describe::Field {
                        group: stringify!($group),
                        key: stringify!($key),
                        unit: $crate::describe::unit_text(stringify!($unit)),
                        low: $low,
                        high: $high,
                        default: $default,
                        meaning: concat!($($doc),*),
                        read: |whole| whole.$group.$key,
                        write: |whole, value| whole.$group.$key = value,
                    },
                )*)*
            ];
        }
    };
}

/// The unit as printed: a quoted unit loses its quotes.
pub const fn unit_text(written: &'static str) -> &'static str {
    let bytes = written.as_bytes();
    if bytes.len() >= 2 && bytes[0] == b'"' {
        let (_, tail) = written.split_at(1);
        let (inner, _) = tail.split_at(tail.len() - 1);
        inner
    } else {
        written
    }
}
