//! The stages with their calibration: one page becomes one set, whole.

use crate::calibration::{Arbiter, Calibration, GuardianTunables, Tunables};
use crate::numerics::Real;
use crate::quantity::Period;
use crate::stage::actuation::Actuation;
use crate::stage::actuation::learning::LearningStage;
use crate::stage::authority::Authority;
use crate::stage::conditioning::Conditioning;
use crate::stage::driver_intent::DriverIntent;
use crate::stage::guardian::Guardian;
use crate::stage::monitor::Monitor;
use crate::stage::monitor::pressure::PressureWatch;
use crate::stage::thermal::{Thermal, ThermalTunables};
use crate::stage::traction::Traction;
use crate::stage::vehicle_state::VehicleState;
use crate::stage::yaw_control::YawControl;
use crate::stage::yaw_reference::{YawReference, understeer_constant_rad_s2_m};

/// Every stage with its calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stages<S> {
    pub(super) conditioning: Conditioning<S>,
    pub(super) monitor: Monitor<S>,
    pub(super) pressure: PressureWatch<S>,
    pub(super) vehicle_state: VehicleState<S>,
    pub(super) driver_intent: DriverIntent<S>,
    pub(super) yaw_reference: YawReference<S>,
    pub(super) yaw_control: YawControl<S>,
    pub(super) traction: Traction<S>,
    pub(super) authority: Authority<S>,
    pub(super) guardian: Guardian,
    pub(super) actuation: Actuation<S>,
    pub(super) learning: LearningStage<S>,
    pub(super) thermal: Thermal<S>,
    pub(super) arbiter: Arbiter<S>,
    guardian_tunables: GuardianTunables<S>,
}

impl<S: Real> Stages<S> {
    /// The stages of a calibration.
    pub(super) fn new(calibration: &Calibration<S>, period: Period) -> Self {
        let t = calibration.tunables();
        let period_s = period.seconds::<S>();
        let moment_per_difference = t
            .vehicle
            .track_m
            .over(t.vehicle.wheel_radius_m + t.vehicle.wheel_radius_m, S::ONE);
        let understeer_rad_s2_m = understeer_constant_rad_s2_m(
            t.vehicle.mass_kg,
            t.vehicle.front_axle_to_cg_m,
            t.vehicle.wheelbase_m,
            t.vehicle.front_cornering_stiffness_n_rad,
            t.vehicle.rear_cornering_stiffness_n_rad,
        );
        Self {
            conditioning: Conditioning::new(t.conditioning),
            monitor: Monitor::new(
                t.monitor,
                &t.vehicle,
                t.setting.slide_allowance_deg,
                t.yaw_control.slide_full_deg,
                period,
            ),
            pressure: PressureWatch::new(
                t.pressure_watch,
                &t.actuation,
                &t.vehicle,
                &t.slip_power,
                period,
            ),
            vehicle_state: VehicleState::new(
                t.vehicle_state,
                t.vehicle,
                understeer_rad_s2_m,
                period_s,
            ),
            driver_intent: DriverIntent::new(t.driver_intent, t.vehicle.wheelbase_m, period_s),
            yaw_reference: YawReference::new(t.yaw_reference, &t.vehicle, t.setting, period_s),
            yaw_control: YawControl::new(
                t.yaw_control,
                &t.vehicle,
                t.setting,
                understeer_rad_s2_m,
                t.authority.capacity_nm,
                period_s,
            ),
            traction: Traction::new(
                t.traction,
                &t.setting,
                t.authority.propshaft_nm,
                t.vehicle.overspeed,
                period_s,
            ),
            authority: Authority {
                tunables: t.authority,
                wheel_radius_m: t.vehicle.wheel_radius_m,
                overspeed: t.vehicle.overspeed,
                moment_per_difference,
            },
            guardian: Guardian::new(
                t.authority.capacity_nm.to_f32(),
                (
                    t.authority.rise_nm_s.to_f32(),
                    t.authority.fall_nm_s.to_f32(),
                ),
                t.guardian.disagreement_nm.to_f32(),
                period.steps(t.guardian.patience_s.to_f32()),
                t.conditioning.longest_age_s.to_f32(),
                period.seconds::<f32>(),
            ),
            actuation: Actuation::new(t.actuation, &t.learning),
            learning: LearningStage::new(
                t.learning,
                &t.actuation,
                &t.vehicle,
                t.slip_power.dead_time_s + t.slip_power.lag_s,
                period,
            ),
            thermal: Thermal {
                tunables: ThermalTunables {
                    network: t.heat_network,
                    bound: t.heat_bound,
                    slip_power: t.slip_power,
                    derating: t.derating,
                    forecast: t.forecast,
                    life: t.life_count,
                },
            },
            arbiter: t.arbiter,
            guardian_tunables: t.guardian,
        }
    }

    /// The calibration the stages came from: each number of the page is kept once, in the stage that needs it.
    pub(super) fn calibration(&self) -> Calibration<S> {
        let heat = &self.thermal.tunables;
        Calibration::of_accepted(Tunables {
            setting: self.yaw_control.setting,
            vehicle: self.vehicle_state.vehicle,
            conditioning: self.conditioning.tunables,
            monitor: self.monitor.tunables,
            pressure_watch: self.pressure.tunables,
            vehicle_state: self.vehicle_state.tunables,
            driver_intent: self.driver_intent.tunables,
            yaw_reference: self.yaw_reference.tunables,
            yaw_control: self.yaw_control.tunables,
            traction: self.traction.tunables,
            authority: self.authority.tunables,
            arbiter: self.arbiter,
            guardian: self.guardian_tunables,
            actuation: self.actuation.tunables,
            learning: self.learning.tunables,
            heat_network: heat.network,
            heat_bound: heat.bound,
            slip_power: heat.slip_power,
            derating: heat.derating,
            life_count: heat.life,
            forecast: heat.forecast,
        })
    }
}
