//! Fault matrix: every single fault over speed, manoeuvre, setting and hands, against the drive without it.
//!
//! In: a [`Cell`]. Out: its [`Verdict`]: what the fault does to the car, when the law finds it, commands release and lets
//! go. The drive without the fault is the same to the bit until the onset, so a difference is the fault's. Limits:
//! [`limits`]; the sizes of the faults are in [`list`], chosen, no source; the onset is 0.2 s after the driver's action, in
//! the middle of what that starts. The faults of a left signal are driven on a straight for both sides: the car is its own
//! mirror image there, which another test proves to the bit.

pub mod double;
pub mod judge;
pub mod list;

pub use judge::{Limits, Verdict, judge, limits};

use crate::fault::{Fault, Kind, Place};
use crate::scenario::{Manoeuvre, Scenario};

/// When the driver acts, s.
pub const ACTION_S: f64 = 0.5;
/// When the fault begins, s.
pub const ONSET_S: f64 = 0.7;
/// How long a drive lasts after the onset, s: two seconds and what rounding takes.
const LASTS_S: f64 = 2.05;

/// Speeds of the matrix, km/h.
pub const SPEEDS_KM_H: [f64; 4] = [60.0, 90.0, 120.0, 160.0];

/// Settings of the matrix.
pub const SETTINGS: [&str; 2] = ["patrol", "response"];

/// What the driver does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Straight ahead at constant speed.
    Cruise,
    /// Straight ahead, 1.5 m/s2.
    Power,
    /// A turn of 4 m/s2 with 1 m/s2 of acceleration.
    CurvePower,
    /// The accelerator released in a turn of 5 m/s2.
    LiftOff,
    /// Braking straight ahead, about 4 m/s2.
    Braking,
}

impl Act {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Cruise,
        Self::Power,
        Self::CurvePower,
        Self::LiftOff,
        Self::Braking,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cruise => "cruise",
            Self::Power => "power",
            Self::CurvePower => "curve-power",
            Self::LiftOff => "lift-off",
            Self::Braking => "braking",
        }
    }

    fn turns(self) -> bool {
        matches!(self, Self::CurvePower | Self::LiftOff)
    }

    fn set(self, scenario: &mut Scenario) {
        let numbers = &mut scenario.numbers;
        match self {
            Self::Cruise => {}
            Self::Power => numbers.course.speed_rise_m_s2 = 1.5,
            Self::CurvePower => {
                numbers.course.speed_rise_m_s2 = 1.0;
                numbers.disturbance.turn_m_s2 = 4.0;
            }
            Self::LiftOff => {
                numbers.disturbance.turn_m_s2 = 5.0;
                numbers.disturbance.lift_off = 1.0;
            }
            Self::Braking => {
                numbers.disturbance.lift_off = 1.0;
                numbers.driver.brake = 0.2;
            }
        }
    }
}

/// What is special about the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Car {
    /// Nothing.
    Nominal,
    /// Rear tyres 2 % large, unknown to the law: about twice the overspeed, the worst radii.
    LargeRear,
    /// The axle at -20 degC, known to the law.
    Cold,
}

impl Car {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Nominal, Self::LargeRear, Self::Cold];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Nominal => "nominal",
            Self::LargeRear => "large-rear",
            Self::Cold => "cold",
        }
    }
}

/// One drive with a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// What goes wrong.
    pub fault: Fault,
    /// What the driver does.
    pub drive: Drive,
}

/// A drive, with or without a fault.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Speed at the action, km/h.
    pub speed_km_h: f64,
    /// What the driver does.
    pub act: Act,
    /// What is special about the car.
    pub car: Car,
    /// Demo setting.
    pub setting: &'static str,
    /// Whether a person steers, else the hands hold still.
    pub person: bool,
}

impl Drive {
    /// Its name: words separated by strokes.
    pub fn name(&self) -> String {
        let hands = if self.person { "person" } else { "still" };
        format!(
            "{}/{}/{}/{}/{hands}",
            self.speed_km_h,
            self.act.name(),
            self.car.name(),
            self.setting
        )
    }

    /// The drive with these faults.
    pub fn scenario(&self, name: &str, faults: &[Fault]) -> Scenario {
        let mut scenario = Scenario::of(Manoeuvre::Disturbance);
        scenario.name = name.to_owned();
        scenario.faults = faults.to_vec();
        let numbers = &mut scenario.numbers;
        numbers.course.speed_m_s = self.speed_km_h / 3.6;
        numbers.course.longest_s = ONSET_S + LASTS_S;
        numbers.driver.action_s = ACTION_S;
        numbers.disturbance.person = f64::from(u8::from(self.person));
        match self.car {
            Car::Nominal => {}
            Car::LargeRear => numbers.car.rear_radius_scale = 1.02,
            Car::Cold => numbers.road.axle_degc = -20.0,
        }
        self.act.set(&mut scenario);
        scenario
    }
}

impl Cell {
    /// Its name: words separated by strokes, the fault first.
    pub fn name(&self) -> String {
        let fault = &self.fault;
        format!(
            "{}/{}/{}",
            fault.place.name(),
            fault.kind.name(),
            self.drive.name()
        )
    }

    /// The drive with the fault.
    pub fn scenario(&self) -> Scenario {
        self.drive.scenario("fault", &[self.fault])
    }
}

/// Every drive of the matrix.
pub fn drives() -> Vec<Drive> {
    let mut all = Vec::new();
    for setting in SETTINGS {
        for act in Act::ALL {
            for speed_km_h in SPEEDS_KM_H {
                for person in [false, true] {
                    for car in Car::ALL {
                        all.push(Drive {
                            speed_km_h,
                            act,
                            car,
                            setting,
                            person,
                        });
                    }
                }
            }
        }
    }
    all
}

/// Every cell of the matrix, in an order that only grows at its end.
pub fn cells() -> Vec<Cell> {
    let faults = list::single();
    let mut all = Vec::new();
    for drive in drives() {
        for fault in &faults {
            let actuator = !matches!(fault.place, Place::Signal(_));
            // Radii and cold oil change what an actuator does; what a signal does to the law hangs on neither.
            let wanted = (actuator || drive.car == Car::Nominal)
                && (drive.act.turns() || !list::is_right(fault.place));
            if wanted {
                all.push(Cell {
                    fault: *fault,
                    drive,
                });
            }
        }
    }
    all
}

/// Whether the fault is a clutch that is mechanically jammed closed.
pub fn is_jammed(fault: &Fault) -> bool {
    matches!(fault.place, Place::Clutch { .. }) && fault.kind == Kind::StuckClosed
}
