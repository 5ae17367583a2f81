//! The law and the car as units of a co-simulation: numbered variables, one step at a time, state that can be put back.
//!
//! Two models. `controller` is the law: the signals of its table with age and validity in, all outputs and the trace out, every
//! tunable of the catalogue a parameter that may change between steps. `car` is the plant with driver's controls, powertrain
//! control, brake control and sensors: what the driver does and the two valve currents in, what the law is told and the truth out.
//!
//! Order of exchange at a communication point, the one of a run (see [`crate::run`]): the driver's action goes into the car; the car's
//! outputs, which answer at once, go into the controller; the controller steps; its currents and its request go into the car; the
//! car steps. The request for front spin is heard one period later, as in a run. With this order a co-simulation is the run to the
//! last bit; exchanging at the end of a step costs one period of dead time.
//!
//! Wrong values are refused before they are taken: NaN, infinity, what lies outside its range, steps that are no whole number of
//! periods, time that is not the unit's. Limits: steps are whole multiples of 5 ms; no faults, no roads along a path.

mod car;
mod controller;
pub mod description;
pub mod reference;
mod variables;

pub use variables::{Causality, Variable, variables};

use crate::run::PERIOD_S;
use car::CarSide;
use controller::ControllerSide;
use std::fmt;

/// Longest step, control periods.
const LONGEST_STEP: f64 = 1.0e6;

/// Error of time that is still the same instant, s.
const SAME_INSTANT_S: f64 = 1.0e-6;

/// What a unit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// The law.
    Controller,
    /// The plant with its sensors.
    Car,
}

impl Model {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Controller, Self::Car];

    /// Name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Controller => "controller",
            Self::Car => "car",
        }
    }

    /// Name of the model and of its shared library.
    pub fn identifier(self) -> &'static str {
        match self {
            Self::Controller => "couplet_controller",
            Self::Car => "couplet_car",
        }
    }

    /// What it is, in a sentence.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Controller => {
                "Control law for a rear axle with two independently controlled clutches"
            }
            Self::Car => {
                "Invented car with a rear axle of two clutches, its sensors and its driver's controls"
            }
        }
    }

    /// A text that only a description of these very variables has: FNV-1a over all of them.
    pub fn token(self) -> String {
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for variable in variables(self) {
            let text = format!(
                "{} {} {:?} {} {} {};",
                variable.name,
                variable.unit,
                variable.causality,
                variable.low,
                variable.high,
                variable.start
            );
            for byte in text.bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
        format!("{{{}-{hash:016x}}}", self.identifier())
    }

    /// The model whose token this is.
    pub fn of_token(token: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|model| model.token() == token)
    }
}

/// Why something was not done. The unit is as it was.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// No variable has this number.
    Unknown {
        /// The number.
        reference: u32,
    },
    /// No variable has this name.
    UnknownName {
        /// The name.
        name: String,
    },
    /// An output cannot be set.
    Output {
        /// Its name.
        name: &'static str,
    },
    /// A parameter that is fixed from the start on.
    Fixed {
        /// Its name.
        name: &'static str,
    },
    /// A value that is NaN, infinite or outside its range.
    Range {
        /// Name of the variable.
        name: &'static str,
        /// The value.
        value: f64,
        /// Lowest value.
        low: f64,
        /// Highest value.
        high: f64,
        /// Unit.
        unit: &'static str,
    },
    /// Tunables that contradict each other, or the calibration table's ranges; the ones before stay in force.
    Calibration {
        /// What must hold.
        what: String,
    },
    /// A step that is no whole number of periods, or too long.
    StepSize {
        /// The step, s.
        step_s: f64,
    },
    /// A step from another time than the unit's.
    Time {
        /// Time asked for, s.
        asked_s: f64,
        /// Time of the unit, s.
        own_s: f64,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { reference } => write!(
                f,
                "no variable has the value reference {reference}: use the model description of this library"
            ),
            Self::UnknownName { name } => write!(f, "no variable is called {name}"),
            Self::Output { name } => write!(f, "{name} is an output and cannot be set"),
            Self::Fixed { name } => write!(
                f,
                "{name} is fixed: set it before the end of initialisation"
            ),
            Self::Range {
                name,
                value,
                low,
                high,
                unit,
            } => {
                let wanted = if *low == f64::MIN && *high == f64::MAX {
                    "a finite number".to_owned()
                } else {
                    format!("a number from {low} to {high}")
                };
                write!(
                    f,
                    "{name} = {value} {unit} is refused: {wanted} is wanted; the value before stays"
                )
            }
            Self::Calibration { what } => write!(
                f,
                "calibration refused, the one before stays in force: {what}"
            ),
            Self::StepSize { step_s } => write!(
                f,
                "step of {step_s} s refused: a whole multiple of {PERIOD_S} s is wanted, at most {LONGEST_STEP} of them"
            ),
            Self::Time { asked_s, own_s } => write!(
                f,
                "step from {asked_s} s refused: this unit stands at {own_s} s"
            ),
        }
    }
}

impl std::error::Error for Refusal {}

/// What works inside.
#[derive(Debug, Clone)]
enum Inside {
    Controller(Box<ControllerSide>),
    Car(Box<CarSide>),
}

