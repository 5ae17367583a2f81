//! The plant driven by recorded hands and feet, and how far it goes from what was recorded.
//!
//! In the spirit of ISO 19364 (steady-state circular driving) and ISO 19365 (sine with dwell): the simulation draws boundaries and the
//! measurement must lie inside. The standards' own tolerances are not known to this project; the corridors here are chosen and
//! written beside every figure. In: steering, wish for torque (or accelerator) and brake of a recording, currents of the
//! clutches where they were recorded (else they are open). Out: speed, yaw rate, accelerations, figures. Limits: no anti-lock
//! or other brake control; an even road; no wind; what the recording's sensors delay shows as a difference.

use crate::plant::road::{Road, Surface};
use crate::plant::{AxleLayout, Command, PerSide, PerWheel, Plant, Start, Vehicle};
use crate::run::closed_loop::PLANT_STEPS;
use crate::run::powertrain_control::asked_nm;
use couplet_controller::signal::Status;
use couplet_controller::{Inputs, Reading};

/// Lag of the brake hydraulics, s: common practice, no source.
const HYDRAULIC_LAG_S: f64 = 0.06;
/// Pressure at which the brakes give all they can, bar: the demo car's.
const FULL_BRAKE_BAR: f64 = 100.0;
/// Torque per speed error where the recorded speed is held, N m s/m, and its integral, N m/m. Chosen.
const HOLD: (f64, f64) = (2500.0, 800.0);

/// What was driven and measured, one value for each step of the law.
#[derive(Debug, Clone, PartialEq)]
pub struct Driven {
    /// Period, s.
    pub period_s: f64,
    /// Steering-wheel angle, rad.
    pub steering_rad: Vec<f64>,
    /// Torque asked of the powertrain, N m at the carrier; none where it was not recorded.
    pub wanted_nm: Option<Vec<f64>>,
    /// Torque the powertrain gave, N m at the carrier; none where it was not recorded.
    pub delivered_nm: Option<Vec<f64>>,
    /// Accelerator, 0 to 1.
    pub pedal: Vec<f64>,
    /// Brake, 0 to 1.
    pub brake: Vec<f64>,
    /// Clutch currents, A; open where there are none.
    pub current_a: Option<PerSide<Vec<f64>>>,
    /// Measured: speed of the wheels, yaw rate, accelerations; no longitudinal one where it was not recorded.
    pub measured: Course,
}

/// What drives a simulated car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pace {
    /// The recorded wish for torque, or accelerator.
    Feet,
    /// The recorded speed is followed.
    Speed,
    /// The recorded torque of the powertrain; while the brakes work the recorded speed.
    Delivered,
}

/// Brake from which on [`Pace::Delivered`] follows the speed: what the brakes do is known too little.
const BRAKING: f64 = 0.02;

/// Speed, yaw rate and accelerations over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Course {
    /// Speed as the mean of the four wheels gives it, m/s.
    pub speed_m_s: Vec<f64>,
    /// Yaw rate, rad/s.
    pub yaw_rad_s: Vec<f64>,
    /// Lateral acceleration, m/s2.
    pub lateral_m_s2: Vec<f64>,
    /// Longitudinal acceleration as a sensor gives it, m/s2.
    pub longitudinal_m_s2: Vec<f64>,
}

impl Course {
    /// One of the three.
    pub fn of(&self, quantity: Quantity) -> &[f64] {
        match quantity {
            Quantity::YawRate => &self.yaw_rad_s,
            Quantity::LateralAcceleration => &self.lateral_m_s2,
            Quantity::Speed => &self.speed_m_s,
        }
    }
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Yaw rate, rad/s.
    YawRate,
    /// Lateral acceleration, m/s2.
    LateralAcceleration,
    /// Speed, m/s.
    Speed,
}

