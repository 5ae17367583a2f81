//! The loop itself: see the order of exchange in the parent module.

use super::axle_control::{AxleControl, Told, inputs};
use super::brake_control::{BrakeControl, BrakeView, Switches};
use super::energy::EnergyAccount;
use super::injection::Injection;
use super::law::Rule;
use super::powertrain_control::{OWN_FRONT_SPIN_M_S, SpinGovernor, asked_nm};
use super::{Ending, PERIOD_S, RunOutcome};
use crate::driver::{Ahead, View};
use crate::manoeuvre::course::Place;
use crate::manoeuvre::{Goal, Setup};
use crate::plant::sensors::{SensorErrors, Sensors};
use crate::plant::{
    AxleLayout, Command, Observation, PerSide, PerWheel, Plant, STEP_S, Start, Vehicle, channels,
};
use crate::record::{Channel, Parity, Record};
use crate::scenario::{Scenario, SensorNumbers};
use couplet_controller::{Inputs, Outputs, Real, Trace, TraceSignal};

/// Plant steps in one control step.
pub const PLANT_STEPS: u32 = 5;

/// Drives a prepared run to its end.
pub fn drive<'a>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: impl Into<Rule<'a>>,
    setup: Setup,
) -> (Record, RunOutcome) {
    drive_stepping(scenario, vehicle, rule, setup, PLANT_STEPS)
}

/// The same with another number of plant steps in a control step: for showing that results do not hang on it.
pub fn drive_stepping<'a>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: impl Into<Rule<'a>>,
    setup: Setup,
    plant_steps: u32,
) -> (Record, RunOutcome) {
    let rule = rule.into();
    drive_to_end::<f32>(scenario, vehicle, rule, setup, plant_steps, None, None)
}

/// The same with a relay between the car's messages and the axle control.
pub fn drive_relayed(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'_>,
    setup: Setup,
    relay: &mut dyn Relay,
) -> (Record, RunOutcome) {
    let steps = PLANT_STEPS;
    drive_to_end::<f32>(scenario, vehicle, rule, setup, steps, None, Some(relay))
}

/// What lies between the car's messages and the axle control, such as a bus with all it does to numbers.
pub trait Relay {
    /// What the axle control is told instead; once in every control step, the lead included.
    fn carry(&mut self, sent: &Inputs) -> Inputs;

    /// What the axle control answered in the same step, where it gives such outputs.
    fn answer(&mut self, outputs: &Outputs);
}

/// The same with a watcher, in any arithmetic of the law: it hears the time in s, negative in the lead, what the axle
/// control was told, and the control after its step. It cannot influence the run.
pub fn drive_watched<S: Real>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'_>,
    setup: Setup,
    watch: Watch<'_, S>,
) -> (Record, RunOutcome) {
    let steps = PLANT_STEPS;
    drive_to_end(scenario, vehicle, rule, setup, steps, Some(watch), None)
}

/// Who hears every control step.
pub type Watch<'a, S> = &'a mut dyn FnMut(f64, &Inputs, &AxleControl<S>);

/// What the axle control is told in every control step of a prepared run, its lead included: for replaying the law alone.
pub fn overheard<'a>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: impl Into<Rule<'a>>,
    setup: Setup,
) -> Vec<Inputs> {
    let mut told = Vec::new();
    let mut hear = |_: f64, inputs: &Inputs, _: &AxleControl| told.push(*inputs);
    drive_watched(scenario, vehicle, rule.into(), setup, &mut hear);
    told
}

