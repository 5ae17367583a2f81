//! The stages with their calibration: one page becomes one set, whole.

use crate::calibration::{
    Arbiter, Calibration, Derating, Forecast, GuardianTunables, HeatBound, HeatNetwork, LifeCount,
    Setting, SlipPower, Tunables, Vehicle,
};
use crate::numerics::Real;
use crate::quantity::Period;
use crate::stage::actuation::Actuation;
use crate::stage::actuation::learning::LearningStage;
use crate::stage::authority::Authority;
use crate::stage::conditioning::Conditioning;
use crate::stage::driver_intent::DriverIntent;
use crate::stage::guardian::Guardian;
use crate::stage::monitor::Monitor;
use crate::stage::monitor::jammed::JammedWatch;
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
    pub(super) jammed: JammedWatch<S>,
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
    /// Stages without a calibration, all zero: places for [`Self::take`].
    pub(super) fn before_their_page() -> Self {
        Self {
            conditioning: Conditioning::default(),
            monitor: Monitor::default(),
            pressure: PressureWatch::default(),
            jammed: JammedWatch::default(),
            vehicle_state: VehicleState::default(),
            driver_intent: DriverIntent::default(),
            yaw_reference: YawReference::default(),
            yaw_control: YawControl::default(),
            traction: Traction::default(),
            authority: Authority::default(),
            guardian: Guardian::default(),
            actuation: Actuation::default(),
            learning: LearningStage::default(),
            thermal: Thermal {
                tunables: ThermalTunables {
                    network: HeatNetwork::default(),
                    bound: HeatBound::default(),
                    slip_power: SlipPower::default(),
                    derating: Derating::default(),
                    forecast: Forecast::default(),
                    life: LifeCount::default(),
                },
            },
            arbiter: Arbiter::default(),
            guardian_tunables: GuardianTunables::default(),
        }
    }

    /// Takes the numbers of a page that was checked, stage by stage, each in its place: a whole set built aside would take its size
    /// of stack.
    pub(super) fn take(&mut self, page: &Tunables<f32>, period: Period) {
        let period_s = period.seconds::<S>();
        let vehicle: Vehicle<S> = page.vehicle.to_arithmetic();
        let moment_per_difference = vehicle
            .track_m
            .over(vehicle.wheel_radius_m + vehicle.wheel_radius_m, S::ONE);
        let understeer_rad_s2_m = understeer_constant_rad_s2_m(
            vehicle.mass_kg,
            vehicle.front_axle_to_cg_m,
            vehicle.wheelbase_m,
            vehicle.front_cornering_stiffness_n_rad,
            vehicle.rear_cornering_stiffness_n_rad,
        );
        let setting: Setting<S> = page.setting.to_arithmetic();
        self.conditioning = Conditioning::new(page.conditioning.to_arithmetic());
        self.monitor = Monitor::new(
            page.monitor.to_arithmetic(),
            &vehicle,
            setting.slide_allowance_deg,
            S::of(page.yaw_control.slide_full_deg),
            period,
        );
        self.vehicle_state = VehicleState::new(
            page.vehicle_state.to_arithmetic(),
            vehicle,
            understeer_rad_s2_m,
            period_s,
        );
        self.driver_intent = DriverIntent::new(
            page.driver_intent.to_arithmetic(),
            vehicle.wheelbase_m,
            period_s,
        );
        self.yaw_reference = YawReference::new(
            page.yaw_reference.to_arithmetic(),
            &vehicle,
            setting,
            period_s,
        );
        self.authority = Authority {
            tunables: page.authority.to_arithmetic(),
            wheel_radius_m: vehicle.wheel_radius_m,
            overspeed: vehicle.overspeed,
            moment_per_difference,
        };
        let authority = &self.authority.tunables;
        self.yaw_control = YawControl::new(
            page.yaw_control.to_arithmetic(),
            &vehicle,
            setting,
            understeer_rad_s2_m,
            authority.capacity_nm,
            period_s,
        );
        self.traction = Traction::new(
            page.traction.to_arithmetic(),
            &setting,
            authority.propshaft_nm,
            vehicle.overspeed,
            period_s,
        );
        self.guardian_tunables = page.guardian.to_arithmetic();
        self.guardian = Guardian::new(
            authority.capacity_nm.to_f32(),
            (authority.rise_nm_s.to_f32(), authority.fall_nm_s.to_f32()),
            self.guardian_tunables.disagreement_nm.to_f32(),
            period.steps(self.guardian_tunables.patience_s.to_f32()),
            // To the millisecond as the first channel: where one hears an order the other does not, they disagree.
            self.conditioning.longest_age_ms,
            2.0 * vehicle.wheel_radius_m.to_f32() / vehicle.track_m.to_f32(),
            period.seconds::<f32>(),
        );
        self.arbiter = page.arbiter.to_arithmetic();
        self.take_clutches(page, &vehicle, period);
    }

    /// What knows the clutches themselves. Apart, so that its frame is not part of the caller's.
    #[inline(never)]
    fn take_clutches(&mut self, page: &Tunables<f32>, vehicle: &Vehicle<S>, period: Period) {
        let heat = &mut self.thermal.tunables;
        heat.network = page.heat_network.to_arithmetic();
        heat.bound = page.heat_bound.to_arithmetic();
        heat.slip_power = page.slip_power.to_arithmetic();
        heat.derating = page.derating.to_arithmetic();
        heat.forecast = page.forecast.to_arithmetic();
        heat.life = page.life_count.to_arithmetic();
        let learning = page.learning.to_arithmetic();
        self.actuation = Actuation::new(page.actuation.to_arithmetic(), &learning);
        let actuation = &self.actuation.tunables;
        self.learning = LearningStage::new(
            learning,
            actuation,
            vehicle,
            heat.slip_power.dead_time_s + heat.slip_power.lag_s,
            period,
        );
        self.pressure = PressureWatch::new(
            page.pressure_watch.to_arithmetic(),
            actuation,
            vehicle,
            &heat.slip_power,
            period,
        );
        self.jammed = JammedWatch::new(&self.pressure.tunables, vehicle, period);
    }

    /// The calibration the stages came from: each number of the page is kept once, in the stage that needs it.
    pub(super) fn calibration(&self) -> Calibration<S> {
        let heat = &self.thermal.tunables;
        Calibration::of_accepted(Tunables {
            setting: self.yaw_control.setting,
            vehicle: self.vehicle_state.vehicle,
            conditioning: self.conditioning.tunables,
            monitor: self.monitor.plausibility.tunables,
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
