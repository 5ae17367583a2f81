//! A driver who knows the road: a speed plan from bends and signs, feet that follow it.
//!
//! Inputs: the road metre by metre ([`Sight`]), then the car and its place. Outputs: steering, accelerator, brake. The
//! plan allows v with v^2 k <= what is comfortable and what a share of the friction allows, then limits braking
//! (backwards) and acceleration (forwards) by comfort and by what friction is left beside the bend: the circle
//! (a/g)^2 + (v^2 k/g)^2 <= (share x friction)^2, grade included. Feet turn the planned acceleration plus speed error into
//! torque with a fixed idea of the car, the same for every layout; the accelerator is eased when the front wheels spin
//! audibly or the car leaves its line. A car that rolls back is held by the brake and tried again.
//! All habits are chosen, no source. Limits: the driver takes the mean of left and right friction for the road's.

use super::path_follower::PathFollower;
use super::pedals::{Foot, eased};
use super::{Action, Driver, View};
use crate::plant::Vehicle;
use crate::plant::chassis::GRAVITY_M_S2;

/// Front spin at which a driver begins to ease the accelerator, and at which little of it is left, m/s.
const SPIN_HEARD_M_S: (f64, f64) = (1.5, 6.0);
/// Path error up to which the accelerator is not eased, m.
const PATH_MARGIN_M: f64 = 0.8;
/// Time the feet look ahead along the plan, s.
const AHEAD_S: f64 = 0.3;
/// Acceleration per speed error, 1/s, and its slow part, 1/s2.
const SPEED_GAIN: (f64, f64) = (0.9, 0.15);
/// Share of the accelerator with which a stopped car is tried again.
const TRY_PEDAL: f64 = 0.5;

/// What a driver comes to know of one metre of road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Curvature, 1/m; its sign does not matter.
    pub curvature_1_m: f64,
    /// Friction as signs and shine of the road tell it.
    pub friction: f64,
    /// Height gained per metre.
    pub rise: f64,
}

/// What a driver likes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Largest speed, m/s.
    pub fastest_m_s: f64,
    /// Comfortable lateral acceleration, m/s2.
    pub lateral_m_s2: f64,
    /// Comfortable acceleration, m/s2.
    pub faster_m_s2: f64,
    /// Comfortable deceleration, m/s2.
    pub slower_m_s2: f64,
    /// Share of the friction the driver trusts.
    pub friction_share: f64,
    /// How far before and after it a sign is heeded, m.
    pub heeds_m: usize,
    /// Largest accelerator position.
    pub most_pedal: f64,
    /// Time from no to full accelerator, s.
    pub pedal_rise_s: f64,
}

impl Default for Habits {
    /// Brisk and careful.
    fn default() -> Self {
        Self {
            fastest_m_s: 25.0,
            lateral_m_s2: 4.5,
            faster_m_s2: 3.0,
            slower_m_s2: 3.0,
            friction_share: 0.7,
            heeds_m: 6,
            most_pedal: 1.0,
            pedal_rise_s: 0.3,
        }
    }
}

/// Speed along a road, one value every metre.
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedPlan {
    speed_m_s: Vec<f64>,
}

impl SpeedPlan {
    /// The plan for a road seen metre by metre.
    pub fn new(road: &[Sight], habits: &Habits) -> Self {
        let count = road.len();
        let around = |index: usize, reach: usize| {
            &road[index.saturating_sub(reach)..(index + reach + 1).min(count)]
        };
        let grip_m_s2: Vec<f64> = (0..count)
            .map(|index| {
                let least = around(index, habits.heeds_m)
                    .iter()
                    .fold(f64::INFINITY, |least, sight| least.min(sight.friction));
                habits.friction_share * least * GRAVITY_M_S2
            })
            .collect();
        let bend: Vec<f64> = (0..count)
            .map(|index| {
                around(index, 2)
                    .iter()
                    .fold(0.0_f64, |most, sight| most.max(sight.curvature_1_m.abs()))
            })
            .collect();
        let mut squared: Vec<f64> = (0..count)
            .map(|index| {
                // A tenth of the grip is kept for speeding up and slowing down.
                let lateral = habits.lateral_m_s2.min(0.9 * grip_m_s2[index]);
                let fastest = habits.fastest_m_s * habits.fastest_m_s;
                fastest.min(lateral / bend[index].max(1e-6))
            })
            .collect();
        let left = |index: usize, squared: f64| {
            let lateral = squared * bend[index];
            libm::sqrt((grip_m_s2[index] * grip_m_s2[index] - lateral * lateral).max(0.0))
        };
        for index in (0..count.saturating_sub(1)).rev() {
            let next = squared[index + 1];
            let lean = GRAVITY_M_S2 * road[index].rise;
            let slower = habits.slower_m_s2.min(left(index, next) + lean).max(0.3);
            squared[index] = squared[index].min(next + 2.0 * slower);
        }
        for index in 1..count {
            let last = squared[index - 1];
            let lean = GRAVITY_M_S2 * road[index].rise;
            let faster = habits.faster_m_s2.min(left(index, last) - lean).max(0.3);
            squared[index] = squared[index].min(last + 2.0 * faster);
        }
        Self {
            speed_m_s: squared.into_iter().map(libm::sqrt).collect(),
        }
    }

    /// Speed at a distance, m/s.
    pub fn speed_m_s(&self, distance_m: f64) -> f64 {
        let (index, part) = split(distance_m, self.speed_m_s.len());
        let at = |index: usize| self.speed_m_s.get(index).copied().unwrap_or(0.0);
        at(index) + (at(index + 1) - at(index)) * part
    }
}

