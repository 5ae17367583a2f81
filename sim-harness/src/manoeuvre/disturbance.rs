//! Straight or in a turn, at constant speed, under power, lifted off or braked; hands still, at a script, or a person's.
//!
//! The manoeuvre in which something goes wrong: short, so that thousands can be driven, and every driver's part a number.
//! The car settles on its line; from the action on a person steers on, or the hands hold still; a script (one period of a
//! sine, or its first quarter held) comes on top. The foot holds or raises the speed, so that the car has `speed_m_s` at the
//! action, or lifts there and brakes as far as asked. Own procedure; common practice of fault injection, no source.

use super::course::Course;
use super::{Goal, Setup, side, turning_start};
use crate::driver::human::Human;
use crate::driver::path_follower::PathFollower;
use crate::driver::pedals::{Foot, SpeedHolder};
use crate::driver::{Action, Driver, View};
use crate::plant::{Start, Vehicle};
use crate::run::powertrain_control::{asked_nm, available_nm};
use crate::scenario::{Numbers, Scenario};

/// Time the car settles on a straight and in a turn, s.
const LEAD_S: (f64, f64) = (1.5, 3.5);

/// Time over which the steering angle to hold is averaged, s.
const AVERAGE_S: f64 = 0.5;

/// Time from no brake to the position aimed at, s: a quick foot; chosen.
const BRAKE_RISE_S: f64 = 0.15;

/// Standard gravity, m/s2 (ISO 80000-3).
const GRAVITY_M_S2: f64 = 9.806_65;

pub(super) fn prepare(scenario: &Scenario, vehicle: &Vehicle) -> Setup {
    let numbers = &scenario.numbers;
    let turns = numbers.disturbance.turn_m_s2 > 0.0;
    let lead_s = if turns { LEAD_S.1 } else { LEAD_S.0 };
    let aim_m_s = numbers.course.speed_m_s;
    let rise_m_s2 = numbers.course.speed_rise_m_s2;
    let start_m_s = (aim_m_s - rise_m_s2 * (lead_s + numbers.driver.action_s)).max(1.0);
    let torque_nm = needed_nm(vehicle, start_m_s, rise_m_s2);
    let carrier_rad_s = start_m_s / vehicle.tyre_front.radius_m;
    let closed_nm = asked_nm(vehicle, 0.0, carrier_rad_s);
    let pedal = ((torque_nm - closed_nm) / (available_nm(vehicle, carrier_rad_s) - closed_nm))
        .clamp(0.0, 1.0);
    let course = if turns {
        Course::circle((aim_m_s * aim_m_s / numbers.disturbance.turn_m_s2).max(8.0))
    } else {
        let longest_s = lead_s + numbers.course.longest_s + 5.0;
        Course::straight(longest_s * (aim_m_s + 2.0 * longest_s))
    };
    let curvature_1_m = course.curvature_1_m(0.0);
    let start = if turns {
        turning_start(scenario, vehicle, start_m_s, curvature_1_m)
    } else {
        Start {
            speed_m_s: start_m_s,
            ambient_degc: numbers.road.ambient_degc,
            ..Start::default()
        }
    };
    let start = Start {
        carrier_torque_nm: torque_nm,
        ..start
    };
    let (wheelbase_m, ratio) = (vehicle.body.wheelbase_m, vehicle.steering.ratio);
    let wheel_rad = start.steering_wheel_rad;
    let hands = if numbers.disturbance.person >= 0.5 {
        Hands::Person(Box::new(
            Human::practised(wheelbase_m, ratio).turned(wheel_rad),
        ))
    } else {
        Hands::Still {
            until: PathFollower::practised(wheelbase_m, ratio).turned(wheel_rad),
            held_rad: 0.0,
            summed: 0,
        }
    };
    Setup {
        start,
        course: Some(super::on_its_side(scenario, course)),
        driver: Box::new(Disturbed {
            hands,
            holder: SpeedHolder::starting_at(pedal),
            foot: Foot {
                rise_s: numbers.driver.pedal_rise_s,
                fall_s: numbers.driver.pedal_fall_s,
                pedal,
            },
            brake: Foot {
                rise_s: BRAKE_RISE_S / numbers.driver.brake.max(0.01),
                fall_s: BRAKE_RISE_S,
                pedal: 0.0,
            },
            numbers: *numbers,
            side: side(scenario),
        }),
        lead_s,
        goal: Goal::None,
        record_every: 1,
        found: Vec::new(),
    }
}

/// Torque at the carrier for an even rise of speed, Nm: inertia, air and rolling resistance.
fn needed_nm(vehicle: &Vehicle, speed_m_s: f64, rise_m_s2: f64) -> f64 {
    let body = &vehicle.body;
    let air_n = 0.5 * body.air_density_kg_m3 * body.drag_area_m2 * speed_m_s * speed_m_s;
    let rolling_n = body.rolling_resistance * body.mass_kg * GRAVITY_M_S2;
    (body.mass_kg * rise_m_s2 + air_n + rolling_n) * vehicle.tyre_front.radius_m
}

enum Hands {
    Person(Box<Human>),
    Still {
        until: PathFollower,
        held_rad: f64,
        summed: u32,
    },
}

struct Disturbed {
    hands: Hands,
    holder: SpeedHolder,
    foot: Foot,
    brake: Foot,
    numbers: Numbers,
    side: f64,
}

impl Disturbed {
    /// Steering on top of the line, rad.
    fn script_rad(&self, since_s: f64) -> f64 {
        let script = &self.numbers.disturbance;
        let phase = (since_s * self.numbers.driver.steering_frequency_hz).max(0.0);
        // A wheel that is held stays where a quarter of the period brought it.
        let last = if script.hold >= 0.5 { 0.25 } else { 1.0 };
        let turn = 2.0 * core::f64::consts::PI * phase.min(last);
        self.side * script.steer_deg.to_radians() * libm::sin(turn)
    }
}

impl Driver for Disturbed {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let since_s = view.time_s - self.numbers.driver.action_s;
        let turns = self.numbers.disturbance.turn_m_s2 > 0.0;
        let line_rad = match &mut self.hands {
            Hands::Person(person) => person.steer(view, period_s),
            // On a straight the wheel was never turned.
            Hands::Still { .. } if !turns => 0.0,
            Hands::Still {
                until,
                held_rad,
                summed,
            } => {
                if since_s < 0.0 {
                    let angle = until.steer(view, period_s);
                    if since_s >= -AVERAGE_S {
                        *held_rad += angle;
                        *summed += 1;
                    }
                    angle
                } else {
                    *held_rad / f64::from((*summed).max(1))
                }
            }
        };
        let lifts = self.numbers.disturbance.lift_off >= 0.5 && since_s >= 0.0;
        if lifts {
            self.foot.towards(0.0, period_s);
        } else {
            let course = &self.numbers.course;
            let wanted = course.speed_m_s + course.speed_rise_m_s2 * since_s;
            self.foot.pedal = self.holder.pedal(view.car.speed_m_s, wanted, period_s);
        }
        let brake_aim = if lifts {
            self.numbers.driver.brake
        } else {
            0.0
        };
        Action {
            steering_wheel_rad: line_rad + self.script_rad(since_s),
            pedal: self.foot.pedal,
            brake: self.brake.towards(brake_aim, period_s),
        }
    }
}
