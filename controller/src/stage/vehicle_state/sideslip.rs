//! Sideslip: integrated sideways motion, drawn to the single-track car.
//!
//! In: lateral specific force, yaw rate, speed, steering. Out: angle at the centre of gravity, rad. Lateral acceleration over
//! speed minus yaw rate is integrated and drawn to the steady value of the linear single-track car: soon while the car turns
//! as it is steered, slowly in a slide. There the speed tells on it: turning with r, a sideways speed v changes the speed
//! along by r v, so what the wheels show beyond what is felt is an error of v (an observer whose gain is proportional to the
//! yaw rate; known for kinematic models of sideslip, from memory). Limits: nothing is claimed in reverse; a bank counts as
//! sideslip until it is learned.

use super::{VehicleState, VehicleStateIn, VehicleStateState};
use crate::numerics::Real;
use crate::numerics::table::fade_out;
use crate::quantity::Sensed;

impl<S: Real> VehicleState<S> {
    /// Sideslip, rad; see the head of the file.
    #[inline(always)]
    pub(super) fn sideslip(
        &self,
        state: &mut VehicleStateState<S>,
        input: &VehicleStateIn<S>,
        speed: S,
        direction: S,
        moving: S,
        period_s: S,
    ) -> S {
        let yaw_rate = input.yaw_rate_rad_s.or(S::ZERO);
        if direction < S::ZERO {
            // In reverse the car is slow and the model's signs are others: nothing is claimed.
            state.sideslip_rad = S::ZERO;
            return S::ZERO;
        }
        let steady_turn = speed * yaw_rate;
        let estimate = match input.lateral_acceleration_m_s2 {
            Sensed::Lost => self.single_track_sideslip(speed, yaw_rate, steady_turn),
            Sensed::Fresh(felt) | Sensed::Held { value: felt, .. } => {
                // A bank is felt for long; sideslip changes soon. What stays of the difference is bank.
                let bound = S::of(2.0);
                let difference = (felt - steady_turn).within(-bound, bound) * moving;
                let bank = state
                    .bank_m_s2
                    .follow_number(difference, self.ready.bank_share);
                // The tyres carry what is felt, bank included.
                let steady = self.single_track_sideslip(speed, yaw_rate, felt);
                let road_wheel = input
                    .steering_wheel_rad
                    .or(S::ZERO)
                    .per(self.vehicle.steering_ratio);
                let length =
                    self.vehicle.wheelbase_m + self.ready.natural_understeer * speed.squared();
                let steered = (speed * road_wheel).over(length, S::ZERO);
                let strange = (yaw_rate - steered)
                    .magnitude()
                    .per(steered.magnitude() + S::of(0.05));
                let agreed = fade_out(strange, S::of(0.15), S::of(0.4));
                let sideways = (felt - bank
                    + state.speed.surprise_m_s2
                        * yaw_rate
                        * self.tunables.sideslip_from_speed_s
                        * (S::ONE - agreed))
                    .over(speed, yaw_rate);
                let integrated = state.sideslip_rad + (sideways - yaw_rate) * period_s;
                let crawl = self.ready.crawl_share * (S::ONE - moving);
                // Slow, a bank not learned yet is most of what is integrated; fast, the tyres' own lag is.
                let weight =
                    agreed * (S::HALF + S::HALF * fade_out(speed, S::of(10.0), S::of(16.0)));
                let slow = self.ready.leak_share;
                let leak = crawl.at_least(slow + (self.ready.agreed_share - slow) * weight);
                integrated + (steady - integrated) * leak
            }
        };
        state.sideslip_rad = estimate.within(-S::ONE, S::ONE);
        state.sideslip_rad * moving
    }

    /// Steady sideslip of the linear single-track car for this yaw rate and lateral acceleration.
    fn single_track_sideslip(&self, speed: S, yaw_rate: S, lateral: S) -> S {
        let car = &self.vehicle;
        let rear_force = (car.mass_kg * lateral * car.front_axle_to_cg_m).per(car.wheelbase_m);
        (self.rear_arm_m() * yaw_rate).over(speed, S::ZERO)
            - rear_force.per(car.rear_cornering_stiffness_n_rad)
    }
}
