//! What the car is doing: speed, slip, sideslip, loads, friction, rolling radii.
//!
//! In: conditioned signals and the torques the law expected one step ago. Out: [`Motion`]. The controller's own idea of
//! the car is used throughout; none of it is shared with the plant.

pub mod friction;
pub mod kinematics;
pub mod radius;
pub mod speed;

use super::Stage;
use crate::calibration;
use crate::numerics::table::fade_in;
use crate::numerics::{GRAVITY_M_S2, Real};
use crate::quantity::{PerSide, PerWheel, Sensed};
use friction::FrictionState;
use radius::RadiusState;
use speed::SpeedState;

/// What the stage is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VehicleStateIn<S> {
    /// Wheel speeds, rad/s.
    pub wheel_speed_rad_s: PerWheel<Sensed<S>>,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: Sensed<S>,
    /// Lateral specific force, m/s2.
    pub lateral_acceleration_m_s2: Sensed<S>,
    /// Longitudinal specific force, m/s2.
    pub longitudinal_acceleration_m_s2: Sensed<S>,
    /// Steering-wheel angle, rad.
    pub steering_wheel_rad: Sensed<S>,
    /// Brake pressure, bar.
    pub brake_bar: Sensed<S>,
    /// Powertrain torque at the carrier, Nm.
    pub carrier_torque_nm: Sensed<S>,
    /// Gear.
    pub gear: Sensed<S>,
    /// Torque expected on each rear wheel one step ago, Nm.
    pub rear_torque_nm: PerSide<S>,
}

/// What the car is doing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Motion<S> {
    /// Speed along the body's x axis, m/s.
    pub speed_m_s: S,
    /// Driving direction, 1 or -1 (reverse gear).
    pub direction: S,
    /// Yaw rate, rad/s.
    pub yaw_rate_rad_s: S,
    /// Specific forces at the centre of gravity, m/s2.
    pub longitudinal_acceleration_m_s2: S,
    /// Lateral one.
    pub lateral_acceleration_m_s2: S,
    /// Road-wheel angle, rad.
    pub road_wheel_rad: S,
    /// Sideslip angle at the centre of gravity, rad, positive when the car moves to its left.
    pub sideslip_rad: S,
    /// Slip of each wheel after ISO 8855, positive driving; against a floor of 1 m/s at crawl.
    pub wheel_slip: PerWheel<S>,
    /// Speed of the rear shaft at wheel level, rad/s.
    pub shaft_speed_rad_s: Sensed<S>,
    /// Shaft speed minus wheel speed, rad/s.
    pub clutch_slip_rad_s: PerSide<Sensed<S>>,
    /// Wheel loads, N.
    pub wheel_load_n: PerWheel<S>,
    /// Friction already used.
    pub friction_used: S,
    /// Friction believed available.
    pub friction: S,
    /// How little the tyres slip, 1 to 0: whether friction may be taken for a dry road's until shown otherwise.
    pub friction_trust: S,
    /// Mean front wheel speed beyond the car's, m/s, positive spinning forward.
    pub front_spin_m_s: S,
    /// Effective overspeed with the radii learned.
    pub overspeed_effective: S,
}

/// Memory of the stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct VehicleStateState<S> {
    /// Speed estimator.
    pub speed: SpeedState<S>,
    /// Integrated sideslip, rad.
    pub sideslip_rad: S,
    /// Friction used.
    pub friction: FrictionState<S>,
    /// Rolling radii.
    pub radius: RadiusState<S>,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VehicleState<S> {
    /// Its calibration.
    pub tunables: calibration::VehicleState<S>,
    /// The controller's idea of the car.
    pub vehicle: calibration::Vehicle<S>,
}

impl<S: Real> VehicleState<S> {
    /// Static loads changed by the accelerations (handbook statics: m a h / L per axle, m a h / T per car, the lateral
    /// part shared by the axles in the ratio of their loads).
    pub fn wheel_loads_n(&self, longitudinal_m_s2: S, lateral_m_s2: S) -> PerWheel<S> {
        let car = &self.vehicle;
        let weight = car.mass_kg * S::of(GRAVITY_M_S2);
        let rear_share = car.front_axle_to_cg_m.over(car.wheelbase_m, S::HALF);
        let shift =
            (car.mass_kg * longitudinal_m_s2 * car.cg_height_m).over(car.wheelbase_m, S::ZERO);
        let rear = (weight * rear_share + shift).within(S::ZERO, weight);
        let front = weight - rear;
        let across =
            (lateral_m_s2 * car.cg_height_m).over(S::of(GRAVITY_M_S2) * car.track_m, S::ZERO);
        let split = |axle: S| PerSide {
            left: (axle * (S::HALF - across)).within(S::ZERO, axle),
            right: (axle * (S::HALF + across)).within(S::ZERO, axle),
        };
        PerWheel::from_axles(split(front), split(rear))
    }

    /// Steady sideslip of the linear single-track car for this yaw rate and lateral acceleration.
    fn single_track_sideslip(&self, speed: S, yaw_rate: S, lateral: S) -> S {
        let car = &self.vehicle;
        let to_rear = car.wheelbase_m - car.front_axle_to_cg_m;
        let rear_force =
            (car.mass_kg * lateral * car.front_axle_to_cg_m).over(car.wheelbase_m, S::ZERO);
        (to_rear * yaw_rate).over(speed, S::ZERO)
            - rear_force.over(car.rear_cornering_stiffness_n_rad, S::ZERO)
    }
}

