//! Who commands the rear axle: nobody, a plain coupling law, or the controller under proof.
//!
//! The coupling law is of the textbook kind: a share of the driver's torque ahead of slip, more with slip, a rate bound.
//! Its numbers are in the vehicle file, group `coupling`; how they were found is in `prove::tuning`.

use super::law::{Law, OwnLaw, Rule};
use crate::plant::sensors::Measured;
use crate::plant::vehicle::Coupling;
use crate::plant::{AxleLayout, PerSide, Vehicle};
use couplet_controller::signal::Inputs;
use couplet_controller::{Controller, Outputs, Period, Reading, Real};

/// What besides the sensors the axle control is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Accelerator, 0 to 1.
    pub pedal: f64,
    /// Brake, 0 to 1.
    pub brake: f64,
    /// Torque the powertrain delivers, Nm at the carrier, positive turning it forwards.
    pub carrier_torque_nm: f64,
    /// Torque the driver asks for, Nm at the carrier, positive turning it forwards.
    pub carrier_torque_wanted_nm: f64,
    /// Reverse gear.
    pub reverse: bool,
    /// Air temperature, degC.
    pub ambient_degc: f64,
    /// The car orders the clutches open, as with the hand brake pulled.
    pub open_now: bool,
    /// Anti-lock braking at work.
    pub anti_lock_active: bool,
    /// Brake-based stability control at work.
    pub stability_active: bool,
    /// Control period, s.
    pub period_s: f64,
}

/// Who commands the rear axle.
#[derive(Debug)]
pub enum AxleControl<S: Real = f32> {
    /// Front drive only.
    Nobody,
    /// One coupling and an open rear differential.
    Coupling(CouplingLaw),
    /// Two clutches.
    Paired(Box<PairedControl<S>>),
    /// Two clutches under a law of the user's own.
    Own(OwnControl),
}

/// A law of the user's own with its last outputs.
#[derive(Debug)]
pub struct OwnControl {
    /// The law.
    pub law: Box<dyn OwnLaw>,
    /// What it gave in the last step.
    pub outputs: Outputs,
}

fn replaced<S: Real>(
    wanted: couplet_controller::PerSide<S>,
    wrong: PerSide<bool>,
    capacity: S,
) -> couplet_controller::PerSide<S> {
    couplet_controller::PerSide {
        left: if wrong.left { capacity } else { wanted.left },
        right: if wrong.right { capacity } else { wanted.right },
    }
}

/// The controller with its last outputs.
#[derive(Debug, Clone, PartialEq)]
pub struct PairedControl<S: Real = f32> {
    /// The law.
    pub controller: Controller<S, Law>,
    /// What it gave in the last step.
    pub outputs: Outputs,
}

impl<S: Real> AxleControl<S> {
    /// The control that belongs to a layout.
    ///
    /// # Panics
    /// If the page is not acceptable: pages are checked where they are read.
    pub fn of(layout: AxleLayout, vehicle: &Vehicle, rule: Rule<'_>, start_degc: f64) -> Self {
        match layout {
            AxleLayout::FrontDrive | AxleLayout::FrontLimitedSlip | AxleLayout::BrakeVectoring => {
                Self::Nobody
            }
            AxleLayout::SingleCoupling => Self::Coupling(CouplingLaw::for_car(vehicle)),
            AxleLayout::PairedClutches if rule.own.is_some() => {
                let build = rule.own.map(|own| (own.0)(rule.page, Period::default()));
                let Some(mut law) = build else {
                    return Self::Nobody;
                };
                law.set_temperature(start_degc as f32);
                Self::Own(OwnControl {
                    law,
                    outputs: Outputs::default(),
                })
            }
            AxleLayout::PairedClutches => {
                let (page, period) = (rule.page, Period::default());
                let mut controller = match Controller::with_law(page, period, rule.law) {
                    Ok(controller) => controller,
                    Err(refusal) => panic!("calibration page refused: {refusal:?}"),
                };
                controller.set_temperature(S::of(start_degc as f32));
                Self::Paired(Box::new(PairedControl {
                    controller,
                    outputs: Outputs::default(),
                }))
            }
        }
    }

    /// Currents of this step, A. The coupling's law goes by what was measured and told, the paired axle's by its inputs, which
    /// a fault may have spoiled; a wrong request replaces that of the shipped law's first channel by a whole clutch.
    pub fn step(
        &mut self,
        measured: &Measured,
        told: &Told,
        inputs: &Inputs,
        wrong_request: PerSide<bool>,
    ) -> PerSide<f64> {
        let wrong = wrong_request.left || wrong_request.right;
        let outputs = match self {
            Self::Nobody => return PerSide::both(0.0),
            Self::Coupling(law) => return PerSide::both(law.step(measured, told)),
            Self::Paired(paired) => {
                let controller = &mut paired.controller;
                let capacity = controller.calibration().tunables().authority.capacity_nm;
                paired.outputs = if wrong {
                    controller.step_with_request(inputs, |wanted| {
                        replaced(wanted, wrong_request, capacity)
                    })
                } else {
                    controller.step(inputs)
                };
                paired.outputs
            }
            Self::Own(own) => {
                own.outputs = own.law.step(inputs);
                own.outputs
            }
        };
        PerSide {
            left: f64::from(outputs.current_a.left),
            right: f64::from(outputs.current_a.right),
        }
    }

