//! The causal chain in words, one screen: demand, two sides, bounds, second channel, actuation.

use couplet_controller::signal::{Limit, Phase, Reading};
use couplet_controller::stage::authority::Sense;
use couplet_controller::stage::monitor::Fault;
use couplet_controller::{PerSide, Sensed};

use super::{End, Moment};
use crate::output::CAUTIONS;
use crate::output::number::significant;

/// The text.
pub fn told(run: &str, setting: &str, moment: &Moment) -> String {
    let mut text = format!(
        "{run}, setting {setting}, at {:.3} s: {}, {} km/h\n\n",
        moment.time_s,
        phase(moment.trace.intent.phase),
        number(3.6 * moment.trace.motion.speed_m_s)
    );
    text += &demand(moment);
    text += &sides(moment);
    text += &bounds(moment);
    text += &afterwards(moment);
    text += &faults(moment);
    text + "\n" + CAUTIONS[0] + " " + CAUTIONS[2] + " " + CAUTIONS[3] + "\n"
}

fn demand(moment: &Moment) -> String {
    let (trace, inputs) = (&moment.trace, &moment.inputs);
    let read = |reading: Reading, factor: f32| number(factor * reading.value);
    let (motion, intent, yaw) = (&trace.motion, &trace.intent, &trace.yaw);
    let mut text = String::from("Demand\n");
    let mut line = |name: &str, words: String| text += &format!("  {name:<12} {words}\n");
    line(
        "driver",
        format!(
            "accelerator {} %, steering wheel {}, brake {} bar; powertrain gives {} of {} N m asked",
            read(inputs.accelerator_pedal, 100.0),
            turned(inputs.steering_wheel_angle.value.to_degrees(), "deg"),
            read(inputs.brake_pressure, 1.0),
            read(inputs.carrier_torque, 1.0),
            read(inputs.carrier_torque_wanted, 1.0),
        ),
    );
    line(
        "intent",
        format!(
            "{} N m at the front carrier; launch {}, urgency {}, lift-off {}, counter-steer {}",
            number(intent.torque_nm),
            number(intent.launch),
            number(intent.urgency),
            number(intent.lift_off),
            number(intent.counter_steer),
        ),
    );
    line(
        "rear torque",
        format!(
            "{} N m wanted, {} N m of it called for by front spin of {} m/s",
            number(trace.rear.torque_nm),
            number(trace.rear.from_spin_nm),
            number(motion.front_spin_m_s),
        ),
    );
    line(
        "reference",
        format!(
            "{} wanted, the car does {}; sideslip {} of {} deg",
            turned(trace.reference.yaw_rate_rad_s.to_degrees(), "deg/s"),
            turned(motion.yaw_rate_rad_s.to_degrees(), "deg/s"),
            number(motion.sideslip_rad.to_degrees()),
            number(trace.reference.sideslip_limit_rad.to_degrees()),
        ),
    );
    let parts = [
        ("feed-forward", yaw.feed_forward_nm),
        ("feedback", yaw.proportional_nm),
        ("integral", yaw.integral_nm),
        ("damping", yaw.damping_nm),
        ("sideslip", yaw.sideslip_nm),
    ];
    let sum: f32 = parts.iter().map(|(_, part)| part).sum();
    let parts = parts.map(|(name, part)| format!("{name} {}", number(part)));
    line(
        "yaw moment",
        format!(
            "{} wanted: {} (positive to the left)",
            turned(yaw.moment_nm, "N m"),
            parts.join(", ")
        ),
    );
    if (sum - yaw.moment_nm).abs() > 1.0 {
        line(
            "",
            format!("bounded: the parts add up to {} N m", number(sum)),
        );
    }
    if yaw.slide > 0.0 {
        line(
            "slide",
            format!(
                "held to {}: outer clutch to be locked, inner one open",
                number(yaw.slide)
            ),
        );
    }
    if yaw.oversteer_held >= 0.001 || yaw.pre_load_nm >= 0.1 {
        line(
            "oversteer",
            format!(
                "{}, held {}; both clutches to hold {} N m against it",
                number(yaw.oversteer),
                number(yaw.oversteer_held),
                number(yaw.pre_load_nm)
            ),
        );
    }
    text
}