fn drive_to_end<S: Real>(
    scenario: &Scenario,
    vehicle: &Vehicle,
    rule: Rule<'_>,
    setup: Setup,
    plant_steps: u32,
    mut watch: Option<Watch<'_, S>>,
    mut relay: Option<&mut dyn Relay>,
) -> (Record, RunOutcome) {
    let step_s = if plant_steps == PLANT_STEPS {
        STEP_S
    } else {
        PERIOD_S / f64::from(plant_steps)
    };
    let Setup {
        start,
        course,
        mut driver,
        lead_s,
        goal,
        record_every,
        found: _,
    } = setup;
    let numbers = &scenario.numbers;
    let mut in_gear = *vehicle;
    in_gear.powertrain.drag_torque_nm *= numbers.driver.gear_drag_share;
    let vehicle = &in_gear;
    let start = Start {
        clutch_temperature_degc: numbers.road.axle_degc,
        oil_temperature_degc: numbers.road.axle_degc,
        ..start
    };
    let direction = scenario.direction();
    let reverse = direction < 0.0;
    let mut plant = Plant::with_step(*vehicle, scenario.layout, scenario.road(), start, step_s);
    plant.select_reverse(reverse);
    let mut control: AxleControl<S> = AxleControl::of(
        scenario.layout,
        vehicle,
        rule,
        start.clutch_temperature_degc,
    );
    let mut injection = Injection::of(scenario);
    let mut governor = SpinGovernor::default();
    let on = |number: f64| number >= 0.5;
    let vectoring = scenario.layout == AxleLayout::BrakeVectoring;
    let single_track = plant.single_track();
    let mut brakes = BrakeControl::new(
        vehicle,
        single_track.understeer_rad_s2_m(),
        Switches {
            anti_lock: on(numbers.assist.anti_lock),
            traction: vectoring || on(numbers.assist.brake_traction),
            stability: on(numbers.assist.stability),
            vectoring,
        },
    );
    let errors = sensor_errors(&numbers.sensors);
    let mut sensors = Sensors::new(errors, scenario.seed, scenario.mirrored);
    let mut lane = course.as_ref().and_then(|path| path.lane().cloned());
    let mut record = Record::new(
        PERIOD_S * f64::from(record_every),
        record_channels(&control, lane.is_some()),
    );
    let mut place = Place::default();
    let lead_steps = libm::round(lead_s / PERIOD_S) as i64;
    let longest_steps = libm::round(numbers.course.longest_s / PERIOD_S) as i64;
    let mut row = Vec::new();
    let mut energy_j = PerSide::both(0.0_f64);
    let mut energy = EnergyAccount::opened(plant.observe().kinetic_energy_j);
    let mut step = -lead_steps;
    let mut way = Way::default();
    loop {
        let time_s = step as f64 * PERIOD_S;
        let truth = plant.observe();
        if let Some(course) = &course {
            place = course.locate(truth.x_m, truth.y_m, truth.heading_rad, &place);
        }
        let ahead = |distance: f64| {
            course
                .as_ref()
                .map_or(0.0, |path| path.curvature_1_m(place.distance_m + distance))
        };
        let view = View {
            time_s,
            car: &truth,
            place: course.as_ref().map(|_| place),
            ahead: &Ahead(&ahead),
        };
        let action = driver.act(&view, PERIOD_S);

        let carrier =
            0.5 * (truth.wheel_speed_rad_s.front_left + truth.wheel_speed_rad_s.front_right);
        let wanted_nm = asked_nm(vehicle, action.pedal, carrier);
        let honoured = numbers.driver.honour_front_spin_request >= 0.5;
        let asked = control.front_spin_request_m_s().filter(|_| honoured);
        let spin = asked.unwrap_or(OWN_FRONT_SPIN_M_S);
        let request_nm = governor.step(
            wanted_nm,
            &truth,
            vehicle.tyre_front.radius_m,
            spin,
            direction,
            PERIOD_S,
        );

        let hand_brake = driver.hand_brake();
        let measured = sensors.measure(&truth, action.steering_wheel_rad);
        let braking = brakes.step(
            &measured,
            &BrakeView {
                driver_brake: action.brake,
                request_nm,
                reverse,
                period_s: PERIOD_S,
            },
        );
        let request_nm = braking.request_nm;
        let asked_at_s = numbers.assist.release_request_s;
        let asks_release = asked_at_s > 0.0 && time_s >= asked_at_s - 1e-9;
        let told = Told {
            pedal: action.pedal,
            brake: action.brake,
            carrier_torque_nm: truth.carrier_torque_nm,
            carrier_torque_wanted_nm: direction * wanted_nm,
            reverse,
            ambient_degc: start.ambient_degc,
            // A pulled hand brake orders open clutches, as cars do.
            open_now: on(numbers.assist.order_open) || hand_brake > 0.0,
            anti_lock_active: braking.anti_lock_active,
            stability_active: braking.stability_active || asks_release,
            period_s: PERIOD_S,
        };
        let sent = injection.inputs(time_s, &inputs(&measured, &told));
        let relayed = relay.as_deref_mut().map(|relay| relay.carry(&sent));
        let heard = relayed.unwrap_or(sent);
        let wrong = injection.wrong_request(time_s);
        let current_a = control.step(&measured, &told, &heard, wrong);
        if let Some(watch) = watch.as_deref_mut() {
            watch(time_s, &heard, &control);
        }
        if let (Some(relay), Some(outputs)) = (relay.as_deref_mut(), control.outputs()) {
            relay.answer(outputs);
        }
        let current_a = injection.current_a(vehicle, current_a, time_s);
        if !injection.is_empty() {
            plant.damage(injection.damage(time_s, truth.clutch_pressure_pa));
        }

        if step >= 0 && step % i64::from(record_every) == 0 {
            row.clear();
            truth.row(&mut row);
            let reference = place.curvature_1_m * truth.speed_m_s;
            row.extend([
                place.distance_m as f32,
                place.error_m as f32,
                reference as f32,
                (truth.road_wheel_rad * single_track.yaw_gain_1_s(truth.speed_m_s)) as f32,
                action.pedal as f32,
                action.brake as f32,
                told.ambient_degc as f32,
                request_nm as f32,
                current_a.left as f32,
                current_a.right as f32,
                energy_j.left as f32,
                energy_j.right as f32,
                f32::from(u8::from(told.anti_lock_active)),
                f32::from(u8::from(told.stability_active)),
            ]);
            if let Some(lane) = &mut lane {
                let seen = lane.look(truth.x_m, truth.y_m, truth.heading_rad);
                row.extend([
                    seen.stretch as f32,
                    seen.overshoot_m as f32,
                    seen.struck as f32,
                ]);
            }
            match &control {
                AxleControl::Paired(paired) => add_trace(&mut row, paired.controller.trace()),
                AxleControl::Own(own) => {
                    if let Some(trace) = own.law.trace() {
                        add_trace(&mut row, trace);
                    }
                }
                _ => {}
            }
            record.push(&row);
        }
        let ended = if step > longest_steps - 1 {
            Some((Ending::TimeOver, "longest_s of the scenario"))
        } else {
            way.made(time_s, place.distance_m);
            goal_reached(
                goal,
                &way,
                time_s,
                &truth,
                direction,
                &place,
                course.as_ref().is_some_and(|c| c.is_over(place.distance_m)),
            )
        };
        if let Some((ended, by)) = ended {
            energy.stored_j.1 = truth.kinetic_energy_j;
            return (
                record,
                RunOutcome {
                    ended,
                    at_s: time_s,
                    by,
                    energy,
                },
            );
        }

        let held_rad = truth.steering_wheel_rad;
        let mut command = Command {
            steering_wheel_rad: action.steering_wheel_rad,
            carrier_torque_request_nm: request_nm,
            brake_torque_nm: with_hand_brake(braking.torque_nm, hand_brake, vehicle),
            clutch_current_a: current_a,
        };
        for index in 1..=plant_steps {
            // The wheel takes 1 ms to its new angle whatever the plant's step: the input must not hang on it.
            let share = f64::from(index) * step_s / STEP_S;
            command.steering_wheel_rad = if share < 1.0 {
                held_rad + share * (action.steering_wheel_rad - held_rad)
            } else {
                action.steering_wheel_rad
            };
            plant.step(&command);
            // Summed at the plant's own step: samples of the record would miss four fifths of it.
            let heat_w = plant.clutch_heat_w();
            energy.add(plant.powers(), step_s);
            energy_j = energy_j.zip(heat_w, |energy, power| energy + power * step_s);
        }
        step += 1;
    }
}

