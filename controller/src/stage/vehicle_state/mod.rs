//! What the car is doing: speed, slip, sideslip, loads, friction, rolling radii.
//!
//! In: conditioned signals and the torques the law expected one step ago. Out: [`Motion`]. The controller's own idea of
//! the car is used throughout; none of it is shared with the plant.

pub mod friction;
pub mod grip;
pub mod kinematics;
pub mod radius;
mod sideslip;
pub mod speed;

use super::Stage;
use crate::calibration;
use crate::numerics::filter::{Lag, fading_share, lag_share};
use crate::numerics::table::fade_in;
use crate::numerics::{GRAVITY_M_S2, Real, Scalar};
use crate::quantity::{PerSide, PerWheel, Sensed};
use friction::FrictionState;
use radius::RadiusState;
use speed::{SpeedIn, SpeedState};

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
    /// Anti-lock braking at work.
    pub anti_lock_active: bool,
    /// Whether a closed clutch stuck one step ago.
    pub stuck: bool,
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
    /// Its sine.
    pub road_wheel_sine: S,
    /// Its cosine.
    pub road_wheel_cosine: S,
    /// Sideslip angle at the centre of gravity, rad, positive when the car moves to its left.
    pub sideslip_rad: S,
    /// Slip of each wheel after ISO 8855, positive driving; against a floor of 1 m/s at crawl.
    pub wheel_slip: PerWheel<S>,
    /// Shaft speed minus wheel speed, rad/s.
    pub clutch_slip_rad_s: PerSide<Sensed<S>>,
    /// Torque each clutch would carry if it were locked, from the geometry of the turn and the front wheels' slip, Nm;
    /// its sign is the sign of the torque in stick, which slip cannot show.
    pub lock_torque_nm: PerSide<S>,
    /// Loads of the rear wheels, N.
    pub rear_load_n: PerSide<S>,
    /// Friction already used.
    pub friction_used: S,
    /// Friction believed available.
    pub friction: S,
    /// Friction that front tyres which slid have shown; the ceiling where none did.
    pub friction_shown: S,
    /// How little the tyres slip, 1 to 0: whether friction may be taken for a dry road's until shown otherwise.
    pub friction_trust: S,
    /// Mean front wheel speed beyond the car's, m/s, positive spinning forward.
    pub front_spin_m_s: S,
    /// Effective overspeed with the radii learned.
    pub overspeed_effective: S,
    /// How far the tyres differ by more than wear, 0 to 1: a spare, mixed sizes, chains.
    pub unlike_tyres: S,
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
    /// Grip shown to be missing.
    pub grip: grip::GripState<S>,
    /// Rolling radii.
    pub radius: RadiusState<S>,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct VehicleState<S> {
    /// Its calibration.
    pub tunables: calibration::VehicleState<S>,
    /// The controller's idea of the car.
    pub vehicle: calibration::Vehicle<S>,
    /// What follows from both and the period.
    ready: Ready<S>,
}

/// Numbers of calibration and period that would be the same in every step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Ready<S> {
    rear_share: S,
    slip_load_per_nm: S,
    slip_per_m_s2: S,
    slip_across_per_m_s2: S,
    slope_share: S,
    agreed_share: S,
    natural_understeer: S,
    two_wheels_nm: S,
    bank_share: S,
    leak_share: S,
    crawl_share: S,
    friction_share: S,
    forget_share: S,
}