fn sides(moment: &Moment) -> String {
    let trace = &moment.trace;
    let answer = &trace.answer;
    let mut text = format!("\n{:<18}{:>46}{:>46}\n", "Torque", "left", "right");
    let mut line = |name: &str, pair: PerSide<String>| {
        text += &format!("  {name:<16}{:>46}{:>46}\n", pair.left, pair.right);
    };
    let newton_metres = |value: f32| format!("{} N m", number(value));
    line("best unbounded", answer.unconstrained_nm.map(newton_metres));
    line("possible", answer.torque_nm.map(newton_metres));
    line(
        "kept from it by",
        moment
            .held
            .zip(answer.shortfall_nm, |(limit, since_s), short| {
                if limit == Limit::Nothing {
                    "nothing".to_owned()
                } else {
                    format!(
                        "{}, {}, by {} N m",
                        limit.name(),
                        since(since_s),
                        number(short.abs())
                    )
                }
            }),
    );
    line("capacity", trace.capacity_nm.map(newton_metres));
    line("expected", trace.torque_nm.map(newton_metres));
    let slip = |left: bool| {
        let pick = |pair: PerSide<bool>| if left { pair.left } else { pair.right };
        let (sense, slip) = if left {
            (
                trace.possible.sense.left,
                trace.motion.clutch_slip_rad_s.left,
            )
        } else {
            (
                trace.possible.sense.right,
                trace.motion.clutch_slip_rad_s.right,
            )
        };
        let way = match sense {
            Sense::Forward => "drives",
            Sense::Backward => "brakes",
            Sense::Unknown => "unknown",
        };
        let stuck = if pick(trace.possible.near_stick) {
            ", near stick"
        } else {
            ""
        };
        match slip {
            Sensed::Lost => format!("lost, {way}{stuck}"),
            known => format!("{} rad/s, {way}{stuck}", number(known.or(0.0))),
        }
    };
    line(
        "clutch slip",
        PerSide {
            left: slip(true),
            right: slip(false),
        },
    );
    if let PerSide {
        left: Some(left),
        right: Some(right),
    } = moment.carried_nm
    {
        line("in the plant", PerSide { left, right }.map(newton_metres));
    }
    let kept = trace.capacity_nm.zip(answer.torque_nm, |c, t| c - t.abs());
    if kept.left.max(kept.right) > 0.1 {
        line("kept beyond", kept.map(|kept| newton_metres(kept.max(0.0))));
    }
    text
}

fn bounds(moment: &Moment) -> String {
    let names = ["left", "right", "sum", "difference"];
    let mut text = String::from("\nBounds the answer leans on\n");
    let mut none = true;
    for (name, ends) in names.iter().zip(moment.ends) {
        for (end, word) in ends.into_iter().zip(["at least", "at most"]) {
            if end.leans {
                none = false;
                text += &bound(name, word, end);
            }
        }
    }
    if none {
        text += "  none: the answer is the best there is\n";
    }
    let answer = &moment.trace.answer;
    for binding in answer.binding.iter().filter(|b| b.by != Limit::Nothing) {
        text += &format!(
            "  one N m more from `{}` would save a cost of {}\n",
            binding.by.name(),
            number(binding.marginal)
        );
    }
    if answer.conflict != Limit::Nothing {
        text += &format!(
            "  bounds contradicted each other: `{}` gave way\n",
            answer.conflict.name()
        );
    }
    if moment.trace.projected {
        text += "  the law's answer lay outside and was moved to the edge\n";
    }
    text
}

fn bound(name: &str, word: &str, end: End) -> String {
    format!(
        "  {name:<11}{word:<9}{:>9} N m  {:<14} {:<12} set by {}\n",
        number(end.value_nm),
        end.by.name(),
        since(end.since_s),
        setter(end.by)
    )
}

