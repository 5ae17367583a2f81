//! Invented questions to the authority: half of each number is drawn from the thresholds, half between them.

use super::reference::literal;
use couplet_controller::calibration;
use couplet_controller::quantity::{PerSide, Sensed};
use couplet_controller::signal::{Health, Limit};
use couplet_controller::stage::authority::{Authority, AuthorityIn, AuthorityState, Sense};

/// Numbers by chance (splitmix64).
pub struct Chance(pub u64);

impl Chance {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn happens(&mut self, share: f64) -> bool {
        self.unit() < share
    }
    fn of<T: Copy>(&mut self, list: &[T]) -> T {
        list[(self.unit() * list.len() as f64) as usize]
    }
    /// Half the time one of the list, else between.
    fn pick(&mut self, list: &[f64], low: f64, high: f64) -> f64 {
        if self.happens(0.5) {
            self.of(list)
        } else {
            low + (high - low) * self.unit()
        }
    }
    /// Mostly the usual.
    fn mostly(&mut self, usual: f64, list: &[f64], low: f64, high: f64) -> f64 {
        if self.happens(0.6) {
            usual
        } else {
            self.pick(list, low, high)
        }
    }
    fn sides<T>(&mut self, mut one: impl FnMut(&mut Self) -> T) -> PerSide<T> {
        PerSide {
            left: one(self),
            right: one(self),
        }
    }
}

/// The catalogue's numbers, or ones that binary fractions hold, so that sums of them meet thresholds exactly.
pub fn stage(exact: bool) -> Authority<f64> {
    let nominal = calibration::Authority::nominal();
    let tunables = if exact {
        calibration::Authority {
            capacity_nm: 1_024.0,
            rise_nm_s: 12_800.0,
            fall_nm_s: 25_600.0,
            crawl_sign_rad_s: 4.0,
            slip_dead_band_rad_s: 0.5,
            dead_band_speed_m_s: 8.0,
            propshaft_nm: 1_792.0,
            wind_up_nm: 1_536.0,
            wind_up_park_nm: 64.0,
            wind_up_cold: 0.5,
            wind_up_speed_m_s: 10.0,
            friction_share: 1.0,
            friction_along: 0.5,
            friction_launch: 1.0,
            trust_slip_start: 0.125,
            trust_slip_end: 0.25,
            trust_lateral_start_m_s2: 1.0,
            trust_lateral_end_m_s2: 3.0,
            trust_step_nm: 256.0,
            lock_sign_nm: 64.0,
            lock_share: 1.5,
            lock_margin_nm: 256.0,
            cold_oil_degc: 10.0,
            cold_capacity: 0.5,
            unlike_tyres_capacity: 0.25,
            difference_nm: 1_024.0,
            difference_fast_nm: 512.0,
        }
    } else {
        nominal
    };
    Authority {
        tunables,
        wheel_radius_m: if exact { 0.25 } else { 0.34 },
        overspeed: if exact { 0.25 } else { 0.02 },
        moment_per_difference: if exact { 2.0 } else { 2.4 },
    }
}

