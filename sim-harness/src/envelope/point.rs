//! One operating point of the axle: the car in a steady turn, as its calibration page knows it.
//!
//! Inputs: page, speed, curvature, front slip, error of the rear rolling radius, capacity, oil temperature, friction. Outputs:
//! speeds of the wheels over ground, torque of a locked clutch, what stage `authority` is told. Single-track slip angles of
//! linear tyres ("Vehicle Dynamics and Control", 2nd ed., ch. 2, from memory); wheel speeds of a rigid car, each along its
//! wheel's plane. Limits: no drag, no grade, no brake; the powertrain holds the front slip whatever the rear takes.

use crate::run::PERIOD_S;
use couplet_controller::calibration::{self, Calibration, PageRefusal, RawPage};
use couplet_controller::quantity::{PerSide, PerWheel, Sensed};
use couplet_controller::signal::{Health, Limit};
use couplet_controller::stage::authority::{Authority, AuthorityIn, AuthorityState, Possible};
use couplet_controller::stage::thermal::derating;
use couplet_controller::stage::thermal::network::Temperatures;
use couplet_controller::stage::vehicle_state::VehicleState;
use couplet_controller::stage::{Stage, thermal};

/// Gravity, m/s2.
const GRAVITY_M_S2: f64 = 9.81;
/// Time given to the sloped ceilings of heat, s: longer than their slowest fall.
const SOAKED_S: f64 = 1000.0;

/// Where the axle is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Speed along the car's axis, m/s, above zero.
    pub speed_m_s: f64,
    /// Yaw rate over speed, 1/m, positive to the left.
    pub curvature_1_m: f64,
    /// Longitudinal slip of both front wheels, ISO 8855, positive driving.
    pub front_slip: f64,
    /// How much larger than the front ones the rear rolling radii are, as a share; the law knows it.
    pub radius_error: f64,
    /// Capacity of one clutch at the wheel, N m.
    pub capacity_nm: f64,
    /// Temperature of the whole axle, degC.
    pub oil_degc: f64,
    /// Friction the law believes in.
    pub friction: f64,
}

impl Point {
    /// Lateral acceleration, m/s2, positive to the left.
    pub fn lateral_m_s2(&self) -> f64 {
        self.speed_m_s * self.speed_m_s * self.curvature_1_m
    }

    /// Whether the tyres can hold the turn.
    pub fn within_grip(&self) -> bool {
        self.lateral_m_s2().abs() <= self.friction * GRAVITY_M_S2
    }

    /// Curvature at which the grip ends, 1/m.
    pub fn grip_curvature_1_m(&self) -> f64 {
        self.friction * GRAVITY_M_S2 / (self.speed_m_s * self.speed_m_s)
    }
}

/// Angles and places of a steady turn of the linear single-track car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Lateral speed at the centre of gravity, m/s, positive to the left.
    pub lateral_speed_m_s: f64,
    /// Road-wheel angle, rad, positive to the left.
    pub road_wheel_rad: f64,
    /// Slip angle of the front tyres, rad: how far the wheels are turned beyond their way, positive to the left.
    pub front_slip_angle_rad: f64,
    /// Distance of the front axle ahead of the instant centre, m: the wheelbase at walking pace, less at speed.
    pub front_ahead_m: f64,
}

impl Turn {
    /// The turn of a page's car at a point.
    pub fn of(car: &calibration::Vehicle<f64>, point: &Point) -> Self {
        let (front_m, wheelbase_m) = (car.front_axle_to_cg_m, car.wheelbase_m);
        let rear_m = wheelbase_m - front_m;
        let pressed = car.mass_kg * point.speed_m_s * point.speed_m_s / wheelbase_m;
        let yaw_rate = point.speed_m_s * point.curvature_1_m;
        // The rear tyre moves outwards by its slip angle, which draws the instant centre forward.
        let rear_out_m = pressed * front_m / car.rear_cornering_stiffness_n_rad;
        let front_ahead_m = wheelbase_m - rear_out_m;
        let front_slip_angle_rad =
            pressed * rear_m * point.curvature_1_m / car.front_cornering_stiffness_n_rad;
        let front_way = libm::atan2(front_ahead_m * yaw_rate, point.speed_m_s);
        Self {
            lateral_speed_m_s: (rear_m - rear_out_m) * yaw_rate,
            road_wheel_rad: front_way + front_slip_angle_rad,
            front_slip_angle_rad,
            front_ahead_m,
        }
    }
}

/// The axle at one point: the stages of the law with the page's numbers, and what they are told.
#[derive(Debug, Clone, Copy)]
pub struct Axle {
    /// The point.
    pub point: Point,
    /// The page's car.
    pub car: calibration::Vehicle<f64>,
    /// The turn.
    pub turn: Turn,
    authority: Authority<f64>,
    vehicle_state: VehicleState<f64>,
    ground: PerWheel<f64>,
    ceiling: PerSide<(f64, Limit)>,
}

