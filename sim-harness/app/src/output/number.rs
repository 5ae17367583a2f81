//! Numbers as text: shortest round-trip for files, four significant digits for eyes.

use couplet_sim::prove::Target;

/// The shortest text that reads back as the same `f32`.
pub fn shortest_f32(value: f32) -> String {
    let size = value.abs();
    if size != 0.0 && !(1.0e-4..1.0e15).contains(&size) && value.is_finite() {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// Sizes below this are rounding, in every unit shown; printed as such they would pass for measurements.
const INVISIBLE: f64 = 1.0e-9;

/// `value` with `digits` significant digits; an exponent below 0.0001 and from ten million up.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "not a number".to_owned();
    }
    let exponential = format!("{value:.*e}", digits.saturating_sub(1));
    let Some(exponent) = exponential
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse::<i32>().ok())
    else {
        return exponential;
    };
    if value.abs() < INVISIBLE {
        return "0".to_owned();
    }
    if !(-4..7).contains(&exponent) {
        return exponential;
    }
    let decimals = usize::try_from(digits as i32 - 1 - exponent).unwrap_or(0);
    // Going through the rounded text keeps 12345.6 at four digits from showing a fifth.
    let rounded: f64 = exponential.parse().unwrap_or(value);
    format!("{rounded:.decimals$}")
}

/// A value that may be missing.
pub fn optional(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |value| significant(value, 4))
}

/// A margin with its sign.
pub fn margin(value: Option<f64>) -> String {
    match value {
        Some(value) if value > 0.0 => format!("+{}", significant(value, 3)),
        other => other.map_or_else(|| "-".to_owned(), |value| significant(value, 3)),
    }
}

/// A target, with its edges at four digits and without needless zeros.
pub fn target(target: Option<Target>) -> String {
    let edge = |value: f64| {
        let text = significant(value, 4);
        let plain = text.contains('.') && !text.contains('e');
        if plain {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            text
        }
    };
    match target {
        None => "-".to_owned(),
        Some(Target::AtMost(limit)) => format!("<= {}", edge(limit)),
        Some(Target::AtLeast(limit)) => format!(">= {}", edge(limit)),
        Some(Target::Between(low, high)) => format!("{} to {}", edge(low), edge(high)),
    }
}

/// Verdict in words.
pub fn verdict(pass: Option<bool>) -> &'static str {
    match pass {
        Some(true) => "met",
        Some(false) => "missed",
        None => "-",
    }
}

#[cfg(test)]
mod tests {
    use super::{shortest_f32, significant};

    #[test]
    fn four_digits_are_shown_at_any_size() {
        assert_eq!(significant(22.534_9, 4), "22.53");
        assert_eq!(significant(-0.012_344, 4), "-0.01234");
        assert_eq!(significant(12_345.6, 4), "12350");
        assert_eq!(significant(9.999_96, 4), "10.00");
        assert_eq!(significant(0.0, 4), "0");
        assert_eq!(significant(1.5e-7, 4), "1.500e-7");
    }

    #[test]
    fn a_number_in_a_file_reads_back_bit_for_bit() {
        for value in [
            0.0_f32,
            -0.0,
            0.1,
            1.0e-30,
            3.4e38,
            123_456.79,
            -1.0e-4,
            f32::MIN_POSITIVE,
        ] {
            let back: f32 = shortest_f32(value).parse().expect("a number");
            assert_eq!(back.to_bits(), value.to_bits());
        }
    }
}