/// A driver with a plan.
#[derive(Debug, Clone)]
pub struct PathAndSpeed {
    hands: PathFollower,
    accelerator: Foot,
    brake: Foot,
    habits: Habits,
    plan: SpeedPlan,
    rise: Vec<f64>,
    car: Vehicle,
    slow_m_s2: f64,
    holds: bool,
}

impl PathAndSpeed {
    /// A driver on this road, who has learned mass, wheels, brakes and pedal of this car.
    pub fn new(road: &[Sight], habits: Habits, car: &Vehicle) -> Self {
        Self {
            hands: PathFollower::practised(car.body.wheelbase_m, car.steering.ratio),
            accelerator: Foot {
                rise_s: habits.pedal_rise_s,
                fall_s: 0.15,
                pedal: 0.2,
            },
            brake: Foot {
                rise_s: 0.3,
                fall_s: 0.25,
                pedal: 0.0,
            },
            habits,
            plan: SpeedPlan::new(road, &habits),
            rise: road.iter().map(|sight| sight.rise).collect(),
            car: *car,
            slow_m_s2: 0.0,
            holds: false,
        }
    }

    /// The plan.
    pub fn plan(&self) -> &SpeedPlan {
        &self.plan
    }

    /// Accelerator and brake aimed at.
    fn aims(&mut self, view: &View<'_>, period_s: f64) -> (f64, f64) {
        let distance_m = view.place.map_or(0.0, |place| place.distance_m);
        let speed = view.car.speed_m_s;
        let ahead_m = AHEAD_S * speed.max(2.0);
        let (here, wanted) = (
            self.plan.speed_m_s(distance_m),
            self.plan.speed_m_s(distance_m + ahead_m),
        );
        let planned = (wanted * wanted - here * here) / (2.0 * ahead_m);
        let error = here - speed;
        let unbounded = planned + SPEED_GAIN.0 * error + self.slow_m_s2;
        let (least, most) = (
            -1.6 * self.habits.slower_m_s2,
            1.4 * self.habits.faster_m_s2,
        );
        let asked = unbounded.clamp(least, most);
        let torque_nm = self.torque_nm(asked, distance_m, speed);
        let carrier =
            0.5 * (view.car.wheel_speed_rad_s.front_left + view.car.wheel_speed_rad_s.front_right);
        let closed_nm = -self.car.powertrain.drag_torque_nm;
        let open_nm = self
            .car
            .powertrain
            .maximum_torque_nm
            .min(self.car.powertrain.maximum_power_w / carrier.abs().max(1.0));
        let pedal = (torque_nm - closed_nm) / (open_nm - closed_nm);
        let brake = (closed_nm - torque_nm) / (3.0 * self.car.brakes.maximum_torque_nm).max(1.0);
        let free = (0.0..=self.habits.most_pedal).contains(&pedal);
        if asked == unbounded && (free || error * (pedal - 0.5) < 0.0) {
            self.slow_m_s2 = (self.slow_m_s2 + SPEED_GAIN.1 * error * period_s).clamp(-1.0, 1.0);
        }
        let spin = carrier * self.car.tyre_front.radius_m - speed;
        let heard = (spin - SPIN_HEARD_M_S.0) / (SPIN_HEARD_M_S.1 - SPIN_HEARD_M_S.0);
        let off = view.place.map_or(0.0, |place| place.error_m);
        let kept = (1.0 - heard).clamp(0.15, 1.0) * eased(off, PATH_MARGIN_M).max(0.1);
        (
            (pedal * kept).clamp(0.0, self.habits.most_pedal),
            brake.clamp(0.0, 1.0),
        )
    }

    /// Torque at the carrier for an acceleration, N m.
    fn torque_nm(&self, acceleration_m_s2: f64, distance_m: f64, speed_m_s: f64) -> f64 {
        let body = &self.car.body;
        let (index, _) = split(distance_m, self.rise.len());
        let rise = self.rise.get(index).copied().unwrap_or(0.0);
        let resistance = body.rolling_resistance + rise;
        let air_n = 0.5 * body.air_density_kg_m3 * body.drag_area_m2 * speed_m_s * speed_m_s;
        // A tenth more mass for what turns.
        let force_n = body.mass_kg * (1.1 * acceleration_m_s2 + GRAVITY_M_S2 * resistance) + air_n;
        force_n * self.car.tyre_front.radius_m
    }
}

impl Driver for PathAndSpeed {
    fn act(&mut self, view: &View<'_>, period_s: f64) -> Action {
        let steering_wheel_rad = self.hands.steer(view, period_s);
        let (mut pedal, mut brake) = self.aims(view, period_s);
        if view.car.speed_m_s < -0.05 {
            self.holds = true;
        } else if self.accelerator.pedal >= 0.9 * TRY_PEDAL.min(self.habits.most_pedal)
            && view.car.speed_m_s > -0.02
        {
            self.holds = false;
        }
        if self.holds {
            pedal = TRY_PEDAL.min(self.habits.most_pedal);
            brake = 0.5;
        }
        Action {
            steering_wheel_rad,
            pedal: self.accelerator.towards(pedal, period_s),
            brake: self.brake.towards(brake, period_s),
        }
    }
}

/// Metre before a distance and the part of the way to the next.
fn split(distance_m: f64, count: usize) -> (usize, f64) {
    let last = count.saturating_sub(2);
    let index = (libm::floor(distance_m.max(0.0)) as usize).min(last);
    (index, (distance_m - index as f64).clamp(0.0, 1.0))
}