impl Axle {
    /// The axle of a page at a point.
    ///
    /// # Errors
    /// The page's refusal, if the point's capacity does not go with it.
    pub fn new(page: &RawPage, point: Point) -> Result<Self, PageRefusal> {
        let mut page = *page;
        page.tunables.authority.capacity_nm = point.capacity_nm as f32;
        let calibration: Calibration<f64> = page.accept()?;
        let tunables = calibration.tunables();
        let car = tunables.vehicle;
        let turn = Turn::of(&car, &point);
        let (sine, cosine) = (
            libm::sin(turn.road_wheel_rad),
            libm::cos(turn.road_wheel_rad),
        );
        let yaw_rate = point.speed_m_s * point.curvature_1_m;
        let across = 0.5 * yaw_rate * car.track_m;
        let front_lateral = turn.lateral_speed_m_s + yaw_rate * car.front_axle_to_cg_m;
        let side = PerSide {
            left: point.speed_m_s - across,
            right: point.speed_m_s + across,
        };
        Ok(Self {
            point,
            car,
            turn,
            authority: Authority {
                tunables: tunables.authority,
                wheel_radius_m: car.wheel_radius_m,
                overspeed: car.overspeed,
                moment_per_difference: 0.5 * car.track_m / car.wheel_radius_m,
            },
            // Only its lock torque is asked, in which the understeer constant has no part.
            vehicle_state: VehicleState::new(tunables.vehicle_state, car, 0.0, PERIOD_S),
            ground: PerWheel::from_axles(
                side.map(|along| along * cosine + front_lateral * sine),
                side,
            ),
            ceiling: ceilings(&tunables.derating, point.oil_degc),
        })
    }

    /// Yaw moment per N m of torque difference.
    pub fn moment_per_difference(&self) -> f64 {
        self.authority.moment_per_difference
    }

    /// Torque of each clutch if it were locked, N m, as the law works it out.
    pub fn lock_torque_nm(&self, torque_nm: PerSide<f64>) -> PerSide<f64> {
        self.vehicle_state.lock_torque_nm(
            PerSide::both(self.point.radius_error),
            self.ground,
            self.carrier_nm(torque_nm),
            torque_nm,
            1.0,
        )
    }

    /// What stage `authority` says one step after these torques and capacities.
    pub fn possible(
        &self,
        memory: &mut AuthorityState<f64>,
        torque_nm: PerSide<f64>,
        capacity_nm: PerSide<f64>,
    ) -> Possible<f64> {
        self.authority
            .step(memory, &self.told(torque_nm, capacity_nm), PERIOD_S)
    }

    /// Torque of the powertrain that leaves the front wheels their slip, N m.
    fn carrier_nm(&self, torque_nm: PerSide<f64>) -> f64 {
        self.front_nm() + torque_nm.sum() * (1.0 + self.car.overspeed)
    }

    fn front_nm(&self) -> f64 {
        2.0 * self.per_slip_nm() * self.point.front_slip
    }

    /// Torque of one wheel per unit of slip, N m: the law takes front and rear wheels alike.
    fn per_slip_nm(&self) -> f64 {
        self.car.wheel_radius_m * self.car.rear_slip_stiffness_n
    }

    fn told(&self, torque_nm: PerSide<f64>, capacity_nm: PerSide<f64>) -> AuthorityIn<f64> {
        let point = &self.point;
        let lock_torque_nm = self.lock_torque_nm(torque_nm);
        let radius_m = self.car.wheel_radius_m * (1.0 + point.radius_error);
        // A wheel slips in proportion to its torque; what is left to the shaft's speed is the clutch's slip.
        let left = lock_torque_nm.zip(torque_nm, |lock, torque| {
            (lock - torque) / self.per_slip_nm()
        });
        let clutch_slip = left.zip(self.ground.rear(), |left, ground| {
            Sensed::Fresh(left * ground.abs().max(1.0) / radius_m)
        });
        let along_m_s2 =
            (self.front_nm() + torque_nm.sum()) / (self.car.wheel_radius_m * self.car.mass_kg);
        let loads = self
            .vehicle_state
            .wheel_loads_n(along_m_s2, point.lateral_m_s2());
        AuthorityIn {
            clutch_slip_rad_s: clutch_slip,
            forward_m_s: point.speed_m_s,
            direction: 1.0,
            rear_load_n: loads.rear(),
            friction: point.friction,
            rear_slip: torque_nm.map(|torque| torque / self.per_slip_nm()),
            lock_torque_nm,
            lateral_m_s2: point.lateral_m_s2().abs(),
            friction_shown: point.friction,
            launch: 0.0,
            road_wheel_rad: self.turn.road_wheel_rad,
            torque_nm: self.carrier_nm(torque_nm),
            previous_capacity_nm: capacity_nm,
            heat_ceiling: self.ceiling.map(|(share, _)| share),
            heat_by: self.ceiling.map(|(_, by)| by),
            oil_degc: point.oil_degc,
            health_share: 1.0,
            unlike_tyres: 0.0,
            health: Health::Full,
            may_differ: true,
            rear_torque_cap_nm: Sensed::Lost,
            yaw_moment_cap_nm: Sensed::Lost,
            open_now: false,
            brake_control: false,
            oversteer_held: 0.0,
            slide: 0.0,
        }
    }
}

/// What the sloped ceilings leave of an axle that has been this warm for long.
fn ceilings(parameters: &thermal::derating::Parameters<f64>, degc: f64) -> PerSide<(f64, Limit)> {
    let at = Temperatures {
        surface_degc: PerSide::both(degc),
        core_degc: PerSide::both(degc),
        oil_degc: degc,
        housing_degc: degc,
    };
    let mut state = PerSide::both(derating::SideState::default());
    derating::step(parameters, &mut state, &at, SOAKED_S).map(|ceiling| {
        if ceiling.open {
            (0.0, Limit::AbsoluteHeat)
        } else {
            (ceiling.share, ceiling.by)
        }
    })
}
