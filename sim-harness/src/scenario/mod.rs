//! A scenario: manoeuvre, road, course, driver and sensors as plain numbers.
//!
//! Everything a run needs is a value. Each manoeuvre has its own defaults; a scenario file overrides single numbers.
//! All demo scenarios are invented.

mod defaults;
pub mod friction_step_road;
mod kind;
pub mod skarn_road;
mod variant;

pub use kind::Manoeuvre;

use crate::fault::Fault;
use crate::plant::{AxleLayout, Road, Surface, Vehicle};

/// Speed that counts as climbed away in a launch, m/s: 20 km/h.
pub const LAUNCH_GOAL_M_S: f64 = 20.0 / 3.6;

/// Names of the axle layouts in files and on the command line.
pub fn layout_name(layout: AxleLayout) -> &'static str {
    match layout {
        AxleLayout::FrontDrive => "front",
        AxleLayout::FrontLimitedSlip => "front-limited-slip",
        AxleLayout::BrakeVectoring => "brake-vectoring",
        AxleLayout::SingleCoupling => "coupling",
        AxleLayout::PairedClutches => "paired",
    }
}

/// The layout of that name.
pub fn layout_from_name(name: &str) -> Option<AxleLayout> {
    AxleLayout::ALL
        .into_iter()
        .find(|layout| layout_name(*layout) == name)
}

