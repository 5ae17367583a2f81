//! Single faults of a recording or its mapping: signs, units, exchanged wheels, lags, and what each means in words.
//!
//! They are found by [`super::physics`] and undone in a proposal by [`super::suggest`].

/// One thing that may be wrong with a recording or its mapping.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// Inputs of this group have the other sign.
    Sign(Signal),
    /// Inputs of this group must be multiplied by this: they are in another unit.
    Unit(Signal, Unit),
    /// Two wheels are exchanged.
    Exchanged(Pair),
    /// Inputs of this group are recorded later than the others by so much, s; negative: earlier.
    Late(Signal, f64),
}

/// Groups of inputs that stand or fall together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// Yaw rate.
    YawRate,
    /// Lateral acceleration.
    LateralAcceleration,
    /// Steering-wheel angle.
    Steering,
    /// All four wheel speeds.
    WheelSpeeds,
}

impl Signal {
    /// Names of the inputs.
    pub fn inputs(self) -> &'static [&'static str] {
        match self {
            Self::YawRate => &["yaw_rate"],
            Self::LateralAcceleration => &["lateral_acceleration"],
            Self::Steering => &["steering_wheel_angle"],
            Self::WheelSpeeds => &[
                "wheel_speed_front_left",
                "wheel_speed_front_right",
                "wheel_speed_rear_left",
                "wheel_speed_rear_right",
            ],
        }
    }
}

/// Units that are taken for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Degrees were read as radians.
    DegreesAsRadians,
    /// Radians were read as degrees.
    RadiansAsDegrees,
    /// km/h were read as m/s.
    KilometresAnHour,
    /// m/s were read as km/h.
    MetresASecond,
    /// g were read as m/s2.
    Gravity,
    /// m/s2 were read as g.
    NoGravity,
}

impl Unit {
    /// What the values must be multiplied by.
    pub fn factor(self) -> f64 {
        match self {
            Self::DegreesAsRadians => std::f64::consts::PI / 180.0,
            Self::RadiansAsDegrees => 180.0 / std::f64::consts::PI,
            Self::KilometresAnHour => 1.0 / 3.6,
            Self::MetresASecond => 3.6,
            Self::Gravity => 9.80665,
            Self::NoGravity => 1.0 / 9.80665,
        }
    }
}

/// Wheels that are taken for one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pair {
    /// Left and right in front.
    Front,
    /// Left and right at the rear.
    Rear,
    /// Left and right on both axles.
    Both,
    /// Front left and rear right.
    Falling,
    /// Front right and rear left.
    Rising,
    /// Front and rear on the left side.
    LeftSide,
    /// Front and rear on the right side.
    RightSide,
    /// Front and rear on both sides.
    Axles,
}

impl Pair {
    /// Front taken for rear: only slip tells these.
    pub const ALONG: [Self; 3] = [Self::LeftSide, Self::RightSide, Self::Axles];

    /// Every pair the turning of the car tells.
    pub const ALL: [Self; 5] = [
        Self::Front,
        Self::Rear,
        Self::Both,
        Self::Falling,
        Self::Rising,
    ];

    /// Where each wheel (front left, front right, rear left, rear right) is really found.
    pub fn order(self) -> [usize; 4] {
        match self {
            Self::Front => [1, 0, 2, 3],
            Self::Rear => [0, 1, 3, 2],
            Self::Both => [1, 0, 3, 2],
            Self::Falling => [3, 1, 2, 0],
            Self::Rising => [0, 2, 1, 3],
            Self::LeftSide => [2, 1, 0, 3],
            Self::RightSide => [0, 3, 2, 1],
            Self::Axles => [2, 3, 0, 1],
        }
    }
}

/// What a fault means for a mapping, in words: what is wrong, and what to write.
pub fn told(fault: Fault) -> (String, String) {
    let tables = |signal: Signal| {
        let names = signal.inputs().iter().map(|name| format!("[{name}]"));
        names.collect::<Vec<_>>().join(", ")
    };
    match fault {
        Fault::Sign(signal) => (
            format!("{} has the wrong sign", tables(signal)),
            format!("turn `sign` of {}", tables(signal)),
        ),
        Fault::Unit(signal, unit) => {
            let (from, to) = match unit {
                Unit::DegreesAsRadians => ("degrees", "radians"),
                Unit::RadiansAsDegrees => ("radians", "degrees"),
                Unit::KilometresAnHour => ("km/h", "m/s"),
                Unit::MetresASecond => ("m/s", "km/h"),
                Unit::Gravity => ("g", "m/s2"),
                Unit::NoGravity => ("m/s2", "g"),
            };
            (
                format!("{} is in {from} but read as {to}", tables(signal)),
                format!("correct `unit` of {}", tables(signal)),
            )
        }
        Fault::Exchanged(pair) => {
            let which = match pair {
                Pair::Front => "the front wheels, left and right,",
                Pair::Rear => "the rear wheels, left and right,",
                Pair::Both => "left and right wheels of both axles",
                Pair::Falling => "front left and rear right wheel",
                Pair::Rising => "front right and rear left wheel",
                Pair::LeftSide => "front left and rear left wheel",
                Pair::RightSide => "front right and rear right wheel",
                Pair::Axles => "front and rear wheels of both sides",
            };
            (
                format!("{which} are exchanged"),
                "exchange their `channel`".to_owned(),
            )
        }
        Fault::Late(signal, late_s) => (
            format!("{} comes {late_s:+.3} s after the others", tables(signal)),
            format!("write late_s = {late_s:.3} in {}", tables(signal)),
        ),
    }
}
