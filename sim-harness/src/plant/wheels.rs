//! The four wheels at one moment: tyre forces, wheel moments, slip rates and what they do to the body.
//!
//! Inputs: velocity and place of the body, steering, slips, wheel speeds, wheel loads. Outputs: [`WheelMoment`]. Where all tyres
//! are of the demo family the wheels go side by side through [`four`](super::tyre::four); other families go one by one, with the
//! same operations. Limits: as the tyres'.

use super::chassis::BodyVelocity;
use super::motion::{WheelForces, WheelSlips};
use super::quantity::PerWheel;
use super::road::{Road, Surface};
use super::tyre::four::{FourSlips, FourTyres};
use super::tyre::{Slip, Tyre};
use wide::f64x4;

/// Wheel speed over which rolling resistance fades out at standstill, rad/s.
const ROLLING_FADE_RAD_S: f64 = 0.5;

/// What does not change while the car drives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wheels {
    tyres: PerWheel<Tyre>,
    four: Option<FourTyres>,
    places_m: PerWheel<(f64, f64)>,
    radius_m: PerWheel<f64>,
    rolling_resistance: f64,
}

/// Where the body is, which way it points and how it moves, and the front wheels' steering as sine and cosine.
pub struct World<'a> {
    /// Velocity of the body where the wheels touch the ground.
    pub body: &'a BodyVelocity,
    /// Place in the world, m.
    pub place_m: (f64, f64),
    /// Sine and cosine of the heading.
    pub direction: (f64, f64),
    /// Sine and cosine of the front wheels' steering angle.
    pub steer: (f64, f64),
}

/// What the wheels do at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelMoment {
    /// Tyre forces.
    pub force: WheelForces,
    /// Rates of the transient slips, 1/s.
    pub slip_rate: WheelSlips,
    /// Moment on each wheel, N m.
    pub moment_nm: PerWheel<f64>,
    /// Rolling resistance, N m, positive against forward rolling.
    pub rolling_nm: PerWheel<f64>,
    /// Force on the body along it, N.
    pub forward_n: f64,
    /// Force on the body across it, N.
    pub lateral_n: f64,
    /// Yaw moment on the body, N m.
    pub yaw_nm: f64,
}

impl WheelMoment {
    /// The moment in the mirror.
    pub fn mirrored(&self) -> Self {
        Self {
            force: WheelForces {
                longitudinal_n: self.force.longitudinal_n.mirrored(),
                lateral_n: self.force.lateral_n.mirrored().map(|force| -force),
                normalised_slip: self.force.normalised_slip.mirrored(),
            },
            slip_rate: self.slip_rate.mirrored(),
            moment_nm: self.moment_nm.mirrored(),
            rolling_nm: self.rolling_nm.mirrored(),
            forward_n: self.forward_n,
            lateral_n: -self.lateral_n,
            yaw_nm: -self.yaw_nm,
        }
    }
}

impl Wheels {
    /// From tyres, places in the body's axes, rolling radii, and rolling resistance per load.
    pub fn new(
        tyres: PerWheel<Tyre>,
        places_m: PerWheel<(f64, f64)>,
        radius_m: PerWheel<f64>,
        rolling_resistance: f64,
    ) -> Self {
        Self {
            four: FourTyres::of(&tyres),
            tyres,
            places_m,
            radius_m,
            rolling_resistance,
        }
    }

    /// The same wheels, taken one by one whatever their family: for showing that both ways agree.
    pub fn one_by_one(self) -> Self {
        Self { four: None, ..self }
    }

    /// Velocity of each wheel centre along and across its plane, m/s; `steer` is (sine, cosine) of the front wheels.
    #[inline(always)]
    pub fn velocities_m_s(
        &self,
        body: &BodyVelocity,
        steer: (f64, f64),
    ) -> (PerWheel<f64>, PerWheel<f64>) {
        let (along, across) = self.velocity_lanes_m_s(body, steered(steer));
        (PerWheel::of_lanes(along), PerWheel::of_lanes(across))
    }

