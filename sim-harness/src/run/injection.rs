//! Where faults act: between sensors and law, between law and valve, in the clutch.
//!
//! In: the faults of a scenario. Out, in every control step: what the law is told, whether its request is replaced, the
//! currents that flow, the state of the clutches. Several faults of one place act one after the other in the order of the
//! scenario. Everything is done in the frame of the car that is not mirrored, so a mirrored run is the exact mirror image;
//! chance comes from the seed of the scenario and the place of the fault in its list. Limits: the car's own brake controls
//! hear their sensors without faults; only what the law of the paired axle is told is spoiled.

use super::PERIOD_S;
use crate::fault::channel::{Channel, Message};
use crate::fault::{Fault, Kind, Place, other_side};
use crate::plant::sensors::mixed;
use crate::plant::wet_clutch::{Damage, Jam};
use crate::plant::{PerSide, Vehicle};
use crate::scenario::Scenario;
use couplet_controller::signal::inputs::{INPUT_SIGNALS, InputSignal, Parity, Status};
use couplet_controller::{Inputs, Reading};

/// Every place a fault can happen at: the inputs of the law, then the actuators.
pub fn places() -> Vec<Place> {
    let signals = INPUT_SIGNALS
        .iter()
        .map(|signal| Place::Signal(signal.name));
    let actuators = Place::ACTUATORS.iter().map(|(_, place)| *place);
    signals.chain(actuators).collect()
}

/// The place of that name.
pub fn place_named(name: &str) -> Option<Place> {
    places().into_iter().find(|place| place.name() == name)
}

/// Whether a kind of fault can happen at a place.
pub fn can_happen(place: Place, kind: Kind) -> bool {
    let has_sides = match place {
        Place::Signal(name) => signal(name).is_some_and(|signal| signal.parity == Parity::Swap),
        _ => true,
    };
    kind.happens_at(place.sort(), has_sides)
}

fn signal(name: &str) -> Option<&'static InputSignal> {
    INPUT_SIGNALS.iter().find(|signal| signal.name == name)
}

/// The signal of the other side.
fn across(own: &InputSignal) -> Option<&'static InputSignal> {
    signal(&other_side(own.name)?)
}

#[derive(Debug, Clone, PartialEq)]
struct Active {
    fault: Fault,
    channel: Channel,
    /// Pressure at the onset, Pa.
    onset_pa: Option<f64>,
}

/// The faults of one run with what they remember.
#[derive(Debug, Clone, PartialEq)]
pub struct Injection {
    faults: Vec<Active>,
    mirrored: bool,
}

impl Injection {
    /// The faults of a scenario.
    pub fn of(scenario: &Scenario) -> Self {
        let active = |(place, fault): (usize, &Fault)| Active {
            fault: *fault,
            channel: Channel::new(
                mixed(scenario.seed).wrapping_add(place as u64 + 1),
                PERIOD_S,
            ),
            onset_pa: None,
        };
        Self {
            faults: scenario.faults.iter().enumerate().map(active).collect(),
            mirrored: scenario.mirrored,
        }
    }

    /// Whether there is any fault in the scenario.
    pub fn is_empty(&self) -> bool {
        self.faults.is_empty()
    }

    /// What the law is told.
    pub fn inputs(&mut self, time_s: f64, healthy: &Inputs) -> Inputs {
        if self.faults.is_empty() {
            return *healthy;
        }
        let mut seen = if self.mirrored {
            healthy.mirrored()
        } else {
            *healthy
        };
        for active in &mut self.faults {
            let Place::Signal(name) = active.fault.place else {
                continue;
            };
            let Some(own) = signal(name) else { continue };
            let is_there = active.fault.is_there(time_s);
            let message = heard((own.read)(&seen));
            let other = across(own).map(|other| (other, heard((other.read)(&seen))));
            let kind = (active.fault.kind, active.fault.size);
            let across = other.map_or(Message::MISSING, |(_, message)| message);
            let arrived = active.channel.step(kind, is_there, message, across);
            if !is_there {
                continue;
            }
            (own.write)(&mut seen, said(arrived));
            if let (Kind::Swap, Some((other, _))) = (active.fault.kind, other) {
                (other.write)(&mut seen, said(message));
            }
        }
        if self.mirrored { seen.mirrored() } else { seen }
    }

    /// On which sides the law's request is replaced by a whole clutch.
    pub fn wrong_request(&self, time_s: f64) -> PerSide<bool> {
        let wrong = |side: bool| {
            self.faults.iter().any(|active| {
                active.fault.place == Place::Request { left: side } && active.fault.is_there(time_s)
            })
        };
        self.turned(PerSide {
            left: wrong(true),
            right: wrong(false),
        })
    }

    /// Currents that flow, A.
    pub fn current_a(
        &mut self,
        vehicle: &Vehicle,
        commanded_a: PerSide<f64>,
        time_s: f64,
    ) -> PerSide<f64> {
        if self.faults.is_empty() {
            return commanded_a;
        }
        let actuator = &vehicle.actuator;
        // As much as gives the highest pressure of the supply.
        let full_a = actuator.offset_a + actuator.maximum_pressure_pa / actuator.gain_pa_a;
        let mut flows = self.turned(commanded_a);
        for active in &mut self.faults {
            let Place::Current { left } = active.fault.place else {
                continue;
            };
            let is_there = active.fault.is_there(time_s);
            let (own, other) = if left {
                (&mut flows.left, &mut flows.right)
            } else {
                (&mut flows.right, &mut flows.left)
            };
            let before = *own;
            let message = |value: f64| Message {
                value,
                age_ms: 0,
                valid: true,
            };
            let kind = (active.fault.kind, active.fault.size);
            let arrived = active
                .channel
                .step(kind, is_there, message(before), message(*other));
            if !is_there {
                continue;
            }
            *own = match active.fault.kind {
                Kind::Full => full_a,
                // What is no number drives no current.
                _ if arrived.valid && arrived.value > 0.0 => arrived.value.min(full_a),
                _ => 0.0,
            };
            if active.fault.kind == Kind::Swap {
                *other = before;
            }
        }
        self.turned(flows)
    }

