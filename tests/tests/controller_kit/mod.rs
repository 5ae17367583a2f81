//! Inputs, pages and mirrors for the suites that attack the whole controller.
//!
//! Out: [`Drive`], a smooth invented drive with consistent wheel speeds; [`Wild`], the same drive with signals torn out,
//! frozen, replaced and broken; [`page_of`], acceptable pages of a seed; [`mirrored`], outputs seen in a mirror. All from
//! a seed by integers, so a failing seed in a message is a whole reproduction. Limits: kinematics only, no tyre and no
//! reaction of the car to the clutches. Car and numbers are invented.

// Every suite is its own crate and uses its own part of the kit.
#![allow(dead_code)]

use couplet_controller::calibration::ENTRIES;
use couplet_controller::quantity::{Sensed, Span};
use couplet_controller::signal::INPUT_SIGNALS;
use couplet_controller::signal::inputs::{InputSignal, Status};
use couplet_controller::signal::{Health, Limit};
use couplet_controller::{Inputs, Outputs, PerSide, PerWheel, RawPage, Reading, Trace};

/// Default period of the control step, s.
pub const PERIOD_S: f64 = 0.005;

/// Chance by whole numbers: a 64-bit mixer (splitmix64, public domain algorithm, from memory).
#[derive(Debug, Clone, Copy)]
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// 0 to `sides - 1`.
    pub fn below(&mut self, sides: usize) -> usize {
        (self.roll() % sides as u64) as usize
    }

    /// True once in `often`.
    pub fn once_in(&mut self, often: usize) -> bool {
        self.below(often) == 0
    }

    /// A number of a range, both ends possible.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.roll() >> 44) as f64 / 1_048_575.0)
    }
}

/// A smooth invented drive: speed, lateral acceleration and front spin as slow waves, wheel speeds that fit them.
#[derive(Debug, Clone, Copy)]
pub struct Drive {
    time_s: f64,
    reverse: bool,
    speed_m_s: (f64, f64, f64),
    launch_m_s2: f64,
    lateral_m_s2: (f64, f64, f64),
    spin_m_s: (f64, f64),
    yaw_error_rad_s: (f64, f64),
    speed_now_m_s: f64,
}

impl Drive {
    pub fn new(seed: u64) -> Self {
        let mut dice = Dice(seed.wrapping_mul(7919) ^ 0x5eed);
        let reverse = dice.once_in(8);
        let launching = dice.once_in(3);
        let middle = if reverse {
            dice.between(1.0, 4.0)
        } else {
            dice.between(6.0, 32.0)
        };
        let mut drive = Self {
            time_s: 0.0,
            reverse,
            speed_m_s: (
                middle,
                dice.between(0.0, 0.5) * middle,
                dice.between(5.0, 14.0),
            ),
            launch_m_s2: if launching {
                dice.between(1.5, 5.0)
            } else {
                0.0
            },
            lateral_m_s2: (
                dice.between(0.0, 7.5),
                dice.between(2.0, 7.0),
                dice.between(0.0, 6.0),
            ),
            spin_m_s: (dice.between(-0.5, 1.6).max(0.0), dice.between(2.0, 6.0)),
            yaw_error_rad_s: (dice.between(-0.05, 0.16).max(0.0), dice.between(1.5, 5.0)),
            speed_now_m_s: 0.0,
        };
        drive.speed_now_m_s = drive.speed_at(0.0);
        drive
    }

    fn speed_at(&self, time_s: f64) -> f64 {
        let (middle, wave, period_s) = self.speed_m_s;
        let cruising = middle + wave * turn(time_s / period_s);
        if self.launch_m_s2 > 0.0 {
            // Half a second at rest, then a soft start that ends at the cruising speed.
            let risen = self.launch_m_s2 * (time_s - 0.5).max(0.0);
            cruising * libm::tanh(risen / cruising)
        } else {
            cruising
        }
    }