/// The plant steps of one control step fill its period; kept beside the constant they must agree with.
const _: () = assert!(
    PLANT_STEPS as f64 * STEP_S - PERIOD_S < 1e-12
        && PERIOD_S - PLANT_STEPS as f64 * STEP_S < 1e-12
);

/// Brake torques with the hand brake pulled: it works on the rear wheels, beside what the pedal asks for.
pub(crate) fn with_hand_brake(
    torque_nm: PerWheel<f64>,
    share: f64,
    vehicle: &Vehicle,
) -> PerWheel<f64> {
    let least_nm = share * vehicle.brakes.maximum_torque_nm;
    PerWheel {
        rear_left: torque_nm.rear_left.max(least_nm),
        rear_right: torque_nm.rear_right.max(least_nm),
        ..torque_nm
    }
}

pub(crate) fn sensor_errors(numbers: &SensorNumbers) -> SensorErrors {
    SensorErrors {
        yaw_rate_noise_rad_s: numbers.yaw_rate_noise_rad_s,
        acceleration_noise_m_s2: numbers.acceleration_noise_m_s2,
        wheel_speed_noise_rad_s: numbers.wheel_speed_noise_rad_s,
        steering_noise_rad: numbers.steering_noise_rad,
        yaw_rate_bias_rad_s: numbers.yaw_rate_bias_rad_s,
        yaw_rate_scale: numbers.yaw_rate_scale,
        yaw_rate_step_rad_s: numbers.yaw_rate_step_rad_s,
        acceleration_step_m_s2: numbers.acceleration_step_m_s2,
        wheel_speed_step_rad_s: numbers.wheel_speed_step_rad_s,
        steering_step_rad: numbers.steering_step_rad,
        wheel_speed_silence_rad_s: numbers.wheel_speed_silence_rad_s,
        delay_steps: numbers.delay_steps,
        jitter_share: numbers.jitter_share,
        loss_share: numbers.loss_share,
        pressure_sensors: numbers.pressure_sensors,
        pressure_noise_pa: numbers.pressure_noise_pa,
        pressure_step_pa: numbers.pressure_step_pa,
    }
}