crate::described! {
    /// The numbers of a scenario.
    pub struct Numbers {
        /// Surface and slope.
        road: RoadNumbers {
            /// Peak friction under the left wheels (left of the boundary at y = 0).
            friction_left [-] 0.0 .. 1.5 = 0.95,
            /// Peak friction under the right wheels.
            friction_right [-] 0.0 .. 1.5 = 0.95,
            /// Slope of the road in the direction driven, uphill positive.
            grade_percent ["%"] -40.0 .. 40.0 = 0.0,
            /// Bank of the road at the start's heading: positive where the road falls to the right, so that gravity pulls the car
            /// to the right.
            bank_percent ["%"] -40.0 .. 40.0 = 0.0,
            /// Air and road temperature.
            ambient_degc [degC] -40.0 .. 60.0 = 20.0,
            /// Temperature of clutches, oil and housing at the start; the controller knows it from its memory.
            axle_degc [degC] -40.0 .. 140.0 = 60.0,
        },
        /// What the car carries and tows.
        load: LoadNumbers {
            /// Mass of the trailer, whose other numbers are in the vehicle file; 0: as in the vehicle file.
            trailer_mass_kg [kg] 0.0 .. 3500.0 = 0.0,
        },
        /// What is driven.
        course: CourseNumbers {
            /// Speed at the start (lane changes: 0 is the highest that strikes no cone, found beforehand with the same car,
            /// control and sensors).
            speed_m_s ["m/s"] 0.0 .. 70.0 = 0.0,
            /// Radius of the turn.
            radius_m [m] 8.0 .. 1000.0 = 100.0,
            /// Length over which the curvature falls to zero (power-on exit).
            unwind_m [m] 5.0 .. 500.0 = 60.0,
            /// Steady lateral acceleration aimed at (steering inputs, lift-off, braking in a turn); the last step (constant
            /// speed).
            lateral_acceleration_m_s2 ["m/s2"] 0.5 .. 12.0 = 4.0,
            /// Mean deceleration aimed at (braking in a turn).
            deceleration_m_s2 ["m/s2"] 0.5 .. 12.0 = 5.0,
            /// Rise of speed (constant radius, constant steering, straight ahead; there 0 holds the speed).
            speed_rise_m_s2 ["m/s2"] 0.0 .. 2.0 = 0.15,
            /// Time after which the run ends at the latest.
            longest_s [s] 0.5 .. 7200.0 = 20.0,
        },
        /// What the driver does.
        driver: DriverNumbers {
            /// 1: reverse gear, driving backwards; 0: forwards.
            reverse [-] 0.0 .. 1.0 = 0.0,
            /// Accelerator position aimed at.
            pedal [-] 0.0 .. 1.0 = 1.0,
            /// Brake position aimed at (split brake, release).
            brake [-] 0.0 .. 1.0 = 1.0,
            /// Time the accelerator takes to get there.
            pedal_rise_s [s] 0.01 .. 5.0 = 0.3,
            /// Time the accelerator takes to close (lift-off).
            pedal_fall_s [s] 0.01 .. 5.0 = 0.1,
            /// Frequency of the steering (one-period sine).
            steering_frequency_hz [Hz] 0.1 .. 4.0 = 0.5,
            /// Time of the sudden action after the start of the record.
            action_s [s] 0.0 .. 60.0 = 1.0,
            /// Time from one launch to the next (repeated launches).
            cycle_s [s] 5.0 .. 120.0 = 15.0,
            /// Time after which the car rests until the last two launches (repeated launches).
            work_s [s] 0.0 .. 7200.0 = 1200.0,
            /// Path error beyond which the driver eases the accelerator.
            path_margin_m [m] 0.1 .. 10.0 = 0.4,
            /// Largest path error the driver allows (power-on exit): above 0, the accelerator position is the largest with
            /// which the car stays this close to its path, found beforehand with the same car and control.
            path_tolerance_m [m] 0.0 .. 10.0 = 0.0,
            /// Sideslip the driver wants to hold (slide).
            sideslip_deg [deg] 5.0 .. 35.0 = 20.0,
            /// 1: moving off, the powertrain keeps the front spin the axle controller asks for; 0: it keeps its own, 1 m/s, as
            /// it does with an axle that asks for nothing.
            honour_front_spin_request [-] 0.0 .. 1.0 = 1.0,
            /// Amplitude of a sine with dwell in multiples of A, the angle for 0.3 g; 0: the whole rising series is driven
            /// beforehand, and the run recorded is the largest amplitude up to which all runs to both sides passed.
            amplitude_a [-] 0.0 .. 12.0 = 6.5,
            /// A sine with dwell begins to the left (0 or more) or to the right (below 0).
            first_side [-] -1.0 .. 1.0 = 1.0,
            /// Drag of the powertrain in the gear driven over that of the vehicle file, which is the lowest gear's.
            gear_drag_share [-] 0.0 .. 1.0 = 1.0,
        },
        /// What the driver does while something goes wrong (disturbance).
        disturbance: DisturbanceNumbers {
            /// Lateral acceleration of the turn, to the left; 0: straight.
            turn_m_s2 ["m/s2"] 0.0 .. 9.0 = 0.0,
            /// 1: a person steers all the time; 0: the hands hold still from the action on.
            person [-] 0.0 .. 1.0 = 0.0,
            /// 1: the accelerator closes at the action and the brake goes to its aim; 0: the foot goes on.
            lift_off [-] 0.0 .. 1.0 = 0.0,
            /// Steering on top from the action on, at the steering wheel: one period of a sine, to the left first.
            steer_deg [deg] -360.0 .. 360.0 = 0.0,
            /// 1: the wheel is held where the first quarter of that period brought it.
            hold [-] 0.0 .. 1.0 = 0.0,
        },
        /// What differs on this car from the vehicle file: other rear tyres as factors on its numbers, parts that are off there.
        car: CarNumbers {
            /// Factor on the rolling radius of both rear tyres.
            rear_radius_scale [-] 0.9 .. 1.1 = 1.0,
            /// Factor on both stiffnesses of both rear tyres.
            rear_stiffness_scale [-] 0.2 .. 3.0 = 1.0,
            /// 1: half shafts and propshaft twist, with lash; own numbers of the vehicle file, else invented ones.
            twisting_shafts [-] 0.0 .. 1.0 = 0.0,
            /// 1: roll and pitch are motions; own stiffness of the vehicle file, else invented ones.
            roll_and_pitch [-] 0.0 .. 1.0 = 0.0,
            /// 1: engine and stepped gears; own number of gears of the vehicle file, else six.
            stepped_gears [-] 0.0 .. 1.0 = 0.0,
        },
        /// The car's own brake controls, each on (1) or off (0).
        assist: AssistNumbers {
            /// Wheels are kept from locking under the driver's brake.
            anti_lock [-] 0.0 .. 1.0 = 1.0,
            /// A spinning driven wheel is braked and the powertrain cut; always on with the brake-vectoring layout.
            brake_traction [-] 0.0 .. 1.0 = 0.0,
            /// Single wheels are braked against over- and understeer.
            stability [-] 0.0 .. 1.0 = 0.0,
            /// Time at which the stability control asks the axle to let go, though no wheel is braked; 0: never.
            release_request_s [s] 0.0 .. 600.0 = 0.0,
            /// 1: the car orders the clutches open throughout, to compare with.
            order_open [-] 0.0 .. 1.0 = 0.0,
        },
        /// Sensors and bus; invented, of the size common practice expects, no source. All zero means true values.
        sensors: SensorNumbers {
            /// Standard deviation of the yaw rate noise.
            yaw_rate_noise_rad_s ["rad/s"] 0.0 .. 0.2 = 0.003,
            /// Standard deviation of the acceleration noise.
            acceleration_noise_m_s2 ["m/s2"] 0.0 .. 3.0 = 0.1,
            /// Standard deviation of the wheel speed noise.
            wheel_speed_noise_rad_s ["rad/s"] 0.0 .. 3.0 = 0.05,
            /// Standard deviation of the steering angle noise.
            steering_noise_rad [rad] 0.0 .. 0.2 = 0.003,
            /// Constant error of the yaw rate.
            yaw_rate_bias_rad_s ["rad/s"] -0.2 .. 0.2 = 0.0,
            /// Relative error of the yaw rate.
            yaw_rate_scale [-] -0.5 .. 0.5 = 0.0,
            /// Smallest step of the yaw rate.
            yaw_rate_step_rad_s ["rad/s"] 0.0 .. 0.1 = 0.0005,
            /// Smallest step of the accelerations.
            acceleration_step_m_s2 ["m/s2"] 0.0 .. 1.0 = 0.01,
            /// Smallest step of the wheel speeds.
            wheel_speed_step_rad_s ["rad/s"] 0.0 .. 1.0 = 0.02,
            /// Smallest step of the steering angle.
            steering_step_rad [rad] 0.0 .. 0.2 = 0.0017,
            /// Wheel speeds below this read zero, as teeth passing a coil do; above zero the sensors know no sign either.
            wheel_speed_silence_rad_s ["rad/s"] 0.0 .. 20.0 = 2.6,
            /// Delay of sensors and bus, control steps of 5 ms.
            delay_steps [-] 0.0 .. 30.0 = 1.0,
            /// Share of samples that come one step later still.
            jitter_share [-] 0.0 .. 1.0 = 0.1,
            /// Share of messages that do not come.
            loss_share [-] 0.0 .. 1.0 = 0.001,
            /// 1: both clutches have a pressure sensor; 0: the law is told no pressure.
            pressure_sensors [-] 0.0 .. 1.0 = 1.0,
            /// Standard deviation of the clutch pressure noise.
            pressure_noise_pa [Pa] 0.0 .. 1000000.0 = 8000.0,
            /// Smallest step of the clutch pressures.
            pressure_step_pa [Pa] 0.0 .. 1000000.0 = 5000.0,
        },
    }
}