    /// The inputs of the next step, all fresh.
    pub fn next(&mut self) -> Inputs {
        const WHEELBASE_M: f64 = 2.72;
        const TRACK_M: f64 = 1.58;
        const RADIUS_M: f64 = 0.32;
        const MASS_KG: f64 = 1720.0;
        self.time_s += PERIOD_S;
        let time_s = self.time_s;
        let speed = self.speed_at(time_s);
        let along = (speed - self.speed_now_m_s) / PERIOD_S;
        self.speed_now_m_s = speed;
        let (most, period_s, start_s) = self.lateral_m_s2;
        let wanted = most * turn((time_s - start_s) / period_s) * f64::from(time_s > start_s);
        let limited = |curvature: f64| curvature.clamp(-0.15, 0.15);
        let curvature = limited(wanted / (speed * speed).max(9.0));
        let grade = libm::tanh(speed);
        let yaw_error = self.yaw_error_rad_s.0 * turn(time_s / self.yaw_error_rad_s.1) * grade;
        let yaw_rate = curvature * speed + yaw_error;
        let lateral = curvature * speed * speed;
        let road_wheel = libm::atan(curvature * (WHEELBASE_M + 0.0033 * speed * speed));
        let braking = along < -1.2;
        let torque = if braking {
            -120.0
        } else {
            (MASS_KG * along + 250.0 + 0.6 * speed * speed) * RADIUS_M
        };
        let starting = self.launch_m_s2 > 0.0 && speed < 0.8 * self.speed_m_s.0;
        let pedal = if braking {
            0.0
        } else if starting {
            0.2 * self.launch_m_s2
        } else {
            (torque / 2500.0).clamp(0.0, 1.0)
        };
        let bump = turn(time_s / self.spin_m_s.1);
        let spin = self.spin_m_s.0 * bump * bump * (torque / 600.0).clamp(0.0, 1.0);
        let across = 0.5 * TRACK_M * yaw_rate;
        let (sine, cosine) = (libm::sin(road_wheel), libm::cos(road_wheel));
        let front_slip = torque / (2.0 * RADIUS_M * 90_000.0);
        let front = |side: f64| {
            ((speed + side * across) * cosine + yaw_rate * 1.142 * sine) * (1.0 + front_slip) + spin
        };
        let rear = |side: f64| speed + side * across;
        let sign = if self.reverse { -1.0 } else { 1.0 };
        let fresh = |value: f64| Reading::fresh(value as f32);
        let wheel = |ground: f64| fresh(sign * ground / RADIUS_M);
        let odd = |value: f64| fresh(sign * value);
        Inputs {
            wheel_speed_front_left: wheel(front(-1.0)),
            wheel_speed_front_right: wheel(front(1.0)),
            wheel_speed_rear_left: wheel(rear(-1.0)),
            wheel_speed_rear_right: wheel(rear(1.0)),
            yaw_rate: odd(yaw_rate),
            lateral_acceleration: fresh(lateral),
            longitudinal_acceleration: odd(along),
            steering_wheel_angle: fresh(15.0 * road_wheel),
            accelerator_pedal: fresh(pedal.min(1.0)),
            brake_pressure: fresh(if braking { -12.0 * along } else { 0.0 }),
            carrier_torque: odd(torque),
            carrier_torque_wanted: odd(torque * 1.05),
            gear: fresh(if self.reverse { -1.0 } else { 3.0 }),
            ambient_temperature: fresh(20.0),
            rear_torque_cap: fresh(20_000.0),
            yaw_moment_cap: fresh(40_000.0),
            open_now: fresh(0.0),
            anti_lock_active: fresh(0.0),
            stability_active: fresh(0.0),
            // No hydraulics in this kinematic car: it has no pressure sensors.
            clutch_pressure_left: Reading::missing(),
            clutch_pressure_right: Reading::missing(),
        }
    }
}

/// Sine of a number of turns.
fn turn(turns: f64) -> f64 {
    libm::sin(2.0 * core::f64::consts::PI * turns)
}

/// How a signal is torn out of a drive for a while.
#[derive(Debug, Clone, Copy)]
enum Tear {
    Value(f32),
    Glide { now: f32, to: f32 },
    Reading(Reading),
}

/// A drive with torn signals: physically wild, broken, stale, missing.
#[derive(Debug, Clone)]
pub struct Wild {
    drive: Drive,
    dice: Dice,
    torn: Vec<Option<(Tear, usize)>>,
    often: usize,
    broken_too: bool,
    torn_signals: usize,
}

impl Wild {
    /// About one tear in `often` steps; with `broken_too` also readings that are no reading.
    pub fn new(seed: u64, often: usize, broken_too: bool) -> Self {
        Self {
            drive: Drive::new(seed),
            dice: Dice(seed.wrapping_mul(104_729) ^ 0x0bad),
            torn: vec![None; INPUT_SIGNALS.len()],
            often,
            broken_too,
            // A pressure that is torn once releases its side for seconds, in the end for good: two drives of three are spared.
            torn_signals: INPUT_SIGNALS.len() - if seed.is_multiple_of(3) { 0 } else { 2 },
        }
    }

    pub fn next(&mut self) -> Inputs {
        let mut inputs = self.drive.next();
        if self.dice.once_in(self.often) {
            let place = self.dice.below(self.torn_signals);
            let tear = self.tear(&INPUT_SIGNALS[place], &inputs);
            let longest = if self.dice.once_in(6) { 400 } else { 60 };
            let steps = 1 + self.dice.below(longest);
            self.torn[place] = Some((tear, steps));
        }
        for (signal, torn) in INPUT_SIGNALS.iter().zip(&mut self.torn) {
            let Some((tear, left)) = torn else { continue };
            let reading = match tear {
                Tear::Value(value) => Reading::fresh(*value),
                Tear::Glide { now, to } => {
                    *now += (*to - *now) * 0.03;
                    Reading::fresh(*now)
                }
                Tear::Reading(reading) => *reading,
            };
            (signal.write)(&mut inputs, reading);
            *left -= 1;
            if *left == 0 {
                *torn = None;
            }
        }
        inputs
    }