    /// Forces, moments and rates.
    #[inline(always)]
    pub fn at(
        &self,
        world: &World<'_>,
        road: &Road,
        slip: &WheelSlips,
        wheel_rad_s: PerWheel<f64>,
        load_n: PerWheel<f64>,
    ) -> WheelMoment {
        let (friction, rolling_scale) = self.ground(world, road);
        let (sine, cosine) = steered(world.steer);
        let (along_m_s, across_m_s) = self.velocity_lanes_m_s(world.body, (sine, cosine));
        let radius_m = self.radius_m.lanes();
        let wheel = wheel_rad_s.lanes();
        let load = load_n.lanes();
        let tread_m_s = wheel * radius_m;
        let (longitudinal_n, lateral_n, normalised, rate) = match &self.four {
            Some(four) => {
                let slip = FourSlips {
                    longitudinal: slip.longitudinal.lanes(),
                    lateral: slip.lateral.lanes(),
                };
                let (rate, acting) = four.transient(&slip, along_m_s, across_m_s, tread_m_s);
                let force = four.force(load, friction, &acting);
                (
                    force.longitudinal_n,
                    force.lateral_n,
                    force.normalised_slip,
                    rate,
                )
            }
            None => self.apart(slip, (along_m_s, across_m_s), tread_m_s, load, friction),
        };
        let rolling = rolling_scale * self.rolling_resistance;
        let fade = f64x4::splat(ROLLING_FADE_RAD_S * ROLLING_FADE_RAD_S);
        let rolling_nm = rolling * load * radius_m * wheel / (wheel * wheel + fade).sqrt();
        let forward_n = longitudinal_n * cosine - lateral_n * sine;
        let sideways_n = longitudinal_n * sine + lateral_n * cosine;
        let yaw_nm = self.place_lanes_m().0 * sideways_n - self.place_lanes_m().1 * forward_n;
        WheelMoment {
            force: WheelForces {
                longitudinal_n: PerWheel::of_lanes(longitudinal_n),
                lateral_n: PerWheel::of_lanes(lateral_n),
                normalised_slip: PerWheel::of_lanes(normalised),
            },
            slip_rate: WheelSlips {
                longitudinal: PerWheel::of_lanes(rate.longitudinal),
                lateral: PerWheel::of_lanes(rate.lateral),
            },
            moment_nm: PerWheel::of_lanes(-longitudinal_n * radius_m - rolling_nm),
            rolling_nm: PerWheel::of_lanes(rolling_nm),
            forward_n: PerWheel::of_lanes(forward_n).sum(),
            lateral_n: PerWheel::of_lanes(sideways_n).sum(),
            yaw_nm: PerWheel::of_lanes(yaw_nm).sum(),
        }
    }

    /// Friction under each wheel and factor of the ground on rolling resistance.
    #[inline(always)]
    fn ground(&self, world: &World<'_>, road: &Road) -> (f64x4, f64x4) {
        if let Surface::Uniform { friction } = road.surface {
            return (f64x4::splat(friction), f64x4::ONE);
        }
        let (sine, cosine) = world.direction;
        let ground = self.places_m.map(|(x_m, y_m)| {
            road.ground_at(
                world.place_m.0 + x_m * cosine - y_m * sine,
                world.place_m.1 + x_m * sine + y_m * cosine,
            )
        });
        (
            ground.map(|(friction, _)| friction).lanes(),
            ground.map(|(_, rolling)| rolling).lanes(),
        )
    }

    #[inline(always)]
    fn place_lanes_m(&self) -> (f64x4, f64x4) {
        (
            self.places_m.map(|(x_m, _)| x_m).lanes(),
            self.places_m.map(|(_, y_m)| y_m).lanes(),
        )
    }

    #[inline(always)]
    fn velocity_lanes_m_s(
        &self,
        body: &BodyVelocity,
        (sine, cosine): (f64x4, f64x4),
    ) -> (f64x4, f64x4) {
        let (x_m, y_m) = self.place_lanes_m();
        let forward = body.forward_m_s - body.yaw_rad_s * y_m;
        let lateral = body.lateral_m_s + body.yaw_rad_s * x_m;
        (
            forward * cosine + lateral * sine,
            lateral * cosine - forward * sine,
        )
    }

