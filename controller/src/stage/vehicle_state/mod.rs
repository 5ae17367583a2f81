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
use crate::numerics::filter::Lag;
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
    /// Torque each clutch would carry if it were locked, from the geometry of the turn and the front wheels' slip, Nm;
    /// its sign is the sign of the torque in stick, which slip cannot show.
    pub lock_torque_nm: PerSide<S>,
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
    /// Part of the lateral specific force that is bank, m/s2.
    pub bank_m_s2: Lag<S>,
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

impl<S: Real> VehicleState<S> {
    /// Sideslip: lateral acceleration over speed minus yaw rate, integrated, drawn slowly to the single-track value.
    fn sideslip(
        &self,
        state: &mut VehicleStateState<S>,
        input: &VehicleStateIn<S>,
        speed: S,
        direction: S,
        period_s: S,
    ) -> S {
        let tune = &self.tunables;
        let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
        let forward = speed * direction;
        let moving = fade_in(forward, S::of(2.0), S::of(5.0));
        if direction < S::ZERO {
            // In reverse the car is slow and the model's signs are others: nothing is claimed.
            state.sideslip_rad = S::ZERO;
            return S::ZERO;
        }
        let share = |time_s: S| period_s.over(time_s, S::ONE).within(S::ZERO, S::ONE);
        let steady_turn = speed * yaw_rate;
        let estimate = match input.lateral_acceleration_m_s2 {
            Sensed::Lost => self.single_track_sideslip(speed, yaw_rate, steady_turn),
            Sensed::Fresh(felt) | Sensed::Held { value: felt, .. } => {
                // A bank is felt for long; sideslip changes soon. What stays of the difference is bank.
                let bound = S::of(2.0);
                let difference = (felt - steady_turn).within(-bound, bound) * moving;
                let bank = state
                    .bank_m_s2
                    .step(difference, tune.bank_memory_s, period_s);
                let lateral = felt - bank;
                let steady = self.single_track_sideslip(speed, yaw_rate, lateral);
                let turn = lateral.over(speed, yaw_rate) - yaw_rate;
                let integrated = state.sideslip_rad + turn * period_s;
                let crawl = share(tune.crawl_sideslip_s) * (S::ONE - moving);
                let leak = share(tune.sideslip_leak_s).most(crawl);
                integrated + (steady - integrated) * leak
            }
        };
        state.sideslip_rad = estimate.within(-S::ONE, S::ONE);
        state.sideslip_rad * moving
    }

    /// Torque on each rear wheel if its clutch were locked: the wheel would turn with the shaft, so its slip follows from
    /// the speeds over ground, the overspeed and the front wheels' own slip.
    fn lock_torque_nm(
        &self,
        state: &VehicleStateState<S>,
        ground: PerWheel<S>,
        input: &VehicleStateIn<S>,
        direction: S,
    ) -> PerSide<S> {
        let car = &self.vehicle;
        let front = ground.front().sum() * S::HALF;
        let taken = input.rear_torque_nm.sum() * (S::ONE + car.overspeed);
        let front_torque = input.carrier_torque_nm.or(S::ZERO) - taken;
        let two_wheels = car.wheel_radius_m * car.rear_slip_stiffness_n;
        let front_slip = front_torque.over(two_wheels + two_wheels, S::ZERO) * direction;
        let effective = (S::ONE + car.overspeed) * (S::ONE + state.radius.rear_to_front);
        let shaft = front * effective * (S::ONE + front_slip);
        ground.rear().map(|wheel| {
            let slip = (shaft - wheel).over(wheel.magnitude().most(S::ONE), S::ZERO);
            (slip * two_wheels).within(-two_wheels, two_wheels)
        })
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
        // Wheel speed sensors know no sign: in reverse gear the wheels turn backwards, whatever they say.
        let backwards = |wheel: S| {
            if direction < S::ZERO {
                -wheel.magnitude()
            } else {
                wheel
            }
        };
        let input = &VehicleStateIn {
            wheel_speed_rad_s: input.wheel_speed_rad_s.map(|sensed| sensed.map(backwards)),
            ..*input
        };
        let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
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
            state.radius.rear_to_front,
            period_s,
        );

        let forward = speed * direction;
        let sideslip = self.sideslip(state, input, speed, direction, period_s);
        // Without the accelerometer a steady turn is the best guess.
        let lateral = input.lateral_acceleration_m_s2.or(speed * yaw_rate);
        let moving = fade_in(forward, S::of(2.0), S::of(5.0));

        let ground = kinematics::wheel_ground_speed(
            speed,
            sideslip * speed,
            yaw_rate,
            road_wheel,
            car.front_axle_to_cg_m,
            car.track_m,
        );
        let rear_radius = car.wheel_radius_m * (S::ONE + state.radius.rear_to_front);
        let radius = PerWheel::from_axles(
            PerSide::both(car.wheel_radius_m),
            PerSide::both(rear_radius),
        );
        let rolling = ground.zip(radius, |speed, radius| (speed, radius));
        let wheel_slip = input
            .wheel_speed_rad_s
            .zip(rolling, |sensed, (speed, radius)| {
                // A lost wheel rolls, for want of better.
                sensed
                    .map(|wheel| {
                        (wheel * radius - speed).over(speed.magnitude().most(S::ONE), S::ZERO)
                    })
                    .or(S::ZERO)
                    * direction
            });
        let front = input.wheel_speed_rad_s.front();
        let shaft_speed = front.left.join(front.right, |left, right| {
            (left + right) * S::HALF * (S::ONE + car.overspeed)
        });
        let clutch_slip = input
            .wheel_speed_rad_s
            .rear()
            .map(|wheel| shaft_speed.join(wheel, |shaft, wheel| shaft - wheel));
        let lock_torque = self.lock_torque_nm(state, ground, input, direction);
        let wheel_load = self.wheel_loads_n(longitudinal, lateral);
        let front_ground = ground.front().sum() * S::HALF;
        let front_wheel = front
            .left
            .join(front.right, |left, right| {
                (left + right) * S::HALF * car.wheel_radius_m
            })
            .or(front_ground);

        let slip_angle_front =
            (sideslip + (car.front_axle_to_cg_m * yaw_rate).over(speed, S::ZERO) - road_wheel)
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
            sideslip_rad: sideslip,
            wheel_slip,
            shaft_speed_rad_s: shaft_speed,
            clutch_slip_rad_s: clutch_slip,
            lock_torque_nm: lock_torque,
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