impl Quantity {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::YawRate, Self::LateralAcceleration, Self::Speed];

    /// Name, unit shown, factor to it.
    pub fn shown(self) -> (&'static str, &'static str, f64) {
        match self {
            Self::YawRate => ("yaw rate", "deg/s", 180.0 / std::f64::consts::PI),
            Self::LateralAcceleration => ("lateral acceleration", "m/s2", 1.0),
            Self::Speed => ("speed", "m/s", 1.0),
        }
    }

    /// Half width of the corridor: so much, and this share of the largest simulated value. Chosen.
    pub fn corridor(self) -> (f64, f64) {
        match self {
            Self::YawRate => (0.0175, 0.07),
            Self::LateralAcceleration => (0.4, 0.07),
            Self::Speed => (0.3, 0.02),
        }
    }
}

/// A signal that is needed and not there for most of the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missing(pub &'static str);

impl Driven {
    /// What the law was told as what was driven; `radius_m` is the rolling radius of front and rear wheels.
    ///
    /// # Errors
    /// The first signal that is missing.
    pub fn of(told: &[Inputs], period_s: f64, radius_m: (f64, f64)) -> Result<Self, Missing> {
        let need = |name: &'static str, read: fn(&Inputs) -> Reading| {
            held(told, read).ok_or(Missing(name))
        };
        let wheels = [
            need("wheel_speed_front_left", |i| i.wheel_speed_front_left)?,
            need("wheel_speed_front_right", |i| i.wheel_speed_front_right)?,
            need("wheel_speed_rear_left", |i| i.wheel_speed_rear_left)?,
            need("wheel_speed_rear_right", |i| i.wheel_speed_rear_right)?,
        ];
        // Mean of both axles: each slips, and the law's own estimate must not judge the plant.
        let speed_m_s = (0..told.len()).map(|step| {
            let front = 0.5 * radius_m.0 * (wheels[0][step] + wheels[1][step]);
            let rear = 0.5 * radius_m.1 * (wheels[2][step] + wheels[3][step]);
            0.5 * (front + rear)
        });
        let wanted_nm = held(told, |i| i.carrier_torque_wanted);
        let pedal = held(told, |i| i.accelerator_pedal);
        if wanted_nm.is_none() && pedal.is_none() {
            return Err(Missing("accelerator_pedal"));
        }
        let brake = need("brake_pressure", |i| i.brake_pressure)?;
        Ok(Self {
            period_s,
            steering_rad: need("steering_wheel_angle", |i| i.steering_wheel_angle)?,
            pedal: pedal.unwrap_or_else(|| vec![0.0; told.len()]),
            wanted_nm,
            delivered_nm: held(told, |i| i.carrier_torque),
            brake: brake
                .iter()
                .map(|bar| (bar / FULL_BRAKE_BAR).clamp(0.0, 1.0))
                .collect(),
            current_a: None,
            measured: Course {
                speed_m_s: speed_m_s.collect(),
                yaw_rad_s: need("yaw_rate", |i| i.yaw_rate)?,
                lateral_m_s2: need("lateral_acceleration", |i| i.lateral_acceleration)?,
                longitudinal_m_s2: held(told, |i| i.longitudinal_acceleration).unwrap_or_default(),
            },
        })
    }
}

/// A series without gaps, if two thirds of it are there.
fn held(told: &[Inputs], read: fn(&Inputs) -> Reading) -> Option<Vec<f64>> {
    let (mut last, mut there) = (None, 0);
    let series: Vec<Option<f64>> = told
        .iter()
        .map(|inputs| {
            let reading = read(inputs);
            if reading.status == Status::VALID && reading.value.is_finite() {
                last = Some(f64::from(reading.value));
                there += 1;
            }
            last
        })
        .collect();
    // Before the first sample the first one stands.
    let first = series.iter().flatten().next().copied()?;
    (3 * there >= 2 * told.len()).then(|| {
        series
            .into_iter()
            .map(|value| value.unwrap_or(first))
            .collect()
    })
}

/// Numbers of the car and the road that a fit may change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Numbers {
    /// Factor on mass and yaw inertia.
    pub mass: f64,
    /// Factor on the both stiffnesses of both front tyres.
    pub front_stiffness: f64,
    /// The same of both rear tyres.
    pub rear_stiffness: f64,
    /// Friction of the road.
    pub friction: f64,
}