/// A memory and what is told, by chance.
pub fn question(
    chance: &mut Chance,
    stage: &Authority<f64>,
) -> (AuthorityState<f64>, AuthorityIn<f64>) {
    let tune = &stage.tunables;
    let capacity_nm = tune.capacity_nm;
    let none = f64::NAN;
    let forward_m_s = chance.pick(
        &[
            -3.0, -2.0, 0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0, 30.0,
        ],
        -3.0,
        50.0,
    );
    let band = tune.slip_dead_band_rad_s
        * (forward_m_s / tune.dead_band_speed_m_s).clamp(literal(0.12), 1.0);
    let launch = chance.mostly(0.0, &[0.25, 0.5, 0.75, 1.0], 0.0, 1.0);
    let clutch_slip_rad_s = chance.sides(|chance| {
        let size = chance.pick(&[0.0, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 8.0], 0.0, 12.0) * band;
        let size = if chance.happens(0.1) {
            4.0 * launch
        } else {
            size
        };
        let value = chance.of(&[1.0, -1.0]) * if chance.happens(0.02) { none } else { size };
        match (chance.unit() * 10.0) as u32 {
            0 => Sensed::Lost,
            1 => Sensed::Held { value, age_s: 0.02 },
            _ => Sensed::Fresh(value),
        }
    });
    let cap = |chance: &mut Chance, reach: f64| {
        if chance.happens(0.6) {
            Sensed::Lost
        } else {
            let value = chance.pick(
                &[
                    none,
                    -100.0,
                    0.0,
                    512.0,
                    capacity_nm,
                    tune.propshaft_nm,
                    reach,
                ],
                0.0,
                1.2 * reach,
            );
            if chance.happens(0.3) {
                Sensed::Held { value, age_s: 0.1 }
            } else {
                Sensed::Fresh(value)
            }
        }
    };
    let reach_nm = 4.0 * capacity_nm * stage.moment_per_difference;
    let sense = |chance: &mut Chance| chance.of(&[Sense::Unknown, Sense::Forward, Sense::Backward]);
    let memory = AuthorityState {
        sense: chance.sides(sense),
        taken_nm: chance
            .sides(|chance| chance.mostly(0.0, &[capacity_nm, 512.0, 1.0], 0.0, capacity_nm)),
    };
    let input = AuthorityIn {
        clutch_slip_rad_s,
        forward_m_s,
        direction: chance.of(&[1.0, 1.0, -1.0]),
        rear_load_n: chance
            .sides(|chance| chance.pick(&[0.0, none, 2_048.0, 8_192.0], 0.0, 8_000.0)),
        friction: chance.pick(&[0.0, 0.25, 0.5, 1.0, 1.0, 1.0, none], 0.0, 1.3),
        rear_slip: chance.sides(|chance| {
            let size = chance.pick(
                &[0.0, tune.trust_slip_start, tune.trust_slip_end, none],
                0.0,
                0.3,
            );
            chance.of(&[1.0, -1.0]) * size
        }),
        lock_torque_nm: chance.sides(|chance| {
            let size = chance.pick(&[0.0, tune.lock_sign_nm, 256.0, none], 0.0, 900.0);
            chance.of(&[1.0, -1.0]) * size
        }),
        lateral_m_s2: chance.pick(
            &[0.0, 0.0, 1.0, 2.0, 3.0, 6.0, 6.75, 7.5, 9.0, none],
            0.0,
            12.0,
        ),
        friction_shown: chance.mostly(1.05, &[0.35, 0.475, 0.6, 0.1, none], 0.0, 1.1),
        launch,
        road_wheel_rad: chance.of(&[1.0, -1.0])
            * chance.pick(&[0.0, literal(0.05), literal(0.3)], 0.0, 0.5),
        torque_nm: chance.pick(&[0.0, -500.0, 320.0, 1_280.0, 5_000.0], -500.0, 4_000.0),
        previous_capacity_nm: chance
            .sides(|chance| chance.pick(&[0.0, 128.0, 512.0, capacity_nm], 0.0, capacity_nm)),
        heat_ceiling: chance.sides(|chance| chance.mostly(1.0, &[0.0, 0.5, 1.5, -0.5], 0.0, 1.0)),
        heat_by: chance.sides(|chance| {
            chance.of(&[
                Limit::AbsoluteHeat,
                Limit::SurfaceHeat,
                Limit::CoreHeat,
                Limit::OilHeat,
            ])
        }),
        oil_degc: chance.mostly(60.0, &[-40.0, -30.0, -10.0, 10.0, none], -40.0, 20.0),
        health_share: chance.mostly(1.0, &[0.0, 0.5, 1.5, -1.0], 0.0, 1.0),
        unlike_tyres: chance.mostly(0.0, &[0.5, 1.0], 0.0, 1.0),
        health: if chance.happens(0.1) {
            Health::Open
        } else {
            Health::Full
        },
        may_differ: !chance.happens(0.2),
        rear_torque_cap_nm: cap(chance, 2.0 * capacity_nm),
        yaw_moment_cap_nm: cap(chance, reach_nm),
        open_now: chance.happens(0.1),
        brake_control: chance.happens(0.15),
        oversteer_held: chance.mostly(0.0, &[0.5, 1.0], 0.0, 1.0),
        slide: chance.mostly(0.0, &[0.25, 0.5, 0.75, 1.0], 0.0, 1.0),
    };
    (memory, input)
}

/// A car that drives straight at 20 m/s with 1,000 Nm on both clutches.
pub fn calm() -> AuthorityIn<f64> {
    AuthorityIn {
        clutch_slip_rad_s: PerSide::both(Sensed::Fresh(2.0)),
        forward_m_s: 20.0,
        direction: 1.0,
        rear_load_n: PerSide::both(8_192.0),
        friction: 1.0,
        rear_slip: PerSide::both(0.0),
        lock_torque_nm: PerSide::both(0.0),
        lateral_m_s2: 0.0,
        friction_shown: 1.05,
        launch: 0.0,
        road_wheel_rad: 0.0,
        torque_nm: 4_000.0,
        previous_capacity_nm: PerSide::both(1_000.0),
        heat_ceiling: PerSide::both(1.0),
        heat_by: PerSide::both(Limit::SurfaceHeat),
        oil_degc: 60.0,
        health_share: 1.0,
        unlike_tyres: 0.0,
        health: Health::Full,
        may_differ: true,
        rear_torque_cap_nm: Sensed::Lost,
        yaw_moment_cap_nm: Sensed::Lost,
        open_now: false,
        brake_control: false,
        oversteer_held: 0.0,
        slide: 0.0,
    }
}