    /// Each tyre by its own family.
    #[cold]
    fn apart(
        &self,
        slip: &WheelSlips,
        velocity_m_s: (f64x4, f64x4),
        tread_m_s: f64x4,
        load_n: f64x4,
        friction: f64x4,
    ) -> (f64x4, f64x4, f64x4, FourSlips) {
        let per_wheel = PerWheel::<f64>::of_lanes;
        let velocity_m_s = per_wheel(velocity_m_s.0).pair(per_wheel(velocity_m_s.1));
        let slip = slip.longitudinal.pair(slip.lateral);
        let wheels = self
            .tyres
            .pair(slip.pair(velocity_m_s.pair(per_wheel(tread_m_s))))
            .pair(per_wheel(load_n).pair(per_wheel(friction)))
            .map(
                |((tyre, ((longitudinal, lateral), (velocity, tread))), (load, friction))| {
                    let slip = Slip {
                        longitudinal,
                        lateral,
                    };
                    let (rate, acting) = tyre.transient(slip, velocity, tread);
                    let force = tyre.force(load, friction, acting.longitudinal, acting.lateral);
                    (force, rate)
                },
            );
        (
            wheels.map(|(force, _)| force.longitudinal_n).lanes(),
            wheels.map(|(force, _)| force.lateral_n).lanes(),
            wheels.map(|(force, _)| force.normalised_slip).lanes(),
            FourSlips {
                longitudinal: wheels.map(|(_, rate)| rate.longitudinal).lanes(),
                lateral: wheels.map(|(_, rate)| rate.lateral).lanes(),
            },
        )
    }
}

/// Steering of each wheel: the front wheels steer, the rear ones do not.
#[inline(always)]
fn steered((sine, cosine): (f64, f64)) -> (f64x4, f64x4) {
    (
        f64x4::new([sine, sine, 0.0, 0.0]),
        f64x4::new([cosine, cosine, 1.0, 1.0]),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::chassis::Chassis;
    use crate::plant::quantity::PerSide;
    use crate::plant::vehicle::Vehicle;

    /// Cheap repeatable numbers in -1..1; no claim to quality.
    fn number(seed: &mut u64) -> f64 {
        *seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (*seed >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    #[test]
    fn four_wheels_at_once_are_four_wheels_one_by_one_to_the_last_bit() {
        let mut seed = 11;
        let mut lifted = 0;
        for case in 0..20_000 {
            let mut vehicle = Vehicle::default();
            vehicle.tyre_front.left_friction_scale = 1.0 + 0.2 * number(&mut seed);
            vehicle.tyre_rear.right_stiffness_scale = 1.0 + 0.2 * number(&mut seed);
            if case % 3 == 0 {
                vehicle.tyre_front.chain_friction = 0.3;
            }
            let (front, rear) = (&vehicle.tyre_front, &vehicle.tyre_rear);
            let wheels = Wheels::new(
                PerWheel::from_axles(PerSide::from(front), PerSide::from(rear)),
                Chassis::new(&vehicle).places_m(),
                PerWheel::all(0.34).map(|radius| radius + 0.02 * number(&mut seed)),
                0.012,
            );
            assert!(wheels.four.is_some());
            // Every third case near standstill, where damping and the bounds of slip differ.
            let speed_m_s = if case % 3 == 1 { 1.0 } else { 40.0 };
            let body = BodyVelocity {
                forward_m_s: speed_m_s * number(&mut seed),
                lateral_m_s: 5.0 * number(&mut seed),
                yaw_rad_s: number(&mut seed),
            };
            let world = World {
                body: &body,
                place_m: (number(&mut seed), number(&mut seed)),
                direction: libm::sincos(3.0 * number(&mut seed)),
                steer: libm::sincos(0.6 * number(&mut seed)),
            };
            let road = match case % 2 {
                0 => Road::level((1.2 * number(&mut seed)).max(0.0)),
                _ => Road {
                    surface: Surface::Split {
                        left_friction: 0.9,
                        right_friction: 0.1,
                    },
                    ..Road::level(1.0)
                },
            };
            let mut each = |scale: f64| PerWheel::all(()).map(|()| scale * number(&mut seed));
            let slip = WheelSlips {
                longitudinal: each(1.2),
                lateral: each(0.8),
            };
            let wheel_rad_s = each(3.0 * speed_m_s);
            let load_n = each(9000.0).map(|load| load.max(0.0));
            lifted += u32::from(load_n.front_left == 0.0);
            let at = |wheels: &Wheels| wheels.at(&world, &road, &slip, wheel_rad_s, load_n);
            // Debug shows zeros with their signs and every bit that differs.
            assert_eq!(
                format!("{:?}", at(&wheels)),
                format!("{:?}", at(&wheels.one_by_one()))
            );
        }
        assert!(lifted > 1000, "{lifted} lifted wheels");
    }
}
