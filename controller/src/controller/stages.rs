//! The stages with their calibration: one page becomes one set, whole.

use crate::calibration::Calibration;
use crate::numerics::Real;
use crate::numerics::table::fade_in;
use crate::quantity::Period;
use crate::stage::actuation::Actuation;
use crate::stage::authority::Authority;
use crate::stage::conditioning::Conditioning;
use crate::stage::driver_intent::DriverIntent;
use crate::stage::guardian::Guardian;
use crate::stage::monitor::Monitor;
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
    pub(super) vehicle_state: VehicleState<S>,
    pub(super) driver_intent: DriverIntent<S>,
    pub(super) yaw_reference: YawReference<S>,
    pub(super) yaw_control: YawControl<S>,
    pub(super) traction: Traction<S>,
    pub(super) authority: Authority<S>,
    pub(super) guardian: Guardian,
    pub(super) actuation: Actuation<S>,
    pub(super) thermal: Thermal<S>,
}

impl<S: Real> Stages<S> {
    /// The stages of a calibration.
    pub(super) fn new(calibration: &Calibration<S>, period: Period) -> Self {
        let t = calibration.tunables();
        let raw = calibration.raw();
        let moment_per_difference = t
            .vehicle
            .track_m
            .over(t.vehicle.wheel_radius_m + t.vehicle.wheel_radius_m, S::ONE);
        Self {
            conditioning: Conditioning::new(t.conditioning),
            monitor: Monitor {
                tunables: t.monitor,
                track_m: t.vehicle.track_m,
                wheel_radius_m: t.vehicle.wheel_radius_m,
                confirm_steps: period.steps(t.monitor.confirm_time_s),
                heal_steps: period.steps(t.monitor.heal_time_s),
                // Only where a slide is allowed: elsewhere the check never rests.
                silent_steps: if t.setting.slide_allowance_deg > S::ZERO {
                    period.steps(t.monitor.silent_time_s)
                } else {
                    0
                },
                slide_tolerance_rad_s: t.monitor.slide_tolerance_rad_s
                    * fade_in(
                        t.setting.slide_allowance_deg,
                        S::ZERO,
                        t.yaw_control.slide_full_deg,
                    ),
            },
            vehicle_state: VehicleState {
                tunables: t.vehicle_state,
                vehicle: t.vehicle,
            },
            driver_intent: DriverIntent {
                tunables: t.driver_intent,
                wheelbase_m: t.vehicle.wheelbase_m,
            },
            yaw_reference: YawReference {
                tunables: t.yaw_reference,
                vehicle: t.vehicle,
                setting: t.setting,
            },
            yaw_control: YawControl {
                tunables: t.yaw_control,
                vehicle: t.vehicle,
                setting: t.setting,
                understeer_rad_s2_m: understeer_constant_rad_s2_m(
                    t.vehicle.mass_kg,
                    t.vehicle.front_axle_to_cg_m,
                    t.vehicle.wheelbase_m,
                    t.vehicle.front_cornering_stiffness_n_rad,
                    t.vehicle.rear_cornering_stiffness_n_rad,
                ),
                capacity_nm: t.authority.capacity_nm,
            },
            traction: Traction {
                tunables: t.traction,
                setting: t.setting,
                propshaft_nm: t.authority.propshaft_nm,
                overspeed: t.vehicle.overspeed,
            },
            authority: Authority {
                tunables: t.authority,
                wheel_radius_m: t.vehicle.wheel_radius_m,
                overspeed: t.vehicle.overspeed,
                moment_per_difference,
            },
            guardian: Guardian::new(
                raw.authority.capacity_nm,
                raw.authority.rise_nm_s,
                raw.guardian.disagreement_nm,
                period.steps(raw.guardian.patience_s),
                period.seconds::<f32>(),
            ),
            actuation: Actuation {
                tunables: t.actuation,
            },
            thermal: Thermal {
                tunables: ThermalTunables {
                    network: t.heat_network,
                    slip_power: t.slip_power,
                    derating: t.derating,
                    forecast: t.forecast,
                },
            },
        }
    }
}
