//! Somebody who holds a slide: counter-steers to a sideslip angle, foot on the speed of the front wheels.
//!
//! Inputs: sideslip and yaw rate as felt, mean front wheel speed as heard. Hands: the angle wanted is a slowly found one
//! plus a gain on the sideslip missing, less as the car turns faster than the circle does, never further into the turn than the
//! front tyres' best slip angle; then the arms of [`Human`] with the shorter reaction to what is felt in the seat. Foot:
//! front wheel speed held by the accelerator, aimed a little higher while the turn is tighter than wanted and while
//! sideslip is missing. Values were searched on the demo car with the outer clutch locked; reaction from memory of
//! texts on felt motion. Odd, so a mirrored slide is the exact mirror image. Limits: one sideslip, one radius. What taught
//! it: damping on the rate of sideslip itself (lateral acceleration over speed minus yaw rate) feeds the front tyres' own
//! force back with a delay, and threw the slide away.

use super::View;
use super::human::Human;
use crate::plant::chassis::GRAVITY_M_S2;
use crate::plant::{Observation, Vehicle};

/// Reaction to felt motion, s.
const REACTION_S: f64 = 0.1;
/// Time for which turning faster than the circle counts as sideslip, s.
const TURNING_S: f64 = 0.3;
/// The same for the foot, s.
const FOOT_TURNING_S: f64 = 0.2;
/// Front wheel speed more per sideslip missing, m/s per rad: power brings the tail out, too much of it pushes wide.
const WHEELS_PER_SIDESLIP_M_S: f64 = 10.0;
/// Lag of the arms, s: shorter than in driving along a path.
const ARMS_LAG_S: f64 = 0.06;
/// Road-wheel angle per sideslip.
const GAIN: f64 = 1.5;
/// The same, slowly, 1/s.
const SLOW_GAIN_1_S: f64 = 0.3;
/// Slip angle of the front tyres beyond which more steering gives nothing, rad.
const BEST_SLIP_RAD: f64 = 0.20;
/// Share of the friction that a sliding car turns with.
const TURNS_WITH: f64 = 0.87;
/// Front wheel speed over the speed of such a turn.
const WHEELS_OVER_CAR: f64 = 1.12;
/// Change of the front wheel speed aimed at per radius error, 1/s.
const RADIUS_GAIN_1_S: f64 = 0.04;
/// Accelerator per front wheel speed error, s/m, and its slow part, 1/m.
const FOOT: (f64, f64) = (0.35, 0.7);

/// Hands and foot in a slide to the left (right: side -1).
#[derive(Debug, Clone, PartialEq)]
pub struct SlideHolder {
    hands: Human,
    side: f64,
    steering_ratio: f64,
    front_axle_m: f64,
    wheel_radius_m: f64,
    sideslip_rad: f64,
    radius_m: f64,
    slow_rad: f64,
    aim_m_s: f64,
    pedal: f64,
}

impl SlideHolder {
    /// Somebody who knows this car, wants `sideslip_rad` (a size) on a circle of `radius_m`, and has seen the friction.
    pub fn new(car: &Vehicle, sideslip_rad: f64, radius_m: f64, friction: f64, side: f64) -> Self {
        let mut hands = Human::practised(car.body.wheelbase_m, car.steering.ratio);
        hands.reaction_s = REACTION_S;
        hands.arms_lag_s = ARMS_LAG_S;
        Self {
            hands,
            side,
            steering_ratio: car.steering.ratio,
            front_axle_m: car.front_axle_m(),
            wheel_radius_m: car.tyre_front.radius_m,
            sideslip_rad,
            radius_m,
            slow_rad: -0.1,
            aim_m_s: WHEELS_OVER_CAR * libm::sqrt(TURNS_WITH * friction * GRAVITY_M_S2 * radius_m),
            pedal: 0.4,
        }
    }

    /// The wheel and the pedal as they are when the slide begins.
    pub fn takes_over(&mut self, steering_wheel_rad: f64, pedal: f64) {
        self.hands = self.hands.clone().turned(steering_wheel_rad);
        self.pedal = pedal;
    }

    /// Arms without a mind of their own: carries out an angle, rad.
    pub fn arms(&mut self, steering_wheel_rad: f64, period_s: f64) -> f64 {
        self.hands.carry_out(steering_wheel_rad, period_s)
    }

    /// Steering-wheel angle, rad.
    pub fn steer(&mut self, view: &View<'_>, period_s: f64) -> f64 {
        let car = view.car;
        let (error, faster) = self.missing(car);
        let yaw_rate = self.side * car.yaw_rate_rad_s;
        self.slow_rad = (self.slow_rad + SLOW_GAIN_1_S * error * period_s).clamp(-0.4, 0.3);
        let wanted = self.slow_rad + GAIN * (error - TURNING_S * faster);
        let travel = libm::atan2(
            self.side * car.lateral_speed_m_s + self.front_axle_m * yaw_rate,
            car.speed_m_s.max(1.0),
        );
        let road_wheel = wanted.min(travel + BEST_SLIP_RAD);
        self.hands
            .carry_out(self.side * road_wheel * self.steering_ratio, period_s)
    }

    /// Sideslip missing, rad, and how much faster than the circle the car turns, rad/s.
    fn missing(&self, car: &Observation) -> (f64, f64) {
        let speed = speed_m_s(car).max(3.0);
        let faster = self.side * car.yaw_rate_rad_s - speed / self.radius_m;
        (self.sideslip_rad + self.side * car.sideslip_rad, faster)
    }

    /// Accelerator of this step.
    pub fn pedal(&mut self, view: &View<'_>, period_s: f64) -> f64 {
        let car = view.car;
        let yaw_rate = (self.side * car.yaw_rate_rad_s).max(0.05);
        let radius_m = (speed_m_s(car) / yaw_rate).min(3.0 * self.radius_m);
        self.aim_m_s += RADIUS_GAIN_1_S * (self.radius_m - radius_m) * period_s;
        let carrier = 0.5 * (car.wheel_speed_rad_s.front_left + car.wheel_speed_rad_s.front_right);
        let (missing, faster) = self.missing(car);
        let more = WHEELS_PER_SIDESLIP_M_S * (missing - FOOT_TURNING_S * faster).clamp(-0.3, 0.3);
        let error = self.aim_m_s + more - carrier * self.wheel_radius_m;
        let pedal = self.pedal + FOOT.0 * error;
        if (0.0..=1.0).contains(&pedal) {
            self.pedal += FOOT.1 * error * period_s;
        }
        pedal.clamp(0.0, 1.0)
    }
}

/// Speed of the car over ground, m/s.
fn speed_m_s(car: &Observation) -> f64 {
    libm::hypot(car.speed_m_s, car.lateral_speed_m_s)
}
