//! Units that logs use, as factor and offset to those of the law.
//!
//! value in the law's unit = factor * value + offset. Spellings are compared without blanks and dots between letters. Wheel speeds may be
//! speeds of the tread; they need the rolling radius.

/// Factor and offset from a unit of a log to one of the law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conversion {
    /// Factor.
    pub factor: f64,
    /// Offset, added after the factor.
    pub offset: f64,
    /// Whether the value is a speed of the tread: divide by the rolling radius as well.
    pub by_radius: bool,
}

/// Spelling, unit of the law it turns into, factor, offset, whether it is a speed of the tread.
const KNOWN: &[(&str, &str, f64, f64, bool)] = &[
    ("rad/s", "rad/s", 1.0, 0.0, false),
    ("1/s", "rad/s", 1.0, 0.0, false),
    ("deg/s", "rad/s", DEGREE, 0.0, false),
    ("°/s", "rad/s", DEGREE, 0.0, false),
    ("rpm", "rad/s", TURN_A_MINUTE, 0.0, false),
    ("1/min", "rad/s", TURN_A_MINUTE, 0.0, false),
    ("m/s", "rad/s", 1.0, 0.0, true),
    ("km/h", "rad/s", 1.0 / 3.6, 0.0, true),
    ("kph", "rad/s", 1.0 / 3.6, 0.0, true),
    ("m/s", "m/s", 1.0, 0.0, false),
    ("km/h", "m/s", 1.0 / 3.6, 0.0, false),
    ("kph", "m/s", 1.0 / 3.6, 0.0, false),
    ("rad", "rad", 1.0, 0.0, false),
    ("deg", "rad", DEGREE, 0.0, false),
    ("°", "rad", DEGREE, 0.0, false),
    ("m/s2", "m/s2", 1.0, 0.0, false),
    ("m/s^2", "m/s2", 1.0, 0.0, false),
    ("m/s²", "m/s2", 1.0, 0.0, false),
    ("m/s/s", "m/s2", 1.0, 0.0, false),
    ("g", "m/s2", 9.80665, 0.0, false),
    ("-", "-", 1.0, 0.0, false),
    ("1", "-", 1.0, 0.0, false),
    ("%", "-", 0.01, 0.0, false),
    ("percent", "-", 0.01, 0.0, false),
    ("bar", "bar", 1.0, 0.0, false),
    ("Pa", "bar", 1.0e-5, 0.0, false),
    ("hPa", "bar", 1.0e-3, 0.0, false),
    ("kPa", "bar", 0.01, 0.0, false),
    ("MPa", "bar", 10.0, 0.0, false),
    ("Nm", "N m", 1.0, 0.0, false),
    ("N*m", "N m", 1.0, 0.0, false),
    ("kNm", "N m", 1000.0, 0.0, false),
    ("degC", "degC", 1.0, 0.0, false),
    ("°C", "degC", 1.0, 0.0, false),
    ("K", "degC", 1.0, -273.15, false),
    ("A", "A", 1.0, 0.0, false),
    ("mA", "A", 0.001, 0.0, false),
    ("s", "s", 1.0, 0.0, false),
    ("ms", "s", 0.001, 0.0, false),
];

const DEGREE: f64 = std::f64::consts::PI / 180.0;
const TURN_A_MINUTE: f64 = std::f64::consts::PI / 30.0;

fn bare(unit: &str) -> String {
    unit.chars()
        .filter(|letter| !letter.is_whitespace() && *letter != '·' && *letter != '.')
        .collect()
}

/// How a value in `from` becomes one in the law's unit `to`; nothing if that is not known.
pub fn conversion(from: &str, to: &str) -> Option<Conversion> {
    let from = bare(from);
    let (_, _, factor, offset, by_radius) = KNOWN
        .iter()
        .find(|(spelling, unit, ..)| *unit == to && spelling.eq_ignore_ascii_case(&from))?;
    Some(Conversion {
        factor: *factor,
        offset: *offset,
        by_radius: *by_radius,
    })
}

/// Spellings that turn into a unit of the law.
pub fn spellings(to: &str) -> Vec<&'static str> {
    KNOWN
        .iter()
        .filter(|(_, unit, ..)| *unit == to)
        .map(|(spelling, ..)| *spelling)
        .collect()
}
