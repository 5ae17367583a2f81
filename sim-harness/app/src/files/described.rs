//! What the reader needs to know about one number of a file, whichever table it comes from.

use couplet_controller::calibration::{Entry, Tunables};
use couplet_sim::describe::Field;

/// One number of a described structure.
pub trait Described: 'static {
    /// The structure the number belongs to.
    type Whole;
    /// Table header in a file.
    fn group(&self) -> &'static str;
    /// Key with its unit as suffix.
    fn key(&self) -> &'static str;
    /// Unit, `-` for a pure number.
    fn unit(&self) -> &'static str;
    /// Lowest and highest value as text.
    fn bounds(&self) -> (String, String);
    /// What the number means.
    fn meaning(&self) -> String;
    /// The number in `whole`, as written in a file.
    fn written(&self, whole: &Self::Whole) -> String;
    /// Puts `value` into `whole` if the range admits it; NaN never is.
    fn admit(&self, whole: &mut Self::Whole, value: f64) -> bool;

    /// The range with its unit, for messages and comments.
    fn range(&self) -> String {
        let (low, high) = self.bounds();
        match self.unit() {
            "-" => format!("{low} to {high}"),
            unit => format!("{low} to {high} {unit}"),
        }
    }
}

impl<T: 'static> Described for Field<T> {
    type Whole = T;
    fn group(&self) -> &'static str {
        self.group
    }
    fn key(&self) -> &'static str {
        self.key
    }
    fn unit(&self) -> &'static str {
        self.unit
    }
    fn bounds(&self) -> (String, String) {
        (self.low.to_string(), self.high.to_string())
    }
    fn meaning(&self) -> String {
        self.meaning.trim().to_owned()
    }
    fn written(&self, whole: &T) -> String {
        format!("{:?}", (self.read)(whole))
    }
    fn admit(&self, whole: &mut T, value: f64) -> bool {
        let inside = self.low <= value && value <= self.high;
        if inside {
            (self.write)(whole, value);
        }
        inside
    }
}

impl Described for Entry {
    type Whole = Tunables<f32>;
    fn group(&self) -> &'static str {
        self.group
    }
    fn key(&self) -> &'static str {
        self.name
    }
    fn unit(&self) -> &'static str {
        self.unit
    }
    fn bounds(&self) -> (String, String) {
        (self.low.to_string(), self.high.to_string())
    }
    fn meaning(&self) -> String {
        format!("{} ({})", self.reason.trim(), self.provenance.name())
    }
    fn written(&self, whole: &Tunables<f32>) -> String {
        format!("{:?}", (self.read)(whole))
    }
    fn admit(&self, whole: &mut Tunables<f32>, value: f64) -> bool {
        // The page holds f32: the bound is judged after rounding, so that a bound written out in full is admitted.
        let rounded = value as f32;
        let inside = self.admits(rounded);
        if inside {
            (self.write)(whole, rounded);
        }
        inside
    }
}