/// A complete scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// Name of the run; file names are made from it.
    pub name: String,
    /// What is driven.
    pub manoeuvre: Manoeuvre,
    /// Which axle the car has.
    pub layout: AxleLayout,
    /// The numbers.
    pub numbers: Numbers,
    /// What goes wrong on purpose.
    pub faults: Vec<Fault>,
    /// Seed of the sensor noise.
    pub seed: u64,
    /// Whether the whole scenario is seen in a mirror (turns and slippery side exchanged).
    pub mirrored: bool,
}

impl Scenario {
    /// The manoeuvre with its default numbers on the paired axle.
    pub fn of(manoeuvre: Manoeuvre) -> Self {
        Self {
            name: manoeuvre.name().to_owned(),
            manoeuvre,
            layout: AxleLayout::PairedClutches,
            numbers: Numbers::of(manoeuvre),
            faults: Vec::new(),
            seed: 0,
            mirrored: false,
        }
    }

    /// 1, or -1 in reverse gear.
    pub fn direction(&self) -> f64 {
        self.numbers.driver.direction()
    }

    /// The road, seen in the mirror if the scenario is.
    pub fn road(&self) -> Road {
        let road = &self.numbers.road;
        let own_road = match self.manoeuvre {
            Manoeuvre::SkarnPass => Some((skarn_road::road(), skarn_road::DRY)),
            Manoeuvre::FrictionStep => Some((friction_step_road::road(), friction_step_road::GOOD)),
            _ => None,
        };
        let surface = if let Some((path, written_for)) = own_road {
            Surface::Along {
                path,
                left_scale: road.friction_left / written_for,
                right_scale: road.friction_right / written_for,
                mirrored: false,
            }
        } else if road.friction_left == road.friction_right {
            Surface::Uniform {
                friction: road.friction_left,
            }
        } else {
            Surface::Split {
                left_friction: road.friction_left,
                right_friction: road.friction_right,
            }
        };
        let seen = Road {
            surface,
            grade_slope: self.direction() * road.grade_percent / 100.0,
            bank_slope: road.bank_percent / 100.0,
        };
        if self.mirrored { seen.mirrored() } else { seen }
    }

    /// The car as this scenario loads and shoes it.
    pub fn loaded(&self, vehicle: &Vehicle) -> Vehicle {
        let mut loaded = *vehicle;
        if self.numbers.load.trailer_mass_kg > 0.0 {
            loaded.trailer.mass_kg = self.numbers.load.trailer_mass_kg;
        }
        let scales = &self.numbers.car;
        let rear = &mut loaded.tyre_rear;
        for radius in [&mut rear.left_radius_scale, &mut rear.right_radius_scale] {
            *radius *= scales.rear_radius_scale;
        }
        for stiffness in [
            &mut rear.left_stiffness_scale,
            &mut rear.right_stiffness_scale,
        ] {
            *stiffness *= scales.rear_stiffness_scale;
        }
        variant::switched_on(scales, &mut loaded);
        loaded
    }