impl Numbers {
    /// Names, lowest and highest values, in the order of [`Numbers::all`]. The bounds are chosen.
    pub const BOUNDS: [(&'static str, f64, f64); 4] = [
        ("mass and yaw inertia, factor", 0.7, 1.4),
        ("stiffness of the front tyres, factor", 0.5, 1.6),
        ("stiffness of the rear tyres, factor", 0.5, 1.6),
        ("friction of the road", 0.15, 1.3),
    ];

    /// The car as its file says, on a road of this friction.
    pub fn nominal(friction: f64) -> Self {
        Self::from_all([1.0, 1.0, 1.0, friction])
    }

    /// The numbers in a row.
    pub fn all(&self) -> [f64; 4] {
        [
            self.mass,
            self.front_stiffness,
            self.rear_stiffness,
            self.friction,
        ]
    }

    /// From a row of numbers.
    pub fn from_all([mass, front_stiffness, rear_stiffness, friction]: [f64; 4]) -> Self {
        Self {
            mass,
            front_stiffness,
            rear_stiffness,
            friction,
        }
    }

    /// The car with these numbers.
    pub fn vehicle(&self, nominal: &Vehicle) -> Vehicle {
        let mut vehicle = *nominal;
        vehicle.body.mass_kg *= self.mass;
        vehicle.body.yaw_inertia_kg_m2 *= self.mass;
        vehicle.tyre_front.left_stiffness_scale *= self.front_stiffness;
        vehicle.tyre_front.right_stiffness_scale *= self.front_stiffness;
        vehicle.tyre_rear.left_stiffness_scale *= self.rear_stiffness;
        vehicle.tyre_rear.right_stiffness_scale *= self.rear_stiffness;
        vehicle
    }
}

/// Drives the plant as it was driven; where no torque was recorded [`Pace::Delivered`] follows the speed.
pub fn simulated(nominal: &Vehicle, numbers: &Numbers, drive: &Driven, pace: Pace) -> Course {
    let mut vehicle = numbers.vehicle(nominal);
    let step_s = drive.period_s / f64::from(PLANT_STEPS);
    let given = match pace {
        Pace::Delivered => drive.delivered_nm.as_ref(),
        _ => None,
    };
    if given.is_some() {
        // The torque is known: nothing lags it and nothing limits it.
        vehicle.powertrain.lag_s = 0.5 * step_s;
        vehicle.powertrain.maximum_torque_nm = 1.0e5;
        vehicle.powertrain.maximum_power_w = 1.0e9;
        vehicle.powertrain.drag_torque_nm = 1.0e5;
        vehicle.gears.count = 0.0;
    }
    let measured = &drive.measured;
    let first = |series: &[f64]| {
        let some = &series[..series.len().min(20)];
        some.iter().sum::<f64>() / some.len().max(1) as f64
    };
    let speed_m_s = first(&measured.speed_m_s);
    let start = Start {
        speed_m_s,
        yaw_rate_rad_s: first(&measured.yaw_rad_s),
        steering_wheel_rad: drive.steering_rad.first().copied().unwrap_or(0.0),
        carrier_torque_nm: given
            .or(drive.wanted_nm.as_ref())
            .and_then(|wanted| wanted.first().copied())
            .unwrap_or(0.0),
        ..Start::default()
    };
    let road = Road {
        surface: Surface::Uniform {
            friction: numbers.friction,
        },
        grade_slope: 0.0,
        bank_slope: 0.0,
    };
    let layout = AxleLayout::PairedClutches;
    let mut plant = Plant::with_step(vehicle, layout, road, start, step_s);
    let mut course = Course::default();
    let (mut brake, mut behind_m) = (0.0, 0.0);
    for step in 0..drive.steering_rad.len() {
        let truth = plant.observe();
        // As it is measured: mean of the wheels.
        let wheels = truth.wheel_speed_rad_s;
        course.speed_m_s.push(
            0.25 * (vehicle.tyre_front.radius_m * (wheels.front_left + wheels.front_right)
                + vehicle.tyre_rear.radius_m * (wheels.rear_left + wheels.rear_right)),
        );
        course.yaw_rad_s.push(truth.yaw_rate_rad_s);
        course.lateral_m_s2.push(truth.lateral_acceleration_m_s2);
        let along = truth.longitudinal_acceleration_m_s2;
        course.longitudinal_m_s2.push(along);
        if !(truth.speed_m_s.is_finite() && truth.yaw_rate_rad_s.is_finite()) {
            break;
        }
        let carrier = 0.5 * (wheels.front_left + wheels.front_right);
        let given = given.filter(|_| drive.brake[step] < BRAKING);
        let follow = given.is_none() && pace != Pace::Feet;
        let torque_nm = if let Some(given) = given {
            behind_m = 0.0;
            given[step]
        } else if follow {
            let error = measured.speed_m_s[step] - truth.speed_m_s;
            behind_m = (behind_m + error * drive.period_s).clamp(-5.0, 5.0);
            HOLD.0 * error + HOLD.1 * behind_m
        } else {
            match &drive.wanted_nm {
                Some(wanted) => wanted[step],
                None => asked_nm(&vehicle, drive.pedal[step], carrier),
            }
        };
        brake += (drive.brake[step] - brake) * (drive.period_s / HYDRAULIC_LAG_S).min(1.0);
        let most = brake * vehicle.brakes.maximum_torque_nm;
        let current = |side: fn(&PerSide<Vec<f64>>) -> &Vec<f64>| {
            let series = drive.current_a.as_ref().map(side);
            series.map_or(0.0, |series| series[step])
        };
        let command = Command {
            steering_wheel_rad: drive.steering_rad[step],
            carrier_torque_request_nm: torque_nm,
            brake_torque_nm: PerWheel {
                front_left: most,
                front_right: most,
                rear_left: 0.5 * most,
                rear_right: 0.5 * most,
            },
            clutch_current_a: PerSide {
                left: current(|both| &both.left),
                right: current(|both| &both.right),
            },
        };
        for _ in 0..PLANT_STEPS {
            plant.step(&command);
        }
    }
    // A car that left the world of numbers stays there.
    for series in [
        &mut course.speed_m_s,
        &mut course.yaw_rad_s,
        &mut course.lateral_m_s2,
        &mut course.longitudinal_m_s2,
    ] {
        series.resize(drive.steering_rad.len(), f64::NAN);
    }
    course
}

/// How far a measurement is from a simulation.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Figures {
    /// Root mean square of the difference.
    pub rms: f64,
    /// Largest difference without sign.
    pub largest: f64,
    /// Step of it.
    pub at: usize,
    /// Correlation about the means.
    pub correlation: f64,
    /// Largest size measured.
    pub measured_peak: f64,
    /// Largest size simulated.
    pub simulated_peak: f64,
    /// Half width of the corridor.
    pub half_width: f64,
    /// Share of the steps in which the measurement lies inside.
    pub inside: f64,
}