impl<S: Real> VehicleState<S> {
    /// The stage of a calibration and the car's own understeer constant, rad s2/m, for steps of `period_s`.
    pub fn new(
        tunables: calibration::VehicleState<S>,
        vehicle: calibration::Vehicle<S>,
        understeer_rad_s2_m: S,
        period_s: S,
    ) -> Self {
        let car = &vehicle;
        let two_wheels_nm = car.wheel_radius_m * car.rear_slip_stiffness_n;
        let weight_n = car.mass_kg * S::of(GRAVITY_M_S2);
        let rear_share = car.front_axle_to_cg_m.over(car.wheelbase_m, S::HALF);
        // Slip times load per torque: a tyre's slip stiffness grows with its load, and is known at rest.
        let slip_load_per_nm = (weight_n * rear_share * S::HALF).over(two_wheels_nm, S::ZERO);
        let ready = Ready {
            rear_share,
            slip_load_per_nm,
            slip_per_m_s2: (car.mass_kg * car.wheel_radius_m * slip_load_per_nm)
                .over(weight_n, S::ZERO),
            // Two wheels with c more and c less than half an axle's load: 1/(1/2 - c) - 1/(1/2 + c) is 8 c, to first order.
            slip_across_per_m_s2: (S::of(4.0) * car.cg_height_m)
                .over(S::of(GRAVITY_M_S2) * car.track_m, S::ZERO),
            slope_share: lag_share(tunables.slope_memory_s, period_s),
            agreed_share: fading_share(tunables.sideslip_agreed_s, period_s),
            natural_understeer: understeer_rad_s2_m,
            two_wheels_nm,
            bank_share: lag_share(tunables.bank_memory_s, period_s),
            leak_share: fading_share(tunables.sideslip_leak_s, period_s),
            crawl_share: fading_share(tunables.crawl_sideslip_s, period_s),
            friction_share: lag_share(tunables.friction_filter_s, period_s),
            forget_share: fading_share(tunables.friction_memory_s, period_s),
        };
        Self {
            tunables,
            vehicle,
            ready,
        }
    }

    // Sums and products that cost less to work out again than to keep on a small processor.
    fn weight_n(&self) -> S {
        self.vehicle.mass_kg * S::of(GRAVITY_M_S2)
    }

    fn gravity_track_m2_s2(&self) -> S {
        S::of(GRAVITY_M_S2) * self.vehicle.track_m
    }

    fn rear_arm_m(&self) -> S {
        self.vehicle.wheelbase_m - self.vehicle.front_axle_to_cg_m
    }

    fn slip_of_all_per_nm(&self) -> S {
        self.ready.slip_load_per_nm.over(self.weight_n(), S::ZERO)
    }

    fn four_wheels_nm(&self) -> S {
        self.ready.two_wheels_nm + self.ready.two_wheels_nm
    }

    fn with_overspeed(&self) -> S {
        S::ONE + self.vehicle.overspeed
    }

    /// Static loads changed by the accelerations (handbook statics: m a h / L per axle, m a h / T per car, the lateral
    /// part shared by the axles in the ratio of their loads).
    #[inline(always)]
    pub fn wheel_loads_n(&self, longitudinal_m_s2: S, lateral_m_s2: S) -> PerWheel<S> {
        let car = &self.vehicle;
        let weight = self.weight_n();
        let shift = (car.mass_kg * longitudinal_m_s2 * car.cg_height_m).per(car.wheelbase_m);
        let rear = (weight * self.ready.rear_share + shift).up_to(weight);
        let front = weight - rear;
        let across = (lateral_m_s2 * car.cg_height_m).per(self.gravity_track_m2_s2());
        let split = |axle: S| PerSide {
            left: (axle * (S::HALF - across)).up_to(axle),
            right: (axle * (S::HALF + across)).up_to(axle),
        };
        PerWheel::from_axles(split(front), split(rear))
    }
}

impl<S: Real> VehicleState<S> {
    fn shaft_speed_rad_s(&self, front_left_rad_s: S, front_right_rad_s: S) -> S {
        (front_left_rad_s + front_right_rad_s) * S::HALF * self.with_overspeed()
    }

    /// Slip of the clutches, rad/s, where not every wheel speed is fresh.
    #[cold]
    #[inline(never)]
    fn doubtful_slip(&self, sensed: PerWheel<Sensed<S>>, direction: S) -> PerSide<Sensed<S>> {
        let wheel = if direction < S::ZERO {
            sensed.map(|wheel| wheel.map(backwards))
        } else {
            sensed
        };
        let shaft = wheel.front_left.join(wheel.front_right, |left, right| {
            self.shaft_speed_rad_s(left, right)
        });
        wheel
            .rear()
            .map(|wheel| shaft.join(wheel, |shaft, wheel| shaft - wheel))
    }

