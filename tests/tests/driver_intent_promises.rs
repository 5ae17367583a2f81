//! What the driver does is recognised within a tenth of a second, and noise is no intent.
//!
//! The stage alone, 5 ms a step, with invented signals as a bus carries them: steering in steps of 0.1 deg with noise of the
//! same size, pedal in steps of 0.4 %, yaw rate with noise of 0.2 deg/s, all 10 ms late and a sample in twenty missing.
//! Wanted by the project: counter-steer, evasive steering and lift-off recognised within 100 ms. Times count from the
//! moment the driver begins, so the bus's delay is in them. How fast drivers act (pedal released in 0.1 s, evasive steering at 9 rad/s of the
//! wheel, counter-steering at 6 rad/s) is common practice, no source.

use couplet_controller::Sensed;
use couplet_controller::calibration::Tunables;
use couplet_controller::signal::Phase;
use couplet_controller::stage::Stage;
use couplet_controller::stage::driver_intent::{
    DriverIntent, DriverIntentIn, DriverIntentState, Intent,
};
use proptest::prelude::*;

const PERIOD_S: f32 = 0.005;
/// Wheelbase and steering ratio of an invented car.
const WHEELBASE_M: f32 = 2.85;
const RATIO: f32 = 15.0;

/// What the driver and the car do at a moment.
#[derive(Clone, Copy, Default)]
struct Now {
    steering_wheel_rad: f32,
    pedal: f32,
    yaw_rate_rad_s: f32,
    speed_m_s: f32,
}

/// A bus: late, in steps, noisy, with gaps.
struct Bus {
    seed: u64,
    late: Vec<Now>,
    last: Now,
}

impl Bus {
    fn new(seed: u64, at: Now) -> Self {
        Self {
            seed,
            late: vec![at; 2],
            last: at,
        }
    }

    /// A number in -1..1; no claim to quality.
    fn noise(&mut self) -> f32 {
        self.seed = self
            .seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.seed >> 40) as f32 / (1_u64 << 23) as f32 - 1.0
    }

    fn carry(&mut self, now: Now) -> Now {
        self.late.push(now);
        let old = self.late.remove(0);
        if self.noise() > -0.9 {
            let steps = |value: f32, step: f32| (value / step).round() * step;
            self.last = Now {
                steering_wheel_rad: steps(old.steering_wheel_rad + 0.00175 * self.noise(), 0.00175),
                pedal: steps(old.pedal, 0.004).clamp(0.0, 1.0),
                yaw_rate_rad_s: old.yaw_rate_rad_s + 0.0035 * self.noise(),
                speed_m_s: old.speed_m_s + 0.05 * self.noise(),
            };
        }
        self.last
    }
}

fn stage() -> DriverIntent<f32> {
    DriverIntent::new(Tunables::DEFAULT.driver_intent, WHEELBASE_M, PERIOD_S)
}

fn step(stage: &DriverIntent<f32>, state: &mut DriverIntentState<f32>, seen: Now) -> Intent<f32> {
    let road_wheel_rad = seen.steering_wheel_rad / RATIO;
    let torque_nm = Sensed::Fresh(2500.0 * seen.pedal - 100.0);
    stage.step(
        state,
        &DriverIntentIn {
            pedal: Sensed::Fresh(seen.pedal),
            steering_wheel_rad: Sensed::Fresh(seen.steering_wheel_rad),
            carrier_torque_nm: torque_nm,
            carrier_torque_wanted_nm: torque_nm,
            brake_bar: Sensed::Fresh(0.0),
            forward_m_s: seen.speed_m_s,
            direction: 1.0,
            yaw_rate_rad_s: seen.yaw_rate_rad_s,
            road_wheel_rad,
            road_wheel_sine: road_wheel_rad.sin(),
            road_wheel_cosine: road_wheel_rad.cos(),
        },
        PERIOD_S,
    )
}

/// Time from the driver's beginning until `recognised`, s, the worst over seeds; 3 s of quiet driving come before it.
fn worst_time_s(
    begin: Now,
    act: impl Fn(f32) -> Now,
    recognised: impl Fn(&Intent<f32>) -> bool,
) -> f32 {
    let mut worst = 0.0_f32;
    for seed in 0..200 {
        let stage = stage();
        let mut state = DriverIntentState::default();
        let mut bus = Bus::new(seed, begin);
        for _ in 0..600 {
            let said = step(&stage, &mut state, bus.carry(begin));
            assert!(
                !recognised(&said),
                "seed {seed}: recognised before it began"
            );
        }
        let found = (1..=200).find(|step_number| {
            let time_s = *step_number as f32 * PERIOD_S;
            recognised(&step(&stage, &mut state, bus.carry(act(time_s))))
        });
        worst = worst.max(found.map_or(f32::INFINITY, |step_number| step_number as f32 * PERIOD_S));
    }
    worst
}