/// The figures of one quantity.
pub fn figures(measured: &[f64], simulated: &[f64], quantity: Quantity) -> Figures {
    let peak = |series: &[f64]| series.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
    let (fixed, share) = quantity.corridor();
    let mut found = Figures {
        measured_peak: peak(measured),
        simulated_peak: peak(simulated),
        ..Figures::default()
    };
    found.half_width = fixed + share * found.simulated_peak;
    let (mut square, mut inside) = (0.0, 0.0);
    let (mut x, mut y, mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (step, (seen, made)) in measured.iter().zip(simulated).enumerate() {
        let off = seen - made;
        square += off * off;
        if off.abs() <= found.half_width {
            inside += 1.0;
        }
        if off.abs() > found.largest {
            (found.largest, found.at) = (off.abs(), step);
        }
        x += seen;
        y += made;
        xx += seen * seen;
        yy += made * made;
        xy += seen * made;
    }
    let n = measured.len().min(simulated.len()).max(1) as f64;
    found.rms = libm::sqrt(square / n);
    found.inside = inside / n;
    let spread = (xx / n - x * x / (n * n)) * (yy / n - y * y / (n * n));
    if spread > 0.0 {
        found.correlation = (xy / n - x * y / (n * n)) / libm::sqrt(spread);
    }
    found
}