    fn tear(&mut self, signal: &InputSignal, inputs: &Inputs) -> Tear {
        let kinds = if self.broken_too { 8 } else { 5 };
        match self.dice.below(kinds) {
            0 => Tear::Value(self.dice.between(signal.low.into(), signal.high.into()) as f32),
            1 => Tear::Glide {
                now: (signal.read)(inputs).value,
                to: self.dice.between(signal.low.into(), signal.high.into()) as f32,
            },
            2 => Tear::Value((signal.read)(inputs).value),
            3 => Tear::Value(0.0),
            4 => Tear::Value(if self.dice.once_in(2) {
                signal.low
            } else {
                signal.high
            }),
            _ => Tear::Reading(broken(&mut self.dice, signal)),
        }
    }
}

/// A reading that is no reading, or just about one.
pub fn broken(dice: &mut Dice, signal: &InputSignal) -> Reading {
    let tiny = f32::from_bits(1 + dice.below(1 << 20) as u32);
    let values = [
        f32::NAN,
        f32::INFINITY,
        f32::NEG_INFINITY,
        f32::MAX,
        f32::MIN,
        signal.high * 1.001 + 1.0,
        signal.low - signal.low.abs() * 0.001 - 1.0,
        -0.0,
        tiny,
        -tiny,
        f32::from_bits(dice.roll() as u32),
    ];
    let value = values[dice.below(values.len())];
    let ages = [0, 1, 29, 30, 31, 500, u16::MAX];
    let states = [0, 1, 1, 1, 2, u16::MAX];
    Reading {
        value,
        age_ms: ages[dice.below(ages.len())],
        status: Status(states[dice.below(states.len())]),
    }
}

/// Kinds of loss that leave nothing believable.
pub fn losses(signal: &InputSignal) -> [Reading; 6] {
    let stale = Reading {
        value: signal.low,
        age_ms: 31,
        status: Status::VALID,
    };
    [
        Reading::default(),
        Reading::missing(),
        Reading::fresh(f32::NAN),
        Reading::fresh(f32::INFINITY),
        Reading::fresh(signal.high * 1.001 + 1.0),
        stale,
    ]
}

/// An acceptable page of a seed: the nominal one, the corners of the setting, then a share of all numbers thrown anew.
pub fn page_of(seed: u64) -> RawPage {
    let corner = |agility: f32, steadiness: f32, slide_allowance_deg: f32| {
        let mut page = RawPage::default();
        page.tunables.setting.agility = agility;
        page.tunables.setting.steadiness = steadiness;
        page.tunables.setting.slide_allowance_deg = slide_allowance_deg;
        page
    };
    match seed {
        0 => return RawPage::default(),
        1 => return corner(0.0, 0.0, 0.0),
        2 => return corner(1.0, 0.0, 0.0),
        3 => return corner(0.0, 1.0, 0.0),
        4 => return corner(1.0, 1.0, 0.0),
        5 => return corner(1.0, 0.3, 25.0),
        _ => {}
    }
    let mut dice = Dice(seed.wrapping_mul(15_485_863));
    loop {
        let mut page = RawPage::default();
        let often = 2 + dice.below(12);
        for entry in ENTRIES {
            if dice.once_in(often) {
                let value = match dice.below(4) {
                    0 => entry.low,
                    1 => entry.high,
                    _ => dice.between(entry.low.into(), entry.high.into()) as f32,
                };
                (entry.write)(&mut page.tunables, value);
            }
        }
        if page.accept::<f32>().is_ok() {
            return page;
        }
    }
}

/// The outputs of the car seen in a mirror.
pub fn mirrored(outputs: &Outputs) -> Outputs {
    Outputs {
        capacity_nm: outputs.capacity_nm.mirrored(),
        torque_nm: outputs.torque_nm.mirrored(),
        torque_span_nm: outputs.torque_span_nm.mirrored(),
        pressure_bar: outputs.pressure_bar.mirrored(),
        current_a: outputs.current_a.mirrored(),
        granted: outputs.granted.mirrored(),
        yaw_moment_range_nm: outputs.yaw_moment_range_nm.negated(),
        surface_degc: outputs.surface_degc.mirrored(),
        core_degc: outputs.core_degc.mirrored(),
        heat_ceiling: outputs.heat_ceiling.mirrored(),
        time_to_limit_s: outputs.time_to_limit_s.mirrored(),
        heat_limit: outputs.heat_limit.mirrored(),
        clutch_life_used: outputs.clutch_life_used.mirrored(),
        faults: mirrored_faults(outputs.faults),
        ..*outputs
    }
}