    /// The first contradiction among the numbers: the keys concerned and what to do.
    pub fn contradiction(&self) -> Option<(&'static [&'static str], String)> {
        let course = &self.numbers.course;
        let driver = &self.numbers.driver;
        let along_path = matches!(self.road().surface, Surface::Along { .. });
        if along_path && self.numbers.road.bank_percent != 0.0 {
            return Some((
                &["road.bank_percent"],
                "this road has its own banks: leave bank_percent at 0".to_owned(),
            ));
        }
        if driver.action_s >= course.longest_s {
            return Some((
                &["driver.action_s", "course.longest_s"],
                "the action must come before the end of the run: lower action_s or raise longest_s"
                    .to_owned(),
            ));
        }
        let friction = self
            .numbers
            .road
            .friction_left
            .min(self.numbers.road.friction_right);
        let lateral = course.speed_m_s * course.speed_m_s / course.radius_m;
        if self.manoeuvre == Manoeuvre::PowerOnExit && lateral > friction * 9.81 {
            return Some((
                &["course.speed_m_s", "course.radius_m"],
                format!(
                    "the car cannot start in this turn: speed_m_s squared over radius_m is {lateral:.2} m/s2, friction allows {:.2}; lower speed_m_s or raise radius_m",
                    friction * 9.81
                ),
            ));
        }
        if matches!(
            self.manoeuvre,
            Manoeuvre::StepSteer
                | Manoeuvre::LiftOff
                | Manoeuvre::TrailerSway
                | Manoeuvre::BrakingInTurn
        ) && course.lateral_acceleration_m_s2 > friction * 9.81
        {
            return Some((
                &["course.lateral_acceleration_m_s2", "road.friction_left"],
                "friction does not allow this lateral acceleration: lower lateral_acceleration_m_s2 or raise the friction"
                    .to_owned(),
            ));
        }
        if self.manoeuvre == Manoeuvre::SineWithDwell && course.longest_s < driver.action_s + 3.7 {
            return Some((
                &["driver.action_s", "course.longest_s"],
                "the yaw rate is judged until 3.7 s after the beginning of steer: lower action_s or raise longest_s"
                    .to_owned(),
            ));
        }
        let brakes = matches!(self.manoeuvre, Manoeuvre::SplitBrake | Manoeuvre::Release);
        if brakes && course.speed_m_s < 2.0 {
            return Some((
                &["course.speed_m_s"],
                "there is nothing to stop: raise speed_m_s to at least 2 m/s".to_owned(),
            ));
        }
        let forwards_only = !matches!(
            self.manoeuvre,
            Manoeuvre::SplitLaunch | Manoeuvre::SplitBrake | Manoeuvre::Park
        );
        if driver.reverse >= 0.5 && forwards_only {
            return Some((
                &["driver.reverse"],
                "this manoeuvre is driven forwards: set reverse to 0".to_owned(),
            ));
        }
        None
    }
}

impl Scenario {
    /// The runs a standard asks for around this one, from gentle to hard, by steps of 1 m/s2; the run alone for others.
    ///
    /// Lift-off: lateral acceleration from 4 m/s2 (ISO 9816:2018 clause 8.2.1: start at about 4, rise by at most 1) to
    /// three quarters of what friction allows. Braking in a turn: deceleration from 2 m/s2 to nine tenths of it (ISO
    /// 7975:2019, from memory; first rung chosen).
    pub fn ladder(&self) -> Vec<Self> {
        type Place = fn(&mut Numbers) -> &mut f64;
        let (first, share, place): (f64, f64, Place) = match self.manoeuvre {
            Manoeuvre::LiftOff => (4.0, 0.75, |numbers| {
                &mut numbers.course.lateral_acceleration_m_s2
            }),
            Manoeuvre::BrakingInTurn => (2.0, 0.9, |numbers| &mut numbers.course.deceleration_m_s2),
            _ => return vec![self.clone()],
        };
        let road = &self.numbers.road;
        let most = share * 9.81 * road.friction_left.min(road.friction_right);
        let rungs = libm::floor((most - first).max(0.0)) as u32;
        (0..=rungs)
            .map(|rung| {
                let level = first + f64::from(rung);
                let mut run = self.clone();
                *place(&mut run.numbers) = level;
                run.name = format!("{}-{level}", self.name);
                run
            })
            .collect()
    }
}

impl DriverNumbers {
    /// 1, or -1 in reverse gear.
    pub fn direction(&self) -> f64 {
        if self.reverse >= 0.5 { -1.0 } else { 1.0 }
    }
}