    /// What the clutches have come to; `pressure_pa` is that at their pistons now.
    pub fn damage(&mut self, time_s: f64, pressure_pa: PerSide<f64>) -> PerSide<Damage> {
        let pressure_pa = self.turned(pressure_pa);
        let mut damage = PerSide::both(Damage::default());
        for active in &mut self.faults {
            let Place::Clutch { left } = active.fault.place else {
                continue;
            };
            if !active.fault.is_there(time_s) {
                active.onset_pa = None;
                continue;
            }
            let (own, pressure_pa) = if left {
                (&mut damage.left, pressure_pa.left)
            } else {
                (&mut damage.right, pressure_pa.right)
            };
            let size = active.fault.size;
            match active.fault.kind {
                Kind::Stuck => {
                    own.jam = Jam::AtPressure {
                        pressure_pa: *active.onset_pa.get_or_insert(pressure_pa),
                    };
                }
                Kind::StuckOpen => own.jam = Jam::AtShare { share: 0.0 },
                Kind::StuckClosed => own.jam = Jam::AtShare { share: size },
                Kind::Leak => own.pressure_kept *= 1.0 - size,
                Kind::TouchPoint => own.touch_point_pa += 1.0e5 * size,
                _ => {}
            }
        }
        self.turned(damage)
    }

    fn turned<T: Copy>(&self, pair: PerSide<T>) -> PerSide<T> {
        if self.mirrored { pair.mirrored() } else { pair }
    }
}

fn heard(reading: Reading) -> Message {
    Message {
        value: f64::from(reading.value),
        age_ms: reading.age_ms,
        valid: reading.status == Status::VALID,
    }
}

fn said(message: Message) -> Reading {
    Reading {
        value: message.value as f32,
        age_ms: message.age_ms,
        status: if message.valid {
            Status::VALID
        } else {
            Status::INVALID
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Manoeuvre;

    fn with(faults: &[Fault], mirrored: bool) -> Injection {
        let mut scenario = Scenario::of(Manoeuvre::StraightAhead);
        scenario.faults = faults.to_vec();
        scenario.mirrored = mirrored;
        Injection::of(&scenario)
    }

    #[test]
    fn full_current_flows_on_its_side_in_its_time_and_on_the_other_side_in_the_mirror() {
        let fault = Fault {
            duration_s: 0.1,
            ..Fault::from(Place::Current { left: true }, Kind::Full, 1.0)
        };
        let vehicle = Vehicle::default();
        for (time_s, wrong) in [(0.995, false), (1.0, true), (1.095, true), (1.1, false)] {
            let given =
                |mirrored| with(&[fault], mirrored).current_a(&vehicle, PerSide::both(0.2), time_s);
            // 36 bar over 34 bar/A above 0.15 A.
            assert_eq!(given(false).left > 1.2, wrong, "at {time_s} s");
            assert_eq!(given(false).right, 0.2, "at {time_s} s");
            assert_eq!(given(true), given(false).mirrored());
        }
    }

    #[test]
    fn every_place_takes_some_kind_and_every_kind_some_place() {
        for place in places() {
            assert!(
                Kind::ALL.iter().any(|kind| can_happen(place, *kind)),
                "{}",
                place.name()
            );
        }
        for kind in Kind::ALL {
            assert!(
                places().iter().any(|place| can_happen(*place, kind)),
                "{}",
                kind.name()
            );
        }
        assert!(!can_happen(Place::Signal("yaw_rate"), Kind::Swap));
        assert!(can_happen(
            Place::Signal("wheel_speed_rear_left"),
            Kind::Swap
        ));
    }

    #[test]
    fn a_signal_spoiled_in_the_mirror_is_the_mirror_image_of_the_spoiled_signal() {
        let mut healthy = Inputs::default();
        for (place, signal) in INPUT_SIGNALS.iter().enumerate() {
            (signal.write)(&mut healthy, Reading::fresh(0.5 + place as f32));
        }
        for place in places() {
            for kind in Kind::ALL
                .into_iter()
                .filter(|kind| can_happen(place, *kind))
            {
                let fault = Fault::from(place, kind, 0.0);
                let (mut plain, mut twin) = (with(&[fault], false), with(&[fault], true));
                for step in 0..60 {
                    let time_s = f64::from(step - 20) * PERIOD_S;
                    let seen = plain.inputs(time_s, &healthy).mirrored();
                    let seen_twin = twin.inputs(time_s, &healthy.mirrored());
                    // Bits, since what is corrupted may be no number.
                    for signal in INPUT_SIGNALS {
                        let (one, other) = ((signal.read)(&seen), (signal.read)(&seen_twin));
                        assert_eq!(one.status, other.status, "{}", fault.words());
                        assert_eq!(one.age_ms, other.age_ms, "{}", fault.words());
                        assert!(
                            one.value == other.value
                                || (one.value.is_nan() && other.value.is_nan()),
                            "{} {}",
                            fault.words(),
                            signal.name
                        );
                    }
                }
            }
        }
    }
}