/// A unit of a co-simulation. A clone is its whole state.
#[derive(Debug, Clone)]
pub struct Unit {
    model: Model,
    values: Vec<f64>,
    running: bool,
    retuned: bool,
    stale: bool,
    start_s: f64,
    tick: u64,
    inside: Option<Inside>,
}

impl Unit {
    /// A unit before its start, with the start values of its description.
    pub fn new(model: Model) -> Self {
        Self {
            model,
            values: variables(model).iter().map(|one| one.start).collect(),
            running: false,
            retuned: false,
            stale: true,
            start_s: 0.0,
            tick: 0,
            inside: None,
        }
    }

    /// What it is.
    pub fn model(&self) -> Model {
        self.model
    }

    /// Time, s.
    pub fn time_s(&self) -> f64 {
        self.start_s + self.tick as f64 * PERIOD_S
    }

    /// The number of the variable of a name.
    ///
    /// # Errors
    /// If there is none.
    pub fn reference(model: Model, name: &str) -> Result<u32, Refusal> {
        let found = variables(model).iter().position(|one| one.name == name);
        found
            .map(|index| index as u32)
            .ok_or_else(|| Refusal::UnknownName {
                name: name.to_owned(),
            })
    }

    /// Sets an input or a parameter.
    ///
    /// # Errors
    /// Why not; nothing is changed then.
    pub fn set(&mut self, reference: u32, value: f64) -> Result<(), Refusal> {
        let (Some(variable), Some(place)) = (
            variables(self.model).get(reference as usize),
            self.values.get_mut(reference as usize),
        ) else {
            return Err(Refusal::Unknown { reference });
        };
        match variable.causality {
            Causality::Output => {
                return Err(Refusal::Output {
                    name: &variable.name,
                });
            }
            Causality::Parameter if self.running => {
                return Err(Refusal::Fixed {
                    name: &variable.name,
                });
            }
            _ => {}
        }
        if !(value.is_finite() && variable.low <= value && value <= variable.high) {
            return Err(Refusal::Range {
                name: &variable.name,
                value,
                low: variable.low,
                high: variable.high,
                unit: variable.unit,
            });
        }
        *place = value;
        self.stale = true;
        match variable.causality {
            Causality::Tunable if self.running => self.retuned = true,
            Causality::Input => {}
            // Not running yet: it is built anew from all parameters.
            _ => self.inside = None,
        }
        Ok(())
    }

    /// Reads a variable; an output of the car answers to the inputs as they are set now.
    ///
    /// # Errors
    /// Why it has no value.
    pub fn get(&mut self, reference: u32) -> Result<f64, Refusal> {
        let Some(variable) = variables(self.model).get(reference as usize) else {
            return Err(Refusal::Unknown { reference });
        };
        if variable.causality == Causality::Output && self.stale {
            self.tell()?;
        }
        self.values
            .get(reference as usize)
            .copied()
            .ok_or(Refusal::Unknown { reference })
    }

    /// Says at what time the unit starts, s, before the end of the initialisation; what is no number counts as 0.
    pub fn begin_at(&mut self, start_s: f64) {
        if !self.running {
            self.start_s = if start_s.is_finite() { start_s } else { 0.0 };
        }
    }

    /// Ends the initialisation: fixed parameters are fixed from here on.
    ///
    /// # Errors
    /// A calibration that is refused.
    pub fn start(&mut self) -> Result<(), Refusal> {
        self.ready()?;
        self.running = true;
        Ok(())
    }

    /// One step of a whole number of control periods, inputs held.
    ///
    /// # Errors
    /// Why not; nothing is changed then.
    pub fn step(&mut self, at_s: f64, step_s: f64) -> Result<(), Refusal> {
        let own_s = self.time_s();
        // Written so that NaN is refused.
        if !((at_s - own_s).abs() <= SAME_INSTANT_S) {
            return Err(Refusal::Time {
                asked_s: at_s,
                own_s,
            });
        }
        let periods = (step_s / PERIOD_S).round();
        let whole = (step_s - periods * PERIOD_S).abs() <= SAME_INSTANT_S;
        if !(whole && (1.0..=LONGEST_STEP).contains(&periods)) {
            return Err(Refusal::StepSize { step_s });
        }
        self.ready()?;
        let values = &mut self.values;
        let retuned = std::mem::take(&mut self.retuned);
        match &mut self.inside {
            Some(Inside::Controller(side)) => {
                if retuned {
                    side.retune(values)?;
                }
                side.step(values, periods as u64);
            }
            Some(Inside::Car(side)) => side.step(values, periods as u64),
            None => {}
        }
        self.tick += periods as u64;
        self.stale = true;
        Ok(())
    }

    fn ready(&mut self) -> Result<(), Refusal> {
        if self.inside.is_none() {
            self.inside = Some(match self.model {
                Model::Controller => {
                    Inside::Controller(Box::new(ControllerSide::new(&self.values)?))
                }
                Model::Car => Inside::Car(Box::new(CarSide::new(&self.values))),
            });
        }
        Ok(())
    }

    fn tell(&mut self) -> Result<(), Refusal> {
        self.ready()?;
        match &self.inside {
            Some(Inside::Controller(side)) => side.tell(&mut self.values),
            Some(Inside::Car(side)) => side.tell(&mut self.values),
            None => {}
        }
        self.stale = false;
        Ok(())
    }
}