fn afterwards(moment: &Moment) -> String {
    let (trace, outputs) = (&moment.trace, &moment.outputs);
    let guarded = &trace.guarded;
    let side = |pair: PerSide<bool>| match (pair.left, pair.right) {
        (true, true) => "both sides",
        (true, false) => "the left side",
        (false, true) => "the right side",
        (false, false) => "neither side",
    };
    let channel = if guarded.opened {
        "opened both clutches after lasting disagreement".to_owned()
    } else {
        format!(
            "lowered {}, disagrees about {}",
            side(guarded.lowered),
            side(guarded.disagreed)
        )
    };
    let one = |capacity: f32, bar: f32, ampere: f32, low: f32, high: f32| {
        format!(
            "{} N m as {} bar, {} A; to expect {} to {} N m",
            number(capacity),
            number(bar),
            number(ampere),
            number(low),
            number(high)
        )
    };
    let span = outputs.torque_span_nm;
    format!(
        "\nSecond channel {channel}\nActuation left  {}\n          right {}\nYaw moment     {} expected from the axle\n",
        one(
            outputs.capacity_nm.left,
            outputs.pressure_bar.left,
            outputs.current_a.left,
            span.left.low,
            span.left.high
        ),
        one(
            outputs.capacity_nm.right,
            outputs.pressure_bar.right,
            outputs.current_a.right,
            span.right.low,
            span.right.high
        ),
        turned(
            trace.torque_nm.difference() * moment.moment_per_difference,
            "N m"
        ),
    )
}

/// What the monitor found, and what the scenario does to the run at this time.
fn faults(moment: &Moment) -> String {
    let mut text = String::new();
    let found = moment.trace.verdict.faults;
    let names: Vec<String> = Fault::ALL
        .into_iter()
        .filter(|fault| found.holds(*fault))
        .map(|fault| words(&format!("{fault:?}")))
        .collect();
    if !names.is_empty() {
        text += &format!("Faults found   {}\n", names.join(", "));
    }
    for injected in &moment.injected {
        text += &format!(
            "Fault injected {}, from {} s for {} s: {}\n",
            injected.words(),
            injected.start_s,
            injected.duration_s,
            injected.kind.meaning()
        );
    }
    text
}

/// `SecondChannel` as `second channel`.
fn words(name: &str) -> String {
    let mut words = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(letter.to_lowercase());
    }
    words
}

/// Who sets a bound of that name, and from what.
fn setter(limit: Limit) -> &'static str {
    match limit {
        Limit::Nothing => "nobody",
        Limit::OpenNow => "the car's order to open",
        Limit::Fault => "the monitor, from its named faults",
        Limit::AbsoluteHeat => "the thermal model: a hard temperature limit",
        Limit::MasterCap => "the master controller's cap",
        Limit::Rate => "calibration: change allowed in one step",
        Limit::SlipDirection => "wheel speeds: a clutch only pulls towards the shaft",
        Limit::Capacity => "calibration: size of the clutch",
        Limit::SurfaceHeat => "the thermal model: surface",
        Limit::CoreHeat => "the thermal model: core",
        Limit::OilHeat => "the thermal model: oil",
        Limit::ColdOil => "oil temperature and speed",
        Limit::Friction => "vehicle state: wheel load and believed friction",
        Limit::Propshaft => "calibration: what the propshaft carries",
        Limit::WindUp => "driver torque and steering: front against rear",
        Limit::YawLimit => "speed: left and right may differ so far",
        Limit::Guardian => "the second channel",
        Limit::Projection => "the projection of the law's answer",
        Limit::BrakeControl => "anti-lock or stability control at work",
        Limit::KinematicLock => "vehicle state: what a locked clutch carries here",
        Limit::UnlikeTyres => "vehicle state: rolling radii that differ by more than wear",
    }
}

fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::Cruise => "cruise",
        Phase::Launch => "launch",
        Phase::TurnIn => "turn-in",
        Phase::MidCorner => "mid-corner",
        Phase::Exit => "exit",
        Phase::LiftOff => "lift-off",
        Phase::Evasive => "evasive",
        Phase::CounterSteer => "counter-steer",
    }
}

/// A signed value with its side in words.
fn turned(value: f32, unit: &str) -> String {
    let size = number(value.abs());
    if size == "0" {
        format!("0 {unit}")
    } else if value > 0.0 {
        format!("{size} {unit} to the left")
    } else {
        format!("{size} {unit} to the right")
    }
}

fn since(since_s: f64) -> String {
    if since_s < 0.0 {
        "from the start".to_owned()
    } else {
        format!("since {since_s:.3} s")
    }
}

/// Four significant digits, at most three decimals: a thousandth of any unit here is below what matters.
fn number(value: f32) -> String {
    let value = f64::from(value);
    if !value.is_finite() || value.abs() >= 1000.0 {
        return significant(value, 5);
    }
    let text = format!("{value:.3}");
    let text = if value.abs() >= 10.0 {
        format!("{value:.1}")
    } else {
        text
    };
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}