fn add_trace<S: Real>(row: &mut Vec<f32>, trace: &Trace<S>) {
    let all = TraceSignal::<S>::ALL.iter();
    row.extend(all.map(|signal| (signal.read)(trace)));
}

fn record_channels<S: Real>(control: &AxleControl<S>, in_lane: bool) -> Vec<Channel> {
    let mut all = channels();
    let own = |name, unit, parity| Channel { name, unit, parity };
    all.extend([
        own("path_distance", "m", Parity::Even),
        own("path_error", "m", Parity::Odd),
        own("path_yaw_rate", "rad/s", Parity::Odd),
        // The linear car on the same tyres with open clutches: an outside judge of over- and understeer.
        own("single_track_yaw_rate", "rad/s", Parity::Odd),
        own("pedal", "-", Parity::Even),
        own("brake", "-", Parity::Even),
        own("ambient_temperature", "degC", Parity::Even),
        own("carrier_torque_request", "N m", Parity::Even),
        own("current_left", "A", Parity::Swap),
        own("current_right", "A", Parity::Swap),
        own("plant_clutch_energy_left", "J", Parity::Swap),
        own("plant_clutch_energy_right", "J", Parity::Swap),
        own("anti_lock_active", "-", Parity::Even),
        own("stability_active", "-", Parity::Even),
    ]);
    if in_lane {
        all.extend([
            own("lane_stretch", "-", Parity::Even),
            own("lane_overshoot", "m", Parity::Even),
            own("lane_cones_struck", "-", Parity::Even),
        ]);
    }
    let traced = match control {
        AxleControl::Paired(_) => true,
        AxleControl::Own(own) => own.law.trace().is_some(),
        _ => false,
    };
    if traced {
        all.extend(TraceSignal::<f32>::ALL.iter().map(|signal| {
            let parity = match signal.parity {
                couplet_controller::signal::inputs::Parity::Even => Parity::Even,
                couplet_controller::signal::inputs::Parity::Odd => Parity::Odd,
                couplet_controller::signal::inputs::Parity::Swap => Parity::Swap,
            };
            Channel {
                name: signal.name,
                unit: signal.unit,
                parity,
            }
        }));
    }
    all
}

/// Time without way after which a car on a road is stuck, s.
const STUCK_S: f64 = 20.0;

/// How far the car came, and when it last came a metre farther.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Way {
    farthest_m: f64,
    since_s: f64,
}

impl Way {
    fn made(&mut self, time_s: f64, distance_m: f64) {
        if distance_m > self.farthest_m + 1.0 {
            self.farthest_m = distance_m;
            self.since_s = time_s;
        }
    }
}

fn goal_reached(
    goal: Goal,
    way: &Way,
    time_s: f64,
    car: &Observation,
    direction: f64,
    place: &Place,
    path_over: bool,
) -> Option<(Ending, &'static str)> {
    if !(car.speed_m_s.is_finite() && car.yaw_rate_rad_s.is_finite() && car.x_m.is_finite()) {
        return Some((Ending::NotFinite, "plant"));
    }
    let driven_m_s = direction * car.speed_m_s;
    // Angle between the driving direction and the way the car goes.
    let astray = libm::atan2(car.lateral_speed_m_s.abs(), driven_m_s);
    if astray > 0.7 && car.speed_m_s.abs() > 2.0 {
        return Some((Ending::Spun, "sideslip beyond 40 deg"));
    }
    if time_s < 0.0 {
        return None;
    }
    match goal {
        Goal::Speed { speed_m_s } if driven_m_s >= speed_m_s => {
            Some((Ending::GoalReached, "speed of the goal"))
        }
        Goal::Speed { .. } if driven_m_s < -1.0 => Some((Ending::RolledBack, "speed below -1 m/s")),
        Goal::Standstill if driven_m_s < 0.05 => Some((Ending::GoalReached, "standstill")),
        Goal::Limit { .. } if place.error_m.abs() > 3.0 => {
            Some((Ending::LeftPath, "path error beyond 3 m"))
        }
        Goal::Limit {
            first_m_s,
            rise_m_s2,
        } if first_m_s + rise_m_s2 * time_s - car.speed_m_s > 1.5 => {
            Some((Ending::NoMoreSpeed, "1.5 m/s behind the speed asked for"))
        }
        Goal::Road { leaves_m } if place.error_m.abs() > leaves_m => {
            Some((Ending::LeftPath, "edge of the road"))
        }
        Goal::Road { .. } if time_s - way.since_s > STUCK_S => {
            Some((Ending::Stuck, "no way made for 20 s"))
        }
        _ if path_over => Some((Ending::GoalReached, "end of the path")),
        _ => None,
    }
}