impl<S: Real> Stage<S> for VehicleState<S> {
    type In = VehicleStateIn<S>;
    type Out = Motion<S>;
    type State = VehicleStateState<S>;

    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let car = &self.vehicle;
        let direction = if input.gear.or(S::ONE) < S::ZERO {
            -S::ONE
        } else {
            S::ONE
        };
        let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
        let lateral = input.lateral_acceleration_m_s2.or(S::ZERO);
        let longitudinal = input.longitudinal_acceleration_m_s2.or(S::ZERO);
        let road_wheel = input
            .steering_wheel_rad
            .or(S::ZERO)
            .over(car.steering_ratio, S::ZERO);

        let speed = speed::step(
            self,
            &mut state.speed,
            input,
            direction,
            state.sideslip_rad,
            period_s,
        );

        let forward = speed * direction;
        let moving = fade_in(forward, S::of(2.0), S::of(5.0));
        let turn = lateral.over(speed, S::ZERO) - yaw_rate;
        let steady = self.single_track_sideslip(speed, yaw_rate, lateral);
        let integrated = state.sideslip_rad + turn * period_s;
        let leak = period_s.over(self.tunables.sideslip_leak_s, S::ONE);
        let sideslip = (integrated + (steady - integrated) * leak) * moving;
        state.sideslip_rad = sideslip.within(-S::ONE, S::ONE);

        let ground = kinematics::wheel_ground_speed(
            speed,
            state.sideslip_rad * speed,
            yaw_rate,
            road_wheel,
            car.front_axle_to_cg_m,
            car.track_m,
        );
        let measured = input.wheel_speed_rad_s.zip(ground, |sensed, ground_speed| {
            sensed.or(ground_speed.over(car.wheel_radius_m, S::ZERO))
        });
        let wheel_slip = measured.zip(ground, |wheel, ground_speed| {
            (wheel * car.wheel_radius_m - ground_speed)
                .over(ground_speed.magnitude().most(S::ONE), S::ZERO)
                * direction
        });
        let front = input.wheel_speed_rad_s.front();
        let rear = input.wheel_speed_rad_s.rear();
        let shaft_speed = match (front.left, front.right) {
            (Sensed::Lost, _) | (_, Sensed::Lost) => Sensed::Lost,
            (left, right) => {
                let mean = (left.or(S::ZERO) + right.or(S::ZERO)) * S::HALF;
                Sensed::Fresh(mean * (S::ONE + car.overspeed))
            }
        };
        let clutch_slip = rear.map(|wheel| match (shaft_speed, wheel) {
            (Sensed::Lost, _) | (_, Sensed::Lost) => Sensed::Lost,
            (shaft, wheel) => Sensed::Fresh(shaft.or(S::ZERO) - wheel.or(S::ZERO)),
        });
        let wheel_load = self.wheel_loads_n(longitudinal, lateral);
        let front_ground = ground.front().sum() * S::HALF;
        let front_wheel = measured.front().sum() * S::HALF * car.wheel_radius_m;

        let slip_angle_front = (state.sideslip_rad
            + (car.front_axle_to_cg_m * yaw_rate).over(speed, S::ZERO)
            - road_wheel)
            * moving;
        let used = (longitudinal.squared() + lateral.squared())
            .square_root()
            .over(S::of(GRAVITY_M_S2), S::ZERO);
        let axle_slip = |pair: PerSide<S>| pair.sum().magnitude() * S::HALF;
        let slip = (axle_slip(wheel_slip.front())
            .most(axle_slip(wheel_slip.rear()))
            .squared()
            + slip_angle_front.squared())
        .square_root();
        let friction = friction::step(&self.tunables, &mut state.friction, used, slip, period_s);

        let quiet = radius::Quiet {
            speed_m_s: forward,
            yaw_rate_rad_s: yaw_rate,
            lateral_m_s2: lateral,
            longitudinal_m_s2: longitudinal,
            carrier_torque_nm: input.carrier_torque_nm,
            brake_bar: input.brake_bar,
            rear_torque_nm: input.rear_torque_nm,
        };
        radius::step(
            self,
            &mut state.radius,
            input.wheel_speed_rad_s,
            &quiet,
            period_s,
        );

        Motion {
            speed_m_s: speed,
            direction,
            yaw_rate_rad_s: yaw_rate,
            longitudinal_acceleration_m_s2: longitudinal,
            lateral_acceleration_m_s2: lateral,
            road_wheel_rad: road_wheel,
            sideslip_rad: state.sideslip_rad,
            wheel_slip,
            shaft_speed_rad_s: shaft_speed,
            clutch_slip_rad_s: clutch_slip,
            wheel_load_n: wheel_load,
            friction_used: state.friction.used,
            friction,
            friction_trust: state.friction.trust,
            front_spin_m_s: (front_wheel - front_ground) * direction,
            overspeed_effective: (S::ONE + car.overspeed) * (S::ONE + state.radius.rear_to_front)
                - S::ONE,
        }
    }
}