    /// What the law gave in the last step, where there is one that gives [`Outputs`].
    pub fn outputs(&self) -> Option<&Outputs> {
        match self {
            Self::Paired(paired) => Some(&paired.outputs),
            Self::Own(own) => Some(&own.outputs),
            _ => None,
        }
    }

    /// Front spin asked of the powertrain, m/s, if any.
    pub fn front_spin_request_m_s(&self) -> Option<f64> {
        if let Self::Coupling(law) = self {
            return Some(law.numbers.front_spin_m_s);
        }
        let asked = f64::from(self.outputs()?.front_spin_request_m_s);
        (asked > 0.0).then_some(asked)
    }
}

/// The controller's inputs from sensors and bus.
pub fn inputs(measured: &Measured, told: &Told) -> Inputs {
    let fresh = |value: f64| Reading::fresh(value as f32);
    let if_came = |came: bool, value: f64| {
        if came {
            fresh(value)
        } else {
            Reading::missing()
        }
    };
    let wheel = measured
        .wheel_speed_rad_s
        .map(|speed| if_came(measured.wheel_speeds_came, speed));
    let pressure = |pa: f64| if_came(measured.pressures_came, pa * 1.0e-5);
    let inertial = |value: f64| if_came(measured.inertial_came, value);
    Inputs {
        wheel_speed_front_left: wheel.front_left,
        wheel_speed_front_right: wheel.front_right,
        wheel_speed_rear_left: wheel.rear_left,
        wheel_speed_rear_right: wheel.rear_right,
        yaw_rate: inertial(measured.yaw_rate_rad_s),
        lateral_acceleration: inertial(measured.lateral_acceleration_m_s2),
        longitudinal_acceleration: inertial(measured.longitudinal_acceleration_m_s2),
        steering_wheel_angle: if_came(measured.steering_came, measured.steering_wheel_rad),
        accelerator_pedal: fresh(told.pedal),
        brake_pressure: fresh(told.brake * 100.0),
        carrier_torque: fresh(told.carrier_torque_nm),
        carrier_torque_wanted: fresh(told.carrier_torque_wanted_nm),
        gear: fresh(if told.reverse { -1.0 } else { 1.0 }),
        ambient_temperature: fresh(told.ambient_degc),
        rear_torque_cap: fresh(20_000.0),
        yaw_moment_cap: fresh(40_000.0),
        open_now: fresh(f64::from(u8::from(told.open_now))),
        anti_lock_active: fresh(f64::from(u8::from(told.anti_lock_active))),
        stability_active: fresh(f64::from(u8::from(told.stability_active))),
        clutch_pressure_left: pressure(measured.clutch_pressure_pa.left),
        clutch_pressure_right: pressure(measured.clutch_pressure_pa.right),
    }
}

/// A plain law for one coupling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CouplingLaw {
    /// Its numbers.
    pub numbers: Coupling,
    torque_nm: f64,
    per_ampere_nm: f64,
    start_a: f64,
    overspeed: f64,
}

impl CouplingLaw {
    /// The law for a car: currents come from the clutch's nominal data, as an end-of-line calibration would give them.
    pub fn for_car(vehicle: &Vehicle) -> Self {
        let clutch = &vehicle.clutch;
        let radius = 0.5 * (clutch.inner_radius_m + clutch.outer_radius_m);
        let per_newton = clutch.faces * clutch.friction_dynamic * radius;
        Self {
            numbers: vehicle.coupling,
            torque_nm: 0.0,
            per_ampere_nm: 2.0 * per_newton * clutch.piston_area_m2 * vehicle.actuator.gain_pa_a,
            start_a: vehicle.actuator.offset_a
                + clutch.return_spring_n / (clutch.piston_area_m2 * vehicle.actuator.gain_pa_a),
            overspeed: vehicle.driveline.single_coupling_overspeed,
        }
    }

    /// Current of the one coupling, A.
    pub fn step(&mut self, measured: &Measured, told: &Told) -> f64 {
        if told.open_now {
            self.torque_nm = 0.0;
            return 0.0;
        }
        let numbers = &self.numbers;
        let wheel = measured.wheel_speed_rad_s;
        let shaft = 0.5 * (wheel.front_left + wheel.front_right) * (1.0 + self.overspeed);
        let slip = shaft - 0.5 * (wheel.rear_left + wheel.rear_right);
        let direction = if told.reverse { -1.0 } else { 1.0 };
        let delivered = direction * told.carrier_torque_nm;
        let drive = delivered.max(
            (direction * told.carrier_torque_wanted_nm).min(delivered + numbers.lead_torque_nm),
        );
        let ahead = if told.pedal > 0.02 {
            numbers.share * (drive - numbers.free_torque_nm).max(0.0)
        } else {
            0.0
        };
        let wanted =
            ahead + numbers.slip_gain_nm_s_rad * (slip.abs() - numbers.slip_start_rad_s).max(0.0);
        let wanted = wanted.min(numbers.maximum_torque_nm);
        let (rise, fall) = (
            numbers.rise_nm_s * told.period_s,
            numbers.fall_nm_s * told.period_s,
        );
        self.torque_nm += (wanted - self.torque_nm).clamp(-fall, rise);
        if self.torque_nm > 1.0 {
            self.start_a + self.torque_nm / self.per_ampere_nm
        } else {
            0.0
        }
    }
}