    /// Torque on each rear wheel if its clutch were locked, Nm: the wheel would turn with the shaft, so its slip follows from
    /// the speeds over ground (m/s, in each wheel's plane), the overspeed, each rear rolling radius over the front axle's (less
    /// one) and the front wheels' own slip, told by what the rear leaves them of the carrier's torque (Nm).
    pub fn lock_torque_nm(
        &self,
        rear_to_front: PerSide<S>,
        ground: PerWheel<S>,
        carrier_torque_nm: S,
        rear_torque_nm: PerSide<S>,
        direction: S,
    ) -> PerSide<S> {
        let front = ground.front().sum() * S::HALF;
        let taken = rear_torque_nm.sum() * self.with_overspeed();
        let front_torque = carrier_torque_nm - taken;
        let two_wheels = self.ready.two_wheels_nm;
        let front_slip = front_torque.per(self.four_wheels_nm()) * direction;
        let shaft = front * self.with_overspeed() * (S::ONE + front_slip);
        ground.rear().zip(rear_to_front, |wheel, beyond| {
            let slip = (shaft + shaft * beyond - wheel).per(wheel.magnitude().at_least(S::ONE));
            (slip * two_wheels).within(-two_wheels, two_wheels)
        })
    }
}

impl<S: Real> Stage<S> for VehicleState<S> {
    type In = VehicleStateIn<S>;
    type Out = Motion<S>;
    type State = VehicleStateState<S>;

    #[inline(always)]
    fn step(&self, state: &mut Self::State, input: &Self::In, period_s: S) -> Self::Out {
        let mut out = Motion::default();
        self.step_into(state, input, period_s, &mut out);
        out
    }