const IN_A_BEND: Now = Now {
    steering_wheel_rad: 0.6,
    pedal: 0.4,
    yaw_rate_rad_s: 0.3,
    speed_m_s: 20.0,
};

#[test]
fn lift_off_is_recognised_within_a_tenth_of_a_second() {
    let released = |time_s: f32| Now {
        pedal: 0.4 * (1.0 - time_s / 0.1).max(0.0),
        ..IN_A_BEND
    };
    let measure_s = worst_time_s(IN_A_BEND, released, |said| said.lift_off > 0.5);
    let phase_s = worst_time_s(IN_A_BEND, released, |said| said.phase == Phase::LiftOff);
    println!("lift-off: measure {measure_s} s, phase {phase_s} s");
    assert!(measure_s <= 0.1 && phase_s <= 0.1);
}

#[test]
fn evasive_steering_is_recognised_within_a_tenth_of_a_second() {
    let straight = Now {
        steering_wheel_rad: 0.0,
        yaw_rate_rad_s: 0.0,
        ..IN_A_BEND
    };
    let jerked = |time_s: f32| Now {
        steering_wheel_rad: (9.0 * time_s).min(1.6),
        yaw_rate_rad_s: (2.0 * (time_s - 0.05)).clamp(0.0, 0.5),
        ..straight
    };
    let measure_s = worst_time_s(straight, jerked, |said| said.urgency > 0.5);
    let phase_s = worst_time_s(straight, jerked, |said| said.phase == Phase::Evasive);
    println!("evasive steering: measure {measure_s} s, phase {phase_s} s");
    assert!(measure_s <= 0.1 && phase_s <= 0.1);
}

#[test]
fn counter_steering_is_recognised_within_a_tenth_of_a_second() {
    // The car turns in faster than it is steered; the driver takes the wheel back through the middle.
    let sliding = Now {
        steering_wheel_rad: 0.15,
        yaw_rate_rad_s: 0.5,
        ..IN_A_BEND
    };
    let countered = |time_s: f32| Now {
        steering_wheel_rad: (0.15 - 12.0 * time_s).max(-1.2),
        ..sliding
    };
    let measure_s = worst_time_s(sliding, countered, |said| said.counter_steer > 0.5);
    let phase_s = worst_time_s(sliding, countered, |said| said.phase == Phase::CounterSteer);
    println!("counter-steering: measure {measure_s} s, phase {phase_s} s");
    assert!(measure_s <= 0.1 && phase_s <= 0.1);
}

proptest! {
    #![proptest_config(couplet_tests::property(200))]

    /// At any steady point, however near a border between phases, noise makes at most one step down in urgency a dwell, so at most two
    /// changes, and where no border is near it does not change the phase at all.
    #[test]
    fn noise_makes_no_phase_chatter(
        seed in any::<u64>(), steering in -1.0_f32..1.0, pedal in 0.0_f32..1.0, yaw in -0.5_f32..0.5, speed in 0.0_f32..50.0,
    ) {
        let at = Now { steering_wheel_rad: steering, pedal, yaw_rate_rad_s: yaw, speed_m_s: speed };
        let stage = stage();
        let mut state = DriverIntentState::default();
        let mut bus = Bus::new(seed, at);
        let mut phases = Vec::new();
        for _ in 0..1200 {
            phases.push(step(&stage, &mut state, bus.carry(at)).phase);
        }
        let settled = &phases[200..];
        let changes = settled.windows(2).filter(|pair| pair[0] != pair[1]).count();
        let dwell_s = Tunables::<f32>::DEFAULT.driver_intent.phase_dwell_s;
        let most = 2 * (settled.len() as f32 * PERIOD_S / dwell_s).ceil() as usize;
        prop_assert!(changes <= most, "{} changes in 5 s", changes);
        // Far from the borders in curvature (0.003 1/m), pedal of the exit (0.4), launch (3 to 6 m/s, pedal 0.05 to 0.2) and
        // counter-steer (product of road wheel angle and yaw rate 0.002 to 0.02, 4 to 8 m/s).
        let curvature = (steering / RATIO).tan().abs() / WHEELBASE_M;
        let opposed = -(steering / RATIO) * yaw;
        let clear = (curvature - 0.003).abs() > 0.0005
            && (pedal - 0.4).abs() > 0.01
            && (speed > 8.5 || speed < 2.5 && !(0.04..0.21).contains(&pedal))
            && !(0.0015..0.021).contains(&opposed);
        if clear {
            prop_assert_eq!(changes, 0, "phases {:?} at {} rad, pedal {}, {} rad/s, {} m/s", &settled[..4], steering, pedal, yaw, speed);
        }
    }
}
