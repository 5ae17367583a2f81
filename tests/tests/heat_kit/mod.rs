//! Uses of the axle at event level: what the clutches are asked for and how they slip, without the rest of the car.
//!
//! A use is a course of events of seconds (launch, corner, climb, slide, rest); every 10 ms it tells asked capacity, slip, speed. The
//! controller's thermal stage grants what its ceilings leave; the truth is the plant's plates with numbers of its own. Torques in N m at
//! the wheel, slips in rad/s. All sizes are invented; the launch is that of a 1800 kg car on a 15 to 20 % grade (48 to 77 kJ).

// Every suite is its own crate and uses its own part of the kit.
#![allow(dead_code)]

use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::stage::Stage;
use couplet_controller::stage::thermal::{In, Out, Rest, State, Thermal, ThermalTunables};
use couplet_sim::plant::heat::AxleHeat;
use couplet_sim::plant::{PerSide as Both, Vehicle};

/// Step of stage and truth, s.
pub const PERIOD_S: f32 = 0.01;

/// Length of a use without its rests, s.
pub const USE_S: f32 = 1200.0;

/// Small generator with a seed of its own (xorshift, 64 bits).
pub struct Chance(u64);

impl Chance {
    /// The generator of a use.
    pub fn of(seed: u64, index: u64) -> Self {
        let mut chance = Self(seed ^ (index + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
        for _ in 0..8 {
            chance.share();
        }
        chance
    }

    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

/// Kinds of use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Launches,
    Circuit,
    Climb,
    Slide,
    KeyCycles,
    /// Three hours of drives of 5 to 25 min, the key off between them for 10 min to 4 h: not among [`KINDS`].
    Day,
    /// Launches of 77 kJ every 12 s for 600 s, then as long at rest: not among [`KINDS`].
    Hardest,
}

pub const KINDS: [Kind; 5] = [
    Kind::Launches,
    Kind::Circuit,
    Kind::Climb,
    Kind::Slide,
    Kind::KeyCycles,
];

/// One event: capacities and slips go evenly from their first to their last value.
#[derive(Debug, Clone, Copy)]
pub struct Event {
    pub time_s: f64,
    pub asked_nm: (f64, f64),
    pub slip_rad_s: [(f64, f64); 2],
    pub speed_m_s: (f64, f64),
    /// Key off for this time instead, s; whether the law is told.
    pub asleep: Option<(f64, bool)>,
}

fn driven(time_s: f64, asked_nm: (f64, f64), slip: [(f64, f64); 2], speed: (f64, f64)) -> Event {
    Event {
        time_s,
        asked_nm,
        slip_rad_s: slip,
        speed_m_s: speed,
        asleep: None,
    }
}

/// The next events of a kind of use.
pub fn events(kind: Kind, chance: &mut Chance) -> Vec<Event> {
    let swap = chance.share() < 0.5;
    let sided = |high: f64, low: f64| if swap { (low, high) } else { (high, low) };
    let slips = |high: (f64, f64), low: (f64, f64)| if swap { [low, high] } else { [high, low] };
    match kind {
        Kind::Launches => {
            let over = chance.between(0.0, 6.0);
            let (time_s, every_s) = (chance.between(3.0, 7.0), chance.between(12.0, 30.0));
            let high = chance.between(800.0, 1100.0);
            vec![
                driven(
                    time_s,
                    sided(high, 150.0),
                    slips((17.0 + over, over), (17.0 + over, over)),
                    (0.0, 5.6),
                ),
                driven(
                    (every_s - time_s).max(1.0),
                    (0.0, 0.0),
                    [(0.0, 0.0); 2],
                    (2.0, 0.0),
                ),
            ]
        }
        Kind::Circuit => {
            let speed = chance.between(14.0, 40.0);
            let slip = chance.between(0.5, 5.0);
            vec![
                driven(
                    chance.between(1.5, 4.0),
                    sided(chance.between(300.0, 1000.0), chance.between(0.0, 200.0)),
                    slips((slip, 0.5 * slip), (slip + 3.0, slip)),
                    (speed, speed + 8.0),
                ),
                driven(
                    chance.between(1.5, 6.0),
                    (0.0, 0.0),
                    [(1.0, 1.0); 2],
                    (speed + 8.0, speed),
                ),
            ]
        }
        Kind::Climb => {
            let speed = chance.between(6.0, 20.0);
            let slip = chance.between(0.2, 1.8);
            let torque = chance.between(200.0, 600.0);
            let time_s = chance.between(5.0, 60.0);
            vec![
                driven(
                    time_s,
                    sided(torque, 0.8 * torque),
                    [(slip, slip); 2],
                    (speed, speed),
                ),
                driven(
                    chance.between(0.5, 10.0),
                    (0.0, 0.0),
                    [(0.5, 0.5); 2],
                    (speed, speed),
                ),
            ]
        }
        Kind::Slide => {
            let speed = chance.between(7.0, 14.0);
            let slip = chance.between(2.0, 15.0);
            let time_s = chance.between(10.0, 120.0);
            vec![
                driven(
                    time_s,
                    sided(chance.between(500.0, 1000.0), 0.0),
                    slips((slip, slip), (slip + 10.0, slip + 10.0)),
                    (speed, speed),
                ),
                driven(
                    chance.between(5.0, 60.0),
                    (0.0, 0.0),
                    [(1.0, 1.0); 2],
                    (speed, 3.0),
                ),
            ]
        }
        Kind::Hardest => {
            let launch = driven(4.0, sided(1100.0, 150.0), [(24.0, 7.0); 2], (0.0, 5.6));
            let pause = driven(8.0, (0.0, 0.0), [(0.0, 0.0); 2], (2.0, 0.0));
            let mut course = [launch, pause].repeat(50);
            course.push(driven(900.0, (0.0, 0.0), [(0.0, 0.0); 2], (10.0, 10.0)));
            course
        }
        Kind::KeyCycles | Kind::Day => {
            let day = kind == Kind::Day;
            let inner = KINDS[(chance.share() * 4.0) as usize];
            let mut course = Vec::new();
            let mut left_s = if day {
                chance.between(300.0, 1500.0)
            } else {
                chance.between(30.0, 240.0)
            };
            while left_s > 0.0 {
                let more = events(inner, chance);
                left_s -= more.iter().map(|event| event.time_s).sum::<f64>();
                course.extend(more);
            }
            let asleep_s = if day {
                chance.between(600.0, 14_400.0)
            } else {
                10.0_f64.powf(chance.between(0.3, 3.0))
            };
            course.push(Event {
                time_s: 0.0,
                asked_nm: (0.0, 0.0),
                slip_rad_s: [(0.0, 0.0); 2],
                speed_m_s: (0.0, 0.0),
                asleep: Some((asleep_s, day || chance.share() < 0.7)),
            });
            course
        }
    }
}

/// How far the truth is off the plant's numbers, each as a factor.
#[derive(Debug, Clone, Copy)]
pub struct Off {
    pub torque: Both<f64>,
    pub lag: f64,
    pub heat: [f64; 12],
}

impl Off {
    pub const NONE: Self = Self {
        torque: Both {
            left: 1.0,
            right: 1.0,
        },
        lag: 1.0,
        heat: [1.0; 12],
    };

    /// Every number off by up to `share`, in one half of the uses by the whole of it, up or down.
    pub fn drawn(chance: &mut Chance, share: f64) -> Self {
        let corner = chance.share() < 0.5;
        let mut factor = || {
            let place = chance.between(-1.0, 1.0);
            1.0 + share * if corner { place.signum() } else { place }
        };
        Self {
            torque: Both {
                left: factor(),
                right: factor(),
            },
            lag: factor(),
            heat: std::array::from_fn(|_| factor()),
        }
    }

    /// All torques up, heat capacities by `capacity`, conductances by `conductance`.
    pub fn worst(share: f64, capacity: f64, conductance: f64) -> Self {
        let (c, g) = (1.0 + share * capacity, 1.0 + share * conductance);
        Self {
            torque: Both::both(1.0 + share),
            lag: 1.0 - share,
            heat: [c, c, c, c, c, g, g, g, g, g, g, g],
        }
    }

    pub fn vehicle(&self) -> Vehicle {
        let mut vehicle = Vehicle::default();
        let (heat, plates) = (&mut vehicle.heat, &mut vehicle.plates);
        plates.conduction = 1.0;
        for (number, factor) in [
            &mut plates.steel_heat_j_kg_k,
            &mut plates.lining_heat_j_kg_k,
            &mut plates.drum_capacity_j_k,
            &mut heat.oil_capacity_j_k,
            &mut heat.housing_capacity_j_k,
            &mut plates.steel_drum_w_k,
            &mut plates.carrier_drum_w_k,
            &mut plates.drum_oil_w_k,
            &mut plates.groove_oil_w_k,
            &mut heat.oil_housing_w_k,
            &mut heat.housing_air_w_k,
            &mut heat.housing_air_per_speed_w_k_m_s,
        ]
        .into_iter()
        .zip(self.heat)
        {
            *number *= factor;
        }
        vehicle
    }
}

/// Truth and law at one moment.
#[derive(Debug, Clone, Copy)]
pub struct Moment {
    pub time_s: f32,
    pub truth_surface_degc: PerSide<f32>,
    pub truth_core_degc: PerSide<f32>,
    pub truth_oil_degc: f32,
    pub start_oil_degc: f32,
    /// The law's cooling was the assumed one since the last start: false after a rest of unknown length.
    pub known: bool,
    pub out: Out<f32>,
}

/// Drives a use; `watch` sees every step.
pub fn drive(
    kind: Kind,
    tunables: &ThermalTunables<f32>,
    off: &Off,
    chance: &mut Chance,
    mut watch: impl FnMut(&Moment),
) {
    let vehicle = off.vehicle();
    let stage = Thermal::new(*tunables);
    let ambient = chance.between(-20.0, 40.0);
    let start = if chance.share() < 0.5 {
        ambient
    } else {
        ambient.max(60.0)
    };
    let mut truth = AxleHeat::of(&vehicle, start, start, ambient);
    let mut state = State::at(&tunables.network, start as f32);
    let mut leaves = PerSide::both(1.0_f32);
    let mut torque = Both::both(0.0_f64);
    let mut known = true;
    let mut at_s = 0.0_f32;
    let lag_s = 0.055 * off.lag;
    let length_s = if kind == Kind::Day {
        9.0 * USE_S
    } else {
        USE_S
    };
    while at_s < length_s {
        for event in events(kind, chance) {
            if let Some((asleep_s, told)) = event.asleep {
                let rest = if told {
                    Rest::Known(asleep_s as f32)
                } else {
                    Rest::Unknown
                };
                let open = state.derating.map(|side| side.open);
                let most = stage.most(&state);
                state = stage.wake((&state.estimate, Some(most)), rest, ambient as f32, open);
                known &= told;
                for _ in 0..(asleep_s / 0.5).ceil() as u32 {
                    truth.step(&vehicle.heat, Both::both(0.0), 0.0, 0.5);
                }
                leaves = state
                    .derating
                    .map(|side| if side.open { 0.0 } else { 1.0 - side.withdrawn });
                torque = Both::both(0.0);
                continue;
            }
            let steps = (event.time_s / f64::from(PERIOD_S)).ceil();
            for index in 0..steps as u32 {
                let share = f64::from(index) / steps;
                let along = |ends: (f64, f64)| ends.0 + share * (ends.1 - ends.0);
                let slip = [along(event.slip_rad_s[0]), along(event.slip_rad_s[1])];
                let speed = along(event.speed_m_s);
                let granted = PerSide {
                    left: event.asked_nm.0 as f32 * leaves.left,
                    right: event.asked_nm.1 as f32 * leaves.right,
                };
                let out = stage.step(
                    &mut state,
                    &In {
                        granted_nm: granted,
                        slip_rad_s: PerSide {
                            left: Sensed::Fresh(slip[0] as f32),
                            right: Sensed::Fresh(slip[1] as f32),
                        },
                        speed_m_s: speed as f32,
                        ambient_degc: ambient as f32,
                    },
                    PERIOD_S,
                );
                leaves = out
                    .ceiling
                    .zip(out.open, |share, open| if open { 0.0 } else { share });
                let period_s = f64::from(PERIOD_S);
                let gain = 1.0 - libm::exp(-period_s / lag_s);
                torque.left += gain * (f64::from(granted.left) - torque.left);
                torque.right += gain * (f64::from(granted.right) - torque.right);
                // The open pack's drag, 1.5 N m, makes heat that the law does not count.
                let heat_w = Both {
                    left: (off.torque.left * torque.left + 1.5) * slip[0].abs(),
                    right: (off.torque.right * torque.right + 1.5) * slip[1].abs(),
                };
                truth.step(&vehicle.heat, heat_w, speed, period_s);
                at_s += PERIOD_S;
                let single = |both: Both<f64>| PerSide {
                    left: both.left as f32,
                    right: both.right as f32,
                };
                watch(&Moment {
                    time_s: at_s,
                    truth_surface_degc: single(truth.surface_degc),
                    truth_core_degc: single(truth.core_degc),
                    truth_oil_degc: truth.oil_degc as f32,
                    start_oil_degc: start as f32,
                    known,
                    out,
                });
            }
        }
    }
}