    #[inline(always)]
    fn step_into(
        &self,
        state: &mut Self::State,
        input: &Self::In,
        period_s: S,
        out: &mut Self::Out,
    ) {
        let car = &self.vehicle;
        let direction = if input.gear.or(S::ONE) < S::ZERO {
            -S::ONE
        } else {
            S::ONE
        };
        out.direction = direction;
        let wheels = Wheels::of(&input.wheel_speed_rad_s, direction);
        let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
        out.yaw_rate_rad_s = yaw_rate;
        let longitudinal = input.longitudinal_acceleration_m_s2.or(S::ZERO);
        out.longitudinal_acceleration_m_s2 = longitudinal;
        let road_wheel = input.steering_wheel_rad.or(S::ZERO).per(car.steering_ratio);
        out.road_wheel_rad = road_wheel;
        // Once for everybody: they cost as much as a stage.
        let (sine, cosine) = road_wheel.sine_cosine();
        out.road_wheel_sine = sine;
        out.road_wheel_cosine = cosine;
        let rear_torque_nm = input.rear_torque_nm;

        // Without the accelerometer a steady turn is the best guess.
        let lateral = input
            .lateral_acceleration_m_s2
            .or(state.speed.speed_m_s * yaw_rate);
        out.lateral_acceleration_m_s2 = lateral;
        let load_n = self.wheel_loads_n(longitudinal, lateral);
        out.rear_load_n = load_n.rear();
        let speed = speed::step(
            self,
            &mut state.speed,
            &SpeedIn {
                input,
                wheels: &wheels,
                direction,
                road_wheel: (sine, cosine),
                sideslip_rad: state.sideslip_rad,
                beyond_one: state.radius.beyond_one,
                load_n,
            },
            period_s,
        );
        out.speed_m_s = speed;

        let forward = speed * direction;
        let moving = fade_in(forward, S::of(2.0), S::of(5.0));
        let sideslip = self.sideslip(state, input, speed, direction, moving, period_s);
        out.sideslip_rad = sideslip;

        let ground = kinematics::wheel_ground_speed_turned(
            speed,
            sideslip * speed,
            yaw_rate,
            (sine, cosine),
            car.front_axle_to_cg_m,
            car.track_m,
        );
        out.lock_torque_nm = self.lock_torque_nm(
            state.radius.rear_over_front_axle(),
            ground,
            input.carrier_torque_nm.or(S::ZERO),
            input.rear_torque_nm,
            direction,
        );
        let radius = state
            .radius
            .beyond_one
            .map(|beyond| car.wheel_radius_m * (S::ONE + beyond));
        // A lost wheel rolls, for want of better.
        let slip_of = |known: bool, wheel: S, speed: S, radius: S| {
            if known {
                (wheel * radius - speed).per(speed.magnitude().at_least(S::ONE)) * direction
            } else {
                S::ZERO
            }
        };
        let (known, wheel) = (wheels.known, wheels.speed_rad_s);
        let front_slip = PerSide {
            left: slip_of(
                known.front_left,
                wheel.front_left,
                ground.front_left,
                radius.front_left,
            ),
            right: slip_of(
                known.front_right,
                wheel.front_right,
                ground.front_right,
                radius.front_right,
            ),
        };
        let rear_slip = PerSide {
            left: slip_of(
                known.rear_left,
                wheel.rear_left,
                ground.rear_left,
                radius.rear_left,
            ),
            right: slip_of(
                known.rear_right,
                wheel.rear_right,
                ground.rear_right,
                radius.rear_right,
            ),
        };
        out.wheel_slip = PerWheel::from_axles(front_slip, rear_slip);
        let front_ground = ground.front().sum() * S::HALF;
        let front_wheel = if known.front_left && known.front_right {
            (wheel.front_left * radius.front_left + wheel.front_right * radius.front_right)
                * S::HALF
        } else {
            front_ground
        };
        out.front_spin_m_s = (front_wheel - front_ground) * direction;

        let slip_angle_front =
            (sideslip + (car.front_axle_to_cg_m * yaw_rate).over(speed, S::ZERO) - road_wheel)
                * moving;
        let used = (longitudinal.squared() + lateral.squared())
            .square_root()
            .per(S::of(GRAVITY_M_S2));
        let axle_slip = |pair: PerSide<S>| pair.sum().magnitude() * S::HALF;
        let slip = (axle_slip(front_slip)
            .at_least(axle_slip(rear_slip))
            .squared()
            + slip_angle_front.squared())
        .square_root();
        let believed = friction::step(self, &mut state.friction, used, slip);
        let shown = self.watch_grip(
            &mut state.grip,
            &grip::GripIn {
                front_angle_rad: slip_angle_front,
                front_slip: axle_slip(front_slip),
                rear_difference_nm: rear_torque_nm.difference(),
                lateral_m_s2: lateral,
                yaw_rate_rad_s: yaw_rate,
                now: state.friction.now.value,
                forward_m_s: forward,
            },
            period_s,
        );
        out.friction = believed.at_most(shown);
        out.friction_shown = shown;
        out.friction_used = state.friction.used;
        out.friction_trust = state.friction.trust * grip::dry(shown);

        if wheels.all_fresh {
            let lesson = || radius::Lesson {
                wheel_rad_s: wheel,
                load_n,
                forward_m_s: forward,
                yaw_rate_rad_s: input.yaw_rate_rad_s,
                lateral_m_s2: input.lateral_acceleration_m_s2,
                road_wheel: (sine, cosine),
                sideslip_rad: sideslip,
                carrier_torque_nm: input.carrier_torque_nm,
                brake_bar: input.brake_bar,
                rear_torque_nm,
            };
            radius::step(self, &mut state.radius, input.stuck, lesson, period_s);
        }
        out.unlike_tyres = state.radius.unlike;
        out.overspeed_effective =
            self.with_overspeed() * (S::ONE + state.radius.rear_to_front) - S::ONE;
        // Last, so that a reader that follows knows without a look that they are fresh.
        if wheels.all_fresh {
            let shaft = self.shaft_speed_rad_s(wheel.front_left, wheel.front_right);
            out.clutch_slip_rad_s = PerSide {
                left: Sensed::Fresh(shaft - wheel.rear_left),
                right: Sensed::Fresh(shaft - wheel.rear_right),
            };
        } else {
            out.clutch_slip_rad_s = self.doubtful_slip(input.wheel_speed_rad_s, direction);
        }
    }
}

/// Wheel speeds as far as they are known.
struct Wheels<S> {
    /// Zero where it is not known, rad/s.
    speed_rad_s: PerWheel<S>,
    known: PerWheel<bool>,
    all_fresh: bool,
}

impl<S: Scalar> Wheels<S> {
    fn of(sensed: &PerWheel<Sensed<S>>, direction: S) -> Self {
        let mut speed_rad_s = sensed.map(|wheel| wheel.or(S::ZERO));
        if direction < S::ZERO {
            speed_rad_s = speed_rad_s.map(backwards);
        }
        let fresh = sensed.map(Sensed::is_fresh);
        Self {
            speed_rad_s,
            known: sensed.map(|wheel| !wheel.is_lost()),
            all_fresh: fresh.front_left & fresh.front_right & fresh.rear_left & fresh.rear_right,
        }
    }
}

/// Wheel speed sensors know no sign: in reverse gear the wheels turn backwards, whatever they say.
fn backwards<S: Scalar>(wheel_rad_s: S) -> S {
    -wheel_rad_s.magnitude()
}