/// The same faults of the car seen in a mirror: the four lowest bits are wheels, front left first; from 11 on clutches, left first;
/// from 21 on wheels again; 28 and 29 touch points.
pub fn mirrored_faults(faults: u32) -> u32 {
    let left = 0b0101 | 0b01_0101_0101 << 11 | 0b0101 << 21 | 1 << 28;
    let right = left << 1;
    (faults & !(left | right)) | (faults & left) << 1 | (faults & right) >> 1
}

/// Every number of the outputs.
pub fn numbers(outputs: &Outputs) -> Vec<f32> {
    let side = |pair: PerSide<f32>| [pair.left, pair.right];
    let span = |span: Span<f32>| [span.low, span.high];
    let granted = outputs.granted;
    [
        side(outputs.capacity_nm),
        side(outputs.torque_nm),
        span(outputs.torque_span_nm.left),
        span(outputs.torque_span_nm.right),
        side(outputs.pressure_bar),
        side(outputs.current_a),
        side(granted.map(|side| side.asked)),
        side(granted.map(|side| side.given)),
        span(outputs.rear_torque_range_nm),
        span(outputs.yaw_moment_range_nm),
        [
            outputs.front_spin_request_m_s,
            outputs.torque_limit_request_nm,
        ],
        side(outputs.surface_degc),
        side(outputs.core_degc),
        side(outputs.heat_ceiling),
        side(outputs.time_to_limit_s),
        side(outputs.clutch_life_used),
        [outputs.oil_degc, outputs.oil_life_used],
        [outputs.health_share, 0.0],
    ]
    .concat()
}

/// Inputs of a car that goes straight on at a speed, everything fresh, the driver asking for `torque_nm`.
pub fn straight(speed_m_s: f32, torque_nm: f32) -> Inputs {
    let wheel = Reading::fresh(speed_m_s / 0.32);
    Inputs {
        wheel_speed_front_left: wheel,
        wheel_speed_front_right: wheel,
        wheel_speed_rear_left: wheel,
        wheel_speed_rear_right: wheel,
        accelerator_pedal: Reading::fresh((torque_nm / 2500.0).clamp(0.0, 1.0)),
        carrier_torque: Reading::fresh(torque_nm),
        carrier_torque_wanted: Reading::fresh(torque_nm),
        gear: Reading::fresh(3.0),
        ambient_temperature: Reading::fresh(20.0),
        rear_torque_cap: Reading::fresh(20_000.0),
        yaw_moment_cap: Reading::fresh(40_000.0),
        clutch_pressure_left: Reading::missing(),
        clutch_pressure_right: Reading::missing(),
        ..INPUT_SIGNALS
            .iter()
            .fold(Inputs::default(), |mut inputs, signal| {
                (signal.write)(&mut inputs, Reading::fresh(0.0));
                inputs
            })
    }
}

/// Wheel speeds from one number per wheel, rad/s.
pub fn with_wheels(mut inputs: Inputs, wheel_rad_s: PerWheel<f32>) -> Inputs {
    inputs.wheel_speed_front_left = Reading::fresh(wheel_rad_s.front_left);
    inputs.wheel_speed_front_right = Reading::fresh(wheel_rad_s.front_right);
    inputs.wheel_speed_rear_left = Reading::fresh(wheel_rad_s.rear_left);
    inputs.wheel_speed_rear_right = Reading::fresh(wheel_rad_s.rear_right);
    inputs
}

/// Whether a fall beyond the rate has a reason of rank: order, fault, absolute heat, master's cap.
pub fn may_fall(
    order_to_open: Sensed<f32>,
    trace: &Trace<f32>,
    out: &Outputs,
    before: &Outputs,
) -> bool {
    let octagon = &trace.possible.octagon;
    let ranked = |by: Limit| {
        matches!(
            by,
            Limit::OpenNow | Limit::Fault | Limit::AbsoluteHeat | Limit::MasterCap
        )
    };
    let spans = [octagon.left, octagon.right, octagon.sum, octagon.difference];
    let ordered = order_to_open.or(1.0) > 0.5 || out.health == Health::Open;
    let hot = |by: PerSide<Limit>| pair_any(by, |by| by == Limit::AbsoluteHeat);
    ordered
        || hot(before.heat_limit)
        || spans
            .iter()
            .any(|span| ranked(span.low.by) || ranked(span.high.by))
}

pub fn pair_any<T>(sides: PerSide<T>, holds: impl Fn(T) -> bool) -> bool {
    holds(sides.left) || holds(sides.right)
}
